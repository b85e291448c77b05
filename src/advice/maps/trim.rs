//! The trim of an injected bike worked into its fuel map, cell by cell, and the injector's duty with it.
//!
//! The factor is of the fuel. What it does to a cell depends on what the cell means:
//!
//! | cells | after |
//! |---|---|
//! | ms | dead time + (cell - dead time) x factor: the dead time passes nothing |
//! | mg | cell x factor |
//! | percent | (100 + cell) x factor - 100 |
//!
//! Each is rounded up in the last digit that is set, 0.001 ms, 0.01 mg or 0.1 %: never leaner than computed,
//! to a millionth of that digit. A factor of 1 leaves a cell as it is written. Source: Bernoulli's law of the
//! injector ([`crate::engine::injection`]); the digits are common practice, no source.

use thiserror::Error;

use crate::advice::cautions;
use crate::advice::figures::known::{both, three, wrong};
use crate::advice::figures::{Gap, Known};
use crate::engine::injection::{duty_cycle, pulse_s, trimmed_pulse_s};
use crate::engine::{EngineError, FACTOR};
use crate::notebook::fields::node::Sort;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::maps::rules::{Wrong, check};
use crate::notebook::{AirCompensation, CellPlace, Combination, FuelMapUnit, Injection, MapTable};
use crate::quantity::{Dimension, Measure, fixed, nearly_equal, trimmed};

/// The field of the fuel map.
pub const MAP: &str = "injection.fuel";

/// Duty above which an injector is at the end of its range. Common practice, no source.
const HIGH_DUTY: f64 = 0.85;

/// A two-stroke injects once in each revolution.
const PULSES_PER_REVOLUTION: f64 = 1.0;

/// The factor on the fuel: above 1 is more, 0.1 to 10.
#[derive(Clone, Copy)]
pub enum FuelFactor<'a> {
    /// One for the whole map.
    Everywhere(f64),
    /// One for each throttle opening, percent; a map over engine speed alone takes that of full throttle.
    ByThrottle(&'a dyn Fn(f64) -> f64),
}

/// A fuel map that is to be trimmed.
#[derive(Clone, Copy)]
pub struct TrimMapRequest<'a> {
    /// The injection of the setup that the factor starts from.
    pub injection: &'a Injection,
    /// Its whole fuel map, written in the setup or in a file under maps/.
    pub map: Option<&'a MapTable>,
    /// Engine speed at which the box limits, rpm, where it is known.
    pub limiter_rpm: Option<f64>,
    /// Density of the fuel at the injector, kg/m3, where it is known.
    pub fuel_density: Option<f64>,
    /// The factor.
    pub factor: FuelFactor<'a>,
}

/// How long the injector is driven at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DutyAt {
    /// Engine speed, rpm.
    pub rpm: f64,
    /// Throttle opening, percent; none in a map over engine speed alone.
    pub throttle: Option<f64>,
    /// Pulse, ms.
    pub pulse_ms: f64,
    /// Share of the time: 1 is always.
    pub share: f64,
}

impl DutyAt {
    /// "9500 rpm, 100 % throttle".
    fn place(&self) -> String {
        let opening = self.throttle.map(|throttle| format!(", {} % throttle", trimmed(throttle, 1)));
        format!("{} rpm{}", fixed(self.rpm, 0), opening.unwrap_or_default())
    }
}

/// The duty before and after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duty {
    /// Whether the speed is the limiter's; otherwise it is the highest of the map.
    pub at_limiter: bool,
    /// At that speed and the throttle with the longest pulse, before.
    pub before: DutyAt,
    /// The same after.
    pub after: DutyAt,
    /// The most at any speed up to there, before: a pulse that shortens towards the top has its most below.
    pub most_before: DutyAt,
    /// The same after.
    pub most_after: DutyAt,
}

/// A trimmed fuel map, and what there is to say of it.
#[derive(Debug, Clone, PartialEq)]
pub struct TrimMap {
    /// What the cells mean.
    pub unit: FuelMapUnit,
    /// The map as it was.
    pub before: MapTable,
    /// The map trimmed, on the same axes.
    pub after: MapTable,
    /// The factor on the fuel of each row.
    pub factors: Vec<f64>,
    /// Dead time that was reckoned with, ms; none where it is not known or not needed for the cells.
    pub dead_time_ms: Option<f64>,
    /// Duty of the injector.
    pub duty: Known<Duty>,
    /// What can do harm, as sentences.
    pub warnings: Vec<String>,
    /// What else should be known, as sentences.
    pub notes: Vec<String>,
    /// The cautions that go with it, as sentences.
    pub cautions: Vec<String>,
}

