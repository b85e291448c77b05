//! Supposing: a setup with something else on it, computed with and never recorded.
//!
//! Another gasket or a cut moves the head or the whole cylinder nearer the piston, so what was measured with the old one
//! follows: squish clearance and chamber volume with either, the deck height, and with it every port edge, with the cylinder's.
//! What is named outright is taken as given and follows nothing.

use std::path::PathBuf;

use crate::engine::head::bore_area_m2;
use crate::notebook::editing::assign::apply;
use crate::notebook::{Assignment, Combination, EditOptions, FieldSet, Finding, Place, SetupFiles};
use crate::quantity::{Quantity, fixed, trimmed};
use crate::store::{Garage, StoreError};

/// What is supposed.
#[derive(Debug, Clone, Default)]
pub struct Supposition {
    /// Fields that are set.
    pub assignments: Vec<Assignment>,
    /// Cut off the head's face, m.
    pub cut_head_m: f64,
    /// Cut off the cylinder's foot, m.
    pub cut_base_m: f64,
}

/// A setup as supposed.
#[derive(Debug)]
pub struct Supposed {
    /// Its files, in memory only.
    pub whole: Combination,
    /// What was supposed, and what follows from it, in words.
    pub words: Vec<String>,
}

impl Supposition {
    /// Whether nothing is supposed.
    pub fn is_empty(&self) -> bool {
        self.assignments.is_empty() && self.cut_head_m == 0.0 && self.cut_base_m == 0.0
    }

    fn names(&self, field: &str) -> bool {
        self.assignments.iter().any(|one| one.field == field)
    }
}

/// The setup as it would be.
pub fn suppose(
    garage: &Garage,
    files: &SetupFiles,
    supposition: &Supposition,
) -> Result<Supposed, StoreError> {
    let options = EditOptions { insert: true, refuse_bare_lengths: garage.is_imperial() };
    let stands = Combination::read(files, false);
    if !stands.findings.is_empty() {
        return Err(StoreError::Findings(stands.findings));
    }
    let before = stands.fields;
    let edited = garage.with_named_engine(apply(files, &supposition.assignments, options)?)?;
    let named = Combination::read(&edited, false);
    supposable(&named)?;
    let mut words: Vec<String> = supposition.assignments.iter().map(in_words).collect();
    words.extend(cut_words(supposition));
    let follows = Moved::of(supposition, &before, &named.fields).follow(supposition, &named.fields)?;
    words.extend(stays(supposition, &before, &named.fields));
    words.extend(follows.iter().map(|one| format!("{} follows", in_words(one))));
    let whole = Combination::read(&apply(&edited, &follows, options)?, false);
    supposable(&whole)?;
    Ok(Supposed { whole, words })
}

/// Fails on what is wrong with a setup as supposed. Its text is on no disk, so no file and line are named.
fn supposable(whole: &Combination) -> Result<(), StoreError> {
    if whole.findings.is_empty() {
        return Ok(());
    }
    let nowhere = |finding: &Finding| Finding {
        place: Place { file: PathBuf::new(), line: None, field: finding.place.field.clone() },
        ..finding.clone()
    };
    Err(StoreError::Findings(whole.findings.iter().map(nowhere).collect()))
}

fn in_words(assignment: &Assignment) -> String {
    let place = assignment.at.map(|place| format!("@{place}")).unwrap_or_default();
    match &assignment.value {
        Some(value) => format!("{}{place} = {value}", assignment.field),
        None => format!("{} taken out", assignment.field),
    }
}

fn cut_words(supposition: &Supposition) -> Vec<String> {
    [("the head's face", supposition.cut_head_m), ("the cylinder's foot", supposition.cut_base_m)]
        .into_iter()
        .filter(|(_, cut)| *cut != 0.0)
        .map(|(what, cut)| {
            let added = if cut < 0.0 { "added to" } else { "off" };
            format!("{} mm {added} {what}", trimmed(cut.abs() * 1000.0, 4))
        })
        .collect()
}

/// Less than this is left over from reckoning, m.
const DUST_M: f64 = 1e-9;

/// What does not follow although the head or the cylinder moves, in words.
fn stays(supposition: &Supposition, before: &FieldSet, after: &FieldSet) -> Vec<String> {
    let mut words = Vec::new();
    for gasket in ["head.gasket", "ports.base_gasket"].into_iter().filter(|field| supposition.names(field)) {
        if before.quantity(gasket).is_none() || after.quantity(gasket).is_none() {
            words.push(format!("nothing moves with {gasket}: its thickness before or after is not known"));
        }
    }
    if Moved::of(supposition, before, after).head_nearer.abs() > DUST_M {
        let measured = ["head.squish_clearance", "head.chamber_volume", "ports.deck_height"];
        let named = measured.into_iter().filter(|field| supposition.names(field));
        words.extend(named.map(|field| format!("{field} is taken as named, not moved by gasket or cut")));
    }
    words
}

