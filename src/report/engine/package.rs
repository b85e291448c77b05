//! The package on one axis: a drawing, what disagrees and by how much, and what each figure rests on.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::derived::{Derived, derived, standings};
use crate::advice::figures::Bench;
use crate::advice::figures::pipe::Tuned;
use crate::advice::package::{Asks, Package, PartOnAxis, PipeStanding};
use crate::notebook::fields::names::{in_words, visible};
use crate::quantity::{Dimension, Units, fixed};
use crate::report::draw::spans::{Span, WorkingSpan, spans};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::known::{WHERE_FIELDS_STAND, lacks};
use crate::report::words::layout::{capital, grouped};
use crate::report::words::sizes::{self, velocity_band};
use crate::report::words::subject::Subject;

/// Every part on one axis of engine speed.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PackageAnswer {
    #[serde(flatten)]
    pub(super) subject: Subject,
    /// The pipe's tuned speed and what it follows from; null where it is not known.
    pipe: Option<TunedPipe>,
    /// Each part.
    rows: Vec<PartRow>,
    /// What is not known and which fields it needs, in words.
    pub(super) not_known: Vec<String>,
    /// Whether it is set how far from the pipe a part may lie and still agree.
    #[serde(skip)]
    agreement_known: bool,
}

/// The pipe's tuned speed and what it follows from.
#[derive(Debug, Serialize, JsonSchema)]
struct TunedPipe {
    /// Tuned speed, rpm.
    rpm: Figure<0>,
    /// Exhaust duration, degrees.
    exhaust_deg: Figure<2>,
    /// From the piston's face to where the wave turns back, mm.
    length_mm: Figure<1>,
    /// Speed of the wave, m/s.
    wave_m_s: Figure<1>,
    /// Mean gas temperature, C.
    gas_c: Figure<1>,
    /// Rise of the tuned speed for each kelvin, rpm.
    rpm_per_kelvin: Figure<2>,
}

/// One part on the axis.
#[derive(Debug, Serialize, JsonSchema)]
struct PartRow {
    /// The part.
    part: &'static str,
    /// Lowest speed it suits, rpm.
    from_rpm: Option<Figure<0>>,
    /// Highest speed it suits, rpm; the same where it names one speed.
    to_rpm: Option<Figure<0>>,
    /// How it stands to the pipe; null where that is not known.
    standing: Option<StandsTo>,
    /// By how much it lies above or below, rpm.
    distance_rpm: Option<Figure<0>>,
    /// What the figure rests on.
    assumption: String,
    /// Where that is from.
    source: String,
    /// What it lacks, in words; null where it is known.
    needs: Option<String>,
    /// Where it should stand beside the pipe, rpm, for a part that has a place of its own.
    #[serde(skip)]
    place: Option<(f64, f64)>,
    /// The squish velocities that the assumption names, m/s.
    #[serde(skip)]
    velocities: Option<(f64, f64)>,
    /// What it covers of the axis.
    #[serde(skip)]
    reach: WorkingSpan,
}

/// How a part stands to the pipe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum StandsTo {
    Pipe,
    Agrees,
    Above,
    Below,
}

impl PackageAnswer {
    /// A setup's package.
    pub fn new(subject: Subject, package: &Package) -> Self {
        let rows: Vec<_> = package.rows.iter().map(PartRow::new).collect();
        let lacking = lacks(rows.iter().map(|row| (row.part, row.needs.clone())));
        Self {
            subject,
            pipe: package.pipe.as_ref().ok().map(TunedPipe::new),
            not_known: lacking.iter().map(|words| capital(words)).collect(),
            rows,
            agreement_known: package.agreement_known,
        }
    }

