//! Runs in a table, one a line: when, where, in what air, on what, and how it ran.

use super::ran::{AskedField, Ran, orders};
use super::setups::brief::{RARE, below_full, full_sign};
use crate::advice::held::is_setup_open;
use crate::advice::runs::lap_time;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::history::outing::OutingEntry;
use crate::report::out::glue::{GLUE, glued, unglued};
use crate::report::out::screen::Screen;
use crate::report::out::width;
use crate::report::words::layout::{NARROW, first_line, signed, stanzas};

/// Columns that the place of a run has at least.
const LEAST_PLACE: usize = 12;
/// Columns that are enough for a place with its session; a longer one goes on in the next line.
const ENOUGH: usize = 24;

/// The signs of a verdict, in words.
pub(in crate::report) const SIGNS: &str = "<< lean  < slightly lean  = right  > slightly rich  >> rich";

/// One run with what was on the bike.
#[derive(Clone, Copy)]
pub(super) struct RunRow<'a> {
    pub(super) outing: &'a OutingEntry<'a>,
    pub(super) ran: &'a Ran,
    /// How far its air is off the air asked for, percent.
    pub(super) off: Option<f64>,
}

/// Fields that stand in a column of their own, and its head.
const SHOWN: [(&str, &str); 14] = [
    ("date", "day"),
    ("place", "place"),
    ("engine", "engine"),
    ("jetting.main", "jets"),
    ("jetting.clip", "jets"),
    ("jetting.pilot", "jets"),
    ("ignition.base", "spark"),
    ("verdict.full", "full"),
    ("verdict.three_quarters", "3/4"),
    ("verdict.half", "1/2"),
    ("verdict.quarter", "1/4"),
    ("verdict.eighth", "1/8"),
    ("verdict.idle", "idle"),
    ("lap", "lap"),
];

/// Throttles below full, in columns of their own.
const BELOW: [&str; 5] = ["3/4", "1/2", "1/4", "1/8", "idle"];

/// What is left out last where a line has no room for it, in this order; it stands in `-v`. The setup's number is what a setup is put
/// back by.
const LEFT_OUT: [&str; 2] = ["engine", "setup"];

/// What else gives way on a narrow screen, in this order, of several runs.
const MOST_LEFT_OUT: [&str; 11] =
    ["spark", "session", "off %", "idle", "1/8", "1/4", "3/4", "air %", "place", "lap", "1/2"];

/// Runs as they are shown.
pub(super) struct Runs<'a> {
    pub(super) rows: Vec<RunRow<'a>>,
    /// Whether the bike is a column: runs of several are shown.
    pub(super) bikes: bool,
    /// Head of the column that they are in order by: it stays.
    pub(super) by: &'a str,
    /// Whether their notes are wanted, too.
    pub(super) noted: bool,
}

/// A column with its cells.
#[derive(Clone)]
struct RunColumn {
    head: String,
    cells: Vec<String>,
    /// Whether it holds figures.
    right: bool,
    /// Whether it is said once above where all its cells agree.
    may_be_said_once: bool,
}

impl RunColumn {
    fn width(&self) -> usize {
        self.cells.iter().map(|cell| width::of(cell)).max().unwrap_or(0).max(width::of(&self.head))
    }

    /// Whether its cells may go on in the next line.
    fn may_break(&self) -> bool {
        matches!(self.head.as_str(), "place" | "session")
    }

    fn holds(&self) -> bool {
        self.cells.iter().any(|cell| !cell.is_empty())
    }

    /// What all its cells say.
    fn common(&self) -> Option<&str> {
        let (first, others) = self.cells.split_first()?;
        let all = !others.is_empty() && !first.is_empty() && others.iter().all(|cell| cell == first);
        (self.may_be_said_once && all).then_some(first)
    }
}

