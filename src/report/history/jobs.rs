//! Jobs: what is to be done at the bikes before what was recorded is on them, each with a box for the pencil.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::cylinder::own_of;
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{JobItem, OF_PART, SAID_TO_BE_ON};
use crate::report::out::frame::Frame;
use crate::report::out::frame::room::Room;
use crate::report::out::screen::Screen;
use crate::report::words::layout::DATE;
use crate::store::{BikeJobs, Mark, Marked, OpenJob};

/// What is to be done at the bikes.
#[derive(Debug, Serialize, JsonSchema)]
pub struct JobAnswer<'a> {
    /// The jobs by bike and number: those that are open, and those ticked since the bike ran.
    jobs: Vec<JobEntry<'a>>,
    /// Numbers of the jobs that this command marked.
    marked: Vec<u32>,
    /// Numbers of the jobs that were marked so already.
    already: Vec<u32>,
    /// Jobs of parts that are not there any more, in sentences.
    gone: Vec<&'a str>,
    /// What must not be run like that in the steps that the jobs are of, as it was said when they were recorded.
    cautions: Vec<JobCaution<'a>>,
    /// Files of jobs that cannot be read, with what is wrong in them.
    unreadable: &'a [String],
    /// What the text tells of the bikes.
    #[serde(skip)]
    bikes: Vec<&'a BikeJobs>,
    /// What was done.
    #[serde(skip)]
    done: Option<(Mark, &'a Marked)>,
}

/// What can hurt in the step that a bike's jobs are of.
#[derive(Debug, Serialize, JsonSchema)]
struct JobCaution<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// The sentence.
    sentence: &'a str,
}

/// One thing to be done.
#[derive(Debug, Serialize, JsonSchema)]
pub struct JobEntry<'a> {
    /// The number by which it is ticked, across the garage.
    #[schemars(range(min = 1))]
    number: u32,
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of the setup that wants it.
    #[schemars(range(min = 1))]
    setup: Option<u32>,
    /// The field of the setup; null for a part.
    field: Option<&'a str>,
    /// The part that goes in or comes out; null where it is none.
    part: Option<&'a str>,
    /// What the hands do.
    what: &'a str,
    /// What is on the bike; of a part, the engine that it comes out of.
    from: Option<&'a str>,
    /// What is to be on it; of a part, the engine that it goes into.
    to: Option<&'a str>,
    /// When it was ticked, with its offset; null while it is open.
    #[schemars(regex(pattern = DATE))]
    done: Option<String>,
}

impl<'a> JobEntry<'a> {
    /// A job of a bike.
    pub fn of(jobs: &'a BikeJobs, job: &'a OpenJob) -> Self {
        let item = &job.item;
        let of_field = item.field != OF_PART && !item.field.starts_with(SAID_TO_BE_ON);
        Self {
            number: job.number,
            bike: &job.bike,
            setup: jobs.setup,
            field: of_field.then_some(item.field.as_str()),
            part: item.part.as_deref(),
            what: &item.what,
            from: item.from.as_deref(),
            to: item.to.as_deref(),
            done: job.done.map(|date| date.to_string()),
        }
    }

    /// The field of the setup that it is for; none for a part.
    pub(in crate::report) fn of_a_field(&self) -> Option<&str> {
        self.field
    }

    /// Its box, with its number.
    pub(in crate::report) fn boxed(&self) -> (bool, String) {
        (self.done.is_some(), format!("{}  {}", self.number, visible(self.what)))
    }
}

impl JobEntry<'_> {
    /// The boxes of several, parts that go into one engine in one: "1, 2, 3  fit to cicada: piston-5, ring-6, small-end-3".
    pub(in crate::report) fn boxed_together(jobs: &[Self]) -> Vec<(bool, String)> {
        let goes_into = |job: &Self| job.part.and(job.to).filter(|_| job.done.is_none());
        let together =
            jobs.chunk_by(|one, other| goes_into(one).is_some() && goes_into(one) == goes_into(other));
        let boxes = together.flat_map(|group| match group {
            [first, _, ..] => {
                let numbers: Vec<String> = group.iter().map(|job| job.number.to_string()).collect();
                let parts: Vec<String> = group.iter().filter_map(|job| job.part.map(visible)).collect();
                let engine = visible(first.to.unwrap_or_default());
                vec![(false, format!("{}  fit to {engine}: {}", numbers.join(", "), parts.join(", ")))]
            }
            single => single.iter().map(Self::boxed).collect(),
        });
        boxes.collect()
    }
}

/// What a step that was recorded leaves for the hands, counted from what is really on the bike.
#[derive(Debug, Default)]
pub(super) struct AtTheBike {
    /// What is to be done for the fields of the step.
    pub(super) open: Vec<String>,
    /// What is on the bike already as the step wants it.
    already: Vec<String>,
    /// What is to be done for other fields, since earlier steps.
    earlier: Vec<String>,
}

