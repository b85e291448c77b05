//! How fast a dimension wears: its readings by hours, the rate, and when the limit is reached.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::FigureKind;
use crate::advice::parts::wear::{
    Arrival, ChosenLimit, HoursGap, LimitSide, Pace, TopEnds, Wear, WearReading, Whose,
};
use crate::engine::life::wear::LimitReach;
use crate::notebook::When;
use crate::notebook::fields::names::{in_words, visible};
use crate::quantity::{Units, fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::parts::life::{SaidIn, hours};
use crate::report::parts::wear_plot::drawing;
use crate::report::parts::word::{Word, Worded};
use crate::report::words::layout::table;
use crate::report::words::sizes::of_figure;

/// How fast a dimension wears by the hours of the part it belongs to, and when it reaches its limit.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartWearAnswer {
    /// The engine.
    pub(super) engine: String,
    /// The figure, by its name in configs/limits.toml.
    figure: &'static str,
    /// The seat, of a bearing.
    pub(super) seat: Option<String>,
    /// The cylinder, of an engine with several; not there where the figure is of all of them.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub(super) cylinder: Option<String>,
    /// Unit of all values of the figure.
    #[schemars(extend("enum" = ["mm", "cc", "g"]))]
    unit: &'static str,
    /// Level of the intervals, %.
    pub(super) level_percent: Figure<3>,
    /// The part whose hours they are; null for those the book has of the engine.
    pub(super) hours_of: Option<String>,
    /// Whether hours are told since the first reading that is used, as those before are not known.
    pub(super) hours_since_first_reading: bool,
    /// Readings by date.
    pub(super) readings: Vec<MeasuredWear>,
    /// A line by least squares, the rate of two readings, one that bounds it as hours between are not known, or none.
    method: WearMethod,
    /// Change in an hour, in the unit of the figure.
    pub(super) rate_per_h: WearRate,
    /// The limit; null where none is set on that side.
    pub(super) limit: Option<WearLimit>,
    /// Whether the newest reading is beyond the limit.
    pub(super) past: bool,
    /// When the limit is reached; null without a limit or a rate.
    pub(super) reached: Option<LimitReached>,
    /// Top ends before the limit at the soonest; null where that is not told.
    pub(super) top_ends: Option<TopEndsBefore>,
    /// What follows, in words; may be empty.
    pub(super) conclusion: String,
    /// What it rests on, in words.
    notes: Vec<String>,
    /// What can hurt somebody, in words.
    cautions: Vec<&'static str>,
    /// Build files that cannot be read, with what is wrong.
    pub(super) unreadable: Vec<String>,
    /// The sort of figure.
    #[serde(skip)]
    pub(super) kind: &'static FigureKind,
    /// What the readings tell.
    #[serde(skip)]
    pub(super) wear: Wear,
    /// Hours at which configs/limits.toml changes the part, where it is one that a top end changes, h.
    #[serde(skip)]
    pub(super) change_after_h: Option<f64>,
    /// Whether it is drawn.
    #[serde(skip)]
    drawn: bool,
}

/// A reading of a figure on the hours.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct MeasuredWear {
    /// When the engine was built.
    #[schemars(with = "String")]
    date: When,
    /// The build's id.
    build: String,
    /// The figure at 20 C.
    pub(super) value: Figure<5>,
    /// Its standard uncertainty.
    standard_uncertainty: Option<Figure<5>>,
    /// Hours, h; null for a reading of other parts.
    hours_h: Option<Figure<3>>,
    /// Whether it is on the line.
    used: bool,
}

/// How a rate was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum WearMethod {
    /// A line by least squares.
    Line,
    /// The rate of two readings.
    TwoReadings,
    /// A bound, as hours between are not known.
    Bound,
    /// There is no rate.
    None,
}

/// Change in an hour.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct WearRate {
    /// The rate; null where there is none.
    pub(super) value: Option<Figure<7>>,
    /// Lower end of its interval.
    low: Option<Figure<7>>,
    /// Upper end of its interval.
    high: Option<Figure<7>>,
}

/// The limit of a figure.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct WearLimit {
    /// The limit.
    pub(super) value: Figure<5>,
    /// The greatest or the least allowed.
    side: Word<LimitSide>,
    /// Whether it was said with the request or is from configs/limits.toml.
    from: SaidIn,
    /// What configs/limits.toml names as its source.
    source: Option<String>,
}

