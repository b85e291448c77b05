//! Working on a map: a part of it shifted, scaled, smoothed or rounded, engine speeds merged or taken out. A map goes in and
//! a map comes out; its unit and its file stay. What a cell may be is checked when the map is written, not here.

use std::fmt;

use crate::notebook::maps::shape_error::ShapeError;
use crate::notebook::maps::table::{CellPlace, MapTable};
use crate::quantity::{Dimension, Quantity, fixed, nearly_equal, trimmed};

/// Most decimals that a cell is taken to have.
const MOST_DECIMALS: usize = 3;

/// Most passes of smoothing in one go: after so many a curve is a straight line for all purposes.
const MOST_PASSES: usize = 100;

/// A part of a map: the cells whose breakpoints lie between two engine speeds and two throttle openings, both included.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Region {
    /// Engine speeds, rpm, the lower first; `None` for all.
    pub rpm: Option<(f64, f64)>,
    /// Throttle openings, percent, the lower first; `None` for all.
    pub throttle: Option<(f64, f64)>,
}

/// The two axes of a map, for naming the one that is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MapAxis {
    /// Engine speeds, rpm.
    EngineSpeed,
    /// Throttle openings, percent.
    Throttle,
}

impl MapAxis {
    /// "engine speed" or "throttle opening".
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::EngineSpeed => "engine speed",
            Self::Throttle => "throttle opening",
        }
    }

    /// The unit as said after a number: "rpm" or "% throttle".
    pub(super) fn unit(self) -> &'static str {
        match self {
            Self::EngineSpeed => "rpm",
            Self::Throttle => "% throttle",
        }
    }
}

impl Region {
    /// The whole map.
    pub const ALL: Self = Self { rpm: None, throttle: None };

    /// Reads a part as it is typed: engine speeds like "9000-12000" or "9500", throttle openings like "50-100"; a missing
    /// one means all.
    pub fn parse(rpm: Option<&str>, throttle: Option<&str>) -> Result<Self, ShapeError> {
        let read = |typed: Option<&str>, axis| typed.map(|typed| span_of(typed, axis)).transpose();
        Ok(Self { rpm: read(rpm, MapAxis::EngineSpeed)?, throttle: read(throttle, MapAxis::Throttle)? })
    }

    /// Whether a cell belongs to it.
    pub fn contains(&self, place: CellPlace) -> bool {
        let opening = match (self.throttle, place.throttle) {
            (None, _) => true,
            (Some(span), Some(throttle)) => within(span, throttle),
            (Some(_), None) => false,
        };
        opening && self.rpm.is_none_or(|span| within(span, place.rpm))
    }

    /// Refuses a part that no cell of the map lies in.
    fn check(&self, map: &MapTable) -> Result<(), ShapeError> {
        if self.throttle.is_some() && map.throttle.is_empty() {
            return Err(ShapeError::NoThrottle);
        }
        let axes =
            [(self.rpm, &map.rpm, MapAxis::EngineSpeed), (self.throttle, &map.throttle, MapAxis::Throttle)];
        for (span, points, axis) in axes {
            let Some((low, high)) = span else { continue };
            if low > high {
                return Err(ShapeError::Backwards { axis, low, high });
            }
            if !points.iter().any(|point| within((low, high), *point)) {
                return Err(ShapeError::NoCell { axis, low, high, points: points.clone() });
            }
        }
        Ok(())
    }
}

impl fmt::Display for Region {
    /// "from 9,000 to 10,500 rpm at 50 % throttle"; nothing for the whole map.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let axes = [(self.rpm, MapAxis::EngineSpeed), (self.throttle, MapAxis::Throttle)];
        let said: Vec<String> = axes.into_iter().filter_map(|(span, axis)| Some(part(span?, axis))).collect();
        f.write_str(&said.join(" "))
    }
}

/// A part of an axis in words: "from 9,000 to 10,500 rpm", "at 50 % throttle".
pub(super) fn part((low, high): (f64, f64), axis: MapAxis) -> String {
    if nearly_equal(low, high) {
        format!("at {} {}", grouped(low), axis.unit())
    } else {
        format!("from {} to {} {}", grouped(low), grouped(high), axis.unit())
    }
}

