//! Outings: what is logged, mended, listed, shown and removed.

pub(super) mod calls;
pub mod imported;
mod judged;
mod logged;
pub mod sheet;
pub(in crate::report) mod text;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use self::judged::{Judged, SeenAt, ZoneVerdicts, nothing_seen, what_was_seen};
use crate::advice::closing::taken_back;
use crate::advice::conditions::kept::Served;
use crate::advice::held::is_of_the_run;
use crate::advice::learning::OwnNames;
use crate::advice::runs::RunOnBike;
use crate::notebook::maps::dyno::Curve;
use crate::notebook::{Doubted, OF_PART, OutingKind};
use crate::report::KeptAir;
use crate::report::history::noted_air::NotedAir;
use crate::report::history::ran::Ran;
use crate::report::out::figure::Figure;
use crate::report::out::ways;
use crate::report::words::layout::DATE;
use crate::store::{BikeJobs, OutingRecord, Removed, SetupRecord};

/// One of four answers, after what was asked.
#[derive(Debug, JsonSchema)]
#[schemars(untagged)]
pub enum OutingAnswer<'a> {
    /// outing add and outing edit
    Written(OutingWritten<'a>),
    /// outing list
    Listed(OutingList<'a>),
    /// outing show
    Shown(OutingPage<'a>),
    /// outing remove
    Removed(OutingRemoved<'a>),
}

/// An outing.
#[derive(Debug, Serialize, JsonSchema)]
pub struct OutingEntry<'a> {
    /// Identity of the outing: 12 hex digits.
    #[schemars(regex(pattern = "^[0-9a-f]{12}$"))]
    pub(super) id: &'a str,
    /// When it was, with its offset, like 2026-05-16T10:30+02:00.
    #[schemars(regex(pattern = DATE))]
    pub(super) date: String,
    /// Where the bike ran.
    pub(super) kind: OutingKind,
    /// Where it was.
    pub(super) place: Option<&'a str>,
    /// Which session.
    pub(super) session: Option<&'a str>,
    /// Who logged it, where several record; not there where that was not looked up or is not known.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pub(super) author: Option<String>,
    /// Number of the setup it ran; null when that is not known.
    #[schemars(range(min = 1))]
    pub(super) setup: Option<u32>,
    /// Running time, hours.
    hours: Option<Figure<4>>,
    /// How often the engine was started; null where it was not said, which counts as once.
    starts: Option<Figure<0>>,
    /// The hour meter's reading at the end, hours.
    meter: Option<Figure<4>>,
    /// Highest coolant temperature, degrees Celsius.
    coolant_c: Option<Figure<2>>,
    /// Highest exhaust-gas temperature, degrees Celsius.
    exhaust_gas_c: Option<Figure<2>>,
    /// Highest engine speed, revolutions per minute.
    peak_rpm: Option<Figure<0>>,
    /// The mixture by throttle zone, only the zones that were judged; where a cylinder was judged by itself, of each under its name.
    #[serde(rename = "verdict")]
    judged: Judged<'a>,
    /// What was judged of all cylinders.
    #[serde(skip)]
    pub(super) verdict: ZoneVerdicts,
    /// The air it ran in.
    pub(super) air: Option<NotedAir>,
    /// Plug reading.
    pub(super) plug: Option<&'a str>,
    /// Piston reading.
    pub(super) piston: Option<&'a str>,
    /// Best lap or run, as typed.
    pub(super) lap: Option<&'a str>,
    /// How it felt, in the rider's words.
    pub(super) feel: Option<&'a str>,
    /// Anything else.
    pub(super) notes: Option<&'a str>,
    /// What made it run lean, once that was found and was not the jetting; null where it was not said.
    pub(super) cause: Option<&'a str>,
    /// What was done about the cause; null where it was not said.
    pub(super) mended: Option<&'a str>,
    /// What of it is doubted: left out of what is learned and counted until it is confirmed.
    pub(super) doubted: &'a [Doubted],
    /// What was seen at single ones of several cylinders besides the mixture, by name; what is not said there is as said of all. Not there
    /// where nothing was.
    #[serde(skip_serializing_if = "nothing_seen", serialize_with = "what_was_seen")]
    pub(super) cylinders: BTreeMap<&'a str, SeenAt<'a>>,
    /// Its file in the garage.
    file: String,
    /// What was written down, with quantities as they were typed.
    #[serde(skip)]
    pub(super) record: &'a OutingRecord,
    /// Names that stand for an engine in its words.
    #[serde(skip)]
    pub(super) own: OwnNames,
}

/// An outing that was logged or mended.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "add and edit")]
pub struct OutingWritten<'a> {
    /// Folder name of the bike.
    pub(super) bike: &'a str,
    /// The outing that was logged, or as it is now.
    pub(super) outing: OutingEntry<'a>,
    /// The outing as it was before it was mended; null where it was logged.
    pub(super) before: Option<OutingEntry<'a>>,
    /// That it is of another day than somebody may think.
    #[serde(skip)]
    pub(super) another_day: Option<String>,
    /// Jobs that were still open at the bike and are taken as done with this run.
    pub(super) taken_as_done: Vec<&'a str>,
    /// Their numbers and parts, where all of them are of parts.
    #[serde(skip)]
    pub(super) parts_done: Vec<(u32, &'a str)>,
    /// Those of them that the fuel hangs on.
    #[serde(skip)]
    pub(super) of_fuel: Vec<&'a str>,
    /// Number of the setup that it ran if it ran without them; null where none was open, or no setup is as the bike stood.
    #[schemars(range(min = 1))]
    pub(super) without_them: Option<u32>,
    /// What must not be run like that in those jobs, a sentence each, as it was said when they were recorded.
    pub(super) cautions: &'a [String],
    /// What was not typed and is as last on the day: bike, place, session.
    pub(super) taken: &'a [&'static str],
    /// The kept air that it ran in; null where its air was typed, or there is none.
    kept: Option<KeptAir>,
    /// Where its air is from, in words.
    #[serde(skip)]
    pub(super) from: Option<String>,
    /// What else should be known.
    pub(super) remarks: &'a [String],
    /// What forbids to run it on, a sentence each: its engine is not put together.
    pub(super) stops: &'a [String],
    /// Whether nobody is to vouch for what ran: it said before that it ran lean, or something forbids to run it on.
    #[serde(skip)]
    pub(super) taken_back: bool,
    /// Whether it is the bike's last.
    #[serde(skip)]
    pub(super) last: bool,
}

/// What was still open when a run was logged, as a page asks it.
pub(in crate::report) struct OpenOnAPage {
    /// What was open, in words.
    pub(in crate::report) what: String,
    /// Whether it must be answered before its verdict counts for its setup.
    pub(in crate::report) is_asked: bool,
    /// The setup that it is logged on.
    pub(in crate::report) setup: Option<u32>,
    /// The one that it ran without them; none where no setup is as the bike stood.
    pub(in crate::report) without: Option<u32>,
    /// Numbers and names, where all of them are of parts.
    pub(in crate::report) parts: Vec<(u32, String)>,
}

/// A bike's outings.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "list")]
pub struct OutingList<'a> {
    /// Folder name of the bike.
    pub(super) bike: &'a str,
    /// Outings, newest first where no other order was asked for.
    pub(super) outings: Vec<ListedOuting<'a>>,
    /// Files that cannot be read, with what is wrong in them.
    pub(super) unreadable: Vec<String>,
    /// Head of the column that they are in order by.
    #[serde(skip)]
    pub(super) by: &'a str,
    /// Bikes that ran besides, where none was named and the one of the day is shown.
    #[serde(skip)]
    pub(super) others: Option<Vec<String>>,
}

