//! `job`: what is to be done at the bikes, and ticking it.

use clap::{Args, Subcommand};

use crate::advice::held::is_of_fuel;
use crate::advice::standing;
use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::history::jobs::JobAnswer;
use crate::store::{BikeJobs, Book, Garage, Mark, OpenJob, WhichJobs, mark_jobs};

/// What is to be done at a bike before its setup is on it
///
/// `change`, `rollback`, `rejet --record` and part moves write jobs. Changed and changed back is no job. Once the
/// bike has run, its list is empty.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
pub(super) struct JobCommand {
    /// Only this bike's; `job list BIKE` for a bike named like a command
    bike: Option<String>,
    #[command(subcommand)]
    act: Option<JobAct>,
}

#[derive(Debug, Subcommand)]
enum JobAct {
    /// List what is open, and what was ticked since the bike ran
    List {
        /// Only this bike's
        bike: Option<String>,
    },
    /// Tick jobs: they are done
    Done {
        /// Their numbers, or `all`, of a bike where one is named behind it
        #[arg(required = true, num_args = 1.., value_name = "NUMBER")]
        which: Vec<String>,
        /// It is on the bike like that, though a lean run forbids it
        #[arg(long)]
        sure: bool,
    },
    /// Take ticks back: they are not done after all
    Undo {
        /// Their numbers, or `all`, of a bike where one is named behind it
        #[arg(required = true, num_args = 1.., value_name = "NUMBER")]
        which: Vec<String>,
    },
}

impl JobCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        match &self.act {
            None => list(desk, self.bike.as_deref()),
            Some(JobAct::List { bike }) => list(desk, bike.as_deref()),
            Some(JobAct::Done { which, sure }) => tick(desk, which, (Mark::Done, *sure)),
            Some(JobAct::Undo { which }) => tick(desk, which, (Mark::Undone, false)),
        }
    }
}

fn list(desk: &Desk, bike: Option<&str>) -> Result<(), Trouble> {
    let garage = desk.garage()?;
    if let Some(bike) = bike {
        garage.require_bike(bike)?;
    }
    let book = Book::open(&garage)?;
    let all = book.open_jobs()?;
    let wanted: Vec<&BikeJobs> =
        all.iter().filter(|jobs| bike.is_none_or(|bike| jobs.bike == bike)).collect();
    let unreadable = unreadable(&book)?;
    let cautions = cautions(&book, &wanted)?;
    let answer = JobAnswer::new(wanted, None, &unreadable).warned(&cautions);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

fn tick(desk: &Desk, which: &[String], (mark, sure): (Mark, bool)) -> Result<(), Trouble> {
    let garage = desk.garage()?;
    let which = meant(which)?;
    if matches!(which, WhichJobs::All(None)) {
        require_one_bike(&garage, mark)?;
    }
    if mark == Mark::Done && !sure {
        refuse_what_is_forbidden(&Book::open(&garage)?, &which)?;
    }
    let done = mark_jobs(&garage, &which, mark, &desk.moment)?;
    let book = Book::open(&garage)?;
    let all = book.open_jobs()?;
    let touched = |jobs: &&BikeJobs| done.marked.iter().chain(&done.already).any(|job| job.bike == jobs.bike);
    let unreadable = unreadable(&book)?;
    let touched: Vec<&BikeJobs> = all.iter().filter(touched).collect();
    let cautions = cautions(&book, &touched)?;
    let answer = JobAnswer::new(touched, Some((mark, &done)), &unreadable).warned(&cautions);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

/// Refuses to tick what the fuel hangs on where a run since it was recorded forbids the step.
fn refuse_what_is_forbidden(book: &Book<'_>, which: &WhichJobs) -> Result<(), Trouble> {
    for jobs in book.open_jobs()? {
        let is_meant = |job: &OpenJob| match which {
            WhichJobs::All(bike) => bike.as_ref().is_none_or(|bike| *bike == jobs.bike),
            WhichJobs::Numbers(numbers) => numbers.contains(&job.number),
        };
        if !jobs.open().any(|job| is_meant(job) && is_of_fuel(&job.item.field)) {
            continue;
        }
        let forbidden = standing::forbidden_by_jobs(book, &jobs)?;
        if !forbidden.is_empty() {
            return Err(Trouble::request(
                Some("job"),
                forbidden.join(" "),
                "Nothing was ticked: leave on it what ran. If it is on the bike like that all the same: the same with --sure.",
            ));
        }
    }
    Ok(())
}

/// Who says `all` thinks of the bike in front of him: where jobs of several could be meant, none is ticked.
fn require_one_bike(garage: &Garage, mark: Mark) -> Result<(), Trouble> {
    let all = Book::open(garage)?.open_jobs()?;
    let to_mark = |jobs: &BikeJobs| match mark {
        Mark::Done => jobs.open().count(),
        Mark::Undone => jobs.jobs.len() - jobs.open().count(),
    };
    let bikes: Vec<String> = all
        .iter()
        .map(|jobs| (&jobs.bike, to_mark(jobs)))
        .filter(|(_, count)| *count > 0)
        .map(|(bike, count)| format!("{} ({count})", crate::notebook::fields::names::visible(bike)))
        .collect();
    if bikes.len() < 2 {
        return Ok(());
    }
    let which = if mark == Mark::Done { "open" } else { "ticked" };
    Err(Trouble::request(
        Some("job"),
        format!("Jobs are {which} at several bikes: {}. Nothing was ticked.", bikes.join(", ")),
        "Name the bike behind it, `all BIKE`, or the numbers; `reedbook job` lists them.",
    ))
}

/// What must not be run like that in the steps that the jobs are of, with the bike.
fn cautions(book: &Book<'_>, bikes: &[&BikeJobs]) -> Result<Vec<(String, String)>, Trouble> {
    let mut all = Vec::new();
    for jobs in bikes {
        let said = standing::of_jobs(book, jobs)?;
        all.extend(said.into_iter().map(|said| (jobs.bike.clone(), said)));
    }
    Ok(all)
}

fn unreadable(book: &Book<'_>) -> Result<Vec<String>, Trouble> {
    Ok(book.broken_jobs()?.into_iter().map(|file| file.findings).collect())
}

/// "2 3", "2,3", "all", "all moth".
fn meant(which: &[String]) -> Result<WhichJobs, Trouble> {
    match which {
        [all] if all == "all" => return Ok(WhichJobs::All(None)),
        [all, bike] | [bike, all] if all == "all" => return Ok(WhichJobs::All(Some(bike.clone()))),
        _ => {}
    }
    let words = which.iter().flat_map(|word| word.split(',')).filter(|word| !word.is_empty());
    let numbers = words.map(|word| {
        word.parse().map_err(|_| {
            Trouble::request(
                Some("job"),
                format!("\"{}\" is not a job number.", crate::notebook::fields::names::visible(word)),
                "Name numbers like 2 3, or `all`, or `all BIKE`; `reedbook job` lists them.",
            )
        })
    });
    Ok(WhichJobs::Numbers(numbers.collect::<Result<_, _>>()?))
}
