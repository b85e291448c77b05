//! Speeds and ranges of speed of several parts on one axis, a row a part: what agrees stands in one line.

#[cfg(test)]
mod tests;

use std::cmp::Ordering;

use crate::report::draw::plot::{CellLine, Scale, drawable, shortened, upright_names, wrapped};
use crate::report::out::width;

/// Fewest columns in which the axis stands beside the labels; with fewer it comes below them.
const BESIDE: usize = 24;
/// Columns kept clear beside the axis.
const GAP: usize = 2;
/// How far a reach without end is drawn, as a share of the axis.
const BEYOND: f64 = 0.12;

/// Where a part works.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::report) enum WorkingSpan {
    /// At a single speed.
    At(f64),
    /// From one speed to another.
    Between(f64, f64),
    /// From a speed upwards.
    From(f64),
    /// Up to a speed.
    UpTo(f64),
    /// Nobody knows.
    NotKnown,
}

/// One part's row.
pub(in crate::report) struct Span {
    /// The part, in a word or two.
    pub label: String,
    /// Where it works.
    pub reach: WorkingSpan,
    /// Said below the drawing; may be empty.
    pub note: String,
}

impl WorkingSpan {
    /// The reach with what cannot be drawn taken as not known, the lower speed first.
    fn checked(self) -> Self {
        match self {
            Self::At(at) | Self::From(at) | Self::UpTo(at) if !drawable(at) => Self::NotKnown,
            Self::Between(a, b) if !drawable(a) || !drawable(b) => Self::NotKnown,
            Self::Between(a, b) if b < a => Self::Between(b, a),
            other => other,
        }
    }

    /// Its speeds.
    fn ends(self) -> Vec<f64> {
        match self {
            Self::At(at) | Self::From(at) | Self::UpTo(at) => vec![at],
            Self::Between(from, to) => vec![from, to],
            Self::NotKnown => Vec::new(),
        }
    }

    /// In figures: "12,600 to 15,800".
    fn figures(self, scale: Option<&Scale>) -> String {
        let figure = |value: f64| scale.map_or_else(String::new, |scale| fine_figure(scale, value));
        match self {
            Self::At(at) => figure(at),
            Self::Between(from, to) => format!("{} to {}", figure(from), figure(to)),
            Self::From(from) => format!("from {}", figure(from)),
            Self::UpTo(to) => format!("up to {}", figure(to)),
            Self::NotKnown => "not known".into(),
        }
    }
}

/// A figure as exact as can be told on the axis: whole where the axis runs over more than a few.
fn fine_figure(scale: &Scale, value: f64) -> String {
    scale.figure(value, usize::from(scale.high - scale.low < 50.0 || scale.power != 0))
}

/// The rows under one axis with round figures, an upright through all of them, the figures at the right end and the notes
/// below; `axis` is the unit. Of a `window` that is given only what lies in it is drawn; a bar that goes on beyond it ends in an arrow.
pub(in crate::report) fn spans(
    axis: &str,
    rows: &[Span],
    upright: Option<(f64, &str)>,
    window: Option<(f64, f64)>,
    width: usize,
) -> String {
    let rows: Vec<(&Span, WorkingSpan)> = rows.iter().map(|row| (row, row.reach.checked())).collect();
    let upright = upright.filter(|upright| drawable(upright.0));
    let window = window.filter(|(low, high)| drawable(*low) && drawable(*high) && low < high);
    let values = window.map_or_else(|| axis_values(&rows, upright), |(low, high)| vec![low, high]);
    // The figures need a scale for their decimals and the scale needs their width: decimals do not depend on the cells.
    let any = Scale::with_margins(values.iter().copied(), BESIDE);
    let figures: Vec<String> = rows.iter().map(|(_, reach)| reach.figures(any.as_ref())).collect();
    let widest = |texts: &mut dyn Iterator<Item = usize>| texts.max().unwrap_or(0);
    let labels = widest(&mut rows.iter().map(|(row, _)| width::of(&row.label)));
    let right = widest(&mut figures.iter().map(String::len)).max(width::of(axis));
    let room = width.saturating_sub(labels + right + 2 * GAP);
    let page = if room >= BESIDE {
        Page { from: labels + GAP, cells: room, width, beside: true }
    } else {
        Page { from: GAP, cells: width.saturating_sub(2 * GAP).max(BESIDE), width, beside: false }
    };
    let scale = match window {
        Some(_) => Scale::across(values.iter().copied(), page.cells),
        None => Scale::with_margins(values.iter().copied(), page.cells),
    };
    let mut lines = match scale {
        Some(scale) => page.drawing(axis, &scale, &rows, &figures, upright),
        None => {
            rows.iter().map(|(row, _)| format!("{}  not known", width::padded(&row.label, labels))).collect()
        }
    };
    lines.extend(
        rows.iter()
            .filter(|(row, _)| !row.note.is_empty())
            .map(|(row, _)| wrapped(&format!("{}: {}", row.label, row.note), 0, width)),
    );
    lines.join("\n")
}