/// By how much head and cylinder move, in m.
struct Moved {
    /// The head towards the piston.
    head_nearer: f64,
    /// The cylinder away from the crank.
    cylinder_up: f64,
}

impl Moved {
    fn of(supposition: &Supposition, before: &FieldSet, after: &FieldSet) -> Self {
        // Another engine has its own measurements; nothing of the old one moves.
        let same_engine = before.text("engine") == after.text("engine");
        let thicker = |field: &str| match (before.quantity(field), after.quantity(field)) {
            (Some(old), Some(new)) if same_engine => new.si() - old.si(),
            _ => 0.0,
        };
        let cylinder_up = thicker("ports.base_gasket") - supposition.cut_base_m;
        Self { cylinder_up, head_nearer: supposition.cut_head_m - thicker("head.gasket") - cylinder_up }
    }

    /// The measurements that follow, where they are known and were not named outright.
    fn follow(&self, supposition: &Supposition, now: &FieldSet) -> Result<Vec<Assignment>, StoreError> {
        let known = |field: &str| now.quantity(field).filter(|_| !supposition.names(field)).map(Quantity::si);
        let mut follows = Vec::new();
        if self.head_nearer.abs() > DUST_M {
            if let Some(clearance) = known("head.squish_clearance") {
                let left = clearance - self.head_nearer;
                if left <= 0.0 {
                    return Err(no_clearance(clearance, self.head_nearer));
                }
                follows.push(length("head.squish_clearance", left));
            }
            let area = now.quantity("engine.bore").and_then(|bore| bore_area_m2(bore.si()).ok());
            if let (Some(chamber), Some(area)) = (known("head.chamber_volume"), area) {
                let cc = (chamber - area * self.head_nearer) * 1e6;
                follows.push(assignment("head.chamber_volume", format!("{} cc", trimmed(cc, 4))));
            }
        }
        if self.cylinder_up.abs() > DUST_M
            && let Some(deck) = known("ports.deck_height")
        {
            follows.push(length("ports.deck_height", deck + self.cylinder_up));
        }
        Ok(follows)
    }
}

/// Measurements that a change of a gasket must have moved, and that still say what they said before: the figures computed from
/// them are those of the old gasket.
pub fn not_measured_again(before: &FieldSet, after: &FieldSet) -> Vec<String> {
    let nothing = Supposition::default();
    let moved = Moved::of(&nothing, before, after);
    let follows = match moved.follow(&nothing, after) {
        Ok(follows) => follows,
        Err(error) => {
            let measured = same_reading(before, after, "head.squish_clearance");
            return measured
                .then(|| {
                    format!("{error} So it is by the gasket alone: measure before the engine is turned.")
                })
                .into_iter()
                .collect();
        }
    };
    follows
        .iter()
        .filter(|one| same_reading(before, after, &one.field))
        .map(|one| {
            format!(
                "{} still says what it said before this gasket. If it was measured with the gasket before this one, it is {} now: measure it again, or record that. Until then ratios, squish and timings are computed with the old figure.",
                one.field,
                one.value.as_deref().unwrap_or_default()
            )
        })
        .collect()
}

/// Whether both sides hold one reading of a field.
fn same_reading(before: &FieldSet, after: &FieldSet, field: &str) -> bool {
    match (before.get(field), after.get(field)) {
        (Some(old), Some(new)) => old.same_as(new),
        _ => false,
    }
}

fn assignment(field: &str, value: String) -> Assignment {
    Assignment { field: field.to_owned(), at: None, value: Some(value) }
}

fn length(field: &str, metres: f64) -> Assignment {
    assignment(field, format!("{} mm", trimmed(metres * 1000.0, 4)))
}

fn no_clearance(clearance: f64, nearer: f64) -> StoreError {
    StoreError::request(
        Some("head.squish_clearance"),
        format!(
            "The squish clearance of {} mm less {} mm leaves none: the piston would hit the head.",
            fixed(clearance * 1000.0, 2),
            fixed(nearer * 1000.0, 2)
        ),
        "Take less off, or fit a thicker gasket.",
    )
}
