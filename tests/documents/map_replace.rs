//! Writing a whole map into a setup's files, and maps as CSV: what is written, what stays, what is refused.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::path::Path;

use proptest::collection::vec;
use proptest::prelude::*;
use reedbook::notebook::maps::shape::{dropped, merged, shifted};
use reedbook::notebook::{
    Code, Combination, EditError, MapTable, Region, SetupFiles, map_csv, parse_map_csv, replace_map,
};

const ADVANCE: &str = "ignition.advance";
const FUEL: &str = "injection.fuel";

const CSV: &str =
    "rpm, 4000, 8000, 12000\r\n0, 1.00, 2.0, 3.0\r\n50, 2.0, 3.0, 4.0\r\n\r\n100, 3.0, 4.0, 5.0\r\n";

fn with(section: &str) -> SetupFiles {
    SetupFiles {
        bike: "moth".into(),
        setup: Some(format!("engine = \"a1\"\n{section}").into_bytes()),
        engine_name: Some("a1".into()),
        engine: Some(Vec::new()),
        maps: [("maps/fuel.csv".to_owned(), CSV.as_bytes().to_vec())].into(),
    }
}

fn advance(arrays: &str) -> SetupFiles {
    with(&format!("[ignition]\nmap_kind = \"relative\"\n{arrays}"))
}

fn fuel_in_file() -> SetupFiles {
    with("[injection]\nfuel_map_unit = \"ms\"\nfuel = \"maps/fuel.csv\" # from the dyno\n")
}

fn map(files: &SetupFiles, field: &str) -> MapTable {
    let whole = Combination::read(files, false);
    assert!(whole.findings.is_empty(), "{:?}", whole.findings);
    whole.fields.map(field).cloned().expect("a map")
}

fn table(rpm: &[f64], throttle: &[f64], rows: &[&[f64]]) -> MapTable {
    let rows = rows.iter().map(|row| row.to_vec()).collect();
    MapTable { rpm: rpm.to_vec(), throttle: throttle.to_vec(), rows, unit: String::new(), file: None }
}

/// The files with the table in them, which must then be read from them.
fn replaced(files: &SetupFiles, field: &str, table: &MapTable) -> SetupFiles {
    let edited = replace_map(files, field, table).unwrap();
    let read = map(&edited, field);
    assert!(read.same_as(table), "{read:?} is not {table:?}");
    edited
}

/// The arrays of an ignition map after another map was written.
fn arrays(before: &str, table: &MapTable) -> String {
    let text = String::from_utf8(replaced(&advance(before), ADVANCE, table).setup.unwrap()).unwrap();
    text.split_once("\"relative\"\n").unwrap().1.to_owned()
}

fn csv(table: &MapTable) -> String {
    let edited = replaced(&fuel_in_file(), FUEL, table);
    assert_eq!(edited.setup, fuel_in_file().setup, "the setup file only names the map");
    String::from_utf8(edited.maps["maps/fuel.csv"].clone()).unwrap()
}

#[test]
fn on_the_same_breakpoints_only_changed_cells_are_touched() {
    let before = "rpm     = [ 8_000, 9000, 9500 ]\nadvance = [ 20.0, 19.00, 18.5 ]  # from the box\n";
    let later = shifted(
        &map(&advance(before), ADVANCE),
        &Region { rpm: Some((9500.0, 9500.0)), throttle: None },
        -1.5,
    );
    assert_eq!(arrays(before, &later.unwrap()), before.replace("18.5", "17.00"));
    let same = table(&[8000.0, 9000.0, 9500.0], &[], &[&[20.0, 19.0, 18.5]]);
    assert_eq!(replaced(&advance(before), ADVANCE, &same), advance(before));
}

#[test]
fn a_map_file_on_the_same_breakpoints_keeps_everything_but_the_cells() {
    let mut fuel = map(&fuel_in_file(), FUEL);
    assert_eq!(csv(&fuel), CSV);
    fuel.rows[1][2] = 4.25;
    fuel.rows[2][0] = 2.0;
    assert_eq!(csv(&fuel), CSV.replace("3.0, 4.0\r\n\r\n100, 3.0", "3.0, 4.25\r\n\r\n100, 2.00"));
}

