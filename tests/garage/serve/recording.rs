//! Forms that record: as the commands would, with their questions; nothing twice, nothing lost.

use std::thread;

use super::{Demo, Page, Site};
use crate::common::Shed;

const LOG: &str = "/bike/moth/log";

fn shed_site(shed: &Shed) -> Site {
    Site::of(shed.program(&shed.root(), &["serve", "--port", "0"]))
}

/// The newest outing as JSON.
fn last(demo: &Demo, bike: &str) -> serde_json::Value {
    demo.json(&["outing", "list", bike, "--last", "1"])["outings"][0].clone()
}

#[test]
fn a_run_is_logged_as_the_command_logs_it() {
    let (by_page, by_command) = (Demo::new(), Demo::new());
    let mut site = by_page.serve(&[]);
    let page = site
        .fill(
            LOG,
            LOG,
            &[
                ("z.full", "slightly-lean"),
                ("z.half", "right"),
                ("z.idle", ""),
                ("plug", "light grey"),
                ("lap", "1:19.6"),
                ("minutes", "18"),
                ("session", "practice 1"),
                ("place", "Hollinmoss"),
                ("temp", "24"),
                ("pressure", "968"),
                ("humidity", "40"),
                ("kind", "baro"),
                ("elevation", ""),
                ("notes", "flat over\r\nthe top"),
                ("date", ""),
            ],
        )
        .is(200)
        .says("Slightly lean at full throttle: jet up before the next. Read plug and piston");
    let stop = page.text().find("Slightly lean at full throttle").unwrap();
    assert!(stop > page.text().find("logged on setup").unwrap(), "what was logged comes first");
    by_command.done(&[
        "outing",
        "add",
        "moth",
        "full=slightly-lean",
        "1/2=right",
        "--plug",
        "light grey",
        "--lap",
        "1:19.6",
        "--hours",
        "18 min",
        "--session",
        "practice 1",
        "--place",
        "Hollinmoss",
        "--temp",
        "24",
        "--baro",
        "968",
        "--humidity",
        "40",
        "--note",
        "flat over\nthe top",
    ]);
    let [mut one, mut other] = [&by_page, &by_command].map(|demo| last(demo, "moth"));
    for own in ["id", "file"] {
        one.as_object_mut().unwrap().remove(own);
        other.as_object_mut().unwrap().remove(own);
    }
    // The page writes the unit that stands at its field.
    let read = |outing: &mut serde_json::Value| outing["air"].as_object_mut().unwrap().remove("read");
    assert!(read(&mut one).is_some() && read(&mut other).is_some());
    assert_eq!(one, other);
    by_page.done(&["garage", "check"]);
}

#[test]
fn a_slip_is_asked_and_recorded_when_it_is_said_again() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let before = last(&demo, "moth");
    let typed = [("z.full", "right"), ("minutes", "900"), ("place", "Hollinmoss"), ("notes", "long one")];
    let page = site.fill(LOG, LOG, &typed).is(200).says("Look again").says("Yes, that is right: log it");
    assert_eq!(last(&demo, "moth"), before, "nothing is recorded");
    for kept in ["value=\"900\"", "value=\"Hollinmoss\"", ">long one<", "value=\"right\" checked"] {
        assert!(page.body.contains(kept), "{kept} is lost: {}", page.body);
    }
    let (token, once) = (page.hidden("token"), page.hidden("once"));
    let own = [("token", token.as_str()), ("once", once.as_str()), ("doubted", "hours")];
    site.post(LOG, &[&typed[..], &own].concat()).is(200).says("logged on setup").says("doubted");
    assert_eq!(last(&demo, "moth")["doubted"][0], "hours");
    let of = |minutes: &'static str| [("z.full", "right"), ("minutes", minutes), ("place", "Fennmoor")];
    let page = site.fill(LOG, LOG, &of("901")).is(200);
    let (token, yes) = (page.hidden("token"), page.yes());
    let again = |minutes: &'static str, sure: &str, once: &str| {
        let own = [("token", token.as_str()), ("once", once), ("sure", sure)];
        site.post(LOG, &[&of(minutes)[..], &own].concat()).is(200)
    };
    // A yes is of the question that was asked: neither a word of it nor a yes to another value is one.
    for (minutes, sure) in [("901", "1"), ("901", ""), ("960", yes.as_str())] {
        again(minutes, sure, "another").says("Look again");
    }
    again("901", &yes, "another").says("logged on setup");
}

