//! Checking a whole garage: every file against its schema, git's objects, and the index against a fresh one.

pub(super) mod cylinders;

use std::path::{Path, PathBuf};

use crate::advice::building::{KINDS, unknown_figures};
use crate::advice::slips::{beyond_the_grooves, dated_ahead};
use crate::notebook::fields::names;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::notebook::rules;
use crate::notebook::{
    Assumptions, BikeDocument, Checklists, Code, DocumentKind, Finding, GarageDocument, JetBox, Limits,
    NeedleBox, Outing, Place, SetupFiles, Shares, When, nearest_name, read,
};
use crate::store::{
    Barred, Book, EntryKind, FileState, GARAGE_FILE, Garage, NewestRecorded, SetupRecord, StoreError,
    Unrecorded, check_build, check_job, check_outing, check_part, check_place, no_plain_files, odd_line,
    schemas, unrecorded,
};

/// What a check found.
#[derive(Debug, Clone, Default)]
pub struct GarageCheck {
    /// Files that were read.
    pub files: usize,
    /// Setups that were read again from git.
    pub setups: usize,
    /// What is wrong in files.
    pub findings: Vec<Finding>,
    /// Git objects that are damaged.
    pub damaged: Vec<String>,
    /// Whether the index gave the answers of a fresh one.
    pub index_agrees: bool,
    /// Files that are deleted or changed on disk and not recorded.
    pub unrecorded: Vec<Unrecorded>,
    /// What is worth knowing and not wrong.
    pub remarks: Vec<Guidance>,
    /// Whether git is half-way through a merge or the like, which the first remarks say: nothing else can be mended before that.
    pub under_way: bool,
}

impl GarageCheck {
    /// Whether nothing is wrong.
    pub fn is_sound(&self) -> bool {
        // What was recorded and is gone is wrong, whatever still reads.
        let is_gone = |one: &Unrecorded| one.state == FileState::Deleted;
        self.findings.is_empty()
            && self.damaged.is_empty()
            && self.index_agrees
            && !self.unrecorded.iter().any(is_gone)
    }
}

/// Checks everything.
pub fn garage(garage: &Garage, now: When) -> Result<GarageCheck, StoreError> {
    let (damaged, check) = garage.repository().damaged_beside(|| all_but_objects(garage, now));
    let mut check = check?;
    check.damaged = damaged?;
    old_schemas(garage, &mut check)?;
    Ok(check)
}

fn all_but_objects(garage: &Garage, now: When) -> Result<GarageCheck, StoreError> {
    let mut check = GarageCheck { files: 1, ..GarageCheck::default() };
    check.remarks.extend(garage.cut_off());
    if let Err(under_way @ (StoreError::Unfinished(_) | StoreError::Detached)) =
        garage.repository().require_clean_state()
    {
        check.remarks.insert(0, under_way.message() + " " + under_way.help());
        check.under_way = matches!(under_way, StoreError::Unfinished(_));
    }
    tables(garage, &mut check);
    limits_of_nothing(garage, &mut check);
    reference_air(garage, &mut check)?;
    for folder in ["bikes", "engines"] {
        check.findings.extend(garage.barred_in(Path::new(folder))?.iter().map(Barred::finding));
    }
    for engine in garage.engines() {
        check.files += 1;
        engine_file(garage, &engine, &mut check)?;
        build_files(garage, &engine, &mut check)?;
    }
    part_files(garage, &mut check)?;
    job_files(garage, &mut check)?;
    place_files(garage, &mut check)?;
    let book = Book::open(garage)?;
    let (findings, remarks) = cylinders::of_places(&book)?;
    check.findings.extend(findings);
    check.remarks.extend(remarks);
    check.remarks.extend(cylinders::of_what_is_lacking(&book)?);
    for bike in garage.bikes() {
        bike_files(garage, &book, &bike, &mut check)?;
        check.remarks.extend(dated_ahead(&book, &bike, now)?);
    }
    engines_in_two_bikes(&book, garage, &mut check)?;
    // What a merge of git left open is as git left it, and recorded when that is done.
    if !check.under_way {
        check.unrecorded = unrecorded(garage)?;
        // What brings one back that is cut short stands with what was found, and it is not recorded as it is.
        let is_cut = |file: &Path| {
            check.findings.iter().any(|one| one.code == Code::CutShort && one.place.file == *file)
        };
        check.unrecorded.retain(|one| !is_cut(&one.file));
    }
    check.index_agrees = book.index_agrees()?;
    Ok(check)
}

