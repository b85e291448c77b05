//! A map, and the difference of two, as a table: engine speed across, throttle down. What changed most stands out by marks
//! behind the figure, and by colour where the terminal has it.

#[cfg(test)]
mod tests;

use anstyle::{AnsiColor, Style};

use crate::notebook::MapTable;
use crate::quantity::{fixed, nearly_equal, trimmed};
use crate::report::draw::plot::wrapped;
use crate::report::words::layout::{grouped, signed};

/// Most decimals of a map's values.
const FINEST: usize = 3;

/// How much of the largest difference a cell changed by, in thirds; a third more is a mark more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Strength {
    /// Up to a third.
    Little,
    /// Up to two thirds.
    Middling,
    /// More.
    Most,
}

/// Text in a warm colour for more and a cold one for less, the stronger the more; as it is where there is no colour.
pub(super) fn tinted(text: &str, warm: bool, strength: Strength, colour: bool) -> String {
    if !colour {
        return text.to_owned();
    }
    let ink = if warm { AnsiColor::Red } else { AnsiColor::Cyan };
    let plain = Style::new().fg_color(Some(ink.into()));
    let style = match strength {
        Strength::Little => plain,
        Strength::Middling => plain.bold(),
        Strength::Most => plain.bold().invert(),
    };
    format!("{style}{text}{style:#}")
}

/// One cell as it is printed: the figure at the right of its column, the marks behind it.
struct Cell {
    figure: String,
    marks: String,
    /// Whether it is more or less than before, and how much; `None` for what did not change.
    tint: Option<(bool, Strength)>,
}

impl Cell {
    fn plain(figure: impl Into<String>) -> Self {
        Self { figure: figure.into(), marks: String::new(), tint: None }
    }
}

/// A table of cells with the axes of a map.
struct Sheet<'a> {
    rpm: &'a [f64],
    throttle: &'a [f64],
    /// One row for each throttle opening, or a single one.
    rows: Vec<Vec<Cell>>,
}

/// A map's values.
pub(in crate::report) fn map_table(map: &MapTable, width: usize) -> String {
    let values = || map.rows.iter().flatten().copied().filter(|value| value.is_finite());
    let exact = |decimals: usize| values().all(|value| trimmed(value, FINEST) == trimmed(value, decimals));
    let decimals = (0..FINEST).find(|decimals| exact(*decimals)).unwrap_or(FINEST);
    let cell =
        |value: &f64| Cell::plain(if value.is_finite() { fixed(*value, decimals) } else { "?".into() });
    let rows = map.rows.iter().map(|row| row.iter().map(cell).collect()).collect();
    Sheet { rpm: &map.rpm, throttle: &map.throttle, rows }.text(width, false)
}

/// What changed from `old` to `new`, cell by cell: "+1.5", "-0.5", "." for no change. Where the breakpoints differ, cells are
/// compared at those of both, and a line says so.
pub(in crate::report) fn difference_table(
    old: &MapTable,
    new: &MapTable,
    decimals: usize,
    width: usize,
    colour: bool,
) -> String {
    if old.unit != new.unit {
        return wrapped(
            &format!("The cells were {} and are {} now: not compared.", unit_of(old), unit_of(new)),
            0,
            width,
        );
    }
    let rpm = both(&old.rpm, &new.rpm);
    let throttle = both(&old.throttle, &new.throttle);
    let differences = differences(old, new, &rpm, &throttle);
    if differences.iter().flatten().all(|difference| difference.is_some_and(|d| !is_change(d))) {
        return "No cell differs.".into();
    }
    let classes = Classes::of(&differences, decimals);
    let rows = differences.iter().map(|row| row.iter().map(|d| classes.cell(*d)).collect()).collect();
    let mut blocks = vec![Sheet { rpm: &rpm, throttle: &throttle, rows }.text(width, colour)];
    let mut words = classes.legend(&differences, &new.unit);
    if !same(&old.rpm, &rpm)
        || !same(&new.rpm, &rpm)
        || !same(&old.throttle, &throttle)
        || !same(&new.throttle, &throttle)
    {
        words.push(
            "The breakpoints differ: both maps are read at those of both, on a straight line between their own.".into(),
        );
    }
    if !words.is_empty() {
        blocks.push(words.iter().map(|line| wrapped(line, 0, width)).collect::<Vec<_>>().join("\n"));
    }
    blocks.join("\n\n")
}

