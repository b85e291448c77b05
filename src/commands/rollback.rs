//! `rollback`: putting an earlier setup back.

use clap::Args;

use jiff::tz::Offset;

use super::options::air::AirOptions;
use super::options::guard::Despite;
use crate::acts::compare::ran_on;
use crate::acts::now::now;
use crate::advice::conditions::kept::Served;
use crate::advice::{building, slips, standing};
use crate::commands::desk::Desk;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{AirEntry, SECTIONS, When};
use crate::report::Trouble;
use crate::report::history::questioned::settle;
use crate::report::history::setups::rolled_back::{OthersInside, RollbackAnswer, lean_in_this_air};
use crate::store::{self, Book, RollbackRequest, RolledBack, SetupName, SetupRecord, rollback_checked};

/// Put an earlier setup back, whole or by section
///
/// It is recorded as a new one; nothing in between is lost. What was cut in metal since (ports, chamber, deck) cannot come
/// back by a command: it stays and is listed as still different, unless --fitted says that the part from then is on the
/// bike again. The rollback can itself be rolled back.
#[derive(Debug, Args)]
pub(super) struct Rollback {
    /// The bike
    bike: String,
    /// The setup to put back: a number, latest or proven, or the day it ran on (2026-05-16)
    #[arg(default_value = "proven", value_name = "SETUP")]
    to: WhichSetup,
    /// Only this section, like ignition, or this cylinder: right, right.jetting; several with commas
    #[arg(long, value_name = "SECTION", value_delimiter = ',')]
    only: Vec<String>,
    /// The part from then is fitted again: ports, head, engine or pipe; all of them when none is named
    #[arg(long, value_name = "SECTION", value_delimiter = ',', num_args = 0..=1, require_equals = true, default_missing_value = "all")]
    fitted: Vec<String>,
    /// Lose edits on disk that were never recorded
    #[arg(long = "lose-edits")]
    discard_edits: bool,
    /// Why
    #[arg(long, short)]
    why: Option<String>,
    /// When, if not now
    #[arg(long)]
    date: Option<String>,
    /// The air is right, go on
    #[arg(long)]
    sure: bool,
    #[command(flatten)]
    despite: Despite,
    #[command(flatten)]
    air: AirOptions,
}

/// A setup by its name, or by the day on which it ran last.
#[derive(Debug, Clone)]
enum WhichSetup {
    Named(SetupName),
    OfDay(String),
}

impl std::str::FromStr for WhichSetup {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        match text.parse() {
            Ok(name) => Ok(Self::Named(name)),
            Err(_) if text.len() == 10 && When::parse(text, Offset::UTC).is_ok() => {
                Ok(Self::OfDay(text.to_owned()))
            }
            Err(error) => Err(format!(
                "{error}, or the day on which it ran, like 2026-05-16; reedbook find --place shows which ran at a place"
            )),
        }
    }
}

