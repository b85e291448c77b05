//! What a sheet draws of a bike: the spark over engine speed, the jet over the air, the season run by run.

use super::asking::{Answered, Unanswered};
use super::figures::ignition::{firing, map};
use super::figures::{Bench, Known};
use super::learning::sign_of_lean;
use super::runs::{FittedIn, OnTheBike, lap_seconds};
use crate::air::Air;
use crate::notebook::{Doubted, Mixture, Outing, When};
use crate::quantity::nearly_equal;
use crate::store::{Book, OutingRecord, StoreError};

/// The jetting's main jet.
const MAIN: &str = "jetting.main";
/// The trim of an injected bike.
const TRIM: &str = "injection.trim";

/// What meters the fuel of a bike, as it is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Size {
    /// The main jet by its number.
    #[default]
    Main,
    /// The trim in percent.
    Trim,
}

impl Size {
    /// What a setup has.
    fn of(self, fitted: &OnTheBike) -> Option<f64> {
        match self {
            Self::Main => fitted.quantity(MAIN),
            // Where none is written down the map stands as it is.
            Self::Trim => Some(fitted.number(TRIM).map_or(0.0, |share| 100.0 * share)),
        }
    }
}

/// A run as it was judged at full throttle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JudgedRun {
    /// It was judged so.
    Judged(Mixture),
    /// Its notes say that it was lean, whatever else was judged.
    Lean,
    /// It was not judged.
    NotJudged,
}

impl JudgedRun {
    /// How an outing was seen.
    pub fn of(record: &OutingRecord) -> Self {
        Self::at_one_cylinder(record).0
    }

    /// How an outing was seen where it was leanest, else where it was richest; with the cylinder where it was not so of all.
    fn at_one_cylinder(record: &OutingRecord) -> (Self, Option<String>) {
        let each = record.outing.at_each_cylinder();
        let seen = |outing: &Outing| match outing.verdict.as_ref().and_then(|verdict| verdict.full) {
            _ if sign_of_lean(outing).is_some() => Self::Lean,
            Some(full) => Self::Judged(full),
            None => Self::NotJudged,
        };
        let views: Vec<(Option<&str>, Self)> =
            each.iter().map(|(name, outing)| (*name, seen(outing))).collect();
        let judged = || views.iter().filter(|(_, seen)| *seen != Self::NotJudged);
        let leanest = judged().min_by_key(|(_, seen)| seen.rank()).filter(|(_, seen)| seen.rank() < RIGHT);
        // Of several that are alike the first that was said: what was said of all.
        let richest = || judged().rev().max_by_key(|(_, seen)| seen.rank());
        let Some((name, seen)) = leanest.or_else(richest) else { return (Self::NotJudged, None) };
        let of_one = judged().any(|(_, other)| other != seen);
        (*seen, name.filter(|_| of_one).map(str::to_owned))
    }

    /// Lean first.
    fn rank(self) -> usize {
        match self {
            Self::Lean => 0,
            Self::Judged(mixture) => Mixture::ALL.iter().position(|one| *one == mixture).unwrap_or(RIGHT),
            Self::NotJudged => RIGHT,
        }
    }
}

/// The place of right among the verdicts.
const RIGHT: usize = 2;

/// A judged run: the air it was in and the size it had.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JetRun {
    /// Density of its air, percent of dry air at 15 C and 1013.25 hPa.
    pub density_percent: f64,
    /// Its main jet, or its trim in percent.
    pub size: f64,
    /// How it was judged.
    pub seen: JudgedRun,
}

/// The main jet, or the trim, over the air.
#[derive(Debug, Clone, Default)]
pub struct JetOverAir {
    /// Which of the two.
    pub of: Size,
    /// The runs, oldest first.
    pub runs: Vec<JetRun>,
    /// What is advised at other pressures, today's temperature and humidity kept: density in percent, size.
    pub advised: Vec<(f64, f64)>,
    /// Where that is one step of several: what the last of them leads to, each stretch of such airs alone.
    pub then: Vec<Vec<(f64, f64)>>,
    /// Density of the air that is asked for, percent.
    pub today: f64,
}

/// The spark at the widest throttle over engine speed: degrees before top dead centre.
pub fn spark(bench: &Bench<'_>) -> Known<Vec<(f64, f64)>> {
    let map = map(bench)?;
    let widest = map.throttle.last().copied().unwrap_or(100.0);
    map.rpm.iter().map(|rpm| Ok((*rpm, firing(bench, *rpm, widest)?.firing_deg))).collect()
}

