//! Changes to a field that are refused, in which words and with which way out. The bike is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use reedbook::notebook::editing::assign::apply;
use reedbook::notebook::{Assignment, Code, Combination, EditError, EditOptions, SetupFiles};
use reedbook::report::worded;

const SETUP: &str = "engine = \"a1\"\n\n[jetting]\nmain = 178\nneedle_jet = \"0.1043 in\"\nclip = 3\n\n\
[ignition]\nmap_kind = \"relative\"\nrpm = [8000, 9000, 9500, 10000]\nadvance = [20.0, 19.0, 18.5, 17.0]\n";

fn files(setup: &str) -> SetupFiles {
    SetupFiles {
        bike: "moth".into(),
        setup: Some(setup.as_bytes().to_vec()),
        engine_name: Some("a1".into()),
        engine: Some(Vec::new()),
        maps: std::iter::once(("maps/wet.csv".to_owned(), b"rpm,8000,9000\n,18,16\n".to_vec())).collect(),
    }
}

fn edit_with(files: &SetupFiles, typed: &[&str], options: EditOptions) -> Result<SetupFiles, EditError> {
    let assignments = typed.iter().map(|one| Assignment::parse(one)).collect::<Result<Vec<_>, _>>()?;
    apply(files, &assignments, options)
}

fn refused(typed: &str) -> EditError {
    edit_with(&files(SETUP), &[typed], EditOptions::default()).expect_err(typed)
}

#[test]
fn an_assignment_that_cannot_be_read_is_refused() {
    let refused = |typed: &str| Assignment::parse(typed).expect_err(typed);
    assert!(matches!(refused("jetting.main 172"), EditError::NotAnAssignment { .. }));
    for typed in ["=172", "jetting.=172", ".main=172", "jet\u{1b}ting.main=1", "jetting..main=1"] {
        assert!(matches!(refused(typed), EditError::BadName { .. }), "{typed}");
    }
    for typed in [
        "ignition.advance@=17",
        "ignition.advance@fast=17",
        "ignition.advance@9500/=17",
        "ignition.advance@-1=17",
        "ignition.advance@9500/deg=1",
    ] {
        assert!(matches!(refused(typed), EditError::BadPlace { .. }), "{typed}");
    }
    assert!(!refused("jetting.main\u{1b}[2J").to_string().contains('\u{1b}'));
}

fn says(error: &EditError, message: &str, help: &str) {
    assert_eq!((error.to_string().as_str(), error.help().as_str()), (message, help));
}

#[test]
fn an_unknown_field_is_answered_with_the_nearest_and_with_all() {
    let error = refused("jetting.mian=172");
    assert_eq!(error.field(), Some("jetting.mian"));
    assert_eq!(error.to_string(), "jetting.mian is not a field of a setup.");
    assert!(
        error.help().starts_with("Did you mean jetting.main? Fields of jetting: carburetor_bore, main, "),
        "{}",
        error.help()
    );
    assert!(
        refused("mian=172")
            .help()
            .starts_with("Did you mean jetting.main? Sections: engine, notes, ignition")
    );
    assert!(refused("jeting.main=172").help().starts_with("Did you mean jetting.main?"));
    assert!(
        refused("ports.windows.exhaust.width_at_top=1")
            .help()
            .contains("Fields of ports.windows.exhaust: kind, count")
    );
    assert!(refused("ports.windos=1").help().starts_with("Did you mean ports.windows?"));
    for (typed, meant) in [
        ("ports.exhaust.top=25", "Did you mean ports.windows.exhaust.top?"),
        ("pipe.header.length=210", "Did you mean pipe.sections.header.length?"),
    ] {
        assert_eq!(refused(typed).help(), meant);
    }
    assert_eq!(refused("nonsense=1").help().split(':').next(), Some("Sections"));
    assert!(matches!(refused("jetting.main.size=1"), EditError::UnknownField { .. }));
    says(
        &refused("ports.power_valve=1"),
        "ports.power_valve holds several values.",
        "Name one of them: ports.power_valve.opens, ports.power_valve.open, ports.power_valve.drive.",
    );
    assert!(refused("pipe.sections=1").help().contains("pipe.sections.NAME.length"));
}

