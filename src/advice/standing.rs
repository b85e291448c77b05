//! What a mechanic should know before trusting the records: edits that were never recorded, files that cannot be read, an
//! engine that has gone, and how much changed since the last outing.

use super::building;
use super::closing::sign_anywhere;
use super::combined::combined_never_run;
use super::conditions::kept::serve;
use super::half_done::leaner_than_either;
use super::held::{
    Judgement, LastVerdict, Proposal, Shelf, StillHeld, Told, judge_each, known_holds, may_be_held,
    still_lean_at_full, still_lean_below, was_judged, where_said,
};
use super::learning::sign_of_lean;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{
    AirEntry, Combination, Doubted, FieldSet, Mixture, Outing, When, compare, differing, section_of,
};
use crate::store::{
    BikeJobs, Book, Garage, OutingRecord, SetupName, SetupRecord, StoreError, edited_outings, missing_jobs,
    missing_remark, retired_remark,
};

/// Fields that are named one by one.
const NAMED: usize = 20;

/// Remarks on a bike's records.
pub fn remarks(book: &Book<'_>, bike: &str) -> Result<Vec<Guidance>, StoreError> {
    let mut remarks: Vec<Guidance> = Vec::new();
    let now = book.combination(bike, None)?;
    match book.latest(bike)? {
        Some(latest) => match engine_elsewhere(book, &latest)? {
            Some(went) => remarks.push(went),
            None if now.findings.is_empty() => remarks.extend(edited_on_disk(book, bike)?),
            None => {}
        },
        None => remarks.push(
            Guidance::from(format!("Nothing is recorded yet: fill in bikes/{bike}/setup.toml, then "))
                + Command::RecordSetup(Some(bike.to_owned()))
                + ".",
        ),
    }
    remarks.extend(retired_remark(book.garage(), bike));
    if let Some(latest) = book.latest(bike)? {
        remarks.extend(combined_never_run(book, &latest)?);
    }
    let mut unread: Vec<Guidance> = now.findings.iter().map(|finding| format!("{finding}").into()).collect();
    for broken in book.broken_outings(bike)? {
        unread.extend(broken.findings.lines().map(Guidance::from));
    }
    for broken in book.broken_jobs()? {
        unread.extend(broken.findings.lines().map(Guidance::from));
    }
    if !unread.is_empty() {
        unread.push(Command::CheckGarage + " says what puts that in order.");
    }
    remarks.extend(unread);
    if let Err(StoreError::Barred(barred)) = book.garage().read(&Garage::bike_folder(bike).join("numbers")) {
        remarks.push(barred.to_string().into());
    }
    remarks.extend(book.numbers_lost(bike)?.map(|lost| Guidance::from(lost.message + " ") + lost.help));
    remarks.extend(book.doubled_numbers(bike)?);
    remarks.extend(book.garage().cut_off());
    remarks.extend(missing_remark(book.garage(), bike)?);
    remarks.extend(missing_jobs(book.garage())?);
    Ok(remarks)
}

/// What there is to say where the engine of a bike's setup went into another bike since.
pub fn engine_elsewhere(book: &Book<'_>, setup: &SetupRecord) -> Result<Option<Guidance>, StoreError> {
    let Some(engine) = &setup.engine else { return Ok(None) };
    let bike = &setup.bike;
    let holder = book.engine_holders()?.remove(engine).filter(|(other, _)| other != bike);
    Ok(holder.map(|(other, number)| {
        let went = format!(
            "The engine {engine} went into {other} with its setup {number}; say what is in {bike} now with "
        );
        Guidance::from(went) + Command::SayEngine(bike.clone()) + "."
    }))
}

/// What there is to say where the files on disk hold edits that were never recorded.
pub fn edited_on_disk(book: &Book<'_>, bike: &str) -> Result<Option<Guidance>, StoreError> {
    let Some(latest) = book.latest(bike)? else { return Ok(None) };
    let (recorded, now) = (book.combination(bike, Some(&latest))?, book.combination(bike, None)?);
    if now.fields.same_as(&recorded.fields) {
        return Ok(None);
    }
    let changes = compare(&recorded.fields, &now.fields).changes;
    let fields: Vec<_> = changes.iter().take(NAMED).map(|change| change.field.as_str()).collect();
    let more = match changes.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let edited = format!("Edited on disk and not recorded: {}{more}. ", fields.join(", "));
    Ok(Some(Guidance::from(edited) + Command::RecordSetup(Some(bike.to_owned())) + " records it."))
}

