//! Writes into a TOML file without disturbing what stands around: comments, order, line ends and the way a number is
//! written all stay.

use std::path::Path;

use toml_edit::{Decor, DocumentMut, InlineTable, Item, Table, TableLike, Value as TomlValue};

use crate::notebook::editing::error::EditError;
use crate::notebook::editing::toml::heading;
use crate::notebook::editing::toml::reveal::reveal;
use crate::notebook::editing::toml::text::text_of;
use crate::notebook::fields::cylinder::{OWN, own_of};
use crate::notebook::fields::node::Node;
use crate::notebook::reading::toml_fault;

/// One TOML file that is being edited. Every document of a garage is written through it.
#[derive(Debug, Clone)]
pub struct Page {
    document: DocumentMut,
    mark: bool,
    crlf: bool,
}

impl Page {
    /// Opens the text of a file; none is an empty file.
    ///
    /// # Errors
    /// Bytes that are not text, or not TOML.
    pub fn open(file: &Path, bytes: Option<&[u8]>) -> Result<Self, EditError> {
        let unreadable = |finding| EditError::Unreadable(Box::new(finding));
        let text = std::str::from_utf8(bytes.unwrap_or_default())
            .map_err(|_| unreadable(toml_fault::not_text(file)))?;
        let (mark, text) = text.strip_prefix('\u{feff}').map_or((false, text), |rest| (true, rest));
        // toml_edit writes plain line feeds: what the file had is put back at the end
        let crlf = text.matches("\r\n").count() * 2 > text.matches('\n').count();
        let text = text.replace("\r\n", "\n");
        let document = text
            .parse::<DocumentMut>()
            .map_err(|error| unreadable(toml_fault::not_toml(file, &text, &error)))?;
        Ok(Self { document, mark, crlf })
    }

    /// The file's text.
    pub fn bytes(&self) -> Vec<u8> {
        let mut text = self.document.to_string();
        if self.crlf {
            text = text.replace('\n', "\r\n");
        }
        if self.mark {
            text.insert(0, '\u{feff}');
        }
        text.into_bytes()
    }

    /// Writes a value to a dotted field, on the line that shows it with a `#` before it where there is one.
    ///
    /// # Errors
    /// A value stands where a table should be, or a table where a value should.
    pub fn write(&mut self, field: &str, value: TomlValue, catalogue: &Node) -> Result<(), EditError> {
        let path = self.path_of(field);
        self.reveal(&path);
        self.set(&path, value, catalogue)
    }

    /// The keys of a dotted field: those that the file has, else those that it would have. What a cylinder has of its own stands
    /// under its name in a table of the cylinders.
    pub(in crate::notebook) fn path_of(&self, field: &str) -> Vec<String> {
        let own = own_of(field).map(|_| OWN);
        let whole = || own.into_iter().chain(field.split('.')).map(str::to_owned).collect();
        self.find(field).unwrap_or_else(whole)
    }

    /// Takes out a dotted field, a whole table or a single value, and says whether it was there.
    pub fn take_out(&mut self, field: &str) -> bool {
        let Some(path) = self.find(field) else {
            return false;
        };
        if self.item(&path).is_some_and(Item::is_table) {
            self.remove_table(&path, None);
        } else {
            self.remove(&path);
        }
        true
    }

    /// The keys that lead to a dotted field, as the file has them (a key may itself hold a dot).
    pub(in crate::notebook) fn find(&self, field: &str) -> Option<Vec<String>> {
        let table = self.document.as_table();
        find(table, field).or_else(|| own_of(field).and_then(|_| find(table, &format!("{OWN}.{field}"))))
    }

    /// What stands at a path.
    pub(in crate::notebook) fn item(&self, path: &[String]) -> Option<&Item> {
        let (key, above) = path.split_last()?;
        table_at(self.document.as_table(), above)?.get(key)
    }

    /// The names in the table that a dotted field stands for; none when there is no such table.
    pub(in crate::notebook) fn names_in(&self, field: &str) -> Vec<&str> {
        let table = self.find(field).and_then(|path| self.item(&path)?.as_table_like());
        table.map(|table| table.iter().map(|(name, _)| name).collect()).unwrap_or_default()
    }

