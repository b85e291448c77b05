//! What a setup with several cylinders is held to before it is recorded: the bike has as many, and outings know no other.

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::notebook::fields::cylinder::NAMES;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{
    BegunStep, ChecklistStep, Combination, DocumentKind, EngineDocument, Mixture, Outing, OwnBuild,
    SetupFiles, Verdict, When, ZONES, read,
};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};

/// The names of an engine's cylinders; none where it has one, or its file cannot be read.
pub fn cylinders_of(garage: &Garage, engine: &str) -> Result<Vec<String>, StoreError> {
    let path = SetupFiles::engine_path(engine);
    let bytes = garage.read(&path)?.unwrap_or_default();
    let read = read::<EngineDocument>(DocumentKind::Engine, &path, &bytes, garage.read_options());
    Ok(read.fields.cylinders())
}

/// The same for what names one of them: where the engine's file cannot be read, it says what is wrong with it.
pub(in crate::store::writing) fn cylinders_to_name(
    garage: &Garage,
    engine: &str,
    is_named: bool,
) -> Result<Vec<String>, StoreError> {
    let names = cylinders_of(garage, engine)?;
    if names.is_empty() && is_named {
        let path = SetupFiles::engine_path(engine);
        let bytes = garage.read(&path)?.unwrap_or_default();
        let read = read::<EngineDocument>(DocumentKind::Engine, &path, &bytes, garage.read_options());
        no_findings(read.findings)?;
    }
    Ok(names)
}

/// The steps that a build begins with: those of all, and those that are done at each cylinder where there are several.
pub(in crate::store::writing) fn begun_steps(
    begun: Vec<BegunStep>,
    cylinders: &[String],
) -> (BTreeMap<String, ChecklistStep>, BTreeMap<String, OwnBuild>) {
    let mut of_all = BTreeMap::new();
    let mut own: BTreeMap<String, OwnBuild> = BTreeMap::new();
    for BegunStep { name, at_each_cylinder, step } in begun {
        if cylinders.is_empty() || !at_each_cylinder {
            of_all.insert(name, step);
            continue;
        }
        for cylinder in cylinders {
            own.entry(cylinder.clone()).or_default().steps.insert(name.clone(), step.clone());
        }
    }
    (of_all, own)
}

/// An engine goes only into a bike that is written down for as many cylinders.
pub(in crate::store::writing) fn require_as_many(
    garage: &Garage,
    bike: &str,
    whole: &Combination,
) -> Result<(), StoreError> {
    let names = whole.fields.cylinders();
    let Some(written) = garage.bike(bike)?.cylinders else { return Ok(()) };
    let has = names.len().max(1);
    if whole.engine.is_none()
        || crate::quantity::nearly_equal(written.si(), f64::from(u32::try_from(has).unwrap_or(0)))
    {
        return Ok(());
    }
    let engine = whole.fields.text("engine").unwrap_or_default();
    let named = if names.is_empty() { String::new() } else { format!(": {}", names.join(", ")) };
    let file: PathBuf = Garage::bike_folder(bike).join("bike.toml");
    Err(StoreError::request(
        Some("engine"),
        format!(
            "{bike} is written down with cylinders = {written}, and the engine {engine} has {has}{named}."
        ),
        format!(
            "Put an engine in that has as many, name them in its engine.toml ({NAMES}), or write cylinders = {has} into {}.",
            file.to_string_lossy().replace('\\', "/")
        ),
    ))
}

/// A cylinder that outings, builds or parts were written for keeps its name.
pub(in crate::store::writing) fn require_known_to_all(
    book: &Book<'_>,
    bike: &str,
    whole: &Combination,
    now: When,
) -> Result<(), StoreError> {
    require_known_to_outings(book, bike, whole)?;
    let Some(engine) = whole.fields.text("engine").filter(|_| whole.engine.is_some()) else { return Ok(()) };
    let names = whole.fields.cylinders();
    let gone = |name: &String| !names.contains(name);
    for record in book.builds(engine)? {
        if let Some(name) = record.build.cylinder.keys().find(|name| gone(name)) {
            return Err(StoreError::request(
                Some(NAMES),
                format!(
                    "The build of {engine} on {} has readings or steps of the cylinder {}, and this setup has none of that name.",
                    record.build.date.day(),
                    visible(name)
                ),
                Guidance::from("Keep its name; a machine with other cylinders is another engine: ")
                    + Command::MakeAnotherEngine
                    + ".",
            ));
        }
    }
    for record in book.parts()? {
        let place = record.part.place_at(now).filter(|place| place.engine == engine);
        if let Some(name) =
            place.and_then(|place| place.cylinder).filter(|name| !names.iter().any(|known| known == name))
        {
            return Err(StoreError::request(
                Some(NAMES),
                format!(
                    "{} sits at {} in {engine}, and this setup has no cylinder of that name.",
                    record.name,
                    visible(name)
                ),
                Guidance::from("Keep its name, or take the part out first: ")
                    + Command::RemovePart(Some(record.name.clone()))
                    + ".",
            ));
        }
    }
    Ok(())
}

