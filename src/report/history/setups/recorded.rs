//! What was recorded by a change or a rollback, and what is to be done at the bike.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::held::Judgement;
use crate::advice::standing::SinceOuting;
use crate::report::history::jobs::AtTheBike;
use crate::report::history::noted_air::NotedAir;
use crate::report::history::setups::COMMIT;
use crate::report::history::setups::changes::{FieldChange, MapChange, by_section, changes_text};
use crate::report::history::setups::step::{cautions, first_of_all, held, several_at_once, undo};
use crate::report::out::frame::Frame;
use crate::report::out::frame::room::{Room, text_within};
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::report::words::layout::{DATE, first_line};
use crate::store::{BikeJobs, Recorded, SetupRecord};

/// Lines that it takes.
const MOST_LINES: usize = 10;

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
        text_within(MOST_LINES, screen, |screen, room| self.framed(screen, room))
    }

    fn framed<'s>(&self, screen: &'s Screen, room: Room) -> Frame<'s> {
        let mut frame = Frame::new(screen);
        let mut can_hurt = Frame::new(screen);
        first_of_all(&mut can_hurt, (self.judgement, room), (self.despite, &self.stops));
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
                self.at_the_bike.say(&mut frame, (room, false));
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
        frame
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
