//! `history`: a bike's setups with their outings.

use std::collections::{BTreeMap, HashMap};

use clap::Args;

use super::Desk;
use super::order_options::OrderOptions;
use crate::advice::runs::{FittedIn, Run};
use crate::notebook::compare;
use crate::report::Trouble;
use crate::report::history::outing::OutingList;
use crate::report::history::setups as report;
use crate::store::{Book, OutingRecord, signatures};

/// Setups that a person is shown where no number is asked for.
const NEWEST: usize = 6;

/// Setups, newest first: what was changed, and how it ran
///
/// The newest six; -v has reasons, plugs, parts and builds. With --by its runs in that order: --by lap, --by air.
#[derive(Debug, Args)]
pub(super) struct History {
    /// The bike; otherwise the last one of the day
    #[arg(default_value = "", hide_default_value = true)]
    bike: String,
    /// Only the newest so many setups
    #[arg(long, value_name = "COUNT")]
    last: Option<usize>,
    /// With who recorded each, and whether git finds their commits signed
    #[arg(long)]
    signed: bool,
    #[command(flatten)]
    order: OrderOptions,
}

impl History {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let bike = &desk.bike_meant(&garage, &self.bike)?;
        let document = garage.bike(bike)?;
        let book = Book::open(&garage)?;
        let setups = book.setups(bike)?;
        let outings = book.outings(bike)?;
        let happened = crate::advice::building::by_setup(&book, &setups)?;
        // A person sees the newest few; a script, and who asks for more, all.
        let few = (!desk.screen().json && !self.order.is_given()).then_some(NEWEST);
        let most = self.last.or(few);
        let mut compared = HashMap::new();
        for pair in setups.windows(2).rev().take(most.unwrap_or(usize::MAX)) {
            let [before, after] = pair else { continue };
            let whole = |setup| book.combination(bike, Some(setup));
            compared.insert(after.number, compare(&whole(before)?.fields, &whole(after)?.fields));
        }
        // What was on the bike in each run is read only where the runs are listed.
        let fitted = self.order.is_given().then(|| FittedIn::of(&book, outings.iter())).transpose()?;
        let ordered = fitted.as_ref().map(|fitted| {
            let oldest = setups.iter().rev().take(most.unwrap_or(usize::MAX)).next_back();
            let is_shown = |run: &&OutingRecord| {
                most.is_none() || run.setup.is_some_and(|setup| oldest.is_some_and(|old| setup >= old.number))
            };
            let shown = outings.iter().rev().filter(is_shown);
            let mut runs: Vec<Run<'_>> =
                shown.map(|record| Run { record, fitted: fitted.in_run(record) }).collect();
            self.order.sort(&mut runs, |run| Some(*run));
            OutingList::new(bike, &runs, self.order.column(), Vec::new())
        });
        let mut remarks = crate::advice::standing::remarks(&book, bike)?;
        let signatures = self.signed.then(|| {
            let shown = setups.iter().rev().take(most.unwrap_or(usize::MAX));
            let commits: Vec<&str> = shown.map(|setup| setup.commit.as_str()).collect();
            // The history is told all the same.
            signatures(&garage, &commits).unwrap_or_else(|error| {
                remarks.push(format!("Whether they are signed could not be looked at. {error}"));
                BTreeMap::new()
            })
        });
        let answer = report::HistoryAnswer::of(report::History {
            bike,
            document: &document,
            setups: &setups,
            outings: &outings,
            happened: &happened,
            compared: &compared,
            most,
            signatures: signatures.as_ref(),
            remarks,
        })
        .in_order(ordered);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
