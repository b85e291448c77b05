//! `part`: things with hours on them, what happened to each, and when each is due.

mod add;
mod deeds;
mod due;
mod edit;
mod fitting;
mod life;
mod list;
mod show;
mod typed;
mod wear;

use clap::{Args, Subcommand};

use crate::commands::desk::Desk;
use crate::report::Trouble;

/// Keep parts by their hours: fitted, inspected, due
///
/// Hours come from the outings of the engine a part is in, on whichever bike. Hours that nobody knows are never taken for
/// none: the count then says "at least". Fatigue shows nothing beforehand, so staying inside a limit makes nothing safe:
/// the machine's manual rules, and a part that looks, sounds or feels wrong comes out.
#[derive(Debug, Args)]
pub(super) struct PartCommand {
    #[command(subcommand)]
    act: PartAct,
}

#[derive(Debug, Subcommand)]
enum PartAct {
    Due(due::Due),
    List(list::List),
    Show(show::ShowPart),
    Add(add::Add),
    Fit(deeds::Fit),
    Move(deeds::Move),
    Remove(deeds::Remove),
    Inspect(deeds::Inspect),
    Ran(deeds::Ran),
    Renew(deeds::Renew),
    Fail(deeds::Fail),
    Retire(deeds::Retire),
    Edit(edit::Edit),
    Life(life::PartLife),
    Wear(wear::PartWear),
}

impl PartCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            PartAct::Due(due) => due.run(desk, &garage),
            PartAct::List(list) => list.run(desk, &garage),
            PartAct::Show(show) => show.run(desk, &garage),
            PartAct::Add(add) => add.run(desk, &garage),
            PartAct::Fit(fit) => fit.run(desk, &garage),
            PartAct::Move(moved) => moved.run(desk, &garage),
            PartAct::Remove(remove) => remove.run(desk, &garage),
            PartAct::Inspect(inspect) => inspect.run(desk, &garage),
            PartAct::Ran(ran) => ran.run(desk, &garage),
            PartAct::Renew(renew) => renew.run(desk, &garage),
            PartAct::Fail(fail) => fail.run(desk, &garage),
            PartAct::Retire(retire) => retire.run(desk, &garage),
            PartAct::Edit(edit) => edit.run(desk, &garage),
            PartAct::Life(life) => life.run(desk),
            PartAct::Wear(wear) => wear.run(desk),
        }
    }
}
