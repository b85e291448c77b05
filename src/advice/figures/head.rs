//! The head: compression ratios, the squish band and its velocity, and what a cut would do.

use super::bench::{Bench, EXHAUST, Valve};
use super::known::{Gap, Known, both, three, wrong};
use crate::advice::held::LeastSquish;
use crate::engine::head::squish::{Squish, SquishPeak, area_share};
use crate::engine::head::{CutAt, crankcase_ratio, cut_for_clearance_m};

/// A head's figures.
#[derive(Debug, Clone)]
pub struct HeadFigures {
    /// Swept volume, m3.
    pub swept_m3: Known<f64>,
    /// Chamber volume at top dead centre, m3.
    pub chamber_m3: Known<f64>,
    /// Compression ratio over the full stroke.
    pub full_ratio: Known<f64>,
    /// Compression ratio from where the exhaust closes.
    pub trapped_ratio: Known<f64>,
    /// The same with the power valve shut, on a bike that has one.
    pub trapped_ratio_shut: Option<Known<f64>>,
    /// Crankcase compression ratio.
    pub crankcase_ratio: Known<f64>,
    /// Squish clearance, m.
    pub clearance_m: Known<f64>,
    /// Squish area over bore area.
    pub squish_area: Known<f64>,
    /// The squish of this head over this crank.
    pub squish: Known<Squish>,
}

/// The head of a setup.
pub fn head_figures(bench: &Bench<'_>) -> HeadFigures {
    let swept_m3 = bench.swept_m3();
    let case = both(swept_m3.clone(), bench.si("engine.crankcase_volume"));
    let squish = both(bench.head(), bench.crank());
    HeadFigures {
        clearance_m: bench.si("head.squish_clearance"),
        chamber_m3: bench.si("head.chamber_volume"),
        full_ratio: both(bench.chamber(), bench.si("engine.stroke"))
            .and_then(|(chamber, stroke)| chamber.full_ratio(stroke).map_err(wrong("head"))),
        trapped_ratio: trapped(bench, Valve::Open),
        trapped_ratio_shut: bench.has_valve().then(|| trapped(bench, Valve::Shut)),
        crankcase_ratio: case.and_then(|(swept, case)| crankcase_ratio(swept, case).map_err(wrong("engine"))),
        squish_area: both(bench.si("engine.bore"), bench.si("head.band_width"))
            .and_then(|(bore, band)| area_share(bore, band).map_err(wrong("head"))),
        squish: squish.and_then(|(head, crank)| Squish::new(&head, &crank).map_err(wrong("head"))),
        swept_m3,
    }
}

/// Depth below the crown at top dead centre at which the exhaust closes last, m.
fn closing_depth_m(bench: &Bench<'_>, valve: Valve) -> Known<f64> {
    let (timing, crank) = both(bench.timing(&EXHAUST, valve), bench.crank())?;
    Ok(crank.depth_m(timing.closes_deg))
}

fn trapped(bench: &Bench<'_>, valve: Valve) -> Known<f64> {
    let (chamber, depth) = both(bench.chamber(), closing_depth_m(bench, valve))?;
    chamber.trapped_ratio(depth).map_err(wrong("head"))
}

impl HeadFigures {
    /// Highest squish velocity at a speed, and where.
    pub fn peak(&self, rpm: f64) -> Known<SquishPeak> {
        self.squish.clone().and_then(|squish| squish.peak(rpm).map_err(wrong("head")))
    }

    /// The speeds, rpm, at which the squish velocity peaks at two velocities.
    pub fn speeds_rpm(&self, from_m_s: f64, to_m_s: f64) -> Known<(f64, f64)> {
        let squish = self.squish.clone()?;
        let speed = |velocity| squish.rpm_for_peak(velocity).map_err(wrong("head"));
        Ok((speed(from_m_s)?, speed(to_m_s)?))
    }
}

/// What is wanted of a head.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// A compression ratio over the full stroke.
    FullRatio(f64),
    /// A compression ratio from the exhaust's closing, the metal coming off here.
    TrappedRatio(f64, CutAt),
    /// A squish clearance, m.
    Clearance(f64),
    /// A highest squish velocity, m/s, at a speed, rpm: reached by the clearance alone.
    Velocity(f64, f64),
}

/// A cut, unless it leaves less squish clearance than the least of configs/limits.toml.
pub fn clear_of_the_head(bench: &Bench<'_>, cut_m: Known<f64>, least: Option<&LeastSquish>) -> Known<f64> {
    let cut = cut_m?;
    let Some(least) = least else { return Ok(cut) };
    let left = bench.si("head.squish_clearance").map(|clearance| clearance - cut);
    if cut <= 0.0 || !left.is_ok_and(|left| left < least.metres - 1e-9) {
        return Ok(cut);
    }
    Err(Gap::Without(format!(
        "not to be cut: that would leave less squish clearance than the least ({}), and the piston meets the head at speed",
        least.words
    )))
}

/// The cut that a wish asks for, m; negative asks for a thicker gasket.
pub fn cut_for(bench: &Bench<'_>, wanted: Wanted) -> Known<f64> {
    let in_head = wrong("head");
    match wanted {
        Wanted::FullRatio(ratio) => {
            let (chamber, stroke) = both(bench.chamber(), bench.si("engine.stroke"))?;
            chamber.cut_for_full_ratio_m(ratio, stroke).map_err(in_head)
        }
        Wanted::TrappedRatio(ratio, at) => {
            let (chamber, depth) = both(bench.chamber(), closing_depth_m(bench, Valve::Open))?;
            chamber.cut_for_trapped_ratio_m(ratio, depth, at).map_err(in_head)
        }
        Wanted::Clearance(clearance) => {
            cut_for_clearance_m(bench.si("head.squish_clearance")?, clearance).map_err(in_head)
        }
        Wanted::Velocity(velocity, rpm) => {
            let (head, crank, clearance) =
                three(bench.head(), bench.crank(), bench.si("head.squish_clearance"))?;
            let squish = Squish::new(&head, &crank).map_err(&in_head)?;
            let wanted = squish.clearance_for_peak_m(velocity, rpm).map_err(&in_head)?;
            cut_for_clearance_m(clearance, wanted).map_err(in_head)
        }
    }
}
