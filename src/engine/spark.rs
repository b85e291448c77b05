//! The spark: what the map, the pickup and the box's lag add up to, degrees on the flywheel, and where an advance curve falls.
//!
//! Maps come in two kinds. An *absolute* map says degrees before top dead centre, true as long as the pickup stands at the angle the
//! map assumes. A *relative* map says what is added to the pickup's own angle, the base. A box that does not compensate its
//! own lag fires later by the angle the crank turns meanwhile: 6 N t, N in rpm, t in s.
//!
//! ```text
//! absolute:  firing = map + (base - assumed base) - 6 N t
//! relative:  firing = map + base - 6 N t
//! ```
//!
//! Sources: the sums follow from what the two kinds mean; 6 N is the turn of the crank in degrees a second. Millimetres
//! before top dead centre are the crank's: [`Crank::travel_before_top_m`](super::crank::Crank::travel_before_top_m).
//!
//! # The wrong sum doubles the advance
//!
//! The pickup stands at 16 degrees, the map was written for 16 and says 18 at this speed. The spark comes at 18. Taken for a relative
//! map, the same numbers promise 34:
//!
//! ```
//! use reedbook::engine::spark::{MapAngles, Timing};
//!
//! let right = Timing::new(MapAngles::Absolute { assumed_base_deg: 16.0 }, 16.0, 0.0)?;
//! let wrong = Timing::new(MapAngles::Relative, 16.0, 0.0)?;
//! assert_eq!(right.firing(18.0, 12_000.0)?.firing_deg, 18.0);
//! assert_eq!(wrong.firing(18.0, 12_000.0)?.firing_deg, 34.0);
//!
//! // With the pickup moved 2 degrees on, the absolute map fires 2 degrees earlier; 10 us of lag take 0.72 back.
//! let moved = Timing::new(MapAngles::Absolute { assumed_base_deg: 16.0 }, 18.0, 10e-6)?;
//! assert!((moved.firing(18.0, 12_000.0)?.firing_deg - 19.28).abs() < 1e-9);
//! # Ok::<(), reedbook::engine::EngineError>(())
//! ```

use std::f64::consts::PI;

use super::{Allowed, EngineError, named};

const MAP: Allowed = Allowed {
    field: "angle in the ignition map",
    unit: "degrees",
    low: -60.0,
    high: 90.0,
    help: "Give what the map says, in degrees of the crank, positive for earlier.",
};

const BASE: Allowed = Allowed {
    field: "base timing",
    unit: "degrees",
    low: -30.0,
    high: 90.0,
    help: "Give the pickup's angle before top dead centre, in degrees of the crank.",
};

const ASSUMED_BASE: Allowed = Allowed {
    field: "base timing the map assumes",
    unit: "degrees",
    low: -30.0,
    high: 90.0,
    help: "Give the pickup's angle for which the map was written, in degrees before top dead centre.",
};

const LAG: Allowed = Allowed {
    field: "ignition lag",
    unit: "s",
    low: 0.0,
    high: 1e-3,
    help: "Give the delay of the box in seconds, such as 0.00001, and 0 for a box that compensates its own.",
};

const SPEED: Allowed = Allowed {
    field: "engine speed",
    unit: "rpm",
    low: 0.0,
    high: 30_000.0,
    help: "Give revolutions per minute.",
};

const FIRING: Allowed = Allowed {
    field: "firing angle",
    unit: "degrees",
    low: -60.0,
    high: 90.0,
    help: "No engine fires there. Check whether the map is absolute or relative, the base timing and the lag.",
};

const RIM_DIAMETER: Allowed = Allowed {
    field: "diameter of the flywheel's rim",
    unit: "m",
    low: 0.02,
    high: 0.5,
    help: "Measure across the rim that the marks are on.",
};

const ADVANCE: Allowed = Allowed {
    field: named::ADVANCE,
    unit: "degrees",
    low: -60.0,
    high: 90.0,
    help: "Give the advance in degrees of the crank, positive for earlier.",
};

