//! A scale with round figures laid over a row of character cells, and a line of text to put things on.

use crate::quantity::fixed;
use crate::report::out::width;
use crate::report::words::layout::grouped;

/// Ranges below this are taken for one value: no gauge here resolves them.
const FLAT: f64 = 1e-9;
/// Values below this are zero.
const NOTHING: f64 = 1e-30;
/// Values above this are no measurement; they would overflow the arithmetic of a drawing.
const BEYOND: f64 = 1e30;

/// Cells free between two labels at least, and cells from one to the next: short labels do not crowd the axis either.
const BETWEEN_LABELS: usize = 2;
const LABEL_TO_LABEL: usize = 6;

/// A scale over `cells` cells; the first stands for `low`, the last for `high`.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::report) struct Scale {
    /// Value of the first cell.
    pub low: f64,
    /// Value of the last cell.
    pub high: f64,
    /// How many cells there are, two at least.
    pub cells: usize,
    step: f64,
    /// Labels are in ten to this power: not 0 for huge and for tiny figures only.
    pub power: i32,
}

/// A round figure on a scale.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::report) struct Tick {
    pub cell: usize,
    pub label: String,
}

/// Whether a value can be drawn.
pub(in crate::report) fn drawable(value: f64) -> bool {
    value.is_finite() && value.abs() < BEYOND
}

impl Scale {
    /// A scale that runs upwards: its ticks fall on whole rows, two rows apart at least, `most_cells` rows at most.
    pub(in crate::report) fn upwards(values: impl Iterator<Item = f64>, most_cells: usize) -> Option<Self> {
        let (low, high) = range(values)?;
        let most = (most_cells.max(5) - 1) / 2;
        let mut step = round_step((high - low) / real(most));
        let counted = |step: f64| whole((high / step - FLAT).ceil() - (low / step + FLAT).floor());
        while counted(step) > most {
            step = round_step(step * 1.01);
        }
        let steps = counted(step).max(1);
        let rows = (most_cells.max(5) - 1) / steps;
        let low = (low / step + FLAT).floor() * step;
        let high = low + real(steps) * step;
        Some(Self { low, high, cells: steps * rows + 1, step, power: power(low, high) })
    }

    /// A scale that runs across, from the lowest to the highest value as they are.
    pub(in crate::report) fn across(values: impl Iterator<Item = f64>, cells: usize) -> Option<Self> {
        let (low, high) = range(values)?;
        Some(Self::labelled(low, high, cells.max(2)))
    }

    /// A scale that runs across with a little air at both ends, but not below zero where nothing is.
    pub(in crate::report) fn with_margins(values: impl Iterator<Item = f64>, cells: usize) -> Option<Self> {
        let (lowest, highest) = range(values)?;
        let fine = round_step((highest - lowest) / 20.0);
        let low = (lowest / fine - 0.5).floor() * fine;
        let high = (highest / fine + 0.5).ceil() * fine;
        let low = if lowest >= 0.0 { low.max(0.0) } else { low };
        Some(Self::labelled(low, high, cells.max(2)))
    }

    /// The smallest round step whose labels have room.
    fn labelled(low: f64, high: f64, cells: usize) -> Self {
        let step = round_step((high - low) / real(cells));
        let mut scale = Self { low, high, cells, step, power: power(low, high) };
        // A step as long as the scale leaves a label or none, which always has room.
        while scale.step < high - low {
            let widest = scale.ticks().iter().map(|tick| width::of(&tick.label)).max().unwrap_or(0);
            let between = scale.step / (high - low) * real(cells - 1);
            if between >= real((widest + BETWEEN_LABELS).max(LABEL_TO_LABEL)) {
                break;
            }
            scale.step = round_step(scale.step * 1.01);
        }
        scale
    }

    /// The cell of a value; `None` off the scale.
    pub(in crate::report) fn cell(&self, value: f64) -> Option<usize> {
        let share = (value - self.low) / (self.high - self.low);
        // Half a cell beyond the ends still is the first or the last cell.
        let cell = (share * real(self.cells - 1)).round();
        (cell >= 0.0 && cell <= real(self.cells - 1)).then(|| whole(cell))
    }

    /// The value in the middle of a cell.
    pub(in crate::report) fn value(&self, cell: usize) -> f64 {
        self.low + (self.high - self.low) * real(cell) / real(self.cells - 1)
    }

    /// The round figures, ascending.
    pub(in crate::report) fn ticks(&self) -> Vec<Tick> {
        let first = (self.low / self.step - FLAT).ceil();
        let last = (self.high / self.step + FLAT).floor();
        if last < first {
            return Vec::new();
        }
        (0..=whole(last - first))
            .filter_map(|count| {
                let value = (first + real(count)) * self.step;
                Some(Tick { cell: self.cell(value)?, label: self.figure(value, 0) })
            })
            .collect()
    }

