//! Handing chosen sections of a setup over as one file, and reading such a file. What is not chosen is not in the file in any form: the
//! file is made of the chosen values alone, never of the garage's own files, reasons or notes.

use std::collections::{BTreeMap, BTreeSet};

use crate::machine::Moment;
use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance, Wording};
use crate::notebook::{
    Assignment, Combination, FieldSet, Finding, HANDOVER_VERSION, HandedFrom, HandedMap, Handover, SECTIONS,
    Value, read_out, section_of,
};
use crate::quantity::{Dimension, Quantity};
use crate::store::book::Book;
use crate::store::error::StoreError;
use crate::store::handover::{Chosen, Unsealed, sealed, sections_meant};
use crate::store::records::{CONTENT, HANDED_OVER, SetupName, SetupRecord};
use crate::store::writing::change::ChangeRequest;
use crate::store::writing::map_edit::MapEdit;

/// Refuses a cylinder where a section is to be named.
fn require_no_cylinder(chosen: &Chosen, cylinders: &[String]) -> Result<(), StoreError> {
    let (Chosen::Only(named) | Chosen::Without(named)) = chosen;
    let of = |name: &&String| cylinders.iter().any(|own| own == name.split('.').next().unwrap_or_default());
    let Some(name) = named.iter().find(of) else { return Ok(()) };
    let option = if matches!(chosen, Chosen::Only(_)) { "only" } else { "omit" };
    let section = name.split_once('.').map_or("jetting", |(_, section)| section);
    Err(StoreError::request(
        Some(option),
        format!(
            "\"{}\" is no section: a section is handed over of all cylinders, each with its own.",
            visible(name)
        ),
        format!("Name the section, like {}.", visible(section)),
    ))
}

/// Whether what is handed over ran where it comes from, under whichever number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum HowItRan {
    /// It has a run there.
    Ran,
    /// It has none.
    #[default]
    NoRun,
    /// It is of what two sides recorded each a part of, and no bike had that yet.
    CombinedNeverRan,
}

