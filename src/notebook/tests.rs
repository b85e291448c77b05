//! Dates and humidities as a hand writes them.

use std::path::Path;

use jiff::tz::Offset;

use crate::notebook::{
    AirEntry, DocumentKind, Finding, Outing, PerEngine, ReadOptions, Value, read, steps_in_words,
};

const EASTWARD: i8 = 2;

fn outing(text: &str, here: Offset) -> Result<Outing, Vec<Finding>> {
    let options = ReadOptions { refuse_bare_lengths: false, map_file: &|_| None, here };
    let checked = read::<Outing>(DocumentKind::Outing, Path::new("outing.toml"), text.as_bytes(), options);
    checked.document.ok_or(checked.findings)
}

#[test]
fn a_date_without_an_offset_is_one_of_the_place_it_is_read_at() {
    let here = Offset::constant(EASTWARD);
    for (typed, whole) in [
        ("2026-05-15 18:30", "2026-05-15T18:30+02:00"),
        ("2026-05-15", "2026-05-15T12:00+02:00"),
        (" 2026-05-15T18:30:07 ", "2026-05-15T18:30:07+02:00"),
        ("2026-05-15T18:30-05:00", "2026-05-15T18:30-05:00"),
        ("2026-05-15T18:30Z", "2026-05-15T18:30+00:00"),
    ] {
        // What stands before and behind it in the file stays where it is.
        let text =
            format!("place = \"Tarn Höhe\"\ndate = '{typed}' # by the clock in the hut\nlap = \"1:19.6\"\n");
        let outing = outing(&text, here).unwrap();
        assert_eq!(outing.date.to_string(), whole);
        assert_eq!((outing.place.as_deref(), outing.lap.as_deref()), (Some("Tarn Höhe"), Some("1:19.6")));
    }
    let universal = outing("date = \"2026-05-15 18:30\"\n", Offset::UTC).unwrap();
    assert_eq!(universal.date.to_string(), "2026-05-15T18:30+00:00");
}

#[test]
fn several_dates_of_one_file_are_all_made_whole() {
    let text = "retired = \"2026-10-01\"\n[proven.3f09a1c2d4e5]\ndate = \"2026-05-16 10:30\"\n\
                [proven.4f09a1c2d4e5]\ndate = \"2026-06-16 10:30+01:00\"\n[proven.5f09a1c2d4e5]\ndate = \"2026-07-16\"\n";
    let options =
        ReadOptions { refuse_bare_lengths: false, map_file: &|_| None, here: Offset::constant(EASTWARD) };
    let checked = read::<crate::notebook::BikeDocument>(
        DocumentKind::Bike,
        Path::new("bike.toml"),
        text.as_bytes(),
        options,
    );
    let bike = checked.document.unwrap_or_else(|| panic!("{:?}", checked.findings));
    assert_eq!(bike.retired.map(|date| date.to_string()).as_deref(), Some("2026-10-01T12:00+02:00"));
    let marked: Vec<_> = bike.proven.values().map(|mark| mark.date.to_string()).collect();
    assert_eq!(marked, ["2026-05-16T10:30+02:00", "2026-06-16T10:30+01:00", "2026-07-16T12:00+02:00"]);
}

/// The setup and its engine are read without an offset, so neither may have a date.
#[test]
fn no_setup_has_a_date() {
    for kind in [DocumentKind::Setup, DocumentKind::Engine] {
        for (field, leaf) in kind.catalogue().leaves() {
            assert!(!matches!(leaf.sort, crate::notebook::fields::node::Sort::Date), "{field}");
        }
    }
    assert!(matches!(
        DocumentKind::Outing.catalogue().leaf("date").unwrap().sort,
        crate::notebook::fields::node::Sort::Date
    ));
}

