//! `fit`: how a bearing sits, cold and warm, and the limits of a tolerance zone.

use clap::{Args, Subcommand};

use crate::advice::fit::{FitError, FitPart, fit_figures};
use crate::commands::desk::Desk;
use crate::commands::options::engine::length;
use crate::commands::options::fit::BearingOptions;
use crate::engine::fits::interference_of_zones;
use crate::engine::fits::zone::{ToleranceZone, ZoneError};
use crate::report::Trouble;
use crate::report::building::fit::{BearingAnswer, part_name, way_out};
use crate::report::building::zone::ZoneAnswer;

/// How a bearing sits, cold and warm; limits of a zone (H7)
#[derive(Debug, Args)]
pub(in crate::commands) struct FitCommand {
    #[command(subcommand)]
    act: FitAct,
}

#[derive(Debug, Subcommand)]
enum FitAct {
    Bearing(BearingOptions),
    Zone(Zone),
}

/// The limits of a zone at a size, or of a hole and a shaft, like H7/k6
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
struct Zone {
    /// The zone, or hole/shaft
    #[arg(value_name = "ZONE")]
    zone: String,
    /// The nominal size ("62 mm")
    #[arg(value_name = "SIZE")]
    size: String,
}

impl FitCommand {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage_if_any()?;
        let imperial = garage.as_ref().is_some_and(crate::store::Garage::is_imperial);
        match &self.act {
            FitAct::Bearing(bearing) => run_bearing(bearing, desk, imperial),
            FitAct::Zone(zone) => zone.run(desk, imperial),
        }
    }
}

fn run_bearing(bearing: &BearingOptions, desk: &Desk, imperial: bool) -> Result<(), Trouble> {
    let asked = bearing.asked(imperial)?;
    let figures = fit_figures(&asked).map_err(|error| trouble(&error))?;
    let answer = BearingAnswer::new(asked, figures, bearing.left_out());
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

impl Zone {
    fn run(&self, desk: &Desk, imperial: bool) -> Result<(), Trouble> {
        let size_m = length("size", Some(&self.size), imperial)?.unwrap_or_default();
        let wrong = |error| trouble(&FitError { part: FitPart::Zone, error });
        let zones: Vec<ToleranceZone> =
            self.zone.split('/').map(ToleranceZone::parse).collect::<Result<_, _>>().map_err(wrong)?;
        let fit = match zones[..] {
            [_] => None,
            [hole, shaft] => Some(interference_of_zones(hole, shaft, size_m).map_err(wrong)?),
            _ => {
                let message = format!("\"{}\" is more than a hole and a shaft.", self.zone);
                return Err(Trouble::request(Some("zone"), message, way_out(FitPart::Zone)));
            }
        };
        let limits = |zone: ToleranceZone| Ok((zone, zone.limits(size_m)?));
        let zones: Vec<_> = zones.into_iter().map(limits).collect::<Result<_, ZoneError>>().map_err(wrong)?;
        let answer = ZoneAnswer::new(size_m, &zones, fit.as_ref());
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

fn trouble(error: &FitError) -> Trouble {
    Trouble::request(Some(part_name(error.part)), error.error.to_string(), way_out(error.part))
}
