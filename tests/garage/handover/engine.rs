//! A customer's engine: the owner gets builds, parts and hours of theirs and nothing else, and what ran comes back once.

use std::path::Path;

use jsonschema::validator_for;
use reedbook::notebook::{ENGINE_SECTIONS, HandedEngine};
use serde_json::Value;

use crate::common::{Shed, in_a_line, setup_file};

/// The engine of the moth is Carla's; everything in the garage has a value of its own. Gives those values by section, and those that may
/// never leave.
pub(super) fn carlas(shed: &Shed, seed: u64) -> Vec<(&'static str, Vec<String>)> {
    let mut random = fastrand::Rng::with_seed(seed);
    let mut digits =
        |from: u32, to: u32| format!("{}.{:05}7", random.u32(from..to), random.u32(10_001..99_999));
    let (piston, front, torque) = (digits(50, 56), digits(0, 1).replacen("0.0", "0.6", 1), digits(8, 20));
    let (other_piston, top, main, hours) = (digits(50, 56), digits(24, 28), digits(160, 180), digits(0, 1));
    let mut word = |tag: &str| format!("{tag}x{}", digits(100, 999).replace('.', "q"));
    let (why, note, step_note, part_note, event_note) =
        (word("wy"), word("nt"), word("sn"), word("pn"), word("ev"));
    let (stamp, how, elsewhere, place, said, lap) =
        (word("st"), word("hw"), word("el"), word("pl"), word("sd"), "1:02.347".to_owned());
    let (engine_note, setup_note, other_why) = (word("en"), word("su"), word("ow"));
    let (left, mark, step, gauge, caution) = (word("lf"), word("mk"), word("os"), word("ga"), word("ca"));
    let (cause, fixed, plug, builder, fitter) = (word("cu"), word("fx"), word("pg"), word("bu"), word("fi"));
    let title = word("ti");
    shed.write(
        "engines/moth-engine/engine.toml",
        format!("owner = \"Carla\"\nengine_notes = \"{engine_note}\"\n[ports.windows.exhaust]\nkind = \"exhaust\"\ntop = \"{top} mm\"\n"),
    );
    shed.write(
        &setup_file("moth"),
        format!("engine = \"moth-engine\"\nnotes = \"{setup_note}\"\n\n[jetting]\nmain = {main}\nmain_numbered_by = \"bore\"\n"),
    );
    for (engine, id, why, piston) in [
        ("moth-engine", "aaaaaaaaaaaa", &why, &piston),
        ("wasp-engine", "bbbbbbbbbbbb", &other_why, &other_piston),
    ] {
        shed.write(
            &format!("engines/{engine}/builds/20260501-1000-{id}.toml"),
            format!(
                "date = \"2026-05-01T10:00+02:00\"\nwhy = \"{why}\"\nby = \"{builder}\"\nnotes = \"{note}\"\n\n[gauges.outside]\nname = \"{gauge}\"\nresolution = \"0.001 mm\"\nsource = \"{gauge}\"\n\n[piston]\ndiameter = \"{piston} mm\"\n\n[squish]\nfront = \"{front} mm\"\n\n[steps.head-nuts]\nsays = \"Head nuts\"\nplace = 1\nwants_torque = true\ndone = \"2026-05-01T09:00+02:00\"\ntorque = \"{torque} Nm\"\nby = \"{fitter}\"\nmark = \"{mark}\"\nnote = \"{step_note}\"\n\n[steps.reed-petals]\nlist = \"top-end\"\nplace = 2\nleft_out = \"{left}\"\n\n[steps.{step}]\nplace = 3\nsays = \"{step_note}\"\ncaution = \"{caution}\"\n"
            ),
        );
    }
    shed.write(
        "parts/piston-1.toml",
        format!(
            "kind = \"piston\"\ntitle = \"{title}\"\nnumber = \"{stamp}\"\nnotes = \"{part_note}\"\nfits = [\"wasp-engine\", \"moth-engine\"]\npast_hours = 1.5\n\n[events.a]\ndate = \"2026-03-01T10:00+02:00\"\ndid = \"fitted\"\nengine = \"wasp-engine\"\nnote = \"{elsewhere}\"\n\n[events.b]\ndate = \"2026-04-01T10:00+02:00\"\ndid = \"removed\"\nnote = \"{elsewhere}\"\n\n[events.c]\ndate = \"2026-05-01T10:00+02:00\"\ndid = \"fitted\"\nengine = \"moth-engine\"\nnote = \"{event_note}\"\n"
        ),
    );
    shed.write(
        "parts/ring-1.toml",
        format!("kind = \"ring\"\npast_hours = 0\n\n[events.a]\ndate = \"2026-05-01T10:00+02:00\"\ndid = \"fitted\"\nengine = \"moth-engine\"\n\n[events.b]\ndate = \"2026-05-16T11:00+02:00\"\ndid = \"failed\"\nby = \"{fitter}\"\nhow = \"{how}\"\n"),
    );
    shed.write("parts/ring-2.toml", "kind = \"ring\"\n\n[events.a]\ndate = \"2026-05-01T10:00+02:00\"\ndid = \"fitted\"\nengine = \"wasp-engine\"\n");
    commit_all(shed);
    let hours_typed = format!("{hours} h");
    let words = [
        "outing",
        "add",
        "moth",
        "full=slightly-lean",
        "--hours",
        &hours_typed,
        "--place",
        &place,
        "--lap",
        &lap,
        "--note",
        &said,
        "--plug",
        &plug,
        "--temp",
        "20",
        "--baro",
        "990",
        "--humidity",
        "50",
    ];
    shed.run_on("2026-05-16T10:30+02:00", &words).done();
    let closed = ["outing", "edit", "moth", "last", "--cause", &cause, "--fixed", &fixed];
    shed.run_on("2026-05-16T10:40+02:00", &closed).done();
    vec![
        ("builds", vec![piston, torque]),
        ("head", vec![front]),
        ("parts", vec![stamp, title]),
        ("hours", vec![hours]),
        ("outings", vec![place, lap, "slightly-lean".into()]),
        (
            "notes",
            vec![
                why, note, step_note, part_note, event_note, said, how, left, mark, step, gauge, caution,
                cause, fixed, plug, builder, fitter,
            ],
        ),
        (
            "never",
            vec![
                other_piston,
                top,
                main,
                elsewhere,
                engine_note,
                setup_note,
                other_why,
                "wasp".into(),
                "ring-2".into(),
                "bikes/".into(),
            ],
        ),
    ]
}

