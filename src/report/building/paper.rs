//! A build as it stands on paper: for the builder, or for a customer, who gets nothing of the sections that are not handed over, and
//! no notes, reasons or words of steps.

use crate::advice::building::{FigureUnit, kind_of};
use crate::engine::gauging::edges::{Grade, Judged};
use crate::notebook::fields::names::{in_words, visible};
use crate::quantity::{Units, fixed};
use crate::report::building::build::BuildAnswer;
use crate::report::building::figure::{BuildFigure, scaled};
use crate::report::building::steps::StepAnswer;
use crate::report::out::frame::FramePart;
use crate::report::words::layout::{capital, count, first_line};

/// A build on paper.
pub(in crate::report) struct BuildOnPaper {
    /// What was apart, when and by whom.
    pub(in crate::report) title: String,
    /// Whether it is ready, and what it lacks.
    pub(in crate::report) state: String,
    /// Why it was built.
    pub(in crate::report) why: Option<String>,
    /// Why it is not ready, and what must be known before it runs.
    pub(in crate::report) before: Vec<FramePart>,
    /// The unit of lengths.
    pub(in crate::report) unit: &'static str,
    /// The readings.
    pub(in crate::report) figures: Vec<PaperFigure>,
    /// What ring and bearings say beside them.
    pub(in crate::report) beside: Vec<String>,
    /// The check lists by their titles.
    pub(in crate::report) lists: Vec<(String, Vec<PaperStep>)>,
    /// The parts that were in it.
    pub(in crate::report) parts: Vec<String>,
    /// Notes.
    pub(in crate::report) notes: Option<String>,
}

/// A reading on paper.
pub(in crate::report) struct PaperFigure {
    /// Its name with its unit, where that is no length.
    pub(in crate::report) name: String,
    /// Where it was read.
    pub(in crate::report) at: Option<String>,
    /// Its value and twice its standard uncertainty.
    pub(in crate::report) read: [String; 2],
    /// What it is good between, and beyond what it is replaced.
    pub(in crate::report) edges: [String; 2],
    /// What the limits say.
    pub(in crate::report) verdict: String,
    /// The mark of that.
    pub(in crate::report) mark: &'static str,
    /// As it is drawn; none without limits.
    pub(in crate::report) strip: Option<Strip>,
}

/// A reading between its limits, in one unit.
pub(in crate::report) struct Strip {
    /// Replace under it, watch under it, watch over it, replace over it.
    pub(in crate::report) edges: [Option<f64>; 4],
    /// The reading, and how far it may be off.
    pub(in crate::report) value: f64,
    pub(in crate::report) doubt: f64,
}

/// A step on paper.
pub(in crate::report) struct PaperStep {
    /// Done, left out, or none of both.
    pub(in crate::report) stands: Stands,
    /// Its name.
    pub(in crate::report) name: String,
    /// The cylinders at which it stands alike, where it is one of several.
    pub(in crate::report) at: Vec<String>,
    /// What was, or is to be, done.
    pub(in crate::report) words: String,
    /// What can hurt, of one that is open.
    pub(in crate::report) caution: Option<String>,
    /// What is to be written down with the pen.
    pub(in crate::report) wants: Vec<&'static str>,
}

/// How a step stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::report) enum Stands {
    /// To be done.
    Open,
    /// Done.
    Done,
    /// Left out.
    LeftOut,
}

/// What a reading's mark means.
pub(in crate::report) const MARKS: &str = "● good, ▲ watch, ■ replace, ◆ too close to call";

impl BuildOnPaper {
    /// For the builder, or for a customer without these sections.
    pub(in crate::report) fn of(answer: &BuildAnswer, units: Units, without: Option<&[&str]>) -> Self {
        let is_told = |figure: &&BuildFigure| {
            let section = kind_of(figure.figure).map(crate::advice::building::FigureKind::section);
            without.is_none_or(|left_out| section.is_some_and(|section| !left_out.contains(&section)))
        };
        let whole = without.is_none();
        let by = answer.by.as_deref().filter(|_| whole);
        let by = by.map(|by| format!(", by {}", first_line(by))).unwrap_or_default();
        // As loud as on the bike's own sheet, and once.
        // What can hurt who rides it is no secret.
        let change = answer.change_first.iter().cloned().map(FramePart::Stop);
        let look = answer.look_first.iter();
        let others = answer.remarks.iter().filter(|remark| whole && answer.overdue.as_ref() != Some(*remark));
        let remarks = look.chain(others).cloned().map(FramePart::Know);
        let before = change.chain(answer.not_ready_because(units, is_told, whole)).chain(remarks);
        let checks = answer.gap_checks.iter().map(|check| check.words(units));
        let seats = answer.seats.iter().flat_map(|seats| seats.words(units));
        Self {
            title: format!("{}, {}{by}", answer.apart, answer.date.short()),
            state: match answer.state() {
                // No sheet says in large letters that it is ready, and under them that it is not.
                _ if answer.ready && !answer.change_first.is_empty() => "change parts first".to_owned(),
                state => state,
            },
            why: answer.why.as_deref().filter(|_| whole).map(first_line),
            before: before.collect(),
            unit: scaled(FigureUnit::Length, units, 0.0).0,
            figures: answer
                .figures
                .iter()
                .filter(is_told)
                .map(|figure| PaperFigure::of(figure, units))
                .collect(),
            beside: checks.chain(seats).collect(),
            lists: lists(answer, whole),
            parts: answer.parts.clone(),
            notes: answer.notes.clone().filter(|_| whole),
        }
    }
}

