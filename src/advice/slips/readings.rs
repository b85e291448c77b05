//! Readings of a build that are far from what the same place measured the last time, from its neighbours at this build, or from what such
//! a place can be at all: a point in the wrong place, inches for millimetres, two digits changed round.

use super::slip::{Questioned, Slip};
use crate::advice::building::ReadingQuestion;
use crate::notebook::fields::cylinder::{common, own_of};
use crate::notebook::fields::names::visible;
use crate::notebook::fields::node::Sort;
use crate::notebook::guidance::Guidance;
use crate::notebook::{DocumentKind, Entered, FieldSet};
use crate::quantity::{Dimension, Quantity};

/// From this length on a reading is a size, and below it a gap, m.
const A_SIZE_M: f64 = 0.003;
/// A size differs by less than this share between builds: 1 mm over at a bore of 50 mm is the most that is bored (common practice, no
/// source).
const SIZE: f64 = 0.025;
/// A gap, or anything else, differs by less than this factor (common practice, no source).
const TIMES: f64 = 3.0;
/// A volume differs by less than this factor: another insert, or a thick gasket, is a tenth (common practice, no source).
const VOLUME: f64 = 1.1;
/// What is never bored to an oversize differs by less than this between builds, m: it would be scrap (common practice, no source).
const NEVER_BORED_M: f64 = 0.000_03;
/// Readings of that sort.
const NEVER_BORED: [&str; 3] = ["piston.pin_bore", "pin.diameter", "rod.small_end_bore"];
/// The room of a pin in its piston, m: less is no fit, more is worn out (common practice, no source).
const ROOM_OF_A_PIN_M: std::ops::RangeInclusive<f64> = -0.000_01..=0.000_03;
/// What differs by less than this is no slip, whatever the factor, m: gaps in hundredths double as they wear.
const SMALL_M: f64 = 0.000_1;
/// Parts are measured between these, C.
const ROOM_C: std::ops::RangeInclusive<f64> = -5.0..=50.0;
/// What a gap is between, mm (common practice, no source), by the beginning and the end of its field.
const GAPS_MM: [(&str, &str, f64, f64); 8] = [
    ("squish.", "front", 0.2, 3.0),
    ("squish.", "rear", 0.2, 3.0),
    ("squish.", "left", 0.2, 3.0),
    ("squish.", "right", 0.2, 3.0),
    ("ring.gaps.", "gap", 0.05, 1.5),
    ("ring.", "side_clearance", 0.005, 0.5),
    ("rod.", "side_clearance", 0.02, 2.0),
    ("crank.", "", 0.0, 0.5),
];

/// What is to be asked of readings, beside what each was the last time and what is written down of this build. Where a value cannot be
/// read, the build refuses it with more to say.
pub fn of_readings(questions: &[ReadingQuestion], entered: &[Entered], now: &FieldSet) -> Vec<Slip> {
    let typed: Vec<(&str, Quantity)> = entered
        .iter()
        .filter_map(|one| Some((one.field.as_str(), read(&one.field, one.value.as_deref()?)?)))
        .collect();
    let asked = typed.iter().filter_map(|(field, value)| {
        let question = questions.iter().find(|question| question.field == *field);
        let last = question.and_then(|question| read(field, question.last.as_deref()?));
        let words = question.map_or_else(|| visible(field), |question| visible(&question.words));
        far(field, value, last.as_ref(), (&typed, now)).map(|beside| Slip {
            what: Questioned::Reading,
            field: "reading".into(),
            question: format!("{words}: {}, {beside}: is it a typing mistake?", value.with_unit()),
            instead: Guidance::none(),
        })
    });
    asked.collect()
}

/// A value as its field takes it.
pub fn read(field: &str, text: &str) -> Option<Quantity> {
    let leaf = DocumentKind::Build.catalogue().leaf(common(field))?;
    let Sort::Quantity(dimensions, unit) = &leaf.sort else { return None };
    leaf.quantity(text, dimensions, unit).ok()
}

