//! Slips of the pen as they are questioned: pressures, temperatures and hours beside their neighbours, a session logged twice.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)] // a test may fail loudly

use std::path::PathBuf;

use reedbook::advice::slips::{Questioned, TypedOuting, beside};
use reedbook::notebook::Outing;
use reedbook::quantity::Units;
use reedbook::store::OutingRecord;

/// An outing of a bike, as its file says it.
fn outing(bike: &str, id: &str, text: &str) -> OutingRecord {
    let outing: Outing = toml::from_str(text).unwrap();
    OutingRecord {
        bike: bike.to_owned(),
        id: id.to_owned(),
        file: PathBuf::new(),
        outing,
        setup: Some(1),
        cylinders: Vec::new(),
    }
}

/// One at a moment, a place and in an air, with more of it.
fn at(moment: &str, place: &str, air: &str, more: &str) -> OutingRecord {
    let place = if place.is_empty() { String::new() } else { format!("place = \"{place}\"") };
    let humidity = if air.contains("humidity") { "" } else { "humidity = 50, " };
    let text = format!("date = \"{moment}\"\n{place}\n{more}\nair = {{ {humidity}{air} }}\n");
    outing("heron", moment, &text)
}

/// What is questioned of an outing that is dated by hand.
fn asked(record: &OutingRecord, others: &[OutingRecord]) -> Vec<Questioned> {
    let typed = TypedOuting { record, dated_by_clock: false, units: Units::Metric };
    beside(typed, others).iter().map(|slip| slip.what).collect()
}

/// Four readings at a pass of 1,800 m, where the standard atmosphere has 815 hPa (ICAO Doc 7488).
fn pass() -> Vec<OutingRecord> {
    [("10:00", 808), ("13:00", 816), ("16:00", 816), ("18:30", 823)]
        .map(|(hour, hpa)| {
            at(&format!("2026-05-15T{hour}+02:00"), "Teal Pass", &format!("temp = 15, baro = {hpa}"), "")
        })
        .to_vec()
}

#[test]
fn a_sea_level_value_high_up_is_questioned() {
    let typed =
        |place: &str, baro: &str| at("2026-06-20T10:00+02:00", place, &format!("temp = 15, {baro}"), "");
    for (place, baro, questioned) in [
        ("Teal Pass", "baro = 1014", true),
        ("teal-pass ", "baro = \"29.9 inHg\"", true),
        ("Teal Pass", "baro = 760", true),
        ("Teal Pass", "qnh = 1014, elevation = 1800", false),
        ("Teal Pass", "qnh = 1014, elevation = 180", true),
        ("Teal Pass", "baro = 845", false),
        ("Teal Pass", "baro = 790", false),
        // Nothing is known of this place: it may be at any height that races are run at, or at the one that is said.
        ("Tarn Hollow", "baro = 1014", false),
        ("Tarn Hollow", "baro = 600", true),
        ("Tarn Hollow", "baro = 865, elevation = 1800", true),
        ("Tarn Hollow", "baro = 1014, elevation = 120", false),
        ("Tarn Hollow", "qnh = 900, elevation = 120", true),
        // A month later, at no place: what this garage has read before.
        ("", "baro = 1014", true),
        ("", "baro = 1014, elevation = 120", false),
        ("", "baro = 815", false),
        ("", "baro = 910", true),
    ] {
        let expected = if questioned { vec![Questioned::Air] } else { Vec::new() };
        assert_eq!(asked(&typed(place, baro), &pass()), expected, "{place} {baro}");
    }
    let dry = at("2026-06-20T10:00+02:00", "Teal Pass", "temp = 15, baro = 815, humidity = 8", "");
    assert_eq!(asked(&dry, &pass()), [Questioned::Air], "a digit of the humidity is lost");
    let slip = beside(
        TypedOuting {
            record: &typed("Teal Pass", "baro = 1014"),
            dated_by_clock: false,
            units: Units::Metric,
        },
        &pass(),
    );
    assert_eq!(
        slip[0].question,
        "1014 hPa has never been read at Teal Pass (808 to 823 hPa): is it the sea-level value?"
    );
}

