//! Bounds of the trade that the tuner set in configs/: the least squish clearance, the most advance.

use crate::notebook::{Combination, Limits};
use crate::quantity::{Dimension, Measure, Quantity};
use crate::store::{Book, StoreError};

/// The figure of configs/limits.toml that the least squish clearance stands under.
const SQUISH: &str = "squish_mean";

/// What configs/ of a garage bound for an engine.
#[derive(Debug, Clone, Default)]
pub(in super::super) struct Trade {
    /// The least squish clearance; none where configs/limits.toml has none.
    pub least_squish: Option<LeastSquish>,
    /// The most advance as it fires, degrees; none where configs/assumptions.toml has none.
    pub most_advance_deg: Option<f64>,
}

/// The least squish clearance.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastSquish {
    /// m.
    pub metres: f64,
    /// Where it is from: "0.9 % of the bore, configs/limits.toml".
    pub words: String,
}

impl Trade {
    /// Reads what a garage has of them.
    pub(in super::super) fn of(book: &Book<'_>, whole: &Combination) -> Result<Self, StoreError> {
        let garage = book.garage();
        let assumptions = garage.assumptions()?;
        let most = assumptions.map_limits.as_ref().and_then(|limits| limits.most_advance.as_ref());
        Ok(Self {
            least_squish: LeastSquish::of(&garage.limits()?, whole),
            most_advance_deg: most.map(Measure::si),
        })
    }
}

impl LeastSquish {
    /// Of an engine, as configs/limits.toml has it: a length, or a share of the bore.
    pub fn of(limits: &Limits, whole: &Combination) -> Option<Self> {
        let engine = whole.fields.text("engine").unwrap_or_default();
        let limit = limits.of(engine, SQUISH)?.least.as_ref()?.quantity();
        let (metres, of) = match limit.dimension() {
            Dimension::Length => (limit.si(), ""),
            Dimension::Share => {
                (limit.si() * whole.fields.quantity("engine.bore").map(Quantity::si)?, " of the bore")
            }
            _ => return None,
        };
        Some(Self { metres, words: format!("{}{of}, configs/limits.toml", limit.with_unit()) })
    }
}
