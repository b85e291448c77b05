//! How fast a dimension of an engine wears, by the hours of the part it belongs to, and when it reaches its limit.
//!
//! From three readings on a straight line by least squares with the band of one further reading ([`crate::engine::life::wear`]).
//! Two readings set a rate and no doubt. Where hours between readings are not known, only the newest readings between which
//! all are known make the line; where these are fewer than two, the first and the last bound the rate from above, and with
//! it the hours left from below, because the hours that are not known make the wear slower than it looks.

use super::wear_hours::{Book, Dated, is_in};
pub use super::wear_hours::{HoursAxis, HoursGap, OnTheHours, Whose};
use super::{EngineRun, count};
use crate::advice::building::{FigureKind, NamedFigure};
use crate::engine::EngineError;
use crate::engine::life::wear::{DimensionReading, Direction, FittedLine, Limit, LimitReach, Range};
use crate::notebook::{Limits, When};
use crate::store::PartRecord;

/// Hours apart that two readings need for a rate, h.
const APART_H: f64 = 0.01;

/// A dimension as it was measured at one build.
#[derive(Debug, Clone, PartialEq)]
pub struct WearReading {
    /// When.
    pub date: When,
    /// At which build.
    pub build_id: String,
    /// What was measured, at 20 C, SI: m; of a volume m3, of a mass kg.
    pub dimension: f64,
    /// Its standard uncertainty, in the same unit.
    pub uncertainty: Option<f64>,
}

impl Dated for WearReading {
    fn date(&self) -> When {
        self.date
    }
}

/// The readings of a figure in an engine's builds, which come by date with their figures: at a seat, and at a cylinder where there are
/// several and the figure is not of all of them.
pub fn readings<'a>(
    builds: impl IntoIterator<Item = (When, &'a str, &'a [NamedFigure])>,
    figure: &str,
    (seat, cylinder): (Option<&str>, Option<&str>),
) -> Vec<WearReading> {
    let is_at = |known: &NamedFigure| known.cylinder.as_deref().is_none_or(|at| cylinder == Some(at));
    let wanted =
        |known: &&NamedFigure| known.kind.name == figure && known.seat.as_deref() == seat && is_at(known);
    let reading = |(date, id, figures): (When, &str, &'a [NamedFigure])| {
        let found = figures.iter().find(wanted)?;
        Some(WearReading {
            date,
            build_id: id.to_owned(),
            dimension: found.value.value(),
            uncertainty: Some(found.value.uncertainty()),
        })
    };
    builds.into_iter().filter_map(reading).collect()
}

/// What a kind of figure does as its part wears, and what else belongs to it (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Habit {
    /// Which limit it wears towards; none where that is not settled.
    pub side: Option<LimitSide>,
    /// Kinds of part whose change makes it jump, besides its own.
    pub beside: &'static [&'static str],
    /// What is done at the limit.
    pub deed: &'static str,
}

/// The habit of a figure by its name.
pub fn habit(figure: &str) -> Habit {
    use LimitSide::{Greatest, Least};
    let (side, beside, deed): (Option<LimitSide>, &'static [&'static str], &'static str) = match figure {
        "least_bore" | "greatest_bore" | "bore_taper" | "bore_out_of_round" => {
            (Some(Greatest), &[], "replate, rebore or change the cylinder")
        }
        "piston_clearance" => (Some(Greatest), &["cylinder"], "change the piston, or see to the bore"),
        "piston_diameter" => (Some(Least), &[], "change the piston"),
        "ring_gap" | "ring_gap_widest" => (Some(Greatest), &["cylinder"], "change the ring"),
        "ring_side_clearance" => (Some(Greatest), &["piston"], "change the ring, or the piston"),
        "pin_in_piston" => (Some(Greatest), &["pin"], "change pin and piston"),
        "pin_diameter" => (Some(Least), &[], "change the pin"),
        "small_end_bore" => (Some(Greatest), &[], "change the rod"),
        "rod_side_clearance" | "big_end_play" => (Some(Greatest), &["big-end", "crank"], "rebuild the crank"),
        "crank_runout" => (Some(Greatest), &["rod", "big-end"], "have the crank trued"),
        "reed_tension" => (Some(Least), &[], "change the reeds"),
        "reed_gap" => (Some(Greatest), &[], "change the reeds"),
        "bearing_in_case" => (Some(Least), &["main-bearing"], "see to the case"),
        "bearing_on_shaft" => (Some(Least), &["crank", "main-bearing"], "see to the shaft"),
        _ => (None, &[], "set it right"),
    };
    Habit { side, beside, deed }
}

