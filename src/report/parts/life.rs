//! How long a kind of part lives: the lives on record, the fit and what it is worth.

use serde_json::{Value as Json, json};

use crate::advice::parts::life::{
    Asked, Chosen, Doubted, End, Estimate, FAILURES_THAT_TELL, From, Lack, Life, Record, Standing, WhyGiven,
    marks, standing,
};
use crate::engine::life::Count;
use crate::notebook::fields::names::visible;
use crate::quantity::{Hours, fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::draw::plot::{Curve, Plot, real};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{count, first_line, table};

/// Said with every estimate.
const CAUTION: &str = "A part can let go at any hours and without a sign, lock the wheel and throw the rider. Never run one longer on the word of this than your limit, the machine's manual or its maker says, and take out at once what looks, sounds or feels wrong.";

/// What the record cannot know of itself.
const ABOUT_TO_FAIL: &str =
    "A part that was changed because it was about to fail is a failure: write it down as one.";

/// Rows of a drawing.
const ROWS: usize = 16;
/// Points of a curve.
const POINTS: usize = 200;

/// The lives of a kind of part.
pub struct LifeReport<'a> {
    /// The kind.
    pub kind: &'a str,
    /// The engine, where only its lives were asked for.
    pub engine: Option<&'a str>,
    /// The lives.
    pub record: &'a Record,
    /// What they rest on.
    pub count: Count,
    /// What was asked.
    pub asked: &'a Asked,
    /// What the lives tell.
    pub estimate: &'a Result<Estimate, Lack>,
    /// Hours at which configs/limits.toml changes the kind.
    pub change_after: Option<&'a Hours>,
    /// Part files that cannot be read, with what is wrong.
    pub unreadable: &'a [String],
    /// Whether the chance of failure is drawn.
    pub drawn: bool,
}

/// Hours for reading: "9.1 h", "140 h".
pub(super) fn hours(hours_h: f64) -> String {
    format!("{} h", fixed(hours_h, usize::from(hours_h.abs() < 99.95)))
}

impl Doubted {
    /// "21.0 h (17.2 to 29.1 h)", "at least 14.0 h".
    fn words(self) -> String {
        let between = match self.high {
            Some(high) => format!("{} to {}", fixed(self.low, 1), hours(high)),
            None => format!("at least {}", hours(self.low)),
        };
        self.value.map_or(between.clone(), |value| format!("{} ({between})", hours(value)))
    }

    /// The interval alone: "17.2 to 29.1 h".
    fn allowed(self) -> String {
        Self { value: None, ..self }.words()
    }

    fn json(self) -> Json {
        json!({
            "value": self.value.map(|value| rounded(value, 3)),
            "low": rounded(self.low, 3),
            "high": self.high.map(|high| rounded(high, 3)),
        })
    }
}

/// "5 %".
fn percent(share: f64) -> String {
    format!("{} %", trimmed(share, 2))
}

fn chosen_json(chosen: &Chosen, name: &str) -> Json {
    let (from, source) = match &chosen.from {
        From::Request => ("request", None),
        From::Limits(source) => ("limits", source.as_deref()),
    };
    json!({ name: rounded(chosen.value, 4), "from": from, "source": source })
}

