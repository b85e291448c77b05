//! One bike at a glance, on one screen.

use super::{BikeNow, WantedNow};
use crate::advice::building::without_steps_for_later;
use crate::advice::parts::State;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::history::in_few_words::due_in_short;
use crate::report::history::jobs::JobEntry;
use crate::report::out::frame::Frame;
use crate::report::out::frame::room::Room;
use crate::report::out::screen::Screen;
use crate::report::out::width;
use crate::report::words::layout::{first_line, table};

/// What leads to the answer behind what is fitted.
const WHY: &str = "Why, and what can hurt in it:";
/// How what must be done before anything else ends.
const ONLY_THEN: &str = "Only then:";
/// Sections that give way first: between two runs nobody changes them.
const CHANGED_IN_THE_WORKSHOP: [&str; 2] = ["head", "ports"];

/// Letters of a day, "2025-10-04".
const DAY: usize = 10;

impl BikeNow<'_> {
    /// Everything that is known at one look.
    pub(super) fn page<'s>(
        &self,
        screen: &'s Screen,
        (air, typed): (String, &str),
        wants: Option<&WantedNow>,
        room: Room,
    ) -> Frame<'s> {
        let (mut frame, mut before) = (Frame::new(screen), Frame::new(screen));
        self.before_it_runs(&mut before, room);
        let before = frame.only_what_forbids(before.parts());
        self.to_do(&mut frame, (Some(self.title()), room));
        frame.parts_of(before);
        let mut rows = self.rows(screen, (screen.verbose(), room));
        if room >= Room::Tight {
            rows = beside_each_other(rows, screen);
        }
        let rows = rows.into_iter().map(|(name, words)| vec![name, words]).collect();
        // Where there is no room the jobs say it: "main 178 → 170".
        if self.is_unfinished() && room < Room::Least {
            frame.say("On it until then:");
        }
        frame.block(table(&[], rows, &[], screen.width()));
        // Without a run and without a mark there is nothing to jet from.
        let is_free = self.stops.is_empty() && self.engine_seized.is_none();
        if self.last_run.is_none() && !self.proven && wants.is_none() && is_free {
            frame.say("Nothing was judged yet, so there is nothing to rejet from. Start rich, and log its first run:");
            frame.command(&format!("reedbook outing add {} full=…", self.bike));
            return frame;
        }
        frame.say(&air);
        if let Some(wants) = wants {
            let said_above: Vec<String> = self.stops.iter().map(|words| visible(words)).collect();
            let stops = wants.stops.iter().filter(|words| !said_above.contains(words));
            // "Find out why before it is started again. Only then:" stands above what the hands do.
            let (first, behind): (Vec<_>, Vec<_>) = stops.partition(|words| words.ends_with(ONLY_THEN));
            for words in first {
                frame.stop(words);
            }
            wants.hands.iter().for_each(|words| frame.hands(&format!("  {words}")));
            for words in behind {
                frame.stop(words);
            }
            frame.say(if room == Room::Least { "More: -v. Why, and what can hurt in it:" } else { WHY });
        }
        frame.command(&format!("reedbook rejet {}{typed}", self.bike));
        if room.is_short() && (wants.is_none() || room < Room::Least) {
            frame.source("More: -v.");
        }
        frame
    }

    /// What must be known before it runs.
    pub(super) fn before_it_runs(&self, frame: &mut Frame<'_>, room: Room) {
        for stop in self.stops {
            let stop = if room.is_short() { without_steps_for_later(stop) } else { stop.clone() };
            frame.stop(&visible(&stop));
        }
        if let Some(line) = self.last_run_calls_for() {
            frame.stop(&line);
        }
        self.engine_seized.iter().for_each(|words| frame.stop(words));
        let remarks = self.remarks.iter().filter(|remark| !(room.is_short() && self.is_said_above(remark)));
        remarks.for_each(|remark| frame.know(&visible(remark)));
        if let Some(due) = self.due_words() {
            frame.know(&due);
        }
    }

    /// What its last run calls for; with its name where another run is named under it.
    pub(super) fn last_run_calls_for(&self) -> Option<String> {
        let run = self.last_run.as_ref()?;
        let line = run.before_the_next_run()?;
        let other = self.remarks.iter().chain(self.stops).any(|said| said.starts_with("The run of "));
        Some(if other { format!("Last run, {}. {line}", run.record.outing.date.short()) } else { line })
    }

    /// Whether a remark is of a run that a stop names: "The run of 2025-10-04 14:40, setup 22 was slightly lean at half throttle, …".
    fn is_said_above(&self, remark: &str) -> bool {
        let run = remark.strip_prefix("The run of ").and_then(|rest| rest.split_once(" was "));
        let Some((day, (_, setup))) =
            run.and_then(|(run, _)| Some((run.get(..DAY)?, run.rsplit_once(", ")?)))
        else {
            return false;
        };
        let names_it = |stop: &&String| {
            let of_it = [&format!("the run of {day}"), &format!("{setup},")]
                .iter()
                .all(|words| stop.contains(*words));
            of_it && stop.contains("Nothing leaner at ")
        };
        self.stops.iter().any(|stop| names_it(&stop))
    }

    /// What must be done before it runs; under a title, where there is one.
    pub(super) fn to_do(&self, frame: &mut Frame<'_>, (title, room): (Option<String>, Room)) {
        const OPEN: &str = "Not all fitted yet:";
        let open = self.jobs_open() > 0;
        match title {
            Some(title) if open && room >= Room::Tight => frame.hands(&format!("{title}. {OPEN}")),
            title => {
                if let Some(title) = &title {
                    frame.hands(title);
                }
                open.then(|| frame.say(OPEN));
            }
        }
        if open {
            let boxes = if room >= Room::Tight {
                JobEntry::boxed_together(&self.jobs)
            } else {
                self.jobs.iter().map(JobEntry::boxed).collect()
            };
            frame.boxes(&boxes);
            frame.command("reedbook job done NUMBER …");
        }
    }

    pub(super) fn title(&self) -> String {
        let bike = self.bike;
        let proven = if self.proven { ", proven" } else { "" };
        match self.setup {
            Some(number) => {
                let why = self.why.map(|why| format!(": \"{}\"", first_line(why))).unwrap_or_default();
                format!("{bike}: setup {number}{proven}{why}")
            }
            None => format!("{bike}: nothing recorded yet"),
        }
    }

    /// What is on it, its engine and its last run: a name and its words, with `all` also what is seldom turned.
    pub(super) fn rows(&self, screen: &Screen, (all, room): (bool, Room)) -> Vec<(String, String)> {
        let gives_way = |section: &str| room == Room::Least && CHANGED_IN_THE_WORKSHOP.contains(&section);
        let on_it = self.on_it.iter().filter(|one| !gives_way(one.section));
        let on_it = on_it.map(|one| (one.section.to_owned(), one.words_of(all)));
        let mut rows: Vec<(String, String)> = on_it.filter(|(_, words)| !words.is_empty()).collect();
        if let Some(engine) = self.engine {
            let hours =
                self.engine_hours.as_ref().map(|hours| match (self.engine_hours_at_least, hours.0 > 0.0) {
                    (false, _) => format!(", {} h by the record", fixed(hours.0, 1)),
                    (true, true) => format!(", at least {} h by the record", fixed(hours.0, 1)),
                    (true, false) => ", hours not known".to_owned(),
                });
            let owner = self.owner.map(|owner| format!(", {}'s", visible(owner))).unwrap_or_default();
            let hours = hours.unwrap_or_default();
            let first = self.glance.engine_to_come_out.as_ref();
            let first = first.map(|out| format!("{} in it, to come out for ", visible(out)));
            let first = first.unwrap_or_default();
            rows.push(("engine".to_owned(), format!("{first}{}{owner}{hours}", visible(engine))));
        }
        if let Some(run) = &self.last_run {
            let setup = run.setup.map(|number| format!("setup {number} | ")).unwrap_or_default();
            let line = match (all, room.is_short()) {
                (true, _) => run.line(screen),
                (false, false) => run.line_in_short(screen),
                (false, true) if room == Room::Least => run.day_and_verdict(),
                (false, true) => run.line_in_few_words(screen),
            };
            rows.push(("last run".to_owned(), format!("{setup}{line}")));
        }
        rows
    }

    /// "Due: reed-1 20.7 of 20 h; big-end-2 is not for another event."
    fn due_words(&self) -> Option<String> {
        // What is overdue is said above.
        let others = self.glance.due.iter().filter(|part| part.state() != State::Overdue);
        let words: Vec<String> = others.map(due_in_short).collect();
        (!words.is_empty()).then(|| format!("Due before the next event: {}.", words.join("; ")))
    }
}

/// Rows of which each stands behind the one before it, with its name, where both have room on a line.
fn beside_each_other(rows: Vec<(String, String)>, screen: &Screen) -> Vec<(String, String)> {
    let names = rows.iter().map(|(name, _)| width::of(name)).max().unwrap_or(0) + 2;
    let mut together: Vec<(String, String)> = Vec::new();
    for (name, words) in rows {
        let beside = format!(" | {name} {words}");
        match together.last_mut() {
            Some((_, line)) if names + width::of(line) + width::of(&beside) <= screen.width() => {
                line.push_str(&beside);
            }
            _ => together.push((name, words)),
        }
    }
    together
}
