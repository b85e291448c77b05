//! A run that was just logged, for a person: what it calls for first.

use super::{OpenOnAPage, OutingWritten};
use crate::advice::building::without_steps_for_later;
use crate::notebook::fields::names::visible;
use crate::notebook::{Doubted, Mixture};
use crate::report::history::jobs::in_a_line;
use crate::report::out::frame::room::{Room, text_within};
use crate::report::out::frame::{Frame, FramePart};
use crate::report::out::screen::Screen;

/// Lines that it takes.
const MOST_LINES: usize = 8;

/// Jobs taken as done that are named; of more the number is told.
const NAMED_JOBS: usize = 2;
/// The same of parts.
const NAMED_PARTS: usize = 4;

impl OutingWritten<'_> {
    /// What was logged, what must be done before the next run, and what it cannot tell.
    pub fn logged(&self, screen: &Screen) -> String {
        text_within(MOST_LINES, screen, |screen, room| {
            let mut frame = self.logged_frame(screen, room);
            self.taken_as_done(&mut frame, (screen.verbose(), room));
            // Where there is no room for more, what was on it comes before who vouches for it.
            if room < Room::Least || screen.verbose() {
                self.how_to_vouch(&mut frame);
            }
            frame
        })
    }

    /// The same for a page, where what was open is asked beside it ([`Self::open_on_a_page`]).
    pub(in crate::report) fn logged_on_a_page(&self, screen: &Screen) -> Vec<FramePart> {
        let mut frame = self.logged_frame(screen, Room::Ample);
        self.how_to_vouch(&mut frame);
        frame.parts()
    }

    /// The jobs that were open when it ran; none where none was.
    pub(in crate::report) fn open_on_a_page(&self) -> Option<OpenOnAPage> {
        let is_asked = self.outing.not_ticked("").is_some();
        let what = if is_asked && !self.of_fuel.is_empty() { &self.of_fuel } else { &self.taken_as_done };
        (is_asked || !self.taken_as_done.is_empty()).then(|| OpenOnAPage {
            what: in_a_line(what.iter().copied()),
            is_asked,
            setup: self.outing.setup,
            without: self.without_them,
            parts: self.parts_done.iter().map(|(number, part)| (*number, visible(part))).collect(),
        })
    }

    fn logged_frame<'s>(&self, screen: &'s Screen, room: Room) -> Frame<'s> {
        let outing = &self.outing;
        let mut can_hurt = Frame::new(screen);
        let calls_for = outing.before_the_next_run();
        if let Some(line) = &calls_for {
            can_hurt.stop(line);
        }
        if let Some(line) = outing.slightly_lean_below_full() {
            can_hurt.stop(line);
        }
        for stop in self.stops {
            let stop = if room.is_short() { without_steps_for_later(stop) } else { stop.clone() };
            can_hurt.stop(&visible(&stop));
        }
        let open = in_a_line(self.of_fuel.iter().copied());
        if room < Room::Tight {
            outing.not_ticked(&open).iter().for_each(|line| can_hurt.stop(line));
        } else if outing.not_ticked(&open).is_some() {
            self.ask_which_setup(&open, &mut can_hurt);
        }
        // What ran right is no reason to stop, and one word of it is enough; what nobody judged is. What ran lean goes richer before anything
        // else, and the steps that led there are said with the jobs.
        let was_well = outing.record.outing.at_full_throttle().is_some_and(|full| full >= Mixture::Right);
        match self.cautions.first().filter(|_| was_well) {
            _ if calls_for.is_some() && room >= Room::Tight => {}
            Some(first) => can_hurt.know(&visible(first)),
            None => self.cautions.iter().for_each(|line| can_hurt.stop(&visible(line))),
        }
        let mut frame = Frame::new(screen);
        let can_hurt = frame.only_what_forbids(can_hurt.parts());
        let setup = outing.setup.map_or(String::new(), |number| format!(" on setup {number}"));
        let logged = format!("{}: outing {} logged{setup}", outing.record.bike, outing.id);
        let (first, line) = match room {
            Room::Ample => (logged, outing.line(screen)),
            Room::Short => (logged, outing.line_in_few_words(screen)),
            // Its day stands in the first line: then place, verdict and air have room on one.
            Room::Tight | Room::Least => {
                (format!("{logged}, {}", outing.day()), outing.line_without_its_day(screen))
            }
        };
        frame.hands(&first);
        frame.parts_of(can_hurt);
        frame.say(&format!("  {line}"));
        let taken = (!self.taken.is_empty()).then(|| format!("{} as last today", self.taken.join(" and ")));
        let taken: Vec<String> = taken.into_iter().chain(self.from.clone()).collect();
        if !taken.is_empty() {
            frame.say(&format!("  {}", taken.join(" | ")));
        }
        // Who is told to add the air knows that there is none.
        let is_asked_for = self.remarks.iter().any(|remark| remark.contains("--temp …"));
        let without_air = outing.without_air().filter(|_| !(room.is_short() && is_asked_for));
        outing.contradicted().into_iter().chain(without_air).for_each(|line| frame.know(&line));
        let asked = outing.not_ticked("").is_some();
        let doubted = outing.doubts().into_iter().filter(|(what, _)| !asked || *what != Doubted::Setup);
        doubted.for_each(|(_, line)| frame.know(&line));
        self.remarks.iter().for_each(|remark| frame.know(&visible(remark)));
        frame
    }

    /// Which setup ran lean, where jobs were open: shorter than what `not_ticked` says, with one command for both answers.
    fn ask_which_setup(&self, open: &str, frame: &mut Frame<'_>) {
        let both = self.outing.setup.zip(self.without_them).filter(|(with, without)| with != without);
        let which = both.map_or("Which setup ran".to_owned(), |(with, without)| {
            format!("Setup {with} with it, or {without} without")
        });
        let open = if open.is_empty() { "what was recorded before it" } else { open };
        frame.stop(&format!("Never ticked: {open}. {which}? Until said, the richest counts as lean:"));
        frame.command(&self.to_mend("NUMBER"));
    }

    /// The command that says which setup it ran.
    fn to_mend(&self, setup: &str) -> String {
        let which = if self.last { "last" } else { self.outing.id };
        format!("reedbook outing edit {} {which} --setup {setup}", self.bike)
    }

    /// What marks the setup as proven, where all was right.
    fn how_to_vouch(&self, frame: &mut Frame<'_>) {
        if let Some(command) = self.outing.to_vouch().filter(|_| !self.taken_back) {
            frame.say(&command.0);
            frame.command(&command.1);
        }
    }

    /// The jobs that were still open, and what to type where it ran without them.
    fn taken_as_done(&self, frame: &mut Frame<'_>, (all, room): (bool, Room)) {
        let which = if self.last { "last" } else { self.outing.id };
        let mend = |setup: &str| self.to_mend(setup);
        if self.outing.not_ticked("").is_some() {
            // It was asked above.
            if room >= Room::Tight {
                return;
            }
            frame.say("If it ran with all of it:");
            frame.command(&format!("reedbook outing edit {} {which} --confirm setup", self.bike));
            frame.say("If it ran without:");
            match self.without_them.filter(|number| Some(*number) != self.outing.setup) {
                Some(number) => frame.command(&mend(&number.to_string())),
                None => frame.command(&mend("NUMBER")),
            }
            return;
        }
        if self.taken_as_done.is_empty() {
            return;
        }
        if !self.parts_done.is_empty() {
            let (numbers, parts): (Vec<String>, Vec<String>) =
                self.parts_done.iter().map(|(number, part)| (number.to_string(), visible(part))).unzip();
            let what = match parts.len() {
                _ if all => in_a_line(self.taken_as_done.iter().copied()),
                ..=NAMED_PARTS => parts.join(", "),
                several => format!("{several} parts"),
            };
            frame.know(&format!("Taken as done: {what}. If it ran without:"));
            frame.command(&format!(
                "reedbook outing edit {} {which} --without {}",
                self.bike,
                numbers.join(",")
            ));
            return;
        }
        let jobs = self.taken_as_done.len();
        let what = if jobs > NAMED_JOBS && !all {
            format!("{jobs} jobs that were open (-v)")
        } else {
            in_a_line(self.taken_as_done.iter().copied())
        };
        if let Some(number) = self.without_them {
            frame.know(&format!("Taken as done: {what}. If it ran without:"));
            frame.command(&mend(&number.to_string()));
        } else {
            frame.know(&format!(
                "Taken as done: {what}. If it ran without, no setup is as it stood: record one as it was, then"
            ));
            frame.command(&mend("latest"));
        }
    }
}
