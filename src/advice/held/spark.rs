//! A spark that comes earlier: by its base, whichever way that was measured, or by its map.

use super::step::{Changed, Harm, HurtKind, cells, difference, name, texts, that_hurt};
use crate::engine::crank::Crank;
use crate::notebook::fields::meaning::Hurts;
use crate::notebook::{Change, Combination, FieldSet, Value};
use crate::quantity::{Dimension, Quantity, trimmed};

/// Degrees below which a spark is the same (common practice, no source: nobody reads a timing light closer).
const SAME_DEG: f64 = 0.1;

pub(super) fn earlier_spark(
    changed: &[Changed<'_>],
    (before, after): (&Combination, &Combination),
) -> Option<Harm> {
    let earlier = that_hurt(changed, |hurts| hurts == Hurts::Earlier);
    let harm = |one: Changed<'_>, words: String| Harm {
        kind: HurtKind::Spark,
        field: one.change.field.clone(),
        words,
        sizes: None,
        zones: &[],
    };
    let counts = that_hurt(changed, |hurts| hurts == Hurts::MayBeEarlier);
    let unknown = |one: &Changed<'_>| one.change.old.is_none() != one.change.new.is_none();
    let bases = earlier.iter().copied().filter(|one| unknown(one) && one.change.map.is_none());
    let turned = earlier.iter().find_map(|one| Some((*one, difference(*one).filter(|by| *by > 1e-9)?)));
    if let Some((one, by)) = turned {
        let unit = one.change.difference.as_ref()?.unit;
        let (from, to) = texts(one)?;
        let words = format!("spark {} {from} -> {to}, {} {unit} earlier", name(one), trimmed(by, 2));
        return Some(harm(one, words));
    }
    // A dial gauge before and degrees now, or the other way round: through the crank.
    let otherwise = earlier.iter().copied().find(|one| {
        let both = one.change.old.is_some() && one.change.new.is_some();
        both && one.change.map.is_none() && difference(*one).is_none()
    });
    if let Some(one) = otherwise {
        let (from, to) = texts(one)?;
        let by = degrees_earlier(one.change, (&before.fields, &after.fields));
        return match by {
            Some(by) if by < SAME_DEG => None,
            Some(by) => {
                let words = format!("spark {} {from} -> {to}, {} deg earlier", name(one), trimmed(by, 1));
                Some(harm(one, words))
            }
            None => {
                let words = format!(
                    "spark {} {from} -> {to}, which may be earlier: engine.stroke and engine.rod would say",
                    name(one)
                );
                Some(harm(one, words))
            }
        };
    }
    let by_map = earlier.iter().copied().find_map(|one| {
        let most = cells(one).map(|(old, new)| new - old).filter(|by| *by > 1e-6).reduce(f64::max)?;
        Some(harm(one, format!("spark map, up to {} deg earlier", trimmed(most, 2))))
    });
    by_map.or_else(|| {
        let one = counts.into_iter().find(|one| one.change.old.is_some()).or(bases.into_iter().next())?;
        Some(harm(one, format!("{} is another, and the spark may come earlier", name(one))))
    })
}

/// By how many degrees a setting comes earlier that is written down in two ways; none without the crank's lengths.
fn degrees_earlier(change: &Change, (before, after): (&FieldSet, &FieldSet)) -> Option<f64> {
    Some(degrees(change.new.as_ref()?, after)? - degrees(change.old.as_ref()?, before)?)
}

/// A setting before top dead centre in degrees.
fn degrees(value: &Value, fields: &FieldSet) -> Option<f64> {
    let setting = value.quantity()?;
    if setting.dimension() != Dimension::Length {
        return Some(setting.si());
    }
    let length = |field: &str| fields.quantity(field).map(Quantity::si);
    let offset = length("engine.pin_offset").unwrap_or(0.0);
    let crank = Crank::new(length("engine.stroke")?, length("engine.rod")?, offset).ok()?;
    crank.before_top_deg(setting.si()).ok()
}
