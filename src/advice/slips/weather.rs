//! A pressure that was never read at this place, or by this garage, an elevation that the place does not have, a temperature that does not fit the hours around it, an air drier
//! than any race is run in.

use std::collections::BTreeMap;

use super::slip::{DAY, ELEVATION, Questioned, Slip, TOO_FEW, TypedOuting, air, apart, shown};
use crate::advice::conditions::kept::read_when;
use crate::air::standard_atmosphere::{pressure_pa, station_pressure_from_qnh};
use crate::notebook::fields::names::same_name;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance, OutingChange};
use crate::notebook::{AirEntry, PlaceDocument};
use crate::quantity::{Dimension, Elevation, Measure, Units};
use crate::store::OutingRecord;

/// Weather moves the pressure of a place about its mean by so much at most, Pa; beyond it a pressure is questioned, for 220 m of
/// height do as much. The mean of a few days is itself off by weather, so that their number widens it: see [`usual`].
const WEATHER_PA: f64 = 2_500.0;
/// A pressure this near to one that was read at the place has been read there, Pa.
const READ_PA: f64 = 500.0;
/// Weather moves the pressure of a place by less in three hours, Pa (common practice, no source: a storm's front does about half of it).
const LEAP_PA: f64 = 1_200.0;
const THREE_HOURS: i64 = 3 * 3_600;
/// Elevations within this are one place, m; between them the pressure follows the standard atmosphere.
const SAME_ELEVATION_M: f64 = 50.0;
/// From this on a barometer's reading may be a sea-level value, Pa.
const SEA_LEVEL_PA: f64 = 95_000.0;
/// Weather takes the pressure at a height so far from the standard atmosphere's at most, Pa: 970 to 1058 hPa at the sea.
const STORM_PA: f64 = 4_500.0;
/// Pressures that races are run in: from 2000 m up to a high over the sea, Pa.
const RACED_IN_PA: std::ops::RangeInclusive<f64> = 79_500.0..=104_800.0;
/// A temperature so far from one read a little before or after is questioned, K.
const TEMPERATURE_K: f64 = 12.0;
/// What a little before or after is, s.
const TWO_HOURS: i64 = 2 * 3_600;

/// A pressure that was never read where it was read now.
pub(super) fn pressure(typed: TypedOuting<'_>, others: &[OutingRecord]) -> Option<Slip> {
    let outing = &typed.record.outing;
    let entry = outing.air.as_ref()?;
    let found = entry.air().ok()?.pressure_pa();
    if let Some(slip) = elevation_of_another(typed, others) {
        return Some(slip);
    }
    let there = there(typed.record, others);
    let read: Vec<f64> = there.iter().filter_map(|other| Some(air(&other.outing)?.pressure_pa())).collect();
    let brought =
        there.iter().filter_map(|other| Some((other.outing.date.day(), brought(other, typed.record)?)));
    let Some((mean, bound, nearest)) = usual(brought, found) else {
        return at_a_new_place(typed, found, others);
    };
    if (found - mean).abs() <= bound || nearest <= READ_PA {
        return leap(typed, found, others);
    }
    let place = outing.place.as_deref().map_or("here".to_owned(), |place| format!("at {}", visible(place)));
    let range = range(&read, typed.units);
    let likely = is_sea_level(entry, found, &read);
    let question = if likely { "is it the sea-level value?" } else { "is it a typing mistake?" };
    // Of two readings either may be the mistyped one.
    if let ([other], false) = (there.as_slice(), likely) {
        let only = format!(
            "is far from {range}, the one pressure read {place}, on {}: which of the two is wrong?",
            other.outing.date.day()
        );
        return Some(of_pressure(typed, found, &only, where_the_other_is_wrong(other)));
    }
    let never = format!("has never been read {place} ({range}): {question}");
    Some(of_pressure(typed, found, &never, if likely { of_sea_level() } else { Guidance::none() }))
}

/// A pressure far from the one read there a little before or after: one of the two is wrong.
fn leap(typed: TypedOuting<'_>, found: f64, others: &[OutingRecord]) -> Option<Slip> {
    let record = typed.record;
    let near = there(record, others).into_iter().filter(|other| apart(record, other) <= THREE_HOURS);
    let timed = near.filter(|other| !record.outing.date.is_noon() && !other.outing.date.is_noon());
    let nearest = timed.min_by_key(|other| apart(record, other))?;
    let read = brought(nearest, record)?;
    let shown = |pa| shown(pa, Dimension::Pressure, typed.units);
    ((found - read).abs() > LEAP_PA).then(|| {
        let far = format!(
            "is far from the {} read there within three hours of it, on {}: which of the two is wrong?",
            shown(read),
            nearest.outing.date.short()
        );
        of_pressure(typed, found, &far, where_the_other_is_wrong(nearest))
    })
}

