//! A run logged: what was not said taken from the day, what looks like a slip found, and only then recorded.

mod as_it_ran;
mod mending;
mod without;

use std::path::PathBuf;

pub use self::as_it_ran::AsItRan;
pub use self::mending::{Mended, mended, ran_without, slips_of_mend};
pub use self::without::Without;
use super::air::served;
use crate::advice::conditions::kept::Served;
use crate::advice::held::{engine_seized_elsewhere, is_setup_doubted, would_forbid_more};
use crate::advice::learning::OwnNames;
use crate::advice::slips::{Slip, TypedOuting};
use crate::advice::{building, closing, standing, today};
use crate::machine::Moment;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::{Doubted, Outing, OutingKind, When};
use crate::quantity::Units;
use crate::report::Trouble;
use crate::report::history::outing::OutingWritten;
use crate::report::{all_worded, worded};
use crate::store::{
    BikeJobs, Book, Garage, Logged, NewOuting, OutingRecord, SetupName, SetupRecord, StoreError, log,
};

/// Jobs that are open when an outing is logged, and the setup that the bike really had on it.
pub struct OpenThen {
    /// The jobs.
    pub jobs: BikeJobs,
    /// The setup that was on it; none where no setup is as the bike stood.
    pub on_it: Option<SetupRecord>,
    /// What can hurt in what they do, in sentences.
    pub cautions: Vec<String>,
}

/// What was not typed.
#[derive(Debug, Default)]
struct Taken {
    /// What is as last on the day.
    names: Vec<&'static str>,
    /// The air, and where it is from.
    air: Served,
}

/// What it means that nobody says which setup a run had.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsaid {
    /// What was open is taken as done; that can be said otherwise later.
    TakenAsDone,
    /// It ran with what was open.
    WithIt,
    /// It has to be said.
    AskedAgain,
}

/// A run that is about to be recorded.
pub struct Draft {
    bike: String,
    outing: Outing,
    setup: Option<SetupName>,
    /// Whether it was said what was on the bike.
    is_said: bool,
    taken: Taken,
    open: Option<OpenThen>,
    without: Without,
    /// What is to be said beside it.
    beside: Vec<String>,
}

impl Draft {
    /// Of what was said: place, session and air come from the day where they were not. `setup` is the one it ran, if not the newest;
    /// `without` numbers the jobs that were still open when it ran; `bike_is_taken` where the bike is the day's last.
    pub fn of(
        book: &Book<'_>,
        (bike, outing): (String, Outing),
        (setup, without): (Option<SetupName>, &[u32]),
        bike_is_taken: bool,
    ) -> Result<Self, Trouble> {
        let (mut outing, mut taken) = (outing, Taken::default());
        taken.names.extend(bike_is_taken.then_some("bike"));
        take(book, &mut outing, &mut taken)?;
        let mut open = if setup.is_some() { None } else { open_jobs(book, &bike, outing.date)? };
        let numbered = if without.is_empty() { BikeJobs::default() } else { book.open_jobs_of(&bike)? };
        let is_said = setup.is_some() || !without.is_empty();
        let without = Without::of(book, &numbered, (&bike, open.as_ref()), without)?;
        if let Some(open) = &mut open {
            open.jobs.jobs.retain(|job| !without.names(job));
        }
        let setup = setup.or_else(|| without.setup.map(SetupName::Number));
        Ok(Self { bike, outing, setup, is_said, taken, open, without, beside: Vec::new() })
    }

    /// What is still open by the book, where nobody said what was on the bike.
    pub fn open(&self) -> Option<&OpenThen> {
        self.open.as_ref().filter(|_| !self.is_said)
    }

    /// How whoever is asked what it ran on may answer with return: none where that is no answer, for the run was lean, and lean on what stands
    /// on the bike it would forbid more.
    pub fn if_not_said(&self, book: &Book<'_>) -> Result<Unsaid, StoreError> {
        let of_lean = closing::was_lean(&self.outing) && !self.outing.is_closed();
        if !of_lean || !is_setup_doubted(book, &self.bike, self.outing.date)? {
            return Ok(Unsaid::TakenAsDone);
        }
        let stands = self.open.as_ref().and_then(|open| open.on_it.as_ref());
        let newest = self.open.as_ref().and_then(|open| open.jobs.setup);
        let newest =
            newest.map(|number| book.recorded(&self.bike, &SetupName::Number(number))).transpose()?;
        Ok(match stands.zip(newest) {
            Some((stands, newest)) if !would_forbid_more(book, (stands, &newest))? => Unsaid::WithIt,
            _ => Unsaid::AskedAgain,
        })
    }

