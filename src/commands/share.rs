//! `share`: several people, one garage.

use std::collections::BTreeSet;
use std::path::{Component, Path, PathBuf};
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use crate::acts::now::now;
use crate::advice::combined::{combined_never_run, is_never_run};
use crate::advice::held::{Judgement, Proposal, Refusal, judge_each, ran_lean};
use crate::commands::desk::{Desk, folder};
use crate::notebook::fields::names::visible;
use crate::report::Trouble;
use crate::report::sharing::before::{BeforeAnswer, FilesBackAnswer};
use crate::report::sharing::share::ShareAnswer;
use crate::store::{
    self, Book, Garage, Keep, SetupName, SetupRecord, ShareRequest, Shared, before_share, put_back,
    share_was_told,
};

/// Get what others logged, and send what was logged here
///
/// Outings, builds, parts, jobs, airs and different bikes merge by themselves. Where both sides recorded a setup of one
/// bike, it is asked which holds, and nothing is brought or sent before that is answered. Git does the carrying.
#[derive(Debug, Args)]
pub(super) struct Share {
    /// The bike, or the file, that the answer is for
    #[arg(value_name = "BIKE", requires = "keep")]
    subjects: Vec<String>,
    /// What the garage is shared through, said once: a folder (a stick, a disk of the shop's) or an address for git
    #[arg(long, value_name = "WHERE")]
    with: Option<String>,
    /// Make the repository in that folder first
    #[arg(long, requires = "with")]
    new: bool,
    /// Which setup holds
    #[arg(long, value_name = "SIDE", requires = "subjects")]
    keep: Option<KeptSide>,
    /// Why, in your words
    #[arg(long, short, requires = "keep")]
    why: Option<String>,
    /// Show what others' changed here when it was brought last, and what brings that back
    #[arg(long, conflicts_with_all = ["subjects", "with", "keep", "rewritten", "put_back"])]
    before: bool,
    /// Put documents back as they were before others' was brought last
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["subjects", "with", "keep", "rewritten"])]
    put_back: Vec<PathBuf>,
    /// Bring together although what was shared before is not there any more
    #[arg(long = "anyway")]
    rewritten: bool,
}

/// Of a bike that ran lean, and that cannot be looked at.
const NOT_KNOWN: &str =
    "It ran lean, and how it stands now cannot be read: do not run it before that is fixed.";

/// Which side of a question holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum KeptSide {
    /// What the others recorded
    #[value(name = "there")]
    Theirs,
    /// What was recorded here
    #[value(name = "here")]
    Ours,
    /// The changes of both, as one setup that nobody ran
    Both,
}

impl From<KeptSide> for Keep {
    fn from(side: KeptSide) -> Self {
        match side {
            KeptSide::Theirs => Self::Theirs,
            KeptSide::Ours => Self::Ours,
            KeptSide::Both => Self::Both,
        }
    }
}

impl Share {
    pub(super) fn run(&self, desk: &Desk) -> Result<ExitCode, Trouble> {
        let screen = desk.screen();
        if self.before {
            let garage = desk.garage()?;
            let before = before_share(&garage)?;
            let answer = BeforeAnswer::of(before.as_ref());
            return screen.answer(&answer, || answer.text(&screen)).map(|()| ExitCode::SUCCESS);
        }
        if !self.put_back.is_empty() {
            let files = put_back(&desk.garage()?, &self.put_back, ran_lean, &desk.moment)?;
            let answer = FilesBackAnswer::as_before(&files);
            return screen.answer(&answer, || answer.text(&screen)).map(|()| ExitCode::SUCCESS);
        }
        let garage = match (desk.garage_if_any()?, &self.with) {
            (Some(garage), _) => garage,
            (None, Some(with)) if !self.new => {
                return Err(Trouble::request(
                    None,
                    "There is no garage here to share.",
                    format!(
                        "To begin with what others share: `git clone {} FOLDER`, then go into FOLDER.",
                        visible(with)
                    ),
                ));
            }
            (None, _) => desk.garage()?,
        };
        let keep =
            self.keep.map(|side| self.subjects.iter().map(move |subject| (subject.clone(), side.into())));
        let request = ShareRequest {
            with: self.with.as_deref().map(whole_path).transpose()?,
            new: self.new,
            keep: keep.map(Iterator::collect).unwrap_or_default(),
            why: self.why.clone(),
            rewritten: self.rewritten,
            lean: Some(ran_lean),
        };
        let shared = store::share(&garage, &request, &desk.moment)?;
        let judged = judged(&garage, &shared)?;
        let brought = brought(&garage, &shared)?;
        let stops = stops(&garage, &shared, desk);
        let answer = ShareAnswer::of(&shared, &judged, &brought, &stops);
        desk.screen().answer(&answer, || answer.text(&desk.screen()))?;
        share_was_told(&garage)?;
        Ok(if shared.questions.is_empty() { ExitCode::SUCCESS } else { ExitCode::from(1) })
    }
}

