//! `compare`: two setups side by side.

use clap::Args;

use super::Desk;
use super::cylinder_options::said_at_each;
use crate::advice::building;
use crate::advice::derived::{derived, derived_of_each, standings};
use crate::advice::figures::Bench;
use crate::advice::maps::too_early;
use crate::advice::standing;
use crate::advice::what_if::not_measured_again;
use crate::notebook::{AirEntry, Combination, When, compare};
use crate::report::{ComparisonReport, Trouble};
use crate::store::{Book, OutingRecord, SetupName, SetupRecord};

/// Two setups side by side: only what changed, by how much
///
/// Under the differences stands what follows from them for ports, head, ignition, pipe and intake (see `reedbook package`).
/// Without setups: what is on disk now with the newest recorded one. With one: that one with the newest. Two bikes are
/// compared by naming the other one with --with.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// The bike
    bike: String,
    /// The older side: a number, latest, proven or now
    from: Option<SetupName>,
    /// The newer side: a number, latest, proven or now
    to: Option<SetupName>,
    /// Compare with a setup of another bike: the newer side is its
    #[arg(long, value_name = "BIKE")]
    with: Option<String>,
}

/// One side of a comparison.
struct Side {
    name: String,
    setup: Option<SetupRecord>,
    whole: Combination,
    air: Option<(AirEntry, String)>,
    /// Its outings, oldest first.
    ran: Vec<OutingRecord>,
    /// When it stood as it is remembered.
    stood: When,
}

impl Compare {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        let (from, to) = match (&self.from, &self.to, &self.with) {
            (Some(from), Some(to), _) => (from.clone(), to.clone()),
            (Some(from), None, None) => (from.clone(), SetupName::Latest),
            (None, _, None) => (SetupName::Latest, SetupName::Now),
            (from, _, Some(_)) => (from.clone().unwrap_or(SetupName::Latest), SetupName::Latest),
        };
        let how = (self.with.is_some(), desk.moment.now);
        let other = self.with.as_deref().unwrap_or(&self.bike);
        let old = side(&book, &self.bike, &from, how)?;
        let mut new = side(&book, other, &to, how)?;
        // The newer side is the bike as it stands where nothing was recorded since.
        if building::is_on_the_bike(&book, other, new.setup.as_ref())? {
            new.stood = desk.moment.now;
        }
        let comparison = compare(&old.whole.fields, &new.whole.fields);
        let since = match self.with {
            None => standing::since_outing(
                &book,
                &self.bike,
                (new.setup.as_ref(), &new.whole.fields),
                desk.moment.now,
            )?,
            Some(_) => None,
        };
        let inside = match (&old.whole.fields.text("engine"), &new.whole.fields.text("engine")) {
            (Some(was), Some(is)) if was == is => building::inside_engine(&book, is, (old.stood, new.stood))?,
            _ => None,
        };
        let assumptions = garage.assumptions()?;
        let (was, is) = (
            Bench { fields: &old.whole.fields, assumptions: &assumptions },
            Bench { fields: &new.whole.fields, assumptions: &assumptions },
        );
        // With several cylinders figures follow for each of them.
        let several = [&old, &new].iter().any(|side| !side.whole.fields.cylinders().is_empty());
        let both = (&old.whole.fields, &new.whole.fields);
        let derived = if several { derived_of_each(both, &assumptions) } else { derived(&was, &is) };
        let standings = said_at_each(both, |was, is| {
            let bench = |fields| Bench { fields, assumptions: &assumptions };
            standings(&bench(was), &bench(is))
        });
        let findings = old.whole.findings.iter().chain(&new.whole.findings);
        let report = ComparisonReport {
            bike: if other == self.bike { self.bike.clone() } else { format!("{} and {other}", self.bike) },
            from: old.name,
            to: new.name,
            comparison: &comparison,
            air: (old.air, new.air),
            ran: (&old.ran, &new.ran),
            derived: &derived,
            standings,
            since: since.as_ref(),
            inside: inside.as_ref(),
            remarks: findings
                .map(|finding| format!("could not be read: {finding}"))
                .chain(not_measured_again(both.0, both.1))
                .chain(said_at_each(both, |was, is| too_early(was, is, &assumptions).into_iter().collect()))
                .collect(),
        };
        let answer = report.answer();
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

fn side(
    book: &Book<'_>,
    bike: &str,
    name: &SetupName,
    (with_bike, now): (bool, When),
) -> Result<Side, Trouble> {
    let setup = book.resolve(bike, name)?;
    let stood = building::stood(book, bike, setup.as_ref(), now)?;
    let whole = book.combination(bike, setup.as_ref())?;
    if setup.is_none() && !whole.findings.is_empty() {
        return Err(Trouble::findings(whole.findings));
    }
    let air = match &setup {
        Some(setup) => book.air_of(bike, setup)?,
        None => None,
    };
    let mut ran = book.outings(bike)?;
    ran.retain(|record| record.setup.is_some() && record.setup == setup.as_ref().map(|setup| setup.number));
    let called = setup.as_ref().map_or_else(|| "now".to_owned(), |setup| format!("setup {}", setup.number));
    Ok(Side {
        name: if with_bike { format!("{bike} {called}") } else { called },
        setup,
        whole,
        air,
        ran,
        stood,
    })
}
