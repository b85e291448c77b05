//! Whether an engine is ready: the open steps of its newest build and the figures beyond their limits, as a change, an
//! outing and the history say it.

use super::cylinders::{Cylinder, judge_each};
use super::figure::{FigureUnit, NamedFigure};
use super::figures::{Judgement, judge};
use super::fitted::not_run_in;
use crate::advice::parts::nominal_bore_m;
use crate::advice::parts::{self, Ledger, Overdue};
use crate::engine::gauging::edges::{Grade, Judged, RangeSide};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{When, steps_in_words};
use crate::quantity::{fixed, trimmed};
use crate::store::{Book, BuildRecord, Garage, StoreError, cylinders_of, missing_parts};

/// Names that are told one by one; what is beyond is counted.
const NAMED: usize = 3;

/// What is said of steps that wait for the first run.
const FOR_LATER: &str = "open for after the first run";

const METRES_IN_AN_INCH: f64 = 0.0254;

/// How an engine's build stands.
#[derive(Debug, Clone)]
pub struct Readiness {
    /// The build.
    pub record: BuildRecord,
    /// Steps that are open and must be done before it runs.
    pub open: Vec<String>,
    /// Steps for after the first run that are open.
    pub open_after: Vec<String>,
    /// Figures beyond their limits, in words.
    pub beyond: Vec<String>,
    /// The same with the reading and the limit, where it is a length: its value and the limit, m.
    pub beyond_by: Vec<(String, Option<(f64, f64)>)>,
    /// Figures to be watched, in words.
    pub watched: Vec<String>,
    /// Figures too close to call, in words.
    pub unsure: Vec<String>,
    /// What keeps it from being ready beside steps and figures, in words.
    pub lacks: Vec<String>,
}

impl Readiness {
    /// How a build stands, with what its figures say.
    pub fn of(record: &BuildRecord, judgement: &Judgement) -> Self {
        let names = |after| record.build.open_steps(after).into_iter().map(|(name, _)| name).collect();
        let graded = |wanted: fn(Judged) -> bool| {
            let of_grade = judgement.figures.iter().filter(|figure| figure.judged.is_some_and(wanted));
            of_grade.map(NamedFigure::words).collect()
        };
        Self {
            record: record.clone(),
            open: names(false),
            open_after: names(true),
            beyond: graded(|judged| matches!(judged, Judged::Is(Grade::Replace(_)))),
            beyond_by: judgement.figures.iter().filter_map(beyond_by).collect(),
            watched: graded(|judged| matches!(judged, Judged::Is(Grade::Watch(_)))),
            unsure: graded(|judged| matches!(judged, Judged::TooClose { .. })),
            lacks: lacks(record, judgement),
        }
    }

    /// Whether every step before the start is done and no figure is beyond its limits: what lacks beside it forbids no run.
    fn is_put_together(&self) -> bool {
        self.open.is_empty() && self.beyond.is_empty()
    }

    /// Whether every step is done and no figure is beyond its limits.
    pub fn is_ready(&self) -> bool {
        self.open.is_empty() && self.beyond.is_empty() && self.lacks.is_empty()
    }
}

/// A figure beyond its limit, with its value and that limit where it is a length.
fn beyond_by(figure: &NamedFigure) -> Option<(String, Option<(f64, f64)>)> {
    let Some(Judged::Is(Grade::Replace(side))) = figure.judged else { return None };
    let [least, _, _, most] = figure.edges.map(|edges| edges.all()).unwrap_or_default();
    let edge = if side == RangeSide::Below { least } else { most };
    let is_length = figure.kind.unit == FigureUnit::Length;
    Some((figure.words(), edge.filter(|_| is_length).map(|edge| (figure.value.value(), edge))))
}

fn lacks(record: &BuildRecord, judgement: &Judgement) -> Vec<String> {
    let no_list = record.build.steps_in_order().is_empty().then(|| "it has no check list".to_owned());
    let unreckoned = (!judgement.is_reckoned).then(|| "its readings cannot be reckoned with".to_owned());
    no_list.into_iter().chain(unreckoned).collect()
}