/// Makes a handover of a setup, and the text of its file, with what is to be said of how it ran and whether it did.
pub fn hand_over(
    book: &Book<'_>,
    bike: &str,
    (name, chosen): (&SetupName, &Chosen),
    (beware, how, word): (Vec<String>, HowItRan, Wording<'_>),
    moment: &Moment,
) -> Result<(Handover, String), StoreError> {
    let garage = book.garage();
    let setup = book.recorded(bike, name)?;
    let whole = book.combination(bike, Some(&setup))?;
    require_no_cylinder(chosen, &whole.fields.cylinders())?;
    let sections = sections_meant(&SECTIONS, chosen)?;
    // What cannot be read would be missing without a word.
    let unread = |finding: &&Finding| {
        let field = finding.place.field.as_deref();
        field.is_none_or(|field| sections.contains(&section_of(field)))
    };
    if let Some(finding) = whole.findings.iter().find(unread) {
        return Err(StoreError::Findings(vec![finding.clone()]));
    }
    let (fields, maps) = values(&whole.fields.in_use(), &sections);
    if fields.is_empty() && maps.is_empty() {
        return Err(StoreError::request(
            None,
            format!("Setup {} of {bike} has nothing written down in {}.", setup.number, sections.join(", ")),
            Command::ShowSetup { bike: bike.to_owned(), number: setup.number } + " shows what it has.",
        ));
    }
    let (air, air_from) = book.air_of(bike, &setup)?.unzip();
    let sections_named: Vec<String> = sections.iter().map(|section| (*section).to_owned()).collect();
    let without = others(&sections_named);
    let proven = garage.bike(bike)?.proven.contains_key(&setup.id);
    // Full throttle right in one run is not the air that it was right in where another throttle, or another run, was lean.
    let air_from = air_from.map(|from| match from.strip_prefix("right on ") {
        Some(day) if !beware.is_empty() => format!("ran, and not always right, on {day}"),
        _ => from,
    });
    let ran = how == HowItRan::Ran;
    let beware = (how == HowItRan::CombinedNeverRan).then(|| NEVER_RUN.to_owned()).into_iter().chain(beware);
    let handover = Handover {
        handover: HANDOVER_VERSION,
        proven,
        // The place stands behind the day, and is nobody's business.
        air_from: air_from.map(|from| from.split(" at ").next().unwrap_or_default().to_owned()),
        cautions: beware
            .into_iter()
            .chain(cautions(&without, &fields, (proven, ran)).iter().map(word))
            .collect(),
        sections: sections_named,
        without,
        from: from(book, bike, &setup, moment),
        air,
        fields,
        maps,
        said_there: Vec::new(),
    };
    let text = sealed(&handover)?;
    Ok((handover, text))
}

/// The sections that are not among these, whether anything is known of them or not.
fn others(sections: &[String]) -> Vec<String> {
    let other = |section: &&&str| !sections.iter().any(|name| name == **section);
    SECTIONS.iter().filter(other).map(|section| (*section).to_owned()).collect()
}

fn from(book: &Book<'_>, bike: &str, setup: &SetupRecord, moment: &Moment) -> HandedFrom {
    HandedFrom {
        garage: book.garage().document().name.clone(),
        who: book.garage().repository().author(),
        bike: bike.to_owned(),
        setup: setup.number,
        recorded: setup.date,
        handed_over: moment.now,
    }
}

type Values = (BTreeMap<String, String>, BTreeMap<String, HandedMap>);

/// The values of chosen sections. The engine's name is one of the garage's folders and means nothing elsewhere.
fn values(fields: &FieldSet, sections: &[&str]) -> Values {
    let (mut texts, mut maps) = (BTreeMap::new(), BTreeMap::new());
    for (field, entry) in fields.iter() {
        if field == "engine" || !sections.contains(&section_of(field)) {
            continue;
        }
        match &entry.value {
            Value::Map(map) => {
                maps.insert(field.to_owned(), HandedMap::from(map));
            }
            value => {
                texts.insert(field.to_owned(), value.typed());
            }
        }
    }
    (texts, maps)
}

/// No run of it is in the record of whoever hands it over.
const NO_RUN_THERE: &str = "It is of another engine, and has no run there by the record.";

/// What two sides recorded each a part of was on no bike yet.
const NEVER_RUN: &str = "It is combined of two sides' changes and never ran: nobody knows whether they go together. Start rich, with less advance, and read plug and piston before full throttle.";

/// What can hurt whoever takes it in: common practice, no source.
fn cautions(
    without: &[String],
    fields: &BTreeMap<String, String>,
    (proven, ran): (bool, bool),
) -> Vec<Guidance> {
    let lacks = |section: &str| without.iter().any(|name| name == section);
    let where_it_ran = if ran || proven { "It was run on another engine." } else { NO_RUN_THERE };
    let mut cautions: Vec<Guidance> = vec![format!(
        "{where_it_ran} On this one it may be lean or fire too early: start richer and with less advance, and read plug and piston after every run before going on."
    ).into()];
    let metal: Vec<&str> =
        ["engine", "ports", "head", "pipe"].into_iter().filter(|section| lacks(section)).collect();
    if !metal.is_empty() {
        let with = format!(
            "It {} with {} that you don't have: what was right there can seize an engine with others.",
            match (proven, ran) {
                (true, _) => "was proven",
                (false, true) => "ran",
                (false, false) => "goes",
            },
            listed(&metal)
        );
        cautions.push(with.into());
    }
    if lacks("engine") && fields.get(BASE).is_some_and(|base| is_travel(base)) {
        cautions.push(
            Guidance::from("The base setting is travel of the piston: with another stroke or rod it is another advance. Work out the degrees on both engines before it is set (")
                + Command::IgnitionByTravel
                + ").",
        );
    }
    if lacks("fuel") {
        cautions.push("Fuel and oil not given: another fuel wants other jets and another advance.".into());
    }
    cautions
}

/// The spark's base setting.
const BASE: &str = "ignition.base";

/// Whether a base setting is travel before top dead centre, and no angle.
fn is_travel(base: &str) -> bool {
    Quantity::parse(base, &[Dimension::Angle, Dimension::Length], "deg")
        .is_ok_and(|base| base.dimension() == Dimension::Length)
}

/// "a pipe", "ports, a head and a pipe".
fn listed(sections: &[&str]) -> String {
    let words: Vec<String> = sections
        .iter()
        .map(|section| match *section {
            "engine" => "a bottom end".to_owned(),
            "ports" => "ports".to_owned(),
            other => format!("a {other}"),
        })
        .collect();
    match words.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
        None => String::new(),
    }
}

/// Reads a handover of a setup.
pub fn read_handover(file: &Unsealed, word: Wording<'_>) -> Result<Handover, StoreError> {
    let mut handover: Handover = file.read(("handover", HANDOVER_VERSION))?;
    let strange = handover.fields.keys().chain(handover.maps.keys());
    if let Some(field) = strange
        .into_iter()
        .find(|field| !handover.sections.iter().any(|section| section == section_of(field)))
    {
        return Err(
            file.refused(&format!("has {} in it, of a section that it does not name", visible(field)))
        );
    }
    // What can hurt is said by this program, whatever the file says; what it says beside that is told as its own.
    handover.without = others(&handover.sections);
    // Only that it never ran is to be known from the file alone.
    let has = |words: &str| handover.cautions.iter().any(|caution| caution.starts_with(words));
    let (never_ran, ran) = (has(NEVER_RUN), !has(NO_RUN_THERE));
    let known = cautions(&handover.without, &handover.fields, (handover.proven, ran));
    let known = never_ran.then(|| NEVER_RUN.to_owned()).into_iter().chain(known.iter().map(word)).collect();
    let of_the_file = std::mem::replace(&mut handover.cautions, known);
    handover.said_there = said_there(&of_the_file, &handover.cautions);
    Ok(handover)
}