/// What there is to say of outings whose files are not as they were recorded: an answer hears what stands there now.
pub fn outings_edited_on_disk(book: &Book<'_>, bike: &str) -> Result<Vec<Guidance>, StoreError> {
    let edited = edited_outings(book.garage(), bike)?;
    let said = edited.into_iter().map(|one| {
        Guidance::from(format!(
            "Edited on disk and not recorded: the outing {}. This goes by what stands there now. ",
            visible(&one.file.to_string_lossy())
        )) + one.help
    });
    Ok(said.collect())
}

/// Fails when the files on disk hold edits that were never recorded: advice that is recorded would take them along.
pub fn require_recorded(book: &Book<'_>, bike: &str) -> Result<(), StoreError> {
    let Some(latest) = book.latest(bike)? else {
        return Ok(());
    };
    let recorded = book.combination(bike, Some(&latest))?;
    let now = book.combination(bike, None)?;
    let changes = compare(&recorded.fields, &now.fields).changes;
    if changes.is_empty() {
        return Ok(());
    }
    let fields: Vec<_> = changes.into_iter().map(|change| change.field).collect();
    Err(StoreError::UnrecordedEdits { bike: bike.to_owned(), fields: fields.join(", "), can_discard: false })
}

/// A remark when a setup did not run right at full throttle the last time it was judged: advice that starts from it, or a
/// mark that vouches for it, starts from there.
pub fn not_right(book: &Book<'_>, bike: &str, setup: &SetupRecord) -> Result<Option<String>, StoreError> {
    let outings = book.outings(bike)?;
    let of_setup = || {
        let open = outings.iter().rev().filter(|record| !record.outing.is_closed());
        open.filter(|record| record.setup == Some(setup.number))
    };
    let sign = |outing: &Outing| {
        let each = outing.at_each_cylinder();
        each.iter().find_map(|(_, own)| Some((sign_of_lean(own)?, where_said(own))))
    };
    let signed = of_setup().find_map(|record| Some((record.outing.date, sign(&record.outing)?)));
    if let Some((date, (sign, says))) = signed {
        return Ok(Some(format!(
            "Setup {} was lean on {}: {} \"{sign}\". Find out why before it runs again.",
            setup.number,
            date.day(),
            says.replace("the notes", "the outing's notes")
        )));
    }
    let judged = of_setup().find_map(|record| Some((record.outing.date, record.outing.at_full_throttle()?)));
    Ok(judged.filter(|(_, full)| *full != Mixture::Right).map(|(date, full)| {
        format!("Setup {} ran {} at full throttle on {}.", setup.number, full.words(), date.day())
    }))
}

/// The lean run that still holds full throttle of a setup's combination; at each cylinder where there are several.
pub fn held_at_full(book: &Book<'_>, setup: &SetupRecord) -> Result<Option<StillHeld>, StoreError> {
    let whole = book.combination(&setup.bike, Some(setup))?;
    if !may_be_held(book, &setup.bike, &whole.fields)? {
        return Ok(None);
    }
    let shelf = Shelf::of(book, &setup.bike)?;
    let tables = shelf.tables();
    let ran = book.outings(&setup.bike)?.iter().any(|run| run.setup == Some(setup.number));
    let names = whole.fields.cylinders();
    if names.is_empty() {
        let holds = known_holds(book, &setup.bike, &whole, &tables)?;
        return Ok(still_lean_at_full(&holds, (setup.number, &whole, ran), &tables));
    }
    for name in &names {
        let seen = book.for_cylinder(name);
        let own = whole.for_cylinders(name, &seen.sharing_with(&setup.bike)?);
        let holds = known_holds(&seen, &setup.bike, &own, &tables)?;
        if let Some(held) = still_lean_at_full(&holds, (setup.number, &own, ran), &tables) {
            return Ok(Some(held.at_cylinder(name)));
        }
    }
    Ok(None)
}