/// Judges a build with the garage's limits. What cannot be reckoned with has no figures, and the reason is a remark.
pub fn judged(garage: &Garage, record: &BuildRecord) -> Result<Judgement, StoreError> {
    let bore = nominal_bore_m(garage, &record.engine, None)?;
    let limits = garage.limits()?;
    let (named, strange) = cylinders_in(garage, record)?;
    if !named.is_empty() {
        let mut judged = judge_each(&record.build, &record.engine, &limits, (&named, bore));
        judged.remarks.extend(strange.map(Guidance::from));
        return Ok(judged);
    }
    Ok(judge(&record.build, &record.engine, &limits, bore).unwrap_or_else(|error| Judgement {
        figures: Vec::new(),
        bores: Vec::new(),
        is_reckoned: false,
        remarks: vec![
            Guidance::from(format!(
                "The readings of {} on {} cannot be reckoned with: {error} Fix them with ",
                record.engine,
                record.build.date.day()
            )) + Command::MeasureBuild { engine: record.engine.clone(), cylinder: None }
                + ".",
        ],
    }))
}

/// The cylinders of an engine, each with its nominal bore, and after them those that only its build has, which is said.
fn cylinders_in(
    garage: &Garage,
    record: &BuildRecord,
) -> Result<(Vec<Cylinder>, Option<String>), StoreError> {
    let engine = &record.engine;
    let names = cylinders_of(garage, engine)?;
    let strange: Vec<&String> = record.build.cylinder.keys().filter(|name| !names.contains(name)).collect();
    let said = strange.first().map(|first| {
        let have = if names.is_empty() { "one cylinder".to_owned() } else { names.join(", ") };
        format!(
            "This build has readings of the cylinder \"{}\", and {engine} has {have}: name it in its engine.toml, or take them out of {}.",
            visible(first),
            record.file.to_string_lossy().replace('\\', "/")
        )
    });
    let all = names.iter().chain(strange);
    let each = all.map(|name| Ok((name.clone(), nominal_bore_m(garage, engine, Some(name))?)));
    Ok((each.collect::<Result<_, StoreError>>()?, said))
}

/// How the build stands that an engine had at a date; none where it had none.
pub fn readiness(book: &Book<'_>, engine: &str, date: When) -> Result<Option<Readiness>, StoreError> {
    let Some(record) = book.build_at(engine, date)? else {
        return Ok(None);
    };
    let judgement = judged(book.garage(), &record)?;
    Ok(Some(Readiness::of(&record, &judgement)))
}

/// Parts of an engine that are to be changed before it runs, a sentence each; and what else should be known of it: files that cannot be
/// read, and how it stands in one line.
pub fn to_change_and_remarks(
    book: &Book<'_>,
    engine: &str,
    date: When,
) -> Result<(Vec<String>, Vec<String>), StoreError> {
    let (change, mut stands) = overdue_apart(book, engine, date)?;
    stands.extend(not_ready(readiness(book, engine, date)?.as_ref()));
    let (stop, stands) = one_status_line(engine, &change, &stands);
    Ok((stop.into_iter().collect(), broken(book, engine)?.into_iter().chain(stands).collect()))
}

/// The first part of an engine that can break and is to be changed before it runs, in a sentence.
pub fn first_to_change(book: &Book<'_>, engine: &str, date: When) -> Result<Option<String>, StoreError> {
    match overdue_apart(book, engine, date)?.0.into_iter().next() {
        Some(change) => Ok(Some(format!("{change}."))),
        None => not_counted(book),
    }
}

