//! Two maps compared: cell by cell where both have the breakpoints, on the curves where one has a breakpoint more; and the
//! difference said in one sentence.

use crate::notebook::fields::cylinder::common;
use crate::notebook::fields::value::{FieldSet, Value};
use crate::notebook::maps::table::{CellPlace, MapTable};
use crate::quantity::{fixed, nearly_equal, trimmed};

/// What an interpolated cell may differ and still be the same curve: rounding to a thousandth when a breakpoint was put in.
const SAME_CURVE: f64 = 0.001;

/// Separate stretches that a sentence can name before it becomes a list.
const NAMED: usize = 4;

/// One cell that differs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellChange {
    /// Its place.
    pub place: CellPlace,
    /// The older value, read off the curve where that map has no breakpoint here; `None` where there was no map.
    pub old: Option<f64>,
    /// The newer value, likewise.
    pub new: Option<f64>,
}

/// How two maps differ.
#[derive(Debug, Clone, PartialEq)]
pub struct MapDifference {
    /// The cells that differ, row by row, over the breakpoints of both maps.
    pub cells: Vec<CellChange>,
    /// Whether a breakpoint was put in or taken out.
    pub axes_changed: bool,
    /// The difference in words, without a capital or a period: "2.0 degrees less from 9,000 to 10,500 rpm".
    pub sentence: String,
}

/// What the cells of a map count, as said after a number: degrees, ms, mg or %; empty where it is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct CellWords(&'static str);

impl CellWords {
    /// For the map at `field`, whose document may say what its cells mean.
    pub(super) fn of(field: &str, fields: &FieldSet) -> Self {
        let unit = || fields.holding(&format!("{field}_map_unit"));
        let said = match common(field) {
            "injection.fuel" => match unit() {
                Some(Value::Text(unit)) => unit.as_str(),
                _ => "",
            },
            _ => fields.map(field).map_or("", |map| map.unit.as_str()),
        };
        Self(match said {
            "deg" => "degrees",
            "ms" => "ms",
            "mg" => "mg",
            "percent" => "%",
            _ => "",
        })
    }

    fn amount(self, digits: &str) -> String {
        format!("{digits} {}", self.0).trim_end().to_owned()
    }
}

/// Compares two maps, of which at least one is there.
pub(super) fn compare_maps(
    old: Option<&MapTable>,
    new: Option<&MapTable>,
    old_words: CellWords,
    words: CellWords,
) -> MapDifference {
    let (old, new) = match (old, new) {
        (Some(old), Some(new)) => (old, new),
        (old, new) => return one_only(old, new),
    };
    let grid = Grid::over(old, new);
    let axes_changed = !(SharedAxis::rpm(old, new).same() && SharedAxis::throttle(old, new).same());
    if old_words != words && !old_words.0.is_empty() && !words.0.is_empty() {
        return MapDifference {
            cells: Vec::new(),
            axes_changed,
            sentence: format!(
                "the cells count in {} now and in {} before, so they are not compared",
                words.0, old_words.0
            ),
        };
    }
    MapDifference { cells: grid.changes(old, new), axes_changed, sentence: sentence(&grid, old, new, words) }
}

fn one_only(old: Option<&MapTable>, new: Option<&MapTable>) -> MapDifference {
    let cells = |map: Option<&MapTable>| map.map(|map| map.cells().collect::<Vec<_>>()).unwrap_or_default();
    let gone = cells(old).into_iter().map(|(place, cell)| CellChange { place, old: Some(cell), new: None });
    let come = cells(new).into_iter().map(|(place, cell)| CellChange { place, old: None, new: Some(cell) });
    let shown = |map: &MapTable| Value::Map(map.clone()).text();
    MapDifference {
        cells: gone.chain(come).collect(),
        axes_changed: true,
        sentence: match (old, new) {
            (_, Some(new)) => format!("a {} where there was none", shown(new)),
            (Some(old), None) => format!("the {} is gone", shown(old)),
            (None, None) => String::new(),
        },
    }
}

/// The breakpoints of both maps together, and what changed there: 0 for nothing.
struct Grid {
    rpm: Vec<f64>,
    throttle: Vec<Option<f64>>,
    deltas: Vec<Vec<f64>>,
}

impl Grid {
    fn over(old: &MapTable, new: &MapTable) -> Self {
        let rpm = union(&old.rpm, &new.rpm);
        let openings = union(&old.throttle, &new.throttle);
        let throttle =
            if openings.is_empty() { vec![None] } else { openings.into_iter().map(Some).collect() };
        let mut grid = Self { rpm, throttle, deltas: Vec::new() };
        grid.deltas = grid
            .throttle
            .iter()
            .map(|throttle| grid.rpm.iter().map(|rpm| delta(old, new, *rpm, *throttle)).collect())
            .collect();
        grid
    }

