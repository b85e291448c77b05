//! Pages of `serve` as a browser gets them: the program is started on a port of its own and spoken to over the wire.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs

mod doors;
mod mending;
mod pressing;
mod recording;
mod stories;

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;

use tempfile::TempDir;

use crate::replayed::{demo_in, temporary_folder};

const NOW: &str = "2026-11-28T12:31+01:00";

/// A copy of the demo.
struct Demo {
    _folder: TempDir,
    garage: PathBuf,
}

impl Demo {
    fn new() -> Self {
        let folder = temporary_folder();
        let garage = folder.path().join("demo");
        demo_in(&garage);
        fs::write(folder.path().join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n")
            .unwrap();
        Self { _folder: folder, garage }
    }

    fn program(&self, words: &[&str]) -> Command {
        let home = self.garage.parent().unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_reedbook"));
        command
            .args(words)
            .current_dir(&self.garage)
            .env("HOME", home)
            .env("GIT_CONFIG_GLOBAL", home.join(".gitconfig"))
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("REEDBOOK_NOW", NOW)
            .env_remove("COLUMNS");
        command
    }

    fn run(&self, words: &[&str]) -> Output {
        self.program(words).output().unwrap()
    }

    #[track_caller]
    fn done(&self, words: &[&str]) -> String {
        let out = self.run(words);
        assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    }

    #[track_caller]
    fn json(&self, words: &[&str]) -> serde_json::Value {
        serde_json::from_str(&self.done(&[words, &["--json"]].concat())).unwrap()
    }

    fn serve(&self, options: &[&str]) -> Site {
        Site::of(self.program(&[&["serve", "--port", "0"], options].concat()))
    }
}

/// The program while it serves.
struct Site {
    child: Child,
    /// What it said when it began.
    said: String,
    port: u16,
    cookie: Option<String>,
}

/// What came back.
#[derive(Debug)]
struct Page {
    status: u16,
    head: String,
    body: String,
}

impl Page {
    fn header(&self, name: &str) -> Option<&str> {
        let line = self.head.lines().find(|line| line.to_lowercase().starts_with(&format!("{name}:")))?;
        Some(line.split_once(':').unwrap().1.trim())
    }

    /// Its text, without tags.
    fn text(&self) -> String {
        let (mut text, mut in_tag) = (String::new(), false);
        for c in self.body.chars() {
            match c {
                '<' => in_tag = true,
                '>' => in_tag = false,
                c if !in_tag => text.push(c),
                _ => {}
            }
        }
        text.replace("&gt;", ">").replace("&lt;", "<").replace("&quot;", "\"").replace("&amp;", "&")
    }

    fn tags(&self) -> Vec<&str> {
        self.body.split('<').skip(1).filter_map(|rest| rest.split('>').next()).collect()
    }

    /// What a field holds that nobody sees.
    fn hidden(&self, name: &str) -> String {
        let start = format!("name=\"{name}\" value=\"");
        let at = self.body.find(&start).unwrap_or_else(|| panic!("no {name} in {}", self.body));
        self.body[at + start.len()..].split('"').next().unwrap().to_owned()
    }

    /// The yes to all that is asked on it, as its buttons, or what is ticked, send it.
    fn yes(&self) -> String {
        let is_it = |tag: &&str| {
            tag.contains(" name=\"sure\"") && (tag.starts_with("button") || tag.contains("type=\"checkbox\""))
        };
        let all = self.tags().into_iter().filter(is_it);
        let all: Vec<&str> =
            all.map(|tag| tag.split("value=\"").nth(1).unwrap().split('"').next().unwrap()).collect();
        assert!(!all.is_empty(), "nothing is asked: {}", self.text());
        all.join(" ")
    }

    #[track_caller]
    fn is(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{}\n{}", self.head, self.text());
        self
    }

    #[track_caller]
    fn says(self, words: &str) -> Self {
        assert!(self.text().contains(words), "no {words:?} in {}", self.text());
        self
    }
}

impl Site {
    fn of(mut command: Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::inherit()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut said = String::new();
        while !said.contains("Ctrl-C ends it.") {
            said.push_str(&lines.next().unwrap_or_else(|| panic!("it ended: {said}")).unwrap());
            said.push('\n');
        }
        // Who writes on must be listened to.
        std::thread::spawn(move || lines.count());
        let here = said.split("http://127.0.0.1:").nth(1).unwrap();
        let port = here.split('/').next().unwrap().parse().unwrap();
        Self { child, said, port, cookie: None }
    }

