//! The drawing of how long a kind of part lives.

use crate::advice::parts::life::Estimate;
use crate::report::draw::plot::{Curve, Plot, real};
use crate::report::out::screen::Screen;
use crate::report::parts::life::{DoubtedHours, PartLifeAnswer, hours, percent};

/// Rows of a drawing.
const ROWS: usize = 16;
/// Points of a curve.
const POINTS: usize = 200;

/// The chance of failure over the hours, with the failures marked.
pub(super) fn drawing(answer: &PartLifeAnswer, known: &Estimate, screen: &Screen) -> String {
    let reached = answer.hours_at_risk_h.map(DoubtedHours::likeliest_h);
    let change = answer.change_after_h.map(|change| change.0);
    let last = [reached, change].into_iter().flatten().fold(answer.longest_h(), f64::max) * 1.05;
    let at = |index: usize| last * real(index) / real(POINTS);
    let curve = (0..=POINTS).map(|index| (at(index), 100.0 * known.chance(at(index)))).collect();
    let bound = known.scale_h.value.is_none();
    let name = if bound { "greatest chance without a failure" } else { "fitted" };
    let mut curves = vec![Curve { mark: 'o', name: name.to_owned(), points: curve }];
    if !answer.marks.is_empty() {
        // Between two marks there is no line.
        let points = answer
            .marks
            .iter()
            .flat_map(|mark| [(mark.hours_h.0, 100.0 * mark.share.0), (f64::NAN, f64::NAN)]);
        curves.push(Curve {
            mark: 'X',
            name: "failures (Kaplan-Meier)".to_owned(),
            points: points.collect(),
        });
    }
    let mut uprights = Vec::new();
    if let (Some(reached), Some(risk)) = (reached, &answer.risk) {
        uprights.push((reached, format!("{} at {}", percent(risk.percent.0), hours(reached))));
    }
    uprights.extend(change.map(|change| (change, format!("changed at {}", hours(change)))));
    let plot = Plot { x_name: "hours", y_name: "chance of failure, %", curves, uprights };
    plot.text(screen.width(), ROWS)
}
