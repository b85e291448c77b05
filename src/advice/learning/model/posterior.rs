//! What a bike's own record says of the fuel it wants: a posterior over bike and tuner, and the chances of
//! the next run.
//!
//! In ln of fuel, not of jet numbers. A run delivers d; its air and fuel want w, the baseline's being 0. The
//! right amount is c + m w + e: the exponent m is the bike's, the centre c the bike's as it stands, and runs of another
//! combination or of long ago share only a part of it (see `kinship`); e scatters from day to day. The verdict is cut
//! from d less that amount (see `verdicts`). Scatter and the widths of the verdicts are unknown and summed over, on a grid
//! in three dimensions laid where the record is likely; centre and exponent are normal for each of its points, by expectation
//! propagation (see `propagation`). Chances of a record that a rider could leave are within 0.03 of the sums that they stand for, mostly
//! within 0.01; where verdicts exclude one another, within 0.22 (`tests/learning/posterior.rs`).

use super::foretold::ForetoldRun;
use super::grid::{USUAL_SCATTERS, WIDE_SCATTERS, places, reaches_the_edge, spread_of, surveyed};
use super::kinship::{Kin, Roots, Spreads, own_places};
use super::point::{Point, off_right, weighed};
use super::propagation::hear;
use super::share::shared_out;
use super::verdicts::{Allowed, Judged, LearningError, Spoken, Tuner};

/// A mean and a standard deviation: of a normal prior, or the summary of a posterior.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// The mean.
    pub mean: f64,
    /// The standard deviation.
    pub sd: f64,
}

/// What is believed before the record: independent normal distributions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Of ln fuel that the baseline's own air wants over what the baseline delivers, -2 to 2.
    pub centre: Belief,
    /// Of the power with which the right amount follows what the air asks for; 1 is theory.
    pub exponent: Belief,
    /// Of ln scatter: the standard deviation, in ln fuel, of what one run wants beyond what its air explains.
    pub scatter: Belief,
    /// Of ln half-width of right: the fuel to either side that is still judged right.
    pub right: Belief,
    /// Of ln(clear/right - 1): by how much more than that the fuel is off when it is judged clearly lean or
    /// rich.
    pub clear: Belief,
    /// How unlike the runs of other combinations and other days are.
    pub spreads: Spreads,
    /// Doubt of what today's air asks for, from its reading: a standard deviation in ln fuel, 0 to 1.
    pub today: f64,
}

/// Half of the bikes scatter by less than this, ln fuel (common practice, no source).
const USUAL_SCATTER: f64 = 0.012;

/// Half of the tuners call less than this right, ln fuel (common practice, no source).
const USUAL_RIGHT: f64 = 0.02;

/// Half of the tuners say clearly lean or rich from less than this much beyond right, in half-widths of right
/// (common practice, no source).
const USUAL_BEYOND: f64 = 1.5;

/// By how much the doubts are widened. Were bikes and tuners as unlike as the doubts say, none would be
/// needed; but those figures are guesses, and where the truth is spread 1.3 times as wide, 90 % intervals
/// from a prior taken at its word hold too little (`tests/learning/calibration.rs`).
const FOR_UNLIKE_BIKES: f64 = 1.25;

impl Prior {
    /// With the usual scatter and widths of verdicts: medians 1.2 % and 2 % of fuel and 1.5, standard
    /// deviations of their logarithms 0.45, 0.4 and 0.35 (common practice, no source); one combination that stays as it is.
    ///
    /// Those three standard deviations and the one given for the exponent are widened 1.25 times, because
    /// they are guesses themselves; the fields say what is reckoned with.
    pub fn new(centre: Belief, exponent: Belief) -> Self {
        let widened = |mean: f64, sd: f64| Belief { mean, sd: FOR_UNLIKE_BIKES * sd };
        Self {
            centre,
            exponent: widened(exponent.mean, exponent.sd),
            scatter: widened(USUAL_SCATTER.ln(), 0.45),
            right: widened(USUAL_RIGHT.ln(), 0.4),
            clear: widened(USUAL_BEYOND.ln(), 0.35),
            spreads: Spreads::NONE,
            today: 0.0,
        }
    }

    fn roots(&self) -> Roots {
        Roots { centre: self.centre.sd, exponent: self.exponent.sd }
    }

