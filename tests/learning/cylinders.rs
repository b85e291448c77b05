//! What the cylinders of one engine tell each other: a spread between them pools what is learned, neither nothing nor all of it.
//! Invented twins with known truths, with fixed seeds.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly
#![allow(clippy::print_stdout)] // the figures are worth reading: cargo test -- --nocapture

use crate::riding;

use reedbook::advice::learning::Settings;
use reedbook::advice::learning::kinship::Spreads;
use reedbook::advice::learning::posterior::{Belief, Posterior, Prior};
use reedbook::advice::learning::verdicts::{Judged, Spoken};
use riding::{Bike, Rider, STEP, in_two_halves, jet_near};

const CENTRE: Belief = Belief { mean: 0.0, sd: 0.05 };
const EXPONENT: Belief = Belief { mean: 1.0, sd: 0.18 };

/// Doubt of a day's air, ln fuel: one barometer for both cylinders.
const AIR: f64 = 0.004;

/// Of ten runs so many were judged at a cylinder.
const JUDGED_IN_TEN: u64 = 8;

/// The spread between cylinders that the program reckons with.
fn spread() -> f64 {
    Settings::default().spreads.cylinders
}

fn prior(cylinders: f64) -> Prior {
    Prior { spreads: Spreads { cylinders, ..Spreads::NONE }, ..Prior::new(CENTRE, EXPONENT) }
}

/// What is made of a twin's record.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Model {
    /// Each cylinder with an offset of its own.
    Pooled,
    /// Each cylinder as a bike of its own.
    Apart,
    /// Both as one.
    AsOne,
}

impl Model {
    fn learned(self, record: &[Spoken]) -> Posterior {
        let own: Vec<Spoken> = record.iter().filter(|run| run.cylinder == 0).copied().collect();
        let as_one: Vec<Spoken> = record.iter().map(|run| Spoken { cylinder: 0, ..*run }).collect();
        match self {
            Self::Pooled => Posterior::new(&prior(spread()), record),
            Self::Apart => Posterior::new(&prior(0.0), &own),
            Self::AsOne => Posterior::new(&prior(0.0), &as_one),
        }
        .unwrap()
    }
}

/// A record as it is heard by one of its cylinders: its own runs are those of cylinder 0.
fn heard_by(cylinder: u16, record: &[Spoken]) -> Vec<Spoken> {
    record.iter().map(|run| Spoken { cylinder: u16::from(run.cylinder != cylinder), ..*run }).collect()
}

fn at(cylinder: u16, delivered: f64, judged: Judged) -> Spoken {
    Spoken { cylinder, ..Spoken::plain(delivered, 0.0, judged) }
}

#[test]
fn a_neighbour_moves_a_cylinder_a_little_and_its_own_run_most() {
    let amount = |model: Model, record: &[Spoken]| model.learned(record).right_amount(0.0).mean;
    let right: Vec<Spoken> = (0..6).map(|run| at(run % 2, 0.0, Judged::Right)).collect();
    // The neighbour was lean twice since.
    let lean = [at(1, 0.0, Judged::Lean), at(1, 0.0, Judged::Lean)];
    let record = [right.as_slice(), &lean].concat();
    let [apart, pooled, as_one] =
        [Model::Apart, Model::Pooled, Model::AsOne].map(|model| amount(model, &record));
    assert!(apart < pooled && pooled < as_one, "{apart} {pooled} {as_one}");
    let itself = amount(Model::Pooled, &heard_by(1, &record));
    assert!(itself > as_one && as_one > pooled, "{itself} is moved most, {pooled} a little");
}