/// Of two jobs one was left out: no setup is like that, and the run is logged at the bike all the same.
#[test]
fn a_run_without_one_of_two_jobs_is_logged_on_a_setup_as_it_ran() {
    let shed = Shed::new();
    let root = shed.root();
    let done = |words: &[&str]| {
        let out = shed.program(&root, words).output().unwrap();
        assert!(out.status.success(), "{words:?}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    };
    let air = ["--temp", "18", "--baro", "1002", "--humidity", "60", "--sure"];
    done(&[&["outing", "add", "moth", "full=right"][..], &air].concat());
    done(&["change", "moth", "jetting.main=176", "gearing.rear=45", "--sure", "--why", "two things"]);
    let newest = || -> serde_json::Value { serde_json::from_str(&done(&["now", "moth", "--json"])).unwrap() };
    let before = newest().to_string();
    let mut site = shed_site(&shed);
    let form = site.get(LOG).is(200);
    let (token, once) = (form.hidden("token"), form.hidden("once"));
    let main = form
        .body
        .split("value=\"")
        .filter_map(|rest| rest.split('"').next())
        .find(|value| value.contains("main") && value.contains("176"));
    let main = main.unwrap().to_owned();
    let typed = [
        ("z.full", "right"),
        ("notes", "pulled well"),
        ("without", main.as_str()),
        ("token", token.as_str()),
    ];
    let setup = form.hidden("setup");
    let typed = [&typed[..], &[("setup", setup.as_str())]].concat();
    let send = |more: &[(&str, &str)]| site.post(LOG, &[&typed[..], more].concat());
    let asked = send(&[("once", &once)])
        .is(200)
        .says("no setup is like that")
        .says("Is this what it ran with? main 170");
    assert!(asked.body.contains("pulled well"), "what was typed stays");
    assert_eq!(newest().to_string(), before, "nothing is recorded before it is said");
    let as_it_ran =
        asked.body.split("name=\"as_it_ran\" value=\"").nth(1).and_then(|rest| rest.split('"').next());
    let as_it_ran = as_it_ran.unwrap().to_owned();
    assert!(as_it_ran.starts_with("main 170; done: rear sprocket "), "{as_it_ran}");
    // A word of something else is no yes.
    send(&[("once", &asked.hidden("once")), ("as_it_ran", "main 172")]).is(200).says("no setup is like that");
    let mut logged = send(&[("once", &asked.hidden("once")), ("as_it_ran", as_it_ran.as_str())]);
    if logged.text().contains("Look again") {
        let (once, yes) = (logged.hidden("once"), logged.yes());
        logged = send(&[("once", &once), ("as_it_ran", as_it_ran.as_str()), ("sure", &yes)]);
    }
    logged
        .is(200)
        .says("logged on setup")
        .says("is the bike as it ran: main 170; done: rear sprocket ")
        .says("no job any more: main 170 → 176");
    let now = done(&["now", "moth"]);
    assert!(now.contains("main 170") && now.contains("rear sprocket 45") && !now.contains("[ ]"), "{now}");
    shed.assert_sound();
    // What a run forbids is not recorded by a press either.
    done(&[&["outing", "add", "moth", "full=lean"][..], &air].concat());
    done(&["change", "moth", "jetting.main=178", "gearing.rear=44", "--sure", "--why", "richer"]);
    let form = site.get(LOG).is(200);
    let values = form.body.split("value=\"").filter_map(|rest| rest.split('"').next());
    let main =
        values.into_iter().find(|value| value.contains("main") && value.contains("178")).unwrap().to_owned();
    let said = "main 170; done: rear sprocket 45 → 44";
    let typed = [("z.full", "right"), ("without", main.as_str()), ("as_it_ran", said)];
    site.fill(LOG, LOG, &typed).is(400).says("Not logged yet").says("lean");
    assert!(done(&["now", "moth"]).contains("main 170 → 178"), "the job stands");
}

#[test]
fn what_is_wrong_is_said_and_what_was_typed_stays() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let before = last(&demo, "moth");
    let rows: [(&[(&str, &str)], &str); 12] = [
        (&[], "No verdict yet."),
        (&[("place", "Hollinmoss")], "No verdict yet."),
        (&[("z.full", "banana")], "\"banana\" is not a verdict"),
        (&[("z.banana", "right")], "\"banana\" is not a throttle zone"),
        (&[("z.left.full", "right")], "left"),
        (&[("z.full", "right"), ("lap", "quick")], "\"quick\" is not a time"),
        (&[("z.full", "right"), ("minutes", "many")], "many"),
        (&[("z.full", "right"), ("minutes", "-5")], "-5"),
        (&[("z.full", "right"), ("temp", "hot")], "hot"),
        (&[("z.full", "right"), ("temp", "18")], "pressure"),
        (&[("z.full", "right"), ("date", "2031-01-01 10:00")], "2031"),
        (&[("z.full", "right"), ("without", "99 something")], "is not a job of moth any more"),
    ];
    for (typed, says) in rows {
        let all = [typed, &[("plug", "kept as typed")]].concat();
        let all = if typed.is_empty() || says.starts_with("No verdict") { typed.to_vec() } else { all };
        let page = site.fill(LOG, LOG, &all).is(400).says("Not logged yet").says(says);
        for (name, value) in
            all.iter().filter(|(name, _)| ["plug", "lap", "minutes", "temp", "date"].contains(name))
        {
            assert!(page.body.contains(&format!("value=\"{value}\"")), "{name} is lost");
        }
    }
    assert_eq!(last(&demo, "moth"), before);
    site.fill(LOG, "/bike/moth/jobs", &[]).is(400).says("No job was pressed");
    site.fill(LOG, "/bike/moth/jobs", &[("done", "nonsense")]).is(400).says("is not a job of moth any more");
    site.fill(LOG, "/bike/nobody/log", &[("z.full", "right")]).is(404).says("nobody");
    site.fill(LOG, "/bike/moth/engine", &[]).is(404);
}

#[test]
fn a_form_that_is_sent_twice_is_recorded_once() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let count = || demo.json(&["outing", "list", "moth"])["outings"].as_array().unwrap().len();
    let before = count();
    let page = site.get(LOG).is(200);
    let (token, once) = (page.hidden("token"), page.hidden("once"));
    let typed = [("z.full", "right"), ("token", token.as_str()), ("once", once.as_str())];
    site.post(LOG, &typed).is(200).says("logged on setup");
    site.post(LOG, &typed).is(409).says("it is recorded once");
    assert_eq!(count(), before + 1);
    let without = [("z.full", "right"), ("token", token.as_str())];
    site.post(LOG, &without).is(409);
    assert_eq!(count(), before + 1);
}

