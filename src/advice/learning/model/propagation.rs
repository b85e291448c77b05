//! What the runs want, given what was said of each: expectation propagation (Minka, "A family of algorithms for approximate
//! Bayesian inference", 2001; Rasmussen and Williams, "Gaussian Processes for Machine Learning", 2006, section 3.6; both from
//! memory).
//!
//! Each verdict is replaced by a normal one about what its run wants, such that mean and variance come out as with the verdict
//! itself. Without a run's own replacement stands what all the others say of it (the cavity): each verdict foretold from the
//! others, for nothing.

use super::kinship::Kin;
use super::matrix::{Lower, Square, dot};
use super::verdicts::{Spoken, Tilted, Tuner};

/// Sweeps over the record at most; four are usual.
const MOST_SWEEPS: usize = 30;

/// Sweeps that go the whole way.
const WHOLE_SWEEPS: usize = 8;

/// Sweeps after which covariance and mean are taken anew each time. Before that the steps of a sweep follow them closely
/// enough, and they are taken anew at the end: once costs more than a sweep.
const CLOSE_SWEEPS: usize = 6;

/// Sweeps are done when no replacement moves a mean by more than this part of its standard deviation.
const SETTLED: f64 = 1e-4;

/// A verdict that would be replaced by less says nothing.
const LEAST_PRECISION: f64 = 1e-9;

/// What a run wants by all the others: mean and variance, ln fuel over what its air explains.
#[derive(Debug, Clone, Copy)]
pub(in crate::advice::learning) struct Cavity {
    pub(in crate::advice::learning) mean: f64,
    pub(in crate::advice::learning) variance: f64,
}

/// Bike and tuner after the record, for one tuner.
#[derive(Debug, Clone)]
pub(in crate::advice::learning) struct Heard {
    /// ln of the chance of the whole record.
    pub(in crate::advice::learning) ln_evidence: f64,
    /// Mean and variance of the offset, of the exponent over theory's, and their covariance.
    pub(in crate::advice::learning) mean: [f64; 2],
    pub(in crate::advice::learning) covariance: [f64; 3],
    /// Each run by all the others, with the chance that they give to what was said.
    pub(in crate::advice::learning) foretold: Vec<(Cavity, f64)>,
}

/// Hears a record for one tuner; `prior` is the mean of offset and exponent.
pub(in crate::advice::learning) fn hear(kin: &Kin, runs: &[Spoken], tuner: &Tuner, prior: [f64; 2]) -> Heard {
    let mut sites = Sites::new(kin, runs, tuner, prior);
    let mut settled = runs.is_empty();
    for sweep in 0..MOST_SWEEPS {
        let moved = sites.sweep(if sweep < WHOLE_SWEEPS { 1.0 } else { 0.5 });
        let still = moved < SETTLED;
        if (still || sweep >= CLOSE_SWEEPS) && !sites.refresh() {
            break;
        }
        if still {
            settled = true;
            break;
        }
    }
    let mut heard = sites.finish(prior);
    // A chance above one comes of replacements that never settled: they stand for nothing.
    if !settled || heard.ln_evidence > 1e-6 || !heard.ln_evidence.is_finite() {
        let (own, exponent) = kin.own;
        heard.ln_evidence = f64::NEG_INFINITY;
        (heard.mean, heard.covariance) = (prior, [own, 0.0, exponent]);
    }
    heard
}

struct Sites<'a> {
    kin: &'a Kin,
    tuner: &'a Tuner,
    /// What each run delivers over what its air and the prior's mean ask for.
    rich_by: Vec<f64>,
    runs: &'a [Spoken],
    precision: Vec<f64>,
    pull: Vec<f64>,
    covariance: Square,
    mean: Vec<f64>,
}

impl<'a> Sites<'a> {
    fn new(kin: &'a Kin, runs: &'a [Spoken], tuner: &'a Tuner, prior: [f64; 2]) -> Self {
        Self {
            rich_by: runs.iter().map(|run| run.delivered - prior[0] - prior[1] * run.wanted).collect(),
            precision: vec![0.0; runs.len()],
            pull: vec![0.0; runs.len()],
            covariance: kin.runs.clone(),
            mean: vec![0.0; runs.len()],
            kin,
            tuner,
            runs,
        }
    }

    fn cavity(&self, run: usize) -> Cavity {
        let variance = self.covariance.at(run, run).max(1e-14);
        let precision = (1.0 / variance - self.precision[run]).max(1e-3);
        let pull = self.mean[run] / variance - self.pull[run];
        Cavity { mean: pull / precision, variance: 1.0 / precision }
    }

    fn tilted(&self, run: usize, cavity: Cavity) -> Tilted {
        self.tuner.tilted(self.runs[run].judged, self.rich_by[run] - cavity.mean, cavity.variance)
    }

