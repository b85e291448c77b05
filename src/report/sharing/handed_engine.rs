//! The record of an engine for its owner: written, read, its runs taken in.

use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::handed::{CameBack, in_own_words, lean_before, lean_runs};
use crate::notebook::fields::names::{in_words, visible};
use crate::notebook::{Build, Deed, HandedEngine, HandedPart, Scope, When};
use crate::quantity::{fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::out::ways;
use crate::report::sharing::sealing::SealWords;
use crate::report::words::layout::{count, first_line, table_of_names};
use crate::store::OutingRecord;

/// The record of an engine, and what becomes of its runs where a bike is named.
#[derive(Debug, Serialize, JsonSchema)]
pub struct EngineHandoverAnswer<'a> {
    /// The file that was written; null where one was read.
    file: Option<String>,
    /// How it is kept from others, and who signed it.
    seal: SealWords,
    /// Folder name of the engine where it comes from.
    engine: &'a str,
    /// Whose it is; null where that is not said.
    owner: Option<&'a str>,
    /// Who handed it over.
    who: &'a str,
    /// Name of the garage that it comes from.
    garage: Option<&'a str>,
    /// When.
    #[schemars(with = "String")]
    handed_over: When,
    /// Sections that are in it.
    sections: &'a [String],
    /// Sections that are not.
    without: &'a [String],
    /// What is in it as somebody wrote it, for whoever gives it away; null where nothing is, and of one that was read.
    as_written: Option<String>,
    /// Hours that it ran by that record; null where they are not in it.
    hours: Option<Figure<2>>,
    /// Whether that is the least it can be.
    hours_at_least: bool,
    /// How many runs that is; null where they are not in it.
    runs: Option<u32>,
    /// Its builds, newest first.
    builds: Vec<HandedBuildLine>,
    /// The parts that are or were in it.
    parts: Vec<HandedPartLine<'a>>,
    /// The bike that the engine is in here; null where none was named.
    bike: Option<&'a str>,
    /// The engine in that bike.
    engine_here: Option<&'a str>,
    /// Runs that are new here; recorded with --take.
    new: Vec<ReturnedRun>,
    /// Identities of runs that are here already.
    known: Vec<&'a str>,
    /// What must be done before it runs again, a sentence each.
    before_it_runs: Vec<String>,
    /// What is doubted, a sentence each.
    doubts: Vec<String>,
    /// What follows for the engine, a sentence each.
    remarks: &'a [String],
    /// Whether the new runs were recorded.
    taken: bool,
}

/// A build.
#[derive(Debug, Serialize, JsonSchema)]
struct HandedBuildLine {
    /// When the engine was put together.
    #[schemars(with = "String")]
    date: When,
    /// How much of it was apart.
    scope: Scope,
    /// The one of several cylinders that alone was apart; not there where all were, and on an engine with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    at: Option<String>,
    /// The same in words.
    #[serde(skip)]
    apart: String,
    /// Who built it.
    by: Option<String>,
    /// Why.
    why: Option<String>,
    /// Steps of the check list that are open.
    open_steps: usize,
}

/// A part.
#[derive(Debug, Serialize, JsonSchema)]
struct HandedPartLine<'a> {
    /// Name of the part there.
    part: &'a str,
    /// Which kind of part it is.
    kind: &'a str,
    /// Whether it is in the engine.
    is_in: bool,
    /// Its whole hours; null where they are not in the file.
    hours: Option<Figure<2>>,
    /// Whether these are the least they can be.
    hours_at_least: bool,
    /// Hours after which it is to be changed; null where that is not said.
    change_at: Option<Figure<2>>,
    /// What happened last, and when.
    last: String,
    /// The cylinder, where there are several.
    #[serde(skip)]
    cylinder: Option<&'a str>,
}

/// A run that is new here.
#[derive(Debug, Serialize, JsonSchema)]
struct ReturnedRun {
    /// Identity of the outing.
    id: String,
    /// When.
    #[schemars(with = "String")]
    date: When,
    /// Hours; null where they are not known.
    hours: Option<Figure<2>>,
    /// Where.
    place: Option<String>,
}

