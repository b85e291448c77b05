//! What to take to the next event: the parts that come due within it, and the spares on the shelf that are known to fit and
//! to be sound. What is not known of a spare is asked; one that is known not to fit is no spare.

use std::collections::BTreeMap;

use super::due::{DueList, DueStanding, State};
use super::event::Event;
use super::fitting::Fits;
use crate::notebook::{Condition, at_cylinder};

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
    pub unknown: Vec<DueStanding>,
}

/// Parts of one kind that come due within the next event, and what lies on the shelf for them.
#[derive(Debug, Clone)]
pub struct Want {
    /// The kind.
    pub kind: String,
    /// The engine they are in.
    pub engine: String,
    /// Parts that come due, the most urgent first.
    pub parts: Vec<DueStanding>,
    /// Spares that fit that engine, the least used first; those that are over a limit themselves come last.
    pub spares: Vec<DueStanding>,
    /// Parts of that kind of which it is not known whether they fit or are sound, the least used first.
    pub asked: Vec<(DueStanding, Ask)>,
}

/// What must be known of a part before it is a spare.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ask {
    /// Whether it fits the engine.
    Fits,
    /// Whether it is sound, for what was written of it sounds otherwise.
    Sound(String),
}

impl Want {
    /// Spares that are not known to be over a limit themselves.
    pub fn good_spares(&self) -> usize {
        self.spares.iter().filter(|spare| spare.state() != State::Overdue).count()
    }
}

/// What each bike wants taken along, by its name; a bike of which nothing comes due has no wants.
/// `bores_m` are the bores of the engines, m.
pub fn to_take(due: &DueList, shelf: &[DueStanding], bores_m: &BTreeMap<String, f64>) -> Vec<Taking> {
    let mut bikes: BTreeMap<&str, (Vec<Want>, Vec<DueStanding>)> = BTreeMap::new();
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
        let alike = |want: &&mut Want| {
            want.kind == part.kind
                && want.parts.iter().all(|other| bore_m(other, bores_m) == bore_m(part, bores_m))
        };
        match wants.iter_mut().find(alike) {
            Some(want) => want.parts.push(part.clone()),
            None => wants.push(want(part, shelf, bores_m)),
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

/// The bore of the cylinder that a part is at, m; where it is at none, that of its engine.
fn bore_m(part: &DueStanding, bores_m: &BTreeMap<String, f64>) -> Option<f64> {
    let engine = part.engine.as_deref()?;
    let own = bores_m.get(&at_cylinder(engine, part.cylinder.as_deref()));
    own.or_else(|| bores_m.get(engine)).copied()
}

fn want(part: &DueStanding, shelf: &[DueStanding], bores_m: &BTreeMap<String, f64>) -> Want {
    let engine = part.engine.clone().unwrap_or_default();
    let bore_m = bore_m(part, bores_m);
    let mut want = Want {
        kind: part.kind.clone(),
        engine,
        parts: vec![part.clone()],
        spares: Vec::new(),
        asked: Vec::new(),
    };
    let mut of_kind: Vec<&DueStanding> = shelf.iter().filter(|spare| spare.kind == part.kind).collect();
    let order = |spare: &DueStanding| (spare.state() == State::Overdue, spare.count.hours_at_least);
    of_kind.sort_by(|one, other| {
        let hours = one.count.hours_h.total_cmp(&other.count.hours_h);
        order(one).cmp(&order(other)).then(hours).then_with(|| one.part.cmp(&other.part))
    });
    for spare in of_kind {
        match (spare.fitting.fits(&want.engine, bore_m), &spare.condition) {
            (Fits::Others | Fits::OtherBore(..), _) | (_, Condition::Unusable(_)) => {}
            (Fits::NotKnown, _) => want.asked.push((spare.clone(), Ask::Fits)),
            (Fits::Yes, Condition::Asked(words)) => {
                want.asked.push((spare.clone(), Ask::Sound(words.clone())));
            }
            (Fits::Yes, Condition::Fine) => want.spares.push(spare.clone()),
        }
    }
    want
}
