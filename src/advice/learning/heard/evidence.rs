//! The bike's outings as they speak of its jetting: what each one's carburetor delivered, what its air wanted, how it was
//! judged, and how much that counts today.

use std::collections::{BTreeMap, BTreeSet};

use super::mark::{MarkedRun, mark_stands};

use super::weight::{FUEL, Numbered, Weight};
use super::words::sign_of_lean;
use crate::advice::learning::model::share::shared_out;
use crate::advice::learning::model::verdicts::{Judged, KINDS, Spoken};
use crate::advice::learning::settings::{CENTRE_SD, Settings};
use crate::advice::maps::trim::MAP;
use crate::advice::rejet;
use crate::air::{Air, Uncertainty};
use crate::notebook::{
    Combination, Doubted, FieldSet, JetBox, Mixture, NeedleBox, Setup, Shares, When, ZONES,
};
use crate::quantity::trimmed;
use crate::store::{Book, OutingRecord, SetupRecord, StoreError};

/// Seconds in a day.
const DAY: f64 = 86_400.0;

/// The least doubt of what a day's air asks for, ln fuel (common practice, no source): the gauges lie in the paddock and not
/// where the engine breathes.
pub(in crate::advice::learning) const LEAST_DOUBT: f64 = 0.004;

/// No more outings are asked than this, those of the bike's own combination first, then the newest: what lies further back says
/// nothing more, and an answer is waited for.
const MOST_WITNESSES: usize = 60;

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
    /// What is on the bike as it stands: the outings are asked how alike they are to that.
    pub now: &'a FieldSet,
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
    /// The mark of the baseline, where it is marked proven in the air it is reckoned from: the tuner vouches for it, which counts
    /// as one more verdict of right at full throttle (common practice, no source), on the parts that it ran. Not so where an
    /// outing of it was lean there in air that asked for no more.
    pub mark: Option<Spoken>,
    /// Other bikes of the garage with the same carburetor.
    pub sisters: Vec<Sister>,
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
    /// How alike it is to the bike as it stands.
    pub weight: Weight,
    /// Which parts ran, how long ago, and how well its air is known; its verdict is each zone's.
    pub run: Spoken,
    /// The word in its notes that makes it lean, whatever the verdict says.
    pub sign: Option<String>,
    /// The cylinder it was seen at, where that is another than the one asked about.
    pub cylinder: Option<String>,
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
    /// Outings of the cylinder that is asked about, and of a bike with one.
    pub fn own(&self) -> impl Iterator<Item = &Witness> {
        self.witnesses.iter().filter(|witness| witness.cylinder.is_none())
    }

    /// Outings that speak of a zone, those of other cylinders among them.
    pub fn of<'e>(&'e self, zone: &'e str) -> impl Iterator<Item = (&'e Witness, &'e ZoneVerdict)> {
        self.witnesses.iter().filter_map(move |witness| Some((witness, witness.of(zone)?)))
    }
}

/// Asks every outing of the bike.
pub fn gather(book: &Book<'_>, baseline: &Baseline<'_>, settings: &Settings) -> Result<Evidence, StoreError> {
    let bike = &baseline.record.bike;
    let mut outings = book.outings(bike)?;
    let latest = baseline.today.unix() + GRACE;
    let mut evidence = Evidence::default();
    let in_the_future = |record: &OutingRecord| record.outing.date.unix() > latest;
    for record in outings.extract_if(.., |record| in_the_future(record)) {
        evidence.silent.push((record, "its date lies in the future".to_owned()));
    }
    let calendar = Calendar::of(&outings);
    let setups = Setups::that_ran(book, bike, &outings)?;
    let neighbours =
        if settings.cylinders_are_related() { neighbours(book, bike, latest)? } else { Vec::new() };
    let mut numbered = Numbered::from(baseline.now);
    let own = outings.iter().map(|record| (record, &setups, (0, None)));
    let others = (1..).zip(&neighbours).flat_map(|(number, Neighbour { name, outings, setups })| {
        outings.iter().map(move |record| (record, setups, (number, Some(name.as_str()))))
    });
    let mut beside = Evidence::default();
    for (record, setups, at) in own.chain(others) {
        let Some((number, other)) = record.setup.and_then(|number| Some((number, setups.at(number)?))) else {
            continue;
        };
        if verdicts(record).is_empty() {
            continue;
        }
        let ran = numbered.of(&other.fields);
        let when = calendar.since(record.outing.date);
        let to = if at.0 == 0 { &mut evidence } else { &mut beside };
        JudgedOuting { record: record.clone(), number, other, ran, when, at }.ask(baseline, settings, to);
    }
    if let Some(cylinder) = book.cylinder().filter(|_| !beside.witnesses.is_empty()) {
        beside.leave_what_is_said_of_all(cylinder, &book.of_all().outings(bike)?);
        beside.leave_what_is_a_neighbours_own(&evidence.witnesses, settings.spreads.cylinders);
        evidence.take_in(beside);
    }
    evidence.keep_the_nearest();
    evidence.mark = mark(baseline, &outings, &mut numbered, &calendar);
    Ok(evidence)
}

