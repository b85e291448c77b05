//! Several cylinders: what one has of its own laid over what is written for all is the setup of an engine with one.

use std::collections::BTreeMap;

use reedbook::notebook::editing::assign::apply;
use reedbook::notebook::restoring::on_the_bike::{put_on, to_do};
use reedbook::notebook::{
    Assignment, Combination, EditError, EditOptions, FieldSet, Mixture, Outing, SetupFiles, compare,
    reading_order,
};

const SETUP: &str = "\
engine = \"e\"

[ignition]
map_kind = \"absolute\"
assumed_base = 15
rpm = [3000, 9000]
advance = [22, 15]

[jetting]
carburetor_bore = 34
main = 172                # as bought
main_numbered_by = \"bore\"

[fuel]
name = \"pump\"

[cylinder.right.jetting]
main = 175

[cylinder.right.ignition]
rpm = [3000, 8000, 11000]
advance = [22, 16, 12]
";

const ENGINE: &str = "\
[engine]
cylinders = 2
bore = 54
stroke = 54.5

[ports.windows.exhaust]
kind = \"exhaust\"
top = 25.5

[cylinders]
names = [\"left\", \"right\"]

[cylinder.right.ports.windows.exhaust]
top = 25.3
";

const RIGHT_ALONE: &str = "\
engine = \"e\"

[ignition]
map_kind = \"absolute\"
assumed_base = 15
rpm = [3000, 8000, 11000]
advance = [22, 16, 12]

[jetting]
carburetor_bore = 34
main = 175
main_numbered_by = \"bore\"

[fuel]
name = \"pump\"
";

const RIGHT_ENGINE: &str = "\
[engine]
bore = 54
stroke = 54.5

[ports.windows.exhaust]
kind = \"exhaust\"
top = 25.3
";

fn files(setup: &str, engine: &str) -> SetupFiles {
    SetupFiles {
        bike: "b".into(),
        setup: Some(setup.as_bytes().to_vec()),
        engine_name: Some("e".into()),
        engine: Some(engine.as_bytes().to_vec()),
        maps: BTreeMap::new(),
    }
}

fn twin() -> SetupFiles {
    files(SETUP, ENGINE)
}

fn read(files: &SetupFiles) -> Combination {
    let whole = Combination::read(files, false);
    assert!(whole.findings.is_empty(), "{:?}", whole.findings);
    whole
}

fn change(files: &SetupFiles, typed: &[&str]) -> Result<SetupFiles, EditError> {
    let assignments: Vec<Assignment> = typed.iter().map(|text| Assignment::parse(text).unwrap()).collect();
    apply(files, &assignments, EditOptions::default())
}

fn typed(whole: &Combination) -> (String, String) {
    let setup = toml::to_string(whole.setup.as_ref().unwrap()).unwrap();
    (setup, toml::to_string(whole.engine.as_ref().unwrap()).unwrap())
}

#[test]
fn a_cylinder_reads_like_an_engine_with_one() {
    let alone = read(&files(RIGHT_ALONE, RIGHT_ENGINE));
    let (of_fields, of_files) = (read(&twin()).for_cylinder("right"), read(&twin().for_cylinder("right")));
    for right in [&of_fields, &of_files] {
        assert!(right.fields.same_as(&alone.fields), "{:?}", compare(&alone.fields, &right.fields));
        assert_eq!(typed(right), typed(&alone));
    }
    let left = read(&twin()).for_cylinder("left");
    assert_eq!(left.fields.quantity("jetting.main").unwrap().text(), "172");
    assert_eq!(left.fields.map("ignition.advance").unwrap().rpm, [3000.0, 9000.0]);
    // An engine with one cylinder is itself, whatever name is asked for.
    assert!(alone.for_cylinder("right").fields.same_as(&alone.fields));
    assert_eq!(typed(&alone.for_cylinder("right")), typed(&alone));
}

#[test]
fn a_field_of_one_cylinder_is_written_under_its_name_and_nothing_else_moves() {
    let edited = change(&twin(), &["right.jetting.main=178", "left.main=170"]).unwrap();
    let text = String::from_utf8(edited.setup.clone().unwrap()).unwrap();
    let expected = SETUP.replace("main = 175", "main = 178") + "\n[cylinder.left.jetting]\nmain = 170\n";
    assert_eq!(text, expected);
    let back = change(&edited, &["left.jetting.main=", "right.jetting.main=175"]).unwrap();
    assert_eq!(String::from_utf8(back.setup.unwrap()).unwrap(), SETUP);
    // What stands in the engine's file goes there.
    let edited = change(&twin(), &["left.head.gasket=0.4"]).unwrap();
    assert!(
        String::from_utf8(edited.engine.unwrap()).unwrap().contains("[cylinder.left.head]\ngasket = 0.4\n")
    );
}

#[test]
fn what_is_written_for_all_is_refused_where_a_cylinder_has_its_own() {
    let refused = change(&twin(), &["jetting.main=170"]).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "jetting.main does not hold for every cylinder: right (175) has its own."
    );
    assert_eq!(
        refused.help(),
        "For all alike write all.jetting.main=170 (it takes their own away); where they keep their own, jetting.main=170 \
         right.jetting.main=175."
    );
    for said in [["jetting.main=170", "right.jetting.main="], ["jetting.main=170", "right.jetting.main=175"]]
    {
        assert!(change(&twin(), &said).is_ok(), "{said:?}");
    }
    let refused = change(&twin(), &["middle.jetting.main=170"]).unwrap_err();
    assert_eq!(refused.help(), "The cylinders are left, right.");
    let refused = change(&twin(), &["left.ignition.advance@9000=14"]).unwrap_err();
    assert!(refused.help().contains("ignition.advance@9000=VALUE"), "{}", refused.help());
    assert!(change(&twin(), &["right.ignition.advance@8000=15"]).is_ok());
}

