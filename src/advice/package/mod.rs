//! The package: every part of the engine on one axis of engine speed, beside the speed the pipe is tuned to.
//!
//! A combination makes power when its parts want the same speed. Each row says what a part asks for, on which assumption, and how
//! far that lies from the pipe; the bands are the tuner's, from `configs/assumptions.toml`, and a part whose inputs are not written
//! down is not known.

mod beside;

pub use beside::{StandsApart, stands_apart};

use super::figures::head::head_figures;
use super::figures::ignition::ignition_figures;
use super::figures::intake::swing;
use super::figures::known::{both, three};
use super::figures::pipe::{self, Tuned};
use super::figures::ports::{Job, port_figures};
use super::figures::{Bench, Gap, Known, Valve};
use crate::notebook::{Band, ShareBand, VelocityBand};
use crate::quantity::fixed;

/// What a part asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Asks {
    /// One speed, rpm.
    Speed(f64),
    /// A span of speeds, rpm.
    Span(f64, f64),
}

/// How a part stands to the pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PipeStanding {
    /// It is the pipe.
    Pipe,
    /// It agrees.
    Agrees,
    /// It asks for more speed, by this much, rpm.
    Above(f64),
    /// It asks for less speed, by this much, rpm.
    Below(f64),
}

/// One part.
#[derive(Debug, Clone)]
pub struct PartOnAxis {
    /// The part.
    pub part: &'static str,
    /// What it asks for.
    pub asks: Known<Asks>,
    /// Where it should stand beside the pipe, rpm, for a part that has a place of its own.
    pub place: Option<(f64, f64)>,
    /// How it stands to the pipe; none where either is not known.
    pub standing: Option<PipeStanding>,
    /// What the figure rests on.
    pub assumption: String,
    /// The squish velocities that it names, m/s.
    pub velocities: Option<(f64, f64)>,
    /// Where that is from.
    pub source: String,
}

/// A package.
#[derive(Debug, Clone)]
pub struct Package {
    /// The pipe's tuned speed with the power valve open.
    pub pipe: Known<Tuned>,
    /// Every part, the pipe first.
    pub rows: Vec<PartOnAxis>,
    /// Whether it is set how far from the pipe a part may lie and still agree.
    pub agreement_known: bool,
}

/// Compares a setup's parts on one axis; `gas` is the pipe's gas temperature in K where it was measured.
pub fn package(bench: &Bench<'_>, gas: Option<f64>) -> Package {
    let tuned = pipe::tuned(bench, Valve::Open, gas);
    let at = tuned.clone().map(|tuned| tuned.rpm);
    let judge =
        Judge { pipe: at.ok(), agreement: bench.assumptions.agreement.as_ref().map(|a| a.value.si()) };
    let mut rows = vec![pipe_row(bench, &tuned, gas)];
    if bench.has_valve() {
        rows.push(shut_row(bench, gas));
    }
    let ports = port_figures(bench, Valve::Open);
    rows.extend(ports.jobs.iter().map(|job| judge.row(job_part(job), job_asks(bench, job), job_rests(job))));
    rows.push(judge.row(
        "intake tract",
        swing(bench).map(|swing| Asks::Speed(swing.rpm)),
        intake_rests(bench),
    ));
    rows.extend(judge.shares(bench));
    rows.push(squish_row(bench, &judge));
    Package { pipe: tuned, rows, agreement_known: judge.agreement.is_some() }
}

/// What a row rests on: the assumption, and where it is from.
type Rests = (String, String);

fn pipe_row(bench: &Bench<'_>, tuned: &Known<Tuned>, gas: Option<f64>) -> PartOnAxis {
    let asks = tuned.clone().map(|tuned| Asks::Speed(tuned.rpm));
    let (assumption, source) = pipe_rests(bench, gas);
    PartOnAxis {
        part: "pipe",
        standing: asks.is_ok().then_some(PipeStanding::Pipe),
        asks,
        place: None,
        assumption,
        velocities: None,
        source,
    }
}

fn shut_row(bench: &Bench<'_>, gas: Option<f64>) -> PartOnAxis {
    let asks = pipe::tuned(bench, Valve::Shut, gas).map(|tuned| Asks::Speed(tuned.rpm));
    let (assumption, source) = pipe_rests(bench, gas);
    PartOnAxis {
        part: "pipe, valve shut",
        standing: None,
        asks,
        place: None,
        assumption,
        velocities: None,
        source,
    }
}

fn pipe_rests(bench: &Bench<'_>, gas: Option<f64>) -> Rests {
    let (kelvin, source) = match (gas, &bench.assumptions.pipe_gas) {
        (Some(kelvin), _) => (kelvin, "as given".to_owned()),
        (None, Some(gas)) => (gas.value.si(), gas.source.clone()),
        (None, None) => return ("the gas temperature is not known".into(), String::new()),
    };
    (format!("gas at {} C", fixed(kelvin - 273.15, 0)), source)
}

fn job_part(job: &Job) -> &'static str {
    match job.name {
        "exhaust" => "exhaust area",
        "blowdown" => "blowdown",
        "transfers" => "transfers",
        _ => "intake window",
    }
}

fn job_asks(bench: &Bench<'_>, job: &Job) -> Known<Asks> {
    job.speeds_rpm(bench).map(|(from, to)| Asks::Span(from, to))
}

