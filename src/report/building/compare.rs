//! Two builds of an engine side by side.

use serde_json::{Value, json};

use crate::advice::building::{GapCheck, Unlike};
use crate::quantity::Units;
use crate::report::air::reading::rounded;
use crate::report::building::build::{figure_json, gap_words, in_unit, shown_unit, verdict_words};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{signed, table};
use crate::store::BuildRecord;

/// Two builds and how each figure moved.
pub struct BuildComparison<'a> {
    /// The older build.
    pub old: &'a BuildRecord,
    /// The newer one.
    pub new: &'a BuildRecord,
    /// Figure by figure.
    pub unlike: &'a [Unlike],
    /// How the bore grew by the ring's gap, where one ring was measured at both.
    pub growth: &'a [GapCheck],
    /// Parts that came and went, in words.
    pub parts: &'a [String],
    /// Hours the engine ran between, in words.
    pub hours: Option<String>,
    /// What else should be known.
    pub remarks: Vec<String>,
}

impl BuildComparison<'_> {
    /// For a script.
    pub fn json(&self) -> Value {
        let side = |record: &BuildRecord| json!({ "id": record.id, "date": record.build.date.to_string(), "scope": record.build.scope.word() });
        let figures: Vec<_> = self
            .unlike
            .iter()
            .filter_map(|one| {
                let figure = one.figure()?;
                let (_, factor, _) = shown_unit(figure.kind.unit, Units::Metric, 0.0);
                let difference = one.difference();
                Some(json!({
                    "figure": figure.kind.name,
                    "seat": figure.seat,
                    "old": one.old.as_ref().map(figure_json),
                    "new": one.new.as_ref().map(figure_json),
                    "difference": difference.map(|(value, _)| rounded(value / factor, 5)),
                    "expanded_uncertainty": difference.map(|(_, u)| rounded(2.0 * u / factor, 5)),
                    "told_apart": one.is_told_apart(),
                }))
            })
            .collect();
        json!({
            "engine": self.new.engine,
            "old": side(self.old),
            "new": side(self.new),
            "figures": figures,
            "growth": self.growth.iter().map(|check| gap_words(check, Units::Metric)).collect::<Vec<_>>(),
            "parts": self.parts,
            "hours": self.hours,
            "remarks": self.remarks,
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let (old, new) = (self.old.build.date.short(), self.new.build.date.short());
        let mut blocks =
            vec![screen.strong(&format!("{}: build of {new} compared with {old}", self.new.engine))];
        if let Some(hours) = &self.hours {
            blocks[0].push_str(&format!("\n  {hours}"));
        }
        let rows: Vec<_> = self.unlike.iter().filter_map(|one| row(one, screen.units())).collect();
        if rows.is_empty() {
            blocks.push("Neither build was measured.".into());
        } else {
            let days = [day(&old), day(&new)];
            let head = ["at 20 C", &days[0], &days[1], "change", "verdict now"];
            let text = table(&head, rows, &[1, 2, 3], screen.width());
            blocks.push(format!(
                "{text}\n( ): the gauges cannot tell it from none. Changes are of unrounded figures."
            ));
        }
        let words: Vec<_> = self
            .growth
            .iter()
            .map(|check| gap_words(check, screen.units()))
            .chain(self.parts.iter().cloned())
            .map(|words| screen.wrap(&words, 2))
            .collect();
        if !words.is_empty() {
            blocks.push(words.join("\n"));
        }
        if !self.remarks.is_empty() {
            let notes = self.remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6));
            blocks.push(notes.collect::<Vec<_>>().join("\n"));
        }
        blocks.join("\n\n")
    }
}

/// The day of a date for a column's head.
fn day(short: &str) -> String {
    short.split(' ').next().unwrap_or(short).to_owned()
}

fn row(one: &Unlike, units: Units) -> Option<Vec<String>> {
    let figure = one.figure()?;
    let unit = figure.kind.unit;
    let show = |side: &Option<crate::advice::building::Figure>| {
        side.as_ref().map_or_else(
            || "-".to_owned(),
            |figure| in_unit(figure.value.value(), unit, units, figure.value.expanded()),
        )
    };
    let change = match (one.difference(), one.is_told_apart()) {
        (Some((difference, doubt)), Some(told)) => {
            let (_, factor, decimals) = shown_unit(unit, units, 2.0 * doubt);
            let amount = signed(difference / factor, decimals);
            if told { amount } else { format!("({amount})") }
        }
        _ => String::new(),
    };
    let verdict = one.new.as_ref().map(|figure| verdict_words(figure, units)).unwrap_or_default();
    Some(vec![figure.words(), show(&one.old), show(&one.new), change, verdict])
}
