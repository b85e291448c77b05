//! The internal clearance of a deep-groove ball bearing: what it has in the box, and what is left of it
//! fitted and warm.
//!
//! # The model
//!
//! A ring pressed onto a shaft grows, one pressed into a case shrinks, each by a share of its interference;
//! an inner ring warmer than the outer one grows into the clearance over the diameter of the outer raceway:
//!
//! ```text
//! left = initial - f1 I1 - f2 I2 - alpha De (Ti - To),   De = (d + 4 D)/5,   alpha = 12.5e-6 1/K
//! ```
//!
//! The two shares were *read second hand* in a bearing maker's manual (reduction factors f1 and f2, steel
//! shaft, thick iron or steel case), the heat's part and alpha in another's; the rule for De is *from
//! memory*. How large a share is: *common practice, no source*, 0.7 to 0.9 with a solid shaft; a thin
//! aluminium wall yields more and passes on less. Left out are the load and the smoothing of rough seats.
//!
//! # Ceramic balls
//!
//! *Derived here.* The clearance is the outer raceway less the inner one less two balls, `De - di - 2 Dw`.
//! With rings of steel, every part at a temperature of its own and `di = De - 2 Dw`, it changes by
//!
//! ```text
//! - alpha De (Ti - To) + 2 Dw [alpha (Ti - 20) - alpha_ball (Tb - 20)]
//! ```
//!
//! Steel balls as warm as the inner ring take the second part away and leave the heat's part of the model
//! above: so that is what it takes balls to be. Balls of silicon nitride as warm as the inner ring leave
//!
//! ```text
//! gain = 2 Dw (alpha - alpha_ball)(Ti - 20)
//! ```
//!
//! on top of it, and nothing is counted twice. It is a loss below 20 C. Left out: that the clearance itself
//! grows (below a tenth of a micrometre), and that balls may be cooler than the inner ring (half a
//! micrometre for a ball of 10 mm that is 8 K cooler). Clearance groups hold at 20 C for either balls.

use super::{DIAMETER, Interference, Material, REFERENCE_C, TEMPERATURE};
use crate::engine::{Allowed, EngineError};

/// Coefficient of expansion of bearing steel in the model, 1/K: read second hand in a maker's manual.
pub const BEARING_STEEL_PER_K: f64 = 12.5e-6;

const BORE: Allowed = Allowed {
    field: "bore of the bearing",
    unit: "m",
    low: 0.0025,
    high: 0.1,
    help: "The table kept here is for bores above 2.5 mm up to 100 mm.",
};

const SHARE: Allowed = Allowed {
    field: "share of the interference that the clearance loses",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "Common practice is 0.7 to 0.9 for a ring on a solid steel shaft.",
};

const WARMER: Allowed = Allowed {
    field: "temperature of the inner ring above the outer ring",
    unit: "K",
    low: -150.0,
    high: 150.0,
    help: "Give the difference of the two rings; it is 5 to 20 in a bearing that runs well.",
};

const TIGHT: Allowed = Allowed {
    field: "interference of the ring",
    unit: "m",
    low: -0.001,
    high: 0.001,
    help: "Give it in metres on the diameter, a clearance as negative.",
};

const CLEARANCE: Allowed = Allowed {
    field: "internal clearance before fitting",
    unit: "m",
    low: -0.0005,
    high: 0.0005,
    help: "Give it on the diameter and check its unit; a few hundredths of a millimetre at most are usual.",
};

const BALL: Allowed = Allowed {
    field: "diameter of the balls",
    unit: "m",
    low: 0.0005,
    high: 0.05,
    help: "Give the diameter of one ball; in a bearing of 25 x 52 mm it is near 8 mm.",
};

/// The ball's share of the section, which is the outside less the bore.
const BALL_OF_SECTION: f64 = 0.3;

