//! Whether the tuner's proven mark still stands beside what the setup's own runs say.

use crate::air::SAME_AIR;
use crate::notebook::Mixture;

/// A run of the marked setup.
#[derive(Debug, Clone, Copy)]
pub struct MarkedRun {
    /// How it ran at full throttle, where that was judged.
    pub full: Option<Mixture>,
    /// Whether its notes say that it seized or pinged.
    pub signed: bool,
    /// Fuel that its air wanted over what the mark's air wanted; none where an air is not known or is doubted.
    pub factor: Option<f64>,
    /// Whether its cause was found and mended.
    pub closed: bool,
}

/// Whether a mark stands beside the runs of its setup, oldest first (common practice, no source). It falls with a seizure or pinging,
/// and with a run that was lean at full throttle in its air, a thinner one or one that is not known. A lean run in denser air says that
/// the air was denser, another throttle says nothing of the main jet, and a closed cause nothing at all. A later run that was right
/// or rich in the mark's air or a denser one sets it up again.
pub fn mark_stands(runs: &[MarkedRun]) -> bool {
    let mut stands = true;
    for run in runs.iter().filter(|run| !run.closed) {
        let denser = run.factor.is_some_and(|factor| factor > 1.0 + SAME_AIR);
        let as_dense = run.factor.is_some_and(|factor| factor >= 1.0 - SAME_AIR);
        match run.full {
            _ if run.signed => stands = false,
            Some(Mixture::Lean | Mixture::SlightlyLean) if !denser => stands = false,
            Some(Mixture::Right | Mixture::SlightlyRich | Mixture::Rich) if as_dense => stands = true,
            _ => {}
        }
    }
    stands
}

#[cfg(test)]
mod tests {
    use super::{MarkedRun, mark_stands};
    use crate::notebook::Mixture;

    fn run(full: Mixture, factor: f64) -> MarkedRun {
        MarkedRun { full: Some(full), signed: false, factor: Some(factor), closed: false }
    }

    #[test]
    fn a_mark_falls_with_what_speaks_of_it_and_with_nothing_else() {
        let lean = run(Mixture::SlightlyLean, 1.0);
        assert!(mark_stands(&[]));
        assert!(!mark_stands(&[lean]) && !mark_stands(&[run(Mixture::Lean, 0.95)]));
        assert!(mark_stands(&[run(Mixture::SlightlyLean, 1.03)]), "denser air");
        assert!(mark_stands(&[MarkedRun { full: None, ..lean }]), "another throttle");
        assert!(mark_stands(&[MarkedRun { closed: true, ..lean }]), "closed");
        assert!(!mark_stands(&[MarkedRun { factor: None, ..lean }]), "an air that nobody knows");
        let signed = MarkedRun { signed: true, ..run(Mixture::Right, 1.05) };
        assert!(!mark_stands(&[signed]), "a seizure");
        assert!(mark_stands(&[lean, run(Mixture::Right, 1.01)]), "right again");
        assert!(!mark_stands(&[lean, run(Mixture::Right, 0.95)]), "right in thin air");
        assert!(!mark_stands(&[run(Mixture::Right, 1.0), lean]), "lean last");
    }
}