/// Why a fuel map cannot be trimmed.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum TrimMapError {
    /// There is none.
    #[error("There is no fuel map to trim: {MAP} is not written down.")]
    NoMap,
    /// Cells that could mean anything.
    #[error("The cells of the fuel map have no unit: injection.fuel_map_unit is not written down.")]
    NoUnit,
    /// Axes and rows that do not fit, or cells that no map may have.
    #[error("The fuel map cannot be trimmed: {}", .0.message)]
    BadMap(Wrong),
    /// A pulse or a mass below nothing.
    #[error("The cell at {place} is {}: less than no fuel.", trimmed(*.cell, 3))]
    BelowNothing {
        /// Where.
        place: CellPlace,
        /// What it holds.
        cell: f64,
    },
    /// A factor that is no change of air or fuel.
    #[error("{}{source}", opening_words(*.throttle))]
    Factor {
        /// Throttle opening of the row, percent, where rows have their own.
        throttle: Option<f64>,
        /// Why.
        source: EngineError,
    },
    /// A trimmed cell that no map may have.
    #[error("Trimmed, the map is no fuel map any more: {}", .0.message)]
    TooFar(Wrong),
    /// A cell that cannot be reckoned with.
    #[error("injection.dead_time: {0}")]
    Calculation(EngineError),
}

impl TrimMapError {
    /// The dotted field to look at, where there is one.
    pub fn field(&self) -> Option<&'static str> {
        match self {
            Self::NoMap | Self::BadMap(_) | Self::BelowNothing { .. } | Self::TooFar(_) => Some(MAP),
            Self::NoUnit => Some("injection.fuel_map_unit"),
            Self::Calculation(_) => Some("injection.dead_time"),
            Self::Factor { .. } => None,
        }
    }

    /// The way out, as sentences.
    pub fn help(&self) -> Guidance {
        match self {
            Self::NoMap => {
                Guidance::from("Read it from a CSV file with ")
                    + Command::LoadFuelMap
                    + ", or set injection.trim, which needs no map."
            }
            Self::NoUnit => {
                "Set it to \"ms\", \"mg\" or \"percent\": the same factor moves each of them differently."
                    .into()
            }
            Self::BadMap(wrong) => wrong.help.as_str().into(),
            Self::BelowNothing { .. } => {
                "Correct the cell, or injection.fuel_map_unit: only cells in percent go below 0.".into()
            }
            Self::Factor { .. } => "Check the air and the fuel it was computed from.".into(),
            Self::TooFar(wrong) => {
                format!("{} So much is no trim: the map must be made anew.", wrong.help).into()
            }
            Self::Calculation(_) => "Check injection.dead_time.".into(),
        }
    }
}

fn opening_words(throttle: Option<f64>) -> String {
    throttle.map(|throttle| format!("At {} % throttle: ", trimmed(throttle, 1))).unwrap_or_default()
}

/// Trims a fuel map. Nothing is written: the map stays in the setup until another is read into it.
pub fn trim_map(request: &TrimMapRequest<'_>) -> Result<TrimMap, TrimMapError> {
    let injection = request.injection;
    let before = request.map.ok_or(TrimMapError::NoMap)?;
    let unit = injection.fuel_map_unit.ok_or(TrimMapError::NoUnit)?;
    let Some(Sort::Cells(shape)) = Combination::leaf(MAP).map(|leaf| &leaf.sort) else {
        return Err(TrimMapError::NoMap);
    };
    check(before.clone(), shape).map_err(TrimMapError::BadMap)?;
    let below = before.cells().find(|(_, cell)| unit != FuelMapUnit::Percent && *cell < 0.0);
    if let Some((place, cell)) = below {
        return Err(TrimMapError::BelowNothing { place, cell });
    }
    let factors = factors(before, request.factor)?;
    let dead_time = injection.dead_time.as_ref().map(Measure::si).filter(|_| unit == FuelMapUnit::Ms);
    let mut after = before.clone();
    for (cells, factor) in after.rows.iter_mut().zip(&factors) {
        for cell in cells {
            *cell = trimmed_cell(*cell, unit, dead_time.unwrap_or(0.0), *factor)?;
        }
    }
    check(after.clone(), shape).map_err(TrimMapError::TooFar)?;
    let duty = duty(request, unit, before, &after);
    let takes_fuel_away = factors.iter().any(|factor| *factor < 1.0 && !nearly_equal(*factor, 1.0));
    let mut answer = TrimMap {
        unit,
        before: before.clone(),
        after,
        factors,
        dead_time_ms: dead_time.map(|time| 1e3 * time),
        duty,
        warnings: Vec::new(),
        notes: Vec::new(),
        cautions: cautions::for_step(takes_fuel_away, true),
    };
    answer.warnings = warnings(&answer, injection);
    answer.notes = notes(&answer, request);
    Ok(answer)
}

