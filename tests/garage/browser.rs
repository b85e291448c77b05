//! Every page in a real browser: nothing is wider than the window, nothing goes wrong or leaves the page, a printed one is one sheet, and
//! whoever cannot see it can read it. Where Chromium or axe-core is missing that is said and the test is left out; with `CI` set it fails.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stderr,
    clippy::disallowed_methods,
    missing_docs
)] // a test may fail loudly, start programs and say why it is left out

mod chromium;
mod phone;
mod served;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::{Value, json};
use tempfile::TempDir;

use self::chromium::{Chromium, Paper};
use crate::common::Shed;
use crate::pocket::{NOW, page_of_the_demo};
use crate::replayed::{demo_in, temporary_folder};

/// A quarter of an hour later, when the notes come home.
const LATER: &str = "2026-11-28T18:15+00:00";
const AIR: [&str; 6] = ["--temp", "18", "--baro", "1002", "--humidity", "60"];
/// A phone, a tablet and a laptop.
const WINDOWS: [(u32, u32); 3] = [(360, 740), (768, 1024), (1280, 800)];
const HOSTILE: &str = "</td></script><script>alert(1)</script><img src=x onerror=alert(2)>";

/// A browser; none where there is none here.
fn browser() -> Option<Chromium> {
    let program = chromium::program();
    if program.is_none() {
        left_out("Chromium is not installed");
    }
    Some(Chromium::start(&program?))
}

/// The accessibility checks; none where they are not here.
fn axe() -> Option<String> {
    let named = std::env::var_os("AXE_CORE").map(PathBuf::from);
    let file = named.unwrap_or_else(|| {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("target/axe/node_modules/axe-core/axe.min.js")
    });
    let script = fs::read_to_string(&file).ok();
    if script.is_none() {
        left_out(&format!("axe-core is not at {}", file.display()));
    }
    script
}

fn left_out(why: &str) {
    assert!(std::env::var_os("CI").is_none(), "{why}");
    eprintln!("LEFT OUT: {why}. `.ci/run` says how to get it.");
}

