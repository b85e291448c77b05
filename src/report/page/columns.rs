//! What stands beside each other on a bike's sheet, and in what order it is read where there is one column.

use maud::{Markup, html};

use super::shell::{kept, parts, text};
use crate::report::out::frame::{FramePart, FrameTable};

/// When a section is read on a phone: what the hands do comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Turn {
    /// Jobs.
    ToDo,
    /// What the air wants.
    Wanted,
    /// All else.
    Else,
}

impl Turn {
    fn class(self) -> Option<&'static str> {
        match self {
            Self::ToDo => Some("to-do"),
            Self::Wanted => Some("wanted"),
            Self::Else => None,
        }
    }
}

/// Puts each of the rest into the left column or the right one, so that the longer of the two is as short as can be.
pub(super) fn balanced(mut columns: [Vec<Section>; 2], rest: Vec<Section>) -> [Vec<Section>; 2] {
    let [left, right] = columns.each_ref().map(|column| lines_of(column));
    // Each way to stand on the left or on the right; the one whose longer column is the shortest.
    let sides = (0..1_u32 << rest.len()).min_by_key(|sides| {
        let of = |side: bool| {
            let there = rest.iter().enumerate().filter(|(at, _)| (sides >> at & 1 == 1) == side);
            there.map(|(_, section)| section.lines()).sum::<usize>()
        };
        (left + of(false)).max(right + of(true))
    });
    for (at, section) in rest.into_iter().enumerate() {
        let side = sides.is_some_and(|sides| sides >> at & 1 == 1);
        columns[usize::from(side)].push(section);
    }
    columns
}

/// What stands under a title.
pub(super) struct Section {
    pub(super) title: &'static str,
    /// Where it stands on a screen of one column: the first first.
    pub(super) turn: Turn,
    pub(super) rows: Vec<(String, String)>,
    pub(super) parts: Vec<FramePart>,
}

impl Section {
    pub(super) fn markup(&self) -> Markup {
        html! {
            section class=[self.turn.class()] {
                h2 { (self.title) }
                @if !self.rows.is_empty() {
                    table { @for (name, words) in &self.rows { tr { th { (text(name)) } td { (kept(words)) } } } }
                }
                (parts(&self.parts))
            }
        }
    }

    /// How many lines it takes in print.
    pub(super) fn lines(&self) -> usize {
        let rows = self.rows.iter().map(|(_, words)| words.chars().count().div_ceil(CELL)).sum::<usize>();
        let lines = rows + lines(&self.parts);
        if lines > 0 { lines + 1 } else { 0 }
    }
}

/// How many lines a column takes in print.
pub(super) fn lines_of(column: &[Section]) -> usize {
    column.iter().map(Section::lines).sum()
}

/// Letters on a line of a column in print, in a cell of its table, and lines that leave room for larger letters.
const LINE: usize = 58;
/// Letters between two columns of a table.
const BETWEEN: usize = 2;
const CELL: usize = 48;
pub(super) const FEW: usize = 19;
/// Lines of a column, and of what stands over both, from which on three drawings stand in a row.
pub(super) const MANY: usize = 26;
/// Lines of a column, and of what stands over both, from which on a small page has room for a few drawings alone, how many those are, and
/// lines that leave room for half of them.
pub(super) const LONG: usize = 20;
pub(super) const LONGER: usize = 27;
pub(super) const ROOM_FOR: usize = 4;

/// How many lines a table takes in print: where its columns have no room beside each other a row breaks.
fn tall(table: &FrameTable) -> usize {
    let letters = |row: &[String], column: usize| row.get(column).map_or(0, |cell| cell.chars().count());
    // A row of one cell runs across.
    let rows = || table.rows.iter().filter(|row| row.len() > 1);
    let wide = |column: usize| {
        rows().map(|row| letters(row, column)).chain([letters(&table.head, column)]).max().unwrap_or(0)
    };
    let across: usize = (0..table.head.len()).map(|column| wide(column) + BETWEEN).sum();
    let broken = if across > LINE { rows().count() } else { 0 };
    1 + table.rows.len() + broken + usize::from(!table.caption.is_empty())
}

/// How many lines an answer takes in print.
pub(super) fn lines(parts: &[FramePart]) -> usize {
    let of = |words: &str| words.lines().map(|line| line.chars().count().div_ceil(LINE)).sum::<usize>();
    let lines = parts.iter().map(|part| match part {
        FramePart::Hands(words)
        | FramePart::Stop(words)
        | FramePart::Know(words)
        | FramePart::Say(words)
        | FramePart::Block(words)
        | FramePart::Command(words)
        | FramePart::Source(words) => of(words),
        FramePart::Table(table) => tall(table),
        FramePart::Boxes(jobs) => jobs.len().div_ceil(2),
        FramePart::Gap => 0,
    });
    lines.sum()
}
