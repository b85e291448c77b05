//! `outing add`: logging an outing, on one line.

use std::path::PathBuf;

use clap::Args;

use super::without::Without;
use super::{asked, edit_by_hand, read_text};
use crate::advice::held::is_setup_doubted;
use crate::advice::kept_air::Served;
use crate::advice::slips::{self, Typed};
use crate::advice::today::Meant;
use crate::advice::{building, closing, today};
use crate::commands::air_options::served;
use crate::commands::outing_options::{OutingOptions, is_of_a_verdict};
use crate::commands::{Desk, require_editor};
use crate::notebook::fields::names::visible;
use crate::notebook::{Doubted, Outing, OutingKind, When};
use crate::report::history::jobs::without_them;
use crate::report::history::outing::OutingWritten;
use crate::report::history::questioned;
use crate::report::{Answer, Trouble};
use crate::store::{BikeJobs, Book, Garage, NewOuting, OutingRecord, SetupName, SetupRecord, log};

#[derive(Debug, Args)]
pub(super) struct Add {
    /// The bike, if not the last one of the day
    bike: Option<String>,
    /// The setup it ran, if not the newest
    #[arg(long)]
    setup: Option<SetupName>,
    /// It ran without these jobs, by their numbers: what is still open
    #[arg(long, value_name = "JOBS", num_args = 1, value_delimiter = ',', conflicts_with = "setup")]
    without: Vec<u32>,
    /// A dyno curve: a CSV file with "rpm,power (kW)" or "rpm,torque (Nm)" as its first line
    #[arg(long, value_name = "FILE")]
    dyno: Option<PathBuf>,
    /// Open it in your editor afterwards, for longer notes
    #[arg(long)]
    edit: bool,
    #[command(flatten)]
    said: OutingOptions,
}

/// What was not typed.
#[derive(Debug, Default)]
struct Taken {
    /// What is as last on the day.
    names: Vec<&'static str>,
    /// The air, and where it is from.
    air: Served,
}

/// Jobs that are open when an outing is logged, and the setup that the bike really had on it.
pub(super) struct OpenThen {
    pub(super) jobs: BikeJobs,
    pub(super) on_it: Option<SetupRecord>,
}

/// Asks at a terminal whether it ran without what is still open: then it ran the setup that was on it. Return says nothing.
fn ran_without(desk: &Desk, open: Option<&OpenThen>) -> Result<Option<SetupName>, Trouble> {
    let Some(open) = open.filter(|_| desk.screen().can_ask()) else { return Ok(None) };
    let Some(number) = open.on_it.as_ref().map(|setup| setup.number) else { return Ok(None) };
    if Some(number) == open.jobs.setup {
        return Ok(None);
    }
    let question = without_them(&open.jobs, number);
    Ok(match desk.screen().ask(&question)? {
        Answer::Said(said) if said.to_lowercase().starts_with('y') => Some(SetupName::Number(number)),
        Answer::Said(said) if said.to_lowercase().starts_with('n') => open.jobs.setup.map(SetupName::Number),
        _ => None,
    })
}