#[test]
fn a_value_is_checked_in_the_words_of_reading() {
    for (typed, read) in [
        ("jetting.main=5000", "main = 5000"),
        ("jetting.main=172 mm", "main = \"172 mm\""),
        ("jetting.main=1,5", "main = \"1,5\""),
        ("jetting.main=nan", "main = \"nan\""),
        ("jetting.main=big", "main = \"big\""),
        ("jetting.main_numbered_by=size", "main_numbered_by = \"size\""),
        ("jetting.shim=3 furlong", "shim = \"3 furlong\""),
    ] {
        let error = refused(typed);
        let found =
            Combination::read(&files(&format!("engine = \"a1\"\n[jetting]\n{read}\n")), false).findings;
        assert!(
            found
                .iter()
                .any(|finding| finding.message == error.to_string() && worded(&finding.help) == error.help()),
            "{error:?} {found:?}"
        );
    }
    says(&refused("jetting.main=5000"), "jetting.main cannot be 5000.", "Allowed: 20 to 900.");
    says(
        &refused("jetting.main=172 mm"),
        "jetting.main: \"172 mm\" is a length; a plain number is wanted here.",
        "Write a bare number.",
    );
    says(
        &refused("jetting.main=1,5"),
        "jetting.main: \"1,5\" has a comma: decimals are written with a point.",
        "Write 1.5 instead.",
    );
    says(
        &refused("jetting.main_numbered_by=size"),
        "jetting.main_numbered_by cannot be \"size\".",
        "Allowed: flow, bore.",
    );
}

#[test]
fn a_bare_number_is_refused_where_the_file_says_another_unit() {
    let said = ["jetting.needle_jet=2.65 mm", "jetting.needle_jet=0.1045 in"];
    assert!(said.iter().all(|typed| edit_with(&files(SETUP), &[typed], EditOptions::default()).is_ok()));
    says(
        &refused("jetting.needle_jet=0.1045"),
        "jetting.needle_jet is 0.1043 in now, and 0.1045 has no unit.",
        "Say the unit: write \"0.1045 in\" or \"0.1045 mm\", whichever it is.",
    );
}

#[test]
fn bare_lengths_are_refused_in_an_imperial_garage() {
    let imperial = EditOptions { refuse_bare_lengths: true, ..EditOptions::default() };
    let error = edit_with(&files(SETUP), &["head.gasket=0.5"], imperial).unwrap_err();
    says(
        &error,
        "head.gasket is 0.5 without a unit, and this garage is imperial.",
        "Write \"0.5 in\" or \"0.5 mm\", whichever it is.",
    );
    assert!(edit_with(&files(SETUP), &["head.gasket=0.02 in", "jetting.clip=4"], imperial).is_ok());
    assert!(edit_with(&files(SETUP), &["head.gasket=0.5"], EditOptions::default()).is_ok());
}

#[test]
fn the_same_field_twice_is_refused() {
    let twice = |typed: &[&str]| edit_with(&files(SETUP), typed, EditOptions::default());
    assert!(matches!(twice(&["jetting.main=172", "jetting.main=170"]), Err(EditError::Twice { .. })));
    let cell = twice(&["ignition.advance@9500=17", "ignition.advance@9500.0=18"]);
    assert_eq!(cell.unwrap_err().to_string(), "ignition.advance@9500 is given twice.");
    assert!(matches!(
        twice(&["ignition.advance=maps/wet.csv", "ignition.advance@9000=18"]),
        Err(EditError::Twice { .. })
    ));
    assert!(twice(&["ignition.advance@9500=17", "ignition.advance@9000=18"]).is_ok());
}

