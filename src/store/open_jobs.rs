//! Which jobs are open at the bikes, reckoned from what was recorded: the setup that ran last is what is in a bike, each tick since puts
//! one thing more on it, and what still differs from the newest setup is to be done. What was changed and changed back is none.

use std::collections::{BTreeSet, HashMap};

use crate::notebook::restoring::on_the_bike::{is_cut_otherwise, put_on, to_do};
use crate::notebook::{FieldSet, JobItem, OF_PART, PartPlace, SAID_TO_BE_ON, When};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::records::{BrokenOuting, JobRecord, PartRecord, SetupRecord, is_taken_in, setup_at};

/// The field that says which engine is in a bike.
const ENGINE: &str = "engine";

/// A job that is open, or was ticked since the bike ran.
#[derive(Debug, Clone)]
pub struct OpenJob {
    /// The number by which it is ticked, across the garage; 0 where it was not asked for.
    pub number: u32,
    /// The bike.
    pub bike: String,
    /// What is to be done; its tick, where there is one.
    pub item: JobItem,
    /// When it was written down first.
    pub since: When,
    /// When it was ticked.
    pub done: Option<When>,
    /// Whether it was ticked, or said not to be done, and that is the last word on it.
    pub undone: bool,
}

/// What is to be done at one bike.
#[derive(Debug, Clone, Default)]
pub struct BikeJobs {
    /// The bike.
    pub bike: String,
    /// Number of the setup that is to be on it.
    pub setup: Option<u32>,
    /// The jobs, in the order of the bike.
    pub jobs: Vec<OpenJob>,
    /// Jobs of parts that are not there any more, in sentences.
    pub gone: Vec<String>,
    /// Whether something was recorded since it ran and taken back unticked.
    pub taken_back: bool,
    /// Whether its newest setup is combined of two sides' and never ran.
    pub combined_never_run: bool,
    /// What is on the bike, where something is to be done.
    on_it: FieldSet,
    /// The setups that may be on it, oldest first.
    may_be: Vec<SetupRecord>,
}

impl BikeJobs {
    /// What is to be done for the setup, of parts apart; none where nothing was noted since the bike ran.
    pub fn of_setup(&self) -> Option<Vec<&OpenJob>> {
        let of_setup =
            |job: &&OpenJob| job.item.field != OF_PART && !job.item.field.starts_with(SAID_TO_BE_ON);
        (!self.on_it.is_empty()).then(|| self.open().filter(of_setup).collect())
    }

    /// What is on the bike by its jobs; none where nothing was noted since it ran.
    pub fn on_it(&self) -> Option<&FieldSet> {
        (!self.on_it.is_empty()).then_some(&self.on_it)
    }

    /// What is on the bike while something of its setup is still to be done; none where it stands as it is written.
    pub fn not_as_written(&self) -> Option<&FieldSet> {
        self.on_it().filter(|_| self.of_setup().is_some_and(|open| !open.is_empty()))
    }

    /// The setup that ran last and the newest one, where the jobs lead from the one to the other; none where they are of parts alone.
    pub fn step(&self) -> Option<(&SetupRecord, &SetupRecord)> {
        let of_setup = self.jobs.iter().any(|job| job.item.field != OF_PART);
        let (ran, wanted) = (self.may_be.first()?, self.may_be.last()?);
        (of_setup && ran.number != wanted.number).then_some((ran, wanted))
    }

    /// Those that are not ticked.
    pub fn open(&self) -> impl Iterator<Item = &OpenJob> {
        self.jobs.iter().filter(|job| job.done.is_none())
    }
}

/// Something that was noted of a bike's jobs since it ran.
struct Noted<'r> {
    number: Option<u32>,
    date: When,
    /// Place of its setup among the bike's.
    setup: Option<usize>,
    item: &'r JobItem,
}

/// The time since a bike ran.
struct Since<'r> {
    setups: Vec<SetupRecord>,
    /// Place of the setup that is in it, and of the one that is to be.
    ran: usize,
    wanted: usize,
    /// Whether setups of another side were brought in since it ran, or such as git alone recorded.
    apart: bool,
    noted: Vec<Noted<'r>>,
    /// Whether it never ran: then what was written down for the first time was on it.
    never_ran: bool,
}

