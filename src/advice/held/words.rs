//! What is said of a step, and how a hold is worded: the run, the least that is enough, and the ways out.

use super::hold::{Hold, Reference, with_main};
use super::judge::{Case, counted_from};
use super::step::{HurtKind, Step, throttle};
use super::still::with_another;
use crate::advice::learning::{OwnNames, is_asked};
use crate::advice::rejet::sizes_at_hand;
use crate::notebook::fields::cylinder::at_cylinder;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance, OutingChange};
use crate::notebook::{Circuit, Doubted, FieldSet, Mixture};
use crate::quantity::{Measure, fixed, trimmed};
use crate::store::{OutingRecord, StoreError};

/// What is to be said of a step.
#[derive(Debug, Clone, Default)]
pub struct Judgement {
    /// What it does that can hurt, most urgent first.
    pub told: Vec<Told>,
    /// Why it is not to be done.
    pub refused: Vec<Refusal>,
    /// The way out of all refusals, in one sentence or more.
    pub way_out: Guidance,
    /// Whether a run that was lean at full throttle, pinged or seized holds: then the setup before is no place to go back to.
    pub is_held: bool,
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
        let sentences = self.refused.iter().map(|refusal| refusal.sentence.clone());
        Err(StoreError::request(Some(&first.field), Guidance::joined(sentences, " "), self.way_out.clone()))
    }
}

/// One thing to be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Whether it must not be run like that.
    pub urgent: bool,
    /// The cylinder that it is said of; none where it is of all.
    pub cylinder: Option<String>,
    /// What it says, each by itself: "main 162 -> 158, 2 sizes leaner".
    pub parts: Vec<String>,
    /// Whether that is too much in one step.
    pub at_once: bool,
    /// How the last run was, where that matters to it.
    pub last: Option<LastRun>,
}

impl Told {
    /// What must be known before it runs, of no cylinder alone.
    pub fn stop(words: String) -> Self {
        Self { urgent: true, cylinder: None, parts: vec![words], at_once: false, last: None }
    }
}

/// How the last run was that a step is set against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastRun {
    /// In words: "the last run was lean at full throttle (2026-11-28, setup 40)".
    pub words: String,
    /// What it says of the mixture.
    pub was: LastVerdict,
}

/// What a last run says of the mixture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LastVerdict {
    /// Lean somewhere, pinging or seized, and its cause is not closed.
    Lean,
    /// Right.
    Right,
    /// Rich, and nowhere lean.
    Rich,
    /// Not judged, or closed.
    Nothing,
}

impl Told {
    /// Nothing yet.
    pub(super) fn nothing(urgent: bool) -> Self {
        Self { urgent, cylinder: None, parts: Vec::new(), at_once: false, last: None }
    }

    /// A sentence by itself.
    pub(super) fn of(urgent: bool, sentence: impl Into<String>) -> Self {
        Self { parts: vec![sentence.into()], ..Self::nothing(urgent) }
    }

    /// The sentence.
    pub fn sentence(&self) -> String {
        let at_once = if self.at_once { " in one step" } else { "" };
        let step = format!("{}{at_once}", self.parts.join("; "));
        let last = self.last.as_ref().map(|last| last.words.clone());
        let said: Vec<String> = Some(step).filter(|step| !step.is_empty()).into_iter().chain(last).collect();
        let said = capital(&said.join("; "));
        let stop = if said.ends_with(['.', '?', '!']) { "" } else { "." };
        let said = format!("{said}{stop}");
        match &self.cylinder {
            Some(name) => at_cylinder(name, &said),
            None => said,
        }
    }

