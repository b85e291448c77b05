//! What a proposed step is told, and why it is refused: by what it does, and by the runs that hold.

use super::hold::{Hold, Tables, with_main};
use super::holds;
use super::holds::Holds;
use super::step::{Harm, Kind, Step, throttle};
use crate::advice::rejet::sizes_at_hand;
use crate::air::Air;
use crate::notebook::fields::names::visible;
use crate::notebook::{Circuit, Combination, FieldSet, JetBox, NeedleBox, OwnBox, Shares};
use crate::quantity::{Measure, fixed, trimmed};
use crate::store::{Book, StoreError, require_every_outing};

/// More sizes leaner at once are refused (common practice, no source).
const MOST_SIZES: u32 = 2;

/// Fuel lost at a throttle that a run holds, beside what another throttle is about, below which nobody would notice it: half of a
/// size (common practice, no source).
const NOT_NOTICED: f64 = 0.01;

/// What is proposed for a bike.
#[derive(Debug, Clone, Copy)]
pub struct Proposal<'p> {
    /// The bike.
    pub bike: &'p str,
    /// The setup that is on it; none for its first.
    pub before: Option<&'p Combination>,
    /// The setup that it would have.
    pub after: &'p Combination,
    /// The air it goes into, where that is known.
    pub air: Option<&'p Air>,
    /// Whether an earlier setup is put back: then many sizes at once are said and not refused, since it ran.
    pub back: bool,
}

/// What is to be said of a step.
#[derive(Debug, Clone, Default)]
pub struct Judgement {
    /// What it does that can hurt, most urgent first.
    pub told: Vec<Told>,
    /// Why it is not to be done.
    pub refused: Vec<Refusal>,
    /// The way out of all refusals, in one sentence or more.
    pub way_out: String,
}

impl Judgement {
    /// The reason that is recorded where a step is done despite what speaks against it; fails without one.
    pub fn allow(&self, despite: Option<&str>) -> Result<Option<String>, StoreError> {
        let Some(first) = self.refused.first() else {
            return Ok(None);
        };
        if let Some(despite) = despite {
            return Ok(Some(despite.trim().to_owned()));
        }
        let sentences: Vec<&str> = self.refused.iter().map(|refusal| refusal.sentence.as_str()).collect();
        Err(StoreError::request(Some(&first.field), sentences.join(" "), self.way_out.clone()))
    }
}

/// One thing to be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Whether it must not be run like that.
    pub urgent: bool,
    /// The sentence.
    pub sentence: String,
}

/// One reason to refuse.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The field.
    pub field: String,
    /// The sentence.
    pub sentence: String,
}

/// The tables of a bike's garage, read at once.
#[derive(Debug, Clone)]
pub struct Shelf {
    jets: JetBox,
    needles: NeedleBox,
    shares: Shares,
    own_box: Option<OwnBox>,
}

impl Shelf {
    /// Reads them.
    pub fn of(book: &Book<'_>, bike: &str) -> Result<Self, StoreError> {
        let garage = book.garage();
        Ok(Self {
            jets: garage.jets()?,
            needles: garage.needles()?,
            shares: garage.shares()?,
            own_box: garage.bike(bike)?.own_box,
        })
    }

    /// To reckon with.
    pub fn tables(&self) -> Tables<'_> {
        Tables {
            jets: &self.jets,
            needles: &self.needles,
            shares: &self.shares,
            own_box: self.own_box.as_ref(),
        }
    }
}

/// Judges a step by all of the bike's record, whatever day it is given: it is done to the bike as it stands.
pub fn judge(book: &Book<'_>, proposal: &Proposal<'_>) -> Result<Judgement, StoreError> {
    let shelf = Shelf::of(book, proposal.bike)?;
    let tables = shelf.tables();
    let before = proposal.before.unwrap_or(proposal.after);
    let mut step = Step::between(before, proposal.after, &tables);
    // Whatever a new bike's first setup names goes into it now.
    step.other_engine |= proposal.before.is_none();
    let holds = Holds::default();
    let mut case = Case { step, holds, proposal, before, tables };
    if case.step.is_harmless() && !case.step.other_engine && !case.is_blind() {
        return Ok(Judgement::default());
    }
    // What cannot be read may forbid the step: no reason of its own makes it known.
    require_every_outing(book, proposal.bike)?;
    case.holds = self::holds(book, proposal.bike, proposal.after, &case.tables)?;
    Ok(case.judgement())
}

