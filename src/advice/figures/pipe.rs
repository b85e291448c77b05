//! The pipe: its sections, the length to where the wave turns back, and the speed it is tuned to.

use super::bench::{Bench, EXHAUST, Valve};
use super::known::{Gap, Known, both, three, wrong};
use crate::engine::EngineError;
use crate::engine::pipe::{
    DiameterStep, Pipe, length_to_add_m, speed_per_kelvin, stinger_ratio, tuned_length_m, tuned_speed_rpm,
    wave_speed_m_s,
};

/// The speed a pipe is tuned to, and what it follows from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tuned {
    /// Exhaust duration, degrees.
    pub exhaust_deg: f64,
    /// From the piston's face to where the wave turns back, m.
    pub length_m: f64,
    /// Speed of the wave, m/s.
    pub wave_m_s: f64,
    /// Temperature of the gas, K.
    pub gas_k: f64,
    /// The speed, rpm.
    pub rpm: f64,
    /// By how much it rises for each kelvin, rpm.
    pub rpm_per_kelvin: f64,
}

/// A pipe's figures.
#[derive(Debug, Clone)]
pub struct PipeFigures {
    /// Names of the sections in order.
    pub names: Known<Vec<String>>,
    /// The pipe itself.
    pub pipe: Known<Pipe>,
    /// Joints at which the diameters differ.
    pub steps: Vec<DiameterStep>,
    /// Exhaust duration with the power valve open, degrees.
    pub exhaust_deg: Known<f64>,
    /// From the piston's face to where the wave turns back, m.
    pub reflection_m: Known<f64>,
    /// Temperature of the gas, K, and the speed of the wave in it, m/s.
    pub wave: Known<(f64, f64)>,
    /// Stinger over header inlet.
    pub stinger_ratio: Known<f64>,
    /// The speed it is tuned to with the power valve open.
    pub tuned: Known<Tuned>,
    /// The same with the valve shut, on a bike that has one.
    pub tuned_shut: Option<Known<Tuned>>,
}

/// Joints that differ by less are taken for one diameter, m.
const STEP_TOLERANCE_M: f64 = 0.000_25;

/// The temperature of the gas, K: as given, else as assumed.
pub fn gas_k(bench: &Bench<'_>, given: Option<f64>) -> Known<f64> {
    given
        .or_else(|| bench.assumptions.pipe_gas.as_ref().map(|gas| gas.value.si()))
        .ok_or_else(|| Gap::needs("[pipe_gas] in configs/assumptions.toml"))
}

/// The share of the baffle before the point where the wave turns back.
fn reflection(bench: &Bench<'_>) -> Known<f64> {
    let share = bench.assumptions.reflection.as_ref().map(|share| share.value.si());
    share.ok_or_else(|| Gap::needs("[reflection] in configs/assumptions.toml"))
}

/// From the piston's face to where the wave turns back, m; a pipe whose baffle is not written down yet lacks it.
fn length_to_reflection_m(pipe: &Pipe, share: f64) -> Known<f64> {
    pipe.length_to_reflection_m(share).map_err(|error| match error {
        EngineError::NotKnown { .. } => Gap::needs("pipe.sections (a baffle, which narrows)"),
        error => wrong("pipe")(error),
    })
}

/// The speed the pipe is tuned to; `gas` is the temperature of the gas in K where it was measured.
pub fn tuned(bench: &Bench<'_>, valve: Valve, gas: Option<f64>) -> Known<Tuned> {
    let exhaust = bench.timing(&EXHAUST, valve).map(|timing| timing.duration_deg());
    let (exhaust_deg, pipe, (share, gas_k)) =
        three(exhaust, bench.pipe(), both(reflection(bench), gas_k(bench, gas)))?;
    let in_pipe = wrong("pipe");
    let length_m = length_to_reflection_m(&pipe, share)?;
    let wave_m_s = wave_speed_m_s(gas_k).map_err(&in_pipe)?;
    let rpm = tuned_speed_rpm(exhaust_deg, wave_m_s, length_m).map_err(&in_pipe)?;
    let rpm_per_kelvin = speed_per_kelvin(rpm, gas_k).map_err(&in_pipe)?;
    Ok(Tuned { exhaust_deg, length_m, wave_m_s, gas_k, rpm, rpm_per_kelvin })
}

/// The pipe of a setup.
pub fn pipe_figures(bench: &Bench<'_>, gas: Option<f64>) -> PipeFigures {
    let pipe = bench.pipe();
    let stinger = both(bench.si("pipe.stinger_diameter"), pipe.clone());
    PipeFigures {
        names: bench.section_names(),
        steps: pipe.as_ref().ok().and_then(|pipe| pipe.steps(STEP_TOLERANCE_M).ok()).unwrap_or_default(),
        stinger_ratio: stinger
            .and_then(|(stinger, pipe)| stinger_ratio(stinger, pipe.header_inlet_m()).map_err(wrong("pipe"))),
        exhaust_deg: bench.timing(&EXHAUST, Valve::Open).map(|timing| timing.duration_deg()),
        reflection_m: both(pipe.clone(), reflection(bench))
            .and_then(|(pipe, share)| length_to_reflection_m(&pipe, share)),
        wave: gas_k(bench, gas).and_then(|gas| Ok((gas, wave_speed_m_s(gas).map_err(wrong("pipe"))?))),
        tuned: tuned(bench, Valve::Open, gas),
        tuned_shut: bench.has_valve().then(|| tuned(bench, Valve::Shut, gas)),
        pipe,
    }
}

/// What a wanted speed asks of the pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForSpeed {
    /// The speed wanted, rpm.
    pub rpm: f64,
    /// Length to where the wave turns back, m.
    pub length_m: f64,
    /// Length to add, negative to cut, m.
    pub add_m: f64,
}

/// What a wanted speed asks of a pipe.
pub fn for_speed(tuned: &Tuned, rpm: f64) -> Known<ForSpeed> {
    let in_pipe = wrong("pipe");
    Ok(ForSpeed {
        rpm,
        length_m: tuned_length_m(tuned.exhaust_deg, tuned.wave_m_s, rpm).map_err(&in_pipe)?,
        add_m: length_to_add_m(tuned.exhaust_deg, tuned.wave_m_s, tuned.length_m, rpm).map_err(&in_pipe)?,
    })
}
