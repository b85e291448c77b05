//! The drawings of a sheet that have two axes: spark, ports, jets.

use std::collections::BTreeSet;

use super::drawing::{Drawing, DrawnLine, Mark, Stroke};
use crate::advice::drawn::{JetOverAir, Size};
use crate::advice::figures::Known;
use crate::advice::figures::ports::PortFigures;
use crate::notebook::fields::names::visible;
use crate::report::parts::wear_plot::WearDrawn;

/// The spark of a setup over engine speed, and of another beside it.
pub(super) fn spark(
    this: &Known<Vec<(f64, f64)>>,
    other: Option<&Known<Vec<(f64, f64)>>>,
    words: &str,
) -> Option<String> {
    let mut lines = vec![DrawnLine { name: None, stroke: Stroke::Solid, points: this.clone().ok()? }];
    if let Some(Ok(points)) = other {
        lines.push(DrawnLine { name: None, stroke: Stroke::Dashed, points: points.clone() });
    }
    Drawing {
        x_name: "rpm",
        y_name: "degrees before top",
        decimals: (0, 0),
        lines,
        marks: Vec::new(),
        dots: Vec::new(),
        uprights: Vec::new(),
    }
    .svg(words)
}

/// The open areas over the crank angle: exhaust, blowdown, transfers, intake by their strokes.
pub(super) fn ports(figures: &PortFigures, words: &str) -> Option<String> {
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
            Some(DrawnLine { name: None, stroke: stroke(job.name)?, points })
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

/// How the lines of several cylinders are drawn, the first first.
const STROKES: [Stroke; 3] = [Stroke::Solid, Stroke::Dashed, Stroke::Dotted];

/// The most cylinders whose jets stand in one drawing.
pub(super) const TOGETHER: usize = STROKES.len();

/// The judged runs by air and main jet, the advice beside today's air, and that air; of several cylinders each with a line of its own,
/// [`TOGETHER`] at most.
pub(super) fn jets(all: &[(Option<&str>, &JetOverAir)], words: &str) -> Option<String> {
    let (_, first) = all.first()?;
    let near = |density: f64| (density - first.today).abs() < FAR;
    let several = all.len() > 1;
    let named = |name: Option<&str>| name.filter(|_| several).map(visible);
    let line = |(stroke, (name, jets)): (&Stroke, &(Option<&str>, &JetOverAir))| DrawnLine {
        name: named(*name),
        stroke: *stroke,
        points: jets.advised.clone(),
    };
    // As short as tells them apart.
    let letters = (1..=LONGEST).find(|letters| {
        let short = |name: Option<&str>| shortened(name.unwrap_or_default(), *letters);
        let told: BTreeSet<String> = all.iter().map(|(name, _)| short(*name)).collect();
        told.len() == all.len()
    });
    let of = |name: Option<&str>, place: usize| {
        named(name).map(|name| (shortened(&name, letters.unwrap_or(LONGEST)), place))
    };
    let runs = all.iter().enumerate().flat_map(|(place, (name, jets))| {
        jets.runs.iter().filter(|run| near(run.density_percent)).map(move |run| Mark {
            at: (run.density_percent, run.size),
            seen: run.seen,
            of: of(*name, place),
        })
    });
    Drawing {
        x_name: "air density, % of standard",
        y_name: match first.of {
            Size::Main => "main jet",
            Size::Trim => "trim, %",
        },
        decimals: (0, usize::from(first.of == Size::Trim)),
        lines: STROKES.iter().zip(all).map(line).collect(),
        marks: runs.collect(),
        dots: Vec::new(),
        uprights: vec![(first.today, "now".to_owned())],
    }
    .svg(words)
}

/// The most letters of a cylinder's name that stand beside a mark.
const LONGEST: usize = 4;

fn shortened(name: &str, letters: usize) -> String {
    name.chars().take(letters).collect()
}

/// Runs in an air further off are not drawn, percent of density.
const FAR: f64 = 15.0;

/// Hours among which tenths are told.
const FEW_HOURS: f64 = 6.0;

/// How a dimension wears: its readings, the line through them with the edges of a further reading, and the limit.
pub(super) fn wear(drawn: &WearDrawn, decimals: usize, words: &str) -> Option<String> {
    let (first, last) = drawn.span;
    let mut lines = vec![DrawnLine { name: None, stroke: Stroke::Solid, points: drawn.line.clone() }];
    let edges = drawn.band.iter().flatten();
    lines.extend(edges.map(|edge| DrawnLine { name: None, stroke: Stroke::Dotted, points: edge.clone() }));
    lines.extend(drawn.limit.iter().map(|(limit, _)| DrawnLine {
        name: None,
        stroke: Stroke::Dashed,
        points: vec![(first, *limit), (last, *limit)],
    }));
    Drawing {
        x_name: "hours",
        y_name: &drawn.name,
        decimals: (usize::from(last - first < FEW_HOURS), decimals),
        lines,
        marks: Vec::new(),
        dots: drawn.read.clone(),
        uprights: drawn.now.map(|now| (now, "now".to_owned())).into_iter().collect(),
    }
    .svg(words)
}
