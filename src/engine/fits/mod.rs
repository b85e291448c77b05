//! Fits: how tight or loose two parts sit, cold and hot, and how warm a case must be for a bearing to drop
//! in.
//!
//! - [`zone`]: tolerance zones of ISO 286-1:2010, H7 or k5;
//! - [`bearing_size`]: how large a bearing's rings may be, class Normal of ISO 492;
//! - [`bearing`]: what is left of a ball bearing's internal clearance when it is fitted and runs;
//! - [`warm`]: the temperature at which a fit is just nought, and at which a bearing drops into a sleeve.
//!
//! Diameters are those at 20 C, the reference temperature of ISO 1:2022. A part grows in all directions
//! alike, by its coefficient of expansion times the difference from 20 C:
//!
//! ```text
//! d(T) = d20 [1 + alpha (T - 20)]
//! ```
//!
//! *Free sizes*: what a part would measure if the other were not there. How a wall yields under the press
//! is left out, except where a share is asked for. An interference is positive where the parts are in each
//! other's way; a negative one is a clearance.

pub mod bearing;
pub mod bearing_size;
pub mod warm;
pub mod zone;

use super::{Allowed, EngineError};
use zone::{HoleOrShaft, ToleranceZone, ZoneError};

/// Reference temperature of every length, ISO 1:2022, in C.
pub const REFERENCE_C: f64 = 20.0;

const DIAMETER: Allowed = Allowed {
    field: "diameter of the seat",
    unit: "m",
    low: 0.001,
    high: 1.0,
    help: "Give the diameter at 20 C in metres; a bearing seat of 52 mm is 0.052.",
};

const LENGTH: Allowed =
    Allowed { field: "length", unit: "m", low: 1e-6, high: 10.0, help: "Give what was measured, in metres." };

const TEMPERATURE: Allowed = Allowed {
    field: "temperature of the part",
    unit: "C",
    low: -200.0,
    high: 400.0,
    help: "Give degrees Celsius; a deep freezer has -18, a hot plate 120.",
};

const HEATED: Allowed = Allowed {
    field: "temperature at which the part drops in",
    unit: "C",
    low: -200.0,
    high: 400.0,
    help: "Heat alone does not do it: cool the inner part as well, ask for less slip, or check both diameters.",
};

const EXPANSION: Allowed = Allowed {
    field: "coefficient of expansion",
    unit: "1/K",
    low: 1e-7,
    high: 1e-4,
    help: "Aluminium has 0.000023, steel 0.0000115.",
};

const SLIP: Allowed = Allowed {
    field: "slip",
    unit: "m",
    low: 0.0,
    high: 0.001,
    help: "Give the clearance wanted while the part goes in; a few hundredths of a millimetre are enough.",
};

const MISMATCH: Allowed = Allowed {
    field: "interference over the diameter",
    unit: "",
    low: -0.05,
    high: 0.05,
    help: "The two parts do not belong together; check both diameters and their units.",
};

const PASSED_ON: Allowed = Allowed {
    field: "share of the press that closes the sleeve's bore",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "A thin sleeve passes on nearly all, 1; a thick one less.",
};

/// What a part is made of, for how it grows with heat: a round handbook value each, good to about a
/// twentieth; castings and forgings of one metal differ by more than that.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Material {
    /// Cast and wrought aluminium alloys: cases, cylinders, heads.
    Aluminium,
    /// Carbon, alloy and bearing steels: races, cranks, pins, sleeves.
    Steel,
    /// Grey cast iron: liners, old cylinders.
    CastIron,
    /// Silicon nitride: ceramic balls.
    SiliconNitride,
    /// Magnesium alloys: light cases and covers.
    Magnesium,
}

