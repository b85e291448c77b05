//! All the airs that are raced in, for an answer that is looked up where the program is not: what an answer feels of an air, and an air
//! to every such number.
//!
//! An answer feels two numbers of an air. The one is what the metering wants in it: dry density over the root of the moist one through
//! a venturi, dry density by an injector, less what its box corrects by itself. The other counts only while a run holds the bike: whether
//! the air is thinner, by its dry density, than the one it ran in. The doubt of a reading counts from 0.4 % of fuel on, more than a
//! thermometer, a barometer and a hygrometer of the paddock leave up to 44 C; the fuel's own temperature is no part of an answer for another air.

use super::{Question, Unanswered};
use crate::air::Air;
use crate::notebook::{AirCompensation, AirEntry, Setup};
use crate::quantity::search;

/// Airs that are raced in, with room: coldest and hottest, C; least and most pressure, Pa (common practice, no source).
const COLDEST_C: f64 = -12.0;
const HOTTEST_C: f64 = 44.0;
const LEAST_PA: f64 = 75_000.0;
const MOST_PA: f64 = 105_500.0;
/// Pressures that an air may have which only stands for a number, Pa.
const ANY_PA: (f64, f64) = (40_000.0, 110_000.0);

/// What the metering feels of an air.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feels {
    /// A carburetor: the venturi's signal goes with the moist density.
    Venturi,
    /// An injector, with what its box corrects by itself.
    Injector {
        /// It corrects for the air's temperature.
        temperature: bool,
        /// It corrects for the air's pressure.
        pressure: bool,
    },
}

impl Feels {
    /// What a setup's metering feels; none where it has no single one, or where it is not known what its box corrects.
    pub fn of(setup: &Setup) -> Option<Self> {
        match (&setup.jetting, &setup.injection) {
            (Some(_), None) => Some(Self::Venturi),
            (None, Some(injection)) => {
                let (temperature, pressure) = match injection.compensation? {
                    AirCompensation::None => (false, false),
                    AirCompensation::Temperature => (true, false),
                    AirCompensation::Pressure => (false, true),
                    AirCompensation::Both => (true, true),
                };
                Some(Self::Injector { temperature, pressure })
            }
            _ => None,
        }
    }

    /// Logarithm of the fuel that it wants in an air, but for what is the same in every air: the difference of two is ln K.
    pub fn ln_fuel(self, air: &Air) -> f64 {
        let dry = air.dry_density().ln();
        match self {
            Self::Venturi => dry - air.density().ln() / 2.0,
            Self::Injector { temperature, pressure } => {
                let by_temperature = if temperature { (air.temperature_c() + 273.15).ln() } else { 0.0 };
                let by_pressure = if pressure { air.pressure_pa().ln() } else { 0.0 };
                dry + by_temperature - by_pressure
            }
        }
    }

    /// The least and the most of it in airs that are raced in.
    pub fn span(self) -> Option<(f64, f64)> {
        let corner = |temperature, pressure, humidity| {
            Air::from_relative_humidity(temperature, pressure, humidity).ok()
        };
        let ends = [(HOTTEST_C, LEAST_PA, 1.0), (COLDEST_C, MOST_PA, 0.0)];
        let [least, most] =
            ends.map(|(temperature, pressure, humidity)| corner(temperature, pressure, humidity));
        Some((self.ln_fuel(&least?), self.ln_fuel(&most?)))
    }
}

/// The airs that one answer after the other is found in: a bike's, as thin as the runs that hold it tell apart.
#[derive(Debug, Clone)]
pub struct Span {
    /// What the metering feels.
    pub feels: Feels,
    /// The least and the most of that.
    pub range: (f64, f64),
    /// Dry densities, descending, kg/m3: an air below one is thinner than that of a run that holds.
    pub thinner: Vec<f64>,
}

impl Span {
    /// Of a bike's metering and the runs that hold it; none where an answer feels more of an air than these numbers.
    pub fn of(question: &Question<'_>) -> Result<Option<Self>, Unanswered> {
        let Some(feels) = Feels::of(question.setup()?) else { return Ok(None) };
        // What is not gone back to is let go in thinner air as well.
        let holds = question.holds.holds.iter().chain(&question.holds.not_again);
        let mut thinner: Vec<f64> = holds.filter_map(crate::advice::held::Hold::thinner_below).collect();
        thinner.sort_by(|a, b| b.total_cmp(a));
        thinner.dedup();
        let is_plain =
            matches!(feels, Feels::Venturi | Feels::Injector { temperature: false, pressure: false });
        let range = feels.span().filter(|_| is_plain || thinner.is_empty());
        Ok(range.map(|range| Self { feels, range, thinner }))
    }

    /// How many of the runs that hold an air is thinner than.
    pub fn thinness(&self, air: &Air) -> usize {
        self.thinner.iter().filter(|density| air.dry_density() < **density).count()
    }

