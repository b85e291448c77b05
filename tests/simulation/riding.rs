//! Invented bikes, tuners and seasons for the tests of learning: truths are drawn, verdicts follow from them.
#![allow(dead_code)] // each test file uses its own part of this

use std::ops::Range;
use std::thread;

use reedbook::advice::learning::posterior::{Belief, Prior};
use reedbook::advice::learning::verdicts::{Judged, Spoken};

/// ln fuel from one jet of the box to the next: 2.5 numbers by bore at 160, half of what the bore alone would
/// give in series with the needle (common practice, no source).
pub(crate) const STEP: f64 = 0.016;

/// Share of verdicts that are a slip.
const SLIPS: f64 = 0.01;

/// A bike with its tuner, as they really are.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bike {
    pub(crate) centre: f64,
    pub(crate) exponent: f64,
    pub(crate) scatter: f64,
    pub(crate) right: f64,
    pub(crate) clear: f64,
    /// What the square of ln K adds; the model knows none.
    pub(crate) curvature: f64,
    /// What is added to the exponent in air that wants less than 0.92; the model knows none.
    pub(crate) kink: f64,
}

impl Bike {
    /// The fuel that is right in an air, the scatter of single runs left out.
    pub(crate) fn amount(&self, wanted: f64) -> f64 {
        let thin = (wanted - 0.92_f64.ln()).min(0.0);
        self.centre + self.exponent * wanted + self.curvature * wanted * wanted + self.kink * thin
    }
}

/// Chance, and the man who rides and judges.
pub(crate) struct Rider(fastrand::Rng);

impl Rider {
    pub(crate) fn new(seed: u64) -> Self {
        Self(fastrand::Rng::with_seed(seed))
    }

    pub(crate) fn below(&mut self, count: u64) -> u64 {
        self.0.u64(0..count)
    }

    /// A draw of the standard normal distribution (Box and Muller).
    pub(crate) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.0.f64()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.0.f64()).cos()
    }

    fn draw(&mut self, belief: Belief) -> f64 {
        belief.mean + belief.sd * self.normal()
    }

    /// A bike and a tuner, drawn from what is said of all.
    pub(crate) fn bike(&mut self, all: &Prior) -> Bike {
        let right = self.draw(all.right).exp();
        Bike {
            centre: self.draw(all.centre),
            exponent: self.draw(all.exponent),
            scatter: self.draw(all.scatter).exp(),
            right,
            clear: right * (1.0 + self.draw(all.clear).exp()),
            curvature: 0.0,
            kink: 0.0,
        }
    }

    /// ln K of a day's air; K from 0.85 to 1.1.
    pub(crate) fn air(&mut self) -> f64 {
        (0.85 + 0.25 * self.0.f64()).ln()
    }

    /// By how much a run with so much fuel in an air is too rich, ln.
    pub(crate) fn rich_by(&mut self, bike: &Bike, delivered: f64, wanted: f64) -> f64 {
        delivered - bike.amount(wanted) - bike.scatter * self.normal()
    }

    /// What is said of a run that was too rich by so much.
    pub(crate) fn verdict(&mut self, bike: &Bike, rich_by: f64) -> Judged {
        let cuts = [-bike.clear, -bike.right, bike.right, bike.clear];
        let said = cuts.into_iter().filter(|cut| rich_by > *cut).count();
        let said = if self.0.f64() < SLIPS { self.0.usize(0..5) } else { said };
        Judged::ALL[said]
    }

    /// A run with so much fuel in an air, and what is said of it.
    pub(crate) fn run(&mut self, bike: &Bike, delivered: f64, wanted: f64) -> Spoken {
        let rich_by = self.rich_by(bike, delivered, wanted);
        Spoken::plain(delivered, wanted, self.verdict(bike, rich_by))
    }

    /// A season of a tuner who fits the jet nearest to theory, moved by what he heard: one size a little, two
    /// clearly.
    pub(crate) fn season(&mut self, bike: &Bike, outings: u64) -> Vec<Spoken> {
        let mut moved = 0.0;
        (0..outings)
            .map(|_| {
                let wanted = self.air();
                let run = self.run(bike, jet_near(wanted + moved), wanted);
                moved += STEP
                    * match run.judged {
                        Judged::Lean => 2.0,
                        Judged::SlightlyLean => 1.0,
                        Judged::Right => 0.0,
                        Judged::SlightlyRich => -1.0,
                        Judged::Rich => -2.0,
                    };
                run
            })
            .collect()
    }
}

/// What the jet in the box passes that is nearest to this fuel, ln.
pub(crate) fn jet_near(fuel: f64) -> f64 {
    (fuel / STEP).round() * STEP
}

/// Does the work of each seed, on two threads; the answers are in the seeds' order.
pub(crate) fn in_two_halves<T: Send>(seeds: Range<u64>, work: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let middle = u64::midpoint(seeds.start, seeds.end);
    let work = &work;
    thread::scope(|scope| {
        let first = scope.spawn(move || (seeds.start..middle).map(work).collect::<Vec<T>>());
        let second: Vec<T> = (middle..seeds.end).map(work).collect();
        let mut all = first.join().expect("the first half ends");
        all.extend(second);
        all
    })
}
