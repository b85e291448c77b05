//! A build for a person and for a script: its bore map, its figures with what the limits say, its check list.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::{FigureUnit, Whole};
use crate::engine::gauging::bore_map::{BoreAxis, BoreMap};
use crate::notebook::fields::names::{in_words, visible, visible_lines};
use crate::notebook::{Scope, When, steps_in_words};
use crate::quantity::{Units, fixed};
use crate::report::building::bench::{GapWord, SeatPair};
use crate::report::building::figure::{BuildFigure, in_unit, length, scaled};
use crate::report::building::side_by_side::side_by_side;
use crate::report::building::steps::{StepAnswer, StepToDo, steps_of};
use crate::report::out::figure::Figure;
use crate::report::out::frame::{Frame, FramePart, FrameTable};
use crate::report::out::glue::GLUE;
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::report::words::layout::{count, first_line, table};

/// Steps that are told one by one; what is beyond is counted.
const NAMED: usize = 6;

/// Figures without a limit that stand in the table; more are said in one sentence.
const MOST_WITHOUT_LIMIT: usize = 2;

/// A build: its figures with their doubt and verdict, its check list.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BuildAnswer {
    /// Folder name of the engine.
    pub(super) engine: String,
    /// Identity of the build.
    pub(super) id: String,
    /// When the engine was put together.
    #[schemars(with = "String")]
    pub(super) date: When,
    /// How much of it was apart.
    pub(super) scope: Scope,
    /// The one of several cylinders that alone was apart; not there where all were, and on an engine with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    at: Option<String>,
    /// The same in words.
    #[serde(skip)]
    pub(super) apart: String,
    /// Why.
    pub(super) why: Option<String>,
    /// Who built it.
    pub(super) by: Option<String>,
    /// Temperature of the parts as they were measured, C; null where 20 C was assumed.
    pub(super) temperature_c: Option<Figure<2>>,
    /// Whether every step is done and no figure is beyond its limits.
    pub(super) ready: bool,
    /// Steps that are open before it runs.
    pub(super) open: Vec<String>,
    /// Steps for after the first run that are open.
    pub(super) open_after_first_run: Vec<String>,
    /// What the readings come to at 20 C.
    pub(super) figures: Vec<BuildFigure>,
    /// The ring's word on the bore beside the gauge's.
    pub(super) gap_checks: Vec<GapWord>,
    /// The check list in the order of work.
    pub(super) steps: Vec<StepAnswer>,
    /// Bearings cold and warm.
    pub(super) seats: Vec<SeatPair>,
    /// Parts that were in it as it ran, with their hours.
    pub(super) parts: Vec<String>,
    /// Notes.
    pub(super) notes: Option<String>,
    /// What was assumed, what is missing, what else should be known.
    pub(super) remarks: Vec<String>,
    /// Its file in the garage.
    pub(super) file: String,
    /// Readings that were written over just now; not there where none was.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(extend("default" = []))]
    written_over: Vec<WrittenOver>,
    /// What the remarks say of parts over their limit.
    #[serde(skip)]
    pub(super) overdue: Option<String>,
    /// Of those the parts to be changed before it runs, a sentence each.
    #[serde(skip)]
    pub(super) change_first: Vec<String>,
    /// Of those the parts to be looked at, in a line.
    #[serde(skip)]
    pub(super) look_first: Option<String>,
    /// What keeps it from being ready beside steps and figures, in words.
    #[serde(skip)]
    pub(super) lacks: Vec<String>,
    /// The bore at 20 C, depth by depth, of each cylinder.
    #[serde(skip)]
    pub(super) bores: Vec<(Option<String>, BoreMap)>,
}

/// A reading that another one took the place of.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WrittenOver {
    /// Its field.
    pub field: String,
    /// As it was.
    pub old: String,
    /// As it is now; null where it was taken out.
    pub new: Option<String>,
}

