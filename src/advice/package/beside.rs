//! The packages of several cylinders beside each other: which cylinder stands apart, and in what.

use super::{Asks, Package, PipeStanding};

/// Cylinders whose parts ask for speeds this near to each other are alike, a share: measured again, a port or a squish gap moves its
/// figure by as much (common practice, no source).
const ALIKE: f64 = 0.01;

/// The cylinder that stands apart from the others.
#[derive(Debug, Clone, PartialEq)]
pub struct StandsApart {
    /// Its place among them.
    pub cylinder: usize,
    /// The parts that ask for another speed there, and by how much more than at the others, rpm; the furthest first.
    pub parts: Vec<(&'static str, f64)>,
}

/// The cylinder whose parts ask for other speeds than those of the others; of two the one that agrees less with its own pipe. None
/// where all are alike.
pub fn stands_apart(packages: &[Package]) -> Option<StandsApart> {
    let all = (0..packages.len()).map(|cylinder| StandsApart { cylinder, parts: off(packages, cylinder) });
    let share = |one: &StandsApart| {
        let of = |(part, more): &(&'static str, f64)| {
            let here = speed(&packages[one.cylinder], part)?;
            Some(share_of(here, here - more))
        };
        one.parts.iter().filter_map(of).sum::<f64>()
    };
    let key = |one: &StandsApart| (share(one), disagreement(&packages[one.cylinder]));
    // Of two that differ alike in everything the later one is named: the first is what it is held against.
    let furthest = all.max_by(|a, b| {
        let ((share, from_pipe), (other, others)) = (key(a), key(b));
        if (share - other).abs() > 1e-9 { share.total_cmp(&other) } else { from_pipe.total_cmp(&others) }
    })?;
    (!furthest.parts.is_empty()).then_some(furthest)
}

/// The parts in which a cylinder is off the others.
fn off(packages: &[Package], cylinder: usize) -> Vec<(&'static str, f64)> {
    let own = &packages[cylinder];
    let mut parts: Vec<(&'static str, f64, f64)> = own
        .rows
        .iter()
        .filter_map(|row| {
            let (speed_here, others) = (speed(own, row.part)?, others(packages, cylinder, row.part)?);
            let share = share_of(speed_here, others);
            (share > ALIKE).then_some((row.part, speed_here - others, share))
        })
        .collect();
    parts.sort_by(|a, b| b.2.total_cmp(&a.2));
    parts.into_iter().map(|(part, more, _)| (part, more)).collect()
}

/// By how much two speeds differ, a share of their middle: two cylinders are as far from each other one way as the other.
fn share_of(one: f64, other: f64) -> f64 {
    ((one - other) / f64::midpoint(one, other)).abs()
}

/// The mean of what a part asks for at the others.
#[expect(clippy::cast_precision_loss, reason = "six cylinders at most")]
fn others(packages: &[Package], cylinder: usize, part: &str) -> Option<f64> {
    let others = packages.iter().enumerate().filter(|(at, _)| *at != cylinder);
    let speeds: Vec<f64> = others.filter_map(|(_, package)| speed(package, part)).collect();
    (!speeds.is_empty()).then(|| speeds.iter().sum::<f64>() / speeds.len() as f64)
}

/// What a part asks for, rpm; of a span its middle.
fn speed(package: &Package, part: &str) -> Option<f64> {
    match package.rows.iter().find(|row| row.part == part)?.asks {
        Ok(Asks::Speed(speed)) => Some(speed),
        Ok(Asks::Span(from, to)) => Some(f64::midpoint(from, to)),
        Err(_) => None,
    }
}

/// By how much the parts of a cylinder lie off its pipe, rpm together.
fn disagreement(package: &Package) -> f64 {
    let off = |standing: PipeStanding| match standing {
        PipeStanding::Above(distance) | PipeStanding::Below(distance) => distance,
        PipeStanding::Pipe | PipeStanding::Agrees => 0.0,
    };
    package.rows.iter().filter_map(|row| row.standing).map(off).sum()
}

#[cfg(test)]
mod tests {
    use super::stands_apart;
    use crate::advice::figures::Gap;
    use crate::advice::package::{Asks, Package, PartOnAxis, PipeStanding};

    fn of(speeds: &[(&'static str, f64)]) -> Package {
        let row = |(part, speed): &(&'static str, f64)| PartOnAxis {
            part,
            asks: Ok(Asks::Speed(*speed)),
            place: None,
            standing: Some(PipeStanding::Below((11_000.0 - speed).max(0.0))),
            assumption: String::new(),
            velocities: None,
            source: String::new(),
        };
        Package {
            pipe: Err(Gap::needs("pipe.length")),
            rows: speeds.iter().map(row).collect(),
            agreement_known: true,
        }
    }

    #[test]
    fn one_of_three_that_differs_is_named_with_what_differs_most() {
        let usual = || of(&[("transfers", 12_000.0), ("squish", 11_000.0)]);
        let other = of(&[("transfers", 12_300.0), ("squish", 10_000.0)]);
        let found = stands_apart(&[usual(), other, usual()]).unwrap();
        assert_eq!(found.cylinder, 1);
        assert_eq!(found.parts, [("squish", -1000.0), ("transfers", 300.0)]);
    }

    #[test]
    fn of_two_the_one_that_agrees_less_with_its_pipe_stands_apart() {
        let (good, short) = (of(&[("transfers", 11_000.0)]), of(&[("transfers", 10_500.0)]));
        assert_eq!(stands_apart(&[short.clone(), good.clone()]).unwrap().cylinder, 0);
        assert_eq!(stands_apart(&[good, short]).unwrap().cylinder, 1);
        // Where both agree the first is what the other is held against.
        let (low, high) = (of(&[("transfers", 11_500.0)]), of(&[("transfers", 12_000.0)]));
        assert_eq!(stands_apart(&[low.clone(), high.clone()]).unwrap().cylinder, 1);
        assert_eq!(stands_apart(&[high, low]).unwrap().cylinder, 1);
    }

    #[test]
    fn cylinders_within_a_percent_are_alike() {
        assert_eq!(stands_apart(&[of(&[("transfers", 11_000.0)]), of(&[("transfers", 11_100.0)])]), None);
        assert_eq!(stands_apart(&[of(&[("transfers", 11_000.0)]), of(&[])]), None);
    }
}
