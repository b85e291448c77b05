//! What was recorded by a change or a rollback, and what is to be done at the bike.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::conditions::kept::Served;
use crate::advice::held::Judgement;
use crate::advice::standing::SinceOuting;
use crate::notebook::fields::names::visible;
use crate::notebook::{Change, JobItem, StillDifferent, Value, section_of};
use crate::quantity::fixed;
use crate::report::KeptAir;
use crate::report::history::jobs::{AtTheBike, JobEntry};
use crate::report::history::noted_air::NotedAir;
use crate::report::history::setups::COMMIT;
use crate::report::history::setups::changes::{FieldChange, MapChange, by_section, changes_text};
use crate::report::history::setups::step::{cautions, first_of_all, held, several_at_once, undo};
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::report::words::layout::{DATE, first_line};
use crate::store::{BikeJobs, Recorded, RolledBack, SetupRecord};

/// A change that was recorded.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ChangeAnswer<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of the setup that was recorded.
    #[schemars(range(min = 1))]
    new: u32,
    /// Number of the setup before it; null for the first.
    #[schemars(range(min = 1))]
    before: Option<u32>,
    /// Git commit that recorded it, 40 hex digits.
    #[schemars(regex(pattern = COMMIT))]
    commit: &'a str,
    /// When it was recorded, with its offset, like 2026-05-16T10:30+02:00.
    #[schemars(regex(pattern = DATE))]
    date: String,
    /// The reason, as given.
    why: &'a str,
    /// Air noted with the change.
    air: Option<NotedAir>,
    /// Fields that differ from the setup before.
    changes: Vec<FieldChange<'a>>,
    /// Maps that differ, cell by cell.
    maps: Vec<MapChange<'a>>,
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
    /// The setup as it was recorded.
    #[serde(skip)]
    setup: &'a SetupRecord,
    /// Where what is done for it is known from, and what is only written down.
    #[serde(skip)]
    recorded: &'a Recorded,
    /// What the hands do for it.
    #[serde(skip)]
    at_the_bike: AtTheBike,
    /// The last outing, with what changed since.
    #[serde(skip)]
    since: Option<&'a SinceOuting>,
    /// What the step does that can hurt, and how urgent it is.
    #[serde(skip)]
    judgement: &'a Judgement,
}

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
    /// What a lean run on what was put back says; null where none was lean. Where nothing was recorded, what forbids to run it as it is.
    was_lean: Option<String>,
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
    /// The last outing, with what changed since.
    since: Option<&'a SinceOuting>,
    /// What the step does that can hurt, and how urgent it is.
    judgement: &'a Judgement,
}

impl<'a> ChangeAnswer<'a> {
    /// What was recorded, what changed since the last outing and what the step does.
    pub fn of(
        (recorded, jobs): (&'a Recorded, &BikeJobs),
        since: Option<&'a SinceOuting>,
        judgement: &'a Judgement,
    ) -> Self {
        let setup = &recorded.setup;
        let at_the_bike = AtTheBike::of(&recorded.to_do(), jobs);
        Self {
            at_the_bike,
            bike: &setup.bike,
            new: setup.number,
            before: recorded.before,
            commit: &setup.commit,
            date: setup.date.to_string(),
            why: &setup.why,
            air: setup.air.as_ref().map(NotedAir::of),
            changes: FieldChange::all(&recorded.comparison),
            maps: MapChange::all(&recorded.comparison),
            sections_since_outing: since.map(|since| since.sections.as_slice()),
            stops: Vec::new(),
            remarks: ways::all_worded(&recorded.remarks),
            cautions: cautions(judgement),
            held: held(judgement),
            despite: setup.despite.as_deref(),
            setup,
            recorded,
            since,
            judgement,
        }
    }

    /// The same with what is to be changed before it runs.
    #[must_use]
    pub fn stopped_by(self, stops: Vec<String>) -> Self {
        Self { stops, ..self }
    }

    /// For a person: what was recorded and what the hands do, what can hurt, and how it stands.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        let mut can_hurt = Frame::new(screen);
        first_of_all(&mut can_hurt, self.judgement, (self.despite, &self.stops));
        let can_hurt = frame.only_what_forbids(can_hurt.parts());
        let (bike, number, date) = (self.bike, self.new, self.setup.date.short());
        let air = self.air.as_ref().map(|air| format!(" [{}]", air.in_short(screen))).unwrap_or_default();
        let why = first_line(self.why);
        let in_short = self.before.is_some() && !screen.verbose();
        if in_short {
            frame.hands(&format!("{bike}: setup {number} recorded: {why}{air}"));
        } else {
            frame.hands(&format!("{bike}: setup {number} recorded, {date}"));
            frame.say(&format!("  {why}{air}"));
        }
        match self.before {
            Some(_) if in_short => {
                self.at_the_bike.say(&mut frame);
                frame.parts_of(can_hurt);
                self.also_changed(screen, &mut frame);
            }
            Some(before) => {
                frame.parts_of(can_hurt);
                let sides = (format!("setup {before}"), format!("setup {number}"));
                frame.block(changes_text(screen, &self.changes, (&sides.0, &sides.1)));
            }
            None => {
                frame.parts_of(can_hurt);
                frame.say(&self.first_setup());
            }
        }
        if let Some(since) =
            self.since.filter(|since| self.at_the_bike.open.is_empty() || !since.sections.is_empty())
        {
            several_at_once(&mut frame, since, screen.verbose());
        }
        self.remarks.iter().for_each(|remark| frame.know(remark));
        undo(&mut frame, bike, self.before, self.judgement);
        frame.text()
    }