impl Material {
    /// All of them.
    pub const ALL: [Self; 5] =
        [Self::Aluminium, Self::Steel, Self::CastIron, Self::SiliconNitride, Self::Magnesium];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Aluminium => "aluminium",
            Self::Steel => "steel",
            Self::CastIron => "cast iron",
            Self::SiliconNitride => "silicon nitride",
            Self::Magnesium => "magnesium",
        }
    }

    /// Coefficient of linear expansion near 20 C, 1/K.
    pub const fn expansion_per_k(self) -> f64 {
        match self {
            Self::Aluminium => 23e-6,
            Self::Steel => 11.5e-6,
            Self::CastIron => 10.5e-6,
            Self::SiliconNitride => 3.0e-6,
            Self::Magnesium => 26e-6,
        }
    }

    /// Where the coefficient is from.
    pub const fn source(self) -> &'static str {
        match self {
            Self::Aluminium => {
                "handbook value from memory; read second hand: 23.1e-6 for the metal, 21.5e-6 for casting alloy 356, 23.6e-6 for 6061"
            }
            Self::Steel => {
                "handbook value from memory; read second hand: 11.0e-6 to 13.0e-6 by composition, 12.5e-6 for bearing steel"
            }
            Self::CastIron => "handbook value from memory; read second hand: 10.8e-6 for grey iron",
            Self::SiliconNitride => "handbook value from memory; read second hand: 2.2e-6 to 3.3e-6",
            Self::Magnesium => "read second hand in a table for the alloys AZ31B and AZ91D",
        }
    }
}

fn growth(expansion_per_k: f64, temperature_c: f64) -> Result<f64, EngineError> {
    Ok(1.0 + EXPANSION.check(expansion_per_k)? * (TEMPERATURE.check(temperature_c)? - REFERENCE_C))
}

/// What a length, in m, measured at one temperature would be at another, both -200 to 400 C; coefficient in
/// 1/K.
pub fn length_at_m(
    length_m: f64,
    measured_at_c: f64,
    wanted_at_c: f64,
    expansion_per_k: f64,
) -> Result<f64, EngineError> {
    Ok(LENGTH.check(length_m)? / growth(expansion_per_k, measured_at_c)?
        * growth(expansion_per_k, wanted_at_c)?)
}

/// A length, in m, as it is at 20 C, from what was measured at another temperature, -200 to 400 C (ISO
/// 1:2022); coefficient in 1/K. The gauge is taken to be true at the temperature it has: a steel micrometer
/// as warm as a steel part needs no correction.
pub fn length_at_20_c_m(length_m: f64, measured_at_c: f64, expansion_per_k: f64) -> Result<f64, EngineError> {
    length_at_m(length_m, measured_at_c, REFERENCE_C, expansion_per_k)
}

/// One diameter of a fit: the least and the most it may be at 20 C, and how it grows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seat {
    least_m: f64,
    most_m: f64,
    expansion_per_k: f64,
}

impl Seat {
    /// A diameter that was measured: as it is at 20 C, in m (1 mm to 1 m); coefficient in 1/K.
    pub fn measured(diameter_m: f64, expansion_per_k: f64) -> Result<Self, EngineError> {
        Self::between(diameter_m, diameter_m, expansion_per_k)
    }

    /// A diameter known by its limits at 20 C, in m (1 mm to 1 m): a drawing's, or the least and most of
    /// several readings.
    pub fn between(least_m: f64, most_m: f64, expansion_per_k: f64) -> Result<Self, EngineError> {
        let (least_m, most_m) = (DIAMETER.check(least_m)?, DIAMETER.check(most_m)?);
        if least_m > most_m {
            return Err(EngineError::Contradiction {
                field: "least diameter of the seat",
                found: least_m,
                other: "most diameter of the seat",
                limit: most_m,
                unit: "m",
                help: "Give the least first.",
            });
        }
        Ok(Self { least_m, most_m, expansion_per_k: EXPANSION.check(expansion_per_k)? })
    }

    /// A diameter made to a tolerance zone at a nominal size above 3 up to 500 mm, in m; coefficient in 1/K.
    pub fn of_zone(zone: ToleranceZone, nominal_m: f64, expansion_per_k: f64) -> Result<Self, EngineError> {
        let limits = zone.limits(nominal_m)?;
        Self::between(limits.least_m, limits.most_m, expansion_per_k)
    }