/// What `now` says first of bikes of which lean runs came or went, or whose setup was chosen beside runs that came.
fn stops(garage: &Garage, shared: &Shared, desk: &Desk) -> Vec<(String, String)> {
    let runs = shared.runs.iter();
    let lean = runs.filter(|run| ran_lean(&run.run.outing) || run.was.as_ref().is_some_and(ran_lean));
    let bikes: BTreeSet<&str> = lean
        .map(|run| run.run.bike.as_str())
        .chain(shared.settled.iter().map(|settled| settled.bike.as_str()))
        .collect();
    let mut stops = Vec::new();
    for bike in bikes.into_iter().filter(|bike| garage.require_bike(bike).is_ok()) {
        // That what was chosen never ran stands with the choice.
        let chosen = shared.settled.iter().any(|settled| settled.bike == bike && settled.setup.combined);
        match now(garage, Some(bike), desk.moment.now, |answer, _| Ok(answer.stops())) {
            Ok(said) => stops.extend(said.into_iter().filter(|(_, words)| !chosen || !is_never_run(words))),
            // What came is here all the same, and is told.
            Err(_) => stops.push((bike.to_owned(), NOT_KNOWN.to_owned())),
        }
    }
    stops
}

/// What each setup that was chosen does that can hurt, against the one that was recorded here before.
fn judged(garage: &Garage, shared: &Shared) -> Result<Vec<Judgement>, Trouble> {
    if shared.settled.is_empty() {
        return Ok(Vec::new());
    }
    let book = Book::open(garage)?;
    let mut judged = Vec::new();
    for settled in &shared.settled {
        let before = settled
            .ours
            .map(|number| book.recorded(&settled.bike, &SetupName::Number(number)))
            .transpose()?;
        let before = before.map(|before| book.combination(&settled.bike, Some(&before))).transpose()?;
        let after = book.combination(&settled.bike, Some(&settled.setup))?;
        let back = settled.keep != Keep::Both;
        judged.push(judge_each(
            &book,
            &Proposal {
                bike: &settled.bike,
                before: before.as_ref(),
                after: &after,
                air: None,
                back,
                advised: false,
                kept: None,
                moves_nothing: false,
            },
        )?);
    }
    Ok(judged)
}

/// What speaks against a setup that others recorded: a run that they did not know of forbids it.
fn brought(garage: &Garage, shared: &Shared) -> Result<Vec<(String, Judgement)>, Trouble> {
    let settled: BTreeSet<&str> = shared.settled.iter().map(|settled| settled.bike.as_str()).collect();
    let bikes: BTreeSet<&str> = shared.setups.iter().map(|setup| setup.bike.as_str()).collect();
    let book = Book::open(garage)?;
    let mut judged = Vec::new();
    for bike in bikes.difference(&settled) {
        let setups = book.setups(bike)?;
        let is_new = |setup: &&SetupRecord| {
            shared.setups.iter().any(|new| new.id == setup.id && new.bike == setup.bike)
        };
        let before = setups.iter().rev().find(|setup| !is_new(setup));
        let before = before.map(|before| book.combination(bike, Some(before))).transpose()?;
        let after = book.combination(bike, setups.last())?;
        let proposal = Proposal::put_back(bike, before.as_ref(), &after);
        judged.push(((*bike).to_owned(), judge_each(&book, &proposal)?));
    }
    // What git put together has to be said as well as what a share did.
    let renumbered = shared.renumbered.iter().map(|(bike, _)| bike.as_str());
    for bike in bikes.into_iter().chain(renumbered).collect::<BTreeSet<_>>().difference(&settled) {
        let latest = book.latest(bike)?;
        let said = latest.map(|latest| combined_never_run(&book, &latest)).transpose()?.flatten();
        let refused = said.map(|sentence| Refusal::of("setup", sentence));
        judged.push((
            (*bike).to_owned(),
            Judgement { refused: refused.into_iter().collect(), ..Judgement::default() },
        ));
    }
    Ok(judged)
}

/// A folder as it can be found from anywhere; an address as it is.
fn whole_path(typed: &str) -> Result<String, Trouble> {
    if typed.is_empty() || store::is_address(typed) || typed.starts_with('-') {
        return Ok(typed.to_owned());
    }
    let mut whole = PathBuf::new();
    for part in folder()?.join(Path::new(typed)).components() {
        match part {
            Component::ParentDir => {
                whole.pop();
            }
            Component::CurDir => {}
            part => whole.push(part),
        }
    }
    Ok(whole.to_string_lossy().into_owned())
}