/// What is read of a file beside a bike.
pub struct Beside<'a> {
    /// The bike.
    pub bike: &'a str,
    /// What came back.
    pub back: &'a CameBack,
    /// What was recorded; none where it was only looked over.
    pub records: Option<&'a [OutingRecord]>,
    /// What follows for the engine.
    pub remarks: &'a [String],
}

impl<'a> HandedPartLine<'a> {
    fn of((name, part): (&'a String, &'a HandedPart)) -> Self {
        let last = part.events.last().map(|event| {
            let how = event.how.as_deref().map(|how| format!(": {}", first_line(how))).unwrap_or_default();
            let usable = if event.usable == Some(false) { ", not usable" } else { "" };
            format!("{} {}{usable}{how}", word(event.did), event.date.day())
        });
        Self {
            part: name,
            kind: &part.kind,
            is_in: part.is_in,
            hours: part.hours.map(Figure),
            hours_at_least: part.hours_at_least.unwrap_or_default(),
            change_at: part.change_at.map(Figure),
            last: last.unwrap_or_default(),
            cylinder: part.cylinder.as_deref(),
        }
    }

    fn row(&self) -> Vec<String> {
        let least = if self.hours_at_least { "at least " } else { "" };
        let hours = self.hours.as_ref().map(|hours| format!("{least}{} h", trimmed(hours.0, 2)));
        let limit = self.change_at.as_ref().map(|limit| format!("{} h", fixed(limit.0, 0)));
        let cylinder = self.cylinder.map(|name| format!(" ({})", in_words(name))).unwrap_or_default();
        vec![
            format!("{}{cylinder}", visible(self.part)),
            visible(self.kind),
            hours.unwrap_or_else(|| "-".into()),
            limit.unwrap_or_else(|| "-".into()),
            if self.is_in { visible(&self.last) } else { format!("out: {}", visible(&self.last)) },
        ]
    }
}

fn word(did: Deed) -> &'static str {
    match did {
        Deed::Removed => "taken out",
        other => other.word(),
    }
}

fn build_line(stem: &str, table: &toml::Table) -> Option<HandedBuildLine> {
    let build: Build = table.clone().try_into().ok()?;
    debug_assert!(!stem.is_empty());
    let open_steps = build.open_steps(false).len();
    let (at, apart) = (build.apart_at().map(str::to_owned), build.what_was_apart());
    let Build { date, scope, by, why, .. } = build;
    Some(HandedBuildLine { date, scope, at, apart, by, why, open_steps })
}

impl<'a> EngineHandoverAnswer<'a> {
    fn of(handover: &'a HandedEngine, seal: SealWords) -> Self {
        let mut builds: Vec<HandedBuildLine> =
            handover.builds.iter().filter_map(|(stem, table)| build_line(stem, table)).collect();
        builds.sort_by_key(|build| std::cmp::Reverse(build.date.unix()));
        let mut parts: Vec<HandedPartLine<'_>> = handover.parts.iter().map(HandedPartLine::of).collect();
        parts.sort_by_key(|part| !part.is_in);
        Self {
            file: None,
            seal,
            engine: &handover.from.engine,
            owner: handover.from.owner.as_deref(),
            who: &handover.from.who,
            garage: handover.from.garage.as_deref(),
            handed_over: handover.from.handed_over,
            sections: &handover.sections,
            without: &handover.without,
            as_written: None,
            hours: handover.hours.as_ref().map(|hours| Figure(hours.hours)),
            hours_at_least: handover.hours.as_ref().is_some_and(|hours| hours.at_least),
            runs: handover.hours.as_ref().map(|hours| hours.runs),
            builds,
            parts,
            bike: None,
            engine_here: None,
            new: Vec::new(),
            known: Vec::new(),
            before_it_runs: lean_runs(handover),
            doubts: lean_before(handover).into_iter().collect(),
            remarks: &[],
            taken: false,
        }
    }

    /// One that was written.
    pub fn written(handover: &'a HandedEngine, file: &Path, seal: SealWords) -> Self {
        let file = Some(file.display().to_string());
        Self { file, as_written: in_own_words(handover), ..Self::of(handover, seal) }
    }

    /// One that was read.
    pub fn read(handover: &'a HandedEngine, seal: SealWords) -> Self {
        Self::of(handover, seal)
    }

