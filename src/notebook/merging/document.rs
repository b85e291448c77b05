//! A TOML document that two sides changed. What stands in the merged text is what the other side wrote, comments and order
//! included, with every value in it that this side changed; what both changed to different values is named and left to a person.

use std::collections::BTreeMap;
use std::path::Path;

use toml_edit::{DocumentMut, Item, TableLike, Value};

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::toml::page::Page;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::quantity::nearly_equal;

/// A document with both sides' values.
#[derive(Debug, Clone)]
pub struct MergedDocument {
    /// Its text; where both sides changed one field, what theirs has.
    pub bytes: Vec<u8>,
    /// The fields that both sides changed to different values.
    pub both: Vec<BothChanged>,
}

/// One field that both sides changed, as each has it; none where a side has it not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BothChanged {
    /// Its dotted field.
    pub field: String,
    /// As it was.
    pub before: Option<String>,
    /// As this side has it.
    pub ours: Option<String>,
    /// As the other side has it.
    pub theirs: Option<String>,
}

/// Brings three texts of one document together; none is an empty one.
///
/// # Errors
/// A text that is not TOML.
pub fn merge_documents(
    kind: DocumentKind,
    file: &Path,
    base: Option<&[u8]>,
    sides: (&[u8], &[u8]),
) -> Result<MergedDocument, EditError> {
    merge_documents_but(kind, file, base, sides, &|_| false)
}

/// The same, but a field of which `stays` says so is left as theirs has it, whoever changed it.
///
/// # Errors
/// A text that is not TOML.
pub fn merge_documents_but(
    kind: DocumentKind,
    file: &Path,
    base: Option<&[u8]>,
    (ours, theirs): (&[u8], &[u8]),
    stays: &dyn Fn(&str) -> bool,
) -> Result<MergedDocument, EditError> {
    let was = leaves(file, base.unwrap_or_default())?;
    let (own, other) = (leaves(file, ours)?, leaves(file, theirs)?);
    let mut page = Page::open(file, Some(theirs))?;
    let mut both = Vec::new();
    let mut paths: Vec<&Vec<String>> = was.keys().chain(own.keys()).collect();
    paths.sort_unstable();
    paths.dedup();
    for path in paths {
        let (before, mine, yours) = (was.get(path), own.get(path), other.get(path));
        if same(mine, before) || same(mine, yours) || stays(&path.join(".")) {
            continue;
        }
        let done = same(yours, before) && write(&mut page, path, mine, kind);
        if !done {
            let text = |leaf: Option<&Leaf>| leaf.map(|leaf| leaf.text.clone());
            both.push(BothChanged {
                field: path.join("."),
                before: text(before),
                ours: text(mine),
                theirs: text(yours),
            });
        }
    }
    Ok(MergedDocument { bytes: page.bytes(), both })
}

/// Whether two texts of a document hold the same values: comments, order and the way a number is written do not matter.
pub fn same_values(file: &Path, one: &[u8], other: &[u8]) -> bool {
    let (Ok(one), Ok(other)) = (leaves(file, one), leaves(file, other)) else {
        return false;
    };
    one.len() == other.len() && one.iter().all(|(path, leaf)| same(Some(leaf), other.get(path)))
}

/// Every value of a document by its dotted field, as it is written, whether any field of ours is called so or not.
///
/// # Errors
/// A text that is not TOML.
pub fn written_values(file: &Path, bytes: &[u8]) -> Result<BTreeMap<String, String>, EditError> {
    Ok(leaves(file, bytes)?.into_iter().map(|(path, leaf)| (path.join("."), leaf.text)).collect())
}

/// A value of a document; one that is written in one piece (a list, a table on one line) is one value.
#[derive(Debug, Clone)]
struct Leaf {
    /// What is written back; none for tables in a list, which are written whole or not at all.
    value: Option<Value>,
    /// For reading and comparing.
    text: String,
}

fn leaves(file: &Path, bytes: &[u8]) -> Result<BTreeMap<Vec<String>, Leaf>, EditError> {
    // One that is not TOML is told as the page tells it.
    let page = Page::open(file, Some(bytes))?;
    let text = String::from_utf8_lossy(&page.bytes()).replace("\r\n", "\n");
    let document = text.trim_start_matches('\u{feff}').parse::<DocumentMut>().unwrap_or_default();
    let mut found = BTreeMap::new();
    collect(document.as_table(), &[], &mut found);
    Ok(found)
}

fn collect(table: &dyn TableLike, above: &[String], found: &mut BTreeMap<Vec<String>, Leaf>) {
    for (name, item) in table.iter() {
        let path: Vec<String> = above.iter().cloned().chain([name.to_owned()]).collect();
        match item {
            Item::Table(inner) => collect(inner, &path, found),
            Item::Value(value) => {
                let mut value = value.clone();
                value.decor_mut().clear();
                let text = value.to_string().trim().to_owned();
                found.insert(path, Leaf { value: Some(value), text });
            }
            Item::ArrayOfTables(list) => {
                let text = list.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
                found.insert(path, Leaf { value: None, text });
            }
            Item::None => {}
        }
    }
}