/// How far beside today's air the advice is drawn, as shares of its pressure; and in how many steps.
const BESIDE: (f64, f64, u32) = (0.94, 1.04, 24);

/// The judged runs, and what is advised in airs beside today's.
pub fn jet_over_air(found: &Answered<'_>) -> Result<JetOverAir, Unanswered> {
    let question = found.question;
    let of = if question.now.fields.quantity(MAIN).is_some() { Size::Main } else { Size::Trim };
    let air = found.air.air()?;
    let outings = question.book.outings(&question.baseline.bike)?;
    let fitted = FittedIn::of(question.book, outings.iter())?;
    let run = |record: &OutingRecord| {
        let outing = &record.outing;
        let seen = JudgedRun::of(record);
        let known =
            outing.air.as_ref().filter(|_| !outing.doubts(Doubted::Air) && seen != JudgedRun::NotJudged)?;
        let size = of.of(fitted.in_run(record))?;
        Some(JetRun { density_percent: known.air().ok()?.relative_density_percent(), size, seen })
    };
    let mut drawn = JetOverAir {
        of,
        runs: outings.iter().filter_map(run).collect(),
        advised: Vec::new(),
        then: Vec::new(),
        today: air.relative_density_percent(),
    };
    let mut in_steps = false;
    let (least, most, steps) = BESIDE;
    for step in 0..=steps {
        let share = least + (most - least) * f64::from(step) / f64::from(steps);
        let (temperature, pressure) = (air.temperature_c(), air.pressure_pa() * share);
        let Ok(beside) = Air::from_relative_humidity(temperature, pressure, air.relative_humidity()) else {
            continue;
        };
        let density = beside.relative_density_percent();
        let Some((fit, then)) = advised_in(found, of, &beside)? else { continue };
        drawn.advised.push((density, fit));
        if nearly_equal(fit, then) {
            in_steps = false;
            continue;
        }
        match drawn.then.last_mut().filter(|_| in_steps) {
            Some(stretch) => stretch.push((density, then)),
            None => drawn.then.push(vec![(density, then)]),
        }
        in_steps = true;
    }
    Ok(drawn)
}

/// The size that is to be fitted in an air, and what follows once plug and piston were read on it: the same where it is no step of several.
fn advised_in(found: &Answered<'_>, of: Size, air: &Air) -> Result<Option<(f64, f64)>, Unanswered> {
    let question = found.question;
    let answer = found.adviser.jetting(&question.request(*air, None)?, &question.floors(air)?)?;
    let (next, last) = match of {
        Size::Main => {
            let Some(main) = answer.jets.iter().find(|jet| jet.field == MAIN) else { return Ok(None) };
            (main.steps.first().copied(), main.advised)
        }
        Size::Trim => {
            let Some(advice) = answer.injection else { return Ok(None) };
            (advice.steps.first().copied(), Some(advice.to_percent))
        }
    };
    Ok(next.or(last).map(|fit| (fit, last.unwrap_or(fit))))
}

/// A run of the season.
#[derive(Debug, Clone)]
pub struct SeasonRun {
    /// When.
    pub date: When,
    /// Where; none where it is not written down.
    pub place: Option<String>,
    /// By how much its best lap is slower than the bike's best of that place, percent; none where it was not timed.
    pub off_best_percent: Option<f64>,
    /// How it was judged.
    pub seen: JudgedRun,
    /// The cylinder that was so, where it was not so of all.
    pub cylinder: Option<String>,
    /// The setup it ran.
    pub setup: Option<u32>,
}

/// Most runs that are drawn.
const MOST_RUNS: usize = 40;

/// The bike's newest runs, oldest first.
pub fn season(book: &Book<'_>, bike: &str) -> Result<Vec<SeasonRun>, StoreError> {
    let outings = book.outings(bike)?;
    let lap = |record: &OutingRecord| record.outing.lap.as_deref().and_then(lap_seconds);
    // Laps of two places say nothing of each other.
    let best = |place: &Option<String>| {
        let there = outings.iter().filter(|record| record.outing.place == *place);
        there.filter_map(lap).min_by(f64::total_cmp).filter(|best| *best > 0.0)
    };
    let newest = outings.iter().skip(outings.len().saturating_sub(MOST_RUNS));
    Ok(newest
        .map(|record| {
            let (seen, cylinder) = JudgedRun::at_one_cylinder(record);
            let place = record.outing.place.clone();
            SeasonRun {
                date: record.outing.date,
                off_best_percent: lap(record).zip(best(&place)).map(|(lap, best)| 100.0 * (lap / best - 1.0)),
                place,
                seen,
                cylinder,
                setup: record.setup,
            }
        })
        .collect())
}
