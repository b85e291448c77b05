//! What is chosen against an enumeration of its own: every needle, groove, pilot jet and place of the screw, each with the
//! smallest main jet that is not too lean at full throttle.

use proptest::prelude::*;
use reedbook::advice::{ClipAdvice, Rejet, WantedFuel, rejet};
use reedbook::notebook::Circuit;

use super::by_hand::{LIFTS, NEEDLES, by_bore, together};
use crate::bikes::{
    CARBURETORS, FLOW_BIKE, NEEDLE_BIKE, POWER_BIKE, Tables, jet, main_jet, mild, setup, with,
};

/// Each part answers for its own zones and in its own sizes: together they come as near as the best of all that can be made, to so much
/// of its error in ln of fuel.
const NEARLY_AS_GOOD: f64 = 0.02;

/// The bike's own needle stays where it leaves no more error than this, and no more than that too lean: less than the rule's own figures,
/// which hold for jets and grooves free of sizes.
const NEEDLE_CAN_DO: (f64, f64) = (0.02, 0.005);

/// One carburetor, and how it does.
#[derive(Debug, Clone)]
struct Made {
    needle: usize,
    clip: u8,
    main: f64,
    delivered: [f64; 6],
    shortfall: f64,
    error: f64,
    /// The error with what is too lean counting more.
    cost: f64,
}

/// A bike like [`NEEDLE_BIKE`]: by bore, air screw, needle jet 2.68 mm.
#[derive(Debug, Clone, Copy)]
struct Bike {
    needle: usize,
    clip: u8,
    main: f64,
    pilot: f64,
    screw: f64,
}

impl Bike {
    fn text(self) -> String {
        let lines = [
            format!("needle = \"{}\"", NEEDLES[self.needle].code),
            format!("clip = {}", self.clip),
            format!("main = {}", self.main),
            format!("pilot = {}", self.pilot),
            format!("air_screw = {}", self.screw),
        ];
        lines.iter().fold(NEEDLE_BIKE.to_owned(), |text, line| with(&text, line))
    }
}

fn sizes(tables: &Tables, series: &str, present: f64) -> Vec<f64> {
    let mut sizes = tables.jets.series[series].sizes.clone();
    sizes.push(present);
    sizes.sort_by(f64::total_cmp);
    sizes.dedup();
    sizes
}

fn rate(made: &mut Made, wanted: &[WantedFuel; 6]) {
    for (delivered, wanted) in made.delivered.iter().zip(wanted) {
        let off = (delivered / wanted.factor.max(wanted.least)).ln();
        made.error += if off < 0.0 { 4.0 * off * off } else { off * off };
        let short = (wanted.least / delivered).ln().max(0.0);
        made.shortfall += short;
        made.cost += (if off < 0.0 { -2.0 * off } else { off } + 6.0 * short).powi(2);
    }
    made.error = (made.error / 6.0).sqrt();
    made.cost = (made.cost / 6.0).sqrt();
}

/// One carburetor of a bike.
fn make(
    bike: Bike,
    (needle, clip, main): (usize, u8, f64),
    (pilot, quarters): (f64, i32),
    wanted: &[WantedFuel; 6],
) -> Made {
    let circuit = (pilot / bike.pilot).powi(2) * 1.08_f64.powf(f64::from(quarters) / 4.0);
    let mut delivered = LIFTS.map(|lift| NEEDLES[needle].series(by_bore(main), lift, clip));
    for (zone, (delivered, lift)) in delivered.iter_mut().zip(LIFTS).enumerate() {
        let before = NEEDLES[bike.needle].series(by_bore(bike.main), lift, bike.clip);
        *delivered = together(zone, circuit, *delivered / before);
    }
    let mut made = Made { needle, clip, main, delivered, shortfall: 0.0, error: 0.0, cost: 0.0 };
    rate(&mut made, wanted);
    made
}

/// Everything the box can make of a bike, each with the smallest main jet that is not too lean at full throttle. The screw stays
/// between one turn and two, or where it is.
fn everything(bike: Bike, tables: &Tables, wanted: &[WantedFuel; 6]) -> Vec<Made> {
    let mains = sizes(tables, "main-bore", bike.main);
    let pilots = sizes(tables, "pilot-bore", bike.pilot);
    let at = i32::try_from(pilots.iter().position(|size| (size - bike.pilot).abs() < 1e-9).unwrap()).unwrap();
    let near = |place: usize| (i32::try_from(place).unwrap() - at).abs() <= 5;
    let place = bike.screw.min(1.0) - 1e-9..=bike.screw.max(2.0) + 1e-9;
    let mut all = Vec::new();
    for (needle, measured) in NEEDLES.iter().enumerate() {
        for clip in 1..=5 {
            if needle != bike.needle && measured.position(1.0, clip) > measured.points.last().unwrap().0 {
                continue;
            }
            let before = NEEDLES[bike.needle].series(by_bore(bike.main), 1.0, bike.clip);
            let enough = |main: &&f64| {
                measured.series(by_bore(**main), 1.0, clip) / before >= wanted[5].least * (1.0 - 1e-9)
            };
            let Some(&main) = mains.iter().find(enough) else { continue };
            for (_, &pilot) in pilots.iter().enumerate().filter(|(place, _)| near(*place)) {
                let quarters =
                    (-4..=4).filter(|quarters| place.contains(&(bike.screw - f64::from(*quarters) / 4.0)));
                all.extend(
                    quarters.map(|quarters| make(bike, (needle, clip, main), (pilot, quarters), wanted)),
                );
            }
        }
    }
    all
}

