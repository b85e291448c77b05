//! The lives of the parts of one kind, as the book has them, and the hours at which their chance of failure reaches what
//! is accepted.
//!
//! A life ends when the part fails, is made new or is thrown away; else it goes on, and its hours are those of now. Of a
//! part whose hours are not all known it is only known that it lived so long: so it counts (see [`crate::engine::life`]).
//!
//! Which engine a life belongs to where only one engine is asked for: the one it was in last, with all its hours.

use super::{EngineRun, count};
use crate::engine::EngineError;
use crate::engine::life::{Between, Count, Fit, Lives, ObservedPart as Lived};
use crate::notebook::{Deed, Limits, Part, PartEvent, When};
use crate::store::PartRecord;

/// Failures at known hours from which the record itself tells the shape. Under it, hours to a small chance hang on the
/// luck of three or four parts (engineering judgement, no source).
pub const FAILURES_THAT_TELL: u32 = 5;

/// Hours under which a failure has none that could be counted with, h.
const LEAST_HOURS: f64 = 0.001;

/// How a life ended, or how it goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// It failed.
    Failed,
    /// It was made new, unfailed.
    Renewed,
    /// It was thrown away, unfailed.
    Retired,
    /// It is out of its engine and kept.
    Kept,
    /// It is in an engine.
    InEngine,
}

impl End {
    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Failed => "failed",
            Self::Renewed => "renewed",
            Self::Retired => "retired",
            Self::Kept => "kept",
            Self::InEngine => "in engine",
        }
    }
}

/// One life of a part: from new, or made new, to its end or to now.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// The part.
    pub part: String,
    /// Which of its lives, counted from 1.
    pub number: usize,
    /// The engine it was in last.
    pub engine: Option<String>,
    /// The cylinder it was at there, of an engine with several.
    pub cylinder: Option<String>,
    /// Hours it ran, h.
    pub hours_h: f64,
    /// Whether it ran at least so long.
    pub at_least: bool,
    /// Whether it ran before this book, as far as is known: those that failed then are not in it.
    pub begun_before: bool,
    /// How it ended.
    pub end: End,
    /// When it ended, or was taken out of its engine.
    pub ended: Option<When>,
    /// How it failed.
    pub how: Option<String>,
}

impl Life {
    /// Whether it failed.
    pub fn failed(&self) -> bool {
        self.end == End::Failed
    }
}

/// The lives of a kind of part.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// Lives with hours, the shortest first.
    pub lives: Vec<Life>,
    /// Lives left out because no hours of them are known: parts that never ran.
    pub never_ran: Vec<Life>,
    /// Lives left out because they failed and no hours of them are known. Each is missing in the record of failures.
    pub failed_without_hours: Vec<Life>,
}

/// The lives of a kind at a moment, of all engines or of one, from runs that come by date.
pub fn lives_of_kind(
    parts: &[PartRecord],
    kind: &str,
    engine: Option<&str>,
    runs: &[EngineRun],
    now: When,
) -> Record {
    let mut record = Record::default();
    let all = parts.iter().filter(|known| known.part.kind == kind).flat_map(|known| lives(known, runs, now));
    for life in all.filter(|life| engine.is_none() || life.engine.as_deref() == engine) {
        match (life.failed(), life.hours_h < LEAST_HOURS) {
            (_, false) => record.lives.push(life),
            (true, true) => record.failed_without_hours.push(life),
            (false, true) => record.never_ran.push(life),
        }
    }
    for lives in [&mut record.lives, &mut record.never_ran, &mut record.failed_without_hours] {
        lives.sort_by(|a, b| {
            let names = (&a.part, a.number).cmp(&(&b.part, b.number));
            a.hours_h.total_cmp(&b.hours_h).then(names)
        });
    }
    record
}

/// The lives of one part.
fn lives(record: &PartRecord, runs: &[EngineRun], now: When) -> Vec<Life> {
    let mut events = record.part.events_in_order();
    events.retain(|(_, event)| event.date <= now);
    let renewals: Vec<usize> = events
        .iter()
        .enumerate()
        .filter(|(_, (_, event))| event.did == Deed::Renewed)
        .map(|(index, _)| index)
        .collect();
    let begins = std::iter::once(0).chain(renewals.iter().map(|index| index + 1));
    let ends = renewals.iter().copied().chain([events.len()]);
    let spans = begins.zip(ends).enumerate();
    let one = |(index, span)| Telling { record, events: &events, runs, now }.life(index + 1, span);
    spans.map(one).collect()
}

