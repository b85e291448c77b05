//! A handover: written, read, held against a bike, taken in.

use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

use crate::advice::held::Judgement;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::Guidance;
use crate::notebook::{Combination, HandedMap, Handover, Value, read_out, section_of};
use crate::report::draw::heat::map_table;
use crate::report::history::noted_air::NotedAir;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::out::ways;
use crate::report::sharing::sealing::SealWords;
use crate::report::words::layout::columns;
use crate::store::HandedRow;

/// A handover, and what it does to a bike where one is named.
#[derive(Debug, Serialize, JsonSchema)]
pub struct HandoverAnswer<'a> {
    /// The file that was written; null where one was read.
    file: Option<String>,
    /// Hash of its content.
    content: Option<&'a str>,
    /// How it is kept from others, and who signed it.
    seal: SealWords,
    /// Who handed it over.
    who: &'a str,
    /// Name of the garage that it comes from.
    garage: Option<&'a str>,
    /// Folder name of the bike that it comes from.
    from_bike: &'a str,
    /// Number of the setup there.
    #[schemars(range(min = 1))]
    from_setup: u32,
    /// Whether it is vouched for there.
    proven: bool,
    /// The air that it was right in.
    air: Option<NotedAir>,
    /// Sections that are in it.
    sections: &'a [String],
    /// Sections that are not.
    without: &'a [String],
    /// What a file that was read says of how it ran where it comes from, a sentence each; what its author says otherwise stands in quotation marks.
    said_there: &'a [String],
    /// What can hurt.
    cautions: Vec<String>,
    /// Its values, those of maps in words.
    values: Vec<HandedValue<'a>>,
    /// Its maps, whole.
    maps: &'a BTreeMap<String, HandedMap>,
    /// The bike that it is held against.
    bike: Option<&'a str>,
    /// Where it differs from that bike; empty where none is named.
    rows: Vec<HandedDifference<'a>>,
    /// The setup that it was recorded as; null where it was not.
    #[schemars(range(min = 1))]
    taken: Option<u32>,
    /// What was known of the air.
    #[serde(skip)]
    air_from: Option<&'a str>,
    /// What can be done instead, where nothing of it can be taken in.
    #[serde(skip)]
    not_taken: Option<String>,
    /// What spoke for and against.
    #[serde(skip)]
    judgement: Option<&'a Judgement>,
}

/// One value.
#[derive(Debug, Serialize, JsonSchema)]
struct HandedValue<'a> {
    /// Its dotted field.
    field: &'a str,
    /// As it was typed.
    text: String,
}

/// One difference; null where a side has it not.
#[derive(Debug, Serialize, JsonSchema)]
struct HandedDifference<'a> {
    /// Its dotted field.
    field: &'a str,
    /// On the bike.
    now: Option<String>,
    /// In the handover.
    handed: Option<String>,
    /// Whether it is cut in metal, so that it is not taken in.
    metal: bool,
    /// Whether it is words about one's own engine, which stay: theirs stand in the reason of the change.
    words: bool,
}

/// A handover that was recorded.
pub struct Taken<'a> {
    /// As this setup.
    pub number: u32,
    /// What can hurt in that step.
    pub judgement: &'a Judgement,
}

impl<'a> HandoverAnswer<'a> {
    fn of(handover: &'a Handover) -> Self {
        let texts = handover.fields.iter().map(|(field, text)| HandedValue { field, text: read_out(text) });
        let maps = handover
            .maps
            .iter()
            .filter_map(|(field, map)| Some(HandedValue { field, text: Value::Map(map.table()?).text() }));
        Self {
            file: None,
            content: None,
            seal: SealWords::default(),
            who: &handover.from.who,
            garage: handover.from.garage.as_deref(),
            from_bike: &handover.from.bike,
            from_setup: handover.from.setup,
            proven: handover.proven,
            air: handover.air.as_ref().map(NotedAir::of),
            sections: &handover.sections,
            without: &handover.without,
            said_there: &handover.said_there,
            cautions: handover.cautions.clone(),
            values: texts.chain(maps).collect(),
            maps: &handover.maps,
            bike: None,
            rows: Vec::new(),
            taken: None,
            air_from: handover.air_from.as_deref(),
            judgement: None,
            not_taken: None,
        }
    }

