//! A cylinder that goes another way than its neighbours over several runs: lean again and again where they were right, or wanting
//! more fuel beside them than it did. The air, the fuel in the tank and the day are the same at all of them, so that what is left is
//! the cylinder's own.

use crate::advice::held::Tables;
use crate::advice::learning::{as_judged, other_parts, short_of};
use crate::advice::rejet::delivered_at;
use crate::notebook::fields::names::visible;
use crate::notebook::{Combination, Mixture, Outing, When};
use crate::quantity::fixed;
use crate::store::{Book, StoreError};

/// The throttle at which an engine seizes.
const ZONE: &str = "full";

/// Of so many newest runs that judged a cylinder and another, it is lean again and again from so many on (common practice, no source).
const NEWEST: usize = 4;
const AGAIN: usize = 2;

/// Runs on either side of a drift: fewer show none.
const BESIDE: usize = 2;

/// A drift is told from this many standard deviations on, and from as much fuel on as lies between two jets, ln fuel (common
/// practice, no source).
const DEVIATIONS: f64 = 2.0;
const ONE_JET: f64 = 0.015;

/// What is looked for at a cylinder by itself (common practice, no source).
const LOOK_FOR: &str = "look there for a leak (crank seal, base gasket, intake flange), a blocked jet and the float before it is jetted";

/// One run of several cylinders.
#[derive(Debug, Clone)]
struct Both {
    date: When,
    /// What each was judged, in their order.
    judged: Vec<Option<Mixture>>,
    /// What each wanted by its verdict over what the first was given, ln fuel: mean and variance.
    wanted: Vec<Option<(f64, f64)>>,
}

/// What is to be pointed out of a bike's cylinders before any of them is jetted, a sentence of each by its name; nothing of a bike with one.
pub fn over_runs(
    book: &Book<'_>,
    bike: &str,
    tables: &Tables<'_>,
) -> Result<Vec<(String, String)>, StoreError> {
    let book = book.of_all();
    let now = book.combination(bike, None)?;
    let names = now.fields.cylinders();
    if names.len() < 2 {
        return Ok(Vec::new());
    }
    let mut runs = book.outings(bike)?;
    // What was found and mended explains what came before it.
    let mended = runs.iter().rposition(|record| record.outing.is_closed()).map_or(0, |place| place + 1);
    runs.drain(..mended);
    let setups = book.setups(bike)?;
    let mut read: Vec<(u32, Combination)> = Vec::new();
    let mut all = Vec::new();
    for record in runs {
        let Some(setup) = setups.iter().find(|setup| Some(setup.number) == record.setup) else { continue };
        if read.iter().all(|(number, _)| *number != setup.number) {
            read.push((setup.number, book.combination(bike, Some(setup))?));
        }
        let ran = read.iter().find(|(number, _)| *number == setup.number);
        all.extend(ran.map(|(_, ran)| both(&names, &record.outing, (ran, &now), tables)));
    }
    let of_one = |(at, name): (usize, &String)| Some((name.clone(), said(name, at, &all)?));
    Ok(names.iter().enumerate().filter_map(of_one).collect())
}

/// What is to be said of one cylinder.
fn said(name: &str, cylinder: usize, runs: &[Both]) -> Option<String> {
    let name = visible(name);
    if let Some((lean, of)) = again(cylinder, runs) {
        return Some(format!(
            "The cylinder {name} was lean in {lean} of the last {of} runs while another was not: {LOOK_FOR}."
        ));
    }
    let (more, since) = drift(cylinder, runs)?;
    let others = if runs.iter().any(|run| run.judged.len() > 2) { "the others" } else { "the other" };
    Some(format!(
        "Since {} the cylinder {name} wants {} % more fuel beside {others} than it did before: {LOOK_FOR}.",
        since.day(),
        fixed(100.0 * more.exp_m1(), 1)
    ))
}

/// In how many of the newest runs a cylinder was lean where another was not, the last of them among these.
fn again(cylinder: usize, runs: &[Both]) -> Option<(usize, usize)> {
    let known = runs.iter().rev().filter(|run| {
        let other = |(at, judged): (usize, &Option<Mixture>)| at != cylinder && judged.is_some();
        run.judged[cylinder].is_some() && run.judged.iter().enumerate().any(other)
    });
    let alone: Vec<bool> = known.take(NEWEST).map(|run| run.lean_alone(cylinder)).collect();
    let lean = alone.iter().filter(|alone| **alone).count();
    (lean >= AGAIN && alone.first() == Some(&true)).then_some((lean, alone.len()))
}

