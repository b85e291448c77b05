//! `sheet`: pages for print, to read at the bike and to fill in with a pen.

mod bike;
mod build;
mod card;
mod file;
mod pocket;
mod van;

use std::io;
use std::path::PathBuf;

use clap::{Args, Subcommand};

use self::bike::BikeSheet;
use self::build::EngineSheet;
use self::card::LidCard;
use self::pocket::PocketSheet;
use self::van::VanList;
use crate::advice::parts::Counted;
use crate::advice::runs::OnTheBike;
use crate::commands::desk::Desk;
use crate::commands::sheet::file::write;
use crate::notebook::When;
use crate::report::Trouble;
use crate::report::history::outing::sheet::{SessionSheetAnswer, SheetPage};
use crate::report::page::session::session;
use crate::report::page::written::PageAnswer;
use crate::store::Book;

/// Pages for print and phone: bike, build, card, session
///
/// Each is one HTML file that any browser opens, without a network. That of a bike has what is on it and still to do, what today's air
/// wants, spark, ports, package, jets and season drawn, what is due, and the cautions.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, arg_required_else_help = true)]
pub(super) struct SheetCommand {
    #[command(flatten)]
    bike: BikeSheet,
    #[command(subcommand)]
    act: Option<SheetAct>,
}

#[derive(Debug, Subcommand)]
enum SheetAct {
    /// A page for the runs of a weekend
    Session(Session),
    Pocket(PocketSheet),
    Build(EngineSheet),
    Card(LidCard),
    Van(VanList),
}

/// A page for the runs of a weekend
///
/// `--to FILE` writes it to be printed from a browser, a page a bike. Fill it in, and type it into the CSV of the same columns: `reedbook
/// outing import FILE` logs it.
#[derive(Debug, Args)]
struct Session {
    /// The bikes; all that are not retired where none is named
    bikes: Vec<String>,
    /// How many runs it has room for
    #[arg(long, value_name = "NUMBER", default_value_t = 8, value_parser = clap::value_parser!(u16).range(1..=200))]
    lines: u16,
    /// Where, filled in already
    #[arg(long, short)]
    place: Option<String>,
    /// The day, filled in already
    #[arg(long)]
    date: Option<String>,
    /// The columns as CSV, to be typed in
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Into a file: HTML to print, or with --csv the CSV
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
    /// For A5
    #[arg(long, requires = "to")]
    small: bool,
}

impl SheetCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        match &self.act {
            Some(SheetAct::Session(session)) => session.run(desk),
            Some(SheetAct::Pocket(pocket)) => pocket.run(desk),
            Some(SheetAct::Build(build)) => build.run(desk),
            Some(SheetAct::Card(card)) => card.run(desk),
            Some(SheetAct::Van(van)) => van.run(desk),
            None => self.bike.run(desk),
        }
    }
}

impl Session {
    fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        let bikes = if self.bikes.is_empty() {
            Counted::of(&garage, desk.moment.now)?.in_use(&garage)
        } else {
            self.bikes.clone()
        };
        let page = |bike: &String| -> Result<SheetPage, Trouble> {
            garage.require_bike(bike)?;
            let cylinders = book.combination(bike, None)?.fields.cylinders();
            let jobs = book.open_jobs_of(bike)?;
            Ok(SheetPage::of(bike, (&OnTheBike::now(&book, bike, &jobs)?, &jobs), cylinders))
        };
        let pages = bikes.iter().map(page).collect::<Result<Vec<_>, _>>()?;
        let date =
            self.date.as_deref().map(|text| When::parse(text, desk.moment.now.offset())).transpose()?;
        let answer = SessionSheetAnswer::new(
            pages,
            self.lines.into(),
            self.place.clone(),
            date.map(|date| date.day()),
        );
        let Some(file) = &self.to else {
            if self.csv {
                return answer.csv(io::stdout().lock());
            }
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        };
        if self.csv {
            let mut sheet = Vec::new();
            answer.csv(&mut sheet)?;
            write(file, &sheet)?;
            let written = PageAnswer::of(answer.of(), file, sheet.len(), Vec::new()).to_fill_in();
            return desk.screen().answer(&written, || written.text(&desk.screen()));
        }
        let page = session(&answer, self.small);
        write(file, &page)?;
        let written = PageAnswer::of(answer.of(), file, page.len(), Vec::new());
        desk.screen().answer(&written, || written.text(&desk.screen()))
    }
}