/// An outing, with what was on the bike.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct ListedOuting<'a> {
    /// The outing.
    #[serde(flatten)]
    pub(super) outing: OutingEntry<'a>,
    /// What was on the bike.
    pub(super) ran: Ran,
}

/// An outing, with its dyno curve.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "show")]
pub struct OutingPage<'a> {
    /// The outing.
    #[serde(flatten)]
    pub(super) outing: OutingEntry<'a>,
    /// The dyno curve as measured; null when there is none.
    pub(super) dyno: Option<DynoCurve<'a>>,
    /// Others that bear the same minute, where the last was asked for.
    #[serde(skip)]
    pub(super) tied: &'a [OutingRecord],
}

/// A dyno curve as measured.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct DynoCurve<'a> {
    /// What was measured, with its unit, as the file's head says.
    pub(super) column: &'a str,
    /// Engine speed in rpm and the value measured there.
    pub(super) points: Vec<DynoPoint>,
    /// The same, to look for its peak.
    #[serde(skip)]
    pub(super) curve: &'a Curve,
}

/// One point of a dyno curve.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct DynoPoint(
    /// Engine speed, rpm.
    pub(super) f64,
    /// Measured value, in the column's unit.
    pub(super) f64,
);

/// An outing that was removed.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "remove")]
pub struct OutingRemoved<'a> {
    /// Folder name of the bike.
    pub(super) bike: &'a str,
    /// Identity of the outing that was removed.
    pub(super) id: &'a str,
    /// Files that were removed, relative to the garage: the outing's, and its dyno curve's.
    pub(super) files: Vec<String>,
    /// What the outing was; null where its file could not be read.
    pub(super) removed: Option<OutingEntry<'a>>,
    /// What goes with it: a seizure that forbade something.
    pub(super) remarks: Vec<String>,
}

