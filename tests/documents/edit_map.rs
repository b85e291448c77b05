//! Changing cells of a map, in the setup file and in a file under maps/: what is written, what stays, what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use reedbook::notebook::editing::assign::apply;
use reedbook::notebook::{
    Assignment, Code, Combination, EditError, EditOptions, MapTable, SetupFiles, compare,
};
use reedbook::report::worded;

const KEEP: EditOptions = EditOptions { insert: false, refuse_bare_lengths: false };
const INSERT: EditOptions = EditOptions { insert: true, refuse_bare_lengths: false };

const CSV: &str =
    "rpm, 4000, 8000, 12000\r\n0, 1.0, 2.0, 3.0\r\n50, 2.0, 3.0, 4.0\r\n\r\n100, 3.0, 4.0, 5.0\r\n";

fn with(section: &str) -> SetupFiles {
    SetupFiles {
        bike: "moth".into(),
        setup: Some(format!("engine = \"a1\"\n{section}").into_bytes()),
        engine_name: Some("a1".into()),
        engine: Some(Vec::new()),
        maps: [
            ("maps/fuel.csv", CSV),
            ("maps/wet.csv", "rpm,8000,9000\n,18,16\n"),
            ("maps/bad.csv", "rpm,9000,8000\n,18,16\n"),
        ]
        .into_iter()
        .map(|(name, text)| (name.to_owned(), text.as_bytes().to_vec()))
        .collect(),
    }
}

fn advance(arrays: &str) -> SetupFiles {
    with(&format!("[ignition]\nmap_kind = \"relative\"\n{arrays}"))
}

fn fuel_in_file() -> SetupFiles {
    with("[injection]\nfuel_map_unit = \"ms\"\nfuel = \"maps/fuel.csv\" # from the dyno\n")
}

fn edit(files: &SetupFiles, typed: &[&str], options: EditOptions) -> Result<SetupFiles, EditError> {
    let assignments: Vec<_> = typed.iter().map(|one| Assignment::parse(one).unwrap()).collect();
    apply(files, &assignments, options)
}

/// The arrays of an ignition map after a change.
fn arrays(before: &str, typed: &str, options: EditOptions) -> String {
    let edited = edit(&advance(before), &[typed], options).unwrap();
    map(&edited, "ignition.advance");
    let text = String::from_utf8(edited.setup.unwrap()).unwrap();
    text.split_once("\"relative\"\n").unwrap().1.to_owned()
}

fn csv(typed: &[&str], options: EditOptions) -> String {
    let edited = edit(&fuel_in_file(), typed, options).unwrap();
    assert_eq!(edited.setup, fuel_in_file().setup, "the setup file only names the map");
    map(&edited, "injection.fuel");
    String::from_utf8(edited.maps["maps/fuel.csv"].clone()).unwrap()
}

fn map(files: &SetupFiles, field: &str) -> MapTable {
    let whole = Combination::read(files, false);
    assert!(whole.findings.is_empty(), "{:?}", whole.findings);
    whole.fields.map(field).cloned().expect("a map")
}

fn refused(files: &SetupFiles, typed: &str, options: EditOptions) -> EditError {
    edit(files, &[typed], options).expect_err(typed)
}

fn says(error: &EditError, message: &str, help: &str) {
    assert_eq!((error.to_string().as_str(), error.help().as_str()), (message, help));
}

#[test]
fn one_cell_changes_and_its_neighbours_keep_their_bytes() {
    let before = "rpm     = [ 8_000, 9000, 9500 ]\nadvance = [ 20.0, 19.00, 18.5 ]  # from the box\n";
    assert_eq!(
        arrays(before, "ignition.advance@9000=17.25", KEEP),
        "rpm     = [ 8_000, 9000, 9500 ]\nadvance = [ 20.0, 17.25, 18.5 ]  # from the box\n"
    );
    assert_eq!(
        arrays(before, "ignition.advance@8000=21", KEEP),
        "rpm     = [ 8_000, 9000, 9500 ]\nadvance = [ 21, 19.00, 18.5 ]  # from the box\n"
    );
}

const LINES: &str = "rpm = [\n  8000,\n  9000, # knocked here\n  10000, # limiter\n]\nadvance = [\n  20, # idle side\n  19,\n  17 # last\n]\n";

