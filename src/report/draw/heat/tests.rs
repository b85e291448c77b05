//! Tables as they are seen.

use super::*;

fn map(rpm: &[f64], throttle: &[f64], rows: &[&[f64]]) -> MapTable {
    MapTable {
        rpm: rpm.to_vec(),
        throttle: throttle.to_vec(),
        rows: rows.iter().map(|row| row.to_vec()).collect(),
        unit: "degrees".into(),
        file: None,
    }
}

const RPM: [f64; 3] = [4000.0, 8000.0, 12_000.0];
const THROTTLE: [f64; 2] = [25.0, 100.0];

fn old() -> MapTable {
    map(&RPM, &THROTTLE, &[&[18.0, 20.0, 12.0], &[18.0, 20.0, 12.0]])
}

fn new() -> MapTable {
    map(&RPM, &THROTTLE, &[&[18.0, 20.5, 13.5], &[18.02, 21.0, 9.0]])
}

/// A table begins on a line of its own in a test.
fn seen(text: &str) -> &str {
    text.strip_prefix('\n').unwrap_or(text)
}

#[test]
fn what_changed_most_has_most_marks() {
    assert_eq!(
        difference_table(&old(), &new(), 1, 80, false),
        seen(
            "
  rpm  4,000    8,000   12,000
 25 %      .     +0.5     +1.5+
100 %    0.0     +1.0     -3.0--

One mark behind a figure: more than 1.0; two: more than 2.0 degrees.
0.0: changed by less than can be shown."
        )
    );
}

#[test]
fn a_figure_on_a_bound_is_not_beyond_it() {
    let changed = map(&RPM, &[], &[&[19.0, 22.0, 15.0]]);
    let table = difference_table(&map(&RPM, &[], &[&[18.0, 20.0, 12.0]]), &changed, 1, 80, false);
    // 1.0 and 2.0 of 3.0 are the bounds themselves.
    assert_eq!(table.lines().nth(1), Some("      +1.0     +2.0+    +3.0++"));
    assert!(table.ends_with("more than 1.0; two: more than 2.0 degrees."), "{table}");
}

#[test]
fn a_wide_table_goes_into_blocks() {
    let table = difference_table(&old(), &new(), 1, 20, false);
    let expected = seen(
        "
1000 rpm    4     8
    25 %    .  +0.5
   100 %  0.0  +1.0

1000 rpm    12
    25 %  +1.5+
   100 %  -3.0--",
    );
    assert_eq!(table.split("\n\nOne mark").next(), Some(expected));
}

#[test]
fn maps_with_other_breakpoints_are_compared_at_all_of_them() {
    let other = map(&[4000.0, 10_000.0, 12_000.0], &THROTTLE, &[&[18.0, 16.0, 12.0], &[18.0, 16.0, 12.0]]);
    // New at 8,000 rpm: 18 + (16 - 18) x 4,000 / 6,000 = 16.67, 3.33 less than 20; old at 10,000: 16 as well.
    assert_eq!(
        difference_table(&old(), &other, 1, 80, false),
        seen(
            "
  rpm   4,000   8,000  10,000  12,000
 25 %       .    -3.3       .       .
100 %       .    -3.3       .       .

The breakpoints differ: both maps are read at those of both, on a straight line
between their own."
        )
    );
}

#[test]
fn a_map_over_engine_speed_alone_has_no_labels_and_meets_one_with_throttle() {
    let alone = map(&RPM, &[], &[&[18.0, 20.0, 12.0]]);
    let changed = map(&RPM, &[], &[&[18.0, 21.0, 12.0]]);
    assert_eq!(
        difference_table(&alone, &changed, 1, 80, false),
        "rpm   4,000   8,000  12,000\n          .    +1.0       ."
    );
    assert!(difference_table(&alone, &new(), 1, 80, false).contains("100 %    0.0     +1.0     -3.0--"));
}

#[test]
fn equal_maps_and_other_units_are_said() {
    assert_eq!(difference_table(&old(), &old(), 1, 80, false), "No cell differs.");
    let mut percent = new();
    percent.unit = "%".into();
    assert_eq!(
        difference_table(&old(), &percent, 1, 80, false),
        "The cells were degrees and are % now: not compared."
    );
}

