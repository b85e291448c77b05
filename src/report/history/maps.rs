//! A map: its cells, what of it is worth a look, and what a shaping of it changes.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::cylinder::common;
use crate::notebook::fields::names::visible;
use crate::notebook::{MapTable, Region, Remark, RemarkKind, ShapeError};
use crate::report::draw::heat::{difference_table, map_table};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::words::cells::{CellDifference, differing};
use crate::store::Recorded;

pub(in crate::report) use crate::report::words::cells::decimals_between;

/// What was done with a map.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MapDeed {
    /// It is shown.
    Shown,
    /// It was held against the limits.
    Checked,
    /// It was changed, or would be.
    Changed,
    /// It was written to a file.
    Saved,
}

/// A map, and what there is to say of it.
#[derive(Debug)]
pub struct MapReport<'a> {
    /// The bike.
    pub bike: &'a str,
    /// "now" or "setup 12".
    pub setup: String,
    /// "ignition.advance" or "injection.fuel".
    pub field: &'a str,
    /// Unit of the cells: "deg", "ms", "mg" or "percent".
    pub unit: String,
    /// What was done.
    pub deed: MapDeed,
    /// What was done, in words: "shifted by -1.5 from 9,000 to 12,000 rpm".
    pub doing: String,
    /// The map.
    pub map: &'a MapTable,
    /// What it is held against or was before, and how that is called.
    pub old: Option<(String, &'a MapTable)>,
    /// What it was held against, in words.
    pub held: Vec<String>,
    /// What is worth a look.
    pub found: Vec<Remark>,
    /// What was not looked at, and why.
    pub not_checked: Vec<String>,
    /// What else should be known.
    pub notes: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// The file it was written to.
    pub file: Option<String>,
    /// What was recorded.
    pub recorded: Option<&'a Recorded>,
}

/// A map of the ignition or of the fuel, and what was found in it or changed of it.
#[derive(Debug, Serialize, JsonSchema)]
pub struct MapAnswer<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// The setup as it is called: now, or setup and its number.
    setup: String,
    /// Dotted field of the map: ignition.advance or injection.fuel, behind the name of the cylinder whose own it is.
    #[schemars(extend("pattern" = "^(.+\\.)?(ignition\\.advance|injection\\.fuel)$"))]
    field: &'a str,
    /// Unit of the cells: degrees as the map means them, milliseconds, milligrams, percent, or empty when it is not written down.
    #[schemars(extend("enum" = ["deg", "ms", "mg", "percent", ""]))]
    unit: String,
    /// The map: as it is, or as it was shaped.
    map: MapCells<'a>,
    /// What `cells` is held against, in words; null when nothing is.
    against: Option<String>,
    /// Cells that differ, read at the breakpoints of both maps.
    cells: Vec<CellDifference>,
    /// What is worth a look: everything with `check`; only what is new with a map that was shaped or read.
    found: Vec<FoundInMap>,
    /// The limits it was held against, in words, with where they are from; with `check` only.
    held_against: Vec<String>,
    /// What was not looked at, and why; with `check` only.
    not_checked: Vec<String>,
    /// What else should be known.
    remarks: Vec<String>,
    /// Cautions: what in this can harm the engine.
    cautions: Vec<String>,
    /// The file that the map was written to; null when it was not.
    file: Option<String>,
    /// Number of the setup that was recorded; null when nothing was.
    #[schemars(range(min = 1))]
    recorded: Option<u32>,
    /// What was done.
    #[serde(skip)]
    deed: MapDeed,
    /// What was done, in words.
    #[serde(skip)]
    doing: String,
    /// What it is held against or was before.
    #[serde(skip)]
    old: Option<&'a MapTable>,
}

/// The cells of a map with their breakpoints.
#[derive(Debug, Serialize, JsonSchema)]
struct MapCells<'a> {
    /// Engine speeds, revolutions per minute, ascending.
    rpm: &'a [f64],
    /// Throttle openings, percent, ascending; empty for a map over engine speed alone.
    throttle: &'a [f64],
    /// The cells, in the unit of the cells: a row for each throttle opening, or a single one.
    rows: Vec<Vec<Figure<6>>>,
    /// The whole map.
    #[serde(skip)]
    table: &'a MapTable,
}

/// Something in a map that is worth a look.
#[derive(Debug, Serialize, JsonSchema)]
struct FoundInMap {
    /// Its sort.
    kind: RemarkWord,
    /// From which engine speed to which, revolutions per minute; null for all.
    rpm: Option<[f64; 2]>,
    /// From which throttle opening to which, percent; null for all.
    throttle: Option<[f64; 2]>,
    /// What was found: a gap in revolutions per minute, a step in the cells' unit for each 1000 revolutions per minute or 10 % of throttle, an advance in degrees before top dead centre as it fires.
    found: Figure<6>,
    /// The limit, likewise; null when there is none.
    limit: Option<Figure<6>>,
    /// All of it as a sentence.
    sentence: String,
}

/// The sort of something that is worth a look.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
enum RemarkWord {
    /// Breakpoints that do not ascend.
    Order,
    /// A map of fewer than two engine speeds.
    SinglePoint,
    /// Rows that do not fit the axes.
    Ragged,
    /// Too far from one engine speed to the next.
    Gap,
    /// Too steep from one engine speed to the next.
    SteepOverSpeed,
    /// Too steep from one throttle opening to the next.
    SteepOverThrottle,
    /// Cells above the highest allowed.
    TooHigh,
    /// Cells below the lowest allowed.
    TooLow,
}

