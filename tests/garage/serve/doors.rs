//! Who comes in, and what is refused: by the address that was asked for, the page that a form is from, the key, size, time and pace.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::Command;
use std::time::{Duration, Instant};

use super::{Demo, Site, encoded};
use crate::common::Shed;

const LOG: &str = "/bike/moth/log";

fn open(shed: &Shed, options: &[&str]) -> Site {
    Site::of(shed.program(&shed.root(), &[&["serve", "--port", "0"], options].concat()))
}

fn nothing_logged(shed: &Shed) {
    assert!(shed.outings("moth").is_empty());
}

#[test]
fn only_the_address_at_which_it_came_is_answered() {
    let shed = Shed::new();
    let site = open(&shed, &[]);
    let ask = |host: &str| site.send(format!("GET / HTTP/1.1\r\n{host}Connection: close\r\n\r\n").as_bytes());
    let port = site.port;
    for good in [format!("Host: 127.0.0.1:{port}\r\n"), format!("Host: localhost:{port}\r\n")] {
        ask(&good).is(200);
    }
    for bad in [
        String::new(),
        "Host: evil.example\r\n".to_owned(),
        format!("Host: evil.example:{port}\r\n"),
        "Host: 127.0.0.1\r\n".to_owned(),
        format!("Host: 127.0.0.1:{}\r\n", port.wrapping_add(1)),
        format!("Host: 127.0.0.1:{port}.evil.example\r\n"),
        format!("Host: 127.0.0.1:{port}\r\nHost: evil.example\r\n"),
        format!("Host: 192.168.1.5:{port}\r\n"),
    ] {
        let page = ask(&bad);
        assert!([400, 403].contains(&page.status), "{bad}: {}", page.head);
        assert!(!page.body.contains("moth"), "{bad}");
    }
    let whole =
        format!("GET http://evil.example/ HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n");
    assert!(!site.send(whole.as_bytes()).body.contains("moth"));
}

#[test]
fn a_form_is_of_a_page_of_ours_or_nothing_is_done() {
    let shed = Shed::new();
    let mut site = open(&shed, &[]);
    let page = site.get(LOG).is(200);
    let cookie = page.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict") && !cookie.contains("Domain"));
    let (token, once) = (page.hidden("token"), page.hidden("once"));
    let fields = [("z.full", "right"), ("token", token.as_str()), ("once", once.as_str())];
    let body = encoded(&fields);
    let own = format!("Origin: http://{}\r\n", site.host());
    for (lines, what) in [
        (String::new(), "no origin"),
        ("Origin: null\r\n".to_owned(), "an origin of nobody"),
        ("Origin: http://evil.example\r\n".to_owned(), "another origin"),
        (format!("Origin: https://{}\r\n", site.host()), "another scheme"),
        (format!("{own}Origin: http://evil.example\r\n"), "two origins"),
    ] {
        let page = site.post_from(LOG, &lines, &body);
        assert_eq!(page.status, 403, "{what}");
    }
    for (token, what) in [("", "no token"), ("0", "a short token"), (&"0".repeat(32), "a wrong token")] {
        let page = site.post(LOG, &[("z.full", "right"), ("token", token), ("once", &once)]);
        assert_eq!(page.status, 403, "{what}");
    }
    let cookie = site.cookie.take();
    site.post(LOG, &fields).is(403);
    site.cookie = Some(format!("reedbook-{}={}", site.port, "0".repeat(32)));
    site.post(LOG, &fields).is(403);
    site.cookie = cookie;
    // The same fields behind a question mark record nothing.
    site.get(&format!("{LOG}?{body}")).is(200);
    for kind in ["text/plain", "multipart/form-data; boundary=x", "application/json"] {
        let host = site.host();
        let cookie = site.cookie_line();
        let raw = format!(
            "POST {LOG} HTTP/1.1\r\nHost: {host}\r\n{cookie}{own}Content-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{body}",
            body.len()
        );
        site.send(raw.as_bytes()).is(415);
    }
    nothing_logged(&shed);
    site.post(LOG, &fields).is(200).says("logged on setup");
}