/// The lean runs that still hold a throttle below full of a setup's combination; at each cylinder where there are several.
pub fn held_below_full(book: &Book<'_>, setup: &SetupRecord) -> Result<Vec<StillHeld>, StoreError> {
    let runs = book.outings(&setup.bike)?;
    let whole = book.combination(&setup.bike, Some(setup))?;
    if !may_be_held(book, &setup.bike, &whole.fields)? {
        return Ok(Vec::new());
    }
    let air = book.air_of(&setup.bike, setup)?.and_then(|(air, _)| air.air().ok());
    let shelf = Shelf::of(book, &setup.bike)?;
    let tables = shelf.tables();
    let below = |book: &Book<'_>, own: &Combination, name: Option<&str>| {
        let right_at = |zone: &str| {
            let of_setup = runs.iter().filter(|run| run.setup == Some(setup.number));
            of_setup.flat_map(|run| run.outing.at_each_cylinder()).any(|(cylinder, outing)| {
                let verdict = outing.verdict.unwrap_or_default();
                cylinder == name
                    && verdict.zones().iter().any(|(at, was)| *at == zone && *was == Mixture::Right)
            })
        };
        let holds = known_holds(book, &setup.bike, own, &tables)?;
        Ok::<_, StoreError>(still_lean_below(&holds, (setup.number, own), (air.as_ref(), &tables), right_at))
    };
    let names = whole.fields.cylinders();
    if names.is_empty() {
        return below(book, &whole, None);
    }
    let mut found = Vec::new();
    for name in &names {
        let seen = book.for_cylinder(name);
        let own = whole.for_cylinders(name, &seen.sharing_with(&setup.bike)?);
        let held = below(&seen, &own, Some(name))?;
        found.extend(held.into_iter().map(|held| held.at_cylinder(name)));
    }
    Ok(found)
}

/// The air that a setup was right in, with where that is known from and whether it was; `known` is the air it is known in. A run whose
/// notes say that it was lean was not right, whatever its verdict.
pub fn right_in(
    book: &Book<'_>,
    setup: &SetupRecord,
    known: Option<(AirEntry, String)>,
) -> Result<(Option<(AirEntry, String)>, bool), StoreError> {
    let is_from = |words: &str| known.as_ref().is_some_and(|(_, source)| source.starts_with(words));
    if !is_from("right on") {
        let proven = is_from("proven");
        return Ok((known, proven));
    }
    let runs = book.outings(&setup.bike)?;
    let with_air = |run: &&OutingRecord| {
        run.setup == Some(setup.number) && run.outing.air.is_some() && !run.outing.doubts(Doubted::Air)
    };
    let newest = |run: &OutingRecord, how: &str| {
        let place = run.outing.place.as_deref().map(|place| format!(" at {}", visible(place)));
        let source = format!("{how} {}{}", run.outing.date.day(), place.unwrap_or_default());
        Some((run.outing.air.clone()?, source))
    };
    let was_right = |run: &&OutingRecord| {
        run.outing.at_full_throttle() == Some(Mixture::Right) && words_of_lean(&run.outing).is_none()
    };
    let right = runs.iter().rev().filter(with_air).find(was_right);
    if let Some(right) = right.and_then(|run| newest(run, "right on")) {
        return Ok((Some(right), true));
    }
    let ran = runs.iter().rev().find(with_air).and_then(|run| newest(run, "ran, not right, on"));
    Ok((ran.or(known), false))
}

/// What a run of a setup says of being lean that is put back, newest first; closed or not: it ran on just that.
pub fn was_lean_on_it(book: &Book<'_>, setup: &SetupRecord) -> Result<Option<String>, StoreError> {
    let runs = book.outings(&setup.bike)?;
    let of_setup = runs.iter().rev().filter(|run| run.setup == Some(setup.number));
    let lean = of_setup.filter_map(|run| {
        let how = match (words_of_lean(&run.outing), run.outing.at_full_throttle()) {
            (Some(word), _) => format!("\"{}\"", visible(&word)),
            (None, Some(Mixture::Lean)) => Mixture::Lean.words().to_owned(),
            _ => return None,
        };
        Some((run, how))
    });
    Ok(lean.map(|(run, how)| {
        let why = if run.outing.is_closed() { "its cause is written down" } else { "no cause is written down" };
        format!(
            "Setup {} was lean on {} ({how}), {why}: read plug and piston before it is held open on this.",
            setup.number,
            run.outing.date.short()
        )
    })
    .next())
}

