//! The trim worked into a fuel map: cells and duty reckoned by hand, the laws of the dead time and of
//! rounding, the way through a CSV file, and what is refused. The bikes are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use proptest::collection::vec;
use proptest::prelude::*;
use reedbook::advice::figures::Gap;
use reedbook::advice::maps::trim::{Duty, FuelFactor, MAP, TrimMap, TrimMapError, TrimMapRequest, trim_map};
use reedbook::notebook::{
    AirCompensation, AirEntry, CellPlace, Combination, FuelMapUnit, MapTable, SetupFiles, map_csv,
    parse_map_csv, replace_map,
};
use reedbook::report::jetting::cells::TrimMapAnswer;
use reedbook::report::worded;
use reedbook::report::{Screen, Trouble, Wanted};

/// A bike with a fuel map, as its files say it.
struct Bike {
    files: SetupFiles,
    limiter_rpm: Option<f64>,
    fuel_density: Option<f64>,
}

/// Two rows over 9000 and 10000 rpm, in the unit and with the lines given.
fn bike(unit: &str, lines: &str, cells: &str) -> Bike {
    let text = format!(
        "[injection]\ncompensation = \"none\"\nrpm = [9000, 10000]\nthrottle = [50, 100]\nfuel_map_unit = \"{unit}\"\nfuel = {cells}\n{lines}\n"
    );
    of_files(&text, BTreeMap::new())
}

fn of_files(setup: &str, maps: BTreeMap<String, Vec<u8>>) -> Bike {
    let files = SetupFiles { bike: "jay".into(), setup: Some(setup.into()), maps, ..SetupFiles::default() };
    Bike { files, limiter_rpm: None, fuel_density: None }
}

impl Bike {
    fn read(&self) -> Combination {
        let whole = Combination::read(&self.files, false);
        assert!(whole.findings.is_empty(), "{:?}", whole.findings);
        whole
    }

    fn by(&self, factor: FuelFactor<'_>) -> Result<TrimMap, TrimMapError> {
        let whole = self.read();
        trim_map(&TrimMapRequest {
            injection: whole.setup.as_ref().unwrap().injection.as_ref().unwrap(),
            map: whole.fields.map(MAP),
            limiter_rpm: self.limiter_rpm,
            fuel_density: self.fuel_density,
            factor,
        })
    }

    fn trimmed(&self, factor: f64) -> TrimMap {
        self.by(FuelFactor::Everywhere(factor)).unwrap()
    }

    fn duty(&self, factor: f64) -> Duty {
        self.trimmed(factor).duty.unwrap()
    }

    fn limited(self, rpm: f64) -> Self {
        Self { limiter_rpm: Some(rpm), ..self }
    }
}

/// The report of a map that goes there in one step, the baseline's on the bike.
fn whole<'a>(bike: &'a str, trim: &'a TrimMap) -> TrimMapAnswer<'a> {
    TrimMapAnswer::new(bike, (trim, &trim.before), (&[], 0.04), (None, &AirEntry::default()))
}

fn wren() -> Bike {
    let garage = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-garage");
    let read = |name: &str| fs::read(garage.join(name)).unwrap();
    let maps = ["maps/fuel.csv", "maps/ignition.csv"];
    let maps = maps.map(|name| (name.to_owned(), read(&format!("bikes/wren/{name}"))));
    let files = SetupFiles {
        bike: "wren".into(),
        setup: Some(read("bikes/wren/setup.toml")),
        engine_name: Some("finch".into()),
        engine: Some(read("engines/finch/engine.toml")),
        maps: maps.into(),
    };
    Bike { files, limiter_rpm: None, fuel_density: None }.limited(9600.0)
}

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
}

fn has(said: &[String], words: &str) -> bool {
    said.iter().any(|line| line.contains(words))
}

const MS: &str = "[[1.2, 4.3], [0.9, 0.4]]";