#[test]
fn every_reply_says_what_a_browser_may_do_with_it() {
    let shed = Shed::new();
    let mut site = open(&shed, &[]);
    let mut pages: Vec<_> = ["/", LOG, "/style.css", "/nothing", "/bike/nobody", "/bike/../garage.toml"]
        .map(|path| site.get(path))
        .into();
    pages.push(site.post(LOG, &[]));
    for page in pages {
        let policy = page.header("content-security-policy").unwrap_or_else(|| panic!("{}", page.head));
        assert!(
            policy.starts_with("default-src 'none'; style-src 'self';") && !policy.contains("unsafe"),
            "{policy}"
        );
        assert!(
            policy.contains("frame-ancestors 'none'") && policy.contains("form-action 'self'"),
            "{policy}"
        );
        assert_eq!(page.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(page.header("cache-control"), Some("no-store"));
        assert_eq!(page.header("x-frame-options"), Some("DENY"));
        assert_eq!(page.header("cross-origin-opener-policy"), Some("same-origin"));
        assert_eq!(page.header("server"), None);
    }
}

#[test]
fn an_address_leads_to_no_file_and_a_method_to_no_other_deed() {
    let shed = Shed::new();
    let mut site = open(&shed, &[]);
    for path in [
        "/garage.toml",
        "/.git/config",
        "/bike/..",
        "/bike/%2e%2e/jets",
        "/bike/moth%2f..%2fmoth",
        "/bike/moth/..",
        "/bike/.git",
        "/bike/moth%00",
        "/bike/moth%0a",
        "/bike/%ff",
        "/bike/moth/",
        "//bike/moth",
        "/bike//moth",
        "/bike/MOTH",
        "/bike/%22%3E%3Cscript%3Ealert(1)%3C/script%3E",
        "/bike/moth/log/more",
        "/key",
        "/key/abcd",
    ] {
        let page = site.get(path);
        assert_eq!(page.status, 404, "{path}: {}", page.text());
        assert!(!page.body.contains("<script") && !page.body.contains("[core]"), "{path}");
    }
    for method in ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH", "CONNECT"] {
        let raw = format!("{method} / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", site.host());
        let page = site.send(raw.as_bytes());
        assert!([400, 405].contains(&page.status), "{method}: {}", page.head);
    }
    let head = site
        .send(format!("HEAD / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", site.host()).as_bytes());
    assert_eq!((head.status, head.body.as_str()), (200, ""));
}

#[test]
fn what_is_too_long_too_slow_or_too_often_is_refused() {
    let shed = Shed::new();
    let mut site = open(&shed, &[]);
    let page = site.get(LOG).is(200);
    let (token, once) = (page.hidden("token"), page.hidden("once"));
    let note = "x".repeat(70_000);
    let fields = [("z.full", "right"), ("notes", &note), ("token", token.as_str()), ("once", once.as_str())];
    site.post(LOG, &fields).is(413);
    let many = "a=1&".repeat(5_000);
    site.post_from(LOG, &format!("Origin: http://{}\r\n", site.host()), &many).is(413);
    let long =
        format!("GET /{} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", "a".repeat(40_000), site.host());
    assert!([0, 414, 431].contains(&site.send(long.as_bytes()).status));
    let lines: String = (0..200).map(|at| format!("X-{at}: 1\r\n")).collect();
    let heads = format!("GET / HTTP/1.1\r\nHost: {}\r\n{lines}\r\n", site.host());
    assert_eq!(site.send(heads.as_bytes()).status, 431);
    nothing_logged(&shed);
    // A head that never ends is not waited for.
    let began = Instant::now();
    let mut slow = TcpStream::connect(("127.0.0.1", site.port)).unwrap();
    slow.set_read_timeout(Some(Duration::from_secs(40))).unwrap();
    slow.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
    let mut rest = Vec::new();
    slow.read_to_end(&mut rest).unwrap();
    assert!(began.elapsed() < Duration::from_secs(30), "{:?}", began.elapsed());
    // One address has so many connections at once, and no more; those that are there keep theirs.
    let held: Vec<TcpStream> =
        (0..40).map(|_| TcpStream::connect(("127.0.0.1", site.port)).unwrap()).collect();
    std::thread::sleep(Duration::from_millis(300));
    let is_closed = |stream: &&TcpStream| {
        stream.set_read_timeout(Some(Duration::from_millis(20))).unwrap();
        matches!((&mut &**stream).read(&mut [0; 1]), Ok(0) | Err(_))
            && (&mut &**stream).read(&mut [0; 1]).is_ok_and(|read| read == 0)
    };
    assert_eq!(held.iter().filter(is_closed).count(), 24, "sixteen may stay");
    drop(held);
    std::thread::sleep(Duration::from_millis(300));
    // A flood is slowed, and then served again.
    let codes: Vec<u16> = (0..150).map(|_| site.asks("/style.css").status).collect();
    assert!(codes.contains(&200) && codes.contains(&429), "{codes:?}");
    std::thread::sleep(Duration::from_secs(1));
    site.asks("/style.css").is(200);
}

#[test]
fn a_phone_comes_in_with_the_key_and_with_no_other() {
    let shed = Shed::new();
    let mut site = open(&shed, &["--open-to-network"]);
    assert!(site.said.contains("Whoever is on this network can read along"), "{}", site.said);
    let key = site.key();
    for path in ["/", LOG, "/bike/moth", "/nothing"] {
        let page = site.get(path).is(401).says("Type the pass key");
        assert!(!page.body.contains("moth") && site.cookie.is_none(), "{path}");
    }
    site.get("/style.css").is(200);
    site.post(LOG, &[("z.full", "right"), ("token", ""), ("once", "a")]).is(401);
    site.post("/key", &[("key", "abcd-efgh-jkmn")]).is(401).says("not the pass key");
    site.post("/key", &[]).is(401);
    site.post_from("/key", "Origin: http://evil.example\r\n", &encoded(&[("key", &key)])).is(403);
    let inside = site.post("/key", &[("key", &key.to_uppercase().replace('-', ""))]).is(303);
    assert_eq!(inside.header("location"), Some("/"));
    let cookie = inside.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly; SameSite=Strict; Path=/") && !cookie.contains(&key), "{cookie}");
    // The address that holds the key is left at once: it stands neither in the address bar nor in the history.
    let by_picture = site.get(&format!("/key/{key}")).is(303);
    assert_eq!(by_picture.header("set-cookie"), Some(cookie));
    assert_eq!(by_picture.header("location"), Some("/in"));
    assert_eq!(by_picture.header("referrer-policy"), Some("no-referrer"));
    let inside = site.get("/in").is(200).says("You are in");
    assert!(!inside.body.contains(&key) && !inside.head.contains(&key));
    site.get("/").is(200).says("Moth");
    site.fill_sure(LOG, &[("z.full", "right")]).is(200).says("logged on setup");
    shed.assert_sound();
}

