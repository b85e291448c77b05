//! What a build measured of squish, deck and chamber and the setup has otherwise: offered with the one command that takes it
//! over. The figures that are computed of the engine rest on the setup, so a reading that stays in its build helps nobody.

use super::figure::{FigureUnit, NamedFigure};
use super::figures::Judgement;
use super::ready::judged;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::in_words;
use crate::notebook::guidance::{Command, Guidance};
use crate::notebook::{Build, FieldSet, When};
use crate::quantity::{Quantity, fixed};
use crate::store::{Book, BuildRecord, StoreError};

/// A figure of a build, the field of the setup that holds the same, and the fields on which it hangs.
const SAME: [(&str, &str, &[&str]); 3] = [
    (
        "squish_mean",
        "head.squish_clearance",
        &["head.insert", "head.gasket", "ports.base_gasket", "ports.deck_height"],
    ),
    ("deck_height", "ports.deck_height", &["ports.base_gasket"]),
    ("chamber_volume", "head.chamber_volume", &["head.insert", "head.volume_includes"]),
];

/// How far a gasket may be from another and be the same one, m.
const SAME_GASKET_M: f64 = 0.02e-3;

/// A reading that the setup has otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenReading {
    /// The field of the setup.
    pub field: String,
    /// What it is, in words.
    pub words: String,
    /// As measured, with its unit, to the digits that its doubt leaves.
    pub measured: String,
    /// As it is written in the setup.
    pub written: String,
}

/// How the readings of a build are set against a setup.
#[derive(Debug, Clone, Copy, Default)]
pub struct Reading {
    /// Whether they are told in inches.
    pub imperial: bool,
    /// Whether the gaskets that it was measured with are in the engine, and not those of the setup.
    pub its_gaskets_are_in: bool,
}

/// Readings of one cylinder that differ from what holds for it.
fn readings_of_one(
    build: &Build,
    judgement: &Judgement,
    setup: &FieldSet,
    how: Reading,
) -> Vec<TakenReading> {
    let figures = SAME.iter().filter_map(|(figure, field, _)| {
        let figure = judgement.figure(figure)?;
        let written = setup.quantity(field)?;
        let apart = (figure.value.value() - written.si()).abs();
        let differs = apart > figure.value.expanded() + half_of_last_digit(written);
        (differs && (how.its_gaskets_are_in || is_of_this_setup(build, field, setup))).then(|| TakenReading {
            field: (*field).to_owned(),
            words: figure.kind.words.to_owned(),
            measured: measured(figure, how.imperial),
            written: written.with_unit(),
        })
    });
    gaskets(build, setup).filter(|_| how.its_gaskets_are_in).chain(figures).collect()
}

/// The gaskets that a build was measured with, where the setup has others.
fn gaskets<'s>(build: &'s Build, setup: &'s FieldSet) -> impl Iterator<Item = TakenReading> + 's {
    let squish = build.squish.as_ref();
    let base = squish.and_then(|squish| squish.base_gasket.as_ref());
    let head = squish.and_then(|squish| squish.head_gasket.as_ref());
    let both = [("ports.base_gasket", "base gasket", base), ("head.gasket", "head gasket", head)];
    both.into_iter().filter_map(|(field, words, measured)| {
        let (measured, written) = (measured?.quantity(), setup.quantity(field)?);
        ((measured.si() - written.si()).abs() > SAME_GASKET_M).then(|| TakenReading {
            field: field.to_owned(),
            words: words.to_owned(),
            measured: measured.with_unit(),
            written: written.with_unit(),
        })
    })
}

