//! How a quantity is spread over the posterior's points: mean, standard deviation, and the values that leave
//! a share below.

/// Cells per standard deviation: wide enough for a cell to hold many points, so that single ones do not show.
const CELLS_PER_SD: f64 = 12.0;

/// Standard deviations to either side that the cells reach.
const REACH: f64 = 10.0;

/// Values with their shares, which sum to one.
pub(super) struct Spread<I> {
    values: I,
    pub(super) mean: f64,
    pub(super) sd: f64,
}

impl<I: Iterator<Item = (f64, f64)> + Clone> Spread<I> {
    /// Of pairs of value and share.
    pub(super) fn new(values: I) -> Self {
        let mean: f64 = values.clone().map(|(value, share)| share * value).sum();
        let variance: f64 = values.clone().map(|(value, share)| share * (value - mean).powi(2)).sum();
        Self { values, mean, sd: variance.sqrt() }
    }

    /// The values that leave (1 - level)/2 below and above; the level is held to 0 to 1.
    pub(super) fn interval(&self, level: f64) -> (f64, f64) {
        let shares = self.cells();
        let tail = 0.5 * (1.0 - level.clamp(0.0, 1.0));
        (self.with_below(&shares, tail), self.with_below(&shares, 1.0 - tail))
    }

    /// The shares in cells; each value is shared between the two cells whose middles it lies between.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the place is held to the cells there are, 240 in all"
    )]
    fn cells(&self) -> Vec<f64> {
        let last = 2.0 * REACH * CELLS_PER_SD;
        let mut shares = vec![0.0; last as usize + 2];
        for (value, share) in self.values.clone() {
            let place = ((value - self.mean) / self.sd + REACH) * CELLS_PER_SD;
            let place = if place.is_finite() { place.clamp(0.0, last) } else { 0.5 * last };
            let cell = place as usize;
            let beyond = place.fract();
            shares[cell] += share * (1.0 - beyond);
            shares[cell + 1] += share * beyond;
        }
        shares
    }

    /// The value with this share below, each cell's share lying evenly about its middle.
    fn with_below(&self, shares: &[f64], below: f64) -> f64 {
        let mut passed = 0.0;
        let mut middle = -REACH;
        for share in shares {
            if passed + share >= below && *share > 0.0 {
                let within = ((below - passed) / share - 0.5) / CELLS_PER_SD;
                return self.mean + self.sd * (middle + within);
            }
            passed += share;
            middle += 1.0 / CELLS_PER_SD;
        }
        self.mean + self.sd * REACH
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::learning::normal::density;

    #[test]
    fn a_fine_normal_distribution_has_its_quantiles() {
        let values = (-60_000..=60_000).map(|step| {
            let x = f64::from(step) * 1e-4;
            (3.0 + 2.0 * x, density(x) * 1e-4)
        });
        let spread = Spread::new(values);
        assert!((spread.mean - 3.0).abs() < 1e-6 && (spread.sd - 2.0).abs() < 1e-5);
        let (low, high) = spread.interval(0.9);
        assert!((low - (3.0 - 2.0 * 1.644_853_6)).abs() < 5e-3, "{low}");
        assert!((high - (3.0 + 2.0 * 1.644_853_6)).abs() < 5e-3, "{high}");
        let (low, high) = spread.interval(0.0);
        assert!((low - 3.0).abs() < 1e-6 && (high - 3.0).abs() < 1e-6);
    }
}
