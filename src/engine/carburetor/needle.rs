//! The needle and the ring it leaves open in the needle jet.
//!
//! Positions on a needle are measured from its top clip groove down toward the tip. Lifting the needle, by the slide, by a
//! lower clip groove or by a shim, brings a thinner section to the mouth of the needle jet, so all three are
//! richer. Clip grooves count from the top: 1 is the leanest (common practice, as workshop manuals describe it).

use super::jets::circle_m2;
use crate::engine::{Allowed, EngineError};

const POSITION: Allowed = Allowed {
    field: "position on the needle",
    unit: "m",
    low: 0.0,
    high: 0.2,
    help: "Measure from the top clip groove down toward the tip, in metres.",
};

const NEEDLE_DIAMETER: Allowed = Allowed {
    field: "needle diameter",
    unit: "m",
    low: 1e-4,
    high: 0.02,
    help: "Give the diameter in metres; a needle is 1 to 4 mm thick.",
};

const NEEDLE_JET_BORE: Allowed = Allowed {
    field: "needle jet bore",
    unit: "m",
    low: 1e-4,
    high: 0.02,
    help: "Give the bore in metres; a needle jet is 2 to 5 mm wide.",
};

const GROOVES: Allowed = Allowed {
    field: "number of clip grooves",
    unit: "",
    low: 1.0,
    high: 20.0,
    help: "Count the grooves at the top of the needle.",
};

const GROOVE_SPACING: Allowed = Allowed {
    field: "spacing of the clip grooves",
    unit: "m",
    low: 1e-4,
    high: 0.01,
    help: "Measure from one groove to the next, in metres; about 1 mm is usual.",
};

const TAPER_ANGLE: Allowed = Allowed {
    field: "taper angle",
    unit: "degrees",
    low: 0.01,
    high: 30.0,
    help: "Give the whole angle between the two sides of the needle; it is 1 to 5 degrees.",
};

const LIFT: Allowed = Allowed {
    field: "slide lift",
    unit: "m",
    low: 0.0,
    high: 0.1,
    help: "Give how far the slide is raised from closed, in metres.",
};

const SHIM: Allowed = Allowed {
    field: "needle shim",
    unit: "m",
    low: 0.0,
    high: 0.01,
    help: "Give the thickness of the washers under the clip, in metres.",
};

/// A needle's diameter at one position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeedlePoint {
    /// Distance below the top clip groove, m, 0 to 0.2.
    pub position_m: f64,
    /// Diameter there, m.
    pub diameter_m: f64,
}

/// A needle as it was measured: diameters down its length, and its clip grooves.
#[derive(Debug, Clone, PartialEq)]
pub struct Needle {
    top: NeedlePoint,
    below: Vec<NeedlePoint>,
    groove_spacing_m: f64,
    grooves: u8,
}

impl Needle {
    /// A needle from at least two measured points, going down. The spacing is not looked at when there is one groove.
    pub fn new(points: &[NeedlePoint], groove_spacing_m: f64, grooves: u8) -> Result<Self, EngineError> {
        let [top, below @ ..] = points else {
            return Err(too_few_points(0));
        };
        if below.is_empty() {
            return Err(too_few_points(1));
        }
        let mut before = POSITION.check(top.position_m)?;
        NEEDLE_DIAMETER.check(top.diameter_m)?;
        for (index, point) in below.iter().enumerate() {
            let position = POSITION.check(point.position_m)?;
            NEEDLE_DIAMETER.check(point.diameter_m)?;
            if position <= before {
                return Err(EngineError::NotAscending {
                    field: "needle profile",
                    entry: index + 2,
                    found: position,
                    before,
                    unit: "m",
                    help: "List the positions from the top groove down, each once.",
                });
            }
            before = position;
        }
        GROOVES.check(f64::from(grooves))?;
        if grooves > 1 {
            GROOVE_SPACING.check(groove_spacing_m)?;
        }
        Ok(Self { top: *top, below: below.to_vec(), groove_spacing_m, grooves })
    }