impl AtTheBike {
    /// Of the fields of a step, by the jobs of the bike; by the step alone where no job was ever noted.
    pub(super) fn of(step: &[JobItem], jobs: &BikeJobs) -> Self {
        let Some(open) = jobs.of_setup() else {
            return Self { open: step.iter().map(|item| item.what.clone()).collect(), ..Self::default() };
        };
        let (own, earlier): (Vec<_>, Vec<_>) =
            open.into_iter().partition(|job| step.iter().any(|item| is_of(&item.field, &job.item.field)));
        let is_open = |item: &&JobItem| own.iter().any(|job| is_of(&item.field, &job.item.field));
        let already = step.iter().filter(|item| !is_open(item)).map(as_wanted).collect();
        let what = |jobs: Vec<&OpenJob>| jobs.into_iter().map(|job| job.item.what.clone()).collect();
        Self { already, open: what(own), earlier: what(earlier) }
    }

    /// Whether there is nothing to say of it.
    pub(super) fn is_nothing(&self) -> bool {
        self.open.is_empty() && self.already.is_empty()
    }

    /// Whether all of the step is on the bike already.
    pub(super) fn is_on_it_already(&self) -> bool {
        self.open.is_empty() && !self.already.is_empty()
    }

    /// With what earlier steps left, as one list; what is to be done of parts is still open from before.
    pub(super) fn whole(self, jobs: &BikeJobs) -> Self {
        let open = self.open.into_iter().chain(self.earlier).collect();
        let of_parts = jobs.open().filter(|job| job.item.field == OF_PART);
        let earlier = of_parts.map(|job| job.item.what.clone()).collect();
        Self { open, already: self.already, earlier }
    }

    /// A box for each, and a line or two for the rest; `more` where that line says that there is more.
    pub(super) fn say(&self, frame: &mut Frame<'_>, (room, more): (Room, bool)) {
        frame.boxes(&self.open.iter().map(|what| (false, visible(what))).collect::<Vec<_>>());
        let already = (!self.already.is_empty())
            .then(|| format!("On it already: {}.", visible(&self.already.join(", "))));
        let earlier = match self.earlier.as_slice() {
            [] => None,
            [one] => Some(format!("Still open from before: {}.", visible(one))),
            several => Some(format!("Still open from before: {} jobs.", several.len())),
        };
        let rest: Vec<String> = already.into_iter().chain(earlier).collect();
        if room >= Room::Tight && !rest.is_empty() {
            let more = if more { " More: -v." } else { "" };
            frame.say(&format!("  {}{more}", rest.join(" ")));
        } else {
            for line in &rest {
                frame.say(&format!("  {line}"));
            }
        }
    }
}

/// Whether a job of one field is for another: the same, that of all cylinders and of one of them, or of several that share something and
/// of one of them.
fn is_of(one: &str, other: &str) -> bool {
    let shared = || {
        let ((names, one), (others, other)) = own_of(one).zip(own_of(other))?;
        (one == other).then(|| names.split('+').any(|name| others.split('+').any(|other| name == other)))
    };
    one == other
        || shared().unwrap_or_default()
        || own_of(one).is_some_and(|(_, all)| all == other)
        || own_of(other).is_some_and(|(_, all)| all == one)
}

/// "main 178", of a job that says "main 176 → 178".
fn as_wanted(item: &JobItem) -> String {
    let (Some(_), Some((before, to))) = (&item.to, item.what.split_once(" → ")) else {
        // What a map's cells do is no matter where nothing is to be done.
        let what = item.what.split(':').next().unwrap_or(&item.what);
        return what.trim_start_matches("load ").to_owned();
    };
    let from = item.from.as_deref().unwrap_or_default();
    // Turns are not said as they were typed: then the name ends before the last number.
    let before = before.trim_end_matches(" turns").trim_end_matches(" turn");
    let number = before.rfind(' ').unwrap_or(before.len());
    let name = before.strip_suffix(from).unwrap_or(&before[..number]);
    format!("{} {to}", name.trim_end())
}

