//! What comes back of a customer's engine: its runs, looked over before anything is recorded. Nothing comes twice, nothing that is here
//! is overwritten, and how it ran on a jetting that nobody here knows is not taken for how it runs on ours.

use std::path::Path;

use super::how_it_ran::is_open_seizure;
use crate::advice::handed::how_it_ran::ran_lean;
use crate::advice::incoming::session_sheet::{KnownRun, Look, LookedOver, all_outings, outing_of};
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::guidance::{Command, CommandOption, Guidance, OutingChange};
use crate::notebook::{Doubted, HandedEngine, Outing, Verdict};
use crate::quantity::fixed;
use crate::store::{Book, Incoming, NewOuting, OutingRecord, SetupName, StoreError, Unsealed, owner_of};

/// Where it comes back to.
#[derive(Debug, Clone, Copy)]
pub struct Returned<'a> {
    /// The bike that the engine is in.
    pub bike: &'a str,
    /// The setup that it ran, where that is known.
    pub setup: Option<&'a SetupName>,
    /// Whose engine it is said to be is not asked again.
    pub sure: bool,
}

/// What came back, looked over.
#[derive(Debug, Default)]
pub struct CameBack {
    /// The engine here.
    pub engine: String,
    /// Its runs: new ones, those that are here already, and what is asked of them.
    pub runs: LookedOver,
    /// What must be done before it runs again, sentences.
    pub before_it_runs: Vec<String>,
    /// What is to be known, sentences.
    pub doubts: Vec<Guidance>,
    /// What has to be said once more before its runs are recorded: it may be another engine.
    pub other_engine: Option<String>,
}

impl CameBack {
    /// Runs of one engine are not charged to another: fails where it is not known to be the same.
    pub fn require_the_same_engine(&self) -> Result<(), StoreError> {
        self.other_engine.as_ref().map_or(Ok(()), |why| {
            Err(StoreError::request(
                Some("sure"),
                why.clone(),
                Guidance::from(
                    "Name the bike that has that engine in it; if it is the one in here, take it in with ",
                ) + CommandOption::Sure
                    + ". Nothing was recorded.",
            ))
        })
    }
}

