//! What a fuel blend brings: its density from shares by mass, its heating value, and the energy it gives to a mass of air.
//!
//! The air decides how much fuel an engine can burn, so power follows the energy per mass of *air*, where fuels that differ
//! by half in heating value lie within a few percent. Sources: heating values from standard enthalpies of formation (NASA
//! polynomials in cantera, heats of vaporisation from the equations of state in CoolProp), checked against Heywood, Internal
//! Combustion Engine Fundamentals (1988), table D.4 (from memory); petrol's is that table's.
//!
//! Pure compounds: pump ethanol carries water, and oil in the petrol is not looked at.

use super::{Component, FUEL_DENSITY, MassPart, SHARE, blend_stoichiometric_ratio};
use crate::engine::EngineError;

impl Component {
    /// Lower heating value of the liquid fuel at 25 C, water leaving as vapour, J/kg.
    ///
    /// Petrol 44.0e6 (Heywood, table D.4, from memory; real petrol, the more so with much toluene or ethanol in it, can be
    /// some percent lower). Methanol 19.92e6, ethanol 26.81e6 and toluene 40.53e6 follow from their enthalpies of formation;
    /// Heywood prints 20.0, 26.9 and 40.6 (from memory).
    pub fn lower_heating_value_j_kg(self) -> f64 {
        match self {
            Self::Petrol => 44.0e6,
            Self::Ethanol => 26.81e6,
            Self::Methanol => 19.92e6,
            Self::Toluene => 40.53e6,
        }
    }

    /// Density of the pure compound at 15 C, kg/m3; none for petrol, which has no density of its own: it stands on the data
    /// sheet.
    ///
    /// Ethanol 793.7 (Schroeder et al. 2014), methanol 795.7 (de Reuck and Craven 1993), toluene 871.5 (Lemmon and Span 2006):
    /// equations of state as coded in CoolProp. At 20 C they are 789.4, 791.0 and 866.9.
    pub fn density_15c(self) -> Option<f64> {
        match self {
            Self::Petrol => None,
            Self::Ethanol => Some(793.7),
            Self::Methanol => Some(795.7),
            Self::Toluene => Some(871.5),
        }
    }
}

/// Density at 15 C, kg/m3, of a blend given by mass, when volumes add: 1 / sum(share/density).
///
/// The shares must sum to 1 within 0.001. `petrol_density_15c` is that of the petrol in it, 500 to 1300 kg/m3, and is asked
/// only where there is petrol. Alcohol and petrol do not add quite exactly: a few tenths of a percent at most, left out (from
/// memory).
pub fn blend_density_15c(parts: &[MassPart], petrol_density_15c: Option<f64>) -> Result<f64, EngineError> {
    let whole = sum_of_shares(parts)?;
    let mut volume = 0.0;
    for part in parts {
        let density = match part.component.density_15c().or(petrol_density_15c) {
            Some(density) => FUEL_DENSITY.check(density)?,
            // A part of nothing needs no density.
            None if part.share <= 0.0 => continue,
            None => {
                return Err(EngineError::NotKnown {
                    field: "density of the petrol",
                    help: "Give it at 15 C from the data sheet; race petrol is 720 to 775 kg/m3.",
                });
            }
        };
        volume += part.share / density;
    }
    Ok(whole / volume)
}

/// Lower heating value of a blend given by mass, J/kg: the shares' own, added. The shares must sum to 1 within 0.001.
///
/// The heat of mixing is left out: it is below a thousandth (from memory).
pub fn blend_heating_value_j_kg(parts: &[MassPart]) -> Result<f64, EngineError> {
    let whole = sum_of_shares(parts)?;
    let heat: f64 = parts.iter().map(|part| part.share * part.component.lower_heating_value_j_kg()).sum();
    Ok(heat / whole)
}

/// Energy that a blend gives to each kilogram of air that burns it completely, J/kg: heating value over stoichiometric ratio.
///
/// The shares must sum to 1 within 0.001. It tells how much the same air can give, not what an engine makes of it: cooling by
/// evaporation, flame speed and knock are not in it.
pub fn energy_per_air_j_kg(parts: &[MassPart]) -> Result<f64, EngineError> {
    Ok(blend_heating_value_j_kg(parts)? / blend_stoichiometric_ratio(parts)?)
}

/// The sum of the shares, each of them and the sum checked: the sum by the rule of the stoichiometric ratio.
fn sum_of_shares(parts: &[MassPart]) -> Result<f64, EngineError> {
    blend_stoichiometric_ratio(parts)?;
    let mut sum = 0.0;
    for part in parts {
        sum += SHARE.check(part.share)?;
    }
    Ok(sum)
}
