//! Questions to the index: setups and outings by conditions on fields, by words, by place and date, by nearness of air.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::{params_from_iter, types::Value as Sql};

use crate::notebook::When;
use crate::notebook::fields::cylinder::{NAMES, own_of};
use crate::notebook::guidance::{CommandOption, Guidance};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::index::condition::Condition;
use crate::store::index::documents::paper_of;
use crate::store::index::find_papers::paper_hits;
use crate::store::index::hits::{FindQuery, Found, Hit};

/// Answers a question: newest first, or nearest air first.
pub fn find(book: &Book<'_>, question: &FindQuery) -> Result<Vec<Hit>, StoreError> {
    if let Some(bike) = &question.bike {
        book.garage().require_bike(bike)?;
    }
    let bikes = match &question.bike {
        Some(bike) => vec![bike.clone()],
        None => book.garage().bikes(),
    };
    if question.conditions.iter().any(|condition| own_of(condition.field()).is_some()) {
        let mut cylinders = BTreeSet::new();
        for bike in &bikes {
            cylinders.extend(cylinders_of_bike(book, bike)?);
        }
        let cylinders: Vec<String> = cylinders.into_iter().collect();
        question.conditions.iter().try_for_each(|one| one.require_known_cylinder(&cylinders))?;
    }
    let words = question.words.as_deref().map(|words| places_of_words(book, words)).transpose()?;
    let mut hits = Vec::new();
    let is_of_papers = |condition: &Condition| paper_of(condition.field()).is_some();
    let papers_asked = question.conditions.iter().all(is_of_papers);
    let bikes_asked = !question.conditions.iter().any(is_of_papers);
    for bike in bikes.iter().filter(|_| bikes_asked) {
        let setups = fitting_setups(book, bike, question)?;
        hits.extend(outing_hits(book, bike, question, &setups, words.as_ref())?);
        if !question.asks_of_outings() {
            hits.extend(setup_hits(book, bike, question, &setups, words.as_ref())?);
        }
    }
    if papers_asked {
        hits.extend(paper_hits(book, question, words.as_ref())?);
    }
    in_order(&mut hits, question);
    Ok(hits)
}

/// Newest first, or nearest air first where air was asked for.
pub fn in_order(hits: &mut [Hit], question: &FindQuery) {
    match question.air {
        Some(_) => hits.sort_by(|a, b| off(a).total_cmp(&off(b)).then_with(|| date(b).cmp(&date(a)))),
        None => hits.sort_by_cached_key(|hit| std::cmp::Reverse((date(hit), last_of_one_moment(hit)))),
    }
}

/// Of runs of one moment the one that counts as the last, as in the book; before what else was recorded then.
fn last_of_one_moment(hit: &Hit) -> Option<(Option<u32>, u8)> {
    hit.outing().map(|run| (run.setup, run.outing.leanness()))
}

fn off(hit: &Hit) -> f64 {
    hit.air_off_percent.map_or(f64::INFINITY, f64::abs)
}

fn date(hit: &Hit) -> When {
    match &hit.found {
        Found::Setup(setup) => setup.date,
        Found::Outing(record) => record.outing.date,
        Found::Build(record) => record.build.date,
        Found::Part(_, date) => *date,
    }
}

/// The names of the cylinders that a bike's setups had.
pub fn cylinders_of_bike(book: &Book<'_>, bike: &str) -> Result<Vec<String>, StoreError> {
    // The field as it is written: only so is the index of the few that have it used.
    let mut statement = book.index().connection().prepare_cached(&format!(
        "SELECT DISTINCT text FROM setup_fields JOIN setups USING (position) WHERE field = '{NAMES}' AND bike = ?1",
    ))?;
    let lists = statement.query_map([bike], |row| row.get::<_, String>(0))?.collect::<Result<Vec<_>, _>>()?;
    let names: BTreeSet<String> = lists.iter().flat_map(|list| list.split(", ").map(str::to_owned)).collect();
    Ok(names.into_iter().collect())
}