#[test]
fn phones_that_log_at_once_are_all_recorded() {
    let demo = Demo::new();
    let mut site = demo.serve(&[]);
    let bikes = ["moth", "ibex", "wren", "moth", "ibex", "wren"];
    let forms: Vec<(String, Page)> = bikes
        .iter()
        .map(|bike| (format!("/bike/{bike}/log"), site.get(&format!("/bike/{bike}/log")).is(200)))
        .collect();
    let before = demo.json(&["outing", "list", "moth"])["outings"].as_array().unwrap().len();
    let site = &site;
    thread::scope(|scope| {
        for (at, (path, form)) in forms.iter().enumerate() {
            scope.spawn(move || {
                let (token, once) = (form.hidden("token"), form.hidden("once"));
                let note = format!("phone {at}");
                let typed = [
                    ("z.full", "right"),
                    ("notes", note.as_str()),
                    ("token", token.as_str()),
                    ("once", once.as_str()),
                ];
                site.post_sure(path, &typed).is(200).says("logged on setup");
            });
        }
    });
    assert_eq!(demo.json(&["outing", "list", "moth"])["outings"].as_array().unwrap().len(), before + 2);
    let found: String =
        ["moth", "ibex", "wren"].map(|bike| demo.done(&["outing", "list", bike, "-v"])).concat();
    for at in 0..bikes.len() {
        assert!(found.contains(&format!("phone {at}")), "phone {at} is lost: {found}");
    }
    demo.done(&["garage", "check"]);
}

/// A bike with two jobs open, served a little later.
fn with_two_jobs() -> (Shed, Site) {
    let shed = Shed::new();
    shed.run(&["outing", "add", "moth", "full=right", "--sure"]).done();
    shed.run_on(
        "2026-05-16T10:05+02:00",
        &["change", "moth", "jetting.main=176", "gearing.rear=41", "--why", "cooler"],
    )
    .done();
    let site = Site::of({
        let mut program = shed.program(&shed.root(), &["serve", "--port", "0"]);
        program.env("REEDBOOK_NOW", "2026-05-16T10:10+02:00");
        program
    });
    (shed, site)
}

