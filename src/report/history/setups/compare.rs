//! Two setups side by side: by section, only what changed.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::InsideEngine;
use crate::advice::derived::Derived;
use crate::advice::runs::lap_seconds;
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Comparison, Mixture, Outing, Verdict};
use crate::quantity::{Units, fixed};
use crate::report::engine::package::{derived_in_short, derived_words};
use crate::report::history::noted_air::NotedAir;
use crate::report::history::setups::brief::{full_sign, sign, signs_at};
use crate::report::history::setups::changes::{
    FieldChange, MapChange, beside, changes_in_rows, changes_in_short, changes_text,
};
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::glue::GLUE;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, count, first_line};
use crate::store::OutingRecord;

/// An air and where it is known from.
pub type KnownAir = (AirEntry, String);

/// Two setups and what differs.
pub struct ComparisonReport<'a> {
    /// The bike, or "one and another".
    pub bike: String,
    /// The older side as it is called, "setup 3" or "now".
    pub from: String,
    /// The newer side.
    pub to: String,
    /// What differs.
    pub comparison: &'a Comparison,
    /// The air of both, where known.
    pub air: (Option<KnownAir>, Option<KnownAir>),
    /// The outings of both, oldest first.
    pub ran: (&'a [OutingRecord], &'a [OutingRecord]),
    /// What follows from the differences.
    pub derived: &'a [Derived],
    /// Parts that stand alone beside the pipe now, or agree with it now.
    pub standings: Vec<String>,
    /// What changed since the last outing.
    pub since: Option<&'a SinceOuting>,
    /// What changed inside the engine: parts and builds.
    pub inside: Option<&'a InsideEngine>,
    /// Why a field could not be compared.
    pub remarks: Vec<String>,
}

/// Two setups side by side: only what differs.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CompareAnswer<'a> {
    /// Folder name of the bike; "one and another" where two bikes are compared.
    bike: String,
    /// The older side: "setup 3" or "now"; with another bike its name stands before it.
    from: String,
    /// The newer side, named likewise.
    to: String,
    /// Fields that differ, by section; a map stands here as one field.
    changes: Vec<FieldChange<'a>>,
    /// Maps that differ, cell by cell.
    maps: Vec<MapChange<'a>>,
    /// Sections of the bike that differ; notes are none.
    sections: Vec<&'a str>,
    /// What follows from the differences, computed; only what differs.
    derived: Vec<DerivedChange<'a>>,
    /// Parts that stand alone beside the pipe's tuned speed since, or agree with it since, in words.
    standings: Vec<String>,
    /// The air of both sides, where known.
    air: BothAirs,
    /// How both sides ran.
    ran: BothRan,
    /// What changed since the last outing before the newer side; null when there was none or two bikes are compared.
    since_outing: Option<SinceOutingEntry<'a>>,
    /// What changed inside the engine between the two: parts and builds; null where nothing did, or where nothing is known of it.
    inside_engine: Option<InsideEngineEntry<'a>>,
    /// What could not be compared, and why.
    remarks: Vec<String>,
}

/// A comparison for a page.
pub(in crate::report) struct OnAPage {
    /// What is said first.
    pub(in crate::report) head: Vec<FramePart>,
    /// The differences row by row: section where it is a new one, field, both sides, difference.
    pub(in crate::report) changes: Vec<Vec<String>>,
    /// Longer texts, cells of maps, and what follows.
    pub(in crate::report) follows: Vec<FramePart>,
    /// What changed inside the engine.
    pub(in crate::report) inside: Vec<String>,
}

/// A computed figure that differs.
#[derive(Debug, Serialize, JsonSchema)]
struct DerivedChange<'a> {
    /// The one of several cylinders it is of; null where it is of all, or of the only one.
    cylinder: Option<&'a str>,
    /// The figure.
    figure: &'a str,
    /// Unit of the values; empty for a ratio.
    unit: &'a str,
    /// On the older side; null where it is not known.
    old: Option<f64>,
    /// On the newer side; null where it is not known.
    new: Option<f64>,
    /// The difference in words.
    words: String,
    /// The figure on both sides, for words in other units.
    #[serde(skip)]
    derived: &'a Derived,
}

/// How both sides ran.
#[derive(Debug, Serialize, JsonSchema)]
struct BothRan {
    /// The older side.
    from: SideRan,
    /// The newer side.
    to: SideRan,
}