const LINES: &str = "rpm = [\n  8000,\n  9000, # knocked here\n  10000, # limiter\n]\nadvance = [\n  20, # idle side\n  19,\n  17 # last\n]\n";

#[test]
fn an_engine_speed_goes_out_with_the_comment_on_its_line() {
    let without = |rpm: f64| arrays(LINES, &dropped(&map(&advance(LINES), ADVANCE), &[rpm]).unwrap());
    assert_eq!(
        without(9000.0),
        "rpm = [\n  8000,\n  10000, # limiter\n]\nadvance = [\n  20, # idle side\n  17 # last\n]\n"
    );
    assert_eq!(
        without(8000.0),
        "rpm = [\n  9000, # knocked here\n  10000, # limiter\n]\nadvance = [\n  19,\n  17 # last\n]\n"
    );
    assert_eq!(
        without(10000.0),
        "rpm = [\n  8000,\n  9000, # knocked here\n]\nadvance = [\n  20, # idle side\n  19\n]\n"
    );
    let flat = "rpm = [8000, 9000, 10000]\nadvance = [ 20, 19, 17 ]\n";
    let without = |rpm: f64| arrays(flat, &dropped(&map(&advance(flat), ADVANCE), &[rpm]).unwrap());
    assert_eq!(without(8000.0), "rpm = [9000, 10000]\nadvance = [ 19, 17 ]\n");
    assert_eq!(without(9000.0), "rpm = [8000, 10000]\nadvance = [ 20, 17 ]\n");
    assert_eq!(without(10000.0), "rpm = [8000, 9000]\nadvance = [ 20, 19 ]\n");
}

#[test]
fn a_comment_on_a_line_of_its_own_outlives_the_value() {
    let before = "rpm = [\n  8000,\n  # the top\n  9000,\n  # and over it\n  10000,\n]\nadvance = [20, # low\n  19, 17]\n";
    let after = arrays(before, &dropped(&map(&advance(before), ADVANCE), &[9000.0]).unwrap());
    assert_eq!(
        after,
        "rpm = [\n  8000,\n  # the top\n  # and over it\n  10000,\n]\nadvance = [20, # low\n  17]\n"
    );
}

#[test]
fn merged_engine_speeds_stand_where_they_stood() {
    let one = merged(&map(&advance(LINES), ADVANCE), &[9000.0, 8000.0], Some(8500.0)).unwrap();
    assert_eq!(
        arrays(LINES, &one),
        "rpm = [\n  8500,\n  10000, # limiter\n]\nadvance = [\n  19.5,\n  17 # last\n]\n"
    );
}

const DEEP: &str = "rpm = [8000, 9000]\nthrottle = [0, 50, 100]\nadvance = [\n  [24.0, 22.0], # shut\n  [22.0, 20.00],\n  [20.0, 17.0], # open\n]\n";

#[test]
fn throttle_openings_come_and_go_as_rows() {
    let fewer = table(&[8000.0, 9000.0], &[0.0, 100.0], &[&[24.0, 22.0], &[20.0, 16.5]]);
    assert_eq!(
        arrays(DEEP, &fewer),
        "rpm = [8000, 9000]\nthrottle = [0, 100]\nadvance = [\n  [24.0, 22.0], # shut\n  [20.0, 16.50], # open\n]\n"
            .replace("16.50", "16.5")
    );
    let others = table(
        &[8000.0, 8500.0, 9000.0],
        &[10.0, 50.0, 90.0],
        &[&[25.0, 24.0, 23.0], &[22.0, 21.0, 20.0], &[21.0, 20.0, 19.0]],
    );
    let text = arrays(DEEP, &others);
    assert!(text.contains("throttle = [10, 50, 90]") && text.contains("[22.0, 21.00, 20.00]"), "{text}");
    let nothing_shared =
        table(&[1000.0, 2000.0, 3000.0], &[20.0, 80.0], &[&[1.0, 2.0, 3.0], &[4.0, 5.0, 6.5]]);
    arrays(DEEP, &nothing_shared);
    arrays(LINES, &table(&[1000.0, 2000.0], &[], &[&[1.0, 2.5]]));
}

