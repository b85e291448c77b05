//! `handover`: chosen sections of a setup, or of an engine's record, for somebody else.

mod engine;
mod file;
mod read;
mod sections;

use clap::{Args, Subcommand};

use self::file::Seal;
use crate::advice::handed::ran_lean_here;
use crate::commands::desk::Desk;
use crate::commands::handover::sections::Sections;
use crate::report::Trouble;
use crate::report::sharing::handover::HandoverAnswer;
use crate::report::worded;
use crate::store::{Book, SetupName, hand_over};

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
        let (beware, ran) = setup.map(|setup| ran_lean_here(&book, &setup)).transpose()?.unwrap_or_default();
        let (handover, text) =
            hand_over(&book, bike, (&self.setup, &chosen), (beware, ran, &worded), &desk.moment)?;
        let name = format!("{bike}-{}.handover.toml", handover.from.setup);
        let (file, words) = self.seal.write(desk, (self.sections.out.as_ref(), &name), &text)?;
        let content = text.lines().next().and_then(|first| first.rsplit(' ').next()).unwrap_or_default();
        let answer = HandoverAnswer::written(&handover, (&file, content), words);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
