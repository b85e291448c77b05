//! `rejet --card`: the jetting over a grid of airs, for the lid of a toolbox.

use std::io;

use super::Rejet;
use crate::advice::asking::Question;
use crate::commands::desk::Desk;
use crate::commands::options::card::{self, Named};
use crate::report::{CardAnswer, Trouble};

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
