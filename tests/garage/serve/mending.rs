//! What was logged is mended and taken back; what was typed is lost neither by another phone nor by a restart.

use super::{Demo, Page, Site};
use crate::common::Shed;

const LOG: &str = "/bike/moth/log";
const LAST: &str = "/bike/moth/last";

fn last(demo: &Demo) -> serde_json::Value {
    demo.json(&["outing", "list", "moth", "--last", "1"])["outings"][0].clone()
}

fn count(demo: &Demo) -> usize {
    demo.json(&["outing", "list", "moth"])["outings"].as_array().unwrap().len()
}

/// The fields of a form as they stand in it, what is chosen among several alone.
fn stands(page: &Page) -> Vec<(String, String)> {
    let plain = |text: &str| {
        text.replace("&quot;", "\"").replace("&gt;", ">").replace("&lt;", "<").replace("&amp;", "&")
    };
    let of = |tag: &str, name: &str| {
        let start = format!("{name}=\"");
        tag.split(&start).nth(1).and_then(|rest| rest.split('"').next()).map(plain)
    };
    let mut fields = Vec::new();
    let mut select = String::new();
    for tag in page.tags() {
        if tag.starts_with("select") {
            select = of(tag, " name").unwrap_or_default();
        }
        if tag.starts_with("option") && tag.ends_with(" selected") {
            fields.push((select.clone(), of(tag, " value").unwrap_or_default()));
        }
        let chosen = !(tag.contains("type=\"radio\"") || tag.contains("type=\"checkbox\""))
            || tag.ends_with(" checked");
        if tag.starts_with("input") && chosen {
            fields.extend(of(tag, " name").zip(of(tag, " value")));
        }
    }
    for piece in page.body.split("<textarea ").skip(1) {
        let text = piece.split('>').nth(1).and_then(|rest| rest.split('<').next()).map(plain);
        fields.extend(of(&format!(" {piece}"), " name").zip(text));
    }
    fields
}

/// Sends a form as it stands, but for some fields.
fn send(site: &Site, path: &str, page: &Page, other: &[(&str, &str)]) -> Page {
    let mut fields = stands(page);
    fields.retain(|(name, _)| !other.iter().any(|(known, _)| known == name));
    let mut all: Vec<(&str, &str)> =
        fields.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    all.extend(other);
    site.post(path, &all)
}

/// Sends a form as it stands, with yes to what is asked on it or will be.
fn sure(site: &Site, path: &str, page: &Page) -> Page {
    let mut page = Page { status: page.status, head: page.head.clone(), body: page.body.clone() };
    if !page.body.contains("name=\"sure\"") {
        page = send(site, path, &page, &[]);
    }
    if page.text().contains("Look again:") {
        let yes = page.yes();
        page = send(site, path, &page, &[("sure", &yes)]);
    }
    page
}

/// What Enter presses in a field of a form that writes or asks: its first button.
fn first_button(page: &Page) -> String {
    let tags = page.tags();
    let form = tags.iter().position(|tag| tag.starts_with("form ")).unwrap();
    (*tags[form..].iter().find(|tag| tag.starts_with("button")).unwrap()).to_owned()
}

#[test]
fn what_a_form_has_no_field_for_stays_as_it_is() {
    let demo = Demo::new();
    let said = ["full=right", "right.full=lean", "left.plug=tan", "--note", "rough", "--sure"];
    demo.done(&[&["outing", "add", "otter"][..], &said].concat());
    let read = || demo.json(&["outing", "list", "otter", "--last", "1"])["outings"][0].clone();
    let was = read();
    assert_eq!(was["verdict"]["right"]["full"], "lean");
    let path = "/bike/otter/last";
    let mut site = demo.serve(&[]);
    let form = site.get(path).is(200).says("Only at the cylinder right").says("Only at the cylinder left");
    let own = |name: &str| ["token", "once", "run", "was"].contains(&name) || name.starts_with("shown.");
    let mut short = stands(&form);
    short.retain(|(name, _)| own(name));
    short.push(("lap".to_owned(), "1:20.5".to_owned()));
    let short: Vec<(&str, &str)> = short.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    site.post_sure(path, &short).is(200).says(": fixed");
    let is = read();
    assert_eq!(is["lap"], "1:20.5");
    for field in ["verdict", "cylinders", "notes", "date", "air", "place"] {
        assert_eq!(is[field], was[field], "{field} is dropped");
    }
    // One that is there and was emptied is taken out.
    let form = site.get(path).is(200);
    send(&site, path, &form, &[("z.right.full", ""), ("notes", "")]).is(200).says(": fixed");
    let is = read();
    assert!(is["verdict"]["right"]["full"].is_null() && is["notes"].is_null(), "{is}");
    assert_eq!(is["cylinders"]["left"], was["cylinders"]["left"]);
    // One that says of no run what it was is no form of ours.
    site.post(path, &[("token", &form.hidden("token")), ("once", "x"), ("run", &form.hidden("run"))])
        .is(400)
        .says("does not say which run");
    demo.done(&["garage", "check"]);
}