/// What is left out of a page for a customer, in words.
pub(in crate::report) fn left_out(answer: &BuildAnswer, without: &[&str]) -> Vec<String> {
    let is_left_out =
        |figure: &&BuildFigure| kind_of(figure.figure).is_some_and(|kind| without.contains(&kind.section()));
    let mut names: Vec<&str> = Vec::new();
    for figure in answer.figures.iter().filter(is_left_out) {
        if !names.contains(&figure.of_all.as_str()) {
            names.push(&figure.of_all);
        }
    }
    let readings = (!names.is_empty()).then(|| format!("readings: {}", names.join(", ")));
    let sections = if without.len() == 1 { "the section" } else { "the sections" };
    let mut said = vec![format!("{sections} {}", without.join(", "))];
    said.extend(readings);
    said.push("notes, reasons, remarks, marks, what the steps say".to_owned());
    said
}

impl PaperFigure {
    fn of(figure: &BuildFigure, units: Units) -> Self {
        let expanded = figure.expanded_uncertainty.0;
        let (_, size, decimals) = scaled(figure.sort, units, expanded);
        let cylinder = figure.cylinder.as_deref().map(|name| format!("{} ", in_words(name)));
        let limits = &figure.limits;
        let edges = [limits.least, limits.watch_below, limits.watch_above, limits.most];
        let strip = Strip {
            edges: edges.map(|edge| edge.map(|edge| edge.0)),
            value: figure.value.0,
            doubt: expanded,
        };
        Self {
            name: format!("{}{}", cylinder.unwrap_or_default(), figure.name(units)),
            at: figure.at.as_deref().map(visible),
            read: [fixed(figure.value.0 / size, decimals), fixed(expanded / size, decimals)],
            edges: figure.edges_words(units),
            verdict: figure.verdict_in_short(),
            mark: match figure.verdict.map(|verdict| verdict.0) {
                None => "",
                Some(Judged::Is(Grade::Good)) => "●",
                Some(Judged::Is(Grade::Watch(_))) => "▲",
                Some(Judged::Is(Grade::Replace(_))) => "■",
                Some(Judged::TooClose { .. }) => "◆",
            },
            strip: Some(strip).filter(|strip| strip.edges.iter().any(Option::is_some)),
        }
    }
}

fn lists(answer: &BuildAnswer, whole: bool) -> Vec<(String, Vec<PaperStep>)> {
    let mut lists: Vec<(String, Vec<PaperStep>)> = Vec::new();
    let mut own = 0;
    let mut steps = answer.steps.iter().peekable();
    while let Some(step) = steps.next() {
        // What stands alike at several cylinders is said once, with a box for each.
        let mut at: Vec<String> = cylinder_of(step).into_iter().collect();
        while let Some(other) = steps.next_if(|other| !at.is_empty() && step.is_alike(other)) {
            at.extend(cylinder_of(other));
        }
        if !whole && step.list.is_none() {
            // What somebody added to the list is in their own words.
            own += usize::from(step.open) * at.len().max(1);
            continue;
        }
        let title = step.list_title();
        let paper = PaperStep { at, ..PaperStep::of(step, answer, whole) };
        match lists.last_mut().filter(|(last, _)| *last == title) {
            Some((_, steps)) => steps.push(paper),
            None => lists.push((title, vec![paper])),
        }
    }
    if own > 0 {
        lists.push((format!("{} of the builder's own open", count(own, "step")), Vec::new()));
    }
    lists
}

/// The cylinder of a step of one of several.
fn cylinder_of(step: &StepAnswer) -> Option<String> {
    step.step.rsplit_once('.').map(|(cylinder, _)| visible(cylinder))
}

impl PaperStep {
    fn of(step: &StepAnswer, build: &BuildAnswer, whole: bool) -> Self {
        let says = step.says.as_deref().filter(|_| whole).map(visible);
        let mut wants = Vec::new();
        if step.open {
            wants.extend(step.wants.contains("torque").then_some("torque"));
            wants.extend(step.wants.contains("mark").then_some("mark"));
        }
        let (stands, words) = match (&step.left_out, step.done) {
            (Some(why), _) if whole => (Stands::LeftOut, format!("left out: {}", visible(why))),
            (Some(_), _) => (Stands::LeftOut, "left out".to_owned()),
            (None, None) => (Stands::Open, says.unwrap_or_default()),
            (None, Some(done)) => {
                // What is as it is for the whole build is said at its head.
                let day = Some(done.day()).filter(|day| *day != build.date.day());
                let by = step
                    .by
                    .clone()
                    .filter(|by| whole && build.by.as_ref() != Some(by))
                    .map(|by| visible(&by));
                // A mark is in the words of whoever put it on.
                let mark =
                    step.mark.as_deref().map(|mark| if whole { visible(mark) } else { "marked".to_owned() });
                let typed = [step.torque.as_deref().map(visible), mark];
                let note =
                    step.note.as_deref().filter(|_| whole).map(|note| format!("\"{}\"", visible(note)));
                let said = [day, by].into_iter().chain(typed).chain([note]).flatten();
                (Stands::Done, said.collect::<Vec<_>>().join(", "))
            }
        };
        let name = visible(step.of_all()).replace('-', " ");
        Self {
            stands,
            name: capital(&name),
            at: Vec::new(),
            words,
            // What can hurt is told to everybody.
            caution: step.caution.as_deref().filter(|_| step.open).map(visible),
            wants,
        }
    }
}