#[test]
fn what_is_missing_is_not_taken_for_no_change() {
    let mut missing = old();
    missing.rows[1].truncate(2);
    let table = difference_table(&old(), &missing, 1, 80, false);
    assert!(
        table.starts_with(
            "  rpm   4,000   8,000  12,000\n 25 %       .       .       .\n100 %       .       .       ?"
        ),
        "{table}"
    );
    assert!(table.ends_with("?: not known in one of the maps."), "{table}");
    let empty = map(&[], &[], &[]);
    assert!(difference_table(&empty, &old(), 1, 80, false).contains('?'));
    assert_eq!(difference_table(&empty, &empty, 1, 80, false), "No cell differs.");
}

#[test]
fn colour_adds_nothing_but_colour() {
    let plain = difference_table(&old(), &new(), 1, 80, false);
    let coloured = difference_table(&old(), &new(), 1, 80, true);
    assert!(!plain.contains('\u{1b}'));
    let mut bare = String::new();
    let mut escape = false;
    for letter in coloured.chars() {
        escape |= letter == '\u{1b}';
        if !escape {
            bare.push(letter);
        }
        escape &= letter != 'm';
    }
    assert_eq!(bare, plain);
    assert_eq!(tinted("+1", true, Strength::Little, true), "\u{1b}[33m+1\u{1b}[0m");
    assert_eq!(tinted("-1", false, Strength::Most, true), "-1");
    assert_ne!(tinted("+1", true, Strength::Middling, true), tinted("+1", true, Strength::Most, true));
}

#[test]
fn a_map_is_printed_with_the_decimals_it_needs() {
    assert_eq!(
        map_table(&new(), 80),
        seen(
            "
  rpm   4,000   8,000  12,000
 25 %   18.00   20.50   13.50
100 %   18.02   21.00    9.00"
        )
    );
    let whole = map(&RPM, &[], &[&[18.0, 20.0, 12.0]]);
    assert_eq!(map_table(&whole, 80), "rpm   4,000   8,000  12,000\n         18      20      12");
}

#[test]
fn every_column_is_printed_once_and_no_line_is_too_wide() {
    let rpm: Vec<f64> = (1..=17_u16).map(|step| f64::from(step) * 1000.0).collect();
    let cells: Vec<f64> = rpm.iter().map(|rpm| rpm / 1e4).collect();
    let wide = map(&rpm, &[50.0], &[&cells]);
    for width in 40..=100 {
        let table = map_table(&wide, width);
        assert!(table.lines().all(|line| line.len() <= width && line.trim_end() == line), "{table}");
        let heads = table.lines().filter_map(|line| line.strip_prefix("1000 rpm"));
        let heads: Vec<&str> = heads.flat_map(str::split_whitespace).collect();
        let all: Vec<String> = (1..=17).map(|step| step.to_string()).collect();
        assert_eq!(heads, all, "{table}");
    }
}

#[test]
fn an_earlier_spark_and_less_fuel_have_the_ink_and_the_other_side_has_none() {
    let coloured = |unit: &str, now: f64| {
        let mut maps = [map(&RPM, &[], &[&[18.0, 20.0, 12.0]]), map(&RPM, &[], &[&[18.0, now, 12.0]])];
        for map in &mut maps {
            map.unit = unit.into();
        }
        difference_table(&maps[0], &maps[1], 1, 80, true).contains('\u{1b}')
    };
    assert!(coloured("deg", 21.0) && !coloured("deg", 19.0), "an earlier spark");
    assert!(coloured("ms", 19.0) && !coloured("ms", 21.0), "less fuel");
}

#[test]
fn a_map_of_eleven_and_of_fourteen_speeds_stands_in_one_block() {
    let whole: Vec<f64> = (2..13).map(|rpm| f64::from(rpm) * 1000.0).collect();
    let row = vec![13.25; 11];
    let table = map_table(&map(&whole, &THROTTLE, &[&row, &row]), 80);
    assert!(!table.contains("\n\n") && table.starts_with("1000 rpm"), "{table}");
    let half: Vec<f64> = (0..14).map(|at| 6000.0 + 500.0 * f64::from(at)).collect();
    let table = map_table(&map(&half, &[], &[&[16.5; 14]]), 80);
    assert!(!table.contains("\n\n") && table.lines().all(|line| line.len() <= 80), "{table}");
}
