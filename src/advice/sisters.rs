//! The other bikes of a garage whose carburetor is the same: what they teach of the exponent, the next bike starts with.

use crate::advice::foundation;
use crate::advice::learning::{Baseline, Settings, Sister, gather};
use crate::advice::rejet::setting::scale_of_the_main_jet;
use crate::notebook::{Combination, FieldSet};
use crate::store::{Book, StoreError};

/// The bikes with the carburetor of `asked`, each with its outings as they speak of the setup that it would be answered from. One that
/// cannot be read, or was never right, is left out: it is not the bike that is asked for.
pub fn sisters(
    book: &Book<'_>,
    asked: &Baseline<'_>,
    settings: &Settings,
) -> Result<Vec<Sister>, StoreError> {
    let mut sisters = Vec::new();
    for bike in book.garage().bikes().into_iter().filter(|bike| *bike != asked.record.bike) {
        let Ok(now) = book.combination(&bike, None) else { continue };
        // With several cylinders each has its own fuel, and what was said of all is of none of them.
        if now.fields.cylinders().is_empty() && same_carburetor(asked.now, &now.fields) {
            sisters.extend(sister(book, asked, (bike, &now), settings)?);
        }
    }
    Ok(sisters)
}

fn same_carburetor(one: &FieldSet, other: &FieldSet) -> bool {
    let same = |field: &str| match (one.get(field), other.get(field)) {
        (Some(one), Some(other)) => one.same_as(other),
        _ => false,
    };
    scale_of_the_main_jet().all(same)
}

fn sister(
    book: &Book<'_>,
    asked: &Baseline<'_>,
    (bike, now): (String, &Combination),
    settings: &Settings,
) -> Result<Option<Sister>, StoreError> {
    // Of several cylinders what is written for all may hold for none of them.
    if !now.fields.cylinders().is_empty() {
        return Ok(None);
    }
    let Ok(Some(stands_on)) = foundation::find(book, &bike, now) else {
        return Ok(None);
    };
    let Some(Ok(air)) = stands_on.air.map(|(air, _)| air.air()) else {
        return Ok(None);
    };
    let whole = book.combination(&bike, Some(&stands_on.setup))?;
    if whole.setup.is_none() || !whole.findings.is_empty() {
        return Ok(None);
    }
    let baseline = Baseline {
        record: &stands_on.setup,
        whole: &whole,
        now: &now.fields,
        air,
        vouched_for: false,
        ..*asked
    };
    Ok(Some(Sister { bike, evidence: gather(book, &baseline, settings)? }))
}
