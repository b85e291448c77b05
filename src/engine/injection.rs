//! Fuel injection: by how much the map must change, what the control unit already does itself, pulse and duty.
//!
//! An injector opens for a time; what passes goes with that time and with the root of fuel density times a regulated pressure
//! difference. The fuel needed goes with the density of dry air, p (1 - xv) Ma / (Z R T). A control unit that measures the air temperature
//! corrects by 1/T, one that measures the pressure by p, and only the rest is left for the trim:
//!
//! | it corrects for | left in the air's part of the trim |
//! |---|---|
//! | nothing | the ratio of dry-air densities |
//! | temperature | that ratio times T/T0: pressure and humidity |
//! | pressure | that ratio times p0/p: temperature and humidity |
//! | both | both of these: the ratio of (1 - xv)/Z, humidity alone |
//!
//! Taken as known: the corrections are in full (some units are tuned to less), and the pressure across the injector is held.
//! Sources: moist-air density as CIPM-2007 writes it; the injector's law is Bernoulli's.

use super::metering::{FuelFactors, MeteringConditions, fuel_factors};
use super::{Allowed, EngineError, FACTOR};

const TEMPERATURE: Allowed = Allowed {
    field: "air temperature",
    unit: "C",
    low: -60.0,
    high: 70.0,
    help: "Give the temperature of the air the engine breathes in degrees Celsius.",
};

const PRESSURE: Allowed = Allowed {
    field: "station pressure",
    unit: "Pa",
    low: 30_000.0,
    high: 120_000.0,
    help: "Give the actual pressure at the track in pascals; 1 hPa is 100 Pa.",
};

/// (1 - xv)/Z of real air: 1.0004 when dry, 0.9 when hot and saturated. Outside it, density, pressure and temperature are not of one air.
const DRY_SHARE: Allowed = Allowed {
    field: "share of dry air that density, pressure and temperature make together",
    unit: "",
    low: 0.7,
    high: 1.01,
    help: "Give dry-air density, station pressure and temperature from the same reading.",
};

const DEAD_TIME: Allowed = Allowed {
    field: "injector dead time",
    unit: "s",
    low: 0.0,
    high: 0.01,
    help: "Give it in seconds; about 0.001 is usual.",
};

const FUEL_MASS: Allowed = Allowed {
    field: "fuel mass of a pulse",
    unit: "kg",
    low: 0.0,
    high: 1e-3,
    help: "Give it in kilograms; a racing single takes some milligrams, 1e-6 kg.",
};

const FLOW: Allowed = Allowed {
    field: "injector flow",
    unit: "kg/s",
    low: 1e-5,
    high: 0.1,
    help: "Give the flow of the injector held open in kg/s; 200 g/min is 0.0033 kg/s.",
};

const PULSE: Allowed =
    Allowed { field: "injector pulse", unit: "s", low: 0.0, high: 1.0, help: "Give it in seconds." };

const SPEED: Allowed = Allowed {
    field: "engine speed",
    unit: "rpm",
    low: 1.0,
    high: 30_000.0,
    help: "Give it in revolutions a minute.",
};

const PULSES: Allowed = Allowed {
    field: "injections each revolution",
    unit: "",
    low: 0.25,
    high: 10.0,
    help: "Give 1 for a two-stroke that injects once each revolution.",
};

/// What the control unit corrects by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compensation {
    /// Nothing: a map of throttle and speed alone.
    None,
    /// Air temperature.
    Temperature,
    /// Air pressure, by a barometer or by the pressure in the intake.
    Pressure,
    /// Both.
    TemperatureAndPressure,
}

impl Compensation {
    fn corrects_temperature(self) -> bool {
        matches!(self, Self::Temperature | Self::TemperatureAndPressure)
    }

    fn corrects_pressure(self) -> bool {
        matches!(self, Self::Pressure | Self::TemperatureAndPressure)
    }
}

