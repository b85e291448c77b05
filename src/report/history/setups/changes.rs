//! Changes of fields, for every answer that tells of some: by section, maps cell by cell, longer texts line by line.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::called::called;
use crate::notebook::fields::cylinder::common;
use crate::notebook::fields::meaning::{Hurts, When};
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::restoring::on_the_bike::is_done_by_hand;
use crate::notebook::{
    CellChange, Change, Combination, Comparison, MapDifference, ProseSign, Value, section_of,
};
use crate::quantity::{fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{count, grouped, signed, table};

/// Cells of a map that are shown one by one; with more only the sentence and the first ones are.
const CELLS_SHOWN: usize = 24;

/// Fields of another engine that are shown one by one; more are counted.
const FEW_OF_AN_ENGINE: usize = 4;

/// Fields of which a percentage says something: what fuel goes through, and how much is in it.
const PERCENT: [&str; 3] = ["jetting.main", "jetting.pilot", "fuel.density"];

/// Sections in the order in which a mechanic asks of them; others after these.
const SECTIONS: [&str; 7] = ["jetting", "injection", "fuel", "ports", "head", "pipe", "gearing"];

/// One field that differs.
#[derive(Debug, Serialize, JsonSchema)]
pub(in crate::report::history) struct FieldChange<'a> {
    /// Dotted field, like jetting.main.
    field: &'a str,
    /// Value on the older side with its unit, as typed; null when there was none.
    old: Option<String>,
    /// Value on the newer side with its unit, as typed; null when there is none.
    new: Option<String>,
    /// New less old, in `unit`; null when they are no quantities of one sort.
    difference: Option<Figure<6>>,
    /// Unit of the difference; null for plain numbers.
    unit: Option<&'a str>,
    /// Difference in percent of the old value; null where that says nothing.
    percent: Option<Figure<3>>,
    /// The change, with its map or its text.
    #[serde(skip)]
    change: &'a Change,
}

/// A map that differs.
#[derive(Debug, Serialize, JsonSchema)]
pub(in crate::report::history) struct MapChange<'a> {
    /// Dotted field of the map.
    field: &'a str,
    /// The difference in words.
    sentence: &'a str,
    /// Whether breakpoints were put in or taken out.
    axes_changed: bool,
    /// Cells that differ.
    cells: Vec<ChangedCell>,
}

/// One cell of a map that differs.
#[derive(Debug, Serialize, JsonSchema)]
struct ChangedCell {
    /// Engine speed, revolutions per minute.
    rpm: f64,
    /// Throttle opening, percent; null in a map over engine speed alone.
    throttle: Option<f64>,
    /// Cell on the older side, in the map's unit; null when it is not there; between breakpoints as the map reads.
    old: Option<f64>,
    /// Cell on the newer side, likewise.
    new: Option<f64>,
}

impl<'a> FieldChange<'a> {
    /// The fields of a comparison; a map is one of them.
    pub(in crate::report::history) fn all(comparison: &'a Comparison) -> Vec<Self> {
        comparison.changes.iter().map(Self::of).collect()
    }

    fn of(change: &'a Change) -> Self {
        let difference = change.difference.as_ref();
        Self {
            field: &change.field,
            old: change.old.as_ref().map(Value::text),
            new: change.new.as_ref().map(Value::text),
            difference: difference.map(|difference| Figure(difference.value)),
            unit: difference.map(|difference| difference.unit).filter(|unit| !unit.is_empty()),
            percent: difference.and_then(|difference| difference.percent).map(Figure),
            change,
        }
    }

