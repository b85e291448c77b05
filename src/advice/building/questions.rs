//! What is asked at the bench, in the order in which an engine is measured, with what it was the last time.

use std::collections::BTreeSet;

use crate::notebook::{FieldSet, Scope};

/// One question.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// The field that the answer goes into.
    pub field: String,
    /// What is asked, in words.
    pub words: String,
    /// What it was the last time, as it was written then.
    pub last: Option<String>,
    /// Whether that is taken where nothing is said: a depth or a gasket stays, a reading never does.
    pub stays: bool,
    /// Without an answer to this one, questions with the same group make no sense.
    pub opens: Option<String>,
    /// The group it belongs to.
    pub group: Option<String>,
}

/// The questions that a build leaves open, by its fields and by those of the engine's build before.
pub fn questions(scope: Scope, now: &FieldSet, before: &FieldSet) -> Vec<Question> {
    let mut asked = Asked { now, before, questions: Vec::new() };
    asked.reading("temperature", "temperature of the parts");
    // As it goes together: the bottom end first.
    if scope != Scope::TopEnd {
        asked.bottom();
    }
    if scope != Scope::BottomEnd {
        asked.cylinder();
        asked.head();
    }
    asked.questions
}

struct Asked<'a> {
    now: &'a FieldSet,
    before: &'a FieldSet,
    questions: Vec<Question>,
}

impl Asked<'_> {
    fn ask(&mut self, field: &str, words: &str, stays: bool, group: Option<&str>) {
        let is_known = self.now.get(field).is_some();
        if is_known {
            return;
        }
        let last = self.before.get(field).map(crate::notebook::Value::text);
        self.questions.push(Question {
            field: field.to_owned(),
            words: words.to_owned(),
            last,
            stays,
            opens: None,
            group: group.map(str::to_owned),
        });
    }

    fn reading(&mut self, field: &str, words: &str) {
        self.ask(field, words, false, None);
    }

    fn staying(&mut self, field: &str, words: &str) {
        self.ask(field, words, true, None);
    }

    /// A depth that the readings of its group need.
    fn depth(&mut self, field: &str, words: &str, group: &str) {
        let before = self.questions.len();
        self.ask(field, words, true, Some(group));
        if let Some(question) = self.questions.get_mut(before) {
            question.opens = Some(group.to_owned());
        }
    }

    /// Names under a table of the tuner's own, from the top of the bore down as far as depths tell.
    fn names(&self, table: &str, usual: &[&str]) -> Vec<String> {
        let start = format!("{table}.");
        let of = |fields: &FieldSet| -> BTreeSet<String> {
            let inside = fields.iter().filter_map(|(field, _)| field.strip_prefix(&start)?.split('.').next());
            inside.map(str::to_owned).collect()
        };
        let known: BTreeSet<String> = of(self.now).union(&of(self.before)).cloned().collect();
        if known.is_empty() {
            return usual.iter().map(|name| (*name).to_owned()).collect();
        }
        let depth = |name: &String| {
            let field = format!("{start}{name}.depth");
            self.now
                .quantity(&field)
                .or_else(|| self.before.quantity(&field))
                .map_or(f64::INFINITY, crate::quantity::Quantity::si)
        };
        let mut names: Vec<_> = known.into_iter().collect();
        names.sort_by(|a, b| depth(a).total_cmp(&depth(b)));
        names
    }

    fn cylinder(&mut self) {
        self.staying("piston.gauge_height", "piston: gauge height above the skirt's edge");
        self.reading("piston.diameter", "piston: diameter there, across the pin");
        self.staying("gauges.bore.resolution", "bore gauge: least step it shows");
        self.reading("gauges.bore.set_on", "bore gauge zeroed on piston, ring, or Enter: whole sizes");
        for name in self.names("bore", &["top", "middle", "bottom"]) {
            let field = |inner: &str| format!("bore.{name}.{inner}");
            let group = format!("bore.{name}");
            self.depth(&field("depth"), &format!("bore, {name}: depth below the deck"), &group);
            for (inner, words) in
                [("along_pin", "along the pin"), ("across_pin", "across the pin, front to back")]
            {
                self.ask(&field(inner), &format!("bore, {name}: {words}"), false, Some(&group));
            }
            for (inner, words) in [("diagonal_left", "diagonal, left"), ("diagonal_right", "diagonal, right")]
            {
                if self.before.get(&field(inner)).is_some() {
                    self.ask(&field(inner), &format!("bore, {name}: {words}"), false, Some(&group));
                }
            }
        }
        for name in self.names("ring.gaps", &["top", "bottom"]) {
            let group = format!("ring.gaps.{name}");
            self.depth(&format!("{group}.depth"), &format!("ring gap, {name}: depth below the deck"), &group);
            self.ask(&format!("{group}.gap"), &format!("ring gap, {name}: end gap"), false, Some(&group));
        }
        self.reading("ring.side_clearance", "ring: room beside it in its groove");
        self.reading("piston.pin_bore", "piston: bore for the pin");
        self.reading("pin.diameter", "pin: diameter");
    }

    fn head(&mut self) {
        for (place, words) in
            [("front", "front, exhaust side"), ("rear", "rear"), ("left", "left"), ("right", "right")]
        {
            self.reading(&format!("squish.{place}"), &format!("squish by solder: {words}"));
        }
        self.staying("squish.head_gasket", "head gasket that was in");
        self.staying("squish.base_gasket", "base gasket that was in");
        self.reading("deck.height", "deck height, negative: crown above");
        self.reading("chamber.volume", "chamber by burette, in cc");
        self.staying("chamber.includes", "what it takes in");
        self.reading("reed.tension", "reeds: balance as a tip lifts, in g");
        self.reading("reed.gap", "reeds: gap under a tip");
    }

    fn bottom(&mut self) {
        self.reading("rod.small_end_bore", "rod: bore of the small end");
        self.reading("rod.side_clearance", "rod: room beside the big end");
        self.reading("rod.big_end_play", "rod: play of the big end, up and down");
        self.reading("crank.runout_left", "crank run-out, left: whole swing");
        self.reading("crank.runout_right", "crank run-out, right: whole swing");
        for name in self.names("seats", &["main-left", "main-right"]) {
            for (inner, words) in [
                ("case_bore", "bore of the case"),
                ("bearing_outside", "outside of the bearing"),
                ("bearing_bore", "bore of the bearing"),
                ("shaft", "shaft"),
            ] {
                self.reading(&format!("seats.{name}.{inner}"), &format!("bearing {name}: {words}"));
            }
        }
    }
}
