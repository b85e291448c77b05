//! An engine `e` with builds, a part and runs, as a test sets them.

use reedbook::advice::building::{FigureKind, kind_of};
use reedbook::advice::parts::EngineRun;
use reedbook::advice::parts::wear::{Wear, WearLimits, WearQuestion, WearReading};
use reedbook::notebook::{Part, When};
use reedbook::store::PartRecord;

pub(super) fn when(text: &str) -> When {
    When::parse(text, When::default().offset()).unwrap()
}

/// Noon of a day, counted from the beginning of 2025.
pub(super) fn day(number: i64) -> When {
    When::from_unix(when("2024-12-31T12:00Z").unix() + number * 86_400, 0).unwrap()
}

pub(super) fn part(name: &str, text: &str) -> PartRecord {
    let part: Part = toml::from_str(text).unwrap();
    PartRecord { name: name.to_owned(), file: format!("parts/{name}.toml").into(), part }
}

/// A part that was put into the engine on the day before the first, its past hours as said.
pub(super) fn fitted(name: &str, kind: &str, past: &str) -> PartRecord {
    part(
        name,
        &format!(
            "kind = \"{kind}\"\n{past}\n[events.a]\ndate = \"2024-12-31T12:00Z\"\ndid = \"fitted\"\nengine = \"e\"\n"
        ),
    )
}

pub(super) const NEW: &str = "past_hours = \"0 h\"";

/// A morning's run of the engine.
pub(super) fn run(number: i64, hours_h: Option<f64>) -> EngineRun {
    let date = When::from_unix(day(number).unix() - 7200, 0).unwrap();
    EngineRun {
        engine: "e".into(),
        bike: "b".into(),
        outing: "o".into(),
        date,
        place: None,
        hours_h,
        starts: 1.0,
    }
}

pub(super) fn reading(number: i64, millimetres: f64) -> WearReading {
    let build_id = format!("build{number}");
    WearReading { date: day(number), build_id, dimension: millimetres / 1e3, uncertainty: None }
}

pub(super) struct Case {
    pub(super) figure: &'static FigureKind,
    pub(super) readings: Vec<WearReading>,
    pub(super) parts: Vec<PartRecord>,
    pub(super) runs: Vec<EngineRun>,
    pub(super) limits: WearLimits,
    pub(super) level: f64,
    pub(super) now: When,
}

impl Case {
    /// Readings in mm on the noons of days, each after so many hours of running since the one before.
    pub(super) fn new(figure: &str, steps: &[(f64, f64)]) -> Self {
        let numbered = || steps.iter().zip(1_i64..);
        let figure = kind_of(figure).unwrap();
        Self {
            figure,
            readings: numbered().map(|((_, millimetres), number)| reading(number, *millimetres)).collect(),
            parts: figure.part.map(|kind| fitted("own", kind, NEW)).into_iter().collect(),
            runs: numbered().map(|((hours, _), number)| run(number, Some(*hours))).collect(),
            limits: WearLimits::default(),
            level: 0.9,
            now: day(400),
        }
    }

    pub(super) fn with_most(mut self, millimetres: f64) -> Self {
        self.limits.most = Some(millimetres / 1e3);
        self
    }

    pub(super) fn answer(&self) -> Wear {
        let builds: Vec<When> = self.readings.iter().map(|reading| reading.date).collect();
        let question = WearQuestion {
            engine: "e",
            cylinder: None,
            figure: self.figure,
            readings: &self.readings,
            parts: &self.parts,
            runs: &self.runs,
            builds: &builds,
            limits: self.limits.clone(),
            level: self.level,
            now: self.now,
        };
        question.answer().unwrap().unwrap()
    }
}
