//! A new setup file shows its fields as lines with a `#` before them. A field that is set for the first time takes the `#`
//! off its line, and keeps its place and the remark behind it, instead of standing beside the example.

use toml_edit::{DocumentMut, Item, Table, TableLike, Value as TomlValue};

/// The document with the `#` taken off the line of a field, and off the heading above it where that is needed; `None`
/// where no such line stands in the field's own section, or where taking it off would touch anything else.
pub(super) fn reveal(document: &DocumentMut, path: &[String]) -> Option<DocumentMut> {
    let (key, above) = path.split_last()?;
    let text = document.to_string();
    let mut lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    let (start, opened) =
        if above.is_empty() { (0, false) } else { open_section(&mut lines, &above.join("."))? };
    let ends = |line: &String| heading(line).or_else(|| heading(without_sign(line)?)).is_some();
    let end = lines[start..].iter().position(ends).map_or(lines.len(), |length| start + length);
    let line =
        lines[start..end].iter_mut().find(|line| without_sign(line).is_some_and(|line| assigns(line, key)));
    match line {
        Some(line) => *line = without_sign(line)?.to_owned(),
        // Most fields have no example; to read the file again for them would be most of the work of a long build.
        None if !opened => return None,
        None => {}
    }
    let revealed = lines.concat().parse::<DocumentMut>().ok()?;
    is_harmless(document, &revealed, path).then_some(revealed)
}

/// The line after a heading, and whether the heading's `#` had to come off.
fn open_section(lines: &mut [String], name: &str) -> Option<(usize, bool)> {
    if let Some(at) = lines.iter().position(|line| heading(line) == Some(name)) {
        return Some((at + 1, false));
    }
    let at = lines.iter().position(|line| without_sign(line).and_then(heading) == Some(name))?;
    let bare = without_sign(&lines[at])?.to_owned();
    lines[at] = bare;
    Some((at + 1, true))
}

fn without_sign(line: &str) -> Option<&str> {
    let rest = line.trim_start().strip_prefix('#')?;
    Some(rest.strip_prefix(' ').unwrap_or(rest))
}

fn heading(line: &str) -> Option<&str> {
    let (name, _) = line.trim_start().strip_prefix('[')?.split_once(']')?;
    Some(name.trim())
}

fn assigns(line: &str, key: &str) -> bool {
    line.split_once('=').is_some_and(|(name, _)| name.trim() == key)
}

/// Whether nothing but the field itself came in, and everything else is still where it was.
fn is_harmless(before: &DocumentMut, after: &DocumentMut, path: &[String]) -> bool {
    let (had, mut has) = (values(before.as_table()), values(after.as_table()));
    has.retain(|(field, _)| field != path);
    had == has
}

fn values(table: &Table) -> Vec<(Vec<String>, String)> {
    let mut found = Vec::new();
    collect(table, &[], &mut found);
    found.sort();
    found
}

fn collect(table: &dyn TableLike, above: &[String], found: &mut Vec<(Vec<String>, String)>) {
    for (key, item) in table.iter() {
        let path: Vec<String> = above.iter().cloned().chain([key.to_owned()]).collect();
        match item {
            Item::Value(TomlValue::InlineTable(inner)) => collect(inner, &path, found),
            Item::Table(inner) => collect(inner, &path, found),
            other => found.push((path, other.to_string())),
        }
    }
}
