//! What is worth saying of a map: what it was held against and what was found, and the cautions of a step that can harm.

pub mod steps;
pub mod trim;

use super::cautions;
use super::figures::ignition::{MAP, fired_map};
use super::figures::{Bench, Known};
use crate::notebook::maps::check::check;
use crate::notebook::{
    Assumptions, Entry, FieldSet, MapLimits, MapTable, Remark, RemarkKind, ShapeError, Value,
};
use crate::quantity::{nearly_equal, trimmed};

/// What a map was held against, and what was found.
#[derive(Debug, Clone)]
pub struct Looked {
    /// What was found.
    pub found: Vec<Remark>,
    /// What was not checked, and why.
    pub not_checked: Vec<String>,
}

/// Holds a map against the limits: gaps and steps as they stand in the map, the most advance as it fires.
pub fn look(
    field: &str,
    map: &MapTable,
    fired: &Known<MapTable>,
    limits: &MapLimits,
) -> Result<Looked, ShapeError> {
    let looked = check(map, &MapLimits { highest: None, ..*limits })?;
    let (mut found, mut not_checked) = (looked.remarks, Vec::new());
    // Only what a limit can be set for is worth naming.
    let mut unset = |what: &str, entry: &str| {
        not_checked
            .push(format!("{what}: no limit is set ({entry} in configs/assumptions.toml, [map_limits])"));
    };
    if limits.largest_gap_rpm.is_none() {
        unset("gaps between engine speeds", "widest_gap");
    }
    if field != MAP {
        not_checked.push("steps and highest cells: there are no limits for fuel".into());
        return Ok(Looked { found, not_checked });
    }
    if limits.steepest_per_1000_rpm.is_none() {
        unset("steps over engine speed", "steepest_step");
    }
    match (limits.highest, fired) {
        (None, _) => unset("most advance as it fires", "most_advance"),
        (Some(_), Err(gap)) => not_checked.push(format!("most advance as it fires: {gap}")),
        (Some(highest), Ok(fired)) => {
            let only = MapLimits { highest: Some(highest), ..MapLimits::default() };
            let too_high =
                check(fired, &only)?.remarks.into_iter().filter(|one| one.kind == RemarkKind::TooHigh);
            found.extend(too_high.map(as_fired));
        }
    }
    Ok(Looked { found, not_checked })
}

/// Says that a remark is about what the map comes to.
fn as_fired(mut remark: Remark) -> Remark {
    let sentence = remark.sentence.strip_prefix("The ").unwrap_or(&remark.sentence);
    remark.sentence = format!("As it fires, the {sentence}");
    remark
}

