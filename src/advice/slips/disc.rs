//! A disc's angle that is counted from the other dead centre.

use super::slip::{Questioned, Slip};
use crate::notebook::FieldSet;
use crate::notebook::guidance::Guidance;
use crate::quantity::{Quantity, nearly_equal, trimmed};

/// No disc opens later than so many degrees after bottom dead centre, nor shuts later than so many after top (common practice, no
/// source: 30 to 70, and 50 to 95).
const OPENS_BY_DEG: f64 = 110.0;
const SHUTS_BY_DEG: f64 = 130.0;

/// For so many degrees a disc is open (common practice, no source).
const OPEN_DEG: std::ops::RangeInclusive<f64> = 160.0..=250.0;

/// What is to be asked of the angles of a disc that a change would write down: of each, or else of both together.
pub(super) fn angles(before: &FieldSet, after: &FieldSet) -> Vec<Slip> {
    let each: Vec<Slip> = each_angle(before, after).collect();
    if each.is_empty() { open(before, after).into_iter().collect() } else { each }
}

/// A disc that is open for longer or shorter than any is.
fn open(before: &FieldSet, after: &FieldSet) -> Option<Slip> {
    let degrees = |fields: &FieldSet| {
        let angle = |field: &str| fields.quantity(field).map(Quantity::si);
        Some(180.0 - angle("ports.rotary_opens")? + angle("ports.rotary_shuts")?)
    };
    let found = degrees(after).filter(|found| !OPEN_DEG.contains(found))?;
    let stood = degrees(before).is_some_and(|stood| nearly_equal(stood, found));
    (!stood).then(|| Slip {
        what: Questioned::Disc,
        field: "ports.rotary_shuts".into(),
        question: format!(
            "The disc would be open for {} degrees; discs are for {} to {}: which of its angles is wrong?",
            trimmed(found, 1),
            trimmed(*OPEN_DEG.start(), 0),
            trimmed(*OPEN_DEG.end(), 0)
        ),
        instead: Guidance::none(),
    })
}

fn each_angle<'f>(before: &'f FieldSet, after: &'f FieldSet) -> impl Iterator<Item = Slip> + 'f {
    let angles = [
        ("ports.rotary_opens", OPENS_BY_DEG, ("opens", "bottom", "top")),
        ("ports.rotary_shuts", SHUTS_BY_DEG, ("shuts", "top", "bottom")),
    ];
    angles.into_iter().filter_map(|(field, most, (does, after_centre, before_centre))| {
        let typed = |fields: &FieldSet| fields.quantity(field).map(Quantity::si);
        let found = typed(after)?;
        let stood = typed(before).is_some_and(|stood| nearly_equal(stood, found));
        (found > most && !stood).then(|| Slip {
            what: Questioned::Disc,
            field: field.into(),
            question: format!(
                "{} degrees after {after_centre} dead centre: no disc {does} so late. Is it counted before {before_centre} dead centre?",
                trimmed(found, 2)
            ),
            instead: format!(
                "It is written after {after_centre} dead centre: {} before {before_centre} is {}.",
                trimmed(found, 2),
                trimmed(180.0 - found, 2)
            )
            .into(),
        })
    })
}
