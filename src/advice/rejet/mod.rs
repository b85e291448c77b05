//! Rejet: from a setup that is right in one air to the jetting, or the injection trim, for another air and another fuel.
//!
//! The factor K on the fuel metering area keeps the mixture ([`crate::engine::metering`]); everything else is which of the jets
//! really in the box comes nearest without being lean: main jet, needle, clip, pilot jet and screw for the fuel at every slide
//! lift. What is not known is said in the warnings and left out; what would make the answer a guess is an
//! error.
//!
//! - `fuel`: the two fuels as far as they are known;
//! - `request`: what is asked; `wanted`, `asked`: how much fuel is wanted at each throttle zone, and what there is to choose from;
//! - `in_bike`, `series`, `jets`: the series of a circuit, and its sizes at hand;
//! - `main_jet`, `needle_path`, `simple_rule`, `alone`: the main jet with the needle in series, and without; the power jet beside it;
//! - `pilot`, `screw`: the pilot circuit;
//! - `grooves`, `search`, `hang`, `whole`, `clip`, `clip_by_thumb`: needles in their grooves, how well one does, which is taken, and what is said of it;
//! - `delivered`, `sizes`: what one setup delivers over another, and how many sizes that is;
//! - `injection`: the trim.

mod asked;
mod delivered;
mod error;
mod fuel;
mod injection;
mod jet;
mod needle;
mod request;
mod result;
pub mod setting;
mod wanted;
mod whole;

pub use delivered::delivered_at;
pub use error::RejetError;
pub use fuel::WITH_THE_NAME;
pub(in crate::advice) use jet::alone::{USUAL_EXPONENT, fuel_by_main_jets, sizes_by_fuel};
pub(in crate::advice) use jet::jets::SIZES_LEANER_IN_ONE_STEP;
pub(in crate::advice) use jet::sizes::{SIZE, sizes_at_hand};
pub use needle::needle_table;
pub use request::RejetRequest;
pub use result::{
    ClipAdvice, Factor, InjectionAdvice, JetAdvice, MainSize, Method, NeedleAdvice, Rejet, Screw,
    ScrewAdvice, ZoneAdvice,
};
pub(in crate::advice) use wanted::BEARABLE;
pub use wanted::WantedFuel;

use self::asked::JetsAsked;
use self::fuel::InBowl;
use super::cautions;
use crate::air::{Air, Uncertainty};
use crate::engine::injection::InjectionConditions;
use crate::engine::metering::{MeteringConditions, metering_factor};
use crate::notebook::{AirCompensation, Fuel, Injection, Jetting, Setup};
use crate::quantity::nearly_equal;

/// Air, fuel and lambda before and after. Only the ratio of the lambdas matters, so the baseline's stands at 1.
fn mixtures(
    request: &RejetRequest<'_>,
    warnings: &mut Vec<String>,
) -> Result<(MeteringConditions, MeteringConditions), RejetError> {
    let (from, to) = fuel::both(request.setup.fuel.as_ref(), request.fuel, warnings)?;
    Ok((mixture(&request.baseline_air, from, 1.0), mixture(&request.air, to, request.lambda_ratio)))
}

/// The factor on the fuel from one air to another, and to another fuel where one is given: what a rejet of the setup would start
/// from, without the rejet.
pub fn factor_between(setup: &Setup, from: Air, to: Air, fuel: Option<&Fuel>) -> Result<f64, RejetError> {
    let (fuel_before, fuel_after) = fuel::both(setup.fuel.as_ref(), fuel, &mut Vec::new())?;
    let (before, after) = (mixture(&from, fuel_before, 1.0), mixture(&to, fuel_after, 1.0));
    match (&setup.jetting, &setup.injection) {
        (Some(_), None) => {
            let parts = metering_factor(&before, &after).map_err(RejetError::calculation("the factor"))?;
            Ok(parts.total)
        }
        (None, Some(injection)) => {
            injection::factor(injection, &conditions(&from, before), &conditions(&to, after))
        }
        (None, None) => Err(RejetError::NoFuelSystem),
        (Some(_), Some(_)) => Err(RejetError::TwoFuelSystems),
    }
}

fn conditions(air: &Air, mixture: MeteringConditions) -> InjectionConditions {
    InjectionConditions { mixture, temperature_c: air.temperature_c(), pressure_pa: air.pressure_pa() }
}

fn mixture(air: &Air, fuel: InBowl, lambda: f64) -> MeteringConditions {
    MeteringConditions {
        moist_density: air.density(),
        dry_density: air.dry_density(),
        fuel_density: fuel.density,
        stoichiometric_ratio: fuel.stoichiometric_ratio,
        oil_mass_fraction: fuel.oil_mass_fraction,
        lambda,
    }
}

