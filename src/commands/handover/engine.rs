//! `handover engine`: a customer's engine, for its owner.

use clap::Args;

use super::file::Seal;
use crate::advice::handed::hand_engine_over;
use crate::commands::desk::Desk;
use crate::commands::handover::sections::Sections;
use crate::notebook::ENGINE_SECTIONS;
use crate::report::Trouble;
use crate::report::sharing::handed_engine::EngineHandoverAnswer;
use crate::store::{Book, Chosen, sections_meant};

/// What the owner gets where nothing else is said.
const THEIRS: [&str; 3] = ["builds", "parts", "hours"];

/// Give a customer the builds, parts and hours of their engine, and nothing else
///
/// Sections: builds, parts, hours, head, outings, notes; the first three where none is said, and --omit leaves out of those. No setup, no other engine and no bike is in the
/// file. An owner who keeps a garage sends what ran the same way: --only hours,outings. `handover read` takes it in.
#[derive(Debug, Args)]
pub(super) struct HandEngine {
    /// The engine
    engine: String,
    #[command(flatten)]
    sections: Sections,
    #[command(flatten)]
    seal: Seal,
}

impl HandEngine {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let theirs = || THEIRS.into_iter().map(str::to_owned);
        let chosen = match self.sections.chosen() {
            None => Chosen::Only(theirs().collect()),
            // Whoever leaves more out gives no more away: the others go only by their name.
            Some(Chosen::Without(named)) => {
                sections_meant(&ENGINE_SECTIONS, &Chosen::Without(named.clone()))?;
                Chosen::Only(theirs().filter(|section| !named.contains(section)).collect())
            }
            Some(only) => only,
        };
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        let (handover, text) = hand_engine_over(&book, &self.engine, &chosen, &desk.moment)?;
        let name = format!("{}.handover.toml", self.engine);
        let (file, words) = self.seal.write(desk, (self.sections.out.as_ref(), &name), &text)?;
        let answer = EngineHandoverAnswer::written(&handover, &file, words);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
