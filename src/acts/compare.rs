//! Two setups side by side.

use super::each::said_at_each;
use crate::advice::building;
use crate::advice::derived::{derived, derived_of_each, standings};
use crate::advice::figures::Bench;
use crate::advice::maps::too_early;
use crate::advice::standing;
use crate::advice::what_if::not_measured_again;
use crate::notebook::guidance::Command;
use crate::notebook::{AirEntry, Assumptions, Combination, FieldSet, When, compare as differences};
use crate::report::{CompareAnswer, ComparisonReport, Trouble};
use crate::store::{Book, Garage, OutingRecord, SetupName, SetupRecord};

/// What is asked to be compared. Without setups: what is on disk now with the newest recorded one; with one: that one with the newest.
#[derive(Debug, Clone, Copy)]
pub struct ToCompare<'a> {
    /// The bike.
    pub bike: &'a str,
    /// The older side.
    pub from: Option<&'a SetupName>,
    /// The newer side.
    pub to: Option<&'a SetupName>,
    /// Another bike that the newer side is of.
    pub with: Option<&'a str>,
}

/// The setup that a bike ran last on a day, and what else ran on it, in a sentence.
pub fn ran_on(garage: &Garage, bike: &str, day: &str) -> Result<(SetupName, Option<String>), Trouble> {
    garage.require_bike(bike)?;
    let runs = Book::open(garage)?.outings(bike)?;
    let of_day = runs.iter().filter(|run| run.outing.date.day() == day);
    let mut ran: Vec<u32> = of_day.filter_map(|run| run.setup).collect();
    let Some(last) = ran.pop() else {
        let before = runs.iter().map(|run| run.outing.date.day()).rfind(|other| other.as_str() < day);
        let near = before.map(|near| format!(" The day before it on which it ran: {near}."));
        return Err(Trouble::request(
            Some("from"),
            format!("{bike} has no outing of {day}."),
            Command::ListOutings(Some(bike.to_owned()))
                + format!(" shows the days.{}", near.unwrap_or_default()),
        ));
    };
    ran.retain(|number| *number != last);
    ran.dedup();
    let others: Vec<String> = ran.iter().map(ToString::to_string).collect();
    let said = (!others.is_empty())
        .then(|| format!("On {day} setup {last} ran last; before it setup {}.", others.join(", ")));
    Ok((SetupName::Number(last), said))
}

/// What both sides are, for whoever draws them.
pub struct ComparedSides<'a> {
    /// Their fields, the older side first.
    pub fields: [&'a FieldSet; 2],
    /// What is assumed where nothing is written down.
    pub assumptions: &'a Assumptions,
}

/// One side of a comparison.
struct ComparedSide {
    name: String,
    setup: Option<SetupRecord>,
    whole: Combination,
    air: Option<(AirEntry, String)>,
    /// Its outings, oldest first.
    ran: Vec<OutingRecord>,
    /// When it stood as it is remembered.
    stood: When,
}

/// Compares, and gives the answer to whoever shows it, with both sides.
pub fn compare<T>(
    book: &Book<'_>,
    asked: ToCompare<'_>,
    at: When,
    show: impl FnOnce(&CompareAnswer<'_>, &ComparedSides<'_>) -> Result<T, Trouble>,
) -> Result<T, Trouble> {
    let (from, to) = match (asked.from, asked.to, asked.with) {
        (Some(from), Some(to), _) => (from.clone(), to.clone()),
        (Some(from), None, None) => (from.clone(), SetupName::Latest),
        (None, _, None) => (SetupName::Latest, SetupName::Now),
        (from, _, Some(_)) => (from.cloned().unwrap_or(SetupName::Latest), SetupName::Latest),
    };
    let how = (asked.with.is_some(), at);
    let other = asked.with.unwrap_or(asked.bike);
    let old = side(book, asked.bike, &from, how)?;
    let mut new = side(book, other, &to, how)?;
    // The newer side is the bike as it stands where nothing was recorded since.
    if building::is_on_the_bike(book, other, new.setup.as_ref())? {
        new.stood = at;
    }
    let (was, is) = (&old.whole.fields, &new.whole.fields);
    let comparison = differences(&was.of_each_where_own(is), &is.of_each_where_own(was));
    let since = match asked.with {
        None => standing::since_outing(book, asked.bike, (new.setup.as_ref(), &new.whole.fields), at)?,
        Some(_) => None,
    };
    let inside = match (&old.whole.fields.text("engine"), &new.whole.fields.text("engine")) {
        (Some(was), Some(is)) if was == is => building::inside_engine(book, is, (old.stood, new.stood))?,
        _ => None,
    };
    let assumptions = book.garage().assumptions()?;
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
        bike: if other == asked.bike { asked.bike.to_owned() } else { format!("{} and {other}", asked.bike) },
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
    let sides = ComparedSides { fields: [&old.whole.fields, &new.whole.fields], assumptions: &assumptions };
    show(&report.answer(), &sides)
}

fn side(
    book: &Book<'_>,
    bike: &str,
    name: &SetupName,
    (with_bike, now): (bool, When),
) -> Result<ComparedSide, Trouble> {
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
    Ok(ComparedSide {
        name: if with_bike { format!("{bike} {called}") } else { called },
        setup,
        whole,
        air,
        ran,
        stood,
    })
}
