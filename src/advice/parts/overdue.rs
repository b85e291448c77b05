//! What is said of a part over its limit: one wording for every answer, with what is to be done.

use super::due::{DueStanding, State};
use super::limit::{By, Reached};
use crate::notebook::fields::names::visible;
use crate::notebook::part_at;
use crate::quantity::{fixed, trimmed};

/// A part that is over a limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Overdue {
    /// In part of a sentence: "ring-7 is 0.1 h past its 8 h", "piston-1, right is 2 h past its 5 h for a look".
    pub words: String,
    /// What is to be done with it: "change it before it runs".
    pub deed: &'static str,
    /// Whether it is to be changed, so that running it on can break the engine; else it is to be looked at.
    pub can_break: bool,
}

impl DueStanding {
    /// What is over; none where nothing is.
    pub fn overdue(&self) -> Option<Overdue> {
        let limit = self.first().filter(|_| self.state() == State::Overdue)?;
        let part = part_at(&visible(&self.part), self.cylinder.as_deref());
        let (of, deed) = if limit.by.changes() {
            ("", "change it before it runs")
        } else {
            (" for a look", "look at it before it runs")
        };
        let words = format!("{part} is {}{of}", past(limit));
        Some(Overdue { words, deed, can_break: limit.by.changes() })
    }
}

impl Overdue {
    /// With what is to be done: "ring-7 is 0.1 h past its 8 h: change it before it runs".
    pub fn with_deed(&self) -> String {
        format!("{}: {}", self.words, self.deed)
    }

    /// The same as a sentence.
    pub fn sentence(&self) -> String {
        format!("{}.", self.with_deed())
    }
}

/// "0.7 h past its 20 h", "at least 3 past its 30 starts", "past 2027-03-01".
fn past(limit: &Reached) -> String {
    let at_least = if limit.at_least { "at least " } else { "" };
    let over = -limit.left();
    match (limit.by, limit.day) {
        (_, Some(day)) => format!("past {}", day.day()),
        (By::Starts, None) => {
            format!("{at_least}{} past its {} starts", fixed(over.floor(), 0), trimmed(limit.limit, 0))
        }
        // A limit just reached is no hours past.
        _ if over < 0.05 => format!("at the end of its {} h", trimmed(limit.limit, 1)),
        _ => {
            let digits = if over < 0.995 { 2 } else { 1 };
            format!("{at_least}{} h past its {} h", trimmed(over, digits), trimmed(limit.limit, 1))
        }
    }
}
