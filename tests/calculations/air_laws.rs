//! Laws the air must obey whatever the reading, and first-order doubt against a Monte Carlo.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a test fails by panicking, and is documented by its name"
)]

use proptest::prelude::*;
use reedbook::air::{
    Air, Humidity, Metar, Pressure, Reading, SEA_LEVEL_COLUMN_DOUBT_K, Source, power_correction,
    pressure_contradicts_elevation, standard_atmosphere,
};

/// Temperatures, station pressures and humidities at which anyone races.
fn weather() -> impl Strategy<Value = (f64, f64, f64)> {
    (-15.0..45.0_f64, 65_000.0..105_000.0_f64, 0.02..1.0_f64)
}

fn air((t, p, h): (f64, f64, f64)) -> Air {
    Air::from_relative_humidity(t, p, h).unwrap()
}

proptest! {
    #[test]
    fn dew_point_and_humidity_are_two_names_of_one_air(state in weather()) {
        let air = air(state);
        let again = Air::from_dew_point(state.0, state.1, air.dew_point_c().min(state.0)).unwrap();
        prop_assert!((again.vapour_fraction() / air.vapour_fraction() - 1.0).abs() < 1e-10);
        prop_assert!((again.relative_humidity() - state.2).abs() < 1e-10);
    }

    #[test]
    fn more_humid_air_is_lighter_and_burns_less(state in weather(), more in 0.005..0.5_f64) {
        let damp = (state.0, state.1, (state.2 + more).min(1.0));
        prop_assume!(damp.2 > state.2 + 1e-3);
        let (dry, damp) = (air(state), air(damp));
        prop_assert!(damp.density() < dry.density());
        prop_assert!(damp.dry_density() < dry.dry_density());
        prop_assert!(damp.dew_point_c() > dry.dew_point_c());
        prop_assert!(damp.density() > damp.dry_density());
    }

    #[test]
    fn warmer_air_is_thinner(state in weather(), warmer in 0.1..10.0_f64) {
        let (cool, warm) = (air(state), air((state.0 + warmer, state.1, state.2)));
        prop_assert!(warm.density() < cool.density());
        prop_assert!(warm.dry_density() < cool.dry_density());
        prop_assert!(warm.density_altitude_m() > cool.density_altitude_m());
    }

    #[test]
    fn more_pressure_is_denser_air(state in weather(), more in 10.0..4_000.0_f64) {
        let (low, high) = (air(state), air((state.0, state.1 + more, state.2)));
        prop_assert!(high.density() > low.density());
        prop_assert!(high.dry_density() > low.dry_density());
    }

    #[test]
    fn the_wet_bulb_lies_between_dew_point_and_temperature(
        t in 0.0..45.0_f64, p in 65_000.0..105_000.0_f64, depression in 0.05..6.0_f64,
    ) {
        let Ok(air) = Air::from_wet_bulb(t, p, t - depression) else {
            // Only cold, thin air may be too dry for so large a depression.
            prop_assert!(t < 12.0);
            return Ok(());
        };
        prop_assert!(air.dew_point_c() < t - depression);
        prop_assert!(air.relative_humidity() < 1.0);
    }

    #[test]
    fn altimeter_setting_and_station_pressure_are_each_others_inverse(
        p in 60_000.0..108_000.0_f64, h in -400.0..4_500.0_f64,
    ) {
        let setting = standard_atmosphere::qnh_from_station(p, h);
        let back = standard_atmosphere::station_pressure_from_qnh(setting, h);
        prop_assert!((back / p - 1.0).abs() < 1e-12);
        prop_assert!((setting > p) == (h > 0.0));
    }

    #[test]
    fn heights_of_the_standard_atmosphere_are_found_again(h in -1_000.0..10_000.0_f64) {
        let by_pressure = standard_atmosphere::height_of_pressure(standard_atmosphere::pressure_pa(h));
        let by_density = standard_atmosphere::height_of_density(standard_atmosphere::density(h));
        prop_assert!((by_pressure - h).abs() < 1e-6);
        prop_assert!((by_density - h).abs() < 1e-6);
    }

    #[test]
    fn at_the_sea_all_three_pressures_are_one(t in -20.0..40.0_f64, p in 95_000.0..105_000.0_f64) {
        let humidity = Humidity::Relative(0.5);
        let station = Reading::new(t, Pressure::Station { pa: p }, humidity).air().unwrap();
        for pressure in [
            Pressure::AltimeterSetting { pa: p, elevation_m: 0.0 },
            Pressure::SeaLevel { pa: p, elevation_m: 0.0 },
        ] {
            let other = Reading::new(t, pressure, humidity).air().unwrap();
            prop_assert!((other.density() / station.density() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn doubt_grows_in_step_with_the_instruments_doubt(state in weather(), times in 0.0..5.0_f64) {
        let mut reading =
            Reading::new(state.0, Pressure::Station { pa: state.1 }, Humidity::Relative(state.2));
        let once = reading.uncertainty().unwrap();
        reading.doubts.temperature_k *= times;
        reading.doubts.pressure_pa *= times;
        reading.doubts.relative_humidity *= times;
        let scaled = reading.uncertainty().unwrap();
        prop_assert!((scaled.density - times * once.density).abs() < 1e-12);
        prop_assert!((scaled.dry_density - times * once.dry_density).abs() < 1e-12);
        prop_assert!(scaled.correlation <= 1.0 + 1e-12 && scaled.correlation > 0.0);
    }

    #[test]
    fn the_report_reader_never_panics(text in any::<String>()) {
        let _ = Metar::parse(&text);
    }

    #[test]
    fn the_report_reader_never_panics_on_what_looks_like_a_report(
        tokens in prop::collection::vec(
            prop_oneof![
                "[A-Z]{4}", "[0-9é]{5,6}Z", "M?[0-9/X]{1,3}/M?[0-9/X]{0,3}", "[QA][0-9/]{0,5}",
                "T[01é][0-9]{3,7}", "SLP[0-9N]{1,4}", "RMK|NIL|AUTO|COR|METAR|SPECI|TAF|NOSIG|=",
            ],
            0..12,
        )
    ) {
        if let Ok(metar) = Metar::parse(&tokens.join(" ")) {
            prop_assert!(metar.day <= 31 && metar.hour < 24 && metar.minute < 60);
            if let Ok(reading) = metar.reading(300.0) {
                let air = reading.air();
                prop_assert!(air.map_or(true, |air| air.density().is_finite()));
            }
        }
    }

    #[test]
    fn any_numbers_are_answered_or_refused(
        t in any::<f64>(), p in any::<f64>(), h in any::<f64>(), elevation in any::<f64>(),
    ) {
        for pressure in [
            Pressure::Station { pa: p },
            Pressure::AltimeterSetting { pa: p, elevation_m: elevation },
            Pressure::SeaLevel { pa: p, elevation_m: elevation },
        ] {
            for humidity in [Humidity::Relative(h), Humidity::DewPoint(h), Humidity::WetBulb(h)] {
                match Reading::new(t, pressure, humidity).air() {
                    Ok(air) => prop_assert!(air.density() > 0.0 && air.dry_density() > 0.0),
                    Err(error) => prop_assert!(error.help(str::to_owned).ends_with('.')),
                }
            }
        }
    }
}

#[test]
fn standard_dry_air_is_the_measure() {
    let standard = Air::STANDARD;
    assert!((standard.relative_density_percent() - 100.0).abs() < 1e-12);
    assert!((standard.relative_dry_density_percent() - 100.0).abs() < 1e-12);
    assert!((standard.density() - 1.225_521_3).abs() < 1e-7);
    assert!(standard.dew_point_c().is_infinite());
    assert!(!standard.is_extrapolated());
    let humid = air((20.0, 101_325.0, 0.5));
    let measured = |density: f64| 100.0 * density / standard.density();
    let moist = measured(humid.density()) - humid.relative_density_percent();
    let dry = measured(humid.dry_density()) - humid.relative_dry_density_percent();
    assert!(moist.abs() < 1e-9 && dry.abs() < 1e-9);
    assert!(humid.relative_dry_density_percent() < humid.relative_density_percent() - 0.5);
    for (t, p) in [(14.9, 1e5), (27.1, 1e5), (20.0, 59_900.0)] {
        assert!(air((t, p, 0.5)).is_extrapolated(), "{t} C, {p} Pa");
    }
}

#[test]
fn the_sea_level_mistake_costs_a_fifth_of_the_density() {
    let taken = air((20.0, 102_000.0, 0.5)).density();
    let pa = standard_atmosphere::station_pressure_from_qnh(102_000.0, 1_655.0);
    let true_density = air((20.0, pa, 0.5)).density();
    assert!((taken / true_density - 1.22).abs() < 0.005);
    let error = pressure_contradicts_elevation(102_000.0, 1_655.0).unwrap();
    assert_eq!(error.field(), "baro");
    let help = error.help(str::to_uppercase);
    for said in ["as QNH:", "as SEA_LEVEL.", "835.3 hPa"] {
        assert!(help.contains(said), "{said}: {help}");
    }
    assert!(error.to_string().contains("1020.0 hPa"), "{error}");
    assert!(pressure_contradicts_elevation(83_500.0, 1_655.0).is_none());
    assert!(pressure_contradicts_elevation(101_300.0, 0.0).is_none());
    // Feet given as metres: far too much pressure the other way round.
    let too_low = pressure_contradicts_elevation(83_500.0, 0.0).unwrap();
    let help = too_low.help(str::to_owned);
    assert!(help.contains("elevation") && help.contains("given as qnh"), "{help}");
}

#[test]
fn power_corrections_say_where_they_end() {
    let near = air((25.0, 100_000.0, 0.3));
    let thin = air((35.0, 80_000.0, 0.2));
    let cold = air((5.0, 99_000.0, 0.5));
    for correct in [power_correction::sae_j1349, power_correction::iso_1585, power_correction::din_70020] {
        assert!(correct(&near).in_range, "{}", correct(&near).standard);
        assert!(!correct(&thin).in_range, "{}", correct(&thin).standard);
        assert!(correct(&near).caveat.contains("never for jets"));
    }
    // ISO 1585 also names temperatures, so a factor near 1 is not enough.
    assert!(!power_correction::iso_1585(&cold).in_range);
    assert!(power_correction::iso_1585(&near).caveat.contains("ISO 4106"));
}

/// A small repeatable generator (the public-domain mixer `SplitMix64`) of numbers from -1 to 1.
struct Chance(u64);

impl Chance {
    fn signed(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        let high = u32::try_from((mixed ^ (mixed >> 31)) >> 32).unwrap();
        f64::from(high) / f64::from(u32::MAX) * 2.0 - 1.0
    }
}

/// One draw of the true air from a reading's doubts (JCGM 101:2008), by the public functions
/// alone, the column below the track included.
fn draw(reading: &Reading, chance: &mut Chance) -> Air {
    let doubts = reading.doubts;
    let mut off = |half_width: f64| half_width * chance.signed();
    let temperature_c = reading.temperature_c + off(doubts.temperature_k);
    let pa = match reading.pressure {
        Pressure::Station { pa } => pa + off(doubts.pressure_pa),
        Pressure::AltimeterSetting { pa, elevation_m } => standard_atmosphere::station_pressure_from_qnh(
            pa + off(doubts.pressure_pa),
            elevation_m + off(doubts.elevation_m),
        ),
        Pressure::SeaLevel { pa, elevation_m } => standard_atmosphere::station_pressure_from_sea_level(
            pa + off(doubts.pressure_pa),
            elevation_m + off(doubts.elevation_m),
            temperature_c + off(SEA_LEVEL_COLUMN_DOUBT_K),
        ),
    };
    let humidity = match reading.humidity {
        Humidity::Relative(value) => Humidity::Relative(value + off(doubts.relative_humidity)),
        Humidity::DewPoint(value) => Humidity::DewPoint(value + off(doubts.dew_or_wet_bulb_k)),
        Humidity::WetBulb(value) => Humidity::WetBulb(value + off(doubts.dew_or_wet_bulb_k)),
    };
    Reading::new(temperature_c, Pressure::Station { pa }, humidity).air().unwrap()
}

#[test]
fn first_order_doubt_agrees_with_a_monte_carlo() {
    const DRAWS: u32 = 40_000;
    let high_track = 1_655.0;
    let readings = [
        Reading::new(20.0, Pressure::Station { pa: 101_325.0 }, Humidity::Relative(0.5)),
        Reading::new(30.0, Pressure::Station { pa: 100_000.0 }, Humidity::Relative(0.8)),
        Reading::new(
            24.0,
            Pressure::AltimeterSetting { pa: 102_000.0, elevation_m: high_track },
            Humidity::DewPoint(12.0),
        ),
        Reading::new(
            24.0,
            Pressure::SeaLevel { pa: 102_000.0, elevation_m: high_track },
            Humidity::WetBulb(15.0),
        ),
        Metar::parse("KABC 100156Z 25/12 Q1015").unwrap().reading(350.0).unwrap(),
    ];
    for (number, reading) in readings.iter().enumerate() {
        let mut chance = Chance(2_008);
        let middle = reading.air().unwrap();
        let (mut moist, mut dry, mut both) = (0.0, 0.0, 0.0);
        for _ in 0..DRAWS {
            let air = draw(reading, &mut chance);
            let (a, b) = (air.density() - middle.density(), air.dry_density() - middle.dry_density());
            moist += a * a;
            dry += b * b;
            both += a * b;
        }
        let spread = |sum: f64| (sum / f64::from(DRAWS)).sqrt();
        let first_order = reading.uncertainty().unwrap();
        // 40 000 draws know a spread to 0.35 %; what is left of the 2 % is for curvature.
        let near = |ratio: f64| (ratio - 1.0).abs() < 0.02;
        assert!(near(first_order.density / spread(moist)), "reading {number}");
        assert!(near(first_order.dry_density / spread(dry)), "reading {number}");
        assert!(near(first_order.correlation / (both / (moist * dry).sqrt())), "reading {number}");
    }
}

#[test]
fn the_doubt_names_its_sources_and_the_greatest_is_the_expected_one() {
    let greatest = |reading: &Reading| {
        let doubt = reading.uncertainty().unwrap();
        let square: f64 = doubt.contributions.iter().map(|(_, u)| u * u).sum();
        assert!((square.sqrt() / doubt.density - 1.0).abs() < 1e-12);
        let mut sources = doubt.contributions;
        sources.sort_by(|a, b| b.1.total_cmp(&a.1));
        sources[0].0
    };
    let half = Humidity::Relative(0.5);
    let instrument = Reading::new(20.0, Pressure::Station { pa: 101_325.0 }, half);
    assert_eq!(greatest(&instrument), Source::Temperature);
    let sea = Pressure::SeaLevel { pa: 102_000.0, elevation_m: 1_655.0 };
    assert_eq!(greatest(&Reading::new(20.0, sea, half)), Source::SeaLevelReduction);
    let mut guessed =
        Reading::new(20.0, Pressure::AltimeterSetting { pa: 102_000.0, elevation_m: 1_655.0 }, half);
    guessed.doubts.elevation_m = 100.0;
    assert_eq!(greatest(&guessed), Source::Elevation);
}
