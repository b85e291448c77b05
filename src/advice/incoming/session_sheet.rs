//! A session sheet looked over before anything of it is recorded: which runs are new, which are there already, what is wrong and what
//! looks like a slip, run by run.

use std::path::Path;

use crate::advice::closing::was_lean;
use crate::advice::runs::lap_fault;
use crate::advice::slips::{self, Questioned, Slip, TypedOuting};
use crate::machine::Moment;
use crate::notebook::fields::names::{same_name, visible};
use crate::notebook::guidance::Guidance;
use crate::notebook::reading::session_sheet::{SheetOptions, column_of, read_session_sheet};
use crate::notebook::{Code, Finding, Outing, Place};
use crate::quantity::Units;
use crate::store::{
    Book, Incoming, NewOuting, OutingRecord, SetupName, StoreError, check_outing, outing_identity,
    outing_is_there, setup_name, weigh_outing,
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
    /// Runs that were left out, as whoever imports them wanted.
    pub left_out: Vec<LeftOutRun>,
}

/// A run that is left out because something is asked about it.
#[derive(Debug)]
pub struct LeftOutRun {
    /// Its line in the sheet.
    pub line: usize,
    /// The run.
    pub new: NewOuting,
    /// What was asked.
    pub asked: Vec<Slip>,
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

/// What can be looked at of a line in which something is wrong.
struct Rest<'a> {
    bike: Option<&'a str>,
    setup: &'a Result<Option<SetupName>, Finding>,
    /// Its fields, those that are wrong among them.
    fields: toml::Table,
    wrong: &'a [Finding],
    /// Whether its date is its own.
    is_dated: bool,
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
    let mut others = all_outings(book)?;
    for half in read.halves {
        // Any date does for the rest of the line.
        let mut fields = half.fields;
        let is_dated = fields.contains_key("date");
        fields.entry("date").or_insert_with(|| look.moment.now.to_string().into());
        let wrong = outing_of(book, file, (half.line, &fields)).err().unwrap_or_default();
        let setup = setup_of(file, half.line, half.setup.as_deref());
        let rest = Rest { bike: half.bike.as_deref(), setup: &setup, fields, wrong: &wrong, is_dated };
        found.look_at_the_rest(book, (file, half.line), rest, (look, &others))?;
        found.findings.extend(wrong);
        found.findings.extend(setup.err());
    }
    for run in read.runs {
        let id = outing_identity(&run.identity());
        let setup = setup_of(file, run.line, run.setup.as_deref());
        let (outing, setup) = match (outing_of(book, file, (run.line, &run.fields)), setup) {
            (Ok(outing), Ok(setup)) => (outing, setup),
            (outing, setup) => {
                let (wrong, fields) = (outing.err().unwrap_or_default(), run.fields);
                let rest =
                    Rest { bike: Some(&run.bike), setup: &setup, fields, wrong: &wrong, is_dated: true };
                found.look_at_the_rest(book, (file, run.line), rest, (look, &others))?;
                found.findings.extend(wrong);
                found.findings.extend(setup.err());
                continue;
            }
        };
        let new = NewOuting { bike: run.bike, outing, setup, dyno: None };
        found.look_at(book, (file, run.line), Incoming { new, id }, (look, &mut others))?;
    }
    found.findings.sort_by_key(|finding| finding.place.line);
    Ok(found)
}

/// Every outing of the garage.
pub(in crate::advice) fn all_outings(book: &Book<'_>) -> Result<Vec<OutingRecord>, StoreError> {
    let mut all = Vec::new();
    for bike in book.garage().bikes() {
        all.extend(book.outings(&bike)?);
    }
    Ok(all)
}

impl LookedOver {
    /// Leaves out the runs that something is asked about. One that says lean, and is not logged already, is still asked about: nothing
    /// leaner may be fitted after it, so that it is not dropped for a doubted hour.
    pub fn leave_out_what_is_asked(&mut self) {
        let runs = std::mem::take(&mut self.new);
        for NewRun { line, incoming } in runs {
            let of_it: Vec<Slip> =
                self.slips.iter().filter(|(at, _)| *at == line).map(|(_, slip)| slip.clone()).collect();
            let is_logged = |slip: &&Slip| slip.what == Questioned::Twice;
            let is_there = of_it.iter().any(|slip| is_logged(&slip));
            if of_it.is_empty() || was_lean(&incoming.new.outing) && !is_there {
                self.new.push(NewRun { line, incoming });
                continue;
            }
            self.slips.retain(|(at, _)| *at != line);
            self.left_out.push(LeftOutRun { line, new: incoming.new, asked: of_it });
        }
    }