/// How a caution begins of what seized where it comes from.
pub const SEIZED_THERE: &str = "It seized on this where it comes from";
/// How one begins of what was lean there at full throttle.
pub const LEAN_THERE: &str = "It ran lean on this where it comes from";
/// What stands in one of what was lean at less.
const WHERE_IT_COMES_FROM: &str = " on this where it comes from, on ";
/// How the line begins of a reason that carries them on.
const SAID_THERE: &str = "Said there: ";
/// More of a file's own cautions, and more letters of one, are not told.
const MOST_SAID: usize = 6;
const LONGEST_SAID: usize = 300;

/// What a file's cautions say beside those of this program: how it ran there first, whatever else in quotation marks.
fn said_there(of_the_file: &[String], of_any: &[String]) -> Vec<String> {
    let own = of_the_file.iter().filter(|said| !of_any.contains(said));
    let cleaned = own.map(|said| visible(said).chars().take(LONGEST_SAID).collect::<String>());
    let (known, others): (Vec<String>, Vec<String>) =
        cleaned.filter(|said| !said.trim().is_empty()).partition(|said| is_how_it_ran(said));
    let others = others.into_iter().map(|said| format!("Its file says: \"{said}\""));
    known.into_iter().chain(others).take(MOST_SAID).collect()
}

/// Whether a caution tells how it ran where it comes from.
fn is_how_it_ran(said: &str) -> bool {
    let begins = [SEIZED_THERE, LEAN_THERE].iter().any(|known| said.starts_with(known));
    begins || (said.starts_with("It was ") && said.contains(WHERE_IT_COMES_FROM))
}

/// How what a setup took in ran where it comes from, by its reason, a sentence each.
pub fn said_of_it_there(why: &str) -> Vec<String> {
    let said = why.lines().filter_map(|line| line.strip_prefix(SAID_THERE));
    said.filter(|said| is_how_it_ran(said)).map(str::to_owned).collect()
}

/// One field of a handover beside a bike's; none where one of them has it not.
#[derive(Debug, Clone)]
pub struct HandedRow {
    /// The dotted field.
    pub field: String,
    /// As it is on the bike.
    pub now: Option<String>,
    /// As it was handed over.
    pub handed: Option<String>,
    /// Whether it is cut in metal: no command changes it.
    pub metal: bool,
    /// Whether it is somebody's own words about their own engine, which stay as they are.
    pub words: bool,
}

/// Where a handover differs from a bike as it is on disk, in reading order.
pub fn beside(now: &Combination, handover: &Handover) -> Vec<HandedRow> {
    let mut rows = Vec::new();
    let mut row = |field: &str, handed: Option<String>| {
        let metal = Combination::leaf(field).is_some_and(|leaf| leaf.metal.is_some());
        let now = now.fields.get(field).map(Value::typed);
        let words = section_of(field) == "notes";
        rows.push(HandedRow { field: field.to_owned(), now, handed, metal, words });
    };
    for (field, text) in &handover.fields {
        if now.fields.get(field).is_none_or(|value| read_out(&value.typed()) != read_out(text)) {
            row(field, Some(text.clone()));
        }
    }
    for (field, map) in &handover.maps {
        let table = map.table();
        let same = now.fields.map(field).zip(table.as_ref()).is_some_and(|(now, map)| now.same_as(map));
        if !same {
            row(
                field,
                Some(
                    table
                        .map_or_else(|| "a map that cannot be read".to_owned(), |map| Value::Map(map).text()),
                ),
            );
        }
    }
    for (field, _) in now.fields.iter().filter(|(field, _)| !["extra", "notes"].contains(&section_of(field)))
    {
        let handed = handover.fields.contains_key(field) || handover.maps.contains_key(field);
        if field != "engine"
            && !handed
            && handover.sections.iter().any(|section| section == section_of(field))
        {
            row(field, None);
        }
    }
    // The name of a pipe whose cones stay as they are stays with them.
    let cut = rows.iter().filter(|row| row.metal && row.handed.is_some());
    let cut: Vec<&str> = cut
        .filter_map(|row| Combination::leaf(&row.field)?.metal.as_deref())
        .flatten()
        .map(String::as_str)
        .collect();
    let named: Vec<bool> = rows.iter().map(|row| cut.contains(&row.field.as_str())).collect();
    rows.iter_mut().zip(named).filter(|(_, named)| *named).for_each(|(row, _)| row.metal = true);
    rows.sort_by(|one, other| {
        crate::notebook::reading_order(&one.field).cmp(&crate::notebook::reading_order(&other.field))
    });
    rows
}

