//! A list of readings as CSV in, the same list with the answers as CSV out, line by line.

use std::cell::Cell;
use std::io::{self, BufRead, BufReader, Cursor, Read, Write};
use std::path::Path;

use crate::notebook::fields::names::visible;
use crate::notebook::{AIR_FIELDS, AirEntry};
use crate::quantity::fixed;
use crate::report::out::cells::cell as as_written;
use crate::report::out::trouble::Trouble;

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
    list_with_answers((file, source), out, set, given, &ADDED, |_, _, entry| answers(entry))
}

/// Copies a list of readings and adds columns to it, line by line: `answers` gives what stands under the heads `added`.
pub fn list_with_answers(
    (file, source): (&Path, impl Read),
    out: impl Write,
    set: impl Fn(&mut AirEntry, &str, &str) -> Result<(), Trouble>,
    given: Option<&AirEntry>,
    added: &[&str],
    mut answers: impl FnMut(&[String], &[String], &AirEntry) -> Result<Vec<String>, Trouble>,
) -> Result<(), Trouble> {
    let mut writer = csv::Writer::from_writer(out);
    let (mut begun, is_typed) = (false, file == Path::new("-"));
    let copied = each_reading((file, source), set, given, |head, cells, reading| {
        if !begun {
            begun = true;
            finish(
                writer.write_record(
                    head.iter()
                        .map(String::as_str)
                        .chain(added.iter().copied())
                        .map(|cell| as_written(cell).into_owned()),
                ),
            )?;
        }
        let Some((entry, line)) = reading else {
            return Ok(());
        };
        // Short lines are filled up, so that the answers stand under their heads.
        let missing = head.len().saturating_sub(cells.len());
        let answers = answers(head, cells, entry).map_err(|trouble| trouble.at(file, line))?;
        let empty = std::iter::repeat_n("", missing);
        let own = cells.iter().take(head.len()).map(String::as_str);
        for cell in own.chain(empty).chain(answers.iter().map(String::as_str)) {
            finish(writer.write_field(as_written(cell).as_bytes()))?;
        }
        finish(writer.write_record(None::<&[u8]>))?;
        // Who types the lines waits for each.
        if is_typed { finish(writer.flush().map_err(csv::Error::from)) } else { Ok(()) }
    });
    // What was answered before an error is written, too.
    let flushed = finish(writer.flush().map_err(csv::Error::from));
    copied.and(flushed)
}

/// Reads a list of readings: `each` is called once with the heads alone, then for every line with its cells, its reading and
/// its number in the file.
pub fn each_reading(
    (file, source): (&Path, impl Read),
    set: impl Fn(&mut AirEntry, &str, &str) -> Result<(), Trouble>,
    given: Option<&AirEntry>,
    mut each: impl FnMut(&[String], &[String], Option<(&AirEntry, usize)>) -> Result<(), Trouble>,
) -> Result<(), Trouble> {
    let unended = Cell::new(0);
    let source = Lines::new(source, &unended);
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(source);
    let unreadable = |error: csv::Error| {
        let line = error.position().map_or(1, csv::Position::line);
        Trouble::request(
            None,
            format!("The list cannot be read: {error}."),
            "It is CSV with a first line of column names such as temp,baro,humidity.",
        )
        .at(file, usize::try_from(line).unwrap_or(1))
    };
    let head: Vec<String> = reader.headers().map_err(unreadable)?.iter().map(str::to_owned).collect();
    let known =
        |name: &String| AIR_FIELDS.contains(&name.trim_start_matches("--").replace('-', "_").as_str());
    if given.is_none() && !head.iter().any(known) {
        let found = if head.is_empty() { "none at all".to_owned() } else { names_of(&head) };
        return Err(Trouble::request(
            None,
            format!("No column is named like an option of the air; found {found}."),
            "Name them temp, baro (or qnh and elevation) and humidity, and divide them by commas.",
        )
        .at(file, 1));
    }
    each(&head, &[], None)?;
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record).map_err(unreadable)? {
        unended.set(0);
        let line = line_of(&record, reader.position());
        let at_line = |trouble: Trouble| trouble.at(file, line);
        let mut entry = given.cloned().unwrap_or_default();
        for (name, text) in head.iter().zip(record.iter()) {
            set(&mut entry, name, text).map_err(at_line)?;
        }
        let cells: Vec<String> = record.iter().map(str::to_owned).collect();
        each(&head, &cells, Some((&entry, line)))?;
    }
    Ok(())
}

