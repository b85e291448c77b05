//! Outings: logging one, mending one, and taking in those that were edited by hand.

pub(in crate::store) mod import;
pub(in crate::store) mod remove;

use std::path::{Path, PathBuf};

use crate::machine::Moment;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance, OutingChange};
use crate::notebook::maps::dyno;
use crate::notebook::{DocumentKind, Doubted, Entered, Outing, Page, PaperOptions, Verdict, ZONES, enter};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::folder::pages::editable;
use crate::store::history::repository::{FileChange, Message};
use crate::store::history::scan::{AIR_TRAILER, BIKE_TRAILER, OUTING_TRAILER};
use crate::store::index::papers::edited_by_hand;
use crate::store::index::rows::path_text;
use crate::store::index::setups::cylinders_of;
use crate::store::missing::missing_remark;
use crate::store::records::{OutingRecord, SetupName, SetupRecord, outing_id, setup_at};
use crate::store::writing::change::cylinders;
use crate::store::writing::edited::unrecorded::outings_edited_by_hand;
use crate::store::writing::guards::{check_air, check_date_of_run};
use crate::store::writing::places::first_use;

/// An outing to be logged.
#[derive(Debug, Clone)]
pub struct NewOuting {
    /// The bike.
    pub bike: String,
    /// Everything that was said of it; the setup is filled in.
    pub outing: Outing,
    /// The setup it ran; the newest at that date when none is named.
    pub setup: Option<SetupName>,
    /// A dyno curve as CSV text.
    pub dyno: Option<String>,
}

/// An outing that was logged.
#[derive(Debug, Clone)]
pub struct Logged {
    /// Its record.
    pub record: OutingRecord,
    /// The setup it ran.
    pub setup: Option<SetupRecord>,
    /// What else should be known.
    pub remarks: Vec<Guidance>,
}

/// Logs an outing.
pub fn log(garage: &Garage, new: &NewOuting, moment: &Moment) -> Result<Logged, StoreError> {
    garage.require_bike(&new.bike)?;
    check_air(new.outing.air.as_ref())?;
    check_date_of_run(new.outing.date, moment)?;
    if let Some(text) = &new.dyno {
        dyno::Curve::parse(text)
            .map_err(|error| StoreError::request(Some("dyno"), error.to_string(), error.help()))?;
    }
    let (_lock, merge_waits) = garage.begin_logging(moment)?;
    let mut edited = None;
    if !merge_waits {
        edited = outings_edited_by_hand(garage, &new.bike)?;
        take_in(garage, &new.bike, moment)?;
    }
    let book = Book::open(garage)?;
    let salt = format!("outing {} of {}", book.outings(&new.bike)?.len() + 1, new.bike);
    let id = moment.new_id(&salt);
    // What an open merge has put on disk is not on the bike.
    let mut remarks = if merge_waits {
        vec![
            Guidance::from(
                "A merge of git is still open. The run is recorded on what was here before it, and stays whichever way it ends: ",
            ) + Command::MendGarage
                + " ends it.",
        ]
    } else {
        unrecorded_remark(&book, &new.bike, &id)?
    };
    remarks.extend(edited.map(|said| Guidance::from(format!("{said}."))));
    if !merge_waits {
        remarks.extend(missing_remark(garage, &new.bike)?);
    }
    let setup = setup_of(&book, new, &mut remarks)?;
    let mut outing = new.outing.clone();
    outing.setup = Some(setup.id.clone());
    let names = cylinders::require_of_run(&book, &new.bike, &outing, Some(setup.number))?;
    outing.name_the_lean(&names);
    remarks.extend(meter_remarks(&book, &new.bike, &outing)?.into_iter().map(Guidance::from));
    let stem = format!("{}-{id}", outing.date.for_file_name());
    let folder = Garage::bike_folder(&new.bike).join("outings");
    let mut changes: Vec<FileChange> = Vec::new();
    if let Some(text) = &new.dyno {
        let name = format!("{stem}.csv");
        outing.dyno = Some(name.clone());
        changes.push((folder.join(name), Some(text.clone().into_bytes())));
    }
    let file = folder.join(format!("{stem}.toml"));
    let text = outing_text(&outing)?;
    no_findings(checks::outing(garage, &file, text.as_bytes()).findings)?;
    changes.push((file.clone(), Some(text.into_bytes())));
    if let Some(place) = outing.place.as_ref().filter(|_| !merge_waits) {
        changes.extend(first_use(garage, place)?);
    }
    record(garage, &changes, &new.bike, &outing, &id, moment)?;
    let cylinders = cylinders_of(book.index().connection(), &setup);
    outing.hear_names(&cylinders);
    remarks.extend(crate::store::writing::guards::retired_remark(garage, &new.bike));
    remarks.extend(crate::store::writing::guards::identity_remark(garage));
    Ok(Logged {
        record: OutingRecord {
            bike: new.bike.clone(),
            id,
            file,
            outing,
            setup: Some(setup.number),
            cylinders,
        },
        setup: Some(setup),
        remarks,
    })
}