    /// Looks at a run: it is there already, or new and held against all `others`, among which it is from now on; or refused.
    pub(in crate::advice) fn look_at(
        &mut self,
        book: &Book<'_>,
        (file, line): (&Path, usize),
        incoming: Incoming,
        (look, others): (Look<'_>, &mut Vec<OutingRecord>),
    ) -> Result<(), StoreError> {
        let bike = incoming.new.bike.clone();
        if book.garage().has_bike(&bike) && outing_is_there(book, &bike, &incoming.id)? {
            let there = others.iter().find(|other| other.bike == bike && other.id == incoming.id);
            if let Some(strange) =
                there.map(|there| strange_cylinder(book, there, &incoming)).transpose()?.flatten()
            {
                self.refused.push((line, strange));
                return Ok(());
            }
            let differs =
                there.map(|there| differing(&there.outing, &incoming.new.outing)).unwrap_or_default();
            self.known.push(KnownRun { line, bike, id: incoming.id, differs });
            return Ok(());
        }
        match weigh_outing(book, &incoming, look.moment) {
            Ok(record) => {
                let typed = TypedOuting { record: &record, dated_by_clock: false, units: look.units };
                let slips = slips::of_outing_beside(book, typed, others)?;
                let slips = slips.into_iter().map(|slip| (line, self.named_by_line(slip, &record.outing)));
                let slips: Vec<_> = slips.collect();
                self.slips.extend(slips);
                others.push(record);
                self.new.push(NewRun { line, incoming });
            }
            Err(StoreError::Findings(findings)) => {
                self.findings.extend(findings.into_iter().map(|finding| in_sheet(finding, file, line)));
            }
            Err(error) => self.refused.push((line, error)),
        }
        Ok(())
    }

    /// A run that looks like another one of the same list is asked by that one's line: it has no outing yet.
    fn named_by_line(&self, slip: Slip, outing: &Outing) -> Slip {
        let like = self.new.iter().find(|run| slip.question.contains(&run.incoming.id));
        match like.filter(|_| slip.what == Questioned::Twice) {
            None => slip,
            Some(run) => {
                let other = run.incoming.new.outing.session.as_deref();
                let session =
                    outing.session.as_deref().filter(|own| other.is_some_and(|other| same_name(own, other)));
                let (why, instead) = match session {
                    Some(session) => (
                        format!(
                            "It has the session {} of line {} on the same day",
                            visible(session),
                            run.line
                        ),
                        "Take one of the two lines out, or give one of them its own session.",
                    ),
                    None => (
                        format!("It has the day and time of line {}", run.line),
                        "Take one of the two lines out, or say the session of each.",
                    ),
                };
                Slip {
                    what: Questioned::TwiceHere,
                    question: format!("{why}: is it written down twice?"),
                    instead: instead.into(),
                    ..slip
                }
            }
        }
    }

    /// Looks at what is right so far of a line that is wrong: all that is to be mended in it is said at once.
    fn look_at_the_rest(
        &mut self,
        book: &Book<'_>,
        (file, line): (&Path, usize),
        rest: Rest<'_>,
        (look, others): (Look<'_>, &[OutingRecord]),
    ) -> Result<(), StoreError> {
        self.refuse_a_bike_that_is_not_there(book, line, rest.bike);
        let Some(bike) = rest.bike.filter(|bike| book.garage().has_bike(bike)) else { return Ok(()) };
        let named = rest.setup.as_ref().ok().and_then(Option::as_ref);
        let setup = match named.map(|name| book.resolve(bike, name)).transpose() {
            Ok(setup) => setup.flatten().map(|setup| setup.number),
            Err(error) => {
                self.refused.push((line, error));
                None
            }
        };
        let mut fields = rest.fields;
        for (field, _) in flat("", fields.clone()) {
            let column = column_of(&field);
            if rest.wrong.iter().any(|wrong| wrong.place.field.as_deref() == Some(column.as_str())) {
                take_out(&mut fields, &field);
            }
        }
        let Ok(outing) = outing_of(book, file, (line, &fields)) else { return Ok(()) };
        let record = OutingRecord {
            bike: bike.to_owned(),
            id: String::new(),
            file: file.to_owned(),
            outing,
            setup,
            cylinders: Vec::new(),
        };
        let typed = TypedOuting { record: &record, dated_by_clock: false, units: look.units };
        let slips = slips::of_outing_beside(book, typed, others)?.into_iter();
        // Weather is held against the day, and whether it is there already hangs on all of it.
        let by_itself =
            |slip: &Slip| matches!(slip.what, Questioned::Hours | Questioned::Lap | Questioned::Place);
        let asked = slips.filter(|slip| {
            by_itself(slip)
                || rest.is_dated && !matches!(slip.what, Questioned::Twice | Questioned::TwiceHere)
        });
        self.slips.extend(asked.map(|slip| (line, slip)));
        Ok(())
    }

    pub(in crate::advice) fn refuse_a_bike_that_is_not_there(
        &mut self,
        book: &Book<'_>,
        line: usize,
        bike: Option<&str>,
    ) {
        let wrong = bike.and_then(|bike| book.garage().require_bike(bike).err());
        self.refused.extend(wrong.map(|error| (line, error)));
    }
}

/// The refusal of a line with a cylinder that the setup which its outing ran does not have.
fn strange_cylinder(
    book: &Book<'_>,
    there: &OutingRecord,
    incoming: &Incoming,
) -> Result<Option<StoreError>, StoreError> {
    let said = &incoming.new.outing.cylinder;
    let setups = if said.is_empty() { Vec::new() } else { book.setups(&there.bike)? };
    let Some(ran) = setups.iter().find(|setup| Some(setup.number) == there.setup) else { return Ok(None) };
    let names = book.combination(&there.bike, Some(ran))?.fields.cylinders();
    let strange = said.keys().find(|name| !names.contains(name));
    Ok(strange.map(|name| {
        let help = match names.as_slice() {
            [] => "The engine of its setup has one cylinder: leave the name out.".to_owned(),
            names => format!("The cylinders are {}.", names.join(", ")),
        };
        StoreError::request(Some(name), format!("There is no cylinder \"{}\".", visible(name)), help)
    }))
}

/// The outing that a line describes, or everything that is wrong with its values.
pub(in crate::advice) fn outing_of(
    book: &Book<'_>,
    file: &Path,
    (line, fields): (usize, &toml::Table),
) -> Result<Outing, Vec<Finding>> {
    let checked = check_outing(book.garage(), file, toml::to_string(fields).unwrap_or_default().as_bytes());
    let mut findings: Vec<Finding> =
        checked.findings.into_iter().map(|finding| in_sheet(finding, file, line)).collect();
    let lap = fields.get("lap").and_then(toml::Value::as_str);
    if let Some(fault) = lap.and_then(lap_fault) {
        let place = Place { line: Some(line), field: Some("lap".into()), ..Place::file(file) };
        findings.push(Finding::new(Code::BadQuantity, place, &fault.message(), fault.help(Guidance::from)));
    }
    match checked.document {
        Some(outing) if findings.is_empty() => Ok(outing),
        _ => Err(findings),
    }
}

/// The setup that a line names.
fn setup_of(file: &Path, line: usize, typed: Option<&str>) -> Result<Option<SetupName>, Finding> {
    let Some(text) = typed else { return Ok(None) };
    setup_name(text).map(Some).ok_or_else(|| {
        let place = Place { line: Some(line), field: Some("setup".into()), ..Place::file(file) };
        let message = format!("\"{}\" is not a setup.", visible(text));
        let help = "A setup is its number, latest or proven; without one it is the newest of that date.";
        Finding::new(Code::NotAChoice, place, &message, help)
    })
}

/// A finding of an outing's field at its line and column of the sheet.
fn in_sheet(finding: Finding, file: &Path, line: usize) -> Finding {
    let field = finding.place.field.as_deref().map(column_of);
    Finding { place: Place { line: Some(line), field, ..Place::file(file) }, ..finding }
}

/// Columns in which a line says something else than the outing that is recorded.
fn differing(there: &Outing, line: &Outing) -> Vec<String> {
    let flat = |outing: &Outing| flat("", toml::Table::try_from(outing).unwrap_or_default());
    let known = flat(there);
    let says_so =
        |field: &str, value: &toml::Value| known.iter().any(|(own, known)| own == field && known == value);
    flat(line)
        .into_iter()
        .filter(|(field, value)| field != "setup" && !says_so(field, value))
        .map(|(field, _)| column_of(&field))
        .collect()
}

/// Takes a field out by its dotted name.
fn take_out(table: &mut toml::Table, field: &str) {
    match field.split_once('.') {
        None => {
            table.remove(field);
        }
        Some((above, rest)) => {
            if let Some(toml::Value::Table(inner)) = table.get_mut(above) {
                take_out(inner, rest);
            }
        }
    }
}

/// The fields of a table and of the tables in it, by their dotted names.
fn flat(above: &str, table: toml::Table) -> Vec<(String, toml::Value)> {
    let mut fields = Vec::new();
    for (name, value) in table {
        let name = if above.is_empty() { name } else { format!("{above}.{name}") };
        match value {
            toml::Value::Table(inner) => fields.extend(flat(&name, inner)),
            value => fields.push((name, value)),
        }
    }
    fields
}
