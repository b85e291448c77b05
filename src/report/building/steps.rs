//! A build's check list as it is worked through.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::notebook::{Build, ChecklistStep, When};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, count};
use crate::store::BuildRecord;

/// The check list of a build.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BuildStepsAnswer {
    /// Folder name of the engine.
    engine: String,
    /// Identity of the build.
    build: String,
    /// How many steps are open before it runs.
    open: usize,
    /// How many are open for after the first run.
    open_after_first_run: usize,
    /// The steps in the order of work.
    steps: Vec<StepAnswer>,
    /// What else should be known once nothing is open before the engine runs: readings of the build that the setup has otherwise, with the command that takes them over.
    remarks: Vec<String>,
    /// What was apart, and when it was put together, in words.
    #[serde(skip)]
    title: String,
}

/// A step of a check list.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct StepAnswer {
    /// Name of the step.
    pub(super) step: String,
    /// The list it is from.
    pub(super) list: Option<String>,
    /// What is to be done.
    pub(super) says: Option<String>,
    /// What can hurt somebody or spoil the engine.
    pub(super) caution: Option<String>,
    /// Whether it is for after the first run.
    pub(super) after_first_run: bool,
    /// Whether it is still to be done.
    pub(super) open: bool,
    /// When it was done.
    #[schemars(with = "Option<String>")]
    pub(super) done: Option<When>,
    /// Why it was left out.
    pub(super) left_out: Option<String>,
    /// Who did it.
    pub(super) by: Option<String>,
    /// The torque it was tightened to, as typed.
    pub(super) torque: Option<String>,
    /// The mark that was put on.
    pub(super) mark: Option<String>,
    /// Anything else.
    pub(super) note: Option<String>,
    /// What is to be written down of it, in words.
    #[serde(skip)]
    pub(super) wants: &'static str,
}

/// An open step: its name, what is to be done, and what can hurt.
pub(in crate::report) type StepToDo = (String, String, Option<String>);

/// The steps of a build in the order of work.
pub(super) fn steps_of(build: &Build) -> Vec<StepAnswer> {
    build.steps_in_order().into_iter().map(|(name, step)| StepAnswer::of(&name, step)).collect()
}

impl StepAnswer {
    fn of(name: &str, step: &ChecklistStep) -> Self {
        Self {
            step: name.to_owned(),
            list: step.list.clone(),
            says: step.says.clone(),
            caution: step.caution.clone(),
            after_first_run: step.after_first_run,
            open: step.is_open(),
            done: step.done,
            left_out: step.left_out.clone(),
            by: step.by.clone(),
            torque: step.torque.as_ref().map(ToString::to_string),
            mark: step.mark.clone(),
            note: step.note.clone(),
            wants: match (step.wants_torque, step.wants_mark) {
                (true, true) => " [torque, mark]",
                (true, false) => " [torque]",
                (false, true) => " [mark]",
                (false, false) => "",
            },
        }
    }

    pub(super) fn list_title(&self) -> String {
        let name = self
            .list
            .as_deref()
            .map_or_else(|| "own steps".to_owned(), |list| visible(list).replace('-', " "));
        capital(&name)
    }

    fn line(&self) -> String {
        self.line_of(&visible(&self.step))
    }

    /// Its name without that of its cylinder.
    pub(super) fn of_all(&self) -> &str {
        self.step.rsplit('.').next().unwrap_or(&self.step)
    }

    /// Its name with its cylinder, what is to be done, and what can hurt.
    pub(super) fn to_do(&self) -> StepToDo {
        let at = self.step.rsplit_once('.').map(|(cylinder, _)| format!("{}: ", visible(cylinder)));
        let name = visible(self.of_all()).replace('-', " ");
        let says = self.says.as_deref().map(visible).unwrap_or_default();
        (capital(&format!("{}{name}", at.unwrap_or_default())), says, self.caution.as_deref().map(visible))
    }

    /// Whether another one is the same step at another cylinder, and stands alike.
    pub(super) fn is_alike(&self, other: &Self) -> bool {
        self.of_all() == other.of_all() && self.list == other.list && self.line_of("") == other.line_of("")
    }

