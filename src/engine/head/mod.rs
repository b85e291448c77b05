//! The head: chamber, compression ratios, the squish gap, and what a cut or another gasket does to them.
//!
//! Compression begins only when the exhaust closes, so two ratios stand side by side: over the full stroke, and over what is
//! trapped. What the chamber volume includes (plug hole, piston dome, gasket) is the tuner's word; here it is all that
//! is left above the piston at top dead centre.
//!
//! A *cut* is how much nearer head and crown come at top dead centre: positive for metal taken off or a thinner gasket, negative for a
//! thicker gasket. The chamber then loses bore area times cut. That is exact where the joint is as wide as the bore; a gasket
//! with a larger hole changes the volume by its own area.
//!
//! Sources: definitions of the ratios as in an engine simulation after Blair, Design and Simulation of Two-Stroke
//! Engines (1996), chapter 1 (read second-hand); the rest is geometry.

pub mod squish;

use std::f64::consts::PI;

use super::{Allowed, EngineError, named};

pub(crate) const BORE: Allowed = Allowed {
    field: named::BORE,
    unit: "m",
    low: 0.01,
    high: 0.2,
    help: "Give the diameter of the cylinder.",
};

const STROKE: Allowed = Allowed {
    field: named::STROKE,
    unit: "m",
    low: 0.01,
    high: 0.2,
    help: "Give the whole travel of the piston.",
};

const CHAMBER: Allowed = Allowed {
    field: named::CHAMBER_VOLUME,
    unit: "m3",
    low: 3e-7,
    high: 1e-3,
    help: "Give all that is left above the piston at top dead centre; 10 cm3 is 1e-5 m3.",
};

const CLOSING_DEPTH: Allowed = Allowed {
    field: "depth of the exhaust's upper edge",
    unit: "m",
    low: 1e-4,
    high: 0.2,
    help: "Give it from the crown at top dead centre down to the upper edge of the exhaust.",
};

const SWEPT: Allowed = Allowed {
    field: "swept volume",
    unit: "m3",
    low: 7e-7,
    high: 7e-3,
    help: "Give one cylinder's bore area times stroke; 125 cm3 is 1.25e-4 m3.",
};

const CASE: Allowed = Allowed {
    field: named::CRANKCASE_VOLUME,
    unit: "m3",
    low: 1e-6,
    high: 1e-1,
    help: "Give the volume below the piston at bottom dead centre, with the transfers; 400 cm3 is 4e-4 m3.",
};

const CLEARANCE: Allowed = Allowed {
    field: named::SQUISH_CLEARANCE,
    unit: "m",
    low: 1e-5,
    high: 0.015,
    help: "Give the gap between crown and band at the edge of the bore, at top dead centre; 1 mm is 0.001 m.",
};

pub(super) const BAND_WIDTH: Allowed = Allowed {
    field: named::BAND_WIDTH,
    unit: "m",
    low: 1e-4,
    high: 0.1,
    help: "Give the band's width across the radius, from the edge of the bore to the bowl; without a band there is no squish.",
};

const BAND_ANGLE: Allowed = Allowed {
    field: named::BAND_ANGLE,
    unit: "degrees",
    low: -10.0,
    high: 45.0,
    help: "Give the angle between band and crown, 0 where they are parallel, positive where the gap opens towards the bowl.",
};

const CUT: Allowed = Allowed {
    field: "cut",
    unit: "m",
    low: -0.02,
    high: 0.02,
    help: "Give how much nearer the head comes, negative for a thicker gasket; 0.2 mm is 0.0002 m.",
};

const RATIO: Allowed = Allowed {
    field: "compression ratio",
    unit: "",
    low: 1.1,
    high: 60.0,
    help: "Give the wanted ratio to one, such as 7.2.",
};

/// Area of the bore, m2, from the bore, 0.01 to 0.2 m.
pub fn bore_area_m2(bore_m: f64) -> Result<f64, EngineError> {
    Ok(circle_m2(BORE.check(bore_m)?))
}

/// Volume one piston sweeps, bore area times stroke, in m3; bore and stroke 0.01 to 0.2 m.
pub fn swept_volume_m3(bore_m: f64, stroke_m: f64) -> Result<f64, EngineError> {
    Ok(bore_area_m2(bore_m)? * STROKE.check(stroke_m)?)
}

