//! `rejet`: the jetting, or the injection trim, for other air or fuel.

mod card;
mod cells;
mod fuel_options;
mod plan;
mod question;

use std::path::PathBuf;

use clap::Args;

use self::card::CardOptions;
use self::fuel_options::FuelOptions;
use self::question::Question;
use super::Desk;
use super::air_options::AirOptions;
use super::engine_options::quantity;
use super::guard_options::Despite;
use crate::advice::foundation::{self, Foundation, Ground, has_run_right};
use crate::advice::kept_air::{Served, TYPE_A_NEW_ONE};
use crate::advice::learning::{Settings, leave_one_out, sign_of_lean};
use crate::advice::slips::{self, Slip, of_air};
use crate::advice::trim_map::MAP;
use crate::advice::{cautions, record, standing, today};
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, AirEntryError, Assignment, Combination, Mixture, When};
use crate::quantity::Percent;
use crate::report::history::questioned::settle;
use crate::report::{RecordReport, RejetAnswer, RejetReport, Trouble, air_in_short};
use crate::store::{BikeJobs, Book, ChangeRequest, Garage, SetupName, change_checked, require_every_outing};

/// What to fit in other air or on other fuel
///
/// How it is reckoned: `reedbook guide jetting`.
#[derive(Debug, Clone, Args)]
#[expect(clippy::struct_excessive_bools, reason = "each is an option that is there or not")]
pub(super) struct Rejet {
    /// The bike, if not the last one of the day
    #[arg(default_value = "", hide_default_value = true)]
    bike: String,
    /// Start from this setup: a number, latest or proven
    #[arg(long, value_name = "SETUP")]
    baseline: Option<SetupName>,
    /// Its air: "temp=20 C; baro=1008 hPa; humidity=55"
    #[arg(long, value_name = "AIR")]
    baseline_air: Option<String>,
    /// Record the advice as a change
    #[arg(long, help_heading = "Recording it")]
    record: bool,
    /// Why, with --record
    #[arg(long, short, help_heading = "Recording it")]
    why: Option<String>,
    /// Leave the bike's own record out
    #[arg(long)]
    theory: bool,
    /// The numbers behind it, and what each outing counts
    #[arg(long)]
    explain: bool,
    /// The most risk of lean at full throttle, in percent
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true, conflicts_with = "theory")]
    lean_risk: Option<String>,
    /// What was questioned is right
    #[arg(long)]
    sure: bool,
    #[command(flatten)]
    despite: Despite,
    #[command(flatten)]
    card: CardOptions,
    /// A plan by session, from forecast airs as CSV (or -)
    #[arg(long, value_name = "FILE", conflicts_with_all = ["card", "record", "explain", "cells"])]
    plan: Option<PathBuf>,
    /// Every cell of an injected bike's fuel map
    #[arg(long, conflicts_with_all = ["card", "record", "explain"])]
    cells: bool,
    /// The card, the plan or the cells as CSV
    #[arg(long, conflicts_with = "record")]
    csv: bool,
    #[command(flatten)]
    fuel: FuelOptions,
    /// Whose kept air, if not of where the day is spent
    #[arg(long, short, help_heading = "Air")]
    place: Option<String>,
    #[command(flatten)]
    air: AirOptions,
    /// Whether the bike is the day's, and was not named.
    #[arg(skip)]
    bike_is_taken: bool,
}

