//! `map`: an ignition or a fuel map shown, checked, shaped, written to a file and read from one.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};

use crate::advice::figures::Bench;
use crate::advice::figures::ignition::fired_map;
use crate::advice::held::Judgement;
use crate::advice::{maps, slips, standing};
use crate::commands::desk::Desk;
use crate::commands::options::engine::quantity;
use crate::commands::options::map::{Keep, MapField, Merge, Scale, Shaped, Shift, Smooth, WhichMap};
use crate::notebook::fields::names::visible;
use crate::notebook::{FieldSet, MapTable, map_csv, parse_map_csv, replace_map};
use crate::quantity::Angle;
use crate::report::history::questioned;
use crate::report::history::setups::recorded::ChangeAnswer;
use crate::report::{MapDeed, MapReport, Trouble};
use crate::store::{BikeJobs, Book, ChangeRequest, Garage, MapEdit, SetupName, change_checked};

/// An ignition or fuel map: checked, shaped, saved, loaded
///
/// What shapes a map shows the difference; --record records it as one change.
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct MapCommand {
    #[command(subcommand)]
    act: MapAct,
}

#[derive(Debug, Subcommand)]
enum MapAct {
    /// Show a map, or what differs from that of another setup
    Show {
        #[command(flatten)]
        at: MapAt,
        /// Show what differs from this setup: a number, latest, proven or now
        #[arg(long, value_name = "SETUP")]
        against: Option<SetupName>,
    },
    /// Hold a map against the limits of configs/assumptions.toml; the advance as it fires, with base and lag
    Check {
        #[command(flatten)]
        at: MapAt,
        /// The most advance there may be anywhere, degrees before top dead centre as it fires
        #[arg(long, value_name = "DEGREES", allow_negative_numbers = true)]
        most_advance: Option<String>,
    },
    Shift(Shift),
    Scale(Scale),
    Smooth(Smooth),
    Merge(Merge),
    /// Write a map as CSV: engine speeds across, throttle openings down
    Save {
        #[command(flatten)]
        at: MapAt,
        /// The file, which must not be there yet; otherwise standard output
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    /// Read a map from a CSV file: engine speeds across, throttle openings down
    Load {
        #[command(flatten)]
        which: WhichMap,
        /// The file
        file: PathBuf,
        #[command(flatten)]
        keep: Keep,
    },
}

/// A map of a setup.
#[derive(Debug, Args)]
struct MapAt {
    #[command(flatten)]
    which: WhichMap,
    /// The setup: a number, latest, proven or now
    #[arg(default_value = "now")]
    setup: SetupName,
}

/// A setup that was read.
struct Read {
    called: String,
    /// What is written, as the cylinder has it where one was asked for.
    fields: FieldSet,
    /// The cylinder that has a map of its own, where none was asked for.
    owner: Option<String>,
    /// The field of the map, with the cylinder's name where one was asked for.
    field: String,
}

impl MapCommand {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            MapAct::Show { at, against } => show(desk, &garage, at, against.as_ref()),
            MapAct::Check { at, most_advance } => check_map(desk, &garage, at, most_advance.as_deref()),
            MapAct::Shift(act) => shape(desk, &garage, &act.which, &act.keep, |map| act.shape(map)),
            MapAct::Scale(act) => shape(desk, &garage, &act.which, &act.keep, |map| act.shape(map)),
            MapAct::Smooth(act) => shape(desk, &garage, &act.which, &act.keep, |map| act.shape(map)),
            MapAct::Merge(act) => shape(desk, &garage, &act.which, &act.keep, |map| act.shape(map)),
            MapAct::Save { at, to } => save(desk, &garage, at, to.as_deref()),
            MapAct::Load { which, file, keep } => load(desk, &garage, which, file, keep),
        }
    }
}

fn read(garage: &Garage, which: &WhichMap, name: &SetupName) -> Result<Read, Trouble> {
    let book = Book::open(garage)?;
    let setup = book.resolve(&which.bike, name)?;
    let whole = book.combination(&which.bike, setup.as_ref())?;
    if !whole.findings.is_empty() {
        return Err(Trouble::findings(whole.findings));
    }
    which.cylinder.require_one_of(&whole.fields.cylinders())?;
    let called = setup.map_or_else(|| "now".to_owned(), |one| format!("setup {}", one.number));
    let field = which.field.name();
    Ok(match which.cylinder.name() {
        Some(name) => Read {
            called,
            fields: whole.fields.for_cylinder(name),
            owner: None,
            field: format!("{name}.{field}"),
        },
        None => Read {
            called,
            owner: whole.fields.owners(field).into_iter().next().map(|(name, _)| name),
            fields: whole.fields,
            field: field.to_owned(),
        },
    })
}

