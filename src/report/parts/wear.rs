//! How fast a dimension wears: its readings by hours, the rate, and when the limit is reached.

use serde_json::{Value as Json, json};

use crate::advice::building::Kind;
use crate::advice::parts::wear::{
    Arrival, ChosenLimit, Gap, Pace, Side, TopEnds, Wear, WearReading, Whose, habit,
};
use crate::engine::wear::{Direction, Line, Reach};
use crate::notebook::fields::names::visible;
use crate::quantity::{Units, fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::building::build::shown_unit;
use crate::report::out::screen::Screen;
use crate::report::parts::life::hours;
use crate::report::parts::wear_plot::drawing;
use crate::report::words::layout::{count, table};

/// Said with every limit that lies ahead.
const CAUTION: &str = "Worn parts seize or break under the rider. The limit of the machine's manual holds where it is stricter; measure at every build, and see to the engine at once when it sounds, feels or looks wrong.";

/// What a line is worth.
const STRAIGHT: &str = "Wear is taken to be even. Running in is faster, and so is a hard layer that is worn through: nothing then comes as late as this says.";

/// The wear of a figure.
pub struct WearReport<'a> {
    /// The engine.
    pub engine: &'a str,
    /// The figure.
    pub figure: &'static Kind,
    /// The seat, of a bearing.
    pub seat: Option<&'a str>,
    /// Its readings, by date.
    pub readings: &'a [WearReading],
    /// What they tell.
    pub wear: &'a Wear,
    /// Where the limit of configs/limits.toml is from.
    pub source: Option<&'a str>,
    /// Level of the intervals.
    pub level: f64,
    /// Top ends before the limit, where they are told.
    pub top_ends: Option<TopEnds>,
    /// Hours at which configs/limits.toml changes the part, where it is one that a top end changes.
    pub change_after_h: Option<f64>,
    /// Build files that cannot be read, with what is wrong.
    pub unreadable: &'a [String],
    /// Whether it is drawn.
    pub drawn: bool,
}

