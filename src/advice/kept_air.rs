//! The air that was kept at a place and serves what follows there: until it is three hours old, on its own day, and never without
//! its place and its age. Air older than that is another air (common practice, no source).

use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Finding, When};
use crate::store::{Book, KeptAirRecord, PlaceRecord, StoreError, place_name, places};

/// How long a kept air serves, s.
const SERVES: i64 = 3 * 3_600;
/// A clock may be off by so much before an air is said to lie ahead, s.
const CLOCKS_APART: i64 = 60;
/// How a new one is kept.
const TYPE_A_NEW_ONE: &str = "Read it anew: `reedbook air --temp … --baro … --humidity … --keep`.";

/// What there is of kept air.
#[derive(Debug, Clone)]
pub enum Kept {
    /// None that could be meant.
    Nothing,
    /// One that serves.
    Serves(Box<KeptAirRecord>),
    /// One that does not, and why, a sentence or two; and how old it is, s.
    Not(String, i64),
    /// Files of places that cannot be read: which air is the newest is not known.
    Unreadable(Vec<Finding>),
}

/// The newest air that was kept before a moment, at a place or anywhere.
pub fn newest(book: &Book<'_>, place: Option<&str>, at: When) -> Result<Kept, StoreError> {
    let (known, findings) = places(book.garage())?;
    if !findings.is_empty() {
        return Ok(Kept::Unreadable(findings));
    }
    // A place that no file can be called by has no air.
    let wanted = place.map(|place| place_name(place).unwrap_or_default());
    let all: Vec<KeptAirRecord> = known.iter().flat_map(PlaceRecord::airs).collect();
    let is_past = |kept: &&KeptAirRecord| kept.date.unix() <= at.unix() + CLOCKS_APART;
    let is_there = |kept: &&KeptAirRecord| wanted.as_ref().is_none_or(|wanted| kept.name == *wanted);
    let latest = |here: bool| {
        let there = all.iter().filter(|kept| !here || is_there(kept));
        there.filter(is_past).max_by_key(|kept| kept.date.unix())
    };
    if let Some(kept) = latest(true) {
        return Ok(judged(kept, at));
    }
    if let (Some(place), Some(kept)) = (place, latest(false)) {
        let words =
            format!("No air was kept at {}. {}, is of another place.", visible(place), read_at(kept, at));
        return Ok(Kept::Not(format!("{words} {TYPE_A_NEW_ONE}"), at.unix() - kept.date.unix()));
    }
    let ahead = all.iter().filter(is_there).min_by_key(|kept| kept.date.unix());
    Ok(ahead.map_or(Kept::Nothing, |kept| {
        let age = at.unix() - kept.date.unix();
        let words = format!(
            "The air kept at {} lies ahead of {}: is the clock right?",
            kept.date.short(),
            at.short()
        );
        Kept::Not(words, age)
    }))
}

fn judged(kept: &KeptAirRecord, at: When) -> Kept {
    let age = at.unix() - kept.date.unix();
    let why = if kept.date.day() != at.day() {
        "of another day".to_owned()
    } else if age > SERVES {
        "too old".to_owned()
    } else if kept.doubted {
        "doubted".to_owned()
    } else {
        return Kept::Serves(Box::new(kept.clone()));
    };
    Kept::Not(format!("{}, is {why}. {TYPE_A_NEW_ONE}", read_at(kept, at)), age)
}

/// "The air kept at 09:40 at Hollinmoss, 3 h 20 min old".
fn read_at(kept: &KeptAirRecord, at: When) -> String {
    let age = duration(at.unix() - kept.date.unix());
    format!("The air kept at {} at {}, {age} old", time(kept.date, at), visible(&kept.place))
}

/// "air of 09:40 at Hollinmoss, 1 h 10 min ago".
pub fn in_words(kept: &KeptAirRecord, at: When) -> String {
    let age = duration(at.unix() - kept.date.unix());
    format!("air of {} at {}, {age} ago", time(kept.date, at), visible(&kept.place))
}

