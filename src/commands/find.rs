//! `find`: setups, outings, builds and parts by what they hold.

use std::collections::BTreeSet;

use clap::Args;

use super::Desk;
use super::air_options::AirOptions;
use super::order_options::OrderOptions;
use crate::advice::runs::{FittedIn, Run};
use crate::notebook::When;
use crate::report::Trouble;
use crate::report::history::found::FindAnswer;
use crate::store::{Book, Condition, Hit, Question, find, places};

/// Find setups, outings, builds and parts, by field or by air
///
/// By fields, words, place, date, or air like this. Conditions look like "jetting.main>=170", "ignition.base=1.2 mm",
/// "verdict.full=lean", "coolant>60 C", "build.squish.front<0.7 mm", "part.kind=piston"; all must hold. With air options
/// the outings run in the nearest air come first: what did we run when the air was like this?
#[derive(Debug, Args)]
pub(super) struct Find {
    /// Conditions on fields; quote those with < or >
    #[arg(value_name = "CONDITION")]
    conditions: Vec<String>,
    /// Only this bike
    #[arg(long)]
    bike: Option<String>,
    /// Words in reasons and notes, each whole or as a beginning
    #[arg(long, short)]
    words: Option<String>,
    /// A part of the place's name
    #[arg(long, short)]
    place: Option<String>,
    /// Not before this date
    #[arg(long)]
    since: Option<String>,
    /// Not after this date
    #[arg(long)]
    until: Option<String>,
    /// How far the dry density may be off, in percent
    #[arg(long, value_name = "PERCENT", default_value_t = 2.0)]
    within: f64,
    #[command(flatten)]
    order: OrderOptions,
    #[command(flatten)]
    air: AirOptions,
}

impl Find {
    /// The places that are known, where none is called as was asked; else none.
    fn no_such_place(&self, book: &Book<'_>) -> Result<Option<(String, Vec<String>)>, Trouble> {
        let Some(asked) = &self.place else { return Ok(None) };
        let mut known: BTreeSet<String> =
            places(book.garage())?.0.iter().map(|place| place.title().to_owned()).collect();
        for bike in book.garage().bikes() {
            known.extend(book.outings(&bike)?.into_iter().filter_map(|record| record.outing.place));
        }
        let is_called_so = |name: &String| name.to_lowercase().contains(&asked.to_lowercase());
        let none = !known.iter().any(is_called_so);
        Ok(none.then(|| (asked.clone(), known.into_iter().collect())))
    }

    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let here = desk.moment.now.offset();
        let air = match self.air.entry(garage.is_imperial())? {
            Some(entry) => Some(entry.air()?),
            None => None,
        };
        if !(self.within.is_finite() && self.within > 0.0) {
            return Err(Trouble::request(
                Some("within"),
                format!("--within cannot be {}.", self.within),
                "Give a percentage above 0.",
            ));
        }
        let question = Question {
            bike: self.bike.clone(),
            conditions: self
                .conditions
                .iter()
                .map(|text| Condition::parse(text))
                .collect::<Result<_, _>>()?,
            words: self.words.clone(),
            place: self.place.clone(),
            since: self.since.as_deref().map(|text| When::parse_from(text, here)).transpose()?,
            until: self.until.as_deref().map(|text| When::parse_to(text, here)).transpose()?,
            air,
            within_percent: self.within,
        };
        if question.is_empty() {
            return Err(Trouble::request(
                None,
                "Nothing was asked for.",
                "Give a condition like \"jetting.main>=170\", --words, --place, --since, --until, or the air.",
            ));
        }
        let book = Book::open(&garage)?;
        let mut hits = find(&book, &question)?;
        let fitted = FittedIn::of(&book, hits.iter().filter_map(Hit::outing))?;
        if self.order.is_given() {
            let run = |record| Run { record, fitted: fitted.in_run(record) };
            let mut ordered: Vec<&Hit> = hits.iter().collect();
            self.order.sort(&mut ordered, |hit| hit.outing().map(run));
            hits = ordered.into_iter().cloned().collect();
        }
        let asked: Vec<String> =
            question.conditions.iter().map(|condition| condition.field().to_owned()).collect();
        let no_such_place = self.no_such_place(&book)?;
        let answer = FindAnswer::of(&hits, &fitted, &asked, (self.order.column(), self.words.is_some()))
            .where_no_place_is_called(no_such_place);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}
