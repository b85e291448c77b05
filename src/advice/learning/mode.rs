//! The most likely natures of bike and tuner, and how sharply the record holds them: where the grid begins.
//!
//! A record that contradicts itself has several: verdicts scatter widely, or some of them were slips.
//!
//! Everything here is in standard deviations of the prior, so that the prior is the standard normal
//! distribution.

use super::matrix::{Matrix, Vector, cholesky, dot, identity, inverse, solve};
use super::normal::Normal;
use super::verdicts::{Nature, PARAMETERS, Record};

/// Steps of Newton's method; a dozen is usual.
const MOST_STEPS: usize = 60;

/// A climb is done when a step gains less than this in the posterior's logarithm.
const LITTLE: f64 = 1e-5;

/// Where the slope is differenced for the curvature, in standard deviations of the prior.
const STEP: f64 = 1e-4;

/// Scatters to climb from, in standard deviations of the prior: the usual one, and one that a contradicting
/// record asks for.
const SCATTERS: [f64; 2] = [0.0, 3.0];

/// The survey reaches so many half standard deviations of the centre to either side,
const SURVEYED_CENTRES: i32 = 10;

/// and so many whole ones of the exponent.
const SURVEYED_EXPONENTS: i32 = 4;

/// Peaks of the survey that are climbed from, the highest first.
const MOST_PEAKS: usize = 4;

/// Tops nearer than this in every parameter are one hill, in standard deviations of the prior.
const ONE_HILL: f64 = 0.05;

/// The posterior's logarithm, not normalised, over standard deviations of the prior.
pub(super) struct Target<'a> {
    pub(super) record: &'a Record,
    pub(super) means: Vector,
    pub(super) sds: Vector,
}