    /// A tuner who lies so many standard deviations from the usual one in each respect.
    fn tuner(&self, [scatter, right, clear]: [f64; 3]) -> Tuner {
        let at = |belief: Belief, place: f64| (belief.mean + belief.sd * place).exp();
        let (scatter, right) = (at(self.scatter, scatter), at(self.right, right));
        Tuner { scatter, right, clear: right * (1.0 + at(self.clear, clear)), tails: self.spreads.tails }
    }

    fn check(&self) -> Result<(), LearningError> {
        let smallest = 1e-6;
        for (belief, mean, sd, (low, high), widest) in [
            (self.centre, "expected centre", "doubt of the centre", (-2.0, 2.0), 2.0),
            (self.exponent, "expected exponent", "doubt of the exponent", (-1.0, 5.0), 3.0),
            (self.scatter, "expected ln scatter", "doubt of the scatter", (-10.0, 0.0), 2.0),
            (self.right, "expected ln width of right", "doubt of the width of right", (-10.0, 0.0), 2.0),
            (
                self.clear,
                "expected ln width beyond right",
                "doubt of the width beyond right",
                (-5.0, 5.0),
                2.0,
            ),
        ] {
            let help = "Give what is believed before any run, in ln of fuel.";
            Allowed { field: mean, low, high, help }.check(belief.mean)?;
            let help = "Give a standard deviation above nought.";
            Allowed { field: sd, low: smallest, high: widest, help }.check(belief.sd)?;
        }
        let help = "Give a standard deviation in ln fuel, or a share.";
        let spreads = &self.spreads;
        let mut spread = vec![
            ("slow drift", spreads.drift),
            ("drift with running", spreads.wear),
            ("change between two runs", spreads.change),
            ("doubt of today's air", self.today),
            ("share of odd days", spreads.tails.share),
            ("spread between cylinders", spreads.cylinders),
        ];
        spread.extend(spreads.parts.map(|sd| ("spread between parts", sd)));
        for (field, sd) in spread {
            Allowed { field, low: 0.0, high: 1.0, help }.check(sd)?;
        }
        let help =
            "Give a chance below one in five: there are four runs before which a change is looked for.";
        Allowed { field: "chance of a change", low: 0.0, high: 0.2, help }.check(spreads.change_chance)?;
        let help = "Give a number of days above nought.";
        for days in [spreads.half_life_days, spreads.half_life_running] {
            Allowed { field: "half-life", low: 0.1, high: 1e6, help }.check(days)?;
        }
        Ok(())
    }
}

/// What the next run may be; the three sum to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// Too little fuel to be judged right, a little or clearly.
    pub lean: f64,
    /// Right.
    pub right: f64,
    /// Too much fuel to be judged right, a little or clearly.
    pub rich: f64,
}

impl Chances {
    /// The same with at least so much of lean; right and rich share what is left as they did.
    #[must_use]
    pub fn with_at_least(self, lean: f64) -> Self {
        if lean <= self.lean || self.lean >= 1.0 {
            return self;
        }
        let left = (1.0 - lean).max(0.0) / (1.0 - self.lean);
        Self { lean, right: self.right * left, rich: self.rich * left }
    }
}

/// The limits within which a chance of lean can be asked for.
const LEAN_LIMITS: (f64, f64) = (1e-4, 1.0 - 1e-4);

/// Newest runs before each of which a sudden change is thought of.
pub(in crate::advice::learning) const CHANGES_THOUGHT_OF: usize = 4;

/// A sudden change is thought of when one of those runs had less than this chance by all the others (common practice, no source).
const ODD: f64 = 0.15;

/// How dense the grid of tuners is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fineness {
    Fine,
    Coarse,
}

/// What is believed after the record.
#[derive(Debug, Clone)]
pub struct Posterior {
    prior: Prior,
    points: Vec<Point>,
    /// The same where something changed suddenly before the newest run, before the newest two, and so on, whatever the chance of that;
    /// empty where no run was odd enough to think of it.
    changed: Vec<Vec<Point>>,
    runs: Vec<Spoken>,
}

impl Posterior {
    /// Takes in a record, oldest run first.
    pub fn new(prior: &Prior, record: &[Spoken]) -> Result<Self, LearningError> {
        Self::learn(prior, record, Fineness::Fine)
    }

