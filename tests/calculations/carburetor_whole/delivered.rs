//! What one setup delivers over another.

use proptest::prelude::*;
use reedbook::advice::{Rejet, delivered_at, factor_between, rejet};
use reedbook::air::Air;
use reedbook::notebook::ZONES;

use super::by_hand::{NEEDLES, SHARES, by_bore, together};
use crate::bikes::{
    CARBURETORS, FLOW_BIKE, NEEDLE_BIKE, POWER_BIKE, SIMPLE_BIKE, Tables, agree, fuel, mild, setup, with,
    without,
};

type Said = Vec<(&'static str, Result<f64, String>)>;

fn delivered(before: &str, after: &str) -> Said {
    let tables = Tables::as_shipped();
    delivered_at(&setup(before), &setup(after), &tables.jets, &tables.needles, &tables.shares)
}

fn at(said: &Said, zone: &str) -> Result<f64, String> {
    said.iter().find(|(name, _)| *name == zone).unwrap().1.clone()
}

/// A carburetor written over with other parts.
fn any_change(of: &'static str) -> impl Strategy<Value = String> {
    let part = |field: &'static str, values: Vec<f64>| {
        prop::option::of(prop::sample::select(values))
            .prop_map(move |value| value.map(|value| format!("{field} = {value}")))
    };
    let screw = if of == SIMPLE_BIKE { "fuel_screw" } else { "air_screw" };
    let parts = (
        part("main", if of == FLOW_BIKE { vec![290.0, 310.0, 340.0] } else { vec![150.0, 168.0, 190.0] }),
        part("pilot", vec![45.0, 50.0, 57.5]),
        part(screw, vec![0.75, 2.5]),
        part("clip", vec![1.0, 4.0]),
        part("shim", vec![0.3, 0.6]),
        part("needle_jet", vec![2.66, 2.72]),
        prop::option::of(prop::sample::select(vec![
            "needle = \"n4\"".to_owned(),
            "needle = \"n3\"".to_owned(),
        ])),
    );
    parts.prop_map(move |(main, pilot, screw, clip, shim, jet, needle)| {
        let needle_parts = [clip, shim, jet, needle].into_iter().flatten().filter(|_| of != SIMPLE_BIKE);
        let lines = [main, pilot, screw].into_iter().flatten().chain(needle_parts);
        lines.fold(of.to_owned(), |text, line| with(&text, &line))
    })
}

fn any_pair() -> impl Strategy<Value = (&'static str, String)> {
    prop::sample::select(CARBURETORS.as_slice())
        .prop_flat_map(|of| any_change(of).prop_map(move |text| (of, text)))
}

proptest! {
    #[test]
    fn the_same_setup_delivers_the_same((_, text) in any_pair()) {
        for (zone, said) in delivered(&text, &text) {
            prop_assert_eq!(said, Ok(1.0), "{}", zone);
        }
    }

    /// There and back is 1 shut and wide open. In between the share is that of the setup one starts from, which leaves
    /// s (1 - s) (P - M)^2/(P M) for a pilot circuit changed by P and a main circuit changed by M: exactly 1 where both change alike.
    #[test]
    fn back_is_one_over_there((of, text) in any_pair()) {
        let (there, back) = (delivered(of, &text), delivered(&text, of));
        let known = |said: &Said, zone: &str| at(said, zone).ok();
        let pilot = known(&there, "idle").unwrap();
        for (place, (zone, _, _)) in ZONES.iter().enumerate() {
            let (Some(there), Some(back)) = (known(&there, zone), known(&back, zone)) else {
                prop_assert!(of == SIMPLE_BIKE && !matches!(*zone, "idle" | "full"), "{} of {}", zone, of);
                continue;
            };
            let left = match place {
                0 | 5 => 0.0,
                between => {
                    let share = SHARES[between - 1];
                    let main = (there - share * pilot) / (1.0 - share);
                    share * (1.0 - share) * (pilot - main).powi(2) / (pilot * main)
                }
            };
            prop_assert!((there * back - 1.0 - left).abs() < 1e-9, "{}: {} {} {}", zone, there, back, left);
        }
    }

    /// What a rejet says of its zones is what its setup delivers.
    #[test]
    fn a_rejet_delivers_what_it_says(
        of in prop::sample::select(vec![NEEDLE_BIKE, FLOW_BIKE, SIMPLE_BIKE]),
        factor in 0.85..1.2_f64,
    ) {
        let tables = Tables::as_shipped();
        let answer: Rejet = tables.by_factor(&setup(of), factor);
        let changed = answer.assignments.iter().fold(of.to_owned(), |text, (field, value)| {
            let field = field.strip_prefix("jetting.").unwrap();
            let value = value.strip_suffix(" turns").unwrap_or(value);
            let quotes = if field == "needle" { "\"" } else { "" };
            with(&text, &format!("{field} = {quotes}{value}{quotes}"))
        });
        let said = delivered(of, &changed);
        for zone in answer.zones.iter().filter(|zone| of != SIMPLE_BIKE || zone.zone != "eighth") {
            let found = at(&said, zone.zone).unwrap();
            prop_assert!(agree(found, zone.delivered), "{}: {} {}", zone.zone, found, zone.delivered);
        }
    }

    #[test]
    fn the_factor_between_two_airs_is_the_rejets(
        temperature in 0.0..38.0,
        pressure in 75_000.0..103_000.0,
        humidity in 0.0..1.0,
        kind in prop::sample::select(vec!["none", "temperature", "pressure", "both"]),
    ) {
        let air = Air::from_relative_humidity(temperature, pressure, humidity).unwrap();
        let fuels = "[fuel]\ndensity = 745\noil_ratio = 32\noil_density = 880";
        let other = fuel("oil_ratio = 20");
        let tables = Tables::as_shipped();
        for system in [NEEDLE_BIKE.to_owned(), format!("[injection]\ncompensation = \"{kind}\"")] {
            let setup = setup(&format!("{system}\n{fuels}"));
            for fuel in [None, Some(&other)] {
                let mut request = tables.request(&setup, mild(), air);
                request.fuel = fuel;
                let factor = rejet(&request).unwrap().factor.total;
                prop_assert_eq!(factor_between(&setup, mild(), air, fuel).unwrap().to_bits(), factor.to_bits());
            }
        }
    }
}

