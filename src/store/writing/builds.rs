//! Builds: beginning one, writing down what was measured, and working through its check list.

use std::path::{Path, PathBuf};

use crate::machine::{self, Moment};
use crate::notebook::fields::cylinder::{common, own_of};
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Command, CommandOption, Guidance};
use crate::notebook::{
    Build, ChecklistStep, DocumentKind, Entered, Page, PaperOptions, Scope, When, enter,
    refuse_unclear_readings,
};
use crate::store::book::Book;
use crate::store::checks;
use crate::store::error::StoreError;
use crate::store::folder::garage::{Garage, no_findings};
use crate::store::folder::pages::editable;
use crate::store::history::repository::Message;
use crate::store::history::scan::ENGINE_TRAILER;
use crate::store::index::documents::Paper;
use crate::store::index::papers::take_in;
use crate::store::index::rows::path_text;
use crate::store::index::which;
use crate::store::records::{BuildRecord, outing_id};
use crate::store::writing::change::cylinders::{begun_steps, cylinders_of, cylinders_to_name};
use crate::store::writing::guards::check_date;

/// Name of the trailer that carries a build's identity.
const BUILD_TRAILER: &str = "Build-Id";

/// A build to be begun.
#[derive(Debug, Clone)]
pub struct NewBuild {
    /// The engine.
    pub engine: String,
    /// How much of it is apart.
    pub scope: Scope,
    /// The one of several cylinders that is apart; all of them where none is said.
    pub at: Option<String>,
    /// Why.
    pub why: Option<String>,
    /// Who builds it.
    pub by: Option<String>,
    /// When, if not now.
    pub date: Option<When>,
    /// What is known of it already.
    pub entered: Vec<Entered>,
    /// Whether the gauges, what they were set to left out, are taken over from the engine's build before.
    pub gauges_as_before: bool,
}

/// What of a build is written down or taken out.
#[derive(Debug, Clone, Default)]
pub struct BuildChange {
    /// The build, by its identity or its beginning; the newest when none is named.
    pub which: Option<String>,
    /// Fields and values.
    pub entered: Vec<Entered>,
}

/// Steps of a check list that are done, left out or opened again.
#[derive(Debug, Clone, Default)]
pub struct Tick {
    /// The build, by its identity or its beginning; the newest when none is named.
    pub which: Option<String>,
    /// Names of the steps.
    pub steps: Vec<String>,
    /// Who did them.
    pub by: Option<String>,
    /// When, if not now.
    pub date: Option<When>,
    /// The torque they were tightened to.
    pub torque: Option<String>,
    /// The mark that was put on.
    pub mark: Option<String>,
    /// Why they are left out, where they are.
    pub left_out: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// Open them again.
    pub again: bool,
}

/// Whether what was written is recorded now, or with what is written next: a kill loses nothing, the file is on disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Recording {
    /// Now, as one commit.
    Now,
    /// With the next one.
    Later,
}

/// Begins a build: its file, with the check lists that its scope wants.
pub fn begin(garage: &Garage, new: &NewBuild, moment: &Moment) -> Result<BuildRecord, StoreError> {
    garage.require_engine(&new.engine)?;
    let date = new.date.unwrap_or(moment.now);
    check_date(date, moment)?;
    let _lock = garage.begin_writing(moment)?;
    take_in(garage, Paper::Build, Some(&new.engine), moment)?;
    let book = Book::open(garage)?;
    let builds = book.builds(&new.engine)?;
    // A season on paper is typed in afterwards: the build before it is the one before its date.
    let before = builds.iter().rev().find(|before| before.build.date <= date).map(|before| &before.build);
    let gauges = before.and_then(|before| before.gauges.clone()).filter(|_| new.gauges_as_before);
    let cylinders = cylinders_of(garage, &new.engine)?;
    let apart = apart_at(&cylinders, new)?;
    let (steps, cylinder) = begun_steps(garage.checklists()?.steps_for(new.scope), &apart);
    if new.at.is_some() && cylinder.is_empty() {
        return Err(StoreError::request(
            Some("at"),
            format!("No step of this check list ({}) is done at one cylinder.", new.scope.words()),
            Guidance::from("Leave ")
                + CommandOption::At(None)
                + " out, or write at_each_cylinder = true at the step in configs/checklists.toml.",
        ));
    }
    let build = Build {
        date,
        scope: new.scope,
        why: new.why.clone(),
        by: new.by.clone(),
        temperature: None,
        cylinder_material: before.and_then(|before| before.cylinder_material),
        case_material: before.and_then(|before| before.case_material),
        gauges: gauges.map(crate::notebook::Gauges::not_yet_set),
        steps,
        cylinder,
        ..Build::blank(date)
    };
    let id = moment.new_id(&format!("build {} of {}", builds.len() + 1, new.engine));
    let file = Garage::builds_folder(&new.engine).join(format!("{}-{id}.toml", date.for_file_name()));
    let body = toml::to_string(&build).map_err(|error| {
        StoreError::request(
            None,
            format!("The build cannot be written: {error}."),
            "Leave out what was given last.",
        )
    })?;
    let text = format!("#:schema ../../../schema/build.schema.json\n\n{body}");
    let mut page = Page::open(&file, Some(text.as_bytes()))?;
    write_in(garage, (&new.engine, &file), &mut page, &new.entered)?;
    let why = format!("Begin a build of {}: {}", new.engine, new.scope.words());
    record(garage, (&new.engine, &id, &file), page.bytes(), &why, (date, moment.now))?;
    Book::open(garage)?.build(&new.engine, Some(&id))
}