/// Crankcase compression ratio, (Vcc + Vs)/Vcc, a pure number above 1.
///
/// Vs is the swept volume, 7e-7 to 7e-3 m3. Vcc is the case at its *smallest*, with the piston at bottom dead centre, 1e-6 to
/// 0.1 m3, with everything that is open to it below the piston (transfers, boost ports, the inlet as far as the reed).
pub fn crankcase_ratio(swept_m3: f64, case_at_bottom_m3: f64) -> Result<f64, EngineError> {
    let case = CASE.check(case_at_bottom_m3)?;
    Ok((case + SWEPT.check(swept_m3)?) / case)
}

/// The cut that brings the squish clearance to the one wanted, m; negative asks for a thicker gasket. Both 1e-5 to 0.015 m.
pub fn cut_for_clearance_m(clearance_m: f64, wanted_m: f64) -> Result<f64, EngineError> {
    Ok(CLEARANCE.check(clearance_m)? - CLEARANCE.check(wanted_m)?)
}

/// Where the metal comes off or the gasket changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutAt {
    /// The joint of head and cylinder: the port edges stay where they are.
    Top,
    /// The cylinder's foot or the base gasket: the whole cylinder comes down with its ports.
    Base,
}

impl CutAt {
    /// Depth of a port edge below the crown at top dead centre, in m, after a cut of -0.02 to 0.02 m; depth 1e-4 to 0.2 m.
    ///
    /// Crown and crank stay where they are. A cylinder cut at the base comes down by the cut, so each edge lies *deeper*
    /// below the crown: depth + cut, and the ports open later and close earlier. A thicker base gasket lifts them.
    pub fn edge_depth_m(self, depth_m: f64, cut_m: f64) -> Result<f64, EngineError> {
        let (depth, cut) = (CLOSING_DEPTH.check(depth_m)?, CUT.check(cut_m)?);
        match self {
            Self::Top => Ok(depth),
            Self::Base => CLOSING_DEPTH.check(depth + cut),
        }
    }
}

/// The chamber over a bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chamber {
    bore: f64,
    volume: f64,
}

impl Chamber {
    /// A chamber from the bore, 0.01 to 0.2 m, and all the volume above the piston at top dead centre, 3e-7 to 1e-3 m3.
    pub fn new(bore_m: f64, volume_m3: f64) -> Result<Self, EngineError> {
        Ok(Self { bore: BORE.check(bore_m)?, volume: CHAMBER.check(volume_m3)? })
    }

    /// Bore, m.
    pub fn bore_m(&self) -> f64 {
        self.bore
    }

    /// Area of the bore, m2.
    pub fn bore_area_m2(&self) -> f64 {
        circle_m2(self.bore)
    }

    /// Chamber volume at top dead centre, m3.
    pub fn volume_m3(&self) -> f64 {
        self.volume
    }

    /// Compression ratio over the full stroke, (Vs + Vc)/Vc, a pure number above 1; stroke 0.01 to 0.2 m.
    pub fn full_ratio(&self, stroke_m: f64) -> Result<f64, EngineError> {
        Ok(1.0 + self.bore_area_m2() * STROKE.check(stroke_m)? / self.volume)
    }

    /// Trapped compression ratio, (Vt + Vc)/Vc, a pure number above 1.
    ///
    /// Vt is what the piston sweeps after the exhaust has closed: bore area times the depth of the exhaust's upper edge below the
    /// crown at top dead centre, 1e-4 to 0.2 m.
    pub fn trapped_ratio(&self, closing_depth_m: f64) -> Result<f64, EngineError> {
        Ok(1.0 + self.bore_area_m2() * CLOSING_DEPTH.check(closing_depth_m)? / self.volume)
    }

