//! How a bearing sits in its case, on its shaft and in a sleeve, cold and running, and what heat it takes to
//! fit it. The physics is in [`crate::engine::fits`]; here are the usual assumptions of the trade and which
//! part meets which.

pub mod seat;

use crate::engine::EngineError;
use crate::engine::fits::bearing::{
    ClearanceGroup, FittedBearing, InternalClearance, Ring, gain_of_ceramic_balls_m, usual_ball_m,
};
use crate::engine::fits::bearing_size::{bore_limits, outside_limits};
use crate::engine::fits::warm::{Nought, by_heat_alone, nought_at_c};
use crate::engine::fits::zone::{HoleOrShaft, ToleranceZone, ZoneError};
use crate::engine::fits::{
    Interference, Material, REFERENCE_C, Seat, Sleeve, drops_in_at_c, interference, interference_at,
};

/// A case that runs, C: common practice, no source.
pub const CASE_RUNS_C: f64 = 90.0;
/// By how much the shaft and the inner ring are warmer than the case and the outer ring, K: common practice,
/// no source.
pub const SHAFT_WARMER_K: f64 = 10.0;
/// Clearance while a part drops into a case, m: common practice, no source.
pub const SLIP_M: f64 = 0.03e-3;
/// Clearance while a heated bearing slides on a shaft, m, of which a small bore has little to give: common
/// practice, no source.
pub const SHAFT_SLIP_M: f64 = 0.01e-3;
/// The share of a press on the shaft that the clearance loses: common practice, no source.
pub const SHAFT_SHARE: f64 = 0.8;
/// The share of a press in a case that the clearance loses: common practice, no source. A case of light
/// alloy yields more than one of iron.
pub const LIGHT_CASE_SHARE: f64 = 0.6;
/// The same in a case of cast iron or steel: common practice, no source.
pub const IRON_CASE_SHARE: f64 = 0.7;
/// The share of the case's press that closes a sleeve's bore: common practice, no source.
pub const SLEEVE_PASSES_ON: f64 = 0.8;
/// A bearing is heated to this at most, C, for its steel's sake: common practice, no source.
pub const BEARING_MOST_C: f64 = 120.0;
/// A case is heated to this at most, C: common practice, no source.
pub const CASE_MOST_C: f64 = 150.0;
/// A measured diameter further away than this from the bearing's size is a slip of the pen, m.
const NEAR_NOMINAL_M: f64 = 0.5e-3;
const NEAR: &str =
    "A seat lies within 0.5 mm of the part that goes with it: check both sizes and their units.";

/// How a diameter is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Diameter {
    /// Measured, as it is at 20 C, m.
    Measured(f64),
    /// Made to a tolerance zone at a nominal size, m.
    Zone(ToleranceZone, f64),
}

/// The clearance of the bearing in its box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Initial {
    /// By its group.
    Group(ClearanceGroup),
    /// Measured, m.
    Measured(f64),
}

/// An adapter sleeve between case and bearing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SleeveAsked {
    /// Its outside, free on the bench.
    pub outside: Diameter,
    /// Its bore.
    pub bore: Diameter,
    /// What it is made of.
    pub material: Material,
    /// The share of the case's press that closes its bore, 0 to 1.
    pub passed_on: f64,
    /// Whether the bore is as it was cut or measured in the case, not free on the bench.
    pub bored_in_place: bool,
}

/// Everything that is known of a bearing and its seats.
#[derive(Debug, Clone, PartialEq)]
pub struct FitAsked {
    /// Nominal bore of the bearing, m.
    pub bore_m: f64,
    /// Nominal outside of the bearing, m.
    pub outside_m: f64,
    /// Its bore as measured, m; otherwise class Normal.
    pub measured_bore_m: Option<f64>,
    /// Its outside as measured, m; otherwise class Normal.
    pub measured_outside_m: Option<f64>,
    /// The seat in the case.
    pub case: Option<Diameter>,
    /// What the case is made of.
    pub case_material: Material,
    /// The shaft, of steel.
    pub shaft: Option<Diameter>,
    /// A sleeve between case and bearing.
    pub sleeve: Option<SleeveAsked>,
    /// The clearance in the box.
    pub clearance: Option<Initial>,
    /// Whether the balls are of silicon nitride.
    pub ceramic_balls: bool,
    /// Diameter of a ball, m; otherwise by rule.
    pub ball_m: Option<f64>,
    /// The case, the sleeve and the outer ring as they run, C.
    pub case_c: f64,
    /// The shaft and the inner ring as they run, C.
    pub shaft_c: f64,
    /// The bearing, or the sleeve, as it goes into the case, C.
    pub bearing_cooled_c: f64,
    /// The shaft as it goes into the bearing, C.
    pub shaft_cooled_c: f64,
    /// Clearance while a part drops into the case, m.
    pub slip_m: f64,
    /// Clearance while the bearing slides on the shaft, m.
    pub shaft_slip_m: f64,
    /// The share of the press on the shaft that the clearance loses, 0 to 1.
    pub shaft_share: f64,
    /// The share of the press in the case that the clearance loses, 0 to 1.
    pub case_share: f64,
}

