//! `fuel`: oil into petrol, and what a blend brings.

use clap::Args;

use crate::advice::figures::Gap;
use crate::advice::figures::fuel::{SharesBy, blend_figures, can_to, oil_for, tank_figures};
use crate::commands::desk::Desk;
use crate::commands::options::engine::{EngineOptions, gap, quantity};
use crate::engine::fuel::Component;
use crate::quantity::{Number, Quantity, Volume, trimmed};
use crate::report::Trouble;
use crate::report::engine::fuel::{Blend, Can, FuelAnswer, Pour};

/// Parts of a blend, fractions of one.
type Shares = Vec<(Component, f64)>;

/// Oil for the petrol, another ratio, what a blend does
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct Fuel {
    #[command(flatten)]
    engine: EngineOptions,
    /// Petrol to mix oil into ("5 l")
    #[arg(long, value_name = "VOLUME", allow_negative_numbers = true, help_heading = "Mixing")]
    petrol: Option<String>,
    /// Petrol to oil by volume, 32 means 32:1; otherwise the setup's. With --can what the can should become
    #[arg(long, value_name = "RATIO", allow_negative_numbers = true, help_heading = "Mixing")]
    oil_ratio: Option<String>,
    /// What is in a can that is already mixed ("4 l"), at the setup's ratio or that of --can-ratio
    #[arg(
        long,
        value_name = "VOLUME",
        allow_negative_numbers = true,
        requires = "oil_ratio",
        help_heading = "Mixing"
    )]
    can: Option<String>,
    /// The ratio the can is mixed at, where it is not the setup's
    #[arg(
        long,
        value_name = "RATIO",
        allow_negative_numbers = true,
        requires = "can",
        help_heading = "Mixing"
    )]
    can_ratio: Option<String>,
    /// A blend by mass in percent, like petrol=85,ethanol=15; of petrol, ethanol, methanol and toluene
    #[arg(long, value_name = "SHARES", conflicts_with = "blend_by_volume", help_heading = "Blend")]
    blend: Option<String>,
    /// The same by volume at 15 C
    #[arg(long, value_name = "SHARES", help_heading = "Blend")]
    blend_by_volume: Option<String>,
}

impl Fuel {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        self.engine.answer(desk, || self.answer(desk), FuelAnswer::text)
    }

    fn answer(&self, desk: &Desk) -> Result<FuelAnswer, Trouble> {
        let (_, seen) = self.engine.seen_on(desk)?;
        let (petrol, can) =
            (volume("--petrol", self.petrol.as_deref())?, volume("--can", self.can.as_deref())?);
        let ratio = ratio_of("--oil-ratio", self.oil_ratio.as_deref())?;
        let mixed = ratio_of("--can-ratio", self.can_ratio.as_deref())?;
        let shares = self.shares()?;
        let bench = seen.bench();
        let tank = tank_figures(&bench);
        let pour = petrol.map(|petrol_m3| {
            let poured = ratio.map_or_else(|| tank.oil_ratio.clone(), Ok);
            Pour::new(petrol_m3, poured, &oil_for(&bench, petrol_m3, ratio))
        });
        let can = can.zip(ratio).map(|(volume_m3, to)| {
            let from = mixed.map_or_else(|| tank.oil_ratio.clone(), Ok);
            let from = from.map_err(|_| Gap::Needs(vec!["fuel.oil_ratio or --can-ratio".into()]));
            Can::new(volume_m3, from.clone(), to, &can_to(volume_m3, from, to))
        });
        let density = bench.fields.quantity("fuel.density").map(Quantity::si);
        let blend = shares.map(|(by, shares)| Blend::new(&shares, by, &blend_figures(&shares, by, density)));
        seen.refuse_wrong([
            gap(&tank.oil_mass_fraction),
            gap(&tank.mixture_density),
            pour.as_ref().and_then(Pour::gap),
            can.as_ref().and_then(Can::gap),
            blend.as_ref().and_then(Blend::gap),
        ])?;
        let temperature_assumed = bench.fields.quantity("fuel.temperature").is_none();
        Ok(FuelAnswer::new(seen.subject.clone(), &tank, temperature_assumed, pour, can, blend))
    }

    fn shares(&self) -> Result<Option<(SharesBy, Shares)>, Trouble> {
        if let Some(text) = &self.blend {
            return Ok(Some((SharesBy::Mass, shares("--blend", text)?)));
        }
        let by_volume = self.blend_by_volume.as_ref();
        by_volume.map(|text| Ok((SharesBy::Volume, shares("--blend-by-volume", text)?))).transpose()
    }
}