/// Looks over the runs of an engine that came back. Nothing is written.
pub fn look_over_returned(
    book: &Book<'_>,
    (file, path): (&Unsealed, &Path),
    handed: &HandedEngine,
    to: Returned<'_>,
    look: Look<'_>,
) -> Result<CameBack, StoreError> {
    let latest = book.recorded(to.bike, &SetupName::Latest)?;
    let engine = latest.engine.ok_or_else(|| {
        StoreError::request(
            Some("engine"),
            format!("{} has no engine written down that could have run.", to.bike),
            Guidance::from("Say which is in it: ") + Command::SayEngine(to.bike.to_owned()) + ".",
        )
    })?;
    let mut back = CameBack { engine, ..CameBack::default() };
    require_its_owner(book, handed, &back.engine, to.sure)?;
    let mut others = all_outings(book)?;
    let first = book.setups(to.bike)?.first().map(|setup| setup.date);
    let (mut unheard, mut early, mut lean) = (0, Vec::new(), Vec::new());
    for (id, fields) in by_date(handed) {
        let line = line_of(file, id);
        let mut outing = match outing_of(book, path, (line, fields)) {
            Ok(outing) => outing,
            Err(findings) => {
                back.runs.findings.extend(findings);
                continue;
            }
        };
        (outing.setup, outing.dyno) = (None, None);
        if let Some(there) = others.iter().find(|other| other.id == *id) {
            let known = KnownRun {
                line,
                bike: there.bike.clone(),
                id: id.clone(),
                differs: differing(&there.outing, &outing),
            };
            back.runs.known.push(known);
            continue;
        }
        if to.setup.is_none() && first.is_some_and(|first| outing.date < first) {
            early.push(outing.date);
            continue;
        }
        lean.extend(ran_lean(&outing, to.setup.is_none()));
        if to.setup.is_none() {
            unheard += usize::from(jetting_not_known(&mut outing));
        }
        let new = NewOuting { bike: to.bike.to_owned(), outing, setup: to.setup.cloned(), dyno: None };
        let before = back.runs.new.len();
        back.runs.look_at(book, (path, line), Incoming { new, id: id.clone() }, (look, &mut others))?;
        if back.runs.new.len() > before {
            back.runs
                .refused
                .extend(other_engine(book, others.last(), &back.engine)?.map(|error| (line, error)));
        }
    }
    back.runs.findings.sort_by_key(|finding| finding.place.line);
    if let (Some(oldest), Some(first)) = (early.first(), first) {
        let (runs, since) = (early.len(), oldest.day());
        let runs = if runs == 1 { "1 run is".to_owned() } else { format!("{runs} runs are") };
        back.runs.refused.push((
            1,
            StoreError::request(
                Some("setup"),
                format!("{runs} older than the first setup of {} ({}): since {since}.", to.bike, first.day()),
                Guidance::from("Say on which setup they are to be counted: ")
                    + CommandOption::FirstSetup
                    + ".",
            ),
        ));
    }
    // The newest first; older ones say no more.
    back.before_it_runs = lean.into_iter().rev().take(3).collect();
    if handed.from.engine != back.engine && back.runs.known.is_empty() {
        let why = format!(
            "The file calls the engine {}; here {} is in {}. Make sure that it is the same one.",
            visible(&handed.from.engine),
            back.engine,
            to.bike
        );
        let is_here = book.garage().engines().contains(&handed.from.engine);
        let owner_of_both = handed.from.owner.is_some() && owner_of(book.garage(), &back.engine).is_some();
        back.other_engine = (!to.sure && (is_here || !owner_of_both)).then(|| why.clone());
        back.doubts.push(why.into());
    }
    back.doubts.extend(back.runs.known.iter().filter(|known| !known.differs.is_empty()).map(|known| {
        let otherwise = format!(
            "{} says otherwise than the outing {} of {} that is here ({}): it stays as it is here. To fix it: ",
            file.name,
            known.id,
            known.bike,
            known.differs.join(", ")
        );
        let mend = Command::MendOuting(known.bike.clone(), known.id.clone(), OutingChange::AsItStands);
        Guidance::from(otherwise) + mend + "."
    }));
    if unheard > 0 {
        let not_said = format!(
            "Which jetting was on it is not said: what was lean counts as lean here, at its throttle, and how else it ran stands in the notes of {}, from which no advice learns. Where you know the setup, say ",
            if unheard == 1 { "1 outing".to_owned() } else { format!("{unheard} outings") }
        );
        back.doubts.push(Guidance::from(not_said) + CommandOption::SetupNumber + ".");
    }
    Ok(back)
}

/// The runs of a file, oldest first.
fn by_date(handed: &HandedEngine) -> Vec<(&String, &toml::Table)> {
    let mut runs: Vec<_> = handed.runs.iter().collect();
    let date = |fields: &toml::Table| {
        let text =
            fields.get("date").map(|date| date.as_str().map_or_else(|| date.to_string(), str::to_owned));
        let date = crate::notebook::When::parse(&text?, handed.from.handed_over.offset()).ok()?;
        Some(date.unix())
    };
    runs.sort_by_key(|(_, fields)| date(fields));
    runs
}

/// Where a run stands in its file.
fn line_of(file: &Unsealed, id: &str) -> usize {
    let head = format!("[runs.{id}]");
    let before = file.lines_before();
    file.body.lines().position(|line| line.trim() == head).map_or(1, |line| line + 1 + before)
}

/// The engine of one owner is not charged with the runs of another's.
fn require_its_owner(
    book: &Book<'_>,
    handed: &HandedEngine,
    engine: &str,
    sure: bool,
) -> Result<(), StoreError> {
    let same = |one: &str, other: &str| one.trim().to_lowercase() == other.trim().to_lowercase();
    match (&handed.from.owner, owner_of(book.garage(), engine)) {
        (Some(there), Some(here)) if !same(there, &here) && !sure => Err(StoreError::request(
            Some("owner"),
            format!("The file is of {}'s engine, and {engine} is {}'s.", visible(there), visible(&here)),
            Guidance::from("Name the bike that has the right engine; if it is this one, take it in with ")
                + CommandOption::Sure
                + ".",
        )),
        _ => Ok(()),
    }
}

