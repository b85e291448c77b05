//! Parts: taking one into the book, and writing down what happened to it.

pub(in crate::store) mod places;
pub(in crate::store) mod put_off;

use std::path::PathBuf;

use crate::machine::{self, Moment};
use crate::notebook::fields::names::{self, visible};
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{Deed, DocumentKind, Entered, Page, PaperOptions, Part, PartPlace, When, enter};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::folder::pages::editable;
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::ENGINE_TRAILER;
use crate::store::index::documents::Paper;
use crate::store::index::papers::take_in;
use crate::store::records::PartRecord;
use crate::store::writing::guards::check_date;
use crate::store::writing::jobs::{PartGoes, file_of_part};
use crate::store::writing::parts::places::{Fitting, require_place};

/// Name of the trailer that carries a part.
pub(super) const PART_TRAILER: &str = "Part";

/// A part to be taken into the book.
#[derive(Debug, Clone)]
pub struct NewPart {
    /// Its name.
    pub name: String,
    /// What is known of it.
    pub entered: Vec<Entered>,
    /// Where it is put.
    pub fitted: Option<Fitting>,
    /// When it was put in, if not now.
    pub date: Option<When>,
    /// Who put it in.
    pub by: Option<String>,
}

/// What was done to a part.
#[derive(Debug, Clone)]
pub struct PartDeed {
    /// The part.
    pub part: String,
    /// What was done.
    pub did: Deed,
    /// When, if not now.
    pub date: Option<When>,
    /// Where it was put, of a part that is put in.
    pub fitting: Option<Fitting>,
    /// For a part that is put in: take it out of where it is first.
    pub moved: bool,
    /// Fields of the event as typed: hours, ran, how, by, note.
    pub said: Vec<(&'static str, String)>,
}

/// Takes a part into the book.
pub fn add(garage: &Garage, new: &NewPart, moment: &Moment) -> Result<PartRecord, StoreError> {
    names::check(&new.name)?;
    let file = Garage::part_path(&new.name);
    let _lock = garage.begin_writing(moment)?;
    if garage.kind(&file)?.is_some() {
        return Err(StoreError::Taken { what: "a part", name: new.name.clone() });
    }
    take_in(garage, Paper::Part, None, moment)?;
    let page = Page::open(&file, None)?;
    let mut sheet = PartFile { garage, file, page };
    sheet.write(&new.entered)?;
    let kind = new.entered.iter().find(|one| one.field == "kind").and_then(|one| one.value.clone());
    let kind = kind.unwrap_or_default();
    let mut changes = Vec::new();
    let mut why = format!("Take the part {} into the book", new.name);
    let mut trailers = vec![(PART_TRAILER, new.name.clone())];
    if let Some(fitting) = &new.fitted {
        let date = new.date.unwrap_or(moment.now);
        check_date(date, moment)?;
        garage.require_engine(&fitting.engine)?;
        let book = Book::open(garage)?;
        let instead_of = fitting.instead_of.as_deref();
        let date = after_what_is_written(&book, date, [instead_of])?;
        let fitting = placed(&book, fitting, date)?;
        require_place(&book, (&new.name, &kind), &fitting, date)?;
        let by = new.by.as_ref().map(|by| ("by", by.clone()));
        let said: Vec<_> = by.into_iter().collect();
        changes.extend(come_out(garage, &fitting, &kind, (date, moment), &said)?);
        sheet.event(Deed::Fitted, date, Some(&fitting), &said, moment)?;
        // What is taken into the book as it is in the engine is no job; what comes in for another is.
        if instead_of.is_some() {
            let goes = PartGoes {
                part: &new.name,
                engine: &fitting.engine,
                from: None,
                to: Some(fitting.words()),
                instead_of,
            };
            changes.extend(file_of_part(&book, goes, (date, moment))?);
        }
        why = format!("{why} and fit it to {}", fitting.words());
        trailers.push((ENGINE_TRAILER, fitting.engine.clone()));
    }
    let (file, text) = sheet.checked()?;
    let text = text.map(|text| [&b"#:schema ../schema/part.schema.json\n\n"[..], &text].concat());
    changes.push((file, text));
    garage.repository().record(&changes, &Message { why, trailers }, moment.now, moment.now)?;
    Book::open(garage)?.part(&new.name)
}

/// Writes down what was done to a part.
pub fn act(garage: &Garage, deed: &PartDeed, moment: &Moment) -> Result<PartRecord, StoreError> {
    let date = deed.date.unwrap_or(moment.now);
    check_date(date, moment)?;
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, Paper::Part, None, moment)?;
    let book = Book::open(garage)?;
    let known = book.part(&deed.part)?;
    let fitting = deed.fitting.as_ref();
    let instead_of = fitting.and_then(|fitting| fitting.instead_of.as_deref());
    let date = after_what_is_written(&book, date, [Some(deed.part.as_str()), instead_of])?;
    if let Some(fitting) = fitting {
        garage.require_engine(&fitting.engine)?;
    }
    let fitting = fitting.map(|fitting| placed(&book, fitting, date)).transpose()?;
    let fitting = fitting.as_ref();
    require_possible(&known, deed, fitting, date)?;
    let mut sheet = PartFile { garage, file: known.file.clone(), page: editable(garage, &known.file)? };
    let mut changes = Vec::new();
    if let Some(fitting) = fitting {
        let kind = &known.part.kind;
        require_place(&book, (&deed.part, kind), fitting, date)?;
        changes.extend(come_out(garage, fitting, kind, (date, moment), &[])?);
    }
    let place = known.part.place_at(date);
    if deed.moved && place.is_some() {
        sheet.event(Deed::Removed, date, None, &[], moment)?;
    }
    sheet.event(deed.did, date, fitting, &deed.said, moment)?;
    changes.push(sheet.checked()?);
    let engine = fitting.map(|fitting| fitting.engine.as_str()).or(place.map(|place| place.engine));
    if let Some(engine) = engine.filter(|_| matches!(deed.did, Deed::Fitted | Deed::Removed)) {
        let (from, to) = (place.map(PartPlace::words), fitting.map(Fitting::words));
        let goes = PartGoes { part: &deed.part, engine, from, to, instead_of };
        changes.extend(file_of_part(&book, goes, (date, moment))?);
    }
    let words = fitting.map(Fitting::words).or(place.map(PartPlace::words)).unwrap_or_default();
    let where_to = match (deed.did, engine) {
        (Deed::Fitted, Some(_)) => format!(" to {words}"),
        (Deed::Failed, Some(_)) => format!(" in {words}"),
        (did, Some(_)) if did.takes_out() => format!(" out of {words}"),
        _ => String::new(),
    };
    let why = match deed.did {
        Deed::Failed => format!("The part {} failed{where_to}", deed.part),
        did => format!("The part {} was {}{where_to}", deed.part, did.past()),
    };
    let mut trailers = vec![(PART_TRAILER, deed.part.clone())];
    trailers.extend(engine.map(|engine| (ENGINE_TRAILER, engine.to_owned())));
    garage.repository().record(&changes, &Message { why, trailers }, date, moment.now)?;
    Book::open(garage)?.part(&deed.part)
}

