//! A spark that comes earlier: by its base, whichever way that was measured, or by its map.

use super::harm::{Changed, Harm, HurtKind, cells, difference, name, texts, that_hurt};
use crate::advice::figures::Bench;
use crate::advice::figures::ignition::fired_map;
use crate::engine::crank::Crank;
use crate::notebook::fields::meaning::Hurts;
use crate::notebook::{Assumptions, Change, Combination, FieldSet, MapTable, Value};
use crate::quantity::{Dimension, Quantity, trimmed};

/// Degrees below which a spark is the same (common practice, no source: nobody reads a timing light closer).
pub(in crate::advice::held) const SAME_DEG: f64 = 0.1;

pub(in crate::advice::held) fn earlier_spark(
    changed: &[Changed<'_>],
    (before, after): (&Combination, &Combination),
) -> Option<Harm> {
    let earlier = that_hurt(changed, |hurts| hurts == Hurts::Earlier);
    let harm = |one: Changed<'_>, words: String| Harm::of(HurtKind::Spark, &one.change.field, words);
    let counts = that_hurt(changed, |hurts| hurts == Hurts::MayBeEarlier);
    // Where more than one thing moves the spark, or what its map counts from, only the sum says when it comes.
    let moved: Vec<Changed<'_>> = earlier.iter().chain(&counts).copied().collect();
    let is_a_sum = moved.len() > 1 || !counts.is_empty();
    if let Some(by) = as_it_fires((&before.fields, &after.fields)).filter(|_| is_a_sum) {
        let said = |one: &Changed<'_>| match texts(*one).filter(|_| one.change.map.is_none()) {
            Some((from, to)) => format!("{} {from} -> {to}", name(*one)),
            None => "map".to_owned(),
        };
        let words: Vec<String> = moved.iter().map(said).collect();
        let words = format!("spark {}, up to {} deg earlier as it fires", words.join(", "), trimmed(by, 1));
        return moved.first().filter(|_| by > SAME_DEG).map(|one| harm(*one, words));
    }
    let unknown = |one: &Changed<'_>| one.change.old.is_none() != one.change.new.is_none();
    let bases = earlier.iter().copied().filter(|one| unknown(one) && one.change.map.is_none());
    let turned = earlier.iter().find_map(|one| Some((*one, difference(*one).filter(|by| *by > 1e-9)?)));
    if let Some((one, by)) = turned {
        let unit = one.change.difference.as_ref()?.unit;
        let (from, to) = texts(one)?;
        // A thousandth of an inch is seen on a dial gauge.
        let digits = if unit == "in" { 4 } else { 2 };
        // What a dial gauge says is few millimetres and many degrees.
        let degrees = degrees_earlier(one.change, (&before.fields, &after.fields));
        let degrees = degrees.filter(|_| !unit.starts_with("deg"));
        let degrees = degrees.map(|degrees| format!(" ({} deg)", trimmed(degrees, 1))).unwrap_or_default();
        let words =
            format!("spark {} {from} -> {to}, {} {unit}{degrees} earlier", name(one), trimmed(by, digits));
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
    let taken_out = earlier
        .iter()
        .copied()
        .find(|one| one.change.field.ends_with(MAP) && one.change.old.is_some() && one.change.new.is_none());
    let by_map = by_map.or_else(|| {
        let words = "spark map taken out, and the spark may come earlier";
        taken_out.map(|one| harm(one, words.to_owned()))
    });
    by_map.or_else(|| {
        let one = counts.into_iter().find(|one| one.change.old.is_some()).or(bases.into_iter().next())?;
        Some(harm(one, format!("{} is another, and the spark may come earlier", name(one))))
    })
}

/// By how many degrees the spark comes earlier as it fires, in the cell where it moves most: map, base, lag and what the map counts from
/// together; none where that cannot be said.
fn as_it_fires((before, after): (&FieldSet, &FieldSet)) -> Option<f64> {
    let (old, new) = (fired(before)?, fired(after)?);
    let at = |map: &MapTable, rpm: f64, throttle: Option<f64>| map.value_at(rpm, throttle.unwrap_or(100.0));
    let places = old.cells().chain(new.cells()).map(|(place, _)| place);
    let by = places.filter_map(|place| {
        Some(at(&new, place.rpm, place.throttle)? - at(&old, place.rpm, place.throttle)?)
    });
    by.reduce(f64::max)
}

/// The ignition map as the crank sees it.
pub(in crate::advice::held) fn fired(fields: &FieldSet) -> Option<MapTable> {
    fired_map(&Bench { fields, assumptions: &Assumptions::default() }).ok()
}

/// The ignition map.
const MAP: &str = "ignition.advance";

/// More than this earlier is far at once, degrees (common practice, no source: a degree or two is a step).
pub(in crate::advice) const FAR_DEG: f64 = 6.0;

/// The same by the piston's way where the crank's lengths are not known, m.
pub(in crate::advice) const FAR_M: f64 = 1.2e-3;

/// By how many degrees the spark comes earlier, by its base and in the cell of its map where it moves most; without end where a base in
/// degrees and one by the piston's way cannot be set against each other. 0 where it comes no earlier.
pub(in crate::advice::held) fn degrees_earlier_in_all(
    changed: &[Changed<'_>],
    (before, after): (&Combination, &Combination),
) -> f64 {
    let earlier = that_hurt(changed, |hurts| hurts == Hurts::Earlier);
    let counts = changed.iter().any(|one| one.meaning.hurts == Hurts::MayBeEarlier);
    // As it fires, where that is known on both sides.
    if let Some(by) = as_it_fires((&before.fields, &after.fields)).filter(|_| counts || !earlier.is_empty()) {
        return by.max(0.0);
    }
    let base = earlier.iter().filter(|one| one.change.map.is_none()).find_map(|one| {
        let (old, new) = (one.change.old.as_ref()?.quantity()?, one.change.new.as_ref()?.quantity()?);
        let same = old.dimension() == new.dimension();
        let by_way = || if same { (new.si() - old.si()) * FAR_DEG / FAR_M } else { f64::INFINITY };
        Some(degrees_earlier(one.change, (&before.fields, &after.fields)).unwrap_or_else(by_way))
    });
    let by_map = earlier.iter().flat_map(|one| cells(*one)).map(|(old, new)| new - old).reduce(f64::max);
    base.unwrap_or(0.0) + by_map.unwrap_or(0.0).max(0.0)
}

/// By how many degrees the spark comes earlier behind another ignition box: as it fires, or else by the base, which a timing light shows on
/// the engine whatever box is on it. 0 where it comes no earlier or that cannot be said.
pub(in crate::advice::held) fn degrees_earlier_in_another_box(
    (before, after): (&FieldSet, &FieldSet),
) -> f64 {
    let base = |fields: &FieldSet| degrees(fields.get("ignition.base")?, fields);
    let by_base = || Some(base(after)? - base(before)?);
    as_it_fires((before, after)).or_else(by_base).unwrap_or(0.0).max(0.0)
}

/// By how many degrees a setting comes earlier that is written down in two ways; none without the crank's lengths.
fn degrees_earlier(change: &Change, (before, after): (&FieldSet, &FieldSet)) -> Option<f64> {
    Some(degrees(change.new.as_ref()?, after)? - degrees(change.old.as_ref()?, before)?)
}

/// A setting before top dead centre in degrees.
pub(in crate::advice) fn degrees(value: &Value, fields: &FieldSet) -> Option<f64> {
    let setting = value.quantity()?;
    if setting.dimension() != Dimension::Length {
        return Some(setting.si());
    }
    let length = |field: &str| fields.quantity(field).map(Quantity::si);
    let offset = length("engine.pin_offset").unwrap_or(0.0);
    let crank = Crank::new(length("engine.stroke")?, length("engine.rod")?, offset).ok()?;
    crank.before_top_deg(setting.si()).ok()
}
