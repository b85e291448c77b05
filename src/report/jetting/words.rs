//! Words for the parts of an advice: jets, clip, screw.

use crate::advice::learning::{Evidence, FULL_THROTTLE, OwnNames, Said, is_asked, said_of_lean};
use crate::advice::{ClipAdvice, Screw};
use crate::notebook::fields::names::visible;
use crate::notebook::{Circuit, Mixture};
use crate::quantity::{fixed, nearly_equal, trimmed};
use crate::store::OutingRecord;

/// A circuit as it is called at the bike.
pub(super) fn circuit(circuit: Circuit) -> &'static str {
    match circuit {
        Circuit::Main => "main",
        Circuit::Pilot => "pilot",
        Circuit::Power => "power jet",
    }
}

/// "2.1 % rich", "0.4 % lean", "right".
pub(super) fn rich_or_lean(percent: f64) -> String {
    let shown = fixed(percent.abs(), 1);
    match (shown.as_str(), percent > 0.0) {
        ("0.0", _) => "right".into(),
        (_, true) => format!("{shown} % rich"),
        (_, false) => format!("{shown} % lean"),
    }
}

/// The clip in words, counted from the groove that is on the bike, where that is written down.
pub(super) fn clip_words(clip: &ClipAdvice, now: Option<f64>) -> String {
    let goes_back = |to: u8| now.is_some_and(|now| !nearly_equal(now, f64::from(to)));
    match clip {
        ClipAdvice::NotComputed { why } => format!("Clip not computed: {why}."),
        ClipAdvice::Try { why, from, .. } => {
            let back = from.filter(|from| goes_back(*from)).zip(now);
            let first = back.map(|(from, now)| format!("{} → {from} first, then ", trimmed(now, 0)));
            format!(
                "Clip: {}{} Not computed: {why}.",
                first.unwrap_or_default(),
                clip.worth_a_try().unwrap_or_default()
            )
        }
        ClipAdvice::Stays { clip, half_throttle_percent, .. } if goes_back(*clip) => {
            from_the_bike(now, *clip, *half_throttle_percent)
        }
        ClipAdvice::Move { from, to, after_percent, .. } if goes_back(*from) => {
            from_the_bike(now, *to, *after_percent)
        }
        ClipAdvice::Stays { clip, half_throttle_percent, why } => {
            format!(
                "Clip {clip} stays ({why}); half throttle is then {}.",
                rich_or_lean(*half_throttle_percent)
            )
        }
        ClipAdvice::Move { from, to, before_percent, after_percent, .. } => format!(
            "Clip {from} → {to}, counted from the top: half throttle {} instead of {}.",
            rich_or_lean(*after_percent),
            rich_or_lean(*before_percent)
        ),
    }
}

/// A clip on the bike that is not in the baseline's groove: how half throttle runs as it hangs now is not reckoned.
fn from_the_bike(now: Option<f64>, to: u8, half_throttle_percent: f64) -> String {
    let half_throttle = rich_or_lean(half_throttle_percent);
    match now {
        Some(now) if !nearly_equal(now, f64::from(to)) => {
            format!(
                "Clip {} → {to}, counted from the top: half throttle is then {half_throttle}.",
                trimmed(now, 0)
            )
        }
        _ => format!("Clip {to} stays, counted from the top: half throttle is then {half_throttle}."),
    }
}

pub(super) fn screw_name(screw: Screw) -> &'static str {
    match screw {
        Screw::Air => "air screw",
        Screw::Fuel => "fuel screw",
    }
}

/// The outings that are taken as lean for a word in their notes, in one line.
pub(super) fn lean_by_notes(evidence: &Evidence, begins_with: Option<&OutingRecord>) -> Option<String> {
    let signed = evidence.own().filter_map(|witness| Some((&witness.outing, witness.sign.as_ref()?)));
    // Where the verdict was lean as well the notes add nothing.
    let judged_lean = |run: &OutingRecord| {
        run.outing.verdict.as_ref().and_then(|verdict| verdict.full).is_some_and(|full| full < Mixture::Right)
    };
    // What was found and mended is written down.
    let signed: Vec<_> = signed.filter(|(run, _)| !judged_lean(run) && !run.outing.is_closed()).collect();
    let said = |(outing, sign): &(&OutingRecord, &String)| {
        format!("{} ({}, \"{}\")", outing.outing.date.short(), visible(&outing.id), visible(sign))
    };
    let asked = |run: &OutingRecord| is_asked(&run.outing, &OwnNames::of([run.bike.as_str()]));
    // A run that is only called lean, and of whose full throttle nothing was judged, waits for that.
    let called = |run: &OutingRecord| {
        let said = said_of_lean(&run.outing, &OwnNames::of([run.bike.as_str()]));
        matches!(said, Said::Unclear { thing, .. } if thing == FULL_THROTTLE)
    };
    // How it is mended, with what is typed behind the run.
    let mend = |run: &OutingRecord| match (called(run), asked(run)) {
        (true, _) => ("If it was right", " full=right"),
        (_, true) => ("If it was not the engine", " --cause \"not the engine\""),
        _ => ("To fix them", ""),
    };
    match signed.as_slice() {
        [] => None,
        [(run, _)] if begins_with.is_some_and(|said| said.id == run.id) => {
            let (when, typed) = mend(run);
            (!typed.is_empty())
                .then(|| format!("{when}: `reedbook outing edit {} {}{typed}`.", run.bike, visible(&run.id)))
        }
        [(outing, sign)] => {
            let (when, typed) = mend(outing);
            Some(format!(
                "The outing of {} is taken as lean, because its notes say \"{}\". {when}: `reedbook outing edit {} {}{typed}`.",
                outing.outing.date.short(),
                visible(sign),
                outing.bike,
                visible(&outing.id)
            ))
        }
        [(first, _), ..] => Some(format!(
            "Taken as lean, because their notes say so: the outings of {}. To fix those of the first: `reedbook outing edit {} {}`.",
            signed.iter().map(said).collect::<Vec<_>>().join(", "),
            first.bike,
            visible(&first.id)
        )),
    }
}