/// Another cylinder of the engine: what was seen there, on which setups.
struct Neighbour {
    name: String,
    outings: Vec<OutingRecord>,
    setups: Setups,
}

/// The other cylinders of the one that a book tells of; none where it tells of a bike. `latest` is the last second that is believed.
fn neighbours(book: &Book<'_>, bike: &str, latest: i64) -> Result<Vec<Neighbour>, StoreError> {
    let mut neighbours = Vec::new();
    for (name, book) in book.neighbours(bike)? {
        let mut outings = book.outings(bike)?;
        outings.retain(|record| record.outing.date.unix() <= latest);
        let setups = Setups::that_ran(&book, bike, &outings)?;
        neighbours.push(Neighbour { name, outings, setups });
    }
    Ok(neighbours)
}

/// The baseline's mark as a verdict.
fn mark<'n>(
    baseline: &'n Baseline<'_>,
    outings: &[OutingRecord],
    numbered: &mut Numbered<'n>,
    calendar: &Calendar,
) -> Option<Spoken> {
    let runs: Vec<MarkedRun> = outings
        .iter()
        .filter(|record| record.setup == Some(baseline.record.number))
        .map(|record| marked_run(baseline, record))
        .collect();
    if !baseline.vouched_for || !mark_stands(&runs) {
        return None;
    }
    let (days, running_days) = calendar.since(baseline.record.date);
    Some(Spoken {
        ran: numbered.of(&baseline.whole.fields),
        days,
        running_days,
        doubt: LEAST_DOUBT,
        ..Spoken::plain(0.0, 0.0, Judged::Right)
    })
}

/// A run of the baseline beside its mark.
fn marked_run(baseline: &Baseline<'_>, record: &OutingRecord) -> MarkedRun {
    let outing = &record.outing;
    let air = outing.air.as_ref().filter(|_| !outing.doubts(Doubted::Air)).and_then(|air| air.air().ok());
    let setup = baseline.whole.setup.as_ref();
    MarkedRun {
        full: outing.verdict.as_ref().and_then(|verdict| verdict.full),
        signed: sign_of_lean(outing).is_some(),
        factor: air
            .zip(setup)
            .and_then(|(air, setup)| rejet::factor_between(setup, baseline.air, air, None).ok()),
        closed: outing.is_closed(),
    }
}

/// The days on which the bike ran.
struct Calendar {
    days: BTreeSet<i64>,
    newest: i64,
}

impl Calendar {
    fn of(outings: &[OutingRecord]) -> Self {
        let days: BTreeSet<i64> = outings.iter().map(|record| day(record.outing.date)).collect();
        let newest = outings.iter().map(|record| record.outing.date.unix()).max().unwrap_or_default();
        Self { days, newest }
    }

    /// Days before the newest outing, and days of running since.
    fn since(&self, date: When) -> (f64, f64) {
        #[expect(clippy::cast_precision_loss, reason = "seconds of some years are far below 2^52")]
        let days = (self.newest - date.unix()).max(0) as f64 / DAY;
        #[expect(clippy::cast_precision_loss, reason = "a bike does not run on so many days")]
        let running = self.days.range(day(date) + 1..).count() as f64;
        (days, running)
    }
}

