//! What a hand answers by pressing: what was on the bike, each question by itself, a field that is wrong.

use super::{Demo, Page, Site};

const LOG: &str = "/bike/moth/log";
const LAST: &str = "/bike/moth/last";

fn newest(demo: &Demo, bike: &str) -> serde_json::Value {
    demo.json(&["outing", "list", bike, "--last", "1"])["outings"][0].clone()
}

/// Sends what a form bears unseen, and what is pressed or typed.
fn press(site: &Site, page: &Page, pressed: &[(&str, &str)]) -> Page {
    let own = ["token", "once", "run", "was"].map(|name| (name, page.hidden(name)));
    let own: Vec<(&str, &str)> = own.iter().map(|(name, said)| (*name, said.as_str())).collect();
    site.post(LAST, &[&own[..], pressed].concat())
}

#[test]
fn a_lean_run_with_a_jet_that_was_never_ticked_is_answered_with_one_press() {
    let demo = Demo::new();
    let now = demo.json(&["now", "moth"])["bikes"][0]["setup"].as_u64().unwrap();
    demo.done(&["change", "moth", "jetting.main=182", "--why", "cooler", "--sure"]);
    let mut site = demo.serve(&[]);
    let lean = [("z.full", "lean"), ("place", "Hollinmoss"), ("notes", "went flat")];
    let page = site.fill_sure(LOG, &lean).is(200).says("Never ticked").says("Yes, it ran with all of it");
    assert!(!page.text().contains("--confirm") && !page.text().contains("--setup"), "{}", page.text());
    assert_eq!(newest(&demo, "moth")["doubted"][0], "setup");
    let ran = page.says(&format!("ran without: on setup {now}"));
    press(&site, &ran, &[("ran", &now.to_string())]).is(200).says(": fixed");
    let is = newest(&demo, "moth");
    assert_eq!((is["setup"].as_u64(), is["doubted"].as_array().map(Vec::len)), (Some(now), Some(0)));
    // The other answer, and one that is none.
    let page =
        site.fill_sure(LOG, &[("z.full", "lean"), ("notes", "flat again")]).is(200).says("Never ticked");
    press(&site, &page, &[("ran", "banana")]).is(400).says("not a setup number");
    press(&site, &page, &[("ran", "all")]).is(200).says(": fixed");
    let is = newest(&demo, "moth");
    assert_eq!(is["doubted"].as_array().map(Vec::len), Some(0), "{is}");
    assert_ne!(is["setup"].as_u64(), Some(now));
    drop(site);
    demo.done(&["garage", "check"]);
}

#[test]
fn a_cause_is_written_down_where_the_run_was_lean() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    site.fill_sure(LOG, &[("z.full", "lean"), ("place", "Hollinmoss")]).is(200);
    let form = site.get(LAST).is(200).says("What made it lean");
    let said = [("cause", "intake boot split"), ("mended", "new boot, pressure tested")];
    press(&site, &form, &said).is(200).says(": fixed");
    let is = newest(&demo, "moth");
    assert_eq!((is["cause"].as_str(), is["mended"].as_str()), (Some(said[0].1), Some(said[1].1)));
}

#[test]
fn each_question_has_its_own_answer() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let typed = [("z.full", "right"), ("minutes", "900"), ("place", "Hollinmos")];
    let page = site.fill(LOG, LOG, &typed).is(200).says("it is Hollinmoss");
    let yes = page.yes();
    let yes: Vec<&str> = yes.split(' ').collect();
    assert!(yes.len() > 1, "{yes:?}");
    // One that is answered leaves the others open.
    let again = |more: &[(&str, &str)], once: &str| {
        let token = page.hidden("token");
        site.post(LOG, &[&typed[..], &[("token", token.as_str()), ("once", once)], more].concat()).is(200)
    };
    let open = again(&[("sure", yes[0])], "one").says("Look again");
    assert_eq!(open.yes().split(' ').count(), yes.len() - 1);
    // The place that was meant, and hours that may be wrong.
    again(&[("meant", "Hollinmoss"), ("doubted", "hours")], "two").says("logged on setup");
    let is = newest(&demo, "moth");
    assert_eq!((is["place"].as_str(), is["doubted"][0].as_str()), (Some("Hollinmoss"), Some("hours")));
}

