//! What changes about the fuel.

use clap::Args;

use crate::commands::options::engine::quantity;
use crate::notebook::{Fuel, to_one};
use crate::report::Trouble;

/// What changes about the fuel.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Fuel")]
pub(super) struct FuelOptions {
    /// Name of the new fuel
    #[arg(long, value_name = "NAME")]
    fuel_name: Option<String>,
    /// Its density at 15 C without oil ("745 kg/m3")
    #[arg(long, value_name = "DENSITY", allow_hyphen_values = true)]
    fuel_density: Option<String>,
    /// Its stoichiometric ratio, air to fuel by mass
    #[arg(long, value_name = "RATIO", allow_hyphen_values = true)]
    stoichiometric_ratio: Option<String>,
    /// Petrol to oil by volume: 32 means 32:1
    #[arg(long, value_name = "RATIO", allow_hyphen_values = true)]
    oil_ratio: Option<String>,
    /// Temperature of the fuel
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    fuel_temp: Option<String>,
}

impl FuelOptions {
    /// The fields that change; none where none was given.
    pub(super) fn fuel(&self) -> Result<Option<Fuel>, Trouble> {
        let fuel = Fuel {
            name: self.fuel_name.clone(),
            density: quantity("fuel.density", self.fuel_density.as_deref())?,
            stoichiometric_ratio: quantity(
                "fuel.stoichiometric_ratio",
                self.stoichiometric_ratio.as_deref(),
            )?,
            oil_ratio: quantity("fuel.oil_ratio", self.oil_ratio.as_deref().map(to_one))?,
            oil_density: None,
            oil: None,
            temperature: quantity("fuel.temperature", self.fuel_temp.as_deref())?,
        };
        let given = fuel.name.is_some()
            || fuel.density.is_some()
            || fuel.stoichiometric_ratio.is_some()
            || fuel.oil_ratio.is_some()
            || fuel.temperature.is_some();
        Ok(given.then_some(fuel))
    }
}
