//! `--without` of an outing: jobs that were still open when it ran. A part that was not in yet is written down as fitted after the run;
//! what of the setup was not done yet leaves the run on the setup that was really on the bike.

use super::OpenThen;
use super::as_it_ran::was_on_it;
use crate::machine::Moment;
use crate::notebook::fields::cylinder::common;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{OF_PART, When};
use crate::report::Trouble;
use crate::store::{BikeJobs, Book, Garage, OpenJob, put_off};

/// Jobs that a run was without.
#[derive(Debug, Default)]
pub struct Without {
    /// The setup that was on the bike, where all of the newest one is still to be done.
    pub setup: Option<u32>,
    /// Fields and parts of the jobs.
    keys: Vec<(String, Option<String>)>,
    /// Jobs of parts that were not in yet, or not out.
    parts: Vec<OpenJob>,
}

impl Without {
    /// Those of some numbers, among the jobs that were open, with the numbers that they have.
    pub fn of(
        book: &Book<'_>,
        numbered: &BikeJobs,
        (bike, open): (&str, Option<&OpenThen>),
        numbers: &[u32],
    ) -> Result<Self, Trouble> {
        let mut without = Self::default();
        if numbers.is_empty() {
            return Ok(without);
        }
        let all = numbered;
        let numbered: Vec<&OpenJob> = numbered.open().collect();
        for number in numbers {
            let job = numbered.iter().find(|job| job.number == *number);
            let job = job.ok_or_else(|| no_such_job(bike, *number, &numbered))?;
            let (field, part) = job.item.key();
            without.keys.push((field.to_owned(), part.map(str::to_owned)));
            without.parts.extend((field == OF_PART).then(|| (*job).clone()));
        }
        let of_setup = |job: &&OpenJob| job.item.field != OF_PART;
        let (named, others): (Vec<&OpenJob>, Vec<&OpenJob>) =
            numbered.iter().copied().filter(of_setup).partition(|job| without.names(job));
        if named.is_empty() {
            return Ok(without);
        }
        let on_it = open.and_then(|open| open.on_it.as_ref()).map(|setup| setup.number);
        match on_it.filter(|_| others.is_empty()) {
            Some(number) => without.setup = Some(number),
            None => return Err(half_a_setup(book, all, &named)?),
        }
        Ok(without)
    }

    /// Jobs that were un-ticked since the bike ran, where all else of its setup is done or open with them: they were not done when it ran.
    /// With what they are, in words.
    pub fn un_ticked(
        book: &Book<'_>,
        bike: &str,
        open: Option<&OpenThen>,
    ) -> Result<Option<(Self, String)>, Trouble> {
        let undone = |job: &&OpenJob| job.undone && job.item.field != OF_PART;
        let open_then: Vec<&OpenJob> = open.iter().flat_map(|open| open.jobs.open()).filter(undone).collect();
        if open_then.is_empty() {
            return Ok(None);
        }
        let numbered = book.open_jobs_of(bike)?;
        let is_one = |job: &&OpenJob| open_then.iter().any(|one| one.item.key() == job.item.key());
        let numbers: Vec<u32> = numbered.open().filter(is_one).map(|job| job.number).collect();
        let what: Vec<String> = open_then.iter().map(|job| visible(&job.item.what)).collect();
        // Half a setup is nothing that a run can be counted on: that stays open, and doubted.
        let found = Self::of(book, &numbered, (bike, open), &numbers).ok();
        Ok(found.filter(|without| without.setup.is_some()).map(|without| (without, what.join("; "))))
    }

    /// Whether it was without nothing.
    pub fn is_none(&self) -> bool {
        self.keys.is_empty()
    }

    /// Whether only parts were not in yet, or none was named.
    pub fn is_of_parts(&self) -> bool {
        self.setup.is_none()
    }

    /// Whether a job is one of them.
    pub fn names(&self, job: &OpenJob) -> bool {
        let (field, part) = job.item.key();
        self.keys.iter().any(|(own, of)| own == field && of.as_deref() == part)
    }

    /// Writes down that the parts went in after the run; says so, and what of it is still to be done: a later run may have had it.
    pub fn take_back(&self, garage: &Garage, ran: When, moment: &Moment) -> Result<Vec<String>, Trouble> {
        let (mut open, mut done) = (Vec::new(), Vec::new());
        for job in &self.parts {
            let Some(part) = &job.item.part else { continue };
            let goes = (part.as_str(), job.item.from.as_deref(), job.item.to.as_deref());
            let moved = put_off(garage, goes, ran, moment);
            if moved.map_err(|error| Trouble::from(error).after_recording())?.is_empty() {
                continue;
            }
            let now = Book::open(garage)?.open_jobs_of(&job.bike)?;
            let is_open = now.open().any(|other| other.item.key() == job.item.key());
            // What came out for it is moved with it, and is no job of its own.
            (if is_open { &mut open } else { &mut done }).push(visible(part));
        }
        let of_open = (!open.is_empty()).then(|| {
            format!(
                "It ran before this was done, is counted so, and is still to be done: {}.",
                open.join(", ")
            )
        });
        let of_done = (!done.is_empty())
            .then(|| format!("It ran before this was done, and is counted so: {}.", done.join(", ")));
        Ok(of_open.into_iter().chain(of_done).collect())
    }
}

fn no_such_job(bike: &str, number: u32, open: &[&OpenJob]) -> Trouble {
    let list: Vec<String> =
        open.iter().map(|job| format!("{} {}", job.number, visible(&job.item.what))).collect();
    let list = if list.is_empty() { "none".to_owned() } else { list.join("; ") };
    Trouble::request(
        Some("without"),
        format!("Job {number} is not open at {bike}. Nothing was recorded."),
        format!("Open jobs: {list}."),
    )
}

/// Some of a setup was on the bike: no setup says that.
fn half_a_setup(book: &Book<'_>, jobs: &BikeJobs, named: &[&OpenJob]) -> Result<Trouble, Trouble> {
    let fields = was_on_it(book, jobs, named)?;
    // A larger jet than is recorded goes in unasked; of what else the record may have something to say.
    let number = |text: Option<&str>| text.and_then(|text| text.parse::<f64>().ok());
    let is_richer = |job: &&OpenJob| {
        let is_jet = ["jetting.main", "jetting.pilot"].contains(&common(&job.item.field));
        let both = number(job.item.from.as_deref()).zip(number(job.item.to.as_deref()));
        is_jet && both.is_some_and(|(was, to_be)| was > to_be)
    };
    let despite = !named.iter().all(is_richer);
    Ok(Trouble::request(
        Some("without"),
        "No setup is like that: some of the newest one was on the bike, and some was not. Nothing was recorded.",
        Guidance::from("Record what it really had: ")
            + Command::RecordAsItRan { bike: jobs.bike.clone(), fields, despite }
            + ", then log the run.",
    ))
}
