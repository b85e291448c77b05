//! One bearing's seats as they were measured on the bench: how tight, cold and running, and what heat fits
//! and frees them.

use super::{BEARING_MOST_C, CASE_MOST_C, GoingIn, SHAFT_SLIP_M, SLIP_M, SeatFigures, in_hole, running_c};
use crate::engine::EngineError;
use crate::engine::fits::{Material, REFERENCE_C, Seat};

/// What was measured, each as it is at 20 C, m; what was not measured is `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredSeats {
    /// The hole in the case.
    pub case_bore_m: Option<f64>,
    /// The bearing's outside.
    pub bearing_outside_m: Option<f64>,
    /// The bearing's bore.
    pub bearing_bore_m: Option<f64>,
    /// The shaft, of steel.
    pub shaft_m: Option<f64>,
    /// What the case is made of.
    pub case: Material,
    /// The case as it runs, C; otherwise [`super::CASE_RUNS_C`], or what the shaft's temperature says.
    pub case_c: Option<f64>,
    /// The shaft as it runs, C; otherwise [`super::SHAFT_WARMER_K`] above the case.
    pub shaft_c: Option<f64>,
}

/// One seat on the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchSeat {
    /// Interference at 20 C, m; negative is a clearance.
    pub cold_m: f64,
    /// Interference as it runs, m.
    pub running_m: f64,
    /// The temperature it runs at, C.
    pub running_c: f64,
    /// The temperature at which the warm case, the bearing as warm, lets go, C; none where it holds the
    /// bearing however warm it gets, up to 400 C, or where it does not hold it cold.
    pub lets_go_c: Option<f64>,
    /// The temperature to heat the case to so that the bearing drops in, or the bearing so that it slides
    /// on the shaft, C, with the usual slip ([`SLIP_M`], [`SHAFT_SLIP_M`]) and the inner part at 20 C; 20 or
    /// less asks for no heat, and where 400 C does not do it it is none. A case gets [`CASE_MOST_C`] at most
    /// and a bearing [`BEARING_MOST_C`].
    pub drops_in_c: Option<f64>,
}

/// The seats of one bearing on the bench; each that lacks a diameter is `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BenchSeats {
    /// The bearing in the case.
    pub in_case: Option<BenchSeat>,
    /// The bearing on the shaft.
    pub on_shaft: Option<BenchSeat>,
}

/// What measured seats come to. Diameters from 1 mm to 1 m, temperatures from -200 to 400 C; two parts that
/// are a twentieth apart do not belong together and are refused.
pub fn bench_seats(measured: &MeasuredSeats) -> Result<BenchSeats, EngineError> {
    let (case_c, shaft_c) = running_c(measured.case_c, measured.shaft_c);
    let one =
        |hole: Option<f64>, material: Material, shaft: Option<f64>, running_c: f64, slip: (f64, f64)| {
            let Some((hole, shaft)) = hole.zip(shaft) else { return Ok(None) };
            let hole = Seat::measured(hole, material.expansion_per_k())?;
            let shaft = Seat::measured(shaft, Material::Steel.expansion_per_k())?;
            let going_in = GoingIn { inner_c: REFERENCE_C, slip_m: slip.0, most_c: slip.1 };
            let figures = in_hole(&hole, running_c, &shaft, &going_in)?;
            Ok(Some(bench_seat(&figures, running_c)))
        };
    let (case, shaft) = ((SLIP_M, CASE_MOST_C), (SHAFT_SLIP_M, BEARING_MOST_C));
    Ok(BenchSeats {
        in_case: one(measured.case_bore_m, measured.case, measured.bearing_outside_m, case_c, case)?,
        on_shaft: one(measured.bearing_bore_m, Material::Steel, measured.shaft_m, shaft_c, shaft)?,
    })
}

fn bench_seat(figures: &SeatFigures, running_c: f64) -> BenchSeat {
    BenchSeat {
        cold_m: figures.cold.mean_m,
        running_m: figures.running.mean_m,
        running_c,
        lets_go_c: figures.nought.mean_c.filter(|at| figures.cold.mean_m > 0.0 && *at > REFERENCE_C),
        drops_in_c: figures.drops_in_c,
    }
}