/// Readings of a build that differ from the fields of a setup by more than their own doubt and the last digit that is written;
/// those taken with other gaskets, or of another volume, than the setup's are left out, unless the gaskets are the build's own: the setup
/// said nothing of them since. What all of several cylinders have otherwise alike, and none has of its own, is the field of all.
pub fn readings(build: &Build, judgement: &Judgement, setup: &FieldSet, how: Reading) -> Vec<TakenReading> {
    let names = setup.cylinders();
    if names.is_empty() {
        return readings_of_one(build, judgement, setup, how);
    }
    let of_one = |name: &String| {
        let (build, judgement) = (build.for_cylinder(name), judgement.for_cylinder(name));
        readings_of_one(&build, &judgement, &setup.for_cylinder(name), how)
    };
    let each: Vec<(&String, Vec<TakenReading>)> = names.iter().map(|name| (name, of_one(name))).collect();
    let mut all: Vec<TakenReading> = Vec::new();
    for (name, found) in &each {
        for reading in found {
            let of_all = setup.owners(&reading.field).is_empty()
                && each.iter().all(|(_, others)| others.contains(reading));
            let reading = if of_all {
                reading.clone()
            } else {
                TakenReading {
                    field: format!("{name}.{}", reading.field),
                    words: format!("{} {}", in_words(name), reading.words),
                    ..reading.clone()
                }
            };
            if !all.contains(&reading) {
                all.push(reading);
            }
        }
    }
    all
}

fn half_of_last_digit(written: &Quantity) -> f64 {
    let digits = i32::try_from(written.decimals()).unwrap_or(0);
    let unit = (written.si() / written.value()).abs();
    // Of a written nought the size of its unit cannot be told, and nothing is added.
    if unit.is_finite() { 0.5 * unit * 10f64.powi(-digits) } else { 0.0 }
}

/// Whether the build was measured with the gaskets, or of the volume, that the setup says.
fn is_of_this_setup(build: &Build, field: &str, setup: &FieldSet) -> bool {
    let alike = |measured: Option<f64>, field: &str| {
        let both = measured.zip(setup.quantity(field).map(Quantity::si));
        both.is_none_or(|(measured, written)| (measured - written).abs() <= SAME_GASKET_M)
    };
    let squish = build.squish.as_ref();
    let base = squish.and_then(|squish| squish.base_gasket.as_ref()).map(crate::quantity::Length::si);
    let head = squish.and_then(|squish| squish.head_gasket.as_ref()).map(crate::quantity::Length::si);
    match field {
        "head.squish_clearance" => alike(base, "ports.base_gasket") && alike(head, "head.gasket"),
        "ports.deck_height" => alike(base, "ports.base_gasket"),
        _ => {
            let measured = build.chamber.as_ref().and_then(|chamber| chamber.includes.as_deref());
            let both = measured.zip(setup.text("head.volume_includes"));
            both.is_none_or(|(a, b)| a.trim().eq_ignore_ascii_case(b.trim()))
        }
    }
}

/// "0.65 mm", "0.0256 in", "8.37 cc": no more digits than the doubt leaves.
fn measured(figure: &NamedFigure, imperial: bool) -> String {
    let (unit, size, decimals) = match (figure.kind.unit, imperial) {
        (FigureUnit::Volume, _) => ("cc", 1e-6, 2),
        (_, true) => ("in", 25.4e-3, 4),
        (_, false) if figure.value.expanded() < 0.01e-3 => ("mm", 1e-3, 3),
        (_, false) => ("mm", 1e-3, 2),
    };
    format!("{} {unit}", fixed(figure.value.value() / size, decimals))
}

/// What to say of the newest build of an engine by a date, with the command; none where it is in no bike or nothing differs.
/// What was changed after the engine had run on the build is another engine than the one that was measured.
pub fn take_over(book: &Book<'_>, engine: &str, date: When) -> Result<Option<Guidance>, StoreError> {
    let holders = book.engine_holders()?;
    let (Some((bike, _)), Some(record)) = (holders.get(engine), book.build_at(engine, date)?) else {
        return Ok(None);
    };
    let setup = book.combination(bike, None)?.fields;
    let judgement = judged(book.garage(), &record)?;
    let its_gaskets_are_in = gaskets_are_older(book, bike, (&setup, record.build.date))?;
    let how = Reading { imperial: book.garage().is_imperial(), its_gaskets_are_in };
    let mut found = readings(&record.build, &judgement, &setup, how);
    if found.is_empty() {
        return Ok(None);
    }
    if let Some(ran_on) = ran_on(book, engine, &record)? {
        found.retain(|reading| stands(&reading.field, &ran_on, &setup));
    }
    Ok((!found.is_empty()).then(|| told(bike, engine, &record, &found)))
}

