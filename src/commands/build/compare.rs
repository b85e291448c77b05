//! `build compare`: two assemblies of an engine side by side.

use clap::Args;

use crate::advice::building::{gap_growth, judged, parts_between, same_ring, together_by, unlike};
use crate::advice::parts::runs;
use crate::commands::desk::Desk;
use crate::notebook::Place;
use crate::report::all_worded;
use crate::report::{BuildComparison, BuildsBeside, Trouble};
use crate::store::{Book, BuildRecord, Garage};

/// Compare two builds of an engine: how each figure moved, and whether the gauges can tell
///
/// Without builds: the one before the newest with the newest. A change in brackets is one that the gauges cannot tell
/// from none.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// The engine
    engine: String,
    /// The older build: its id or the id's beginning
    old: Option<String>,
    /// The newer build; the newest one when it is not said
    new: Option<String>,
}

impl Compare {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let book = Book::open(garage)?;
        let new = book.build(&self.engine, self.new.as_deref())?;
        let old = match &self.old {
            Some(old) => book.build(&self.engine, Some(old))?,
            None => before(&book, &new)?,
        };
        let (was, is) = (judged(garage, &old)?, judged(garage, &new)?);
        let now = desk.moment.now;
        let together = (together_by(&book, &old, now)?, together_by(&book, &new, now)?);
        let mut growth = Vec::new();
        for (cylinder, new_map) in &is.bores {
            let at = cylinder.as_deref();
            let Some((_, old_map)) = was.bores.iter().find(|(known, _)| known.as_deref() == at) else {
                continue;
            };
            if same_ring(&book, (&self.engine, at), together)? {
                let of_it = |record: &BuildRecord| record.build.for_cylinder(at.unwrap_or_default());
                let (old, new) = (of_it(&old), of_it(&new));
                let grown = gap_growth((&old, old_map), (&new, new_map), &garage.limits()?)
                    .map_err(|error| Trouble::calculation(Place::default(), &error))?;
                growth.extend(grown.into_iter().map(|check| check.at_cylinder(at)));
            }
        }
        let between = (old.build.date, new.build.date);
        let answer = BuildComparison::from(BuildsBeside {
            old: &old,
            new: &new,
            unlike: &unlike(&was.figures, &is.figures),
            growth: &growth,
            parts: parts_between(&book, &self.engine, together)?,
            hours: crate::advice::parts::hours_between(&runs(&book)?, &self.engine, between),
            remarks: all_worded(was.remarks.iter().chain(&is.remarks)),
        });
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

/// The build before another one.
fn before(book: &Book<'_>, new: &BuildRecord) -> Result<BuildRecord, Trouble> {
    let earlier = book.builds(&new.engine)?.into_iter().rev().find(|build| build.build.date < new.build.date);
    earlier.ok_or_else(|| {
        Trouble::request(
            Some("build"),
            format!("{} has no build before that of {}.", new.engine, new.build.date.day()),
            format!("`reedbook build show {}` shows it alone.", new.engine),
        )
    })
}