/// On which side of a figure its limit lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitSide {
    /// Above it: the greatest allowed.
    Greatest,
    /// Below it: the least allowed.
    Least,
}

/// The limits there are to choose from, SI.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct WearLimits {
    /// Said with the request, in place of both others.
    pub asked: Option<f64>,
    /// The least allowed by configs/limits.toml.
    pub least: Option<f64>,
    /// The greatest.
    pub most: Option<f64>,
}

/// The limit that was chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChosenLimit {
    /// SI.
    pub value: f64,
    /// Its side.
    pub side: LimitSide,
    /// Whether it was said with the request.
    pub asked: bool,
}

/// How fast a dimension goes.
#[derive(Debug, Clone, PartialEq)]
pub enum Pace {
    /// Not told: there is one reading, or one that hours are known from.
    OneReading,
    /// Not told: it did not run between the readings.
    DidNotRun,
    /// Two readings with known hours between them.
    Two {
        /// SI an hour.
        rate: f64,
        /// Whether the readings differ by more than twice their doubt; none where that is not known.
        told_apart: Option<bool>,
    },
    /// The first and the last reading with at least so many hours between them: it goes no faster than this.
    AtMost {
        /// SI an hour.
        rate: f64,
    },
    /// A line through three readings or more.
    Line {
        /// The line, its dimensions raised by `raised`, its hours less [`Wear::zero_h`].
        line: FittedLine,
        /// What was added to every dimension, SI: a line knows none below nought.
        raised: f64,
        /// SI an hour.
        rate: Range,
        /// Which way it goes.
        direction: Direction,
    },
}

/// When the limit is reached, in hours of the axis less [`Wear::zero_h`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Arrival {
    /// By two readings, without a doubt that could be told.
    At {
        /// Hours, h.
        hours_h: f64,
    },
    /// Not before.
    NotBefore {
        /// Hours, h.
        hours_h: f64,
    },
    /// By a line.
    Line(LimitReach),
    /// The readings lead away from it, or nowhere.
    Never,
}

impl Arrival {
    /// The soonest, h.
    pub fn soonest_h(self) -> Option<f64> {
        match self {
            Self::At { hours_h } | Self::NotBefore { hours_h } => Some(hours_h),
            Self::Line(LimitReach::Between { soonest_h, .. } | LimitReach::Open { soonest_h, .. }) => {
                Some(soonest_h)
            }
            Self::Line(LimitReach::AnyTime | LimitReach::Never) | Self::Never => None,
        }
    }
}

/// What the readings of a dimension tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// The hours they are laid on.
    pub axis: HoursAxis,
    /// Those that were used.
    pub used: Vec<OnTheHours>,
    /// How many of the same parts were left out, as hours between them and the used ones are not known.
    pub left_out: usize,
    /// Hours of the axis that are taken for nought: those of the first used reading where only differences are known.
    pub zero_h: f64,
    /// How fast it goes.
    pub pace: Pace,
    /// The limit; none where none is set on that side.
    pub limit: Option<ChosenLimit>,
    /// The side on which a limit is wanted.
    pub side: LimitSide,
    /// When it is reached; none without a limit or a pace.
    pub arrival: Option<Arrival>,
    /// Whether the newest reading is beyond the limit.
    pub past: bool,
}

/// What is asked of an engine's readings.
pub struct WearQuestion<'a> {
    /// The engine.
    pub engine: &'a str,
    /// The cylinder, of an engine with several.
    pub cylinder: Option<&'a str>,
    /// The figure.
    pub figure: &'static FigureKind,
    /// The readings, by date.
    pub readings: &'a [WearReading],
    /// All parts of the book.
    pub parts: &'a [PartRecord],
    /// All runs, by date.
    pub runs: &'a [EngineRun],
    /// When the engine was built, by date.
    pub builds: &'a [When],
    /// Limits to choose from.
    pub limits: WearLimits,
    /// Level of the intervals, 0.5 to 0.999.
    pub level: f64,
    /// Now.
    pub now: When,
}

