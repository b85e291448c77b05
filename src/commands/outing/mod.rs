//! `outing`: logging, mending, listing and showing outings, and taking in a session sheet.

mod import;

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use crate::advice::runs::{FittedIn, Run};
use crate::advice::slips::{self, Typed};
use crate::advice::{building, closing};
use crate::commands::Desk;
use crate::commands::order_options::OrderOptions;
use crate::commands::outing_options::{DoubtedPart, OutingOptions};
use crate::machine;
use crate::notebook::maps::dyno::Curve;
use crate::notebook::{Outing, OutingKind, When};
use crate::quantity::Units;
use crate::report::history::jobs::without_them;
use crate::report::history::outing::{OutingList, OutingPage, OutingRemoved, OutingWritten};
use crate::report::history::questioned;
use crate::report::{Answer, Trouble};
use crate::store::{
    BikeJobs, Book, Garage, HandEdit, Mend, NewOuting, OutingRecord, SetupName, SetupRecord, log, mend,
    missing_remark, outing_to_mend, preview_outing, remove_outing,
};

/// Log an outing, mend one, list or show them
#[derive(Debug, Args)]
pub(super) struct OutingCommand {
    #[command(subcommand)]
    act: Act,
}

#[derive(Debug, Subcommand)]
enum Act {
    /// Log an outing: it fits on one line typed between two sessions
    Add(Add),
    /// Mend a slip, or take in an outing edited by hand
    Edit(Edit),
    /// Take out one that was logged twice or is of another bike; git keeps it
    Remove {
        /// The bike
        bike: String,
        /// The outing's id, or its first characters (three or more), or `last`
        outing: String,
        /// Why
        #[arg(long, short)]
        why: Option<String>,
    },
    /// A bike's outings in a table, newest first; -v has ids, plugs and notes
    List {
        /// The bike
        bike: String,
        #[command(flatten)]
        order: OrderOptions,
    },
    /// Log the runs of a session sheet typed as CSV; all of them or none
    Import(import::Import),
    /// Show everything that is known of one outing
    Show {
        /// The bike
        bike: String,
        /// The outing's id, or its first characters (three or more), or `last`
        #[arg(default_value = "last")]
        outing: String,
    },
}

#[derive(Debug, Args)]
struct Add {
    /// The bike
    bike: String,
    /// The setup it ran, if not the newest
    #[arg(long)]
    setup: Option<SetupName>,
    /// A dyno curve: a CSV file with "rpm,power (kW)" or "rpm,torque (Nm)" as its first line
    #[arg(long, value_name = "FILE")]
    dyno: Option<PathBuf>,
    /// Open it in your editor afterwards, for longer notes
    #[arg(long)]
    edit: bool,
    #[command(flatten)]
    said: OutingOptions,
}

#[derive(Debug, Args)]
struct Edit {
    /// The bike
    bike: String,
    /// The outing's id, or its first characters (three or more), or `last`
    #[arg(value_name = "OUTING")]
    which: String,
    /// The setup it ran
    #[arg(long)]
    setup: Option<SetupName>,
    /// Take a field out, like plug or verdict.half
    #[arg(long, value_name = "FIELD")]
    remove: Vec<String>,
    /// Take the doubt off its air or its hours: they are right as they stand
    #[arg(long, value_name = "WHAT")]
    confirm: Vec<DoubtedPart>,
    /// Open it in your editor
    #[arg(long = "edit")]
    in_editor: bool,
    #[command(flatten)]
    said: OutingOptions,
}

impl OutingCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            Act::Add(add) => add.run(desk, &garage),
            Act::Edit(edit) => edit.run(desk, &garage),
            Act::Remove { bike, outing, why } => remove(desk, &garage, (bike, outing), why.as_deref()),
            Act::List { bike, order } => list(desk, &garage, bike, order),
            Act::Import(import) => import.run(desk, &garage),
            Act::Show { bike, outing } => show(desk, &garage, bike, outing),
        }
    }
}

