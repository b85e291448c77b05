//! The posterior as natures of bike and tuner with their shares.
//!
//! The lattice's nodes are laid over the posterior by its mean and covariance. Those come from its hills'
//! tops first, then from rough grids until they stand still: the posterior of a one-sided record is far from
//! a normal distribution.

use super::lattice::{coarse_nodes, nodes, rough_nodes};
use super::matrix::{Matrix, Vector, cholesky, identity, product, scaled};
use super::mode::Target;
use super::normal::Normal;
use super::share::shared_out;
use super::verdicts::{Nature, PARAMETERS, Record};

/// Rough grids at most; two are usual.
const MOST_ROUGH_GRIDS: usize = 5;

/// How much wider than the hills the first grid looks.
const WIDER_AT_FIRST: f64 = 1.5;

/// How much wider than the last grid's the next looks: a grid cuts the tails that it measures.
const WIDER: f64 = 1.1;

/// Two grids agree when the logarithms of their volumes do to this.
const SAME_VOLUME: f64 = 0.3;

/// Fewer nodes than this are not worth a thread.
const WORTH_SHARING: usize = 4000;

/// Points below this share of the greatest are left out.
const NEGLIGIBLE: f64 = 1e-6;

/// How dense the last grid is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fineness {
    /// Dense enough for chances to 0.001.
    Fine,
    /// Of far fewer nodes: chances to about 0.01.
    Coarse,
}

/// A nature and its share of the posterior.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point {
    pub(super) nature: Nature,
    pub(super) share: f64,
}

/// Mean and covariance of the posterior, in standard deviations of the prior.
struct Whereabouts {
    mean: Vector,
    covariance: Matrix,
}

impl Whereabouts {
    fn factor(&self) -> Matrix {
        cholesky(&self.covariance).unwrap_or_else(identity)
    }

    fn ln_volume(&self) -> f64 {
        let factor = self.factor();
        (0..PARAMETERS).map(|k| factor[k][k].ln()).sum()
    }

    fn wider(&self, by: f64) -> Self {
        Self { mean: self.mean, covariance: scaled(&self.covariance, by * by) }
    }

    /// The nodes laid over it, each with its share; negligible ones left out.
    fn lay(&self, target: &Target<'_>, nodes: &[Vector]) -> Vec<(Vector, f64)> {
        let (normal, factor) = (Normal::table(), self.factor());
        let mut places: Vec<(Vector, f64)> = shared_out(nodes, WORTH_SHARING, |node| {
            let aside = product(&factor, node);
            let place = std::array::from_fn(|k| self.mean[k] + aside[k]);
            (place, target.log(normal, &place))
        });
        let highest = places.iter().map(|(_, log)| *log).fold(f64::NEG_INFINITY, f64::max);
        let least = highest + NEGLIGIBLE.ln();
        places.retain(|(_, log)| *log >= least);
        for (_, share) in &mut places {
            *share = (*share - highest).exp();
        }
        let sum: f64 = places.iter().map(|(_, share)| share).sum();
        for (_, share) in &mut places {
            *share /= sum;
        }
        places
    }

    fn of(places: &[(Vector, f64)]) -> Self {
        let mean = std::array::from_fn(|k| places.iter().map(|(place, share)| share * place[k]).sum());
        let mut covariance = [[0.0; PARAMETERS]; PARAMETERS];
        for (place, share) in places {
            let aside: Vector = std::array::from_fn(|k| place[k] - mean[k]);
            for (row, a) in covariance.iter_mut().zip(aside) {
                for (entry, b) in row.iter_mut().zip(aside) {
                    *entry += share * a * b;
                }
            }
        }
        Self { mean, covariance }
    }
}

/// The posterior of a record, under a prior with these means and standard deviations.
pub(super) fn grid(record: &Record, means: Vector, sds: Vector, fineness: Fineness) -> Vec<Point> {
    let target = Target { record, means, sds };
    let counted = record.counted();
    let (mean, covariance) = target.hills(Normal::table());
    let mut at = Whereabouts { mean, covariance };
    let mut wider = WIDER_AT_FIRST;
    for round in 0..MOST_ROUGH_GRIDS {
        let next = Whereabouts::of(&at.wider(wider).lay(&target, rough_nodes(counted)));
        let same = (next.ln_volume() - at.ln_volume()).abs() < SAME_VOLUME;
        at = next;
        wider = WIDER;
        if same && round > 0 {
            break;
        }
    }
    let nodes = match fineness {
        Fineness::Fine => nodes(counted),
        Fineness::Coarse => coarse_nodes(),
    };
    at.lay(&target, nodes)
        .into_iter()
        .map(|(place, share)| Point { nature: target.nature(&place), share })
        .collect()
}
