//! `part wear`: how fast a dimension wears over an engine's builds, and when it reaches its limit.

use clap::Args;

use crate::advice::building::{FigureKind, FigureUnit, KINDS, kind_of};
use crate::advice::parts::runs;
use crate::advice::parts::wear::{Arrival, HoursGap, Wear, WearQuestion, top_ends};
use crate::advice::parts::wear_lines::{JudgedBuild, Measured, judged_builds};
use crate::commands::desk::Desk;
use crate::commands::options::engine::{quantity, without_unit};
use crate::engine::EngineError;
use crate::notebook::fields::names::visible;
use crate::notebook::{Limits, nearest_name};
use crate::quantity::{FigureLimit, Percent, Units, trimmed};
use crate::report::Trouble;
use crate::report::parts::wear::{PartWearAnswer, WearFound};
use crate::store::{Book, Garage, cylinders_of};

/// Kinds of part that a top end changes: rebuilds are not counted against them.
const CHANGED_AT_A_TOP_END: [&str; 3] = ["piston", "ring", "pin"];

/// How fast a dimension wears, and when it reaches its limit
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(super) struct PartWear {
    /// The engine
    engine: String,
    /// The figure, by its name in configs/limits.toml, like `greatest_bore`
    figure: String,
    /// The seat, for `bearing_in_case` and `bearing_on_shaft` of an engine with several
    #[arg(long, value_name = "NAME")]
    seat: Option<String>,
    /// The cylinder, of an engine with several
    #[arg(long, value_name = "CYLINDER")]
    at: Option<String>,
    /// The limit, in place of that of configs/limits.toml ("54.10 mm")
    #[arg(long, value_name = "VALUE", allow_hyphen_values = true)]
    limit: Option<String>,
    /// Level of the intervals, 50 to 99.9 %
    #[arg(long, value_name = "PERCENT", default_value = "90 %", allow_negative_numbers = true)]
    level: String,
    /// Draw the readings, the line and the limit
    #[arg(long)]
    plot: bool,
}

impl PartWear {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        garage.require_engine(&self.engine)?;
        let figure = kind_of(&self.figure).ok_or_else(|| self.no_figure())?;
        let level = self.level()?;
        let asked = self.limit(figure, garage.is_imperial())?;
        let book = Book::open(&garage)?;
        let judged = judged_builds(&book, &self.engine)?;
        let seat = self.seat(&judged, figure)?;
        let cylinder = self.cylinder(&garage, &judged, figure)?;
        let measured = Measured::of(&judged, figure, (seat.as_deref(), cylinder.as_deref()), asked);
        let (parts, runs, limits) = (book.parts()?, runs(&book)?, garage.limits()?);
        let question = WearQuestion {
            engine: &self.engine,
            cylinder: cylinder.as_deref(),
            figure,
            readings: &measured.readings,
            parts: &parts,
            runs: &runs,
            builds: &measured.builds,
            limits: measured.limits.clone(),
            level,
            now: desk.moment.now,
        };
        let refused = |error: EngineError| {
            Trouble::request(
                None,
                error.to_string(),
                "Check the readings and the limit: `reedbook build show` shows them.",
            )
        };
        let wear = question.answer().map_err(refused)?.ok_or_else(|| self.not_measured(figure))?;
        let ends = soonest_in_h(&wear)
            .filter(|_| !figure.part.is_some_and(|kind| CHANGED_AT_A_TOP_END.contains(&kind)))
            .and_then(|soonest| {
                let place = (self.engine.as_str(), cylinder.as_deref());
                top_ends(&limits, place, (&parts, &runs), desk.moment.now, soonest)
            });
        let unreadable = book.broken_builds(&self.engine)?.into_iter().map(|file| file.findings);
        let answer = PartWearAnswer::from(WearFound {
            engine: &self.engine,
            figure,
            seat,
            cylinder,
            readings: &measured.readings,
            wear,
            source: measured.source,
            level,
            top_ends: ends,
            change_after_h: change_after_h(&limits, figure),
            unreadable: unreadable.collect(),
            drawn: self.plot,
        });
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// The seat that is meant; the only one where none is named.
    fn seat(&self, judged: &[JudgedBuild], figure: &FigureKind) -> Result<Option<String>, Trouble> {
        let all = judged.iter().flat_map(|(_, _, figures)| figures);
        let mut seats: Vec<&str> = all
            .filter(|known| known.kind.name == figure.name)
            .filter_map(|known| known.seat.as_deref())
            .collect();
        seats.sort_unstable();
        seats.dedup();
        match (&self.seat, seats.as_slice()) {
            (None, []) => Ok(None),
            (None, [only]) => Ok(Some((*only).to_owned())),
            (Some(named), _) if seats.contains(&named.as_str()) => Ok(Some(named.clone())),
            (Some(named), []) => Err(Trouble::request(
                Some("--seat"),
                format!(
                    "No {} of a seat \"{}\" was measured on {}.",
                    figure.words,
                    visible(named),
                    self.engine
                ),
                "Leave --seat out, or measure it at the next build.",
            )),
            (named, known) => Err(Trouble::request(
                Some("--seat"),
                match named {
                    Some(named) => format!("{} has no seat \"{}\".", self.engine, visible(named)),
                    None => format!("{} has several seats, each with a line of its own.", self.engine),
                },
                format!("Name one: --seat {}.", known.join(", --seat ")),
            )),
        }
    }

