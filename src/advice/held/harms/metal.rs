//! Metal that comes nearer or gets narrower: the squish, the chamber, the stinger.

use super::harm::{Changed, Harm, HurtKind, difference, name, texts, that_hurt};
use crate::engine::head::Chamber;
use crate::notebook::FieldSet;
use crate::notebook::fields::meaning::Hurts;
use crate::quantity::{Length, Quantity, fixed};

/// A length or a ratio that differs by less is the same.
pub(in crate::advice::held) const DUST: f64 = 1e-9;

pub(in crate::advice::held) const SQUISH: &str = "head.squish_clearance";

const CHAMBER: &str = "head.chamber_volume";

const BORE: &str = "pipe.stinger_diameter";

/// Before and after of what brings the piston nearer to the head, where both can be said.
#[derive(Debug, Clone, Default)]
pub struct Tightened {
    /// Squish clearance, m: as measured, or as the gasket or the deck moved it.
    pub(in crate::advice::held) clearance_m: Option<(f64, f64)>,
    /// Compression ratio over the full stroke.
    pub(in crate::advice::held) ratio: Option<(f64, f64)>,
}

impl Tightened {
    /// By the readings of both, and by the gaskets where one reading stands for both.
    pub(in crate::advice::held) fn of(
        changed: &[Changed<'_>],
        (before, after): (&FieldSet, &FieldSet),
    ) -> Self {
        let by = |way: Hurts| -> f64 {
            that_hurt(changed, |hurts| hurts == way).into_iter().filter_map(si_difference).sum()
        };
        let gaskets = by(Hurts::Gasket);
        let thicker = if gaskets.abs() > DUST { gaskets } else { by(Hurts::Deck) };
        let si = |fields: &FieldSet, field: &str| fields.quantity(field).map(Quantity::si);
        // A reading that is taken out is as it was, but for the gaskets.
        let both = |field: &str| {
            let old = si(before, field)?;
            Some((old, si(after, field).unwrap_or(old)))
        };
        let is_same = |(old, new): (f64, f64)| (old - new).abs() < DUST * old.abs().max(DUST);
        let clearance_m = both(SQUISH)
            .map(|(old, new)| if is_same((old, new)) { (old, new + thicker) } else { (old, new) });
        let ratio = |fields: &FieldSet, volume: f64| {
            let chamber = Chamber::new(si(fields, "engine.bore")?, volume).ok()?;
            chamber.full_ratio(si(fields, "engine.stroke")?).ok()
        };
        let ratio = both(CHAMBER).and_then(|(old, new)| {
            let bore = si(after, "engine.bore")?;
            let moved = std::f64::consts::FRAC_PI_4 * bore * bore * thicker;
            let new = if is_same((old, new)) { new + moved } else { new };
            Some((ratio(before, old)?, ratio(after, new)?))
        });
        Self { clearance_m, ratio }
    }
}

/// A length in the unit of a reading.
pub(in crate::advice::held) fn in_its_unit(metres: f64, reading: Option<&Quantity>) -> String {
    let unit = reading.map_or("mm", |reading| reading.unit());
    let unit = if unit.is_empty() { "mm" } else { unit };
    let digits = if unit == "in" { 4 } else { 2 };
    Quantity::computed(metres, unit, digits).map_or_else(String::new, |length| length.with_unit())
}

pub(in crate::advice::held) fn tighter_head(
    changed: &[Changed<'_>],
    (before, after): (&FieldSet, &FieldSet),
) -> Option<Harm> {
    let of = |way: Hurts| that_hurt(changed, |hurts| hurts == way);
    let fell = |one: &Changed<'_>| difference(*one).is_some_and(|by| by < -1e-9);
    let gaskets: f64 = of(Hurts::Gasket).into_iter().filter_map(si_difference).sum();
    let gasket = of(Hurts::Gasket).into_iter().find(fell).filter(|_| gaskets < -1e-9);
    let deck = of(Hurts::Deck).into_iter().find(fell).filter(|_| gaskets.abs() < 1e-9);
    let moved = gasket.or(deck);
    // What was measured says more than what moved.
    let measured = |way: Hurts| match of(way).into_iter().find(|one| difference(*one).is_some()) {
        Some(one) => Some(one).filter(fell),
        None => moved,
    };
    let (squish, chamber) = (measured(Hurts::Squish), measured(Hurts::Chamber));
    let field = squish.or(chamber)?.change.field.clone();
    let moves = Tightened::of(changed, (before, after));
    // What was measured stands beside it with both its readings.
    let is_shown = squish.is_some_and(|one| one.meaning.hurts == Hurts::Squish);
    let nearer = moves.clearance_m.filter(|(old, new)| new < old && !is_shown).map(|(old, new)| {
        let said = |metres: f64| in_its_unit(metres, before.quantity(SQUISH));
        format!(" ({} -> {})", said(old), said(new.max(0.0)))
    });
    let higher = moves
        .ratio
        .filter(|(old, new)| new > old)
        .map(|(old, new)| format!(" ({} -> {} to 1)", fixed(old, 2), fixed(new, 2)));
    let (nearer, higher) = (nearer.unwrap_or_default(), higher.unwrap_or_default());
    let what = match (squish, chamber) {
        (Some(_), Some(_)) => format!("squish tighter{nearer} and compression higher{higher}"),
        (Some(_), None) => format!("squish tighter{nearer}"),
        _ => format!("compression higher{higher}"),
    };
    let mut shown: Vec<Changed<'_>> = [moved, squish, chamber].into_iter().flatten().collect();
    shown.sort_unstable_by_key(|one| &one.change.field);
    shown.dedup_by_key(|one| &one.change.field);
    let words: Vec<String> = shown
        .into_iter()
        .filter_map(|one| {
            let (from, to) = texts(one)?;
            Some(format!("{} {from} -> {to}", name(one)))
        })
        .collect();
    let words = format!("{}: {what}", words.join(", "));
    Some(Harm::of(HurtKind::Head, &field, words))
}

/// A stinger that is shorter, narrower, or has an insert that it had not or another one: what is screwed in is narrower than what it is
/// screwed into.
pub(in crate::advice::held) fn shorter_stinger(changed: &[Changed<'_>], after: &FieldSet) -> Option<Harm> {
    let stinger = after.quantity(BORE);
    let shorter = that_hurt(changed, |hurts| matches!(hurts, Hurts::Shorter | Hurts::Narrower));
    let measured = shorter.into_iter().find_map(|one| {
        difference(one).filter(|by| *by < -1e-9)?;
        let (from, to) = texts(one)?;
        let word = if one.meaning.hurts == Hurts::Shorter { "shorter" } else { "narrower" };
        // All gas goes through the silencer's core too.
        let what = if is_of_stinger(&one) { "stinger".to_owned() } else { name(one) };
        let words = format!("{what} {from} -> {to}, {word}");
        Some(Harm::of(HurtKind::Stinger, &one.change.field, words))
    });
    // The bore that was measured says more than the insert's name.
    let bore = changed
        .iter()
        .any(|one| one.meaning.hurts == Hurts::Narrower && is_of_stinger(one) && difference(*one).is_some());
    let insert = that_hurt(changed, |hurts| hurts == Hurts::MayBeNarrower).into_iter().find_map(|one| {
        let new = one.change.new.as_ref().filter(|_| !bore)?;
        let words = match &one.change.old {
            Some(old) => format!("stinger insert {} -> {}, which may be narrower", old.text(), new.text()),
            None => format!("stinger insert {} in, narrower", new.text()),
        };
        Some(Harm::of(HurtKind::Stinger, &one.change.field, words))
    });
    let core = that_hurt(changed, |hurts| hurts == Hurts::Narrower).into_iter().find_map(|one| {
        let stinger = stinger.filter(|_| !is_of_stinger(&one) && one.change.old.is_none())?;
        let core = one.change.new.as_ref()?.quantity()?;
        let words = format!(
            "{} {}, narrower than the stinger ({})",
            name(one),
            core.with_unit(),
            stinger.with_unit()
        );
        let harm = Harm::of(HurtKind::Stinger, &one.change.field, words);
        Some(harm).filter(|_| core.si() < stinger.si() - DUST)
    });
    measured.or(insert).or(core)
}

/// Whether a width or a length is the stinger's own.
fn is_of_stinger(one: &Changed<'_>) -> bool {
    one.meaning.hurts == Hurts::Shorter || one.change.field.ends_with(BORE)
}

/// The bore of an insert whose name is a size: "10 mm".
pub(in crate::advice) fn insert_bore(name: &str) -> Option<Length> {
    let has_unit = name.trim().ends_with(|last: char| last.is_alphabetic());
    has_unit.then(|| Length::parse(name.trim()).ok())?
}

fn si_difference(one: Changed<'_>) -> Option<f64> {
    Some(one.change.new.as_ref()?.quantity()?.si() - one.change.old.as_ref()?.quantity()?.si())
}