/// The events of a part while its lives are told.
struct Telling<'a> {
    record: &'a PartRecord,
    events: &'a [(&'a str, &'a PartEvent)],
    runs: &'a [EngineRun],
    now: When,
}

impl Telling<'_> {
    /// The life that the events from one place up to another make; at the other place it is made new, or it is now.
    fn life(&self, number: usize, (from, to): (usize, usize)) -> Life {
        let within = from..to;
        let find = |did: Deed| within.clone().find(|index| self.deed(*index) == Some(did));
        let taken_out = within.clone().rev().find(|index| self.deed(*index).is_some_and(Deed::takes_out));
        let fitted = self.is_fitted_after(to);
        let (end, at) = match (find(Deed::Failed), find(Deed::Retired)) {
            (Some(at), _) => (End::Failed, Some(at)),
            (None, _) if to < self.events.len() => (End::Renewed, Some(to)),
            (None, Some(at)) => (End::Retired, Some(at)),
            (None, None) if fitted => (End::InEngine, None),
            (None, None) => (End::Kept, taken_out),
        };
        let counted = match (end, at) {
            (End::Failed | End::Retired, Some(at)) => self.counted(at + 1, self.runs, self.date(at)),
            // An outing at the moment of making new belongs to the life after it.
            (End::Renewed, Some(at)) => {
                let date = self.date(at);
                let before = self.runs.partition_point(|run| run.date < date);
                self.counted(at, &self.runs[..before], date)
            }
            _ => self.counted(to, self.runs, self.now),
        };
        let (engine, cylinder) = self.last_place(from, at.unwrap_or(to)).unzip();
        let failure = at.filter(|_| end == End::Failed).and_then(|at| self.events.get(at));
        Life {
            part: self.record.name.clone(),
            number,
            engine,
            cylinder: cylinder.flatten(),
            hours_h: counted.hours_h,
            at_least: counted.hours_at_least,
            begun_before: number == 1
                && self.record.part.past_hours.as_ref().is_none_or(|past| past.si() > 0.0),
            end,
            ended: at.map(|at| self.date(at)),
            how: failure.and_then(|(_, event)| event.how.clone()),
        }
    }

    fn deed(&self, index: usize) -> Option<Deed> {
        self.events.get(index).map(|(_, event)| event.did)
    }

    fn date(&self, index: usize) -> When {
        self.events.get(index).map_or(self.now, |(_, event)| event.date)
    }

    /// What the part has run by a date if only its first events had happened.
    fn counted(&self, events: usize, runs: &[EngineRun], until: When) -> super::Count {
        let kept =
            self.events.iter().take(events).map(|(name, event)| ((*name).to_owned(), (*event).clone()));
        let part = Part { events: kept.collect(), ..self.record.part.clone() };
        count(&part, runs, until)
    }

    /// Whether it is in an engine after so many events.
    fn is_fitted_after(&self, events: usize) -> bool {
        let moved = self.events.iter().take(events).rev();
        moved
            .map(|(_, event)| event.did)
            .find(|did| *did == Deed::Fitted || did.takes_out())
            .is_some_and(|did| did == Deed::Fitted)
    }

    /// The engine a life was in last, with its cylinder: the last it was put into, or where it was when it began.
    fn last_place(&self, from: usize, to: usize) -> Option<(String, Option<String>)> {
        let put = |events: &[(&str, &PartEvent)]| {
            events
                .iter()
                .rev()
                .find(|(_, event)| event.did == Deed::Fitted)
                .and_then(|(_, event)| Some((event.engine.clone()?, event.cylinder.clone())))
        };
        let begun = self.is_fitted_after(from).then(|| put(self.events.get(..from)?)).flatten();
        self.events.get(from..to).and_then(put).or(begun)
    }
}

/// Where a figure of the request is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum From {
    /// Said with the request.
    Request,
    /// From configs/limits.toml, with what it says of its source.
    Limits(Option<String>),
}

/// A figure that was chosen, and by whom.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// The figure.
    pub value: f64,
    /// Where it is from.
    pub from: From,
}

