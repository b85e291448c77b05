//! Ignition: the base setting as degrees and as travel, and when the spark comes at each speed, as a sum that is shown.

use super::bench::Bench;
use super::known::{Gap, Known, both, wrong};
use crate::engine::spark::{
    FiringSum, MapAngles, RetardCorner, SteepestStep, Timing, retard_corner, steepest_step,
};
use crate::notebook::MapTable;
use crate::quantity::Dimension;

/// The field that holds the map.
pub const MAP: &str = "ignition.advance";

/// An ignition's figures.
#[derive(Debug, Clone)]
pub struct IgnitionFigures {
    /// Base setting, degrees before top dead centre.
    pub base_deg: Known<f64>,
    /// Base setting, travel before top dead centre, m.
    pub base_m: Known<f64>,
    /// Delay of pickup and box, s; 0 where none is written down, which is said.
    pub lag_s: f64,
    /// Whether the lag is written down.
    pub lag_known: bool,
    /// What the map's angles mean.
    pub angles: Known<MapAngles>,
    /// Where the retard begins, at full throttle; none where it never does.
    pub corner: Known<Option<RetardCorner>>,
    /// The steepest step of the full-throttle curve.
    pub steepest: Known<SteepestStep>,
}

/// The ignition of a setup.
pub fn ignition_figures(bench: &Bench<'_>) -> IgnitionFigures {
    let curve = full_throttle_curve(bench);
    IgnitionFigures {
        base_m: base_m(bench),
        base_deg: base_deg(bench),
        lag_s: bench.si_or("ignition.lag", 0.0),
        lag_known: bench.fields.quantity("ignition.lag").is_some(),
        angles: angles(bench),
        corner: curve.clone().and_then(|curve| retard_corner(&curve).map_err(wrong("ignition"))),
        steepest: curve.and_then(|curve| steepest_step(&curve).map_err(wrong("ignition"))),
    }
}

/// The base setting in degrees; one that was set with a dial gauge goes through the crank.
fn base_deg(bench: &Bench<'_>) -> Known<f64> {
    let base = bench.fields.quantity("ignition.base").ok_or_else(|| Gap::needs("ignition.base"))?;
    if base.dimension() != Dimension::Length {
        return Ok(base.si());
    }
    degrees_for_travel(bench, base.si())
}

/// The base setting as travel; one that was set with a dial gauge needs no crank.
fn base_m(bench: &Bench<'_>) -> Known<f64> {
    match bench.fields.quantity("ignition.base") {
        Some(base) if base.dimension() == Dimension::Length => Ok(base.si()),
        _ => travel_m(bench, base_deg(bench)),
    }
}

/// Travel before top dead centre, m, at an angle in degrees before it; negative after it.
pub fn travel_m(bench: &Bench<'_>, degrees: Known<f64>) -> Known<f64> {
    let (degrees, crank) = both(degrees, bench.crank())?;
    let travel = crank.travel_before_top_m(degrees);
    Ok(if degrees < 0.0 { -travel } else { travel })
}

/// Degrees before top dead centre at a travel before it, m; both negative after it.
pub fn degrees_for_travel(bench: &Bench<'_>, travel_m: f64) -> Known<f64> {
    let crank = bench.crank()?;
    let degrees = if travel_m < 0.0 {
        crank.angle_going_down_deg(-travel_m).map(|after| -after)
    } else {
        crank.before_top_deg(travel_m)
    };
    degrees.map_err(wrong("ignition"))
}

fn angles(bench: &Bench<'_>) -> Known<MapAngles> {
    match bench.fields.text("ignition.map_kind") {
        Some("relative") => Ok(MapAngles::Relative),
        Some("absolute") => Ok(MapAngles::Absolute { assumed_base_deg: bench.si("ignition.assumed_base")? }),
        _ => Err(Gap::needs("ignition.map_kind")),
    }
}

/// The ignition map.
pub fn map<'b>(bench: &Bench<'b>) -> Known<&'b MapTable> {
    bench.fields.map(MAP).ok_or_else(|| Gap::needs(MAP))
}

/// The map's curve at full throttle: its row of the widest opening.
fn full_throttle_curve(bench: &Bench<'_>) -> Known<Vec<(f64, f64)>> {
    let map = map(bench)?;
    let last = map.rows.last().ok_or_else(|| Gap::needs(MAP))?;
    Ok(map.rpm.iter().copied().zip(last.iter().copied()).collect())
}

/// When the spark comes at a speed and a throttle opening in percent.
pub fn firing(bench: &Bench<'_>, rpm: f64, throttle: f64) -> Known<FiringSum> {
    let ((map, angles), base) = both(both(map(bench), angles(bench)), base_deg(bench))?;
    let in_map = map.value_at(rpm, throttle).ok_or_else(|| Gap::needs(MAP))?;
    let timing = Timing::new(angles, base, bench.si_or("ignition.lag", 0.0)).map_err(wrong("ignition"))?;
    timing.firing(in_map, rpm).map_err(wrong("ignition"))
}

/// The ignition map as the crank sees it: each cell the degrees before top dead centre at which the spark comes.
pub fn fired_map(bench: &Bench<'_>) -> Known<MapTable> {
    let mut fired = map(bench)?.clone();
    let throttle = fired.throttle.clone();
    for (row, cells) in fired.rows.iter_mut().enumerate() {
        let opening = throttle.get(row).copied().unwrap_or(100.0);
        for (rpm, cell) in fired.rpm.iter().zip(cells) {
            *cell = firing(bench, *rpm, opening)?.firing_deg;
        }
    }
    Ok(fired)
}
