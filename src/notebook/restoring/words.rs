//! What stays different after an earlier setup was put back, in sentences: by how much, which way, and what to do.

use crate::notebook::comparing::fields::Change;
use crate::notebook::fields::names::visible;
use crate::notebook::fields::order::section_of;
use crate::notebook::fields::value::Value;
use crate::quantity::fixed;

/// For what is measured on several parts put together.
pub(super) const MEASURE_AGAIN: &str = "measure it with solder when the head is on";

/// "exhaust upper edge is 0.40 mm higher than in setup 7 (24.90 mm, was 25.30 mm): fit another cylinder, or re-jet for
/// this one".
pub(super) fn sentence(change: &Change, then: &str, remedy: Option<&str>) -> String {
    let what = what(&change.field);
    if change.field == "engine_notes" {
        return format!("{what} stay as they are: they are about the engine, not about {then}");
    }
    let shown = |value: &Value| visible(&value.text());
    match (&change.old, &change.new) {
        (Some(now), Some(earlier)) => {
            let remedy = remedy.map_or_else(|| self::remedy(&change.field), str::to_owned);
            let (now, earlier) = (shown(now), shown(earlier));
            match by_how_much(change) {
                Some(amount) => format!("{what} is {amount} than in {then} ({now}, was {earlier}): {remedy}"),
                None => format!("{what} is {now}, was {earlier} in {then}: {remedy}"),
            }
        }
        (Some(now), None) => format!("{what} ({}) is not written in {then}: it stays as it is", shown(now)),
        (None, Some(earlier)) => {
            format!("{what} was {} in {then} and is not written now: measure it", shown(earlier))
        }
        (None, None) => what,
    }
}

/// For a window or pipe section that only one of the setups has.
pub(super) fn whole_piece(piece: &str, is_there_now: bool, then: &str) -> String {
    let name = visible(piece.rsplit('.').next().unwrap_or(piece));
    let sort = if piece.starts_with("pipe.") { "pipe section" } else { "window" };
    if is_there_now {
        format!("{sort} {name} is not written in {then}: it stays as it is")
    } else {
        format!("{sort} {name} is in {then} and not written now: {}", remedy(piece))
    }
}

fn by_how_much(change: &Change) -> Option<String> {
    let difference = change.difference.as_ref()?;
    // the difference runs from now to then, the sentence the other way
    let more_now = difference.value < 0.0;
    let amount = format!("{} {}", fixed(difference.value.abs(), difference.decimals), difference.unit);
    Some(format!("{} {}", amount.trim_end(), direction(&change.field, more_now)))
}

/// The way it differs from before, in the word that fits the measurement.
fn direction(field: &str, more: bool) -> &'static str {
    let (greater, smaller) = match last(field) {
        // measured from the deck downwards: the larger number lies lower
        "top" | "top_valve_shut" | "floor" => ("lower", "higher"),
        "width" | "bridge" | "band_width" | "squish_clearance" => ("wider", "narrower"),
        "stroke" | "rod" | "length" | "stinger_length" => ("longer", "shorter"),
        "roof_angle" | "band_angle" => ("steeper", "flatter"),
        "rotary_opens" | "rotary_shuts" => ("later", "earlier"),
        "count" | "place" => ("more", "fewer"),
        _ => ("larger", "smaller"),
    };
    if more { greater } else { smaller }
}

fn remedy(field: &str) -> String {
    let part = match section_of(field) {
        "ports" => "cylinder",
        "head" => "insert or spacer",
        "pipe" => "pipe",
        _ => "bottom end or cylinder",
    };
    format!("fit another {part}, or re-jet for this one")
}

fn last(field: &str) -> &str {
    field.rsplit('.').next().unwrap_or(field)
}

/// The trade's words for a field.
fn what(field: &str) -> String {
    let name = match last(field) {
        "top" => "upper edge".to_owned(),
        "top_valve_shut" => "upper edge with the power valve shut".to_owned(),
        "bridge" => "bridge width".to_owned(),
        "top_radius" => "upper corner radius".to_owned(),
        "floor_radius" => "lower corner radius".to_owned(),
        "count" => "number of windows".to_owned(),
        "plan_angle" => "direction in plan".to_owned(),
        "band_width" => "squish band width".to_owned(),
        "band_angle" => "squish band angle".to_owned(),
        "rotary_opens" => "rotary valve opening".to_owned(),
        "rotary_shuts" => "rotary valve closing".to_owned(),
        "engine_notes" => "the engine's notes".to_owned(),
        other => other.replace('_', " "),
    };
    let above: Vec<&str> = field.split('.').collect();
    match above.as_slice() {
        ["ports", "windows", piece, _] | ["pipe", "sections", piece, _] => {
            format!("{} {name}", visible(piece))
        }
        _ => visible(&name),
    }
}