    fn host(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }

    fn key(&self) -> String {
        let rest = self.said.split("pass key ").nth(1).unwrap();
        rest.split_whitespace().next().unwrap().to_owned()
    }

    /// Sends bytes and reads what comes until it is closed.
    fn send(&self, bytes: &[u8]) -> Page {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        // Who is refused early may not be listened to until the end.
        let _ = stream.write_all(bytes);
        let mut all = Vec::new();
        let _ = stream.read_to_end(&mut all);
        let text = String::from_utf8_lossy(&all).into_owned();
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split_whitespace().nth(1).and_then(|code| code.parse().ok()).unwrap_or(0);
        Page { status, head: head.to_owned(), body: body.to_owned() }
    }

    fn cookie_line(&self) -> String {
        self.cookie.as_ref().map(|cookie| format!("Cookie: {cookie}\r\n")).unwrap_or_default()
    }

    fn asks(&self, path: &str) -> Page {
        let (host, cookie) = (self.host(), self.cookie_line());
        self.send(
            format!("GET {path} HTTP/1.1\r\nHost: {host}\r\n{cookie}Connection: close\r\n\r\n").as_bytes(),
        )
    }

    /// Asks as a browser does that keeps its cookie.
    fn get(&mut self, path: &str) -> Page {
        let page = self.asks(path);
        if let Some(cookie) = page.header("set-cookie") {
            self.cookie = cookie.split(';').next().map(str::to_owned);
        }
        page
    }

    /// Sends a form as a browser does.
    fn post(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let origin = format!("Origin: http://{}\r\n", self.host());
        self.post_from(path, &origin, &encoded(fields))
    }

    /// The same, and yes to what is asked of it.
    fn post_sure(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        let page = self.post(path, fields);
        if !page.text().contains("Look again:") {
            return page;
        }
        let (once, yes) = (page.hidden("once"), page.yes());
        let mut all: Vec<(&str, &str)> = fields.iter().filter(|(name, _)| *name != "once").copied().collect();
        all.extend([("once", once.as_str()), ("sure", yes.as_str())]);
        self.post(path, &all)
    }

    fn post_from(&self, path: &str, lines: &str, body: &str) -> Page {
        let (host, cookie) = (self.host(), self.cookie_line());
        self.send(
            format!(
                "POST {path} HTTP/1.1\r\nHost: {host}\r\n{cookie}{lines}Connection: close\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
                body.len()
            )
            .as_bytes(),
        )
    }

    /// Opens a form and sends it with these fields.
    fn fill(&mut self, form: &str, path: &str, fields: &[(&str, &str)]) -> Page {
        let page = self.get(form).is(200);
        let (token, once) = (page.hidden("token"), page.hidden("once"));
        self.post(path, &[fields, &[("token", token.as_str()), ("once", once.as_str())]].concat())
    }

    /// The same, and yes to what is asked of it.
    fn fill_sure(&mut self, path: &str, fields: &[(&str, &str)]) -> Page {
        let page = self.get(path).is(200);
        let (token, once) = (page.hidden("token"), page.hidden("once"));
        self.post_sure(path, &[fields, &[("token", token.as_str()), ("once", once.as_str())]].concat())
    }
}

impl Drop for Site {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Fields as a form sends them.
fn encoded(fields: &[(&str, &str)]) -> String {
    let plain = |byte: u8| match byte {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' => char::from(byte).to_string(),
        byte => format!("%{byte:02X}"),
    };
    let word = |word: &str| word.bytes().map(plain).collect::<String>();
    fields.iter().map(|(name, value)| format!("{}={}", word(name), word(value))).collect::<Vec<_>>().join("&")
}

/// Names of the bikes of a garage.
fn bikes(garage: &Path) -> Vec<String> {
    let entries = fs::read_dir(garage.join("bikes")).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}