impl Add {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        if self.edit {
            require_editor()?;
        }
        let date = self.said.date(desk)?.unwrap_or(desk.moment.now);
        let book = Book::open(garage)?;
        let mut taken = Taken::default();
        let is_asked = self.says_nothing(garage);
        let mut keeps_air = false;
        let (bike, mut table) = if is_asked {
            if !desk.screen().can_ask() {
                return Err(self.nothing_said());
            }
            let asked = asked::ask(desk, &book, self.bike.as_ref(), date)?;
            taken.names.extend(asked.bike_is_taken.then_some("bike"));
            keeps_air = asked.air_is_typed;
            (asked.bike, asked.table)
        } else {
            let (bike, first) = self.bike(&book, date, &mut taken)?;
            let words: Vec<&String> = first.into_iter().chain(&self.said.verdict).collect();
            (bike, self.said.table(&words, desk, garage.is_imperial())?)
        };
        table.insert("date".into(), date.to_string().into());
        let mut outing: Outing = table.try_into().map_err(|error| {
            Trouble::request(
                None,
                format!("{error}."),
                "`reedbook outing add --help` shows what can be said.",
            )
        })?;
        outing.doubted = self.said.doubted();
        Self::take(&book, &bike, &mut outing, &mut taken)?;
        let dyno = self.dyno.as_deref().map(read_text).transpose()?;
        let mut open = self.open_jobs(&book, &bike, outing.date)?;
        let numbered = if self.without.is_empty() { BikeJobs::default() } else { book.open_jobs_of(&bike)? };
        let without = Without::of(&numbered, (&bike, open.as_ref()), &self.without)?;
        if let Some(open) = &mut open {
            open.jobs.jobs.retain(|job| !without.names(job));
        }
        let asked = if self.without.is_empty() { ran_without(desk, open.as_ref())? } else { None };
        let setup = asked.or_else(|| self.setup.clone()).or_else(|| without.setup.map(SetupName::Number));
        // Who named the jobs that were not done has said what was on it.
        let is_said = setup.is_some() || !self.without.is_empty();
        if !is_said && is_setup_doubted(&book, &bike, outing.date)? {
            outing.doubted.push(Doubted::Setup);
        }
        match self.ask(desk, &book, &bike, (&outing, setup.as_ref())) {
            Err(trouble) if is_asked => {
                if !asked::is_right(desk, &trouble)? {
                    return Err(asked::stopped("It is not right"));
                }
                // What is questioned serves nothing that follows.
                keeps_air = false;
            }
            settled => settled?,
        }
        drop(book);
        let open = open.filter(|_| setup.is_none() || without.setup.is_some());
        let new = NewOuting { bike, outing, setup, dyno };
        self.log(desk, garage, &new, (&taken, open.as_ref(), &without))?;
        if keeps_air { asked::keep_the_air(desk, garage, &new.outing) } else { Ok(()) }
    }

    /// Whether nothing is said but the bike: then it is asked.
    fn says_nothing(&self, garage: &Garage) -> bool {
        let only_a_bike =
            self.bike.as_ref().is_none_or(|word| garage.bikes().contains(word) || !is_of_a_verdict(word));
        only_a_bike && self.setup.is_none() && self.dyno.is_none() && !self.edit && self.said.is_empty()
    }

    fn nothing_said(&self) -> Trouble {
        Trouble::request(
            Some("verdict"),
            "Nothing is said of the outing.",
            format!(
                "Say how it ran, like `reedbook outing add {} full=right 1/2=rich --place \"Teal Pass\"`; at a terminal it is asked for.",
                self.bike.as_deref().map_or("BIKE".to_owned(), visible)
            ),
        )
    }

    /// The bike that is meant, and a first word that stands in its place and is of the verdict.
    fn bike(
        &self,
        book: &Book<'_>,
        date: When,
        taken: &mut Taken,
    ) -> Result<(String, Option<&String>), Trouble> {
        let bikes = book.garage().bikes();
        let first = match &self.bike {
            // A bike that is there is meant, whatever it is called.
            Some(word) if bikes.contains(word) || !is_of_a_verdict(word) => {
                book.garage().require_bike(word)?;
                return Ok((word.clone(), None));
            }
            first => first.as_ref(),
        };
        let meant = today::bike_of_the_day(book, date)?.ok_or_else(|| {
            Trouble::request(
                Some("bike"),
                "No bike is named, and none was logged today.",
                format!("Name it: `reedbook outing add BIKE …`. Bikes: {}.", bikes.join(", ")),
            )
        })?;
        taken.names.extend(matches!(meant, Meant::LastLogged(_)).then_some("bike"));
        Ok((meant.bike(), first))
    }

    /// Takes what was not typed from what the day knows: the place, the session, and the air that was kept there.
    fn take(book: &Book<'_>, bike: &str, outing: &mut Outing, taken: &mut Taken) -> Result<(), Trouble> {
        if outing.place.is_none() && outing.kind != OutingKind::Dyno {
            outing.place = today::place_of_the_day(book, outing.date)?;
            taken.names.extend(outing.place.is_some().then_some("place"));
        }
        // A dyno's room has an air of its own.
        let Some(place) = outing.place.as_ref().filter(|_| outing.kind != OutingKind::Dyno) else {
            return Ok(());
        };
        if outing.session.is_none() {
            outing.session = today::session_of_the_day(book, (bike, place), outing.date)?;
            taken.names.extend(outing.session.is_some().then_some("session"));
        }
        taken.air = served(book, outing.air.take(), Some(place), outing.date)?;
        outing.air.clone_from(&taken.air.entry);
        Ok(())
    }

    /// Asks of what looks like a slip, before anything is recorded.
    fn ask(
        &self,
        desk: &Desk,
        book: &Book<'_>,
        bike: &str,
        (outing, setup): (&Outing, Option<&SetupName>),
    ) -> Result<(), Trouble> {
        let setup = match setup {
            Some(name) => book.resolve(bike, name)?.map(|setup| setup.number),
            None => book.setup_at(bike, outing.date)?,
        };
        let (id, file) = (String::new(), PathBuf::new());
        let record = OutingRecord { bike: bike.to_owned(), id, file, outing: outing.clone(), setup };
        let dated_by_clock = self.said.date(desk)?.is_none();
        let typed = Typed { record: &record, dated_by_clock, units: desk.screen().units() };
        let mut asked = slips::of_outing(book, typed)?;
        asked.extend(slips::long_ago(outing, desk.moment.now));
        questioned::settle(&asked, self.said.sure, Some(&outing.doubted))
    }

    /// What is still open by the book; none where nothing is, or where it was said which setup it ran.
    fn open_jobs(&self, book: &Book<'_>, bike: &str, date: When) -> Result<Option<OpenThen>, Trouble> {
        if self.setup.is_some() {
            return Ok(None);
        }
        let jobs = book.jobs_at(bike, date)?;
        if jobs.open().next().is_none() {
            return Ok(None);
        }
        Ok(Some(OpenThen { on_it: book.really_on(&jobs)?, jobs }))
    }

    /// Records it and says what follows.
    fn log(
        &self,
        desk: &Desk,
        garage: &Garage,
        new: &NewOuting,
        (taken, open, without): (&Taken, Option<&OpenThen>, &Without),
    ) -> Result<(), Trouble> {
        let mut logged = log(garage, new, &desk.moment)?;
        logged.remarks.extend(without.take_back(garage, logged.record.outing.date, &desk.moment)?);
        if let Some(engine) = logged.setup.as_ref().and_then(|setup| setup.engine.as_deref()) {
            let book = Book::open(garage)?;
            let date = logged.record.outing.date;
            logged.remarks.extend(building::remarks_after_outing(&book, engine, date)?);
        }
        for broken in Book::open(garage)?.broken_jobs()? {
            logged.remarks.extend(broken.findings.lines().map(str::to_owned));
        }
        let last = Book::open(garage)?.outing(&new.bike, "last")?.id == logged.record.id;
        let which = if last { "last" } else { &logged.record.id };
        logged.remarks.extend(no_kept_air(
            taken,
            (&new.bike, which),
            (&logged.record.outing, desk.moment.now),
        ));
        let before = Outing { cause: None, mended: None, ..logged.record.outing.clone() };
        logged.remarks.extend(closing::remarks(&before, &logged.record.outing));
        if self.edit {
            logged.record = edit_by_hand(garage, &logged.record, desk)?;
        }
        let answer = OutingWritten::new(&new.bike, &logged.record, &logged.remarks)
            .among(super::own_names(garage))
            .with_what_was_taken(&taken.names, &taken.air)
            .with_jobs(open.map(|open| (&open.jobs, open.on_it.as_ref())), last);
        desk.screen().answer(&answer, || answer.logged(&desk.screen()))
    }
}

/// Why it has no air, where one was kept today; and how an air is added to a run that has no place either.
fn no_kept_air(taken: &Taken, (bike, which): (&str, &str), (outing, now): (&Outing, When)) -> Vec<String> {
    if taken.air.entry.is_some() || outing.air.is_some() {
        return Vec::new();
    }
    let add = |place| format!("`reedbook outing edit {bike} {which}{place} --temp … --baro … --humidity …`");
    let refused = taken.air.refused.as_ref().filter(|refused| refused.of_the_day);
    let refused = refused.map(|refused| format!("{} Give this run its own: {}", refused.words, add("")));
    let today = outing.date.day() == now.day();
    let nowhere = today && outing.place.is_none() && outing.kind != OutingKind::Dyno && refused.is_none();
    let nowhere =
        nowhere.then(|| format!("No place was named today. Add it, with the air: {}", add(" --place …")));
    refused.into_iter().chain(nowhere).chain(taken.air.unreadable.iter().map(ToString::to_string)).collect()
}
