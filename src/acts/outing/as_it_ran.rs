//! A run that was without some of the newest setup, where no setup is as the bike stood: that can be recorded as it was, and the run on it.

use crate::advice::held::{Proposal, judge_each};
use crate::advice::standing::require_recorded;
use crate::machine::Moment;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::visible;
use crate::notebook::{Assignment, EditError, OF_PART, When};
use crate::report::Trouble;
use crate::store::{BikeJobs, Book, ChangeRequest, Garage, OpenJob, Proposed, change_checked};

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
    /// The jobs that are taken as done, in words.
    done: Vec<String>,
    /// Numbers of the jobs of parts that were not done.
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
        let then = book.jobs_at(bike, date)?;
        let on_it = if then.open().next().is_some() { book.really_on(&then)? } else { None };
        if others.is_empty() && on_it.is_some() {
            return Ok(None);
        }
        let (parts, fitted): (Vec<_>, Vec<_>) =
            of_parts.into_iter().partition(|job| numbers.contains(&job.number));
        let in_words = |jobs: &[&OpenJob]| jobs.iter().map(|job| visible(&job.item.what)).collect::<Vec<_>>();
        let fields = was_on_it(book, &jobs, &named)?;
        // What was empty before cannot be written down by a press.
        let whole = named.iter().all(|job| job.item.from.is_some());
        Ok(whole.then(|| Self {
            bike: bike.to_owned(),
            setup,
            fields,
            not_done: in_words(&named),
            done: in_words(&[others, fitted].concat()),
            parts: parts.iter().map(|job| job.number).collect(),
        }))
    }

    /// What it had, in words, with what of the jobs is taken as done: "main 178; done: fit piston-5 to cicada".
    pub fn words(&self) -> String {
        let was = self.not_done.iter().map(|what| what.split(" → ").next().unwrap_or_default());
        let was = was.collect::<Vec<_>>().join(", ");
        if self.done.is_empty() { was } else { format!("{was}; done: {}", self.done.join(", ")) }
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

/// The fields of a job: of what several cylinders share that of each, as it is typed.
fn each_field(field: &str) -> Vec<String> {
    match own_of(field) {
        Some((names, rest)) => names.split('+').map(|name| format!("{name}.{rest}")).collect(),
        None => vec![field.to_owned()],
    }
}

/// What was on the bike in the place of what these jobs do, field by field, as it is typed.
pub(super) fn was_on_it(
    book: &Book<'_>,
    jobs: &BikeJobs,
    named: &[&OpenJob],
) -> Result<Vec<(String, String)>, Trouble> {
    let was = |job: &&OpenJob| {
        let from = visible(job.item.from.as_deref()?);
        let fields = each_field(&job.item.field).into_iter();
        Some(fields.map(|field| (field, from.clone())).collect::<Vec<_>>())
    };
    let mut fields: Vec<(String, String)> = named.iter().filter_map(was).flatten().collect();
    // The figures of a fuel are in the can with it.
    let can = named.iter().any(|job| job.item.field == "fuel.name");
    if let (Some(on_it), Some((_, wanted)), true) = (jobs.on_it(), jobs.step(), can) {
        let wanted = book.combination(&jobs.bike, Some(wanted))?.fields;
        let of_fuel = ["fuel.density", "fuel.stoichiometric_ratio"].into_iter();
        let other = of_fuel.filter_map(|field| Some((field, on_it.get(field)?)));
        let other = other.filter(|(field, was)| wanted.get(field).is_none_or(|is| !is.same_as(was)));
        fields.extend(other.map(|(field, was)| (field.to_owned(), visible(&was.typed()))));
    }
    Ok(fields)
}
