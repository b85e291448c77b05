//! Less oil in the petrol, refused: after a seizure, and far less at once.

use super::super::harms::harm::HurtKind;
use super::super::harms::oil::SAME;
use super::super::hold::Hold;
use super::super::said::Refusal;
use super::super::step::Step;
use super::case::{Case, counted_from};
use crate::quantity::trimmed;

impl Case<'_> {
    /// Whether a run seized, and nothing lets it go.
    fn after_a_seizure(&self) -> Option<&Hold> {
        let last = self.holds.of_last_run.iter().chain(&self.holds.last_elsewhere);
        let all = last.chain(&self.holds.holds).chain(&self.holds.not_again);
        all.into_iter().find(|hold| hold.seizure && !hold.mended)
    }

    /// Any less oil than ran, after a seizure whose cause is not known.
    pub(in crate::advice::held) fn less_oil_after_a_seizure(&self) -> Option<Refusal> {
        let hold = self.after_a_seizure()?;
        let since = self.since_run.as_ref().filter(|(_, step)| !step.other_engine);
        let (step, counted) = match since {
            // What only takes back what never ran oils as it ran.
            Some((number, step)) if self.counts_since_run() || self.step.petrol_more.is_some() => {
                (step, counted_from(*number))
            }
            Some(_) => return None,
            None => (&self.step, String::new()),
        };
        let less = step.petrol_more.filter(|_| !step.other_engine && self.rises_now())?;
        // More than a tenth is said with all else that is not done after a lean run.
        (less <= SAME).then_some(())?;
        let (from, to) = (self.oil_ratio_before(less)?, self.oil_ratio()?);
        let sentence = format!(
            "Less oil after a seizure: oil ratio {from} -> {to}{counted}. Nobody knows why it seized on {}: no less oil until that is found.",
            hold.outing.outing.date.day()
        );
        let field = "fuel.oil_ratio".to_owned();
        Some(Refusal::of(field, sentence).by(hold.run_name()))
    }

    /// Whether this step has less oil than what is on the bike, or is the first that says how much.
    fn rises_now(&self) -> bool {
        self.step.petrol_more.is_some() || self.before.fields.quantity("fuel.oil_ratio").is_none()
    }

    pub(in crate::advice::held) fn oil_ratio(&self) -> Option<String> {
        self.proposal.after.fields.quantity("fuel.oil_ratio").map(|ratio| trimmed(ratio.value(), 1))
    }

    pub(in crate::advice::held) fn oil_ratio_before(&self, more: f64) -> Option<String> {
        let now = self.proposal.after.fields.quantity("fuel.oil_ratio")?.value();
        Some(trimmed(now / (1.0 + more), 1))
    }

    /// Far less oil in one step, or in several that never ran: each by itself is small.
    pub(in crate::advice::held) fn too_little_oil(&self) -> Option<Refusal> {
        let far = |step: &Step| step.of(HurtKind::Oil).find(|harm| harm.far_at_once).cloned();
        let less = self.step.of(HurtKind::Oil).next().is_some() || self.step.is_harmless();
        // Whatever the size of the step: a little less each time is far in the end.
        let counts = self.step.petrol_more.is_some() || (less && self.counts_since_run());
        let (harm, counted) = match self.since_run.as_ref().filter(|(_, step)| !step.other_engine) {
            // What only takes back what never ran oils as it ran.
            Some((number, since)) if counts => (far(since)?, counted_from(*number)),
            Some(_) => return None,
            None => (far(&self.step).filter(|_| !self.step.other_engine)?, String::new()),
        };
        let sentence = format!(
            "Far less oil at once: {}{counted}. Keep to what the maker of the oil and of the piston allows, and read the piston in between.",
            harm.words
        );
        Some(Refusal::of(harm.field, sentence))
    }
}
