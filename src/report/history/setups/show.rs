//! A whole setup by section.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::advice::now::{OnIt, on_it};
use crate::notebook::fields::called::called;
use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{Combination, MapTable, SECTIONS, Value, nearest_and_all, reading_order, section_of};
use crate::report::draw::heat::map_table;
use crate::report::history::noted_air::NotedAir;
use crate::report::history::sections::SectionNow;
use crate::report::history::setups::compare::KnownAir;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::out::width;
use crate::report::words::layout::{first_line, table};
use crate::store::SetupRecord;

/// A setup to be shown.
pub struct Shown<'a> {
    /// The bike.
    pub bike: &'a str,
    /// Its record; none for the files on disk.
    pub setup: Option<&'a SetupRecord>,
    /// Its values.
    pub whole: &'a Combination,
    /// The air it is known in.
    pub air: Option<KnownAir>,
    /// Only these sections; all when empty.
    pub only: &'a [String],
}

/// A whole setup.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ShowAnswer<'a> {
    /// Folder name of the bike.
    bike: &'a str,
    /// Number of the setup; null for the files on disk.
    setup: Option<u32>,
    /// When it was recorded, with its offset; null for the files on disk.
    date: Option<String>,
    /// Its reason; null for the files on disk.
    why: Option<&'a str>,
    /// Why it was recorded although a run or a rule spoke against it; null where nothing did, and for the files on disk.
    despite: Option<&'a str>,
    /// Air noted with the change.
    air: Option<NotedAir>,
    /// Each value by its dotted field, as typed, with its unit.
    #[serde(serialize_with = "by_field")]
    #[schemars(with = "BTreeMap<String, String>")]
    fields: Vec<ShownField<'a>>,
    /// The maps.
    maps: Vec<ShownMap<'a>>,
    /// What could not be read, a sentence each.
    findings: Vec<String>,
    /// What is set, fitted or loaded at the bike.
    #[serde(skip)]
    at_hand: Vec<OnIt>,
    /// The sections that were asked for; empty for all.
    #[serde(skip)]
    only: &'a [String],
    /// Its record; none for the files on disk.
    #[serde(skip)]
    record: Option<&'a SetupRecord>,
    /// Where the air is known from.
    #[serde(skip)]
    air_source: Option<String>,
}

/// A value that is no map.
#[derive(Debug)]
struct ShownField<'a> {
    /// Dotted field.
    field: &'a str,
    /// Its name, with the cylinders that it holds for where others have their own.
    name: String,
    /// As typed, with its unit.
    text: String,
    /// Its place among all fields, maps included.
    place: usize,
}

/// A map.
#[derive(Debug, Serialize, JsonSchema)]
struct ShownMap<'a> {
    /// Dotted field of the cells.
    field: &'a str,
    /// Engine speeds, rpm, ascending.
    rpm: &'a [f64],
    /// Throttle openings, percent, ascending; empty for a map over engine speed alone.
    throttle: &'a [f64],
    /// The cells, one row for each throttle opening.
    rows: &'a [Vec<f64>],
    /// Unit of the cells.
    #[serde(skip)]
    unit: &'a str,
    /// The map.
    #[serde(skip)]
    map: &'a MapTable,
    /// Its place among all fields.
    #[serde(skip)]
    place: usize,
}

fn by_field<S: Serializer>(fields: &[ShownField<'_>], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(fields.iter().map(|one| (one.field, &one.text)))
}

/// Refuses the name of a section that no setup has.
pub fn check_sections(only: &[String]) -> Result<(), Trouble> {
    match only.iter().find(|name| !SECTIONS.contains(&name.as_str())) {
        Some(unknown) => Err(Trouble::request(
            Some("only"),
            format!("There is no section \"{}\".", visible(unknown)),
            nearest_and_all(unknown, &SECTIONS, format!("Sections: {}.", SECTIONS.join(", "))),
        )),
        None => Ok(()),
    }
}

impl<'a> Shown<'a> {
    fn values(&self) -> Vec<(&'a str, &'a Value)> {
        let wanted =
            |field: &str| self.only.is_empty() || self.only.iter().any(|name| name == section_of(field));
        let entries = self.whole.fields.iter().filter(|(field, _)| wanted(field));
        let mut values: Vec<_> = entries.map(|(field, entry)| (field, &entry.value)).collect();
        values.sort_by(|a, b| reading_order(a.0).cmp(&reading_order(b.0)));
        values
    }

    /// What a field is called: what is written for all holds only for the cylinders that have nothing of their own.
    fn name(&self, field: &str) -> String {
        let own = self.whole.fields.owners(field);
        let names = self.whole.fields.cylinders();
        let left: Vec<&str> = names
            .iter()
            .filter(|name| !own.is_empty() && own.iter().all(|(other, _)| other != *name))
            .map(String::as_str)
            .collect();
        if left.is_empty() { called(field) } else { format!("{} {}", left.join(" and "), called(field)) }
    }

    /// The answer.
    pub fn answer(self) -> ShowAnswer<'a> {
        let (mut fields, mut maps) = (Vec::new(), Vec::new());
        for (place, (field, value)) in self.values().into_iter().enumerate() {
            match value {
                Value::Map(map) => maps.push(ShownMap::of(field, map, place)),
                other => fields.push(ShownField { field, name: self.name(field), text: other.text(), place }),
            }
        }
        let (air, air_source) = self.air.map(|(air, source)| (NotedAir::of(&air), source)).unzip();
        ShowAnswer {
            bike: self.bike,
            setup: self.setup.map(|setup| setup.number),
            date: self.setup.map(|setup| setup.date.to_string()),
            why: self.setup.map(|setup| setup.why.as_str()),
            despite: self.setup.and_then(|setup| setup.despite.as_deref()),
            air,
            fields,
            maps,
            findings: self.whole.findings.iter().map(ToString::to_string).collect(),
            at_hand: on_it(&self.whole.fields),
            only: self.only,
            record: self.setup,
            air_source,
        }
    }
}

