//! Gauging: what a part measures at 20 C, how round and straight a bore is, and whether a figure is within
//! its limits as far as the gauge can tell.
//!
//! - [`bore_map`]: diameters of a bore at several depths along several axes;
//! - [`edges`]: good, watch, replace, or too close to call.
//!
//! Sizes are those at 20 C, the reference temperature of ISO 1:2022. A gauge tells the truth at 20 C; warmer,
//! its scale has grown, and so has the part:
//!
//! ```text
//! L20 = reading [1 + αg (Tg - 20)] / [1 + αp (Tp - 20)]
//! ```
//!
//! Coefficients of expansion are taken as known. They are not quite: a twentieth of 23e-6/K, over 10 K and 54
//! mm, is 0.6 um. A bore and a piston of one metal share it, and it cancels in their clearance; for unlike
//! metals, measure near 20 C.

pub mod bore_map;
pub mod edges;

use std::f64::consts::PI;

use super::doubt::Doubtful;
use super::fits::{Material, REFERENCE_C};
use super::{Allowed, EngineError};

const READING: Allowed = Allowed {
    field: "reading",
    unit: "m",
    low: -0.025,
    high: 1.0,
    help: "Give what the gauge shows, in metres; only a small difference can be negative.",
};

const DIFFERENCE: Allowed = Allowed {
    field: "difference on the dial",
    unit: "m",
    low: -0.025,
    high: 0.025,
    help: "Give how far the needle stands from its zero, not the whole diameter.",
};

const SIZE: Allowed = Allowed {
    field: "diameter",
    unit: "m",
    low: 0.001,
    high: 1.0,
    help: "Give the diameter in metres; a bore of 54 mm is 0.054.",
};

const GAP: Allowed = Allowed {
    field: "end gap of the ring",
    unit: "m",
    low: 0.0,
    high: 0.02,
    help: "Give what the feeler showed, in metres; 0.3 mm is 0.0003.",
};

const UNCERTAINTY: Allowed = Allowed {
    field: "standard uncertainty of the length",
    unit: "m",
    low: 0.0,
    high: 0.01,
    help: "Give how far a reading may be off, in metres; a bore gauge's 0.002 mm is 0.000002.",
};

const TEMPERATURE: Allowed = Allowed {
    field: "temperature at which it was measured",
    unit: "C",
    low: -30.0,
    high: 120.0,
    help: "Give degrees Celsius, and let a hot part cool before it is measured.",
};

const TEMPERATURE_UNCERTAINTY: Allowed = Allowed {
    field: "standard uncertainty of the temperature",
    unit: "K",
    low: 0.0,
    high: 50.0,
    help: "Give how far the temperature may be off; a guess in a workshop is good to some 3 K.",
};

const EXPANSION: Allowed = Allowed {
    field: "coefficient of expansion",
    unit: "1/K",
    low: 1e-7,
    high: 1e-4,
    help: "Aluminium has 0.000023, steel 0.0000115.",
};

const MISMATCH: Allowed = Allowed {
    field: "clearance over the bore",
    unit: "",
    low: -0.05,
    high: 0.05,
    help: "The piston does not belong to this bore; check both diameters and their units.",
};

/// A length that is in its range, and its doubt too.
fn length(allowed: &Allowed, found: &Doubtful) -> Result<(), EngineError> {
    allowed.check(found.value())?;
    UNCERTAINTY.check(found.uncertainty())?;
    Ok(())
}

/// By what a length of 20 C is multiplied at another temperature.
fn growth(temperature_c: &Doubtful, per_k: f64) -> Result<Doubtful, EngineError> {
    TEMPERATURE.check(temperature_c.value())?;
    TEMPERATURE_UNCERTAINTY.check(temperature_c.uncertainty())?;
    let above = temperature_c.minus(&Doubtful::exact(REFERENCE_C));
    Ok(Doubtful::exact(1.0).plus(&above.times(EXPANSION.check(per_k)?)))
}

/// The share of a gauge's standard uncertainty that is the hand, where only one figure is given: how it is held, rocked and
/// read, new with each reading. Common practice, no source.
pub const HAND_SHARE: f64 = 0.5;

/// What of a gauge's standard uncertainty is the hand's, new with each reading, and what is common to all of them, its setting
/// and calibration; both in m, 0 to 10 mm. The two together are the uncertainty, u² = hand² + common², so that one reading is
/// as doubtful as was stated; in a difference of two only √2 times the hand is left. A hand that is stated larger than the
/// whole is all there is.
///
/// Repeatability and setting as sources of their own: GUM (JCGM 100:2008) 4.2 and H.1.3.2 (from memory).
pub fn hand_and_common(stated_m: f64, hand_m: Option<f64>) -> Result<(f64, f64), EngineError> {
    let stated = UNCERTAINTY.check(stated_m)?;
    let hand = UNCERTAINTY.check(hand_m.unwrap_or(HAND_SHARE * stated))?;
    Ok((hand, (stated * stated - hand * hand).max(0.0).sqrt()))
}