/// What to do where an earlier reading is the wrong one.
fn where_the_other_is_wrong(other: &OutingRecord) -> Guidance {
    if other.id.is_empty() {
        return "Where that one is: keep this one, and correct the runs that were logged with it.".into();
    }
    let mend = Command::MendOuting(visible(&other.bike), other.id.clone(), OutingChange::Pressure);
    Guidance::from("Where that one is: ") + mend + "."
}

/// Where nothing was read before: what the height makes of it, or else what this garage has read anywhere.
fn at_a_new_place(typed: TypedOuting<'_>, found: f64, others: &[OutingRecord]) -> Option<Slip> {
    if let Some(height) = elevation(typed.record) {
        let standard = pressure_pa(height);
        let about = shown(standard, Dimension::Pressure, typed.units);
        let at_height =
            format!("where the elevation makes it about {about}: is one of them a typing mistake?");
        return ((found - standard).abs() > STORM_PA).then(|| of_pressure(typed, found, &at_height, ""));
    }
    let read: Vec<f64> = others.iter().filter_map(|other| Some(air(&other.outing)?.pressure_pa())).collect();
    let near = read.iter().any(|pa| (pa - found).abs() <= WEATHER_PA);
    // A place that is named for the first time may well lie at another height.
    let may_be_new = read.is_empty() || typed.record.outing.place.is_some();
    if near || may_be_new && RACED_IN_PA.contains(&found) {
        return None;
    }
    let never = if read.is_empty() {
        "is a pressure that few tracks have: is it a typing mistake?".to_owned()
    } else {
        let range = range(&read, typed.units);
        format!(
            "has not been read in this garage before ({range}): is it a typing mistake, or another height?"
        )
    };
    let other_height =
        Guidance::from("Another height is said with ") + CommandOption::Elevation + " of the track.";
    Some(of_pressure(typed, found, &never, other_height))
}

/// A pressure that does not fit what is written down for the place: its usual ones, or else its elevation.
pub(super) fn unusual(typed: TypedOuting<'_>, place: &PlaceDocument) -> Option<Slip> {
    let entry = typed.record.outing.air.as_ref()?;
    let found = entry.air().ok()?.pressure_pa();
    let shown = |pa| shown(pa, Dimension::Pressure, typed.units);
    let sea_level =
        if entry.baro.is_some() && found >= SEA_LEVEL_PA { of_sea_level() } else { Guidance::none() };
    let usual =
        place.usual_lowest.as_ref().map(Measure::si).zip(place.usual_highest.as_ref().map(Measure::si));
    if let Some((lowest, highest)) = usual {
        let words =
            format!("is not usual there ({} to {}): is it a typing mistake?", shown(lowest), shown(highest));
        return (!(lowest..=highest).contains(&found)).then(|| of_pressure(typed, found, &words, sea_level));
    }
    let standard = pressure_pa(place.elevation.as_ref()?.si());
    let words = format!(
        "where the elevation of the place makes it about {}: is it a typing mistake?",
        shown(standard)
    );
    ((found - standard).abs() > STORM_PA).then(|| of_pressure(typed, found, &words, sea_level))
}

/// What to do with a sea-level value.
fn of_sea_level() -> Guidance {
    Guidance::from("A sea-level value is given with ")
        + CommandOption::Qnh
        + " or "
        + CommandOption::SeaLevel
        + ", and "
        + CommandOption::Elevation
        + " of the track."
}

/// Whether a barometer's reading above all that were read may be a sea-level value.
fn is_sea_level(entry: &AirEntry, found: f64, read: &[f64]) -> bool {
    entry.baro.is_some() && found >= SEA_LEVEL_PA && read.iter().all(|pa| found > *pa)
}

/// Pressures as a range, "815 to 816 hPa".
fn range(read: &[f64], units: Units) -> String {
    let least = read.iter().copied().fold(f64::INFINITY, f64::min);
    let most = read.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let shown = |pa| shown(pa, Dimension::Pressure, units);
    let (lowest, highest) = (shown(least), shown(most));
    let number = lowest.split(' ').next().unwrap_or_default();
    if lowest == highest { highest } else { format!("{number} to {highest}") }
}

