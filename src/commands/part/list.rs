//! `part list`: the parts by name.

use clap::Args;

use super::Counted;
use crate::commands::Desk;
use crate::report::Trouble;
use crate::report::all_worded;
use crate::report::parts::list::{Kept, PartListAnswer};
use crate::store::Garage;

/// List the parts with their hours
///
/// Those that failed or are retired are left out.
#[derive(Debug, Args)]
pub(super) struct List {
    /// Only parts that are in this engine
    #[arg(long, value_name = "ENGINE")]
    engine: Option<String>,
    /// Only parts of this kind
    #[arg(long, value_name = "KIND")]
    kind: Option<String>,
    /// Parts that failed or are retired, too
    #[arg(long)]
    all: bool,
}

impl List {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        if let Some(engine) = &self.engine {
            garage.require_engine(engine)?;
        }
        let counted = Counted::of(garage, desk.moment.now)?;
        let asked = |kept: &Kept| {
            let of_engine =
                self.engine.as_ref().is_none_or(|engine| kept.standing.engine.as_ref() == Some(engine));
            of_engine && self.kind.as_ref().is_none_or(|kind| kept.record.part.kind == *kind)
        };
        let parts = counted.parts.iter().map(|record| counted.kept(record)).filter(asked);
        let (mut shown, gone): (Vec<_>, Vec<_>) =
            parts.partition(|kept| self.all || kept.standing.gone.is_none());
        shown.sort_by(|one, other| one.record.name.cmp(&other.record.name));
        let is_filtered = self.engine.is_some() || self.kind.is_some();
        let answer = PartListAnswer::new(&shown, gone.len(), is_filtered, all_worded(&counted.remarks(None)));
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
