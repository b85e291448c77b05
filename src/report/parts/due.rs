//! The screen of what is due: every part that sits in an engine, the most urgent first, and what to take to the next event.

mod seized;

use schemars::JsonSchema;
use serde::Serialize;

use self::seized::SeizedEntry;
pub(super) use self::seized::seized_in_words;
use crate::advice::parts::{Ask, By, DueList, DueStanding, Event, SeizedPart, State, Taking, Want};
use crate::notebook::When;
use crate::quantity::fixed;
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::parts::list::one_line_each;
use crate::report::parts::standing::{PartLimit, PartStanding, amount, hours};
use crate::report::words::layout::{count, first_line};

/// Parts that sit in engines, the most urgent first, and what to take to the next event.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartDueAnswer {
    /// The parts; with --next-event only those that are overdue or not for another event.
    pub(super) parts: Vec<PartStanding>,
    /// Parts left out because their bike is retired.
    pub(super) of_retired_bikes: usize,
    /// What an event takes, by bike; a bike that never ran is not there.
    pub(super) events: Vec<EventTaken>,
    /// What to take to the next event, by bike.
    pub(super) take: Vec<BikeTake>,
    /// Pistons, rings and cylinders that seized, and that nobody was seen to look at since; the newest first.
    pub(super) seized: Vec<SeizedEntry>,
    /// What else should be known: outings and parts that could not be counted, and why.
    pub(super) remarks: Vec<String>,
    /// All parts that sit in engines, also those that were not asked for.
    #[serde(skip)]
    pub(super) in_engines: usize,
    /// Show parts that are fine one by one, too.
    #[serde(skip)]
    pub(super) all: bool,
}

/// What an event of a bike takes: its outings at one place on days at most 2 apart.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct EventTaken {
    /// Folder name of the bike.
    pub(super) bike: String,
    /// Where it was; null where no outing says.
    place: Option<String>,
    /// Its first outing.
    #[schemars(with = "String")]
    from: When,
    /// Its last outing.
    #[schemars(with = "String")]
    to: When,
    /// Hours it took.
    pub(super) hours: Figure<4>,
    /// Whether it took at least so many, because an outing has no hours.
    pub(super) hours_at_least: bool,
    /// Most starts that an event took.
    starts: Figure<0>,
    /// Outings of it.
    outings: usize,
    /// Whether it is the one with the most hours of the last 365 days; otherwise it is the last one, longer ago.
    most_of_365_days: bool,
}

/// What a bike wants taken along.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct BikeTake {
    /// Folder name of the bike.
    pub(super) bike: String,
    /// What comes due within the next event, by kind.
    pub(super) wants: Vec<KindWanted>,
    /// Parts that may come due within it, for what they ran is not known.
    not_known: Vec<String>,
    /// What an event takes of it; none where it never ran.
    #[serde(skip)]
    event: Option<EventTaken>,
}

/// Parts of one kind to be changed.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct KindWanted {
    /// Kind of part.
    pub(super) kind: String,
    /// Parts that are overdue or come due within the next event, the most urgent first.
    pub(super) parts: Vec<String>,
    /// The engine the parts are in.
    pub(super) engine: String,
    /// Spares of that kind on the shelf that are known to fit that engine and to be sound, the least used first.
    pub(super) spares: Vec<PartStanding>,
    /// Parts of that kind of which it must first be said that they fit that engine, or that they can be used, the least used first.
    pub(super) asked: Vec<SpareAsked>,
    /// How many more spares are wanted than there are good ones.
    #[serde(skip)]
    short: usize,
}

/// A part that may be a spare.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SpareAsked {
    /// Name of the part.
    pub(super) part: String,
    /// What must be said: that it fits that engine, or that it can be used.
    asked: SpareQuestion,
    /// What was written that sounds as if it could not be used; null where it is asked whether it fits.
    pub(super) words: Option<String>,
}

/// What must be said of a part before it is a spare.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum SpareQuestion {
    /// That it fits that engine.
    Fits,
    /// That it can be used.
    Usable,
}

impl EventTaken {
    fn of(bike: &str, event: &Event) -> Self {
        Self {
            bike: bike.to_owned(),
            place: event.place.clone(),
            from: event.from,
            to: event.to,
            hours: Figure(event.hours_h),
            hours_at_least: event.hours_at_least,
            starts: Figure(event.starts),
            outings: event.outings,
            most_of_365_days: event.of_the_year,
        }
    }
}

