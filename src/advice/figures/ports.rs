//! Ports: timings, areas and time-areas of a setup.

use super::bench::{Bench, EXHAUST, NamedWindow, TRANSFERS, Valve};
use super::known::{Gap, Known, both, three, wrong};
use crate::engine::ports::{
    Blowdown, Ports, Timing, blowdown, rotary_timing, specific_time_area_s_m, speed_for_rpm, timing,
};
use crate::notebook::Band;
use crate::quantity::fixed;

/// A disc that is open for less is doubted, degrees (common practice, no source).
const SHORT_DISC_DEG: f64 = 160.0;

/// One window's figures.
#[derive(Debug, Clone)]
pub struct WindowFigures {
    /// Its name, kind and count.
    pub window: NamedWindow,
    /// When it opens and closes.
    pub timing: Known<Timing>,
    /// Area of all alike at bottom dead centre, m2.
    pub area_m2: Known<f64>,
    /// Width of one over the bore.
    pub width_over_bore: Known<f64>,
}

/// Windows that do one job.
#[derive(Debug, Clone)]
pub struct Job {
    /// The job: "exhaust", "blowdown", "transfers", "intake".
    pub name: &'static str,
    /// Degrees it lasts.
    pub degrees: Known<f64>,
    /// Angle-area, m2 deg.
    pub angle_area_m2_deg: Known<f64>,
    /// The area over the angle, for a plot.
    pub curve: Vec<(f64, f64)>,
    /// The band its specific time-area is held against, where one is assumed.
    pub band: Option<Band>,
}

/// All ports with the power valve in one position.
#[derive(Debug, Clone)]
pub struct PortFigures {
    /// The position.
    pub valve: Valve,
    /// Each window.
    pub windows: Vec<WindowFigures>,
    /// Each job.
    pub jobs: Vec<Job>,
    /// Degrees of blowdown, negative when the transfers open first.
    pub blowdown_deg: Known<f64>,
    /// When the intake opens and closes; reeds have no timing.
    pub intake: Known<Timing>,
}

/// Degrees between two points of an area curve.
const CURVE_STEP_DEG: f64 = 1.0;

/// The ports of a setup.
pub fn port_figures(bench: &Bench<'_>, valve: Valve) -> PortFigures {
    let exhaust = bench.exhaust(valve);
    let transfers = bench.transfers();
    let degrees = both(bench.timing(&EXHAUST, valve), bench.timing(&TRANSFERS, Valve::Open))
        .map(|(exhaust, transfers)| transfers.opens_deg - exhaust.opens_deg);
    let before = both(exhaust.clone(), transfers.clone())
        .and_then(|(exhaust, transfers)| blowdown(&exhaust, &transfers).map_err(wrong("ports.windows")));
    let assumed = bench.assumptions;
    let mut jobs = vec![
        job(
            "exhaust",
            bench.timing(&EXHAUST, valve),
            exhaust,
            assumed.exhaust.as_ref().map(crate::notebook::TimeAreaBand::si),
        ),
        blowdown_job(
            degrees.clone(),
            before,
            assumed.blowdown.as_ref().map(crate::notebook::TimeAreaBand::si),
        ),
        job(
            "transfers",
            bench.timing(&TRANSFERS, Valve::Open),
            transfers,
            assumed.transfers.as_ref().map(crate::notebook::TimeAreaBand::si),
        ),
    ];
    let windows = windows(bench, valve);
    if windows.iter().any(|one| one.window.kind == "intake") {
        let band = assumed.intake_window.as_ref().map(crate::notebook::TimeAreaBand::si);
        let ports = intake_ports(bench);
        jobs.push(job("intake", ports.clone().map(|ports| ports.timing()), ports, band));
    }
    PortFigures { valve, windows, jobs, blowdown_deg: degrees, intake: intake_timing(bench) }
}

