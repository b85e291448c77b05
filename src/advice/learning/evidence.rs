//! The bike's outings as they speak of its jetting: what each one's carburetor delivered, what its air wanted, how it was
//! judged, and how much that counts today.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use super::settings::Settings;
use super::share::shared_out;
use super::verdicts::Judged;
use super::weight::{Weight, is_of_mixture, other_parts, same_mixture};
use super::words::sign_of_lean;
use crate::advice::rejet;
use crate::advice::trim_map::MAP;
use crate::air::Air;
use crate::notebook::{
    Combination, Doubted, FieldSet, JetBox, Mixture, NeedleBox, Setup, Shares, When, ZONES, differing,
    section_of,
};
use crate::quantity::trimmed;
use crate::store::{Book, OutingRecord, SetupRecord, StoreError};

/// A verdict that counts less than this is not asked (common practice, no source): it could not move the answer.
const LEAST_WEIGHT: f64 = 0.01;

/// An outing may be dated so much after today, s: a day for clocks and zones, as when it is logged.
const GRACE: i64 = 86_400;

/// A carburetor that delivers so many times the baseline's fuel, or so small a part of it, was written down wrongly.
const LIKELY: std::ops::RangeInclusive<f64> = 0.33..=3.0;

/// What the jetting starts from: the setup that is right, and the air it is right in.
#[derive(Debug, Clone, Copy)]
pub struct Baseline<'a> {
    /// Its record.
    pub record: &'a SetupRecord,
    /// Its files.
    pub whole: &'a Combination,
    /// Its air.
    pub air: Air,
    /// Whether it is marked proven in that air.
    pub vouched_for: bool,
    /// The day on which it is asked: what is dated later is not believed.
    pub today: When,
    /// The jets in the box.
    pub jets: &'a JetBox,
    /// The needles.
    pub needles: &'a NeedleBox,
    /// The rules of the trade.
    pub shares: &'a Shares,
}

/// Everything the record says.
#[derive(Debug, Clone, Default)]
pub struct Evidence {
    /// The outings that speak, oldest first.
    pub witnesses: Vec<Witness>,
    /// Those that were judged and cannot speak, with why, without a full stop.
    pub silent: Vec<(OutingRecord, String)>,
    /// Whether the baseline is marked proven in the air it is reckoned from: the tuner vouches for it, which counts as one more
    /// verdict of right at full throttle (common practice, no source). Not so where an outing of it was lean there.
    pub vouched_for: bool,
}

/// One outing that speaks.
#[derive(Debug, Clone)]
pub struct Witness {
    /// The outing.
    pub outing: OutingRecord,
    /// Number of the setup it ran.
    pub setup: u32,
    /// The factor K on the fuel that its air and fuel wanted, against the baseline's. A pure number.
    pub factor: f64,
    /// Its verdicts.
    pub verdicts: Vec<ZoneVerdict>,
    /// What they count.
    pub weight: Weight,
    /// The word in its notes that makes it lean, whatever the verdict says.
    pub sign: Option<String>,
}

/// What one outing says of one throttle zone.
#[derive(Debug, Clone, Copy)]
pub struct ZoneVerdict {
    /// The zone, as in [`ZONES`].
    pub zone: &'static str,
    /// How it was judged.
    pub judged: Judged,
    /// What its carburetor delivered there over what the baseline's delivers. A pure number.
    pub delivered: f64,
}

impl Witness {
    /// What it says of a zone.
    pub fn of(&self, zone: &str) -> Option<&ZoneVerdict> {
        self.verdicts.iter().find(|verdict| verdict.zone == zone)
    }
}

impl Evidence {
    /// Outings that speak of a zone.
    pub fn of<'e>(&'e self, zone: &'e str) -> impl Iterator<Item = (&'e Witness, &'e ZoneVerdict)> {
        self.witnesses.iter().filter_map(move |witness| Some((witness, witness.of(zone)?)))
    }
}

