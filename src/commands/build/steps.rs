//! `build steps` and `build tick`: the check list.

use clap::Args;

use crate::advice::building::to_take_over;
use crate::commands::desk::Desk;
use crate::notebook::When;
use crate::report::all_worded;
use crate::report::building::steps::{self as report, BuildStepsAnswer};
use crate::report::{Answer, Screen, Trouble};
use crate::store::{Book, BuildChange, BuildRecord, Garage, Recording, StoreError, Tick, measure, tick};

/// Work through a build's check list; without a terminal it is listed
///
/// At a terminal every open step is asked: Enter says it is done, + and words that it is done with a note, l leaves it for
/// later, x says that it does not apply and asks why, < goes back, a point alone ends. Steps that want a torque or a mark ask
/// for it.
#[derive(Debug, Args)]
pub(super) struct Steps {
    /// The engine
    engine: String,
    /// Another build than the newest: its id or the id's beginning
    #[arg(long, value_name = "ID")]
    build: Option<String>,
    /// Who does them
    #[arg(long)]
    by: Option<String>,
    /// Only those that are open
    #[arg(long)]
    open: bool,
    /// Also those for after the first run, at a terminal
    #[arg(long)]
    after_first_run: bool,
    /// Ask nothing, also at a terminal
    #[arg(long)]
    no_questions: bool,
}

/// Say that steps of the check list are done, left out or open again
#[derive(Debug, Args)]
pub(super) struct TickCommand {
    /// The engine
    engine: String,
    /// The steps by name; `all` is every open one before the start that wants no torque and no mark
    #[arg(required = true)]
    steps: Vec<String>,
    /// Another build than the newest: its id or the id's beginning
    #[arg(long, value_name = "ID")]
    build: Option<String>,
    /// Who did them
    #[arg(long)]
    by: Option<String>,
    /// When, if not now
    #[arg(long)]
    date: Option<String>,
    /// The torque it was tightened to, like "12 Nm"
    #[arg(long)]
    torque: Option<String>,
    /// The mark that was put on, like "white paint"
    #[arg(long)]
    mark: Option<String>,
    /// Why they do not apply
    #[arg(long, value_name = "WHY")]
    left_out: Option<String>,
    /// Open them again
    #[arg(long, conflicts_with = "left_out")]
    again: bool,
    /// Anything else
    #[arg(long, short)]
    note: Option<String>,
}

impl TickCommand {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let here = desk.moment.now.offset();
        let (steps, left) = self.meant(garage)?;
        let wanted = Tick {
            which: self.build.clone(),
            steps: steps.clone(),
            by: self.by.clone(),
            date: self.date.as_deref().map(|text| When::parse(text, here)).transpose()?,
            torque: self.torque.clone(),
            mark: self.mark.clone(),
            left_out: self.left_out.clone(),
            note: self.note.clone(),
            again: self.again,
        };
        let record = tick(garage, &self.engine, &wanted, Recording::Now, &desk.moment)?;
        let screen = desk.screen();
        let remarks = left.into_iter().chain(at_the_end(desk, garage, &record)?).collect();
        let answer = BuildStepsAnswer::new(&record, remarks);
        screen.answer(&answer, || answer.ticked(&screen, &steps))
    }

    /// The steps that are meant, and what `all` left open: what was tightened and marked is said by whoever did it, step by step.
    fn meant(&self, garage: &Garage) -> Result<(Vec<String>, Option<String>), Trouble> {
        let record = Book::open(garage)?.build(&self.engine, self.build.as_deref())?;
        if self.steps != ["all"] || !record.build.steps_called("all").is_empty() {
            return Ok((self.steps.clone(), None));
        }
        let open = record.build.open_steps(false);
        let (wanting, plain): (Vec<_>, Vec<_>) =
            open.into_iter().partition(|(_, step)| step.wants_torque || step.wants_mark);
        let names = |steps: Vec<(String, _)>| steps.into_iter().map(|(name, _)| name).collect::<Vec<_>>();
        let (plain, wanting) = (names(plain), names(wanting));
        if plain.is_empty() {
            let help = match wanting.as_slice() {
                [] => format!("`reedbook build steps {}` lists them.", self.engine),
                left => format!("These want a torque or a mark, each its own: {}.", left.join(", ")),
            };
            let message = "No step is open before the start that `all` could tick.";
            return Err(Trouble::request(Some("step"), message, help));
        }
        let left = (!wanting.is_empty())
            .then(|| format!("Left open, for they want a torque or a mark: {}.", wanting.join(", ")));
        Ok((plain, left))
    }
}

/// What the setup has otherwise than the build, once nothing is open any more before the engine runs.
fn at_the_end(desk: &Desk, garage: &Garage, record: &BuildRecord) -> Result<Vec<String>, Trouble> {
    if !record.build.open_steps(false).is_empty() {
        return Ok(Vec::new());
    }
    Ok(all_worded(&to_take_over(&Book::open(garage)?, record, desk.moment.now)?))
}

