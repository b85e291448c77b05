//! The jetting over a grid of airs, for the lid of a toolbox.

pub(in crate::report) mod cell;
pub(in crate::report) mod paper;
pub(in crate::report) mod plan;

use std::collections::BTreeSet;
use std::io::Write;

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::cylinder::{at_cylinder, cylinders_called, said_of_all, said_of_several};
use crate::notebook::fields::names::visible;
use crate::quantity::nearly_equal;
use crate::report::air::list::finish;
use crate::report::jetting::in_part::InPart;
use crate::report::out::cells::cell as as_written;
use crate::report::out::each::OfCylinders;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::words::layout::{capital, table};
use cell::{ABOVE_THE_LIMIT, CardCell, HELD, cell_heads, jets_words};

/// The jetting over a grid of airs.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CardAnswer {
    /// Folder name of the bike.
    pub bike: String,
    /// Number of the setup it starts from.
    #[schemars(range(min = 1))]
    pub baseline: u32,
    /// Temperatures across, as typed.
    pub temperatures: Vec<String>,
    /// What stands down the side.
    pub down: CardSide,
    /// The rows, in the order they were asked for.
    pub rows: Vec<CardRow>,
    /// What holds in every cell, in words: humidity, sea-level pressure.
    pub air: String,
    /// How much is theory and how much record, in words.
    pub record: String,
    /// What stands before it, in words: what is held, what differs on the bike from that setup; null where there is nothing.
    pub moved_on: Option<String>,
    /// What forbids anything leaner, or is to be cleared up before it is run, in words; null where nothing does.
    pub held: Option<String>,
    /// The cautions.
    pub cautions: Vec<String>,
}

/// What stands down the side of a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CardSide {
    /// The height of the track above the sea.
    Elevation,
    /// The barometer at the track.
    Pressure,
}

impl CardSide {
    /// Its name in an answer.
    pub fn name(self) -> &'static str {
        match self {
            Self::Elevation => "elevation",
            Self::Pressure => "pressure",
        }
    }
}

/// A row of the card.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CardRow {
    /// Elevation of the row, as typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    elevation: Option<String>,
    /// Pressure of the row, as typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    pressure: Option<String>,
    /// A cell for each temperature.
    cells: Vec<CardCell>,
}

impl CardRow {
    /// A row with its head as typed.
    pub fn new(down: CardSide, head: &str, cells: Vec<CardCell>) -> Self {
        let head_of = |side: CardSide| (down == side).then(|| head.to_owned());
        Self { elevation: head_of(CardSide::Elevation), pressure: head_of(CardSide::Pressure), cells }
    }

    /// Its cells, one for each temperature.
    pub(super) fn cells(&self) -> &[CardCell] {
        &self.cells
    }

    pub(super) fn head(&self) -> &str {
        self.elevation.as_deref().or(self.pressure.as_deref()).unwrap_or_default()
    }
}

impl CardAnswer {
    fn cells(&self) -> impl Iterator<Item = &CardCell> {
        self.rows.iter().flat_map(|row| &row.cells)
    }

