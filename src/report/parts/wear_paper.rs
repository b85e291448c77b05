//! How a dimension wears, in the words under its drawing on a sheet.

use super::wear::{PartWearAnswer, ReachedHow};
use crate::notebook::fields::names::{in_words, visible};
use crate::quantity::Units;

/// What a sheet says under the drawing of a wear.
pub(in crate::report) struct WearOnASheet {
    /// The dimension, with its cylinder and seat.
    pub(in crate::report) title: String,
    /// Its limit.
    pub(in crate::report) limit: Option<String>,
    /// When that is reached from now, with what that is worth, or what is to be done where the newest reading is beyond it.
    pub(in crate::report) end: Option<String>,
    /// Whose hours they are.
    pub(in crate::report) hours_of: String,
    /// Decimals at its axis.
    pub(in crate::report) decimals: usize,
}

impl PartWearAnswer {
    /// What follows, on a sheet: when the limit is reached, what is done.
    pub(in crate::report) fn on_a_sheet(&self, units: Units) -> WearOnASheet {
        let cylinder = self.cylinder.as_deref().map(|name| format!("{} ", in_words(name)));
        let seat = self.seat.as_ref().map(|seat| format!(", {}", visible(seat))).unwrap_or_default();
        let limit = self.limit.as_ref().map(|limit| self.limit_words(limit, units));
        let (_, _, decimals) = self.shown(units);
        WearOnASheet {
            title: format!("{}{}{seat}", cylinder.unwrap_or_default(), self.kind.words),
            limit,
            end: if self.past { Some(self.conclusion.clone()) } else { self.reached_words() },
            hours_of: self.hours_of.as_deref().map_or_else(|| "the engine".to_owned(), visible),
            decimals,
        }
    }

    /// When the limit is reached, as far as the readings reach.
    fn reached_words(&self) -> Option<String> {
        let reached = self.reached.as_ref()?;
        let hours = reached.span(|time| time.from_now_h)?;
        let soonest = reached.soonest.from_now_h.map(|hours| hours.0);
        let is_far = |hours_h: f64| hours_h > FAR * self.hours_read();
        Some(match reached.how {
            ReachedHow::Open if soonest.is_some_and(is_far) => {
                "These readings cannot tell its wear from none: measure again at the next build.".to_owned()
            }
            ReachedHow::Open => format!("Reached {hours} from now, perhaps never."),
            ReachedHow::TwoReadings => {
                format!(
                    "By two readings reached in {hours} from now; two show no scatter, so how wrong that is cannot be said: measure again before."
                )
            }
            _ => format!("Reached in {hours} from now."),
        })
    }

    /// Hours from the first reading that is used to the last.
    fn hours_read(&self) -> f64 {
        let used = &self.wear.used;
        used.first().zip(used.last()).map_or(0.0, |(first, last)| last.hours_h - first.hours_h)
    }
}

/// How many times as far as its readings span a line through them is told.
const FAR: f64 = 10.0;