/// When a limit is reached.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct LimitReached {
    /// Between two ends; open: not before the soonest, perhaps never; any-time: within the scatter; never: it leads away; by two readings; not-before: a bound.
    pub(super) how: ReachedHow,
    /// Where the line reaches it.
    line: HoursOfLimit,
    /// At the soonest.
    pub(super) soonest: HoursOfLimit,
    /// At the latest.
    latest: HoursOfLimit,
}

/// How the hours of a limit are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum ReachedHow {
    /// Between two ends.
    Between,
    /// Not before the soonest, perhaps never.
    Open,
    /// Within the scatter.
    AnyTime,
    /// It leads away.
    Never,
    /// By two readings.
    TwoReadings,
    /// A bound.
    NotBefore,
}

/// Hours at which a limit is reached.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub(super) struct HoursOfLimit {
    /// In hours as the readings have them, h; null where it is not told.
    pub(super) on_the_axis_h: Option<Figure<3>>,
    /// In hours from now, h, below nought when past; null where it is not told.
    pub(super) from_now_h: Option<Figure<3>>,
}

/// Top ends before the limit at the soonest.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub(super) struct TopEndsBefore {
    /// Hours between two: `change_after` of pistons in configs/limits.toml, h.
    pub(super) every_h: Figure<3>,
    /// Hours from now to the next, h.
    next_in_h: Figure<3>,
    /// How many come before the limit.
    pub(super) before_the_limit: u32,
    /// Hours from now to the last of them, h; null where none does.
    pub(super) last_in_h: Option<Figure<3>>,
}

/// The wear of a figure, as it was found.
pub struct WearFound<'a> {
    /// The engine.
    pub engine: &'a str,
    /// The figure.
    pub figure: &'static FigureKind,
    /// The seat, of a bearing.
    pub seat: Option<String>,
    /// The cylinder, of an engine with several.
    pub cylinder: Option<String>,
    /// Its readings, by date.
    pub readings: &'a [WearReading],
    /// What they tell.
    pub wear: Wear,
    /// Where the limit of configs/limits.toml is from.
    pub source: Option<String>,
    /// Level of the intervals.
    pub level: f64,
    /// Top ends before the limit, where they are told.
    pub top_ends: Option<TopEnds>,
    /// Hours at which configs/limits.toml changes the part, where it is one that a top end changes.
    pub change_after_h: Option<f64>,
    /// Build files that cannot be read, with what is wrong.
    pub unreadable: Vec<String>,
    /// Whether it is drawn.
    pub drawn: bool,
}

impl Worded for LimitSide {
    const ALL: &'static [Self] = &[Self::Greatest, Self::Least];

    fn word(&self) -> &'static str {
        match self {
            Self::Greatest => "most",
            Self::Least => "least",
        }
    }
}

impl From<WearFound<'_>> for PartWearAnswer {
    fn from(found: WearFound<'_>) -> Self {
        let wear = found.wear;
        let (unit, factor, _) = of_figure(found.figure.unit, Units::Metric, 0.0);
        let reading = |(index, known): (usize, &WearReading)| MeasuredWear::of(known, index, &wear, factor);
        let mut answer = Self {
            engine: found.engine.to_owned(),
            figure: found.figure.name,
            seat: found.seat,
            cylinder: found.cylinder,
            unit,
            level_percent: Figure(found.level * 100.0),
            hours_of: match &wear.axis.whose {
                Whose::Part(name) => Some(name.clone()),
                Whose::Engine => None,
            },
            hours_since_first_reading: wear.zero_h > 0.0 || wear.axis.open_at_the_beginning,
            readings: found.readings.iter().enumerate().map(reading).collect(),
            method: WearMethod::of(&wear.pace),
            rate_per_h: WearRate::of(&wear.pace, factor),
            limit: wear.limit.map(|limit| WearLimit::of(limit, found.source, factor)),
            past: wear.past,
            reached: wear.arrival.map(|arrival| LimitReached::of(arrival, &wear)),
            top_ends: found.top_ends.map(TopEndsBefore::from),
            conclusion: String::new(),
            notes: Vec::new(),
            cautions: Vec::new(),
            unreadable: found.unreadable,
            kind: found.figure,
            wear,
            change_after_h: found.change_after_h,
            drawn: found.drawn,
        };
        answer.conclusion = answer.concluded();
        answer.notes = answer.noted(Units::Metric);
        answer.cautions = answer.cautioned();
        answer
    }
}

