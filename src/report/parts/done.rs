//! A part as it stands after something was done to it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::parts::Count;
use crate::report::out::screen::Screen;
use crate::report::parts::list::{Kept, PartWritten};
use crate::report::parts::standing::PartCount;
use crate::report::words::layout::first_line;

/// The part as it stands after what was done.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartDoneAnswer {
    /// The part with what is written of it.
    part: PartWritten,
    /// What else should be known.
    remarks: Vec<String>,
    /// What was done, where that is said.
    #[serde(skip)]
    head: Option<String>,
    /// How it failed, where it did.
    #[serde(skip)]
    failure: Option<Failure>,
}

/// How a part failed.
#[derive(Debug)]
struct Failure {
    /// In the words of who saw it.
    how: String,
    /// With what on it.
    count: PartCount,
    /// The engine it was in, with its cylinder.
    place: Option<String>,
}

impl PartDoneAnswer {
    /// The part, and what else should be known.
    pub fn new(kept: &Kept, remarks: Vec<String>) -> Self {
        Self { part: PartWritten::from(kept), remarks, head: None, failure: None }
    }

    /// The same with what was done said first.
    #[must_use]
    pub fn with_head(self, head: String) -> Self {
        Self { head: Some(head), ..self }
    }

    /// The same of a part that failed: how, with what on it, and in which engine.
    #[must_use]
    pub fn with_failure(self, how: &str, count: &Count, place: Option<String>) -> Self {
        Self { failure: Some(Failure { how: how.to_owned(), count: PartCount::from(count), place }), ..self }
    }

    /// What was done, how the part stands now, and what else should be known.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines: Vec<String> =
            self.head.iter().map(|head| screen.strong(&screen.wrap(head, 2))).collect();
        match &self.failure {
            Some(failure) => lines.extend(self.failed(screen, failure)),
            None => lines.push(screen.wrap(&self.part.standing.line(), 2)),
        }
        lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        lines.join("\n")
    }

    /// A part that failed: with how many hours, and what to do before the engine runs again.
    fn failed(&self, screen: &Screen, failure: &Failure) -> [String; 3] {
        let place = failure.place.as_ref().map(|place| format!(", in {place}")).unwrap_or_default();
        let hours = match failure.count.run().as_str() {
            "not known" => "its hours are not known".to_owned(),
            hours => format!("with {hours} on it"),
        };
        let standing = &self.part.standing;
        let head = format!("{} failed, {hours}{place}: {}", standing.part, first_line(&failure.how));
        let caution = "Caution: find the cause before this engine is started again. Pieces and dust go everywhere: look \
                       over cylinder, head, ports, crank and every bearing, and change what they may have marked. Go by \
                       the machine's manual; where you are not sure, let a qualified mechanic look.";
        let record = format!("Its hours are kept in the record of the kind {}.", standing.kind);
        [
            screen.strong(&screen.wrap(&head, 2)),
            screen.wrap(&record, 2),
            screen.strong(&screen.wrap(caution, 9)),
        ]
    }
}
