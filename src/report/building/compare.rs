//! Two builds of an engine side by side.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::{FigureUnit, GapCheck, Unlike};
use crate::notebook::{Scope, When};
use crate::quantity::Units;
use crate::report::building::bench::GapWord;
use crate::report::building::figure::{BuildFigure, scaled};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{signed, table};
use crate::report::words::sizes::of_figure;
use crate::store::BuildRecord;

/// Two builds of an engine side by side.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BuildComparison {
    /// Folder name of the engine.
    engine: String,
    /// The older build.
    old: BuildCompared,
    /// The newer build.
    new: BuildCompared,
    /// Figure by figure.
    figures: Vec<FigureMoved>,
    /// How the bore grew by the ring's gap and by the gauge, where one ring was measured at both.
    growth: Vec<String>,
    /// Parts that came and went.
    parts: Vec<String>,
    /// How long it ran between them.
    hours: Option<String>,
    /// What was assumed and what is missing.
    remarks: Vec<String>,
    /// How the bore grew, before it was put into words.
    #[serde(skip)]
    grown: Vec<GapWord>,
}

/// One of two builds.
#[derive(Debug, Serialize, JsonSchema)]
struct BuildCompared {
    /// Identity of the build.
    id: String,
    /// When.
    #[schemars(with = "String")]
    date: When,
    /// How much of it was apart.
    scope: Scope,
}

/// How a figure moved.
#[derive(Debug, Serialize, JsonSchema)]
struct FigureMoved {
    /// Name of the figure.
    figure: &'static str,
    /// Name of the bearing's seat.
    seat: Option<String>,
    /// The cylinder it was read at; not there where it is of all, and on an engine with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    cylinder: Option<String>,
    /// Null where it was not measured then.
    old: Option<BuildFigure>,
    /// Null where it was not measured then.
    new: Option<BuildFigure>,
    /// New less old, in the figure's unit.
    difference: Option<Figure<5>>,
    /// Twice its standard uncertainty.
    expanded_uncertainty: Option<Figure<5>>,
    /// Whether the gauges can tell the two apart.
    told_apart: Option<bool>,
    /// The figure and its seat in words.
    #[serde(skip)]
    words: String,
    /// What it is measured in.
    #[serde(skip)]
    sort: FigureUnit,
}

/// Two builds and what became of the engine between them.
pub struct BuildsBeside<'a> {
    /// The older build.
    pub old: &'a BuildRecord,
    /// The newer one.
    pub new: &'a BuildRecord,
    /// Figure by figure.
    pub unlike: &'a [Unlike],
    /// How the bore grew by the ring's gap, where one ring was measured at both.
    pub growth: &'a [GapCheck],
    /// Parts that came and went, in words.
    pub parts: Vec<String>,
    /// Hours the engine ran between, in words.
    pub hours: Option<String>,
    /// What else should be known.
    pub remarks: Vec<String>,
}

impl From<BuildsBeside<'_>> for BuildComparison {
    fn from(builds: BuildsBeside<'_>) -> Self {
        let grown: Vec<_> = builds.growth.iter().map(GapWord::from).collect();
        Self {
            engine: builds.new.engine.clone(),
            old: BuildCompared::from(builds.old),
            new: BuildCompared::from(builds.new),
            figures: builds.unlike.iter().filter_map(FigureMoved::of).collect(),
            growth: grown.iter().map(|gap| gap.words(Units::Metric)).collect(),
            parts: builds.parts,
            hours: builds.hours,
            remarks: builds.remarks,
            grown,
        }
    }
}

impl From<&BuildRecord> for BuildCompared {
    fn from(record: &BuildRecord) -> Self {
        Self { id: record.id.clone(), date: record.build.date, scope: record.build.scope }
    }
}

impl FigureMoved {
    fn of(one: &Unlike) -> Option<Self> {
        let figure = one.figure()?;
        let (_, factor, _) = of_figure(figure.kind.unit, Units::Metric, 0.0);
        let difference = one.difference();
        Some(Self {
            figure: figure.kind.name,
            seat: figure.seat.clone(),
            cylinder: figure.cylinder.clone(),
            old: one.old.as_ref().map(BuildFigure::from),
            new: one.new.as_ref().map(BuildFigure::from),
            difference: difference.map(|(value, _)| Figure(value / factor)),
            expanded_uncertainty: difference.map(|(_, u)| Figure(2.0 * u / factor)),
            told_apart: one.is_told_apart(),
            words: figure.words(),
            sort: figure.kind.unit,
        })
    }

    fn row(&self, units: Units) -> Vec<String> {
        let show = |side: &Option<BuildFigure>| {
            side.as_ref().map_or_else(|| "-".to_owned(), |figure| figure.value_words(units))
        };
        let change = match (self.difference, self.expanded_uncertainty, self.told_apart) {
            (Some(difference), Some(doubt), Some(told)) => {
                let (_, size, decimals) = scaled(self.sort, units, doubt.0);
                let amount = signed(difference.0 / size, decimals);
                if told { amount } else { format!("({amount})") }
            }
            _ => String::new(),
        };
        let verdict = self.new.as_ref().map(|figure| figure.verdict_words(units)).unwrap_or_default();
        vec![self.words.clone(), show(&self.old), show(&self.new), change, verdict]
    }
}

impl BuildComparison {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let (old, new) = (self.old.date.short(), self.new.date.short());
        let mut blocks = vec![screen.strong(&format!("{}: build of {new} compared with {old}", self.engine))];
        if let Some(hours) = &self.hours {
            blocks[0].push_str(&format!("\n  {hours}"));
        }
        let rows: Vec<_> = self.figures.iter().map(|figure| figure.row(screen.units())).collect();
        if rows.is_empty() {
            blocks.push("Neither build was measured.".into());
        } else {
            let days = [day(&old), day(&new)];
            let head = ["at 20 C", &days[0], &days[1], "change", "verdict now"];
            let text = table(&head, rows, &[1, 2, 3], screen.width());
            blocks.push(format!(
                "{text}\n( ): the gauges cannot tell it from none. Changes are of unrounded figures."
            ));
        }
        let words: Vec<_> = self
            .grown
            .iter()
            .map(|gap| gap.words(screen.units()))
            .chain(self.parts.iter().cloned())
            .map(|words| screen.wrap(&words, 2))
            .collect();
        if !words.is_empty() {
            blocks.push(words.join("\n"));
        }
        if !self.remarks.is_empty() {
            let notes = self.remarks.iter().map(|remark| screen.known(remark));
            blocks.push(notes.collect::<Vec<_>>().join("\n"));
        }
        blocks.join("\n\n")
    }
}

/// The day of a date for a column's head.
fn day(short: &str) -> String {
    short.split(' ').next().unwrap_or(short).to_owned()
}
