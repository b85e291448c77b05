//! A step as it is judged: all that is known of it at once, and all that speaks against it.

use super::super::beside::Opened;
use super::super::combination::{METERING, other_combination};
use super::super::harms::SAME_DEG;
use super::super::harms::Trade;
use super::super::harms::harm::{Harm, HurtKind};
use super::super::hold::{Hold, Reference, Tables};
use super::super::holds::Holds;
use super::super::proposal::Proposal;
use super::super::said::{Judgement, LastVerdict, Refusal, Told};
use super::super::step::{NOT_NOTICED, Step};
use super::super::still::{is_its_own, ran_lean};
use crate::advice::rejet::SIZES_LEANER_IN_ONE_STEP;
use crate::notebook::fields::meaning::{Fuelling, Hurts};
use crate::notebook::fields::names::visible;
use crate::notebook::{Change, Combination, compare, section_of};

pub(in crate::advice::held) struct Case<'c> {
    pub(in crate::advice::held) step: Step,
    /// The step from the setup that ran last, by its number, where what is on the bike has not run.
    pub(in crate::advice::held) since_run: Option<(u32, Step)>,
    pub(in crate::advice::held) holds: Holds,
    /// Whether the engine was in another bike until now.
    pub(in crate::advice::held) engine_was_elsewhere: bool,
    /// What is to be said of a cylinder that was lean in the last run, with the run: none gets less until that is cleared up.
    pub(in crate::advice::held) lean_beside: Option<(String, String)>,
    /// Another cylinder that was mended, where the engine has not run since: none gets less than what ran.
    pub(in crate::advice::held) opened_beside: Option<Opened>,
    /// What else is to be said: what never ran.
    pub(in crate::advice::held) besides: Vec<Told>,
    /// Those that hold the combination on the bike, where the step leaves it.
    pub(in crate::advice::held) held_before: Vec<Hold>,
    pub(in crate::advice::held) proposal: &'c Proposal<'c>,
    pub(in crate::advice::held) before: &'c Combination,
    pub(in crate::advice::held) tables: Tables<'c>,
    /// What the garage's own tables bound.
    pub(in crate::advice::held) trade: Trade,
}

