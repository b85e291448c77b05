//! `build new`: begin an assembly.

use clap::{Args, ValueEnum};

use super::measure::slips;
use super::{ask_readings, entered, show};
use crate::commands::desk::Desk;
use crate::notebook::{Build, Scope, When};
use crate::report::Trouble;
use crate::report::history::questioned::settle;
use crate::store::{BuildRecord, Garage, NewBuild, begin_build};

/// How much of the engine is apart.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum TakenApart {
    /// Cylinder, piston and head
    TopEnd,
    /// Cases, crank and gearbox
    BottomEnd,
    /// All of it
    Whole,
}

impl From<TakenApart> for Scope {
    fn from(apart: TakenApart) -> Self {
        match apart {
            TakenApart::TopEnd => Self::TopEnd,
            TakenApart::BottomEnd => Self::BottomEnd,
            TakenApart::Whole => Self::Whole,
        }
    }
}

/// Begin a build: its check list is copied from configs/checklists.toml, then the readings are asked for
///
/// At a terminal each reading is asked for with what it was the last time; Enter leaves it out, a point alone ends the
/// questions. What is answered is on disk at once: `build measure` goes on where you stopped.
#[derive(Debug, Args)]
pub(super) struct StartBuild {
    /// The engine
    engine: String,
    /// Readings that are known already, like piston.diameter="53.940 mm" temperature="18 C"
    #[arg(value_name = "FIELD=VALUE")]
    readings: Vec<String>,
    /// How much of it is apart
    #[arg(long, value_enum, default_value = "top-end")]
    scope: TakenApart,
    /// The one of several cylinders that is apart: only its steps are copied
    #[arg(long, value_name = "CYLINDER")]
    at: Option<String>,
    /// Why it was taken apart
    #[arg(long, short)]
    why: Option<String>,
    /// Who builds it
    #[arg(long)]
    by: Option<String>,
    /// When, if not now
    #[arg(long)]
    date: Option<String>,
    /// Take other gauges than at the engine's build before
    #[arg(long)]
    other_gauges: bool,
    /// Ask nothing, also at a terminal
    #[arg(long)]
    no_questions: bool,
    /// Write it down anyway: it is right
    #[arg(long)]
    sure: bool,
}

impl StartBuild {
    pub(super) fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let here = desk.moment.now.offset();
        let date = self.date.as_deref().map(|text| When::parse(text, here)).transpose()?;
        let new = NewBuild {
            engine: self.engine.clone(),
            scope: self.scope.into(),
            at: self.at.clone(),
            why: self.why.clone(),
            by: self.by.clone(),
            date,
            entered: entered(&self.readings)?,
            gauges_as_before: !self.other_gauges,
        };
        if !new.entered.is_empty() {
            garage.require_engine(&new.engine)?;
            settle(&slips(garage, &not_begun(&new, desk.moment.now), &new.entered)?, self.sure, None)?;
        }
        let mut record = begin_build(garage, &new, &desk.moment)?;
        if desk.screen().can_ask() && !self.no_questions {
            record = ask_readings(desk, garage, &record)?;
        }
        show(desk, garage, &record, Vec::new())
    }
}

/// The build as it would stand with nothing measured yet: readings are looked over before there is a file.
fn not_begun(new: &NewBuild, now: When) -> BuildRecord {
    let build = Build { scope: new.scope, ..Build::blank(new.date.unwrap_or(now)) };
    let file = Garage::builds_folder(&new.engine).join("not-begun.toml");
    BuildRecord { engine: new.engine.clone(), id: String::new(), file, build }
}
