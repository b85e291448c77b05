//! An earlier setup that was put back, and what is to be done at the bike for it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::conditions::kept::Served;
use crate::advice::held::Judgement;
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::visible;
use crate::notebook::{AirEntry, Change, JobItem, StillDifferent, Value, section_of};
use crate::quantity::fixed;
use crate::report::KeptAir;
use crate::report::history::jobs::{AtTheBike, JobEntry};
use crate::report::history::noted_air::NotedAir;
use crate::report::history::setups::COMMIT;
use crate::report::history::setups::changes::MapChange;
use crate::report::history::setups::step::{cautions, first_of_all, held, several_at_once, undo};
use crate::report::out::frame::Frame;
use crate::report::out::frame::room::{Room, text_within};
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::store::{BikeJobs, RolledBack, SetupRecord};

/// Lines that it takes.
const MOST_LINES: usize = 18;

/// An earlier setup put back, recorded as a new one.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub struct RollbackAnswer<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of the setup that was on the bike.
    #[schemars(range(min = 1))]
    from: Option<u32>,
    /// Number of the setup that was put back.
    #[schemars(range(min = 1))]
    to: u32,
    /// Number of the setup it was recorded as; null when nothing was recorded: edits were dropped, or the bike is so already.
    #[schemars(range(min = 1))]
    new: Option<u32>,
    /// Fields that were put back.
    applied: Vec<PutBack<'a>>,
    /// Maps that differ, cell by cell.
    maps: Vec<MapChange<'a>>,
    /// Fields that a command cannot put back: what was cut in metal.
    still_different: Vec<StayedDifferent<'a>>,
    /// What is to be done at the bike, one line each.
    at_the_bike: Vec<String>,
    /// The same, with what is so already.
    #[serde(skip)]
    by_hand: AtTheBike,
    /// Parts of that setup that were said to be on again: no job is left for them.
    said_to_be_on: Vec<&'a str>,
    /// What is open at the bike by what ran last and what was ticked since, with the numbers by which it is ticked.
    jobs: Vec<JobEntry<'a>>,
    /// Git commit that recorded it, 40 hex digits; null when edits were dropped and nothing was recorded.
    #[schemars(regex(pattern = COMMIT))]
    commit: Option<&'a str>,
    /// Sections that changed since the last outing; null when there was none.
    sections_since_outing: Option<&'a [String]>,
    /// What is to be changed before it runs, a sentence each: parts over their limit.
    stops: Vec<String>,
    /// What else should be known.
    remarks: Vec<String>,
    /// What in this can harm the engine, each a sentence: less fuel with sizes, an earlier spark, a tighter head, a shorter stinger, and the last verdict. Empty where none of these happens.
    cautions: Vec<String>,
    /// What spoke against recording it, each a sentence: a lean run, two of these things at once, too many sizes. Not empty only with a despite.
    held: Vec<String>,
    /// Why it was recorded all the same; null where nothing spoke against it.
    despite: Option<&'a str>,
    /// What is said where nothing was recorded.
    #[serde(skip)]
    nothing: String,
    /// What the text tells beside it; none when nothing was recorded.
    #[serde(skip)]
    told: Option<RollbackWords<'a>>,
    /// The kept air of today that it was held against; null where none serves, or it was typed.
    kept: Option<KeptAir>,
    /// The same in words.
    #[serde(skip)]
    kept_words: Option<String>,
    /// Parts of its engine that are others than then.
    #[serde(skip)]
    others_inside: Option<OthersInside>,
    /// What a lean run on what was put back says; null where none was lean. Where nothing was recorded, what forbids to run it as it is.
    was_lean: Option<String>,
}

/// Parts of an engine that do not come back with a setup, counted.
#[derive(Debug)]
pub struct OthersInside {
    /// The engine.
    pub engine: String,
    /// How many are others now.
    pub count: usize,
    /// The day since which, like 2025-06-07.
    pub since: String,
}

impl OthersInside {
    fn parts(&self) -> String {
        if self.count == 1 { "1 part".to_owned() } else { format!("{} parts", self.count) }
    }

    /// In the one status line that its engine has.
    fn behind(&self, stands: &str) -> Option<String> {
        let own = stands.starts_with(&format!("{}: ", visible(&self.engine)));
        own.then(|| {
            format!("{}; {} changed since {} (-v).", stands.trim_end_matches('.'), self.parts(), self.since)
        })
    }

