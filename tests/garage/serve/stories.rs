//! What the pages say: the same as the commands, first what the hands do, and nothing that runs or is loaded.

use std::fs;

use super::{Demo, Page, bikes};

const AIR: &str = "temp=18&pressure=1002&humidity=60";
const AS_OPTIONS: [&str; 6] = ["--temp", "18", "--baro", "1002", "--humidity", "60"];

/// Elements that have no end.
const EMPTY: [&str; 12] = [
    "!DOCTYPE", "meta", "link", "input", "br", "hr", "rect", "line", "polyline", "polygon", "circle", "path",
];

/// Every element ends where it should, and nothing is run or loaded but the style.
#[track_caller]
fn is_sound(page: &Page, path: &str) {
    let mut open: Vec<String> = Vec::new();
    for tag in page.tags() {
        let name = tag.trim_start_matches('/').split([' ', '/', '\n']).next().unwrap().to_owned();
        assert!(
            !["script", "img", "iframe", "object", "image", "use"].contains(&name.as_str()),
            "{path}: {tag}"
        );
        // What stands between quotes is a value, and runs nothing.
        let bare: String = tag.split('"').step_by(2).collect();
        for runs in [" on", " style=", " src="] {
            assert!(!bare.contains(runs), "{path}: {tag}");
        }
        for leads in [" href=\"", " action=\""].iter().filter_map(|to| tag.split(to).nth(1)) {
            assert!(leads.starts_with(['/', '#']) || leads.starts_with("data:,"), "{path}: {tag}");
        }
        if name == "link" {
            assert!(tag.contains("href=\"/style.css\"") || tag.contains("href=\"data:,\""), "{path}: {tag}");
        }
        if let Some(closed) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(closed), "{path}: {tag}");
        } else if !EMPTY.contains(&name.as_str()) && !tag.ends_with('/') {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "{path}: {open:?} are never closed");
    assert!(page.body.starts_with("<!DOCTYPE html><html lang=\"en\">"), "{path}");
    assert!(!page.body.contains("NaN") && page.body.len() < 100_000, "{path}: {} bytes", page.body.len());
}

#[test]
fn every_page_of_the_demo_is_sound_and_leads_on() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let mut paths = vec!["/".to_owned(), "/due".to_owned()];
    for bike in bikes(&demo.garage) {
        for end in
            ["", "/jets", "/log", "/last", "/history", "/compare", "/compare?from=1&to=now", "/due", "/build"]
        {
            paths.push(format!("/bike/{bike}{end}"));
        }
    }
    assert!(paths.len() > 30);
    for path in &paths {
        let page = site.get(path).is(200).says("throw its rider");
        is_sound(&page, path);
        for link in page.tags().iter().filter(|tag| tag.starts_with("a ")) {
            let to = link.split("href=\"").nth(1).unwrap().split('"').next().unwrap();
            if let Some(place) = to.strip_prefix('#') {
                assert!(page.body.contains(&format!("id=\"{place}\"")), "{path} leads to {to}");
                continue;
            }
            let bare = to.split('?').next().unwrap();
            assert!(paths.iter().any(|known| known == bare), "{path} leads to {to}");
        }
    }
    let style = site.get("/style.css").is(200);
    assert_eq!(style.header("content-type"), Some("text/css; charset=utf-8"));
    assert!(!style.body.contains("url(") && !style.body.contains("@import"));
}

#[test]
fn the_jets_are_those_of_rejet_and_an_odd_air_is_asked_first() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    for bike in ["moth", "wren"] {
        let page = site.get(&format!("/bike/{bike}/jets?{AIR}")).is(200);
        is_sound(&page, bike);
        let rejet = demo.done(&[&["rejet", bike][..], &AS_OPTIONS].concat());
        let first = rejet.lines().find(|line| line.starts_with(&format!("{bike}: "))).unwrap();
        let page = page.says(first.split(',').next().unwrap().trim_end());
        assert_eq!(page.body.matches("value=\"18\"").count(), 1, "what was typed stays");
        assert!(!page.body.contains("<svg "), "a drawing is asked for");
        let drawn = site.get(&format!("/bike/{bike}/jets?{AIR}&drawn=1")).is(200);
        is_sound(&drawn, bike);
        assert!(drawn.body.contains("<svg "));
    }
    // 1002 hPa is no pressure for a temperature of 60 C: asked, not answered.
    let odd = "temp=60&pressure=1002&humidity=20";
    let page =
        site.get(&format!("/bike/moth/jets?{odd}")).is(200).says("Look again").says("Yes, that is right");
    assert!(!page.text().contains("FIT"), "{}", page.text());
    let yes = page.yes();
    site.get(&format!("/bike/moth/jets?{odd}&sure={yes}")).is(200).says("A starting point, not a setting.");
    // A yes to one air is none to another.
    for (air, sure) in [(odd, "1"), ("temp=58&pressure=1002&humidity=20", yes.as_str())] {
        site.get(&format!("/bike/moth/jets?{air}&sure={sure}")).is(200).says("Look again");
    }
    for (typed, says) in [
        ("temp=18", "pressure"),
        ("temp=abc&pressure=1002&humidity=60", "abc"),
        ("temp=18&pressure=1002&humidity=60&kind=banana", "not a kind of pressure"),
        ("temp=18&pressure=12&humidity=60", "12"),
        ("", "No air is kept for today"),
    ] {
        let page = site.get(&format!("/bike/moth/jets?{typed}")).is(200).says(says);
        assert!(!page.text().contains("FIT"), "{typed}: {}", page.text());
        assert!(page.body.contains("name=\"humidity\""), "the form stands there again");
    }
}

