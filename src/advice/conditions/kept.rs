//! The air that was kept at a place and serves what follows there: until it is three hours old, on its own day, and never without
//! its place and its age. Air older than that is another air (common practice, no source).

use crate::advice::today::CLOCKS_APART;
use crate::air::Metar;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{AirEntry, AirEntryError, Finding, When};
use crate::store::{Book, KeptAirRecord, PlaceRecord, StoreError, place_name, places};

/// How long a kept air serves, s.
const SERVES: i64 = 3 * 3_600;
const DAY: i64 = 24 * 3_600;
/// How a new one is kept, where one does not serve. On a day when none was kept yet its place has to be said.
pub fn type_a_new_one(refused: &Refused) -> Guidance {
    Guidance::from("Take a new reading: ") + Command::KeepAir { is_placed: refused.of_the_day } + "."
}

/// What there is of kept air.
#[derive(Debug, Clone)]
enum Kept {
    /// None that could be meant.
    Nothing,
    /// One that serves.
    Serves(Box<KeptAirRecord>),
    /// One that does not, and why.
    Not(Refused),
}

/// Why a kept air does not serve.
#[derive(Debug, Clone)]
pub struct Refused {
    /// A sentence or two.
    pub words: String,
    /// Whether it was read on the day that it is asked for.
    pub of_the_day: bool,
}

/// The newest of the airs that was kept before a moment, at a place or anywhere.
fn newest(known: &[PlaceRecord], place: Option<&str>, at: When) -> Kept {
    // A place that no file can be called by has no air.
    let wanted = place.map(|place| place_name(place).unwrap_or_default());
    let all: Vec<KeptAirRecord> = known.iter().flat_map(PlaceRecord::airs).collect();
    let is_past = |kept: &&KeptAirRecord| kept.date.unix() <= at.unix() + CLOCKS_APART;
    let is_there = |kept: &&KeptAirRecord| wanted.as_ref().is_none_or(|wanted| kept.name == *wanted);
    let latest = |here: bool| {
        let there = all.iter().filter(|kept| !here || is_there(kept));
        there.filter(is_past).max_by_key(|kept| kept.age_order())
    };
    let refused = |kept: &KeptAirRecord, words: String| {
        Kept::Not(Refused { words, of_the_day: kept.date.day() == at.day() })
    };
    if let Some(kept) = latest(true) {
        return match why_not(kept, at) {
            None => Kept::Serves(Box::new(kept.clone())),
            Some(why) => refused(kept, format!("{}, is {why}.", kept_at(kept, at))),
        };
    }
    if let (Some(place), Some(kept)) = (place, latest(false)) {
        let words =
            format!("No air was kept at {}. {}, is of another place.", visible(place), kept_at(kept, at));
        return refused(kept, words);
    }
    let ahead = all.iter().filter(is_there).min_by_key(|kept| kept.date.unix());
    ahead.map_or(Kept::Nothing, |kept| {
        let words = format!(
            "The air kept at {} was read at {}, after {}: an air serves what follows it. Is the clock right?",
            visible(&kept.place),
            kept.date.short(),
            at.short()
        );
        refused(kept, words)
    })
}

/// What stands against an air.
fn why_not(kept: &KeptAirRecord, at: When) -> Option<&'static str> {
    if kept.date.day() != at.day() {
        Some("of another day")
    } else if at.unix() - kept.date.unix() > SERVES {
        Some("too old")
    } else if kept.doubted {
        Some("doubted")
    } else {
        None
    }
}

/// "The air kept at 09:40 at Hollinmoss, 3 h 20 min old".
fn kept_at(kept: &KeptAirRecord, at: When) -> String {
    let age = duration(at.unix() - kept.date.unix());
    format!("The air kept at {} at {}, {age} old", time(kept.date, at), visible(&kept.place))
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
        (hours, _) if hours < 48 => "a day".to_owned(),
        (hours, _) => format!("{} days", hours / 24),
    }
}

/// Until when an air serves what follows it: three hours, and its own day.
pub fn serves_until(date: When) -> String {
    let then = When::from_unix(date.unix() + SERVES, date.offset_minutes());
    match then.filter(|then| then.day() == date.day()) {
        Some(then) => time(then, date),
        None => "midnight".to_owned(),
    }
}

/// Where an air is from that was not typed, or not whole.
#[derive(Debug, Clone)]
pub struct Origin {
    /// The place, as it is called.
    pub place: String,
    /// When it was read.
    pub date: When,
    /// When it is used.
    pub at: When,
    /// What was typed over it, as it is called.
    pub typed: Vec<&'static str>,
}

impl Origin {
    /// How old it is, s.
    pub fn age_s(&self) -> i64 {
        (self.at.unix() - self.date.unix()).max(0)
    }

    /// "air of Hollinmoss, kept 09:40, 1 h 20 min ago, with the temperature typed now".
    pub fn words(&self) -> String {
        let typed = match self.typed.as_slice() {
            [] => String::new(),
            typed => format!(", with the {} typed now", typed.join(" and ")),
        };
        format!(
            "air of {}, kept {}, {}{typed}",
            visible(&self.place),
            time(self.date, self.at),
            match self.age_s() {
                0..60 => "just now".to_owned(),
                age => format!("{} ago", duration(age)),
            }
        )
    }
}

/// An air for what follows.
#[derive(Debug, Clone, Default)]
pub struct Served {
    /// The air; none where nothing was typed and nothing serves.
    pub entry: Option<AirEntry>,
    /// The kept air that it is, or that gave a part of it; none where all of it was typed.
    pub origin: Option<Origin>,
    /// What of it the place's document gave, in words.
    pub of_the_place: Option<String>,
    /// Why no kept air serves.
    pub refused: Option<Refused>,
    /// Files of places that cannot be read: which air is the newest is not known.
    pub unreadable: Vec<Finding>,
}

