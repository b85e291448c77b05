//! A run that is logged already.

use std::collections::BTreeSet;

use serde_json::{Map, Value};

use super::place::is_nearly;
use super::slip::{HARDLY_TWO, Questioned, SENT_TWICE, Slip, TypedOuting, apart};
use crate::advice::runs::lap_seconds;
use crate::notebook::Outing;
use crate::notebook::fields::names::same_name;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance, OutingChange};
use crate::quantity::nearly_equal;
use crate::store::OutingRecord;

pub(super) fn twice(typed: TypedOuting<'_>, others: &[OutingRecord]) -> Option<Slip> {
    let record = typed.record;
    let mut of_bike = others.iter().filter(|other| other.bike == record.bike);
    let before = of_bike.find(|other| is_same_session(typed, other))?;
    let session = before.outing.session.as_deref().map(|session| format!(", {}", visible(session)));
    Some(Slip {
        what: Questioned::Twice,
        field: "outing".into(),
        question: format!(
            "The outing of {}{} is logged already, as {}: is it logged twice?",
            before.outing.date.short(),
            session.unwrap_or_default(),
            before.id
        ),
        instead: Guidance::from("What it lacks is added with ")
            + Command::MendOuting(record.bike.clone(), before.id.clone(), OutingChange::Anything)
            + ".",
    })
}

/// Whether an outing of the same bike is the same session.
fn is_same_session(typed: TypedOuting<'_>, other: &OutingRecord) -> bool {
    let (one, two) = (&typed.record.outing, &other.outing);
    let differ = |one: &Option<String>, two: &Option<String>| matches!((one, two), (Some(one), Some(two)) if !same_name(one, two));
    if differ(&one.place, &two.place) {
        return false;
    }
    let apart = apart(typed.record, other);
    if differ(&one.session, &two.session) {
        // "heat 2" and "heat 2 wet" within minutes, all else the same.
        let begins = one
            .session
            .as_deref()
            .zip(two.session.as_deref())
            .is_some_and(|(one, two)| begins_like(one, two));
        return begins && typed.record.setup == other.setup && apart <= SENT_TWICE && says_no_more(one, two);
    }
    if let (Some(session), Some(_)) = (&one.session, &two.session)
        && one.date.day() == two.date.day()
    {
        // Heat 1 is run once; "free" three times a day, where two times are typed that are far from each other.
        let is_numbered = session.chars().any(|letter| letter.is_ascii_digit());
        let both_timed = !typed.dated_by_clock && !one.date.is_noon() && !two.date.is_noon();
        return is_numbered || !both_timed || apart <= SENT_TWICE;
    }
    if typed.record.setup != other.setup {
        return false;
    }
    // Two sessions may have been written down by their day alone, or be typed in within one minute: unless every word is the same.
    let timed = !typed.dated_by_clock && !one.date.is_noon();
    if timed {
        return apart == 0;
    }
    let by_the_clock = typed.dated_by_clock && apart <= HARDLY_TWO && ran_as_long(one, two);
    by_the_clock || apart <= SENT_TWICE && says_no_more(one, two)
}

/// Whether two outings are both written down as so long, however that was typed: 0.2 h, .2 and 12 min are one.
fn ran_as_long(one: &Outing, two: &Outing) -> bool {
    one.hours.as_ref().zip(two.hours.as_ref()).is_some_and(|(one, two)| nearly_equal(one.si(), two.si()))
}

/// Whether a field says the same on both sides, however it was typed.
fn says_the_same(field: &str, one: &Outing, two: &Outing) -> bool {
    let lap = |outing: &Outing| outing.lap.as_deref().and_then(lap_seconds);
    match field {
        "hours" => ran_as_long(one, two),
        "lap" => lap(one).zip(lap(two)).is_some_and(|(one, two)| nearly_equal(one, two)),
        "air" => {
            let air = |outing: &Outing| outing.air.as_ref()?.air().ok();
            air(one).zip(air(two)).is_some_and(|(one, two)| {
                nearly_equal(one.dry_density(), two.dry_density())
                    && nearly_equal(one.temperature_c(), two.temperature_c())
            })
        }
        _ => false,
    }
}

/// Whether of two outings the one says what the other says, and at most a word more.
fn says_no_more(first: &Outing, second: &Outing) -> bool {
    let (Some(one), Some(two)) = (said(first), said(second)) else { return false };
    let (Some(one), Some(two)) = (one.as_object(), two.as_object()) else { return one == two };
    let fields: BTreeSet<&String> = one.keys().chain(two.keys()).collect();
    let lap = |outing: &Map<String, Value>| outing.get("lap").filter(|lap| !lap.is_null()).cloned();
    let same_lap = lap(one).is_some() && lap(one) == lap(two);
    fields.into_iter().all(|field| match (one.get(field), two.get(field)) {
        (one, two) if one == two => true,
        (Some(_), Some(_)) if says_the_same(field, first, second) => true,
        // The same lap to the tenth is the same run, typed again from memory with a throttle less.
        (Some(one), Some(two)) if field == "verdict" && same_lap => judges_no_more(one, two),
        // What it ran in and how it ran must be the same.
        _ if ["verdict", "air", "kind", "hours", "lap"].contains(&field.as_str()) => false,
        // A word that was typed wrongly is mended by typing the line again.
        (Some(Value::String(one)), Some(Value::String(two))) => begins_like(one, two) || is_slip_of(one, two),
        (None | Some(Value::Null), _) | (_, None | Some(Value::Null)) => true,
        _ => false,
    })
}

/// Whether of two verdicts the one says what the other says, of fewer throttles.
fn judges_no_more(one: &Value, two: &Value) -> bool {
    let (Some(one), Some(two)) = (one.as_object(), two.as_object()) else { return false };
    let within = |few: &Map<String, Value>, many: &Map<String, Value>| {
        few.iter().all(|(zone, mixture)| mixture.is_null() || many.get(zone) == Some(mixture))
    };
    within(one, two) || within(two, one)
}

/// Whether one text begins with the words of the other.
fn begins_like(one: &str, two: &str) -> bool {
    let words = |text: &str| text.to_lowercase().split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let (one, two) = (words(one), words(two));
    one.starts_with(&two) || two.starts_with(&one)
}

/// Whether two texts that are long enough to tell are one but for a letter or two.
fn is_slip_of(one: &str, two: &str) -> bool {
    const LEAST_LETTERS: usize = 4;
    let letters = |text: &str| text.chars().count();
    letters(one).min(letters(two)) >= LEAST_LETTERS && is_nearly(one, two)
}

/// What an outing says besides its date and its setup.
fn said(outing: &Outing) -> Option<Value> {
    let mut value = serde_json::to_value(outing).ok()?;
    let fields = value.as_object_mut()?;
    for field in ["date", "setup", "doubted", "dyno"] {
        fields.remove(field);
    }
    Some(value)
}
