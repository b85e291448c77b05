//! Runs in a table, one a line: when, where, in what air, on what, and how it ran.

use schemars::JsonSchema;
use serde::Serialize;

use super::brief::{full_sign, sign};
use crate::advice::runs::{Run, asked, lap_seconds};
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::history::outing::OutingEntry;
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{first_line, signed, table};

/// Below so many columns a run is a stanza: the day on its own line, facts under it.
pub(super) const NARROW: usize = 60;

/// The signs of a verdict, in words.
pub(super) const SIGNS: &str = "<< lean  < slightly lean  = right  > slightly rich  >> rich";

/// What was on the bike in a run.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct Ran {
    /// Engine that was in the bike; null where the setup is not known.
    engine: Option<String>,
    /// Main jet, as typed.
    main: Option<String>,
    /// Groove of the needle's clip from the top, as typed.
    clip: Option<String>,
    /// Pilot jet, as typed.
    pilot: Option<String>,
    /// Base setting of the spark, as typed, with its unit.
    spark: Option<String>,
    /// Best lap, seconds; null where what was typed is no time.
    lap_s: Option<Figure<3>>,
    /// Fields that were asked about, with what they were in this run.
    asked: Vec<Asked>,
}

/// A field that was asked about.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct Asked {
    /// Dotted field, like jetting.needle.
    pub(super) field: String,
    /// What it was, as typed; null where there was nothing.
    pub(super) value: Option<String>,
}

impl Ran {
    pub(super) fn of(run: Run<'_>, fields: &[String]) -> Self {
        let text = |field: &str| run.fitted.text(field);
        Self {
            engine: text("engine"),
            main: text("jetting.main"),
            clip: text("jetting.clip"),
            pilot: text("jetting.pilot"),
            spark: text("ignition.base"),
            lap_s: run.record.outing.lap.as_deref().and_then(lap_seconds).map(Figure),
            asked: fields
                .iter()
                .map(|field| Asked { field: field.clone(), value: asked(run, field) })
                .collect(),
        }
    }
}

/// One run with what was on the bike.
#[derive(Clone, Copy)]
pub(super) struct Row<'a> {
    pub(super) outing: &'a OutingEntry<'a>,
    pub(super) ran: &'a Ran,
    /// How far its air is off the air asked for, percent.
    pub(super) off: Option<f64>,
}

/// Columns that show these fields already.
const SHOWN: [&str; 10] = [
    "date",
    "place",
    "engine",
    "jetting.main",
    "jetting.clip",
    "jetting.pilot",
    "ignition.base",
    "verdict.full",
    "verdict.three_quarters",
    "verdict.half",
];

/// Runs as they are shown: which columns there are.
pub(super) struct Runs<'a> {
    pub(super) rows: Vec<Row<'a>>,
    /// Whether the bike is a column: runs of several are shown.
    pub(super) bikes: bool,
}

/// A column: its head, whether it holds figures, and the cell of a run.
struct Column<'a> {
    head: String,
    right: bool,
    cell: Box<dyn Fn(&Row<'_>) -> String + 'a>,
}

