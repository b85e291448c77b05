//! What an engine is and does: pure functions, SI in and out, no clock, file or print.
//!
//! - [`crank`]: where the piston is at each angle;
//! - [`ports::window`], [`ports`]: what of a window is open, timings, angle-areas and time-areas, blowdown;
//! - [`head`], [`head::squish`]: volumes, compression ratios, cuts, and the squish velocity;
//! - [`spark`]: when the spark comes, and where an advance curve begins to fall;
//! - [`pipe`]: sections, the speed of the wave, the speed a pipe is tuned to;
//! - [`intake`]: the tract swinging on the case, reeds;
//! - [`fuel`]: petrol density, premix and the air a blend needs;
//! - [`metering`]: by how much the fuel metering area must change for other air or another fuel;
//! - [`carburetor::jets`]: jet numbers, what they mean, and the jet to take from the box;
//! - [`carburetor::needle`]: the needle's profile and the annulus it leaves in the needle jet;
//! - [`carburetor::circuits`]: main jet and annulus in series, pilot and power jet beside them;
//! - [`carburetor`]: all circuits together, at any slide lift;
//! - [`injection`]: trim of a fuel map, injector pulse and duty;
//! - [`fits`]: tolerance zones, interference and clearance, and what heat does to them;
//! - [`life`], [`life::wear`]: how long parts last, from those that failed and those that did not, and when a dimension reaches its limit;
//! - [`fuel::blend`], [`fuel::mixing`]: what a fuel blend brings, and oil into petrol.
//!
//! Densities are passed in: this floor knows no weather. Every function refuses what is physically impossible,
//! and what is so far off that a unit must be wrong, with an [`EngineError`] that names the quantity.

pub mod carburetor;
pub mod crank;
pub mod doubt;
pub mod fits;
pub mod fuel;
pub mod gauging;
pub mod head;
pub mod injection;
pub mod intake;
pub mod life;
pub mod metering;
pub mod named;
pub mod pipe;
pub mod ports;
pub mod spark;

/// Why a calculation of the engine has no answer. Quantities are in SI, with the unit beside the value.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EngineError {
    /// A quantity lies outside what the formula, or a real engine, allows. Not-a-number lands here too.
    #[error("The {field} is {}; allowed is {} to {}. {help}", with_unit(*.found, .unit), with_unit(*.low, .unit), with_unit(*.high, .unit))]
    OutOfRange {
        /// The quantity, in the words of the trade.
        field: &'static str,
        /// The value found.
        found: f64,
        /// Unit of the three values; empty for a pure number.
        unit: &'static str,
        /// The smallest value allowed.
        low: f64,
        /// The largest value allowed.
        high: f64,
        /// The way out.
        help: &'static str,
    },
    /// A quantity that the answer needs was never given.
    #[error("The {field} is not known. {help}")]
    NotKnown {
        /// What is missing.
        field: &'static str,
        /// The way out.
        help: &'static str,
    },
    /// A list has too few entries.
    #[error("The {field} has {found} entries; at least {needed} must be given. {help}")]
    TooFew {
        /// The list.
        field: &'static str,
        /// Entries found.
        found: usize,
        /// Entries needed.
        needed: usize,
        /// The way out.
        help: &'static str,
    },
    /// A list that must rise does not.
    #[error("Entry {entry} of the {field} is {}, not above the {} before it. {help}", with_unit(*.found, .unit), with_unit(*.before, .unit))]
    NotAscending {
        /// The list.
        field: &'static str,
        /// Which entry, counted from 1.
        entry: usize,
        /// The value found.
        found: f64,
        /// The value of the entry before.
        before: f64,
        /// Unit of both values; empty for a pure number.
        unit: &'static str,
        /// The way out.
        help: &'static str,
    },
    /// Two quantities cannot both be true.
    #[error("The {field} of {} cannot be above the {other} of {}. {help}", with_unit(*.found, .unit), with_unit(*.limit, .unit))]
    Contradiction {
        /// The quantity that is too large.
        field: &'static str,
        /// Its value.
        found: f64,
        /// The quantity that bounds it.
        other: &'static str,
        /// The bound.
        limit: f64,
        /// Unit of both values; empty for a pure number.
        unit: &'static str,
        /// The way out.
        help: &'static str,
    },
    /// The needle fills its jet, so no fuel passes.
    #[error("The needle is {} thick where it stands in a needle jet of {}, so no fuel passes. Check both diameters and the needle's position.", with_unit(*.needle_m, "m"), with_unit(*.bore_m, "m"))]
    NeedleFillsJet {
        /// Needle diameter at the mouth of the needle jet, m.
        needle_m: f64,
        /// Bore of the needle jet, m.
        bore_m: f64,
    },
    /// The needle jet annulus alone passes no more than the fuel asked for, so no main jet is large enough.
    #[error(
        "No main jet is large enough: the main circuit must pass {needed} times the fuel it passes now, and the needle jet annulus limits it to {limit} times. Raise the needle, or fit a thinner needle or a larger needle jet."
    )]
    MainJetCannotReach {
        /// Factor on the effective area of the main circuit that is asked for.
        needed: f64,
        /// Factor that the annulus alone would give, never quite reached.
        limit: f64,
    },
    /// The jets beside the main circuit already pass more than all the fuel asked for.
    #[error("No main jet is small enough: the jets beside the main circuit pass {} of the {} asked for. Fit a smaller power jet or pilot jet.", with_unit(*.parallel_m2, "m2"), with_unit(*.needed_m2, "m2"))]
    ParallelJetsTooLarge {
        /// Effective area of the parallel jets, m2.
        parallel_m2: f64,
        /// Effective area asked for in total, m2.
        needed_m2: f64,
    },
}

