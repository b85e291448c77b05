//! `outing`: logging, mending, listing and showing outings, and taking in a session sheet.

mod add;
mod asked;
mod files;
mod import;

use clap::{Args, Subcommand};

use self::add::Add;
use crate::acts::outing::{ran_without, slips_of_mend};
use crate::acts::typed::require_lap;
use crate::advice::closing;
use crate::advice::learning::OwnNames;
use crate::advice::runs::{FittedIn, RunOnBike};
use crate::commands::desk::Desk;
use crate::commands::options::order::OrderOptions;
use crate::commands::options::outing::{DoubtedPart, OutingOptions, field_of};
use crate::commands::outing::files::edit_by_hand;
use crate::notebook::Entered;
use crate::notebook::fields::names::visible;
use crate::notebook::maps::dyno::Curve;
use crate::notebook::{Outing, When};
use crate::quantity::Units;
use crate::report::Trouble;
use crate::report::all_worded;
use crate::report::history::outing::{OutingList, OutingPage, OutingRemoved, OutingWritten};
use crate::report::history::questioned;
use crate::store::{
    Book, Garage, Mend, OutingRecord, SetupName, StoreError, mend, missing_remark, outing_to_mend,
    remove_outing, who_logged,
};

/// Log an outing, fix one, list or show them
#[derive(Debug, Args)]
pub(super) struct OutingCommand {
    #[command(subcommand)]
    act: Option<OutingAct>,
}

#[derive(Debug, Subcommand)]
enum OutingAct {
    /// Log an outing: it fits on one line typed between two sessions
    Add(Add),
    /// Correct an outing, or take in one edited by hand
    Edit(Edit),
    /// Take out one that was logged twice or is of another bike; git keeps it
    Remove {
        /// The bike
        bike: String,
        /// The outing's id, or its first characters (three or more), or `last`
        outing: String,
        /// Why
        #[arg(long, short)]
        why: Option<String>,
    },
    /// A bike's outings in a table, newest first; -v has ids, plugs and notes
    List {
        /// The bike; otherwise the last one of the day
        #[arg(default_value = "", hide_default_value = true)]
        bike: String,
        /// The last N
        #[arg(long, value_name = "COUNT")]
        last: Option<usize>,
        /// Only those at a place, by a part of its name
        #[arg(long)]
        place: Option<String>,
        /// Only those from this day on
        #[arg(long, value_name = "DATE")]
        since: Option<String>,
        #[command(flatten)]
        order: OrderOptions,
    },
    /// Log a session sheet (CSV) or a phone's notes; all of it or none
    ///
    /// The first line of a sheet names the columns, as `reedbook sheet session --csv` writes them; every other line is a run.
    /// Semicolons, decimal commas and 16.05.2026 are read as they are meant. Notes are the file that the page of `reedbook sheet
    /// pocket` sends, or a message into which its text was copied. What is logged already is left out, so that both can be imported
    /// again when they have grown.
    Import(import::Import),
    /// Show everything that is known of one outing
    Show {
        /// The bike
        bike: String,
        /// The outing's id, or its first characters (three or more), or `last`
        #[arg(default_value = "last")]
        outing: String,
    },
}

#[derive(Debug, Args)]
struct Edit {
    /// The bike
    bike: String,
    /// The outing's id, or its first characters (three or more), or `last`
    #[arg(value_name = "OUTING")]
    which: String,
    /// The setup it ran
    #[arg(long)]
    setup: Option<SetupName>,
    /// It ran without these jobs, by their numbers
    #[arg(long, value_name = "JOBS", num_args = 1, value_delimiter = ',', conflicts_with = "setup")]
    without: Vec<u32>,
    /// Take a field out, like plug or verdict.half
    #[arg(long, value_name = "FIELD")]
    remove: Vec<String>,
    /// Take the doubt off its air, its hours or its setup: right as it stands
    #[arg(long, value_name = "WHAT")]
    confirm: Vec<DoubtedPart>,
    /// Open it in your editor
    #[arg(long = "edit")]
    in_editor: bool,
    #[command(flatten)]
    said: OutingOptions,
}