/// The cylinders that are apart: the one that is said, else all.
fn apart_at(cylinders: &[String], new: &NewBuild) -> Result<Vec<String>, StoreError> {
    let Some(at) = &new.at else { return Ok(cylinders.to_vec()) };
    if cylinders.contains(at) {
        return Ok(vec![at.clone()]);
    }
    let help = if cylinders.is_empty() {
        Guidance::from("It has one cylinder: leave ") + CommandOption::At(None) + " out."
    } else {
        format!("The cylinders are {}.", cylinders.join(", ")).into()
    };
    Err(StoreError::request(Some("at"), format!("{} has no cylinder \"{}\".", new.engine, visible(at)), help))
}

/// Writes down what was measured; with nothing, takes in what was edited by hand.
pub fn measure(
    garage: &Garage,
    engine: &str,
    change: &BuildChange,
    recording: Recording,
    moment: &Moment,
) -> Result<BuildRecord, StoreError> {
    for one in &change.entered {
        let own = |help: Guidance| {
            let message = format!("{} is not written down like a reading.", visible(&one.field));
            Err(StoreError::request(Some(&one.field), message, help))
        };
        if common(&one.field).starts_with("steps.") {
            return own(Command::TickStep(engine.to_owned())
                + " says that a step is done, `"
                + CommandOption::LeftOut
                + "` that it does not apply.");
        }
        if one.field == "scope" {
            return own(Guidance::from("Another scope has another check list: ")
                + Command::BeginBuildOfScope(engine.to_owned())
                + ".");
        }
    }
    write_down(garage, engine, change, recording, moment)
}

/// Writes fields of a build, whichever they are.
pub(in crate::store) fn write_down(
    garage: &Garage,
    engine: &str,
    change: &BuildChange,
    recording: Recording,
    moment: &Moment,
) -> Result<BuildRecord, StoreError> {
    let target = Target { engine, which: change.which.as_deref(), doing: "Measure", recording };
    alter(garage, &target, moment, |known, page| {
        write_in(garage, (engine, &known.file), page, &change.entered)?;
        let after = checks::build(garage, &known.file, &page.bytes()).document;
        after.map_or(Ok(()), |build| check_date(build.date, moment))
    })
}

/// Works through steps of the check list.
pub fn tick(
    garage: &Garage,
    engine: &str,
    tick: &Tick,
    recording: Recording,
    moment: &Moment,
) -> Result<BuildRecord, StoreError> {
    let date = tick.date.unwrap_or(moment.now);
    check_date(date, moment)?;
    let target = Target { engine, which: tick.which.as_deref(), doing: "Work on", recording };
    alter(garage, &target, moment, |known, page| {
        let mut entered = Vec::new();
        let mut named: Vec<String> = Vec::new();
        for wanted in &tick.steps {
            let steps = known.build.steps_called(wanted);
            if steps.is_empty() {
                return Err(no_step(known, wanted));
            }
            for (name, step) in steps {
                if !named.contains(&name) {
                    entered.extend(tick.entered(&name, step, date)?);
                    named.push(name);
                }
            }
        }
        write_in(garage, (engine, &known.file), page, &entered)
    })
}