    /// The same without what the reasons to refuse the step say too; none where they say all of it.
    pub fn beside(&self, refused: &[Refusal]) -> Option<Self> {
        // A reason that is of all is of each.
        let of_it = |other: &&Refusal| {
            self.cylinder.is_none() || other.cylinder.is_none() || other.cylinder == self.cylinder
        };
        let others: Vec<String> = refused
            .iter()
            .filter(of_it)
            .map(|other| other.sentence.without_commands().to_lowercase())
            .collect();
        let is_said = |words: &str| {
            let words = words.trim_end_matches('.').replace(" in one step", "").to_lowercase();
            others.iter().any(|other| other.contains(&words))
        };
        let mut left = self.clone();
        left.parts.retain(|part| !is_said(part));
        left.at_once &= left.parts.last() == self.parts.last();
        // That the last run was right takes nothing away from what speaks against the step.
        let is_well = |last: &LastRun| !refused.is_empty() && last.was == LastVerdict::Right;
        left.last = left.last.filter(|last| !is_said(&last.words) && !is_well(last));
        (!left.parts.is_empty() || left.last.is_some()).then_some(left)
    }
}

/// One reason to refuse.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The cylinder that it is of; none where it is of all.
    pub cylinder: Option<String>,
    /// The field.
    pub field: String,
    /// The sentence.
    pub sentence: Guidance,
    /// The outing that stands behind it, by bike and identity, where one does: then going richer, or its cause once it is mended, is a way out.
    pub by_a_run: Option<String>,
    /// Whether it is the air that asks for it: then what that wants is asked first, whatever is counted from.
    pub rejet_first: bool,
}

impl Refusal {
    /// Of a field, at every cylinder, whatever ran.
    pub fn of(field: impl Into<String>, sentence: impl Into<Guidance>) -> Self {
        let (field, sentence) = (field.into(), sentence.into());
        Self { cylinder: None, field, sentence, by_a_run: None, rejet_first: false }
    }

    /// A run stands behind it, by bike and identity.
    pub(super) fn by(self, run: String) -> Self {
        Self { by_a_run: Some(run), ..self }
    }

    /// It is the air that asks for it.
    pub(super) fn of_the_air(self) -> Self {
        Self { rejet_first: true, ..self }
    }
}