    /// Replaces every verdict anew, or goes that share of the way, one after the other; by how much the furthest moved.
    fn sweep(&mut self, share: f64) -> f64 {
        let mut furthest: f64 = 0.0;
        for run in 0..self.runs.len() {
            let cavity = self.cavity(run);
            let tilted = self.tilted(run, cavity);
            let slope = tilted.slope / tilted.chance;
            let bend = slope * slope - tilted.bend / tilted.chance;
            let (precision, pull) = if bend > LEAST_PRECISION {
                let bend = bend.min(0.999 / cavity.variance);
                let left = 1.0 - cavity.variance * bend;
                (bend / left, (slope + cavity.mean * bend) / left)
            } else {
                // So far out that it bends the other way, a verdict is most likely a slip by all the others: it says nothing.
                (0.0, 0.0)
            };
            // Verdicts that pull against each other may go to and fro: later sweeps go half the way.
            let precision = self.precision[run] + share * (precision - self.precision[run]);
            let pull = self.pull[run] + share * (pull - self.pull[run]);
            let more = precision - self.precision[run];
            let row = self.covariance.row(run).to_vec();
            let before = self.mean[run];
            let pulled = pull - self.pull[run];
            (self.precision[run], self.pull[run]) = (precision, pull);
            let shrunk = 1.0 + more * row[run];
            if shrunk <= 1e-9 {
                continue;
            }
            // The mean follows the rank-one step of its covariance.
            let step = (pulled - more * before) / shrunk;
            for (mean, entry) in self.mean.iter_mut().zip(&row) {
                *mean += step * entry;
            }
            self.covariance.add_outer(-more / shrunk, &row);
            let sd = self.covariance.at(run, run).max(1e-14).sqrt();
            furthest = furthest.max((self.mean[run] - before).abs() / sd);
        }
        furthest
    }

    /// B = I + sqrt(S) K sqrt(S), factored.
    fn factor(&self) -> Option<(Vec<f64>, Lower)> {
        let roots: Vec<f64> = self.precision.iter().map(|precision| precision.max(0.0).sqrt()).collect();
        let lower = Square::symmetric(roots.len(), |a, b| {
            roots[a] * self.kin.runs.at(a, b) * roots[b] + if a == b { 1.0 } else { 0.0 }
        })
        .cholesky()?;
        Some((roots, lower))
    }

    /// Covariance and mean from the replacements, without what rounding left; false where that cannot be done.
    fn refresh(&mut self) -> bool {
        let Some((roots, lower)) = self.factor() else {
            return false;
        };
        let size = roots.len();
        let halves: Vec<Vec<f64>> = (0..size)
            .map(|column| {
                let scaled: Vec<f64> =
                    roots.iter().zip(self.kin.runs.row(column)).map(|(root, entry)| root * entry).collect();
                lower.forward(&scaled)
            })
            .collect();
        self.covariance =
            Square::symmetric(size, |a, b| self.kin.runs.at(a, b) - dot(&halves[a], &halves[b]));
        self.mean = (0..size).map(|run| dot(self.covariance.row(run), &self.pull)).collect();
        true
    }

    fn finish(&self, prior: [f64; 2]) -> Heard {
        let (own, exponent) = self.kin.own;
        let foretold: Vec<(Cavity, f64)> = (0..self.runs.len())
            .map(|run| {
                let cavity = self.cavity(run);
                (cavity, self.tilted(run, cavity).chance)
            })
            .collect();
        let Some((roots, lower)) = self.factor() else {
            return Heard {
                ln_evidence: f64::NEG_INFINITY,
                mean: prior,
                covariance: [own, 0.0, exponent],
                foretold,
            };
        };
        let through = |with: &[f64]| -> Vec<f64> {
            lower.forward(&roots.iter().zip(with).map(|(root, entry)| root * entry).collect::<Vec<_>>())
        };
        let (offset, power) = (through(&self.kin.with_offset), through(&self.kin.with_exponent));
        // K + 1/S inverted, times the replacements' means.
        let pulled: Vec<f64> =
            (0..self.runs.len()).map(|run| dot(self.kin.runs.row(run), &self.pull)).collect();
        let solved =
            lower.solve(&roots.iter().zip(&pulled).map(|(root, entry)| root * entry).collect::<Vec<_>>());
        let weights: Vec<f64> = self
            .pull
            .iter()
            .zip(roots.iter().zip(&solved))
            .map(|(pull, (root, back))| pull - root * back)
            .collect();
        Heard {
            ln_evidence: self.ln_evidence(&foretold, &lower),
            mean: [
                prior[0] + dot(&self.kin.with_offset, &weights),
                prior[1] + dot(&self.kin.with_exponent, &weights),
            ],
            covariance: [
                (own - dot(&offset, &offset)).max(1e-12),
                -dot(&offset, &power),
                (exponent - dot(&power, &power)).max(1e-12),
            ],
            foretold,
        }
    }

    /// ln of the record's chance (Rasmussen and Williams, equations 3.65 and 3.73 to 3.74).
    fn ln_evidence(&self, foretold: &[(Cavity, f64)], lower: &Lower) -> f64 {
        let mut sum = -lower.ln_diagonal();
        for (run, (cavity, chance)) in foretold.iter().enumerate() {
            let (site, pull) = (self.precision[run], self.pull[run]);
            let others = 1.0 / cavity.variance;
            sum += chance.ln() + 0.5 * (site / others).ln_1p();
            sum += 0.5 * pull * (self.mean[run] - pull / (site + others));
            sum += 0.5 * cavity.mean * others / (site + others) * (site * cavity.mean - 2.0 * pull);
        }
        sum
    }
}
