//! The search against an enumeration of its own: every needle, groove, pilot jet and place of the screw, each with the smallest
//! main jet that is not too lean at full throttle.

use proptest::prelude::*;
use reedbook::advice::{ClipAdvice, Rejet, WantedFuel, rejet};
use reedbook::notebook::Circuit;

use crate::bikes::{
    CARBURETORS, FLOW_BIKE, NEEDLE_BIKE, POWER_BIKE, Tables, jet, main_jet, mild, setup, with,
};
use crate::by_hand::{LIFTS, NEEDLES, by_bore, together};

/// As good as the best: within this of its error, and of its shortfall, in ln of fuel.
const AS_GOOD: f64 = 0.01;

/// The bike's own needle stays where it leaves no more error than this, and no more than [`AS_GOOD`] too lean.
const NEEDLE_CAN_DO: f64 = 0.03;

/// One carburetor, and how it does.
#[derive(Debug, Clone)]
struct Made {
    needle: usize,
    clip: u8,
    main: f64,
    pilot: f64,
    quarters: i32,
    delivered: [f64; 6],
    too_lean: usize,
    shortfall: f64,
    error: f64,
    richness: f64,
    cost: u32,
    parts: u32,
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
        let off = (delivered / wanted.factor).ln();
        made.error += if off < 0.0 { 4.0 * off * off } else { off * off };
        made.richness += off;
        if *delivered < wanted.least * (1.0 - 1e-9) {
            made.too_lean += 1;
            made.shortfall += (wanted.least / delivered).ln();
        }
    }
    made.error = (made.error / 6.0).sqrt();
}

/// Everything the box can make of a bike.
fn everything(bike: Bike, tables: &Tables, wanted: &[WantedFuel; 6]) -> Vec<Made> {
    let mains = sizes(tables, "main-bore", bike.main);
    let pilots = sizes(tables, "pilot-bore", bike.pilot);
    let at = i32::try_from(pilots.iter().position(|size| (size - bike.pilot).abs() < 1e-9).unwrap()).unwrap();
    let near = |place: usize| (i32::try_from(place).unwrap() - at).abs() <= 3;
    let before = LIFTS.map(|lift| NEEDLES[bike.needle].series(by_bore(bike.main), lift, bike.clip));
    let mut all = Vec::new();
    for (place, needle) in NEEDLES.iter().enumerate() {
        for clip in 1..=5 {
            if place != bike.needle && needle.position(1.0, clip) > needle.points.last().unwrap().0 {
                continue;
            }
            let over = |main: f64| {
                let mut over = LIFTS.map(|lift| needle.series(by_bore(main), lift, clip));
                over.iter_mut().zip(before).for_each(|(over, before)| *over /= before);
                over
            };
            let enough = |main: &&f64| over(**main)[5] >= wanted[5].least * (1.0 - 1e-9);
            let Some(&main) = mains.iter().find(enough) else { continue };
            for (_, &pilot) in pilots.iter().enumerate().filter(|(place, _)| near(*place)) {
                for quarters in -4..=4 {
                    let out = bike.screw - f64::from(quarters) / 4.0;
                    if !(-1e-9..=8.0 + 1e-9).contains(&out) {
                        continue;
                    }
                    let circuit = (pilot / bike.pilot).powi(2) * 1.08_f64.powf(f64::from(quarters) / 4.0);
                    let mut delivered = over(main);
                    for (zone, delivered) in delivered.iter_mut().enumerate() {
                        *delivered = together(zone, circuit, *delivered);
                    }
                    let changes = [
                        (quarters != 0, 1),
                        ((main - bike.main).abs() > 1e-9, 2),
                        (clip != bike.clip, 3),
                        ((pilot - bike.pilot).abs() > 1e-9, 5),
                        (place != bike.needle, 8),
                    ];
                    let mut made = Made {
                        needle: place,
                        clip,
                        main,
                        pilot,
                        quarters,
                        delivered,
                        too_lean: 0,
                        shortfall: 0.0,
                        error: 0.0,
                        richness: 0.0,
                        cost: changes.iter().map(|(changed, cost)| u32::from(*changed) * cost).sum(),
                        parts: changes.iter().map(|(changed, _)| u32::from(*changed)).sum(),
                    };
                    rate(&mut made, wanted);
                    all.push(made);
                }
            }
        }
    }
    all
}

/// The advice as one of everything that can be made.
fn advised<'m>(answer: &Rejet, bike: Bike, all: &'m [Made]) -> &'m Made {
    let code = answer.needle.as_ref().map_or(NEEDLES[bike.needle].code, |needle| needle.to.as_str());
    let clip = match answer.clip {
        ClipAdvice::Move { to, .. } => to,
        ClipAdvice::Stays { clip, .. } => clip,
        ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => panic!("no clip"),
    };
    let (main, pilot) = (main_jet(answer).advised.unwrap(), jet(answer, Circuit::Pilot).advised.unwrap());
    let richer = bike.screw - answer.screw.as_ref().unwrap().to_turns;
    all.iter()
        .find(|made| {
            NEEDLES[made.needle].code == code
                && made.clip == clip
                && (made.main - main).abs() < 1e-9
                && (made.pilot - pilot).abs() < 1e-9
                && (f64::from(made.quarters) / 4.0 - richer).abs() < 1e-9
        })
        .expect("what is advised is something that the box can make, with the smallest main jet that will do")
}

