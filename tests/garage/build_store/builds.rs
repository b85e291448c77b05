//! Beginning a build, measuring it and working through its check list.

use reedbook::notebook::{CaseMaterial, CylinderMaterial, Scope};
use reedbook::report::worded;
use reedbook::store::{BuildChange, Recording, StoreError, Tick, begin_build, measure};

use super::common::Shed;
use super::*;

const LISTS: &str = r#"[lists.late]
title = "Late"
place = 9
when = "after-first-run"
scopes = ["top-end", "whole"]
[lists.late.steps.look]
place = 1
says = "Look"

[lists.first]
title = "First"
place = 8
scopes = ["top-end"]
[lists.first.steps.b-nuts]
place = 1
says = "Nuts"
caution = "Crosswise."
wants_torque = true
wants_mark = true
torque_wanted = "22 Nm"
[lists.first.steps.a-pin]
place = 2
says = "Pin"

[lists.low]
title = "Low"
place = 1
scopes = ["bottom-end", "whole"]
[lists.low.steps.crank]
place = 1
says = "Crank"
"#;

fn trailers(record: &BuildRecord) -> Vec<String> {
    vec![format!("Engine: {ENGINE}"), format!("Build-Id: {}", record.id)]
}

#[test]
fn a_build_is_begun_as_one_commit() {
    let shed = Shed::new();
    let before = commits(&shed);
    let mut new = new_build(ENGINE, Scope::TopEnd, &["temperature=18 C", "bore.top.depth=12 mm"]);
    new.date = Some(when("2026-05-10T09:30+02:00"));
    let record = begin_build(&garage(&shed), &new, &moment("2026-05-16T10:00+02:00")).unwrap();
    assert_eq!(commits(&shed), before + 1);
    let (subject, carried, written, recorded) = newest(&shed);
    assert_eq!(subject, format!("Begin a build of {ENGINE}: top end"));
    assert_eq!(carried, trailers(&record));
    assert_eq!(
        (written.as_str(), recorded.as_str()),
        ("2026-05-10T09:30:00+02:00", "2026-05-16T10:00:00+02:00")
    );
    let file = record.file.to_string_lossy().into_owned();
    assert_eq!(file, format!("engines/{ENGINE}/builds/20260510-0930-{}.toml", record.id));
    assert_eq!(touched(&shed), [format!("A {file}")]);
    assert!(shed.read(&file).starts_with("#:schema ../../../schema/build.schema.json\n"));
    assert_eq!(record.build.why.as_deref(), Some("new piston"));
    assert_eq!(record.build.by.as_deref(), Some("Ana"));
    assert!((record.build.temperature.unwrap().si() - 291.15).abs() < 1e-9);
    assert_follows(&shed);
    shed.assert_clean();
    shed.assert_sound();
}

/// The lists of its scope in the order of their places, numbered through, each step with what it wants.
#[test]
fn the_check_lists_of_its_scope_are_copied() {
    let shed = Shed::new();
    shed.write("configs/checklists.toml", LISTS);
    let steps = |scope, day| {
        let record = begin_build(&garage(&shed), &new_build(ENGINE, scope, &[]), &moment(day)).unwrap();
        let build = record.build;
        let open = |after| build.open_steps(after).into_iter().map(|(name, _)| name).collect::<Vec<_>>();
        let all = build.steps_in_order().into_iter().map(|(name, step)| (name, step.order()));
        (open(false), open(true), all.collect::<Vec<_>>(), build)
    };
    let (open, after, all, build) = steps(Scope::TopEnd, "2026-05-10");
    assert_eq!((open, after), (vec!["b-nuts".to_owned(), "a-pin".to_owned()], vec!["look".to_owned()]));
    assert_eq!(all, [("b-nuts".to_owned(), 1.0), ("a-pin".to_owned(), 2.0), ("look".to_owned(), 3.0)]);
    let nuts = &build.steps["b-nuts"];
    assert_eq!((nuts.list.as_deref(), nuts.says.as_deref()), (Some("first"), Some("Nuts")));
    assert_eq!(nuts.caution.as_deref(), Some("Crosswise."));
    assert!(nuts.wants_torque && nuts.wants_mark && !nuts.after_first_run && nuts.is_open());
    assert!((nuts.torque_wanted.as_ref().unwrap().si() - 22.0).abs() < 1e-12);
    assert!(build.steps["look"].after_first_run && !build.steps["a-pin"].wants_torque);
    let (open, after, ..) = steps(Scope::Whole, "2026-05-11");
    assert_eq!((open, after), (vec!["crank".to_owned()], vec!["look".to_owned()]));
    let (open, after, ..) = steps(Scope::BottomEnd, "2026-05-12");
    assert_eq!((open, after.len()), (vec!["crank".to_owned()], 0));
    // Changed lists hold for the next build, never for one that is begun.
    shed.write("configs/checklists.toml", "# None any more.\n");
    assert_eq!(Book::open(&garage(&shed)).unwrap().builds(ENGINE).unwrap()[0].build.steps.len(), 3);
    assert_eq!(steps(Scope::TopEnd, "2026-05-13").2.len(), 0);
}

