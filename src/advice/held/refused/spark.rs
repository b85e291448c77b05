//! A spark that comes far earlier, or beyond the most advance of the garage.

use super::super::harms::harm::HurtKind;
use super::super::harms::spark::{FAR_DEG, SAME_DEG, fired};
use super::super::said::{Refusal, capital};
use super::super::step::Step;
use super::case::{Case, counted_from};
use crate::notebook::FieldSet;
use crate::quantity::trimmed;

impl Case<'_> {
    /// A spark that is far earlier in one step, or in several that never ran: each by itself is small.
    pub(in crate::advice::held) fn too_much_spark(&self) -> Option<Refusal> {
        let is_far =
            |step: &&Step| step.earlier_deg > FAR_DEG + 1e-9 && step.of(HurtKind::Spark).next().is_some();
        let comes_earlier = self.step.of(HurtKind::Spark).next().is_some();
        let own = Some(&self.step).filter(|step| !step.other_engine).filter(is_far);
        let since = self.since_run.as_ref().filter(|(_, step)| comes_earlier && is_far(&step));
        let (step, counted) = match (own, since) {
            (_, Some((number, step))) => (step, counted_from(*number)),
            (Some(step), None) => (step, String::new()),
            (None, None) => return None,
        };
        let harm = step.of(HurtKind::Spark).next()?;
        let sentence = if step.earlier_deg.is_finite() {
            format!(
                "Too much spark in one step: {}{counted}. Go a degree or two at a time, and read plug and piston in between.",
                harm.words
            )
        } else {
            format!(
                "{}{counted}. Add engine.stroke=… and engine.rod=… to the line: then it is known how much earlier.",
                capital(&harm.words)
            )
        };
        Some(Refusal::of(harm.field.clone(), sentence)).filter(|_| !self.proposal.back)
    }

    /// A spark beyond the most advance that the garage set itself.
    pub(in crate::advice::held) fn over_the_most(&self) -> Option<Refusal> {
        let most = self.trade.most_advance_deg?;
        let (degrees, rpm) = earliest(&self.proposal.after.fields)?;
        let was = earliest(&self.before.fields).filter(|_| self.proposal.before.is_some());
        let comes_earlier = was.is_none_or(|(was, _)| degrees > was + SAME_DEG);
        let moves = self.step.of(HurtKind::Spark).next();
        let harm = moves.filter(|_| comes_earlier && degrees > most + 1e-6 && !self.proposal.back)?;
        let sentence = format!(
            "The spark would come at {} degrees before top at {} rpm, and the most advance in configs/assumptions.toml is {}.",
            trimmed(degrees, 1),
            trimmed(rpm, 0),
            trimmed(most, 1)
        );
        let field = harm.field.clone();
        Some(Refusal::of(field, sentence))
    }
}

/// Where the spark comes earliest, degrees before top and rpm.
fn earliest(fields: &FieldSet) -> Option<(f64, f64)> {
    let fired = fired(fields)?;
    let (place, degrees) = fired.cells().max_by(|one, other| one.1.total_cmp(&other.1))?;
    Some((degrees, place.rpm))
}
