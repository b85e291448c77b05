//! What a share brought, sent and asks.

use schemars::JsonSchema;
use serde::Serialize;

use super::brought_runs::{self, RunEntry, StopEntry};
use super::kept_metal::MetalEntry;
use super::side::SideEntry;
use crate::advice::held::Judgement;
use crate::notebook::fields::names::visible;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::report::words::layout::{DATE, columns, first_line};
use crate::store::{Keep, ShareQuestion, Shared, outing_id};

/// The longest value that stands in a table beside two others.
const CELL: usize = 18;

/// What was brought and sent, or what is to be answered before.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ShareAnswer<'a> {
    /// What the garage is shared through.
    remote: &'a str,
    /// Setups that others recorded.
    setups: Vec<BroughtSetup<'a>>,
    /// Runs that others logged, mended or took out, oldest first.
    runs: Vec<RunEntry<'a>>,
    /// What forbids to run a bike as it stands, of bikes whose lean runs came, or whose setup was chosen.
    stops: Vec<StopEntry<'a>>,
    /// Other documents that came.
    brought: Vec<BroughtFiles>,
    /// How many commits were sent.
    sent: usize,
    /// What has to be answered; with any nothing was brought or sent.
    questions: Vec<QuestionEntry<'a>>,
    /// What was answered.
    settled: Vec<SettledEntry<'a>>,
    /// Setups of this side whose number was taken on the other.
    renumbered: Vec<RenumberedEntry<'a>>,
    /// What else is to be known.
    notes: Vec<String>,
    /// What can hurt in what was chosen.
    #[serde(skip)]
    judged: &'a [Judgement],
    /// What speaks against a setup that others recorded, by its bike.
    #[serde(skip)]
    brought_judged: &'a [(String, Judgement)],
}

/// A setup that somebody else recorded.
#[derive(Debug, Serialize, JsonSchema)]
struct BroughtSetup<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Its number.
    #[schemars(range(min = 1))]
    number: u32,
    /// Who recorded it.
    author: &'a str,
    /// When, with its offset.
    #[schemars(regex(pattern = DATE))]
    date: String,
    /// Why.
    why: &'a str,
}

/// Documents of one kind that came.
#[derive(Debug, Serialize, JsonSchema)]
struct BroughtFiles {
    /// What they are: outings, builds, parts.
    what: &'static str,
    /// How many.
    count: usize,
}

/// What only a person can say.
#[derive(Debug, Serialize, JsonSchema)]
struct QuestionEntry<'a> {
    /// The bike, or the file.
    subject: &'a str,
    /// Whether it is about a bike's setup.
    setup: bool,
    /// What the others recorded.
    theirs: SideEntry<'a>,
    /// What was recorded here.
    ours: SideEntry<'a>,
    /// The fields that a side changed.
    fields: Vec<FieldEntry<'a>>,
    /// Why the two cannot be combined; null where they can.
    apart: Option<&'a str>,
    /// Fields that were cut in metal on one side only: they stay whichever side holds.
    metal: &'a [String],
    /// The bike whose run it is about; null of anything else.
    run_of: Option<&'a str>,
    /// Of a bike that is retired on either side what there is to say of that; null of any other.
    retired: Option<String>,
}

/// One field on both sides; null where a side has it not.
#[derive(Debug, Serialize, JsonSchema)]
struct FieldEntry<'a> {
    /// The dotted field.
    field: &'a str,
    /// As it was.
    before: Option<&'a str>,
    /// As the others have it.
    theirs: Option<&'a str>,
    /// As it is here.
    ours: Option<&'a str>,
    /// Of a map where and by how much it differs; null of what is none.
    map: Option<MapEntry<'a>>,
}

/// How a map differs on both sides; null where it does not.
#[derive(Debug, Serialize, JsonSchema)]
struct MapEntry<'a> {
    /// The others' from what was before.
    theirs: Option<&'a str>,
    /// This side's from what was before.
    ours: Option<&'a str>,
    /// The others' from this side's.
    theirs_from_ours: Option<&'a str>,
}

