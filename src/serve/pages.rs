//! Pages that are read.

use std::path::Path;

use super::asked::{Ask, Reply};
use super::{Serving, looking, mending, said};
use crate::acts::air::served;
use crate::acts::build::{asked_of, build, fields, units_typed};
use crate::acts::compare::{ComparedSides, ToCompare, compare};
use crate::acts::due::{WhichParts, due, overdue};
use crate::acts::history::history;
use crate::acts::now::now;
use crate::acts::rejet::{InAir, Wants, rejet};
use crate::advice::drawn::spark;
use crate::advice::figures::ports::port_figures;
use crate::advice::figures::{Bench, Valve};
use crate::advice::slips::Slip;
use crate::machine::Moment;
use crate::quantity::Units;
use crate::report::page::live::{
    self, BuildForm, Drawn, DrawnCylinder, FormFields, JetsPage, LogPage, LookForm, PageAt, PageFrame, Pen,
    READING, WRITTEN, is_answered,
};
use crate::report::{Screen, Trouble, air_in_short};
use crate::store::{BikeJobs, Book, BuildRecord, Garage, SetupName, SetupRecord, places};

/// Over what is said in place of a page.
const NOT_SHOWN: &str = "This cannot be shown";
/// Setups that the history shows where not all are asked for.
const NEWEST: usize = 12;
/// Setups that can be chosen to be compared: the newest.
const CHOSEN_FROM: usize = 200;

/// A garage opened for one request.
pub(super) struct Visit {
    pub(super) garage: Garage,
    pub(super) moment: Moment,
    pub(super) screen: Screen,
    pub(super) pen: Option<Pen>,
}

impl Visit {
    /// Opens it anew: whatever changed since is seen.
    pub(super) fn new(standing: &Serving) -> Result<Self, Trouble> {
        let garage = Garage::open(&standing.order.root)?;
        let screen = standing.order.screen.in_garage(garage.units()).on_a_phone();
        Ok(Self { moment: Moment::of_the_machine()?, screen, pen: standing.pen()?, garage })
    }

    /// Where a page of a bike stands.
    pub(super) fn place<'v>(&'v self, bike: Option<&'v str>, at: PageAt) -> PageFrame<'v> {
        PageFrame { bike, at, pen: self.pen.as_ref(), overdue: &[] }
    }

    /// The units to read what is typed in.
    fn now_and_units(&self) -> (crate::notebook::When, Units) {
        (self.moment.now, self.screen.units())
    }

    /// Names of known places; one that cannot be read has none.
    fn places(&self) -> Vec<String> {
        let known = places(&self.garage).map(|(known, _)| known).unwrap_or_default();
        known.iter().map(|record| record.title().to_owned()).collect()
    }
}

/// Reads what every page reads, so that the first to ask does not wait for that. What cannot be read is said by its page.
pub(super) fn read_ahead(root: &Path) {
    if let (Ok(garage), Ok(moment)) = (Garage::open(root), Moment::of_the_machine()) {
        let _ = now(&garage, None, moment.now, |_, _| Ok(()));
    }
}

/// Reads every bike's notes and weighs its record in the air of the day, so that the first to ask does not wait for that. What cannot
/// be answered is said by its page.
pub(super) fn weigh_ahead(root: &Path) {
    read_ahead(root);
    let (Ok(garage), Ok(moment)) = (Garage::open(root), Moment::of_the_machine()) else { return };
    for bike in garage.bikes() {
        let of_the_day = InAir { typed: None, place: None, is_right: &|_| false, drawn: false };
        let _ = rejet(&garage, &bike, &of_the_day, (moment.now, garage.units()), |_| Ok(()));
    }
}

/// The page that is asked for.
pub(super) fn answer(standing: &Serving, ask: &Ask) -> Reply {
    match Visit::new(standing).map(|visit| page(&visit, ask)) {
        Ok(reply) => reply,
        Err(trouble) => {
            let place = PageFrame { bike: None, at: PageAt::Aside, pen: None, overdue: &[] };
            Reply {
                status: 500,
                ..Reply::page(live::trouble(&place, &standing.order.screen, NOT_SHOWN, &trouble))
            }
        }
    }
}