    /// The table at a path, for editing.
    pub(in crate::notebook) fn table_mut(&mut self, path: &[String]) -> Option<&mut dyn TableLike> {
        let mut table: &mut dyn TableLike = self.document.as_table_mut();
        for key in path {
            table = table.get_mut(key)?.as_table_like_mut()?;
        }
        Some(table)
    }

    /// Writes a value. What stood there gives its surroundings to the new value, the comment behind it included; a table
    /// that is missing is made with a heading, in the order of the catalogue.
    pub(in crate::notebook) fn set(
        &mut self,
        path: &[String],
        mut value: TomlValue,
        catalogue: &Node,
    ) -> Result<(), EditError> {
        let Some((key, above)) = path.split_last() else {
            return Ok(());
        };
        let field = path.join(".");
        let blocked =
            |depth: usize| EditError::NotATable { field: field.clone(), path: path[..depth].join(".") };
        self.make_table(above, catalogue).map_err(blocked)?;
        let table = self.table_mut(above).ok_or_else(|| blocked(above.len()))?;
        match table.get_mut(key) {
            Some(Item::Value(old)) => {
                *value.decor_mut() = old.decor().clone();
                *old = value;
            }
            Some(Item::None) | None => {
                table.insert(key, Item::Value(value));
                heading::make_room(&mut self.document, path);
            }
            Some(other) => {
                let mut names = Vec::new();
                names_in(other, "", &mut names);
                return Err(EditError::NotOneValue { field, names });
            }
        }
        Ok(())
    }

    /// Before a field is written for the first time: takes the `#` off the line that shows it.
    pub(in crate::notebook) fn reveal(&mut self, path: &[String]) {
        if self.item(path).is_none()
            && let Some(revealed) = reveal(&self.document, path)
        {
            self.document = revealed;
        }
    }

    /// Takes out what stands at a path, and the tables that are left empty by it, unless comments are left in a section. The
    /// comments above and behind stay in the file: they go to whatever follows.
    pub(in crate::notebook) fn remove(&mut self, path: &[String]) {
        let Some((key, above)) = path.split_last() else {
            return;
        };
        let Some(table) = self.table_mut(above) else {
            return;
        };
        let comment = comment_of(table, key);
        let next = next_value(table, key);
        table.remove(key);
        let empty = table.is_empty();
        let left = match (comment, next) {
            (Some(comment), Some(next)) => {
                hand_to_key(table, &next, &comment);
                None
            }
            (comment, _) => comment,
        };
        let kept_for_comments =
            above.len() == 1 && (left.is_some() || heading::comment_follows(&mut self.document, above));
        if empty && !above.is_empty() && !kept_for_comments {
            self.remove_table(above, left.as_deref());
        } else if let Some(comment) = left {
            heading::hand_on(&mut self.document, above, &comment);
        }
    }

    /// Takes out a whole table; the comments at its heading and `comment` go to what follows.
    pub(super) fn remove_table(&mut self, path: &[String], comment: Option<&str>) {
        if let Some(comment) = comment {
            heading::hand_on(&mut self.document, path, comment);
        }
        let heading = self.item(path).and_then(Item::as_table).and_then(comment_at_heading);
        if let Some(heading) = heading {
            heading::hand_on(&mut self.document, path, &heading);
        }
        self.remove(path);
    }

    /// Makes the tables on the way to `path` that are missing; the error is how far the way goes before a value blocks it.
    fn make_table(&mut self, path: &[String], catalogue: &Node) -> Result<(), usize> {
        let known = (0..=path.len())
            .rev()
            .find(|length| table_at(self.document.as_table(), &path[..*length]).is_some());
        let known = known.unwrap_or(0);
        let Some(missing) = path.get(known) else {
            return Ok(());
        };
        let (above, below) = (&path[..known], &path[known + 1..]);
        let position = heading::position(&mut self.document, above, missing, catalogue);
        let made = match self.item(above) {
            Some(Item::Value(_)) => inline_chain(below),
            Some(Item::Table(table)) if table.is_dotted() => dotted_chain(below),
            _ => heading_chain(below, position),
        };
        match self.table_mut(above) {
            Some(table) if !table.contains_key(missing) => table.insert(missing, made),
            _ => return Err(known + 1),
        };
        heading::settle(&mut self.document, path);
        Ok(())
    }
}