    /// The least and the most of its diameter, m, at a temperature of -200 to 400 C.
    pub fn diameter_at_m(&self, temperature_c: f64) -> Result<(f64, f64), EngineError> {
        let growth = growth(self.expansion_per_k, temperature_c)?;
        Ok((self.least_m * growth, self.most_m * growth))
    }
}

/// How tight two parts sit on the diameter, m: positive is interference, negative is clearance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interference {
    /// The largest hole on the smallest shaft.
    pub least_m: f64,
    /// The middle of both.
    pub mean_m: f64,
    /// The smallest hole on the largest shaft.
    pub most_m: f64,
}

/// What kind of fit it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FitClass {
    /// Never tight: there is room, or just none, with any two parts.
    Clearance,
    /// Tight or loose, by the parts one gets.
    Transition,
    /// Always tight.
    Interference,
}

impl Interference {
    /// The same as clearances, m: least, mean and most room.
    pub fn clearances_m(&self) -> (f64, f64, f64) {
        // Adding 0 keeps a minus sign off nought.
        (0.0 - self.most_m, 0.0 - self.mean_m, 0.0 - self.least_m)
    }

    /// What kind of fit it is.
    pub fn kind(&self) -> FitClass {
        if self.most_m <= 0.0 {
            FitClass::Clearance
        } else if self.least_m > 0.0 {
            FitClass::Interference
        } else {
            FitClass::Transition
        }
    }
}

/// The fit of two zones at a nominal size above 3 up to 500 mm, in m, at 20 C. The first must be a hole's,
/// the second a shaft's.
pub fn interference_of_zones(
    hole: ToleranceZone,
    shaft: ToleranceZone,
    nominal_m: f64,
) -> Result<Interference, ZoneError> {
    let (hole, shaft) =
        (hole.on(HoleOrShaft::Hole)?.limits(nominal_m)?, shaft.on(HoleOrShaft::Shaft)?.limits(nominal_m)?);
    let least_m = shaft.lower_deviation_m - hole.upper_deviation_m;
    let most_m = shaft.upper_deviation_m - hole.lower_deviation_m;
    Ok(Interference { least_m, mean_m: f64::midpoint(least_m, most_m), most_m })
}

/// The fit of a shaft, or a bearing's outer ring, in a hole, both at 20 C.
pub fn interference(hole: &Seat, shaft: &Seat) -> Result<Interference, EngineError> {
    interference_at(hole, REFERENCE_C, shaft, REFERENCE_C)
}

/// The same with each part at its own temperature, -200 to 400 C. Free sizes.
pub fn interference_at(
    hole: &Seat,
    hole_c: f64,
    shaft: &Seat,
    shaft_c: f64,
) -> Result<Interference, EngineError> {
    let (hole_least, hole_most) = hole.diameter_at_m(hole_c)?;
    let (shaft_least, shaft_most) = shaft.diameter_at_m(shaft_c)?;
    let (least_m, most_m) = (shaft_least - hole_most, shaft_most - hole_least);
    let mean_m = f64::midpoint(least_m, most_m);
    MISMATCH.check(mean_m / f64::midpoint(hole_least, hole_most))?;
    Ok(Interference { least_m, mean_m, most_m })
}

/// The temperature, in C, to heat a part with a hole to, so that a shaft or a bearing drops in with a slip
/// of 0 to 1 mm, given in m, whichever two parts of their limits one has. The inner part has -200 to 400 C:
/// 20, or what a freezer gives.
///
/// ```text
/// T = 20 + (interference + slip)/(alpha d)
/// ```
///
/// with d the least hole and the interference between it and the largest shaft as warm as that is. The same
/// formula serves for a bearing heated to go on a cold crank. An answer at or below the workshop's
/// temperature says that no heat is needed. *Common practice, no source*: a bearing is heated to 120 C at
/// most, for its steel's sake. The hot part cools where it touches: it wants some more.
pub fn drops_in_at_c(hole: &Seat, shaft: &Seat, shaft_c: f64, slip_m: f64) -> Result<f64, EngineError> {
    let interference = interference_at(hole, REFERENCE_C, shaft, shaft_c)?.most_m;
    let slip = SLIP.check(slip_m)?;
    HEATED.check(REFERENCE_C + (interference + slip) / (hole.expansion_per_k * hole.least_m))
}