/// Whether a bike's gaskets were written down before an engine was built, and nothing was said of them since: then those of the build are
/// in it.
fn gaskets_are_older(
    book: &Book<'_>,
    bike: &str,
    (now, built): (&FieldSet, When),
) -> Result<bool, StoreError> {
    let Some(number) = book.setup_at(bike, built)? else { return Ok(false) };
    let setup = book.setups(bike)?.into_iter().find(|setup| setup.number == number);
    let then = book.combination(bike, setup.as_ref())?.fields;
    let same = |field: &str| is_unchanged(field, &then, now);
    Ok(then.text("engine") == now.text("engine") && same("ports.base_gasket") && same("head.gasket"))
}

/// The setup of the first outing of an engine since a build.
fn ran_on(book: &Book<'_>, engine: &str, record: &BuildRecord) -> Result<Option<FieldSet>, StoreError> {
    let mut first: Option<(When, String, u32)> = None;
    for bike in book.garage().bikes() {
        let setups = book.setups(&bike)?;
        let with_it = |number: u32| {
            setups.iter().any(|setup| setup.number == number && setup.engine.as_deref() == Some(engine))
        };
        let outings = book.outings(&bike)?;
        let since = outings.iter().filter(|outing| outing.outing.date >= record.build.date);
        let Some((date, number)) =
            since.filter_map(|run| Some((run.outing.date, run.setup?))).find(|(_, number)| with_it(*number))
        else {
            continue;
        };
        if first.as_ref().is_none_or(|(known, ..)| date < *known) {
            first = Some((date, bike, number));
        }
    }
    let Some((_, bike, number)) = first else { return Ok(None) };
    let setup = book.setups(&bike)?.into_iter().find(|setup| setup.number == number);
    Ok(Some(book.combination(&bike, setup.as_ref())?.fields))
}

/// Whether a field and those on which it hangs are as they were when the engine first ran on the build.
fn stands(field: &str, then: &FieldSet, now: &FieldSet) -> bool {
    if let Some((name, field)) = own_of(field) {
        return stands(field, &then.for_cylinder(name), &now.for_cylinder(name));
    }
    let hangs_on = SAME.iter().find(|(_, known, _)| *known == field).map_or(&[][..], |(_, _, on)| *on);
    is_unchanged(field, then, now) && hangs_on.iter().all(|name| is_unchanged(name, then, now))
}

fn is_unchanged(field: &str, then: &FieldSet, now: &FieldSet) -> bool {
    match (then.get(field), now.get(field)) {
        (Some(then), Some(now)) => then.same_as(now),
        (then, now) => then.is_none() && now.is_none(),
    }
}

fn told(bike: &str, engine: &str, record: &BuildRecord, found: &[TakenReading]) -> Guidance {
    let day = record.build.date.day();
    let told: Vec<_> =
        found.iter().map(|one| format!("{} {}, written {}", one.words, one.measured, one.written)).collect();
    let readings = found.iter().map(|one| (one.field.clone(), one.measured.clone())).collect();
    Guidance::from(format!(
        "Measured in the build of {engine} on {day} and otherwise in the setup: {}. To take it over: ",
        told.join("; ")
    )) + Command::TakeOverReadings { bike: bike.to_owned(), readings, day }
        + "."
}

#[cfg(test)]
mod sections {
    use super::super::figure::kind_of;
    use super::SAME;
    use crate::notebook::section_of;

    #[test]
    fn a_figure_is_of_the_section_that_holds_the_same() {
        for (figure, field, _) in SAME {
            assert_eq!(
                kind_of(figure).map(super::super::FigureKind::section),
                Some(section_of(field)),
                "{figure}"
            );
        }
    }
}
