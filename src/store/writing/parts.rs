//! Parts: taking one into the book, and writing down what happened to it.

use std::path::{Path, PathBuf};

use crate::machine::{self, Moment};
use crate::notebook::fields::names::{self, visible};
use crate::notebook::{
    Checked, Deed, DocumentKind, Entered, Page, PaperOptions, Part, When, enter, of_part, read,
};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::folder::make::editable;
use crate::store::history::repository::{FileChange, Message};
use crate::store::index::documents::Paper;
use crate::store::index::papers::take_in;
use crate::store::writing::builds::ENGINE_TRAILER;
use crate::store::writing::guards::check_date;
use crate::store::writing::jobs::file_of_part;

/// Name of the trailer that carries a part.
pub(super) const PART_TRAILER: &str = "Part";

/// A part that is on disk.
#[derive(Debug, Clone)]
pub struct PartRecord {
    /// Its name: the file's.
    pub name: String,
    /// Its file in the garage.
    pub file: PathBuf,
    /// The document.
    pub part: Part,
}

/// A part to be taken into the book.
#[derive(Debug, Clone)]
pub struct NewPart {
    /// Its name.
    pub name: String,
    /// What is known of it.
    pub entered: Vec<Entered>,
    /// The engine it is put into, and the part that came out for it.
    pub fitted: Option<(String, Option<String>)>,
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
    /// The engine it was put into.
    pub engine: Option<String>,
    /// For a part that is put in: take it out of the engine it is in first.
    pub moved: bool,
    /// For a part that is put in: the part that came out for it.
    pub instead_of: Option<String>,
    /// Fields of the event as typed: hours, ran, how, by, note.
    pub said: Vec<(&'static str, String)>,
}

/// Reads a part's file with everything that is wrong with it.
pub fn check(garage: &Garage, file: &Path, bytes: &[u8]) -> Checked<Part> {
    let mut checked = read::<Part>(DocumentKind::Part, file, bytes, garage.read_options());
    if let Some(part) = &checked.document {
        checked.findings.extend(of_part(file, &checked.fields, part));
    }
    checked
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
    let mut sheet = Sheet { garage, file, page };
    sheet.write(&new.entered)?;
    let kind = new.entered.iter().find(|one| one.field == "kind").and_then(|one| one.value.clone());
    let kind = kind.unwrap_or_default();
    let mut changes = Vec::new();
    let mut why = format!("Take the part {} into the book", new.name);
    let mut trailers = vec![(PART_TRAILER, new.name.clone())];
    if let Some((engine, instead_of)) = &new.fitted {
        let date = new.date.unwrap_or(moment.now);
        check_date(date, moment)?;
        garage.require_engine(engine)?;
        let date = after_what_is_written(&Book::open(garage)?, date, [instead_of.as_deref()])?;
        let by = new.by.as_ref().map(|by| ("by", by.clone()));
        let said: Vec<_> = by.into_iter().collect();
        changes.extend(come_out(garage, instead_of.as_deref(), (engine, &kind), (date, moment), &said)?);
        sheet.event(Deed::Fitted, date, Some(engine), &said, moment)?;
        // What is taken into the book as it is in the engine is no job; what comes in for another is.
        if let Some(other) = instead_of {
            let goes = (new.name.as_str(), None, Some(engine.as_str()));
            changes.extend(file_of_part(&Book::open(garage)?, goes, Some(other), (date, moment))?);
        }
        why = format!("{why} and fit it to {engine}");
        trailers.push((ENGINE_TRAILER, engine.clone()));
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
    let date = after_what_is_written(&book, date, [Some(deed.part.as_str()), deed.instead_of.as_deref()])?;
    require_possible(&known, deed, date)?;
    let mut sheet = Sheet { garage, file: known.file.clone(), page: editable(garage, &known.file)? };
    let mut changes = Vec::new();
    if let Some(engine) = &deed.engine {
        garage.require_engine(engine)?;
        changes.extend(come_out(
            garage,
            deed.instead_of.as_deref(),
            (engine, &known.part.kind),
            (date, moment),
            &[],
        )?);
    }
    if deed.moved && known.part.engine_at(date).is_some() {
        sheet.event(Deed::Removed, date, None, &[], moment)?;
    }
    sheet.event(deed.did, date, deed.engine.as_ref(), &deed.said, moment)?;
    changes.push(sheet.checked()?);
    if matches!(deed.did, Deed::Fitted | Deed::Removed) {
        let from = known.part.engine_at(date).map(|(engine, _)| engine);
        let goes = (deed.part.as_str(), from, deed.engine.as_deref());
        changes.extend(file_of_part(&book, goes, deed.instead_of.as_deref(), (date, moment))?);
    }
    let engine = deed.engine.as_deref().or_else(|| known.part.engine_at(date).map(|(engine, _)| engine));
    let where_to = match (deed.did, engine) {
        (Deed::Fitted, Some(engine)) => format!(" to {engine}"),
        (Deed::Failed, Some(engine)) => format!(" in {engine}"),
        (did, Some(engine)) if did.takes_out() => format!(" out of {engine}"),
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
    let mut sheet = Sheet { garage, file: known.file.clone(), page: editable(garage, &known.file)? };
    sheet.write(entered)?;
    let change = sheet.checked()?;
    let after = check(garage, &known.file, change.1.as_deref().unwrap_or_default()).document;
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
            message: "The part's file says that already.".into(),
            help: format!(
                "Name what to mend, like `reedbook part edit {name} past_hours=0`, or edit {} and run this again.",
                known.file.display()
            ),
        });
    }
    let message =
        Message { why: format!("Mend the part {name}"), trailers: vec![(PART_TRAILER, name.to_owned())] };
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

/// The usual slips, said in the words of the command and not of the file.
fn require_possible(known: &PartRecord, deed: &PartDeed, date: When) -> Result<(), StoreError> {
    let name = &known.name;
    let place = known.part.engine_at(date);
    let wrong = |message: String, help: String| Err(StoreError::request(Some("part"), message, help));
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
                format!(
                    "If it was made new, say so first: `reedbook part renew {name}`; a new part gets its own name with `reedbook part add`."
                ),
            );
        }
    }
    match (deed.did, place) {
        (Deed::Fitted, Some((engine, _))) if Some(engine) == deed.engine.as_deref() => wrong(
            format!("{name} is in {engine} already."),
            format!("`reedbook part show {name}` shows its history."),
        ),
        (Deed::Fitted, Some((engine, since))) if !deed.moved => wrong(
            format!(
                "{name} has been in {engine} since {}: it cannot be in two engines at once.",
                since.day()
            ),
            format!(
                "`reedbook part move {name} {}` takes it out there and puts it in here.",
                deed.engine.as_deref().unwrap_or("ENGINE")
            ),
        ),
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
                    format!("`reedbook part fit {name} ENGINE` says where it was put."),
                ),
            }
        }
        _ => Ok(()),
    }
}

