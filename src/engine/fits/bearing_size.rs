//! How large the rings of a radial ball bearing may be: the mean bore and the mean outside diameter in the
//! tolerance class Normal of ISO 492, which a bearing has when nothing else is marked on it.
//!
//! # Sources
//!
//! ISO 492, class Normal, *read second hand* in the tables of five makers, which agree: the mean bore above
//! 2.5 up to 120 mm, the mean outside diameter above 2.5 up to 150 mm. A ring is never larger than its
//! nominal size and smaller by the table's step at most, outside and in the bore alike. The mean is that of
//! the largest and the smallest diameter read in one plane; single readings may lie a little beyond it.

use super::zone::Limits;
use crate::engine::{Allowed, EngineError};

const BORE: Allowed = Allowed {
    field: "bore of the bearing",
    unit: "m",
    low: 0.0025,
    high: 0.12,
    help: "The table kept here is for bores above 2.5 mm up to 120 mm.",
};

const OUTSIDE: Allowed = Allowed {
    field: "outside of the bearing",
    unit: "m",
    low: 0.0025,
    high: 0.15,
    help: "The table kept here is for outside diameters above 2.5 mm up to 150 mm.",
};

/// Up to mm, and by how many um the mean bore may be below its nominal size.
const BORES: [(f64, f64); 6] =
    [(10.0, 8.0), (18.0, 8.0), (30.0, 10.0), (50.0, 12.0), (80.0, 15.0), (120.0, 20.0)];

/// The same for the mean outside diameter.
const OUTSIDES: [(f64, f64); 6] =
    [(18.0, 8.0), (30.0, 9.0), (50.0, 11.0), (80.0, 13.0), (120.0, 15.0), (150.0, 18.0)];

/// A millionth of a millimetre: what millimetres written in metres may be off by.
const ROUNDING_MM: f64 = 1e-6;

/// What class Normal allows of the mean bore, by the nominal bore in m, above 2.5 up to 120 mm. Exact as the
/// table.
pub fn bore_limits(nominal_m: f64) -> Result<Limits, EngineError> {
    limits(&BORE, &BORES, nominal_m)
}

/// What class Normal allows of the mean outside diameter, by the nominal one in m, above 2.5 up to 150 mm.
/// Exact as the table.
pub fn outside_limits(nominal_m: f64) -> Result<Limits, EngineError> {
    limits(&OUTSIDE, &OUTSIDES, nominal_m)
}

fn limits(allowed: &Allowed, table: &[(f64, f64)], nominal_m: f64) -> Result<Limits, EngineError> {
    let nominal_mm = 1e3 * allowed.check(nominal_m)?;
    let above_the_least = nominal_mm > 1e3 * allowed.low + ROUNDING_MM;
    let row = table.iter().find(|row| above_the_least && nominal_mm <= row.0 + ROUNDING_MM);
    let Some(&(_, below_um)) = row else {
        // The lower end itself belongs to the smaller bearings, which are not kept.
        return Err(EngineError::OutOfRange {
            field: allowed.field,
            found: nominal_m,
            unit: allowed.unit,
            low: allowed.low,
            high: allowed.high,
            help: allowed.help,
        });
    };
    let lower_deviation_m = -1e-6 * below_um;
    Ok(Limits {
        lower_deviation_m,
        upper_deviation_m: 0.0,
        least_m: nominal_m + lower_deviation_m,
        most_m: nominal_m,
    })
}
