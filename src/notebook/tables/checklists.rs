//! `configs/checklists.toml`: the tuner's check lists, from which a build's steps are copied.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::notebook::documents::build::{ChecklistStep, Scope};
use crate::quantity::{Number, Torque};

/// `configs/checklists.toml`: the check lists of the shop.
#[derive(Debug, Clone, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Checklists {
    /// The lists, each under its name.
    #[serde(default)]
    pub lists: BTreeMap<String, Checklist>,
}

/// When a list is worked through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ListTime {
    /// Before the engine runs: it is not ready while a step is open.
    #[default]
    Before,
    /// After it has run for the first time.
    AfterFirstRun,
}

/// One check list.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Checklist {
    /// What it is called.
    pub title: String,
    /// Its place among the lists.
    #[schemars(extend("x-range" = [1, 99], "x-whole" = true))]
    pub place: Number,
    /// Before the engine runs, or after its first run.
    #[serde(default)]
    pub when: ListTime,
    /// Which builds it is for.
    pub scopes: Vec<Scope>,
    /// Where it is from.
    pub source: Option<String>,
    /// Its steps, each under a name that no other list has.
    #[serde(default)]
    pub steps: BTreeMap<String, ListedStep>,
}

/// One step of a list.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ListedStep {
    /// Its place in the list.
    #[schemars(extend("x-range" = [1, 999], "x-whole" = true))]
    pub place: Number,
    /// What is to be done.
    pub says: String,
    /// What can hurt somebody or spoil the engine.
    pub caution: Option<String>,
    /// Whether a torque is to be written down.
    #[serde(default)]
    pub wants_torque: bool,
    /// Whether a mark is to be put on.
    #[serde(default)]
    pub wants_mark: bool,
    /// The torque that is wanted, from the machine's manual.
    #[schemars(extend("x-range" = [0.1, 500]))]
    pub torque_wanted: Option<Torque>,
    /// Whether it is done at each cylinder of an engine with several.
    #[serde(default)]
    pub at_each_cylinder: bool,
}

/// A step of a list as a build begins with it.
#[derive(Debug, Clone)]
pub struct BegunStep {
    /// Its name, its own over all lists.
    pub name: String,
    /// Whether it is done at each cylinder of an engine with several.
    pub at_each_cylinder: bool,
    /// The step.
    pub step: ChecklistStep,
}

impl Checklists {
    /// The steps for a build, in the order of work, numbered through from 1.
    pub fn steps_for(&self, scope: Scope) -> Vec<BegunStep> {
        let mut lists: Vec<_> = self.lists.iter().filter(|(_, list)| list.scopes.contains(&scope)).collect();
        lists.sort_by(|(_, a), (_, b)| a.place.si().total_cmp(&b.place.si()));
        let mut found: Vec<BegunStep> = Vec::new();
        for (list_name, list) in lists {
            let mut steps: Vec<_> = list.steps.iter().collect();
            steps.sort_by(|(_, a), (_, b)| a.place.si().total_cmp(&b.place.si()));
            for (name, listed) in steps {
                let place = Number::parse(&(found.len() + 1).to_string()).ok();
                let is_taken = found.iter().any(|known| known.name == *name);
                let name = if is_taken { format!("{list_name}-{name}") } else { name.clone() };
                found.push(BegunStep {
                    name,
                    at_each_cylinder: listed.at_each_cylinder,
                    step: listed.begun(list_name, list.when, place),
                });
            }
        }
        found
    }
}

impl ListedStep {
    fn begun(&self, list: &str, when: ListTime, place: Option<Number>) -> ChecklistStep {
        ChecklistStep {
            list: Some(list.to_owned()),
            place,
            says: Some(self.says.clone()),
            caution: self.caution.clone(),
            after_first_run: when == ListTime::AfterFirstRun,
            wants_torque: self.wants_torque,
            wants_mark: self.wants_mark,
            torque_wanted: self.torque_wanted.clone(),
            ..ChecklistStep::default()
        }
    }
}
