//! What every part of reading works with: where it is in a document, what was read, and what was found wrong.

use std::ops::Range;
use std::path::Path;

use jiff::tz::Offset;
use toml_edit::{Item, TableLike};

use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::date::When;
use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::notebook::fields::value::{Entry, FieldSet, Value};
use crate::notebook::reading::sorts::sort_of;

/// What a document is read with.
#[derive(Clone, Copy)]
pub struct ReadOptions<'a> {
    /// Refuse lengths without a unit (an imperial garage).
    pub refuse_bare_lengths: bool,
    /// Supplies the text of a file in maps/.
    pub map_file: &'a dyn Fn(&str) -> Option<String>,
    /// The offset of a date that is written without one: that of the place where it is read.
    pub here: Offset,
}

/// A document on the way through: what was read of it so far, and what is wrong.
pub(super) struct Walk<'a> {
    pub(super) kind: DocumentKind,
    pub(super) file: &'a Path,
    pub(super) options: ReadOptions<'a>,
    pub(super) line_starts: Vec<usize>,
    pub(super) fields: FieldSet,
    pub(super) findings: Vec<Finding>,
    /// Dates that were written without an offset: where, and the whole date.
    pub(super) dates: Vec<(Range<usize>, When)>,
}

impl<'a> Walk<'a> {
    pub(super) fn new(kind: DocumentKind, file: &'a Path, options: ReadOptions<'a>) -> Self {
        Self {
            kind,
            file,
            options,
            line_starts: Vec::new(),
            fields: FieldSet::default(),
            findings: Vec::new(),
            dates: Vec::new(),
        }
    }
}

impl Walk<'_> {
    pub(super) fn line_of(&self, offset: usize) -> usize {
        self.line_starts.partition_point(|start| *start <= offset)
    }

    pub(super) fn push(
        &mut self,
        code: Code,
        line: Option<usize>,
        field: Option<&str>,
        message: &str,
        help: &str,
    ) {
        let place = Place { file: self.file.to_owned(), line, field: field.map(str::to_owned) };
        self.findings.push(Finding::new(code, place, message, help));
    }

    /// A finding in a file that lies beside this one, about the field that names it.
    pub(super) fn push_beside(
        &mut self,
        name: &str,
        (code, line): (Code, Option<usize>),
        field: &str,
        message: &str,
        help: &str,
    ) {
        let place = Place { file: self.file.with_file_name(name), line, field: Some(field.to_owned()) };
        self.findings.push(Finding::new(code, place, message, help));
    }

    pub(super) fn put(&mut self, field: &str, line: usize, value: Value) {
        // "x.y" in quotes and a table x with a y in it are one field: neither may hide the other.
        if let Some(first) = self.fields.entry(field) {
            let message = format!("{field} is there twice: the first time on line {}.", first.line);
            let help = "A name in quotes that has a point is the same field as a table of the part before the point.";
            self.push(Code::Contradiction, Some(line), Some(field), &message, help);
            return;
        }
        let document = self.kind;
        self.fields.insert(field.to_owned(), Entry { value, document, line });
    }

    pub(super) fn item_line(&self, table: &dyn TableLike, key: &str, item: &Item) -> Option<usize> {
        let span = table.key(key).and_then(toml_edit::Key::span).or_else(|| item.span());
        span.map(|span| self.line_of(span.start))
    }

    pub(super) fn wrong_sort(&mut self, field: &str, line: usize, wanted: &str, found: &Item) {
        let message = format!("{field} is {}, but {wanted} belongs there.", sort_of(found));
        self.push(Code::WrongSort, Some(line), Some(field), &message, SEE_THE_SCHEMA);
    }
}

/// The way out where a value of another sort stands than belongs there.
pub(super) const SEE_THE_SCHEMA: &str = "See the schema of this file for what belongs there.";