impl LifeReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let estimate = self.estimate.as_ref().ok();
        let shape = |known: &Estimate| {
            let given = known.shape_given.as_ref();
            json!({
                "value": rounded(known.shape, 4),
                "low": known.shape_between.map(|between| rounded(between.low, 4)),
                "high": known.shape_between.and_then(|between| Some(rounded(between.high?, 4))),
                "given": given.map(|(chosen, _)| chosen_json(chosen, "value")),
            })
        };
        json!({
            "kind": self.kind,
            "engine": self.engine,
            "engines": self.by_engine().iter().map(|(engine, lives)| json!({ "engine": engine, "lives": lives })).collect::<Vec<_>>(),
            "failures": self.count.failures,
            "unfailed": self.unfailed(),
            "failed_at_unknown_hours": self.count.failed_at_unknown_hours,
            "hours_at_least": self.at_least(),
            "failed_without_hours": self.record.failed_without_hours.iter().map(called).collect::<Vec<_>>(),
            "never_ran": self.record.never_ran.len(),
            "level_percent": rounded(self.asked.level * 100.0, 3),
            "shape": estimate.map(shape),
            "characteristic_h": estimate.map(|known| known.scale_h.json()),
            "risk": self.asked.risk_percent.as_ref().map(|risk| chosen_json(risk, "percent")),
            "hours_at_risk_h": estimate.and_then(|known| known.hours_h).map(Doubted::json),
            "change_after_h": self.change_h().map(|change| rounded(change, 3)),
            "standing": self.standing().map(standing_name),
            "conclusion": self.conclusion(),
            "lives": self.record.lives.iter().map(life_json).collect::<Vec<_>>(),
            "marks": marks(&self.record.lives).iter().map(|mark| json!({ "hours_h": rounded(mark.hours_h, 3), "share": rounded(mark.share, 4) })).collect::<Vec<_>>(),
            "notes": self.notes(),
            "cautions": self.cautions(),
            "unreadable": self.unreadable,
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let place = self.engine.map(|engine| format!(" in {engine}")).unwrap_or_default();
        let lives = self.record.lives.len();
        let failed = self.count.failures + self.count.failed_at_unknown_hours;
        let lives = if lives == 1 { "1 life".to_owned() } else { format!("{lives} lives") };
        let heading = format!("{}{place}: {lives}, {failed} failed, {} unfailed", self.kind, self.unfailed());
        let mut lines = vec![screen.strong(&heading), String::new()];
        lines.extend(
            self.figures().iter().map(|(name, words)| screen.wrap(&format!("  {name:<26}{words}"), 28)),
        );
        if let Err(lack) = self.estimate
            && *lack != Lack::OneFailure
        {
            lines.push(screen.wrap(&self.lacking(*lack), 2));
        }
        lines.push(String::new());
        if let Some(conclusion) = self.conclusion() {
            lines.extend([screen.wrap(&conclusion, 2), String::new()]);
        }
        if self.drawn
            && let Some(drawing) = self.drawing(screen)
        {
            lines.extend([drawing, String::new()]);
        }
        if !self.record.lives.is_empty() {
            lines.extend([self.table(screen), String::new()]);
        }
        lines.extend(self.notes().iter().map(|note| screen.wrap(&format!("note: {note}"), 6)));
        lines.extend(self.cautions().iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.join("\n").trim_end().to_owned()
    }

    /// Figures with their names.
    fn figures(&self) -> Vec<(String, String)> {
        let mut told = Vec::new();
        if let Ok(known) = self.estimate {
            let shape = match known.shape_between {
                Some(between) => {
                    let high = between.high.map_or("any".to_owned(), |high| fixed(high, 1));
                    format!("{} ({} to {high})", fixed(known.shape, 1), fixed(between.low, 1))
                }
                None => format!("{} (given)", trimmed(known.shape, 2)),
            };
            told.push(("shape of failing".to_owned(), shape));
            told.push(("63 % have failed by".to_owned(), known.scale_h.words()));
            if let (Some(risk), Some(hours)) = (&self.asked.risk_percent, known.hours_h) {
                told.push((format!("{} have failed by", percent(risk.value)), hours.words()));
            }
        }
        if let Some(change) = self.change_after {
            told.push((
                "changed at".to_owned(),
                format!("{} (configs/limits.toml)", change.quantity().with_unit()),
            ));
        }
        told
    }

    fn change_h(&self) -> Option<f64> {
        self.change_after.map(|change| change.si() / 3600.0)
    }

    fn standing(&self) -> Option<Standing> {
        let hours = self.estimate.as_ref().ok()?.hours_h?;
        Some(standing(self.change_h()?, hours))
    }

    /// What the record says of the hours at which the kind is changed.
    fn conclusion(&self) -> Option<String> {
        if *self.estimate == Err(Lack::OneFailure) {
            return Some(self.one_failure());
        }
        let known = self.estimate.as_ref().ok()?;
        let (Some(risk), Some(reached)) = (&self.asked.risk_percent, known.hours_h) else {
            return Some(format!(
                "Which chance of failure is accepted is said nowhere, so it is not told by which hours it is reached: say --risk 5%, or risk in [parts.{}] of configs/limits.toml.",
                self.kind
            ));
        };
        let risk = percent(risk.value);
        let (Some(change), Some(standing)) = (self.change_after, self.standing()) else {
            return Some(format!(
                "The record alone would allow {} for {risk}. configs/limits.toml sets no hours at which this kind is changed: go by what is measured and seen, and by the manual.",
                reached.allowed()
            ));
        };
        let change = format!("Changed at {}", change.quantity().with_unit());
        let allowed = reached.allowed();
        let shorter = format!("{} would be on its safe side", hours(reached.low));
        let none = self.count.failures == 0;
        let few = self.count.failures < FAILURES_THAT_TELL;
        Some(match (standing, few) {
            (Standing::Safe, true) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: the limit is on the safe side, and there are too few failures to stretch it."
            ),
            (Standing::Safe, false) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: the limit is on the safe side. That is no leave to stretch it: hours are the only warning here, and the record is small."
            ),
            (Standing::NotShown, _) if none => format!(
                "{change}; without a failure yet the record vouches for {} at {risk} and no more: there are too few hours on it to show the limit to be safe, and none to stretch it.",
                hours(reached.low)
            ),
            (Standing::NotShown, true) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: too few failures to stretch it, and they do not show it to be safe either; {shorter}."
            ),
            (Standing::NotShown, false) => format!(
                "{change}; the record alone would allow {allowed} for {risk}: it does not show the limit to be safe; {shorter}. No ground to stretch it."
            ),
            (Standing::RatherTooLong, _) => format!(
                "{change}; the record puts {risk} at {}: the limit is more likely too long than not. Shorten it; {shorter}.",
                reached.words()
            ),
            (Standing::TooLong, _) => format!(
                "{change}; the record puts {risk} at {}: the limit is too long. Shorten it; {shorter}.",
                reached.words()
            ),
        })
    }

    /// One part that failed says that they do, and not after how many hours.
    fn one_failure(&self) -> String {
        let failed = self.record.lives.iter().find(|life| life.failed() && !life.at_least);
        let failed_h = failed.map_or(0.0, |life| life.hours_h);
        let at = hours(failed_h);
        match (self.change_after, self.change_h()) {
            (Some(change), Some(change_h)) => {
                let change = change.quantity().with_unit();
                let early = if failed_h < change_h {
                    format!(", and that one failed before it: find out why before another one runs {at}")
                } else {
                    String::new()
                };
                format!("Too few: one failure, at {at}, sets no new limit. It stays at {change}{early}.")
            }
            _ => format!(
                "Too few: one failure, at {at}, sets no limit. Go by what is measured and seen, and by the manual."
            ),
        }
    }

    fn lacking(&self, lack: Lack) -> String {
        let way = format!("say --shape 3, or shape in [parts.{}] of configs/limits.toml", self.kind);
        match lack {
            Lack::OneFailure => self.one_failure(),
            Lack::NoLives => "No part of this kind has hours in the book yet: log outings with --hours, or say past_hours of the parts.".to_owned(),
            Lack::Shape => format!("Not told: {} at known hours {} too few to show how failures bunch, {FAILURES_THAT_TELL} are needed. With a shape the record tells something now: {way}.", count(self.failures(), "failure"), if self.failures() == 1 { "is" } else { "are" }),
            Lack::SteepShape => format!("Not told: no part outlived the failures by enough, so any steep shape fits. With a shape it can be told: {way}."),
        }
    }

    fn failures(&self) -> usize {
        self.record.lives.iter().filter(|life| life.failed() && !life.at_least).count()
    }

    fn unfailed(&self) -> usize {
        self.record.lives.iter().filter(|life| !life.failed()).count()
    }

    fn at_least(&self) -> usize {
        self.record.lives.iter().filter(|life| life.at_least).count()
    }

    /// Engines with how many lives each has, the most first; parts that were in none are not among them.
    fn by_engine(&self) -> Vec<(&str, usize)> {
        let mut found: Vec<(&str, usize)> = Vec::new();
        for engine in self.record.lives.iter().filter_map(|life| life.engine.as_deref()) {
            match found.iter_mut().find(|(name, _)| *name == engine) {
                Some((_, lives)) => *lives += 1,
                None => found.push((engine, 1)),
            }
        }
        found.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
        found
    }

    fn notes(&self) -> Vec<String> {
        let mut notes = self.notes_on_the_record();
        let Ok(known) = self.estimate else {
            notes.extend((*self.estimate == Err(Lack::OneFailure)).then(|| ABOUT_TO_FAIL.to_owned()));
            return notes;
        };
        if let Some((chosen, why)) = &known.shape_given {
            notes.push(self.shape_note(chosen, *why));
        }
        let level = percent(self.asked.level * 100.0);
        notes.push(if self.count.failures == 0 {
            format!("Without a failure there is only a lower bound, at {level} confidence.")
        } else {
            format!("In brackets: {level} intervals by likelihood. From few failures they hold a little less often than that, and their low end flatters the part.")
        });
        let longest = self.record.lives.last().map_or(0.0, |life| life.hours_h);
        if known.hours_h.is_some_and(|hours| hours.value.unwrap_or(hours.low) > longest) {
            notes.push(format!(
                "No part has run longer than {}: beyond that nothing is on record.",
                hours(longest)
            ));
        }
        notes.push(ABOUT_TO_FAIL.to_owned());
        notes
    }

    /// What was counted, and what not.
    fn notes_on_the_record(&self) -> Vec<String> {
        let mut notes = Vec::new();
        let engines = self.by_engine();
        if engines.len() > 1 {
            let told: Vec<_> = engines.iter().map(|(engine, lives)| format!("{engine} {lives}")).collect();
            notes.push(format!(
                "Pooled over engines that may treat their parts differently ({}); --engine keeps to one.",
                told.join(", ")
            ));
        }
        if self.at_least() > 0 {
            notes.push(format!(
                "{} counted with at least the hours shown, as more are not known.",
                count_of(self.at_least())
            ));
        }
        if self.count.failed_at_unknown_hours > 0 {
            notes.push(format!("Of these {} failed; it only counts that {} lived so long, which flatters the part. Say the hours with the failure where you know them.", self.count.failed_at_unknown_hours, if self.count.failed_at_unknown_hours == 1 { "it" } else { "they" }));
        }
        let before = self.record.lives.iter().filter(|life| life.begun_before).count();
        if before > 0 {
            notes.push(format!("{} begun before this book. Parts that failed before it are not in it, which flatters the part.", count_of(before)));
        }
        if !self.record.never_ran.is_empty() {
            notes.push(format!(
                "{} left out, with no hours in the book.",
                count_of(self.record.never_ran.len())
            ));
        }
        notes.extend(
            self.unreadable
                .iter()
                .map(|finding| format!("left out, as it cannot be read: {}", visible(finding))),
        );
        notes
    }

    fn shape_note(&self, chosen: &Chosen, why: WhyGiven) -> String {
        let whose = match &chosen.from {
            From::Request => "that of --shape".to_owned(),
            From::Limits(Some(source)) => format!("that of configs/limits.toml ({})", visible(source)),
            From::Limits(None) => "that of configs/limits.toml, which names no source".to_owned(),
        };
        let because = match why {
            WhyGiven::Asked => String::new(),
            WhyGiven::FewFailures => format!(
                ": {} at known hours cannot tell it, {FAILURES_THAT_TELL} can",
                count(self.failures(), "failure")
            ),
            WhyGiven::TooSteep => ": no part outlived the failures by enough to tell it".to_owned(),
        };
        format!("The shape is {whose}{because}. How wrong it may be is in no interval.")
    }

    fn cautions(&self) -> Vec<String> {
        let lost = &self.record.failed_without_hours;
        let missing = (!lost.is_empty()).then(|| {
            let names: Vec<_> = lost.iter().map(called).collect();
            format!("Failed and left out, as no hours of them are in the book: {}. Every failure that is missing makes the kind look better than it is. Write the hours in at the failure (hours = \"4 h\" in the part's file).", names.join(", "))
        });
        let told = self.estimate.is_ok() || *self.estimate == Err(Lack::OneFailure);
        missing.into_iter().chain(told.then(|| CAUTION.to_owned())).collect()
    }

    fn table(&self, screen: &Screen) -> String {
        let row = |life: &Life| {
            let at_least = if life.at_least { "at least " } else { "" };
            vec![called(life), format!("{at_least}{}", fixed(life.hours_h, 1)), ended(life)]
        };
        let rows = self.record.lives.iter().map(row).collect();
        table(&["part", "hours", "how it ended"], rows, &[1], screen.width())
    }

    /// The chance of failure over the hours, with the failures marked.
    fn drawing(&self, screen: &Screen) -> Option<String> {
        let known = self.estimate.as_ref().ok()?;
        let reached = known.hours_h.map(|hours| hours.value.unwrap_or(hours.low));
        let longest = self.record.lives.last().map_or(0.0, |life| life.hours_h);
        let last = [reached, self.change_h()].into_iter().flatten().fold(longest, f64::max) * 1.05;
        let at = |index: usize| last * real(index) / real(POINTS);
        let curve = (0..=POINTS).map(|index| (at(index), 100.0 * known.chance(at(index)))).collect();
        let bound = known.scale_h.value.is_none();
        let name = if bound { "greatest chance without a failure" } else { "fitted" };
        let mut curves = vec![Curve { mark: 'o', name: name.to_owned(), points: curve }];
        let failed = marks(&self.record.lives);
        if !failed.is_empty() {
            // Between two marks there is no line.
            let points =
                failed.iter().flat_map(|mark| [(mark.hours_h, 100.0 * mark.share), (f64::NAN, f64::NAN)]);
            curves.push(Curve {
                mark: 'X',
                name: "failures (Kaplan-Meier)".to_owned(),
                points: points.collect(),
            });
        }
        let mut uprights = Vec::new();
        if let (Some(reached), Some(risk)) = (reached, &self.asked.risk_percent) {
            uprights.push((reached, format!("{} at {}", percent(risk.value), hours(reached))));
        }
        uprights.extend(self.change_h().map(|change| (change, format!("changed at {}", hours(change)))));
        let plot = Plot { x_name: "hours", y_name: "chance of failure, %", curves, uprights };
        Some(plot.text(screen.width(), ROWS))
    }
}