fn job_rests(job: &Job) -> Rests {
    job.band.as_ref().map_or_else(Default::default, |band| {
        (
            format!("specific time-area {} to {} s/m", fixed(band.from, 4), fixed(band.to, 4)),
            band.source.clone(),
        )
    })
}

fn intake_rests(bench: &Bench<'_>) -> Rests {
    let assumption = match bench.fields.text("ports.intake") {
        Some("reed") => "one swing of the tract a revolution",
        _ => "half a swing while the intake is open",
    };
    let air = bench.assumptions.intake_air.as_ref();
    let air = air.map(|air| format!(", mixture at {} C", fixed(air.value.si() - 273.15, 0)));
    (
        format!("{assumption}{}", air.unwrap_or_default()),
        "tract swinging on the case (Helmholtz), textbook, from memory".into(),
    )
}

fn squish_row(bench: &Bench<'_>, judge: &Judge) -> PartOnAxis {
    let band = bench.assumptions.squish.as_ref().map(VelocityBand::si);
    let asks =
        band.clone().ok_or_else(|| Gap::needs("[squish] in configs/assumptions.toml")).and_then(|band| {
            let (from, to) = head_figures(bench).speeds_rpm(band.from, band.to)?;
            Ok(Asks::Span(from, to))
        });
    let velocities = band.as_ref().map(|band| (band.from, band.to));
    let rests = band.map(|band| {
        (format!("squish velocity {} to {} m/s", fixed(band.from, 0), fixed(band.to, 0)), band.source)
    });
    PartOnAxis { velocities, ..judge.row("squish", asks, rests.unwrap_or_default()) }
}

/// What the parts are held against.
struct Judge {
    pipe: Option<f64>,
    agreement: Option<f64>,
}

impl Judge {
    fn row(&self, part: &'static str, asks: Known<Asks>, (assumption, source): Rests) -> PartOnAxis {
        let standing = asks.as_ref().ok().and_then(|asks| self.standing(*asks));
        PartOnAxis { part, asks, standing, place: None, assumption, velocities: None, source }
    }

    /// Agreement within the distance that is allowed; beyond it the whole distance counts.
    fn standing(&self, asks: Asks) -> Option<PipeStanding> {
        let pipe = self.pipe?;
        let allowed = self.agreement? * pipe;
        let (from, to) = match asks {
            Asks::Speed(speed) => (speed, speed),
            Asks::Span(from, to) => (from, to),
        };
        Some(if from > pipe + allowed {
            PipeStanding::Above(from - pipe)
        } else if to < pipe - allowed {
            PipeStanding::Below(pipe - to)
        } else {
            PipeStanding::Agrees
        })
    }

    /// The parts that have their own place beside the pipe's speed.
    fn shares(&self, bench: &Bench<'_>) -> Vec<PartOnAxis> {
        let mut rows = Vec::new();
        let corner = ignition_figures(bench).corner.and_then(|corner| {
            let rpm = corner.map(|corner| corner.rpm);
            rpm.ok_or_else(|| Gap::Without("the curve never retards".into()))
        });
        rows.push(self.share_row("ignition retard", corner, bench.assumptions.retard.as_ref(), "retard"));
        if bench.has_valve() || bench.fields.quantity("ports.power_valve.open").is_some() {
            let open = bench.si("ports.power_valve.open");
            rows.push(self.share_row(
                "valve fully open",
                open,
                bench.assumptions.power_valve.as_ref(),
                "power_valve",
            ));
        }
        let limiter = bench.si("ignition.limiter");
        rows.push(self.share_row("limiter", limiter, bench.assumptions.limiter.as_ref(), "limiter"));
        rows
    }

    /// A speed that should lie at a share of the pipe's: above or below is counted from the nearer end of its place.
    fn share_row(
        &self,
        part: &'static str,
        speed: Known<f64>,
        band: Option<&ShareBand>,
        table: &str,
    ) -> PartOnAxis {
        let band = band
            .map(ShareBand::si)
            .ok_or_else(|| Gap::needs(&format!("[{table}] in configs/assumptions.toml")));
        let judged = three(speed.clone(), band.clone(), self.pipe.ok_or_else(|| Gap::needs("the pipe")));
        let judged = judged.ok();
        let place = judged.as_ref().map(|(_, band, pipe)| (band.from * pipe, band.to * pipe));
        let standing = judged.map(|(speed, band, pipe)| standing_in(speed, &band, pipe));
        let (assumption, source) = both(band, Ok(())).map_or_else(
            |_| Default::default(),
            |(band, ())| {
                let percent = |share: f64| fixed(share * 100.0, 0);
                (format!("{} to {} % of the pipe's speed", percent(band.from), percent(band.to)), band.source)
            },
        );
        PartOnAxis {
            part,
            asks: speed.map(Asks::Speed),
            standing,
            place,
            assumption,
            velocities: None,
            source,
        }
    }
}

fn standing_in(speed: f64, band: &Band, pipe: f64) -> PipeStanding {
    let (low, high) = (band.from * pipe, band.to * pipe);
    if speed > high {
        PipeStanding::Above(speed - high)
    } else if speed < low {
        PipeStanding::Below(low - speed)
    } else {
        PipeStanding::Agrees
    }
}
