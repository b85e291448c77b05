//! Whose engine an answer is about, and what is supposed of it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::report::out::screen::Screen;

/// The setup an answer is about: the fields every answer about an engine begins with.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Subject {
    /// Folder name of the bike.
    pub bike: String,
    /// "setup 3" or "now".
    pub setup: String,
    /// What is supposed of the setup with --with and the cuts, in words; nothing of it is recorded.
    pub supposed: Vec<String>,
    /// What follows from what was supposed, computed, in words.
    pub follows: Vec<String>,
}

impl Subject {
    /// The heading, with what is supposed.
    pub(in crate::report) fn heading(&self, screen: &Screen, what: &str) -> Vec<String> {
        let mut lines =
            vec![screen.strong(&screen.wrap(&format!("{}, {}: {what}", self.bike, self.setup), 2))];
        lines.extend(
            self.supposed.iter().map(|words| screen.wrap(&format!("  supposed: {}", visible(words)), 4)),
        );
        lines.extend(self.follows.iter().map(|words| screen.wrap(&format!("  then: {words}"), 4)));
        if !self.supposed.is_empty() {
            lines.push("  Nothing of this is recorded.".into());
        }
        lines
    }
}
