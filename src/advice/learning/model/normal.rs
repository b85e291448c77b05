//! The normal distribution: its density, and its distribution function from a table, for the many values that
//! a grid asks for.
//!
//! The table holds a cubic through value and slope at both ends of each cell of 1/32; it is within 1e-8 of
//! the distribution function, which is erfc of the standard library of C (`libm`).

use std::f64::consts::{FRAC_1_SQRT_2, TAU};
use std::sync::LazyLock;

/// Beyond this many standard deviations the distribution function is 0 or 1 for every purpose here.
const END: f64 = 8.0;
const CELLS: usize = 512;
const CELLS_PER_SD: f64 = 32.0;

/// The middle of the last cell.
const LAST: f64 = END - 0.5 / CELLS_PER_SD;

/// Added to a small number, it leaves the number's nearest integer in the last bits: 1.5 times 2 to the 52nd.
const TO_LAST_BITS: f64 = 6_755_399_441_055_744.0;

static TABLE: LazyLock<Box<[[f64; 4]; CELLS]>> = LazyLock::new(|| Box::new(std::array::from_fn(cell)));

/// Density of the standard normal distribution.
pub(in crate::advice::learning) fn density(x: f64) -> f64 {
    (-0.5 * x * x).exp() / TAU.sqrt()
}

/// Share of the standard normal distribution below `x`, to the last digits.
pub(in crate::advice::learning) fn share_below(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// The table of the distribution function, to be taken once before a loop.
#[derive(Clone, Copy)]
pub(in crate::advice::learning) struct Normal(&'static [[f64; 4]; CELLS]);

impl Normal {
    pub(in crate::advice::learning) fn table() -> Self {
        Self(&TABLE)
    }

    /// Share of the standard normal distribution below `x`, within 1e-8.
    #[inline]
    #[allow(clippy::cast_possible_truncation, reason = "only the last nine bits are wanted")]
    pub(in crate::advice::learning) fn below(self, x: f64) -> f64 {
        let place = (x.clamp(-END, LAST) + END) * CELLS_PER_SD;
        // The cell's number stands in the last bits of the sum: quicker than a conversion, and this is the
        // innermost loop.
        let cell = (place - 0.5) + TO_LAST_BITS;
        let within = place - (cell - TO_LAST_BITS);
        let [a, b, c, d] = self.0[cell.to_bits() as usize % CELLS];
        a + within * (b + within * (c + within * d))
    }
}

/// The cubic of one cell, in the share of the cell that is passed.
#[allow(clippy::cast_precision_loss, reason = "a cell's number is below 512")]
fn cell(index: usize) -> [f64; 4] {
    let from = index as f64 / CELLS_PER_SD - END;
    let to = from + 1.0 / CELLS_PER_SD;
    let rise = share_below(to) - share_below(from);
    let (slope, next) = (density(from) / CELLS_PER_SD, density(to) / CELLS_PER_SD);
    [share_below(from), slope, 3.0 * rise - 2.0 * slope - next, slope + next - 2.0 * rise]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_follows_the_distribution_function() {
        let table = Normal::table();
        for step in -9_000..=9_000 {
            let x = f64::from(step) * 1.0007e-3;
            assert!((table.below(x) - share_below(x)).abs() < 1e-8, "{x}");
        }
        assert!((share_below(-1.644_853_626_951_473) - 0.05).abs() < 1e-15);
    }
}