impl Read {
    /// Refuses a map that does not hold for every cylinder, where none was asked for.
    fn require_common(&self) -> Result<(), Trouble> {
        let Some(name) = &self.owner else { return Ok(()) };
        Err(Trouble::request(
            Some(&self.field),
            format!("The cylinder {name} has a map of its own: this one does not hold for all."),
            format!("Say which is meant: --cylinder {name}, or another one for the map of all the rest."),
        ))
    }

    fn map(&self, which: &WhichMap) -> Result<&MapTable, Trouble> {
        let field = which.field.name();
        self.require_common()?;
        self.fields.map(field).ok_or_else(|| {
            let bike = &which.bike;
            let message = match self.called.as_str() {
                "now" => format!("{bike} has no map at {field}."),
                setup => format!("{setup} of {bike} has no map at {field}."),
            };
            let help = format!("Read one from a CSV file: `reedbook map load {bike} {field} FILE --record`.");
            Trouble::request(Some(field), message, help)
        })
    }

    fn report<'a>(&'a self, which: &'a WhichMap, map: &'a MapTable, deed: MapDeed) -> MapReport<'a> {
        MapReport {
            bike: &which.bike,
            setup: self.called.clone(),
            field: &self.field,
            unit: unit(which.field, &self.fields),
            deed,
            doing: String::new(),
            map,
            old: None,
            held: Vec::new(),
            found: Vec::new(),
            not_checked: Vec::new(),
            notes: Vec::new(),
            cautions: Vec::new(),
            file: None,
            recorded: None,
        }
    }
}

fn unit(field: MapField, fields: &FieldSet) -> String {
    match field {
        MapField::Ignition => "deg".into(),
        MapField::Fuel => fields.text("injection.fuel_map_unit").unwrap_or_default().to_owned(),
    }
}