    /// For a person: what is short of the pipe, what has room, and every part on one axis.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading_in_short(screen, &self.verdict());
        lines.extend(self.room().map(|words| screen.wrap(&format!("  {words}"), 2)));
        lines.extend(self.disagreements().into_iter().map(|words| screen.known(words)));
        if self.pipe.is_some() && !self.agreement_known {
            lines.push(
                screen.known("How near is near enough is not set: [agreement] in configs/assumptions.toml."),
            );
        }
        lines.push(String::new());
        let (rows, pipe, window) = self.drawn();
        lines.push(spans("rpm", &rows, pipe.map(|rpm| (rpm, "pipe")), window, screen.width()));
        if screen.verbose() {
            lines.extend(self.agrees().map(|words| screen.wrap(&words, 2)));
        }
        lines.extend(self.not_known.iter().map(|words| screen.wrap(words, 2)));
        if !self.not_known.is_empty() {
            lines.push(screen.wrap(WHERE_FIELDS_STAND, 0));
        }
        let rests = self.rests(screen);
        if screen.verbose() && !rests.is_empty() {
            lines.push(String::new());
            lines.push("What it rests on:".into());
            lines.extend(rests.iter().map(|words| screen.wrap(words, 4)));
        }
        let more = if screen.verbose() || rests.is_empty() { "" } else { " -v: what each bar rests on." };
        lines.push(screen.dim(&screen.wrap(&format!("Geometry only: dyno and track decide.{more}"), 0)));
        lines.join("\n")
    }

    /// The parts in the order of the gas, the pipe's speed, and the speeds that matter.
    pub(in crate::report) fn drawn(&self) -> (Vec<Span>, Option<f64>, Option<(f64, f64)>) {
        let rows = self.in_order().into_iter().map(PartRow::span).collect();
        (rows, self.pipe.as_ref().map(|tuned| tuned.rpm.0), self.window())
    }

    pub(super) fn pipe_is_known(&self) -> bool {
        self.pipe.is_some()
    }

    /// The parts in the order of the gas.
    pub(super) fn parts(&self) -> Vec<&'static str> {
        self.in_order().into_iter().map(|row| row.part).collect()
    }

    /// The speeds that a part asks for, in a cell.
    pub(super) fn speeds(&self, part: &str) -> String {
        let row = self.rows.iter().find(|row| row.part == part);
        match row.map_or(WorkingSpan::NotKnown, |row| row.reach) {
            WorkingSpan::At(rpm) => grouped(rpm),
            WorkingSpan::Between(from, to) => format!("{} to {}", grouped(from), grouped(to)),
            WorkingSpan::From(rpm) => format!("from {}", grouped(rpm)),
            WorkingSpan::UpTo(rpm) => format!("to {}", grouped(rpm)),
            WorkingSpan::NotKnown => "-".to_owned(),
        }
    }

    /// Parts that stand elsewhere than the pipe wants them, in sentences.
    pub(super) fn disagreements(&self) -> Vec<String> {
        self.rows.iter().filter_map(PartRow::disagreement).collect()
    }

    /// The pipe's speed and what is short of it.
    pub(in crate::report) fn verdict(&self) -> String {
        let Some(tuned) = &self.pipe else {
            return "what the pipe is tuned to is not known, so nothing can be held against it".into();
        };
        let pipe = format!("pipe tuned to {} rpm", grouped(tuned.rpm.0));
        let short: Vec<String> = self.areas(StandsTo::Below);
        match short.as_slice() {
            _ if !self.agreement_known => pipe,
            [] if self.areas_are_known() => format!("{pipe}: nothing runs out below it"),
            [] => format!("{pipe}: nothing that is known is short of it"),
            short => format!("{pipe}: {} rpm short", in_a_row(short)),
        }
    }

    /// Areas that serve a little less than the pipe's speed, near enough to agree with it: "near enough: blowdown 2.8 % under it".
    pub(in crate::report) fn nearly(&self) -> Option<String> {
        let pipe = self.pipe.as_ref()?.rpm.0;
        let rows = self.in_order().into_iter();
        let rows = rows.filter(|row| AREAS.contains(&row.part) && row.standing == Some(StandsTo::Agrees));
        let under: Vec<String> = rows
            .filter_map(|row| Some((row.part, 100.0 * (1.0 - row.to_rpm?.0 / pipe))))
            .filter(|(_, under)| *under >= 0.05)
            .map(|(part, under)| format!("{part} {} %", fixed(under, 1)))
            .collect();
        (!under.is_empty()).then(|| format!("near enough: {} under it", in_a_row(under.as_slice())))
    }

    /// Areas that could serve more than the pipe's speed.
    fn room(&self) -> Option<String> {
        let room = self.areas(StandsTo::Above);
        (!room.is_empty()).then(|| format!("Margin: {} rpm.", room.join(", ")))
    }

    /// What agrees with the pipe.
    fn agrees(&self) -> Option<String> {
        let agree = self.in_order().into_iter().filter(|row| row.standing == Some(StandsTo::Agrees));
        let agree: Vec<&str> = agree.map(|row| row.part).collect();
        (!agree.is_empty()).then(|| format!("Agree with the pipe: {}.", agree.join(", ")))
    }

    /// The areas on one side of the pipe, with the distance.
    fn areas(&self, side: StandsTo) -> Vec<String> {
        let rows = self.in_order().into_iter();
        let rows = rows.filter(|row| AREAS.contains(&row.part) && row.standing == Some(side));
        rows.filter_map(|row| Some(format!("{} {}", row.part, grouped(row.distance_rpm?.0)))).collect()
    }

    fn areas_are_known(&self) -> bool {
        self.rows.iter().filter(|row| AREAS.contains(&row.part)).all(|row| row.standing.is_some())
    }

    /// The rows as the gas goes through the engine.
    fn in_order(&self) -> Vec<&PartRow> {
        let place = |row: &&PartRow| THROUGH.iter().position(|part| *part == row.part);
        let mut rows: Vec<&PartRow> = self.rows.iter().collect();
        rows.sort_by_key(|row| place(row).unwrap_or(THROUGH.len()));
        rows
    }

    /// The speeds that matter: from 6,000 to so much above the limiter, and in any case the pipe's.
    fn window(&self) -> Option<(f64, f64)> {
        let limiter = self.rows.iter().find(|row| row.part == "limiter").and_then(|row| row.to_rpm);
        let pipe = self.pipe.as_ref().map(|tuned| tuned.rpm);
        let top = limiter.or(pipe)?.0;
        let speeds = [limiter, pipe].into_iter().flatten().map(|rpm| rpm.0);
        let low = speeds.clone().fold(AXIS_FROM, |low, rpm| low.min(rpm - 1000.0));
        let high = speeds.fold(top + ABOVE_THE_LIMITER, |high, rpm| high.max(rpm + 1000.0));
        let thousands = |rpm: f64| (rpm / 1000.0).floor() * 1000.0;
        Some((thousands(low).max(0.0), thousands(high)))
    }

    /// What the rows rest on; rows that rest on the same are told together.
    pub(super) fn rests(&self, screen: &Screen) -> Vec<String> {
        let mut told: Vec<(String, Vec<&str>)> = Vec::new();
        for row in self.in_order().into_iter().filter(|row| row.needs.is_none() && !row.assumption.is_empty())
        {
            let source = visible(row.source.trim_end_matches('.'));
            let assumption = match row.velocities {
                Some(band) => format!("squish velocity {}", velocity_band(band, screen.units())),
                None => row.assumption.clone(),
            };
            let words = if source.is_empty() { assumption } else { format!("{assumption} ({source})") };
            match told.iter_mut().find(|(said, _)| *said == words) {
                Some((_, parts)) => parts.push(row.part),
                None => told.push((words, vec![row.part])),
            }
        }
        told.into_iter().map(|(words, parts)| format!("  {}: {words}.", parts.join("; "))).collect()
    }
}