impl From<Whole> for BuildAnswer {
    fn from(whole: Whole) -> Self {
        let Whole { record, judgement, ready, .. } = whole;
        let build = &record.build;
        Self {
            engine: record.engine.clone(),
            id: record.id.clone(),
            date: build.date,
            scope: build.scope,
            at: build.apart_at().map(str::to_owned),
            apart: build.what_was_apart(),
            why: build.why.clone(),
            by: build.by.clone(),
            temperature_c: build.temperature.as_ref().map(|read| Figure(read.si() - 273.15)),
            ready: ready.is_ready(),
            open: ready.open,
            open_after_first_run: ready.open_after,
            figures: judgement.figures.iter().map(BuildFigure::from).collect(),
            gap_checks: whole.gap_checks.iter().map(GapWord::from).collect(),
            steps: steps_of(build),
            seats: whole.seats.iter().map(|(name, seats)| SeatPair::of(name, seats)).collect(),
            parts: whole.parts,
            notes: build.notes.clone(),
            remarks: ways::all_worded(judgement.remarks.iter().chain(&whole.remarks)),
            file: record.file.to_string_lossy().replace('\\', "/"),
            written_over: Vec::new(),
            overdue: whole.overdue,
            change_first: whole.change_first,
            look_first: whole.look_first,
            lacks: ready.lacks,
            bores: judgement.bores,
        }
    }
}

