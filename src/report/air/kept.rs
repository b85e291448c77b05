//! The kept air that an answer is given in: its place and its age are always said.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::conditions::kept::{Origin, Served, past_serving, serves_until};
use crate::notebook::When;
use crate::notebook::fields::names::visible;
use crate::report::out::screen::Screen;
use crate::report::words::layout::DATE;
use crate::store::KeptAirRecord;

/// The kept air that an answer is given in.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct KeptAir {
    /// The place, as it is called.
    place: String,
    /// When it was read, with its offset.
    #[schemars(regex(pattern = DATE))]
    date: String,
    /// How old it is, minutes.
    #[schemars(range(min = 0))]
    age_minutes: i64,
    /// What was typed over it, as it is called; empty where it is used as it was kept.
    typed: Vec<&'static str>,
}

impl KeptAir {
    /// Where an air is from; none where all of it was typed.
    pub fn of(served: &Served) -> Option<Self> {
        served.origin.as_ref().map(Self::from)
    }
}

impl From<&Origin> for KeptAir {
    fn from(origin: &Origin) -> Self {
        Self {
            place: origin.place.clone(),
            date: origin.date.to_string(),
            age_minutes: origin.age_s() / 60,
            typed: origin.typed.clone(),
        }
    }
}

/// An air that was kept just now.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct KeptNow {
    /// The place, as it is called.
    place: String,
    /// When it was read, with its offset.
    #[schemars(regex(pattern = DATE))]
    date: String,
    /// Whether it was questioned: then nothing is answered from it.
    doubted: bool,
    /// Until when it serves, in words.
    #[serde(skip)]
    until: String,
    /// When it was read, where it serves nothing that is asked now.
    #[serde(skip)]
    past: Option<String>,
}

impl KeptNow {
    /// What was written down.
    pub fn of(kept: &KeptAirRecord, now: When) -> Self {
        let (date, until) = (kept.date.to_string(), serves_until(kept.date));
        let serves_now = past_serving(kept.date, now).is_none() && kept.date.day() == now.day();
        let past = (!serves_now).then(|| kept.date.short());
        Self { place: kept.place.clone(), date, doubted: kept.doubted, until, past }
    }

    /// What it is good for.
    pub(super) fn words(&self, screen: &Screen) -> String {
        let place = visible(&self.place);
        if self.doubted {
            let words = format!(
                "Kept at {place}, and doubted, for it was questioned: nothing is answered from it. Type the air with the command that wants it."
            );
            return screen.known(words);
        }
        if let Some(read) = &self.past {
            let words = format!(
                "Kept at {place} for what ran there from {read} until {}: nothing that is asked now goes by it.",
                self.until
            );
            return screen.known(words);
        }
        let words = format!(
            "Kept at {place} until {}: rejet, outing add, now and rollback go by it there.",
            self.until
        );
        screen.strong(&screen.wrap(&words, 2))
    }
}
