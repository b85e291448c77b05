//! A build for a person and for a script: its bore map, its figures with what the limits say, its check list.

use serde_json::{Value, json};

use crate::advice::building::{Figure, FigureUnit, GapCheck, Judgement, Readiness};
use crate::advice::seat::{BenchSeat, BenchSeats};
use crate::engine::gauging::bore_map::{Axis, BoreMap};
use crate::engine::gauging::edges::{Edges, Grade, Judged, Side};
use crate::notebook::Step;
use crate::notebook::fields::names::{visible, visible_lines};
use crate::quantity::{Units, fixed};
use crate::report::air::reading::rounded;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{count, first_line, table};
use crate::store::BuildRecord;

/// A build and what its readings come to.
pub struct BuildReport<'a> {
    /// The build.
    pub record: &'a BuildRecord,
    /// Its figures.
    pub judgement: &'a Judgement,
    /// The ring's word on the bore beside the gauge's.
    pub gap_checks: &'a [GapCheck],
    /// The bearings cold and warm, by the names of their seats.
    pub seats: &'a [(String, BenchSeats)],
    /// The parts that are in it, in words.
    pub parts: Vec<String>,
    /// How it stands.
    pub ready: &'a Readiness,
    /// What else should be known.
    pub remarks: Vec<String>,
}

/// The unit a figure is shown in, its size in SI, and the decimals of a value that is known so well.
pub(in crate::report) fn shown_unit(
    unit: FigureUnit,
    units: Units,
    expanded: f64,
) -> (&'static str, f64, usize) {
    match (unit, units) {
        (FigureUnit::Length, Units::Metric) => ("mm", 1e-3, if expanded < 29.5e-6 { 3 } else { 2 }),
        (FigureUnit::Length, Units::Imperial) => ("in", 0.0254, if expanded < 29.5e-6 { 4 } else { 3 }),
        (FigureUnit::Volume, _) => ("cc", 1e-6, 2),
        (FigureUnit::Mass, _) => ("g", 1e-3, 0),
    }
}

/// A value in the unit of its figure.
pub(super) fn in_unit(si: f64, unit: FigureUnit, units: Units, expanded: f64) -> String {
    let (symbol, factor, decimals) = shown_unit(unit, units, expanded);
    format!("{} {symbol}", fixed(si / factor, decimals))
}

/// An edge with the digits it needs, three decimals of a millimetre at most.
fn edge_words(edge: f64, unit: FigureUnit, units: Units) -> String {
    let (symbol, factor, decimals) = shown_unit(unit, units, 0.0);
    format!("{} {symbol}", crate::quantity::trimmed(edge / factor, decimals))
}

fn grade_word(grade: Grade) -> &'static str {
    match grade {
        Grade::Good => "good",
        Grade::Watch(_) => "watch",
        Grade::Replace(_) => "replace",
    }
}

/// The edge that a grade lies beyond: its place among the four, and the word for it.
fn edge_of(grade: Grade, edges: &Edges) -> Option<(f64, &'static str)> {
    let [least, watch_below, watch_above, most] = edges.all();
    let (edge, word) = match grade {
        Grade::Good => return None,
        Grade::Watch(Side::Below) => (watch_below, "under"),
        Grade::Watch(Side::Above) => (watch_above, "over"),
        Grade::Replace(Side::Below) => (least, "under"),
        Grade::Replace(Side::Above) => (most, "over"),
    };
    edge.map(|edge| (edge, word))
}

/// What the limits say of a figure: "watch: over 0.076 mm".
pub(super) fn verdict_words(figure: &Figure, units: Units) -> String {
    let (Some(judged), Some(edges)) = (figure.judged, &figure.edges) else {
        return "no limit set".to_owned();
    };
    let beyond = |grade| {
        edge_of(grade, edges)
            .map(|(edge, word)| format!("{word} {}", edge_words(edge, figure.kind.unit, units)))
    };
    match judged {
        Judged::Is(grade) => match beyond(grade) {
            Some(beyond) => format!("{}: {beyond}", grade_word(grade)),
            None => grade_word(grade).to_owned(),
        },
        Judged::TooClose { between: (low, high), .. } => {
            let one = |grade| match beyond(grade) {
                Some(beyond) => format!("{} ({beyond})", grade_word(grade)),
                None => grade_word(grade).to_owned(),
            };
            format!("too close to call: {} or {}", one(low), one(high))
        }
    }
}