/// "1 life is", "3 lives are".
fn count_of(lives: usize) -> String {
    if lives == 1 { "1 life is".to_owned() } else { format!("{lives} lives are") }
}

/// A part's name, and which of its lives.
fn called(life: &Life) -> String {
    if life.number == 1 { life.part.clone() } else { format!("{}, life {}", life.part, life.number) }
}

fn ended(life: &Life) -> String {
    let date = life.ended.map(|date| format!(" {}", date.day())).unwrap_or_default();
    match (life.end, &life.engine) {
        (End::Failed, _) => {
            let how = life.how.as_deref().map(|how| format!(": {}", first_line(how))).unwrap_or_default();
            format!("failed{date}{how}")
        }
        (End::InEngine, Some(engine)) => format!("runs in {engine}"),
        (End::Kept, _) if life.ended.is_some() => format!("taken out{date}, kept"),
        (end, _) => format!("{}{date}", end.word()),
    }
}

fn standing_name(standing: Standing) -> &'static str {
    match standing {
        Standing::Safe => "safe-side",
        Standing::NotShown => "not-shown-safe",
        Standing::RatherTooLong => "rather-too-long",
        Standing::TooLong => "too-long",
    }
}

fn life_json(life: &Life) -> Json {
    json!({
        "part": life.part,
        "life": life.number,
        "engine": life.engine,
        "hours_h": rounded(life.hours_h, 3),
        "at_least": life.at_least,
        "end": life.end.word(),
        "date": life.ended.map(|date| date.to_string()),
        "how": life.how,
    })
}
