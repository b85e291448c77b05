//! The main jet by theory, and the power jet beside it.
//!
//! With the needle known, main jet and needle annulus are taken in series at full lift, so that the main jet moves further
//! than the factor; without, the main jet is taken as alone: the simple rule, which leans when the air gets denser
//! ([`super::simple_rule`]).
//!
//! A power jet beside it is rejetted as a jet alone. Where the box has none to offer it stays, and the main jet must make
//! up for it: bringing what the power jet lacks where more fuel is wanted. Where less is wanted the main jet does
//! not pay for the power jet's surplus, because it would be lean at the speeds at which the power jet is shut.
//!
//! Left out at full throttle: the two percent or so of the pilot, which moves with the same factor.
//! Source of the series rule: textbook, from memory; of the needle's geometry: measured, see configs/needles.toml.

use super::in_bike::JetInBike;
use super::jets::{Jets, Percents, Rule};
use crate::advice::rejet::asked::JetsAsked;
use crate::advice::rejet::error::RejetError;
use crate::advice::rejet::needle::needle_path::{NeedlePath, Unfit};
use crate::advice::rejet::wanted::FULL;
use crate::advice::rejet::{JetAdvice, MainSize, Method};
use crate::engine::carburetor::circuits::main_circuit_factor;
use crate::engine::carburetor::jets::{Choice, JetScale};
use crate::notebook::{Circuit, Jetting};
use crate::quantity::{nearly_equal, trimmed};

/// Sizes on either side of the exact, the present and the advised one whose fuel is given.
const SIZES_AROUND: usize = 16;

/// A number that is smaller by less than this part is the same jet.
const HARDLY_SMALLER: f64 = 1e-3;

/// What decides full throttle.
pub(in crate::advice::rejet) struct FullThrottle<'a> {
    /// The main jet, when the setup has one.
    pub(in crate::advice::rejet) main: Option<Main<'a>>,
    /// The power jet, when the setup has one.
    pub(in crate::advice::rejet) power: Option<JetAdvice>,
    /// Needle and annulus, or why they are not reckoned with.
    pub(in crate::advice::rejet) path: Result<NeedlePath, String>,
    /// The power jet beside the main circuit.
    pub(in crate::advice::rejet) power_beside: PowerBeside,
}

/// The main jet as theory has it, as the needle hangs now.
pub(in crate::advice::rejet) struct Main<'a> {
    pub(in crate::advice::rejet) jet: JetInBike<'a>,
    pub(in crate::advice::rejet) jets: Jets<'a>,
    pub(in crate::advice::rejet) method: Method,
    /// What the main circuit must bring over what it brings now.
    pub(in crate::advice::rejet) needed: f64,
    /// The exact number among the sizes at hand, or the sentence that says why no main jet will do.
    pub(in crate::advice::rejet) exact: Result<Choice, String>,
}

/// A power jet beside the main circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::advice::rejet) struct PowerBeside {
    /// The part of the fuel that it brings at full throttle now, 0 to 1; 0 where there is none, or where it is not known.
    pub(in crate::advice::rejet) share: f64,
    /// Its fuel as advised over what it is: 1 where it stays.
    pub(in crate::advice::rejet) over: f64,
}

impl PowerBeside {
    /// Where there is none.
    pub(in crate::advice::rejet) const NONE: Self = Self { share: 0.0, over: 1.0 };

    /// The share of one that stays; 0 where it moves.
    fn staying(self) -> f64 {
        if nearly_equal(self.over, 1.0) { self.share } else { 0.0 }
    }
}

/// Fuel over the baseline's at full throttle, at the speeds where it is leanest: with the power jet shut, or feeding as it is
/// advised. `passes` is the main circuit's effective area over what it was.
pub(in crate::advice::rejet) fn leanest(passes: f64, power: PowerBeside) -> f64 {
    // Written so that nothing changed gives exactly 1.
    passes.min(1.0 + (passes - 1.0) * (1.0 - power.share) + (power.over - 1.0) * power.share)
}

/// The main circuit's effective area over what it was with which full throttle gets so much at its leanest: [`leanest`] backwards.
pub(in crate::advice::rejet) fn passes_for(fuel: f64, power: PowerBeside) -> f64 {
    let beside = 1.0 + (fuel - 1.0 - (power.over - 1.0) * power.share) / (1.0 - power.share);
    fuel.max(beside)
}

/// Main jet and power jet by theory.
pub(in crate::advice::rejet) fn full_throttle<'a>(
    jetting: &'a Jetting,
    asked: &JetsAsked<'a>,
    warnings: &mut Vec<String>,
) -> Result<FullThrottle<'a>, RejetError> {
    let power = power_jet(jetting, asked, warnings)?;
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
            power_beside: PowerBeside::NONE,
        });
    };
    let jets = Jets::at_hand(jet, asked.jets, asked.own_mains(), warnings)?;
    let path = NeedlePath::read(jetting, asked.needles, asked.shares, &jets);
    let path = path.map_err(|unfit| not_reckoned_with(&unfit, warnings));
    if let Ok(path) = &path {
        warnings.extend(path.doubts());
    }
    let main_area = match &path {
        Ok(path) => path.at_full_lift(jet.number).map(|path| path.series_area_m2()),
        Err(_) => jets.scale().area_m2(jet.number),
    };
    let power_beside = beside(power.as_ref(), main_area.ok(), asked.factor, warnings);
    let main = main_by_theory(jet, jets, path.as_ref().ok(), power_beside.staying(), asked.factor)?;
    Ok(FullThrottle { main: Some(main), power: power.map(|(advice, _)| advice), path, power_beside })
}

