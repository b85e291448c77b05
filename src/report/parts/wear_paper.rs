//! How a dimension wears, in the words under its drawing on a sheet.

use super::wear::PartWearAnswer;
use crate::notebook::fields::names::{in_words, visible};
use crate::quantity::Units;

/// What a sheet says under the drawing of a wear.
pub(in crate::report) struct WearOnASheet {
    /// The dimension, with its cylinder and seat.
    pub(in crate::report) title: String,
    /// Its limit.
    pub(in crate::report) limit: Option<String>,
    /// When that is reached, from now; none where it is not told.
    pub(in crate::report) from_now: Option<String>,
    /// What is to be done where the newest reading is beyond it.
    pub(in crate::report) conclusion: Option<String>,
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
        let from_now = self.reached.as_ref().and_then(|reached| reached.span(|time| time.from_now_h));
        let (_, _, decimals) = self.shown(units);
        WearOnASheet {
            title: format!("{}{}{seat}", cylinder.unwrap_or_default(), self.kind.words),
            limit,
            from_now: from_now.filter(|_| !self.past),
            conclusion: self.past.then(|| self.conclusion.clone()),
            hours_of: self.hours_of.as_deref().map_or_else(|| "the engine".to_owned(), visible),
            decimals,
        }
    }
}