/// A question that was answered.
#[derive(Debug, Serialize, JsonSchema)]
struct SettledEntry<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Which side was kept: theirs, ours or both.
    kept: &'static str,
    /// The setup that it became.
    #[schemars(range(min = 1))]
    number: u32,
    /// Whether nobody ran it.
    combined: bool,
    /// What was cut in metal on the side that was not kept, and what both sides cut.
    metal: Vec<MetalEntry<'a>>,
}

/// A number that gave way.
#[derive(Debug, Serialize, JsonSchema)]
struct RenumberedEntry<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// The number that it had here.
    #[schemars(range(min = 1))]
    was: u32,
    /// The number that it has now.
    #[schemars(range(min = 1))]
    now: u32,
}

impl<'a> QuestionEntry<'a> {
    fn of(question: &'a ShareQuestion) -> Self {
        let field = |row: &'a crate::store::ShareRow| FieldEntry {
            field: &row.field,
            before: row.before.as_deref(),
            theirs: row.theirs.as_deref(),
            ours: row.ours.as_deref(),
            map: row.map.as_ref().map(|map| MapEntry {
                theirs: map.theirs.as_deref(),
                ours: map.ours.as_deref(),
                theirs_from_ours: map.apart.as_deref(),
            }),
        };
        Self {
            subject: &question.subject,
            setup: question.is_setup,
            theirs: SideEntry::of(&question.theirs),
            ours: SideEntry::of(&question.ours),
            fields: question.rows.iter().map(field).collect(),
            apart: question.apart.as_deref(),
            metal: &question.metal,
            run_of: question.run_of.as_deref(),
            retired: question.retired.as_ref().map(ways::worded),
        }
    }

    /// The side onto which git picked the other's setup: both say the same words then.
    fn picked(&self) -> Option<&'static str> {
        let words = |side: &SideEntry<'a>| (side.author, side.date.clone(), side.why);
        let has_number_here_alone = self.theirs.number.is_none() && self.ours.number.is_some();
        let side = if has_number_here_alone { "there" } else { "here" };
        (self.setup && words(&self.theirs) == words(&self.ours)).then_some(side)
    }

    fn text(&self, frame: &mut Frame<'_>, screen: &Screen) {
        let subject = visible(self.subject);
        if self.setup {
            for (side, name) in [(&self.theirs, "there"), (&self.ours, "here")] {
                side.say_unaware(name, frame, screen);
            }
            frame.stop(&format!("Two setups of {subject}: which of them holds?"));
        } else if let Some((bike, day)) = self.run_that_is_let_go() {
            frame.stop(&format!(
                "Both sides fixed the run of {bike} on {day}, and one of them says no more that it was lean. Until this is answered it counts as lean: nothing leaner on {bike}."
            ));
        } else {
            frame.know(&format!("Both sides changed {subject}: which of them holds?"));
        }
        if let Some(retired) = &self.retired {
            frame.know(retired);
        }
        let picked = self.picked();
        for (side, name) in [(&self.theirs, "there"), (&self.ours, "here")] {
            if picked == Some(name) {
                frame.say(&format!("  {name}: the same setup, picked onto what was there before"));
            } else {
                frame.block(screen.wrap(&side.line(name), 4));
            }
            match &side.ran {
                Some(run) => frame.block(screen.wrap(&format!("    ran {}", run.line(screen)), 6)),
                None if self.setup => frame.say("    no run logged on it"),
                None => {}
            }
        }
        if self.fields.iter().any(FieldEntry::is_short) {
            frame.block(self.table());
        }
        for field in self.fields.iter().filter(|field| field.map.is_none() && !field.is_short()) {
            frame.say(&format!("  {}:", field.called()));
            for (side, text) in [("before", field.before), ("there", field.theirs), ("here", field.ours)] {
                frame.say(&format!("    {side}: {}", visible(text.unwrap_or("-"))));
            }
        }
        for (field, map) in self.fields.iter().filter_map(|field| Some((field, field.map.as_ref()?))) {
            let from = [
                ("there", "before", map.theirs),
                ("here", "before", map.ours),
                ("there", "here", map.theirs_from_ours),
            ];
            frame.say(&format!("  {}:", field.called()));
            for (side, from, words) in from {
                let words = words.map_or_else(|| "the same".to_owned(), visible);
                frame.say(&format!("    {side}, from {from}: {words}"));
            }
        }
        if !self.metal.is_empty() {
            frame.know(&format!(
                "Cut in metal on one side, so it stays whichever of them holds: {}.",
                visible(&self.metal.join(", "))
            ));
        }
        // A run is named by its identity.
        let short = match self.run_of {
            Some(_) => visible(&outing_id(self.subject.rsplit('/').next().unwrap_or_default())),
            None => subject.clone(),
        };
        let mut sides = [(&self.theirs, "there"), (&self.ours, "here")];
        // What keeps a lean run stands first.
        sides.sort_by_key(|(side, _)| side.needs_a_reason());
        for (side, name) in sides {
            let why = if side.lets_go {
                frame.stop(&format!(
                    "What stands {name} lets the lean run go, and all that it forbids. Only with a reason:"
                ));
                " --why \"…\""
            } else if side.needs_a_reason() {
                frame.stop(&format!("What stands {name} may be forbidden by that run. Only with a reason:"));
                " --why \"…\""
            } else {
                ""
            };
            frame.command(&format!("reedbook share --keep {name} {short}{why}"));
        }
        match self.apart {
            None => frame.command(&format!("reedbook share --keep both {short}    (one that nobody ran)")),
            Some(apart) if self.setup => {
                frame.say(&format!("They cannot be combined: {}.", visible(apart.trim_end_matches('.'))));
            }
            Some(_) => {}
        }
    }

    /// The bike and the day of a run that a choice would let go as a lean one.
    fn run_that_is_let_go(&self) -> Option<(String, String)> {
        let bike = self.run_of.filter(|_| self.theirs.lets_go || self.ours.lets_go)?;
        let run = self.theirs.ran.as_ref().or(self.ours.ran.as_ref())?;
        Some((visible(bike), run.day()))
    }

    fn table(&self) -> String {
        let cell = |text: Option<&str>| visible(text.unwrap_or("-"));
        let mut rows = vec![["field", "before", "there", "here"].map(str::to_owned)];
        rows.extend(
            self.fields
                .iter()
                .filter(|field| field.is_short())
                .map(|field| [field.called(), cell(field.before), cell(field.theirs), cell(field.ours)]),
        );
        columns(&rows)
    }
}

