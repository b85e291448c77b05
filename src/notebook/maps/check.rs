//! Looks at a map before it is written: breakpoints in order, gaps between engine speeds, steps steeper than allowed, cells
//! above or below a limit. The limits are the caller's, who knows the engine and the box: without one, nothing is said.

use crate::notebook::maps::shape::{MapAxis, Region, grouped};
use crate::notebook::maps::shape_error::ShapeError;
use crate::notebook::maps::table::MapTable;
use crate::quantity::trimmed;

/// What a map is held against; what is `None` is not checked.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MapLimits {
    /// The largest distance between neighbouring engine speeds, rpm, above 0.
    pub largest_gap_rpm: Option<f64>,
    /// The steepest step between neighbouring engine speeds, unit of the cells per 1000 rpm, above 0.
    pub steepest_per_1000_rpm: Option<f64>,
    /// The steepest step between neighbouring throttle openings, unit of the cells per 10 % of throttle, above 0.
    pub steepest_per_10_percent: Option<f64>,
    /// The highest a cell may be, with what is added to it.
    pub highest: Option<f64>,
    /// The lowest a cell may be, with what is added to it.
    pub lowest: Option<f64>,
    /// What is added to each cell before it is held against the highest and the lowest: the base setting of a relative
    /// ignition map, else 0.
    pub added: f64,
}

/// The sort of a remark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RemarkKind {
    /// Breakpoints that do not ascend.
    Order,
    /// A map of fewer than two engine speeds.
    SinglePoint,
    /// Rows that do not fit the axes.
    Ragged,
    /// Too far from one engine speed to the next.
    Gap,
    /// Too steep from one engine speed to the next.
    SteepOverSpeed,
    /// Too steep from one throttle opening to the next.
    SteepOverThrottle,
    /// Cells above the highest allowed.
    TooHigh,
    /// Cells below the lowest allowed.
    TooLow,
}

/// One thing that is worth a look.
#[derive(Debug, Clone, PartialEq)]
pub struct Remark {
    /// Its sort.
    pub kind: RemarkKind,
    /// Where: the breakpoints on either side of a step, or the cells from the first to the last.
    pub place: Region,
    /// What was found, in the unit of the limit; the farthest of several cells.
    pub found: f64,
    /// The limit, where there is one.
    pub limit: Option<f64>,
    /// All of it as a sentence.
    pub sentence: String,
}

/// What was found, and what could not be looked at.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MapCheck {
    /// The remarks: order first, then over engine speed, over the throttle, and cells.
    pub remarks: Vec<Remark>,
    /// What no limit was given for.
    pub not_checked: Vec<&'static str>,
}

const GAPS: &str = "gaps between engine speeds";
const STEPS_OVER_SPEED: &str = "steps over engine speed";
const STEPS_OVER_THROTTLE: &str = "steps over the throttle";
const HIGHEST: &str = "highest cells";
const LOWEST: &str = "lowest cells";

/// Holds a map against its limits. The unit in the sentences is the map's own.
pub fn check(map: &MapTable, limits: &MapLimits) -> Result<MapCheck, ShapeError> {
    limits.check()?;
    let mut looked = Looked { map, limits, found: MapCheck::default() };
    looked.shape();
    looked.gaps();
    looked.steps_over_speed();
    looked.steps_over_throttle();
    looked.cells(RemarkKind::TooHigh, limits.highest, HIGHEST);
    looked.cells(RemarkKind::TooLow, limits.lowest, LOWEST);
    Ok(looked.found)
}

impl MapLimits {
    fn check(&self) -> Result<(), ShapeError> {
        let above_zero = [
            (self.largest_gap_rpm, GAPS),
            (self.steepest_per_1000_rpm, STEPS_OVER_SPEED),
            (self.steepest_per_10_percent, STEPS_OVER_THROTTLE),
        ];
        let numbers =
            [(self.highest, HIGHEST), (self.lowest, LOWEST), (Some(self.added), "what is added to a cell")];
        let wrong =
            above_zero.iter().find(|(limit, _)| limit.is_some_and(|limit| limit.is_nan() || limit <= 0.0));
        let no_number = numbers.iter().find(|(limit, _)| limit.is_some_and(|limit| !limit.is_finite()));
        match wrong.or(no_number) {
            Some((Some(found), what)) => Err(ShapeError::BadLimit { what, found: *found }),
            _ => Ok(()),
        }
    }
}