pub(super) fn setup_of(
    book: &Book<'_>,
    new: &NewOuting,
    remarks: &mut Vec<Guidance>,
) -> Result<SetupRecord, StoreError> {
    if let Some(name) = &new.setup {
        return book.recorded(&new.bike, name);
    }
    let latest = book.recorded(&new.bike, &SetupName::Latest)?;
    if latest.date <= new.outing.date {
        return Ok(latest);
    }
    let setups = book.setups(&new.bike)?;
    let Some(then) = setup_at(&setups, new.outing.date) else {
        return Err(StoreError::request(
            Some("setup"),
            format!("{} had no setup yet on {}.", new.bike, new.outing.date.day()),
            Guidance::from("Name the setup it ran with ") + CommandOption::SetupNumber + ".",
        ));
    };
    if then.number != latest.number {
        let newest = format!(
            "Setup {} was the newest at {}; name another with ",
            then.number,
            new.outing.date.short()
        );
        remarks.push(Guidance::from(newest) + CommandOption::Setup + ".");
    }
    Ok(then.clone())
}

/// Edits that were never recorded would make an outing run a setup that is not the one on the bike.
fn unrecorded_remark(book: &Book<'_>, bike: &str, id: &str) -> Result<Vec<Guidance>, StoreError> {
    let Some(latest) = book.latest(bike)? else {
        return Ok(Vec::new());
    };
    let now = book.combination(bike, None)?;
    if let Some(finding) = now.findings.first() {
        let unread = format!("{finding} The run stands on setup {}, as it was recorded. ", latest.number);
        return Ok(vec![Guidance::from(unread) + Command::CheckGarage + " says what puts that in order."]);
    }
    let recorded = book.combination(bike, Some(&latest))?;
    if now.fields.same_as(&recorded.fields) {
        return Ok(Vec::new());
    }
    let differ = format!(
        "The files on disk differ from setup {}: if that is what ran, record it with ",
        latest.number
    );
    let remark = Guidance::from(differ)
        + Command::RecordSetup(Some(bike.to_owned()))
        + " and fix this outing with "
        + Command::MendOuting(bike.to_owned(), id.to_owned(), OutingChange::NewestSetup)
        + ".";
    Ok(vec![remark])
}

/// What the hour meter says beside the outings before.
fn meter_remarks(book: &Book<'_>, bike: &str, outing: &Outing) -> Result<Vec<String>, StoreError> {
    let Some(meter) = &outing.meter else {
        return Ok(Vec::new());
    };
    let outings = book.outings(bike)?;
    let before = outings
        .iter()
        .rev()
        .find(|record| record.outing.date <= outing.date && record.outing.meter.is_some());
    let Some((before, last)) = before.and_then(|record| Some((record, record.outing.meter.as_ref()?))) else {
        return Ok(Vec::new());
    };
    let hours = (meter.si() - last.si()) / 3600.0;
    let since = before.outing.date.day();
    Ok(vec![if hours < 0.0 {
        format!(
            "The meter stood at {last} on {since} and now shows {meter}: was it changed, or is it a typing mistake?"
        )
    } else {
        format!("{hours:.1} h on the meter since {since}.")
    }])
}

pub(super) fn outing_text(outing: &Outing) -> Result<String, StoreError> {
    let body = toml::to_string(outing).map_err(|error| {
        StoreError::request(
            None,
            format!("The outing cannot be written: {error}."),
            "Leave out what was given last.",
        )
    })?;
    Ok(format!("#:schema ../../../schema/outing.schema.json\n\n{body}"))
}

fn record(
    garage: &Garage,
    changes: &[FileChange],
    bike: &str,
    outing: &Outing,
    id: &str,
    moment: &Moment,
) -> Result<(), StoreError> {
    let place = outing.place.as_deref().map(|place| format!(" at {}", visible(place))).unwrap_or_default();
    let mut trailers = vec![(BIKE_TRAILER, bike.to_owned()), (OUTING_TRAILER, id.to_owned())];
    trailers.extend(outing.air.as_ref().map(|air| (AIR_TRAILER, air.line())));
    let message = Message { why: format!("Outing of {bike}{place}"), trailers };
    garage.repository().record(changes, &message, outing.date, moment.now)?;
    Ok(())
}

