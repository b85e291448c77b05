//! How what is handed over ran where it comes from: said in the file, and by whoever took it in until it ran right with them.

use crate::advice::closing::sign_anywhere;
use crate::advice::learning::{Sign, sign_of_lean};
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::throttle;
use crate::notebook::{FieldSet, HandedEngine, Mixture, Outing, Verdict, ZONES, compare, section_of};
use crate::store::{Book, LEAN_THERE, OutingRecord, SEIZED_THERE, SetupRecord, StoreError, said_of_it_there};

/// Sections on which it hangs whether an engine runs lean or seizes.
const THAT_HURT: [&str; 6] = ["jetting", "injection", "fuel", "ignition", "head", "pipe"];

/// So many runs that were right at full throttle say more than one that seized before them (common practice, no source).
const RUNS_THAT_SHOW: usize = 3;

/// What stands in the notes of a run that seized, where its own words stay with whoever wrote them.
pub(super) const SEIZED: &str = "It seized.";
/// The same of one whose words say that it was lean where full throttle was not judged, and of any other that was lean by its words.
pub(super) const LEAN: [&str; 2] = ["It was lean at full throttle.", "It pinged."];

/// The setups of a bike, by number, that are as one of them in all on which it hangs whether it runs lean or seizes: what is put back is
/// recorded anew and ran before.
fn alike(book: &Book<'_>, setup: &SetupRecord) -> Result<Vec<u32>, StoreError> {
    let of = |record: &SetupRecord| book.combination(&setup.bike, Some(record));
    let fields = of(setup)?.fields;
    let hurts = |field: &str| field == "engine" || THAT_HURT.contains(&section_of(field));
    let mut alike = Vec::new();
    for other in book.setups(&setup.bike)? {
        if other.number == setup.number
            || !compare(&fields, &of(&other)?.fields).changes.iter().any(|change| hurts(&change.field))
        {
            alike.push(other.number);
        }
    }
    Ok(alike)
}

/// What whoever a setup is handed to must know of how it ran, nothing of what was noted but that: a seizure or a lean run whose cause
/// is not written down, and each throttle at which the newest run was lean; and whether it ran at all.
pub fn ran_lean_here(book: &Book<'_>, setup: &SetupRecord) -> Result<(Vec<String>, bool), StoreError> {
    let runs = book.outings(&setup.bike)?;
    let alike = alike(book, setup)?;
    let of_it = |run: &&OutingRecord| run.setup.is_some_and(|number| alike.contains(&number));
    let open: Vec<&OutingRecord> =
        runs.iter().rev().filter(of_it).filter(|run| !run.outing.is_closed()).collect();
    let mut said = Vec::new();
    let at_full = open.iter().filter_map(|run| {
        let sign = sign_anywhere(&run.outing);
        let seized = sign.as_ref().is_some_and(Sign::is_seizure);
        let lean = sign.is_some() || run.outing.at_full_throttle().is_some_and(|full| full < Mixture::Right);
        lean.then(|| (seized, run.outing.date.day()))
    });
    // A seizure is said before anything newer.
    said.extend(at_full.max_by_key(|(seized, _)| *seized).map(|(seized, day)| {
        let how = if seized { SEIZED_THERE } else { LEAN_THERE };
        format!("{how}, on {day}, and no cause is written down: do not run it like this, start richer.")
    }));
    for (zone, _, _) in ZONES.iter().rev().filter(|(zone, _, _)| *zone != "full") {
        let newest = open.iter().find_map(|run| Some((run, leanest_at(&run.outing, zone)?)));
        let lean = newest.filter(|(_, mixture)| *mixture < Mixture::Right);
        said.extend(lean.map(|(run, mixture)| {
            format!(
                "It was {} at {} on this where it comes from, on {}: richer there before it is held at it.",
                mixture.words(),
                throttle(zone),
                run.outing.date.day()
            )
        }));
    }
    Ok((said, runs.iter().any(|run| of_it(&run))))
}

/// How a run was at a throttle, as its leanest cylinder; none where that was not judged.
fn leanest_at(outing: &Outing, zone: &str) -> Option<Mixture> {
    let zones = |outing: &Outing| outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
    let all = outing.at_each_cylinder();
    let at = all.iter().flat_map(|(_, outing)| zones(outing)).filter(|(name, _)| *name == zone);
    at.map(|(_, mixture)| mixture).min()
}

/// Whether what is said of how it ran there forbids to take sections in without a reason: it seized, or was lean at full throttle.
pub fn forbids(said: &str, sections: &[String]) -> bool {
    let grave = [SEIZED_THERE, LEAN_THERE].iter().any(|known| said.starts_with(known));
    grave && sections.iter().any(|section| THAT_HURT.contains(&section.as_str()))
}