/// One seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeatFigures {
    /// Interference at 20 C.
    pub cold: Interference,
    /// Interference as it runs.
    pub running: Interference,
    /// Where it is nought, both parts as warm as each other.
    pub nought: Nought,
    /// The temperature to heat the outer part to so that the inner one drops in, C; none where heat alone
    /// does not do it.
    pub drops_in_c: Option<f64>,
    /// The room that the tightest parts have when the outer one is as hot as it may get, m: negative is
    /// still tight.
    pub room_at_most_m: f64,
}

/// The clearance of the bearing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClearanceFigures {
    /// In its box.
    pub boxed: InternalClearance,
    /// Fitted, at 20 C.
    pub cold: InternalClearance,
    /// Fitted, as it runs.
    pub running: InternalClearance,
    /// What ceramic balls add to it as it runs.
    pub ceramic: Option<CeramicFigures>,
}

/// What ceramic balls change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CeramicFigures {
    /// Diameter of a ball, m.
    pub ball_m: f64,
    /// More clearance than with steel balls as the bearing runs, m.
    pub gain_m: f64,
}

/// What is known of the fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitFigures {
    /// The bearing in the case, or in the sleeve.
    pub case: Option<SeatFigures>,
    /// The sleeve in the case.
    pub sleeve: Option<SeatFigures>,
    /// The bearing on the shaft.
    pub shaft: Option<SeatFigures>,
    /// The clearance, where both seats and the clearance in the box are known.
    pub clearance: Option<ClearanceFigures>,
}

/// What of a fit was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FitPart {
    /// The bearing by its bore and outside.
    Bearing,
    /// A zone by itself.
    Zone,
    /// The seat in the case.
    Case,
    /// The seat on the shaft.
    Shaft,
    /// The sleeve's outside.
    SleeveOutside,
    /// The sleeve's bore.
    SleeveBore,
    /// The bearing's outside as measured.
    BearingOutside,
    /// The bearing's bore as measured.
    BearingBore,
    /// The group of its clearance.
    Group,
    /// Its clearance as measured.
    Clearance,
    /// How warm the shaft runs.
    ShaftAt,
    /// The diameter of a ball.
    Ball,
}

/// Why there is no answer, and of which part.
#[derive(Debug, Clone, PartialEq)]
pub struct FitError {
    /// What to look at.
    pub part: FitPart,
    /// Why.
    pub error: ZoneError,
}

/// How an inner part goes into an outer one that is heated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct GoingIn {
    /// The inner part, C.
    pub(super) inner_c: f64,
    /// The room wanted, m.
    pub(super) slip_m: f64,
    /// The outer part as hot as it may get, C.
    pub(super) most_c: f64,
}

impl FitAsked {
    fn at_the_case(&self) -> GoingIn {
        GoingIn { inner_c: self.bearing_cooled_c, slip_m: self.slip_m, most_c: CASE_MOST_C }
    }

    fn at_the_shaft(&self) -> GoingIn {
        GoingIn { inner_c: self.shaft_cooled_c, slip_m: self.shaft_slip_m, most_c: BEARING_MOST_C }
    }
}

/// Names the part an error is of.
fn of<T>(part: FitPart, result: Result<T, impl Into<ZoneError>>) -> Result<T, FitError> {
    result.map_err(|error| FitError { part, error: error.into() })
}

/// The temperatures of the case and of the shaft as they run, C, from what is known of them.
pub fn running_c(case_c: Option<f64>, shaft_c: Option<f64>) -> (f64, f64) {
    let case = case_c.or_else(|| shaft_c.map(|shaft| shaft - SHAFT_WARMER_K)).unwrap_or(CASE_RUNS_C);
    (case, shaft_c.unwrap_or(case + SHAFT_WARMER_K))
}

/// The share of a press in a case that the clearance loses, by what the case is made of.
pub fn usual_case_share(case: Material) -> f64 {
    if matches!(case, Material::Aluminium | Material::Magnesium) { LIGHT_CASE_SHARE } else { IRON_CASE_SHARE }
}

