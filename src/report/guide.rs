//! The guide: pages of Markdown that come with the program, for a person without a network.

use include_dir::{Dir, File, include_dir};
use schemars::JsonSchema;
use serde::Serialize;

use crate::notebook::fields::names::visible;
use crate::notebook::nearest_name;
use crate::report::out::screen::Screen;
use crate::report::out::trouble::Trouble;
use crate::report::out::width;

static PAGES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/src/guide");

/// In the order in which they are read; a page that is not named here comes behind.
const ORDER: [&str; 13] = [
    "tour", "garage", "sheets", "serve", "sharing", "jetting", "lean", "figures", "trust", "promises",
    "threats", "sources", "words",
];

/// A page of the guide.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GuidePage {
    /// The name that it is asked for by.
    pub name: &'static str,
    /// Its heading.
    title: &'static str,
    /// What stands in it, in one line.
    about: &'static str,
    /// The whole page in Markdown; not there in the list of pages.
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<&'static str>,
}

/// The pages of the guide, or one of them.
#[derive(Debug, Serialize, JsonSchema)]
pub struct GuideAnswer {
    /// All of them without their text, or the one that was asked for.
    pages: Vec<GuidePage>,
}

impl GuidePage {
    fn of(file: &'static File<'static>) -> Option<Self> {
        let name = file.path().file_stem()?.to_str()?;
        let text = file.contents_utf8()?;
        let mut lines = text.lines().filter(|line| !line.is_empty());
        let title = lines.next()?.strip_prefix("# ")?;
        Some(Self { name, title, about: lines.next()?, text: Some(text) })
    }
}

/// Every page, in the order in which they are read.
pub fn guide_pages() -> Vec<GuidePage> {
    let mut pages: Vec<GuidePage> = PAGES.files().filter_map(GuidePage::of).collect();
    pages.sort_by_key(|page| {
        (ORDER.iter().position(|name| *name == page.name).unwrap_or(ORDER.len()), page.name)
    });
    pages
}

impl GuideAnswer {
    /// The list of pages.
    pub fn list() -> Self {
        let pages = guide_pages().into_iter().map(|page| GuidePage { text: None, ..page });
        Self { pages: pages.collect() }
    }

    /// One page by its name, or by the beginning of it.
    pub fn page(asked: &str) -> Result<Self, Trouble> {
        let pages = guide_pages();
        let typed = asked.trim().trim_end_matches(".md").to_lowercase();
        let mut meant = pages.iter().filter(|page| page.name == typed);
        let mut begun = pages.iter().filter(|page| !typed.is_empty() && page.name.starts_with(&typed));
        let only = begun.next().filter(|_| begun.next().is_none());
        if let Some(page) = meant.next().or(only) {
            return Ok(Self { pages: vec![page.clone()] });
        }
        let names: Vec<&str> = pages.iter().map(|page| page.name).collect();
        let near = nearest_name(&typed, names.iter().copied());
        let near = near.map(|name| format!("Did you mean `reedbook guide {name}`? ")).unwrap_or_default();
        Err(Trouble::request(
            Some("page"),
            format!("The guide has no page \"{}\".", visible(asked)),
            format!("{near}Its pages are {}.", names.join(", ")),
        ))
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        match self.pages.as_slice() {
            [GuidePage { text: Some(text), .. }] => read(screen, text),
            pages => {
                let widest = pages.iter().map(|page| page.name.len()).max().unwrap_or(0);
                let line = |page: &GuidePage| {
                    screen.wrap(&format!("{:widest$}  {}", page.name, page.about), widest + 2)
                };
                let lines: Vec<String> = pages.iter().map(line).collect();
                format!("{}\n\nRead one:\n  reedbook guide {}", lines.join("\n"), ORDER[0])
            }
        }
    }
}

