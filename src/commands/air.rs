//! `air`: density and what follows, of one reading or of a list.

use std::io;
use std::path::{Path, PathBuf};

use clap::Args;

use super::Desk;
use super::air_options::{AirOptions, open_list, set_cell};
use crate::air::Metar;
use crate::notebook::AirEntry;
use crate::report::{AirReport, Trouble};

/// What the air is worth: density, density altitude, doubt
///
/// How it is reckoned: `reedbook guide figures`.
#[derive(Debug, Args)]
pub(super) struct AirCommand {
    #[command(flatten)]
    air: AirOptions,
    /// A list of readings: a CSV file (or - for standard input) whose columns are named like the options; the answers
    /// are added as columns and written to standard output line by line
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
}

impl AirCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage_if_any()?;
        let imperial = garage.as_ref().is_some_and(crate::store::Garage::is_imperial);
        let given = self.air.entry(imperial)?;
        if let Some(file) = &self.csv {
            return list(file, given.as_ref(), imperial);
        }
        let Some(entry) = given else {
            return Err(Trouble::request(
                None,
                "No air was given.",
                "Give --temp, --baro and --humidity, or --metar and --elevation; `reedbook air --help` has the rest.",
            ));
        };
        let reference =
            garage.as_ref().and_then(|garage| garage.document().reference_air.as_ref()?.air().ok());
        let own_humidity = entry.humidity.is_some() || entry.dew_point.is_some() || entry.wet_bulb.is_some();
        let remarks = match &entry.metar {
            Some(text) => Metar::parse(text)
                .map_err(crate::notebook::AirEntryError::from)?
                .remarks(entry.temp.is_some(), own_humidity),
            None => Vec::new(),
        };
        let report = AirReport::new(&entry.reading()?, remarks, reference.as_ref())
            .map_err(crate::notebook::AirEntryError::from)?;
        desk.screen().answer(&report, || report.text(&desk.screen()))
    }
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