/// What a run forbids of the step that a bike's jobs are of, in sentences.
pub fn forbidden_by_jobs(book: &Book<'_>, jobs: &BikeJobs) -> Result<Vec<String>, StoreError> {
    let Some((ran, wanted)) = jobs.step() else { return Ok(Vec::new()) };
    // Whoever recorded it all the same has said why.
    let of_step = |setup: &SetupRecord| setup.number > ran.number && setup.number <= wanted.number;
    if book.setups(&jobs.bike)?.iter().any(|setup| of_step(setup) && setup.despite.is_some()) {
        return Ok(Vec::new());
    }
    let judged = judged_jobs(book, jobs)?.and_then(|(_, judged)| judged);
    Ok(judged.iter().flat_map(|judged| &judged.refused).map(|one| one.sentence.without_commands()).collect())
}

/// The step that a bike's jobs are of, from the setup that ran last to the newest, as its recording judges it, none where a run cannot be
/// read; with what it leads to.
fn judged_jobs(
    book: &Book<'_>,
    jobs: &BikeJobs,
) -> Result<Option<(Combination, Option<Judgement>)>, StoreError> {
    let Some((ran, wanted)) = jobs.step() else { return Ok(None) };
    let whole = |setup: &SetupRecord| book.combination(&jobs.bike, Some(setup));
    let (before, after) = (whole(ran)?, whole(wanted)?);
    let air = wanted.air.as_ref().and_then(|air| air.air().ok());
    let kept = if air.is_none() { Some(serve(book, None, None, wanted.date)?) } else { None };
    let back = Proposal::put_back(&jobs.bike, Some(&before), &after);
    let proposal = Proposal { air: air.as_ref(), kept: kept.as_ref(), ..back };
    let judged = judge_each(book, &proposal).ok();
    Ok(Some((after, judged)))
}

/// What must not be run like that in the step that a bike's jobs are of, in sentences: as its recording said it, from the setup that ran
/// last to the newest. Nothing once it ran.
pub fn of_jobs(book: &Book<'_>, jobs: &BikeJobs) -> Result<Vec<String>, StoreError> {
    let (Some(step), Some((after, judged))) = (jobs.step(), judged_jobs(book, jobs)?) else {
        return Ok(Vec::new());
    };
    let Some(judged) = judged else {
        return Ok(vec!["A run cannot be read: what can hurt in this step is not known.".to_owned()]);
    };
    let urgent = judged.told.iter().filter(|told| told.urgent);
    let told = urgent.filter_map(|told| told.beside(&judged.refused));
    // That nothing was judged yet takes nothing away from what speaks against it.
    let says = |told: &Told| {
        !told.parts.is_empty() || told.last.as_ref().is_some_and(|last| last.was == LastVerdict::Lean)
    };
    let told = told.filter(says).map(|told| told.sentence());
    let refused = judged.refused.iter().map(|refusal| refusal.sentence.without_commands());
    let ran_lean = like_it_ran_lean(book, &after, step)?;
    let half_done = leaner_than_either(book, jobs)?;
    Ok(half_done.into_iter().chain(ran_lean).chain(told).chain(refused).collect())
}

/// What is said of a setup before the one that ran last that was lean on the same fuel, spark and jetting; the newest such run.
fn like_it_ran_lean(
    book: &Book<'_>,
    whole: &Combination,
    (last, wanted): (&SetupRecord, &SetupRecord),
) -> Result<Option<String>, StoreError> {
    let counts = |field: &str| matches!(section_of(field), "jetting" | "injection" | "ignition" | "fuel");
    let bike = &wanted.bike;
    let setups = book.setups(bike)?;
    let mut looked_at = vec![last.number];
    for run in book.outings(bike)?.iter().rev() {
        let is_lean =
            words_of_lean(&run.outing).is_some() || run.outing.at_full_throttle() == Some(Mixture::Lean);
        let of_run = setups.iter().find(|one| Some(one.number) == run.setup).filter(|_| is_lean);
        let Some(other) = of_run.filter(|other| !looked_at.contains(&other.number)) else { continue };
        looked_at.push(other.number);
        let fields = book.combination(bike, Some(other))?.fields;
        if !differing(&whole.fields, &fields).any(counts) {
            return was_lean_on_it(book, other);
        }
    }
    Ok(None)
}

