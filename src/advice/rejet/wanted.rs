//! How much fuel is wanted at each throttle zone: by theory, or as a bike's own record has it.

use super::error::RejetError;
use crate::engine::FACTOR;
use crate::notebook::ZONES;

/// One value for each zone of [`ZONES`].
pub(super) type EachZone<T> = [T; ZONES.len()];

/// Places in [`ZONES`].
pub(super) const IDLE: usize = 0;
pub(super) const EIGHTH: usize = 1;
pub(super) const QUARTER: usize = 2;
pub(super) const HALF: usize = 3;
pub(super) const THREE_QUARTERS: usize = 4;
pub(super) const FULL: usize = 5;

/// A little lean is bearable but for full throttle: down to this part of the fuel wanted (common practice, no source).
pub(in crate::advice) const BEARABLE: f64 = 0.98;

/// How much fuel is wanted at one throttle zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WantedFuel {
    /// The zone, as in [`ZONES`].
    pub zone: &'static str,
    /// Its share of the slide's lift, 0 to 1.
    pub lift: f64,
    /// Fuel over the baseline's that is right, 0.1 to 10.
    pub factor: f64,
    /// Fuel over the baseline's below which it is too lean, 0.1 to 10.
    pub least: f64,
    /// What a lean run left as the least, 0.1 to 10; none where none did. No error elsewhere is worth going below it.
    pub held: Option<f64>,
    /// Whether `least` is the limit of lean where a lean run holds: then it is no more gone below than what that left.
    pub limit_rules: bool,
}

impl WantedFuel {
    /// What theory wants: the same factor at every lift, never leaner at full throttle, 2 % leaner at most elsewhere (common
    /// practice, no source).
    pub fn by_theory(factor: f64) -> [Self; ZONES.len()] {
        ZONES.map(|(zone, _, lift)| {
            let least = if lift < 1.0 { BEARABLE * factor } else { factor };
            Self { zone, lift, factor, least, held: None, limit_rules: false }
        })
    }
}

/// What is wanted at each zone: as given, and by theory where nothing is.
pub(super) fn each_zone(
    theory: f64,
    given: Option<&[WantedFuel]>,
) -> Result<EachZone<WantedFuel>, RejetError> {
    let mut wanted = WantedFuel::by_theory(theory);
    for given in given.into_iter().flatten() {
        for value in [given.factor, given.least].into_iter().chain(given.held) {
            FACTOR
                .check(value)
                .map_err(RejetError::calculation(format!("the fuel wanted at {}", given.zone)))?;
        }
        if let Some(place) = wanted.iter_mut().find(|wanted| wanted.zone == given.zone) {
            (place.factor, place.least, place.held) = (given.factor, given.least, given.held);
            place.limit_rules = given.limit_rules;
        }
    }
    Ok(wanted)
}