fn no_step(known: &BuildRecord, name: &str) -> StoreError {
    let steps = known.build.steps_in_order();
    let help = match crate::notebook::nearest_name(name, steps.iter().map(|(name, _)| name.as_str())) {
        Some(near) => format!("Did you mean {near}?").into(),
        None => Command::ListSteps(known.engine.clone()) + " lists them.",
    };
    StoreError::request(Some("step"), format!("This build has no step \"{}\".", visible(name)), help)
}

impl Tick {
    /// What is written of one step.
    pub(in crate::store) fn entered(
        &self,
        name: &str,
        step: &ChecklistStep,
        date: When,
    ) -> Result<Vec<Entered>, StoreError> {
        let field = |inner: &str| Build::field_of_step(name, inner);
        let take_out = |inner: &str, is_there: bool| is_there.then(|| Entered::new(&field(inner), None));
        let reopened = [
            take_out("done", step.done.is_some()),
            take_out("left_out", step.left_out.is_some()),
            take_out("torque", step.torque.is_some() && (self.again || self.left_out.is_some())),
            take_out("mark", step.mark.is_some() && (self.again || self.left_out.is_some())),
        ];
        let mut entered: Vec<Entered> = reopened.into_iter().flatten().collect();
        let mut say = |inner: &str, value: Option<&str>| {
            entered.extend(value.map(|value| Entered::new(&field(inner), Some(value))));
        };
        say("note", self.note.as_deref());
        if self.again {
            return Ok(entered);
        }
        say("by", self.by.as_deref());
        if let Some(why) = &self.left_out {
            if why.trim().is_empty() {
                let message = format!("The step {name} cannot be left out without a reason.");
                return Err(StoreError::request(Some("left-out"), message, "Say why it does not apply."));
            }
            say("left_out", Some(why.trim()));
            return Ok(entered);
        }
        if step.wants_torque && self.torque.is_none() && step.torque.is_none() {
            return Err(StoreError::request(
                Some("torque"),
                format!("The step {name} wants its torque written down."),
                Guidance::from("Say it with ")
                    + CommandOption::Torque
                    + ", like "
                    + CommandOption::TorqueLike
                    + " (the figure is the manual's).",
            ));
        }
        if step.wants_mark && self.mark.is_none() && step.mark.is_none() {
            return Err(StoreError::request(
                Some("mark"),
                format!("The step {name} wants its mark written down."),
                Guidance::from("Say what was put on with ")
                    + CommandOption::Mark
                    + ", like "
                    + CommandOption::MarkLike
                    + ".",
            ));
        }
        say("torque", self.torque.as_deref());
        say("mark", self.mark.as_deref());
        say("done", Some(&date.to_string()));
        Ok(entered)
    }
}

/// Reads the file, writes to it and checks it; nothing reaches the disk.
fn write_in(
    garage: &Garage,
    (engine, file): (&str, &Path),
    page: &mut Page,
    entered: &[Entered],
) -> Result<(), StoreError> {
    let before = checks::build(garage, file, &page.bytes());
    let is_named = entered.iter().any(|one| own_of(&one.field).is_some());
    refuse_unclear_readings(entered, &cylinders_to_name(garage, engine, is_named)?, &before.fields)?;
    let options = PaperOptions {
        kind: DocumentKind::Build,
        now: &before.fields,
        refuse_bare_lengths: garage.is_imperial(),
        here: machine::offset_here(),
    };
    enter(page, entered, options)?;
    no_findings(checks::build(garage, file, &page.bytes()).findings)
}

/// Which build is altered, and how.
struct Target<'a> {
    engine: &'a str,
    which: Option<&'a str>,
    doing: &'a str,
    recording: Recording,
}