#[test]
fn jets_for_three_of_four_are_a_finding() {
    let engine = "[cylinders]\nnames = [\"a1\", \"a2\", \"b1\", \"b2\"]\n";
    let own = |name: &str| format!("[cylinder.{name}.jetting]\nmain = 170\nmain_numbered_by = \"bore\"\n");
    let setup = format!("engine = \"e\"\n{}{}{}", own("a1"), own("a2"), own("b2"));
    let found = Combination::read(&files(&setup, engine), false).findings;
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].message, "jetting.main is written for a1, a2, b2, and not for b1.");
    let whole = Combination::read(&files(&format!("{setup}{}", own("b1")), engine), false);
    assert!(whole.findings.is_empty(), "{:?}", whole.findings);
}

#[test]
fn what_a_cylinder_does_not_have_of_its_own_is_compared_by_what_holds() {
    let (old, new) = (read(&twin()), read(&change(&twin(), &["left.jetting.main=172"]).unwrap()));
    assert!(compare(&old.fields, &new.fields).is_empty(), "the same jet, written elsewhere");
    let new = read(&change(&twin(), &["jetting.main=180", "right.jetting.main="]).unwrap());
    let changes = compare(&old.fields, &new.fields).changes;
    let texts: Vec<(String, String, String)> = changes
        .iter()
        .map(|one| (one.field.clone(), one.old.as_ref().unwrap().text(), one.new.as_ref().unwrap().text()))
        .collect();
    let row = |field: &str, old: &str| (field.to_owned(), old.to_owned(), "180".to_owned());
    assert_eq!(texts, [row("jetting.main", "172"), row("right.jetting.main", "175")]);
    assert_eq!(reading_order("right.jetting.main").0, reading_order("jetting.main").0);
}

fn jobs(on_it: &FieldSet, wanted: &FieldSet) -> Vec<(String, String)> {
    to_do(on_it, wanted).into_iter().map(|job| (job.field, job.what)).collect()
}