impl Rejet {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        if self.bike.is_empty() {
            let bike = today::bike_of_the_day(&book, desk.moment.now)?.ok_or_else(|| no_bike(&garage))?;
            return Self { bike, bike_is_taken: true, ..self.clone() }.run(desk);
        }
        garage.require_bike(&self.bike)?;
        let now = book.combination(&self.bike, None)?;
        // What cannot be read is not answered from.
        if now.setup.is_none() || !now.findings.is_empty() {
            return Err(Trouble::findings(now.findings));
        }
        require_every_outing(&book, &self.bike)?;
        let stands_on = self.foundation(&book, &now)?;
        let question = Question::new(&garage, &book, stands_on, now, self.fuel.fuel()?, desk.moment.now)?;
        // Cells stand for themselves, whatever map is on the bike; how far they go in one step is counted from it.
        question.require_the_same_injection(self.cells.then_some(MAP))?;
        if self.card.is_asked() {
            return self.show_card(desk, &question);
        }
        if let Some(file) = &self.plan {
            return self.show_plan(desk, &question, file);
        }
        if self.csv && !self.cells {
            return Err(Trouble::request(
                Some("csv"),
                "--csv says how to write a card, a plan or the cells of a map, and none was asked for.",
                "Add --card, --plan FILE or --cells, or use --json for the answer itself.",
            ));
        }
        let (air, served) = self.air_to(&question, desk.moment.now)?;
        if self.cells {
            self.show_cells(desk, &question, (&air, &served))
        } else {
            self.answer(desk, &question, (&air, &served))
        }
    }

    /// The air it is asked for, and where it is from: typed, or kept where the day is spent.
    fn air_to(&self, question: &Question<'_>, now: When) -> Result<(AirEntry, Served), Trouble> {
        let mut served = self.air.served(question.book, self.place.as_deref(), now)?;
        if let Some(air) = &served.entry {
            return Ok((air.clone(), served));
        }
        if self.fuel.fuel()?.is_some() {
            return Ok((question.baseline_air.0.clone(), served));
        }
        if !served.unreadable.is_empty() {
            return Err(Trouble::findings(std::mem::take(&mut served.unreadable)));
        }
        let give = "Give today's air, like --temp 18 --baro 845 --humidity 45, or --metar with --elevation; `reedbook air … --keep` keeps it for what follows.";
        Err(match served.refused {
            Some(refused) => Trouble::request(None, refused.words, TYPE_A_NEW_ONE),
            None => Trouble::request(None, "Neither air nor fuel was given to rejet for.", give),
        })
    }

    /// How outings are weighed and what risk is taken.
    fn settings(&self, garage: &Garage) -> Result<Settings, Trouble> {
        let mut settings = Settings::read(&garage.assumptions()?);
        let asked: Option<Percent> = quantity("record.lean_risk", self.lean_risk.as_deref())?;
        if let Some(risk) = asked {
            settings.lean_risk = risk.si();
            if !(0.001..=0.5).contains(&settings.lean_risk) {
                return Err(Trouble::request(
                    Some("lean_risk"),
                    format!("A lean risk of {risk} is asked for; allowed is 0.1 to 50 %."),
                    "Give a percentage: --lean-risk 5 takes one chance in twenty of running lean.",
                ));
            }
        }
        Ok(settings)
    }

    fn answer(
        &self,
        desk: &Desk,
        question: &Question<'_>,
        (air, served): (&AirEntry, &Served),
    ) -> Result<(), Trouble> {
        let (garage, book, baseline) = (question.garage, question.book, &question.baseline);
        let reading = air.reading()?;
        let doubt = reading.uncertainty().map_err(AirEntryError::from)?;
        let now = &question.now;
        let request = question.request(air.air()?, Some(&doubt))?;
        let held = question.held_in(&air.air()?)?;
        let floors = question.floors(&air.air()?)?;
        let settings = self.settings(garage)?;
        let evidence = if self.theory { None } else { Some(question.evidence(&settings)?) };
        let adviser = question.adviser(evidence.as_ref(), &settings, Some(&doubt))?;
        let mut advised = adviser.advise(&request, &floors)?;
        if let (Some(setup), Some(fitted)) = (&question.whole.setup, &now.setup) {
            let delivered = |zone: &str| question.delivered(setup, fitted, zone);
            // Areas do not compare two fuels: there the factor's own word stands.
            let leaner = record::takes_fuel_away(&advised.rejet, &now.fields, delivered)
                || (question.fuel.is_some() && advised.rejet.takes_fuel_away());
            advised.rejet.cautions = cautions::for_step(leaner, advised.rejet.injection.is_some());
        }
        let explain = self.explain || desk.screen().verbose();
        let foretold = match &evidence {
            Some(evidence) if explain => Some(leave_one_out(evidence, adviser.shape, &settings)?),
            _ => None,
        };
        let to_set = record::to_set(&advised.rejet, &question.whole.fields, &now.fields);
        let left = question.left_on_the_bike();
        let mut remarks = reading.remarks();
        remarks.extend(standing::not_right(book, &self.bike, baseline)?);
        let moved_on = record::moved_on(&question.whole.fields, &now.fields);
        let other_metering = question.other_metering(&moved_on);
        let now_and_units = (desk.moment.now, desk.screen().units());
        let mut asked = match served.origin.as_ref().map(|origin| &origin.place).or(self.place.as_ref()) {
            Some(place) => slips::of_air_at(book, place, air, now_and_units)?,
            None => of_air(book, &self.bike, air, now_and_units)?,
        };
        let tank = now.setup.as_ref().and_then(|setup| setup.fuel.as_ref());
        asked.extend(slips::oil(tank, question.fuel.as_ref()));
        // Jets for an air that was typed wrongly are not to be fitted by anybody; another height is answered for, and said.
        let (elsewhere, asked): (Vec<Slip>, Vec<Slip>) =
            asked.into_iter().partition(|slip| slip.is_of_height() && !self.record);
        settle(&asked, self.sure, None)?;
        let mut questioned = question.before_any_size();
        let elsewhere = elsewhere.iter().filter(|_| !self.sure);
        questioned.extend(elsewhere.map(|slip| format!("{} {}", slip.question, slip.instead)));
        remarks.extend(question.ground_words()?);
        remarks.extend(question.holds.remarks.iter().cloned());
        let jobs = book.jobs_at(&self.bike, desk.moment.now)?;
        let mut report = RejetReport {
            bike: &self.bike,
            bike_is_taken: self.bike_is_taken,
            not_fitted: not_fitted(&jobs),
            first_of_the_garage: is_first_advice(book)?,
            baseline: baseline.number,
            baseline_air: &question.baseline_air,
            air,
            served,
            rejet: &advised.rejet,
            now: &now.fields,
            baseline_fields: &question.whole.fields,
            to_set: &to_set,
            moved_on: question.moved_on(),
            other_metering,
            ground: question.ground,
            was_right: self.baseline_air.is_some() || question.vouched_for || has_run_right(book, baseline)?,
            seized_elsewhere: question.seized_elsewhere(),
            questioned: &questioned,
            held: &held,
            left: &left,
            remarks,
            recorded: None,
            record: RecordReport {
                learned: advised.learned.as_ref(),
                adviser: &adviser,
                evidence: evidence.as_ref(),
                theory: advised.theory,
                foretold: foretold.as_deref(),
                injected: advised.rejet.injection.is_some(),
                is_held: !held.is_empty(),
            },
            explain,
        };
        if self.record {
            standing::require_recorded(book, &self.bike)?;
            self.require_the_same_metering(question, other_metering)?;
            report.recorded = Some(self.record_it(desk, question, &report)?);
        }
        let answer = RejetAnswer::from(report);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// Refuses to record jets or a trim that were reckoned for another carburetor, fuel or fuel map than is on the bike: a number
    /// means another jet there, and a difference would be missing or count twice.
    fn require_the_same_metering(&self, question: &Question<'_>, other: Option<&str>) -> Result<(), Trouble> {
        let Some(field) = other else {
            return Ok(());
        };
        let number = question.baseline.number;
        Err(Trouble::request(
            Some(field),
            format!(
                "The bike has {}, so nothing was recorded: the numbers were reckoned for setup {number}.",
                question.has_and_had(field)
            ),
            format!(
                "Put setup {number} back with `reedbook rollback {} {number}`, or start from what is on the bike once it was right: --baseline latest, or a proven mark.",
                self.bike
            ),
        ))
    }

    /// The setup that the answer stands on, and its air.
    fn foundation(&self, book: &Book<'_>, now: &Combination) -> Result<Foundation, Trouble> {
        let found = match &self.baseline {
            Some(_) => None,
            None => foundation::find(book, &self.bike, now)?,
        };
        let mut stands_on = if let Some(found) = found {
            found
        } else {
            let name = self.baseline.as_ref().unwrap_or(&SetupName::Latest);
            let setup = book.recorded(&self.bike, name)?;
            if self.baseline.is_none() {
                return Err(never_right(book, &self.bike)?);
            }
            Foundation { air: book.air_of(&self.bike, &setup)?, setup, ground: Ground::Named }
        };
        if let Some(line) = &self.baseline_air {
            stands_on.air = Some((AirEntry::parse(line)?, "as given".into()));
        }
        Ok(stands_on)
    }

    fn record_it(
        &self,
        desk: &Desk,
        question: &Question<'_>,
        report: &RejetReport<'_>,
    ) -> Result<u32, Trouble> {
        if let Some(circuit) = report.nothing_to_fit() {
            return Err(Trouble::request(
                None,
                format!("No {circuit} jet in the box is enough: do not run it. Nothing was recorded."),
                "Get one that is, add it to the box (configs/jets.toml, or [box] in bike.toml), and ask again; the same line without --record says the rest.",
            ));
        }
        let assignments = report
            .to_set
            .iter()
            .map(|(field, value)| Assignment::parse(&format!("{field}={value}")))
            .collect::<Result<_, _>>()?;
        let why = self.why.clone().unwrap_or_else(|| {
            format!("Rejet from setup {} for {}", report.baseline, air_in_short(&desk.screen(), report.air))
        });
        let request = ChangeRequest {
            bike: self.bike.clone(),
            assignments,
            why,
            air: Some(report.air.clone()),
            made_for: question.newest,
            ..ChangeRequest::default()
        };
        let guard = self.despite.guard(false)?;
        let done =
            change_checked(question.garage, &request, &desk.moment, &|proposed| guard.check(proposed))?;
        Ok(done.setup.number)
    }
}

