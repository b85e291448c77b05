//! A session sheet looked over before anything of it is recorded: which runs are new, which are there already, what is wrong and what
//! looks like a slip, run by run.

use std::path::Path;

use crate::advice::slips::{self, Slip, Typed};
use crate::machine::Moment;
use crate::notebook::reading::session_sheet::{SheetOptions, SheetRun, column_of, read_session_sheet};
use crate::notebook::{Code, Finding, Outing, Place};
use crate::quantity::Units;
use crate::store::{
    Book, Incoming, NewOuting, OutingRecord, StoreError, check_outing, outing_identity, outing_is_there,
    setup_name, weigh_outing,
};

/// A sheet that was looked over.
#[derive(Debug, Default)]
pub struct LookedOver {
    /// Runs that are new, in the order of the sheet.
    pub new: Vec<NewRun>,
    /// Runs that are recorded already.
    pub known: Vec<KnownRun>,
    /// Lines that nothing was written in.
    pub blank: usize,
    /// What is wrong with the sheet or a line of it.
    pub findings: Vec<Finding>,
    /// What a line was refused for: a bike that is not there, a date that cannot be.
    pub refused: Vec<(usize, StoreError)>,
    /// What looks like a slip, with its line.
    pub slips: Vec<(usize, Slip)>,
}

/// A run that is new.
#[derive(Debug)]
pub struct NewRun {
    /// Its line in the sheet.
    pub line: usize,
    /// What is to be recorded.
    pub incoming: Incoming,
}

/// A run that is recorded already.
#[derive(Debug)]
pub struct KnownRun {
    /// Its line in the sheet.
    pub line: usize,
    /// The bike.
    pub bike: String,
    /// The outing's identity.
    pub id: String,
    /// Columns of the sheet that say otherwise than the outing.
    pub differs: Vec<String>,
}

/// How a sheet is looked over.
#[derive(Debug, Clone, Copy)]
pub struct Look<'a> {
    /// The bike of lines that name none.
    pub bike: Option<&'a str>,
    /// Units for what is said.
    pub units: Units,
    /// The present.
    pub moment: &'a Moment,
}

/// Reads a sheet and looks at every run of it. Nothing is written.
pub fn look_over(
    book: &Book<'_>,
    (file, bytes): (&Path, &[u8]),
    look: Look<'_>,
) -> Result<LookedOver, StoreError> {
    let options = SheetOptions { bike: look.bike, here: look.moment.now.offset() };
    let read = read_session_sheet(file, bytes, options);
    let mut found = LookedOver { blank: read.blank, findings: read.findings, ..LookedOver::default() };
    let mut others: Vec<OutingRecord> = Vec::new();
    for bike in book.garage().bikes() {
        others.extend(book.outings(&bike)?);
    }
    for run in read.runs {
        let id = outing_identity(&run.identity());
        let outing = match outing_of(book, file, &run) {
            Ok(outing) => outing,
            Err(findings) => {
                found.findings.extend(findings);
                continue;
            }
        };
        if book.garage().bikes().contains(&run.bike) && outing_is_there(book, &run.bike, &id)? {
            let there = others.iter().find(|other| other.bike == run.bike && other.id == id);
            let differs = there.map(|there| differing(&there.outing, &outing)).unwrap_or_default();
            found.known.push(KnownRun { line: run.line, bike: run.bike, id, differs });
            continue;
        }
        let setup = match run.setup.as_deref().map(|text| (text, setup_name(text))) {
            None => None,
            Some((_, Some(name))) => Some(name),
            Some((text, None)) => {
                let place = Place { line: Some(run.line), field: Some("setup".into()), ..Place::file(file) };
                let message = format!("\"{text}\" is not a setup.");
                let help =
                    "A setup is its number, latest or proven; without one it is the newest of that date.";
                found.findings.push(Finding::new(Code::NotAChoice, place, &message, help));
                continue;
            }
        };
        let new = NewOuting { bike: run.bike, outing, setup, dyno: None };
        let incoming = Incoming { new, id };
        match weigh_outing(book, &incoming, look.moment) {
            Ok(record) => {
                let typed = Typed { record: &record, dated_by_clock: false, units: look.units };
                found.slips.extend(slips::beside(typed, &others).into_iter().map(|slip| (run.line, slip)));
                others.push(record);
                found.new.push(NewRun { line: run.line, incoming });
            }
            Err(StoreError::Findings(findings)) => {
                found.findings.extend(findings.into_iter().map(|finding| in_sheet(finding, file, run.line)));
            }
            Err(error) => found.refused.push((run.line, error)),
        }
    }
    found.findings.sort_by_key(|finding| finding.place.line);
    Ok(found)
}

/// The outing that a line describes, or everything that is wrong with its values.
fn outing_of(book: &Book<'_>, file: &Path, run: &SheetRun) -> Result<Outing, Vec<Finding>> {
    let checked =
        check_outing(book.garage(), file, toml::to_string(&run.fields).unwrap_or_default().as_bytes());
    match checked.document {
        Some(outing) if checked.findings.is_empty() => Ok(outing),
        _ => Err(checked.findings.into_iter().map(|finding| in_sheet(finding, file, run.line)).collect()),
    }
}

/// A finding of an outing's field at its line and column of the sheet.
fn in_sheet(finding: Finding, file: &Path, line: usize) -> Finding {
    let field = finding.place.field.as_deref().map(|field| column_of(field).to_owned());
    Finding { place: Place { line: Some(line), field, ..Place::file(file) }, ..finding }
}

/// Columns in which a line says something else than the outing that is recorded.
fn differing(there: &Outing, line: &Outing) -> Vec<String> {
    let flat = |outing: &Outing| {
        let table = toml::Table::try_from(outing).unwrap_or_default();
        let mut fields = Vec::new();
        for (name, value) in table {
            match value {
                toml::Value::Table(inner) => {
                    fields.extend(inner.into_iter().map(|(own, value)| (format!("{name}.{own}"), value)));
                }
                value => fields.push((name, value)),
            }
        }
        fields
    };
    let known = flat(there);
    let says_so =
        |field: &str, value: &toml::Value| known.iter().any(|(own, known)| own == field && known == value);
    flat(line)
        .into_iter()
        .filter(|(field, value)| field != "setup" && !says_so(field, value))
        .map(|(field, _)| column_of(&field).to_owned())
        .collect()
}