/// The air and the fuel for which a map is right, with what the sensors read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InjectionConditions {
    /// Densities, fuel, oil and lambda.
    pub mixture: MeteringConditions,
    /// Temperature of the air, C, -60 to 70.
    pub temperature_c: f64,
    /// Station pressure, Pa, 30 000 to 120 000.
    pub pressure_pa: f64,
}

impl InjectionConditions {
    fn check(&self) -> Result<(), EngineError> {
        /// Specific gas constant of dry air R/Ma with the constants of CIPM-2007, J/(kg K).
        const R_DRY_AIR: f64 = 8.314_472 / 0.028_965_46;
        self.mixture.check()?;
        TEMPERATURE.check(self.temperature_c)?;
        PRESSURE.check(self.pressure_pa)?;
        DRY_SHARE.check(self.mixture.dry_density * R_DRY_AIR * self.temperature_k() / self.pressure_pa)?;
        Ok(())
    }

    fn temperature_k(&self) -> f64 {
        self.temperature_c + 273.15
    }
}

/// The factor on the open time of every cell of a map, and what each cause has in it. Pure numbers; above 1 is more fuel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trim {
    /// All causes together.
    pub total: f64,
    /// The air, less what the control unit corrects itself.
    pub air: f64,
    /// The fuel's own need of air.
    pub fuel_air: f64,
    /// Another lambda wanted.
    pub lambda: f64,
    /// A denser fuel brings more mass in the same time.
    pub fuel_density: f64,
    /// Oil in the petrol takes the place of fuel.
    pub oil: f64,
}

/// The trim that keeps the mixture from one condition to another. Exactly 1, in every part, when nothing differs.
pub fn trim(
    compensation: Compensation,
    from: &InjectionConditions,
    to: &InjectionConditions,
) -> Result<Trim, EngineError> {
    from.check()?;
    to.check()?;
    let mut air = to.mixture.dry_density / from.mixture.dry_density;
    if compensation.corrects_temperature() {
        air *= to.temperature_k() / from.temperature_k();
    }
    if compensation.corrects_pressure() {
        air *= from.pressure_pa / to.pressure_pa;
    }
    let FuelFactors { fuel_air, lambda, fuel_density, oil } = fuel_factors(&from.mixture, &to.mixture);
    Ok(Trim { total: air * fuel_air * lambda * fuel_density * oil, air, fuel_air, lambda, fuel_density, oil })
}

/// Pulse that delivers a mass of fuel, s: the dead time before the injector opens, plus mass over its flow held open.
pub fn pulse_s(fuel_mass_kg: f64, flow_kg_per_s: f64, dead_time_s: f64) -> Result<f64, EngineError> {
    Ok(DEAD_TIME.check(dead_time_s)? + FUEL_MASS.check(fuel_mass_kg)? / FLOW.check(flow_kg_per_s)?)
}

/// A pulse after a trim, s. Only the open time is trimmed: the dead time brings no fuel. A pulse shorter than its dead time is refused.
pub fn trimmed_pulse_s(pulse_s: f64, dead_time_s: f64, trim: f64) -> Result<f64, EngineError> {
    let pulse = PULSE.check(pulse_s)?;
    let dead_time = DEAD_TIME.check(dead_time_s)?;
    let trim = FACTOR.check(trim)?;
    if dead_time > pulse {
        return Err(EngineError::Contradiction {
            field: "injector dead time",
            found: dead_time,
            other: "pulse",
            limit: pulse,
            unit: "s",
            help: "The pulse contains its dead time; give both in seconds.",
        });
    }
    // Written so that a trim of 1 leaves the pulse exactly as it is.
    Ok(pulse + (pulse - dead_time) * (trim - 1.0))
}

/// Share of the time that the injector is driven. Above 1 it cannot close between two pulses, and the fuel falls short: lean.
pub fn duty_cycle(pulse_s: f64, speed_rpm: f64, pulses_per_revolution: f64) -> Result<f64, EngineError> {
    let pulses_per_second = SPEED.check(speed_rpm)? / 60.0 * PULSES.check(pulses_per_revolution)?;
    Ok(PULSE.check(pulse_s)? * pulses_per_second)
}
