//! Fuel by the main jets alone, with a usual needle above them.

use crate::engine::carburetor::jets::Numbering;
use crate::notebook::NumberedBy;

/// Percent of main jet area for one percent of fuel with a usual needle.
pub(in crate::advice) const USUAL_EXPONENT: f64 = 1.3;

/// A step is bounded by its fuel as well, for a box may have gaps: so much of it counts as one size at least (common practice, no source).
const OF_FUEL: f64 = 0.025;

/// Fuel over the baseline's for so much area of the main jet over the baseline's, the needle not known.
pub(in crate::advice::rejet) fn fuel_of_main_alone(area_factor: f64) -> f64 {
    area_factor.powf(1.0 / USUAL_EXPONENT)
}

/// So many sizes a smaller main jet is by its fuel alone, whatever lies in the box between the two.
pub(in crate::advice) fn sizes_by_fuel(numbered_by: NumberedBy, from: f64, to: f64) -> u32 {
    let left = fuel_by_main_jets(numbered_by, from, to).filter(|left| (0.0..1.0).contains(left));
    // Shares of fuel are small numbers.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    left.map_or(0, |left| ((1.0 - left) / OF_FUEL + 1e-9) as u32)
}

/// Fuel at full throttle that one main jet passes over what another passes, both by their numbers of one numbering, with a usual
/// needle above them. None where a number is no size.
pub(in crate::advice) fn fuel_by_main_jets(numbered_by: NumberedBy, from: f64, to: f64) -> Option<f64> {
    let numbering = match numbered_by {
        NumberedBy::Flow => Numbering::Flow,
        NumberedBy::Bore => Numbering::Bore,
    };
    numbering.area_factor(from, to).ok().map(fuel_of_main_alone)
}
