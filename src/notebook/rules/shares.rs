//! Rules of the tuner's shares: the place of the screw has its ends in order.

use std::path::Path;

use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::value::FieldSet;
use crate::notebook::tables::boxes::{SCREW_LEAST, SCREW_MOST, Shares};
use crate::quantity::trimmed;

/// Looks at the fields of `configs/shares.toml`: the place of the screw has its ends in order.
pub fn of_shares(file: &Path, fields: &FieldSet, shares: &Shares) -> Option<Finding> {
    let (least, most) = shares.screw_place();
    if least <= most {
        return None;
    }
    let field = if shares.screw_most.is_some() { "screw_most" } else { "screw_least" };
    let line = fields.entry(field).map(|entry| entry.line);
    let place = Place { file: file.to_owned(), line, field: Some(field.to_owned()) };
    let turns = |turns: f64| format!("{} turns", trimmed(turns, 3));
    let message = format!("screw_least ({}) lies beyond screw_most ({}).", turns(least), turns(most));
    let help = format!(
        "The screw belongs from screw_least to screw_most turns out, the smaller first; left out they are {SCREW_LEAST} and {SCREW_MOST}."
    );
    Some(Finding::new(Code::Contradiction, place, &message, &help))
}
