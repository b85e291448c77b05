//! The drawings of a sheet that have two axes: spark, ports, jets.

use super::{Drawing, DrawnLine, Mark, Stroke};
use crate::advice::drawn::{JetOverAir, JudgedRun, Size};
use crate::advice::figures::Known;
use crate::advice::figures::ports::PortFigures;
use crate::notebook::Mixture;
use crate::report::parts::wear_plot::WearDrawn;

/// The spark of a setup over engine speed, and of another beside it.
pub(in crate::report::page) fn spark(
    this: &Known<Vec<(f64, f64)>>,
    other: Option<&Known<Vec<(f64, f64)>>>,
    words: &str,
) -> Option<String> {
    let mut lines = vec![DrawnLine { stroke: Stroke::Solid, points: this.clone().ok()? }];
    if let Some(Ok(points)) = other {
        lines.push(DrawnLine { stroke: Stroke::Dashed, points: points.clone() });
    }
    Drawing {
        x_name: "rpm",
        y_name: "deg BTDC",
        decimals: (0, 0),
        lines,
        marks: Vec::new(),
        dots: Vec::new(),
        uprights: Vec::new(),
    }
    .svg(words)
}

/// The open areas over the crank angle: exhaust, blowdown, transfers, intake by their strokes.
pub(in crate::report::page) fn ports(figures: &PortFigures, words: &str) -> Option<String> {
    let stroke = |name: &str| match name {
        "exhaust" => Some(Stroke::Solid),
        "transfers" => Some(Stroke::Dashed),
        "intake" => Some(Stroke::Dotted),
        _ => None,
    };
    let lines: Vec<DrawnLine> = figures
        .jobs
        .iter()
        .filter(|job| !job.curve.is_empty())
        .filter_map(|job| {
            let points = job.curve.iter().map(|(angle, area_m2)| (*angle, area_m2 * 1e6)).collect();
            Some(DrawnLine { stroke: stroke(job.name)?, points })
        })
        .collect();
    if lines.is_empty() {
        return None;
    }
    Drawing {
        x_name: "degrees after top dead centre",
        y_name: "open area, mm2",
        decimals: (0, 0),
        lines,
        marks: Vec::new(),
        dots: Vec::new(),
        uprights: Vec::new(),
    }
    .svg(words)
}

/// The judged runs by air and main jet, what is to be fitted beside today's air and what then, and that air.
pub(in crate::report::page) fn jets(jets: &JetOverAir, words: &str) -> Option<String> {
    let near = |density: f64| (density - jets.today).abs() < FAR;
    let runs = jets.runs.iter().filter(|run| near(run.density_percent));
    let mut marks: Vec<Mark> =
        runs.map(|run| Mark { at: (run.density_percent, run.size), seen: run.seen }).collect();
    // What must not be overlooked lies on top.
    marks.sort_by_key(|mark| match mark.seen {
        JudgedRun::Lean | JudgedRun::Judged(Mixture::Lean) => 2,
        JudgedRun::Judged(Mixture::SlightlyLean) => 1,
        _ => 0,
    });
    let fit = DrawnLine { stroke: Stroke::Solid, points: jets.advised.clone() };
    // A stretch where the next step is the last has no other line.
    let then = jets.then.iter().map(|points| DrawnLine { stroke: Stroke::Dashed, points: points.clone() });
    Drawing {
        x_name: "air density, % of standard",
        y_name: match jets.of {
            Size::Main => "main jet",
            Size::Trim => "trim, %",
        },
        decimals: (0, 0),
        lines: std::iter::once(fit).chain(then).collect(),
        marks,
        dots: Vec::new(),
        uprights: vec![(jets.today, "now".to_owned())],
    }
    .svg(words)
}

/// Runs in an air further off are not drawn, percent of density.
const FAR: f64 = 15.0;

/// Hours among which tenths are told.
const FEW_HOURS: f64 = 6.0;

/// How a dimension wears: its readings, the line through them with the edges of a further reading, and the limit.
pub(in crate::report::page) fn wear(drawn: &WearDrawn, decimals: usize, words: &str) -> Option<String> {
    let (first, last) = drawn.span;
    let mut lines = vec![DrawnLine { stroke: Stroke::Solid, points: drawn.line.clone() }];
    let edges = drawn.band.iter().flatten();
    lines.extend(edges.map(|edge| DrawnLine { stroke: Stroke::Dotted, points: edge.clone() }));
    lines.extend(drawn.limit.iter().map(|(limit, _)| DrawnLine {
        stroke: Stroke::Dashed,
        points: vec![(first, *limit), (last, *limit)],
    }));
    Drawing {
        x_name: "hours",
        // The dimension is the title over it, and too long beside an axis.
        y_name: drawn.name.rsplit_once(", ").map_or(drawn.name.as_str(), |(_, unit)| unit),
        decimals: (usize::from(last - first < FEW_HOURS), decimals),
        lines,
        marks: Vec::new(),
        dots: drawn.read.clone(),
        uprights: drawn.now.map(|now| (now, "now".to_owned())).into_iter().collect(),
    }
    .svg(words)
}
