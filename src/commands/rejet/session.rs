//! A line of a plan: what the session is called, and when it begins.

use jiff::tz::Offset;

use crate::notebook::fields::names::visible;
use crate::notebook::{AIR_FIELDS, When};

/// When a session begins, by its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Begins {
    /// By day and time; by its day alone, at the end of it: until then it may still come.
    At(When),
    /// A time of day without its day, in minutes after midnight.
    OfNoDay(i32),
    /// Nothing says.
    NotSaid,
}

impl Begins {
    /// By the columns that say nothing of the air: a day with its time, or each in a column of its own.
    pub(super) fn of(head: &[String], cells: &[String], here: Offset) -> Self {
        let others: Vec<&str> = others(head, cells).map(str::trim).collect();
        let moments = || others.iter().filter_map(|text| Some((*text, When::parse(text, here).ok()?)));
        if let Some((_, at)) = moments().find(|(text, _)| text.contains(':')) {
            return Self::At(at);
        }
        let time = others.iter().find_map(|text| time_of_day(text));
        match (moments().next(), time) {
            (Some((day, _)), Some((hours, minutes))) => {
                let at = When::parse(&format!("{day} {hours:02}:{minutes:02}"), here);
                at.map_or(Self::NotSaid, Self::At)
            }
            (Some((day, at)), None) => Self::At(When::parse_to(day, here).unwrap_or(at)),
            (None, Some((hours, minutes))) => Self::OfNoDay(60 * hours + minutes),
            (None, None) => Self::NotSaid,
        }
    }

    /// Whether it has begun: what is fitted before it is past.
    pub(super) fn is_over(self, now: When) -> bool {
        matches!(self, Self::At(at) if at.unix() < now.unix())
    }

    /// Whether its time of day is past, and nothing says of which day it is.
    pub(super) fn may_be_over(self, now: When) -> bool {
        let today = (now.unix() / 60 + i64::from(now.offset_minutes())).rem_euclid(24 * 60);
        matches!(self, Self::OfNoDay(minutes) if i64::from(minutes) < today)
    }
}

/// "9:40" or "15:00".
fn time_of_day(text: &str) -> Option<(i32, i32)> {
    let (hours, minutes) = text.split_once(':')?;
    let number = |digits: &str, below: i32| {
        let known = (1..=2).contains(&digits.len()) && digits.chars().all(|digit| digit.is_ascii_digit());
        digits.parse::<i32>().ok().filter(|number| known && *number < below)
    };
    Some((number(hours, 24)?, number(minutes, 60)?))
}

/// The cells that say nothing of the air.
fn others<'c>(head: &'c [String], cells: &'c [String]) -> impl Iterator<Item = &'c str> {
    let of_another = |(name, text): &(&String, &String)| {
        let known = name.trim().trim_start_matches("--").replace('-', "_");
        !AIR_FIELDS.contains(&known.as_str()) && !text.is_empty()
    };
    head.iter().zip(cells).filter(of_another).map(|(_, text)| text.as_str())
}

/// The place that a line names, where its list has a column of places.
pub(super) fn place_of<'c>(head: &[String], cells: &'c [String]) -> Option<&'c str> {
    let is_place = |name: &String| name.trim().trim_start_matches("--").eq_ignore_ascii_case("place");
    let named = head.iter().zip(cells).find(|(name, _)| is_place(name))?.1.trim();
    (!named.is_empty()).then_some(named)
}

/// The columns that say nothing of the air, in words: the session and the time.
pub(super) fn session_words(head: &[String], cells: &[String], number: usize) -> String {
    let words: Vec<&str> = others(head, cells).collect();
    if words.is_empty() { format!("session {number}") } else { words.join(" ") }
}

/// What is to be said of sessions whose time of day is past and whose day is not written down; nothing where there is none.
pub(super) fn of_no_day(sessions: &[String]) -> Option<String> {
    let named: Vec<String> = sessions.iter().map(|words| visible(words)).collect();
    let (is, they) = if named.len() == 1 { ("has", "it is") } else { ("have", "they are") };
    (!named.is_empty()).then(|| {
        format!(
            "{} {is} a time without its day: {they} taken as still to come. With the day, as 2026-05-16 09:40, what is over moves nothing.",
            named.join(", ")
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn begins(cells: &[&str]) -> Begins {
        let head = ["session", "time", "day", "temp"].map(str::to_owned);
        let cells: Vec<String> = cells.iter().map(|cell| (*cell).to_owned()).collect();
        Begins::of(&head, &cells, Offset::UTC)
    }

    fn at(text: &str) -> Begins {
        When::parse(text, Offset::UTC).map_or(Begins::NotSaid, Begins::At)
    }

    #[test]
    fn a_session_begins_as_its_line_says() {
        assert_eq!(begins(&["p1", "2027-05-04 09:00", "", "8"]), at("2027-05-04 09:00"));
        assert_eq!(begins(&["p1", "9:00", "2027-05-04", "8"]), at("2027-05-04 09:00"));
        assert_eq!(begins(&["p1", "", "2027-05-04", "8"]), at("2027-05-04 23:59:59"));
        assert_eq!(begins(&["p1", "9:05", "", "8"]), Begins::OfNoDay(545));
        assert_eq!(begins(&["heat 2:1", "", "", "8"]), Begins::NotSaid);
        assert_eq!(begins(&["p1", "25:00", "", "8"]), Begins::NotSaid);
        assert_eq!(
            begins(&["p1", "", "", "2027-05-04 09:00"]),
            Begins::NotSaid,
            "a cell of the air is not a time"
        );
    }

    #[test]
    fn over_is_what_has_begun() {
        let Begins::At(now) = at("2027-05-04 09:00") else { return };
        assert!(at("2027-05-04 08:59").is_over(now));
        assert!(!at("2027-05-04 09:00").is_over(now));
        assert!(!begins(&["p1", "", "2027-05-04", ""]).is_over(now), "by its day alone it may still come");
        assert!(begins(&["p1", "8:59", "", ""]).may_be_over(now));
        assert!(!begins(&["p1", "9:00", "", ""]).may_be_over(now));
    }
}