/// What of an outing is to be mended.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mend {
    /// Fields to be set, as a TOML table like the outing's own.
    pub set: toml::Table,
    /// Single fields as they were typed, FIELD=VALUE; one without a value is taken out.
    pub entered: Vec<Entered>,
    /// Fields to be taken out.
    pub remove: Vec<String>,
    /// The setup it ran, if that was wrong.
    pub setup: Option<SetupName>,
    /// What is to be marked as doubted.
    pub doubt: Vec<Doubted>,
    /// What is doubted no more.
    pub confirm: Vec<Doubted>,
}

impl Mend {
    /// Whether a field, or something in it, is given anew.
    pub fn sets(&self, field: &str) -> bool {
        let first = |one: &Entered| one.value.is_some() && one.field.split('.').next() == Some(field);
        self.set.contains_key(field) || self.entered.iter().any(first)
    }
}

/// The outing that is meant, to be mended; one whose file is broken is refused with what is wrong.
pub fn to_mend(book: &Book<'_>, bike: &str, wanted: &str) -> Result<OutingRecord, StoreError> {
    let garage = book.garage();
    garage.require_bike(bike)?;
    for broken in book.broken_outings(bike)? {
        if wanted.len() >= 3 && outing_id(&path_text(&broken.file)).starts_with(wanted) {
            let bytes = garage.read(&broken.file)?.unwrap_or_default();
            no_findings(checks::outing(garage, &broken.file, &bytes).findings)?;
        }
    }
    book.outing_to_write(bike, wanted)
}

/// An outing as it would be once mended. Nothing is written.
pub fn preview(book: &Book<'_>, known: &OutingRecord, mend: &Mend) -> Result<OutingRecord, StoreError> {
    let (garage, bike) = (book.garage(), &known.bike);
    let checked = checks::outing(garage, &known.file, &mended(book, known, mend)?);
    no_findings(checked.findings)?;
    let mut then = known.clone();
    if let Some(outing) = checked.document {
        let setups = book.setups(bike)?;
        let named = outing.setup.as_ref().and_then(|id| setups.iter().find(|setup| setup.id == *id));
        then.setup = named.or_else(|| setup_at(&setups, outing.date)).map(|setup| setup.number);
        then.outing = outing;
    }
    Ok(then)
}

/// An outing's file with what is to be mended.
fn mended(book: &Book<'_>, known: &OutingRecord, mend: &Mend) -> Result<Vec<u8>, StoreError> {
    let mut page = editable(book.garage(), &known.file)?;
    write_all(&mut page, "", &mend.set)?;
    // What is said of all anew takes away what one had of its own: it would not be heard there.
    for field in own_verdicts_said_anew(&known.outing, &mend.set) {
        page.take_out(&field);
    }
    let now = checks::outing(book.garage(), &known.file, &page.bytes()).fields;
    let options = PaperOptions {
        kind: DocumentKind::Outing,
        now: &now,
        refuse_bare_lengths: book.garage().is_imperial(),
        here: known.outing.date.offset(),
    };
    enter(&mut page, &mend.entered, options)?;
    for field in &mend.remove {
        if !page.take_out(&as_written(field)) {
            return Err(StoreError::request(
                Some(field),
                format!("The outing has no {}.", visible(field)),
                Command::ShowOuting + " lists what it has.",
            ));
        }
    }
    if let Some(name) = &mend.setup {
        let setup = book.recorded(&known.bike, name)?.id;
        page.write("setup", setup.into(), DocumentKind::Outing.catalogue())?;
    }
    write_doubts(&mut page, &known.outing, mend)?;
    Ok(page.bytes())
}

/// The verdicts of single cylinders at throttles of which something is said of all, unless it is said of the cylinder as well.
fn own_verdicts_said_anew(known: &Outing, set: &toml::Table) -> Vec<String> {
    let said = |table: Option<&toml::Table>, zone: &str| {
        let verdict = table.and_then(|table| table.get("verdict")).and_then(toml::Value::as_table);
        verdict.is_some_and(|verdict| verdict.contains_key(zone))
    };
    let of = |name: &str| set.get("cylinder")?.as_table()?.get(name)?.as_table();
    let mut anew = Vec::new();
    for (name, own) in &known.cylinder {
        let zones = own.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
        for (zone, _) in zones.into_iter().filter(|(zone, _)| said(Some(set), zone) && !said(of(name), zone))
        {
            anew.push(format!("{name}.verdict.{zone}"));
        }
    }
    anew
}

/// What is to be taken out as its file has it: "note" as its option is called, "1/2" and "right.full" as a verdict is typed.
fn as_written(field: &str) -> String {
    let zone = |typed: &str| ZONES.iter().find(|(name, short, _)| [*name, *short].contains(&typed));
    let (name, rest) = field.split_once('.').map_or((None, field), |(name, rest)| (Some(name), rest));
    match (name, zone(rest)) {
        (None, _) if field == "note" => "notes".to_owned(),
        (None, _) if field == "fixed" => "mended".to_owned(),
        (None, Some((zone, ..))) => format!("verdict.{zone}"),
        (Some(name), Some((zone, ..))) if name != "verdict" => format!("{name}.verdict.{zone}"),
        _ => field.to_owned(),
    }
}

