//! The setup that an answer stands on: the one that is named, or the nearest that was right.

use super::{LeanSoFar, Question, Unanswered};
use crate::advice::foundation::{self, Foundation, Ground};
use crate::advice::held::{Hold, require_lean_runs_placed, seized_by_its_parts};
use crate::advice::learning::{Settings, UNRELATED, sign_of_lean};
use crate::notebook::guidance::{CommandOption, Guidance};
use crate::notebook::{AirEntry, Combination, Fuel, Mixture, When};
use crate::store::{
    Book, OutingRecord, SetupName, StoreError, require_engine_here, require_every_outing,
    require_known_to_outings,
};

/// Where an air is from that was typed for the setup that an answer stands on.
pub(super) const AS_GIVEN: &str = "as given";

/// What is asked beside the bike.
#[derive(Debug, Clone, Default)]
pub struct Terms {
    /// The setup to start from; else the nearest that was right for what is on the bike.
    pub baseline: Option<SetupName>,
    /// The air that one was right in; else as its mark or its run says.
    pub baseline_air: Option<AirEntry>,
    /// Another fuel.
    pub fuel: Option<Fuel>,
}

impl<'g> Question<'g> {
    /// A question about a bike as it stands.
    ///
    /// # Errors
    /// Where the bike, its setup or one of its outings cannot be read, and where nothing is known to have been right.
    pub fn ask(book: &'g Book<'g>, bike: &str, asked: &Terms, now: When) -> Result<Self, Unanswered> {
        book.garage().require_bike(bike)?;
        let on_it = book.combination(bike, None)?;
        // What cannot be read is not answered from.
        if on_it.setup.is_none() || !on_it.findings.is_empty() {
            return Err(Unanswered::Findings(on_it.findings));
        }
        let names = on_it.fields.cylinders();
        if let Some(first) = names.first() {
            return Err(Unanswered::from(StoreError::request(
                Some("cylinder"),
                format!("Each of the cylinders {} of {bike} has its own advice.", names.join(", ")),
                Guidance::from("Ask for one after the other: ")
                    + CommandOption::Cylinder(first.clone())
                    + ".",
            )));
        }
        require_every_outing(book, bike)?;
        require_lean_runs_placed(&book.of_all(), bike)?;
        require_engine_here(book, bike, on_it.fields.text("engine"))?;
        // What ran when it seized is not known: no size is more than that.
        if let Some(seized) = seized_by_its_parts(book, bike, &on_it.fields)? {
            return Err(Unanswered::from(StoreError::request(
                Some("engine"),
                seized,
                "Once the cause is fixed, log that with it.",
            )));
        }
        if book.cylinder().is_some() {
            let all = book.of_all();
            require_known_to_outings(&all, bike, &all.combination(bike, None)?)?;
        }
        let stands_on = stands_on(book, bike, asked, &on_it)?;
        Self::new(book, stands_on, on_it, asked.fuel.clone(), now)
    }

    /// How outings are weighed, and the risk of lean that is taken: `lean_risk` 0 to 1, or as the garage's configs say.
    pub fn settings(&self, lean_risk: Option<f64>) -> Result<Settings, Unanswered> {
        let mut settings = Settings::read(&self.garage.assumptions()?);
        settings.lean_risk = lean_risk.unwrap_or(settings.lean_risk);
        // Of what seized one cylinder the others know nothing: what was right there takes no fuel away here.
        let seized = |hold: &Hold| hold.zone == "full" && hold.seizure && !hold.mended;
        if self.book.cylinder().is_some() && self.holds.holds.iter().any(seized) {
            settings.spreads.cylinders = UNRELATED;
        }
        Ok(settings)
    }
}

/// The setup that the answer stands on, and its air.
fn stands_on(
    book: &Book<'_>,
    bike: &str,
    asked: &Terms,
    on_it: &Combination,
) -> Result<Foundation, Unanswered> {
    let mut stands_on = if let Some(name) = &asked.baseline {
        let setup = book.recorded(bike, name)?;
        Foundation { air: book.air_of(bike, &setup)?, setup, ground: Ground::Named }
    } else if let Some(found) = foundation::find(book, bike, on_it)? {
        found
    } else {
        // Without a setup at all that is what is to be said.
        book.recorded(bike, &SetupName::Latest)?;
        return Err(never_right(book, bike)?);
    };
    if let Some(air) = &asked.baseline_air {
        stands_on.air = Some((air.clone(), AS_GIVEN.into()));
    }
    Ok(stands_on)
}

/// The refusal where no run was right yet in an air that is known, and no setup is marked: there is nothing to work from.
fn never_right(book: &Book<'_>, bike: &str) -> Result<Unanswered, Unanswered> {
    let outings = book.outings(bike)?;
    let right = outings.iter().rev().find(|record| {
        let full = record.outing.verdict.as_ref().and_then(|verdict| verdict.full);
        let is_right = full == Some(Mixture::Right) && sign_of_lean(&record.outing).is_none();
        is_right && record.outing.air.is_none()
    });
    let right_without_air = right.map(|record| (record.outing.date.short(), record.id.clone()));
    let lean = lean_so_far(book, bike, &outings)?;
    Ok(Unanswered::NeverRight { bike: bike.to_owned(), right_without_air, lean })
}

/// How often it was lean at full throttle, and on what last: without a run that was right that is all that is known.
fn lean_so_far(
    book: &Book<'_>,
    bike: &str,
    outings: &[OutingRecord],
) -> Result<Option<LeanSoFar>, Unanswered> {
    let was_lean = |record: &&OutingRecord| {
        let full = record.outing.verdict.as_ref().and_then(|verdict| verdict.full);
        let lean = full.is_some_and(|full| full < Mixture::Right) || sign_of_lean(&record.outing).is_some();
        lean && !record.outing.is_closed()
    };
    let lean: Vec<&OutingRecord> = outings.iter().filter(was_lean).collect();
    let Some(last) = lean.last() else { return Ok(None) };
    let setup = last.setup.map(|number| book.recorded(bike, &SetupName::Number(number))).transpose()?;
    let whole = setup.map(|setup| book.combination(bike, Some(&setup))).transpose()?;
    let metered = whole.as_ref().and_then(|whole| {
        let main = whole.fields.text("jetting.main").map(|main| format!("main {main}"));
        main.or_else(|| Some(format!("trim {}", whole.fields.text("injection.trim")?)))
    });
    Ok(Some(LeanSoFar { runs: lean.len(), last: last.outing.date.day(), metered }))
}