impl FieldEntry<'_> {
    /// Its name as it is typed.
    fn called(&self) -> String {
        if self.field == "mended" { "fixed".to_owned() } else { visible(self.field) }
    }

    /// Whether its values fit side by side.
    fn is_short(&self) -> bool {
        let fits = |text: Option<&str>| text.is_none_or(|text| visible(text).chars().count() <= CELL);
        self.map.is_none() && fits(self.before) && fits(self.theirs) && fits(self.ours)
    }
}

impl<'a> ShareAnswer<'a> {
    /// What a share did, with what can hurt in each setup that was chosen.
    pub fn of(
        shared: &'a Shared,
        judged: &'a [Judgement],
        brought_judged: &'a [(String, Judgement)],
        stops: &'a [(String, String)],
    ) -> Self {
        Self {
            remote: &shared.remote,
            setups: shared
                .setups
                .iter()
                .map(|setup| BroughtSetup {
                    bike: &setup.bike,
                    number: setup.number,
                    author: &setup.author,
                    date: setup.date.to_string(),
                    why: &setup.why,
                })
                .collect(),
            runs: shared.runs.iter().map(RunEntry::of).collect(),
            stops: stops.iter().map(|(bike, sentence)| StopEntry { bike, sentence }).collect(),
            brought: shared
                .brought
                .iter()
                .map(|(what, count)| BroughtFiles { what, count: *count })
                .collect(),
            sent: shared.sent,
            questions: shared.questions.iter().map(QuestionEntry::of).collect(),
            settled: shared
                .settled
                .iter()
                .map(|settled| SettledEntry {
                    bike: &settled.bike,
                    kept: match settled.keep {
                        Keep::Theirs => "theirs",
                        Keep::Ours => "ours",
                        Keep::Both => "both",
                    },
                    number: settled.setup.number,
                    combined: settled.setup.combined,
                    metal: settled.metal.iter().map(MetalEntry::of).collect(),
                })
                .collect(),
            renumbered: shared
                .renumbered
                .iter()
                .map(|(bike, number)| RenumberedEntry { bike, was: number.was, now: number.now })
                .collect(),
            notes: ways::all_worded(&shared.notes),
            judged,
            brought_judged,
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        if !self.questions.is_empty() {
            // What an earlier one brought and could not say.
            if !self.setups.is_empty() || !self.runs.is_empty() {
                self.came_text(&mut frame, screen);
                frame.gap();
            }
            for note in &self.notes {
                frame.know(&visible(note));
            }
            for question in &self.questions {
                question.text(&mut frame, screen);
                frame.gap();
            }
            frame.say("Nothing was brought or sent: it waits for the answer, now or later.");
            return frame.text();
        }
        self.settled_text(&mut frame);
        self.came_text(&mut frame, screen);
        frame.say(&self.summary());
        if screen.verbose() {
            frame.say(&format!("Shared through {}.", self.remote));
        }
        frame.text()
    }

    /// What others recorded, lean runs first.
    fn came_text(&self, frame: &mut Frame<'_>, screen: &Screen) {
        brought_runs::first(&self.runs, frame, screen);
        let mut stops: Vec<String> = self
            .stops
            .iter()
            .map(|stop| format!("{}: {}", visible(stop.bike), visible(stop.sentence)))
            .collect();
        for (bike, judgement) in self.brought_judged {
            for refused in &judgement.refused {
                stops.push(format!("{}: {}", visible(bike), visible(&ways::worded(&refused.sentence))));
            }
        }
        let mut said: Vec<&String> = Vec::new();
        for stop in &stops {
            if !said.contains(&stop) {
                frame.stop(stop);
                said.push(stop);
            }
        }
        for setup in &self.setups {
            let day = setup.date.get(..10).unwrap_or(&setup.date);
            frame.say(&format!(
                "{} setup {}, {} on {day}: {}",
                visible(setup.bike),
                setup.number,
                visible(setup.author),
                first_line(setup.why)
            ));
        }
        brought_runs::others(&self.runs, frame, screen);
        for number in &self.renumbered {
            frame.know(&format!(
                "{}: your setup {} is setup {} now; theirs had the number first.",
                visible(number.bike),
                number.was,
                number.now
            ));
        }
        self.notes.iter().for_each(|note| frame.know(&visible(note)));
    }

    fn settled_text(&self, frame: &mut Frame<'_>) {
        for (settled, judged) in self.settled.iter().zip(self.judged) {
            let (bike, number) = (visible(settled.bike), settled.number);
            frame.hands(&match settled.kept {
                "both" => format!("{bike}: both are in setup {number}"),
                kept => format!("{bike}: {kept} holds, recorded as setup {number}"),
            });
            if settled.combined {
                frame.stop("Combined, never run: nobody knows yet how it runs. Start rich and read the plug before full throttle.");
            }
            settled.metal.iter().for_each(|metal| metal.text(frame));
            for told in &judged.told {
                let sentence = visible(&told.sentence());
                if told.urgent { frame.stop(&sentence) } else { frame.know(&sentence) }
            }
            judged.refused.iter().for_each(|refused| frame.stop(&visible(&ways::worded(&refused.sentence))));
            frame.command(&format!("reedbook job {bike}    (what is to be done at the bike)"));
        }
    }

    fn summary(&self) -> String {
        let mut came: Vec<String> = Vec::new();
        if !self.setups.is_empty() {
            came.push(counted(self.setups.len(), "setups"));
        }
        came.extend(self.brought.iter().map(|files| counted(files.count, files.what)));
        let came = if came.is_empty() { "nothing new".to_owned() } else { came.join(", ") };
        let sent = match self.sent {
            0 => "nothing to send".to_owned(),
            1 => "sent 1 commit".to_owned(),
            many => format!("sent {many} commits"),
        };
        format!("Brought {came}; {sent}.")
    }
}

/// "1 outing", "2 outings".
fn counted(count: usize, what: &str) -> String {
    let one = match what {
        "lists of jobs" => "list of jobs",
        "other files" => "other file",
        _ => what.trim_end_matches('s'),
    };
    if count == 1 { format!("1 {one}") } else { format!("{count} {what}") }
}