/// Writes what is doubted, where that changes.
fn write_doubts(page: &mut Page, outing: &Outing, mend: &Mend) -> Result<(), StoreError> {
    if let Some(what) = mend.confirm.iter().find(|what| !outing.doubts(**what)) {
        let word = what.word();
        return Err(StoreError::request(
            Some("confirm"),
            format!(
                "The outing's {word} {} not doubted.",
                if *what == Doubted::Hours { "are" } else { "is" }
            ),
            Command::ShowOuting + " says what is.",
        ));
    }
    let doubted = Doubted::ALL
        .into_iter()
        .filter(|what| (outing.doubts(*what) || mend.doubt.contains(what)) && !mend.confirm.contains(what));
    let doubted: toml_edit::Array = doubted.map(Doubted::word).collect();
    if mend.doubt.is_empty() && mend.confirm.is_empty() {
        return Ok(());
    }
    if doubted.is_empty() {
        page.take_out("doubted");
    } else {
        page.write("doubted", doubted.into(), DocumentKind::Outing.catalogue())?;
    }
    Ok(())
}

/// Mends an outing; with nothing to mend, takes in what was edited by hand.
pub fn mend(
    garage: &Garage,
    bike: &str,
    wanted: &str,
    mend: &Mend,
    moment: &Moment,
) -> Result<OutingRecord, StoreError> {
    garage.require_bike(bike)?;
    let _lock = garage.begin_writing(moment)?;
    let book = Book::open(garage)?;
    let known = to_mend(&book, bike, wanted)?;
    let bytes = mended(&book, &known, mend)?;
    let checked = checks::outing(garage, &known.file, &bytes);
    no_findings(checked.findings)?;
    if let Some(outing) = &checked.document {
        check_date_of_run(outing.date, moment)?;
        let then = preview(&book, &known, mend)?;
        cylinders::require_of_run(&book, bike, outing, then.setup)?;
    }
    if garage.recorded(&known.file)?.as_ref() == Some(&bytes) {
        return Err(StoreError::NothingChanged {
            message: format!(
                "{bike}: the outing of {} is so already; nothing recorded.",
                known.outing.date.short()
            ),
            help: Guidance::from("Name what to fix, like ")
                + Command::MendOuting(bike.to_owned(), known.id.clone(), OutingChange::Right)
                + format!(", or edit {} and run this again.", known.file.display()),
        });
    }
    let changes = vec![(known.file.clone(), Some(bytes))];
    let message = Message {
        why: format!("Fix the outing of {bike} on {}", known.outing.date.day()),
        trailers: vec![(BIKE_TRAILER, bike.to_owned()), (OUTING_TRAILER, known.id.clone())],
    };
    garage.repository().record(&changes, &message, moment.now, moment.now)?;
    Book::open(garage)?.outing(bike, &known.id)
}

/// Writes the values of a table, tables in tables likewise, below the dotted field `above`.
fn write_all(page: &mut Page, above: &str, table: &toml::Table) -> Result<(), StoreError> {
    for (name, value) in table {
        let field = if above.is_empty() { name.clone() } else { format!("{above}.{name}") };
        match value {
            toml::Value::Table(inner) => write_all(page, &field, inner)?,
            value => {
                let unwritable = |_| {
                    StoreError::request(
                        Some(&field),
                        format!("{} cannot be written.", visible(&field)),
                        "Leave out what was given last.",
                    )
                };
                let value = value.to_string().parse::<toml_edit::Value>().map_err(unwritable)?;
                page.write(&field, value, DocumentKind::Outing.catalogue())?;
            }
        }
    }
    Ok(())
}

/// Records outing files of a bike that were written or edited by hand. Files with errors stay as they are.
pub(in crate::store) fn take_in(
    garage: &Garage,
    bike: &str,
    moment: &Moment,
) -> Result<Vec<PathBuf>, StoreError> {
    let folder = Garage::bike_folder(bike).join("outings");
    let sound = |file: &Path, bytes: &[u8]| checks::outing(garage, file, bytes).findings.is_empty();
    let changes = edited_by_hand(garage, &folder, sound)?;
    if changes.is_empty() {
        return Ok(Vec::new());
    }
    let message = Message {
        why: format!("Take in outings of {bike} that were edited by hand"),
        trailers: vec![(BIKE_TRAILER, bike.to_owned())],
    };
    garage.repository().record_by_the_way(&changes, &message, moment.now, moment.now)?;
    Ok(changes.into_iter().map(|(path, _)| PathBuf::from(path_text(&path))).collect())
}