pub(super) struct Case<'c> {
    pub(super) step: Step,
    pub(super) holds: Holds,
    pub(super) proposal: &'c Proposal<'c>,
    pub(super) before: &'c Combination,
    pub(super) tables: Tables<'c>,
}

impl Case<'_> {
    pub(super) fn judgement(&self) -> Judgement {
        let (mut refused, borne) = self.leaner_than_held();
        refused.extend(self.engine_that_seized());
        if refused.is_empty() {
            refused.extend(self.not_known());
        }
        if refused.is_empty() {
            refused.extend(self.what_seized());
        }
        refused.extend(self.together());
        refused.extend(self.after_a_lean_run());
        refused.extend(self.too_many_sizes());
        let way_out = self.way_out(&refused);
        let mut told = self.told(!refused.is_empty() || !borne.is_empty());
        told.extend(borne.into_iter().map(|refusal| Told { urgent: true, sentence: refusal.sentence }));
        Judgement { told, refused, way_out }
    }

    /// An engine that seized in another bike goes in.
    fn engine_that_seized(&self) -> Option<Refusal> {
        let sentence = self.holds.engine_seized.clone().filter(|_| self.step.other_engine)?;
        Some(Refusal { field: "engine".to_owned(), sentence })
    }

    /// A step back to what seized, though a run on more was right since: why it seized is not known.
    fn what_seized(&self) -> Option<Refusal> {
        let after = self.proposal.after.setup.as_ref()?;
        if !self.step.is_leaner_at("full") {
            return None;
        }
        let again = |hold: &&Hold| hold.is_repeated_by(after, self.proposal.air, &self.tables);
        let hold = self.holds.outlived.iter().find(again)?;
        let run = &hold.outing.outing;
        let main = hold.main.map(|main| format!(", main {}", trimmed(main, 2))).unwrap_or_default();
        Some(Refusal {
            field: "jetting".to_owned(),
            sentence: format!(
                "It seized on jetting like this: the run of {}{main}, and no cause is written down. A run on more fuel was right since; this is not more.",
                run.date.day()
            ),
        })
    }

    /// What the step does, with sizes and the last verdict.
    fn told(&self, refused: bool) -> Vec<Told> {
        let urgent = refused || self.step.sizes() > MOST_SIZES;
        let mut harms: Vec<&Harm> = self.step.harms.iter().collect();
        harms.sort_by_key(|harm| (harm.kind, std::cmp::Reverse(harm.sizes)));
        let mut told: Vec<Told> = Vec::new();
        if let Some(first) = harms.first() {
            let all: Vec<&str> = harms.iter().map(|harm| harm.words.as_str()).collect();
            let at_once =
                if first.sizes.is_some_and(|sizes| sizes > MOST_SIZES) { " in one step" } else { "" };
            let sentence = format!("{}{at_once}; {}.", all.join("; "), self.last_run());
            told.push(Told { urgent, sentence: capital(&sentence) });
        }
        told.extend(self.holds.remarks.iter().map(|remark| Told { urgent: false, sentence: remark.clone() }));
        told
    }

    /// "the last run was lean at full throttle (28 Nov 2026, setup 40)".
    fn last_run(&self) -> String {
        let Some(run) = &self.holds.last_run else {
            return "no run on this combination was judged yet".to_owned();
        };
        let setup = run.setup.map(|number| format!(", setup {number}")).unwrap_or_default();
        let at = format!("({}{setup})", run.outing.date.day());
        match self.holds.of_last_run.as_slice() {
            [] if run.outing.is_closed() => format!("the cause of the last lean run is closed {at}"),
            [] => {
                let verdict = run.outing.verdict.as_ref().and_then(|verdict| verdict.zones().pop());
                let (zone, mixture) =
                    verdict.map_or(("full", "not judged"), |(zone, mixture)| (zone, mixture.words()));
                format!("the last run was {mixture} at {} {at}", throttle(zone))
            }
            [hold, ..] => {
                let worst = self.holds.of_last_run.iter().find(|hold| hold.seizure).unwrap_or(hold);
                format!("the last run {} at {} {at}", was(worst), throttle(worst.zone))
            }
        }
    }

    /// Every throttle that would get less than a run allows there; apart from them those where that is only to be said: a little lean
    /// away from full throttle, in a setup that is put back and ran.
    fn leaner_than_held(&self) -> (Vec<Refusal>, Vec<Refusal>) {
        let (mut refused, mut borne): (Vec<Refusal>, Vec<Refusal>) = (Vec::new(), Vec::new());
        let zones = Step::zones();
        for zone in zones {
            if let Some((hold, least)) = self.violated(zone) {
                let field = self.step.of(Kind::Fuel).find(|harm| harm.zones.contains(&zone));
                let field = field.map_or("jetting", |harm| harm.field.as_str()).to_owned();
                let low = !matches!(zone, "full" | "three_quarters") && !hold.seizure;
                let a_little = hold.words == "slightly lean" && low;
                let bearable = (self.proposal.back && a_little) || (self.step.other_engine && low);
                let kept = if bearable { &mut borne } else { &mut refused };
                kept.push(Refusal { field, sentence: self.held_words(hold, zone, least) });
            }
        }
        // Full throttle throws riders: it is said first.
        refused.reverse();
        (refused, borne)
    }

    /// The hold that the step breaks at a zone, with the least fuel there over what is on the bike, where that can be said.
    fn violated(&self, zone: &'static str) -> Option<(&Hold, Option<f64>)> {
        let of_zone = || self.holds.holds.iter().filter(move |hold| hold.zone == zone);
        of_zone().next()?;
        let (before, after) = (self.before.setup.as_ref(), self.proposal.after.setup.as_ref());
        if self.step.other_engine {
            // What is on the bike now is another engine: only the fuel itself counts.
            let after = after?;
            let (hold, least) = self.holds.least(zone, (after, after), self.proposal.air, &self.tables)?;
            return (least > 1.0).then_some((hold, None));
        }
        if !self.step.is_leaner_at(zone) {
            return None;
        }
        let (Some(before), Some(fuel)) = (before, self.step.fuel_at(zone)) else {
            return of_zone().next().map(|hold| (hold, None));
        };
        let (hold, least) = self.holds.least(zone, (before, before), self.proposal.air, &self.tables)?;
        let noticed = fuel < 1.0 - NOT_NOTICED
            || of_zone().any(|hold| {
                hold.ran_over(before, &self.tables).is_none_or(|ran| fuel < ran * (1.0 - NOT_NOTICED))
            });
        (fuel < least && noticed).then_some((hold, Some(least)))
    }

    pub(super) fn held_words(&self, hold: &Hold, zone: &str, least: Option<f64>) -> String {
        let run = &hold.outing.outing;
        let place = run.place.as_deref().map(|place| format!(", {}", visible(place))).unwrap_or_default();
        let setup = hold.setup().map(|number| format!(", setup {number}")).unwrap_or_default();
        let main = hold.main.filter(|_| zone == "full").map(|main| format!(", main {}", trimmed(main, 2)));
        let air = hold.air().map_or_else(
            || ", in an air that is not known".to_owned(),
            |air| format!(", {} % air", fixed(air.relative_density_percent(), 1)),
        );
        let run = format!("{}{place}{setup}{}{air}", run.date.day(), main.unwrap_or_default());
        if self.step.other_engine {
            let engine = |fields: &FieldSet| fields.text("engine").map(str::to_owned);
            let own = hold
                .ran
                .as_ref()
                .is_none_or(|ran| engine(&ran.fields) == engine(&self.proposal.after.fields));
            let whose = if own {
                "this engine's run"
            } else {
                "these jets may be why another engine stopped: the run"
            };
            return format!(
                "Not with this jetting: {whose} of {run}, {} at {}, and nothing since was right on more. {}",
                was(hold),
                throttle(zone),
                self.least_for_the_engine(hold).map_or_else(
                    || "It wants more fuel there than it has now.".to_owned(),
                    |main| format!("The least it goes in with, in air like that, is main {main}.")
                )
            );
        }
        format!(
            "Nothing leaner at {}: the run of {run}, {} there. {}",
            throttle(zone),
            was(hold),
            self.least_words(zone, least)
        )
    }

    /// The least main jet for an engine that was lean at full throttle and is put in, all else as proposed.
    fn least_for_the_engine(&self, hold: &Hold) -> Option<String> {
        let after = self.proposal.after.setup.as_ref().filter(|_| hold.zone == "full")?;
        let sizes =
            sizes_at_hand(after.jetting.as_ref()?, Circuit::Main, self.tables.jets, self.tables.own_box)?;
        let enough = |size: &f64| {
            let with = with_main(after, *size);
            let least = with.and_then(|with| {
                Some(self.holds.least("full", (&with, &with), self.proposal.air, &self.tables)?.1)
            });
            least.is_some_and(|least| least <= 1.0)
        };
        sizes.into_iter().find(enough).map(|main| trimmed(main, 2))
    }

    /// "At least main 182 in this air."
    fn least_words(&self, zone: &str, least: Option<f64>) -> String {
        let air = if self.proposal.air.is_some() { "this air" } else { "air like that" };
        let Some(least) = least else {
            return "How much is enough cannot be reckoned here: go richer than what ran.".to_owned();
        };
        if let Some(trim) = self.least_trim(least) {
            return format!("The least in {air} is a trim of {} %.", fixed(trim, 1));
        }
        match (zone, self.least_main(least)) {
            ("full", Some(LeastMain::Size(main))) => {
                format!("The least in {air} is main {}.", trimmed(main, 2))
            }
            ("full", Some(LeastMain::BeyondTheBox)) => {
                format!("No main jet in the box is large enough for {air}: do not run it.")
            }
            _ => format!(
                "The least in {air} is {} % {} than on the bike now.",
                fixed(100.0 * (least - 1.0).abs(), 1),
                if least >= 1.0 { "richer" } else { "leaner" }
            ),
        }
    }

    fn least_trim(&self, least: f64) -> Option<f64> {
        let injection = self.before.setup.as_ref()?.injection.as_ref()?;
        let trim = injection.trim.as_ref().map_or(0.0, Measure::si);
        // Upward, so that the trim that is named is not refused.
        Some((((1.0 + trim) * least - 1.0) * 1000.0 - 1e-6).ceil() / 10.0)
    }

    /// The smallest main jet at hand that has the least fuel, all else as proposed; none where no sizes are listed.
    fn least_main(&self, least: f64) -> Option<LeastMain> {
        let before = self.before.setup.as_ref()?;
        let after = self.proposal.after.setup.as_ref()?;
        let sizes =
            sizes_at_hand(after.jetting.as_ref()?, Circuit::Main, self.tables.jets, self.tables.own_box)?;
        let enough = |size: f64| {
            let setup = with_main(after, size)?;
            Some(self.tables.delivered(before, &setup, "full")? >= least)
        };
        let size = sizes.into_iter().find(|size| enough(*size).unwrap_or(false));
        Some(size.map_or(LeastMain::BeyondTheBox, LeastMain::Size))
    }

    /// Two or more of what hurts, in one step.
    fn together(&self) -> Option<Refusal> {
        let kinds = self.step.kinds();
        let [first, .., _] = kinds.as_slice() else {
            return None;
        };
        let field = self.step.of(*first).next()?.field.clone();
        let parts: Vec<&str> =
            kinds.iter().filter_map(|kind| Some(self.step.of(*kind).next()?.words.as_str())).collect();
        let sentence = format!(
            "{} things that can seize the engine in one step: {}. Do one at a time and read plug and piston in between.",
            if kinds.len() == 2 { "Two" } else { "Several" },
            parts.join("; ")
        );
        Some(Refusal { field, sentence })
    }

    /// A spark that comes earlier, a tighter head or a shorter stinger after a lean run.
    fn after_a_lean_run(&self) -> Option<Refusal> {
        let hold = self.holds.of_last_run.iter().find(|hold| {
            hold.seizure || matches!(hold.zone, "full" | "three_quarters") || hold.words != "slightly lean"
        })?;
        let harm = self.step.harms.iter().find(|harm| harm.kind != Kind::Fuel)?;
        let sentence = format!("After a lean run: {}, and {}.", harm.words, self.last_run());
        Some(Refusal { field: harm.field.clone(), sentence }).filter(|_| !hold.words.is_empty())
    }

    fn too_many_sizes(&self) -> Option<Refusal> {
        let many = |harm: &&Harm| harm.sizes.is_some_and(|sizes| sizes > MOST_SIZES);
        let harm = self.step.of(Kind::Fuel).find(many).filter(|_| !self.proposal.back)?;
        let sentence = format!(
            "Too lean in one step: {}. Go {MOST_SIZES} at a time at most, and read plug and piston in between.",
            harm.words
        );
        Some(Refusal { field: harm.field.clone(), sentence })
    }

    fn way_out(&self, refused: &[Refusal]) -> String {
        if refused.is_empty() {
            return String::new();
        }
        let bike = self.proposal.bike;
        let mut ways = Vec::new();
        let mut zones: Vec<_> = Step::zones().into_iter().collect();
        zones.reverse();
        let broken = zones.into_iter().find_map(|zone| self.violated(zone).map(|(hold, _)| hold));
        let hold = broken.or(self.holds.of_last_run.first()).or(self.holds.holds.first());
        let held = refused.iter().any(|refusal| {
            self.step.other_engine
                || refusal.sentence.starts_with("Nothing leaner")
                || refusal.sentence.starts_with("After a lean run")
        });
        if let Some(hold) = hold.filter(|_| held) {
            let id = &hold.outing.id;
            let larger = broken.filter(|_| self.step.other_engine).and_then(|hold| {
                let engine = self.proposal.after.fields.text("engine")?;
                Some((engine, self.least_for_the_engine(hold)?))
            });
            ways.push(larger.map_or_else(
                || "Go richer until a run is right".to_owned(),
                |(engine, main)| {
                    format!(
                        "Put it in with that jet: `reedbook change {bike} engine={} jetting.main={main}`",
                        visible(engine)
                    )
                },
            ));
            if self.proposal.air.is_none() && hold.air().is_some() {
                ways.push(
                    "give the air it goes into, if that is thinner (--temp … --baro … --humidity …)"
                        .to_owned(),
                );
            }
            ways.push(format!(
                "write down what made it lean once it is found and mended: `reedbook outing edit {bike} {id} --cause \"…\" --mended \"…\"`"
            ));
        }
        let or = if ways.is_empty() { "" } else { "or " };
        ways.push(format!("{or}say why it is done all the same: --despite \"…\""));
        capital(&format!("{}.", ways.join("; ")))
    }
}

/// The least main jet.
enum LeastMain {
    /// Its number.
    Size(f64),
    /// None at hand is large enough.
    BeyondTheBox,
}

/// How a run that holds ran: "was slightly lean", "was lean ("seized")".
fn was(hold: &Hold) -> String {
    let by_verdict = hold.words.ends_with("lean");
    if by_verdict {
        format!("was {}", hold.words)
    } else {
        format!("was lean (\"{}\")", visible(&hold.words))
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
