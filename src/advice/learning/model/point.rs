//! One kind of tuner of the grid, with what is then believed of the bike.

use super::grid::NEGLIGIBLE;
use super::propagation::Heard;
use super::verdicts::Tuner;

/// One kind of tuner, with what is then believed of the bike.
#[derive(Debug, Clone)]
pub(super) struct Point {
    /// Its share of all.
    pub(super) share: f64,
    /// The tuner.
    pub(super) tuner: Tuner,
    /// What the record says under it.
    pub(super) heard: Heard,
    /// The number of newest runs of the cylinder asked about since a sudden change, under this point.
    pub(super) since_change: Option<usize>,
}

impl Point {
    /// Mean and variance of the right amount where the air wants so much.
    pub(super) fn amount(&self, wanted: f64) -> (f64, f64) {
        let ([offset, exponent], [own, both, power]) = (self.heard.mean, self.heard.covariance);
        (offset + exponent * wanted, (own + wanted * (2.0 * both + wanted * power)).max(1e-12))
    }
}

/// Points whose shares are logarithms, with shares that sum to 1; those that do not count are left out.
pub(super) fn weighed(mut points: Vec<Point>) -> Vec<Point> {
    // Where no kind of tuner can be made sense of, all of them stand as before the record.
    if points.iter().all(|point| !point.share.is_finite()) {
        for point in &mut points {
            point.share = 0.0;
        }
    }
    let highest = points.iter().map(|point| point.share).fold(f64::NEG_INFINITY, f64::max);
    points.retain(|point| point.share >= highest + NEGLIGIBLE.ln());
    for point in &mut points {
        point.share = (point.share - highest).exp();
    }
    let sum: f64 = points.iter().map(|point| point.share).sum();
    for point in &mut points {
        point.share /= sum;
    }
    points
}

/// The chances of a run short of right, over it, and clearly over it, where the right amount is doubted by a variance more.
pub(super) fn off_right(points: &[Point], (delivered, wanted): (f64, f64), doubt: f64) -> [f64; 3] {
    let mut sums = [0.0; 3];
    for point in points {
        let (mean, variance) = point.amount(wanted);
        let off = point.tuner.off_right(delivered - mean, variance + doubt);
        for (sum, chance) in sums.iter_mut().zip(off) {
            *sum += point.share * chance;
        }
    }
    sums
}