/// What a map is held against, in words, with where the limits are from.
pub fn held_against(limits: &MapLimits, assumptions: &Assumptions, own_advance: bool) -> Vec<String> {
    let source = assumptions.map_limits.as_ref().and_then(|entries| entries.source.as_deref());
    let source = source.unwrap_or("configs/assumptions.toml, no source given");
    let said = |what: &str, limit: Option<f64>, unit: &str, source: &str| {
        limit.map(|limit| format!("{what} {} {unit} ({source})", trimmed(limit, 2)))
    };
    let advance_source = if own_advance { "as given" } else { source };
    [
        said("widest gap", limits.largest_gap_rpm, "rpm", source),
        said("steepest step", limits.steepest_per_1000_rpm, "degrees for each 1000 rpm", source),
        said("most advance as it fires", limits.highest, "degrees before top dead centre", advance_source),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The limits of configs/assumptions.toml for a map; `most_advance`, degrees, takes the place of the one there.
pub fn limits(field: &str, assumptions: &Assumptions, most_advance: Option<f64>) -> MapLimits {
    let entries = assumptions.map_limits.clone().unwrap_or_default();
    let ignition = field == MAP;
    MapLimits {
        largest_gap_rpm: entries.widest_gap.map(|gap| gap.si()),
        steepest_per_1000_rpm: entries.steepest_step.filter(|_| ignition).map(|step| step.si()),
        highest: most_advance.or(entries.most_advance.map(|most| most.si())).filter(|_| ignition),
        ..MapLimits::default()
    }
}

/// What is worth a look in a new map and was not in the old one.
pub fn new_findings(
    field: &str,
    (old, new): (Option<&MapTable>, &MapTable),
    fields: &FieldSet,
    assumptions: &Assumptions,
) -> Result<Vec<Remark>, ShapeError> {
    let limits = limits(field, assumptions, None);
    let looked = |map: &MapTable| {
        let fired = fired(field, map, fields, assumptions);
        look(field, map, &fired, &limits).map(|looked| looked.found)
    };
    let before = old.map_or_else(|| Ok(Vec::new()), looked)?;
    let found = looked(new)?;
    Ok(found.into_iter().filter(|one| !before.contains(one)).collect())
}

/// When the bike would fire with a map in place of its own.
fn fired(field: &str, map: &MapTable, fields: &FieldSet, assumptions: &Assumptions) -> Known<MapTable> {
    let mut fields = fields.clone();
    if let Some(entry) = fields.entry(field).cloned() {
        fields.insert(field.to_owned(), Entry { value: Value::Map(map.clone()), ..entry });
    }
    fired_map(&Bench { fields: &fields, assumptions })
}

/// What a factor on a fuel map does not do, where the unit of its cells makes it a slip.
pub fn of_a_factor(fields: &FieldSet) -> Option<String> {
    match (fields.text("injection.fuel_map_unit"), fields.quantity("injection.dead_time")) {
        (Some("ms"), Some(dead)) => Some(format!(
            "The factor is of the whole cell. The dead time ({}) passes no fuel, so the fuel changes by more than the cell does.",
            dead.text()
        )),
        (Some("percent"), _) => Some(
            "The cells are percent: the factor is of those, not of the fuel. To change the fuel by so much everywhere, shift.".into(),
        ),
        _ => None,
    }
}

/// What is said of every step that can harm the engine: an earlier spark, or less fuel, anywhere.
pub fn cautions(field: &str, old: &MapTable, new: &MapTable) -> Vec<String> {
    let ignition = field == MAP;
    let harmful = |before: f64, after: f64| {
        !nearly_equal(before, after) && if ignition { after > before } else { after < before }
    };
    let at = |map: &MapTable, rpm: f64, throttle: Option<f64>| map.value_at(rpm, throttle.unwrap_or(100.0));
    let places = old.cells().chain(new.cells()).map(|(place, _)| place);
    let mut pairs = places
        .filter_map(|place| Some((at(old, place.rpm, place.throttle)?, at(new, place.rpm, place.throttle)?)));
    if !pairs.any(|(before, after)| harmful(before, after)) {
        return Vec::new();
    }
    let leaner = (!ignition).then_some(cautions::LEANER);
    leaner.into_iter().chain([cautions::STANDING[0], cautions::STANDING[2]]).map(str::to_owned).collect()
}

/// What to say of a change that makes the spark come earlier than the most advance that is set: it may be the map, the base, or how
/// the map's angles count.
pub fn too_early(before: &FieldSet, after: &FieldSet, assumptions: &Assumptions) -> Option<String> {
    let most = assumptions.map_limits.as_ref()?.most_advance.as_ref()?.si();
    let earliest = |fields: &FieldSet| {
        let fired = fired_map(&Bench { fields, assumptions }).ok()?;
        fired.cells().max_by(|a, b| a.1.total_cmp(&b.1))
    };
    let (place, degrees) = earliest(after)?;
    if degrees <= most || earliest(before).is_some_and(|(_, was)| degrees <= was) {
        return None;
    }
    Some(format!(
        "The spark now comes at {} degrees before top at {} rpm; the most advance in configs/assumptions.toml is {}. {}",
        trimmed(degrees, 1),
        trimmed(place.rpm, 0),
        trimmed(most, 1),
        cautions::STANDING[0]
    ))
}
