//! Pages of `serve` in a real browser: nothing goes wrong, nothing leaves the laptop, nothing is wider than the window, and whoever cannot
//! see them can read them.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

use super::{HOSTILE, NOW, WINDOWS, axe, browser, garage, reedbook, seen};
use std::path::Path;

/// The program while it serves, and what it said.
struct Serving {
    child: Child,
    said: String,
}

impl Serving {
    fn of(garage: &Path, options: &[&str]) -> Self {
        let home = garage.parent().unwrap();
        let mut child = Command::new(env!("CARGO_BIN_EXE_reedbook"))
            .args([&["serve", "--port", "0"], options].concat())
            .current_dir(garage)
            .env("HOME", home)
            .env("TZ", "UTC")
            .env("GIT_CONFIG_GLOBAL", home.join(".gitconfig"))
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("REEDBOOK_NOW", NOW)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let mut said = String::new();
        while !said.contains("Ctrl-C ends it.") {
            said.push_str(&lines.next().unwrap_or_else(|| panic!("it ended: {said}")).unwrap());
            said.push('\n');
        }
        // Who writes on must be listened to.
        std::thread::spawn(move || lines.count());
        Self { child, said }
    }

    /// Its addresses.
    fn addresses(&self) -> Vec<String> {
        let all = self.said.split_whitespace().filter(|word| word.starts_with("http://"));
        let host = |word: &str| {
            word.trim_end_matches(['.', ',']).splitn(4, '/').take(3).collect::<Vec<_>>().join("/")
        };
        all.map(host).collect()
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_page_of_serve_is_clean_fits_each_window_and_asks_for_nothing_of_elsewhere() {
    let (Some(mut browser), Some(axe)) = (browser(), axe()) else { return };
    let (_folder, garage) = garage();
    let run = [
        "outing",
        "add",
        "moth",
        "full=lean",
        "--date",
        "2026-11-27 10:00",
        "--sure",
        "--place",
        "<b>Fenn</b>",
    ];
    let air = ["--temp", "14", "--baro", "1004", "--humidity", "60"];
    reedbook(&garage, &[&run[..], &air, &["--note", HOSTILE, "--plug", HOSTILE]].concat(), NOW);
    let site = Serving::of(&garage, &[]);
    let here = site.addresses().remove(0);
    let mut paths: Vec<String> = ["/", "/due", "/nothing"].map(str::to_owned).to_vec();
    // Each page once of the bike with most to say, and those that differ with the engine of the others.
    let all = [
        "",
        "/jets?temp=18&pressure=1002&humidity=60",
        "/log",
        "/last",
        "/history?all=1",
        "/compare?from=1&to=now",
        "/due",
        "/build",
    ];
    let of =
        |bike: &str, ends: &[&str]| ends.iter().map(|end| format!("/bike/{bike}{end}")).collect::<Vec<_>>();
    paths.extend(of("moth", &all));
    paths.extend(of("otter", &["", all[1], "/log", "/build"]));
    paths.extend(of("wren", &[all[1], "/compare?from=1&to=now"]));
    paths.extend(of("ibex", &["", "/build"]));
    let mut wrong = Vec::new();
    browser.width(WINDOWS[0].0, WINDOWS[0].1);
    for path in &paths {
        browser.go(&format!("{here}{path}"));
        let mut found = seen(&mut browser, &axe);
        let troubles = browser.troubles_beside(|url| url.starts_with(&format!("{here}/")));
        // A page that is not there says so.
        found.extend(troubles.into_iter().filter(|trouble| path != "/nothing" || !trouble.contains("404")));
        wrong.extend(found.into_iter().map(|trouble| format!("{path}: {trouble}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_phone_on_the_network_gets_clean_pages_too() {
    let Some(mut browser) = browser() else { return };
    let shed = crate::common::Shed::new();
    let site = Serving::of(&shed.root(), &["--open-to-network"]);
    let key = site.said.split("pass key ").nth(1).and_then(|rest| rest.split_whitespace().next()).unwrap();
    let Some(there) = site.addresses().into_iter().find(|address| !address.contains("//127.")) else {
        super::left_out("this machine has no address on a network");
        return;
    };
    browser.width(WINDOWS[0].0, WINDOWS[0].1);
    let is_own = |url: &str| url.starts_with(&format!("{there}/"));
    browser.go(&format!("{there}/key/{key}"));
    // It leads on by itself.
    browser.until("location.pathname === '/' && document.readyState === 'complete'");
    assert_eq!(browser.troubles_beside(is_own), Vec::<String>::new());
    for path in ["/", "/bike/moth", "/bike/moth/log"] {
        browser.go(&format!("{there}{path}"));
        assert!(browser.eval("document.body.innerText").to_string().contains("oth"), "{path}");
        assert_eq!(browser.troubles_beside(is_own), Vec::<String>::new(), "{path}");
    }
}
