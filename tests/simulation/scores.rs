//! What advisers come to: shares of lean and rich days, what was foretold and what happened, the loss; and a table of it.
//!
//! A bike's days hang together, so standard errors are taken over bikes. Two advisers are compared bike by bike: most of
//! what differs between bikes is the same for both.

use super::Family;
use super::advisers::{CONTENDERS, Contender};
use super::season::{Run, Season};
use super::truth::{DANGEROUSLY_LEAN, PHYSICALLY_RIGHT};

#[path = "riding.rs"]
mod riding;

/// A lean run costs an engine, a rich one half a second: it counts so many times as much (common practice, no source).
const LEAN_COSTS: f64 = 5.0;

/// How many seasons, and how long.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Extent {
    /// Bikes of a family.
    pub(crate) bikes: u64,
    /// Race days of a season.
    pub(crate) days: usize,
    /// The first seed; the bikes have it and those that follow.
    pub(crate) first_seed: u64,
}

impl Extent {
    /// What `SEASONS_BIKES`, `SEASONS_DAYS` and `SEASONS_SEED` ask for; otherwise so many bikes, 14 days, the first seed 1.
    pub(crate) fn asked(bikes: u64) -> Self {
        let number = |name: &str, usual: u64| {
            std::env::var(name).map_or(usual, |typed| typed.parse().expect("a whole number"))
        };
        Self {
            bikes: number("SEASONS_BIKES", bikes),
            days: usize::try_from(number("SEASONS_DAYS", 14)).expect("some days"),
            first_seed: number("SEASONS_SEED", 1),
        }
    }
}

/// The families that `SEASONS_FAMILIES` asks for, by parts of their names divided by commas; otherwise all.
pub(crate) fn asked_families() -> Vec<Family> {
    let asked = std::env::var("SEASONS_FAMILIES").unwrap_or_default();
    let is_asked = |family: &Family| asked.split(',').any(|part| family.words().contains(part.trim()));
    Family::ALL.into_iter().filter(is_asked).collect()
}

/// A mean over bikes with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Mean {
    /// The mean.
    pub(crate) value: f64,
    /// Its standard error.
    pub(crate) error: f64,
}

impl Mean {
    #[allow(clippy::cast_precision_loss, reason = "counts of bikes")]
    fn of(each: &[f64]) -> Self {
        let count = each.len() as f64;
        let value = each.iter().sum::<f64>() / count;
        let squares: f64 = each.iter().map(|one| (one - value).powi(2)).sum();
        Self { value, error: (squares / (count - 1.0).max(1.0) / count).sqrt() }
    }
}

/// What an adviser came to in a family.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Score {
    /// Who.
    pub(crate) name: &'static str,
    /// Whether he is one of the rules that the program is held against.
    pub(crate) is_rule: bool,
    /// Share of days leaner than is physically right.
    pub(crate) lean: f64,
    /// The same among days on which no leak was open.
    pub(crate) lean_sound: f64,
    /// Share of days that were dangerously lean.
    pub(crate) dangerous: f64,
    /// Share of days richer than is physically right.
    pub(crate) rich: f64,
    /// The mean chance of lean that was foretold and the share that happened on those days, where any was foretold.
    pub(crate) foretold: Option<(f64, f64)>,
    /// Loss a day: lean days count five times.
    pub(crate) loss: Mean,
    losses: Vec<f64>,
}

impl Score {
    /// From the runs of each bike.
    #[allow(clippy::cast_precision_loss, reason = "counts of runs")]
    fn new(contender: &Contender, bikes: &[Vec<Run>]) -> Self {
        let runs = bikes.concat();
        let share = |counts: &dyn Fn(&Run) -> bool| {
            runs.iter().filter(|run| counts(run)).count() as f64 / runs.len() as f64
        };
        let loss = |run: &Run| if is_lean(run) { LEAN_COSTS } else { f64::from(is_rich(run)) };
        let losses: Vec<f64> =
            bikes.iter().map(|runs| runs.iter().map(loss).sum::<f64>() / runs.len() as f64).collect();
        let foretold: Vec<(f64, f64)> =
            runs.iter().filter_map(|run| Some((run.foretold_lean?, f64::from(is_lean(run))))).collect();
        let mean = |of: fn(&(f64, f64)) -> f64| foretold.iter().map(of).sum::<f64>() / foretold.len() as f64;
        Self {
            name: contender.name,
            is_rule: contender.is_rule,
            lean: share(&is_lean),
            lean_sound: share(&|run| is_lean(run) && !run.leaking) / share(&|run| !run.leaking),
            dangerous: share(&|run| run.excess < -DANGEROUSLY_LEAN),
            rich: share(&is_rich),
            foretold: (!foretold.is_empty()).then(|| (mean(|pair| pair.0), mean(|pair| pair.1))),
            loss: Mean::of(&losses),
            losses,
        }
    }

