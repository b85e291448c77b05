//! What is to be set, now and later, for a script.

use serde_json::{Value as Json, json};

use super::answer::RejetReport;
use crate::advice::rejet::JetAdvice;
use crate::quantity::trimmed;

impl RejetReport<'_> {
    /// Every field to set, with what is on the bike.
    pub(super) fn fit_json(&self) -> Vec<Json> {
        let now = |field: &str| self.now.get(field).map(crate::notebook::Value::text);
        let each = self
            .to_set
            .iter()
            .map(|(field, value)| json!({ "field": field, "now": now(field), "fit": value }));
        each.collect()
    }

    /// The later steps, once plug and piston have been read.
    pub(super) fn then_json(&self) -> Vec<Json> {
        let later = |jet: &JetAdvice| {
            let steps =
                jet.steps.iter().skip(1).map(|step| json!({ "field": jet.field, "fit": trimmed(*step, 4) }));
            steps.collect::<Vec<_>>()
        };
        let trims = self.rejet.injection.iter().flat_map(|advice| advice.steps.iter().skip(1));
        let trims =
            trims.map(|trim| json!({ "field": "injection.trim", "fit": format!("{} %", trimmed(*trim, 4)) }));
        self.rejet.jets.iter().flat_map(later).chain(trims).collect()
    }
}