/// What is asked of a record.
#[derive(Debug, Clone, PartialEq)]
pub struct LifeAsked {
    /// The chance of failure that is accepted, 0.01 to 50 %; none where nobody says it.
    pub risk_percent: Option<Chosen>,
    /// The Weibull shape, 0.2 to 20, for a record that does not tell it; one from the request holds for any record.
    pub shape: Option<Chosen>,
    /// Level of the intervals, 0.5 to 0.999.
    pub level: f64,
}

impl LifeAsked {
    /// What is asked with the request, and from the limits of the kind where it does not say.
    pub fn of(
        limits: &Limits,
        kind: &str,
        risk_percent: Option<f64>,
        shape: Option<f64>,
        level: f64,
    ) -> Self {
        let known = limits.parts.get(kind);
        let chosen = |said: Option<f64>, listed: Option<f64>| {
            let said = said.map(|value| Chosen { value, from: From::Request });
            let source = || From::Limits(known.and_then(|known| known.source.clone()));
            said.or_else(|| listed.map(|value| Chosen { value, from: source() }))
        };
        Self {
            risk_percent: chosen(risk_percent, known.and_then(|k| Some(100.0 * k.risk.as_ref()?.si()))),
            shape: chosen(shape, known.and_then(|k| Some(k.shape.as_ref()?.si()))),
            level,
        }
    }
}

/// Why a shape from elsewhere is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyGiven {
    /// It was asked for.
    Asked,
    /// There are fewer failures at known hours than [`FAILURES_THAT_TELL`].
    FewFailures,
    /// No part outlived the failures by enough, so no shape is too steep.
    TooSteep,
}

/// A figure with its doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubted {
    /// The likeliest; none without a failure, where the record only bounds it from below.
    pub value: Option<f64>,
    /// Lower end.
    pub low: f64,
    /// Upper end; none where the record sets none.
    pub high: Option<f64>,
}

impl Doubted {
    fn of(value: f64, between: Between) -> Self {
        Self { value: Some(value), low: between.low, high: between.high }
    }

    fn at_least(low: f64) -> Self {
        Self { value: None, low, high: None }
    }
}

/// What a record tells of how long a kind lives.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// The Weibull shape.
    pub shape: f64,
    /// Its interval, where it was fitted.
    pub shape_between: Option<Between>,
    /// The shape from elsewhere, where that was used, and why.
    pub shape_given: Option<(Chosen, WhyGiven)>,
    /// The hours by which 63.2 % have failed, h.
    pub scale_h: Doubted,
    /// The hours at which the accepted chance of failure is reached, h.
    pub hours_h: Option<Doubted>,
}

/// Why a record tells nothing yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lack {
    /// No part of the kind has hours.
    NoLives,
    /// One failure at known hours: the luck of one part sets no hours, whatever shape is taken.
    OneFailure,
    /// Too few failures for a shape, and none from elsewhere.
    Shape,
    /// The failures set no shape, and there is none from elsewhere.
    SteepShape,
}

/// What a record rests on.
pub fn counted(lives: &[Life]) -> Result<Count, EngineError> {
    if lives.is_empty() {
        return Ok(Count::default());
    }
    lived(lives).map(|lives| lives.count())
}

fn lived(lives: &[Life]) -> Result<Lives, EngineError> {
    let lived = |life: &Life| Lived { hours_h: life.hours_h, failed: life.failed(), at_least: life.at_least };
    Lives::new(&lives.iter().map(lived).collect::<Vec<_>>())
}

/// What lives tell, or why they do not. Errors are those of a level, a shape or a chance that is out of its range.
pub fn estimate(lives: &[Life], asked: &LifeAsked) -> Result<Result<Estimate, Lack>, EngineError> {
    if lives.is_empty() {
        return Ok(Err(Lack::NoLives));
    }
    let lives = lived(lives)?;
    let failures = lives.count().failures;
    if failures == 1 {
        return Ok(Err(Lack::OneFailure));
    }
    let by_request = asked.shape.as_ref().filter(|shape| shape.from == From::Request);
    let mut why = WhyGiven::Asked;
    if by_request.is_none() {
        why = WhyGiven::FewFailures;
        if failures >= FAILURES_THAT_TELL {
            match lives.fit() {
                Ok(fit) => return fitted(&fit, asked, None).map(Ok),
                Err(EngineError::NotKnown { .. }) => why = WhyGiven::TooSteep,
                Err(other) => return Err(other),
            }
        }
    }
    let Some(shape) = &asked.shape else {
        return Ok(Err(if why == WhyGiven::TooSteep { Lack::SteepShape } else { Lack::Shape }));
    };
    if failures == 0 {
        return bounded(&lives, asked, (shape, why)).map(Ok);
    }
    let fit = lives.fit_with_shape(shape.value)?;
    fitted(&fit, asked, Some((shape.clone(), why))).map(Ok)
}