/// Takes a part out of an engine because another one comes in.
fn come_out(
    garage: &Garage,
    instead_of: Option<&str>,
    (engine, kind): (&str, &str),
    (date, moment): (When, &Moment),
    said: &[(&'static str, String)],
) -> Result<Option<FileChange>, StoreError> {
    let Some(old) = instead_of else {
        return Ok(None);
    };
    let known = Book::open(garage)?.part(old)?;
    if known.part.kind != kind {
        return Err(StoreError::request(
            Some("instead-of"),
            format!("{old} is a {}, and a {} goes in.", visible(&known.part.kind), visible(kind)),
            format!(
                "Name the {} that came out; `reedbook part list --engine {engine}` shows what is in it.",
                visible(kind)
            ),
        ));
    }
    if known.part.engine_at(date).map(|(place, _)| place) != Some(engine) {
        return Err(StoreError::request(
            Some("instead-of"),
            format!("{old} is not in {engine} on {}.", date.day()),
            format!("`reedbook part list --engine {engine}` shows what is in it."),
        ));
    }
    let mut sheet = Sheet { garage, file: known.file.clone(), page: editable(garage, &known.file)? };
    sheet.event(Deed::Removed, date, None, said, moment)?;
    sheet.checked().map(Some)
}

/// A part's file while it is written to.
pub(super) struct Sheet<'g> {
    pub(super) garage: &'g Garage,
    pub(super) file: PathBuf,
    pub(super) page: Page,
}

impl Sheet<'_> {
    pub(super) fn write(&mut self, entered: &[Entered]) -> Result<(), StoreError> {
        let before = check(self.garage, &self.file, &self.page.bytes());
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
        engine: Option<&String>,
        said: &[(&'static str, String)],
        moment: &Moment,
    ) -> Result<(), StoreError> {
        let known = check(self.garage, &self.file, &self.page.bytes()).fields.iter().count();
        let id = moment.new_id(&format!("{} {} {known}", self.file.display(), did.word()));
        let field = |inner: &str| format!("events.{}-{id}.{inner}", date.for_file_name());
        let mut entered = vec![
            Entered::new(&field("date"), Some(&date.to_string())),
            Entered::new(&field("did"), Some(did.word())),
        ];
        entered.extend(engine.map(|engine| Entered::new(&field("engine"), Some(engine))));
        entered.extend(said.iter().map(|(name, value)| Entered::new(&field(name), Some(value))));
        self.write(&entered)
    }

    pub(super) fn checked(self) -> Result<FileChange, StoreError> {
        let bytes = self.page.bytes();
        no_findings(check(self.garage, &self.file, &bytes).findings)?;
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
            no_findings(check(self.garage(), &file, &bytes).findings)?;
        }
        let known = parts.iter().map(|record| record.name.as_str());
        let help = match crate::notebook::nearest_name(name, known) {
            Some(near) => format!("Did you mean {near}?"),
            None if parts.is_empty() => "Take one in with `reedbook part add NAME --kind KIND`.".to_owned(),
            None => "`reedbook part list` shows them.".to_owned(),
        };
        Err(StoreError::request(Some("part"), format!("There is no part \"{}\".", visible(name)), help))
    }

    /// Part files that cannot be read.
    pub fn broken_parts(&self) -> Result<Vec<crate::store::book::BrokenOuting>, StoreError> {
        self.broken_papers(Paper::Part, None)
    }
}
