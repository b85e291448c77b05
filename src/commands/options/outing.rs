//! What can be said of an outing, the same when it is logged and when it is mended.

use std::collections::BTreeMap;

use clap::{Args, ValueEnum};
use toml::{Table, Value};

use super::air::AirOptions;
use crate::acts::typed::{quantity, require_lap, temperature};
use crate::advice::learning::lean_sign;
use crate::commands::desk::Desk;
use crate::notebook::fields::cylinder::wrong_name;
use crate::notebook::fields::names::visible;
use crate::notebook::{DocumentKind, Doubted, Mixture, Outing, When, ZONES, nearest_and_all};
use crate::quantity::{EngineSpeed, Hours, Number, nearly_equal};
use crate::report::Trouble;

/// Where the bike ran.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum RunKind {
    /// A race or practice on a track or hill
    Track,
    /// A test away from an event
    Test,
    /// A dynamometer
    Dyno,
}

/// What of an outing may be doubted.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(in crate::commands) enum DoubtedPart {
    /// Its temperature, pressure and humidity
    Air,
    /// Its running time
    Hours,
    /// Which setup it ran
    Setup,
}

impl From<DoubtedPart> for Doubted {
    fn from(part: DoubtedPart) -> Self {
        match part {
            DoubtedPart::Air => Self::Air,
            DoubtedPart::Hours => Self::Hours,
            DoubtedPart::Setup => Self::Setup,
        }
    }
}

/// What can be said of an outing.
#[derive(Debug, Clone, Args)]
pub(in crate::commands) struct OutingOptions {
    /// The mixture by throttle zone, like full=right 1/2=slightly-rich idle=lean
    ///
    /// Zones: idle, 1/8, 1/4, 1/2, 3/4, full (f). Verdicts: lean, slightly-lean (sl), right (r), slightly-rich (sr), rich (fat), or
    /// their beginnings. "full right" and full=right,1/2=rich are read as well. One of several cylinders: right.full=lean,
    /// right.plug=grey, right.piston=…, right.exhaust-gas="640 C".
    #[arg(value_name = "ZONE=VERDICT")]
    pub(in crate::commands) verdict: Vec<String>,
    /// When, if not now: 9:40 (today), 2026-05-16 or "2026-05-16 10:30"
    #[arg(long, visible_alias = "at", help_heading = "The run")]
    date: Option<String>,
    /// Track, test or dyno
    #[arg(long, value_enum, help_heading = "The run")]
    kind: Option<RunKind>,
    /// Where
    #[arg(long, short, help_heading = "The run")]
    place: Option<String>,
    /// Which session: practice 1, heat 2
    #[arg(long, short, help_heading = "The run")]
    session: Option<String>,
    /// Running time ("0.4 h", "25 min"; a bare number is hours)
    #[arg(long, allow_negative_numbers = true, help_heading = "The run")]
    hours: Option<String>,
    /// How often the engine was started, if not once
    #[arg(long, allow_negative_numbers = true, help_heading = "The run")]
    starts: Option<String>,
    /// The hour meter's reading at the end, in hours
    #[arg(long, allow_negative_numbers = true, help_heading = "The run")]
    meter: Option<String>,
    /// Highest coolant temperature read
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true, help_heading = "Readings")]
    coolant: Option<String>,
    /// Highest exhaust-gas temperature read
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true, help_heading = "Readings")]
    exhaust_gas: Option<String>,
    /// Highest engine speed reached, rpm
    #[arg(long, value_name = "RPM", allow_negative_numbers = true, help_heading = "Readings")]
    peak: Option<String>,
    /// Which can or batch of fuel
    #[arg(long, value_name = "BATCH", help_heading = "The run")]
    fuel_batch: Option<String>,
    /// Plug reading
    #[arg(long, value_name = "READING", help_heading = "Readings")]
    plug: Option<String>,
    /// Piston reading
    #[arg(long, value_name = "READING", help_heading = "Readings")]
    piston: Option<String>,
    /// Best lap or run
    #[arg(long, value_name = "TIME", help_heading = "The run")]
    lap: Option<String>,
    /// How it felt, in the rider's words
    #[arg(long, value_name = "WORDS", help_heading = "Readings")]
    feel: Option<String>,
    /// Anything else
    #[arg(long, short, value_name = "WORDS", help_heading = "Readings")]
    note: Option<String>,
    /// What it was, where not the jetting: a leaking seal
    #[arg(long, value_name = "WORDS", help_heading = "Why it was lean")]
    cause: Option<String>,
    /// What was done about it; with both the run is closed
    #[arg(long = "fixed", value_name = "WORDS", help_heading = "Why it was lean")]
    mended: Option<String>,
    /// Record it anyway: it is right
    #[arg(long, help_heading = "If it asks")]
    pub(in crate::commands) sure: bool,
    /// Record it, but leave its air or hours out until confirmed
    #[arg(long, value_name = "WHAT", help_heading = "If it asks")]
    doubted: Vec<DoubtedPart>,
    #[command(flatten)]
    pub(in crate::commands) air: AirOptions,
}

