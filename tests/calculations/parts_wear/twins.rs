//! The wear of an engine with two cylinders.

use reedbook::advice::parts::wear::{WearLimits, WearQuestion, Whose, top_ends};
use reedbook::notebook::{Limits, When};
use reedbook::store::PartRecord;

use super::garage::{Case, NEW, day, fitted};

/// Of two cylinders each wears by the hours of its own; what is of all of them is of each.
#[test]
fn a_cylinder_wears_by_its_own_part() {
    let at = |name: &str, cylinder: &str, past: &str| {
        let known = fitted(name, "cylinder", past);
        let mut part = known.part.clone();
        part.events.get_mut("a").unwrap().cylinder = Some(cylinder.to_owned());
        PartRecord { part, ..known }
    };
    let parts = [at("l", "left", "past_hours = \"30 h\""), at("r", "right", NEW)];
    let case = Case::new("least_bore", &[(1.0, 54.0), (2.0, 54.01), (3.0, 54.02)]);
    let builds: Vec<When> = case.readings.iter().map(|reading| reading.date).collect();
    let asked = |cylinder| WearQuestion {
        engine: "e",
        cylinder,
        figure: case.figure,
        readings: &case.readings,
        parts: &parts,
        runs: &case.runs,
        builds: &builds,
        limits: WearLimits::default(),
        level: 0.9,
        now: day(400),
    };
    let whose = |cylinder| asked(cylinder).answer().unwrap().unwrap().axis;
    assert_eq!(whose(Some("left")).whose, Whose::Part("l".to_owned()));
    assert_eq!(whose(Some("right")).whose, Whose::Part("r".to_owned()));
    assert!((whose(Some("left")).now_h - 36.0).abs() < 1e-9);
    assert!((whose(Some("right")).now_h - 6.0).abs() < 1e-9);
    assert_eq!(whose(None).whose, Whose::Engine, "which of the two is not said");
    let limits: Limits = toml::from_str("[parts.piston]\nchange_after = \"10 h\"\n").unwrap();
    let mut piston = fitted("p", "piston", NEW);
    piston.part.events.get_mut("a").unwrap().cylinder = Some("right".to_owned());
    let next = |cylinder| {
        top_ends(&limits, ("e", Some(cylinder)), (&[piston.clone()], &case.runs), day(9), 1.0)
            .unwrap()
            .next_in_h
    };
    assert!((next("right") - 4.0).abs() < 1e-9 && (next("left") - 10.0).abs() < 1e-9);
}
