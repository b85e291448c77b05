//! Two sets of readings compared: what counts as a change, by how much, and in which words. The bike is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use reedbook::notebook::{
    Change, Combination, Comparison, FieldSet, MapDifference, ProseLine, ProseSign, SetupFiles, compare,
};
use reedbook::quantity::nearly_equal;

fn read(setup: &str, engine: &str, maps: &[(&str, &str)]) -> FieldSet {
    let files = SetupFiles {
        bike: "moth".into(),
        setup: Some(format!("engine = \"a1\"\n{setup}").into_bytes()),
        engine_name: Some("a1".into()),
        engine: Some(engine.as_bytes().to_vec()),
        maps: maps.iter().map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())).collect(),
    };
    let whole = Combination::read(&files, false);
    let broken: Vec<_> =
        whole.findings.iter().filter(|finding| !finding.message.contains("missing")).collect();
    assert!(broken.is_empty(), "{broken:?}");
    whole.fields
}

fn setups(old: &str, new: &str) -> Comparison {
    compare(&read(old, "", &[]), &read(new, "", &[]))
}

fn engines(old: &str, new: &str) -> Comparison {
    compare(&read("", old, &[]), &read("", new, &[]))
}

fn only(comparison: &Comparison) -> &Change {
    assert_eq!(comparison.changes.len(), 1, "{:?}", comparison.changes);
    &comparison.changes[0]
}

fn shown(comparison: &Comparison) -> (String, &'static str, Option<String>) {
    let difference = only(comparison).difference.clone().expect("a difference");
    let percent = difference.percent.map(|percent| format!("{percent:.1}"));
    (format!("{:.*}", difference.decimals, difference.value), difference.unit, percent)
}

fn is(comparison: &Comparison, value: &str, unit: &str, percent: Option<&str>) {
    assert_eq!(shown(comparison), (value.to_owned(), leak(unit), percent.map(str::to_owned)));
}

fn leak(text: &str) -> &'static str {
    Box::leak(text.to_owned().into_boxed_str())
}

#[test]
fn how_an_editor_ends_its_lines_is_no_change() {
    let lines = "notes = \"\"\"\nNew plates.\n\nChain oiled.\n\"\"\"\n[jetting]\nneedle = \"n2\"\n";
    let other = lines.replace('\n', "\r\n");
    assert!(setups(lines, &other).is_empty() && setups(&other, lines).is_empty());
    // One line differs, and only that one is shown.
    let changed = other.replace("Chain oiled.", "Chain oiled and set.");
    let prose = only(&setups(lines, &changed)).prose.clone().unwrap();
    let of = |sign| {
        prose.iter().filter(|line| line.sign == sign).map(|line| line.text.as_str()).collect::<Vec<_>>()
    };
    assert_eq!(of(ProseSign::Removed), ["Chain oiled."]);
    assert_eq!(of(ProseSign::Added), ["Chain oiled and set."]);
    // A line break is not the same as none.
    assert!(!setups("notes = \"a b\"", "notes = \"a\\nb\"").is_empty());
}

#[test]
fn equal_readings_in_other_units_digits_and_places_are_no_change() {
    assert!(
        engines("[head]\nsquish_clearance = \"0.030 in\"", "[head]\nsquish_clearance = 0.762").is_empty()
    );
    assert!(setups("[jetting]\nmain = 178", "[jetting]\nmain = 178.0 # as before").is_empty());
    let inline = "[ignition]\nrpm = [8000, 9000]\nadvance = [20, 18.5]";
    let file = "[ignition]\nadvance = \"maps/ignition.csv\"";
    let csv = ("maps/ignition.csv", "rpm,8000,9000\n,20.0,18.5\n");
    assert!(compare(&read(inline, "", &[]), &read(file, "", &[csv])).is_empty());
}

#[test]
fn a_jet_is_a_plain_number_with_its_percentage() {
    is(&setups("[jetting]\nmain = 178", "[jetting]\nmain = 172"), "-6", "", Some("-3.4"));
}