    fn changes(&self, old: &MapTable, new: &MapTable) -> Vec<CellChange> {
        let mut cells = Vec::new();
        for (throttle, row) in self.throttle.iter().zip(&self.deltas) {
            for (rpm, _) in self.rpm.iter().zip(row).filter(|(_, delta)| changed(**delta)) {
                let place = CellPlace { rpm: *rpm, throttle: *throttle };
                let value = |map: &MapTable| map.value_at(*rpm, throttle.unwrap_or(0.0));
                cells.push(CellChange { place, old: value(old), new: value(new) });
            }
        }
        cells
    }

    /// Changed stretches as rectangles: runs along the engine speeds that go the same way, joined where the next throttle
    /// opening has the same run.
    fn stretches(&self) -> Vec<Stretch> {
        let mut done: Vec<Stretch> = Vec::new();
        for (row, deltas) in self.deltas.iter().enumerate() {
            for run in runs(deltas) {
                let above = done.iter_mut().find(|stretch| stretch.continues(&run, row));
                match above {
                    Some(stretch) => stretch.rows.1 = row,
                    None => done.push(Stretch { rows: (row, row), ..run }),
                }
            }
        }
        done
    }

    fn amounts(&self, stretch: &Stretch) -> Vec<f64> {
        let rows = &self.deltas[stretch.rows.0..=stretch.rows.1];
        rows.iter()
            .flat_map(|row| &row[stretch.columns.0..=stretch.columns.1])
            .map(|delta| delta.abs())
            .collect()
    }

    /// "from 9,000 to 10,500 rpm", and the throttle openings of a map that has them.
    fn place(&self, stretch: &Stretch) -> String {
        let rpm = span(self.rpm[stretch.columns.0], self.rpm[stretch.columns.1], "rpm");
        match (self.throttle[stretch.rows.0], self.throttle[stretch.rows.1]) {
            (Some(first), Some(last)) => format!("{rpm} {}", span(first, last, "% throttle")),
            _ => rpm,
        }
    }
}

/// A rectangle of cells that all changed the same way.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    columns: (usize, usize),
    rows: (usize, usize),
    more: bool,
}

impl Stretch {
    fn continues(&self, run: &Self, row: usize) -> bool {
        self.columns == run.columns && self.more == run.more && self.rows.1 + 1 == row
    }
}

fn runs(deltas: &[f64]) -> Vec<Stretch> {
    let mut runs: Vec<Stretch> = Vec::new();
    for (column, delta) in deltas.iter().enumerate().filter(|(_, delta)| changed(**delta)) {
        let more = *delta > 0.0;
        match runs.last_mut() {
            Some(run) if run.columns.1 + 1 == column && run.more == more => run.columns.1 = column,
            _ => runs.push(Stretch { columns: (column, column), rows: (0, 0), more }),
        }
    }
    runs
}

fn changed(delta: f64) -> bool {
    delta.abs() > 0.0
}

fn delta(old: &MapTable, new: &MapTable, rpm: f64, throttle: Option<f64>) -> f64 {
    let at = |map: &MapTable| map.value_at(rpm, throttle.unwrap_or(0.0)).unwrap_or(0.0);
    let written = |map: &MapTable| map.column(rpm).is_some() && map.row(throttle).is_some();
    let (before, after) = (at(old), at(new));
    let both_written = written(old) && written(new);
    let same = nearly_equal(before, after) || (!both_written && (after - before).abs() < SAME_CURVE);
    if same { 0.0 } else { after - before }
}

fn union(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut points: Vec<f64> = a.iter().chain(b).copied().collect();
    points.sort_by(f64::total_cmp);
    points.dedup_by(|next, kept| nearly_equal(*next, *kept));
    points
}

fn sentence(grid: &Grid, old: &MapTable, new: &MapTable, words: CellWords) -> String {
    let stretches = grid.stretches();
    let mut parts: Vec<String> = if stretches.len() > NAMED {
        vec![summary(grid, &stretches, words)]
    } else {
        let said = |stretch: &Stretch| {
            format!("{} {}", amount(&grid.amounts(stretch), stretch.more, words), grid.place(stretch))
        };
        stretches.iter().map(said).collect()
    };
    parts.extend(SharedAxis::rpm(old, new).sentences());
    parts.extend(SharedAxis::throttle(old, new).sentences());
    if stretches.is_empty() && !parts.is_empty() {
        parts.push("the curve is the same".to_owned());
        return parts.join(", ");
    }
    parts.join("; ")
}

