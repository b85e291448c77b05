//! A bike at a glance: what is on it, how it last ran, how its engine stands and what is due.

use std::collections::BTreeSet;

use super::combined::combined_never_run;
use super::conditions::kept;
use super::handed::ran_lean_there_now;
use super::held::{
    Reference, Shelf, StillLean, engine_seized_elsewhere, known_holds, may_be_held, still_lean,
};
use super::parts::{DueStanding, Ledger, State};
use super::slips::dated_ahead;
use super::{building, standing, today};
use crate::air::Air;
use crate::notebook::fields::called::{at_cylinder, called};
use crate::notebook::fields::cylinder::common;
use crate::notebook::fields::meaning::{Deed, Hands, LAST};
use crate::notebook::fields::names::in_words;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{Combination, FieldSet, Value, When, section_of};
use crate::store::{BikeJobs, Book, OutingRecord, PartRecord, SetupRecord, StoreError};

/// What is known of a bike at one look.
#[derive(Debug, Clone)]
pub struct Glance {
    /// The bike.
    pub bike: String,
    /// Its newest setup; none before the first.
    pub setup: Option<SetupRecord>,
    /// Whether that setup is marked proven.
    pub proven: bool,
    /// What is on it, by section in the order of the types: what is written, and while jobs are open what they have not changed yet.
    pub on_it: Vec<OnIt>,
    /// The engine that is still in it where another one is to go in.
    pub engine_to_come_out: Option<String>,
    /// Its engine.
    pub engine: Option<String>,
    /// Whose that engine is, where it is a customer's.
    pub owner: Option<String>,
    /// What that engine ran by the record, hours, and whether that is the least that it can be; none where nothing was logged.
    pub engine_hours: Option<(f64, bool)>,
    /// Its last run.
    pub last_run: Option<OutingRecord>,
    /// Its engine seized in another bike, and no cause is written down: a sentence.
    pub engine_seized: Option<Guidance>,
    /// What forbids to run it as it stands, in sentences: its engine is not put together, or ran lean and was not looked into.
    pub stops: Vec<String>,
    /// What must be known before it runs, in sentences.
    pub remarks: Vec<Guidance>,
    /// Parts that will not last another event, or are over their limit, the most urgent first.
    pub due: Vec<DueStanding>,
    /// What is to be done before its newest setup is on it.
    pub jobs: BikeJobs,
}

/// What is on a bike of one section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnIt {
    /// The section, like jetting.
    pub section: String,
    /// What is set or fitted: its name at the bike, and its value.
    pub values: Vec<(String, String)>,
}

