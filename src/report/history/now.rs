//! A bike at a glance, or all of them, a line each.

mod page;

use schemars::JsonSchema;
use serde::Serialize;

use super::in_few_words::{counted, how_it_ran};
use super::jobs::JobEntry;
use super::outing::OutingEntry;
use super::sections::SectionNow;
use crate::advice::conditions::kept::Served;
use crate::advice::learning::OwnNames;
use crate::advice::now::Glance;
use crate::advice::parts::{DueStanding, State};
use crate::notebook::fields::names::visible;
use crate::report::KeptAir;
use crate::report::history::noted_air::NotedAir;
use crate::report::out::figure::Figure;
use crate::report::out::frame::room::{Room, text_within};
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::report::words::layout::{first_line, table};

/// The bikes as they stand.
#[derive(Debug, Serialize, JsonSchema)]
pub struct NowAnswer<'a> {
    /// Each bike; the one that was asked for, or all that are in use.
    bikes: Vec<BikeNow<'a>>,
    /// The air that is kept where the day is spent; null where none serves.
    kept: Option<KeptAir>,
    /// The same air, with what follows from it.
    air: Option<NotedAir>,
    /// What the bike that was asked for wants in that air; null where that is not known, or no bike was asked for.
    wants: Option<WantedNow>,
    /// Where that air is from, and why none serves.
    #[serde(skip)]
    served: &'a Served,
    /// Whether one was asked for.
    #[serde(skip)]
    one: bool,
}

/// Lines of one bike: a screen.
const MOST_LINES: usize = 24;

/// What a bike wants in an air, in short.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub struct WantedNow {
    /// What the hands do, a sentence each: "moth: FIT main 178 → 176".
    pub(in crate::report) hands: Vec<String>,
    /// What must not be done, or be done first, a sentence each.
    pub(in crate::report) stops: Vec<String>,
}

/// One bike as it stands.
#[derive(Debug, Serialize, JsonSchema)]
struct BikeNow<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of its newest setup; null before the first.
    #[schemars(range(min = 1))]
    setup: Option<u32>,
    /// Whether that setup is marked proven.
    proven: bool,
    /// Why it was recorded.
    why: Option<&'a str>,
    /// What is on it, by section; while jobs are open, what they have not changed yet.
    on_it: Vec<SectionNow<'a>>,
    /// Its engine; null where none is written down.
    engine: Option<&'a str>,
    /// Whose that engine is; null where it is the garage's own.
    owner: Option<&'a str>,
    /// What that engine ran by the record, hours; null where nothing was logged.
    engine_hours: Option<Figure<2>>,
    /// Whether that is only the least that it can be.
    engine_hours_at_least: bool,
    /// Its last run; null before the first.
    last_run: Option<OutingEntry<'a>>,
    /// Parts that are over their limit or will not last another event, the most urgent first.
    due: Vec<PartDueNow<'a>>,
    /// What is to be said where its engine seized in another bike and no cause is written down; null else.
    engine_seized: Option<String>,
    /// What is to be done before that setup is on it: jobs that are open, and those ticked since it ran.
    jobs: Vec<JobEntry<'a>>,
    /// What forbids to run it as it stands, a sentence each: its engine is not put together, or was lean and not looked into.
    stops: &'a [String],
    /// What must be known before it runs, a sentence each.
    remarks: Vec<String>,
    /// How the glance was taken.
    #[serde(skip)]
    glance: &'a Glance,
}

/// A bike as it stands on a sheet.
pub(in crate::report) struct OnASheet {
    /// Why its newest setup was recorded.
    pub(in crate::report) why: Option<String>,
    /// Whether that setup is marked proven.
    pub(in crate::report) proven: bool,
    /// What is on it: a name and its words.
    pub(in crate::report) rows: Vec<(String, String)>,
    /// Whether something of its setup is not on it yet.
    pub(in crate::report) unfinished: bool,
    /// What must be known before it runs.
    pub(in crate::report) before: Vec<FramePart>,
    /// What must be done before it runs.
    pub(in crate::report) jobs: Vec<FramePart>,
}

/// One bike among others, in a few words each.
pub(in crate::report) struct BikeLine {
    /// Its folder name.
    pub(in crate::report) bike: String,
    /// Number of its newest setup, and whether that is proven; "-" before the first.
    pub(in crate::report) setup: String,
    /// What meters its fuel, as it stands.
    pub(in crate::report) on_it: String,
    /// Whether something of its setup is not on it yet.
    pub(in crate::report) unfinished: bool,
    /// Its last run, and how that was.
    pub(in crate::report) last_run: String,
    /// Jobs that are open and parts that are due, counted; empty where there are none.
    pub(in crate::report) to_do: String,
    /// What forbids to run it as it stands, and what its last run calls for before the next one.
    pub(in crate::report) stops: Vec<String>,
}

