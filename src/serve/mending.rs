//! The last run of a bike once more: mended as `outing edit` mends it, or taken back as `outing remove` takes it out.

use toml::Value;

use super::asked::Reply;
use super::said;
use crate::acts::outing::{mended, ran_without, slips_of_mend};
use crate::advice::closing::was_lean;
use crate::advice::slips::Slip;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Doubted, Outing, Verdict, ZONES};
use crate::quantity::{Hours, trimmed};
use crate::report::history::outing::OutingRemoved;
use crate::report::history::questioned::still_asked;
use crate::report::page::live::{
    self, ALL, AS_IT_WAS, FormFields, LogPage, Mends, OF_A_CYLINDER, PageAt, RAN, REMOVE, RUN, SHOWN,
    is_answered,
};
use crate::report::{Trouble, air_in_short};
use crate::serve::forms::log_page;
use crate::serve::standing::{Visit, Written};
use crate::store::{Book, Mend, OutingRecord, SetupName, outing_identity, places, remove_outing};

/// Fields of a form that say something of a run, and what they are called; those of verdicts and of single cylinders beside them.
const OF_A_RUN: [(&str, &str); 17] = [
    ("date", "date"),
    ("place", "place"),
    ("session", "session"),
    ("plug", "plug"),
    ("piston", "piston"),
    ("exhaust_gas", "exhaust gas"),
    ("cause", "cause"),
    ("mended", "fixed"),
    ("feel", "how it felt"),
    ("lap", "lap"),
    ("notes", "note"),
    ("minutes", "time run"),
    ("temp", "temperature"),
    ("pressure", "pressure"),
    ("kind", "kind of pressure"),
    ("elevation", "elevation"),
    ("humidity", "humidity"),
];
/// Setups that a run may be said to have had: the newest.
const NEWEST_SETUPS: usize = 24;
/// Those of an air.
const OF_AN_AIR: [&str; 5] = ["temp", "pressure", "kind", "elevation", "humidity"];
/// Parts of an air that a form has fields for.
const OF_A_FORM: [&str; 5] = ["temp", "baro", "qnh", "elevation", "humidity"];

/// The form of the last run, or of the one that is named, with what was typed, what is asked and what is wrong.
pub(super) fn page(
    visit: &Visit,
    bike: &str,
    typed: &FormFields,
    (asked, wrong): (Vec<&Slip>, Option<Trouble>),
) -> Result<String, Trouble> {
    let book = Book::open(&visit.garage)?;
    let known = book.outing(bike, typed.said(RUN).unwrap_or("last"))?;
    let recorded = as_typed(&known.outing);
    // A form that comes back has what was typed, a new one what is recorded. What was recorded since the form was opened stands in it too:
    // only what was typed into it is laid over that.
    let (stands, moved_on) = match typed.said(AS_IT_WAS) {
        None => (recorded.clone(), None),
        Some(was) if was == identity(&known) => (laid_over(&recorded, &recorded, typed), None),
        Some(_) => {
            let shown = shown_by(typed);
            (laid_over(&recorded, &shown, typed), Some(moved_on(&recorded, &shown, typed)))
        }
    };
    let known_places = places(&visit.garage).map(|(known, _)| known).unwrap_or_default();
    let latest = book.latest(bike)?;
    let mut cylinders = book.combination(bike, latest.as_ref())?.fields.cylinders();
    // It may have run with cylinders that the bike has no more.
    for name in known.outing.cylinder.keys() {
        if !cylinders.contains(name) {
            cylinders.push(name.clone());
        }
    }
    let setups: Vec<(u32, String)> = book
        .setups(bike)?
        .into_iter()
        .rev()
        .take(NEWEST_SETUPS)
        .map(|setup| (setup.number, setup.why))
        .collect();
    let page = LogPage {
        typed: &stands,
        places: &known_places.iter().map(|record| record.title().to_owned()).collect::<Vec<_>>(),
        cylinders: &cylinders,
        jobs: &crate::store::BikeJobs::default(),
        setup: known.setup,
        air: known.outing.air.as_ref().map(|air| air_in_short(&visit.screen, air)),
        asked,
        wrong: moved_on.or(wrong),
        as_it_ran: None,
        mends: Some(Mends {
            record: &known,
            as_it_was: identity(&known),
            shown: &recorded,
            setups: &setups,
            is_lean: was_lean(&known.outing) || known.outing.cause.is_some(),
        }),
    };
    Ok(live::log(&visit.place(Some(bike), PageAt::Aside), &visit.screen, &page))
}