fn page(visit: &Visit, ask: &Ask) -> Reply {
    let path: Vec<&str> = ask.path.iter().map(String::as_str).collect();
    let made = match path.as_slice() {
        [] => bikes(visit),
        ["due"] => due_page(visit),
        ["bike", bike, rest @ ..] => {
            if let Err(error) = visit.garage.require_bike(bike) {
                return not_there(visit, &error.into());
            }
            match rest {
                [] => bike_page(visit, bike),
                ["jets"] => Ok(jets_page(visit, bike, &ask.typed.as_meant())),
                ["log"] if visit.pen.is_some() => log_page(visit, bike, &ask.typed, Vec::new(), None),
                ["last"] if visit.pen.is_some() => mending::page(visit, bike, &ask.typed, (Vec::new(), None)),
                ["log" | "last"] => {
                    return Reply { status: 403, ..wrong(visit, Some(bike), NOT_SHOWN, &only_looked_at()) };
                }
                ["history"] => history_page(visit, bike, &ask.typed),
                ["compare"] => compare_page(visit, bike, &ask.typed),
                ["due"] => looking::page(visit, bike, &ask.typed, None),
                ["build"] => just_written(visit, bike, &ask.typed).and_then(|written| {
                    build_page(visit, bike, BuildForm { written: &written, ..BuildForm::default() })
                }),
                _ => return not_there(visit, &no_page()),
            }
        }
        _ => return not_there(visit, &no_page()),
    };
    made.map_or_else(|trouble| wrong(visit, path.get(1).copied(), NOT_SHOWN, &trouble), Reply::page)
}

fn only_looked_at() -> Trouble {
    Trouble::request(
        None,
        "The laptop lets its pages be looked at, and records nothing from them.",
        "Write it down at the laptop; `reedbook serve` alone starts pages that record.",
    )
}

fn no_page() -> Trouble {
    Trouble::request(None, "There is no such page.", "The bikes are the first page.")
}

fn not_there(visit: &Visit, trouble: &Trouble) -> Reply {
    let body =
        live::not_there(&visit.place(None, PageAt::Aside), &visit.screen, trouble, &visit.garage.bikes());
    Reply { status: 404, ..Reply::page(body) }
}

/// What cannot be done as it was asked; nothing is lost by it.
pub(super) fn wrong(visit: &Visit, bike: Option<&str>, title: &str, trouble: &Trouble) -> Reply {
    let body = live::trouble(&visit.place(bike, PageAt::Aside), &visit.screen, title, trouble);
    Reply { status: 400, ..Reply::page(body) }
}

fn bikes(visit: &Visit) -> Result<String, Trouble> {
    let document = visit.garage.document();
    now(&visit.garage, None, visit.moment.now, |answer, _| {
        Ok(live::bikes(
            &visit.place(None, PageAt::Bikes),
            document.name.as_deref().unwrap_or("Garage"),
            answer,
        ))
    })
}

fn bike_page(visit: &Visit, bike: &str) -> Result<String, Trouble> {
    now(&visit.garage, Some(bike), visit.moment.now, |answer, jobs| {
        let none = BikeJobs::default();
        let jobs = jobs.iter().find(|jobs| jobs.bike == bike).unwrap_or(&none);
        Ok(live::bike(&visit.place(Some(bike), PageAt::Now), &visit.screen, answer, jobs))
    })
}

fn jets_page(visit: &Visit, bike: &str, typed: &FormFields) -> String {
    let overdue = over(visit, bike);
    let is_right = |slip: &Slip| is_answered(typed, slip);
    let air = said::air(typed, &visit.garage, visit.screen.units()).map(|air| InAir {
        typed: air,
        place: typed.said("place"),
        is_right: &is_right,
        drawn: typed.said("drawn").is_some(),
    });
    let shown = |wants: Wants<'_>| wanted(visit, (bike, &overdue), typed, wants);
    let answered = air.and_then(|air| {
        rejet(&visit.garage, bike, &air, visit.now_and_units(), |wants| {
            let advice = wants.advice.map(|advice| advice.map_err(said::of_form));
            Ok(shown(Wants { advice, ..wants }))
        })
    });
    // What was typed stays in its fields, whatever is wrong with it.
    answered.unwrap_or_else(|trouble| {
        shown(Wants { asked: Vec::new(), advice: Some(Err(said::of_form(trouble))), jets: Vec::new() })
    })
}

fn wanted(visit: &Visit, (bike, overdue): (&str, &[String]), typed: &FormFields, wants: Wants<'_>) -> String {
    let Wants { asked, advice, jets } = wants;
    let page = JetsPage { typed, places: &visit.places(), asked, advice, jets };
    let place = PageFrame { overdue, ..visit.place(Some(bike), PageAt::Jets) };
    live::jets(&place, &visit.screen, &page)
}

/// The form for a run, with what was typed, what is asked and what is wrong.
pub(super) fn log_page(
    visit: &Visit,
    bike: &str,
    typed: &FormFields,
    asked: Vec<&Slip>,
    wrong: Option<Trouble>,
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
        mends: None,
    };
    let overdue = over(visit, bike);
    let place = PageFrame { overdue: &overdue, ..visit.place(Some(bike), PageAt::Log) };
    Ok(live::log(&place, &visit.screen, &page))
}

