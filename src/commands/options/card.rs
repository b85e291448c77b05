//! The jetting over a grid of airs, for whatever shows it.

use crate::acts::air::refuse_bare_parts;
use crate::advice::asking::{InOneAir, Question};
use crate::advice::cautions;
use crate::advice::learning::{LeanBelowFull, Settings};
use crate::notebook::AirEntry;
use crate::report::jetting::first::before::{before_all, held, record_words};
use crate::report::{CardAnswer, CardCell, CardRow, CardSide, Trouble};

/// Temperatures across where none are named.
const TEMPERATURES_C: [&str; 6] = ["5 C", "10 C", "15 C", "20 C", "25 C", "30 C"];
/// The same for an imperial garage.
const TEMPERATURES_F: [&str; 6] = ["40 F", "50 F", "60 F", "70 F", "80 F", "90 F"];
/// Elevations down the side where neither they nor pressures are named.
const ELEVATIONS_M: [&str; 7] = ["0 m", "300 m", "600 m", "900 m", "1200 m", "1500 m", "1800 m"];
/// The same for an imperial garage.
const ELEVATIONS_FT: [&str; 7] = ["0 ft", "1000 ft", "2000 ft", "3000 ft", "4000 ft", "5000 ft", "6000 ft"];
/// Pressure at sea level where none is given: the standard atmosphere's (ICAO Doc 7488).
const STANDARD_PRESSURE: &str = "1013.25 hPa";
/// Humidity where none is given (common practice, no source): between a dry and a damp day it moves the fuel by about 1 %.
const USUAL_HUMIDITY: &str = "50 %";
/// The most cells of a card.
const MOST_CELLS: usize = 400;

/// What is named for the sides of the grid; nothing where a list is empty.
#[derive(Debug, Clone, Copy, Default)]
pub(in crate::commands) struct Named<'a> {
    /// Temperatures across.
    pub(in crate::commands) temperatures: &'a [String],
    /// Elevations down the side.
    pub(in crate::commands) elevations: &'a [String],
    /// Pressures in their place.
    pub(in crate::commands) pressures: &'a [String],
}

/// The two sides of the grid.
struct GridSides {
    temperatures: Vec<String>,
    down: CardSide,
    rows: Vec<String>,
}

/// The card of a bike with one cylinder, or of one of several; `given` is what holds in every air.
pub(in crate::commands) fn card_of(
    question: &Question<'_>,
    named: Named<'_>,
    given: AirEntry,
    settings: &Settings,
    theory: bool,
) -> Result<CardAnswer, Trouble> {
    let imperial = question.garage.is_imperial();
    let sides = sides(named, imperial)?;
    let (given, air_words) = every_cell(given, &sides)?;
    let evidence = if theory { None } else { Some(question.evidence(settings)?) };
    let adviser = question.adviser(evidence.as_ref(), settings, None)?;
    let (mut airs, mut pressures) = (Vec::new(), Vec::new());
    for head in &sides.rows {
        for (at, temperature) in sides.temperatures.iter().enumerate() {
            let air = cell_air(&given, temperature, sides.down, head, imperial)?;
            airs.push(air.air()?);
            pressures.extend(Some(air).filter(|_| at == 0 && sides.down == CardSide::Pressure));
        }
    }
    let asked = question.pressures_asked(&pressures, question.garage.units())?;
    let before = asked.into_iter().chain(before_all(question, None)).collect::<Vec<_>>();
    let answers = question.in_each_air(&adviser, &airs)?;
    let cell = |one: &InOneAir| {
        CardCell::of(&one.rejet, one.is_short, question.needle(), adviser.lean_risk(&one.rejet))
    };
    let cells: Vec<CardCell> = answers.iter().map(cell).collect();
    let risk = cells.iter().filter_map(|cell| cell.lean_risk.map(|risk| risk.0)).reduce(f64::max);
    let below = answers.iter().filter_map(|one| one.over_below_full).reduce(LeanBelowFull::more);
    let takes_fuel_away: Vec<bool> = answers.iter().map(|one| one.takes_fuel_away).collect();
    let injected = answers.iter().any(|one| one.rejet.injection.is_some());
    let cautions = cautions::for_airs(&takes_fuel_away, injected);
    let each_row = sides.rows.iter().zip(cells.chunks(sides.temperatures.len().max(1)));
    let rows = each_row.map(|(head, cells)| CardRow::new(sides.down, head, cells.to_vec())).collect();
    let (record, _) = record_words(question, &adviser, evidence.as_ref(), (risk, below))?;
    Ok(CardAnswer {
        bike: question.baseline.bike.clone(),
        baseline: question.baseline.number,
        temperatures: sides.temperatures,
        down: sides.down,
        rows,
        air: air_words,
        moved_on: (!before.is_empty()).then(|| before.join(" ")),
        held: held(question),
        record,
        cautions,
    })
}