impl OutingCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let Some(act) = &self.act else {
            let which = Which { last: None, place: None, since: None };
            return list(
                desk,
                &garage,
                ("", &desk.bike_meant(&garage, "")?),
                (which, &OrderOptions::default()),
            );
        };
        match act {
            OutingAct::Add(add) => add.run(desk, &garage),
            OutingAct::Edit(edit) => edit.run(desk, &garage),
            OutingAct::Remove { bike, outing, why } => remove(desk, &garage, (bike, outing), why.as_deref()),
            OutingAct::List { bike, last, place, since, order } => {
                let here = desk.moment.now.offset();
                let since = since.as_deref().map(|text| When::parse_from(text, here)).transpose()?;
                let which = Which { last: *last, place: place.as_deref(), since };
                list(desk, &garage, (bike, &desk.bike_meant(&garage, bike)?), (which, order))
            }
            OutingAct::Import(import) => import.run(desk, &garage),
            OutingAct::Show { bike, outing } => show(desk, &garage, bike, outing),
        }
    }
}

/// Fields by their names, a setup by its own, and the words that are left for the verdict.
type Fields<'w> = (Vec<Entered>, Option<SetupName>, Vec<&'w String>);

impl Edit {
    fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let (taken_back, was);
        let (record, remarks) = if self.in_editor {
            crate::commands::desk::require_editor()?;
            let known = Book::open(garage)?.outing_to_write(&self.bike, &self.which)?;
            let record = edit_by_hand(garage, &known, desk)?;
            let remarks = all_worded(&closing::remarks(&known.outing, &record.outing));
            taken_back = closing::taken_back(&known.outing, Some(&record.outing)).is_some();
            was = known;
            (record, remarks)
        } else {
            let (entered, setup, words) = self.fields(desk)?;
            let mut wanted = Mend {
                set: self.said.table(&words, desk, garage.is_imperial())?,
                entered,
                remove: self.remove.clone(),
                setup: setup.or_else(|| self.setup.clone()),
                doubt: self.said.doubted(),
                confirm: self.confirm.iter().map(|part| (*part).into()).collect(),
            };
            let known = outing_to_mend(&Book::open(garage)?, &self.bike, &self.which)?;
            let without = ran_without(&Book::open(garage)?, &known, &self.without)?;
            wanted.setup = wanted.setup.or(without.setup.map(SetupName::Number));
            wanted.confirm.extend(closing::corrected(&known.outing, &wanted));
            self.ask(garage, &known, &wanted, (desk.moment.now, desk.screen().units()))?;
            let nothing_else = !self.without.is_empty() && without.is_of_parts();
            let record = match mend(garage, &self.bike, &self.which, &wanted, &desk.moment) {
                Err(StoreError::NothingChanged { .. }) if nothing_else => known.clone(),
                mended => mended?,
            };
            let mut remarks = without.take_back(garage, record.outing.date, &desk.moment)?;
            remarks.extend(all_worded(&closing::remarks(&known.outing, &record.outing)));
            taken_back = closing::taken_back(&known.outing, Some(&record.outing)).is_some();
            was = known;
            (record, remarks)
        };
        let answer = OutingWritten::new(&self.bike, &record, &remarks)
            .among(OwnNames::of_garage(garage))
            .taken_back(taken_back)
            .was(&was, self.of_another_day(&was, desk));
        desk.screen().answer(&answer, || answer.mended(&desk.screen()))
    }

    /// That the last run is not of today: whoever means one that was not logged fixes an old one.
    fn of_another_day(&self, was: &OutingRecord, desk: &Desk) -> Option<String> {
        let day = was.outing.date.day();
        (self.which == "last" && day != desk.moment.now.day()).then(|| {
            format!("This run is of {day}, not of today: was one of today meant, it is not logged yet.")
        })
    }

    /// What was typed as FIELD=VALUE: single fields, a setup by its name, and the words that are left for the verdict.
    fn fields(&self, desk: &Desk) -> Result<Fields<'_>, Trouble> {
        let (mut entered, mut setup, mut words): (Vec<Entered>, _, _) = (Vec::new(), None, Vec::new());
        for word in &self.said.verdict {
            let Some((field, value)) = field_of(word) else {
                words.push(word);
                continue;
            };
            if entered.iter().any(|one| one.field == field) {
                let message = format!("{} is given twice.", visible(&field));
                return Err(Trouble::request(Some(&field), message, "Give each field once."));
            }
            match field.as_str() {
                "doubted" | "dyno" => {
                    return Err(Trouble::request(
                        Some(&field),
                        format!("{field} is not set like this."),
                        "--doubted and --confirm say what is doubted; a dyno's curve is logged with its outing.",
                    ));
                }
                "setup" => {
                    let named = value.parse().map_err(|error| {
                        Trouble::request(
                            Some("setup"),
                            format!("{error}."),
                            "Name one that `reedbook history` shows.",
                        )
                    });
                    setup = Some(named?);
                }
                "date" if !value.is_empty() => {
                    entered.push(Entered::new("date", Some(&desk.when(&value)?.to_string())));
                }
                "lap" if !value.is_empty() => {
                    require_lap(&value)?;
                    entered.push(Entered::new("lap", Some(&value)));
                }
                _ => entered.push(Entered::new(&field, Some(value.as_str()).filter(|text| !text.is_empty()))),
            }
        }
        Ok((entered, setup, words))
    }

    /// Asks of what is said now and looks like a slip.
    fn ask(
        &self,
        garage: &Garage,
        known: &OutingRecord,
        wanted: &Mend,
        (now, units): (When, Units),
    ) -> Result<(), Trouble> {
        let book = Book::open(garage)?;
        let (found, doubted) = slips_of_mend(&book, known, wanted, (now, units))?;
        questioned::settle(&found, self.said.sure, Some(&doubted))
    }
}