#[test]
fn a_map_that_gains_or_loses_its_throttle_is_written_anew() {
    let flat = "# by ear\nrpm = [8000, 9000] # from the box\nadvance = [20, 19] # mine\n";
    let two = table(&[8000.0, 9000.0], &[0.0, 100.0], &[&[24.0, 22.0], &[20.0, 16.5]]);
    assert_eq!(
        arrays(flat, &two),
        "# by ear\nrpm = [8000, 9000] # from the box\nadvance = [\n  [24, 22],\n  [20, 16.5],\n] # mine\nthrottle = [0, 100]\n"
    );
    let one = table(&[8000.0, 9000.0], &[], &[&[20.0, 16.5]]);
    assert_eq!(arrays(DEEP, &one), "rpm = [8000, 9000]\nadvance = [20, 16.5]\n");
    let lone = "rpm = [8000, 9000]\nthrottle = [100]\nadvance = [20, 19]\n";
    arrays(lone, &two);
}

#[test]
fn a_map_file_with_other_breakpoints_keeps_its_style_and_digits() {
    let fuel = map(&fuel_in_file(), FUEL);
    assert_eq!(
        csv(&dropped(&fuel, &[8000.0]).unwrap()),
        "rpm, 4000, 12000\r\n0, 1.00, 3.0\r\n50, 2.0, 4.0\r\n100, 3.0, 5.0\r\n"
    );
    let other = table(&[4000.0, 8500.0], &[0.0, 75.0], &[&[1.0, 2.125], &[2.0, 4.0]]);
    assert_eq!(csv(&other), "rpm, 4000, 8500\r\n0, 1.00, 2.125\r\n75, 2.00, 4.00\r\n");
    assert_eq!(csv(&table(&[4000.0, 8000.0], &[], &[&[1.0, 2.0]])), "rpm, 4000, 8000\r\n, 1.00, 2.00\r\n");
    let mut files = fuel_in_file();
    let text = "\u{feff}\"rpm, at\",4000,8000\n0,1,2\n50,2,3";
    files.maps.insert("maps/fuel.csv".into(), text.into());
    let edited = replaced(&files, FUEL, &dropped_to(&files, &[4000.0, 9000.0]));
    let text = String::from_utf8(edited.maps["maps/fuel.csv"].clone()).unwrap();
    assert_eq!(text, "\u{feff}\"rpm, at\",4000,9000\n0,1,7\n50,2,7");
}

/// The map with another last engine speed and sevens there.
fn dropped_to(files: &SetupFiles, rpm: &[f64]) -> MapTable {
    let mut fuel = map(files, FUEL);
    fuel.rpm = rpm.to_vec();
    fuel.rows.iter_mut().for_each(|row| row[1] = 7.0);
    fuel
}

#[test]
fn a_map_that_is_not_there_yet_is_made() {
    let one = table(&[8000.0, 9000.0], &[], &[&[20.0, 16.5]]);
    let none = advance("# rpm = [3000, 6000] # engine speeds\n# advance = [20, 24]\nlimiter = 9500\n");
    let text = String::from_utf8(replaced(&none, ADVANCE, &one).setup.unwrap()).unwrap();
    assert!(
        text.ends_with("rpm = [8000, 9000] # engine speeds\nadvance = [20, 16.5]\nlimiter = 9500\n"),
        "{text}"
    );
    let two = table(&[8000.0, 9000.0], &[0.0, 100.0], &[&[24.0, 22.0], &[20.0, 16.5]]);
    let made = replaced(&advance(""), ADVANCE, &two);
    assert!(String::from_utf8(made.setup.unwrap()).unwrap().ends_with("advance = \"maps/ignition.csv\"\n"));
    let text = String::from_utf8(made.maps["maps/ignition.csv"].clone()).unwrap();
    assert_eq!(text, "throttle\\rpm,8000,9000\n0,24.0,22.0\n100,20.0,16.5\n");
    let unit_only = with("[injection]\nfuel_map_unit = \"ms\"\n");
    let made = replaced(&unit_only, FUEL, &two);
    assert_eq!(made.maps["maps/fuel.csv"], CSV.as_bytes(), "a file that is there is not written over");
    assert!(made.maps.contains_key("maps/fuel-2.csv"));
    let named = MapTable { file: Some("maps/rain.csv".into()), ..two };
    assert!(replaced(&unit_only, FUEL, &named).maps.contains_key("maps/rain.csv"));
}

