//! The cells in which two maps differ.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::MapTable;
use crate::notebook::maps::shape::decimals_needed;
use crate::quantity::nearly_equal;
use crate::report::out::figure::Figure;

/// A cell that differs.
#[derive(Debug, Serialize, JsonSchema)]
pub(in crate::report) struct CellDifference {
    /// Engine speed, revolutions per minute.
    rpm: Figure<3>,
    /// Throttle opening, percent; null in a map over engine speed alone.
    throttle: Option<f64>,
    /// On the older side, in the map's unit; between breakpoints as the map reads.
    old: Figure<6>,
    /// On the newer side, in the map's unit; between breakpoints as the map reads.
    new: Figure<6>,
    /// New less old, in the map's unit.
    difference: Figure<6>,
}

impl CellDifference {
    /// Engine speed, revolutions per minute, and by how much the newer side is more; none where it is less.
    pub(in crate::report) fn more(&self) -> Option<(f64, f64)> {
        (self.difference.0 > 0.0).then_some((self.rpm.0, self.difference.0))
    }
}

/// The cells that differ, read at the breakpoints of both maps.
pub(in crate::report) fn differing(old: &MapTable, new: &MapTable) -> Vec<CellDifference> {
    let both = |a: &[f64], b: &[f64]| {
        let mut all: Vec<f64> = a.iter().chain(b).copied().collect();
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| nearly_equal(*a, *b));
        all
    };
    let throttle = both(&old.throttle, &new.throttle);
    let openings: Vec<Option<f64>> =
        if throttle.is_empty() { vec![None] } else { throttle.into_iter().map(Some).collect() };
    let mut cells = Vec::new();
    for opening in openings {
        for rpm in both(&old.rpm, &new.rpm) {
            let at = |map: &MapTable| map.value_at(rpm, opening.unwrap_or(100.0));
            if let (Some(old), Some(new)) = (at(old), at(new))
                && !nearly_equal(old, new)
            {
                cells.push(CellDifference {
                    rpm: Figure(rpm),
                    throttle: opening,
                    old: Figure(old),
                    new: Figure(new),
                    difference: Figure(new - old),
                });
            }
        }
    }
    cells
}

/// Decimals that show every difference of two maps: one at least, and three at most.
pub(in crate::report) fn decimals_between(old: &MapTable, new: &MapTable) -> usize {
    let finest = if old.unit == "deg" { 2 } else { 3 };
    let needed = differing(old, new).into_iter().map(|cell| decimals_needed(cell.difference.0)).max();
    needed.unwrap_or(1).clamp(1, finest)
}
