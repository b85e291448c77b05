//! The crank drive: where the piston is at each angle, and the angle at each place.
//!
//! Slider-crank with an offset between the cylinder's axis (or the piston pin) and the crank's axis. Angles are in degrees
//! after true top dead centre, the angle at which the piston really is at its highest; with an offset the way down is not the
//! mirror of the way up. Sources: geometry, as in Heywood, Internal Combustion Engine Fundamentals (1988), section 2.2 (from
//! memory, and checked numerically).

use super::{Allowed, EngineError, named};
use crate::quantity::search;

const STROKE: Allowed = Allowed {
    field: named::STROKE,
    unit: "m",
    low: 0.01,
    high: 0.2,
    help: "Give the whole travel of the piston.",
};

const ROD: Allowed = Allowed {
    field: named::ROD,
    unit: "m",
    low: 0.02,
    high: 0.5,
    help: "Give the connecting rod between centres, not its whole length.",
};

const OFFSET: Allowed = Allowed {
    field: named::PIN_OFFSET,
    unit: "m",
    low: -0.03,
    high: 0.03,
    help: "Give the distance of the cylinder's axis from the crank's axis, 0 where they meet.",
};

const SPEED: Allowed = Allowed {
    field: "engine speed",
    unit: "rpm",
    low: 0.0,
    high: 30_000.0,
    help: "Give revolutions per minute.",
};

/// A crank drive whose parts fit together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crank {
    stroke: f64,
    radius: f64,
    rod: f64,
    offset: f64,
}

impl Crank {
    /// A crank drive from the stroke that was measured, the rod between centres and the pin offset, all in m.
    ///
    /// Stroke 0.01 to 0.2, rod 0.02 to 0.5, offset -0.03 to 0.03; positive means that the crank pin reaches the side the
    /// cylinder is shifted to on the way down. The rod must be longer than half the stroke and the offset together, or the
    /// crank would not turn. The throw follows from the stroke: stroke = √((L+r)² - e²) - √((L-r)² - e²), so that it is half
    /// the stroke only without offset.
    pub fn new(stroke_m: f64, rod_m: f64, pin_offset_m: f64) -> Result<Self, EngineError> {
        let stroke = STROKE.check(stroke_m)?;
        let rod = ROD.check(rod_m)?;
        let offset = OFFSET.check(pin_offset_m)?;
        let least = stroke / 2.0 + offset.abs();
        if rod <= least {
            return Err(EngineError::Contradiction {
                field: "half stroke with the pin offset",
                found: least,
                other: named::ROD,
                limit: rod,
                unit: "m",
                help: "The rod between centres must be longer than half the stroke, or the crank cannot turn. Check the rod, the stroke and their units.",
            });
        }
        Ok(Self { stroke, radius: throw_of(stroke, rod, offset), rod, offset })
    }

    /// Stroke, m.
    pub fn stroke_m(&self) -> f64 {
        self.stroke
    }

    /// Throw of the crank pin, m.
    pub fn radius_m(&self) -> f64 {
        self.radius
    }

    /// Rod between centres, m.
    pub fn rod_m(&self) -> f64 {
        self.rod
    }

    /// Angle of the crank at true top dead centre, from where it points along the cylinder, in radians.
    fn top_angle(&self) -> f64 {
        (self.offset / (self.radius + self.rod)).asin()
    }

    /// Angle of bottom dead centre after true top dead centre, degrees: 180 only without offset.
    pub fn bottom_deg(&self) -> f64 {
        // At the bottom crank and rod lie in one line again, folded over each other.
        let bottom = std::f64::consts::PI + (self.offset / (self.rod - self.radius)).asin();
        (bottom - self.top_angle()).to_degrees()
    }

    /// Depth of the piston below its top dead centre, in m, at an angle in degrees after true top dead centre; any angle.
    /// Never outside the stroke, not even by rounding, so that its angle can be looked up again.
    pub fn depth_m(&self, after_top_deg: f64) -> f64 {
        let (sin, cos) = (after_top_deg.to_radians() + self.top_angle()).sin_cos();
        let (r, rod, e) = (self.radius, self.rod, self.offset);
        let sideways = r * sin - e;
        let highest = ((r + rod).powi(2) - e * e).sqrt();
        (highest - (r * cos + (rod * rod - sideways * sideways).sqrt())).clamp(0.0, self.stroke)
    }

    /// Piston speed in m/s at an angle in degrees after true top dead centre and an engine speed in rpm (0 to 30 000); positive downwards.
    pub fn piston_speed_m_s(&self, after_top_deg: f64, rpm: f64) -> Result<f64, EngineError> {
        let turning = SPEED.check(rpm)? * std::f64::consts::TAU / 60.0;
        Ok(turning * self.travel_per_radian(after_top_deg))
    }

    /// Travel per radian of crank angle, m, positive downwards.
    fn travel_per_radian(&self, after_top_deg: f64) -> f64 {
        let (sin, cos) = (after_top_deg.to_radians() + self.top_angle()).sin_cos();
        let sideways = self.radius * sin - self.offset;
        let upright = (self.rod * self.rod - sideways * sideways).sqrt();
        self.radius * sin + sideways * self.radius * cos / upright
    }

