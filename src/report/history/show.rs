//! A whole setup by section.

use serde_json::{Map, Value as Json, json};

use crate::notebook::fields::names::{visible, visible_lines};
use crate::notebook::{Combination, MapTable, SECTIONS, Value, reading_order, section_of};
use crate::quantity::{fixed, trimmed};
use crate::report::history::compare::{KnownAir, field_words};
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::words::layout::{air_in_short, first_line, grouped, table};
use crate::store::SetupRecord;

/// Engine speeds that fit beside each other; a longer map is broken into strips.
const SPEEDS_A_STRIP: usize = 8;

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

/// Refuses the name of a section that no setup has.
pub fn check_sections(only: &[String]) -> Result<(), Trouble> {
    match only.iter().find(|name| !SECTIONS.contains(&name.as_str())) {
        Some(unknown) => Err(Trouble::request(
            Some("only"),
            format!("There is no section \"{}\".", visible(unknown)),
            format!("Sections: {}.", SECTIONS.join(", ")),
        )),
        None => Ok(()),
    }
}

impl Shown<'_> {
    fn fields(&self) -> Vec<(&str, &Value)> {
        let wanted =
            |field: &str| self.only.is_empty() || self.only.iter().any(|name| name == section_of(field));
        let entries = self.whole.fields.iter().filter(|(field, _)| wanted(field));
        let mut fields: Vec<_> = entries.map(|(field, entry)| (field, &entry.value)).collect();
        fields.sort_by(|a, b| reading_order(a.0).cmp(&reading_order(b.0)));
        fields
    }

    /// For a script.
    pub fn json(&self) -> Json {
        let mut fields = Map::new();
        let mut maps = Vec::new();
        for (field, value) in self.fields() {
            match value {
                Value::Map(map) => {
                    maps.push(
                        json!({ "field": field, "rpm": map.rpm, "throttle": map.throttle, "rows": map.rows }),
                    );
                }
                other => {
                    fields.insert(field.to_owned(), json!(other.text()));
                }
            }
        }
        json!({
            "bike": self.bike,
            "setup": self.setup.map(|setup| setup.number),
            "date": self.setup.map(|setup| setup.date.to_string()),
            "why": self.setup.map(|setup| setup.why.clone()),
            "despite": self.setup.and_then(|setup| setup.despite.clone()),
            "air": self.air.as_ref().map(|(air, _)| crate::report::history::outing::air_json(air)),
            "fields": fields,
            "maps": maps,
            "findings": self.whole.findings.iter().map(ToString::to_string).collect::<Vec<_>>(),
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let head = match self.setup {
            Some(setup) => format!(
                "{} setup {}, {}: {}",
                self.bike,
                setup.number,
                setup.date.short(),
                first_line(&setup.why)
            ),
            None => format!("{}: the files on disk now", self.bike),
        };
        let mut lines = vec![screen.strong(&screen.wrap(&head, 2))];
        if let Some(despite) = self.setup.and_then(|setup| setup.despite.as_ref()) {
            lines.push(screen.wrap(&format!("  despite a warning: {}", first_line(despite)), 2));
        }
        if let Some((air, source)) = &self.air {
            lines.push(screen.wrap(&format!("  {} ({})", air_in_short(screen, air), visible(source)), 2));
        }
        let (mut rows, mut after, mut last) = (Vec::new(), Vec::new(), "");
        for (field, value) in self.fields() {
            let section = section_of(field);
            let text = value.text();
            if let Value::Map(map) = value {
                after.push(map_text(screen, &field_words(field), map));
            } else if text.trim().contains('\n') || text.chars().count() > 48 {
                after.push(format!(
                    "{}:\n{}",
                    field_words(field),
                    screen.wrap(&visible_lines(text.trim()), 0)
                ));
            } else {
                let shown = if section == last { String::new() } else { section.to_owned() };
                last = section;
                rows.push(vec![shown, field_words(field), visible(&text)]);
            }
        }
        if !rows.is_empty() {
            lines.push(String::new());
            lines.push(table(&[], rows, &[], screen.width()));
        }
        for block in after {
            lines.push(String::new());
            lines.push(block);
        }
        lines.extend(self.whole.findings.iter().map(|finding| screen.wrap(&format!("note: {finding}"), 6)));
        lines.join("\n")
    }
}

/// A map in strips that fit the screen: engine speeds across, throttle down.
fn map_text(screen: &Screen, name: &str, map: &MapTable) -> String {
    let unit = if map.unit.is_empty() { String::new() } else { format!(", {}", map.unit) };
    let mut strips = vec![format!("{name}{unit}:")];
    let columns = map.rpm.len();
    for start in (0..columns).step_by(SPEEDS_A_STRIP) {
        let end = (start + SPEEDS_A_STRIP).min(columns);
        let mut head = vec![if map.throttle.is_empty() { "rpm".to_owned() } else { "throttle".to_owned() }];
        head.extend(map.rpm[start..end].iter().map(|rpm| grouped(*rpm)));
        let rows = map.rows.iter().enumerate().map(|(index, row)| {
            let first = map.throttle.get(index).map(|throttle| format!("{} %", fixed(*throttle, 0)));
            let cells = row.get(start..end).unwrap_or_default().iter().map(|cell| trimmed(*cell, 2));
            std::iter::once(first.unwrap_or_default()).chain(cells).collect::<Vec<_>>()
        });
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let right: Vec<usize> = (0..head.len()).collect();
        strips.push(table(&head, rows.collect(), &right, screen.width()));
    }
    strips.join("\n")
}