/// Asks every outing of the bike.
pub fn gather(book: &Book<'_>, baseline: &Baseline<'_>, settings: &Settings) -> Result<Evidence, StoreError> {
    let bike = &baseline.record.bike;
    let outings = book.outings(bike)?;
    let latest = baseline.today.unix() + GRACE;
    let dates = outings.iter().map(|record| record.outing.date);
    let Some(newest) = dates.filter(|date| date.unix() <= latest).max() else {
        return Ok(Evidence::default());
    };
    let setups = Setups::that_ran(book, bike, &outings)?;
    let mut evidence = Evidence { vouched_for: baseline.vouched_for, ..Evidence::default() };
    let mut ran_before: Option<u32> = None;
    let mut changed: BTreeMap<u32, Vec<String>> = BTreeMap::new();
    for record in outings {
        if record.outing.date > newest {
            evidence.silent.push((record, "its date lies in the future".to_owned()));
            continue;
        }
        let Some(number) = record.setup else { continue };
        // What was changed before a setup ran first holds for all its outings.
        let at_once = match changed.entry(number) {
            Entry::Occupied(known) => known.get().clone(),
            Entry::Vacant(new) => new.insert(setups.changed_between(ran_before, number)).clone(),
        };
        ran_before = Some(number);
        if let Some(other) = setups.at(number).filter(|_| !verdicts(&record).is_empty()) {
            let outing = Asked { record, number, other, at_once, newest };
            outing.ask(baseline, settings, &mut evidence);
        }
    }
    let lean = |witness: &Witness| {
        let full = witness.of("full").map(|verdict| verdict.judged);
        witness.setup == baseline.record.number && matches!(full, Some(Judged::Lean | Judged::SlightlyLean))
    };
    evidence.vouched_for &= !evidence.witnesses.iter().any(lean);
    Ok(evidence)
}

/// A judged outing that is asked.
struct Asked<'o> {
    record: OutingRecord,
    number: u32,
    /// The setup it ran.
    other: &'o Combination,
    /// The sections that were changed at once before that setup ran first.
    at_once: Vec<String>,
    /// Date of the bike's newest outing.
    newest: When,
}

impl Asked<'_> {
    /// Adds what it says, or why it says nothing.
    fn ask(self, baseline: &Baseline<'_>, settings: &Settings, evidence: &mut Evidence) {
        let heard = match heard(baseline, &self.record, self.other) {
            Ok(heard) => heard,
            Err(why) => return evidence.silent.push((self.record, why)),
        };
        let parts = other_parts(&baseline.whole.fields, &self.other.fields);
        // A setup with the baseline's own mixture speaks of it, whatever was changed on the way there.
        let at_once =
            if same_mixture(&baseline.whole.fields, &self.other.fields) { Vec::new() } else { self.at_once };
        let dates = (self.record.outing.date, self.newest);
        let weight = Weight::new(settings, dates, parts, at_once, heard.fuel_is_known);
        if weight.total < LEAST_WEIGHT {
            let why = format!("too little is left of its weight ({})", weight.words());
            return evidence.silent.push((self.record, why));
        }
        evidence.witnesses.push(Witness {
            sign: sign_of_lean(&self.record.outing),
            outing: self.record,
            setup: self.number,
            factor: heard.factor,
            verdicts: heard.verdicts,
            weight,
        });
    }
}

