//! `completions`: for the user's shell.

use clap::{Args, Command};
use clap_complete::Shell;

use crate::commands::desk::Desk;
use crate::report::Trouble;

/// Completions for your shell, on standard output
#[derive(Debug, Args)]
pub(in crate::commands) struct Completions {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    pub(in crate::commands) fn run(&self, desk: &Desk, mut line: Command) -> Result<(), Trouble> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut line, "reedbook", &mut text);
        desk.screen().say(&String::from_utf8_lossy(&text))
    }
}