    /// The section of the bike it stands in.
    pub(in crate::report::history) fn section(&self) -> &'a str {
        section_of(self.field)
    }

    /// The dotted field.
    pub(in crate::report::history) fn field(&self) -> &'a str {
        self.field
    }

    /// Whether something is done at the bike for it, in a line of its own or with another's.
    pub(in crate::report::history) fn is_by_hand(&self) -> bool {
        is_done_by_hand(self.change)
    }

    /// In a line, or a few for a text: "exhaust top 26.0 mm → 25.8 mm, higher".
    pub(in crate::report::history) fn in_short(&self, screen: &Screen) -> String {
        if let Some(lines) = prose_lines(self.change) {
            return format!("  {}:\n{lines}", self.field);
        }
        if let Some(map) = &self.change.map {
            return screen.wrap(&format!("  {}: {}", called(self.field), map.sentence), 4);
        }
        let change = match (self.old.as_deref().map(visible), self.new.as_deref().map(visible)) {
            (Some(old), Some(new)) => format!("{old} → {new}{}", direction(self.change)),
            (None, Some(new)) => new,
            (Some(old), None) => format!("{old} → not written"),
            (None, None) => String::new(),
        };
        screen.wrap(&format!("  {} {change}", called(self.field)), 4)
    }

    /// `short` leaves out percentages that say nothing at the bike.
    fn row(&self, section: String, short: bool) -> Vec<String> {
        let text = |value: &Option<String>| value.as_deref().map_or_else(|| "-".to_owned(), visible);
        let change = self.change;
        let difference = match (&change.difference, &change.map) {
            (Some(difference), _) => {
                let percent = difference
                    .percent
                    .filter(|_| !short || PERCENT.contains(&common(self.field)))
                    .map(|percent| format!(" ({} %)", signed(percent, 1)))
                    .unwrap_or_default();
                format!("{} {}{percent}{}", signed(difference.value, difference.decimals), difference.unit, {
                    let turned = direction(change);
                    let hurts = towards_seizure(change).filter(|word| !turned.ends_with(word));
                    format!("{turned}{}", hurts.map(|word| format!(", {word}")).unwrap_or_default())
                })
                .replace(" ,", ",")
                .replace("  ", " ")
                .trim()
                .to_owned()
            }
            (None, Some(map)) => map.sentence.clone(),
            (None, None) => String::new(),
        };
        vec![section, called(self.field), text(&self.old), text(&self.new), difference]
    }
}

impl<'a> MapChange<'a> {
    /// The maps of a comparison.
    pub(in crate::report::history) fn all(comparison: &'a Comparison) -> Vec<Self> {
        let maps = comparison.changes.iter().filter_map(|change| Some((change, change.map.as_ref()?)));
        maps.map(|(change, map)| Self {
            field: &change.field,
            sentence: &map.sentence,
            axes_changed: map.axes_changed,
            cells: map.cells.iter().map(ChangedCell::of).collect(),
        })
        .collect()
    }
}

impl ChangedCell {
    fn of(cell: &CellChange) -> Self {
        let (rpm, throttle) = (cell.place.rpm, cell.place.throttle);
        Self { rpm, throttle, old: cell.old, new: cell.new }
    }
}