/// Why nothing of a handover can be taken in as it stands: it is of cylinders that the bike does not have. A sentence, and the way out.
pub fn of_other_cylinders(bike: &str, now: &Combination, handover: &Handover) -> Option<(String, Guidance)> {
    let names = now.fields.cylinders();
    let handed: BTreeSet<&str> = handover
        .fields
        .keys()
        .chain(handover.maps.keys())
        .filter_map(|field| Some(own_of(field)?.0))
        .collect();
    if handed.iter().all(|name| names.iter().any(|known| known == name)) {
        return None;
    }
    let has = match names.as_slice() {
        [] => "one cylinder".to_owned(),
        names => format!("the cylinders {}", names.join(", ")),
    };
    let handed: Vec<String> = handed.into_iter().map(visible).collect();
    Some((
        format!("It has values of the cylinders {}, and {bike} has {has}.", handed.join(", ")),
        Guidance::from("Nothing of it is taken in as it stands. Set by hand what fits, like ")
            + Command::ChangeMain(bike.to_owned())
            + ", or ask for the sections that their cylinders share (`"
            + CommandOption::Only
            + "`).",
    ))
}

/// The change that takes a handover in: every field of its sections as it was handed over, those that it has not taken out. What is cut in
/// metal is left as it is, and so are one's own notes: theirs stand in the reason. What else was noted here under extra stays.
pub fn taking_in(
    bike: &str,
    now: &Combination,
    (handover, hash): (&Handover, &str),
    why: Option<&str>,
) -> Result<ChangeRequest, StoreError> {
    if let Some((message, help)) = of_other_cylinders(bike, now, handover) {
        return Err(StoreError::request(Some("cylinders"), message, help));
    }
    let mut request =
        ChangeRequest { bike: bike.to_owned(), why: origin(handover, hash, why), ..ChangeRequest::default() };
    for row in beside(now, handover).into_iter().filter(|row| !row.metal && !row.words) {
        if let Some(map) = handover.maps.get(&row.field) {
            let to = map.table().ok_or_else(|| {
                StoreError::request(
                    Some(&row.field),
                    format!(
                        "The map {} of the handover has rows that do not go with its breakpoints.",
                        visible(&row.field)
                    ),
                    "Ask for it again.",
                )
            })?;
            let from = now.fields.map(&row.field).cloned();
            request.maps.push(MapEdit { field: row.field, from, to });
            continue;
        }
        // The name is checked as one that is typed.
        let mut assignment = Assignment::parse(&format!("{}=", row.field))?;
        assignment.value = row.handed;
        request.assignments.push(assignment);
    }
    Ok(request)
}

/// The reason of a change that takes a handover in.
fn origin(handover: &Handover, hash: &str, why: Option<&str>) -> String {
    let HandedFrom { garage, who, bike, setup, .. } = &handover.from;
    let garage = garage.as_ref().map(|garage| format!(" ({})", visible(garage))).unwrap_or_default();
    let short: String = hash.chars().take(12).collect();
    let mut origin = format!(
        "{HANDED_OVER}{}{garage}: {} of {} setup {setup}{CONTENT}{short}",
        visible(who),
        handover.sections.join(", "),
        visible(bike)
    );
    for said in handover.said_there.iter().filter(|said| is_how_it_ran(said)) {
        origin.push_str(&format!("\n\n{SAID_THERE}{said}"));
    }
    for (field, text) in handover.fields.iter().filter(|(field, _)| section_of(field) == "notes") {
        let text: Vec<String> = text.lines().map(visible).collect();
        origin.push_str(&format!("\n\nTheir {}: {}", field.replace('_', " "), text.join("\n")));
    }
    why.map_or(origin.clone(), |why| format!("{why}\n\n{origin}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_base_in_travel_is_another_advance_on_another_engine() {
        let said = |base: &str, without: &[&str]| {
            let without: Vec<String> = without.iter().map(|name| (*name).to_owned()).collect();
            let fields = BTreeMap::from([(BASE.to_owned(), base.to_owned())]);
            cautions(&without, &fields, (true, true))
                .iter()
                .any(|words| words.without_commands().contains("another stroke or rod"))
        };
        assert!(said("1.15 mm", &["engine"]) && said("0.045 in", &["engine", "pipe"]));
        assert!(!said("14 deg", &["engine"]) && !said("14", &["engine"]));
        // The crank goes with it.
        assert!(!said("1.15 mm", &["pipe"]));
    }
}
