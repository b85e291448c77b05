//! The clip where the needle is not known: no figures, but the record may find a zone rich or lean that the clip rules.
//!
//! All of it is common practice, no source: a groove is worth some 3 % of the fuel at half throttle, and a main jet counts less the
//! farther the slide is down.

use crate::advice::rejet::ClipAdvice;
use crate::advice::rejet::asked::JetsAsked;
use crate::advice::rejet::wanted::{FULL, HALF, QUARTER, THREE_QUARTERS};
use crate::notebook::{Jetting, ZONES};
use crate::quantity::{Measure, nearly_equal};

/// What one groove changes where the clip rules, as a part of the fuel.
const GROOVE: f64 = 0.03;

/// More than half of a groove must be left over for one to be worth a try.
const WORTH_A_TRY: f64 = GROOVE / 2.0;

/// The zones that the clip rules, half throttle first, with how far they follow what a main jet does at full throttle.
const RULED: [(usize, f64); 3] = [(HALF, 0.4), (THREE_QUARTERS, 0.7), (QUARTER, 0.15)];

/// Grooves that a needle may have at most: the range of the field jetting.clip.
const MOST_GROOVES: u8 = 9;

/// One groove to try, where the record asks for it; `why` is what is missing to reckon it, `at_full` what full throttle gets over the
/// baseline's with what is advised.
pub(in crate::advice::rejet) fn advice(
    jetting: &Jetting,
    why: &str,
    at_full: f64,
    asked: &JetsAsked<'_>,
) -> ClipAdvice {
    let not_computed = || ClipAdvice::NotComputed { why: why.to_owned() };
    let off = |(zone, follows): (usize, f64)| {
        let wanted = asked.wanted[zone];
        // Only what an outing has said of the zone counts, not what theory wants there.
        let said = (wanted.factor / asked.factor).ln();
        let delivered = at_full.powf(follows);
        let off = (delivered / wanted.factor).ln();
        let is_lean = off < -WORTH_A_TRY;
        // Leaner only where the outings found it rich themselves, and a groove does not make it too lean.
        let is_rich = off > WORTH_A_TRY && said < -WORTH_A_TRY && delivered * (1.0 - GROOVE) >= wanted.least;
        (asked.given[zone] && (is_lean || is_rich)).then_some((zone, off))
    };
    let asking: Vec<(usize, f64)> = RULED.into_iter().filter_map(off).collect();
    // Where one zone is lean and another rich, the lean one is heard.
    let lean = asking.iter().find(|(_, off)| *off < 0.0).map(|(zone, off)| (ZONES[*zone].0, Some(*off)));
    let was_lean = || asked.still_lean_at.map(|zone| (zone, None));
    // After a lean run no groove is taken back on a guess.
    let rich =
        || asking.first().filter(|_| !asked.no_groove_back).map(|(zone, off)| (ZONES[*zone].0, Some(*off)));
    let Some((zone, off)) = lean.or_else(was_lean).or_else(rich) else {
        return not_computed();
    };
    let leaner = off.is_some_and(|off| off > 0.0);
    // A leaner groove makes full throttle leaner too, by some third of it.
    let has_room = at_full * (1.0 - GROOVE / 3.0) >= asked.wanted[FULL].least;
    let from = jetting.clip.as_ref().map(Measure::si);
    let from = from.and_then(|clip| (1..=MOST_GROOVES).find(|groove| nearly_equal(f64::from(*groove), clip)));
    let to = from.map(|from| if leaner { from - 1 } else { from + 1 });
    match to {
        Some(0) => ClipAdvice::NotComputed { why: format!("{why}; it hangs in the leanest groove already") },
        Some(to) if to > MOST_GROOVES => not_computed(),
        to => ClipAdvice::Try {
            why: why.to_owned(),
            from,
            to,
            leaner,
            main_richer: leaner && !has_room,
            zone,
            percent: off.map(|off| 100.0 * off.exp_m1()),
        },
    }
}