    /// The points of a needle with one straight part and one taper, for [`Needle::new`].
    ///
    /// `taper_start_m` and `tip_m` are positions below the top groove; the angle is the whole angle between the two sides.
    pub fn straight_and_taper(
        straight_diameter_m: f64,
        taper_start_m: f64,
        taper_angle_degrees: f64,
        tip_m: f64,
    ) -> Result<Vec<NeedlePoint>, EngineError> {
        let straight = NEEDLE_DIAMETER.check(straight_diameter_m)?;
        let start = POSITION.check(taper_start_m)?;
        let tip = POSITION.check(tip_m)?;
        let half_angle = (TAPER_ANGLE.check(taper_angle_degrees)? / 2.0).to_radians();
        let tip_diameter = straight - 2.0 * (tip - start) * half_angle.tan();
        Ok([(0.0, straight), (start, straight), (tip, tip_diameter)]
            .into_iter()
            // A taper that begins at the groove itself needs no straight part above it.
            .skip(usize::from(start <= 0.0))
            .map(|(position_m, diameter_m)| NeedlePoint { position_m, diameter_m })
            .collect())
    }

    /// Number of clip grooves.
    pub fn grooves(&self) -> u8 {
        self.grooves
    }

    /// Distance from groove to groove, m.
    pub fn groove_spacing_m(&self) -> f64 {
        self.groove_spacing_m
    }

    /// Diameter at a position below the top groove, m: straight between the points, held at the first and the last.
    pub fn diameter_m(&self, position_m: f64) -> f64 {
        let mut upper = self.top;
        for &lower in &self.below {
            if position_m < lower.position_m {
                let along = (position_m - upper.position_m) / (lower.position_m - upper.position_m);
                return upper.diameter_m + along.max(0.0) * (lower.diameter_m - upper.diameter_m);
            }
            upper = lower;
        }
        upper.diameter_m
    }
}

fn too_few_points(found: usize) -> EngineError {
    EngineError::TooFew {
        field: "needle profile",
        found,
        needed: 2,
        help: "Measure the needle at two positions or more.",
    }
}

/// Where the needle hangs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeedleSetting {
    /// How far the slide is raised from closed, m.
    pub lift_m: f64,
    /// Clip groove counted from the top, 1 the leanest.
    pub clip: u8,
    /// Thickness of shims under the clip, m, 0 for none.
    pub shim_m: f64,
}

/// A needle in its needle jet.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedleInJet {
    needle: Needle,
    bore_m: f64,
    seat_to_jet_m: f64,
}

impl NeedleInJet {
    /// A needle in a needle jet of `bore_m`. `seat_to_jet_m` is the distance from the clip's seat in the closed slide down to the
    /// mouth of the needle jet, m.
    pub fn new(needle: Needle, bore_m: f64, seat_to_jet_m: f64) -> Result<Self, EngineError> {
        Ok(Self {
            needle,
            bore_m: NEEDLE_JET_BORE.check(bore_m)?,
            seat_to_jet_m: POSITION.check(seat_to_jet_m)?,
        })
    }

    /// The needle.
    pub fn needle(&self) -> &Needle {
        &self.needle
    }

    /// The position on the needle, m below its top groove, that stands at the mouth of the needle jet.
    pub fn position_at_mouth_m(&self, setting: NeedleSetting) -> Result<f64, EngineError> {
        let clip = Allowed {
            field: "clip groove",
            unit: "",
            low: 1.0,
            high: f64::from(self.needle.grooves),
            help: "Count the grooves from the top, 1 the leanest.",
        }
        .check(f64::from(setting.clip))?;
        // The product stays out for a single groove, whose spacing was never looked at.
        let lowered_clip = if setting.clip > 1 { (clip - 1.0) * self.needle.groove_spacing_m } else { 0.0 };
        Ok(self.seat_to_jet_m + LIFT.check(setting.lift_m)? + lowered_clip + SHIM.check(setting.shim_m)?)
    }

    /// Area of the ring between needle and needle jet, m2.
    pub fn annulus_area_m2(&self, setting: NeedleSetting) -> Result<f64, EngineError> {
        let position = self.position_at_mouth_m(setting)?;
        annulus_area_m2(self.bore_m, self.needle.diameter_m(position))
    }
}

/// Area of the ring between a needle jet and the needle in it, m2.
pub fn annulus_area_m2(bore_m: f64, needle_diameter_m: f64) -> Result<f64, EngineError> {
    let bore = NEEDLE_JET_BORE.check(bore_m)?;
    let needle = NEEDLE_DIAMETER.check(needle_diameter_m)?;
    if needle < bore {
        Ok(circle_m2(bore) - circle_m2(needle))
    } else {
        Err(EngineError::NeedleFillsJet { needle_m: needle, bore_m: bore })
    }
}
