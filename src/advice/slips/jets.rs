//! Jets that are written into a setup and are not in the box.

use super::{Questioned, Slip};
use crate::notebook::edit::apply;
use crate::notebook::{Circuit, Combination, EditOptions, JetBox, NumberedBy, Setup, When};
use crate::quantity::trimmed;
use crate::store::{Book, ChangeRequest, StoreError};

/// A change dated further back than this is from a season on paper: the box of today says nothing of the box then, s.
const BOX_OF_TODAY: i64 = 7 * 24 * 3_600;

/// A circuit's jet as a setup names it.
struct Jet<'s> {
    field: &'static str,
    circuit: Circuit,
    number: f64,
    numbered_by: NumberedBy,
    series: Option<&'s str>,
}

/// What is to be asked of the jets that a change would write down. A jet that is in the bike already is at hand, listed or not.
pub fn of_change(book: &Book<'_>, request: &ChangeRequest, now: When) -> Result<Vec<Slip>, StoreError> {
    let garage = book.garage();
    let past = request.date.is_some_and(|date| now.unix() - date.unix() > BOX_OF_TODAY);
    let Some(latest) = book.latest(&request.bike)?.filter(|_| !past) else {
        return Ok(Vec::new());
    };
    let options = EditOptions { insert: request.insert, refuse_bare_lengths: garage.is_imperial() };
    // What cannot be applied, or read, the change itself refuses with more to say.
    let Ok(files) = apply(&garage.files_now(&request.bike)?, &request.assignments, options) else {
        return Ok(Vec::new());
    };
    let (before, after) = (book.combination(&request.bike, Some(&latest))?, garage.combination(&files));
    let (Ok(jets), Ok(bike)) = (garage.jets(), garage.bike(&request.bike)) else {
        return Ok(Vec::new());
    };
    let own = bike.own_box.unwrap_or_default();
    let setup = |whole: &Combination| whole.setup.clone().unwrap_or_default();
    let (before, after) = (setup(&before), setup(&after));
    let asked = [(main(&before), main(&after), own.main), (pilot(&before), pilot(&after), own.pilot)];
    let slips = asked.into_iter().filter_map(|(before, after, own)| {
        let (before, after) = (before?, after?);
        if is_size(before.number, after.number) { None } else { not_in_box(&after, &jets, &own) }
    });
    Ok(slips.collect())
}

fn main(setup: &Setup) -> Option<Jet<'_>> {
    let jetting = setup.jetting.as_ref()?;
    Some(Jet {
        field: "jetting.main",
        circuit: Circuit::Main,
        number: jetting.main.as_ref()?.si(),
        numbered_by: jetting.main_numbered_by?,
        series: jetting.main_series.as_deref(),
    })
}

fn pilot(setup: &Setup) -> Option<Jet<'_>> {
    let jetting = setup.jetting.as_ref()?;
    Some(Jet {
        field: "jetting.pilot",
        circuit: Circuit::Pilot,
        number: jetting.pilot.as_ref()?.si(),
        numbered_by: jetting.pilot_numbered_by?,
        series: jetting.pilot_series.as_deref(),
    })
}

/// The question, where the box lists sizes for the circuit and not this one.
fn not_in_box(jet: &Jet<'_>, jets: &JetBox, own: &[f64]) -> Option<Slip> {
    let (sizes, list) = if own.is_empty() {
        (of_series(jet, jets), "configs/jets.toml")
    } else {
        (own.to_vec(), "the bike's [box]")
    };
    if sizes.is_empty() || sizes.iter().any(|size| is_size(*size, jet.number)) {
        return None;
    }
    let below = sizes.iter().copied().filter(|size| *size < jet.number).reduce(f64::max);
    let above = sizes.iter().copied().filter(|size| *size > jet.number).reduce(f64::min);
    let beside: Vec<_> = below.into_iter().chain(above).map(|size| trimmed(size, 2)).collect();
    Some(Slip {
        what: Questioned::Jet,
        field: jet.field,
        question: format!(
            "{} is not in the box (nearest: {}): is it a slip?",
            trimmed(jet.number, 2),
            beside.join(" and ")
        ),
        instead: format!("A jet that you bought is added in {list}."),
    })
}

/// Sizes of the series that the setup names, or of all that count as its jet does.
fn of_series(jet: &Jet<'_>, jets: &JetBox) -> Vec<f64> {
    let all = jets.series.iter().filter(|(name, series)| match jet.series {
        Some(named) => *name == named,
        None => series.circuit == Some(jet.circuit),
    });
    all.filter(|(_, series)| series.numbered_by == jet.numbered_by)
        .flat_map(|(_, series)| series.sizes.iter().copied())
        .collect()
}

/// Whether two numbers are one size: stamps differ by a quarter at least.
fn is_size(one: f64, other: f64) -> bool {
    (one - other).abs() < 0.1
}
