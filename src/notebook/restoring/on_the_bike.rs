//! What is to be done at a bike between what is on it and what is written of it. Pure.

use crate::notebook::comparing::fields::{Change, compare};
use crate::notebook::documents::job::JobItem;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::meaning::Deed;
use crate::notebook::fields::order::section_of;
use crate::notebook::fields::value::{Entry, FieldSet, Value};
use crate::notebook::restoring::at_the_bike::{at_one, by_hand, turn};
use crate::notebook::restoring::plan::{RestorePlan, metal_of};

/// What the hands do so that a bike that has the one has the other, in the order of the bike.
pub fn to_do(on_it: &FieldSet, wanted: &FieldSet) -> Vec<JobItem> {
    let names = wanted.cylinders();
    if names.is_empty() {
        return of_plan(&plan_of(on_it, wanted));
    }
    let of_one = |name: &str| of_plan(&plan_of(&on_it.for_cylinder(name), &wanted.for_cylinder(name)));
    let all: Vec<_> = names.iter().map(|name| (name.as_str(), of_one(name))).collect();
    at_cylinders(&all, wanted)
}

/// What is to be done at each cylinder, in one list: what is the same at all of them is one line, and so is what is done to a carburetor or
/// a pipe that some of them share.
fn at_cylinders(all: &[(&str, Vec<JobItem>)], wanted: &FieldSet) -> Vec<JobItem> {
    let of_all = |item: &JobItem| {
        all.iter().all(|(_, items)| items.iter().any(|one| one.field == item.field && one.what == item.what))
    };
    let has = |name: &str, item: &JobItem| {
        let mut of_one = all.iter().filter(|(other, _)| *other == name).flat_map(|(_, items)| items);
        of_one.any(|one| one.field == item.field && one.what == item.what)
    };
    // "fr+rr" of the cylinders at which one thing is done.
    let place_of = |name: &str, item: &JobItem| {
        let group = wanted.sharing_section(name, section_of(&item.field));
        if group.iter().all(|other| has(other, item)) { group.join("+") } else { name.to_owned() }
    };
    let mut list: Vec<JobItem> = Vec::new();
    for (name, items) in all {
        for item in items {
            let together = of_all(item);
            if together && list.iter().any(|one| one.field == item.field) {
                continue;
            }
            let mut item = item.clone();
            if !together {
                let place = place_of(name, &item);
                item.what = at_one(&place, &item.field, &item.what);
                item.field = format!("{place}.{}", item.field);
            }
            if !list.iter().any(|one| one.field == item.field && one.part == item.part) {
                list.push(item);
            }
        }
    }
    list.sort_by_key(|item| turn(&item.field));
    list
}

/// The same for a plan.
pub fn of_plan(plan: &RestorePlan) -> Vec<JobItem> {
    let text = |value: Option<&Value>| value.map(Value::typed);
    let lines = by_hand(plan).into_iter().map(|(field, what)| {
        let change = plan.applied.iter().find(|change| change.field == field);
        let engine = || plan.engine.clone().filter(|_| field == "engine");
        let from = text(change.and_then(|change| change.old.as_ref()));
        let to = text(change.and_then(|change| change.new.as_ref())).or_else(engine);
        JobItem { field, part: None, what, from, to, done: None, undone: None }
    });
    lines.collect()
}

/// Whether something of a section differs that no hand does: what was cut.
pub fn is_cut_otherwise(one: &FieldSet, other: &FieldSet, section: &str) -> bool {
    let changes = compare(one, other).changes;
    changes.into_iter().any(|change| section_of(&change.field) == section && !is_done_by_hand(&change))
}

/// Whether a change has a line of its own at the bike.
pub fn is_done_by_hand(change: &Change) -> bool {
    let alone = RestorePlan { applied: vec![change.clone()], ..RestorePlan::default() };
    !by_hand(&alone).is_empty()
}

/// A field is on the bike as a setup has it, with what comes with it: how its number counts, what was cut into it, and with an engine
/// all that is written of that.
pub fn put_on(on_it: &mut FieldSet, setup: &FieldSet, field: &str) {
    let names = setup.cylinders();
    if names.is_empty() {
        put_on_one(on_it, setup, field);
        return;
    }
    let (only, field) = own_of(field).map_or((None, field), |(name, field)| (Some(name), field));
    let one = |name: &str| {
        let mut whole = on_it.for_cylinder(name);
        if only.is_none_or(|only| only.split('+').any(|only| only == name)) {
            put_on_one(&mut whole, &setup.for_cylinder(name), field);
        }
        whole
    };
    let all: Vec<_> = names.iter().map(|name| (name.as_str(), one(name))).collect();
    // With an engine come the names of its cylinders.
    let of_engine = if field == "engine" { setup } else { &*on_it };
    *on_it = FieldSet::of_cylinders(&of_engine.said_of_several(), all.into_iter());
}

fn put_on_one(on_it: &mut FieldSet, setup: &FieldSet, field: &str) {
    let comes = |other: &str, entry: &Entry| {
        let with_engine = field == "engine" && entry.document == DocumentKind::Engine;
        other == field || with_engine || comes_with(other, field)
    };
    let gone: Vec<String> = on_it
        .iter()
        .filter(|(other, entry)| comes(other, entry))
        .map(|(other, _)| other.to_owned())
        .collect();
    for other in &gone {
        on_it.take_out(other);
    }
    let come = setup.iter().filter(|(other, entry)| comes(other, entry));
    come.for_each(|(other, entry)| on_it.insert(other.to_owned(), entry.clone()));
}

fn comes_with(other: &str, part: &str) -> bool {
    let said = Combination::meaning(other).is_some_and(|meaning| {
        meaning.hands.comes_with.as_deref() == Some(part)
            || matches!(&meaning.hands.deed, Deed::NumberedBy(jet) if jet == part)
    });
    said || metal_of(other).is_some_and(|parts| parts.iter().any(|one| one == part))
}

/// What the hands do between two setups. The files of another engine came with it.
fn plan_of(old: &FieldSet, new: &FieldSet) -> RestorePlan {
    let engine = |fields: &FieldSet| fields.text("engine").map(str::to_owned);
    let other = engine(old) != engine(new);
    let in_engine = |fields: &FieldSet, field: &str| {
        fields.entry(field).is_some_and(|entry| entry.document == DocumentKind::Engine)
    };
    let mut applied = compare(old, new).changes;
    applied.retain(|change| !(other && (in_engine(old, &change.field) || in_engine(new, &change.field))));
    RestorePlan { applied, engine: engine(new).filter(|_| other), ..RestorePlan::default() }
}