impl Add {
    fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        if self.edit {
            crate::commands::require_editor()?;
        }
        let mut table = self.said.table(desk, garage.is_imperial())?;
        table.entry("date").or_insert_with(|| desk.moment.now.to_string().into());
        let mut outing: Outing = table.try_into().map_err(|error| {
            Trouble::request(
                None,
                format!("{error}."),
                "`reedbook outing add --help` shows what can be said.",
            )
        })?;
        outing.doubted = self.said.doubted();
        if outing.place.is_none() && outing.kind != OutingKind::Dyno {
            outing.place = place_of_the_day(garage, outing.date)?;
        }
        let dyno = self.dyno.as_deref().map(read_text).transpose()?;
        garage.require_bike(&self.bike)?;
        let open = self.open_jobs(garage, outing.date)?;
        let setup = self.ran_without(desk, open.as_ref())?.or_else(|| self.setup.clone());
        self.ask(desk, garage, (&outing, setup.as_ref()))?;
        let open = open.filter(|_| setup.is_none());
        let new = NewOuting { bike: self.bike.clone(), outing, setup, dyno };
        let mut logged = log(garage, &new, &desk.moment)?;
        if let Some(engine) = logged.setup.as_ref().and_then(|setup| setup.engine.as_deref()) {
            let book = Book::open(garage)?;
            let date = logged.record.outing.date;
            logged.remarks.extend(building::remarks_after_outing(&book, engine, date)?);
        }
        let before = Outing { cause: None, mended: None, ..logged.record.outing.clone() };
        logged.remarks.extend(closing::remarks(&before, &logged.record.outing));
        if self.edit {
            logged.record = edit_by_hand(garage, &logged.record, desk)?;
        }
        let is_last =
            |book: &Book<'_>| Ok::<_, Trouble>(book.outing(&self.bike, "last")?.id == logged.record.id);
        let last = is_last(&Book::open(garage)?)?;
        let answer = OutingWritten::new(&self.bike, &logged.record, &logged.remarks)
            .with_jobs(open.as_ref().map(|open| (&open.jobs, open.on_it.as_ref())), last);
        desk.screen().answer(&answer, || answer.logged(&desk.screen()))
    }
}

/// Jobs that are open when an outing is logged, and the setup that the bike really had on it.
struct OpenThen {
    jobs: BikeJobs,
    on_it: Option<SetupRecord>,
}

impl Add {
    /// What is still open by the book; none where nothing is, or where it was said which setup it ran.
    fn open_jobs(&self, garage: &Garage, date: When) -> Result<Option<OpenThen>, Trouble> {
        if self.setup.is_some() {
            return Ok(None);
        }
        let book = Book::open(garage)?;
        let jobs = book.jobs_at(&self.bike, date)?;
        if jobs.open().next().is_none() {
            return Ok(None);
        }
        Ok(Some(OpenThen { on_it: book.really_on(&jobs)?, jobs }))
    }

    /// Asks at a terminal whether it ran without what is still open: then it ran the setup that was on it.
    fn ran_without(&self, desk: &Desk, open: Option<&OpenThen>) -> Result<Option<SetupName>, Trouble> {
        let Some(open) = open.filter(|_| desk.screen().can_ask()) else { return Ok(None) };
        let Some(number) = open.on_it.as_ref().map(|setup| setup.number) else { return Ok(None) };
        if Some(number) == open.jobs.setup {
            return Ok(None);
        }
        let question = without_them(&open.jobs, number);
        let without = matches!(desk.screen().ask(&question)?, Answer::Said(said) if said.to_lowercase().starts_with('y'));
        Ok(without.then_some(SetupName::Number(number)))
    }
}

impl Add {
    /// Asks of what looks like a slip, before anything is recorded.
    fn ask(
        &self,
        desk: &Desk,
        garage: &Garage,
        (outing, setup): (&Outing, Option<&SetupName>),
    ) -> Result<(), Trouble> {
        let book = Book::open(garage)?;
        let setup = match setup {
            Some(name) => book.resolve(&self.bike, name)?.map(|setup| setup.number),
            None => book.setup_at(&self.bike, outing.date)?,
        };
        let record = OutingRecord {
            bike: self.bike.clone(),
            id: String::new(),
            file: PathBuf::new(),
            outing: outing.clone(),
            setup,
        };
        let dated_by_clock = self.said.date(desk)?.is_none();
        let typed = Typed { record: &record, dated_by_clock, units: desk.screen().units() };
        questioned::settle(&slips::of_outing(&book, typed)?, self.said.sure, Some(&outing.doubted))
    }
}

/// Where a bike of this garage was last logged on the same day: nobody types that twice.
fn place_of_the_day(garage: &Garage, date: When) -> Result<Option<String>, Trouble> {
    let book = Book::open(garage)?;
    let mut last: Option<(When, String)> = None;
    for bike in garage.bikes() {
        let of_day = book.outings(&bike)?.into_iter().filter(|record| record.outing.date.day() == date.day());
        let placed = of_day.filter_map(|record| Some((record.outing.date, record.outing.place?)));
        last = last.into_iter().chain(placed).max_by_key(|(date, _)| date.unix());
    }
    Ok(last.map(|(_, place)| place))
}