impl TunedPipe {
    fn new(tuned: &Tuned) -> Self {
        Self {
            rpm: Figure(tuned.rpm),
            exhaust_deg: Figure(tuned.exhaust_deg),
            length_mm: Figure(tuned.length_m * 1000.0),
            wave_m_s: Figure(tuned.wave_m_s),
            gas_c: Figure(tuned.gas_k - 273.15),
            rpm_per_kelvin: Figure(tuned.rpm_per_kelvin),
        }
    }
}

/// Where the axis begins, rpm: below it no pipe of a race bike works. Common practice, no source.
const AXIS_FROM: f64 = 6000.0;
/// How far the axis goes beyond the limiter, rpm.
const ABOVE_THE_LIMITER: f64 = 4000.0;

/// The parts as the gas goes through them; the limiter closes the list.
const THROUGH: [&str; 11] = [
    "intake window",
    "intake tract",
    "transfers",
    "squish",
    "ignition retard",
    "blowdown",
    "exhaust area",
    "valve fully open",
    "pipe",
    "pipe, valve shut",
    "limiter",
];

/// Parts whose windows may be larger than the pipe's speed needs: that is room in hand, no disagreement.
const AREAS: [&str; 4] = ["exhaust area", "transfers", "blowdown", "intake window"];

impl PartRow {
    fn new(row: &PartOnAxis) -> Self {
        let span = match row.asks {
            Ok(Asks::Speed(speed)) => Some((speed, speed)),
            Ok(Asks::Span(from, to)) => Some((from, to)),
            Err(_) => None,
        };
        let (standing, distance) = match row.standing {
            None => (None, None),
            Some(PipeStanding::Pipe) => (Some(StandsTo::Pipe), None),
            Some(PipeStanding::Agrees) => (Some(StandsTo::Agrees), None),
            Some(PipeStanding::Above(distance)) => (Some(StandsTo::Above), Some(distance)),
            Some(PipeStanding::Below(distance)) => (Some(StandsTo::Below), Some(distance)),
        };
        Self {
            part: row.part,
            from_rpm: span.map(|(from, _)| Figure(from)),
            to_rpm: span.map(|(_, to)| Figure(to)),
            standing,
            distance_rpm: distance.map(Figure),
            assumption: row.assumption.clone(),
            source: row.source.clone(),
            needs: row.asks.as_ref().err().map(ToString::to_string),
            place: row.place,
            velocities: row.velocities,
            reach: reach(row),
        }
    }

