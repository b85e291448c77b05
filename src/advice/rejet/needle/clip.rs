//! The clip in words: the groove that the search has chosen, and why it stays where it does.
//!
//! It is judged at half throttle, where needle and annulus decide more than the main jet. "A half step is left over" means: with
//! the advised jets and the clip where it is, half throttle is off by more than half of what the next groove toward the right
//! mixture would change.

use crate::advice::rejet::ClipAdvice;

/// Half throttle with the advised jets: fuel delivered over fuel wanted.
pub(in crate::advice::rejet) struct AtHalf {
    /// The clip left where it is.
    pub(in crate::advice::rejet) left: f64,
    /// One groove further up, leaner; none where there is none.
    pub(in crate::advice::rejet) groove_up: Option<f64>,
    /// One groove further down, richer; none where there is none.
    pub(in crate::advice::rejet) groove_down: Option<f64>,
    /// With the needle and groove advised.
    pub(in crate::advice::rejet) fitted: f64,
}

/// The advice for a clip that goes from one groove to another, or stays. `at_full` is fuel delivered over fuel wanted at full
/// throttle with everything advised; `other_needle` says that the groove is another needle's.
pub(in crate::advice::rejet) fn advice(
    from: u8,
    to: u8,
    half: &AtHalf,
    at_full: f64,
    other_needle: bool,
) -> ClipAdvice {
    if from == to {
        let why = if other_needle { "in the other needle" } else { why_it_stays(half) };
        return ClipAdvice::Stays {
            clip: from,
            half_throttle_percent: percent(half.fitted),
            why: why.to_owned(),
        };
    }
    ClipAdvice::Move {
        from,
        to,
        before_percent: percent(half.left),
        after_percent: percent(half.fitted),
        full_throttle_percent: percent(at_full),
    }
}

fn why_it_stays(half: &AtHalf) -> &'static str {
    let toward = if half.left > 1.0 { half.groove_up } else { half.groove_down };
    let Some(beside) = toward else {
        return "there is no groove beyond it";
    };
    let step = (beside / half.left).ln().abs();
    if half.left.ln().abs() <= step / 2.0 {
        "less than half a step is left over"
    } else {
        "no other groove is nearer over all slide lifts"
    }
}

/// By how much it is off; above 0 rich.
fn percent(delivered_over_wanted: f64) -> f64 {
    100.0 * (delivered_over_wanted - 1.0)
}
