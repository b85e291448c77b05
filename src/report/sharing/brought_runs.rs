//! The runs that a share brought, each on a line: lean ones first, and what lets one go.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::held::ran_lean;
use crate::notebook::fields::names::visible;
use crate::report::history::outing::OutingEntry;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::store::BroughtRun;

/// Runs that are shown one by one; the rest is counted, and `outing list` has them.
const SHOWN: usize = 12;

/// A run that others logged, mended or took out.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct RunEntry<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// What they did: logged, fixed or "taken out".
    what: &'static str,
    /// Who did it last; null where that was not looked up.
    author: Option<&'a str>,
    /// Whether it was lean or seized and holds.
    lean: bool,
    /// Whether it held as a lean run before, and does so no more.
    lets_go: bool,
    /// Its note as it was, where that was written over; null of any other.
    note_was: Option<&'a str>,
    /// The run; as it was before where it was taken out.
    run: OutingEntry<'a>,
}

/// What forbids to run a bike as it stands.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct StopEntry<'a> {
    /// Folder name of the bike.
    pub(super) bike: &'a str,
    /// In a sentence.
    pub(super) sentence: &'a str,
}

impl<'a> RunEntry<'a> {
    pub(super) fn of(brought: &'a BroughtRun) -> Self {
        let was_lean = brought.was.as_ref().is_some_and(ran_lean);
        let lean = !brought.taken_out && ran_lean(&brought.run.outing);
        Self {
            bike: &brought.run.bike,
            what: match (&brought.was, brought.taken_out) {
                (_, true) => "taken out",
                (Some(_), false) => "fixed",
                (None, false) => "logged",
            },
            author: brought.author.as_deref(),
            lean,
            lets_go: was_lean && !lean,
            note_was: brought
                .was
                .as_ref()
                .and_then(|was| was.notes.as_deref())
                .filter(|was| !brought.taken_out && brought.run.outing.notes.as_deref() != Some(*was)),
            run: OutingEntry::of(&brought.run),
        }
    }

    /// "moth run on setup 44, fixed, Tilde: 2027-05-22 11:00 | Fennmoor | full lean".
    fn line(&self, screen: &Screen) -> String {
        let setup = self.run.setup().map(|number| format!(" on setup {number}")).unwrap_or_default();
        let what = if self.what == "logged" { String::new() } else { format!(", {}", self.what) };
        let author = self.author.map(|author| format!(", {}", visible(author))).unwrap_or_default();
        let line = format!("{} run{setup}{what}{author}: {}", visible(self.bike), self.run.line(screen));
        match self.note_was {
            Some(was) => format!("{line}; its note was \"{}\"", visible(was)),
            None => line,
        }
    }
}

/// What must be known before anything is fitted: runs that were lean, and lean ones that were let go.
pub(super) fn first(runs: &[RunEntry<'_>], frame: &mut Frame<'_>, screen: &Screen) {
    for run in runs.iter().filter(|run| run.lean) {
        frame.stop(&run.line(screen));
    }
    for run in runs.iter().filter(|run| run.lets_go) {
        frame.stop(&run.line(screen));
        frame.know(&match run.run.closed() {
            Some((cause, mended)) => format!(
                "It was lean, and is closed there: {}; {}. What it forbade is gone with that.",
                visible(cause),
                visible(mended)
            ),
            None => "It was lean here, and is so no more: what it forbade is gone. If it did run lean, write that down again.".to_owned(),
        });
    }
}

/// The others.
pub(super) fn others(runs: &[RunEntry<'_>], frame: &mut Frame<'_>, screen: &Screen) {
    let rest: Vec<&RunEntry<'_>> = runs.iter().filter(|run| !run.lean && !run.lets_go).collect();
    let left = rest.len().saturating_sub(SHOWN);
    if left > 0 {
        frame.say(&format!("{left} older runs: `reedbook outing list`"));
    }
    for run in rest.iter().skip(left) {
        frame.say(&run.line(screen));
    }
}
