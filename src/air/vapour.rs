//! Water vapour in air: saturation, enhancement, dew point and wet bulb.
//!
//! Saturation is taken over liquid water everywhere, below 0 °C too, as weather
//! reports do.

use super::density::ZERO_CELSIUS_K;
use crate::quantity::search;

/// Saturation vapour pressure over water, Pa, at `temperature_c` in °C (CIPM-2007,
/// Metrologia 45 (2008) 149-155, equation A1.1). Within 5e-5 of IAPWS SR1-86 from 0 to 45 °C.
pub fn saturation_vapour_pressure(temperature_c: f64) -> f64 {
    log_saturation(temperature_c + ZERO_CELSIUS_K).exp()
}

/// Natural logarithm of the saturation vapour pressure in Pa, from the temperature in K.
fn log_saturation(temperature_k: f64) -> f64 {
    let t = temperature_k;
    (1.237_884_7e-5 * t - 1.912_131_6e-2) * t + 33.937_110_47 - 6.343_164_5e3 / t
}

/// Enhancement factor f, a pure number near 1.004 (CIPM-2007): by how much air raises the
/// saturation vapour pressure. `pressure_pa` in Pa, `temperature_c` in °C.
pub fn enhancement_factor(pressure_pa: f64, temperature_c: f64) -> f64 {
    1.000_62 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c * temperature_c
}

/// Vapour pressure of saturated air, Pa: saturation times enhancement.
pub(super) fn saturated_air(pressure_pa: f64, temperature_c: f64) -> f64 {
    enhancement_factor(pressure_pa, temperature_c) * saturation_vapour_pressure(temperature_c)
}

/// Vapour pressure from a ventilated wet and dry bulb, Pa (WMO-No. 8 (2008), Annex 4.B):
/// e = ew(tw) - 6.53e-4 (1 + 9.44e-4 tw) p (t - tw), the wick wet, not iced.
///
/// Temperatures in °C, `pressure_pa` the station pressure in Pa. Saturation is CIPM's, so
/// that equal bulbs read exactly 100 %. Negative when the two bulbs cannot both be true.
pub fn psychrometer_vapour_pressure(temperature_c: f64, pressure_pa: f64, wet_bulb_c: f64) -> f64 {
    let coefficient = 6.53e-4 * (1.0 + 9.44e-4 * wet_bulb_c);
    saturated_air(pressure_pa, wet_bulb_c) - coefficient * pressure_pa * (temperature_c - wet_bulb_c)
}

/// The wet bulb that perfectly dry air would show, °C: nothing lower can be true.
pub(super) fn lowest_wet_bulb(temperature_c: f64, pressure_pa: f64) -> f64 {
    // At equal bulbs the vapour pressure is positive, and 120 K below it is always
    // negative; between them it rises with the wet bulb, so halving finds the zero.
    let none = |wet_bulb| psychrometer_vapour_pressure(temperature_c, pressure_pa, wet_bulb) < 0.0;
    search::turn(temperature_c - 120.0, temperature_c, none).fails
}

/// Dew point in °C of air whose vapour pressure is `vapour_pressure_pa`, at the station
/// pressure in Pa. Minus infinity when there is no vapour at all.
pub(super) fn dew_point(vapour_pressure_pa: f64, pressure_pa: f64) -> f64 {
    if vapour_pressure_pa <= 0.0 {
        return f64::NEG_INFINITY;
    }
    // Newton on 1/T, in which the logarithm of the saturation pressure is very nearly a
    // straight line: a handful of steps from anywhere.
    let wanted = vapour_pressure_pa.ln();
    let mut inverse = 1.0 / ZERO_CELSIUS_K;
    for _ in 0..30 {
        let t = 1.0 / inverse;
        let factor = enhancement_factor(pressure_pa, t - ZERO_CELSIUS_K);
        let slope = -6.343_164_5e3 - (2.0 * 1.237_884_7e-5 * t - 1.912_131_6e-2) * t * t;
        let step = (factor.ln() + log_saturation(t) - wanted) / slope;
        inverse -= step;
        if step.abs() < 1e-15 * inverse {
            break;
        }
    }
    1.0 / inverse - ZERO_CELSIUS_K
}
