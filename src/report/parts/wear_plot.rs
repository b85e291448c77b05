//! The drawing of a dimension's wear.

use crate::advice::parts::wear::{Arrival, Pace};
use crate::quantity::trimmed;
use crate::report::draw::plot::{Curve, Plot, real};
use crate::report::out::screen::Screen;
use crate::report::parts::wear::PartWearAnswer;

/// Rows of a drawing.
const ROWS: usize = 16;
/// Points of a curve.
const POINTS: usize = 200;
/// How far beyond the readings a drawing goes at most, in spans of theirs.
const BEYOND: f64 = 3.0;
/// Columns left free on either side of a reading.
const ROOM: f64 = 1.3;

/// Readings, line, edges of the band and limit over the hours; none without a rate.
pub(super) fn drawing(answer: &PartWearAnswer, screen: &Screen) -> Option<String> {
    let wear = &answer.wear;
    let (symbol, size, _) = answer.shown(screen.units());
    let factor = size * answer.metric();
    let read: Vec<(f64, f64)> = wear
        .used
        .iter()
        .map(|place| (place.hours_h - wear.zero_h, answer.readings[place.reading].value.0))
        .collect();
    let (first, newest) = (*read.first()?, *read.last()?);
    let now = wear.axis.now_h - wear.zero_h;
    let span = newest.0 - first.0;
    let soonest = wear.arrival.and_then(Arrival::soonest_h);
    let wanted = [Some(now), soonest.map(|hours| hours * 1.1)].into_iter().flatten().fold(newest.0, f64::max);
    let last = wanted.min(newest.0 + BEYOND * span);
    let hours = |index: usize| first.0 + (last - first.0) * real(index) / real(POINTS);
    // A reading is seen where the curves leave it room.
    let room = (last - first.0) / real(screen.width()) * ROOM;
    let is_free = |at: f64| !read.iter().any(|(hours, _)| (hours - at).abs() < room);
    let curve = |mark: char, name: &str, of: &dyn Fn(f64) -> f64| Curve {
        mark,
        name: name.to_owned(),
        points: (0..=POINTS)
            .map(|index| {
                (hours(index), if is_free(hours(index)) { of(hours(index)) / factor } else { f64::NAN })
            })
            .collect(),
    };
    let mut curves = match &wear.pace {
        Pace::OneReading | Pace::DidNotRun => return None,
        Pace::Two { rate, .. } | Pace::AtMost { rate } => {
            vec![curve('o', "straight through both", &|at| {
                newest.1 * answer.metric() + rate * (at - newest.0)
            })]
        }
        Pace::Line { line, raised, .. } => {
            let middle = |at: f64| line.dimension_m(at).map_or(f64::NAN, |all| all - raised);
            let edge = |at: f64, high: bool| {
                let band = line.next_reading_between(at, answer.level_percent.0 / 100.0);
                band.map_or(f64::NAN, |band| if high { band.high - raised } else { band.low - raised })
            };
            let name = format!("{} % of further readings lie between", trimmed(answer.level_percent.0, 1));
            // One curve that steps back between the edges.
            let mut band = curve('~', &name, &|at| edge(at, false));
            band.points.extend(curve('~', &name, &|at| edge(at, true)).points);
            vec![band, curve('o', "line", &middle)]
        }
    };
    if let Some(limit) = &answer.limit {
        let name = format!("limit {}", answer.limit_words(limit, screen.units()));
        let points = [first.0, last].map(|at| (at, limit.value.0 / size)).to_vec();
        curves.push(Curve { mark: '=', name, points });
    }
    // Between two readings there is no line.
    let points = read.iter().flat_map(|(hours, value)| [(*hours, value / size), (f64::NAN, f64::NAN)]);
    curves.push(Curve { mark: 'X', name: "readings".to_owned(), points: points.collect() });
    let uprights =
        if wear.axis.changed_since.is_empty() { vec![(now, "now".to_owned())] } else { Vec::new() };
    let y_name = format!("{}, {symbol}", answer.kind.words);
    let plot = Plot { x_name: "hours", y_name: &y_name, curves, uprights };
    Some(plot.text(screen.width(), ROWS))
}