/// The number of a day where it was run.
fn day(date: When) -> i64 {
    date.unix().div_euclid(86_400)
}

impl Evidence {
    /// Takes in what was seen at other cylinders, the cylinder's own behind it in each outing.
    fn take_in(&mut self, beside: Self) {
        self.witnesses.splice(0..0, beside.witnesses);
        self.witnesses.sort_by_key(|witness| (witness.outing.outing.date.unix(), witness.setup));
    }

    /// A verdict that was said of all cylinders is one, however many it holds for: it speaks for the one that is asked about, or where
    /// that has its own for one of the others. `outings` are as they were written.
    fn leave_what_is_said_of_all(&mut self, asked: &str, outings: &[OutingRecord]) {
        let mut heard: BTreeSet<(String, &'static str)> = BTreeSet::new();
        for witness in &mut self.witnesses {
            let written = outings.iter().find(|record| record.id == witness.outing.id);
            let has_own = |cylinder: &str, zone: &str| {
                let own = written.and_then(|record| record.outing.cylinder.get(cylinder)?.verdict.as_ref());
                own.is_some_and(|own| own.zones().iter().any(|(judged, _)| *judged == zone))
            };
            let (name, id) = (witness.cylinder.clone().unwrap_or_default(), witness.outing.id.clone());
            witness.verdicts.retain(|ZoneVerdict { zone, .. }| {
                has_own(&name, zone) || (has_own(asked, zone) && heard.insert((id.clone(), *zone)))
            });
        }
        self.witnesses.retain(|witness| !witness.verdicts.is_empty());
    }

    /// Leaves out what lies so far back, or is so unlike, that it says nothing more.
    fn keep_the_nearest(&mut self) {
        while self.witnesses.len() > MOST_WITNESSES {
            let far = self.witnesses.iter().position(|witness| !witness.weight.is_own()).unwrap_or(0);
            let witness = self.witnesses.remove(far);
            self.silent.push((witness.outing, "so many others are nearer".to_owned()));
        }
    }
}

/// A judged outing that is asked.
struct JudgedOuting<'o> {
    record: OutingRecord,
    number: u32,
    /// The setup it ran.
    other: &'o Combination,
    /// The parts that ran.
    ran: [u16; KINDS],
    /// Days before the newest outing, and days of running since.
    when: (f64, f64),
    /// The cylinder: 0 is the one asked about, another has its name.
    at: (u16, Option<&'o str>),
}

impl JudgedOuting<'_> {
    /// Adds what it says, or why it says nothing.
    fn ask(self, baseline: &Baseline<'_>, settings: &Settings, evidence: &mut Evidence) {
        let heard = match heard(baseline, &self.record, self.other) {
            Ok(heard) => heard,
            Err(why) => return evidence.silent.push((self.record, why)),
        };
        let mut ran = self.ran;
        if !heard.fuel_is_known {
            // Each such fuel is one of its own; which, its setup knows.
            ran[FUEL] = u16::try_from(self.number).unwrap_or(u16::MAX).max(1);
        }
        let (days, running_days) = self.when;
        let run = Spoken {
            ran,
            cylinder: self.at.0,
            days,
            running_days,
            doubt: heard.doubt,
            ..Spoken::plain(0.0, heard.factor.ln(), Judged::Right)
        };
        evidence.witnesses.push(Witness {
            sign: sign_of_lean(&self.record.outing),
            weight: Weight::of(CENTRE_SD / rejet::USUAL_EXPONENT, &settings.spreads, &run),
            outing: self.record,
            setup: self.number,
            factor: heard.factor,
            verdicts: heard.verdicts,
            run,
            cylinder: self.at.1.map(str::to_owned),
        });
    }
}

