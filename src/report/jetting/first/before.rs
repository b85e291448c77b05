//! What stands before an answer: the run that forbids anything leaner, and what the bike has otherwise than the setup it stands on.

use super::super::record::{RecordAnswer, RecordReport, percent_trimmed};
use super::moved_on::{bike_differs, has_and_had};
use super::ran;
use crate::advice::asking::Question;
use crate::advice::foundation::{Nearness, has_run_right};
use crate::advice::held::Hold;
use crate::advice::learning::{Adviser, Evidence, LeanBelowFull, lean_sign, other_parts, percent_beside};
use crate::advice::maps::steps::fuel_over;
use crate::advice::maps::trim::MAP;
use crate::advice::rejet::{WITH_THE_NAME, setting};
use crate::advice::standing;
use crate::notebook::fields::names::visible;
use crate::notebook::throttle;
use crate::report::Trouble;
use crate::report::out::ways;
use crate::report::words::layout::capital;

/// What should be known of the setup that the answer stands on.
pub fn ground_words(question: &Question<'_>) -> Result<Vec<String>, Trouble> {
    let number = question.baseline.number;
    let mut words: Vec<String> = Vec::new();
    let others = other_parts(&question.now.fields, &question.whole.fields);
    // Where that is listed field by field, it is said once.
    if !others.is_empty() && moved_on(question).is_none() {
        let mark = if question.ground.nearness() == Nearness::Another {
            " No run on the combination that is on the bike was right yet: start rich, and read plug and piston early."
        } else {
            ""
        };
        words.push(format!("Setup {number} had another {}.{mark}", others.join(", another ")));
    }
    if question.vouched_for && !has_run_right(question.book, &question.baseline)? {
        words.push(format!(
            "Setup {number} is marked proven, and no outing of it was judged right at full throttle: it is marked on somebody's word alone."
        ));
    }
    Ok(words)
}

/// What is to be said first where the files hold edits that were never recorded: they are taken as on the bike.
pub fn edited_on_disk(question: &Question<'_>) -> Vec<String> {
    let said = standing::edited_on_disk(question.book, &question.baseline.bike).ok().flatten();
    let setup = said.map(|said| format!("{} Until then it is taken as on the bike.", ways::worded(&said)));
    let outings =
        standing::outings_edited_on_disk(question.book, &question.baseline.bike).unwrap_or_default();
    setup.into_iter().chain(outings.iter().map(ways::worded)).collect()
}