#[test]
fn a_comparison_says_what_the_command_says_and_draws_both() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    // The newest, as the history leads to it, stands beside the one before and not beside itself.
    let newest = site.get("/bike/moth/compare?from=38").is(200);
    newest.says("from setup 37 to setup 38: 1 difference");
    let page = site.get("/bike/moth/compare?from=9&to=38").is(200);
    let command = demo.json(&["compare", "moth", "9", "38"]);
    let changes = command["changes"].as_array().unwrap();
    assert!(changes.len() > 5);
    let text = page.text();
    for change in changes.iter().filter(|change| change["difference"].is_number()) {
        for side in ["old", "new"] {
            assert!(text.contains(change[side].as_str().unwrap()), "{change}");
        }
    }
    assert_eq!(page.body.matches("<svg ").count(), 2, "the spark of both, and the ports, which are the same");
    // Of several cylinders what is alike at all is drawn once, and one that looks otherwise by itself.
    let page = site.get("/bike/otter/compare?from=9&to=10").is(200).says("Ports, each cylinder");
    assert_eq!(page.body.matches("<svg ").count(), 1, "no spark differs, and the ports are the same");
    demo.done(&["change", "otter", "right.ports.windows.exhaust.top=24.8", "--why", "right raised"]);
    let page = site.get("/bike/otter/compare?from=10&to=now").is(200);
    for title in ["Ports, cylinder left", ", cylinder right"] {
        assert!(page.text().contains(title), "{}", page.text());
    }
    for (asked, says) in [
        ("from=banana", "a setup is its number"),
        ("from=9&to=999", "999"),
        ("from=-1", "a setup is its number"),
    ] {
        site.get(&format!("/bike/moth/compare?{asked}")).is(400).says(says);
    }
}

#[test]
fn a_job_that_the_book_holds_to_be_wrong_says_so_on_its_button() {
    let demo = Demo::new();
    demo.done(&["rollback", "moth", "35", "--despite", "back to what went well"]);
    let mut site = demo.serve(&[]);
    let page = site.get("/bike/moth").is(200).says("☐!! rejet first: main 178 → 170").says("☐base gasket");
    is_sound(&page, "/bike/moth");
}

#[test]
fn what_changes_beside_it_is_seen_and_a_broken_garage_is_said() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let before = site.get("/bike/ibex/history").is(200);
    assert!(!before.text().contains("clutch adjusted"));
    demo.done(&["change", "ibex", "gearing.rear=51", "--why", "clutch adjusted, one more tooth"]);
    site.get("/bike/ibex").is(200).says("clutch adjusted").says("51");
    let file = demo.garage.join("bikes/ibex/setup.toml");
    let text = fs::read_to_string(&file).unwrap();
    fs::write(&file, "this is = = no TOML").unwrap();
    site.get("/bike/ibex/jets").is(200).says("setup.toml");
    fs::write(&file, text).unwrap();
    site.get("/bike/ibex").is(200).says("clutch adjusted");
    let away = demo.garage.with_extension("away");
    fs::rename(&demo.garage, &away).unwrap();
    site.get("/").is(500).says("There is no garage");
    fs::rename(&away, &demo.garage).unwrap();
    site.get("/").is(200);
}

#[test]
fn hostile_words_stand_as_text() {
    let demo = Demo::new();
    let hostile = "</td><script>alert(1)</script><img src=x onerror=alert(1)>\"'&";
    let mut site = demo.serve(&[]);
    let page = site
        .fill_sure(
            "/bike/moth/log",
            &[
                ("z.full", "right"),
                ("place", "<b>Fenn</b>"),
                ("session", hostile),
                ("plug", hostile),
                ("notes", hostile),
            ],
        )
        .is(200)
        .says("logged on setup");
    is_sound(&page, "logged");
    demo.done(&["change", "moth", "jetting.main=182", "--why", hostile]);
    for path in
        ["/", "/bike/moth", "/bike/moth/log", "/bike/moth/history", "/bike/moth/compare", "/bike/moth/jets"]
    {
        is_sound(&site.get(path).is(200), path);
    }
    site.get("/bike/moth").says("<script>alert(1)</script>");
    // What was typed comes back as it was, in a field's value too.
    let page =
        site.fill("/bike/moth/log", "/bike/moth/log", &[("z.full", "right"), ("lap", hostile)]).is(400);
    is_sound(&page, "refused");
    assert!(page.body.contains("&lt;script&gt;"));
}

#[test]
fn what_is_only_to_be_looked_at_has_no_pen() {
    let demo = Demo::new();
    let mut site = demo.serve(&["--look"]);
    assert!(site.said.contains("Only to be looked at"), "{}", site.said);
    for path in ["/", "/bike/moth", "/bike/moth/build", "/bike/moth/jets"] {
        let page = site.get(path).is(200).says("Only to be looked at");
        assert!(!page.body.contains("method=\"post\"") && !page.body.contains("name=\"token\""), "{path}");
    }
    site.get("/bike/moth/log").is(403).says("records nothing from them");
    let before = demo.done(&["outing", "list", "moth"]);
    for path in ["/bike/moth/log", "/bike/moth/jobs", "/bike/moth/build"] {
        site.post(path, &[("z.full", "right"), ("token", ""), ("once", "a")]).is(403);
    }
    assert_eq!(demo.done(&["outing", "list", "moth"]), before);
}