/// The columns' names as far as anybody reads them: a file that is no list may have one line of a megabyte.
fn names_of(head: &[String]) -> String {
    const SHOWN: usize = 12;
    const LONGEST: usize = 30;
    let cut = |name: &String| match name.char_indices().nth(LONGEST) {
        Some((end, _)) => visible(&name[..end]) + "…",
        None => visible(name),
    };
    let more = if head.len() > SHOWN { ", …" } else { "" };
    head.iter().take(SHOWN).map(cut).collect::<Vec<_>>().join(", ") + more
}

/// The line of the file in which a record begins. Where the reader says that it begins, blank lines may still stand before it.
fn line_of(record: &csv::StringRecord, after: &csv::Position) -> usize {
    let inside: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
    usize::try_from(after.line()).unwrap_or(usize::MAX).saturating_sub(1 + inside).max(1)
}

/// The most that one reading may have, bytes: a file that is no list may have no end of a line at all.
const LONGEST: u64 = 1024 * 1024;

/// A text whose every line ends in a line feed alone, whatever ends it in the file: lines are counted by them.
struct Lines<'r, R> {
    source: BufReader<R>,
    line: Cursor<Vec<u8>>,
    /// Bytes that were read since the last reading was whole.
    unended: &'r Cell<u64>,
}

impl<'r, R: Read> Lines<'r, R> {
    fn new(source: R, unended: &'r Cell<u64>) -> Self {
        Self { source: BufReader::new(source), line: Cursor::default(), unended }
    }
}

impl<R: Read> Read for Lines<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.line.read(buffer)?;
        if read > 0 || buffer.is_empty() {
            return Ok(read);
        }
        let mut line = Vec::new();
        let left = (LONGEST + 1).saturating_sub(self.unended.get());
        let read = self.source.by_ref().take(left).read_until(b'\n', &mut line)?;
        self.unended.set(self.unended.get() + read as u64);
        if self.unended.get() > LONGEST {
            return Err(io::Error::other("one reading has more than a megabyte"));
        }
        if read == 0 {
            return Ok(0);
        }
        while matches!(line.last(), Some(b'\n' | b'\r')) {
            line.pop();
        }
        line.push(b'\n');
        self.line = Cursor::new(line);
        self.line.read(buffer)
    }
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
pub(in crate::report) fn finish(written: Result<(), csv::Error>) -> Result<(), Trouble> {
    match written {
        Ok(()) => Ok(()),
        Err(error) => match error.into_kind() {
            csv::ErrorKind::Io(io) if io.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
            csv::ErrorKind::Io(io) => Err(Trouble::output(&io)),
            other => Err(Trouble::request(None, format!("The list cannot be written: {other:?}."), "")),
        },
    }
}

#[cfg(test)]
mod tests {
    use std::io::{self, Read};
    use std::path::Path;

    use super::each_reading;

    #[test]
    fn a_reading_that_never_ends_is_refused() {
        let endless = |byte: u8| io::repeat(byte).take(1 << 40);
        let quoted = "temp,baro,humidity\n20,1000,\"".as_bytes().chain(endless(b'\n'));
        for source in [Box::new(endless(0)) as Box<dyn Read>, Box::new(quoted)] {
            let read =
                each_reading((Path::new("list.csv"), source), |_, _, _| Ok(()), None, |_, _, _| Ok(()));
            let trouble = format!("{:?}", read.expect_err("it never ends"));
            assert!(trouble.contains("more than a megabyte"), "{trouble}");
        }
    }
}