/// A part that is due.
#[derive(Debug, Serialize, JsonSchema)]
struct PartDueNow<'a> {
    /// Name of the part.
    part: &'a str,
    /// The cylinder it is at, of an engine with several; not there where it is of all.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    cylinder: Option<&'a str>,
    /// How it stands: "overdue", "not for another event".
    state: &'static str,
    /// What it ran, hours.
    hours: Figure<2>,
    /// Its limit, in the limit's own measure; null where it has none.
    limit: Option<Figure<2>>,
}

impl OnASheet {
    /// What stands over its rows.
    pub(in crate::report) fn heading(&self) -> &'static str {
        if self.unfinished { "On the bike until the jobs are done" } else { "On the bike" }
    }
}

impl<'a> NowAnswer<'a> {
    /// One bike, or all of them.
    pub fn of(glances: &'a [Glance], one: bool, served: &'a Served) -> Self {
        Self {
            bikes: glances.iter().map(BikeNow::of).collect(),
            kept: KeptAir::of(served),
            air: served.entry.as_ref().map(NotedAir::of),
            wants: None,
            served,
            one,
        }
    }

    /// The same with what the bike wants in today's air.
    #[must_use]
    pub fn wanting(self, wants: Option<WantedNow>) -> Self {
        Self { wants: wants.filter(|wants| !wants.hands.is_empty()), ..self }
    }

    /// What is known of the air of today, before the command that asks what it wants.
    fn todays_air(&self, screen: &Screen, room: Room) -> (String, &'static str) {
        let typed = " --temp … --baro … --humidity …";
        let refused = self.served.refused.as_ref().filter(|refused| refused.of_the_day);
        if let Some(finding) = self.served.unreadable.first() {
            let file = visible(&finding.place.file.to_string_lossy());
            return (format!("{file} cannot be read. What the air of today wants:"), typed);
        }
        match (&self.air, self.served.words(), refused) {
            (Some(air), Some(words), _) if room == Room::Least => {
                (format!("{} ({words}) wants:", air.in_short(screen)), "")
            }
            (Some(air), Some(words), _) => {
                (format!("What the air of today wants, {} ({words}):", air.in_short(screen)), "")
            }
            (_, _, Some(refused)) => (format!("{} What the air wants now:", refused.words), typed),
            _ => ("What the air of today wants:".to_owned(), typed),
        }
    }

    /// One bike as it stands, for a sheet; none where none was asked for.
    pub(in crate::report) fn on_a_sheet(&self, screen: &Screen) -> Option<OnASheet> {
        let bike = self.bikes.first()?;
        let (mut before, mut jobs) = (Frame::new(screen), Frame::new(screen));
        bike.before_it_runs(&mut before, Room::Ample);
        bike.to_do(&mut jobs, (None, Room::Ample));
        Some(OnASheet {
            why: bike.why.map(first_line),
            proven: bike.proven,
            rows: bike.rows(screen, (true, Room::Ample)),
            unfinished: bike.is_unfinished(),
            before: said_once(before.parts()),
            jobs: jobs.parts(),
        })
    }

    /// What is known of the air of today, for a page that has a way to its answer.
    pub(in crate::report) fn air_on_a_page(&self, screen: &Screen) -> Vec<FramePart> {
        let mut frame = Frame::new(screen);
        let refused = self.served.refused.as_ref().filter(|refused| refused.of_the_day);
        self.served.unreadable.iter().for_each(|finding| frame.know(&finding.to_string()));
        match (&self.air, self.served.words(), refused) {
            (Some(air), Some(words), _) => frame.say(&format!("{} ({words}).", air.in_short(screen))),
            (_, _, Some(refused)) => frame.know(&refused.words),
            _ => frame.say("None is kept for today: type it with the question."),
        }
        frame.parts()
    }

    /// The air that serves as it was typed, in words: "temp 18 C, baro 1002 hPa, humidity 60 %".
    pub(in crate::report) fn air_as_typed(&self) -> Option<String> {
        self.air.as_ref().map(|air| visible(air.line()).replace("; ", ", ").replace('=', " "))
    }

    /// Each bike in a few words.
    pub(in crate::report) fn lines(&self) -> Vec<BikeLine> {
        self.bikes.iter().map(BikeNow::line).collect()
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        match self.bikes.as_slice() {
            [] => "No bikes yet. Make one:\n  reedbook bike new NAME".to_owned(),
            [bike] if self.one => {
                let air = |room| self.todays_air(screen, room);
                text_within(MOST_LINES, screen, |screen, room| {
                    bike.page(screen, air(room), self.wants.as_ref(), room)
                })
            }
            bikes => {
                let (mut frame, mut before) = (Frame::new(screen), Frame::new(screen));
                for bike in bikes {
                    let mut stop = |words: &str| before.stop(&format!("{}: {words}", bike.bike));
                    bike.stops.iter().for_each(|words| stop(&visible(words)));
                    bike.last_run_calls_for().iter().for_each(|words| stop(words));
                    bike.engine_seized.iter().for_each(|words| stop(words));
                }
                let before = frame.only_what_forbids(before.parts());
                frame.block(bikes_in_lines(bikes, screen));
                frame.parts_of(before);
                frame.text()
            }
        }
    }
}