fn fitted(fit: &Fit, asked: &LifeAsked, given: Option<(Chosen, WhyGiven)>) -> Result<Estimate, EngineError> {
    let hours = |risk: &Chosen| {
        Ok(Doubted::of(fit.hours_h(risk.value)?, fit.hours_between(risk.value, asked.level)?))
    };
    Ok(Estimate {
        shape: fit.shape(),
        shape_between: fit.shape_between(asked.level)?,
        shape_given: given,
        scale_h: Doubted::of(fit.scale_h(), fit.scale_between(asked.level)?),
        hours_h: asked.risk_percent.as_ref().map(hours).transpose()?,
    })
}

fn bounded(
    lives: &Lives,
    asked: &LifeAsked,
    (shape, why): (&Chosen, WhyGiven),
) -> Result<Estimate, EngineError> {
    let bound = lives.bound_with_shape(shape.value, asked.level)?;
    let hours = |risk: &Chosen| bound.hours_at_least_h(risk.value).map(Doubted::at_least);
    Ok(Estimate {
        shape: bound.shape,
        shape_between: None,
        shape_given: Some((shape.clone(), why)),
        scale_h: Doubted::at_least(bound.scale_h),
        hours_h: asked.risk_percent.as_ref().map(hours).transpose()?,
    })
}

impl Estimate {
    /// The chance of failure by so many hours, 0 to 1; without a failure the greatest that the bound allows.
    pub fn chance(&self, hours_h: f64) -> f64 {
        let scale = self.scale_h.value.unwrap_or(self.scale_h.low);
        -(-(hours_h.max(0.0) / scale).powf(self.shape)).exp_m1()
    }
}

/// How the hours at which a kind is changed stand to what the record tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IntervalStanding {
    /// Not above the low end: on the safe side.
    Safe,
    /// Inside of the doubt, not above the likeliest: the record does not show it to be safe, nor to be too long.
    NotShown,
    /// Inside of the doubt, above the likeliest: rather too long than not.
    RatherTooLong,
    /// Above the high end: the record speaks against it.
    TooLong,
}

/// How hours of change stand to the hours at which the accepted chance is reached.
pub fn standing(change_h: f64, hours: Doubted) -> IntervalStanding {
    if change_h <= hours.low {
        IntervalStanding::Safe
    } else if hours.high.is_some_and(|high| change_h > high) {
        IntervalStanding::TooLong
    } else if hours.value.is_some_and(|value| change_h > value) {
        IntervalStanding::RatherTooLong
    } else {
        IntervalStanding::NotShown
    }
}

/// A failure in the record with the share that had failed by then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Its hours, h.
    pub hours_h: f64,
    /// The share that had failed, 0 to 1.
    pub share: f64,
}

/// The shares failed by each failure at known hours, whatever the distribution: at each the share that lives on falls by
/// the factor (n - 1)/n, n being those that had run so long unfailed (Kaplan and Meier's product limit, as in the
/// NIST/SEMATECH e-Handbook, 8.2.1.5; read). Of parts of the same hours failures come first.
pub fn marks(lives: &[Life]) -> Vec<Mark> {
    let fails = |life: &Life| life.failed() && !life.at_least;
    let mut ordered: Vec<&Life> = lives.iter().collect();
    ordered.sort_by(|a, b| a.hours_h.total_cmp(&b.hours_h).then(fails(b).cmp(&fails(a))));
    let (mut left, mut lives_on) = (ordered.iter().map(|_| 1.0).sum::<f64>(), 1.0);
    let mut marks = Vec::new();
    for life in ordered {
        if fails(life) {
            lives_on *= (left - 1.0) / left;
            marks.push(Mark { hours_h: life.hours_h, share: 1.0 - lives_on });
        }
        left -= 1.0;
    }
    marks
}
