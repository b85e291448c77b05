//! `outing`: logging, mending, listing and showing outings.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use serde_json::json;

use super::Desk;
use super::outing_options::OutingOptions;
use crate::advice::building;
use crate::machine;
use crate::notebook::{Outing, dyno::Curve};
use crate::report::{Trouble, outing as report};
use crate::store::{Book, Garage, Mend, NewOuting, OutingRecord, SetupName, log, mend};

/// Log an outing, mend one, list or show them
#[derive(Debug, Args)]
pub(super) struct OutingCommand {
    #[command(subcommand)]
    act: Act,
}

#[derive(Debug, Subcommand)]
enum Act {
    /// Log an outing: it fits on one line typed between two sessions
    Add(Add),
    /// Mend a slip, or take in an outing edited by hand
    Edit(Edit),
    /// List a bike's outings, newest first
    List {
        /// The bike
        bike: String,
    },
    /// Show everything that is known of one outing
    Show {
        /// The bike
        bike: String,
        /// The outing's id or its beginning, or `last`
        #[arg(default_value = "last")]
        outing: String,
    },
}

#[derive(Debug, Args)]
struct Add {
    /// The bike
    bike: String,
    /// The setup it ran, if not the newest
    #[arg(long)]
    setup: Option<SetupName>,
    /// A dyno curve: a CSV file with "rpm,power (kW)" or "rpm,torque (Nm)" as its first line
    #[arg(long, value_name = "FILE")]
    dyno: Option<PathBuf>,
    /// Open it in your editor afterwards, for longer notes
    #[arg(long)]
    edit: bool,
    #[command(flatten)]
    said: OutingOptions,
}

#[derive(Debug, Args)]
struct Edit {
    /// The bike
    bike: String,
    /// The outing's id or its beginning, or `last`
    #[arg(value_name = "OUTING")]
    which: String,
    /// The setup it ran
    #[arg(long)]
    setup: Option<SetupName>,
    /// Take a field out, like plug or verdict.half
    #[arg(long, value_name = "FIELD")]
    remove: Vec<String>,
    /// Open it in your editor
    #[arg(long = "edit")]
    in_editor: bool,
    #[command(flatten)]
    said: OutingOptions,
}

impl OutingCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        match &self.act {
            Act::Add(add) => add.run(desk, &garage),
            Act::Edit(edit) => edit.run(desk, &garage),
            Act::List { bike } => list(desk, &garage, bike),
            Act::Show { bike, outing } => show(desk, &garage, bike, outing),
        }
    }
}

impl Add {
    fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        if self.edit {
            super::require_editor()?;
        }
        let mut table = self.said.table(desk, garage.is_imperial())?;
        table.entry("date").or_insert_with(|| desk.moment.now.to_string().into());
        let outing: Outing = table.try_into().map_err(|error| {
            Trouble::request(
                None,
                format!("{error}."),
                "`reedbook outing add --help` shows what can be said.",
            )
        })?;
        let dyno = self.dyno.as_deref().map(read_text).transpose()?;
        let new = NewOuting { bike: self.bike.clone(), outing, setup: self.setup.clone(), dyno };
        let mut logged = log(garage, &new, &desk.moment)?;
        if let Some(engine) = logged.setup.as_ref().and_then(|setup| setup.engine.as_deref()) {
            let book = Book::open(garage)?;
            let date = logged.record.outing.date;
            logged.remarks.extend(building::remarks_after_outing(&book, engine, date)?);
        }
        if self.edit {
            logged.record = edit_by_hand(garage, &logged.record, desk)?;
        }
        desk.screen().answer(&json!({ "bike": self.bike, "outing": report::outing_json(&logged.record), "remarks": logged.remarks }), || {
            report::logged(&desk.screen(), &logged)
        })
    }
}

impl Edit {
    fn run(&self, desk: &Desk, garage: &Garage) -> Result<(), Trouble> {
        let record = if self.in_editor {
            super::require_editor()?;
            let known = Book::open(garage)?.outing(&self.bike, &self.which)?;
            edit_by_hand(garage, &known, desk)?
        } else {
            let wanted = Mend {
                set: self.said.table(desk, garage.is_imperial())?,
                remove: self.remove.clone(),
                setup: self.setup.clone(),
            };
            mend(garage, &self.bike, &self.which, &wanted, &desk.moment)?
        };
        desk.screen().answer(&json!({ "bike": self.bike, "outing": report::outing_json(&record) }), || {
            report::mended(&desk.screen(), &record)
        })
    }
}

/// Opens an outing in the user's editor and takes in what was changed.
fn edit_by_hand(garage: &Garage, record: &OutingRecord, desk: &Desk) -> Result<OutingRecord, Trouble> {
    let file = garage.root().join(&record.file);
    machine::edit(std::slice::from_ref(&file))
        .map_err(|error| Trouble::file("Cannot edit", &file, &error))?;
    match mend(garage, &record.bike, &record.id, &Mend::default(), &desk.moment) {
        Err(crate::store::StoreError::NothingChanged { .. }) => Ok(record.clone()),
        other => Ok(other?),
    }
}

fn read_text(path: &Path) -> Result<String, Trouble> {
    std::fs::read_to_string(path).map_err(|error| Trouble::file("Cannot read", path, &error))
}

fn list(desk: &Desk, garage: &Garage, bike: &str) -> Result<(), Trouble> {
    garage.require_bike(bike)?;
    let book = Book::open(garage)?;
    let records = book.outings(bike)?;
    let broken = book.broken_outings(bike)?;
    let answer = json!({
        "bike": bike,
        "outings": records.iter().rev().map(report::outing_json).collect::<Vec<_>>(),
        "unreadable": broken.iter().map(|file| file.findings.clone()).collect::<Vec<_>>(),
    });
    desk.screen().answer(&answer, || {
        let mut text = report::list(&desk.screen(), bike, &records);
        for file in &broken {
            for finding in crate::notebook::names::visible_lines(&file.findings).lines() {
                text.push('\n');
                text.push_str(&desk.screen().wrap(&format!("note: {finding}"), 6));
            }
        }
        text
    })
}

fn show(desk: &Desk, garage: &Garage, bike: &str, outing: &str) -> Result<(), Trouble> {
    garage.require_bike(bike)?;
    let record = Book::open(garage)?.outing(bike, outing)?;
    let curve = match (&record.outing.dyno, record.file.parent()) {
        (Some(name), Some(folder)) if !name.contains(['/', '\\']) => garage.read(&folder.join(name))?,
        _ => None,
    };
    let curve = curve.and_then(|bytes| Curve::parse(&String::from_utf8_lossy(&bytes)).ok());
    let mut answer = report::outing_json(&record);
    answer["dyno"] = curve
        .as_ref()
        .map_or(serde_json::Value::Null, |curve| json!({ "column": curve.what, "points": curve.points }));
    desk.screen().answer(&answer, || report::page(&desk.screen(), &record, curve.as_ref()))
}
