//! From the text of a report to its parts, in the order in which a report is written:
//! heading, observation, trend, remarks.

use super::super::check;
use super::super::error::{AirError, Field};
use super::{Metar, ReportKind, groups};

/// Words that begin a trend: from here to the remarks nothing is data.
const TREND: [&str; 4] = ["NOSIG", "BECMG", "TEMPO", "INTER"];
/// How far two prints of one altimeter setting may differ: each is rounded down, by less than a hectopascal, and a hundredth of
/// an inch is a third of one; with room, Pa.
const SETTINGS_AGREE_PA: f64 = 150.0;
/// How far tenths may lie from the whole degrees of the same report, K: rounding, with room.
const TENTHS_AGREE_K: f64 = 1.0;

/// Reads one report.
pub(super) fn parse(text: &str) -> Result<Metar, AirError> {
    let upper = text.to_ascii_uppercase();
    // A report ends with "=".
    let report = upper.split('=').next().unwrap_or_default();
    let mut tokens = report.split_ascii_whitespace();
    let mut metar = heading(&mut tokens, report)?;
    only_one_report(&upper)?;
    let rest: Vec<&str> = tokens.collect();
    if rest.first().is_some_and(|token| groups::validity(token)) {
        return Err(AirError::MetarIsForecast { station: metar.station });
    }
    let remarks_at = rest.iter().position(|token| *token == "RMK").unwrap_or(rest.len());
    let (observation, remarks) = rest.split_at(remarks_at);
    read_observation(&mut metar, observation)?;
    read_remarks(&mut metar, remarks)?;
    Ok(metar)
}

/// Refuses a second report pasted after the first: which one was meant is not known.
fn only_one_report(text: &str) -> Result<(), AirError> {
    let tokens: Vec<&str> =
        text.split(|c: char| c.is_ascii_whitespace() || c == '=').filter(|token| !token.is_empty()).collect();
    let begins_report = |pair: &&[&str]| match pair {
        // "NEXT 111300Z" and "LAST 110300Z" are remarks about the station's hours.
        ["NEXT" | "LAST", _] => false,
        [station, time] => groups::station(station) && groups::time(time).is_some(),
        _ => false,
    };
    match tokens.windows(2).filter(begins_report).nth(1) {
        Some(second) => Err(AirError::MetarGroup {
            found: excerpt(&second.join(" ")),
            expected: "here a second report begins, and one is read at a time",
        }),
        None => Ok(()),
    }
}

/// Prefix words, station and time.
fn heading<'a>(tokens: &mut impl Iterator<Item = &'a str>, report: &str) -> Result<Metar, AirError> {
    let not_metar = || AirError::NotMetar { found: excerpt(report) };
    let mut kind = ReportKind::Routine;
    let mut corrected = false;
    let mut forecast = false;
    let station = loop {
        match tokens.next().ok_or_else(not_metar)? {
            "METAR" => kind = ReportKind::Routine,
            "SPECI" => kind = ReportKind::Special,
            "COR" => corrected = true,
            "TAF" => forecast = true,
            "AMD" if forecast => {}
            token if groups::station(token) => break token.to_owned(),
            _ => return Err(not_metar()),
        }
    };
    let written = tokens.next().ok_or_else(not_metar)?;
    if forecast {
        return Err(AirError::MetarIsForecast { station });
    }
    if written == "NIL" {
        return Err(AirError::MetarNil { station });
    }
    let (day, hour, minute) = groups::time(written).ok_or_else(not_metar)?;
    if !(1..=31).contains(&day) || hour > 23 || minute > 59 {
        return Err(AirError::MetarGroup {
            found: excerpt(written),
            expected: "day 01 to 31, hour 00 to 23 and minute 00 to 59, as in 221630Z",
        });
    }
    Ok(Metar {
        kind,
        station,
        day,
        hour,
        minute,
        automatic: false,
        corrected,
        temperature_c: None,
        dew_point_c: None,
        whole_degrees: true,
        altimeter_setting_pa: None,
        altimeter_step_pa: groups::HECTOPASCAL_PA,
        sea_level_pa: None,
    })
}