/// What a reading is far from, in words.
fn far(
    field: &str,
    value: &Quantity,
    last: Option<&Quantity>,
    (typed, now): (&[(&str, Quantity)], &FieldSet),
) -> Option<String> {
    let own = common(field);
    // A depth is where it was measured, and what a gauge showed is a difference.
    if own.ends_with(".depth") || own.starts_with("gauges.") {
        return None;
    }
    if value.dimension() == Dimension::Temperature {
        let celsius = value.in_unit("C")?;
        return (!ROOM_C.contains(&celsius))
            .then(|| "where parts are measured in the warmth of a room".to_owned());
    }
    if let Some(pin) = other_of_the_pin(own).and_then(|other| at_the_same(field, other, (typed, now))) {
        let room = if own == "pin.diameter" { pin.si() - value.si() } else { value.si() - pin.si() };
        if !ROOM_OF_A_PIN_M.contains(&room) {
            let what = if own == "pin.diameter" { "its bore" } else { "the pin" };
            return Some(format!("where {what} measures {}", pin.with_unit()));
        }
    }
    if let Some(last) = last.filter(|_| NEVER_BORED.contains(&own)) {
        return ((last.si() - value.si()).abs() > NEVER_BORED_M)
            .then(|| format!("where it was {} the last time", last.with_unit()));
    }
    if let Some(last) = last {
        return is_far(last, value).then(|| format!("where it was {} the last time", last.with_unit()));
    }
    let beside = |other: &str| is_beside(field, other);
    let of_now =
        now.iter().filter(|(other, _)| beside(other)).filter_map(|(_, entry)| entry.value.quantity());
    let of_typed = typed.iter().filter(|(other, _)| beside(other)).map(|(_, other)| other);
    if let Some(other) = of_typed.chain(of_now).find(|other| is_far(other, value)) {
        return Some(format!("where the place beside it measures {}", other.with_unit()));
    }
    let known =
        |(begins, ends, _, _): &&(&str, &str, f64, f64)| own.starts_with(begins) && own.ends_with(ends);
    let (_, _, least, most) =
        GAPS_MM.iter().find(known).filter(|_| value.dimension() == Dimension::Length)?;
    let mm = value.si() * 1_000.0;
    (mm < *least || mm > *most).then(|| format!("where it usually is {least} to {most} mm"))
}

/// The bore that a pin goes into, and the pin that goes into a bore.
fn other_of_the_pin(own: &str) -> Option<&'static str> {
    match own {
        "pin.diameter" => Some("piston.pin_bore"),
        "piston.pin_bore" => Some("pin.diameter"),
        _ => None,
    }
}

/// Another reading of the cylinder that a field is of.
fn at_the_same(field: &str, other: &str, (typed, now): (&[(&str, Quantity)], &FieldSet)) -> Option<Quantity> {
    let other = own_of(field).map_or_else(|| other.to_owned(), |(name, _)| format!("{name}.{other}"));
    let typed = typed.iter().find(|(known, _)| *known == other).map(|(_, value)| value.clone());
    typed.or_else(|| now.quantity(&other).cloned())
}

/// Whether two fields of one cylinder measure the same thing at another place: the squish around the bore, the bore along and across.
fn is_beside(one: &str, other: &str) -> bool {
    let same =
        |one: &str, other: &str| own_of(one).map(|(name, _)| name) == own_of(other).map(|(name, _)| name);
    let (a, b) = (common(one), common(other));
    let both = |begins: &str| a.starts_with(begins) && b.starts_with(begins);
    let gasket = |field: &str| field.ends_with("_gasket") || field.ends_with(".depth");
    one != other
        && same(one, other)
        && (both("squish.") || both("bore.") || both("crank."))
        && !gasket(a)
        && !gasket(b)
}

