//! A run that was without some of the newest setup, where no setup is as the bike stood: that can be recorded as it was, and the run on it.

use super::open_jobs;
use super::without::was_on_it;
use crate::advice::held::{Proposal, judge_each};
use crate::advice::standing::require_recorded;
use crate::machine::Moment;
use crate::notebook::fields::names::visible;
use crate::notebook::{Assignment, EditError, OF_PART, When};
use crate::report::Trouble;
use crate::store::{Book, ChangeRequest, Garage, Proposed, change_checked};

/// What really was on the bike.
#[derive(Debug)]
pub struct AsItRan {
    bike: String,
    /// The setup of which some was not done.
    setup: u32,
    /// Fields that were still as before, each with its value.
    fields: Vec<(String, String)>,
    /// What was not done, in words.
    not_done: Vec<String>,
    /// Numbers of the jobs that are of parts.
    pub parts: Vec<u32>,
}

impl AsItRan {
    /// Of the jobs that the run was without; none where a setup says it.
    pub fn of(book: &Book<'_>, bike: &str, date: When, numbers: &[u32]) -> Result<Option<Self>, Trouble> {
        let jobs = book.open_jobs_of(bike)?;
        let (of_parts, of_setup): (Vec<_>, Vec<_>) = jobs.open().partition(|job| job.item.field == OF_PART);
        let (named, others): (Vec<_>, Vec<_>) =
            of_setup.into_iter().partition(|job| numbers.contains(&job.number));
        let Some(setup) = jobs.setup.filter(|_| !named.is_empty()) else { return Ok(None) };
        let on_it = open_jobs(book, bike, date)?.and_then(|open| open.on_it);
        if others.is_empty() && on_it.is_some() {
            return Ok(None);
        }
        let parts = of_parts.iter().map(|job| job.number).filter(|number| numbers.contains(number));
        let fields = was_on_it(book, &jobs, &named)?;
        // What was empty before cannot be written down by a press.
        let whole = named.iter().all(|job| job.item.from.is_some());
        Ok(whole.then(|| Self {
            bike: bike.to_owned(),
            setup,
            fields,
            not_done: named.iter().map(|job| visible(&job.item.what)).collect(),
            parts: parts.collect(),
        }))
    }

    /// What it had, in words: "main 178".
    pub fn words(&self) -> String {
        let was = self.not_done.iter().map(|what| what.split(" → ").next().unwrap_or_default());
        was.collect::<Vec<_>>().join(", ")
    }

    /// Records it as a setup, if nothing that the bike ran forbids it; gives its number.
    pub fn record(&self, garage: &Garage, moment: &Moment) -> Result<u32, Trouble> {
        require_recorded(&Book::open(garage)?, &self.bike)?;
        let assignments = self.fields.iter().map(|(field, was)| Assignment::parse(&format!("{field}={was}")));
        let request = ChangeRequest {
            bike: self.bike.clone(),
            assignments: assignments.collect::<Result<_, EditError>>()?,
            maps: Vec::new(),
            insert: false,
            why: format!("As it ran, without {}", self.not_done.join(", ")),
            air: None,
            date: None,
            made_for: Some(self.setup),
        };
        let check = |proposed: &Proposed<'_, '_>| {
            let proposal = Proposal {
                bike: proposed.bike,
                before: proposed.before,
                after: proposed.after,
                air: None,
                back: false,
                kept: None,
                advised: false,
                moves_nothing: false,
            };
            judge_each(proposed.book, &proposal)?.allow(None)
        };
        Ok(change_checked(garage, &request, moment, &check)?.setup.number)
    }

    /// What follows from it.
    pub(super) fn remark(&self, number: u32) -> String {
        format!(
            "Setup {number} is the bike as it ran: {}. Not done, and no job any more: {}. Record it again where it is still to be done.",
            self.words(),
            self.not_done.join(", ")
        )
    }
}
