//! A build for a person and for a script: its bore map, its figures with what the limits say, its check list.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::{FigureUnit, GapCheck, Judgement, Readiness};
use crate::advice::seat::BenchSeats;
use crate::engine::gauging::bore_map::{Axis, BoreMap};
use crate::notebook::fields::cylinder::in_words;
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{Scope, When, steps_in_words};
use crate::quantity::{Units, fixed};
use crate::report::building::bench::{GapWord, SeatPair};
use crate::report::building::figure::{BuildFigure, in_unit, length, scaled};
use crate::report::building::side_by_side::side_by_side;
use crate::report::building::steps::{StepAnswer, steps_of};
use crate::report::out::figure::Figure;
use crate::report::out::frame::{Frame, Part};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{count, first_line, table};
use crate::store::BuildRecord;

/// Steps that are told one by one; what is beyond is counted.
const NAMED: usize = 6;

/// A build: its figures with their doubt and verdict, its check list.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BuildAnswer {
    /// Folder name of the engine.
    engine: String,
    /// Identity of the build.
    id: String,
    /// When the engine was put together.
    #[schemars(with = "String")]
    date: When,
    /// How much of it was apart.
    scope: Scope,
    /// Why.
    why: Option<String>,
    /// Who built it.
    by: Option<String>,
    /// Temperature of the parts as they were measured, C; null where 20 C was assumed.
    temperature_c: Option<Figure<2>>,
    /// Whether every step is done and no figure is beyond its limits.
    ready: bool,
    /// Steps that are open before it runs.
    open: Vec<String>,
    /// Steps for after the first run that are open.
    open_after_first_run: Vec<String>,
    /// What the readings come to at 20 C.
    figures: Vec<BuildFigure>,
    /// The ring's word on the bore beside the gauge's.
    gap_checks: Vec<GapWord>,
    /// The check list in the order of work.
    steps: Vec<StepAnswer>,
    /// Bearings cold and warm.
    seats: Vec<SeatPair>,
    /// Parts that were in it as it ran, with their hours.
    parts: Vec<String>,
    /// Notes.
    notes: Option<String>,
    /// What was assumed, what is missing, what else should be known.
    remarks: Vec<String>,
    /// Its file in the garage.
    file: String,
    /// What keeps it from being ready beside steps and figures, in words.
    #[serde(skip)]
    lacks: Vec<String>,
    /// The bore at 20 C, depth by depth, of each cylinder.
    #[serde(skip)]
    bores: Vec<(Option<String>, BoreMap)>,
}

/// A build and what its readings come to.
pub struct BuildJudged<'a> {
    /// The build.
    pub record: &'a BuildRecord,
    /// Its figures.
    pub judgement: Judgement,
    /// The ring's word on the bore beside the gauge's.
    pub gap_checks: &'a [GapCheck],
    /// The bearings cold and warm, by the names of their seats.
    pub seats: &'a [(String, BenchSeats)],
    /// The parts that are in it, in words.
    pub parts: Vec<String>,
    /// How it stands.
    pub ready: Readiness,
    /// What else should be known.
    pub remarks: Vec<String>,
}

impl From<BuildJudged<'_>> for BuildAnswer {
    fn from(judged: BuildJudged<'_>) -> Self {
        let BuildJudged { record, judgement, ready, .. } = judged;
        let build = &record.build;
        Self {
            engine: record.engine.clone(),
            id: record.id.clone(),
            date: build.date,
            scope: build.scope,
            why: build.why.clone(),
            by: build.by.clone(),
            temperature_c: build.temperature.as_ref().map(|read| Figure(read.si() - 273.15)),
            ready: ready.is_ready(),
            open: ready.open,
            open_after_first_run: ready.open_after,
            figures: judgement.figures.iter().map(BuildFigure::from).collect(),
            gap_checks: judged.gap_checks.iter().map(GapWord::from).collect(),
            steps: steps_of(build),
            seats: judged.seats.iter().map(|(name, seats)| SeatPair::of(name, seats)).collect(),
            parts: judged.parts,
            notes: build.notes.clone(),
            remarks: judgement.remarks.into_iter().chain(judged.remarks).collect(),
            file: record.file.to_string_lossy().replace('\\', "/"),
            lacks: ready.lacks,
            bores: judgement.bores,
        }
    }
}

