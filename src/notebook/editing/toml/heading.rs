//! Where a heading goes in a TOML file: after the sections that the catalogue puts before it; and where a comment goes
//! whose line was taken out.

use toml_edit::{DocumentMut, Item, Table};

use crate::notebook::editing::toml::text::text_of;
use crate::notebook::fields::node::Node;

/// Room left between two headings, so that one can be put between them.
const STEP: isize = 10;

/// A place for the missing table `name` below `above`: after the neighbours that come before it in the catalogue.
pub(super) fn position(document: &mut DocumentMut, above: &[String], name: &str, catalogue: &Node) -> isize {
    spread(document);
    let Some(parent) = table_at(document.as_table(), above) else {
        return 0;
    };
    let names: Vec<&str> = above.iter().map(String::as_str).collect();
    let rank = |name: &str| match catalogue.at(&names) {
        Some(Node::Table(table)) => table.fields.iter().position(|(known, _)| known == name),
        _ => None,
    };
    let earlier = parent.iter().filter(|(key, _)| rank(key) <= rank(name));
    let last = earlier.flat_map(|(_, item)| positions(item)).max();
    let first = parent.iter().flat_map(|(_, item)| positions(item)).min();
    let heading = parent.position().filter(|_| !above.is_empty() && !parent.is_implicit());
    match (last, heading, first) {
        (Some(last), _, _) => last + STEP / 2,
        (None, Some(heading), _) => heading + STEP / 2,
        (None, None, Some(first)) => first - STEP / 2,
        (None, None, None) => headings(document).into_iter().max().unwrap_or(0) + STEP,
    }
}

/// Gives a table just made its surroundings: a blank line above; the opening comment of the file when it comes first;
/// what stood at the end of the file when it comes last.
pub(super) fn settle(document: &mut DocumentMut, path: &[String]) {
    let opens = !has_values(document.as_table());
    let Some(own) = table_at(document.as_table(), path).and_then(Table::position) else {
        return;
    };
    let others: Vec<isize> = headings(document).into_iter().filter(|position| *position != own).collect();
    let first = others.iter().copied().min().filter(|first| *first > own && opens);
    let mut above = if others.is_empty() && opens { String::new() } else { "\n".to_owned() };
    if let Some(opening) = first.and_then(|first| take_opening(document, first)) {
        above = opening;
    }
    if others.iter().all(|position| *position < own) {
        above = take_end(document) + &above;
    }
    if let Some(table) = table_at_mut(document.as_table_mut(), path) {
        table.decor_mut().set_prefix(above);
    }
}

/// Takes the comment from the end of the file, with a blank line behind it.
fn take_end(document: &mut DocumentMut) -> String {
    let end = text_of(Some(document.trailing())).to_owned();
    if !end.contains('#') {
        return String::new();
    }
    document.set_trailing("");
    let alone = !has_values(document.as_table()) && headings(document).len() == 1;
    let space = if alone { "\n\n" } else { "\n" };
    format!("{}{space}", end.trim_end_matches('\n'))
}

/// After a new value went in at `path`: the surroundings it wants when it is the first of its table.
pub(super) fn make_room(document: &mut DocumentMut, path: &[String]) {
    match path {
        [key] => lead_in(document, key),
        [above @ .., _] => show_heading(document, above),
        [] => {}
    }
}

/// The first value of the file takes its opening comment, and keeps a blank line to the first heading.
fn lead_in(document: &mut DocumentMut, key: &str) {
    if document.as_table().get_values().len() != 1 {
        return;
    }
    let Some(first) = headings(document).into_iter().min() else {
        return;
    };
    let opening = take_opening(document, first).unwrap_or_default();
    if let Some(mut key) = document.as_table_mut().key_mut(key) {
        key.leaf_decor_mut().set_prefix(opening);
    }
}

/// Gives a table its heading when it had none and now holds a value: above the tables inside it.
fn show_heading(document: &mut DocumentMut, path: &[String]) {
    let hidden =
        table_at(document.as_table(), path).is_some_and(|table| table.is_implicit() && !table.is_dotted());
    if !hidden {
        return;
    }
    if let Some(table) = table_at_mut(document.as_table_mut(), path) {
        table.set_implicit(false);
        table.set_position(None);
    }
    spread(document);
    let inside = table_at(document.as_table(), path)
        .map(|table| table.iter().flat_map(|(_, item)| positions(item)).min().unwrap_or_default());
    if let Some(table) = table_at_mut(document.as_table_mut(), path) {
        table.set_position(inside.map(|first| first - STEP / 2));
    }
    settle(document, path);
}