impl OutingOptions {
    /// What was said, as a table like the outing's own, with these words of the verdict.
    pub(in crate::commands) fn table(
        &self,
        verdict_words: &[&String],
        desk: &Desk,
        imperial: bool,
    ) -> Result<Table, Trouble> {
        let mut table = Table::new();
        let mut put = |name: &str, text: Option<String>| {
            if let Some(text) = text {
                table.insert(name.to_owned(), Value::String(text));
            }
        };
        put("date", self.date(desk)?.map(|date| date.to_string()));
        put("kind", self.kind.map(|kind| format!("{kind:?}").to_lowercase()));
        put("place", self.place.clone());
        put("session", self.session.clone());
        let hours = self.hours.as_deref().map(minutes_in_full);
        put("hours", quantity::<Hours>("hours", hours.as_deref())?);
        put("starts", quantity::<Number>("starts", self.starts.as_deref())?);
        put("meter", quantity::<Hours>("meter", self.meter.as_deref())?);
        put("coolant", temperature("coolant", self.coolant.as_deref(), imperial)?);
        put("exhaust_gas", temperature("exhaust_gas", self.exhaust_gas.as_deref(), imperial)?);
        put("peak", quantity::<EngineSpeed>("peak", self.peak.as_deref())?);
        put("fuel_batch", self.fuel_batch.clone());
        put("plug", self.plug.clone());
        put("piston", self.piston.clone());
        self.lap.as_deref().map_or(Ok(()), require_lap)?;
        put("lap", self.lap.clone());
        put("feel", self.feel.clone());
        put("notes", self.note.clone());
        put("cause", self.cause.clone());
        put("mended", self.mended.clone());
        if let Some(air) = self.air.entry(imperial)? {
            let parts = air.parts().into_iter().map(|(name, text)| (name.to_owned(), Value::String(text)));
            table.insert("air".into(), Value::Table(parts.collect()));
        }
        let apart: Vec<String> = verdict_words.iter().flat_map(|word| at_each(word)).collect();
        let (readings, words): (Vec<&String>, Vec<&String>) =
            apart.iter().partition(|word| reading_at(word).is_some());
        let mut own: BTreeMap<String, Table> = BTreeMap::new();
        for (name, field, value) in readings.into_iter().filter_map(|word| reading_at(word)) {
            let value = match field.as_str() {
                "exhaust_gas" => temperature("exhaust_gas", Some(&value), imperial)?.unwrap_or(value),
                _ => value,
            };
            own.entry(name).or_default().insert(field, Value::String(value));
        }
        for (name, verdict) in verdict(&words)? {
            let of = match name {
                Some(name) => own.entry(name).or_default(),
                None => &mut table,
            };
            of.insert("verdict".into(), Value::Table(verdict));
        }
        if !own.is_empty() {
            let own = own.into_iter().map(|(name, own)| (name, Value::Table(own))).collect();
            table.insert("cylinder".into(), Value::Table(own));
        }
        Ok(table)
    }

    /// Whether nothing is said.
    pub(in crate::commands) fn is_empty(&self) -> bool {
        let texts = [
            &self.date,
            &self.place,
            &self.session,
            &self.hours,
            &self.starts,
            &self.meter,
            &self.coolant,
            &self.exhaust_gas,
            &self.peak,
            &self.fuel_batch,
            &self.plug,
            &self.piston,
            &self.lap,
            &self.feel,
            &self.note,
            &self.cause,
            &self.mended,
        ];
        let others = self.kind.is_some() || self.sure || !self.doubted.is_empty() || !self.air.is_empty();
        self.verdict.is_empty() && !others && texts.into_iter().all(Option::is_none)
    }

    /// What is to be marked as doubted.
    pub(in crate::commands) fn doubted(&self) -> Vec<Doubted> {
        self.doubted.iter().map(|part| (*part).into()).collect()
    }

    /// The date that was given.
    pub(in crate::commands) fn date(&self, desk: &Desk) -> Result<Option<When>, Trouble> {
        self.date.as_deref().map(|text| desk.when(text)).transpose()
    }
}

/// What stands for every cylinder in place of a name: what is said of all is said without one.
const ALL: &str = "all";

