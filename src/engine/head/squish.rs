//! The squish: how fast the charge leaves the band for the bowl as the piston comes up.
//!
//! *Geometric*: the density is taken as the same everywhere in the chamber; leakage past the rings and heat are left out, and
//! so is what the charge does of itself. It is good for comparing heads, not for saying what a burning engine does.
//!
//! # Where the formula comes from
//!
//! At uniform density the band holds the share Vsq/V of the charge, Vsq the volume between band and crown and V all that is
//! above the piston. As the piston rises at the speed Sp, Vsq falls by Asq Sp and V by Ac Sp, so the volume that crosses
//! the bowl's edge is Sp (Asq - Vsq Ac/V). It crosses a ring of circumference pi Db and height h, the gap at that edge:
//!
//! ```text
//! v = Sp/(pi Db h) [Asq - Ac Vsq/V]
//! ```
//!
//! On a band parallel to the crown h = z everywhere, Vsq = Asq z and V = Ac z + Vb with Vb the bowl proper. The bracket is then
//! Asq Vb/(Ac z + Vb), with Asq = (pi/4)(B² - Db²), which leaves the bowl formula of Heywood, Internal Combustion Engine
//! Fundamentals (1988), section 8.4 (from memory):
//!
//! ```text
//! v = Sp Db/(4 z) [(B/Db)² - 1] Vb/(Ac z + Vb)
//! ```
//!
//! With an angle the bracket still needs only one constant. The crown's depth x adds Asq x to Vsq and Ac x to V, which cancel:
//! Asq V - Ac Vsq is the same at every x, and moving the head changes nothing of it either. So the squish is faster at every
//! angle the nearer the head comes, and its whole curve scales with the engine speed.

use std::f64::consts::PI;

use super::{BAND_WIDTH, BORE, Head};
use crate::engine::crank::Crank;
use crate::engine::{Allowed, EngineError, named};
use crate::quantity::search;

const SPEED: Allowed = Allowed {
    field: "engine speed",
    unit: "rpm",
    low: 1.0,
    high: 30_000.0,
    help: "Give revolutions per minute.",
};

const BEFORE_TOP: Allowed = Allowed {
    field: "angle before top dead centre",
    unit: "degrees",
    low: -360.0,
    high: 360.0,
    help: "Give degrees of the crank, a full turn at most; negative after top dead centre.",
};

const POINTS: Allowed = Allowed {
    field: "number of points on the curve",
    unit: "",
    low: 2.0,
    high: 10_000.0,
    help: "Give as many as the plot can show.",
};

const SHARE: Allowed = Allowed {
    field: "share of the bore under the squish band",
    unit: "",
    low: 0.001,
    high: 0.999,
    help: "Give the band's area over the bore's; half of the bore is 0.5.",
};

const FROM: Allowed = Allowed {
    field: "start of the curve before top dead centre",
    unit: "degrees",
    low: 0.0,
    high: 180.0,
    help: "The squish happens in the last 40 degrees.",
};

const SPEED_HELP: &str = "No engine speed up to 30 000 rpm makes this head squish so. Check the velocity, or change the clearance or the band.";

const CLEARANCE_HELP: &str = "No squish clearance from 0.01 to 15 mm gives that at this engine speed. Change the band or the velocity.";

/// The least and the greatest squish clearance that is searched, m.
const CLEARANCES: (f64, f64) = (1e-5, 0.015);

/// Share of the bore's area that lies under the squish band, 0 to 1.
pub fn area_ratio(head: &Head) -> f64 {
    head.band_area_m2() / head.chamber().bore_area_m2()
}

/// The same from bore, 0.01 to 0.2 m, and band width alone, in m: for a head whose chamber was not measured.
///
/// Refused is a band as wide as half the bore: [`band_width_m`] is the inverse.
pub fn area_share(bore_m: f64, band_width_m: f64) -> Result<f64, EngineError> {
    let bore = BORE.check(bore_m)?;
    let width = BAND_WIDTH.check(band_width_m)?;
    if width >= bore / 2.0 {
        return Err(EngineError::Contradiction {
            field: named::BAND_WIDTH,
            found: width,
            other: "half of the bore",
            limit: bore / 2.0,
            unit: "m",
            help: "Give the width of the ring on one side, from the bowl's edge to the bore.",
        });
    }
    Ok(1.0 - (1.0 - 2.0 * width / bore).powi(2))
}

