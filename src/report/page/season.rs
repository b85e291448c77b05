//! A bike's runs one after another, event by event: how far their laps were off the best of the place, and how each was judged.

use std::collections::BTreeSet;

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use super::drawing::{Area, Axes, Drawn, INK, LETTERS, PALE, anchored, letters, mark, place, reach, to_svg};
use crate::advice::drawn::SeasonRun;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;

/// Pixels across and upwards, of a whole season and of a part of it.
const WHOLE: (u32, u32) = (1000, 210);
const PART: (u32, u32) = (440, 210);
/// Events that have room in a part.
const EVENTS: usize = 6;
/// Pixels beside the plot, and of a line of words under it.
const BESIDE: u32 = 72;
/// The same where "no lap" stands there, too.
const BESIDE_NO_LAP: u32 = 100;
const RIGHT: u32 = 10;
const LEFT: u32 = 4;
const LINE: u32 = LETTERS * 9 / 10;
/// Pixels that a letter takes at most there, of a sans that is wider than most.
const LETTER: usize = 10;
/// How long after the last run of an event another one still belongs to it, s.
const APART: i64 = 2 * 24 * 3600;
/// The most letters of a cylinder's name beside a mark.
const LONGEST: usize = 6;
/// What leads the eye and is not read.
const FAINT: RGBColor = RGBColor(190, 190, 190);
/// Rows of names that leave the plot its room.
const ROWS: usize = 4;
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
    let timed = || events.iter().flat_map(|event| event.iter()).filter_map(|run| run.off_best_percent);
    // Nothing is faster than the best: the axis begins there.
    let laps = timed().next().and_then(|_| reach(timed().chain([0.0])));
    let beside = if events.iter().flat_map(|event| event.iter()).any(|run| run.off_best_percent.is_none()) {
        BESIDE_NO_LAP
    } else {
        BESIDE
    };
    let room = f64::from(size.0 - LEFT - beside);
    let right = right_of(events, room);
    to_svg(size, words, |area| draw(area, events, (laps, room - f64::from(right)), (beside, right)))
}

/// The part of the width that is an event's: half of the room is every event's alike, half goes by its runs.
fn share(events: &[&[SeasonRun]], event: &[SeasonRun]) -> f64 {
    let all: usize = events.iter().map(|event| event.len()).sum();
    f64::midpoint(1.0 / place(events.len()), place(event.len()) / place(all))
}

/// Pixels that stay free on the right of so much room, so that the last name stands under its event and nothing is cut off.
fn right_of(events: &[&[SeasonRun]], room: f64) -> u32 {
    let Some(last) = events.last() else { return RIGHT };
    let share = share(events, last);
    let free = (wide(&words_of(last)) + BESIDE_THE_LINE + 2.0 - share * room) / (1.0 - share).max(0.1);
    let most = WHOLE.0 / 5;
    (RIGHT..most).find(|pixels| f64::from(*pixels) >= free).unwrap_or(most)
}

