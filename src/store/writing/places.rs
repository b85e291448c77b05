//! Places: their files, and keeping an air at one.

use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::fields::names::{self, is_hidden, visible};
use crate::notebook::{AirEntry, Checked, DocumentKind, Finding, PlaceDocument, When, of_place, read};
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::folder::pages::{editable, write_and_record};
use crate::store::history::repository::FileChange;
use crate::store::writing::guards::{check_air, check_date};

/// What an editor finds the schema by.
const SCHEMA_LINE: &[u8] = b"#:schema ../schema/place.schema.json\n\n";

/// A place that is on disk.
#[derive(Debug, Clone)]
pub struct PlaceRecord {
    /// Its name: the file's.
    pub name: String,
    /// The document.
    pub place: PlaceDocument,
}

impl PlaceRecord {
    /// What it is called.
    pub fn title(&self) -> &str {
        self.place.title.as_deref().unwrap_or(&self.name)
    }

    /// Its airs.
    pub fn airs(&self) -> impl Iterator<Item = KeptAirRecord> {
        self.place.airs.values().map(|kept| KeptAirRecord {
            place: self.title().to_owned(),
            name: self.name.clone(),
            date: kept.date,
            typed: kept.typed(),
            air: kept.air.clone(),
            doubted: kept.doubted == Some(true),
        })
    }
}

/// An air that was kept.
#[derive(Debug, Clone)]
pub struct KeptAirRecord {
    /// What the place is called.
    pub place: String,
    /// Name of the place's file.
    pub name: String,
    /// When it was read.
    pub date: When,
    /// When it was typed in.
    pub typed: When,
    /// The reading.
    pub air: AirEntry,
    /// Whether it is doubted.
    pub doubted: bool,
}

impl KeptAirRecord {
    /// What the newest is known by, s: of two that were read at one moment the one that was typed last is the mended one.
    pub fn age_order(&self) -> (i64, i64) {
        (self.date.unix(), self.typed.unix())
    }
}

/// An air to be kept.
#[derive(Debug, Clone)]
pub struct NewKept {
    /// Where, as it is called.
    pub place: String,
    /// The reading, whole.
    pub air: AirEntry,
    /// When it was read.
    pub date: When,
    /// Whether it is doubted.
    pub doubted: bool,
}

