//! A reading between its limits as a strip: white where it is good, hatched where it is watched, black where the part is replaced, and
//! above it the reading with its doubt.

use maud::{Markup, html};

use crate::quantity::fixed;
use crate::report::building::paper::Strip;

/// Its size, in units of its own.
const WIDE: f64 = 100.0;
const HIGH: f64 = 15.0;
/// From where on down the zones are drawn.
const ZONES: f64 = 7.0;
/// From line to line of a hatch.
const HATCH: f64 = 3.0;
/// Room beside what is drawn, as a share of it.
const ROOM: f64 = 0.15;

/// What a zone says.
#[derive(Clone, Copy, PartialEq)]
enum Zone {
    Good,
    Watch,
    Replace,
}

/// The strip with what it says in words.
pub(super) fn strip(strip: &Strip, words: &str) -> Markup {
    let [least, watch_below, watch_above, most] = strip.edges;
    let of = |end: fn(f64, f64) -> f64| {
        let ends = [strip.value - strip.doubt, strip.value + strip.doubt];
        strip.edges.into_iter().flatten().chain(ends).reduce(end).unwrap_or(strip.value)
    };
    let (low, high) = (of(f64::min), of(f64::max));
    let room = ROOM * (high - low).max(f64::MIN_POSITIVE);
    let (low, high) = (low - room, high + room);
    let x = |value: f64| ((value - low) / (high - low) * WIDE).clamp(0.0, WIDE);
    // Every edge is where one zone ends; a side without an edge goes on as it is.
    let ends = [
        (least, Zone::Replace),
        (watch_below, Zone::Watch),
        (watch_above.or(most), Zone::Good),
        (most, Zone::Watch),
    ];
    let mut zones = Vec::new();
    let mut from = 0.0;
    for (edge, zone) in ends {
        if let Some(to) = edge.map(x).filter(|to| *to > from) {
            zones.push((from, to, zone));
            from = to;
        }
    }
    let beyond = match (most, watch_above) {
        (Some(_), _) => Zone::Replace,
        (None, Some(_)) => Zone::Watch,
        (None, None) => Zone::Good,
    };
    zones.push((from, WIDE, beyond));
    let n = |value: f64| fixed(value, 1);
    let (at, left, right) = (x(strip.value), x(strip.value - strip.doubt), x(strip.value + strip.doubt));
    html! {
        svg class="strip" viewBox={ "0 0 " (n(WIDE)) " " (n(HIGH)) } role="img" aria-label=(words) {
            @for (from, to, zone) in &zones {
                @if *zone == Zone::Replace {
                    rect x=(n(*from)) y=(n(ZONES)) width=(n(to - from)) height=(n(HIGH - ZONES)) {}
                }
                @if *zone == Zone::Watch { path d=(hatch(*from, *to)) stroke="#000" stroke-width=".9" {} }
            }
            rect x=".5" y=(n(ZONES)) width=(n(WIDE - 1.0)) height=(n(HIGH - ZONES - 0.5)) fill="none" stroke="#000" {}
            @for (_, to, _) in zones.iter().take(zones.len().saturating_sub(1)) {
                path d={ "M" (n(*to)) " " (n(ZONES)) "V" (n(HIGH)) } stroke="#000" {}
            }
            path d={ "M" (n(left)) " 2.5H" (n(right)) } stroke="#000" stroke-width="1.2" {}
            path d={ "M" (n(at - 4.0)) " 0H" (n(at + 4.0)) "L" (n(at)) " " (n(ZONES)) "Z" } {}
        }
    }
}

/// Leaning lines from one side to the other.
fn hatch(from: f64, to: f64) -> String {
    let high = HIGH - ZONES;
    let mut lines = String::new();
    let mut at = from + 0.5;
    while at < to {
        let lean = high.min(to - at);
        lines.push_str(&format!(
            "M{} {}l{} -{}",
            fixed(at, 1),
            fixed(HIGH, 1),
            fixed(lean, 1),
            fixed(lean, 1)
        ));
        at += HATCH;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::strip;
    use crate::report::building::paper::Strip;

    /// Black zones, hatched zones, and where the reading points to.
    fn drawn(edges: [Option<f64>; 4], value: f64) -> (usize, usize, f64) {
        let page = strip(&Strip { edges, value, doubt: 0.1 }, "a <b>reading").into_string();
        assert!(page.contains("aria-label=\"a &lt;b&gt;reading\""));
        let tip = page.rsplit_once("\"M").unwrap().1.split_once('L').unwrap().1;
        let at = tip.split_once(' ').unwrap().0.parse().unwrap();
        (page.matches("<rect").count() - 1, page.matches("stroke-width=\".9\"").count(), at)
    }

    #[test]
    fn black_lies_beyond_the_limits_hatched_beside_them_and_the_reading_between() {
        let all = [Some(1.0), Some(2.0), Some(4.0), Some(5.0)];
        let (black, hatched, at) = drawn(all, 3.0);
        assert_eq!((black, hatched), (2, 2));
        assert!((at - 50.0).abs() < 0.1, "in the middle of what is the same on both sides: {at}");
        assert!(drawn(all, 4.5).2 > 70.0 && drawn(all, 1.5).2 < 30.0);
        // One side only, or an edge for replacing alone.
        assert_eq!(
            (drawn([None, None, Some(4.0), Some(5.0)], 3.0).0, drawn([None, Some(2.0), None, None], 3.0).1),
            (1, 1)
        );
        assert_eq!(
            (drawn([Some(1.0), None, None, None], 3.0).0, drawn([None, None, None, Some(5.0)], 3.0).1),
            (1, 0)
        );
        // A reading far beyond is still on the strip.
        assert!((0.0..=100.0).contains(&drawn(all, 40.0).2));
    }
}