fn unit_of(map: &MapTable) -> &str {
    if map.unit.is_empty() { "without a unit" } else { &map.unit }
}

/// The breakpoints of two axes, ascending, each once.
fn both(old: &[f64], new: &[f64]) -> Vec<f64> {
    let mut all: Vec<f64> = old.iter().chain(new).copied().collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| nearly_equal(*a, *b));
    all
}

fn same(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| nearly_equal(*a, *b))
}

/// New less old at each place; 0 where both are one reading, `None` where one of them holds nothing.
fn differences(old: &MapTable, new: &MapTable, rpm: &[f64], throttle: &[f64]) -> Vec<Vec<Option<f64>>> {
    // A map over engine speed alone is the same at any throttle.
    let openings = if throttle.is_empty() { &[0.0][..] } else { throttle };
    let at = |rpm: f64, throttle: f64| {
        let (old, new) = (old.value_at(rpm, throttle)?, new.value_at(rpm, throttle)?);
        let difference = if nearly_equal(old, new) { 0.0 } else { new - old };
        difference.is_finite().then_some(difference)
    };
    openings.iter().map(|opening| rpm.iter().map(|speed| at(*speed, *opening)).collect()).collect()
}

/// Differences sorted by their size.
struct Classes {
    decimals: usize,
    /// Beyond these a cell has one mark and two; `None` where all changed cells changed alike.
    bounds: Option<(f64, f64)>,
}

impl Classes {
    fn of(differences: &[Vec<Option<f64>>], decimals: usize) -> Self {
        let sizes = || changed(differences).map(f64::abs);
        let largest = sizes().fold(0.0, f64::max);
        let smallest = sizes().fold(f64::INFINITY, f64::min);
        // The bounds are said in words and must hold as they are said.
        let rounded = |value: f64| fixed(value, decimals).parse().unwrap_or(value);
        let bounds = (rounded(largest / 3.0), rounded(largest * 2.0 / 3.0));
        let alike = fixed(largest, decimals) == fixed(smallest, decimals);
        Self { decimals, bounds: (!alike && bounds.0 > 0.0 && bounds.1 > bounds.0).then_some(bounds) }
    }

    fn strength(&self, difference: f64) -> Strength {
        // As it is shown: a figure on the bound is not beyond it.
        let shown: f64 = fixed(difference.abs(), self.decimals).parse().unwrap_or(0.0);
        match self.bounds {
            Some((_, upper)) if shown > upper => Strength::Most,
            Some((lower, _)) if shown > lower => Strength::Middling,
            _ => Strength::Little,
        }
    }

    fn cell(&self, difference: Option<f64>) -> Cell {
        let Some(difference) = difference else { return Cell::plain("?") };
        if !is_change(difference) {
            return Cell::plain(".");
        }
        let warm = difference > 0.0;
        let strength = self.strength(difference);
        let count = match strength {
            Strength::Little => 0,
            Strength::Middling => 1,
            Strength::Most => 2,
        };
        Cell {
            figure: signed(difference, self.decimals),
            marks: if warm { "+" } else { "-" }.repeat(count),
            tint: Some((warm, strength)),
        }
    }

    /// What the table's signs mean, of those that occur.
    fn legend(&self, differences: &[Vec<Option<f64>>], unit: &str) -> Vec<String> {
        let mut words = Vec::new();
        if let Some((lower, upper)) = self.bounds {
            let (lower, upper) = (fixed(lower, self.decimals), fixed(upper, self.decimals));
            let beyond =
                format!("One mark behind a figure: more than {lower}; two: more than {upper} {unit}");
            words.push(format!("{}.", beyond.trim_end()));
        }
        if changed(differences).any(|d| signed(d, self.decimals) == fixed(0.0, self.decimals)) {
            words.push(format!("{}: changed by less than can be shown.", fixed(0.0, self.decimals)));
        }
        if differences.iter().flatten().any(Option::is_none) {
            words.push("?: not known in one of the maps.".into());
        }
        words
    }
}

