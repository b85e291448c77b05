//! Supposing: a setup with something else on it, computed with and never recorded.
//!
//! Another gasket or a cut moves the head or the whole cylinder nearer the piston, so what was measured with the old one
//! follows: squish clearance and chamber volume with either, the deck height, and with it every port edge, with the cylinder's.
//! What is named outright is taken as given and follows nothing.

use std::path::PathBuf;

use crate::engine::head::bore_area_m2;
use crate::notebook::editing::assign::apply;
use crate::notebook::fields::cylinder::{at_cylinder, said_of_all};
use crate::notebook::fields::names::{self, visible};
use crate::notebook::{Assignment, Combination, EditOptions, FieldSet, Finding, Place, SetupFiles};
use crate::quantity::{Quantity, fixed, trimmed};
use crate::store::{Garage, StoreError};

/// What is supposed.
#[derive(Debug, Clone, Default)]
pub struct Supposition {
    /// Fields that are set.
    pub assignments: Vec<Assignment>,
    /// Cut off the head face, m.
    pub cut_head_m: f64,
    /// Cut off the cylinder base, m.
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
    [("the head face", supposition.cut_head_m), ("the cylinder base", supposition.cut_base_m)]
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

/// What a change of a gasket must have moved and still says what it said before, in a sentence: the figures computed from it are
/// those of the old gasket. Of several cylinders those of each.
pub fn not_measured_again(before: &FieldSet, after: &FieldSet) -> Vec<String> {
    let names = after.cylinders();
    let of_one = |before: &FieldSet, after: &FieldSet| not_followed(before, after);
    let each: Vec<(&str, NotFollowed)> = if names.is_empty() {
        vec![("", of_one(before, after))]
    } else {
        let of = |name: &String| of_one(&before.for_cylinder(name), &after.for_cylinder(name));
        names.iter().map(|name| (name.as_str(), of(name))).collect()
    };
    let sorts = |what: fn(&NotFollowed) -> &Vec<(String, String)>| -> Vec<(&str, Vec<(String, String)>)> {
        each.iter().map(|(name, one)| (*name, what(one).clone())).collect()
    };
    let own = |name: &str, (field, value): &(String, String)| {
        (format!("{} {field}", names::in_words(name)), value.clone())
    };
    let inserts = said_of_all(&sorts(|one| &one.of_another_insert), |name, (at, words)| {
        (at.clone(), at_cylinder(name, words))
    });
    let moved = said_of_all(&sorts(|one| &one.moved), own);
    let errors =
        said_of_all(&sorts(|one| &one.errors), |name, (at, words)| (at.clone(), at_cylinder(name, words)));
    let mut said: Vec<String> = errors.into_iter().chain(inserts).map(|(_, words)| words).collect();
    if let Some(((field, value), others)) = moved.split_first() {
        let others: Vec<String> = others.iter().map(|(field, value)| format!(", {field} {value}")).collect();
        said.push(format!(
            "Measured with the gasket before this one? Then {field} is {value} now{}: measure or record it. Until then ratios and \
             squish stand on the old figure.",
            others.concat()
        ));
    }
    said
}

/// What did not follow a gasket at one cylinder: fields with the value they would have, and what is wrong with them.
#[derive(Default)]
struct NotFollowed {
    moved: Vec<(String, String)>,
    errors: Vec<(String, String)>,
    /// That what is written down was measured with the insert before this one.
    of_another_insert: Vec<(String, String)>,
}

/// What stands as it was measured with another head insert, in a sentence: nobody has measured it with this one.
fn of_another_insert(before: &FieldSet, after: &FieldSet) -> Option<String> {
    let (old, new) = (before.text("head.insert")?, after.text("head.insert")?);
    if old == new || before.text("engine") != after.text("engine") {
        return None;
    }
    let stands = ["head.squish_clearance", "head.chamber_volume"]
        .into_iter()
        .filter(|field| same_reading(before, after, field));
    let stands: Vec<String> = stands
        .filter_map(|field| {
            let name = field.rsplit('.').next().unwrap_or(field).replace('_', " ");
            Some(format!("{name} {}", after.quantity(field)?.with_unit()))
        })
        .collect();
    (!stands.is_empty()).then(|| {
        format!(
            "Measured with insert {}, and not with {}: {}. The compression may be higher and the squish tighter: measure and record them before it runs. Until then ratios and squish stand on the other insert.",
            visible(old),
            visible(new),
            stands.join(", ")
        )
    })
}

fn not_followed(before: &FieldSet, after: &FieldSet) -> NotFollowed {
    let nothing = Supposition::default();
    let moved = Moved::of(&nothing, before, after);
    let insert = of_another_insert(before, after).map(|words| (String::new(), words));
    let of_another_insert = insert.into_iter().collect();
    let rest = match moved.follow(&nothing, after) {
        Ok(follows) => {
            let stale = follows.iter().filter(|one| same_reading(before, after, &one.field));
            let name = |field: &str| field.rsplit('.').next().unwrap_or(field).replace('_', " ");
            let moved = stale.map(|one| (name(&one.field), one.value.clone().unwrap_or_default()));
            NotFollowed { moved: moved.collect(), ..NotFollowed::default() }
        }
        Err(error) if same_reading(before, after, "head.squish_clearance") => {
            let words = format!("{error} So it is by the gasket alone: measure before the engine is turned.");
            NotFollowed { errors: vec![(String::new(), words)], ..NotFollowed::default() }
        }
        Err(_) => NotFollowed::default(),
    };
    NotFollowed { of_another_insert, ..rest }
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
