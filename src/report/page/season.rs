//! A bike's runs one after another, event by event: how far their laps were off the best of the place, and how each was judged.

use std::collections::BTreeSet;

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::drawing::{Area, Axes, Drawn, INK, LETTERS, PALE, anchored, letters, mark, place, reach, to_svg};
use crate::advice::drawn::SeasonRun;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;

/// Pixels across and upwards, of a whole season and of a part of it.
const WHOLE: (u32, u32) = (900, 210);
const PART: (u32, u32) = (440, 210);
/// Events that have room in a part.
const EVENTS: usize = 6;
/// Pixels beside the plot and under it.
const BESIDE: u32 = 72;
const UNDER: u32 = 76;
const RIGHT: u32 = 10;
/// How long after the last run of an event another one still belongs to it, s.
const APART: i64 = 2 * 24 * 3600;
/// The most letters of a cylinder's name beside a mark.
const LONGEST: usize = 6;
/// What leads the eye and is not read.
const FAINT: RGBColor = RGBColor(190, 190, 190);
/// Letters of a place that have room under two events.
const NAME: usize = 14;

/// The season as one drawing; none before two runs.
pub(super) fn svg(runs: &[SeasonRun], words: &str) -> Option<String> {
    draw_on(WHOLE, &newest(runs, 2 * EVENTS), words)
}

/// The same in parts that are as wide as the other drawings, the older first.
pub(super) fn parts(runs: &[SeasonRun], words: &str) -> Vec<String> {
    let events = newest(runs, 2 * EVENTS);
    let older = events.len().saturating_sub(EVENTS);
    let (older, newer) = events.split_at(older);
    [older, newer].into_iter().filter_map(|part| draw_on(PART, part, words)).collect()
}

/// The newest events, each with its runs at one place on days near each other.
fn newest(runs: &[SeasonRun], most: usize) -> Vec<&[SeasonRun]> {
    let is_one = |one: &SeasonRun, next: &SeasonRun| {
        one.place == next.place && next.date.unix() - one.date.unix() <= APART
    };
    let events: Vec<&[SeasonRun]> = runs.chunk_by(is_one).collect();
    let first = events.len().saturating_sub(most);
    events.into_iter().skip(first).collect()
}

fn draw_on(size: (u32, u32), events: &[&[SeasonRun]], words: &str) -> Option<String> {
    let runs: usize = events.iter().map(|event| event.len()).sum();
    if runs < 2 {
        return None;
    }
    let laps = reach(events.iter().flat_map(|event| event.iter()).filter_map(|run| run.off_best_percent));
    to_svg(size, words, |area| draw(area, events, (laps, f64::from(size.0 - BESIDE - RIGHT))))
}

fn draw(area: &Area<'_>, events: &[&[SeasonRun]], (laps, across): (Option<(f64, f64)>, f64)) -> Drawn {
    let (low, high) = laps.unwrap_or((0.0, 1.0));
    // Runs without a lap stand in a row of their own under the others.
    let row = low - 0.2 * (high - low);
    let foot = row - 0.14 * (high - low);
    let untimed = events.iter().flat_map(|event| event.iter()).any(|run| run.off_best_percent.is_none());
    let mut axes = ChartBuilder::on(area)
        .margin_top(8)
        .margin_right(RIGHT)
        .set_label_area_size(LabelAreaPosition::Left, BESIDE)
        .set_label_area_size(LabelAreaPosition::Bottom, UNDER)
        .build_cartesian_2d(0.0..across, foot..high)?;
    axes.configure_mesh()
        .disable_x_mesh()
        .x_labels(0)
        .light_line_style(TRANSPARENT)
        .bold_line_style(RGBColor(205, 205, 205))
        .axis_style(INK)
        .label_style(letters(INK))
        .axis_desc_style(letters(INK))
        .y_desc(if laps.is_some() { "% off best" } else { "" })
        .y_labels(if laps.is_some() { 4 } else { 0 })
        .y_label_formatter(&|value| if *value < low { String::new() } else { tick(*value, high - low) })
        .draw()?;
    if untimed && laps.is_some() {
        let words = EmptyElement::at((0.0, row))
            + Text::new("no lap".to_owned(), (-8, 0), anchored(INK, HPos::Right, VPos::Center));
        axes.draw_series(std::iter::once(words))?;
    }
    // Half of the room is every event's alike, half goes by its runs.
    let all: usize = events.iter().map(|event| event.len()).sum();
    let width = |event: &[SeasonRun]| {
        across * f64::midpoint(1.0 / place(events.len()), place(event.len()) / place(all))
    };
    let letters = told_apart(&names(events.iter().flat_map(|event| event.iter())));
    let mut from = 0.0;
    for (number, event) in events.iter().enumerate() {
        let wide = width(event);
        event_of(&mut axes, event, (from, wide), (row, letters))?;
        let is_last = number + 1 == events.len();
        named(&mut axes, event, (number, is_last), (from, across, foot, high))?;
        from += wide;
    }
    Ok(())
}

