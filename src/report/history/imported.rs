//! A session sheet that was taken in: what must be done before the next run, what was logged, what was there already.

use std::collections::BTreeSet;
use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;

use super::jobs::in_a_line;
use super::outing::{ListedOuting, OutingEntry};
use super::runs::{Ran, Row, Runs};
use crate::advice::runs::{FittedIn, Run};
use crate::advice::session_sheet::{KnownRun, LookedOver};
use crate::notebook::fields::names::visible;
use crate::report::Trouble;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::words::layout::count;
use crate::store::{BikeJobs, OutingRecord};

/// A session sheet that was taken in.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ImportAnswer<'a> {
    /// The sheet's file.
    file: String,
    /// Runs that were logged, in the order of the sheet.
    logged: Vec<LoggedRun<'a>>,
    /// Runs that were recorded already: left as they are.
    known: Vec<KnownEntry<'a>>,
    /// Lines that nothing was written in.
    blank: usize,
    /// What else should be known.
    remarks: &'a [String],
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

/// Refuses a sheet of which anything is wrong, or looks like a slip that was not said to be right: every line of it at once.
pub fn settle_sheet(sheet: &mut LookedOver, file: &Path, sure: bool) -> Result<(), Trouble> {
    let findings = std::mem::take(&mut sheet.findings).into_iter();
    let mut wrong: Vec<(usize, Trouble)> =
        findings.map(|one| (one.place.line.unwrap_or(1), Trouble::findings(vec![one]))).collect();
    let refused = std::mem::take(&mut sheet.refused).into_iter();
    wrong.extend(refused.map(|(line, error)| (line, Trouble::from(error).at(file, line))));
    for (line, slip) in sheet.slips.iter().filter(|_| !sure) {
        // In a sheet a value stands in its column, not behind an option.
        let instead = slip.instead.replace("--", "");
        let help = format!("{instead} If it is right, import the sheet again with --sure.");
        let trouble = Trouble::request(Some(slip.field), slip.question.clone(), help.trim());
        wrong.push((*line, trouble.at(file, *line)));
    }
    wrong.sort_by_key(|(line, _)| *line);
    let lines: BTreeSet<usize> = wrong.iter().map(|(line, _)| *line).collect();
    let summary = (lines.len() > 1).then(|| {
        Trouble::request(
            None,
            format!("{} of {} cannot be taken as they stand.", count(lines.len(), "line"), visible(&file.to_string_lossy())),
            "Nothing was recorded. Mend what is named below and import the sheet again: the other lines come along then.",
        )
    });
    Trouble::of_many(summary.into_iter().chain(wrong.into_iter().map(|(_, trouble)| trouble)))
        .map_or(Ok(()), Err)
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
    format!("{bike}: {open} was still open and is taken as done.{}", without.unwrap_or_default())
}

impl<'a> ImportAnswer<'a> {
    /// What was logged and what was there; `records` stand in the order of the sheet's new runs.
    pub fn of(
        file: &Path,
        sheet: &'a LookedOver,
        (records, fitted): (&'a [OutingRecord], &FittedIn),
        remarks: &'a [String],
    ) -> Self {
        let line = |record: &OutingRecord| {
            let same = |run: &&crate::advice::session_sheet::NewRun| {
                run.incoming.id == record.id && run.incoming.new.bike == record.bike
            };
            sheet.new.iter().find(same).map_or(1, |run| run.line)
        };
        let logged = |record: &'a OutingRecord| LoggedRun {
            bike: &record.bike,
            line: line(record),
            outing: ListedOuting {
                outing: OutingEntry::of(record),
                ran: Ran::of(Run { record, fitted: fitted.in_run(record) }, &[]),
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
            blank: sheet.blank,
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
        let logged = if self.logged.is_empty() {
            "nothing new".to_owned()
        } else {
            format!("{} logged", count(self.logged.len(), "outing"))
        };
        frame.hands(&format!("{}: {logged}{}", self.file, self.passed_over()));
        if !self.logged.is_empty() {
            frame.block(self.runs().text(screen));
        }
        for known in self.known.iter().filter(|known| !known.differs.is_empty()) {
            frame.know(&format!(
                "Line {} is {} of {} already, and says another {}: `reedbook outing edit {} {}` changes it.",
                known.line,
                known.id,
                visible(known.bike),
                known.differs.join(", "),
                visible(known.bike),
                known.id
            ));
        }
        self.remarks.iter().for_each(|remark| frame.know(&visible(remark)));
        frame.text()
    }

    fn runs(&self) -> Runs<'_> {
        let rows: Vec<Row<'_>> = self
            .logged
            .iter()
            .map(|run| Row { outing: &run.outing.outing, ran: &run.outing.ran, off: None })
            .collect();
        let first = self.logged.first().map(|run| run.bike);
        Runs { bikes: self.logged.iter().any(|run| Some(run.bike) != first), rows, by: "day", noted: false }
    }

    /// Lines that were there already or blank.
    fn passed_over(&self) -> String {
        let lines = |lines: Vec<usize>| lines.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        let mut words = String::new();
        if !self.known.is_empty() {
            let known = lines(self.known.iter().map(|known| known.line).collect());
            let line = if self.known.len() == 1 { "line" } else { "lines" };
            words = format!("; there already: {line} {known}");
        }
        if self.blank > 0 {
            words.push_str(&format!("; {} left out", count(self.blank, "blank line")));
        }
        words
    }
}