impl From<&Taking> for BikeTake {
    fn from(taking: &Taking) -> Self {
        Self {
            bike: taking.bike.clone(),
            wants: taking.wants.iter().map(KindWanted::from).collect(),
            not_known: names(&taking.unknown),
            event: taking.event.as_ref().map(|event| EventTaken::of(&taking.bike, event)),
        }
    }
}

impl From<&Want> for KindWanted {
    fn from(want: &Want) -> Self {
        Self {
            kind: want.kind.clone(),
            parts: names(&want.parts),
            engine: want.engine.clone(),
            spares: want.spares.iter().map(PartStanding::from).collect(),
            asked: want.asked.iter().map(|(part, ask)| SpareAsked::of(part, ask)).collect(),
            short: want.parts.len().saturating_sub(want.good_spares()),
        }
    }
}

impl SpareAsked {
    fn of(part: &DueStanding, ask: &Ask) -> Self {
        let (asked, words) = match ask {
            Ask::Fits => (SpareQuestion::Fits, None),
            Ask::Sound(words) => (SpareQuestion::Usable, Some(words.clone())),
        };
        Self { part: part.part.clone(), asked, words }
    }
}

fn names(parts: &[DueStanding]) -> Vec<String> {
    parts.iter().map(|part| part.part.clone()).collect()
}

impl PartDueAnswer {
    /// What is due and what to take along. `all` shows parts that are fine one by one, too; `next_event` keeps to what comes due
    /// within the next event.
    pub fn new(
        due: &DueList,
        taking: &[Taking],
        (all, next_event): (bool, bool),
        remarks: Vec<String>,
    ) -> Self {
        let urgent = |part: &&DueStanding| !next_event || part.state() >= State::NotForAnotherEvent;
        Self {
            parts: due.parts.iter().filter(urgent).map(PartStanding::from).collect(),
            of_retired_bikes: due.of_retired_bikes,
            events: due.events.iter().map(|(bike, event)| EventTaken::of(bike, event)).collect(),
            take: taking.iter().map(BikeTake::from).collect(),
            seized: Vec::new(),
            remarks,
            in_engines: due.parts.len(),
            all,
        }
    }

    /// With the parts whose cylinder seized.
    #[must_use]
    pub fn with_seized(mut self, seized: &[SeizedPart]) -> Self {
        self.seized = seized.iter().map(SeizedEntry::from).collect();
        self
    }

    /// For a person: what is due in a screen, or with all that is known.
    pub fn text(&self, screen: &Screen) -> String {
        if screen.verbose() { self.in_full(screen) } else { self.brief(screen) }
    }

    fn in_full(&self, screen: &Screen) -> String {
        let mut lines = Vec::new();
        if self.in_engines == 0 {
            lines.push(screen.wrap(self.none(), 2));
        }
        let seized = seized_in_words(&self.seized);
        lines.extend(seized.iter().map(|line| screen.warn(&screen.wrap(&format!("!! {line}"), 3))));
        for state in [State::Overdue, State::NotForAnotherEvent, State::NotKnown, State::Soon] {
            lines.extend(self.block(screen, state));
        }
        lines.extend(self.without_limit(screen));
        lines.extend(self.fine(screen));
        if self.of_retired_bikes > 0 {
            let text = format!("{} of retired bikes left out.", count(self.of_retired_bikes, "part"));
            lines.push(text);
        }
        let gap = lines.last().is_some_and(|line| !line.is_empty());
        lines.extend(gap.then(String::new).filter(|_| !self.take.is_empty()));
        lines.extend(take(screen, &self.take));
        lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        lines.join("\n").trim_end().to_owned()
    }

