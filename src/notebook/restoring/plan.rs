//! What of an earlier setup can be put back. A jet, a map or an insert that lies in the drawer comes back with a command;
//! metal that was cut does not, and what therefore stays different is said, with the way out. Pure.

use std::collections::BTreeSet;

use crate::notebook::comparing::fields::{Change, compare_as_written};
use crate::notebook::editing::error::EditError;
use crate::notebook::fields::catalogue::DocumentKind;
use crate::notebook::fields::combination::Combination;
use crate::notebook::fields::cylinder::{common, own_of};
use crate::notebook::fields::meaning::Deed;
use crate::notebook::fields::node::{Leaf, Node};
use crate::notebook::fields::order::section_of;
use crate::notebook::fields::value::{FieldSet, Value};
use crate::notebook::restoring::only::{ITS_MAP_STAYS, Only};
use crate::notebook::restoring::words;

pub use crate::notebook::restoring::at_the_bike::{at_the_bike, by_hand};
pub use crate::notebook::restoring::write::restore;

/// What to put back, and what is known besides the two setups.
#[derive(Debug, Clone, Default)]
pub struct RestoreRequest<'a> {
    /// The earlier setup as it is spoken of: "setup 7".
    pub target_words: String,
    /// Sections to put back, cylinders, or sections of one ("right.jetting"); all of them when empty.
    pub only: Vec<String>,
    /// Sections whose metal is the earlier one again, because that part was fitted: one of [`FITTED`].
    pub fitted: Vec<String>,
    /// The bike that the earlier setup's engine is in now, when that is another bike.
    pub engine_elsewhere: Option<String>,
    /// The readings of that engine's file as it is now, when another engine is fitted; `None` when the file is gone.
    pub target_engine_now: Option<&'a FieldSet>,
}

/// What can be said to be fitted.
pub const FITTED: [&str; 5] = ["ports", "head", "engine", "pipe", "all"];

/// What putting an earlier setup back comes to.
#[derive(Debug, Clone, Default)]
pub struct RestorePlan {
    /// What is put back, in reading order: `old` is the value now, `new` the earlier one.
    pub applied: Vec<Change>,
    /// What stays different, and why.
    pub still_different: Vec<StillDifferent>,
    /// The engine that goes in, when it is another one than is fitted.
    pub engine: Option<String>,
}

/// Something that a command cannot put back.
#[derive(Debug, Clone)]
pub struct StillDifferent {
    /// Its field; of a whole window or pipe section, the name of that.
    pub field: String,
    /// Its value now.
    pub now: Option<Value>,
    /// Its value in the earlier setup.
    pub then: Option<Value>,
    /// The difference and the way out in words, without a capital or a period.
    pub sentence: String,
}

const DECK: &str = "ports.deck_height";
const BASE_GASKET: &str = "ports.base_gasket";
/// How finely a deck height is measured (common practice, no source), m.
const DECK_RESOLUTION_M: f64 = 2e-5;

/// Measurements that a squish clearance depends on besides the parts that it names.
const SETS_THE_SQUISH: [&str; 3] = [DECK, "engine.stroke", "engine.rod"];

/// Sorts everything that differs between now and an earlier setup into what comes back and what does not.
pub fn plan(
    now: &Combination,
    target: &Combination,
    request: &RestoreRequest<'_>,
) -> Result<RestorePlan, EditError> {
    let only = Only(&request.only);
    only.check(&now.fields, &target.fields)?;
    check_names(&request.fitted, &FITTED)?;
    let engine = EngineMove::between(&now.fields, &target.fields, request);
    let (from, to) = engine.readings(&now.fields, &target.fields, request);
    let to = only.as_they_held(&from, &to);
    let changes = compare_as_written(&from, &to).changes;
    let wanted = changes.into_iter().filter(|change| only.wants(&change.field));
    let sorter = Sorter { from: &from, to: &to, request };
    let mut plan = sorter.sort(wanted.collect());
    match engine {
        EngineMove::PutIn(name) => plan.engine = Some(name),
        EngineMove::Stays(Some(why)) => {
            plan.still_different.insert(0, engine_stays(&now.fields, &target.fields, why));
        }
        EngineMove::Same | EngineMove::Stays(None) => {}
    }
    Ok(plan)
}

fn check_names(names: &[String], allowed: &[&'static str]) -> Result<(), EditError> {
    match names.iter().find(|name| !allowed.contains(&name.as_str())) {
        Some(name) => {
            let allowed = allowed.iter().map(|name| (*name).to_owned()).collect();
            Err(EditError::UnknownSection { name: name.clone(), allowed })
        }
        None => Ok(()),
    }
}

impl RestoreRequest<'_> {
    fn wants(&self, section: &str) -> bool {
        Only(&self.only).wants_section(section)
    }

    fn is_fitted(&self, section: &str) -> bool {
        self.fitted.iter().any(|fitted| fitted == section || fitted == "all")
    }
}