/// All that can be said of a fit.
pub fn fit_figures(asked: &FitAsked) -> Result<FitFigures, FitError> {
    let (outside, bore) = rings(asked)?;
    let case = match asked.case {
        Some(case) => Some(case_seat(asked, case)?),
        None => None,
    };
    let sleeve = match (asked.sleeve, &case) {
        (Some(sleeve), Some(case)) => Some(sleeve_seat(asked, sleeve, case)?),
        _ => None,
    };
    let shaft = match asked.shaft {
        Some(shaft) => {
            let near = Some(("shaft", asked.bore_m));
            Some(seat(FitPart::Shaft, shaft, HoleOrShaft::Shaft, Material::Steel, near)?)
        }
        None => None,
    };
    let in_case = case.as_ref().map(|case| match &sleeve {
        Some(sleeve) => of(FitPart::SleeveBore, in_sleeve(asked, sleeve, case, &outside)),
        None => of(FitPart::Case, in_hole(case, asked.case_c, &outside, &asked.at_the_case())),
    });
    let in_case = in_case.transpose()?;
    let sleeve = sleeve.zip(case).map(|(sleeve, case)| {
        of(FitPart::SleeveOutside, in_hole(&case, asked.case_c, sleeve.outside(), &asked.at_the_case()))
    });
    let sleeve = sleeve.transpose()?;
    let on_shaft =
        shaft.map(|shaft| of(FitPart::Shaft, in_hole(&bore, asked.shaft_c, &shaft, &asked.at_the_shaft())));
    let on_shaft = on_shaft.transpose()?;
    let clearance = clearance(asked, in_case.as_ref(), on_shaft.as_ref())?;
    Ok(FitFigures { case: in_case, sleeve, shaft: on_shaft, clearance })
}

/// The bearing's outside and bore.
fn rings(asked: &FitAsked) -> Result<(Seat, Seat), FitError> {
    let steel = Material::Steel.expansion_per_k();
    if asked.bore_m >= asked.outside_m {
        let error = EngineError::Contradiction {
            field: "bore of the bearing",
            found: asked.bore_m,
            other: "outside of the bearing",
            limit: asked.outside_m,
            unit: "m",
            help: "Give the bore first, then the outside.",
        };
        return of(FitPart::Bearing, Err(error));
    }
    let limits = of(FitPart::Bearing, outside_limits(asked.outside_m))?;
    let outside = match asked.measured_outside_m {
        None => of(FitPart::Bearing, Seat::between(limits.least_m, limits.most_m, steel))?,
        Some(found) => {
            let near = Some(("measured outside of the bearing", asked.outside_m));
            seat(
                FitPart::BearingOutside,
                Diameter::Measured(found),
                HoleOrShaft::Shaft,
                Material::Steel,
                near,
            )?
        }
    };
    let limits = of(FitPart::Bearing, bore_limits(asked.bore_m))?;
    let bore = match asked.measured_bore_m {
        None => of(FitPart::Bearing, Seat::between(limits.least_m, limits.most_m, steel))?,
        Some(found) => {
            let near = Some(("measured bore of the bearing", asked.bore_m));
            seat(FitPart::BearingBore, Diameter::Measured(found), HoleOrShaft::Hole, Material::Steel, near)?
        }
    };
    Ok((outside, bore))
}

/// The hole in the case, around the bearing or around its sleeve.
fn case_seat(asked: &FitAsked, case: Diameter) -> Result<Seat, FitError> {
    let partner = match asked.sleeve.map(|sleeve| sleeve.outside) {
        None => asked.outside_m,
        Some(Diameter::Measured(outside) | Diameter::Zone(_, outside)) => outside,
    };
    seat(FitPart::Case, case, HoleOrShaft::Hole, asked.case_material, Some(("seat in the case", partner)))
}

fn sleeve_seat(asked: &FitAsked, sleeve: SleeveAsked, case: &Seat) -> Result<Sleeve, FitError> {
    let outside = seat(FitPart::SleeveOutside, sleeve.outside, HoleOrShaft::Shaft, sleeve.material, None)?;
    let near = Some(("bore of the sleeve", asked.outside_m));
    let bore = seat(FitPart::SleeveBore, sleeve.bore, HoleOrShaft::Hole, sleeve.material, near)?;
    of(FitPart::SleeveOutside, interference(case, &outside))?;
    let limits = |seat: &Seat| of(FitPart::SleeveOutside, seat.diameter_at_m(REFERENCE_C));
    let expansion = sleeve.material.expansion_per_k();
    let made =
        of(FitPart::SleeveBore, Sleeve::new(limits(&outside)?, limits(&bore)?, expansion, sleeve.passed_on))?;
    Ok(if sleeve.bored_in_place { made.bored_in_place() } else { made })
}

