//! Where the grid of the posterior has its nodes.
//!
//! A body-centred lattice in five dimensions (for the smooth functions met here it does with a third of the
//! nodes of a cubic one; Conway and Sloane, "Sphere Packings, Lattices and Groups", from memory), turned by
//! the matrix 2/sqrt(11) sin(2 pi jk/11), j and k from 1 to 5. It is orthogonal, and no two nodes share a
//! coordinate (the lattices of Frolov's cubature, 1976, from memory), so that an edge along any axis is met
//! by every node in another place.

use std::f64::consts::TAU;
use std::sync::LazyLock;

use super::matrix::{Matrix, Vector, cholesky, product, times_own_transpose};
use super::verdicts::PARAMETERS;

/// Nodes in standard deviations, within a ball about nought.
pub(super) type Nodes = Vec<Vector>;

/// How the nodes of one level lie.
struct Spacing {
    /// Edge of the lattice's cube, standard deviations.
    edge: f64,
    /// What each axis has of it. The last is the centre given all else: the narrow one, across which a
    /// verdict cuts.
    axes: Vector,
    /// Radius of the ball, standard deviations.
    radius: f64,
}

// The spacings were chosen on records of each length against lattices thirty times as dense: chances mostly
// within 0.001.
static FEW: LazyLock<Nodes> =
    LazyLock::new(|| Spacing { edge: 1.3, axes: [1.0, 1.0, 1.3, 0.75, 0.25], radius: 5.8 }.nodes());
static SOME: LazyLock<Nodes> =
    LazyLock::new(|| Spacing { edge: 1.3, axes: [1.0, 1.0, 1.0, 0.8, 0.35], radius: 5.8 }.nodes());
static MORE: LazyLock<Nodes> =
    LazyLock::new(|| Spacing { edge: 1.35, axes: [1.0, 1.0, 1.0, 0.8, 0.5], radius: 5.5 }.nodes());
static MANY: LazyLock<Nodes> =
    LazyLock::new(|| Spacing { edge: 1.45, axes: [1.0, 1.0, 1.0, 0.9, 0.8], radius: 5.5 }.nodes());
static HUNDREDS: LazyLock<Nodes> =
    LazyLock::new(|| Spacing { edge: 1.7, axes: [1.0; 5], radius: 5.0 }.nodes());
static COARSE: LazyLock<Nodes> =
    LazyLock::new(|| Spacing { edge: 1.5, axes: [1.0, 1.0, 1.0, 0.8, 0.5], radius: 4.8 }.nodes());
static ROUGH: LazyLock<Nodes> = LazyLock::new(|| Spacing { edge: 1.8, axes: [1.0; 5], radius: 5.0 }.nodes());
static ROUGH_FOR_MANY: LazyLock<Nodes> =
    LazyLock::new(|| Spacing { edge: 2.0, axes: [1.0; 5], radius: 4.5 }.nodes());

/// The nodes for a record that counts as so many full verdicts: fewer verdicts leave a wider posterior with
/// sharper edges.
pub(super) fn nodes(verdicts: f64) -> &'static Nodes {
    match verdicts {
        few if few <= 6.0 => &FEW,
        some if some <= 9.0 => &SOME,
        more if more <= 30.0 => &MORE,
        many if many <= 200.0 => &MANY,
        _ => &HUNDREDS,
    }
}

/// A grid whose chances are good to one or two in a hundred.
pub(super) fn coarse_nodes() -> &'static Nodes {
    &COARSE
}

/// Fewer nodes, for finding where the posterior lies.
pub(super) fn rough_nodes(verdicts: f64) -> &'static Nodes {
    if verdicts <= 12.0 { &ROUGH } else { &ROUGH_FOR_MANY }
}

