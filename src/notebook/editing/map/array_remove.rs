//! Takes a breakpoint out of a map that stands in the setup file, with its cells. The comment on a value's own line goes
//! with it; every other comment stays.

use toml_edit::{Array, Item, TableLike, Value as TomlValue};

use crate::notebook::editing::toml::text::text_of;
use crate::notebook::fields::node::MapShape;

/// Takes an engine speed out.
pub(super) fn remove_column(table: &mut dyn TableLike, shape: &MapShape, cells: &str, at: usize) {
    if let Some(axis) = array(table, &shape.across) {
        remove(axis, at);
    }
    let Some(cells) = array(table, cells) else {
        return;
    };
    if cells.iter().any(TomlValue::is_array) {
        cells.iter_mut().filter_map(TomlValue::as_array_mut).for_each(|row| remove(row, at));
    } else {
        remove(cells, at);
    }
}

/// Takes a throttle opening out.
pub(super) fn remove_row(table: &mut dyn TableLike, shape: &MapShape, cells: &str, at: usize) {
    for name in [&shape.down, cells] {
        if let Some(array) = array(table, name) {
            remove(array, at);
        }
    }
}

fn array<'a>(table: &'a mut dyn TableLike, name: &str) -> Option<&'a mut Array> {
    table.get_mut(name).and_then(Item::as_array_mut)
}

/// What stands before a value holds the comment behind the value before it, so that space has to be shared out anew.
fn remove(array: &mut Array, at: usize) {
    let Some(value) = array.get(at) else {
        return;
    };
    let before = text_of(value.decor().prefix()).to_owned();
    let behind = text_of(value.decor().suffix()).to_owned();
    array.remove(at);
    if let Some(next) = array.get_mut(at) {
        let own = text_of(next.decor().prefix()).to_owned();
        next.decor_mut().set_prefix(joined(&before, &own));
        return;
    }
    let trailing = text_of(Some(array.trailing())).to_owned();
    if array.trailing_comma() {
        array.set_trailing(closing(&before, &trailing));
    } else if let Some(last) = array.len().checked_sub(1).and_then(|last| array.get_mut(last)) {
        last.decor_mut().set_suffix(closing(&before, &behind));
    }
}

/// The space between the value before and the value behind the one that went out.
fn joined(before: &str, own: &str) -> String {
    match (before.rfind('\n'), own.find('\n')) {
        // It began a line, and the comment on that line was its own.
        (Some(start), Some(end)) if own[end + 1..].contains('#') => {
            format!("{}{}", &before[..start], &own[end..])
        }
        (Some(_), _) | (None, None) => before.to_owned(),
        // It stood behind others on their line, and the comment there is about all of them.
        (None, Some(_)) => own.to_owned(),
    }
}

/// The space between the value before and the end of the list.
fn closing(before: &str, own: &str) -> String {
    match (before.rfind('\n'), own.find('\n')) {
        (Some(start), Some(end)) => format!("{}{}", &before[..start], &own[end..]),
        (Some(start), None) if before[..start].contains('#') => format!("{}\n", &before[..start]),
        (_, _) => own.to_owned(),
    }
}