/// The factor of each row.
fn factors(map: &MapTable, factor: FuelFactor<'_>) -> Result<Vec<f64>, TrimMapError> {
    let row = |throttle: Option<f64>| {
        let (found, throttle) = match factor {
            FuelFactor::Everywhere(factor) => (factor, None),
            FuelFactor::ByThrottle(at) => (at(throttle.unwrap_or(100.0)), throttle),
        };
        FACTOR.check(found).map_err(|source| TrimMapError::Factor { throttle, source })
    };
    openings(map).into_iter().map(row).collect()
}

/// The throttle openings; one that is none in a map over engine speed alone.
fn openings(map: &MapTable) -> Vec<Option<f64>> {
    if map.throttle.is_empty() { vec![None] } else { map.throttle.iter().copied().map(Some).collect() }
}

/// A cell after the factor, up to the next digit that is set.
fn trimmed_cell(cell: f64, unit: FuelMapUnit, dead_time_s: f64, factor: f64) -> Result<f64, TrimMapError> {
    let stays = nearly_equal(factor, 1.0) || (unit == FuelMapUnit::Ms && passes_nothing(cell, dead_time_s));
    if stays {
        return Ok(cell);
    }
    let (exact, parts) = match unit {
        FuelMapUnit::Ms => {
            let pulse = trimmed_pulse_s(1e-3 * cell, dead_time_s, factor);
            (1e3 * pulse.map_err(TrimMapError::Calculation)?, 1000.0)
        }
        FuelMapUnit::Mg => (cell * factor, 100.0),
        FuelMapUnit::Percent => ((100.0 + cell) * factor - 100.0, 10.0),
    };
    // A little short of it: rounding in the last place must not cost a digit. Plus 0: no negative zero.
    Ok((exact * parts - 1e-6).ceil() / parts + 0.0)
}

/// Whether a pulse in milliseconds ends before the injector has opened.
fn passes_nothing(cell_ms: f64, dead_time_s: f64) -> bool {
    1e-3 * cell_ms <= dead_time_s || nearly_equal(1e-3 * cell_ms, dead_time_s)
}

/// From a cell to the pulse of one injector.
struct Pulses {
    dead_time_s: f64,
    /// The trim over the whole map, as a factor.
    trim: f64,
    /// For cells in mg, which all injectors bring together: how many there are, and the flow of one, kg/s.
    injectors: Option<(f64, f64)>,
}

impl Pulses {
    fn of(request: &TrimMapRequest<'_>, unit: FuelMapUnit) -> Known<Self> {
        let injection = request.injection;
        let trim = 1.0 + injection.trim.as_ref().map_or(0.0, Measure::si);
        let dead_time = injection.dead_time.as_ref().map(Measure::si);
        let needs = |field: &'static str| move || Gap::needs(field);
        match unit {
            FuelMapUnit::Ms => Ok(Self { dead_time_s: dead_time.unwrap_or(0.0), trim, injectors: None }),
            FuelMapUnit::Mg => {
                let dead_time = dead_time.ok_or_else(needs("injection.dead_time"));
                let number = injection.injectors.as_ref().map(Measure::si);
                let number = number.ok_or_else(needs("injection.injectors"));
                let (dead_time_s, number, flow) = three(dead_time, number, flow(request))?;
                Ok(Self { dead_time_s, trim, injectors: Some((number, flow)) })
            }
            FuelMapUnit::Percent => Err(Gap::Without(
                "not known: the cells are percent of a map in the box; it needs that map, in ms or mg".into(),
            )),
        }
    }

    /// The pulse a cell stands for, s.
    fn seconds(&self, cell: f64) -> Result<f64, EngineError> {
        match self.injectors {
            Some((number, flow)) => pulse_s(1e-6 * cell * self.trim / number, flow, self.dead_time_s),
            None if passes_nothing(cell, self.dead_time_s) => Ok(1e-3 * cell),
            None => trimmed_pulse_s(1e-3 * cell, self.dead_time_s, self.trim),
        }
    }