    /// What nothing is done for at the bike.
    fn also_changed(&self, screen: &Screen, frame: &mut Frame<'_>) {
        let is_written = |change: &&FieldChange<'_>| self.recorded.is_only_written(change.field());
        let new: Vec<&FieldChange<'_>> = self.changes.iter().filter(is_written).collect();
        let several = new.len() > NAMED_FIELDS;
        if several {
            frame.say(&format!("  Written down: {}.", by_section(new.iter().copied())));
        }
        let jobs = self.recorded.to_do();
        let is_job = |change: &FieldChange<'_>| jobs.iter().any(|job| job.field == change.field());
        let is_left = |change: &&FieldChange<'_>| {
            if is_written(change) { !several } else { !is_job(change) && !change.is_by_hand() }
        };
        let rest: Vec<&FieldChange<'_>> = self.changes.iter().filter(is_left).collect();
        if rest.len() > NAMED_FIELDS {
            frame.say(&format!("  Also changed: {} (-v).", by_section(rest.iter().copied())));
        } else {
            for change in &rest {
                frame.block(change.in_short(screen));
            }
        }
    }

    /// The first setup is not listed field by field: it is all new.
    fn first_setup(&self) -> String {
        format!("Values written down: {}.", by_section(&self.changes))
    }
}

/// Fields that nothing is done for at the bike and that are named one by one; of more the number is told, section by section.
const NAMED_FIELDS: usize = 6;

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

impl<'a> RollbackWords<'a> {
    fn of(back: &'a RolledBack, since: Option<&'a SinceOuting>, judgement: &'a Judgement) -> Self {
        let then = back.air.as_ref().and_then(|(entry, _)| entry.air().ok());
        let now = back.air_now.as_ref().and_then(|entry| entry.air().ok());
        let denser = then.zip(now).map(|(then, now)| 100.0 * (now.dry_density() / then.dry_density() - 1.0));
        Self {
            only: &back.only,
            air: back.air.as_ref().map(|(entry, source)| (NotedAir::of(entry), source.as_str())),
            was_right: true,
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
        let percent = self.denser_percent.filter(|percent| *percent > 0.5)?;
        Some(format!(
            "The air is {} % denser than the air this setup {} in: it will run lean. Rejet first.",
            fixed(percent, 1),
            if self.was_right { "was right" } else { "ran" }
        ))
    }
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

    /// For a person: what to do at the bike, what can hurt, and what did not come back.
    pub fn text(&self, screen: &Screen) -> String {
        let (bike, to) = (self.bike, self.to);
        let mut frame = Frame::new(screen);
        let (Some(told), Some(new)) = (&self.told, self.new) else {
            let nothing = self.nothing.lines().map(|line| screen.wrap(line, 2));
            frame.block(nothing.collect::<Vec<_>>().join("\n"));
            self.stops.iter().for_each(|line| frame.stop(line));
            return frame.text();
        };
        let before = self.from.map(|number| format!(" (setup {number} is kept)")).unwrap_or_default();
        let sections = told.sections();
        let mut can_hurt = Frame::new(screen);
        self.was_lean.iter().chain(&told.denser_air()).for_each(|line| can_hurt.stop(line));
        first_of_all(&mut can_hurt, told.judgement, (self.despite, &self.stops));
        let can_hurt = frame.only_what_forbids(can_hurt.parts());
        frame.hands(&format!(
            "{bike}: {sections}back to setup {to}, recorded as setup {new}{before}. At the bike:"
        ));
        if self.by_hand.is_nothing() && self.said_to_be_on.is_empty() {
            frame.say(&self.nothing_to_do());
        }
        self.by_hand.say(&mut frame);
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
                None => (String::new(), " --temp … --baro … --humidity …"),
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
        {
            several_at_once(&mut frame, since, screen.verbose());
        }
        self.remarks.iter().for_each(|remark| frame.know(remark));
        if screen.verbose() && !self.at_the_bike.is_empty() {
            frame.say("This list again, to tick it:");
            frame.command(&format!("reedbook job {bike}"));
        }
        // That the setup before it is kept stands in the first line.
        if screen.verbose() {
            undo(&mut frame, bike, self.from, told.judgement);
        }
        frame.text()
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