fn any_bike() -> impl Strategy<Value = Bike> {
    let main = prop::sample::select(vec![160.0, 165.0, 172.0, 178.0, 184.0]);
    let pilot = prop::sample::select(vec![35.0, 45.0, 52.5, 53.3, 60.0, 70.0]);
    let screw = prop::sample::select(vec![0.25, 1.0, 1.5, 2.1, 7.75]);
    (0..3_usize, 1..=5_u8, main, pilot, screw).prop_map(|(needle, clip, main, pilot, screw)| Bike {
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

/// What the rule says of the advised one beside every other. Other needles count only where the bike's own cannot do.
fn keeps_the_rule(chosen: &Made, bike: Bike, all: &[Made]) -> Result<(), TestCaseError> {
    const SAME: f64 = 1e-9;
    let mut all = all.to_vec();
    let own = |made: &Made| made.needle == bike.needle;
    let nearly = |made: &Made, slack: f64| {
        own(made) && made.shortfall <= AS_GOOD + slack && made.error <= NEEDLE_CAN_DO + slack
    };
    // On the edge itself either is right.
    prop_assume!(all.iter().any(|made| nearly(made, SAME)) == all.iter().any(|made| nearly(made, -SAME)));
    if all.iter().any(|made| nearly(made, 0.0)) {
        all.retain(own);
        prop_assert_eq!(chosen.needle, bike.needle, "the present needle can do");
    }
    let fewest = all.iter().map(|made| made.too_lean).min().unwrap();
    prop_assert_eq!(chosen.too_lean, fewest);
    let short = |made: &&Made| made.too_lean == fewest;
    let least = all.iter().filter(short).map(|made| made.shortfall).fold(f64::INFINITY, f64::min);
    prop_assert!(chosen.shortfall <= least + AS_GOOD + SAME);
    let right: Vec<_> =
        all.iter().filter(short).filter(|made| made.shortfall <= least + AS_GOOD - SAME).collect();
    let best = right.iter().map(|made| made.error).fold(f64::INFINITY, f64::min);
    prop_assert!(chosen.error <= best + AS_GOOD + SAME, "{} instead of {best}", chosen.error);
    for other in right.iter().filter(|made| made.error <= best + AS_GOOD - SAME) {
        prop_assert!(chosen.cost <= other.cost, "{chosen:?} costs more than {other:?}");
        if chosen.cost == other.cost {
            prop_assert!(chosen.parts <= other.parts, "{chosen:?} takes more parts than {other:?}");
            if chosen.parts == other.parts {
                prop_assert!(
                    chosen.error <= other.error + 2.0 * SAME,
                    "{chosen:?} is farther off than {other:?}"
                );
                let tie = (chosen.error - other.error).abs() < SAME / 2.0;
                prop_assert!(
                    !tie || chosen.richness >= other.richness - SAME,
                    "{chosen:?} is leaner than {other:?}"
                );
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn by_theory_the_cheapest_of_the_best_is_taken(bike in any_bike(), factor in 0.82..1.2_f64) {
        let (tables, wanted) = (Tables::as_shipped(), WantedFuel::by_theory(factor));
        let all = everything(bike, &tables, &wanted);
        prop_assume!(!all.is_empty());
        let answer = answer(bike, factor, None);
        let chosen = advised(&answer, bike, &all);
        for (zone, delivered) in answer.zones.iter().zip(chosen.delivered) {
            prop_assert!((zone.delivered - delivered).abs() < 1e-9, "{} {} {}", zone.zone, zone.delivered, delivered);
        }
        prop_assert_eq!(answer.zones.len(), 6);
        prop_assert!(chosen.delivered[5] >= factor * (1.0 - 1e-9));
        keeps_the_rule(chosen, bike, &all)?;
    }

    #[test]
    fn by_the_record_too(
        bike in any_bike(),
        factors in prop::array::uniform6(0.9..1.12_f64),
        margins in prop::array::uniform6(0.96..1.01_f64),
    ) {
        let tables = Tables::as_shipped();
        let mut wanted = WantedFuel::by_theory(1.0);
        for ((wanted, factor), margin) in wanted.iter_mut().zip(factors).zip(margins) {
            (wanted.factor, wanted.least) = (factor, factor * margin);
        }
        let all = everything(bike, &tables, &wanted);
        prop_assume!(!all.is_empty());
        keeps_the_rule(advised(&answer(bike, 1.0, Some(&wanted)), bike, &all), bike, &all)?;
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
        assert_eq!(below, 8, "eight sizes below the smaller of the present and the exact one");
    }
    // Clip 4 at 1.05: 26 + 38 + 2.85 = 66.85 mm.
    let answer = tables.by_factor(&setup(NEEDLE_BIKE), 1.05);
    assert!(matches!(answer.clip, ClipAdvice::Move { to: 4, .. }));
    for size in &answer.mains {
        let over = NEEDLES[0].series(by_bore(size.size), 1.0, 4) / NEEDLES[0].series(by_bore(172.0), 1.0, 3);
        assert!((size.delivered - over).abs() < 1e-12, "{size:?} {over}");
    }
}