/// A sleeve between a case and a bearing: the outside sits in the case, the bearing in its bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sleeve {
    outside: Seat,
    bore: Seat,
    passed_on: f64,
    bored_in_place: bool,
}

/// How tight a sleeve sits in its case, and a bearing in the sleeve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SleeveFit {
    /// The sleeve in the case.
    pub in_case: Interference,
    /// The bearing in the sleeve, as far as the press of the case closes the bore.
    pub on_bearing: Interference,
}

impl Sleeve {
    /// A sleeve of one material by its outside and bore at 20 C, in m, free on the bench; least and most
    /// each. [`Self::bored_in_place`] has the bore as it is in the case.
    ///
    /// `passed_on` is the share of the interference in the case that closes the bore, 0 to 1: nearly 1 for
    /// a thin sleeve, less for a thick one (common practice, no source). It holds as long as the case holds
    /// the sleeve; a loose sleeve has its free bore.
    pub fn new(
        outside_m: (f64, f64),
        bore_m: (f64, f64),
        expansion_per_k: f64,
        passed_on: f64,
    ) -> Result<Self, EngineError> {
        let outside = Seat::between(outside_m.0, outside_m.1, expansion_per_k)?;
        let bore = Seat::between(bore_m.0, bore_m.1, expansion_per_k)?;
        if bore.most_m >= outside.least_m {
            return Err(EngineError::Contradiction {
                field: "bore of the sleeve",
                found: bore.most_m,
                other: "outside of the sleeve",
                limit: outside.least_m,
                unit: "m",
                help: "A sleeve has a wall; check both diameters.",
            });
        }
        Ok(Self { outside, bore, passed_on: PASSED_ON.check(passed_on)?, bored_in_place: false })
    }

    /// The same sleeve with its bore cut, or measured, at 20 C while it sat in the case: the case has closed
    /// it by then, and out of the case it would be wider.
    #[must_use]
    pub fn bored_in_place(self) -> Self {
        Self { bored_in_place: true, ..self }
    }

    /// By how much the bore is narrower than given, m, under a press of the case, from what it is at 20 C.
    fn closed_m(&self, press_m: f64, cold_press_m: f64) -> f64 {
        let closed_before = if self.bored_in_place { cold_press_m.max(0.0) } else { 0.0 };
        self.passed_on * (press_m.max(0.0) - closed_before)
    }

    /// Both fits, the case and the sleeve at one temperature and the bearing at another, -200 to 400 C each.
    pub fn fit_at(
        &self,
        case: &Seat,
        case_c: f64,
        bearing: &Seat,
        bearing_c: f64,
    ) -> Result<SleeveFit, EngineError> {
        let in_case = interference_at(case, case_c, &self.outside, case_c)?;
        let free = interference_at(&self.bore, case_c, bearing, bearing_c)?;
        let cold = interference(case, &self.outside)?;
        // Of a sleeve bored in place the tightest press opens the bore most when it goes.
        let by_press =
            [self.closed_m(in_case.least_m, cold.least_m), self.closed_m(in_case.most_m, cold.most_m)];
        let on_bearing = Interference {
            least_m: free.least_m + by_press[0].min(by_press[1]),
            mean_m: free.mean_m + self.closed_m(in_case.mean_m, cold.mean_m),
            most_m: free.most_m + by_press[0].max(by_press[1]),
        };
        Ok(SleeveFit { in_case, on_bearing })
    }
}