fn sides(named: Named<'_>, imperial: bool) -> Result<GridSides, Trouble> {
    let owned = |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect::<Vec<_>>();
    // A bare number is shown with the unit it is taken in.
    let trimmed = |texts: &[String], unit: &str| {
        let with_unit = |text: &str| match text.parse::<f64>() {
            Ok(_) if !imperial => format!("{text} {unit}"),
            _ => text.to_owned(),
        };
        texts.iter().map(|text| with_unit(text.trim())).collect::<Vec<_>>()
    };
    let temperatures = match (named.temperatures, imperial) {
        ([], false) => owned(&TEMPERATURES_C),
        ([], true) => owned(&TEMPERATURES_F),
        (given, _) => trimmed(given, "C"),
    };
    let (down, rows) = match (named.pressures, named.elevations, imperial) {
        ([], [], false) => (CardSide::Elevation, owned(&ELEVATIONS_M)),
        ([], [], true) => (CardSide::Elevation, owned(&ELEVATIONS_FT)),
        ([], given, _) => (CardSide::Elevation, trimmed(given, "m")),
        (given, _, _) => (CardSide::Pressure, trimmed(given, "hPa")),
    };
    let cells = temperatures.len() * rows.len();
    if cells > MOST_CELLS {
        return Err(Trouble::request(
            Some("card"),
            format!("A card of {cells} cells is asked for; at most {MOST_CELLS} can be read off."),
            "Name fewer temperatures, elevations or pressures.",
        ));
    }
    Ok(GridSides { temperatures, down, rows })
}

/// What holds in every cell, and in words.
fn every_cell(given: AirEntry, sides: &GridSides) -> Result<(AirEntry, String), Trouble> {
    let mut entry = given;
    for (name, taken) in
        [("temp", entry.temp.is_some()), ("baro", entry.baro.is_some()), ("metar", entry.metar.is_some())]
    {
        if taken {
            return Err(Trouble::request(
                Some(name),
                format!("--{name} is one reading, and a card is for many."),
                "Leave it out; --temps, --elevations and --pressures name the sides of the card.",
            ));
        }
    }
    if entry.elevation.is_some() {
        return Err(Trouble::request(
            Some("elevation"),
            "--elevation is one height, and a card is for many.",
            "Name them with --elevations \"0 m, 500 m, 1000 m\".",
        ));
    }
    let mut words = Vec::new();
    if entry.humidity.is_none() && entry.dew_point.is_none() && entry.wet_bulb.is_none() {
        entry.set("humidity", USUAL_HUMIDITY)?;
        words.push(format!("humidity {USUAL_HUMIDITY} (taken; --humidity says otherwise)"));
    } else {
        words.push(entry.line());
    }
    match (sides.down, entry.qnh.is_some() || entry.sea_level.is_some()) {
        (CardSide::Elevation, false) => {
            entry.set("qnh", STANDARD_PRESSURE)?;
            words.push(format!("{STANDARD_PRESSURE} at sea level (standard; --qnh says otherwise)"));
        }
        (CardSide::Pressure, true) => {
            return Err(Trouble::request(
                Some("qnh"),
                "Pressures at the track stand down the side already.",
                "Leave --qnh and --sea-level out, or name --elevations in place of --pressures.",
            ));
        }
        _ => {}
    }
    Ok((entry, words.join("; ")))
}

/// The air of one cell.
fn cell_air(
    given: &AirEntry,
    temperature: &str,
    down: CardSide,
    head: &str,
    imperial: bool,
) -> Result<AirEntry, Trouble> {
    let mut entry = given.clone();
    entry.set("temp", temperature)?;
    entry.set(if down == CardSide::Pressure { "baro" } else { "elevation" }, head)?;
    if imperial {
        refuse_bare_parts(&entry)?;
    }
    Ok(entry)
}
