//! A bike's runs one after another: their laps where they were timed, and how each was judged.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::drawing::{Drawn, INK, PALE, anchored, letters, mark, place, reach, to_svg};
use crate::advice::drawn::SeasonRun;
use crate::quantity::fixed;

/// Pixels across and upwards.
const SIZE: (u32, u32) = (900, 190);
/// Dates that have room beside each other.
const DATED: f64 = 10.0;

/// The season; none before two runs.
pub(super) fn svg(runs: &[SeasonRun], words: &str) -> Option<String> {
    if runs.len() < 2 {
        return None;
    }
    let laps = reach(runs.iter().filter_map(|run| run.lap_s));
    to_svg(SIZE, words, |area| draw(area, runs, laps))
}

fn draw(area: &super::drawing::Area<'_>, runs: &[SeasonRun], laps: Option<(f64, f64)>) -> Drawn {
    let (low, high) = laps.unwrap_or((0.0, 1.0));
    // Runs without a lap stand in a row of their own under the others.
    let row = low - 0.18 * (high - low);
    let last = place(runs.len());
    let mut axes = ChartBuilder::on(area)
        .margin(6)
        .margin_right(14)
        .set_label_area_size(LabelAreaPosition::Left, 64)
        .set_label_area_size(LabelAreaPosition::Bottom, 40)
        .build_cartesian_2d(-0.7..last - 0.3, (row - 0.12 * (high - low))..high)?;
    axes.configure_mesh()
        .disable_x_mesh()
        .x_labels(0)
        .light_line_style(TRANSPARENT)
        .bold_line_style(RGBColor(205, 205, 205))
        .axis_style(INK)
        .label_style(letters(INK))
        .axis_desc_style(letters(INK))
        .y_desc(if laps.is_some() { "best lap" } else { "" })
        .y_labels(if laps.is_some() { 5 } else { 0 })
        .y_label_formatter(&|value| if *value < low { String::new() } else { lap(*value) })
        .draw()?;
    let timed = |number: usize| {
        let run = runs.get(number)?;
        Some((place(number), run.lap_s?, run.place.as_ref()))
    };
    // Laps of one place hang together; those of two say nothing of each other.
    for number in 1..runs.len() {
        if let (Some((from, before, there)), Some((to, after, here))) = (timed(number - 1), timed(number))
            && there == here
        {
            axes.draw_series(LineSeries::new([(from, before), (to, after)], PALE.stroke_width(1)))?;
        }
    }
    let room = place(runs.len()) / DATED;
    let mut named: Option<f64> = None;
    for (number, run) in runs.iter().enumerate() {
        let at = place(number);
        mark(&mut axes, (at, run.lap_s.unwrap_or(row)), run.seen, 0)?;
        if let Some(cylinder) = &run.cylinder {
            let words = EmptyElement::at((at, run.lap_s.unwrap_or(row)))
                + Text::new(letter(cylinder), (0, -8), anchored(INK, HPos::Center, VPos::Bottom));
            axes.draw_series(std::iter::once(words))?;
        }
        let before = number.checked_sub(1).and_then(|before| runs.get(before));
        let day = run.date.day();
        let is_new = before.is_none_or(|before| before.place != run.place || before.date.day() != day);
        if is_new && named.is_none_or(|last| at - last >= room) {
            named = Some(at);
            let style = |ink| anchored(ink, HPos::Left, VPos::Top);
            let place = run.place.as_deref().map(shortened).unwrap_or_default();
            let text = EmptyElement::at((at, row - 0.12 * (high - low)))
                + Text::new(day.get(2..).unwrap_or(&day).to_owned(), (-4, 6), style(INK))
                + Text::new(place, (-4, 22), style(PALE));
            axes.draw_series(std::iter::once(text))?;
        }
    }
    Ok(())
}

/// A cylinder over its mark: the beginning of its name.
fn letter(cylinder: &str) -> String {
    crate::notebook::fields::names::visible(cylinder).chars().take(6).collect()
}

/// A name that has room under its run.
fn shortened(place: &str) -> String {
    let place = crate::notebook::fields::names::visible(place);
    let short: String = place.chars().take(9).collect();
    if short.len() < place.len() { format!("{}…", short.trim_end()) } else { short }
}

/// "1:02.4", "58.3".
fn lap(seconds: f64) -> String {
    let minutes = (seconds / 60.0).floor();
    if minutes < 1.0 {
        return fixed(seconds, 1);
    }
    let rest = seconds - 60.0 * minutes;
    let gap = if rest < 9.95 { "0" } else { "" };
    format!("{}:{gap}{}", fixed(minutes, 0), fixed(rest, 1))
}
