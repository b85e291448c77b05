//! `proven`: vouching for a setup.

use clap::Args;

use super::options::air::AirOptions;
use crate::advice::combined::combined_never_run;
use crate::advice::held::{self, StillHeld};
use crate::advice::learning::{Sign, lean_sign};
use crate::advice::slips;
use crate::advice::{building, standing};
use crate::commands::desk::Desk;
use crate::notebook::fields::names::visible;
use crate::notebook::{Mixture, When};
use crate::report::history::questioned::settle;
use crate::report::history::setups::proven::ProvenAnswer;
use crate::report::{Trouble, worded};
use crate::store::{
    BikeJobs, Book, Garage, OutingRecord, ProvenRequest, SetupName, SetupRecord, mark,
    outings_edited_by_hand, require_every_outing, withdraw,
};

/// Mark a setup as proven, with the air it was proven in
#[derive(Debug, Clone, Args)]
pub(super) struct Proven {
    /// The bike; otherwise the last one of the day
    #[arg(default_value = "", hide_default_value = true)]
    bike: String,
    /// The setup
    #[arg(default_value = "latest")]
    setup: SetupName,
    /// Why you vouch for it
    #[arg(long, short)]
    why: Option<String>,
    /// When, if not now
    #[arg(long)]
    date: Option<String>,
    /// Take the mark back
    #[arg(long)]
    withdraw: bool,
    /// It is right, go on
    #[arg(long)]
    sure: bool,
    #[command(flatten)]
    air: AirOptions,
}

