//! `manual`: manual pages.

use std::path::PathBuf;

use clap::{Args, Command};

use crate::commands::desk::Desk;
use crate::report::Trouble;

/// Write manual pages, one a command
#[derive(Debug, Args)]
pub(in crate::commands) struct Manual {
    /// The folder to write them to
    folder: PathBuf,
}

impl Manual {
    pub(in crate::commands) fn run(&self, desk: &Desk, line: Command) -> Result<(), Trouble> {
        let wrong = |error: std::io::Error| Trouble::file("Cannot write to", &self.folder, &error);
        std::fs::create_dir_all(&self.folder).map_err(wrong)?;
        clap_mangen::generate_to(line, &self.folder).map_err(wrong)?;
        desk.screen().say(&format!(
            "Manual pages written to {}; read one with `man {}/reedbook.1`.",
            self.folder.display(),
            self.folder.display()
        ))
    }
}