fn take(check: &mut GarageCheck, result: Result<(), StoreError>) {
    match result {
        Ok(()) => {}
        Err(StoreError::Findings(findings)) => check.findings.extend(findings),
        Err(other) => check.findings.push(Finding {
            code: Code::NotText,
            place: other.place(),
            message: other.to_string(),
            help: other.help(),
        }),
    }
}

fn reference_air(garage: &Garage, check: &mut GarageCheck) -> Result<(), StoreError> {
    let path = Path::new(GARAGE_FILE);
    let bytes = garage.read(path)?.unwrap_or_default();
    let checked = read::<GarageDocument>(DocumentKind::Garage, path, &bytes, garage.read_options());
    let air = checked.document.and_then(|document| document.reference_air);
    check.findings.extend(air.and_then(|air| rules::of_air(path, &checked.fields, "reference_air", &air)));
    Ok(())
}

/// The air of each proven mark; what else is wrong in the file has been found before.
fn proven_air(garage: &Garage, bike: &str, check: &mut GarageCheck) -> Result<(), StoreError> {
    let path = Garage::bike_folder(bike).join("bike.toml");
    let bytes = garage.read(&path)?.unwrap_or_default();
    let checked = read::<BikeDocument>(DocumentKind::Bike, &path, &bytes, garage.read_options());
    let marks = checked.document.map(|document| document.proven).unwrap_or_default();
    let airs = marks.iter().filter_map(|(id, mark)| {
        rules::of_air(&path, &checked.fields, &format!("proven.{id}.air"), mark.air.as_ref()?)
    });
    check.findings.extend(airs);
    Ok(())
}

fn tables(garage: &Garage, check: &mut GarageCheck) {
    check.files += 6;
    take(check, garage.jets().map(|_: JetBox| ()));
    take(check, garage.needles().map(|_: NeedleBox| ()));
    take(check, garage.shares().map(|_: Shares| ()));
    take(check, garage.assumptions().map(|_: Assumptions| ()));
    take(check, garage.checklists().map(|_: Checklists| ()));
    take(check, garage.limits().map(|_: Limits| ()));
}

fn engine_file(garage: &Garage, engine: &str, check: &mut GarageCheck) -> Result<(), StoreError> {
    let path = crate::notebook::SetupFiles::engine_path(engine);
    let bytes = garage.read(&path)?.unwrap_or_default();
    let checked = crate::notebook::read::<crate::notebook::EngineDocument>(
        DocumentKind::Engine,
        &path,
        &bytes,
        garage.read_options(),
    );
    check.findings.extend(rules::of_setup(&path, &checked.fields, &checked.findings));
    check.findings.extend(checked.findings);
    check.findings.extend(NewestRecorded::of(garage).shortened(&path, &bytes)?);
    Ok(())
}

