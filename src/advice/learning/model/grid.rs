//! Where the grid of tuners is laid: about where a survey finds the record likely.
//!
//! Places are in standard deviations of the prior: ln scatter, ln half-width of right, ln(clear/right - 1).

/// Points below this share of the greatest are left out.
pub(in crate::advice::learning) const NEGLIGIBLE: f64 = 1e-3;

/// A grid about a middle: so many steps to either side in each dimension.
pub(in crate::advice::learning) fn places(
    middle: [f64; 3],
    step: [f64; 3],
    reach: [i32; 3],
) -> Vec<[f64; 3]> {
    let along = |k: usize| (-reach[k]..=reach[k]).map(move |steps| middle[k] + step[k] * f64::from(steps));
    along(0)
        .flat_map(|a| along(1).map(move |b| (a, b)))
        .flat_map(|(a, b)| along(2).map(move |c| [a, b, c]))
        .collect()
}

/// Steps of the survey, in standard deviations of the prior.
const SURVEY_STEP: f64 = 1.1;

/// Scatters that are looked at first, and those that are only looked at where the widest of them is still likely; in steps.
pub(in crate::advice::learning) const USUAL_SCATTERS: std::ops::RangeInclusive<i32> = -2..=2;
pub(in crate::advice::learning) const WIDE_SCATTERS: std::ops::RangeInclusive<i32> = 3..=6;

/// Where the first two respects are looked at.
pub(in crate::advice::learning) fn surveyed(scatters: std::ops::RangeInclusive<i32>) -> Vec<[f64; 3]> {
    let along = |steps: std::ops::RangeInclusive<i32>| steps.map(|step| SURVEY_STEP * f64::from(step));
    along(scatters).flat_map(|scatter| along(-2..=2).map(move |right| [scatter, right, 0.0])).collect()
}

/// Whether the widest scatter of a survey is not out of the question.
pub(in crate::advice::learning) fn reaches_the_edge(heights: &[f64]) -> bool {
    let widest = heights.len() - heights.len().min(5);
    highest(&heights[widest..]) > highest(heights) + NEGLIGIBLE.ln()
}

fn highest(heights: &[f64]) -> f64 {
    heights.iter().copied().fold(f64::NEG_INFINITY, f64::max)
}

/// Mean and standard deviation of the first two respects by the heights of a survey, ln; never taken for narrower than a survey can see.
pub(in crate::advice::learning) fn spread_of(places: &[[f64; 3]], heights: &[f64]) -> ([f64; 2], [f64; 2]) {
    let highest = highest(heights);
    let shares: Vec<f64> = heights.iter().map(|height| (height - highest).exp()).collect();
    let whole: f64 = shares.iter().sum();
    let mean_of = |of: &dyn Fn(&[f64; 3]) -> f64| {
        places.iter().zip(&shares).map(|(place, share)| share * of(place)).sum::<f64>() / whole
    };
    let mean: [f64; 2] = std::array::from_fn(|k| mean_of(&|place| place[k]));
    let sd = std::array::from_fn(|k| mean_of(&|place| (place[k] - mean[k]).powi(2)).sqrt().clamp(0.4, 2.0));
    (mean, sd)
}