fn find(table: &dyn TableLike, field: &str) -> Option<Vec<String>> {
    if table.contains_key(field) {
        return Some(vec![field.to_owned()]);
    }
    table.iter().find_map(|(key, item)| {
        let rest = field.strip_prefix(key)?.strip_prefix('.')?;
        let mut path = find(item.as_table_like()?, rest)?;
        path.insert(0, key.to_owned());
        Some(path)
    })
}

fn table_at<'a>(table: &'a dyn TableLike, path: &[String]) -> Option<&'a dyn TableLike> {
    match path.split_first() {
        None => Some(table),
        Some((first, rest)) => table_at(table.get(first)?.as_table_like()?, rest),
    }
}

fn heading_chain(names: &[String], position: isize) -> Item {
    let mut table = Table::new();
    table.set_position(Some(position));
    if let Some((first, rest)) = names.split_first() {
        table.set_implicit(true);
        table.insert(first, heading_chain(rest, position));
    }
    Item::Table(table)
}

/// Where the file writes `exhaust.top = 25` without headings, so does what is added.
fn dotted_chain(names: &[String]) -> Item {
    let mut table = Table::new();
    table.set_implicit(true);
    table.set_dotted(true);
    if let Some((first, rest)) = names.split_first() {
        table.insert(first, dotted_chain(rest));
    }
    Item::Table(table)
}

fn inline_chain(names: &[String]) -> Item {
    let mut table = InlineTable::new();
    if let Some((first, rest)) = names.split_first() {
        table.insert(first, inline_chain(rest).into_value().unwrap_or_else(|_| InlineTable::new().into()));
    }
    Item::Value(TomlValue::InlineTable(table))
}

/// The comment above a value, and the one behind it as a line of its own.
fn comment_of(table: &dyn TableLike, key: &str) -> Option<String> {
    let above = match table.get(key)? {
        Item::Value(value) => {
            let behind = text_of(value.decor().suffix()).trim();
            let line = if behind.is_empty() { String::new() } else { format!("{behind}\n") };
            text_of(table.key(key)?.leaf_decor().prefix()).to_owned() + &line
        }
        _ => return None,
    };
    above.contains('#').then_some(above)
}

fn comment_at_heading(table: &Table) -> Option<String> {
    let decor: &Decor = table.decor();
    let mut text = text_of(decor.prefix()).to_owned();
    let behind = text_of(decor.suffix()).trim();
    if !behind.is_empty() {
        text.push_str(behind);
        text.push('\n');
    }
    text.contains('#').then_some(text)
}

fn next_value(table: &dyn TableLike, key: &str) -> Option<String> {
    let after = table.iter().skip_while(|(name, _)| *name != key).skip(1);
    after.filter(|(_, item)| item.is_value()).map(|(name, _)| name.to_owned()).next()
}

fn hand_to_key(table: &mut dyn TableLike, key: &str, comment: &str) {
    if let Some(mut key) = table.key_mut(key) {
        let decor = key.leaf_decor_mut();
        let joined = format!("{comment}{}", text_of(decor.prefix()));
        decor.set_prefix(joined);
    }
}
/// The names of the values that stand in a section, with dots between them.
fn names_in(item: &Item, inside: &str, names: &mut Vec<String>) {
    match item.as_table_like() {
        Some(table) => {
            for (key, item) in table.iter() {
                let name = if inside.is_empty() { key.to_owned() } else { format!("{inside}.{key}") };
                names_in(item, &name, names);
            }
        }
        None if inside.is_empty() => {}
        None => names.push(inside.to_owned()),
    }
}