fn bike_files(
    garage: &Garage,
    book: &Book<'_>,
    bike: &str,
    check: &mut GarageCheck,
) -> Result<(), StoreError> {
    check.files += 2;
    take(check, garage.bike(bike).map(|_| ()));
    proven_air(garage, bike, check)?;
    let now = book.combination(bike, None)?;
    check.files += garage.entries(&Garage::bike_folder(bike).join("maps")).map_or(0, |maps| maps.len());
    let engine_findings = |finding: &Finding| finding.place.file.starts_with("engines");
    if let (Some(setup), Ok(needles)) = (&now.setup, garage.needles()) {
        let clip = beyond_the_grooves(setup, &needles);
        check.remarks.extend(clip.map(|words| format!("{words}, in the files of {bike}.").into()));
    }
    let waits = book.setups(bike)?.is_empty() && garage.kind(&SetupFiles::setup_path(bike))?.is_none();
    if waits {
        let waits =
            format!("{bike} has no setup yet. Its file waits where the bike was made: record it there with ");
        check.remarks.push(
            Guidance::from(waits)
                + Command::RecordSetup(Some(bike.to_owned()))
                + " and share, or begin one here with "
                + Command::MakeBike(Some(bike.to_owned()))
                + ".",
        );
    } else {
        check.findings.extend(now.findings.into_iter().filter(|finding| !engine_findings(finding)));
    }
    let list = Garage::bike_folder(bike).join("numbers");
    match garage.read(&list) {
        Ok(bytes) => {
            let text = String::from_utf8_lossy(&bytes.unwrap_or_default()).into_owned();
            check.findings.extend(odd_line(&text).map(|(line, what)| no_number(&list, line, what)));
            check.findings.extend(book.numbers_lost(bike)?);
        }
        barred => take(check, barred.map(|_| ())),
    }
    let outings = Garage::bike_folder(bike).join("outings");
    check.findings.extend(no_plain_files(garage, &outings)?);
    let setups = book.setups(bike)?;
    let mut recorded = NewestRecorded::of(garage);
    for name in toml_files(garage, &outings) {
        check.files += 1;
        let file = outings.join(name);
        let Some(bytes) = whole(garage, &mut recorded, &file, check)? else { continue };
        let checked = check_outing(garage, &file, &bytes);
        check.findings.extend(checked.findings);
        let Some(outing) = checked.document else { continue };
        check.findings.extend(of_no_cylinder(book, (bike, &setups), &file, &outing)?);
        // In a clone without the beginning of its history the setup is only not here.
        let unknown = |id: &&str| garage.cut_off().is_none() && !setups.iter().any(|setup| setup.id == *id);
        if let Some(id) = outing.setup.as_deref().filter(unknown) {
            check.findings.push(dangling(
                &file,
                "setup",
                &format!("No setup of {bike} is known as \"{}\".", names::visible(id)),
                setup_is_named(garage, bike, &file),
            ));
        }
    }
    check.remarks.extend(book.doubled_numbers(bike)?);
    for setup in &setups {
        check.setups += 1;
        // Whether it can be read stands in the index, which is held against all that was recorded.
        if setup.readable {
            continue;
        }
        let whole = book.combination(bike, Some(setup))?;
        if !whole.findings.is_empty() {
            let finding = &whole.findings[0];
            let remark = format!("Setup {} of {bike} was recorded with an error: {finding}", setup.number);
            check.remarks.push(remark.into());
        }
    }
    let proven = garage.bike(bike).map(|document| document.proven).unwrap_or_default();
    let unknown = |id: &&String| garage.cut_off().is_none() && !setups.iter().any(|setup| setup.id == **id);
    for id in proven.keys().filter(unknown) {
        let file = Garage::bike_folder(bike).join("bike.toml");
        check.findings.push(dangling(
            &file,
            &format!("proven.{id}"),
            "A proven mark stands on a setup that is not known.",
            "Remove the mark, or bring the history back that has the setup.",
        ));
    }
    Ok(())
}

/// An outing of a cylinder that the setup it ran does not have.
fn of_no_cylinder(
    book: &Book<'_>,
    (bike, setups): (&str, &[SetupRecord]),
    file: &Path,
    outing: &Outing,
) -> Result<Option<Finding>, StoreError> {
    if outing.cylinder.is_empty() {
        return Ok(None);
    }
    let by_date = || setups.iter().rev().find(|setup| setup.date <= outing.date);
    let named = outing.setup.as_ref().and_then(|id| setups.iter().find(|setup| setup.id == *id));
    let Some(ran) = named.or_else(by_date) else { return Ok(None) };
    let names = book.combination(bike, Some(ran))?.fields.cylinders();
    let stranger = outing.cylinder.keys().find(|name| !names.contains(name));
    Ok(stranger.map(|name| {
        let message = format!("Setup {} has no cylinder \"{}\".", ran.number, names::visible(name));
        let help = match names.as_slice() {
            [] => "Its engine has one cylinder: take the name out.".to_owned(),
            names => format!("The cylinders are {}.", names.join(", ")),
        };
        dangling(file, &format!("cylinder.{name}"), &message, &help)
    }))
}