/// What the angles in an ignition map mean. To be asked of the tuner, never assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MapAngles {
    /// Degrees before top dead centre, true when the pickup stands at the base the map assumes.
    Absolute {
        /// That base, degrees before top dead centre, -30 to 90.
        assumed_base_deg: f64,
    },
    /// Degrees that are added to the base.
    Relative,
}

/// An ignition: what its map means, where the pickup stands, and how late the box is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    /// What the base adds to the map, degrees.
    shift: f64,
    lag: f64,
}

/// How a firing angle comes about. All in degrees of the crank, positive for earlier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FiringSum {
    /// What the map says.
    pub map_deg: f64,
    /// What the base adds: all of it to a relative map, its difference from the assumed base to an absolute one.
    pub base_deg: f64,
    /// What the box's lag takes away, 6 N t; never negative.
    pub lag_deg: f64,
    /// Degrees before top dead centre at which the spark comes: map + base - lag.
    pub firing_deg: f64,
}

impl Timing {
    /// An ignition whose pickup stands at `base_deg` before top dead centre (-30 to 90) and whose box is late by `lag_s` (0 to 1e-3 s; 0 where the
    /// box compensates its own lag).
    pub fn new(angles: MapAngles, base_deg: f64, lag_s: f64) -> Result<Self, EngineError> {
        let base = BASE.check(base_deg)?;
        let shift = match angles {
            MapAngles::Absolute { assumed_base_deg } => base - ASSUMED_BASE.check(assumed_base_deg)?,
            MapAngles::Relative => base,
        };
        Ok(Self { shift, lag: LAG.check(lag_s)? })
    }

    /// When the spark comes, where the map says `map_deg` (-60 to 90) at an engine speed of 0 to 30 000 rpm.
    ///
    /// Refused beyond -60 and 90 degrees before top dead centre, where only a wrong sum can lead.
    pub fn firing(&self, map_deg: f64, rpm: f64) -> Result<FiringSum, EngineError> {
        let map = MAP.check(map_deg)?;
        let lag = lag_deg(self.lag, rpm)?;
        let firing_deg = FIRING.check(map + self.shift - lag)?;
        Ok(FiringSum { map_deg: map, base_deg: self.shift, lag_deg: lag, firing_deg })
    }
}

/// Degrees the crank turns in a time, 6 N t; time 0 to 1e-3 s, engine speed 0 to 30 000 rpm. 10 us at 12 000 rpm are 0.72.
pub fn lag_deg(lag_s: f64, rpm: f64) -> Result<f64, EngineError> {
    Ok(6.0 * SPEED.check(rpm)? * LAG.check(lag_s)?)
}

/// Degrees of the crank for a length *along* the rim of the flywheel: 360 L/(pi D).
///
/// Length in m, up to once around and with either sign; diameter of the rim 0.02 to 0.5 m. The length is that of a tape laid on the
/// rim; what a calliper spans straight across is a little shorter, by L^3/(6 D^2).
pub fn rim_angle_deg(length_m: f64, diameter_m: f64) -> Result<f64, EngineError> {
    let around = PI * RIM_DIAMETER.check(diameter_m)?;
    let length = Allowed {
        field: "length along the flywheel's rim",
        unit: "m",
        low: -around,
        high: around,
        help: "Once around the rim is the most two marks can be apart. Check the length, the diameter and their units.",
    }
    .check(length_m)?;
    Ok(360.0 * length / around)
}

/// Where an advance curve begins to fall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RetardCorner {
    /// Engine speed, rpm.
    pub rpm: f64,
    /// The advance there, the greatest of the curve, degrees.
    pub advance_deg: f64,
    /// Whether the curve rises anywhere after it: then the advance does not *only* fall from here on.
    pub rises_again: bool,
}

