//! The trim of an injected bike.

use super::error::RejetError;
use super::wanted::{FULL, WantedFuel, each_zone};
use super::{Factor, InjectionAdvice};
use crate::engine::injection::{Compensation, InjectionConditions, trim};
use crate::notebook::{AirCompensation, FuelMapUnit, Injection};
use crate::quantity::{fixed, nearly_equal};

/// Range of the field injection.trim, percent.
const TRIM_PERCENT: std::ops::RangeInclusive<f64> = -60.0..=100.0;

/// The factor and the trim.
pub(super) fn advise(
    injection: &Injection,
    from: &InjectionConditions,
    to: &InjectionConditions,
    (wanted, trim_at_least): (Option<&[WantedFuel]>, Option<f64>),
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
    let least = each_zone(trim.total, wanted)?[FULL].least;
    let exact = ((100.0 + from_percent) * least - 100.0).max(trim_at_least.unwrap_or(f64::NEG_INFINITY));
    let stays = nearly_equal(100.0 + exact, 100.0 + from_percent);
    let to_percent = if stays { from_percent } else { tenths_up(exact) };
    // The exact figure stands beside it in tenths, and would otherwise be taken for a slip.
    let rounded = if fixed(exact, 1) == fixed(to_percent, 1) {
        ""
    } else {
        " It is rounded up to the next tenth, so as not to be lean."
    };
    let advice = InjectionAdvice {
        compensation,
        trim_percent: 100.0 * ((100.0 + exact) / (100.0 + from_percent) - 1.0),
        from_percent,
        to_percent,
        words: format!("The trim makes up for {left} and for the fuel; {by_itself}.{rounded}"),
    };
    if !TRIM_PERCENT.contains(&to_percent) {
        warnings.push(format!(
            "A trim of {} % is too much for a trim: the map itself must be made anew.",
            fixed(to_percent, 1)
        ));
    }
    Ok((factor, advice))
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
    /// The new trim as it is written in a setup, unless it stays or no trim can do it.
    pub(super) fn assignment(&self) -> Option<(String, String)> {
        let moved = (self.to_percent - self.from_percent).abs() > 1e-6;
        let possible = TRIM_PERCENT.contains(&self.to_percent);
        (moved && possible).then(|| ("injection.trim".into(), format!("{} %", fixed(self.to_percent, 1))))
    }
}