impl WearQuestion<'_> {
    /// What the readings tell; none without a reading. Errors are those of a level out of its range, or of a limit.
    pub fn answer(&self) -> Result<Option<Wear>, EngineError> {
        let habit = habit(self.figure.name);
        // A figure of the engine still jumps with the parts beside it; no part of the book is of the kind "".
        let own = self.figure.part.unwrap_or("");
        let kinds: Vec<&'static str> = std::iter::once(own).chain(habit.beside.iter().copied()).collect();
        let book = Book {
            engine: self.engine,
            cylinder: self.cylinder,
            parts: self.parts,
            runs: self.runs,
            builds: self.builds,
            now: self.now,
        };
        let Some(mut axis) = book.axis(self.readings, &kinds) else { return Ok(None) };
        axis.unseen.retain(|kind| !kind.is_empty());
        let (used, bound) = usable(&axis.places);
        let zero_h =
            if axis.open_at_the_beginning || bound { used.first().map_or(0.0, |at| at.hours_h) } else { 0.0 };
        let points: Vec<(f64, &WearReading)> =
            used.iter().map(|at| (at.hours_h - zero_h, &self.readings[at.reading])).collect();
        let pace = self.pace(&points, bound)?;
        let side = side(&pace, habit.side);
        let limit = self.limit(side);
        let arrival = limit.map(|limit| self.arrival(&points, &pace, limit)).transpose()?.flatten();
        let past = limit.zip(points.last()).is_some_and(|(limit, (_, newest))| match limit.side {
            LimitSide::Greatest => newest.dimension > limit.value,
            LimitSide::Least => newest.dimension < limit.value,
        });
        let left_out = axis.places.len() - used.len();
        Ok(Some(Wear { axis, used, left_out, zero_h, pace, limit, side, arrival, past }))
    }

    fn pace(&self, points: &[(f64, &WearReading)], bound: bool) -> Result<Pace, EngineError> {
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return Ok(Pace::OneReading) };
        if points.len() < 2 {
            return Ok(Pace::OneReading);
        }
        let apart = last.0 - first.0;
        if apart < APART_H {
            return Ok(Pace::DidNotRun);
        }
        let change = last.1.dimension - first.1.dimension;
        if bound {
            return Ok(Pace::AtMost { rate: change / apart });
        }
        if points.len() == 2 {
            let doubt = first.1.uncertainty.zip(last.1.uncertainty).map(|(a, b)| a.hypot(b));
            let told_apart = doubt.map(|doubt| change.abs() > 2.0 * doubt);
            return Ok(Pace::Two { rate: change / apart, told_apart });
        }
        let limits = [self.limits.asked, self.limits.least, self.limits.most];
        let all = points.iter().map(|(_, reading)| reading.dimension).chain(limits.into_iter().flatten());
        let raised = all.fold(0.0, |raised: f64, dimension| raised.max(-dimension));
        let raise = |(hours_h, reading): &(f64, &WearReading)| DimensionReading {
            hours_h: *hours_h,
            dimension_m: reading.dimension + raised,
        };
        let line = FittedLine::fit(&points.iter().map(raise).collect::<Vec<_>>())?;
        let (rate, direction) = (line.rate_between(self.level)?, line.direction(self.level)?);
        Ok(Pace::Line { line, raised, rate, direction })
    }

    fn limit(&self, side: LimitSide) -> Option<ChosenLimit> {
        let listed = match side {
            LimitSide::Greatest => self.limits.most,
            LimitSide::Least => self.limits.least,
        };
        let value = self.limits.asked.or(listed)?;
        Some(ChosenLimit { value, side, asked: self.limits.asked.is_some() })
    }

    fn arrival(
        &self,
        points: &[(f64, &WearReading)],
        pace: &Pace,
        limit: ChosenLimit,
    ) -> Result<Option<Arrival>, EngineError> {
        let Some((hours, newest)) = points.last() else { return Ok(None) };
        let straight = |rate: f64| {
            let ahead = limit.value - newest.dimension;
            let towards = match limit.side {
                LimitSide::Greatest => rate > 0.0,
                LimitSide::Least => rate < 0.0,
            };
            towards.then(|| hours + ahead / rate)
        };
        Ok(match pace {
            Pace::OneReading | Pace::DidNotRun => None,
            Pace::Two { rate, .. } => {
                Some(straight(*rate).map_or(Arrival::Never, |hours_h| Arrival::At { hours_h }))
            }
            Pace::AtMost { rate } => {
                Some(straight(*rate).map_or(Arrival::Never, |hours_h| Arrival::NotBefore { hours_h }))
            }
            Pace::Line { line, raised, .. } => {
                let raised = limit.value + raised;
                let limit = match limit.side {
                    LimitSide::Greatest => Limit::Greatest(raised),
                    LimitSide::Least => Limit::Least(raised),
                };
                Some(Arrival::Line(line.reaches(limit, self.level)?))
            }
        })
    }
}

