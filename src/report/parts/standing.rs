//! How a part stands: for a script, and in the words that every answer about parts uses.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::parts::{By, Count, DueStanding, Overdue, Reached, State};
use crate::notebook::fields::names::visible;
use crate::notebook::{Condition, Deed, When, part_at};
use crate::quantity::{fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::parts::word::{Word, Worded};

/// How a part stands.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PartStanding {
    /// Name of the part.
    pub(super) part: String,
    /// Its kind.
    pub(super) kind: String,
    /// The engine it is in; null when it is in none.
    pub(super) engine: Option<String>,
    /// The cylinder it is at, of an engine with several; not there where it is at none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub(super) cylinder: Option<String>,
    /// The bike that engine is in; null when it is on the bench.
    pub(super) bike: Option<String>,
    /// failed or retired when it is not used any more, else null.
    #[schemars(with = "Option<String>", extend("enum" = ["failed", "retired", null]))]
    pub(super) gone: Option<Deed>,
    /// Whether it can be used as it is: false where that was said of it, null where what was written of it sounds so and it is not said.
    pub(super) usable: Option<bool>,
    /// What it has run.
    pub(super) count: PartCount,
    /// The state by its most urgent limit.
    pub(super) state: Word<StateBy>,
    /// Its limits, the most urgent first.
    pub(super) limits: Vec<PartLimit>,
    /// Whether nothing at all is known of its hours.
    #[serde(skip)]
    pub(super) hours_unknown: bool,
    /// What is said of it where it is over a limit.
    #[serde(skip)]
    pub(super) overdue: Option<Overdue>,
}

/// What a part has run.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct PartCount {
    /// Hours it has run, since it was made new where it was.
    pub(super) hours: Figure<4>,
    /// Whether it has at least so many hours, because some are not known; with 0 hours nothing at all is known.
    pub(super) hours_at_least: bool,
    /// Starts it has had.
    pub(super) starts: Figure<0>,
    /// Whether it had at least so many starts.
    pub(super) starts_at_least: bool,
    /// Outings that counted.
    pub(super) outings: usize,
    /// Of these, outings of which no hours are known.
    pub(super) outings_without_hours: usize,
    /// When it was first fitted since it was new or made new; null when it never was.
    #[schemars(with = "Option<String>")]
    first_fitted: Option<When>,
    /// When it was last looked at, fitted or made new; null when it never was.
    #[schemars(with = "Option<String>")]
    pub(super) last_look: Option<When>,
    /// Hours since then.
    pub(super) since_look_hours: Figure<4>,
    /// Whether it has at least so many hours since then.
    pub(super) since_look_at_least: bool,
}

/// One limit of a part.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct PartLimit {
    /// What it goes by: hours, starts, days since it was first fitted, a date, or hours since the last look.
    pub(super) by: Word<By>,
    /// The limit in hours, starts or days; of a date the days to it from when the part was first fitted, or from now.
    pub(super) limit: Figure<4>,
    /// How much of it is used, in the same unit.
    pub(super) run: Figure<4>,
    /// Whether that is the least it can be.
    pub(super) run_at_least: bool,
    /// What is left, negative once it is over.
    pub(super) left: Figure<4>,
    /// Whether that is the most it can be.
    left_at_most: bool,
    /// The last day of days and dates; null for the others.
    pub(super) day: Option<String>,
    /// The state by this limit alone.
    pub(super) state: Word<StateBy>,
    /// Where the limit is from: the part's own file, or the table of its kind with what stands there.
    pub(super) source: String,
    /// Whether it is over.
    #[serde(skip)]
    is_over: bool,
}

/// A state, with the sort of limit that it is by.
#[derive(Debug, Clone, Copy)]
pub(super) struct StateBy(pub(super) State, Option<By>);

impl Worded for StateBy {
    const ALL: &'static [Self] = &[
        Self(State::Overdue, None),
        Self(State::NotForAnotherEvent, None),
        Self(State::Soon, None),
        Self(State::NotKnown, Some(By::Hours)),
        Self(State::NotKnown, Some(By::Starts)),
        Self(State::NotKnown, Some(By::Days)),
        Self(State::NoLimit, None),
        Self(State::Fine, None),
    ];

    fn word(&self) -> &'static str {
        self.0.words(self.1)
    }
}

impl Worded for By {
    const ALL: &'static [Self] = &[Self::Hours, Self::Starts, Self::Days, Self::Date, Self::Look];

    fn word(&self) -> &'static str {
        Self::word(*self)
    }
}

impl From<&DueStanding> for PartStanding {
    fn from(standing: &DueStanding) -> Self {
        let by = standing.first().map(|limit| limit.by);
        Self {
            part: standing.part.clone(),
            kind: standing.kind.clone(),
            engine: standing.engine.clone(),
            cylinder: standing.cylinder.clone(),
            bike: standing.bike.clone(),
            gone: standing.gone,
            usable: match standing.condition {
                Condition::Fine => Some(true),
                Condition::Asked(_) => None,
                Condition::Unusable(_) => Some(false),
            },
            count: PartCount::from(&standing.count),
            state: Word(StateBy(standing.state(), by)),
            limits: standing.limits.iter().map(|(state, reached)| PartLimit::of(*state, reached)).collect(),
            hours_unknown: standing.hours_unknown(),
            overdue: standing.overdue(),
        }
    }
}

impl From<&Count> for PartCount {
    fn from(count: &Count) -> Self {
        Self {
            hours: Figure(count.hours_h),
            hours_at_least: count.hours_at_least,
            starts: Figure(count.starts),
            starts_at_least: count.starts_at_least,
            outings: count.outings,
            outings_without_hours: count.outings_without_hours,
            first_fitted: count.first_fitted,
            last_look: count.last_look,
            since_look_hours: Figure(count.since_look_h),
            since_look_at_least: count.since_look_at_least,
        }
    }
}

