//! Files that are edited by hand beside the program, and answers that are on disk before they are recorded.

use std::fs;

use reedbook::store::{NewPart, Recording, mend_part};

use super::common::Shed;
use super::*;

fn file(record: &BuildRecord) -> String {
    record.file.to_string_lossy().into_owned()
}

#[test]
fn an_edit_by_hand_is_recorded_by_a_measurement_of_nothing() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &["reed.gap=0.05 mm"]);
    shed.edit(&file(&record), "gap = \"0.05 mm\"", "gap = \"0.07 mm\" # two petals");
    assert_follows(&shed);
    let subject = format!("Measure the build of {ENGINE} on 2026-05-10");
    let trailers = [format!("Engine: {ENGINE}"), format!("Build-Id: {}", record.id)];
    let after = one_commit(&shed, &subject, &trailers, || {
        measured(&shed, "2026-05-11T10:00+02:00", Recording::Now, &[]).unwrap()
    });
    assert!((after.build.reed.unwrap().gap.unwrap().si() - 7e-5).abs() < 1e-12);
    assert!(shed.read(&file(&record)).contains("# two petals"));
}

/// Comments, blanks and the order of the file stay, whatever is written beside them.
#[test]
fn comments_survive_measuring_and_ticking() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &["reed.gap=0.05 mm", "rod.side_clearance=0.55 mm"]);
    let (name, path) = (file(&record), shed.root().join(record.file.clone()));
    let mut text = shed.read(&name);
    text = text.replace("date = ", "# a warm day\ndate  =  ");
    text = text.replace("gap = \"0.05 mm\"", "gap   = \"0.05 mm\"   # read twice");
    text = text.replace("[steps.circlips]", "\n\n# never used twice\n[steps.circlips] # both");
    text += "# the end\n";
    fs::write(&path, &text).unwrap();
    let typed = ["reed.gap=0.06 mm", "reed.tension=45 g", "deck.height=-0.1 mm"];
    measured(&shed, "2026-05-11T10:00+02:00", Recording::Now, &typed).unwrap();
    ticked(&shed, "2026-05-11T10:01+02:00", &["circlips"], Tick::default()).unwrap();
    let after = shed.read(&name);
    let wanted = text.replace("0.05 mm", "0.06 mm");
    let mut lines = after.lines();
    for line in wanted.lines() {
        assert!(lines.any(|found| found == line), "{line:?} is gone or has moved:\n{after}");
    }
    assert_eq!(after.lines().count(), wanted.lines().count() + 5, "{after}"); // tension, [deck], height, done, a blank
    shed.assert_clean();
}

#[test]
fn tables_written_in_one_line_are_added_to() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let text = shed.read(&file(&record)).replace("scope = ", "squish = { front = \"0.75 mm\" }\nscope = ");
    shed.write(&file(&record), text);
    let after = measured(&shed, "2026-05-11T10:00+02:00", Recording::Now, &["squish.rear=0.70 mm"]).unwrap();
    let squish = after.build.squish.unwrap();
    assert!(squish.front.is_some() && squish.rear.is_some());
    shed.assert_sound();
}

