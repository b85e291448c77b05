//! The trim of an injected bike.
//!
//! What is said of a carburetor in sizes is said of it in percent: a size of the trim is the tuner's own figure in
//! configs/shares.toml (common practice, no source).

use super::error::RejetError;
use super::jet::jets::SIZES_LEANER_IN_ONE_STEP;
use super::request::RejetRequest;
use super::wanted::{FULL, each_zone};
use super::{Factor, InjectionAdvice};
use crate::engine::injection::{Compensation, InjectionConditions, trim};
use crate::notebook::{AirCompensation, FuelMapUnit, Injection};
use crate::quantity::{fixed, nearly_equal, trimmed};

/// Range of the field injection.trim, percent.
const TRIM_PERCENT: std::ops::RangeInclusive<f64> = -60.0..=100.0;

/// Trims closer than this are the same.
const SAME_TRIM: f64 = 1e-6;

/// The factor and the trim.
pub(super) fn advise(
    injection: &Injection,
    (from, to): (&InjectionConditions, &InjectionConditions),
    request: &RejetRequest<'_>,
    warnings: &mut Vec<String>,
) -> Result<(Factor, InjectionAdvice), RejetError> {
    let compensation = compensation(injection)?;
    let (kind, left, by_itself) = in_words(compensation);
    let trim = trim(kind, from, to).map_err(RejetError::calculation("injection"))?;
    let dry_air = to.mixture.dry_density / from.mixture.dry_density;
    let box_correction = (compensation != AirCompensation::None).then_some(trim.air / dry_air);
    let factor = Factor {
        total: trim.total,
        air: trim.air,
        dry_air,
        venturi: None,
        box_correction,
        fuel_air: trim.fuel_air,
        lambda: trim.lambda,
        fuel_density: trim.fuel_density,
        oil: trim.oil,
    };
    let recorded = injection.trim.as_ref().map(|trim| 100.0 * trim.si());
    if injection.fuel_map_unit == Some(FuelMapUnit::Ms) {
        let dead_time = injection
            .dead_time
            .as_ref()
            .map_or_else(|| "the dead time".into(), |time| format!("the dead time ({time})"));
        warnings.push(format!(
            "The trim is of the fuel. Where it is worked into cells of milliseconds, it is of the cell less {dead_time}, which passes nothing."
        ));
    }
    if recorded.is_none() {
        warnings.push("injection.trim is not written down: taken as 0 %.".into());
    }
    let from_percent = recorded.unwrap_or(0.0);
    // One trim for every throttle: full throttle decides it.
    let wanted = each_zone(trim.total, request.wanted)?;
    // What a lean run asks for at another throttle is asked of the one trim as well.
    let held = wanted.iter().filter(|zone| zone.held.is_some()).map(|zone| zone.least);
    let least = held.fold(wanted[FULL].least, f64::max);
    let at_least = request.main_at_least.unwrap_or(f64::NEG_INFINITY);
    let exact = ((100.0 + from_percent) * least - 100.0).max(at_least);
    let stays = nearly_equal(100.0 + exact, 100.0 + from_percent);
    let to_percent = if stays { from_percent } else { tenths_up(exact) };
    // The exact figure stands beside it in tenths, and would otherwise be taken for a slip.
    let rounded = if fixed(exact, 1) == fixed(to_percent, 1) {
        ""
    } else {
        " It is rounded up to the next tenth, so as not to be lean."
    };
    let size = request.shares.trim_size_percent();
    let now = request.main_on_the_bike.unwrap_or(from_percent);
    let now = request.main_that_ran.map_or(now, |ran| ran.max(now));
    let advice = InjectionAdvice {
        compensation,
        size_percent: size,
        richer_percent: to_percent + size,
        leaner_percent: to_percent - size,
        steps: steps_down(now, to_percent, size),
        trim_percent: 100.0 * ((100.0 + exact) / (100.0 + from_percent) - 1.0),
        from_percent,
        to_percent,
        words: format!("The trim makes up for {left} and for the fuel; {by_itself}.{rounded}"),
    };
    warn_of_steps(&advice, warnings);
    if !TRIM_PERCENT.contains(&to_percent) {
        warnings.push(format!(
            "A trim of {} % is too much for a trim: the map itself must be made anew.",
            fixed(to_percent, 1)
        ));
    }
    Ok((factor, advice))
}