impl<'a> MapReport<'a> {
    /// The answer.
    pub fn answer(self) -> MapAnswer<'a> {
        let (against, old) = self.old.unzip();
        MapAnswer {
            bike: self.bike,
            setup: self.setup,
            field: self.field,
            unit: self.unit,
            map: MapCells::of(self.map),
            against,
            cells: old.map(|old| differing(old, self.map)).unwrap_or_default(),
            found: self.found.into_iter().map(FoundInMap::of).collect(),
            held_against: self.held,
            not_checked: self.not_checked,
            remarks: self.notes,
            cautions: self.cautions,
            file: self.file,
            recorded: self.recorded.map(|recorded| recorded.setup.number),
            deed: self.deed,
            doing: self.doing,
            old,
        }
    }
}

impl<'a> MapCells<'a> {
    fn of(table: &'a MapTable) -> Self {
        let rows = table.rows.iter().map(|row| row.iter().copied().map(Figure).collect());
        Self { rpm: &table.rpm, throttle: &table.throttle, rows: rows.collect(), table }
    }
}

impl MapAnswer<'_> {
    /// For a person; what was recorded is told where changes are.
    pub fn text(&self, screen: &Screen) -> String {
        let called = |what: &str| format!("{}, {}: {what}", self.bike, self.setup);
        let heading = match self.deed {
            MapDeed::Saved => {
                format!("{} written to {}", called(self.field), self.file.as_deref().unwrap_or("-"))
            }
            MapDeed::Changed => called(&format!("{} {}", self.field, self.doing)),
            MapDeed::Shown | MapDeed::Checked => called(self.field),
        };
        let mut lines = vec![screen.strong(&screen.wrap(&visible(&heading), 2))];
        match (self.deed, self.old.zip(self.against.as_ref())) {
            (MapDeed::Saved | MapDeed::Checked, _) => {}
            (_, Some((old, name))) => {
                let how = if common(self.field) == "ignition.advance" { "earlier" } else { "more fuel" };
                lines.push(format!("against {name}, {}: + is {how}", self.unit_words()));
                lines.push(String::new());
                let decimals = decimals_between(old, self.map.table);
                lines.push(difference_table(
                    old,
                    self.map.table,
                    decimals,
                    screen.width(),
                    screen.coloured(),
                ));
            }
            (_, None) => {
                lines.push(self.unit_words().to_owned());
                lines.push(String::new());
                lines.push(map_table(self.map.table, screen.width()));
            }
        }
        if self.deed == MapDeed::Checked {
            lines.extend(self.held_against.iter().map(|one| screen.wrap(&format!("  {}", visible(one)), 4)));
            lines.extend(self.findings(screen));
        }
        if self.deed == MapDeed::Changed {
            lines.push(String::new());
            lines.extend(self.warnings(screen));
            let same = self.old.is_some_and(|old| old.same_as(self.map.table));
            let end = if same { "Nothing to record." } else { "Not recorded; --record records it." };
            lines.push(end.into());
        }
        lines.join("\n")
    }

    /// What should be known of a change, recorded or not.
    pub fn warnings(&self, screen: &Screen) -> Vec<String> {
        let found = self.found.iter().map(|one| one.sentence.as_str());
        let notes = found.chain(self.remarks.iter().map(String::as_str));
        let mut lines: Vec<String> = notes.map(|note| screen.known(note)).collect();
        if !self.cautions.is_empty() {
            let caution = format!("CAUTION  {}", self.cautions.join(" "));
            lines.push(screen.strong(&screen.wrap(&caution, 9)));
        }
        lines
    }

    fn findings(&self, screen: &Screen) -> Vec<String> {
        let mut lines = vec![String::new()];
        lines.extend(self.found.iter().map(|one| screen.wrap(&one.sentence, 2)));
        if self.found.is_empty() {
            lines.push("Nothing to look at.".into());
        }
        if !self.not_checked.is_empty() {
            lines.push(String::new());
            lines.push("Not checked:".into());
            lines.extend(self.not_checked.iter().map(|one| screen.wrap(&format!("  {}", visible(one)), 4)));
        }
        lines
    }

    /// The unit of the cells, as a mechanic says it.
    fn unit_words(&self) -> &str {
        match self.unit.as_str() {
            "deg" => "degrees",
            "ms" => "milliseconds",
            "mg" => "milligrams",
            "percent" => "percent",
            "" => "unit not written down",
            other => other,
        }
    }
}

impl From<RemarkKind> for RemarkWord {
    fn from(kind: RemarkKind) -> Self {
        match kind {
            RemarkKind::Order => Self::Order,
            RemarkKind::SinglePoint => Self::SinglePoint,
            RemarkKind::Ragged => Self::Ragged,
            RemarkKind::Gap => Self::Gap,
            RemarkKind::SteepOverSpeed => Self::SteepOverSpeed,
            RemarkKind::SteepOverThrottle => Self::SteepOverThrottle,
            RemarkKind::TooHigh => Self::TooHigh,
            RemarkKind::TooLow => Self::TooLow,
        }
    }
}

impl FoundInMap {
    fn of(remark: Remark) -> Self {
        let Region { rpm, throttle } = remark.place;
        Self {
            kind: remark.kind.into(),
            rpm: rpm.map(<[f64; 2]>::from),
            throttle: throttle.map(<[f64; 2]>::from),
            found: Figure(remark.found),
            limit: remark.limit.map(Figure),
            sentence: remark.sentence,
        }
    }
}

impl From<ShapeError> for Trouble {
    fn from(error: ShapeError) -> Self {
        Self::request(None, error.to_string(), error.help())
    }
}