#[test]
fn milliseconds_by_hand() {
    let trim = bike("ms", "dead_time = \"0.9 ms\"", MS).trimmed(0.963);
    // 0.9 + 0.3 x 0.963 = 1.1889; 0.9 + 3.4 x 0.963 = 4.1742; what is not longer than the dead time stays.
    assert_eq!(trim.after.rows, [[1.189, 4.175], [0.9, 0.4]]);
    near(trim.dead_time_ms.unwrap(), 0.9);
    let said = "2 of 4 cells are no longer than the dead time (0.9 ms): they pass nothing and stay, the first at 9000/100.";
    assert!(has(&trim.notes, said), "{:?}", trim.notes);
    // 0.9 + 0.3 x 1.05 = 1.215 exactly: no digit is added to it.
    let richer = bike("ms", "dead_time = \"0.9 ms\"", MS).trimmed(1.05);
    assert_eq!(richer.after.rows[0], [1.215, 4.47]);
}

#[test]
fn milligrams_and_percent_by_hand() {
    // 12.5 x 0.963 = 12.0375, 8 x 0.963 = 7.704.
    let mg = bike("mg", "", "[[12.5, 8], [0, 10]]").trimmed(0.963);
    assert_eq!(mg.after.rows, [[12.04, 7.71], [0.0, 9.63]]);
    // 105 x 0.963 - 100 = 1.115; 90 x 0.963 - 100 = -13.33; nothing stays nothing.
    let percent = bike("percent", "", "[[5, -10], [-100, 0]]").trimmed(0.963);
    assert_eq!(percent.after.rows, [[1.2, -13.3], [-100.0, -3.7]]);
}

#[test]
fn each_throttle_opening_may_have_its_own_factor() {
    let by = |throttle: f64| if throttle < 75.0 { 0.9 } else { 1.1 };
    let trim = bike("mg", "", "[[10, 20], [10, 20]]").by(FuelFactor::ByThrottle(&by)).unwrap();
    assert_eq!(trim.after.rows, [[9.0, 18.0], [11.0, 22.0]]);
    assert_eq!(trim.factors, [0.9, 1.1]);
    let setup = "[injection]\nrpm = [9000, 10000]\nfuel_map_unit = \"mg\"\nfuel = [10, 20]\n";
    let row = of_files(setup, BTreeMap::new()).by(FuelFactor::ByThrottle(&by)).unwrap();
    assert_eq!(row.after.rows, [[11.0, 22.0]]);
    assert!(has(&row.notes, "factor of full throttle"), "{:?}", row.notes);
}

#[test]
fn without_the_dead_time_the_way_of_the_error_is_said() {
    let plain = bike("ms", "", MS);
    let leaner = plain.trimmed(0.963);
    // 1.2 x 0.963 = 1.1556: below the 1.1889 of a dead time of 0.9 ms, by 0.9 x 0.037.
    near(leaner.after.rows[0][0], 1.156);
    assert!(has(&leaner.warnings, "too small, leaner than computed, by 0.037 ms for each"));
    assert!(has(&plain.trimmed(1.02).warnings, "too large, richer than computed, by 0.020 ms"));
    let mixed = |throttle: f64| if throttle < 75.0 { 0.9 } else { 1.1 };
    let mixed = plain.by(FuelFactor::ByThrottle(&mixed)).unwrap();
    assert!(has(&mixed.warnings, "cells that lose fuel come out too small"));
    // With nothing to trim, and where cells are no times, it does not matter.
    assert!(plain.trimmed(1.0).warnings.is_empty());
    assert!(bike("mg", "", MS).trimmed(0.963).warnings.is_empty());
}

#[test]
fn duty_by_hand() {
    let six = bike("ms", "dead_time = \"1 ms\"", "[[3, 3], [6, 6]]").limited(9500.0);
    let duty = six.duty(1.0);
    // 6 ms x 9500 / 60 000 = 0.95; the longest pulse is that of full throttle.
    near(duty.before.share, 0.95);
    near(duty.after.share, 0.95);
    assert_eq!((duty.before.rpm, duty.before.throttle), (9500.0, Some(100.0)));
    assert!(has(&six.trimmed(1.0).warnings, "common practice, no source"));
    // 1 + 5 x 0.8 = 5 ms: 0.7917, below both warnings.
    near(six.duty(0.8).after.share, 5.0 * 9500.0 / 60_000.0);
    assert!(six.trimmed(0.8).warnings.is_empty());
    // 1 + 5 x 1.1 = 6.5 ms: 1.0292.
    let over = six.trimmed(1.1);
    near(over.duty.as_ref().unwrap().after.share, 6.5 * 9500.0 / 60_000.0);
    assert!(has(&over.warnings, "cannot close between two pulses, and the fuel falls short: lean"));
    assert!(!has(&over.warnings, "common practice"));
}