/// By how much more a cylinder wants beside the others in the newest runs than in those before, ln fuel, and since when; none where
/// that is within the doubt.
fn drift(cylinder: usize, runs: &[Both]) -> Option<(f64, When)> {
    let known: Vec<(&Both, (f64, f64))> =
        runs.iter().filter_map(|run| Some((run, run.beside(cylinder)?))).collect();
    let newest = (known.len() / 2).min(NEWEST);
    let (before, since) = known.split_at(known.len() - newest);
    if before.len() < BESIDE || since.len() < BESIDE || !felt(cylinder, before, since) {
        return None;
    }
    let beside = |of: &[(&Both, (f64, f64))]| mean(&of.iter().map(|(_, beside)| *beside).collect::<Vec<_>>());
    let ((was, doubt), (is, doubt_now)) = (beside(before), beside(since));
    let more = is - was;
    (more >= ONE_JET && more >= DEVIATIONS * (doubt + doubt_now).sqrt()).then_some((more, since[0].0.date))
}

/// Whether a drift is more than words of right and rich: the cylinder was lean since, or was given more.
fn felt(cylinder: usize, before: &[(&Both, (f64, f64))], since: &[(&Both, (f64, f64))]) -> bool {
    let lean =
        since.iter().any(|(run, _)| run.judged[cylinder].is_some_and(|judged| judged < Mixture::Right));
    let given = |of: &[(&Both, (f64, f64))]| {
        let each: Vec<(f64, f64)> =
            of.iter().filter_map(|(run, _)| Some((run.given_beside(cylinder)?, 0.0))).collect();
        mean(&each).0
    };
    lean || given(since) - given(before) >= ONE_JET
}

/// Mean, and variance of the mean.
#[expect(clippy::cast_precision_loss, reason = "runs of a season")]
fn mean(of: &[(f64, f64)]) -> (f64, f64) {
    let count = of.len() as f64;
    let sum = |part: fn(&(f64, f64)) -> f64| of.iter().map(part).sum::<f64>();
    (sum(|one| one.0) / count, sum(|one| one.1) / count.powi(2))
}

impl Both {
    fn lean_alone(&self, cylinder: usize) -> bool {
        let is_lean = |judged: &Option<Mixture>| judged.is_some_and(|judged| judged < Mixture::Right);
        let is_not = |judged: &Option<Mixture>| judged.is_some_and(|judged| judged >= Mixture::Right);
        is_lean(&self.judged[cylinder]) && self.judged.iter().any(is_not)
    }

    /// What a cylinder wanted over the mean of the others, with its variance.
    fn beside(&self, cylinder: usize) -> Option<(f64, f64)> {
        Self::over_the_others(&self.wanted, cylinder)
    }

    /// What a cylinder was given over the mean of the others, ln fuel.
    fn given_beside(&self, cylinder: usize) -> Option<f64> {
        let given = self.wanted.iter().zip(&self.judged).map(|(wanted, judged)| {
            let short = short_of(as_judged((*judged)?)).0;
            wanted.map(|(wanted, _)| (wanted - short, 0.0))
        });
        Some(Self::over_the_others(&given.collect::<Vec<_>>(), cylinder)?.0)
    }

    #[expect(clippy::cast_precision_loss, reason = "six cylinders at most")]
    fn over_the_others(each: &[Option<(f64, f64)>], cylinder: usize) -> Option<(f64, f64)> {
        let own = each[cylinder]?;
        let others = each.iter().enumerate().filter(|(at, _)| *at != cylinder);
        let others: Vec<(f64, f64)> = others.filter_map(|(_, one)| *one).collect();
        let count = others.len() as f64;
        if others.is_empty() {
            return None;
        }
        let mean = others.iter().map(|other| other.0).sum::<f64>() / count;
        let variance = others.iter().map(|other| other.1).sum::<f64>() / count.powi(2);
        Some((own.0 - mean, own.1 + variance))
    }
}