/// What is advised.
fn advised(answer: &Rejet, bike: Bike, wanted: &[WantedFuel; 6]) -> Made {
    let code = answer.needle.as_ref().map_or(NEEDLES[bike.needle].code, |needle| needle.to.as_str());
    let needle = NEEDLES.iter().position(|needle| needle.code == code).unwrap();
    let clip = match answer.clip {
        ClipAdvice::Move { to, .. } => to,
        ClipAdvice::Stays { clip, .. } => clip,
        ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => panic!("no clip"),
    };
    let (main, pilot) = (main_jet(answer).advised.unwrap(), jet(answer, Circuit::Pilot).advised.unwrap());
    let richer = 4.0 * (bike.screw - answer.screw.as_ref().unwrap().to_turns);
    assert!((richer - richer.round()).abs() < 1e-9, "whole quarters");
    let quarters = (-4..=4).find(|quarters| (f64::from(*quarters) - richer).abs() < 1e-9).unwrap();
    make(bike, (needle, clip, main), (pilot, quarters), wanted)
}

fn any_bike() -> impl Strategy<Value = Bike> {
    let main = prop::sample::select(vec![160.0, 165.0, 172.0, 178.0, 184.0]);
    let pilot = prop::sample::select(vec![45.0, 52.5, 53.3, 60.0]);
    let screw = prop::sample::select(vec![1.0, 1.25, 1.5, 1.75, 2.1]);
    (0..3_usize, 2..=4_u8, main, pilot, screw).prop_map(|(needle, clip, main, pilot, screw)| Bike {
        needle,
        clip,
        main,
        pilot,
        screw,
    })
}

fn answer(bike: Bike, factor: f64, wanted: Option<&[WantedFuel]>) -> Rejet {
    let (tables, setup) = (Tables::as_shipped(), setup(&bike.text()));
    let mut request = tables.request(&setup, mild(), mild());
    request.lambda_ratio = 1.0 / factor;
    request.wanted = wanted;
    rejet(&request).unwrap()
}

