//! Two setups side by side.

use std::collections::BTreeMap;

use super::each::said_at_each;
use crate::advice::building;
use crate::advice::derived::{derived, derived_of_each, standings};
use crate::advice::figures::Bench;
use crate::advice::held;
use crate::advice::maps::too_early;
use crate::advice::standing;
use crate::advice::what_if::not_measured_again;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{AirEntry, Assumptions, Combination, Doubted, FieldSet, When, compare as differences};
use crate::report::history::setups::sides::RanAsCompared;
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
    /// What named the sides beside their setups.
    pub there: [Option<&'a RanThere>; 2],
    /// What is to be said of the days or places that named a side, in sentences.
    pub said: &'a [String],
}

/// What names a side by when or where it ran: only those of its runs are told.
#[derive(Debug, Clone)]
pub enum RanThere {
    /// A day, like 2026-05-16.
    Day(String),
    /// A part of a place's name.
    Place(String),
}

impl RanThere {
    fn is_of(&self, run: &OutingRecord) -> bool {
        match self {
            Self::Day(day) => run.outing.date.day() == *day,
            Self::Place(place) => {
                let wanted = place.to_lowercase();
                run.outing.place.as_deref().is_some_and(|place| place.to_lowercase().contains(&wanted))
            }
        }
    }
}

/// The setup that a bike ran last on a day, and what else ran on it, in a sentence.
pub fn ran_on(garage: &Garage, bike: &str, day: &str) -> Result<(SetupName, Option<String>), Trouble> {
    garage.require_bike(bike)?;
    let runs = Book::open(garage)?.outings(bike)?;
    let there = RanThere::Day(day.to_owned());
    let of_day = runs.iter().filter(|run| there.is_of(run));
    let Some((last, before)) = last_and_before(of_day) else {
        let before = runs.iter().map(|run| run.outing.date.day()).rfind(|other| other.as_str() < day);
        let near = before.map(|near| format!(" The day before it on which it ran: {near}."));
        return Err(Trouble::request(
            Some("from"),
            format!("{bike} has no outing of {day}."),
            Command::ListOutings(Some(bike.to_owned()))
                + format!(" shows the days.{}", near.unwrap_or_default()),
        ));
    };
    let said =
        (!before.is_empty()).then(|| format!("On {day} setup {last} ran last; before it setup {before}."));
    Ok((SetupName::Number(last), said))
}

/// The setup that a bike ran last at a place, by a part of its name, and what is to be said of it, in a sentence.
pub fn ran_at(garage: &Garage, bike: &str, place: &str) -> Result<(SetupName, String), Trouble> {
    garage.require_bike(bike)?;
    let runs = Book::open(garage)?.outings(bike)?;
    let asked = RanThere::Place(place.to_owned());
    let there = |run: &&OutingRecord| asked.is_of(run);
    let Some((last, before)) = last_and_before(runs.iter().filter(there)) else {
        return Err(Trouble::request(
            Some("from"),
            format!("{bike} has no setup called \"{}\", and no outing at such a place.", visible(place)),
            Guidance::from(
                "Name a number, latest, proven or now, the day that it ran on, like 2026-05-16, or a place. ",
            ) + Command::ListOutings(Some(bike.to_owned()))
                + " shows days and places.",
        ));
    };
    let newest = runs.iter().rfind(|run| there(run) && run.setup == Some(last));
    let (named, day) = newest.map_or_else(Default::default, |run| {
        (run.outing.place.as_deref().map(visible).unwrap_or_default(), run.outing.date.day())
    });
    let before = if before.is_empty() { String::new() } else { format!("; before it setup {before}") };
    Ok((SetupName::Number(last), format!("At {named} setup {last} ran last, {day}{before}.")))
}

/// The setup of the last of these runs, and the others that ran before it.
fn last_and_before<'r>(runs: impl Iterator<Item = &'r OutingRecord>) -> Option<(u32, String)> {
    let mut ran: Vec<u32> = runs.filter_map(|run| run.setup).collect();
    let last = ran.pop()?;
    ran.retain(|number| *number != last);
    ran.dedup();
    Some((last, ran.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")))
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
    /// Setups that may have been on the bike in an outing instead, by its identity.
    instead: BTreeMap<String, Vec<u32>>,
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
    let [there_from, there_to] = asked.there;
    let old = side(book, asked.bike, (&from, there_from), how)?;
    let mut new = side(book, other, (&to, there_to), how)?;
    // The newer side is the bike as it stands where nothing was recorded since.
    if there_to.is_none() && building::is_on_the_bike(book, other, new.setup.as_ref())? {
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
        ran: (
            RanAsCompared { outings: &old.ran, instead: &old.instead },
            RanAsCompared { outings: &new.ran, instead: &new.instead },
        ),
        derived: &derived,
        standings,
        since: since.as_ref(),
        inside: inside.as_ref(),
        remarks: asked
            .said
            .iter()
            .cloned()
            .chain(findings.map(|finding| format!("could not be read: {finding}")))
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
    (name, there): (&SetupName, Option<&RanThere>),
    (with_bike, now): (bool, When),
) -> Result<ComparedSide, Trouble> {
    let setup = book.resolve(bike, name)?;
    let mut stood = building::stood(book, bike, setup.as_ref(), now)?;
    let whole = book.combination(bike, setup.as_ref())?;
    if setup.is_none() && !whole.findings.is_empty() {
        return Err(Trouble::findings(whole.findings));
    }
    let mut air = match &setup {
        Some(setup) => book.air_of(bike, setup)?,
        None => None,
    };
    let mut ran = book.outings(bike)?;
    ran.retain(|record| record.setup.is_some() && record.setup == setup.as_ref().map(|setup| setup.number));
    let mut called =
        setup.as_ref().map_or_else(|| "now".to_owned(), |setup| format!("setup {}", setup.number));
    if let Some(there) = there {
        ran.retain(|record| there.is_of(record));
        stood = ran.last().map_or(stood, |last| last.outing.date);
        let with_air = ran
            .iter()
            .rev()
            .find(|record| !record.outing.doubts(Doubted::Air) && record.outing.air.is_some());
        air = with_air.and_then(|record| {
            Some((record.outing.air.clone()?, format!("ran on {}", record.outing.date.day())))
        });
        if let RanThere::Day(day) = there {
            called = format!("{called} on {day}");
        }
    }
    let mut instead = BTreeMap::new();
    for record in ran.iter().filter(|record| held::is_setup_open(&record.outing)) {
        instead.insert(record.id.clone(), held::may_have_run_instead(book, record)?);
    }
    Ok(ComparedSide {
        name: if with_bike { format!("{bike} {called}") } else { called },
        setup,
        whole,
        air,
        ran,
        instead,
        stood,
    })
}