/// A breakpoint for reading: 9500 as 9,500.
pub(super) fn grouped(value: f64) -> String {
    let text = trimmed(value, 2);
    let whole = text.split('.').next().unwrap_or(&text).len();
    if whole > 3 && value > 0.0 { format!("{},{}", &text[..whole - 3], &text[whole - 3..]) } else { text }
}

fn within((low, high): (f64, f64), point: f64) -> bool {
    (low..=high).contains(&point) || nearly_equal(low, point) || nearly_equal(high, point)
}

/// Two ends with a hyphen between them, or one breakpoint.
fn span_of(typed: &str, axis: MapAxis) -> Result<(f64, f64), ShapeError> {
    let (dimension, unit) = match axis {
        MapAxis::EngineSpeed => (Dimension::EngineSpeed, "rpm"),
        MapAxis::Throttle => (Dimension::Share, "%"),
    };
    let end = |text: &str| {
        let read = Quantity::parse(text, &[dimension], unit).ok().and_then(|typed| typed.in_unit(unit));
        let read = read.filter(|value| value.is_finite() && *value >= 0.0);
        read.ok_or_else(|| ShapeError::NotASpan { axis, typed: typed.to_owned() })
    };
    let (low, high) = match typed.split_once('-') {
        Some((low, high)) => (end(low)?, end(high)?),
        None => (end(typed)?, end(typed)?),
    };
    if low > high { Err(ShapeError::Backwards { axis, low, high }) } else { Ok((low, high)) }
}

/// The map with `by` added to each cell of the region, in the unit of the cells: cell + by.
pub fn shifted(map: &MapTable, region: &Region, by: f64) -> Result<MapTable, ShapeError> {
    if !by.is_finite() {
        return Err(ShapeError::BadShift { by });
    }
    in_region(map, region, |cell| cell + by)
}

/// The map with each cell of the region multiplied: cell x factor, the factor above 0 (1 changes nothing).
pub fn scaled(map: &MapTable, region: &Region, factor: f64) -> Result<MapTable, ShapeError> {
    if !(factor.is_finite() && factor > 0.0) {
        return Err(ShapeError::BadFactor { factor });
    }
    in_region(map, region, |cell| cell * factor)
}

fn in_region(map: &MapTable, region: &Region, change: impl Fn(f64) -> f64) -> Result<MapTable, ShapeError> {
    region.check(map)?;
    let mut shaped = map.clone();
    for (row, cells) in shaped.rows.iter_mut().enumerate() {
        let throttle = map.throttle.get(row).copied();
        for (rpm, cell) in map.rpm.iter().zip(cells) {
            if region.contains(CellPlace { rpm: *rpm, throttle }) {
                *cell = change(*cell);
            }
        }
    }
    Ok(shaped)
}

/// Along which axes a map is smoothed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Along {
    /// Each row is a curve over engine speed of its own. The rows at both ends of the throttle are smoothed too.
    #[default]
    EngineSpeed,
    /// Each column is a curve over the throttle of its own.
    Throttle,
    /// Both: cells on the four edges of the map stay.
    Both,
}

/// How a map is smoothed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Smoothing {
    /// Along which axes.
    pub along: Along,
    /// How far a cell goes towards the line through its neighbours: above 0, and 1 for all the way.
    pub share: f64,
    /// How many times, 1 to 100.
    pub passes: usize,
}

impl Default for Smoothing {
    /// One pass along the engine speeds, half of the way.
    fn default() -> Self {
        Self { along: Along::EngineSpeed, share: 0.5, passes: 1 }
    }
}