fn main_by_theory<'a>(
    jet: JetInBike<'a>,
    jets: Jets<'a>,
    path: Option<&NeedlePath>,
    staying_share: f64,
    factor: f64,
) -> Result<Main<'a>, RejetError> {
    let calculation = || RejetError::calculation(jet.field);
    // Less fuel is wanted: the speeds without the power jet decide. More: those with it.
    let needed = if factor > 1.0 && staying_share > 0.0 {
        main_circuit_factor(factor, staying_share, 1.0).map_err(calculation())?
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
        Ok(exact) => Ok(jets.choice(exact)?),
        // The needle jet's annulus is the limit: the answer is that no main jet will do, not that there is no answer.
        Err(error) if path.is_some() => {
            // Sizes that cannot be are refused all the same.
            jets.choice(jet.number)?;
            Err(error.to_string())
        }
        Err(error) => return Err(calculation()(error)),
    };
    Ok(Main { jet, jets, method, needed, exact })
}

impl Main<'_> {
    /// The advice to fit a size, which then delivers so much fuel over the baseline's at full throttle.
    pub(in crate::advice::rejet) fn advice(
        &self,
        asked: &JetsAsked<'_>,
        chosen: Option<f64>,
        (delivered, power): (f64, PowerBeside),
    ) -> JetAdvice {
        let full = asked.wanted[FULL];
        let percent = |delivered: f64| 100.0 * (delivered / full.factor - 1.0);
        // The simple rule's size stands beside the simple rule's exact number: both by the jet's area alone.
        let by_area = chosen.filter(|_| self.method == Method::Simple && !asked.by_record);
        let by_area = by_area.and_then(|size| self.jet.numbering().area_factor(self.jet.number, size).ok());
        let delivered = by_area.map_or(delivered, |area| leanest(area, power));
        // Where more fuel is wanted, how rich the simple rule leaves it cannot be said.
        let unsure = self.method == Method::Simple && !asked.by_record && self.wants_more();
        let percents = Percents { unchanged: percent(1.0), advised: (!unsure).then(|| percent(delivered)) };
        let exact = self.exact.as_ref().ok().map(|choice| choice.exact);
        let advice = self.jets.advice(exact, self.method, chosen, percents);
        let from = asked.main_on_the_bike.map(|now| asked.main_that_ran.map_or(now, |ran| ran.max(now)));
        self.jets.counted_from(from, advice)
    }

    /// Whether the main circuit must bring more than it does now.
    pub(in crate::advice::rejet) fn wants_more(&self) -> bool {
        self.needed > 1.0 && !nearly_equal(self.needed, 1.0)
    }

    /// What to say of the advised size.
    pub(in crate::advice::rejet) fn warn(
        &self,
        advice: &JetAdvice,
        (at_full, asked): (f64, &JetsAsked<'_>),
        warnings: &mut Vec<String>,
    ) {
        let largest = self.largest().unwrap_or_default();
        match (&self.exact, advice.advised) {
            (Err(why), None) => warnings.push(format!("Main jet: {why} Do not run it.")),
            (Err(why), Some(_)) => warnings.push(format!("Main jet, as the needle hangs now: {why}")),
            (Ok(_), None) if asked.by_record && self.jets.are_listed() => warnings.push(format!(
                "The box ends at main jet {}, which does not bring the fuel that is wanted at full throttle: do not run it.",
                trimmed(largest, 2)
            )),
            (Ok(choice), None) => self.jets.warn_of_place(choice, Rule::NeverLean, warnings),
            (Ok(choice), Some(advised)) if self.method != Method::Simple && !asked.by_record => {
                self.warn_of_another_groove(choice, advised, warnings);
            }
            (Ok(choice), Some(_)) if !asked.by_record => {
                self.jets.warn_of_place(choice, Rule::NeverLean, warnings);
            }
            (Ok(_), Some(advised)) => self.warn_of_the_end_by_record(advised, (at_full, asked), warnings),
        }
        self.jets.warn_of_steps(advice, warnings);
    }

    /// The record may ask for less than the smallest jet brings: `at_full`, over the baseline's.
    fn warn_of_the_end_by_record(
        &self,
        advised: f64,
        (at_full, asked): (f64, &JetsAsked<'_>),
        warnings: &mut Vec<String>,
    ) {
        let smallest = self.jets.sizes().first().is_some_and(|size| nearly_equal(*size, advised));
        let least = asked.wanted[FULL].least;
        let area = match self.method {
            Method::Series { exponent } => exponent,
            Method::Simple | Method::Alone => crate::advice::rejet::USUAL_EXPONENT,
        };
        // Near enough for a number that is only named: what is fitted is the smallest in the box.
        let asked_for = self.jet.numbering().number_for(advised, (least / at_full).powf(area));
        // Where the record is held to theory's size, theory's number is asked for.
        let held = !asked.may_be(advised * (1.0 - HARDLY_SMALLER));
        let theory = self.exact.as_ref().map_or(advised, |choice| choice.exact);
        if let (true, Ok(by_record)) = (smallest, asked_for) {
            let asked_for = if held { by_record.max(theory) } else { by_record };
            if asked_for < advised * (1.0 - HARDLY_SMALLER) {
                self.jets.warn_of_the_lean_end(asked_for, warnings);
            }
        }
    }

    /// The exact number holds as the needle hangs now; hung richer, a smaller jet may do.
    fn warn_of_another_groove(&self, choice: &Choice, advised: f64, warnings: &mut Vec<String>) {
        if choice.advised.is_some_and(|size| size <= advised) {
            return self.jets.warn_of_place(choice, Rule::NeverLean, warnings);
        }
        warnings.push(format!(
            "The exact main jet, {}, is for the needle as it hangs now: {} is enough only with the needle moved as advised.",
            trimmed(choice.exact, 1),
            trimmed(advised, 2)
        ));
    }

    /// The largest at hand; none where none are listed.
    pub(in crate::advice::rejet) fn largest(&self) -> Option<f64> {
        self.jets.sizes().last().copied()
    }

    /// The sizes around the exact, the present and the advised one with the fuel each delivers at full throttle.
    pub(in crate::advice::rejet) fn sizes(
        &self,
        advised: Option<f64>,
        delivered: impl Fn(f64) -> Option<f64>,
    ) -> Vec<MainSize> {
        let exact = self.exact.as_ref().ok().map(|choice| choice.exact);
        let numbers: Vec<f64> = [Some(self.jet.number), exact, advised].into_iter().flatten().collect();
        let sizes = self.jets.around(&numbers, SIZES_AROUND).iter();
        sizes.filter_map(|size| Some(MainSize { size: *size, delivered: delivered(*size)? })).collect()
    }
}

/// The power jet as a jet alone, with the scale of its numbers.
fn power_jet<'a>(
    jetting: &'a Jetting,
    asked: &JetsAsked<'a>,
    warnings: &mut Vec<String>,
) -> Result<Option<(JetAdvice, JetScale)>, RejetError> {
    let jet =
        JetInBike::read(Circuit::Power, jetting.power_jet.as_ref(), jetting.power_jet_numbered_by, None)?;
    let Some(jet) = jet else {
        return Ok(None);
    };
    let calculation = || RejetError::calculation(jet.field);
    let jets = Jets::at_hand(jet, asked.jets, &[], warnings)?;
    let numbering = jet.numbering();
    let exact = numbering.number_for(jet.number, asked.factor).map_err(calculation())?;
    let choice = jets.choice(exact)?;
    let percent = |number| {
        let delivered = numbering.area_factor(jet.number, number).map_err(calculation())? / asked.factor;
        Ok(100.0 * (delivered - 1.0))
    };
    let percents =
        Percents { unchanged: percent(jet.number)?, advised: choice.advised.map(percent).transpose()? };
    let advice = jets.advice(Some(exact), Method::Alone, choice.advised, percents);
    let advice = jets.counted_from(asked.power_on_the_bike, advice);
    jets.warn_of_place(&choice, Rule::NeverLean, warnings);
    jets.warn_of_steps(&advice, warnings);
    Ok(Some((advice, jets.scale())))
}

