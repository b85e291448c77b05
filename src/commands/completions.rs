//! `completions`: for the user's shell.

use clap::Args;
use clap_complete::Shell;

use super::Desk;
use crate::report::Trouble;

/// Completions for your shell, on standard output
#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut super::command_line(), "reedbook", &mut text);
        desk.screen().say(&String::from_utf8_lossy(&text))
    }
}