impl ShowAnswer<'_> {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let head = match self.record {
            Some(setup) => {
                let (number, date) = (setup.number, setup.date.short());
                format!("{} setup {number}, {date}: {}", self.bike, first_line(&setup.why))
            }
            None => format!("{}: the files on disk now", self.bike),
        };
        let mut lines = vec![screen.strong(&screen.wrap(&head, 2))];
        if let Some(despite) = self.despite {
            lines.push(screen.wrap(&format!("  despite a warning: {}", first_line(despite)), 2));
        }
        if let (Some(air), Some(source)) = (&self.air, &self.air_source) {
            lines.push(screen.wrap(&format!("  {} ({})", air.in_short(screen), visible(source)), 2));
        }
        let whole = screen.verbose() || !self.only.is_empty();
        let rows = if whole { self.rows() } else { self.at_the_bike() };
        if !rows.is_empty() {
            lines.push(String::new());
            lines.push(table(&[], rows, &[], screen.width()));
        }
        for block in self.blocks(whole, screen) {
            lines.push(String::new());
            lines.push(block);
        }
        lines.extend(self.findings.iter().map(|finding| screen.known(finding)));
        if !whole {
            lines.push(String::new());
            lines.push(screen.dim(&screen.wrap(&self.the_rest(), 2)));
        }
        lines.join("\n")
    }

    /// What is set, fitted or loaded at the bike, by section.
    fn at_the_bike(&self) -> Vec<Vec<String>> {
        let engine = self.fields.iter().find(|one| one.field == "engine");
        let sections = self.at_hand.iter().map(SectionNow::of);
        let rows = sections.map(|one| vec![one.section.to_owned(), one.words()]);
        rows.chain(engine.map(|one| vec!["engine".to_owned(), visible(&one.text)])).collect()
    }

    /// How much more is written down, section by section, and how to see it.
    fn the_rest(&self) -> String {
        let mut sections: Vec<&str> = self.fields.iter().map(|one| section_of(one.field)).collect();
        let all = sections.len();
        sections.dedup();
        format!("-v shows all {all} values, --only one section: {}.", sections.join(", "))
    }

    /// Values that stand in the table, by section.
    fn rows(&self) -> Vec<Vec<String>> {
        let (mut rows, mut last) = (Vec::new(), "");
        for one in self.fields.iter().filter(|one| !one.is_long()) {
            let section = section_of(one.field);
            let shown = if section == last { String::new() } else { section.to_owned() };
            last = section;
            rows.push(vec![shown, one.name.clone(), visible(&one.text)]);
        }
        rows
    }

    /// What stands below the table: long texts and maps.
    fn blocks(&self, whole: bool, screen: &Screen) -> Vec<String> {
        let long = self.fields.iter().filter(|one| one.is_long()).map(|one| {
            let text = screen.wrap(&visible_lines(one.text.trim()), 0);
            (one.place, format!("{}:\n{text}", called(one.field)))
        });
        let maps = self.maps.iter().map(|map| (map.place, map.text(whole, screen)));
        let mut blocks: Vec<_> = long.chain(maps).collect();
        blocks.sort_by_key(|(place, _)| *place);
        blocks.into_iter().map(|(_, block)| block).collect()
    }
}

impl ShownField<'_> {
    /// Whether it has no room in a table.
    fn is_long(&self) -> bool {
        self.text.trim().contains('\n') || width::of(&self.text) > 48
    }
}

impl<'a> ShownMap<'a> {
    fn of(field: &'a str, map: &'a MapTable, place: usize) -> Self {
        let MapTable { rpm, throttle, rows, unit, .. } = map;
        Self { field, rpm, throttle, rows, unit, map, place }
    }

    /// The cells; in short of a map over throttle and speed only those at the widest throttle.
    fn text(&self, whole: bool, screen: &Screen) -> String {
        let unit = if self.unit.is_empty() { String::new() } else { format!(", {}", self.unit) };
        let name = called(self.field);
        match (self.map.rows.last(), self.throttle.last()) {
            (Some(row), Some(throttle)) if !whole && self.throttle.len() > 1 => {
                let at_the_widest =
                    MapTable { throttle: vec![*throttle], rows: vec![row.clone()], ..self.map.clone() };
                let head = format!("{name}{unit}, the widest of {} throttles:", self.throttle.len());
                format!("{}\n{}", screen.wrap(&head, 2), map_table(&at_the_widest, screen.width()))
            }
            _ => format!("{name}{unit}:\n{}", map_table(self.map, screen.width())),
        }
    }
}
