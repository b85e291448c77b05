//! Maps: cells over engine speed, or over engine speed and throttle; as they are written and as a table.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use crate::quantity::nearly_equal;

/// The breakpoints of one axis, ascending.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Axis(pub Vec<f64>);

impl JsonSchema for Axis {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "axis".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "array", "items": { "type": "number" }, "x-axis": true })
    }
}

/// The cells of a map as they are written in a document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Cells {
    /// The name of a file under maps/.
    File(String),
    /// One row along the engine speeds.
    Row(Vec<f64>),
    /// One row per throttle opening.
    Rows(Vec<Vec<f64>>),
}

impl JsonSchema for Cells {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "cells".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [
            { "type": "string", "pattern": "^maps/[a-z0-9][a-z0-9_-]*\\.csv$" },
            { "type": "array", "items": { "type": "number" } },
            { "type": "array", "items": { "type": "array", "items": { "type": "number" } } },
        ] })
    }
}

/// A map that has been checked: ascending axes, every row as long as the engine-speed axis.
#[derive(Debug, Clone, PartialEq)]
pub struct MapTable {
    /// Engine speeds, rpm, ascending.
    pub rpm: Vec<f64>,
    /// Throttle openings, percent, ascending; empty for a map over engine speed alone.
    pub throttle: Vec<f64>,
    /// One row for each throttle opening, or a single row.
    pub rows: Vec<Vec<f64>>,
    /// Unit of the cells.
    pub unit: String,
    /// The file in maps/ it was read from, if it was.
    pub file: Option<String>,
}

/// One cell's place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellPlace {
    /// Engine speed, rpm.
    pub rpm: f64,
    /// Throttle opening, percent; `None` in a map over engine speed alone.
    pub throttle: Option<f64>,
}

impl std::fmt::Display for CellPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.rpm)?;
        self.throttle.map_or(Ok(()), |throttle| write!(f, "/{throttle}"))
    }
}

impl MapTable {
    /// Whether both stand for the same cells on the same axes; where they are kept does not matter.
    pub fn same_as(&self, other: &Self) -> bool {
        same_axis(&self.rpm, &other.rpm)
            && same_axis(&self.throttle, &other.throttle)
            && self.rows.len() == other.rows.len()
            && self.rows.iter().zip(&other.rows).all(|(a, b)| same_axis(a, b))
    }

    /// Each cell with its place, row by row.
    pub fn cells(&self) -> impl Iterator<Item = (CellPlace, f64)> + '_ {
        self.rows.iter().enumerate().flat_map(move |(row, cells)| {
            let throttle = self.throttle.get(row).copied();
            self.rpm.iter().zip(cells).map(move |(rpm, cell)| (CellPlace { rpm: *rpm, throttle }, *cell))
        })
    }

    /// Column of an engine speed that is a breakpoint.
    pub fn column(&self, rpm: f64) -> Option<usize> {
        self.rpm.iter().position(|at| nearly_equal(*at, rpm))
    }

    /// Row of a throttle opening that is a breakpoint; the only row of a map over engine speed alone.
    pub fn row(&self, throttle: Option<f64>) -> Option<usize> {
        match throttle {
            None => self.throttle.is_empty().then_some(0),
            Some(throttle) => self.throttle.iter().position(|at| nearly_equal(*at, throttle)),
        }
    }

    /// Value at a place: bilinear between breakpoints, held at the edges.
    pub fn value_at(&self, rpm: f64, throttle: f64) -> Option<f64> {
        let (left, right, across) = bracket(&self.rpm, rpm)?;
        let along = |row: &Vec<f64>| Some(row.get(left)? * (1.0 - across) + row.get(right)? * across);
        if self.throttle.is_empty() {
            return along(self.rows.first()?);
        }
        let (above, below, down) = bracket(&self.throttle, throttle)?;
        Some(along(self.rows.get(above)?)? * (1.0 - down) + along(self.rows.get(below)?)? * down)
    }
}

fn same_axis(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| nearly_equal(*a, *b))
}

/// The two neighbours of `at` on an ascending axis and the share of the second; held at the ends.
fn bracket(axis: &[f64], at: f64) -> Option<(usize, usize, f64)> {
    let last = axis.len().checked_sub(1)?;
    let right = axis.partition_point(|point| *point < at);
    if right == 0 {
        return Some((0, 0, 0.0));
    }
    if right > last {
        return Some((last, last, 0.0));
    }
    let (low, high) = (axis[right - 1], axis[right]);
    Some((right - 1, right, (at - low) / (high - low)))
}
