//! What is said of a step that was recorded, a change's and a rollback's alike: what can hurt in it, how much changed since the last
//! outing, and the way back.

use crate::advice::held::{Judgement, LastRun, LastVerdict, Told};
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::visible;
use crate::report::out::frame::Frame;
use crate::report::out::frame::room::Room;
use crate::report::out::ways;

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

/// What can hurt in a step, before anything else is said of it; `stops` is what is to be done first whatever the step.
pub(in crate::report::history) fn first_of_all(
    frame: &mut Frame<'_>,
    (judgement, room): (&Judgement, Room),
    (despite, stops): (Option<&str>, &[String]),
) {
    let mut runs: Vec<LastRun> = Vec::new();
    let mut told = |urgent: bool| {
        let of_them = judgement.told.iter().filter(move |told| told.urgent == urgent);
        let left = of_them.filter_map(|told| told.beside(&judgement.refused));
        let left = left.map(|told| if room.is_short() { without_a_run_that_was_right(told) } else { told });
        left.filter_map(|told| run_said_once(told, &mut runs)).map(|told| told.sentence()).collect::<Vec<_>>()
    };
    let refused = judgement.refused.iter().map(|refused| ways::worded(&refused.sentence));
    for sentence in told(true).into_iter().chain(refused) {
        frame.stop(&visible(&sentence));
    }
    if let Some(why) = despite {
        frame.say(&format!("   done despite that: {}", visible(why)));
    }
    for stop in stops {
        frame.stop(&visible(stop));
    }
    for sentence in told(false) {
        frame.know(&visible(&sentence));
    }
}

/// What is told without a last run that was right: that speaks for nothing and against nothing.
fn without_a_run_that_was_right(told: Told) -> Told {
    let last = told.last.filter(|last| last.was != LastVerdict::Right || told.parts.is_empty());
    Told { last, ..told }
}

/// What is told without the last run that another cylinder's said already, word for word; none where that was all.
fn run_said_once(told: Told, runs: &mut Vec<LastRun>) -> Option<Told> {
    match told.last.clone() {
        Some(last) if runs.contains(&last) => {
            Some(Told { last: None, ..told }).filter(|told| !told.parts.is_empty())
        }
        last => {
            runs.extend(last);
            Some(told)
        }
    }
}

/// Whether it must not be run like that.
pub(in crate::report::history) fn is_urgent(judgement: &Judgement) -> bool {
    !judgement.refused.is_empty() || judgement.told.iter().any(|told| told.urgent)
}

/// From so many sections on their number is told, and not their names.
const NAMED: usize = 3;

/// What changed since the last outing: a warning where it is more than one thing, and with `all` whatever it is.
pub(in crate::report::history) fn several_at_once(frame: &mut Frame<'_>, since: &SinceOuting, all: bool) {
    if since.sections.len() >= NAMED && !all {
        let several = since.sections.len();
        frame.know(&format!(
            "{several} things changed since the last outing (-v): one run tells of all at once."
        ));
    } else if since.sections.len() > 1 {
        frame.know(&since.words());
    } else if all || since.sections.is_empty() {
        frame.say(&since.words());
    }
}

/// What a step does that can hurt.
pub(in crate::report::history) fn cautions(judgement: &Judgement) -> Vec<String> {
    judgement.told.iter().map(Told::sentence).collect()
}

/// What spoke against it.
pub(in crate::report::history) fn held(judgement: &Judgement) -> Vec<String> {
    judgement.refused.iter().map(|refused| ways::worded(&refused.sentence)).collect()
}