/// What is to be said of a bike whose jetting was handed over and ran lean or seized where it comes from: until it ran right here at that
/// throttle, or what was taken in is taken back.
pub fn ran_lean_there(book: &Book<'_>, bike: &str, now: &FieldSet) -> Result<Vec<String>, StoreError> {
    let setups = book.setups(bike)?;
    let taken = setups.iter().rev().find_map(|setup| {
        let said = said_of_it_there(&setup.why);
        (!said.is_empty()).then_some((setup, said))
    });
    let Some((setup, said)) = taken else { return Ok(Vec::new()) };
    let before = setup.made_from.as_ref().and_then(|id| setups.iter().find(|setup| setup.id == *id));
    if let Some(before) = before {
        let was = book.combination(bike, Some(before))?.fields;
        let is = book.combination(bike, Some(setup))?.fields;
        let hurts = |field: &str| THAT_HURT.contains(&section_of(field));
        let handed = compare(&was, &is).changes;
        let mut handed = handed.iter().filter(|change| hurts(&change.field)).peekable();
        let stands = |field: &str| {
            let same = was.get(field).zip(now.get(field)).map(|(was, now)| was.same_as(now));
            !same.unwrap_or(was.get(field).is_none() && now.get(field).is_none())
        };
        if handed.peek().is_some() && !handed.any(|change| stands(&change.field)) {
            return Ok(Vec::new());
        }
    }
    let runs = book.outings(bike)?;
    let was_right = |said: &str| {
        let low = ZONES.iter().find(|(zone, _, _)| said.contains(&format!(" at {} ", throttle(zone))));
        let zone = low.map_or("full", |(zone, _, _)| *zone);
        let since = runs.iter().filter(|run| run.setup.is_some_and(|number| number >= setup.number));
        since
            .filter(|run| sign_anywhere(&run.outing).is_none())
            .any(|run| leanest_at(&run.outing, zone).is_some_and(|mixture| mixture >= Mixture::Right))
    };
    let open = said.into_iter().filter(|said| !was_right(said));
    Ok(open
        .map(|said| format!("Setup {} was handed over, and its file says: \"{said}\"", setup.number))
        .collect())
}

/// The same of the newest setup of a bike as it is on disk.
pub fn ran_lean_there_now(book: &Book<'_>, bike: &str) -> Result<Vec<String>, StoreError> {
    if book.latest(bike)?.is_none() {
        return Ok(Vec::new());
    }
    ran_lean_there(book, bike, &book.combination(bike, None)?.fields)
}

/// Whether a run seized an engine and nobody wrote down why.
pub(super) fn is_open_seizure(outing: &Outing) -> bool {
    !outing.is_closed() && sign_anywhere(outing).as_ref().is_some_and(Sign::is_seizure)
}

/// Whether a seizure is outlived by an engine's later runs.
pub(super) fn is_outlived<'o>(seizure: &Outing, runs: impl Iterator<Item = &'o Outing>) -> bool {
    let right = |run: &&Outing| {
        run.date > seizure.date
            && sign_anywhere(run).is_none()
            && run.at_full_throttle().is_some_and(|mixture| mixture >= Mixture::Right)
    };
    runs.filter(right).count() >= RUNS_THAT_SHOW
}

/// What must be known of an engine's runs in a file before it runs again, a sentence each: those that seized with no cause written down,
/// and the newest that was judged where that was lean.
pub fn lean_runs(handed: &HandedEngine) -> Vec<String> {
    let runs = newest_first(handed);
    let engine = visible(&handed.from.engine);
    let seized = runs.iter().filter(|run| is_open_seizure(run) && !is_outlived(run, runs.iter()));
    let mut said: Vec<String> = seized
        .take(3)
        .map(|run| {
            format!(
                "{engine} seized on {}, and no cause is written down: open it and find out why before it is run.",
                run.date.day()
            )
        })
        .collect();
    let judged = runs.iter().find(|run| {
        run.at_each_cylinder().iter().any(|(_, own)| own.verdict.is_some()) || sign_anywhere(run).is_some()
    });
    said.extend(
        judged.filter(|run| !run.is_closed() && !is_open_seizure(run)).and_then(|run| ran_lean(run, false)),
    );
    said
}

/// That an engine was lean in a run after which it ran on, where its newest judged run was not.
pub fn lean_before(handed: &HandedEngine) -> Option<String> {
    const NAMED: usize = 3;
    let runs = newest_first(handed);
    let lean: Vec<&Outing> = runs
        .iter()
        .filter(|run| !run.is_closed() && !is_open_seizure(run) && ran_lean(run, false).is_some())
        .collect();
    let was_judged = |run: &&Outing| run.at_each_cylinder().iter().any(|(_, own)| own.verdict.is_some());
    let newest = runs.iter().find(was_judged)?;
    if lean.is_empty() || ran_lean(newest, false).is_some() {
        return None;
    }
    let mut days: Vec<String> = lean.iter().map(|run| run.date.day()).collect();
    days.dedup();
    let more = if days.len() > NAMED { " and before" } else { "" };
    days.truncate(NAMED);
    Some(format!("It ran lean on {}{more}; when it was judged last it did not.", days.join(", ")))
}

/// The runs of a file, the newest first.
fn newest_first(handed: &HandedEngine) -> Vec<Outing> {
    let mut runs: Vec<Outing> =
        handed.runs.values().filter_map(|table| table.clone().try_into().ok()).collect();
    runs.sort_by_key(|run| std::cmp::Reverse(run.date));
    runs
}

/// What must be done after a run that was lean.
pub(super) fn ran_lean(outing: &Outing, jetting_not_known: bool) -> Option<String> {
    let mut where_lean: Vec<String> = Vec::new();
    for (cylinder, outing) in outing.at_each_cylinder() {
        let zones = outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
        let lean = zones.into_iter().filter(|(_, mixture)| *mixture < Mixture::Right);
        let at = cylinder.map(|name| format!(", {}", in_words(name))).unwrap_or_default();
        where_lean.extend(
            lean.map(|(zone, mixture)| format!("{} at {}{at}", mixture.words(), zone.replace('_', " "))),
        );
    }
    where_lean.dedup();
    let mut said = Vec::new();
    if !where_lean.is_empty() {
        said.push(format!("it ran {}", where_lean.join(", ")));
    }
    said.extend(sign_of_lean(outing).map(|word| format!("its notes say \"{}\"", visible(&word))));
    let whose = if jetting_not_known { ", on the owner's jetting" } else { "" };
    (!said.is_empty()).then(|| {
        format!(
            "On {} {}{whose}: read plug and piston before it runs again, and start rich.",
            outing.date.day(),
            said.join(", and ")
        )
    })
}
