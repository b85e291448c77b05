//! What a bike wants in every air that is raced in, as it is looked up on a phone: the answers that the program gives, each once for all
//! the airs in which it is the same.
//!
//! The edges between two answers are found by halving, to a ten-millionth of fuel. What goes smoothly with the air within one answer
//! (chances, percents in a sentence) stands at knots a fifth of a percent of fuel apart, and is interpolated.

use serde::Serialize;

use crate::advice::asking::span::{Feels, Span};
use crate::advice::asking::{Question, Weighed};
use crate::advice::conditions::kept::Served;
use crate::advice::learning::Settings;
use crate::notebook::{AirEntry, AirEntryError};
use crate::quantity::search::stretches;
use crate::report::out::frame::FramePart;
use crate::report::page::shell;
use crate::report::{Beside, InAnyAir, RejetAnswer, RejetReport, Screen, Trouble};

/// How far apart in ln of fuel the airs are that are looked at: an answer that comes and goes within so little is not found.
const LOOK: f64 = 0.000_5;
/// The width to which an edge is known.
const CLOSE: f64 = 1e-7;
/// How far apart the knots of one answer are at most.
const KNOTS: f64 = 0.002;
/// Stands in a sentence for the air that it is about.
const AIR: char = '\u{e000}';
/// Stand in a sentence for a percent that goes smoothly with the air, by its decimals.
const PERCENT: [char; 4] = ['\u{e001}', '\u{e002}', '\u{e003}', '\u{e004}'];
/// Stands in what the hands do for a percent as it is: many answers are one but for those.
const AS_IT_IS: char = '\u{e00f}';
/// A chance of one.
const CHANCE: f64 = 10_000.0;
/// What the metering feels is counted in so little.
const FELT: f64 = 1e-9;

/// A part of an answer on the page: its sort by a letter, and its words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct AnswerPart(&'static str, String);

impl AnswerPart {
    /// As the page lays it out.
    pub(super) fn of(part: &FramePart) -> Self {
        let (sort, words) = match part {
            FramePart::Hands(words) => ("hands", words),
            FramePart::Stop(words) => ("stop", words),
            FramePart::Know(words) => ("know", words),
            FramePart::Block(words) => {
                return Self("block", words.lines().map(shell::text).collect::<Vec<_>>().join("\n"));
            }
            FramePart::Table(table) => {
                return Self("block", table.text.lines().map(shell::text).collect::<Vec<_>>().join("\n"));
            }
            FramePart::Command(words) => ("code", words),
            FramePart::Source(words) | FramePart::Say(words) => ("say", words),
            FramePart::Boxes(jobs) => {
                let jobs: Vec<String> = jobs.iter().map(|(_, job)| shell::text(job)).collect();
                return Self("say", jobs.join("; "));
            }
            FramePart::Gap => return Self("chances", String::new()),
        };
        Self(sort, shell::text(words))
    }
}

/// What a bike, or one of its cylinders, wants.
#[derive(Debug, Serialize)]
pub(super) struct Wants {
    /// The cylinder, where there are several.
    cylinder: Option<String>,
    /// Why there is no answer; empty where there is one.
    refused: Vec<AnswerPart>,
    /// The answers; none where there is none.
    table: Option<Table>,
}

/// The answers over the airs.
#[derive(Debug, Serialize)]
struct Table {
    /// Whether a venturi feels the air's own density.
    venturi: bool,
    /// Whether the box corrects by itself for temperature and for pressure.
    temperature: bool,
    pressure: bool,
    /// The least and the most of what it feels.
    range: (f64, f64),
    /// Dry densities below which an air is thinner than that of a run that holds, descending, kg/m3.
    thinner: Vec<f64>,
    /// Heading of the sizes.
    sized: &'static str,
    /// Texts of parts of answers.
    texts: Vec<AnswerPart>,
    /// Parts of answers: the place of the text, and what stands in it.
    parts: Vec<(usize, Vec<String>)>,
    /// Sizes.
    sizes: Vec<String>,
    /// What a size can be.
    whats: Vec<String>,
    /// The answers from the least to the most, for as many of those densities as the air is below.
    runs: Vec<Vec<AnswerSpan>>,
}