/// 798 to 801 hPa on two days at 2,000 m, where the standard atmosphere has 795 hPa: their mean is 799.5 hPa.
fn skarne() -> Vec<OutingRecord> {
    [("07-20", 798), ("07-20", 801), ("07-21", 799), ("07-21", 800)]
        .iter()
        .enumerate()
        .map(|(hour, (day, hpa))| {
            let moment = format!("2026-{day}T1{hour}:00+02:00");
            at(&moment, "High Skarne", &format!("temp = 15, baro = {hpa}, elevation = 2000"), "")
        })
        .collect()
}

#[test]
fn a_pressure_is_held_against_the_mean_of_a_place_and_its_weather() {
    let typed =
        |place: &str, air: &str| at("2026-08-20T10:00+02:00", place, &format!("temp = 15, {air}"), "");
    // Two days leave 25 hPa times the root of 1 + 1/2, 30.6 hPa, about 799.5 hPa.
    for (place, air, questioned) in [
        ("High Skarne", "baro = 831", true),
        ("  high   SKARNE ", "baro = 831", true),
        ("High Skarne", "baro = 829", false),
        ("High Skarne", "baro = 768", true),
        ("High Skarne", "baro = 770", false),
        // 40 m lower the standard atmosphere has 4 hPa more: 833.5 is the same 30 hPa, 835 is not.
        ("The skarne", "baro = 833.5, elevation = 1960", false),
        ("The skarne", "baro = 835, elevation = 1960", true),
        ("The skarne", "baro = 825, elevation = 2040", false),
        ("The skarne", "baro = 828, elevation = 2040", true),
        // Another place.
        ("The skarne", "baro = 831, elevation = 1700", false),
    ] {
        let expected = if questioned { vec![Questioned::Air] } else { Vec::new() };
        assert_eq!(asked(&typed(place, air), &skarne()), expected, "{place} {air}");
    }
    // One day is any day's weather: 25 hPa times the root of 2 about 799.5 hPa.
    let one_day = &skarne()[..2];
    assert_eq!(asked(&typed("High Skarne", "baro = 834"), one_day), []);
    assert_eq!(asked(&typed("High Skarne", "baro = 836"), one_day), [Questioned::Air]);
    // What was recorded once, and is not doubted, has been read there.
    let mut sure = skarne();
    sure.push(at("2026-08-19T10:00+02:00", "High Skarne", "temp = 15, baro = 845", ""));
    assert_eq!(asked(&typed("High Skarne", "baro = 847"), &sure), []);
}

#[test]
fn a_height_that_was_read_before_serves_without_the_place() {
    let before = [at("2026-05-15T10:00+02:00", "Teal Pass", "temp = 15, qnh = 1013, elevation = 1800", "")];
    // 60 hPa from the standard atmosphere is refused elsewhere; 50 hPa from what was read there is asked.
    let typed = at("2026-06-20T10:00+02:00", "The pass", "temp = 15, baro = 866, elevation = 1790", "");
    assert_eq!(asked(&typed, &before), [Questioned::Air]);
    let other = at("2026-06-20T10:00+02:00", "The pass", "temp = 15, baro = 866, elevation = 1500", "");
    assert_eq!(asked(&other, &before), []);
}