/// What was judged, by zone. A word like "seized" makes full throttle lean, and every other zone that was called right or rich
/// says nothing beside it.
fn verdicts(record: &OutingRecord) -> Vec<(&'static str, Judged)> {
    let judged = record.outing.verdict.as_ref().map(crate::notebook::Verdict::zones).unwrap_or_default();
    let mut verdicts: Vec<(&'static str, Judged)> =
        judged.into_iter().map(|(zone, mixture)| (zone, as_judged(mixture))).collect();
    if sign_of_lean(&record.outing).is_some() {
        verdicts.retain(|(zone, judged)| {
            *zone != "full" && matches!(judged, Judged::Lean | Judged::SlightlyLean)
        });
        verdicts.push(("full", Judged::Lean));
    }
    verdicts
}

fn as_judged(mixture: Mixture) -> Judged {
    match mixture {
        Mixture::Lean => Judged::Lean,
        Mixture::SlightlyLean => Judged::SlightlyLean,
        Mixture::Right => Judged::Right,
        Mixture::SlightlyRich => Judged::SlightlyRich,
        Mixture::Rich => Judged::Rich,
    }
}

/// What an outing says once its air, its fuel and its carburetor are reckoned.
struct Heard {
    factor: f64,
    fuel_is_known: bool,
    verdicts: Vec<ZoneVerdict>,
}

fn heard(baseline: &Baseline<'_>, record: &OutingRecord, other: &Combination) -> Result<Heard, String> {
    if record.outing.doubts(Doubted::Air) {
        return Err("its air is doubted".to_owned());
    }
    let entry = record.outing.air.as_ref().ok_or("its air was not written down")?;
    let air = entry.air().map_err(|error| format!("its air cannot be read: {error}"))?;
    let (Some(setup), Some(ran)) = (&baseline.whole.setup, &other.setup) else {
        return Err(format!("setup {} cannot be read", record.setup.unwrap_or_default()));
    };
    if setup.injection.is_some() && !same_map(&baseline.whole.fields, &other.fields) {
        return Err("the fuel map differs".to_owned());
    }
    let (factor, fuel_is_known) = wanted(baseline, setup, ran, air)?;
    let delivered = rejet::delivered_at(setup, ran, baseline.jets, baseline.needles, baseline.shares);
    let mut why = None;
    let mut spoken = Vec::new();
    for (zone, judged) in verdicts(record) {
        match delivered.iter().find(|(name, _)| *name == zone) {
            Some((_, Ok(delivered))) if !LIKELY.contains(delivered) => {
                why = Some(format!(
                    "its carburetor would deliver {} times the baseline's fuel",
                    trimmed(*delivered, 2)
                ));
            }
            Some((_, Ok(delivered))) => {
                spoken.push(ZoneVerdict { zone, judged, delivered: *delivered });
            }
            Some((_, Err(words))) => why = Some(words.clone()),
            None => {}
        }
    }
    match why {
        Some(why) if spoken.is_empty() => Err(why),
        _ => Ok(Heard { factor, fuel_is_known, verdicts: spoken }),
    }
}

/// Whether the fuel map is the same, wherever it is kept.
fn same_map(one: &FieldSet, other: &FieldSet) -> bool {
    match (one.map(MAP), other.map(MAP)) {
        (Some(one), Some(other)) => one.same_as(other),
        (one, other) => one.is_none() && other.is_none(),
    }
}

/// The factor its air and fuel wanted; without the fuel's part, and saying so, where the two fuels cannot be set against each
/// other.
fn wanted(baseline: &Baseline<'_>, setup: &Setup, ran: &Setup, air: Air) -> Result<(f64, bool), String> {
    let words = |error: rejet::RejetError| error.to_string().trim_end_matches('.').to_owned();
    match rejet::factor_between(setup, baseline.air, air, ran.fuel.as_ref()) {
        Ok(factor) => Ok((factor, true)),
        Err(_) => Ok((rejet::factor_between(setup, baseline.air, air, None).map_err(words)?, false)),
    }
}

/// The setups that ran, each read once.
struct Setups {
    read: BTreeMap<u32, Combination>,
}

impl Setups {
    /// Reads those of the outings. Fetching is the repository's, one after the other; reading what was fetched is not, and is
    /// most of the work.
    fn that_ran(book: &Book<'_>, bike: &str, outings: &[OutingRecord]) -> Result<Self, StoreError> {
        let ran: BTreeSet<u32> = outings.iter().filter_map(|record| record.setup).collect();
        let mut files = Vec::new();
        for record in book.setups(bike)?.iter().filter(|record| ran.contains(&record.number)) {
            files.push((record.number, book.files(bike, Some(record))?));
        }
        let read = shared_out(&files, 1, |(number, files)| (*number, Combination::read(files, false)));
        Ok(Self { read: read.into_iter().collect() })
    }

    fn at(&self, number: u32) -> Option<&Combination> {
        self.read.get(&number)
    }

    /// Sections that the mixture depends on and in which the setup that ran before and this one differ, when they are several.
    fn changed_between(&self, before: Option<u32>, number: u32) -> Vec<String> {
        let Some((before, now)) = before.and_then(|before| self.at(before)).zip(self.at(number)) else {
            return Vec::new();
        };
        let sections: BTreeSet<&str> = differing(&before.fields, &now.fields)
            .filter(|field| is_of_mixture(field))
            .map(section_of)
            .collect();
        if sections.len() > 1 { sections.into_iter().map(str::to_owned).collect() } else { Vec::new() }
    }
}

/// The zones with their share of the slide's lift.
pub(super) fn zones() -> impl Iterator<Item = (&'static str, f64)> {
    ZONES.iter().map(|(name, _, lift)| (*name, *lift))
}