/// How one side ran.
#[derive(Debug, Serialize, JsonSchema)]
struct SideRan {
    /// How many outings it had.
    outings: usize,
    /// Best lap, as typed; null where none was, or none that is a time.
    best_lap: Option<String>,
    /// Where that lap was driven; null where it is not known.
    best_lap_place: Option<String>,
    /// Verdicts of its last runs, the newest first.
    verdicts: Vec<SideVerdict>,
}

/// The verdict of a run.
#[derive(Debug, Serialize, JsonSchema)]
struct SideVerdict {
    /// Day of the run.
    day: String,
    /// Fully open; of several cylinders the leanest, where one was lean.
    full: Option<Mixture>,
    /// Three quarters open, likewise.
    three_quarters: Option<Mixture>,
    /// Half open, likewise.
    half: Option<Mixture>,
    /// The same of each cylinder of which something was seen by itself, by name; not there where all ran alike.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(extend("default" = {}))]
    cylinders: BTreeMap<String, OwnVerdict>,
    /// The signs at full throttle, with what the notes say, at three quarters and at half, each with the cylinder that it is of.
    #[serde(skip)]
    signs: [String; 3],
}

/// How one of several cylinders ran in a run.
#[derive(Debug, Serialize, JsonSchema)]
struct OwnVerdict {
    /// Fully open.
    full: Option<Mixture>,
    /// Three quarters open.
    three_quarters: Option<Mixture>,
    /// Half open.
    half: Option<Mixture>,
}

impl OwnVerdict {
    fn each(outing: &Outing) -> BTreeMap<String, Self> {
        let of_one = |(name, own): (Option<&str>, Outing)| {
            let Verdict { full, three_quarters, half, .. } = own.verdict.unwrap_or_default();
            Some((name?.to_owned(), Self { full, three_quarters, half }))
        };
        outing.at_each_cylinder().into_iter().filter_map(of_one).collect()
    }
}

/// Verdicts that are told of a side.
const LAST: usize = 2;

impl SideRan {
    fn of(records: &[OutingRecord]) -> Self {
        let laps = records.iter().filter_map(|record| Some((record.outing.lap.as_deref()?, record)));
        let timed = laps.filter_map(|(lap, record)| Some((lap_seconds(lap)?, (lap, record))));
        let best = timed.min_by(|one, other| one.0.total_cmp(&other.0));
        let told = records.iter().rev().filter_map(|record| {
            let signs_at = |zone: fn(&Verdict) -> Option<Mixture>| {
                signs_at(record, |outing| sign(outing.verdict.as_ref().and_then(zone)))
            };
            let signs = [
                full_sign(record),
                signs_at(|verdict| verdict.three_quarters),
                signs_at(|verdict| verdict.half),
            ];
            let at = |zone: fn(&Verdict) -> Option<Mixture>| record.outing.at_throttle(zone);
            let (full, three_quarters, half) = (
                at(|verdict| verdict.full),
                at(|verdict| verdict.three_quarters),
                at(|verdict| verdict.half),
            );
            let any = signs.iter().any(|signs| !signs.is_empty());
            let (day, cylinders) = (record.outing.date.day(), OwnVerdict::each(&record.outing));
            any.then_some(SideVerdict { day, full, three_quarters, half, cylinders, signs })
        });
        Self {
            outings: records.len(),
            best_lap: best.map(|(_, (lap, _))| lap.to_owned()),
            best_lap_place: best.and_then(|(_, (_, record))| record.outing.place.clone()),
            verdicts: told.take(LAST).collect(),
        }
    }

    /// "3 runs, best 1:02.4 at Fennmoor, 2026-10-03: full = 3/4 = 1/2 <, before it full =".
    fn words(&self) -> String {
        if self.outings == 0 {
            return "not run".to_owned();
        }
        let mut parts = vec![count(self.outings, "run")];
        let best = if self.outings == 1 { "" } else { "best " };
        let at = self.best_lap_place.as_deref().map(|place| format!(" at {}", first_line(place)));
        let at = at.unwrap_or_default();
        parts.extend(self.best_lap.as_deref().map(|lap| format!("{best}{}{at}", first_line(lap))));
        for (at, one) in self.verdicts.iter().enumerate() {
            let of_day = at.checked_sub(1).and_then(|before| self.verdicts.get(before));
            let again = of_day.is_some_and(|before| before.day == one.day);
            parts.push(if again { format!("before it {}", one.signs()) } else { one.words() });
        }
        parts.join(", ")
    }
}

impl SideVerdict {
    fn words(&self) -> String {
        format!("{}: {}", self.day, self.signs())
    }