/// "left.plug=tan,right.plug=white" as what it says of each: a comma within the words of one reading parts nothing.
fn at_each(word: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for part in word.split(',') {
        let is_own =
            reading_at(part).is_some() || of_cylinder(part).0.is_some() || judged(None, part).is_ok();
        match parts.last_mut().filter(|_| !is_own || !part.contains('=')) {
            Some(last) => {
                last.push(',');
                last.push_str(part);
            }
            None => parts.push(part.to_owned()),
        }
    }
    parts
}

/// "right.plug=dark" as the cylinder, the reading and what was read.
fn reading_at(word: &str) -> Option<(String, String, String)> {
    let (field, value) = word.split_once('=')?;
    let (name, reading) = field.trim().split_once('.')?;
    let reading = reading.replace('-', "_");
    let known = ["plug", "piston", "exhaust_gas"].contains(&reading.as_str());
    known.then(|| (name.to_owned(), reading, value.trim().to_owned()))
}

/// The verdict by zone, of all and of single cylinders; a zone that is given twice is not believed. "full=right", "full right" and
/// "full=right,1/2=rich" are read alike; "right.full=lean" is of the cylinder right.
fn verdict(typed: &[&String]) -> Result<BTreeMap<Option<String>, Table>, Trouble> {
    let mut words =
        typed.iter().flat_map(|text| text.split(',')).map(str::trim).filter(|text| !text.is_empty());
    let mut verdicts: BTreeMap<Option<String>, Table> = BTreeMap::new();
    while let Some(word) = words.next() {
        let together = if word.contains('=') {
            word.to_owned()
        } else {
            format!("{word}={}", words.next().unwrap_or_default())
        };
        let (name, together) = of_cylinder(&together);
        let (zone, mixture) = judged(name, together)?;
        let verdict = verdicts.entry(name.map(str::to_owned)).or_default();
        if verdict.insert(zone.clone(), mixture).is_some() {
            let of = name.map(|name| format!(" of {}", visible(name))).unwrap_or_default();
            let message = format!("{}{of} is given twice.", zone.replace('_', " "));
            return Err(Trouble::request(Some("verdict"), message, "Give each zone once."));
        }
    }
    Ok(verdicts)
}

/// "right.full=lean" as the cylinder and the rest; `verdict.full` and `all.full` are of all.
fn of_cylinder(word: &str) -> (Option<&str>, &str) {
    let zone = word.split('=').next().unwrap_or(word);
    match zone.split_once('.') {
        Some((ALL, _)) => (None, word.split_once('.').map_or(word, |(_, rest)| rest)),
        Some((name, _)) if name.trim() != "verdict" && zone_named(zone).is_none() => {
            (Some(name.trim()), word.split_once('.').map_or(word, |(_, rest)| rest))
        }
        _ => (None, word),
    }
}

/// A field of the outing typed like a setup's, `air.temp=24`, by its last name where one field ends so; none where the word is of
/// the verdict.
pub(in crate::commands) fn field_of(word: &str) -> Option<(String, String)> {
    let word = word.strip_prefix(ALL).and_then(|rest| rest.strip_prefix('.')).unwrap_or(word);
    let (name, value) = word.split_once('=')?;
    let (cylinder, _) = of_cylinder(word);
    let is_own = DocumentKind::Outing.catalogue().leaf(name.trim()).is_none()
        && cylinder.is_some_and(|name| wrong_name(name).is_none());
    if is_own && !value.trim().is_empty() {
        return None;
    }
    let name = if is_own { name.trim().to_owned() } else { name.trim().replace('-', "_") };
    if value.trim().is_empty()
        && let Some(zone) = zone_named(of_cylinder(&name).1)
    {
        // A verdict without a word is taken out.
        let of = of_cylinder(&name).0.map(|name| format!("{name}.")).unwrap_or_default();
        return Some((format!("{of}verdict.{zone}"), String::new()));
    }
    if is_of_a_verdict(&name) || name.starts_with("verdict.") && !value.trim().is_empty() {
        return None;
    }
    let name = match name.as_str() {
        "note" => "notes".to_owned(),
        "fixed" => "mended".to_owned(),
        _ => name,
    };
    let leaves = DocumentKind::Outing.catalogue().leaves();
    let mut ends_so = leaves.iter().filter(|(known, _)| known.rsplit('.').next() == Some(name.as_str()));
    let whole = if name.contains('.') || DocumentKind::Outing.catalogue().leaf(&name).is_some() {
        name
    } else {
        match (ends_so.next(), ends_so.next()) {
            (Some((only, _)), None) => only.clone(),
            _ => name,
        }
    };
    Some((whole, value.trim().to_owned()))
}