/// Identities of the setups of a bike for which all conditions on setups hold, with their place in the index.
fn fitting_setups(
    book: &Book<'_>,
    bike: &str,
    question: &FindQuery,
) -> Result<BTreeMap<String, i64>, StoreError> {
    let cylinders = cylinders_of_bike(book, bike)?;
    let mut sql = "SELECT id, position FROM setups WHERE bike = ?".to_owned();
    let mut parameters = vec![Sql::Text(bike.to_owned())];
    for condition in question.conditions.iter().filter(|condition| !condition.is_of_outing()) {
        condition.add(("setup_fields", "position"), &cylinders, (&mut sql, &mut parameters))?;
    }
    let mut statement = book.index().connection().prepare(&sql)?;
    let rows = statement.query_map(params_from_iter(parameters), |row| Ok((row.get(0)?, row.get(1)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

fn setup_hits(
    book: &Book<'_>,
    bike: &str,
    question: &FindQuery,
    fitting: &BTreeMap<String, i64>,
    words: Option<&BTreeSet<String>>,
) -> Result<Vec<Hit>, StoreError> {
    let mut hits = Vec::new();
    for setup in book.setups(bike)? {
        let Some(position) = fitting.get(&setup.id).filter(|_| question.in_time(setup.date)) else {
            continue;
        };
        let place = format!("setup {position}");
        if words.is_some_and(|places| !places.contains(&place)) {
            continue;
        }
        let air = setup.air.clone();
        hits.extend(question.hit(Found::Setup(setup), air.as_ref()));
    }
    Ok(hits)
}

fn outing_hits(
    book: &Book<'_>,
    bike: &str,
    question: &FindQuery,
    setups: &BTreeMap<String, i64>,
    words: Option<&BTreeSet<String>>,
) -> Result<Vec<Hit>, StoreError> {
    let is_asked = question.place.is_some() || question.conditions.iter().any(Condition::is_of_outing);
    let files = is_asked.then(|| fitting_outings(book, bike, question)).transpose()?;
    let known = book.setups(bike)?;
    let setup_conditions = question.conditions.iter().any(|condition| !condition.is_of_outing());
    let mut hits = Vec::new();
    for record in book.outings(bike)? {
        let file = crate::store::index::rows::path_text(&record.file);
        let ran = record.setup.and_then(|number| known.iter().find(|setup| setup.number == number));
        let setup_fits = !setup_conditions || ran.is_some_and(|setup| setups.contains_key(&setup.id));
        let words_fit = words.is_none_or(|places| places.contains(&format!("outing {file}")));
        let file_fits = files.as_ref().is_none_or(|files| files.contains(&file));
        if !file_fits || !setup_fits || !words_fit || !question.in_time(record.outing.date) {
            continue;
        }
        let air = record.outing.air.clone();
        hits.extend(question.hit(Found::Outing(record), air.as_ref()));
    }
    Ok(hits)
}

/// Files of the outings of a bike for which all conditions on outings hold.
fn fitting_outings(
    book: &Book<'_>,
    bike: &str,
    question: &FindQuery,
) -> Result<BTreeSet<String>, StoreError> {
    let cylinders = cylinders_of_bike(book, bike)?;
    let mut sql = "SELECT file FROM outings WHERE bike = ?".to_owned();
    let mut parameters = vec![Sql::Text(bike.to_owned())];
    for condition in question.conditions.iter().filter(|condition| condition.is_of_outing()) {
        condition.add(("outing_fields", "file"), &cylinders, (&mut sql, &mut parameters))?;
    }
    if let Some(place) = &question.place {
        sql.push_str(" AND instr(lower(place), lower(?)) > 0");
        parameters.push(Sql::Text(place.clone()));
    }
    let mut statement = book.index().connection().prepare(&sql)?;
    let rows = statement.query_map(params_from_iter(parameters), |row| row.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Where words stand; each word is looked for whole or as a beginning, and all must be there.
fn places_of_words(book: &Book<'_>, words: &str) -> Result<BTreeSet<String>, StoreError> {
    let terms: Vec<_> = words
        .split_whitespace()
        .map(|word| word.chars().filter(|c| c.is_alphanumeric()).collect::<String>())
        .filter(|word| !word.is_empty())
        .map(|word| format!("\"{word}\"*"))
        .collect();
    if terms.is_empty() {
        return Err(StoreError::request(
            Some("words"),
            "There is no word to look for.",
            Guidance::from("Give words like ") + CommandOption::WordsLike + ".",
        ));
    }
    let mut statement = book.index().connection().prepare("SELECT place FROM words WHERE words MATCH ?1")?;
    let rows = statement.query_map([terms.join(" ")], |row| row.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}