/// As somebody does with git alone.
pub(super) fn commit_all(shed: &Shed) {
    shed.git(&["add", "-A"]);
    shed.git(&["commit", "-q", "-m", "typed in"]);
}

/// What is written for words of an outing or a part needs its section and that of notes.
fn may_be_in(section: &str, chosen: &[&str]) -> bool {
    // What is said of the head stands in the builds.
    chosen.contains(&section) && (section != "head" || chosen.contains(&"builds"))
}

#[test]
fn what_is_not_chosen_of_an_engine_is_in_the_file_in_no_form() {
    for seed in 1..=3 {
        let shed = Shed::new();
        let values = carlas(&shed, seed);
        let mut random = fastrand::Rng::with_seed(seed);
        for turn in 0..6 {
            let chosen: Vec<&str> = match turn {
                0 => vec!["builds", "parts", "hours"],
                1 => ENGINE_SECTIONS.to_vec(),
                _ => ENGINE_SECTIONS.into_iter().filter(|_| random.bool()).collect(),
            };
            if chosen.iter().all(|section| ["head", "notes"].contains(section)) {
                continue;
            }
            let file = format!("out-{turn}.toml");
            let sections = chosen.join(",");
            let mut words = vec!["handover", "engine", "moth-engine", "--out", &file];
            if turn > 0 {
                words.extend(["--only", &sections]);
            }
            shed.run_on("2026-05-17T10:00+02:00", &words).done();
            let text = shed.read(&file);
            let all_digits = text.replace(|c: char| !c.is_ascii_digit(), "");
            for (section, values) in &values {
                for value in values {
                    let is_in = text.contains(value.as_str());
                    if may_be_in(section, &chosen) {
                        // Notes stand beside what they are notes of.
                        if *section != "notes" || turn == 1 {
                            assert!(is_in, "{section} was chosen, and {value} is not in it:\n{text}");
                        }
                    } else {
                        assert!(
                            !is_in,
                            "{section} was not chosen of {chosen:?}, and {value} is in it:\n{text}"
                        );
                        let digits: String = value.chars().filter(char::is_ascii_digit).collect();
                        assert!(
                            digits.len() < 7 || !all_digits.contains(&digits),
                            "{section} was not chosen, and {value} is in it in another form:\n{text}"
                        );
                    }
                }
            }
            if !chosen.contains(&"hours") {
                for word in ["hours", "starts", "change_at"] {
                    let said = format!("\n{word} =");
                    assert!(!text.contains(&said), "{word} is derived from hours:\n{text}");
                }
            }
        }
    }
}