impl Proven {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let named = Self { bike: desk.bike_meant(&garage, &self.bike)?, ..self.clone() };
        named.record(desk, &garage)
    }

    fn record(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        if self.withdraw {
            let setup = withdraw(garage, &self.bike, &self.setup, &desk.moment)?;
            let answer = ProvenAnswer::withdrawn(&self.bike, setup.number);
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        }
        let request = ProvenRequest {
            bike: self.bike.clone(),
            setup: self.setup.clone(),
            why: self.why.clone(),
            air: self.air.entry(garage.is_imperial())?,
            date: self.date.as_deref().map(|text| When::parse(text, desk.moment.now.offset())).transpose()?,
        };
        let book = Book::open(garage)?;
        if let Some(air) = &request.air {
            let date = request.date.unwrap_or(desk.moment.now);
            let asked = slips::of_air(&book, &self.bike, air, (date, desk.screen().units()))?;
            settle(&asked, self.sure, None)?;
        }
        // One that is not read may have been a lean one.
        require_every_outing(&book, &self.bike)?;
        self.refuse_what_seized(&book)?;
        self.refuse_what_never_ran(&book)?;
        let held = self.refuse_what_was_lean(&book, request.date.unwrap_or(desk.moment.now))?;
        let marked = book.recorded(&self.bike, &self.setup)?;
        let before = garage.bike(&self.bike)?.proven.remove(&marked.id);
        let before = before.map(|mark| {
            let why = mark.why.map(|why| format!(" (\"{}\")", visible(&why))).unwrap_or_default();
            format!("It was marked before, on {}{why}: this mark stands in its place.", mark.date.day())
        });
        let edited = outings_edited_by_hand(garage, &self.bike)?.map(|said| format!("{said}."));
        let (setup, air) = mark(garage, &request, &desk.moment)?;
        let book = Book::open(garage)?;
        let mut remark = standing::not_right(&book, &self.bike, &setup)?;
        if remark.is_none() && !crate::advice::foundation::has_run_right(&book, &setup)? {
            let without_air = right_without_air(&book, &setup)?;
            remark = Some(match without_air {
                Some(run) => format!(
                    "Its run of {} was right, and no air is written down for it: `reedbook outing edit {} {} --temp … --baro … --humidity …` adds it.",
                    run.outing.date.short(),
                    run.bike,
                    run.id
                ),
                None => format!(
                    "No outing of setup {} was judged right at full throttle: it is marked on your word alone.",
                    setup.number
                ),
            });
        }
        let open = open_at(&book, &self.bike, setup.number)?;
        let outings = book.outings(&self.bike)?;
        let last = outings.iter().rev().find(|run| run.setup == Some(setup.number));
        let since = standing::mended_and_not_run(&book, &setup)?;
        let looks_lean = last.and_then(|run| held::contradicted(&run.outing));
        let remark = edited
            .into_iter()
            .chain(looks_lean)
            .chain(since)
            .chain(remark)
            .chain(open)
            .chain(before)
            .reduce(|one, other| format!("{one} {other}"));
        let answer = ProvenAnswer::set(&self.bike, setup.number, air.as_ref(), remark).despite(held);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// Refuses a setup that was put together of two sides' and that nobody ran, unless it is said once more.
    fn refuse_what_never_ran(&self, book: &Book<'_>) -> Result<(), Trouble> {
        let setup = book.recorded(&self.bike, &self.setup)?;
        match combined_never_run(book, &setup)?.filter(|_| !self.sure) {
            None => Ok(()),
            Some(why) => Err(Trouble::request(
                Some("setup"),
                worded(&why),
                "Log how it ran, then mark it. On your word alone: the same with --sure.",
            )),
        }
    }

    /// Refuses a setup whose own lean run still holds a throttle, unless it is said once more; gives what holds it, by whichever run, and
    /// what forbids to run its engine.
    fn refuse_what_was_lean(&self, book: &Book<'_>, now: When) -> Result<Vec<String>, Trouble> {
        let setup = book.recorded(&self.bike, &self.setup)?;
        let whole = book.combination(&self.bike, Some(&setup))?;
        let seized = held::engine_seized_elsewhere(book, &self.bike, &whole.fields)?;
        if let Some(seized) = seized.filter(|_| !self.sure) {
            return Err(Trouble::request(
                Some("setup"),
                format!("Setup {} is not proven. {}", setup.number, worded(&seized)),
                "On your word alone: the same with --sure.",
            ));
        }
        let full = standing::held_at_full(book, &setup)?;
        let below = standing::held_below_full(book, &setup)?;
        // One sentence tells of all throttles of a run.
        let below = below.into_iter().filter(|held| full.as_ref().is_none_or(|full| full.run != held.run));
        let held: Vec<StillHeld> = full.iter().cloned().chain(below).collect();
        if let Some(grave) = held.iter().find(|held| held.is_grave && !self.sure) {
            let is_last = grave.bike == self.bike && book.outing(&self.bike, "last")?.id == grave.run;
            let run = if is_last { "last" } else { &grave.run };
            return Err(Trouble::request(
                Some("setup"),
                format!("Setup {} is not proven. {}", setup.number, grave.sentence),
                format!(
                    "Run it on more until that is right, or write down what it was: `reedbook outing edit {} {run} --cause \"…\" --fixed \"…\"`. On your word alone: the same with --sure.",
                    visible(&grave.bike)
                ),
            ));
        }
        let engine = setup.engine.as_deref();
        let stop = engine.map(|engine| building::not_to_be_run(book, engine, now)).transpose()?.flatten();
        Ok(stop.into_iter().chain(held.into_iter().map(|held| held.sentence)).collect())
    }

    /// Refuses a setup whose newest run seized, with no cause found since.
    fn refuse_what_seized(&self, book: &Book<'_>) -> Result<(), Trouble> {
        let setup = book.recorded(&self.bike, &self.setup)?;
        let outings = book.outings(&self.bike)?;
        let last = outings.iter().rev().find(|record| record.setup == Some(setup.number));
        let seized = last.and_then(|record| {
            let mut each = record.outing.at_each_cylinder().into_iter();
            let sign = each.find_map(|(_, outing)| lean_sign(&outing).filter(Sign::is_seizure))?;
            (!record.outing.is_closed()).then_some((record, sign))
        });
        let Some((record, sign)) = seized else {
            return Ok(());
        };
        let (bike, id) = (&self.bike, &record.id);
        Err(Trouble::request(
            Some("setup"),
            format!(
                "The last run of setup {} seized (\"{}\", {}): it is not proven.",
                setup.number,
                visible(sign.word()),
                record.outing.date.short()
            ),
            format!(
                "Once the cause is found and fixed write it down: `reedbook outing edit {bike} {id} --cause \"…\" --fixed \"…\"`; if it was not the engine: --cause \"not the engine\"; if the words are a slip, fix the notes with the same command."
            ),
        ))
    }
}

/// The newest run of a setup that was right at full throttle and has no air.
fn right_without_air(book: &Book<'_>, setup: &SetupRecord) -> Result<Option<OutingRecord>, Trouble> {
    let right = |run: &OutingRecord| {
        let full = run.outing.verdict.as_ref().and_then(|verdict| verdict.full);
        run.setup == Some(setup.number) && full == Some(Mixture::Right) && run.outing.air.is_none()
    };
    Ok(book.outings(&setup.bike)?.into_iter().rfind(right))
}

/// What is still to be done before a setup is on the bike: whoever vouches for it may mean what is on it now.
fn open_at(book: &Book<'_>, bike: &str, setup: u32) -> Result<Option<String>, Trouble> {
    let jobs = book.open_jobs()?.into_iter().find(|jobs| jobs.bike == bike && jobs.setup == Some(setup));
    let what: Vec<String> = jobs.iter().flat_map(BikeJobs::open).map(|job| visible(&job.item.what)).collect();
    Ok((!what.is_empty()).then(|| {
        format!(
            "Not all of setup {setup} is on the bike ({}): if what is on it was right, mark the setup that ran.",
            what.join("; ")
        )
    }))
}
