//! Why a map cannot be shaped as asked, in words: what was found, and the way out.

use thiserror::Error;

use crate::notebook::fields::names;
use crate::notebook::maps::shape::{MapAxis, grouped, part};
use crate::quantity::trimmed;

/// A shape that a map cannot take.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ShapeError {
    /// Neither one breakpoint nor two ends with a hyphen.
    #[error("\"{}\" is not a part of the {}s.", names::visible(.typed), .axis.name())]
    NotASpan {
        /// The axis it was typed for.
        axis: MapAxis,
        /// As typed.
        typed: String,
    },
    /// The upper end first.
    #[error("The part from {} to {} {} runs backwards.", grouped(*.low), grouped(*.high), .axis.unit())]
    Backwards {
        /// The axis.
        axis: MapAxis,
        /// The end given first.
        low: f64,
        /// The end given last.
        high: f64,
    },
    /// No breakpoint lies in the part.
    #[error("The map has no {} {}.", .axis.name(), part((*.low, *.high), *.axis))]
    NoCell {
        /// The axis.
        axis: MapAxis,
        /// Lower end asked for.
        low: f64,
        /// Upper end asked for.
        high: f64,
        /// The breakpoints that are there.
        points: Vec<f64>,
    },
    /// A part of the throttle, in a map without throttle.
    #[error("The map runs over engine speed alone, so there is no part of the throttle to choose.")]
    NoThrottle,
    /// A shift that is no number.
    #[error("A map cannot be shifted by {by}.")]
    BadShift {
        /// What was found.
        by: f64,
    },
    /// A factor that is zero, negative or no number.
    #[error("A map cannot be scaled by {factor}.")]
    BadFactor {
        /// What was found.
        factor: f64,
    },
    /// A share outside 0 to 1.
    #[error("A cell cannot go a share of {share} of the way to its neighbours.")]
    BadShare {
        /// What was found.
        share: f64,
    },
    /// No pass, or too many.
    #[error("A map cannot be smoothed {passes} times in one go.")]
    BadPasses {
        /// What was found.
        passes: usize,
        /// The most there may be.
        most: usize,
    },
    /// A step that is zero, negative or no number.
    #[error("Cells cannot be rounded to steps of {step}.")]
    BadStep {
        /// What was found.
        step: f64,
    },
    /// A limit that is no number, or one that nothing can keep.
    #[error("The limit on {what} cannot be {found}.")]
    BadLimit {
        /// What it limits.
        what: &'static str,
        /// What was found.
        found: f64,
    },
    /// Only cells without a neighbour on each side.
    #[error(
        "Every cell of that part lies at the edge of the map, with no neighbours to be smoothed between."
    )]
    NothingBetween,
    /// An engine speed that is no breakpoint.
    #[error("The map has no breakpoint at {} rpm.", grouped(*.at))]
    UnknownColumn {
        /// The engine speed asked for.
        at: f64,
        /// The breakpoints that are there.
        points: Vec<f64>,
    },
    /// One engine speed to merge, or none.
    #[error("Merging takes two engine speeds or more.")]
    OneColumn,
    /// Engine speeds with others between them.
    #[error("{} and {} rpm are not neighbours; between them: {}.", grouped(*.low), grouped(*.high), listed(.between))]
    NotNeighbours {
        /// The lowest of them.
        low: f64,
        /// The highest of them.
        high: f64,
        /// What lies between and was not named.
        between: Vec<f64>,
    },
    /// A new engine speed that does not lie among those that are merged.
    #[error("{} rpm does not lie between {} and {} rpm.", grouped(*.into), grouped(*.low), grouped(*.high))]
    Outside {
        /// The new engine speed.
        into: f64,
        /// The lowest that is merged.
        low: f64,
        /// The highest that is merged.
        high: f64,
    },
    /// Not enough of the map would be left.
    #[error("The map would have {left} engine speeds left, and a map needs at least two.")]
    TooFewColumns {
        /// How many would be left.
        left: usize,
    },
}

impl ShapeError {
    /// What is allowed and the way out, as sentences.
    pub fn help(&self) -> String {
        match self {
            Self::NotASpan { axis: MapAxis::EngineSpeed, .. } => {
                "Write two engine speeds like 9000-12000, or one like 9500.".into()
            }
            Self::NotASpan { axis: MapAxis::Throttle, .. } => {
                "Write two throttle openings in percent like 50-100, or one like 50.".into()
            }
            Self::Backwards { axis, low, high } => {
                format!("Write the lower {} first: {high}-{low}.", axis.name())
            }
            Self::NoCell { axis, low, points, .. } => no_cell(*axis, *low, points),
            Self::NoThrottle => "Leave the throttle out.".into(),
            Self::BadShift { .. } => "Give a number in the unit of the cells, like -1.5.".into(),
            Self::BadFactor { .. } => "Allowed: a factor above 0, like 0.95 for 5 % less.".into(),
            Self::BadShare { .. } => "Allowed: above 0, and up to 1 for all the way; usual is 0.5.".into(),
            Self::BadPasses { most, .. } => format!("Allowed: 1 to {most}."),
            Self::BadStep { .. } => "Allowed: a step above 0, like 0.5.".into(),
            Self::BadLimit { .. } => "Give a number; a gap and a step are above 0.".into(),
            Self::NothingBetween => {
                "Choose a part with cells inside the map; smoothed along the engine speeds alone, only the first and the last one stay.".into()
            }
            Self::UnknownColumn { points, .. } => format!("Its engine speeds are {} rpm.", listed(points)),
            Self::OneColumn => "Name two neighbours, like 9000 and 9500.".into(),
            Self::NotNeighbours { .. } => {
                "Name those between as well, or merge neighbours one pair after the other.".into()
            }
            Self::Outside { .. } => "Choose an engine speed among those that are merged.".into(),
            Self::TooFewColumns { .. } => "Name fewer of them.".into(),
        }
    }
}

/// The reach of the axis, and the breakpoints on either side of what was asked for.
fn no_cell(axis: MapAxis, low: f64, points: &[f64]) -> String {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return "The map has no breakpoints.".into();
    };
    let reach =
        format!("Its {}s run from {} to {} {}", axis.name(), grouped(*first), grouped(*last), axis.unit());
    let next = points.partition_point(|point| *point < low);
    match (next.checked_sub(1).and_then(|before| points.get(before)), points.get(next)) {
        (Some(before), Some(after)) => {
            format!("{reach}; next to it are {} and {}.", grouped(*before), grouped(*after))
        }
        _ => format!("{reach}."),
    }
}

/// "2000, 3000 and 4000": in a list the breakpoints stand without a comma of their own.
fn listed(points: &[f64]) -> String {
    let shown: Vec<String> = points.iter().map(|point| trimmed(*point, 2)).collect();
    match shown.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => "none".into(),
    }
}
