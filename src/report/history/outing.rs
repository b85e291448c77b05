//! Outings: one line, one page, one JSON object.

use serde_json::{Value, json};

use crate::advice::learning::{Said, said_of_lean, sign_of_lean};
use crate::air::{Air, power_correction};
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::maps::dyno::Curve;
use crate::notebook::{AirEntry, Doubted, Mixture, OutingKind, Verdict};
use crate::quantity::fixed;
use crate::report::air::reading::rounded;
use crate::report::history::questioned::left_out;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{air_in_short, first_line, grouped, table};
use crate::store::{Logged, OutingRecord, Removed};

/// An air entry with the figures that follow from it.
pub fn air_json(entry: &AirEntry) -> Value {
    let read: serde_json::Map<String, Value> =
        entry.parts().into_iter().map(|(name, text)| (name.to_owned(), json!(text))).collect();
    let air = entry.air().ok();
    json!({
        "read": read,
        "density_kg_m3": air.map(|air| rounded(air.density(), 6)),
        "dry_density_kg_m3": air.map(|air| rounded(air.dry_density(), 6)),
        "relative_density_percent": air.map(|air| rounded(air.relative_density_percent(), 4)),
        "temperature_c": air.map(|air| rounded(air.temperature_c(), 3)),
    })
}

/// An outing for a script.
pub fn outing_json(record: &OutingRecord) -> Value {
    let outing = &record.outing;
    let verdict: serde_json::Map<String, Value> = zones(outing.verdict.as_ref())
        .into_iter()
        .map(|(zone, mixture)| (zone.to_owned(), json!(mixture.word())))
        .collect();
    json!({
        "id": record.id,
        "date": outing.date.to_string(),
        "kind": kind(outing.kind),
        "place": outing.place,
        "session": outing.session,
        "setup": record.setup,
        "hours": outing.hours.as_ref().map(|hours| rounded(hours.si() / 3600.0, 4)),
        "starts": outing.starts.as_ref().map(|starts| rounded(starts.si(), 0)),
        "meter": outing.meter.as_ref().map(|hours| rounded(hours.si() / 3600.0, 4)),
        "coolant_c": outing.coolant.as_ref().map(|t| rounded(t.si() - 273.15, 2)),
        "exhaust_gas_c": outing.exhaust_gas.as_ref().map(|t| rounded(t.si() - 273.15, 2)),
        "peak_rpm": outing.peak.as_ref().map(|speed| rounded(speed.si(), 0)),
        "verdict": verdict,
        "air": outing.air.as_ref().map(air_json),
        "plug": outing.plug,
        "piston": outing.piston,
        "lap": outing.lap,
        "feel": outing.feel,
        "notes": outing.notes,
        "cause": outing.cause,
        "mended": outing.mended,
        "doubted": outing.doubted.iter().map(|what| what.word()).collect::<Vec<_>>(),
        "file": record.file.to_string_lossy().replace('\\', "/"),
    })
}

/// The verdict in words: "full right, half slightly rich"; several zones alike are joined.
pub fn verdict_words(verdict: Option<&Verdict>) -> String {
    let mut judged = zones(verdict);
    judged.reverse();
    let mut parts: Vec<(Mixture, Vec<&str>)> = Vec::new();
    for (zone, mixture) in judged {
        match parts.iter_mut().find(|(known, _)| *known == mixture) {
            Some((_, names)) => names.push(zone_words(zone)),
            None => parts.push((mixture, vec![zone_words(zone)])),
        }
    }
    let parts: Vec<_> =
        parts.iter().map(|(mixture, names)| format!("{} {}", names.join(" and "), mixture.words())).collect();
    parts.join(", ")
}

fn zones(verdict: Option<&Verdict>) -> Vec<(&'static str, Mixture)> {
    verdict.map(Verdict::zones).unwrap_or_default()
}

fn zone_words(zone: &str) -> &str {
    match zone {
        "eighth" => "1/8",
        "quarter" => "1/4",
        "half" => "1/2",
        "three_quarters" => "3/4",
        other => other,
    }
}

fn kind(kind: OutingKind) -> &'static str {
    match kind {
        OutingKind::Track => "track",
        OutingKind::Test => "test",
        OutingKind::Dyno => "dyno",
    }
}

/// An outing on one line.
pub fn outing_line(screen: &Screen, record: &OutingRecord) -> String {
    let outing = &record.outing;
    let mut parts = vec![outing.date.short()];
    if outing.kind != OutingKind::Track {
        parts.push(kind(outing.kind).to_owned());
    }
    let place = [&outing.place, &outing.session]
        .into_iter()
        .flatten()
        .map(|text| first_line(text))
        .collect::<Vec<_>>();
    if !place.is_empty() {
        parts.push(place.join(", "));
    }
    let verdict = verdict_words(outing.verdict.as_ref());
    if !verdict.is_empty() {
        parts.push(verdict);
    }
    if let Some(air) = &outing.air {
        parts.push(air_in_short(screen, air));
    }
    if let Some(lap) = &outing.lap {
        parts.push(first_line(lap));
    }
    if let Some(plug) = &outing.plug {
        parts.push(format!("plug {}", first_line(plug)));
    }
    if let Some(notes) = outing.notes.as_ref().or(outing.feel.as_ref()) {
        parts.push(format!("\"{}\"", first_line(notes)));
    }
    parts.join(" | ")
}