fn windows(bench: &Bench<'_>, valve: Valve) -> Vec<WindowFigures> {
    let figures = |window: NamedWindow| {
        let by_skirt = window.kind == "intake";
        let depth = bench.si("engine.stroke");
        let opens = both(window.window.clone(), bench.crank()).and_then(|(shape, crank)| {
            if by_skirt {
                return intake_ports(bench).map(|ports| ports.timing());
            }
            timing(&shape, &crank).map_err(wrong(&format!("ports.windows.{}", window.name)))
        });
        // The upper edge alone says when a window opens; only areas need the rest.
        let opens = match opens {
            Err(Gap::Needs(_)) if !by_skirt => bench.edge_timing(&window.name, valve).or(opens),
            opens => opens,
        };
        let area = both(window.window.clone(), depth).map(|(shape, stroke)| {
            let one = if by_skirt { shape.full_area_m2() } else { shape.open_area_m2(stroke) };
            f64::from(window.count) * one
        });
        let width = both(window.window.clone(), bench.si("engine.bore"));
        WindowFigures {
            timing: opens,
            area_m2: area,
            width_over_bore: width.map(|(shape, bore)| shape.width_m() / bore),
            window,
        }
    };
    bench.windows(valve).into_iter().map(figures).collect()
}

fn job(name: &'static str, timing: Known<Timing>, ports: Known<Ports>, band: Option<Band>) -> Job {
    let curve = ports.as_ref().ok().and_then(|ports| ports.area_curve(CURVE_STEP_DEG).ok());
    Job {
        name,
        degrees: timing.map(|timing| timing.duration_deg()),
        angle_area_m2_deg: ports.map(|ports| ports.angle_area_m2_deg()),
        curve: curve.unwrap_or_default(),
        band,
    }
}

fn blowdown_job(degrees: Known<f64>, before: Known<Blowdown>, band: Option<Band>) -> Job {
    Job {
        name: "blowdown",
        degrees,
        angle_area_m2_deg: before.map(|blowdown| blowdown.angle_area_m2_deg),
        curve: Vec::new(),
        band,
    }
}

/// The intake windows that the skirt works.
fn intake_ports(bench: &Bench<'_>) -> Known<Ports> {
    let (windows, skirt, crank) = three(
        bench.counted(&super::bench::INTAKE, Valve::Open),
        bench.si("ports.skirt_length"),
        bench.crank(),
    )?;
    Ports::uncovered_by_skirt(&windows, skirt, &crank).map_err(wrong("ports"))
}

/// When the intake opens and closes.
pub fn intake_timing(bench: &Bench<'_>) -> Known<Timing> {
    match bench.fields.text("ports.intake") {
        Some("reed") => Err(Gap::Without("reed intake, no timing".into())),
        Some("piston-port") => intake_ports(bench).map(|ports| ports.timing()),
        Some("rotary-valve") => {
            let (opens, shuts, crank) =
                three(bench.si("ports.rotary_opens"), bench.si("ports.rotary_shuts"), bench.crank())?;
            rotary_timing(opens, shuts, &crank).map_err(wrong("ports"))
        }
        _ => Err(Gap::needs("ports.intake")),
    }
}

/// What to say of a disc that is open for too short a time to be believed.
pub fn disc_doubt(bench: &Bench<'_>, timing: &Timing) -> Option<String> {
    let disc = bench.fields.text("ports.intake") == Some("rotary-valve");
    (disc && timing.duration_deg() < SHORT_DISC_DEG).then(|| {
        format!(
            "A disc that is open for {} degrees only is doubted: is rotary_opens counted after bottom dead centre, and rotary_shuts after top? Most are open for 180 to 220 (common practice, no source).",
            fixed(timing.duration_deg(), 0)
        )
    })
}

impl Job {
    /// Specific time-area at a speed, s/m.
    pub fn specific_s_m(&self, bench: &Bench<'_>, rpm: f64) -> Known<f64> {
        let (area, swept) = both(self.angle_area_m2_deg.clone(), bench.swept_m3())?;
        specific_time_area_s_m(area, swept, rpm).map_err(wrong("engine"))
    }

    /// The speeds between which the specific time-area lies in its band, rpm, the lower first.
    pub fn speeds_rpm(&self, bench: &Bench<'_>) -> Known<(f64, f64)> {
        let band = self
            .band
            .as_ref()
            .ok_or_else(|| Gap::Needs(vec![format!("[{}] in configs/assumptions.toml", self.table())]));
        let (area, swept, band) = three(self.angle_area_m2_deg.clone(), bench.swept_m3(), band.cloned())?;
        if area <= 0.0 {
            return Err(Gap::Without("the transfers open before the exhaust does".into()));
        }
        let speed = |time_area| speed_for_rpm(area, swept, time_area).map_err(wrong("engine"));
        Ok((speed(band.to)?, speed(band.from)?))
    }

    /// The table of configs/assumptions.toml that holds its band.
    pub fn table(&self) -> &'static str {
        if self.name == "intake" { "intake_window" } else { self.name }
    }
}
