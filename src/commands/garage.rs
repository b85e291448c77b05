//! `garage`: starting one and checking one.

use std::path::{Component, Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, Subcommand};

use crate::advice::check;
use crate::advice::held::ran_lean;
use crate::commands::desk::{Desk, folder};
use crate::report::Trouble;
use crate::report::history::check::CheckAnswer;
use crate::report::history::garages::GarageMade;
use crate::report::sharing::before::FilesBackAnswer;
use crate::store::{Garage, NewGarage, end_merge, make_garage, mend_file};

/// Start a garage, check one, or fix a file of it
#[derive(Debug, Args)]
pub(super) struct GarageCommand {
    #[command(subcommand)]
    act: GarageAct,
}

#[derive(Debug, Subcommand)]
enum GarageAct {
    /// Start a garage: a folder that is a git repository of its own
    New(StartGarage),
    /// Check every file against its schema, git's objects, and the index
    Check,
    /// Put a file that cannot be read back as it was recorded last while it could
    ///
    /// A file that holds both sides of a merge gets both, field by field; what both changed stays as it is on this side, and is said. Without a
    /// file a merge of git that is half done is ended, as before it (lines that were settled by hand in it are lost), and an index of git's that is damaged
    /// is built anew.
    #[command(name = "fix")]
    Mend {
        /// The file, as it is named where it cannot be read, like parts/ring-7.toml
        file: Option<PathBuf>,
    },
}

#[derive(Debug, Args)]
struct StartGarage {
    /// The folder; the current one where none is named
    folder: Option<PathBuf>,
    /// Name of the garage or team
    #[arg(long)]
    name: Option<String>,
}

impl GarageCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<ExitCode, Trouble> {
        match &self.act {
            GarageAct::New(new) => new.run(desk).map(|()| ExitCode::SUCCESS),
            GarageAct::Check => check_garage(desk),
            GarageAct::Mend { file } => mend(desk, file.as_deref()).map(|()| ExitCode::SUCCESS),
        }
    }
}

impl StartGarage {
    fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let root = match (&self.folder, &desk.garage) {
            (Some(folder), _) | (None, Some(folder)) => self::folder()?.join(folder),
            (None, None) => folder()?,
        };
        let wanted = NewGarage { name: self.name.clone(), units: desk.screen().units() };
        let garage = make_garage(&root, &wanted, &desk.moment)?;
        let answer = GarageMade { garage: garage.root().display().to_string() };
        desk.screen().answer(&answer, || answer.text())
    }
}

fn mend(desk: &Desk, file: Option<&Path>) -> Result<(), Trouble> {
    let garage = Garage::find_to_mend(desk.garage.as_deref(), &folder()?)?;
    let screen = desk.screen();
    let Some(file) = file else {
        let ended = end_merge(&garage, &desk.moment)?;
        let answer = FilesBackAnswer::ended(&ended);
        return screen.answer(&answer, || answer.text(&screen));
    };
    let back = mend_file(&garage, &plain(file), ran_lean, &desk.moment)?;
    let answer = FilesBackAnswer::mended(&back);
    screen.answer(&answer, || answer.text(&screen))
}

/// A path without the dots that a shell completes.
fn plain(file: &Path) -> PathBuf {
    file.components().filter(|part| *part != Component::CurDir).collect()
}

fn check_garage(desk: &Desk) -> Result<ExitCode, Trouble> {
    let garage = desk.garage()?;
    let result = check::garage(&garage, desk.moment.now)?;
    let answer = CheckAnswer::of(&result);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))?;
    Ok(if answer.sound { ExitCode::SUCCESS } else { ExitCode::from(1) })
}