impl WearReport<'_> {
    /// For a script, in mm, cc or g.
    pub fn json(&self) -> Json {
        let wear = self.wear;
        let (symbol, factor, _) = shown_unit(self.figure.unit, Units::Metric, 0.0);
        let value = |si: f64| rounded(si / factor, 5);
        let (rate, low, high) = self.rate();
        let rate_of = |rate: Option<f64>| rate.map(|rate| rounded(rate / factor, 7));
        let (line, soonest, latest) = self.arrival_h();
        let time = |hours_h: Option<f64>| json!({ "on_the_axis_h": hours_h.map(|h| rounded(h, 3)), "from_now_h": self.ahead_h(hours_h).map(|h| rounded(h, 3)) });
        let reading = |(index, known): (usize, &WearReading)| {
            let place = wear.axis.places.iter().find(|place| place.reading == index);
            json!({
                "date": known.date.to_string(),
                "build": known.build_id,
                "value": value(known.dimension),
                "standard_uncertainty": known.uncertainty.map(value),
                "hours_h": place.map(|place| rounded(place.hours_h - self.shift_h(), 3)),
                "used": wear.used.iter().any(|used| used.reading == index),
            })
        };
        json!({
            "engine": self.engine,
            "figure": self.figure.name,
            "seat": self.seat,
            "unit": symbol,
            "level_percent": rounded(self.level * 100.0, 3),
            "hours_of": match &wear.axis.whose { Whose::Part(name) => Some(name), Whose::Engine => None },
            "hours_since_first_reading": self.since_first(),
            "readings": self.readings.iter().enumerate().map(reading).collect::<Vec<_>>(),
            "method": match wear.pace { Pace::OneReading | Pace::DidNotRun => "none", Pace::Two { .. } => "two-readings", Pace::AtMost { .. } => "bound", Pace::Line { .. } => "line" },
            "rate_per_h": { "value": rate_of(rate), "low": rate_of(low), "high": rate_of(high) },
            "limit": wear.limit.map(|limit| json!({ "value": value(limit.value), "side": side_word(limit.side), "from": if limit.asked { "request" } else { "limits" }, "source": self.source.filter(|_| !limit.asked) })),
            "past": wear.past,
            "reached": wear.arrival.map(|arrival| json!({ "how": arrival_word(arrival), "line": time(line), "soonest": time(soonest), "latest": time(latest) })),
            "top_ends": self.top_ends.map(|ends| json!({ "every_h": rounded(ends.every_h, 3), "next_in_h": rounded(ends.next_in_h, 3), "before_the_limit": ends.before, "last_in_h": ends.last_in_h().map(|h| rounded(h, 3)) })),
            "conclusion": self.conclusion(),
            "notes": self.notes(Units::Metric),
            "cautions": self.cautions(),
            "unreadable": self.unreadable,
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let seat = self.seat.map(|seat| format!(", {seat}")).unwrap_or_default();
        let heading = format!("{}: {}{seat} by {}", self.engine, self.figure.words, self.whose());
        let mut lines = vec![screen.strong(&heading), String::new(), self.table(screen), String::new()];
        let figures = self.figures(screen.units());
        lines.extend(figures.iter().map(|(name, words)| screen.wrap(&format!("  {name:<22}{words}"), 24)));
        lines.push(String::new());
        let conclusion = self.conclusion();
        if !conclusion.is_empty() {
            lines.extend([screen.wrap(&conclusion, 2), String::new()]);
        }
        if self.drawn
            && let Some(drawing) = drawing(self, screen)
        {
            lines.extend([drawing, String::new()]);
        }
        lines.extend(self.notes(screen.units()).iter().map(|note| screen.wrap(&format!("note: {note}"), 6)));
        lines.extend(self.cautions().iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.join("\n")
    }

    fn whose(&self) -> String {
        match &self.wear.axis.whose {
            Whose::Part(name) => format!("hours of {name}"),
            Whose::Engine => "hours of the engine".to_owned(),
        }
    }

    /// Whether hours are told since the first used reading.
    fn since_first(&self) -> bool {
        self.wear.zero_h > 0.0 || self.wear.axis.open_at_the_beginning
    }

    /// What is taken off the axis' hours where they are told.
    pub(super) fn shift_h(&self) -> f64 {
        self.wear.zero_h
    }

    /// The unit of the figure on a screen, its size in SI, and its decimals.
    pub(super) fn unit(&self, units: Units) -> (&'static str, f64, usize) {
        let doubt = self.readings.iter().filter_map(|known| known.uncertainty).fold(0.0, f64::max);
        shown_unit(self.figure.unit, units, 2.0 * doubt)
    }

    fn value(&self, si: f64, units: Units) -> String {
        let (symbol, factor, decimals) = self.unit(units);
        format!("{} {symbol}", fixed(si / factor, decimals))
    }

    fn table(&self, screen: &Screen) -> String {
        let (symbol, factor, decimals) = self.unit(screen.units());
        let row = |(index, known): (usize, &WearReading)| {
            let place = self.wear.axis.places.iter().find(|place| place.reading == index);
            let used = self.wear.used.iter().any(|used| used.reading == index);
            let doubt = known.uncertainty.map(|u| format!("± {}", fixed(2.0 * u / factor, decimals)));
            vec![
                place.map_or("-".to_owned(), |place| fixed(place.hours_h - self.shift_h(), 1)),
                fixed(known.dimension / factor, decimals),
                doubt.unwrap_or_default(),
                format!("{} {}", known.date.day(), known.build_id),
                match (place, used) {
                    (None, _) => "other parts".to_owned(),
                    (Some(_), false) => "left out".to_owned(),
                    (Some(_), true) => String::new(),
                },
            ]
        };
        let rows = self.readings.iter().enumerate().map(row).collect();
        table(&["hours", symbol, "", "build", ""], rows, &[0, 1, 2], screen.width())
    }

    /// The rate with its interval, SI an hour.
    fn rate(&self) -> (Option<f64>, Option<f64>, Option<f64>) {
        match &self.wear.pace {
            Pace::OneReading | Pace::DidNotRun => (None, None, None),
            Pace::Two { rate, .. } => (Some(*rate), None, None),
            Pace::AtMost { rate } => {
                (None, rate.is_sign_negative().then_some(*rate), (!rate.is_sign_negative()).then_some(*rate))
            }
            Pace::Line { line, rate, .. } => (Some(line.rate_m_h()), Some(rate.low), Some(rate.high)),
        }
    }

    /// When the limit is reached: by the line, the soonest, the latest; in hours as they are told.
    fn arrival_h(&self) -> (Option<f64>, Option<f64>, Option<f64>) {
        match self.wear.arrival {
            Some(Arrival::At { hours_h }) => (Some(hours_h), None, None),
            Some(Arrival::NotBefore { hours_h }) => (None, Some(hours_h), None),
            Some(Arrival::Line(Reach::Between { hours_h, soonest_h, latest_h })) => {
                (Some(hours_h), Some(soonest_h), Some(latest_h))
            }
            Some(Arrival::Line(Reach::Open { hours_h, soonest_h })) => (hours_h, Some(soonest_h), None),
            _ => (None, None, None),
        }
    }

    /// Hours from now; none where another part is in the engine now.
    fn ahead_h(&self, hours_h: Option<f64>) -> Option<f64> {
        let axis = &self.wear.axis;
        let same = axis.changed_since.is_empty() && axis.gap_to_now != Gap::NotTold;
        Some(hours_h? + self.wear.zero_h - axis.now_h).filter(|_| same)
    }

    fn figures(&self, units: Units) -> Vec<(&'static str, String)> {
        let mut told = Vec::new();
        let (symbol, factor, decimals) = self.unit(units);
        let each = |rate: f64| fixed(rate * 10.0 / factor, decimals + 1);
        let rate = match &self.wear.pace {
            Pace::OneReading | Pace::DidNotRun => None,
            Pace::Two { rate, .. } => Some(format!("{} {symbol} in 10 h, by two readings", each(*rate))),
            Pace::AtMost { rate } => Some(format!("at most {} {symbol} in 10 h", each(*rate))),
            Pace::Line { line, rate, .. } => Some(format!(
                "{} {symbol} in 10 h ({} to {})",
                each(line.rate_m_h()),
                each(rate.low),
                each(rate.high)
            )),
        };
        told.extend(rate.map(|rate| ("change", rate)));
        if let Some(limit) = self.wear.limit {
            let from = match (limit.asked, self.source) {
                (true, _) => "--limit".to_owned(),
                (false, Some(source)) => format!("configs/limits.toml: {}", visible(source)),
                (false, None) => "configs/limits.toml".to_owned(),
            };
            told.push((
                "limit",
                format!("{} {} ({from})", side_word(limit.side), limit_value(limit, symbol, factor)),
            ));
        }
        let (line, soonest, latest) = self.arrival_h();
        told.extend(span(line, soonest, latest).map(|words| {
            (
                "reached",
                format!(
                    "{words} {}",
                    if self.since_first() { "after the first used reading" } else { "on the part" }
                ),
            )
        }));
        let (line, soonest, latest) = (self.ahead_h(line), self.ahead_h(soonest), self.ahead_h(latest));
        told.extend(span(line, soonest, latest).map(|words| ("from now", words)));
        told
    }

    /// The answer in a sentence or two.
    fn conclusion(&self) -> String {
        let deed = habit(self.figure.name).deed;
        if self.wear.past {
            return format!("The newest reading is beyond the limit: {deed} before it runs.");
        }
        match self.wear.pace {
            Pace::OneReading => {
                return format!(
                    "One reading that hours are known of shows no wear: measure the {} again at a later build.",
                    self.figure.words
                );
            }
            Pace::DidNotRun => {
                return "The book has no hours between the readings: log outings with --hours, or write the part's own hours down.".to_owned();
            }
            _ => {}
        }
        let Some(arrival) = self.wear.arrival else {
            return self.without_limit();
        };
        let mut said = match arrival {
            Arrival::At { .. } => format!("Two readings tell no scatter, so how wrong this is cannot be said: a third is needed. Until then see it as the latest hours to measure again, not as the hours to {deed}."),
            Arrival::NotBefore { .. } => "The hours that are not known make the wear slower than it looks: as far as the two readings are right, the limit is not reached before that.".to_owned(),
            Arrival::Line(Reach::Between { .. }) => self.soonest(deed),
            Arrival::Line(Reach::Open { .. }) => format!("The readings do not yet tell the wear from none: not before the soonest, and perhaps never. {}", self.soonest(deed)),
            Arrival::Line(Reach::AnyTime) => format!("The readings do not tell the wear from none, and the limit lies within their scatter: it may be reached at any time. Measure again before it runs, and {deed} if it is."),
            Arrival::Line(Reach::Never) | Arrival::Never => "The readings lead away from the limit, or nowhere. Wear does not go backwards: look for the gauge, the warmth of the parts or a part that was changed.".to_owned(),
        };
        if let Some(words) = self.top_ends_words(deed) {
            said = format!("{said} {words}");
        }
        said.trim().to_owned()
    }

    /// What the soonest hours ask for.
    fn soonest(&self, deed: &str) -> String {
        let Some(soonest) = self.wear.arrival.and_then(Arrival::soonest_h) else { return String::new() };
        match (self.ahead_h(Some(soonest)), self.change_after_h.filter(|_| !self.since_first())) {
            (Some(from_now), _) if from_now <= 0.0 => {
                format!("The limit may be reached already: measure before it runs, and {deed} if it is.")
            }
            (_, Some(change)) if change <= soonest => {
                format!("The part is changed at {} by configs/limits.toml: that comes first.", hours(change))
            }
            (Some(from_now), Some(_)) => format!(
                "That can come before the hours at which configs/limits.toml changes it: {deed} in {} at the latest.",
                hours(from_now)
            ),
            (None, _) => format!("The soonest is what to go by: {deed} by then."),
            (Some(from_now), None) if self.top_ends.is_none() => {
                format!("To be on the safe side, {deed} in {} at the latest.", hours(from_now))
            }
            _ => String::new(),
        }
    }

    fn top_ends_words(&self, deed: &str) -> Option<String> {
        let ends = self.top_ends?;
        let every =
            format!("With a top end every {} (piston, configs/limits.toml)", trimmed(ends.every_h, 1) + " h");
        let Some(last) = ends.last_in_h() else {
            return Some(format!("{every} it does not last until the next one: {deed} before."));
        };
        let at = if last > 0.0 { format!("in {}", hours(last)) } else { "that is due now".to_owned() };
        Some(match ends.before {
            1 => format!("{every}: {deed} with the next one, {at}."),
            2 => format!("{every}: one more top end, then {deed} with the one after, {at}."),
            more @ 3..=6 => {
                format!("{every}: {} more top ends, then {deed} with the one after, {at}.", more - 1)
            }
            more => format!("{every} it lasts for {} more: measure again at each.", more - 1),
        })
    }

    fn without_limit(&self) -> String {
        let edge = match self.wear.side {
            Side::Greatest => "most",
            Side::Least => "least",
        };
        format!(
            "No limit is set on that side. Put the manual's into configs/limits.toml as `{edge}` under [engines.{}.{}], or try one with --limit.",
            self.engine, self.figure.name
        )
    }

    fn notes(&self, units: Units) -> Vec<String> {
        let (wear, axis) = (self.wear, &self.wear.axis);
        let mut notes = Vec::new();
        if axis.whose == Whose::Engine {
            let why = match self.figure.part {
                Some(kind) => {
                    format!("The book has no single {kind} in {} at the newest reading", self.engine)
                }
                None => "This belongs to no one part".to_owned(),
            };
            notes.push(format!("{why}: hours are those that the outings of this book hold of the engine."));
        }
        if axis.whose != Whose::Engine && axis.open_at_the_beginning {
            notes.push("The part's whole hours are not known, so hours are told since the first used reading. The rate does not suffer from that.".to_owned());
        }
        let beside: Vec<_> =
            axis.unseen.iter().filter(|kind| Some(**kind) != self.figure.part).copied().collect();
        if !beside.is_empty() {
            notes.push(format!(
                "The book has no {} in {}: if one was changed between the readings, this is no line.",
                beside.join(" and no "),
                self.engine
            ));
        }
        if axis.of_other_parts > 0 {
            notes.push(format!(
                "{} of other parts, or of these before they were made new: another line.",
                are(axis.of_other_parts)
            ));
        }
        if wear.left_out > 0 {
            notes.push(format!(
                "{} left out: outings without hours, or an own count of hours, lie between.",
                are(wear.left_out)
            ));
        }
        if let Pace::Two { told_apart: Some(false), .. } = wear.pace {
            notes.push("The two readings differ by less than their doubt: there may be no wear at all, or twice as much.".to_owned());
        }
        if let Pace::Line { direction, line, .. } = &wear.pace {
            notes.extend(self.line_notes(*direction, line, units));
        }
        if axis.gap_to_now == Gap::More {
            notes.push(
                "Outings since the newest reading have no hours: it is sooner from now than is said."
                    .to_owned(),
            );
        }
        if !axis.changed_since.is_empty() {
            notes.push(format!("{} has another {} now, or one made new since: this line is that of the one before, so nothing is told from now.", self.engine, axis.changed_since.join(" and ")));
        }
        notes.extend(
            self.unreadable
                .iter()
                .map(|finding| format!("left out, as it cannot be read: {}", visible(finding))),
        );
        notes
    }

    fn line_notes(&self, direction: Direction, line: &Line, units: Units) -> Vec<String> {
        let level = trimmed(self.level * 100.0, 1);
        let (scatter, rate) = (line.scatter_m(), line.rate_m_h());
        let (symbol, factor, decimals) = self.unit(units);
        let mut notes = vec![format!(
            "In brackets: {level} % intervals; of the hours where one further reading would be at the limit. Readings lie {} {symbol} beside the line (one standard deviation).",
            fixed(scatter / factor, decimals + 1)
        )];
        let doubt = self.readings.iter().filter_map(|known| known.uncertainty).fold(0.0, f64::max);
        if doubt > 0.0 && scatter > 2.0 * doubt {
            notes.push("They scatter more than the gauges do: it was measured at other places or warmths, or the wear is not even.".to_owned());
        }
        let contrary = matches!(
            (direction, habit(self.figure.name).side),
            (Direction::Growing, Some(Side::Least)) | (Direction::Shrinking, Some(Side::Greatest))
        );
        if direction == Direction::NotSeen {
            notes.push("The change is not told apart from none.".to_owned());
        }
        if doubt > scatter && rate.abs() > 0.0 && self.wear.limit.is_some() {
            notes.push(format!(
                "A gauge that is off alike at every build shows in no bracket: its ± {} here is worth {} either way.",
                self.value(2.0 * doubt, units),
                hours(2.0 * doubt / rate.abs())
            ));
        }
        if contrary {
            notes.push("It goes the other way than wear does: look for the gauge, the warmth of the parts or a part that was changed.".to_owned());
        }
        notes
    }

    fn cautions(&self) -> Vec<&'static str> {
        if matches!(self.wear.pace, Pace::OneReading | Pace::DidNotRun) {
            return Vec::new();
        }
        vec![STRAIGHT, CAUTION]
    }
}

/// "1 reading is", "3 readings are".
fn are(readings: usize) -> String {
    format!("{} {}", count(readings, "reading"), if readings == 1 { "is" } else { "are" })
}

fn limit_value(limit: ChosenLimit, symbol: &str, factor: f64) -> String {
    format!("{} {symbol}", trimmed(limit.value / factor, 4))
}

fn side_word(side: Side) -> &'static str {
    match side {
        Side::Greatest => "most",
        Side::Least => "least",
    }
}

