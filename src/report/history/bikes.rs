//! Bikes and engines: listed, made and retired.

use std::collections::BTreeMap;
use std::path::Path;

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::notebook::{BikeDocument, When};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{first_line, table};
use crate::store::{BroughtBack, MadeBike, NewBike, OutingRecord, SetupRecord, newest_proven};

/// One bike with what is recorded of it.
pub struct KnownBike {
    /// Folder name.
    pub name: String,
    /// Its document.
    pub document: BikeDocument,
    /// Its setups, oldest first.
    pub setups: Vec<SetupRecord>,
    /// Its outings, oldest first.
    pub outings: Vec<OutingRecord>,
}

type Holders = BTreeMap<String, (String, u32)>;

/// One of three answers, after what was asked.
#[derive(Debug, JsonSchema)]
#[schemars(untagged)]
pub enum BikeAnswer<'a> {
    /// bike list
    Listed(BikeList<'a>),
    /// bike new
    Made(BikeMade<'a>),
    /// bike retire
    Retired(BikeRetired<'a>),
}

/// The bikes of a garage.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "list")]
pub struct BikeList<'a> {
    /// Bikes by name.
    bikes: Vec<BikeLine<'a>>,
    /// What is wrong with bikes that cannot be read, a sentence each.
    unreadable: Vec<String>,
}

/// One bike of a list.
#[derive(Debug, Serialize, JsonSchema)]
struct BikeLine<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// The bike by the name you call it.
    title: Option<&'a str>,
    /// Who rides it.
    rider: Option<&'a str>,
    /// Whether it is retired.
    retired: bool,
    /// How many setups it has.
    setups: usize,
    /// How many outings it has.
    outings: usize,
    /// Number of its newest proven setup.
    #[schemars(range(min = 1))]
    proven: Option<u32>,
    /// Engine of its newest setup.
    engine: Option<&'a str>,
    /// The bike that engine is in now, where it is another one.
    #[serde(skip)]
    holder: Option<&'a str>,
    /// When it was retired, or else was out last, in words.
    #[serde(skip)]
    last: Option<String>,
}

/// A bike that was made.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "new")]
pub struct BikeMade<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Folder name of its engine.
    engine: &'a str,
    /// Its setup file in the garage, to be filled in.
    setup_file: &'a Path,
    /// Its engine's file in the garage.
    engine_file: &'a Path,
    /// Whether the engine was made with it.
    #[serde(skip)]
    new_engine: bool,
    /// The bike the engine is in now, and the number of that bike's setup.
    #[serde(skip)]
    holder: Option<&'a (String, u32)>,
}

/// A bike that was retired or brought back.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "retire")]
pub struct BikeRetired<'a> {
    /// Folder name of the bike.
    pub bike: &'a str,
    /// Whether it is retired now.
    pub retired: bool,
    /// What came back of a bike that had been taken out with git; null where it had not.
    brought_back: Option<CameBack>,
}

/// What came back of a bike that had been taken out.
#[derive(Debug, Serialize, JsonSchema)]
struct CameBack {
    /// When it stood as it stands now.
    stood: When,
    /// How many outings it has again.
    outings: usize,
    /// How many of them it did not have when it stood so: others recorded them, or their files had gone without being removed.
    gathered: usize,
    /// When others had it last who knew nothing of its going; their setups of it are in the history alone.
    others: Vec<When>,
}

/// One of two answers, after what was asked.
#[derive(Debug, JsonSchema)]
#[schemars(untagged)]
pub enum EngineAnswer<'a> {
    /// engine list
    Listed(EngineList<'a>),
    /// engine new
    Made(EngineMade<'a>),
    /// engine owner
    Owned(EngineOwned<'a>),
}

/// The engines of a garage.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "list")]
pub struct EngineList<'a> {
    /// Engines by name.
    engines: Vec<EngineLine<'a>>,
}

/// One engine of a list.
#[derive(Debug, Serialize, JsonSchema)]
struct EngineLine<'a> {
    /// Folder name of the engine.
    engine: &'a str,
    /// Bike it is in; null on the shelf.
    bike: Option<&'a str>,
    /// Whose it is; null where it is the garage's own.
    owner: Option<&'a str>,
    /// Number of that bike's setup.
    #[serde(skip)]
    setup: Option<u32>,
}