/// What was judged, by zone. A word like "seized" makes full throttle lean, and every other zone that was called right or rich
/// says nothing beside it.
fn verdicts(record: &OutingRecord) -> Vec<(&'static str, Judged)> {
    let judged = record.outing.verdict.as_ref().map(crate::notebook::Verdict::zones).unwrap_or_default();
    let mut verdicts: Vec<(&'static str, Judged)> =
        judged.into_iter().map(|(zone, mixture)| (zone, as_judged(mixture))).collect();
    // What was found and mended speaks of that, and not of the jetting.
    if record.outing.is_closed() {
        let sign = sign_of_lean(&record.outing).is_some();
        verdicts.retain(|(zone, judged)| {
            let lean = matches!(judged, Judged::Lean | Judged::SlightlyLean);
            !lean && (!sign || *zone != "full")
        });
        return verdicts;
    }
    if sign_of_lean(&record.outing).is_some() {
        verdicts.retain(|(zone, judged)| {
            *zone != "full" && matches!(judged, Judged::Lean | Judged::SlightlyLean)
        });
        verdicts.push(("full", Judged::Lean));
    }
    verdicts
}

/// What an outing says once its air, its fuel and its carburetor are reckoned.
struct Heard {
    factor: f64,
    fuel_is_known: bool,
    doubt: f64,
    verdicts: Vec<ZoneVerdict>,
}

fn heard(baseline: &Baseline<'_>, record: &OutingRecord, other: &Combination) -> Result<Heard, String> {
    if record.outing.doubts(Doubted::Air) {
        return Err("its air is doubted".to_owned());
    }
    let entry = record.outing.air.as_ref().ok_or("its air was not written down")?;
    let unread = |error: crate::notebook::AirEntryError| format!("its air cannot be read: {error}");
    let air = entry.air().map_err(unread)?;
    let doubt = entry.reading().map_err(unread)?.uncertainty().ok();
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
        _ => {
            let doubt = doubt.map_or(LEAST_DOUBT, |doubt| doubt_of(&air, &doubt));
            Ok(Heard { factor, fuel_is_known, doubt, verdicts: spoken })
        }
    }
}

/// Doubt of what an air asks for, a standard deviation in ln fuel: of the oxygen, the venturi's part aside, which takes a little of it
/// back.
pub fn doubt_of(air: &Air, doubt: &Uncertainty) -> f64 {
    (doubt.dry_density / air.dry_density()).max(LEAST_DOUBT)
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
        let (mut read, mut files) = (BTreeMap::new(), Vec::new());
        for record in book.setups(bike)?.into_iter().filter(|record| ran.contains(&record.number)) {
            match book.read_or_files(bike, &record)? {
                Ok(whole) => drop(read.insert(record.number, whole)),
                Err(unread) => files.push((record, unread)),
            }
        }
        let wholes = shared_out(&files, 1, |(_, files)| Combination::read(files, false));
        for ((record, _), whole) in files.iter().zip(wholes) {
            read.insert(record.number, book.keep_read(bike, record, whole)?);
        }
        Ok(Self { read })
    }

    fn at(&self, number: u32) -> Option<&Combination> {
        self.read.get(&number)
    }
}

/// The zones with their share of the slide's lift.
pub(in crate::advice::learning) fn zones() -> impl Iterator<Item = (&'static str, f64)> {
    ZONES.iter().map(|(name, _, lift)| (*name, *lift))
}

/// A verdict as the model takes it.
pub fn as_judged(mixture: Mixture) -> Judged {
    match mixture {
        Mixture::Lean => Judged::Lean,
        Mixture::SlightlyLean => Judged::SlightlyLean,
        Mixture::Right => Judged::Right,
        Mixture::SlightlyRich => Judged::SlightlyRich,
        Mixture::Rich => Judged::Rich,
    }
}

/// Another bike of the garage with the same carburetor.
#[derive(Debug, Clone)]
pub struct Sister {
    /// The bike.
    pub bike: String,
    /// What its outings say of its own baseline.
    pub evidence: Evidence,
}

/// A verdict as the model takes it.
pub(in crate::advice::learning) fn spoken(witness: &Witness, verdict: &ZoneVerdict) -> Spoken {
    Spoken { delivered: verdict.delivered.ln(), judged: verdict.judged, ..witness.run }
}
