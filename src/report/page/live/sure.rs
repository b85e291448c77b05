//! What looks like a slip, said to be right: the answer counts for the question it was given to, not for what is typed after it. Of several
//! questions each has its own answer.

use maud::{Markup, html};

use super::{FormFields, PageFrame, kept, plain};
use crate::advice::slips::{Questioned, Slip};
use crate::report::out::frame::FramePart;
use crate::report::out::ways;
use crate::report::page::live::typed::MEANT;
use crate::store::outing_identity;

/// Name of the field that holds the questions that were answered with yes.
pub const SURE: &str = "sure";
/// Name of the field that says what is recorded as doubted.
pub const DOUBTED: &str = "doubted";

/// What is done once all is answered.
pub(super) struct Deed {
    /// Like "log it".
    pub(super) words: &'static str,
    /// Whether it may be recorded as doubted.
    pub(super) may_doubt: bool,
}

/// A question in short: what it asks of, and the value in it.
fn question(slip: &Slip) -> String {
    outing_identity(&format!("{}\n{}", slip.field, slip.question))
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

/// The place that is meant in place of one that is nearly called so.
fn meant(slip: &Slip) -> Option<String> {
    let instead = ways::worded(&slip.instead);
    let (_, name) = instead.split_once('"').filter(|_| slip.what == Questioned::Place)?;
    Some(name.rsplit_once('"')?.0.to_owned())
}

/// What looks like a slip: one question with a button for each answer, several with something to tick for each, and one button.
pub(super) fn questions(
    place: &PageFrame<'_>,
    asked: &[&Slip],
    (typed, deed): (&FormFields, &Deed),
) -> Markup {
    let said = |slip: &Slip| {
        let instead =
            Some(ways::worded(&slip.instead)).filter(|words| !words.is_empty() && meant(slip).is_none());
        let parts =
            std::iter::once(FramePart::Know(slip.question.clone())).chain(instead.map(FramePart::Say));
        plain(place, &parts.collect::<Vec<_>>())
    };
    let doubt = |slip: &Slip| slip.doubt().filter(|_| deed.may_doubt).map(crate::notebook::Doubted::word);
    let tick = |name: &str, value: &str, words: &str| {
        html! { label.check { input type="checkbox" name=(name) value=(value); span { (kept(words)) } } }
    };
    html! {
        p.hands { "Look again:" }
        @match asked {
            [only] => {
                (said(only))
                @if let Some(name) = meant(only) {
                    button.main name=(MEANT) value=(name) { "It is " (kept(&name)) ": " (deed.words) }
                    button.also name=(SURE) value=(question(only)) { "It is right as typed: " (deed.words) }
                } @else {
                    button.main name=(SURE) value=(question(only)) { "Yes, that is right: " (deed.words) }
                }
                @if let Some(what) = doubt(only) { button.also name=(DOUBTED) value=(what) { "Its " (what) " may be wrong: " (deed.words) " as doubted" } }
            },
            several => {
                @for slip in several {
                    div.ask {
                        (said(slip))
                        @if let Some(name) = meant(slip) { (tick(MEANT, &name, &format!("it is {name}"))) }
                        (tick(SURE, &question(slip), "it is right as typed"))
                        @if let Some(what) = doubt(slip) { (tick(DOUBTED, what, &format!("its {what} may be wrong: record it as doubted"))) }
                    }
                }
                @for what in typed.all(DOUBTED).filter(|what| !what.is_empty() && deed.may_doubt && !several.iter().any(|slip| doubt(slip) == Some(*what))) {
                    label.check { input type="checkbox" name=(DOUBTED) value=(what) checked; span { "its " (what) " recorded as doubted" } }
                }
                button.main { "Answered: " (deed.words) }
            },
        }
    }
}
