//! What is set or fitted on a bike, section by section.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::now::OnIt;
use crate::notebook::fields::names::visible;
use crate::report::out::glue::GLUE;
use crate::report::out::width;
use crate::report::words::layout::first_line;

/// What is on a bike of one section.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SectionNow<'a> {
    /// The section, like jetting.
    pub(super) section: &'a str,
    /// What is set or fitted.
    values: Vec<SetNow<'a>>,
}

/// One thing that is set or fitted.
#[derive(Debug, Serialize, JsonSchema)]
struct SetNow<'a> {
    /// Its name at the bike.
    name: &'a str,
    /// Its value, as typed, with its unit.
    value: &'a str,
}

impl<'a> SectionNow<'a> {
    pub(super) fn of(one: &'a OnIt) -> Self {
        let values = one.values.iter().map(|(name, value)| SetNow { name, value }).collect();
        Self { section: &one.section, values }
    }

    /// "main 178, pilot 52.5".
    pub(super) fn words(&self) -> String {
        self.words_of(true)
    }

    /// The same without what is seldom turned, where not `all` is wanted.
    pub(super) fn words_of(&self, all: bool) -> String {
        let shown = self.values.iter().filter(|one| all || !SELDOM.contains(&one.name));
        let words: Vec<String> = shown.map(|one| one.words(self.section)).collect();
        words.join(", ")
    }

    /// The first few of them.
    pub(super) fn in_short(&self) -> String {
        let words: Vec<String> = self.values.iter().take(IN_SHORT).map(|one| one.words("")).collect();
        words.join(", ")
    }
}

/// What is seldom turned between two runs: `show` and `-v` have it.
const SELDOM: [&str; 12] = [
    "shim",
    "needle jet",
    "slide cutaway",
    "float height",
    "carburetor bore",
    "plug gap",
    "limiter",
    "reed block",
    "silencer",
    "silencer core",
    "primary reduction",
    "gearbox cluster",
];

/// Values in the line of one bike among others.
const IN_SHORT: usize = 4;

/// Columns under which a name and its value are one word: so many stand behind the indent of the narrowest screen, with a comma.
const ON_ONE_LINE: usize = 28;

impl SetNow<'_> {
    /// "main 178", "base gasket 0.40 mm", under the heading of its section; a map says what it is.
    fn words(&self, section: &str) -> String {
        let (name, value) = (visible(self.name), first_line(self.value));
        let name = name.strip_prefix(section).map_or(name.as_str(), str::trim_start);
        let value = value.strip_prefix("map of").map_or(value.clone(), |size| format!("of{size}"));
        let words = format!("{name} {value}").trim_start().to_owned();
        // A short name and its value stay on one line.
        if width::of(&words) < ON_ONE_LINE { words.replace(' ', &GLUE.to_string()) } else { words }
    }
}
