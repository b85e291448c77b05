//! How long a kind of part lives: the lives on record, the fit and what it is worth.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::parts::life::{
    Chosen, Doubted, End, Estimate, From as ChosenBy, IntervalStanding, Lack, Life, LifeAsked, Mark, Record,
    WhyGiven, marks, standing,
};
use crate::engine::life::Count;
use crate::notebook::fields::names::in_words;
use crate::notebook::{When, at_cylinder};
use crate::quantity::{Hours, fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::parts::life_plot::drawing;
use crate::report::parts::word::{Word, Worded};
use crate::report::words::layout::{first_line, table};

/// How long a kind of part lives: the lives on record, and the hours at which the chance of failure reaches what is accepted.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PartLifeAnswer {
    /// The kind of part.
    pub(super) kind: String,
    /// The engine whose lives alone are counted; null for all.
    engine: Option<String>,
    /// Engines and how many of the lives each has; parts that were in none are not among them.
    pub(super) engines: Vec<EngineLives>,
    /// Failures at known hours.
    pub(super) failures: u32,
    /// Lives without a failure.
    unfailed: usize,
    /// Failures of which only the least hours are known; they count as having lived so long.
    pub(super) failed_at_unknown_hours: u32,
    /// Lives of which only the least hours are known.
    pub(super) hours_at_least: usize,
    /// Lives left out that failed and have no hours.
    pub(super) failed_without_hours: Vec<String>,
    /// Lives left out because the book has no hours of them.
    pub(super) never_ran: usize,
    /// Level of the intervals, %.
    pub(super) level_percent: Figure<3>,
    /// Weibull shape; null where the record tells nothing.
    pub(super) shape: Option<LifeShape>,
    /// Hours by which 63.2 % have failed, h. Null where the record does not tell it.
    characteristic_h: Option<DoubtedHours>,
    /// The accepted chance of failure; null where nobody says it.
    pub(super) risk: Option<AcceptedRisk>,
    /// Hours by which the accepted chance is reached, h. Null where the record does not tell it.
    pub(super) hours_at_risk_h: Option<DoubtedHours>,
    /// Hours at which configs/limits.toml changes the kind, h; null where it does not say.
    pub(super) change_after_h: Option<Figure<3>>,
    /// How these hours stand to the interval: not above its low end, inside it below or above the likeliest, above its high end; null where either is not known.
    pub(super) standing: Option<LimitStanding>,
    /// That in words; null where the record tells nothing.
    conclusion: Option<String>,
    /// The lives, the shortest first.
    pub(super) lives: Vec<LifeLived>,
    /// Failures at known hours with the share failed by then (Kaplan and Meier's product limit).
    pub(super) marks: Vec<FailureMark>,
    /// What it rests on, in words.
    notes: Vec<String>,
    /// What can hurt somebody, in words.
    cautions: Vec<String>,
    /// Part files that cannot be read, with what is wrong.
    pub(super) unreadable: Vec<String>,
    /// Hours at which configs/limits.toml changes the kind, as written there with their unit.
    #[serde(skip)]
    pub(super) change_after: Option<String>,
    /// Lives that were begun before this book.
    #[serde(skip)]
    pub(super) begun_before: usize,
    /// Why the record tells nothing, where it does not.
    #[serde(skip)]
    pub(super) lack: Option<Lack>,
    /// What is drawn, where it was asked for.
    #[serde(skip)]
    drawn: Option<Estimate>,
}

/// How many lives an engine has.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct EngineLives {
    /// The engine.
    pub(super) engine: String,
    /// How many lives.
    pub(super) lives: usize,
}

/// The Weibull shape.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct LifeShape {
    /// The shape.
    value: Figure<4>,
    /// Lower end of its interval; null where it was given.
    low: Option<Figure<4>>,
    /// Upper end; null where it was given.
    high: Option<Figure<4>>,
    /// The shape from elsewhere; null where it was fitted.
    pub(super) given: Option<GivenShape>,
}

/// A shape from elsewhere.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct GivenShape {
    /// The shape.
    value: Figure<4>,
    /// Whether it was said with the request or is from configs/limits.toml.
    pub(super) from: SaidIn,
    /// What configs/limits.toml names as its source.
    pub(super) source: Option<String>,
    /// Why it is used.
    #[serde(skip)]
    pub(super) why: WhyGiven,
}

