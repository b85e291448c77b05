//! What is to be done at the bike so that it is what the files say, one line a thing, jets first.

use crate::notebook::comparing::fields::Change;
use crate::notebook::fields::called::at_cylinder;
use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::meaning::{Deed, LAST};
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::fields::value::Value;
use crate::notebook::restoring::plan::RestorePlan;
use crate::quantity::Dimension;

/// The list for the paddock: what must be turned, swapped, fitted or loaded for the plan to be true.
pub fn at_the_bike(plan: &RestorePlan) -> Vec<String> {
    by_hand(plan).into_iter().map(|(_, line)| line).collect()
}

/// The same, each line with the field that it is for.
pub fn by_hand(plan: &RestorePlan) -> Vec<(String, String)> {
    let engine = plan.engine.iter().map(|name| ("engine", format!("put engine {} in", visible(name))));
    let jobs = plan.applied.iter().filter_map(|change| {
        let field = change.field.as_str();
        let line = job(plan, change)?;
        Some((field, own_of(field).map_or(line.clone(), |(name, _)| at_one(name, field, &line))))
    });
    let mut lines: Vec<(&str, String)> = jobs.chain(engine).collect();
    lines.sort_by_key(|(field, _)| turn(field));
    lines.into_iter().map(|(field, line)| (field.to_owned(), line)).collect()
}

/// What is done at one of several cylinders: "right main 172 → 176", "right: fit head insert B".
pub(super) fn at_one(cylinder: &str, field: &str, line: &str) -> String {
    let begins_with_a_verb = matches!(
        Combination::meaning(field).map(|meaning| &meaning.hands.deed),
        Some(Deed::Fit(_) | Deed::ScrewIn(_) | Deed::Load(_))
    );
    if begins_with_a_verb { format!("{}: {line}", in_words(cylinder)) } else { at_cylinder(cylinder, line) }
}

pub(super) fn turn(field: &str) -> u16 {
    Combination::meaning(field).map_or(LAST, |meaning| meaning.hands.turn)
}

fn job(plan: &RestorePlan, change: &Change) -> Option<String> {
    let field = change.field.as_str();
    let Some(meaning) = Combination::meaning(field) else {
        return Some(set(&own_name(field), change));
    };
    let hands = &meaning.hands;
    if hands.comes_with.as_ref().is_some_and(|part| is_applied(plan, &beside(field, part))) {
        return None;
    }
    match &hands.deed {
        Deed::Nothing => None,
        Deed::NumberedBy(jet) => (!is_applied(plan, &beside(field, jet)))
            .then(|| set(&format!("{} jet counted by", name_of(jet)), change)),
        Deed::Set(name) => Some(jet(plan, &with_own_name(name, field), change)),
        Deed::Fit(name) => Some(match &change.new {
            Some(new) => format!("fit {name} {}", shown(new)),
            None => set(name, change),
        }),
        Deed::ScrewIn(name) => Some(match (&change.old, &change.new) {
            (_, Some(new)) => format!("screw {name} {} in", shown(new)),
            (Some(old), None) => format!("screw {name} {} out", shown(old)),
            (None, None) => set(name, change),
        }),
        Deed::Load(name) => Some(load(name, change)),
    }
}

/// Another field of the cylinder whose own a field is.
fn beside(field: &str, other: &str) -> String {
    own_of(field).map_or_else(|| other.to_owned(), |(name, _)| format!("{name}.{other}"))
}

fn is_applied(plan: &RestorePlan, field: &str) -> bool {
    plan.applied.iter().any(|change| change.field == field)
}

/// The name by which a jet is set.
fn name_of(jet: &str) -> &'static str {
    match Combination::meaning(jet).map(|meaning| &meaning.hands.deed) {
        Some(Deed::Set(name)) => name,
        _ => "",
    }
}

/// A name that ends with `*` ends with the user's own.
fn with_own_name(name: &str, field: &str) -> String {
    let own = field.rsplit('.').next().unwrap_or(field).replace('_', " ");
    name.strip_suffix('*').map_or_else(|| name.to_owned(), |name| visible(&format!("{name}{own}")))
}

/// A jet whose numbering changed too is another jet altogether, and says so.
fn jet(plan: &RestorePlan, name: &str, change: &Change) -> String {
    let numbers = |other: &&Change| {
        let deed = Combination::meaning(&other.field).map(|meaning| &meaning.hands.deed);
        matches!(deed, Some(Deed::NumberedBy(jet)) if beside(&other.field, jet) == change.field)
    };
    let Some(by) = plan.applied.iter().find(numbers) else {
        return set(name, change);
    };
    let both = |number: &Option<Value>, by: &Option<Value>| {
        let by = by.as_ref().map(|by| format!(" by {}", shown(by))).unwrap_or_default();
        number.as_ref().map(|number| format!("{}{by}", shown(number)))
    };
    arrow(name, both(&change.old, &by.old), both(&change.new, &by.new))
}