/// Names in configs/limits.toml that nothing has: their limits would never be used.
fn limits_of_nothing(garage: &Garage, check: &mut GarageCheck) {
    let Ok(limits) = garage.limits() else { return };
    let engines = garage.engines();
    let file = Path::new("configs/limits.toml");
    let odd = limits.engines.keys().filter(|engine| !engines.contains(engine));
    check.findings.extend(odd.map(|engine| {
        let message = format!("There is no engine \"{}\".", names::visible(engine));
        dangling(file, &format!("engines.{engine}"), &message, format!("Engines: {}.", engines.join(", ")))
    }));
    let mut unknown: Vec<String> = unknown_figures("", &limits);
    unknown.extend(limits.engines.keys().flat_map(|engine| unknown_figures(engine, &limits)));
    unknown.sort();
    unknown.dedup();
    check.findings.extend(unknown.iter().map(|name| {
        let known = KINDS.iter().map(|kind| kind.name);
        let help = match nearest_name(name, known.clone()) {
            Some(near) => format!("Did you mean {near}?"),
            None => format!("Figures: {}.", known.collect::<Vec<_>>().join(", ")),
        };
        dangling(file, name, &format!("There is no figure \"{}\".", names::visible(name)), &help)
    }));
}

fn build_files(garage: &Garage, engine: &str, check: &mut GarageCheck) -> Result<(), StoreError> {
    let folder = Garage::builds_folder(engine);
    check.findings.extend(no_plain_files(garage, &folder)?);
    let mut recorded = NewestRecorded::of(garage);
    for name in toml_files(garage, &folder) {
        check.files += 1;
        let file = folder.join(name);
        let Some(bytes) = whole(garage, &mut recorded, &file, check)? else { continue };
        let checked = check_build(garage, &file, &bytes);
        check.findings.extend(checked.findings);
        if let Some(build) = &checked.document {
            check.findings.extend(cylinders::of_build(garage, engine, &file, build)?);
        }
    }
    Ok(())
}

/// Every file of jobs, and whether its bike is there.
fn job_files(garage: &Garage, check: &mut GarageCheck) -> Result<(), StoreError> {
    let folder = Path::new("jobs");
    let bikes = garage.bikes();
    check.findings.extend(no_plain_files(garage, folder)?);
    let mut recorded = NewestRecorded::of(garage);
    for name in toml_files(garage, folder) {
        check.files += 1;
        let file = folder.join(name);
        let Some(bytes) = whole(garage, &mut recorded, &file, check)? else { continue };
        let checked = check_job(garage, &file, &bytes);
        check.findings.extend(checked.findings);
        if let Some(bike) = checked.document.map(|job| job.bike).filter(|bike| !bikes.contains(bike)) {
            let message = format!("There is no bike \"{}\".", names::visible(&bike));
            let help = Guidance::from("Where the bike was taken out, ")
                + Command::BringBikeBack(None)
                + " brings it back with all that it had; otherwise name a bike that is there.";
            check.findings.push(dangling(&file, "bike", &message, help));
        }
    }
    Ok(())
}

/// Every part, and whether the engines it was in are there.
fn part_files(garage: &Garage, check: &mut GarageCheck) -> Result<(), StoreError> {
    let folder = Path::new("parts");
    let engines = garage.engines();
    check.findings.extend(no_plain_files(garage, folder)?);
    let mut recorded = NewestRecorded::of(garage);
    for name in toml_files(garage, folder) {
        check.files += 1;
        let file = folder.join(name);
        let Some(bytes) = whole(garage, &mut recorded, &file, check)? else { continue };
        let checked = check_part(garage, &file, &bytes);
        check.findings.extend(checked.findings);
        if let Some(part) = &checked.document {
            check.findings.extend(cylinders::of_part(garage, &file, part)?);
        }
        let events = checked.document.map(|part| part.events).unwrap_or_default();
        for (name, event) in &events {
            if let Some(engine) = event.engine.as_ref().filter(|engine| !engines.contains(engine)) {
                check.findings.push(dangling(
                    &file,
                    &format!("events.{name}.engine"),
                    &format!("There is no engine \"{}\".", names::visible(engine)),
                    Guidance::from("Name the engine it was put into, or make it with ")
                        + Command::MakeAnotherEngine
                        + ".",
                ));
            }
        }
    }
    Ok(())
}

