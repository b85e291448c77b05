//! The main jet, and the power jet beside it.
//!
//! With the needle known, main jet and needle annulus are taken in series at full lift, so that the main jet moves further
//! than the factor; without, the main jet is taken as alone: the simple rule, which leans when the air gets denser. Where more
//! fuel is wanted it therefore goes one size further up, and does not say how rich that is.
//!
//! A power jet beside it is rejetted as a jet alone. Where the box has none to offer it stays, and the main jet must make
//! up for it: bringing what the power jet lacks where more fuel is wanted. Where less is wanted the main jet does
//! not pay for the power jet's surplus, because it would be lean at the speeds at which the power jet is shut.
//!
//! Left out at full throttle: the two percent or so of the pilot, which moves with the same factor.
//! Source of the series rule: textbook, from memory; of the needle's geometry: measured, see configs/needles.toml.

use super::error::RejetError;
use super::jets::{JetInBike, Jets, Rule};
use super::needle_path::{NeedlePath, Unfit};
use super::{JetAdvice, Method};
use crate::engine::EngineError;
use crate::engine::circuits::main_circuit_factor;
use crate::engine::jets::JetScale;
use crate::notebook::{Circuit, JetBox, Jetting, NeedleBox, Shares};
use crate::quantity::{nearly_equal, trimmed};

/// The jets that decide full throttle.
pub(super) struct FullThrottle {
    /// The main jet, when the setup has one.
    pub(super) main: Option<JetAdvice>,
    /// The power jet, when the setup has one.
    pub(super) power: Option<JetAdvice>,
    /// Needle and annulus, or why they are not reckoned with.
    pub(super) path: Result<NeedlePath, String>,
    /// The part of the fuel that a power jet which stays brings at full throttle, 0 to 1; 0 where there is none, where it
    /// moves with the main jet, or where it is not known.
    pub(super) power_share: f64,
}

/// What is asked of the jets, and what there is to choose from.
#[derive(Clone, Copy)]
pub(super) struct Wanted<'a> {
    pub(super) factor: f64,
    pub(super) jets: &'a JetBox,
    pub(super) needles: &'a NeedleBox,
    pub(super) shares: &'a Shares,
}

/// Fuel delivered over fuel needed at full throttle, at the speeds where it is leanest: with the power jet shut, or with one
/// that stayed as it is. `passes` is the main circuit's effective area over what it was.
pub(super) fn leanest(passes: f64, power_share: f64, factor: f64) -> f64 {
    let shut = passes / factor;
    let feeding = (passes * (1.0 - power_share) + power_share) / factor;
    shut.min(feeding)
}

/// Advises main jet and power jet.
pub(super) fn full_throttle(
    jetting: &Jetting,
    wanted: Wanted<'_>,
    warnings: &mut Vec<String>,
) -> Result<FullThrottle, RejetError> {
    let power = power_jet(jetting, wanted, warnings)?;
    let main = JetInBike::read(
        Circuit::Main,
        jetting.main.as_ref(),
        jetting.main_numbered_by,
        jetting.main_series.as_ref(),
    )?;
    let Some(jet) = main else {
        warnings.push("Main jet: not known; needs jetting.main.".into());
        return Ok(FullThrottle {
            main: None,
            power: power.map(|(advice, _)| advice),
            path: Err("the main jet is not known".into()),
            power_share: 0.0,
        });
    };
    let jets = Jets::at_hand(jet, wanted.jets, warnings)?;
    let path = NeedlePath::read(jetting, wanted.needles, wanted.shares, &jets);
    let path = path.map_err(|unfit| simple_rule(&unfit, warnings));
    if let Ok(path) = &path {
        warnings.extend(path.doubts());
    }
    let main_area = match &path {
        Ok(path) => path.at_full_lift(jet.number).map(|path| path.series_area_m2()),
        Err(_) => jets.scale().area_m2(jet.number),
    };
    let power_share = share_of_staying(power.as_ref(), main_area.ok(), wanted.factor, warnings);
    let main = main_jet(jet, &jets, path.as_ref().ok(), power_share, wanted.factor, warnings)?;
    Ok(FullThrottle { main: Some(main), power: power.map(|(advice, _)| advice), path, power_share })
}

fn main_jet(
    jet: JetInBike<'_>,
    jets: &Jets<'_>,
    path: Option<&NeedlePath>,
    power_share: f64,
    factor: f64,
    warnings: &mut Vec<String>,
) -> Result<JetAdvice, RejetError> {
    let calculation = || RejetError::calculation(jet.field);
    // Less fuel is wanted: the speeds without the power jet decide. More: those with it.
    let needed = if factor > 1.0 && power_share > 0.0 {
        main_circuit_factor(factor, power_share, 1.0).map_err(calculation())?
    } else {
        factor
    };
    let method = match path {
        Some(path) => {
            Method::Series { exponent: path.at_full_lift(jet.number).map_err(calculation())?.main_exponent() }
        }
        None => Method::Simple,
    };
    let exact = match path {
        Some(path) => path.exact_main(jet.number, needed),
        None => jet.numbering().number_for(jet.number, needed),
    };
    let exact = match exact {
        Ok(exact) => exact,
        // The needle jet's annulus is the limit: the answer is that no main jet will do, not that there is no answer.
        Err(error) if path.is_some() => {
            warnings.push(format!("Main jet: {error} Do not run it."));
            return Ok(jets.none_will_do(method, 100.0 * (1.0 / factor - 1.0)));
        }
        Err(error) => return Err(calculation()(error)),
    };
    let passes = |number| match path {
        Some(path) => path.passes(jet.number, number),
        None => jet.numbering().area_factor(jet.number, number),
    };
    let delivered = |number| Ok(leanest(passes(number)?, power_share, factor));
    let advice = jets.advise(exact, method, Rule::NeverLean, delivered, warnings)?;
    if path.is_some() || needed <= 1.0 || nearly_equal(needed, 1.0) {
        return Ok(advice);
    }
    further_up(jet, jets, advice, needed, warnings)
}