/// Looks at a bike. `runs` and limits are the ledger's, `parts` and `jobs` all of the garage.
pub fn glance(
    book: &Book<'_>,
    bike: &str,
    (ledger, parts, jobs): (&Ledger<'_>, &[PartRecord], &[BikeJobs]),
    now: When,
) -> Result<Glance, StoreError> {
    let setup = book.latest(bike)?;
    let whole = book.combination(bike, None)?;
    let engine = whole.fields.text("engine").map(str::to_owned);
    let StillLean { stops: lean, known } = lean_and_unjudged(book, bike, &whole, now)?;
    let mut remarks: Vec<Guidance> = known.into_iter().map(Guidance::from).collect();
    let combined = match &setup {
        Some(setup) => combined_never_run(book, setup)?,
        None => None,
    };
    let combined_words = combined.as_ref().map(Guidance::without_commands);
    // More than that it never ran is said among what must be known.
    let (first, is_all) = match &combined_words {
        Some(words) => {
            let first = words.split(" The run of ").next().unwrap_or(words).to_owned();
            let is_all = first == *words;
            (Some(first), is_all)
        }
        None => (None, true),
    };
    // What is on it is not known where its setup cannot be read.
    let mut stops: Vec<String> = whole.findings.iter().map(ToString::to_string).collect();
    let is_said = |said: &Guidance| {
        (is_all && Some(said) == combined.as_ref()) || stops.contains(&said.without_commands())
    };
    remarks.extend(standing::remarks(book, bike)?.into_iter().filter(|said| !is_said(said)));
    remarks.extend(standing::outings_edited_on_disk(book, bike)?);
    remarks.extend(dated_ahead(book, bike, now)?);
    let mut engine_hours = None;
    if let Some(engine) = &engine {
        let (forbid, known) = building::before_it_runs(book, engine, now)?;
        stops.extend(forbid);
        remarks.extend(known.into_iter().map(Guidance::from));
        let ran: Vec<_> = ledger.runs.iter().filter(|run| run.engine == *engine).collect();
        let hours = ran.iter().filter_map(|run| run.hours_h).sum();
        let at_least = ran.iter().any(|run| run.hours_h.is_none());
        engine_hours = (!ran.is_empty()).then_some((hours, at_least));
    }
    let mut runs = book.outings(bike)?;
    stops.extend(lean);
    let there = known_or_said(ran_lean_there_now(book, bike), &mut stops)?;
    stops.extend(there);
    stops.extend(first);
    let jobs = jobs.iter().find(|jobs| jobs.bike == bike).cloned().unwrap_or_default();
    let engine_seized = known_or_said(seized_elsewhere(book, bike, &whole), &mut stops)?;
    let seized = engine_seized.as_ref().map(Guidance::without_commands);
    let said = standing::of_jobs(book, &jobs)?.into_iter();
    let said = said.filter(|said| !stops.contains(said) && seized.as_ref() != Some(said));
    stops.extend(said.collect::<Vec<_>>());
    let due = ledger.due(parts, Some(bike)).parts;
    // One file that cannot be read is said, and keeps nobody from the rest.
    let proven = match (&setup, book.garage().bike(bike)) {
        (Some(setup), Ok(document)) => document.proven.contains_key(&setup.id),
        (None, Ok(_)) => false,
        (_, Err(StoreError::Findings(findings))) => {
            let unread = findings
                .first()
                .map(|finding| format!("{finding} Whether its setup is proven is not known."));
            stops.extend(unread);
            remarks.push(Command::CheckGarage + " says what puts bike.toml in order.");
            false
        }
        (_, Err(error)) => return Err(error),
    };
    let fitted = jobs.not_as_written().unwrap_or(&whole.fields);
    let in_it = fitted.text("engine").map(str::to_owned);
    Ok(Glance {
        bike: bike.to_owned(),
        proven,
        on_it: on_it(fitted),
        engine_to_come_out: in_it.filter(|in_it| engine.as_ref().is_some_and(|engine| engine != in_it)),
        owner: whole.engine.as_ref().and_then(|engine| engine.owner.clone()),
        engine,
        engine_hours,
        last_run: runs.pop(),
        engine_seized,
        stops,
        remarks,
        due: due.into_iter().filter(|part| part.state() >= State::NotForAnotherEvent).collect(),
        jobs,
        setup,
    })
}

/// The lean run that an answer would name first, at each cylinder where there are several.
fn lean_and_unjudged(
    book: &Book<'_>,
    bike: &str,
    whole: &Combination,
    now: When,
) -> Result<StillLean, StoreError> {
    // What is seen of the words alone is all that most bikes need.
    if whole.setup.is_none() || !may_be_held(book, bike, &whole.fields)? {
        return Ok(StillLean::default());
    }
    let place = today::place_of_the_day(book, now)?;
    let served = kept::serve(book, None, place.as_deref(), now)?;
    let air = served.entry.and_then(|air| air.air().ok());
    let names = whole.fields.cylinders();
    if names.is_empty() {
        return lean_at_one(book, bike, whole, air.as_ref());
    }
    let mut found = StillLean::default();
    for (name, asked) in &whole.fields.jetted() {
        let seen = book.for_cylinder(asked);
        let own = whole.for_cylinders(asked, &seen.sharing_with(bike)?);
        let of_one = lean_at_one(&seen, bike, &own, air.as_ref())?;
        let named = |words: String| format!("Cylinder {name}: {words}");
        found.stops.extend(of_one.stops.into_iter().map(named));
        found.known.extend(of_one.known.into_iter().map(named));
    }
    Ok(found)
}

/// What is to be said where the engine seized in another bike, at any of its cylinders.
/// What is known; where an outing of another bike cannot be read, that is said in its place, and the bike is looked at all the same.
fn known_or_said<T: Default>(found: Result<T, StoreError>, stops: &mut Vec<String>) -> Result<T, StoreError> {
    match found {
        Err(unread @ StoreError::OutingUnread { .. }) => {
            let said = unread.to_string();
            stops.extend((!stops.contains(&said)).then_some(said));
            Ok(T::default())
        }
        found => found,
    }
}

fn seized_elsewhere(
    book: &Book<'_>,
    bike: &str,
    whole: &Combination,
) -> Result<Option<Guidance>, StoreError> {
    let of_all = engine_seized_elsewhere(book, bike, &whole.fields)?;
    for name in whole.fields.cylinders().iter().take_while(|_| of_all.is_none()) {
        let (book, own) = (book.for_cylinder(name), whole.for_cylinder(name));
        if let Some(sentence) = engine_seized_elsewhere(&book, bike, &own.fields)? {
            let at = format!(" seized at {} ", in_words(name));
            return Ok(Some(sentence.map_first(|words| words.replacen(" seized ", &at, 1))));
        }
    }
    Ok(of_all)
}

fn lean_at_one(
    book: &Book<'_>,
    bike: &str,
    whole: &Combination,
    air: Option<&Air>,
) -> Result<StillLean, StoreError> {
    let runs = book.outings(bike)?;
    let Some(setup) = whole.setup.as_ref() else { return Ok(StillLean::default()) };
    if !may_be_held(book, bike, &whole.fields)? {
        return Ok(StillLean::default());
    }
    let shelf = Shelf::of(book, bike)?;
    let tables = shelf.tables();
    let stands = (Reference::new(setup, &whole.fields), setup);
    Ok(still_lean(&known_holds(book, bike, whole, &tables)?, stands, (air, &tables), runs.last()))
}

/// A value as it holds: once where all cylinders have the same, else of each of them, with its name.
fn at_each<'f>(fields: &'f FieldSet, field: &str) -> Vec<(Option<String>, &'f Value)> {
    let of_all = || fields.get(field).map(|value| (None, value)).into_iter().collect();
    if fields.owners(field).is_empty() {
        return of_all();
    }
    let names = fields.cylinders();
    let holds = |name: &String| Some((Some(name.clone()), fields.holding(&format!("{name}.{field}"))?));
    let each: Vec<(Option<String>, &Value)> = names.iter().filter_map(holds).collect();
    match each.as_slice() {
        [(_, first), others @ ..]
            if each.len() == names.len() && others.iter().all(|(_, other)| other.same_as(first)) =>
        {
            vec![(None, *first)]
        }
        _ => each,
    }
}

