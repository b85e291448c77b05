//! An answer is smooth in air: a little denser air never turns one part far one way to turn another back.

use reedbook::advice::{ClipAdvice, Rejet, Screw, rejet};
use reedbook::air::Air;
use reedbook::notebook::{Circuit, OwnBox};

use crate::bikes::{
    FLOW_BIKE, NEEDLE_BIKE, POWER_BIKE, SIMPLE_BIKE, Tables, agree, main_jet, setup, with, without,
};

/// Dry air at 0 C whose density is a part of that at 1013.25 hPa and 15 C.
fn dense(part: f64) -> Air {
    Air::from_relative_humidity(0.0, 101_325.0 * part * 273.15 / 288.15, 0.0).unwrap()
}

/// What is fitted in one air.
#[derive(Debug, Clone)]
struct Cell {
    needle: Option<String>,
    clip: Option<u8>,
    main: Option<f64>,
    pilot: Option<f64>,
    /// Turns toward rich from lightly seated, or from all the way out.
    screw: Option<f64>,
}

impl Cell {
    fn of(answer: &Rejet) -> Self {
        let jet = |circuit| answer.jets.iter().find(|jet| jet.circuit == circuit);
        let clip = match answer.clip {
            ClipAdvice::Move { to, .. } => Some(to),
            ClipAdvice::Stays { clip, .. } => Some(clip),
            _ => None,
        };
        Self {
            needle: answer.needle.as_ref().map(|needle| needle.to.clone()),
            clip,
            main: main_jet(answer).advised,
            pilot: jet(Circuit::Pilot).and_then(|jet| jet.advised.or(Some(jet.current))),
            screw: answer.screw.as_ref().map(|screw| match screw.screw {
                Screw::Air => -screw.to_turns,
                Screw::Fuel => screw.to_turns,
            }),
        }
    }
}

fn boxes() -> [(&'static str, Option<OwnBox>); 3] {
    let own = |main: Vec<f64>, pilot: Vec<f64>| Some(OwnBox { main, pilot, needles: Vec::new() });
    // Without the needle a main jet by bore moves up to 0.6 % for one percent of air (the rule goes up to twice as far as the fuel): sizes
    // closer than that cannot go one at a time.
    let fine: Vec<f64> = (-40..=40).map(|size| 172.0 + 1.25 * f64::from(size)).collect();
    [
        ("the series", None),
        (
            "a small box",
            own(vec![150.0, 155.0, 160.0, 165.0, 170.0, 175.0, 180.0, 190.0], vec![45.0, 50.0, 55.0]),
        ),
        ("a fine box", own(fine, (16..=60).map(|size| 1.25 * f64::from(size)).collect())),
    ]
}

fn bikes() -> Vec<String> {
    let mut all: Vec<String> =
        [NEEDLE_BIKE, SIMPLE_BIKE, FLOW_BIKE, POWER_BIKE].into_iter().map(str::to_owned).collect();
    for line in [
        "air_screw = 1",
        "air_screw = 2",
        "air_screw = 2.75",
        "air_screw = 0.5",
        "clip = 1",
        "clip = 5",
        "main = 162",
    ] {
        all.push(with(NEEDLE_BIKE, line));
    }
    for line in ["fuel_screw = 1", "fuel_screw = 2.5", "pilot = 37.5", "pilot = 67.5"] {
        all.push(with(SIMPLE_BIKE, line));
    }
    all.push(with(&without(NEEDLE_BIKE, "air_screw"), "fuel_screw = 1.75"));
    all.push(without(NEEDLE_BIKE, "air_screw"));
    all.push(without(NEEDLE_BIKE, "pilot"));
    all.push(with(NEEDLE_BIKE, "needle = \"n3\""));
    all.push(with(NEEDLE_BIKE, "needle = \"n4\""));
    all
}

/// How many sizes lie between two jets, the present one counted among those at hand.
fn sizes_between(sizes: &[f64], low: f64, high: f64) -> usize {
    sizes.iter().filter(|size| **size > low + 1e-9 && **size <= high + 1e-9).count()
}

fn no_jump(before: &Cell, after: &Cell, mains: &[f64], pilots: &[f64], most: usize) {
    let why = || format!("{before:?}\n{after:?}");
    if let (Some(from), Some(to)) = (before.main, after.main) {
        assert!(to >= from, "a smaller main jet in denser air\n{}", why());
        assert!(sizes_between(mains, from, to) <= most, "main\n{}", why());
    }
    assert!(before.main.is_some() || after.main.is_none(), "{}", why());
    if let (Some(from), Some(to)) = (before.clip, after.clip) {
        assert!(to == from || to == from + 1, "clip\n{}", why());
    }
    if let (Some(from), Some(to)) = (before.pilot, after.pilot) {
        assert!(to >= from, "a smaller pilot jet in denser air\n{}", why());
        assert!(sizes_between(pilots, from, to) <= most, "pilot\n{}", why());
    }
    if let (Some(from), Some(to)) = (before.screw, after.screw)
        && before.pilot.zip(after.pilot).is_none_or(|(before, after)| agree(before, after))
    {
        assert!((-1e-9..=0.25 + 1e-9).contains(&(to - from)), "screw\n{}", why());
    }
}

#[test]
fn a_card_is_smooth_in_air() {
    let tables = Tables::as_shipped();
    for text in bikes() {
        let bike = setup(&text);
        for (name, own) in boxes() {
            // The boxes are numbered by bore around 172.
            if own.is_some() && text.contains("main = 300") {
                continue;
            }
            for (baseline, step) in [(1.0, 0.0025), (1.0, 0.01), (0.85, 0.01)] {
                let mut cells: Vec<Cell> = Vec::new();
                let mut at = 0_u32;
                loop {
                    let part = 0.7 + step * f64::from(at);
                    if part > 1.1 + 1e-9 {
                        break;
                    }
                    at += 1;
                    let mut request = tables.request(&bike, dense(baseline), dense(part));
                    request.own_box = own.as_ref();
                    cells.push(Cell::of(&rejet(&request).unwrap()));
                }
                let sizes = |own: Option<&Vec<f64>>, series: &str, now: Option<f64>| {
                    let mut sizes = own.cloned().unwrap_or_else(|| tables.jets.series[series].sizes.clone());
                    sizes.extend(now);
                    sizes.sort_by(f64::total_cmp);
                    sizes.dedup();
                    sizes
                };
                let jetting = bike.jetting.as_ref().unwrap();
                let by = if text.contains("\"flow\"") { "flow" } else { "bore" };
                let now = |jet: &Option<reedbook::quantity::Number>| {
                    jet.as_ref().map(reedbook::quantity::Measure::si)
                };
                let mains =
                    sizes(own.as_ref().map(|own| &own.main), &format!("main-{by}"), now(&jetting.main));
                let pilots =
                    sizes(own.as_ref().map(|own| &own.pilot), &format!("pilot-{by}"), now(&jetting.pilot));
                let mut needles = vec![cells[0].needle.clone()];
                for pair in cells.windows(2) {
                    if pair[0].needle == pair[1].needle {
                        no_jump(&pair[0], &pair[1], &mains, &pilots, 1);
                    } else {
                        needles.push(pair[1].needle.clone());
                    }
                }
                let mut seen = needles.clone();
                seen.sort();
                seen.dedup();
                assert_eq!(
                    seen.len(),
                    needles.len(),
                    "{name} {baseline}: a needle comes back: {needles:?}\n{text}"
                );
            }
        }
    }
}