/// The question about a pressure, as it was typed.
fn of_pressure(typed: TypedOuting<'_>, found: f64, what: &str, instead: impl Into<Guidance>) -> Slip {
    let baro = typed.record.outing.air.as_ref().and_then(|entry| entry.baro.as_ref());
    let typed_as = baro.map_or_else(|| shown(found, Dimension::Pressure, typed.units), ToString::to_string);
    let is_mercury = baro.is_some() && !RACED_IN_PA.contains(&found) && at_the_sea_in_mercury(found);
    Slip {
        what: Questioned::Air,
        field: if baro.is_some() { "baro" } else { "air" }.into(),
        question: format!("{typed_as} {what}"),
        instead: if is_mercury { CommandOption::Mercury.into() } else { instead.into() },
    }
}

/// Whether the number of a pressure taken as hPa is one that a barometer in mm of mercury shows near the sea.
fn at_the_sea_in_mercury(found: f64) -> bool {
    const MMHG_PA: f64 = 133.322_387; // the conventional millimetre of mercury, ISO 80000-4
    (SEA_LEVEL_PA..=*RACED_IN_PA.end()).contains(&(found / 100.0 * MMHG_PA))
}

/// Air as dry as no race is run in but in a desert, percent relative humidity (common practice, no source).
const DESERT_PERCENT: f64 = 10.0;

/// A humidity with a digit lost.
pub(super) fn dryness(typed: TypedOuting<'_>) -> Option<Slip> {
    let entry = typed.record.outing.air.as_ref()?;
    let humidity = entry.humidity.as_ref()?;
    let percent = entry.air().ok()?.relative_humidity() * 100.0;
    (percent < DESERT_PERCENT).then(|| Slip {
        what: Questioned::Air,
        field: "humidity".into(),
        question: format!("{humidity} of humidity is air of a desert: is a digit missing?"),
        instead: Guidance::none(),
    })
}

/// Hotter than this garage has read by so much it is questioned, K: hot air asks for smaller jets.
const HOTTER_K: f64 = 8.0;

/// The same where no more than a reading or two say how hot it gets, K: a mild morning is no measure of a summer.
const HOTTER_THAN_FEW_K: f64 = 18.0;

/// Up to this no spring day is asked about, C.
const WARM_C: f64 = 28.0;

/// A temperature that this garage has never come near, where it has read some.
fn hotter_than_ever((found, units): (f64, Units), others: &[OutingRecord]) -> Option<Slip> {
    let read: Vec<f64> =
        others.iter().filter_map(|other| Some(air(&other.outing)?.temperature_c())).collect();
    let hottest = read.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let shown = |celsius: f64| shown(celsius + 273.15, Dimension::Temperature, units);
    let hotter = if read.len() >= TOO_FEW { HOTTER_K } else { HOTTER_THAN_FEW_K };
    (!read.is_empty() && found > WARM_C && found > hottest + hotter).then(|| Slip {
        what: Questioned::Air,
        field: "temp".into(),
        question: format!(
            "{} has not been read in this garage before ({} at most): is it a typing mistake?",
            shown(found),
            shown(hottest)
        ),
        instead: Guidance::none(),
    })
}

/// A day is not so much warmer or colder than any of the weeks around it, K (common practice, no source).
const OUT_OF_SEASON_K: f64 = 15.0;
/// The weeks around it, and the same weeks of other years, s.
const WEEKS: i64 = 31 * DAY;
const YEAR: i64 = 365 * DAY + DAY / 4;

/// A temperature far from all that was read in the weeks around it, or in the same weeks of other years: the other scale, or a digit.
fn out_of_season(typed: TypedOuting<'_>, found: f64, others: &[OutingRecord]) -> Option<Slip> {
    let of_season = |other: &&OutingRecord| {
        let apart = apart(typed.record, other) % YEAR;
        apart <= WEEKS || YEAR - apart <= WEEKS
    };
    let read = others.iter().filter(of_season).filter_map(|other| Some(air(&other.outing)?.temperature_c()));
    let read: Vec<f64> = read.collect();
    let coldest = read.iter().copied().fold(f64::INFINITY, f64::min);
    let warmest = read.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let is_far = found > warmest + OUT_OF_SEASON_K || found < coldest - OUT_OF_SEASON_K;
    let shown = |celsius: f64| shown(celsius + 273.15, Dimension::Temperature, typed.units);
    let range = if shown(coldest) == shown(warmest) {
        shown(coldest)
    } else {
        format!("{} to {}", shown(coldest), shown(warmest))
    };
    (!read.is_empty() && is_far).then(|| Slip {
        what: Questioned::Air,
        field: "temp".into(),
        question: format!(
            "{} is far from what was read in these weeks ({range}): is it a typing mistake, or the other scale?",
            shown(found)
        ),
        instead: with_its_scale(),
    })
}

