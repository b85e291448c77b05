//! Which setup the engine is computed for, and what is supposed to be different on it. Shared by the commands that compute.

use clap::Args;
use serde::Serialize;

use super::cylinder::{Answers, CylinderOption};
use crate::advice::figures::pipe::tuned;
use crate::advice::figures::{Bench, Gap, Known, Valve};
use crate::advice::what_if::{Supposition, suppose};
use crate::commands::desk::Desk;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::in_words;
use crate::notebook::{Assignment, Assumptions, Combination, EditError, FieldSet};
use crate::quantity::{Length, Quantity, QuantityError, Temperature};
use crate::report::{OfCylinders, Screen, Subject, Trouble, follows};
use crate::store::{Book, Garage, SetupName};

/// The setup, and what is supposed.
#[derive(Debug, Args)]
pub(in crate::commands) struct EngineOptions {
    /// The bike
    pub(in crate::commands) bike: String,
    /// The setup: a number, latest, proven or now
    #[arg(default_value = "now")]
    pub(in crate::commands) setup: SetupName,
    #[command(flatten)]
    pub(in crate::commands) cylinder: CylinderOption,
    /// Suppose a field is this and compute with it; nothing is recorded. May be given several times
    #[arg(long, value_name = "FIELD=VALUE", help_heading = "What if")]
    with: Vec<String>,
    /// What if so much is cut off the head face: squish clearance and chamber follow
    #[arg(long, value_name = "LENGTH", help_heading = "What if", allow_hyphen_values = true)]
    cut_head: Option<String>,
    /// What if so much is cut off the cylinder base: port edges, squish clearance and chamber follow
    #[arg(long, value_name = "LENGTH", help_heading = "What if", allow_hyphen_values = true)]
    cut_base: Option<String>,
}

/// A setup that was read, with what is supposed of it.
pub(in crate::commands) struct ReadSetup {
    pub(in crate::commands) subject: Subject,
    pub(in crate::commands) whole: Combination,
    pub(in crate::commands) assumptions: Assumptions,
}

impl EngineOptions {
    /// Reads the setup; anything that is wrong in it, or in what is supposed, is the answer instead.
    pub(in crate::commands) fn see(
        &self,
        garage: &Garage,
        book: &Book<'_>,
        desk: &Desk,
    ) -> Result<ReadSetup, Trouble> {
        let units = desk.screen().units();
        let setup = book.resolve(&self.bike, &self.setup)?;
        let called = setup.as_ref().map_or_else(|| "now".to_owned(), |one| format!("setup {}", one.number));
        let supposition = self.supposition(garage)?;
        let assumptions = garage.assumptions()?;
        let mut subject = Subject {
            bike: self.bike.clone(),
            setup: called,
            supposed: Vec::new(),
            follows: Vec::new(),
            cylinder: desk.at_cylinder(),
        };
        if supposition.is_empty() {
            let whole = book.combination(&self.bike, setup.as_ref())?;
            if !whole.findings.is_empty() {
                return Err(Trouble::findings(whole.findings));
            }
            return Ok(ReadSetup { subject, whole, assumptions });
        }
        let files = book.files(&self.bike, setup.as_ref())?;
        let supposed = suppose(garage, &files, &supposition)?;
        subject.supposed = supposed.words;
        if let Some(name) = book.cylinder() {
            let written = book.of_all().combination(&self.bike, setup.as_ref())?.fields;
            let own = supposition.assignments.iter().filter_map(|one| {
                let own = written.get(&format!("{name}.{}", one.field))?;
                Some(format!("{} of {} itself is {}", one.field, in_words(name), own.text()))
            });
            subject.supposed.extend(own);
        }
        let was = Combination::read(&files, false).fields;
        subject.follows = follows(
            &Bench { fields: &was, assumptions: &assumptions },
            &Bench { fields: &supposed.whole.fields, assumptions: &assumptions },
            units,
        );
        Ok(ReadSetup { subject, whole: supposed.whole, assumptions })
    }

    /// Reads the setup of a desk's garage.
    pub(in crate::commands) fn seen_on(&self, desk: &Desk) -> Result<(Garage, ReadSetup), Trouble> {
        let garage = desk.garage()?;
        let seen = self.see(&garage, &desk.book(&garage)?, desk)?;
        Ok((garage, seen))
    }

