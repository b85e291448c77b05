//! What a figure rests on, with where that is from.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::report::out::screen::Screen;

/// Something assumed, with where it is from.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(in crate::report) struct Assumed {
    /// Name in configs/assumptions.toml, of the option, or of the rule.
    pub(in crate::report) name: &'static str,
    /// What is assumed, with its unit.
    pub(in crate::report) value: String,
    /// Where it is from.
    pub(in crate::report) source: String,
}

impl Assumed {
    /// For a person.
    pub(in crate::report) fn text(&self, screen: &Screen) -> String {
        let words = format!("  {}: {}: {}.", self.name, visible(&self.value), visible(&self.source));
        screen.wrap(&words, 4)
    }
}