/// The usual diameter of the balls, m, of a deep-groove ball bearing by its bore and outside in m: 0.3 of
/// the outside less the bore, up to a tenth either way. It is the same rule as `De = (d + 4 D)/5`. *From
/// memory*; *read second hand* on a page of a workshop as 0.265 to 0.345.
pub fn usual_ball_m(bore_m: f64, outside_m: f64) -> Result<f64, EngineError> {
    ordered(DIAMETER.check(bore_m)?, DIAMETER.check(outside_m)?)?;
    BALL.check(BALL_OF_SECTION * (outside_m - bore_m))
}

/// By how much more clearance, m on the diameter, a bearing of steel rings has with balls of silicon nitride
/// than with steel ones, when its inner ring has a temperature of -200 to 400 C; ball in m. See the model
/// above.
pub fn gain_of_ceramic_balls_m(ball_m: f64, inner_ring_c: f64) -> Result<f64, EngineError> {
    let less_growth_per_k = BEARING_STEEL_PER_K - Material::SiliconNitride.expansion_per_k();
    let warmer_k = TEMPERATURE.check(inner_ring_c)? - REFERENCE_C;
    Ok(2.0 * BALL.check(ball_m)? * less_growth_per_k * warmer_k)
}

/// A bore is below its outside.
fn ordered(bore_m: f64, outside_m: f64) -> Result<(), EngineError> {
    if bore_m < outside_m {
        return Ok(());
    }
    Err(EngineError::Contradiction {
        field: "bore of the bearing",
        found: bore_m,
        other: "outside of the bearing",
        limit: outside_m,
        unit: "m",
        help: "Give the bore first, then the outside.",
    })
}

/// A group of internal clearance, ISO 5753-1: C2 is tighter than normal, C3 and C4 are looser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClearanceGroup {
    /// Less than normal.
    C2,
    /// Normal, not marked on the bearing.
    CN,
    /// More than normal.
    C3,
    /// More than C3.
    C4,
}

/// The radial internal clearance of a bearing, m on the diameter; negative is a preload.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InternalClearance {
    /// The least it may be.
    pub least_m: f64,
    /// The middle.
    pub mean_m: f64,
    /// The most it may be.
    pub most_m: f64,
}

impl InternalClearance {
    fn between(least_m: f64, most_m: f64) -> Self {
        Self { least_m, mean_m: f64::midpoint(least_m, most_m), most_m }
    }

    /// One that was measured on the bearing, in m, -0.5 to 0.5 mm.
    pub fn measured(clearance_m: f64) -> Result<Self, EngineError> {
        let clearance = CLEARANCE.check(clearance_m)?;
        Ok(Self::between(clearance, clearance))
    }

    /// What a group gives a deep-groove ball bearing with a cylindrical bore above 2.5 mm up to 100 mm, in m.
    ///
    /// ISO 5753-1, *read second hand* in the tables of four makers. Where their print differs (C2 up to 18
    /// mm, C3 above 18 mm) the value that most of them have is kept, which is also the one *from memory*.
    pub fn of_group(group: ClearanceGroup, bore_m: f64) -> Result<Self, EngineError> {
        let bore_mm = 1e3 * BORE.check(bore_m)?;
        // Millimetres written in metres may be off in the last digit; 30 mm must stay in the step up to 30
        // mm.
        let row = GROUPS.iter().find(|row| bore_mm > 2.5 + 1e-6 && bore_mm <= row.0 + 1e-6);
        let Some(&(_, c2, cn, c3, c4)) = row else {
            return Err(EngineError::OutOfRange {
                field: BORE.field,
                found: bore_m,
                unit: BORE.unit,
                low: BORE.low,
                high: BORE.high,
                help: "2.5 mm itself belongs to the smaller bearings, which are not kept here.",
            });
        };
        let (least, most) = match group {
            ClearanceGroup::C2 => c2,
            ClearanceGroup::CN => cn,
            ClearanceGroup::C3 => c3,
            ClearanceGroup::C4 => c4,
        };
        Ok(Self::between(1e-6 * least, 1e-6 * most))
    }