/// The word of a verdict for a script.
fn verdict_word(judged: Judged) -> &'static str {
    match judged {
        Judged::Is(grade) => grade_word(grade),
        Judged::TooClose { .. } => "too close to call",
    }
}

/// A figure for a script, in mm, cc or g.
pub(super) fn figure_json(figure: &Figure) -> Value {
    let (symbol, factor, _) = shown_unit(figure.kind.unit, Units::Metric, 0.0);
    let edges = figure.edges.as_ref().map(Edges::all);
    let edge = |place: usize| edges.and_then(|all| all[place]).map(|edge| rounded(edge / factor, 5));
    let between = match figure.judged {
        Some(Judged::TooClose { between: (low, high), .. }) => Some([grade_word(low), grade_word(high)]),
        _ => None,
    };
    json!({
        "figure": figure.kind.name,
        "words": figure.words(),
        "seat": figure.seat,
        "value": rounded(figure.value.value() / factor, 5),
        "expanded_uncertainty": rounded(figure.value.expanded() / factor, 5),
        "unit": symbol,
        "at": figure.at,
        "verdict": figure.judged.map(verdict_word),
        "between": between,
        "limits": {
            "least": edge(0), "watch_below": edge(1), "watch_above": edge(2), "most": edge(3),
            "source": figure.source,
        },
    })
}

/// A step for a script.
pub fn step_json(name: &str, step: &Step) -> Value {
    json!({
        "step": name,
        "list": step.list,
        "says": step.says,
        "caution": step.caution,
        "after_first_run": step.after_first_run,
        "open": step.is_open(),
        "done": step.done.map(|done| done.to_string()),
        "left_out": step.left_out,
        "by": step.by,
        "torque": step.torque.as_ref().map(ToString::to_string),
        "mark": step.mark,
        "note": step.note,
    })
}

fn gap_json(check: &GapCheck) -> Value {
    let um = |metres: f64| rounded(metres * 1e6, 2);
    json!({
        "at": check.at,
        "than": check.than,
        "by_gap_um": um(check.by_gap_m),
        "by_gap_expanded_um": um(2.0 * check.by_gap_u_m),
        "by_gauge_um": um(check.by_gauge_m),
        "by_gauge_expanded_um": um(2.0 * check.by_gauge_u_m),
        "agrees": check.agrees(),
    })
}

/// The gap check in words: "by the ring gap 0.008 mm wider at top than at bottom, by the gauge 0.011".
pub(super) fn gap_words(check: &GapCheck, units: Units) -> String {
    let length = |si: f64| in_unit(si, FigureUnit::Length, units, 0.0);
    let both = format!(
        "{} against {}: by the ring gap {} ± {}, by the gauge {} ± {}",
        visible(&check.at),
        visible(&check.than),
        length(check.by_gap_m),
        length(2.0 * check.by_gap_u_m),
        length(check.by_gauge_m),
        length(2.0 * check.by_gauge_u_m)
    );
    if check.agrees() {
        format!("{both}: they agree.")
    } else {
        format!("{both}: more apart than both can err. Measure again; a worn ring opens its gap too.")
    }
}

fn seats_json(name: &str, seats: &BenchSeats) -> Value {
    let one = |seat: &BenchSeat| {
        json!({
            "cold_mm": rounded(seat.cold_m * 1e3, 4),
            "running_mm": rounded(seat.running_m * 1e3, 4),
            "running_c": rounded(seat.running_c, 0),
            "lets_go_c": seat.lets_go_c.map(|at| rounded(at, 0)),
            "drops_in_c": seat.drops_in_c.map(|at| rounded((at - 1e-6).ceil(), 0)),
        })
    };
    json!({ "seat": name, "in_case": seats.in_case.as_ref().map(one), "on_shaft": seats.on_shaft.as_ref().map(one) })
}

/// A bearing in words: how tight cold and as it runs, when it lets go, and what heat puts it in.
fn seat_words(name: &str, seats: &BenchSeats, units: Units) -> Vec<String> {
    let length = |tight: f64| {
        let size = in_unit(tight.abs(), FigureUnit::Length, units, 0.0);
        if tight < 0.0 { format!("{size} loose") } else { format!("{size} tight") }
    };
    let degrees = |celsius: f64| crate::report::words::layout::whole_degrees(celsius, units);
    let words = |place: &str, heated: &str, seat: &BenchSeat| {
        let mut text = format!(
            "{} {place}: {} cold, {} at {}",
            visible(name),
            length(seat.cold_m),
            length(seat.running_m),
            degrees(seat.running_c)
        );
        if let Some(at) = seat.lets_go_c {
            text.push_str(&format!("; lets go at {}", degrees(at)));
        }
        if let Some(at) = seat.drops_in_c.filter(|at| *at > 20.0) {
            text.push_str(&format!("; {heated} at {}", crate::report::building::fit::degrees_up(units, at)));
        }
        format!("{text}.")
    };
    let case = seats.in_case.as_ref().map(|seat| words("in the case", "drops into the case", seat));
    let shaft = seats.on_shaft.as_ref().map(|seat| words("on the shaft", "slides on with the bearing", seat));
    case.into_iter().chain(shaft).collect()
}

