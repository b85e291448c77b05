//! What a neighbour's verdict says of the cylinder that is asked about: nothing, where both were judged in one run and want fuel so far
//! apart that the neighbour has something of its own (a leak, a blocked jet).

use super::evidence::{Evidence, Witness, ZoneVerdict};
use crate::advice::learning::model::verdicts::Judged;

/// Two cylinders of one engine lie no further apart than so many standard deviations (common practice, no source).
const APART: f64 = 2.0;

/// How much one run scatters, ln fuel (the median of the model of learning; common practice, no source).
const SCATTER: f64 = 0.012;

/// By how much more fuel a verdict asks, ln, and the variance of that: right reaches 2 % to either side and clearly lean begins at 5 %,
/// one run scatters by 1.2 % (the medians of the model of learning; common practice, no source).
pub fn short_of(judged: Judged) -> (f64, f64) {
    let (mean, sd): (f64, f64) = match judged {
        Judged::Lean => (0.065, 0.015),
        Judged::SlightlyLean => (0.035, 0.009),
        Judged::Right => (0.0, 0.012),
        Judged::SlightlyRich => (-0.035, 0.009),
        Judged::Rich => (-0.065, 0.015),
    };
    (mean, sd.powi(2) + SCATTER.powi(2))
}

impl Evidence {
    /// Leaves out what was seen at other cylinders and is theirs alone: in the same run this one wanted so much less, or more, that no
    /// two of one engine differ so. `spread` is the standard deviation of what each wants of its own, ln fuel.
    pub(super) fn leave_what_is_a_neighbours_own(&mut self, own: &[Witness], spread: f64) {
        for neighbour in &mut self.witnesses {
            let Some(own) = own.iter().find(|own| own.outing.id == neighbour.outing.id) else { continue };
            neighbour
                .verdicts
                .retain(|seen| own.of(seen.zone).is_none_or(|own| !is_far_apart(own, seen, spread)));
        }
        self.witnesses.retain(|witness| !witness.verdicts.is_empty());
    }
}

fn is_far_apart(own: &ZoneVerdict, seen: &ZoneVerdict, spread: f64) -> bool {
    let ((more, doubt), (more_there, doubt_there)) = (short_of(own.judged), short_of(seen.judged));
    let apart = seen.delivered.ln() + more_there - own.delivered.ln() - more;
    apart.abs() > APART * (doubt + doubt_there + 2.0 * spread.powi(2)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::is_far_apart;
    use crate::advice::learning::model::verdicts::Judged::{self, Lean, Rich, Right, SlightlyLean};
    use crate::advice::learning::{Settings, ZoneVerdict};

    fn seen(delivered: f64, judged: Judged) -> ZoneVerdict {
        ZoneVerdict { zone: "full", judged, delivered }
    }

    #[test]
    fn a_neighbour_that_wants_far_more_in_the_same_run_has_something_of_its_own() {
        let spread = Settings::default().spreads.cylinders;
        let right = seen(1.0, Right);
        assert!(is_far_apart(&right, &seen(1.046, Lean), spread));
        assert!(is_far_apart(&right, &seen(0.954, Rich), spread), "to either side");
        // Next to each other they speak for each other.
        assert!(!is_far_apart(&right, &seen(1.0, SlightlyLean), spread));
        assert!(!is_far_apart(&right, &seen(1.02, SlightlyLean), spread));
        assert!(!is_far_apart(&seen(1.0, Lean), &seen(1.0, Lean), spread));
        // Where they are told to lie further apart, they may.
        assert!(!is_far_apart(&right, &seen(1.046, Lean), 0.05));
    }
}
