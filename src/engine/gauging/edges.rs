//! Limits of a measured figure, and what is said of a value that has a doubt.
//!
//! ```text
//!   replace | watch |        good         | watch | replace
//!         least  watch below       watch above   most
//! ```
//!
//! A value is called what it is only where its whole interval, the value ± twice its standard uncertainty, is
//! of that grade. Where an edge lies within the interval it is too close to call: the gauge cannot tell, and
//! neither is right or wrong proven. That is the decision rule with guard bands of ISO 14253-1 (from memory),
//! its guard band the expanded uncertainty.

use super::super::doubt::Doubtful;
use super::super::{Allowed, EngineError};

const EDGE: Allowed = Allowed {
    field: "limit of the figure",
    unit: "",
    low: -1e9,
    high: 1e9,
    help: "Give the limit in the unit of the figure.",
};

const FIGURE: Allowed = Allowed {
    field: "figure that is judged",
    unit: "",
    low: -1e9,
    high: 1e9,
    help: "Check what it was computed from.",
};

const UNCERTAINTY: Allowed = Allowed {
    field: "standard uncertainty of the figure that is judged",
    unit: "",
    low: 0.0,
    high: 1e9,
    help: "Check what it was computed from.",
};

/// Digits that arithmetic eats: a clearance of 0.06 mm, had as the difference of two diameters, is on an edge
/// of 0.06 mm.
const ROUNDING: f64 = 1e-9;

/// On which side of the good range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RangeSide {
    /// Less than it should be.
    Below,
    /// More than it should be.
    Above,
}

/// What a value is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    /// Within all edges.
    Good,
    /// Beyond an edge from which on it wants watching.
    Watch(RangeSide),
    /// Beyond its last edge.
    Replace(RangeSide),
}

/// What can be said of a value with its doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judged {
    /// It is of this grade, whatever the doubt.
    Is(Grade),
    /// An edge lies within the doubt.
    TooClose {
        /// The grade of the value itself, as if there were no doubt.
        nearest: Grade,
        /// The grades of the lower and the upper end of its interval.
        between: (Grade, Grade),
    },
}

impl Judged {
    /// The grade of the value itself, doubt or not.
    pub fn nearest(self) -> Grade {
        match self {
            Self::Is(grade) | Self::TooClose { nearest: grade, .. } => grade,
        }
    }
}

/// The limits of a figure, each of which may be left open, in the figure's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edges {
    least: Option<f64>,
    watch_below: Option<f64>,
    watch_above: Option<f64>,
    most: Option<f64>,
}

impl Edges {
    /// Under `least` and over `most` a part is replaced, under `watch_below` and over `watch_above` it is
    /// watched. Those that are set must not fall in this order; two may be one. All are -1e9 to 1e9 and have
    /// one unit, named for the message of a refusal ("m", or empty for a pure number).
    pub fn new(
        least: Option<f64>,
        watch_below: Option<f64>,
        watch_above: Option<f64>,
        most: Option<f64>,
        unit: &'static str,
    ) -> Result<Self, EngineError> {
        let named = [
            ("limit under which it is replaced", least),
            ("limit under which it is watched", watch_below),
            ("limit over which it is watched", watch_above),
            ("limit over which it is replaced", most),
        ];
        let mut before: Option<(&'static str, f64)> = None;
        for (other, edge) in named {
            let Some(limit) = edge else { continue };
            EDGE.check(limit)?;
            if let Some((field, found)) = before
                && found > limit
            {
                let help = "Swap them, or leave one out.";
                return Err(EngineError::Contradiction { field, found, other, limit, unit, help });
            }
            before = Some((other, limit));
        }
        Ok(Self { least, watch_below, watch_above, most })
    }

    /// The limits in rising order: replace under, watch under, watch over, replace over.
    pub fn all(&self) -> [Option<f64>; 4] {
        [self.least, self.watch_below, self.watch_above, self.most]
    }

    /// The grade of a value without doubt; one that is on an edge is within it.
    fn grade(&self, value: f64) -> Grade {
        let under = |edge: Option<f64>| edge.is_some_and(|edge| value < edge - ROUNDING * edge.abs());
        let over = |edge: Option<f64>| edge.is_some_and(|edge| value > edge + ROUNDING * edge.abs());
        if under(self.least) {
            Grade::Replace(RangeSide::Below)
        } else if over(self.most) {
            Grade::Replace(RangeSide::Above)
        } else if under(self.watch_below) {
            Grade::Watch(RangeSide::Below)
        } else if over(self.watch_above) {
            Grade::Watch(RangeSide::Above)
        } else {
            Grade::Good
        }
    }
}

/// What can be said of a value with its doubt, -1e9 to 1e9 in the unit of the edges; none where no edge is
/// set. An edge at the very end of the interval is not within it.
pub fn judge(figure: &Doubtful, edges: &Edges) -> Result<Option<Judged>, EngineError> {
    let (value, half) = (FIGURE.check(figure.value())?, figure.expanded());
    UNCERTAINTY.check(figure.uncertainty())?;
    if edges.all().iter().all(Option::is_none) {
        return Ok(None);
    }
    let between = (edges.grade(value - half), edges.grade(value + half));
    let nearest = edges.grade(value);
    // Grades follow each other as values rise: ends alike have nothing else between them.
    Ok(Some(if between.0 == between.1 { Judged::Is(nearest) } else { Judged::TooClose { nearest, between } }))
}
