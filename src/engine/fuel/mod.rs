//! The fuel itself: density with temperature, oil in the petrol, and the air a blend needs to burn.
//!
//! Sources: petrol density, ASTM D1250-80 / API MPMS 11.1 Table 54B (constants read in independent transcriptions
//! that agree; each is 1.8 times its sibling of Table 6B in degrees Fahrenheit); stoichiometry from the
//! elements, checked against Heywood, Internal Combustion Engine Fundamentals (1988), table D.4 (from memory), and
//! the US Department of Energy's fuel properties table.

pub mod blend;
pub mod mixing;

use super::{Allowed, EngineError, named};

const DENSITY_15C: Allowed = Allowed {
    field: "fuel density at 15 C",
    unit: "kg/m3",
    low: 653.0,
    high: 1075.0,
    help: "Give the density from the fuel's data sheet in kg/m3; race petrol is 720 to 775.",
};

const FUEL_TEMPERATURE: Allowed = Allowed {
    field: "fuel temperature",
    unit: "C",
    low: -18.0,
    high: 90.0,
    help: "Give the temperature of the fuel in the float bowl in degrees Celsius.",
};

pub(crate) const FUEL_DENSITY: Allowed = Allowed {
    field: "fuel density",
    unit: "kg/m3",
    low: 500.0,
    high: 1300.0,
    help: "Give the density in kg/m3, such as 745.",
};

const OIL_DENSITY: Allowed = Allowed {
    field: named::OIL_DENSITY,
    unit: "kg/m3",
    low: 700.0,
    high: 1200.0,
    help: "Give the density in kg/m3, such as 880.",
};

const PREMIX_RATIO: Allowed = Allowed {
    field: "premix ratio",
    unit: "",
    low: 4.0,
    high: 1000.0,
    help: "Give the parts of petrol to one part of oil by volume, such as 32; for petrol without oil the oil mass fraction is 0.",
};

pub(crate) const OIL_MASS_FRACTION: Allowed = Allowed {
    field: "oil mass fraction",
    unit: "",
    low: 0.0,
    high: 0.3,
    help: "Give oil mass over mixture mass; 32:1 is about 0.036.",
};

pub(super) const SHARE: Allowed = Allowed {
    field: "share of a blend",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "Give each share as a fraction of the whole; 85 percent is 0.85.",
};

const SHARES_TOGETHER: Allowed = Allowed {
    field: "sum of the shares of a blend",
    unit: "",
    low: 0.999,
    high: 1.001,
    help: "The shares of a blend must make up the whole, 1.",
};

/// Thermal expansion of a petroleum product per kelvin at 15 C.
///
/// `density_15c` is the density at 15 C, 653 to 1075 kg/m3. The table steps by 0.5 kg/m3 and names its groups by
/// those steps (petrol to 770.0, transition 770.5 to 787.5, jet fuel 788.0 to 838.5, fuel oil from 839.0), so the
/// edges here lie halfway between two steps.
///
/// Source: ASTM D1250-80 Table 54B.
pub fn petrol_expansion_per_k(density_15c: f64) -> Result<f64, EngineError> {
    let rho = DENSITY_15C.check(density_15c)?;
    Ok(if rho < 770.25 {
        346.4228 / (rho * rho) + 0.4388 / rho
    } else if rho < 787.75 {
        2680.3206 / (rho * rho) - 0.003_363_12
    } else if rho < 838.75 {
        594.5418 / (rho * rho)
    } else {
        186.9696 / (rho * rho) + 0.4862 / rho
    })
}

/// Density of petrol at a temperature, in kg/m3, from its density at 15 C.
///
/// Density at 15 C 653 to 1075 kg/m3; temperature -18 to 90 C, the range of the table for petrol (from memory; it is wider for
/// the heavier groups). For pure hydrocarbon fuel: alcohol blends need a measured density.
///
/// Source: ASTM D1250-80 Table 54B, VCF = exp(-a dt (1 + 0.8 a dt)).
pub fn petrol_density(density_15c: f64, temperature_c: f64) -> Result<f64, EngineError> {
    let expansion = petrol_expansion_per_k(density_15c)?;
    let a = expansion * (FUEL_TEMPERATURE.check(temperature_c)? - 15.0);
    Ok(density_15c * (-a * (1.0 + 0.8 * a)).exp())
}

/// Mass fraction of oil in a premix of `ratio` parts of petrol to one of oil by volume, 4 to 1000.
///
/// Densities in kg/m3, both at the temperature at which the two were measured out. The fraction then
/// stays as it is: heat changes volumes, not masses.
pub fn oil_mass_fraction(ratio: f64, petrol_density: f64, oil_density: f64) -> Result<f64, EngineError> {
    let ratio = PREMIX_RATIO.check(ratio)?;
    let petrol = FUEL_DENSITY.check(petrol_density)?;
    let oil = OIL_DENSITY.check(oil_density)?;
    Ok(oil / (oil + ratio * petrol))
}