impl Runs<'_> {
    /// The table: what all agree in is said once above it, nothing in it is broken but places. A stanza for each run with
    /// `-v`, which says all, and where a narrow screen has no room for a line.
    pub(super) fn text(&self, screen: &Screen) -> String {
        let all = screen.verbose() || self.noted;
        let mut columns: Vec<RunColumn> = self.columns(!all).into_iter().filter(RunColumn::holds).collect();
        if all {
            return self.all(screen, &columns);
        }
        let common = |column: &RunColumn| Some(format!("{} {}", column.head, column.common()?));
        let agreed: Vec<String> = columns.iter().filter_map(common).collect();
        columns.retain(|column| column.common().is_none());
        let mut text = String::new();
        if !agreed.is_empty() {
            text = format!("{}\n", screen.wrap(&format!("all: {}", agreed.join(", ")), 2));
        }
        let mut legend = Vec::new();
        let unit = bare_spark(&mut columns);
        let whole = columns.clone();
        // What is run down with the eye stays a table, on whatever screen; one run alone has room for all of it.
        let is_list = self.by != "day" || self.rows.len() > 1;
        let is_table = is_list || screen.width() >= NARROW || fits(&columns, screen.width());
        let mut hidden = Vec::new();
        if is_table && !fits(&columns, screen.width()) {
            hidden = self.leave_out(&mut columns, screen.width());
        }
        if is_list && screen.width() < NARROW {
            hidden.extend(self.leave_out_most(&mut columns, screen.width()));
        }
        // A stanza has room for all.
        if room_for_places(&columns, screen.width()) < LEAST_PLACE && screen.width() < NARROW {
            (columns, hidden) = (whole, Vec::new());
        }
        if columns.iter().any(|column| column.head == "jets") {
            legend.push(jets_legend(&self.rows));
        }
        let room = room_for_places(&columns, screen.width());
        if !is_table || room < LEAST_PLACE {
            text.push_str(&in_stanzas(&columns, screen.width()).join("\n"));
        } else {
            text.push_str(&in_lines(&columns, room));
        }
        legend.extend(unit.filter(|_| !hidden.contains(&"spark")).map(|unit| format!("spark: {unit}")));
        if columns
            .iter()
            .any(|column| column.head == "setup" && column.cells.iter().any(|cell| cell.ends_with('?')))
        {
            legend.push("?: its jobs were not ticked".to_owned());
        }
        legend.extend((!hidden.is_empty()).then(|| format!("{}: -v", hidden.join(", "))));
        format!("{text}\n{}", legend_text(screen, &legend))
    }

    /// Leaves out what has no room, so that a run is one line, or places at least have some; gives the heads.
    fn leave_out(&self, columns: &mut Vec<RunColumn>, width: usize) -> Vec<&'static str> {
        let whole = |columns: &[RunColumn]| {
            let places = columns.iter().find(|column| column.head == "place");
            let wanted = places.map_or(LEAST_PLACE, |places| places.width().min(ENOUGH));
            room_for_places(columns, width) >= wanted
        };
        let mut hidden = Vec::new();
        if !whole(columns) && !self.must_stay("spark") {
            hidden.extend(take_out(columns, "spark"));
        }
        // What was lean at a throttle is seen whatever else has room.
        let none_lean = |columns: &[RunColumn], head: &str| {
            let of_head = columns.iter().filter(|column| column.head == head);
            !of_head.flat_map(|column| &column.cells).any(|cell| cell.contains('<'))
        };
        for head in RARE.into_iter().rev() {
            if !whole(columns) && !self.must_stay(head) && none_lean(columns, head) {
                hidden.extend(take_out(columns, head));
            }
        }
        if !whole(columns) {
            hidden.extend(self.without_sessions(columns));
        }
        for head in LEFT_OUT.into_iter().filter(|head| !self.must_stay(head)) {
            if room_for_places(columns, width) < LEAST_PLACE {
                hidden.extend(take_out(columns, head));
            }
        }
        hidden
    }

    /// Leaves out, where a narrow screen has no room yet, all but the day, the jets, full throttle and what was asked for.
    fn leave_out_most(&self, columns: &mut Vec<RunColumn>, width: usize) -> Vec<&'static str> {
        let mut hidden = Vec::new();
        for head in MOST_LEFT_OUT.into_iter().filter(|head| !self.must_stay(head)) {
            if room_for_places(columns, width) < LEAST_PLACE {
                hidden.extend(take_out(columns, head));
            }
        }
        // The main jet alone, as long as nobody asked for the others.
        let has_room = room_for_places(columns, width) >= LEAST_PLACE || self.must_stay("jets");
        if let Some(jets) = columns.iter_mut().find(|column| column.head == "jets").filter(|_| !has_room) {
            "main".clone_into(&mut jets.head);
            for cell in &mut jets.cells {
                cell.truncate(cell.find('/').unwrap_or(cell.len()));
            }
            hidden.push("clip and pilot");
        }
        hidden
    }

    /// Leaves the sessions out of the places, where any is named and none was asked for.
    fn without_sessions(&self, columns: &mut [RunColumn]) -> Option<&'static str> {
        let any = self.rows.iter().any(|row| row.outing.session.is_some());
        let places = columns.iter_mut().find(|column| column.head == "place").filter(|_| any)?;
        places.cells = self.rows.iter().map(|row| row.place("-")).collect();
        Some("session")
    }

    /// All that is known, a stanza for each run.
    fn all(&self, screen: &Screen, columns: &[RunColumn]) -> String {
        let told = |row: &RunRow<'_>| screen.wrap(&format!("  {}", row.told()), 2);
        let stanzas = in_stanzas(columns, screen.width()).into_iter().zip(&self.rows);
        let stanzas = stanzas.map(|(stanza, row)| format!("{stanza}\n{}", told(row)));
        let legend = legend_text(screen, &[jets_legend(&self.rows)]);
        stanzas.chain([legend]).collect::<Vec<_>>().join("\n")
    }

    /// Whether a column was asked for: by its order, or by a field that it shows.
    fn must_stay(&self, head: &str) -> bool {
        let asked =
            |one: &AskedField| SHOWN.iter().any(|(field, shown)| *field == one.field && *shown == head);
        self.by == head || self.rows.first().is_some_and(|row| row.ran.asked.iter().any(asked))
    }

    /// Where all runs are of one year, `split` gives it a column of its own.
    fn columns(&self, split: bool) -> Vec<RunColumn> {
        let of = |head: &str, right: bool, cell: &dyn Fn(&RunRow<'_>) -> String| RunColumn {
            head: head.to_owned(),
            cells: self.rows.iter().map(cell).collect(),
            right,
            may_be_said_once: false,
        };
        let once = |column: RunColumn| RunColumn { may_be_said_once: true, ..column };
        let said = |text: &Option<String>| text.as_deref().map(visible).unwrap_or_default();
        let year = self.rows.first().map(RunRow::year);
        let one_year = split && self.rows.len() > 1 && self.rows.iter().all(|row| Some(row.year()) == year);
        let off = |row: &RunRow<'_>| row.off.map(|off| signed(off, 1)).unwrap_or_default();
        let mut columns = Vec::new();
        columns.push(of("day", true, &|row| row.day()));
        if one_year {
            columns.push(once(of("year", false, &|row| row.year())));
        }
        if self.bikes {
            columns.push(of("bike", false, &|row| visible(&row.outing.record.bike)));
        }
        let place = self.rows.first().map(|row| row.place(""));
        if self.rows.len() > 1 && self.rows.iter().all(|row| Some(row.place("")) == place) {
            columns.push(once(of("place", false, &|row| row.place(""))));
            columns.push(of("session", false, &|row| row.session()));
        } else {
            columns.push(of("place", false, &|row| row.place_and_session(self.rows.len() > 1)));
        }
        columns.push(of("air %", true, &|row| row.air()));
        columns.push(of("off %", true, &off));
        columns.push(once(of("engine", false, &|row| said(&row.ran.engine))));
        columns.push(once(of("setup", true, &|row| row.setup())));
        let orders = orders(self.rows.iter().map(|row| row.ran));
        columns.push(of("jets", false, &|row| row.jets(&orders)));
        columns.push(once(of("spark", true, &|row| said(&row.ran.spark))));
        for (at, head) in self.fields() {
            let value =
                |row: &RunRow<'_>| row.ran.asked.get(at).map(|one| said(&one.value)).unwrap_or_default();
            columns.push(once(of(&head, false, &value)));
        }
        columns.push(of("full", false, &|row| full_sign(row.outing.record)));
        for (at, head) in BELOW.into_iter().enumerate() {
            let signs = |row: &RunRow<'_>| {
                below_full(row.outing.record).get(at).map(|(_, signs)| signs.clone()).unwrap_or_default()
            };
            columns.push(of(head, false, &signs));
        }
        columns.push(of("lap", true, &|row| row.lap(split)));
        if one_year {
            let days = columns.iter_mut().filter(|column| column.head == "day");
            days.flat_map(|column| column.cells.iter_mut()).for_each(|day| {
                *day = day.rsplit_once(' ').map_or_else(|| day.clone(), |(day, _)| day.to_owned());
            });
        }
        columns
    }

    /// Fields that were asked about and stand in no column of their own.
    fn fields(&self) -> Vec<(usize, String)> {
        let Some(first) = self.rows.first() else { return Vec::new() };
        let asked = first.ran.asked.iter().enumerate();
        asked
            .filter(|(_, one)| !SHOWN.iter().any(|(field, _)| *field == one.field))
            .map(|(at, one)| (at, visible(&one.field)))
            .collect()
    }
}

