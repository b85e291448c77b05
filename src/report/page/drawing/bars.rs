//! The parts of a package on one axis of engine speed, a bar each.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::{Axes, Drawn, INK, anchored, letters, place, to_svg};
use crate::report::draw::spans::{Span, WorkingSpan};
use crate::report::words::layout::{capital, grouped};

/// Pixels of a row, and around all of them.
const ROW: u32 = 17;
const AROUND: u32 = 66;
/// Pixels across.
const ACROSS: u32 = 440;
/// Lines of a hatch across the axis.
const HATCH: u32 = 60;

/// Rows on one axis, with an upright where the pipe is tuned to; none where no part is known.
pub(in crate::report::page) fn svg(
    rows: &[Span],
    pipe: Option<f64>,
    window: Option<(f64, f64)>,
    words: &str,
) -> Option<String> {
    let known: Vec<&Span> = rows.iter().filter(|row| row.reach != WorkingSpan::NotKnown).collect();
    let (left, right) = window?;
    let height = AROUND + ROW * u32::try_from(known.len()).ok().filter(|rows| *rows > 0)?;
    to_svg((ACROSS, height), words, |area| {
        let rows = place(known.len());
        let mut axes = ChartBuilder::on(area)
            .margin(2)
            .margin_top(20)
            .margin_right(28)
            .set_label_area_size(LabelAreaPosition::Left, 142)
            .set_label_area_size(LabelAreaPosition::Bottom, 44)
            .build_cartesian_2d(left..right, rows..0.0)?;
        axes.configure_mesh()
            .disable_y_mesh()
            .y_labels(0)
            .light_line_style(TRANSPARENT)
            .bold_line_style(RGBColor(205, 205, 205))
            .axis_style(INK)
            .label_style(letters(INK))
            .axis_desc_style(letters(INK))
            .x_desc("rpm")
            .x_labels(4)
            .x_label_formatter(&|value| grouped(*value))
            .draw()?;
        for (number, row) in known.iter().enumerate() {
            bar(&mut axes, place(number), row, (left, right))?;
        }
        if let Some(pipe) = pipe.filter(|pipe| (left..right).contains(pipe)) {
            axes.draw_series(LineSeries::new([(pipe, 0.0), (pipe, rows)], INK.stroke_width(2)))?;
            let name = Text::new("pipe".to_owned(), (pipe, 0.0), anchored(INK, HPos::Center, VPos::Bottom));
            axes.draw_series(std::iter::once(name))?;
        }
        Ok(())
    })
}

/// What the signs that are drawn mean, in sentences.
pub(in crate::report::page) fn key(rows: &[Span], pipe: Option<f64>) -> String {
    let any = |wanted: fn(&WorkingSpan) -> bool| rows.iter().any(|row| wanted(&row.reach));
    let signs = [
        (any(|reach| matches!(reach, WorkingSpan::Between(..))), "grey: from speed to speed"),
        (
            any(|reach| matches!(reach, WorkingSpan::From(_) | WorkingSpan::UpTo(_))),
            "hatched: goes on past the edge it meets",
        ),
        (any(|reach| matches!(reach, WorkingSpan::At(_))), "thick stroke: one speed"),
        (pipe.is_some(), "upright line: the pipe"),
    ];
    let said: Vec<&str> = signs.into_iter().filter(|(is, _)| *is).map(|(_, words)| words).collect();
    if said.is_empty() { String::new() } else { format!("{}.", capital(&said.join("; "))) }
}

/// A bar with its label; a part that names one speed is a stroke, one without an end is hatched to the edge.
fn bar(axes: &mut Axes<'_, '_>, number: f64, row: &Span, (left, right): (f64, f64)) -> Drawn {
    let (top, bottom, middle) = (number + 0.22, number + 0.78, number + 0.5);
    let label = EmptyElement::at((left, middle))
        + Text::new(row.label.clone(), (-6, 0), anchored(INK, HPos::Right, VPos::Center));
    axes.draw_series(std::iter::once(label))?;
    let (from, to, is_open) = match row.reach {
        WorkingSpan::NotKnown => return Ok(()),
        WorkingSpan::At(at) => (at, at, false),
        WorkingSpan::Between(from, to) => (from.min(to), from.max(to), false),
        WorkingSpan::From(from) => (from, right, true),
        WorkingSpan::UpTo(to) => (left, to, true),
    };
    let within = |speed: f64| speed.clamp(left, right);
    let away = to < left || from > right;
    if away {
        // Beyond the axis: an arrow of words, at the edge where it lies.
        let (edge, across, sign) = if to < left {
            (left, HPos::Left, format!("< {}", grouped(to)))
        } else {
            (right, HPos::Right, format!("{} >", grouped(from)))
        };
        let words = Text::new(sign, (edge, middle), anchored(INK, across, VPos::Center));
        axes.draw_series(std::iter::once(words))?;
        return Ok(());
    }
    if matches!(row.reach, WorkingSpan::At(_)) {
        axes.draw_series(LineSeries::new([(from, top), (from, bottom)], INK.stroke_width(4)))?;
        return Ok(());
    }
    let (from, to) = (within(from), within(to));
    if is_open {
        let step = (right - left) / f64::from(HATCH);
        let lean = step * 0.9;
        let lines = (0..=HATCH).map(|line| left + step * f64::from(line));
        for at in lines.filter(|at| *at >= from && at + lean <= to) {
            axes.draw_series(LineSeries::new([(at, bottom), (at + lean, top)], INK.stroke_width(1)))?;
        }
    }
    let inside = if is_open { TRANSPARENT.filled() } else { RGBColor(200, 200, 200).filled() };
    axes.draw_series(std::iter::once(Rectangle::new([(from, top), (to, bottom)], inside)))?;
    axes.draw_series(std::iter::once(Rectangle::new([(from, top), (to, bottom)], INK.stroke_width(1))))?;
    Ok(())
}
