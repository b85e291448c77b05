//! Fuel: how much oil goes into how much petrol, and what a blend brings.

use super::bench::Bench;
use super::known::{Gap, Known, both, three, wrong};
use crate::engine::EngineError;
use crate::engine::fuel::blend::{blend_density_15c, blend_heating_value_j_kg, energy_per_air_j_kg};
use crate::engine::fuel::mixing::{Correction, correct_can, oil_for_petrol_m3};
use crate::engine::fuel::{
    Component, MassPart, VolumePart, blend_stoichiometric_ratio, mass_parts, mixture_density,
    oil_mass_fraction, petrol_density,
};

/// A blend's figures.
#[derive(Debug, Clone)]
pub struct BlendFigures {
    /// Its parts by mass.
    pub parts: Vec<MassPart>,
    /// Density at 15 C, kg/m3.
    pub density_15c: Known<f64>,
    /// Air mass to fuel mass at which both burn completely.
    pub stoichiometric_ratio: f64,
    /// Lower heating value, J/kg.
    pub heating_value_j_kg: f64,
    /// Energy for each kilogram of air, J/kg.
    pub energy_per_air_j_kg: f64,
    /// The same over that of plain petrol.
    pub energy_ratio: f64,
}

/// How the shares of a blend are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SharesBy {
    /// By mass.
    Mass,
    /// By volume at 15 C.
    Volume,
}

/// A blend from its shares, fractions of the whole; `petrol` is the petrol's density at 15 C, kg/m3, where it is known.
pub fn blend_figures(shares: &[(Component, f64)], by: SharesBy, petrol: Option<f64>) -> Known<BlendFigures> {
    let parts = match by {
        SharesBy::Mass => shares
            .iter()
            .map(|(component, share)| MassPart { component: *component, share: *share })
            .collect(),
        SharesBy::Volume => by_volume(shares, petrol)?,
    };
    let in_fuel = wrong("fuel");
    let holds_petrol = parts.iter().any(|part| part.component == Component::Petrol && part.share > 0.0);
    let density_15c = if holds_petrol && petrol.is_none() {
        Err(Gap::needs("fuel.density"))
    } else {
        blend_density_15c(&parts, petrol).map_err(&in_fuel)
    };
    let energy = energy_per_air_j_kg(&parts).map_err(&in_fuel)?;
    let plain = [MassPart { component: Component::Petrol, share: 1.0 }];
    Ok(BlendFigures {
        density_15c,
        stoichiometric_ratio: blend_stoichiometric_ratio(&parts).map_err(&in_fuel)?,
        heating_value_j_kg: blend_heating_value_j_kg(&parts).map_err(&in_fuel)?,
        energy_per_air_j_kg: energy,
        energy_ratio: energy / energy_per_air_j_kg(&plain).map_err(&in_fuel)?,
        parts,
    })
}

fn by_volume(shares: &[(Component, f64)], petrol: Option<f64>) -> Known<Vec<MassPart>> {
    let part = |(component, share): &(Component, f64)| {
        let density = component.density_15c().or(petrol).ok_or_else(|| Gap::needs("fuel.density"))?;
        Ok(VolumePart { component: *component, share: *share, density })
    };
    let parts: Vec<VolumePart> = shares.iter().map(part).collect::<Known<_>>()?;
    mass_parts(&parts).map_err(wrong("fuel"))
}

/// What is in the tank of a setup.
#[derive(Debug, Clone)]
pub struct TankFigures {
    /// Petrol to oil by volume.
    pub oil_ratio: Known<f64>,
    /// Oil as a fraction of the mixture's mass.
    pub oil_mass_fraction: Known<f64>,
    /// Density of the mixture at a temperature, kg/m3.
    pub mixture_density: Known<f64>,
    /// The temperature it holds at, C.
    pub temperature_c: f64,
    /// Air mass to fuel mass at which both burn completely, as written down.
    pub stoichiometric_ratio: Known<f64>,
}

/// The fuel of a setup; where its temperature is not written down, at 15 C.
pub fn tank_figures(bench: &Bench<'_>) -> TankFigures {
    let temperature_c = bench.si_or("fuel.temperature", 288.15) - 273.15;
    let in_fuel = wrong("fuel");
    let densities = both(bench.si("fuel.density"), bench.si("fuel.oil_density"));
    let oil = both(bench.si("fuel.oil_ratio"), densities.clone())
        .and_then(|(ratio, (petrol, oil))| oil_mass_fraction(ratio, petrol, oil).map_err(&in_fuel));
    let mixture = three(oil.clone(), bench.si("fuel.density"), bench.si("fuel.oil_density"));
    TankFigures {
        oil_ratio: bench.si("fuel.oil_ratio"),
        mixture_density: mixture.and_then(|(fraction, petrol, oil)| {
            warm_mixture(fraction, petrol, oil, temperature_c).map_err(&in_fuel)
        }),
        oil_mass_fraction: oil,
        temperature_c,
        stoichiometric_ratio: bench.si("fuel.stoichiometric_ratio"),
    }
}

fn warm_mixture(fraction: f64, petrol: f64, oil: f64, temperature_c: f64) -> Result<f64, EngineError> {
    mixture_density(fraction, petrol_density(petrol, temperature_c)?, oil)
}

/// Oil for a volume of petrol, m3, at the setup's ratio or another one.
pub fn oil_for(bench: &Bench<'_>, petrol_m3: f64, ratio: Option<f64>) -> Known<f64> {
    let ratio =
        ratio.map_or_else(|| bench.si("fuel.oil_ratio"), Ok).map_err(|_| Gap::needs("fuel.oil_ratio"))?;
    oil_for_petrol_m3(petrol_m3, ratio).map_err(wrong("fuel"))
}

/// What to pour into a can, m3, to bring it from one ratio to another.
pub fn can_to(can_m3: f64, from: Known<f64>, to: f64) -> Known<Correction> {
    correct_can(can_m3, from?, to).map_err(wrong("fuel"))
}