fn remove(
    desk: &Desk,
    garage: &Garage,
    (bike, outing): (&str, &str),
    why: Option<&str>,
) -> Result<(), Trouble> {
    let removed = remove_outing(garage, bike, outing, why, &desk.moment)?;
    let answer = OutingRemoved::new(bike, &removed);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

/// Which outings are listed.
struct Which<'a> {
    last: Option<usize>,
    place: Option<&'a str>,
    since: Option<When>,
}

impl Which<'_> {
    fn is_one(&self, outing: &Outing) -> bool {
        let there = |wanted: &str| {
            let place = outing.place.as_deref().unwrap_or_default().to_lowercase();
            place.contains(&wanted.to_lowercase())
        };
        self.place.is_none_or(there) && self.since.is_none_or(|since| outing.date >= since)
    }
}

fn list(
    desk: &Desk,
    garage: &Garage,
    (named, bike): (&str, &str),
    (which, order): (Which<'_>, &OrderOptions),
) -> Result<(), Trouble> {
    garage.require_bike(bike)?;
    let book = Book::open(garage)?;
    let records = book.outings(bike)?;
    let broken = book.broken_outings(bike)?;
    let missing = all_worded(&missing_remark(garage, bike)?);
    let unreadable = broken.into_iter().map(|file| file.findings).chain(missing);
    let fitted = FittedIn::of(&book, records.iter())?;
    let meant = records.iter().rev().filter(|record| which.is_one(&record.outing));
    let newest = meant.take(which.last.unwrap_or(usize::MAX));
    let mut runs: Vec<RunOnBike<'_>> =
        newest.map(|record| RunOnBike { record, fitted: fitted.in_run(record) }).collect();
    order.sort(&mut runs, |run| Some(*run));
    if runs.is_empty() && !records.is_empty() {
        return Err(Trouble::request(
            Some("outing"),
            format!("{bike} has no outing there, or none since."),
            "Leave --place or --since out: `reedbook outing list` shows them all.",
        ));
    }
    let mut answer = OutingList::new(bike, &runs, order.column(), unreadable.collect());
    if named.is_empty() {
        let mut others = garage.bikes();
        others.retain(|other| other != bike && book.outings(other).is_ok_and(|runs| !runs.is_empty()));
        answer = answer.of_the_day(others);
    }
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

fn show(desk: &Desk, garage: &Garage, bike: &str, outing: &str) -> Result<(), Trouble> {
    garage.require_bike(bike)?;
    let book = Book::open(garage)?;
    let record = book.outing_to_show(bike, outing)?;
    let tied = if outing == "last" { book.of_the_same_minute(&record)? } else { Vec::new() };
    let curve = match (&record.outing.dyno, record.file.parent()) {
        (Some(name), Some(folder)) if !name.contains(['/', '\\']) => garage.read(&folder.join(name))?,
        _ => None,
    };
    let curve = curve.and_then(|bytes| Curve::parse(&String::from_utf8_lossy(&bytes)).ok());
    let logged = who_logged(garage, &std::iter::once(record.id.as_str()).collect())?;
    let answer =
        OutingPage::new(&record, curve.as_ref(), &tied).among(OwnNames::of_garage(garage)).by(&logged);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}
