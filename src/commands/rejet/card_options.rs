//! What a card of jetting is asked for: which airs stand across and down.

use clap::Args;

/// What stands across and down.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "For many airs")]
pub(super) struct CardOptions {
    /// A grid for the lid of a toolbox: main, clip and pilot
    #[arg(long, conflicts_with_all = ["record", "explain"])]
    pub(super) card: bool,
    /// Temperatures across, separated by commas ("5 C, 15 C, 25 C")
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true, requires = "card")]
    pub(super) temps: Vec<String>,
    /// Elevations down the side ("0 m, 500 m, 1000 m")
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true, requires = "card")]
    pub(super) elevations: Vec<String>,
    /// Barometer readings down the side, for elevations
    #[arg(
        long,
        value_name = "LIST",
        value_delimiter = ',',
        requires = "card",
        conflicts_with = "elevations"
    )]
    pub(super) pressures: Vec<String>,
}

impl CardOptions {
    pub(super) fn is_asked(&self) -> bool {
        self.card
    }
}