    /// Mean piston speed in m/s at an engine speed in rpm (0 to 30 000): see [`mean_piston_speed_m_s`].
    pub fn mean_piston_speed_m_s(&self, rpm: f64) -> Result<f64, EngineError> {
        mean_piston_speed_m_s(self.stroke, rpm)
    }

    /// Highest piston speed on the way down, in m/s, and the angle in degrees after top dead centre at which it is reached; engine speed 0 to
    /// 30 000 rpm.
    pub fn peak_piston_speed(&self, rpm: f64) -> Result<(f64, f64), EngineError> {
        // The speed has one hump between the dead centres.
        let at =
            search::highest(0.0, self.bottom_deg(), |at| Ok::<_, EngineError>(self.travel_per_radian(at)))?;
        Ok((self.piston_speed_m_s(at, rpm)?, at))
    }

    /// Angle in degrees after true top dead centre at which the piston on its way down is `depth_m` below top dead centre.
    /// The depth must lie within the stroke; the answer is 0 at the top and [`Self::bottom_deg`] at the bottom.
    pub fn angle_going_down_deg(&self, depth_m: f64) -> Result<f64, EngineError> {
        let depth = self.within_stroke(depth_m)?;
        Ok(self.find(depth, 0.0, self.bottom_deg()))
    }

    /// Angle in degrees after true top dead centre at which the piston on its way up is `depth_m` below top dead centre:
    /// from [`Self::bottom_deg`] at the bottom to 360 at the top.
    pub fn angle_going_up_deg(&self, depth_m: f64) -> Result<f64, EngineError> {
        let depth = self.within_stroke(depth_m)?;
        Ok(self.find(depth, 360.0, self.bottom_deg()))
    }

    /// Travel before top dead centre, in m, at an angle in degrees before true top dead centre: what a dial gauge in the
    /// plug hole shows.
    pub fn travel_before_top_m(&self, before_top_deg: f64) -> f64 {
        self.depth_m(-before_top_deg)
    }

    /// Angle in degrees before true top dead centre at which a dial gauge in the plug hole shows `travel_m`, 0 to the stroke.
    pub fn before_top_deg(&self, travel_m: f64) -> Result<f64, EngineError> {
        Ok(360.0 - self.angle_going_up_deg(travel_m)?)
    }

    fn within_stroke(&self, depth_m: f64) -> Result<f64, EngineError> {
        Allowed {
            field: "depth below top dead centre",
            unit: "m",
            low: 0.0,
            high: self.stroke,
            help: "The piston travels one stroke and no further.",
        }
        .check(depth_m)
    }

    /// The angle between `top` and `bottom` at which the piston is `depth` down; the depth rises from the one to the other.
    fn find(&self, depth: f64, top: f64, bottom: f64) -> f64 {
        // About the bottom the depth stays the same to its last digit over a millionth of a degree.
        if depth >= self.stroke {
            return bottom;
        }
        search::turn(top, bottom, |at| self.depth_m(at) < depth).middle()
    }
}

/// Mean piston speed, 2 S N, in m/s, from the stroke, 0.01 to 0.2 m, and an engine speed in rpm, 0 to 30 000. Definition.
pub fn mean_piston_speed_m_s(stroke_m: f64, rpm: f64) -> Result<f64, EngineError> {
    Ok(2.0 * STROKE.check(stroke_m)? * SPEED.check(rpm)? / 60.0)
}

/// The throw that gives a stroke: the stroke rises with the throw.
fn throw_of(stroke: f64, rod: f64, offset: f64) -> f64 {
    let stroke_of = |r: f64| {
        let reach = |length: f64| (length * length - offset * offset).max(0.0).sqrt();
        reach(rod + r) - reach(rod - r)
    };
    // An offset makes the stroke longer than twice the throw, so the throw is at most half the stroke.
    search::turn(0.0, stroke / 2.0, |throw| stroke_of(throw) < stroke).fails
}

#[cfg(test)]
mod tests {
    use super::Crank;

    #[test]
    fn without_offset_the_throw_is_half_the_stroke() {
        let crank = Crank::new(0.0545, 0.110, 0.0).expect("a usual crank");
        assert!((crank.radius_m() - 0.027_25).abs() < 1e-15);
        assert!((crank.bottom_deg() - 180.0).abs() < 1e-12);
    }

    #[test]
    fn the_port_edges_of_the_check_values_open_where_they_should() {
        let crank = Crank::new(0.0545, 0.110, 0.0).expect("a usual crank");
        let opens = crank.angle_going_down_deg(0.0255).expect("within the stroke");
        assert!((opens - 79.3015).abs() < 5e-5, "{opens}");
        assert!((crank.travel_before_top_m(15.0) - 1.154_9e-3).abs() < 5e-8);
    }

    #[test]
    fn a_rod_that_is_too_short_is_refused() {
        assert!(Crank::new(0.0545, 0.027, 0.0).is_err());
    }
}
