//! Words and JSON for the parts of an advice: jets, clip, screw.

use serde_json::{Value as Json, json};

use crate::advice::learning::Evidence;
use crate::advice::{ClipAdvice, JetAdvice, Method, Screw};
use crate::notebook::fields::names::visible;
use crate::notebook::{Circuit, NumberedBy};
use crate::quantity::fixed;
use crate::report::air::reading::rounded;
use crate::store::OutingRecord;

pub(super) fn circuit(circuit: Circuit) -> &'static str {
    match circuit {
        Circuit::Main => "main",
        Circuit::Pilot => "pilot",
        Circuit::Power => "power",
    }
}

pub(super) fn numbering(numbered_by: NumberedBy) -> &'static str {
    match numbered_by {
        NumberedBy::Flow => "flow",
        NumberedBy::Bore => "bore",
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

pub(super) fn clip_words(clip: &ClipAdvice) -> String {
    match clip {
        ClipAdvice::NotComputed { why } => format!("Clip not computed: {why}."),
        ClipAdvice::Try { why, .. } => {
            format!("Clip: {} Not computed: {why}.", clip.worth_a_try().unwrap_or_default())
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

pub(super) fn clip_json(clip: &ClipAdvice) -> Json {
    match clip {
        ClipAdvice::NotComputed { why } => json!({ "computed": false, "why": why }),
        ClipAdvice::Try { why, from, to, leaner, main_richer, zone, percent } => json!({
            "computed": false,
            "why": why,
            "try": {
                "from": from,
                "to": to,
                "leaner": leaner,
                "main_richer": main_richer,
                "zone": zone,
                "percent": rounded(*percent, 2),
                "words": clip.worth_a_try(),
            },
        }),
        ClipAdvice::Stays { clip, half_throttle_percent, why } => {
            json!({ "computed": true, "from": clip, "to": clip, "why": why, "half_throttle_percent": rounded(*half_throttle_percent, 2) })
        }
        ClipAdvice::Move { from, to, after_percent, .. } => {
            json!({ "computed": true, "from": from, "to": to, "half_throttle_percent": rounded(*after_percent, 2) })
        }
    }
}

pub(super) fn jet_json(jet: &JetAdvice) -> Json {
    let method = match jet.method {
        Method::Series { .. } => "series",
        Method::Simple => "simple",
        Method::Alone => "alone",
    };
    json!({
        "circuit": circuit(jet.circuit),
        "field": jet.field,
        "numbering": numbering(jet.numbered_by),
        "series": jet.series,
        "method": method,
        "current": jet.current,
        "exact": jet.exact.map(|exact| rounded(exact, 3)),
        "advised": jet.advised,
        "richer": jet.richer,
        "leaner": jet.leaner,
        "steps": jet.steps,
        "unchanged_percent": rounded(jet.unchanged_percent, 3),
        "advised_percent": jet.advised_percent.map(|percent| rounded(percent, 3)),
    })
}

pub(super) fn screw_name(screw: Screw) -> &'static str {
    match screw {
        Screw::Air => "air screw",
        Screw::Fuel => "fuel screw",
    }
}

/// The outings that are taken as lean for a word in their notes, in one line.
pub(super) fn lean_by_notes(evidence: &Evidence) -> Option<String> {
    let signed =
        evidence.witnesses.iter().filter_map(|witness| Some((&witness.outing, witness.sign.as_ref()?)));
    let signed: Vec<_> = signed.collect();
    let said = |(outing, sign): &(&OutingRecord, &String)| {
        format!("{} ({}, \"{}\")", outing.outing.date.short(), visible(&outing.id), visible(sign))
    };
    match signed.as_slice() {
        [] => None,
        [(outing, sign)] => Some(format!(
            "The outing of {} is taken as lean, because its notes say \"{}\"; `reedbook outing edit {} {}` mends the notes.",
            outing.outing.date.short(),
            visible(sign),
            outing.bike,
            visible(&outing.id)
        )),
        [(first, _), ..] => Some(format!(
            "Taken as lean, because their notes say so: the outings of {}; `reedbook outing edit {} ID` mends the notes of one.",
            signed.iter().map(said).collect::<Vec<_>>().join(", "),
            first.bike
        )),
    }
}
