//! What is refused, and that nothing typed can make it fall over.

use proptest::prelude::*;
use reedbook::advice::{RejetError, rejet};
use reedbook::air::Air;
use reedbook::notebook::{JetBox, JetSeries, NumberedBy};
use reedbook::report::worded;

use crate::bikes::{CARBURETORS, NEEDLE_BIKE, SIMPLE_BIKE, Tables, mild, number, says, setup, with, without};

fn refused(text: &str) -> RejetError {
    let setup = setup(text);
    rejet(&Tables::as_shipped().request(&setup, mild(), mild())).unwrap_err()
}

#[test]
fn what_would_be_a_guess_is_refused_by_name() {
    for (text, field) in [
        ("notes = \"nothing yet\"".to_owned(), "jetting"),
        ("[jetting]\n[injection]".to_owned(), "injection"),
        ("[injection]".to_owned(), "injection.compensation"),
        (without(SIMPLE_BIKE, "main_numbered_by"), "jetting.main_numbered_by"),
        (without(SIMPLE_BIKE, "pilot_numbered_by"), "jetting.pilot_numbered_by"),
        (with(SIMPLE_BIKE, "power_jet = 50"), "jetting.power_jet_numbered_by"),
        (with(SIMPLE_BIKE, "main_series = \"main-flow\""), "jetting.main_series"),
        (with(SIMPLE_BIKE, "pilot_series = \"pilot-flow\""), "jetting.pilot_series"),
        (with(SIMPLE_BIKE, "main = 0"), "jetting.main"),
        (with(SIMPLE_BIKE, "pilot = -3"), "jetting.pilot"),
    ] {
        let error = refused(&text);
        assert_eq!(error.field(), Some(field), "{error}");
        let help = worded(&error.help());
        assert!(error.to_string().ends_with('.') && help.ends_with('.'), "{error} {help}");
    }
    let error = refused(&with(SIMPLE_BIKE, "main_series = \"main-flow\""));
    assert!(matches!(error, RejetError::NumberingContradicts { .. }));
    assert!(worded(&error.help()).contains("doubles or halves"));
}

#[test]
fn a_lambda_that_cannot_be_is_refused_and_a_leaner_one_is_said() {
    let (setup, tables) = (setup(NEEDLE_BIKE), Tables::as_shipped());
    let mut request = tables.request(&setup, mild(), mild());
    for ratio in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        request.lambda_ratio = ratio;
        assert!(matches!(rejet(&request).unwrap_err(), RejetError::Calculation { .. }), "{ratio}");
    }
    request.lambda_ratio = 1.03;
    assert!(says(&rejet(&request).unwrap().warnings, &["leaner mixture"]));
    request.lambda_ratio = 0.97;
    assert!(!says(&rejet(&request).unwrap().warnings, &["leaner mixture"]));
}

#[test]
fn a_size_that_cannot_be_names_its_series() {
    let mut tables = Tables::as_shipped();
    tables.jets.series.get_mut("main-bore").unwrap().sizes.push(f64::NAN);
    let setup = setup(NEEDLE_BIKE);
    let error = rejet(&tables.request(&setup, mild(), mild())).unwrap_err();
    assert_eq!(error.field(), Some("configs/jets.toml, series main-bore"));
}

/// Any number a file can hold.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(0.0),
        Just(-1.0),
        Just(1e300),
        Just(1e-300),
        0.0..400.0_f64,
        any::<f64>(),
    ]
}

fn any_box() -> impl Strategy<Value = JetBox> {
    let series =
        (prop::collection::vec(any_number(), 0..6), any::<bool>()).prop_map(|(sizes, flow)| JetSeries {
            numbered_by: if flow { NumberedBy::Flow } else { NumberedBy::Bore },
            circuit: None,
            sizes,
            known_number: Some(number(1.0)),
            known_bore: "1 mm".parse().ok(),
            source: None,
        });
    series.prop_map(|series| {
        let mut jets = Tables::as_shipped().jets;
        jets.series.values_mut().for_each(|known| known.sizes.extend(&series.sizes));
        jets.series.insert("main-bore".into(), series);
        jets
    })
}

proptest! {
    #[test]
    fn no_table_makes_it_fall_over(
        bike in prop::sample::select(CARBURETORS.as_slice()),
        jets in any_box(),
        points in prop::collection::vec([any_number(), any_number()], 0..5),
        pilot in prop::collection::vec([any_number(), any_number()], 0..4),
        typed in -10.0..1000.0_f64,
        field in prop::sample::select(["main", "pilot", "clip", "needle_jet", "carburetor_bore", "air_screw", "power_jet"].as_slice()),
        there in 70_000.0..104_000.0,
    ) {
        let mut tables = Tables { jets, ..Tables::as_shipped() };
        tables.needles.needles.get_mut("n2").unwrap().points = points;
        tables.shares.pilot = pilot;
        tables.shares.screw_turn = format!("{typed} %").parse().unwrap();
        let bike = with(bike, &format!("{field} = {typed}"));
        let setup = setup(&with(&bike, "power_jet_numbered_by = \"bore\""));
        let air = Air::from_relative_humidity(20.0, there, 0.5).unwrap();
        if let Ok(answer) = rejet(&tables.request(&setup, mild(), air)) {
            for jet in &answer.jets {
                prop_assert!(jet.exact.is_none_or(f64::is_finite));
                prop_assert!(jet.advised.is_none_or(|size| size.is_finite() && size > 0.0));
            }
            for (field, value) in &answer.assignments {
                prop_assert!(!value.contains("NaN") && !value.contains("inf"), "{} = {}", field, value);
            }
        }
    }
}