/// How a temperature is said with its scale.
fn with_its_scale() -> Guidance {
    Guidance::from("Write the scale with it: ")
        + CommandOption::Fahrenheit
        + ", "
        + CommandOption::Celsius
        + "."
}

/// A METAR says when it was read: older than this beside what it is typed for it is asked, s.
const METAR_SERVES: i64 = 3 * 3_600;

/// A METAR that was read on another day, or hours before.
pub(super) fn old_metar(typed: TypedOuting<'_>) -> Option<Slip> {
    let (date, entry) = (typed.record.outing.date, typed.record.outing.air.as_ref()?);
    entry.metar.as_ref()?;
    let read = read_when(entry, date).ok()??;
    let age = date.unix() - read.unix();
    let bound = if date.is_noon() { DAY } else { METAR_SERVES };
    let old = match age / 3_600 {
        hours @ ..48 => format!("{hours} hours"),
        hours => format!("{} days", hours / 24),
    };
    (age > bound).then(|| Slip {
        what: Questioned::Air,
        field: "metar".into(),
        question: format!("The METAR is {old} old (of {}): is it still the air?", read.short()),
        instead: "Paste the newest one.".into(),
    })
}

/// The elevation that an outing gives with its air.
fn written_elevation(record: &OutingRecord) -> Option<&Elevation> {
    record.outing.air.as_ref()?.elevation.as_ref()
}

/// The same, m.
fn elevation(record: &OutingRecord) -> Option<f64> {
    written_elevation(record).map(Measure::si)
}

/// How far apart in height two outings say that they were, m: how much higher the first.
fn height_between(one: &OutingRecord, other: &OutingRecord) -> Option<f64> {
    Some(elevation(one)? - elevation(other)?)
}

/// The pressure of an outing as it would have been at the elevation of another one nearby, Pa.
fn brought(from: &OutingRecord, to: &OutingRecord) -> Option<f64> {
    let read = air(&from.outing)?.pressure_pa();
    // The same name with elevations far apart is a slip of its own: it explains no pressure.
    let higher = height_between(to, from).filter(|higher| higher.abs() <= SAME_ELEVATION_M).unwrap_or(0.0);
    Some(station_pressure_from_qnh(read, higher))
}

/// What a place's readings make usual of a pressure, Pa: their mean over the days, how far from it weather may take one, and how near
/// the nearest lies. The mean of n days has the weather's doubt over √n, so that the bound is wider by √(1 + 1/n).
fn usual(read: impl Iterator<Item = (String, f64)>, found: f64) -> Option<(f64, f64, f64)> {
    let mut days: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let mut nearest = f64::INFINITY;
    for (day, pa) in read {
        nearest = nearest.min((pa - found).abs());
        days.entry(day).or_default().push(pa);
    }
    let count = |number: usize| f64::from(u32::try_from(number).unwrap_or(u32::MAX));
    let mean = |all: &[f64]| all.iter().sum::<f64>() / count(all.len());
    let daily: Vec<f64> = days.values().map(|day| mean(day)).collect();
    let bound = WEATHER_PA * (1.0 + 1.0 / count(daily.len())).sqrt();
    (!daily.is_empty()).then(|| (mean(&daily), bound, nearest))
}

/// The outings whose barometers stood where this one's did. Of a place that is named only its own airs vouch: a height that was typed
/// wrongly is most likely that of another track.
fn there<'o>(record: &OutingRecord, others: &'o [OutingRecord]) -> Vec<&'o OutingRecord> {
    let own: Vec<_> = others.iter().filter(|other| is_read_there(record, other)).collect();
    if own.is_empty() { others.iter().filter(|other| is_near(record, other)).collect() } else { own }
}

/// Whether another outing has an air that was read at the place that this one names.
fn is_read_there(record: &OutingRecord, other: &OutingRecord) -> bool {
    let places = record.outing.place.as_deref().zip(other.outing.place.as_deref());
    air(&other.outing).is_some() && places.is_some_and(|(one, two)| same_name(one, two))
}