/// The band width, in m, that covers a share of the bore's area (0.001 to 0.999); bore 0.01 to 0.2 m.
pub fn band_width_m(bore_m: f64, share: f64) -> Result<f64, EngineError> {
    Ok(BORE.check(bore_m)? / 2.0 * (1.0 - (1.0 - SHARE.check(share)?).sqrt()))
}

/// The fastest squish of a stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SquishPeak {
    /// Velocity at the bowl's edge towards the bowl, m/s.
    pub velocity_m_s: f64,
    /// Where the crank stands, degrees before true top dead centre.
    pub before_top_deg: f64,
}

/// A head over a crank drive, whose squish can be computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Squish {
    crank: Crank,
    bore_area: f64,
    chamber: f64,
    bowl_circumference: f64,
    gap_at_bowl: f64,
    clearance: f64,
    /// Asq V - Ac Vsq, m5: how much more room the bowl has than the band; the same at every crank angle.
    bowl_excess: f64,
}

impl Squish {
    /// The squish of a head over a crank drive.
    ///
    /// Refused where the chamber is no deeper over the bowl than over the band: nothing would be squeezed inwards, and with a flat crown
    /// no such head is made.
    pub fn new(head: &Head, crank: &Crank) -> Result<Self, EngineError> {
        let chamber = head.chamber();
        let (bore_area, volume) = (chamber.bore_area_m2(), chamber.volume_m3());
        let as_deep_as_the_band = head.gap_volume_m3(0.0) / area_ratio(head);
        if as_deep_as_the_band >= volume {
            return Err(EngineError::Contradiction {
                field: "volume of a chamber as shallow as its squish gap",
                found: as_deep_as_the_band,
                other: named::CHAMBER_VOLUME,
                limit: volume,
                unit: "m3",
                help: "The bowl must be deeper than the squish gap for any squish. Check the chamber volume, the clearance and the band.",
            });
        }
        Ok(Self {
            crank: *crank,
            bore_area,
            chamber: volume,
            bowl_circumference: PI * head.bowl_diameter_m(),
            gap_at_bowl: head.gap_at_bowl_m(0.0),
            clearance: head.band().clearance_m,
            bowl_excess: head.band_area_m2() * (volume - as_deep_as_the_band),
        })
    }

    /// Velocity of the charge at the bowl's edge, m/s, at an angle of -360 to 360 degrees before true top dead centre and an engine
    /// speed of 1 to 30 000 rpm; positive towards the bowl, negative on the way down. Geometric.
    pub fn velocity_m_s(&self, before_top_deg: f64, rpm: f64) -> Result<f64, EngineError> {
        let before_top_deg = BEFORE_TOP.check(before_top_deg)?;
        let rising = -self.crank.piston_speed_m_s(-before_top_deg, SPEED.check(rpm)?)?;
        let depth = self.crank.travel_before_top_m(before_top_deg);
        let ring = self.bowl_circumference * (self.gap_at_bowl + depth);
        // Adding 0 keeps a minus sign off the nought at top dead centre.
        Ok(rising * self.bowl_excess / (ring * (self.chamber + self.bore_area * depth)) + 0.0)
    }

    /// The fastest squish on the way up, at an engine speed of 1 to 30 000 rpm. Geometric.
    pub fn peak(&self, rpm: f64) -> Result<SquishPeak, EngineError> {
        // The velocity has one hump between the dead centres.
        let bottom = 360.0 - self.crank.bottom_deg();
        let before_top_deg = search::highest(0.0, bottom, |at| self.velocity_m_s(at, rpm))?;
        Ok(SquishPeak { velocity_m_s: self.velocity_m_s(before_top_deg, rpm)?, before_top_deg })
    }

    /// The curve to plot: (degrees before true top dead centre, m/s) from `from_deg` (0 to 180) to top dead centre, evenly spaced, 2 to
    /// 10 000 points; engine speed 1 to 30 000 rpm. Geometric.
    pub fn curve(&self, rpm: f64, from_deg: f64, points: u32) -> Result<Vec<(f64, f64)>, EngineError> {
        let from = FROM.check(from_deg)?;
        let steps = POINTS.check(f64::from(points))? - 1.0;
        (0..points)
            .map(|point| {
                let before_top_deg = from * (1.0 - f64::from(point) / steps);
                Ok((before_top_deg, self.velocity_m_s(before_top_deg, rpm)?))
            })
            .collect()
    }

