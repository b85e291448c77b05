//! What an advice moves: jets, clip, needle, screw, or the trim of an injected bike.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::rejet::{Factor, InjectionAdvice};
use crate::advice::{ClipAdvice, JetAdvice, Method, ScrewAdvice};
use crate::notebook::{Circuit, NumberedBy};
use crate::report::out::figure::Figure;

/// The factors that the factor on the fuel is the product of.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FactorParts {
    /// Part of the air: oxygen and venturi, or oxygen and the box's own correction.
    air: Figure<6>,
    /// Ratio of the dry densities: the oxygen.
    pub(super) dry_air: Figure<6>,
    /// What the carburetor does by itself; null with injection.
    pub(super) venturi: Option<Figure<6>>,
    /// What the injection computer does by itself; null with a carburetor.
    pub(super) box_correction: Option<Figure<6>>,
    /// Ratio of the stoichiometric fuel-to-air ratios.
    pub(super) fuel_air: Figure<6>,
    /// Ratio of the air ratios asked for.
    pub(super) lambda: Figure<6>,
    /// Part of the fuel's density.
    pub(super) fuel_density: Figure<6>,
    /// Part of the oil in the fuel.
    pub(super) oil: Figure<6>,
}

impl From<Factor> for FactorParts {
    fn from(factor: Factor) -> Self {
        Self {
            air: Figure(factor.air),
            dry_air: Figure(factor.dry_air),
            venturi: factor.venturi.map(Figure),
            box_correction: factor.box_correction.map(Figure),
            fuel_air: Figure(factor.fuel_air),
            lambda: Figure(factor.lambda),
            fuel_density: Figure(factor.fuel_density),
            oil: Figure(factor.oil),
        }
    }
}

/// What to do with one jet.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct JetMove<'a> {
    /// Circuit of the jet.
    pub(super) circuit: Circuit,
    /// Dotted field of the jet.
    pub(super) field: &'static str,
    /// What its number counts.
    numbering: NumberedBy,
    /// Series in configs/jets.toml that the sizes are of; null when none fits.
    pub(super) series: Option<&'a str>,
    /// How it was computed: in series with the needle's annulus, by the simple rule, or alone in its path.
    method: JetMethod,
    /// Number of the jet in the baseline.
    pub(super) current: f64,
    /// Number that would be exactly right; null when no jet would do.
    pub(super) exact: Option<Figure<3>>,
    /// Number to fit, of the sizes at hand; null when none is safe.
    pub(super) advised: Option<f64>,
    /// Next richer number at hand.
    pub(super) richer: Option<f64>,
    /// Next leaner number at hand.
    pub(super) leaner: Option<f64>,
    /// Numbers to go through on the way to a much leaner jet, the last being the advised one; plug and piston are read at each. Empty
    /// when one step does.
    pub(super) steps: &'a [f64],
    /// How rich (positive) or lean (negative) the circuit is with the baseline's jet, percent of fuel.
    pub(super) unchanged_percent: Figure<3>,
    /// The same with the advised jet.
    pub(super) advised_percent: Option<Figure<3>>,
    /// Percent of the main jet's area for one percent of fuel, where it stands in series with the needle's annulus.
    #[serde(skip)]
    pub(super) area_exponent: Option<f64>,
}

/// How a jet's number was come by.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum JetMethod {
    /// In series with the needle's annulus.
    Series,
    /// By the simple rule, as if the needle were not there.
    Simple,
    /// Alone in its path.
    Alone,
}

impl<'a> From<&'a JetAdvice> for JetMove<'a> {
    fn from(jet: &'a JetAdvice) -> Self {
        let (method, area_exponent) = match jet.method {
            Method::Series { exponent } => (JetMethod::Series, Some(exponent)),
            Method::Simple => (JetMethod::Simple, None),
            Method::Alone => (JetMethod::Alone, None),
        };
        Self {
            circuit: jet.circuit,
            field: jet.field,
            numbering: jet.numbered_by,
            series: jet.series.as_deref(),
            method,
            current: jet.current,
            exact: jet.exact.map(Figure),
            advised: jet.advised,
            richer: jet.richer,
            leaner: jet.leaner,
            steps: &jet.steps,
            unchanged_percent: Figure(jet.unchanged_percent),
            advised_percent: jet.advised_percent.map(Figure),
            area_exponent,
        }
    }
}

/// What to do with the needle's clip.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub(super) enum ClipMove<'a> {
    /// There is no advice on the clip.
    Open(ClipOpen<'a>),
    /// There is advice on the clip.
    Computed(ClipGroove<'a>),
}

/// A clip that could not be computed.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ClipOpen<'a> {
    /// No advice on the clip.
    #[schemars(extend("const" = false))]
    computed: bool,
    /// Why not.
    why: &'a str,
    /// Without the needle's shape, one groove that is worth a try by a rule of thumb, because outings found a throttle zone rich or
    /// lean; --record leaves it out.
    #[serde(rename = "try", skip_serializing_if = "Option::is_none")]
    #[schemars(with = "ClipTry")]
    worth_a_try: Option<ClipTry>,
}