    /// The same with a gain, or a loss where it is negative, of up to 0.5 mm, given in m.
    pub fn with_gain(&self, gain_m: f64) -> Result<Self, EngineError> {
        let gain = CLEARANCE.check(gain_m)?;
        Ok(Self { least_m: self.least_m + gain, mean_m: self.mean_m + gain, most_m: self.most_m + gain })
    }

    /// What is left of it when the bearing is fitted and warm. See the model above; a ring that sits loose
    /// loses nothing.
    pub fn left_when_fitted(&self, fitted: &FittedBearing) -> Result<Self, EngineError> {
        let (inner, outer) = (fitted.on_shaft.loss(fitted.bore_m)?, fitted.in_case.loss(fitted.outside_m)?);
        ordered(fitted.bore_m, fitted.outside_m)?;
        let raceway = (fitted.bore_m + 4.0 * fitted.outside_m) / 5.0;
        let heat = BEARING_STEEL_PER_K * raceway * WARMER.check(fitted.inner_warmer_k)?;
        for initial in [self.least_m, self.mean_m, self.most_m] {
            CLEARANCE.check(initial)?;
        }
        Ok(Self {
            least_m: self.least_m - inner.2 - outer.2 - heat,
            mean_m: self.mean_m - inner.1 - outer.1 - heat,
            most_m: self.most_m - inner.0 - outer.0 - heat,
        })
    }
}

/// How one ring sits, and what that costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// Its interference as it runs, from both parts at their temperatures; up to 1 mm either way.
    pub interference: Interference,
    /// The share of the interference by which the clearance shrinks, 0 to 1.
    pub share: f64,
}

impl Ring {
    /// What the clearance loses: least, mean, most.
    fn loss(&self, diameter_m: f64) -> Result<(f64, f64, f64), EngineError> {
        DIAMETER.check(diameter_m)?;
        let share = SHARE.check(self.share)?;
        let of = |interference: f64| Ok(share * TIGHT.check(interference)?.max(0.0));
        Ok((of(self.interference.least_m)?, of(self.interference.mean_m)?, of(self.interference.most_m)?))
    }
}

/// A bearing in its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedBearing {
    /// Bore, m.
    pub bore_m: f64,
    /// Outside diameter, m.
    pub outside_m: f64,
    /// The inner ring on the shaft.
    pub on_shaft: Ring,
    /// The outer ring in the case, or in its sleeve.
    pub in_case: Ring,
    /// By how much the inner ring is warmer than the outer one, K, -150 to 150.
    pub inner_warmer_k: f64,
}

type Row = (f64, (f64, f64), (f64, f64), (f64, f64), (f64, f64));

/// Bores up to, mm; then C2, CN, C3 and C4, least and most, um.
#[rustfmt::skip]
const GROUPS: [Row; 9] = [
    (10.0, (0.0, 7.0), (2.0, 13.0), (8.0, 23.0), (14.0, 29.0)),
    (18.0, (0.0, 9.0), (3.0, 18.0), (11.0, 25.0), (18.0, 33.0)),
    (24.0, (0.0, 10.0), (5.0, 20.0), (13.0, 28.0), (20.0, 36.0)),
    (30.0, (1.0, 11.0), (5.0, 20.0), (13.0, 28.0), (23.0, 41.0)),
    (40.0, (1.0, 11.0), (6.0, 20.0), (15.0, 33.0), (28.0, 46.0)),
    (50.0, (1.0, 11.0), (6.0, 23.0), (18.0, 36.0), (30.0, 51.0)),
    (65.0, (1.0, 15.0), (8.0, 28.0), (23.0, 43.0), (38.0, 61.0)),
    (80.0, (1.0, 15.0), (10.0, 30.0), (25.0, 51.0), (46.0, 71.0)),
    (100.0, (1.0, 18.0), (12.0, 36.0), (30.0, 58.0), (53.0, 84.0)),
];
