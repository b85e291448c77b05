//! A session sheet that was taken in: what must be done before the next run, what was logged, what was there already.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::Serialize;

use super::super::jobs::in_a_line;
use super::super::ran::Ran;
use super::super::runs::{RunRow, Runs};
use super::{ListedOuting, OutingEntry};
use crate::advice::closing::was_lean;
use crate::advice::incoming::phone_notes::LookedAtTicks;
use crate::advice::incoming::session_sheet::{KnownRun, LeftOutRun, LookedOver};
use crate::advice::runs::{FittedIn, RunOnBike};
use crate::advice::slips::Questioned;
use crate::notebook::fields::names::visible;
use crate::report::Trouble;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::report::words::layout::count;
use crate::store::{BikeJobs, Came, NotedTick, OutingRecord};

/// A session sheet that was taken in.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ImportAnswer<'a> {
    /// The sheet's file.
    file: String,
    /// Runs that were logged, in the order of the sheet.
    logged: Vec<LoggedRun<'a>>,
    /// Runs that were recorded already: left as they are.
    known: Vec<KnownEntry<'a>>,
    /// Runs that were left out, because something is asked about them and the rest was wanted.
    left_out: Vec<LeftOutEntry>,
    /// Lines that nothing was written in.
    blank: usize,
    /// Ticks of jobs in the notes of a phone, by date.
    ticks: Vec<TickEntry<'a>>,
    /// What else should be known.
    remarks: &'a [String],
}

/// The tick of a job in the notes of a phone.
#[derive(Debug, Serialize, JsonSchema)]
struct TickEntry<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Its line in the file.
    #[schemars(range(min = 1))]
    line: usize,
    /// What the hands were to do.
    what: &'a str,
    /// Whether it is done, or is not done after all.
    done: bool,
    /// What became of it: recorded, there already, or nothing because there is no such job any more.
    came: CameTo,
}

/// What became of a tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum CameTo {
    /// It is recorded.
    Ticked,
    /// It was so already.
    Already,
    /// There is no such job any more.
    Gone,
}

/// A run that was logged.
#[derive(Debug, Serialize, JsonSchema)]
struct LoggedRun<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Its line in the sheet.
    #[schemars(range(min = 1))]
    line: usize,
    /// The outing, with what was on the bike.
    outing: ListedOuting<'a>,
}

/// A run that was recorded already.
#[derive(Debug, Serialize, JsonSchema)]
struct KnownEntry<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Its line in the sheet.
    #[schemars(range(min = 1))]
    line: usize,
    /// Identity of the outing: 12 hex digits.
    id: &'a str,
    /// Columns of the sheet that say otherwise than the outing.
    differs: &'a [String],
}

/// A run that was left out.
#[derive(Debug, Serialize, JsonSchema)]
struct LeftOutEntry {
    /// Folder name of the bike.
    bike: String,
    /// Its line in the sheet.
    #[schemars(range(min = 1))]
    line: usize,
    /// What is asked about it.
    asked: Vec<String>,
    /// What it calls for before the next run, if it was lean; null otherwise.
    calls_for: Option<String>,
}

impl LeftOutEntry {
    fn of(run: &LeftOutRun) -> Self {
        let asked = run.asked.iter();
        let asked = asked.map(|slip| format!("{} {}", slip.question, ways::in_a_file(&slip.instead)));
        let record = OutingRecord {
            bike: run.new.bike.clone(),
            id: String::new(),
            file: PathBuf::new(),
            outing: run.new.outing.clone(),
            setup: None,
            cylinders: Vec::new(),
        };
        Self {
            bike: run.new.bike.clone(),
            line: run.line,
            asked: asked.map(|words| words.trim().to_owned()).collect(),
            calls_for: OutingEntry::of(&record).before_the_next_run(),
        }
    }
}