#[test]
fn the_record_of_an_engine_keeps_to_its_schema_and_is_read_by_its_owner() {
    let shed = Shed::new();
    carlas(&shed, 5);
    let said = shed.run_on("2026-05-17T10:00+02:00", &["handover", "engine", "moth-engine"]).done().out;
    assert!(
        in_a_line(&said).contains("moth-engine, Carla's")
            && in_a_line(&said).contains("no port, head, spark or jet"),
        "{said}"
    );
    let text = shed.read("moth-engine.handover.toml");
    let document: Value = serde_json::to_value(text.parse::<toml::Table>().unwrap()).unwrap();
    let validator = validator_for(&HandedEngine::schema()).unwrap();
    let errors: Vec<_> = validator.iter_errors(&document).map(|error| error.to_string()).collect();
    assert!(errors.is_empty(), "{errors:?}");
    // 1.5 h before the book, nothing in the wasp that was logged, and the one run.
    let hours = document["hours"]["hours"].as_f64().unwrap();
    let piston = &document["parts"]["piston-1"];
    assert!((piston["hours"].as_f64().unwrap() - 1.5 - hours).abs() < 0.011, "{document:#}");
    assert_eq!(piston["events"].as_array().unwrap().len(), 1);
    assert_eq!((&piston["is_in"], &document["parts"]["ring-1"]["is_in"]), (&true.into(), &false.into()));

    // Without a garage.
    let elsewhere = shed.above().join("elsewhere");
    std::fs::create_dir(&elsewhere).unwrap();
    let file = shed.root().join("moth-engine.handover.toml");
    let read = shed.run_in(&elsewhere, &["handover", "read", &file.to_string_lossy()]).done().out;
    for wanted in [
        "moth-engine, Carla's",
        "piston-1",
        "ring-1",
        "failed",
        "Built 2026-05-01: top end",
        "outings (where and how it ran)",
    ] {
        assert!(in_a_line(&read).contains(wanted), "{wanted}: {read}");
    }
}

/// Carla's own garage, with her engine under another name and a run of her own.
pub(super) fn carlas_garage(shed: &Shed) -> std::path::PathBuf {
    let hers = shed.above().join("hers");
    shed.run_in(shed.above(), &["garage", "new", "hers"]).done();
    shed.run_in(&hers, &["bike", "new", "redbike"]).done();
    let setup = crate::common::SETUP.replace("ENGINE", "redbike-engine");
    std::fs::write(hers.join(setup_file("redbike")), setup).unwrap();
    shed.run_in(&hers, &["change", "redbike", "--why", "as it came back"]).done();
    shed.run_in(&hers, &["engine", "owner", "redbike-engine", "Carla"]).done();
    let run = |time: &str, words: &[&str]| {
        let day = format!("2026-05-{time}:00+02:00");
        shed.program(&hers, words).env("REEDBOOK_NOW", day).env("REEDBOOK_IDS", "hers").output().unwrap()
    };
    for (time, hours) in [("20T11", "0.4 h"), ("20T14", "0.5 h")] {
        let words =
            ["outing", "add", "redbike", "full=slightly-lean", "--hours", hours, "--place", "Teal Pass"];
        assert!(run(time, &words).status.success());
    }
    hers
}

pub(super) fn on(shed: &Shed, folder: &Path, day: &str, words: &[&str]) -> crate::common::Answer {
    shed.program(folder, words).env("REEDBOOK_NOW", day).output().unwrap().into()
}