/// A cylinder that outings of the engine in the bike were written for is there under its name: under another nobody would hear of them.
pub fn require_known_to_outings(book: &Book<'_>, bike: &str, whole: &Combination) -> Result<(), StoreError> {
    let names = whole.fields.cylinders();
    let mut gone: BTreeMap<String, usize> = BTreeMap::new();
    let engine = whole.fields.text("engine");
    let outings: Vec<_> =
        book.outings(bike)?.into_iter().filter(|record| !record.outing.cylinder.is_empty()).collect();
    let setups = if outings.is_empty() { Vec::new() } else { book.setups(bike)? };
    for record in outings {
        let ran = setups.iter().find(|setup| Some(setup.number) == record.setup);
        // Another engine may have had others.
        if ran.is_some_and(|setup| setup.engine.as_deref() == engine) {
            for name in record.outing.cylinder.keys().filter(|name| !names.contains(name)) {
                *gone.entry(name.clone()).or_default() += 1;
            }
        }
    }
    let Some((name, outings)) = gone.into_iter().next() else { return Ok(()) };
    let outings = if outings == 1 { "1 outing is".to_owned() } else { format!("{outings} outings are") };
    Err(StoreError::request(
        Some(NAMES),
        format!(
            "{outings} written for the cylinder {}, and this setup has none of that name.",
            visible(&name)
        ),
        Guidance::from(
            "Keep its name: an outing is of the cylinder that it names, and what was lean there is held by it. A machine whose cylinders are called otherwise is another engine: ",
        ) + Command::MakeAnotherEngine
            + ".",
    ))
}

/// The cylinders of the setup that an outing ran, where it names one; refuses one that the setup does not have.
pub(in crate::store::writing) fn require_of_run(
    book: &Book<'_>,
    bike: &str,
    outing: &Outing,
    setup: Option<u32>,
) -> Result<Vec<String>, StoreError> {
    if outing.cylinder.is_empty() {
        return Ok(Vec::new());
    }
    let ran = book.setups(bike)?.into_iter().find(|record| Some(record.number) == setup);
    let names = match &ran {
        Some(record) => book.combination(bike, Some(record))?.fields.cylinders(),
        None => return Ok(Vec::new()),
    };
    let Some(stranger) = outing.cylinder.keys().find(|name| !names.contains(name)) else {
        return no_lean_is_unheard(outing, &names).map(|()| names);
    };
    let help = if names.is_empty() {
        "The engine of this setup has one cylinder: leave the name out.".to_owned()
    } else {
        format!("The cylinders are {}; without a name it is of all.", names.join(", "))
    };
    Err(StoreError::request(Some(stranger), format!("There is no cylinder \"{}\".", visible(stranger)), help))
}

/// Refuses a lean verdict of all where each cylinder has another one of its own: nothing would be left that it is of.
fn no_lean_is_unheard(outing: &Outing, names: &[String]) -> Result<(), StoreError> {
    let of_all = outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
    for (zone, mixture) in of_all.into_iter().filter(|(_, mixture)| *mixture < Mixture::Right) {
        let own = |name: &String| {
            let zones = outing.cylinder.get(name)?.verdict.as_ref()?.zones();
            zones.into_iter().find(|(own, _)| *own == zone).map(|(_, mixture)| mixture)
        };
        if names.iter().all(|name| own(name).is_some_and(|own| own >= Mixture::Right)) {
            let short = ZONES.iter().find(|(name, short, _)| *name == zone && short.contains('/'));
            let short = short.map_or(zone, |(_, short, _)| short);
            return Err(StoreError::request(
                Some("verdict"),
                format!(
                    "{short}={} is said of all, and each cylinder has another verdict of its own.",
                    mixture.word()
                ),
                format!(
                    "Say it of the one that was: {}.{short}={}; or leave it out.",
                    visible(&names[0]),
                    mixture.word()
                ),
            ));
        }
    }
    Ok(())
}
