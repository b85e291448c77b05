//! What is said of a step that was recorded, a change's and a rollback's alike: what can hurt in it, how much changed since the last
//! outing, and the way back.

use crate::advice::held::Judgement;
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::visible;
use crate::report::out::frame::Frame;
use crate::report::words::layout::capital;

/// The way back after a step that can hurt; none after a lean run, whose setup is not gone back to.
pub(in crate::report::history) fn undo(
    frame: &mut Frame<'_>,
    bike: &str,
    before: Option<u32>,
    judgement: &Judgement,
) {
    if let Some(before) = before.filter(|_| is_urgent(judgement) && !judgement.is_held) {
        frame.say("Undo:");
        frame.command(&format!("reedbook rollback {bike} {before}"));
    }
}

/// What can hurt in a step, before anything else is said of it.
pub(in crate::report::history) fn first_of_all(
    frame: &mut Frame<'_>,
    judgement: &Judgement,
    despite: Option<&str>,
) {
    let refused: Vec<&str> = judgement.refused.iter().map(|refused| refused.sentence.as_str()).collect();
    let mut runs = Vec::new();
    let mut told = |urgent: bool| {
        let of_them = judgement.told.iter().filter(move |told| told.urgent == urgent);
        let left = of_them.filter_map(|told| not_said_yet(&told.sentence, &refused));
        left.map(|sentence| run_said_once(sentence, &mut runs)).collect::<Vec<_>>()
    };
    for sentence in told(true).iter().map(String::as_str).chain(refused.iter().copied()) {
        frame.stop(&visible(sentence));
    }
    if let Some(why) = despite {
        frame.say(&format!("   done despite that: {}", visible(why)));
    }
    for sentence in told(false) {
        frame.know(&visible(&sentence));
    }
}

/// A sentence without what it says of a last run that another cylinder's said already, word for word.
fn run_said_once(sentence: String, runs: &mut Vec<String>) -> String {
    let Some((step, run)) = sentence.split_once("; the last run ") else { return sentence };
    if runs.iter().any(|said| said == run) {
        return format!("{step}.");
    }
    runs.push(run.to_owned());
    sentence
}

/// A sentence without the parts that what spoke against the step says too; none where that says all of it.
fn not_said_yet(sentence: &str, refused: &[&str]) -> Option<String> {
    let (cylinder, said) = match sentence.split_once(": ") {
        Some((cylinder, said)) if cylinder.starts_with("Cylinder ") => (Some(cylinder), said),
        _ => (None, sentence),
    };
    let of_it = |other: &&&str| cylinder.is_none_or(|cylinder| other.starts_with(cylinder));
    let others: Vec<String> = refused.iter().filter(of_it).map(|other| other.to_lowercase()).collect();
    let said_there = |part: &&str| {
        let part = part.trim_end_matches('.').replace(" in one step", "").to_lowercase();
        others.iter().any(|other| other.contains(&part))
    };
    // That the last run was right takes nothing away from what speaks against the step.
    let is_well = |part: &&str| {
        let part = part.to_lowercase();
        !refused.is_empty() && part.starts_with("the last run") && part.contains(" was right")
    };
    let parts: Vec<&str> = said.split("; ").filter(|part| !said_there(part) && !is_well(part)).collect();
    if parts.is_empty() {
        return None;
    }
    let left = capital(&parts.join("; "));
    Some(cylinder.map_or(left.clone(), |cylinder| format!("{cylinder}: {left}")))
}

fn is_urgent(judgement: &Judgement) -> bool {
    !judgement.refused.is_empty() || judgement.told.iter().any(|told| told.urgent)
}

/// From so many sections on their number is told, and not their names.
const NAMED: usize = 3;

/// What changed since the last outing: a warning where it is more than one thing, and with `all` whatever it is.
pub(in crate::report::history) fn several_at_once(frame: &mut Frame<'_>, since: &SinceOuting, all: bool) {
    if since.sections.len() >= NAMED && !all {
        let several = since.sections.len();
        frame.know(&format!("{several} things since the last outing (-v): its verdict will not say which."));
    } else if since.sections.len() > 1 {
        frame.know(&since.words());
    } else if all || since.sections.is_empty() {
        frame.say(&since.words());
    }
}

/// What a step does that can hurt.
pub(in crate::report::history) fn cautions(judgement: &Judgement) -> Vec<&str> {
    judgement.told.iter().map(|told| told.sentence.as_str()).collect()
}

/// What spoke against it.
pub(in crate::report::history) fn held(judgement: &Judgement) -> Vec<&str> {
    judgement.refused.iter().map(|refused| refused.sentence.as_str()).collect()
}