impl Spacing {
    fn nodes(&self) -> Nodes {
        let turned = self.basis();
        // The triangle T with |basis n| = |Tt n| lets the ball be walked without trying what lies outside it.
        let Some(triangle) = cholesky(&times_own_transpose(&transpose(&turned))) else {
            return Vec::new();
        };
        let mut nodes = Vec::new();
        for offset in [0.0, 0.5] {
            let mut walk = Walk { triangle: &triangle, offset, found: Vec::new() };
            walk.down(PARAMETERS, [0.0; PARAMETERS], self.radius.powi(2));
            nodes.extend(walk.found.iter().map(|steps| product(&turned, steps)));
        }
        nodes
    }

    #[allow(clippy::cast_precision_loss, reason = "indices below 11")]
    fn basis(&self) -> Matrix {
        std::array::from_fn(|j| {
            std::array::from_fn(|k| {
                let turn = TAU * ((j + 1) * (k + 1)) as f64 / 11.0;
                self.edge * self.axes[j] * turn.sin() * 2.0 / 11.0_f64.sqrt()
            })
        })
    }
}

fn transpose(matrix: &Matrix) -> Matrix {
    std::array::from_fn(|row| std::array::from_fn(|column| matrix[column][row]))
}

/// A walk through all whole steps, or all half steps, whose node lies in the ball (Fincke and Pohst 1985,
/// from memory).
struct Walk<'a> {
    triangle: &'a Matrix,
    offset: f64,
    found: Vec<Vector>,
}

impl Walk<'_> {
    /// Sets the steps of the axes below `axis`, with the squared radius that those above have left.
    fn down(&mut self, axis: usize, steps: Vector, left: f64) {
        let Some(axis) = axis.checked_sub(1) else {
            self.found.push(steps);
            return;
        };
        let along = self.triangle[axis][axis];
        let aside: f64 = (axis + 1..PARAMETERS).map(|other| self.triangle[other][axis] * steps[other]).sum();
        let mut step = ((-left.sqrt() - aside) / along - self.offset).ceil() + self.offset;
        while aside + along * step <= left.sqrt() {
            let mut next = steps;
            next[axis] = step;
            self.down(axis, next, (left - (aside + along * step).powi(2)).max(0.0));
            step += 1.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advice::learning::matrix::dot;

    #[test]
    fn the_nodes_fill_their_ball_evenly() {
        for (nodes, radius) in [(&*FEW, 5.8_f64), (&*MANY, 5.5), (&*HUNDREDS, 5.0), (&*ROUGH, 5.0)] {
            let mut moment = 0.0;
            let mut share = 0.0;
            for node in nodes {
                assert!(dot(node, node) <= radius.powi(2) * (1.0 + 1e-12));
                let density = (-0.5 * dot(node, node)).exp();
                share += density;
                moment += density * node[0] * node[0];
            }
            assert!((moment / share - 1.0).abs() < 3e-3, "{}", moment / share);
        }
    }

    #[test]
    fn there_are_as_many_nodes_as_the_ball_has_cells() {
        let axes = [1.0, 1.0, 1.0, 0.8, 0.5];
        let found = Spacing { edge: 1.4, axes, radius: 5.5 }.nodes().len();
        // The volume of a ball in five dimensions; a body-centred cell is half its box.
        let volume = 8.0 / 15.0 * std::f64::consts::PI.powi(2) * 5.5_f64.powi(5);
        let cell = 1.4_f64.powi(5) * axes.iter().product::<f64>() / 2.0;
        #[allow(clippy::cast_precision_loss, reason = "some thousands")]
        let ratio = found as f64 / (volume / cell);
        assert!((ratio - 1.0).abs() < 0.01, "{ratio}");
    }

    #[test]
    fn no_two_nodes_share_a_coordinate() {
        for axis in 0..PARAMETERS {
            let mut along: Vec<f64> = MANY.iter().map(|node| node[axis]).collect();
            along.sort_by(f64::total_cmp);
            assert!(along.windows(2).all(|pair| pair[1] - pair[0] > 1e-7));
        }
    }
}