/// Name of the file of a place as it is called: "Teal Pass" is teal-pass.
pub fn place_name(title: &str) -> Result<String, StoreError> {
    let refuse = |message: String| {
        let help = "Call it by a name of letters and digits, like \"Teal Pass\".";
        Err(StoreError::request(Some("place"), message, help))
    };
    if title.chars().any(|letter| is_hidden(letter) || matches!(letter, '/' | '\\')) {
        return refuse(format!(
            "The place \"{}\" has a slash or a control character, which would leave its folder.",
            visible(title)
        ));
    }
    let mut name = String::new();
    for letter in title.trim().to_lowercase().chars() {
        if letter.is_ascii_alphanumeric() {
            name.push(letter);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let short = name.chars().take(names::LONGEST).collect::<String>();
    let name = short.trim_end_matches('-');
    if name.is_empty() {
        return refuse(format!("The place \"{}\" has no letter a to z and no digit.", visible(title)));
    }
    Ok(if names::check(name).is_ok() { name.to_owned() } else { format!("at-{name}") })
}

fn path(name: &str) -> PathBuf {
    Path::new("places").join(format!("{name}.toml"))
}

/// Reads a place's file with everything that is wrong with it.
pub fn check(garage: &Garage, file: &Path, bytes: &[u8]) -> Checked<PlaceDocument> {
    let mut checked = read::<PlaceDocument>(DocumentKind::Place, file, bytes, garage.read_options());
    if let Some(place) = &checked.document {
        checked.findings.extend(of_place(file, &checked.fields, place));
    }
    checked
}

/// All places that can be read, and what is wrong with the others.
pub fn places(garage: &Garage) -> Result<(Vec<PlaceRecord>, Vec<Finding>), StoreError> {
    let folder = Path::new("places");
    let (mut records, mut findings) = (Vec::new(), Vec::new());
    let file_names = match garage.file_names(folder) {
        Err(StoreError::Barred(barred)) => return Ok((records, vec![barred.finding()])),
        file_names => file_names?,
    };
    for name in file_names {
        let Some(stem) = name.strip_suffix(".toml").filter(|stem| names::check(stem).is_ok()) else {
            continue;
        };
        let file = folder.join(&name);
        let bytes = match garage.read(&file) {
            Err(StoreError::Barred(barred)) => {
                findings.push(barred.finding());
                continue;
            }
            bytes => bytes?.unwrap_or_default(),
        };
        let checked = check(garage, &file, &bytes);
        match checked.document.filter(|_| checked.findings.is_empty()) {
            Some(place) => records.push(PlaceRecord { name: stem.to_owned(), place }),
            None => findings.extend(checked.findings),
        }
    }
    Ok((records, findings))
}

/// Keeps an air at a place; the place is made by its first air.
pub fn keep(garage: &Garage, new: &NewKept, moment: &Moment) -> Result<KeptAirRecord, StoreError> {
    check_air(Some(&new.air))?;
    check_date(new.date, moment)?;
    let name = place_name(&new.place)?;
    let file = path(&name);
    let _lock = garage.begin_writing(moment)?;
    let before = garage.read(&file)?;
    let known = before.as_deref().map(|bytes| check(garage, &file, bytes));
    if let Some(known) = known {
        no_findings(known.findings)?;
    }
    let typed = after_those_of(new.date, &places(garage)?.0, moment.now);
    let mut page = editable(garage, &file)?;
    let fields = DocumentKind::Place.catalogue();
    if before.is_none() {
        page.write("title", new.place.trim().into(), fields)?;
    }
    let elevation = new.air.elevation.as_ref().map(ToString::to_string);
    let knows_elevation = check(garage, &file, &page.bytes()).fields.get("elevation").is_some();
    if let Some(elevation) = elevation.filter(|_| !knows_elevation) {
        page.write("elevation", elevation.into(), fields)?;
    }
    let id = moment.new_id(&format!("air at {name}"));
    page.write(&format!("airs.{}-{id}", new.date.for_file_name()), on_one_line(new, typed).into(), fields)?;
    let mut bytes = page.bytes();
    let checked = check(garage, &file, &bytes);
    no_findings(checked.findings)?;
    if before.is_none() {
        bytes = [SCHEMA_LINE, &bytes].concat();
    }
    let title = checked.document.and_then(|place| place.title).unwrap_or_else(|| name.clone());
    let why = format!("Keep the air at {}", visible(&title));
    write_and_record(garage, &[(file, Some(bytes))], &why, vec![("Place", name.clone())], moment)?;
    let (date, air) = (new.date, new.air.clone());
    Ok(KeptAirRecord { place: title, name, date, typed, air, doubted: new.doubted })
}

/// When an air is typed: a clock that stands still, or was set back, puts none before those that were kept of the same moment.
fn after_those_of(date: When, known: &[PlaceRecord], now: When) -> When {
    let airs = known.iter().flat_map(|known| known.place.airs.values());
    let same_moment = airs.filter(|kept| kept.date.unix() == date.unix());
    match same_moment.map(|kept| kept.typed().unix()).max() {
        Some(last) if last >= now.unix() => When::from_unix(last + 1, now.offset_minutes()).unwrap_or(now),
        _ => now,
    }
}

/// An air on one line of its own, so that git merges what two sides kept.
fn on_one_line(new: &NewKept, typed: When) -> toml_edit::InlineTable {
    let parts = new.air.parts().into_iter();
    let air: toml_edit::InlineTable =
        parts.map(|(part, text)| (part, toml_edit::Value::from(text))).collect();
    let mut kept = toml_edit::InlineTable::new();
    kept.insert("date", new.date.to_string().into());
    if typed.unix() != new.date.unix() {
        kept.insert("kept", typed.to_string().into());
    }
    if new.doubted {
        kept.insert("doubted", true.into());
    }
    kept.insert("air", air.into());
    kept
}

/// The document of a place that is used for the first time; none where it has one, or can have none.
pub(super) fn first_use(garage: &Garage, title: &str) -> Result<Option<FileChange>, StoreError> {
    let Ok(name) = place_name(title) else {
        return Ok(None);
    };
    let file = path(&name);
    match garage.kind(&file) {
        Ok(None) => {}
        // What lies there is somebody's, and is said where it is read.
        Ok(Some(_)) | Err(StoreError::Barred(_)) => return Ok(None),
        Err(error) => return Err(error),
    }
    let mut page = editable(garage, &file)?;
    page.write("title", title.trim().into(), DocumentKind::Place.catalogue())?;
    let bytes = [SCHEMA_LINE, &page.bytes()].concat();
    Ok(check(garage, &file, &bytes).findings.is_empty().then_some((file, Some(bytes))))
}