#[test]
fn builds_written_by_hand_are_taken_in_by_the_next_and_a_missing_one_stays_recorded() {
    let shed = Shed::new();
    let first = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let second = begun(&shed, "2026-05-11T10:00+02:00", &[]);
    fs::remove_file(shed.root().join(&first.file)).unwrap();
    let own = format!("engines/{ENGINE}/builds/20260501-0900-byhand.toml");
    shed.write(&own, "date = \"2026-05-01T09:00+02:00\"\nwhy = \"by hand\"\n");
    shed.edit(&file(&second), "why = \"new piston\"", "why = \"ring too\"");
    let broken = format!("engines/{ENGINE}/builds/20260502-0900-broken.toml");
    shed.write(&broken, "date = \"2026-05-02T09:00+02:00\"\nwhat = 1\n");
    assert_follows(&shed);
    let before = commits(&shed);
    let third = begun(&shed, "2026-05-12T10:00+02:00", &[]);
    assert_eq!(commits(&shed), before + 2, "hand edits are one commit, the new build is its own");
    assert_eq!(touched(&shed), [format!("A {}", file(&third))]);
    let taken = shed.git(&["show", "--name-status", "--format=%s", "HEAD~1"]);
    assert_eq!(
        taken.lines().filter(|line| !line.is_empty()).collect::<Vec<_>>(),
        [
            format!("Take in builds of {ENGINE} that were edited by hand"),
            format!("A\t{own}"),
            format!("M\t{}", file(&second)),
        ]
    );
    assert_eq!(
        shed.git(&["status", "--short"]),
        format!(" D {}\n?? {broken}\n", file(&first)),
        "a broken one stays as it is, and a missing one is recorded"
    );
    let check = shed.run(&["garage", "check"]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(check.contains(&format!("{} is deleted on disk and not recorded", file(&first))), "{check}");
    let garage = garage(&shed);
    let book = Book::open(&garage).unwrap();
    let ids: Vec<_> = book.builds(ENGINE).unwrap().into_iter().map(|build| build.id).collect();
    assert_eq!(ids, ["byhand".to_owned(), second.id, third.id]);
    assert_eq!(book.broken_builds(ENGINE).unwrap().len(), 1);
}

/// Whoever writes a step down as done by hand has not written down its torque.
#[test]
fn a_step_done_by_hand_without_its_torque_is_open() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let open = |shed: &Shed, name: &str| {
        let garage = garage(shed);
        Book::open(&garage).unwrap().build(ENGINE, None).unwrap().build.steps[name].is_open()
    };
    for (name, is_open) in [("circlips", false), ("head-nuts", true)] {
        let heading = format!("[steps.{name}]\n");
        shed.edit(&file(&record), &heading, &format!("{heading}done = \"2026-05-10T12:00+02:00\"\n"));
        assert_eq!(open(&shed, name), is_open, "{name}");
    }
    shed.edit(&file(&record), "[steps.head-nuts]\n", "[steps.head-nuts]\ntorque = \"22 Nm\"\n");
    assert!(!open(&shed, "head-nuts"));
}

/// Which build is meant cannot be told while one of them cannot be read.
#[test]
fn a_broken_build_stops_what_does_not_name_another() {
    let shed = Shed::new();
    let sound = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let broken = begun(&shed, "2026-05-11T10:00+02:00", &[]);
    shed.edit(&file(&broken), "why = ", "wy = ");
    let day = "2026-05-12T10:00+02:00";
    let said = refused(&shed, || measured(&shed, day, Recording::Now, &["reed.gap=0.05 mm"]));
    assert!(said.contains("wy"), "{said}");
    let change = BuildChange { which: Some(sound.id.clone()), entered: entered(&["reed.gap=0.05 mm"]) };
    let done = measure(&garage(&shed), ENGINE, &change, Recording::Now, &moment(day)).unwrap();
    assert_eq!(done.id, sound.id);
    assert!(shed.read(&file(&broken)).contains("wy = "), "the broken one was touched");
}

