//! Which document is meant by an id or its beginning, and which outing by "last".

use crate::notebook::fields::names::visible;
use crate::store::error::StoreError;

/// So many characters of an id are enough, where they fit one only.
const ENOUGH: usize = 3;
/// So many ids are named where several fit.
const NAMED: usize = 5;

/// The place in `all`, each an id and what tells it from the others, of the one that is meant; none where no id begins so.
///
/// Fails where what was typed is too short, or fits several: with those that it fits.
pub(in crate::store) fn meant(wanted: &str, all: &[(String, String)]) -> Result<Option<usize>, StoreError> {
    if let Some(exact) = all.iter().position(|(id, _)| id == wanted) {
        return Ok(Some(exact));
    }
    let fitting: Vec<usize> = (0..all.len()).filter(|place| all[*place].0.starts_with(wanted)).collect();
    let long_enough = wanted.chars().count() >= ENOUGH;
    match fitting.as_slice() {
        [] => Ok(None),
        [only] if long_enough => Ok(Some(*only)),
        several => {
            let shown = visible(wanted);
            let message = if long_enough {
                format!("{} ids begin with \"{shown}\".", several.len())
            } else {
                format!("\"{shown}\" is too short: {ENOUGH} characters of an id are needed, or more.")
            };
            let fitting = several.iter().rev().filter_map(|place| all.get(*place));
            Err(StoreError::request(None, message, format!("It may be {}.", listed(fitting, several.len()))))
        }
    }
}

/// "6f94 (2026-05-16 10:30), 6a01 (…) and 3 more".
pub(in crate::store) fn listed<'a>(of: impl Iterator<Item = &'a (String, String)>, number: usize) -> String {
    let named: Vec<String> =
        of.take(NAMED).map(|(id, what)| format!("{} ({})", visible(id), visible(what))).collect();
    let more = if number > NAMED { format!(" and {} more", number - NAMED) } else { String::new() };
    format!("{}{more}", named.join(", "))
}