/// What happens to the engine.
enum EngineMove {
    /// The same engine, or none either time.
    Same,
    /// The earlier setup's engine goes in.
    PutIn(String),
    /// The engine that is in stays, and its file with it; with the reason where one is to be said.
    Stays(Option<String>),
}

impl EngineMove {
    fn between(now: &FieldSet, target: &FieldSet, request: &RestoreRequest<'_>) -> Self {
        let (fitted, earlier) = (now.text("engine"), target.text("engine"));
        let then = &request.target_words;
        let asked = ["engine", "ports", "head"].into_iter().any(|section| request.wants(section));
        let reason = |why: String| Self::Stays(asked.then_some(why));
        match (fitted, earlier) {
            (None, None) => Self::Same,
            (Some(fitted), None) => reason(format!("{then} names no engine: engine {fitted} stays in")),
            (Some(fitted), Some(earlier)) if fitted == earlier => {
                match (has_engine_readings(now), has_engine_readings(target)) {
                    (true, false) => {
                        reason(format!("{then} says nothing about engine {earlier}: it stays as it is"))
                    }
                    _ => Self::Same,
                }
            }
            (_, Some(earlier)) => match &request.engine_elsewhere {
                Some(bike) => {
                    reason(format!("engine {earlier} is in bike {bike} now: take it out there first"))
                }
                None if request.wants("engine") => Self::PutIn(earlier.to_owned()),
                None => reason(format!(
                    "{then} ran engine {earlier}: its ports and head come back only with the engine"
                )),
            },
        }
    }

    /// The readings to compare. An engine that stays is left out; one that goes in is compared with its own past.
    fn readings(
        &self,
        now: &FieldSet,
        target: &FieldSet,
        request: &RestoreRequest<'_>,
    ) -> (FieldSet, FieldSet) {
        match self {
            Self::Same => (now.clone(), target.clone()),
            Self::Stays(_) => {
                let without = |fields: &FieldSet| part(fields, DocumentKind::Setup, &["engine"]);
                (without(now), without(target))
            }
            Self::PutIn(_) => {
                let mut from = part(now, DocumentKind::Setup, &[]);
                from.extend(part(request.target_engine_now.unwrap_or(target), DocumentKind::Engine, &[]));
                (from, target.clone())
            }
        }
    }
}

fn has_engine_readings(fields: &FieldSet) -> bool {
    fields.iter().any(|(_, entry)| entry.document == DocumentKind::Engine)
}

fn part(fields: &FieldSet, kind: DocumentKind, without: &[&str]) -> FieldSet {
    let mut kept = FieldSet::default();
    for (field, entry) in fields.iter() {
        if entry.document == kind && !without.contains(&field) {
            kept.insert(field.to_owned(), entry.clone());
        }
    }
    kept
}

fn engine_stays(now: &FieldSet, target: &FieldSet, sentence: String) -> StillDifferent {
    StillDifferent {
        field: "engine".to_owned(),
        now: now.get("engine").cloned(),
        then: target.get("engine").cloned(),
        sentence,
    }
}

/// Decides about each change.
struct Sorter<'a> {
    from: &'a FieldSet,
    to: &'a FieldSet,
    request: &'a RestoreRequest<'a>,
}