    /// The chamber after a cut of -0.02 to 0.02 m, at the top or at the base: it loses bore area times cut.
    pub fn lowered(&self, cut_m: f64) -> Result<Self, EngineError> {
        let taken = self.bore_area_m2() * CUT.check(cut_m)?;
        if taken >= self.volume {
            return Err(EngineError::Contradiction {
                field: "volume taken by the cut",
                found: taken,
                other: named::CHAMBER_VOLUME,
                limit: self.volume,
                unit: "m3",
                help: "Nothing would be left of the chamber. Check the cut, the chamber volume and their units.",
            });
        }
        Self::new(self.bore, self.volume - taken)
    }

    /// The cut, in m, after which the full-stroke ratio is the one wanted (1.1 to 60); negative asks for a thicker gasket.
    ///
    /// From Vc' = Vs/(ratio - 1). Whether the piston still clears the head is for [`Head::lowered`] to say.
    pub fn cut_for_full_ratio_m(&self, wanted: f64, stroke_m: f64) -> Result<f64, EngineError> {
        let swept = self.bore_area_m2() * STROKE.check(stroke_m)?;
        Ok(self.cut_to_volume_m(swept / (RATIO.check(wanted)? - 1.0)))
    }

    /// The cut, in m, after which the trapped ratio is the one wanted (1.1 to 60); negative asks for a thicker gasket.
    ///
    /// `closing_depth_m` is the depth of the exhaust's upper edge as it is now, before the cut. At the top that depth stays, and
    /// Vc' = Vt/(ratio - 1). At the base the edge goes down with the cylinder: the trapped stroke gains what the chamber loses,
    /// Vt + Vc stays, and Vc' = (Vt + Vc)/ratio, so that less has to come off for the same ratio.
    pub fn cut_for_trapped_ratio_m(
        &self,
        wanted: f64,
        closing_depth_m: f64,
        place: CutAt,
    ) -> Result<f64, EngineError> {
        let wanted = RATIO.check(wanted)?;
        let trapped = self.bore_area_m2() * CLOSING_DEPTH.check(closing_depth_m)?;
        Ok(self.cut_to_volume_m(match place {
            CutAt::Top => trapped / (wanted - 1.0),
            CutAt::Base => (trapped + self.volume) / wanted,
        }))
    }

    fn cut_to_volume_m(&self, volume: f64) -> f64 {
        (self.volume - volume) / self.bore_area_m2()
    }
}

/// The squish band as it is measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SquishBand {
    /// Squish clearance: gap between crown and band at the edge of the bore, at top dead centre, 1e-5 to 0.015 m.
    pub clearance_m: f64,
    /// Width across the radius, from the edge of the bore to the bowl, 1e-4 m to less than half the bore.
    pub width_m: f64,
    /// Angle between band and crown, -10 to 45 degrees; positive where the gap opens towards the bowl.
    pub angle_deg: f64,
}

/// A head with a squish band around a bowl, concentric with the bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    chamber: Chamber,
    band: SquishBand,
}

impl Head {
    /// A head whose measures can all be true together.
    ///
    /// Refused are a band as wide as half the bore, a band that meets the crown before it reaches the bowl, and a chamber that
    /// is smaller than what lies between band and crown alone.
    pub fn new(chamber: Chamber, band: SquishBand) -> Result<Self, EngineError> {
        let clearance = CLEARANCE.check(band.clearance_m)?;
        let width = BAND_WIDTH.check(band.width_m)?;
        BAND_ANGLE.check(band.angle_deg)?;
        if width >= chamber.bore / 2.0 {
            return Err(EngineError::Contradiction {
                field: named::BAND_WIDTH,
                found: width,
                other: "half of the bore",
                limit: chamber.bore / 2.0,
                unit: "m",
                help: "There must be a bowl inside the band. Give the width on one side, not the whole band's, and check the bore.",
            });
        }
        let head = Self { chamber, band };
        if head.gap_at_bowl_m(0.0) <= 0.0 {
            return Err(EngineError::Contradiction {
                field: "fall of the band towards the bowl",
                found: -head.rise_m(),
                other: named::SQUISH_CLEARANCE,
                limit: clearance,
                unit: "m",
                help: "Band and crown would touch. A band angle is positive where the gap opens towards the bowl.",
            });
        }
        let gap = head.gap_volume_m3(0.0);
        if gap > chamber.volume {
            return Err(EngineError::Contradiction {
                field: "volume in the squish gap",
                found: gap,
                other: named::CHAMBER_VOLUME,
                limit: chamber.volume,
                unit: "m3",
                help: "The chamber volume includes the squish gap. Check clearance, band width, band angle and what the volume was measured with.",
            });
        }
        Ok(head)
    }

