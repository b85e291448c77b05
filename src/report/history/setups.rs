//! The history of a bike: its setups, newest first, each with its outings and verdicts.

use std::collections::{BTreeMap, HashMap};

use serde_json::{Value, json};

use crate::advice::building::{Happened, What};
use crate::notebook::{BikeDocument, Deed, Proven};
use crate::report::building::build::{build_line, line_json};
use crate::report::history::outing::OutingEntry;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{air_in_short, count, day, first_line};
use crate::store::{OutingRecord, SetupRecord};

/// What there is to tell of a bike.
pub struct History<'a> {
    /// The bike.
    pub bike: &'a str,
    /// Its document.
    pub document: &'a BikeDocument,
    /// Its setups, oldest first.
    pub setups: &'a [SetupRecord],
    /// Its outings, oldest first.
    pub outings: &'a [OutingRecord],
    /// What happened to its engines beside the setups, by the number of the setup it is told with.
    pub happened: HashMap<u32, Vec<Happened>>,
    /// How many setups to show, all when none.
    pub most: Option<usize>,
    /// What else should be known.
    pub remarks: Vec<String>,
}

impl History<'_> {
    fn mark(&self, setup: &SetupRecord) -> Option<&Proven> {
        self.document.proven.get(&setup.id)
    }

    /// What happened in a setup, as far as it has a form for a script.
    fn told(&self, setup: &SetupRecord, form: impl Fn(&Happened) -> Vec<Value>) -> Vec<Value> {
        self.happened.get(&setup.number).into_iter().flatten().flat_map(form).collect()
    }

    fn by_setup(&self) -> BTreeMap<u32, Vec<&OutingRecord>> {
        let mut grouped: BTreeMap<u32, Vec<&OutingRecord>> = BTreeMap::new();
        for record in self.outings {
            if let Some(number) = record.setup {
                grouped.entry(number).or_default().push(record);
            }
        }
        grouped
    }

    /// For a script.
    pub fn json(&self) -> Value {
        let outings = self.by_setup();
        let setups: Vec<_> = self
            .setups
            .iter()
            .rev()
            .take(self.most.unwrap_or(usize::MAX))
            .map(|setup| {
                let ran: Vec<_> = outings
                    .get(&setup.number)
                    .into_iter()
                    .flatten()
                    .map(|record| json!(OutingEntry::of(record)))
                    .collect();
                json!({
                    "number": setup.number,
                    "commit": setup.commit,
                    "date": setup.date.to_string(),
                    "why": setup.why,
                    "despite": setup.despite,
                    "proven": self.mark(setup).is_some(),
                    "air": setup.air.as_ref().map(crate::report::history::outing::air_json),
                    "engine": setup.engine,
                    "id": setup.id,
                    "outings": ran,
                    "builds": self.told(setup, built_json),
                    "parts": self.told(setup, parts_json),
                })
            })
            .collect();
        json!({ "bike": self.bike, "setups": setups })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = Vec::new();
        let title = self
            .document
            .title
            .as_deref()
            .map(|title| format!(" ({})", first_line(title)))
            .unwrap_or_default();
        lines.push(format!(
            "{}{title}: {}, {}, newest first",
            self.bike,
            count(self.setups.len(), "setup"),
            count(self.outings.len(), "outing")
        ));
        let outings = self.by_setup();
        for setup in self.setups.iter().rev().take(self.most.unwrap_or(usize::MAX)) {
            lines.push(String::new());
            lines.extend(self.setup_lines(screen, setup));
            lines.extend(self.told_by_date(screen, setup, outings.get(&setup.number)));
        }
        let unplaced: Vec<_> = self.outings.iter().filter(|record| record.setup.is_none()).collect();
        if !unplaced.is_empty() {
            lines.push(String::new());
            lines.push("Outings whose setup is not known:".into());
            lines.extend(
                unplaced
                    .iter()
                    .map(|record| screen.wrap(&format!("    {}", OutingEntry::of(record).line(screen)), 8)),
            );
        }
        if !self.remarks.is_empty() {
            lines.push(String::new());
            lines.extend(self.remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
        }
        lines.join("\n")
    }

    /// What happened in a setup by date: outings, builds and parts.
    fn told_by_date(
        &self,
        screen: &Screen,
        setup: &SetupRecord,
        ran: Option<&Vec<&OutingRecord>>,
    ) -> Vec<String> {
        let ran = ran.into_iter().flatten();
        let outings =
            ran.map(|record| (record.outing.date, format!("ran {}", OutingEntry::of(record).line(screen))));
        let inside = self.happened.get(&setup.number).into_iter().flatten();
        let inside = inside.map(|one| (one.date, happened_words(setup, one)));
        let mut told: Vec<_> = inside.chain(outings).collect();
        told.sort_by_key(|(date, _)| *date);
        told.iter().map(|(_, words)| screen.wrap(&format!("    {words}"), 8)).collect()
    }

    fn setup_lines(&self, screen: &Screen, setup: &SetupRecord) -> Vec<String> {
        let proven = match self.mark(setup) {
            Some(mark) => format!("  PROVEN {}", mark.date.day()),
            None => String::new(),
        };
        let head = format!("{:>3}  {}{proven}", setup.number, day(setup.date));
        let mut lines = vec![screen.strong(&head)];
        let air =
            setup.air.as_ref().map(|air| format!("  [{}]", air_in_short(screen, air))).unwrap_or_default();
        lines.push(screen.wrap(&format!("     {}{air}", first_line(&setup.why)), 5));
        if let Some(despite) = &setup.despite {
            lines.push(screen.wrap(&format!("     despite a warning: {}", first_line(despite)), 5));
        }
        if !setup.readable {
            lines.push("     its files cannot be read".into());
        }
        if let Some(why) = self.mark(setup).and_then(|mark| mark.why.as_ref()) {
            lines.push(screen.wrap(&format!("     proven: {}", first_line(why)), 5));
        }
        lines
    }
}

fn built_json(one: &Happened) -> Vec<Value> {
    match &one.what {
        What::Built(ready) => vec![line_json(ready)],
        What::Parts(..) => Vec::new(),
    }
}

fn parts_json(one: &Happened) -> Vec<Value> {
    match &one.what {
        What::Built(_) => Vec::new(),
        What::Parts(did, parts) => parts
            .iter()
            .map(|(name, kind, hours)| {
                json!({
                    "date": one.date.to_string(),
                    "did": did.word(),
                    "part": name,
                    "kind": kind,
                    "hours": hours,
                })
            })
            .collect(),
    }
}

/// A build or parts on one line; parts that are new in the book have no hours to tell.
fn happened_words(setup: &SetupRecord, one: &Happened) -> String {
    match &one.what {
        What::Built(ready) => format!("built {}", build_line(ready)),
        What::Parts(did, parts) => {
            let names: Vec<_> = parts
                .iter()
                .map(|(name, kind, hours)| {
                    let kind = if name.contains(kind.as_str()) { String::new() } else { format!("{kind}, ") };
                    format!("{name} ({kind}{hours})")
                })
                .collect();
            let engine = setup.engine.as_deref().unwrap_or_default();
            let place = match did {
                Deed::Fitted => "to",
                did if did.takes_out() => "out of",
                _ => "in",
            };
            format!("{} {} {place} {engine}: {}", did.word(), one.date.short(), names.join(", "))
        }
    }
}