    fn at(&self, map: &MapTable, rpm: f64, throttle: Option<f64>) -> Known<DutyAt> {
        let cell = map.value_at(rpm, throttle.unwrap_or(100.0)).ok_or_else(|| Gap::needs(MAP))?;
        let pulse = self.seconds(cell).map_err(wrong("injection"))?;
        let share = duty_cycle(pulse, rpm, PULSES_PER_REVOLUTION).map_err(wrong("ignition.limiter"))?;
        Ok(DutyAt { rpm, throttle, pulse_ms: 1e3 * pulse, share })
    }

    /// The most over the throttle at one speed.
    fn most_at(&self, map: &MapTable, rpm: f64) -> Known<DutyAt> {
        let found = openings(map).into_iter().map(|throttle| self.at(map, rpm, throttle));
        most(found.collect::<Known<Vec<_>>>()?)
    }

    /// The most over throttle and speed, up to a speed. Between two breakpoints the pulse is a straight line
    /// a + b N, so that the duty is a parabola, with its top at -a / 2b.
    fn most_up_to(&self, map: &MapTable, rpm: f64) -> Known<DutyAt> {
        let mut speeds: Vec<f64> = map.rpm.iter().copied().filter(|at| *at >= 1.0 && *at < rpm).collect();
        speeds.push(rpm);
        let mut found = Vec::new();
        for throttle in openings(map) {
            let points: Vec<_> =
                speeds.iter().map(|speed| self.at(map, *speed, throttle)).collect::<Known<_>>()?;
            for pair in points.windows(2) {
                let &[left, right] = pair else { continue };
                let slope = (right.pulse_ms - left.pulse_ms) / (right.rpm - left.rpm);
                let top = (slope * left.rpm - left.pulse_ms) / (2.0 * slope);
                if slope < 0.0 && top > left.rpm && top < right.rpm {
                    found.push(self.at(map, top, throttle)?);
                }
            }
            found.extend(points);
        }
        most(found)
    }
}

/// Flow of one injector held open, kg/s.
fn flow(request: &TrimMapRequest<'_>) -> Known<f64> {
    let flow = request.injection.flow.as_ref().ok_or_else(|| Gap::needs("injection.flow"));
    let by_mass = flow.as_ref().is_ok_and(|flow| flow.quantity().dimension() == Dimension::MassFlow);
    let density = if by_mass { Some(1.0) } else { request.fuel_density };
    let density = density.ok_or_else(|| Gap::needs("fuel.density"));
    both(flow, density).map(|(flow, density)| flow.si() * density)
}

fn most(found: Vec<DutyAt>) -> Known<DutyAt> {
    // Of two that are alike the later one: wide open rather than half, at the top rather than below.
    found.into_iter().max_by(|a, b| a.share.total_cmp(&b.share)).ok_or_else(|| Gap::needs(MAP))
}

fn duty(request: &TrimMapRequest<'_>, unit: FuelMapUnit, before: &MapTable, after: &MapTable) -> Known<Duty> {
    let pulses = Pulses::of(request, unit)?;
    let rpm = request.limiter_rpm.or(before.rpm.last().copied()).ok_or_else(|| Gap::needs(MAP))?;
    Ok(Duty {
        at_limiter: request.limiter_rpm.is_some(),
        before: pulses.most_at(before, rpm)?,
        after: pulses.most_at(after, rpm)?,
        most_before: pulses.most_up_to(before, rpm)?,
        most_after: pulses.most_up_to(after, rpm)?,
    })
}

/// What can do harm.
fn warnings(answer: &TrimMap, injection: &Injection) -> Vec<String> {
    let mut said = Vec::new();
    if answer.unit == FuelMapUnit::Ms && injection.dead_time.is_none() {
        said.extend(without_dead_time(&answer.factors));
    }
    if injection.compensation.is_none() {
        said.push("injection.compensation is not written down: what the box corrects by itself is counted twice if the factor has it too.".into());
    }
    let Ok(Duty { most_after: most, .. }) = &answer.duty else { return said };
    let (duty, place) = (fixed(100.0 * most.share, 1), most.place());
    if most.share > 1.0 {
        said.push(format!(
            "Duty {duty} % at {place}: the injector cannot close between two pulses, and the fuel falls short: lean. Do not run it; fit larger injectors, or more of them."
        ));
    } else if most.share > HIGH_DUTY {
        said.push(format!(
            "Duty {duty} % at {place}: above 85 % there is little left for colder air (common practice, no source)."
        ));
    }
    said
}