    /// For the lid of a toolbox.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.grids(None, screen);
        lines.push(screen.wrap(&self.record, 2));
        lines.push(screen.wrap(&format!("CAUTION  {}", self.cautions.join(" ")), 9));
        lines.join("\n")
    }

    /// The heading and the grids; `cylinders` is whose they are where there are several.
    fn grids(&self, cylinders: Option<&[&str]>, screen: &Screen) -> Vec<String> {
        let injected = self.cells().any(CardCell::is_injected);
        let what = if injected { "trim of the whole map in %" } else { jets_words(self.cells()) };
        let at = cylinders.map(|names| format!(", {}", cylinders_called(names))).unwrap_or_default();
        let head = format!("{}{at}: {what}, from setup {}", self.bike, self.baseline);
        let mut lines = vec![screen.strong(&screen.wrap(&head, 2))];
        lines.extend(self.moved_on.iter().map(|words| screen.wrap(words, 2)));
        lines.push(screen.wrap(&format!("  {}", self.air), 2));
        lines.push(String::new());
        lines.push(self.grid(screen, &CardCell::words));
        lines.push(String::new());
        lines.extend(self.screw(screen));
        if self.cells().any(CardCell::lacks_a_main_jet) {
            lines.push(screen.wrap("none: nothing in the box is safe there; do not run it.", 2));
        }
        lines.extend(self.other_needles().map(|words| screen.wrap(&words, 2)));
        if self.cells().any(|cell| cell.above_limit) {
            lines.push(screen.wrap(ABOVE_THE_LIMIT, 2));
        }
        lines.extend(self.cells().find_map(CardCell::in_steps).map(|words| screen.wrap(&words, 2)));
        lines
    }

    /// Which needle a star stands for.
    fn other_needles(&self) -> Option<String> {
        let others = self.cells().filter(|cell| cell.other_needle);
        let named: BTreeSet<&str> = others.filter_map(|cell| cell.needle.as_deref()).collect();
        let all: Vec<String> = named.into_iter().map(visible).collect();
        match all.as_slice() {
            [] => None,
            [only] => Some(format!("*: with needle {only}.")),
            several => Some(format!(
                "*: with another needle, {}; the list by --csv says which where.",
                several.join(" or ")
            )),
        }
    }

    /// The screw: in a grid of its own where it is not the same everywhere.
    fn screw(&self, screen: &Screen) -> Vec<String> {
        let Some(first) = self.cells().next().filter(|cell| cell.screw_turns.is_some()) else {
            return Vec::new();
        };
        let screw = first.screw.unwrap_or("pilot screw");
        let is_same = |cell: &CardCell| {
            cell.screw_turns.zip(first.screw_turns).is_some_and(|(turns, first)| nearly_equal(turns, first))
        };
        if self.cells().all(is_same) {
            return vec![format!("{} {} turns out everywhere.", capital(screw), first.screw_words())];
        }
        vec![format!("{screw}, turns out"), self.grid(screen, &CardCell::screw_words), String::new()]
    }

    /// The grid, in parts where the screen is too narrow for it.
    fn grid(&self, screen: &Screen, words: &dyn Fn(&CardCell) -> String) -> String {
        let widest = self
            .rows
            .iter()
            .flat_map(|row| row.cells.iter().map(|cell| words(cell).chars().count()))
            .chain(self.temperatures.iter().map(|head| head.chars().count()))
            .max()
            .unwrap_or(1);
        let side = self.rows.iter().map(|row| row.head().chars().count()).max().unwrap_or(1);
        let fit = (screen.width().saturating_sub(side.max(self.down.name().len()) + 2) / (widest + 2)).max(1);
        // Parts of one width: a last column by itself would be overlooked.
        let parts = self.temperatures.len().div_ceil(fit).max(1);
        let fit = self.temperatures.len().div_ceil(parts).max(1);
        let columns: Vec<usize> = (0..self.temperatures.len()).collect();
        let blocks: Vec<String> = columns.chunks(fit).map(|part| self.part(part, screen, words)).collect();
        blocks.join("\n\n")
    }

    fn part(&self, columns: &[usize], screen: &Screen, words: &dyn Fn(&CardCell) -> String) -> String {
        let mut head = vec![self.down.name()];
        head.extend(columns.iter().filter_map(|at| self.temperatures.get(*at)).map(String::as_str));
        let rows = self
            .rows
            .iter()
            .map(|row| {
                let cells = columns.iter().filter_map(|at| row.cells.get(*at)).map(words);
                std::iter::once(row.head().to_owned()).chain(cells).collect()
            })
            .collect();
        let right: Vec<usize> = (0..head.len()).collect();
        table(&head, rows, &right, screen.width())
    }

    /// As CSV, a line for each cell.
    pub fn csv(&self, out: impl Write) -> Result<(), Trouble> {
        csv(&[(None, self)], out)
    }
}

impl InPart<CardAnswer> {
    /// For the lid of a toolbox: a grid of each cylinder, one where all have the same jets.
    pub fn text(&self, screen: &Screen) -> String {
        let bike = self.each.0.first().map_or("", |(_, card)| &card.bike);
        let mut lines = self.stops(bike, screen);
        lines.extend(self.each.lines(self.is_whole(), screen));
        lines.join("\n")
    }
}

impl OfCylinders<CardAnswer> {
    fn lines(&self, of_all: bool, screen: &Screen) -> Vec<String> {
        let mut groups = self.groups(|card| card.grids(None, screen));
        let mut lines = match groups.as_mut_slice() {
            [(lines, ..)] if of_all => std::mem::take(lines),
            several => several
                .iter()
                .flat_map(|(_, names, card)| [card.grids(Some(names), screen), vec![String::new()]].concat())
                .collect(),
        };
        let records = said_of_several(&self.of_each(|card| vec![card.record.clone()]), |name, record| {
            at_cylinder(name, record)
        });
        lines.extend(records.iter().map(|record| screen.wrap(record, 2)));
        let cautions = said_of_all(&self.of_each(|card| card.cautions.clone()), |_, caution| caution.clone());
        lines.push(screen.wrap(&format!("CAUTION  {}", cautions.join(" ")), 9));
        lines
    }

    /// As CSV, a line for each cell of each cylinder.
    pub fn csv(&self, out: impl Write) -> Result<(), Trouble> {
        let cards: Vec<_> =
            self.of_each(|card| card).into_iter().map(|(name, card)| (Some(name), card)).collect();
        csv(&cards, out)
    }
}

fn csv(cards: &[(Option<&str>, &CardAnswer)], out: impl Write) -> Result<(), Trouble> {
    let mut writer = csv::Writer::from_writer(out);
    let Some((cylinder, first)) = cards.first() else { return Ok(()) };
    let heads = cylinder.map(|_| "cylinder").into_iter().chain(["temperature", first.down.name()]);
    finish(writer.write_record(heads.chain(cell_heads()).chain([HELD])))?;
    for (cylinder, card) in cards {
        for row in &card.rows {
            for (temperature, cell) in card.temperatures.iter().zip(&row.cells) {
                let head = cylinder.map(str::to_owned).into_iter();
                let cells = head.chain([temperature.clone(), row.head().to_owned()]).chain(cell.csv());
                let cells = cells.chain([card.held.clone().unwrap_or_default()]);
                finish(writer.write_record(cells.map(|cell| as_written(&cell).into_owned())))?;
            }
        }
    }
    finish(writer.flush().map_err(csv::Error::from))
}