#[test]
fn each_part_does_what_the_formulas_say() {
    let n2 = &NEEDLES[0];
    let zones = ["eighth", "quarter", "half", "three_quarters", "full"];
    let lifts = [0.125, 0.25, 0.5, 0.75, 1.0];
    let whole = with(&with(&with(NEEDLE_BIKE, "main = 178"), "clip = 4"), "pilot = 55");
    let said = delivered(NEEDLE_BIKE, &with(&whole, "air_screw = 1"));
    let pilot = (55.0_f64 / 52.5).powi(2) * 1.08_f64.sqrt();
    assert!(agree(at(&said, "idle").unwrap(), pilot));
    for (place, (zone, lift)) in zones.into_iter().zip(lifts).enumerate() {
        let main = n2.series(by_bore(178.0), lift, 4) / n2.series(by_bore(172.0), lift, 3);
        assert!(agree(at(&said, zone).unwrap(), together(place + 1, pilot, main)), "{zone}");
    }
    // A shim of one groove's spacing is a groove.
    let (shim, groove) = (with(NEEDLE_BIKE, "shim = 0.95"), with(NEEDLE_BIKE, "clip = 4"));
    for ((zone, one), (_, other)) in
        delivered(NEEDLE_BIKE, &shim).into_iter().zip(delivered(NEEDLE_BIKE, &groove))
    {
        assert!(agree(one.unwrap(), other.unwrap()), "{zone}");
    }
    // A fuel screw out is richer, an air screw out leaner.
    assert!(agree(
        at(&delivered(SIMPLE_BIKE, &with(SIMPLE_BIKE, "fuel_screw = 2.5")), "idle").unwrap(),
        1.08
    ));
    assert!(agree(
        at(&delivered(NEEDLE_BIKE, &with(NEEDLE_BIKE, "air_screw = 2.5")), "idle").unwrap(),
        1.0 / 1.08
    ));
    // The power jet of 0.5 mm is beside the main circuit at full throttle.
    let larger = delivered(POWER_BIKE, &with(POWER_BIKE, "power_jet = 55"));
    let main = n2.series(by_bore(160.0), 1.0, 3);
    assert!(agree(at(&larger, "full").unwrap(), (main + by_bore(55.0)) / (main + by_bore(50.0))));
    assert_eq!(at(&larger, "three_quarters"), Ok(1.0));
    // By flow its area is not known: the same one is left out, another one cannot be reckoned.
    let by_flow = with(POWER_BIKE, "power_jet_numbered_by = \"flow\"");
    let left_out = delivered(&by_flow, &with(&by_flow, "main = 170"));
    assert!(agree(at(&left_out, "full").unwrap(), n2.series(by_bore(170.0), 1.0, 3) / main));
    let another = at(&delivered(&by_flow, &with(&by_flow, "power_jet = 55")), "full");
    assert!(another.unwrap_err().contains("jetting.power_jet differs, and its area is not known"));
    let taken_out = delivered(POWER_BIKE, &without(POWER_BIKE, "power_jet"));
    assert!(agree(at(&taken_out, "full").unwrap(), main / (main + by_bore(50.0))));
}