    /// The engine speed, in rpm, at which the peak reaches a velocity in m/s: the peak is proportional to the speed.
    ///
    /// The velocity must lie between the peaks at 1 and 30 000 rpm.
    pub fn rpm_for_peak(&self, velocity_m_s: f64) -> Result<f64, EngineError> {
        let fastest = self.peak(SPEED.high)?.velocity_m_s;
        let wanted = reachable(fastest * SPEED.low / SPEED.high, fastest, SPEED_HELP).check(velocity_m_s)?;
        Ok(SPEED.high * wanted / fastest)
    }

    /// The squish clearance, in m, at which the peak at an engine speed of 1 to 30 000 rpm is the velocity wanted, in m/s.
    ///
    /// The head is moved as a whole, so the chamber volume goes with it. Searched between 0.01 and 15 mm. Geometric: a
    /// clearance that metal needs for heat, a stretching rod and worn bearings may well be larger.
    pub fn clearance_for_peak_m(&self, velocity_m_s: f64, rpm: f64) -> Result<f64, EngineError> {
        let peak_at = |clearance: f64| -> Result<f64, EngineError> {
            Ok(self.moved_to(clearance).peak(rpm)?.velocity_m_s)
        };
        // A band that closes towards the bowl touches the crown there first.
        let (near, far) = (CLEARANCES.0.max(CLEARANCES.0 + self.clearance - self.gap_at_bowl), CLEARANCES.1);
        let wanted = reachable(peak_at(far)?, peak_at(near)?, CLEARANCE_HELP).check(velocity_m_s)?;
        let clearance = search::try_turn(near, far, |at| Ok::<_, EngineError>(peak_at(at)? > wanted))?;
        Ok(clearance.middle())
    }

    /// The same head with another squish clearance. Its chamber never vanishes: it is deeper than its gap.
    fn moved_to(self, clearance: f64) -> Self {
        let nearer = self.clearance - clearance;
        Self {
            chamber: self.chamber - self.bore_area * nearer,
            gap_at_bowl: self.gap_at_bowl - nearer,
            clearance,
            ..self
        }
    }
}

/// The velocities between which an answer exists.
fn reachable(low: f64, high: f64, help: &'static str) -> Allowed {
    Allowed { field: "squish velocity", unit: "m/s", low, high, help }
}

#[cfg(test)]
mod tests {
    use super::{Squish, band_width_m};
    use crate::engine::crank::Crank;
    use crate::engine::head::{Chamber, Head, SquishBand};

    #[test]
    fn a_flat_band_gives_the_bowl_formula() {
        let (bore, bowl, clearance, bowl_volume) = (0.054_f64, 0.038_f64, 0.001, 7.0e-6);
        let area = std::f64::consts::PI / 4.0 * bore * bore;
        let chamber = Chamber::new(bore, bowl_volume + area * clearance).expect("a usual chamber");
        let band = SquishBand { clearance_m: clearance, width_m: f64::midpoint(bore, -bowl), angle_deg: 0.0 };
        let crank = Crank::new(0.0545, 0.110, 0.0).expect("a usual crank");
        let squish = Squish::new(&Head::new(chamber, band).expect("fits"), &crank).expect("squishes");
        for before_top in [1.0, 5.0, 10.6, 30.0, 90.0, 170.0] {
            let z = clearance + crank.travel_before_top_m(before_top);
            let piston = -crank.piston_speed_m_s(-before_top, 12_000.0).expect("a usual speed");
            let heywood = piston * bowl / (4.0 * z) * ((bore / bowl).powi(2) - 1.0) * bowl_volume
                / (area * z + bowl_volume);
            let found = squish.velocity_m_s(before_top, 12_000.0).expect("a usual speed");
            assert!((found - heywood).abs() < 1e-12 * heywood, "{before_top}: {found}, {heywood}");
        }
    }

    #[test]
    fn half_the_area_leaves_a_bowl_of_the_root_of_a_half() {
        let width = band_width_m(0.054, 0.5).expect("a usual band");
        assert!((0.054 - 2.0 * width - 0.054 / 2_f64.sqrt()).abs() < 1e-15);
    }
}
