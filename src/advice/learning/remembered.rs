//! Records that were weighed, remembered while pages are served: several phones ask of the same runs in the same air, and weighing them
//! is most of an answer. What is remembered is found by all that it was weighed from, word by word, so that nothing old is answered; the
//! doubt of today's air comes after that, so that a record that was weighed serves in every air.

use std::collections::VecDeque;
use std::sync::{Mutex, OnceLock, PoisonError};

use super::learned::{Learned, Shape};
use super::model::verdicts::LearningError;
use super::{Evidence, Settings};

/// Records that are remembered: every bike of a team with its cylinders.
const REMEMBERED: usize = 24;

/// What was weighed, and what came of it; the newest last.
type Weighed = VecDeque<(String, Option<Learned>)>;

static KNOWN: OnceLock<Mutex<Weighed>> = OnceLock::new();

/// From now on what is weighed is remembered: a program that answers once has no use for it.
pub fn remember() {
    KNOWN.get_or_init(Mutex::default);
}

/// The record weighed, or as it was weighed before.
pub(super) fn weighed(
    evidence: &Evidence,
    shape: Shape,
    settings: &Settings,
    today: f64,
) -> Result<Option<Learned>, LearningError> {
    let Some(known) = KNOWN.get() else { return Learned::new(evidence, shape, settings, today) };
    let asked = format!("{evidence:?}\n{shape:?}\n{settings:?}");
    let lock = || known.lock().unwrap_or_else(PoisonError::into_inner);
    let found = lock().iter().find(|(known, _)| *known == asked).map(|(_, found)| found.clone());
    if let Some(found) = found {
        return found.map(|found| found.doubting(today)).transpose();
    }
    let found = Learned::new(evidence, shape, settings, today)?;
    let mut known = lock();
    if known.len() >= REMEMBERED {
        known.pop_front();
    }
    known.push_back((asked, found.clone()));
    Ok(found)
}