fn changed(differences: &[Vec<Option<f64>>]) -> impl Iterator<Item = f64> + '_ {
    differences.iter().flatten().filter_map(|d| *d).filter(|d| is_change(*d))
}

/// Two that are one reading were made exactly zero.
fn is_change(difference: f64) -> bool {
    difference.abs() > 0.0
}

impl Sheet<'_> {
    /// The table, in blocks of columns where it is too wide for the screen.
    fn text(&self, width: usize, colour: bool) -> String {
        let heads: Vec<String> = self.rpm.iter().map(|rpm| grouped(*rpm)).collect();
        let labels: Vec<String> = self.throttle.iter().map(|at| format!("{} %", trimmed(*at, 1))).collect();
        let widest = |lengths: &mut dyn Iterator<Item = usize>| lengths.max().unwrap_or(0);
        let label = widest(&mut labels.iter().map(String::len)).max("rpm".len());
        let cells = || self.rows.iter().flatten();
        let marks = widest(&mut cells().map(|cell| cell.marks.len()));
        let figure = widest(&mut cells().map(|cell| cell.figure.len()));
        // The head ends where the figures end, so that a column reads straight down.
        let figure = figure.max(widest(&mut heads.iter().map(String::len)));
        let columns = Columns { label, figure, marks, colour };
        columns
            .blocks(heads.len(), width)
            .into_iter()
            .map(|block| self.block(&columns, &heads, &labels, block))
            .collect::<Vec<_>>()
            .join("\n\n")
    }

    fn block(
        &self,
        columns: &Columns,
        heads: &[String],
        labels: &[String],
        (first, count): (usize, usize),
    ) -> String {
        let head =
            heads.iter().skip(first).take(count).map(|head| Cell::plain(head.as_str())).collect::<Vec<_>>();
        let mut lines = vec![columns.line("rpm", &head.iter().collect::<Vec<_>>())];
        for (number, row) in self.rows.iter().enumerate() {
            let cells: Vec<&Cell> = row.iter().skip(first).take(count).collect();
            lines.push(columns.line(labels.get(number).map_or("", String::as_str), &cells));
        }
        lines.join("\n")
    }
}

/// How the columns of a table are laid out.
struct Columns {
    label: usize,
    figure: usize,
    marks: usize,
    colour: bool,
}

impl Columns {
    /// Columns kept clear before each cell; the place of the marks is clear in most cells, and serves as well.
    fn gap(&self) -> usize {
        if self.marks == 0 { 2 } else { 1 }
    }

    /// First column and number of columns of each block; blocks are of one size, not one full and one left over.
    fn blocks(&self, columns: usize, width: usize) -> Vec<(usize, usize)> {
        let each = self.gap() + self.figure + self.marks;
        let fit = (width.saturating_sub(self.label) / each).max(1);
        let size = columns.div_ceil(columns.div_ceil(fit).max(1)).max(1);
        (0..columns).step_by(size).map(|first| (first, size.min(columns - first))).collect()
    }

    /// A line without spaces at its end.
    fn line(&self, label: &str, cells: &[&Cell]) -> String {
        let mut line = format!("{label:>width$}", width = self.label);
        let mut after = 0;
        for cell in cells {
            let text = format!("{}{}", cell.figure, cell.marks);
            let before = after + self.gap() + self.figure - cell.figure.len();
            line.push_str(&" ".repeat(before));
            match cell.tint {
                Some((warm, strength)) => line.push_str(&tinted(&text, warm, strength, self.colour)),
                None => line.push_str(&text),
            }
            after = self.marks - cell.marks.len();
        }
        line
    }
}