#[test]
fn what_the_owner_ran_comes_back_once_and_overwrites_nothing() {
    let shed = Shed::new();
    carlas(&shed, 6);
    let hers = carlas_garage(&shed);
    let file = shed.above().join("back.toml");
    let file = file.to_string_lossy();
    let words = ["handover", "engine", "redbike-engine", "--only", "hours,outings", "--out", &file];
    on(&shed, &hers, "2026-05-21T10:00+02:00", &words).done();
    let day = "2026-05-22T10:00+02:00";

    let before = shed.files();
    let seen = shed.run_on(day, &["handover", "read", &file, "moth"]).done().out;
    assert!(in_a_line(&seen).contains("2 runs of moth-engine new for moth, 0.90 h"), "{seen}");
    assert!(in_a_line(&seen).contains("Which jetting was on it is not said"), "{seen}");
    assert!(
        in_a_line(&seen).contains("!! On 2026-05-20 it ran slightly lean at full, on the owner's jetting"),
        "{seen}"
    );
    assert_eq!(shed.files(), before, "looking records nothing");

    shed.run_on(day, &["handover", "read", &file, "moth", "--take"]).done();
    let list = shed.run_on(day, &["outing", "list", "moth", "--json"]).done();
    let list: Value = serde_json::from_str(&list.out).unwrap();
    let outings = list["outings"].as_array().unwrap();
    assert_eq!(outings.len(), 3, "{list:#}");
    let came: Vec<&Value> = outings.iter().filter(|outing| outing["place"] == "Teal Pass").collect();
    assert_eq!(came.len(), 2);
    for outing in came {
        // On her jetting, which nobody here knows.
        assert_eq!(outing["doubted"], serde_json::json!(["setup"]), "{outing:#}");
        // What was lean counts as lean, whatever jet it was on.
        assert_eq!(outing["verdict"]["full"], "slightly-lean", "{outing:#}");
        assert!(
            outing["notes"].as_str().unwrap().contains("On the owner's jetting: full slightly lean"),
            "{outing:#}"
        );
    }
    // Nothing comes twice, and what was mended here meanwhile stays.
    let id = outings.iter().find(|outing| outing["hours"] == 0.4).unwrap()["id"].as_str().unwrap().to_owned();
    shed.run_on(day, &["outing", "edit", "moth", &id, "hours=0.6 h"]).done();
    let again = in_a_line(&shed.run_on(day, &["handover", "read", &file, "moth", "--take"]).done().out);
    assert!(
        again.contains("nothing new; 2 are here already") && again.contains("0.40 h, here 0.60 h"),
        "{again}"
    );
    assert_eq!(shed.outings("moth").len(), 3);
    // Hours are charged to the parts that are in it.
    let part = shed.run_on(day, &["part", "show", "piston-1", "--json"]).done();
    let part: Value = serde_json::from_str(&part.out).unwrap();
    assert!(part.to_string().contains("outings"), "{part:#}");
    shed.assert_clean();
    shed.assert_sound();

    // And our own come home to her once: the two that she ran are there by their names.
    let ours = shed.above().join("ours.toml");
    let ours = ours.to_string_lossy();
    shed.run_on(day, &["handover", "engine", "moth-engine", "--out", &ours]).done();
    let hers_now =
        on(&shed, &hers, day, &["handover", "read", &ours, "redbike", "--take", "--setup", "1"]).done().out;
    assert!(in_a_line(&hers_now).contains("1 run of redbike-engine recorded on redbike"), "{hers_now}");
    assert!(in_a_line(&hers_now).contains("2 are here already"), "{hers_now}");
}

/// The page of a build that goes with the engine, and a locked file, hold no more than the file does.
#[test]
fn a_customers_page_and_a_locked_file_hold_nothing_else_either() {
    for seed in 11..=13 {
        let shed = Shed::new();
        let values = carlas(&shed, seed);
        let page = shed.above().join("customer.html").to_string_lossy().into_owned();
        shed.run(&["sheet", "build", "moth-engine", "--for-customer", "--to", &page]).done();
        let page = std::fs::read_to_string(page).unwrap();
        assert!(page.contains("piston") || page.contains("Piston"), "{page}");
        std::fs::write(shed.above().join("phrase"), "wet plug cold pipe\n").unwrap();
        let words =
            ["handover", "engine", "moth-engine", "--out", "locked.age", "--passphrase-file", "../phrase"];
        shed.run(&words).done();
        let locked = std::fs::read(shed.root().join("locked.age")).unwrap();
        let locked = String::from_utf8_lossy(&locked).into_owned();
        let read =
            shed.run(&["handover", "read", "locked.age", "--passphrase-file", "../phrase", "--json"]).done();
        for (section, values) in &values {
            for value in values.iter().filter(|value| value.len() > 4) {
                assert!(!locked.contains(value.as_str()), "{value} can be read in a locked file");
                if ["head", "outings", "notes", "never"].contains(section) {
                    assert!(!page.contains(value.as_str()), "{section}: {value} is on a customer's page");
                    assert!(!read.out.contains(value.as_str()), "{section}: {value} is in the locked file");
                }
            }
        }
        assert!(!page.contains("quish"), "{page}");
    }
}

