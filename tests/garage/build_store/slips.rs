//! Slips at the bench that must neither lose an answer nor stop the book: going back on what was written, two deeds of one
//! moment, readings that cannot be of one engine.

use reedbook::store::{Recording, mend_part};

use super::common::Shed;
use super::*;

const DAY: &str = "2026-05-11T10:00+02:00";

/// What is on disk and what is recorded can differ: an answer that goes back to the record must reach the disk.
#[test]
fn an_answer_that_is_taken_back_reaches_the_disk() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &["reed.gap=0.05 mm"]);
    let file = record.file.to_string_lossy().into_owned();
    let before = commits(&shed);
    for recording in [Recording::Later, Recording::Now] {
        measured(&shed, DAY, Recording::Later, &["reed.gap=0.06 mm"]).unwrap();
        let after = measured(&shed, DAY, recording, &["reed.gap=0.05 mm"]).unwrap();
        assert!((after.build.reed.unwrap().gap.unwrap().si() - 5e-5).abs() < 1e-12);
        assert!(shed.read(&file).contains("0.05 mm"), "the slip is still on disk");
        shed.assert_clean();
    }
    assert_eq!(commits(&shed), before, "nothing is new");
    added(&shed, DAY, &part("p1", &["kind=piston", "number=1"], None));
    shed.edit("parts/p1.toml", "number = \"1\"", "number = \"2\"");
    let mended = mend_part(&garage(&shed), "p1", &entered(&["number=1"]), &moment(DAY)).unwrap();
    assert_eq!(mended.part.number.as_deref(), Some("1"));
    shed.assert_clean();
    assert_follows(&shed);
}

/// A day without a time is noon, so what was done on one day is of one moment, whatever its events are called.
#[test]
fn deeds_of_one_moment_are_taken_in_the_order_they_can_have() {
    let shed = Shed::new();
    let how = || vec![("how", "cracked".to_owned())];
    let hours = |hours: &str| vec![("hours", hours.to_owned())];
    let failed = |name: &str| PartDeed { said: how(), ..deed(name, Deed::Failed) };
    for turn in 0..8 {
        let name = format!("p{turn}");
        let name = name.as_str();
        added(&shed, "2026-05-10", &part(name, &["kind=piston"], Some((ENGINE, None))));
        let all = [
            PartDeed { said: hours("2 h"), ..deed(name, Deed::Inspected) },
            PartDeed { said: hours("3 h"), ..deed(name, Deed::Removed) },
            failed(name),
            deed(name, Deed::Renewed),
        ];
        for deed in all {
            acted(&shed, "2026-05-12", &deed).unwrap();
        }
        let words: Vec<_> = story(&shed, name).iter().map(|line| line[11..].to_owned()).collect();
        assert_eq!(words[3..], ["failed", "renewed"]);
        acted(&shed, "2026-05-13", &fitted(name, "wasp-engine")).unwrap();
        // In it went, and it blew up on the same day.
        let name = format!("q{turn}");
        added(&shed, "2026-05-12", &part(&name, &["kind=piston"], Some((ENGINE, None))));
        acted(&shed, "2026-05-12", &failed(&name)).unwrap();
        let said = refused(&shed, || acted(&shed, "2026-05-13", &fitted(&name, ENGINE)));
        assert!(said.contains("failed on 2026-05-12"), "{said}");
        acted(&shed, "2026-05-12", &deed(&name, Deed::Renewed)).unwrap();
        let words: Vec<_> = story(&shed, &name).iter().map(|line| line[11..].to_owned()).collect();
        assert_eq!(words, ["fitted moth-engine", "failed", "renewed"]);
        // In and out again on one day, from the shelf.
        acted(&shed, "2026-05-14", &fitted(&name, ENGINE)).unwrap();
        acted(&shed, "2026-05-14", &deed(&name, Deed::Removed)).unwrap();
        // Looked at twice, the clock of hours having gone on between.
        for shown in ["3 h", "4 h"] {
            let look = PartDeed { said: hours(shown), ..deed(&name, Deed::Inspected) };
            acted(&shed, "2026-05-15", &look).unwrap();
        }
    }
}