/// An engine that was made.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "new")]
pub struct EngineMade<'a> {
    /// Folder name of the engine.
    pub engine: &'a str,
    /// Its file in the garage, to be filled in.
    pub file: &'a Path,
    /// Whose it is; null where it is the garage's own.
    pub owner: Option<&'a str>,
}

/// An engine of which it was said whose it is.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(title = "owner")]
pub struct EngineOwned<'a> {
    /// Folder name of the engine.
    pub engine: &'a str,
    /// Whose it is; null where it is the garage's own.
    pub owner: Option<&'a str>,
}

impl<'a> BikeLine<'a> {
    fn of(bike: &'a KnownBike, holders: &'a Holders) -> Self {
        let document = &bike.document;
        let engine = bike.setups.last().and_then(|setup| setup.engine.as_deref());
        let holder = engine.and_then(|engine| holders.get(engine)).map(|(holder, _)| holder.as_str());
        let retired = document.retired.map(|date| format!("retired {}", date.day()));
        let last = bike.outings.last().map(|record| record.outing.date.day());
        Self {
            bike: &bike.name,
            title: document.title.as_deref(),
            rider: document.rider.as_deref(),
            retired: document.retired.is_some(),
            setups: bike.setups.len(),
            outings: bike.outings.len(),
            proven: newest_proven(document, &bike.setups).map(|setup| setup.number),
            engine,
            holder: holder.filter(|holder| *holder != bike.name),
            last: retired.or(last),
        }
    }

    fn row(&self) -> Vec<String> {
        let dash = || "-".to_owned();
        let engine = match (self.engine, self.holder) {
            (Some(engine), Some(bike)) => format!("none ({engine} is in {bike})"),
            (Some(engine), None) => engine.to_owned(),
            (None, _) => dash(),
        };
        vec![
            self.bike.to_owned(),
            self.title.map(first_line).unwrap_or_default(),
            engine,
            self.setups.to_string(),
            self.proven.map_or_else(dash, |number| number.to_string()),
            self.last.clone().unwrap_or_else(dash),
        ]
    }
}

impl<'a> BikeList<'a> {
    /// The bikes; `holders` are the bikes the engines are in.
    pub fn new(bikes: &'a [KnownBike], holders: &'a Holders, unreadable: Vec<String>) -> Self {
        Self { bikes: bikes.iter().map(|bike| BikeLine::of(bike, holders)).collect(), unreadable }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        if self.bikes.is_empty() && self.unreadable.is_empty() {
            return "No bikes yet. Make one:\n  reedbook bike new NAME".into();
        }
        let rows = self.bikes.iter().map(BikeLine::row).collect();
        let mut text =
            table(&["bike", "", "engine", "setups", "proven", "last out"], rows, &[3, 4], screen.width());
        for words in &self.unreadable {
            text.push('\n');
            text.push_str(&screen.wrap(&visible(&format!("! not readable: {words}")), 2));
        }
        text
    }
}

impl<'a> EngineList<'a> {
    /// The engines by name; `holders` are the bikes they are in.
    pub fn new(engines: &'a [(String, Option<String>)], holders: &'a Holders) -> Self {
        let line = |(engine, owner): &'a (String, Option<String>)| {
            let (bike, setup) = holders.get(engine).map(|(bike, number)| (bike.as_str(), *number)).unzip();
            EngineLine { engine, bike, owner: owner.as_deref(), setup }
        };
        Self { engines: engines.iter().map(line).collect() }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        if self.engines.is_empty() {
            return "No engines yet. Make one:\n  reedbook engine new NAME".into();
        }
        let owned = self.engines.iter().any(|line| line.owner.is_some());
        let row = |line: &EngineLine<'_>| {
            let place = match (line.bike, line.setup) {
                (Some(bike), Some(number)) => format!("in {bike} (its setup {number})"),
                _ => "on the shelf".to_owned(),
            };
            let owner = line.owner.map(visible).unwrap_or_default();
            if owned {
                vec![line.engine.to_owned(), place, owner]
            } else {
                vec![line.engine.to_owned(), place]
            }
        };
        let head: &[&str] = if owned { &["engine", "", "owner"] } else { &["engine", ""] };
        table(head, self.engines.iter().map(row).collect(), &[], screen.width())
    }
}

