//! Two setups side by side: by section, only what changed.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::InsideEngine;
use crate::advice::derived::Derived;
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Comparison};
use crate::quantity::{Units, fixed};
use crate::report::engine::package::{derived_in_short, derived_words};
use crate::report::history::noted_air::NotedAir;
use crate::report::history::setups::brief::some;
use crate::report::history::setups::changes::{
    FieldChange, MapChange, beside, changes_in_rows, changes_in_short, changes_text,
};
use crate::report::history::setups::sides::{Apart, BothRan, RanAsCompared, SideRan};
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{capital, count};

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
    /// The outings of both.
    pub ran: (RanAsCompared<'a>, RanAsCompared<'a>),
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
    /// How far apart they ran; null where neither laps of one place nor two airs can be set against each other.
    apart: Option<Apart>,
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
    /// The one of several cylinders it is of; not there where it is of all, or of the only one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
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

/// What follows is told in so many figures; the rest stands in `-v`.
const IN_SHORT: usize = 2;

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
    /// Kinds of the parts that are others, and builds.
    #[serde(skip)]
    kinds: &'a [String],
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
            kinds: &inside.kinds,
            days: (inside.from.day(), inside.to.day()),
        }
    }
}

impl<'a> ComparisonReport<'a> {
    /// The answer.
    pub fn answer(self) -> CompareAnswer<'a> {
        let entry = |air: &'_ Option<KnownAir>| air.as_ref().map(|(entry, _)| entry.clone());
        let (of_from, of_to) = (entry(&self.air.0), entry(&self.air.1));
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
            apart: Apart::between((&self.ran.0, &self.ran.1), (of_from.as_ref(), of_to.as_ref())),
            ran: BothRan::of(&self.ran.0, &self.ran.1),
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

    /// Each side with how it ran, run by run; its air where no run says one, or all is wanted.
    fn sides(&self, screen: &Screen, spoken: bool) -> Vec<String> {
        let (airs, ran) = (&self.air, &self.ran);
        let sides = [
            (&self.from, &airs.from, &airs.sources.0, &ran.from),
            (&self.to, &airs.to, &airs.sources.1, &ran.to),
        ];
        let of_one = |(side, air, source, ran): (&String, &Option<NotedAir>, &Option<String>, &SideRan)| {
            let known = air.as_ref().zip(source.as_ref()).filter(|_| screen.verbose() || !ran.says_an_air());
            let air = known.map(|(air, source)| format!("{} ({}); ", air.in_short(screen), visible(source)));
            let head = format!("  {side}: {}{}", air.unwrap_or_default(), ran.counted());
            let runs = ran.words(screen, spoken);
            match runs.as_slice() {
                [only] if !screen.verbose() => vec![format!("{head}; {only}")],
                _ => {
                    let runs = runs.into_iter().map(|run| format!("    {run}"));
                    std::iter::once(head).chain(runs).collect()
                }
            }
        };
        sides.into_iter().flat_map(of_one).chain(self.apart.iter().map(Apart::words)).collect()
    }

    /// The same for a page.
    pub(in crate::report) fn on_a_page(&self, screen: &Screen) -> OnAPage {
        let (mut head, mut rest) = (Frame::new(screen), Frame::new(screen));
        head.hands(&self.title());
        self.remarks.iter().for_each(|remark| head.know(remark));
        self.sides(screen, true).iter().for_each(|side| head.say(side.trim_start()));
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
        lines.extend(
            self.sides(screen, false)
                .iter()
                .map(|side| screen.wrap(side, if side.starts_with("    ") { 6 } else { 4 })),
        );
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
                format!("inside {} since {}: {}", inside.engine, inside.days.0, some(inside.kinds))
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
        // What seizes an engine first is the one that is not hidden.
        let mut derived: Vec<_> = self.derived.iter().collect();
        derived.sort_by_key(|one| !one.derived.figure.starts_with("squish"));
        let derived = derived.into_iter().map(|one| told(one.derived, screen.units()));
        let words: Vec<String> = derived.chain(self.standings.iter().cloned()).collect();
        if words.is_empty() {
            return Vec::new();
        }
        if !screen.verbose() {
            let (told, more) = words.split_at(words.len().min(IN_SHORT));
            let more = match more.len() {
                0 => String::new(),
                more => format!("; {more} more (-v)"),
            };
            return vec![screen.wrap(&format!("So: {}{more}.", told.join("; ")), 4)];
        }
        let lines = words.iter().map(|words| screen.wrap(&format!("  {words}"), 4));
        [String::new(), "What follows, computed:".into()].into_iter().chain(lines).collect()
    }

    /// The fields that differ, and how much it is.
    fn differences(&self, screen: &Screen) -> Vec<String> {
        match (self.changes.is_empty(), self.inside_engine.is_some()) {
            (true, true) => vec!["Nothing differs in the setups.".into()],
            (true, false) if self.apart.as_ref().is_some_and(Apart::is_other_air) => {
                vec!["Nothing differs on the bike: the air does.".into()]
            }
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