impl Case<'_> {
    pub(super) fn held_words(&self, hold: &Hold, zone: &str, least: Option<f64>) -> String {
        let run = &hold.outing.outing;
        // Beside a list for the hands the day is enough.
        let place = run.place.as_deref().filter(|_| !self.proposal.back);
        let place = place.map(|place| format!(", {}", visible(place))).unwrap_or_default();
        let setup = hold.on_setup();
        let main = hold.main.filter(|_| zone == "full").map(|main| format!(", main {}", trimmed(main, 2)));
        let air = hold.air().map_or_else(
            || ", in an air that is not known".to_owned(),
            |air| format!(", {} % air", fixed(air.relative_density_percent(), 1)),
        );
        let other = if self.step.other_engine { String::new() } else { with_another(hold) };
        let run = format!("{}{place}{setup}{}{air}{other}", run.date.day(), main.unwrap_or_default());
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
            "Nothing leaner at {}: the run of {run}, {} there. {}{}",
            throttle(zone),
            was(hold),
            self.least_words(zone, least),
            self.still_leaner_than_ran(zone).unwrap_or_default()
        )
    }

    /// Of a step that is itself no leaner at a throttle: what is recorded now never ran, and what ran last had more there.
    pub(super) fn still_leaner_than_ran(&self, zone: &str) -> Option<String> {
        let (number, since) = self.since_run.as_ref()?;
        let harm = since.of(HurtKind::Fuel).next()?;
        (!self.step.is_leaner_at(zone) && since.is_leaner_at(zone))
            .then(|| format!(" What is recorded now never ran: {}{}.", harm.words, counted_from(*number)))
    }

    /// The least main jet for an engine that was lean at full throttle and is put in, all else as proposed.
    fn least_for_the_engine(&self, hold: &Hold) -> Option<String> {
        let after = self.proposal.after.setup.as_ref().filter(|_| hold.zone == "full")?;
        let sizes =
            sizes_at_hand(after.jetting.as_ref()?, Circuit::Main, self.tables.jets, self.tables.own_box)?;
        let enough = |size: &f64| {
            let with = with_main(after, *size);
            let least = with.and_then(|with| {
                let stands = (Reference::new(&with, &self.proposal.after.fields), &with);
                Some(self.holds.least("full", stands, self.proposal.air, &self.tables)?.1)
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
            _ if least >= 1.0 => {
                format!("The least in {air} is {} % richer than now.", fixed(100.0 * (least - 1.0), 1))
            }
            // How far it could go leaner is no invitation to: what is said is what it lacks after the step.
            _ => match self.step.fuel_at(zone).map(|fuel| least / fuel - 1.0).filter(|lacks| *lacks > 0.0) {
                Some(lacks) => {
                    let lacks = fixed((100.0 * lacks).max(0.1), 1);
                    format!("The least in {air} is {lacks} % more than this.")
                }
                None => format!("In {air} this leaves less there than that run asks for."),
            },
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

    /// The engine that goes in, or the carburetor, with the least main jet that it takes.
    fn with_that_jet(&self, main: &str) -> Guidance {
        let (bike, engine) = (self.proposal.bike, self.proposal.after.fields.text("engine"));
        match engine.filter(|engine| self.before.fields.text("engine") != Some(*engine)) {
            Some(engine) => {
                let (bike, engine, main) = (bike.to_owned(), visible(engine), main.to_owned());
                Guidance::from("Put it in with that jet: ") + Command::PutInWithMain { bike, engine, main }
            }
            None => format!("Change that jet with it: add jetting.main={main} to the same line").into(),
        }
    }

    /// "the last run was lean at full throttle (28 Nov 2026, setup 40)".
    pub(super) fn last_run(&self) -> LastRun {
        let says = |words: String, was: LastVerdict| LastRun { words, was };
        if let (None, [hold, ..]) = (&self.holds.last_run, self.holds.last_elsewhere.as_slice()) {
            let elsewhere = hold.elsewhere.join(" and ");
            let words =
                format!("the last run {} on another {elsewhere} at {}", was(hold), throttle(hold.zone));
            return says(words, LastVerdict::Lean);
        }
        let Some(run) = &self.holds.last_run else {
            return says("no run on this combination was judged yet".to_owned(), LastVerdict::Nothing);
        };
        let of = (run.bike != self.proposal.bike).then(|| format!(" of {}", visible(&run.bike)));
        let of = of.unwrap_or_default();
        let setup = run.setup.map(|number| format!(", setup {number}{of}")).unwrap_or_default();
        let at = format!("({}{setup})", run.outing.date.day());
        let on = if self.holds.ran_elsewhere_since { " on this combination" } else { "" };
        if let [hold, ..] = self.holds.of_last_run.as_slice() {
            let worst = self.holds.of_last_run.iter().find(|hold| hold.seizure).unwrap_or(hold);
            let words = format!("the last run{on} {} at {} {at}", was(worst), throttle(worst.zone));
            return says(words, LastVerdict::Lean);
        }
        if run.outing.is_closed() {
            return says(format!("the cause of the last lean run is closed {at}"), LastVerdict::Nothing);
        }
        let judged = run.outing.verdict.as_ref().and_then(|verdict| verdict.zones().pop());
        let (zone, mixture) =
            judged.map_or(("full", "not judged"), |(zone, mixture)| (zone, mixture.words()));
        // Right in thin air says little of dense air; where the air is given it is held against it.
        let air = run.outing.air.as_ref().filter(|_| self.proposal.air.is_none() && !self.proposal.back);
        let air = air.filter(|_| !run.outing.doubts(Doubted::Air)).and_then(|air| air.air().ok());
        let air = air.map(|air| format!(", {} % air)", fixed(air.relative_density_percent(), 1)));
        let at = air.map_or(at.clone(), |air| format!("{}{air}", at.trim_end_matches(')')));
        let words = format!("the last run{on} was {mixture} at {} {at}", throttle(zone));
        match (judged, &run.outing.verdict) {
            (Some((_, Mixture::Right)), _) => says(words, LastVerdict::Right),
            (_, Some(_)) => says(words, LastVerdict::Rich),
            _ => says(words, LastVerdict::Nothing),
        }
    }

    pub(super) fn way_out(&self, refused: &[Refusal]) -> Guidance {
        if refused.is_empty() {
            return Guidance::none();
        }
        let mut ways: Vec<Guidance> = Vec::new();
        let mut zones: Vec<_> = Step::zones().into_iter().collect();
        zones.reverse();
        let broken = zones.into_iter().find_map(|zone| self.violated(zone).map(|(hold, _)| hold));
        let hold = broken.or(self.holds.of_last_run.first()).or(self.holds.holds.first());
        let by_a_run = refused.iter().find_map(|refusal| refusal.by_a_run.as_deref());
        let held = self.step.other_engine || by_a_run.is_some();
        let run = by_a_run.map(str::to_owned).or_else(|| hold.map(Hold::run_name));
        if let Some(run) = run.filter(|_| held) {
            let larger = broken.filter(|_| self.step.other_engine);
            let with_jet = larger.and_then(|hold| self.least_for_the_engine(hold));
            ways.push(match with_jet {
                _ if self.own_engine_that_seized().is_some() => "Open the engine before it goes in".into(),
                Some(main) => self.with_that_jet(&main),
                None => "Go richer until a run is right".into(),
            });
            if self.proposal.air.is_none() && hold.is_some_and(|hold| hold.air().is_some()) {
                let thinner = Guidance::from("give the air it goes into, if that is thinner (");
                ways.push(thinner + CommandOption::Air + ")");
            }
            ways.push(
                Guidance::from("write down what made it lean once it is found and fixed: ")
                    + Command::MendRun(run.clone(), OutingChange::CauseAndMend),
            );
            let asked =
                |hold: &&Hold| is_asked(&hold.outing.outing, &OwnNames::of([hold.outing.bike.as_str()]));
            if hold.as_ref().is_some_and(asked) {
                ways.push(
                    Guidance::from("if it was not the engine, say so: ")
                        + Command::MendRun(run, OutingChange::NotTheEngine),
                );
            }
        }
        let or = if ways.is_empty() { "" } else { "or " };
        let why = format!("{or}say why it is done all the same: ");
        ways.push(Guidance::from(why) + CommandOption::Despite);
        (Guidance::joined(ways, "; ") + ".").with_capital()
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
pub(super) fn was(hold: &Hold) -> String {
    was_like(&hold.words)
}

/// The same of a verdict, or of a word in the notes.
pub(super) fn was_like(words: &str) -> String {
    if words.ends_with("lean") {
        format!("was {words}")
    } else {
        format!("was lean (\"{}\")", visible(words))
    }
}

pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What is to be done with an engine whose lean run was the last, and whose cause was mended (common practice, no source).
pub(super) fn mended(run: &OutingRecord, at_full: bool) -> String {
    let said = |text: &Option<String>| visible(text.as_deref().unwrap_or_default());
    format!(
        "Not run since the lean run of {} (\"{}\", fixed: \"{}\"): run in what is new, {}read plug and piston before it is held open.",
        run.outing.date.day(),
        said(&run.outing.cause),
        said(&run.outing.mended),
        if at_full { "start at least a size richer than then, and " } else { "and " }
    )
}

/// What was mended did not cure it.
pub(super) fn mend_did_not_help(run: &OutingRecord) -> String {
    let said = |text: &Option<String>| visible(text.as_deref().unwrap_or_default());
    format!(
        "Lean again: what was fixed after the run of {} (\"{}\", fixed: \"{}\") was not it, or not all of it. That run counts again.",
        run.outing.date.day(),
        said(&run.outing.cause),
        said(&run.outing.mended)
    )
}