#[test]
fn a_neighbour_that_shares_no_fuel_of_its_own_leaves_the_amount_alone() {
    let record = [
        at(0, 0.0, Judged::Right),
        at(1, 0.1, Judged::Right),
        at(0, 0.0, Judged::Right),
        at(1, 0.1, Judged::Right),
    ];
    let amount = |cylinders: f64| Posterior::new(&prior(cylinders), &record).unwrap().right_amount(0.0).mean;
    let apart = Model::Apart.learned(&record).right_amount(0.0).mean;
    // From the spread of all bikes on nothing is in common but the exponent and the man who judges.
    assert!((amount(0.05) - apart).abs() < 0.002, "{} is not {apart}", amount(0.05));
    assert!(amount(0.001) > apart + 0.02);
}

#[test]
fn a_day_of_bad_air_counts_once_for_both_cylinders() {
    let lean = |cylinder: u16, days: f64| Spoken { doubt: 0.05, days, ..at(cylinder, 0.0, Judged::Lean) };
    let moved = |days: f64| {
        let record = [lean(1, days), lean(0, 0.0)];
        Model::Pooled.learned(&record).right_amount(0.0).mean
    };
    assert!(
        moved(0.0) < moved(1.0),
        "two cylinders of one day are no two days: {} {}",
        moved(0.0),
        moved(1.0)
    );
}

/// Two cylinders of one engine, drawn from the very prior that is reckoned with.
fn twin(rider: &mut Rider) -> [Bike; 2] {
    let common = Belief { sd: (CENTRE.sd.powi(2) - spread().powi(2)).sqrt(), ..CENTRE };
    let bike = rider.bike(&Prior { centre: common, ..prior(0.0) });
    [0, 1].map(|_| Bike { centre: bike.centre + spread() * rider.normal(), ..bike })
}

/// A run of both cylinders in one air, with what was said where something was.
fn outing(
    rider: &mut Rider,
    twin: &[Bike; 2],
    jets: [f64; 2],
    (wanted, read, days): (f64, f64, f64),
) -> Vec<Spoken> {
    let mut said = Vec::new();
    for (number, (bike, delivered)) in (0..).zip(twin.iter().zip(jets)) {
        let rich_by = rider.rich_by(bike, delivered, wanted);
        let judged = rider.verdict(bike, rich_by);
        if rider.below(10) < JUDGED_IN_TEN {
            said.push(Spoken {
                cylinder: number,
                days,
                doubt: AIR,
                ..Spoken::plain(delivered, read, judged)
            });
        }
    }
    said
}

/// Whether the 90 % interval of the right amount in a new air held the truth, by each model.
#[allow(clippy::cast_precision_loss, reason = "outings of a season")]
fn held(seed: u64) -> [bool; 3] {
    let mut rider = Rider::new(seed);
    let twin = twin(&mut rider);
    let outings = 5 + rider.below(8);
    let mut moved = [0.0; 2];
    let mut record = Vec::new();
    for number in 0..outings {
        let wanted = rider.air();
        let read = wanted + AIR * rider.normal();
        let said = outing(
            &mut rider,
            &twin,
            moved.map(|moved| jet_near(read + moved)),
            (wanted, read, (outings - 1 - number) as f64),
        );
        for run in &said {
            moved[usize::from(run.cylinder)] += STEP
                * match run.judged {
                    Judged::Lean => 2.0,
                    Judged::SlightlyLean => 1.0,
                    Judged::Right => 0.0,
                    Judged::SlightlyRich => -1.0,
                    Judged::Rich => -2.0,
                };
        }
        record.extend(said);
    }
    let wanted = rider.air();
    [Model::Pooled, Model::Apart, Model::AsOne].map(|model| {
        let (low, high) = model.learned(&record).right_interval(wanted, 0.9);
        (low..=high).contains(&twin[0].amount(wanted))
    })
}