    /// A value with the decimals of the labels and `more`.
    pub(in crate::report) fn figure(&self, value: f64, more: usize) -> String {
        let unit = 10_f64.powi(self.power);
        let step = self.step / unit;
        let whole_in = |decimals: i32| {
            let steps = step * 10_f64.powi(decimals);
            (steps - steps.round()).abs() < 1e-6 * steps
        };
        let decimals = (0..=12_u8).find(|decimals| whole_in(i32::from(*decimals))).unwrap_or(12);
        figure(value / unit, usize::from(decimals) + more)
    }

    /// Added to the name of the scale where the labels are in a power of ten.
    pub(in crate::report) fn times(&self) -> String {
        if self.power == 0 { String::new() } else { format!(" (figures times 10^{})", self.power) }
    }
}

/// A number grouped by thousands, with decimals: "12,400.5".
fn figure(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    let (sign, digits) = text.strip_prefix('-').map_or(("", text.as_str()), |digits| ("-", digits));
    match digits.split_once('.') {
        None => grouped(value),
        Some((before, after)) => {
            format!("{sign}{}.{after}", before.parse().map_or_else(|_| before.to_owned(), grouped))
        }
    }
}

/// Lowest and highest of what can be drawn, moved apart where they are one.
fn range(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (low, high) = values
        .filter(|value| drawable(*value))
        .map(|value| (value, value))
        .reduce(|so_far, next| (so_far.0.min(next.0), so_far.1.max(next.1)))?;
    let biggest = low.abs().max(high.abs());
    if biggest < NOTHING {
        return Some((0.0, 1.0));
    }
    if high - low > biggest * FLAT {
        return Some((low, high));
    }
    Some((low - biggest * 0.1, high + biggest * 0.1))
}

/// The smallest of 1, 2, 5, 10, 20 ... (and 0.5, 0.2 ...) that is not below `at_least`.
fn round_step(at_least: f64) -> f64 {
    let power = 10_f64.powf(at_least.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|leading| leading * power);
    steps.into_iter().find(|step| *step >= at_least * (1.0 - FLAT)).unwrap_or(20.0 * power)
}

/// The power of ten to write figures in: 0 from a hundredth to ten millions, else one in whole thousands.
fn power(low: f64, high: f64) -> i32 {
    let biggest = low.abs().max(high.abs());
    if (1e-2..1e7).contains(&biggest) {
        return 0;
    }
    (-10..=10_i32)
        .rev()
        .map(|thousands| thousands * 3)
        .find(|power| biggest >= 10_f64.powi(*power))
        .unwrap_or(0)
}

/// A count as a number to compute with.
pub(in crate::report) fn real(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::MAX, f64::from)
}

/// A number as a count; a negative one is none.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a conversion that saturates is what is wanted
fn whole(value: f64) -> usize {
    value.round().clamp(0.0, 1e9) as usize
}

/// A line of text with a place for everything: a cell a column. A wide letter has the column behind it too, which is empty; an
/// accent by itself stands with the letter before it.
#[derive(Debug, Clone, Default)]
pub(in crate::report) struct CellLine(Vec<String>);

impl CellLine {
    /// Puts a text at a column, over what is there.
    pub(in crate::report) fn put(&mut self, at: usize, text: &str) {
        let mut column = at;
        for letter in text.chars() {
            let wide = width::of_letter(letter);
            if wide == 0 {
                if let Some(cell) = column.checked_sub(1).and_then(|before| self.0.get_mut(before)) {
                    cell.push(letter);
                }
                continue;
            }
            for behind in 0..wide {
                self.clear(column + behind);
                self.0[column + behind].clear();
            }
            self.0[column].push(letter);
            column += wide;
        }
    }

    /// Makes a column blank; the half of a wide letter that stays is blank too.
    fn clear(&mut self, column: usize) {
        if self.0.len() <= column {
            self.0.resize(column + 1, " ".to_owned());
        }
        let second_half = |cell: Option<&String>| cell.is_some_and(String::is_empty);
        let before = column.checked_sub(1).filter(|_| second_half(self.0.get(column)));
        let behind = Some(column + 1).filter(|behind| second_half(self.0.get(*behind)));
        for column in [before, Some(column), behind].into_iter().flatten() {
            self.0[column].replace_range(.., " ");
        }
    }