impl MeasuredWear {
    fn of(known: &WearReading, index: usize, wear: &Wear, factor: f64) -> Self {
        let place = wear.axis.places.iter().find(|place| place.reading == index);
        Self {
            date: known.date,
            build: known.build_id.clone(),
            value: Figure(known.dimension / factor),
            standard_uncertainty: known.uncertainty.map(|u| Figure(u / factor)),
            hours_h: place.map(|place| Figure(place.hours_h - wear.zero_h)),
            used: wear.used.iter().any(|used| used.reading == index),
        }
    }
}

impl WearMethod {
    fn of(pace: &Pace) -> Self {
        match pace {
            Pace::OneReading | Pace::DidNotRun => Self::None,
            Pace::Two { .. } => Self::TwoReadings,
            Pace::AtMost { .. } => Self::Bound,
            Pace::Line { .. } => Self::Line,
        }
    }
}

impl WearRate {
    fn of(pace: &Pace, factor: f64) -> Self {
        let (value, low, high) = match pace {
            Pace::OneReading | Pace::DidNotRun => (None, None, None),
            Pace::Two { rate, .. } => (Some(*rate), None, None),
            Pace::AtMost { rate } if rate.is_sign_negative() => (None, Some(*rate), None),
            Pace::AtMost { rate } => (None, None, Some(*rate)),
            Pace::Line { line, rate, .. } => (Some(line.rate_m_h()), Some(rate.low), Some(rate.high)),
        };
        let figure = |rate: Option<f64>| rate.map(|rate| Figure(rate / factor));
        Self { value: figure(value), low: figure(low), high: figure(high) }
    }
}

impl WearLimit {
    fn of(limit: ChosenLimit, source: Option<String>, factor: f64) -> Self {
        Self {
            value: Figure(limit.value / factor),
            side: Word(limit.side),
            from: if limit.asked { SaidIn::Request } else { SaidIn::Limits },
            source: source.filter(|_| !limit.asked),
        }
    }
}

impl LimitReached {
    /// By the line, the soonest, the latest; in hours as they are told, and from now where the same part is in the engine now.
    fn of(arrival: Arrival, wear: &Wear) -> Self {
        let (how, line, soonest, latest) = match arrival {
            Arrival::At { hours_h } => (ReachedHow::TwoReadings, Some(hours_h), None, None),
            Arrival::NotBefore { hours_h } => (ReachedHow::NotBefore, None, Some(hours_h), None),
            Arrival::Line(LimitReach::Between { hours_h, soonest_h, latest_h }) => {
                (ReachedHow::Between, Some(hours_h), Some(soonest_h), Some(latest_h))
            }
            Arrival::Line(LimitReach::Open { hours_h, soonest_h }) => {
                (ReachedHow::Open, hours_h, Some(soonest_h), None)
            }
            Arrival::Line(LimitReach::AnyTime) => (ReachedHow::AnyTime, None, None, None),
            Arrival::Line(LimitReach::Never) | Arrival::Never => (ReachedHow::Never, None, None, None),
        };
        let axis = &wear.axis;
        let same = axis.changed_since.is_empty() && axis.gap_to_now != HoursGap::NotTold;
        let time = |hours_h: Option<f64>| HoursOfLimit {
            on_the_axis_h: hours_h.map(Figure),
            from_now_h: hours_h.map(|h| Figure(h + wear.zero_h - axis.now_h)).filter(|_| same),
        };
        Self { how, line: time(line), soonest: time(soonest), latest: time(latest) }
    }

    /// "31.0 h (24.1 to 45.0 h)", by one of the two ways of telling hours; none where there is nothing to tell.
    pub(super) fn span(&self, of: impl Fn(&HoursOfLimit) -> Option<Figure<3>>) -> Option<String> {
        let hours_h = |time| of(time).map(|hours| hours.0);
        span(hours_h(&self.line), hours_h(&self.soonest), hours_h(&self.latest))
    }
}

impl From<TopEnds> for TopEndsBefore {
    fn from(ends: TopEnds) -> Self {
        Self {
            every_h: Figure(ends.every_h),
            next_in_h: Figure(ends.next_in_h),
            before_the_limit: ends.before,
            last_in_h: ends.last_in_h().map(Figure),
        }
    }
}