#[test]
fn what_cannot_be_written_is_refused() {
    let flat = advance("rpm = [8000, 9000]\nadvance = [20, 19]\n");
    let refused =
        |files: &SetupFiles, field: &str, table: &MapTable| replace_map(files, field, table).unwrap_err();
    let hot = refused(&flat, ADVANCE, &table(&[8000.0, 9000.0], &[], &[&[20.0, 80.0]]));
    assert_eq!(hot.to_string(), "ignition.advance: The cell at 9000 cannot be 80.");
    assert_eq!((hot.help().as_str(), hot.code()), ("Allowed: -20 to 70 deg.", None));
    for odd in [
        table(&[9000.0, 8000.0], &[], &[&[20.0, 18.0]]),
        table(&[9000.0], &[], &[&[20.0]]),
        table(&[8000.0, 9000.0], &[], &[&[20.0]]),
        table(&[8000.0, 9000.0], &[0.0], &[]),
        table(&[8000.0, 9000.0], &[], &[&[f64::NAN, 1.0]]),
    ] {
        assert!(matches!(refused(&flat, ADVANCE, &odd), EditError::BadMap { .. }), "{odd:?}");
    }
    let fine = table(&[8000.0, 9000.0], &[], &[&[20.0, 18.0]]);
    assert!(matches!(refused(&flat, "ignition.limiter", &fine), EditError::NotAMap { .. }));
    assert!(matches!(refused(&flat, "extra.map", &fine), EditError::NotAMap { .. }));
    assert!(matches!(refused(&flat, "ignition.advanc", &fine), EditError::UnknownField { .. }));
    // What cannot be read may be the only copy.
    let broken = advance("rpm = [8000]\nadvance = [20, 19]\n");
    assert!(matches!(refused(&broken, ADVANCE, &fine), EditError::NoMap { .. }));
    assert!(matches!(refused(&with("[ignition\n"), ADVANCE, &fine), EditError::Unreadable(_)));
    assert!(matches!(refused(&with("ignition = 3\n"), ADVANCE, &fine), EditError::NotATable { .. }));
}

fn elsewhere(text: &str) -> Result<MapTable, EditError> {
    parse_map_csv(ADVANCE, Path::new("box.csv"), text)
}

#[test]
fn a_map_from_elsewhere_is_read_with_or_without_throttle() {
    let one = table(&[2000.0, 3000.0], &[], &[&[20.0, 23.5]]);
    for text in [
        "rpm,2000,3000\nadvance,20,23.5\n",
        "\n rpm , 2000,3000\r\n\r\n\"advance, deg\",20,23.5\r\n",
        "rpm,2000,3000\n,20,23.5",
        "\u{feff}rpm,2000,3000\nadvance,20,23.5",
    ] {
        assert!(elsewhere(text).unwrap().same_as(&one), "{text:?}");
    }
    let two = elsewhere("throttle\\rpm,2000,3000\n0,20,23\n100,18,21\n").unwrap();
    assert!(two.same_as(&table(&[2000.0, 3000.0], &[0.0, 100.0], &[&[20.0, 23.0], &[18.0, 21.0]])));
    assert_eq!((two.unit.as_str(), two.file), ("deg", None));
    let wide_open = elsewhere("rpm,2000,3000\n100,20,23\n").unwrap();
    assert_eq!(wide_open.throttle, [100.0]);
}