impl Served {
    /// Where it is from, in sentences; none where all of it was typed.
    pub fn words(&self) -> Option<String> {
        let words: Vec<String> =
            self.origin.as_ref().map(Origin::words).into_iter().chain(self.of_the_place.clone()).collect();
        (!words.is_empty()).then(|| words.join("; "))
    }
}

/// The air for a moment at a place: what was typed, over what was kept there. What was typed whole stands for itself.
pub fn serve(
    book: &Book<'_>,
    typed: Option<AirEntry>,
    place: Option<&str>,
    at: When,
) -> Result<Served, StoreError> {
    if typed.as_ref().is_some_and(|typed| typed.air().is_ok()) {
        return Ok(Served { entry: typed, ..Served::default() });
    }
    let (known, unreadable) = places(book.garage())?;
    if !unreadable.is_empty() {
        return Ok(Served { entry: typed, unreadable, ..Served::default() });
    }
    let mut of_the_place = None;
    let typed = typed.map(|entry| {
        let (entry, words) = with_elevation(&known, entry, place);
        of_the_place = words;
        entry
    });
    if typed.as_ref().is_some_and(|typed| typed.air().is_ok()) {
        return Ok(Served { entry: typed, of_the_place, ..Served::default() });
    }
    let kept = match newest(&known, place, at) {
        // A report that is not whole is no temperature typed over another air.
        Kept::Serves(kept) if typed.as_ref().is_none_or(|typed| typed.metar.is_none()) => *kept,
        Kept::Serves(_) | Kept::Nothing => {
            return Ok(Served { entry: typed, of_the_place, ..Served::default() });
        }
        Kept::Not(refused) => {
            return Ok(Served { entry: typed, refused: Some(refused), of_the_place, ..Served::default() });
        }
    };
    let origin = |typed| Origin { place: kept.place.clone(), date: kept.date, at, typed };
    Ok(match typed {
        None => {
            Served { entry: Some(kept.air.clone()), origin: Some(origin(Vec::new())), ..Served::default() }
        }
        Some(typed) => {
            let parts = typed.parts().iter().map(|(name, _)| called(name)).collect();
            let entry = Some(typed.over(&kept.air));
            Served { entry, origin: Some(origin(parts)), of_the_place, ..Served::default() }
        }
    })
}

/// A part of the air as it is called.
fn called(part: &str) -> &'static str {
    match part {
        "temp" => "temperature",
        "baro" => "barometer",
        "qnh" => "QNH",
        "sea_level" => "sea-level pressure",
        "elevation" => "elevation",
        "humidity" => "humidity",
        "dew_point" => "dew point",
        "wet_bulb" => "wet bulb",
        _ => "METAR",
    }
}

/// A pressure of the sea's level or a report, with the elevation that is written down for the place, and that in words.
fn with_elevation(
    known: &[PlaceRecord],
    mut entry: AirEntry,
    place: Option<&str>,
) -> (AirEntry, Option<String>) {
    let reduced = entry.qnh.is_some() || entry.sea_level.is_some() || entry.metar.is_some();
    let name = place.and_then(|place| place_name(place).ok());
    let record = known.iter().find(|record| Some(&record.name) == name.as_ref());
    let written = record.and_then(|record| Some((record, record.place.elevation.clone()?)));
    match written.filter(|_| reduced && entry.elevation.is_none() && entry.baro.is_none()) {
        None => (entry, None),
        Some((record, elevation)) => {
            let words = format!("elevation {elevation} as written down for {}", visible(record.title()));
            entry.elevation = Some(elevation);
            (entry, Some(words))
        }
    }
}

/// An air to be kept at a place: with the place's elevation where it lacks one, and that in words.
pub fn to_keep(
    book: &Book<'_>,
    typed: AirEntry,
    place: &str,
) -> Result<(AirEntry, Option<String>), StoreError> {
    // A file that cannot be read is refused by the keeping itself, where it is this place's.
    let (known, _) = places(book.garage())?;
    Ok(with_elevation(&known, typed, Some(place)))
}

/// When a typed air was read: a METAR says it, else it is now. None where a METAR's day is no day of the last month.
pub fn read_when(typed: &AirEntry, now: When) -> Result<Option<When>, AirEntryError> {
    let Some(report) = &typed.metar else {
        return Ok(Some(now));
    };
    let report = Metar::parse(report)?;
    let minutes = i64::from(report.hour) * 60 + i64::from(report.minute);
    let today = now.unix().div_euclid(DAY) * DAY;
    let days = (0..=31).map(|back| today - back * DAY);
    let is_its_day = |day: &i64| {
        When::from_unix(*day, 0).is_some_and(|day| day.day().ends_with(&format!("-{:02}", report.day)))
    };
    let moments = days.filter(is_its_day).map(|day| day + minutes * 60);
    let past = moments.into_iter().find(|moment| *moment <= now.unix() + CLOCKS_APART);
    Ok(past.and_then(|moment| When::from_unix(moment, now.offset_minutes())))
}

/// Whether a reading is dated later than the clock, clocks that are a little apart allowed for.
pub fn is_ahead(date: When, now: When) -> bool {
    date.unix() > now.unix() + CLOCKS_APART
}

/// Why an air that was read then is not worth keeping now, where it is not: nothing that follows would use it.
pub fn past_serving(date: When, now: When) -> Option<String> {
    let age = now.unix() - date.unix();
    (age > SERVES)
        .then(|| format!("It is of {}, {} old; an air serves three hours.", time(date, now), duration(age)))
}
