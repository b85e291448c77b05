//! The last run of a bike once more: mended as `outing edit` mends it, or taken back as `outing remove` takes it out.

use toml::Value;

use super::asked::Reply;
use super::pages::Visit;
use super::said;
use super::writing::Written;
use crate::acts::outing::{mended, slips_of_mend};
use crate::advice::slips::Slip;
use crate::notebook::{AirEntry, Outing, Verdict};
use crate::report::history::outing::OutingRemoved;
use crate::report::history::questioned::still_asked;
use crate::report::page::live::{self, AS_IT_WAS, FormFields, LogPage, Mends, PageAt, REMOVE, RUN};
use crate::report::{Trouble, air_in_short};
use crate::store::{Book, Mend, OutingRecord, outing_identity, places, remove_outing};

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
    // A form that comes back has what was typed, a new one what is recorded.
    let comes_back = typed.said(AS_IT_WAS).is_some();
    let stands = if comes_back { typed.clone() } else { as_typed(&known.outing) };
    let known_places = places(&visit.garage).map(|(known, _)| known).unwrap_or_default();
    let latest = book.latest(bike)?;
    let page = LogPage {
        typed: &stands,
        places: &known_places.iter().map(|record| record.title().to_owned()).collect::<Vec<_>>(),
        cylinders: &book.combination(bike, latest.as_ref())?.fields.cylinders(),
        jobs: &crate::store::BikeJobs::default(),
        setup: known.setup,
        air: known.outing.air.as_ref().map(|air| air_in_short(&visit.screen, air)),
        asked,
        wrong,
        mends: Some(Mends { record: &known, as_it_was: identity(&known) }),
    };
    Ok(live::log(&visit.place(Some(bike), PageAt::Aside), &visit.screen, &page))
}

/// What an outing says, in short: another one where somebody mended it.
fn identity(known: &OutingRecord) -> String {
    outing_identity(&serde_json::to_string(&known.outing).unwrap_or_default())
}

/// An outing as it would be typed.
fn as_typed(outing: &Outing) -> FormFields {
    let mut fields: Vec<(String, String)> = vec![("date".to_owned(), outing.date.short())];
    let words = [
        ("place", &outing.place),
        ("session", &outing.session),
        ("plug", &outing.plug),
        ("lap", &outing.lap),
        ("notes", &outing.notes),
    ];
    fields.extend(words.into_iter().filter_map(|(name, text)| Some((name.to_owned(), text.clone()?))));
    fields.extend(outing.hours.as_ref().map(|hours| ("minutes".to_owned(), hours.to_string())));
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
        fields.extend(own.plug.iter().map(|plug| (format!("plug.{name}"), plug.clone())));
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
    let book = Book::open(&visit.garage)?;
    let known = book.outing(bike, typed.get(RUN))?;
    if typed.get(AS_IT_WAS) != identity(&known) {
        let message = "Another mended this run since the form was opened: as it is logged now stands below.";
        let help = "What you typed stands in the form: look it over and send it again.";
        return again(Vec::new(), Some(Trouble::request(None, message, help)));
    }
    let place = visit.place(Some(bike), PageAt::Aside);
    if typed.said(REMOVE).is_some() {
        let removed =
            remove_outing(&visit.garage, bike, &known.id, Some("taken back on the phone"), &visit.moment)?;
        let answer = OutingRemoved::new(bike, &removed);
        return Ok(Written::Recorded(Reply::page(live::taken_back(&place, &visit.screen, &answer))));
    }
    let wanted = match wanted(visit, &known.outing, typed) {
        Ok(wanted) => wanted,
        Err(trouble) => return again(Vec::new(), Some(trouble)),
    };
    let (slips, doubted) =
        match slips_of_mend(&book, &known, &wanted, (visit.moment.now, visit.screen.units())) {
            Ok(found) => found,
            Err(trouble) => return again(Vec::new(), Some(trouble)),
        };
    let asked = still_asked(&slips, typed.said("sure").is_some(), Some(&doubted));
    if !asked.is_empty() {
        return again(asked, None);
    }
    match mended(&visit.garage, &known, &wanted, &visit.moment) {
        Ok(mended) => {
            Ok(Written::Recorded(Reply::page(live::mended(&place, &visit.screen, &mended.answer()))))
        }
        Err(trouble) => again(Vec::new(), Some(trouble)),
    }
}

/// What of a run is another now than it was: what its form has no field for stays.
fn wanted(visit: &Visit, outing: &Outing, typed: &FormFields) -> Result<Mend, Trouble> {
    let now_and_units = (visit.moment.now, visit.screen.units());
    let before = as_typed(outing);
    let is_as_it_was = |name: &str| typed.get(name) == before.get(name);
    let mut set = said::table(typed, &visit.garage, now_and_units)?;
    for (name, field) in [
        ("date", "date"),
        ("place", "place"),
        ("session", "session"),
        ("plug", "plug"),
        ("lap", "lap"),
        ("minutes", "hours"),
    ] {
        if is_as_it_was(name) {
            set.remove(field);
        }
    }
    if typed.get("notes") == before.get("notes") {
        set.remove("notes");
    }
    let of_air = ["temp", "pressure", "kind", "elevation", "humidity"];
    let same_air = outing.air.is_some()
        && of_air
            .into_iter()
            .all(|name| is_as_it_was(name) || name == "kind" && typed.get("pressure").is_empty());
    if same_air {
        set.remove("air");
    }
    let mut remove: Vec<String> = Vec::new();
    let fields = [
        ("place", "place"),
        ("session", "session"),
        ("plug", "plug"),
        ("lap", "lap"),
        ("minutes", "hours"),
        ("notes", "notes"),
    ];
    let gone = |name: &str| typed.said(name).is_none() && before.said(name).is_some();
    remove.extend(fields.into_iter().filter(|(name, _)| gone(name)).map(|(_, field)| field.to_owned()));
    let zones = before.fields().filter(|(name, _)| gone(name)).filter_map(|(name, _)| {
        if let Some(cylinder) = name.strip_prefix("plug.") {
            return Some(format!("cylinder.{cylinder}.plug"));
        }
        let zone = name.strip_prefix("z.")?;
        Some(match zone.rsplit_once('.') {
            Some((cylinder, zone)) => format!("cylinder.{cylinder}.verdict.{zone}"),
            None => format!("verdict.{zone}"),
        })
    });
    remove.extend(zones);
    if let Some(air) = &outing.air
        && !same_air
    {
        let new = set.get("air").and_then(Value::as_table).cloned().unwrap_or_default();
        let gone = air
            .parts()
            .into_iter()
            .filter(|(name, _)| !new.contains_key(*name) && (OF_A_FORM.contains(name) || !new.is_empty()));
        remove.extend(gone.map(|(name, _)| format!("air.{name}")));
    }
    Ok(Mend { set, remove, doubt: said::said_to_be_doubted(typed)?, ..Mend::default() })
}