fn place_files(garage: &Garage, check: &mut GarageCheck) -> Result<(), StoreError> {
    let folder = Path::new("places");
    check.findings.extend(no_plain_files(garage, folder)?);
    let mut recorded = NewestRecorded::of(garage);
    for name in toml_files(garage, folder) {
        check.files += 1;
        let file = folder.join(name);
        let Some(bytes) = whole(garage, &mut recorded, &file, check)? else { continue };
        check.findings.extend(check_place(garage, &file, &bytes).findings);
    }
    Ok(())
}

/// A file's bytes; none where they are only the beginning of what was recorded, which is found.
fn whole(
    garage: &Garage,
    recorded: &mut NewestRecorded<'_>,
    file: &Path,
    check: &mut GarageCheck,
) -> Result<Option<Vec<u8>>, StoreError> {
    let bytes = garage.read(file)?.unwrap_or_default();
    let short = recorded.shortened(file, &bytes)?;
    let is_whole = short.is_none();
    check.findings.extend(short);
    Ok(is_whole.then_some(bytes))
}

fn toml_files(garage: &Garage, folder: &Path) -> Vec<PathBuf> {
    // A folder that cannot be opened has been found before.
    let entries = garage.entries(folder).unwrap_or_default().into_iter();
    let names = entries.filter(|(_, kind)| *kind == EntryKind::Plain).map(|(name, _)| PathBuf::from(name));
    names.filter(|name| name.extension().is_some_and(|ending| ending == "toml")).collect()
}

fn dangling(file: &Path, field: &str, message: &str, help: impl Into<Guidance>) -> Finding {
    Finding {
        code: Code::Dangling,
        place: Place { file: file.to_owned(), line: None, field: Some(field.to_owned()) },
        message: message.to_owned(),
        help: help.into(),
    }
}

/// The way out where an outing names a setup that is not known: others may have it.
fn setup_is_named(garage: &Garage, bike: &str, file: &Path) -> Guidance {
    let id = file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let id = id.rsplit('-').next().unwrap_or_default().to_owned();
    let mend = Command::MendOuting(names::visible(bike), names::visible(&id), OutingChange::Setup)
        + " names the right one.";
    if garage.is_shared() {
        Command::Share + " brings it where the others have it; else " + mend
    } else {
        mend
    }
}

/// A line in a list of numbers that nobody reads.
fn no_number(file: &Path, line: usize, what: &str) -> Finding {
    let what: String = what.chars().take(40).collect();
    Finding {
        code: Code::Dangling,
        place: Place { file: file.to_owned(), line: Some(line), field: None },
        message: format!("\"{}\" is no number of a setup: nobody reads that line.", names::visible(&what)),
        help: "Take the line out; a line is a number and the identity of its setup.".into(),
    }
}

fn engines_in_two_bikes(book: &Book<'_>, garage: &Garage, check: &mut GarageCheck) -> Result<(), StoreError> {
    let holders = book.engine_holders()?;
    for bike in garage.bikes() {
        let named = book.latest(&bike)?.and_then(|setup| setup.engine);
        if let Some((engine, (holder, _))) =
            named.and_then(|engine| holders.get(&engine).map(|holder| (engine, holder)))
            && *holder != bike
        {
            check.remarks.push(format!("{bike} has no engine: {engine} went into {holder}.").into());
        }
    }
    Ok(())
}

fn old_schemas(garage: &Garage, check: &mut GarageCheck) -> Result<(), StoreError> {
    for (path, bytes) in schemas() {
        if garage.read(&path)?.as_ref() != Some(&bytes) {
            let path = path.display();
            let remark =
                format!("{path} is not this program's: editors may complete by an older list of fields.");
            check.remarks.push(remark.into());
        }
    }
    Ok(())
}