/// A list of outings, newest first.
pub fn list(screen: &Screen, bike: &str, records: &[OutingRecord]) -> String {
    if records.is_empty() {
        let text = format!(
            "{bike} has no outings yet. Log one: reedbook outing add {bike} full=right --place \"…\""
        );
        return screen.wrap(&text, 2);
    }
    let lines: Vec<_> = records
        .iter()
        .rev()
        .map(|record| {
            let setup = record.setup.map_or("setup ?".to_owned(), |number| format!("setup {number}"));
            screen.wrap(&format!("{}  {setup} | {}", record.id, outing_line(screen, record)), 14)
        })
        .collect();
    lines.join("\n")
}

/// What was logged, and what comes next.
pub fn logged(screen: &Screen, logged: &Logged) -> String {
    let record = &logged.record;
    let setup = logged.setup.as_ref().map_or(String::new(), |setup| format!(" on setup {}", setup.number));
    let mut lines = vec![
        screen.strong(&format!("Outing {}{setup}", record.id)),
        screen.wrap(&format!("  {}", outing_line(screen, record)), 4),
    ];
    for remark in &logged.remarks {
        lines.push(screen.wrap(&format!("note: {remark}"), 6));
    }
    lines.extend(what_follows(record).map(|line| screen.wrap(&line, 2)));
    lines.join("\n")
}

/// What an outing calls for, what is asked of its words, and what it cannot tell.
fn what_follows(record: &OutingRecord) -> impl Iterator<Item = String> {
    let known = without_air(record).into_iter().chain(doubts(record));
    next_step(record).into_iter().chain(asked(record)).chain(known)
}

/// A word like "seized" that is said of a thing nobody knows here.
fn asked(record: &OutingRecord) -> Option<String> {
    let Said::Unclear { word, thing } = said_of_lean(&record.outing) else { return None };
    Some(format!(
        "The notes say \"{word}\" of \"{thing}\": does it mean the piston? `reedbook outing edit {} {} full=lean` says so; until then it is not taken as lean.",
        record.bike, record.id
    ))
}

/// What of it is doubted.
fn doubts(record: &OutingRecord) -> Vec<String> {
    let doubted = record.outing.doubted.iter();
    doubted
        .map(|what| {
            let (word, are) = (what.word(), if *what == Doubted::Air { "is" } else { "are" });
            format!(
                "note: its {word} {are} marked as doubted and {}: `reedbook outing edit {} {} --confirm {word}`.",
                left_out(*what),
                record.bike,
                record.id
            )
        })
        .collect()
}

/// What a verdict calls for.
fn next_step(record: &OutingRecord) -> Option<String> {
    if record.outing.is_closed() {
        return None;
    }
    if let Some(sign) = sign_of_lean(&record.outing) {
        return Some(format!(
            "The notes say \"{sign}\": taken as lean. Do not run it on: read plug and piston, find out why, and look at the engine before it is started again."
        ));
    }
    let judged = zones(record.outing.verdict.as_ref());
    let full = judged.iter().find(|(zone, _)| *zone == "full").map(|(_, mixture)| *mixture);
    let lean = judged.iter().any(|(_, mixture)| *mixture == Mixture::Lean);
    if lean && full.is_none_or(|full| full > Mixture::SlightlyLean) {
        return Some("Lean below full throttle: richer there (clip, pilot jet or screw) before the next run, and read the plug and the piston.".into());
    }
    if lean || full == Some(Mixture::SlightlyLean) {
        let word = if lean { "Lean" } else { "Slightly lean at full throttle" };
        return Some(format!(
            "{word}: jet up before the next full throttle, and read the plug and the piston."
        ));
    }
    let right = full == Some(Mixture::Right) && judged.iter().all(|(_, mixture)| *mixture == Mixture::Right);
    let with = if record.outing.doubts(Doubted::Air) { "" } else { ", with this air" };
    right.then(|| format!("Right: `reedbook proven {}` marks the setup{with}.", record.bike))
}

/// What to say of a verdict that the jetting cannot learn from.
fn without_air(record: &OutingRecord) -> Option<String> {
    let judged = !zones(record.outing.verdict.as_ref()).is_empty();
    (judged && record.outing.air.is_none())
        .then(|| "note: no air was noted, so the jetting cannot learn from this verdict.".to_owned())
}

/// An outing that was mended, and what its verdict calls for.
pub fn mended(screen: &Screen, record: &OutingRecord, remarks: &[String]) -> String {
    let mut lines = vec![page(screen, record, None)];
    lines.extend(remarks.iter().map(|remark| screen.wrap(&format!("note: {}", visible(remark)), 6)));
    lines.extend(what_follows(record).map(|line| screen.wrap(&line, 2)));
    lines.join("\n")
}

