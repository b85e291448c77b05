//! One side of a question that only a person can answer: who recorded it, how it ran, and what its maker did not know.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::report::history::outing::OutingEntry;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{DATE, first_line};
use crate::store::SideWords;

/// Who recorded a side, and why.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SideEntry<'a> {
    /// Number of the setup on its own side.
    #[schemars(range(min = 1))]
    pub(super) number: Option<u32>,
    /// Who.
    pub(super) author: &'a str,
    /// When, with its offset.
    #[schemars(regex(pattern = DATE))]
    pub(super) date: String,
    /// Why.
    pub(super) why: &'a str,
    /// In what air.
    pub(super) air: Option<&'a str>,
    /// How it ran last on its own side; null where it did not. Of a run that both mended, the run as it stands once this side is kept.
    pub(super) ran: Option<OutingEntry<'a>>,
    /// Whether keeping this side lets a run go that was lean or seized; it needs a reason then.
    pub(super) lets_go: bool,
    /// Of a setup the newest lean run that the other side has and whoever recorded this one did not know; keeping it needs a reason then.
    unaware_of: Option<OutingEntry<'a>>,
}

impl<'a> SideEntry<'a> {
    pub(super) fn of(side: &'a SideWords) -> Self {
        Self {
            number: side.number,
            author: &side.author,
            date: side.date.to_string(),
            why: &side.why,
            air: side.air.as_deref(),
            ran: side.ran.as_ref().map(OutingEntry::of),
            lets_go: side.lets_go,
            unaware_of: side.unaware_of.as_ref().map(OutingEntry::of),
        }
    }

    pub(super) fn line(&self, side: &str) -> String {
        let number = self.number.map(|number| format!("setup {number} there, ")).unwrap_or_default();
        let number = if side == "here" { number.replace("there", "here") } else { number };
        let air = self.air.map(|air| format!(" [{}]", visible(air))).unwrap_or_default();
        let day = self.date.get(..16).unwrap_or(&self.date).replace('T', " ");
        format!("  {side}: {number}{} on {day}: {}{air}", visible(self.author), first_line(self.why))
    }

    /// Whether it is kept for a reason only.
    pub(super) fn needs_a_reason(&self) -> bool {
        self.lets_go || self.unaware_of.is_some()
    }

    /// What must be known before anybody chooses: a lean run that one side knew nothing of.
    pub(super) fn say_unaware(&self, name: &str, frame: &mut Frame<'_>, screen: &Screen) {
        let Some(run) = &self.unaware_of else { return };
        let setup = run.setup().map(|number| format!("setup {number}, ")).unwrap_or_default();
        frame.stop(&format!(
            "Lean: {setup}{}. Who recorded what stands {name} did not know it: nothing leaner than that run.",
            run.line(screen)
        ));
    }
}