#[test]
fn duty_is_read_between_breakpoints_and_held_at_the_ends() {
    let cells = "[[1, 1], [5, 4]]";
    let at = |rpm: f64| bike("ms", "dead_time = \"1 ms\"", cells).limited(rpm).duty(1.0);
    near(at(9500.0).before.pulse_ms, 4.5);
    near(at(9500.0).before.share, 4.5 * 9500.0 / 60_000.0);
    near(at(12_000.0).before.pulse_ms, 4.0);
    near(at(6000.0).before.pulse_ms, 5.0);
    // The pulse shortens faster than the speed rises: 5 ms at 9000 rpm is the most.
    near(at(12_000.0).most_before.share, 0.8);
    near(at(9500.0).most_before.share, 5.0 * 9000.0 / 60_000.0);
    let unlimited = bike("ms", "dead_time = \"1 ms\"", cells).trimmed(1.0);
    let duty = unlimited.duty.as_ref().unwrap();
    assert!(!duty.at_limiter);
    near(duty.before.rpm, 10_000.0);
    assert!(has(&unlimited.notes, "ignition.limiter is not written down"), "{:?}", unlimited.notes);
}

#[test]
fn the_most_duty_may_lie_between_breakpoints() {
    let setup =
        "[injection]\ndead_time = \"0 ms\"\nrpm = [4000, 8000]\nfuel_map_unit = \"ms\"\nfuel = [6, 2]\n";
    // 10 ms - N / 1000 times N has its top at 5000 rpm: 5 ms x 5000 / 60 000.
    let duty = of_files(setup, BTreeMap::new()).limited(8000.0).duty(1.0);
    near(duty.most_before.rpm, 5000.0);
    near(duty.most_before.share, 25.0 / 60.0);
    near(duty.before.share, 16.0 / 60.0);
    // Not beyond the limiter.
    near(of_files(setup, BTreeMap::new()).limited(4500.0).duty(1.0).most_before.rpm, 4500.0);
}

#[test]
fn duty_of_milligrams_needs_the_injector_and_the_fuel() {
    let lines = "dead_time = \"0.9 ms\"\ninjectors = 2\nflow = \"240 cc/min\"";
    let cells = "[[10, 10], [24, 24]]";
    let by_volume = Bike { fuel_density: Some(750.0), ..bike("mg", lines, cells).limited(9600.0) };
    // 240 cc/min of 750 kg/m3 are 3 g/s: 12 mg each in 4 ms, and 0.9 ms before; 4.9 ms x 160 a second.
    near(by_volume.duty(1.0).before.pulse_ms, 4.9);
    near(by_volume.duty(1.0).before.share, 0.784);
    near(by_volume.duty(1.5).after.pulse_ms, 6.9);
    let by_mass = bike("mg", &lines.replace("240 cc/min", "180 g/min"), cells).limited(9600.0);
    near(by_mass.duty(1.0).before.pulse_ms, 4.9);
    let gap = |bike: Bike| bike.trimmed(1.0).duty.unwrap_err();
    assert_eq!(gap(bike("mg", lines, cells)), Gap::Needs(vec!["fuel.density".into()]));
    let all = ["fuel.density", "injection.dead_time", "injection.flow", "injection.injectors"];
    assert_eq!(gap(bike("mg", "", cells)), Gap::Needs(all.map(str::to_owned).into()));
    assert!(
        matches!(gap(bike("percent", lines, cells)), Gap::Without(why) if why.contains("needs that map"))
    );
}

#[test]
fn the_trim_over_the_whole_map_is_in_the_duty_and_stays() {
    let trim = bike("ms", "dead_time = \"1 ms\"\ntrim = \"10 %\"", "[[3, 3], [5, 5]]").limited(9000.0);
    // 1 + 4 x 1.1 = 5.4 ms x 150 a second.
    near(trim.duty(1.0).before.share, 0.81);
    assert!(has(&trim.trimmed(1.0).notes, "The cells are for injection.trim at 10 %, as it was"));
    assert_eq!(trim.trimmed(1.0).after.rows, [[3.0, 3.0], [5.0, 5.0]]);
}

