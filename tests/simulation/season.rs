//! What a season brings, and riding it with an adviser.

use reedbook::advice::learning::verdicts::Judged;
use reedbook::air::Air;
use reedbook::engine::metering::{MeteringConditions, metering_factor};

use super::advisers::Adviser;
use super::chance::Chance;
use super::metal::Carburetor;
use super::truth::{DANGEROUSLY_LEAN, Eye};
use super::weather::{self, Weather};
use super::{Family, Nature};

/// Share of dangerously lean runs that seize (common practice, no source).
const SEIZES: f64 = 0.5;

/// An air leak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Leak {
    /// The day it opens.
    pub(crate) from: usize,
    /// For how many days it stays.
    pub(crate) days: usize,
    /// The fuel that the air it lets in wants, ln.
    pub(crate) loss: f64,
    /// Whether the record says, once it is mended, what made those runs lean.
    pub(crate) told: bool,
}

/// What is known of a bike before its season.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Known {
    /// Which bike it is; for names and dates only.
    pub(crate) seed: u64,
    /// Its carburetor: jets and needle as they can be measured.
    pub(crate) carburetor: Carburetor,
    /// Its box, the smallest jet first.
    pub(crate) jets: Vec<Size>,
    /// Place of the proven jet in the box.
    pub(crate) proven: usize,
}

/// A jet of the box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Size {
    /// What is stamped on it.
    pub(crate) number: f64,
    /// What it delivers over the proven jet by the program's theory, ln.
    pub(crate) delivered: f64,
}

/// A race day as it is known before the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Day {
    /// Which day of the season, from 0.
    pub(crate) index: usize,
    /// Its air as read.
    pub(crate) read: Air,
    /// ln K of that air against the baseline's, both as read.
    pub(crate) wanted: f64,
    /// What the instruments leave in doubt of ln K of one reading, a standard deviation.
    pub(crate) doubt: f64,
    /// Which engine is in the bike: 0 its own, 1 the spare.
    pub(crate) engine: usize,
}

/// A run as it stands in the record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Outing {
    /// The day; none for the two runs from which the baseline is proven.
    pub(crate) day: Option<usize>,
    /// Its air as read.
    pub(crate) read: Air,
    /// Place of its jet in the box.
    pub(crate) size: usize,
    /// What that jet delivers over the proven one by the program's theory, ln.
    pub(crate) delivered: f64,
    /// ln K of its air against the baseline's, both as read.
    pub(crate) wanted: f64,
    /// As in [`Day::doubt`].
    pub(crate) doubt: f64,
    /// What the tuner said.
    pub(crate) judged: Judged,
    /// Which engine ran.
    pub(crate) engine: usize,
    /// Whether the engine seized.
    pub(crate) seized: bool,
    /// Whether the record says by now what made it lean, and that it is mended.
    pub(crate) closed: bool,
}

/// What a day really brings.
#[derive(Debug, Clone, Copy, PartialEq)]
struct TrueDay {
    day: Day,
    air: Air,
    through: f64,
    scatter: f64,
    leak: f64,
    eye: Eye,
    seizes: bool,
}

/// One ridden day, for the scores.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Run {
    /// Fuel too much, ln.
    pub(crate) excess: f64,
    /// Whether a leak was open: nobody can know of one on its first day.
    pub(crate) leaking: bool,
    /// The chance of lean that the adviser gave it, where it gave one.
    pub(crate) foretold_lean: Option<f64>,
}

/// A bike, its tuner, and all that a season will bring.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Season {
    /// What is known of the bike.
    pub(crate) known: Known,
    /// What is true of it.
    pub(crate) nature: Nature,
    proven_air: Air,
    baseline: Vec<Outing>,
    days: Vec<TrueDay>,
}

impl Season {
    /// The season of a seed.
    pub(crate) fn new(family: Family, seed: u64, days: usize) -> Self {
        Self::of(Nature::drawn(family, seed, days), seed, days)
    }

    /// The season that a seed brings to a bike.
    pub(crate) fn of(nature: Nature, seed: u64, days: usize) -> Self {
        let (first, airs) = weather::season(&mut Chance::new(seed, 3), days, nature.misreading);
        let proven = proven(&nature, &first, &mut Chance::new(seed, 4));
        let known = known(&nature, proven, seed);
        let mut chance = Chance::new(seed, 5);
        let days = airs
            .iter()
            .enumerate()
            .map(|(index, weather)| {
                let leak = nature.leak.filter(|leak| (leak.from..leak.from + leak.days).contains(&index));
                #[allow(clippy::cast_precision_loss, reason = "some days")]
                let through = index as f64 / (airs.len() - 1).max(1) as f64;
                TrueDay {
                    day: Day {
                        index,
                        read: weather.read,
                        wanted: ln_factor(&first.read, &weather.read),
                        doubt: weather::doubt(&weather.read),
                        engine: nature.swaps.iter().filter(|swap| **swap <= index).count() % 2,
                    },
                    air: weather.air,
                    through,
                    scatter: nature.machine.day_scatter(&mut chance),
                    leak: leak.map_or(0.0, |leak| leak.loss),
                    eye: nature.tuner.eye(&mut chance),
                    seizes: chance.happens(SEIZES),
                }
            })
            .collect();
        let run = Outing {
            day: None,
            read: first.read,
            size: proven,
            delivered: 0.0,
            wanted: 0.0,
            doubt: weather::doubt(&first.read),
            judged: Judged::Right,
            engine: 0,
            seized: false,
            closed: false,
        };
        Self { known, nature, proven_air: first.air, baseline: vec![run; 2], days }
    }

