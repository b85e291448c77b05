//! `sheet build ENGINE`: a build on one page.

use std::path::PathBuf;

use clap::Args;

use crate::acts::build::units_typed;
use crate::advice::building::whole;
use crate::advice::parts::wear_lines::{LEVEL, wear_lines};
use crate::commands::desk::Desk;
use crate::commands::sheet::file::write;
use crate::notebook::SECTIONS;
use crate::report::page::build::BuildSheet;
use crate::report::page::written::PageAnswer;
use crate::report::parts::wear::{PartWearAnswer, WearFound};
use crate::report::{BuildAnswer, Trouble};
use crate::store::{Book, Chosen};

/// An engine's build: readings, check list, wear
///
/// With open steps it is a list to work by; with all of them done it goes with the engine.
#[derive(Debug, Args)]
pub(super) struct EngineSheet {
    /// The engine
    engine: String,
    /// The build: its id or the id's beginning
    #[arg(default_value = "last")]
    build: String,
    /// Without port and head work, notes and reasons
    #[arg(long)]
    for_customer: bool,
    /// The sections a customer does not get
    #[arg(
        long,
        value_name = "SECTION",
        value_delimiter = ',',
        default_value = "ports,head",
        requires = "for_customer"
    )]
    omit: Vec<String>,
    /// For A5
    #[arg(long)]
    small: bool,
    /// The file; otherwise ENGINE-build.html, or ENGINE-customer.html
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

impl EngineSheet {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        garage.require_engine(&self.engine)?;
        let without = if self.for_customer { Some(self.left_out()?) } else { None };
        let book = Book::open(&garage)?;
        let now = desk.moment.now;
        let record = book.build(&self.engine, Some(&self.build))?;
        let mut wear = Vec::new();
        for line in wear_lines(&book, &self.engine, now)? {
            if without.as_ref().is_some_and(|without| without.contains(&line.figure.section())) {
                continue;
            }
            wear.push(PartWearAnswer::from(WearFound {
                engine: &self.engine,
                figure: line.figure,
                seat: line.seat,
                cylinder: line.cylinder,
                readings: &line.measured.readings,
                wear: line.wear,
                source: line.measured.source,
                level: LEVEL,
                top_ends: None,
                change_after_h: None,
                unreadable: Vec::new(),
                drawn: false,
            }));
        }
        let sheet = BuildSheet {
            engine: &self.engine,
            build: BuildAnswer::from(whole(&book, &record, now)?),
            wear,
            without,
            made: now,
        };
        // What goes out never takes the place of what stays.
        let sort = if self.for_customer { "customer" } else { "build" };
        let file = self.to.clone().unwrap_or_else(|| PathBuf::from(format!("{}-{sort}.html", self.engine)));
        // In the units in which it was measured, unless others are wanted.
        let (shown, usual) = (desk.screen().units(), garage.units());
        let units = if shown == usual { units_typed(&book, &record, usual)? } else { shown };
        let page = sheet.html(&desk.screen().in_units(units), self.small);
        write(&file, &page)?;
        let answer = PageAnswer::of(vec![self.engine.clone()], &file, page.len(), sheet.left_out());
        let answer = if self.for_customer { answer.for_somebody_else() } else { answer };
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// The sections that are not handed over.
    fn left_out(&self) -> Result<Vec<&'static str>, Trouble> {
        let kept = Chosen::Without(self.omit.clone()).sections()?;
        Ok(SECTIONS.into_iter().filter(|section| !kept.contains(section)).collect())
    }
}
