//! The options that describe the air, the same at every command.

use std::borrow::Cow;
use std::io::{self, BufRead, BufReader, Read};
use std::path::Path;

use clap::Args;

use crate::acts::air::{refuse_bare_parts, served};
use crate::advice::conditions::kept::Served;
use crate::commands::desk::plain_file;
use crate::notebook::{AIR_FIELDS, AirEntry, When};
use crate::report::Trouble;
use crate::store::Book;

/// The air: temperature, pressure of one of three kinds, humidity in one of three ways; or a METAR.
#[derive(Debug, Clone, Default, Args)]
#[command(next_help_heading = "Air")]
pub(in crate::commands) struct AirOptions {
    /// Air temperature in the shade ("24 C", "75 F")
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    temp: Option<String>,
    /// A barometer at the track, not reduced to sea level
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    baro: Option<String>,
    /// Altimeter setting (QNH), with --elevation
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    qnh: Option<String>,
    /// Sea-level pressure of a forecast, with --elevation
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    sea_level: Option<String>,
    /// Height of the track, not of the station ("1655 m")
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    elevation: Option<String>,
    /// Relative, in percent or as a fraction: 0.55
    #[arg(long, value_name = "PERCENT", allow_hyphen_values = true)]
    humidity: Option<String>,
    /// Dew point, in place of --humidity
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    dew_point: Option<String>,
    /// Wet-bulb temperature, in place of --humidity
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    wet_bulb: Option<String>,
    /// A METAR in quotes, with --elevation; options beside it win
    #[arg(long, value_name = "REPORT")]
    metar: Option<String>,
}

impl AirOptions {
    /// What was given; none when nothing was. In an imperial garage bare temperatures and elevations are refused.
    pub(in crate::commands) fn entry(&self, imperial: bool) -> Result<Option<AirEntry>, Trouble> {
        let given = [
            ("temp", &self.temp),
            ("baro", &self.baro),
            ("qnh", &self.qnh),
            ("sea_level", &self.sea_level),
            ("elevation", &self.elevation),
            ("humidity", &self.humidity),
            ("dew_point", &self.dew_point),
            ("wet_bulb", &self.wet_bulb),
            ("metar", &self.metar),
        ];
        let mut entry = AirEntry::default();
        for (name, text) in given {
            if let Some(text) = text {
                entry.set(name, text)?;
            }
        }
        if imperial {
            refuse_bare_parts(&entry)?;
        }
        Ok((!entry.is_empty()).then_some(entry))
    }

    /// Whether nothing was given.
    pub(in crate::commands) fn is_empty(&self) -> bool {
        let pressures = [&self.baro, &self.qnh, &self.sea_level, &self.elevation];
        let others = [&self.temp, &self.humidity, &self.dew_point, &self.wet_bulb, &self.metar];
        pressures.into_iter().chain(others).all(Option::is_none)
    }

    /// The air for a moment: what was typed, over what was kept at the place that is named, or else where the day is spent.
    pub(in crate::commands) fn served(
        &self,
        book: &Book<'_>,
        place: Option<&str>,
        at: When,
    ) -> Result<Served, Trouble> {
        served(book, self.entry(book.garage().is_imperial())?, place, at)
    }
}

/// A list of readings, from a file or, for "-", from standard input.
pub(in crate::commands) fn open_list(file: &Path) -> Result<Box<dyn Read>, Trouble> {
    if file == Path::new("-") {
        return Ok(Box::new(io::stdin().lock()));
    }
    Ok(Box::new(plain_file(file)?))
}

/// A list of readings with a head and at most so many lines; none where it has more.
pub(in crate::commands) fn list_of_at_most(file: &Path, lines: usize) -> Result<Option<Vec<u8>>, Trouble> {
    lines_at_most(file, open_list(file)?, lines)
}

/// The same of a file that is open.
pub(in crate::commands) fn lines_at_most(
    file: &Path,
    open: impl Read,
    lines: usize,
) -> Result<Option<Vec<u8>>, Trouble> {
    /// A line has some numbers and a word or two.
    const LONGEST_LINE: u64 = 1_000;
    let cannot = |error| Trouble::file("Cannot read", file, &error);
    let most = (lines as u64 + 1) * LONGEST_LINE;
    let mut list = BufReader::new(open.take(most + 1));
    let mut text = Vec::new();
    for _ in 0..=lines {
        if list.read_until(b'\n', &mut text).map_err(cannot)? == 0 {
            return Ok(Some(text));
        }
    }
    let more = list.lines().find(|line| line.as_ref().map_or(true, |line| !line.trim().is_empty()));
    Ok((more.transpose().map_err(cannot)?.is_none() && text.len() as u64 <= most).then_some(text))
}

/// Puts one cell of a list into a reading; columns that are not named like an option of the air are passed over.
pub(in crate::commands) fn set_cell(
    entry: &mut AirEntry,
    name: &str,
    text: &str,
    imperial: bool,
) -> Result<(), Trouble> {
    let known = name.trim().trim_start_matches("--");
    let known = if known.contains('-') { known.replace('-', "_").into() } else { Cow::Borrowed(known) };
    if !AIR_FIELDS.contains(&known.as_ref()) || text.trim().is_empty() {
        return Ok(());
    }
    entry.set(&known, text.trim())?;
    if imperial {
        refuse_bare_parts(entry)?;
    }
    Ok(())
}