#[test]
fn an_answer_for_later_is_on_disk_and_recorded_with_the_next() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let (head, day) = (shed.git(&["rev-parse", "HEAD"]), "2026-05-11T10:00+02:00");
    for (answer, inner) in [
        ("piston.diameter=53.94 mm", "53.94 mm"),
        ("squish.front=0.75 mm", "0.75 mm"),
        ("reed.gap=0.05 mm", "0.05 mm"),
    ] {
        let known = measured(&shed, day, Recording::Later, &[answer]).unwrap();
        assert_eq!(known.id, record.id);
        assert!(shed.read(&file(&record)).contains(inner), "{answer} is not on disk");
        assert_eq!(shed.git(&["rev-parse", "HEAD"]), head, "{answer} was recorded");
        assert_eq!(shed.git(&["status", "--short"]), format!(" M {}\n", file(&record)));
        assert_follows(&shed);
    }
    let done = Tick { steps: vec!["circlips".to_owned()], ..Tick::default() };
    let known = tick(&garage(&shed), ENGINE, &done, Recording::Later, &moment(day)).unwrap();
    assert!(known.build.steps["circlips"].done.is_some());
    assert_eq!(shed.git(&["rev-parse", "HEAD"]), head);
    // A slip in between is refused and takes nothing with it.
    refused(&shed, || measured(&shed, day, Recording::Later, &["crank.runout_left=12 mm"]));

    let subject = format!("Measure the build of {ENGINE} on 2026-05-10");
    let trailers = [format!("Engine: {ENGINE}"), format!("Build-Id: {}", record.id)];
    let after = one_commit(&shed, &subject, &trailers, || {
        measured(&shed, "2026-05-11T11:00+02:00", Recording::Now, &[]).unwrap()
    });
    assert!(after.build.piston.is_some() && after.build.squish.is_some() && after.build.reed.is_some());
    shed.assert_sound();
}

/// What is waiting on disk goes with whatever is written next, be it another build.
#[test]
fn an_answer_for_later_goes_with_the_next_build() {
    let shed = Shed::new();
    let first = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    measured(&shed, "2026-05-10T11:00+02:00", Recording::Later, &["reed.gap=0.05 mm"]).unwrap();
    begun(&shed, "2026-05-11T10:00+02:00", &[]);
    shed.assert_clean();
    let taken = shed.git(&["show", "--name-only", "--format=", "HEAD~1"]);
    assert_eq!(taken.trim(), file(&first));
    assert!(shed.git(&["show", &format!("HEAD:{}", file(&first))]).contains("0.05 mm"));
}

#[test]
fn parts_edited_by_hand_are_taken_in_first() {
    let shed = Shed::new();
    added(&shed, "2026-05-10T10:00+02:00", &part("p1", &["kind=piston"], None));
    shed.write("parts/p2.toml", "# from the shelf\nkind = \"piston\"\n");
    shed.edit("parts/p1.toml", "kind = \"piston\"", "kind = \"piston\"   # forged");
    shed.write("parts/bad.toml", "knd = \"piston\"\n");
    assert_follows(&shed);
    let before = commits(&shed);
    acted(&shed, "2026-05-11T10:00+02:00", &fitted("p2", ENGINE)).unwrap();
    assert_eq!(commits(&shed), before + 2);
    let changed = touched(&shed);
    assert!(
        changed.len() == 2 && changed[0].starts_with("A jobs/") && changed[1] == "M parts/p2.toml",
        "{changed:?}"
    );
    let taken = shed.git(&["show", "--name-status", "--format=%s", "HEAD~1"]);
    let lines: Vec<_> = taken.lines().filter(|line| !line.is_empty()).collect();
    assert_eq!(lines, ["Take in parts that were edited by hand", "M\tparts/p1.toml", "A\tparts/p2.toml"]);
    assert!(shed.read("parts/p2.toml").starts_with("# from the shelf\n"));
    assert!(shed.read("parts/p1.toml").contains("# forged"));
    assert_eq!(shed.git(&["status", "--short"]), "?? parts/bad.toml\n");
    // A new one takes in what was edited as well.
    shed.edit("parts/p2.toml", "# from the shelf", "# from the box");
    let new: NewPart = part("p3", &["kind=piston"], None);
    added(&shed, "2026-05-12T10:00+02:00", &new);
    assert_eq!(commits(&shed), before + 4);
    // Mending takes the edit of that file with it.
    shed.edit("parts/p2.toml", "# from the box", "# from the drawer");
    mend_part(&garage(&shed), "p2", &entered(&["number=7"]), &moment("2026-05-12T11:00+02:00")).unwrap();
    assert_eq!(commits(&shed), before + 5);
    assert!(shed.git(&["show", "HEAD:parts/p2.toml"]).starts_with("# from the drawer\n"));
    assert_follows(&shed);
}