#[test]
fn the_elevation_of_another_track_is_asked_at_a_known_place() {
    let ran = |day: u32, place: &str, elevation: u32, qnh: u32| {
        let air = format!("temp = 15, qnh = {qnh}, elevation = {elevation}");
        at(&format!("2026-05-{day:02}T10:00+02:00"), place, &air, "")
    };
    let mut all = vec![
        ran(1, "Fennmoor", 12, 1012),
        ran(2, "Fennmoor", 12, 1018),
        ran(8, "Tarnedge", 640, 1015),
        ran(15, "Sallow Pass", 1180, 1016),
    ];
    let typed = |place: &str, elevation: u32| {
        let air = format!("temp = 15, qnh = 1018, elevation = {elevation}");
        at("2026-06-20T10:00+02:00", place, &air, "")
    };
    for elevation in [100, 300, 400, 640, 900, 1180, 2000] {
        assert_eq!(asked(&typed("Fennmoor", elevation), &all), [Questioned::Air], "{elevation}");
        assert_eq!(asked(&typed("", elevation), &all), [], "{elevation}: no place is named");
    }
    for (place, elevation) in [("Fennmoor", 12), ("fennmoor", 50), ("Tarnedge", 640), ("Tarnedge", 600)] {
        assert_eq!(asked(&typed(place, elevation), &all), [], "{place} {elevation}");
    }
    let typed_wrongly = typed("Fennmoor", 640);
    let question = |all: &[OutingRecord]| {
        let typed = TypedOuting { record: &typed_wrongly, dated_by_clock: false, units: Units::Metric };
        beside(typed, all).into_iter().map(|slip| slip.question).collect::<Vec<_>>()
    };
    assert_eq!(question(&all), ["Elevation 640 m, where Fennmoor lies at 12 m: is it that of Tarnedge?"]);
    // Once recorded all the same it vouches for nothing.
    all.push(ran(16, "Fennmoor", 640, 1018));
    assert_eq!(question(&all), ["Elevation 640 m, where Fennmoor lies at 12 m: is it that of Tarnedge?"]);
    // Nor does another place's air vouch for a barometer: 867 hPa was read at Sallow Pass alone.
    let low = at("2026-06-20T10:00+02:00", "Fennmoor", "temp = 15, baro = 881", "");
    assert!(
        beside(TypedOuting { record: &low, dated_by_clock: false, units: Units::Metric }, &all[..4])
            .iter()
            .any(|slip| slip.question.contains("has never been read at Fennmoor (1011 to 1017 hPa)"))
    );
}

#[test]
fn what_is_doubted_is_no_reading_to_be_held_against() {
    let doubted = [at(
        "2026-05-15T10:00+02:00",
        "Teal Pass",
        "temp = 15, baro = 1014",
        "doubted = [\"air\", \"hours\"]",
    )];
    let typed = at("2026-05-15T11:00+02:00", "Teal Pass", "temp = 35, baro = 816", "");
    assert_eq!(asked(&typed, &doubted), []);
}

#[test]
fn a_temperature_is_held_against_two_hours_on_either_side() {
    let before = [at("2026-05-15T10:00+02:00", "Tarn Hollow", "temp = 12, baro = 1001", "")];
    for (moment, place, temp, questioned) in [
        ("2026-05-15T11:30+02:00", "Tarn Hollow", "24", true),
        ("2026-05-15T11:30+02:00", "Tarn Hollow", "\"75 F\"", false),
        ("2026-05-15T11:30+02:00", "Tarn Hollow", "\"76 F\"", true),
        ("2026-05-15T08:30+02:00", "", "0", true),
        ("2026-05-15T12:30+02:00", "Tarn Hollow", "24", false),
        ("2026-05-15T11:30+02:00", "Teal Pass", "24", false),
        // The day alone was written down, which is read as noon.
        ("2026-05-15T12:00+02:00", "Tarn Hollow", "24", false),
    ] {
        let typed = at(moment, place, &format!("temp = {temp}, baro = 1001"), "");
        let expected = if questioned { vec![Questioned::Air] } else { Vec::new() };
        assert_eq!(asked(&typed, &before), expected, "{moment} {place} {temp}");
    }
}

#[test]
fn hours_are_held_against_the_outings_around_them() {
    let ran =
        |moment: &str, hours: f64| outing("heron", moment, &format!("date = \"{moment}\"\nhours = {hours}"));
    let mut others: Vec<_> = [("10:00", 0.3), ("13:00", 0.4), ("16:00", 0.25)]
        .map(|(hour, hours)| ran(&format!("2026-05-15T{hour}+02:00"), hours))
        .to_vec();
    for (hours, questioned) in [(3.0, true), (1.7, true), (1.5, false), (0.9, false)] {
        let typed = ran("2026-05-15T18:00+02:00", hours);
        let expected = if questioned { vec![Questioned::Hours] } else { Vec::new() };
        assert_eq!(asked(&typed, &others), expected, "{hours}");
    }
    // Too few to tell; and an endurance race among them.
    assert_eq!(asked(&ran("2026-05-15T18:00+02:00", 3.0), &others[..2]), []);
    others.push(ran("2026-05-14T10:00+02:00", 2.5));
    assert_eq!(asked(&ran("2026-05-15T18:00+02:00", 3.0), &others), []);
}

