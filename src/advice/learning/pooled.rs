//! The exponent that the bikes of one garage share: those with the same carburetor follow the air alike, each a little in its own way
//! (partial pooling; Gelman and Hill, "Data Analysis Using Regression and Multilevel/Hierarchical Models", 2007, from memory).

use super::model::posterior::{Belief, Posterior, Prior};
use super::model::verdicts::{LearningError, Spoken};

use crate::advice::learning::heard::evidence::{Sister, spoken};

/// Share of the variance of an exponent that bikes with the same carburetor have in common (common practice, no source).
const IN_COMMON: f64 = 0.5;

/// What a bike's exponent starts from, by the garage's other bikes.
#[derive(Debug, Clone, PartialEq)]
pub struct Pooled {
    /// The bikes that have spoken.
    pub bikes: Vec<String>,
    /// The exponent of fuel to start from.
    pub exponent: Belief,
}

impl Pooled {
    /// From the sisters' verdicts at full throttle, each under the prior of a bike that has none; none where no sister has spoken.
    pub fn new(prior: &Prior, sisters: &[Sister]) -> Result<Option<Self>, LearningError> {
        let mut bikes = Vec::new();
        let mut exponents = Vec::new();
        for Sister { bike, evidence } in sisters {
            let runs: Vec<Spoken> =
                evidence.of("full").map(|(witness, verdict)| spoken(witness, verdict)).collect();
            if !runs.is_empty() {
                exponents.push(Posterior::coarse(prior, &runs)?.exponent());
                bikes.push(bike.clone());
            }
        }
        let exponent = pooled(prior.exponent, &exponents);
        Ok((!bikes.is_empty()).then_some(Self { bikes, exponent }))
    }
}

/// What is believed of one more bike's exponent when each of `others` was learned from `alone`, the belief before any bike has spoken.
///
/// Each exponent is that of the garage and an offset of the bike's own, both normal. What a bike's outings added to `alone` is told
/// through its own offset, so many outings of one bike say less of the garage than a few of each of many.
pub fn pooled(alone: Belief, others: &[Belief]) -> Belief {
    let (garage, own) = (alone.sd.powi(2) * IN_COMMON, alone.sd.powi(2) * (1.0 - IN_COMMON));
    let before = alone.sd.powi(-2);
    let mut precision = garage.recip();
    let mut weighed = alone.mean * precision;
    for other in others {
        // Where the outings said nothing, or left more doubt, nothing is told.
        let told = other.sd.powi(-2) - before;
        if told > 1e-9 * before {
            let mean = (other.mean * other.sd.powi(-2) - alone.mean * before) / told;
            let weight = (told.recip() + own).recip();
            precision += weight;
            weighed += mean * weight;
        }
    }
    Belief { mean: weighed / precision, sd: (precision.recip() + own).sqrt() }
}