/// What was measured inside, and is told of each cylinder where they differ.
const MEASURED: [&str; 2] = ["head.squish_clearance", "head.chamber_volume"];

/// What is set, fitted or loaded at the bike, by section, in the order in which it is done there.
pub fn on_it(fields: &FieldSet) -> Vec<OnIt> {
    let mut done: Vec<(u16, String, (String, String))> = Vec::new();
    let mut said: BTreeSet<&str> = BTreeSet::new();
    for field in fields.iter().map(|(field, _)| common(field)) {
        let Some(Hands { deed, turn, .. }) = Combination::meaning(field).map(|meaning| &meaning.hands) else {
            continue;
        };
        let name = match deed {
            Deed::Set(name) | Deed::Fit(name) | Deed::ScrewIn(name) => name.clone(),
            Deed::Load(name) => name.trim_start_matches("the ").to_owned(),
            // What was measured of one cylinder otherwise is what tells it from the others.
            Deed::Nothing if MEASURED.contains(&field) && !fields.owners(field).is_empty() => called(field),
            Deed::NumberedBy(_) | Deed::Nothing => continue,
        };
        // What nobody turns between two runs is in `show`.
        if (*turn >= LAST && !MEASURED.contains(&field)) || !said.insert(field) {
            continue;
        }
        let own = field.rsplit('.').next().unwrap_or(field).replace('_', " ");
        let name = name.strip_suffix('*').map_or_else(|| name.clone(), |name| format!("{name}{own}"));
        let each = at_each(fields, field);
        if MEASURED.contains(&field) && each.len() > 1 {
            let texts: Vec<String> = each.iter().map(|(_, value)| value.text()).collect();
            // A unit that all have is said once, behind the last.
            let unit = texts[0].rfind(' ').map_or("", |at| &texts[0][at..]);
            let unit = if texts.iter().all(|text| text.ends_with(unit)) { unit } else { "" };
            let of_each = each.iter().zip(&texts).filter_map(|((cylinder, _), text)| {
                Some(format!("{} {}", cylinder.as_ref()?, text.strip_suffix(unit)?))
            });
            let value = format!("{}{unit}", of_each.collect::<Vec<_>>().join(", "));
            done.push((*turn, section_of(field).to_owned(), (name, value)));
            continue;
        }
        for (cylinder, value) in each {
            let value = match value {
                Value::Text(text) if text.lines().count() > 1 => continue,
                value => value.text(),
            };
            let name = cylinder.map_or_else(|| name.clone(), |cylinder| at_cylinder(&cylinder, &name));
            done.push((*turn, section_of(field).to_owned(), (name, value)));
        }
    }
    done.sort_by_key(|(turn, _, _)| *turn);
    let mut by_section: Vec<OnIt> = Vec::new();
    for (_, section, value) in done {
        match by_section.iter_mut().find(|one| one.section == section) {
            Some(one) => one.values.push(value),
            None => by_section.push(OnIt { section, values: vec![value] }),
        }
    }
    by_section
}