impl PartWearAnswer {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let seat = self.seat.as_ref().map(|seat| format!(", {seat}")).unwrap_or_default();
        let whose = self.hours_of.as_deref().unwrap_or("the engine");
        let cylinder =
            self.cylinder.as_deref().map(|name| format!("{} ", in_words(name))).unwrap_or_default();
        let heading = format!("{}: {cylinder}{}{seat} by hours of {whose}", self.engine, self.kind.words);
        let mut lines = vec![screen.strong(&heading), String::new(), self.table(screen), String::new()];
        let figures = self.figures(screen.units());
        lines.extend(figures.iter().map(|(name, words)| screen.wrap(&format!("  {name:<22}{words}"), 24)));
        lines.push(String::new());
        if !self.conclusion.is_empty() {
            lines.extend([screen.wrap(&self.conclusion, 2), String::new()]);
        }
        if self.drawn
            && let Some(drawing) = drawing(self, screen)
        {
            lines.extend([drawing, String::new()]);
        }
        lines.extend(self.noted(screen.units()).iter().map(|note| screen.known(note)));
        lines.extend(self.cautions.iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.join("\n")
    }

    /// The greatest standard uncertainty of its readings, in the unit of the answer; 0 where none is known.
    pub(super) fn doubt(&self) -> f64 {
        let doubts = self.readings.iter().filter_map(|known| known.standard_uncertainty);
        doubts.map(|doubt| doubt.0).fold(0.0, f64::max)
    }

    /// The size in SI of the unit of the answer.
    pub(super) fn metric(&self) -> f64 {
        of_figure(self.kind.unit, Units::Metric, 0.0).1
    }

    /// The unit of the figure on a screen, how many of the answer's unit it is, and its decimals.
    pub(super) fn shown(&self, units: Units) -> (&'static str, f64, usize) {
        let metric = self.metric();
        let (symbol, factor, decimals) = of_figure(self.kind.unit, units, 2.0 * self.doubt() * metric);
        (symbol, factor / metric, decimals)
    }

    fn table(&self, screen: &Screen) -> String {
        let (symbol, size, decimals) = self.shown(screen.units());
        let row = |known: &MeasuredWear| {
            let doubt =
                known.standard_uncertainty.map(|u| format!("± {}", fixed(2.0 * u.0 / size, decimals)));
            vec![
                known.hours_h.map_or("-".to_owned(), |hours| fixed(hours.0, 1)),
                fixed(known.value.0 / size, decimals),
                doubt.unwrap_or_default(),
                format!("{} {}", known.date.day(), known.build),
                match (known.hours_h, known.used) {
                    (None, _) => "other parts".to_owned(),
                    (Some(_), false) => "left out".to_owned(),
                    (Some(_), true) => String::new(),
                },
            ]
        };
        let rows = self.readings.iter().map(row).collect();
        table(&["hours", symbol, "", "build", ""], rows, &[0, 1, 2], screen.width())
    }

    fn figures(&self, units: Units) -> Vec<(&'static str, String)> {
        let mut told = Vec::new();
        told.extend(self.rate_words(units).map(|rate| ("change", rate)));
        if let Some(limit) = &self.limit {
            let from = match (limit.from, &limit.source) {
                (SaidIn::Request, _) => "--limit".to_owned(),
                (SaidIn::Limits, Some(source)) => format!("configs/limits.toml: {}", visible(source)),
                (SaidIn::Limits, None) => "configs/limits.toml".to_owned(),
            };
            told.push((
                "limit",
                format!("{} {} ({from})", limit.side.0.word(), self.limit_words(limit, units)),
            ));
        }
        let Some(reached) = &self.reached else { return told };
        told.extend(reached.span(|time| time.on_the_axis_h).map(|words| {
            let since =
                if self.hours_since_first_reading { "after the first used reading" } else { "on the part" };
            ("reached", format!("{words} {since}"))
        }));
        told.extend(reached.span(|time| time.from_now_h).map(|words| ("from now", words)));
        told
    }

    fn rate_words(&self, units: Units) -> Option<String> {
        let (symbol, size, decimals) = self.shown(units);
        let each = |rate: Figure<7>| fixed(rate.0 * 10.0 / size, decimals + 1);
        let WearRate { value, low, high } = &self.rate_per_h;
        match (value, low, high) {
            (Some(rate), Some(low), Some(high)) => {
                Some(format!("{} {symbol} in 10 h ({} to {})", each(*rate), each(*low), each(*high)))
            }
            (Some(rate), ..) => Some(format!("{} {symbol} in 10 h, by two readings", each(*rate))),
            (None, Some(rate), _) | (None, None, Some(rate)) => {
                Some(format!("at most {} {symbol} in 10 h", each(*rate)))
            }
            (None, None, None) => None,
        }
    }

    /// A limit with its unit.
    pub(super) fn limit_words(&self, limit: &WearLimit, units: Units) -> String {
        let (symbol, size, _) = self.shown(units);
        format!("{} {symbol}", trimmed(limit.value.0 / size, 4))
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
