//! What is said of a step: why it is not to be done, what is told beside it, how the last run was.

use super::hold::Hold;
use crate::notebook::fields::cylinder::at_cylinder;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::store::{OutingRecord, StoreError};

/// What is to be said of a step.
#[derive(Debug, Clone, Default)]
pub struct Judgement {
    /// What it does that can hurt, most urgent first.
    pub told: Vec<Told>,
    /// Why it is not to be done.
    pub refused: Vec<Refusal>,
    /// The way out of all refusals, in one sentence or more.
    pub way_out: Guidance,
    /// Whether a run that was lean at full throttle, pinged or seized holds: then the setup before is no place to go back to.
    pub is_held: bool,
}

impl Judgement {
    /// The reason that is recorded where a step is done despite what speaks against it; fails without one.
    pub fn allow(&self, despite: Option<&str>) -> Result<Option<String>, StoreError> {
        let Some(first) = self.refused.first() else {
            return Ok(None);
        };
        if let Some(despite) = despite {
            return Ok(Some(despite.trim().to_owned()));
        }
        let sentences = self.refused.iter().map(|refusal| refusal.sentence.clone());
        Err(StoreError::request(Some(&first.field), Guidance::joined(sentences, " "), self.way_out.clone()))
    }
}

/// One thing to be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Whether it must not be run like that.
    pub urgent: bool,
    /// The cylinder that it is said of; none where it is of all.
    pub cylinder: Option<String>,
    /// What it says, each by itself: "main 162 -> 158, 2 sizes leaner".
    pub parts: Vec<String>,
    /// Whether that is too much in one step.
    pub at_once: bool,
    /// How the last run was, where that matters to it.
    pub last: Option<LastRun>,
}

impl Told {
    /// What must be known before it runs, of no cylinder alone.
    pub fn stop(words: String) -> Self {
        Self { urgent: true, cylinder: None, parts: vec![words], at_once: false, last: None }
    }
}

/// How the last run was that a step is set against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastRun {
    /// In words: "the last run was lean at full throttle (2026-11-28, setup 40)".
    pub words: String,
    /// What it says of the mixture.
    pub was: LastVerdict,
}

/// What a last run says of the mixture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LastVerdict {
    /// Lean somewhere, pinging or seized, and its cause is not closed.
    Lean,
    /// Right.
    Right,
    /// Rich, and nowhere lean.
    Rich,
    /// Not judged, or closed.
    Nothing,
}

impl Told {
    /// Nothing yet.
    pub(in crate::advice::held) fn nothing(urgent: bool) -> Self {
        Self { urgent, cylinder: None, parts: Vec::new(), at_once: false, last: None }
    }

    /// A sentence by itself.
    pub(in crate::advice::held) fn of(urgent: bool, sentence: impl Into<String>) -> Self {
        Self { parts: vec![sentence.into()], ..Self::nothing(urgent) }
    }

    /// The sentence.
    pub fn sentence(&self) -> String {
        let at_once = if self.at_once { " in one step" } else { "" };
        let step = format!("{}{at_once}", self.parts.join("; "));
        let last = self.last.as_ref().map(|last| last.words.clone());
        let said: Vec<String> = Some(step).filter(|step| !step.is_empty()).into_iter().chain(last).collect();
        let said = capital(&said.join("; "));
        let stop = if said.ends_with(['.', '?', '!']) { "" } else { "." };
        let said = format!("{said}{stop}");
        match &self.cylinder {
            Some(name) => at_cylinder(name, &said),
            None => said,
        }
    }

    /// The same without what the reasons to refuse the step say too; none where they say all of it.
    pub fn beside(&self, refused: &[Refusal]) -> Option<Self> {
        // A reason that is of all is of each.
        let of_it = |other: &&Refusal| {
            self.cylinder.is_none() || other.cylinder.is_none() || other.cylinder == self.cylinder
        };
        let others: Vec<String> = refused
            .iter()
            .filter(of_it)
            .map(|other| other.sentence.without_commands().to_lowercase())
            .collect();
        let is_said = |words: &str| {
            let words = words.trim_end_matches('.').replace(" in one step", "").to_lowercase();
            others.iter().any(|other| other.contains(&words))
        };
        let mut left = self.clone();
        left.parts.retain(|part| !is_said(part));
        left.at_once &= left.parts.last() == self.parts.last();
        // That the last run was right takes nothing away from what speaks against the step.
        let is_well = |last: &LastRun| !refused.is_empty() && last.was == LastVerdict::Right;
        left.last = left.last.filter(|last| !is_said(&last.words) && !is_well(last));
        (!left.parts.is_empty() || left.last.is_some()).then_some(left)
    }
}

/// One reason to refuse.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The cylinder that it is of; none where it is of all.
    pub cylinder: Option<String>,
    /// The field.
    pub field: String,
    /// The sentence.
    pub sentence: Guidance,
    /// The outing that stands behind it, by bike and identity, where one does: then going richer, or its cause once it is mended, is a way out.
    pub by_a_run: Option<String>,
    /// Whether it is the air that asks for it: then what that wants is asked first, whatever is counted from.
    pub rejet_first: bool,
}

impl Refusal {
    /// Of a field, at every cylinder, whatever ran.
    pub fn of(field: impl Into<String>, sentence: impl Into<Guidance>) -> Self {
        let (field, sentence) = (field.into(), sentence.into());
        Self { cylinder: None, field, sentence, by_a_run: None, rejet_first: false }
    }

    /// A run stands behind it, by bike and identity.
    pub(in crate::advice::held) fn by(self, run: String) -> Self {
        Self { by_a_run: Some(run), ..self }
    }

    /// It is the air that asks for it.
    pub(in crate::advice::held) fn of_the_air(self) -> Self {
        Self { rejet_first: true, ..self }
    }
}

/// How a run that holds ran: "was slightly lean", "was lean ("seized")".
pub(in crate::advice::held) fn was(hold: &Hold) -> String {
    was_like(&hold.words)
}

/// The same of a verdict, or of a word in the notes.
pub(in crate::advice::held) fn was_like(words: &str) -> String {
    if words.ends_with("lean") {
        format!("was {words}")
    } else {
        format!("was lean (\"{}\")", visible(words))
    }
}

pub(in crate::advice::held) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// What is to be done with an engine whose lean run was the last, and whose cause was mended (common practice, no source).
pub(in crate::advice::held) fn mended(run: &OutingRecord, at_full: bool) -> String {
    let said = |text: &Option<String>| visible(text.as_deref().unwrap_or_default());
    format!(
        "Not run since the lean run of {} (\"{}\", fixed: \"{}\"): run in what is new, {}read plug and piston before it is held open.",
        run.outing.date.day(),
        said(&run.outing.cause),
        said(&run.outing.mended),
        if at_full { "start at least a size richer than then, and " } else { "and " }
    )
}

/// What was mended did not cure it.
pub(in crate::advice::held) fn mend_did_not_help(run: &OutingRecord) -> String {
    let said = |text: &Option<String>| visible(text.as_deref().unwrap_or_default());
    format!(
        "Lean again: what was fixed after the run of {} (\"{}\", fixed: \"{}\") was not it, or not all of it. That run counts again.",
        run.outing.date.day(),
        said(&run.outing.cause),
        said(&run.outing.mended)
    )
}