/// A run on a day on which another engine was in the bike is not this engine's.
fn other_engine(
    book: &Book<'_>,
    record: Option<&OutingRecord>,
    engine: &str,
) -> Result<Option<StoreError>, StoreError> {
    let Some(record) = record else { return Ok(None) };
    let setups = book.setups(&record.bike)?;
    let ran = setups.iter().find(|setup| Some(setup.number) == record.setup);
    let Some(other) = ran.and_then(|setup| setup.engine.as_deref()).filter(|other| *other != engine) else {
        return Ok(None);
    };
    Ok(Some(StoreError::request(
        Some("setup"),
        format!("On {} {other} was in {} by the book, not {engine}.", record.outing.date.day(), record.bike),
        Guidance::from(format!("Say a setup with {engine} in it: ")) + CommandOption::SetupNumber + ".",
    )))
}

/// Fields in which what came back says otherwise than what is here; what is not in the file is not asked.
fn differing(here: &Outing, back: &Outing) -> Vec<String> {
    let mut differs = Vec::new();
    if here.date.unix() != back.date.unix() {
        differs.push(format!("{}, here {}", back.date.short(), here.date.short()));
    }
    // Hours that the meter told here stand in no field of the outing.
    if let (Some(own), Some(came)) = (&here.hours, &back.hours)
        && (own.si() - came.si()).abs() > 1e-6 * own.si().abs()
    {
        let hours = |hours: &crate::quantity::Hours| fixed(hours.si() / 3600.0, 2);
        differs.push(format!("{} h, here {} h", hours(came), hours(own)));
    }
    let words = [
        ("place", &here.place, &back.place),
        ("session", &here.session, &back.session),
        ("lap", &here.lap, &back.lap),
        ("plug", &here.plug, &back.plug),
        ("piston", &here.piston, &back.piston),
        ("cause", &here.cause, &back.cause),
        ("fixed", &here.mended, &back.mended),
    ];
    let other = words.into_iter().filter(|(_, own, came)| came.is_some() && own != came);
    differs.extend(other.map(|(name, _, _)| name.to_owned()));
    let zones = |outing: &Outing| outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
    if !zones(back).is_empty() && zones(back) != zones(here) && here.notes.is_none() {
        differs.push("verdict".to_owned());
    }
    differs
}

/// How it ran, on a jetting that is not known here, becomes words: whether there were any. What was lean counts as lean at its own throttle,
/// whatever jet it was on; nothing else is taken for what this bike's jetting does.
fn jetting_not_known(outing: &mut Outing) -> bool {
    let mut said = Vec::new();
    // A sentence for each throttle, full throttle first: what is said of one is not read as said of another.
    let zones = |verdict: &Verdict| {
        let zones = verdict.zones().into_iter().rev();
        let words = zones.map(|(zone, mixture)| format!("{} {}", zone.replace('_', " "), mixture.words()));
        words.collect::<Vec<_>>()
    };
    let mut settle = |verdict: &mut Option<Verdict>, whose: Option<&str>| {
        let Some(judged) = verdict.take() else { return };
        let at = whose.map(|name| format!("{}: ", in_words(name))).unwrap_or_default();
        said.extend(zones(&judged).into_iter().map(|words| format!("{at}{words}")));
        *verdict = Some(judged.only_lean()).filter(|lean| !lean.zones().is_empty());
    };
    settle(&mut outing.verdict, None);
    for (name, own) in &mut outing.cylinder {
        settle(&mut own.verdict, Some(name));
    }
    outing.cylinder.retain(|_, own| {
        own.verdict.is_some() || own.plug.is_some() || own.piston.is_some() || own.exhaust_gas.is_some()
    });
    if is_open_seizure(outing) && !outing.doubts(Doubted::Setup) {
        outing.doubted.push(Doubted::Setup);
    }
    if said.is_empty() {
        return false;
    }
    let words = format!("On the owner's jetting: {}.", said.join(". "));
    outing.notes = Some(outing.notes.take().map_or(words.clone(), |notes| format!("{notes}\n{words}")));
    if !outing.doubts(Doubted::Setup) {
        outing.doubted.push(Doubted::Setup);
    }
    true
}