/// The time of day, with its day where that is another.
fn time(date: When, at: When) -> String {
    let short = date.short();
    if date.day() == at.day() { short.rsplit(' ').next().unwrap_or(&short).to_owned() } else { short }
}

/// "1 h 10 min", "5 days".
fn duration(seconds: i64) -> String {
    let minutes = seconds.max(0) / 60;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) if hours < 24 => format!("{hours} h {minutes} min"),
        (hours, _) => format!("{} days", hours / 24).replace("1 days", "a day"),
    }
}

/// An air for what follows.
#[derive(Debug, Clone, Default)]
pub struct Served {
    /// The air; none where nothing was typed and nothing serves.
    pub entry: Option<AirEntry>,
    /// The kept air that it is, or that gave a part of it.
    pub kept: Option<KeptAirRecord>,
    /// Where it is from, in words; none where all of it was typed.
    pub words: Option<String>,
    /// Whether it is the kept air as it stands: then it was asked about when it was kept.
    pub as_kept: bool,
    /// Why no kept air serves, in a sentence, and how old it is, s.
    pub refused: Option<(String, i64)>,
    /// Files of places that cannot be read.
    pub unreadable: Vec<Finding>,
}

/// The air for a moment at a place: what was typed, over what was kept there. What was typed whole stands for itself.
pub fn serve(
    book: &Book<'_>,
    typed: Option<AirEntry>,
    place: Option<&str>,
    at: When,
) -> Result<Served, StoreError> {
    if typed.as_ref().is_some_and(|typed| typed.metar.is_some() || typed.air().is_ok()) {
        return Ok(Served { entry: typed, ..Served::default() });
    }
    let kept = match newest(book, place, at)? {
        Kept::Serves(kept) => *kept,
        Kept::Nothing => return Ok(Served { entry: typed, ..Served::default() }),
        Kept::Not(words, age) => {
            return Ok(Served { entry: typed, refused: Some((words, age)), ..Served::default() });
        }
        Kept::Unreadable(unreadable) => {
            return Ok(Served { entry: typed, unreadable, ..Served::default() });
        }
    };
    let said = in_words(&kept, at);
    let Some(typed) = typed else {
        let entry = Some(kept.air.clone());
        return Ok(Served { entry, words: Some(said), kept: Some(kept), as_kept: true, ..Served::default() });
    };
    let whole = typed.over(&kept.air);
    if whole.air().is_err() {
        return Ok(Served { entry: Some(typed), ..Served::default() });
    }
    let parts: Vec<_> = typed.parts().iter().map(|(name, _)| name.replace('_', " ")).collect();
    let words = format!("{said}, with the {} typed now", parts.join(" and "));
    Ok(Served { entry: Some(whole), words: Some(words), kept: Some(kept), ..Served::default() })
}

/// Where the day is spent: where an air was kept last, or a bike was logged last, whichever is later. Nobody types that twice.
pub fn place_of_the_day(book: &Book<'_>, date: When) -> Result<Option<String>, StoreError> {
    let mut last: Option<(When, String)> = None;
    for bike in book.garage().bikes() {
        let of_day = book.outings(&bike)?.into_iter().filter(|record| record.outing.date.day() == date.day());
        let placed = of_day.filter_map(|record| Some((record.outing.date, record.outing.place?)));
        last = last.into_iter().chain(placed).max_by_key(|(date, _)| date.unix());
    }
    let (known, _) = places(book.garage())?;
    let airs = known.iter().flat_map(PlaceRecord::airs);
    let of_day =
        airs.filter(|kept| kept.date.day() == date.day() && kept.date.unix() <= date.unix() + CLOCKS_APART);
    let last = last.into_iter().chain(of_day.map(|kept| (kept.date, kept.place)));
    Ok(last.max_by_key(|(date, _)| date.unix()).map(|(_, place)| place))
}