impl<'a> OutingEntry<'a> {
    /// The same in a garage whose bikes and engines have these names.
    #[must_use]
    pub(super) fn among(self, own: OwnNames) -> Self {
        Self { own, ..self }
    }

    /// The same with who logged it.
    #[must_use]
    pub fn by(self, authors: &BTreeMap<String, String>) -> Self {
        Self { author: authors.get(self.id).cloned(), ..self }
    }

    /// A recorded outing.
    pub fn of(record: &'a OutingRecord) -> Self {
        let outing = &record.outing;
        Self {
            id: &record.id,
            date: outing.date.to_string(),
            kind: outing.kind,
            place: outing.place.as_deref(),
            session: outing.session.as_deref(),
            author: None,
            setup: record.setup,
            hours: outing.hours.as_ref().map(|hours| Figure(hours.si() / 3600.0)),
            starts: outing.starts.as_ref().map(|starts| Figure(starts.si())),
            meter: outing.meter.as_ref().map(|hours| Figure(hours.si() / 3600.0)),
            coolant_c: outing.coolant.as_ref().map(|temperature| Figure(temperature.si() - 273.15)),
            exhaust_gas_c: outing.exhaust_gas.as_ref().map(|temperature| Figure(temperature.si() - 273.15)),
            peak_rpm: outing.peak.as_ref().map(|speed| Figure(speed.si())),
            judged: Judged::of(record),
            verdict: outing.verdict.as_ref().map(ZoneVerdicts::of).unwrap_or_default(),
            air: outing.air.as_ref().map(NotedAir::of),
            plug: outing.plug.as_deref(),
            piston: outing.piston.as_deref(),
            lap: outing.lap.as_deref(),
            feel: outing.feel.as_deref(),
            notes: outing.notes.as_deref(),
            cause: outing.cause.as_deref(),
            mended: outing.mended.as_deref(),
            doubted: &outing.doubted,
            cylinders: outing.cylinder.iter().map(|(name, own)| (name.as_str(), SeenAt::of(own))).collect(),
            file: path(&record.file),
            record,
            own: OwnNames::of(
                std::iter::once(record.bike.as_str()).chain(outing.cylinder.keys().map(String::as_str)),
            ),
        }
    }
}

impl<'a> OutingWritten<'a> {
    /// An outing that was logged or mended, and what else should be known.
    pub fn new(bike: &'a str, record: &'a OutingRecord, remarks: &'a [String]) -> Self {
        Self {
            bike,
            outing: OutingEntry::of(record),
            before: None,
            another_day: None,
            taken_as_done: Vec::new(),
            parts_done: Vec::new(),
            of_fuel: Vec::new(),
            without_them: None,
            cautions: &[],
            taken: &[],
            kept: None,
            from: None,
            remarks,
            stops: &[],
            taken_back: false,
            last: false,
        }
    }

    /// The same in a garage whose bikes and engines have these names.
    #[must_use]
    pub fn among(self, own: OwnNames) -> Self {
        Self { outing: self.outing.among(own), ..self }
    }

    /// The same where the run was lean before this, and is not any more.
    #[must_use]
    pub fn taken_back(self, taken_back: bool) -> Self {
        Self { taken_back, ..self }
    }