#[test]
fn two_phones_mend_one_run_and_neither_word_is_lost() {
    let demo = Demo::new();
    demo.done(&["outing", "add", "moth", "full=right", "--plug", "tan", "--lap", "1:09.4", "--sure"]);
    let mut site = demo.serve(&[]);
    let (one, other) = (site.get(LAST).is(200), site.get(LAST).is(200));
    send(&site, LAST, &one, &[("z.full", "lean"), ("plug", "white")]).is(200).says(": fixed");
    let page = send(&site, LAST, &other, &[("notes", "rattled"), ("plug", "grey")])
        .is(400)
        .says("full throttle: \"right\" → \"lean\"")
        .says("You both fixed: plug (\"white\" is logged, you typed \"grey\").");
    assert_eq!(last(&demo)["verdict"]["full"], "lean");
    // A lean run is not put back to right by a form that showed what it was before.
    let now = stands(&page);
    let chosen = |name: &str| now.iter().find(|(known, _)| known == name).map(|(_, text)| text.as_str());
    assert_eq!(chosen("z.full"), Some("lean"));
    assert_eq!((chosen("plug"), chosen("notes")), (Some("grey"), Some("rattled")));
    send(&site, LAST, &page, &[]).is(200).says(": fixed");
    let is = last(&demo);
    assert_eq!(is["verdict"]["full"], "lean");
    assert!(is["plug"] == "grey" && is["notes"] == "rattled" && is["lap"] == "1:09.4", "{is}");
    // The same where the laptop mended it and the key was typed anew between.
    let mut phone = Site::of(demo.program(&["serve", "--port", "0", "--open-to-network"]));
    let inside = phone.post("/key", &[("key", &phone.key())]).is(303);
    phone.cookie = inside.header("set-cookie").and_then(|cookie| cookie.split(';').next()).map(str::to_owned);
    let form = phone.get(LAST).is(200);
    demo.done(&["outing", "edit", "moth", "last", "1/2=lean"]);
    phone.cookie = None;
    let door = send(&phone, LAST, &form, &[("plug", "")]).is(401).says("comes back once the key is right");
    let page = send(&phone, "/key", &door, &[("key", &phone.key())]).is(403);
    let page = page.says("1/2 throttle: nothing → \"lean\"");
    phone.cookie = page.header("set-cookie").and_then(|cookie| cookie.split(';').next()).map(str::to_owned);
    send(&phone, LAST, &page, &[]).is(200).says(": fixed");
    let is = last(&demo);
    assert!(is["verdict"]["half"] == "lean" && is["plug"].is_null() && is["notes"] == "rattled", "{is}");
    demo.done(&["garage", "check"]);
}

#[test]
fn enter_in_a_field_says_yes_to_nothing() {
    let shed = Shed::new();
    shed.run(&["build", "new", "moth-engine", "--scope", "top-end", "--why", "new ring"]).done();
    let demo = Demo::new();
    let (mut site, mut measuring) =
        (demo.serve(&[]), Site::of(shed.program(&shed.root(), &["serve", "--port", "0"])));
    let build = "/bike/moth/build";
    let form = site.fill(LOG, LOG, &[("z.full", "right"), ("minutes", "900")]).says("Look again");
    let jets = site.get("/bike/moth/jets?temp=60&pressure=1002&humidity=20").says("Look again");
    let readings = measuring.get(build).is(200);
    let far = [("r.squish.front", "0.72"), ("r.squish.rear", "0.7"), ("r.squish.right", "3.6")];
    let readings = send(&measuring, build, &readings, &far).says("is it a typing mistake?");
    for page in [form, jets, readings] {
        let button = first_button(&page);
        assert!(!button.contains("name="), "{button}: {}", page.text());
        assert!(page.yes().len() > 4);
    }
}