impl<'r> Since<'r> {
    /// What was noted of one job, without ticks.
    fn wishes(&self, key: (&'r str, Option<&'r str>)) -> impl DoubleEndedIterator<Item = &Noted<'r>> {
        self.noted.iter().filter(move |noted| noted.item.key() == key && !noted.item.is_mark())
    }

    /// The number that a job was given: the newest.
    fn number(&self, key: (&str, Option<&str>)) -> Option<u32> {
        let of_it = || self.noted.iter().rev().filter(|noted| noted.item.key() == key);
        let wished = of_it().filter(|noted| !noted.item.is_mark()).find_map(|noted| noted.number);
        wished.or_else(|| of_it().find_map(|noted| noted.number))
    }

    /// The tick that counts: none where it was taken back later.
    fn tick(&self, key: (&str, Option<&str>)) -> Option<(&Noted<'r>, When)> {
        let of_it = || self.noted.iter().filter(move |noted| noted.item.key() == key);
        let done = of_it().filter_map(|noted| Some((noted, noted.item.done?)));
        let last = done.max_by_key(|(_, date)| *date)?;
        let undone = of_it().filter_map(|noted| noted.item.undone).max();
        undone.is_none_or(|undone| last.1 > undone).then_some(last)
    }

    fn job(&self, bike: &str, item: JobItem, done: Option<When>) -> OpenJob {
        let key = item.key();
        let since = self.noted.iter().find(|noted| noted.item.key() == key).map(|noted| noted.date);
        OpenJob {
            number: self.number(key).unwrap_or(0),
            bike: bike.to_owned(),
            since: since.unwrap_or(self.setups[self.wanted].date),
            undone: done.is_none()
                && self.noted.iter().any(|noted| noted.item.key() == key && noted.item.undone.is_some()),
            done,
            item,
        }
    }
}

