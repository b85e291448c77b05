//! Dates as the user gives them, kept with their offset.

use std::borrow::Cow;
use std::fmt;

use jiff::civil::{Date, DateTime};
use jiff::tz::Offset;
use jiff::{Timestamp, ZonedDateTime};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use thiserror::Error;

/// A moment with the offset of the place it was written at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct When {
    civil: DateTime,
    offset: Offset,
}

/// A date that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is not a date.")]
pub struct DateError(
    /// The text as typed.
    pub String,
);

impl DateError {
    /// How to write one.
    pub fn help(&self) -> String {
        "Write it like 2026-05-16 or 2026-05-16 10:30, with its offset 2026-05-16T10:30+02:00; a time is written 9:40.".into()
    }
}

impl When {
    /// Reads "2026-05-16", "2026-05-16 10:30" or "2026-05-16T10:30+02:00"; without an offset `here` is taken, and
    /// noon without a time of day.
    pub fn parse(text: &str, here: Offset) -> Result<Self, DateError> {
        let typed = text.trim();
        let error = || DateError(text.to_owned());
        if let Ok(date) = typed.parse::<Date>()
            && is_day_alone(typed)
        {
            return Self { civil: date.at(12, 0, 0, 0), offset: here }.known_everywhere().ok_or_else(error);
        }
        let (moment, offset) = split_offset(typed).ok_or_else(error)?;
        let civil = moment.replace(' ', "T").parse::<DateTime>().map_err(|_| error())?;
        // No date is written with parts of a second: what is read is what will be read again.
        let civil = civil.date().at(civil.hour(), civil.minute(), civil.second(), 0);
        Self { civil, offset: offset.unwrap_or(here) }.known_everywhere().ok_or_else(error)
    }

    /// The last days of the last year of the calendar have no moment that the whole world has.
    fn known_everywhere(self) -> Option<Self> {
        self.offset.to_timestamp(self.civil).ok().map(|_| self)
    }

    /// The beginning of a span: a day without a time means from its first minute.
    pub fn parse_from(text: &str, here: Offset) -> Result<Self, DateError> {
        let date = Self::parse(text, here)?;
        Ok(if is_day_alone(text) { date.at_time(0, 0, 0) } else { date })
    }

    /// The end of a span: a day without a time means to its last second.
    pub fn parse_to(text: &str, here: Offset) -> Result<Self, DateError> {
        let date = Self::parse(text, here)?;
        Ok(if is_day_alone(text) { date.at_time(23, 59, 59) } else { date })
    }

    fn at_time(self, hour: i8, minute: i8, second: i8) -> Self {
        Self { civil: self.civil.date().at(hour, minute, second, 0), offset: self.offset }
    }

    /// A moment of the system's clock.
    pub fn from_zoned(zoned: &ZonedDateTime) -> Self {
        Self { civil: zoned.datetime(), offset: zoned.offset() }
    }

    /// From seconds since 1970 and an offset in minutes, as git keeps a date.
    pub fn from_unix(seconds: i64, offset_minutes: i32) -> Option<Self> {
        let offset = Offset::from_seconds(offset_minutes.checked_mul(60)?).ok()?;
        let timestamp = Timestamp::from_second(seconds).ok()?;
        Some(Self { civil: offset.to_datetime(timestamp), offset })
    }

    /// So many minutes later, at the same place; itself at the end of all days.
    #[must_use]
    pub fn minutes_later(self, minutes: i64) -> Self {
        Self::from_unix(self.unix() + 60 * minutes, self.offset_minutes()).unwrap_or(self)
    }

    /// Seconds since 1970; what two moments are ordered by.
    pub fn unix(&self) -> i64 {
        self.offset.to_timestamp(self.civil).map_or(0, Timestamp::as_second)
    }

    /// Offset from universal time in minutes, east positive.
    pub fn offset_minutes(&self) -> i32 {
        self.offset.seconds() / 60
    }

    /// The offset itself.
    pub fn offset(&self) -> Offset {
        self.offset
    }

    /// The day, "2026-05-16".
    pub fn day(&self) -> String {
        self.civil.date().to_string()
    }

    /// The day for a narrow column, "16 May 26".
    pub fn day_of_the_month(&self) -> String {
        self.civil.strftime("%-d %b %y").to_string()
    }

    /// Whether it is noon to the second: what a day without a time of day is read as.
    pub fn is_noon(&self) -> bool {
        self.civil.time() == jiff::civil::time(12, 0, 0, 0)
    }

    /// Day and time of day for reading, "2026-05-16 10:30".
    pub fn short(&self) -> String {
        self.civil.strftime("%Y-%m-%d %H:%M").to_string()
    }

    /// For file names, "20260516-1030".
    pub fn for_file_name(&self) -> String {
        self.civil.strftime("%Y%m%d-%H%M").to_string()
    }
}

fn is_day_alone(text: &str) -> bool {
    text.trim().len() <= "2026-05-16".len()
}

/// Splits "…T10:30+02:00" into the moment and the offset; `None` when the offset is malformed.
fn split_offset(text: &str) -> Option<(String, Option<Offset>)> {
    if let Some(moment) = text.strip_suffix(['Z', 'z']) {
        return Some((moment.to_owned(), Some(Offset::UTC)));
    }
    let after_day = text.get("2026-05-16".len()..)?;
    let Some(sign) = after_day.rfind(['+', '-']) else {
        return Some((text.to_owned(), None));
    };
    let at = "2026-05-16".len() + sign;
    let digits: String = text.get(at + 1..)?.chars().filter(|c| *c != ':').collect();
    let (hours, minutes) = match digits.len() {
        2 => (digits.parse::<i32>().ok()?, 0),
        4 => (digits.get(..2)?.parse::<i32>().ok()?, digits.get(2..)?.parse::<i32>().ok()?),
        _ => return None,
    };
    let seconds = (hours * 60 + minutes) * 60;
    let signed = if text.as_bytes().get(at) == Some(&b'-') { -seconds } else { seconds };
    Some((text.get(..at)?.trim().to_owned(), Some(Offset::from_seconds(signed).ok()?)))
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let minutes = self.offset_minutes();
        let sign = if minutes < 0 { '-' } else { '+' };
        let pattern = if self.civil.second() == 0 { "%Y-%m-%dT%H:%M" } else { "%Y-%m-%dT%H:%M:%S" };
        write!(f, "{}{sign}{:02}:{:02}", self.civil.strftime(pattern), minutes.abs() / 60, minutes.abs() % 60)
    }
}

impl Default for When {
    /// The beginning of 1970, universal time.
    fn default() -> Self {
        Self { civil: DateTime::constant(1970, 1, 1, 0, 0, 0, 0), offset: Offset::UTC }
    }
}

impl PartialOrd for When {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for When {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.unix().cmp(&other.unix()).then_with(|| self.offset.cmp(&other.offset))
    }
}

impl Serialize for When {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for When {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text, Offset::UTC).map_err(de::Error::custom)
    }
}

impl JsonSchema for When {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "date".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let pattern = "^\\s*[+-]?[0-9]{4,6}-?[0-9]{2}-?[0-9]{2}([Tt ].*)?$";
        json_schema!({ "type": "string", "x-date": true, "pattern": pattern })
    }
}
