//! Which sections are handed over, and into what file.

use std::path::PathBuf;

use clap::Args;

use crate::store::Chosen;

/// What is handed over, and where to.
#[derive(Debug, Args)]
pub(super) struct Sections {
    /// Only these sections, a comma between them
    #[arg(long, value_name = "SECTION", value_delimiter = ',', conflicts_with = "omit")]
    pub(super) only: Vec<String>,
    /// All sections but these; a setup's extra and notes then stay out too
    #[arg(long, value_name = "SECTION", value_delimiter = ',')]
    pub(super) omit: Vec<String>,
    /// The file to write; otherwise one in the current folder
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
}

impl Sections {
    /// What was chosen; none where nothing was.
    pub(super) fn chosen(&self) -> Option<Chosen> {
        match (self.only.is_empty(), self.omit.is_empty()) {
            (false, _) => Some(Chosen::Only(self.only.clone())),
            (true, false) => Some(Chosen::Without(self.omit.clone())),
            (true, true) => None,
        }
    }
}
