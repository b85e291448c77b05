//! What the commands on a map are told: which map, which part of it, and whether to record.

use clap::{Args, ValueEnum};

use super::air::AirOptions;
use super::cylinder::CylinderOption;
use super::engine::speeds;
use super::guard::Despite;
use crate::notebook::maps::shape::{
    Along, Rounding, Smoothing, decimals_of, merged, rounded, scaled, shifted, smoothed,
};
use crate::notebook::{MapTable, Region, ShapeError};
use crate::quantity::trimmed;
use crate::report::Trouble;

/// A map of the setup.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(in crate::commands) enum MapField {
    /// The advance map, degrees; `ignition` for short
    #[value(name = "ignition.advance", alias = "ignition")]
    Ignition,
    /// The fuel map, milliseconds, milligrams or percent; `fuel` for short
    #[value(name = "injection.fuel", alias = "fuel")]
    Fuel,
}

impl MapField {
    /// The dotted field.
    pub(in crate::commands) fn name(self) -> &'static str {
        match self {
            Self::Ignition => "ignition.advance",
            Self::Fuel => "injection.fuel",
        }
    }

    /// As said in a reason.
    pub(in crate::commands) fn words(self) -> &'static str {
        match self {
            Self::Ignition => "Advance map",
            Self::Fuel => "Fuel map",
        }
    }
}

/// Which map, as it is on the bike now.
#[derive(Debug, Args)]
pub(in crate::commands) struct WhichMap {
    /// The bike
    pub(in crate::commands) bike: String,
    /// The map
    #[arg(value_enum)]
    pub(in crate::commands) field: MapField,
    #[command(flatten)]
    pub(in crate::commands) cylinder: CylinderOption,
}

/// Whether to record, and why.
#[derive(Debug, Args)]
pub(in crate::commands) struct Keep {
    /// Record it as a change
    #[arg(long)]
    pub(in crate::commands) record: bool,
    /// Why, with --record; otherwise what was done in words
    #[arg(long, short, requires = "record")]
    pub(in crate::commands) why: Option<String>,
    /// Take the air anyway: it is right
    #[arg(long, requires = "record")]
    pub(in crate::commands) sure: bool,
    #[command(flatten)]
    pub(in crate::commands) despite: Despite,
    /// The air that the map is for, with --record.
    #[command(flatten)]
    pub(in crate::commands) air: AirOptions,
}

/// Part of a map.
#[derive(Debug, Args)]
pub(in crate::commands) struct MapPart {
    /// Only from one engine speed to another, like 9000-12000, or at one
    #[arg(long, value_name = "RPM")]
    rpm: Option<String>,
    /// Only from one throttle opening to another in percent, like 50-100, or at one
    #[arg(long, value_name = "PERCENT")]
    throttle: Option<String>,
}

impl MapPart {
    fn region(&self) -> Result<Region, Trouble> {
        Ok(Region::parse(self.rpm.as_deref(), self.throttle.as_deref())?)
    }
}

/// Shift part of a map
#[derive(Debug, Args)]
pub(in crate::commands) struct Shift {
    #[command(flatten)]
    pub(in crate::commands) which: WhichMap,
    /// What is added to each cell, in its unit: degrees, negative for later; or milliseconds, milligrams or percent of fuel
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    by: f64,
    #[command(flatten)]
    part: MapPart,
    #[command(flatten)]
    pub(in crate::commands) keep: Keep,
}

/// Multiply part of a map
#[derive(Debug, Args)]
pub(in crate::commands) struct Scale {
    #[command(flatten)]
    pub(in crate::commands) which: WhichMap,
    /// What each cell is multiplied by: 0.97 for 3 % less
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    factor: f64,
    #[command(flatten)]
    part: MapPart,
    #[command(flatten)]
    pub(in crate::commands) keep: Keep,
}

/// Move the cells of a map towards the straight line through their neighbours along the engine speeds
#[derive(Debug, Args)]
pub(in crate::commands) struct Smooth {
    #[command(flatten)]
    pub(in crate::commands) which: WhichMap,
    /// How much of the way to that line: above 0, and 1 for all of it
    #[arg(long, value_name = "NUMBER", default_value_t = 0.5, allow_negative_numbers = true)]
    share: f64,
    #[command(flatten)]
    part: MapPart,
    #[command(flatten)]
    pub(in crate::commands) keep: Keep,
}

/// Merge neighbouring engine speeds of a map into one
#[derive(Debug, Args)]
pub(in crate::commands) struct Merge {
    #[command(flatten)]
    pub(in crate::commands) which: WhichMap,
    /// The engine speeds that are merged, like 9000,9500
    #[arg(long, value_name = "RPM", value_delimiter = ',', required = true)]
    rpm: Vec<String>,
    /// The engine speed they become; otherwise their mean, and at an end of the map that end
    #[arg(long, value_name = "RPM")]
    into: Option<String>,
    #[command(flatten)]
    pub(in crate::commands) keep: Keep,
}

/// A map in its new shape, and what was done in words.
pub(in crate::commands) type Shaped = Result<(MapTable, String), Trouble>;

impl Shift {
    pub(in crate::commands) fn shape(&self, map: &MapTable) -> Shaped {
        let region = self.part.region()?;
        let shaped = shifted(map, &region, self.by)?;
        let sign = if self.by > 0.0 { "+" } else { "" };
        Ok((shaped, said(&format!("shifted by {sign}{}", trimmed(self.by, 3)), &region)))
    }
}

impl Scale {
    pub(in crate::commands) fn shape(&self, map: &MapTable) -> Shaped {
        let region = self.part.region()?;
        let shaped = fine(map, &scaled(map, &region, self.factor)?, &region)?;
        Ok((shaped, said(&format!("times {}", trimmed(self.factor, 4)), &region)))
    }
}

impl Smooth {
    pub(in crate::commands) fn shape(&self, map: &MapTable) -> Shaped {
        let region = self.part.region()?;
        let how = Smoothing { along: Along::EngineSpeed, share: self.share, passes: 1 };
        let shaped = fine(map, &smoothed(map, &region, how)?, &region)?;
        Ok((shaped, said(&format!("smoothed, {} of the way", trimmed(self.share, 3)), &region)))
    }
}

impl Merge {
    pub(in crate::commands) fn shape(&self, map: &MapTable) -> Shaped {
        let columns = speeds(&self.rpm)?;
        let into = match &self.into {
            Some(text) => speeds(std::slice::from_ref(text))?.first().copied(),
            None => None,
        };
        let shaped = fine(map, &merged(map, &columns, into)?, &Region::ALL)?;
        let of = columns.iter().map(|rpm| trimmed(*rpm, 1)).collect::<Vec<_>>().join(" and ");
        let new = shaped.rpm.iter().find(|rpm| map.column(**rpm).is_none());
        let into = new
            .copied()
            .or(into)
            .or_else(|| columns.iter().copied().find(|rpm| shaped.column(*rpm).is_some()));
        let into = into.map(|rpm| format!(" into {}", trimmed(rpm, 1))).unwrap_or_default();
        Ok((shaped, format!("{of} rpm merged{into}")))
    }
}

fn said(what: &str, region: &Region) -> String {
    format!("{what} {region}").trim_end().to_owned()
}

/// Computed cells, rounded to two decimals, to three where the map has them or they are fuel.
fn fine(old: &MapTable, new: &MapTable, region: &Region) -> Result<MapTable, ShapeError> {
    let least = if old.unit == "deg" { 2 } else { 3 };
    // A cell that was not asked for keeps its digits, however many there are.
    rounded(new, region, Rounding::Decimals(decimals_of(old).max(least)))
}
