//! More sizes leaner at once than plug and piston can follow.

use super::super::harms::harm::{Harm, HurtKind};
use super::super::said::Refusal;
use super::case::{Case, counted_from};
use crate::advice::rejet::SIZES_LEANER_IN_ONE_STEP;

impl Case<'_> {
    /// Sizes leaner at once, without what only takes such a record back.
    pub(in crate::advice::held) fn sizes_at_once(&self) -> u32 {
        let fuel = self.step.of(HurtKind::Fuel).filter(|harm| !self.is_back_from_what_never_ran(harm));
        fuel.filter_map(|harm| harm.sizes).max().unwrap_or(0)
    }

    pub(in crate::advice::held) fn too_many_sizes(&self) -> Option<Refusal> {
        // What was worked out for its air weighed needle, clip and jets together.
        let counts = |harm: &&Harm| !(harm.by_circuits && self.proposal.advised);
        let many =
            |harm: &&Harm| counts(harm) && harm.sizes.is_some_and(|sizes| sizes > SIZES_LEANER_IN_ONE_STEP);
        let now =
            self.step.of(HurtKind::Fuel).find(|harm| many(harm) && !self.is_back_from_what_never_ran(harm));
        let now = now.map(|harm| (harm, String::new()));
        let since = || {
            let matters = self.step.takes_fuel_away() || self.step.is_harmless();
            let (number, step) = self.since_run.as_ref().filter(|_| matters && self.counts_since_run())?;
            Some((step.of(HurtKind::Fuel).find(many)?, counted_from(*number)))
        };
        // What was recorded and never ran makes none of them fewer.
        let (harm, counted) = now
            .into_iter()
            .chain(since())
            .reduce(|now, since| if since.0.sizes > now.0.sizes { since } else { now })?;
        let instead = if harm.field.starts_with("fuel.") {
            let richer = ["jetting.main", "injection.trim"];
            let jets_up = self.changes().iter().any(|change| {
                let more = change.difference.as_ref().is_some_and(|by| by.value > 0.0);
                more && richer.contains(&change.field.as_str())
            });
            if jets_up {
                "What is jetted up with it is not enough."
            } else {
                "Jet up for it in the same change."
            }
            .to_owned()
        } else {
            format!("Go {SIZES_LEANER_IN_ONE_STEP} at a time at most, and read plug and piston in between.")
        };
        let sentence = format!("Too lean in one step: {}{counted}. {instead}", harm.words);
        Some(Refusal::of(harm.field.clone(), sentence)).filter(|_| !self.proposal.back)
    }
}
