//! `outing import`: the runs of a session sheet.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader, Read};
use std::path::PathBuf;

use clap::Args;

use crate::advice::building;
use crate::advice::held::is_setup_doubted;
use crate::advice::incoming::phone_notes::{LookedAtTicks, look_over_notes};
use crate::advice::incoming::session_sheet::{Look, look_over};
use crate::advice::runs::FittedIn;
use crate::commands::desk::Desk;
use crate::commands::options::air::{lines_at_most, open_list};
use crate::notebook::fields::names::visible;
use crate::notebook::reading::phone_notes::is_phone_notes;
use crate::notebook::{Doubted, When};
use crate::report::Trouble;
use crate::report::all_worded;
use crate::report::history::outing::imported::{ImportAnswer, settle_sheet, still_open};
use crate::store::{Book, Garage, Incoming, NewOuting, import_outings, tick_noted};

/// Lines that a sheet has at most.
const MOST: usize = 1_000;
/// Bytes that the notes of a phone have at most: so many notes with all that fits into each.
const MOST_BYTES: u64 = 8 * 1024 * 1024;

/// What is imported, and how.
#[derive(Debug, Args)]
pub(super) struct Import {
    /// The file, or - for standard input
    file: PathBuf,
    /// The bike of lines that name none
    #[arg(long)]
    bike: Option<String>,
    /// Record it anyway: it is right
    #[arg(long)]
    sure: bool,
    /// Leave out what is asked about, and take in the rest
    #[arg(long, conflicts_with = "sure")]
    rest: bool,
}

impl Import {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let (bytes, is_notes) = self.read()?;
        let mut book = Book::open(garage)?;
        let look = Look { bike: self.bike.as_deref(), units: desk.screen().units(), moment: &desk.moment };
        let (mut sheet, mut ticks) = if is_notes {
            look_over_notes(&book, (&self.file, &bytes), look)?
        } else {
            (look_over(&book, (&self.file, &bytes), look)?, LookedAtTicks::default())
        };
        if self.rest {
            sheet.leave_out_what_is_asked();
        }
        settle_sheet(&mut sheet, &self.file, self.sure)?;
        // First, for a run takes what is open as done.
        if !ticks.ticks.is_empty() {
            let name = visible(&self.file.file_name().unwrap_or_default().to_string_lossy());
            ticks.came = tick_noted(garage, &ticks.ticks, &name, &desk.moment)?;
            book = Book::open(garage)?;
        }
        let mut incoming: Vec<Incoming> = sheet.new.iter().map(|run| run.incoming.clone()).collect();
        for one in incoming.iter_mut().filter(|one| one.new.setup.is_none()) {
            let NewOuting { bike, outing, .. } = &mut one.new;
            if is_setup_doubted(&book, bike, outing.date)? {
                outing.doubted.push(Doubted::Setup);
            }
        }
        // Before: a run takes what is open as done.
        let open = open_jobs(&book, &incoming)?;
        let of_what = if is_notes { "phone notes" } else { "session sheet" };
        let (records, remarks) = import_outings(garage, &incoming, (of_what, &self.file), &desk.moment)?;
        let mut remarks = all_worded(&remarks);
        let book = Book::open(garage)?;
        let fitted = FittedIn::of(&book, records.iter())?;
        let mut engines = BTreeSet::new();
        for record in records.iter().rev() {
            let Some(engine) = fitted.in_run(record).text("engine") else { continue };
            if engines.insert(engine.clone()) {
                remarks.extend(building::remarks_after_outing(&book, &engine, record.outing.date)?);
            }
        }
        remarks.extend(open);
        let answer = ImportAnswer::of(&self.file, (&sheet, &ticks), (&records, &fitted), &remarks);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

impl Import {
    /// The file's bytes, and whether they are notes of a phone.
    fn read(&self) -> Result<(Vec<u8>, bool), Trouble> {
        let cannot = |error| Trouble::file("Cannot read", &self.file, &error);
        let mut list = BufReader::new(open_list(&self.file)?);
        if is_page(list.fill_buf().map_err(cannot)?) {
            return Err(Trouble::request(
                Some("file"),
                format!(
                    "{} is the page to print, and nothing can be typed into it.",
                    visible(&self.file.to_string_lossy())
                ),
                "`reedbook sheet session --csv` writes the same columns for a spreadsheet: fill that in, and import it.",
            ));
        }
        if !is_phone_notes(list.fill_buf().map_err(cannot)?) {
            return match lines_at_most(&self.file, list, MOST)? {
                Some(bytes) => Ok((bytes, false)),
                None => Err(Trouble::request(
                    Some("file"),
                    format!("{} has more than {MOST} lines.", self.file.display()),
                    "Import it in parts.",
                )),
            };
        }
        let mut bytes = Vec::new();
        list.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(cannot)?;
        if bytes.len() as u64 > MOST_BYTES {
            return Err(Trouble::request(
                Some("file"),
                format!("{} is larger than the notes of a phone can be.", self.file.display()),
                "Name the file that the page sent.",
            ));
        }
        Ok((bytes, true))
    }
}

/// Whether a file begins like a page of a browser's.
fn is_page(beginning: &[u8]) -> bool {
    let text = String::from_utf8_lossy(beginning);
    let first = text.trim_start_matches('\u{feff}').trim_start().to_lowercase();
    first.starts_with("<!doctype html") || first.starts_with("<html")
}

/// What is still open at the bikes, where the newest run of one names no setup.
fn open_jobs(book: &Book<'_>, incoming: &[Incoming]) -> Result<Vec<String>, Trouble> {
    let mut newest: BTreeMap<&str, When> = BTreeMap::new();
    for one in incoming.iter().filter(|one| one.new.setup.is_none()) {
        let date = newest.entry(&one.new.bike).or_insert(one.new.outing.date);
        *date = (*date).max(one.new.outing.date);
    }
    let mut remarks = Vec::new();
    for (bike, date) in newest {
        let jobs = book.jobs_at(bike, date)?;
        if jobs.open().next().is_some() {
            let on_it = book.really_on(&jobs)?.map(|setup| setup.number);
            remarks.push(still_open(&jobs, on_it.filter(|number| Some(*number) != jobs.setup)));
        }
    }
    Ok(remarks)
}