#[test]
fn the_last_run_is_mended_and_taken_back() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let before = count(&demo);
    let typed = [
        ("z.full", "lean"),
        ("z.half", "right"),
        ("plug", "white"),
        ("lap", "1:09.4"),
        ("minutes", "18"),
        ("place", "Hollinmoss"),
        ("temp", "24"),
        ("pressure", "968"),
        ("humidity", "40"),
        ("notes", "was \"it\" <the> other bike?"),
    ];
    let logged = site.fill_sure(LOG, &typed).is(200).says("logged on setup").says("fix it, or take it back");
    assert!(logged.body.contains(&format!("href=\"{LAST}?run=")), "{}", logged.body);
    // Sent as it stands it changes nothing.
    let was = last(&demo);
    let form = site.get(LAST).is(200).says("The run as it is logged").says("Moth: fix a run");
    assert!(!form.text().contains("Log it") && form.body.contains("<title>Moth: fix a run"));
    let page = send(&site, LAST, &form, &[]).is(200).says("Nothing was changed in the form");
    assert!(!page.text().contains("reedbook"), "{}", page.text());
    assert_eq!(last(&demo), was);
    // One word of it mended leaves the rest.
    let form = site.get(LAST).is(200);
    send(&site, LAST, &form, &[("z.full", "right"), ("plug", ""), ("minutes", "25")]).is(200).says(": fixed");
    let is = last(&demo);
    assert_eq!(is["verdict"]["full"], "right");
    assert_eq!(is["verdict"]["half"], "right");
    assert!(
        is["plug"].is_null()
            && is["notes"] == was["notes"]
            && is["air"] == was["air"]
            && is["date"] == was["date"]
    );
    assert!((is["hours"].as_f64().unwrap() - 25.0 / 60.0).abs() < 1e-3, "{is}");
    // What another mended since is said, and what was typed stays.
    let old = form;
    let page = send(&site, LAST, &old, &[("lap", "1:08.8"), ("once", "another")])
        .is(400)
        .says("Another fixed this run since the form was opened")
        .says("full throttle: \"lean\" → \"right\"")
        .says("plug: \"white\" → nothing");
    assert!(page.body.contains("value=\"1:08.8\""), "what was typed is lost");
    assert_eq!(last(&demo), is);
    send(&site, LAST, &page, &[("lap", "1:19.4")]).is(200).says(": fixed");
    let then = last(&demo);
    assert_eq!(then["lap"], "1:19.4");
    for field in ["verdict", "plug", "hours"] {
        assert_eq!(then[field], is[field], "{field} is put back");
    }
    // A slip is asked here too.
    let form = site.get(LAST).is(200);
    let page = send(&site, LAST, &form, &[("minutes", "900")]).is(200).says("Look again").says("fix it");
    assert!(!page.text().contains("Log it"), "{}", page.text());
    send(&site, LAST, &page, &[("minutes", "17")]).is(200).says(": fixed");
    assert_eq!(count(&demo), before + 1);
    let form = site.get(LAST).is(200).says("Take this run back");
    send(&site, LAST, &form, &[("remove", "1")]).is(200).says("is taken back");
    assert_eq!(count(&demo), before);
    demo.done(&["garage", "check"]);
    // One that another took back is no run to be mended: what was typed stands in a form for a new one.
    let page = send(&site, LAST, &old, &[("lap", "1:08.7"), ("once", "late")])
        .is(400)
        .says("Moth: log a run")
        .says("was taken back since the form was opened");
    assert!(page.body.contains("value=\"1:08.7\"") && !page.text().contains("reedbook"), "{}", page.text());
    let mut look = demo.serve(&["--look", "--open-to-network"]);
    // What is typed is kept nowhere, and the door does not say that it were.
    let door = send(&look, LAST, &form, &[]).is(401).says("what you typed is not recorded");
    assert!(!door.text().contains("comes back once"), "{}", door.text());
    let inside = send(&look, "/key", &door, &[("key", &look.key())]).is(303);
    look.cookie = inside.header("set-cookie").and_then(|cookie| cookie.split(';').next()).map(str::to_owned);
    look.get(LAST).is(403).says("records nothing from them");
    send(&look, LAST, &form, &[]).is(403).says("what was typed is not kept");
}

#[test]
fn a_lap_that_cannot_be_right_is_asked_and_a_date_ahead_refused() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let before = last(&demo);
    for (name, value, status, says) in [
        ("lap", "0:29", 200, "A lap of 0:29, where the best there was"),
        ("date", "2026-11-28 19:40", 400, "lies ahead"),
    ] {
        let typed = [("z.full", "right"), ("place", "Hollinmoss"), (name, value)];
        let page = site.fill(LOG, LOG, &typed).is(status).says(says);
        assert!(page.body.contains(&format!("value=\"{value}\"")), "{name} is lost");
        let option = format!("--{name}");
        let refused =
            demo.run(&["outing", "add", "moth", "full=right", "--place", "Hollinmoss", &option, value]);
        assert!(String::from_utf8_lossy(&refused.stderr).contains(says), "{refused:?}");
    }
    assert_eq!(last(&demo), before);
}