impl BuildAnswer {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut blocks = vec![self.head(screen)];
        let verbose = screen.verbose();
        if verbose {
            blocks.extend(
                self.bores.iter().map(|(cylinder, map)| bore_table(screen, cylinder.as_deref(), map)),
            );
        }
        if self.figures.is_empty() {
            blocks.push(screen.wrap(
                &format!("Nothing is measured yet: `reedbook build measure {}` asks for it.", self.engine),
                2,
            ));
        } else {
            blocks.push(if verbose { self.figure_table(screen) } else { self.beside_edges(screen) });
        }
        let checks = self.gap_checks.iter().map(|check| check.words(screen.units()));
        let seats = self.seats.iter().flat_map(|seats| seats.words(screen.units()));
        let words: Vec<_> = checks.chain(seats).collect();
        if !words.is_empty() {
            blocks.push(words.iter().map(|words| screen.wrap(words, 2)).collect::<Vec<_>>().join("\n"));
        }
        if verbose {
            blocks.push(self.check_list(screen));
        }
        if verbose && !self.parts.is_empty() {
            let lines = self.parts.iter().map(|part| screen.wrap(&format!("  {part}"), 4));
            blocks.push(format!("Parts in it then:\n{}", lines.collect::<Vec<_>>().join("\n")));
        }
        let mut last: Vec<String> =
            self.notes.iter().map(|notes| screen.wrap(&visible_lines(notes), 0)).collect();
        if !verbose {
            last.push(
                screen.dim(
                    &screen.wrap(
                        "± is twice the standard uncertainty. -v: where it was read, bore map, steps.",
                        2,
                    ),
                ),
            );
        }
        if !last.is_empty() {
            blocks.push(last.join("\n"));
        }
        blocks.join("\n\n")
    }

    /// What must be known of it, behind the first line.
    fn known(&self, units: Units) -> Vec<String> {
        let undecided = self.figures.iter().filter(|figure| !figure.is_good() && !figure.is_beyond());
        let mut known: Vec<String> = undecided.map(|figure| figure.in_words(units)).collect();
        if !self.open.is_empty() {
            known.push(format!("Open before it runs: {}.", steps_in_words(&self.open, NAMED)));
        }
        if !self.open_after_first_run.is_empty() {
            known.push(format!(
                "{} open for after the first run (-v).",
                count(self.open_after_first_run.len(), "step")
            ));
        }
        known.extend(self.remarks.iter().cloned());
        known
    }

    /// The figures in columns, each beside the edges it is held against; those of several cylinders side by side first.
    fn beside_edges(&self, screen: &Screen) -> String {
        let of_cylinders = side_by_side(screen, &self.figures);
        let of_all: Vec<_> = self.figures.iter().filter(|figure| figure.cylinder.is_none()).collect();
        let of_all = (!of_all.is_empty()).then(|| Self::of_all(screen, &of_all));
        of_cylinders.into_iter().chain(of_all).collect::<Vec<_>>().join("\n\n")
    }

    fn of_all(screen: &Screen, figures: &[&BuildFigure]) -> String {
        let units = screen.units();
        let rows = figures.iter().map(|figure| {
            let expanded = figure.expanded_uncertainty.0;
            let (_, size, decimals) = scaled(figure.sort, units, expanded);
            let name = figure.name(units);
            let [good, replace] = figure.edges_words(units);
            vec![
                name,
                fixed(figure.value.0 / size, decimals),
                fixed(expanded / size, decimals),
                good,
                replace,
                figure.verdict_in_short(),
            ]
        });
        let (symbol, _, _) = scaled(FigureUnit::Length, units, 0.0);
        let head = [&*format!("at 20 C, {symbol}"), "read", "±", "good", "replace", ""];
        table(&head, rows.collect(), &[1, 2], screen.width())
    }

    fn title(&self) -> String {
        let by = self.by.as_deref().map(|by| format!(" by {}", first_line(by))).unwrap_or_default();
        let state = match self.lacks.as_slice() {
            [] if self.ready => "ready".to_owned(),
            [] => "NOT READY".to_owned(),
            lacks => format!("NOT READY, {}", lacks.join(", ")),
        };
        format!("{}, {}, {}{by}: {state}", self.engine, self.scope.words(), self.date.short())
    }

    /// For a page: what must not run first, then what must be known, then the figures.
    pub(in crate::report) fn on_a_page(&self, screen: &Screen) -> Vec<Part> {
        let units = screen.units();
        let mut frame = Frame::new(screen);
        let beyond = self.figures.iter().filter(|figure| figure.is_beyond());
        beyond.for_each(|figure| frame.stop(&figure.in_words(units)));
        frame.hands(&self.title());
        self.why.iter().for_each(|why| frame.say(&first_line(why)));
        self.known(units).iter().for_each(|known| frame.know(known));
        if !self.figures.is_empty() {
            frame.block(self.beside_edges(screen));
            frame.source("± is twice the standard uncertainty.");
        }
        self.gap_checks.iter().for_each(|check| frame.say(&check.words(units)));
        self.seats.iter().flat_map(|seats| seats.words(units)).for_each(|words| frame.say(&words));
        self.notes.iter().for_each(|notes| frame.say(&visible_lines(notes)));
        frame.parts()
    }

    fn head(&self, screen: &Screen) -> String {
        let mut lines = vec![screen.strong(&screen.wrap(&self.title(), 2))];
        if let Some(why) = &self.why {
            lines.push(screen.wrap(&format!("  {}", first_line(why)), 2));
        }
        if screen.verbose() {
            lines.push(format!("  build {}", self.id));
            lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
            return lines.join("\n");
        }
        let units = screen.units();
        let beyond = self.figures.iter().filter(|figure| figure.is_beyond());
        let stops = beyond.map(|figure| screen.wrap(&format!("!! {}", figure.in_words(units)), 3));
        lines.extend(stops.map(|line| screen.alarm(&line)));
        lines.extend(self.known(units).iter().map(|known| screen.known(known)));
        lines.join("\n")
    }

    fn figure_table(&self, screen: &Screen) -> String {
        let units = screen.units();
        let rows = self.figures.iter().map(|figure| {
            let expanded = figure.expanded_uncertainty.0;
            let (_, size, decimals) = scaled(figure.sort, units, expanded);
            vec![
                figure.words.clone(),
                figure.value_words(units),
                fixed(expanded / size, decimals),
                figure.verdict_words(units),
                figure.at.as_deref().map(visible).unwrap_or_default(),
            ]
        });
        let head = ["at 20 C", "measured", "±", "verdict", "where"];
        let text = table(&head, rows.collect(), &[1, 2], screen.width());
        format!("{text}\n± is twice the standard uncertainty: gauge, setting and temperature together.")
    }

    fn check_list(&self, screen: &Screen) -> String {
        let steps = &self.steps;
        if steps.is_empty() {
            return "No check list.".into();
        }
        let done = steps.iter().filter(|step| step.done.is_some()).count();
        let left_out = steps.iter().filter(|step| step.left_out.is_some()).count();
        let mut text = format!("Check list: {done} of {} done", count(steps.len(), "step"));
        if left_out > 0 {
            text.push_str(&format!(", {left_out} left out"));
        }
        if !self.open.is_empty() {
            text.push_str(&format!("; open: {}", steps_in_words(&self.open, NAMED)));
        }
        if !self.open_after_first_run.is_empty() {
            text.push_str(&format!(
                "; after the first run: {}",
                steps_in_words(&self.open_after_first_run, NAMED)
            ));
        }
        screen.wrap(&text, 2)
    }
}

fn bore_table(screen: &Screen, cylinder: Option<&str>, map: &BoreMap) -> String {
    let title =
        cylinder.map_or_else(|| "bore at 20 C".to_owned(), |name| format!("{} bore at 20 C", in_words(name)));
    let units = screen.units();
    let used: Vec<Axis> = Axis::ALL
        .into_iter()
        .filter(|axis| map.levels().iter().any(|level| level.readings.iter().any(|(on, _)| on == axis)))
        .collect();
    let rows = map.levels().iter().map(|level| {
        let mut row = vec![
            format!("  {}", visible(&level.name)),
            in_unit(level.depth_m / 1e-3, FigureUnit::Length, units, 1e3),
        ];
        row.extend(used.iter().map(|axis| {
            let read = level.readings.iter().find(|(on, _)| on == axis);
            read.map_or_else(|| "-".into(), |(_, size)| length(size.value() / 1e-3, units))
        }));
        row
    });
    let head: Vec<&str> =
        [title.as_str(), "depth"].into_iter().chain(used.iter().map(|axis| axis.name())).collect();
    let right: Vec<usize> = (1..head.len()).collect();
    table(&head, rows.collect(), &right, screen.width())
}