/// What a part measures at 20 C, in m, from what a gauge with a scale of its own shows (a micrometer, a
/// caliper; -25 mm to 1 m, negative only for small differences as a deck height), ISO 1:2022.
///
/// Gauge and part have -30 to 120 C, their coefficients are in 1/K. Give both temperatures the same source
/// where one thermometer told them: of a steel gauge on a steel part nothing of it is left.
pub fn size_at_20(
    reading: &Doubtful,
    gauge_c: &Doubtful,
    gauge_per_k: f64,
    part_c: &Doubtful,
    part_per_k: f64,
) -> Result<Doubtful, EngineError> {
    length(&READING, reading)?;
    reading.product(&growth(gauge_c, gauge_per_k)?).quotient(&growth(part_c, part_per_k)?)
}

/// What a gauge that shows differences was zeroed on: a diameter, how warm, and of what.
#[derive(Debug, Clone, PartialEq)]
pub struct Zeroed {
    size_m: Doubtful,
    temperature_c: Doubtful,
    per_k: f64,
}

impl Zeroed {
    /// On a setting ring, a micrometer or gauge blocks of steel: the size they have at 20 C (1 mm to 1 m, in
    /// m), and the temperature of the gauge at the reading, -30 to 120 C.
    ///
    /// Gauge and master are of one metal. Whatever the temperature when it was zeroed, if both had it, the
    /// gauge has grown from there as the master would have: only its temperature now counts.
    pub fn on_steel_master(size_at_20: &Doubtful, gauge_c: &Doubtful) -> Result<Self, EngineError> {
        Self::on(size_at_20, gauge_c, Material::Steel.expansion_per_k())
    }

    /// On anything: the size it has at 20 C (1 mm to 1 m, in m), its temperature, -30 to 120 C, and its
    /// coefficient in 1/K.
    ///
    /// For a bore gauge zeroed on the piston that is the piston's size, the temperature of the parts, and the
    /// piston's metal. The gauge itself may then have any temperature that it keeps from the zeroing to the
    /// reading.
    pub fn on(size_at_20: &Doubtful, temperature_c: &Doubtful, per_k: f64) -> Result<Self, EngineError> {
        length(&SIZE, size_at_20)?;
        growth(temperature_c, per_k)?;
        Ok(Self { size_m: size_at_20.clone(), temperature_c: temperature_c.clone(), per_k })
    }

    /// The diameter at which the gauge stands on its zero, as warm as that was, m.
    fn now(&self) -> Result<Doubtful, EngineError> {
        Ok(self.size_m.product(&growth(&self.temperature_c, self.per_k)?))
    }
}

/// What a part measures at 20 C, in m, from the difference that a gauge shows beside its zero, -25 to 25 mm,
/// given in m, positive where the part is the larger. The part has -30 to 120 C, its coefficient is in 1/K.
///
/// ```text
/// L20 = { zero [1 + αz (Tz - 20)] + difference } / [1 + αp (Tp - 20)]
/// ```
///
/// What the scale grows over so short a difference is left out: about a thousandth of it at most.
///
/// A bore had from the piston carries the doubt of the piston's micrometer; in the [`clearance`] of the two
/// it cancels but for what the two metals grow apart.
pub fn difference_at_20(
    difference: &Doubtful,
    zeroed: &Zeroed,
    part_c: &Doubtful,
    part_per_k: f64,
) -> Result<Doubtful, EngineError> {
    length(&DIFFERENCE, difference)?;
    let size = zeroed.now()?.plus(difference).quotient(&growth(part_c, part_per_k)?)?;
    length(&SIZE, &size)?;
    Ok(size)
}

/// Clearance of a piston in its bore, on the diameter, in m: positive is room. Both at 20 C, 1 mm to 1 m.
pub fn clearance(bore: &Doubtful, piston: &Doubtful) -> Result<Doubtful, EngineError> {
    length(&SIZE, bore)?;
    length(&SIZE, piston)?;
    let clearance = bore.minus(piston);
    MISMATCH.check(clearance.value() / bore.value())?;
    Ok(clearance)
}

/// By how much a bore has grown, in m, from the end gap of one ring at one depth, now and then, 0 to 20 mm,
/// given in m.
///
/// ```text
/// growth = (gap now - gap then) / π
/// ```
///
/// The ring is as long as it was, and the bore is longer around by π times its growth. A ring that has worn
/// on its face opens its gap in the same way: with another ring, or a worn one, it is no growth of the bore
/// alone. That errs towards a bore too large.
pub fn bore_growth_from_gap(gap_now: &Doubtful, gap_then: &Doubtful) -> Result<Doubtful, EngineError> {
    length(&GAP, gap_now)?;
    length(&GAP, gap_then)?;
    Ok(gap_now.minus(gap_then).times(1.0 / PI))
}