#[test]
fn a_map_from_elsewhere_is_never_guessed_at() {
    let commas = "Save it with commas between the cells and decimal points in the numbers.";
    let turned = "Engine speeds in rpm go across in the first row, throttle openings of 0 to 100 % down the first column.";
    for (text, line, message, help) in [
        (
            "rpm;2000;3000\nadvance;20;23\n",
            Some(1),
            "Line 1 of the map file has semicolons between its cells.",
            commas,
        ),
        (
            "rpm,2000,3000\n,20,5;23,5\n",
            Some(2),
            "Line 2 of the map file has semicolons between its cells.",
            commas,
        ),
        ("rpm\t2000\t3000\n", Some(1), "Line 1 of the map file has tabs between its cells.", commas),
        (
            "rpm,2000,3000\n\nadvance,\"20,5\",23\n",
            Some(3),
            "Line 3 of the map file has a number with a decimal comma.",
            "Save it with decimal points in the numbers.",
        ),
        (
            "rpm,2000,3000\nadvance,20,5,23,5\n",
            Some(2),
            "Row 1 has 4 cells for 2 engine speeds.",
            "Give every row one cell for each engine speed, and one row for each throttle opening. If its numbers have decimal commas, save it with decimal points.",
        ),
        (
            "rpm\\throttle,0,50,100\n2000,20,19,18\n3000,21,20,19\n",
            Some(2),
            "The first row of the map file has throttle openings where engine speeds belong.",
            turned,
        ),
        (
            "rpm,2000,3000\n0,20,x\n",
            Some(2),
            "Line 2 of the map file has \"x\", which is not a number.",
            "Every cell but the corner is a number with a decimal point.",
        ),
        (
            "rpm,2000,3000\n0,20,80\n",
            Some(2),
            "Line 2 of the map file: The cell at 3000/0 cannot be 80.",
            "Allowed: -20 to 70 deg.",
        ),
        (
            "rpm,2000,3000\n120,20,18\n",
            Some(2),
            "Line 2 of the map file: throttle has 120.",
            "Allowed: 0 to 100.",
        ),
        (
            "rpm,2000,2000\nadvance,20,18\n",
            Some(1),
            "Line 1 of the map file: rpm does not ascend: 2000 is followed by 2000.",
            "Put the breakpoints in ascending order, each once, and the cells with them.",
        ),
    ] {
        let error = elsewhere(text).unwrap_err();
        assert_eq!(error.to_string(), format!("ignition.advance: {message}"), "{text:?}");
        assert_eq!(error.help(), help, "{text:?}");
        let place = error.place();
        assert_eq!((place.line, place.file.as_path()), (line, Path::new("box.csv")), "{text:?}");
        assert!(error.code().is_some());
    }
    assert_eq!(elsewhere("").unwrap_err().code(), Some(Code::RaggedMap));
    assert!(matches!(elsewhere("2000,3000\n20,18\n"), Err(EditError::BadMap { .. })));
    assert!(matches!(parse_map_csv("ignition.base", Path::new("x"), ""), Err(EditError::NotAMap { .. })));
}

/// An axis of breakpoints from a stock, so that two maps share some.
fn axis(stock: &'static [f64], least: usize) -> impl Strategy<Value = Vec<f64>> {
    proptest::sample::subsequence(stock, least..=stock.len())
}

const SPEEDS: &[f64] = &[2000.0, 4000.0, 6000.5, 8000.0, 9000.0, 9500.0, 12000.0];
const OPENINGS: &[f64] = &[0.0, 12.5, 50.0, 75.0, 100.0];

