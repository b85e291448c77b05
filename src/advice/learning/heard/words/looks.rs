//! Words and readings that look lean and are no sign of damage: beside a full throttle that was judged right they are pointed out;
//! where it was not judged, a run that is called lean was lean until somebody says how it was.

use super::is_denied;
use super::phrases::{is_short_of_fuel, looks_lean_at};
use crate::advice::learning::heard::word_lists::listed;
use crate::advice::learning::heard::words::sentence::{OwnNames, words};
use crate::advice::learning::heard::words::signs::{LEAN_WORDS, Said, Word, WrittenIn};
use crate::notebook::{Mixture, Outing};

/// Exhaust gas above this looks lean, or has the spark late, C (common practice, no source: pistons are of metal that melts near 660 C, and
/// engines of this kind are told to run at 550 to 680 C some hundred and fifty millimetres from the piston).
const HOT_EXHAUST_C: f64 = 700.0;
const KELVIN: f64 = 273.15;

/// What a run is called lean of that was not judged there.
pub const FULL_THROTTLE: &str = "full throttle";

/// Where a throttle is held wide open.
const WIDE_OPEN: &str = "full flat wot top straight straights pinned open wide stop fullthrottle";

/// Where it is not.
const BELOW: &str = "half quarter quarters eighth idle tickover bottom mid midrange middle low lower pilot closed part partial overrun needle hairpin exit exits off";

/// What ends a sentence.
const ENDS: [char; 5] = ['.', ';', '!', '?', '\n'];

/// Words that look lean and say nothing sure, by where they stand: "plug", "feel", "notes"; none where full throttle was judged lean.
pub fn looks_lean(outing: &Outing) -> Option<(&'static str, String)> {
    let judged = outing.at_full_throttle();
    if judged.is_some_and(|full| full < Mixture::Right) {
        return None;
    }
    let looks = |text: &str, at: WrittenIn| {
        let own = OwnNames::default();
        text.split(ENDS).any(|sentence| {
            let words = words(sentence, &own);
            (0..words.len()).any(|place| {
                looks_lean_at(&words, place, at)
                    && (words.get(place).is_some_and(|word| word.text == "ring")
                        || !is_denied(&words, place, None))
            })
        })
    };
    let of_one = |(_, seen): (Option<&str>, Outing)| {
        let texts = [
            ("plug", seen.plug, WrittenIn::OnThePlug),
            ("piston", seen.piston, WrittenIn::OnThePiston),
            ("feel", seen.feel, WrittenIn::Anywhere),
            ("notes", seen.notes, WrittenIn::Anywhere),
        ];
        let hot = seen.exhaust_gas.filter(|read| read.si() - KELVIN > HOT_EXHAUST_C);
        let said =
            texts.into_iter().find_map(|(name, text, at)| Some((name, text.filter(|text| looks(text, at))?)));
        said.or_else(|| Some(("exhaust gas", hot?.to_string())))
    };
    outing.at_each_cylinder().into_iter().find_map(of_one)
}

/// A run that is called lean in words, of full throttle or of nothing in particular, and whose full throttle was not judged.
pub(super) fn lean_and_not_judged(outing: &Outing, own: &OwnNames) -> Option<Said> {
    if outing.at_full_throttle().is_some() || outing.was_not_the_engine() {
        return None;
    }
    let each = outing.at_each_cylinder();
    let is_judged_below =
        each.iter().any(|(_, one)| one.verdict.as_ref().is_some_and(|verdict| !verdict.zones().is_empty()));
    let texts = [&outing.notes, &outing.feel].into_iter().flatten();
    let called = texts.flat_map(|text| text.split(ENDS)).find_map(|sentence| {
        let words = words(sentence, own);
        let called = (0..words.len()).find(|at| is_called_lean(&words, *at))?;
        let named = |list: &str| words.iter().any(|word| listed(list, &word.text));
        let is_at_full = named(WIDE_OPEN) || !is_judged_below && !named(BELOW);
        let word = words.get(called).filter(|_| is_at_full)?;
        // What leaned out was lean.
        Some(if listed(LEAN_WORDS, &word.text) { word.text.clone() } else { "lean".to_owned() })
    });
    called.map(|word| Said::Unclear { word, thing: FULL_THROTTLE.to_owned() })
}

fn is_called_lean(words: &[Word], at: usize) -> bool {
    let text = |at: usize| words.get(at).map_or("", |word| word.text.as_str());
    // "Full throttle was lean": beside a verdict of right that tells of the jet before.
    let was_lean = text(at.wrapping_sub(1)) == "was" && !listed("to angle over into than", text(at + 1));
    let called = listed(LEAN_WORDS, text(at)) || listed("leaned leaning leans leant", text(at));
    (called || is_short_of_fuel(words, at))
        && (was_lean || looks_lean_at(words, at, WrittenIn::Anywhere))
        && !is_denied(words, at, None)
}