/// The map with each cell of the region moved towards the straight line through its two neighbours:
///
/// new = cell + share (line - cell), line = left + (right - left) (x - x left) / (x right - x left),
///
/// x being the engine speed or the throttle opening, so that breakpoints at uneven distances weigh as they lie. Along both
/// axes the line is the mean of the two lines through the four neighbours, which is the cell itself wherever those lie on a
/// plane. A straight line and a plane therefore stay as they are. Neighbours outside the region are read and not moved; all
/// cells of a pass are taken from the pass before, so that their order does not matter. A cell at the end of an axis it is
/// smoothed along has no neighbour behind it and stays. Source: linear interpolation; the share is common practice, no
/// source.
pub fn smoothed(map: &MapTable, region: &Region, how: Smoothing) -> Result<MapTable, ShapeError> {
    if !(how.share > 0.0 && how.share <= 1.0) {
        return Err(ShapeError::BadShare { share: how.share });
    }
    if !(1..=MOST_PASSES).contains(&how.passes) {
        return Err(ShapeError::BadPasses { passes: how.passes, most: MOST_PASSES });
    }
    if how.along != Along::EngineSpeed && map.throttle.is_empty() {
        return Err(ShapeError::NoThrottle);
    }
    region.check(map)?;
    let inner: Vec<(usize, usize)> = (0..map.rows.len())
        .flat_map(|row| (0..map.rpm.len()).map(move |column| (row, column)))
        .filter(|(row, column)| is_in(map, region, *row, *column))
        .filter(|(row, column)| line_at(map, how.along, *row, *column).is_some())
        .collect();
    if inner.is_empty() {
        return Err(ShapeError::NothingBetween);
    }
    let mut smooth = map.clone();
    for _ in 0..how.passes {
        let before = smooth.clone();
        for (row, column) in &inner {
            if let (Some(line), Some(cell)) =
                (line_at(&before, how.along, *row, *column), cell_mut(&mut smooth, *row, *column))
                && !on_the_line(*cell, line)
            {
                *cell += how.share * (line - *cell);
            }
        }
    }
    Ok(smooth)
}

fn is_in(map: &MapTable, region: &Region, row: usize, column: usize) -> bool {
    let throttle = map.throttle.get(row).copied();
    map.rpm.get(column).is_some_and(|rpm| region.contains(CellPlace { rpm: *rpm, throttle }))
}

fn cell_mut(map: &mut MapTable, row: usize, column: usize) -> Option<&mut f64> {
    map.rows.get_mut(row)?.get_mut(column)
}

/// Rounding of the last digit must not move a cell that lies on its line.
fn on_the_line(cell: f64, line: f64) -> bool {
    (line - cell).abs() <= 1e-9 * cell.abs().max(1.0)
}

/// What the neighbours of a cell say it should be; `None` where it has none on one side.
fn line_at(map: &MapTable, along: Along, row: usize, column: usize) -> Option<f64> {
    let cell = |row: usize, column: usize| map.rows.get(row)?.get(column).copied();
    let over_speed = || between(&map.rpm, column, |column| cell(row, column));
    let over_throttle = || between(&map.throttle, row, |row| cell(row, column));
    match along {
        Along::EngineSpeed => over_speed(),
        Along::Throttle => over_throttle(),
        Along::Both => Some(f64::midpoint(over_speed()?, over_throttle()?)),
    }
}

/// The straight line through both neighbours of a breakpoint, read at the breakpoint.
fn between(axis: &[f64], at: usize, cell: impl Fn(usize) -> Option<f64>) -> Option<f64> {
    let before = at.checked_sub(1)?;
    let (left, here, right) = (axis.get(before)?, axis.get(at)?, axis.get(at + 1)?);
    let (low, high) = (cell(before)?, cell(at + 1)?);
    Some(low + (high - low) * (here - left) / (right - left))
}

/// The map with two or more neighbouring engine speeds merged into one, whose cells lie on the curves as they were:
/// midway between two, the mean of their cells. `into` is the new engine speed, rpm, between the lowest and the highest of
/// them; where it is not given it is their mean, except that the first or last engine speed of the map stays, so that the
/// map reaches as far as before. Two engine speeds must be left.
pub fn merged(map: &MapTable, columns: &[f64], into: Option<f64>) -> Result<MapTable, ShapeError> {
    let found = columns_of(map, columns)?;
    let speeds: Vec<f64> = found.iter().filter_map(|column| map.rpm.get(*column).copied()).collect();
    let (&[first, .., last], &[low, .., high]) = (found.as_slice(), speeds.as_slice()) else {
        return Err(ShapeError::OneColumn);
    };
    if last - first + 1 != found.len() {
        let others = (first..last).filter(|column| !found.contains(column));
        let between = others.filter_map(|column| map.rpm.get(column).copied()).collect();
        return Err(ShapeError::NotNeighbours { low, high, between });
    }
    let at_ends = (first == 0, last + 1 == map.rpm.len());
    #[allow(clippy::cast_precision_loss)] // a map has a few dozen engine speeds
    let mean = || speeds.iter().sum::<f64>() / speeds.len() as f64;
    let into = match (into, at_ends) {
        (Some(into), _) if !within((low, high), into) => {
            return Err(ShapeError::Outside { into, low, high });
        }
        (Some(into), _) => into,
        (None, (true, _)) => low,
        (None, (_, true)) => high,
        (None, _) => mean(),
    };
    let mut one = without(map, &found, 1)?;
    one.rpm.insert(first, into);
    for (row, cells) in one.rows.iter_mut().zip(&map.rows) {
        row.insert(first.min(row.len()), on_the_curve(&map.rpm, cells, into));
    }
    Ok(one)
}