/// The trims to go through to a leaner one, a few sizes at a time, the last of them that one; none where one step does.
fn steps_down(from: f64, to: f64, size: f64) -> Vec<f64> {
    let step = f64::from(SIZES_LEANER_IN_ONE_STEP) * size;
    let mut steps = Vec::new();
    let mut at = from;
    while step.is_finite() && step > 0.0 && at - to > step + SAME_TRIM && TRIM_PERCENT.contains(&at) {
        at = tenths_up(at - step);
        steps.push(at);
    }
    if !steps.is_empty() {
        steps.push(to);
    }
    steps
}

/// Says when the advised trim is not to be set in one step.
fn warn_of_steps(advice: &InjectionAdvice, warnings: &mut Vec<String>) {
    if advice.steps.is_empty() {
        return;
    }
    let by_way_of: Vec<String> = advice.steps.iter().map(|trim| fixed(*trim, 1)).collect();
    let size = trimmed(advice.size_percent, 1);
    let step = trimmed(f64::from(SIZES_LEANER_IN_ONE_STEP) * advice.size_percent, 1);
    warnings.push(format!(
        "The advised trim is more than {SIZES_LEANER_IN_ONE_STEP} sizes of {size} % leaner: go there in steps of {step} % at most ({} %), and read plug and piston in between.",
        by_way_of.join(", then ")
    ));
}

/// What the box corrects by itself.
fn compensation(injection: &Injection) -> Result<AirCompensation, RejetError> {
    injection.compensation.ok_or_else(|| RejetError::NotKnown {
        field: "injection.compensation",
        why: "what the box corrects by itself must not be corrected twice",
        help: "Set it to \"none\", \"temperature\", \"pressure\" or \"both\": warm the air sensor or read the box's manual to find out.".into(),
    })
}

/// The same for the calculation; what is left for the trim, and what the box does, in words.
fn in_words(compensation: AirCompensation) -> (Compensation, &'static str, &'static str) {
    match compensation {
        AirCompensation::None => (
            Compensation::None,
            "the air's temperature, pressure and humidity",
            "the box corrects nothing by itself",
        ),
        AirCompensation::Temperature => (
            Compensation::Temperature,
            "the air's pressure and humidity",
            "the box corrects for temperature by itself",
        ),
        AirCompensation::Pressure => (
            Compensation::Pressure,
            "the air's temperature and humidity",
            "the box corrects for pressure by itself",
        ),
        AirCompensation::Both => (
            Compensation::TemperatureAndPressure,
            "the air's humidity",
            "the box corrects for temperature and pressure by itself",
        ),
    }
}

/// The factor on the open time from one air and fuel to another.
pub(super) fn factor(
    injection: &Injection,
    from: &InjectionConditions,
    to: &InjectionConditions,
) -> Result<f64, RejetError> {
    let (kind, _, _) = in_words(compensation(injection)?);
    Ok(trim(kind, from, to).map_err(RejetError::calculation("injection"))?.total)
}

/// Up to the next tenth of a percent: never leaner than the exact trim.
fn tenths_up(percent: f64) -> f64 {
    // A little short of it, so that rounding in the last digit does not cost a tenth.
    (percent * 10.0 - 1e-6).ceil() / 10.0
}

impl InjectionAdvice {
    /// The trim to set next: the first step where it goes there in steps.
    pub fn next_percent(&self) -> f64 {
        self.steps.first().copied().unwrap_or(self.to_percent)
    }

    /// The new trim as it is written in a setup, unless it stays or no trim can do it.
    pub(super) fn assignment(&self) -> Option<(String, String)> {
        let moved = (self.to_percent - self.from_percent).abs() > SAME_TRIM;
        let possible = TRIM_PERCENT.contains(&self.to_percent);
        (moved && possible).then(|| ("injection.trim".into(), format!("{} %", fixed(self.to_percent, 1))))
    }
}