    fn span(&self) -> Span {
        Span { label: self.part.to_owned(), reach: self.reach, note: String::new() }
    }

    /// A part that has neither room nor too little area, but stands elsewhere than the pipe wants it.
    fn disagreement(&self) -> Option<String> {
        let distance = grouped(self.distance_rpm?.0);
        let above = self.standing? == StandsTo::Above;
        let side = if above { "above" } else { "below" };
        let part = capital(self.part);
        match (AREAS.contains(&self.part), self.place) {
            (true, _) => None,
            (false, Some((from, to))) => Some(format!(
                "{part} is {distance} rpm {side} its place beside the pipe, {} to {} rpm.",
                grouped(from),
                grouped(to)
            )),
            (false, None) if self.part == "squish" => {
                let faster = if above { "slower" } else { "faster" };
                Some(format!("{part} is {distance} rpm {side} the pipe: there it is {faster} than its band."))
            }
            (false, None) => Some(format!("{part} is {distance} rpm {side} the pipe.")),
        }
    }
}

/// "a", "a and b", "a, b and c".
pub(super) fn in_a_row(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn reach(row: &PartOnAxis) -> WorkingSpan {
    match row.asks {
        // The retard goes on from where it begins, and the limiter leaves everything below it.
        Ok(Asks::Speed(speed)) if row.part == "ignition retard" => WorkingSpan::From(speed),
        Ok(Asks::Speed(speed)) if row.part == "limiter" => WorkingSpan::UpTo(speed),
        Ok(Asks::Speed(speed)) => WorkingSpan::At(speed),
        Ok(Asks::Span(from, to)) => WorkingSpan::Between(from, to),
        Err(_) => WorkingSpan::NotKnown,
    }
}

/// What follows from a supposition, computed, one line each.
pub fn follows(was: &Bench<'_>, is: &Bench<'_>, units: Units) -> Vec<String> {
    let figures = derived(was, is).iter().map(|one| derived_words(one, units)).collect::<Vec<_>>();
    figures.into_iter().chain(standings(was, is)).collect()
}

/// What follows from a change, one line each: "exhaust opens 1.8 deg earlier (79.3 to 77.5 deg after top)".
pub(in crate::report) fn derived_words(one: &Derived, units: Units) -> String {
    let one = &as_shown(one, units);
    told(one, &if one.unit.is_empty() { String::new() } else { format!(" {}", one.unit) })
}

/// The same in short, the unit said once: "exhaust opens 1.8 deg earlier (79.3 to 77.5)".
pub(in crate::report) fn derived_in_short(one: &Derived, units: Units) -> String {
    match (one.old, one.new) {
        (Some(_), Some(_)) => told(&as_shown(one, units), ""),
        _ => derived_words(one, units),
    }
}

fn told(one: &Derived, unit: &str) -> String {
    let show = |value: f64| if one.decimals == 0 { grouped(value) } else { fixed(value, one.decimals) };
    let own = one.cylinder.as_deref().map(|name| format!("{} ", in_words(name))).unwrap_or_default();
    let figure = format!("{own}{}", one.figure);
    match (one.old, one.new) {
        (Some(old), Some(new)) => {
            // Of the figures as they are shown, so that the sum can be done in the head.
            let printed = |value: f64| fixed(value, one.decimals).parse().unwrap_or(value);
            let difference = printed(new) - printed(old);
            let word = if difference > 0.0 { one.words.0 } else { one.words.1 };
            let short = one.unit.split(' ').next().unwrap_or_default();
            let by = format!("{} {short}", show(difference.abs()));
            format!("{figure} {} {word} ({} to {}{unit})", by.trim(), show(old), show(new))
        }
        (None, Some(new)) => format!("{figure}: {}{unit}, not known before", show(new)),
        (Some(old), None) => format!("{figure}: not known now, {}{unit} before", show(old)),
        (None, None) => format!("{figure}: not known"),
    }
}

/// A figure in the units that are shown: velocities are computed in m/s.
fn as_shown(one: &Derived, units: Units) -> Derived {
    if one.unit != "m/s" {
        return one.clone();
    }
    let shown = |m_s: f64| sizes::number(m_s, Dimension::Velocity, units);
    let unit = sizes::unit(Dimension::Velocity, units);
    Derived { unit, old: one.old.map(shown), new: one.new.map(shown), ..one.clone() }
}