/// The readings that make a line, and whether they only bound it.
fn usable(places: &[OnTheHours]) -> (Vec<OnTheHours>, bool) {
    let since = |gaps: &[HoursGap]| places.iter().rposition(|place| gaps.contains(&place.gap)).unwrap_or(0);
    let (told, known) = (since(&[HoursGap::NotTold]), since(&[HoursGap::NotTold, HoursGap::More]));
    let (told, known) = (&places[told..], &places[known..]);
    match (told, known) {
        ([first, .., last], [_]) => (vec![*first, *last], true),
        _ => (known.to_vec(), false),
    }
}

/// The side of the limit: where it is seen to go; else where it goes by its habit; else where it seems to go.
fn side(pace: &Pace, habit: Option<LimitSide>) -> LimitSide {
    let (seen, rate) = match pace {
        Pace::Line { direction: Direction::Growing, .. } => return LimitSide::Greatest,
        Pace::Line { direction: Direction::Shrinking, .. } => return LimitSide::Least,
        Pace::Line { line, .. } => (None, line.rate_m_h()),
        Pace::Two { rate, told_apart } => (told_apart.filter(|apart| *apart), *rate),
        Pace::AtMost { rate } => (None, *rate),
        Pace::OneReading | Pace::DidNotRun => (None, 0.0),
    };
    let by_rate = if rate < 0.0 { LimitSide::Least } else { LimitSide::Greatest };
    if seen.is_some() { by_rate } else { habit.unwrap_or(by_rate) }
}

/// Top ends that come before a limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TopEnds {
    /// Hours between two, h.
    pub every_h: f64,
    /// Hours from now to the next, h.
    pub next_in_h: f64,
    /// How many come before the limit at the soonest.
    pub before: u32,
}

impl TopEnds {
    /// Hours from now to the last of them, h; none where none comes before.
    pub fn last_in_h(self) -> Option<f64> {
        let more = f64::from(self.before.checked_sub(1)?);
        Some(self.next_in_h + more * self.every_h)
    }
}

/// Top ends of an engine before so many hours from now: every so many hours as configs/limits.toml changes a piston, the next
/// when the piston that is in it is due; a whole interval from now where no piston of the book is in it. None where no
/// interval is set.
pub fn top_ends(
    limits: &Limits,
    (engine, cylinder): (&str, Option<&str>),
    (parts, runs): (&[PartRecord], &[EngineRun]),
    now: When,
    soonest_in_h: f64,
) -> Option<TopEnds> {
    let every_h = limits.parts.get("piston")?.change_after.as_ref()?.si() / 3600.0;
    let in_it = |known: &&PartRecord| is_in(known, (engine, cylinder), now);
    let piston = parts.iter().filter(|known| known.part.kind == "piston").find(in_it);
    let has_run = piston.map_or(0.0, |known| count(&known.part, runs, now).hours_h);
    let next_in_h = (every_h - has_run).max(0.0);
    let mut before = 0;
    // More than a hundred are no plan any more.
    while before < 100 && next_in_h + f64::from(before) * every_h <= soonest_in_h {
        before += 1;
    }
    Some(TopEnds { every_h, next_in_h, before })
}
