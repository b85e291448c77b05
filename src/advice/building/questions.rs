//! What is asked at the bench, in the order in which an engine is measured, with what it was the last time.

use std::collections::BTreeSet;

use crate::notebook::fields::cylinder::common;
use crate::notebook::fields::names::in_words;
use crate::notebook::{FieldSet, Scope};

/// One question.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingQuestion {
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

/// The questions that a build leaves open, by its fields and by those of the engine's build before; readings are asked at each of its
/// cylinders where there are several, and what stays from build to build once for all of them.
pub fn questions(
    scope: Scope,
    (now, before): (&FieldSet, &FieldSet),
    cylinders: &[String],
) -> Vec<ReadingQuestion> {
    let mut asked = Inquiry { now, before, at: None, questions: Vec::new() };
    asked.reading_of_all("temperature", "temperature of the parts");
    let each: Vec<Option<&String>> =
        if cylinders.is_empty() { vec![None] } else { cylinders.iter().map(Some).collect() };
    // As it goes together: the bottom end first.
    if scope != Scope::TopEnd {
        for cylinder in &each {
            asked.at = cylinder.cloned();
            asked.rod();
        }
        asked.bottom();
    }
    if scope != Scope::BottomEnd {
        for cylinder in &each {
            asked.at = cylinder.cloned();
            asked.cylinder();
            asked.head();
        }
    }
    asked.questions
}

struct Inquiry<'a> {
    now: &'a FieldSet,
    before: &'a FieldSet,
    /// The cylinder that is asked about, of several.
    at: Option<String>,
    questions: Vec<ReadingQuestion>,
}

impl Inquiry<'_> {
    fn ask(&mut self, field: &str, words: &str, stays: bool, group: Option<&str>) {
        // A depth or a gasket is that of all cylinders until one has its own.
        let own = self.at.as_ref().map(|name| (format!("{name}.{field}"), name));
        let known = |fields: &FieldSet| {
            let own = own.as_ref().and_then(|(own, _)| fields.get(own));
            own.or_else(|| fields.get(field)).map(crate::notebook::Value::text)
        };
        let asked = own.as_ref().filter(|_| !stays).map_or(field, |(own, _)| own);
        let is_asked = |question: &ReadingQuestion| question.field == asked;
        if known(self.now).is_some() || self.questions.iter().any(is_asked) {
            return;
        }
        let last = known(self.before);
        self.questions.push(ReadingQuestion {
            field: asked.to_owned(),
            words: match own.filter(|_| !stays) {
                Some((_, name)) => format!("{}, {words}", in_words(name)),
                None => words.to_owned(),
            },
            last,
            stays,
            opens: None,
            group: group.map(str::to_owned),
        });
    }

    fn reading(&mut self, field: &str, words: &str) {
        self.ask(field, words, false, None);
    }

    /// A reading that is no cylinder's own.
    fn reading_of_all(&mut self, field: &str, words: &str) {
        let at = self.at.take();
        self.reading(field, words);
        self.at = at;
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
            let inside =
                fields.iter().filter_map(|(field, _)| common(field).strip_prefix(&start)?.split('.').next());
            inside.map(str::to_owned).collect()
        };
        let known: BTreeSet<String> = of(self.now).union(&of(self.before)).cloned().collect();
        if known.is_empty() {
            return usual.iter().map(|name| (*name).to_owned()).collect();
        }
        let depth = |name: &String| {
            let field = format!("{start}{name}.depth");
            let own = self.at.as_ref().map(|name| format!("{name}.{field}"));
            let read = |fields: &FieldSet| {
                let own = own.as_deref().and_then(|own| fields.quantity(own));
                own.or_else(|| fields.quantity(&field)).map(crate::quantity::Quantity::si)
            };
            read(self.now).or_else(|| read(self.before)).unwrap_or(f64::INFINITY)
        };
        let mut names: Vec<_> = known.into_iter().collect();
        names.sort_by(|a, b| depth(a).total_cmp(&depth(b)));
        names
    }

    fn cylinder(&mut self) {
        self.staying("piston.gauge_height", "piston: gauge height above the skirt's edge");
        self.reading("piston.diameter", "piston: diameter there, across the pin");
        self.staying("gauges.bore.resolution", "bore gauge: least step it shows");
        self.reading_of_all("gauges.bore.set_on", "bore gauge zeroed on piston, ring, or Enter: whole sizes");
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
                if self.before.iter().any(|(known, _)| common(known) == field(inner)) {
                    self.ask(&field(inner), &format!("bore, {name}: {words}"), false, Some(&group));
                }
            }
        }
        for name in self.names("ring.gaps", &["top", "bottom"]) {
            let group = format!("ring.gaps.{name}");
            self.depth(&format!("{group}.depth"), &format!("ring gap, {name}: depth below the deck"), &group);
            self.ask(&format!("{group}.gap"), &format!("ring gap, {name}: end gap"), false, Some(&group));
        }
        self.reading("ring.side_clearance", "ring: side clearance in its groove");
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
        self.reading("deck.height", "deck height (negative where the crown stands above the deck)");
        self.reading("chamber.volume", "chamber by burette, in cc");
        self.staying("chamber.includes", "chamber: what was filled beside it (plug hole, dome, ring groove)");
        self.reading("reed.tension", "reeds: balance as a tip lifts, in g");
        self.reading("reed.gap", "reeds: gap under a tip");
    }

    fn rod(&mut self) {
        self.reading("rod.small_end_bore", "rod: bore of the small end");
        self.reading("rod.side_clearance", "rod: room beside the big end");
        self.reading("rod.big_end_play", "rod: play of the big end, up and down");
    }

    fn bottom(&mut self) {
        self.at = None;
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
