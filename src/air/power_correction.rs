//! Factors that bring a measured engine power to standard conditions.
//!
//! They correct *power*, to compare two runs on a brake. They never size a jet: the
//! fuel an engine needs follows the dry density alone. Each is stated for factors near 1
//! (0.93 to 1.07) and made for four-stroke road vehicles.

use super::state::Air;

/// Factors within which the standards are stated (ISO 1585; from memory for the others).
const STATED_FACTORS: std::ops::RangeInclusive<f64> = 0.93..=1.07;

/// A power correction: measured power times `factor` is the power in standard conditions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerCorrection {
    /// The standard, as it is cited.
    pub standard: &'static str,
    /// The factor, a pure number; above 1 when the air is thinner than the standard's.
    pub factor: f64,
    /// Whether the air lies where the standard is stated to hold.
    pub in_range: bool,
    /// What to keep in mind, in a sentence.
    pub caveat: &'static str,
}

/// The standards write T = t + 273, not 273.15; the check values follow them.
fn rounded_kelvin(air: &Air) -> f64 {
    air.temperature_c() + 273.0
}

/// SAE J1349 (June 1990): 1.180 (990/pd) sqrt(T/298) - 0.18, pd the dry pressure in hPa.
/// Reference 25 °C and 990 hPa of dry air.
pub fn sae_j1349(air: &Air) -> PowerCorrection {
    let dry_hpa = air.dry_pressure_pa() / 100.0;
    let factor = 1.180 * (990.0 / dry_hpa) * (rounded_kelvin(air) / 298.0).sqrt() - 0.18;
    PowerCorrection {
        standard: "SAE J1349",
        factor,
        in_range: STATED_FACTORS.contains(&factor),
        caveat: "For comparing power only, never for jets; counts a fixed share of friction.",
    }
}

/// ISO 1585, spark ignition: (99/pd)^1.2 (T/298)^0.6, pd the dry pressure in kPa. Reference
/// 25 °C and 99 kPa of dry air; stated for 288 to 308 K and 80 to 110 kPa (from memory).
pub fn iso_1585(air: &Air) -> PowerCorrection {
    let dry_kpa = air.dry_pressure_pa() / 1_000.0;
    let kelvin = rounded_kelvin(air);
    let factor = (99.0 / dry_kpa).powf(1.2) * (kelvin / 298.0).powf(0.6);
    PowerCorrection {
        standard: "ISO 1585",
        factor,
        in_range: STATED_FACTORS.contains(&factor)
            && (288.0..=308.0).contains(&kelvin)
            && (80.0..=110.0).contains(&dry_kpa),
        caveat: "For comparing power only, never for jets; the standard excludes motorcycles, \
                 which ISO 4106 covers.",
    }
}

/// DIN 70020: (1013/p) sqrt(T/293), p the whole pressure in hPa. Reference 20 °C, 1013 hPa.
pub fn din_70020(air: &Air) -> PowerCorrection {
    let factor = 1_013.0 / (air.pressure_pa() / 100.0) * (rounded_kelvin(air) / 293.0).sqrt();
    PowerCorrection {
        standard: "DIN 70020",
        factor,
        in_range: STATED_FACTORS.contains(&factor),
        caveat: "For comparing power only, never for jets; an old form that ignores humidity.",
    }
}