fn history_page(visit: &Visit, bike: &str, typed: &FormFields) -> Result<String, Trouble> {
    let all = typed.said("all").is_some();
    let most = (!all).then_some(NEWEST);
    history(&visit.garage, bike, (most, None, false), |answer| {
        Ok(live::history(&visit.place(Some(bike), PageAt::History), &visit.screen, answer, all))
    })
}

fn compare_page(visit: &Visit, bike: &str, typed: &FormFields) -> Result<String, Trouble> {
    let book = Book::open(&visit.garage)?;
    let setups = book.setups(bike)?;
    let newest: Vec<&SetupRecord> = setups.iter().rev().take(CHOSEN_FROM).collect();
    let number = |at: usize| newest.get(at).map(|setup| setup.number.to_string());
    let (usual_from, usual_to) = match newest.len() {
        0 => {
            return Err(Trouble::request(
                None,
                "Nothing is recorded of it yet.",
                "The first change records its setup.",
            ));
        }
        1 => (number(0), Some("now".to_owned())),
        _ => (number(1), number(0)),
    };
    let name = |field: &str, usual: Option<String>| -> Result<SetupName, Trouble> {
        let text = typed.said(field).map(str::to_owned).or(usual).unwrap_or_default();
        text.parse().map_err(|error| {
            Trouble::request(Some("setup"), format!("{error}."), "Choose one of those in the list.")
        })
    };
    let (from, to) = (name("from", usual_from)?, name("to", usual_to)?);
    let asked =
        ToCompare { bike, from: Some(&from), to: Some(&to), with: None, there: [None, None], said: &[] };
    let chosen = [&from, &to].map(ToString::to_string);
    let numbers: Vec<(String, String)> =
        newest.iter().map(|setup| (setup.number.to_string(), setup.why.clone())).collect();
    compare(&book, asked, visit.moment.now, |answer, sides| {
        let drawn = drawn(sides, [&from, &to]);
        let place = visit.place(Some(bike), PageAt::Compare);
        let chosen = [chosen[0].as_str(), chosen[1].as_str()];
        Ok(live::compare(&place, &visit.screen, (answer, &drawn), (&numbers, chosen)))
    })
}

/// Both sides as they are drawn, each of several cylinders by itself.
fn drawn(sides: &ComparedSides<'_>, names: [&SetupName; 2]) -> Drawn {
    let of_one = |name: Option<String>| {
        let fields = sides.fields.map(|fields| match &name {
            Some(name) if fields.cylinders().contains(name) => fields.for_cylinder(name),
            _ => fields.clone(),
        });
        let benches = [0, 1].map(|side| Bench { fields: &fields[side], assumptions: sides.assumptions });
        DrawnCylinder {
            name,
            spark: [spark(&benches[0]), spark(&benches[1])],
            ports: [port_figures(&benches[0], Valve::Open), port_figures(&benches[1], Valve::Open)],
        }
    };
    let cylinders = sides.fields[1].cylinders();
    Drawn {
        names: names.map(|name| match name {
            SetupName::Number(number) => format!("setup {number}"),
            other => other.to_string(),
        }),
        each: if cylinders.is_empty() {
            vec![of_one(None)]
        } else {
            cylinders.into_iter().map(|name| of_one(Some(name))).collect()
        },
    }
}

fn due_page(visit: &Visit) -> Result<String, Trouble> {
    let answer = due(&visit.garage, WhichParts::default(), visit.moment.now)?;
    Ok(live::due(&visit.place(None, PageAt::Due), &visit.screen, &answer, &LookForm::default()))
}

/// What is over its limit; where that cannot be read the page says why by itself.
fn over(visit: &Visit, bike: &str) -> Vec<String> {
    overdue(&visit.garage, bike, visit.moment.now).unwrap_or_default()
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

/// What was written down with the form that led here: the question and the value.
fn just_written(visit: &Visit, bike: &str, typed: &FormFields) -> Result<Vec<(String, String)>, Trouble> {
    let asked: Vec<&str> = typed.all(WRITTEN).collect();
    let book = Book::open(&visit.garage)?;
    let (_, Some(record)) = newest_build(&book, bike)? else { return Ok(Vec::new()) };
    if asked.is_empty() {
        return Ok(Vec::new());
    }
    let now = fields(&visit.garage, &record)?;
    let questions = asked_of(&book, &record, &|field| asked.contains(&field))?;
    let written = questions.into_iter().filter(|question| asked.contains(&question.field.as_str()));
    Ok(written.filter_map(|question| Some((question.words, now.get(&question.field)?.text()))).collect())
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
