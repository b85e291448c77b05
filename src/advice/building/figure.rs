//! What a figure of a build is: its name, what it means, its unit, and which kind of part it speaks of.

use crate::engine::doubt::Doubtful;
use crate::engine::gauging::edges::{Edges, Judged};
use crate::notebook::fields::names::in_words;
use crate::quantity::Dimension;

/// What a figure is measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FigureUnit {
    /// A length, SI metre.
    Length,
    /// A volume, SI cubic metre.
    Volume,
    /// A mass, SI kilogram.
    Mass,
}

impl FigureUnit {
    /// What it measures.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Length => Dimension::Length,
            Self::Volume => Dimension::Volume,
            Self::Mass => Dimension::Mass,
        }
    }
}

/// What there is to know of a figure by its name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FigureKind {
    /// Its name in limits.toml and in commands.
    pub name: &'static str,
    /// In words for reading.
    pub words: &'static str,
    /// Its unit.
    pub unit: FigureUnit,
    /// The kind of part that it wears with; none where it belongs to the engine.
    pub part: Option<&'static str>,
    /// What it takes to know it, for whoever asks for a figure that is not there.
    pub needs: &'static str,
}

const fn kind(
    name: &'static str,
    words: &'static str,
    unit: FigureUnit,
    part: Option<&'static str>,
    needs: &'static str,
) -> FigureKind {
    FigureKind { name, words, unit, part, needs }
}

use FigureUnit::{Length, Mass, Volume};

/// Every figure of a build in the order of reading.
pub const KINDS: [FigureKind; 24] = [
    kind("least_bore", "smallest bore", Length, Some("cylinder"), "bore.NAME.along_pin or across_pin"),
    kind("greatest_bore", "largest bore", Length, Some("cylinder"), "bore.NAME.along_pin or across_pin"),
    kind("bore_taper", "bore taper", Length, Some("cylinder"), "the bore at two depths along one axis"),
    kind(
        "bore_out_of_round",
        "bore out of round",
        Length,
        Some("cylinder"),
        "the bore along two axes at one depth",
    ),
    kind("piston_diameter", "piston", Length, Some("piston"), "piston.diameter"),
    kind(
        "piston_clearance",
        "piston clearance",
        Length,
        Some("piston"),
        "the bore and piston.diameter, or a bore gauge zeroed on the piston",
    ),
    kind("ring_gap", "ring end gap", Length, Some("ring"), "ring.gaps.NAME.gap"),
    kind("ring_gap_widest", "largest end gap", Length, Some("ring"), "ring.gaps.NAME.gap at two depths"),
    kind("ring_side_clearance", "ring in groove", Length, Some("ring"), "ring.side_clearance"),
    kind("pin_in_piston", "pin in piston", Length, Some("piston"), "pin.diameter and piston.pin_bore"),
    kind("pin_diameter", "piston pin", Length, Some("pin"), "pin.diameter"),
    kind("small_end_bore", "small end bore", Length, Some("rod"), "rod.small_end_bore"),
    kind("rod_side_clearance", "rod side clearance", Length, Some("rod"), "rod.side_clearance"),
    kind("big_end_play", "big end play", Length, Some("rod"), "rod.big_end_play"),
    kind("crank_runout", "crank run-out", Length, Some("crank"), "crank.runout_left or runout_right"),
    kind("squish_mean", "squish clearance", Length, None, "squish.front, rear, left or right"),
    kind("squish_least", "least squish", Length, None, "squish at two places"),
    kind("squish_tilt", "squish, tilt", Length, None, "squish at two places"),
    kind("deck_height", "deck height", Length, None, "deck.height"),
    kind("chamber_volume", "chamber volume", Volume, None, "chamber.volume"),
    kind("reed_tension", "reed tension", Mass, Some("reed"), "reed.tension"),
    kind("reed_gap", "reed gap", Length, Some("reed"), "reed.gap"),
    kind("bearing_in_case", "bearing in case", Length, None, "seats.NAME.case_bore and bearing_outside"),
    kind("bearing_on_shaft", "bearing on shaft", Length, None, "seats.NAME.bearing_bore and shaft"),
];

impl FigureKind {
    /// The section of a setup that it tells of: where that is not handed over, neither is the figure.
    pub fn section(&self) -> &'static str {
        match self.name {
            "squish_mean" | "squish_least" | "squish_tilt" | "chamber_volume" => "head",
            "deck_height" | "reed_tension" | "reed_gap" => "ports",
            _ => "engine",
        }
    }
}

/// What there is to know of the figure of a name.
pub fn kind_of(name: &str) -> Option<&'static FigureKind> {
    KINDS.iter().find(|kind| kind.name == name)
}

/// A figure of a build.
#[derive(Debug, Clone)]
pub struct NamedFigure {
    /// What it is.
    pub kind: &'static FigureKind,
    /// The seat it belongs to, where the engine has several.
    pub seat: Option<String>,
    /// The cylinder it was read at, where the engine has several and they are not all as one.
    pub cylinder: Option<String>,
    /// Its value at 20 C with its doubt, SI.
    pub value: Doubtful,
    /// Where it was found: "top, across the pin".
    pub at: Option<String>,
    /// Its limits.
    pub edges: Option<Edges>,
    /// Where the limits are from.
    pub source: Option<String>,
    /// What they say of it; none where there is no limit.
    pub judged: Option<Judged>,
}

impl NamedFigure {
    /// In words for reading: "bearing in case, main-left", "right piston clearance".
    pub fn words(&self) -> String {
        let of_all = self.words_of_all();
        match &self.cylinder {
            Some(cylinder) => format!("{} {of_all}", in_words(cylinder)),
            None => of_all,
        }
    }

    /// The same without the cylinder.
    pub fn words_of_all(&self) -> String {
        match &self.seat {
            Some(seat) => format!("{}, {seat}", self.kind.words),
            None => self.kind.words.to_owned(),
        }
    }

    /// Whether two figures are the same one of two builds.
    pub fn is_same(&self, other: &Self) -> bool {
        self.kind.name == other.kind.name && self.seat == other.seat && self.cylinder == other.cylinder
    }
}
