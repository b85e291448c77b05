//! A map, and the difference of two, as a table: engine speed across, throttle down. What changed most stands out by marks
//! behind the figure; what goes towards a seizure (an earlier spark, less fuel) has the one warning ink where the terminal has ink.

#[cfg(test)]
mod tests;

use anstyle::Style;

use crate::notebook::MapTable;
use crate::quantity::{fixed, nearly_equal, trimmed};
use crate::report::draw::plot::wrapped;
use crate::report::out::screen::WARNING_INK;
use crate::report::words::layout::{grouped, signed};

/// Most decimals of a map's values.
const FINEST: usize = 3;

/// What stands in place of a table of differences where there are none.
pub(in crate::report) const ALIKE: &str = "No cell differs.";

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

/// Text in the warning ink, the stronger the more it changed, where it goes towards a seizure; as it is on the other side, and where
/// there is no ink. The sign says the direction.
pub(super) fn tinted(text: &str, towards_seizure: bool, strength: Strength, colour: bool) -> String {
    if !colour || !towards_seizure {
        return text.to_owned();
    }
    let plain = Style::new().fg_color(Some(WARNING_INK.into()));
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
    /// Whether it goes towards a seizure, and how much it changed; `None` for what did not change.
    tint: Option<(bool, Strength)>,
}

impl Cell {
    fn plain(figure: impl Into<String>) -> Self {
        Self { figure: figure.into(), marks: String::new(), tint: None }
    }
}

/// A table of cells with the axes of a map.
struct HeatTable<'a> {
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
    HeatTable { rpm: &map.rpm, throttle: &map.throttle, rows }.text(width, false)
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
        return ALIKE.into();
    }
    let classes = Classes::of(&differences, decimals);
    let rows =
        differences.iter().map(|row| row.iter().map(|d| classes.cell(*d, &new.unit)).collect()).collect();
    let mut blocks = vec![HeatTable { rpm: &rpm, throttle: &throttle, rows }.text(width, colour)];
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

