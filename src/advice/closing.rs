//! An outing that is mended: a lean run whose cause was found and closed, and a doubt that falls with what was corrected.

use super::learning::lean_sign;
use crate::notebook::{Doubted, Mixture, Outing};
use crate::store::Mend;

/// Whether an outing was lean anywhere, at any cylinder, by its verdict or by a word in its notes.
pub fn was_lean(outing: &Outing) -> bool {
    let is_lean = |(_, outing): (_, Outing)| {
        let judged = outing.verdict.as_ref().map(crate::notebook::Verdict::zones).unwrap_or_default();
        judged.iter().any(|(_, mixture)| *mixture <= Mixture::SlightlyLean)
    };
    outing.at_each_cylinder().into_iter().any(is_lean) || lean_sign(outing).is_some()
}

/// What is doubted no more because it is given anew.
pub fn corrected(known: &Outing, wanted: &Mend) -> Vec<Doubted> {
    let anew = |what: &Doubted| {
        known.doubts(*what)
            && (wanted.sets(what.word()) || (*what == Doubted::Setup && wanted.setup.is_some()))
            && !wanted.doubt.contains(what)
            && !wanted.confirm.contains(what)
    };
    Doubted::ALL.into_iter().filter(anew).collect()
}

/// What goes with the words, or with the whole outing, where it said that the engine was lean or seized.
pub fn taken_back(before: &Outing, after: Option<&Outing>) -> Option<String> {
    let was = lean_sign(before).filter(|_| !before.is_closed())?;
    let still = after.is_some_and(|after| lean_sign(after).is_some());
    (!still).then(|| {
        format!(
            "It said \"{}\" before: what that forbade is gone with the word. If it did happen, write it down again; once its cause is mended, --cause and --mended close it.",
            crate::notebook::fields::names::visible(was.word())
        )
    })
}

/// What is to be known of an outing whose cause was written down.
pub fn remarks(before: &Outing, after: &Outing) -> Vec<String> {
    let mut remarks = Vec::new();
    let said = |text: &Option<String>| text.clone().filter(|text| !text.trim().is_empty());
    let (cause, mended) = (said(&after.cause), said(&after.mended));
    for (field, was, is) in
        [("cause", said(&before.cause), &cause), ("mended", said(&before.mended), &mended)]
    {
        if let Some(was) = was.filter(|was| Some(was) != is.as_ref()) {
            let now = if is.is_some() { "replaced" } else { "taken out" };
            remarks.push(format!("The {field} said before, \"{was}\", is {now}; git keeps it."));
        }
    }
    remarks.extend(taken_back(before, Some(after)));
    if before.cause == after.cause && before.mended == after.mended {
        return remarks;
    }
    let of_the_hold = match (cause, mended) {
        (None, None) if before.is_closed() => {
            "The lean run is open again: nothing leaner than it allows until a run is right or its cause is mended."
        }
        (None, None) => return remarks,
        _ if !was_lean(after) => "This outing was not lean: the cause is kept and changes nothing.",
        _ if after.blames_the_jetting() => {
            "The cause is the jetting itself: that closes no lean run, and nothing leaner is allowed as before. Go richer: a run that is right or rich on at least a size more (two after a seizure) closes it. If something was broken, blocked or leaking, say that: --cause \"…\" --mended \"…\"."
        }
        _ if after.says_no_cause() => {
            "That is no cause: the lean run stays open, and nothing leaner is allowed as before. Look further (crank seals, air leaks, float and fuel tap, spark, fuel), or go richer until a run is right."
        }
        (Some(_), Some(_)) => {
            "The lean run is closed: by itself it forbids nothing leaner any more. If it was the jetting all the same, take the cause out again: going richer is the way then."
        }
        (Some(_), None) => "The lean run is closed once --mended says what was done about it.",
        (None, Some(_)) => "The lean run is closed once --cause says what made it lean.",
    };
    remarks.push(of_the_hold.to_owned());
    remarks
}
