//! The list of parts, and a part with what is written of it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::parts::{DueStanding, State};
use crate::notebook::at_cylinder;
use crate::notebook::fields::names::visible;
use crate::report::out::screen::Screen;
use crate::report::out::width;
use crate::report::parts::standing::{PartLimit, PartStanding};
use crate::report::parts::word::Worded;
use crate::report::words::layout::{NARROW, stanzas, table, table_of_names, widest};
use crate::store::PartRecord;

/// A part with how it stands.
pub struct Kept {
    /// Its record.
    pub record: PartRecord,
    /// How it stands.
    pub standing: DueStanding,
}

/// A part with what is written of it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct PartWritten {
    /// How it stands.
    #[serde(flatten)]
    pub(super) standing: PartStanding,
    /// The part as its owner calls it.
    pub(super) title: Option<String>,
    /// What is stamped on it.
    pub(super) number: Option<String>,
    /// Engines it says it fits; it also fits those it has been in.
    pub(super) fits: Vec<String>,
    /// The bore it is made for, as written; null when it is not said.
    for_bore: Option<String>,
    /// Anything else, as written.
    pub(super) notes: Option<String>,
    /// Its file in the garage.
    pub(super) file: String,
    /// The bore it is made for, with its unit.
    #[serde(skip)]
    pub(super) bore: Option<String>,
}

/// Parts by name.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartListAnswer {
    /// The parts.
    parts: Vec<PartWritten>,
    /// Parts that failed or are retired and were not asked for.
    left_out: usize,
    /// What else should be known: outings and parts that could not be counted, and why.
    remarks: Vec<String>,
    /// Whether only some were asked for.
    #[serde(skip)]
    is_filtered: bool,
}

impl From<&Kept> for PartWritten {
    fn from(kept: &Kept) -> Self {
        let part = &kept.record.part;
        Self {
            standing: PartStanding::from(&kept.standing),
            title: part.title.clone(),
            number: part.number.clone(),
            fits: part.fits.clone(),
            for_bore: part.for_bore.as_ref().map(ToString::to_string),
            notes: part.notes.clone(),
            file: kept.record.file.to_string_lossy().replace('\\', "/"),
            bore: part.for_bore.as_ref().map(|bore| bore.quantity().with_unit()),
        }
    }
}

impl PartListAnswer {
    /// The parts that were asked for, and how many of them are left out as they failed or are retired.
    pub fn new(shown: &[Kept], left_out: usize, is_filtered: bool, remarks: Vec<String>) -> Self {
        Self { parts: shown.iter().map(PartWritten::from).collect(), left_out, remarks, is_filtered }
    }

    /// For a person: by kind and name.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = vec![if self.parts.is_empty() { self.none().to_owned() } else { self.table(screen) }];
        if self.left_out > 0 {
            let more = match self.left_out {
                1 => "One more failed or is retired".to_owned(),
                several => format!("{several} more failed or are retired"),
            };
            lines.push(screen.wrap(&format!("{more}: --all lists them too."), 2));
        }
        lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        lines.join("\n")
    }

    fn none(&self) -> &'static str {
        match (self.is_filtered, self.left_out) {
            (true, _) => "No part in use is like that.",
            (false, 0) => "No parts yet. Take one in:\n  reedbook part add NAME --kind KIND",
            (false, _) => "No part is in use.",
        }
    }

    fn table(&self, screen: &Screen) -> String {
        let mut sorted: Vec<_> = self.parts.iter().map(|part| &part.standing).collect();
        sorted.sort_by(|a, b| (&a.kind, &a.part).cmp(&(&b.kind, &b.part)));
        let mut rows = Vec::new();
        let mut kind = None;
        for standing in sorted {
            if kind != Some(&standing.kind) {
                rows.push(vec![visible(&standing.kind)]);
                kind = Some(&standing.kind);
            }
            rows.push(list_row(standing));
        }
        one_line_each(screen, &["part", "where", "has run", "due at", "state"], rows, &[1])
    }
}

fn list_row(standing: &PartStanding) -> Vec<String> {
    let of_use = |text: String| if standing.is_of_use() { text } else { String::new() };
    vec![
        format!("  {}", standing.part),
        match (&standing.engine, standing.gone) {
            (Some(engine), _) => at_cylinder(engine, standing.cylinder.as_deref()),
            (None, Some(_)) => standing.place(),
            (None, None) if standing.is_unusable() => "shelf, not usable".to_owned(),
            (None, None) => "shelf".to_owned(),
        },
        // The column is narrow.
        standing.count.run().replace("at least ", "≥ "),
        of_use(standing.first().map_or_else(String::new, PartLimit::place)),
        of_use(match standing.state() {
            State::NotForAnotherEvent => "due next event".to_owned(),
            _ => standing.state.0.word().to_owned(),
        }),
    ]
}

/// A table of which every row stays on one line. The longest of the columns that may gives way at its end; a part's name, by
/// which it is called in commands, never does: where it has no room the rows become stanzas.
pub(super) fn one_line_each(
    screen: &Screen,
    head: &[&str],
    mut rows: Vec<Vec<String>>,
    gives_way: &[usize],
) -> String {
    const LEAST: usize = 7;
    let wide = |rows: &[Vec<String>], column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| width::of(cell));
        cells.chain(head.get(column).map(|cell| width::of(cell))).max().unwrap_or(0)
    };
    if screen.width() < NARROW {
        return table_of_names(head, rows, screen.width());
    }
    loop {
        let widths: Vec<usize> = (0..head.len()).map(|column| wide(&rows, column)).collect();
        // A blank on each side of a column, none before the first.
        let whole = widths.iter().sum::<usize>() + (2 * head.len()).saturating_sub(1);
        let may = |column: &usize| widths[*column] > LEAST;
        // The name is what commands are given: it gives way to nothing.
        let column = gives_way.iter().copied().filter(may).max_by_key(|column| widths[*column]);
        let Some(column) = column.filter(|_| whole > screen.width()) else { break };
        for cell in rows.iter_mut().filter_map(|row| row.get_mut(column)) {
            *cell = shortened(cell, widths[column] - 1);
        }
    }
    if widest(head, &rows) > screen.width() {
        return stanzas(head, &rows, screen.width());
    }
    table(head, rows, &[], screen.width())
}

/// A text of at most so many columns, its end left out.
fn shortened(text: &str, most: usize) -> String {
    if width::of(text) <= most {
        return text.to_owned();
    }
    format!("{}…", width::beginning(&text.replace('…', ""), most.saturating_sub(1)))
}