impl<'a> BikeNow<'a> {
    fn of(glance: &'a Glance) -> Self {
        Self {
            bike: &glance.bike,
            setup: glance.setup.as_ref().map(|setup| setup.number),
            proven: glance.proven,
            why: glance.setup.as_ref().map(|setup| setup.why.as_str()),
            on_it: glance.on_it.iter().map(SectionNow::of).collect(),
            engine: glance.engine.as_deref(),
            owner: glance.owner.as_deref(),
            engine_hours: glance.engine_hours.map(|(hours, _)| Figure(hours)),
            engine_hours_at_least: glance.engine_hours.is_some_and(|(_, at_least)| at_least),
            last_run: glance.last_run.as_ref().map(OutingEntry::of),
            due: glance.due.iter().map(PartDueNow::of).collect(),
            engine_seized: glance.engine_seized.as_ref().map(ways::worded),
            jobs: glance.jobs.jobs.iter().map(|job| JobEntry::of(&glance.jobs, job)).collect(),
            stops: &glance.stops,
            remarks: ways::all_worded(&glance.remarks),
            glance,
        }
    }

    /// Whether something of its setup is not on it yet.
    fn is_unfinished(&self) -> bool {
        self.glance.jobs.not_as_written().is_some()
    }

    fn jobs_open(&self) -> usize {
        self.glance.jobs.open().count()
    }

    fn line(&self) -> BikeLine {
        let setup = self.setup.map_or("-".to_owned(), |number| number.to_string());
        let run = self.last_run.as_ref().map(|run| {
            let outing = &run.record.outing;
            let how = how_it_ran(outing, &OwnNames::of([self.bike]));
            let blank = if how.is_empty() { "" } else { " " };
            format!("{}{blank}{how}", outing.date.day())
        });
        let over = self.glance.due.iter().filter(|part| part.state() == State::Overdue).count();
        let (over, due) = (counted(over, "overdue"), counted(self.due.len() - over, "due"));
        let jobs = match self.jobs_open() {
            0 => None,
            1 => Some("1 job".to_owned()),
            several => Some(format!("{several} jobs")),
        };
        let to_do: Vec<String> = jobs.into_iter().chain(over).chain(due).collect();
        BikeLine {
            bike: self.bike.to_owned(),
            setup: if self.proven { format!("{setup} proven") } else { setup },
            on_it: self.main_words(),
            unfinished: self.is_unfinished(),
            last_run: run.unwrap_or_else(|| "not run yet".to_owned()),
            to_do: to_do.join(", "),
            stops: self
                .stops
                .iter()
                .map(|words| visible(words))
                .chain(self.last_run.as_ref().and_then(OutingEntry::before_the_next_run))
                .collect(),
        }
    }

    fn main_words(&self) -> String {
        let jetting = self.on_it.iter().find(|one| ["jetting", "injection"].contains(&one.section));
        jetting.map(SectionNow::in_short).unwrap_or_default()
    }
}

/// The parts without a lean run that only must be known where the same one, under the same setup, forbids something already.
fn said_once(parts: Vec<FramePart>) -> Vec<FramePart> {
    let stops: Vec<String> = parts
        .iter()
        .filter_map(|part| if let FramePart::Stop(words) = part { Some(words.clone()) } else { None })
        .collect();
    let is_said = |part: &FramePart| {
        let FramePart::Know(words) = part else { return false };
        let run = words.strip_prefix("The run of ").and_then(|rest| rest.split_once(" was "));
        let Some((moment, setup)) = run.and_then(|(run, _)| run.split_once(", ")) else { return false };
        let day = moment.split(' ').next().unwrap_or(moment);
        let named = [day, moment].map(|date| format!("the run of {date}, {setup},"));
        stops.iter().any(|stop| named.iter().any(|run| stop.contains(run.as_str())))
    };
    parts.into_iter().filter(|part| !is_said(part)).collect()
}

impl<'a> PartDueNow<'a> {
    fn of(part: &'a DueStanding) -> Self {
        Self {
            part: &part.part,
            cylinder: part.cylinder.as_deref(),
            state: part.words(),
            hours: Figure(part.count.hours_h),
            limit: part.first().map(|limit| Figure(limit.limit)),
        }
    }
}

fn bikes_in_lines(bikes: &[BikeNow<'_>], screen: &Screen) -> String {
    let row = |line: BikeLine| vec![line.bike, line.setup, line.on_it, line.last_run, line.to_do];
    let rows = bikes.iter().map(BikeNow::line).map(row).collect();
    table(&["bike", "setup", "on it", "last run", "to do"], rows, &[], screen.width())
}