impl BuildAnswer {
    /// The same with the readings that were written over just now.
    #[must_use]
    pub fn over(self, written_over: Vec<WrittenOver>) -> Self {
        Self { written_over, ..self }
    }

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
        } else if verbose {
            blocks.push(self.figure_table(screen));
        } else {
            blocks.extend(self.beside_edges(screen).into_iter().map(|table| table.text));
        }
        let checks = self.gap_checks.iter().filter(|check| verbose || !check.agrees);
        let checks = checks.map(|check| check.words(screen.units()));
        let seats = self.seats.iter().filter(|_| verbose).flat_map(|seats| seats.words(screen.units()));
        let words: Vec<_> = self.in_sentences(screen).into_iter().chain(checks).chain(seats).collect();
        let has_sentences = !words.is_empty();
        if has_sentences {
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
            let end = "± is twice the standard uncertainty. -v: where it was read, bore map, steps.";
            last.push(screen.dim(&screen.wrap(end, 2)));
        }
        match blocks.last_mut().filter(|_| has_sentences && !verbose) {
            Some(sentences) => *sentences = format!("{sentences}\n{}", last.join("\n")),
            None if last.is_empty() => {}
            None => blocks.push(last.join("\n")),
        }
        blocks.join("\n\n")
    }

    /// What must be known of it, behind the first line.
    fn known(&self, units: Units) -> Vec<String> {
        let undecided = self.figures.iter().filter(|figure| !figure.is_good() && !figure.is_beyond());
        let mut known: Vec<String> = undecided.map(|figure| figure.in_words(units)).collect();
        let (before, after) = (steps_in_words(&self.open, NAMED), self.open_after_first_run.len());
        known.extend(match (self.open.is_empty(), after) {
            (true, 0) => None,
            (true, after) => Some(format!("{} open for after the first run (-v).", count(after, "step"))),
            (false, 0) => Some(format!("Open before it runs: {before}.")),
            (false, after) => {
                Some(format!("Open before it runs: {before}; {after} after the first run (-v)."))
            }
        });
        known.extend(self.remarks.iter().cloned());
        known
    }

    /// The figures in columns, each beside the edges it is held against; those of several cylinders side by side first.
    fn beside_edges(&self, screen: &Screen) -> Vec<FrameTable> {
        let of_cylinders = side_by_side(screen, &self.figures);
        let of_all = self.figures.iter().filter(|figure| figure.cylinder.is_none());
        let of_all: Vec<_> = of_all
            .filter(|figure| !self.few_words() || figure.has_limit())
            .filter(|figure| !self.seats_are_good() || figure.seat.is_none())
            .collect();
        let of_all = (!of_all.is_empty()).then(|| Self::of_all(screen, &of_all));
        of_cylinders.into_iter().chain(of_all).collect()
    }

    /// Whether what has no limit stands in one sentence: a table of a whole engine is long.
    fn few_words(&self) -> bool {
        let alone = self.figures.iter().filter(|figure| figure.cylinder.is_none() && !figure.has_limit());
        alone.count() > MOST_WITHOUT_LIMIT
    }

    /// Whether there are seats of bearings, and the limits have nothing against any of them.
    fn seats_are_good(&self) -> bool {
        let mut seats = self.figures.iter().filter(|figure| figure.seat.is_some()).peekable();
        seats.peek().is_some() && seats.all(|figure| figure.has_limit() && figure.is_good())
    }

    /// "Bearings good, ± 0.007: main-left in case 0.019 tight, on shaft 0.011 tight."
    fn seats_in_short(&self, units: Units) -> String {
        let of_seats: Vec<&BuildFigure> =
            self.figures.iter().filter(|figure| figure.seat.is_some()).collect();
        let doubt = of_seats.iter().map(|figure| figure.expanded_uncertainty.0).fold(0.0, f64::max);
        let (_, size, decimals) = scaled(FigureUnit::Length, units, doubt);
        let mut seats: Vec<(&str, Vec<String>)> = Vec::new();
        for figure in of_seats {
            let name = figure.seat.as_deref().unwrap_or_default();
            let how = figure.name(units);
            let how = how.strip_prefix(&format!("{} ", visible(name))).unwrap_or(&how);
            let fit = if figure.value.0 < 0.0 { "loose" } else { "tight" };
            let words = format!("{how} {} {fit}", fixed(figure.value.0.abs() / size, decimals));
            match seats.iter_mut().find(|(seat, _)| *seat == name) {
                Some((_, all)) => all.push(words),
                None => seats.push((name, vec![words])),
            }
        }
        let seats: Vec<String> =
            seats.iter().map(|(name, words)| format!("{} {}", visible(name), words.join(", "))).collect();
        format!("Bearings good, ±{GLUE}{}: {}.", fixed(doubt / size, decimals), seats.join("; "))
    }

    /// The figures without a limit, and the seats where all are good, each in one sentence.
    fn in_sentences(&self, screen: &Screen) -> Vec<String> {
        if screen.verbose() {
            return Vec::new();
        }
        let units = screen.units();
        let named = |wanted: &dyn Fn(&BuildFigure) -> bool| -> String {
            let named: Vec<String> = self
                .figures
                .iter()
                .filter(|figure| figure.cylinder.is_none() && wanted(figure))
                .map(|figure| figure.in_short(units))
                .collect();
            named.join(", ")
        };
        let seats = self.seats_are_good().then(|| self.seats_in_short(units));
        let without = self.few_words().then(|| format!("No limit set: {}.", named(&|one| !one.has_limit())));
        seats.into_iter().chain(without).collect()
    }

    fn of_all(screen: &Screen, figures: &[&BuildFigure]) -> FrameTable {
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
        let rows: Vec<Vec<String>> = rows.collect();
        let title = format!("at 20 C, {symbol}");
        let text =
            table(&[&*title, "read", "±", "good", "replace", ""], rows.clone(), &[1, 2], screen.width());
        FrameTable {
            caption: String::new(),
            head: [&*title, "read", "good", "replace", ""].map(str::to_owned).to_vec(),
            rows: rows.into_iter().map(|row| with_the_doubt_under_its_name(row, 2)).collect(),
            right: vec![1],
            marked: None,
            text,
        }
    }

    /// Whether it is ready, and what it lacks beside steps and figures.
    pub(super) fn state(&self) -> String {
        match self.lacks.as_slice() {
            [] if self.ready => "ready".to_owned(),
            [] => "NOT READY".to_owned(),
            lacks => format!("NOT READY, {}", lacks.join(", ")),
        }
    }

    /// Why it is not ready: what is beyond its limit, and what is open before it runs; nothing where it is.
    pub(super) fn not_ready_because(
        &self,
        units: Units,
        is_told: impl Fn(&&BuildFigure) -> bool,
        whole: bool,
    ) -> Vec<FramePart> {
        let beyond = self.figures.iter().filter(|figure| figure.is_beyond()).filter(is_told);
        let mut because: Vec<FramePart> =
            beyond.map(|figure| FramePart::Stop(figure.in_words(units))).collect();
        // A step that somebody put beside the lists has its name in their own words.
        let is_own = |name: &String| self.steps.iter().any(|step| step.step == *name && step.list.is_none());
        let (own, open): (Vec<String>, Vec<String>) =
            self.open.iter().cloned().partition(|name| !whole && is_own(name));
        let named = (!open.is_empty()).then(|| steps_in_words(&open, NAMED));
        let own = (!own.is_empty()).then(|| format!("{} of the builder's own", count(own.len(), "step")));
        let said: Vec<String> = named.into_iter().chain(own).collect();
        if !said.is_empty() {
            because.push(FramePart::Know(format!("Open before it runs: {}.", said.join("; "))));
        }
        because
    }

    fn title(&self) -> String {
        let by = self.by.as_deref().map(|by| format!(" by {}", first_line(by))).unwrap_or_default();
        let state = self.state();
        format!("{}, {}, {}{by}: {state}", self.engine, self.apart, self.date.short())
    }

    /// Folder name of the engine.
    pub(in crate::report) fn engine(&self) -> &str {
        &self.engine
    }

    /// The steps that are open under their titles, before it runs and after the first run; each with its name, what is to be done and
    /// what can hurt.
    pub(in crate::report) fn open_steps(&self) -> Vec<(&'static str, Vec<StepToDo>)> {
        let of = |after: bool| -> Vec<_> {
            let open = self.steps.iter().filter(|step| step.open && step.after_first_run == after);
            open.map(StepAnswer::to_do).collect()
        };
        let all = [("Open before it runs", of(false)), ("Open for after the first run", of(true))];
        all.into_iter().filter(|(_, steps)| !steps.is_empty()).collect()
    }

    /// For a page: what must not run first, then what must be known, then the figures.
    /// `overdue` stands on the page already.
    pub(in crate::report) fn on_a_page(&self, screen: &Screen, overdue: &[String]) -> Vec<FramePart> {
        let units = screen.units();
        let mut frame = Frame::new(screen);
        let beyond = self.figures.iter().filter(|figure| figure.is_beyond());
        beyond.for_each(|figure| frame.stop(&figure.in_words(units)));
        frame.hands(&self.title());
        self.why.iter().for_each(|why| frame.say(&first_line(why)));
        let known = self.known(units);
        let known = known
            .iter()
            .filter(|known| overdue.is_empty() || self.overdue.as_ref().is_none_or(|over| over != *known));
        known.for_each(|known| frame.know(known));
        if !self.figures.is_empty() {
            self.beside_edges(screen).into_iter().for_each(|table| frame.table(table));
            frame.source("±: how far it may be off, twice the standard uncertainty.");
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
        lines.extend(self.written_over.iter().map(|one| {
            let new = one.new.as_deref().map_or("taken out".to_owned(), visible);
            screen.known(format!("Written over: {} {} → {new}", visible(&one.field), visible(&one.old)))
        }));
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

/// A row for a page: a column of doubts is one too many on a phone.
pub(super) fn with_the_doubt_under_its_name(mut row: Vec<String>, column: usize) -> Vec<String> {
    if column < row.len() {
        let doubt = row.remove(column);
        if let Some(name) = row.first_mut().filter(|_| !doubt.is_empty()) {
            name.push_str(&format!("\n± {doubt}"));
        }
    }
    row
}

fn bore_table(screen: &Screen, cylinder: Option<&str>, map: &BoreMap) -> String {
    let title =
        cylinder.map_or_else(|| "bore at 20 C".to_owned(), |name| format!("{} bore at 20 C", in_words(name)));
    let units = screen.units();
    let used: Vec<BoreAxis> = BoreAxis::ALL
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
