//! An outing that is mended: a lean run whose cause was found and closed, and a doubt that falls with what was corrected.

use super::learning::{Sign, lean_sign};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{CommandOption, Guidance};
use crate::notebook::{Doubted, Mixture, Outing, Verdict, throttle};
use crate::store::Mend;

/// Whether an outing was lean anywhere, at any cylinder, by its verdict or by a word in its notes.
pub fn was_lean(outing: &Outing) -> bool {
    let is_lean = |(_, outing): (_, Outing)| {
        let judged = outing.verdict.as_ref().map(crate::notebook::Verdict::zones).unwrap_or_default();
        judged.iter().any(|(_, mixture)| *mixture <= Mixture::SlightlyLean)
    };
    outing.at_each_cylinder().into_iter().any(is_lean) || sign_anywhere(outing).is_some()
}

/// The sign of lean in an outing's words, of all or at any of its cylinders.
pub(in crate::advice) fn sign_anywhere(outing: &Outing) -> Option<Sign> {
    outing.at_each_cylinder().into_iter().find_map(|(_, outing)| lean_sign(&outing))
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
pub fn taken_back(before: &Outing, after: Option<&Outing>) -> Option<Guidance> {
    if before.is_closed() || after.is_some_and(Outing::was_not_the_engine) {
        return None;
    }
    let word = sign_anywhere(before).filter(|_| after.is_none_or(|after| sign_anywhere(after).is_none()));
    if let Some(was) = word {
        let said = format!(
            "It said \"{}\" before: what that forbade is gone with the word. If it did happen, write it down again",
            visible(was.word())
        );
        return Some(closed_again(said));
    }
    // A word that still says so holds it all the same.
    let still = after.map(lean_at).unwrap_or_default();
    let gone: Vec<String> = lean_at(before).into_iter().filter(|was| !still.contains(was)).collect();
    let by_words = after.is_some_and(|after| sign_anywhere(after).is_some());
    (!gone.is_empty() && !by_words).then(|| {
        closed_again(format!(
            "It was judged lean at {} before: what that forbade is gone with the verdict. If it did run lean, write that down again",
            gone.join(" and ")
        ))
    })
}

/// How what is written down again is closed.
fn closed_again(said: String) -> Guidance {
    Guidance::from(said)
        + "; once its cause is fixed, "
        + CommandOption::Cause
        + " and "
        + CommandOption::Mended
        + " close it."
}

/// Throttles at which an outing was judged lean, with the cylinder where one has its own.
fn lean_at(outing: &Outing) -> Vec<String> {
    let judged = |(cylinder, outing): (Option<&str>, Outing)| {
        let zones = outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default();
        let lean = zones.into_iter().filter(|(_, mixture)| *mixture <= Mixture::SlightlyLean);
        let of = cylinder.map(|name| format!(" ({})", visible(name))).unwrap_or_default();
        lean.map(|(zone, _)| format!("{}{of}", throttle(zone))).collect::<Vec<_>>()
    };
    outing.at_each_cylinder().into_iter().flat_map(judged).collect()
}

/// What is to be known of an outing whose cause was written down.
pub fn remarks(before: &Outing, after: &Outing) -> Vec<Guidance> {
    let mut remarks: Vec<Guidance> = Vec::new();
    let said = |text: &Option<String>| text.clone().filter(|text| !text.trim().is_empty());
    let (cause, mended) = (said(&after.cause), said(&after.mended));
    for (field, was, is) in [("cause", said(&before.cause), &cause), ("fix", said(&before.mended), &mended)] {
        if let Some(was) = was.filter(|was| Some(was) != is.as_ref()) {
            let now = if is.is_some() { "replaced" } else { "taken out" };
            remarks.push(format!("The {field} said before, \"{was}\", is {now}; git keeps it.").into());
        }
    }
    remarks.extend(taken_back(before, Some(after)));
    if before.cause == after.cause && before.mended == after.mended {
        return remarks;
    }
    let of_the_hold: Guidance = match (cause, mended) {
        (None, None) if before.is_closed() => {
            "The lean run is open again: nothing leaner than it allows until a run is right or its cause is fixed.".into()
        }
        (None, None) => return remarks,
        (Some(_), _) if after.was_not_the_engine() && !was_lean(after) => {
            Guidance::from("It was not the engine: by that word nothing is forbidden any more. If it was, take the cause out again (")
                + CommandOption::RemoveCause
                + ")."
        }
        (Some(_), _) if after.was_not_the_engine() => {
            "Its words, or its verdict, say plainly that it ran lean: that it was not the engine changes nothing. If a word is a slip, fix the notes.".into()
        }
        _ if !was_lean(after) => "This outing was not lean: the cause is kept and changes nothing.".into(),
        _ if after.blames_the_jetting() => {
            Guidance::from("The cause is the jetting itself: that closes no lean run, and nothing leaner is allowed as before. Go richer: a run that is right or rich on at least a size more (two after a seizure) closes it. If something was broken, blocked or leaking, say that: ")
                + CommandOption::CauseAndMended
                + "."
        }
        _ if after.blames_the_piston() => {
            "The piston is what stopped: say what was wrong with it (\"piston too tight\", \"ring peg loose\") or what made it so (a leak, a blocked jet, spark, fuel). Until then the lean run stays open, and nothing leaner is allowed.".into()
        }
        _ if after.blames_only_the_fuel() => {
            "What was wrong with the fuel? Say that (\"stale fuel\", \"water in the fuel\", \"wrong can\"). Until then the lean run stays open, and nothing leaner is allowed.".into()
        }
        _ if after.says_no_cause() => {
            "That is no cause: the lean run stays open, and nothing leaner is allowed as before. Look further (crank seals, air leaks, float and fuel tap, spark, fuel), or go richer until a run is right.".into()
        }
        (Some(_), Some(_)) if after.is_not_mended_yet() => {
            Guidance::from("That is not fixed yet: the lean run stays open, and nothing leaner is allowed as before. Once it is done, say what was done: ")
                + CommandOption::MendedLike
                + "."
        }
        (Some(_), Some(_)) if after.left_open().is_some() => {
            let name = visible(&after.left_open().unwrap_or_default());
            format!("That is of another cylinder than {name}, which was lean as well: the lean run stays open, and nothing leaner is allowed as before. Say what it was at {name} too, or \"both\".").into()
        }
        (Some(_), Some(_)) => {
            "The lean run is closed: what ran then is allowed again, leaner than that not before it has run. If it was the jetting all the same, take the cause out again: going richer is the way then.".into()
        }
        (Some(_), None) => {
            Guidance::from("The lean run is closed once ")
                + CommandOption::Mended
                + " says what was done about it."
        }
        (None, Some(_)) => {
            Guidance::from("The lean run is closed once ") + CommandOption::Cause + " says what made it lean."
        }
    };
    remarks.push(of_the_hold);
    remarks
}