    /// The chamber over its bore.
    pub fn chamber(&self) -> Chamber {
        self.chamber
    }

    /// The band's measures.
    pub fn band(&self) -> SquishBand {
        self.band
    }

    /// Diameter of the bowl where the band ends, m: the bore less twice the band.
    pub fn bowl_diameter_m(&self) -> f64 {
        self.chamber.bore - 2.0 * self.band.width_m
    }

    /// Area of the band as the piston sees it, m2.
    pub fn band_area_m2(&self) -> f64 {
        // As a ring: the difference of two circles would lose digits on a narrow band.
        PI * self.band.width_m * (self.chamber.bore - self.band.width_m)
    }

    /// Gap between crown and band at the bowl's edge, m, with the crown `depth_m` below top dead centre.
    pub fn gap_at_bowl_m(&self, depth_m: f64) -> f64 {
        self.band.clearance_m + depth_m + self.rise_m()
    }

    /// Volume between crown and band, m3, with the crown `depth_m` below top dead centre.
    ///
    /// For a band of width w on a bore of radius R whose gap grows from z at the edge of the bore with tan a:
    /// V = A z + pi tan(a) w^2 (R - 2 w/3), A the band's area; the integral of the gap over the ring.
    pub fn gap_volume_m3(&self, depth_m: f64) -> f64 {
        let (radius, width) = (self.chamber.bore / 2.0, self.band.width_m);
        let wedge = PI * self.rise_m() * width * (radius - 2.0 * width / 3.0);
        self.band_area_m2() * (self.band.clearance_m + depth_m) + wedge
    }

    /// How much further the band is from the crown at the bowl than at the edge of the bore, m; negative where the gap closes.
    fn rise_m(&self) -> f64 {
        self.band.width_m * self.band.angle_deg.to_radians().tan()
    }

    /// The head after a cut of -0.02 to 0.02 m, at the top or at the base: clearance and chamber together.
    ///
    /// Refused where nothing would be left of the clearance.
    pub fn lowered(&self, cut_m: f64) -> Result<Self, EngineError> {
        let cut = CUT.check(cut_m)?;
        if cut >= self.band.clearance_m {
            return Err(EngineError::Contradiction {
                field: "cut",
                found: cut,
                other: named::SQUISH_CLEARANCE,
                limit: self.band.clearance_m,
                unit: "m",
                help: "The piston would hit the head. Cut less, or fit a thicker gasket with it.",
            });
        }
        let band = SquishBand { clearance_m: self.band.clearance_m - cut, ..self.band };
        Self::new(self.chamber.lowered(cut)?, band)
    }
}

fn circle_m2(diameter: f64) -> f64 {
    PI / 4.0 * diameter * diameter
}

#[cfg(test)]
mod tests {
    use super::{Chamber, CutAt, Head, SquishBand};

    fn chamber() -> Chamber {
        Chamber::new(0.054, 9.5e-6).expect("a usual chamber")
    }

    #[test]
    fn the_gap_of_a_flat_band_is_area_times_clearance() {
        let band = SquishBand { clearance_m: 0.001, width_m: 0.008, angle_deg: 0.0 };
        let head = Head::new(chamber(), band).expect("a usual head");
        let ring = std::f64::consts::PI * (0.027_f64.powi(2) - 0.019_f64.powi(2));
        assert!((head.band_area_m2() - ring).abs() < 1e-15);
        assert!((head.gap_volume_m3(0.002) - 0.003 * ring).abs() < 1e-15);
    }

    #[test]
    fn a_base_cut_puts_the_exhaust_edge_deeper_below_the_crown() {
        let edge = |place: CutAt| place.edge_depth_m(0.027, 0.0005).expect("a usual cut");
        assert!((edge(CutAt::Top) - 0.027).abs() < 1e-15);
        assert!((edge(CutAt::Base) - 0.0275).abs() < 1e-15);
    }
}