/// What a run says of each cylinder. One that has other parts now than it had then says nothing of what it is.
fn both(
    names: &[String],
    outing: &Outing,
    (ran, now): (&Combination, &Combination),
    tables: &Tables<'_>,
) -> Both {
    let at = |name: &String| (outing.for_cylinder(name), ran.for_cylinder(name));
    let each: Vec<(Outing, Combination)> = names.iter().map(at).collect();
    let judged: Vec<Option<Mixture>> =
        each.iter().map(|(outing, _)| outing.verdict.as_ref().and_then(|verdict| verdict.full)).collect();
    let wanted = names.iter().zip(&each).zip(&judged).map(|((name, (_, ran)), judged)| {
        let same_parts = other_parts(&ran.fields, &now.for_cylinder(name).fields).is_empty();
        let (first, setup) = (each.first()?.1.setup.as_ref()?, ran.setup.as_ref()?);
        let given = delivered_at(first, setup, tables.jets, tables.needles, tables.shares);
        let given = given.into_iter().find(|(zone, _)| *zone == ZONE)?.1.ok()?;
        let (short, variance) = short_of(as_judged((*judged)?));
        same_parts.then_some((given.ln() + short, variance))
    });
    Both { date: outing.date, wanted: wanted.collect(), judged }
}

#[cfg(test)]
mod tests {
    use super::{Both, again, as_judged, drift, short_of};
    use crate::notebook::Mixture::{self, Lean, Right, SlightlyLean, SlightlyRich};
    use crate::notebook::When;

    /// What a cylinder was given over the first, and what was said.
    type Ran = (f64, Mixture);

    /// Runs on successive days: what each cylinder was given over the first, and what was said.
    fn runs(of: &[(Ran, Ran)]) -> Vec<Both> {
        let run = |(day, (left, right)): (i64, &(Ran, Ran))| Both {
            date: When::from_unix(1_780_000_000 + 86_400 * day, 0).unwrap(),
            judged: vec![Some(left.1), Some(right.1)],
            wanted: [left, right]
                .map(|(given, judged)| {
                    let (more, variance) = short_of(as_judged(*judged));
                    Some((given + more, variance))
                })
                .to_vec(),
        };
        (0..).zip(of).map(run).collect()
    }

    #[test]
    fn lean_twice_while_the_other_was_right_is_again() {
        let fair = ((0.0, Right), (0.0, Right));
        let leans = ((0.0, Right), (0.0, SlightlyLean));
        assert_eq!(again(1, &runs(&[fair, leans, fair, leans])), Some((2, 4)));
        assert_eq!(again(0, &runs(&[fair, leans, fair, leans])), None);
        // Once is the other rule's, and what was right since is over.
        assert_eq!(again(1, &runs(&[fair, leans])), None);
        assert_eq!(again(1, &runs(&[leans, leans, fair])), None);
        // Both lean is the jetting.
        let both = ((0.0, Lean), (0.0, Lean));
        assert_eq!(again(1, &runs(&[both, both])), None);
    }

    #[test]
    fn a_cylinder_that_is_fed_more_and_more_drifts() {
        let fair = ((0.0, Right), (0.02, Right));
        let fed = ((0.0, Right), (0.08, Right));
        let steady = runs(&[fair, fair, fair, fair, fair, fair]);
        assert_eq!(drift(1, &steady), None);
        let found = drift(1, &runs(&[fair, fair, fair, fed, fed, fed])).unwrap();
        assert!((found.0 - 0.06).abs() < 1e-9);
        // The neighbour wants no more: beside this one it wants less.
        assert_eq!(drift(0, &runs(&[fair, fair, fair, fed, fed, fed])), None);
        // Within the doubt, and of too few runs, nothing is said.
        let hardly = ((0.0, Right), (0.03, Right));
        assert_eq!(drift(1, &runs(&[fair, fair, fair, hardly, hardly, hardly])), None);
        assert_eq!(drift(1, &runs(&[fair, fed, fed])), None);
        // Rich and then right on the same jets is no leak: nothing was lean, and nothing was given.
        let rich = ((0.0, Right), (0.0, Mixture::Rich));
        let right = ((0.0, SlightlyRich), (0.0, Right));
        assert_eq!(drift(1, &runs(&[rich, rich, rich, right, right, right])), None);
        let lean = ((0.0, SlightlyRich), (0.0, SlightlyLean));
        assert!(drift(1, &runs(&[rich, rich, rich, lean, right, right])).is_some());
    }
}