    /// What is answered: once, or for each of several cylinders where they differ.
    pub(in crate::commands) fn answers<T>(
        &self,
        desk: &Desk,
        run: impl Fn() -> Result<T, Trouble>,
    ) -> Result<Answers<T>, Trouble> {
        let whole = self.of_all_cylinders(desk)?;
        desk.answers(&self.cylinder, &whole, are_alike, run)
    }

    /// Answers once, or for each of several cylinders where they differ.
    pub(in crate::commands) fn answer<A: Serialize>(
        &self,
        desk: &Desk,
        run: impl Fn() -> Result<A, Trouble>,
        text: impl Fn(&A, &Screen) -> String,
    ) -> Result<(), Trouble> {
        let answers = self.answers(desk, &run)?;
        // Units are those of the garage, which is known once it was opened.
        let screen = desk.screen();
        let each = match answers {
            Answers::One(one) => return screen.answer(&one, || text(&one, &screen)),
            Answers::Each(each) => OfCylinders(each),
        };
        if each.say_the_same() {
            // What differs is no matter here: one answer for all of them.
            let whole = self.of_all_cylinders(desk)?;
            if let Answers::One(one) = desk.answers(&self.cylinder, &whole, |_| true, &run)? {
                return screen.answer(&one, || text(&one, &screen));
            }
        }
        screen.answer(&each, || each.one_below_the_other(|one| text(one, &screen)))
    }

    /// The setup as it is written for all cylinders.
    fn of_all_cylinders(&self, desk: &Desk) -> Result<Combination, Trouble> {
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        let setup = book.resolve(&self.bike, &self.setup)?;
        let whole = book.combination(&self.bike, setup.as_ref())?;
        // By its last name alone as well: "right.chamber_volume".
        let names = whole.fields.cylinders();
        let field_of = |text: &str| {
            let (name, field) = text.split(['=', '@']).next()?.split_once('.')?;
            (names.iter().any(|known| known == name) || own_of(&format!("{name}.{field}")).is_some())
                .then(|| field.to_owned())
        };
        if let Some((text, field)) = self.with.iter().find_map(|text| Some((text, field_of(text)?)))
            && !names.is_empty()
        {
            let name = text.split('.').next().unwrap_or_default();
            return Err(Trouble::request(
                Some("with"),
                "What is supposed of one cylinder is looked at there.",
                format!("Write --cylinder {name} --with {field}=…."),
            ));
        }
        Ok(whole)
    }

    fn supposition(&self, garage: &Garage) -> Result<Supposition, Trouble> {
        let cut = |name: &str, text: &Option<String>| -> Result<f64, Trouble> {
            Ok(length(name, text.as_deref(), garage.is_imperial())?.unwrap_or(0.0))
        };
        Ok(Supposition {
            assignments: self
                .with
                .iter()
                .map(|text| Assignment::parse_typed(text))
                .collect::<Result<Vec<_>, EditError>>()?
                .concat(),
            cut_head_m: cut("--cut-head", &self.cut_head)?,
            cut_base_m: cut("--cut-base", &self.cut_base)?,
        })
    }
}

fn are_alike(each: &[FieldSet]) -> bool {
    each.iter().all(|one| one.same_as(&each[0]))
}

impl ReadSetup {
    /// The setup on the bench.
    pub(in crate::commands) fn bench(&self) -> Bench<'_> {
        Bench { fields: &self.whole.fields, assumptions: &self.assumptions }
    }

    /// Fails on the first of these gaps that is a contradiction; what is merely missing is said in the report.
    pub(in crate::commands) fn refuse_wrong(
        &self,
        gaps: impl IntoIterator<Item = Option<Gap>>,
    ) -> Result<(), Trouble> {
        let wrong = gaps.into_iter().flatten().find_map(|gap| match gap {
            Gap::Wrong { field, error } => Some((field, error)),
            Gap::Needs(_) | Gap::Without(_) => None,
        });
        match wrong {
            None => Ok(()),
            Some((field, error)) => {
                let mut place = self.whole.place_of(&self.subject.bike, &field);
                if !self.subject.supposed.is_empty() || self.subject.setup != "now" {
                    // The line is that of another text than the one on disk.
                    place.file = std::path::PathBuf::new();
                    place.line = None;
                }
                Err(Trouble::calculation(place, &error))
            }
        }
    }
}

