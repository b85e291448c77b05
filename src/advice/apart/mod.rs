//! A cylinder that ran leaner than its neighbour in one and the same run: what is looked for before it is jetted.

mod over_runs;

pub use over_runs::over_runs;

use super::learning::lean_sign;
use crate::notebook::{Mixture, Outing, Verdict};

/// A cylinder that was lean where another one was not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Apart {
    /// Its name.
    pub name: String,
    /// The throttle zone, as documents call it.
    pub zone: &'static str,
    /// The sentence.
    pub sentence: String,
}

/// The cylinders of a run that were lean where another one was right or rich, with what to look for (common practice, no source).
pub fn apart(outing: &Outing) -> Vec<Apart> {
    if outing.is_closed() {
        return Vec::new();
    }
    let each = outing.at_each_cylinder();
    let judged = |outing: &Outing| outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
    let own = each.iter().filter_map(|(name, outing)| Some(((*name)?, outing, judged(outing))));
    let mut found = Vec::new();
    for (name, outing, zones) in own {
        let lean = zones.into_iter().rev().find(|(zone, mixture)| {
            let other = |(other, outing): &(Option<&str>, Outing)| {
                *other != Some(name)
                    && judged(outing).iter().any(|(at, there)| at == zone && *there >= Mixture::Right)
            };
            *mixture == Mixture::Lean && each.iter().any(other)
        });
        let Some((zone, _)) = lean else { continue };
        let seized = lean_sign(outing).is_some_and(|sign| sign.is_seizure());
        let was = if seized {
            "seized and another did not: find out why before the engine is started again. Look"
        } else {
            "was lean where another was not: look"
        };
        let sentence = format!(
            "The cylinder {name} {was} there for a leak (crank seal, base gasket, intake flange), a blocked jet and the float before it is jetted."
        );
        found.push(Apart { name: name.to_owned(), zone, sentence });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::apart;
    use crate::notebook::Outing;

    fn of(verdicts: &str) -> Vec<(String, &'static str)> {
        let outing: Outing = toml::from_str(&format!("date = \"2026-05-16\"\n{verdicts}")).unwrap();
        apart(&outing).into_iter().map(|one| (one.name, one.zone)).collect()
    }

    #[test]
    fn only_a_cylinder_that_was_lean_alone_stands_apart() {
        let right = |zone: &str, mixture: &str| format!("[cylinder.right.verdict]\n{zone} = \"{mixture}\"\n");
        let left = |mixture: &str| format!("[cylinder.left.verdict]\nfull = \"{mixture}\"\n");
        let found = vec![("right".to_owned(), "full")];
        assert_eq!(of(&(right("full", "lean") + &left("right"))), found);
        assert_eq!(of(&format!("[verdict]\nfull = \"rich\"\n{}", right("full", "lean"))), found);
        assert!(of(&(right("full", "lean") + &left("lean"))).is_empty());
        assert!(of(&(right("half", "lean") + &left("right"))).is_empty());
        assert!(of("[verdict]\nfull = \"lean\"\n").is_empty());
        let closed = "cause = \"the right crank seal leaked\"\nmended = \"new seals\"\n";
        assert!(of(&format!("{closed}{}{}", right("full", "lean"), left("right"))).is_empty());
    }
}
