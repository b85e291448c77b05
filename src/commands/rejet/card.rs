//! `rejet --card`: the jetting over a grid of airs, for the lid of a toolbox.

use std::io;

use clap::Args;

use super::Rejet;
use crate::advice::asking::Question;
use crate::commands::Desk;
use crate::commands::options::card::{self, Named};
use crate::report::{CardAnswer, Trouble};

/// What stands across and down.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "For many airs")]
pub(super) struct CardOptions {
    /// A grid for the lid of a toolbox: main, clip and pilot
    #[arg(long, conflicts_with_all = ["record", "explain"])]
    card: bool,
    /// Temperatures across, separated by commas ("5 C, 15 C, 25 C")
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true, requires = "card")]
    temps: Vec<String>,
    /// Elevations down the side ("0 m, 500 m, 1000 m")
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true, requires = "card")]
    elevations: Vec<String>,
    /// Barometer readings down the side, for elevations
    #[arg(
        long,
        value_name = "LIST",
        value_delimiter = ',',
        requires = "card",
        conflicts_with = "elevations"
    )]
    pressures: Vec<String>,
}

impl CardOptions {
    pub(super) fn is_asked(&self) -> bool {
        self.card
    }
}

impl Rejet {
    pub(super) fn show_card(&self, desk: &Desk, question: &Question<'_>) -> Result<(), Trouble> {
        let card = self.card_of(question)?;
        if self.csv {
            return card.csv(io::stdout().lock());
        }
        desk.screen().answer(&card, || card.text(&desk.screen()))
    }

    /// The card of a bike with one cylinder, or of one of several.
    pub(super) fn card_of(&self, question: &Question<'_>) -> Result<CardAnswer, Trouble> {
        let given = self.air.entry(question.garage.is_imperial())?.unwrap_or_default();
        let named = Named {
            temperatures: &self.card.temps,
            elevations: &self.card.elevations,
            pressures: &self.card.pressures,
        };
        card::card_of(question, named, given, &self.settings(question)?, self.theory)
    }
}
