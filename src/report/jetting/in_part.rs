//! An answer about the jetting of several cylinders where one may have none: those that have one, and why the others do not.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::ser::{Error, SerializeMap};
use serde::{Serialize, Serializer};

use crate::notebook::fields::cylinder::at_cylinder;
use crate::report::out::each::OfCylinders;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;

/// The answers of the cylinders that have one, and why another has none.
#[derive(JsonSchema)]
pub struct InPart<A> {
    /// Each.
    #[serde(flatten)]
    pub(super) each: OfCylinders<A>,
    /// Cylinders without an answer, by name, with the reason; not there where every one has an answer. While one has none, nothing of an
    /// advice stands above the cylinders: it would be read of that one too.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    #[schemars(extend("default" = {}))]
    pub(super) unanswered: BTreeMap<String, Unanswered>,
}

/// What is asked, and what goes with every advice: that holds whether a cylinder has an answer or not.
const ASKED: [&str; 6] = ["bike", "air", "kept", "cautions", "temperatures", "down"];

impl<A: Serialize> Serialize for InPart<A> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let is_whole = self.is_whole();
        let all = self.each.as_one(|field| is_whole || ASKED.contains(&field)).map_err(S::Error::custom)?;
        let mut whole = serializer.serialize_map(None)?;
        for (name, value) in &all {
            whole.serialize_entry(name, value)?;
        }
        if !is_whole {
            whole.serialize_entry("unanswered", &self.unanswered)?;
        }
        whole.end()
    }
}

/// Why a cylinder has no answer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(super) struct Unanswered {
    /// What stands against it.
    message: String,
    /// What to do.
    help: String,
}

impl Unanswered {
    /// That a cylinder has no answer, why, and the way out without its command: that stands in the error of the cylinder by itself.
    pub(super) fn words(&self, name: &str, bike: &str) -> String {
        let help = self.help.split(": `").next().unwrap_or_default().trim_end_matches('.');
        let help = if help.is_empty() { String::new() } else { format!(" {help}.") };
        let own = self.message.replace(&format!("No run of {bike} was right"), "It was not right");
        at_cylinder(name, &format!("no answer. {own}{help}"))
    }
}

impl<A> InPart<A> {
    /// The answers by cylinder, and what went wrong at the others.
    pub fn new(each: OfCylinders<A>, wrong: &[(String, Trouble)]) -> Self {
        let reason = |(name, trouble): &(String, Trouble)| {
            let at_it = trouble.clone().of_cylinder(name);
            let ((message, _), (_, help)) = (trouble.message_and_help(), at_it.message_and_help());
            (name.clone(), Unanswered { message: message.to_owned(), help: help.to_owned() })
        };
        Self { each, unanswered: wrong.iter().map(reason).collect() }
    }

    /// The answers.
    pub fn each(&self) -> &OfCylinders<A> {
        &self.each
    }

    /// Whether every cylinder has one.
    pub(in crate::report) fn is_whole(&self) -> bool {
        self.unanswered.is_empty()
    }

    /// Which cylinders have no answer, and why, a sentence each.
    pub fn without(&self, bike: &str) -> Vec<String> {
        self.unanswered.iter().map(|(name, other)| other.words(name, bike)).collect()
    }

    /// The same above a grid or a list, a line each.
    pub(super) fn stops(&self, bike: &str, screen: &Screen) -> Vec<String> {
        self.without(bike).iter().map(|words| screen.wrap(&format!("!! {words}"), 3)).collect()
    }
}
