//! What is said of a step beside what it does itself: from what ran, and of what its name does not tell.

use super::super::harms::harm::{Changed, Harm, HurtKind, texts, that_hurt};
use super::super::hold::Hold;
use super::super::said::{Refusal, Told, was};
use super::case::{Case, counted_from};
use crate::notebook::Combination;
use crate::notebook::fields::meaning::Hurts;

impl Case<'_> {
    /// A harm in words: counted from what ran, where that is more than the step itself does.
    pub(in crate::advice::held) fn since_what_ran(&self, harm: &Harm) -> String {
        let own = harm.words.clone();
        let since = self.since_run.as_ref().filter(|(_, step)| !step.other_engine);
        let Some((number, step)) = since.filter(|_| harm.kind != HurtKind::Fuel) else { return own };
        let more = step.of(harm.kind).next().filter(|since| since.words != own);
        more.map_or(own, |since| format!("{}{}", since.words, counted_from(*number)))
    }

    /// Less oil than ran, where each step by itself is too small to be told.
    pub(in crate::advice::held) fn less_oil_than_ran(&self) -> Option<String> {
        let (number, since) = self.since_run.as_ref().filter(|(_, step)| !step.other_engine)?;
        let told = self.step.of(HurtKind::Oil).next().is_some();
        let harm = since.of(HurtKind::Oil).next().filter(|_| !told && self.step.petrol_more.is_some())?;
        Some(format!("{}{}", harm.words, counted_from(*number)))
    }

    /// An earlier spark, a tighter head, a shorter stinger or less oil, where nothing ran since a lean run whose cause is written down as
    /// fixed: nobody knows yet that it was that.
    pub(in crate::advice::held) fn before_a_mend_is_tried(&self) -> Option<Refusal> {
        let goes_in = self.proposal.after.fields.text("engine");
        let counts = |hold: &&Hold| {
            let its_own = hold.ran_on().and_then(|ran| ran.text("engine")) == goes_in;
            let grave = hold.seizure || matches!(hold.zone, "full" | "three_quarters");
            (grave || hold.words != "slightly lean") && (its_own || !self.step.other_engine)
        };
        let hold = self.holds.of_the_mended.iter().find(counts)?;
        let since = self.since_run.as_ref().filter(|_| self.counts_since_run()).map(|(_, since)| since);
        let all = self.step.harms.iter().chain(since.iter().flat_map(|since| &since.harms));
        let harm = all.into_iter().find(|harm| harm.kind != HurtKind::Fuel);
        let less_oil = || {
            let more = self.step.petrol_more.filter(|_| hold.seizure)?;
            Some(format!("oil ratio {} -> {}, less oil", self.oil_ratio_before(more)?, self.oil_ratio()?))
        };
        let words = harm.map(|harm| harm.words.clone()).or_else(less_oil)?;
        let sentence = format!(
            "Nothing ran since the lean run of {}, whose cause is written down as fixed: {words}. Run it as it was first, and read plug and piston.",
            hold.outing.outing.date.day()
        );
        let field = harm.map_or("fuel.oil_ratio", |harm| &harm.field).to_owned();
        Some(Refusal::of(field, sentence))
    }

    /// After a seizure or pinging: another plug, insert, fuel or oil, whose name does not say whether it is worse.
    pub(in crate::advice::held) fn another_after_a_seizure(&self) -> Vec<Told> {
        let all = self.holds.of_last_run.iter().chain(&self.holds.holds).chain(&self.holds.not_again);
        let all = all.chain(&self.holds.of_the_mended);
        let Some(hold) = all.into_iter().find(|hold| hold.seizure || hold.is_detonation()) else {
            return Vec::new();
        };
        let changes = self.changes();
        let foreseen = |change| Some(Changed { change, meaning: Combination::meaning(&change.field)? });
        let changed: Vec<Changed<'_>> = changes.iter().filter_map(foreseen).collect();
        let others = that_hurt(&changed, |hurts| hurts == Hurts::MayBeWorse);
        others.into_iter().filter_map(|one| worse(one, hold)).collect()
    }
}

/// What another one may do (common practice, no source).
fn worse(one: Changed<'_>, hold: &Hold) -> Option<Told> {
    let (what, asks) = match one.change.field.rsplit_once('.')? {
        (_, "plug") => (
            "plug",
            "Which of the two is hotter? A hotter one pings and seizes sooner: none hotter than what ran",
        ),
        (_, "insert") => (
            "head insert",
            "Its squish and its compression are not known by its name: measure both before it runs. With more of either it knocks sooner: spark later",
        ),
        (_, "oil") => ("oil", "Whether it carries as much is not known by its name: no less of it than ran"),
        (_, "name") => ("fuel", "With less octane it knocks sooner: spark later, and start rich"),
        _ => return None,
    };
    let (from, to) = texts(one)?;
    let sentence = format!(
        "The run of {} {}, and this is another {what} ({from} -> {to}). {asks}.",
        hold.outing.outing.date.day(),
        was(hold)
    );
    Some(Told::of(true, sentence))
}