#[test]
fn without_the_needle_full_throttle_goes_by_the_main_jets() {
    let larger = delivered(SIMPLE_BIKE, &with(SIMPLE_BIKE, "main = 180"));
    assert!(agree(at(&larger, "full").unwrap(), (180.0_f64 / 172.0).powf(2.0 / 1.3)));
    assert!(at(&larger, "half").unwrap_err().contains("jetting.needle"));
    assert_eq!(at(&larger, "idle"), Ok(1.0));
    // By flow the number is the area; the series' bore not known, the needle does not help.
    let mut tables = Tables::as_shipped();
    tables.jets.series.get_mut("main-flow").unwrap().known_bore = None;
    let (before, after) = (setup(FLOW_BIKE), setup(&with(FLOW_BIKE, "main = 320")));
    let said = delivered_at(&before, &after, &tables.jets, &tables.needles, &tables.shares);
    assert!(agree(at(&said, "full").unwrap(), (320.0_f64 / 300.0).powf(1.0 / 1.3)));
    // Only the pilot differs: what lies below full throttle can be said as well.
    let pilot = delivered(SIMPLE_BIKE, &with(SIMPLE_BIKE, "pilot = 55"));
    let fuel = (55.0_f64 / 52.5).powi(2);
    assert!(agree(at(&pilot, "half").unwrap(), 0.1 * fuel + 0.9));
    assert_eq!(at(&pilot, "full"), Ok(1.0));
    // One hole by its two numbers: 172 by bore is 295.84 by flow, where 100 is 1.00 mm.
    let by_flow = with(&with(&without(SIMPLE_BIKE, "pilot"), "main = 295.84"), "main_numbered_by = \"flow\"");
    let said = delivered(&without(SIMPLE_BIKE, "pilot"), &by_flow);
    assert!(agree(at(&said, "full").unwrap(), 1.0));
}