    /// The same on a thinner grid, for what need not be known to a hundredth.
    pub fn coarse(prior: &Prior, record: &[Spoken]) -> Result<Self, LearningError> {
        Self::learn(prior, record, Fineness::Coarse)
    }

    /// The same record in an air that is doubted by so much, a standard deviation in ln fuel: what the runs said does not hang on it.
    pub fn doubting(self, today: f64) -> Result<Self, LearningError> {
        let prior = Prior { today, ..self.prior };
        prior.check()?;
        Ok(Self { prior, ..self })
    }

    fn learn(prior: &Prior, record: &[Spoken], fineness: Fineness) -> Result<Self, LearningError> {
        prior.check()?;
        for run in record {
            run.check()?;
        }
        let mut learned =
            Self { prior: *prior, points: Vec::new(), changed: Vec::new(), runs: record.to_vec() };
        let mut points = learned.points_with(None, fineness);
        learned.take(points.clone());
        let own = own_places(record);
        let newest = CHANGES_THOUGHT_OF.min(own.len().saturating_sub(1));
        let chance = prior.spreads.change_chance;
        let odd = (1..=newest).any(|back| {
            let run = own[own.len() - back];
            learned.foretold(run).given(record[run].judged) < ODD
        });
        if odd && chance > 0.0 {
            #[expect(clippy::cast_precision_loss, reason = "four at most")]
            let none = 1.0 - chance * newest as f64;
            for point in &mut points {
                point.share += none.ln();
            }
            for since in 1..=newest {
                let changed = learned.points_with(Some(since), fineness);
                learned.changed.push(weighed(changed.clone()));
                points.extend(changed.into_iter().map(|mut point| {
                    point.share += chance.ln();
                    point
                }));
            }
            learned.take(points);
        }
        Ok(learned)
    }

    /// Takes points whose shares are logarithms.
    fn take(&mut self, points: Vec<Point>) {
        self.points = weighed(points);
    }

    /// The points of the grid under one assumption about a change, their shares as logarithms.
    fn points_with(&self, since_change: Option<usize>, fineness: Fineness) -> Vec<Point> {
        let kin = Kin::new(self.prior.roots(), &self.prior.spreads, &self.runs, since_change);
        let at = |place: &[f64; 3]| {
            let tuner = self.prior.tuner(*place);
            let prior = [self.prior.centre.mean, self.prior.exponent.mean];
            let heard = hear(&kin, &self.runs, &tuner, prior);
            let share = heard.ln_evidence - 0.5 * place.iter().map(|place| place * place).sum::<f64>();
            Point { share, tuner, heard, since_change }
        };
        let height = |place: &[f64; 3]| at(place).share;
        let mut survey = surveyed(USUAL_SCATTERS);
        let mut heights = shared_out(&survey, 8, height);
        // A record that contradicts itself asks for a scatter far above the usual.
        if reaches_the_edge(&heights) {
            let wider = surveyed(WIDE_SCATTERS);
            heights.extend(shared_out(&wider, 8, height));
            survey.extend(wider);
        }
        let (mean, sd) = spread_of(&survey, &heights);
        let (step, reach) = match fineness {
            Fineness::Fine => (1.15, [2, 2, 1]),
            Fineness::Coarse => (1.1, [1, 1, 0]),
        };
        let grid = places([mean[0], mean[1], 0.0], [step * sd[0], step * sd[1], 1.2], reach);
        // A sum over a grid stands for an integral: its cell counts when another grid is set beside it.
        let cell = (sd[0] * sd[1]).ln();
        let mut points = shared_out(&grid, 8, at);
        for point in &mut points {
            point.share += cell;
        }
        points
    }

    /// A run of the record, by its place.
    pub(in crate::advice::learning) fn run(&self, place: usize) -> &Spoken {
        &self.runs[place]
    }

    /// Chances of a new run with `delivered` in an air that wants `wanted` (ln fuel, -2 to 2), slips of the
    /// tongue left out.
    pub fn chances(&self, delivered: f64, wanted: f64) -> Chances {
        self.chances_within(delivered, wanted, 0.0)
    }

    /// The same where `more` is doubted besides: a standard deviation in ln fuel.
    pub fn chances_within(&self, delivered: f64, wanted: f64, more: f64) -> Chances {
        let [lean, rich, _] = self.off_right(delivered, wanted, more);
        Chances { lean, right: (1.0 - lean - rich).max(0.0), rich }
    }