#[test]
fn a_file_that_cannot_be_read_is_not_edited() {
    let broken = files("engine = \"a1\"\n[jetting\nclip = 3\n");
    let error = edit_with(&broken, &["jetting.clip=4"], EditOptions::default()).unwrap_err();
    in_the_words_of_reading(&broken, &error, Code::Syntax, Some(2));
    let unquoted = files("engine = \"a1\"\n[jetting]\nneedle_jet = 2.68 mm # new\n");
    let error = edit_with(&unquoted, &["jetting.clip=4"], EditOptions::default()).unwrap_err();
    in_the_words_of_reading(&unquoted, &error, Code::Syntax, Some(3));
    says(
        &error,
        "needle_jet = 2.68 mm: a value with a unit needs quotes.",
        "Write it like needle_jet = \"2.68 mm\".",
    );
    let binary = SetupFiles { setup: Some(vec![0xff, 0xfe]), ..files("") };
    let error = edit_with(&binary, &["jetting.clip=4"], EditOptions::default()).unwrap_err();
    in_the_words_of_reading(&binary, &error, Code::NotText, None);
    let blocked =
        edit_with(&files("jetting = 4\n"), &["jetting.clip=4"], EditOptions::default()).unwrap_err();
    assert_eq!(blocked.to_string(), "jetting.clip cannot be written: jetting is a single value in the file.");
    let table = edit_with(&files("[extra.fan]\nsize = 1\n"), &["extra.fan=4"], EditOptions::default());
    assert!(matches!(table, Err(EditError::NotOneValue { .. })));
}

/// A file that is to blame is told as it would be in reading it: words, place and code.
fn in_the_words_of_reading(files: &SetupFiles, error: &EditError, code: Code, line: Option<usize>) {
    let found = Combination::read(files, false).findings;
    let finding = found.first().expect("a finding");
    says(error, &finding.message, &worded(&finding.help));
    assert_eq!((error.code(), error.place()), (Some(code), finding.place.clone()));
    assert_eq!((finding.place.line, finding.code), (line, code));
    assert_eq!(finding.place.file, SetupFiles::setup_path("moth"));
}

#[test]
fn a_part_with_nearly_the_name_of_another_is_a_slip() {
    let engine = "[ports.windows.exhaust]\nkind = \"exhaust\"\ntop = 25\n";
    let setup = "engine = \"a1\"\n[pipe.sections.diffuser-1]\nplace = 2\n[pipe.sections.header]\nplace = 1\n";
    let files = SetupFiles { engine: Some(engine.into()), ..files(setup) };
    let edit = |typed: &[&str]| edit_with(&files, typed, EditOptions::default());
    let error = edit(&["ports.windows.exhuast.top=24.5"]).unwrap_err();
    assert_eq!(error.field(), Some("ports.windows.exhuast.top"));
    says(
        &error,
        "There is no ports.windows.exhuast in this setup.",
        "Did you mean ports.windows.exhaust.top? If ports.windows.exhuast is a new one, give ports.windows.exhuast.kind \
         with it.",
    );
    for slip in [
        "pipe.sections.headr.length=200",
        "pipe.sections.difuser-1.length=200",
        "ports.windows.exhaus.top=25",
    ] {
        assert!(matches!(edit(&[slip]), Err(EditError::LikeAnother { .. })), "{slip}");
    }
    // Said to be a new one, a name of its own, the next of a row, one that is there.
    for typed in [
        ["ports.windows.exhuast.top=24.5", "ports.windows.exhuast.kind=exhaust"],
        ["pipe.sections.headr.length=200", "pipe.sections.headr.place=4"],
        ["ports.windows.boost.top=30", "pipe.sections.diffuser-2.length=80"],
        ["ports.windows.exhaust.top=24.5", "pipe.sections.header.length=200"],
    ] {
        assert!(edit(&typed).is_ok(), "{typed:?}");
    }
    // Nothing is made by taking out what is not there.
    assert_eq!(edit(&["ports.windows.exhuast.top="]).unwrap(), files);
}

#[test]
fn nothing_is_changed_when_one_of_several_is_wrong() {
    assert!(
        edit_with(&files(SETUP), &["jetting.main=172", "jetting.clip=12"], EditOptions::default()).is_err()
    );
}
