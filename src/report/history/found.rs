//! What was found.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::runs::{FittedIn, RunOnBike};
use crate::notebook::fields::names::visible;
use crate::notebook::{Scope, When, at_cylinder, nearest_name};
use crate::report::history::noted_air::NotedAir;
use crate::report::history::outing::OutingEntry;
use crate::report::history::ran::Ran;
use crate::report::history::runs::{RunRow, Runs};
use crate::report::history::setups::COMMIT;
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{DATE, count, first_line, signed};
use crate::store::{BuildRecord, Found, Hit, OutingRecord, PartRecord, SetupRecord};

/// What was found.
#[derive(Debug, Serialize, JsonSchema)]
pub struct FindAnswer<'a> {
    /// Setups, outings, builds and parts: the nearest air first where air was asked for, else the newest first.
    found: Vec<FoundEntry<'a>>,
    /// Places of the garage, where none is called as was asked; else empty.
    known_places: Vec<String>,
    /// The place that was asked for, where none is called so.
    #[serde(skip)]
    no_such_place: Option<String>,
    /// Head of the column that runs are in order by.
    #[serde(skip)]
    by: &'a str,
    /// Whether words in notes were asked about.
    #[serde(skip)]
    noted: bool,
}

/// One thing that was found.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
enum FoundEntry<'a> {
    /// A setup.
    Setup {
        /// A setup that was found.
        setup: FoundSetup<'a>,
        /// How far its dry density is off the air asked for, percent; null when no air was asked for.
        air_off_percent: Option<Figure<3>>,
    },
    /// An outing.
    Outing {
        /// An outing that was found.
        outing: Box<FoundOuting<'a>>,
        /// How far its dry density is off the air asked for, percent; null when no air was asked for.
        air_off_percent: Option<Figure<3>>,
    },
    /// A build.
    Build {
        /// A build that was found.
        build: FoundBuild<'a>,
        /// How far its dry density is off the air asked for, percent; null when no air was asked for.
        air_off_percent: Option<Figure<3>>,
    },
    /// A part.
    Part {
        /// A part that was found.
        part: FoundPart<'a>,
        /// How far its dry density is off the air asked for, percent; null when no air was asked for.
        air_off_percent: Option<Figure<3>>,
    },
}

/// A setup that was found.
#[derive(Debug, Serialize, JsonSchema)]
struct FoundSetup<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of the setup.
    #[schemars(range(min = 1))]
    number: u32,
    /// Git commit that recorded it, 40 hex digits.
    #[schemars(regex(pattern = COMMIT))]
    commit: &'a str,
    /// When it was recorded, with its offset, like 2026-05-16T10:30+02:00.
    #[schemars(regex(pattern = DATE))]
    date: String,
    /// The reason, as given.
    why: &'a str,
    /// Air noted with the change.
    air: Option<NotedAir>,
    /// When it was recorded.
    #[serde(skip)]
    when: When,
}

/// An outing that was found, with its bike.
#[derive(Debug, Serialize, JsonSchema)]
struct FoundOuting<'a> {
    /// The outing.
    #[serde(flatten)]
    outing: OutingEntry<'a>,
    /// Folder name of the bike.
    bike: &'a str,
    /// What was on the bike.
    ran: Ran,
}

/// A build that was found.
#[derive(Debug, Serialize, JsonSchema)]
struct FoundBuild<'a> {
    /// Folder name of the engine.
    engine: &'a str,
    /// Identity of the build.
    id: &'a str,
    /// When the engine was put together.
    date: String,
    /// How much of it was apart.
    scope: Scope,
    /// Why.
    why: Option<&'a str>,
    /// When the engine was put together.
    #[serde(skip)]
    when: When,
}

/// A part that was found.
#[derive(Debug, Serialize, JsonSchema)]
struct FoundPart<'a> {
    /// Name of the part.
    name: &'a str,
    /// Its kind.
    kind: &'a str,
    /// What it is called.
    title: Option<&'a str>,
    /// When something was last done to it.
    date: String,
    /// What is written of it.
    #[serde(skip)]
    record: &'a PartRecord,
}

