//! What a bike's own record says of the fuel it wants: a posterior over bike and tuner, and the chances of
//! the next run.
//!
//! In ln of fuel, not of jet numbers. A run delivers d; its air and fuel want w, the baseline's being 0. The
//! right amount is c + m w + e with e ~ N(0, s^2); the verdict is cut from d less that amount (see
//! `verdicts`). The centre c, the exponent m, the scatter s and the verdicts' widths are unknown and summed
//! over, on a grid in five dimensions (see `grid`). Chances are within 0.001 of the sum that they stand for,
//! seldom 0.003, for a record that a rider could leave; a few verdicts thrown like dice can cost 0.03.

use super::grid::{Fineness, Point, grid};
use super::normal::Normal;
use super::spread::Spread;
use super::verdicts::{Allowed, Judged, LearningError, Record, Spoken};

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
/// from a prior taken at its word hold 86 %. Widened by this they hold 90 % there, and 91 % to 92 % where the
/// guess was right (`tests/learning_calibration.rs`, with 6000 bikes each).
const FOR_UNLIKE_BIKES: f64 = 1.25;

impl Prior {
    /// With the usual scatter and widths of verdicts: medians 1.2 % and 2 % of fuel and 1.5, standard
    /// deviations of their logarithms 0.45, 0.4 and 0.35 (common practice, no source).
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
        }
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

/// The limits within which a chance of lean can be asked for.
const LEAN_LIMITS: (f64, f64) = (1e-4, 1.0 - 1e-4);

/// What is believed after the record.
#[derive(Debug, Clone)]
pub struct Posterior {
    prior: Prior,
    points: Vec<Point>,
    silent: bool,
}

impl Posterior {
    /// Takes in a record; the order of its runs does not matter, and one of weight 0 is as if it were not
    /// there.
    ///
    /// Refuses what is no number or outside what [`Spoken`] and [`Prior`] allow.
    pub fn new(prior: &Prior, spoken: &[Spoken]) -> Result<Self, LearningError> {
        Self::on(Fineness::Fine, prior, spoken)
    }

    /// The same on a grid of fewer nodes, in a fraction of the time: chances to about 0.01, for what is only shown
    /// or leant towards and limits nobody's risk at full throttle.
    pub fn coarse(prior: &Prior, spoken: &[Spoken]) -> Result<Self, LearningError> {
        Self::on(Fineness::Coarse, prior, spoken)
    }

    fn on(fineness: Fineness, prior: &Prior, spoken: &[Spoken]) -> Result<Self, LearningError> {
        prior.check()?;
        for run in spoken {
            run.check()?;
        }
        let Prior { centre, exponent, scatter, right, clear } = *prior;
        let beliefs = [scatter, right, clear, exponent, centre];
        let record = Record::new(spoken);
        let [means, sds] = [beliefs.map(|belief| belief.mean), beliefs.map(|belief| belief.sd)];
        let points = grid(&record, means, sds, fineness);
        Ok(Self { prior: *prior, points, silent: record.is_silent() })
    }

    /// The same without one of the verdicts, by weighing the grid anew (importance sampling): quick, and good where the others still
    /// hold the posterior about where it was.
    #[must_use]
    pub fn without(&self, left_out: &Spoken) -> Self {
        let normal = Normal::table();
        let record = Record::new(std::slice::from_ref(left_out));
        let mut points: Vec<Point> = self
            .points
            .iter()
            .map(|point| {
                let likelihood = record.log_likelihood(normal, &point.nature).exp();
                Point { share: point.share / likelihood, ..*point }
            })
            .collect();
        let sum: f64 = points.iter().map(|point| point.share).sum();
        for point in &mut points {
            point.share /= sum;
        }
        Self { prior: self.prior, points, silent: self.silent }
    }

    /// Chances of a new run with `delivered` in an air that wants `wanted` (ln fuel, -2 to 2), slips of the
    /// tongue left out.
    pub fn chances(&self, delivered: f64, wanted: f64) -> Chances {
        let normal = Normal::table();
        let (mut lean, mut rich) = (0.0, 0.0);
        for Point { nature, share } in &self.points {
            let short = nature.amount(wanted) - delivered;
            let per_scatter = 1.0 / nature.scatter;
            lean += share * normal.below((short - nature.right) * per_scatter);
            rich += share * normal.below((-short - nature.right) * per_scatter);
        }
        Chances { lean, right: (1.0 - lean - rich).max(0.0), rich }
    }