impl<'a> BikeMade<'a> {
    /// The bike that was wanted and made; `holder` is the bike its engine is in now.
    pub fn new(wanted: &'a NewBike, made: &'a MadeBike, holder: Option<&'a (String, u32)>) -> Self {
        Self {
            bike: &wanted.name,
            engine: &wanted.engine,
            setup_file: &made.setup,
            engine_file: &made.engine,
            new_engine: made.new_engine,
            holder,
        }
    }

    /// What the new bike waits for.
    pub fn text(&self, screen: &Screen) -> String {
        let Self { bike, engine: its_engine, .. } = self;
        let engine = if self.new_engine { "the new engine" } else { "the engine" };
        let takes = if self.holder.is_some() { format!("engine={its_engine} ") } else { String::new() };
        let mut text = format!(
            "Bike {bike}, with {engine} {its_engine}.\n\
             Fill in what you know: take the '#' off a line, save.\n  {}\n  {}\n\
             Then record it:\n  reedbook change {bike} {takes}--why \"as it stands\"",
            self.setup_file.display(),
            self.engine_file.display(),
        );
        if let Some((holder, number)) = self.holder {
            let note = format!(
                "The engine {its_engine} is in {holder} now (its setup {number}): recording {bike} takes it out of there."
            );
            text.push('\n');
            text.push_str(&screen.known(note));
        }
        text
    }
}

impl<'a> BikeRetired<'a> {
    /// One that was retired, or is back; from the history where it had been taken out.
    pub fn new(bike: &'a str, retired: bool, brought: Option<&BroughtBack>) -> Self {
        let brought_back = brought.map(|brought| CameBack {
            stood: brought.stood,
            outings: brought.outings,
            gathered: brought.gathered,
            others: brought.others.clone(),
        });
        Self { bike, retired, brought_back }
    }

    /// For a person.
    pub fn text(&self) -> String {
        if let Some(back) = &self.brought_back {
            return back.text(self.bike);
        }
        let done = if self.retired { "retired; its history stays" } else { "back in use" };
        format!("{} is {done}.", self.bike)
    }
}

impl CameBack {
    fn text(&self, bike: &str) -> String {
        let outings = match self.outings {
            0 => String::new(),
            1 => ", with 1 outing".to_owned(),
            many => format!(", with {many} outings"),
        };
        let mut text = format!("{bike} is back in use as it stood on {}{outings}.", self.stood.day());
        match self.gathered {
            0 => {}
            1 => text += " 1 outing was not there that day: another side recorded it, or its file had gone.",
            many => {
                text += &format!(
                    " {many} outings were not there that day: another side recorded them, or their files had gone."
                );
            }
        }
        if let Some(day) = self.others.first().map(When::day) {
            text += &format!(
                " Another side had it until {day}: `reedbook history {bike}` has its setups, too. Look at the bike which of them is on it."
            );
        }
        text
    }
}

impl EngineMade<'_> {
    /// What the new engine waits for.
    pub fn text(&self) -> String {
        let (engine, file) = (self.engine, self.file.display());
        let owner = self.owner.map(|owner| format!(", {}'s", visible(owner.trim()))).unwrap_or_default();
        format!(
            "Engine {engine}{owner}. Fill in what you know:\n  {file}\nThen put it in:\n  reedbook change BIKE engine={engine} --why \"…\""
        )
    }
}

impl EngineOwned<'_> {
    /// For a person.
    pub fn text(&self) -> String {
        match self.owner {
            Some(owner) => format!(
                "{} is {}'s.\nWhat is theirs goes into one file with:\n  reedbook handover engine {}",
                self.engine,
                visible(owner.trim()),
                self.engine
            ),
            None => format!("{} is the garage's own.", self.engine),
        }
    }
}
