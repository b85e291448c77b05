//! The series of jets in the box that a circuit's jet belongs to.

use super::in_bike::JetInBike;
use crate::advice::rejet::error::{RejetError, word};
use crate::notebook::fields::names;
use crate::notebook::{JetBox, JetSeries};
use crate::quantity::trimmed;

/// The series that the setup names. One of the other numbering is refused; one that is not there, or is for another circuit,
/// leaves the answer without sizes.
pub(in crate::advice::rejet) fn named<'a>(
    jet: &JetInBike<'a>,
    name: &str,
    jets: &'a JetBox,
    warnings: &mut Vec<String>,
) -> Result<Option<(&'a str, &'a JetSeries)>, RejetError> {
    let shown = names::visible(name);
    let Some((name, series)) = jets.series.get_key_value(name) else {
        warnings.push(format!(
            "{} names the series \"{shown}\", which is not in configs/jets.toml: only the exact number is given.",
            jet.series_field
        ));
        return Ok(None);
    };
    if series.numbered_by != jet.numbered_by {
        return Err(RejetError::NumberingContradicts {
            field: jet.field,
            series_field: jet.series_field,
            series: shown,
            setup: jet.numbered_by,
            found: series.numbered_by,
        });
    }
    if series.circuit.is_some_and(|circuit| circuit != jet.circuit) {
        warnings.push(format!(
            "{} names the series \"{shown}\", which is for another circuit: only the exact number is given.",
            jet.series_field
        ));
        return Ok(None);
    }
    Ok(Some((name.as_str(), series)))
}

/// The first series in the box that fits: the same circuit and numbering, with sizes on both sides of the jet in the bike.
pub(in crate::advice::rejet) fn fitting<'a>(
    jet: &JetInBike<'a>,
    jets: &'a JetBox,
    warnings: &mut Vec<String>,
) -> Option<(&'a str, &'a JetSeries)> {
    let around = |series: &JetSeries| {
        series.sizes.iter().any(|size| *size <= jet.number)
            && series.sizes.iter().any(|size| *size >= jet.number)
    };
    let found = jets.series.iter().find(|(_, series)| {
        series.circuit == Some(jet.circuit) && series.numbered_by == jet.numbered_by && around(series)
    });
    if found.is_none() {
        warnings.push(format!(
            "No series in configs/jets.toml for a {} numbered by {} has sizes around {}: only the exact number is given.",
            jet.name(),
            word(jet.numbered_by),
            trimmed(jet.number, 2)
        ));
    }
    found.map(|(name, series)| (name.as_str(), series))
}