impl<'a> FindAnswer<'a> {
    /// What was found, in its order, with what was on the bike in each run; `asked` are the fields that were asked about,
    /// `by` is the head of the column that they are in order by, `noted` whether words in notes were.
    pub fn of(hits: &'a [Hit], fitted: &FittedIn, asked: &[String], (by, noted): (&'a str, bool)) -> Self {
        Self {
            by,
            noted,
            no_such_place: None,
            known_places: Vec::new(),
            found: hits.iter().map(|hit| FoundEntry::of(hit, fitted, asked)).collect(),
        }
    }

    /// The same where no place is called as was asked, with those that are known.
    #[must_use]
    pub fn where_no_place_is_called(self, unknown: Option<(String, Vec<String>)>) -> Self {
        let (no_such_place, known_places) = unknown.unzip();
        Self { no_such_place, known_places: known_places.unwrap_or_default(), ..self }
    }

    /// That nothing was found, and the places there are.
    fn nothing(&self, screen: &Screen) -> String {
        let Some(asked) = &self.no_such_place else { return "Nothing found.".into() };
        let near = nearest_name(asked, self.known_places.iter().map(String::as_str));
        let near = near.map(|near| format!(" Is it {}?", visible(near))).unwrap_or_default();
        let all: Vec<String> = self.known_places.iter().map(|place| visible(place)).collect();
        let all = if all.is_empty() { "none yet".to_owned() } else { all.join(", ") };
        screen.wrap(&format!("Nothing found: no place is called {}.{near} Places: {all}.", visible(asked)), 2)
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        if self.found.is_empty() {
            return self.nothing(screen);
        }
        let runs = self.runs();
        let rest = self.found.iter().filter(|one| !matches!(one, FoundEntry::Outing { .. }));
        let mut lines = vec![self.sum()];
        if !runs.rows.is_empty() {
            lines.push(runs.text(screen));
        }
        lines.extend(rest.map(|one| screen.wrap(&one.line(screen), 4)));
        lines.join("\n")
    }

    /// The outings among what was found.
    fn runs(&self) -> Runs<'_> {
        let rows: Vec<RunRow<'_>> = self.found.iter().filter_map(FoundEntry::row).collect();
        let first = rows.first().map(|row| &row.outing.record.bike);
        let bikes = rows.iter().any(|row| Some(&row.outing.record.bike) != first);
        Runs { noted: self.noted || rows.len() == 1, rows, bikes, by: self.by }
    }

    /// The bike, where all that was found is of one.
    fn bike(&self) -> Option<&str> {
        let bike = |one: &'_ FoundEntry<'a>| match one {
            FoundEntry::Setup { setup, .. } => Some(setup.bike),
            FoundEntry::Outing { outing, .. } => Some(outing.bike),
            FoundEntry::Build { .. } | FoundEntry::Part { .. } => None,
        };
        let first = self.found.first().and_then(bike)?;
        self.found.iter().all(|one| bike(one) == Some(first)).then_some(first)
    }

    /// How many of what was found, each kind where there is any.
    fn sum(&self) -> String {
        let of = |fits: fn(&FoundEntry<'_>) -> bool| self.found.iter().filter(|one| fits(one)).count();
        let setups = of(|one| matches!(one, FoundEntry::Setup { .. }));
        let outings = of(|one| matches!(one, FoundEntry::Outing { .. }));
        let builds = of(|one| matches!(one, FoundEntry::Build { .. }));
        let parts = of(|one| matches!(one, FoundEntry::Part { .. }));
        let counts = [(setups, "setup"), (outings, "outing"), (builds, "build"), (parts, "part")];
        let counts = counts.into_iter().filter(|(number, _)| *number > 0);
        let counts = counts.map(|(number, what)| count(number, what)).collect::<Vec<_>>().join(", ");
        self.bike().map_or(counts.clone(), |bike| format!("{counts} of {}", visible(bike)))
    }
}