/// Hands a comment to the heading that follows the table at `path`, or to the end of the file.
pub(super) fn hand_on(document: &mut DocumentMut, path: &[String], comment: &str) {
    change_what_follows(document, path, &|above| match above {
        "" => format!("{}\n", comment.trim_end()),
        above => format!("{comment}{above}"),
    });
}

/// Whether the next line after the values of the table at `path` is a comment.
pub(super) fn comment_follows(document: &mut DocumentMut, path: &[String]) -> bool {
    change_what_follows(document, path, &str::to_owned).starts_with('#')
}

/// Changes the text between the values of the table at `path` and the heading that follows, or the end of the file; gives
/// the text as it is then.
fn change_what_follows(
    document: &mut DocumentMut,
    path: &[String],
    change: &dyn Fn(&str) -> String,
) -> String {
    spread(document);
    let place = |length: usize| table_at(document.as_table(), &path[..length])?.position();
    let own = (1..=path.len()).rev().find_map(place).unwrap_or(0);
    let Some(next) = headings(document).into_iter().filter(|position| *position > own).min() else {
        let text = change(text_of(Some(document.trailing())));
        document.set_trailing(&text);
        return text;
    };
    let mut text = String::new();
    each_heading(document.as_table_mut(), &mut |table| {
        if table.position() == Some(next) {
            text = change(text_of(table.decor().prefix()));
            table.decor_mut().set_prefix(&text);
        }
    });
    text
}

/// Numbers the headings in the order in which they are written, with room between them.
fn spread(document: &mut DocumentMut) {
    let mut written = Vec::new();
    let mut last = 0;
    each_heading(document.as_table_mut(), &mut |table| {
        last = table.position().unwrap_or(last);
        written.push((last, written.len()));
    });
    written.sort_unstable();
    let mut places = vec![0; written.len()];
    let mut place = 0;
    for (_, index) in written {
        place += STEP;
        places[index] = place;
    }
    let mut places = places.into_iter();
    each_heading(document.as_table_mut(), &mut |table| table.set_position(places.next()));
}

fn each_heading(table: &mut Table, each: &mut dyn FnMut(&mut Table)) {
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => visit(inner, each),
            Item::ArrayOfTables(list) => list.iter_mut().for_each(|inner| visit(inner, each)),
            _ => {}
        }
    }
}

fn visit(table: &mut Table, each: &mut dyn FnMut(&mut Table)) {
    if !table.is_dotted() {
        each(table);
    }
    each_heading(table, each);
}

/// Positions of the headings that are really written.
fn headings(document: &mut DocumentMut) -> Vec<isize> {
    let mut found = Vec::new();
    each_heading(document.as_table_mut(), &mut |table| {
        if is_written(table) {
            found.extend(table.position());
        }
    });
    found
}

fn positions(item: &Item) -> Vec<isize> {
    match item {
        Item::Table(table) => positions_of(table),
        Item::ArrayOfTables(list) => list.iter().flat_map(positions_of).collect(),
        _ => Vec::new(),
    }
}

fn positions_of(table: &Table) -> Vec<isize> {
    let own = table.position().filter(|_| is_written(table));
    own.into_iter().chain(table.iter().flat_map(|(_, item)| positions(item))).collect()
}

/// Whether a table has a heading in the file.
fn is_written(table: &Table) -> bool {
    !table.is_dotted() && (!table.is_implicit() || has_values(table))
}

fn has_values(table: &Table) -> bool {
    !table.get_values().is_empty()
}

fn table_at<'a>(table: &'a Table, path: &[String]) -> Option<&'a Table> {
    path.iter().try_fold(table, |table, key| table.get(key)?.as_table())
}

fn table_at_mut<'a>(table: &'a mut Table, path: &[String]) -> Option<&'a mut Table> {
    path.iter().try_fold(table, |table, key| table.get_mut(key)?.as_table_mut())
}

/// Takes the file's opening comment from above its first heading: up to the last blank line it is the file's own, below
/// it belongs to the heading.
fn take_opening(document: &mut DocumentMut, first: isize) -> Option<String> {
    let mut taken = None;
    each_heading(document.as_table_mut(), &mut |table| {
        if table.position() == Some(first) {
            let above = text_of(table.decor().prefix()).to_owned();
            let (opening, rest) =
                above.rfind("\n\n").map_or(("", above.as_str()), |at| above.split_at(at + 2));
            let rest = if rest.starts_with('\n') { rest.to_owned() } else { format!("\n{rest}") };
            taken = Some(opening.to_owned());
            table.decor_mut().set_prefix(rest);
        }
    });
    taken
}