    /// The setup it ran, as whoever was asked says.
    #[must_use]
    pub fn on(self, setup: Option<SetupName>) -> Self {
        let is_said = self.is_said || setup.is_some();
        Self { setup: setup.or(self.setup), is_said, ..self }
    }

    /// The same where it was said what was on the bike, though no setup says it yet.
    #[must_use]
    pub fn as_was_said(self) -> Self {
        Self { is_said: true, ..self }
    }

    /// The same on the setup that was recorded for it.
    #[must_use]
    pub fn as_it_ran(self, ran: &AsItRan, number: u32) -> Self {
        let beside = vec![ran.remark(number)];
        Self { beside, ..self.on(Some(SetupName::Number(number))) }
    }

    /// What looks like a slip; `dated_by_clock` where the clock dates it.
    pub fn slips(
        &mut self,
        book: &Book<'_>,
        (dated_by_clock, now, units): (bool, When, Units),
    ) -> Result<Vec<Slip>, StoreError> {
        // Who named the jobs that were not done has said what was on it.
        if !self.is_said && is_setup_doubted(book, &self.bike, self.outing.date)? {
            self.outing.doubted.push(Doubted::Setup);
        }
        let setup = match &self.setup {
            Some(name) => book.resolve(&self.bike, name)?.map(|setup| setup.number),
            None => book.setup_at(&self.bike, self.outing.date)?,
        };
        let (id, file) = (String::new(), PathBuf::new());
        let (bike, outing, cylinders) = (self.bike.clone(), self.outing.clone(), Vec::new());
        let record = OutingRecord { bike, id, file, outing, setup, cylinders };
        let mut slips =
            crate::advice::slips::of_outing(book, TypedOuting { record: &record, dated_by_clock, units })?;
        slips.extend(crate::advice::slips::long_ago(&self.outing, now));
        slips.extend(crate::advice::slips::ahead(&self.outing, now));
        if dated_by_clock {
            slips.extend(crate::advice::slips::of_clock(book, now)?);
        }
        Ok(slips)
    }

    /// What of it is doubted already.
    pub fn doubted(&self) -> &[Doubted] {
        &self.outing.doubted
    }

    /// Records it, with its dyno curve where it has one, and finds what follows.
    pub fn log(self, garage: &Garage, dyno: Option<String>, moment: &Moment) -> Result<Noted, Trouble> {
        let Self { bike, outing, setup, taken, open, without, beside, .. } = self;
        let open = open.filter(|_| setup.is_none() || without.setup.is_some());
        let new = NewOuting { bike, outing, setup, dyno };
        let logged = log(garage, &new, moment)?;
        let mut remarks = beside;
        remarks.extend(all_worded(&logged.remarks));
        remarks.extend(without.take_back(garage, logged.record.outing.date, moment)?);
        let (mut stops, mut is_held) = (Vec::new(), false);
        let book = Book::open(garage)?;
        if let Some(ran) = &logged.setup {
            let date = logged.record.outing.date;
            // An older setup had it rightly.
            if book.latest(&new.bike)?.is_some_and(|latest| latest.id == ran.id) {
                remarks.extend(standing::engine_elsewhere(&book, ran)?.iter().map(worded));
            }
            if let Some(engine) = ran.engine.as_deref() {
                let (stop, known) = building::before_it_runs(&book, engine, date)?;
                stops.extend(stop);
                remarks.extend(known);
            }
            let whole = book.combination(&ran.bike, Some(ran))?;
            let seized = engine_seized_elsewhere(&book, &ran.bike, &whole.fields).unwrap_or_default();
            stops.extend(seized.map(|sentence| sentence.without_commands()));
            // What cannot be read is said where it is asked for, and nobody is to vouch for it meanwhile.
            is_held = standing::held_at_full(&book, ran).map_or(true, |held| held.is_some());
            // A run that says nothing of a throttle does not take back what an earlier one said of it.
            let below = standing::held_below_full(&book, ran);
            is_held |= below.as_ref().map_or(true, |held| !held.is_empty());
            let earlier = below.into_iter().flatten().filter(|held| held.run != logged.record.id);
            stops.extend(earlier.filter(|held| held.is_grave).map(|held| held.sentence));
            let engine = ran.engine.as_deref();
            let stop = engine.map(|engine| building::not_to_be_run(&book, engine, date)).transpose()?;
            is_held |= stop.flatten().is_some();
        }
        for broken in book.broken_jobs()? {
            remarks.extend(broken.findings.lines().map(str::to_owned));
        }
        let is_last = book.outing(&new.bike, "last")?.id == logged.record.id;
        let which = if is_last { "last" } else { &logged.record.id };
        remarks.extend(no_kept_air(&taken, (&new.bike, which), (&logged.record.outing, moment.now)));
        let before = Outing { cause: None, mended: None, ..logged.record.outing.clone() };
        remarks.extend(all_worded(&closing::remarks(&before, &logged.record.outing)));
        let own = OwnNames::of_garage(garage);
        Ok(Noted { bike: new.bike, logged, remarks, taken, open, is_last, own, stops, is_held })
    }
}