/// The chance of failure that is accepted.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct AcceptedRisk {
    /// Chance of failure, %.
    pub(super) percent: Figure<4>,
    /// Whether it was said with the request or is from configs/limits.toml.
    from: SaidIn,
    /// What configs/limits.toml names as its source.
    source: Option<String>,
}

/// Where a figure of the request is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum SaidIn {
    /// With the request.
    Request,
    /// In configs/limits.toml.
    Limits,
}

/// Hours with their doubt.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub(super) struct DoubtedHours {
    /// The likeliest; null without a failure, where there is only a lower bound.
    pub(super) value: Option<Figure<3>>,
    /// Lower end of the interval, or the bound.
    pub(super) low: Figure<3>,
    /// Upper end; null where the record sets none.
    high: Option<Figure<3>>,
}

/// How the hours at which a kind is changed stand to what the record tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum LimitStanding {
    /// Not above the low end of the interval.
    SafeSide,
    /// Inside of it, not above the likeliest.
    NotShownSafe,
    /// Inside of it, above the likeliest.
    RatherTooLong,
    /// Above its high end.
    TooLong,
}

/// One life of a part.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct LifeLived {
    /// The part.
    part: String,
    /// Which of its lives, counted from 1; a renewed part begins another.
    life: usize,
    /// The engine it was in last; null where it was in none.
    engine: Option<String>,
    /// The cylinder it was at there, of an engine with several; not there where it was at none.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    cylinder: Option<String>,
    /// Hours it ran, h.
    pub(super) hours_h: Figure<3>,
    /// Whether it ran at least so long, as some hours are not known.
    pub(super) at_least: bool,
    /// How it ended, or how it goes on.
    pub(super) end: Word<End>,
    /// When it ended or was taken out; null where it runs or was never fitted.
    #[schemars(with = "Option<String>")]
    date: Option<When>,
    /// How it failed, as written down.
    how: Option<String>,
}

/// A failure at known hours.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FailureMark {
    /// Hours, h.
    pub(super) hours_h: Figure<3>,
    /// Share failed, 0 to 1.
    pub(super) share: Figure<4>,
}

impl Worded for End {
    const ALL: &'static [Self] = &[Self::Failed, Self::Renewed, Self::Retired, Self::Kept, Self::InEngine];

    fn word(&self) -> &'static str {
        Self::word(*self)
    }
}

/// The lives of a kind of part, and what was asked of them.
pub struct LifeQuestion<'a> {
    /// The kind.
    pub kind: &'a str,
    /// The engine, where only its lives were asked for.
    pub engine: Option<&'a str>,
    /// The lives.
    pub record: &'a Record,
    /// What they rest on.
    pub count: Count,
    /// What was asked.
    pub asked: &'a LifeAsked,
    /// What the lives tell.
    pub estimate: Result<Estimate, Lack>,
    /// Hours at which configs/limits.toml changes the kind.
    pub change_after: Option<&'a Hours>,
    /// Part files that cannot be read, with what is wrong.
    pub unreadable: Vec<String>,
    /// Whether the chance of failure is drawn.
    pub drawn: bool,
}

impl From<LifeQuestion<'_>> for PartLifeAnswer {
    fn from(question: LifeQuestion<'_>) -> Self {
        let LifeQuestion { record, count, asked, .. } = question;
        let known = question.estimate.as_ref().ok();
        let hours_at_risk = known.and_then(|known| known.hours_h);
        let change_h = question.change_after.map(|change| change.si() / 3600.0);
        let mut answer = Self {
            kind: question.kind.to_owned(),
            engine: question.engine.map(str::to_owned),
            engines: by_engine(&record.lives),
            failures: count.failures,
            unfailed: record.lives.iter().filter(|life| !life.failed()).count(),
            failed_at_unknown_hours: count.failed_at_unknown_hours,
            hours_at_least: record.lives.iter().filter(|life| life.at_least).count(),
            failed_without_hours: record
                .failed_without_hours
                .iter()
                .map(|life| called(&life.part, life.number))
                .collect(),
            never_ran: record.never_ran.len(),
            level_percent: Figure(asked.level * 100.0),
            shape: known.map(LifeShape::from),
            characteristic_h: known.map(|known| DoubtedHours::from(known.scale_h)),
            risk: asked.risk_percent.as_ref().map(AcceptedRisk::from),
            hours_at_risk_h: hours_at_risk.map(DoubtedHours::from),
            change_after_h: change_h.map(Figure),
            standing: change_h.zip(hours_at_risk).map(|(change, hours)| standing(change, hours).into()),
            conclusion: None,
            lives: record.lives.iter().map(LifeLived::from).collect(),
            marks: marks(&record.lives).into_iter().map(FailureMark::from).collect(),
            notes: Vec::new(),
            cautions: Vec::new(),
            unreadable: question.unreadable,
            change_after: question.change_after.map(|change| change.quantity().with_unit()),
            begun_before: record.lives.iter().filter(|life| life.begun_before).count(),
            lack: question.estimate.as_ref().err().copied(),
            drawn: question.estimate.ok().filter(|_| question.drawn),
        };
        answer.conclusion = answer.concluded();
        answer.notes = answer.noted();
        answer.cautions = answer.cautioned();
        answer
    }
}