#[test]
fn what_the_box_does_by_itself_is_said() {
    let said = |by_itself: &str| {
        let plain = bike("mg", "", "[[1, 1], [1, 1]]").files.setup.unwrap();
        let text = String::from_utf8(plain).unwrap().replace("\"none\"", by_itself);
        of_files(&text, BTreeMap::new()).trimmed(0.963)
    };
    let both = said("\"both\"");
    assert!(has(
        &both.notes,
        "In the cells: humidity of the air, and the fuel. Temperature and pressure are left"
    ));
    assert!(has(&said("\"temperature\"").notes, "In the cells: pressure and humidity"));
    assert!(has(&said("\"none\"").notes, "The box corrects nothing by itself."));
    assert!(!has(&said("\"none\"").warnings, "injection.compensation"));
    let setup = "[injection]\nrpm = [9000, 10000]\nfuel_map_unit = \"mg\"\nfuel = [10, 20]\n";
    assert!(has(&of_files(setup, BTreeMap::new()).trimmed(0.963).warnings, "injection.compensation is not"));
}

#[test]
fn less_fuel_carries_its_caution() {
    let leaner = "When you go leaner";
    let bike = bike("mg", "", "[[10, 20], [10, 20]]");
    assert!(has(&bike.trimmed(0.99).cautions, leaner));
    assert!(!has(&bike.trimmed(1.01).cautions, leaner));
    assert!(has(&bike.trimmed(1.01).cautions, "seize"));
    let part = |throttle: f64| if throttle < 75.0 { 0.99 } else { 1.01 };
    assert!(has(&bike.by(FuelFactor::ByThrottle(&part)).unwrap().cautions, leaner));
}

fn says(error: &TrimMapError, message: &str, field: Option<&str>) {
    assert!(error.to_string().contains(message), "{error}");
    assert_eq!(error.field(), field);
    assert!(worded(&error.help()).ends_with('.'), "{:?}", error.help());
    assert!(Trouble::from(error.clone()).words(&Screen::new(Wanted::default())).contains("what to do: "));
}

#[test]
fn what_cannot_be_trimmed_is_refused() {
    let good = bike("ms", "dead_time = \"0.9 ms\"", MS);
    for factor in [0.0, -1.0, 0.09, 10.1, f64::NAN, f64::INFINITY] {
        let error = good.by(FuelFactor::Everywhere(factor)).unwrap_err();
        says(&error, "The factor is", None);
    }
    let odd = |throttle: f64| if throttle < 75.0 { 1.0 } else { 12.0 };
    let error = good.by(FuelFactor::ByThrottle(&odd)).unwrap_err();
    says(&error, "At 100 % throttle: The factor is 12", None);
    let error = bike("ms", "", "[[1, 2], [-0.1, 2]]").by(FuelFactor::Everywhere(1.0)).unwrap_err();
    says(&error, "The cell at 9000/100 is -0.1: less than no fuel.", Some(MAP));
    // 100 + 150 times 1.3 less 100 is 225; no map holds more than 200.
    let error = bike("percent", "", "[[1, 2], [3, 150]]").by(FuelFactor::Everywhere(1.3)).unwrap_err();
    says(&error, "The cell at 10000/100 cannot be 225.", Some(MAP));
}

#[test]
fn a_map_that_is_none_is_refused() {
    let whole = bike("ms", "dead_time = \"0.9 ms\"", MS).read();
    let injection = whole.setup.as_ref().unwrap().injection.as_ref().unwrap();
    let map = whole.fields.map(MAP).unwrap();
    let with = |map: Option<&MapTable>| {
        let factor = FuelFactor::Everywhere(0.963);
        trim_map(&TrimMapRequest { injection, map, limiter_rpm: None, fuel_density: None, factor })
            .unwrap_err()
    };
    says(&with(None), "There is no fuel map to trim", Some(MAP));
    let mut ragged = map.clone();
    ragged.rows[1].pop();
    says(&with(Some(&ragged)), "Row 2 has 1 cells for 2 engine speeds", Some(MAP));
    let backwards = MapTable { rpm: vec![10_000.0, 9000.0], ..map.clone() };
    says(&with(Some(&backwards)), "does not ascend", Some(MAP));
    let mut unitless = injection.clone();
    unitless.fuel_map_unit = None;
    let request = TrimMapRequest {
        injection: &unitless,
        map: Some(map),
        limiter_rpm: None,
        fuel_density: None,
        factor: FuelFactor::Everywhere(0.963),
    };
    says(&trim_map(&request).unwrap_err(), "injection.fuel_map_unit", Some("injection.fuel_map_unit"));
}