/// Refuses a sheet of which anything is wrong, or looks like a slip that was not said to be right: every line of it at once.
pub fn settle_sheet(sheet: &mut LookedOver, file: &Path, sure: bool) -> Result<(), Trouble> {
    let findings = std::mem::take(&mut sheet.findings).into_iter();
    let mut wrong: Vec<(usize, Trouble)> =
        findings.map(|one| (one.place.line.unwrap_or(1), Trouble::findings(vec![one]))).collect();
    let refused = std::mem::take(&mut sheet.refused).into_iter();
    wrong.extend(refused.map(|(line, error)| (line, Trouble::from(error).at(file, line))));
    let asked: BTreeSet<usize> = sheet.slips.iter().map(|(line, _)| *line).collect();
    // Where other lines wait for it, one that is asked about can be left out.
    let others = sheet.new.iter().any(|run| !asked.contains(&run.line)) && wrong.is_empty();
    for (line, slip) in sheet.slips.iter().filter(|_| !sure) {
        // In a sheet a value stands in its column, not behind an option.
        let instead = ways::in_a_file(&slip.instead);
        let lean = sheet.new.iter().any(|run| run.line == *line && was_lean(&run.incoming.new.outing));
        let can_wait = others && (!lean || slip.what == Questioned::Twice);
        let or = if can_wait { "; without it, with --rest" } else { "" };
        let help = format!("{instead} If it is right, import it again with --sure{or}.");
        let trouble = Trouble::request(Some(&slip.field), slip.question.clone(), help.trim());
        wrong.push((*line, trouble.at(file, *line)));
    }
    wrong.sort_by_key(|(line, _)| *line);
    let lines: BTreeSet<usize> = wrong.iter().map(|(line, _)| *line).collect();
    let wrong = said_once(wrong);
    let summary = (lines.len() > 1).then(|| {
        Trouble::request(
            None,
            format!("{} of {} have mistakes.", count(lines.len(), "line"), visible(&file.to_string_lossy())),
            "Nothing was recorded. Fix what is named below and import it again: the other lines go in too.",
        )
    });
    Trouble::of_many(summary.into_iter().chain(wrong)).map_or(Ok(()), Err)
}

/// What is wrong in several lines alike once, at the first of them with the numbers of all.
fn said_once(wrong: Vec<(usize, Trouble)>) -> Vec<Trouble> {
    let mut once: Vec<(Trouble, Vec<usize>)> = Vec::new();
    for (line, trouble) in wrong {
        match once.iter_mut().find(|(known, _)| known.is_of_the_same_field(&trouble)) {
            Some((_, lines)) => lines.push(line),
            None => once.push((trouble, vec![line])),
        }
    }
    let with_lines = once.into_iter().map(|(trouble, lines)| {
        let numbers: Vec<String> = lines.iter().map(usize::to_string).collect();
        if lines.len() > 1 {
            trouble.and(&format!("So in {} lines: {}.", lines.len(), numbers.join(", ")))
        } else {
            trouble
        }
    });
    with_lines.collect()
}

/// What is still open by the book at a bike whose runs were taken without naming a setup; `on_it` is the setup without those jobs.
pub fn still_open(jobs: &BikeJobs, on_it: Option<u32>) -> String {
    let open = in_a_line(jobs.open().map(|job| job.item.what.as_str()));
    let bike = visible(&jobs.bike);
    let without = on_it.map(|number| {
        format!(
            " One that ran without was on setup {number}: `reedbook outing edit {bike} ID --setup {number}`."
        )
    });
    format!("{bike}: taken as done, though never ticked: {open}.{}", without.unwrap_or_default())
}

/// Says how many runs are at no place: an empty one under a place is easily read as the same.
fn frame_without_a_place(frame: &mut Frame<'_>, logged: &[LoggedRun<'_>]) {
    let nowhere: Vec<String> = logged
        .iter()
        .filter(|run| run.outing.outing.place.is_none())
        .map(|run| run.line.to_string())
        .collect();
    if nowhere.is_empty() || nowhere.len() == logged.len() {
        return;
    }
    let (runs, of) = (count(nowhere.len(), "run"), if nowhere.len() == 1 { "line" } else { "lines" });
    frame.know(&format!(
        "{runs} without a place ({of} {}): `reedbook outing edit BIKE ID place=\"…\"` says where.",
        nowhere.join(", ")
    ));
}

