//! Metal that comes nearer or gets narrower: the squish, the chamber, the stinger.

use super::super::step::{Changed, Harm, HurtKind, difference, name, texts, that_hurt};
use crate::notebook::fields::meaning::Hurts;

pub(in super::super) fn tighter_head(changed: &[Changed<'_>]) -> Option<Harm> {
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
    let what = match (squish, chamber) {
        (Some(_), Some(_)) => "squish tighter and compression higher",
        (Some(_), None) => "squish tighter",
        _ => "compression higher",
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
    Some(Harm { kind: HurtKind::Head, field, words, sizes: None, far_at_once: false, zones: &[] })
}

/// A stinger that is shorter, narrower, or has an insert that it had not or another one: what is screwed in is narrower than what it is
/// screwed into.
pub(in super::super) fn shorter_stinger(changed: &[Changed<'_>]) -> Option<Harm> {
    let shorter = that_hurt(changed, |hurts| matches!(hurts, Hurts::Shorter | Hurts::Narrower));
    let measured = shorter.into_iter().find_map(|one| {
        difference(one).filter(|by| *by < -1e-9)?;
        let (from, to) = texts(one)?;
        let word = if one.meaning.hurts == Hurts::Shorter { "shorter" } else { "narrower" };
        let words = format!("stinger {from} -> {to}, {word}");
        let field = one.change.field.clone();
        Some(Harm { kind: HurtKind::Stinger, field, words, sizes: None, far_at_once: false, zones: &[] })
    });
    // The bore that was measured says more than the insert's name.
    let bore = changed.iter().any(|one| one.meaning.hurts == Hurts::Narrower && difference(*one).is_some());
    let insert = that_hurt(changed, |hurts| hurts == Hurts::MayBeNarrower).into_iter().find_map(|one| {
        let new = one.change.new.as_ref().filter(|_| !bore)?;
        let words = match &one.change.old {
            Some(old) => format!("stinger insert {} -> {}, which may be narrower", old.text(), new.text()),
            None => format!("stinger insert {} in, narrower", new.text()),
        };
        Some(Harm {
            kind: HurtKind::Stinger,
            field: one.change.field.clone(),
            words,
            sizes: None,
            far_at_once: false,
            zones: &[],
        })
    });
    measured.or(insert)
}

fn si_difference(one: Changed<'_>) -> Option<f64> {
    Some(one.change.new.as_ref()?.quantity()?.si() - one.change.old.as_ref()?.quantity()?.si())
}