impl EngineError {
    /// The quantities it is about, in the words of the trade, the one to look at first; those of [`named`] have a field of
    /// their own in the documents.
    pub fn quantities(&self) -> Vec<&'static str> {
        match self {
            Self::OutOfRange { field, .. }
            | Self::NotKnown { field, .. }
            | Self::TooFew { field, .. }
            | Self::NotAscending { field, .. } => vec![field],
            Self::Contradiction { field, other, .. } => vec![field, other],
            Self::NeedleFillsJet { .. } => vec![named::NEEDLE, named::NEEDLE_JET],
            Self::MainJetCannotReach { .. } | Self::ParallelJetsTooLarge { .. } => vec![named::MAIN],
        }
    }
}

/// A value with its unit, as an error message shows it: what is small in SI in the units of the workshop.
fn with_unit(value: f64, unit: &str) -> String {
    let (factor, shown) = match unit {
        "m" if value.abs() < 1.0 => (1e3, "mm"),
        "m2" if value.abs() < 0.1 => (1e6, "mm2"),
        "m3" if value.abs() < 0.1 => (1e6, "cc"),
        _ => (1.0, unit),
    };
    // Six decimals are more than any gauge shows and hide what the change of unit leaves behind.
    let rounded = format!("{:.6}", value * factor);
    let digits = rounded.trim_end_matches('0').trim_end_matches('.');
    let digits = if shown == unit { value.to_string() } else { digits.to_owned() };
    if shown.is_empty() { digits } else { format!("{digits} {shown}") }
}

/// What a quantity may be. The bounds are wide: they catch a wrong unit or a slipped digit, not an unusual engine.
pub(crate) struct Allowed {
    pub(crate) field: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) help: &'static str,
}

impl Allowed {
    /// The value itself when it is allowed; both ends belong to the range, not-a-number does not.
    pub(crate) fn check(&self, found: f64) -> Result<f64, EngineError> {
        if (self.low..=self.high).contains(&found) {
            Ok(found)
        } else {
            Err(EngineError::OutOfRange {
                field: self.field,
                found,
                unit: self.unit,
                low: self.low,
                high: self.high,
                help: self.help,
            })
        }
    }
}

/// A factor on fuel flow or area, as a pure number.
pub(crate) const FACTOR: Allowed = Allowed {
    field: "factor",
    unit: "",
    low: 0.1,
    high: 10.0,
    help: "A change of air or fuel is a factor near 1; check the conditions it was computed from.",
};