    /// By how much its loss is more than another's, bike by bike.
    pub(crate) fn worse_than(&self, other: &Self) -> Mean {
        let differences: Vec<f64> = self.losses.iter().zip(&other.losses).map(|(a, b)| a - b).collect();
        Mean::of(&differences)
    }
}

fn is_lean(run: &Run) -> bool {
    run.excess < -PHYSICALLY_RIGHT
}

fn is_rich(run: &Run) -> bool {
    run.excess > PHYSICALLY_RIGHT
}

/// What each of some advisers comes to in a family, on two threads.
pub(crate) fn family(family: Family, extent: Extent, contenders: &[Contender]) -> Vec<Score> {
    let Extent { bikes, days, first_seed } = extent;
    let rides: Vec<Vec<Vec<Run>>> = riding::in_two_halves(first_seed..first_seed + bikes, |seed| {
        let season = Season::new(family, seed, days);
        contenders.iter().map(|contender| season.ride(&mut *(contender.new)(&season.known))).collect()
    });
    let of = |at: usize| rides.iter().map(|bike| bike[at].clone()).collect::<Vec<_>>();
    contenders.iter().enumerate().map(|(at, contender)| Score::new(contender, &of(at))).collect()
}

/// The best of the rules: the one with the least loss.
pub(crate) fn best_rule(scores: &[Score]) -> Option<&Score> {
    scores.iter().filter(|score| score.is_rule).min_by(|a, b| a.loss.value.total_cmp(&b.loss.value))
}

/// The head of the table.
pub(crate) const HEAD: &str = "\
family              adviser                   lean  sound   >5 %   rich  foretold  happened      loss          over the best rule";

/// A family's rows.
pub(crate) fn rows(family: Family, scores: &[Score]) -> String {
    let best = best_rule(scores);
    let percent = |share: f64| format!("{:.1}", 100.0 * share);
    scores
        .iter()
        .enumerate()
        .map(|(at, score)| {
            let words = if at == 0 { family.words() } else { "" };
            let (foretold, happened) = score
                .foretold
                .map_or_else(Default::default, |(foretold, happened)| (percent(foretold), percent(happened)));
            let over = best.filter(|best| *best != score).map_or_else(String::new, |best| {
                let Mean { value, error } = score.worse_than(best);
                format!("{value:+.3} ± {error:.3}")
            });
            format!(
                "{words:<19} {:<24} {:>5}  {:>5}  {:>5}  {:>5}  {foretold:>8}  {happened:>8}  {:.3} ± {:.3}  {over:>16}\n",
                score.name,
                percent(score.lean),
                percent(score.lean_sound),
                percent(score.dangerous),
                percent(score.rich),
                score.loss.value,
                score.loss.error,
            )
        })
        .collect()
}

/// The mean loss of each adviser over all families, and the shares of lean and dangerously lean days.
#[allow(clippy::cast_precision_loss, reason = "a dozen families")]
pub(crate) fn over_all(families: &[Vec<Score>]) -> String {
    let mean = |at: usize, of: &dyn Fn(&Score) -> f64| {
        families.iter().map(|scores| of(&scores[at])).sum::<f64>() / families.len() as f64
    };
    (0..families.first().map_or(0, Vec::len))
        .map(|at| {
            format!(
                "{:<19} {:<24} {:>5.1}  {:>5.1}  {:>5.1}  {:>5.1}  {:>18}  {:.3}\n",
                if at == 0 { "all families" } else { "" },
                families[0][at].name,
                100.0 * mean(at, &|score| score.lean),
                100.0 * mean(at, &|score| score.lean_sound),
                100.0 * mean(at, &|score| score.dangerous),
                100.0 * mean(at, &|score| score.rich),
                "",
                mean(at, &|score| score.loss.value),
            )
        })
        .collect()
}

/// The contenders of a name, for runs in which not everyone rides.
pub(crate) fn only(names: &[&str]) -> Vec<Contender> {
    CONTENDERS.iter().filter(|contender| names.contains(&contender.name)).copied().collect()
}