    /// Beside a bike.
    #[must_use]
    pub fn beside(mut self, beside: &Beside<'a>) -> Self {
        let back = beside.back;
        self.bike = Some(beside.bike);
        self.engine_here = Some(&back.engine);
        let run = |id: &str, outing: &crate::notebook::Outing| ReturnedRun {
            id: id.to_owned(),
            date: outing.date,
            hours: outing.hours.as_ref().map(|hours| Figure(hours.si() / 3600.0)),
            place: outing.place.clone(),
        };
        self.new = if let Some(records) = beside.records {
            records.iter().map(|record| run(&record.id, &record.outing)).collect()
        } else {
            let new = back.runs.new.iter().map(|new| &new.incoming);
            new.map(|incoming| run(&incoming.id, &incoming.new.outing)).collect()
        };
        self.known = back.runs.known.iter().map(|known| known.id.as_str()).collect();
        self.before_it_runs.clone_from(&back.before_it_runs);
        self.doubts = ways::all_worded(&back.doubts);
        self.remarks = beside.remarks;
        self.taken = beside.records.is_some();
        self
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        let garage = self.garage.map(|garage| format!(" ({})", visible(garage))).unwrap_or_default();
        let owner = self.owner.map(|owner| format!(", {}'s", visible(owner))).unwrap_or_default();
        let engine = format!("{}{owner}", visible(self.engine));
        let sections = visible(&self.sections.join(", "));
        match (&self.file, self.bike) {
            (Some(file), _) => frame.hands(&format!("{}: {sections} of {engine}", visible(file))),
            (None, Some(bike)) => frame.hands(&self.came(bike)),
            (None, None) => frame.hands(&format!(
                "{engine}: {sections}, from {}{garage}, {}",
                visible(self.who),
                self.handed_over.day()
            )),
        }
        self.seal.say(&mut frame);
        if self.bike.is_none() {
            self.worn(&mut frame);
        }
        self.before_it_runs.iter().for_each(|stop| frame.stop(&visible(stop)));
        self.doubts.iter().for_each(|doubt| frame.know(doubt));
        self.remarks.iter().for_each(|remark| frame.know(&visible(remark)));
        if let Some(bike) = self.bike {
            self.returned(bike, &mut frame, screen);
            return frame.text();
        }
        frame.parts_of(self.record(screen));
        frame.say(&self.not_in_it());
        if let Some(words) = &self.as_written {
            frame.say(words);
        }
        if self.file.is_none() && self.runs.is_some_and(|runs| runs > 0) {
            frame.say("To take its runs in, name the bike that the engine is in here:");
            frame.command("reedbook handover read FILE BIKE");
        }
        frame.text()
    }

    /// What must be changed before it runs.
    fn worn(&self, frame: &mut Frame<'_>) {
        for part in self.parts.iter().filter(|part| part.is_in) {
            if let (Some(hours), Some(limit)) = (&part.hours, &part.change_at)
                && hours.0 >= limit.0
            {
                frame.stop(&format!(
                    "{} has {} h of {}: change it before it runs.",
                    visible(part.part),
                    fixed(hours.0, 1),
                    fixed(limit.0, 0)
                ));
            }
        }
        if self.file.is_some() && self.owner.is_none() {
            frame.know(&format!(
                "Nobody is written down as its owner: `reedbook engine owner {} NAME`.",
                visible(self.engine)
            ));
        }
    }

    /// "3 runs of finch recorded on wren, 1.4 h; 28 are here already".
    fn came(&self, bike: &str) -> String {
        let engine = self.engine_here.unwrap_or(self.engine);
        let known = match self.known.len() {
            0 => String::new(),
            1 => "; 1 is here already".to_owned(),
            known => format!("; {known} are here already"),
        };
        if self.new.is_empty() {
            // What is here already may be another engine's than the one in this bike.
            return format!("{} for {bike}: nothing new{known}", visible(self.engine));
        }
        let hours: f64 = self.new.iter().filter_map(|run| run.hours.as_ref()).map(|hours| hours.0).sum();
        let least = if self.new.iter().any(|run| run.hours.is_none()) { "at least " } else { "" };
        let done = if self.taken { "recorded on" } else { "new for" };
        format!(
            "{} of {engine} {done} {bike}, {least}{} h{known}",
            count(self.new.len(), "run"),
            fixed(hours, 2)
        )
    }