/// The lists that come with the program.
#[test]
fn the_lists_of_the_program_are_whole() {
    let shed = Shed::new();
    let lists = garage(&shed).checklists().unwrap().lists;
    for scope in Scope::ALL {
        let record =
            begin_build(&garage(&shed), &new_build(ENGINE, scope, &[]), &moment("2026-05-16T10:00+02:00"))
                .unwrap();
        let wanted: usize =
            lists.values().filter(|list| list.scopes.contains(&scope)).map(|list| list.steps.len()).sum();
        assert!(wanted > 10);
        assert_eq!(record.build.steps.len(), wanted, "a step of {} has the name of another", scope.word());
    }
}

/// Gauges and metals are those of the build before; what a gauge was zeroed on and how warm it was is not.
#[test]
fn gauges_and_metals_are_carried_over() {
    let shed = Shed::new();
    let first = [
        "cylinder_material=cast-iron",
        "case_material=magnesium",
        "temperature=18 C",
        "gauges.bore.name=dial",
        "gauges.bore.resolution=0.002 mm",
        "gauges.bore.set_on=ring",
        "gauges.bore.set_to=54 mm",
        "gauges.bore.temperature=19 C",
        "gauges.balance.resolution=1 g",
    ];
    begun(&shed, "2026-05-10T10:00+02:00", &first);
    let next = begun(&shed, "2026-05-11T10:00+02:00", &[]).build;
    assert_eq!(next.cylinder_material, Some(CylinderMaterial::CastIron));
    assert_eq!(next.case_material, Some(CaseMaterial::Magnesium));
    assert!(next.temperature.is_none());
    let gauges = next.gauges.unwrap();
    let bore = gauges.bore.unwrap();
    assert_eq!(bore.name.as_deref(), Some("dial"));
    assert!(bore.resolution.is_some() && gauges.balance.is_some());
    assert!(bore.set_on.is_none() && bore.set_to.is_none() && bore.temperature.is_none());
    let mut other = new_build(ENGINE, Scope::TopEnd, &[]);
    other.gauges_as_before = false;
    let other = begin_build(&garage(&shed), &other, &moment("2026-05-12T10:00+02:00")).unwrap();
    assert!(other.build.gauges.is_none());
    assert_eq!(other.build.cylinder_material, Some(CylinderMaterial::CastIron));
    // Another engine has its own.
    let wasp = new_build("wasp-engine", Scope::TopEnd, &[]);
    let wasp = begin_build(&garage(&shed), &wasp, &moment("2026-05-12T10:00+02:00")).unwrap();
    assert!(wasp.build.gauges.is_none() && wasp.build.cylinder_material.is_none());
}

