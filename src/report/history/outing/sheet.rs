//! A blank session sheet: a page to fill in with a pen, or the same columns as CSV to be typed in.

use std::io::Write;

use schemars::JsonSchema;
use serde::Serialize;

use super::super::runs::SIGNS;
use crate::advice::cautions::STANDING;
use crate::advice::runs::OnTheBike;
use crate::notebook::fields::names::visible;
use crate::notebook::reading::session_sheet::{BLANK_COLUMNS, BLANK_OF_A_CYLINDER};
use crate::report::Trouble;
use crate::report::out::cells::cell as as_written;
use crate::report::out::glue::GLUE;
use crate::report::out::screen::Screen;
use crate::report::out::width;
use crate::store::BikeJobs;

/// A blank session sheet.
#[derive(Debug, Serialize, JsonSchema)]
pub struct SessionSheetAnswer {
    /// Heads of its columns, in their order.
    columns: Vec<String>,
    /// A page for each bike.
    pub(in crate::report) bikes: Vec<SheetPage>,
    /// How many blank lines each has.
    pub(in crate::report) lines: usize,
    /// Where it is for; null where that is to be written.
    pub(in crate::report) place: Option<String>,
    /// The day it is for; null where that is to be written.
    pub(in crate::report) date: Option<String>,
}

/// The page of a bike.
#[derive(Debug, Serialize, JsonSchema)]
pub struct SheetPage {
    /// Folder name of the bike.
    pub(in crate::report) bike: String,
    /// What is on it as it stands, by field, as typed; what is not known is left out.
    on_it: Vec<OnIt>,
    /// What is still to be done before that is on it; left out where nothing is.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(in crate::report) to_do: Vec<String>,
    /// The names of its cylinders, where it has several.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(in crate::report) cylinders: Vec<String>,
}

/// Something that is on the bike.
#[derive(Debug, Serialize, JsonSchema)]
struct OnIt {
    /// What it is called at the bike.
    what: &'static str,
    /// As typed; where cylinders have it otherwise, each one's, with their names in the same order.
    value: String,
}

/// What a page says of the bike as it stands.
const ON_IT: [(&str, &str); 8] = [
    ("main", "jetting.main"),
    ("needle", "jetting.needle"),
    ("clip", "jetting.clip"),
    ("pilot", "jetting.pilot"),
    ("screw", "jetting.air_screw"),
    ("trim", "injection.trim"),
    ("spark", "ignition.base"),
    ("fuel", "fuel.name"),
];

/// What is written with a pen in the first line of a run, with the columns it takes.
pub(in crate::report) const FIRST: [(&str, usize); 14] = [
    ("time", 5),
    ("session", 9),
    ("temp", 4),
    ("baro", 5),
    ("hum", 3),
    ("full", 4),
    ("3/4", 4),
    ("1/2", 4),
    ("1/4", 4),
    ("1/8", 4),
    ("idle", 4),
    ("lap", 7),
    ("hours", 5),
    ("setup", 5),
];
/// And in the second.
pub(in crate::report) const SECOND: [(&str, usize); 3] = [("plug", 14), ("piston", 14), ("notes", 26)];

/// What is written of one of several cylinders.
pub(in crate::report) const OF_A_CYLINDER: [(&str, usize); 3] = [("full", 4), ("plug", 14), ("piston", 14)];

/// What a figure is in, on paper as in the sheet.
pub(in crate::report) const UNITS: &str =
    "Figures with their units: 24 C or 75 F, 1008 hPa or 29.8 inHg, 18 min or 0.3 h; humidity in %.";

/// What stands before the jobs that are open: until they are done, what is on it is as the line above says.
pub(in crate::report) const TO_DO: &str = "To do before it runs:";

/// What can hurt between two runs.
pub(in crate::report) const READ_FIRST: &str =
    "Read the plug before the next full throttle; after a lean run, stop.";

impl SheetPage {
    /// What is on the bike, in words.
    pub(in crate::report) fn on_it(&self) -> Vec<String> {
        self.on_it.iter().map(|one| format!("{} {}", one.what, visible(&one.value))).collect()
    }

    /// A bike with what is on it, and its jobs.
    pub fn of(bike: &str, (fitted, jobs): (&OnTheBike, &BikeJobs), cylinders: Vec<String>) -> Self {
        let names = fitted.cylinders();
        // A jet is for one carburetor: which is said with it.
        let named = |value: String| {
            let differs = names.len() > 1 && value.split('/').count() == names.len();
            if differs { format!("{value} ({})", names.join("/")) } else { value }
        };
        let on_it =
            ON_IT.iter().filter_map(|(what, field)| Some(OnIt { what, value: named(fitted.text(field)?) }));
        let to_do = jobs.open().map(|job| job.item.what.clone()).collect();
        Self { bike: bike.to_owned(), on_it: on_it.collect(), to_do, cylinders }
    }
}