/// Whether more of a cell goes towards a seizure: of an angle, which is an earlier spark; of fuel it is less.
fn more_is_danger(unit: &str) -> bool {
    unit.starts_with("deg")
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

    fn cell(&self, difference: Option<f64>, unit: &str) -> Cell {
        let Some(difference) = difference else { return Cell::plain("?") };
        if !is_change(difference) {
            return Cell::plain(".");
        }
        let more = difference > 0.0;
        let strength = self.strength(difference);
        let count = match strength {
            Strength::Little => 0,
            Strength::Middling => 1,
            Strength::Most => 2,
        };
        Cell {
            figure: signed(difference, self.decimals),
            marks: if more { "+" } else { "-" }.repeat(count),
            tint: Some((more == more_is_danger(unit), strength)),
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

impl HeatTable<'_> {
    /// The table; where it is too wide for the screen as it stands, without what its columns do not need, and at last in blocks of
    /// columns.
    fn text(&self, width: usize, colour: bool) -> String {
        let whole: Vec<String> = self.rpm.iter().map(|rpm| grouped(*rpm)).collect();
        let thousands: Vec<String> = self.rpm.iter().map(|rpm| trimmed(rpm / 1000.0, FINEST)).collect();
        let wide = Columns::alike(self, &whole, colour);
        let (mut columns, mut heads, mut blocks) = (wide, whole, Vec::new());
        blocks.extend(columns.blocks(width));
        for space in [2, 1] {
            let tight = Columns::tight(self, &thousands, space, colour);
            let fewer = tight.blocks(width);
            if fewer.len() < blocks.len() {
                (columns, heads, blocks) = (tight, thousands.clone(), fewer);
            }
        }
        let blocks = blocks.into_iter().map(|block| self.block(&columns, &heads, block));
        blocks.collect::<Vec<_>>().join("\n\n")
    }

    fn block(&self, columns: &Columns, heads: &[String], (first, count): (usize, usize)) -> String {
        let head =
            heads.iter().skip(first).take(count).map(|head| Cell::plain(head.as_str())).collect::<Vec<_>>();
        let mut lines = vec![columns.line(columns.head, first, &head.iter().collect::<Vec<_>>())];
        for (number, row) in self.rows.iter().enumerate() {
            let cells: Vec<&Cell> = row.iter().skip(first).take(count).collect();
            let label = self.throttle.get(number).map(|at| opening(*at)).unwrap_or_default();
            lines.push(columns.line(&label, first, &cells));
        }
        lines.join("\n")
    }
}

fn opening(throttle: f64) -> String {
    format!("{} %", trimmed(throttle, 1))
}

fn widest(lengths: impl Iterator<Item = usize>) -> usize {
    lengths.max().unwrap_or(0)
}

/// How the columns of a table are laid out.
struct Columns {
    /// What stands over the labels.
    head: &'static str,
    label: usize,
    /// Width of the figures and of the marks behind them, column by column.
    each: Vec<(usize, usize)>,
    /// Columns kept clear before one whose neighbour has no marks.
    space: usize,
    colour: bool,
}

impl Columns {
    /// All of one width. The head ends where the figures end, so that a column reads straight down.
    fn alike(sheet: &HeatTable<'_>, heads: &[String], colour: bool) -> Self {
        let mut columns = Self::of(sheet, "rpm", heads, colour);
        let figure = widest(columns.each.iter().map(|(figure, _)| *figure));
        let marks = widest(columns.each.iter().map(|(_, marks)| *marks));
        columns.each.iter_mut().for_each(|column| *column = (figure, marks));
        columns
    }

    /// Each as wide as it must be, under thousands of revolutions per minute.
    fn tight(sheet: &HeatTable<'_>, heads: &[String], space: usize, colour: bool) -> Self {
        Self { space, ..Self::of(sheet, "1000 rpm", heads, colour) }
    }

    fn of(sheet: &HeatTable<'_>, head: &'static str, heads: &[String], colour: bool) -> Self {
        let each = heads.iter().enumerate().map(|(at, head)| {
            let cells = || sheet.rows.iter().filter_map(move |row| row.get(at));
            let figure = widest(cells().map(|cell| cell.figure.len())).max(head.len());
            (figure, widest(cells().map(|cell| cell.marks.len())))
        });
        let labels = sheet.throttle.iter().map(|at| opening(*at).len());
        Self { head, label: widest(labels).max(head.len()), each: each.collect(), space: 2, colour }
    }

    /// Columns kept clear before a cell; the place of the marks before it is clear in most cells, and serves as well.
    fn gap(&self, at: usize) -> usize {
        let before = at.checked_sub(1).and_then(|before| self.each.get(before));
        let marked = before.or(self.each.get(at)).is_some_and(|(_, marks)| *marks > 0);
        if marked { 1 } else { self.space }
    }

    /// First column and number of columns of each block; blocks are of one size, not one full and one left over.
    fn blocks(&self, width: usize) -> Vec<(usize, usize)> {
        let all = self.each.len();
        let cut = |size: usize| (0..all).step_by(size).map(move |first| (first, size.min(all - first)));
        let taken = |(first, count): (usize, usize)| {
            let columns = self.each.iter().enumerate().skip(first).take(count);
            self.label + columns.map(|(at, (figure, marks))| self.gap(at) + figure + marks).sum::<usize>()
        };
        let sizes = (1..=all).map(|blocks| all.div_ceil(blocks));
        let fitting = sizes.into_iter().find(|size| cut(*size).all(|block| taken(block) <= width));
        cut(fitting.unwrap_or(1)).collect()
    }

    /// A line without spaces at its end.
    fn line(&self, label: &str, first: usize, cells: &[&Cell]) -> String {
        let mut line = format!("{label:>width$}", width = self.label);
        let mut after = 0;
        for (at, cell) in cells.iter().enumerate() {
            let (figure, marks) = self.each.get(first + at).copied().unwrap_or_default();
            let text = format!("{}{}", cell.figure, cell.marks);
            let before = after + self.gap(first + at) + figure.saturating_sub(cell.figure.len());
            line.push_str(&" ".repeat(before));
            match cell.tint {
                Some((danger, strength)) => line.push_str(&tinted(&text, danger, strength, self.colour)),
                None => line.push_str(&text),
            }
            after = marks - cell.marks.len().min(marks);
        }
        line
    }
}