#[test]
fn what_cannot_be_said_says_why() {
    let cases: [(&str, String, &str, &str); 16] = [
        (SIMPLE_BIKE, without(SIMPLE_BIKE, "main"), "full", "jetting.main is not known"),
        (
            SIMPLE_BIKE,
            without(SIMPLE_BIKE, "main_numbered_by"),
            "full",
            "jetting.main_numbered_by is not known",
        ),
        (SIMPLE_BIKE, without(SIMPLE_BIKE, "pilot"), "idle", "jetting.pilot is known of one setup only"),
        (
            SIMPLE_BIKE,
            without(SIMPLE_BIKE, "fuel_screw"),
            "half",
            "the pilot screw is known of one setup only",
        ),
        (
            SIMPLE_BIKE,
            with(&without(SIMPLE_BIKE, "fuel_screw"), "air_screw = 1"),
            "idle",
            "an air screw, the other a fuel screw",
        ),
        (
            NEEDLE_BIKE,
            with(NEEDLE_BIKE, "needle = \"x1\""),
            "quarter",
            "\"x1\" is not in configs/needles.toml",
        ),
        (NEEDLE_BIKE, with(NEEDLE_BIKE, "needle = \"x1\""), "full", "jetting.needle differs"),
        (
            NEEDLE_BIKE,
            with(&without(NEEDLE_BIKE, "clip"), "needle_jet = 2.7"),
            "full",
            "jetting.needle_jet differs",
        ),
        (
            SIMPLE_BIKE,
            with(&with(SIMPLE_BIKE, "clip = 2"), "shim = 1"),
            "half",
            "jetting.needle, jetting.clip",
        ),
        (
            SIMPLE_BIKE,
            with(&with(SIMPLE_BIKE, "power_jet = 50"), "power_jet_numbered_by = \"bore\""),
            "full",
            "jetting.power_jet differs",
        ),
        (
            POWER_BIKE,
            with(&with(POWER_BIKE, "power_jet = 55"), "power_jet_numbered_by = \"flow\""),
            "full",
            "jetting.power_jet is numbered in two ways",
        ),
        (NEEDLE_BIKE, with(NEEDLE_BIKE, "carburetor_bore = 39"), "idle", "jetting.carburetor_bore differs"),
        (
            NEEDLE_BIKE,
            "[injection]\ncompensation = \"none\"".to_owned(),
            "full",
            "not both have a carburetor",
        ),
        ("[jetting]", "[jetting]".to_owned(), "idle", "the pilot circuit is not known"),
        ("notes = \"\"", "notes = \"\"".to_owned(), "full", "not both have a carburetor"),
        (NEEDLE_BIKE, with(NEEDLE_BIKE, "clip = 6"), "half", "clip groove"),
    ];
    for (before, after, zone, words) in cases {
        let why = at(&delivered(before, &after), zone).unwrap_err();
        assert!(why.contains(words) && !why.ends_with('.'), "{zone}: {why:?} has no {words:?}");
    }
    let with_air_jet =
        |number: u32| with(NEEDLE_BIKE, &format!("air_jet_numbered_by = \"bore\"\nair_jet = {number}"));
    let air = delivered(&with_air_jet(100), &with_air_jet(110));
    assert!(at(&air, "full").unwrap_err().contains("jetting.air_jet differs") && at(&air, "idle") == Ok(1.0));
    let slide = delivered(&with(NEEDLE_BIKE, "slide_cutaway = 3"), &with(NEEDLE_BIKE, "slide_cutaway = 3.5"));
    assert!(at(&slide, "quarter").unwrap_err().contains("slide_cutaway") && at(&slide, "half") == Ok(1.0));
    // Full throttle needs no pilot; closed throttle no main jet.
    let no_pilot = delivered(NEEDLE_BIKE, &with(&without(NEEDLE_BIKE, "pilot"), "main = 178"));
    assert!(at(&no_pilot, "full").unwrap() > 1.0 && at(&no_pilot, "half").is_err());
    let no_main =
        delivered(&without(NEEDLE_BIKE, "main"), &without(&with(NEEDLE_BIKE, "pilot = 55"), "main"));
    assert!(at(&no_main, "idle").unwrap() > 1.0 && at(&no_main, "full").is_err());
    // Numbers by bore and by flow, and nothing that ties the two together.
    let mut tables = Tables::as_shipped();
    tables.jets.series.get_mut("pilot-flow").unwrap().known_bore = None;
    let by_flow = setup(&with(SIMPLE_BIKE, "pilot_numbered_by = \"flow\""));
    let said = delivered_at(&setup(SIMPLE_BIKE), &by_flow, &tables.jets, &tables.needles, &tables.shares);
    assert!(at(&said, "idle").unwrap_err().contains("jetting.pilot is numbered in two ways"));
}

#[test]
fn injection_goes_by_its_trim() {
    let injected = |lines: &str| format!("[injection]\ncompensation = \"none\"\n{lines}");
    for (zone, said) in delivered(&injected("trim = -2"), &injected("trim = 3")) {
        assert!(agree(said.unwrap(), 103.0 / 98.0), "{zone}");
    }
    assert!(
        delivered(&injected(""), &injected("trim = 3"))
            .iter()
            .all(|(_, said)| agree(said.clone().unwrap(), 1.03))
    );
    let map = |cells: &str| injected(&format!("fuel_map_unit = \"mg\"\nrpm = [4000, 8000]\nfuel = {cells}"));
    assert!(
        at(&delivered(&map("[10, 12]"), &map("[10, 12.5]")), "half")
            .unwrap_err()
            .contains("the fuel map differs")
    );
    assert_eq!(at(&delivered(&map("[10, 12]"), &map("[10, 12]")), "half"), Ok(1.0));
    // What an injector passes counts as it is, its pressure by its root (Bernoulli), by hand: sqrt(3.0 / 3.63) = 1 / 1.1.
    let flow = |from: &str, to: &str| at(&delivered(&injected(from), &injected(to)), "full");
    assert!(agree(flow("flow = 300", "flow = 320\ntrim = 3").unwrap(), 320.0 / 300.0 * 1.03));
    assert!(agree(flow("injectors = 1", "injectors = 2").unwrap(), 2.0));
    assert!(agree(flow("fuel_pressure = \"3.63 bar\"", "fuel_pressure = \"3 bar\"").unwrap(), 1.0 / 1.1));
    // By volume and by mass they are not set against each other, nor is another dead time.
    assert!(flow("flow = 300", "flow = \"240 g/min\"").unwrap_err().contains("injection.flow differs"));
    assert!(flow("dead_time = 1", "dead_time = 1.2").unwrap_err().contains("injection.dead_time differs"));
}
