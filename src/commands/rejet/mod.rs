//! `rejet`: the jetting, or the injection trim, for other air or fuel.

mod card;
mod card_options;
mod cells;
mod fuel_options;
mod machine;
mod plan;
mod session;

use std::path::PathBuf;

use clap::Args;

use self::fuel_options::FuelOptions;
use super::options::air::AirOptions;
use super::options::cylinder::CylinderOption;
use super::options::engine::quantity;
use super::options::guard::Despite;
use crate::advice::asking::{Answered, Question, Terms};
use crate::advice::building::first_to_change;
use crate::advice::conditions::kept::{Served, type_a_new_one};
use crate::advice::learning::{Foretold, Settings};
use crate::advice::maps::trim::MAP;
use crate::advice::slips::Slip;
use crate::advice::{standing, today};
use crate::commands::desk::Desk;
use crate::commands::rejet::card_options::CardOptions;
use crate::notebook::fields::cylinder::can_be_own;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Assignment, EditError, When};
use crate::quantity::Percent;
use crate::report::history::questioned::settle;
use crate::report::jetting::first::before::{field_has_and_had, fuel_by_name, require_the_same_injection};
use crate::report::{AtCylinder, Beside, RejetAnswer, RejetReport, Trouble, air_in_short};
use crate::store::{Book, ChangeRequest, Garage, SetupName, change_checked};