impl<'a> JobAnswer<'a> {
    /// The jobs of some bikes, after what was done.
    pub fn new(bikes: Vec<&'a BikeJobs>, done: Option<(Mark, &'a Marked)>, unreadable: &'a [String]) -> Self {
        let numbers = |jobs: &[OpenJob]| jobs.iter().map(|job| job.number).collect();
        Self {
            jobs: bikes.iter().flat_map(|bike| bike.jobs.iter().map(|job| JobEntry::of(bike, job))).collect(),
            marked: done.map(|(_, done)| numbers(&done.marked)).unwrap_or_default(),
            already: done.map(|(_, done)| numbers(&done.already)).unwrap_or_default(),
            gone: bikes.iter().flat_map(|bike| &bike.gone).map(String::as_str).collect(),
            cautions: Vec::new(),
            unreadable,
            bikes,
            done,
        }
    }

    /// The same with what can hurt in the steps: a bike and a sentence each.
    #[must_use]
    pub fn warned(mut self, cautions: &'a [(String, String)]) -> Self {
        self.cautions = cautions.iter().map(|(bike, sentence)| JobCaution { bike, sentence }).collect();
        self
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        if !self.unreadable.is_empty() {
            frame.stop("A list of jobs cannot be read: there may be more to do than stands here.");
            let findings = self.unreadable.iter().flat_map(|findings| findings.lines());
            findings.for_each(|finding| frame.know(&visible_lines(finding)));
        }
        if let Some((mark, done)) = self.done {
            said(&mut frame, mark, done);
        }
        for bike in self.bikes.iter().filter(|bike| !bike.jobs.is_empty()) {
            let setup = bike.setup.map(|number| format!("setup {number}")).unwrap_or_default();
            let name = &bike.bike;
            let of_it = self.cautions.iter().filter(|caution| caution.bike == *name);
            let whose = if self.bikes.len() > 1 { format!("{name}: ") } else { String::new() };
            let mut can_hurt = Frame::new(screen);
            of_it.for_each(|caution| can_hurt.stop(&format!("{whose}{}", visible(caution.sentence))));
            let can_hurt = frame.only_what_forbids(can_hurt.parts());
            frame.hands(&match bike.open().count() {
                0 => format!("{name}: {setup} is on it, all jobs done"),
                1 => format!("{name}: 1 job before {setup} is on it"),
                several => format!("{name}: {several} jobs before {setup} is on it"),
            });
            let boxes: Vec<_> =
                self.jobs.iter().filter(|job| job.bike == *name).map(JobEntry::boxed).collect();
            frame.boxes(&boxes);
            frame.parts_of(can_hurt);
        }
        if self.jobs.is_empty() && self.done.is_none() && self.unreadable.is_empty() {
            frame.hands(&self.nothing_to_do());
        }
        for bike in self.bikes.iter().filter(|bike| bike.combined_never_run) {
            frame.know(&format!(
                "{}: {} is combined, never run: start rich, and read plug and piston before full throttle.",
                bike.bike,
                bike.setup.map(|number| format!("setup {number}")).unwrap_or_default()
            ));
        }
        self.gone.iter().for_each(|gone| frame.know(&visible(gone)));
        if self.done.is_none()
            && let Some(command) = self.to_tick()
        {
            frame.say("When done:");
            frame.command(&command);
        }
        frame.text()
    }

    fn nothing_to_do(&self) -> String {
        match self.bikes.as_slice() {
            [bike] if bike.taken_back => {
                format!(
                    "{}: nothing to do: what was recorded since it ran was taken back and never ticked",
                    bike.bike
                )
            }
            [bike] => format!("{}: nothing to do", bike.bike),
            _ => "Nothing to do at any bike.".to_owned(),
        }
    }

    /// The command that ticks what is open.
    fn to_tick(&self) -> Option<String> {
        let open: Vec<String> =
            self.jobs.iter().filter(|job| job.done.is_none()).map(|job| job.number.to_string()).collect();
        let one_bike = self.bikes.iter().filter(|bike| bike.open().next().is_some()).collect::<Vec<_>>();
        match (open.as_slice(), one_bike.as_slice()) {
            ([], _) => None,
            (many, [bike]) if many.len() > NAMED => Some(format!("reedbook job done all {}", bike.bike)),
            // Numbers of several bikes in one line are ticked by who looks at one of them.
            (_, [_, _, ..]) => Some("reedbook job done NUMBER …".to_owned()),
            (few, _) => Some(format!("reedbook job done {}", few.join(" "))),
        }
    }
}

/// Jobs that are named one by one; of more the number is told.
const NAMED: usize = 6;

/// What was ticked, or was so already.
fn said(frame: &mut Frame<'_>, mark: Mark, done: &Marked) {
    let is_done = mark == Mark::Done;
    for job in &done.marked {
        let word = if is_done { "done" } else { "open again" };
        frame.say(&format!("{} {word}: {}", job.number, visible(&job.item.what)));
    }
    for job in &done.already {
        let date = job.done.map(|date| format!(" ({})", date.short())).unwrap_or_default();
        let word = if is_done { "was done before" } else { "was open anyway" };
        frame.say(&format!("{} {word}{date}: {}", job.number, visible(&job.item.what)));
    }
    if done.marked.is_empty() && done.already.is_empty() {
        frame.hands("Nothing to do.");
    }
}

/// The question whether a bike ran without what is still open; return is no where it is an answer.
pub fn without_them(jobs: &BikeJobs, on_it: u32, return_is_no: bool) -> String {
    let open = in_a_line(jobs.open().map(|job| job.item.what.as_str()));
    let keys = if return_is_no { "y, or return for no" } else { "y or n: it was lean" };
    format!("Still open at {}: {open}.\nDid it run without, on setup {on_it}? ({keys})", jobs.bike)
}

/// The same in short, where the answer was none.
pub fn which_of_two(on_it: u32, return_is_no: bool) -> String {
    let no = if return_is_no { "n or return" } else { "n" };
    format!("y: without, on setup {on_it}; {no}: with all of it")
}

/// Jobs in one line, "main 178 → 174; clip 3 → 2 and 2 more".
pub(super) fn in_a_line<'a>(jobs: impl Iterator<Item = &'a str>) -> String {
    let what: Vec<String> = jobs.map(visible).collect();
    let (named, more) = what.split_at(what.len().min(NAMED));
    let more = if more.is_empty() { String::new() } else { format!(" and {} more", more.len()) };
    format!("{}{more}", named.join("; "))
}
