//! `part list`: the parts by name.

use clap::Args;

use crate::advice::parts::Counted;
use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::all_worded;
use crate::report::parts::list::{Kept, PartListAnswer};
use crate::store::{Book, Garage};

/// List the parts with their hours
///
/// Those that failed or are retired are left out.
#[derive(Debug, Args)]
pub(super) struct List {
    /// Only parts in this bike's engine
    #[arg(value_name = "BIKE", conflicts_with = "engine")]
    bike: Option<String>,
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
        let in_bike = self.bike.as_ref().map(|bike| engine_in(garage, bike)).transpose()?;
        let engine = in_bike.as_ref().or(self.engine.as_ref());
        let counted = Counted::of(garage, desk.moment.now)?;
        let asked = |kept: &Kept| {
            let of_engine = engine.is_none_or(|engine| kept.standing.engine.as_ref() == Some(engine));
            of_engine && self.kind.as_ref().is_none_or(|kind| kept.record.part.kind == *kind)
        };
        let parts = counted.parts.iter().map(|record| counted.kept(record)).filter(asked);
        let (mut shown, gone): (Vec<_>, Vec<_>) =
            parts.partition(|kept| self.all || kept.standing.gone.is_none());
        shown.sort_by(|one, other| one.record.name.cmp(&other.record.name));
        let is_filtered = engine.is_some() || self.kind.is_some();
        let answer = PartListAnswer::new(&shown, gone.len(), is_filtered, all_worded(&counted.remarks(None)));
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

/// The engine that a bike has in it.
fn engine_in(garage: &Garage, bike: &str) -> Result<String, Trouble> {
    garage.require_bike(bike)?;
    let whole = Book::open(garage)?.combination(bike, None)?;
    whole.fields.text("engine").map(str::to_owned).ok_or_else(|| {
        Trouble::request(
            Some("bike"),
            format!("No engine is written down for {bike}."),
            format!("Say which is in it: `reedbook change {bike} engine=NAME --why \"…\"`."),
        )
    })
}