/// An outing that was removed, for a script.
pub fn removed_json(bike: &str, removed: &Removed) -> Value {
    json!({
        "bike": bike,
        "id": removed.id,
        "files": removed.files.iter().map(|file| path(file)).collect::<Vec<_>>(),
        "removed": removed.record.as_ref().map(outing_json),
    })
}

fn path(file: &std::path::Path) -> String {
    file.to_string_lossy().replace('\\', "/")
}

/// An outing that was removed, for a person.
pub fn removed(screen: &Screen, bike: &str, removed: &Removed) -> String {
    let mut lines = vec![screen.strong(&format!("Outing {} of {bike} removed", removed.id))];
    if let Some(record) = &removed.record {
        lines.push(screen.wrap(&format!("  {}", outing_line(screen, record)), 4));
    }
    lines.extend(removed.files.iter().map(|file| format!("  {}", path(file))));
    lines.push(screen.wrap(
        "Hours of the engine and its parts no longer count it. `git revert HEAD` in the garage brings it back.",
        2,
    ));
    lines.join("\n")
}

/// Said behind the last outing where others bear the same minute: which one is shown.
pub fn tied(screen: &Screen, shown: &OutingRecord, others: &[OutingRecord]) -> Option<String> {
    let ids: Vec<String> = others.iter().map(|other| visible(&other.id)).collect();
    let words = format!(
        "note: This is {}. Of the same minute: {}. `reedbook outing show {} ID` shows one by its id.",
        visible(&shown.id),
        ids.join(", "),
        shown.bike
    );
    (!ids.is_empty()).then(|| format!("\n{}", screen.wrap(&words, 6)))
}

/// Everything that is known of one outing.
pub fn page(screen: &Screen, record: &OutingRecord, curve: Option<&Curve>) -> String {
    let outing = &record.outing;
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut row =
        |name: &str, value: Option<String>| rows.extend(value.map(|value| vec![name.to_owned(), value]));
    row("when", Some(outing.date.to_string()));
    row("kind", Some(kind(outing.kind).to_owned()));
    row("place", outing.place.as_ref().map(|text| visible(text)));
    row("session", outing.session.as_ref().map(|text| visible(text)));
    row("setup", record.setup.map(|number| number.to_string()));
    row("hours", outing.hours.as_ref().map(ToString::to_string));
    row("meter", outing.meter.as_ref().map(ToString::to_string));
    row("coolant", outing.coolant.as_ref().map(ToString::to_string));
    row("exhaust gas", outing.exhaust_gas.as_ref().map(ToString::to_string));
    row("peak", outing.peak.as_ref().map(ToString::to_string));
    row("fuel batch", outing.fuel_batch.as_ref().map(|text| visible(text)));
    row("verdict", Some(verdict_words(outing.verdict.as_ref())).filter(|words| !words.is_empty()));
    row("plug", outing.plug.as_ref().map(|text| visible(text)));
    row("piston", outing.piston.as_ref().map(|text| visible(text)));
    row("best", outing.lap.as_ref().map(|text| visible(text)));
    row("feel", outing.feel.as_ref().map(|text| visible(text)));
    row(
        "air",
        outing.air.as_ref().map(|air| format!("{} ({})", air_in_short(screen, air), visible(&air.line()))),
    );
    row("cause", outing.cause.as_ref().map(|text| visible(text)));
    row("mended", outing.mended.as_ref().map(|text| visible(text)));
    let doubted: Vec<_> = outing.doubted.iter().map(|what| what.word()).collect();
    row("doubted", Some(doubted.join(", ")).filter(|words| !words.is_empty()));
    row("file", Some(record.file.display().to_string()));
    let mut lines = vec![
        screen.strong(&format!("Outing {} of {}", record.id, record.bike)),
        table(&[], rows, &[], screen.width()),
    ];
    if let Some(notes) = &outing.notes {
        lines.push(String::new());
        lines.push(screen.wrap(&visible_lines(notes), 0));
    }
    if let Some(curve) = curve {
        lines.push(String::new());
        lines.push(curve_words(curve, outing.air.as_ref().and_then(|entry| entry.air().ok()).as_ref()));
    }
    lines.join("\n")
}

/// The dyno curve as measured, with the corrected peak only shown beside it.
fn curve_words(curve: &Curve, air: Option<&Air>) -> String {
    let rows = curve.points.iter().map(|(rpm, value)| vec![grouped(*rpm), fixed(*value, 1)]).collect();
    let mut text = table(&["rpm", &visible(&curve.what)], rows, &[0, 1], 60);
    if let Some((rpm, value)) = curve.peak() {
        let unit = curve.what.split_once('(').map_or("", |(_, unit)| unit.trim_end_matches(')'));
        text.push_str(&format!(
            "\nPeak as measured: {} {} at {} rpm.",
            fixed(value, 1),
            visible(unit),
            grouped(rpm)
        ));
        if let Some(air) = air {
            let factor = power_correction::sae_j1349(air);
            let range = if factor.in_range { "" } else { ", outside its range" };
            text.push_str(&format!(
                "\nCorrected ({}, factor {}{range}): {}. The file keeps what was measured.",
                factor.standard,
                fixed(factor.factor, 3),
                fixed(value * factor.factor, 1)
            ));
        }
    }
    text
}