    /// Rides the season with an adviser.
    pub(crate) fn ride(&self, adviser: &mut dyn Adviser) -> Vec<Run> {
        let mut history = self.baseline.clone();
        let mut on_bike = self.known.proven;
        let mut runs = Vec::new();
        for day in &self.days {
            self.close_causes(day.day.index, &mut history);
            let advice = adviser.advise(&day.day, &history, &self.known.jets, on_bike);
            on_bike = advice.size.min(self.known.jets.len() - 1);
            let excess = self.excess(day, on_bike);
            let seized = excess < -DANGEROUSLY_LEAN && day.seizes;
            let judged = if seized { Judged::Lean } else { self.nature.tuner.says(excess, day.eye) };
            let Day { index, read, wanted, doubt, engine } = day.day;
            let delivered = self.known.jets[on_bike].delivered;
            history.push(Outing {
                day: Some(index),
                read,
                size: on_bike,
                delivered,
                wanted,
                doubt,
                judged,
                engine,
                seized,
                closed: false,
            });
            runs.push(Run { excess, leaking: day.leak > 0.0, foretold_lean: advice.foretold_lean });
        }
        runs
    }

    /// What a jet would have come to on each day, ln fuel too much.
    pub(crate) fn excesses(&self, size: usize) -> Vec<f64> {
        self.days.iter().map(|day| self.excess(day, size)).collect()
    }

    /// The days as they are known.
    pub(crate) fn days(&self) -> impl Iterator<Item = &Day> {
        self.days.iter().map(|day| &day.day)
    }

    /// The air in which the baseline was proven, as it was.
    pub(crate) fn proven_air(&self) -> Air {
        self.proven_air
    }

    /// The air of each day as it was.
    pub(crate) fn airs(&self) -> impl Iterator<Item = &Air> {
        self.days.iter().map(|day| &day.air)
    }

    fn excess(&self, day: &TrueDay, size: usize) -> f64 {
        let number = self.known.jets[size].number;
        self.nature.machine.excess(number, &day.air, day.through, day.day.engine) - day.scatter - day.leak
    }

    /// On the morning after the leak was mended the record may come to say what made its runs lean.
    fn close_causes(&self, today: usize, history: &mut [Outing]) {
        let Some(leak) = self.nature.leak.filter(|leak| leak.told && leak.from + leak.days == today) else {
            return;
        };
        let lean = |outing: &&mut Outing| matches!(outing.judged, Judged::Lean | Judged::SlightlyLean);
        for outing in history.iter_mut().filter(lean) {
            outing.closed |= outing.day.is_some_and(|day| day >= leak.from);
        }
    }
}

/// ln K by the program's own theory, the fuel being the same.
fn ln_factor(from: &Air, to: &Air) -> f64 {
    let conditions = |air: &Air| MeteringConditions {
        moist_density: air.density(),
        dry_density: air.dry_density(),
        fuel_density: 745.0,
        stoichiometric_ratio: 14.7,
        oil_mass_fraction: 0.0,
        lambda: 1.0,
    };
    metering_factor(&conditions(from), &conditions(to)).expect("airs of this earth").total.ln()
}

/// The place in the box of a jet that its tuner called right twice on one day, each time by his own eye and on a day of its
/// own scatter: somewhere about what he likes, as proven jets are.
fn proven(nature: &Nature, first: &Weather, chance: &mut Chance) -> usize {
    let numbers = nature.machine.carburetor.numbers();
    // Nobody proves a jet that is far from what he likes, however long he tries.
    let likely: Vec<usize> = (0..numbers.len())
        .filter(|size| {
            let excess = nature.machine.excess(numbers[*size], &first.air, 0.0, 0);
            (excess - nature.tuner.centre).abs() < 0.06
        })
        .collect();
    loop {
        let size = likely[chance.below(likely.len())];
        let mut right = || {
            let scatter = nature.machine.day_scatter(chance);
            let excess = nature.machine.excess(numbers[size], &first.air, 0.0, 0) - scatter;
            nature.tuner.says(excess, nature.tuner.eye(chance)) == Judged::Right
        };
        if right() && right() {
            return size;
        }
    }
}

fn known(nature: &Nature, proven: usize, seed: u64) -> Known {
    let carburetor = nature.machine.carburetor;
    let numbers = carburetor.numbers();
    let passes = |number: f64| carburetor.effective_mm2(number, 1.0);
    let of_proven = passes(numbers[proven]);
    let size = |number: f64| Size { number, delivered: (passes(number) / of_proven).ln() };
    Known { seed, carburetor, jets: numbers.iter().copied().map(size).collect(), proven }
}