impl From<&Estimate> for LifeShape {
    fn from(known: &Estimate) -> Self {
        Self {
            value: Figure(known.shape),
            low: known.shape_between.map(|between| Figure(between.low)),
            high: known.shape_between.and_then(|between| between.high).map(Figure),
            given: known.shape_given.as_ref().map(|(chosen, why)| {
                let (from, source) = said_in(chosen);
                GivenShape { value: Figure(chosen.value), from, source, why: *why }
            }),
        }
    }
}

impl From<&Chosen> for AcceptedRisk {
    fn from(chosen: &Chosen) -> Self {
        let (from, source) = said_in(chosen);
        Self { percent: Figure(chosen.value), from, source }
    }
}

fn said_in(chosen: &Chosen) -> (SaidIn, Option<String>) {
    match &chosen.from {
        ChosenBy::Request => (SaidIn::Request, None),
        ChosenBy::Limits(source) => (SaidIn::Limits, source.clone()),
    }
}

impl From<Doubted> for DoubtedHours {
    fn from(hours: Doubted) -> Self {
        Self { value: hours.value.map(Figure), low: Figure(hours.low), high: hours.high.map(Figure) }
    }
}

impl From<IntervalStanding> for LimitStanding {
    fn from(standing: IntervalStanding) -> Self {
        match standing {
            IntervalStanding::Safe => Self::SafeSide,
            IntervalStanding::NotShown => Self::NotShownSafe,
            IntervalStanding::RatherTooLong => Self::RatherTooLong,
            IntervalStanding::TooLong => Self::TooLong,
        }
    }
}

impl From<&Life> for LifeLived {
    fn from(life: &Life) -> Self {
        Self {
            part: life.part.clone(),
            life: life.number,
            engine: life.engine.clone(),
            cylinder: life.cylinder.clone(),
            hours_h: Figure(life.hours_h),
            at_least: life.at_least,
            end: Word(life.end),
            date: life.ended,
            how: life.how.clone(),
        }
    }
}

impl From<Mark> for FailureMark {
    fn from(mark: Mark) -> Self {
        Self { hours_h: Figure(mark.hours_h), share: Figure(mark.share) }
    }
}

/// Engines with how many lives each has, the most first; parts that were in none are not among them.
fn by_engine(lives: &[Life]) -> Vec<EngineLives> {
    let mut found: Vec<EngineLives> = Vec::new();
    for engine in lives.iter().filter_map(|life| life.engine.as_deref()) {
        match found.iter_mut().find(|known| known.engine == engine) {
            Some(known) => known.lives += 1,
            None => found.push(EngineLives { engine: engine.to_owned(), lives: 1 }),
        }
    }
    found.sort_by(|a, b| b.lives.cmp(&a.lives).then(a.engine.cmp(&b.engine)));
    found
}

impl DoubtedHours {
    /// "21.0 h (17.2 to 29.1 h)", "at least 14.0 h".
    pub(super) fn words(self) -> String {
        let between = match self.high {
            Some(high) => format!("{} to {}", fixed(self.low.0, 1), hours(high.0)),
            None => format!("at least {}", hours(self.low.0)),
        };
        self.value.map_or(between.clone(), |value| format!("{} ({between})", hours(value.0)))
    }

    /// The interval alone: "17.2 to 29.1 h".
    pub(super) fn allowed(self) -> String {
        Self { value: None, ..self }.words()
    }

    /// The likeliest, or the bound where there is only that, h.
    pub(super) fn likeliest_h(self) -> f64 {
        self.value.unwrap_or(self.low).0
    }
}

/// Hours for reading: "9.1 h", "140 h".
pub(super) fn hours(hours_h: f64) -> String {
    format!("{} h", fixed(hours_h, usize::from(hours_h.abs() < 99.95)))
}