/// Sets fields of a part, or takes them out.
pub fn mend(
    garage: &Garage,
    name: &str,
    entered: &[Entered],
    moment: &Moment,
) -> Result<PartRecord, StoreError> {
    let _lock = garage.begin_writing(moment)?;
    let known = Book::open(garage)?.part(name)?;
    let mut sheet = PartFile { garage, file: known.file.clone(), page: editable(garage, &known.file)? };
    sheet.write(entered)?;
    let change = sheet.checked()?;
    let after = checks::part(garage, &known.file, change.1.as_deref().unwrap_or_default()).document;
    for event in after.iter().flat_map(|part| part.events.values()) {
        check_date(event.date, moment)?;
    }
    if garage.recorded(&known.file)? == change.1 {
        if garage.read(&known.file)? != change.1 {
            // An edit by hand is taken back: the record says it already, the disk does not.
            garage.gate().write(&known.file, change.1.as_deref().unwrap_or_default())?;
            return Book::open(garage)?.part(name);
        }
        return Err(StoreError::NothingChanged {
            message: format!("{name} is so already; nothing recorded."),
            help: Guidance::from("Name what to fix, like ")
                + Command::MendPart(name.to_owned())
                + format!(", or edit {} and run this again.", known.file.display()),
        });
    }
    let message =
        Message { why: format!("Fix the part {name}"), trailers: vec![(PART_TRAILER, name.to_owned())] };
    garage.repository().record(&[change], &message, moment.now, moment.now)?;
    Book::open(garage)?.part(name)
}