#[test]
fn a_map_with_one_cell_a_line_keeps_its_lines_and_comments() {
    assert_eq!(arrays(LINES, "ignition.advance@9000=18", KEEP), LINES.replace("  19,", "  18,"));
    assert_eq!(
        arrays(LINES, "ignition.advance@9500=17.5", INSERT),
        "rpm = [\n  8000,\n  9000, # knocked here\n  9500,\n  10000, # limiter\n]\n\
         advance = [\n  20, # idle side\n  19,\n  17.5,\n  17 # last\n]\n"
    );
    assert_eq!(
        arrays(LINES, "ignition.advance@8500=20", INSERT),
        "rpm = [\n  8000,\n  8500,\n  9000, # knocked here\n  10000, # limiter\n]\n\
         advance = [\n  20, # idle side\n  20,\n  19,\n  17 # last\n]\n"
    );
    assert_eq!(
        arrays(LINES, "ignition.advance@7000=20", INSERT),
        "rpm = [\n  7000,\n  8000,\n  9000, # knocked here\n  10000, # limiter\n]\n\
         advance = [\n  20,\n  20, # idle side\n  19,\n  17 # last\n]\n"
    );
    assert_eq!(
        arrays(LINES, "ignition.advance@11000=15", INSERT),
        "rpm = [\n  8000,\n  9000, # knocked here\n  10000, # limiter\n  11000,\n]\n\
         advance = [\n  20, # idle side\n  19,\n  17, # last\n  15\n]\n"
    );
}

#[test]
fn a_list_on_one_line_stays_on_one_line() {
    let before = "rpm = [8000, 9000]\nadvance = [20, 19]\n";
    assert_eq!(
        arrays(before, "ignition.advance@8500=18", INSERT),
        "rpm = [8000, 8500, 9000]\nadvance = [20, 18, 19]\n"
    );
    assert_eq!(
        arrays(before, "ignition.advance@7000=18", INSERT),
        "rpm = [7000, 8000, 9000]\nadvance = [18, 20, 19]\n"
    );
    assert_eq!(
        arrays(before, "ignition.advance@9500=18", INSERT),
        "rpm = [8000, 9000, 9500]\nadvance = [20, 19, 18]\n"
    );
    let wrapped = "rpm = [7000, 8000,\n       9000, 10000]\nadvance = [20, 19,\n       18, 17]\n";
    assert_eq!(
        arrays(wrapped, "ignition.advance@9500=17", INSERT),
        "rpm = [7000, 8000,\n       9000, 9500, 10000]\nadvance = [20, 19,\n       18, 17, 17]\n"
    );
}

const DEEP: &str = "rpm = [8000, 9000]\nthrottle = [0, 100]\nadvance = [\n  [24.0, 22.0], # shut\n  [20.0, 17.0], # open\n]\n";

#[test]
fn a_map_over_the_throttle_changes_in_its_row() {
    assert_eq!(
        arrays(DEEP, "ignition.advance@9000/100=16", KEEP),
        DEEP.replace("[20.0, 17.0]", "[20.0, 16]")
    );
}

#[test]
fn a_new_engine_speed_gets_a_cell_on_the_curve_in_every_other_row() {
    assert_eq!(
        arrays(DEEP, "ignition.advance@8500/100=16", INSERT),
        "rpm = [8000, 8500, 9000]\nthrottle = [0, 100]\nadvance = [\n  [24.0, 23.0, 22.0], # shut\n  [20.0, 16, 17.0], # open\n]\n"
    );
}

#[test]
fn a_new_throttle_opening_gets_a_row_between_its_neighbours() {
    assert_eq!(
        arrays(DEEP, "ignition.advance@9000/25=20", INSERT),
        "rpm = [8000, 9000]\nthrottle = [0, 25, 100]\n\
         advance = [\n  [24.0, 22.0], # shut\n  [23.0, 20],\n  [20.0, 17.0], # open\n]\n"
    );
    let both = edit(&advance(DEEP), &["ignition.advance@8300/50=21"], INSERT).unwrap();
    let map = map(&both, "ignition.advance");
    assert_eq!((map.rpm, map.throttle), (vec![8000.0, 8300.0, 9000.0], vec![0.0, 50.0, 100.0]));
    assert_eq!(map.rows, [[24.0, 23.4, 22.0], [22.0, 21.0, 19.5], [20.0, 19.1, 17.0]]);
}

#[test]
fn a_breakpoint_given_its_own_value_leaves_the_curve_alone() {
    let before = advance("rpm = [8000, 9500]\nadvance = [20.0, 18.0]\n");
    let after = edit(&before, &["ignition.advance@9000=18.667"], INSERT).unwrap();
    let fields = |files: &SetupFiles| Combination::read(files, false).fields;
    let comparison = compare(&fields(&before), &fields(&after));
    let difference = comparison.changes[0].map.clone().unwrap();
    assert_eq!(difference.sentence, "breakpoint 9,000 rpm added, the curve is the same");
}

