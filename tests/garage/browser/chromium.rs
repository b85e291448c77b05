//! A headless Chromium, asked over the pipe that it has for that (`--remote-debugging-pipe`: JSON, a nought after each message, in at
//! descriptor 3 and out at 4; <https://chromedevtools.github.io/devtools-protocol/>).

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};
use tempfile::TempDir;

/// The longest that an answer is waited for.
const PATIENCE: Duration = Duration::from_secs(60);

/// Names under which it is installed.
const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable"];

/// A sheet of paper.
pub(super) struct Paper {
    /// What it is called in a style.
    pub(super) css: &'static str,
    pub(super) wide_mm: f64,
    pub(super) high_mm: f64,
    /// As the pages set it.
    pub(super) margin_mm: f64,
    /// How many sheets of it the page may take.
    pub(super) sheets: u32,
}

/// A browser with one page.
pub(super) struct Chromium {
    child: Child,
    to: ChildStdin,
    from: Receiver<Value>,
    /// What the browser said by itself, and nobody has read.
    events: VecDeque<Value>,
    asked: u64,
    session: Option<String>,
    home: TempDir,
}

/// The program, where it is installed.
pub(super) fn program() -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    NAMES
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|file| file.is_file())
}

/// Letters that are read at a bench, points (common practice, no source): a browser rounds a little.
const LEAST_PT: f64 = 5.9;

/// The smallest letters on a page that is seen as it is printed, in points as a drawing is scaled, and what they say.
const SMALLEST: &str = "(() => {
  let found = [99, ''];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const words = texts.currentNode, one = words.parentElement;
    if (!words.textContent.trim() || !one.getClientRects().length) continue;
    let points = parseFloat(getComputedStyle(one).fontSize) * 0.75;
    const svg = one.closest('svg');
    if (svg) {
      const at = svg.getBoundingClientRect(), drawn = svg.viewBox.baseVal;
      points *= Math.min(at.width / drawn.width, at.height / drawn.height);
    }
    if (points < found[0]) found = [points, words.textContent.trim().slice(0, 40)];
  }
  return found;
})()";

impl Chromium {
    pub(super) fn start(program: &Path) -> Self {
        let home = crate::replayed::temporary_folder();
        // The shell lays the pipes where the browser wants them. In a container there is no other user and no sandbox.
        let mut child = Command::new("sh")
            .args(["-c", "exec \"$@\" 3<&0 4>&1 </dev/null >/dev/null", "sh"])
            .arg(program)
            .args([
                "--headless",
                "--remote-debugging-pipe",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-dev-shm-usage",
            ])
            .args([
                "--no-first-run",
                "--disable-quic",
                "--disable-background-networking",
                "--disable-component-update",
            ])
            .args(["--disable-sync", "--disable-extensions", "--lang=en"])
            .arg(format!("--user-data-dir={}", home.path().join("profile").display()))
            .env("HOME", home.path())
            .env("TZ", "UTC")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let to = child.stdin.take().unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let (send, from) = channel();
        std::thread::spawn(move || {
            let mut message = Vec::new();
            while out.read_until(0, &mut message).is_ok_and(|read| read > 0) {
                message.pop();
                if send.send(serde_json::from_slice(&message).unwrap()).is_err() {
                    return;
                }
                message.clear();
            }
        });
        let mut browser = Self { child, to, from, events: VecDeque::new(), asked: 0, session: None, home };
        let target = browser.ask("Target.createTarget", json!({ "url": "about:blank" }));
        let session =
            browser.ask("Target.attachToTarget", json!({ "targetId": target["targetId"], "flatten": true }));
        browser.session = Some(session["sessionId"].as_str().unwrap().to_owned());
        for domain in ["Page", "Runtime", "Log", "Network"] {
            browser.ask(&format!("{domain}.enable"), json!({}));
        }
        browser
    }

    /// A folder that what is saved goes to.
    pub(super) fn saves_to(&mut self) -> PathBuf {
        let folder = self.home.path().join("saved");
        std::fs::create_dir_all(&folder).unwrap();
        let session = self.session.take();
        self.ask("Browser.setDownloadBehavior", json!({ "behavior": "allow", "downloadPath": folder }));
        self.session = session;
        folder
    }

    /// Asks for something; panics where the browser refuses.
    pub(super) fn ask(&mut self, method: &str, params: Value) -> Value {
        self.try_to(method, params).unwrap_or_else(|refused| panic!("{method}: {refused}"))
    }

    /// Asks for something that the browser may refuse, with what it says then.
    pub(super) fn try_to(&mut self, method: &str, params: Value) -> Result<Value, String> {
        self.asked += 1;
        let id = self.asked;
        let mut message = json!({ "id": id, "method": method });
        message["params"] = params;
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        self.to.write_all(message.to_string().as_bytes()).unwrap();
        self.to.write_all(&[0]).unwrap();
        loop {
            let said = self.next();
            if said["id"] != json!(id) {
                self.events.push_back(said);
                continue;
            }
            return match said["error"]["message"].as_str() {
                Some(refused) => Err(refused.to_owned()),
                None => Ok(said["result"].clone()),
            };
        }
    }

    fn next(&mut self) -> Value {
        self.from.recv_timeout(PATIENCE).expect("the browser answers in a minute")
    }

    /// Opens a file at a width, and waits until it stands there.
    pub(super) fn open(&mut self, file: &Path, (wide, high): (u32, u32)) {
        self.width(wide, high);
        self.go(&address(file));
    }

    /// Goes to an address, and waits until the page stands there.
    pub(super) fn go(&mut self, address: &str) {
        self.events.clear();
        self.ask("Page.navigate", json!({ "url": address }));
        let mut kept = VecDeque::new();
        loop {
            let said = self.events.pop_front().unwrap_or_else(|| self.next());
            let loaded = said["method"] == "Page.loadEventFired";
            kept.push_back(said);
            if loaded {
                break;
            }
        }
        kept.append(&mut self.events);
        self.events = kept;
    }