/// What is written down later of one moment happened later: a day without a time is always its noon, and the order of two
/// events would else go by their random ids. Whole seconds are added until none of the parts has an event at that moment.
fn after_what_is_written<const N: usize>(
    book: &Book<'_>,
    date: When,
    parts: [Option<&str>; N],
) -> Result<When, StoreError> {
    let mut taken = Vec::new();
    for name in parts.into_iter().flatten() {
        taken.extend(book.part(name)?.part.events.values().map(|event| event.date.unix()));
    }
    let mut unix = date.unix();
    while taken.contains(&unix) {
        unix += 1;
    }
    Ok(When::from_unix(unix, date.offset_minutes()).unwrap_or(date))
}

/// Where a part goes; what comes in for another goes where that one was.
fn placed(book: &Book<'_>, fitting: &Fitting, date: When) -> Result<Fitting, StoreError> {
    let Some(old) = &fitting.instead_of else { return Ok(fitting.clone()) };
    let old = book.part(old)?;
    Ok(fitting.clone().at_that_of(old.part.place_at(date)))
}

/// The usual slips, said in the words of the command and not of the file.
fn require_possible(
    known: &PartRecord,
    deed: &PartDeed,
    fitting: Option<&Fitting>,
    date: When,
) -> Result<(), StoreError> {
    let name = &known.name;
    let place = known.part.place_at(date);
    let wrong = |message: String, help: Guidance| Err(StoreError::request(Some("part"), message, help));
    if known.part.is_gone_at(date) && deed.did != Deed::Renewed {
        let end = known
            .part
            .events_in_order()
            .into_iter()
            .rev()
            .map(|(_, event)| event)
            .find(|event| matches!(event.did, Deed::Failed | Deed::Retired | Deed::Renewed));
        if let Some(end) = end.filter(|end| end.did != Deed::Renewed) {
            let was = if end.did == Deed::Failed { "" } else { "was " };
            return wrong(
                format!("{name} {was}{} on {}.", end.did.word(), end.date.day()),
                Guidance::from("If it was rebuilt, say so first: ")
                    + Command::RenewPart(name.clone())
                    + "; a new part gets its own name with "
                    + Command::MakeAnotherPart
                    + ".",
            );
        }
    }
    match (deed.did, place) {
        (Deed::Fitted, Some(place)) if fitting.is_some_and(|fitting| fitting.is_at(place)) => {
            Err(StoreError::NothingChanged {
                message: format!("{name} is in {} already.", place.words()),
                help: Command::ShowPart(name.clone()) + " shows its history.",
            })
        }
        (Deed::Fitted, Some(place)) if !deed.moved => {
            let goes = fitting.cloned().unwrap_or_default();
            let places = if goes.engine == place.engine { "places" } else { "engines" };
            wrong(
                format!(
                    "{name} has been in {} since {}: it cannot be in two {places} at once.",
                    place.words(),
                    place.since.day()
                ),
                Command::MovePart { part: name.clone(), engine: goes.engine, at: goes.at }
                    + " takes it out there and puts it in here.",
            )
        }
        (Deed::Removed, None) => {
            let first = known.part.events_in_order().into_iter().find(|(_, event)| event.did == Deed::Fitted);
            match first {
                Some((_, event)) if event.date > date => wrong(
                    format!(
                        "{name} was fitted on {}, after {}: it cannot come out before it went in.",
                        event.date.day(),
                        date.day()
                    ),
                    "Check the date.".into(),
                ),
                _ => wrong(
                    format!("{name} is in no engine."),
                    Command::FitPart(name.clone()) + " says where it was put.",
                ),
            }
        }
        _ => Ok(()),
    }
}