impl SessionSheetAnswer {
    /// A sheet of so many lines for each bike.
    pub fn new(bikes: Vec<SheetPage>, lines: usize, place: Option<String>, date: Option<String>) -> Self {
        let mut columns: Vec<String> = BLANK_COLUMNS.map(str::to_owned).to_vec();
        // What is seen at each of several cylinders stands behind what is said of all.
        for head in BLANK_OF_A_CYLINDER {
            let at = columns.iter().position(|column| column == head).map_or(columns.len(), |at| at + 1);
            let mut own: Vec<String> = Vec::new();
            for name in bikes.iter().flat_map(|page| &page.cylinders) {
                let column = format!("{name} {head}");
                if !own.contains(&column) {
                    own.push(column);
                }
            }
            columns.splice(at..at, own);
        }
        Self { columns, bikes, lines, place, date }
    }

    /// The bikes it is of.
    pub fn of(&self) -> Vec<String> {
        self.bikes.iter().map(|page| page.bike.clone()).collect()
    }

    /// A page for the pen.
    pub fn text(&self, screen: &Screen) -> String {
        let pages = self.bikes.iter().map(|page| self.page(screen, page));
        pages.chain([legend(screen)]).collect::<Vec<_>>().join("\n\n")
    }

    fn page(&self, screen: &Screen, page: &SheetPage) -> String {
        let blank =
            |text: &Option<String>, columns| text.as_deref().map_or_else(|| "_".repeat(columns), visible);
        let title = format!(
            "{}   place{GLUE}{}   date{GLUE}{}",
            visible(&page.bike),
            blank(&self.place, 20),
            blank(&self.date, 10)
        );
        let mut lines = vec![screen.strong(&screen.wrap(&title, 2))];
        let on_it: Vec<String> = page.on_it().iter().map(|one| whole(one)).collect();
        if !on_it.is_empty() {
            lines.push(screen.wrap(&format!("on it: {}", on_it.join(", ")), 2));
        }
        if !page.to_do.is_empty() {
            let to_do: Vec<String> = page.to_do.iter().map(|what| visible(what)).collect();
            lines.push(screen.known(format!("{TO_DO} {}.", to_do.join("; "))));
        }
        let wide = FIRST.iter().map(|(_, columns)| columns + 1).sum::<usize>() <= screen.width() + 1;
        if wide {
            lines.push(String::new());
            lines.push(
                FIRST
                    .iter()
                    .map(|(head, columns)| width::padded(head, *columns))
                    .collect::<Vec<_>>()
                    .join(" ")
                    .trim_end()
                    .to_owned(),
            );
        }
        for _ in 0..self.lines {
            lines.push(String::new());
            lines.push(if wide { ruled() } else { named(screen, &FIRST) });
            lines.push(named(screen, &SECOND));
            for name in &page.cylinders {
                lines.push(of_a_cylinder(screen, name));
            }
        }
        lines.join("\n")
    }

    /// The same columns for a spreadsheet: lines with the bike, and what else is known, and nothing beside it.
    pub fn csv(&self, out: impl Write) -> Result<(), Trouble> {
        let mut writer = csv::Writer::from_writer(out);
        crate::report::air::list::finish(writer.write_record(&self.columns))?;
        for page in &self.bikes {
            for _ in 0..self.lines {
                let filled = |column: &String| match column.as_str() {
                    "bike" => page.bike.clone(),
                    "date" => self.date.clone().unwrap_or_default(),
                    "place" => self.place.clone().unwrap_or_default(),
                    _ => String::new(),
                };
                let cells = self.columns.iter().map(filled).map(|text| as_written(&text).into_owned());
                crate::report::air::list::finish(writer.write_record(cells))?;
            }
        }
        crate::report::air::list::finish(writer.flush().map_err(csv::Error::from))
    }
}

/// What the signs are, what figures are in, and all the cautions: on paper nobody can ask for them. Once, behind all bikes.
fn legend(screen: &Screen) -> String {
    let signs: Vec<String> = SIGNS.split("  ").map(whole).collect();
    [
        screen.wrap(&signs.join("  "), 2),
        screen.wrap(UNITS, 2),
        screen.known(READ_FIRST),
        screen.wrap(&format!("CAUTION  {}", STANDING.join(" ")), 2),
    ]
    .join("\n")
}

/// A text that no line breaks.
fn whole(text: &str) -> String {
    text.replace(' ', &GLUE.to_string())
}

/// A line for each thing that is written, side by side.
fn ruled() -> String {
    FIRST.iter().map(|(_, columns)| "_".repeat(*columns)).collect::<Vec<_>>().join(" ")
}

/// What is written of one of several cylinders, where it differs.
fn of_a_cylinder(screen: &Screen, name: &str) -> String {
    let one = |(head, columns): &(&str, usize)| format!("{head}{GLUE}{}", "_".repeat(*columns));
    let fields: Vec<String> = OF_A_CYLINDER.iter().map(one).collect();
    screen.wrap(&format!("  {}: {}", visible(name), fields.join(" ")), 4)
}

/// The same with its name before each, as many on a line as have room.
fn named(screen: &Screen, fields: &[(&str, usize)]) -> String {
    let one = |(head, columns): &(&str, usize)| format!("{head}{GLUE}{}", "_".repeat(*columns));
    screen.wrap(&format!("  {}", fields.iter().map(one).collect::<Vec<_>>().join(" ")), 2)
}
