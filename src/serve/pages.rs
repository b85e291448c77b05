//! Pages that are read.

use super::asked::{Ask, Reply};
use super::{looking, mending, said};
use crate::acts::build::{asked_of, fields};
use crate::acts::compare::{ComparedSides, ToCompare, compare};
use crate::acts::due::{WhichParts, due};
use crate::acts::history::history;
use crate::acts::now::now;
use crate::acts::rejet::{InAir, Wants, rejet};
use crate::advice::drawn::spark;
use crate::advice::figures::ports::port_figures;
use crate::advice::figures::{Bench, Valve};
use crate::advice::slips::Slip;
use crate::report::Trouble;
use crate::report::page::live::{
    self, BuildForm, Drawn, DrawnCylinder, FormFields, JetsPage, LookForm, PageAt, PageFrame, WRITTEN,
    is_answered,
};
use crate::serve::forms::{build_page, log_page, newest_build};
use crate::serve::standing::{Serving, Visit, over, wrong};
use crate::store::{BikeJobs, Book, SetupName, SetupRecord};

/// Over what is said in place of a page.
const NOT_SHOWN: &str = "This cannot be shown";
/// Setups that the history shows where not all are asked for.
const NEWEST: usize = 12;
/// Setups that can be chosen to be compared: the newest.
const CHOSEN_FROM: usize = 200;

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
                ["log"] if visit.pen.is_some() => log_page(visit, bike, &ask.typed, (Vec::new(), None, None)),
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

fn bikes(visit: &Visit) -> Result<String, Trouble> {
    let document = visit.garage.document();
    now(&visit.garage, None, visit.moment.now, |answer, _| {
        Ok(live::bikes(
            &visit.place(None, PageAt::Bikes),
            document.name.as_deref().unwrap_or("Garage"),
            &answer,
        ))
    })
}

fn bike_page(visit: &Visit, bike: &str) -> Result<String, Trouble> {
    now(&visit.garage, Some(bike), visit.moment.now, |answer, jobs| {
        let none = BikeJobs::default();
        let jobs = jobs.iter().find(|jobs| jobs.bike == bike).unwrap_or(&none);
        Ok(live::bike(&visit.place(Some(bike), PageAt::Now), &visit.screen, &answer, jobs))
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
    // The newest beside itself shows nothing: asked for alone it stands beside the one before.
    let is_alone = typed.said("to").is_none() && typed.said("from") == number(0).as_deref();
    let name = |field: &str, usual: Option<String>| -> Result<SetupName, Trouble> {
        let said = typed.said(field).filter(|_| !is_alone).map(str::to_owned);
        let text = said.or(usual).unwrap_or_default();
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
