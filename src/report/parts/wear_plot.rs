//! The drawing of a dimension's wear, at a terminal and on a sheet.

use crate::advice::parts::wear::{Arrival, Pace};
use crate::quantity::{Units, trimmed};
use crate::report::draw::plot::{Curve, Plot, real};
use crate::report::out::screen::Screen;
use crate::report::parts::wear::PartWearAnswer;

/// Rows of a drawing.
const ROWS: usize = 16;
/// Points of a curve at a terminal.
const POINTS: usize = 200;
/// How far beyond the readings a drawing goes at most, in spans of theirs.
const BEYOND: f64 = 3.0;
/// Columns left free on either side of a reading.
const ROOM: f64 = 1.3;

/// What is drawn of a dimension over hours, in the unit it is shown in.
pub(in crate::report) struct WearDrawn {
    /// The dimension with its unit.
    pub(in crate::report) name: String,
    /// The readings that are used.
    pub(in crate::report) read: Vec<(f64, f64)>,
    /// The line through them; from the last one on where there are two.
    pub(in crate::report) line: Vec<(f64, f64)>,
    /// The edges between which a further reading lies with the level's chance; none without a line through three.
    pub(in crate::report) band: Option<[Vec<(f64, f64)>; 2]>,
    /// The limit, and what it is called.
    pub(in crate::report) limit: Option<(f64, String)>,
    /// The hours now; none where what is in the engine is another part.
    pub(in crate::report) now: Option<f64>,
    /// The first and the last hour that is drawn.
    pub(in crate::report) span: (f64, f64),
}

impl WearDrawn {
    /// Readings, line, edges of the band and limit over the hours, each curve by so many points; none without a rate.
    pub(in crate::report) fn of(answer: &PartWearAnswer, units: Units, points: usize) -> Option<Self> {
        let wear = &answer.wear;
        let (symbol, size, _) = answer.shown(units);
        let factor = size * answer.metric();
        let value = |reading: usize| answer.readings.get(reading).map(|read| read.value.0);
        let read: Vec<(f64, f64)> = wear
            .used
            .iter()
            .filter_map(|place| Some((place.hours_h - wear.zero_h, value(place.reading)?)))
            .collect();
        let (first, newest) = (*read.first()?, *read.last()?);
        let now = wear.axis.now_h - wear.zero_h;
        let soonest = wear.arrival.and_then(Arrival::soonest_h);
        let wanted =
            [Some(now), soonest.map(|hours| hours * 1.1)].into_iter().flatten().fold(newest.0, f64::max);
        let last = wanted.min(newest.0 + BEYOND * (newest.0 - first.0));
        let hours = |index: usize| first.0 + (last - first.0) * real(index) / real(points);
        let curve = |of: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
            (0..=points).map(|index| (hours(index), of(hours(index)) / factor)).collect()
        };
        let (line, band) = match &wear.pace {
            Pace::OneReading | Pace::DidNotRun => return None,
            Pace::Two { rate, .. } | Pace::AtMost { rate } => {
                (curve(&|at| newest.1 * answer.metric() + rate * (at - newest.0)), None)
            }
            Pace::Line { line, raised, .. } => {
                let edge = |at: f64, high: bool| {
                    let band = line.next_reading_between(at, answer.level_percent.0 / 100.0);
                    band.map_or(f64::NAN, |band| if high { band.high - raised } else { band.low - raised })
                };
                let middle = |at: f64| line.dimension_m(at).map_or(f64::NAN, |all| all - raised);
                (curve(&middle), Some([curve(&|at| edge(at, false)), curve(&|at| edge(at, true))]))
            }
        };
        let limit = answer
            .limit
            .as_ref()
            .map(|limit| (limit.value.0 / size, format!("limit {}", answer.limit_words(limit, units))));
        Some(Self {
            name: format!("{}, {symbol}", answer.kind.words),
            read: read.iter().map(|(hours, value)| (*hours, value / size)).collect(),
            line,
            band,
            limit,
            now: wear.axis.changed_since.is_empty().then_some(now),
            span: (first.0, last),
        })
    }
}

/// The same at a terminal; none without a rate.
pub(super) fn drawing(answer: &PartWearAnswer, screen: &Screen) -> Option<String> {
    let drawn = WearDrawn::of(answer, screen.units(), POINTS)?;
    let (first, last) = drawn.span;
    // A reading is seen where the curves leave it room.
    let room = (last - first) / real(screen.width()) * ROOM;
    let is_free = |at: f64| !drawn.read.iter().any(|(hours, _)| (hours - at).abs() < room);
    let curve = |mark: char, name: &str, points: &[(f64, f64)]| Curve {
        mark,
        name: name.to_owned(),
        points: points
            .iter()
            .map(|(at, value)| (*at, if is_free(*at) { *value } else { f64::NAN }))
            .collect(),
    };
    let mut curves = match &drawn.band {
        None => vec![curve('o', "straight through both", &drawn.line)],
        Some(edges) => {
            let level = trimmed(answer.level_percent.0, 1);
            let name = format!("{level} % of further readings lie between");
            // One curve that steps back between the edges.
            vec![curve('~', &name, &edges.concat()), curve('o', "line", &drawn.line)]
        }
    };
    if let Some((limit, name)) = &drawn.limit {
        let points = [first, last].map(|at| (at, *limit)).to_vec();
        curves.push(Curve { mark: '=', name: name.clone(), points });
    }
    // Between two readings there is no line.
    let points = drawn.read.iter().flat_map(|read| [*read, (f64::NAN, f64::NAN)]);
    curves.push(Curve { mark: 'X', name: "readings".to_owned(), points: points.collect() });
    let uprights = drawn.now.map(|now| (now, "now".to_owned())).into_iter().collect();
    let plot = Plot { x_name: "hours", y_name: &drawn.name, curves, uprights };
    Some(plot.text(screen.width(), ROWS))
}