impl<'a> FoundEntry<'a> {
    fn row(&self) -> Option<RunRow<'_>> {
        let Self::Outing { outing, air_off_percent } = self else { return None };
        Some(RunRow { outing: &outing.outing, ran: &outing.ran, off: air_off_percent.map(|off| off.0) })
    }

    fn of(hit: &'a Hit, fitted: &FittedIn, asked: &[String]) -> Self {
        let air_off_percent = hit.air_off_percent.map(Figure);
        match &hit.found {
            Found::Setup(setup) => Self::Setup { setup: FoundSetup::of(setup), air_off_percent },
            Found::Outing(record) => {
                let ran = Ran::of(RunOnBike { record, fitted: fitted.in_run(record) }, asked);
                Self::Outing { outing: Box::new(FoundOuting::of(record, ran)), air_off_percent }
            }
            Found::Build(record) => Self::Build { build: FoundBuild::of(record), air_off_percent },
            Found::Part(record, date) => Self::Part { part: FoundPart::of(record, *date), air_off_percent },
        }
    }

    fn line(&self, screen: &Screen) -> String {
        match self {
            Self::Setup { setup, air_off_percent } => setup.line(screen, &off(*air_off_percent)),
            // Runs stand in the table.
            Self::Outing { .. } => String::new(),
            Self::Build { build, .. } => build.line(),
            Self::Part { part, .. } => part.line(),
        }
    }
}

/// How far an air is off, before what else is told on the line.
fn off(percent: Option<Figure<3>>) -> String {
    percent.map(|percent| format!("air {} % | ", signed(percent.0, 1))).unwrap_or_default()
}

impl<'a> FoundSetup<'a> {
    fn of(setup: &'a SetupRecord) -> Self {
        Self {
            bike: &setup.bike,
            number: setup.number,
            commit: &setup.commit,
            date: setup.date.to_string(),
            why: &setup.why,
            air: setup.air.as_ref().map(NotedAir::of),
            when: setup.date,
        }
    }

    fn line(&self, screen: &Screen, off: &str) -> String {
        let air = self.air.as_ref().map(|air| format!(" | {}", air.in_short(screen))).unwrap_or_default();
        let (date, why) = (self.when.short(), first_line(self.why));
        format!("{} setup {} | {off}{date} | {why}{air}", self.bike, self.number)
    }
}

impl<'a> FoundOuting<'a> {
    fn of(record: &'a OutingRecord, ran: Ran) -> Self {
        Self { outing: OutingEntry::of(record), bike: &record.bike, ran }
    }
}

impl<'a> FoundBuild<'a> {
    fn of(record: &'a BuildRecord) -> Self {
        Self {
            engine: &record.engine,
            id: &record.id,
            date: record.build.date.to_string(),
            scope: record.build.scope,
            why: record.build.why.as_deref(),
            when: record.build.date,
        }
    }

    fn line(&self) -> String {
        let why = self.why.map(|why| format!(" | {}", first_line(why))).unwrap_or_default();
        let (date, scope) = (self.when.short(), self.scope.words());
        format!("{} build {} | {date} | {scope}{why}", self.engine, self.id)
    }
}

impl<'a> FoundPart<'a> {
    fn of(record: &'a PartRecord, date: When) -> Self {
        Self {
            name: &record.name,
            kind: &record.part.kind,
            title: record.part.title.as_deref(),
            date: date.to_string(),
            record,
        }
    }

    fn line(&self) -> String {
        let (_, last) = self.record.part.events_in_order().pop().unzip();
        let last = last.map(|event| {
            let place = |engine| at_cylinder(engine, event.cylinder.as_deref());
            let engine = event.engine.as_deref().map(|engine| format!(" to {}", visible(&place(engine))));
            let how = event.how.as_deref().map(|how| format!(": {}", first_line(how)));
            format!(
                " | {} {}{}{}",
                event.did.word(),
                event.date.short(),
                engine.unwrap_or_default(),
                how.unwrap_or_default()
            )
        });
        let title = self.title.map(|title| format!(" | {}", first_line(title))).unwrap_or_default();
        format!("part {} | {}{title}{}", self.name, self.kind, last.unwrap_or_default())
    }
}
