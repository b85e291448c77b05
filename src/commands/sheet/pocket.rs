//! `sheet pocket`: all bikes on one page, for a phone without a network.

use std::path::PathBuf;

use clap::Args;

use crate::advice::asking::{Question, Terms};
use crate::advice::building::first_to_change;
use crate::advice::conditions::asked::AskedOfAir;
use crate::advice::conditions::kept::Served;
use crate::advice::now::{Glance, glance};
use crate::advice::parts::{Counted, Ledger, bores, to_take};
use crate::advice::slips::AirBeside;
use crate::commands::desk::Desk;
use crate::commands::sheet::file::{bikes_meant, write};
use crate::report::all_worded;
use crate::report::history::now::NowAnswer;
use crate::report::jetting::first::before::require_the_same_injection;
use crate::report::page::pocket::{BikeWants, Pocket, PocketAnswer, PocketBike};
use crate::report::parts::due::PartDueAnswer;
use crate::report::{Screen, Trouble};
use crate::store::{self, Book, OutingRecord};

/// Outings of a bike on the page.
const LAST: usize = 10;

/// The page is read later than it is made, by more than the two hours for which a temperature read before bears one out, min.
const LATER: i64 = 180;

/// A place that nobody has written down.
const NO_PLACE: &str = "a place not written down";

/// All bikes on one page for a phone without a network
///
/// What any air wants, as `rejet` says it, jobs to tick, an outing to log. What is noted on it is sent as a file and comes back
/// with `reedbook outing import FILE`. The page knows what the garage knew when it was made; make a new one each day.
#[derive(Debug, Args)]
pub(super) struct PocketSheet {
    /// The bikes; all that are not retired where none is named
    bikes: Vec<String>,
    /// The file; otherwise pocket.html in the current folder
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

impl PocketSheet {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let now = desk.moment.now;
        let counted = Counted::of(&garage, now)?;
        let names = bikes_meant(&garage, &counted, (&self.bikes, "page"))?;
        let Some(first) = garage.repository().first_commit()? else {
            return Err(Trouble::request(
                None,
                "Nothing is recorded in this garage yet: what is noted on a page could not come back.",
                "Record a first setup: `reedbook change BIKE --why \"…\"`.",
            ));
        };
        let book = Book::open(&garage)?;
        let ledger = counted.ledger(None);
        let jobs = book.open_jobs()?;
        let look = |bike: &String| glance(&book, bike, (&ledger, &counted.parts, &jobs), now);
        let glances = names.iter().map(look).collect::<Result<Vec<_>, _>>()?;
        let served = Served::default();
        let screen = desk.screen();
        let (progress, mut bikes) = (screen.progress(), Vec::new());
        for (number, one) in glances.iter().enumerate() {
            progress.to(&one.bike, number, glances.len());
            bikes.push(page_of(&book, one, (&counted, &ledger), &served, desk)?);
        }
        drop(progress);
        let then = (now.minutes_later(LATER), screen.units());
        let mut places = Vec::new();
        for place in store::places(&garage)?.0 {
            let asked = AskedOfAir::of(&AirBeside::at(&book, place.title(), then)?);
            places.push((place, asked));
        }
        let pocket = Pocket {
            garage: first.to_string(),
            name: garage.document().name.clone(),
            made: now,
            places,
            elsewhere: AskedOfAir::of(&AirBeside::at(&book, NO_PLACE, then)?),
            bikes,
            once: format!(
                "{}{}",
                desk.moment.new_id("what the page runs"),
                desk.moment.new_id("and how it looks")
            ),
        };
        let file = self.to.clone().unwrap_or_else(|| PathBuf::from("pocket.html"));
        let page = pocket.html(&screen);
        write(&file, &page)?;
        let answer = PocketAnswer::of(&pocket, &file, page.len());
        screen.answer(&answer, || answer.text(&screen))
    }
}

/// A bike as it stands on the page.
fn page_of<'a>(
    book: &Book<'_>,
    one: &'a Glance,
    (counted, ledger): (&Counted, &Ledger<'_>),
    served: &'a Served,
    desk: &Desk,
) -> Result<PocketBike<'a>, Trouble> {
    let bike = one.bike.as_str();
    let due = ledger.due(&counted.parts, Some(bike));
    let taking = to_take(&due, &ledger.shelf(&counted.parts), &bores(book.garage())?);
    let outings: Vec<OutingRecord> = book.outings(bike)?.into_iter().rev().take(LAST).collect();
    Ok(PocketBike {
        bike,
        setup: one.setup.clone(),
        now: NowAnswer::of(std::slice::from_ref(one), true, served),
        jobs: &one.jobs,
        outings,
        due: PartDueAnswer::new(&due, &taking, (false, false), all_worded(&counted.remarks(Some(bike))))
            .with_seized(&counted.seized(book, Some(bike))?),
        wants: wants(book, bike, desk)?,
        cylinders: book.combination(bike, None)?.fields.cylinders(),
        asked: AskedOfAir::of(&AirBeside::where_it_runs(
            book,
            bike,
            (desk.moment.now.minutes_later(LATER), desk.screen().units()),
        )?),
    })
}

/// What a bike wants, each of several cylinders for itself; what is over its limit is said at the first.
fn wants(book: &Book<'_>, bike: &str, desk: &Desk) -> Result<Vec<BikeWants>, Trouble> {
    let fields = &book.combination(bike, None)?.fields;
    let engine = fields.text("engine");
    let overdue = engine.map(|engine| first_to_change(book, engine, desk.moment.now)).transpose()?.flatten();
    let names = fields.jetted();
    if names.is_empty() {
        return Ok(vec![wanted((None, book), (bike, overdue.as_deref()), desk)?]);
    }
    let first = |at: usize| overdue.as_deref().filter(|_| at == 0);
    let each = names.iter().enumerate();
    each.map(|(at, (name, asked))| wanted((Some(name), &book.for_cylinder(asked)), (bike, first(at)), desk))
        .collect()
}

fn wanted(
    (name, book): (Option<&str>, &Book<'_>),
    (bike, overdue): (&str, Option<&str>),
    desk: &Desk,
) -> Result<BikeWants, Trouble> {
    let screen: Screen = desk.screen();
    let question = Question::ask(book, bike, &Terms::default(), desk.moment.now).map_err(Trouble::from);
    let question = question.and_then(|question| {
        require_the_same_injection(&question, None)?;
        Ok(question)
    });
    let asked = question.as_ref().map(|question| (question, overdue)).map_err(Clone::clone);
    BikeWants::of(name, asked, &screen)
}
