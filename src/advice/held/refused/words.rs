//! How what a run forbids is worded: the run, the least that is enough, and the ways out.

use super::super::harms::harm::HurtKind;
use super::super::hold::{Hold, Reference, with_main};
use super::super::said::{LastRun, LastVerdict, Refusal, was};
use super::super::step::Step;
use super::super::still::with_another;
use super::case::{Case, counted_from};
use crate::advice::learning::{OwnNames, is_asked};
use crate::advice::rejet::sizes_at_hand;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance, OutingChange};
use crate::notebook::{Circuit, Doubted, FieldSet, Mixture, throttle};
use crate::quantity::{Measure, fixed, trimmed};

impl Case<'_> {
    pub(in crate::advice::held) fn held_words(&self, hold: &Hold, zone: &str, least: Option<f64>) -> String {
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
    pub(in crate::advice::held) fn still_leaner_than_ran(&self, zone: &str) -> Option<String> {
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
    pub(in crate::advice::held) fn last_run(&self) -> LastRun {
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

    pub(in crate::advice::held) fn way_out(&self, refused: &[Refusal]) -> Guidance {
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
