//! A list of readings as CSV in, the same list with the answers as CSV out, line by line.

use std::io::{Read, Write};
use std::path::Path;

use super::trouble::Trouble;
use crate::notebook::AirEntry;
use crate::quantity::fixed;

/// The columns that are added.
const ADDED: [&str; 9] = [
    "density_kg_m3",
    "dry_density_kg_m3",
    "relative_density_percent",
    "density_altitude_m",
    "station_pressure_hpa",
    "dew_point_c",
    "relative_humidity_percent",
    "vapour_pressure_hpa",
    "standard_uncertainty_kg_m3",
];

/// Copies the list and adds the answers. `set` puts one cell into an entry; `given` holds for every line that does not say
/// otherwise.
pub fn air_list(
    file: &Path,
    source: impl Read,
    out: impl Write,
    set: impl Fn(&mut AirEntry, &str, &str) -> Result<(), Trouble>,
    given: Option<&AirEntry>,
) -> Result<(), Trouble> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(source);
    let mut writer = csv::Writer::from_writer(out);
    let unreadable = |error: csv::Error| {
        let line = error.position().map_or(1, csv::Position::line);
        Trouble::request(
            None,
            format!("The list cannot be read: {error}."),
            "It is CSV with a first line of column names such as temp,baro,humidity.",
        )
        .at(file, usize::try_from(line).unwrap_or(1))
    };
    let head = reader.headers().map_err(unreadable)?.clone();
    let written = writer.write_record(head.iter().chain(ADDED));
    finish(written)?;
    for record in reader.records() {
        let record = record.map_err(unreadable)?;
        let line = record.position().map_or(0, csv::Position::line);
        let at_line = |trouble: Trouble| trouble.at(file, usize::try_from(line).unwrap_or(0));
        let mut entry = given.cloned().unwrap_or_default();
        for (name, text) in head.iter().zip(record.iter()) {
            set(&mut entry, name, text).map_err(at_line)?;
        }
        let answers = answers(&entry).map_err(at_line)?;
        // Short lines are filled up, so that the answers stand under their heads.
        let missing = head.len().saturating_sub(record.len());
        let cells = record
            .iter()
            .take(head.len())
            .map(str::to_owned)
            .chain(vec![String::new(); missing])
            .chain(answers);
        finish(writer.write_record(cells))?;
        finish(writer.flush().map_err(csv::Error::from))?;
    }
    Ok(())
}

fn answers(entry: &AirEntry) -> Result<Vec<String>, Trouble> {
    let reading = entry.reading()?;
    let air = reading.air().map_err(crate::notebook::AirEntryError::from)?;
    let doubt = reading.uncertainty().map_err(crate::notebook::AirEntryError::from)?;
    Ok(vec![
        fixed(air.density(), 6),
        fixed(air.dry_density(), 6),
        fixed(air.relative_density_percent(), 3),
        fixed(air.density_altitude_m(), 1),
        fixed(air.pressure_pa() / 100.0, 2),
        fixed(air.dew_point_c(), 2),
        fixed(air.relative_humidity() * 100.0, 2),
        fixed(air.vapour_pressure_pa() / 100.0, 3),
        fixed(doubt.density, 6),
    ])
}

/// A reader that has seen enough is not an error.
fn finish(written: Result<(), csv::Error>) -> Result<(), Trouble> {
    match written {
        Ok(()) => Ok(()),
        Err(error) => match error.into_kind() {
            csv::ErrorKind::Io(io) if io.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
            csv::ErrorKind::Io(io) => Err(Trouble::output(&io)),
            other => Err(Trouble::request(None, format!("The list cannot be written: {other:?}."), "")),
        },
    }
}