/// A diameter as a seat, on its side and near its partner's size.
fn seat(
    part: FitPart,
    diameter: Diameter,
    side: HoleOrShaft,
    material: Material,
    near: Option<(&'static str, f64)>,
) -> Result<Seat, FitError> {
    let (Diameter::Measured(size) | Diameter::Zone(_, size)) = diameter;
    if let Some((field, partner)) = near {
        let (low, high) = (partner - NEAR_NOMINAL_M, partner + NEAR_NOMINAL_M);
        // Half a millimetre typed as such is still near.
        if !(low - 1e-9..=high + 1e-9).contains(&size) {
            return of(
                part,
                Err(EngineError::OutOfRange { field, found: size, unit: "m", low, high, help: NEAR }),
            );
        }
    }
    let expansion = material.expansion_per_k();
    match diameter {
        Diameter::Measured(size) => of(part, Seat::measured(size, expansion)),
        Diameter::Zone(zone, size) => of(part, Seat::of_zone(of(part, zone.on(side))?, size, expansion)),
    }
}

/// A shaft in a hole, both as warm as each other when they run.
pub(super) fn in_hole(
    hole: &Seat,
    running_c: f64,
    shaft: &Seat,
    going_in: &GoingIn,
) -> Result<SeatFigures, EngineError> {
    Ok(SeatFigures {
        cold: interference(hole, shaft)?,
        running: interference_at(hole, running_c, shaft, running_c)?,
        nought: nought_at_c(hole, shaft),
        drops_in_c: by_heat_alone(drops_in_at_c(hole, shaft, going_in.inner_c, going_in.slip_m))?,
        room_at_most_m: -interference_at(hole, going_in.most_c, shaft, going_in.inner_c)?.most_m,
    })
}

/// The bearing in the sleeve that sits in the case.
fn in_sleeve(
    asked: &FitAsked,
    sleeve: &Sleeve,
    case: &Seat,
    bearing: &Seat,
) -> Result<SeatFigures, EngineError> {
    let at = |temperature_c| sleeve.fit_at(case, temperature_c, bearing, temperature_c);
    let GoingIn { inner_c, slip_m, most_c } = asked.at_the_case();
    let drops_in = sleeve.drops_in_at_c(case, bearing, inner_c, slip_m);
    Ok(SeatFigures {
        cold: at(REFERENCE_C)?.on_bearing,
        running: at(asked.case_c)?.on_bearing,
        nought: sleeve.nought_at_c(case, bearing),
        drops_in_c: by_heat_alone(drops_in)?,
        room_at_most_m: -sleeve.fit_at(case, most_c, bearing, inner_c)?.on_bearing.most_m,
    })
}

fn clearance(
    asked: &FitAsked,
    case: Option<&SeatFigures>,
    shaft: Option<&SeatFigures>,
) -> Result<Option<ClearanceFigures>, FitError> {
    let ceramic = ceramic(asked)?;
    let boxed = match asked.clearance {
        None => return Ok(None),
        Some(Initial::Group(group)) => of(FitPart::Group, InternalClearance::of_group(group, asked.bore_m))?,
        Some(Initial::Measured(found)) => of(FitPart::Clearance, InternalClearance::measured(found))?,
    };
    let (Some(case), Some(shaft)) = (case, shaft) else { return Ok(None) };
    let left = |on_shaft: Interference, in_case: Interference, inner_warmer_k: f64| {
        boxed.left_when_fitted(&FittedBearing {
            bore_m: asked.bore_m,
            outside_m: asked.outside_m,
            on_shaft: Ring { interference: on_shaft, share: asked.shaft_share },
            in_case: Ring { interference: in_case, share: asked.case_share },
            inner_warmer_k,
        })
    };
    let cold = of(FitPart::Clearance, left(shaft.cold, case.cold, 0.0))?;
    let warm = of(FitPart::ShaftAt, left(shaft.running, case.running, asked.shaft_c - asked.case_c))?;
    let gain = ceramic.map_or(0.0, |ceramic| ceramic.gain_m);
    Ok(Some(ClearanceFigures { boxed, cold, running: of(FitPart::Ball, warm.with_gain(gain))?, ceramic }))
}

fn ceramic(asked: &FitAsked) -> Result<Option<CeramicFigures>, FitError> {
    if !asked.ceramic_balls {
        return Ok(None);
    }
    let ball_m = match asked.ball_m {
        Some(ball) => ball,
        None => of(FitPart::Bearing, usual_ball_m(asked.bore_m, asked.outside_m))?,
    };
    let section = (asked.outside_m - asked.bore_m) / 2.0;
    if ball_m >= section {
        let error = EngineError::Contradiction {
            field: "diameter of the balls",
            found: ball_m,
            other: "room between bore and outside",
            limit: section,
            unit: "m",
            help: "Balls run between two rings; check their diameter and its unit.",
        };
        return of(FitPart::Ball, Err(error));
    }
    let gain_m = of(FitPart::Ball, gain_of_ceramic_balls_m(ball_m, asked.shaft_c))?;
    Ok(Some(CeramicFigures { ball_m, gain_m }))
}
