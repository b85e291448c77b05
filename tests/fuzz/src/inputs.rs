//! What reads text that others wrote, each given any bytes at all. What must hold: it answers, with a value or in words; it does not
//! panic; and what it took it writes so that it reads the same again. The fuzzer drives these ([`ALL`], `main.rs` beside this file), and
//! `cargo test` runs the corpus through them.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use jiff::tz::Offset;
use reedbook::air::Metar;
use reedbook::machine::Moment;
use reedbook::notebook::maps::dyno::Curve;
use reedbook::notebook::reading::phone_notes::read_phone_notes;
use reedbook::notebook::reading::session_sheet::{SheetOptions, read_session_sheet};
use reedbook::notebook::{
    Assignment, BikeDocument, Build, Checked, DocumentKind, EngineDocument, Entered, GarageDocument, JetBox,
    Job, Limits, NeedleBox, Outing, Page, PaperOptions, Part, PlaceDocument, ReadOptions, Setup, When, enter,
    map_csv, merge_documents, parse_map_csv, read, same_values,
};
use reedbook::quantity::{Dimension, Quantity, Units};
use reedbook::report::worded;
use reedbook::store::{
    Book, Condition, FindQuery, Garage, NewBike, NewGarage, Unsealed, find, make_bike, make_garage,
    read_handover,
};

/// What reads bytes.
type Read = fn(&[u8]);

/// Everything that is fuzzed, by its name.
pub(crate) const ALL: [(&str, Read); 11] = [
    ("quantity", quantity),
    ("metar", metar),
    ("document", document),
    ("assignment", assignment),
    ("map", map),
    ("sheet", sheet),
    ("notes", notes),
    ("handover", handover),
    ("merge", merge),
    ("unfinished", unfinished),
    ("index", index),
];

const FILE: &str = "any.toml";

fn text(data: &[u8]) -> &str {
    std::str::from_utf8(data).unwrap_or("")
}

/// A number with its unit, as any kind of field has it; and a date.
fn quantity(data: &[u8]) {
    const DIMENSIONS: [&[Dimension]; 6] = [
        &[Dimension::Length],
        &[Dimension::Angle, Dimension::Length],
        &[Dimension::Pressure],
        &[Dimension::Temperature],
        &[Dimension::Time],
        &[Dimension::Share],
    ];
    for (dimensions, unit) in DIMENSIONS.iter().zip(["mm", "deg", "hPa", "C", "h", "%"]) {
        let Ok(read) = Quantity::parse(text(data), dimensions, unit) else { continue };
        assert!(read.si().is_finite());
        let again = Quantity::parse(read.text(), dimensions, unit).expect("what was written is read");
        assert_eq!(read.si().to_bits(), again.si().to_bits());
    }
    if let Ok(date) = When::parse(text(data), Offset::UTC) {
        assert_eq!(When::parse(&date.to_string(), Offset::UTC), Ok(date));
    }
}

/// A weather report.
fn metar(data: &[u8]) {
    let Ok(metar) = Metar::parse(text(data)) else { return };
    for elevation in [-400.0, 0.0, 1_800.0] {
        let air = metar.reading(elevation).and_then(|reading| reading.air());
        assert!(air.map_or(true, |air| air.density().is_finite()));
    }
}

/// Any document, by its first byte; then every value that it holds, entered again.
fn document(data: &[u8]) {
    let Some((first, bytes)) = data.split_first() else { return };
    let kind = DocumentKind::ALL[usize::from(*first) % DocumentKind::ALL.len()];
    let fields = match kind {
        DocumentKind::Garage => fields::<GarageDocument>(kind, bytes),
        DocumentKind::Bike => fields::<BikeDocument>(kind, bytes),
        DocumentKind::Setup => fields::<Setup>(kind, bytes),
        DocumentKind::Engine => fields::<EngineDocument>(kind, bytes),
        DocumentKind::Outing => fields::<Outing>(kind, bytes),
        DocumentKind::Build => fields::<Build>(kind, bytes),
        DocumentKind::Part => fields::<Part>(kind, bytes),
        DocumentKind::Job => fields::<Job>(kind, bytes),
        DocumentKind::Place => fields::<PlaceDocument>(kind, bytes),
        DocumentKind::Jets => fields::<JetBox>(kind, bytes),
        DocumentKind::Needles => fields::<NeedleBox>(kind, bytes),
        DocumentKind::Limits => fields::<Limits>(kind, bytes),
        _ => return,
    };
    // A file that holds nothing wrong is left as it is by whoever only opens it.
    if fields.findings.is_empty() {
        let page = Page::open(Path::new(FILE), Some(bytes)).expect("what was read is opened");
        assert!(same_values(Path::new(FILE), bytes, &page.bytes()));
    }
}

fn fields<T: serde::de::DeserializeOwned>(kind: DocumentKind, bytes: &[u8]) -> Checked<()> {
    let options = ReadOptions {
        refuse_bare_lengths: bytes.len() % 2 == 1,
        map_file: &|name| name.ends_with("i.csv").then(|| "rpm,0,100\n1000,1,2\n".into()),
        here: Offset::UTC,
    };
    let checked = read::<T>(kind, Path::new(FILE), bytes, options);
    assert_eq!(checked.document.is_some(), checked.findings.is_empty(), "it is read, or it is said why not");
    Checked { document: Some(()), fields: checked.fields, findings: checked.findings }
}

