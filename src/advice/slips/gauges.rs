//! What the dash showed and an engine hardly did: revs beyond its limiter, coolant near boiling.

use super::slip::{Questioned, Slip};
use crate::notebook::guidance::Guidance;
use crate::store::{Book, OutingRecord, StoreError};

/// Share by which a peak may pass the limiter (common practice, no source: it overshoots, and a wheel in the air more).
const OVER: f64 = 0.05;
/// Coolant that is hotter has cost power long before, K (common practice, no source: such engines are run at 50 to 70 C).
const HOT_K: f64 = 90.0 + 273.15;

/// What a file allows at most is refused with its range, and not asked.
const NOT_READ_RPM: f64 = 25_000.0;
const NOT_READ_K: f64 = 150.0 + 273.15;

/// What is to be asked of an outing's highest engine speed and coolant.
pub(super) fn of_the_dash(book: &Book<'_>, record: &OutingRecord) -> Result<Vec<Slip>, StoreError> {
    let outing = &record.outing;
    let mut slips = Vec::new();
    let can_be = |rpm: f64| rpm <= NOT_READ_RPM;
    let peak = outing.peak.as_ref();
    if let Some(peak) = peak.filter(|peak| peak.quantity().in_unit("rpm").is_some_and(can_be)) {
        let ran = book.setups(&record.bike)?.into_iter().find(|setup| Some(setup.number) == record.setup);
        let ran = ran.filter(|setup| setup.readable);
        let whole = ran.map(|setup| book.combination(&record.bike, Some(&setup))).transpose()?;
        let limiter = whole.as_ref().and_then(|whole| whole.fields.quantity("ignition.limiter").cloned());
        slips.extend(limiter.filter(|limiter| peak.si() > limiter.si() * (1.0 + OVER)).map(|limiter| Slip {
            what: Questioned::Reading,
            field: "peak".into(),
            question: format!(
                "A peak of {}, over a limiter of {}: is it a typing mistake, or does the box not limit?",
                peak.quantity().with_unit(),
                limiter.with_unit()
            ),
            instead: Guidance::none(),
        }));
    }
    let hot = outing.coolant.as_ref().filter(|coolant| coolant.si() > HOT_K && coolant.si() <= NOT_READ_K);
    slips.extend(hot.map(|coolant| Slip {
        what: Questioned::Reading,
        field: "coolant".into(),
        question: format!(
            "Coolant of {}: is it a typing mistake? An engine as hot as that has tightened: look at piston, bore and head gasket, and find out why, before it is run.",
            coolant.quantity().with_unit()
        ),
        instead: Guidance::none(),
    }));
    Ok(slips)
}