    /// One that was written.
    pub fn written(handover: &'a Handover, (file, content): (&Path, &'a str), seal: SealWords) -> Self {
        Self { file: Some(file.display().to_string()), content: Some(content), seal, ..Self::of(handover) }
    }

    /// One that was read.
    pub fn read(handover: &'a Handover, content: &'a str, seal: SealWords) -> Self {
        Self { content: Some(content), seal, ..Self::of(handover) }
    }

    /// Held against a bike.
    #[must_use]
    pub fn beside(mut self, bike: &'a str, rows: &'a [HandedRow], now: &Combination) -> Self {
        self.bike = Some(bike);
        self.rows = rows
            .iter()
            .map(|row| HandedDifference {
                field: &row.field,
                now: row.now.as_deref().map(read_out),
                handed: row.handed.as_deref().map(read_out),
                metal: row.metal,
                words: row.words,
            })
            .collect();
        let own = |section: &String| now.fields.iter().any(|(field, _)| section_of(field) == section);
        let other: Vec<&str> =
            self.without.iter().filter(|section| own(section)).map(String::as_str).collect();
        if !other.is_empty() {
            self.cautions.push(format!(
                "{bike} keeps its own {}: nobody knows whether they go with what was handed over.",
                other.join(", ")
            ));
        }
        self
    }

    /// Of cylinders that the bike does not have: why nothing of it can be taken in, and the way out.
    #[must_use]
    pub fn of_other_cylinders(mut self, why: Option<(String, Guidance)>) -> Self {
        if let Some((message, help)) = why {
            self.cautions.insert(0, message);
            self.not_taken = Some(ways::worded(&help));
        }
        self
    }

    /// Recorded.
    #[must_use]
    pub fn taken(mut self, taken: &Taken<'a>) -> Self {
        self.taken = Some(taken.number);
        self.judgement = Some(taken.judgement);
        self
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut frame = Frame::new(screen);
        let sections = self.sections.join(", ");
        let garage = self.garage.map(|garage| format!(" ({})", visible(garage))).unwrap_or_default();
        let from =
            format!("{}{garage}, {} setup {}", visible(self.who), visible(self.from_bike), self.from_setup);
        match (&self.file, self.taken, self.bike) {
            (Some(file), _, _) => {
                frame.hands(&format!(
                    "{}: {} of {} setup {}",
                    visible(file),
                    sections,
                    self.from_bike,
                    self.from_setup
                ));
            }
            (None, Some(number), Some(bike)) => {
                frame.hands(&format!("{bike}: {} taken in, recorded as setup {number}", visible(&sections)));
            }
            _ => frame.hands(&format!("{} from {from}", visible(&sections))),
        }
        self.said_there.iter().for_each(|said| frame.stop(&visible(said)));
        for told in self.judgement.iter().flat_map(|judgement| &judgement.told) {
            let sentence = visible(&told.sentence());
            if told.urgent { frame.stop(&sentence) } else { frame.know(&sentence) }
        }
        self.cautions.iter().for_each(|caution| frame.stop(&visible(caution)));
        self.seal.say(&mut frame);
        frame.say(&self.stood(screen));
        frame.say(&self.missing());
        if self.file.is_some() {
            return frame.text();
        }
        match self.bike {
            None => {
                for value in self.values.iter().filter(|value| !self.maps.contains_key(value.field)) {
                    frame.say(&format!("  {} = {}", visible(value.field), visible(&value.text)));
                }
                self.drawn(&mut frame, screen);
            }
            Some(bike) if self.rows.is_empty() => frame.say(&format!("{bike} has all of it already.")),
            Some(bike) => {
                frame.block(self.table(bike));
                self.drawn(&mut frame, screen);
                if let Some(help) = &self.not_taken {
                    frame.know(&visible(help));
                } else if self.taken.is_none() {
                    frame.say("To record it as a change: the same with --take.");
                } else {
                    frame.command(&format!("reedbook job {bike}    (what is to be done at the bike)"));
                }
            }
        }
        frame.text()
    }

    /// The maps that are in it; beside a bike those that differ.
    fn drawn(&self, frame: &mut Frame<'_>, screen: &Screen) {
        let differs = |field: &str| self.bike.is_none() || self.rows.iter().any(|row| row.field == field);
        for (field, map) in self.maps.iter().filter(|(field, _)| differs(field)) {
            let Some(table) = map.table() else {
                frame.know(&format!(
                    "{} cannot be read: its rows do not go with its breakpoints.",
                    visible(field)
                ));
                continue;
            };
            let unit = match map.unit.as_str() {
                "deg" => "degrees",
                "percent" => "%",
                other => other,
            };
            frame.gap();
            frame.say(&format!("{}, {}, as it was handed over:", visible(field), visible(unit)));
            frame.block(map_table(&table, screen.width()));
            let own = self.rows.iter().any(|row| row.field == field && row.now.is_some());
            if let Some(bike) = self.bike.filter(|_| own && self.taken.is_none()) {
                frame.say(&format!("{bike}'s own:"));
                frame.command(&format!("reedbook map show {bike} {}", visible(field)));
            }
            frame.gap();
        }
    }

    /// What is not in it, and what that means for whoever has it.
    fn missing(&self) -> String {
        let mut words = Vec::new();
        let lacks = |section: &str| self.without.iter().any(|name| name == section);
        let metal: Vec<&str> =
            ["engine", "ports", "head", "pipe"].into_iter().filter(|section| lacks(section)).collect();
        if !metal.is_empty() {
            words.push(format!("{} (what it was right with stays there)", metal.join(", ")));
        }
        for (section, means) in [
            ("ignition", "when it fired"),
            ("jetting", "which jets it ran on"),
            ("injection", "how much fuel it was given"),
            ("fuel", "what was in the tank, and how much oil"),
            ("gearing", "how it was geared"),
            ("extra", "what else was set"),
            ("notes", "what was written beside"),
        ] {
            if lacks(section) {
                words.push(format!("{section} ({means})"));
            }
        }
        if words.is_empty() {
            "All of the setup is in it.".to_owned()
        } else {
            format!("Not in it: {}.", words.join(", "))
        }
    }

    fn stood(&self, screen: &Screen) -> String {
        let mark = if self.proven { "Proven there" } else { "Not vouched for there" };
        match (&self.air, self.air_from) {
            (Some(air), Some(from)) => {
                format!("{mark}; its air: {} ({}).", air.in_short(screen), visible(from))
            }
            (Some(air), None) => format!("{mark}; its air: {}.", air.in_short(screen)),
            (None, _) => format!("{mark}; its air is not known."),
        }
    }

    fn table(&self, bike: &str) -> String {
        let cell = |text: Option<&str>| -> String { visible(text.unwrap_or("-")).chars().take(22).collect() };
        let mut rows = vec![["field".to_owned(), bike.to_owned(), "handed over".to_owned(), String::new()]];
        rows.extend(self.rows.iter().map(|row| {
            let left = match (row.metal, row.words) {
                (true, _) => "cut in metal, left",
                (_, true) => "yours stays",
                _ => "",
            };
            [visible(row.field), cell(row.now.as_deref()), cell(row.handed.as_deref()), left.to_owned()]
        }));
        columns(&rows)
    }
}