#[test]
fn what_is_to_be_done_says_at_which_cylinder_and_once_what_is_the_same() {
    let old = read(&twin()).fields;
    let wanted = change(&twin(), &["jetting.main=180", "right.jetting.main=", "fuel.name=race"]).unwrap();
    let new = read(&wanted).fields;
    let row = |field: &str, what: &str| (field.to_owned(), what.to_owned());
    assert_eq!(
        jobs(&old, &new),
        [
            row("left.jetting.main", "left main 172 → 180"),
            row("right.jetting.main", "right main 175 → 180"),
            row("fuel.name", "fuel pump → race"),
        ]
    );
    // Each tick takes its own line away, in whatever order.
    for order in [[0, 1, 2], [2, 1, 0], [1, 0, 2]] {
        let mut on_it = old.clone();
        let all = jobs(&old, &new);
        for (done, at) in order.into_iter().enumerate() {
            put_on(&mut on_it, &new, &all[at].0);
            assert_eq!(jobs(&on_it, &new).len(), 2 - done, "{order:?}");
        }
    }
}

#[test]
fn an_outing_of_one_cylinder_is_what_was_seen_there_over_what_was_seen_of_all() {
    let text = "date = \"2026-05-16T10:30+02:00\"\nplug = \"brown\"\n[verdict]\nfull = \"right\"\nhalf = \"rich\"\n\
                [cylinder.right]\nplug = \"white\"\n[cylinder.right.verdict]\nfull = \"lean\"\n";
    let outing: Outing = toml::from_str(text).unwrap();
    let zones = |outing: &Outing| outing.verdict.as_ref().unwrap().zones();
    let (left, right) = (outing.for_cylinder("left"), outing.for_cylinder("right"));
    assert_eq!(zones(&right), [("half", Mixture::Rich), ("full", Mixture::Lean)]);
    assert_eq!(zones(&left), [("half", Mixture::Rich), ("full", Mixture::Right)]);
    assert_eq!((left.plug.as_deref(), right.plug.as_deref()), (Some("brown"), Some("white")));
}

#[test]
fn a_lean_run_of_all_but_one_is_given_to_the_others_by_name() {
    let names = ["left".to_owned(), "middle".to_owned(), "right".to_owned()];
    let named = |verdicts: &str| {
        let mut outing: Outing = toml::from_str(&format!("date = \"2026-05-16\"\n{verdicts}")).unwrap();
        outing.name_the_lean(&names);
        let full = |name: &String| outing.cylinder.get(name).and_then(|own| own.verdict.as_ref()?.full);
        (outing.verdict.as_ref().and_then(|verdict| verdict.full), names.iter().map(full).collect::<Vec<_>>())
    };
    let (lean, right) = (Some(Mixture::Lean), Some(Mixture::Right));
    let left = "[cylinder.left.verdict]\nfull = \"right\"\n";
    assert_eq!(named(&format!("[verdict]\nfull = \"lean\"\n{left}")), (None, vec![right, lean, lean]));
    // What was not lean, and what was said of all, stays as it is.
    assert_eq!(named(&format!("[verdict]\nfull = \"rich\"\n{left}")).0, Some(Mixture::Rich));
    assert_eq!(named("[verdict]\nfull = \"lean\"\n"), (lean, vec![None, None, None]));
}

#[test]
fn notes_that_name_one_cylinder_are_of_that_one_where_it_was_seen_there() {
    let notes_of = |name: &str, notes: &str, seen: &str| {
        let text =
            format!("date = \"2026-05-16\"\nnotes = \"{notes}\"\n[cylinder.{seen}]\npiston = \"scuffed\"\n");
        toml::from_str::<Outing>(&text).unwrap().for_cylinder(name).notes
    };
    let told = "The right cylinder seized.";
    assert_eq!(notes_of("left", told, "right"), None);
    assert_eq!(notes_of("right", told, "right").as_deref(), Some(told));
    // Nobody looked into it, or both are named: it is of all.
    assert!(notes_of("left", told, "left").is_some());
    assert!(notes_of("left", "right cylinder seized, left fine", "right").is_some());
    assert!(notes_of("left", "right piston and both rings stuck", "right").is_some());
    assert!(notes_of("left", "seized right away", "right").is_some());
}
