//! What was cut in metal, after one of two sides was kept.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::report::out::frame::Frame;
use crate::store::KeptMetal;

/// A measurement of cut metal after a side was kept.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct MetalEntry<'a> {
    /// The dotted field.
    field: &'a str,
    /// What holds.
    holds: &'a str,
    /// What the other side has, where both cut it; null where only the side did that was not kept.
    other: Option<&'a str>,
}

impl<'a> MetalEntry<'a> {
    pub(super) fn of(metal: &'a KeptMetal) -> Self {
        Self { field: &metal.field, holds: &metal.holds, other: metal.other.as_deref() }
    }

    pub(super) fn text(&self, frame: &mut Frame<'_>) {
        let (field, holds) = (visible(self.field), visible(self.holds));
        match self.other {
            None => frame.know(&format!(
                "{field} stays {holds}: it was cut in metal on the side that was not kept, and metal does not come back."
            )),
            Some(other) => frame.stop(&format!(
                "Both sides cut {field}: {holds} holds by the record, {} on the other side. Measure it before it is run.",
                visible(other)
            )),
        }
    }
}