#[test]
fn a_difference_is_in_the_unit_of_the_newer_reading() {
    // 25.30 mm is 0.9961 in by the international inch (25.4 mm exactly); 0.98 in less that is -0.0161 in
    let inch = engines(
        "[ports.windows.x]\nkind = \"exhaust\"\ntop = \"25.30 mm\"",
        "[ports.windows.x]\nkind = \"exhaust\"\ntop = \"0.98 in\"",
    );
    is(&inch, "-0.0161", "in", Some("-1.6"));
    // 0.030 in is 0.762 mm
    let metric = engines("[head]\nsquish_clearance = \"0.030 in\"", "[head]\nsquish_clearance = \"0.80 mm\"");
    is(&metric, "0.04", "mm", Some("5.0"));
}

#[test]
fn a_difference_too_small_for_the_digits_is_still_shown() {
    is(
        &engines("[head]\nplug_gap = \"0.02 in\"", "[head]\nplug_gap = \"0.5081 mm\""),
        "0.0001",
        "mm",
        Some("0.0"),
    );
    is(&setups("[jetting]\nmain = 172", "[jetting]\nmain = 172.04"), "0.04", "", Some("0.0"));
}

#[test]
fn a_temperature_difference_is_a_plain_difference_without_a_percentage() {
    // 20 C is 68 F
    is(&setups("[fuel]\ntemperature = \"20 C\"", "[fuel]\ntemperature = \"77 F\""), "9", "F", None);
}

#[test]
fn what_counts_from_an_agreed_point_has_no_percentage() {
    is(&setups("[jetting]\nclip = 3", "[jetting]\nclip = 4"), "1", "", None);
    is(
        &setups("[jetting]\nair_screw = \"1 1/2\"", "[jetting]\nair_screw = \"1 3/4 turns\""),
        "0.25",
        "turns",
        None,
    );
    is(&setups("[ignition]\nbase = 18", "[ignition]\nbase = \"16.5 deg\""), "-1.5", "deg", None);
}

#[test]
fn nothing_divides_by_zero_or_by_a_negative_reading() {
    is(&setups("[jetting]\nshim = 0", "[jetting]\nshim = \"0.5 mm\""), "0.5", "mm", None);
    is(&engines("[ports]\ndeck_height = -0.2", "[ports]\ndeck_height = 0.1"), "0.3", "mm", None);
}

#[test]
fn a_reading_of_another_kind_has_no_difference() {
    let change = setups("[ignition]\nbase = \"18 deg\"", "[ignition]\nbase = \"2.1 mm\"");
    assert!(only(&change).difference.is_none());
    let words = setups("[jetting]\nneedle = \"K2\"", "[jetting]\nneedle = \"K3\"");
    assert!(only(&words).difference.is_none() && only(&words).prose.is_none());
    let came = setups("", "[jetting]\nclip = 3");
    assert!(only(&came).old.is_none() && only(&came).difference.is_none());
    let went = setups("[jetting]\nclip = 3", "");
    assert!(only(&went).new.is_none());
}

#[test]
fn changes_come_in_reading_order_and_notes_tune_nothing() {
    let old = read(
        "notes = \"dry\"\n[jetting]\nmain = 178\npilot = 45\n[gearing]\nfront = 16",
        "[head]\nplug = \"cold\"",
        &[],
    );
    let new = read(
        "notes = \"wet\"\n[jetting]\nmain = 172\npilot = 42\n[gearing]\nfront = 15",
        "[head]\nplug = \"middle\"",
        &[],
    );
    let comparison = compare(&old, &new);
    let fields: Vec<_> = comparison.changes.iter().map(|change| change.field.as_str()).collect();
    assert_eq!(fields, ["head.plug", "jetting.main", "jetting.pilot", "gearing.front", "notes"]);
    assert_eq!(comparison.sections(), ["head", "jetting", "gearing", "notes"]);
    assert_eq!(comparison.tuning_sections(), ["head", "jetting", "gearing"]);
    assert!(comparison.get("jetting.main").is_some() && comparison.get("jetting.clip").is_none());
}

fn advance(rpm: &str, cells: &str) -> String {
    format!("[ignition]\nrpm = [{rpm}]\nadvance = [{cells}]\n")
}

fn map(old: &str, new: &str) -> MapDifference {
    let comparison = setups(old, new);
    only(&comparison).map.clone().expect("a map difference")
}

const RPM: &str = "8000, 9000, 9500, 10000, 10500, 11000";

