//! Simulated seasons in families (`tests/simulation/families.rs`): that the simulator does what it says, and the whole table of
//! advisers against each other.
//!
//! The whole table takes minutes and is not part of `cargo test`:
//!
//! ```text
//! cargo test --test learning families -- --ignored --nocapture
//! ```
//!
//! `SEASONS_BIKES` (200), `SEASONS_DAYS` (14) and `SEASONS_SEED` (1) change what is ridden, `SEASONS_FAMILIES` which: parts
//! of their names in words, divided by commas ("lean,swapped").

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly
#![allow(clippy::print_stdout, clippy::disallowed_methods)] // the table is printed, its extent asked for

use crate::families;

use families::advisers::CONTENDERS;
use families::scores::{self, Extent, HEAD};
use families::season::Season;
use families::truth::{Machine, PHYSICALLY_RIGHT};
use families::{Family, Nature};

const DAYS: usize = 14;

/// A whole table: every family, every adviser.
#[test]
#[ignore = "takes minutes; the command stands at the top of the file"]
fn every_family_and_adviser() {
    let extent = Extent::asked(200);
    println!("{} bikes a family, {} race days each\n{HEAD}", extent.bikes, extent.days);
    let ridden: Vec<_> = scores::asked_families()
        .into_iter()
        .map(|family| {
            let scores = scores::family(family, extent, &CONTENDERS);
            print!("{}", scores::rows(family, &scores));
            scores
        })
        .collect();
    print!("{}", scores::over_all(&ridden));
}

/// A bike that is what theory takes it for: no exponent of its own, the ring passes as the jet does, no scatter.
fn by_the_book(seed: u64) -> Season {
    let nature = Nature::drawn(Family::Plain, seed, DAYS);
    let drawn = nature.machine.clone();
    let machine = Machine { annulus_discharge: 1.0, breathing: 0.0, venturi: 0.0, scatter: 0.0, ..drawn };
    Season::of(Nature { machine, ..nature }, seed, DAYS)
}

/// Two calculations of the same physics, one by flows and one by ratios, agree to what the instruments leave in doubt: theory
/// is never leaner than the proven jet was but by that, and never richer by more than the step to the next jet.
#[test]
fn theory_keeps_a_bike_that_is_as_it_says() {
    let rules = scores::only(&["theory"]);
    for seed in 0..100 {
        let season = by_the_book(seed);
        let proven = season.nature.machine.carburetor.numbers()[season.known.proven];
        let first = season.proven_air();
        let as_proven = season.nature.machine.excess(proven, &first, 0.0, 0);
        for run in season.ride(&mut *(rules[0].new)(&season.known)) {
            let off = run.excess - as_proven;
            // Two readings, each ±1 hPa, ±0.5 K and ±5 % of humidity; a step of the box is 2 % of fuel at most.
            assert!((-0.006..0.027).contains(&off), "seed {seed}: {off}");
        }
    }
}

/// In dry standard air the flow needs what the jet gives: an excess of nought is right, and richer jets are richer.
#[test]
fn a_larger_jet_is_richer_and_denser_air_wants_one() {
    for seed in 0..50 {
        let season = by_the_book(seed);
        let machine = &season.nature.machine;
        let excess = |number: f64, pressure: f64| {
            let air = reedbook::air::Air::from_relative_humidity(20.0, pressure, 0.5).unwrap();
            machine.excess(number, &air, 0.0, 0)
        };
        assert!(excess(172.5, 95_000.0) > excess(170.0, 95_000.0));
        assert!(excess(170.0, 85_000.0) > excess(170.0, 95_000.0));
        // Half of what the pressure differs by: area times the root of density must follow density.
        let thinner = excess(170.0, 85_000.0) - excess(170.0, 95_000.0);
        let by_hand = 0.5 * (95.0_f64 / 85.0).ln();
        assert!((thinner - by_hand).abs() < 0.002, "{thinner} {by_hand}");
    }
}

#[test]
fn the_same_seeds_bring_the_same_scores() {
    let extent = Extent { bikes: 12, days: DAYS, first_seed: 1 };
    let rules = &CONTENDERS[1..];
    let once = scores::family(Family::Mixture, extent, rules);
    assert_eq!(once, scores::family(Family::Mixture, extent, rules));
    let other = scores::family(Family::Mixture, Extent { first_seed: 1000, ..extent }, rules);
    assert_ne!(once, other);
}

/// A day with both: the plain bike of a seed, and the same bike in a family.
fn pair(family: Family, seed: u64) -> (Nature, Nature) {
    (Nature::drawn(Family::Plain, seed, DAYS), Nature::drawn(family, seed, DAYS))
}

/// What a bike wants in one air more than in another, beyond what the plain bike of its seed does; ln fuel.
fn wants_more(family: Family, seed: u64, airs: [(f64, f64); 2], through: [f64; 2]) -> f64 {
    let (plain, own) = pair(family, seed);
    let excess = |nature: &Nature, at: usize| {
        let (temperature, pressure) = airs[at];
        let air = reedbook::air::Air::from_relative_humidity(temperature, pressure, 0.0).unwrap();
        nature.machine.excess(170.0, &air, through[at], 0)
    };
    let change = |nature: &Nature| excess(nature, 0) - excess(nature, 1);
    change(&own) - change(&plain)
}