/// What is typed for a humidity, what it is in percent, and how it is written from then on.
const HUMIDITIES: [(&str, f64, &str); 13] = [
    ("0.50", 50.0, "50 %"),
    ("0.505", 50.5, "50.5 %"),
    ("1", 1.0, "1 %"),
    ("1.0", 1.0, "1.0 %"),
    ("0.99", 99.0, "99 %"),
    ("0.07", 7.0, "7 %"),
    ("1/2", 50.0, "50 %"),
    ("0.5 %", 0.5, "0.5 %"),
    ("0.5 percent", 0.5, "0.5 percent"),
    ("0", 0.0, "0 %"),
    ("1.5", 1.5, "1.5 %"),
    ("50", 50.0, "50 %"),
    ("50 %", 50.0, "50 %"),
];

#[test]
fn a_bare_humidity_below_one_is_a_fraction_wherever_it_is_read() {
    let humidity = |entry: &AirEntry| entry.humidity.as_ref().unwrap().si() * 100.0;
    for (typed, percent, written) in HUMIDITIES {
        let mut set = AirEntry::default();
        set.set("humidity", typed).unwrap();
        let line = AirEntry::parse(&format!("temp=20; baro=1008; humidity={typed}")).unwrap();
        let text = format!("date = \"2026-05-15\"\n[air]\nhumidity = \"{typed}\"\ntemp = 20\nbaro = 1008\n");
        let document = outing(&text, Offset::UTC).unwrap().air.unwrap();
        for entry in [&set, &line, &document] {
            assert!((humidity(entry) - percent).abs() < 1e-9, "{typed}");
            // Written down and read again it is the same: nobody takes it for less.
            let parts = entry.parts();
            assert_eq!(parts.iter().find(|(name, _)| *name == "humidity").unwrap().1, written);
            let again = AirEntry::parse(&entry.line()).unwrap();
            assert!((humidity(&again) - percent).abs() < 1e-9, "{typed}");
        }
        let copied = toml::to_string(&document).unwrap();
        let again: AirEntry = toml::from_str(&copied).unwrap();
        assert!((humidity(&again) - percent).abs() < 1e-9, "{copied}");
    }
    let mut negative = AirEntry::parse("temp=20; baro=1008").unwrap();
    negative.set("humidity", "-0.5").unwrap();
    assert_eq!(negative.air().unwrap_err().field(), "humidity");
}

#[test]
fn the_values_of_a_document_say_the_humidity_that_was_meant() {
    let options = ReadOptions { refuse_bare_lengths: false, map_file: &|_| None, here: Offset::UTC };
    for (written, shown) in [("0.5", "50 %"), ("1", "1 %"), ("55", "55 %"), ("\"0.5 %\"", "0.5 %")] {
        let text = format!("date = \"2026-05-15\"\n[air]\nhumidity = {written}\n");
        let checked =
            read::<Outing>(DocumentKind::Outing, Path::new("outing.toml"), text.as_bytes(), options);
        assert_eq!(checked.fields.get("air.humidity").map(Value::text).as_deref(), Some(shown));
    }
    // Other shares are what they were: half a percent of trim is half a percent.
    let trim: crate::quantity::Percent = "0.5".parse().unwrap();
    assert!((trim.si() - 0.005).abs() < 1e-12);
}

#[test]
fn steps_of_several_cylinders_are_said_once() {
    let names = |words: &str| -> Vec<String> { words.split(' ').map(str::to_owned).collect() };
    let all = names("left.ring-gap right.ring-gap crank-free right.circlips left.nuts right.nuts");
    assert_eq!(
        steps_in_words(&all, 9),
        "ring-gap (left, right), crank-free, right.circlips, nuts (left, right)"
    );
    // What is not told is counted by steps, not by names.
    assert_eq!(steps_in_words(&all, 1), "ring-gap (left, right) and 4 more");
    assert_eq!(steps_in_words(&names("a b c"), 2), "a, b and 1 more");
    assert_eq!(steps_in_words(&[], 2), "");
}

#[test]
fn a_piston_has_a_cylinder_and_a_crank_has_none() {
    let of = |kind: &str| (PerEngine::of(kind), PerEngine::is_only_one(kind));
    assert_eq!(of("piston"), (PerEngine::EachCylinder, true));
    assert_eq!(of("ring"), (PerEngine::EachCylinder, false));
    assert_eq!(of("crank"), (PerEngine::One, false));
    assert_eq!(of("reed"), (PerEngine::Either, false));
}
