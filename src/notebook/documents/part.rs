//! `parts/<part>.toml`: a thing with hours on it, and what happened to it.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::fields::date::When;
use crate::notebook::fields::names::in_words;
use crate::quantity::{Hours, Length, Number};

/// A part and its history.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// The part by the name you call it.
    pub title: Option<String>,
    /// Which kind of part it is: piston, ring, main-bearing. Parts of one kind share their limits and their record of lives.
    #[schemars(extend("pattern" = "^[a-z0-9][a-z0-9_-]{0,39}$"))]
    pub kind: String,
    /// What is stamped on it.
    pub number: Option<String>,
    /// The engines it fits, by their names. It also fits those it has been in; where nothing is said it is asked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(extend("x-names" = true))]
    pub fits: Vec<String>,
    /// The cylinder bore it is made for: of a piston, a ring, a cylinder, a gasket. It goes into no engine of another bore.
    #[schemars(extend("x-range" = [20, 130]))]
    pub for_bore: Option<Length>,
    /// Hours it ran before this book; not known where it is not said, and never taken for none.
    #[schemars(extend("x-range" = [0, 100_000]))]
    pub past_hours: Option<Hours>,
    /// Starts before this book; not known where it is not said.
    #[schemars(extend("x-range" = [0, 1_000_000], "x-whole" = true))]
    pub past_starts: Option<Number>,
    /// Hours after which it is changed, in place of those of its kind.
    #[schemars(extend("x-range" = [0.1, 10_000]))]
    pub change_after: Option<Hours>,
    /// Starts after which it is changed, in place of those of its kind.
    #[schemars(extend("x-range" = [1, 100_000], "x-whole" = true))]
    pub change_after_starts: Option<Number>,
    /// The day by which it is changed.
    pub change_by: Option<When>,
    /// Hours after which it is inspected, in place of those of its kind.
    #[schemars(extend("x-range" = [0.1, 10_000]))]
    pub inspect_after: Option<Hours>,
    /// What happened to it, each under a name made of its time and a random id.
    #[serde(default)]
    pub events: BTreeMap<String, PartEvent>,
    /// Anything else.
    pub notes: Option<String>,
}

/// What was done to a part, or what it did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Deed {
    /// Put into an engine.
    Fitted,
    /// Taken out and kept.
    Removed,
    /// Looked at.
    Inspected,
    /// Ran where no outing of this book holds it.
    Ran,
    /// Made new: replated, rebuilt. Its hours count from here.
    Renewed,
    /// Failed; it is out of its engine and not used again.
    Failed,
    /// Thrown away or sold, unfailed; it is out of its engine.
    Retired,
}

impl Deed {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Fitted, Self::Removed, Self::Inspected, Self::Ran, Self::Renewed, Self::Failed, Self::Retired];

    /// Its word, in a document and for reading.
    pub fn word(self) -> &'static str {
        match self {
            Self::Fitted => "fitted",
            Self::Removed => "removed",
            Self::Inspected => "inspected",
            Self::Ran => "ran",
            Self::Renewed => "renewed",
            Self::Failed => "failed",
            Self::Retired => "retired",
        }
    }

    /// Its word after "was".
    pub fn past(self) -> &'static str {
        match self {
            Self::Ran => "run",
            other => other.word(),
        }
    }

    /// Whether the part is out of its engine after it.
    pub fn takes_out(self) -> bool {
        matches!(self, Self::Removed | Self::Failed | Self::Retired)
    }
}

/// One event of a part.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartEvent {
    /// When.
    pub date: When,
    /// What was done.
    pub did: Deed,
    /// The engine it was put into.
    #[schemars(extend("pattern" = "^[a-z0-9][a-z0-9_-]{0,39}$"))]
    pub engine: Option<String>,
    /// The cylinder it was put to, where the engine has several and each has a part of its kind.
    pub cylinder: Option<String>,
    /// The part's whole hours at that moment by your own log, where you know them.
    #[schemars(extend("x-range" = [0, 100_000]))]
    pub hours: Option<Hours>,
    /// Hours that it ran where no outing of this book holds them.
    #[schemars(extend("x-range" = [0, 10_000]))]
    pub ran: Option<Hours>,
    /// Of a part that was taken out or looked at: whether it can be used as it is. Scored, cracked or worn out it is no spare.
    pub usable: Option<bool>,
    /// How it failed.
    pub how: Option<String>,
    /// Who did it.
    pub by: Option<String>,
    /// Anything else.
    pub note: Option<String>,
}