prop_compose! {
    fn any_map()(rpm in axis(SPEEDS, 2), throttle in prop_oneof![Just(Vec::new()), axis(OPENINGS, 1)])
        (cells in vec(vec(-2000..7000i32, rpm.len()), throttle.len().max(1)), rpm in Just(rpm), throttle in Just(throttle),
         parts in proptest::sample::select(vec![100.0, 1000.0, 300.0]))
        -> MapTable {
        let cell = |cell: i32| f64::from(cell) / 100.0 * (100.0 / parts);
        let rows = cells.into_iter().map(|row| row.into_iter().map(cell).collect()).collect();
        MapTable { rpm, throttle, rows, unit: "deg".into(), file: None }
    }
}

/// A map as the ways of writing have it: where it stands, how it is set out, with which comments.
fn written(map: &MapTable, way: usize) -> SetupFiles {
    let list = |values: &[f64], lines: bool| {
        let values: Vec<String> = values.iter().map(f64::to_string).collect();
        if lines {
            let each = values.iter().enumerate().map(|(at, value)| format!("\n    {value}, # no {at}"));
            format!("[{}\n  ]", each.collect::<String>())
        } else {
            format!("[ {} ]", values.join(", "))
        }
    };
    let lines = way.is_multiple_of(2);
    let throttle = match map.throttle.as_slice() {
        [] => String::new(),
        openings => format!("throttle = {} # openings\n", list(openings, lines)),
    };
    let rows: Vec<String> = map.rows.iter().map(|row| list(row, lines)).collect();
    let cells = if map.throttle.is_empty() {
        rows.concat()
    } else {
        format!("[\n  {}, # the last\n]", rows.join(",\n  "))
    };
    if way < 4 {
        let rpm = list(&map.rpm, way < 2);
        return advance(&format!(
            "rpm = {rpm} # speeds\n{throttle}advance = {cells} # cells\n\n[jetting]\nclip = 3\n"
        ));
    }
    let mut files = advance("advance = \"maps/own.csv\" # the box\n");
    let text = map_csv(map);
    let text = if lines { text.replace('\n', "\r\n").replace(',', ", ") } else { text };
    files.maps.insert("maps/own.csv".into(), text.into_bytes());
    files
}

/// Everything that is said behind a `#` outside the map's own arrays.
fn remarks(files: &SetupFiles) -> Vec<String> {
    let text = String::from_utf8(files.setup.clone().unwrap()).unwrap();
    let said = text.lines().filter_map(|line| Some(line.split_once('#')?.1.trim().to_owned()));
    said.filter(|said| ["speeds", "cells", "the box"].contains(&said.as_str())).collect()
}

proptest! {
    #[test]
    fn a_map_that_was_written_is_read_again(before in any_map(), after in any_map(), way in 0..6usize) {
        let files = written(&before, way);
        let edited = replace_map(&files, ADVANCE, &after).unwrap();
        let whole = Combination::read(&edited, false);
        prop_assert!(whole.findings.is_empty(), "{:?}", whole.findings);
        let read = whole.fields.map(ADVANCE).unwrap();
        prop_assert!(read.same_as(&after), "{:?}", read);
        prop_assert_eq!(remarks(&edited), remarks(&files));
        // The same map once more changes nothing, not even a byte.
        prop_assert_eq!(&replace_map(&edited, ADVANCE, &after).unwrap(), &edited);
    }

    #[test]
    fn the_map_itself_gives_the_same_bytes(map in any_map(), way in 0..6usize) {
        let files = written(&map, way);
        prop_assert_eq!(replace_map(&files, ADVANCE, &map).unwrap(), files);
    }

    #[test]
    fn a_map_without_a_place_gets_one(map in any_map()) {
        let edited = replace_map(&advance(""), ADVANCE, &map).unwrap();
        let whole = Combination::read(&edited, false);
        prop_assert!(whole.fields.map(ADVANCE).unwrap().same_as(&map));
    }

    #[test]
    fn csv_goes_out_and_comes_back(map in any_map()) {
        let text = map_csv(&map);
        let read = elsewhere(&text).unwrap();
        prop_assert!(read.same_as(&map), "{text}");
        prop_assert_eq!(map_csv(&read), text);
    }
}
