//! Slips that are asked of whoever typed them: one line each, and how to say it again.

use crate::advice::slips::{Questioned, Slip};
use crate::notebook::Doubted;
use crate::report::Trouble;
use crate::report::out::ways;

/// Refuses what is questioned, unless it was said to be right, or to be recorded as doubted.
pub fn settle(slips: &[Slip], sure: bool, doubted: Option<&[Doubted]>) -> Result<(), Trouble> {
    let open = still_asked(slips, sure, doubted);
    let Some(first) = open.first() else { return Ok(()) };
    let questions: Vec<_> = open.iter().map(|slip| slip.question.as_str()).collect();
    let mut ways: Vec<String> =
        open.iter().map(|slip| ways::worded(&slip.instead)).filter(|text| !text.is_empty()).collect();
    ways.push("If it is right, say the same line again with --sure.".to_owned());
    for what in [Doubted::Air, Doubted::Hours] {
        if doubted.is_some() && open.iter().any(|slip| slip.doubt() == Some(what)) {
            ways.push(format!("With --doubted {} it is recorded and {}.", what.word(), left_out(what)));
        }
    }
    Err(Trouble::request(Some(&first.field), questions.join("\n"), ways.join(" ")))
}

/// What is still to be asked of slips, where it was not said to be right or to be recorded as doubted.
pub fn still_asked<'s>(slips: &'s [Slip], sure: bool, doubted: Option<&[Doubted]>) -> Vec<&'s Slip> {
    let is_doubted = |slip: &&Slip| {
        slip.doubt().is_some_and(|what| doubted.is_some_and(|doubted| doubted.contains(&what)))
    };
    slips.iter().filter(|slip| !sure && !is_doubted(slip)).collect()
}

/// Refuses an air to be kept that is questioned, unless that was said: then it is kept as doubted. Gives whether it is.
pub fn settle_kept(slips: &[Slip], sure: bool) -> Result<bool, Trouble> {
    let of_air = slips.iter().any(|slip| slip.what == Questioned::Air);
    let Some(first) = slips.first().filter(|_| !sure) else { return Ok(of_air) };
    let questions: Vec<_> = slips.iter().map(|slip| slip.question.as_str()).collect();
    let ways = slips.iter().map(|slip| ways::worded(&slip.instead)).filter(|text| !text.is_empty());
    let last = if of_air {
        "With --sure it is kept as doubted, and nothing is answered from it."
    } else {
        "If it is right, say the same line again with --sure."
    };
    let ways: Vec<_> = ways.chain([last.to_owned()]).collect();
    Err(Trouble::request(Some(&first.field), questions.join("\n"), ways.join(" ")))
}

/// What that means.
pub fn left_out(what: Doubted) -> &'static str {
    match what {
        Doubted::Air => "left out of what is learned until confirmed",
        Doubted::Hours => "left out of the hours of parts until confirmed",
        Doubted::Setup => "taken for the richest that may have been on it until confirmed",
    }
}