fn arrival_word(arrival: Arrival) -> &'static str {
    match arrival {
        Arrival::At { .. } => "two-readings",
        Arrival::NotBefore { .. } => "not-before",
        Arrival::Line(Reach::Between { .. }) => "between",
        Arrival::Line(Reach::Open { .. }) => "open",
        Arrival::Line(Reach::AnyTime) => "any-time",
        Arrival::Line(Reach::Never) | Arrival::Never => "never",
    }
}

/// "31.0 h (24.1 to 45.0 h)"; none where there is nothing to tell.
fn span(line: Option<f64>, soonest: Option<f64>, latest: Option<f64>) -> Option<String> {
    let ahead = [line, soonest, latest].into_iter().flatten().all(|hours_h| hours_h >= 0.0);
    let told = |hours_h: f64| match (ahead, hours_h < 0.0) {
        (true, _) => hours(hours_h),
        (false, true) => format!("{} ago", hours(-hours_h)),
        (false, false) => format!("in {}", hours(hours_h)),
    };
    let first = |hours_h: f64| if ahead { told(hours_h).replace(" h", "") } else { told(hours_h) };
    match (line, soonest, latest) {
        (Some(line), Some(soonest), Some(latest)) => {
            Some(format!("{} ({} to {})", told(line), first(soonest), told(latest)))
        }
        (Some(line), Some(soonest), None) => Some(format!("{} (not before {})", told(line), told(soonest))),
        (Some(line), None, _) => Some(told(line)),
        (None, Some(soonest), _) => Some(format!("not before {}", told(soonest))),
        (None, None, _) => None,
    }
}