/// Where more fuel is wanted, the needle's annulus takes a part of what a larger main jet brings, and the simple rule does not
/// know which. So its advice goes one size further up (common practice, no source), unless the size it takes already brings
/// the factor twice over: main jet and annulus in series want no more as long as the annulus at full lift is no smaller than
/// the main jet (by the series rule of [`crate::engine::circuits`], d ln main / d ln fuel = 1 + (main / annulus)²).
fn further_up(
    jet: JetInBike<'_>,
    jets: &Jets<'_>,
    advice: JetAdvice,
    needed: f64,
    warnings: &mut Vec<String>,
) -> Result<JetAdvice, RejetError> {
    let Some(simple) = advice.advised else {
        return Ok(advice);
    };
    let brings =
        jet.numbering().area_factor(jet.number, simple).map_err(RejetError::calculation(jet.field))?;
    // By how much it is rich is the simple rule's word alone.
    let unknown = JetAdvice { advised_percent: None, ..advice };
    let shown = trimmed(simple, 2);
    if brings >= needed * needed {
        warnings.push(format!("By how much the main jet {shown} is rich cannot be said without the needle."));
        return Ok(unknown);
    }
    let (advice, words) = match unknown.richer {
        Some(further) => (
            jets.moved_to(unknown, further),
            format!(
                "Main jet {} is one size further up than the simple rule says ({shown}), because that leans where more fuel is wanted. Whether it is rich cannot be said without the needle.",
                trimmed(further, 2)
            ),
        ),
        None => (
            unknown,
            format!(
                "Main jet {shown} may be lean: one size further up than the simple rule says would be safe, and the box has none."
            ),
        ),
    };
    warnings.push(words);
    Ok(advice)
}

/// The power jet as a jet alone, with the scale of its numbers.
fn power_jet(
    jetting: &Jetting,
    wanted: Wanted<'_>,
    warnings: &mut Vec<String>,
) -> Result<Option<(JetAdvice, JetScale)>, RejetError> {
    let jet =
        JetInBike::read(Circuit::Power, jetting.power_jet.as_ref(), jetting.power_jet_numbered_by, None)?;
    let Some(jet) = jet else {
        return Ok(None);
    };
    let jets = Jets::at_hand(jet, wanted.jets, warnings)?;
    let advice = alone(&jet, &jets, Rule::NeverLean, wanted.factor, warnings)?;
    Ok(Some((advice, jets.scale())))
}

/// The advice for a jet that is alone in its circuit.
pub(super) fn alone(
    jet: &JetInBike<'_>,
    jets: &Jets<'_>,
    rule: Rule,
    factor: f64,
    warnings: &mut Vec<String>,
) -> Result<JetAdvice, RejetError> {
    let numbering = jet.numbering();
    let exact = numbering.number_for(jet.number, factor).map_err(RejetError::calculation(jet.field))?;
    let delivered =
        |number| -> Result<f64, EngineError> { Ok(numbering.area_factor(jet.number, number)? / factor) };
    jets.advise(exact, Method::Alone, rule, delivered, warnings)
}

/// The share of a power jet that stays as it is because no jet is advised for it.
fn share_of_staying(
    power: Option<&(JetAdvice, JetScale)>,
    main_area_m2: Option<f64>,
    factor: f64,
    warnings: &mut Vec<String>,
) -> f64 {
    let Some((advice, scale)) = power.filter(|(advice, _)| advice.advised.is_none()) else {
        return 0.0;
    };
    if let (Ok(power), Some(main)) = (scale.area_m2(advice.current), main_area_m2) {
        return power / (main + power);
    }
    let what = if factor > 1.0 {
        "the main jet does not make up for it, and full throttle is lean while it feeds"
    } else {
        "it is left out"
    };
    warnings.push(format!(
        "The power jet stays, and its area beside the main jet's is not known (both must be numbered by bore, or their series must have known_number and known_bore): {what}."
    ));
    0.0
}

/// The warning that goes with the simple rule; gives back why the series form could not be used.
fn simple_rule(unfit: &Unfit, warnings: &mut Vec<String>) -> String {
    let why = unfit.to_string();
    warnings.push(format!(
        "Main jet by the simple rule: leans when the air gets denser. The needle is not reckoned with: {why}."
    ));
    why
}