fn reedbook(garage: &Path, words: &[&str], now: &str) -> String {
    let home = garage.parent().unwrap();
    fs::write(home.join(".gitconfig"), "[user]\n\tname = Ana\n\temail = ana@example.org\n").unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_reedbook"))
        .args(words)
        .current_dir(garage)
        .env("HOME", home)
        .env("TZ", "UTC")
        .env("GIT_CONFIG_GLOBAL", home.join(".gitconfig"))
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("REEDBOOK_NOW", now)
        .env("COLUMNS", "100")
        .output()
        .unwrap();
    assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn garage() -> (TempDir, PathBuf) {
    let folder = temporary_folder();
    let garage = folder.path().join("demo");
    demo_in(&garage);
    (folder, garage)
}

/// A page, and the papers that it is printed on (ISO 216, ANSI Y14.1).
type Page = (&'static str, &'static [Paper]);
const A4: Paper = Paper { css: "A4", wide_mm: 210.0, high_mm: 297.0, margin_mm: 8.0, sheets: 1 };
const LETTER: Paper = Paper { css: "letter", wide_mm: 215.9, high_mm: 279.4, margin_mm: 8.0, sheets: 1 };
const A5: Paper = Paper { css: "A5", wide_mm: 148.0, high_mm: 210.0, margin_mm: 6.0, sheets: 1 };
const WHOLE: &[Paper] = &[A4, LETTER];
const SMALL: &[Paper] = &[A5];
/// A build's sheet, and on A5 a twin's card, take a second one rather than letters that nobody reads at a bench.
const LONG: &[Paper] = &[Paper { sheets: 2, ..A4 }, Paper { sheets: 2, ..LETTER }];
const LONG_SMALL: &[Paper] = &[Paper { sheets: 2, ..A5 }];

/// Writes every page of the demo, with notes and names that would be markup.
fn pages(garage: &Path) -> Vec<Page> {
    let note = |words: &[&str]| reedbook(garage, words, NOW);
    let run =
        ["outing", "add", "moth", "full=right", "--date", "2026-11-20 10:00", "--hours", "0.3", "--sure"];
    let place = ["--temp", "14", "--baro", "1004", "--humidity", "60", "--place", "<b>Fenn</b>"];
    note(&[&run[..], &place, &["--note", HOSTILE, "--plug", HOSTILE, "--session", HOSTILE]].concat());
    // A build of which nothing is done yet is the longest, and one of several cylinders the widest.
    note(&["build", "new", "granite", "--scope", "whole", "--why", HOSTILE]);
    note(&["build", "new", "basalt", "--scope", "top-end"]);
    let readings = ["left", "right"].map(|at| {
        let bore = |depth: &str, mm: &str| {
            let place = format!("{at}.bore.{depth}");
            let depth = if depth == "top" { 10 } else { 60 };
            [
                format!("{place}.depth={depth}"),
                format!("{place}.along_pin={mm}"),
                format!("{place}.across_pin={mm}"),
            ]
        };
        let piston = [format!("{at}.piston.diameter=53.348"), format!("{at}.squish.front=0.85")];
        let ring = [format!("{at}.ring.gaps.top.depth=10"), format!("{at}.ring.gaps.top.gap=0.30")];
        [&bore("top", "53.412")[..], &bore("bottom", "53.409"), &piston, &ring].concat()
    });
    let readings = readings.concat();
    let measured: Vec<&str> = readings.iter().map(String::as_str).collect();
    note(&[&["build", "measure", "basalt", "--sure"][..], &measured].concat());
    for bike in ["moth", "ibex", "wren", "otter"] {
        let (page, card, small) =
            (format!("{bike}.html"), format!("{bike}-card.html"), format!("{bike}-small.html"));
        note(&[&["sheet", bike, "--against", "3", "--to", &page][..], &AIR].concat());
        note(&[&["sheet", bike, "--small", "--to", &small][..], &AIR].concat());
        note(&["sheet", "card", bike, "--to", &card]);
    }
    // The day on which its parts and its risks fill a column.
    let thin = ["--temp", "18", "--baro", "968", "--humidity", "45"];
    note(&[&["sheet", "wren", "--small", "--to", "wren-thin.html"][..], &thin].concat());
    note(
        &[&["sheet", "wren", "--small", "--against", "8", "--to", "wren-thin-against.html"][..], &thin]
            .concat(),
    );
    note(&["sheet", "build", "finch", "--for-customer", "--small", "--to", "finch-small.html"]);
    for bike in ["moth", "otter"] {
        let (page, small) = (format!("{bike}-runs.html"), format!("{bike}-runs-small.html"));
        note(&["sheet", "session", bike, "--to", &page]);
        note(&["sheet", "session", bike, "--small", "--to", &small]);
    }
    note(&["sheet", "card", "otter", "--small", "--to", "otter-card-small.html"]);
    for engine in ["cicada", "cricket", "finch", "granite", "basalt"] {
        note(&["sheet", "build", engine]);
    }
    note(&["sheet", "build", "cicada", "--small", "--to", "build-small.html"]);
    note(&["sheet", "build", "cicada", "--for-customer", "--to", "customer.html"]);
    note(&["sheet", "card", "moth", "--small", "--to", "card-small.html"]);
    note(&["sheet", "van"]);
    note(&["sheet", "van", "--small", "--place", "Hollinmoss", "--to", "van-small.html"]);
    vec![
        ("moth.html", WHOLE),
        ("ibex.html", WHOLE),
        ("wren.html", WHOLE),
        ("otter.html", WHOLE),
        ("moth-small.html", SMALL),
        ("ibex-small.html", SMALL),
        ("wren-small.html", SMALL),
        ("otter-small.html", SMALL),
        ("wren-thin.html", SMALL),
        ("wren-thin-against.html", SMALL),
        ("finch-small.html", SMALL),
        ("moth-card.html", WHOLE),
        ("ibex-card.html", WHOLE),
        ("wren-card.html", WHOLE),
        ("otter-card.html", WHOLE),
        ("card-small.html", SMALL),
        ("otter-card-small.html", LONG_SMALL),
        ("moth-runs.html", WHOLE),
        ("otter-runs.html", WHOLE),
        ("moth-runs-small.html", SMALL),
        ("otter-runs-small.html", SMALL),
        ("cicada-build.html", WHOLE),
        ("cricket-build.html", WHOLE),
        ("finch-build.html", WHOLE),
        ("granite-build.html", WHOLE),
        ("basalt-build.html", LONG),
        ("build-small.html", LONG_SMALL),
        ("customer.html", WHOLE),
        ("van.html", WHOLE),
        ("van-small.html", SMALL),
    ]
}

/// What reaches beyond the window and is not in something that is moved under the finger.
const TOO_WIDE: &str = "(() => {
  const moved = (one) => one && (/auto|scroll/.test(getComputedStyle(one).overflowX) || moved(one.parentElement));
  const wide = [...document.body.querySelectorAll('*')].filter((one) => {
    const at = one.getBoundingClientRect();
    return at.width > 0 && (at.right > innerWidth + 1 || at.left < -1) && !moved(one.parentElement) && !one.closest('svg svg, svg *');
  });
  const said = wide.slice(0, 3).map((one) => `${one.tagName} ${one.className} ${one.textContent.slice(0, 40)}`);
  return document.documentElement.scrollWidth > innerWidth ? said.concat(`page ${document.documentElement.scrollWidth}`) : said;
})()";

