//! Carburetor and intake: the needle's ring and the main jet by slide lift, the case, the intake resonance and the piston's speed.

use super::bench::Bench;
use super::head::head_figures;
use super::known::{Gap, Known, both, three, wrong};
use super::ports::intake_timing;
use crate::advice::rejet::needle_table::{NeedleRow, needle_table};
use crate::engine::crank::mean_piston_speed_m_s;
use crate::engine::intake::{
    TractPiece, bore_area_m2, case_at_half_stroke_m3, helmholtz_frequency_hz, reed_area_m2,
    reed_intake_speed_rpm, timed_intake_speed_rpm,
};
use crate::notebook::{JetBox, Jetting, NeedleBox, Shares};

/// The tract swinging on the case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swing {
    /// Its note, Hz.
    pub frequency_hz: f64,
    /// The engine speed it suits, rpm.
    pub rpm: f64,
    /// Degrees the intake is open; none for reeds.
    pub open_deg: Option<f64>,
}

/// The intake's figures.
#[derive(Debug, Clone)]
pub struct IntakeFigures {
    /// Slide lift against areas; for a bike with a carburetor.
    pub needle: Option<Known<Vec<NeedleRow>>>,
    /// Area of the carburetor's or throttle body's bore, m2.
    pub bore_m2: Known<f64>,
    /// Area past the petals at their stops, m2.
    pub reeds_m2: Known<f64>,
    /// Crankcase compression ratio.
    pub crankcase_ratio: Known<f64>,
    /// The tract swinging on the case.
    pub swing: Known<Swing>,
    /// Mean piston speed at a speed, m/s.
    pub mean_piston_m_s: Known<f64>,
    /// Highest piston speed, m/s, and its angle after top dead centre.
    pub peak_piston: Known<(f64, f64)>,
}

/// What the needle's table is read from.
#[derive(Debug, Clone, Copy)]
pub struct Tables<'a> {
    /// The jets in the box.
    pub jets: &'a JetBox,
    /// The needles.
    pub needles: &'a NeedleBox,
    /// The rules of the trade.
    pub shares: &'a Shares,
}

/// The intake of a setup; `rpm` is the speed for the piston's, where one is known.
pub fn intake_figures(
    bench: &Bench<'_>,
    jetting: Option<&Jetting>,
    tables: Tables<'_>,
    rpm: Known<f64>,
) -> IntakeFigures {
    let moving = both(bench.crank(), rpm.clone());
    IntakeFigures {
        needle: jetting.map(|jetting| needle_table(jetting, tables.jets, tables.needles, tables.shares)),
        bore_m2: bore_m(bench).and_then(|bore| bore_area_m2(bore).map_err(wrong("jetting"))),
        reeds_m2: reeds(bench),
        crankcase_ratio: head_figures(bench).crankcase_ratio,
        swing: swing(bench),
        mean_piston_m_s: both(bench.si("engine.stroke"), rpm)
            .and_then(|(stroke, rpm)| mean_piston_speed_m_s(stroke, rpm).map_err(wrong("engine"))),
        peak_piston: moving.and_then(|(crank, rpm)| crank.peak_piston_speed(rpm).map_err(wrong("engine"))),
    }
}

/// Bore of what the air passes, m.
fn bore_m(bench: &Bench<'_>) -> Known<f64> {
    bench
        .si("jetting.carburetor_bore")
        .or_else(|_| bench.si("injection.throttle_body_bore"))
        .map_err(|_| Gap::needs("jetting.carburetor_bore or injection.throttle_body_bore"))
}

fn reeds(bench: &Bench<'_>) -> Known<f64> {
    match bench.fields.text("ports.intake") {
        Some("reed") => {}
        Some(_) => return Err(Gap::Without("this engine has no reeds".into())),
        None => return Err(Gap::needs("ports.intake")),
    }
    let reed = |leaf: &str| bench.si(&format!("ports.reed.{leaf}"));
    let (petals, width, (length, stop)) =
        three(reed("petals"), reed("width"), both(reed("length"), reed("stop_height")))?;
    // The range of the field keeps the count within a few.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let petals = petals.round().clamp(0.0, 255.0) as u8;
    reed_area_m2(petals, width, length, stop).map_err(wrong("ports.reed"))
}

/// The tract swinging on the case, and the speed that suits it.
pub fn swing(bench: &Bench<'_>) -> Known<Swing> {
    let air = bench.assumptions.intake_air.as_ref().map(|air| air.value.si());
    let air = air.ok_or_else(|| Gap::needs("[intake_air] in configs/assumptions.toml"));
    let volume = both(bench.si("engine.crankcase_volume"), bench.swept_m3());
    let bore = bench.si("ports.intake_diameter").or_else(|_| bore_m(bench));
    let ((case, swept), (length_m, bore), air) =
        three(volume, both(bench.si("ports.intake_length"), bore), air)?;
    let case = case_at_half_stroke_m3(case, swept).map_err(wrong("engine"))?;
    let tract = TractPiece { length_m, area_m2: bore_area_m2(bore).map_err(wrong("ports"))? };
    let frequency_hz = helmholtz_frequency_hz(&[tract], case, air).map_err(wrong("ports"))?;
    let (rpm, open_deg) = match intake_timing(bench) {
        Ok(timing) => {
            let open = timing.duration_deg();
            (timed_intake_speed_rpm(open, frequency_hz).map_err(wrong("ports"))?, Some(open))
        }
        Err(Gap::Without(_)) => (reed_intake_speed_rpm(frequency_hz).map_err(wrong("ports"))?, None),
        Err(gap) => return Err(gap),
    };
    Ok(Swing { frequency_hz, rpm, open_deg })
}