/// What is said of a setup whose newest judged run was lean at full throttle, with its cause written down: nothing has shown yet that the
/// mend was enough.
pub fn mended_and_not_run(book: &Book<'_>, setup: &SetupRecord) -> Result<Option<String>, StoreError> {
    let runs = book.outings(&setup.bike)?;
    let newest = runs.iter().rev().find(|run| run.setup == Some(setup.number) && was_judged(&run.outing));
    let closed = newest.filter(|run| run.outing.is_closed() && ran_lean_last(book, setup));
    Ok(closed.map(|run| {
        let cause = run.outing.cause.as_deref().map(|cause| format!(" ({})", visible(cause)));
        let full = run.outing.at_full_throttle().filter(|full| *full < Mixture::Right);
        format!(
            "Its last run, {}, was {}, and since that was fixed{} none was right: start richer and read plug and piston before it is held open on this.",
            run.outing.date.short(),
            full.map_or("lean by its notes", Mixture::words),
            cause.unwrap_or_default()
        )
    }))
}

/// The word of an outing's notes that says it was lean, at whichever cylinder.
fn words_of_lean(outing: &Outing) -> Option<String> {
    outing.at_each_cylinder().iter().find_map(|(_, own)| sign_of_lean(own))
}

/// Whether the newest judged run of a setup was lean at full throttle, mended or not: then nobody is sent back to it.
pub fn ran_lean_last(book: &Book<'_>, setup: &SetupRecord) -> bool {
    let runs = book.outings(&setup.bike).unwrap_or_default();
    let of_setup = runs.iter().rev().filter(|run| run.setup == Some(setup.number));
    let newest = of_setup.map(|run| &run.outing).find(|outing| was_judged(outing));
    newest.is_some_and(|outing| {
        let full = outing.at_full_throttle();
        sign_anywhere(outing).is_some() || matches!(full, Some(Mixture::Lean | Mixture::SlightlyLean))
    })
}

/// What changed between the last outing before a setup and that setup.
#[derive(Debug, Clone)]
pub struct SinceOuting {
    /// The outing.
    pub outing: OutingRecord,
    /// Number of the setup it ran.
    pub setup: u32,
    /// Sections that differ, notes left out.
    pub sections: Vec<String>,
    /// Whether the setup itself has run already.
    pub has_run: bool,
}

impl SinceOuting {
    /// In words, with what it means for the next verdict.
    pub fn words(&self) -> String {
        let outing = format!("Since the outing of {} (setup {})", self.outing.outing.date.day(), self.setup);
        match self.sections.as_slice() {
            [] => format!("{outing} nothing changed on the bike."),
            [only] if self.has_run => {
                format!("{outing} only {only} changed: so its verdicts are down to that alone.")
            }
            [only] => format!("{outing} only {only} changed: the next verdict will speak of it."),
            several => format!(
                "{outing} {} sections changed ({}): a verdict cannot be pinned on any one of them.",
                several.len(),
                several.join(", ")
            ),
        }
    }
}

/// Compares a setup with the one that the last outing before it ran. None when there was no outing before.
pub fn since_outing(
    book: &Book<'_>,
    bike: &str,
    (setup, fields): (Option<&SetupRecord>, &FieldSet),
    now: When,
) -> Result<Option<SinceOuting>, StoreError> {
    let highest = setup.map_or(u32::MAX, |setup| setup.number);
    let outings = book.outings(bike)?;
    let has_run = setup.is_some_and(|setup| outings.iter().any(|record| record.setup == Some(setup.number)));
    let last = outings.into_iter().rev().find(|record| record.setup.is_some_and(|number| number < highest));
    let Some((outing, number)) = last.and_then(|record| record.setup.map(|number| (record, number))) else {
        return Ok(None);
    };
    let ran = book.recorded(bike, &SetupName::Number(number))?;
    let before = book.combination(bike, Some(&ran))?;
    let comparison = compare(&before.fields, fields);
    let mut sections: Vec<_> = comparison.tuning_sections().into_iter().map(str::to_owned).collect();
    let engines = (before.fields.text("engine"), fields.text("engine"));
    if let (Some(was), Some(is)) = engines
        && was == is
        && building::is_on_the_bike(book, bike, setup)?
        && building::inside_engine(book, is, (outing.outing.date, now))?.is_some()
    {
        sections.push("the inside of the engine".to_owned());
    }
    Ok(Some(SinceOuting { outing, setup: number, has_run, sections }))
}