#[test]
fn a_map_in_a_file_is_trimmed_and_loaded_again() {
    let wren = wren();
    let trim = wren.trimmed(0.963);
    assert_eq!(trim.before.file.as_deref(), Some("maps/fuel.csv"));
    // Full throttle at 9500 rpm: 0.9 + 3.4 x 0.963 = 4.1742; 4.3 and 4.175 ms x 160 a second at the limiter.
    near(trim.after.rows[6][10], 4.175);
    let duty = trim.duty.as_ref().unwrap();
    near(duty.before.share, 0.688);
    near(duty.after.share, 0.668);
    // 5.1 ms x 8500 / 60 000 is more.
    near(duty.most_before.share, 0.7225);
    assert_eq!((duty.most_before.rpm, duty.most_before.throttle), (8500.0, Some(100.0)));
    let csv = whole("wren", &trim).csv();
    let read = parse_map_csv(MAP, Path::new("trimmed.csv"), &csv).unwrap();
    let changed = replace_map(&wren.files, MAP, &read).unwrap();
    let whole = Combination::read(&changed, false);
    assert_eq!(whole.fields.map(MAP).unwrap().rows, trim.after.rows);
    assert!(csv.starts_with("throttle\\rpm,2000,3000,"), "{csv}");
}

#[test]
fn the_report_answers_in_its_first_line() {
    let trim = wren().trimmed(0.963);
    let screen = Screen::new(Wanted::default());
    let report = whole("wren", &trim);
    let text = report.text(&screen);
    let first = "wren: every cell × 0.963 of its open time; duty at 9,600 rpm 69 % → 67 %";
    assert!(text.lines().next().unwrap().contains(first), "{text}");
    assert!(text.contains("most duty up to there 72 % → 70 %, at 8,500 rpm, 100 % throttle"), "{text}");
    // 1.189 / 1.2 and 1.436 / 1.45 are the least and the most of the closed throttle's row.
    assert!(text.contains("0 %  -3.7 %  -1.5 to -0.9 %"), "{text}");
    assert!(text.contains("4.175") && text.contains("CAUTION  When you go leaner"), "{text}");
    let widest = text.lines().map(|line| line.chars().count()).max().unwrap();
    assert!(widest <= screen.width() + if screen.coloured() { 10 } else { 0 }, "{widest}: {text}");
    let json = serde_json::to_value(&report).unwrap();
    assert_eq!(json["after"][6][10], 4.175);
    assert_eq!(json["duty"]["before"]["percent"], 68.8);
    assert_eq!(json["duty"]["most_after"]["rpm"], 8500.0);
    assert_eq!((&json["unit"], &json["field"]), (&"ms".into(), &"injection.fuel".into()));
    let still = wren().trimmed(1.0);
    let text = whole("wren", &still).text(&screen);
    assert!(text.contains("wren: every cell stays; duty at 9,600 rpm 69 % → 69 %"), "{text}");
}

#[test]
fn what_the_duty_lacks_is_in_the_report() {
    let trim = bike("percent", "", "[[5, -10], [-100, 0]]").trimmed(0.963);
    let report = whole("jay", &trim);
    let text = report.text(&Screen::new(Wanted::default()));
    assert!(text.contains("duty not known: the cells are percent of a map in the box"), "{text}");
    assert!(text.contains("-3.8 to -3.3 %"), "{text}");
    assert!(serde_json::to_value(&report).unwrap()["duty"].is_null());
}