/// Why it is not known whether a part is over its limit: a part's file that is not there or cannot be read, a clone with the end of the
/// history alone.
pub fn not_counted(book: &Book<'_>) -> Result<Option<String>, StoreError> {
    let broken = book.broken_parts()?.into_iter().map(|broken| (broken.file, "cannot be read"));
    let missing =
        missing_parts(book.garage())?.into_iter().map(|file| (file, "is recorded and missing on disk"));
    let said = broken.chain(missing).next().map(|(file, what)| {
        let file = visible(&file.to_string_lossy().replace('\\', "/"));
        format!("{file} {what}: whether a part is over its limit is not known.")
    });
    let cut_off = "This clone holds only the end of its history: parts have more hours than it knows, and may be over their limit.";
    Ok(said.or_else(|| book.garage().cut_off().map(|_| cut_off.to_owned())))
}

/// How an engine stands in one line: a stop where a part is to be changed before it runs, with all that is to be said beside it, else
/// what is to be known.
fn one_status_line(engine: &str, change: &[String], stands: &[String]) -> (Option<String>, Option<String>) {
    if change.is_empty() {
        return (None, in_a_line(engine, stands));
    }
    let all: Vec<String> = change.iter().chain(stands).cloned().collect();
    (in_a_line(engine, &all), None)
}

/// Parts over their limit: those that are to be changed, with what is to be done, and those that are to be looked at, in parts of a sentence.
fn overdue_apart(
    book: &Book<'_>,
    engine: &str,
    date: When,
) -> Result<(Vec<String>, Vec<String>), StoreError> {
    let (change, look): (Vec<_>, Vec<_>) =
        over_their_limit(book, engine, date)?.into_iter().partition(|over| over.can_break);
    Ok((change.iter().map(Overdue::with_deed).collect(), look.into_iter().map(|over| over.words).collect()))
}

/// What should be known of an engine that has just run.
pub fn remarks_after_outing(book: &Book<'_>, engine: &str, date: When) -> Result<Vec<String>, StoreError> {
    let ready = readiness(book, engine, date)?;
    let mut stands = [overdue(book, engine, date)?, not_ready(ready.as_ref())].concat();
    stands.extend(after_the_first_run(ready.as_ref()));
    Ok(broken(book, engine)?.into_iter().chain(in_a_line(engine, &stands)).collect())
}

/// Steps for after the first run that are open, in part of a sentence.
fn after_the_first_run(ready: Option<&Readiness>) -> Option<String> {
    let after = ready.map_or(0, |ready| ready.open_after.len());
    (after > 0).then(|| format!("{} {FOR_LATER}", steps_are(after)))
}

/// How an engine stands, without the steps that wait for its first run, where more is said of it.
pub fn without_steps_for_later(stands: &str) -> String {
    match stands.strip_suffix(&format!(" {FOR_LATER}.")).and_then(|rest| rest.rsplit_once("; ")) {
        Some((more, _)) => format!("{more}."),
        None => stands.to_owned(),
    }
}

/// What forbids to run an engine, a sentence each: steps before the start that are open, figures beyond their limits, and parts that
/// are to be changed first, with how it stands beside that; and what else should be known of it.
pub fn before_it_runs(
    book: &Book<'_>,
    engine: &str,
    date: When,
) -> Result<(Vec<String>, Vec<String>), StoreError> {
    let ready = readiness(book, engine, date)?;
    let stop = ready.as_ref().and_then(|ready| forbids(book, engine, ready));
    let (change, mut stands) = overdue_apart(book, engine, date)?;
    if stop.is_none() {
        stands.extend(not_ready(ready.as_ref()));
        stands.extend(after_the_first_run(ready.as_ref()));
    }
    let (change, stands) = one_status_line(engine, &change, &stands);
    let stops = stop.into_iter().chain(change).collect();
    let new = not_run_in(book, engine, date)?;
    Ok((stops, broken(book, engine)?.into_iter().chain(new).chain(stands).collect()))
}

/// What forbids to run an engine as it stands by its newest build; none where it is put together and within its limits.
pub fn not_to_be_run(book: &Book<'_>, engine: &str, date: When) -> Result<Option<String>, StoreError> {
    Ok(readiness(book, engine, date)?.and_then(|ready| forbids(book, engine, &ready)))
}

