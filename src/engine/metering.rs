//! By how much the fuel metering area must change when the air or the fuel does.
//!
//! An engine at a given throttle and speed swallows a given volume. The oxygen it takes goes with the density of the dry air,
//! the venturi's depression with the density of the moist air, and the fuel drawn with area times the root of fuel
//! density times depression. So a carburetor left alone grows rich as the air thins, and the area that keeps lambda is
//!
//! K = (dry/dry0) sqrt(moist0/moist) (L0/L) (lambda0/lambda) sqrt(fuel0/fuel) (1-x0)/(1-x)
//!
//! with L the stoichiometric air/fuel ratio and x the oil mass fraction, 0 the proven condition.
//! Source: elementary carburetor, Heywood, Internal Combustion Engine Fundamentals (1988), section 7.3 (from memory;
//! worked examples checked in the tests); dry air, because power follows oxygen: NACA Report 426 (1932).
//!
//! What it leaves out: the jet's discharge coefficient taken as constant (a plain jet, wide open, turbulent), the few
//! pascals of lift from the float bowl, air bleeds and intake pulsation. An unchanged air jet drops out; a changed
//! one is not modelled.

use super::fuel::{FUEL_DENSITY, OIL_MASS_FRACTION};
use super::{Allowed, EngineError};

const MOIST_DENSITY: Allowed = Allowed {
    field: "density of the moist air",
    unit: "kg/m3",
    low: 0.3,
    high: 2.0,
    help: "Air on a track is 0.7 to 1.4 kg/m3; check temperature and station pressure.",
};

const DRY_DENSITY: Allowed = Allowed {
    field: "density of the dry air",
    unit: "kg/m3",
    low: 0.3,
    high: 2.0,
    help: "Give the mass of dry air in a cubic metre; check temperature, station pressure and humidity.",
};

const STOICHIOMETRIC_RATIO: Allowed = Allowed {
    field: "stoichiometric air/fuel ratio",
    unit: "",
    low: 1.0,
    high: 20.0,
    help: "Give kilograms of air for a kilogram of fuel: petrol is about 14.7.",
};

const LAMBDA: Allowed = Allowed {
    field: "lambda",
    unit: "",
    low: 0.4,
    high: 2.0,
    help: "Give air over the air needed: below 1 is rich.",
};

/// Two densities computed by slightly different routes may differ by rounding where there is no vapour at all.
const ROUNDING: f64 = 1.0 + 1e-9;

/// The air and the fuel for which a mixture is set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeteringConditions {
    /// Density of the air as it is, vapour included, kg/m3, 0.3 to 2.
    pub moist_density: f64,
    /// Dry air in a cubic metre of it, kg/m3, 0.3 to 2, never above the moist density.
    pub dry_density: f64,
    /// Density of what is in the float bowl, oil included, at its temperature, kg/m3, 500 to 1300.
    pub fuel_density: f64,
    /// Air/fuel ratio by mass for complete combustion of the fuel without its oil, 1 to 20.
    pub stoichiometric_ratio: f64,
    /// Oil mass over mixture mass, 0 to 0.3.
    pub oil_mass_fraction: f64,
    /// Air over the air needed, 0.4 to 2.
    pub lambda: f64,
}

impl MeteringConditions {
    /// Whether all of it is physically possible.
    pub fn check(&self) -> Result<(), EngineError> {
        MOIST_DENSITY.check(self.moist_density)?;
        DRY_DENSITY.check(self.dry_density)?;
        if self.dry_density > self.moist_density * ROUNDING {
            return Err(EngineError::Contradiction {
                field: "density of the dry air",
                found: self.dry_density,
                other: "density of the moist air",
                limit: self.moist_density,
                unit: "kg/m3",
                help: "Dry air is a part of the moist air; give both from the same reading.",
            });
        }
        FUEL_DENSITY.check(self.fuel_density)?;
        STOICHIOMETRIC_RATIO.check(self.stoichiometric_ratio)?;
        OIL_MASS_FRACTION.check(self.oil_mass_fraction)?;
        LAMBDA.check(self.lambda)?;
        Ok(())
    }
}

/// The factor on the effective fuel metering area, and what each cause has in it. Pure numbers; above 1 is a larger jet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeteringFactor {
    /// All causes together, K.
    pub total: f64,
    /// More or less oxygen in each volume swallowed.
    pub dry_air: f64,
    /// More or less depression at the venturi for the same air speed.
    pub venturi: f64,
    /// The fuel's own need of air.
    pub fuel_air: f64,
    /// Another lambda wanted.
    pub lambda: f64,
    /// A denser fuel brings more mass through the same area.
    pub fuel_density: f64,
    /// Oil takes the place of fuel.
    pub oil: f64,
}

impl MeteringFactor {
    /// Fuel an unchanged carburetor would deliver over the fuel needed: above 1 it would run rich, below 1 lean.
    pub fn unchanged_over_needed(&self) -> f64 {
        1.0 / self.total
    }
}

/// The factor on the effective fuel metering area that keeps the mixture from one condition to another.
///
/// Exactly 1, in every part, when nothing differs.
pub fn metering_factor(
    from: &MeteringConditions,
    to: &MeteringConditions,
) -> Result<MeteringFactor, EngineError> {
    from.check()?;
    to.check()?;
    let dry_air = to.dry_density / from.dry_density;
    let venturi = (from.moist_density / to.moist_density).sqrt();
    let FuelFactors { fuel_air, lambda, fuel_density, oil } = fuel_factors(from, to);
    Ok(MeteringFactor {
        total: dry_air * venturi * fuel_air * lambda * fuel_density * oil,
        dry_air,
        venturi,
        fuel_air,
        lambda,
        fuel_density,
        oil,
    })
}

/// The causes that lie in the fuel: the same for a jet and for an injector, both of which meter
/// the root of fuel density times a pressure difference.
pub(crate) struct FuelFactors {
    pub(crate) fuel_air: f64,
    pub(crate) lambda: f64,
    pub(crate) fuel_density: f64,
    pub(crate) oil: f64,
}

pub(crate) fn fuel_factors(from: &MeteringConditions, to: &MeteringConditions) -> FuelFactors {
    FuelFactors {
        fuel_air: from.stoichiometric_ratio / to.stoichiometric_ratio,
        lambda: from.lambda / to.lambda,
        fuel_density: (from.fuel_density / to.fuel_density).sqrt(),
        oil: (1.0 - from.oil_mass_fraction) / (1.0 - to.oil_mass_fraction),
    }
}