/// "2.0 degrees less", "1.5 to 2.0 degrees more".
fn amount(amounts: &[f64], more: bool, words: CellWords) -> String {
    let low = amounts.iter().copied().fold(f64::INFINITY, f64::min);
    let high = amounts.iter().copied().fold(0.0, f64::max);
    let decimals = decimals(&[low, high], words);
    let (low, high) = (fixed(low, decimals), fixed(high, decimals));
    let digits = if low == high { high } else { format!("{low} to {high}") };
    format!("{} {}", words.amount(&digits), direction(more))
}

fn direction(more: bool) -> &'static str {
    if more { "more" } else { "less" }
}

/// As few decimals as say the amounts to a thousandth: one at least, so that degrees read as degrees.
fn decimals(amounts: &[f64], words: CellWords) -> usize {
    let least = usize::from(words.0 != "%");
    let exact = |decimals: usize| {
        let rounds = |amount: &f64| {
            fixed(*amount, decimals).parse::<f64>().is_ok_and(|shown| (shown - amount).abs() < 5e-4)
        };
        amounts.iter().all(rounds)
    };
    (least..3).find(|decimals| exact(*decimals)).unwrap_or(3)
}

/// For a map that changed all over: how far each way, in how many cells, within which bounds.
fn summary(grid: &Grid, stretches: &[Stretch], words: CellWords) -> String {
    let largest = |more: bool| {
        let chosen = stretches.iter().filter(|stretch| stretch.more == more);
        chosen.flat_map(|stretch| grid.amounts(stretch)).reduce(f64::max)
    };
    let up_to = |more: bool| {
        let largest = largest(more)?;
        let digits = fixed(largest, decimals(&[largest], words));
        Some(format!("up to {} {}", words.amount(&digits), direction(more)))
    };
    let ways: Vec<String> = [false, true].into_iter().filter_map(up_to).collect();
    let cells: usize = stretches.iter().map(|stretch| grid.amounts(stretch).len()).sum();
    let outer = Stretch {
        columns: bounds(stretches.iter().map(|stretch| stretch.columns)),
        rows: bounds(stretches.iter().map(|stretch| stretch.rows)),
        more: false,
    };
    format!("{} in {cells} cells {}", ways.join(" and "), grid.place(&outer))
}

fn bounds(spans: impl Iterator<Item = (usize, usize)>) -> (usize, usize) {
    spans.reduce(|all, one| (all.0.min(one.0), all.1.max(one.1))).unwrap_or_default()
}

fn span(first: f64, last: f64, unit: &str) -> String {
    if nearly_equal(first, last) {
        format!("at {} {unit}", grouped(first))
    } else {
        format!("from {} to {} {unit}", grouped(first), grouped(last))
    }
}

/// A breakpoint for reading: 9500 as 9,500.
fn grouped(value: f64) -> String {
    let text = trimmed(value, 2);
    let whole = text.split('.').next().unwrap_or(&text);
    match whole.len() {
        0..=3 => text,
        digits => format!("{},{}", &text[..digits - 3], &text[digits - 3..]),
    }
}

/// One axis of both maps.
struct SharedAxis<'a> {
    old: &'a [f64],
    new: &'a [f64],
    unit: &'static str,
}

impl<'a> SharedAxis<'a> {
    fn rpm(old: &'a MapTable, new: &'a MapTable) -> Self {
        Self { old: &old.rpm, new: &new.rpm, unit: "rpm" }
    }

    fn throttle(old: &'a MapTable, new: &'a MapTable) -> Self {
        Self { old: &old.throttle, new: &new.throttle, unit: "% throttle" }
    }

    fn same(&self) -> bool {
        only_in(self.old, self.new).is_empty() && only_in(self.new, self.old).is_empty()
    }

    fn sentences(&self) -> Vec<String> {
        match (self.old.is_empty(), self.new.is_empty()) {
            (true, false) => return vec!["the map runs over the throttle too now".to_owned()],
            (false, true) => return vec!["the map no longer runs over the throttle".to_owned()],
            _ => {}
        }
        let put_in = self.said(&only_in(self.new, self.old), "added");
        let taken_out = self.said(&only_in(self.old, self.new), "removed");
        put_in.into_iter().chain(taken_out).collect()
    }

    fn said(&self, points: &[f64], what: &str) -> Option<String> {
        let shown: Vec<String> = points.iter().map(|point| grouped(*point)).collect();
        match shown.as_slice() {
            [] => None,
            [one] => Some(format!("breakpoint {one} {} {what}", self.unit)),
            [first, second] => Some(format!("breakpoints {first} and {second} {} {what}", self.unit)),
            several => Some(format!("{} breakpoints of {} {what}", several.len(), self.unit)),
        }
    }
}

fn only_in(here: &[f64], there: &[f64]) -> Vec<f64> {
    here.iter().copied().filter(|point| !there.iter().any(|other| nearly_equal(*other, *point))).collect()
}