/// A ratio of petrol to oil that was typed, 4 to 1000.
fn ratio_of(name: &str, text: Option<&str>) -> Result<Option<f64>, Trouble> {
    let Some(text) = text else { return Ok(None) };
    let ratio = quantity::<Number>(name, Some(text))?.map_or(0.0, |ratio| ratio.si());
    if (4.0..=1000.0).contains(&ratio) {
        return Ok(Some(ratio));
    }
    Err(Trouble::request(
        Some(name),
        format!("{name} is {text}; allowed is 4 to 1000."),
        format!("Give the parts of petrol to one part of oil by volume, like {name} 32."),
    ))
}

/// A volume of 1 cc to 1000 litres, m3.
fn volume(name: &str, text: Option<&str>) -> Result<Option<f64>, Trouble> {
    let Some(volume) = quantity::<Volume>(name, text)? else { return Ok(None) };
    if volume.quantity().is_bare() {
        let typed = volume.quantity().text();
        return Err(Trouble::request(
            Some(name),
            format!("{name} is {typed}, without a unit."),
            format!("Write \"{typed} l\" or \"{typed} cc\": the one is a thousand of the other."),
        ));
    }
    if (1e-6..=1.0).contains(&volume.si()) {
        return Ok(Some(volume.si()));
    }
    Err(Trouble::request(
        Some(name),
        format!("{name} is {}; allowed is 1 cc to 1000 l.", volume.quantity().with_unit()),
        format!("Give a volume, like {name} \"5 l\"."),
    ))
}

/// "petrol=85,ethanol=15" as fractions of one.
fn shares(option: &str, text: &str) -> Result<Shares, Trouble> {
    let refuse = |message: String| {
        Trouble::request(
            Some(option),
            message,
            format!(
                "Give percents of petrol, ethanol, methanol and toluene, like {option} petrol=85,ethanol=15."
            ),
        )
    };
    let mut found = Shares::new();
    for part in text.split(',') {
        let part = part.trim();
        let (name, digits) = part
            .split_once('=')
            .ok_or_else(|| refuse(format!("{option}: \"{part}\" is no NAME=PERCENT.")))?;
        let component = component(name.trim()).ok_or_else(|| {
            refuse(format!("{option}: \"{}\" is not a fuel that is known here.", name.trim()))
        })?;
        let share: Option<crate::quantity::Percent> = quantity(option, Some(digits.trim()))?;
        let share = share.map_or(0.0, |share| share.si());
        if !(0.0..=1.0).contains(&share) {
            return Err(refuse(format!("{option}: {part} is not within 0 to 100 %.")));
        }
        if found.iter().any(|(other, _)| *other == component) {
            return Err(refuse(format!("{option}: {} is named twice.", name.trim())));
        }
        found.push((component, share));
    }
    let sum: f64 = found.iter().map(|(_, share)| share).sum();
    if (sum - 1.0).abs() > 0.001 {
        return Err(refuse(format!(
            "The shares of {option} add up to {} %; they must add up to 100 %.",
            trimmed(sum * 100.0, 2)
        )));
    }
    Ok(found)
}

fn component(name: &str) -> Option<Component> {
    match name.to_ascii_lowercase().as_str() {
        "petrol" => Some(Component::Petrol),
        "ethanol" => Some(Component::Ethanol),
        "methanol" => Some(Component::Methanol),
        "toluene" => Some(Component::Toluene),
        _ => None,
    }
}