#[test]
fn a_measurement_is_one_commit_and_touches_one_file() {
    let shed = Shed::new();
    let record = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let subject = format!("Measure the build of {ENGINE} on 2026-05-10");
    let typed = ["piston.diameter=53.94 mm", "squish.front=0.75 mm", "notes=cold shop"];
    let after = one_commit(&shed, &subject, &trailers(&record), || {
        measured(&shed, "2026-05-11T10:00+02:00", Recording::Now, &typed).unwrap()
    });
    assert_eq!(touched(&shed), [format!("M {}", record.file.display())]);
    assert_eq!((after.id.as_str(), after.file.as_path()), (record.id.as_str(), record.file.as_path()));
    assert_eq!(after.build.date, when("2026-05-10T10:00+02:00"));
    assert!((after.build.piston.unwrap().diameter.unwrap().si() - 0.05394).abs() < 1e-12);
    // An empty value takes a reading out.
    let out = one_commit(&shed, &subject, &trailers(&record), || {
        measured(&shed, "2026-05-11T10:01+02:00", Recording::Now, &["squish.front=", "notes="]).unwrap()
    });
    assert!(out.build.squish.is_none_or(|squish| squish.front.is_none()) && out.build.notes.is_none());
    shed.assert_sound();
}

#[test]
fn what_is_written_already_is_no_commit() {
    let shed = Shed::new();
    begun(&shed, "2026-05-10T10:00+02:00", &["rod.side_clearance=0.55 mm"]);
    for recording in [Recording::Now, Recording::Later] {
        for typed in [&["rod.side_clearance=0.55 mm"][..], &[]] {
            let said = refused(&shed, || measured(&shed, "2026-05-11T10:00+02:00", recording, typed));
            assert_eq!(said, "The build of moth-engine says so already; nothing recorded.");
        }
    }
}

#[test]
fn a_build_is_named_by_its_id() {
    let shed = Shed::new();
    let first = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let second = begun(&shed, "2026-05-12T10:00+02:00", &[]);
    let of = |which: Option<&str>, gap: &str| {
        let change =
            BuildChange { which: which.map(str::to_owned), entered: entered(&[&format!("reed.gap={gap}")]) };
        measure(&garage(&shed), ENGINE, &change, Recording::Now, &moment("2026-05-13T10:00+02:00"))
    };
    assert_eq!(of(None, "0.1 mm").unwrap().id, second.id);
    assert_eq!(of(Some("last"), "0.2 mm").unwrap().id, second.id);
    assert_eq!(of(Some(&first.id), "0.3 mm").unwrap().id, first.id);
    assert_eq!(of(Some(&first.id[..8]), "0.4 mm").unwrap().id, first.id);
    for (which, why) in [
        ("", "is too short"),
        (&first.id[..2], "is too short"),
        ("zzzzzz", "has no build"),
        (&second.file.to_string_lossy(), "has no build"),
    ] {
        let said = refused(&shed, || of(Some(which), "0.5 mm"));
        assert!(said.contains(why), "{said}");
    }
    let garage = garage(&shed);
    let book = Book::open(&garage).unwrap();
    let at = |day| book.build_at(ENGINE, when(day)).unwrap().map(|record| record.id);
    assert_eq!(at("2026-05-10T09:59+02:00"), None);
    assert_eq!(at("2026-05-10T10:00+02:00"), Some(first.id.clone()));
    assert_eq!(at("2026-05-12T09:59+02:00"), Some(first.id));
    assert_eq!(at("2026-05-12T10:00+02:00"), Some(second.id));
}

fn torque(text: &str) -> Tick {
    let (by, mark) = (Some("Oskar".to_owned()), Some("green paint".to_owned()));
    Tick { torque: Some(text.to_owned()), by, mark, ..Tick::default() }
}

