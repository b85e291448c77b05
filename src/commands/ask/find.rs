//! `find`: setups, outings, builds and parts by what they hold.

use std::collections::BTreeSet;

use clap::Args;

use crate::advice::learning::sign_of_lean;
use crate::advice::runs::{FittedIn, RunOnBike};
use crate::commands::desk::Desk;
use crate::commands::options::air::AirOptions;
use crate::commands::options::order::OrderOptions;
use crate::notebook::When;
use crate::notebook::fields::cylinder::{common, own_of};
use crate::report::Trouble;
use crate::report::history::found::FindAnswer;
use crate::store::{Book, Condition, FindQuery, Hit, cylinders_of_bike, find, in_order, places};

/// The word of a lean verdict.
const LEAN: &str = "lean";

/// Find setups, outings, builds and parts, by field or by air
///
/// By fields, words, place, date, or air like this. Conditions look like "jetting.main>=170", "ignition.base=1.2 mm",
/// "verdict.full=lean", "coolant>60 C", "build.squish.front<0.7 mm", "part.kind=piston"; all must hold. With air options
/// the outings run in the nearest air come first: what did we run when the air was like this?
#[derive(Debug, Args)]
pub(in crate::commands) struct Find {
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
    /// A bike named alone is meant as one, where no other is asked about.
    fn bike_and_conditions(&self, bikes: &[String]) -> (Option<String>, Vec<&str>) {
        let mut conditions: Vec<&str> = self.conditions.iter().map(String::as_str).collect();
        if self.bike.is_none()
            && let Some(at) = conditions.iter().position(|word| bikes.iter().any(|bike| bike == word))
        {
            return (Some(conditions.remove(at).to_owned()), conditions);
        }
        (self.bike.clone(), conditions)
    }

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

    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
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
        let (bike, conditions) = self.bike_and_conditions(&garage.bikes());
        let question = FindQuery {
            bike,
            conditions: conditions.into_iter().map(Condition::parse).collect::<Result<_, _>>()?,
            words: self.words.clone(),
            place: self.place.clone(),
            since: self.since.as_deref().map(|text| When::parse_from(text, here)).transpose()?,
            until: self.until.as_deref().map(|text| When::parse_to(text, here)).transpose()?,
            air,
            within_percent: self.within,
        };
        // Of a bike alone its runs are asked for.
        let only_runs = question.is_empty() && question.bike.is_some();
        if question.is_empty() && !only_runs {
            return Err(Trouble::request(
                None,
                "Nothing was asked for.",
                "Give a condition like \"jetting.main>=170\", --words, --place, --since, --until, the air, or a bike alone.",
            ));
        }
        let book = Book::open(&garage)?;
        let mut hits = as_they_ran(&book, &question, find(&book, &question)?)?;
        if only_runs {
            hits.retain(|hit| hit.outing().is_some());
        }
        let fitted = FittedIn::of(&book, hits.iter().filter_map(Hit::outing))?;
        if self.order.is_given() {
            let run = |record| RunOnBike { record, fitted: fitted.in_run(record) };
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

/// What full throttle is asked of is how it ran: a run whose notes say that it pinked or seized was lean, whatever was ticked; at a
/// cylinder where it is asked of one, else at any.
fn as_they_ran(book: &Book<'_>, question: &FindQuery, mut hits: Vec<Hit>) -> Result<Vec<Hit>, Trouble> {
    let is_of_full = |condition: &&Condition| common(condition.field()) == FULL;
    let of_full: Vec<&Condition> = question.conditions.iter().filter(is_of_full).collect();
    if of_full.is_empty() {
        return Ok(hits);
    }
    let lets_pass = |hit: &Hit, condition: &Condition| !has_sign(hit, condition) || condition.accepts(LEAN);
    hits.retain(|hit| of_full.iter().all(|condition| lets_pass(hit, condition)));
    let found = hits.len();
    for by_words in of_full.iter().filter(|condition| condition.accepts(LEAN)) {
        // What its words say is left out of the question.
        let others = question.conditions.iter().filter(|other| other.field() != by_words.field());
        let wider = FindQuery { conditions: others.cloned().collect(), ..question.clone() };
        let of = own_of(by_words.field()).map(|(name, _)| name);
        for hit in find(book, &wider)? {
            // A bike without that cylinder has no run of it.
            let bike = hit.outing().map_or("", |record| &record.bike);
            if let Some(name) = of
                && !cylinders_of_bike(book, bike)?.iter().any(|own| own == name)
            {
                continue;
            }
            let is_new = hits.iter().all(|known| !are_one(known, &hit));
            let holds =
                has_sign(&hit, by_words) && of_full.iter().all(|condition| lets_pass(&hit, condition));
            if is_new && holds {
                hits.push(hit);
            }
        }
    }
    if hits.len() > found {
        in_order(&mut hits, question);
    }
    Ok(hits)
}

/// The field that words in the notes speak of.
const FULL: &str = "verdict.full";

/// Whether the words of a run say that it was lean at the cylinder that a condition names, or at any.
fn has_sign(hit: &Hit, condition: &Condition) -> bool {
    let Some(record) = hit.outing() else { return false };
    match own_of(condition.field()) {
        Some((name, _)) => sign_of_lean(&record.outing.for_cylinder(name)).is_some(),
        None => record.outing.at_each_cylinder().iter().any(|(_, outing)| sign_of_lean(outing).is_some()),
    }
}

/// Whether two finds are one run.
fn are_one(one: &Hit, other: &Hit) -> bool {
    let key = |hit: &Hit| hit.outing().map(|record| (record.bike.clone(), record.id.clone()));
    key(one).is_some() && key(one) == key(other)
}