#[test]
fn a_job_is_ticked_where_it_still_is_what_was_read() {
    let (shed, mut site) = with_two_jobs();
    let page = site.get("/bike/moth").is(200).says("2 jobs before it runs");
    let pressed =
        page.body.split("name=\"done\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    assert!(pressed.contains("main 170 → 176"), "{pressed}");
    let (token, once) = (page.hidden("token"), page.hidden("once"));
    let press = |name: &str, value: &str, once: &str| {
        site.post("/bike/moth/jobs", &[(name, value), ("token", &token), ("once", once)])
    };
    let number = pressed.split(' ').next().unwrap();
    press("done", &format!("{number} main 170 → 180"), "moved on").is(400).says("any more");
    let done = press("done", &pressed, &once).is(303);
    assert_eq!(done.header("location"), Some("/bike/moth"));
    let jobs = shed.json(&["job", "moth"]);
    assert_eq!(
        jobs["jobs"].as_array().unwrap().iter().filter(|job| job["done"].is_string()).count(),
        1,
        "{jobs}"
    );
    let page = site.asks("/bike/moth").is(200).says("1 job before it runs").says("done: main 170 → 176");
    assert!(page.body.contains("name=\"undo\""));
    press("undo", &pressed, "again").is(303);
    site.asks("/bike/moth").is(200).says("2 jobs before it runs");
    shed.assert_sound();
}

#[test]
fn a_form_is_of_the_setup_that_stood_on_it() {
    let (shed, mut site) = with_two_jobs();
    let page = site.get(LOG).is(200);
    let [token, once, setup] = ["token", "once", "setup"].map(|name| page.hidden(name));
    let change = ["change", "moth", "jetting.main=178", "--why", "on the laptop"];
    shed.run_on("2026-05-16T10:08+02:00", &change).done();
    let send = |once: &str, setup: &str| {
        site.post(LOG, &[("z.full", "right"), ("token", &token), ("once", once), ("setup", setup)])
    };
    let asked = send(&once, &setup).is(400).says("was recorded since this form was opened on setup");
    assert_eq!(shed.json(&["outing", "list", "moth"])["outings"].as_array().unwrap().len(), 1);
    let newest = asked.hidden("setup");
    assert_ne!(newest, setup);
    send("another", &newest).is(200).says(&format!("logged on setup {newest}"));
}

#[test]
fn a_run_without_what_is_still_open_leaves_it_open() {
    let (shed, mut site) = with_two_jobs();
    let page = site.get(LOG).is(200).says("2 open: taken as done, or did it run without?");
    let open: Vec<String> = page
        .body
        .split("name=\"without\" value=\"")
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap().to_owned())
        .collect();
    assert_eq!(open.len(), 2);
    let (token, once) = (page.hidden("token"), page.hidden("once"));
    let typed = [
        ("z.full", "right"),
        ("without", open[0].as_str()),
        ("without", open[1].as_str()),
        ("token", token.as_str()),
        ("once", once.as_str()),
    ];
    site.post_sure(LOG, &typed).is(200).says("logged on setup 1");
    site.get("/bike/moth").is(200).says("2 jobs before it runs");
    shed.assert_sound();
}

#[test]
fn readings_are_written_down_with_the_unit_at_their_field() {
    let shed = Shed::new();
    let mut site = shed_site(&shed);
    site.get("/bike/moth/build").is(200).says("reedbook build new moth-engine");
    shed.run(&[
        "build",
        "new",
        "moth-engine",
        "--scope",
        "top-end",
        "--why",
        "new ring",
        "piston.diameter=53.940 mm",
    ])
    .done();
    let page = site
        .get("/bike/moth/build")
        .is(200)
        .says("squish by solder: front, exhaust side, mm")
        .says("temperature of the parts, C");
    let (token, once, build) = (page.hidden("token"), page.hidden("once"), page.hidden("build"));
    let send = |once: &str, fields: &[(&str, &str)]| {
        let own = [("token", token.as_str()), ("once", once), ("build", build.as_str())];
        site.post("/bike/moth/build", &[fields, &own].concat())
    };
    send("none", &[]).is(400).says("No reading was typed");
    let page = send("wrong", &[("r.squish.front", "thick"), ("r.squish.rear", "0.7")]).is(400).says("thick");
    assert!(page.body.contains("value=\"0.7\""), "what was typed stays");
    send(&once, &[("r.squish.front", "0,72"), ("r.squish.rear", "0.70 mm"), ("r.nonsense", "1")]).is(303);
    let file = shed.json(&["build", "show", "moth-engine"])["file"].as_str().unwrap().to_owned();
    let text = shed.read(&file);
    assert!(text.contains("0.72") && text.contains("\"0.70 mm\"") && !text.contains("nonsense"), "{text}");
    shed.run_on(
        "2026-05-16T10:30+02:00",
        &["build", "new", "moth-engine", "--scope", "top-end", "--why", "again"],
    )
    .done();
    send("late", &[("r.squish.left", "0.7")]).is(400).says("Another build");
    shed.assert_sound();
}