    pub(super) fn none(&self) -> &'static str {
        if self.of_retired_bikes > 0 {
            "No part sits in an engine of a bike that is in use."
        } else {
            "No part sits in an engine here. Take one in:\n  reedbook part add NAME --kind KIND --fit ENGINE"
        }
    }

    /// Parts in this state.
    pub(super) fn in_state(&self, state: State) -> Vec<&PartStanding> {
        self.parts.iter().filter(|part| part.state() == state).collect()
    }

    fn block(&self, screen: &Screen, state: State) -> Vec<String> {
        let parts = self.in_state(state);
        if parts.is_empty() {
            return Vec::new();
        }
        let head = match state {
            State::Overdue => "OVERDUE: change it, or look at it, before it runs again",
            State::NotForAnotherEvent => "NOT FOR ANOTHER EVENT: less is left than the next one takes",
            State::Soon => "Due soon",
            State::NotKnown => "Hours or age not known: nobody can say that enough is left",
            State::NoLimit => "No limit set",
            State::Fine => "Ok",
        };
        let mut lines = vec![screen.strong(head), rows(screen, &parts)];
        if state == State::NotKnown {
            lines.push(screen.wrap(&how_to_give(&parts), 2));
        }
        lines.push(String::new());
        lines
    }

    fn without_limit(&self, screen: &Screen) -> Vec<String> {
        if self.all {
            return self.block(screen, State::NoLimit);
        }
        let names: Vec<_> = self.in_state(State::NoLimit).iter().map(|part| part.part.as_str()).collect();
        let Some(first) = names.first() else { return Vec::new() };
        let text = format!(
            "No limit set: {}. Set one:\n  reedbook part edit {first} change_after=…",
            names.join(", ")
        );
        vec![screen.wrap(&text, 2)]
    }

    fn fine(&self, screen: &Screen) -> Vec<String> {
        if self.all {
            return self.block(screen, State::Fine);
        }
        self.fine_in_short().map(|words| screen.wrap(&words, 2)).into_iter().collect()
    }

    /// "18 more parts have 1.5 h or more left (--all lists them)."
    pub(super) fn fine_in_short(&self) -> Option<String> {
        let parts = self.in_state(State::Fine);
        if parts.is_empty() {
            return None;
        }
        let more = if parts.len() == self.in_engines { "" } else { "more " };
        let (what, verb) = if parts.len() == 1 { ("part", "has") } else { ("parts", "have") };
        let least = least_left(&parts);
        Some(format!("{} {more}{what} {verb} {least} or more left (--all lists them).", parts.len()))
    }
}

/// Days from which a date is no news. Engineering judgement, no source.
const FAR_OFF_DAYS: f64 = 90.0;