    /// The same with the outing as it was before it was mended, and what is to be known of its day.
    #[must_use]
    pub fn was(self, before: &'a OutingRecord, another_day: Option<String>) -> Self {
        Self { before: Some(OutingEntry::of(before)), another_day, ..self }
    }

    /// The same with what forbids to run it on; `held` where a run before it still holds a throttle.
    #[must_use]
    pub fn stopped_by(self, stops: &'a [String], held: bool) -> Self {
        let taken_back = self.taken_back || held;
        Self { stops, taken_back, ..self }
    }

    /// The jobs that were open when it was logged, with the setup that was on the bike by them; `last` where it is the newest outing.
    #[must_use]
    pub fn with_jobs(mut self, open: Option<(&'a BikeJobs, Option<&SetupRecord>)>, last: bool) -> Self {
        let Some((jobs, on_it)) = open else { return self };
        self.taken_as_done = jobs.open().map(|job| job.item.what.as_str()).collect();
        if jobs.open().all(|job| job.item.field == OF_PART) {
            self.parts_done =
                jobs.open().map(|job| (job.number, job.item.part.as_deref().unwrap_or_default())).collect();
        }
        let of_fuel = jobs.open().filter(|job| is_of_the_run(&job.item.field));
        self.of_fuel = of_fuel.map(|job| job.item.what.as_str()).collect();
        self.without_them = on_it.map(|setup| setup.number);
        self.last = last;
        self
    }

    /// The same with what can hurt in the jobs that are taken as done.
    #[must_use]
    pub fn warned(self, cautions: &'a [String]) -> Self {
        Self { cautions, ..self }
    }

    /// The same with what was not typed: what is as last on the day, and a kept air.
    #[must_use]
    pub fn with_what_was_taken(self, taken: &'a [&'static str], served: &Served) -> Self {
        Self { taken, kept: KeptAir::of(served), from: served.words(), ..self }
    }
}

impl<'a> OutingList<'a> {
    /// A bike's outings in their order, with what was on the bike, and what cannot be read of them.
    pub fn new(bike: &'a str, runs: &[RunOnBike<'a>], by: &'a str, unreadable: Vec<String>) -> Self {
        let listed = |run: &RunOnBike<'a>| ListedOuting {
            outing: OutingEntry::of(run.record),
            ran: Ran::of(*run, &[]),
        };
        Self { bike, outings: runs.iter().map(listed).collect(), unreadable, by, others: None }
    }

    /// The same where no bike was named: this is the one of the day, and these ran besides.
    #[must_use]
    pub fn of_the_day(self, others: Vec<String>) -> Self {
        Self { others: Some(others), ..self }
    }
}

impl<'a> OutingPage<'a> {
    /// An outing with its curve; `tied` are others of the same minute.
    pub fn new(record: &'a OutingRecord, curve: Option<&'a Curve>, tied: &'a [OutingRecord]) -> Self {
        let dyno = curve.map(|curve| DynoCurve {
            column: &curve.what,
            points: curve.points.iter().map(|(rpm, value)| DynoPoint(*rpm, *value)).collect(),
            curve,
        });
        Self { outing: OutingEntry::of(record), dyno, tied }
    }

    /// The same with who logged it.
    #[must_use]
    pub fn by(self, authors: &BTreeMap<String, String>) -> Self {
        Self { outing: self.outing.by(authors), ..self }
    }

    /// The same in a garage whose bikes and engines have these names.
    #[must_use]
    pub fn among(self, own: OwnNames) -> Self {
        Self { outing: self.outing.among(own), ..self }
    }
}

impl<'a> OutingRemoved<'a> {
    /// What was removed of a bike.
    pub fn new(bike: &'a str, removed: &'a Removed) -> Self {
        Self {
            bike,
            id: &removed.id,
            files: removed.files.iter().map(|file| path(file)).collect(),
            removed: removed.record.as_ref().map(OutingEntry::of),
            remarks: removed
                .record
                .as_ref()
                .and_then(|gone| taken_back(&gone.outing, None))
                .as_ref()
                .map(ways::worded)
                .into_iter()
                .collect(),
        }
    }
}

/// A file of the garage as answers name it, with slashes.
pub(super) fn path(file: &std::path::Path) -> String {
    file.to_string_lossy().replace('\\', "/")
}