fn no_bike(garage: &Garage) -> Trouble {
    Trouble::request(
        Some("bike"),
        "The bike is not said, and none was logged today.",
        format!("Name it: `reedbook rejet BIKE …`. Bikes: {}.", garage.bikes().join(", ")),
    )
}

/// Jetting that is recorded and not on the bike by its jobs: the field, and what is to be done.
fn not_fitted(jobs: &BikeJobs) -> Vec<(String, String)> {
    let of_jetting = |field: &str| field.starts_with("jetting.") || field.starts_with("injection.");
    let open = jobs.open().filter(|job| of_jetting(&job.item.field));
    open.map(|job| (job.item.field.clone(), job.item.what.clone())).collect()
}

/// Whether nobody of the garage can have read an advice that was earned by a run: one run at most is logged, of all bikes. It follows
/// from the record, so that a copy of the garage answers alike, and a question writes nothing.
fn is_first_advice(book: &Book<'_>) -> Result<bool, Trouble> {
    let mut runs = 0;
    for bike in book.garage().bikes() {
        runs += book.outings(&bike)?.len();
    }
    Ok(runs <= 1)
}

/// The refusal where no run was right yet in an air that is known, and no setup is marked: there is nothing to reckon from.
fn never_right(book: &Book<'_>, bike: &str) -> Result<Trouble, Trouble> {
    let outings = book.outings(bike)?;
    let right = outings.iter().rev().find(|record| {
        let full = record.outing.verdict.as_ref().and_then(|verdict| verdict.full);
        let is_right = full == Some(Mixture::Right) && sign_of_lean(&record.outing).is_none();
        is_right && record.outing.air.is_none()
    });
    let way_out = match right {
        Some(record) => format!(
            "The run of {} was right: write down the air it had, `reedbook outing edit {bike} {} --temp … --baro … --humidity …`.",
            record.outing.date.short(),
            visible(&record.id)
        ),
        None => format!(
            "Start rich by the maker's jetting, read plug and piston, and log each run with its verdict and its air: `reedbook outing add {bike} full=… --temp … --baro … --humidity …`. Once one was right, ask again."
        ),
    };
    Ok(Trouble::request(
        None,
        format!(
            "No run of {bike} was right at full throttle yet in an air that is written down: there is nothing to reckon from."
        ),
        way_out,
    ))
}