#[test]
fn a_map_difference_is_said_in_stretches() {
    let say = |new: &str| map(&advance(RPM, "20, 20, 19, 18, 17, 15"), &advance(RPM, new)).sentence;
    assert_eq!(say("20, 18, 17, 16, 15, 15"), "2.0 degrees less from 9,000 to 10,500 rpm");
    assert_eq!(say("20, 20, 21, 18, 17, 15"), "2.0 degrees more at 9,500 rpm");
    assert_eq!(say("20, 18.5, 17, 18, 17, 15"), "1.5 to 2.0 degrees less from 9,000 to 9,500 rpm");
    assert_eq!(
        say("21, 20, 19, 17.75, 17, 15"),
        "1.0 degrees more at 8,000 rpm; 0.25 degrees less at 10,000 rpm"
    );
    assert_eq!(
        say("21, 19, 19, 18, 17, 15"),
        "1.0 degrees more at 8,000 rpm; 1.0 degrees less at 9,000 rpm",
        "neighbours that go opposite ways are two stretches"
    );
}

#[test]
fn a_map_difference_lists_only_the_cells_that_changed() {
    let difference = map(&advance(RPM, "20, 20, 19, 18, 17, 15"), &advance(RPM, "20, 20, 19, 18, 16, 15"));
    assert_eq!(difference.cells.len(), 1);
    let cell = difference.cells[0];
    assert!(nearly_equal(cell.place.rpm, 10_500.0) && cell.place.throttle.is_none());
    assert!(nearly_equal(cell.old.unwrap(), 17.0) && nearly_equal(cell.new.unwrap(), 16.0));
    assert!(!difference.axes_changed);
}

fn fuel(unit: &str, cells: &str) -> String {
    format!(
        "[injection]\nfuel_map_unit = \"{unit}\"\nrpm = [4000, 8000, 12000]\nthrottle = [10, 50, 100]\nfuel = [{cells}]\n"
    )
}

#[test]
fn a_map_over_the_throttle_names_its_openings() {
    let say = |unit: &str, new: &str| {
        map(&fuel(unit, "[1, 2, 3], [2, 3, 4], [3, 4, 5]"), &fuel(unit, new)).sentence
    };
    assert_eq!(
        say("ms", "[1, 2, 3], [2, 3.25, 4.25], [3, 4.25, 5.25]"),
        "0.25 ms more from 8,000 to 12,000 rpm from 50 to 100 % throttle"
    );
    assert_eq!(say("percent", "[1, 2, 3], [2, 1, 4], [3, 4, 5]"), "2 % less at 8,000 rpm at 50 % throttle");
    assert_eq!(
        say("mg", "[1.5, 2, 3], [4, 3, 4], [3, 4, 5]"),
        "0.5 to 2.0 mg more at 4,000 rpm from 10 to 50 % throttle"
    );
}

#[test]
fn a_map_that_changed_all_over_is_summed_up() {
    let old = fuel("ms", "[1, 2, 3], [2, 3, 4], [3, 4, 5]");
    let new = fuel("ms", "[1.5, 1, 3.5], [1, 3.5, 3], [3.25, 4, 5.5]");
    assert_eq!(
        map(&old, &new).sentence,
        "up to 1.0 ms less and up to 0.5 ms more in 8 cells from 4,000 to 12,000 rpm from 10 to 100 % throttle"
    );
}

#[test]
fn cells_that_count_in_another_unit_are_not_compared() {
    let comparison = setups(
        &fuel("ms", "[1, 2, 3], [2, 3, 4], [3, 4, 5]"),
        &fuel("mg", "[1, 2, 3], [2, 3, 4], [3, 4, 9]"),
    );
    let map = comparison.get("injection.fuel").and_then(|change| change.map.clone()).expect("a map");
    assert!(map.cells.is_empty());
    assert_eq!(map.sentence, "the cells count in mg now and in ms before, so they are not compared");
}

#[test]
fn a_breakpoint_on_the_curve_changes_no_cell() {
    let put_in = map(&advance("8000, 9000", "20, 18"), &advance("8000, 8500, 9000", "20, 19, 18"));
    assert!(put_in.axes_changed && put_in.cells.is_empty());
    assert_eq!(put_in.sentence, "breakpoint 8,500 rpm added, the curve is the same");
    let rounded = map(&advance("8000, 9500", "20, 18"), &advance("8000, 9000, 9500", "20, 18.667, 18"));
    assert_eq!(rounded.sentence, "breakpoint 9,000 rpm added, the curve is the same");
    let taken_out = map(&advance("8000, 8500, 9000", "20, 19, 18"), &advance("8000, 9000", "20, 18"));
    assert_eq!(taken_out.sentence, "breakpoint 8,500 rpm removed, the curve is the same");
}

