//! What is to be set, now and later.

use schemars::JsonSchema;
use serde::Serialize;

use super::answer::RejetReport;
use crate::advice::rejet::JetAdvice;
use crate::notebook::{FieldSet, Value};
use crate::quantity::{nearly_equal, trimmed};

/// A field to set on the bike as it stands.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct FitNow {
    /// The field of the setup.
    pub(super) field: String,
    /// What is on the bike; null where it is not written down.
    pub(super) now: Option<String>,
    /// What to fit, as it is written in a setup.
    pub(super) fit: String,
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

/// A change that is recorded and by the jobs not on the bike, and that this advice sets otherwise.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct TakenBack {
    /// The field of the setup.
    field: String,
    /// What is recorded, as it is written in a setup.
    recorded: String,
    /// What the advice sets instead, as it is written in a setup.
    fit: String,
    /// What was to be done at the bike, in words.
    pub(super) what: String,
}

/// What is recorded, not on the bike by its jobs, and otherwise once this advice is recorded: nobody is told of it by a job any more.
pub(super) fn taken_back(report: &RejetReport<'_>) -> Vec<TakenBack> {
    let otherwise = |(field, what): &(String, String)| {
        let (_, fit) = report.to_set.iter().find(|(set, _)| set == field)?;
        let recorded = report.now.get(field)?.text();
        Some(TakenBack { field: field.clone(), recorded, fit: fit.clone(), what: what.clone() })
    };
    report.not_fitted.iter().filter_map(otherwise).collect()
}

/// Every field to set, with what is on the bike: what is recorded and not yet on it as well.
pub(super) fn fit_now(report: &RejetReport<'_>) -> Vec<FitNow> {
    let on_it = |field: &str| report.on_it.get(field).map(Value::text);
    let set = report.to_set.iter().map(|(field, fit)| (field.as_str(), fit.clone()));
    let is_set = |field: &str| report.to_set.iter().any(|(set, _)| set == field);
    let open = report.not_fitted.iter().map(|(field, _)| field.as_str()).filter(|field| !is_set(field));
    let open = open.filter_map(|field| Some((field, report.now.get(field)?.text())));
    let all = set.chain(open).map(|(field, fit)| FitNow { field: field.to_owned(), now: on_it(field), fit });
    // What is recorded otherwise and is still in it needs no hand.
    all.filter(|set| !is_in_it(report.on_it, set)).collect()
}

/// Whether the bike has already what is to be fitted, however it is written.
fn is_in_it(on_it: &FieldSet, set: &FitNow) -> bool {
    let number = set.fit.split_whitespace().next().and_then(|number| number.parse::<f64>().ok());
    match on_it.quantity(&set.field).zip(number) {
        Some((now, fit)) => nearly_equal(now.value(), fit),
        None => set.now.as_ref() == Some(&set.fit),
    }
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
