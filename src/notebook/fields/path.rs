//! Dotted names of fields: put together, taken apart, and what a mistyped one was meant to be.

use crate::notebook::fields::finding::Finding;

/// The known name that differs least from a mistyped one.
pub fn nearest_name<'n>(typed: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    known
        .map(|name| (strsim::jaro_winkler(typed, name), name))
        .filter(|(likeness, _)| *likeness > 0.82)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, name)| name)
}

/// A list of what is known, behind the name that a mistyped one is most like.
pub fn nearest_and_all(typed: &str, known: &[&str], all: String) -> String {
    match nearest_name(&typed.to_lowercase(), known.iter().copied()) {
        Some(near) => format!("{} {all}", did_you_mean(near)),
        None => all,
    }
}

pub(in crate::notebook) fn join(above: &str, name: &str) -> String {
    if above.is_empty() { name.to_owned() } else { format!("{above}.{name}") }
}

/// Whether what was found already says why a field seems to be missing: its value could not be read, or its name is
/// mistyped. One slip of the pen is one finding.
pub(in crate::notebook) fn is_explained(field: &str, found: &[Finding]) -> bool {
    let suggested = did_you_mean(field);
    found
        .iter()
        .any(|finding| finding.place.field.as_deref() == Some(field) || finding.help.begins_with(&suggested))
}

pub(in crate::notebook) fn did_you_mean(field: &str) -> String {
    format!("Did you mean {field}?")
}

pub(in crate::notebook) fn parent(field: &str) -> &str {
    field.rsplit_once('.').map_or("", |(above, _)| above)
}
