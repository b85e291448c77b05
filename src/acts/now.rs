//! The bikes at a glance.

use crate::advice::now::glance;
use crate::advice::parts::Counted;
use crate::notebook::When;
use crate::report::history::now::{NowAnswer, WantedNow};
use crate::report::{Screen, Trouble};
use crate::store::{BikeJobs, Book, Garage};

use super::air::served;
use super::rejet::{InAir, Wants, rejet};

/// What a bike wants in the air that is kept, in short; none where none serves or there is no answer.
pub fn wanted(garage: &Garage, bike: &str, at: When, screen: &Screen) -> Option<WantedNow> {
    let kept = InAir { typed: None, place: None, is_right: &|_| false, drawn: false };
    let short =
        |wants: Wants<'_>| Ok(wants.advice.and_then(Result::ok).map(|advice| advice.in_short(screen)));
    rejet(garage, bike, &kept, (at, screen.units()), short).ok().flatten()
}

/// A bike as it stands at a moment, or all that are in use, given to whoever shows it with their jobs.
pub fn now<T>(
    garage: &Garage,
    bike: Option<&str>,
    at: When,
    show: impl FnOnce(NowAnswer<'_>, &[BikeJobs]) -> Result<T, Trouble>,
) -> Result<T, Trouble> {
    let book = Book::open(garage)?;
    let counted = Counted::in_book(&book, at)?;
    let ledger = counted.ledger(None);
    let bikes = match bike {
        Some(bike) => {
            garage.require_bike(bike)?;
            vec![bike.to_owned()]
        }
        None => counted.in_use(garage),
    };
    let jobs = book.open_jobs()?;
    let look = |bike: &String| glance(&book, bike, (&ledger, &counted.parts, &jobs), at);
    let glances = bikes.iter().map(look).collect::<Result<Vec<_>, _>>()?;
    let served = served(&book, None, None, at)?;
    show(NowAnswer::of(&glances, bike.is_some(), &served), &jobs)
}