/// What to fit in other air or on other fuel
#[derive(Debug, Clone, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide jetting")]
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
    /// It is right, go on
    #[arg(long)]
    sure: bool,
    #[command(flatten, next_help_heading = "Recording it")]
    cylinder: CylinderOption,
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
    /// Kept air of another place
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
        if self.bike.is_empty() {
            let meant = today::bike_of_the_day(&desk.book(&garage)?, desk.moment.now)?;
            let meant = meant.ok_or_else(|| no_bike(&garage))?;
            let bike_is_taken = matches!(meant, today::Meant::LastLogged(_));
            return Self { bike: meant.bike(), bike_is_taken, ..self.clone() }.run(desk);
        }
        garage.require_bike(&self.bike)?;
        let whole = Book::open(&garage)?.combination(&self.bike, None)?;
        let names = whole.fields.jetted();
        if !names.is_empty() && self.cylinder.name().is_none() {
            return self.of_the_machine(desk, &garage, &names);
        }
        // One cylinder is asked about, or there is one.
        let once = || {
            if let Some(AtCylinder { name: Some(name), .. }) = desk.at_cylinder()
                && !desk.screen().json
                && !self.csv
            {
                desk.screen().say(&desk.screen().strong(&format!("Cylinder {}", visible(&name))))?;
            }
            let done = self.run_once(desk);
            match desk.at_cylinder() {
                Some(AtCylinder { name: Some(name), .. }) => {
                    done.map_err(|trouble| trouble.asking_for_runs_at(&name))
                }
                _ => done,
            }
        };
        desk.answers(&self.cylinder, &whole, |_| false, once).map(|_| ())
    }

    fn run_once(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let book = desk.book(&garage)?;
        let question = Question::ask(&book, &self.bike, &self.asked()?, desk.moment.now)?;
        // Cells stand for themselves, whatever map is on the bike; how far they go in one step is counted from it.
        require_the_same_injection(&question, self.cells.then_some(MAP))?;
        self.settle_baseline_air(desk, &question)?;
        if self.card.is_asked() {
            return self.show_card(desk, &question);
        }
        if let Some(file) = &self.plan {
            return self.show_plan(desk, &[(None, &question)], &[], file);
        }
        self.require_what_csv_is_of()?;
        let (air, served) = self.air_to(&question, desk.moment.now)?;
        if self.cells {
            self.show_cells(desk, &question, (&air, &served))
        } else {
            self.answer(desk, &question, (&air, &served))
        }
    }

    /// What is asked beside the bike.
    fn asked(&self) -> Result<Terms, Trouble> {
        Ok(Terms {
            baseline: self.baseline.clone(),
            baseline_air: self.baseline_air.as_deref().map(AirEntry::parse).transpose()?,
            fuel: self.fuel.fuel()?,
        })
    }

    /// Asks of the air that is typed for the baseline before a card or a plan stands on it; an answer in one air asks by itself.
    fn settle_baseline_air(&self, desk: &Desk, question: &Question<'_>) -> Result<(), Trouble> {
        if self.card.is_asked() || self.plan.is_some() {
            settle(&question.baseline_slips(desk.screen().units())?, self.sure, None)?;
        }
        Ok(())
    }

    fn require_what_csv_is_of(&self) -> Result<(), Trouble> {
        if !self.csv || self.cells {
            return Ok(());
        }
        Err(Trouble::request(
            Some("csv"),
            "--csv says how to write a card, a plan or the cells of a map, and none was asked for.",
            "Add --card, --plan FILE or --cells, or use --json for the answer itself.",
        ))
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
            Some(refused) => Trouble::request(None, refused.words.clone(), type_a_new_one(&refused)),
            None => Trouble::request(None, "Neither air nor fuel was given to rejet for.", give),
        })
    }

    /// How outings are weighed and what risk is taken.
    fn settings(&self, question: &Question<'_>) -> Result<Settings, Trouble> {
        let asked: Option<Percent> = quantity("record.lean_risk", self.lean_risk.as_deref())?;
        if let Some(risk) = &asked
            && !(0.001..=0.5).contains(&risk.si())
        {
            return Err(Trouble::request(
                Some("lean_risk"),
                format!("A lean risk of {risk} is asked for; allowed is 0.1 to 50 %."),
                "Give a percentage: --lean-risk 5 takes one chance in twenty of running lean.",
            ));
        }
        Ok(question.settings(asked.map(|risk| risk.si()))?)
    }

    fn answer(
        &self,
        desk: &Desk,
        question: &Question<'_>,
        (air, served): (&AirEntry, &Served),
    ) -> Result<(), Trouble> {
        let (found, asked) = self.found(desk, question, (air, served))?;
        settle(&asked, self.sure, None)?;
        let mut report = self.report(&found, served)?;
        if self.record {
            self.require_recordable(question, &report)?;
        }
        // What the bike has already is an answer, and nothing to record.
        if self.record && !report.to_set.is_empty() {
            let own = question.book.cylinder();
            let assignments =
                report.to_set.iter().map(|set| assignment(own, set)).collect::<Result<_, _>>()?;
            let from = format!("setup {}", report.baseline);
            report.recorded = Some(self.record_it(desk, question, (assignments, &from, air))?);
        }
        let answer = RejetAnswer::from(report);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))?;
        were_read(desk, question.book.garage(), answer.has_all_cautions());
        Ok(())
    }

    /// What is found for one air, and what of it is asked before it is answered.
    fn found<'q>(
        &self,
        desk: &Desk,
        question: &'q Question<'q>,
        (air, served): (&AirEntry, &Served),
    ) -> Result<(FoundAdvice<'q>, Vec<Slip>), Trouble> {
        let settings = self.settings(question)?;
        let found = question.answer(air, &settings, self.theory)?;
        let foretold = if self.explains(desk) { found.foretold(&settings)? } else { None };
        let place = served.origin.as_ref().map(|origin| &origin.place).or(self.place.as_ref());
        let now_and_units = (desk.moment.now, desk.screen().units());
        let asked = question.slips(air, place.map(String::as_str), now_and_units)?;
        // Jets for an air that was typed wrongly are not to be fitted by anybody, nor recorded.
        let (elsewhere, asked): (Vec<Slip>, Vec<Slip>) =
            if self.record { (Vec::new(), asked) } else { found.said_and_asked(asked) };
        let questioned = RejetReport::questioned(question, if self.sure { &[] } else { &elsewhere });
        let engine = question.now.fields.text("engine");
        let change =
            engine.map(|engine| first_to_change(question.book, engine, desk.moment.now)).transpose()?;
        let (explains, overdue) = (self.explains(desk), change.flatten());
        Ok((FoundAdvice { answered: found, foretold, questioned, explains, overdue }, asked))
    }

    fn explains(&self, desk: &Desk) -> bool {
        self.explain || desk.screen().verbose()
    }

    fn report<'a>(&self, found: &'a FoundAdvice<'a>, served: &'a Served) -> Result<RejetReport<'a>, Trouble> {
        RejetReport::of(
            &found.answered,
            Beside {
                bike_is_taken: self.bike_is_taken,
                served,
                questioned: &found.questioned,
                foretold: found.foretold.as_deref(),
                was_right: self.baseline_air.is_some(),
                explain: found.explains,
                overdue: found.overdue.as_deref(),
            },
        )
    }

    /// Refuses to record what cannot be: beside edits that nobody recorded, for another carburetor, without a jet that is enough.
    fn require_recordable(&self, question: &Question<'_>, report: &RejetReport<'_>) -> Result<(), Trouble> {
        standing::require_recorded(question.book, &self.bike)?;
        self.require_the_same_metering(question, report.other_metering)?;
        self.require_a_known_fuel(question)?;
        let Some(circuit) = report.nothing_to_fit() else { return Ok(()) };
        Err(Trouble::request(
            None,
            format!("No {circuit} jet in the box is enough: do not run it. Nothing was recorded."),
            "Get one that is, add it to the box (configs/jets.toml, or [box] in bike.toml), and ask again; the same line without --record says the rest.",
        ))
    }

    /// Refuses to record jets for a fuel of which only the name is known: what it wants may be half as much again.
    fn require_a_known_fuel(&self, question: &Question<'_>) -> Result<(), Trouble> {
        let unknown = fuel_by_name(question).filter(|_| !self.despite.is_given());
        unknown.map_or(Ok(()), |words| {
            Err(Trouble::request(
                Some("fuel.name"),
                format!("{words} Nothing was recorded."),
                "Give what its maker writes of it: --fuel-density … --stoichiometric-ratio …; or say why it is recorded all the same: --despite \"…\".",
            ))
        })
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
                field_has_and_had(question, field)
            ),
            format!(
                "Put setup {number} back with `reedbook rollback {} {number}`, or start from what is on the bike once it was right: --baseline latest, or a proven mark.",
                self.bike
            ),
        ))
    }

    /// Records what an advice sets, and gives the setup's number; `from` is the setup, or the setups, that it was reckoned from.
    fn record_it(
        &self,
        desk: &Desk,
        question: &Question<'_>,
        (assignments, from, air): (Vec<Assignment>, &str, &AirEntry),
    ) -> Result<u32, Trouble> {
        let why = self
            .why
            .clone()
            .unwrap_or_else(|| format!("Rejet from {from} for {}", air_in_short(&desk.screen(), air)));
        let request = ChangeRequest {
            bike: self.bike.clone(),
            assignments,
            why,
            air: Some(air.clone()),
            made_for: question.newest,
            ..ChangeRequest::default()
        };
        let guard = self.despite.guard(false)?.advised();
        let done =
            change_checked(question.garage, &request, &desk.moment, &|proposed| guard.check(proposed))?;
        Ok(done.setup.number)
    }
}

/// What was found, with what is said beside it.
struct FoundAdvice<'q> {
    answered: Answered<'q>,
    foretold: Option<Vec<Foretold>>,
    questioned: Vec<String>,
    explains: bool,
    /// The first part of its engine that is to be changed before it runs.
    overdue: Option<String>,
}

/// A field as it is set; what one of several cylinders can have of its own is its own from now on.
fn assignment(cylinder: Option<&str>, (field, value): &(String, String)) -> Result<Assignment, EditError> {
    let name = cylinder.filter(|_| can_be_own(field)).map(|name| format!("{name}.")).unwrap_or_default();
    Assignment::parse(&format!("{name}{field}={value}"))
}

/// After the first advice that a person was given, all the cautions are known.
fn were_read(desk: &Desk, garage: &Garage, all: bool) {
    if all && !desk.screen().json {
        garage.repository().note_cautions_read();
    }
}

fn no_bike(garage: &Garage) -> Trouble {
    Trouble::request(
        Some("bike"),
        "No bike is named, and no run or work on one alone was recorded today.",
        format!("Name it: `reedbook rejet BIKE …`. Bikes: {}.", garage.bikes().join(", ")),
    )
}
