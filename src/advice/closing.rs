//! An outing that is mended: a lean run whose cause was found and closed, and a doubt that falls with what was corrected.

use super::learning::lean_sign;
use crate::notebook::{Doubted, Mixture, Outing};
use crate::store::Mend;

/// Whether an outing was lean anywhere, by its verdict or by a word in its notes.
pub fn was_lean(outing: &Outing) -> bool {
    let judged = outing.verdict.as_ref().map(crate::notebook::Verdict::zones).unwrap_or_default();
    judged.iter().any(|(_, mixture)| *mixture <= Mixture::SlightlyLean) || lean_sign(outing).is_some()
}

/// What is doubted no more because it is given anew.
pub fn corrected(known: &Outing, wanted: &Mend) -> Vec<Doubted> {
    let anew = |what: &Doubted| {
        known.doubts(*what)
            && wanted.set.contains_key(what.word())
            && !wanted.doubt.contains(what)
            && !wanted.confirm.contains(what)
    };
    [Doubted::Air, Doubted::Hours].into_iter().filter(anew).collect()
}

/// What is to be known of an outing whose cause was written down.
pub fn remarks(before: &Outing, after: &Outing) -> Vec<String> {
    let mut remarks = Vec::new();
    let said = [("cause", &before.cause, &after.cause), ("mended", &before.mended, &after.mended)];
    for (field, was, is) in said {
        if let (Some(was), Some(is)) = (was, is)
            && was != is
        {
            remarks.push(format!("The {field} said before, \"{was}\", is replaced; git keeps it."));
        }
    }
    if before.cause == after.cause && before.mended == after.mended {
        return remarks;
    }
    if !was_lean(after) {
        if after.cause.is_some() || after.mended.is_some() {
            remarks.push("This outing was not lean: the cause is kept and changes nothing.".to_owned());
        }
    } else if after.is_closed() {
        remarks.push("The lean run is closed: by itself it forbids nothing leaner any more. If it was the jetting all the same, take the cause out again: going richer is the way then.".to_owned());
    } else if after.cause.is_some() {
        remarks.push("The lean run is closed once --mended says what was done about it.".to_owned());
    } else if after.mended.is_some() {
        remarks.push("The lean run is closed once --cause says what made it lean.".to_owned());
    }
    remarks
}
