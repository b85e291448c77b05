//! What is to be set, now and later.

use schemars::JsonSchema;
use serde::Serialize;

use super::answer::RejetReport;
use crate::advice::rejet::JetAdvice;
use crate::notebook::Value;
use crate::quantity::trimmed;

/// A field to set on the bike as it stands.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FitNow<'a> {
    /// The field of the setup.
    pub(super) field: &'a str,
    /// What is on the bike; null where it is not written down.
    pub(super) now: Option<String>,
    /// What to fit, as it is written in a setup.
    pub(super) fit: &'a str,
}

/// A field to set later.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FitLater {
    /// The field of the setup.
    field: &'static str,
    /// What to fit, as it is written in a setup.
    fit: String,
}

/// A field that --record sets.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FieldSetTo<'a> {
    /// Dotted field.
    field: &'a str,
    /// Value with its unit.
    value: &'a str,
}

/// Every field to set, with what is on the bike.
pub(super) fn fit_now<'a>(report: &RejetReport<'a>) -> Vec<FitNow<'a>> {
    let now = |field: &str| report.now.get(field).map(Value::text);
    report.to_set.iter().map(|(field, fit)| FitNow { field, now: now(field), fit }).collect()
}

/// The later steps, once plug and piston have been read.
pub(super) fn fit_later(report: &RejetReport<'_>) -> Vec<FitLater> {
    let later = |jet: &JetAdvice| {
        let field = jet.field;
        let steps = jet.steps.iter().skip(1).map(|step| FitLater { field, fit: trimmed(*step, 4) });
        steps.collect::<Vec<_>>()
    };
    let trims = report.rejet.injection.iter().flat_map(|advice| advice.steps.iter().skip(1));
    let trims =
        trims.map(|trim| FitLater { field: "injection.trim", fit: format!("{} %", trimmed(*trim, 4)) });
    report.rejet.jets.iter().flat_map(later).chain(trims).collect()
}

/// What --record sets.
pub(super) fn set_to<'a>(report: &RejetReport<'a>) -> Vec<FieldSetTo<'a>> {
    report.to_set.iter().map(|(field, value)| FieldSetTo { field, value }).collect()
}
