//! Pages that hold a form: for a run, and for the readings of a build.

use crate::acts::air::served;
use crate::acts::build::{asked_of, build, units_typed};
use crate::advice::slips::Slip;
use crate::quantity::Units;
use crate::report::page::live::{self, BuildForm, FormFields, LogPage, PageAt, PageFrame, READING};
use crate::report::{Trouble, air_in_short};
use crate::serve::standing::{Visit, over};
use crate::store::{Book, BuildRecord};

/// The form for a run, with what was typed, what is asked, what is wrong, and what was on the bike where no setup says it.
pub(super) fn log_page(
    visit: &Visit,
    bike: &str,
    typed: &FormFields,
    (asked, wrong, as_it_ran): (Vec<&Slip>, Option<Trouble>, Option<String>),
) -> Result<String, Trouble> {
    let book = Book::open(&visit.garage)?;
    let latest = book.latest(bike)?;
    // An air that does not serve is none; why stands with the jets.
    let kept = served(&book, None, typed.said("place"), visit.moment.now).unwrap_or_default();
    let air = kept.entry.as_ref().zip(kept.words());
    let page = LogPage {
        typed,
        places: &visit.places(),
        cylinders: &book.combination(bike, latest.as_ref())?.fields.cylinders(),
        jobs: &book.open_jobs_of(bike)?,
        setup: latest.map(|setup| setup.number),
        air: air.map(|(air, words)| format!("{}, {words}", air_in_short(&visit.screen, air))),
        asked,
        wrong,
        as_it_ran,
        mends: None,
    };
    let overdue = over(visit, bike);
    let place = PageFrame { overdue: &overdue, ..visit.place(Some(bike), PageAt::Log) };
    Ok(live::log(&place, &visit.screen, &page))
}

/// The build of a bike's engine, with what was typed, what is asked and what is wrong.
pub(super) fn build_page(visit: &Visit, bike: &str, form: BuildForm<'_>) -> Result<String, Trouble> {
    let overdue = over(visit, bike);
    let place = PageFrame { overdue: &overdue, ..visit.place(Some(bike), PageAt::Build) };
    let book = Book::open(&visit.garage)?;
    let (engine, record) = newest_build(&book, bike)?;
    let Some(record) = record else { return Ok(live::measure(&place, engine.as_deref())) };
    let answer = build(&book, &record, visit.moment.now)?;
    // What was typed is asked for again, whether another wrote it down since or not.
    let questions = asked_of(&book, &record, &|field| !form.typed.of_two(READING, field).is_empty())?;
    let asked_in = asked_in(visit, (&book, &record), &form.typed)?;
    let form = BuildForm { questions: &questions, asked_in, ..form };
    Ok(live::build(&place, &visit.screen, (&record, &answer), &form))
}

/// The units in which a bare number is asked for, and was where the form says it: whoever typed saw those.
pub(super) fn asked_in(
    visit: &Visit,
    (book, record): (&Book<'_>, &BuildRecord),
    typed: &FormFields,
) -> Result<Units, Trouble> {
    let (shown, usual) = (visit.screen.units(), visit.garage.units());
    match live::asked_in(typed) {
        Some(units) => Ok(units),
        // Wanted so at the laptop.
        None if shown != usual => Ok(shown),
        None => units_typed(book, record, usual),
    }
}

/// The engine of a bike and its newest build, where there is one.
pub(super) fn newest_build(
    book: &Book<'_>,
    bike: &str,
) -> Result<(Option<String>, Option<BuildRecord>), Trouble> {
    let whole = book.combination(bike, None)?;
    let Some(engine) = whole.fields.text("engine").map(str::to_owned) else { return Ok((None, None)) };
    book.garage().require_engine(&engine)?;
    let newest = book.builds(&engine)?.into_iter().max_by_key(|record| record.build.date.unix());
    Ok((Some(engine), newest))
}