    /// An air that wants so much fuel and is thinner than so many of the runs that hold; none where no air is both.
    pub fn air(&self, ln_fuel: f64, thinness: usize) -> Option<AirEntry> {
        let temperature = self.hottest(ln_fuel);
        let air = |humidity: f64| self.with_humidity((ln_fuel, temperature), humidity);
        let dry = air(0.0)?;
        if self.thinness(&dry) == thinness {
            return entry(&dry);
        }
        let wet = air(1.0)?;
        if self.thinness(&wet) == thinness {
            return entry(&wet);
        }
        // Between the two the dry density goes one way with the humidity, through a venturi up: the middle of what both leave open.
        let ends = [dry.dry_density(), wet.dry_density()];
        let [least, most] = [ends[0].min(ends[1]), ends[0].max(ends[1])];
        let below = thinness.checked_sub(1).and_then(|run| self.thinner.get(run));
        let from = self.thinner.get(thinness).map_or(least, |density| density.max(least));
        let to = below.map_or(most, |density| density.min(most));
        let middle = f64::midpoint(from, to);
        let is_like_dry = |air: Air| (air.dry_density() >= middle) == (ends[0] >= middle);
        let found = search::turn(0.0, 1.0, |humidity| air(humidity).is_some_and(is_like_dry));
        let between = air(found.middle())?;
        (self.thinness(&between) == thinness).then(|| entry(&between)).flatten()
    }

    /// The hottest temperature at which the most pressure wants so much fuel; saturated, for both ends of the humidity to have one.
    fn hottest(&self, ln_fuel: f64) -> f64 {
        let most = |temperature| Air::from_relative_humidity(temperature, ANY_PA.1, 1.0).ok();
        search::turn(COLDEST_C - 20.0, HOTTEST_C, |temperature| self.wants(most(temperature)) >= ln_fuel)
            .holds
    }

    /// What an air wants; less than anything where there is none.
    fn wants(&self, air: Option<Air>) -> f64 {
        air.map_or(f64::NEG_INFINITY, |air| self.feels.ln_fuel(&air))
    }

    /// The air of a humidity, 0 to 1, and a temperature that wants so much fuel.
    fn with_humidity(&self, (ln_fuel, temperature): (f64, f64), humidity: f64) -> Option<Air> {
        if matches!(self.feels, Feels::Injector { pressure: true, .. }) {
            return self.without_pressure(ln_fuel);
        }
        let at = |pressure| Air::from_relative_humidity(temperature, pressure, humidity).ok();
        let (low, high) = ANY_PA;
        at(search::turn(low, high, |pressure| self.wants(at(pressure)) <= ln_fuel).middle())
    }

    /// The same where the pressure is no part of it: by temperature and humidity together.
    fn without_pressure(&self, ln_fuel: f64) -> Option<Air> {
        let along = |share: f64| {
            let temperature = COLDEST_C + (HOTTEST_C - COLDEST_C) * share;
            Air::from_relative_humidity(temperature, MOST_PA + (LEAST_PA - MOST_PA) * share, share).ok()
        };
        along(search::turn(0.0, 1.0, |share| self.wants(along(share)) >= ln_fuel).middle())
    }
}

/// An air as somebody would type it who read it to the last digit.
fn entry(air: &Air) -> Option<AirEntry> {
    let line = format!(
        "temp={:.9} C; baro={:.7} hPa; humidity={:.9} %",
        air.temperature_c(),
        air.pressure_pa() / 100.0,
        (100.0 * air.relative_humidity()).clamp(0.0, 100.0)
    );
    AirEntry::parse(&line).ok()
}

#[cfg(test)]
mod tests {
    use super::{Feels, Span};
    use crate::air::Air;

    #[test]
    fn to_every_air_that_is_raced_in_there_is_one_that_an_answer_cannot_tell_from_it() {
        let mut random = fastrand::Rng::with_seed(20_261_130);
        let plain = Feels::Injector { temperature: false, pressure: false };
        for feels in [Feels::Venturi, plain] {
            let thinner = vec![1.238, 1.211, 1.203, 1.201, 1.193, 1.162, 1.06];
            let span = Span { feels, range: feels.span().unwrap(), thinner };
            for _ in 0..2_000 {
                let (temperature, pressure) =
                    (random.f64().mul_add(50.0, -8.0), random.f64().mul_add(28_500.0, 76_000.0));
                let air = Air::from_relative_humidity(temperature, pressure, random.f64()).unwrap();
                let (wants, thinness) = (feels.ln_fuel(&air), span.thinness(&air));
                let found =
                    span.air(wants, thinness).unwrap_or_else(|| panic!("none like {air:?} for {feels:?}"));
                let found = found.air().unwrap();
                assert_eq!(span.thinness(&found), thinness, "{air:?}");
                assert!((feels.ln_fuel(&found) - wants).abs() < 1e-6, "{air:?}: {found:?}");
            }
        }
    }
}