/// One answer, and the airs that it is for: from where on; its parts, by their places; its sizes, the place of each and of what it is; and
/// where it was looked at; and whether it takes fuel away from what is on the bike. Of each such knot: what the metering feels beyond where it starts, in [`FELT`]; the chances of lean and of
/// rich of each size, in ten-thousandths; and the percents of its sentences as whole numbers. All but the first knot as they differ from
/// the one before.
#[derive(Debug, Serialize)]
struct AnswerSpan(f64, Vec<usize>, Vec<usize>, Vec<i64>, u8);

/// An answer in one air.
#[derive(Debug, Clone, Default, PartialEq)]
struct InAir {
    parts: Vec<AnswerPart>,
    sizes: Vec<(String, String)>,
    /// Of each knot.
    numbers: Vec<i64>,
    sized: &'static str,
    /// Whether it takes fuel away: then nothing of it is said of an air that is questioned.
    leaner: bool,
}

impl InAir {
    /// Whether nothing but numbers that go with the air tells two apart.
    fn is_like(&self, other: &Self) -> bool {
        self.parts == other.parts && self.sizes == other.sizes && self.leaner == other.leaner
    }
}

impl Wants {
    /// What a bike wants, or why that is not known.
    pub(super) fn of(
        cylinder: Option<&str>,
        question: Result<(&Question<'_>, Option<&str>), Trouble>,
        screen: &Screen,
    ) -> Result<Self, Trouble> {
        let cylinder = cylinder.map(shell::text);
        let refused =
            |trouble: &Trouble| Self { cylinder: cylinder.clone(), refused: no(trouble), table: None };
        let (question, overdue) = match question {
            Ok(asked) => asked,
            Err(trouble) => return Ok(refused(&trouble)),
        };
        let Some(span) = Span::of(question)? else {
            let why = "What this bike wants depends on more of the air than a table can show: a lean run limits it, and its box corrects for the air by itself.";
            return Ok(refused(&Trouble::request(None, why, "Ask at the laptop: `reedbook rejet`.")));
        };
        Ok(match Table::of((question, overdue), &span, screen) {
            Ok(table) => Self { cylinder, refused: Vec::new(), table: Some(table) },
            Err(trouble) => refused(&trouble),
        })
    }
}

impl Wants {
    /// Why there is no answer, in a line; none where there is one.
    pub(super) fn why_not(&self) -> Option<String> {
        let AnswerPart(_, words) = self.refused.first()?;
        Some(self.cylinder.as_ref().map_or_else(|| words.clone(), |name| format!("Cylinder {name}: {words}")))
    }
}

/// A refusal as the program says it.
fn no(trouble: &Trouble) -> Vec<AnswerPart> {
    let (message, help) = trouble.message_and_help();
    let parts = [FramePart::Know(message.to_owned()), FramePart::Say(help.to_owned())];
    parts.iter().filter(|part| **part != FramePart::Say(String::new())).map(AnswerPart::of).collect()
}

impl Table {
    fn of(
        (question, overdue): (&Question<'_>, Option<&str>),
        span: &Span,
        screen: &Screen,
    ) -> Result<Self, Trouble> {
        let settings = question.settings(None)?;
        let (temperature, pressure) = match span.feels {
            Feels::Venturi => (false, false),
            Feels::Injector { temperature, pressure } => (temperature, pressure),
        };
        let mut table = Self {
            venturi: span.feels == Feels::Venturi,
            temperature,
            pressure,
            range: span.range,
            thinner: span.thinner.clone(),
            sized: "",
            texts: Vec::new(),
            parts: Vec::new(),
            sizes: Vec::new(),
            whats: Vec::new(),
            runs: Vec::new(),
        };
        let weighed = weighed(question, span, &settings)?;
        let in_any_air = InAnyAir::of(question)?;
        let questioned = RejetReport::questioned(question, &[]);
        for thinness in 0..=span.thinner.len() {
            let look = |ln_fuel: f64| -> Result<Option<InAir>, Trouble> {
                let Some(air) = span.air(ln_fuel, thinness) else { return Ok(None) };
                let served = Served { entry: Some(air.clone()), ..Served::default() };
                let beside = Beside { overdue, ..Beside::air(&served, &questioned) };
                Ok(Some(in_air(question, (&air, weighed.clone()), (beside, &in_any_air), screen)))
            };
            let same = |one: &Option<InAir>, other: &Option<InAir>| match (one, other) {
                (Some(one), Some(other)) => one.is_like(other),
                (one, other) => one.is_none() && other.is_none(),
            };
            let found = stretches(span.range, (LOOK, CLOSE), same, look)?;
            table.keep(&found);
        }
        Ok(table)
    }

    /// Keeps the answers that were found, each text once.
    fn keep(&mut self, found: &[crate::quantity::search::Stretch<Option<InAir>>]) {
        let mut runs = Vec::new();
        let mut before: Option<f64> = None;
        for stretch in found {
            let Some((first, last)) = stretch.ends() else { continue };
            let from = before.map_or(first, |before| f64::midpoint(before, first));
            before = Some(last);
            let from = rounded(from, 9);
            // Where no air is both so dense and so thin there is nothing to be looked up, and what stands beside it is no answer.
            let Some((_, Some(answer))) = stretch.seen.first() else {
                runs.push(AnswerSpan(from, Vec::new(), Vec::new(), Vec::new(), 0));
                continue;
            };
            self.sized = answer.sized;
            let parts = answer.parts.iter().map(|part| self.part(part)).collect();
            let sizes = answer
                .sizes
                .iter()
                .flat_map(|(size, what)| [place_of(&mut self.sizes, size), place_of(&mut self.whats, what)]);
            let sizes = sizes.collect();
            let mut before: Vec<i64> = Vec::new();
            let mut knots = Vec::new();
            for (at, numbers) in thinned(&stretch.seen) {
                let knot: Vec<i64> =
                    std::iter::once(whole((at - from) / FELT)).chain(numbers.iter().copied()).collect();
                let was = |place: usize| before.get(place).copied().unwrap_or_default();
                knots.extend(knot.iter().enumerate().map(|(place, number)| number - was(place)));
                before = knot;
            }
            runs.push(AnswerSpan(from, parts, sizes, knots, u8::from(answer.leaner)));
        }
        self.runs.push(runs);
    }
}

impl Table {
    /// The place of a part; what differs in what the hands do stands beside its text.
    fn part(&mut self, part: &AnswerPart) -> usize {
        let AnswerPart(sort, words) = part;
        let (text, values) = if *sort == "hands" { apart(words) } else { (words.clone(), Vec::new()) };
        let text = place_of(&mut self.texts, &AnswerPart(sort, text));
        place_of(&mut self.parts, &(text, values))
    }
}

/// What the hands do without its percents, and those.
fn apart(words: &str) -> (String, Vec<String>) {
    let (mut text, mut values, mut rest) = (String::new(), Vec::new(), words);
    while let Some(at) = rest.find(" %") {
        let (before, after) = rest.split_at(at);
        let sign = |c: &char| c.is_ascii_digit() || ".+-".contains(*c);
        let digits = before.chars().rev().take_while(sign).count();
        let (lead, number) = before.split_at(before.len() - digits);
        text.push_str(lead);
        text.push(AS_IT_IS);
        values.push(number.to_owned());
        rest = after;
        text.push_str(" %");
        rest = rest.get(2..).unwrap_or_default();
    }
    text.push_str(rest);
    (text, values)
}

/// The bike's record, weighed once: what doubt the readings leave is the same in every air.
fn weighed(question: &Question<'_>, span: &Span, settings: &Settings) -> Result<Weighed, Trouble> {
    let (least, most) = span.range;
    let any = span
        .air(f64::midpoint(least, most), 0)
        .or_else(|| span.air(f64::midpoint(least, most), span.thinner.len()));
    let any = any.unwrap_or_else(|| question.baseline_air.0.clone());
    let doubt = any.reading().and_then(|reading| reading.uncertainty().map_err(AirEntryError::from))?;
    Ok(question.weighed(settings, false, Some(&doubt))?)
}

/// The answer in one air, by the same structs that the command shows.
fn in_air(
    question: &Question<'_>,
    (air, weighed): (&AirEntry, Weighed),
    (beside, in_any_air): (Beside<'_>, &InAnyAir),
    screen: &Screen,
) -> InAir {
    let found = match question.answer_from(air, weighed) {
        Ok(found) => found,
        Err(error) => return InAir { parts: no(&error.into()), ..InAir::default() },
    };
    let answer = RejetAnswer::from(RejetReport::with(&found, beside, in_any_air.clone()));
    let (parts, rows) = answer.on_a_phone(screen);
    let in_short = shell::text(&answer.air_in_short(screen));
    let mut said = InAir {
        sizes: rows.iter().map(|row| (shell::text(&row.size), shell::text(&row.what))).collect(),
        // What is neither lean nor rich is right.
        numbers: rows
            .iter()
            .flat_map(|row| [row.chances[0], row.chances[2]])
            .map(|chance| whole(chance * CHANCE))
            .collect(),
        sized: answer.sized(),
        leaner: found.takes_fuel_away(),
        ..InAir::default()
    };
    for part in &parts {
        let AnswerPart(sort, words) = AnswerPart::of(part);
        // It stands before every other air of its sentence.
        let words = words.replacen(&in_short, &AIR.to_string(), 1);
        // What the hands do is exact.
        let words = if sort == "hands" { words } else { without_percents(&words, &mut said) };
        said.parts.push(AnswerPart(sort, words));
    }
    said
}

/// A sentence with its percents taken out, and kept as numbers.
fn without_percents(words: &str, into: &mut InAir) -> String {
    let mut left = String::new();
    let mut rest = words;
    while let Some(at) = rest.find(" %") {
        let (before, after) = rest.split_at(at);
        let digits = before.chars().rev().take_while(|c| c.is_ascii_digit() || *c == '.').count();
        let (lead, number) = before.split_at(before.len() - digits);
        // "<1 %" is no number, and a sign belongs to a size.
        let is_plain = !lead.ends_with(['<', '>', '+', '-', '−', '→']) && !number.starts_with('.');
        // As a whole number, whose last digits are its decimals.
        let decimals = number.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        match (number.replace('.', "").parse::<i64>(), PERCENT.get(decimals)) {
            (Ok(value), Some(sign)) if is_plain => {
                left.push_str(lead);
                left.push(*sign);
                into.numbers.push(value);
            }
            _ => left.push_str(before),
        }
        left.push_str(" %");
        rest = after.get(2..).unwrap_or_default();
    }
    left.push_str(rest);
    left
}

/// The ends of what was seen, and knots in between, as few as stand no farther apart than knots do.
fn thinned(seen: &[(f64, Option<InAir>)]) -> Vec<(f64, &[i64])> {
    let mut knots: Vec<(f64, &[i64])> = Vec::new();
    for (number, (at, answer)) in seen.iter().enumerate() {
        let Some(answer) = answer else { continue };
        let next = seen.get(number + 1).map_or(f64::INFINITY, |(next, _)| *next);
        if knots.last().is_none_or(|(last, _)| next - last > KNOTS) {
            knots.push((*at, &answer.numbers));
        }
    }
    knots
}

/// Where something stands in a list; at its end where it was not there.
pub(super) fn place_of<T: Clone + PartialEq>(list: &mut Vec<T>, wanted: &T) -> usize {
    list.iter().position(|known| known == wanted).unwrap_or_else(|| {
        list.push(wanted.clone());
        list.len() - 1
    })
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "chances and distances, far below what a whole number holds"
)]
fn whole(value: f64) -> i64 {
    value.round() as i64
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}