/// Whether two values are one; 15 and 15.0 are.
fn same(one: Option<&Leaf>, other: Option<&Leaf>) -> bool {
    match (one, other) {
        (None, None) => true,
        (Some(one), Some(other)) => one.text == other.text || same_number(one, other),
        _ => false,
    }
}

fn same_number(one: &Leaf, other: &Leaf) -> bool {
    #[allow(clippy::cast_precision_loss)] // a jet, a degree: far below 2^53
    let number = |leaf: &Leaf| {
        let value = leaf.value.as_ref()?;
        value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64))
    };
    number(one).zip(number(other)).is_some_and(|(one, other)| nearly_equal(one, other))
}

/// Writes a value, or takes it out; false where it cannot be written.
fn write(page: &mut Page, path: &[String], leaf: Option<&Leaf>, kind: DocumentKind) -> bool {
    match leaf {
        None => {
            page.remove(path);
            true
        }
        Some(leaf) => leaf.value.clone().is_some_and(|value| {
            page.reveal(path);
            page.set(path, value, kind.catalogue()).is_ok()
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn merged(base: &str, ours: &str, theirs: &str) -> Option<(String, Vec<String>)> {
        let sides = (ours.as_bytes(), theirs.as_bytes());
        let merged = merge_documents(DocumentKind::Outing, Path::new("a.toml"), Some(base.as_bytes()), sides);
        let merged = merged.ok()?;
        let fields = merged.both.into_iter().map(|both| both.field).collect();
        Some((String::from_utf8_lossy(&merged.bytes).into_owned(), fields))
    }

    #[test]
    fn fields_of_both_sides_stand_even_on_neighbouring_lines() {
        let base = "place = \"Teal\" # seen\nnotes = \"a\"\n\n[verdict]\nfull = \"right\"\n";
        let ours = base.replace("\"a\"", "\"b\"").replace("full", "idle = \"rich\"\nfull");
        let theirs = base.replace("\"Teal\"", "\"Tarn\"").replace("seen", "seen twice");
        let (text, both) = merged(base, &ours, &theirs).unwrap_or_default();
        assert_eq!(both, Vec::<String>::new());
        for wanted in
            ["place = \"Tarn\" # seen twice", "notes = \"b\"", "idle = \"rich\"", "full = \"right\""]
        {
            assert!(text.contains(wanted), "{text}");
        }
    }

    #[test]
    fn one_field_of_both_is_named_and_what_one_took_out_is_gone() {
        let base = "a = 1\nb = 2\nc = 3\n";
        let (text, both) = merged(base, "a = 5\nb = 2\n", "a = 6\nb = 2.0\nc = 3\n").unwrap_or_default();
        assert_eq!((text.as_str(), both.as_slice()), ("a = 6\nb = 2.0\n", &["a".to_owned()][..]));
        let (_, both) = merged(base, "a = 1\nb = 2\n", "a = 1\nb = 2\nc = 4\n").unwrap_or_default();
        assert_eq!(both, ["c"], "one took it out and the other changed it");
    }

    #[test]
    fn two_who_measure_at_two_cylinders_lose_nothing() {
        let base = "date = \"2026-05-01\"\n\n[bore.top]\ndepth = \"10 mm\"\n";
        let at = |cylinder: &str, size: &str| {
            let steps = format!("[cylinder.{cylinder}.steps.ring-gap]\ndone = \"2026-05-01\"\n");
            format!("{base}\n[cylinder.{cylinder}.bore.top]\nalong_pin = \"{size} mm\"\n\n{steps}")
        };
        let (left, right) = (at("left", "54.01"), at("right", "54.02"));
        let both_sides = |ours: &str, theirs: &str| {
            let sides = (ours.as_bytes(), theirs.as_bytes());
            merge_documents(DocumentKind::Build, Path::new("b.toml"), Some(base.as_bytes()), sides)
        };
        let merged = both_sides(&left, &right).map(|merged| (merged.bytes, merged.both)).unwrap_or_default();
        assert_eq!(merged.1, Vec::new());
        let text = String::from_utf8_lossy(&merged.0);
        for cylinder in ["left", "right"] {
            assert!(text.contains(&format!("[cylinder.{cylinder}.bore.top]\nalong_pin")), "{text}");
            assert!(text.contains(&format!("[cylinder.{cylinder}.steps.ring-gap]\ndone")), "{text}");
        }
        // One reading that both wrote is a question.
        let other = right.replace("54.02", "54.03");
        let asked = both_sides(&right, &other).map(|merged| merged.both).unwrap_or_default();
        assert_eq!(asked.len(), 1);
        assert_eq!(asked[0].field, "cylinder.right.bore.top.along_pin");
    }

    #[test]
    fn a_comment_is_no_value() {
        assert!(same_values(Path::new("a"), b"a = 1 # x\n[b]\nc = \"d\"\n", b"b.c = \"d\"\na = 1.0\n"));
        assert!(!same_values(Path::new("a"), b"a = 1\n", b"a = 2\n"));
    }
}