/// An elevation that the place does not have by the airs that were read there: it comes from the line of another track, and makes of a
/// sea-level pressure the air of that one.
fn elevation_of_another(typed: TypedOuting<'_>, others: &[OutingRecord]) -> Option<Slip> {
    let own = others.iter().filter(|other| is_read_there(typed.record, other));
    let mut known: Vec<&Elevation> = own.filter_map(|other| written_elevation(other)).collect();
    known.sort_by(|one, other| one.si().total_cmp(&other.si()));
    // One that was typed wrongly before is outvoted; of two the lower stands, whose air is the denser.
    elevation_unlike(typed, known.get(known.len().checked_sub(1)? / 2)?, others)
}

/// The question about an elevation that is not the place's.
pub(super) fn elevation_unlike(
    typed: TypedOuting<'_>,
    known: &Elevation,
    others: &[OutingRecord],
) -> Option<Slip> {
    let (place, given) = (typed.record.outing.place.as_deref()?, written_elevation(typed.record)?);
    let higher = |one: &Elevation, other: &Elevation| (one.si() - other.si()).abs();
    if higher(given, known) <= SAME_ELEVATION_M {
        return None;
    }
    let heights =
        others.iter().filter_map(|other| Some((other.outing.place.as_deref()?, written_elevation(other)?)));
    let alike = heights
        .filter(|(other, height)| !same_name(other, place) && higher(given, height) <= SAME_ELEVATION_M);
    let nearest = alike.min_by(|(_, one), (_, other)| higher(given, one).total_cmp(&higher(given, other)));
    let question = nearest.map_or("is it a typing mistake?".to_owned(), |(other, _)| {
        format!("is it that of {}?", visible(other))
    });
    Some(Slip {
        what: Questioned::Air,
        field: ELEVATION.into(),
        question: format!("Elevation {given}, where {} lies at {known}: {question}", visible(place)),
        instead: "At another place name that one.".into(),
    })
}

/// Whether another outing's barometer stood near this one's: at the same place or height, or where neither names its place, on the same
/// bike within a day.
fn is_near(record: &OutingRecord, other: &OutingRecord) -> bool {
    if height_between(record, other).is_some_and(|higher| higher.abs() <= SAME_ELEVATION_M) {
        return true;
    }
    match (&record.outing.place, &other.outing.place) {
        (Some(one), Some(two)) => same_name(one, two),
        (None, None) => record.bike == other.bike && apart(record, other) <= DAY,
        _ => false,
    }
}

/// Air that anybody races in, C (common practice, no source).
const TRACK_C: std::ops::RangeInclusive<f64> = -12.0..=44.0;

/// A temperature that no race is run in, or that is far from what was read within two hours.
pub(super) fn temperature(typed: TypedOuting<'_>, others: &[OutingRecord]) -> Option<Slip> {
    let record = typed.record;
    let found = record.outing.air.as_ref()?.air().ok()?.temperature_c();
    let here = |other: &&OutingRecord| match (&record.outing.place, &other.outing.place) {
        (Some(one), Some(two)) => same_name(one, two),
        _ => other.bike == record.bike,
    };
    // Noon stands for a day whose hour was not written down.
    let timed = |record: &OutingRecord| !record.outing.date.is_noon();
    if !TRACK_C.contains(&found) {
        return Some(Slip {
            what: Questioned::Air,
            field: "temp".into(),
            question: format!(
                "{} in the shade: is it a typing mistake, or the other scale?",
                shown(found + 273.15, Dimension::Temperature, typed.units)
            ),
            instead: with_its_scale(),
        });
    }
    let near =
        others.iter().filter(|other| timed(record) && timed(other) && apart(record, other) <= TWO_HOURS);
    let nearest = near
        .filter(here)
        .filter_map(|other| Some((other, air(&other.outing)?.temperature_c())))
        .min_by_key(|(other, _)| apart(record, other));
    let Some((other, read)) = nearest else {
        let of_the_season = out_of_season(typed, found, others);
        return of_the_season.or_else(|| hotter_than_ever((found, typed.units), others));
    };
    let differs = (found - read).abs();
    if differs < TEMPERATURE_K {
        return None;
    }
    let shown = |celsius: f64| shown(celsius + 273.15, Dimension::Temperature, typed.units);
    Some(Slip {
        what: Questioned::Air,
        field: "temp".into(),
        question: format!(
            "{} is far from the {} read within two hours of it, on {}: is it a typing mistake?",
            shown(found),
            shown(read),
            other.outing.date.short()
        ),
        instead: Guidance::none(),
    })
}