#[test]
fn a_breakpoint_off_the_curve_is_a_change_of_the_curve() {
    let dip = map(&advance("8000, 9000", "20, 18"), &advance("8000, 8500, 9000", "20, 17, 18"));
    assert_eq!(dip.sentence, "2.0 degrees less at 8,500 rpm; breakpoint 8,500 rpm added");
    assert!(nearly_equal(dip.cells[0].old.unwrap(), 19.0));
    let moved = map(&advance("8000, 9000, 10000", "20, 18, 10"), &advance("8000, 9500, 10000", "20, 18, 10"));
    assert!(moved.axes_changed && !moved.cells.is_empty());
    assert!(
        moved.sentence.contains("breakpoint 9,500 rpm added; breakpoint 9,000 rpm removed"),
        "{}",
        moved.sentence
    );
}

#[test]
fn a_map_that_comes_or_goes_is_said_as_such() {
    let come = map("", &advance("8000, 9000", "20, 18"));
    assert_eq!(come.sentence, "a map of 2 points where there was none");
    assert!(come.cells.len() == 2 && come.cells[0].old.is_none());
    let gone = map(&advance("8000, 9000", "20, 18"), "");
    assert_eq!(gone.sentence, "the map of 2 points is gone");
}

#[test]
fn a_map_that_gains_the_throttle_is_compared_row_by_row() {
    let flat = advance("8000, 9000", "20, 18");
    let deep = "[ignition]\nrpm = [8000, 9000]\nthrottle = [0, 100]\nadvance = [[25, 18], [20, 18]]\n";
    assert_eq!(
        map(&flat, deep).sentence,
        "5.0 degrees more at 8,000 rpm at 0 % throttle; the map runs over the throttle too now"
    );
}

fn notes(old: &str, new: &str) -> Vec<ProseLine> {
    let comparison = setups(&format!("notes = '''\n{old}'''"), &format!("notes = '''\n{new}'''"));
    only(&comparison).prose.clone().expect("prose")
}

fn signs(lines: &[ProseLine]) -> String {
    lines
        .iter()
        .map(|line| match line.sign {
            ProseSign::Kept => ' ',
            ProseSign::Removed => '-',
            ProseSign::Added => '+',
            ProseSign::Gap => '~',
        })
        .collect()
}

fn marked(line: &ProseLine) -> Vec<&str> {
    line.marked.iter().map(|range| &line.text[range.clone()]).collect()
}

#[test]
fn notes_are_compared_by_line_with_the_words_marked() {
    let lines = notes(
        "one\ntwo\nfloods at quarter throttle\nthree\nfour\n",
        "one\ntwo\nfloods at half throttle\nthree\nfour\n",
    );
    assert_eq!(signs(&lines), " -+ ");
    assert_eq!(lines[0].text, "two");
    assert_eq!((marked(&lines[1]), marked(&lines[2])), (vec!["quarter"], vec!["half"]));
}

#[test]
fn distant_changes_leave_a_gap_between_them() {
    let old = "a\nb\nc\nd\ne\nf\ng\n";
    assert_eq!(signs(&notes(old, "A\nb\nc\nd\ne\nf\nG\n")), "-+ ~ -+");
}

#[test]
fn a_line_that_is_wholly_new_carries_no_marks() {
    let lines = notes("plug is dry\n", "jumped out of third on the hill\n");
    assert_eq!(signs(&lines), "-+");
    assert!(lines.iter().all(|line| line.marked.is_empty()));
}

#[test]
fn a_long_text_is_prose_and_a_short_one_is_not() {
    let long = "timing light on the flywheel mark, engine warm, 3000 rpm";
    let change =
        setups("[ignition]\nbase_set_by = \"marks\"", &format!("[ignition]\nbase_set_by = \"{long}\""));
    assert!(only(&change).prose.is_some());
    let short = setups("[ignition]\nbase_set_by = \"marks\"", "[ignition]\nbase_set_by = \"dial gauge\"");
    assert!(only(&short).prose.is_none());
    assert_eq!(signs(&notes("gone\n", "")), "-");
}