    fn signs(&self) -> String {
        let zones = ["full", "3/4", "1/2"].into_iter().zip(&self.signs);
        let judged = zones.filter(|(_, signs)| !signs.is_empty());
        judged
            .map(|(zone, signs)| format!("{zone}{GLUE}{}", signs.replace(' ', &GLUE.to_string())))
            .collect::<Vec<_>>()
            .join(" ")
    }
}

/// The air of both sides.
#[derive(Debug, Serialize, JsonSchema)]
struct BothAirs {
    /// Air of the older side: proven in, last run in or noted.
    from: Option<NotedAir>,
    /// Air of the newer side.
    to: Option<NotedAir>,
    /// Where the two are known from.
    #[serde(skip)]
    sources: (Option<String>, Option<String>),
}

/// What changed since the last outing.
#[derive(Debug, Serialize, JsonSchema)]
struct SinceOutingEntry<'a> {
    /// Identity of that outing.
    outing: &'a str,
    /// Number of the setup it ran.
    #[schemars(range(min = 1))]
    setup: u32,
    /// Sections that changed since.
    sections: &'a [String],
    /// The same, with what it means for the next verdict.
    #[serde(skip)]
    since: &'a SinceOuting,
}

/// What changed inside an engine.
#[derive(Debug, Serialize, JsonSchema)]
struct InsideEngineEntry<'a> {
    /// Folder name of the engine.
    engine: &'a str,
    /// As it stood first: at the older side's last outing.
    from: String,
    /// As it stood then.
    to: String,
    /// What changed, in words.
    changes: &'a [String],
    /// The days it stood so: first, and then.
    #[serde(skip)]
    days: (String, String),
}

impl<'a> DerivedChange<'a> {
    fn of(derived: &'a Derived) -> Self {
        // One decimal more than is worth showing.
        let value =
            |side: Option<f64>| side.and_then(|value| fixed(value, derived.decimals + 1).parse().ok());
        Self {
            cylinder: derived.cylinder.as_deref(),
            figure: derived.figure,
            unit: derived.unit,
            old: value(derived.old),
            new: value(derived.new),
            words: derived_words(derived, Units::Metric),
            derived,
        }
    }
}

impl BothAirs {
    fn of((from, to): (Option<KnownAir>, Option<KnownAir>)) -> Self {
        let noted = |air: Option<KnownAir>| air.map(|(entry, source)| (NotedAir::of(&entry), source)).unzip();
        let ((from, from_source), (to, to_source)) = (noted(from), noted(to));
        Self { from, to, sources: (from_source, to_source) }
    }
}

impl<'a> SinceOutingEntry<'a> {
    fn of(since: &'a SinceOuting) -> Self {
        Self { outing: &since.outing.id, setup: since.setup, sections: &since.sections, since }
    }
}

impl<'a> InsideEngineEntry<'a> {
    fn of(inside: &'a InsideEngine) -> Self {
        Self {
            engine: &inside.engine,
            from: inside.from.to_string(),
            to: inside.to.to_string(),
            changes: &inside.changes,
            days: (inside.from.day(), inside.to.day()),
        }
    }
}

impl<'a> ComparisonReport<'a> {
    /// The answer.
    pub fn answer(self) -> CompareAnswer<'a> {
        CompareAnswer {
            bike: self.bike,
            from: self.from,
            to: self.to,
            changes: FieldChange::all(self.comparison),
            maps: MapChange::all(self.comparison),
            sections: self.comparison.tuning_sections(),
            derived: self.derived.iter().map(DerivedChange::of).collect(),
            standings: self.standings,
            air: BothAirs::of(self.air),
            ran: BothRan { from: SideRan::of(self.ran.0), to: SideRan::of(self.ran.1) },
            since_outing: self.since.map(SinceOutingEntry::of),
            inside_engine: self.inside.map(InsideEngineEntry::of),
            remarks: self.remarks,
        }
    }
}