/// Computes what to fit for other air, another fuel or another lambda.
///
/// With nothing different the factor is exactly 1 and everything stays.
pub fn rejet(request: &RejetRequest<'_>) -> Result<Rejet, RejetError> {
    let mut warnings = Vec::new();
    warn_of_the_request(request, &mut warnings);
    let mixtures = mixtures(request, &mut warnings)?;
    let mut answer = match (&request.setup.jetting, &request.setup.injection) {
        (Some(jetting), None) => carburetor(request, jetting, mixtures, warnings)?,
        (None, Some(injection)) => injected(request, injection, mixtures, warnings)?,
        (None, None) => return Err(RejetError::NoFuelSystem),
        (Some(_), Some(_)) => return Err(RejetError::TwoFuelSystems),
    };
    if let Some(fuel) = request.fuel {
        let changes = fuel::assignments(request.setup.fuel.as_ref(), request.fuel_written, fuel);
        answer.assignments.extend(changes);
    }
    answer.cautions = cautions::for_step(answer.takes_fuel_away(), answer.injection.is_some());
    Ok(answer)
}

fn carburetor(
    request: &RejetRequest<'_>,
    jetting: &Jetting,
    (from, to): (MeteringConditions, MeteringConditions),
    mut warnings: Vec<String>,
) -> Result<Rejet, RejetError> {
    let parts = metering_factor(&from, &to).map_err(RejetError::calculation("the factor"))?;
    let factor = Factor {
        total: parts.total,
        air: parts.dry_air * parts.venturi,
        dry_air: parts.dry_air,
        venturi: Some(parts.venturi),
        box_correction: None,
        fuel_air: parts.fuel_air,
        lambda: parts.lambda,
        fuel_density: parts.fuel_density,
        oil: parts.oil,
    };
    let asked = JetsAsked::new(request, factor.total)?;
    let full = jet::main_jet::full_throttle(jetting, &asked, &mut warnings)?;
    let circuit = jet::pilot::PilotCircuit::read(jetting, &asked, &mut warnings)?;
    let whole = whole::choose(jetting, (&full, &circuit), &asked, &mut warnings)?;
    let main = full.main.as_ref().map(|main| {
        let advice = main.advice(&asked, whole.main, (whole.at_full, full.power_beside));
        main.warn(&advice, (whole.at_full, &asked), &mut warnings);
        advice
    });
    let pilot = circuit.jet_advice(&asked, &whole.pilot, &mut warnings);
    let screw = circuit.screw_advice(&asked, &whole.pilot, &mut warnings);
    let mut answer = Rejet {
        factor,
        factor_uncertainty: doubt_of_ratio(request, true),
        jets: [main, pilot, full.power].into_iter().flatten().collect(),
        clip: whole.clip,
        needle: whole.needle,
        screw,
        zones: whole.zones,
        mains: whole.mains,
        injection: None,
        warnings,
        cautions: Vec::new(),
        assignments: Vec::new(),
    };
    answer.assignments = answer.carburetor_assignments();
    Ok(answer)
}

fn injected(
    request: &RejetRequest<'_>,
    injection: &Injection,
    (from, to): (MeteringConditions, MeteringConditions),
    mut warnings: Vec<String>,
) -> Result<Rejet, RejetError> {
    let from = conditions(&request.baseline_air, from);
    let to = conditions(&request.air, to);
    let (factor, advice) = injection::advise(injection, (&from, &to), request, &mut warnings)?;
    // What the box corrects itself takes its share of the doubt along, and how much is not known.
    let plain = advice.compensation == AirCompensation::None;
    Ok(Rejet {
        factor,
        factor_uncertainty: plain.then(|| doubt_of_ratio(request, false)).flatten(),
        jets: Vec::new(),
        clip: ClipAdvice::NotComputed { why: "the bike has fuel injection".into() },
        needle: None,
        screw: None,
        zones: Vec::new(),
        mains: Vec::new(),
        assignments: advice.assignment().into_iter().collect(),
        injection: Some(advice),
        warnings,
        cautions: Vec::new(),
    })
}

/// Relative standard uncertainty of the air's part of the factor, the two readings taken as independent of each other.
///
/// JCGM 100:2008, equation 13, for ln K = ln dry - 1/2 ln moist of each reading (with the venturi), whose
/// two densities are correlated; or for ln dry alone.
fn doubt_of_ratio(request: &RejetRequest<'_>, venturi: bool) -> Option<f64> {
    let square = |air: &Air, doubt: &Uncertainty| {
        let dry = doubt.dry_density / air.dry_density();
        let moist = if venturi { doubt.density / air.density() / 2.0 } else { 0.0 };
        dry * dry + moist * moist - 2.0 * doubt.correlation * dry * moist
    };
    let before = square(&request.baseline_air, request.baseline_doubt?);
    let after = square(&request.air, request.doubt?);
    // Rounding may leave a little less than nothing where the two cancel.
    Some((before + after).max(0.0).sqrt())
}

fn warn_of_the_request(request: &RejetRequest<'_>, warnings: &mut Vec<String>) {
    if request.lambda_ratio > 1.0 && !nearly_equal(request.lambda_ratio, 1.0) {
        warnings.push("A leaner mixture than the one that is right is asked for.".into());
    }
}
