//! A bore measured at several depths along several axes.
//!
//! *Picked readings*: the greatest of several readings is likely one whose error made it greater. The doubt
//! given is that of the readings picked, as if they had been chosen beforehand; what the picking does is not
//! counted. It errs one way: the greatest comes out too large, the least too small, taper and out-of-round
//! too large, and those two never below nought however true the bore is. With readings that scatter
//! independently by s, a true bore shows on average
//!
//! ```text
//! readings     2        3        4        6
//! range        1.13 s   1.69 s   2.06 s   2.53 s
//! ```
//!
//! and its greatest and its least are off by half of that each (mean range of a normal sample, from memory).
//! Against a limit that is the cautious side: a bore too large, tapered or out of round is seen early, and so
//! is one too tight for its piston. It is not cautious to take the same reading for both: room from the least,
//! wear from the greatest.

use super::super::doubt::Doubtful;
use super::super::{Allowed, EngineError};
use super::{SIZE, length};

const DEPTH: Allowed = Allowed {
    field: "depth below the deck",
    unit: "m",
    low: 0.0,
    high: 0.5,
    help: "Give the depth in metres from the deck down; 12 mm is 0.012.",
};

const ONCE: Allowed = Allowed {
    field: "number of readings along one axis at one depth",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "Keep the one you trust, or their mean.",
};

const ONE_NAME: Allowed = Allowed {
    field: "number of depths of one name",
    unit: "",
    low: 0.0,
    high: 1.0,
    help: "Give each depth a name of its own.",
};

const SPREAD: Allowed = Allowed {
    field: "difference of the largest and the smallest diameter over the smallest",
    unit: "",
    low: 0.0,
    high: 0.05,
    help: "These are not diameters of one bore; look for a slipped digit.",
};

/// Depths that a full map has.
const DEPTHS: usize = 3;

/// Axes that a full map has at each.
const AXES: usize = 2;

/// Along which line across the bore a diameter was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BoreAxis {
    /// In line with the piston pin.
    AlongPin,
    /// Across the piston pin, front to back.
    AcrossPin,
    /// Between the two, turned to the left.
    DiagonalLeft,
    /// Between the two, turned to the right.
    DiagonalRight,
}

impl BoreAxis {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::AlongPin, Self::AcrossPin, Self::DiagonalLeft, Self::DiagonalRight];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::AlongPin => "along the pin",
            Self::AcrossPin => "across the pin",
            Self::DiagonalLeft => "diagonal to the left",
            Self::DiagonalRight => "diagonal to the right",
        }
    }
}

/// The diameters at one depth.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// What the depth is called.
    pub name: String,
    /// How far below the deck, 0 to 0.5 m.
    pub depth_m: f64,
    /// Diameters at 20 C, 1 mm to 1 m, in m, one an axis.
    pub readings: Vec<(BoreAxis, Doubtful)>,
}

/// One diameter, and where it was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// The diameter at 20 C, m.
    pub diameter: Doubtful,
    /// Name of the depth.
    pub level: String,
    /// Depth below the deck, m.
    pub depth_m: f64,
    /// The axis.
    pub axis: BoreAxis,
}

/// The greatest difference between two depths along one axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    /// The difference of the two diameters, m, not below 0.
    pub difference: Doubtful,
    /// The axis.
    pub axis: BoreAxis,
    /// Name of the depth where the bore is wide; the upper one where both are alike.
    pub wide: String,
    /// Name of the depth where it is narrow.
    pub narrow: String,
}

/// The greatest difference between two axes at one depth.
#[derive(Debug, Clone, PartialEq)]
pub struct OutOfRound {
    /// The difference of the two diameters, m, not below 0.
    pub difference: Doubtful,
    /// Name of the depth.
    pub level: String,
    /// The axis along which the bore is wide.
    pub wide: BoreAxis,
    /// The axis along which it is narrow.
    pub narrow: BoreAxis,
}

/// A bore, depth by depth from the deck down.
#[derive(Debug, Clone, PartialEq)]
pub struct BoreMap {
    levels: Vec<Level>,
    least: Spot,
    greatest: Spot,
}

impl BoreMap {
    /// A map of at least one depth with at least one reading each, in any order. No name and no depth may
    /// stand twice, nor an axis at one depth, and no diameter may be a twentieth larger than another.
    pub fn new(mut levels: Vec<Level>) -> Result<Self, EngineError> {
        for level in &mut levels {
            check(level)?;
            // In the order of the axes, so that how a page was written changes no answer.
            level.readings.sort_by_key(|reading| reading.0);
        }
        levels.sort_by(|a, b| a.depth_m.total_cmp(&b.depth_m));
        for (at, pair) in levels.windows(2).enumerate() {
            if pair[1].depth_m <= pair[0].depth_m {
                return Err(EngineError::NotAscending {
                    field: "depths of the bore map",
                    entry: at + 2,
                    found: pair[1].depth_m,
                    before: pair[0].depth_m,
                    unit: "m",
                    help: "Give each depth once, with all its axes.",
                });
            }
        }
        for level in &levels {
            ONE_NAME.check(levels.iter().filter(|other| other.name == level.name).map(|_| 1.0).sum())?;
        }
        let (Some(least), Some(greatest)) =
            (pick(&levels, |found, best| found < best), pick(&levels, |found, best| found > best))
        else {
            return Err(too_few("bore map", "Measure the bore at one depth at least."));
        };
        SPREAD.check(greatest.diameter.value() / least.diameter.value() - 1.0)?;
        Ok(Self { levels, least, greatest })
    }