/// The least that is left of parts that are fine: "6 h", "6 h, 12 starts".
fn least_left(parts: &[&PartStanding]) -> String {
    let least = |wanted: &dyn Fn(By) -> bool| {
        let limits = parts.iter().flat_map(|part| &part.limits);
        limits.filter(|limit| wanted(limit.by.0)).map(|limit| limit.left.0).min_by(f64::total_cmp)
    };
    let of_hours = least(&By::counts_hours).map(hours);
    let of_starts = least(&|by| by == By::Starts).map(|left| format!("{} starts", fixed(left.floor(), 0)));
    // A date far off is no news beside hours.
    let days = least(&|by| matches!(by, By::Days | By::Date));
    let days = days.filter(|left| of_hours.is_none() || *left < FAR_OFF_DAYS);
    let of_days = days.map(|left| format!("{} days", fixed(left.floor(), 0)));
    [of_hours, of_starts, of_days].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn rows(screen: &Screen, parts: &[&PartStanding]) -> String {
    let rows = parts.iter().map(|part| row(part)).collect();
    one_line_each(screen, &["part", "kind", "engine", "has run", "due at", "left"], rows, &[1, 2])
}

fn row(part: &PartStanding) -> Vec<String> {
    let first = part.first();
    let has_run = match first {
        Some(limit) if limit.by.0 == By::Starts => {
            let starts = amount(By::Starts, limit.run.0);
            match (limit.run_at_least, limit.run.0 < 1.0) {
                (true, true) => "not known".to_owned(),
                (true, false) => format!("at least {starts}"),
                (false, _) => starts,
            }
        }
        _ => part.count.run(),
    };
    let mut left = first.map_or_else(String::new, PartLimit::left_words);
    if first.is_some_and(|limit| limit.by.0 == By::Starts) {
        // What is counted stands beside it, and the line is full.
        left = left.replace(" starts", "").replace(" start", "");
    }
    vec![
        part.called(),
        part.kind.clone(),
        part.place(),
        has_run,
        first.map_or_else(String::new, PartLimit::place),
        left.strip_suffix(" left").unwrap_or(&left).to_owned(),
    ]
}

/// How what is not known is made known.
fn how_to_give(parts: &[&PartStanding]) -> String {
    let by = |wanted: By| parts.iter().find(|part| part.first().is_some_and(|limit| limit.by.0 == wanted));
    let first = by(By::Hours).or_else(|| by(By::Look)).or_else(|| by(By::Starts));
    let Some(part) = first else {
        let name = parts.first().map_or("PART", |part| part.part.as_str());
        return format!("Give a day of its own:\n  reedbook part edit {name} change_by=…");
    };
    let name = &part.part;
    let without = part.count.outings_without_hours;
    match (part.first().map(|limit| limit.by.0), &part.bike) {
        (Some(By::Starts), _) => format!("If you know them:\n  reedbook part edit {name} past_starts=…"),
        (_, Some(bike)) if without > 0 => format!(
            "{} of {name} without hours. If you know them:\n  reedbook outing edit {bike} OUTING --hours 0.4\nor the \
             part's whole hours:\n  reedbook part inspect {name} --hours …",
            count(without, "outing")
        ),
        _ => format!(
            "If you know those before this book:\n  reedbook part edit {name} past_hours=3\nor the part's whole \
             hours:\n  reedbook part inspect {name} --hours …"
        ),
    }
}

fn take(screen: &Screen, taking: &[BikeTake]) -> Vec<String> {
    if taking.is_empty() {
        return Vec::new();
    }
    let mut lines = vec![screen.strong("To take to the next event")];
    for bike in taking {
        lines.push(screen.wrap(&format!("  {}: {}", bike.bike, event_words(bike.event.as_ref())), 4));
        if !bike.not_known.is_empty() {
            let text =
                format!("    may come due, as what they ran is not known: {}", bike.not_known.join(", "));
            lines.push(screen.wrap(&text, 6));
        } else if bike.wants.is_empty() {
            lines.push("    no part is known to come due within it".to_owned());
        }
        for want in &bike.wants {
            lines.push(screen.wrap(&format!("    {}", want_words(want)), 6));
            lines.extend(asked(screen, want));
        }
    }
    lines
}

/// What must be said of the parts that may be spares: of the first one, with the command that says it.
fn asked(screen: &Screen, want: &KindWanted) -> Vec<String> {
    let Some(first) = want.asked.first() else { return Vec::new() };
    let name = &first.part;
    let more = match want.asked.len() - 1 {
        0 => String::new(),
        more => format!(" ({more} more may be)"),
    };
    let engine = &want.engine;
    let (question, command) = match &first.words {
        None => (
            format!("{name} is a {}: does it fit {engine}?{more} If so:", want.kind),
            format!("reedbook part edit {name} --fits {engine}"),
        ),
        Some(words) => (
            format!("{name} was written down as \"{}\": can it be used?{more} If so:", first_line(words)),
            format!("reedbook part inspect {name} --usable"),
        ),
    };
    // A command stands whole on its own line, so that it can be typed as it is read.
    vec![screen.wrap(&format!("      ? {question}"), 8), format!("        {command}")]
}

/// "an event takes 2.1 h (Tarn Hollow 2026-05-16, the most of 365 days)".
fn event_words(event: Option<&EventTaken>) -> String {
    let Some(event) = event else {
        return "it has no outings, so what an event takes is not known".to_owned();
    };
    let place = event.place.as_deref().map(first_line);
    let day = event.to.day();
    let which = if event.most_of_365_days {
        "the most of 365 days"
    } else {
        "its last one, none in the last 365 days"
    };
    match (event.hours_at_least, event.hours.0 > 1e-6) {
        (true, false) => {
            let place = place.map(|place| format!(" at {place}")).unwrap_or_default();
            format!("what an event takes is not known: no hours are written of the outings{place} on {day}")
        }
        (at_least, _) => {
            let at_least = if at_least { "at least " } else { "" };
            let place = place.map(|place| format!("{place} ")).unwrap_or_default();
            format!("an event takes {at_least}{} ({place}{day}, {which})", hours(event.hours.0))
        }
    }
}

/// Spares that are told one by one; what is beyond is counted.
const SPARES_NAMED: usize = 2;

/// "piston for piston-7: piston-8 (0 h), piston-9 (at least 3.5 h)".
fn want_words(want: &KindWanted) -> String {
    let spares: Vec<_> = want
        .spares
        .iter()
        .map(|spare| {
            let over = if spare.state() == State::Overdue { ", over its own limit" } else { "" };
            let run = if spare.hours_unknown { "hours not known".to_owned() } else { spare.count.run() };
            format!("{} ({run}{over})", spare.part)
        })
        .collect();
    let have = match spares.as_slice() {
        [] if want.asked.is_empty() => "no spare in the book".to_owned(),
        [] => "no spare that is known to fit".to_owned(),
        few if few.len() <= SPARES_NAMED => few.join(", "),
        many => format!("{} and {} more", many[..SPARES_NAMED].join(", "), many.len() - SPARES_NAMED),
    };
    let short = match (want.spares.is_empty(), want.short) {
        (true, _) | (_, 0) => String::new(),
        (false, short) => format!("; {short} short"),
    };
    format!("{} for {}: {have}{short}", want.kind, want.parts.join(", "))
}