/// The marks of an event; its laps hang together.
fn event_of(
    axes: &mut Axes<'_, '_>,
    event: &[SeasonRun],
    (from, wide): (f64, f64),
    (row, letters): (f64, usize),
) -> Drawn {
    let at = |number: usize| from + wide * (place(number) + 0.5) / place(event.len());
    let timed =
        event.iter().enumerate().filter_map(|(number, run)| Some((at(number), run.off_best_percent?)));
    axes.draw_series(LineSeries::new(timed, PALE.stroke_width(1)))?;
    for (number, run) in event.iter().enumerate() {
        let at = (at(number), run.off_best_percent.unwrap_or(row));
        mark(axes, at, run.seen)?;
        if let Some(cylinder) = &run.cylinder {
            let letter = letter(cylinder, letters);
            let words =
                EmptyElement::at(at) + Text::new(letter, (0, -7), anchored(INK, HPos::Center, VPos::Bottom));
            axes.draw_series(std::iter::once(words))?;
        }
    }
    Ok(())
}

/// Day and place of an event under it, with a line down to them; of two neighbours one stands lower, so that each has room.
fn named(
    axes: &mut Axes<'_, '_>,
    event: &[SeasonRun],
    (number, is_last): (usize, bool),
    (from, across, foot, high): (f64, f64, f64, f64),
) -> Drawn {
    let Some(first) = event.first() else { return Ok(()) };
    let line = i32::try_from(LETTERS).unwrap_or(0) * 9 / 10;
    let down = if number % 2 == 0 { 2 } else { 2 + 2 * line };
    if from > 0.0 {
        axes.draw_series(LineSeries::new([(from, foot), (from, high)], FAINT))?;
    }
    let leader = EmptyElement::at((from, foot)) + PathElement::new(vec![(0, 0), (0, down + line)], FAINT);
    axes.draw_series(std::iter::once(leader))?;
    let name = first.place.as_deref().map(shortened).unwrap_or_default();
    // The last one has no neighbour to grow over, but an edge.
    let edge = i32::try_from(RIGHT).unwrap_or(0);
    let (at, across, shift) = if is_last { (across, HPos::Right, edge) } else { (from, HPos::Left, 4) };
    let style = || anchored(INK, across, VPos::Top);
    let text = EmptyElement::at((at, foot))
        + Text::new(first.date.day(), (shift, down), style())
        + Text::new(name, (shift, down + line), style());
    axes.draw_series(std::iter::once(text))?;
    Ok(())
}

/// The cylinders that stand at marks.
fn names<'a>(runs: impl Iterator<Item = &'a SeasonRun>) -> BTreeSet<&'a str> {
    runs.filter_map(|run| run.cylinder.as_deref()).collect()
}

/// How many letters tell them apart.
fn told_apart(names: &BTreeSet<&str>) -> usize {
    let apart = |letters: &usize| {
        let short: BTreeSet<String> = names.iter().map(|name| letter(name, *letters)).collect();
        short.len() == names.len()
    };
    (1..LONGEST).find(apart).unwrap_or(LONGEST)
}

/// The beginning of a cylinder's name.
fn letter(name: &str, letters: usize) -> String {
    visible(name).chars().take(letters).collect()
}

/// What the letters at the marks mean: "l left, r right"; none where there are none.
pub(super) fn cylinders(runs: &[SeasonRun]) -> Option<String> {
    let events = newest(runs, 2 * EVENTS);
    let names = names(events.into_iter().flatten());
    let letters = told_apart(&names);
    let said: Vec<String> =
        names.iter().map(|name| format!("{} {}", letter(name, letters), visible(name))).collect();
    (!said.is_empty()).then(|| said.join(", "))
}

/// A name that has room under its event.
fn shortened(place: &str) -> String {
    let place = visible(place);
    let short: String = place.chars().take(NAME).collect();
    if short.len() < place.len() { format!("{}…", short.trim_end()) } else { short }
}

/// "0", "2.5".
fn tick(value: f64, span: f64) -> String {
    fixed(value.max(0.0), usize::from(span < 4.0))
}
