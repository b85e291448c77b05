//! Finding builds and parts: by their fields, written `build.squish.front` and `part.kind`, by words and by date.

use std::collections::BTreeSet;

use rusqlite::params_from_iter;
use rusqlite::types::Value as Sql;

use crate::notebook::When;
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::index::documents::{Paper, paper_of};
use crate::store::index::hits::{FindQuery, Found, Hit};
use crate::store::writing::change::cylinders::cylinders_of;

/// Builds and parts that answer a question; those of a bike are those of the engines it had.
pub(super) fn paper_hits(
    book: &Book<'_>,
    question: &FindQuery,
    words: Option<&BTreeSet<String>>,
) -> Result<Vec<Hit>, StoreError> {
    let mut hits = Vec::new();
    if question.air.is_some() || question.place.is_some() {
        return Ok(hits);
    }
    let engines = engines(book, question)?;
    let is_asked = |paper| {
        question.conditions.iter().all(|one| paper_of(one.field()).is_some_and(|(of, _, _)| of == paper))
    };
    if is_asked(Paper::Build) {
        let files = files(book, question, Paper::Build)?;
        for engine in &engines {
            for record in book.builds(engine)? {
                let file = crate::store::index::rows::path_text(&record.file);
                let words_fit = words.is_none_or(|places| places.contains(&format!("build {file}")));
                if files.contains(&file) && words_fit && question.in_time(record.build.date) {
                    hits.push(Hit { found: Found::Build(Box::new(record)), air_off_percent: None });
                }
            }
        }
    }
    if is_asked(Paper::Part) {
        let files = files(book, question, Paper::Part)?;
        for record in book.parts()? {
            let file = crate::store::index::rows::path_text(&record.file);
            let words_fit = words.is_none_or(|places| places.contains(&format!("part {file}")));
            let was_in = record.part.events.values().filter_map(|event| event.engine.as_deref());
            let engine_fits =
                question.bike.is_none() || was_in.into_iter().any(|name| engines.contains(name));
            let dates: Vec<When> = record.part.events.values().map(|event| event.date).collect();
            let in_time = question.is_timeless() || dates.iter().any(|date| question.in_time(*date));
            if files.contains(&file) && words_fit && engine_fits && in_time {
                let date = dates.into_iter().max().unwrap_or_default();
                hits.push(Hit { found: Found::Part(Box::new(record), date), air_off_percent: None });
            }
        }
    }
    Ok(hits)
}

/// The engines that are looked at: all of them, or those a bike ever had.
fn engines(book: &Book<'_>, question: &FindQuery) -> Result<BTreeSet<String>, StoreError> {
    let names = match &question.bike {
        None => book.garage().engines(),
        Some(bike) => book.setups(bike)?.into_iter().filter_map(|setup| setup.engine).collect(),
    };
    Ok(names.into_iter().collect())
}

/// Files for which all conditions hold.
fn files(book: &Book<'_>, question: &FindQuery, paper: Paper) -> Result<BTreeSet<String>, StoreError> {
    let mut sql = "SELECT file FROM documents WHERE kind = ?".to_owned();
    let mut parameters = vec![Sql::Text(paper.word().to_owned())];
    let mut cylinders = BTreeSet::new();
    for engine in book.garage().engines().into_iter().filter(|_| !question.conditions.is_empty()) {
        cylinders.extend(cylinders_of(book.garage(), &engine)?);
    }
    let cylinders: Vec<String> = cylinders.into_iter().collect();
    for condition in &question.conditions {
        condition.add(("document_fields", "file"), &cylinders, (&mut sql, &mut parameters))?;
    }
    let mut statement = book.index().connection().prepare(&sql)?;
    let rows = statement.query_map(params_from_iter(parameters), |row| row.get(0))?;
    Ok(rows.collect::<Result<_, _>>()?)
}