    /// The chance that the run would be judged clearly rich.
    pub fn clearly_rich(&self, delivered: f64, wanted: f64, more: f64) -> f64 {
        self.off_right(delivered, wanted, more)[2]
    }

    /// The chance of lean where something changed suddenly before so many of the newest runs of the cylinder asked about; none where no
    /// run was odd enough to think of that.
    pub fn lean_if_changed(&self, since: usize, delivered: f64, wanted: f64) -> Option<f64> {
        let points = self.changed.get(since.checked_sub(1)?)?;
        Some(off_right(points, (delivered, wanted), self.prior.today.powi(2))[0])
    }

    /// Short of right, over it, and clearly over it.
    fn off_right(&self, delivered: f64, wanted: f64, more: f64) -> [f64; 3] {
        off_right(&self.points, (delivered, wanted), self.prior.today.powi(2) + more.powi(2))
    }

    /// The smallest ln fuel whose chance of lean is at most `lean_limit`, to 1e-6; the limit is held to
    /// 0.0001 to 0.9999.
    pub fn least_delivered(&self, wanted: f64, lean_limit: f64) -> f64 {
        let limit = lean_limit.clamp(LEAN_LIMITS.0, LEAN_LIMITS.1);
        let amount = self.right_amount(wanted);
        let (scatter, right) = (self.scatter(), self.half_width());
        let reach = amount.sd + scatter.mean + scatter.sd + right.mean + right.sd;
        // Sixty-four reaches hold every limit but by far; the bound keeps not-a-number from looping.
        let lean = |delivered: f64| self.chances(delivered, wanted).lean;
        let enough = |step: &f64| lean(amount.mean + step * reach) <= limit;
        let widths = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0];
        let mut high = amount.mean + reach * widths.into_iter().find(enough).unwrap_or(64.0);
        let low = widths.into_iter().map(|width| -width).find(|step| !enough(step)).unwrap_or(-64.0);
        let mut low = amount.mean + reach * low;
        while high - low > 1e-6 {
            let middle = f64::midpoint(low, high);
            if lean(middle) <= limit {
                high = middle;
            } else {
                low = middle;
            }
        }
        high
    }

    /// The right amount c + m `wanted`, ln fuel over the baseline's, the scatter of single runs left out.
    pub fn right_amount(&self, wanted: f64) -> Belief {
        self.belief(|point| point.amount(wanted))
    }

    /// The interval that holds the right amount with the chance `level` (0 to 1), with equal tails.
    pub fn right_interval(&self, wanted: f64, level: f64) -> (f64, f64) {
        self.interval(|point| point.amount(wanted), level)
    }

    /// The power with which the right amount follows what the air asks for.
    pub fn exponent(&self) -> Belief {
        self.belief(|point| (point.heard.mean[1], point.heard.covariance[2]))
    }

    /// The interval that holds the exponent with the chance `level` (0 to 1), with equal tails.
    pub fn exponent_interval(&self, level: f64) -> (f64, f64) {
        self.interval(|point| (point.heard.mean[1], point.heard.covariance[2]), level)
    }

    /// Standard deviation of what one run wants beyond what its air explains on a usual day, ln fuel.
    pub fn scatter(&self) -> Belief {
        self.belief(|point| (point.tuner.scatter, 0.0))
    }

    /// Fuel to either side that the tuner still calls right, ln fuel.
    pub fn half_width(&self) -> Belief {
        self.belief(|point| (point.tuner.right, 0.0))
    }

    /// How much of what is known of the right amount in this air comes from the record: 0 all theory, 1 all
    /// record.
    ///
    /// It is 1 less the posterior's variance over the prior's.
    pub fn weight_of_record(&self, wanted: f64) -> f64 {
        if self.runs.is_empty() {
            return 0.0;
        }
        let kin = Kin::new(self.prior.roots(), &self.prior.spreads, &[], None);
        let before = kin.own.0 + wanted.powi(2) * kin.own.1;
        (1.0 - self.right_amount(wanted).sd.powi(2) / before).clamp(0.0, 1.0)
    }

    /// The chance that something changed suddenly before one of the newest runs, 0 to 1, and before how many of them it most
    /// likely did; 0 where nothing was odd enough to think of it.
    pub fn change(&self) -> (f64, Option<usize>) {
        let share = |since: usize| -> f64 {
            self.points
                .iter()
                .filter(|point| point.since_change == Some(since))
                .map(|point| point.share)
                .sum()
        };
        let shares: Vec<(usize, f64)> = (1..=CHANGES_THOUGHT_OF).map(|since| (since, share(since))).collect();
        let most = shares.iter().max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, share)| *share > 0.0);
        (shares.iter().map(|(_, share)| share).sum(), most.map(|(since, _)| *since))
    }

    /// What the others said of a run, by its place in the record, before it came or as if it had not: chances by verdict.
    pub fn foretold(&self, run: usize) -> ForetoldRun {
        let mut chances = [0.0; Judged::ALL.len()];
        let mut whole = 0.0;
        let spoken = &self.runs[run];
        for point in &self.points {
            let (cavity, chance) = point.heard.foretold[run];
            // Without the run its kind of tuner would have had the smaller share.
            let share = point.share / chance.max(1e-12);
            whole += share;
            let rich_by = spoken.delivered
                - self.prior.centre.mean
                - self.prior.exponent.mean * spoken.wanted
                - cavity.mean;
            for (sum, judged) in chances.iter_mut().zip(Judged::ALL) {
                *sum += share * point.tuner.tilted(judged, rich_by, cavity.variance).chance;
            }
        }
        ForetoldRun::new(chances.map(|chance| chance / whole))
    }

    /// The standard deviation of the right amount in this air to be expected after one more run with
    /// `delivered` there and its verdict in full (preposterior analysis; Raiffa and Schlaifer 1961, from
    /// memory).
    pub fn after_a_run(&self, delivered: f64, wanted: f64) -> f64 {
        // Moments about the mean, lest their difference drown in the digits.
        let now = self.right_amount(wanted).mean;
        let mut sums = [[0.0; 3]; Judged::ALL.len()];
        for point in &self.points {
            let (mean, variance) = point.amount(wanted);
            let aside = mean - now;
            for (sum, judged) in sums.iter_mut().zip(Judged::ALL) {
                // What the run itself wants is the right amount and the doubt of its air, which does not come back.
                let tilted =
                    point.tuner.tilted(judged, delivered - mean, variance + self.prior.today.powi(2));
                let (slope, bend) = (variance * tilted.slope, variance * variance * tilted.bend);
                sum[0] += point.share * tilted.chance;
                sum[1] += point.share * (aside * tilted.chance + slope);
                sum[2] +=
                    point.share * ((aside * aside + variance) * tilted.chance + 2.0 * aside * slope + bend);
            }
        }
        let sd_with = |[chance, first, second]: [f64; 3]| {
            if chance > 0.0 { (second * chance - first * first).max(0.0).sqrt() } else { 0.0 }
        };
        sums.into_iter().map(sd_with).sum()
    }

    fn belief(&self, of: impl Fn(&Point) -> (f64, f64)) -> Belief {
        let mean: f64 = self.points.iter().map(|point| point.share * of(point).0).sum();
        let variance: f64 = self
            .points
            .iter()
            .map(|point| {
                let (own, spread) = of(point);
                point.share * (spread + (own - mean).powi(2))
            })
            .sum();
        Belief { mean, sd: variance.max(0.0).sqrt() }
    }

    /// Of a mixture of normal distributions, by halving.
    fn interval(&self, of: impl Fn(&Point) -> (f64, f64), level: f64) -> (f64, f64) {
        let normal = super::normal::Normal::table();
        let parts: Vec<(f64, f64, f64)> = self
            .points
            .iter()
            .map(|point| {
                let (mean, variance) = of(point);
                (point.share, mean, variance.sqrt().max(1e-9))
            })
            .collect();
        let Belief { mean, sd } = self.belief(&of);
        let below = |at: f64| -> f64 {
            parts.iter().map(|(share, mean, sd)| share * normal.below((at - mean) / sd)).sum()
        };
        let tail = 0.5 * (1.0 - level.clamp(0.0, 1.0));
        let quantile = |chance: f64| {
            let (mut low, mut high) = (mean - 12.0 * sd, mean + 12.0 * sd);
            for _ in 0..60 {
                let middle = f64::midpoint(low, high);
                if below(middle) < chance { low = middle } else { high = middle }
            }
            f64::midpoint(low, high)
        };
        (quantile(tail), quantile(1.0 - tail))
    }
}