/// What stands in the way of whoever cannot see the page.
const SERIOUS: &str = "axe.run(document, { resultTypes: ['violations'] }).then((found) => found.violations
  .filter((one) => ['serious', 'critical'].includes(one.impact))
  .map((one) => `${one.id}: ${one.help}: ${one.nodes[0].html.slice(0, 120)}`))";

#[test]
fn every_page_fits_its_window_and_one_sheet_loads_nothing_and_can_be_read_by_everybody() {
    let (Some(mut browser), Some(axe)) = (browser(), axe()) else { return };
    let (_folder, garage) = garage();
    let mut wrong = Vec::new();
    let pages = pages(&garage);
    for (name, papers) in &pages {
        let file = garage.join(name);
        let bytes = fs::metadata(&file).unwrap().len();
        if bytes >= 200_000 {
            wrong.push(format!("{name}: {bytes} bytes"));
        }
        browser.open(&file, WINDOWS[0]);
        wrong.extend(seen(&mut browser, &axe).into_iter().map(|trouble| format!("{name}: {trouble}")));
        for paper in *papers {
            wrong.extend(browser.too_long_for(paper).map(|trouble| format!("{name}: {trouble}")));
        }
        wrong.extend(browser.troubles(&file).into_iter().map(|trouble| format!("{name}: {trouble}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(pages.len() > 20);
}

/// What is wrong with the page that is open, as it is seen in each window and read by a machine.
fn seen(browser: &mut Chromium, axe: &str) -> Vec<String> {
    let mut wrong = Vec::new();
    // What is folded up is looked at, too.
    browser.eval("document.querySelectorAll('details').forEach((one) => { one.open = true; })");
    for (wide, high) in WINDOWS {
        browser.width(wide, high);
        let found = browser.eval(TOO_WIDE);
        wrong.extend(found.as_array().unwrap().iter().map(|one| format!("too wide at {wide}: {one}")));
    }
    browser.width(WINDOWS[0].0, WINDOWS[0].1);
    browser.eval(&format!("{axe}; 0"));
    let serious = browser.eval(SERIOUS);
    wrong.extend(serious.as_array().unwrap().iter().map(ToString::to_string));
    wrong
}

#[test]
fn what_is_too_wide_two_sheets_long_or_hard_to_read_is_seen() {
    let (Some(mut browser), Some(axe)) = (browser(), axe()) else { return };
    let folder = temporary_folder();
    let file = folder.path().join("wrong.html");
    let body = "<p style='width:50rem;height:2000px;color:#eee;background:#fff'>pale</p><img src='http://127.0.0.1:9/x.png'>";
    fs::write(
        &file,
        format!("<!DOCTYPE html><title>wrong</title>{body}<script>console.error('no')</script>"),
    )
    .unwrap();
    browser.open(&file, WINDOWS[0]);
    assert!(!browser.eval(TOO_WIDE).as_array().unwrap().is_empty());
    assert!(browser.too_long_for(&WHOLE[0]).is_some_and(|trouble| trouble.contains("A4")));
    fs::write(
        &file,
        "<!DOCTYPE html><style>@page { margin: 8mm }</style><p style='break-after:page'>one</p><p>two</p>",
    )
    .unwrap();
    browser.open(&file, WINDOWS[0]);
    assert!(browser.too_long_for(&WHOLE[0]).is_some_and(|trouble| trouble.contains("more than 1 sheet")));
    fs::write(
        &file,
        format!("<!DOCTYPE html><title>wrong</title>{body}<script>console.error('no')</script>"),
    )
    .unwrap();
    browser.open(&file, WINDOWS[0]);
    browser.eval(&format!("{axe}; 0"));
    let serious = browser.eval(SERIOUS).to_string();
    assert!(serious.contains("color-contrast") && serious.contains("image-alt"), "{serious}");
    let troubles = browser.troubles(&file).join("\n");
    assert!(
        troubles.contains("request: http://127.0.0.1:9/x.png") && troubles.contains("console: "),
        "{troubles}"
    );
}

/// A clock that stands where the page was made, whatever day it is.
fn clock() -> String {
    format!(
        "(() => {{ const Real = Date, shift = Real.parse('{NOW}') + 60e3 - Real.now();
          globalThis.Date = class extends Real {{
            constructor(...said) {{ if (said.length) super(...said); else super(Real.now() + shift); }}
            static now() {{ return Real.now() + shift; }}
          }}; }})()"
    )
}

#[test]
fn outings_that_are_logged_by_hand_on_a_phone_in_flight_mode_come_home() {
    let (Some(mut browser), Some(axe)) = (browser(), axe()) else { return };
    let (_folder, garage) = garage();
    let page = garage.join("pocket.html");
    fs::write(&page, page_of_the_demo()).unwrap();
    let saved = browser.saves_to();
    browser.ask("Page.addScriptToEvaluateOnNewDocument", json!({ "source": clock() }));
    let offline = json!({ "offline": true, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
    browser.ask("Network.emulateNetworkConditions", offline);
    browser.open(&page, WINDOWS[0]);
    let answer = |browser: &mut Chromium| browser.eval("document.getElementById('answer').innerText");
    for (bike, lap) in [("moth", "1:20.4"), ("ibex", "1:31.0"), ("otter", "1:18.2")] {
        browser.click(&format!("#bikes button[value={bike}]"));
        if bike == "moth" {
            for (field, value) in [("temp", "18"), ("pressure", "1002"), ("humidity", "60")] {
                browser.write(&format!("#reading [name={field}]"), value);
            }
        }
        let said = answer(&mut browser);
        let rejet = reedbook(&garage, &[&["rejet", bike][..], &AIR].concat(), NOW);
        let hands = rejet.lines().next().unwrap().trim();
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat(said.as_str().unwrap()).contains(&flat(hands)), "{bike}: {hands}\n{said}");
        assert_eq!(seen(&mut browser, &axe), Vec::<String>::new(), "{bike}");
        // The middle one of the buttons of full throttle says that it was right.
        browser.click("#zones fieldset:first-child button:nth-of-type(3)");
        browser.click("#plugs button:nth-of-type(4)");
        // The right cylinder has a verdict and a plug of its own.
        if bike == "otter" {
            browser.click("#who button:nth-of-type(3)");
            browser.click("#zones fieldset:first-child button:nth-of-type(4)");
            browser.click("#plugs button:nth-of-type(5)");
        }
        browser.write("#outing [name=lap]", lap);
        browser.write("#outing [name=minutes]", "18");
        let sounds_lean = bike == "ibex";
        let notes = if sounds_lean { format!("Revs hang. {HOSTILE}") } else { HOSTILE.to_owned() };
        browser.write("#outing [name=notes]", &notes);
        browser.click("#outing button[type=submit]");
        let logged = browser.eval("document.getElementById('logged').innerText").to_string();
        assert!(logged.contains(&format!("Logged for {bike}")) && logged.contains("= right"), "{logged}");
        assert_eq!(logged.contains("the notes sound lean"), sounds_lean, "{logged}");
    }
    assert_eq!(seen(&mut browser, &axe), Vec::<String>::new(), "with what was noted");
    // It is still there when the phone was put away.
    browser.open(&page, WINDOWS[0]);
    let kept = browser.eval("document.getElementById('kept').innerText");
    assert_eq!(kept, "3 noted, 3 neither saved nor sent yet.");
    browser.click("#save");
    let file = wait_for(&saved);
    assert_eq!(browser.troubles(&page), Vec::<String>::new());
    let came = reedbook(&garage, &["outing", "import", &file.display().to_string(), "--json"], LATER);
    let came: Value = serde_json::from_str(&came).unwrap();
    assert_eq!(came["logged"].as_array().unwrap().len(), 3, "{came}");
    for (bike, lap) in [("moth", "1:20.4"), ("ibex", "1:31.0"), ("otter", "1:18.2")] {
        let shown = reedbook(&garage, &["outing", "show", bike, "last", "--json"], LATER);
        let shown: Value = serde_json::from_str(&shown).unwrap();
        let text = shown.to_string();
        assert!(text.contains(lap) && text.contains(HOSTILE) && text.contains("\"tan\""), "{bike}: {text}");
        if bike == "otter" {
            assert!(text.contains("dark brown") && text.contains("slightly-rich"), "{text}");
        }
    }
}

#[test]
fn what_was_sent_already_is_taken_back_in_the_book() {
    let Some(mut browser) = browser() else { return };
    // A garage without a run: its page is made at once.
    let shed = Shed::new();
    let garage = shed.root();
    reedbook(&garage, &["sheet", "pocket"], NOW);
    let page = garage.join("pocket.html");
    let saved = browser.saves_to();
    browser.ask("Page.addScriptToEvaluateOnNewDocument", json!({ "source": clock() }));
    browser.open(&page, WINDOWS[0]);
    browser.click("#bikes button[value=moth]");
    let log = |browser: &mut Chromium, lap: &str| {
        browser.click("#zones fieldset:first-child button:nth-of-type(3)");
        browser.write("#outing [name=lap]", lap);
        browser.click("#outing button[type=submit]");
    };
    let words = |browser: &mut Chromium| {
        let words = browser.eval("document.getElementById('logged').innerText");
        words.as_str().unwrap().trim().to_owned()
    };
    let kept = |browser: &mut Chromium| browser.eval("document.getElementById('kept').innerText");
    log(&mut browser, "1:20.4");
    browser.click("#logged button");
    assert_eq!(words(&mut browser), "Taken back.");
    assert_eq!(kept(&mut browser), "0 noted, 0 neither saved nor sent yet.");
    log(&mut browser, "1:19.8");
    browser.click("#save");
    let file = wait_for(&saved);
    browser.click("#logged button");
    let said = words(&mut browser);
    assert!(said.starts_with("It was sent before"), "{said}");
    assert_eq!(kept(&mut browser), "1 noted, 0 neither saved nor sent yet.");
    // What it says does it.
    reedbook(&garage, &["outing", "import", &file.display().to_string()], LATER);
    assert!(reedbook(&garage, &["outing", "list", "moth"], LATER).contains("1:19.8"));
    let (_, command) = said.split_once("reedbook ").unwrap();
    let command: Vec<&str> = command.split_whitespace().collect();
    assert_eq!(command[..3], ["outing", "remove", "moth"]);
    reedbook(&garage, &command, LATER);
    assert!(!reedbook(&garage, &["outing", "list", "moth"], LATER).contains("1:19.8"));
}

#[test]
fn a_job_ticked_on_a_phone_ends_the_answers_of_the_page() {
    let Some(mut browser) = browser() else { return };
    let shed = Shed::new();
    let garage = shed.root();
    let run: Vec<&str> = ["outing", "add", "moth", "full=right", "--sure"].into_iter().chain(AIR).collect();
    reedbook(&garage, &run, NOW);
    reedbook(&garage, &["change", "moth", "jetting.main=180", "--sure", "--why", "richer"], NOW);
    reedbook(&garage, &["sheet", "pocket"], NOW);
    let page = garage.join("pocket.html");
    browser.ask("Page.addScriptToEvaluateOnNewDocument", json!({ "source": clock() }));
    browser.open(&page, WINDOWS[0]);
    browser.click("#bikes button[value=moth]");
    for (field, value) in [("temp", "18"), ("pressure", "1002"), ("humidity", "60")] {
        browser.write(&format!("#reading [name={field}]"), value);
    }
    let answer =
        |browser: &mut Chromium| browser.eval("document.getElementById('answer').innerText").to_string();
    let before = answer(&mut browser);
    assert!(!before.contains("Jobs were ticked here"), "{before}");
    browser.click(".bike:not([hidden]) .jobs input");
    let said = answer(&mut browser);
    assert!(said.contains("Jobs were ticked here") && !said.contains("FIT"), "{said}");
    // Taken back, it answers as before.
    browser.click(".bike:not([hidden]) .jobs input");
    assert_eq!(answer(&mut browser), before);
    // An altimeter setting without a height says what is missing.
    browser.eval("{ const kind = document.querySelector('#reading [name=kind]'); kind.value = 'qnh'; kind.dispatchEvent(new Event('input', { bubbles: true })); }");
    let felt = browser.eval("document.getElementById('felt').innerText").to_string();
    assert!(felt.contains("Fill in the elevation"), "{felt}");
}

/// The file that was saved, whole.
fn wait_for(folder: &Path) -> PathBuf {
    for _ in 0..300 {
        let files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|file| file.unwrap().path()).collect();
        if let [file] = files.as_slice()
            && file.extension().is_some_and(|ending| ending == "json")
        {
            return file.clone();
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    panic!("nothing was saved in {}", folder.display());
}
