//! A disc's angle that is counted from the other dead centre.

use super::{Questioned, Slip};
use crate::notebook::FieldSet;
use crate::quantity::{Quantity, nearly_equal, trimmed};

/// No disc opens later than so many degrees after bottom dead centre, nor shuts later than so many after top (common practice, no
/// source: 30 to 70, and 50 to 95).
const OPENS_BY_DEG: f64 = 110.0;
const SHUTS_BY_DEG: f64 = 130.0;

/// What is to be asked of the angles of a disc that a change would write down.
pub(super) fn angles<'f>(before: &'f FieldSet, after: &'f FieldSet) -> impl Iterator<Item = Slip> + 'f {
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
