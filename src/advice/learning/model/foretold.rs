//! A run as the others of its record foretell it: before it came, or as if it had not.

use super::posterior::Chances;
use super::verdicts::Judged;

/// A run as the others foretold it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForetoldRun {
    /// The chance of each verdict, from lean to rich.
    chances: [f64; Judged::ALL.len()],
}

impl ForetoldRun {
    /// From the chance of each verdict, which sum to 1.
    pub(in crate::advice::learning) fn new(chances: [f64; Judged::ALL.len()]) -> Self {
        Self { chances }
    }

    /// The chances of lean, right and rich.
    pub fn chances(&self) -> Chances {
        let [lean, slightly_lean, right, slightly_rich, rich] = self.chances;
        Chances { lean: lean + slightly_lean, right, rich: slightly_rich + rich }
    }

    /// The chance of a verdict, or of one that is further out on its side.
    pub fn as_far_out(&self, judged: Judged) -> f64 {
        let [lean, slightly_lean, right, slightly_rich, rich] = self.chances;
        match judged {
            Judged::Lean => lean,
            Judged::SlightlyLean => lean + slightly_lean,
            Judged::Right => right,
            Judged::SlightlyRich => slightly_rich + rich,
            Judged::Rich => rich,
        }
    }

    /// The chance of lean, of right or of rich, whichever came.
    pub fn given(&self, judged: Judged) -> f64 {
        let chances = self.chances();
        match judged {
            Judged::Lean | Judged::SlightlyLean => chances.lean,
            Judged::Right => chances.right,
            Judged::SlightlyRich | Judged::Rich => chances.rich,
        }
    }
}