    /// By itself.
    fn alone(&self) -> String {
        let have = if self.count == 1 { "has" } else { "have" };
        format!("Inside {} {} {have} changed since {} (-v).", visible(&self.engine), self.parts(), self.since)
    }
}

/// A field that was put back.
#[derive(Debug, Serialize, JsonSchema)]
struct PutBack<'a> {
    /// Dotted field.
    field: &'a str,
    /// Value before the rollback; null when there was none.
    old: Option<String>,
    /// Value put back; null when the field was taken out.
    new: Option<String>,
}

/// A field that no command can put back.
#[derive(Debug, Serialize, JsonSchema)]
struct StayedDifferent<'a> {
    /// Dotted field.
    field: &'a str,
    /// Value now.
    now: Option<String>,
    /// Value in the setup that was asked for.
    then: Option<String>,
    /// The difference and the way out in words.
    sentence: &'a str,
}

/// What the text of a rollback tells beside its answer.
#[derive(Debug)]
struct RollbackWords<'a> {
    /// The sections that were asked for; all when empty.
    only: &'a [String],
    /// The air the setup was right in, and where that is known from.
    air: Option<(NotedAir, &'a str)>,
    /// Whether it was right in that air, or only ran in it.
    was_right: bool,
    /// By how many percent the air it goes back into is denser than that one, where both are known.
    denser_percent: Option<f64>,
    /// The air it goes back into as it was typed, behind a command.
    air_now: Option<String>,
    /// The last outing, with what changed since.
    since: Option<&'a SinceOuting>,
    /// What the step does that can hurt, and how urgent it is.
    judgement: &'a Judgement,
}

impl<'a> PutBack<'a> {
    fn of(change: &'a Change) -> Self {
        let text = |value: &Option<Value>| value.as_ref().map(Value::text);
        Self { field: &change.field, old: text(&change.old), new: text(&change.new) }
    }
}

impl<'a> StayedDifferent<'a> {
    fn of(one: &'a StillDifferent) -> Self {
        let text = |value: &Option<Value>| value.as_ref().map(Value::text);
        Self { field: &one.field, now: text(&one.now), then: text(&one.then), sentence: &one.sentence }
    }
}

/// The options of an air: " --temp 24 --baro 968".
fn as_typed(air: &AirEntry) -> String {
    let option = |(name, text): (&str, String)| {
        let plain = text.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '.');
        let text = if plain { text } else { format!("\"{}\"", visible(&text)) };
        format!(" --{} {text}", name.replace('_', "-"))
    };
    air.parts().into_iter().map(option).collect()
}

impl<'a> RollbackWords<'a> {
    fn of(back: &'a RolledBack, since: Option<&'a SinceOuting>, judgement: &'a Judgement) -> Self {
        let both = back.air.as_ref().zip(back.air_now.as_ref());
        let denser = both.and_then(|((then, _), now)| denser(then, now));
        Self {
            only: &back.only,
            air: back.air.as_ref().map(|(entry, source)| (NotedAir::of(entry), source.as_str())),
            was_right: true,
            air_now: back.air_now.as_ref().map(as_typed),
            denser_percent: denser,
            since,
            judgement,
        }
    }

    /// The sections that came back, before "back to setup 9".
    fn sections(&self) -> String {
        match self.only {
            [] => String::new(),
            [several @ .., last] if !several.is_empty() => format!("{} and {last} ", several.join(", ")),
            only => format!("{} ", only.join(", ")),
        }
    }

    /// A setup goes lean in denser air than it was right in.
    fn denser_air(&self) -> Option<String> {
        denser_words(self.denser_percent?, self.was_right)
    }
}

fn denser_words(percent: f64, was_right: bool) -> Option<String> {
    (percent > 0.5).then(|| {
        format!(
            "The air is {} % denser than the air this setup {} in: it will run lean. Rejet first.",
            fixed(percent, 1),
            if was_right { "was right" } else { "ran" }
        )
    })
}

/// By how many percent one air is denser than another, where both can be read.
fn denser(then: &AirEntry, now: &AirEntry) -> Option<f64> {
    let both = then.air().ok().zip(now.air().ok());
    both.map(|(then, now)| 100.0 * (now.dry_density() / then.dry_density() - 1.0))
}