#[test]
fn a_run_from_before_the_first_setup_is_counted_where_somebody_says() {
    let shed = Shed::new();
    let hers = carlas_garage(&shed);
    let file = shed.above().join("back.toml");
    let file = file.to_string_lossy();
    let day = "2026-05-22T10:00+02:00";
    let words = ["outing", "add", "redbike", "--hours", "0.3", "--date", "2026-05-12 10:00", "--setup", "1"];
    on(&shed, &hers, day, &words).done();
    let words = ["handover", "engine", "redbike-engine", "--only", "hours", "--out", &file];
    on(&shed, &hers, day, &words).done();
    let early = in_a_line(&shed.run_on(day, &["handover", "read", &file, "moth", "--take"]).refused());
    assert!(early.contains("1 run is older than the first setup of moth"), "{early}");
    assert!(early.contains("--setup 1") && shed.outings("moth").is_empty(), "{early}");
    shed.run_on(day, &["handover", "read", &file, "moth", "--take", "--setup", "1", "--sure"]).done();
    assert_eq!(shed.outings("moth").len(), 3);
}

#[test]
fn an_engine_of_somebody_else_or_of_another_day_is_asked_about() {
    let shed = Shed::new();
    carlas(&shed, 7);
    let hers = carlas_garage(&shed);
    let file = shed.above().join("back.toml");
    let file = file.to_string_lossy();
    let words = ["handover", "engine", "redbike-engine", "--only", "hours", "--out", &file];
    on(&shed, &hers, "2026-05-21T10:00+02:00", &words).done();
    let day = "2026-05-22T10:00+02:00";
    shed.run_on(day, &["engine", "owner", "wasp-engine", "Dora"]).done();
    let refused = in_a_line(&shed.run_on(day, &["handover", "read", &file, "wasp", "--take"]).refused());
    assert!(refused.contains("of Carla's engine, and wasp-engine is Dora's"), "{refused}");
    assert_eq!(shed.outings("wasp").len(), 0);
    // On the day it ran another engine was in the bike.
    shed.run_on("2026-05-21T10:00+02:00", &["engine", "new", "spare", "--owner", "Carla"]).done();
    shed.run_on("2026-05-21T10:00+02:00", &["change", "moth", "engine=spare", "--why", "hers is apart"])
        .done();
    let refused = in_a_line(&shed.run_on(day, &["handover", "read", &file, "moth", "--take"]).refused());
    assert!(refused.contains("moth-engine was in moth by the book, not spare"), "{refused}");
    shed.assert_sound();
}

#[test]
fn whose_an_engine_is_makes_no_setup_and_shows_where_it_helps() {
    let shed = Shed::new();
    shed.run(&["engine", "owner", "moth-engine", "Carla Venn"]).done();
    assert_eq!(shed.setups("moth").len(), 1);
    let list = shed.run(&["engine", "list"]).done().out;
    assert!(list.contains("Carla Venn"), "{list}");
    assert!(shed.run(&["now", "moth"]).done().out.contains("Carla Venn's"));
    let refused = in_a_line(&shed.run(&["change", "moth", "owner=Dora", "--why", "sold"]).refused());
    assert!(refused.contains("is no part of a setup"), "{refused}");
    let same = shed.run(&["compare", "moth", "1", "now"]).done().out;
    assert!(same.contains("Nothing differs"), "{same}");
    let same = in_a_line(&shed.run(&["engine", "owner", "moth-engine", "Carla Venn"]).done().out);
    assert!(same.contains("is Carla Venn's already"), "{same}");
    // What was edited by hand besides is a setup, with a reason of its own.
    shed.edit("engines/moth-engine/engine.toml", "# bore = 54 ", "bore = 54 ");
    let refused = in_a_line(&shed.run(&["engine", "owner", "moth-engine", "--none"]).refused());
    assert!(refused.contains("was edited and is not recorded"), "{refused}");
    shed.run(&["change", "moth", "--why", "measured"]).done();
    shed.run(&["engine", "owner", "moth-engine", "--none"]).done();
    assert_eq!(shed.setups("moth").len(), 2);
    shed.run(&["engine", "owner", "moth-engine", "Carla Venn"]).done();
    shed.run(&["handover", "moth", "latest", "--omit", "pipe", "--out", "../all.toml"]).done();
    let map = std::fs::read_to_string(shed.above().join("all.toml")).unwrap();
    assert!(!map.contains("Carla"), "{map}");
    shed.assert_clean();
    shed.assert_sound();
}