    fn returned(&self, bike: &str, frame: &mut Frame<'_>, screen: &Screen) {
        if self.new.is_empty() {
            return;
        }
        let row = |run: &ReturnedRun| {
            vec![
                run.date.short(),
                run.hours.as_ref().map_or_else(|| "-".into(), |hours| format!("{} h", fixed(hours.0, 2))),
                run.place.as_deref().map(first_line).unwrap_or_default(),
            ]
        };
        frame.block(table_of_names(
            &["run", "hours", "where"],
            self.new.iter().map(row).collect(),
            screen.width(),
        ));
        if self.taken {
            frame.command(&format!("reedbook part due --bike {bike}"));
        } else {
            frame.say("To record them: the same with --take.");
        }
    }

    /// What stands in it.
    fn record(&self, screen: &Screen) -> Vec<crate::report::out::frame::FramePart> {
        let mut frame = Frame::new(screen);
        if let (Some(hours), Some(runs)) = (&self.hours, self.runs) {
            let least = if self.hours_at_least { "at least " } else { "" };
            let whose = if self.file.is_some() { "here" } else { "by that garage" };
            frame.say(&format!(
                "Ran {least}{} h in {}, as counted {whose}.",
                trimmed(hours.0, 2),
                count(usize::try_from(runs).unwrap_or_default(), "run")
            ));
        }
        if !self.parts.is_empty() {
            frame.block(table_of_names(
                &["part", "kind", "has run", "change at", ""],
                self.parts.iter().map(HandedPartLine::row).collect(),
                screen.width(),
            ));
        }
        let all = screen.verbose();
        let shown = if all { self.builds.len() } else { self.builds.len().min(3) };
        for build in &self.builds[..shown] {
            let by = build.by.as_deref().map(|by| format!(", by {}", visible(by))).unwrap_or_default();
            let why = build.why.as_deref().map(|why| format!(" \"{}\"", first_line(why))).unwrap_or_default();
            let open = match build.open_steps {
                0 => String::new(),
                open => format!("; {} open", count(open, "step")),
            };
            frame.say(&format!("Built {}: {}{by}{open}{why}", build.date.day(), build.apart));
        }
        if shown < self.builds.len() {
            frame.say(&format!("{} before these (-v).", count(self.builds.len() - shown, "build")));
        }
        frame.parts()
    }

    /// What is missing, and what that means.
    fn not_in_it(&self) -> String {
        let means = |section: &String| match section.as_str() {
            "builds" => "builds (what was measured)",
            "parts" => "parts (what is in it, and since when)",
            "hours" => "hours (how long it and its parts ran)",
            "head" => "head (squish, deck, chamber, gaskets, reeds)",
            "outings" => "outings (where and how it ran)",
            "notes" => "notes (reasons, marks, names, plug and piston, what was written beside)",
            _ => "",
        };
        let missing: Vec<&str> = self.without.iter().map(means).filter(|words| !words.is_empty()).collect();
        let setups = "setups: no port, head, spark or jet";
        if missing.is_empty() {
            format!("Not in it: {setups}.")
        } else {
            format!("Not in it: {}; {setups}.", missing.join(", "))
        }
    }
}

/// Fails where a run that came back cannot be taken, or is questioned and nobody says that it is right; what is said of several is said once.
pub fn settle_returned(back: &mut CameBack, file: &Path, sure: bool) -> Result<(), Trouble> {
    let findings = std::mem::take(&mut back.runs.findings).into_iter();
    let mut wrong: Vec<Trouble> = findings.map(|one| Trouble::findings(vec![one])).collect();
    let refused = std::mem::take(&mut back.runs.refused).into_iter();
    wrong.extend(refused.map(|(line, error)| Trouble::from(error).at(file, line)));
    for (line, slip) in back.runs.slips.iter().filter(|_| !sure) {
        let help = "Nothing was recorded. If it is right, say --sure.";
        wrong.push(Trouble::request(Some(&slip.field), slip.question.clone(), help).at(file, *line));
    }
    Trouble::of_many(wrong).map_or(Ok(()), Err)
}