/// What the program cannot compute with is refused as it is typed; the history never stops at it.
#[test]
fn readings_that_cannot_be_of_one_engine_are_refused() {
    let shed = Shed::new();
    let sound = ["bore.a.depth=12 mm", "bore.a.along_pin=54.000 mm", "piston.diameter=53.940 mm"];
    begun(&shed, "2026-05-10T10:00+02:00", &sound);
    for (slips, words) in [
        (&["bore.b.depth=12 mm", "bore.b.along_pin=54 mm"][..], "the depth of another name"),
        (&["piston.diameter=45.940 mm"], "cannot belong to this bore"),
        (&["bore.b.depth=30 mm", "bore.b.along_pin=57 mm"], "cannot be diameters of one bore"),
    ] {
        let said = refused(&shed, || measured(&shed, DAY, Recording::Now, slips));
        assert!(said.contains(words), "{slips:?}: {said}");
    }
    for words in [&["build", "show", ENGINE][..], &["history", "moth"], &["build", "list", ENGINE]] {
        shed.run(words).done();
    }
}

/// A gap of nearly nothing on a warm cylinder is less than nothing at 20 C.
#[test]
fn a_closed_ring_on_a_warm_cylinder_is_shown() {
    let shed = Shed::new();
    let readings = [
        "temperature=40 C",
        "bore.a.depth=12 mm",
        "bore.a.along_pin=54 mm",
        "bore.b.depth=60 mm",
        "bore.b.along_pin=54 mm",
        "ring.gaps.a.depth=12 mm",
        "ring.gaps.a.gap=0.02 mm",
        "ring.gaps.b.depth=60 mm",
        "ring.gaps.b.gap=0.02 mm",
    ];
    begun(&shed, "2026-05-10T10:00+02:00", &readings);
    shed.run(&["build", "show", ENGINE]).done();
}

#[test]
fn a_value_in_a_table_of_one_line_is_taken_out() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let file = record.file.to_string_lossy().into_owned();
    let line = "squish = { front = \"0.75 mm\", rear = \"0.70 mm\" }";
    shed.write(&file, shed.read(&file).replace("scope = ", &format!("{line}\nscope = ")));
    let after = measured(&shed, DAY, Recording::Now, &["squish.front="]).unwrap();
    let squish = after.build.squish.unwrap();
    assert!(squish.front.is_none() && squish.rear.is_some());
}

#[test]
fn a_step_named_twice_is_done_once() {
    let shed = Shed::new();
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let twice = ["circlips", "circlips"];
    ticked(&shed, DAY, &twice, Tick::default()).unwrap();
    let again = Tick { again: true, ..Tick::default() };
    let build = ticked(&shed, DAY, &twice, again).unwrap().build;
    assert!(build.steps["circlips"].is_open());
}

/// Two lists of the tuner's that call a step alike: neither step is lost.
#[test]
fn a_step_that_two_lists_have_is_copied_from_both() {
    let shed = Shed::new();
    let list = |name: &str, place: u32| {
        format!(
            "[lists.{name}]\ntitle = \"{name}\"\nplace = {place}\nscopes = [\"top-end\"]\n[lists.{name}.steps.nuts]\n\
             place = 1\nsays = \"Nuts of {name}\"\n"
        )
    };
    shed.write("configs/checklists.toml", list("head", 1) + &list("base", 2));
    let build = begun(&shed, "2026-05-10T10:00+02:00", &[]).build;
    let says: Vec<_> =
        build.steps_in_order().into_iter().map(|(_, step)| step.says.clone().unwrap_or_default()).collect();
    assert_eq!(says, ["Nuts of head", "Nuts of base"]);
}

/// A build that cannot be read says what is wrong with it, named or not.
#[test]
fn a_broken_build_that_is_named_says_why() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    shed.edit(&record.file.to_string_lossy(), "why = ", "wy = ");
    for which in [None, Some("last"), Some(&record.id[..6])] {
        let change = BuildChange { which: which.map(str::to_owned), entered: entered(&["reed.gap=0.1 mm"]) };
        let said = refused(&shed, || measure(&garage(&shed), ENGINE, &change, Recording::Now, &moment(DAY)));
        assert!(said.contains("wy"), "{which:?}: {said}");
    }
}