/// Takes a part out of where another one comes in.
fn come_out(
    garage: &Garage,
    fitting: &Fitting,
    kind: &str,
    (date, moment): (When, &Moment),
    said: &[(&'static str, String)],
) -> Result<Option<FileChange>, StoreError> {
    let Some(old) = &fitting.instead_of else {
        return Ok(None);
    };
    let engine = &fitting.engine;
    let known = Book::open(garage)?.part(old)?;
    if known.part.kind != kind {
        return Err(StoreError::request(
            Some("instead-of"),
            format!("{old} is a {}, and a {} goes in.", visible(&known.part.kind), visible(kind)),
            Guidance::from(format!("Name the {} that came out; ", visible(kind)))
                + Command::ListParts(Some(engine.clone()))
                + " shows what is in it.",
        ));
    }
    // What failed there, or was taken out before, needs not come out again.
    let events = known.part.events_in_order();
    let last = events.iter().rev().map(|(_, event)| event).find(|event| event.did.takes_out());
    let was = last.filter(|last| last.date <= date && known.part.place_at(date).is_none());
    let was = was.and_then(|last| When::from_unix(last.date.unix() - 1, last.date.offset_minutes()));
    if was
        .and_then(|then| known.part.place_at(then))
        .is_some_and(|place| fitting.is_at(place) || fitting.is_near(place))
    {
        return Ok(None);
    }
    if !known.part.place_at(date).is_some_and(|place| fitting.is_at(place) || fitting.is_near(place)) {
        return Err(StoreError::request(
            Some("instead-of"),
            format!("{old} is not in {} on {}.", fitting.words(), date.day()),
            Command::ListParts(Some(engine.clone())) + " shows what is in it.",
        ));
    }
    let mut sheet = PartFile { garage, file: known.file.clone(), page: editable(garage, &known.file)? };
    sheet.event(Deed::Removed, date, None, said, moment)?;
    sheet.checked().map(Some)
}

/// A part's file while it is written to.
pub(super) struct PartFile<'g> {
    pub(super) garage: &'g Garage,
    pub(super) file: PathBuf,
    pub(super) page: Page,
}

impl PartFile<'_> {
    pub(super) fn write(&mut self, entered: &[Entered]) -> Result<(), StoreError> {
        let before = checks::part(self.garage, &self.file, &self.page.bytes());
        let options = PaperOptions {
            kind: DocumentKind::Part,
            now: &before.fields,
            refuse_bare_lengths: self.garage.is_imperial(),
            here: machine::offset_here(),
        };
        Ok(enter(&mut self.page, entered, options)?)
    }

    fn event(
        &mut self,
        did: Deed,
        date: When,
        fitting: Option<&Fitting>,
        said: &[(&'static str, String)],
        moment: &Moment,
    ) -> Result<(), StoreError> {
        let known = checks::part(self.garage, &self.file, &self.page.bytes()).fields.iter().count();
        let id = moment.new_id(&format!("{} {} {known}", self.file.display(), did.word()));
        let field = |inner: &str| format!("events.{}-{id}.{inner}", date.for_file_name());
        let mut entered = vec![
            Entered::new(&field("date"), Some(&date.to_string())),
            Entered::new(&field("did"), Some(did.word())),
        ];
        entered.extend(fitting.map(|fitting| Entered::new(&field("engine"), Some(&fitting.engine))));
        let at = fitting.and_then(|fitting| fitting.at.as_deref());
        entered.extend(at.map(|at| Entered::new(&field("cylinder"), Some(at))));
        entered.extend(said.iter().map(|(name, value)| Entered::new(&field(name), Some(value))));
        self.write(&entered)
    }

    pub(super) fn checked(self) -> Result<FileChange, StoreError> {
        let bytes = self.page.bytes();
        no_findings(checks::part(self.garage, &self.file, &bytes).findings)?;
        Ok((self.file, Some(bytes)))
    }
}

impl Book<'_> {
    /// All parts that can be read, by name.
    pub fn parts(&self) -> Result<Vec<PartRecord>, StoreError> {
        let papers = self.papers::<Part>(Paper::Part, None)?;
        let records = papers.into_iter().map(|paper| PartRecord {
            name: paper.owner,
            file: PathBuf::from(paper.file),
            part: paper.document,
        });
        Ok(records.collect())
    }

    /// A part by its name.
    pub fn part(&self, name: &str) -> Result<PartRecord, StoreError> {
        let parts = self.parts()?;
        if let Some(found) = parts.iter().find(|record| record.name == name) {
            return Ok(found.clone());
        }
        let file = Garage::part_path(name);
        if names::check(name).is_ok()
            && let Some(bytes) = self.garage().read(&file)?
        {
            no_findings(checks::part(self.garage(), &file, &bytes).findings)?;
        }
        let known = parts.iter().map(|record| record.name.as_str());
        let help = match crate::notebook::nearest_name(name, known) {
            Some(near) => format!("Did you mean {near}?").into(),
            None if parts.is_empty() => Guidance::from("Take one in with ") + Command::MakePart + ".",
            None => Command::ListParts(None) + " shows them.",
        };
        Err(StoreError::request(Some("part"), format!("There is no part \"{}\".", visible(name)), help))
    }

    /// Part files that cannot be read.
    pub fn broken_parts(&self) -> Result<Vec<crate::store::records::BrokenOuting>, StoreError> {
        self.broken_papers(Paper::Part, None)
    }
}