impl Case<'_> {
    pub(in crate::advice::held) fn judgement(&self) -> Judgement {
        let (mut refused, mut borne) = self.leaner_than_held();
        refused.extend(self.engine_that_seized());
        refused.extend(self.another_carburetor_after_a_seizure());
        if refused.is_empty() {
            let (not_known, bearable) = self.not_known();
            refused.extend(not_known);
            borne.extend(bearable.filter(|_| borne.is_empty()));
        }
        if refused.is_empty() {
            refused.extend(self.back_to_what_seized());
        }
        if refused.is_empty() {
            let below = self.below_the_last_run().or_else(|| self.below_the_mended());
            refused.extend(below.or_else(|| self.smaller_main()));
        }
        if refused.is_empty() {
            refused.extend(self.beside_a_lean_cylinder().or_else(|| self.beside_a_mended_cylinder()));
            refused.extend(self.leaner_on_another_fuel().filter(|_| !self.proposal.back));
        }
        let elsewhere = self.leaner_at_another_throttle();
        refused.extend(elsewhere.filter(|_| refused.is_empty()));
        let (too_little, still_too_little) = self.not_enough_yet();
        refused.extend(too_little.filter(|_| refused.is_empty()));
        borne.extend(still_too_little.filter(|_| refused.is_empty()));
        borne.extend(self.short_of_the_mended().filter(|_| refused.is_empty()));
        // What is put back ran: that it was lean at full throttle is said beside what holds another one.
        if refused.is_empty() || self.proposal.back {
            let (back, bearable) = self.back_to_what_ran_lean();
            refused.extend(back);
            borne.extend(bearable);
        }
        // What a run forbids stays forbidden; what is too much for one step is none where nothing moves.
        let of_a_step = |refusal: Option<Refusal>| refusal.filter(|_| !self.proposal.moves_nothing);
        refused.extend(of_a_step(self.together()));
        refused.extend(self.after_a_lean_run().or_else(|| self.before_a_mend_is_tried()));
        refused.extend(of_a_step(self.too_many_sizes().or_else(|| self.too_many_together())));
        refused.extend(of_a_step(self.too_much_spark()).or_else(|| self.over_the_most()));
        refused.extend(of_a_step(self.too_little_oil()).or_else(|| self.less_oil_after_a_seizure()));
        refused.extend(self.too_tight());
        let way_out = self.way_out(&refused);
        let mut told = self.told(!refused.is_empty() || !borne.is_empty());
        told.extend(borne.into_iter().map(|refusal| Told::of(true, refusal.sentence.without_commands())));
        told.sort_by_key(|told| !told.urgent);
        let grave = |holds: &Vec<Hold>| holds.iter().any(|hold| hold.seizure || hold.zone == "full");
        let is_held = [&self.holds.holds, &self.holds.of_last_run, &self.held_before].into_iter().any(grave);
        Judgement { told, refused, way_out, is_held }
    }

    /// An engine that seized in another bike goes in.
    fn engine_that_seized(&self) -> Option<Refusal> {
        if let Some(refusal) = self.own_engine_that_seized() {
            return Some(refusal);
        }
        let goes_in = self.step.other_engine || self.engine_was_elsewhere;
        let sentence = self.holds.engine_seized.clone().filter(|_| goes_in || !self.step.is_harmless())?;
        Some(Refusal::of("engine", sentence))
    }

    /// What another carburetor gives cannot be set against the run that seized the engine, nor a map in another throttle body against a
    /// lean one.
    fn another_carburetor_after_a_seizure(&self) -> Option<Refusal> {
        let others = other_combination(&self.proposal.after.fields, &self.before.fields);
        let part = others.iter().find(|part| METERING.contains(part))?;
        // Jets go with a carburetor, a map does not go with a throttle body.
        let hold = self.holds.lean_last.as_ref().filter(|hold| hold.seizure || *part == "throttle body")?;
        let which = if others.contains(&"engine") { "The last engine" } else { "The engine" };
        let was = if hold.seizure { "seized" } else { "was lean" };
        let words = (hold.words != "lean").then(|| format!(" (\"{}\")", visible(&hold.words)));
        let sentence = format!(
            "{which} {was} on {}{}, and nobody knows why: what another {part} gives cannot be set against that run.",
            hold.outing.outing.date.day(),
            words.unwrap_or_default()
        );
        Some(Refusal::of("jetting", sentence).by(hold.run_name()))
    }

    /// Whether what ran last is what to count from: a step that can hurt, another engine, or something that is written down anew.
    pub(in crate::advice::held) fn counts_since_run(&self) -> bool {
        let hurts = |field: &str| {
            Combination::meaning(field)
                .is_some_and(|meaning| meaning.hurts != Hurts::Harmless || meaning.fuel != Fuelling::Known)
        };
        let anew = |change: &Change| change.old.is_none() && hurts(&change.field);
        self.step.other_engine || !self.step.is_harmless() || self.changes().iter().any(anew)
    }

    /// Whether a field changes that fuel, spark or the head hang on.
    pub(in crate::advice::held) fn touches_what_can_hurt(&self) -> bool {
        self.step.other_engine || self.changes().iter().any(|change| !is_harmless(&change.field))
    }

    /// What the step changes.
    pub(in crate::advice::held) fn changes(&self) -> Vec<Change> {
        compare(&self.before.fields, &self.proposal.after.fields).changes
    }

    /// What the step does, with sizes and the last verdict.
    fn told(&self, refused: bool) -> Vec<Told> {
        // Less in another carburetor is set against nothing.
        let blind = self.step.other_engine && self.step.fuel.iter().all(|(_, fuel)| fuel.is_none());
        let blind = blind && self.step.takes_fuel_away();
        let urgent = refused || blind || self.sizes_at_once() > SIZES_LEANER_IN_ONE_STEP;
        let mut harms: Vec<&Harm> = self.step.harms.iter().collect();
        harms.sort_by_key(|harm| (harm.kind, std::cmp::Reverse(harm.sizes)));
        let mut told: Vec<Told> = Vec::new();
        let more = self.more_since_run();
        let oil = self.less_oil_than_ran();
        if !harms.is_empty() || more.is_some() || oil.is_some() {
            let fuel = |harm: &&&Harm| harm.kind != HurtKind::Fuel || more.is_none();
            let of_step = harms.iter().filter(fuel).map(|harm| self.since_what_ran(harm));
            let most = more.as_ref().map_or_else(|| self.sizes_at_once(), |(sizes, ..)| *sizes);
            let at_once = if most > SIZES_LEANER_IN_ONE_STEP { " in one step" } else { "" };
            // What is counted from an earlier run is in one step before it is said from which.
            let counted = more.iter().map(|(_, words, from)| format!("{words}{at_once}{from}"));
            let all: Vec<String> = counted.chain(of_step).chain(oil).collect();
            // What is put back ran: only that the last run was lean matters to it.
            let last = Some(self.last_run());
            told.push(Told {
                urgent: urgent || most > SIZES_LEANER_IN_ONE_STEP,
                cylinder: None,
                parts: all,
                at_once: most > SIZES_LEANER_IN_ONE_STEP && more.is_none(),
                last: last.filter(|last| {
                    !self.proposal.back || !matches!(last.was, LastVerdict::Right | LastVerdict::Rich)
                }),
            });
        }
        let leaner = self.step.takes_fuel_away() || more.is_some();
        let mended = self.holds.mended.iter().map(|remark| (leaner && !self.holds.run_in.is_empty(), remark));
        told.extend(self.another_after_a_seizure());
        told.extend(self.little_squish());
        told.extend(self.besides.iter().cloned());
        let remarks = mended.chain(self.holds.remarks.iter().map(|remark| (false, remark)));
        told.extend(remarks.map(|(urgent, remark)| Told::of(urgent, remark.as_str())));
        told
    }

    /// Sizes leaner than what that engine and carburetor ran last, with the words of it and from where they are counted, where that is more than
    /// the step itself says.
    fn more_since_run(&self) -> Option<(u32, String, String)> {
        let (number, step) = self.since_run.as_ref()?;
        let sizes = step.sizes();
        let matters = sizes > self.step.sizes() && (self.step.takes_fuel_away() || self.step.other_engine);
        let words: Vec<&str> = step.of(HurtKind::Fuel).map(|harm| harm.words.as_str()).collect();
        matters.then(|| (sizes, words.join("; "), counted_from(*number)))
    }

    /// Every throttle that would get less than a run allows there; apart from them those where that is only to be said: lean away from full
    /// throttle on another engine.
    fn leaner_than_held(&self) -> (Vec<Refusal>, Vec<Refusal>) {
        let (mut refused, mut borne): (Vec<Refusal>, Vec<Refusal>) = (Vec::new(), Vec::new());
        let zones = Step::zones();
        for zone in zones {
            if let Some((hold, least)) = self.violated(zone) {
                let field = self.step.of(HurtKind::Fuel).find(|harm| harm.zones.contains(&zone));
                let field = field.map_or("jetting", |harm| harm.field.as_str()).to_owned();
                let kept = if self.is_bearable(hold) { &mut borne } else { &mut refused };
                kept.push(Refusal::of(field, self.held_words(hold, zone, least)).by(hold.run_name()));
            }
        }
        // Full throttle throws riders: it is said first.
        refused.reverse();
        (refused, borne)
    }

    /// Whether a hold is only to be said: away from full throttle, where an engine runs lean without seizing.
    pub(in crate::advice::held) fn is_bearable(&self, hold: &Hold) -> bool {
        let low = !matches!(hold.zone, "full" | "three_quarters") && !hold.seizure;
        // What was recorded and never fitted is taken back: the bike stays as it is, and the run is said.
        low && (self.step.other_engine || self.proposal.moves_nothing && hold.words == "slightly lean")
    }

    /// The hold that the step breaks at a zone, with the least fuel there over what is on the bike, where that can be said.
    pub(in crate::advice::held) fn violated(&self, zone: &'static str) -> Option<(&Hold, Option<f64>)> {
        let of_zone = || self.holds.holds.iter().filter(move |hold| hold.zone == zone);
        of_zone().next()?;
        let before = Reference::of(self.before);
        if self.step.other_engine {
            // What is on the bike now is another engine: only the fuel itself counts.
            let after = Reference::of(self.proposal.after)?;
            let stands = (after, after.setup);
            let (hold, least) = self.holds.least(zone, stands, self.proposal.air, &self.tables)?;
            return (least > 1.0).then_some((hold, None));
        }
        // What feeds three quarters feeds half throttle too, where no needle says how little.
        let is_fed_by_more = || {
            zone == "half"
                && self.step.fuel_at(zone).is_none()
                && self.step.is_leaner_at("three_quarters")
                && of_zone().any(|hold| hold.words != "slightly lean")
        };
        if !self.step.is_leaner_at(zone) && !is_fed_by_more() {
            return None;
        }
        let (Some(before), Some(fuel)) = (before, self.step.fuel_at(zone)) else {
            return of_zone().next().map(|hold| (hold, None));
        };
        let stands = (before, before.setup);
        let (hold, least) = self.holds.least(zone, stands, self.proposal.air, &self.tables)?;
        let noticed = fuel < 1.0 - NOT_NOTICED
            || zone == "full"
            || self.is_fed_by_a_smaller_main(zone)
            || (fuel < 1.0 - NOT_NOTICED / 2.0 && of_zone().any(|hold| hold.words == "lean"))
            || of_zone().any(|hold| hold.seizure)
            || of_zone().any(|hold| {
                hold.ran_over(before, &self.tables).is_none_or(|ran| fuel < ran * (1.0 - NOT_NOTICED))
            });
        (fuel < least && noticed).then_some((hold, Some(least)))
    }

    /// Whether a smaller main jet feeds a throttle below full that a run holds: half throttle is the needle's, and partly the main jet's. After
    /// a run that was only slightly lean that is held in an air that is known; else it is said.
    fn is_fed_by_a_smaller_main(&self, zone: &str) -> bool {
        let plainly =
            || self.holds.holds.iter().any(|hold| hold.zone == zone && hold.words != "slightly lean");
        matches!(zone, "half" | "three_quarters")
            && self.step.of(HurtKind::Fuel).any(|harm| harm.field == "jetting.main")
            && (self.proposal.air.is_some() || plainly())
    }

    /// Two or more of what hurts, in one step or without a run in between.
    fn together(&self) -> Option<Refusal> {
        two_in(&self.step, "in one step").or_else(|| {
            let (number, step) = self.since_run.as_ref().filter(|_| self.counts_since_run())?;
            two_in(step, &format!("since setup {number}, the last that was judged"))
        })
    }

    /// A spark that comes earlier, a tighter head or a shorter stinger after a lean run.
    fn after_a_lean_run(&self) -> Option<Refusal> {
        let counts = |hold: &&Hold| {
            hold.seizure || matches!(hold.zone, "full" | "three_quarters") || hold.words != "slightly lean"
        };
        let last = self.holds.of_last_run.iter().chain(&self.holds.last_elsewhere).find(counts);
        // As long as the fuel is held the spark is: another throttle that was judged since says nothing of full throttle.
        let lasts = |hold: &&Hold| (hold.seizure || hold.zone == "full") && is_its_own(hold) && !hold.mended;
        let seized = self.holds.not_again.iter().filter(|hold| hold.seizure);
        let hold = last.or_else(|| self.holds.holds.iter().chain(seized).find(lasts));
        let hold = hold.or(self.holds.lean_there.as_ref())?;
        let ran = if last.is_some() { self.last_run().words } else { ran_lean(hold) };
        let no_fuel = |step: &Step| step.harms.iter().find(|harm| harm.kind != HurtKind::Fuel).cloned();
        // Another box or map that may or may not be earlier is not what it pinged on.
        let known = |step: &Step| {
            no_fuel(step).filter(|harm| harm.kind != HurtKind::Spark || step.earlier_deg > SAME_DEG)
        };
        if let Some(harm) = self.against_what_it_ran_on(hold).as_ref().and_then(known) {
            let sentence =
                format!("After a lean run: {}, against what this engine ran on then, and {ran}.", harm.words);
            return Some(Refusal::of(harm.field, sentence).by(hold.run_name()));
        }
        let since = self.since_run.as_ref().filter(|_| self.counts_since_run());
        let harm = no_fuel(&self.step).or_else(|| no_fuel(&since?.1))?;
        let sentence = format!("After a lean run: {}, and {ran}.", harm.words);
        Some(Refusal::of(harm.field.clone(), sentence).by(hold.run_name()))
    }

    /// The step from what an engine was lean on in its last run to what it goes into: the spark of a bike is not the spark it ran on.
    fn against_what_it_ran_on(&self, hold: &Hold) -> Option<Step> {
        let goes_in = self.proposal.after.fields.text("engine")?;
        let ran = hold.ran.as_deref().filter(|ran| ran.fields.text("engine") == Some(goes_in))?;
        let ran_there = self.holds.lean_there.as_ref().is_some_and(|last| last.outing.id == hold.outing.id);
        let moves = self.step.other_engine || self.engine_was_elsewhere || ran_there;
        moves.then(|| Step::between(ran, self.proposal.after, &self.tables))
    }

    /// Whether a harm only takes back what was recorded since the last judged run: beside that run its throttles get no less.
    pub(in crate::advice::held) fn is_back_from_what_never_ran(&self, harm: &Harm) -> bool {
        let Some((_, since)) = self.since_run.as_ref().filter(|_| !self.step.other_engine) else {
            return false;
        };
        let no_less = |zone: &&str| since.fuel_at(zone).is_some_and(|fuel| fuel >= 1.0 - NOT_NOTICED / 2.0);
        !since.other_engine && !harm.zones.is_empty() && harm.zones.iter().all(no_less)
    }
}

/// Whether fuel, spark and the head hang on nothing of a field.
pub(in crate::advice::held) fn is_harmless(field: &str) -> bool {
    matches!(section_of(field), "gearing" | "notes" | "extra")
}

/// The refusal of a step that does two or more of what hurts.
fn two_in(step: &Step, when: &str) -> Option<Refusal> {
    let kinds = step.kinds();
    let [first, .., _] = kinds.as_slice() else {
        return None;
    };
    let field = step.of(*first).next()?.field.clone();
    let harms = kinds.iter().flat_map(|kind| step.of(*kind));
    let parts: Vec<&str> = harms.map(|harm| harm.words.as_str()).collect();
    let sentence = format!(
        "{} things that can seize the engine {when}: {}. Do one at a time and read plug and piston in between.",
        if kinds.len() == 2 { "Two" } else { "Several" },
        parts.join("; ")
    );
    Some(Refusal::of(field, sentence))
}

/// Where a step counts from that has no run in between.
pub(in crate::advice::held) fn counted_from(setup: u32) -> String {
    format!(", counted from setup {setup}, the last that was judged")
}