/// A page as a person reads it: prose at the screen's width, everything else as it stands in the file.
fn read(screen: &Screen, text: &str) -> String {
    let mut shown = Vec::new();
    let mut prose = String::new();
    let mut fenced = false;
    for line in text.lines() {
        let fence = line.starts_with("```");
        let is_row = !fenced && line.starts_with('|');
        let apart =
            fenced || fence || is_row || line.is_empty() || line.starts_with('#') || line.starts_with("- ");
        if apart && !prose.is_empty() {
            let indent = if prose.starts_with("- ") { 2 } else { 0 };
            shown.push(screen.wrap(&std::mem::take(&mut prose), indent));
        }
        if fence {
            fenced = !fenced;
        } else if fenced {
            shown.extend(example(screen, line));
        } else if line.is_empty() {
            shown.push(String::new());
        } else if line.starts_with('#') {
            shown.push(screen.strong(line.trim_start_matches('#').trim()));
        } else if is_row {
            prose.extend(row(&without_ways(line)));
        } else {
            if !prose.is_empty() {
                prose.push(' ');
            }
            prose.push_str(&without_ways(&line.trim().replace("**", "")));
        }
    }
    if !prose.is_empty() {
        let indent = if prose.starts_with("- ") { 2 } else { 0 };
        shown.push(screen.wrap(&prose, indent));
    }
    shown.join("\n")
}

/// A line of an example: what is said behind a command that leaves no room for it stands above it.
fn example(screen: &Screen, line: &str) -> Vec<String> {
    match line.split_once("  #").filter(|_| width::of(line) > screen.width()) {
        Some((command, said)) if !command.trim().is_empty() => {
            vec![
                screen.wrap(&format!("# {}", said.trim_start_matches('#').trim()), 2),
                command.trim_end().to_owned(),
            ]
        }
        _ => vec![line.to_owned()],
    }
}

/// A line without the addresses behind its words: a terminal follows none.
fn without_ways(line: &str) -> String {
    let mut rest = line;
    let mut plain = String::new();
    while let Some((before, words, after)) = first_way(rest) {
        plain.push_str(before);
        plain.push_str(words);
        rest = after;
    }
    plain.push_str(rest);
    plain
}

/// What stands before a line's first "[words](address)", the words, and what stands behind it.
fn first_way(line: &str) -> Option<(&str, &str, &str)> {
    let middle = line.find("](")?;
    let begins = line[..middle].rfind('[')?;
    let ends = middle + line[middle..].find(')')?;
    Some((&line[..begins], &line[begins + 1..middle], &line[ends + 1..]))
}

/// A row of a table as a line of a list, for it has more words than columns could hold; none for the rule under the head.
fn row(line: &str) -> Option<String> {
    let cells: Vec<&str> = line.trim().trim_matches('|').split('|').map(str::trim).collect();
    let (first, others) = cells.split_first()?;
    (!first.starts_with("---")).then(|| format!("- {first}: {}", others.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_of_a_table_is_a_line_of_a_list() {
        assert_eq!(
            row("| a pipe | no memory left | named |").as_deref(),
            Some("- a pipe: no memory left; named")
        );
        assert_eq!(row("|---|---|---|"), None);
    }

    #[test]
    fn an_address_behind_its_words_is_not_shown() {
        assert_eq!(without_ways("see [the files](../files/) and [map](m.md)."), "see the files and map.");
        assert_eq!(without_ways("a list [1, 2] (of two)"), "a list [1, 2] (of two)");
    }

    #[test]
    fn every_page_has_a_title_and_one_line_and_a_place_in_the_order() {
        let pages = guide_pages();
        let of_text = |file: &&File<'_>| file.path().extension().is_some_and(|ending| ending == "md");
        let texts = PAGES.files().filter(of_text).count();
        assert_eq!(pages.len(), texts, "a page without a title or its one line");
        let names: Vec<&str> = pages.iter().map(|page| page.name).collect();
        assert_eq!(names, ORDER);
        for page in &pages {
            assert!(page.about.ends_with('.') && page.about.len() < 72, "{}: {}", page.name, page.about);
        }
    }

    #[test]
    fn every_page_that_a_page_names_is_there() {
        let pages = guide_pages();
        let mut named = 0;
        for page in &pages {
            for (at, sign) in page.text.unwrap_or_default().match_indices("reedbook guide ") {
                let after = &page.text.unwrap_or_default()[at + sign.len()..];
                let name: String = after.chars().take_while(char::is_ascii_lowercase).collect();
                assert!(pages.iter().any(|page| page.name == name), "{} names {name}", page.name);
                named += 1;
            }
        }
        assert!(named > 4, "only {named} pages are named");
    }

    #[test]
    fn a_page_is_found_by_its_name_or_its_beginning() {
        let name = |asked: &str| GuideAnswer::page(asked).map(|answer| answer.pages[0].name);
        assert_eq!(name("Tour").ok(), Some("tour"));
        assert_eq!(name("jet").ok(), Some("jetting"));
        assert!(name("t").is_err() && name("").is_err() && name("jeting").is_err());
    }
}
