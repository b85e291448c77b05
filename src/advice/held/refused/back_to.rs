//! What the bike would stand on, whatever the step there: jetting that seized or ran lean before, a smaller main jet behind a richer
//! needle, less at another throttle while nobody knows why it seized.

use super::super::combination::other_combination;
use super::super::harms::harm::{Harm, HurtKind};
use super::super::hold::{Hold, Reference};
use super::super::said::{Refusal, Told, capital};
use super::super::sign::contradicted;
use super::super::step::{COUNTED_AT, NOT_NOTICED, Step};
use super::case::Case;
use crate::air::{Air, SAME_AIR};
use crate::notebook::fields::names::visible;
use crate::notebook::{Combination, FieldSet, throttle};
use crate::quantity::{Quantity, fixed, trimmed};

impl Case<'_> {
    /// The run of a hold in a few words: "the run of 2026-05-17, setup 2, main 174".
    fn run_in_words(hold: &Hold) -> String {
        let setup = hold.on_setup();
        let main = hold.main.map(|main| format!(", main {}", trimmed(main, 2))).unwrap_or_default();
        format!("the run of {}{setup}{main}", hold.outing.outing.date.day())
    }

    fn refusal(hold: &Hold, sentence: String) -> Refusal {
        Refusal::of("jetting", sentence).by(hold.run_name())
    }

    /// An engine that seized in this very bike goes back in, and nobody knows why it did.
    pub(in crate::advice::held) fn own_engine_that_seized(&self) -> Option<Refusal> {
        let engine = |fields: &FieldSet| fields.text("engine").map(str::to_owned);
        let goes_in = engine(&self.proposal.after.fields)?;
        let stays = self.before.fields.text("engine") == Some(goes_in.as_str());
        let its_own = |hold: &&Hold| {
            let ran = hold.ran.as_ref().and_then(|ran| engine(&ran.fields));
            hold.seizure && ran.as_deref() == Some(goes_in.as_str())
        };
        let hold = self.holds.holds.iter().find(its_own).filter(|_| self.step.other_engine && !stays)?;
        let sentence = format!(
            "Engine {} seized on {} (\"{}\"), and no cause is written down: open it and find out why before it is run.",
            visible(&goes_in),
            hold.outing.outing.date.day(),
            visible(&hold.words)
        );
        Some(Refusal { cylinder: None, field: "engine".to_owned(), ..Self::refusal(hold, sentence) })
    }

    /// Runs that were let go by one on more fuel, and that the bike would repeat.
    fn repeated(&self) -> Option<Vec<&Hold>> {
        let after = Reference::of(self.proposal.after)?;
        // What was recorded and never ran does not make it richer.
        let since_run = |zone: &str| self.since_run.as_ref().is_some_and(|(_, step)| step.is_leaner_at(zone));
        let again = |hold: &&Hold| {
            // Nobody knows why it seized: less than its two sizes more is as if it had never been run on more.
            let lasts = self.holds.not_again.iter().any(|one| one.outing.id == hold.outing.id);
            let no_more = if hold.seizure && lasts {
                // What cannot be set against it, and takes fuel away, may be as little.
                let least = hold.least_over(after, self.proposal.air, &self.tables);
                let blind = self.step.takes_fuel_away() && !self.step.other_engine;
                least.map_or(blind, |least| least > 1.0)
            } else {
                hold.is_repeated_by(after, self.proposal.air, &self.tables)
            };
            no_more && (self.step.other_engine || self.step.is_leaner_at(hold.zone) || since_run(hold.zone))
        };
        Some(self.holds.outlived.iter().filter(again).collect())
    }

    /// A step back to what seized, though a run on more was right since: why it seized is not known.
    pub(in crate::advice::held) fn back_to_what_seized(&self) -> Option<Refusal> {
        if let Some(hold) = self.repeated()?.into_iter().find(|hold| hold.seizure) {
            let sentence = format!(
                "It seized on jetting like this: {}, and no cause is written down. A run on more fuel was right since; this is not two sizes more.",
                Self::run_in_words(hold)
            );
            return Some(Self::refusal(hold, sentence));
        }
        None
    }

    /// A step back to what ran lean, though a run on more was right since: refused at full throttle while too few have run since to show
    /// that it was the jetting, else only said.
    pub(in crate::advice::held) fn back_to_what_ran_lean(&self) -> (Option<Refusal>, Option<Refusal>) {
        let all = self.repeated().unwrap_or_default();
        let lasts = |hold: &Hold| self.holds.not_again.iter().any(|one| one.outing.id == hold.outing.id);
        let grave = |hold: &&&Hold| {
            !self.step.other_engine && hold.zone == "full" && lasts(hold) && hold.words != "slightly lean"
        };
        let lean = all.iter().filter(|hold| !hold.seizure);
        if let Some(hold) = lean.clone().find(grave) {
            return (Some(self.ran_lean_on_this(hold)), None);
        }
        if let Some(refusal) = self.less_than_was_right() {
            return (Some(refusal), None);
        }
        (None, lean.clone().next().map(|hold| self.ran_lean_on_this(hold)))
    }

    /// Less than what ran lean, where as much was right since and less never: one of the two verdicts is wrong, and nobody knows which.
    fn less_than_was_right(&self) -> Option<Refusal> {
        let after = Reference::of(self.proposal.after)?;
        let leaner = self.step.is_leaner_at("full")
            || self.since_run.as_ref().is_some_and(|(_, step)| step.is_leaner_at("full"));
        let less = |(hold, right): &&(Hold, f64)| {
            let ran = hold.ran_over(after, &self.tables);
            let ran = ran.map(|ran| ran * hold.richer_for(after.setup, self.proposal.air));
            ran.is_some_and(|ran| 1.0 / ran < right * (1.0 - NOT_NOTICED / 4.0))
        };
        let known = self.holds.right_on_no_more.iter();
        let (hold, _) = known.filter(|_| leaner && !self.step.other_engine).find(less)?;
        let sentence = format!(
            "Leaner at full throttle than what was lean there: {}. A later run on as little was right, none on less: one of the two is a misread plug or another air.",
            Self::run_in_words(hold)
        );
        Some(Self::refusal(hold, sentence))
    }

    fn ran_lean_on_this(&self, hold: &Hold) -> Refusal {
        let words = if hold.is_detonation() { "pinged" } else { "ran lean" };
        let both = hold.air().zip(self.proposal.air);
        let was_thinner =
            both.is_some_and(|(ran, now)| now.dry_density() > ran.dry_density() * (1.0 + SAME_AIR));
        let in_what = match (was_thinner, hold.air()) {
            (true, _) => ", in thinner air".to_owned(),
            (_, Some(air)) => format!(", in {} % air", fixed(air.relative_density_percent(), 1)),
            (_, None) => String::new(),
        };
        let sentence = format!(
            "Jetting like this {words} at {} before: {}{in_what}. Since then right only on more.",
            throttle(hold.zone),
            Self::run_in_words(hold)
        );
        Self::refusal(hold, sentence)
    }

    /// Less fuel than the very last run was lean on, in the same carburetor with another engine, pipe, box or fuel, and nothing ran since.
    pub(in crate::advice::held) fn below_the_last_run(&self) -> Option<Refusal> {
        let after = Reference::of(self.proposal.after)?;
        let main = |whole: &Combination| whole.fields.quantity("jetting.main").map(Quantity::si);
        let smaller = main(self.before).zip(main(self.proposal.after)).is_some_and(|(was, is)| is < was);
        let leaner = |hold: &Hold| {
            let since_run = self.since_run.as_ref().is_some_and(|(_, step)| step.is_leaner_at(hold.zone));
            (smaller && hold.zone == "full") || since_run || self.step.is_leaner_at(hold.zone)
        };
        let no_more = |hold: &Hold| {
            let reckoned = hold.is_reckoned_against(after, &self.tables);
            !reckoned || hold.is_repeated_by(after, self.proposal.air, &self.tables)
        };
        let last =
            self.holds.last_elsewhere.iter().filter(|hold| !self.is_bearable(hold) || hold.words == "lean");
        let hold = last.into_iter().find(|hold| leaner(hold) && no_more(hold))?;
        let sentence = format!(
            "Nothing leaner at {}: {}, was lean on another {} in the same carburetor, and nothing ran since: carburetor, can and air are those that were lean.{}",
            throttle(hold.zone),
            Self::run_in_words(hold),
            hold.elsewhere.join(" and "),
            self.still_leaner_than_ran(hold.zone).unwrap_or_default()
        );
        Some(Self::refusal(hold, sentence))
    }

    /// Less than a run was lean on whose cause is mended, and nothing was right on as little since: the jet that ran then is as far as a
    /// mend goes.
    pub(in crate::advice::held) fn below_the_mended(&self) -> Option<Refusal> {
        let after = Reference::of(self.proposal.after)?;
        let main = |whole: &Combination| whole.fields.quantity("jetting.main").map(Quantity::si);
        let is = main(self.proposal.after);
        let less = |hold: &&Hold| {
            let low = !matches!(hold.zone, "full" | "three_quarters") && !hold.seizure;
            let leaner = self.step.other_engine
                || self.step.is_leaner_at(hold.zone)
                || self.since_run.as_ref().is_some_and(|(_, step)| step.is_leaner_at(hold.zone));
            let smaller = || hold.zone == "full" && hold.main.zip(is).is_some_and(|(ran, is)| is < ran);
            let fuel = hold.ran_over(after, &self.tables);
            let fuel = fuel.map(|ran| ran * hold.richer_for(after.setup, self.proposal.air));
            !low && leaner && fuel.map_or_else(smaller, |ran| ran > 1.0 + NOT_NOTICED / 4.0)
        };
        let mended = self.holds.of_the_mended.iter().chain(&self.holds.not_below);
        let goes_in = self.proposal.after.fields.text("engine");
        let its_own = |hold: &&Hold| {
            !self.step.other_engine || hold.ran_on().and_then(|ran| ran.text("engine")) == goes_in
        };
        let hold = mended.filter(its_own).find(less)?;
        let since = if self.holds.not_below.iter().any(|one| one.outing.id == hold.outing.id) {
            "on as little nothing was right since"
        } else {
            "nothing ran since"
        };
        let sentence = format!(
            "Leaner at {} than what ran lean: {}, was lean there, its cause is written down as fixed, and {since}. Run it on that much or more first, and read plug and piston.",
            throttle(hold.zone),
            Self::run_in_words(hold)
        );
        Some(Refusal { by_a_run: None, ..Self::refusal(hold, sentence) })
    }

    /// More than is on the bike, and still less than a run was lean on whose cause is mended: on as little nothing was right since.
    pub(in crate::advice::held) fn short_of_the_mended(&self) -> Option<Refusal> {
        let after = Reference::of(self.proposal.after)?;
        let short = |hold: &&Hold| {
            let fuel = hold.ran_over(after, &self.tables);
            hold.zone == "full"
                && fuel.is_some_and(|ran| {
                    ran * hold.richer_for(after.setup, self.proposal.air) > 1.0 + NOT_NOTICED / 4.0
                })
        };
        let fuel_changes =
            self.step.fuel_at("full").is_none_or(|fuel| (fuel - 1.0).abs() > NOT_NOTICED / 4.0);
        let hold =
            self.holds.not_below.iter().filter(|_| fuel_changes && !self.step.other_engine).find(short)?;
        let sentence = format!(
            "Still less at full throttle than what ran lean: {}, was lean there, its cause is written down as fixed, and for that air nothing was right on as little since.",
            Self::run_in_words(hold)
        );
        Some(Refusal { by_a_run: None, ..Self::refusal(hold, sentence) })
    }

    /// While one cylinder was lean in the last run none gets less, nor what else may have done it: they are on one crank.
    pub(in crate::advice::held) fn beside_a_lean_cylinder(&self) -> Option<Refusal> {
        let (sentence, run) = self.lean_beside.clone()?;
        let less = self.step.of(HurtKind::Fuel).next();
        let harm = less.or_else(|| self.step.harms.first())?;
        let nor = if less.is_none() { format!(" Nor this: {}.", harm.words) } else { String::new() };
        Some(Refusal::of(harm.field.clone(), format!("{sentence}{nor}")).by(run))
    }

    /// Beside a cylinder that was mended, and the engine has not run since: less than what ran, unless today's air asks for it.
    pub(in crate::advice::held) fn beside_a_mended_cylinder(&self) -> Option<Refusal> {
        let opened =
            self.opened_beside.as_ref().filter(|_| !self.step.is_harmless() && !self.step.other_engine)?;
        let since = self.since_run.as_ref().map_or(&self.step, |(_, since)| since);
        // Nearly shut an engine runs lean without seizing, and what was worked out for today's air counts from what ran.
        let counts = |harm: &&Harm| match harm.kind {
            HurtKind::Fuel => {
                !self.proposal.advised && harm.zones.iter().any(|zone| COUNTED_AT.contains(zone))
            }
            _ => true,
        };
        let harm = since.harms.iter().find(counts)?;
        Some(Refusal::of(harm.field.clone(), format!("{} Not this: {}.", opened.sentence, harm.words)))
    }

    /// What is to be known of what never ran: an engine, a setup that is put back, jets in another carburetor.
    pub(in crate::advice::held) fn not_run_before(&self, never_ran: bool, engine_ran: bool) -> Vec<Told> {
        let (before, after) = (&self.before.fields, &self.proposal.after.fields);
        let mut told = Vec::new();
        if never_ran && !self.step.is_harmless() {
            let sentence = "What is put back never ran: it counts as a change like any other.".to_owned();
            told.push(Told::of(false, sentence));
        }
        let others = other_combination(after, before);
        told.extend(self.another_fuel().map(|sentence| Told::of(true, sentence)));
        told.extend(self.not_to_be_reckoned());
        let last = self.holds.last_run.as_ref().and_then(|run| contradicted(&run.outing));
        let hurts = !self.step.is_harmless() && !self.step.other_engine;
        told.extend(last.filter(|_| hurts).map(|sentence| Told::of(true, sentence)));
        if let Some(engine) = after.text("engine").filter(|_| others.contains(&"engine") && !engine_ran) {
            let sentence = format!(
                "Engine {} has not run in this bike by the record: start rich, and read plug and piston before it is held open.",
                visible(engine)
            );
            told.push(Told::of(false, sentence));
        }
        told
    }

    /// Less fuel and another fuel of which nobody wrote down what it wants.
    pub(in crate::advice::held) fn leaner_on_another_fuel(&self) -> Option<Refusal> {
        let harm = self.step.of(HurtKind::Fuel).next()?;
        let sentence = format!("{} {}.", self.another_fuel()?, capital(&harm.words));
        Some(Refusal::of(harm.field.clone(), sentence))
    }

    /// Another fuel, of which or of the one before it is not written down what it wants of itself.
    fn another_fuel(&self) -> Option<String> {
        let (before, after) = (&self.before.fields, &self.proposal.after.fields);
        let name = |fields: &FieldSet| fields.text("fuel.name").map(|name| name.trim().to_lowercase());
        let (was, is) = (name(before)?, name(after)?);
        let known = |fields: &FieldSet| {
            ["fuel.density", "fuel.stoichiometric_ratio"].iter().all(|field| fields.quantity(field).is_some())
        };
        if was == is || known(before) && known(after) {
            return None;
        }
        let lacking = if known(after) { before } else { after };
        let named = |fields: &FieldSet| visible(fields.text("fuel.name").unwrap_or_default());
        let sentence = format!(
            "Fuel {} -> {}: what {} wants of itself is not written down (fuel.density, fuel.stoichiometric_ratio). An alcohol wants half as much again and more: start rich and read plug and piston.",
            named(before),
            named(after),
            named(lacking)
        );
        Some(sentence)
    }

    /// Richer jets, where that is not what a run asks for yet; refused where an earlier setup is put back that has less than what seized
    /// asks for, and where they are richer only than what was recorded and never ran: only said otherwise.
    pub(in crate::advice::held) fn not_enough_yet(&self) -> (Option<Refusal>, Option<Refusal>) {
        let Some((hold, refusal)) = self.too_little() else { return (None, None) };
        let leaner_than_ran = self.since_run.as_ref().is_some_and(|(_, step)| step.is_leaner_at(hold.zone));
        let refused = if self.proposal.back { hold.seizure } else { leaner_than_ran };
        if refused { (Some(refusal), None) } else { (None, Some(refusal)) }
    }

    fn too_little(&self) -> Option<(&Hold, Refusal)> {
        let after = Reference::of(self.proposal.after)?;
        if self.step.other_engine {
            return None;
        }
        let asks = |hold: &&Hold| {
            let least = hold.least_over(after, self.proposal.air, &self.tables);
            (hold.zone == "full" || hold.seizure) && least.is_some_and(|least| least > 1.0)
        };
        let hold = self.holds.holds.iter().find(asks)?;
        let before = Reference::of(self.before);
        let least = before.and_then(|before| hold.least_over(before, self.proposal.air, &self.tables));
        let sentence = self.held_words(hold, hold.zone, least);
        Some((hold, Self::refusal(hold, sentence.replacen("Nothing leaner", "Still too little", 1))))
    }

    /// After a lean run at full throttle no needle makes up for a smaller main jet than the one that ran.
    pub(in crate::advice::held) fn smaller_main(&self) -> Option<Refusal> {
        let (before, after) = (self.before.setup.as_ref()?, self.proposal.after.setup.as_ref()?);
        let main = |setup: &crate::notebook::Setup| Some(setup.jetting.as_ref()?.main.as_ref()?.si());
        let (was, is) = (main(before)?, main(after)?);
        if self.step.other_engine || is >= was {
            return None;
        }
        let numbers = after.jetting.as_ref()?.main_numbered_by;
        let held = self.holds.holds.iter().filter(|hold| hold.zone == "full" && hold.counts_like(numbers));
        let mut below = held.filter_map(|hold| {
            // Without an air of its own the run holds in any.
            let air = self.proposal.air.or(hold.air()).unwrap_or(&Air::STANDARD);
            let least = hold.main_never_below(None, (after, air), &self.tables)?;
            (is < least * (1.0 - 1e-9)).then_some((hold, least))
        });
        let (hold, least) = below.next()?;
        let sentence = format!(
            "Nothing leaner at full throttle: {}, was lean there, and no needle makes up for a main jet smaller than {}.",
            Self::run_in_words(hold),
            trimmed(least, 1)
        );
        Some(Self::refusal(hold, sentence))
    }

    /// While nobody knows why it seized no other throttle gets less either.
    pub(in crate::advice::held) fn leaner_at_another_throttle(&self) -> Option<Refusal> {
        let hold = self.holds.holds.iter().find(|hold| hold.seizure)?;
        // In thinner air every throttle wants less.
        let wants =
            self.before.setup.as_ref().map_or(1.0, |before| hold.richer_for(before, self.proposal.air));
        let is_held = |zone: &str| self.holds.holds.iter().any(|hold| hold.zone == zone);
        let is_less = |zone: &&str| {
            // What the circuits cannot say is taken as full throttle has it, where it is the main jet that does it.
            let by_main = self.step.harms.iter().filter(|harm| harm.zones.contains(zone));
            let by_main =
                by_main.clone().next().is_some() && by_main.clone().all(|harm| harm.zones.contains(&"full"));
            let full = || self.step.fuel_at("full").filter(|_| by_main);
            let fuel = self.step.fuel_at(zone).or_else(full);
            if !is_held(zone) && self.blind_at(zone).is_some() {
                return true;
            }
            !is_held(zone)
                && self.step.is_leaner_at(zone)
                && fuel.is_none_or(|fuel| fuel < wants.min(1.0) * (1.0 - NOT_NOTICED))
        };
        let zone = Step::zones().into_iter().rev().find(is_less)?;
        let sentence = format!(
            "Nothing leaner at {} either: {}, seized (\"{}\"), and nobody knows why.",
            throttle(zone),
            Self::run_in_words(hold),
            visible(&hold.words)
        );
        Some(Self::refusal(hold, sentence))
    }
}