#[allow(clippy::cast_precision_loss, reason = "counts of bikes")]
fn calibrated(twins: u64) {
    let told = in_two_halves(70_000..70_000 + twins, held);
    let share = |model: usize| told.iter().filter(|held| held[model]).count() as f64 / twins as f64;
    let [pooled, apart, as_one] = [0, 1, 2].map(share);
    println!(
        "90 % intervals of {twins} twins hold: pooled {pooled:.3}, each apart {apart:.3}, as one {as_one:.3}"
    );
    let band = 0.03 * (1000.0 / twins as f64).sqrt();
    assert!((pooled - 0.9).abs() <= band, "{pooled} is not within {band} of 0.9");
    assert!(as_one < pooled, "as one bike they promise too much: {as_one}");
}

/// What a season brings where one model chooses the jets: shares of lean and of rich runs.
#[allow(clippy::cast_precision_loss, reason = "runs of a season")]
fn season(seed: u64, (model, days): (Model, u64)) -> (f64, f64) {
    let mut rider = Rider::new(seed);
    // The baseline was right at both: one that was not is somebody else's.
    let (twin, mut record) = loop {
        let twin = twin(&mut rider);
        let said = outing(&mut rider, &twin, [0.0; 2], (0.0, 0.0, days as f64));
        if said.len() == 2 && said.iter().all(|run| run.judged == Judged::Right) {
            break (twin, said);
        }
    };
    let (mut lean, mut rich) = (0.0, 0.0);
    for day in 0..days {
        let wanted = rider.air();
        let read = wanted + AIR * rider.normal();
        let jets = [0, 1].map(|cylinder| {
            let least = model.learned(&heard_by(cylinder, &record)).least_delivered(read, 0.05);
            (least / STEP - 1e-9).ceil() * STEP
        });
        for (bike, delivered) in twin.iter().zip(jets) {
            let rich_by = delivered - bike.amount(wanted);
            lean += f64::from(u8::from(rich_by < -bike.right));
            rich += f64::from(u8::from(rich_by > bike.right));
        }
        record.extend(outing(&mut rider, &twin, jets, (wanted, read, (days - 1 - day) as f64)));
    }
    (lean / (2 * days) as f64, rich / (2 * days) as f64)
}

/// A lean run costs so many times a rich one (common practice, no source).
const LEAN_COSTS: f64 = 5.0;

#[allow(clippy::cast_precision_loss, reason = "counts of bikes")]
fn lean_days(seasons: u64, days: u64) -> [(f64, f64); 3] {
    [Model::Pooled, Model::Apart, Model::AsOne].map(|model| {
        let all = in_two_halves(80_000..80_000 + seasons, |seed| season(seed, (model, days)));
        let mean = |of: fn(&(f64, f64)) -> f64| all.iter().map(of).sum::<f64>() / seasons as f64;
        let (lean, rich) = (mean(|one| one.0), mean(|one| one.1));
        println!(
            "{model:?}: {:.1} % of the runs lean, {:.1} % rich, cost {:.3} in {seasons} seasons of {days} days",
            100.0 * lean,
            100.0 * rich,
            LEAN_COSTS * lean + rich
        );
        (lean, rich)
    })
}

#[test]
fn intervals_of_twins_hold_what_they_say() {
    calibrated(80);
}

#[test]
#[ignore = "a thousand twins: by hand"]
fn intervals_of_all_twins_hold_what_they_say() {
    calibrated(1000);
}

#[test]
fn a_pooled_twin_is_seldom_lean() {
    let [pooled, _, _] = lean_days(6, 5);
    assert!(pooled.0 <= 0.05 + 0.05, "{pooled:?}");
}

#[test]
#[ignore = "hundreds of seasons: by hand"]
fn pooling_costs_less_than_each_apart_and_than_both_as_one() {
    let [pooled, apart, as_one] = lean_days(150, 12);
    let cost = |(lean, rich): (f64, f64)| LEAN_COSTS * lean + rich;
    assert!(cost(pooled) < cost(apart) && cost(pooled) < cost(as_one));
    assert!(pooled.0 <= 0.05 && pooled.0 < as_one.0, "{pooled:?} {as_one:?}");
}
