//! A figure of a build: its value with its doubt, and what the limits say of it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::{FigureUnit, NamedFigure as Judgeable};
use crate::engine::gauging::edges::{Edges, Grade, Judged, RangeSide};
use crate::notebook::fields::names::visible;
use crate::quantity::{Units, fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::out::glue::GLUE;
use crate::report::parts::word::{Word, Worded};
use crate::report::words::layout::capital;
use crate::report::words::sizes::of_figure;

/// A figure of a build.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct BuildFigure {
    /// Name of the figure, as in configs/limits.toml.
    pub(super) figure: &'static str,
    /// The same in words.
    pub(super) words: String,
    /// Name of the bearing's seat; null for everything else.
    pub(super) seat: Option<String>,
    /// The cylinder it was read at; not there where it is of all, and on an engine with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub(super) cylinder: Option<String>,
    /// The figure at 20 C, in its unit.
    pub(super) value: Figure<5>,
    /// Twice its standard uncertainty, in its unit.
    pub(super) expanded_uncertainty: Figure<5>,
    /// Unit of the figure.
    #[schemars(extend("enum" = ["mm", "cc", "g"]))]
    unit: &'static str,
    /// Where it was found.
    pub(super) at: Option<String>,
    /// What the limits say; null where none is set.
    pub(super) verdict: Option<Word<Judged>>,
    /// The two grades it may be, where it is too close to call.
    between: Option<[Word<Grade>; 2]>,
    /// The limits it is held against, in the figure's unit; all null where none is set.
    pub(super) limits: FigureLimits,
    /// What it is measured in.
    #[serde(skip)]
    pub(super) sort: FigureUnit,
    /// It in words without its cylinder.
    #[serde(skip)]
    pub(super) of_all: String,
}

/// The limits of a figure, in its unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct FigureLimits {
    /// Under it: replace.
    pub(super) least: Option<Figure<5>>,
    /// Under it: watch.
    pub(super) watch_below: Option<Figure<5>>,
    /// Over it: watch.
    pub(super) watch_above: Option<Figure<5>>,
    /// Over it: replace.
    pub(super) most: Option<Figure<5>>,
    /// Where the limits are from, as configs/limits.toml says.
    source: Option<String>,
}

impl Worded for Grade {
    const ALL: &'static [Self] =
        &[Self::Good, Self::Watch(RangeSide::Below), Self::Replace(RangeSide::Below)];

    fn word(&self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Watch(_) => "watch",
            Self::Replace(_) => "replace",
        }
    }
}

impl Worded for Judged {
    const ALL: &'static [Self] = &[
        Self::Is(Grade::Good),
        Self::Is(Grade::Watch(RangeSide::Below)),
        Self::Is(Grade::Replace(RangeSide::Below)),
        Self::TooClose { nearest: Grade::Good, between: (Grade::Good, Grade::Good) },
    ];

    fn word(&self) -> &'static str {
        match self {
            Self::Is(grade) => grade.word(),
            Self::TooClose { .. } => "too close to call",
        }
    }
}

impl From<&Judgeable> for BuildFigure {
    fn from(figure: &Judgeable) -> Self {
        let sort = figure.kind.unit;
        let (unit, factor, _) = of_figure(sort, Units::Metric, 0.0);
        Self {
            figure: figure.kind.name,
            words: figure.words(),
            seat: figure.seat.clone(),
            cylinder: figure.cylinder.clone(),
            value: Figure(figure.value.value() / factor),
            expanded_uncertainty: Figure(figure.value.expanded() / factor),
            unit,
            at: figure.at.clone(),
            verdict: figure.judged.map(Word),
            between: match figure.judged {
                Some(Judged::TooClose { between: (low, high), .. }) => Some([Word(low), Word(high)]),
                _ => None,
            },
            limits: FigureLimits::of(figure.edges.as_ref(), figure.source.clone(), factor),
            sort,
            of_all: figure.words_of_all(),
        }
    }
}

impl FigureLimits {
    fn of(edges: Option<&Edges>, source: Option<String>, factor: f64) -> Self {
        let all = edges.map(Edges::all).unwrap_or_default();
        let [least, watch_below, watch_above, most] = all.map(|edge| edge.map(|edge| Figure(edge / factor)));
        Self { least, watch_below, watch_above, most, source }
    }

    /// The edge that a grade lies beyond, and the word for it.
    fn beyond(&self, grade: Grade) -> Option<(Figure<5>, &'static str)> {
        let (edge, word) = match grade {
            Grade::Good => return None,
            Grade::Watch(RangeSide::Below) => (self.watch_below, "under"),
            Grade::Watch(RangeSide::Above) => (self.watch_above, "over"),
            Grade::Replace(RangeSide::Below) => (self.least, "under"),
            Grade::Replace(RangeSide::Above) => (self.most, "over"),
        };
        edge.map(|edge| (edge, word))
    }
}

impl BuildFigure {
    /// Its value with its unit, in the digits that it is known to.
    pub(super) fn value_words(&self, units: Units) -> String {
        in_unit(self.value.0, self.sort, units, self.expanded_uncertainty.0)
    }

    /// It in words for the first column of a table, with its unit where that is no length, and without its cylinder.
    pub(super) fn name(&self, units: Units) -> String {
        let (symbol, _, _) = scaled(self.sort, units, self.expanded_uncertainty.0);
        let (length_symbol, _, _) = scaled(FigureUnit::Length, units, 0.0);
        let seat = self.seat.as_deref().map(visible);
        let own = seat.as_deref().and_then(|seat| self.of_all.strip_suffix(seat)?.strip_suffix(", "));
        // A bearing by its seat: "main-left in case".
        let name = match (own, seat.as_deref()) {
            (Some(how), Some(seat)) => format!("{seat} {}", how.trim_start_matches("bearing ")),
            _ => self.of_all.clone(),
        };
        if symbol == length_symbol { name } else { format!("{name}, {symbol}") }
    }