impl Rollback {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let (to, of_the_day) = match &self.to {
            WhichSetup::Named(name) => (name.clone(), None),
            WhichSetup::OfDay(day) => ran_on(&garage, &self.bike, day)?,
        };
        let request = RollbackRequest {
            bike: self.bike.clone(),
            to,
            only: self.only.clone(),
            fitted: self.fitted.clone(),
            discard_edits: self.discard_edits,
            why: self.why.clone(),
            air: self.air.entry(garage.is_imperial())?,
            date: self.date.as_deref().map(|text| When::parse(text, desk.moment.now.offset())).transpose()?,
        };
        // What is held in this air may be free in a thinner one that was typed wrongly.
        if let Some(air) = &request.air {
            let date = request.date.unwrap_or(desk.moment.now);
            let book = Book::open(&garage)?;
            let asked = slips::of_air(&book, &self.bike, air, (date, desk.screen().units()))?;
            settle(&asked, self.sure, None)?;
        }
        let guard = self.despite.guard(true)?.of(&garage, &self.bike)?;
        let answer = rollback_checked(&garage, &request, &desk.moment, &|proposed| guard.check(proposed))?;
        let mut done = match answer {
            store::Rollback::Recorded(done) => done,
            store::Rollback::Already(to) => {
                let book = Book::open(&garage)?;
                let newest = book.latest(&self.bike)?.map(|setup| setup.number);
                let is_open = book.open_jobs_of(&self.bike)?.open().next().is_some();
                // Of a whole section the whole bike is meant.
                let mut of = self.only.clone();
                of.retain(|only| !SECTIONS.contains(&only.as_str()));
                // It may have run lean since it was marked, or since it was put back. Where files that it needs not cannot be read, nothing
                // is known of that.
                let stops = now(&garage, Some(&self.bike), desk.moment.now, |answer, _| Ok(answer.stops()));
                let stops: Vec<String> =
                    stops.unwrap_or_default().into_iter().map(|(_, words)| words).collect();
                let lean = self.lean_in_this_air(&book, (&to, request.air), desk).unwrap_or_default();
                let stops = lean.into_iter().chain(stops).collect();
                let answer = RollbackAnswer::already(&to, &of, (newest, is_open)).stopped_by(stops);
                return desk.screen().answer(&answer, || answer.text(&desk.screen()));
            }
            store::Rollback::EditsDropped(to) => {
                // Both sides in one file were no choice between them.
                let beside = Book::open(&garage)?.recorded_beside(&to)?.map(|other| {
                    format!(
                        "Setup {0}, \"{1}\" by {2}, was recorded on the other side and is not in it: nobody chose between the two. `reedbook compare {3} {0} {4}` shows both, `reedbook rollback {3} {0}` takes theirs; then share.",
                        other.number,
                        visible(other.why.lines().next().unwrap_or_default()),
                        visible(&other.author),
                        other.bike,
                        to.number
                    )
                });
                let answer = RollbackAnswer::dropped(&to).stopped_by(beside.into_iter().collect());
                return desk.screen().answer(&answer, || answer.text(&desk.screen()));
            }
        };
        let judgement = guard.judgement();
        let book = Book::open(&garage)?;
        let since = standing::since_outing(
            &book,
            &self.bike,
            (Some(&done.recorded.setup), &done.recorded.fields.1),
            desk.moment.now,
        )?;
        let Inside { stops, remarks, others } = inside_is_another(&book, &done, desk)?;
        done.recorded.remarks.extend(of_the_day.map(Guidance::from));
        done.recorded.remarks.extend(remarks.into_iter().map(Guidance::from));
        let (air, was_right) = standing::right_in(&book, &done.to, done.air.take())?;
        done.air = air;
        let was_lean = standing::was_lean_on_it(&book, &done.to)?;
        let jobs = book.open_jobs_of(&self.bike)?;
        // What was kept today is only held against the air that setup was right in: recorded is what was typed.
        let kept = match (&done.air_now, self.date.is_some()) {
            (None, false) => self.air.served(&book, None, desk.moment.now)?,
            _ => Served::default(),
        };
        done.air_now = done.air_now.or_else(|| kept.entry.clone());
        let answer = RollbackAnswer::of((&done, &jobs), since.as_ref(), &judgement)
            .in_kept(&kept)
            .how_it_ran(was_lean, was_right)
            .stopped_by(stops)
            .others_inside(others);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

impl Rollback {
    /// What there is to say where nothing has to be put back, and the air that was typed or is kept is denser than the setup was right in.
    fn lean_in_this_air(
        &self,
        book: &Book<'_>,
        (to, typed): (&SetupRecord, Option<AirEntry>),
        desk: &Desk,
    ) -> Result<Option<String>, Trouble> {
        let kept = match (&typed, self.date.is_some()) {
            (None, false) => self.air.served(book, None, desk.moment.now)?.entry,
            _ => None,
        };
        let (then, was_right) = standing::right_in(book, to, book.air_of(&self.bike, to)?)?;
        let both = then.zip(typed.or(kept));
        Ok(both.and_then(|((then, _), now)| lean_in_this_air(&then, &now, was_right)))
    }
}

/// What is to be changed in an engine before it runs, what else should be known of it, and what is another one now.
#[derive(Default)]
struct Inside {
    stops: Vec<String>,
    remarks: Vec<String>,
    others: Option<OthersInside>,
}

/// A setup comes back without the parts that were in its engine: what is to be changed before it runs, and what is another one now.
fn inside_is_another(book: &Book<'_>, done: &RolledBack, desk: &Desk) -> Result<Inside, Trouble> {
    let (now, in_full) = (desk.moment.now, desk.screen().json || desk.screen().verbose());
    let setup = &done.recorded.setup;
    let Some(engine) = setup.engine.as_deref().filter(|engine| done.to.engine.as_deref() == Some(engine))
    else {
        return Ok(Inside::default());
    };
    let (stops, mut remarks) = building::to_change_and_remarks(book, engine, setup.date)?;
    let then = building::stood(book, &setup.bike, Some(&done.to), now)?;
    let parts = building::parts_between(book, engine, (then, now))?;
    let since = then.day();
    if in_full && !parts.is_empty() {
        remarks.push(format!(
            "Parts do not come back with a setup. Others in {engine} than on {since}: {}.",
            parts.join("; ")
        ));
    }
    let others = (!in_full && !parts.is_empty()).then(|| OthersInside {
        engine: engine.to_owned(),
        count: parts.len(),
        since: since.clone(),
    });
    Ok(Inside { stops, remarks, others })
}
