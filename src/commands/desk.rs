//! What every command works with: the screen, the moment, and the garage that it is about.

use std::cell::{Cell, RefCell};
use std::fs::File;
use std::path::{Path, PathBuf};

use crate::acts::typed::when;
use crate::advice::today;
use crate::machine::{self, Moment};
use crate::notebook::When;
use crate::notebook::fields::names::visible;
use crate::report::{AtCylinder, Screen, Trouble, keep_whole};
use crate::store::{Book, Garage, places};

/// What every command works with.
pub(super) struct Desk {
    pub(super) screen: Cell<Screen>,
    pub(super) moment: Moment,
    pub(super) garage: Option<PathBuf>,
    /// The cylinder that is answered for now, where there are several.
    pub(super) lens: RefCell<Option<Lens>>,
}

impl Desk {
    /// Where the command shows its answer, in the units of the garage it is about.
    pub(super) fn screen(&self) -> Screen {
        self.screen.get()
    }

    /// A date as typed; a time alone, "9:40", is today.
    pub(super) fn when(&self, typed: &str) -> Result<When, Trouble> {
        when(typed, self.moment.now)
    }

    /// The garage the command is about.
    pub(super) fn garage(&self) -> Result<Garage, Trouble> {
        Ok(self.shown_in_its_units(Garage::find(self.garage.as_deref(), &folder()?)?))
    }

    pub(super) fn shown_in_its_units(&self, garage: Garage) -> Garage {
        // Before anything is read: half of what was recorded would be answered for the whole.
        if let Some(mended) = garage.mend() {
            self.screen().note(&crate::report::worded(&mended.words()));
        }
        // A place that cannot be read keeps its name nowhere.
        let known = places(&garage).map(|(known, _)| known).unwrap_or_default();
        keep_whole(known.iter().map(|record| record.title().to_owned()));
        self.screen.set(self.screen().in_garage(garage.document().units));
        let progress = self.screen().progress();
        let screen = self.screen();
        garage
            .heard_by(Box::new(move |what, done, of| progress.to(what, done, of)))
            .told_by(Box::new(move |what| screen.note(what)))
    }

    /// The bike that is named; where none is, the one that was logged last today, or the only one in use.
    pub(super) fn bike_meant(&self, garage: &Garage, named: &str) -> Result<String, Trouble> {
        if !named.is_empty() {
            return Ok(named.to_owned());
        }
        let meant = today::bike_of_the_day(&Book::open(garage)?, self.moment.now)?;
        meant.map(today::Meant::bike).ok_or_else(|| {
            Trouble::request(
                Some("bike"),
                "No bike is named, and no run or work on one alone was recorded today.",
                format!("Which bike? {}.", garage.bikes().join(", ")),
            )
        })
    }

    /// The garage if there is one here: for commands that also work without.
    pub(super) fn garage_if_any(&self) -> Result<Option<Garage>, Trouble> {
        match Garage::find(self.garage.as_deref(), &folder()?) {
            Ok(garage) => Ok(Some(self.shown_in_its_units(garage))),
            Err(crate::store::StoreError::NoGarage(_)) if self.garage.is_none() => Ok(None),
            Err(error) => Err(error.into()),
        }
    }
}

pub(super) fn folder() -> Result<PathBuf, Trouble> {
    machine::current_folder().map_err(|error| {
        Trouble::request(
            None,
            format!("The current folder cannot be used: {error}."),
            "Go into another folder.",
        )
    })
}

/// Opens a file that the user named, to be read; a pipe or a device is refused, for whom nobody knows when it ends, or whether it begins.
pub(super) fn plain_file(path: &Path) -> Result<File, Trouble> {
    let cannot = |error| Trouble::file("Cannot read", path, &error);
    require_no_pipe(path)?;
    File::open(path).map_err(cannot)
}

/// Fails where what the user named is a pipe or a device.
pub(super) fn require_no_pipe(path: &Path) -> Result<(), Trouble> {
    // What is not there, or is a folder, is said by whoever opens it.
    let Ok(about) = path.metadata() else { return Ok(()) };
    if about.is_file() || about.is_dir() {
        return Ok(());
    }
    Err(Trouble::request(
        None,
        format!("{} is a pipe or a device, and no plain file.", visible(&path.display().to_string())),
        "Name a plain file; where a list or a pass phrase is read, - stands for standard input.",
    ))
}

/// `--edit` needs an editor; said before anything is recorded.
pub(super) fn require_editor() -> Result<(), Trouble> {
    if machine::has_editor() {
        return Ok(());
    }
    Err(Trouble::request(None, "No editor is set.", "Set EDITOR, or leave out --edit."))
}

/// The cylinder that a command answers for now.
#[derive(Debug, Clone)]
pub(in crate::commands) struct Lens {
    /// Its name.
    pub(in crate::commands) name: String,
    /// What an answer says of it.
    pub(in crate::commands) at: AtCylinder,
}
