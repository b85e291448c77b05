//! Builds and parts through the store: one commit for each thing that is written down, nothing lost whatever happens, and an
//! index that is never more than a copy.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly

use crate::common;

mod at_once;
mod builds;
mod by_hand;
mod finding;
mod moves;
mod ready;
mod refused;
mod slips;
mod twins;

use common::Shed;
use jiff::tz::Offset;
use reedbook::machine::Moment;
use reedbook::notebook::{Deed, Entered, Scope, When};
use reedbook::store::{
    Book, BuildChange, BuildRecord, Garage, NewBuild, NewPart, PartDeed, PartFitting, PartRecord, Recording,
    StoreError, Tick, act_on_part, add_part, begin_build, measure, tick,
};

/// An engine of the shed.
const ENGINE: &str = "moth-engine";

fn when(text: &str) -> When {
    When::parse(text, Offset::UTC).unwrap()
}

/// A present, with identities that are never the same.
fn moment(text: &str) -> Moment {
    Moment { now: when(text), seed: None }
}

fn garage(shed: &Shed) -> Garage {
    Garage::open(&shed.root()).unwrap()
}

/// FIELD=VALUE, as at the command line.
fn entered(typed: &[&str]) -> Vec<Entered> {
    typed.iter().map(|text| Entered::parse(text).unwrap()).collect()
}

fn new_build(engine: &str, scope: Scope, typed: &[&str]) -> NewBuild {
    NewBuild {
        engine: engine.to_owned(),
        scope,
        at: None,
        why: Some("new piston".to_owned()),
        by: Some("Ana".to_owned()),
        date: None,
        entered: entered(typed),
        gauges_as_before: true,
    }
}

/// Begins a build of the top end.
#[track_caller]
fn begun(shed: &Shed, day: &str, typed: &[&str]) -> BuildRecord {
    begin_build(&garage(shed), &new_build(ENGINE, Scope::TopEnd, typed), &moment(day)).unwrap()
}

fn measured(shed: &Shed, day: &str, recording: Recording, typed: &[&str]) -> Result<BuildRecord, StoreError> {
    let change = BuildChange { which: None, entered: entered(typed) };
    measure(&garage(shed), ENGINE, &change, recording, &moment(day))
}

fn ticked(shed: &Shed, day: &str, steps: &[&str], more: Tick) -> Result<BuildRecord, StoreError> {
    let steps = steps.iter().map(|name| (*name).to_owned()).collect();
    tick(&garage(shed), ENGINE, &Tick { steps, ..more }, Recording::Now, &moment(day))
}

fn part(name: &str, typed: &[&str], fitted: Option<(&str, Option<&str>)>) -> NewPart {
    let fitted = fitted.map(|(engine, old)| PartFitting {
        engine: engine.to_owned(),
        instead_of: old.map(str::to_owned),
        ..PartFitting::default()
    });
    NewPart { name: name.to_owned(), entered: entered(typed), fitted, date: None, by: None }
}

fn deed(part: &str, did: Deed) -> PartDeed {
    PartDeed { part: part.to_owned(), did, date: None, fitting: None, moved: false, said: Vec::new() }
}

fn fitted(part: &str, engine: &str) -> PartDeed {
    let fitting = PartFitting { engine: engine.to_owned(), ..PartFitting::default() };
    PartDeed { fitting: Some(fitting), ..deed(part, Deed::Fitted) }
}

/// A part that goes in for another.
fn fitted_for(part: &str, engine: &str, old: &str) -> PartDeed {
    let instead_of = Some(old.to_owned());
    let fitting = PartFitting { engine: engine.to_owned(), instead_of, ..PartFitting::default() };
    PartDeed { fitting: Some(fitting), ..deed(part, Deed::Fitted) }
}

#[track_caller]
fn added(shed: &Shed, day: &str, new: &NewPart) -> PartRecord {
    add_part(&garage(shed), new, &moment(day)).unwrap()
}

fn acted(shed: &Shed, day: &str, deed: &PartDeed) -> Result<PartRecord, StoreError> {
    act_on_part(&garage(shed), deed, &moment(day))
}

/// What happened to a part, in order: what, and in which engine it is since.
fn story(shed: &Shed, name: &str) -> Vec<String> {
    let garage = garage(shed);
    let record = Book::open(&garage).unwrap().part(name).unwrap();
    let told = record.part.events_in_order().into_iter().map(|(_, event)| {
        let engine = event.engine.as_deref().map(|engine| format!(" {engine}")).unwrap_or_default();
        format!("{} {}{engine}", event.date.day(), event.did.word())
    });
    told.collect()
}

fn commits(shed: &Shed) -> usize {
    shed.git(&["rev-list", "--count", "HEAD"]).trim().parse().unwrap()
}

/// Subject, trailers and both dates of the newest commit.
fn newest(shed: &Shed) -> (String, Vec<String>, String, String) {
    let show = |format: &str| shed.git(&["log", "-1", &format!("--format={format}")]).trim().to_owned();
    let trailers = show("%(trailers:only,unfold)").lines().map(str::to_owned).collect();
    (show("%s"), trailers, show("%aI"), show("%cI"))
}

/// Files that the newest commit touches, with what became of them.
fn touched(shed: &Shed) -> Vec<String> {
    let shown = shed.git(&["show", "--name-status", "--format=", "HEAD"]);
    shown.lines().map(|line| line.replace('\t', " ")).collect()
}

/// Everything a book remembers of engines and parts.
fn memory(garage: &Garage, book: &Book<'_>) -> String {
    let mut text = format!("{:#?} {:#?}\n", book.parts().unwrap(), book.broken_parts().unwrap());
    for engine in garage.engines() {
        text +=
            &format!("{:#?} {:#?}\n", book.builds(&engine).unwrap(), book.broken_builds(&engine).unwrap());
    }
    text
}

/// The index agrees with a fresh one.
#[track_caller]
fn assert_follows(shed: &Shed) {
    let garage = garage(shed);
    let known = memory(&garage, &Book::open(&garage).unwrap());
    let fresh = memory(&garage, &Book::fresh(&garage).unwrap());
    assert!(known == fresh, "the index says\n{known}\nand the files\n{fresh}");
}

/// Does something that must be one commit, with the files on disk as it has them.
#[track_caller]
fn one_commit<T>(shed: &Shed, subject: &str, trailers: &[String], work: impl FnOnce() -> T) -> T {
    let before = commits(shed);
    let done = work();
    assert_eq!(commits(shed), before + 1, "{}", shed.git(&["log", "--format=%s", "-4"]));
    let (said, carried, _, _) = newest(shed);
    assert_eq!(said, subject);
    assert_eq!(carried, trailers);
    shed.assert_clean();
    assert_follows(shed);
    done
}

/// Does something that must be refused and change nothing, neither on disk nor in git.
#[track_caller]
fn refused<T>(shed: &Shed, work: impl FnOnce() -> Result<T, StoreError>) -> String {
    let state =
        |shed: &Shed| (shed.files(), shed.git(&["rev-parse", "HEAD"]), shed.git(&["status", "--short"]));
    let before = state(shed);
    let Err(error) = work() else { panic!("it was done") };
    assert!(state(shed) == before, "something was written: {error}");
    assert_follows(shed);
    let said = error.to_string();
    assert!(said.ends_with('.'), "{said}");
    said
}