    /// The smallest ln fuel whose chance of lean is at most `lean_limit`, to 1e-6; the limit is held to
    /// 0.0001 to 0.9999.
    pub fn least_delivered(&self, wanted: f64, lean_limit: f64) -> f64 {
        let limit = lean_limit.clamp(LEAN_LIMITS.0, LEAN_LIMITS.1);
        let amount = self.right_amount(wanted);
        let (scatter, right) = (self.scatter(), self.half_width());
        let reach = amount.sd + scatter.mean + scatter.sd + right.mean + right.sd;
        // Sixty-four reaches hold every limit but by far; the bound keeps not-a-number from looping.
        let enough = |step: &f64| self.lean(amount.mean + step * reach, wanted) <= limit;
        let widths = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0];
        let mut high = amount.mean + reach * widths.into_iter().find(enough).unwrap_or(64.0);
        let low = widths.into_iter().map(|width| -width).find(|step| !enough(step)).unwrap_or(-64.0);
        let mut low = amount.mean + reach * low;
        while high - low > 1e-6 {
            let middle = f64::midpoint(low, high);
            if self.lean(middle, wanted) <= limit {
                high = middle;
            } else {
                low = middle;
            }
        }
        high
    }

    fn lean(&self, delivered: f64, wanted: f64) -> f64 {
        let normal = Normal::table();
        let lean = |point: &Point| {
            let short = point.nature.amount(wanted) - delivered;
            point.share * normal.below((short - point.nature.right) / point.nature.scatter)
        };
        self.points.iter().map(lean).sum()
    }

    /// The right amount c + m `wanted`, ln fuel over the baseline's, the scatter of single runs left out.
    pub fn right_amount(&self, wanted: f64) -> Belief {
        self.belief(|point| point.nature.amount(wanted))
    }

    /// The interval that holds the right amount with the chance `level` (0 to 1), with equal tails.
    pub fn right_interval(&self, wanted: f64, level: f64) -> (f64, f64) {
        self.interval(|point| point.nature.amount(wanted), level)
    }

    /// The power with which the right amount follows what the air asks for.
    pub fn exponent(&self) -> Belief {
        self.belief(|point| point.nature.exponent)
    }

    /// The interval that holds the exponent with the chance `level` (0 to 1), with equal tails.
    pub fn exponent_interval(&self, level: f64) -> (f64, f64) {
        self.interval(|point| point.nature.exponent, level)
    }

    /// Standard deviation of what one run wants beyond what its air explains, ln fuel.
    pub fn scatter(&self) -> Belief {
        self.belief(|point| point.nature.scatter)
    }

    /// Fuel to either side that the tuner still calls right, ln fuel.
    pub fn half_width(&self) -> Belief {
        self.belief(|point| point.nature.right)
    }

    /// How much of what is known of the right amount in this air comes from the record: 0 all theory, 1 all
    /// record.
    ///
    /// It is 1 less the posterior's variance over the prior's.
    pub fn weight_of_record(&self, wanted: f64) -> f64 {
        if self.silent {
            return 0.0;
        }
        let before = self.prior.centre.sd.powi(2) + (wanted * self.prior.exponent.sd).powi(2);
        (1.0 - self.right_amount(wanted).sd.powi(2) / before).clamp(0.0, 1.0)
    }

    /// The standard deviation of the right amount in this air to be expected after one more run with
    /// `delivered` there and its verdict in full (preposterior analysis; Raiffa and Schlaifer 1961, from
    /// memory).
    pub fn after_a_run(&self, delivered: f64, wanted: f64) -> f64 {
        let normal = Normal::table();
        // Moments about the mean, lest their difference drown in the digits.
        let now = self.right_amount(wanted).mean;
        let mut sums = [[0.0; 3]; Judged::ALL.len()];
        for Point { nature, share } in &self.points {
            let aside = nature.amount(wanted) - now;
            let chances = nature.verdicts(normal, delivered, wanted);
            for (sum, chance) in sums.iter_mut().zip(chances) {
                let share = share * chance;
                sum[0] += share;
                sum[1] += share * aside;
                sum[2] += share * aside * aside;
            }
        }
        let sd_with = |[chance, first, second]: [f64; 3]| {
            if chance > 0.0 { (second * chance - first * first).max(0.0).sqrt() } else { 0.0 }
        };
        sums.into_iter().map(sd_with).sum()
    }

    fn spread(&self, of: impl Fn(&Point) -> f64 + Clone) -> Spread<impl Iterator<Item = (f64, f64)> + Clone> {
        Spread::new(self.points.iter().map(move |point| (of(point), point.share)))
    }

    fn belief(&self, of: impl Fn(&Point) -> f64 + Clone) -> Belief {
        let spread = self.spread(of);
        Belief { mean: spread.mean, sd: spread.sd }
    }

    fn interval(&self, of: impl Fn(&Point) -> f64 + Clone, level: f64) -> (f64, f64) {
        self.spread(of).interval(level)
    }
}
