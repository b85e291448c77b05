//! `bike`: making, listing and retiring machines.

use std::path::Path;

use clap::{Args, Subcommand};

use super::options::cylinder::named_cylinders;
use crate::commands::desk::Desk;
use crate::report::Trouble;
use crate::report::history::bikes::{BikeList, BikeMade, BikeRetired, KnownBike};
use crate::store::{Barred, Book, NewBike, StoreError, bring_back, make_bike, retire};

/// Make, list or retire a bike
#[derive(Debug, Args)]
pub(super) struct BikeCommand {
    #[command(subcommand)]
    act: BikeAct,
}

#[derive(Debug, Subcommand)]
enum BikeAct {
    /// Make a bike from a template: its files wait to be filled in
    New(StartBike),
    /// List the bikes
    List,
    /// Mark a bike as retired; nothing of it is lost
    Retire(Retire),
}

#[derive(Debug, Args)]
struct StartBike {
    /// Name of its folder: lower-case letters, digits, '-' or '_'
    #[arg(allow_hyphen_values = true)]
    name: String,
    /// A template in configs/templates
    #[arg(long, default_value = "carbureted")]
    template: String,
    /// The engine that is in it, made if it is not there yet; otherwise a new one named after the bike
    #[arg(long, value_name = "ENGINE")]
    engine: Option<String>,
    /// Its cylinders where it has several, by their names or how many: left,right or 2
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    cylinders: Vec<String>,
    /// The bike by the name you call it
    #[arg(long)]
    title: Option<String>,
    /// Who rides it
    #[arg(long)]
    rider: Option<String>,
}

#[derive(Debug, Args)]
struct Retire {
    /// The bike
    bike: String,
    /// Bring it back instead, also one that was taken out with git
    #[arg(long)]
    back: bool,
}

impl BikeCommand {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        match &self.act {
            BikeAct::New(new) => new.run(desk),
            BikeAct::List => list(desk),
            BikeAct::Retire(one) => one.run(desk),
        }
    }
}

impl StartBike {
    fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let wanted = NewBike {
            name: self.name.clone(),
            template: self.template.clone(),
            engine: self.engine.clone().unwrap_or_else(|| format!("{}-engine", self.name)),
            cylinders: named_cylinders(&self.cylinders)?,
            title: self.title.clone(),
            rider: self.rider.clone(),
        };
        let made = make_bike(&garage, &wanted, &desk.moment)?;
        let holders = Book::open(&garage)?.engine_holders()?;
        let answer = BikeMade::new(&wanted, &made, holders.get(&wanted.engine));
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }
}

fn list(desk: &Desk) -> Result<(), Trouble> {
    let garage = desk.garage()?;
    let book = Book::open(&garage)?;
    let mut known = Vec::new();
    let mut unreadable: Vec<String> =
        garage.barred_in(Path::new("bikes"))?.iter().map(Barred::to_string).collect();
    for name in garage.bikes() {
        let document = match garage.bike(&name) {
            Ok(document) => document,
            Err(StoreError::Findings(findings)) => {
                unreadable.extend(findings.iter().map(ToString::to_string));
                continue;
            }
            Err(StoreError::Barred(barred)) => {
                unreadable.push(barred.to_string());
                continue;
            }
            Err(other) => return Err(other.into()),
        };
        let (setups, outings) = (book.setups(&name)?, book.outings(&name)?);
        known.push(KnownBike { name, document, setups, outings });
    }
    let holders = book.engine_holders()?;
    let answer = BikeList::new(&known, &holders, unreadable);
    desk.screen().answer(&answer, || answer.text(&desk.screen()))
}

impl Retire {
    fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let brought = if self.back && !garage.has_bike(&self.bike) {
            Some(bring_back(&garage, &self.bike, &desk.moment)?)
        } else {
            retire(&garage, &self.bike, self.back, &desk.moment)?;
            None
        };
        let answer = BikeRetired::new(&self.bike, !self.back, brought.as_ref());
        desk.screen().answer(&answer, || answer.text())
    }
}