/// What is advised beside everything that can be made.
fn keeps_the_rule(
    chosen: &Made,
    (bike, wanted): (Bike, &[WantedFuel; 6]),
    all: &[Made],
) -> Result<(), TestCaseError> {
    // The smallest main jet that is enough in its groove, or, where the next groove richer would want a smaller one, the one that is
    // enough in the groove before it.
    let before = NEEDLES[bike.needle].series(by_bore(bike.main), 1.0, bike.clip);
    let full = |clip: u8| NEEDLES[chosen.needle].series(by_bore(chosen.main), 1.0, clip) / before;
    let enough = wanted[5].least * (1.0 - 1e-9);
    prop_assert!(full(chosen.clip) >= enough, "{:?}", chosen);
    let least = all.iter().find(|made| (made.needle, made.clip) == (chosen.needle, chosen.clip));
    let least = least.map(|made| made.main).unwrap();
    prop_assert!(chosen.main >= least - 1e-9);
    if chosen.main > least + 1e-9 {
        let smaller =
            all.iter().map(|made| made.main).filter(|main| *main < chosen.main - 1e-9).fold(0.0, f64::max);
        let leaner = chosen.clip.checked_sub(1).filter(|clip| *clip > 0);
        let before = leaner.map(|clip| NEEDLES[chosen.needle].series(by_bore(smaller), 1.0, clip) / before);
        prop_assert!(
            before.is_some_and(|before| before < enough * 1.02),
            "{:?} though {} is enough",
            chosen,
            least
        );
    }
    // As near as the best of its needle.
    let own = all.iter().filter(|made| made.needle == chosen.needle);
    let best = own.min_by(|a, b| a.cost.total_cmp(&b.cost)).unwrap();
    prop_assert!(chosen.cost <= best.cost + NEARLY_AS_GOOD, "{:?} instead of {:?}", chosen, best);
    // Another needle only where the bike's own cannot do.
    if chosen.needle != bike.needle {
        let can_do = |made: &&Made| {
            made.needle == bike.needle && made.error <= NEEDLE_CAN_DO.0 && made.shortfall <= NEEDLE_CAN_DO.1
        };
        prop_assert!(!all.iter().any(|made| can_do(&made)), "{:?}", chosen);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn by_theory_as_near_as_the_best(bike in any_bike(), factor in 0.9..1.06_f64) {
        let (tables, wanted) = (Tables::as_shipped(), WantedFuel::by_theory(factor));
        let all = everything(bike, &tables, &wanted);
        prop_assume!(!all.is_empty());
        let answer = answer(bike, factor, None);
        let chosen = advised(&answer, bike, &wanted);
        for (zone, delivered) in answer.zones.iter().zip(chosen.delivered) {
            prop_assert!((zone.delivered - delivered).abs() < 1e-9, "{} {} {}", zone.zone, zone.delivered, delivered);
        }
        prop_assert_eq!(answer.zones.len(), 6);
        prop_assert!(chosen.delivered[5] >= factor * (1.0 - 1e-9));
        keeps_the_rule(&chosen, (bike, &wanted), &all)?;
    }

    #[test]
    fn by_the_record_too(
        bike in any_bike(),
        factors in prop::array::uniform6(0.985..1.015_f64),
        margins in prop::array::uniform6(0.96..0.99_f64),
    ) {
        let tables = Tables::as_shipped();
        let mut wanted = WantedFuel::by_theory(1.0);
        for ((wanted, factor), margin) in wanted.iter_mut().zip(factors).zip(margins) {
            (wanted.factor, wanted.least) = (factor, factor * margin);
        }
        // Full throttle is never aimed leaner than right.
        wanted[5].least = wanted[5].factor;
        let all = everything(bike, &tables, &wanted);
        prop_assume!(!all.is_empty());
        let chosen = advised(&answer(bike, 1.0, Some(&wanted)), bike, &wanted);
        keeps_the_rule(&chosen, (bike, &wanted), &all)?;
    }

    /// Nothing different changes nothing, whatever the margins that are allowed below what is right.
    #[test]
    fn what_is_right_stays(bike in any_bike(), margins in prop::array::uniform6(0.9..1.0_f64)) {
        let mut wanted = WantedFuel::by_theory(1.0);
        for (wanted, margin) in wanted.iter_mut().zip(margins) {
            wanted.least = margin;
        }
        // But a smaller main jet that is enough at full throttle is the one to take.
        wanted[5].least = 1.0;
        for wanted in [None, Some(wanted.as_slice())] {
            let answer = answer(bike, 1.0, wanted);
            prop_assert_eq!(answer.assignments, []);
            prop_assert!(answer.zones.iter().all(|zone| zone.fitted_percent.abs() < 1e-9));
        }
    }

    /// A twentieth more fuel wanted is less fuel delivered at no lift. Closer together one may take a groove where the other turns the
    /// screw, and the error that is as good shows.
    #[test]
    fn more_wanted_is_more_delivered(
        text in prop::sample::select(CARBURETORS.as_slice()),
        factor in 0.88..1.06_f64,
        more in 1.05..1.1_f64,
    ) {
        let (tables, setup) = (Tables::as_shipped(), setup(text));
        let (less, more) = (tables.by_factor(&setup, factor), tables.by_factor(&setup, factor * more));
        for (less, more) in less.zones.iter().zip(&more.zones) {
            prop_assert_eq!(less.zone, more.zone);
            prop_assert!(less.delivered <= more.delivered * (1.0 + 1e-9), "{:?} {:?}", less, more);
        }
    }
}

/// The sizes of the main jet with what each brings: rising, and as the series rule has it with the groove advised.
#[test]
fn every_size_says_what_it_brings() {
    let tables = Tables::as_shipped();
    for (text, factor) in [(NEEDLE_BIKE, 1.05), (NEEDLE_BIKE, 0.95), (FLOW_BIKE, 1.05), (POWER_BIKE, 0.97)] {
        let answer = tables.by_factor(&setup(text), factor);
        let main = main_jet(&answer);
        assert!(
            answer
                .mains
                .windows(2)
                .all(|two| two[0].size < two[1].size && two[0].delivered < two[1].delivered)
        );
        let full = answer.zones.last().unwrap().delivered;
        let fitted = answer.mains.iter().find(|size| Some(size.size) == main.advised).unwrap();
        assert!((fitted.delivered - full).abs() < 1e-12);
        let below =
            answer.mains.iter().filter(|size| size.size < main.current.min(main.exact.unwrap())).count();
        assert!(
            (8..=16).contains(&below),
            "up to sixteen sizes below the smaller of the present and the exact one"
        );
    }
    // Clip 4 at 1.05: 26 + 38 + 2.85 = 66.85 mm.
    let answer = tables.by_factor(&setup(NEEDLE_BIKE), 1.05);
    assert!(matches!(answer.clip, ClipAdvice::Move { to: 4, .. }));
    for size in &answer.mains {
        let over = NEEDLES[0].series(by_bore(size.size), 1.0, 4) / NEEDLES[0].series(by_bore(172.0), 1.0, 3);
        assert!((size.delivered - over).abs() < 1e-12, "{size:?} {over}");
    }
}