    /// The cylinder that is meant, of a figure that was read at one of several.
    fn cylinder(
        &self,
        garage: &Garage,
        judged: &[JudgedBuild],
        figure: &FigureKind,
    ) -> Result<Option<String>, Trouble> {
        let names = cylinders_of(garage, &self.engine)?;
        let mut known: Vec<String> = names.clone();
        let all = judged.iter().flat_map(|(_, _, figures)| figures);
        let own =
            all.filter(|known| known.kind.name == figure.name).filter_map(|known| known.cylinder.clone());
        let own: Vec<String> = own.collect();
        known.extend(own.iter().filter(|name| !names.contains(name)).cloned());
        let wrong = |message: String, help: String| Err(Trouble::request(Some("--at"), message, help));
        match &self.at {
            Some(at) if known.contains(at) => Ok(Some(at.clone())),
            Some(_) if known.is_empty() => {
                wrong(format!("{} has one cylinder.", self.engine), "Leave --at out.".to_owned())
            }
            Some(at) => wrong(
                format!("{} has no cylinder \"{}\".", self.engine, visible(at)),
                format!("Its cylinders are {}.", known.join(", ")),
            ),
            None if own.is_empty() => Ok(None),
            None => wrong(
                format!(
                    "The {} was measured at each cylinder of {}, each with a line of its own.",
                    figure.words, self.engine
                ),
                format!("Name one: --at {}.", known.join(", --at ")),
            ),
        }
    }

    fn no_figure(&self) -> Trouble {
        let names = || KINDS.iter().map(|kind| kind.name);
        let help = match nearest_name(&self.figure, names()) {
            Some(near) => format!("Did you mean {near}?"),
            None => format!("Figures: {}.", names().collect::<Vec<_>>().join(", ")),
        };
        Trouble::request(Some("figure"), format!("There is no figure \"{}\".", visible(&self.figure)), help)
    }

    fn not_measured(&self, figure: &FigureKind) -> Trouble {
        Trouble::request(
            Some("figure"),
            format!("No build of {} holds the {}.", self.engine, figure.words),
            format!("Measure it at a build; it takes {}.", figure.needs),
        )
    }

    fn level(&self) -> Result<f64, Trouble> {
        let level: Option<Percent> = quantity("--level", Some(&self.level))?;
        let level = level.map_or(0.9, |level| level.si());
        if (0.5..=0.999).contains(&level) {
            return Ok(level);
        }
        Err(Trouble::request(
            Some("--level"),
            format!("--level is {} %; allowed is 50 to 99.9 %.", trimmed(100.0 * level, 4)),
            "Give a number within that, like --level 90%.",
        ))
    }

    /// The limit that was typed, SI; it measures what the figure does.
    fn limit(&self, figure: &FigureKind, imperial: bool) -> Result<Option<f64>, Trouble> {
        let limit: Option<FigureLimit> = quantity("--limit", self.limit.as_deref())?;
        let Some(limit) = limit else { return Ok(None) };
        let typed = limit.quantity();
        let dimension = figure.unit.dimension();
        let (unit, _) = dimension.display(Units::Metric);
        let ends = match figure.unit {
            FigureUnit::Length => (-0.01, 0.2),
            FigureUnit::Volume => (0.0, 1e-3),
            FigureUnit::Mass => (0.0, 1.0),
        };
        let wrong = |message: String, help: String| Err(Trouble::request(Some("--limit"), message, help));
        if typed.dimension() != dimension {
            return wrong(
                format!(
                    "--limit {typed} does not measure what the {} does.",
                    figure.words,
                    typed = typed.with_unit()
                ),
                format!("Give it in {unit}."),
            );
        }
        if imperial && typed.is_bare() {
            return Err(without_unit("--limit", typed.text(), "Write the unit: mm or in."));
        }
        if !(ends.0..=ends.1).contains(&typed.si()) {
            return wrong(
                format!("--limit {} is no {} of an engine.", typed.with_unit(), figure.words),
                format!("Check the digits and the unit; without one it is taken for {unit}."),
            );
        }
        Ok(Some(typed.si()))
    }
}

/// Hours from now to the limit at the soonest by a line; none where nothing is told from now, or it is past.
fn soonest_in_h(wear: &Wear) -> Option<f64> {
    let axis = &wear.axis;
    let told = axis.changed_since.is_empty() && axis.gap_to_now != HoursGap::NotTold && !wear.past;
    // What two readings tell is no ground to plan rebuilds on.
    let by_line = wear.arrival.filter(|arrival| matches!(arrival, Arrival::Line(_)));
    let soonest = by_line.and_then(Arrival::soonest_h)? + wear.zero_h - axis.now_h;
    (told && soonest > 0.0).then_some(soonest)
}

fn change_after_h(limits: &Limits, figure: &FigureKind) -> Option<f64> {
    let kind = figure.part.filter(|kind| CHANGED_AT_A_TOP_END.contains(kind))?;
    Some(limits.parts.get(kind)?.change_after.as_ref()?.si() / 3600.0)
}