#[test]
fn a_step_is_done_left_out_and_opened_again() {
    let shed = Shed::new();
    shed.write("configs/checklists.toml", LISTS);
    shed.git(&["add", "-A"]);
    shed.git(&["commit", "-q", "-m", "lists"]);
    let record = begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let subject = format!("Work on the build of {ENGINE} on 2026-05-10");
    let work = |day: &str, steps: &[&str], more: Tick| {
        one_commit(&shed, &subject, &trailers(&record), || ticked(&shed, day, steps, more).unwrap()).build
    };
    let said = refused(&shed, || ticked(&shed, "2026-05-10T11:00+02:00", &["b-nuts"], Tick::default()));
    assert!(said.contains("wants its torque"), "{said}");
    let unmarked = Tick { mark: None, ..torque("21 Nm") };
    let said = refused(&shed, || ticked(&shed, "2026-05-10T11:00+02:00", &["b-nuts"], unmarked));
    assert!(said.contains("wants its mark"), "{said}");
    let no_reason = Tick { left_out: Some(" ".to_owned()), ..Tick::default() };
    let said = refused(&shed, || ticked(&shed, "2026-05-10T11:00+02:00", &["b-nuts"], no_reason));
    assert!(said.contains("without a reason"), "{said}");

    let nuts = work("2026-05-10T11:00+02:00", &["b-nuts"], torque("21 Nm")).steps["b-nuts"].clone();
    assert_eq!(nuts.done, Some(when("2026-05-10T11:00+02:00")));
    assert_eq!((nuts.by.as_deref(), nuts.mark.as_deref()), (Some("Oskar"), Some("green paint")));
    assert!((nuts.torque.as_ref().unwrap().si() - 21.0).abs() < 1e-12 && !nuts.is_open());
    assert!(nuts.torque_wanted.is_some() && nuts.caution.is_some(), "the step itself was changed");

    // Again, with its torque known, by another and with a mark of its own.
    let more = Tick {
        mark: Some("white paint".to_owned()),
        note: Some("twice round".to_owned()),
        date: Some(when("2026-05-10T11:30+02:00")),
        ..Tick::default()
    };
    let nuts = work("2026-05-10T12:00+02:00", &["b-nuts"], more).steps["b-nuts"].clone();
    assert_eq!(nuts.done, Some(when("2026-05-10T11:30+02:00")));
    assert_eq!((nuts.mark.as_deref(), nuts.note.as_deref()), (Some("white paint"), Some("twice round")));

    // Left out: no longer done, and no torque or mark of what was not done.
    let why = Tick { left_out: Some("studs are glued".to_owned()), ..Tick::default() };
    let nuts = work("2026-05-10T12:10+02:00", &["b-nuts"], why).steps["b-nuts"].clone();
    assert_eq!(nuts.left_out.as_deref(), Some("studs are glued"));
    assert!(nuts.done.is_none() && nuts.torque.is_none() && nuts.mark.is_none() && !nuts.is_open());

    let build = work("2026-05-10T12:20+02:00", &["b-nuts", "a-pin"], torque("22 Nm"));
    assert!(build.steps["b-nuts"].left_out.is_none() && build.open_steps(false).is_empty());
    assert_eq!(build.open_steps(true).len(), 1);

    let again = Tick { again: true, ..Tick::default() };
    let build = work("2026-05-10T12:30+02:00", &["b-nuts"], again);
    let nuts = &build.steps["b-nuts"];
    assert!(nuts.is_open() && nuts.torque.is_none() && nuts.mark.is_none() && nuts.says.is_some());
    assert!(!build.steps["a-pin"].is_open());
    shed.assert_sound();
}

#[test]
fn a_step_that_is_not_there_is_not_ticked() {
    let shed = Shed::new();
    begun(&shed, "2026-05-10T10:00+02:00", &[]);
    let day = "2026-05-10T11:00+02:00";
    let error = ticked(&shed, day, &["circlip"], Tick::default()).unwrap_err();
    assert!(
        matches!(&error, StoreError::Request { help, .. } if worded(help).contains("circlips")),
        "{error:?}"
    );
    // One that is there beside it is not ticked either.
    let said = refused(&shed, || ticked(&shed, day, &["circlips", "x\u{1b}[2J"], Tick::default()));
    assert!(!said.contains('\u{1b}'), "{said:?}");
    let future = Tick { date: Some(when("2027-01-01")), ..Tick::default() };
    refused(&shed, || ticked(&shed, day, &["circlips"], future));
}