/// "5 %".
pub(super) fn percent(share: f64) -> String {
    format!("{} %", trimmed(share, 2))
}

impl PartLifeAnswer {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let place = self.engine.as_ref().map(|engine| format!(" in {engine}")).unwrap_or_default();
        let failed = self.failures + self.failed_at_unknown_hours;
        let lives = match self.lives.len() {
            1 => "1 life".to_owned(),
            several => format!("{several} lives"),
        };
        let heading = format!("{}{place}: {lives}, {failed} failed, {} unfailed", self.kind, self.unfailed);
        let mut lines = vec![screen.strong(&heading), String::new()];
        lines.extend(
            self.figures().iter().map(|(name, words)| screen.wrap(&format!("  {name:<26}{words}"), 28)),
        );
        if let Some(lack) = self.lack.filter(|lack| *lack != Lack::OneFailure) {
            lines.push(screen.wrap(&self.lacking(lack), 2));
        }
        lines.push(String::new());
        if let Some(conclusion) = &self.conclusion {
            lines.extend([screen.wrap(conclusion, 2), String::new()]);
        }
        if let Some(known) = &self.drawn {
            lines.extend([drawing(self, known, screen), String::new()]);
        }
        if !self.lives.is_empty() {
            lines.extend([self.table(screen), String::new()]);
        }
        lines.extend(self.notes.iter().map(|note| screen.known(note)));
        lines.extend(self.cautions.iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.join("\n").trim_end().to_owned()
    }

    /// Figures with their names.
    fn figures(&self) -> Vec<(String, String)> {
        let mut told = Vec::new();
        told.extend(self.shape.as_ref().map(|shape| ("wear-out shape".to_owned(), shape.words())));
        told.extend(self.characteristic_h.map(|hours| ("63 % failed by".to_owned(), hours.words())));
        if let (Some(risk), Some(hours)) = (&self.risk, self.hours_at_risk_h) {
            told.push((format!("{} failed by", percent(risk.percent.0)), hours.words()));
        }
        if let Some(change) = &self.change_after {
            told.push(("changed at".to_owned(), format!("{change} (configs/limits.toml)")));
        }
        told
    }

    /// Hours of the longest life, h.
    pub(super) fn longest_h(&self) -> f64 {
        self.lives.last().map_or(0.0, |life| life.hours_h.0)
    }

    fn table(&self, screen: &Screen) -> String {
        let row = |life: &LifeLived| {
            let at_least = if life.at_least { "at least " } else { "" };
            vec![
                called(&life.part, life.life),
                format!("{at_least}{}", fixed(life.hours_h.0, 1)),
                life.ended(),
            ]
        };
        let rows = self.lives.iter().map(row).collect();
        table(&["part", "hours", "how it ended"], rows, &[1], screen.width())
    }
}

impl LifeShape {
    /// "2.3 (1.6 to 3.1)", "3 (given)".
    fn words(&self) -> String {
        match self.low {
            Some(low) => {
                let high = self.high.map_or("any".to_owned(), |high| fixed(high.0, 1));
                format!("{} ({} to {high})", fixed(self.value.0, 1), fixed(low.0, 1))
            }
            None => format!("{} (given)", trimmed(self.value.0, 2)),
        }
    }
}

impl LifeLived {
    /// Whether it failed at known hours.
    pub(super) fn failed_at_known_hours(&self) -> bool {
        self.end.0 == End::Failed && !self.at_least
    }

    fn ended(&self) -> String {
        let at = self.cylinder.as_deref().map(|name| format!(" at {}", in_words(name))).unwrap_or_default();
        let date = self.date.map(|date| format!(" {}", date.day())).unwrap_or_default();
        match (self.end.0, &self.engine) {
            (End::Failed, _) => {
                let how = self.how.as_deref().map(|how| format!(": {}", first_line(how))).unwrap_or_default();
                format!("failed{date}{at}{how}")
            }
            (End::InEngine, Some(engine)) => {
                format!("runs in {}", at_cylinder(engine, self.cylinder.as_deref()))
            }
            (End::Kept, _) if self.date.is_some() => format!("taken out{date}{at}, kept"),
            (end, _) => format!("{}{date}", end.word()),
        }
    }
}

/// A part's name, and which of its lives.
fn called(part: &str, life: usize) -> String {
    if life == 1 { part.to_owned() } else { format!("{part}, life {life}") }
}