    fn line_of(&self, name: &str) -> String {
        let says = self.says.as_deref().map(visible).unwrap_or_default();
        if let Some(why) = &self.left_out {
            return format!("  --  {name}: left out, {}", visible(why));
        }
        let Some(done) = self.done else {
            return format!("open  {name}: {says}{}", self.wants);
        };
        let mut line = format!("  ok  {name}: {}", done.short());
        if let Some(by) = &self.by {
            line.push_str(&format!(" {}", visible(by)));
        }
        if let Some(torque) = &self.torque {
            line.push_str(&format!(", {torque}"));
        }
        if let Some(mark) = &self.mark {
            line.push_str(&format!(", {}", visible(mark)));
        }
        if let Some(note) = &self.note {
            line.push_str(&format!(", \"{}\"", visible(note)));
        }
        line
    }

    fn caution_line(&self, screen: &Screen) -> Option<String> {
        let caution = self.caution.as_ref()?;
        Some(screen.wrap(&format!("      CAUTION: {}", visible(caution)), 6))
    }
}

impl BuildStepsAnswer {
    /// The list of a build, with what else should be known.
    pub fn new(record: &BuildRecord, remarks: Vec<String>) -> Self {
        let build = &record.build;
        Self {
            engine: record.engine.clone(),
            build: record.id.clone(),
            open: build.open_steps(false).len(),
            open_after_first_run: build.open_steps(true).len(),
            steps: steps_of(build),
            remarks,
            title: format!("{}, {}", build.what_was_apart(), build.date.short()),
        }
    }

    /// For a person: done steps short, open ones with what they say.
    pub fn text(&self, screen: &Screen, only_open: bool) -> String {
        let open = count(self.open, "step");
        let title = format!("{}, {}: {open} open before it runs", self.engine, self.title);
        let mut lines = vec![screen.strong(&title)];
        let mut list = None;
        let mut shown = self.steps.iter().filter(|step| step.open || !only_open).peekable();
        while let Some(step) = shown.next() {
            // What stands alike at several cylinders is said once.
            let mut names = vec![visible(&step.step)];
            while let Some(other) = shown.next_if(|other| step.is_alike(other)) {
                names.push(visible(&other.step));
            }
            if list != Some(&step.list) {
                lines.push(String::new());
                lines.push(step.list_title());
                list = Some(&step.list);
            }
            lines.push(screen.wrap(&step.line_of(&names.join(", ")), 6));
            lines.extend(step.caution_line(screen).filter(|_| step.open));
        }
        lines.push(String::new());
        lines.push(screen.wrap(
            &format!(
                "Done, with --torque \"12 Nm\" or --mark where it is asked; --left-out \"why\" where it does not apply:\n  reedbook build tick {0} STEP --by NAME",
                self.engine
            ),
            2,
        ));
        lines.join("\n")
    }

    /// What became of some steps, and which comes next.
    pub fn ticked(&self, screen: &Screen, names: &[String]) -> String {
        let is_named = |step: &StepAnswer, name: &String| step.step == *name || step.of_all() == name;
        let named = names.iter().flat_map(|name| self.steps.iter().filter(move |step| is_named(step, name)));
        let mut lines: Vec<_> = named.map(|step| screen.wrap(&step.line(), 6)).collect();
        let next = |after: bool| self.steps.iter().find(|step| step.open && step.after_first_run == after);
        let (left, then) = match (next(false), next(true)) {
            (Some(step), _) => (format!("{} open before it runs", count(self.open, "step")), Some(step)),
            (None, Some(step)) => {
                let after = count(self.open_after_first_run, "step");
                (format!("Nothing open before it runs, {after} for after the first run"), Some(step))
            }
            (None, None) => ("Every step is done".to_owned(), None),
        };
        match then {
            Some(step) => {
                lines.push(format!("{left}; next:"));
                lines.push(screen.wrap(&step.line(), 6));
                lines.extend(step.caution_line(screen));
            }
            None => lines.push(format!("{left}.")),
        }
        lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        lines.join("\n")
    }
}

/// How a step is answered.
pub fn how_to_answer() -> String {
    "Enter: done.  + WORDS: done, with a note.  l: later.  x: does not apply.\n<: back.  A point alone: enough for now."
        .to_owned()
}

/// A step as it is asked for at a terminal.
pub fn question(screen: &Screen, (name, step): (&str, &ChecklistStep), place: (usize, usize)) -> String {
    let says = step.says.as_deref().map(visible).unwrap_or_default();
    let mut text = screen.wrap(&format!("{} of {}  {}: {says}", place.0, place.1, visible(name)), 2);
    if let Some(caution) = &step.caution {
        text.push('\n');
        text.push_str(&screen.wrap(&format!("  CAUTION: {}", visible(caution)), 2));
    }
    text
}