    /// Puts labels with their middle at their ticks; `from` is the column of the first cell.
    pub(in crate::report) fn put_labels(&mut self, from: usize, ticks: &[Tick], width: usize) {
        for tick in ticks {
            let length = width::of(&tick.label);
            let at = (from + tick.cell).saturating_sub(length / 2).min(width.saturating_sub(length));
            self.put(at, &tick.label);
        }
    }

    /// The line without spaces at its end.
    pub(in crate::report) fn text(&self) -> String {
        self.0.concat().trim_end().to_owned()
    }
}

/// Lines that name uprights at their foot, one a line; those still to be named run on, and no name crosses one of them
/// where that can be avoided.
pub(in crate::report) fn upright_names(uprights: &[(usize, &str)], width: usize) -> Vec<String> {
    let mut waiting: Vec<Upright> =
        uprights.iter().map(|(column, name)| Upright { column: *column, name }).collect();
    waiting.sort_by_key(|upright| upright.column);
    let mut lines = Vec::new();
    while let Some((next, from)) = next_name(&waiting, width) {
        let named = waiting.remove(next);
        let mut line = CellLine::default();
        for other in &waiting {
            line.put(other.column, ":");
        }
        line.put(from, &shortened(&named.words(from), width));
        lines.push(line.text());
    }
    lines
}

/// An upright line and what it is called.
struct Upright<'a> {
    column: usize,
    name: &'a str,
}

impl Upright<'_> {
    fn length(&self) -> usize {
        width::of(self.name) + 2
    }

    /// The name behind its upright or before it, by the column it begins at.
    fn words(&self, from: usize) -> String {
        if from < self.column && from + self.length() == self.column + 1 {
            format!("{} :", self.name)
        } else {
            format!(": {}", self.name)
        }
    }

    /// Columns at which its name may begin: behind the upright, before it.
    fn places(&self, width: usize) -> impl Iterator<Item = usize> {
        let behind = (self.column + self.length() <= width).then_some(self.column);
        let before = (self.column + 1).checked_sub(self.length());
        behind.into_iter().chain(before)
    }
}

/// The upright to name next and where its name begins: one that crosses no other if there is one, the rightmost first.
fn next_name(waiting: &[Upright], width: usize) -> Option<(usize, usize)> {
    let choices = || {
        let places = |(index, upright): (usize, &Upright)| -> Vec<(usize, usize)> {
            upright.places(width).map(|from| (index, from)).collect()
        };
        waiting.iter().enumerate().rev().flat_map(places)
    };
    let crosses = |(index, from): (usize, usize)| {
        let end = from + waiting.get(index).map_or(0, Upright::length);
        waiting
            .iter()
            .enumerate()
            .any(|(other, upright)| other != index && (from..end).contains(&upright.column))
    };
    let clear = choices().find(|choice| !crosses(*choice));
    // A name with room on neither side begins at the edge.
    clear.or_else(|| choices().next()).or_else(|| Some((waiting.len().checked_sub(1)?, 0)))
}

/// A text cut to a width, with dots where it was cut.
pub(in crate::report) fn shortened(text: &str, width: usize) -> String {
    if width::of(text) <= width {
        return text.to_owned();
    }
    format!("{}...", width::beginning(text, width.saturating_sub(3)).trim_end())
}

#[cfg(test)]
mod tests {
    use super::{CellLine, shortened};

    fn line(texts: &[(usize, &str)]) -> String {
        let mut line = CellLine::default();
        for (at, text) in texts {
            line.put(*at, text);
        }
        line.text()
    }

    #[test]
    fn what_stands_behind_a_wide_letter_keeps_its_column() {
        assert_eq!(line(&[(0, "moth"), (6, ":")]), "moth  :");
        assert_eq!(line(&[(0, "蛾"), (6, ":")]), "蛾    :");
        assert_eq!(line(&[(0, "e\u{301}te\u{301}"), (6, ":")]), "e\u{301}te\u{301}   :");
        assert_eq!(line(&[(6, ":"), (0, "e\u{301}te\u{301}")]), "e\u{301}te\u{301}   :");
    }

    #[test]
    fn half_a_wide_letter_is_never_left() {
        assert_eq!(line(&[(0, "蛾蛾"), (1, ":")]), " :蛾");
        assert_eq!(line(&[(0, "蛾蛾"), (2, ":")]), "蛾:");
        assert_eq!(line(&[(0, "abcd"), (1, "蛾")]), "a蛾d");
        assert_eq!(line(&[(0, "蛾蛾"), (1, "蛾"), (4, ":")]), " 蛾 :");
    }

    #[test]
    fn a_text_is_shortened_by_its_columns() {
        assert_eq!(shortened("蛾蛾蛾蛾", 7), "蛾蛾...");
        assert_eq!(shortened("蛾蛾蛾", 6), "蛾蛾蛾");
    }
}
