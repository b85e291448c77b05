//! What a run says of being lean at a throttle, or of not being it.

use crate::advice::learning::{lean_sign, looks_lean, sign_of_lean};
use crate::notebook::fields::names::visible;
use crate::notebook::{Mixture, Outing, Verdict};
use crate::store::OutingRecord;

/// Where words in the notes count, whatever else was judged.
const BY_WORDS: &str = "full";

/// What makes a run lean at one throttle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Sign {
    /// The zone, as in [`crate::notebook::ZONES`].
    pub(super) zone: &'static str,
    /// The verdict, or the word in the notes.
    pub(super) words: String,
    /// Whether the engine seized, and did not only run lean or ping.
    pub(super) seizure: bool,
}

/// Whether a run was lean, pinged or seized anywhere, and its cause was not found and mended.
pub fn ran_lean(outing: &Outing) -> bool {
    !outing.is_closed() && outing.at_each_cylinder().iter().any(|(_, own)| !signs(own).is_empty())
}

/// What makes a run lean: its verdicts, and a word like "seized" in its notes, which speaks of full throttle.
pub(super) fn signs(outing: &Outing) -> Vec<Sign> {
    let by_words = lean_sign(outing).map(|sign| Sign {
        zone: BY_WORDS,
        seizure: sign.is_seizure(),
        words: sign.word().to_owned(),
    });
    let judged = zones(outing).into_iter().filter(|(_, mixture)| is_lean(*mixture));
    let judged = judged.filter(|(zone, _)| by_words.is_none() || *zone != BY_WORDS);
    let judged: Vec<Sign> = judged
        .map(|(zone, mixture)| Sign { zone, words: mixture.words().to_owned(), seizure: false })
        .collect();
    by_words.into_iter().chain(judged).collect()
}

/// Whether a run was right or rich at a zone; never so when its notes say that it was lean.
pub(super) fn was_rich_enough(outing: &Outing, zone: &str) -> bool {
    let judged = zones(outing).into_iter().find(|(name, _)| *name == zone);
    judged.is_some_and(|(_, mixture)| !is_lean(mixture)) && sign_of_lean(outing).is_none()
}

/// Where the word stands that says a run was lean, in words: "the notes say", "the piston reading says".
pub fn where_said(outing: &Outing) -> &'static str {
    let sign = lean_sign(outing);
    let none = || Outing { notes: None, piston: None, plug: None, feel: None, ..outing.clone() };
    let [notes, piston, plug] = [
        Outing { notes: outing.notes.clone(), ..none() },
        Outing { piston: outing.piston.clone(), ..none() },
        Outing { plug: outing.plug.clone(), ..none() },
    ];
    let places =
        [(notes, "the notes say"), (piston, "the piston reading says"), (plug, "the plug reading says")];
    let says = places.into_iter().find(|(only, _)| sign.is_some() && lean_sign(only) == sign);
    says.map_or("the notes say", |(_, words)| words)
}

/// What is to be said of words or a reading that look lean beside a verdict of right, or beside none.
pub fn contradicted(outing: &Outing) -> Option<String> {
    if sign_of_lean(outing).is_some() || outing.is_closed() {
        return None;
    }
    let (name, words) = looks_lean(outing)?;
    let words = visible(words.lines().next().unwrap_or_default());
    let what = match name {
        "notes" => format!("the notes say \"{words}\""),
        "exhaust gas" => format!("the exhaust gas was read at {words}"),
        name => format!("the {name} says \"{words}\""),
    };
    Some(match outing.at_full_throttle() {
        Some(_) => format!(
            "Full throttle was judged right, and {what}, which looks lean: read plug and piston again before anything leaner."
        ),
        None => format!(
            "Full throttle was not judged, and {what}, which looks lean: read plug and piston, and say how it was, before anything leaner."
        ),
    })
}

/// Whether a run was judged at all.
pub fn was_judged(outing: &Outing) -> bool {
    !zones(outing).is_empty() || sign_of_lean(outing).is_some()
}

/// Whether a run was judged where a main jet and the spark show: at full or three-quarter throttle, or by words of lean.
pub(super) fn was_judged_open(outing: &Outing) -> bool {
    was_judged_at(outing, &["full", "three_quarters"])
}

/// Whether a run was judged at full throttle, or by words of lean.
pub(super) fn was_judged_full(outing: &Outing) -> bool {
    was_judged_at(outing, &["full"])
}

fn was_judged_at(outing: &Outing, throttles: &[&str]) -> bool {
    let is_open = |zone: &str| throttles.contains(&zone);
    let each = outing.at_each_cylinder();
    each.iter()
        .any(|(_, own)| zones(own).iter().any(|(zone, _)| is_open(zone)) || sign_of_lean(own).is_some())
}

/// Whether one of some runs, oldest first, may hold the bike: it was lean at full throttle, or below it where none was right or rich since. A
/// look at the words alone, before anything is reckoned.
pub(super) fn may_hold(runs: &[OutingRecord]) -> bool {
    let mut right: Vec<&str> = Vec::new();
    for run in runs.iter().rev() {
        let holds = |sign: &Sign| sign.zone == "full" || sign.seizure || !right.contains(&sign.zone);
        let each = run.outing.at_each_cylinder();
        if each.iter().any(|(_, own)| signs(own).iter().any(holds)) {
            return true;
        }
        let zones = zones(&run.outing).into_iter().map(|(zone, _)| zone);
        right.extend(zones.filter(|zone| was_rich_enough(&run.outing, zone)));
    }
    false
}

fn is_lean(mixture: Mixture) -> bool {
    matches!(mixture, Mixture::Lean | Mixture::SlightlyLean)
}

fn zones(outing: &Outing) -> Vec<(&'static str, Mixture)> {
    outing.verdict.as_ref().map(Verdict::zones).unwrap_or_default()
}