/// What is to be said of a bike that stands as asked for already, in the air it goes into now: `then` is the air that setup was right in, or
/// ran in.
pub fn lean_in_this_air(then: &AirEntry, now: &AirEntry, was_right: bool) -> Option<String> {
    denser_words(denser(then, now)?, was_right)
}

impl<'a> RollbackAnswer<'a> {
    /// What was put back, what changed since the last outing and what the step does.
    pub fn of(
        (back, jobs): (&'a RolledBack, &'a BikeJobs),
        since: Option<&'a SinceOuting>,
        judgement: &'a Judgement,
    ) -> Self {
        let setup = &back.recorded.setup;
        let on = back.jobs.iter().filter(|item| item.done.is_some());
        let step: Vec<JobItem> = back.jobs.iter().filter(|item| item.done.is_none()).cloned().collect();
        let by_hand = AtTheBike::of(&step, jobs).whole(jobs);
        Self {
            bike: &setup.bike,
            from: back.recorded.before,
            to: back.to.number,
            new: Some(setup.number),
            applied: back.plan.applied.iter().map(PutBack::of).collect(),
            maps: MapChange::all(&back.recorded.comparison),
            still_different: back.plan.still_different.iter().map(StayedDifferent::of).collect(),
            at_the_bike: by_hand.open.clone(),
            by_hand,
            said_to_be_on: on.map(|item| item.what.as_str()).collect(),
            jobs: jobs.open().map(|job| JobEntry::of(jobs, job)).collect(),
            commit: Some(&setup.commit),
            sections_since_outing: since.map(|since| since.sections.as_slice()),
            stops: Vec::new(),
            remarks: ways::all_worded(&back.recorded.remarks),
            cautions: cautions(judgement),
            held: held(judgement),
            despite: setup.despite.as_deref(),
            told: Some(RollbackWords::of(back, since, judgement)),
            kept: None,
            nothing: String::new(),
            kept_words: None,
            others_inside: None,
            was_lean: None,
        }
    }

    /// Edits that were dropped: nothing was recorded.
    pub fn dropped(to: &'a SetupRecord) -> Self {
        Self::nothing_recorded(
            to,
            format!("{}: unsaved edits lost; the files are as in setup {} again", to.bike, to.number),
        )
    }

    /// The bike is so already, or the cylinders `of` it that were asked for: nothing was recorded on top of the `newest`. `open` where jobs
    /// are.
    pub fn already(to: &'a SetupRecord, of: &[String], (newest, open): (Option<u32>, bool)) -> Self {
        let what = if of.is_empty() { String::new() } else { format!("{} is ", visible(&of.join(", "))) };
        let bike = &to.bike;
        let still =
            if open { format!("\nStill to do at the bike:\n  reedbook job {bike}") } else { String::new() };
        let words = format!("{bike}: {what}as in setup {} already; nothing to put back.{still}", to.number);
        let newest = newest.filter(|_| !of.is_empty()).or(Some(to.number));
        Self { from: newest, ..Self::nothing_recorded(to, words) }
    }

    fn nothing_recorded(to: &'a SetupRecord, words: String) -> Self {
        Self { nothing: words, bike: &to.bike, from: Some(to.number), to: to.number, ..Self::default() }
    }

    /// The same with the kept air of today.
    #[must_use]
    pub fn in_kept(self, served: &Served) -> Self {
        Self { kept: KeptAir::of(served), kept_words: served.words(), ..self }
    }

    /// The same with how what was put back ran: lean, and whether it was right in the air that is named.
    #[must_use]
    pub fn how_it_ran(mut self, was_lean: Option<String>, was_right: bool) -> Self {
        self.told.iter_mut().for_each(|told| told.was_right = was_right);
        Self { was_lean, ..self }
    }

    /// The same with what is to be changed before it runs.
    #[must_use]
    pub fn stopped_by(self, stops: Vec<String>) -> Self {
        Self { stops, ..self }
    }

    /// The same with the parts of its engine that are others than then.
    #[must_use]
    pub fn others_inside(self, others_inside: Option<OthersInside>) -> Self {
        Self { others_inside, ..self }
    }

