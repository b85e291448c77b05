//! A change of one field as it is typed: which field, which cell, what value.

use crate::notebook::editing::error::EditError;
use crate::notebook::fields::called::called;
use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::meaning::Deed;
use crate::notebook::fields::order::section_of;
use crate::notebook::maps::rules::is_map_file;
use crate::notebook::maps::table::CellPlace;
use crate::quantity::{Dimension, Quantity, nearly_equal};

/// One thing to change.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Dotted field.
    pub field: String,
    /// The cell, for a map.
    pub at: Option<CellPlace>,
    /// What to write; `None` takes the field out.
    pub value: Option<String>,
}

/// How the number of a jet counts, behind it as it is read off the jet: "172 bore".
pub(in crate::notebook) const COUNTED_BY: [&str; 2] = [" flow", " bore"];

impl Assignment {
    /// Reads one that was typed. A jet with how its number counts, `main=172 bore`, says both.
    pub fn parse_typed(typed: &str) -> Result<Vec<Self>, EditError> {
        let whole = Self::parse(typed)?;
        let counted = || {
            let value = whole.value.as_deref()?;
            let by = COUNTED_BY.into_iter().find(|by| value.ends_with(by))?;
            let field = format!("{}_numbered_by", whole.field);
            Combination::leaf(&field)?;
            let number = Some(value.trim_end_matches(by).trim_end().to_owned());
            let counts = Self { field, at: None, value: Some(by.trim_start().to_owned()) };
            Some(vec![Self { value: number, ..whole.clone() }, counts])
        };
        Ok(counted().unwrap_or_else(|| vec![whole.clone()]))
    }

    /// Reads `FIELD=VALUE`, `FIELD@RPM=VALUE` or `FIELD@RPM/THROTTLE=VALUE`; an empty value takes the field out.
    pub fn parse(typed: &str) -> Result<Self, EditError> {
        let (left, right) =
            typed.split_once('=').ok_or_else(|| EditError::NotAnAssignment { typed: typed.to_owned() })?;
        let (field, place) = match left.split_once('@') {
            Some((field, place)) => (field.trim(), Some(place.trim())),
            None => (left.trim(), None),
        };
        if !field.split('.').all(is_name) {
            return Err(EditError::BadName { field: field.to_owned() });
        }
        let value = right.trim();
        let field = &match field {
            // Of a carburetor it is what is in the tank; a map of fuel has a cell or a file behind it.
            "fuel" if place.is_none() && !is_map_file(value) => "fuel.name".to_owned(),
            "spark" | "timing" if place.is_none() => spark(field, value)?,
            field => whole_name(field)?,
        };
        Ok(Self {
            field: field.clone(),
            at: place.map(|place| cell_place(field, place)).transpose()?,
            value: (!value.is_empty()).then(|| value.to_owned()),
        })
    }

    pub(super) fn same_place(&self, other: &Self) -> bool {
        let opening = |place: &CellPlace| place.throttle.unwrap_or(-1.0);
        self.field == other.field
            && match (&self.at, &other.at) {
                (Some(a), Some(b)) => nearly_equal(a.rpm, b.rpm) && nearly_equal(opening(a), opening(b)),
                _ => true,
            }
    }
}

/// The jets that are changed at a bike, those that are changed most first.
const JETS: [&str; 2] = ["jetting.main", "jetting.pilot"];

/// A field by its last name alone, "main" for jetting.main, where one field ends so, or by what it is called at the bike; any other name as
/// it is.
///
/// # Errors
///
/// Several fields end so.
pub fn whole_name(typed: &str) -> Result<String, EditError> {
    // As the file has it.
    let typed = typed.strip_prefix("cylinder.").unwrap_or(typed);
    if Combination::leaf(typed).is_some() {
        return Ok(typed.to_owned());
    }
    if let Some((section, name)) = typed.split_once('.') {
        return Ok(by_its_shown_name(section, name).unwrap_or(typed).to_owned());
    }
    let wanted = typed.to_lowercase().replace([' ', '-'], "_");
    let ends_so = |field: &&str| field.rsplit('.').next() == Some(wanted.as_str());
    let all = Combination::meanings().iter().map(|(field, _)| field.as_str());
    let mut fields: Vec<&str> = all.filter(ends_so).collect();
    if fields.is_empty() {
        fields = by_trade_words(&wanted);
    }
    // A "jet" at the bike is mostly the one of these that has a name of its own.
    if ["jet", "jets"].contains(&wanted.as_str()) {
        fields.retain(|field| !JETS.contains(field));
        fields.splice(0..0, JETS);
    }
    match fields.as_slice() {
        [] => Ok(typed.to_owned()),
        [one] => Ok((*one).to_owned()),
        several => Err(EditError::Ambiguous { field: typed.to_owned(), fields: several.join(", ") }),
    }
}