fn set(name: &str, change: &Change) -> String {
    let of_turns = |value: &Option<Value>| {
        value
            .as_ref()
            .and_then(Value::quantity)
            .is_some_and(|quantity| quantity.dimension() == Dimension::Turns)
    };
    // "air screw 1.5 → 1.75 turns": the unit stands once.
    let both = of_turns(&change.old) && of_turns(&change.new);
    let old = change.old.as_ref().map(shown);
    let old = old.map(|old| if both { old.split(' ').next().unwrap_or(&old).to_owned() } else { old });
    arrow(name, old, change.new.as_ref().map(shown))
}

fn arrow(name: &str, old: Option<String>, new: Option<String>) -> String {
    match (old, new) {
        (Some(old), Some(new)) => format!("{name} {old} → {new}"),
        (None, Some(new)) => format!("{name} {new}"),
        (Some(old), None) => format!("{name} {old} → not written"),
        (None, None) => name.to_owned(),
    }
}

fn load(name: &str, change: &Change) -> String {
    match (&change.new, &change.map) {
        (Some(_), Some(map)) => format!("load {name}: {}", map.sentence),
        _ => format!("take {name} out: none is written"),
    }
}

fn shown(value: &Value) -> String {
    visible(&value.text())
}

/// The name of what was not foreseen, in plain letters: `extra.spark_cap` is the spark cap.
fn own_name(field: &str) -> String {
    let (_, name) = field.split_once('.').unwrap_or(("", field));
    visible(&name.replace(['.', '_'], " "))
}

#[cfg(test)]
mod tests {
    use super::at_the_bike;
    use crate::notebook::fields::meaning::{Deed, Hands};
    use crate::notebook::{Change, Combination, RestorePlan, Value};

    fn plan(fields: &[&str]) -> RestorePlan {
        let change = |field: &&str| Change {
            field: (*field).to_owned(),
            old: None,
            new: Some(Value::Text("x".into())),
            difference: None,
            map: None,
            prose: None,
        };
        RestorePlan { applied: fields.iter().map(change).collect(), ..RestorePlan::default() }
    }

    /// What is said of a field that changed alone.
    fn line(hands: &Hands) -> Vec<String> {
        match &hands.deed {
            Deed::Set(name) => vec![format!("{name} x")],
            Deed::Fit(name) => vec![format!("fit {name} x")],
            Deed::ScrewIn(name) => vec![format!("screw {name} x in")],
            Deed::Load(name) => vec![format!("take {name} out: none is written")],
            Deed::NumberedBy(jet) => {
                let jet = jet.rsplit('.').next().unwrap().replace('_', " ");
                vec![format!("{jet} jet counted by x")]
            }
            Deed::Nothing => Vec::new(),
        }
    }

    #[test]
    fn a_field_is_done_as_it_says_and_when_it_says() {
        let mut fields: Vec<&str> = Vec::new();
        for (field, meaning) in Combination::meanings() {
            assert_eq!(at_the_bike(&plan(&[field])), line(&meaning.hands), "{field}");
            let comes = meaning.hands.comes_with.is_some();
            let numbers = matches!(meaning.hands.deed, Deed::NumberedBy(_));
            if !comes && !numbers {
                fields.push(field);
            }
        }
        let mut said = Combination::meanings().to_vec();
        said.retain(|(field, _)| fields.contains(&field.as_str()));
        said.sort_by_key(|(_, meaning)| meaning.hands.turn);
        let said: Vec<String> = said.iter().flat_map(|(_, meaning)| line(&meaning.hands)).collect();
        assert_eq!(at_the_bike(&plan(&fields)), said);
        assert_eq!(said.first().map(String::as_str), Some("main x"));
    }

    #[test]
    fn what_comes_with_a_part_is_no_job_of_its_own() {
        for (field, meaning) in Combination::meanings() {
            if let Some(part) = &meaning.hands.comes_with {
                let alone = at_the_bike(&plan(&[part]));
                assert_eq!(at_the_bike(&plan(&[field, part])), alone, "{field}");
            }
        }
        // A jet whose numbering changed too is another jet altogether.
        assert_eq!(
            at_the_bike(&plan(&["jetting.main", "jetting.main_numbered_by", "extra.spark_cap"])),
            ["main x by x", "spark cap x"]
        );
    }
}