fn is_far(one: &Quantity, other: &Quantity) -> bool {
    if one.dimension() != other.dimension() {
        return false;
    }
    let (a, b) = (one.si(), other.si());
    let apart = (a - b).abs();
    let (small, large) = (a.abs().min(b.abs()), a.abs().max(b.abs()));
    if one.dimension() == Dimension::Volume {
        return large > VOLUME * small;
    }
    if one.dimension() != Dimension::Length {
        return large > TIMES * small;
    }
    if small >= A_SIZE_M { apart > SIZE * small } else { apart > SMALL_M && large > TIMES * small }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn question(field: &str, last: Option<&str>) -> ReadingQuestion {
        ReadingQuestion {
            field: field.to_owned(),
            words: field.to_owned(),
            last: last.map(str::to_owned),
            stays: false,
            opens: None,
            group: None,
        }
    }

    #[test]
    fn a_point_in_the_wrong_place_is_asked_and_wear_is_not() {
        let rows: [(&str, Option<&str>, &str, bool); 21] = [
            ("squish.front", Some("0.72 mm"), "7.2 mm", true),
            ("squish.front", Some("0.72 mm"), "0.95 mm", false),
            ("squish.front", None, "7.2 mm", true),
            ("squish.front", None, "0.7 mm", false),
            ("left.squish.front", None, "0.07 mm", true),
            ("piston.diameter", Some("53.94 mm"), "59.34 mm", true),
            ("piston.diameter", Some("53.94 mm"), "54.94 mm", false),
            ("piston.diameter", Some("53.94 mm"), "53.94 in", true),
            ("rod.big_end_play", Some("0.01 mm"), "0.04 mm", false),
            ("ring.gaps.top.gap", Some("0.25 mm"), "2.5 mm", true),
            ("deck.height", Some("-0.2 mm"), "0.1 mm", false),
            ("chamber.volume", Some("8.4 cc"), "84 cc", true),
            ("chamber.volume", Some("8.6 cc"), "9.9 cc", true),
            ("chamber.volume", Some("8.6 cc"), "9.0 cc", false),
            ("piston.pin_bore", Some("15.004 mm"), "15.040 mm", true),
            ("piston.pin_bore", Some("15.004 mm"), "15.012 mm", false),
            ("left.pin.diameter", Some("14.999 mm"), "14.899 mm", true),
            ("temperature", Some("20 C"), "200 C", true),
            ("temperature", None, "4 C", false),
            ("bore.top.depth", Some("10 mm"), "25 mm", false),
            ("crank.runout_left", None, "2 mm", true),
        ];
        for (field, last, value, is_asked) in rows {
            let asked = of_readings(
                &[question(field, last)],
                &[Entered::new(field, Some(value))],
                &FieldSet::default(),
            );
            assert_eq!(!asked.is_empty(), is_asked, "{field} {last:?} {value}: {asked:?}");
        }
    }

    #[test]
    fn places_of_one_cylinder_are_held_against_one_another() {
        let typed = |pairs: [(&str, &str); 2]| pairs.map(|(field, value)| Entered::new(field, Some(value)));
        let asked = |pairs| of_readings(&[], &typed(pairs), &FieldSet::default()).len();
        assert_eq!(asked([("bore.top.along_pin", "54.01 mm"), ("bore.top.across_pin", "45.01 mm")]), 2);
        assert_eq!(asked([("bore.top.along_pin", "54.01 mm"), ("bore.top.across_pin", "54.03 mm")]), 0);
        assert_eq!(
            asked([("left.bore.top.along_pin", "54.01 mm"), ("right.bore.top.along_pin", "45.0 mm")]),
            0
        );
        assert_eq!(asked([("squish.front", "0.7 mm"), ("squish.base_gasket", "0.05 mm")]), 0);
        assert_eq!(asked([("piston.pin_bore", "15.040 mm"), ("pin.diameter", "14.990 mm")]), 2);
        assert_eq!(asked([("piston.pin_bore", "15.004 mm"), ("pin.diameter", "14.999 mm")]), 0);
        assert_eq!(asked([("left.piston.pin_bore", "15.04 mm"), ("right.pin.diameter", "14.99 mm")]), 0);
    }
}
