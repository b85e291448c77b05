//! `outing add`: logging an outing, on one line.

use std::path::PathBuf;

use clap::Args;
use toml::Table;

use super::asked;
use crate::acts::outing::{Draft, Unsaid};
use crate::advice::slips::Questioned;
use crate::advice::today::{self, Meant};
use crate::commands::desk::{Desk, require_editor};
use crate::commands::options::outing::{OutingOptions, is_of_a_verdict};
use crate::commands::outing::files::{edit_by_hand, read_text};
use crate::notebook::fields::names::visible;
use crate::notebook::{Outing, When};
use crate::report::history::jobs::{which_of_two, without_them};
use crate::report::history::questioned;
use crate::report::{Answer, Trouble};
use crate::store::{Book, Garage, SetupName};

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

/// Asks at a terminal whether it ran without what is still open: then it ran the setup that was on it. The end of the input says nothing.
fn ran_without(desk: &Desk, book: &Book<'_>, draft: &Draft) -> Result<Option<SetupName>, Trouble> {
    let Some(open) = draft.open().filter(|_| desk.screen().can_ask()) else { return Ok(None) };
    let Some(number) = open.on_it.as_ref().map(|setup| setup.number) else { return Ok(None) };
    if Some(number) == open.jobs.setup {
        return Ok(None);
    }
    let unsaid = draft.if_not_said(book)?;
    let mut question = without_them(&open.jobs, number, unsaid != Unsaid::AskedAgain);
    let with = || open.jobs.setup.map(SetupName::Number);
    loop {
        let screen = desk.screen();
        let lines: Vec<String> = question.lines().map(|line| screen.wrap(line, 2)).collect();
        match screen.ask(&lines.join("\n"))? {
            Answer::Said(said) if said.to_lowercase().starts_with('y') => {
                return Ok(Some(SetupName::Number(number)));
            }
            Answer::Said(said) if said.to_lowercase().starts_with('n') => return Ok(with()),
            Answer::Nothing if unsaid == Unsaid::WithIt => return Ok(with()),
            Answer::Nothing if unsaid == Unsaid::TakenAsDone => return Ok(None),
            Answer::Enough => return Ok(None),
            Answer::Said(_) | Answer::Nothing => {}
        }
        question = which_of_two(number, unsaid != Unsaid::AskedAgain);
    }
}

impl Add {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        if self.edit {
            require_editor()?;
        }
        let date = self.said.date(desk)?.unwrap_or(desk.moment.now);
        let book = Book::open(garage)?;
        let mut bike_is_taken = false;
        let mut asked = None;
        let (bike, mut table) = if self.says_nothing(garage) {
            if !desk.screen().can_ask() {
                return Err(self.nothing_said());
            }
            let answers = asked::ask(desk, &book, self.bike.as_ref(), date)?;
            bike_is_taken = answers.bike_is_taken;
            let said = (answers.bike.clone(), answers.table.clone());
            asked = Some(answers);
            said
        } else {
            let (bike, first) = self.bike(&book, date, &mut bike_is_taken)?;
            let words: Vec<&String> = first.into_iter().chain(&self.said.verdict).collect();
            (bike, self.said.table(&words, desk, garage.is_imperial())?)
        };
        let dyno = self.dyno.as_deref().map(read_text).transpose()?;
        let mut ran = None;
        let mut keeps_air = true;
        let draft = loop {
            let draft = self.draft(&book, (&bike, table), date, bike_is_taken)?;
            let ran = match &ran {
                Some(known) => Option::clone(known),
                None => ran.insert(ran_without(desk, &book, &draft)?).clone(),
            };
            let mut draft = draft.on(ran);
            let how = (self.said.date(desk)?.is_none(), desk.moment.now, desk.screen().units());
            let mut slips = draft.slips(&book, how)?;
            let Some(answers) = &mut asked else {
                questioned::settle(&slips, self.said.sure, Some(draft.doubted()))?;
                break draft;
            };
            slips.retain(|slip| !(answers.hours_are_right && slip.what == Questioned::Hours));
            let open = questioned::still_asked(&slips, self.said.sure, Some(draft.doubted()));
            if open.is_empty() {
                break draft;
            }
            if asked::is_right(desk, &book, &open, (answers, date))? {
                // What is questioned serves nothing that follows.
                keeps_air = false;
                break draft;
            }
            table = answers.table.clone();
        };
        let keeps_air = keeps_air && asked.is_some_and(|answers| answers.air_is_typed);
        drop(book);
        let mut noted = draft.log(garage, dyno, &desk.moment)?;
        if self.edit {
            noted.logged.record = edit_by_hand(garage, &noted.logged.record, desk)?;
        }
        let answer = noted.answer();
        desk.screen().answer(&answer, || answer.logged(&desk.screen()))?;
        if keeps_air { asked::keep_the_air(desk, garage, &noted.logged.record.outing) } else { Ok(()) }
    }

    /// What was said, as an outing that is not recorded yet.
    fn draft(
        &self,
        book: &Book<'_>,
        (bike, mut table): (&str, Table),
        date: When,
        bike_is_taken: bool,
    ) -> Result<Draft, Trouble> {
        table.insert("date".into(), date.to_string().into());
        let mut outing: Outing = table.try_into().map_err(|error| {
            Trouble::request(
                None,
                format!("{error}."),
                "`reedbook outing add --help` shows what can be said.",
            )
        })?;
        outing.doubted = self.said.doubted();
        let said = (self.setup.clone(), self.without.as_slice());
        Draft::of(book, (bike.to_owned(), outing), said, bike_is_taken)
    }

    /// Whether nothing is said but the bike: then it is asked.
    fn says_nothing(&self, garage: &Garage) -> bool {
        let only_a_bike =
            self.bike.as_ref().is_none_or(|word| garage.has_bike(word) || !is_of_a_verdict(word));
        only_a_bike && self.setup.is_none() && self.dyno.is_none() && !self.edit && self.said.is_empty()
    }

    fn nothing_said(&self) -> Trouble {
        Trouble::request(
            Some("verdict"),
            "No verdict yet.",
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
        is_taken: &mut bool,
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
                "No bike is named, and no run or work on one alone was recorded today.",
                format!("Name it: `reedbook outing add BIKE …`. Bikes: {}.", bikes.join(", ")),
            )
        })?;
        *is_taken = matches!(meant, Meant::LastLogged(_));
        Ok((meant.bike(), first))
    }
}
