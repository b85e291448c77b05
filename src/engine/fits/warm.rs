//! Temperatures that matter to a fit: where it is just nought, so that a warm case lets its bearing go, and
//! where a bearing drops into a sleeve that sits in its case.
//!
//! Free sizes change evenly with the temperature (see [the fits](super)), so each answer is where a straight
//! line meets nought. A sleeve's fit on its bearing is two lines that meet where the case lets the sleeve
//! go: colder, the case closes the bore by a share of its press; warmer, the bore is free.

use super::{HEATED, Interference, REFERENCE_C, SLIP, Seat, Sleeve, TEMPERATURE, interference_at};
use crate::engine::EngineError;

/// The temperature at which a fit is just nought, C, both parts equally warm; -200 to 400. Where there is
/// none within that, as with two parts of one material, it is `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nought {
    /// The largest hole on the smallest shaft: a warm case lets this pair go first.
    pub least_c: Option<f64>,
    /// The middle of both.
    pub mean_c: Option<f64>,
    /// The smallest hole on the largest shaft.
    pub most_c: Option<f64>,
}

/// An interference that changes evenly with the temperature.
#[derive(Clone, Copy)]
struct Course {
    /// At 20 C, m.
    cold_m: f64,
    /// What each kelvin adds, m/K.
    per_k: f64,
}

impl Course {
    /// A shaft in a hole, both as warm as each other.
    fn together(hole_m: f64, hole: &Seat, shaft_m: f64, shaft: &Seat) -> Self {
        let per_k = shaft.expansion_per_k * shaft_m - hole.expansion_per_k * hole_m;
        Self { cold_m: shaft_m - hole_m, per_k }
    }

    fn plus(self, other: Self, share: f64) -> Self {
        Self { cold_m: self.cold_m + share * other.cold_m, per_k: self.per_k + share * other.per_k }
    }

    fn at_m(self, above_k: f64) -> f64 {
        self.cold_m + self.per_k * above_k
    }

    /// How far above 20 C it is nought, K.
    fn nought_k(self) -> Option<f64> {
        let above_k = -self.cold_m / self.per_k;
        // Two parts that grow alike give infinity or no number, and both are out of range.
        TEMPERATURE.check(REFERENCE_C + above_k).is_ok().then_some(above_k)
    }
}

/// The temperature, C, at which the fit of a shaft in a hole is just nought. Where the hole's part grows
/// more, the fit is looser above it; where it grows less, below it.
///
/// ```text
/// T = 20 + interference/(alpha_hole d_hole - alpha_shaft d_shaft)
/// ```
pub fn nought_at_c(hole: &Seat, shaft: &Seat) -> Nought {
    let at = |hole_m: f64, shaft_m: f64| {
        Course::together(hole_m, hole, shaft_m, shaft).nought_k().map(|above_k| REFERENCE_C + above_k)
    };
    Nought {
        least_c: at(hole.most_m, shaft.least_m),
        mean_c: at(hole.mean_m(), shaft.mean_m()),
        most_c: at(hole.least_m, shaft.most_m),
    }
}

impl Seat {
    fn mean_m(&self) -> f64 {
        f64::midpoint(self.least_m, self.most_m)
    }
}

impl Sleeve {
    /// Where a bearing's fit in it is nought, C, from that fit with the bore as given and how the case
    /// presses the sleeve.
    fn nought_c(&self, as_given: Course, press: Course) -> Option<f64> {
        let free = Course { cold_m: as_given.cold_m + self.closed_m(0.0, press.cold_m), ..as_given };
        let pressed = free.plus(press, self.passed_on).nought_k().filter(|k| press.at_m(*k) >= 0.0);
        let loose = free.nought_k().filter(|k| press.at_m(*k) < 0.0);
        let nearest = pressed.into_iter().chain(loose).min_by(|a, b| a.abs().total_cmp(&b.abs()));
        nearest.map(|above_k| REFERENCE_C + above_k)
    }

    /// Its outside, which sits in the case.
    pub fn outside(&self) -> &Seat {
        &self.outside
    }

    /// The case and the outside, m, that leave the bore widest when warm, and those that leave it narrowest.
    /// A bore that was cut in place opens most where the press was tightest.
    fn presses(&self, case: &Seat) -> ((f64, f64), (f64, f64)) {
        let loose = (case.most_m, self.outside.least_m);
        let tight = (case.least_m, self.outside.most_m);
        if self.bored_in_place { (tight, loose) } else { (loose, tight) }
    }

    /// The temperature, C, at which a bearing's fit in the sleeve is just nought, the sleeve sitting in the
    /// case; all as warm as each other. The one nearest to 20 C where there are two.
    pub fn nought_at_c(&self, case: &Seat, bearing: &Seat) -> Nought {
        let at = |case_m: f64, outside_m: f64, bore_m: f64, bearing_m: f64| {
            let press = Course::together(case_m, case, outside_m, &self.outside);
            let free = Course::together(bore_m, &self.bore, bearing_m, bearing);
            self.nought_c(free, press)
        };
        let (loose, tight) = self.presses(case);
        Nought {
            least_c: at(loose.0, loose.1, self.bore.most_m, bearing.least_m),
            mean_c: at(case.mean_m(), self.outside.mean_m(), self.bore.mean_m(), bearing.mean_m()),
            most_c: at(tight.0, tight.1, self.bore.least_m, bearing.most_m),
        }
    }

    /// The temperature, C, to heat the case with the sleeve in it to, so that a bearing of -200 to 400 C
    /// drops in with a slip of 0 to 1 mm, given in m, whichever parts of their limits one has.
    pub fn drops_in_at_c(
        &self,
        case: &Seat,
        bearing: &Seat,
        bearing_c: f64,
        slip_m: f64,
    ) -> Result<f64, EngineError> {
        let cold = interference_at(&self.bore, REFERENCE_C, bearing, bearing_c)?.most_m;
        let per_k = -self.bore.expansion_per_k * self.bore.least_m;
        let free = Course { cold_m: cold + SLIP.check(slip_m)?, per_k };
        let (_, (case_m, outside_m)) = self.presses(case);
        let press = Course::together(case_m, case, outside_m, &self.outside);
        // No temperature within reach is refused as any other that is too high.
        HEATED.check(self.nought_c(free, press).unwrap_or(f64::INFINITY))
    }
}

/// A temperature at which a part drops in, or none where heat alone does not do it within -200 to 400 C.
pub fn by_heat_alone(drops_in_c: Result<f64, EngineError>) -> Result<Option<f64>, EngineError> {
    match drops_in_c {
        Ok(found) => Ok(Some(found)),
        Err(EngineError::OutOfRange { field, .. }) if field == HEATED.field => Ok(None),
        Err(error) => Err(error),
    }
}

impl Interference {
    /// Whether it is that of two parts that were measured, with nothing between the least and the most: a
    /// hundredth of a micrometre is nothing.
    pub fn is_of_measured_parts(&self) -> bool {
        self.most_m - self.least_m < 1e-8
    }
}
