//! Leaner jetting or an earlier spark in an air denser than the one it was right in: the engine ran on it, and not in this.

use super::super::combination::{INCOMPARABLE, other_combination};
use super::super::harms::FAR_DEG;
use super::super::harms::harm::{Harm, HurtKind};
use super::super::ran::{Setups, judged_at_full_before};
use super::super::really::is_of_fuel;
use super::super::said::{LastVerdict, Refusal, capital};
use super::super::sign::was_rich_enough;
use super::super::step::{COUNTED_AT, Step};
use super::case::{Case, counted_from};
use crate::advice::rejet::{SIZE, SIZES_LEANER_IN_ONE_STEP, factor_between};
use crate::air::Air;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::notebook::{Combination, Doubted, differing};
use crate::quantity::fixed;
use crate::store::{Book, OutingRecord, StoreError};

/// An air, and whose it is in words: "the air it goes into".
type Whose = (Air, String);

impl Case<'_> {
    /// What speaks against a step for the air alone, with what to do; none of another engine, whose own runs count.
    pub(in crate::advice::held) fn denser_air_than_it_was_right_in(
        &self,
        book: &Book<'_>,
    ) -> Result<Option<(Refusal, Guidance)>, StoreError> {
        if self.step.other_engine || self.proposal.advised || self.proposal.moves_nothing {
            return Ok(None);
        }
        let found = if self.proposal.back { self.put_back(book)? } else { self.changed(book)? };
        Ok(found.map(|(harm, words)| self.rejet_first(&harm, &words)))
    }

    /// Leaner jetting that is put back into an air denser than it was right in by more than a size, or many sizes at once where nobody
    /// knows that the air is no denser: it ran, and not in this.
    fn put_back(&self, book: &Book<'_>) -> Result<Option<(Harm, String)>, StoreError> {
        let steps = [Some(&self.step), self.since_run.as_ref().map(|(_, step)| step)];
        let less = steps.into_iter().flatten().filter(|_| self.step.takes_fuel_away());
        let most = less.flat_map(|step| step.of(HurtKind::Fuel)).max_by_key(|harm| harm.sizes);
        let Some(harm) = most else { return Ok(None) };
        let many = harm.sizes.is_some_and(|sizes| sizes > SIZES_LEANER_IN_ONE_STEP);
        let was_right = self.right_in(book, |ran| jets_like(ran, self.proposal.after))?;
        let words = match was_right.zip(self.goes_into(book)?) {
            Some((right, (now, whose))) => {
                let was_rich = self.last_run().was == LastVerdict::Rich && !many;
                if wants_more(self.proposal.after, right, now) <= 1.0 + SIZE || was_rich {
                    return Ok(None);
                }
                format!("{whose} is {} denser than this setup was right in", percent_denser(right, now))
            }
            None if many => "no air is written down in which it was right, or into which it goes".to_owned(),
            None => return Ok(None),
        };
        Ok(Some((harm.clone(), words)))
    }

    /// Less fuel at half throttle or above, or an earlier spark, where the air wants over a size more than the one that the run had from which
    /// the step counts, and the step leaves that much less. A run that was rich has a size to give.
    fn changed(&self, book: &Book<'_>) -> Result<Option<(Harm, String)>, StoreError> {
        let Some(harm) = self.leaner_or_earlier() else { return Ok(None) };
        let Some((now, whose)) = self.goes_into(book)? else { return Ok(None) };
        let setups = Setups::of(book, self.proposal.bike)?;
        let number = self.since_run.as_ref().map(|(number, _)| *number);
        let counted = setups.records.iter().find(|record| Some(record.number) == number);
        let counted = counted.map(|record| book.combination(self.proposal.bike, Some(record))).transpose()?;
        let counted = counted.as_ref().unwrap_or(self.before);
        let own = |ran: &Combination| {
            let others = other_combination(&self.proposal.after.fields, &ran.fields);
            !others.iter().any(|part| INCOMPARABLE.contains(part))
        };
        let Some(ran_in) = (match self.right_in(book, |ran| own(ran) && jets_like(ran, counted))? {
            Some(air) => Some(air),
            None => last_air(book, &setups, self.proposal.bike, |ran| own(ran) && jets_like(ran, counted))?,
        }) else {
            return Ok(None);
        };
        let sizes = if self.last_run().was == LastVerdict::Rich { 2.0 } else { 1.0 };
        let limit = 1.0 + sizes * SIZE;
        let wants = wants_more(counted, ran_in, now);
        let step = self.since_run.as_ref().map_or(&self.step, |(_, step)| step);
        let zones = if harm.kind == HurtKind::Spark { &["full"][..] } else { harm.zones };
        let left = zones.iter().filter(|zone| COUNTED_AT.contains(zone));
        let left = left.map(|zone| step.fuel_at(zone).unwrap_or(1.0)).reduce(f64::min).unwrap_or(1.0);
        if wants <= limit || wants / left <= limit {
            return Ok(None);
        }
        // What it changes to may have been right in an air as dense.
        let before = self.right_in(book, |ran| own(ran) && jets_like(ran, self.proposal.after))?;
        let is_proven = before.is_some_and(|right| wants_more(self.proposal.after, right, now) <= 1.0 + SIZE);
        let words = format!("{whose} is {} denser than the run it counts from", percent_denser(ran_in, now));
        Ok((!is_proven || harm.kind == HurtKind::Spark).then_some((harm, words)))
    }

    /// What a step takes away where an engine seizes of it, the most of it counted from what ran; else the spark that comes earlier.
    fn leaner_or_earlier(&self) -> Option<Harm> {
        let seizes = |harm: &&Harm| {
            harm.zones.iter().any(|zone| COUNTED_AT.contains(zone)) && !self.is_back_from_what_never_ran(harm)
        };
        let own = self.step.of(HurtKind::Fuel).filter(seizes).max_by_key(|harm| harm.sizes);
        let since = self.since_run.iter().flat_map(|(_, step)| step.of(HurtKind::Fuel)).filter(seizes);
        let most =
            own.map(|own| since.fold(own, |most, one| if one.sizes > most.sizes { one } else { most }));
        most.or_else(|| self.step.of(HurtKind::Spark).next()).cloned()
    }

    /// The air that the step goes into: the one that was given or is kept, or else that of the last run.
    fn goes_into(&self, book: &Book<'_>) -> Result<Option<Whose>, StoreError> {
        if let Some(air) = self.proposal.air {
            return Ok(Some((*air, "the air it goes into".to_owned())));
        }
        let runs = book.outings(self.proposal.bike)?;
        let last = runs.iter().rev().find_map(|run| Some((air_of(run)?, run.outing.date)));
        // An air that is kept is of where the bike stands today; a run that came after it has the newer one.
        let kept = self.proposal.kept.and_then(|kept| {
            let (air, origin) = (kept.entry.as_ref()?.air().ok()?, kept.origin.as_ref()?);
            let is_newest = last.as_ref().is_none_or(|(_, ran)| *ran <= origin.date);
            is_newest.then(|| (air, format!("the {},", origin.words())))
        });
        let of_last = last.map(|(air, ran)| (air, format!("the air of the last run, on {},", ran.day())));
        Ok(kept.or(of_last))
    }

    /// The air in which jetting like this was right at full throttle, the densest of them; none where none is written down.
    fn right_in(
        &self,
        book: &Book<'_>,
        is_like: impl Fn(&Combination) -> bool,
    ) -> Result<Option<Air>, StoreError> {
        let setups = Setups::of(book, self.proposal.bike)?;
        let mut airs = Vec::new();
        for run in book.outings(self.proposal.bike)? {
            let air = air_of(&run).filter(|_| was_rich_enough(&run.outing, "full"));
            if let Some(air) = air
                && let Some(ran) = setups.that_ran(&run)?
                && is_like(&ran)
            {
                airs.push(air);
            }
        }
        let bike = book.garage().bike(self.proposal.bike)?;
        for setup in &setups.records {
            let air = bike.proven.get(&setup.id).and_then(|mark| mark.air.as_ref()?.air().ok());
            if let Some(air) = air
                && is_like(&book.combination(self.proposal.bike, Some(setup))?)
            {
                airs.push(air);
            }
        }
        Ok(airs.into_iter().max_by(|one, other| one.dry_density().total_cmp(&other.dry_density())))
    }

    /// A main jet more than a size smaller than full throttle was judged on, while only three-quarter throttle was judged since: what that
    /// shows of full throttle is little. Air that wants so much less lets it pass.
    pub(in crate::advice::held) fn not_judged_at_full(
        &self,
        book: &Book<'_>,
    ) -> Result<Option<(Refusal, Guidance)>, StoreError> {
        let at_full = |step: &Step| {
            let full = step.of(HurtKind::Fuel).filter(|harm| harm.zones.contains(&"full"));
            full.max_by_key(|harm| harm.sizes).cloned()
        };
        let counts = !self.proposal.back && !self.proposal.advised && !self.proposal.moves_nothing;
        if !counts || self.step.other_engine || at_full(&self.step).is_none() {
            return Ok(None);
        }
        let judged = judged_at_full_before(book, self.proposal.bike, self.proposal.after)?;
        let Some((number, judged)) = judged else { return Ok(None) };
        let step = Step::between(&judged, self.proposal.after, &self.tables);
        let Some(harm) = at_full(&step).filter(|harm| harm.sizes.is_some_and(|sizes| sizes > 1)) else {
            return Ok(None);
        };
        let right = self.right_in(book, |ran| jets_like(ran, &judged))?;
        let thinner = right.zip(self.proposal.air.copied());
        let wants = thinner.map_or(1.0, |(right, now)| wants_more(&judged, right, now));
        if step.fuel_at("full").is_some_and(|left| wants / left <= 1.0 + SIZE) {
            return Ok(None);
        }
        let sentence = format!(
            "Full throttle was not judged since setup {number}: {}. Three-quarter throttle alone says little of it.",
            harm.words
        );
        let way_out = Guidance::from(
            "Hold what is on it open once, read the plug there and log it (full=…), then go on; or say why it is done all the same: ",
        ) + CommandOption::Despite
            + ".";
        let field = harm.field.clone();
        Ok(Some((Refusal::of(field, sentence), way_out)))
    }

    /// Less fuel than what ran last, before an engine's first run: what it wants is not known, and a new one is run in rich. Air that wants
    /// so much less lets it pass.
    pub(in crate::advice::held) fn before_its_first_run(
        &self,
        book: &Book<'_>,
        engine_ran: bool,
    ) -> Result<Option<(Refusal, Guidance)>, StoreError> {
        let passes = engine_ran || self.proposal.advised || self.proposal.back || self.proposal.moves_nothing;
        let goes_in = self.proposal.after.fields.text("engine").filter(|_| !passes);
        let (Some(engine), true) = (goes_in, self.step.takes_fuel_away() || self.step.other_engine) else {
            return Ok(None);
        };
        let since = self.since_run.as_ref().map(|(number, step)| (step, counted_from(*number)));
        let now = || self.step.other_engine.then(|| (&self.step, String::new()));
        let Some((step, counted)) = since.or_else(now) else { return Ok(None) };
        let way_out = || {
            Guidance::from("Ask what it wants: ")
                + Command::AskWhatToFit(self.proposal.bike.to_owned())
                + "; or say why it is done all the same: "
                + CommandOption::Despite
                + "."
        };
        if let Some(harm) = step.of(HurtKind::Spark).next().filter(|_| step.earlier_deg > FAR_DEG + 1e-9) {
            let sentence = format!(
                "Engine {} has not run in this bike yet, and would start with far more spark than what ran: {}{counted}. Start no earlier.",
                visible(engine),
                harm.words
            );
            return Ok(Some((Refusal::of(harm.field.clone(), sentence), way_out())));
        }
        let open = |harm: &&Harm| harm.zones.iter().any(|zone| COUNTED_AT.contains(zone));
        let less =
            step.of(HurtKind::Fuel).filter(open).filter(|harm| harm.sizes.is_some_and(|sizes| sizes > 0));
        let Some(harm) = less.max_by_key(|harm| harm.sizes) else { return Ok(None) };
        let setups = Setups::of(book, self.proposal.bike)?;
        let ran_in = last_air(book, &setups, self.proposal.bike, |_| true)?;
        let wants = ran_in.zip(self.proposal.air.copied());
        let wants = wants.map_or(1.0, |(from, to)| wants_more(self.proposal.after, from, to));
        let left = harm.zones.iter().filter_map(|zone| step.fuel_at(zone)).reduce(f64::min);
        if left.is_some_and(|left| wants / left <= 1.0 + SIZE / 2.0) {
            return Ok(None);
        }
        let sentence = format!(
            "Engine {} has not run in this bike yet, and would start on less than what ran: {}{counted}. Start at least as rich.",
            visible(engine),
            harm.words
        );
        Ok(Some((Refusal::of(harm.field.clone(), sentence), way_out())))
    }

    fn rejet_first(&self, harm: &Harm, words: &str) -> (Refusal, Guidance) {
        let sentence = format!("Rejet first: {}, and {words}.", harm.words);
        let mut ways = Vec::new();
        if self.proposal.air.is_none() {
            // Why the air that was kept today did not count.
            let old = self.proposal.kept.and_then(|kept| kept.refused.as_ref());
            let old = old.filter(|old| old.of_the_day).map(|old| format!("{} ", old.words));
            ways.push(
                Guidance::from(old.unwrap_or_default())
                    + "Give the air it goes into, if that is thinner ("
                    + CommandOption::Air
                    + ")",
            );
        }
        ways.push(if self.proposal.back {
            Guidance::from("put back the rest alone (")
                + CommandOption::Only
                + ") and ask what that air wants"
        } else {
            Guidance::from("ask what that air wants: ") + Command::AskWhatToFit(self.proposal.bike.to_owned())
        });
        ways.push(Guidance::from("or say why it is done all the same: ") + CommandOption::Despite);
        let way_out = (Guidance::joined(ways, "; ") + ".").with_capital();
        let field = harm.field.clone();
        (Refusal::of(field, capital(&sentence)).of_the_air(), way_out)
    }
}

