//! What to take to the next event: the parts that come due within it, and the spares of their kind on the shelf.

use std::collections::BTreeMap;

use super::due::{DueList, Standing, State};
use super::event::Event;

/// What a bike wants taken along.
#[derive(Debug, Clone)]
pub struct Taking {
    /// The bike.
    pub bike: String,
    /// What an event takes of it; none where it never ran.
    pub event: Option<Event>,
    /// By kind of part, in the order of their urgency.
    pub wants: Vec<Want>,
    /// Parts that may come due within it, for nobody knows what they ran.
    pub unknown: Vec<Standing>,
}

/// Parts of one kind that come due within the next event, and what lies on the shelf for them.
#[derive(Debug, Clone)]
pub struct Want {
    /// The kind.
    pub kind: String,
    /// Parts that come due, the most urgent first.
    pub parts: Vec<Standing>,
    /// Spares of that kind, the least used first; those that are over a limit themselves come last.
    pub spares: Vec<Standing>,
}

impl Want {
    /// Spares that are not known to be over a limit themselves.
    pub fn good_spares(&self) -> usize {
        self.spares.iter().filter(|spare| spare.state() != State::Overdue).count()
    }
}

/// What each bike wants taken along, by its name; a bike of which nothing comes due has no wants.
pub fn to_take(due: &DueList, shelf: &[Standing]) -> Vec<Taking> {
    let mut bikes: BTreeMap<&str, (Vec<Want>, Vec<Standing>)> = BTreeMap::new();
    for part in &due.parts {
        let Some(bike) = part.bike.as_deref() else { continue };
        let (wants, unknown) = bikes.entry(bike).or_default();
        let state = part.change().map(|(state, _)| state);
        if state == Some(State::NotKnown) {
            unknown.push(part.clone());
        }
        if state.is_none_or(|state| state < State::NotForAnotherEvent) {
            continue;
        }
        match wants.iter_mut().find(|want| want.kind == part.kind) {
            Some(want) => want.parts.push(part.clone()),
            None => wants.push(Want {
                kind: part.kind.clone(),
                parts: vec![part.clone()],
                spares: spares(&part.kind, shelf),
            }),
        }
    }
    bikes
        .into_iter()
        .map(|(bike, (wants, unknown))| Taking {
            bike: bike.to_owned(),
            event: due.events.get(bike).cloned(),
            wants,
            unknown,
        })
        .collect()
}

fn spares(kind: &str, shelf: &[Standing]) -> Vec<Standing> {
    let mut spares: Vec<Standing> = shelf.iter().filter(|part| part.kind == kind).cloned().collect();
    let order = |spare: &Standing| (spare.state() == State::Overdue, spare.count.hours_at_least);
    spares.sort_by(|one, other| {
        let hours = one.count.hours_h.total_cmp(&other.count.hours_h);
        order(one).cmp(&order(other)).then(hours).then_with(|| one.part.cmp(&other.part))
    });
    spares
}