#[test]
fn a_map_file_keeps_everything_but_the_cell() {
    assert_eq!(csv(&["injection.fuel@8000/50=3.25"], KEEP), CSV.replace("50, 2.0, 3.0", "50, 2.0, 3.25"));
    assert_eq!(csv(&["injection.fuel@12000/100=5.5"], KEEP), CSV.replace("4.0, 5.0\r\n", "4.0, 5.5\r\n"));
    assert_eq!(
        csv(&["injection.fuel@6000/0=1.75"], INSERT),
        "rpm, 4000, 6000, 8000, 12000\r\n0, 1.0, 1.75, 2.0, 3.0\r\n50, 2.0, 2.5, 3.0, 4.0\r\n\r\n100, 3.0, 3.5, 4.0, 5.0\r\n"
    );
    assert_eq!(
        csv(&["injection.fuel@13000/50=5"], INSERT),
        "rpm, 4000, 8000, 12000, 13000\r\n0, 1.0, 2.0, 3.0, 3.0\r\n50, 2.0, 3.0, 4.0, 5\r\n\r\n100, 3.0, 4.0, 5.0, 5.0\r\n"
    );
    assert_eq!(
        csv(&["injection.fuel@8000/75=4"], INSERT),
        CSV.replace("100, 3.0", "75, 2.5, 4, 4.5\r\n100, 3.0")
    );
    let added = csv(&["injection.fuel@8000/20=2.5", "injection.fuel@4000/20=1"], INSERT);
    assert_eq!(added, CSV.replace("50, 2.0", "20, 1, 2.5, 3.4\r\n50, 2.0"));
}

#[test]
fn a_row_at_the_end_of_a_file_without_a_last_line_end() {
    let mut files = fuel_in_file();
    files.maps.insert("maps/fuel.csv".into(), b"\"rpm, at\",4000,8000\n0,1,2\n50,2,3".to_vec());
    let edited = edit(&files, &["injection.fuel@8000/100=4"], INSERT).unwrap();
    assert_eq!(edited.maps["maps/fuel.csv"], b"\"rpm, at\",4000,8000\n0,1,2\n50,2,3\n100,2,4");
    map(&edited, "injection.fuel");
}

#[test]
fn a_cell_off_the_breakpoints_is_refused_with_its_neighbours() {
    let files = advance("rpm = [8000, 9000, 10000]\nadvance = [20, 19, 17]\n");
    says(
        &refused(&files, "ignition.advance@9500=17", KEEP),
        "ignition.advance has no breakpoint at 9500 rpm.",
        "Next to it: 9000 and 10000. Name one of these, or put a breakpoint in.",
    );
    assert!(refused(&files, "ignition.advance@7000=17", KEEP).help().starts_with("Next to it: 8000. "));
    assert!(refused(&files, "ignition.advance@11000=17", KEEP).help().starts_with("Next to it: 10000. "));
    says(
        &refused(&advance(DEEP), "ignition.advance@9000/50=17", KEEP),
        "ignition.advance has no breakpoint at 50 % throttle.",
        "Next to it: 0 and 100. Name one of these, or put a breakpoint in.",
    );
}

#[test]
fn a_place_fits_the_axes_of_the_map() {
    says(
        &refused(&advance(DEEP), "ignition.advance@9000=17", KEEP),
        "ignition.advance runs over the throttle too, and 9000 names no opening.",
        "Write @9000/0; its openings are 0, 100 %.",
    );
    let flat = advance("rpm = [8000, 9000]\nadvance = [20, 19]\n");
    says(
        &refused(&flat, "ignition.advance@9000/50=17", INSERT),
        "ignition.advance runs over engine speed alone, and 9000/50 names a throttle opening.",
        "Write @9000.",
    );
}

#[test]
fn a_cell_is_checked_like_one_that_is_read() {
    let flat = advance("rpm = [8000, 9000]\nadvance = [20, 19]\n");
    says(
        &refused(&flat, "ignition.advance@9000=80", KEEP),
        "ignition.advance: The cell at 9000 cannot be 80.",
        "Allowed: -20 to 70 deg.",
    );
    assert!(matches!(refused(&flat, "ignition.advance@31000=8", INSERT), EditError::BadMap { .. }));
    for typed in ["17,5", "nan", "much", "17 deg"] {
        let error = refused(&flat, &format!("ignition.advance@9000={typed}"), KEEP);
        assert!(matches!(error, EditError::BadQuantity { .. }), "{typed}");
    }
    assert!(matches!(refused(&flat, "ignition.advance@9000=", KEEP), EditError::EmptyCell { .. }));
    assert!(matches!(refused(&flat, "ignition.limiter@9000=1", KEEP), EditError::NotAMap { .. }));
    assert!(matches!(refused(&flat, "extra.fan@9000=1", KEEP), EditError::NotAMap { .. }));
    assert!(matches!(refused(&flat, "injection.fuel@9000=1", KEEP), EditError::NoMap { .. }));
    assert!(matches!(
        refused(&advance("rpm = [1]\nadvance = [1, 2]\n"), "ignition.advance@1=1", KEEP),
        EditError::NoMap { .. }
    ));
}