/// FIELD=VALUE on the first line, entered into what follows.
fn assignment(data: &[u8]) {
    let all = text(data);
    let (typed, page) = all.split_once('\n').unwrap_or((all, ""));
    let _said = Assignment::parse(typed).map_err(|error| error.to_string());
    let _said = Condition::parse(typed).map_err(|error| error.to_string());
    let (Ok(entered), Ok(mut page)) =
        (Entered::parse(typed), Page::open(Path::new(FILE), Some(page.as_bytes())))
    else {
        return;
    };
    let now = fields::<Outing>(DocumentKind::Outing, &page.bytes()).fields;
    let options =
        PaperOptions { kind: DocumentKind::Outing, now: &now, refuse_bare_lengths: false, here: Offset::UTC };
    let before = page.bytes();
    match enter(&mut page, &[entered], options) {
        Ok(()) => drop(Page::open(Path::new(FILE), Some(&page.bytes())).expect("what was entered is a page")),
        Err(_) => assert_eq!(before, page.bytes(), "what was refused changed nothing"),
    }
}

/// A map or a curve as CSV.
fn map(data: &[u8]) {
    let _said = Curve::parse(text(data)).map(|curve| curve.peak());
    let Ok(map) = parse_map_csv("ignition.map", Path::new("any.csv"), text(data)) else { return };
    let again = parse_map_csv("ignition.map", Path::new("any.csv"), &map_csv(&map));
    assert!(again.expect("what was written is read").same_as(&map));
}

/// A session sheet that was filled in.
fn sheet(data: &[u8]) {
    let options = SheetOptions { bike: Some("moth"), here: Offset::UTC };
    read_session_sheet(Path::new("any.csv"), data, options);
}

/// Notes of a phone.
fn notes(data: &[u8]) {
    let _said = read_phone_notes(Path::new("any.json"), data);
}

/// A handed-over file.
fn handover(data: &[u8]) {
    let _said =
        Unsealed::of(Path::new("any.toml"), data).and_then(|file| read_handover(&file, &worded).map(drop));
}

/// Three texts of one document, between lines of `=`: what each side alone changed is in the merged one.
fn merge(data: &[u8]) {
    let mut texts = text(data).split("\n=====\n");
    let (base, ours, theirs) = (texts.next(), texts.next().unwrap_or(""), texts.next().unwrap_or(""));
    let sides = (ours.as_bytes(), theirs.as_bytes());
    let file = Path::new(FILE);
    let Ok(merged) = merge_documents(DocumentKind::Setup, file, base.map(str::as_bytes), sides) else {
        return;
    };
    Page::open(file, Some(&merged.bytes)).expect("what was merged is a page");
    if base == Some(ours) {
        assert!(same_values(file, &merged.bytes, theirs.as_bytes()), "one side alone changed");
    }
}

/// A garage in memory where the machine has it, made once for this process.
static GARAGE: LazyLock<PathBuf> = LazyLock::new(|| {
    let memory = Path::new("/dev/shm");
    let under = if memory.is_dir() { memory.to_path_buf() } else { std::env::temp_dir() };
    let root = under.join(format!("reedbook-fuzz-{}", reedbook::machine::process_id()));
    drop(fs::remove_dir_all(&root));
    let moment = moment();
    let garage =
        make_garage(&root, &NewGarage { name: None, units: Units::Metric }, &moment).expect("a garage");
    let bike = NewBike {
        name: "moth".into(),
        template: garage.templates().remove(0),
        engine: "gnat".into(),
        cylinders: Vec::new(),
        title: None,
        rider: None,
    };
    make_bike(&garage, &bike, &moment).expect("a bike");
    root
});

fn moment() -> Moment {
    Moment { now: When::parse("2026-05-01T10:00", Offset::UTC).expect("a date"), seed: Some("fuzz".into()) }
}

/// What a killed writer left: the next one finishes it, takes it back or refuses; the setup stays what it was, and nothing is written
/// outside the garage.
fn unfinished(data: &[u8]) {
    let left = GARAGE.join(".git/reedbook/unfinished");
    let setup = GARAGE.join("bikes/moth/setup.toml");
    let was = fs::read(&setup).expect("a setup");
    fs::create_dir_all(left.parent().expect("a folder")).expect("a folder");
    let garage = Garage::open(&GARAGE).expect("a garage");
    // A note of another commit than the newest is soon done with.
    let head = fs::read_to_string(GARAGE.join(".git/refs/heads/main")).expect("a branch");
    let note = String::from_utf8_lossy(data).replace("@HEAD@", head.trim());
    fs::write(&left, note).expect("a note");
    drop(garage.begin_writing(&moment()).map_err(|error| error.to_string()));
    assert!(fs::read(&setup).is_ok_and(|now| now == was));
    drop(fs::remove_file(&left));
}

/// An index that is none: it is built again, and answers as before.
fn index(data: &[u8]) {
    let garage = Garage::open(&GARAGE).expect("a garage");
    let file = GARAGE.join(".git/reedbook/index.sqlite");
    let mut bytes = fs::read(&file).unwrap_or_default();
    // A patch: where it is put, and what is put there.
    if let Some((at, patch)) = data.split_at_checked(3) {
        let at = usize::from(at[0]) << 16 | usize::from(at[1]) << 8 | usize::from(at[2]);
        let at = at % bytes.len().max(1);
        let end = (at + patch.len()).min(bytes.len());
        bytes[at..end].copy_from_slice(&patch[..end - at]);
    } else {
        bytes = data.to_vec();
    }
    drop(fs::write(&file, &bytes));
    let asked = Book::open(&garage).and_then(|book| {
        let hits = find(&book, &FindQuery { words: Some("moth".into()), ..FindQuery::default() })?;
        Ok((book.setups("moth")?.len(), hits.len()))
    });
    drop(asked.map_err(|error| error.to_string()));
    for over in ["", "-wal", "-shm", "-journal"] {
        drop(fs::remove_file(GARAGE.join(format!(".git/reedbook/index.sqlite{over}"))));
    }
    Book::open(&garage).expect("an index from nothing");
}