impl BuildReport<'_> {
    /// For a script.
    pub fn json(&self) -> Value {
        let build = &self.record.build;
        let steps = build.steps_in_order();
        json!({
            "engine": self.record.engine,
            "id": self.record.id,
            "date": build.date.to_string(),
            "scope": build.scope.word(),
            "why": build.why,
            "by": build.by,
            "temperature_c": build.temperature.as_ref().map(|read| rounded(read.si() - 273.15, 2)),
            "ready": self.ready.is_ready(),
            "open": self.ready.open,
            "open_after_first_run": self.ready.open_after,
            "figures": self.judgement.figures.iter().map(figure_json).collect::<Vec<_>>(),
            "gap_checks": self.gap_checks.iter().map(gap_json).collect::<Vec<_>>(),
            "steps": steps.into_iter().map(|(name, step)| step_json(name, step)).collect::<Vec<_>>(),
            "seats": self.seats.iter().map(|(name, seats)| seats_json(name, seats)).collect::<Vec<_>>(),
            "parts": self.parts,
            "notes": build.notes,
            "remarks": self.remarks,
            "file": self.record.file.to_string_lossy().replace('\\', "/"),
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut blocks = vec![self.head(screen)];
        if let Some(map) = &self.judgement.bore {
            blocks.push(bore_table(screen, map));
        }
        if self.judgement.figures.is_empty() {
            blocks.push(screen.wrap(
                &format!(
                    "Nothing is measured yet: `reedbook build measure {}` asks for it.",
                    self.record.engine
                ),
                2,
            ));
        } else {
            blocks.push(self.figures(screen));
        }
        let checks = self.gap_checks.iter().map(|check| gap_words(check, screen.units()));
        let seats = self.seats.iter().flat_map(|(name, seats)| seat_words(name, seats, screen.units()));
        let words: Vec<_> = checks.chain(seats).collect();
        if !words.is_empty() {
            blocks.push(words.iter().map(|words| screen.wrap(words, 2)).collect::<Vec<_>>().join("\n"));
        }
        blocks.push(self.check_list(screen));
        if !self.parts.is_empty() {
            let lines = self.parts.iter().map(|part| screen.wrap(&format!("  {part}"), 4));
            blocks.push(format!("Parts in it then:\n{}", lines.collect::<Vec<_>>().join("\n")));
        }
        if let Some(notes) = &self.record.build.notes {
            blocks.push(screen.wrap(&visible_lines(notes), 0));
        }
        let remarks = self.judgement.remarks.iter().chain(&self.remarks);
        let notes: Vec<_> = remarks.map(|remark| screen.wrap(&format!("note: {remark}"), 6)).collect();
        if !notes.is_empty() {
            blocks.push(notes.join("\n"));
        }
        blocks.join("\n\n")
    }

    fn head(&self, screen: &Screen) -> String {
        let build = &self.record.build;
        let by = build.by.as_deref().map(|by| format!(" by {}", first_line(by))).unwrap_or_default();
        let state = match self.ready.lacks.as_slice() {
            [] if self.ready.is_ready() => "ready".to_owned(),
            [] => "NOT READY".to_owned(),
            lacks => format!("NOT READY, {}", lacks.join(", ")),
        };
        let title =
            format!("{}, {}, {}{by}: {state}", self.record.engine, build.scope.words(), build.date.short());
        let mut lines = vec![screen.strong(&title)];
        if let Some(why) = &build.why {
            lines.push(screen.wrap(&format!("  {}", first_line(why)), 2));
        }
        lines.push(format!("  build {}", self.record.id));
        lines.join("\n")
    }

    fn figures(&self, screen: &Screen) -> String {
        let units = screen.units();
        let rows = self.judgement.figures.iter().map(|figure| {
            let unit = figure.kind.unit;
            let expanded = figure.value.expanded();
            let (_, factor, decimals) = shown_unit(unit, units, expanded);
            vec![
                figure.words(),
                in_unit(figure.value.value(), unit, units, expanded),
                fixed(expanded / factor, decimals),
                verdict_words(figure, units),
                figure.at.as_deref().map(visible).unwrap_or_default(),
            ]
        });
        let head = ["at 20 C", "measured", "±", "verdict", "where"];
        let text = table(&head, rows.collect(), &[1, 2], screen.width());
        format!("{text}\n± is twice the standard uncertainty: gauge, setting and temperature together.")
    }

    fn check_list(&self, screen: &Screen) -> String {
        let steps = &self.record.build.steps;
        if steps.is_empty() {
            return "No check list.".into();
        }
        let done = steps.values().filter(|step| step.done.is_some()).count();
        let left_out = steps.values().filter(|step| step.left_out.is_some()).count();
        let mut text = format!("Check list: {done} of {} done", count(steps.len(), "step"));
        if left_out > 0 {
            text.push_str(&format!(", {left_out} left out"));
        }
        if !self.ready.open.is_empty() {
            text.push_str(&format!("; open: {}", few(&self.ready.open)));
        }
        if !self.ready.open_after.is_empty() {
            text.push_str(&format!("; after the first run: {}", few(&self.ready.open_after)));
        }
        screen.wrap(&text, 2)
    }
}

/// The first few names and how many more there are.
fn few(names: &[String]) -> String {
    const NAMED: usize = 6;
    let first: Vec<_> = names.iter().take(NAMED).map(|name| visible(name)).collect();
    match names.len().saturating_sub(NAMED) {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    }
}

fn bore_table(screen: &Screen, map: &BoreMap) -> String {
    let units = screen.units();
    let used: Vec<Axis> = Axis::ALL
        .into_iter()
        .filter(|axis| map.levels().iter().any(|level| level.readings.iter().any(|(on, _)| on == axis)))
        .collect();
    let rows = map.levels().iter().map(|level| {
        let mut row = vec![
            format!("  {}", visible(&level.name)),
            in_unit(level.depth_m, FigureUnit::Length, units, 1.0),
        ];
        row.extend(used.iter().map(|axis| {
            let read = level.readings.iter().find(|(on, _)| on == axis);
            read.map_or_else(|| "-".into(), |(_, size)| in_unit(size.value(), FigureUnit::Length, units, 0.0))
        }));
        row
    });
    let head: Vec<&str> =
        ["bore at 20 C", "depth"].into_iter().chain(used.iter().map(|axis| axis.name())).collect();
    let right: Vec<usize> = (1..head.len()).collect();
    table(&head, rows.collect(), &right, screen.width())
}

/// A build on one line for lists and the history: "2026-03-01 top end: ready; watch piston clearance".
pub fn build_line(ready: &Readiness) -> String {
    let build = &ready.record.build;
    let mut parts = vec![format!("{} {}", build.date.short(), build.scope.words())];
    if !ready.open.is_empty() {
        parts.push(format!("not ready, {} open", count(ready.open.len(), "step")));
    }
    for (word, names) in
        [("replace", &ready.beyond), ("watch", &ready.watched), ("too close to call", &ready.unsure)]
    {
        if !names.is_empty() {
            parts.push(format!("{word}: {}", names.join(", ")));
        }
    }
    if let Some(why) = &build.why {
        parts.push(format!("\"{}\"", first_line(why)));
    }
    parts.join(" | ")
}

/// A list of an engine's builds, newest first.
pub fn list(screen: &Screen, engine: &str, builds: &[Readiness]) -> String {
    if builds.is_empty() {
        return format!("{engine} has no build yet. Begin one: reedbook build new {engine}");
    }
    let mut lines = vec![screen.strong(&format!("{engine}: {}, newest first", count(builds.len(), "build")))];
    lines.extend(
        builds
            .iter()
            .rev()
            .map(|ready| screen.wrap(&format!("  {}  {}", ready.record.id, build_line(ready)), 4)),
    );
    lines.join("\n")
}

/// A build in a list, for a script.
pub fn line_json(ready: &Readiness) -> Value {
    let build = &ready.record.build;
    json!({
        "id": ready.record.id,
        "date": build.date.to_string(),
        "scope": build.scope.word(),
        "why": build.why,
        "ready": ready.is_ready(),
        "open": ready.open,
        "open_after_first_run": ready.open_after,
        "replace": ready.beyond,
        "watch": ready.watched,
        "too_close_to_call": ready.unsure,
    })
}
