//! What looks like a slip, said to be right: the answer counts for the question it was given to, not for what is typed after it.

use maud::{Markup, html};

use super::FormFields;
use crate::advice::slips::Slip;
use crate::store::outing_identity;

/// Name of the field that holds the questions that were answered with yes.
pub const SURE: &str = "sure";

/// A question in short: what it asks of, and the value in it.
fn question(slip: &Slip) -> String {
    outing_identity(&format!("{}\n{}", slip.field, slip.question))
}

/// The yes to all of them.
pub(super) fn answers(asked: &[&Slip]) -> String {
    asked.iter().map(|slip| question(slip)).collect::<Vec<_>>().join(" ")
}

/// Whether a question was answered with yes.
pub fn is_answered(typed: &FormFields, slip: &Slip) -> bool {
    let asked = question(slip);
    typed.all(SURE).flat_map(str::split_whitespace).any(|known| known == asked)
}

/// What was answered before, so that it is not asked once more.
pub(super) fn answered(typed: &FormFields) -> Markup {
    let mut before: Vec<&str> = typed.all(SURE).flat_map(str::split_whitespace).collect();
    before.sort_unstable();
    before.dedup();
    html! { @if !before.is_empty() { input type="hidden" name=(SURE) value=(before.join(" ")); } }
}

/// What Enter presses in a field: the form is sent as it stands, and no question is answered by it. Nobody sees it.
pub(super) fn entered() -> Markup {
    html! { button.enter tabindex="-1" aria-hidden="true" { "Send" } }
}