/// The map without some of its engine speeds, rpm; the other cells stay. Two must be left.
pub fn dropped(map: &MapTable, columns: &[f64]) -> Result<MapTable, ShapeError> {
    without(map, &columns_of(map, columns)?, 0)
}

/// The columns of engine speeds, from the left, each once.
fn columns_of(map: &MapTable, columns: &[f64]) -> Result<Vec<usize>, ShapeError> {
    let unknown = |at: f64| ShapeError::UnknownColumn { at, points: map.rpm.clone() };
    let found = columns.iter().map(|at| map.column(*at).ok_or_else(|| unknown(*at)));
    let mut found = found.collect::<Result<Vec<_>, _>>()?;
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

/// The map without some columns, to which `back` will be added again.
fn without(map: &MapTable, columns: &[usize], back: usize) -> Result<MapTable, ShapeError> {
    let left = map.rpm.len() + back - columns.len().min(map.rpm.len());
    if left < 2 {
        return Err(ShapeError::TooFewColumns { left });
    }
    let keep = |values: &[f64]| {
        let kept = values.iter().enumerate().filter(|(column, _)| !columns.contains(column));
        kept.map(|(_, value)| *value).collect::<Vec<_>>()
    };
    let rows = map.rows.iter().map(|row| keep(row)).collect();
    Ok(MapTable { rpm: keep(&map.rpm), rows, ..map.clone() })
}

/// A curve read at a point, straight between its breakpoints and held at its ends.
fn on_the_curve(axis: &[f64], cells: &[f64], at: f64) -> f64 {
    let mut pieces = axis.windows(2).zip(cells.windows(2));
    let piece = pieces.find_map(|piece| match piece {
        (&[left, right], &[low, high]) if at <= right => {
            let across = ((at - left) / (right - left)).clamp(0.0, 1.0);
            Some(low * (1.0 - across) + high * across)
        }
        _ => None,
    });
    piece.or(cells.last().copied()).unwrap_or_default()
}

/// To what cells are rounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rounding {
    /// So many decimals, 0 to 6.
    Decimals(usize),
    /// To the nearest multiple of a step above 0: 0.5 for half degrees.
    Step(f64),
}

/// The map with each cell of the region rounded to the nearest; a cell midway goes away from 0.
pub fn rounded(map: &MapTable, region: &Region, to: Rounding) -> Result<MapTable, ShapeError> {
    // A millionth of a step more or less is only how a computer keeps decimals: 18.25 must not become 18.2.
    let whole = |parts: f64| ((parts * 1e6).round() / 1e6).round();
    match to {
        Rounding::Decimals(decimals) => {
            let parts = (0..decimals.min(6)).fold(1.0, |parts, _| parts * 10.0);
            in_region(map, region, |cell| whole(cell * parts) / parts)
        }
        Rounding::Step(step) if step.is_finite() && step > 0.0 => in_region(map, region, |cell| {
            let near = whole(cell / step) * step;
            fixed(near, 9).parse().unwrap_or(near)
        }),
        Rounding::Step(step) => Err(ShapeError::BadStep { step }),
    }
}

/// Decimals that say a number exactly, at most 3.
pub fn decimals_needed(value: f64) -> usize {
    let exact =
        |decimals: &usize| fixed(value, *decimals).parse().is_ok_and(|shown| nearly_equal(shown, value));
    (0..MOST_DECIMALS).find(exact).unwrap_or(MOST_DECIMALS)
}

/// Decimals of the finest cell of a map, at most 3.
pub fn decimals_of(map: &MapTable) -> usize {
    map.rows.iter().flatten().map(|cell| decimals_needed(*cell)).max().unwrap_or_default()
}
