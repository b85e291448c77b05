//! `handover`: chosen sections of a setup, or of an engine's record, for somebody else.

mod engine;
mod file;
mod read;
mod sections;

use clap::{Args, Subcommand};

use self::file::Seal;
use crate::advice::combined::combined_never_run;
use crate::advice::handed::ran_lean_here;
use crate::advice::held::{Proposal, judge_each};
use crate::commands::desk::Desk;
use crate::commands::handover::sections::Sections;
use crate::report::Trouble;
use crate::report::sharing::handover::HandoverAnswer;
use crate::report::worded;
use crate::store::{Book, HowItRan, LEAN_THERE, SEIZED_THERE, SetupName, SetupRecord, StoreError, hand_over};

/// Hand sections of a setup, or an engine, over; or read one
///
/// What is not chosen is not in the file: no value of it, no note, no reason. The file says in what air it was right, where it comes
/// from, what the missing sections mean, and what can hurt.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub(super) struct HandoverCommand {
    /// The bike
    #[arg(required = true)]
    bike: Option<String>,
    /// The setup: a number, latest or proven
    #[arg(default_value = "proven")]
    setup: SetupName,
    #[command(flatten)]
    sections: Sections,
    #[command(flatten)]
    seal: Seal,
    #[command(subcommand)]
    act: Option<HandoverAct>,
}

#[derive(Debug, Subcommand)]
enum HandoverAct {
    /// Give a customer the builds, parts and hours of their engine, and nothing else
    Engine(engine::HandEngine),
    /// Show a handover, beside a bike where one is named, and take it in with --take
    Read(read::ReadHandover),
}

impl HandoverCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        match &self.act {
            Some(HandoverAct::Engine(engine)) => engine.run(desk),
            Some(HandoverAct::Read(read)) => read.run(desk),
            None => self.write(desk),
        }
    }

    fn write(&self, desk: &Desk) -> Result<(), Trouble> {
        let chosen = self.sections.chosen().ok_or_else(|| {
            Trouble::request(
                Some("only"),
                "It is not said which sections are handed over.",
                "Say --only ignition,jetting, or --omit ports,head for all but those.",
            )
        })?;
        let garage = desk.garage()?;
        let bike = self.bike.as_deref().unwrap_or_default();
        garage.require_bike(bike)?;
        let book = Book::open(&garage)?;
        let setup = book.resolve(bike, &self.setup)?;
        let (beware, how) = setup.map(|setup| how_it_ran(&book, &setup)).transpose()?.unwrap_or_default();
        let (handover, text) =
            hand_over(&book, bike, (&self.setup, &chosen), (beware, how, &worded), &desk.moment)?;
        let name = format!("{bike}-{}.handover.toml", handover.from.setup);
        let (file, words) = self.seal.write(desk, (self.sections.out.as_ref(), &name), &text)?;
        let content = text.lines().next().and_then(|first| first.rsplit(' ').next()).unwrap_or_default();
        let answer = HandoverAnswer::written(&handover, (&file, content), words);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

/// What whoever a setup is handed to must know of how it ran, and whether it did.
fn how_it_ran(book: &Book<'_>, setup: &SetupRecord) -> Result<(Vec<String>, HowItRan), StoreError> {
    let (mut beware, ran) = ran_lean_here(book, setup)?;
    // What this garage would not put back itself, for a run on something near it.
    if !beware.iter().any(|said| said.starts_with(SEIZED_THERE) || said.starts_with(LEAN_THERE)) {
        beware.extend(forbidden_here(book, setup)?.map(|day| {
            format!("{LEAN_THERE}, or on jetting like it, on {day}, and was not put right on this since: do not run it like this, start richer.")
        }));
    }
    let how = match (combined_never_run(book, setup)?, ran) {
        (Some(_), _) => HowItRan::CombinedNeverRan,
        (None, true) => HowItRan::Ran,
        (None, false) => HowItRan::NoRun,
    };
    Ok((beware, how))
}

/// The day of the run for which a setup would not be put back on its own bike; none where nothing speaks against that.
fn forbidden_here(book: &Book<'_>, setup: &SetupRecord) -> Result<Option<String>, StoreError> {
    let bike = setup.bike.as_str();
    let (before, after) = (book.latest(bike)?, book.combination(bike, Some(setup))?);
    let before = before.map(|before| book.combination(bike, Some(&before))).transpose()?;
    let judged = judge_each(book, &Proposal::put_back(bike, before.as_ref(), &after))?;
    let runs = judged.refused.iter().filter_map(|refused| refused.by_a_run.as_deref()?.split_once(' '));
    let mut days = Vec::new();
    for (bike, id) in runs {
        days.extend(book.outings(bike)?.iter().find(|run| run.id == id).map(|run| run.outing.date));
    }
    Ok(days.into_iter().max().map(|date| date.day()))
}
