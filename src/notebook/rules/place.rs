//! Rules of a place: its airs are whole, and its usual pressures are in order.

use std::path::Path;

use crate::notebook::documents::place::PlaceDocument;
use crate::notebook::fields::finding::Finding;
use crate::notebook::fields::value::FieldSet;
use crate::notebook::rules::{Rules, of_air};

/// Looks at a place.
pub fn of_place(file: &Path, fields: &FieldSet, place: &PlaceDocument) -> Vec<Finding> {
    let mut rules = Rules::of(file, fields);
    rules.pair("usual_lowest", "usual_highest");
    let airs = place
        .airs
        .iter()
        .filter_map(|(name, kept)| of_air(file, fields, &format!("airs.{name}.air"), &kept.air));
    rules.into_findings().into_iter().chain(airs).collect()
}