    /// Waits until something is so.
    pub(super) fn until(&mut self, expression: &str) {
        for _ in 0..100 {
            if self.eval(expression) == json!(true) {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("{expression} never is");
    }

    /// A window of this size; one that says that it is a phone would grow with what is too wide for it.
    pub(super) fn width(&mut self, wide: u32, high: u32) {
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": wide, "height": high, "deviceScaleFactor": 1, "mobile": false }),
        );
    }

    /// What went wrong on the page, or left it, since it was opened.
    pub(super) fn troubles(&mut self, file: &Path) -> Vec<String> {
        let own = address(file);
        self.troubles_beside(|url| url == own || url.starts_with("blob:"))
    }

    /// The same of a page that may ask for what is `own`.
    pub(super) fn troubles_beside(&mut self, own: impl Fn(&str) -> bool) -> Vec<String> {
        // What the browser has still to say comes before its answer.
        self.eval("0");
        let is_own = |url: &str| own(url) || url.starts_with("data:");
        self.events
            .iter()
            .filter_map(|said| {
                let params = &said["params"];
                match said["method"].as_str()? {
                    "Runtime.exceptionThrown" => Some(format!("exception: {}", params["exceptionDetails"])),
                    "Runtime.consoleAPICalled" if params["type"] == "error" => {
                        Some(format!("console: {params}"))
                    }
                    "Log.entryAdded" if params["entry"]["level"] == "error" => {
                        Some(format!("log: {}", params["entry"]))
                    }
                    "Page.javascriptDialogOpening" => Some(format!("dialog: {}", params["message"])),
                    "Network.requestWillBeSent" => {
                        let url = params["request"]["url"].as_str()?;
                        (!is_own(url)).then(|| format!("request: {url}"))
                    }
                    _ => None,
                }
            })
            .collect()
    }

    /// What an expression comes to; a promise is waited for.
    pub(super) fn eval(&mut self, expression: &str) -> Value {
        let params = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let result = self.ask("Runtime.evaluate", params);
        assert!(result["exceptionDetails"].is_null(), "{expression}: {}", result["exceptionDetails"]);
        result["result"]["value"].clone()
    }

    /// Presses and lets go where an element stands.
    pub(super) fn click(&mut self, selector: &str) {
        let at = self.eval(&format!(
            "(() => {{ const one = document.querySelector({0}); one.scrollIntoView({{ block: 'center' }}); const at = one.getBoundingClientRect(); return [at.x + at.width / 2, at.y + at.height / 2]; }})()",
            json!(selector)
        ));
        for kind in ["mousePressed", "mouseReleased"] {
            let params = json!({ "type": kind, "x": at[0], "y": at[1], "button": "left", "clickCount": 1 });
            self.ask("Input.dispatchMouseEvent", params);
        }
    }

    /// Types into a field.
    pub(super) fn write(&mut self, selector: &str, text: &str) {
        self.click(selector);
        self.ask("Input.insertText", json!({ "text": text }));
    }

    /// What keeps the page from being printed on its sheets as large as it is meant: a browser makes smaller what has no room. None where
    /// it fits.
    pub(super) fn too_long_for(&mut self, paper: &Paper) -> Option<String> {
        // As it lies on the sheet, within its margins.
        let of = |mm: f64| (mm - 2.0 * paper.margin_mm) / 25.4 * 96.0;
        let (wide, high) = (of(paper.wide_mm), of(paper.high_mm));
        self.ask("Emulation.setEmulatedMedia", json!({ "media": "print" }));
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": wide.floor(), "height": 300, "deviceScaleFactor": 1, "mobile": false }),
        );
        let lies = self.eval(
            "(() => { const page = document.documentElement; return [page.scrollWidth - innerWidth, page.getBoundingClientRect().height]; })()",
        );
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": wide.floor(), "height": high.floor(), "deviceScaleFactor": 1, "mobile": false }),
        );
        let smallest = self.eval(SMALLEST);
        self.ask("Emulation.setEmulatedMedia", json!({ "media": "" }));
        if smallest[0].as_f64().unwrap() < LEAST_PT {
            return Some(format!("{}: letters of {} points: {}", paper.css, smallest[0], smallest[1]));
        }
        if lies[0].as_f64().unwrap() > 0.0 || lies[1].as_f64().unwrap() > high * f64::from(paper.sheets) {
            return Some(format!("{}: too wide by, and high: {lies} pixels of {high:.0}", paper.css));
        }
        (!self.prints_on(paper)).then(|| format!("more than {} sheet of {}", paper.sheets, paper.css))
    }

    fn prints_on(&mut self, paper: &Paper) -> bool {
        let css = paper.css;
        self.eval(&format!(
            "document.head.append(Object.assign(document.createElement('style'), {{ id: 'paper', textContent: '@page {{ size: {css} }}' }}))"
        ));
        let print = |pages: &str| json!({ "preferCSSPageSize": true, "pageRanges": pages });
        let first = self.try_to("Page.printToPDF", print("1"));
        assert!(first.is_ok_and(|printed| printed["data"].as_str().is_some_and(|data| data.len() > 1_000)));
        let one_more = self.try_to("Page.printToPDF", print(&(paper.sheets + 1).to_string()));
        self.eval("document.getElementById('paper').remove()");
        match one_more {
            Ok(_) => false,
            Err(refused) => {
                assert!(refused.contains("age range"), "{refused}");
                true
            }
        }
    }
}

impl Drop for Chromium {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn address(file: &Path) -> String {
    format!("file://{}", file.display())
}
