//! Whose engine an answer is about, and what is supposed of it.

use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::out::figure::Figure;
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
    /// Which of several cylinders it is; not there on an engine with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "AtCylinder")]
    pub cylinder: Option<AtCylinder>,
}

/// One of several cylinders.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AtCylinder {
    /// Its name; null where all are alike.
    pub name: Option<String>,
    /// How many there are.
    pub of: usize,
    /// Displacement of all of them, cc; null where bore or stroke of one is not known.
    pub displacement_cc: Option<Figure<2>>,
}

impl Subject {
    /// The heading, with what is supposed.
    pub(in crate::report) fn heading(&self, screen: &Screen, what: &str) -> Vec<String> {
        self.headed(screen, &format!(", {}", self.setup), what)
    }

    /// The same for a long sentence: the bike as it stands needs no word.
    pub(in crate::report) fn heading_in_short(&self, screen: &Screen, what: &str) -> Vec<String> {
        let setup = if self.setup == "now" { String::new() } else { format!(", {}", self.setup) };
        self.headed(screen, &setup, what)
    }

    fn headed(&self, screen: &Screen, setup: &str, what: &str) -> Vec<String> {
        let at = match &self.cylinder {
            Some(AtCylinder { name: Some(name), .. }) => format!(", cylinder {}", visible(name)),
            Some(_) => ", each cylinder".to_owned(),
            None => String::new(),
        };
        let head = format!("{}{setup}{at}: {what}", self.bike);
        let mut lines = vec![screen.strong(&screen.wrap(&head, 2))];
        if let Some(AtCylinder { of, displacement_cc: Some(cc), .. }) = &self.cylinder {
            lines.push(format!("  {of} cylinders, {} cc together", fixed(cc.0, 1)));
        }
        lines.extend(
            self.supposed.iter().map(|words| screen.wrap(&format!("  what if: {}", visible(words)), 4)),
        );
        lines.extend(self.follows.iter().map(|words| screen.wrap(&format!("  then: {words}"), 4)));
        if !self.supposed.is_empty() {
            lines.push("  Nothing of this is recorded.".into());
        }
        lines
    }
}
