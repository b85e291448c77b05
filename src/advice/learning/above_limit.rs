//! A risk above the limit: what is said of it, and whether the engine may be run on the answer.

use super::choice::Priced;
use super::learned::Learned;
use crate::advice::learning::answered::{AboveLimit, LearnedAnswer};
use crate::advice::rejet::Rejet;
use crate::quantity::{fixed, nearly_equal, trimmed};

/// More decimals are not worth telling of a chance, percent.
const MOST_DECIMALS: usize = 2;

/// A chance beside its limit in percent, with so many decimals and as many more as it takes to see which is greater: "5 %", "4.9 %",
/// "5.02 %"; never shown as certain.
pub fn percent_beside(chance: f64, limit: f64, decimals: usize) -> String {
    let (chance, limit) = (100.0 * chance, 100.0 * limit);
    let is_seen = |decimals: &usize| {
        let shown: f64 = fixed(chance, *decimals).parse().unwrap_or(chance);
        shown.total_cmp(&limit) == chance.total_cmp(&limit)
    };
    match (decimals..=MOST_DECIMALS).find(is_seen).unwrap_or(decimals) {
        0 if chance > 0.0 && chance < 0.5 => "<1 %".to_owned(),
        0 if chance < 100.0 && chance > 99.5 => ">99 %".to_owned(),
        decimals => format!("{} %", trimmed(chance, decimals)),
    }
}

/// What to say when a richer size is advised than the one on the bike that was right in this very air: why it does not stay.
pub(super) fn right_and_not_enough(
    record: &Learned,
    answer: &Rejet,
    (learned, in_it): (&LearnedAnswer, Option<f64>),
) -> Option<AboveLimit> {
    let full = record.zone("full")?;
    let in_it = in_it?;
    let now = learned.sizes.iter().find(|size| nearly_equal(size.size, in_it))?;
    let advised = learned.sizes.iter().find(|size| size.advised)?;
    let is_right = full.ran_right(now.delivered, answer.factor.total);
    let limit = learned.limit.filter(|limit| now.chances.lean > *limit)?;
    let many = if full.verdicts == 1 {
        "one run says little".to_owned()
    } else {
        format!("{} runs say little", full.verdicts)
    };
    (is_right && advised.delivered > now.delivered).then(|| {
        AboveLimit::known(format!(
            "{} was right in this very air, and {many}: it may be lean with a chance of {} (limit {} %). Richer until more runs are right.",
            if answer.injection.is_some() { format!("Trim {} %", trimmed(in_it, 1)) } else { trimmed(in_it, 2) },
            percent_beside(now.chances.lean, limit, 0),
            trimmed(100.0 * limit, 1)
        ))
    })
}

/// What to say when the risk is above the limit all the same: a few sizes more do not bring it there, or what is on the bike stays.
/// `unproven` is whether nothing was right yet on what is on the bike.
pub(super) fn still_risky(
    record: &Learned,
    answer: &Rejet,
    (learned, unproven): (&LearnedAnswer, bool),
) -> Option<AboveLimit> {
    let (risk, limit) = learned.lean_risk.zip(learned.limit).filter(|(risk, limit)| risk > limit)?;
    let advised = learned.sizes.iter().find(|size| size.advised)?;
    let full = record.zone("full").filter(|_| !unproven);
    if full.is_some_and(|full| full.ran_right(advised.delivered, answer.factor.total)) {
        return Some(AboveLimit::known(
            "It ran right on this in this very air, and stays; the risk is what the other runs make of it.",
        ));
    }
    if full
        .is_some_and(|full| full.ran_right_in_air_that_asks_no_less(advised.delivered, answer.factor.total))
    {
        return Some(AboveLimit::known(
            "It ran right on this in air that asks for more; the risk is what the other runs make of it.",
        ));
    }
    if full.is_some_and(|full| full.ran_right_on_no_more(advised.delivered, answer.factor.total)) {
        return Some(AboveLimit::known(
            "It ran right on less than this in this very air; the risk is what the other runs make of it.",
        ));
    }
    if record.zone("full").is_some_and(|full| full.is_safe_by_record(advised.delivered, answer.factor.total))
    {
        return Some(AboveLimit::stop(format!(
            "Do not run it hard on what this step fits. It would be lean with a chance of {}, more than the {} % that is taken: the last run was lean against the record, and nobody knows yet whether that was a slip or the engine has changed. Find out which first; more sizes in one step are not advised.",
            percent_beside(risk, limit, 0),
            trimmed(100.0 * limit, 1)
        )));
    }
    let is_allowed = |priced: &Priced| priced.allowed && nearly_equal(priced.candidate.size, advised.size);
    let chance = format!("It would be lean with a chance of {}", percent_beside(risk, limit, 1));
    let taken = format!("more than the {} % that is taken", trimmed(100.0 * limit, 1));
    Some(if learned.priced.iter().any(is_allowed) {
        AboveLimit::known(format!(
            "{chance}, a little {taken}: it is on the bike, and is not changed for a hair."
        ))
    } else {
        AboveLimit::stop(format!(
            "Do not run it hard on what this step fits. {chance}, {taken}: the runs contradict each other, or the engine has changed. Find out why first; more sizes in one step are not advised."
        ))
    })
}