#[test]
fn each_family_changes_the_engine_as_it_says() {
    let (low, high) = ((15.0, 101_325.0), (15.0, 82_000.0));
    for seed in 0..50 {
        let hotter =
            wants_more(Family::TemperatureEffect, seed, [(15.0, 98_000.0), (35.0, 98_000.0)], [0.0; 2]);
        assert!((hotter.abs() - 0.03).abs() < 1e-9, "{hotter}");
        let later = wants_more(Family::Drift, seed, [low, low], [0.0, 1.0]);
        assert!((later.abs() - 0.03).abs() < 1e-9, "{later}");
        // ln K at 82 kPa, dry, is -0.1058: its square adds 1.5 × 0.0112, the kink takes 0.5 × 0.0545.
        let curved = wants_more(Family::WrongCurve, seed, [low, high], [0.0; 2]).abs();
        assert!((curved - 0.0168).abs() < 0.001 || (curved - 0.0272).abs() < 0.001, "{curved}");
        for same in [Family::WrongAir, Family::LikesLean, Family::Seizures] {
            assert!(wants_more(same, seed, [low, high], [0.0, 1.0]).abs() < 1e-12);
        }
    }
}

#[test]
fn each_family_changes_tuner_and_record_as_it_says() {
    let mut noisy = 0;
    for seed in 0..200 {
        let liking = |family| {
            let (plain, own) = pair(family, seed);
            own.tuner.centre - plain.tuner.centre
        };
        assert!((liking(Family::LikesRich) - 0.025).abs() < 1e-12);
        assert!((liking(Family::LikesLean) + 0.015).abs() < 1e-12);
        let (_, slipping) = pair(Family::NoisyAndSlips, seed);
        assert!(slipping.machine.heavy && slipping.tuner.slips > 0.04);
        let season = Season::new(Family::WrongAir, seed, DAYS);
        let misread = |(day, air): (&families::season::Day, &reedbook::air::Air)| {
            let off = day.read.temperature_c() - air.temperature_c();
            assert!(off.abs() <= 4.5 + 1e-9, "{off}");
            (day.read.pressure_pa() / air.pressure_pa() - 1.0).abs() > 0.013
        };
        let days = season.days().zip(season.airs()).map(misread).filter(|wrong| *wrong).count();
        noisy += days;
        assert!(days <= 5);
    }
    // Five days each, less where the season or its beginning cuts them off.
    assert!((600..=1000).contains(&noisy), "{noisy}");
}

#[test]
fn engines_go_in_and_out_and_leaks_open_and_close() {
    let mut spread = Vec::new();
    for seed in 0..200 {
        let season = Season::new(Family::Swaps, seed, DAYS);
        let engines: Vec<usize> = season.days().map(|day| day.engine).collect();
        let changes = engines.windows(2).filter(|pair| pair[0] != pair[1]).count();
        assert!(changes == 4 || changes == 6, "{engines:?}");
        assert_eq!((engines[0], engines[DAYS - 1]), (0, 0));
        let [own, spare] = season.nature.machine.engines;
        spread.extend([own * own, spare * spare]);

        let leaking = Season::new(Family::Seizures, seed, DAYS);
        let leak = leaking.nature.leak.unwrap();
        let sound = Season::of(Nature { leak: None, ..leaking.nature.clone() }, seed, DAYS);
        let size = leaking.known.proven;
        let lost: Vec<usize> = (0..DAYS)
            .filter(|day| (sound.excesses(size)[*day] - leaking.excesses(size)[*day] - 0.06).abs() < 1e-9)
            .collect();
        assert_eq!(lost, (leak.from..leak.from + leak.days).collect::<Vec<_>>());
    }
    #[allow(clippy::cast_precision_loss, reason = "four hundred")]
    let sd = (spread.iter().sum::<f64>() / spread.len() as f64).sqrt();
    assert!((sd - 0.025).abs() < 0.003, "{sd}");
}

/// A cause is written down on about half of the bikes, and only after the leak was mended.
#[test]
fn causes_are_told_of_half_of_the_leaks() {
    use families::advisers::{Advice, Adviser};
    use families::season::{Day, Outing, Size};

    /// Fits the proven jet and remembers on which morning it first read of a cause.
    struct Reader(Option<usize>);
    impl Adviser for Reader {
        fn advise(&mut self, today: &Day, history: &[Outing], _: &[Size], _: usize) -> Advice {
            if history.iter().any(|outing| outing.closed) {
                self.0 = self.0.or(Some(today.index));
            }
            history[0].size.into()
        }
    }

    let mut told = 0;
    for seed in 0..200 {
        let season = Season::new(Family::Seizures, seed, DAYS);
        let mut reader = Reader(None);
        season.ride(&mut reader);
        let leak = season.nature.leak.unwrap();
        if let Some(morning) = reader.0 {
            assert!(leak.told && morning == leak.from + leak.days);
            told += 1;
        }
    }
    assert!((70..=110).contains(&told), "{told}");
}

/// Proven jets lie about what their tuner likes, whatever that is.
#[test]
fn a_proven_jet_is_what_its_tuner_likes() {
    for (family, likes) in [(Family::Plain, 0.0), (Family::LikesRich, 0.025), (Family::LikesLean, -0.015)] {
        let excess: Vec<f64> = (0..300)
            .map(|seed| {
                let season = Season::new(family, seed, DAYS);
                let number = season.known.jets[season.known.proven].number;
                season.nature.machine.excess(number, &season.proven_air(), 0.0, 0)
            })
            .collect();
        #[allow(clippy::cast_precision_loss, reason = "three hundred")]
        let mean = excess.iter().sum::<f64>() / excess.len() as f64;
        assert!((mean - likes).abs() < 0.004, "{family:?}: {mean}");
        let off = excess.iter().filter(|excess| (*excess - likes).abs() > 2.5 * PHYSICALLY_RIGHT).count();
        assert!(off < 30, "{family:?}: {off} of 300 are far off");
    }
}
