//! The dimensions that an engine's builds measured more than once, each with what its readings tell.

use super::runs;
use super::wear::{Wear, WearLimits, WearQuestion, WearReading, habit, readings};
use crate::advice::building::{FigureKind, KINDS, NamedFigure, Unjudged, judged};
use crate::notebook::When;
use crate::store::Book;

/// A build: when it was, its identity, its figures.
pub type JudgedBuild = (When, String, Vec<NamedFigure>);

/// What an engine's builds hold of one figure.
#[derive(Debug, Clone)]
pub struct Measured {
    /// Its readings, by date.
    pub readings: Vec<WearReading>,
    /// When the engine was built, by date.
    pub builds: Vec<When>,
    /// Limits to choose from.
    pub limits: WearLimits,
    /// Where those of configs/limits.toml are from.
    pub source: Option<String>,
}

impl Measured {
    /// Of a figure at a seat, and at a cylinder where there are several; limits that are shares are those of the newest reading's bore.
    pub fn of(
        builds: &[JudgedBuild],
        figure: &FigureKind,
        (seat, cylinder): (Option<&str>, Option<&str>),
        asked: Option<f64>,
    ) -> Self {
        let newest: Option<&NamedFigure> =
            builds.iter().flat_map(|(_, _, figures)| figures.iter()).rfind(|known| {
                let is_at = known.cylinder.is_none() || known.cylinder.as_deref() == cylinder;
                known.kind.name == figure.name && known.seat.as_deref() == seat && is_at
            });
        let edge =
            |place: usize| newest.and_then(|known| known.edges.as_ref()).and_then(|edges| edges.all()[place]);
        let each = builds.iter().map(|(date, id, figures)| (*date, id.as_str(), figures.as_slice()));
        Self {
            readings: readings(each, figure.name, (seat, cylinder)),
            builds: builds.iter().map(|(date, _, _)| *date).collect(),
            limits: WearLimits { asked, least: edge(0), most: edge(3) },
            source: newest.and_then(|known| known.source.clone()),
        }
    }
}

/// An engine's builds with their figures, by date.
pub fn judged_builds(book: &Book<'_>, engine: &str) -> Result<Vec<JudgedBuild>, Unjudged> {
    let builds = book.builds(engine)?.into_iter();
    builds
        .map(|record| {
            let figures = judged(book.garage(), &record)?.figures;
            Ok((record.build.date, record.id, figures))
        })
        .collect()
}

/// A dimension over an engine's builds.
#[derive(Debug, Clone)]
pub struct WearLine {
    /// What it is.
    pub figure: &'static FigureKind,
    /// The seat, of a bearing.
    pub seat: Option<String>,
    /// The cylinder, of an engine with several.
    pub cylinder: Option<String>,
    /// What was measured.
    pub measured: Measured,
    /// What that tells.
    pub wear: Wear,
}

/// Level of the intervals of a sheet's lines.
pub const LEVEL: f64 = 0.9;

/// Every dimension that wears and whose readings over an engine's builds set a pace towards a limit, what reaches it soonest first.
pub fn wear_lines(book: &Book<'_>, engine: &str, now: When) -> Result<Vec<WearLine>, Unjudged> {
    let builds = judged_builds(book, engine)?;
    let (parts, runs) = (book.parts()?, runs(book)?);
    let mut lines: Vec<WearLine> = Vec::new();
    for known in builds.iter().rev().flat_map(|(_, _, figures)| figures) {
        let figure = known.kind;
        let place = (known.seat.as_deref(), known.cylinder.as_deref());
        let is_told = |line: &WearLine| {
            line.figure.name == figure.name && (line.seat.as_deref(), line.cylinder.as_deref()) == place
        };
        // What is set anew at each build, like the squish, goes no way of its own.
        if habit(figure.name).side.is_none() || lines.iter().any(is_told) {
            continue;
        }
        let measured = Measured::of(&builds, figure, place, None);
        let question = WearQuestion {
            engine,
            cylinder: place.1,
            figure,
            readings: &measured.readings,
            parts: &parts,
            runs: &runs,
            builds: &measured.builds,
            limits: measured.limits.clone(),
            level: LEVEL,
            now,
        };
        if let Some(wear) = question.answer()?.filter(|wear| left_h(wear).is_some()) {
            let (seat, cylinder) = (known.seat.clone(), known.cylinder.clone());
            lines.push(WearLine { figure, seat, cylinder, measured, wear });
        }
    }
    let order = |line: &WearLine| KINDS.iter().position(|kind| kind.name == line.figure.name);
    lines.sort_by_key(order);
    let order_of = |line: &WearLine| left_h(&line.wear).unwrap_or(f64::INFINITY);
    lines.sort_by(|one, other| order_of(one).total_cmp(&order_of(other)));
    Ok(lines)
}

/// Hours from the newest reading to the limit at the soonest, h; what is past it comes before all; none where it leads away, or nothing
/// is told.
fn left_h(wear: &Wear) -> Option<f64> {
    let soonest = wear.arrival?.soonest_h();
    if wear.past {
        return Some(f64::NEG_INFINITY);
    }
    let newest = wear.used.last().map_or(0.0, |place| place.hours_h - wear.zero_h);
    Some(soonest? - newest)
}