struct Looked<'a> {
    map: &'a MapTable,
    limits: &'a MapLimits,
    found: MapCheck,
}

impl Looked<'_> {
    fn remark(&mut self, kind: RemarkKind, place: Region, found: f64, limit: Option<f64>, sentence: String) {
        self.found.remarks.push(Remark { kind, place, found, limit, sentence });
    }

    /// The limit, which is noted as missing where there is none.
    fn limit(&mut self, limit: Option<f64>, what: &'static str) -> Option<f64> {
        if limit.is_none() {
            self.found.not_checked.push(what);
        }
        limit
    }

    /// "degrees" behind a number, and nothing for cells whose unit is not known.
    fn amount(&self, value: f64) -> String {
        let digits = trimmed(value, 2);
        let unit = match self.map.unit.as_str() {
            "deg" if digits == "1" => "degree",
            "deg" => "degrees",
            "percent" => "%",
            other => other,
        };
        format!("{digits} {unit}").trim_end().to_owned()
    }

    fn shape(&mut self) {
        let map = self.map;
        for (points, axis) in [(&map.rpm, MapAxis::EngineSpeed), (&map.throttle, MapAxis::Throttle)] {
            for (before, after) in pairs(points).filter(|(before, after)| before >= after) {
                let sentence = format!(
                    "The {}s do not ascend: {} is followed by {} {}.",
                    axis.name(),
                    grouped(before),
                    grouped(after),
                    axis.unit()
                );
                self.remark(RemarkKind::Order, along(axis, before, after), after, None, sentence);
            }
        }
        if let [] | [_] = map.rpm.as_slice() {
            let count = if map.rpm.is_empty() { "no engine speed" } else { "one engine speed" };
            let sentence = format!("The map has {count}, and a curve needs two.");
            let only = map.rpm.first().map(|rpm| (*rpm, *rpm));
            let place = Region { rpm: only, throttle: None };
            self.remark(
                RemarkKind::SinglePoint,
                place,
                f64::from(u8::from(only.is_some())),
                Some(2.0),
                sentence,
            );
        }
        self.rows();
    }

    fn rows(&mut self) {
        let map = self.map;
        let wanted = map.throttle.len().max(1);
        if map.rows.len() != wanted {
            let sentence = format!("The map has {} rows of cells, not {wanted}.", map.rows.len());
            self.remark(
                RemarkKind::Ragged,
                Region::ALL,
                count(map.rows.len()),
                Some(count(wanted)),
                sentence,
            );
        }
        for (row, cells) in map.rows.iter().enumerate().filter(|(_, cells)| cells.len() != map.rpm.len()) {
            let (found, wanted) = (cells.len(), map.rpm.len());
            let sentence = format!("Row {} has {found} cells for {wanted} engine speeds.", row + 1);
            let place = Region { rpm: None, throttle: self.opening(row) };
            self.remark(RemarkKind::Ragged, place, count(found), Some(count(wanted)), sentence);
        }
    }

    fn opening(&self, row: usize) -> Option<(f64, f64)> {
        self.map.throttle.get(row).map(|throttle| (*throttle, *throttle))
    }

    fn gaps(&mut self) {
        let Some(limit) = self.limit(self.limits.largest_gap_rpm, GAPS) else { return };
        for (low, high) in pairs(&self.map.rpm).filter(|(low, high)| above(high - low, limit)) {
            let sentence = format!(
                "From {} to {} rpm there is no engine speed: {} rpm, and the limit is {}.",
                grouped(low),
                grouped(high),
                grouped(high - low),
                grouped(limit)
            );
            let place = along(MapAxis::EngineSpeed, low, high);
            self.remark(RemarkKind::Gap, place, high - low, Some(limit), sentence);
        }
    }

    fn steps_over_speed(&mut self) {
        let Some(limit) = self.limit(self.limits.steepest_per_1000_rpm, STEPS_OVER_SPEED) else { return };
        let map = self.map;
        for (row, cells) in map.rows.iter().enumerate() {
            for ((low, high), (from, to)) in pairs(&map.rpm).zip(pairs(cells)) {
                let place = Region { rpm: Some((low, high)), throttle: self.opening(row) };
                let step =
                    BreakpointStep { place, slope: (to - from) / (high - low) * 1000.0, per: "1000 rpm" };
                self.step(RemarkKind::SteepOverSpeed, &step, limit);
            }
        }
    }

    fn steps_over_throttle(&mut self) {
        if self.map.throttle.is_empty() {
            return;
        }
        let Some(limit) = self.limit(self.limits.steepest_per_10_percent, STEPS_OVER_THROTTLE) else {
            return;
        };
        let map = self.map;
        for ((low, high), rows) in pairs(&map.throttle).zip(map.rows.windows(2)) {
            let [from, to] = rows else { continue };
            for (rpm, (from, to)) in map.rpm.iter().zip(from.iter().zip(to)) {
                let place = Region { rpm: Some((*rpm, *rpm)), throttle: Some((low, high)) };
                let step =
                    BreakpointStep { place, slope: (to - from) / (high - low) * 10.0, per: "10 % throttle" };
                self.step(RemarkKind::SteepOverThrottle, &step, limit);
            }
        }
    }

    /// A step between breakpoints out of order has no slope that means anything.
    fn step(&mut self, kind: RemarkKind, step: &BreakpointStep, limit: f64) {
        let backwards = [step.place.rpm, step.place.throttle].into_iter().flatten().any(|(a, b)| a > b);
        if backwards || !step.slope.is_finite() || !above(step.slope.abs(), limit) {
            return;
        }
        let way = if step.slope > 0.0 { "rises" } else { "falls" };
        let sentence = format!(
            "The map {way} by {} per {} {}; the limit is {}.",
            self.amount(step.slope.abs()),
            step.per,
            step.place,
            self.amount(limit)
        );
        self.remark(kind, step.place, step.slope.abs(), Some(limit), sentence);
    }

    /// Cells beyond a limit, neighbours in a row together.
    fn cells(&mut self, kind: RemarkKind, limit: Option<f64>, what: &'static str) {
        let Some(limit) = self.limit(limit, what) else { return };
        let (map, added) = (self.map, self.limits.added);
        let beyond = |cell: f64| match kind {
            RemarkKind::TooLow => above(limit, cell + added),
            _ => above(cell + added, limit),
        };
        let farther = |a: f64, b: f64| if kind == RemarkKind::TooLow { a.min(b) } else { a.max(b) };
        for (row, cells) in map.rows.iter().enumerate() {
            let cells: Vec<(f64, f64)> = map.rpm.iter().copied().zip(cells.iter().copied()).collect();
            for run in cells.chunk_by(|(_, a), (_, b)| beyond(*a) == beyond(*b)) {
                if let (Some((first, cell)), Some((last, _))) = (run.first(), run.last())
                    && beyond(*cell)
                {
                    let place = Region { rpm: Some((*first, *last)), throttle: self.opening(row) };
                    let farthest = run.iter().fold(*cell, |far, (_, cell)| farther(far, *cell));
                    self.beyond(kind, place, farthest, limit);
                }
            }
        }
    }

    fn beyond(&mut self, kind: RemarkKind, place: Region, cell: f64, limit: f64) {
        let (extreme, side) =
            if kind == RemarkKind::TooLow { ("lowest", "below") } else { ("highest", "above") };
        let added = self.limits.added;
        let several = place.rpm.is_some_and(|(first, last)| first < last);
        let subject = if several { format!("The {extreme} cell") } else { "The cell".to_owned() };
        let parts = format!(" ({} in the map and {} of base)", trimmed(cell, 2), trimmed(added, 2));
        let parts = if added.abs() > 0.0 { parts } else { String::new() };
        let found = cell + added;
        let sentence = format!(
            "{subject} {place} is {}{parts}, {side} the limit of {}.",
            self.amount(found),
            self.amount(limit)
        );
        self.remark(kind, place, found, Some(limit), sentence);
    }
}

/// A step from one breakpoint to the next.
struct BreakpointStep {
    place: Region,
    slope: f64,
    per: &'static str,
}

fn along(axis: MapAxis, low: f64, high: f64) -> Region {
    match axis {
        MapAxis::EngineSpeed => Region { rpm: Some((low, high)), throttle: None },
        MapAxis::Throttle => Region { rpm: None, throttle: Some((low, high)) },
    }
}

fn pairs(values: &[f64]) -> impl Iterator<Item = (f64, f64)> + '_ {
    values.iter().copied().zip(values.iter().copied().skip(1))
}

/// More than the limit by more than the rounding of the last digit.
fn above(found: f64, limit: f64) -> bool {
    found - limit > 1e-9 * found.abs().max(limit.abs()).max(1.0)
}

#[allow(clippy::cast_precision_loss)] // rows and cells are counted in dozens
fn count(number: usize) -> f64 {
    number as f64
}