fn forbids(book: &Book<'_>, engine: &str, ready: &Readiness) -> Option<String> {
    if ready.is_put_together() {
        return None;
    }
    let imperial = book.garage().is_imperial();
    let size = |metres: f64| {
        if imperial {
            format!("{} in", fixed(metres / METRES_IN_AN_INCH, 4))
        } else {
            format!("{} mm", trimmed(1000.0 * metres, 3))
        }
    };
    let open = (!ready.open.is_empty()).then(|| {
        let steps =
            if ready.open.len() == 1 { "1 step".to_owned() } else { format!("{} steps", ready.open.len()) };
        format!("{steps} open before the start ({})", steps_in_words(&ready.open, NAMED))
    });
    let beyond = ready.beyond_by.iter().map(|(words, by)| match by {
        Some((is, edge)) => {
            format!("{words} {}, {} {}", size(*is), if is < edge { "under" } else { "over" }, size(*edge))
        }
        None => format!("{words} beyond its limit"),
    });
    let why: Vec<String> = open.into_iter().chain(beyond).collect();
    Some(format!("Do not run it: {}, {}.", visible(engine), why.join("; ")))
}

/// How an engine stands, "cicada: reed-1 is 0.7 h past its 20 h; 12 steps are open for after the first run"; none where there
/// is nothing to say.
pub fn in_a_line(engine: &str, stands: &[String]) -> Option<String> {
    (!stands.is_empty()).then(|| format!("{}: {}.", visible(engine), stands.join("; ")))
}

/// What its build still lacks, in parts of a sentence.
fn not_ready(ready: Option<&Readiness>) -> Vec<String> {
    let Some(ready) = ready else { return Vec::new() };
    let mut stands = Vec::new();
    if !ready.open.is_empty() {
        stands.push(format!(
            "its build is not ready, {} open before the start ({})",
            steps_are(ready.open.len()),
            steps_in_words(&ready.open, NAMED)
        ));
    }
    if !ready.lacks.is_empty() {
        stands.push(format!("its build is not ready: {}", ready.lacks.join(", ")));
    }
    if !ready.beyond.is_empty() {
        stands.push(format!("its build is beyond its limits: {}", ready.beyond.join(", ")));
    }
    stands
}

/// Parts in an engine that are over their limit at a date, the most urgent first in each part's own limits; before them those that were in
/// another engine when it seized.
pub fn over_their_limit(book: &Book<'_>, engine: &str, date: When) -> Result<Vec<Overdue>, StoreError> {
    let (runs, limits) = (parts::runs(book)?, book.garage().limits()?);
    let holders = book.engine_holders()?;
    let retired = std::collections::BTreeSet::new();
    let ledger = Ledger {
        runs: &runs,
        limits: &limits,
        now: date,
        holders: &holders,
        retired: &retired,
        within_h: None,
    };
    let at = super::parts_at(book, engine, date)?;
    let seized = parts::brought(book, (engine, date), &at)?;
    Ok(seized.into_iter().chain(at.iter().filter_map(|record| ledger.standing(record).overdue())).collect())
}

/// Parts in an engine that are over their limit at a date, in parts of a sentence.
pub fn overdue(book: &Book<'_>, engine: &str, date: When) -> Result<Vec<String>, StoreError> {
    Ok(over_their_limit(book, engine, date)?.into_iter().map(|over| over.words).collect())
}

/// What is wrong with the engine's builds and with parts, a line each.
pub fn broken(book: &Book<'_>, engine: &str) -> Result<Vec<String>, StoreError> {
    let files = book.broken_builds(engine)?;
    let parts = book.broken_parts()?;
    let findings = files.iter().chain(&parts).flat_map(|file| file.findings.lines());
    let mut broken: Vec<String> = findings.map(|finding| format!("Left out: {finding}")).collect();
    if let Some(why) = not_counted(book)?.filter(|_| parts.is_empty()) {
        broken.push(why);
    }
    Ok(broken)
}

fn steps_are(count: usize) -> String {
    if count == 1 { "1 step is".to_owned() } else { format!("{count} steps are") }
}