#[test]
fn breakpoints_are_not_set_by_hand() {
    let flat = advance("rpm = [8000, 9000]\nadvance = [20, 19]\n");
    says(
        &refused(&flat, "ignition.rpm=8000", KEEP),
        "ignition.rpm holds the breakpoints of ignition.advance, which only change together with its cells.",
        "Put one in with its cell, ignition.advance@RPM=VALUE, or edit the file.",
    );
    assert!(refused(&flat, "injection.throttle=", KEEP).help().contains("injection.fuel@RPM"));
}

#[test]
fn a_whole_map_comes_from_a_file_or_goes() {
    let flat = advance("# by ear\nrpm = [8000, 9000]\nadvance = [20, 19] # from the box\n");
    let edited = edit(&flat, &["ignition.advance=maps/wet.csv"], KEEP).unwrap();
    assert_eq!(map(&edited, "ignition.advance").file.as_deref(), Some("maps/wet.csv"));
    let text = String::from_utf8(edited.setup.unwrap()).unwrap();
    assert!(
        text.ends_with("map_kind = \"relative\"\n# by ear\nadvance = \"maps/wet.csv\" # from the box\n"),
        "{text}"
    );
    let gone = edit(&flat, &["ignition.advance="], KEEP).unwrap();
    let text = String::from_utf8(gone.setup.unwrap()).unwrap();
    assert!(text.ends_with("map_kind = \"relative\"\n# by ear\n# from the box\n"), "{text}");
}

#[test]
fn a_whole_map_is_nothing_but_a_readable_file() {
    let flat = advance("rpm = [8000, 9000]\nadvance = [20, 19]\n");
    says(
        &refused(&flat, "ignition.advance=17", KEEP),
        "ignition.advance is a map: \"17\" does not say which cell.",
        "Write ignition.advance@8000=VALUE for one cell, or the name of a file like maps/ignition.csv for all.",
    );
    assert!(
        refused(&advance(DEEP), "ignition.advance=17", KEEP)
            .help()
            .starts_with("Write ignition.advance@8000/0=VALUE")
    );
    assert!(matches!(refused(&flat, "ignition.advance=maps/../wet.csv", KEEP), EditError::WhichCell { .. }));
    let missing = refused(&flat, "ignition.advance=maps/dry.csv", KEEP);
    assert_eq!(missing.to_string(), "ignition.advance: The file maps/dry.csv is not there, or is not text.");
    assert_eq!((missing.code(), missing.place().line), (None, None));
    let falling = refused(&flat, "ignition.advance=maps/bad.csv", KEEP);
    assert_eq!(falling.code(), Some(Code::AxisOrder));
}

#[test]
fn a_fault_in_a_map_file_names_the_file_and_its_line() {
    for (text, line, code) in [
        ("rpm,9000,8000\n,18,16\n", Some(1), Code::AxisOrder),
        ("\r\nrpm,8000,9000\r\n\r\n,18,x\r\n", Some(4), Code::MapFile),
        ("rpm,8000,9000\r\n20,18,16\r\n\r\n50,18\r\n", Some(4), Code::RaggedMap),
        ("rpm,8000,9000\n50,18,16\n20,18,16\n", Some(3), Code::AxisOrder),
        ("rpm,8000,9000\n50,18,16\n120,18,16\n", Some(3), Code::OutOfRange),
        ("rpm,8000,9000\n20,18,16\n50,18,160\n", Some(3), Code::OutOfRange),
        ("rpm,8000\n,18\n", Some(1), Code::RaggedMap),
        // No one row is to blame.
        ("rpm,8000,9000\n20,18,16\n,18,16\n", None, Code::RaggedMap),
    ] {
        let mut files = advance("rpm = [8000, 9000]\nadvance = [20, 19]\n");
        files.maps.insert("maps/bad.csv".into(), text.as_bytes().to_vec());
        let error = refused(&files, "ignition.advance=maps/bad.csv", KEEP);
        let place = error.place();
        assert_eq!((place.line, error.code()), (line, Some(code)), "{text:?} {error}");
        assert_eq!(place.file, SetupFiles::map_path("moth", "maps/bad.csv"));
        assert_eq!(place.field.as_deref(), Some("ignition.advance"));
        // Reading a setup that names the file says the same.
        files.setup = advance("advance = \"maps/bad.csv\"\n").setup;
        let finding = Combination::read(&files, false).findings.swap_remove(0);
        assert_eq!((finding.code, &finding.place), (code, &place), "{text:?}");
        says(&error, &finding.message, &worded(&finding.help));
    }
}

#[test]
fn a_cell_that_cannot_be_is_not_blamed_on_the_map_file() {
    let error = refused(&fuel_in_file(), "injection.fuel@8000/50=999", KEEP);
    assert!(matches!(error, EditError::BadMap { .. }));
    assert_eq!((error.place().file.as_os_str().is_empty(), error.code()), (true, None));
}