/// What a form showed before anything was typed into it.
fn shown_by(typed: &FormFields) -> FormFields {
    let shown = typed.fields().filter_map(|(name, text)| Some((name.strip_prefix(SHOWN)?, text)));
    FormFields::of(shown.map(|(name, text)| (name.to_owned(), text.to_owned())))
}

/// Whether a field of a form says what another says of it; one that the form does not have says nothing else.
fn is_kept(name: &str, typed: &FormFields, other: &FormFields) -> bool {
    if name == "kind" && typed.said("pressure").is_none() && other.said("pressure").is_none() {
        return true;
    }
    !typed.has(name) || typed.get(name) == other.get(name)
}

/// The names of the fields of a run that stand in forms.
fn names<'f>(forms: &[&'f FormFields]) -> Vec<&'f str> {
    let own = |name: &str| {
        name.starts_with("z.")
            || said::of_a_cylinder(name).is_some()
            || OF_A_RUN.iter().any(|(known, _)| *known == name)
    };
    let mut names: Vec<&str> = Vec::new();
    for (name, _) in forms.iter().flat_map(|form| form.fields()) {
        if own(name) && !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// The run as it is recorded now, with what was typed into a form that showed something else; what else the form says stays.
fn laid_over(recorded: &FormFields, shown: &FormFields, typed: &FormFields) -> FormFields {
    let of_the_run = names(&[typed, recorded]);
    let others = typed.fields().filter(|(name, _)| !of_the_run.contains(name) && !name.starts_with(SHOWN));
    // The pressure and what kind it is of are one.
    let is_typed = |name: &str| match name {
        "pressure" | "kind" => !is_kept("pressure", typed, shown) || !is_kept("kind", typed, shown),
        name => !is_kept(name, typed, shown),
    };
    let from = |name: &str| if typed.has(name) && is_typed(name) { typed } else { recorded };
    let stands = of_the_run.iter().map(|name| (*name, from(name).get(name)));
    FormFields::of(others.chain(stands).map(|(name, text)| (name.to_owned(), text.to_owned())))
}

/// What another phone, or the laptop, mended since a form was opened.
fn moved_on(recorded: &FormFields, shown: &FormFields, typed: &FormFields) -> Trouble {
    let word =
        |text: &str| if text.is_empty() { "nothing".to_owned() } else { format!("\"{}\"", visible(text)) };
    let (mut mended, mut both) = (Vec::new(), Vec::new());
    let mut differing = names(&[recorded, shown]);
    differing.retain(|name| recorded.get(name) != shown.get(name));
    // How it ran comes first.
    differing.sort_by_key(|name| !name.starts_with("z."));
    for name in differing {
        let called = called(name);
        let is = word(recorded.get(name));
        mended.push(format!("{called}: {} → {is}", word(shown.get(name))));
        if !is_kept(name, typed, shown) && typed.get(name) != recorded.get(name) {
            both.push(format!("{called} ({is} is logged, you typed {})", word(typed.get(name))));
        }
    }
    let mended = match mended.as_slice() {
        [] => ", in what this form has no field for.".to_owned(),
        all => format!(" ({}).", all.join("; ")),
    };
    let both = if both.is_empty() { String::new() } else { format!(" You both fixed: {}.", both.join(", ")) };
    let message = format!("Another fixed this run since the form was opened{mended}{both}");
    let help =
        "The form has it as it is logged now, with what you typed over it: look it over and send it again.";
    Trouble::request(None, message, help)
}

fn taken_back_since() -> Trouble {
    Trouble::request(
        None,
        "This run was taken back since the form was opened: there is nothing to fix any more.",
        "If it did run, log it: what you typed stands below.",
    )
}

/// What a field of a form is called: "full throttle at the cylinder left".
fn called(name: &str) -> String {
    let at = |cylinder: &str| format!(" at the cylinder {}", visible(cylinder));
    if let Some((reading, cylinder)) = said::of_a_cylinder(name) {
        let words =
            OF_A_CYLINDER.iter().find(|(known, _)| *known == reading).map_or(reading, |(_, words)| words);
        return format!("{words}{}", at(cylinder));
    }
    if let Some(zone) = name.strip_prefix("z.") {
        let (of, zone) = zone.rsplit_once('.').map_or((String::new(), zone), |(of, zone)| (at(of), zone));
        let short = ZONES.iter().find(|(known, ..)| *known == zone).map_or(zone, |(_, short, _)| short);
        return format!("{} throttle{of}", live::opening(zone, short));
    }
    OF_A_RUN.iter().find(|(known, _)| *known == name).map_or(name, |(_, words)| words).to_owned()
}

/// What an outing says, in short: another one where somebody mended it.
pub(super) fn identity(known: &OutingRecord) -> String {
    outing_identity(&serde_json::to_string(&known.outing).unwrap_or_default())
}

/// An outing as it would be typed.
fn as_typed(outing: &Outing) -> FormFields {
    let mut fields: Vec<(String, String)> = vec![("date".to_owned(), outing.date.short())];
    let words = [
        ("place", &outing.place),
        ("session", &outing.session),
        ("plug", &outing.plug),
        ("piston", &outing.piston),
        ("feel", &outing.feel),
        ("cause", &outing.cause),
        ("mended", &outing.mended),
        ("lap", &outing.lap),
        ("notes", &outing.notes),
    ];
    fields.extend(words.into_iter().filter_map(|(name, text)| Some((name.to_owned(), text.clone()?))));
    // The field is in minutes.
    let minutes = |hours: &Hours| ("minutes".to_owned(), trimmed(hours.si() / 60.0, 2));
    fields.extend(outing.hours.as_ref().map(minutes));
    let gas = outing.exhaust_gas.as_ref().map(ToString::to_string);
    fields.extend(gas.map(|gas| ("exhaust_gas".to_owned(), gas)));
    for (name, text) in outing.air.iter().flat_map(AirEntry::parts) {
        match name {
            "baro" | "qnh" => {
                fields.push(("pressure".to_owned(), text));
                fields.push(("kind".to_owned(), name.to_owned()));
            }
            "temp" | "elevation" | "humidity" => fields.push((name.to_owned(), text)),
            _ => {}
        }
    }
    let of = |start: String, verdict: &Option<Verdict>| -> Vec<(String, String)> {
        let judged =
            verdict.as_ref().and_then(|verdict| toml::Table::try_from(verdict).ok()).unwrap_or_default();
        let word =
            |(zone, word): (String, Value)| Some((format!("z.{start}{zone}"), word.as_str()?.to_owned()));
        judged.into_iter().filter_map(word).collect()
    };
    fields.extend(of(String::new(), &outing.verdict));
    for (name, own) in &outing.cylinder {
        fields.extend(of(format!("{name}."), &own.verdict));
        let gas = own.exhaust_gas.as_ref().map(ToString::to_string);
        let read = [("plug", own.plug.clone()), ("piston", own.piston.clone()), ("exhaust_gas", gas)];
        fields.extend(read.into_iter().filter_map(|(what, text)| Some((format!("{what}.{name}"), text?))));
    }
    FormFields::of(fields)
}

/// What became of the form.
pub(super) fn mend_or_remove(visit: &Visit, bike: &str, typed: &FormFields) -> Result<Written, Trouble> {
    let again = |asked: Vec<&Slip>, wrong: Option<Trouble>| -> Result<Written, Trouble> {
        let status = if wrong.is_some() { 400 } else { 200 };
        let body = page(visit, bike, typed, (asked, wrong))?;
        Ok(Written::Asked(Reply { status, ..Reply::page(body) }))
    };
    if typed.said(RUN).is_none() || typed.said(AS_IT_WAS).is_none() {
        let message = "The form does not say which run it is of. Nothing was recorded.";
        return Err(Trouble::request(None, message, "Open it again, and send it from there."));
    }
    let book = Book::open(&visit.garage)?;
    if !book.outings(bike)?.iter().any(|known| known.id == typed.get(RUN)) {
        let body = log_page(visit, bike, typed, (Vec::new(), Some(taken_back_since()), None))?;
        return Ok(Written::Asked(Reply { status: 400, ..Reply::page(body) }));
    }
    let known = book.outing(bike, typed.get(RUN))?;
    // The page says what was mended since.
    if typed.get(AS_IT_WAS) != identity(&known) {
        let body = page(visit, bike, typed, (Vec::new(), None))?;
        return Ok(Written::Asked(Reply { status: 400, ..Reply::page(body) }));
    }
    let place = visit.place(Some(bike), PageAt::Aside);
    if typed.said(REMOVE).is_some() {
        let removed =
            remove_outing(&visit.garage, bike, &known.id, Some("taken back on the phone"), &visit.moment)?;
        let answer = OutingRemoved::new(bike, &removed);
        let body = live::taken_back(&place, &visit.screen, &answer);
        return Ok(Written::Recorded(Reply::page(body)));
    }
    let found = wanted(visit, &known.outing, typed).and_then(|wanted| {
        let without: Vec<u32> = typed.all("without").filter_map(|number| number.parse().ok()).collect();
        Ok((wanted, ran_without(&book, &known, &without)?))
    });
    let (mut wanted, without) = match found {
        Ok(found) => found,
        Err(trouble) => return again(Vec::new(), Some(said::of_form(trouble))),
    };
    wanted.setup = wanted.setup.or(without.setup.map(SetupName::Number));
    // A form that is sent as it stands leaves the run as it is.
    if wanted == Mend::default() && without.is_none() {
        return Ok(Written::Asked(Reply::page(live::as_it_was(&place, &visit.screen, &known))));
    }
    let now_and_units = (visit.moment.now, visit.screen.units());
    let (slips, doubted) = match slips_of_mend(&book, &known, &wanted, now_and_units) {
        Ok(found) => found,
        Err(trouble) => return again(Vec::new(), Some(said::of_form(trouble))),
    };
    let mut asked = still_asked(&slips, false, Some(&doubted));
    asked.retain(|slip| !is_answered(typed, slip));
    if !asked.is_empty() {
        return again(asked, None);
    }
    match mended(&visit.garage, &known, (&wanted, &without), &visit.moment) {
        Ok(mended) => {
            let body = live::mended(&place, &visit.screen, &mended.answer());
            Ok(Written::Recorded(Reply::page(body)))
        }
        Err(trouble) => again(Vec::new(), Some(said::of_form(trouble))),
    }
}

/// What was on it, and what of it is doubted no more.
fn was_on_it(typed: &FormFields) -> Result<(Option<SetupName>, Vec<Doubted>), Trouble> {
    let mut confirm = said::said_to_be_right(typed)?;
    let setup = match typed.said(RAN) {
        None => None,
        Some(ALL) => {
            confirm.push(Doubted::Setup);
            None
        }
        Some(number) => Some(SetupName::Number(number.parse().map_err(|_| {
            let message = format!("\"{}\" is not a setup number.", visible(number));
            Trouble::request(Some(RAN), message, "Choose one of those in the list.")
        })?)),
    };
    Ok((setup, confirm))
}

/// What of a run is another now than it was: what its form has no field for stays, and what was not touched is not read anew.
fn wanted(visit: &Visit, outing: &Outing, typed: &FormFields) -> Result<Mend, Trouble> {
    let now_and_units = (visit.moment.now, visit.screen.units());
    let before = as_typed(outing);
    let typed = &laid_over(&before, &before, typed);
    let is_kept = |name: &str| is_kept(name, typed, &before);
    // An air is one thing: a part of it is read with the others.
    let air_is_kept = OF_AN_AIR.into_iter().all(is_kept);
    let of_the_run = names(&[typed]);
    let is_touched = |name: &str| match name {
        name if OF_AN_AIR.contains(&name) => !air_is_kept,
        name => of_the_run.contains(&name) && !is_kept(name),
    };
    let touched = typed.fields().filter(|(name, _)| is_touched(name));
    let touched = FormFields::of(touched.map(|(name, text)| (name.to_owned(), text.to_owned())));
    let set = said::table(&touched, &visit.garage, now_and_units)?;
    // What was emptied; a run has a date.
    let emptied = touched.fields().filter(|(name, text)| text.is_empty() && before.said(name).is_some());
    let mut remove: Vec<String> = emptied.filter_map(|(name, _)| field_of(name)).collect();
    if let Some(air) = outing.air.as_ref().filter(|_| !air_is_kept) {
        let new = set.get("air").and_then(Value::as_table).cloned().unwrap_or_default();
        let gone = air
            .parts()
            .into_iter()
            .filter(|(name, _)| !new.contains_key(*name) && (OF_A_FORM.contains(name) || !new.is_empty()));
        remove.extend(gone.map(|(name, _)| format!("air.{name}")));
    }
    let (setup, confirm) = was_on_it(typed)?;
    let doubt = said::said_to_be_doubted(typed)?;
    Ok(Mend { set, remove, setup, doubt, confirm, ..Mend::default() })
}

/// The field of an outing that one of a form stands for; none of the date, which is never taken out, and of an air, which is one thing.
fn field_of(name: &str) -> Option<String> {
    if let Some((reading, cylinder)) = said::of_a_cylinder(name) {
        return Some(format!("cylinder.{cylinder}.{reading}"));
    }
    if let Some(zone) = name.strip_prefix("z.") {
        return Some(match zone.rsplit_once('.') {
            Some((cylinder, zone)) => format!("cylinder.{cylinder}.verdict.{zone}"),
            None => format!("verdict.{zone}"),
        });
    }
    match name {
        "minutes" => Some("hours".to_owned()),
        "date" => None,
        name => (!OF_AN_AIR.contains(&name)).then(|| name.to_owned()),
    }
}