/// The changes by section; `sides` are the names of the old and the new column.
pub(in crate::report::history) fn changes_text(
    screen: &Screen,
    changes: &[FieldChange<'_>],
    sides: (&str, &str),
) -> String {
    text_of(screen, &changes.iter().collect::<Vec<_>>(), sides)
}

/// The same in short, a line each, in the order in which a mechanic asks and by the names he uses, with percentages of fuel alone.
/// Another engine is one line; what it has otherwise, longer texts and cells stand in `-v` (`beside`).
pub(in crate::report::history) fn changes_in_short(
    screen: &Screen,
    changes: &[FieldChange<'_>],
    sides: (&str, &str),
) -> Vec<String> {
    if only_words(changes) {
        return vec![changes_text(screen, changes, sides)];
    }
    let is_shown = |one: &&FieldChange<'_>| !is_of_another_engine(changes, one) && one.change.prose.is_none();
    let mut in_order = in_order(changes);
    in_order.retain(is_shown);
    let (maps, fields): (Vec<_>, Vec<_>) = in_order.into_iter().partition(|one| one.change.map.is_some());
    let mut lines = Vec::new();
    if !fields.is_empty() {
        let mut last = "";
        let rows = fields.into_iter().map(|one| {
            let shown = if one.section() == last { String::new() } else { one.section().to_owned() };
            last = one.section();
            one.row(shown, true)
        });
        let head = ["section", "field", sides.0, sides.1, "difference"];
        let text = table(&head, rows.collect(), &[], screen.width());
        let inked = |line: &str| {
            let hurts = TOWARDS_SEIZURE.iter().any(|word| line.ends_with(&format!(", {word}")));
            if hurts { screen.warn(line) } else { line.to_owned() }
        };
        lines.push(text.lines().map(inked).collect::<Vec<_>>().join("\n"));
    }
    for (one, map) in maps.iter().filter_map(|one| Some((one, one.change.map.as_ref()?))) {
        lines.push(screen.wrap(&format!("{} {}: {}.", one.section(), called(one.field), map.sentence), 4));
    }
    lines
}

/// What goes towards a seizure, in a word.
const TOWARDS_SEIZURE: [&str; 7] =
    ["leaner", "earlier", "tighter", "squeezed more", "shorter", "narrower", "less oil"];

/// The word for a change that goes towards a seizure; none where it does not, or nobody can tell from its number.
fn towards_seizure(change: &Change) -> Option<&'static str> {
    let difference = change.difference.as_ref()?.value;
    let (less, more) = (difference < 0.0, difference > 0.0);
    let word = match Combination::meaning(common(&change.field))?.hurts {
        Hurts::Leaner { when: When::Less, .. } if less => "leaner",
        Hurts::Leaner { when: When::More, .. } if more => "leaner",
        Hurts::Earlier if more => "earlier",
        Hurts::Gasket | Hurts::Deck | Hurts::Squish if less => "tighter",
        Hurts::Chamber if less => "squeezed more",
        Hurts::Shorter if less => "shorter",
        Hurts::Narrower if less => "narrower",
        Hurts::Oil if more => "less oil",
        _ => return None,
    };
    Some(word)
}

/// Whether a field is one of the many that another engine has otherwise; a few are shown like any other.
fn is_of_another_engine(changes: &[FieldChange<'_>], one: &FieldChange<'_>) -> bool {
    let is_of = |one: &FieldChange<'_>| {
        one.field != "engine"
            && matches!(one.section(), "engine" | "ports" | "head")
            && one.change.prose.is_none()
    };
    is_of(one)
        && changes.iter().any(|one| one.field == "engine")
        && changes.iter().filter(|one| is_of(one)).count() > FEW_OF_AN_ENGINE
}

/// Whether nothing differs but longer texts.
fn only_words(changes: &[FieldChange<'_>]) -> bool {
    changes.iter().all(|one| one.change.prose.is_some())
}

/// What is not shown in short: "14 differences of the engines", "other words in notes".
pub(in crate::report::history) fn beside(changes: &[FieldChange<'_>]) -> Vec<String> {
    let of_engines = changes.iter().filter(|one| is_of_another_engine(changes, one)).count();
    let longer = changes.iter().filter(|one| one.change.prose.is_some() && !only_words(changes));
    let longer: Vec<String> = longer.map(|one| called(one.field)).collect();
    (of_engines > 0)
        .then(|| format!("{} of the two engines", count(of_engines, "difference")))
        .into_iter()
        .chain((!longer.is_empty()).then(|| format!("{} changed", longer.join(" and "))))
        .collect()
}

/// The same row by row, with section, field, both sides and the difference; and what is no row: longer texts, cells of maps.
pub(in crate::report::history) fn changes_in_rows(
    screen: &Screen,
    changes: &[FieldChange<'_>],
) -> (Vec<Vec<String>>, Vec<String>) {
    rows_of(screen, &in_order(changes), true)
}

/// In the order in which a mechanic asks.
fn in_order<'c, 'a>(changes: &'c [FieldChange<'a>]) -> Vec<&'c FieldChange<'a>> {
    let mut in_order: Vec<&FieldChange<'_>> = changes.iter().collect();
    let section = |one: &FieldChange<'_>| SECTIONS.iter().position(|section| *section == one.section());
    let turn = |one: &FieldChange<'_>| {
        Combination::meaning(one.field).map_or(u16::MAX, |meaning| meaning.hands.turn)
    };
    in_order.sort_by_key(|one| (section(one).unwrap_or(SECTIONS.len()), turn(one)));
    in_order
}

fn text_of(screen: &Screen, changes: &[&FieldChange<'_>], sides: (&str, &str)) -> String {
    let (rows, after) = rows_of(screen, changes, false);
    let mut blocks = Vec::new();
    if !rows.is_empty() {
        blocks.push(table(&["section", "field", sides.0, sides.1, "difference"], rows, &[], screen.width()));
    }
    blocks.extend(after);
    blocks.join("\n\n")
}

fn rows_of(screen: &Screen, changes: &[&FieldChange<'_>], short: bool) -> (Vec<Vec<String>>, Vec<String>) {
    let mut rows = Vec::new();
    let mut last_section = "";
    let mut after = Vec::new();
    for one in changes {
        let (section, change) = (one.section(), one.change);
        let shown = if section == last_section { String::new() } else { section.to_owned() };
        last_section = section;
        if let Some(lines) = prose_lines(change) {
            after.push(format!("{}:\n{lines}", one.field));
            continue;
        }
        if let Some(map) = &change.map {
            after.push(map_text(screen, change, map));
        }
        rows.push(one.row(shown, short));
    }
    (rows, after)
}

/// A difference of cells with the decimals it needs, one at least and two at most.
fn signed_trimmed(difference: f64) -> String {
    let decimals = if fixed(difference, 2).ends_with('0') { 1 } else { 2 };
    signed(difference, decimals)
}

/// Edges are measured from the deck downwards, so that a smaller number is a higher edge: said in words.
fn direction(change: &Change) -> &'static str {
    let edge =
        ["top", "floor", "top_valve_shut"].iter().any(|edge| change.field.ends_with(&format!(".{edge}")));
    match change.difference.as_ref().filter(|_| edge && section_of(&change.field) == "ports") {
        Some(difference) if difference.value < 0.0 => ", higher",
        Some(difference) if difference.value > 0.0 => ", lower",
        _ => "",
    }
}

fn map_text(screen: &Screen, change: &Change, map: &MapDifference) -> String {
    let value = |cell: Option<f64>| cell.map_or_else(|| "-".to_owned(), |value| trimmed(value, 2));
    let two_dimensional = map.cells.iter().any(|cell| cell.place.throttle.is_some());
    let rows: Vec<Vec<String>> = map
        .cells
        .iter()
        .take(CELLS_SHOWN)
        .map(|cell| {
            let difference = match (cell.old, cell.new) {
                (Some(old), Some(new)) => signed_trimmed(new - old),
                _ => String::new(),
            };
            let mut row = vec![grouped(cell.place.rpm)];
            if two_dimensional {
                row.push(
                    cell.place
                        .throttle
                        .map(|throttle| format!("{} %", fixed(throttle, 0)))
                        .unwrap_or_default(),
                );
            }
            row.extend([value(cell.old), value(cell.new), difference]);
            row
        })
        .collect();
    let head: &[&str] = if two_dimensional {
        &["rpm", "throttle", "old", "new", "difference"]
    } else {
        &["rpm", "old", "new", "difference"]
    };
    let columns: Vec<usize> = (0..head.len()).collect();
    let mut text =
        format!("{}, cell by cell:\n{}", called(&change.field), table(head, rows, &columns, screen.width()));
    if map.cells.len() > CELLS_SHOWN {
        text.push_str(&format!("\n… and {} more cells (--json has all)", map.cells.len() - CELLS_SHOWN));
    }
    text
}

fn prose_lines(change: &Change) -> Option<String> {
    let lines = change.prose.as_ref()?;
    let shown: Vec<_> = lines
        .iter()
        .map(|line| {
            let sign = match line.sign {
                ProseSign::Kept => " ",
                ProseSign::Removed => "-",
                ProseSign::Added => "+",
                ProseSign::Gap => return "  ...".to_owned(),
            };
            format!("  {sign} {}", visible_lines(&line.text))
        })
        .collect();
    Some(shown.join("\n"))
}

/// "ports 31, head 10".
pub(super) fn by_section<'c>(changes: impl IntoIterator<Item = &'c FieldChange<'c>>) -> String {
    let mut sections: Vec<(&str, usize)> = Vec::new();
    for change in changes {
        let section = change.section();
        match sections.iter_mut().find(|(known, _)| *known == section) {
            Some((_, count)) => *count += 1,
            None => sections.push((section, 1)),
        }
    }
    let parts: Vec<_> = sections.iter().map(|(section, count)| format!("{section} {count}")).collect();
    parts.join(", ")
}
