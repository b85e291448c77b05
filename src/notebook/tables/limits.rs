//! `configs/limits.toml`: the tuner's limits of what is measured at a build and of the hours of parts, each with where it
//! is from.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::gauges::Gauges;
use crate::quantity::{FigureLimit, Hours, Number, Percent};

/// `configs/limits.toml`: limits of figures and of hours. What is left out is not judged.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// What gauges are taken to resolve where a build does not say it.
    pub gauges: Option<Gauges>,
    /// Limits by figure.
    #[serde(default)]
    pub figures: BTreeMap<String, FigureEdges>,
    /// Limits of single engines by figure, in place of the general ones.
    #[serde(default)]
    pub engines: BTreeMap<String, BTreeMap<String, FigureEdges>>,
    /// Hours, starts and days by kind of part.
    #[serde(default)]
    pub parts: BTreeMap<String, PartLimits>,
}

/// From where to where a figure is good, watched, or no longer good; a share is one of the bore.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FigureEdges {
    /// Under it the part is replaced or worked on.
    pub least: Option<FigureLimit>,
    /// Under it the part is watched.
    pub watch_below: Option<FigureLimit>,
    /// Over it the part is watched.
    pub watch_above: Option<FigureLimit>,
    /// Over it the part is replaced or worked on.
    pub most: Option<FigureLimit>,
    /// Where these are from.
    pub source: Option<String>,
}

/// When a part of one kind is changed or looked at.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartLimits {
    /// Hours after which it is changed.
    #[schemars(extend("x-range" = [0.1, 10_000]))]
    pub change_after: Option<Hours>,
    /// Starts after which it is changed.
    #[schemars(extend("x-range" = [1, 100_000], "x-whole" = true))]
    pub change_after_starts: Option<Number>,
    /// Days after which it is changed, from when it was first fitted.
    #[schemars(extend("x-range" = [1, 20_000], "x-whole" = true))]
    pub change_after_days: Option<Number>,
    /// Hours after which it is inspected, from the last look.
    #[schemars(extend("x-range" = [0.1, 10_000]))]
    pub inspect_after: Option<Hours>,
    /// The chance of failure that is accepted.
    #[schemars(extend("x-range" = [0.01, 50]))]
    pub risk: Option<Percent>,
    /// Shape of the lives' distribution (Weibull), used while failures are too few to tell it.
    #[schemars(extend("x-range" = [0.2, 20]))]
    pub shape: Option<Number>,
    /// Where these are from.
    pub source: Option<String>,
}

impl Limits {
    /// The limits of a figure of an engine.
    pub fn of(&self, engine: &str, figure: &str) -> Option<&FigureEdges> {
        self.engines.get(engine).and_then(|own| own.get(figure)).or_else(|| self.figures.get(figure))
    }
}