#[test]
fn a_session_is_logged_once() {
    let before = [outing(
        "heron",
        "one",
        "date = \"2026-05-15T10:00+02:00\"\nplace = \"Tarn Hollow\"\nsession = \"heat 1\"\nverdict = { full = \"right\" }",
    )];
    let typed = |text: &str| outing("heron", "", text);
    for (text, twice) in [
        ("date = \"2026-05-15T10:00+02:00\"", true),
        ("date = \"2026-05-15T08:00Z\"\nverdict = { full = \"lean\" }", true),
        ("date = \"2026-05-15T10:00+02:00\"\nsession = \"heat 2\"", false),
        ("date = \"2026-05-15T10:00+02:00\"\nplace = \"Teal Pass\"", false),
        ("date = \"2026-05-15T16:00+02:00\"\nsession = \"Heat 1\"", true),
        ("date = \"2026-05-15T16:00+02:00\"", false),
        ("date = \"2026-05-16T10:00+02:00\"\nsession = \"heat 1\"", false),
    ] {
        let expected = if twice { vec![Questioned::Twice] } else { Vec::new() };
        assert_eq!(asked(&typed(text), &before), expected, "{text}");
    }
    let other_setup = OutingRecord { setup: Some(2), ..typed("date = \"2026-05-15T10:00+02:00\"") };
    assert_eq!(asked(&other_setup, &before), []);
    let other_bike = OutingRecord { bike: "egret".into(), ..typed("date = \"2026-05-15T10:00+02:00\"") };
    assert_eq!(asked(&other_bike, &before), []);
}

#[test]
fn what_is_typed_within_minutes_is_twice_when_it_says_at_most_a_word_more() {
    let line = |moment: &str, verdict: &str| {
        outing("heron", "", &format!("date = \"{moment}\"\nverdict = {{ full = \"{verdict}\" }}"))
    };
    let before = [OutingRecord { id: "one".into(), ..line("2026-05-15T10:00+02:00", "right") }];
    let by_clock = |record: &OutingRecord| {
        beside(TypedOuting { record, dated_by_clock: true, units: Units::Metric }, &before).len()
    };
    assert_eq!(by_clock(&line("2026-05-15T10:02+02:00", "right")), 1);
    assert_eq!(by_clock(&line("2026-05-15T10:02+02:00", "lean")), 0);
    assert_eq!(by_clock(&line("2026-05-15T10:40+02:00", "right")), 0);
    let with = |more: &str| {
        let text = format!("date = \"2026-05-15T10:02+02:00\"\n{more}verdict = {{ full = \"right\" }}");
        by_clock(&outing("heron", "", &text))
    };
    assert_eq!(with("notes = \"pulls well\"\n"), 1);
    assert_eq!(with("lap = \"1:02.4\"\n"), 0);
    let heat = |session: &str| {
        let text = "date = \"2026-05-15T10:00+02:00\"\nsession = \"heat 2\"\nverdict = { full = \"right\" }";
        let before = [outing("heron", "one", text)];
        let typed = outing("heron", "", &text.replace("10:00", "10:03").replace("heat 2", session));
        asked(&typed, &before)
    };
    assert_eq!(heat("heat 2 wet"), [Questioned::Twice]);
    assert_eq!(heat("heat 3"), []);
    // Two sessions of a paper season, by their day alone.
    let day = [OutingRecord { id: "one".into(), ..line("2026-05-15", "right") }];
    assert_eq!(asked(&line("2026-05-15", "rich"), &day), []);
    assert_eq!(asked(&line("2026-05-15", "right"), &day), [Questioned::Twice]);
}
