//! `handover`: chosen sections of a setup for somebody else.

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use super::guard_options::Despite;
use super::{Desk, folder};
use crate::report::Trouble;
use crate::report::sharing::handover::{HandoverAnswer, Taken};
use crate::store::{
    Book, Chosen, LARGEST_HANDOVER, SetupName, beside, change_checked, hand_over, read_handover, taking_in,
};

/// Hand sections of a setup over as one file, or read one
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
    /// Only these sections, like ignition,jetting
    #[arg(long, value_name = "SECTION", value_delimiter = ',', conflicts_with = "omit")]
    only: Vec<String>,
    /// All sections but these, like ports,head
    #[arg(long, value_name = "SECTION", value_delimiter = ',')]
    omit: Vec<String>,
    /// The file to write; otherwise BIKE-NUMBER.handover.toml in the current folder
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(subcommand)]
    act: Option<Act>,
}

#[derive(Debug, Subcommand)]
enum Act {
    /// Show a handover, beside a bike where one is named, and take it in with --take
    Read(ReadHandover),
}

#[derive(Debug, Args)]
struct ReadHandover {
    /// The file
    file: PathBuf,
    /// The bike that it is held against
    bike: Option<String>,
    /// Record it as a change of that bike
    #[arg(long, requires = "bike")]
    take: bool,
    /// Why, in your words
    #[arg(long, short, requires = "take")]
    why: Option<String>,
    #[command(flatten)]
    despite: Despite,
}

impl HandoverCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        match &self.act {
            Some(Act::Read(read)) => read.run(desk),
            None => self.write(desk),
        }
    }

    fn write(&self, desk: &Desk) -> Result<(), Trouble> {
        let chosen = match (self.only.is_empty(), self.omit.is_empty()) {
            (false, _) => Chosen::Only(self.only.clone()),
            (true, false) => Chosen::Without(self.omit.clone()),
            (true, true) => {
                return Err(Trouble::request(
                    Some("only"),
                    "It is not said which sections are handed over.",
                    "Say --only ignition,jetting, or --omit ports,head for all but those.",
                ));
            }
        };
        let garage = desk.garage()?;
        let bike = self.bike.as_deref().unwrap_or_default();
        garage.require_bike(bike)?;
        let book = Book::open(&garage)?;
        let (handover, text) = hand_over(&book, bike, (&self.setup, &chosen), &desk.moment)?;
        let name = format!("{bike}-{}.handover.toml", handover.from.setup);
        let file = self.out.clone().unwrap_or_else(|| PathBuf::from(name));
        write_new(&folder()?.join(&file), text.as_bytes())?;
        let answer = HandoverAnswer::written(&handover, &file);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

impl ReadHandover {
    fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let bytes = read_bounded(&folder()?.join(&self.file))?;
        let (handover, hash) = read_handover(&self.file, &bytes)?;
        let Some(bike) = &self.bike else {
            let answer = HandoverAnswer::read(&handover, &hash);
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        };
        let garage = desk.garage()?;
        garage.require_bike(bike)?;
        let book = Book::open(&garage)?;
        let now = book.combination(bike, None)?;
        let rows = beside(&now, &handover);
        if !self.take {
            let answer = HandoverAnswer::read(&handover, &hash).beside(bike, &rows, &now);
            return desk.screen().answer(&answer, || answer.text(&desk.screen()));
        }
        let request = taking_in(bike, &now, (&handover, &hash), self.why.as_deref())?;
        let guard = self.despite.guard(false)?;
        let done = change_checked(&garage, &request, &desk.moment, &|proposed| guard.check(proposed))?;
        let judgement = guard.judgement();
        let taken = Taken { number: done.setup.number, judgement: &judgement };
        let answer = HandoverAnswer::read(&handover, &hash).beside(bike, &rows, &now).taken(&taken);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

/// Writes a file that must not be there yet: nobody's is overwritten.
fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Trouble> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    let failed = |error: std::io::Error| {
        if error.kind() == std::io::ErrorKind::AlreadyExists {
            return Trouble::request(
                Some("out"),
                format!("{} is there already.", path.display()),
                "Name another file with --out, or take that one away.",
            );
        }
        Trouble::file("Cannot write", path, &error)
    };
    let mut file = options.open(path).map_err(failed)?;
    file.write_all(bytes).and_then(|()| file.sync_all()).map_err(failed)
}

fn read_bounded(path: &Path) -> Result<Vec<u8>, Trouble> {
    let failed = |error: std::io::Error| Trouble::file("Cannot read", path, &error);
    let mut bytes = Vec::new();
    let file = fs::File::open(path).map_err(failed)?;
    file.take(LARGEST_HANDOVER + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > LARGEST_HANDOVER {
        return Err(Trouble::request(
            Some("file"),
            format!("{} is larger than a handover can be.", path.display()),
            "Name the file that was handed over.",
        ));
    }
    Ok(bytes)
}