/// A run that was recorded.
pub struct Noted {
    bike: String,
    /// As it was recorded.
    pub logged: Logged,
    /// What else should be known.
    remarks: Vec<String>,
    taken: Taken,
    open: Option<OpenThen>,
    is_last: bool,
    /// Names of the garage that stand for the piston in a note.
    own: OwnNames,
    /// What forbids to run it on.
    stops: Vec<String>,
    /// Whether nobody is to vouch for it: a run before it still holds a throttle, or its engine is not to be run.
    is_held: bool,
}

impl Noted {
    /// The answer.
    pub fn answer(&self) -> OutingWritten<'_> {
        let open = self.open.as_ref().map(|open| (&open.jobs, open.on_it.as_ref()));
        OutingWritten::new(&self.bike, &self.logged.record, &self.remarks)
            .among(self.own.clone())
            .with_what_was_taken(&self.taken.names, &self.taken.air)
            .with_jobs(open, self.is_last)
            .warned(self.open.as_ref().map_or(&[], |open| &open.cautions))
            .stopped_by(&self.stops, self.is_held)
    }
}

/// Takes what was not typed from what the day knows: the place, the session, and the air that was kept there.
fn take(book: &Book<'_>, outing: &mut Outing, taken: &mut Taken) -> Result<(), Trouble> {
    if outing.place.is_none() && outing.kind != OutingKind::Dyno {
        outing.place = today::place_of_the_day(book, outing.date)?;
        taken.names.extend(outing.place.is_some().then_some("place"));
    }
    // A dyno's room has an air of its own.
    let Some(place) = outing.place.as_ref().filter(|_| outing.kind != OutingKind::Dyno) else {
        return Ok(());
    };
    if outing.session.is_none() {
        outing.session = today::session_of_the_day(book, place, outing.date)?;
        taken.names.extend(outing.session.is_some().then_some("session"));
    }
    taken.air = served(book, outing.air.take(), Some(place), outing.date)?;
    outing.air.clone_from(&taken.air.entry);
    Ok(())
}

/// What is still open by the book; none where nothing is.
fn open_jobs(book: &Book<'_>, bike: &str, date: When) -> Result<Option<OpenThen>, Trouble> {
    let jobs = book.jobs_at(bike, date)?;
    if jobs.open().next().is_none() {
        return Ok(None);
    }
    Ok(Some(OpenThen { on_it: book.really_on(&jobs)?, cautions: standing::of_jobs(book, &jobs)?, jobs }))
}

/// Why it has no air, where one was kept today; and how an air is added to a run that has no place either.
fn no_kept_air(taken: &Taken, (bike, which): (&str, &str), (outing, now): (&Outing, When)) -> Vec<String> {
    if taken.air.entry.is_some() || outing.air.is_some() {
        return Vec::new();
    }
    let add = |what: &str, change| {
        let mend = Command::MendOuting(bike.to_owned(), which.to_owned(), change);
        worded(&(Guidance::from(what) + mend))
    };
    let refused = taken.air.refused.as_ref().filter(|refused| refused.of_the_day);
    let refused =
        refused.map(|refused| add(&format!("{} Give this run its own: ", refused.words), OutingChange::Air));
    let today = outing.date.day() == now.day();
    let nowhere = today && outing.place.is_none() && outing.kind != OutingKind::Dyno && refused.is_none();
    let nowhere =
        nowhere.then(|| add("No place was named today. Add it, with the air: ", OutingChange::PlaceAndAir));
    refused.into_iter().chain(nowhere).chain(taken.air.unreadable.iter().map(ToString::to_string)).collect()
}
