//! A number that is far from what is on the bike: digits were turned round, or one was lost. The bounds are wider than what is done
//! between two runs (common practice, no source).

use super::slip::{Questioned, Slip};
use crate::advice::held::{FAR_DEG, FAR_M, insert_bore, spark_degrees};
use crate::notebook::fields::meaning::{Deed, Hurts, Makes, Meaning, PartOf, Size};
use crate::notebook::guidance::Guidance;
use crate::notebook::{Change, Combination, FieldSet, Value, compare};
use crate::quantity::{Dimension, Quantity};

/// More than this before top dead centre is no base setting: 51 for 15, degrees.
const MOST_SPARK_DEG: f64 = 40.0;
/// The same by the piston's way, m.
const MOST_SPARK_M: f64 = 6.0e-3;
/// Share of the stinger's bore, or of its length.
const STINGER: f64 = 0.15;
/// Share of a limiter's engine speed.
const LIMITER: f64 = 0.15;
/// Of a float's height, m.
const FLOAT_M: f64 = 2.0e-3;
/// Of a slide cutaway's number.
const CUTAWAY: f64 = 1.0;
/// Share of a main jet's number.
const MAIN: f64 = 0.1;
/// Share of the number of another jet.
const JET: f64 = 0.25;
/// Share of a carburetor's or a throttle body's bore.
const BORE: f64 = 0.15;
/// Share of the petrol to a part of oil: from 20 to 32 is a choice, from 20 to 200 a seized engine.
pub(super) const OIL: f64 = 0.75;