/// The engine speed at which the retard begins: the last of the points with the greatest advance.
///
/// Points are (rpm, degrees before top dead centre), at least two, the speeds rising; straight between them. On a flat top it is the end of
/// the flat. `None` where the curve never falls after its greatest advance. Common practice, no source.
pub fn retard_corner(points: &[(f64, f64)]) -> Result<Option<RetardCorner>, EngineError> {
    check_curve(points)?;
    let mut corner: Option<RetardCorner> = None;
    let mut before = f64::NEG_INFINITY;
    let mut falls = false;
    for &(rpm, advance_deg) in points {
        match &mut corner {
            Some(greatest) if advance_deg < greatest.advance_deg => {
                falls = true;
                greatest.rises_again |= advance_deg > before;
            }
            _ => {
                falls = false;
                corner = Some(RetardCorner { rpm, advance_deg, rises_again: false });
            }
        }
        before = advance_deg;
    }
    Ok(corner.filter(|_| falls))
}

/// The steepest piece of an advance curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteepestStep {
    /// Engine speed at which it begins, rpm.
    pub from_rpm: f64,
    /// Engine speed at which it ends, rpm.
    pub to_rpm: f64,
    /// Change of the advance in degrees per 1000 rpm; negative where the spark comes later with speed.
    pub deg_per_1000_rpm: f64,
}

/// The step between two neighbouring points at which the advance changes most per rpm, either way; the first of equals.
///
/// Points as for [`retard_corner`].
pub fn steepest_step(points: &[(f64, f64)]) -> Result<SteepestStep, EngineError> {
    check_curve(points)?;
    let mut steepest = SteepestStep { from_rpm: 0.0, to_rpm: 0.0, deg_per_1000_rpm: 0.0 };
    for (index, (&(from_rpm, from), &(to_rpm, to))) in points.iter().zip(points.iter().skip(1)).enumerate() {
        let deg_per_1000_rpm = 1000.0 * (to - from) / (to_rpm - from_rpm);
        if index == 0 || deg_per_1000_rpm.abs() > steepest.deg_per_1000_rpm.abs() {
            steepest = SteepestStep { from_rpm, to_rpm, deg_per_1000_rpm };
        }
    }
    Ok(steepest)
}

/// Refuses a curve of fewer than two points, one whose speeds do not rise, and numbers that no ignition has.
fn check_curve(points: &[(f64, f64)]) -> Result<(), EngineError> {
    if points.len() < 2 {
        return Err(EngineError::TooFew {
            field: "advance curve",
            found: points.len(),
            needed: 2,
            help: "Give the advance at two engine speeds at least.",
        });
    }
    let mut before = f64::NEG_INFINITY;
    for (index, &(rpm, advance)) in points.iter().enumerate() {
        SPEED.check(rpm)?;
        ADVANCE.check(advance)?;
        if rpm <= before {
            return Err(EngineError::NotAscending {
                field: "speeds of the advance curve",
                entry: index + 1,
                found: rpm,
                before,
                unit: "rpm",
                help: "Put the points in the order of engine speed, each speed once.",
            });
        }
        before = rpm;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::{retard_corner, steepest_step};

    const RACE: [(f64, f64); 5] =
        [(4000.0, 22.0), (8000.0, 26.0), (10_000.0, 26.0), (12_000.0, 17.0), (13_000.0, 14.0)];

    #[test]
    fn the_retard_begins_at_the_end_of_the_flat_top() {
        let corner = retard_corner(&RACE).expect("a curve").expect("falls");
        assert!((corner.rpm - 10_000.0).abs() < 1e-9 && !corner.rises_again);
    }

    #[test]
    fn the_steepest_step_keeps_its_sign() {
        let step = steepest_step(&RACE).expect("a curve");
        assert!((step.deg_per_1000_rpm + 4.5).abs() < 1e-12 && (step.from_rpm - 10_000.0).abs() < 1e-9);
    }
}