impl Sorter<'_> {
    fn sort(&self, changes: Vec<Change>) -> RestorePlan {
        let loose: BTreeSet<String> = changes
            .iter()
            .filter(|change| metal_of(&change.field).is_none() && is_had_again(change))
            .map(|change| change.field.clone())
            .collect();
        let only = Only(&self.request.only);
        let (maps, changes): (Vec<Change>, Vec<Change>) =
            changes.into_iter().partition(|change| only.must_stay(change));
        let (mut applied, mut stays) = (Vec::new(), Vec::new());
        for change in changes {
            let comes = change.field != "engine_notes" && self.comes_back(&change.field, &loose);
            if comes { applied.push(change) } else { stays.push(change) }
        }
        let unsettled = stays.iter().any(sets_the_squish);
        let (measured, applied): (Vec<Change>, Vec<Change>) = applied.into_iter().partition(|change| {
            unsettled && is_measured(&change.field) && !self.request.is_fitted(section_of(&change.field))
        });
        let mut still_different = self.said(stays);
        still_different
            .extend(measured.into_iter().map(|change| self.still(change, Some(words::MEASURE_AGAIN))));
        still_different.extend(maps.into_iter().map(|change| self.still(change, Some(ITS_MAP_STAYS))));
        RestorePlan { applied, still_different, engine: None }
    }

    /// Metal comes back with the part it was cut into, when another of these was in: that one lies in the drawer.
    fn comes_back(&self, field: &str, loose: &BTreeSet<String>) -> bool {
        match metal_of(field) {
            None => true,
            Some(parts) => {
                let part_is_back = parts.iter().any(|part| loose.contains(part));
                let by_itself = field != DECK || self.gasket_explains_the_deck();
                self.request.is_fitted(section_of(field)) || (part_is_back && by_itself)
            }
        }
    }

    /// Whether the deck stands differently only because the cylinder stands on a thicker or thinner gasket.
    fn gasket_explains_the_deck(&self) -> bool {
        let change = |field: &str| Some(self.to.quantity(field)?.si() - self.from.quantity(field)?.si());
        match (change(DECK), change(BASE_GASKET)) {
            (Some(deck), Some(gasket)) => (deck - gasket).abs() <= DECK_RESOLUTION_M,
            _ => false,
        }
    }

    /// A window or pipe section that only one of the setups has is said once, not value by value.
    fn said(&self, stays: Vec<Change>) -> Vec<StillDifferent> {
        let mut said: Vec<StillDifferent> = Vec::new();
        for change in stays {
            let piece =
                named_piece(&change.field).filter(|piece| holds(self.from, piece) != holds(self.to, piece));
            match piece {
                None => said.push(self.still(change, None)),
                Some(piece) if said.iter().any(|other| other.field == piece) => {}
                Some(piece) => {
                    let sentence =
                        words::whole_piece(piece, holds(self.from, piece), &self.request.target_words);
                    said.push(StillDifferent { field: piece.to_owned(), now: None, then: None, sentence });
                }
            }
        }
        said
    }

    fn still(&self, change: Change, remedy: Option<&str>) -> StillDifferent {
        let sentence = words::sentence(&change, &self.request.target_words, remedy);
        StillDifferent { field: change.field, now: change.old, then: change.new, sentence }
    }
}

/// What a squish clearance hangs on, where both setups know it.
fn sets_the_squish(change: &Change) -> bool {
    let matters = section_of(&change.field) == "head" || SETS_THE_SQUISH.contains(&change.field.as_str());
    matters && change.old.is_some() && change.new.is_some()
}

/// Whether a part that is put back is known: what is screwed in is so without a name too, for then none was in.
fn is_had_again(change: &Change) -> bool {
    let deed = Combination::meaning(&change.field).map(|meaning| &meaning.hands.deed);
    change.new.is_some() || matches!(deed, Some(Deed::ScrewIn(_)))
}

/// Measured on several parts put together under the head, rather than cut into one.
fn is_measured(field: &str) -> bool {
    section_of(field) != "pipe" && metal_of(field).is_some_and(|parts| parts.len() > 1)
}

/// Whether a field was cut in metal, or measured on it.
pub fn is_metal(field: &str) -> bool {
    metal_of(field).is_some()
}

/// For metal, the fields that name the parts it was cut into. What belongs to a piece of metal (the kind of a window, the
/// place of a pipe section) is as much metal as its measurements.
pub(super) fn metal_of(field: &str) -> Option<Vec<String>> {
    let leaf = Combination::leaf(field)?;
    let parts = leaf.metal.clone().or_else(|| {
        let fields = piece_fields(named_piece(field)?)?;
        fields.into_iter().find_map(|leaf| leaf.metal.clone())
    })?;
    // A cylinder's own metal was cut into its own part, or into one that all have alike.
    let own: Option<Vec<String>> =
        own_of(field).map(|(name, _)| parts.iter().map(|part| format!("{name}.{part}")).collect());
    Some(parts.into_iter().chain(own.unwrap_or_default()).collect())
}

/// The window or pipe section that a field belongs to.
fn named_piece(field: &str) -> Option<&str> {
    let (piece, _) = field.rsplit_once('.')?;
    piece_fields(piece).map(|_| piece)
}

fn piece_fields(piece: &str) -> Option<Vec<&'static Leaf>> {
    let (above, _) = common(piece).rsplit_once('.')?;
    let path: Vec<&str> = above.split('.').collect();
    let shape = [DocumentKind::Setup, DocumentKind::Engine].into_iter().find_map(|kind| {
        match kind.catalogue().at(&path) {
            Some(Node::Named(shape)) => Some(shape),
            _ => None,
        }
    })?;
    let leaves = shape.leaves().into_iter().map(|(_, leaf)| leaf).collect::<Vec<_>>();
    leaves.iter().any(|leaf| leaf.metal.is_some()).then_some(leaves)
}

fn holds(fields: &FieldSet, piece: &str) -> bool {
    fields.iter().any(|(field, _)| field.strip_prefix(piece).is_some_and(|rest| rest.starts_with('.')))
}