#[test]
fn a_key_that_is_guessed_a_thousand_times_is_not_found() {
    let shed = Shed::new();
    let mut site = open(&shed, &["--open-to-network"]);
    let key = site.key();
    let (mut looked_at, mut slowed) = (0, 0);
    for at in 0..1_000_u32 {
        let guess = format!("{at:04}-2222-3333");
        let page = if at % 2 == 0 {
            site.asks(&format!("/key/{guess}"))
        } else {
            site.post("/key", &[("key", &guess)])
        };
        assert_eq!(page.header("set-cookie"), None);
        match page.status {
            401 => looked_at += 1,
            429 => slowed += 1,
            other => panic!("{other}: {}", page.head),
        }
    }
    assert_eq!((looked_at, slowed), (5, 995));
    std::thread::sleep(Duration::from_secs(1));
    let page = site.get(&format!("/key/{key}")).is(429).says("Too many wrong keys");
    assert!(page.header("retry-after").unwrap().parse::<u64>().unwrap() > 10, "{}", page.head);
    assert!(site.cookie.is_none(), "not even the right one is looked at now");
}

#[test]
fn a_port_that_is_in_use_is_said_and_another_is_taken() {
    let shed = Shed::new();
    let taken = TcpListener::bind(("127.0.0.1", 0)).unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let complaint = shed.run(&["serve", "--port", &port]).refused();
    assert!(
        complaint.contains(&format!("Port {port} is in use.")) && complaint.contains("--port"),
        "{complaint}"
    );
    assert_eq!(shed.run(&["serve", "--port", "70000"]).code, Some(2));
    let nowhere = shed.run_in(shed.above(), &["serve", "--port", "0"]).refused();
    assert!(nowhere.contains("garage"), "{nowhere}");
}

#[cfg(unix)]
#[test]
fn it_ends_when_it_is_told_to_and_finishes_what_it_records() {
    let demo = Demo::new();
    for signal in ["-INT", "-TERM"] {
        let mut site = demo.serve(&[]);
        let page = site.get(LOG).is(200);
        let (token, once) = (page.hidden("token"), page.hidden("once"));
        let note = format!("told {signal}");
        let fields = [
            ("z.full", "right"),
            ("notes", note.as_str()),
            ("token", token.as_str()),
            ("once", once.as_str()),
        ];
        let (body, host, cookie) = (encoded(&fields), site.host(), site.cookie_line());
        let raw = format!(
            "POST {LOG} HTTP/1.1\r\nHost: {host}\r\n{cookie}Origin: http://{host}\r\nConnection: close\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        );
        let mut stream = TcpStream::connect(("127.0.0.1", site.port)).unwrap();
        stream.write_all(raw.as_bytes()).unwrap();
        std::thread::sleep(Duration::from_millis(60));
        assert!(
            Command::new("kill").args([signal, &site.child.id().to_string()]).status().unwrap().success()
        );
        let mut reply = String::new();
        stream.read_to_string(&mut reply).unwrap();
        assert!(reply.starts_with("HTTP/1.1 200") && reply.contains(" logged on "), "{signal}: {reply}");
        let ended = site.child.wait().unwrap();
        assert_eq!(ended.code(), Some(0), "{signal}");
        assert!(TcpStream::connect(("127.0.0.1", site.port)).is_err());
        assert!(demo.done(&["outing", "list", "moth", "-v"]).contains(&note), "{signal}");
        demo.done(&["garage", "check"]);
    }
}

/// Whatever a page starts beside itself ends with it: thirty pages leave hardly more threads than two.
#[cfg(target_os = "linux")]
#[test]
fn pages_leave_no_threads_behind() {
    let shed = Shed::new();
    let mut site = open(&shed, &[]);
    let threads = |site: &Site| std::fs::read_dir(format!("/proc/{}/task", site.child.id())).unwrap().count();
    for _ in 0..2 {
        site.get("/").is(200);
    }
    let before = threads(&site);
    for _ in 0..30 {
        site.get("/").is(200);
    }
    let after = threads(&site);
    // A pool may grow by a hand or two.
    assert!(after <= before + 6, "{before} threads, and {after} after thirty pages");
}
