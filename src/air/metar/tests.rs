//! The forms a report comes in, and what is refused. Values against published reports are
//! in `tests/reference/air_metar.toml`.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use super::{Metar, ReportKind};
use crate::air::{Air, AirError, Humidity, Pressure};

fn parsed(text: &str) -> Metar {
    Metar::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn near(found: Option<f64>, expected: f64) -> bool {
    found.is_some_and(|found| (found - expected).abs() < 1e-6)
}

#[test]
fn heading_is_read_in_all_its_forms() {
    let plain = parsed("YUDO 221630Z 17/16 Q1018");
    assert_eq!(plain.station, "YUDO");
    assert_eq!((plain.day, plain.hour, plain.minute), (22, 16, 30));
    assert_eq!(plain.kind, ReportKind::Routine);
    assert!(!plain.automatic && !plain.corrected && plain.whole_degrees);
    for same in [
        "METAR YUDO 221630Z 17/16 Q1018",
        "metar yudo 221630z 17/16 q1018=",
        "  METAR\n YUDO   221630Z\r\n\t17/16 Q1018 =\n",
        "YUDO 221630Z 24004MPS 0600 R12/1000U DZ FG SCT010 17/16 Q1018 NOSIG",
    ] {
        assert_eq!(parsed(same), plain, "{same}");
    }
    assert_eq!(parsed("SPECI YUDO 221630Z 17/16 Q1018").kind, ReportKind::Special);
    assert!(parsed("METAR COR YUDO 221630Z 17/16 Q1018").corrected);
    assert!(parsed("METAR YUDO 221630Z COR 17/16 Q1018").corrected);
    assert!(parsed("YUDO 221630Z AUTO 17/16 Q1018").automatic);
}

#[test]
fn temperatures_below_zero_and_missing_ones() {
    let cold = parsed("YUDO 221630Z M02/M15 Q1018");
    assert!(near(cold.temperature_c, -2.0) && near(cold.dew_point_c, -15.0));
    let nought = parsed("YUDO 221630Z M00/M01 Q1018");
    assert!(nought.temperature_c.is_some_and(f64::is_sign_positive));
    let no_dew = parsed("YUDO 221630Z 02/ Q1018");
    assert!(near(no_dew.temperature_c, 2.0) && no_dew.dew_point_c.is_none());
    for text in ["02///", "02/XX"] {
        let report = parsed(&format!("YUDO 221630Z {text} Q1018"));
        assert!(near(report.temperature_c, 2.0) && report.dew_point_c.is_none());
    }
    for text in ["/////", "XX/XX", ""] {
        let report = parsed(&format!("YUDO 221630Z //////KT //// // ////// {text} Q1018"));
        assert!(report.temperature_c.is_none() && report.dew_point_c.is_none());
        assert!(near(report.altimeter_setting_pa, 101_800.0));
    }
}

#[test]
fn a_trend_and_remarks_are_not_the_observation() {
    let report =
        parsed("YUDO 221630Z 17/16 Q1018 TEMPO 25/20 Q0990 BECMG A2900 RMK 30/20 Q0980 A2890 8/5// 4/013");
    assert!(near(report.temperature_c, 17.0) && near(report.dew_point_c, 16.0));
    assert!(near(report.altimeter_setting_pa, 101_800.0));
    // Of two groups of one kind the first is the observation.
    let twice = parsed("YUDO 221630Z 17/16 Q1018 05/04 Q1005");
    assert!(near(twice.temperature_c, 17.0) && near(twice.dew_point_c, 16.0));
    assert!(near(twice.altimeter_setting_pa, 101_800.0));
    // What only begins like a temperature is none: a runway's state, for one.
    assert!(parsed("YUDO 221630Z 24/290592 Q1018").temperature_c.is_none());
    // What stands only in the trend or the remarks is missing.
    assert!(parsed("YUDO 221630Z NOSIG 17/16 Q1018").temperature_c.is_none());
    assert!(parsed("YUDO 221630Z 17/16 RMK Q1018").altimeter_setting_pa.is_none());
    // Tenths and sea-level pressure stand in the remarks alone.
    let early = parsed("YUDO 221630Z 17/16 Q1018 T01710162 SLP200");
    assert!(early.whole_degrees && early.sea_level_pa.is_none());
}

#[test]
fn the_finer_setting_wins_and_slashes_are_missing() {
    let both = parsed("YUDO 221630Z 17/16 Q1013 A2993");
    assert!(near(both.altimeter_setting_pa, 2_993.0 * 33.863_89));
    assert_eq!(parsed("YUDO 221630Z 17/16 A2993 Q1013"), both);
    for text in ["Q////", "A////"] {
        let report = parsed(&format!("YUDO 221630Z 17/16 {text}"));
        assert!(report.altimeter_setting_pa.is_none());
    }
}

#[test]
fn tenths_refine_and_must_agree() {
    let alone = parsed("KABC 221630Z 03/M01 A2990 RMK T0026");
    assert!(near(alone.temperature_c, 2.6) && near(alone.dew_point_c, -1.0));
    let restored = parsed("KABC 221630Z A2990 RMK T00261015");
    assert!(near(restored.temperature_c, 2.6) && near(restored.dew_point_c, -1.5));
    assert!(parsed("KABC 221630Z 03/M01 A2990 RMK SLPNO TSNO T2026").whole_degrees);
    let error = Metar::parse("KABC 221630Z 30/10 A2990 RMK T00261015").unwrap_err();
    assert!(error.to_string().contains("T00261015"), "{error}");
}

#[test]
fn what_is_no_report_is_refused() {
    let error = |text: &str| match Metar::parse(text) {
        Err(error) => error,
        Ok(report) => panic!("{text}: {report:?}"),
    };
    for text in ["", "=", "METAR", "YUDO", "hello there", "YUDO 2216Z", "YUDO é1630Z", "12AB 221630Z"] {
        assert!(matches!(error(text), AirError::NotMetar { .. }), "{text}");
    }
    for text in ["YUDO NIL", "METAR YUDO 221630Z NIL="] {
        assert!(matches!(error(text), AirError::MetarNil { .. }), "{text}");
    }
    for text in [
        "TAF YUDO 221630Z 2218/2324 13005MPS",
        "TAF AMD YUDO 221630Z 2218/2324",
        "YUDO 221630Z 2218/2324 13005MPS",
    ] {
        assert!(matches!(error(text), AirError::MetarIsForecast { .. }), "{text}");
    }
    for text in [
        "YUDO 321630Z 17/16 Q1018",
        "YUDO 001630Z 17/16 Q1018",
        "YUDO 222430Z 17/16 Q1018",
        "YUDO 221660Z 17/16 Q1018",
        "YUDO 221630Z 17/16 Q998",
        "YUDO 221630Z 17/16 A29921",
        "YUDO 221630Z 17/16 Q1918",
        "YUDO 221630Z 17/16 Q1018= YUDO 221600Z 16/16 Q1018=",
        "YUDO 221630Z 17/16 Q1018\nMETAR KABC 221600Z 16/16 Q1018",
    ] {
        assert!(matches!(error(text), AirError::MetarGroup { .. }), "{text}");
    }
    for text in ["", "YUDO NIL", "TAF YUDO 221630Z", "YUDO 321630Z"] {
        assert_eq!(error(text).field(), "metar");
        assert!(error(text).to_string().ends_with('.'));
        assert!(error(text).help(str::to_owned).ends_with('.'));
    }
    // Untrusted text reaches a message without its control characters.
    let message = error("\u{1b}[31mred\u{7}").to_string();
    assert!(!message.chars().any(char::is_control), "{message}");
    assert!(parsed("KABC 221630Z 17/16 A2990 RMK NEXT 230600Z").whole_degrees);
}

#[test]
fn a_reading_needs_all_three_and_says_which_is_missing() {
    for (text, missing, field) in [
        ("YUDO 221630Z 17/16", "altimeter setting", "BARO"),
        ("YUDO 221630Z ///// Q1018", "temperature", "TEMP"),
        ("YUDO 221630Z 17/ Q1018", "dew point", "HUMIDITY"),
    ] {
        let error = parsed(text).reading(0.0).unwrap_err();
        assert_eq!(error.field(), "metar");
        assert!(error.to_string().contains(missing), "{error}");
        let help = error.help(str::to_uppercase);
        assert!(help.contains(field), "{help}");
    }
    let high = parsed("YUDO 221630Z 17/16 Q1018").reading(9_000.0).unwrap();
    assert_eq!(high.air().unwrap_err().field(), "elevation");
}

#[test]
fn the_airports_doubt_is_wider_than_the_tracks() {
    let whole = parsed("YUDO 221630Z 17/16 Q1018");
    let reading = whole.reading(500.0).unwrap();
    assert!((reading.doubts.temperature_k - 2.5).abs() < 1e-12);
    assert!((reading.doubts.dew_or_wet_bulb_k - 2.5).abs() < 1e-12);
    assert!((reading.doubts.pressure_pa - 150.0).abs() < 1e-12);
    let tenths = parsed("KABC 221630Z 03/M01 A2990 RMK T00261015");
    let finer = tenths.reading(500.0).unwrap();
    assert!((finer.doubts.temperature_k - 2.05).abs() < 1e-12);
    assert!((finer.doubts.pressure_pa - 83.863_89).abs() < 1e-9);
    let own = whole.reading_with(500.0, None, Some(19.0), Some(Humidity::Relative(0.6))).unwrap();
    assert!((own.doubts.temperature_k - 0.5).abs() < 1e-12);
    assert!((own.temperature_c - 19.0).abs() < 1e-12);
    assert_eq!(own.humidity, Humidity::Relative(0.6));
    assert!(own.uncertainty().unwrap().density < reading.uncertainty().unwrap().density);
}

#[test]
fn the_sea_level_pressure_is_never_used() {
    let with = parsed("ZZBQ 100156Z 19/14 A2999 RMK SLP085");
    let without = parsed("ZZBQ 100156Z 19/14 A2999");
    let air = |report: &Metar| -> Air { report.reading(1_632.0).unwrap().air().unwrap() };
    assert_eq!(air(&with), air(&without));
    assert!(matches!(with.reading(1_632.0).unwrap().pressure, Pressure::AltimeterSetting { .. }));
    assert!(with.remarks(false, false).join(" ").contains("1008.5 hPa is not an altimeter setting"));
    assert!(without.remarks(false, false).join(" ").contains("ZZBQ"));
    let only = parsed("ZZBQ 100156Z 19/14 RMK SLP085");
    assert!(matches!(only.reading(1_632.0), Err(AirError::MetarWithout { .. })));
}

#[test]
fn settings_that_contradict_each_other_are_refused_with_both_values() {
    for text in ["ZZRA 150920Z 19/11 Q1013 A3092", "ZZRA 150920Z 19/11 A3092 Q1013"] {
        let error = Metar::parse(text).unwrap_err();
        assert!(matches!(error, AirError::MetarContradicts { .. }), "{text}: {error}");
        let words = error.to_string();
        assert!(words.contains("1013.0 hPa") && words.contains("1047.1 hPa"), "{words}");
    }
    // 29.92 inHg is 1013.2 hPa (ICAO Doc 7488), printed as 1013.
    let same = parsed("ZZRA 150920Z 19/11 Q1013 A2992");
    assert!(near(same.altimeter_setting_pa, 2992.0 * 33.863_89));
}

#[test]
fn only_what_is_the_airports_is_called_so() {
    let report = parsed("ZZRA 150920Z 19/11 Q1016");
    let said = |temperature, humidity| report.remarks(temperature, humidity).join(" ");
    assert!(said(false, false).starts_with("Temperature and dew point are those of the airport"));
    assert!(said(true, false).starts_with("The dew point is that of the airport"));
    assert!(said(false, true).starts_with("The temperature is that of the airport"));
    assert_eq!(said(true, true), "");
}
