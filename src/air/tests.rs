//! What the air refuses, and what it warns of.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use super::{Air, AirError, Doubts, Humidity, Pressure, Reading};

#[test]
fn what_cannot_be_true_is_refused_with_field_and_way_out() {
    let station = |pa| Pressure::Station { pa };
    let setting = |pa, elevation_m| Pressure::AltimeterSetting { pa, elevation_m };
    let sea = |pa, elevation_m| Pressure::SeaLevel { pa, elevation_m };
    let half = Humidity::Relative(0.5);
    let cases: [(f64, Pressure, Humidity, &str, &str); 21] = [
        (f64::NAN, station(1e5), half, "temp", "finite"),
        (61.0, station(1e5), half, "temp", "61.0 C"),
        (-60.5, station(1e5), half, "temp", "-60.5 C"),
        (20.0, station(f64::INFINITY), half, "baro", "finite"),
        (20.0, station(0.0), half, "baro", "400.0 to 1100.0 hPa"),
        (20.0, station(-5.0), half, "baro", "-0.1 hPa"),
        (20.0, station(111_000.0), half, "baro", "1110.0 hPa"),
        (20.0, station(2_992.0), half, "baro", "29.92 hPa"),
        (20.0, setting(84_000.0, 900.0), half, "qnh", "840.0 hPa"),
        (20.0, setting(1e5, 5_001.0), half, "elevation", "5001.0 m"),
        (20.0, setting(1e5, f64::NAN), half, "elevation", "finite"),
        (20.0, sea(110_000.0, 0.0), half, "sea_level", "1100.0 hPa"),
        (20.0, sea(1e5, -501.0), half, "elevation", "-501.0 m"),
        (20.0, station(1e5), Humidity::Relative(1.01), "humidity", "101.0 %"),
        (20.0, station(1e5), Humidity::Relative(-0.01), "humidity", "-1.0 %"),
        (20.0, station(1e5), Humidity::DewPoint(20.1), "dew_point", "20.1 C"),
        (20.0, station(1e5), Humidity::DewPoint(-81.0), "dew_point", "-81.0 C"),
        (20.0, station(1e5), Humidity::DewPoint(f64::NAN), "dew_point", "finite"),
        (20.0, station(1e5), Humidity::WetBulb(20.1), "wet_bulb", "20.1 C"),
        (20.0, station(1e5), Humidity::WetBulb(2.0), "wet_bulb", "perfectly dry"),
        (20.0, station(1e5), Humidity::WetBulb(f64::NAN), "wet_bulb", "finite"),
    ];
    for (t, pressure, humidity, field, said) in cases {
        let error = Reading::new(t, pressure, humidity).air().unwrap_err();
        assert_eq!(error.field(), field, "{error}");
        assert!(error.to_string().contains(said), "{said}: {error}");
        assert!(error.to_string().ends_with('.'), "{error}");
        assert!(error.help(str::to_owned).ends_with('.'), "{}", error.help(str::to_owned));
        assert!(error.help(str::to_owned).len() > 20, "{}", error.help(str::to_owned));
    }
}

#[test]
fn a_pressure_in_the_wrong_unit_is_named() {
    for (pa, meant) in [
        (2_992.0, "29.92 inHg"),
        (1_013.0, "1013 hPa"),
        (10_130.0, "101.3 kPa"),
        (760.0, "760 hPa or 760 mmHg"),
        (1_470.0, "14.7 psi"),
        (10_132_500.0, "101325 Pa"),
    ] {
        let error = Air::from_relative_humidity(20.0, pa, 0.5).unwrap_err();
        assert!(matches!(error, AirError::PressureUnit { .. }), "{error}");
        assert!(error.help(str::to_owned).contains(meant), "{meant}: {}", error.help(str::to_owned));
    }
}

#[test]
fn the_driest_wet_bulb_is_where_the_vapour_ends() {
    let error = Air::from_wet_bulb(30.0, 100_000.0, 5.0).unwrap_err();
    let AirError::WetBulbTooDry { lowest_c, .. } = error else {
        panic!("{error}");
    };
    let driest = Air::from_wet_bulb(30.0, 100_000.0, lowest_c).unwrap();
    assert!(driest.relative_humidity() < 1e-9);
    assert!(Air::from_wet_bulb(30.0, 100_000.0, lowest_c - 0.01).is_err());
}

#[test]
fn a_doubt_that_is_no_doubt_is_refused() {
    let pressure = Pressure::AltimeterSetting { pa: 101_000.0, elevation_m: 200.0 };
    let reading = Reading::new(20.0, pressure, Humidity::DewPoint(10.0));
    assert!(reading.uncertainty().is_ok());
    let refused = |doubts: Doubts| {
        let spoiled = Reading { doubts, ..reading };
        spoiled.uncertainty().unwrap_err().field()
    };
    let usual = reading.doubts;
    let negative = Doubts { temperature_k: -0.1, ..usual };
    assert_eq!(refused(negative), "temp");
    let unknown = Doubts { pressure_pa: f64::NAN, ..usual };
    assert_eq!(refused(unknown), "qnh");
    let negative = Doubts { dew_or_wet_bulb_k: -1.0, ..usual };
    assert_eq!(refused(negative), "dew_point");
    let endless = Doubts { elevation_m: f64::INFINITY, ..usual };
    assert_eq!(refused(endless), "elevation");
}

#[test]
fn a_reading_says_what_to_be_wary_of() {
    let remarks = |t, pressure, humidity| Reading::new(t, pressure, humidity).remarks().join(" ");
    let half = Humidity::Relative(0.5);
    let station = Pressure::Station { pa: 95_000.0 };
    assert_eq!(remarks(20.0, station, half), "");
    let sea = |elevation_m| Pressure::SeaLevel { pa: 101_000.0, elevation_m };
    assert!(remarks(20.0, sea(900.0), half).contains("900 m is in wide doubt"));
    assert_eq!(remarks(20.0, sea(400.0), half), "");
    let setting = Pressure::AltimeterSetting { pa: 90_000.0, elevation_m: 0.0 };
    assert!(remarks(20.0, setting, half).contains("rare"));
    let cold = remarks(2.0, station, Humidity::WetBulb(-1.0));
    assert!(cold.contains("iced"), "{cold}");
    let above = remarks(3.0, station, Humidity::WetBulb(1.0));
    assert!(!above.contains("iced"), "{above}");
}