    /// Whether a limit is set for it.
    pub(super) fn has_limit(&self) -> bool {
        self.verdict.is_some()
    }

    /// It with its doubt alone: "piston 53.954 ± 0.004".
    pub(super) fn in_short(&self, units: Units) -> String {
        let expanded = self.expanded_uncertainty.0;
        let (_, size, decimals) = scaled(self.sort, units, expanded);
        let (value, doubt) = (fixed(self.value.0 / size, decimals), fixed(expanded / size, decimals));
        format!("{} {value}{GLUE}±{GLUE}{doubt}", self.name(units))
    }

    /// Whether the limits have nothing against it.
    pub(super) fn is_good(&self) -> bool {
        matches!(self.verdict, None | Some(Word(Judged::Is(Grade::Good))))
    }

    /// Whether it is to be replaced, whatever the doubt.
    pub(super) fn is_beyond(&self) -> bool {
        matches!(self.verdict, Some(Word(Judged::Is(Grade::Replace(_)))))
    }

    /// It with its doubt, what the limits say, and where it was read: "Squish 0.65 mm ± 0.03, rear: watch or good".
    pub(super) fn in_words(&self, units: Units) -> String {
        let expanded = self.expanded_uncertainty.0;
        let (_, size, decimals) = scaled(self.sort, units, expanded);
        let at = self.at.as_deref().map(|at| format!(", {}", visible(at))).unwrap_or_default();
        format!(
            "{} {} ± {}{at}: {}.",
            capital(&self.words),
            self.value_words(units),
            fixed(expanded / size, decimals),
            self.verdict_words(units).trim_start_matches("too close to call: ")
        )
    }

    /// The edges that it is good between, and those beyond which it is replaced: "0.050 to 0.072", "<0.045 >0.085".
    pub(super) fn edges_words(&self, units: Units) -> [String; 2] {
        let (_, size, decimals) = scaled(self.sort, units, 0.0);
        let edge = |edge: Option<Figure<5>>| edge.map(|edge| fixed(edge.0 / size, decimals));
        let limits = &self.limits;
        let least = limits.watch_below.or(limits.least);
        let good = match (edge(least), edge(limits.watch_above.or(limits.most))) {
            (Some(least), Some(most)) => format!("{least} to {most}"),
            (Some(least), None) => format!("from {least}"),
            (None, Some(most)) => format!("up to {most}"),
            (None, None) => String::new(),
        };
        let under = edge(limits.least).map(|least| format!("<{least}"));
        let over = edge(limits.most).map(|most| format!(">{most}"));
        [good, under.into_iter().chain(over).collect::<Vec<_>>().join(" ")]
    }

    /// The verdict without its edges: "good", "watch or good".
    pub(super) fn verdict_in_short(&self) -> String {
        match (self.verdict.map(|verdict| verdict.0), &self.between) {
            (None, _) => String::new(),
            (Some(_), Some([low, high])) => format!("{} or {}", low.0.word(), high.0.word()),
            (Some(judged), None) => judged.word().to_owned(),
        }
    }

    /// What the limits say of it: "watch: over 0.076 mm".
    pub(super) fn verdict_words(&self, units: Units) -> String {
        let beyond = |grade| {
            let (edge, word) = self.limits.beyond(grade)?;
            let (symbol, size, decimals) = scaled(self.sort, units, 0.0);
            // An edge with the digits it needs, three decimals of a millimetre at most.
            Some(format!("{word} {} {symbol}", trimmed(edge.0 / size, decimals)))
        };
        match self.verdict.map(|verdict| verdict.0) {
            None => "no limit set".to_owned(),
            Some(Judged::Is(grade)) => match beyond(grade) {
                Some(beyond) => format!("{}: {beyond}", grade.word()),
                None => grade.word().to_owned(),
            },
            Some(Judged::TooClose { between: (low, high), .. }) => {
                let one = |grade: Grade| match beyond(grade) {
                    Some(beyond) => format!("{} ({beyond})", grade.word()),
                    None => grade.word().to_owned(),
                };
                format!("too close to call: {} or {}", one(low), one(high))
            }
        }
    }
}

/// For a value in mm, cc or g: the unit it is shown in, how many of the value's own that is, and the decimals of one that is
/// known to `expanded` of its own.
pub(super) fn scaled(sort: FigureUnit, units: Units, expanded: f64) -> (&'static str, f64, usize) {
    let (_, metric, _) = of_figure(sort, Units::Metric, 0.0);
    let (symbol, factor, decimals) = of_figure(sort, units, expanded * metric);
    (symbol, factor / metric, decimals)
}

/// A value in mm, cc or g with the unit it is shown in.
pub(super) fn in_unit(value: f64, sort: FigureUnit, units: Units, expanded: f64) -> String {
    let (symbol, size, decimals) = scaled(sort, units, expanded);
    format!("{} {symbol}", fixed(value / size, decimals))
}

/// A length in mm with the unit it is shown in, to the thousandth of a millimetre or the ten-thousandth of an inch.
pub(super) fn length(mm: f64, units: Units) -> String {
    in_unit(mm, FigureUnit::Length, units, 0.0)
}