fn show(desk: &Desk, garage: &Garage, at: &MapAt, against: Option<&SetupName>) -> Result<(), Trouble> {
    let this = read(garage, &at.which, &at.setup)?;
    let other = against.map(|name| read(garage, &at.which, name)).transpose()?;
    let mut report = this.report(&at.which, this.map(&at.which)?, MapDeed::Shown);
    if let Some(other) = &other {
        let unit = unit(at.which.field, &other.fields);
        if unit != report.unit {
            return Err(Trouble::request(
                Some(at.which.field.name()),
                format!(
                    "The cells of {} are {unit} and those of {} are {}.",
                    other.called, this.called, report.unit
                ),
                "Show each by itself: they cannot be held against each other.",
            ));
        }
        report.old = Some((other.called.clone(), other.map(&at.which)?));
    }
    let answer = report.answer();
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

fn check_map(desk: &Desk, garage: &Garage, at: &MapAt, most_advance: Option<&str>) -> Result<(), Trouble> {
    let field = at.which.field;
    if most_advance.is_some() && field == MapField::Fuel {
        return Err(Trouble::request(
            Some("--most-advance"),
            "A fuel map has no advance.",
            "Leave out --most-advance, or check ignition.advance.",
        ));
    }
    let most: Option<Angle> = quantity("--most-advance", most_advance)?;
    let this = read(garage, &at.which, &at.setup)?;
    let map = this.map(&at.which)?;
    let assumptions = garage.assumptions()?;
    let limits = maps::limits(field.name(), &assumptions, most.map(|most| most.si()));
    let fired = fired_map(&Bench { fields: &this.fields, assumptions: &assumptions });
    let looked = maps::look(field.name(), map, &fired, &limits)?;
    let mut report = this.report(&at.which, map, MapDeed::Checked);
    report.held = maps::held_against(&limits, &assumptions, most_advance.is_some());
    report.found = looked.found;
    report.not_checked = looked.not_checked;
    let answer = report.answer();
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

fn shape(
    desk: &Desk,
    garage: &Garage,
    which: &WhichMap,
    keep: &Keep,
    shape: impl FnOnce(&MapTable) -> Shaped,
) -> Result<(), Trouble> {
    let now = read(garage, which, &SetupName::Now)?;
    let old = now.map(which)?;
    let (new, doing) = shape(old)?;
    Shaping { garage, which, keep, now: &now }.put(desk, Some(old), &new, doing)
}

fn load(desk: &Desk, garage: &Garage, which: &WhichMap, file: &Path, keep: &Keep) -> Result<(), Trouble> {
    let now = read(garage, which, &SetupName::Now)?;
    let text = table_text(file)?;
    let new = parse_map_csv(which.field.name(), file, &text)?;
    let name = file.file_name().unwrap_or(file.as_os_str()).to_string_lossy().into_owned();
    let old = now.fields.map(which.field.name());
    Shaping { garage, which, keep, now: &now }.put(desk, old, &new, format!("read from {name}"))
}

/// The text of a table that somebody else's program wrote; what is no plain file or far too large for a map is refused.
fn table_text(file: &Path) -> Result<String, Trouble> {
    let cannot = |error| Trouble::file("Cannot read", file, &error);
    let about = std::fs::metadata(file).map_err(cannot)?;
    if !about.is_file() || about.len() > LARGEST_TABLE {
        return Err(Trouble::request(
            None,
            format!(
                "{} is not a table of a map: it is not a plain file, or larger than 1 MB.",
                visible(&file.display().to_string())
            ),
            "Name the CSV file with the map.",
        ));
    }
    std::fs::read_to_string(file).map_err(cannot)
}

/// Bytes of the largest table that is read.
const LARGEST_TABLE: u64 = 1_000_000;

/// A map that is to take another's place.
struct Shaping<'a> {
    garage: &'a Garage,
    which: &'a WhichMap,
    keep: &'a Keep,
    now: &'a Read,
}

impl Shaping<'_> {
    /// Shows the difference, and records it where that was asked for.
    fn put(&self, desk: &Desk, old: Option<&MapTable>, new: &MapTable, doing: String) -> Result<(), Trouble> {
        let screen = desk.screen();
        self.now.require_common()?;
        // A map that could not be recorded is not shown as if it could.
        replace_map(&self.garage.files_now(&self.which.bike)?, &self.now.field, new)?;
        let done = self.keep.record.then(|| self.record(desk, old, new, &doing)).transpose()?;
        let (since, jobs) = match &done {
            Some((done, _)) => {
                let (book, bike) = (Book::open(self.garage)?, &self.which.bike);
                let whole = (Some(&done.setup), &done.fields.1);
                (standing::since_outing(&book, bike, whole, desk.moment.now)?, book.open_jobs_of(bike)?)
            }
            None => (None, BikeJobs::default()),
        };
        let mut report = self.now.report(self.which, new, MapDeed::Changed);
        report.old = old.map(|old| ("the map as it was".to_owned(), old));
        report.doing = doing;
        let (field, fields) = (self.which.field.name(), &self.now.fields);
        let factor = self.which.field == MapField::Fuel && report.doing.starts_with("times");
        report.notes = factor.then(|| maps::of_a_factor(fields)).flatten().into_iter().collect();
        report.found = maps::new_findings(field, (old, new), fields, &self.garage.assumptions()?)?;
        report.cautions = old.map(|old| maps::cautions(field, old, new)).unwrap_or_default();
        report.recorded = done.as_ref().map(|(done, _)| done);
        let answer = report.answer();
        screen.answer(&answer, || match &done {
            Some((done, judgement)) => {
                let told = ChangeAnswer::of((done, &jobs), since.as_ref(), judgement).text(&screen);
                format!("{told}\n{}", answer.warnings(&screen).join("\n"))
            }
            None => answer.text(&screen),
        })
    }

    fn record(
        &self,
        desk: &Desk,
        old: Option<&MapTable>,
        new: &MapTable,
        doing: &str,
    ) -> Result<(crate::store::Recorded, Judgement), Trouble> {
        let why = self.keep.why.clone().unwrap_or_else(|| format!("{} {doing}", self.which.field.words()));
        if why.trim().is_empty() {
            return Err(Trouble::request(
                Some("why"),
                "The reason is empty.",
                "Say why in a few words, or leave out --why.",
            ));
        }
        let request = ChangeRequest {
            bike: self.which.bike.clone(),
            maps: vec![MapEdit { field: self.now.field.clone(), from: old.cloned(), to: new.clone() }],
            why,
            air: self.keep.air.entry(self.garage.is_imperial())?,
            ..ChangeRequest::default()
        };
        if let Some(air) = &request.air {
            let (book, now) = (Book::open(self.garage)?, (desk.moment.now, desk.screen().units()));
            questioned::settle(&slips::of_air(&book, &self.which.bike, air, now)?, self.keep.sure, None)?;
        }
        let guard = self.keep.despite.guard(false)?;
        let done = change_checked(self.garage, &request, &desk.moment, &|proposed| guard.check(proposed))?;
        Ok((done, guard.judgement()))
    }
}

fn save(desk: &Desk, garage: &Garage, at: &MapAt, to: Option<&Path>) -> Result<(), Trouble> {
    let this = read(garage, &at.which, &at.setup)?;
    let map = this.map(&at.which)?;
    let text = map_csv(map);
    let mut report = this.report(&at.which, map, MapDeed::Saved);
    let Some(file) = to else {
        return desk.screen().answer(&report.answer(), || text);
    };
    let written = OpenOptions::new().write(true).create_new(true).open(file);
    let written = written.and_then(|mut open| open.write_all(text.as_bytes()));
    written.map_err(|error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => Trouble::request(
            Some("--to"),
            format!("{} is there already and was left as it is.", file.display()),
            "Name another file, or take that one away first.",
        ),
        _ => Trouble::file("Cannot write", file, &error),
    })?;
    report.file = Some(file.display().to_string());
    let answer = report.answer();
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}