impl Steps {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let mut record = Book::open(garage)?.build(&self.engine, self.build.as_deref())?;
        if desk.screen().can_ask() && !self.no_questions {
            self.work_through(desk, garage, &record)?;
            let change = BuildChange { which: Some(record.id.clone()), entered: Vec::new() };
            record = match measure(garage, &self.engine, &change, Recording::Now, &desk.moment) {
                Err(StoreError::NothingChanged { .. }) => {
                    Book::open(garage)?.build(&self.engine, Some(&record.id))?
                }
                other => other?,
            };
            let screen = desk.screen();
            let answer = BuildStepsAnswer::new(&record, at_the_end(desk, garage, &record)?);
            return screen.say(&answer.ticked(&screen, &[]));
        }
        let answer = BuildStepsAnswer::new(&record, Vec::new());
        desk.screen().answer(&answer, || answer.text(&desk.screen(), self.open))
    }

    fn work_through(&self, desk: &Desk, garage: &Garage, record: &BuildRecord) -> Result<(), Trouble> {
        let screen = desk.screen();
        let mut open = record.build.open_steps(false);
        if self.after_first_run || open.is_empty() {
            open.extend(record.build.open_steps(true));
        }
        if open.is_empty() {
            return Ok(());
        }
        screen.say(&report::how_to_answer())?;
        let by = self.by.clone().or_else(|| record.build.by.clone());
        let mut at = 0;
        while let Some((name, step)) = open.get(at) {
            screen.say(&report::question(&screen, (name, step), (at + 1, open.len())))?;
            let mut done = Tick {
                which: Some(record.id.clone()),
                steps: vec![name.clone()],
                by: by.clone(),
                ..Tick::default()
            };
            match said_of_step(&screen)? {
                StepReply::Done(note) => done.note = note,
                StepReply::LeftOut(why) => done.left_out = Some(why),
                StepReply::Later => {
                    at += 1;
                    continue;
                }
                StepReply::Back => {
                    at = at.saturating_sub(1);
                    continue;
                }
                StepReply::Enough => return Ok(()),
            }
            let wants = done.left_out.is_none();
            let torque = wants && step.wants_torque && step.torque.is_none();
            let mark = wants && step.wants_mark && step.mark.is_none();
            if !self.write(desk, garage, (&mut done, torque, mark))? {
                return Ok(());
            }
            at += 1;
        }
        Ok(())
    }

    /// Writes one step down, asking for its torque and its mark until they can be read; false when it is enough.
    fn write(
        &self,
        desk: &Desk,
        garage: &Garage,
        (done, torque, mark): (&mut Tick, bool, bool),
    ) -> Result<bool, Trouble> {
        let screen = desk.screen();
        loop {
            for (is_wanted, question, answer) in [
                (torque, "  torque, in Nm? (Enter: later)", &mut done.torque),
                (mark, "  which mark was put on? (Enter: later)", &mut done.mark),
            ] {
                if is_wanted {
                    match screen.ask(question)? {
                        Answer::Said(said) => *answer = Some(said),
                        Answer::Nothing => return Ok(true),
                        Answer::Enough => return Ok(false),
                    }
                }
            }
            match tick(garage, &self.engine, done, Recording::Later, &desk.moment) {
                Ok(_) | Err(StoreError::NothingChanged { .. }) => return Ok(true),
                Err(error) => screen.say(&Trouble::from(error).in_short(&screen))?,
            }
            if !torque {
                return Ok(true);
            }
        }
    }
}

/// What was said of a step.
enum StepReply {
    Done(Option<String>),
    LeftOut(String),
    Later,
    Back,
    Enough,
}

/// Asks until the answer is one that cannot be taken for another: a "no" never ticks a step.
fn said_of_step(screen: &Screen) -> Result<StepReply, Trouble> {
    loop {
        let word = match screen.ask("  done?")? {
            Answer::Enough => return Ok(StepReply::Enough),
            Answer::Nothing => return Ok(StepReply::Done(None)),
            Answer::Said(word) => word,
        };
        if let Some(note) = word.strip_prefix('+') {
            return Ok(StepReply::Done(Some(note.trim().to_owned()).filter(|note| !note.is_empty())));
        }
        match word.to_lowercase().as_str() {
            "y" | "yes" | "done" | "ok" => return Ok(StepReply::Done(None)),
            "n" | "no" | "l" | "later" | "not yet" => return Ok(StepReply::Later),
            "<" => return Ok(StepReply::Back),
            "x" => {
                if let Answer::Said(why) = screen.ask("  why does it not apply?")? {
                    return Ok(StepReply::LeftOut(why));
                }
            }
            _ => screen.say(&report::how_to_answer())?,
        }
    }
}