fn draw(
    area: &Area<'_>,
    events: &[&[SeasonRun]],
    (laps, across): (Option<(f64, f64)>, f64),
    (beside, right): (u32, u32),
) -> Drawn {
    let (low, high) = laps.unwrap_or((0.0, 1.0));
    // A mark at the top stands whole under the edge.
    let high = high + 0.08 * (high - low);
    // Runs without a lap stand in a row of their own under the others, with room for their words beneath the nought.
    let row = low - 0.24 * (high - low);
    let foot = row - 0.14 * (high - low);
    let untimed = events.iter().flat_map(|event| event.iter()).any(|run| run.off_best_percent.is_none());
    let begins = events.iter().scan(0.0, |from, event| {
        let begin = *from;
        *from += across * share(events, event);
        Some((begin, *from - begin))
    });
    let begins: Vec<(f64, f64)> = begins.collect();
    let names = names_of(events, &begins);
    let rows = names.iter().map(|name| name.row + 1).max().unwrap_or(0);
    let under = u32::try_from(rows).unwrap_or(0) * 2 * LINE + 4;
    let mut axes = ChartBuilder::on(area)
        .margin_top(8)
        .margin_left(LEFT)
        .margin_right(right)
        .set_label_area_size(LabelAreaPosition::Left, beside)
        .set_label_area_size(LabelAreaPosition::Bottom, under)
        .build_cartesian_2d(0.0..across, foot..high)?;
    axes.configure_mesh()
        .disable_x_mesh()
        .x_labels(0)
        // A tick where no number has a place says nothing.
        .set_tick_mark_size(LabelAreaPosition::Left, 0)
        .light_line_style(TRANSPARENT)
        .bold_line_style(RGBColor(205, 205, 205))
        .axis_style(INK)
        .label_style(letters(INK))
        .axis_desc_style(letters(INK))
        .y_desc(if laps.is_some() { "% off best" } else { "" })
        .y_labels(if laps.is_some() { 4 } else { 0 })
        .y_label_formatter(&|value| {
            if *value < low { String::new() } else { format!("{}\u{a0}", tick(*value, high - low)) }
        })
        .draw()?;
    if untimed && laps.is_some() {
        let words = EmptyElement::at((0.0, row))
            + Text::new("no lap".to_owned(), (-8, 0), anchored(INK, HPos::Right, VPos::Center));
        axes.draw_series(std::iter::once(words))?;
    }
    let letters = told_apart(&cylinders_of(events.iter().flat_map(|event| event.iter())));
    for ((event, at), name) in events.iter().zip(begins).zip(&names) {
        led(&mut axes, name.row, (at.0, foot, high))?;
        event_of(&mut axes, event, at, (row, letters))?;
    }
    // Over every line, so that none goes through a word.
    names.iter().try_for_each(|name| name.draw(&mut axes, foot))
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

/// The line where an event begins, down to its name.
fn led(axes: &mut Axes<'_, '_>, row: usize, (from, foot, high): (f64, f64, f64)) -> Drawn {
    if from > 0.0 {
        axes.draw_series(LineSeries::new([(from, foot), (from, high)], FAINT))?;
    }
    let leader = EmptyElement::at((from, foot)) + PathElement::new(vec![(0, 0), (0, down(row, 1))], FAINT);
    axes.draw_series(std::iter::once(leader))?;
    Ok(())
}

/// How far under the plot a line of words of a row begins.
fn down(row: usize, line: usize) -> i32 {
    2 + i32::try_from((2 * row + line) * LINE as usize).unwrap_or(0)
}

/// Day and place of an event, as they stand under it.
struct EventName {
    words: [String; 2],
    /// From where to where, pixels from the left.
    span: (f64, f64),
    /// Of two lines each.
    row: usize,
}

/// Pixels between the line where an event begins and its name.
const BESIDE_THE_LINE: f64 = 4.0;

/// Day and place of an event.
fn words_of(event: &[SeasonRun]) -> [String; 2] {
    let first = event.first();
    let day = first.map(|first| first.date.day()).unwrap_or_default();
    [day, first.and_then(|first| first.place.as_deref()).map(shortened).unwrap_or_default()]
}

/// Pixels that words take at most.
fn wide(words: &[String; 2]) -> f64 {
    place(words.iter().map(|words| words.chars().count()).max().unwrap_or(0) * LETTER)
}

/// The names, each beside the line of its event in the highest row where it has room.
fn names_of(events: &[&[SeasonRun]], begins: &[(f64, f64)]) -> Vec<EventName> {
    let mut names: Vec<EventName> = Vec::new();
    for (number, (event, (from, _))) in events.iter().zip(begins).enumerate() {
        let words = words_of(event);
        let span = (from + BESIDE_THE_LINE, from + BESIDE_THE_LINE + wide(&words));
        let is_free = |row: &usize| names.iter().all(|name| name.row != *row || name.span.1 < span.0);
        let row = (0..ROWS).find(is_free).unwrap_or(number % ROWS);
        names.push(EventName { words, span, row });
    }
    names
}

impl EventName {
    fn draw(&self, axes: &mut Axes<'_, '_>, foot: f64) -> Drawn {
        for (line, words) in self.words.iter().enumerate() {
            let (top, bottom) = (down(self.row, line), down(self.row, line + 1));
            let wide = i32::try_from(words.chars().count() * LETTER).unwrap_or(0);
            let ground = Rectangle::new([(0, top + 1), (wide, bottom)], WHITE.filled());
            let words = Text::new(words.clone(), (0, top), anchored(INK, HPos::Left, VPos::Top));
            let text = EmptyElement::at((self.span.0, foot)) + ground + words;
            axes.draw_series(std::iter::once(text))?;
        }
        Ok(())
    }
}

/// The cylinders that stand at marks.
fn cylinders_of<'a>(runs: impl Iterator<Item = &'a SeasonRun>) -> BTreeSet<&'a str> {
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
    let names = cylinders_of(events.into_iter().flatten());
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

#[cfg(test)]
mod tests {
    use super::{EventName, ROWS, names_of, right_of, share};
    use crate::advice::drawn::{JudgedRun, SeasonRun};
    use crate::notebook::When;

    fn run(day: &str, place: &str) -> SeasonRun {
        SeasonRun {
            date: When::parse(&format!("{day}T10:00+00:00"), When::default().offset()).unwrap(),
            place: Some(place.to_owned()),
            off_best_percent: Some(1.0),
            seen: JudgedRun::NotJudged,
            cylinder: None,
            setup: None,
        }
    }

    #[test]
    fn no_name_of_an_event_stands_over_another_or_over_the_edge() {
        let runs: Vec<SeasonRun> =
            (1..=12).map(|month| run(&format!("2026-{month:02}-01"), "High Skarne Hill")).collect();
        for (events, room) in [(6, 364.0), (12, 924.0), (2, 364.0)] {
            let events: Vec<&[SeasonRun]> = runs.chunks(1).take(events).collect();
            let across = room - f64::from(right_of(&events, room));
            assert!(across > 0.6 * room, "{across} of {room} are left for the runs");
            let wide = across * share(&events, events[0]);
            let begins: Vec<(f64, f64)> =
                (0..12_u32).map(|number| (f64::from(number) * wide, wide)).collect();
            let names = names_of(&events, &begins);
            assert_eq!(names.len(), events.len());
            for (at, name) in names.iter().enumerate() {
                let over = |other: &EventName| other.row == name.row && other.span.1 >= name.span.0;
                assert!(!names[..at].iter().any(over), "{:?} stands over another", name.words);
            }
            assert!(names.iter().all(|name| name.row < ROWS), "more rows than there is room for");
            let (last, begin) = (names.last().unwrap(), begins[events.len() - 1].0);
            assert!(
                last.span.0 > begin && last.span.1 <= room,
                "the last name is beside its line, and whole"
            );
        }
    }
}