/// Everything the axis must hold; a reach without end gets a piece to be drawn on.
fn axis_values(rows: &[(&Span, WorkingSpan)], upright: Option<(f64, &str)>) -> Vec<f64> {
    let mut values: Vec<f64> = rows.iter().flat_map(|(_, reach)| reach.ends()).collect();
    values.extend(upright.map(|upright| upright.0));
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let piece = if high > low { (high - low) * BEYOND } else { high.abs() * BEYOND };
    for (_, reach) in rows {
        match reach {
            WorkingSpan::From(from) => values.push(from + piece),
            WorkingSpan::UpTo(to) => values.push((to - piece).max(if low >= 0.0 { 0.0 } else { f64::MIN })),
            _ => {}
        }
    }
    values
}

/// Where the axis stands.
struct Page {
    from: usize,
    cells: usize,
    width: usize,
    /// Labels to the left of the axis and figures to the right, all in one line.
    beside: bool,
}

impl Page {
    fn drawing(
        &self,
        axis: &str,
        scale: &Scale,
        rows: &[(&Span, WorkingSpan)],
        figures: &[String],
        upright: Option<(f64, &str)>,
    ) -> Vec<String> {
        let right = self.from + self.cells + GAP;
        let unit = format!("{axis}{}", scale.times());
        let column = upright.and_then(|upright| scale.cell(upright.0)).map(|cell| self.from + cell);
        let mut head = CellLine::default();
        head.put_labels(self.from, &scale.ticks(), self.from + self.cells);
        let mut lines = Vec::new();
        if self.beside && width::of(&unit) + right <= self.width {
            head.put(right, &unit);
        } else {
            lines.push(unit);
        }
        lines.push(head.text());
        for ((row, reach), figures) in rows.iter().zip(figures) {
            let mut line = CellLine::default();
            if self.beside {
                line.put(0, &row.label);
                line.put(right, figures);
            } else {
                let mut words = CellLine::default();
                if let Some(column) = column {
                    words.put(column, ":");
                }
                words.put(0, &shortened(&format!("{}  {figures} ", row.label), self.width));
                lines.push(words.text());
            }
            line.put(self.from, &cells(scale, *reach, upright.map(|upright| upright.0)));
            lines.push(line.text());
        }
        if let (Some(column), Some((_, name))) = (column, upright) {
            lines.extend(upright_names(&[(column, name)], self.width));
        }
        lines
    }
}

/// One row of the axis.
fn cells(scale: &Scale, reach: WorkingSpan, upright: Option<f64>) -> String {
    let mut line = CellLine::default();
    line.put(0, &" ".repeat(scale.cells));
    let upright = upright.and_then(|upright| scale.cell(upright));
    // A dot right beside the upright would make it look thicker in one row than in another.
    let beside = |cell: usize| upright.is_some_and(|upright| upright.abs_diff(cell) == 1);
    for tick in scale.ticks().iter().filter(|tick| !beside(tick.cell)) {
        line.put(tick.cell, ".");
    }
    let last = scale.cells - 1;
    let at = |value: f64| scale.cell(value).unwrap_or(if value < scale.low { 0 } else { last });
    let (from, to) = match reach {
        WorkingSpan::At(value) => (at(value), at(value)),
        WorkingSpan::Between(from, to) => (at(from), at(to)),
        WorkingSpan::From(from) => (at(from), last),
        WorkingSpan::UpTo(to) => (0, at(to)),
        WorkingSpan::NotKnown => (1, 0),
    };
    for cell in from..=to {
        line.put(cell, "=");
    }
    // The upright lies over the bars and under their ends: a bar it crosses holds that speed.
    if let Some(cell) = upright {
        line.put(cell, ":");
    }
    let (begin, end) = ends(scale, reach);
    match from.cmp(&to) {
        Ordering::Less => {
            line.put(from, begin);
            line.put(to, end);
        }
        Ordering::Equal => {
            // Both ends in one cell: the open one is the one to see.
            let open = [begin, end].into_iter().find(|end| matches!(*end, "<" | ">"));
            line.put(from, open.unwrap_or("O"));
        }
        Ordering::Greater => {}
    }
    line.text()
}

/// The signs at both ends of a reach: an arrow where it goes on, beyond the axis too.
fn ends(scale: &Scale, reach: WorkingSpan) -> (&'static str, &'static str) {
    let left = |value: f64| scale.cell(value).is_none() && value < scale.low;
    let right = |value: f64| scale.cell(value).is_none() && value > scale.high;
    let one = |value: f64| match (left(value), right(value)) {
        (true, _) => "<",
        (_, true) => ">",
        _ => "O",
    };
    match reach {
        WorkingSpan::At(value) => (one(value), one(value)),
        WorkingSpan::NotKnown => ("O", "O"),
        WorkingSpan::Between(from, to) => {
            let begin = if right(from) {
                ">"
            } else if left(from) {
                "<"
            } else {
                "["
            };
            let end = if left(to) {
                "<"
            } else if right(to) {
                ">"
            } else {
                "]"
            };
            (begin, end)
        }
        WorkingSpan::From(from) => (if left(from) { "<" } else { "[" }, ">"),
        WorkingSpan::UpTo(to) => ("<", if right(to) { ">" } else { "]" }),
    }
}