/// The observation up to the trend: only the first group of each kind counts.
fn read_observation(metar: &mut Metar, tokens: &[&str]) -> Result<(), AirError> {
    let mut printed = None;
    for token in tokens {
        if TREND.contains(token) {
            break;
        }
        match *token {
            "NIL" => {
                return Err(AirError::MetarNil { station: metar.station.clone() });
            }
            "AUTO" => metar.automatic = true,
            "COR" => metar.corrected = true,
            _ => {}
        }
        if metar.temperature_c.is_none()
            && let Some((temperature, dew_point)) = groups::temperatures(token)
        {
            metar.temperature_c = temperature;
            metar.dew_point_c = dew_point;
        }
        read_altimeter(metar, token, &mut printed)?;
    }
    Ok(())
}

/// The altimeter setting; where a report prints it in both units, the finer print wins, and both must be one pressure.
fn read_altimeter(metar: &mut Metar, token: &str, printed: &mut Option<Printed>) -> Result<(), AirError> {
    let bad_group = || AirError::MetarGroup {
        found: excerpt(token),
        expected: "an altimeter setting is Q and four figures of hectopascal, such as Q1018, or A \
                   and four figures of hundredths of an inch, such as A2992",
    };
    let Some(group) = groups::altimeter(token) else {
        return Ok(());
    };
    let Some((setting, step)) = group.map_err(|()| bad_group())? else {
        return Ok(());
    };
    check::reduced_pressure(Field::Metar, setting).map_err(|_| bad_group())?;
    contradicts(printed.as_ref(), token, (setting, step))?;
    printed.get_or_insert_with(|| Printed { group: excerpt(token), pa: setting, step_pa: step });
    if metar.altimeter_setting_pa.is_none() || step < metar.altimeter_step_pa {
        metar.altimeter_setting_pa = Some(setting);
        metar.altimeter_step_pa = step;
    }
    Ok(())
}

/// An altimeter setting as a report prints it.
struct Printed {
    group: String,
    pa: f64,
    step_pa: f64,
}

/// Refuses a setting in inches that is another pressure than the one in hectopascals, and the other way round. Of two groups of
/// one kind the first is the observation.
fn contradicts(printed: Option<&Printed>, token: &str, (pa, step_pa): (f64, f64)) -> Result<(), AirError> {
    let of_another_kind = printed.filter(|one| (one.step_pa - step_pa).abs() > 1.0);
    match of_another_kind.filter(|one| (one.pa - pa).abs() > SETTINGS_AGREE_PA) {
        Some(one) => Err(AirError::MetarContradicts {
            one: one.group.clone(),
            one_pa: one.pa,
            other: excerpt(token),
            other_pa: pa,
        }),
        None => Ok(()),
    }
}

/// The remarks: tenths of a degree and the sea-level pressure.
fn read_remarks(metar: &mut Metar, tokens: &[&str]) -> Result<(), AirError> {
    for token in tokens {
        if let Some(pascal) = groups::sea_level(token) {
            metar.sea_level_pa.get_or_insert(pascal);
        }
        let Some((temperature, dew_point)) = groups::tenths(token) else {
            continue;
        };
        if !agree(metar.temperature_c, Some(temperature)) || !agree(metar.dew_point_c, dew_point) {
            return Err(AirError::MetarGroup {
                found: excerpt(token),
                expected: "its tenths must agree with the whole degrees of the same report",
            });
        }
        metar.temperature_c = Some(temperature);
        metar.dew_point_c = dew_point.or(metar.dew_point_c);
        metar.whole_degrees = false;
    }
    Ok(())
}

/// Whether two values of one thing agree; what is missing contradicts nothing.
fn agree(whole: Option<f64>, tenths: Option<f64>) -> bool {
    match (whole, tenths) {
        (Some(whole), Some(tenths)) => (whole - tenths).abs() <= TENTHS_AGREE_K,
        _ => true,
    }
}

/// The beginning of untrusted text, fit for a message: printable, one line, short.
fn excerpt(text: &str) -> String {
    text.split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .chars()
        .filter(|c| !c.is_control())
        .take(24)
        .collect()
}