impl Edit {
    fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let (record, remarks) = if self.in_editor {
            crate::commands::require_editor()?;
            let known = Book::open(garage)?.outing_to_write(&self.bike, &self.which)?;
            (edit_by_hand(garage, &known, desk)?, Vec::new())
        } else {
            let mut wanted = Mend {
                set: self.said.table(desk, garage.is_imperial())?,
                remove: self.remove.clone(),
                setup: self.setup.clone(),
                doubt: self.said.doubted(),
                confirm: self.confirm.iter().map(|part| (*part).into()).collect(),
            };
            let known = outing_to_mend(&Book::open(garage)?, &self.bike, &self.which)?;
            wanted.confirm.extend(closing::corrected(&known.outing, &wanted));
            self.ask(garage, &known, &wanted, desk.screen().units())?;
            let record = mend(garage, &self.bike, &self.which, &wanted, &desk.moment)?;
            let remarks = closing::remarks(&known.outing, &record.outing);
            (record, remarks)
        };
        let answer = OutingWritten::new(&self.bike, &record, &remarks);
        desk.screen().answer(&answer, || answer.mended(&desk.screen()))
    }

    /// Asks of what is said now and looks like a slip.
    fn ask(&self, garage: &Garage, known: &OutingRecord, wanted: &Mend, units: Units) -> Result<(), Trouble> {
        let book = Book::open(garage)?;
        let then = preview_outing(&book, known, wanted)?;
        let typed = Typed { record: &then, dated_by_clock: false, units };
        let mut found = slips::of_outing(&book, typed)?;
        found.retain(|slip| slip.is_of(&wanted.set));
        questioned::settle(&found, self.said.sure, Some(&then.outing.doubted))
    }
}

fn remove(
    desk: &Desk,
    garage: &Garage,
    (bike, outing): (&str, &str),
    why: Option<&str>,
) -> Result<(), Trouble> {
    let removed = remove_outing(garage, bike, outing, why, &desk.moment)?;
    let answer = OutingRemoved::new(bike, &removed);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

/// Opens an outing in the user's editor and takes in what was changed.
fn edit_by_hand(garage: &Garage, record: &OutingRecord, desk: &Desk) -> Result<OutingRecord, Trouble> {
    let edit = HandEdit::begin(garage, vec![record.file.clone()])?;
    let places = edit.places(garage)?;
    machine::edit(&places).map_err(|error| Trouble::file("Cannot edit", &record.file, &error))?;
    edit.settle(garage, &desk.moment)?;
    match mend(garage, &record.bike, &record.id, &Mend::default(), &desk.moment) {
        Err(crate::store::StoreError::NothingChanged { .. }) => Ok(record.clone()),
        other => Ok(other?),
    }
}

fn read_text(path: &Path) -> Result<String, Trouble> {
    std::fs::read_to_string(path).map_err(|error| Trouble::file("Cannot read", path, &error))
}

fn list(desk: &Desk, garage: &Garage, bike: &str, order: &OrderOptions) -> Result<(), Trouble> {
    garage.require_bike(bike)?;
    let book = Book::open(garage)?;
    let records = book.outings(bike)?;
    let broken = book.broken_outings(bike)?;
    let unreadable = broken.into_iter().map(|file| file.findings).chain(missing_remark(garage, bike)?);
    let fitted = FittedIn::of(&book, records.iter())?;
    let mut runs: Vec<Run<'_>> =
        records.iter().rev().map(|record| Run { record, fitted: fitted.in_run(record) }).collect();
    order.sort(&mut runs, |run| Some(*run));
    let answer = OutingList::new(bike, &runs, order.column(), unreadable.collect());
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

fn show(desk: &Desk, garage: &Garage, bike: &str, outing: &str) -> Result<(), Trouble> {
    garage.require_bike(bike)?;
    let book = Book::open(garage)?;
    let record = book.outing(bike, outing)?;
    let tied = if outing == "last" { book.of_the_same_minute(&record)? } else { Vec::new() };
    let curve = match (&record.outing.dyno, record.file.parent()) {
        (Some(name), Some(folder)) if !name.contains(['/', '\\']) => garage.read(&folder.join(name))?,
        _ => None,
    };
    let curve = curve.and_then(|bytes| Curve::parse(&String::from_utf8_lossy(&bytes)).ok());
    let answer = OutingPage::new(&record, curve.as_ref(), &tied);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}