/// A map with a unit of its own, and an injection for it.
fn any_map() -> impl Strategy<Value = (FuelMapUnit, MapTable)> {
    let shape = (2_usize..6, 1_usize..4);
    let unit = prop_oneof![Just(FuelMapUnit::Ms), Just(FuelMapUnit::Mg), Just(FuelMapUnit::Percent)];
    (shape, unit).prop_flat_map(|((columns, rows), unit)| {
        let low = if unit == FuelMapUnit::Percent { -100_000 } else { 0 };
        // To five decimals, finer than the digits that are set.
        let cell = (low * 10..2_000_000).prop_map(|cell| f64::from(cell) / 1e5);
        vec(vec(cell, columns), rows).prop_map(move |cells| {
            let axis = |count: usize, step: f64| {
                (1..=count).map(|at| f64::from(u32::try_from(at).unwrap()) * step).collect()
            };
            let map = MapTable {
                rpm: axis(columns, 1500.0),
                throttle: axis(rows, 20.0),
                rows: cells,
                unit: String::new(),
                file: None,
            };
            (unit, map)
        })
    })
}

const DEAD_TIME_MS: f64 = 0.9;

fn trimmed_by(unit: FuelMapUnit, map: &MapTable, factor: f64) -> MapTable {
    let whole = bike("ms", "dead_time = \"0.9 ms\"", MS).read();
    let mut injection = whole.setup.unwrap().injection.unwrap();
    injection.fuel_map_unit = Some(unit);
    injection.compensation = Some(AirCompensation::None);
    let factor = FuelFactor::Everywhere(factor);
    let request = TrimMapRequest {
        injection: &injection,
        map: Some(map),
        limiter_rpm: None,
        fuel_density: None,
        factor,
    };
    trim_map(&request).unwrap().after
}

/// The fuel that a cell stands for, in what it is counted in: what the factor must multiply.
fn fuel(unit: FuelMapUnit, cell: f64) -> f64 {
    match unit {
        FuelMapUnit::Ms => (cell - DEAD_TIME_MS).max(0.0),
        FuelMapUnit::Mg => cell,
        FuelMapUnit::Percent => 100.0 + cell,
    }
}

fn digit(unit: FuelMapUnit) -> f64 {
    match unit {
        FuelMapUnit::Ms => 0.001,
        FuelMapUnit::Mg => 0.01,
        FuelMapUnit::Percent => 0.1,
    }
}

fn pairs<'a>(before: &'a MapTable, after: &'a MapTable) -> impl Iterator<Item = (CellPlace, f64, f64)> + 'a {
    before.cells().zip(after.cells()).map(|((place, before), (_, after))| (place, before, after))
}

proptest! {
    #[test]
    fn a_factor_of_one_changes_no_byte((unit, map) in any_map()) {
        let after = trimmed_by(unit, &map, 1.0);
        prop_assert_eq!(&after, &map);
        prop_assert_eq!(map_csv(&after), map_csv(&map));
    }

    #[test]
    fn never_leaner_than_computed_and_never_a_digit_richer((unit, map) in any_map(), factor in 0.5_f64..1.5) {
        for (place, before, after) in pairs(&map, &trimmed_by(unit, &map, factor)) {
            let over = fuel(unit, after) - fuel(unit, before) * factor;
            prop_assert!(over > -2e-6 * digit(unit), "{place}: {before} x {factor} is {after}");
            prop_assert!(over < digit(unit) * (1.0 + 1e-6), "{place}: {before} x {factor} is {after}");
        }
    }

    #[test]
    fn two_steps_are_one_but_for_rounding(
        (unit, map) in any_map(),
        first in 0.7_f64..1.3,
        second in 0.7_f64..1.3,
    ) {
        let two = trimmed_by(unit, &trimmed_by(unit, &map, first), second);
        for (place, one, two) in pairs(&trimmed_by(unit, &map, first * second), &two) {
            // What the first step rounded up goes through the second.
            let most = digit(unit) * (1.0 + second) + 1e-9;
            prop_assert!((one - two).abs() <= most, "{place}: {one} at once, {two} in two steps");
        }
    }

    #[test]
    fn what_is_written_is_what_is_read((unit, map) in any_map(), factor in 0.5_f64..1.5) {
        let after = trimmed_by(unit, &map, factor);
        let read = parse_map_csv(MAP, Path::new("trimmed.csv"), &map_csv(&after)).unwrap();
        prop_assert_eq!(read, after);
    }
}