/// What the column of jets holds.
fn jets_legend(rows: &[RunRow<'_>]) -> String {
    let differ: Vec<RunRow<'_>> = rows.iter().filter(|row| row.jets(&[]).contains(',')).copied().collect();
    let orders: Vec<String> = orders(differ.iter().map(|row| row.ran))
        .iter()
        .map(|order| format!(" of {}", visible(&order.join(","))))
        .collect();
    format!("jets: main/clip/pilot{}", orders.join(" or"))
}

/// The words of the heads and signs, each whole on its line.
fn legend_text(screen: &Screen, words: &[String]) -> String {
    // What is wider than the screen is broken between its words.
    let has_room = |text: &str| width::of(text) <= screen.width();
    let whole =
        |text: &str| if has_room(text) { text.replace(' ', &GLUE.to_string()) } else { text.to_owned() };
    let signs = SIGNS.split("  ").map(whole).collect::<Vec<_>>().join("  ");
    let words = words.iter().map(|text| whole(text)).collect::<Vec<_>>().join("  ");
    let lines = [words, signs].into_iter().filter(|line| !line.is_empty());
    screen.dim(&lines.map(|line| screen.wrap(&line, 2)).collect::<Vec<_>>().join("\n"))
}

/// Takes a column out, if it is there; gives its head.
fn take_out(columns: &mut Vec<RunColumn>, head: &'static str) -> Option<&'static str> {
    let before = columns.len();
    columns.retain(|column| column.head != head);
    (columns.len() < before).then_some(head)
}

/// Takes the unit out of the spark's cells where all have the same, and gives it.
fn bare_spark(columns: &mut [RunColumn]) -> Option<String> {
    let spark = columns.iter_mut().find(|column| column.head == "spark")?;
    let unit = |cell: &String| Some(cell.split_once(' ')?.1.to_owned());
    let units: Vec<Option<String>> = spark.cells.iter().filter(|cell| !cell.is_empty()).map(unit).collect();
    let first = units.first()?.clone()?;
    if units.iter().any(|unit| unit.as_ref() != Some(&first)) {
        return None;
    }
    for cell in &mut spark.cells {
        *cell = cell.split(' ').next().unwrap_or_default().to_owned();
    }
    Some(first)
}

/// Blanks before a column: the zones of a verdict stand close together.
fn gap(before: Option<&RunColumn>, column: &RunColumn) -> usize {
    match before.map(|before| before.head.as_str()) {
        None => 0,
        Some("full") if BELOW.contains(&column.head.as_str()) => 1,
        Some(before) if BELOW.contains(&before) => 1,
        Some(_) => 2,
    }
}

/// Columns of the screen that are left for places, as many as they want at most; where there is no place, whether the rest fits.
fn room_for_places(columns: &[RunColumn], width: usize) -> usize {
    let others: usize = columns
        .iter()
        .enumerate()
        .map(|(at, column)| {
            let own = if column.may_break() { 0 } else { column.width() };
            own + gap(at.checked_sub(1).and_then(|before| columns.get(before)), column)
        })
        .sum();
    let left = width.saturating_sub(others);
    match columns.iter().find(|column| column.may_break()) {
        // Short places are whole in less than the least.
        Some(places) if places.width() <= left => places.width().max(LEAST_PLACE),
        Some(_) => left,
        None if others <= width => LEAST_PLACE,
        None => 0,
    }
}

/// Whether all of it fits as it is.
fn fits(columns: &[RunColumn], width: usize) -> bool {
    let places = columns.iter().find(|column| column.may_break()).map_or(0, RunColumn::width);
    room_for_places(columns, width) >= places.max(LEAST_PLACE)
}

/// A line for each run; a place without room goes on in the next.
fn in_lines(columns: &[RunColumn], room: usize) -> String {
    let widths: Vec<usize> = columns
        .iter()
        .map(|column| if column.may_break() { column.width().min(room) } else { column.width() })
        .collect();
    let line = |cells: &[String]| {
        let mut text = String::new();
        for (at, ((column, cell), width)) in columns.iter().zip(cells).zip(&widths).enumerate() {
            let before = at.checked_sub(1).and_then(|before| columns.get(before));
            let blanks = " ".repeat(width.saturating_sub(width::of(cell)));
            text.push_str(&" ".repeat(gap(before, column)));
            text.push_str(&if column.right { format!("{blanks}{cell}") } else { format!("{cell}{blanks}") });
        }
        text.trim_end().to_owned()
    };
    let mut lines = vec![line(&columns.iter().map(|column| column.head.clone()).collect::<Vec<_>>())];
    let runs = columns.first().map_or(0, |column| column.cells.len());
    for run in 0..runs {
        let mut cells: Vec<String> =
            columns.iter().filter_map(|column| column.cells.get(run).cloned()).collect();
        let place = columns.iter().position(RunColumn::may_break);
        let mut rest = Vec::new();
        if let Some(cell) = place.and_then(|at| cells.get_mut(at)) {
            let whole = glued(cell, room);
            let mut parts = textwrap::wrap(&whole, room).into_iter().map(|part| unglued(&part));
            let first = parts.next().unwrap_or_default();
            rest = parts.collect();
            *cell = first;
        }
        lines.push(line(&cells));
        for part in rest {
            let more: Vec<String> = (0..cells.len())
                .map(|at| if Some(at) == place { part.clone() } else { String::new() })
                .collect();
            lines.push(line(&more));
        }
    }
    lines.join("\n")
}

/// A fact of a stanza, with what stands before it: a place speaks for itself, and a unit stands behind its figure.
fn fact(column: &RunColumn, at: usize) -> (&str, String) {
    let cell = column.cells.get(at).cloned().unwrap_or_default();
    match column.head.strip_suffix(" %") {
        Some(head) if !cell.is_empty() => (head, format!("{cell} %")),
        _ if column.head == "place" || column.head == "bike" => ("", cell),
        _ => (&column.head, cell),
    }
}

/// A stanza for each run.
fn in_stanzas(columns: &[RunColumn], width: usize) -> Vec<String> {
    let runs = columns.first().map_or(0, |column| column.cells.len());
    let stanza = |at: usize| {
        let (heads, cells): (Vec<&str>, Vec<String>) = columns.iter().map(|column| fact(column, at)).unzip();
        stanzas(&heads, &[cells], width)
    };
    (0..runs).map(stanza).collect()
}

impl RunRow<'_> {
    /// The best lap: in short where it is a time, else as typed.
    fn lap(&self, short: bool) -> String {
        let Some(lap) = self.outing.lap else { return String::new() };
        let time = lap.split_whitespace().next().filter(|_| short).and_then(lap_time);
        time.unwrap_or_else(|| first_line(lap))
    }

    fn year(&self) -> String {
        self.outing.record.outing.date.day().chars().take(4).collect()
    }

    fn day(&self) -> String {
        self.outing.record.outing.date.day_of_the_month()
    }

    fn session(&self) -> String {
        self.outing.session.map(first_line).unwrap_or_default()
    }

    /// A dash in a list where it is missing: an empty one under others reads as the same again.
    fn place(&self, missing: &str) -> String {
        self.outing.place.map_or_else(|| missing.to_owned(), first_line)
    }

    fn place_and_session(&self, dash: bool) -> String {
        let place = self.place(if dash { "-" } else { "" });
        [place, self.session()].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
    }

    fn air(&self) -> String {
        let air = self.outing.record.outing.air.as_ref().and_then(|air| air.air().ok());
        air.map(|air| fixed(air.relative_density_percent(), 1)).unwrap_or_default()
    }

    /// The setup's number, with a question mark where a lean run may have been on another one.
    fn setup(&self) -> String {
        let mark = if is_setup_open(&self.outing.record.outing) { "?" } else { "" };
        self.outing.setup.map(|number| format!("{number}{mark}")).unwrap_or_default()
    }

    /// Main jet, clip and pilot jet, the cylinders in one of `orders`.
    fn jets(&self, orders: &[Vec<String>]) -> String {
        self.ran.jets(orders)
    }

    /// With its beginning of the id: what was read and said of it.
    fn told(&self) -> String {
        let outing = self.outing;
        let id: String = outing.id.chars().take(4).collect();
        let mut parts = vec![format!("{id}  {}", outing.record.outing.date.short())];
        parts.extend(outing.plug.map(|plug| format!("plug {}", first_line(plug))));
        parts.extend(outing.notes.or(outing.feel).map(|notes| format!("\"{}\"", first_line(notes))));
        parts.join(" | ")
    }
}
