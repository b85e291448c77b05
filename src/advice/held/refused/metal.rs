//! A tighter head, refused or told.

use super::super::harms::harm::HurtKind;
use super::super::harms::metal::{DUST, SQUISH, Tightened, in_its_unit};
use super::super::said::{Refusal, Told, capital};
use super::super::step::Step;
use super::case::{Case, counted_from};
use crate::quantity::fixed;

/// A full-stroke ratio that rises by more than this is far at once (common practice, no source: half a ratio is a step).
const FAR_RATIO: f64 = 1.0;

impl Case<'_> {
    /// The moves of the head that count: of this step, and since what ran where the step brings the head nearer or writes it anew.
    fn tightened(&self) -> impl Iterator<Item = (&Step, String)> {
        let own = Some((&self.step, String::new())).filter(|_| !self.step.other_engine);
        let since = self.since_run.as_ref().filter(|_| self.counts_since_run());
        let since = since.filter(|(_, step)| !step.other_engine);
        own.into_iter().chain(since.map(|(number, step)| (step, counted_from(*number))))
    }

    /// Less squish than the least of configs/limits.toml, or far more compression, in one step or in several that never ran.
    pub(in crate::advice::held) fn too_tight(&self) -> Option<Refusal> {
        let found = self.tightened().find_map(|(step, counted)| {
            let field = step.of(HurtKind::Head).next().map_or(SQUISH, |harm| harm.field.as_str()).to_owned();
            let sentence = self
                .too_little_squish(step, &counted)
                .or_else(|| self.far_more_compression(step, &counted))?;
            Some(Refusal::of(field, sentence))
        });
        found.filter(|_| !self.proposal.back)
    }

    /// Whether this step itself takes back what is too tight.
    fn loosens(&self, of: fn(&Tightened) -> Option<(f64, f64)>, is_looser: fn(f64, f64) -> bool) -> bool {
        of(&self.step.tightened).is_some_and(|(old, new)| is_looser(old, new) || (old - new).abs() < DUST)
    }

    fn too_little_squish(&self, step: &Step, counted: &str) -> Option<String> {
        let least = self.trade.least_squish.as_ref()?;
        let (old, new) = step.tightened.clearance_m?;
        if new >= least.metres - DUST || new >= old - DUST {
            return None;
        }
        if self.loosens(|moves| moves.clearance_m, |old, new| new > old) && !counted.is_empty() {
            return None;
        }
        let reading = self.proposal.after.fields.quantity(SQUISH);
        let said = |metres: f64| in_its_unit(metres, reading);
        Some(format!(
            "Too little squish clearance: {} -> {}{counted}, and the least is {} ({}). The piston meets the head at speed. Fit a thicker gasket, and measure with solder.",
            said(old),
            said(new.max(0.0)),
            said(least.metres),
            least.words
        ))
    }

    fn far_more_compression(&self, step: &Step, counted: &str) -> Option<String> {
        let (old, new) = step.tightened.ratio.filter(|(old, new)| new - old > FAR_RATIO)?;
        if self.loosens(|moves| moves.ratio, |old, new| new < old) && !counted.is_empty() {
            return None;
        }
        Some(format!(
            "Far more compression at once: {} -> {} to 1 over the full stroke{counted}. Go half a ratio at a time, the spark no earlier with it, and read plug and piston in between.",
            fixed(old, 2),
            fixed(new, 2)
        ))
    }

    /// A clearance under the least that is written down where none was: a reading, and no step.
    pub(in crate::advice::held) fn little_squish(&self) -> Option<Told> {
        let least = self.trade.least_squish.as_ref()?;
        let new = self.proposal.after.fields.quantity(SQUISH)?;
        let is_new = self.before.fields.quantity(SQUISH).is_none();
        (is_new && new.si() < least.metres - DUST).then(|| {
            let sentence = format!(
                "{} of squish clearance is under the least of {} ({}): the piston may meet the head at speed.",
                new.with_unit(),
                in_its_unit(least.metres, Some(new)),
                least.words
            );
            Told::of(true, capital(&sentence))
        })
    }
}