fn jets_like(one: &Combination, other: &Combination) -> bool {
    !differing(&one.fields, &other.fields).any(is_of_fuel)
}

/// The air a run was in; none where that is doubted or cannot be read.
fn air_of(run: &OutingRecord) -> Option<Air> {
    run.outing.air.as_ref().filter(|_| !run.outing.doubts(Doubted::Air))?.air().ok()
}

/// The air of the last run on such a setup, however it was judged.
fn last_air(
    book: &Book<'_>,
    setups: &Setups<'_, '_>,
    bike: &str,
    is_like: impl Fn(&Combination) -> bool,
) -> Result<Option<Air>, StoreError> {
    for run in book.outings(bike)?.iter().rev() {
        if let Some(air) = air_of(run)
            && let Some(ran) = setups.that_ran(run)?
            && is_like(&ran)
        {
            return Ok(Some(air));
        }
    }
    Ok(None)
}

/// How much more fuel one air wants than another, of a setup's fuel.
fn wants_more(whole: &Combination, from: Air, to: Air) -> f64 {
    let factor = whole.setup.as_ref().and_then(|setup| factor_between(setup, from, to, None).ok());
    factor.unwrap_or(to.dry_density() / from.dry_density())
}

fn percent_denser(from: Air, to: Air) -> String {
    format!("{} %", fixed(100.0 * (to.dry_density() / from.dry_density() - 1.0), 1))
}