/// Where a part sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PartPlace<'p> {
    /// The engine.
    pub engine: &'p str,
    /// The cylinder, of an engine with several; none where the part is of all, or it is not said.
    pub cylinder: Option<&'p str>,
    /// When it was put there.
    pub since: When,
}

impl<'p> PartPlace<'p> {
    /// Where an event put a part.
    fn of(event: &'p PartEvent) -> Option<Self> {
        let engine = event.engine.as_deref()?;
        Some(Self { engine, cylinder: event.cylinder.as_deref(), since: event.date })
    }

    /// In words: "sanda-engine", "sanda-engine at right".
    pub fn words(self) -> String {
        at_cylinder(self.engine, self.cylinder)
    }
}

/// An engine in words, with the cylinder where one is said: "sanda-engine at right".
pub fn at_cylinder(engine: &str, cylinder: Option<&str>) -> String {
    match cylinder {
        Some(cylinder) => format!("{engine} at {}", in_words(cylinder)),
        None => engine.to_owned(),
    }
}

/// A part by its name, with the cylinder it is at where one is said: "piston-4, right".
pub fn part_at(name: &str, cylinder: Option<&str>) -> String {
    match cylinder {
        Some(cylinder) => format!("{name}, {}", in_words(cylinder)),
        None => name.to_owned(),
    }
}

/// How many of a kind of part an engine with several cylinders has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PerEngine {
    /// One at each cylinder.
    EachCylinder,
    /// One for all of them.
    One,
    /// Either, as the engine is made: reeds, seals, heads.
    Either,
}

/// Kinds of which each cylinder has its own (common practice, no source).
const EACH_CYLINDER: [&str; 7] = ["piston", "ring", "pin", "small-end-bearing", "rod", "big-end", "cylinder"];

impl PerEngine {
    /// How it is with a kind of part.
    pub fn of(kind: &str) -> Self {
        match kind {
            "crank" | "clutch" => Self::One,
            kind if EACH_CYLINDER.contains(&kind) => Self::EachCylinder,
            _ => Self::Either,
        }
    }

    /// Whether a cylinder has only one of that kind: a piston may have two rings.
    pub fn is_only_one(kind: &str) -> bool {
        Self::of(kind) == Self::EachCylinder && kind != "ring"
    }
}

/// Whether a part that lies on the shelf can be used as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Condition {
    /// Nothing speaks against it.
    Fine,
    /// What was written when it was last seen sounds as if it could not, and it is not said: the words.
    Asked(String),
    /// It was said that it cannot, with what was written then.
    Unusable(Option<String>),
}

/// Beginnings of words for a part that is no spare, common practice, no source. They only raise the question.
const DAMAGED: [&str; 24] = [
    "scor", "scuff", "crack", "worn", "broke", "seiz", "bent", "burn", "holed", "chip", "pitt", "rough",
    "blued", "melt", "torn", "split", "scrap", "snapp", "nipped", "galled", "flak", "fray", "stuck", "loose",
];
/// Words that turn the next ones round: "no scuff", "not worn".
const NOT: [&str; 5] = ["no", "not", "without", "never", "nothing"];

/// Whether words sound as if a part could not be used again.
fn sounds_damaged(words: &str) -> bool {
    let lower = words.to_lowercase();
    // What is denied is so up to the next comma: "not new, and scuffed".
    lower.split([',', ';', '.', ':', '!']).any(|clause| {
        let mut denied_for = 0_u8;
        let mut words =
            clause.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty());
        words.any(|word| {
            if NOT.contains(&word) {
                denied_for = 3;
                return false;
            }
            let damaged = denied_for == 0 && DAMAGED.iter().any(|begins| word.starts_with(begins));
            denied_for = denied_for.saturating_sub(u8::from(word != "or"));
            damaged
        })
    })
}