/// A groove that is worth a try.
#[derive(Debug, Serialize, JsonSchema)]
struct ClipTry {
    /// Groove in the baseline, from the top; null where it is not known.
    from: Option<u8>,
    /// Groove to try; null where the present one is not known.
    to: Option<u8>,
    /// Whether that is leaner.
    leaner: bool,
    /// Whether the main jet must then be one size richer than advised.
    main_richer: bool,
    /// The throttle zone that asks for it.
    zone: &'static str,
    /// How rich (positive) or lean it is by the record, percent of fuel; null where a run was lean there, and no more is known.
    percent: Option<Figure<2>>,
    /// The same as a sentence.
    words: String,
}

/// A groove that was computed.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ClipGroove<'a> {
    /// There is advice on the clip.
    #[schemars(extend("const" = true))]
    computed: bool,
    /// Groove in the baseline, from the top.
    #[schemars(range(min = 1))]
    from: u8,
    /// Groove advised, from the top.
    #[schemars(range(min = 1))]
    to: u8,
    /// Why it stays, where it does.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    why: Option<&'a str>,
    /// How rich (positive) or lean half throttle is then, percent of fuel.
    half_throttle_percent: Figure<2>,
}

impl<'a> From<&'a ClipAdvice> for ClipMove<'a> {
    fn from(clip: &'a ClipAdvice) -> Self {
        match clip {
            ClipAdvice::NotComputed { why } => {
                Self::Open(ClipOpen { computed: false, why, worth_a_try: None })
            }
            ClipAdvice::Try { why, from, to, leaner, main_richer, zone, percent } => {
                let worth_a_try = ClipTry {
                    from: *from,
                    to: *to,
                    leaner: *leaner,
                    main_richer: *main_richer,
                    zone,
                    percent: percent.map(Figure),
                    words: clip.worth_a_try().unwrap_or_default(),
                };
                Self::Open(ClipOpen { computed: false, why, worth_a_try: Some(worth_a_try) })
            }
            ClipAdvice::Stays { clip, half_throttle_percent, why } => Self::Computed(ClipGroove {
                computed: true,
                from: *clip,
                to: *clip,
                why: Some(why),
                half_throttle_percent: Figure(*half_throttle_percent),
            }),
            ClipAdvice::Move { from, to, after_percent, .. } => Self::Computed(ClipGroove {
                computed: true,
                from: *from,
                to: *to,
                why: None,
                half_throttle_percent: Figure(*after_percent),
            }),
        }
    }
}

/// What to do with the air or fuel screw.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ScrewMove<'a> {
    /// Dotted field of the screw.
    pub(super) field: &'static str,
    /// Turns out in the baseline.
    from_turns: f64,
    /// Turns out advised.
    pub(super) to_turns: f64,
    /// The advice in words.
    words: &'a str,
    /// The advice itself.
    #[serde(skip)]
    pub(super) advice: &'a ScrewAdvice,
}

impl<'a> From<&'a ScrewAdvice> for ScrewMove<'a> {
    fn from(advice: &'a ScrewAdvice) -> Self {
        let ScrewAdvice { field, from_turns, to_turns, words, .. } = advice;
        Self { field, from_turns: *from_turns, to_turns: *to_turns, words, advice }
    }
}

/// Another needle.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct NeedleMove<'a> {
    /// Needle in the baseline.
    pub(super) from: &'a str,
    /// Needle advised.
    pub(super) to: &'a str,
}

/// The trim over the whole map.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct TrimMove<'a> {
    /// Trim in the baseline, percent.
    pub(super) from_percent: Figure<2>,
    /// Trim advised, percent.
    pub(super) to_percent: Figure<2>,
    /// What counts as one size of the trim, percent (`trim_size` of configs/shares.toml).
    pub(super) size_percent: Figure<2>,
    /// Trim one size richer than advised, percent.
    pub(super) richer_percent: Figure<2>,
    /// Trim one size leaner than advised, percent.
    pub(super) leaner_percent: Figure<2>,
    /// Trims to go through where the advised one is more than two sizes leaner, percent, the last of them the advised one; --record sets
    /// the first. Empty where one step does.
    pub(super) steps_percent: Vec<Figure<2>>,
    /// What it makes up for.
    pub(super) words: &'a str,
    /// What every cell changes by, percent.
    #[serde(skip)]
    pub(super) trim_percent: f64,
}

impl<'a> From<&'a InjectionAdvice> for TrimMove<'a> {
    fn from(advice: &'a InjectionAdvice) -> Self {
        Self {
            from_percent: Figure(advice.from_percent),
            to_percent: Figure(advice.to_percent),
            size_percent: Figure(advice.size_percent),
            richer_percent: Figure(advice.richer_percent),
            leaner_percent: Figure(advice.leaner_percent),
            steps_percent: advice.steps.iter().copied().map(Figure).collect(),
            words: &advice.words,
            trim_percent: advice.trim_percent,
        }
    }
}
