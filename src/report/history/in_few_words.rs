//! A bike in few words: how its last run was, and what is due.

use crate::advice::learning::{OwnNames, is_asked, sign_of_lean};
use crate::advice::parts::DueStanding;
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::{Mixture, Outing, Verdict};
use crate::quantity::{fixed, trimmed};

/// How a run was, in few words: of several cylinders those that were lean, else what is said of all and of each that was otherwise.
pub(super) fn how_it_ran(outing: &Outing, own: &OwnNames) -> String {
    let each = outing.at_each_cylinder();
    let said: Vec<(Option<&str>, String, bool)> = each
        .iter()
        .map(|(name, outing)| (*name, words_of(outing, own), is_lean(outing)))
        .filter(|(_, words, _)| !words.is_empty())
        .collect();
    let any_lean = said.iter().any(|(_, _, lean)| *lean);
    let of_all = said.iter().find(|(name, _, _)| name.is_none()).map(|(_, words, _)| words.clone());
    let shown = said.iter().filter(|(_, _, lean)| *lean || !any_lean);
    let shown = shown.filter(|(name, words, _)| name.is_none() || Some(words) != of_all.as_ref());
    let words: Vec<String> = shown
        .map(|(name, words, _)| match name {
            Some(name) => format!("{} {words}", in_words(name)),
            None => words.clone(),
        })
        .collect();
    words.join("; ")
}

/// Whether a run was lean anywhere, by a verdict or by a word.
fn is_lean(outing: &Outing) -> bool {
    let zones = outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
    sign_of_lean(outing).is_some() || zones.iter().any(|(_, mixture)| *mixture < Mixture::Right)
}

/// "seized", "full slightly rich, 1/2 lean": what was seen of all, or of one cylinder.
fn words_of(outing: &Outing, own: &OwnNames) -> String {
    if let Some(word) = sign_of_lean(outing) {
        let ask = if is_asked(outing, own) { "?" } else { "" };
        return format!("{}{ask}", visible(&word));
    }
    let verdict = outing.verdict.clone().unwrap_or_default();
    let full = verdict.full.map(|full| ("full", full));
    // What was lean below it is no less to be known.
    let below = [
        ("3/4", verdict.three_quarters),
        ("1/2", verdict.half),
        ("1/4", verdict.quarter),
        ("1/8", verdict.eighth),
        ("idle", verdict.idle),
    ];
    let below = || below.into_iter().filter_map(|(zone, mixture)| Some((zone, mixture?)));
    let lean = below().find(|(_, mixture)| *mixture < Mixture::Right);
    let said = [full, lean.or_else(|| below().next().filter(|_| full.is_none()))];
    let words = said.into_iter().flatten().map(|(zone, mixture)| format!("{zone} {}", mixture.words()));
    words.collect::<Vec<_>>().join(", ")
}

/// "1 overdue"; nothing of none.
pub(super) fn counted(count: usize, what: &str) -> Option<String> {
    (count > 0).then(|| format!("{count} {what}"))
}

pub(super) fn due_in_short(part: &DueStanding) -> String {
    let at = part.cylinder.as_deref().map(|cylinder| format!(" ({})", visible(cylinder)));
    let name = format!("{}{}", visible(&part.part), at.unwrap_or_default());
    match part.first().filter(|limit| limit.by.counts_hours()) {
        Some(limit) => format!(
            "{name} {}{} of {} h",
            if limit.at_least { "at least " } else { "" },
            fixed(limit.run, 1),
            trimmed(limit.limit, 1)
        ),
        None => format!("{name} {}", part.words()),
    }
}