impl Book<'_> {
    /// What was on a bike before a step, where it never ran: what is written down for the first time is on it already. None of a bike that
    /// ran.
    pub fn with_what_is_first_written(
        &self,
        bike: &str,
        (old, new): (&FieldSet, &FieldSet),
    ) -> Result<Option<FieldSet>, StoreError> {
        if !self.outings(bike)?.is_empty() {
            return Ok(None);
        }
        let mut known = FieldSet::default();
        for setup in self.setups(bike)? {
            known.extend(self.combination(bike, Some(&setup))?.fields);
        }
        Ok(Some(old.and_first_written(new, &known)))
    }

    /// What is open at every bike that is in use, with numbers across the garage.
    pub fn open_jobs(&self) -> Result<Vec<BikeJobs>, StoreError> {
        let (records, parts) = (self.jobs()?, self.parts()?);
        let in_use = self.bikes_in_use();
        let reckoned = in_use.iter().map(|bike| self.reckoned(bike, None, &records, &parts));
        let mut all = reckoned.collect::<Result<Vec<_>, _>>()?;
        number(&mut all);
        Ok(all)
    }

    /// What is open at one bike, with numbers across the garage.
    pub fn open_jobs_of(&self, bike: &str) -> Result<BikeJobs, StoreError> {
        Ok(self.open_jobs()?.into_iter().find(|jobs| jobs.bike == bike).unwrap_or_default())
    }

    /// What was open at a bike at a date.
    pub fn jobs_at(&self, bike: &str, date: When) -> Result<BikeJobs, StoreError> {
        self.reckoned(bike, Some(date), &self.jobs()?, &self.parts()?)
    }

    /// The newest setup that a bike with open jobs really had on it; none where it stood between two of them.
    pub fn really_on(&self, jobs: &BikeJobs) -> Result<Option<SetupRecord>, StoreError> {
        for setup in jobs.may_be.iter().rev().filter(|setup| setup.readable) {
            let whole = self.combination(&jobs.bike, Some(setup))?;
            if to_do(&jobs.on_it, &whole.fields).is_empty() {
                return Ok(Some(setup.clone()));
            }
        }
        Ok(None)
    }

    /// Numbers of jobs that may be open, and those of one bike with what they are.
    pub(in crate::store) fn numbers_of_jobs(&self, bike: &str) -> Result<Numbers, StoreError> {
        let records = self.jobs()?;
        let mut numbers = Numbers::default();
        let mut apart = false;
        for other in self.bikes_in_use() {
            let Some(since) = self.since_it_ran(&other, None, &records)? else { continue };
            apart |= since.apart;
            for noted in &since.noted {
                let Some(number) = noted.number else { continue };
                numbers.taken.insert(number);
                if other == bike {
                    let (field, part) = noted.item.key();
                    numbers.known.push(((field.to_owned(), part.map(str::to_owned)), number));
                }
            }
        }
        // What nobody noted was shown with a number all the same, and keeps it.
        let shown = if apart { self.open_jobs()? } else { Vec::new() };
        for job in shown.iter().flat_map(BikeJobs::open) {
            let (field, part) = job.item.key();
            let is_it =
                |((known, of), _): &((String, Option<String>), u32)| known == field && of.as_deref() == part;
            if numbers.taken.insert(job.number) && job.bike == bike && !numbers.known.iter().any(is_it) {
                numbers.known.push(((field.to_owned(), part.map(str::to_owned)), job.number));
            }
        }
        Ok(numbers)
    }

    fn bikes_in_use(&self) -> Vec<String> {
        let garage = self.garage();
        let mut bikes = garage.bikes();
        bikes.retain(|bike| !garage.bike(bike).is_ok_and(|document| document.retired.is_some()));
        bikes
    }

    /// What was noted of a bike since it ran last, by `at`.
    fn since_it_ran<'r>(
        &self,
        bike: &str,
        at: Option<When>,
        records: &'r [JobRecord],
    ) -> Result<Option<Since<'r>>, StoreError> {
        let by_then = |date: When| at.is_none_or(|at| date <= at);
        let setups = self.setups(bike)?;
        let newest = match at {
            Some(at) => setup_at(&setups, at),
            None => setups.last(),
        };
        let place_of = |id: &str| setups.iter().position(|setup| setup.id == id);
        let Some(wanted) = newest.and_then(|newest| place_of(&newest.id)) else { return Ok(None) };
        let last = self.last_run(bike, at)?;
        let number = last.map(|(number, _)| number);
        let ran = setups.iter().position(|setup| Some(setup.number) == number).unwrap_or(0);
        let ran_at = last.map(|(_, date)| date);
        let beside = self.beside(&setups, ran);
        // What was committed with git alone was noted by nobody.
        let by_git = || (ran + 1..=wanted).any(|place| setups[place].id == setups[place].commit);
        let apart = !beside.is_empty() || has_leaves(&setups, (ran, wanted)) || by_git();
        let mut noted: Vec<Noted<'r>> = Vec::new();
        for record in records.iter().filter(|record| record.job.bike == bike && by_then(record.job.date)) {
            let (date, setup) = (record.job.date, place_of(&record.job.setup));
            for (name, item) in &record.job.items {
                let counts = if item.field == OF_PART {
                    ran_at.is_none_or(|ran_at| date > ran_at)
                } else {
                    let not_run = |setup: usize| (setup > ran || beside.contains(&setup)) && setup <= wanted;
                    let newer = setup.is_some_and(not_run);
                    newer && (!item.is_mark() || ran_at.is_none_or(|ran_at| date >= ran_at))
                };
                if counts {
                    let number = name.parse().ok().filter(|number| *number > 0);
                    noted.push(Noted { number, date, setup, item });
                }
            }
        }
        let never_ran = number.is_none();
        Ok(Some(Since { setups, ran, wanted, apart, noted, never_ran }))
    }

    /// Places of the setups that another side recorded and that were brought in since the bike ran: older by their number, and none
    /// of those from which came what ran.
    fn beside(&self, setups: &[SetupRecord], ran: usize) -> Vec<usize> {
        let commit = |place: usize| git2::Oid::from_str(&setups[place].commit);
        let git = self.garage().repository().git();
        let line = line_of(setups, ran);
        let is_beside = |place: &usize| {
            let descends = || git.graph_descendant_of(commit(ran)?, commit(*place)?);
            // What cannot be asked counts as run.
            !line.contains(place) && matches!(descends(), Ok(false))
        };
        (0..ran).filter(is_beside).collect()
    }

    fn reckoned(
        &self,
        bike: &str,
        at: Option<When>,
        records: &[JobRecord],
        parts: &[PartRecord],
    ) -> Result<BikeJobs, StoreError> {
        let mut found = BikeJobs { bike: bike.to_owned(), ..BikeJobs::default() };
        let Some(since) = self.since_it_ran(bike, at, records)? else { return Ok(found) };
        let wanted_setup = &since.setups[since.wanted];
        found.setup = Some(wanted_setup.number);
        found.combined_never_run = wanted_setup.combined && since.ran < since.wanted;
        if since.noted.is_empty() && !since.apart {
            return Ok(found);
        }
        let fields_of = |place: usize| -> Result<FieldSet, StoreError> {
            Ok(self.combination(bike, Some(&since.setups[place]))?.fields)
        };
        let wanted = fields_of(since.wanted)?;
        found.on_it = fields_of(since.ran)?;
        if since.never_ran {
            let mut known = found.on_it.clone();
            for place in since.ran + 1..=since.wanted {
                let fields = fields_of(place)?;
                // What was handed over is known from then on, and on somebody else's bike.
                if is_taken_in(&since.setups[place].why) {
                    known.extend(fields);
                    continue;
                }
                found.on_it = found.on_it.and_first_written(&fields, &known);
                known.extend(found.on_it.clone());
            }
        }
        found.may_be = since.setups[since.ran..=since.wanted.max(since.ran)].to_vec();
        let keys: BTreeSet<_> = since.noted.iter().map(|noted| noted.item.key()).collect();
        let of_setup = |key: &&(&str, Option<&str>)| key.0 != OF_PART && !key.0.starts_with(SAID_TO_BE_ON);
        // An engine comes as it was when it was first to go in: what was changed in it since is a job of its own.
        let put_in_at = |mut place: usize| -> Result<usize, StoreError> {
            let engine = fields_of(place)?.text(ENGINE).map(str::to_owned);
            while place > since.ran + 1 && fields_of(place - 1)?.text(ENGINE) == engine.as_deref() {
                place -= 1;
            }
            Ok(place)
        };
        let (mut ticked, mut inside) = (Vec::new(), Vec::new());
        for key in keys.iter().filter(of_setup) {
            if let Some((tick, date)) = since.tick(*key)
                && let Some(place) = tick.setup
            {
                let place = if key.0 == ENGINE { put_in_at(place)? } else { place };
                put_on(&mut found.on_it, &fields_of(place)?, key.0);
                ticked.push((tick.item, date));
                inside.push((tick.item, place));
            }
        }
        let of_setup = |noted: &Noted<'_>| noted.item.field != OF_PART;
        if since.wanted > since.ran && (since.apart || since.noted.iter().any(of_setup)) {
            let mut open = to_do(&found.on_it, &wanted);
            if open.iter().any(|item| item.field == ENGINE) {
                // What was changed in the engine since it was to go in is done to it as well.
                let mut with_engine = found.on_it.clone();
                put_on(&mut with_engine, &fields_of(put_in_at(since.wanted)?)?, ENGINE);
                for (tick, place) in inside {
                    put_on(&mut with_engine, &fields_of(place)?, &tick.field);
                }
                let is_new = |item: &JobItem| open.iter().all(|other| other.field != item.field);
                let inside: Vec<_> = to_do(&with_engine, &wanted).into_iter().filter(is_new).collect();
                open.extend(inside);
            }
            let untouched = |item: &JobItem| open.iter().all(|other| other.field != item.field);
            let still_done = ticked.iter().filter(|(item, _)| untouched(item));
            found.jobs =
                still_done.map(|(item, date)| since.job(bike, (*item).clone(), Some(*date))).collect();
            found.taken_back = open.is_empty() && found.jobs.is_empty();
            found.jobs.extend(open.into_iter().map(|item| since.job(bike, item, None)));
        }
        for key in keys.iter().filter(|key| key.0.starts_with(SAID_TO_BE_ON)) {
            let newest = since.noted.iter().rev().find(|noted| noted.item.key() == *key);
            let Some((noted, place)) = newest.and_then(|noted| Some((noted, noted.setup?))) else { continue };
            let section = key.0.trim_start_matches(SAID_TO_BE_ON);
            if !is_cut_otherwise(&fields_of(place)?, &wanted, section) {
                let done = since.tick(*key).map(|(_, date)| date);
                found.jobs.push(since.job(bike, noted.item.clone(), done));
            }
        }
        for key in keys.iter().filter(|key| key.0 == OF_PART) {
            self.job_of_part(&mut found, &since, *key, parts)?;
        }
        found.taken_back &= found.jobs.is_empty();
        found.jobs.sort_by_key(|job| job.number);
        Ok(found)
    }

    /// A part that goes in or comes out, unless it was put back, or is gone.
    fn job_of_part<'r>(
        &self,
        found: &mut BikeJobs,
        since: &Since<'r>,
        key: (&'r str, Option<&'r str>),
        parts: &[PartRecord],
    ) -> Result<(), StoreError> {
        let (Some(first), Some(last)) = (since.wishes(key).next(), since.wishes(key).next_back()) else {
            return Ok(());
        };
        let tick = since.tick(key);
        let is_in = tick.map_or(&first.item.from, |(noted, _)| &noted.item.to);
        if tick.is_none() && *is_in == last.item.to {
            return Ok(());
        }
        let name = key.1.unwrap_or_default();
        let known = parts.iter().find(|record| record.name == name);
        let newest = known.and_then(|record| record.part.events.values().map(|event| event.date).max());
        let gone = match (known, newest) {
            (None, _) => Some("is not in the book any more"),
            (Some(record), Some(date)) if record.part.is_gone_at(date) => Some("failed or was thrown away"),
            _ => None,
        };
        if let Some(why) = gone {
            let broken = self.broken_parts()?;
            let of_it = |broken: &BrokenOuting| broken.file.file_stem().is_some_and(|stem| stem == name);
            let why = if broken.iter().any(of_it) { "cannot be read" } else { why };
            found.gone.push(format!("{name} {why}: its job is dropped ({}).", last.item.what));
            return Ok(());
        }
        let place = known.zip(newest).and_then(|(record, date)| record.part.place_at(date));
        if place.map(PartPlace::words) != last.item.to {
            // Another part came in for it, or its file was mended.
            return Ok(());
        }
        let done = tick.filter(|_| *is_in == last.item.to).map(|(_, date)| date);
        found.jobs.push(since.job(&found.bike, last.item.clone(), done));
        Ok(())
    }
}