/// Writes a file with a hash that fits whatever stands in it.
fn sealed(shed: &Shed, body: &str) {
    shed.write("body", body);
    let hash = shed.git(&["hash-object", "body"]);
    shed.write("odd.toml", format!("# content: {}\n{body}", hash.trim()));
}

#[test]
fn a_file_of_a_stranger_is_looked_through_before_anything_is_recorded() {
    let shed = Shed::new();
    carlas(&shed, 8);
    let day = "2026-05-22T10:00+02:00";
    shed.run_on(day, &["handover", "engine", "moth-engine", "--only", "hours", "--out", "good.toml"]).done();
    let text = shed.read("good.toml");
    let body = text.split_once('\n').unwrap().1;
    let id = body.lines().find_map(|line| line.strip_prefix("[runs.")?.strip_suffix(']')).unwrap().to_owned();
    let other = |from: &str, to: &str| {
        assert!(body.contains(from), "{from}: {body}");
        body.replace(from, to)
    };
    let run = format!("[runs.{id}]");
    let before = shed.outings("moth");
    for (body, wanted) in [
        (other("engine_handover = 1", "engine_handover = 2"), "has version 2; this program knows version 1"),
        (other(&run, "[runs.\"../../wasp/outings/x\"]"), "which is none"),
        (
            other("sections = [\"hours\"]", "sections = [\"parts\"]"),
            "has hours in it, which it does not name",
        ),
        (other("kind = \"track\"", "kind = \"moon\""), "kind"),
        (other(&run, "[runs.aaaaaaaaaaaa]").replace("date = \"2026-05-16", "date = \"2036-05-16"), "2036"),
        (other(&run, "[runs.aaaaaaaaaaaa]").replace("hours = \"", "hours = \"9"), "hours"),
        (other("[from]", "extra = 1\n[from]"), "cannot be read"),
    ] {
        sealed(&shed, &body);
        let refused =
            in_a_line(&shed.run_on(day, &["handover", "read", "odd.toml", "moth", "--take"]).refused());
        assert!(refused.contains(wanted), "{wanted}: {refused}");
        assert_eq!(shed.outings("moth"), before, "{wanted}");
    }
    // The same run under another name is asked about: it may be written down twice.
    sealed(&shed, &other(&run, "[runs.aaaaaaaaaaaa]"));
    let words = ["handover", "read", "odd.toml", "moth", "--take", "--setup", "latest"];
    let asked = in_a_line(&shed.run_on(day, &words).refused());
    assert!(asked.contains("looks like") || asked.contains("twice"), "{asked}");
    shed.run_on(day, &[&words[..], &["--sure"]].concat()).done();
    assert_eq!(shed.outings("moth").len(), before.len() + 1);
    shed.assert_sound();
}

/// Read without a bike, what was lean before it ran right again is said as well.
#[test]
fn a_lean_run_that_others_followed_is_said_without_a_bike() {
    let shed = Shed::new();
    let hers = carlas_garage(&shed);
    let right = ["outing", "add", "redbike", "full=right", "--hours", "0.5 h", "--place", "Teal Pass"];
    on(&shed, &hers, "2026-05-21T09:00+02:00", &right).done();
    let file = shed.above().join("back.toml");
    let file = file.to_string_lossy();
    let words = ["handover", "engine", "redbike-engine", "--only", "hours,outings", "--out", &file];
    on(&shed, &hers, "2026-05-21T10:00+02:00", &words).done();
    let read = in_a_line(&shed.run_on("2026-05-22T10:00+02:00", &["handover", "read", &file]).done().out);
    assert!(read.contains("It ran lean on 2026-05-20"), "{read}");
}