    /// What is to be changed before it runs, and what else should be known, with what is other inside its engine.
    fn stops_and_remarks(&self, room: Room) -> (Vec<String>, Vec<String>) {
        let (mut stops, mut remarks) = (self.stops.clone(), self.remarks.clone());
        let Some(others) = self.others_inside.as_ref().filter(|_| !room.is_short()) else {
            return (stops, remarks);
        };
        let lines = stops.iter_mut().chain(&mut remarks);
        let said = lines.into_iter().find_map(|line| others.behind(line).map(|whole| *line = whole));
        if said.is_none() {
            remarks.push(others.alone());
        }
        (stops, remarks)
    }

    /// For a person: what to do at the bike, what can hurt, and what did not come back.
    pub fn text(&self, screen: &Screen) -> String {
        text_within(MOST_LINES, screen, |screen, room| self.framed(screen, room))
    }

    fn framed<'s>(&self, screen: &'s Screen, room: Room) -> Frame<'s> {
        let (bike, to) = (self.bike, self.to);
        let mut frame = Frame::new(screen);
        let (Some(told), Some(new)) = (&self.told, self.new) else {
            self.stops.iter().for_each(|line| frame.stop(line));
            let nothing = self.nothing.lines().map(|line| screen.wrap(line, 2));
            frame.block(nothing.collect::<Vec<_>>().join("\n"));
            return frame;
        };
        let (stops, remarks) = self.stops_and_remarks(room);
        let before = self.from.map(|number| format!(" (setup {number} is kept)")).unwrap_or_default();
        let sections = told.sections();
        let mut can_hurt = Frame::new(screen);
        self.was_lean.iter().chain(&told.denser_air()).for_each(|line| can_hurt.stop(line));
        first_of_all(&mut can_hurt, (told.judgement, room), (self.despite, &stops));
        let can_hurt = frame.only_what_forbids(can_hurt.parts());
        let nothing = self.by_hand.is_on_it_already() && self.said_to_be_on.is_empty();
        let at_the_bike = if nothing { "At the bike: nothing to do." } else { "At the bike:" };
        frame.hands(&format!(
            "{bike}: {sections}back to setup {to}, recorded as setup {new}{before}. {at_the_bike}"
        ));
        if self.by_hand.is_nothing() && self.said_to_be_on.is_empty() {
            frame.say(&self.nothing_to_do());
        }
        self.by_hand.say(&mut frame, (room, true));
        frame.boxes(&self.said_to_be_on.iter().map(|line| (true, visible(line))).collect::<Vec<_>>());
        frame.parts_of(can_hurt);
        if let [only] = self.still_different.as_slice() {
            frame.know(&format!("Not all of it came back: {}.", only.sentence.trim_end_matches('.')));
        } else if !self.still_different.is_empty() {
            frame.know(&format!("Not all of it came back. Still different from setup {to}:"));
            self.still_different.iter().for_each(|one| frame.say(&format!("  {}", one.sentence)));
        }
        if let Some((air, source)) = &told.air {
            let (kept, typed) = match &self.kept_words {
                Some(words) => (format!(" ({words})"), ""),
                None => (String::new(), told.air_now.as_deref().unwrap_or(" --temp … --baro … --humidity …")),
            };
            frame.say(&format!(
                "Its air: {} ({}). For today's{kept}:",
                air.in_short(screen).replace(" % air", " %"),
                visible(source)
            ));
            frame.command(&format!("reedbook rejet {bike} --baseline {to}{typed}"));
        }
        if let Some(since) =
            told.since.filter(|since| self.at_the_bike.is_empty() || !since.sections.is_empty())
            && room < Room::Tight
        {
            several_at_once(&mut frame, since, screen.verbose());
        }
        for remark in &remarks {
            frame.know(remark);
        }
        if screen.verbose() && !self.at_the_bike.is_empty() {
            frame.say("This list again, to tick it:");
            frame.command(&format!("reedbook job {bike}"));
        }
        // That the setup before it is kept stands in the first line.
        if screen.verbose() {
            undo(&mut frame, bike, self.from, told.judgement);
        }
        frame
    }

    /// Nothing is left to do when what came back is on the bike already, or was only words.
    fn nothing_to_do(&self) -> String {
        if self.applied.iter().all(|one| section_of(one.field) == "notes") {
            "  nothing: only notes came back".into()
        } else {
            format!("  nothing more: the part from setup {} is on", self.to)
        }
    }
}
