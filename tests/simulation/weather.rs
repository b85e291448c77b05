//! The air of a season: places at different heights, a spring that grows into summer and autumn, days that differ; and
//! what the instruments show of it. Invented; the spreads are common practice, no source.

use reedbook::air::Air;

use super::chance::Chance;

/// Places a rider goes to in a season.
const PLACES: usize = 5;

/// Days at one place before the van moves on.
const DAYS_AT_A_PLACE: usize = 2;

/// What a barometer, a thermometer and a hygrometer may be off, half-widths: Pa, K and a fraction.
const INSTRUMENTS: (f64, f64, f64) = (100.0, 0.5, 0.05);

/// How wrongly the air is read beyond what the instruments are good for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Misreading {
    /// What the barometer shows too much while it is wrong, as a part of the pressure.
    pub(crate) barometer: f64,
    /// From which day on it is wrong, -1 the day of the baseline, and for how many days.
    pub(crate) barometer_days: (i64, i64),
    /// What the thermometer may be off on any day, half-width, K.
    pub(crate) thermometer: f64,
}

/// The air as it was and as it was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Weather {
    /// As it was.
    pub(crate) air: Air,
    /// As it was read.
    pub(crate) read: Air,
}

/// The air of the day on which the baseline was found, and of each race day after it.
pub(crate) fn season(chance: &mut Chance, days: usize, wrong: Misreading) -> (Weather, Vec<Weather>) {
    let elevations: Vec<f64> = (0..PLACES).map(|_| 1800.0 * chance.between(0.0, 1.0).powf(1.5)).collect();
    let baseline = Spell::new(chance, elevations[0], 0.2).day(chance, -1, wrong);
    let mut spell = Spell::new(chance, elevations[0], 0.0);
    let mut airs = Vec::new();
    for day in 0..days {
        if day % DAYS_AT_A_PLACE == 0 {
            #[allow(clippy::cast_precision_loss, reason = "some days")]
            let through = day as f64 / days as f64;
            let place = chance.below(PLACES);
            spell = Spell::new(chance, elevations[place], through);
        }
        airs.push(spell.day(chance, i64::try_from(day).expect("a season is short"), wrong));
    }
    (baseline, airs)
}

/// The weather at one place for a few days.
#[derive(Debug, Clone, Copy)]
struct Spell {
    elevation_m: f64,
    temperature_c: f64,
    sea_level_pa: f64,
}

impl Spell {
    /// A spell so far through the season, 0 to 1.
    fn new(chance: &mut Chance, elevation_m: f64, through: f64) -> Self {
        let at_sea_level = 14.0 + 12.0 * (std::f64::consts::PI * through).sin() + 3.0 * chance.normal();
        Self {
            elevation_m,
            temperature_c: at_sea_level - 0.0065 * elevation_m,
            sea_level_pa: 101_400.0 + 700.0 * chance.normal(),
        }
    }

    fn day(&self, chance: &mut Chance, day: i64, wrong: Misreading) -> Weather {
        let temperature_c = (self.temperature_c + 3.5 * chance.normal()).clamp(2.0, 40.0);
        // The standard atmosphere's fall of pressure with height (ICAO Doc 7488).
        let thinner = (1.0 - 2.255_77e-5 * self.elevation_m).powf(5.255_88);
        let pressure_pa = (self.sea_level_pa + 300.0 * chance.normal()) * thinner;
        let humidity = chance.between(0.3, 0.9);
        let air = |temperature_c: f64, pressure_pa: f64, humidity: f64| {
            Air::from_relative_humidity(temperature_c, pressure_pa, humidity).expect("an air of this earth")
        };
        let (barometer, thermometer, hygrometer) = INSTRUMENTS;
        let mut off = |half_width: f64| chance.between(-half_width, half_width);
        let (pressure_off, temperature_off) = (off(barometer), off(thermometer) + off(wrong.thermometer));
        let humidity_off = off(hygrometer);
        let (from, for_days) = wrong.barometer_days;
        let bias = if (from..from + for_days).contains(&day) { wrong.barometer } else { 0.0 };
        Weather {
            air: air(temperature_c, pressure_pa, humidity),
            read: air(
                temperature_c + temperature_off,
                pressure_pa * (1.0 + bias) + pressure_off,
                humidity + humidity_off,
            ),
        }
    }
}

/// What the instruments leave in doubt of ln K, a standard deviation: K goes about as the root of the density, and the
/// density as pressure over temperature; 0.05 of relative humidity is at most 0.2 % of it.
pub(crate) fn doubt(read: &Air) -> f64 {
    let (barometer, thermometer, _) = INSTRUMENTS;
    let parts = [barometer / read.pressure_pa(), thermometer / (read.temperature_c() + 273.15), 0.002 / 2.0];
    let rectangular = |part: f64| part.powi(2) / 3.0;
    0.5 * parts.into_iter().map(rectangular).sum::<f64>().sqrt()
}