impl Runs<'_> {
    /// The table; a stanza for each run on a narrow screen; notes and ids with `-v`.
    pub(super) fn text(&self, screen: &Screen) -> String {
        if screen.width() < NARROW { self.stanzas(screen) } else { self.lines(screen) }
    }

    fn lines(&self, screen: &Screen) -> String {
        let columns: Vec<Column<'_>> = self.columns().into_iter().filter(|one| self.holds(one)).collect();
        let heads: Vec<&str> = columns.iter().map(|one| one.head.as_str()).collect();
        let right: Vec<usize> =
            columns.iter().enumerate().filter(|(_, one)| one.right).map(|(at, _)| at).collect();
        let cells = |row: &Row<'_>| columns.iter().map(|one| (one.cell)(row)).collect::<Vec<_>>();
        let rows = self.rows.iter().map(cells).collect();
        let text = table(&heads, rows, &right, screen.width());
        if !screen.verbose() {
            return text;
        }
        let notes = self.rows.iter().map(|row| screen.wrap(&row.told(), 2));
        std::iter::once(text)
            .chain(std::iter::once(String::new()))
            .chain(notes)
            .collect::<Vec<_>>()
            .join("\n")
    }

    /// Whether a column says anything at all.
    fn holds(&self, column: &Column<'_>) -> bool {
        self.rows.iter().any(|row| !(column.cell)(row).is_empty())
    }

    fn columns(&self) -> Vec<Column<'_>> {
        let column = |head: &str, right: bool, cell: Box<dyn Fn(&Row<'_>) -> String>| Column {
            head: head.to_owned(),
            right,
            cell,
        };
        let mut columns = Vec::new();
        if self.bikes {
            columns.push(column("bike", false, Box::new(|row| visible(&row.outing.record.bike))));
        }
        columns.push(column("day", false, Box::new(|row| row.day())));
        columns.push(column("place", false, Box::new(|row| row.place())));
        columns.push(column("air %", true, Box::new(|row| row.air())));
        columns.push(column(
            "off %",
            true,
            Box::new(|row| row.off.map(|off| signed(off, 1)).unwrap_or_default()),
        ));
        columns.push(column("engine", false, Box::new(|row| said(row.ran.engine.as_ref()))));
        columns.push(column("setup", true, Box::new(|row| row.setup())));
        columns.push(column("jets", false, Box::new(|row| row.jets())));
        columns.push(column("spark", false, Box::new(|row| said(row.ran.spark.as_ref()))));
        columns.extend(self.fields().into_iter().map(|(at, head)| Column {
            head,
            right: false,
            cell: Box::new(move |row: &Row<'_>| {
                said(row.ran.asked.get(at).and_then(|asked| asked.value.as_ref()))
            }),
        }));
        columns.push(column("full 3/4 1/2", false, Box::new(|row| row.verdict())));
        columns.push(column("lap", true, Box::new(|row| row.outing.lap.map(first_line).unwrap_or_default())));
        columns
    }

    /// Fields that were asked about and stand in no column of their own.
    fn fields(&self) -> Vec<(usize, String)> {
        let Some(first) = self.rows.first() else { return Vec::new() };
        let asked = first.ran.asked.iter().enumerate();
        asked
            .filter(|(_, one)| !SHOWN.contains(&one.field.as_str()) && one.field != "lap")
            .map(|(at, one)| (at, visible(&one.field)))
            .collect()
    }

    /// For a narrow screen: the day and the place on a line of their own, facts under them.
    fn stanzas(&self, screen: &Screen) -> String {
        let fields = self.fields();
        let stanza = |row: &Row<'_>| {
            let bike =
                if self.bikes { format!("{}  ", visible(&row.outing.record.bike)) } else { String::new() };
            let mut facts = Vec::new();
            let mut put = |name: &str, text: String| {
                if !text.trim().is_empty() {
                    facts.push(if name.is_empty() { text } else { format!("{name} {text}") });
                }
            };
            put("", row.place());
            put(
                "air",
                Some(row.air())
                    .filter(|air| !air.is_empty())
                    .map(|air| format!("{air} %"))
                    .unwrap_or_default(),
            );
            put("off", row.off.map(|off| format!("{} %", signed(off, 1))).unwrap_or_default());
            put("setup", row.setup());
            put("engine", said(row.ran.engine.as_ref()));
            put("jets", row.jets());
            put("spark", said(row.ran.spark.as_ref()));
            for (at, head) in &fields {
                put(head, said(row.ran.asked.get(*at).and_then(|asked| asked.value.as_ref())));
            }
            put("full", full_sign(&row.outing.record.outing));
            put("3/4", sign(row.outing.verdict.three_quarters));
            put("1/2", sign(row.outing.verdict.half));
            put("lap", row.outing.lap.map(first_line).unwrap_or_default());
            let mut text =
                format!("{bike}{}\n{}", row.day(), screen.wrap(&format!("  {}", facts.join(", ")), 2));
            if screen.verbose() {
                text.push_str(&format!("\n{}", screen.wrap(&format!("  {}", row.told()), 2)));
            }
            text
        };
        self.rows.iter().map(stanza).collect::<Vec<_>>().join("\n")
    }
}

fn said(text: Option<&String>) -> String {
    text.map(|text| visible(text)).unwrap_or_default()
}

impl Row<'_> {
    fn day(&self) -> String {
        self.outing.record.outing.date.day()
    }

    fn place(&self) -> String {
        let place = [self.outing.place, self.outing.session].into_iter().flatten().map(first_line);
        place.collect::<Vec<_>>().join(", ")
    }

    fn air(&self) -> String {
        let air = self.outing.record.outing.air.as_ref().and_then(|air| air.air().ok());
        air.map(|air| fixed(air.relative_density_percent(), 1)).unwrap_or_default()
    }

    fn setup(&self) -> String {
        self.outing.setup.map(|number| number.to_string()).unwrap_or_default()
    }

    /// Main jet, clip and pilot jet: "178/2/52.5".
    fn jets(&self) -> String {
        let parts = [&self.ran.main, &self.ran.clip, &self.ran.pilot];
        if parts.iter().all(|part| part.is_none()) {
            return String::new();
        }
        parts.map(|part| part.as_ref().map_or_else(|| "-".to_owned(), |part| visible(part))).join("/")
    }

    /// The signs under the three zones of the head.
    fn verdict(&self) -> String {
        let verdict = &self.outing.verdict;
        let zones = [full_sign(&self.outing.record.outing), sign(verdict.three_quarters), sign(verdict.half)];
        if zones.iter().all(String::is_empty) {
            return String::new();
        }
        let dot = |sign: &String| if sign.is_empty() { ".".to_owned() } else { sign.clone() };
        let [full, three_quarters, half] = zones.each_ref().map(dot);
        // No-break spaces: the signs stand under their zones.
        format!("{full:<4} {three_quarters:<3} {half}").replace(' ', "\u{a0}")
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