impl Target<'_> {
    pub(super) fn nature(&self, place: &Vector) -> Nature {
        Nature::new(std::array::from_fn(|k| self.means[k] + self.sds[k] * place[k]))
    }

    pub(super) fn log(&self, normal: Normal, place: &Vector) -> f64 {
        self.record.log_likelihood(normal, &self.nature(place)) - 0.5 * dot(place, place)
    }

    fn slope(&self, normal: Normal, place: &Vector) -> Vector {
        let slope = self.record.slope(normal, &self.nature(place));
        std::array::from_fn(|k| self.sds[k] * slope[k] - place[k])
    }

    /// Minus the second derivatives.
    fn curvature(&self, normal: Normal, place: &Vector) -> Matrix {
        let rows: Matrix = std::array::from_fn(|k| {
            let (mut below, mut above) = (*place, *place);
            below[k] -= STEP;
            above[k] += STEP;
            let (below, above) = (self.slope(normal, &below), self.slope(normal, &above));
            std::array::from_fn(|other| (below[other] - above[other]) / (2.0 * STEP))
        });
        std::array::from_fn(|a| std::array::from_fn(|b| f64::midpoint(rows[a][b], rows[b][a])))
    }

    /// Mean and covariance of the hills found, each taken for a normal distribution as high and as curved as
    /// its top; where a top has no curvature, as wide as the prior.
    pub(super) fn hills(&self, normal: Normal) -> (Vector, Matrix) {
        let mut hills: Vec<Hill> = Vec::new();
        for start in SCATTERS.into_iter().flat_map(|scatter| self.starts(normal, scatter)) {
            let (top, height) = self.climb(normal, start);
            if hills.iter().all(|known| apart(&known.top, &top)) {
                hills.push(Hill::new(top, height, &self.curvature(normal, &top)));
            }
        }
        let highest = hills.iter().map(|hill| hill.ln_mass).fold(f64::NEG_INFINITY, f64::max);
        let masses: Vec<f64> = hills.iter().map(|hill| (hill.ln_mass - highest).exp()).collect();
        let whole: f64 = masses.iter().sum();
        let shares = || hills.iter().zip(masses.iter().map(|mass| mass / whole));
        let mean: Vector = std::array::from_fn(|k| shares().map(|(hill, share)| share * hill.top[k]).sum());
        let covariance = std::array::from_fn(|a| {
            std::array::from_fn(|b| {
                let about_mean =
                    |hill: &Hill| hill.covariance[a][b] + (hill.top[a] - mean[a]) * (hill.top[b] - mean[b]);
                shares().map(|(hill, share)| share * about_mean(hill)).sum()
            })
        });
        (mean, covariance)
    }

    /// Where to climb from: the least squares' guess, and the best places of a survey of centres and
    /// exponents.
    fn starts(&self, normal: Normal, scatter: f64) -> Vec<Vector> {
        let survey: Vec<Vec<(f64, Vector)>> = (-SURVEYED_CENTRES..=SURVEYED_CENTRES)
            .map(|centre| {
                let place = |exponent| [scatter, 0.0, 0.0, f64::from(exponent), 0.5 * f64::from(centre)];
                let exponents = -SURVEYED_EXPONENTS..=SURVEYED_EXPONENTS;
                exponents.map(place).map(|place| (self.log(normal, &place), place)).collect()
            })
            .collect();
        let mut peaks: Vec<(f64, Vector)> = Vec::new();
        for (row, line) in survey.iter().enumerate() {
            for (column, (height, place)) in line.iter().enumerate() {
                let rows = &survey[row.saturating_sub(1)..(row + 2).min(survey.len())];
                let columns = column.saturating_sub(1)..(column + 2).min(line.len());
                if rows.iter().all(|line| line[columns.clone()].iter().all(|(other, _)| other <= height)) {
                    peaks.push((*height, *place));
                }
            }
        }
        peaks.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        let best = peaks.into_iter().take(MOST_PEAKS).map(|(_, place)| place);
        std::iter::once(self.guess(scatter)).chain(best).collect()
    }

    /// A first guess, lest the climb begin where every verdict would be a slip and nothing slopes: centre and
    /// exponent by least squares, each verdict read as a fuel that it may mean.
    fn guess(&self, scatter: f64) -> Vector {
        let nature = self.nature(&[scatter, 0.0, 0.0, 0.0, 0.0]);
        let little = f64::midpoint(nature.right, nature.clear);
        let much = 1.5 * nature.clear;
        let precision = (nature.scatter.powi(2) + nature.clear.powi(2)).recip();
        let mut weighed = identity();
        let mut pull = [0.0; PARAMETERS];
        for (runs, rich_by) in self.record.said().iter().zip([-much, -little, 0.0, little, much]) {
            for run in runs {
                let left = run.delivered - rich_by - nature.amount(run.wanted);
                let moves = [0.0, 0.0, 0.0, self.sds[3] * run.wanted, self.sds[4]];
                for a in 0..PARAMETERS {
                    pull[a] += run.weight * precision * left * moves[a];
                    for b in 0..PARAMETERS {
                        weighed[a][b] += run.weight * precision * moves[a] * moves[b];
                    }
                }
            }
        }
        let mut place = cholesky(&weighed).map_or([0.0; PARAMETERS], |lower| solve(&lower, &pull));
        place[0] = scatter;
        place
    }

    /// Newton's method from a place upwards; the place reached and its height.
    fn climb(&self, normal: Normal, mut place: Vector) -> (Vector, f64) {
        let mut height = self.log(normal, &place);
        for _ in 0..MOST_STEPS {
            let step = self.step(normal, &place);
            let Some((next, higher)) = self.higher(normal, &place, height, &step) else { break };
            let gained = higher - height;
            (place, height) = (next, higher);
            if gained < LITTLE {
                break;
            }
        }
        (place, height)
    }

    /// A Newton step, bent towards the slope until the curvature is that of a hill.
    fn step(&self, normal: Normal, place: &Vector) -> Vector {
        let slope = self.slope(normal, place);
        let curvature = self.curvature(normal, place);
        [0.0, 1.0, 10.0, 100.0, 1e3, 1e4]
            .into_iter()
            .find_map(|damping| {
                let mut damped = curvature;
                for (k, row) in damped.iter_mut().enumerate() {
                    row[k] += damping;
                }
                cholesky(&damped)
            })
            .map_or(slope, |lower| solve(&lower, &slope))
    }

    /// The step, or the first of its halves that leads higher; none when none does.
    fn higher(&self, normal: Normal, place: &Vector, height: f64, step: &Vector) -> Option<(Vector, f64)> {
        let mut share = 1.0;
        for _ in 0..25 {
            let next: Vector = std::array::from_fn(|k| place[k] + share * step[k]);
            let reached = self.log(normal, &next);
            if reached > height {
                return Some((next, reached));
            }
            share *= 0.5;
        }
        None
    }
}

fn apart(a: &Vector, b: &Vector) -> bool {
    a.iter().zip(b).any(|(a, b)| (a - b).abs() > ONE_HILL)
}

/// A hill of the posterior.
struct Hill {
    top: Vector,
    covariance: Matrix,
    ln_mass: f64,
}

impl Hill {
    fn new(top: Vector, height: f64, curvature: &Matrix) -> Self {
        let lower = cholesky(curvature).unwrap_or_else(identity);
        let ln_width: f64 = (0..PARAMETERS).map(|k| -lower[k][k].ln()).sum();
        Self { top, covariance: inverse(&lower), ln_mass: height + ln_width }
    }
}