impl Part {
    /// Whether it can be used as it is, by what was said last by a date. Being made new, or fitted again, ends what was said.
    pub fn condition_at(&self, date: When) -> Condition {
        let mut found = Condition::Fine;
        for (_, event) in self.events_in_order() {
            if event.date > date {
                break;
            }
            let note = event.note.clone();
            match (event.did, event.usable) {
                (Deed::Fitted | Deed::Renewed, _) | (_, Some(true)) => found = Condition::Fine,
                (_, Some(false)) => found = Condition::Unusable(note),
                (Deed::Removed | Deed::Inspected, None) => {
                    if let Some(words) = note.filter(|words| sounds_damaged(words))
                        && found == Condition::Fine
                    {
                        found = Condition::Asked(words);
                    }
                }
                _ => {}
            }
        }
        found
    }

    /// The engines it has been put into by a date.
    pub fn engines_until(&self, date: When) -> impl Iterator<Item = &str> {
        let past = self.events.values().filter(move |event| event.date <= date && event.did == Deed::Fitted);
        past.filter_map(|event| event.engine.as_deref())
    }

    /// Its events in the order in which they can have happened: by date, and of those of one moment the one first that
    /// fits what was before (a part is taken out of one engine before it is put into another).
    pub fn events_in_order(&self) -> Vec<(&str, &PartEvent)> {
        let mut waiting: Vec<_> = self.events.iter().map(|(name, event)| (name.as_str(), event)).collect();
        waiting.sort_by_key(|(_, event)| event.date);
        let mut ordered: Vec<(&str, &PartEvent)> = Vec::with_capacity(waiting.len());
        let (mut fitted, mut gone) = (false, false);
        while !waiting.is_empty() {
            let moment = waiting[0].1.date.unix();
            let same = waiting.iter().take_while(|(_, event)| event.date.unix() == moment).count();
            let ends = |event: &PartEvent| matches!(event.did, Deed::Failed | Deed::Retired);
            // A part comes to its end after everything else of that moment, but for being made new again.
            let only_ends =
                waiting[..same].iter().all(|(_, event)| ends(event) || event.did == Deed::Renewed);
            let ends_now = waiting[..same].iter().any(|(_, event)| ends(event));
            let fits = |event: &PartEvent| match event.did {
                Deed::Renewed => gone || !ends_now,
                _ if gone => false,
                Deed::Fitted => !fitted,
                Deed::Removed => fitted,
                Deed::Failed | Deed::Retired => only_ends,
                Deed::Inspected | Deed::Ran => true,
            };
            let next = waiting[..same].iter().position(|(_, event)| fits(event)).unwrap_or(0);
            let (name, event) = waiting.remove(next);
            fitted = event.did == Deed::Fitted || (fitted && !event.did.takes_out());
            gone = ends(event) || (gone && event.did != Deed::Renewed);
            ordered.push((name, event));
        }
        ordered
    }

    /// Where it was at a date.
    pub fn place_at(&self, date: When) -> Option<PartPlace<'_>> {
        let mut place = None;
        for (_, event) in self.events_in_order() {
            if event.date > date {
                break;
            }
            match event.did {
                Deed::Fitted => place = PartPlace::of(event),
                did if did.takes_out() => place = None,
                _ => {}
            }
        }
        place
    }

    /// The engine it was in at a date, with when it was put in.
    pub fn engine_at(&self, date: When) -> Option<(&str, When)> {
        self.place_at(date).map(|place| (place.engine, place.since))
    }

    /// Whether it failed or was thrown away by a date.
    pub fn is_gone_at(&self, date: When) -> bool {
        self.events
            .values()
            .any(|event| event.date <= date && matches!(event.did, Deed::Failed | Deed::Retired))
    }
}