/// Density of petrol with oil in it, in kg/m3, when volumes add.
///
/// The petrol's density is that at the bowl's temperature. The oil's may be taken at 15 C: at 32:1 and 20 K away
/// that is 4e-4 of the mixture's density, 2e-4 of a jet.
pub fn mixture_density(
    oil_mass_fraction: f64,
    petrol_density: f64,
    oil_density: f64,
) -> Result<f64, EngineError> {
    let oil_share = OIL_MASS_FRACTION.check(oil_mass_fraction)?;
    let petrol = FUEL_DENSITY.check(petrol_density)?;
    let oil = OIL_DENSITY.check(oil_density)?;
    Ok(1.0 / (oil_share / oil + (1.0 - oil_share) / petrol))
}

/// A part of a fuel blend.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Component {
    /// Petrol without alcohol.
    Petrol,
    /// Ethanol, C2H5OH.
    Ethanol,
    /// Methanol, CH3OH.
    Methanol,
    /// Toluene, C7H8.
    Toluene,
}

impl Component {
    /// Mass of air that burns one unit mass completely.
    ///
    /// Petrol is 14.7 (US Department of Energy, AFDC fuel properties); the others follow from their formulas and give ethanol
    /// 9.005, methanol 6.473, toluene 13.507.
    pub fn stoichiometric_ratio(self) -> f64 {
        match self {
            Self::Petrol => 14.7,
            Self::Ethanol => air_to_burn(2.0, 6.0, 1.0),
            Self::Methanol => air_to_burn(1.0, 4.0, 1.0),
            Self::Toluene => air_to_burn(7.0, 8.0, 0.0),
        }
    }
}

/// Stoichiometric air/fuel ratio by mass of a compound of carbon, hydrogen and oxygen, given its atoms.
///
/// Each carbon atom takes one molecule of oxygen, each hydrogen a quarter, less half for each oxygen atom on board. Dry air
/// holds 23.14 percent of oxygen by mass.
fn air_to_burn(carbon: f64, hydrogen: f64, oxygen: f64) -> f64 {
    const OXYGEN_IN_AIR: f64 = 0.2314;
    let molar_mass = 12.011 * carbon + 1.008 * hydrogen + 15.999 * oxygen;
    let oxygen_molecules = carbon + hydrogen / 4.0 - oxygen / 2.0;
    oxygen_molecules * 31.998 / molar_mass / OXYGEN_IN_AIR
}

/// One component of a blend by mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassPart {
    /// Which component.
    pub component: Component,
    /// Its fraction of the blend's mass, 0 to 1.
    pub share: f64,
}

/// One component of a blend by volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumePart {
    /// Which component.
    pub component: Component,
    /// Its fraction of the summed volumes, 0 to 1.
    pub share: f64,
    /// Its own density, kg/m3.
    pub density: f64,
}

/// Stoichiometric air/fuel ratio of a blend, by mass. The shares must sum to 1 within 0.001.
pub fn blend_stoichiometric_ratio(parts: &[MassPart]) -> Result<f64, EngineError> {
    let whole = sum_of_shares(parts.iter().map(|part| part.share))?;
    let air: f64 = parts.iter().map(|part| part.share * part.component.stoichiometric_ratio()).sum();
    Ok(air / whole)
}

/// The mass shares of a blend measured out by volume. The volume shares must sum to 1 within 0.001.
pub fn mass_parts(parts: &[VolumePart]) -> Result<Vec<MassPart>, EngineError> {
    let density = blend_density(parts)?;
    let volume = sum_of_shares(parts.iter().map(|part| part.share))?;
    Ok(parts
        .iter()
        .map(|part| MassPart {
            component: part.component,
            share: part.share * part.density / (density * volume),
        })
        .collect())
}

/// Density of a blend measured out by volume, in kg/m3, when volumes add.
///
/// Alcohol and petrol do not add quite exactly: the error, a few tenths of a percent at most, is left out (from memory).
pub fn blend_density(parts: &[VolumePart]) -> Result<f64, EngineError> {
    let volume = sum_of_shares(parts.iter().map(|part| part.share))?;
    let mut mass = 0.0;
    for part in parts {
        mass += part.share * FUEL_DENSITY.check(part.density)?;
    }
    Ok(mass / volume)
}

fn sum_of_shares(shares: impl Iterator<Item = f64>) -> Result<f64, EngineError> {
    let mut sum = 0.0;
    for share in shares {
        sum += SHARE.check(share)?;
    }
    SHARES_TOGETHER.check(sum)
}