#[test]
fn a_field_that_is_wrong_is_called_by_its_label_and_marked() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let marked = |page: &Page, name: &str| {
        let tags = page.tags();
        let fields: Vec<&&str> = tags.iter().filter(|tag| tag.contains("aria-invalid")).collect();
        assert!(
            matches!(fields.as_slice(), [one] if one.contains(&format!("name=\"{name}\""))),
            "{fields:?}"
        );
    };
    for (field, typed, says) in [
        ("minutes", "many", "Ran, min: "),
        ("temp", "hot", "Temperature: "),
        ("exhaust_gas", "red", "Exhaust gas: "),
        ("lap", "quick", "Best lap: "),
        ("date", "someday", "When: "),
    ] {
        let page = site.fill(LOG, LOG, &[("z.full", "right"), (field, typed)]).is(400).says(says);
        marked(&page, field);
        assert!(!page.text().contains("--"), "{}", page.text());
    }
    // What is missing of an air is a field, too; no option is named.
    let page = site.get("/bike/moth/jets?temp=18").is(200).says("Pressure: ").says("Type it in its field");
    marked(&page, "pressure");
    let form = site
        .get("/bike/wren/build")
        .is(200)
        .says("deck height (negative where the crown stands above the deck), in: last 0.0080 in");
    let (token, once, build) = (form.hidden("token"), form.hidden("once"), form.hidden("build"));
    // A bare number is what the form that it was typed into said.
    let own = [
        ("token", token.as_str()),
        ("once", once.as_str()),
        ("build", build.as_str()),
        ("asked_in", "metric"),
    ];
    let send = |typed: &[(&str, &str)]| site.post("/bike/wren/build", &[&own[..], typed].concat());
    let page = send(&[("r.pin.diameter", "abc")]).is(400).says("pin: diameter");
    assert!(!page.text().contains("pin.diameter"), "{}", page.text());
    marked(&page, "r.pin.diameter");
    // A pin that is loose in its bore is asked about; what was written down is said.
    let loose = [("r.pin.diameter", "17.990"), ("r.piston.pin_bore", "18.040")];
    send(&loose).is(200).says("Look again").says("where the pin measures");
    send(&[("r.reed.gap", "0.0008 in")]).is(303);
    site.get("/bike/wren/build?written=reed.gap&written=nonsense")
        .is(200)
        .says("Written down just now")
        .says("0.0008 in");
}

#[test]
fn a_cylinder_has_its_own_piston_and_its_own_exhaust_gas() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let path = "/bike/otter/log";
    let typed = [
        ("z.full", "right"),
        ("exhaust_gas", "610"),
        ("piston.right", "wash even"),
        ("exhaust_gas.right", "640 C"),
        ("piston", "crown dark"),
    ];
    site.fill_sure(path, &typed).is(200).says("logged on");
    let is = newest(&demo, "otter");
    assert_eq!((is["piston"].as_str(), is["exhaust_gas_c"].as_f64()), (Some("crown dark"), Some(610.0)));
    let right = &is["cylinders"]["right"];
    assert_eq!((right["piston"].as_str(), right["exhaust_gas_c"].as_f64()), (Some("wash even"), Some(640.0)));
    // What stands in the form once more is what was typed.
    let form = site.get("/bike/otter/last").is(200);
    for kept in ["value=\"wash even\"", "value=\"640 C\"", "value=\"crown dark\""] {
        assert!(form.body.contains(kept), "{kept}");
    }
    site.fill(path, path, &[("z.full", "right"), ("exhaust_gas.left", "red")]).is(400).says("Exhaust gas");
}

#[test]
fn a_look_at_a_part_is_written_down_as_the_command_does_it() {
    const DUE: &str = "/bike/wren/due";
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let looks = || {
        let events = demo.json(&["part", "show", "piston-f2"])["history"].clone();
        let events = events.as_array().unwrap().clone();
        events.into_iter().filter(|event| event["did"] == "inspected").collect::<Vec<_>>()
    };
    let before = looks().len();
    let seen = "crown dry <b>brown</b>, no marks";
    let page = site.fill(DUE, DUE, &[("part", ""), ("seen", seen)]).is(400).says("No part was chosen");
    assert!(
        page.body.contains("value=\"crown dry &lt;b&gt;brown&lt;/b&gt;, no marks\""),
        "what was typed stays"
    );
    // One that lies on the shelf, or is in another engine, is not in this one.
    site.fill(DUE, DUE, &[("part", "reed-1"), ("seen", seen)]).is(400).says("is not in the engine of wren");
    let later = [("part", "piston-f2"), ("date", "2031-01-01")];
    site.fill(DUE, DUE, &later).is(400).says("Not written down yet");
    assert_eq!(looks().len(), before, "nothing was written down");
    let looked = site.fill(DUE, DUE, &[("part", "piston-f2"), ("seen", seen)]).is(303);
    let to = looked.header("location").unwrap().to_owned();
    site.get(&to).is(200).says("Written down: piston-f2 was inspected");
    // A name that was never written down is not said to be.
    let page = site.get(&format!("{DUE}?looked=big-end-9")).is(200);
    assert!(!page.text().contains("Written down:"), "{}", page.text());
    let after = looks();
    assert_eq!((after.len(), after.first().unwrap()["note"].as_str()), (before + 1, Some(seen)));
    drop(site);
    demo.done(&["garage", "check"]);
}

#[test]
fn readings_are_asked_for_in_the_unit_that_the_engine_s_were_typed_in() {
    const BUILD: &str = "/bike/wren/build";
    const DECK: &str = "deck height (negative where the crown stands above the deck), in: last 0.0080 in";
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let page = site.get(BUILD).is(200).says(DECK);
    let hidden = ["build", "asked_in"].map(|name| page.hidden(name));
    let own = [("build", hidden[0].as_str()), ("asked_in", hidden[1].as_str())];
    site.fill(BUILD, BUILD, &[&own[..], &[("r.deck.height", "0.0085")]].concat()).is(303);
    let file = demo.json(&["build", "show", "finch"])["file"].as_str().unwrap().to_owned();
    let text = std::fs::read_to_string(demo.garage.join(file)).unwrap();
    assert!(text.contains("\"0.0085 in\""), "{text}");
    // An engine of millimetres is asked in those.
    let page = site.get("/bike/ibex/build").is(200);
    assert_eq!(page.hidden("asked_in"), "metric");
}
