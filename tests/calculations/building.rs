//! What the readings of a build come to: figures worked by hand, laws that hold between ways of measuring, verdicts by the
//! limits, the ring as a second bore gauge, and what is asked at the bench.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

mod asked;
mod beside;
mod by_hand;
mod gaps;
mod hand;
mod same;
mod setup;
mod twins;
mod verdicts;

use std::path::Path;

use jiff::tz::Offset;
use reedbook::advice::building::{Judgement, NamedFigure, judge};
use reedbook::notebook::{Build, Checked, DocumentKind, FieldSet, Limits, ReadOptions, of_build, read};
use serde::de::DeserializeOwned;

/// A micrometre, m.
const UM: f64 = 1e-6;

/// The limits that come with the program.
const SHIPPED: &str = include_str!("../../configs/limits.toml");

fn document<T: DeserializeOwned>(kind: DocumentKind, text: &str) -> Checked<T> {
    let options = ReadOptions { refuse_bare_lengths: false, map_file: &|_| None, here: Offset::UTC };
    let checked = read(kind, Path::new("page.toml"), text.as_bytes(), options);
    assert!(checked.findings.is_empty(), "{:?}\n{text}", checked.findings);
    checked
}

/// A build as the program reads it, dated; nothing may be wrong with it.
#[track_caller]
fn build(text: &str) -> Build {
    let dated = format!("date = \"2026-03-01T18:00+01:00\"\n{text}");
    let checked = document::<Build>(DocumentKind::Build, &dated);
    let build = checked.document.unwrap();
    assert_eq!(of_build(Path::new("page.toml"), &checked.fields, &build), Vec::new(), "{text}");
    build
}

fn fields(text: &str) -> FieldSet {
    document::<Build>(DocumentKind::Build, &format!("date = \"2026-03-01T18:00+01:00\"\n{text}")).fields
}

fn limits(text: &str) -> Limits {
    document(DocumentKind::Limits, text).document.unwrap()
}

/// A build judged without any limits.
#[track_caller]
fn judged(text: &str) -> Judgement {
    judge(&build(text), "cicada", &Limits::default(), None).unwrap()
}

/// A build judged by limits.
#[track_caller]
fn judged_by(text: &str, edges: &str, bore_m: Option<f64>) -> Judgement {
    judge(&build(text), "cicada", &limits(edges), bore_m).unwrap()
}

#[track_caller]
fn figure<'j>(judgement: &'j Judgement, name: &str) -> &'j NamedFigure {
    judgement.figure(name).unwrap_or_else(|| panic!("no {name} in {:?}", names(judgement)))
}

/// The figures that were found, in their order.
fn names(judgement: &Judgement) -> Vec<String> {
    let name = |figure: &NamedFigure| match &figure.seat {
        Some(seat) => format!("{} {seat}", figure.kind.name),
        None => figure.kind.name.to_owned(),
    };
    judgement.figures.iter().map(name).collect()
}

/// What one source adds to a figure's doubt, without its sign.
fn part(figure: &NamedFigure, source: &str) -> f64 {
    figure.value.parts().find(|part| part.0 == source).map_or(0.0, |part| part.1.abs())
}

/// Value and standard uncertainty, both in units of `unit`, each within `within`.
#[track_caller]
fn assert_figure(judgement: &Judgement, name: &str, unit: f64, (value, doubt): (f64, f64), within: f64) {
    let found = figure(judgement, name);
    let (is, off) = (found.value.value() / unit, found.value.uncertainty() / unit);
    assert!((is - value).abs() <= within, "{name} is {is} and should be {value}");
    assert!((off - doubt).abs() <= within, "{name} is off by {off} and should be by {doubt}");
}

/// The gauges of the examples.
const GAUGES: &str = r#"
[gauges.bore]
resolution = "0.002 mm"
uncertainty = "0.0015 mm"
[gauges.outside]
resolution = "0.001 mm"
uncertainty = "0.002 mm"
[gauges.inside]
resolution = "0.002 mm"
uncertainty = "0.003 mm"
[gauges.feeler]
resolution = "0.01 mm"
uncertainty = "0.01 mm"
[gauges.indicator]
resolution = "0.002 mm"
uncertainty = "0.003 mm"
[gauges.solder]
resolution = "0.01 mm"
uncertainty = "0.03 mm"
[gauges.burette]
resolution = "0.05 cc"
uncertainty = "0.05 cc"
[gauges.balance]
resolution = "1 g"
uncertainty = "2 g"
"#;