#[test]
fn what_was_typed_before_a_restart_comes_back() {
    let demo = Demo::new();
    let before = count(&demo);
    let typed = [("z.full", "slightly-rich"), ("notes", "typed <before> \"it\" ended"), ("lap", "1:09.9")];
    // At the laptop.
    let mut site = demo.serve(&[]);
    let form = site.get(LOG).is(200);
    let (port, cookie) = (site.port.to_string(), site.cookie.clone());
    drop(site);
    let mut site = Site::of(demo.program(&["serve", "--port", &port]));
    site.cookie = cookie;
    let page =
        send(&site, LOG, &form, &typed).is(403).says("started anew").says("typed <before> \"it\" ended");
    assert!(page.body.contains("value=\"1:09.9\"") && page.body.contains("value=\"slightly-rich\" checked"));
    assert_eq!(count(&demo), before);
    site.cookie = page.header("set-cookie").and_then(|cookie| cookie.split(';').next()).map(str::to_owned);
    sure(&site, LOG, &page).is(200).says("logged on setup");
    assert_eq!(count(&demo), before + 1);
    // On a phone, which must know the new key first.
    let form = site.get(LOG).is(200);
    let cookie = site.cookie.clone();
    drop(site);
    let mut site = Site::of(demo.program(&["serve", "--port", &port, "--open-to-network"]));
    site.cookie = cookie;
    let door =
        send(&site, LOG, &form, &typed).is(401).says("what you typed comes back once the key is right");
    let door = send(&site, "/key", &door, &[("key", "abcd-efgh-jkmn")]).is(401).says("not the pass key");
    let key = site.key();
    let page = send(&site, "/key", &door, &[("key", &key)]).is(403).says("started anew");
    assert!(page.body.contains("value=\"1:09.9\"") && page.body.contains("value=\"slightly-rich\" checked"));
    site.cookie = page.header("set-cookie").and_then(|cookie| cookie.split(';').next()).map(str::to_owned);
    sure(&site, LOG, &page).is(200).says("logged on setup");
    assert_eq!(count(&demo), before + 2);
    demo.done(&["garage", "check"]);
}

#[test]
fn two_phones_measure_one_build_and_neither_reading_is_lost() {
    let shed = Shed::new();
    shed.run(&["build", "new", "moth-engine", "--scope", "top-end", "--why", "new ring"]).done();
    let mut site = Site::of(shed.program(&shed.root(), &["serve", "--port", "0"]));
    let path = "/bike/moth/build";
    let (one, other) = (site.get(path).is(200), site.get(path).is(200));
    send(&site, path, &one, &[("r.squish.front", "0.72"), ("r.squish.rear", "0.70")]).is(303);
    let typed = [("r.squish.front", "0.75"), ("r.squish.rear", "0.7"), ("r.squish.left", "0.71")];
    let asked = send(&site, path, &other, &typed)
        .is(200)
        .says("Somebody else wrote this down since the form was opened")
        .says("0.72 mm is written down, you typed 0.75 mm");
    assert!(!asked.text().contains("0.70 mm is written down"), "the same reading is no question");
    for kept in ["value=\"0.75\"", "value=\"0.71\""] {
        assert!(asked.body.contains(kept), "{kept} is lost");
    }
    let read = || {
        let file = shed.json(&["build", "show", "moth-engine"])["file"].as_str().unwrap().to_owned();
        shed.read(&file)
    };
    assert!(!read().contains("0.71"), "nothing is written before it is answered");
    send(&site, path, &asked, &[("meanwhile", "keep")]).is(303);
    assert!(read().contains("0.71") && read().contains("0.72") && !read().contains("0.75"), "{}", read());
    let again = send(&site, path, &other, &[("r.squish.front", "0.75"), ("once", "x1")]).is(200);
    send(&site, path, &again, &[("meanwhile", "over")]).is(303);
    assert!(read().contains("0.75") && !read().contains("0.72"), "{}", read());
    // A reading far off is asked.
    let form = site.get(path).is(200);
    let page = send(&site, path, &form, &[("r.squish.right", "3.6")]).is(200).says("is it a typing mistake?");
    assert!(page.body.contains("value=\"3.6\"") && !read().contains("3.6"));
    let yes = page.yes();
    for (right, yes) in [("3.6", "1"), ("36", yes.as_str())] {
        send(&site, path, &page, &[("r.squish.right", right), ("sure", yes)])
            .is(200)
            .says("is it a typing mistake?");
    }
    sure(&site, path, &page).is(303);
    assert!(read().contains("3.6"));
    shed.assert_sound();
}