/// What is to be asked of the numbers that a change would write down.
pub(super) fn numbers(before: &FieldSet, after: &FieldSet) -> Vec<Slip> {
    let changes = compare(before, after).changes;
    let known: Vec<(&Change, &'static str, &Meaning)> = changes
        .iter()
        .filter_map(|change| {
            let (field, meaning) =
                Combination::meanings().iter().find(|(field, _)| *field == change.field)?;
            Some((change, field.as_str(), *meaning))
        })
        .collect();
    // With another numbering, or in another carburetor, the same jet has another number.
    let counts_anew = known
        .iter()
        .any(|(_, _, meaning)| is_bore(meaning) || matches!(meaning.hands.deed, Deed::NumberedBy(_)));
    let is_other_pipe =
        known.iter().any(|(_, field, _)| ["pipe.name", "pipe.stinger_insert"].contains(field));
    known
        .into_iter()
        .filter_map(|(change, field, meaning)| {
            far(change, (field, meaning), (counts_anew, is_other_pipe))
                .or_else(|| otherwise_measured(change, (field, meaning), (before, after)))
                .or_else(|| screwed_in(change, field, (before, after)))
        })
        .chain(two_screws(before, after))
        .collect()
}

/// The bore of the stinger: its own, or that of an insert whose name is a size.
fn bore(fields: &FieldSet) -> Option<Quantity> {
    let insert = fields.text("pipe.stinger_insert").and_then(insert_bore);
    let own = fields.quantity("pipe.stinger_diameter").cloned();
    let insert = insert.map(|insert| insert.quantity().clone());
    [own, insert].into_iter().flatten().min_by(|one, other| one.si().total_cmp(&other.si()))
}

/// The question about a stinger insert with a size, beside the bore that was free without it.
fn screwed_in(change: &Change, field: &'static str, (before, after): (&FieldSet, &FieldSet)) -> Option<Slip> {
    let insert = change.new.as_ref().filter(|_| field == "pipe.stinger_insert")?;
    let was = bore(before)?;
    let is = insert_bore(&insert.text())?;
    // The stinger's own bore is asked about where it is written too.
    let is_measured = before.get("pipe.stinger_diameter").zip(after.get("pipe.stinger_diameter"));
    let is_measured = is_measured.is_none_or(|(old, new)| !old.same_as(new));
    let narrower = (was.si() - is.si()) / was.si();
    let texts = (was.with_unit(), is.quantity().with_unit());
    (narrower > STINGER && !is_measured).then(|| is_it_a_slip(field, "stinger insert", (&texts.0, &texts.1)))
}

/// The question about a carburetor with two pilot screws: out is leaner on the one and richer on the other.
fn two_screws(before: &FieldSet, after: &FieldSet) -> Option<Slip> {
    let (air, fuel) = ("jetting.air_screw", "jetting.fuel_screw");
    let both = |fields: &FieldSet| fields.get(air).is_some() && fields.get(fuel).is_some();
    let field = if before.get(air).is_none() { air } else { fuel };
    (both(after) && !both(before)).then(|| Slip {
        what: Questioned::Jet,
        field: field.into(),
        question: "An air screw and a fuel screw: a carburetor has one of the two. Out is leaner on an air screw and richer on a fuel screw: which has it?".to_owned(),
        instead: "Take the other one out of the setup in the same line: its name with = and nothing behind it.".into(),
    })
}

/// The question about a spark that was in degrees and is by the piston's way now, or the other way round.
fn otherwise_measured(
    change: &Change,
    (field, meaning): (&'static str, &Meaning),
    (before, after): (&FieldSet, &FieldSet),
) -> Option<Slip> {
    let (old, new) = (change.old.as_ref()?, change.new.as_ref()?);
    let (was, is) = (old.quantity()?, new.quantity()?);
    (meaning.hurts == Hurts::Earlier && was.dimension() != is.dimension()).then_some(())?;
    let Deed::Set(name) = &meaning.hands.deed else { return None };
    let apart = spark_degrees(old, before).zip(spark_degrees(new, after)).map(|(was, is)| (is - was).abs());
    let texts = (old.text(), new.text());
    // Where that cannot be said the change itself is refused.
    apart.filter(|apart| *apart > FAR_DEG).map(|_| is_it_a_slip(field, name.as_str(), (&texts.0, &texts.1)))
}

/// What is to be asked of a base setting by itself, whatever was there before.
pub(super) fn spark(before: &FieldSet, after: &FieldSet) -> Option<Slip> {
    let field = "ignition.base";
    let base = after.quantity(field)?;
    let is_new = before.get(field).is_none_or(|was| after.get(field).is_some_and(|is| !was.same_as(is)));
    let most = if base.dimension() == Dimension::Length { MOST_SPARK_M } else { MOST_SPARK_DEG };
    (is_new && base.si() > most).then(|| Slip {
        what: Questioned::Jet,
        field: "ignition.base".into(),
        question: format!(
            "An ignition base of {} before top dead centre is more than any engine has: is it a typing mistake?",
            base.with_unit()
        ),
        instead: Guidance::none(),
    })
}

fn is_bore(meaning: &Meaning) -> bool {
    matches!(meaning.makes, Makes::Names(PartOf::Carburetor | PartOf::ThrottleBody))
}

/// The question about one number, where it is far.
fn far(
    change: &Change,
    (field, meaning): (&'static str, &Meaning),
    (counts_anew, is_other_pipe): (bool, bool),
) -> Option<Slip> {
    let of_stinger = matches!(meaning.hurts, Hurts::Narrower | Hurts::Shorter);
    let name = match &meaning.hands.deed {
        Deed::Set(name) => name.as_str(),
        _ if field == "pipe.stinger_diameter" => "stinger bore",
        _ if of_stinger => "stinger length",
        _ => return None,
    };
    let read = |value: &Option<Value>| value.as_ref().and_then(Value::quantity).cloned();
    let (old, new) = (read(&change.old)?, read(&change.new)?);
    let text = |value: &Option<Value>| value.as_ref().map(Value::text).unwrap_or_default();
    let texts = (text(&change.old), text(&change.new));
    let apart = (new.si() - old.si()).abs();
    let of_field = |name: &str| field.ends_with(name);
    let share = apart / old.si().abs();
    let is_far = match meaning.hurts {
        _ if old.dimension() != new.dimension() => false,
        Hurts::Earlier if new.dimension() == Dimension::Length => apart > FAR_M,
        Hurts::Earlier => apart > FAR_DEG,
        Hurts::Leaner { size: Size::OfMain, .. } => !counts_anew && share > MAIN,
        Hurts::Leaner { size: Size::OfPilot | Size::OfPower, .. } => !counts_anew && share > JET,
        Hurts::Leaner { .. } if of_field("jetting.air_jet") => !counts_anew && share > JET,
        Hurts::Leaner { .. } if of_field("jetting.float_height") => apart > FLOAT_M,
        Hurts::Leaner { .. } if of_field("jetting.slide_cutaway") => apart > CUTAWAY,
        _ if of_field("ignition.limiter") => share > LIMITER,
        Hurts::Hungrier | Hurts::Oil => share > OIL,
        // A wider core is no narrower stinger.
        Hurts::Narrower if of_field("pipe.silencer_core") => new.si() < old.si() && share > STINGER,
        // Of another pipe, or with another insert, it is another stinger.
        Hurts::Narrower | Hurts::Shorter => !is_other_pipe && share > STINGER,
        _ => is_bore(meaning) && share > BORE,
    };
    is_far.then(|| is_it_a_slip(field, name, (&texts.0, &texts.1)))
}

/// How the question after a number that is far ends.
pub(super) const IS_IT_A_SLIP: &str = " is far at once: is it a typing mistake?";

pub(super) fn is_it_a_slip(field: &'static str, name: &str, (old, new): (&str, &str)) -> Slip {
    Slip {
        what: Questioned::Jet,
        field: field.into(),
        question: format!("{name} {old} → {new}{IS_IT_A_SLIP}"),
        instead: Guidance::none(),
    }
}
