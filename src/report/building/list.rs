//! An engine's builds in a list, and a build on one line.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::Readiness;
use crate::notebook::{Scope, When};
use crate::report::out::screen::Screen;
use crate::report::words::layout::{count, first_line};

/// An engine's builds, newest first.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BuildListAnswer {
    /// Folder name of the engine.
    engine: String,
    /// Its builds, newest first.
    builds: Vec<BuildListed>,
    /// What is wrong with build files that cannot be read.
    unreadable: Vec<String>,
}

/// A build as it stands in a list or in the history.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BuildListed {
    /// Identity of the build.
    id: String,
    /// When the engine was put together.
    #[schemars(with = "String")]
    date: When,
    /// How much of it was apart.
    scope: Scope,
    /// The one of several cylinders that alone was apart; not there where all were, and on an engine with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    at: Option<String>,
    /// The same in words.
    #[serde(skip)]
    apart: String,
    /// Why.
    why: Option<String>,
    /// Whether every step is done and no figure is beyond its limits.
    ready: bool,
    /// Steps that are open before it runs.
    open: Vec<String>,
    /// Steps for after the first run that are open.
    open_after_first_run: Vec<String>,
    /// Figures beyond their limits, in words.
    replace: Vec<String>,
    /// Figures to be watched.
    watch: Vec<String>,
    /// Figures that the gauges cannot decide.
    too_close_to_call: Vec<String>,
}

impl From<&Readiness> for BuildListed {
    fn from(ready: &Readiness) -> Self {
        let build = &ready.record.build;
        Self {
            id: ready.record.id.clone(),
            date: build.date,
            scope: build.scope,
            at: build.apart_at().map(str::to_owned),
            apart: build.what_was_apart(),
            why: build.why.clone(),
            ready: ready.is_ready(),
            open: ready.open.clone(),
            open_after_first_run: ready.open_after.clone(),
            replace: ready.beyond.clone(),
            watch: ready.watched.clone(),
            too_close_to_call: ready.unsure.clone(),
        }
    }
}

impl BuildListed {
    /// On one line: "2026-03-01 top end: ready; watch piston clearance".
    pub fn line(&self) -> String {
        let mut parts = vec![format!("{} {}", self.date.short(), self.apart)];
        if !self.open.is_empty() {
            parts.push(format!("not ready, {} open", count(self.open.len(), "step")));
        }
        for (word, names) in [
            ("replace", &self.replace),
            ("watch", &self.watch),
            ("too close to call", &self.too_close_to_call),
        ] {
            if !names.is_empty() {
                parts.push(format!("{word}: {}", names.join(", ")));
            }
        }
        if let Some(why) = &self.why {
            parts.push(format!("\"{}\"", first_line(why)));
        }
        parts.join(" | ")
    }
}

impl BuildListAnswer {
    /// The builds of an engine, oldest first, and what is wrong with files that cannot be read.
    pub fn new(engine: &str, builds: &[Readiness], unreadable: Vec<String>) -> Self {
        let builds = builds.iter().rev().map(BuildListed::from).collect();
        Self { engine: engine.to_owned(), builds, unreadable }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let engine = &self.engine;
        let mut lines = if self.builds.is_empty() {
            vec![format!("{engine} has no build yet. Begin one:\n  reedbook build new {engine}")]
        } else {
            let builds = count(self.builds.len(), "build");
            vec![screen.strong(&format!("{engine}: {builds}, newest first"))]
        };
        let listed = |build: &BuildListed| screen.wrap(&format!("  {}  {}", build.id, build.line()), 4);
        lines.extend(self.builds.iter().map(listed));
        let findings = self.unreadable.iter().flat_map(|file| file.lines());
        lines.extend(findings.map(|finding| screen.known(finding)));
        lines.join("\n")
    }
}