impl PartLimit {
    fn of(state: State, reached: &Reached) -> Self {
        Self {
            by: Word(reached.by),
            limit: Figure(reached.limit),
            run: Figure(reached.run),
            run_at_least: reached.at_least,
            left: Figure(reached.left()),
            left_at_most: reached.at_least,
            day: reached.day.map(|day| day.day()),
            state: Word(StateBy(state, Some(reached.by))),
            source: reached.source.words(),
            is_over: reached.is_over(),
        }
    }

    /// Where it is: "10 h", "40 starts", "2027-03-01", "look: 5 h".
    pub(super) fn place(&self) -> String {
        match (self.by.0, &self.day) {
            (_, Some(day)) => day.clone(),
            (By::Look, _) => format!("look: {}", hours(self.limit.0)),
            (by, None) => amount(by, self.limit.0),
        }
    }

    /// What is left of it: "5.8 h left", "at most 5.8 h left", "2.5 h over", "not known".
    pub(super) fn left_words(&self) -> String {
        let left = self.left.0;
        if self.is_over {
            let over = amount(self.by.0, (-left).max(0.0));
            return if self.run_at_least { format!("at least {over} over") } else { format!("{over} over") };
        }
        if self.run_at_least && self.run.0 <= 1e-6 && self.day.is_none() {
            return "not known".to_owned();
        }
        let left = amount(self.by.0, left);
        if self.left_at_most { format!("at most {left} left") } else { format!("{left} left") }
    }
}

impl PartCount {
    /// Hours that it has run: "12.5 h", "at least 12.5 h", "not known".
    pub(super) fn run(&self) -> String {
        at_least_hours(self.hours.0, self.hours_at_least)
    }
}

impl PartStanding {
    /// The state by its most urgent limit.
    pub(super) fn state(&self) -> State {
        self.state.0.0
    }

    /// The limit that comes first.
    pub(super) fn first(&self) -> Option<&PartLimit> {
        self.limits.first()
    }

    /// Whether it was said that it cannot be used as it is.
    pub(super) fn is_unusable(&self) -> bool {
        self.usable == Some(false)
    }

    /// Whether it can go on being used: neither gone nor unusable.
    pub(super) fn is_of_use(&self) -> bool {
        self.gone.is_none() && !self.is_unusable()
    }

    /// Where it is: "cicada (moth)", "granite (bench)", "on the shelf", "failed".
    pub(super) fn place(&self) -> String {
        match (&self.engine, &self.bike, self.gone) {
            (_, _, Some(did)) => did.word().to_owned(),
            (Some(engine), Some(bike), None) => format!("{engine} ({bike})"),
            (Some(engine), None, None) => format!("{engine} (bench)"),
            (None, _, None) if self.is_unusable() => "on the shelf, not usable".to_owned(),
            (None, _, None) => "on the shelf".to_owned(),
        }
    }

    /// By its name, with the cylinder it is at: "piston-4, right".
    pub(super) fn called(&self) -> String {
        part_at(&visible(&self.part), self.cylinder.as_deref())
    }

    /// "due at 10 h (5.8 h left), to be looked at after 5 h (0.8 h left)".
    fn next_due(&self) -> String {
        let look = self.limits.iter().find(|limit| limit.by.0 == By::Look);
        let change = self.limits.iter().find(|limit| limit.by.0.changes()).map(|limit| {
            let verb = if limit.is_over { "was due" } else { "due" };
            let word = if limit.day.is_some() { "by" } else { "at" };
            format!("{verb} {word} {} ({})", limit.place(), limit.left_words())
        });
        let look = look.map(|look| {
            let verb = if look.is_over { "was to be inspected" } else { "to be inspected" };
            format!("{verb} {} after the last inspection ({})", hours(look.limit.0), look.left_words())
        });
        let said: Vec<_> = [change, look].into_iter().flatten().collect();
        if said.is_empty() { "no limit set".to_owned() } else { said.join(", ") }
    }

    /// On one line: "piston-7: 4.2 h run, in cicada (moth), due at 10 h (5.8 h left)."
    pub(super) fn line(&self) -> String {
        let run = if self.hours_unknown {
            "hours not known".to_owned()
        } else {
            format!("{} run", self.count.run())
        };
        let place = match (&self.engine, self.gone) {
            (_, Some(_)) | (None, None) => self.place(),
            _ => format!("in {}", self.place()),
        };
        if !self.is_of_use() {
            return format!("{}: {run}, {place}.", self.called());
        }
        format!("{}: {run}, {place}, {}.", self.called(), self.next_due())
    }
}

/// Hours for reading at arm's length: tenths, and hundredths under one hour.
pub fn hours(value: f64) -> String {
    format!("{} h", trimmed(value, if value.abs() < 0.995 { 2 } else { 1 }))
}

/// Hours that may be more: "12.5 h", "at least 12.5 h", "not known".
pub(super) fn at_least_hours(value: f64, at_least: bool) -> String {
    match (at_least, value > 1e-6) {
        (true, false) => "not known".to_owned(),
        (true, true) => format!("at least {}", hours(value)),
        (false, _) => hours(value),
    }
}

/// So much of what a limit goes by: "10 h", "1 start", "30 days".
pub(super) fn amount(by: By, value: f64) -> String {
    let counted = |one: &str| {
        let number = fixed(value.floor(), 0);
        if number == "1" { format!("1 {one}") } else { format!("{number} {one}s") }
    };
    match by {
        By::Hours | By::Look => hours(value),
        By::Starts => counted("start"),
        By::Days | By::Date => counted("day"),
    }
}