    /// The depths from the deck down, each with its axes in order.
    pub fn levels(&self) -> &[Level] {
        &self.levels
    }

    /// The smallest diameter; of two alike the upper one.
    pub fn least(&self) -> &Spot {
        &self.least
    }

    /// The largest diameter; of two alike the upper one.
    pub fn greatest(&self) -> &Spot {
        &self.greatest
    }

    /// The greatest difference between two depths along one axis; none where no two depths share an axis.
    pub fn taper(&self) -> Option<Taper> {
        let mut found: Option<Taper> = None;
        for (above, upper) in self.levels.iter().enumerate() {
            for lower in &self.levels[above + 1..] {
                for (axis, diameter) in &upper.readings {
                    let below = lower.readings.iter().find(|reading| reading.0 == *axis);
                    let Some((_, other)) = below else { continue };
                    let (difference, turned) = apart(diameter, other);
                    if found.as_ref().is_none_or(|best| difference.value() > best.difference.value()) {
                        let (wide, narrow) = if turned { (lower, upper) } else { (upper, lower) };
                        let (wide, narrow) = (wide.name.clone(), narrow.name.clone());
                        found = Some(Taper { difference, axis: *axis, wide, narrow });
                    }
                }
            }
        }
        found
    }

    /// The greatest difference between two axes at one depth; none where every depth has one axis alone.
    ///
    /// It is a difference of two diameters, as a gauge with two points shows it. It is not the roundness of
    /// ISO 1101, which is a difference of radii (from memory), and a bore of three lobes can hide from it.
    pub fn out_of_round(&self) -> Option<OutOfRound> {
        let mut found: Option<OutOfRound> = None;
        for level in &self.levels {
            for (at, (axis, diameter)) in level.readings.iter().enumerate() {
                for (second, other) in &level.readings[at + 1..] {
                    let (difference, turned) = apart(diameter, other);
                    if found.as_ref().is_none_or(|best| difference.value() > best.difference.value()) {
                        let (wide, narrow) = if turned { (*second, *axis) } else { (*axis, *second) };
                        found = Some(OutOfRound { difference, level: level.name.clone(), wide, narrow });
                    }
                }
            }
        }
        found
    }

    /// What a full map would want beside, in words; none where it is full: at least three depths have at least two axes each.
    pub fn missing(&self) -> Option<String> {
        let thin: Vec<&str> = self
            .levels
            .iter()
            .filter(|level| level.readings.len() < AXES)
            .map(|level| level.name.as_str())
            .collect();
        let full = self.levels.len() - thin.len();
        if full >= DEPTHS {
            return None;
        }
        let mut said =
            format!("A full bore map has {DEPTHS} depths with {AXES} axes each; this one has {full}.");
        if !thin.is_empty() {
            said += &format!(" Measure a second axis at {}.", thin.join(", "));
        }
        match DEPTHS.saturating_sub(self.levels.len()) {
            0 => {}
            1 => said += " Measure at 1 more depth.",
            more => said += &format!(" Measure at {more} more depths."),
        }
        Some(said)
    }
}

/// One depth is in its ranges, with each axis once.
fn check(level: &Level) -> Result<(), EngineError> {
    DEPTH.check(level.depth_m)?;
    if level.readings.is_empty() {
        return Err(too_few("list of diameters at one depth", "Measure along one axis at least."));
    }
    for (axis, diameter) in &level.readings {
        length(&SIZE, diameter)?;
        ONCE.check(level.readings.iter().filter(|other| other.0 == *axis).map(|_| 1.0).sum())?;
    }
    Ok(())
}

fn too_few(field: &'static str, help: &'static str) -> EngineError {
    EngineError::TooFew { field, found: 0, needed: 1, help }
}

/// The diameter that beats all others, the first of those alike.
fn pick(levels: &[Level], beats: fn(f64, f64) -> bool) -> Option<Spot> {
    let mut best: Option<(&Level, &(BoreAxis, Doubtful))> = None;
    for level in levels {
        for reading in &level.readings {
            if best.is_none_or(|(_, best)| beats(reading.1.value(), best.1.value())) {
                best = Some((level, reading));
            }
        }
    }
    best.map(|(level, (axis, diameter))| Spot {
        diameter: diameter.clone(),
        level: level.name.clone(),
        depth_m: level.depth_m,
        axis: *axis,
    })
}

/// The difference of two diameters, the larger less the smaller, and whether the second is the larger.
fn apart(first: &Doubtful, second: &Doubtful) -> (Doubtful, bool) {
    let turned = second.value() > first.value();
    (if turned { second.minus(first) } else { first.minus(second) }, turned)
}