/// The one field of a section that is shown under a name: "petrol to oil" of the fuel, typed `fuel.petrol_to_oil`.
fn by_its_shown_name(section: &str, name: &str) -> Option<&'static str> {
    let plain = |name: &str| name.to_lowercase().replace([' ', '-', '.'], "_");
    let wanted = plain(name);
    let all = Combination::meanings().iter().map(|(field, _)| field.as_str());
    let mut fields = all.filter(|field| {
        section_of(field) == section && !field.contains('*') && plain(&called(field)) == wanted
    });
    fields.next().filter(|_| fields.next().is_none())
}

/// "spark=1.6mm" is the base of the ignition; what is no length and no angle may be a plug.
pub(in crate::notebook) fn spark(typed: &str, value: &str) -> Result<String, EditError> {
    let base = Quantity::parse(value, &[Dimension::Length, Dimension::Angle], "mm");
    if base.is_ok_and(|base| !base.is_bare()) {
        return Ok("ignition.base".to_owned());
    }
    let fields = "ignition.base (a length or degrees, with the unit), head.plug".to_owned();
    Err(EditError::Ambiguous { field: typed.to_owned(), fields })
}

/// The fields that a trade's word is said for: as it is called at the bike ("petrol to oil"), or the end of a field's name or of that
/// ("ratio", "screw").
pub(in crate::notebook) fn by_trade_words(wanted: &str) -> Vec<&'static str> {
    let called = |name: &str| name.to_lowercase().replace([' ', '-'], "_");
    let ends_so = |name: &str| name == wanted || name.ends_with(&format!("_{wanted}"));
    let mut exact = Vec::new();
    let mut near = Vec::new();
    for (field, meaning) in Combination::meanings() {
        let (Deed::Set(name) | Deed::Fit(name) | Deed::ScrewIn(name)) = &meaning.hands.deed else { continue };
        let (name, last) = (called(name), field.rsplit('.').next().unwrap_or_default());
        if field.contains('*') || name.ends_with('*') {
            continue;
        }
        if name == wanted {
            exact.push(field.as_str());
        } else if ends_so(last) || ends_so(&name) {
            near.push(field.as_str());
        }
    }
    if exact.is_empty() { near } else { exact }
}

pub(in crate::notebook) fn is_name(part: &str) -> bool {
    let allowed = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | ' ');
    !part.is_empty() && part.trim() == part && part.chars().all(allowed)
}

pub(in crate::notebook) fn cell_place(field: &str, typed: &str) -> Result<CellPlace, EditError> {
    let wrong = || EditError::BadPlace { field: field.to_owned(), typed: typed.to_owned() };
    let read = |text: &str, dimension, unit| {
        let quantity = Quantity::parse(text, &[dimension], unit).ok()?;
        quantity.in_unit(unit).filter(|value| *value >= 0.0)
    };
    let (rpm, throttle) = match typed.split_once('/') {
        Some((rpm, throttle)) => (rpm, Some(throttle)),
        None => (typed, None),
    };
    let throttle = throttle.map(|text| read(text, Dimension::Share, "%").ok_or_else(wrong)).transpose()?;
    let rpm = read(rpm, Dimension::EngineSpeed, "rpm").ok_or_else(wrong)?;
    Ok(CellPlace { rpm, throttle })
}

#[cfg(test)]
mod tests {
    use super::whole_name;

    #[test]
    fn a_field_is_taken_by_the_name_that_it_is_shown_under() {
        for (typed, field) in [
            ("fuel.petrol_to_oil", "fuel.oil_ratio"),
            ("fuel.petrol to oil", "fuel.oil_ratio"),
            ("gearing.rear_sprocket", "gearing.rear"),
            ("fuel.oil_ratio", "fuel.oil_ratio"),
            ("fuel.nothing", "fuel.nothing"),
        ] {
            assert_eq!(whole_name(typed).ok().as_deref(), Some(field), "{typed}");
        }
    }
}