/// Places of the setups from which one came, with its own. One of which nothing known says what it was made of came from the one before.
fn line_of(setups: &[SetupRecord], last: usize) -> BTreeSet<usize> {
    let places: HashMap<&str, usize> =
        setups.iter().enumerate().map(|(place, setup)| (setup.id.as_str(), place)).collect();
    let mut line = BTreeSet::from([last]);
    let mut place = last;
    while place > 0 {
        let from = setups[place].made_from.as_deref().and_then(|id| places.get(id).copied());
        place = from.filter(|from| *from < place).unwrap_or(place - 1);
        line.insert(place);
    }
    line
}

/// Whether since a bike ran setups were recorded from which what is wanted did not come.
fn has_leaves(setups: &[SetupRecord], (ran, wanted): (usize, usize)) -> bool {
    let line = line_of(setups, wanted);
    (ran..wanted).any(|place| !line.contains(&place))
}

/// Numbers that jobs have.
#[derive(Debug, Default)]
pub(in crate::store) struct Numbers {
    taken: BTreeSet<u32>,
    known: Vec<((String, Option<String>), u32)>,
}

impl Numbers {
    /// The number of a job: what it has already, else the lowest that is free.
    pub(in crate::store) fn give(&mut self, item: &JobItem) -> u32 {
        let (field, part) = item.key();
        let known = self.known.iter().rev().find(|((known, of), _)| known == field && of.as_deref() == part);
        let number = known.map_or_else(|| lowest_free(&self.taken), |(_, number)| *number);
        self.taken.insert(number);
        number
    }
}

fn lowest_free(taken: &BTreeSet<u32>) -> u32 {
    (1..u32::MAX).find(|number| !taken.contains(number)).unwrap_or(u32::MAX)
}

/// Two clones may have given one number twice: the job that is older keeps it.
fn number(all: &mut [BikeJobs]) {
    let mut jobs: Vec<&mut OpenJob> = all.iter_mut().flat_map(|bike| &mut bike.jobs).collect();
    jobs.sort_by(|a, b| (a.since, &a.bike, a.item.key()).cmp(&(b.since, &b.bike, b.item.key())));
    let mut taken = BTreeSet::new();
    let (kept, given): (Vec<_>, Vec<_>) =
        jobs.into_iter().partition(|job| job.number > 0 && taken.insert(job.number));
    drop(kept);
    for job in given {
        job.number = lowest_free(&taken);
        taken.insert(job.number);
    }
    for bike in all {
        bike.jobs.sort_by_key(|job| job.number);
    }
}