/// What differs on the bike from the baseline, in words.
pub fn moved_on(question: &Question<'_>) -> Option<String> {
    let mut fields = setting::moved_on(&question.whole.fields, &question.now.fields);
    // What is asked for another fuel is not reckoned for the one that is written down.
    let asked = question.fuel.as_ref().and_then(|fuel| fuel.name.as_deref());
    if asked.is_some_and(|asked| question.now.fields.text("fuel.name") != Some(asked)) {
        fields.retain(|field| !WITH_THE_NAME.contains(&field.as_str()));
    }
    let setup = (question.baseline.bike.as_str(), question.baseline.number);
    // What a lean run forbids to put back is not offered.
    let holds = &question.holds;
    let is_held =
        [&holds.holds, &holds.not_again, &holds.last_elsewhere].into_iter().any(|all| !all.is_empty());
    let others = bike_differs(
        setup,
        is_held || standing::ran_lean_last(question.book, &question.baseline),
        &fields,
        (&question.whole.fields, &question.now.fields),
    );
    let words: Vec<String> = unweighed_needle(question).into_iter().chain(others).collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// What is to be said where the bike has another needle than the baseline, one that could not be weighed.
fn unweighed_needle(question: &Question<'_>) -> Option<String> {
    let number = question.baseline.number;
    let stood_on = question.needle()?;
    let reckoned = format!("This is reckoned from {}, the needle of setup {number}", visible(stood_on));
    let Some(now) = question.now.fields.text("jetting.needle") else {
        return Some(format!("Which needle is on the bike is not written down. {reckoned}."));
    };
    let tables = question.tables();
    let own = tables.own_box.map_or(&[][..], |own| own.needles.as_slice());
    let why = if now == stood_on {
        return None;
    } else if !tables.needles.needles.contains_key(now) {
        "is not in configs/needles.toml, so what it passes is not known"
    } else if !own.is_empty() && !own.iter().any(|code| code == now) {
        "is not among the needles of the bike's box, so it was not weighed"
    } else {
        return None;
    };
    let now = visible(now);
    Some(format!("The needle on the bike, {now}, {why}. {reckoned}, and does not hold for {now}."))
}

/// What stands before a card, a plan or the cells of a map: the run that forbids anything leaner, one that is not to be explained
/// (`surprise`), and what differs on the bike.
pub fn before_all(question: &Question<'_>, more: impl IntoIterator<Item = String>) -> Option<String> {
    let edited = edited_on_disk(question).into_iter();
    let words: Vec<String> = edited.chain(held(question)).chain(more).chain(moved_on(question)).collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// Jets that are recorded and not on the bike by its jobs: what is said counts from what is on it.
pub fn not_yet_fitted(open: &[String]) -> Option<String> {
    let open: Vec<String> = open.iter().map(|what| visible(what)).collect();
    (!open.is_empty()).then(|| {
        format!(
            "Recorded but not fitted yet: {}. What is fitted here counts from what is on it.",
            open.join("; ")
        )
    })
}

/// What forbids anything leaner, or is to be cleared up before it is run: a lean run, a seizure, a fuel of which only the name is known.
pub fn held(question: &Question<'_>) -> Option<String> {
    let holds = &question.holds;
    let open = || holds.holds.iter().filter(|hold| !hold.mended);
    let full = open().find(|hold| hold.zone == "full");
    // A run on more was right since: it is not gone back to, and nothing has to be found out.
    let outlived = holds.not_again.first().filter(|hold| full.is_none() && !hold.seizure && !hold.mended);
    let grave = full.or(holds.not_again.first()).filter(|hold| outlived.is_none() && !hold.mended);
    let run = |hold: &Hold| format!("the run of {} {}", hold.outing.outing.date.short(), ran(hold));
    let mut held: Vec<String> = Vec::new();
    if let Some(hold) = grave {
        held.push(format!(
            "Nothing leaner at {}: {}. Find out why before it is run again; what stands here keeps above that run.",
            throttle(hold.zone),
            run(hold)
        ));
    } else if let Some(hold) = open().next() {
        held.push(format!(
            "Nothing leaner at {}: {}; what stands here keeps above that run.",
            throttle(hold.zone),
            run(hold)
        ));
    }
    held.extend(outlived.map(|hold| {
        format!("What stands here keeps above what was lean at {}: {}.", throttle(hold.zone), run(hold))
    }));
    let stops = not_to_be_run(question);
    let words: Vec<String> = stops
        .into_iter()
        .chain(held)
        .chain(before_any_size(question))
        .chain(seized_elsewhere(question))
        .collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// What forbids to run its engine whatever is fitted; what cannot be read of its build is said where it is asked for.
pub fn not_to_be_run(question: &Question<'_>) -> Vec<String> {
    question.not_to_be_run().unwrap_or_default()
}

/// What is to be known before any size: a cylinder that was lean alone, several lean runs in a row, a fuel of which only the name is known.
pub fn before_any_size(question: &Question<'_>) -> Vec<String> {
    let mended = question.holds.mended.clone();
    let apart = question.apart.iter().map(|sentence| visible(sentence));
    let fuel = not_in_the_tank(question).into_iter().chain(fuel_by_name(question));
    let there = question.ran_lean_there().unwrap_or_default();
    there.into_iter().chain(apart).chain(lean_again(question)).chain(mended).chain(fuel).collect()
}

/// How what is said of a fuel that is not in the tank begins: on a card it stands apart from what differs beside.
pub const NOT_IN_THE_TANK: &str = "Fill first or it may be lean:";

/// Fuel that is recorded and by the open jobs not in the tank: what is fitted is for it alone.
fn not_in_the_tank(question: &Question<'_>) -> Option<String> {
    let open = question.fuel_not_in_the_tank().ok().filter(|open| !open.is_empty())?;
    let open: Vec<String> = open.iter().map(|what| visible(what)).collect();
    Some(format!("{NOT_IN_THE_TANK} {}.", open.join("; ")))
}

/// Two runs and more on this combination were lean at full throttle, and none on more fuel was right since.
fn lean_again(question: &Question<'_>) -> Option<String> {
    let full = question.holds.holds.iter().filter(|hold| hold.zone == "full" && !hold.mended);
    let mut runs: Vec<&str> = full.map(|hold| hold.outing.id.as_str()).collect();
    runs.sort_unstable();
    runs.dedup();
    (runs.len() > 1).then(|| {
        format!(
            "{} runs were lean at full throttle and none on more fuel was right since: look for an air leak, a blocked jet, slipped ignition timing, other fuel, before re-jetting. Do not run it hard.",
            runs.len()
        )
    })
}

/// Another fuel than the one it stands on, of which nothing but its name tells the two apart.
pub fn fuel_by_name(question: &Question<'_>) -> Option<String> {
    let (before, after) = question.fuels_by_name()?;
    let (before, after) = (visible(before), visible(after));
    let had = |field: &str| question.now.fields.quantity(field).is_some();
    let lacking = if had("fuel.density") && had("fuel.stoichiometric_ratio") {
        format!("of {before} neither is written down")
    } else {
        "write fuel.density and fuel.stoichiometric_ratio down first".to_owned()
    };
    let taken = if question.is_denser_or_lighter() {
        format!(
            "no ratio of air to fuel tells it from {before}: that is taken as the same, whatever it weighs"
        )
    } else {
        format!(
            "only the name tells it from {before}: density and ratio of air to fuel are taken as the same; {lacking}"
        )
    };
    Some(format!(
        "Of the fuel {after} {taken}. An alcohol wants half as much again and more: do not run one on these jets."
    ))
}

/// The bike's last run, where it seized on another combination: what the two share may be the cause.
pub fn seized_elsewhere(question: &Question<'_>) -> Option<String> {
    if let Some(words) = &question.holds.engine_seized {
        return Some(ways::worded(words));
    }
    let last = question.book.outings(&question.baseline.bike).ok()?.pop()?;
    let seized = lean_sign(&last.outing).filter(|sign| sign.is_seizure() && !last.outing.is_closed())?;
    let held = question.holds.holds.iter().any(|hold| hold.outing.id == last.id);
    (!held).then(|| {
        format!(
            "The last run of this bike {} ({}), on another combination. Jets, fuel, spark and air filter may be the cause: find out why before anything is run.",
            visible(seized.word()),
            last.outing.date.short()
        )
    })
}

/// Refuses an answer where the bike's injection is another one than that which the answer stands on, but for a field.
pub fn require_the_same_injection(question: &Question<'_>, but_for: Option<&str>) -> Result<(), Trouble> {
    question.other_injection(but_for).map_or(Ok(()), |field| Err(another_injection(question, &field)))
}

/// Whether the map on the bike is the baseline's with each row trimmed as a whole, as a map of cells is answered.
fn trimmed_by_rows(question: &Question<'_>) -> bool {
    let (was, now) = (question.whole.fields.map(MAP), question.now.fields.map(MAP));
    let injection = question.whole.setup.as_ref().and_then(|setup| setup.injection.as_ref());
    let maps = was.zip(now).filter(|(was, now)| !was.same_as(now));
    maps.zip(injection).is_some_and(|((was, now), injection)| fuel_over(was, now, injection).is_some())
}

/// What the bike has in a field, and what the baseline had there.
pub fn field_has_and_had(question: &Question<'_>, field: &str) -> String {
    has_and_had(field, question.baseline.number, (&question.whole.fields, &question.now.fields))
}

/// The refusal where the bike's injection is another one than that which the answer stands on.
pub fn another_injection(question: &Question<'_>, field: &str) -> Trouble {
    let (bike, number) = (&question.baseline.bike, question.baseline.number);
    let lean = question.holds.holds.iter().find(|hold| !hold.mended).map(|hold| {
        format!(
            "The run of {} was lean or seized (\"{}\"): nothing leaner than it, and do not run it before that is looked into. ",
            hold.outing.outing.date.short(),
            visible(&hold.words)
        )
    });
    let help = match lean {
        // What was not written down then cannot be put back.
        None if question.whole.fields.get(field).is_none() => format!(
            "Setup {number} says nothing of it: run what is on the bike, start rich, and log it, and the answer stands on it once it was right. If it was so all the time, say so of the runs that were right: `reedbook outing edit {bike} OUTING --setup {}`.",
            question.newest.unwrap_or(number)
        ),
        None => format!(
            "Put setup {number} back with `reedbook rollback {bike} {number}`, or run what is on the bike, start rich, and log it: the answer stands on it once it was right."
        ),
        // What was loaded cell by cell is answered cell by cell.
        Some(_) if trimmed_by_rows(question) => format!(
            "Cell by cell it is answered for the map that is on it: `reedbook rejet {bike} --cells`. For one trim put the map of setup {number} back without running it: `reedbook rollback {bike} {number} --only injection --despite \"for the map, not run\"`. Then ask again, and set the trim that is answered."
        ),
        Some(_) => format!(
            "Put the map of setup {number} back without running it: `reedbook rollback {bike} {number} --only injection --despite \"for the map, not run\"`. Then ask again, and set the trim that is answered."
        ),
    };
    Trouble::request(
        Some(field),
        format!(
            "{}The bike has {}: a trim reckoned from setup {number}, the newest that was right, would be for that one.",
            lean.unwrap_or_default(),
            field_has_and_had(question, field)
        ),
        help,
    )
}

/// How much of a card or a plan is theory and how much record, and what is said of a newest run that the record cannot explain;
/// `greatest` is the greatest risk of lean at full throttle in it, `below_full` what is over its limit where a lean run holds.
pub fn record_words(
    question: &Question<'_>,
    adviser: &Adviser,
    evidence: Option<&Evidence>,
    (greatest, below_full): (Option<f64>, Option<LeanBelowFull>),
) -> Result<(String, Option<String>), Trouble> {
    let advised = adviser.advise(&question.unchanged()?, &question.floors(&question.from)?)?;
    let report = RecordReport {
        learned: advised.learned.as_ref(),
        adviser,
        evidence,
        theory: None,
        foretold: None,
        injected: advised.rejet.injection.is_some(),
        is_held: !question.holds.is_empty(),
        least: None,
    };
    let record = RecordAnswer::new(report, &advised.rejet);
    let below = below_full.map(|over| {
        format!(
            " {} is lean with a chance of up to {} here (limit {}): a run was lean there.",
            capital(&throttle(over.zone)),
            percent_beside(over.chance, over.limit, 0),
            percent_trimmed(over.limit)
        )
    });
    Ok((record.in_short(greatest) + &below.unwrap_or_default(), record.surprise()))
}
