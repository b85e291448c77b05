//! The program's model as an adviser: the one place in which the seasons call it.

use reedbook::advice::learning::posterior::{Belief, Posterior, Prior};
use reedbook::advice::learning::verdicts::Spoken;

use super::advisers::{Advice, Adviser, least};
use super::season::{Day, Known, Outing, Size};

/// The most chance of lean that is taken at full throttle.
const LEAN_LIMIT: f64 = 0.05;

/// What another engine than the proven one's counts.
const OTHER_ENGINE: f64 = 0.5;

/// Runs that must have been judged before the model may go more than one size leaner than theory.
const RUNS_TO_LEAVE_THEORY: usize = 3;

/// What the program would fit at full throttle.
pub(crate) struct Learned {
    prior: Prior,
}

impl Learned {
    /// For a bike of which so much is known.
    pub(crate) fn new(_: &Known) -> Self {
        Self { prior: Prior::new(Belief { mean: 0.0, sd: 0.05 / 1.4 }, Belief { mean: 1.0, sd: 0.18 }) }
    }
}

impl Adviser for Learned {
    fn advise(&mut self, today: &Day, history: &[Outing], jets: &[Size], _: usize) -> Advice {
        let spoken: Vec<Spoken> = history
            .iter()
            .map(|outing| Spoken {
                delivered: outing.delivered,
                wanted: outing.wanted,
                judged: outing.judged,
                weight: if outing.engine == history[0].engine { 1.0 } else { OTHER_ENGINE },
            })
            .collect();
        let posterior = Posterior::new(&self.prior, &spoken).expect("a record that a rider could leave");
        let enough = posterior
            .least_delivered(today.wanted, LEAN_LIMIT)
            .max(posterior.right_amount(today.wanted).mean);
        let mut size = least(jets, enough);
        if history.len() < RUNS_TO_LEAVE_THEORY {
            size = size.max(least(jets, today.wanted).saturating_sub(1));
        }
        let chances = posterior.chances(jets[size].delivered, today.wanted);
        Advice { size, foretold_lean: Some(chances.lean) }
    }
}
