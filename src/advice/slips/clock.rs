//! A clock that is years ahead of what was recorded last, and what was dated by such a clock or by a hand: it would be the newest for
//! years.

use super::slip::{Questioned, Slip};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance, OutingChange};
use crate::notebook::{Outing, When};
use crate::store::{Book, OutingRecord, StoreError};

/// Nobody leaves a notebook for longer than this without a look at the clock when he comes back, s: two years (common practice, no
/// source).
const YEARS: i64 = 2 * 365 * 24 * 3_600;
/// Clocks and time zones are no further apart than a day, s: what a recording allows, too.
const A_DAY: i64 = 24 * 3_600;

/// What is to be asked where this machine's clock is to date something, and is years ahead of the one that dated what was recorded last.
pub fn of_clock(book: &Book<'_>, now: When) -> Result<Option<Slip>, StoreError> {
    let Some(last) = book.garage().repository().last_recorded()? else { return Ok(None) };
    let is_ahead = now.unix() - last.unix() > YEARS;
    Ok(is_ahead.then(|| Slip {
        what: Questioned::Date,
        field: "date".into(),
        question: format!(
            "The clock of this machine says {}, and what was recorded last here was recorded on {}: is the clock right?",
            now.short(),
            last.day()
        ),
        instead: Guidance::from("Set the clock, or give the day it was, like ") + CommandOption::DateLike + ".",
    }))
}

/// What is to be asked of a run that is dated days before the setup was made that it ran on: a wrong year, most likely.
pub fn before_its_setup(book: &Book<'_>, run: &OutingRecord) -> Result<Option<Slip>, StoreError> {
    let setups = book.setups(&run.bike)?;
    let ran = setups.iter().find(|setup| Some(setup.number) == run.setup);
    let made = ran.filter(|setup| setup.date.unix() - run.outing.date.unix() > 2 * A_DAY);
    Ok(made.map(|setup| Slip {
        what: Questioned::Date,
        field: "date".into(),
        question: format!(
            "{} is before setup {} was made, on {}: is the date right?",
            run.outing.date.day(),
            setup.number,
            setup.date.day()
        ),
        instead: Guidance::from("Give the day it was, like ") + CommandOption::DateLike + ".",
    }))
}

/// Whether a date lies so far ahead that no clock's slip explains it.
fn lies_ahead(date: When, now: When) -> bool {
    date.unix() > now.unix() + A_DAY
}

/// What there is to say of runs and setups of a bike that are dated ahead: they stay the newest until that day comes.
pub fn dated_ahead(book: &Book<'_>, bike: &str, now: When) -> Result<Vec<Guidance>, StoreError> {
    let runs = book.outings(bike)?;
    let mut said: Vec<Guidance> = runs
        .iter()
        .filter(|run| lies_ahead(run.outing.date, now))
        .map(|run| run_ahead(bike, &run.id, &run.outing))
        .collect();
    let setups = book.setups(bike)?;
    if let Some(setup) = setups.last().filter(|setup| lies_ahead(setup.date, now)) {
        said.push(
            Guidance::from(format!(
                "Setup {} of {} is dated {}, which lies ahead: a run logged now counts on an older one, unless it is said with it: ",
                setup.number,
                visible(bike),
                setup.date.day()
            )) + CommandOption::SetupNumber
                + ".",
        );
    }
    Ok(said)
}

/// What there is to say of one such run.
fn run_ahead(bike: &str, id: &str, outing: &Outing) -> Guidance {
    let said = format!(
        "A run of {} is dated {}, which lies ahead: it counts as the last one until its date is fixed, ",
        visible(bike),
        outing.date.short()
    );
    Guidance::from(said) + Command::MendOuting(bike.to_owned(), id.to_owned(), OutingChange::Date) + "."
}
