//! Rejet: from a setup that is right in one air to the jetting, or the injection trim, for another air and another fuel.
//!
//! The factor K on the fuel metering area keeps the mixture ([`crate::engine::metering`]); everything else is which of the jets
//! really in the box comes nearest without being lean: main jet, needle, clip, pilot jet and screw for the fuel at every slide
//! lift. What is not known is said in the warnings and left out; what would make the answer a guess is an
//! error.
//!
//! - `fuel`: the two fuels as far as they are known;
//! - `wanted`, `asked`: how much fuel is wanted at each throttle zone, and what there is to choose from;
//! - `series`, `jets`: the series of a circuit, and its sizes at hand;
//! - `main_jet`, `needle_path`, `simple_rule`: the main jet with the needle in series, and without; the power jet beside it;
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
mod result;
pub mod setting;
mod wanted;
mod whole;

pub use delivered::delivered_at;
pub use error::RejetError;
pub use fuel::WITH_THE_NAME;
pub(in crate::advice) use jet::jets::SIZES_LEANER_IN_ONE_STEP;
pub(in crate::advice) use jet::simple_rule::USUAL_EXPONENT;
pub(in crate::advice) use jet::sizes::{SIZE, fuel_by_main_jets, sizes_at_hand, sizes_by_fuel};
pub use needle::needle_table;
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
use crate::notebook::{AirCompensation, Fuel, Injection, JetBox, Jetting, NeedleBox, OwnBox, Setup, Shares};
use crate::quantity::nearly_equal;

/// What is to be rejetted, and what there is to choose from.
#[derive(Debug, Clone, Copy)]
pub struct RejetRequest<'a> {
    /// The setup that is right in `baseline_air`.
    pub setup: &'a Setup,
    /// The air the setup is right in.
    pub baseline_air: Air,
    /// How far that air may be off, where it is known.
    pub baseline_doubt: Option<&'a Uncertainty>,
    /// The air it is to be right in.
    pub air: Air,
    /// How far that air may be off, where it is known.
    pub doubt: Option<&'a Uncertainty>,
    /// What changes about the fuel: only the fields that do. None keeps the fuel.
    pub fuel: Option<&'a Fuel>,
    /// The fuel that is written down for the bike, where it has moved on from the setup: what differs from it is set as well.
    pub fuel_written: Option<&'a Fuel>,
    /// Lambda wanted over the lambda of the baseline, 0.4 to 2: 1 keeps the mixture, below 1 is richer.
    pub lambda_ratio: f64,
    /// The jets in the box, configs/jets.toml.
    pub jets: &'a JetBox,
    /// The needles, configs/needles.toml.
    pub needles: &'a NeedleBox,
    /// The rules of the trade, configs/shares.toml.
    pub shares: &'a Shares,
    /// The jets and needles at hand for this bike, where its bike.toml lists any.
    pub own_box: Option<&'a OwnBox>,
    /// How much fuel is wanted at each throttle zone, where the bike's own record knows better than theory. None, and a zone that
    /// is left out, is theory's ([`WantedFuel::by_theory`]). For fuel injection full throttle decides.
    pub wanted: Option<&'a [WantedFuel]>,
    /// The smallest main jet that may be advised, by its number; for fuel injection the least trim, percent.
    pub main_at_least: Option<f64>,
    /// The main jet that is on the bike, where it has moved on from the setup, or its trim, percent: steps to a much leaner one count
    /// from it.
    pub main_on_the_bike: Option<f64>,
    /// The main jet that was judged last, or its trim, percent, where what is on the bike was not yet: steps count from it if it is
    /// larger, for nobody has seen the plug of the one in between.
    pub main_that_ran: Option<f64>,
    /// The pilot jet that is on the bike, where it has moved on from the setup: steps to a much leaner one count from it.
    pub pilot_on_the_bike: Option<f64>,
    /// The power jet that is on the bike, likewise.
    pub power_on_the_bike: Option<f64>,
    /// Whether no run on the combination that is on the bike was right yet: then what is in it has no claim to stay.
    pub unproven: bool,
    /// A zone that the clip rules and that was lean in a run, where no richer groove ran since: without needle data a groove is to be tried.
    pub still_lean_at: Option<&'static str>,
    /// Whether a run was lean and is not answered yet: then, without needle data, no groove is tried leaner, whatever the record says.
    pub no_groove_back: bool,
    /// The groove that the setup's needle hangs in on the bike: where a run was lean between a quarter and full throttle, no advice hangs
    /// it leaner nor takes another needle, whatever the main jet would make up for.
    pub hangs_in: Option<u8>,
}

impl<'a> RejetRequest<'a> {
    /// A request that keeps fuel and lambda, with the doubts of the air not known.
    pub fn new(
        setup: &'a Setup,
        baseline_air: Air,
        air: Air,
        jets: &'a JetBox,
        needles: &'a NeedleBox,
        shares: &'a Shares,
    ) -> Self {
        Self {
            setup,
            baseline_air,
            baseline_doubt: None,
            air,
            doubt: None,
            fuel: None,
            fuel_written: None,
            lambda_ratio: 1.0,
            jets,
            needles,
            shares,
            own_box: None,
            wanted: None,
            main_at_least: None,
            main_on_the_bike: None,
            main_that_ran: None,
            pilot_on_the_bike: None,
            power_on_the_bike: None,
            unproven: false,
            still_lean_at: None,
            no_groove_back: false,
            hangs_in: None,
        }
    }

    /// Air, fuel and lambda before and after. Only the ratio of the lambdas matters, so the baseline's stands at 1.
    fn mixtures(
        &self,
        warnings: &mut Vec<String>,
    ) -> Result<(MeteringConditions, MeteringConditions), RejetError> {
        let (from, to) = fuel::both(self.setup.fuel.as_ref(), self.fuel, warnings)?;
        Ok((mixture(&self.baseline_air, from, 1.0), mixture(&self.air, to, self.lambda_ratio)))
    }
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
    let mixtures = request.mixtures(&mut warnings)?;
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
