//! `air`: density and what follows, of one reading or of a list; and keeping a reading at a place.

use std::io;
use std::path::{Path, PathBuf};

use clap::Args;

use super::options::air::{AirOptions, open_list, set_cell};
use crate::acts::air::{read_air, served};
use crate::advice::conditions::kept::{self, Served, type_a_new_one};
use crate::advice::{slips, today};
use crate::air::Metar;
use crate::commands::desk::Desk;
use crate::notebook::{AirEntry, AirEntryError, When};
use crate::report::history::questioned::settle_kept;
use crate::report::{AirReport, Trouble};
use crate::store::{Book, Garage, NewKept, keep_air, place_name};

/// What the air is worth; --keep saves typing it again
///
/// With --keep it is used by all that follows at that place until it is three hours old.
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(super) struct AirCommand {
    /// In short: temperature, barometer and humidity, like 19 1003 60 (C, hPa, %)
    #[arg(value_name = "NUMBERS", num_args = 0..=3, allow_negative_numbers = true, conflicts_with = "csv")]
    numbers: Vec<String>,
    #[command(flatten)]
    air: AirOptions,
    /// Keep it at the place: used for everything there for three hours
    #[arg(long, conflicts_with = "csv", help_heading = "Keeping it")]
    keep: bool,
    /// Where it is kept, if not today's place
    #[arg(long, short, conflicts_with = "csv", help_heading = "Keeping it")]
    place: Option<String>,
    /// When it was read, if not now: 9:40 is today
    #[arg(long, value_name = "TIME", requires = "keep", help_heading = "Keeping it")]
    at: Option<String>,
    /// Keep it anyway, marked doubtful
    #[arg(long, requires = "keep", help_heading = "Keeping it")]
    sure: bool,
    /// What a dyno's power is multiplied by in this air, by three standards; never for jets
    #[arg(long, conflicts_with = "csv")]
    dyno: bool,
    /// A list of readings: a CSV file (or - for standard input) whose columns are named like the options; the answers
    /// are added as columns and written to standard output line by line
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

impl AirCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        if self.keep {
            return self.keep(desk, &desk.garage()?);
        }
        let garage = desk.garage_if_any()?;
        let imperial = garage.as_ref().is_some_and(Garage::is_imperial);
        if let Some(file) = &self.csv {
            return list(file, self.air.entry(imperial)?.as_ref(), imperial);
        }
        let served = match &garage {
            Some(garage) => {
                let typed = self.typed(imperial)?;
                served(&Book::open(garage)?, typed, self.place.as_deref(), desk.moment.now)?
            }
            None => Served { entry: self.typed(imperial)?, ..Served::default() },
        };
        let Some(entry) = &served.entry else {
            return Err(no_air(served));
        };
        let report = report(entry, garage.as_ref())?.from(&served);
        desk.screen().answer(&report, || report.text(&desk.screen(), self.dyno))
    }

    /// What was typed: three numbers in short, and over them what was said by name.
    fn typed(&self, imperial: bool) -> Result<Option<AirEntry>, Trouble> {
        let named = self.air.entry(imperial)?;
        if self.numbers.is_empty() {
            return Ok(named);
        }
        let numbers = read_air(&self.numbers.join(" "), imperial)?;
        Ok(Some(named.map_or(numbers.clone(), |named| named.over(&numbers))))
    }

    /// Keeps a reading at its place.
    fn keep(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let Some(typed) = self.typed(garage.is_imperial())? else {
            return Err(no_air(Served::default()));
        };
        let now = desk.moment.now;
        let book = Book::open(garage)?;
        let place = match &self.place {
            Some(place) => place.clone(),
            None => today::place_of_the_day(&book, now)?.ok_or_else(no_place)?,
        };
        place_name(&place)?;
        let (mut air, of_the_place) = kept::to_keep(&book, typed, &place)?;
        let mut served = Served { of_the_place, ..Served::default() };
        if air.air().is_err() {
            // A temperature alone goes over what was kept here before.
            let over = kept::serve(&book, Some(air.clone()), Some(&place), now)?;
            if let (Some(entry), Some(_)) = (&over.entry, &over.origin) {
                air = entry.clone();
                served = over;
            }
        }
        air.air()?;
        let date = match &self.at {
            Some(typed) => desk.when(typed)?,
            None => read_when(&air, now)?,
        };
        if kept::is_ahead(date, now) {
            return Err(Trouble::request(
                Some("at"),
                format!("{} is still to come: no air was read then.", date.short()),
                "Say when it was read, or leave --at out for now.",
            ));
        }
        let asked = slips::of_air_at(&book, &place, &air, (date, desk.screen().units()))?;
        let doubted = settle_kept(&asked, self.sure)?;
        let kept = keep_air(garage, &NewKept { place, air, date, doubted }, &desk.moment)?;
        let report = report(&kept.air, Some(garage))?.from(&served).kept(&kept, now);
        desk.screen().answer(&report, || report.text(&desk.screen(), self.dyno))
    }
}

/// When a reading was made that is kept now: a METAR says it.
fn read_when(air: &AirEntry, now: When) -> Result<When, Trouble> {
    let read = kept::read_when(air, now)?;
    let why = match read {
        Some(date) => kept::past_serving(date, now),
        None => Some("Its day is no day of the last month.".to_owned()),
    };
    match (read, why) {
        (Some(date), None) => Ok(date),
        (_, why) => Err(Trouble::request(
            Some("metar"),
            format!("The METAR is too old to be kept. {}", why.unwrap_or_default()),
            "Paste a newer one, or say with --at when the air was like this.",
        )),
    }
}

fn no_place() -> Trouble {
    Trouble::request(
        Some("place"),
        "No place given yet today.",
        "Name it once: --place \"Teal Pass\". What follows today is there.",
    )
}

/// No air was typed, and none that was kept serves.
fn no_air(served: Served) -> Trouble {
    if !served.unreadable.is_empty() {
        return Trouble::findings(served.unreadable);
    }
    match served.refused.filter(|refused| refused.of_the_day) {
        Some(refused) => Trouble::request(None, refused.words.clone(), type_a_new_one(&refused)),
        None => Trouble::request(
            None,
            "No air was given.",
            "Give --temp, --baro and --humidity, or --metar and --elevation; `reedbook air --help` has the rest.",
        ),
    }
}

fn report(entry: &AirEntry, garage: Option<&Garage>) -> Result<AirReport, Trouble> {
    let reference = garage.and_then(|garage| garage.document().reference_air.as_ref()?.air().ok());
    let own_humidity = entry.humidity.is_some() || entry.dew_point.is_some() || entry.wet_bulb.is_some();
    let remarks = match &entry.metar {
        Some(text) => {
            Metar::parse(text).map_err(AirEntryError::from)?.remarks(entry.temp.is_some(), own_humidity)
        }
        None => Vec::new(),
    };
    Ok(AirReport::new(&entry.reading()?, remarks, reference.as_ref()).map_err(AirEntryError::from)?)
}

/// Reads a CSV of readings and writes it with the answers, a line at a time.
fn list(file: &Path, given: Option<&AirEntry>, imperial: bool) -> Result<(), Trouble> {
    crate::report::air_list(
        file,
        open_list(file)?,
        &mut io::stdout().lock(),
        |entry, name, text| set_cell(entry, name, text, imperial),
        given,
    )
}
