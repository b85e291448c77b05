//! A build as the history tells it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::Readiness;
use crate::notebook::Scope;

/// A build, and how it stands.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct BuildLine<'a> {
    /// Identity of the build.
    id: &'a str,
    /// When the engine was put together.
    date: String,
    /// How much of it was apart.
    scope: Scope,
    /// Why.
    why: Option<&'a str>,
    /// Whether every step is done and no figure is beyond its limits.
    ready: bool,
    /// Steps that are open before it runs.
    open: &'a [String],
    /// Steps for after the first run that are open.
    open_after_first_run: &'a [String],
    /// Figures beyond their limits, in words.
    replace: &'a [String],
    /// Figures to be watched.
    watch: &'a [String],
    /// Figures that the gauges cannot decide.
    too_close_to_call: &'a [String],
}

impl<'a> BuildLine<'a> {
    /// A build that was judged.
    pub(super) fn of(ready: &'a Readiness) -> Self {
        let build = &ready.record.build;
        Self {
            id: &ready.record.id,
            date: build.date.to_string(),
            scope: build.scope,
            why: build.why.as_deref(),
            ready: ready.is_ready(),
            open: &ready.open,
            open_after_first_run: &ready.open_after,
            replace: &ready.beyond,
            watch: &ready.watched,
            too_close_to_call: &ready.unsure,
        }
    }
}