fn alter(
    garage: &Garage,
    target: &Target<'_>,
    moment: &Moment,
    work: impl FnOnce(&BuildRecord, &mut Page) -> Result<(), StoreError>,
) -> Result<BuildRecord, StoreError> {
    let (engine, which) = (target.engine, target.which);
    garage.require_engine(engine)?;
    let _lock = garage.begin_writing(moment)?;
    let book = Book::open(garage)?;
    let known = book.build(engine, which)?;
    let mut page = editable(garage, &known.file)?;
    work(&known, &mut page)?;
    let bytes = page.bytes();
    if garage.recorded(&known.file)?.as_ref() == Some(&bytes) {
        if garage.read(&known.file)?.as_ref() != Some(&bytes) {
            // An answer is taken back: the record says it already, the disk does not.
            garage.gate().write(&known.file, &bytes)?;
            return Book::open(garage)?.build(engine, Some(&known.id));
        }
        return Err(StoreError::NothingChanged {
            message: format!("The build of {engine} says so already; nothing recorded."),
            help: Command::ShowBuild(engine.to_owned()) + " shows what is written.",
        });
    }
    if target.recording == Recording::Later {
        garage.gate().write(&known.file, &bytes)?;
        return Book::open(garage)?.build(engine, Some(&known.id));
    }
    let why = format!("{} the build of {engine} on {}", target.doing, known.build.date.day());
    record(garage, (engine, &known.id, &known.file), bytes, &why, (moment.now, moment.now))?;
    Book::open(garage)?.build(engine, Some(&known.id))
}

fn record(
    garage: &Garage,
    (engine, id, file): (&str, &str, &Path),
    bytes: Vec<u8>,
    why: &str,
    (date, now): (When, When),
) -> Result<(), StoreError> {
    let trailers = vec![(ENGINE_TRAILER, engine.to_owned()), (BUILD_TRAILER, id.to_owned())];
    let changes = vec![(file.to_owned(), Some(bytes))];
    garage.repository().record(&changes, &Message { why: why.to_owned(), trailers }, date, now).map(|_| ())
}

impl Book<'_> {
    /// An engine's builds by date, oldest first.
    pub fn builds(&self, engine: &str) -> Result<Vec<BuildRecord>, StoreError> {
        let papers = self.papers::<Build>(Paper::Build, Some(engine))?;
        let records = papers.into_iter().map(|paper| BuildRecord {
            engine: engine.to_owned(),
            id: outing_id(&paper.file),
            file: PathBuf::from(paper.file),
            build: paper.document,
        });
        Ok(records.collect())
    }

    /// The build whose identity begins with `wanted`; the newest without.
    pub fn build(&self, engine: &str, wanted: Option<&str>) -> Result<BuildRecord, StoreError> {
        self.garage().require_engine(engine)?;
        let mut builds = self.builds(engine)?;
        self.require_readable(engine, wanted, builds.last())?;
        let none = || {
            StoreError::request(
                Some("engine"),
                format!("{engine} has no build yet."),
                Guidance::from("Begin one with ") + Command::BeginBuild(engine.to_owned()) + ".",
            )
        };
        let Some(wanted) = wanted.filter(|wanted| *wanted != "last") else {
            return builds.pop().ok_or_else(none);
        };
        if builds.is_empty() {
            return Err(none());
        }
        let all: Vec<_> =
            builds.iter().map(|record| (record.id.clone(), record.build.date.short())).collect();
        match which::meant(wanted, &all)? {
            Some(place) => Ok(builds.swap_remove(place)),
            None => Err(StoreError::request(
                Some("build"),
                format!("{engine} has no build \"{}\".", visible(wanted)),
                Command::ListBuilds(engine.to_owned()) + " shows them with their ids.",
            )),
        }
    }

    /// A build that is meant and cannot be read says what is wrong with it: an older one must not stand in for it.
    fn require_readable(
        &self,
        engine: &str,
        wanted: Option<&str>,
        newest: Option<&BuildRecord>,
    ) -> Result<(), StoreError> {
        let wanted = wanted.filter(|wanted| *wanted != "last");
        for broken in self.broken_builds(engine)? {
            let is_newer = newest.is_none_or(|newest| broken.file > newest.file);
            let id = outing_id(&path_text(&broken.file));
            let is_meant = wanted.map_or(is_newer, |wanted| wanted.len() >= 3 && id.starts_with(wanted));
            if is_meant {
                broken.refuse(self.garage(), |file, bytes| {
                    checks::build(self.garage(), file, bytes).findings
                })?;
            }
        }
        Ok(())
    }

    /// The newest build of an engine at a date.
    pub fn build_at(&self, engine: &str, date: When) -> Result<Option<BuildRecord>, StoreError> {
        Ok(self.builds(engine)?.into_iter().rev().find(|record| record.build.date <= date))
    }

    /// An engine's build files that cannot be read.
    pub fn broken_builds(
        &self,
        engine: &str,
    ) -> Result<Vec<crate::store::records::BrokenOuting>, StoreError> {
        self.broken_papers(Paper::Build, Some(engine))
    }
}