impl<'a> TickEntry<'a> {
    fn of(ticks: &'a LookedAtTicks) -> Vec<Self> {
        let all = ticks.ticks.iter().zip(&ticks.lines).zip(&ticks.came);
        let entry = |((tick, line), came): ((&'a NotedTick, &usize), &Came)| Self {
            bike: &tick.bike,
            line: *line,
            what: &tick.what,
            done: tick.done,
            came: match came {
                Came::New => CameTo::Ticked,
                Came::Already => CameTo::Already,
                Came::Gone => CameTo::Gone,
            },
        };
        all.map(entry).collect()
    }
}

impl<'a> ImportAnswer<'a> {
    /// What was logged and what was there; `records` stand in the order of the sheet's new runs.
    pub fn of(
        file: &Path,
        (sheet, ticks): (&'a LookedOver, &'a LookedAtTicks),
        (records, fitted): (&'a [OutingRecord], &FittedIn),
        remarks: &'a [String],
    ) -> Self {
        let line = |record: &OutingRecord| {
            let same = |run: &&crate::advice::incoming::session_sheet::NewRun| {
                run.incoming.id == record.id && run.incoming.new.bike == record.bike
            };
            sheet.new.iter().find(same).map_or(1, |run| run.line)
        };
        let logged = |record: &'a OutingRecord| LoggedRun {
            bike: &record.bike,
            line: line(record),
            outing: ListedOuting {
                outing: OutingEntry::of(record),
                ran: Ran::of(RunOnBike { record, fitted: fitted.in_run(record) }, &[]),
            },
        };
        let known = |run: &'a KnownRun| KnownEntry {
            bike: &run.bike,
            line: run.line,
            id: &run.id,
            differs: &run.differs,
        };
        Self {
            file: visible(&file.to_string_lossy()),
            logged: records.iter().map(logged).collect(),
            known: sheet.known.iter().map(known).collect(),
            left_out: sheet.left_out.iter().map(LeftOutEntry::of).collect(),
            blank: sheet.blank,
            ticks: TickEntry::of(ticks),
            remarks,
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        for run in &self.logged {
            let outing = &run.outing.outing;
            for what in outing.before_the_next_run().into_iter().chain(outing.not_ticked("")) {
                let bike = visible(run.bike);
                frame.stop(&format!(
                    "{bike}, {} (line {}): {what}",
                    outing.record.outing.date.short(),
                    run.line
                ));
            }
        }
        // It is not in the record, and may be in nobody's.
        for run in &self.left_out {
            let Some(what) = &run.calls_for else { continue };
            frame.stop(&format!(
                "{}, line {}, is left out and says: {what} If the run that is logged does not say so, add it there.",
                visible(&run.bike),
                run.line
            ));
        }
        let logged = if self.logged.is_empty() {
            "nothing new".to_owned()
        } else {
            format!("{} logged", count(self.logged.len(), "outing"))
        };
        frame.hands(&format!("{}: {logged}{}{}", self.file, self.ticked(), self.passed_over()));
        if !self.logged.is_empty() {
            frame.block(self.runs().text(screen));
        }
        frame_without_a_place(&mut frame, &self.logged);
        for known in self.known.iter().filter(|known| !known.differs.is_empty()) {
            frame.know(&format!(
                "Line {} is {} of {} already, and differs in {}: `reedbook outing edit {} {}` changes it.",
                known.line,
                known.id,
                visible(known.bike),
                known.differs.join(", "),
                visible(known.bike),
                known.id
            ));
        }
        for tick in self.ticks.iter().filter(|tick| tick.came == CameTo::Gone) {
            frame.know(&format!(
                "Line {}, {}: \"{}\" is not to be done any more, so it was not ticked. Was it done all the same? Then {} has something else on it than the book says.",
                tick.line,
                visible(tick.bike),
                visible(tick.what),
                visible(tick.bike)
            ));
        }
        for run in &self.left_out {
            frame.know(&format!(
                "Line {}, {}, is left out: {}",
                run.line,
                visible(&run.bike),
                run.asked.join(" ")
            ));
        }
        self.remarks.iter().for_each(|remark| frame.know(&visible(remark)));
        frame.text()
    }

    /// "; 2 jobs ticked at moth: main 178 → 170".
    fn ticked(&self) -> String {
        let of = |done: bool| {
            self.ticks.iter().filter(move |tick| tick.came == CameTo::Ticked && tick.done == done)
        };
        let words = |done: bool, what: &str| {
            let bikes: BTreeSet<&str> = of(done).map(|tick| tick.bike).collect();
            let bikes: Vec<String> = bikes.into_iter().map(visible).collect();
            match of(done).count() {
                0 => String::new(),
                jobs => format!("; {} {what} at {}", count(jobs, "job"), bikes.join(" and ")),
            }
        };
        format!("{}{}", words(true, "ticked"), words(false, "not done after all"))
    }

    fn runs(&self) -> Runs<'_> {
        let rows: Vec<RunRow<'_>> = self
            .logged
            .iter()
            .map(|run| RunRow { outing: &run.outing.outing, ran: &run.outing.ran, off: None })
            .collect();
        let first = self.logged.first().map(|run| run.bike);
        Runs { bikes: self.logged.iter().any(|run| Some(run.bike) != first), rows, by: "day", noted: false }
    }

    /// Lines that were there already or blank.
    fn passed_over(&self) -> String {
        let lines = |lines: Vec<usize>| lines.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        let mut words = String::new();
        let ticks = self.ticks.iter().filter(|tick| tick.came == CameTo::Already).map(|tick| tick.line);
        let mut known: Vec<usize> = self.known.iter().map(|known| known.line).chain(ticks).collect();
        known.sort_unstable();
        if !known.is_empty() {
            let line = if known.len() == 1 { "line" } else { "lines" };
            let known = lines(known);
            words = format!("; there already: {line} {known}");
        }
        if self.blank > 0 {
            words.push_str(&format!("; {} left out", count(self.blank, "blank line")));
        }
        words
    }
}
