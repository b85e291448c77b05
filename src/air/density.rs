//! The CIPM-2007 equation for the density of moist air.
//!
//! Picard, Davis, Gläser, Fujii, "Revised formula for the density of moist air
//! (CIPM-2007)", Metrologia 45 (2008) 149-155, with 400 ppm carbon dioxide. Stated
//! for 15 to 27 °C and 600 to 1100 hPa; outside it the formula is extrapolated
//! (against `CoolProp` it stays within 2e-4 from -8 to 42 °C).

/// Molar mass of dry air with 400 ppm carbon dioxide, kg/mol (CIPM-2007).
const DRY_AIR_MOLAR_MASS: f64 = 28.965_46e-3;
/// Molar mass of water, kg/mol (CIPM-2007).
const WATER_MOLAR_MASS: f64 = 18.015_28e-3;
/// Molar gas constant as CIPM-2007 has it (CODATA 2006), J/(mol K). The 2019 value
/// would move a density by one part in a million.
const GAS_CONSTANT: f64 = 8.314_472;
/// 0 °C in kelvin.
pub(super) const ZERO_CELSIUS_K: f64 = 273.15;

/// Density of standard dry air (15 °C, 1013.25 hPa) by this same equation: 1.22552 kg/m³.
///
/// Relative densities are divided by this, never by the 1.2250 of the standard
/// atmosphere: that one is an ideal gas and lies 4.3e-4 lower.
pub const STANDARD_AIR_DENSITY: f64 = dry_gas_density(15.0, 101_325.0, 0.0);

/// Compressibility factor Z of moist air, a pure number just below 1 (CIPM-2007).
///
/// `temperature_c` in °C, `pressure_pa` in Pa, `vapour_fraction` the mole fraction of vapour.
pub(super) const fn compressibility(temperature_c: f64, pressure_pa: f64, vapour_fraction: f64) -> f64 {
    let t = temperature_c;
    let x = vapour_fraction;
    let p_over_t = pressure_pa / (t + ZERO_CELSIUS_K);
    let dry = 1.581_23e-6 + t * (-2.9331e-8 + t * 1.1043e-10);
    let mixed = (5.707e-6 - 2.051e-8 * t) * x;
    let vapour = (1.9898e-4 - 2.376e-6 * t) * x * x;
    1.0 - p_over_t * (dry + mixed + vapour) + p_over_t * p_over_t * (1.83e-11 - 0.765e-8 * x * x)
}

/// The density the gas would have were every molecule one of dry air, kg/m³:
/// p Ma/(Z R T), the common factor of both densities below.
const fn dry_gas_density(temperature_c: f64, pressure_pa: f64, vapour_fraction: f64) -> f64 {
    let z = compressibility(temperature_c, pressure_pa, vapour_fraction);
    pressure_pa * DRY_AIR_MOLAR_MASS / (z * GAS_CONSTANT * (temperature_c + ZERO_CELSIUS_K))
}

/// Density of moist air, kg/m³ (CIPM-2007). Vapour is lighter than air, so it lowers it.
pub(super) fn moist(temperature_c: f64, pressure_pa: f64, vapour_fraction: f64) -> f64 {
    dry_gas_density(temperature_c, pressure_pa, vapour_fraction)
        * (1.0 - vapour_fraction * (1.0 - WATER_MOLAR_MASS / DRY_AIR_MOLAR_MASS))
}

/// Mass of dry air in a cubic metre of moist air, kg/m³: the part that burns fuel.
pub(super) fn dry_part(temperature_c: f64, pressure_pa: f64, vapour_fraction: f64) -> f64 {
    dry_gas_density(temperature_c, pressure_pa, vapour_fraction) * (1.0 - vapour_fraction)
}
