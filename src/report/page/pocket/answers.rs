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
const LOOK: f64 = 0.000_25;
/// The width to which an edge is known.
const CLOSE: f64 = 1e-7;
/// How far apart the knots of one answer are at most.
const KNOTS: f64 = 0.002;
/// Stands in a sentence for the air that it is about.
const AIR: char = '\u{e000}';
/// Stands in a sentence for a percent that goes smoothly with the air.
const PERCENT: char = '\u{e001}';

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
    /// Parts of answers.
    parts: Vec<AnswerPart>,
    /// Sizes, each with what it is.
    sizes: Vec<(String, String)>,
    /// The answers from the least to the most, for as many of those densities as the air is below.
    runs: Vec<Vec<AnswerSpan>>,
}

/// One answer, and the airs that it is for.
#[derive(Debug, Serialize)]
struct AnswerSpan {
    /// From where on.
    from: f64,
    /// Its parts, by their places.
    parts: Vec<usize>,
    /// Its sizes, by their places.
    sizes: Vec<usize>,
    /// Decimals of the percents in its sentences.
    decimals: Vec<usize>,
    /// Where it was looked at: what the metering feels, the chances of each size, the percents.
    knots: Vec<Vec<f64>>,
}

/// An answer in one air.
#[derive(Debug, Clone, Default, PartialEq)]
struct InAir {
    parts: Vec<AnswerPart>,
    sizes: Vec<(String, String)>,
    decimals: Vec<usize>,
    numbers: Vec<f64>,
    sized: &'static str,
}

impl InAir {
    /// Whether nothing but numbers that go with the air tells two apart.
    fn is_like(&self, other: &Self) -> bool {
        self.parts == other.parts && self.sizes == other.sizes && self.decimals == other.decimals
    }
}

impl Wants {
    /// What a bike wants, or why that is not known.
    pub(super) fn of(
        cylinder: Option<&str>,
        question: Result<&Question<'_>, Trouble>,
        screen: &Screen,
    ) -> Result<Self, Trouble> {
        let cylinder = cylinder.map(shell::text);
        let refused =
            |trouble: &Trouble| Self { cylinder: cylinder.clone(), refused: no(trouble), table: None };
        let question = match question {
            Ok(question) => question,
            Err(trouble) => return Ok(refused(&trouble)),
        };
        let Some(span) = Span::of(question)? else {
            let why = "What this bike wants depends on more of the air than a table can show: a lean run holds it, and its box corrects for the air by itself.";
            return Ok(refused(&Trouble::request(None, why, "Ask at the laptop: `reedbook rejet`.")));
        };
        Ok(match Table::of(question, &span, screen) {
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
    fn of(question: &Question<'_>, span: &Span, screen: &Screen) -> Result<Self, Trouble> {
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
            parts: Vec::new(),
            sizes: Vec::new(),
            runs: Vec::new(),
        };
        let weighed = weighed(question, span, &settings)?;
        let in_any_air = InAnyAir::of(question)?;
        let questioned = RejetReport::questioned(question, &[]);
        for thinness in 0..=span.thinner.len() {
            let look = |ln_fuel: f64| -> Result<Option<InAir>, Trouble> {
                let Some(air) = span.air(ln_fuel, thinness) else { return Ok(None) };
                Ok(Some(in_air(question, (&air, weighed.clone()), (&in_any_air, &questioned), screen)))
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
            // Where no air is both so dense and so thin there is nothing to be looked up.
            let Some((_, Some(answer))) = stretch.seen.first() else { continue };
            self.sized = answer.sized;
            let knots = thinned(&stretch.seen);
            runs.push(AnswerSpan {
                from: rounded(from, 9),
                parts: answer.parts.iter().map(|part| place_of(&mut self.parts, part)).collect(),
                sizes: answer.sizes.iter().map(|size| place_of(&mut self.sizes, size)).collect(),
                decimals: answer.decimals.clone(),
                knots: knots
                    .into_iter()
                    .map(|(at, numbers)| {
                        std::iter::once(rounded(at, 9))
                            .chain(numbers.iter().map(|number| rounded(*number, 4)))
                            .collect()
                    })
                    .collect(),
            });
        }
        self.runs.push(runs);
    }
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
    (in_any_air, questioned): (&InAnyAir, &[String]),
    screen: &Screen,
) -> InAir {
    let served = Served { entry: Some(air.clone()), ..Served::default() };
    let beside = Beside {
        served: &served,
        questioned,
        foretold: None,
        was_right: false,
        bike_is_taken: false,
        explain: false,
    };
    let found = match question.answer_from(air, weighed) {
        Ok(found) => found,
        Err(error) => return InAir { parts: no(&error.into()), ..InAir::default() },
    };
    let answer = RejetAnswer::from(RejetReport::with(&found, beside, in_any_air.clone()));
    let (parts, rows) = answer.on_a_phone(screen);
    let in_short = shell::text(&answer.air_in_short(screen));
    let mut said = InAir {
        sizes: rows.iter().map(|row| (shell::text(&row.size), shell::text(&row.what))).collect(),
        numbers: rows.iter().flat_map(|row| row.chances).collect(),
        sized: answer.sized(),
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
        match number.parse::<f64>() {
            Ok(value) if is_plain => {
                left.push_str(lead);
                left.push(PERCENT);
                into.numbers.push(value);
                into.decimals.push(number.split_once('.').map_or(0, |(_, decimals)| decimals.len()));
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
fn thinned(seen: &[(f64, Option<InAir>)]) -> Vec<(f64, &[f64])> {
    let mut knots: Vec<(f64, &[f64])> = Vec::new();
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
fn place_of<T: Clone + PartialEq>(list: &mut Vec<T>, wanted: &T) -> usize {
    list.iter().position(|known| known == wanted).unwrap_or_else(|| {
        list.push(wanted.clone());
        list.len() - 1
    })
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}