/// Whether a word stands where a zone and its verdict do: "full", "full=right".
pub(in crate::commands) fn is_of_a_verdict(word: &str) -> bool {
    let (_, zone) = of_cylinder(word);
    let zone = zone.split(['=', ',']).next().unwrap_or(word);
    word.contains('=') || zone_named(zone).is_some()
}

/// A throttle zone by its name, its share of the slide's lift (1/2, 0.5), or a beginning of idle or full.
fn zone_named(typed: &str) -> Option<&'static str> {
    let typed = typed.trim().to_lowercase().replace('-', "_");
    let begins =
        |name: &str| !typed.is_empty() && ["idle", "full"].contains(&name) && name.starts_with(&typed);
    let share: Option<f64> = typed.parse().ok();
    let is_it = |(name, short, lift): &&(&'static str, &str, f64)| {
        *name == typed
            || *short == typed
            || begins(name)
            || share.is_some_and(|share| nearly_equal(share, *lift))
    };
    ZONES.iter().find(is_it).map(|(name, _, _)| *name)
}

/// "1/2=slightly rich" as the fields of a verdict, said of a cylinder or of all.
fn judged(cylinder: Option<&str>, text: &str) -> Result<(String, Value), Trouble> {
    let (zone, word) = text.split_once('=').unwrap_or((text, ""));
    let known = zone_named(zone.trim().trim_start_matches("verdict."));
    // Cylinders are called by numbers: which of the two is meant is not guessed.
    let known = known.filter(|_| zone.trim() != "1");
    let wrong = |message: String, help: String| Err(Trouble::request(Some("verdict"), message, help));
    let as_typed =
        cylinder.map_or_else(|| visible(text), |name| format!("{}.{}", visible(name), visible(text)));
    match (known, Mixture::typed(word)) {
        (Some(name), Some(mixture)) => Ok((name.to_owned(), Value::String(mixture.word().to_owned()))),
        (None, _) if is_damage(zone) => {
            wrong(format!("\"{}\" is not a throttle zone.", visible(zone)), beside(cylinder, "full", zone))
        }
        (None, mixture) => {
            // Who says how something ran that is no throttle means the whole of a cylinder.
            let of_it = mixture.filter(|_| cylinder.is_none() && wrong_name(zone.trim()).is_none()).map(|mixture| {
                format!(" Of a cylinder that is called so: {}.full={}.", visible(zone.trim()), mixture.word())
            });
            let read_there = cylinder.map(|name| {
                format!(" What else is read at one cylinder: {name}.plug, {name}.piston and {name}.exhaust_gas.", name = visible(name))
            });
            wrong(
                format!("\"{}\" is not a throttle zone.", visible(zone)),
                nearest_and_all(
                    zone.trim(),
                    &["full", "idle"],
                    format!(
                        "Zones are idle, 1/8, 1/4, 1/2, 3/4 and full; write it like full=right.{}",
                        of_it.or(read_there).unwrap_or_default()
                    ),
                ),
            )
        }
        (Some(name), None) if is_damage(word) => {
            wrong(Mixture::why_none(word, &as_typed), beside(cylinder, name, word))
        }
        (Some(_), None) => wrong(
            Mixture::why_none(word, &as_typed),
            nearest_and_all(
                word.trim(),
                &["lean", "slightly-lean", "right", "slightly-rich", "rich"],
                "Verdicts are lean, slightly-lean (sl), right (r), slightly-rich (sr) and rich (ric, fat); write it like full=right."
                    .to_owned(),
            ),
        ),
    }
}

/// Whether a word that stands where a verdict belongs says what became of the engine, as a note would say it.
fn is_damage(word: &str) -> bool {
    lean_sign(&Outing { notes: Some(word.trim().to_owned()), ..Outing::default() }).is_some()
}

/// Where such a word belongs.
fn beside(cylinder: Option<&str>, zone: &str, word: &str) -> String {
    let (word, zone) = (visible(word.trim()), visible(zone));
    match cylinder.map(visible) {
        Some(name) => {
            format!("What it did is a note beside the verdict: {name}.{zone}=lean --note \"{name} {word}\".")
        }
        None => format!("What it did is a note beside the verdict: {zone}=lean --note \"{word}\"."),
    }
}

/// Minutes as the track says them: "3m" of a running time is 3 minutes, and no length.
fn minutes_in_full(typed: &str) -> String {
    let minutes = typed.trim().strip_suffix('m').map(str::trim_end);
    match minutes.filter(|number| number.parse::<f64>().is_ok()) {
        Some(number) => format!("{number} min"),
        None => typed.to_owned(),
    }
}