/// The power jet as it is advised beside the main circuit.
fn beside(
    power: Option<&(JetAdvice, JetScale)>,
    main_area_m2: Option<f64>,
    factor: f64,
    warnings: &mut Vec<String>,
) -> PowerBeside {
    let Some((advice, scale)) = power else {
        return PowerBeside::NONE;
    };
    let after = advice.advised.unwrap_or(advice.current);
    if let (Ok(power), Ok(after), Some(main)) =
        (scale.area_m2(advice.current), scale.area_m2(after), main_area_m2)
    {
        return PowerBeside { share: power / (main + power), over: after / power };
    }
    if advice.advised.is_some() {
        return PowerBeside::NONE;
    }
    let what = if factor > 1.0 {
        "the main jet does not make up for it, and full throttle is lean while it feeds"
    } else {
        "it is left out"
    };
    warnings.push(format!(
        "The power jet stays, and its area beside the main jet's is not known (both must be numbered by bore, or their series must have known_number and known_bore): {what}."
    ));
    PowerBeside::NONE
}

/// The warning that goes with the simple rule; gives back why the series form could not be used.
fn not_reckoned_with(unfit: &Unfit, warnings: &mut Vec<String>) -> String {
    let why = unfit.to_string();
    warnings.push(format!(
        "Main jet by the simple rule: leans when the air gets denser. The needle is not reckoned with: {why}."
    ));
    why
}