/// What a figure lacks, for [`ReadSetup::refuse_wrong`].
pub(in crate::commands) fn gap<T>(known: &Known<T>) -> Option<Gap> {
    known.as_ref().err().cloned()
}

/// The speeds that matter where none was asked for: the pipe's, to 10 rpm, and the limiter.
pub(in crate::commands) fn usual_speeds(bench: &Bench<'_>) -> Vec<f64> {
    let pipe = tuned(bench, Valve::Open, None).ok().map(|tuned| (tuned.rpm / 10.0).round() * 10.0);
    let limiter = bench.fields.quantity("ignition.limiter").map(Quantity::si);
    pipe.into_iter().chain(limiter).collect()
}

/// A length that was typed on the command line, m; in an imperial garage it must carry its unit.
pub(in crate::commands) fn length(
    name: &str,
    text: Option<&str>,
    imperial: bool,
) -> Result<Option<f64>, Trouble> {
    let Some(text) = text else { return Ok(None) };
    let read: Result<Length, QuantityError> = text.parse();
    let length = read.map_err(|error| Trouble::request(Some(name), error.to_string(), error.help()))?;
    if imperial && length.quantity().is_bare() {
        return Err(without_unit(name, text, &format!("Write the unit: \"{text} mm\" or \"{text} in\".")));
    }
    Ok(Some(length.si()))
}

/// A bare number where a garage that works in inches wants a unit.
pub(in crate::commands) fn without_unit(name: &str, typed: &str, help: &str) -> Trouble {
    let message = format!("{name} {typed} has no unit, and this garage works in inches.");
    Trouble::request(Some(name), message, help)
}

/// A quantity that was typed on the command line.
pub(in crate::commands) fn quantity<T: std::str::FromStr<Err = QuantityError>>(
    name: &str,
    text: Option<&str>,
) -> Result<Option<T>, Trouble> {
    text.map(str::parse)
        .transpose()
        .map_err(|error: QuantityError| Trouble::request(Some(name), error.to_string(), error.help()))
}

/// Engine speeds typed as "9500" or "9500,11000"; 500 to 25 000 rpm.
pub(in crate::commands) fn speeds(texts: &[String]) -> Result<Vec<f64>, Trouble> {
    texts
        .iter()
        .map(|text| {
            let speed: Option<crate::quantity::EngineSpeed> = quantity("--rpm", Some(text.as_str()))?;
            let rpm = speed.map_or(0.0, |speed| speed.si());
            if (500.0..=25_000.0).contains(&rpm) {
                return Ok(rpm);
            }
            Err(Trouble::request(
                Some("--rpm"),
                format!("--rpm is {text}; allowed is 500 to 25000 rpm."),
                "Give engine speeds in revolutions per minute, like --rpm 9500,11000.",
            ))
        })
        .collect()
}

/// A temperature of the gas in the pipe that was typed, K: 100 to 1200 C; in an imperial garage it must carry its unit.
pub(in crate::commands) fn gas_k(text: Option<&str>, imperial: bool) -> Result<Option<f64>, Trouble> {
    let Some(text) = text else { return Ok(None) };
    let refuse = |message: String, help: &str| Err(Trouble::request(Some("--gas-temp"), message, help));
    let Some(gas) = quantity::<Temperature>("--gas-temp", Some(text))? else { return Ok(None) };
    if imperial && gas.quantity().is_bare() {
        return Err(without_unit("--gas-temp", text, "Write the unit, like \"520 C\" or \"970 F\"."));
    }
    if (373.15..=1473.15).contains(&gas.si()) {
        return Ok(Some(gas.si()));
    }
    refuse(
        format!("--gas-temp is {text}; allowed is 100 to 1200 C."),
        "Give the mean temperature of the gas in the pipe, like \"520 C\"; the pipe's skin is far cooler.",
    )
}