/// Which way the cells are wrong where the dead time is taken as 0, and how to measure it: cell x factor less
/// the true cell is dead time x (factor - 1).
fn without_dead_time(factors: &[f64]) -> Option<String> {
    let changes = || factors.iter().filter(|factor| !nearly_equal(**factor, 1.0)).map(|factor| factor - 1.0);
    let farthest = changes().map(f64::abs).reduce(f64::max)?;
    let way = match (changes().any(|change| change < 0.0), changes().any(|change| change > 0.0)) {
        (true, false) => "every cell comes out too small, leaner than computed",
        (false, true) => "every cell comes out too large, richer than computed",
        _ => {
            "cells that lose fuel come out too small, leaner than computed, and those that gain too large, richer"
        }
    };
    Some(format!(
        "injection.dead_time is not written down and taken as 0: {way}, by {} ms for each millisecond of it. To measure it, catch the fuel of so many pulses of 3 ms and of as many of 6 ms, at the bike's voltage and fuel pressure: it is (3 ms x the larger catch - 6 ms x the smaller) / (larger - smaller).",
        fixed(farthest, 3)
    ))
}

/// What else should be known.
fn notes(answer: &TrimMap, request: &TrimMapRequest<'_>) -> Vec<String> {
    let injection = request.injection;
    let mut said: Vec<String> = injection.compensation.map(in_the_cells).into_iter().collect();
    let trim = injection.trim.as_ref().map_or_else(|| "0 %".into(), ToString::to_string);
    said.push(format!(
        "The cells are for injection.trim at {trim}, as it was: with the trim of the rejet set as well, the change counts twice."
    ));
    if answer.before.throttle.is_empty() && matches!(request.factor, FuelFactor::ByThrottle(_)) {
        said.push("The map has no throttle openings: all of it takes the factor of full throttle.".into());
    }
    said.extend(staying(answer));
    if answer.duty.is_ok() {
        said.extend(of_the_duty(answer, request));
    }
    said
}

/// Which part of the change the cells hold.
fn in_the_cells(compensation: AirCompensation) -> String {
    let (held, left) = match compensation {
        AirCompensation::None => ("temperature, pressure and humidity", "The box corrects nothing by itself"),
        AirCompensation::Temperature => ("pressure and humidity", "Temperature is left to the box"),
        AirCompensation::Pressure => ("temperature and humidity", "Pressure is left to the box"),
        AirCompensation::Both => ("humidity", "Temperature and pressure are left to the box"),
    };
    format!("In the cells: {held} of the air, and the fuel. {left}.")
}

/// The cells that are too short to pass anything.
fn staying(answer: &TrimMap) -> Option<String> {
    let dead_time = answer.dead_time_ms.unwrap_or(0.0);
    let short = |cell: f64| answer.unit == FuelMapUnit::Ms && passes_nothing(cell, 1e-3 * dead_time);
    let cells: Vec<_> = answer.before.cells().filter(|(_, cell)| short(*cell)).collect();
    let (first, _) = cells.first()?;
    let (count, all) = (cells.len(), answer.before.cells().count());
    Some(format!(
        "{count} of {all} cells are no longer than the dead time ({} ms): they pass nothing and stay, the first at {first}.",
        trimmed(dead_time, 3)
    ))
}

/// What the duty was reckoned with.
fn of_the_duty(answer: &TrimMap, request: &TrimMapRequest<'_>) -> Vec<String> {
    let mut said = vec!["Duty: one injection in each revolution, as a two-stroke has it.".to_owned()];
    let last = answer.before.rpm.last().copied().unwrap_or_default();
    match request.limiter_rpm {
        None => said.push(format!(
            "ignition.limiter is not written down: the duty is at the highest engine speed of the map, {} rpm.",
            trimmed(last, 0)
        )),
        Some(limiter) if limiter > last => said.push(format!(
            "The map ends at {} rpm: its last cells are held up to the limiter.",
            trimmed(last, 0)
        )),
        Some(_) => {}
    }
    if answer.unit == FuelMapUnit::Mg {
        said.push("A cell in mg is taken as the fuel of all injectors together.".into());
    }
    let trim = request.injection.trim.as_ref().filter(|trim| !nearly_equal(1.0 + trim.si(), 1.0));
    said.extend(
        trim.map(|trim| format!("The duty has the trim of {trim} in it, taken as of the open time.")),
    );
    if request.injection.compensation.is_some_and(|by_itself| by_itself != AirCompensation::None) {
        said.push(
            "What the box corrects by itself is not in the duty: in denser air the pulse is longer.".into(),
        );
    }
    said
}