impl CompareAnswer<'_> {
    fn title(&self) -> String {
        let sum = if self.changes.is_empty() { String::new() } else { format!(": {}", self.sum()) };
        format!("{}: from {} to {}{sum}", self.bike, self.from, self.to)
    }

    /// Each side with its air and how it ran.
    fn sides(&self, screen: &Screen) -> [String; 2] {
        let (airs, ran) = (&self.air, &self.ran);
        [(&self.from, &airs.from, &airs.sources.0, &ran.from), (&self.to, &airs.to, &airs.sources.1, &ran.to)]
            .map(|(side, air, source, ran)| {
                let air = air.as_ref().zip(source.as_ref()).map(|(air, source)| {
                    let source =
                        if screen.verbose() { format!(" ({})", visible(source)) } else { String::new() };
                    format!("{}{source}; ", air.in_short(screen))
                });
                format!("{side}: {}{}", air.unwrap_or_default(), ran.words())
            })
    }

    /// The same for a page.
    pub(in crate::report) fn on_a_page(&self, screen: &Screen) -> OnAPage {
        let (mut head, mut rest) = (Frame::new(screen), Frame::new(screen));
        head.hands(&self.title());
        self.remarks.iter().for_each(|remark| head.know(remark));
        self.sides(screen).iter().for_each(|side| head.say(side));
        let (rows, blocks) = changes_in_rows(screen, &self.changes);
        if self.changes.is_empty() {
            self.differences(screen).iter().for_each(|line| rest.say(line));
        }
        for block in blocks {
            rest.block(block);
        }
        let follows = self.follows(screen).join(" ");
        if !follows.is_empty() {
            rest.say(&follows);
        }
        OnAPage {
            head: head.parts(),
            changes: rows,
            follows: rest.parts(),
            inside: self.inside_engine.as_ref().map(|inside| inside.changes.to_vec()).unwrap_or_default(),
        }
    }

    /// For a person: in short, or with -v all that is known.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = vec![screen.strong(&screen.wrap(&self.title(), 2))];
        lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        lines.extend(self.sides(screen).iter().map(|side| screen.wrap(&format!("  {side}"), 4)));
        lines.extend(self.differences(screen));
        lines.extend(self.inside_words(screen));
        lines.extend(self.follows(screen));
        if screen.verbose() {
            lines.extend(self.since_outing.iter().map(|entry| screen.wrap(&entry.since.words(), 2)));
        }
        lines.join("\n")
    }

    /// What changed inside the engine: how much of it, and with -v what.
    fn inside_words(&self, screen: &Screen) -> Vec<String> {
        if !screen.verbose() {
            let inside = self.inside_engine.as_ref().map(|inside| {
                let what = count(inside.changes.len(), "part or build");
                let what = what.replace("part or builds", "parts or builds");
                format!("inside {} {what} since {}", inside.engine, inside.days.0)
            });
            let more: Vec<String> = inside.into_iter().chain(beside(&self.changes)).collect();
            return (!more.is_empty())
                .then(|| screen.wrap(&format!("{} (-v).", capital(&more.join("; "))), 2))
                .into_iter()
                .collect();
        }
        let Some(inside) = &self.inside_engine else { return Vec::new() };
        let (from, to) = &inside.days;
        let mut lines = vec![String::new(), format!("Inside {}, {to} against {from}:", inside.engine)];
        lines.extend(inside.changes.iter().map(|change| screen.wrap(&format!("  {change}"), 4)));
        lines
    }

    /// What follows for ports, head, pipe and intake: in one paragraph, and with -v one line each.
    fn follows(&self, screen: &Screen) -> Vec<String> {
        let told = if screen.verbose() { derived_words } else { derived_in_short };
        let derived = self.derived.iter().map(|one| told(one.derived, screen.units()));
        let words: Vec<String> = derived.chain(self.standings.iter().cloned()).collect();
        if words.is_empty() {
            return Vec::new();
        }
        if !screen.verbose() {
            return vec![screen.wrap(&format!("So: {}.", words.join("; ")), 4)];
        }
        let lines = words.iter().map(|words| screen.wrap(&format!("  {words}"), 4));
        [String::new(), "What follows, computed:".into()].into_iter().chain(lines).collect()
    }

    /// The fields that differ, and how much it is.
    fn differences(&self, screen: &Screen) -> Vec<String> {
        match (self.changes.is_empty(), self.inside_engine.is_some()) {
            (true, true) => vec!["Nothing differs in the setups.".into()],
            (true, false) => vec!["Nothing differs.".into()],
            (false, _) => {
                let sides = (self.from.as_str(), self.to.as_str());
                if screen.verbose() {
                    vec![changes_text(screen, &self.changes, sides)]
                } else {
                    changes_in_short(screen, &self.changes, sides)
                }
            }
        }
    }

    /// How much differs, in one line.
    fn sum(&self) -> String {
        let differences = count(self.changes.len(), "difference");
        match self.sections.len() {
            0 => format!("{differences}, in the notes only."),
            sections => format!("{differences} in {} of the bike.", count(sections, "section")),
        }
    }
}
