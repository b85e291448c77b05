//! What `-h` and `--help` show: a line for an option, the options of one purpose under one heading, and what every command has in
//! one line at the end. `-h` names what it has no room for, so that nothing is hidden.

use clap::{Arg, Command};

use crate::report::out::glue::GLUE;
use crate::report::out::screen::Screen;
use crate::report::out::width;

/// The most lines of `-h`.
const SHORT: usize = 25;
/// The most lines of `--help` that has blank lines in it.
const LONG: usize = 60;
/// Columns for the names of options; a longer one pushes its words to the right.
const NAMES: usize = 26;

/// A heading and the commands that stand under it.
pub type Group = (&'static str, &'static [&'static str]);

/// How help is shown.
pub struct HelpForm<'a> {
    /// The program's commands by what a person does.
    pub groups: &'a [Group],
    /// Commands of the shell's, not of the trade: named without their words.
    pub also: &'a [&'a str],
    /// `--help`: everything; otherwise what fits in a few lines.
    pub full: bool,
    /// Where it is shown.
    pub screen: Screen,
}

/// A name with what it is for.
struct Entry {
    /// All its forms, with what it takes.
    name: String,
    /// The long one alone.
    long: String,
    words: String,
}

/// What stands under one heading.
struct Section {
    heading: String,
    entries: Vec<Entry>,
    /// Whether its names alone are enough where room is short.
    may_be_names: bool,
}

impl HelpForm<'_> {
    /// Gives a command line, and all the commands in it, its help.
    pub fn dress(&self, mut line: Command) -> Command {
        line.build();
        let text = self.program(&mut line);
        line.override_help(text).mut_subcommands(|command| self.dress_command(command))
    }

    fn dress_command(&self, mut command: Command) -> Command {
        if command.get_name() == "help" {
            return command;
        }
        let text = self.command(&mut command);
        command.override_help(text).mut_subcommands(|inner| self.dress_command(inner))
    }

    /// The program's own help: its commands by what a person does.
    fn program(&self, line: &mut Command) -> String {
        let mut parts = vec![self.about(line), self.usage(line)];
        let known = |name: &&str| line.find_subcommand(name).is_some();
        let mut lines = Vec::new();
        for (heading, names) in self.groups.iter().copied().chain([("also", self.also)]) {
            let names: Vec<&str> = names.iter().copied().filter(known).collect();
            if !self.full || heading == "also" {
                // In full the options that every command takes stand with `-h`.
                let options = if self.full { "; -h says what every command takes" } else { "" };
                lines.push(self.hanging(&format!("{heading:10}{}{options}", names.join(", ")), 10));
                continue;
            }
            for (at, name) in names.into_iter().enumerate() {
                let heading = if at == 0 { heading } else { "" };
                let about = line.find_subcommand(name).and_then(Command::get_about);
                let about = about.map(ToString::to_string).unwrap_or_default();
                lines.push(self.hanging(&format!("{heading:10}{name:10}{about}"), 20));
            }
        }
        parts.push(lines.join("\n"));
        let after = line.get_after_help().map(ToString::to_string).unwrap_or_default();
        if self.full {
            parts.push(self.hanging(&after, 2));
        } else {
            parts.push(self.entries(&self.everywhere(line)));
            parts.push(self.hanging(&format!("--help says what each command does.\n{after}"), 2));
        }
        parts.iter().map(|part| part.trim_end()).collect::<Vec<_>>().join("\n\n") + "\n"
    }

    /// The help of one command.
    fn command(&self, command: &mut Command) -> String {
        let head = [self.about(command), self.usage(command)].join("\n\n");
        let sections = self.sections(command);
        let after = [command.get_after_help(), command.get_after_long_help().filter(|_| self.full)];
        let after: Vec<String> =
            after.into_iter().flatten().map(|text| self.hanging(&text.to_string(), 2)).collect();
        let everywhere = self.everywhere(command);
        let put = |in_full: &[bool], between: &str| {
            let shown = sections
                .iter()
                .zip(in_full)
                .map(|(section, in_full)| if *in_full { self.entries(section) } else { self.names(section) });
            let mut parts: Vec<String> = shown.collect();
            parts.push(self.names(&everywhere));
            if in_full.contains(&false) {
                parts.push("--help says what each option is.".into());
            }
            parts.extend(after.iter().cloned());
            [head.as_str(), "", &parts.join(between)].join("\n") + "\n"
        };
        let fits = |text: &String| text.lines().count() <= if self.full { LONG } else { SHORT };
        let mut in_full: Vec<bool> =
            sections.iter().map(|section| self.full || !section.may_be_names).collect();
        for at in 0..in_full.len() {
            let before = in_full.clone();
            in_full[at] = true;
            if !self.full && !fits(&put(&in_full, "\n")) {
                in_full = before;
            }
        }
        // A blank line between the sections where there is room for them.
        Some(put(&in_full, "\n\n")).filter(fits).unwrap_or_else(|| put(&in_full, "\n"))
    }

    /// What every command has.
    fn everywhere(&self, command: &Command) -> Section {
        let globals = command.get_arguments().filter(|arg| arg.is_global_set());
        Section {
            heading: "Everywhere".into(),
            entries: globals.map(|arg| self.entry(arg)).collect(),
            may_be_names: true,
        }
    }

    fn sections(&self, command: &Command) -> Vec<Section> {
        let own = |arg: &&Arg| !arg.is_global_set() && !arg.is_hide_set();
        let positionals = command.get_positionals().filter(own).map(|arg| self.entry(arg)).collect();
        let inner = command.get_subcommands().filter(|inner| inner.get_name() != "help").map(|inner| Entry {
            name: inner.get_name().to_owned(),
            long: inner.get_name().to_owned(),
            words: inner.get_about().map(ToString::to_string).unwrap_or_default(),
        });
        let section = |heading: &str, entries: Vec<Entry>| Section {
            heading: heading.to_owned(),
            entries,
            may_be_names: false,
        };
        let mut sections = vec![section("", positionals), section("Commands", inner.collect())];
        let options = command.get_arguments().filter(own).filter(|arg| !arg.is_positional());
        for arg in options.filter(|arg| !["help", "version"].contains(&arg.get_id().as_str())) {
            let heading = arg.get_help_heading().unwrap_or("Options");
            if let Some(section) = sections.iter_mut().find(|section| section.heading == heading) {
                section.entries.push(self.entry(arg));
            } else {
                let mut section = section(heading, vec![self.entry(arg)]);
                section.may_be_names = true;
                sections.push(section);
            }
        }
        sections.retain(|section| !section.entries.is_empty());
        sections
    }

    fn entry(&self, arg: &Arg) -> Entry {
        let takes = arg.get_action().takes_values();
        let values: Vec<String> = arg
            .get_possible_values()
            .iter()
            .filter(|value| takes && !value.is_hide_set())
            .map(|value| value.get_name().to_owned())
            .collect();
        let values = values.join("|");
        let in_name = !values.is_empty() && values.len() <= NAMES;
        let value = match arg.get_value_names() {
            _ if !takes => String::new(),
            _ if in_name => values.clone(),
            Some(names) => names.join(" "),
            None => arg.get_id().as_str().to_uppercase(),
        };
        let others = arg.get_visible_aliases().unwrap_or_default();
        let long = arg.get_long().map(|long| format!("--{long}"));
        let short = arg.get_short().map(|short| format!("-{short}"));
        let all = short.into_iter().chain(long.clone()).chain(others.iter().map(|name| format!("--{name}")));
        let all = all.collect::<Vec<_>>().join(", ");
        let with_value = |name: String| format!("{name} {value}").trim().to_owned();
        let help = arg.get_long_help().filter(|_| self.full).or(arg.get_help());
        let help = help.map(ToString::to_string).unwrap_or_default();
        let mut words = help.replace("\n\n", ". ").split_whitespace().collect::<Vec<_>>().join(" ");
        if !values.is_empty() && !in_name {
            words.push_str(&format!(": {}", values.replace('|', ", ")));
        }
        let default: Vec<_> = arg.get_default_values().iter().map(|value| value.to_string_lossy()).collect();
        if takes && !default.is_empty() && !arg.is_hide_default_value_set() {
            words.push_str(&format!(" (otherwise {})", default.join(", ")));
        }
        Entry { name: with_value(all), long: with_value(long.unwrap_or_default()), words }
    }

    fn about(&self, command: &Command) -> String {
        let long = command.get_long_about().filter(|_| self.full);
        let about = long.or(command.get_about()).map(ToString::to_string).unwrap_or_default();
        self.screen.wrap(&about, 0)
    }

    fn usage(&self, command: &mut Command) -> String {
        self.hanging(&command.render_usage().to_string(), 7)
    }

    /// A heading, and a line for each of its entries.
    fn entries(&self, section: &Section) -> String {
        let widest = section.entries.iter().map(|entry| width::of(&entry.name)).max().unwrap_or(0).min(NAMES);
        let line = |entry: &Entry| {
            self.hanging(&format!("  {}  {}", width::padded(&entry.name, widest), entry.words), widest + 4)
        };
        let lines = section.entries.iter().map(line).collect::<Vec<_>>().join("\n");
        if section.heading.is_empty() {
            return lines;
        }
        format!("{}\n{lines}", self.screen.strong(&format!("{}:", section.heading)))
    }

    /// A heading with the names under it, in as few lines as will do.
    fn names(&self, section: &Section) -> String {
        let glued = |entry: &Entry| entry.long.replace(' ', &GLUE.to_string());
        let names = section.entries.iter().map(glued).collect::<Vec<_>>().join(", ");
        let text = self.hanging(&format!("{}: {names}", section.heading), 2);
        let (heading, rest) = text.split_once(':').unwrap_or((&text, ""));
        format!("{}{rest}", self.screen.strong(&format!("{heading}:")))
    }

    fn hanging(&self, text: &str, indent: usize) -> String {
        self.screen.wrap(text, indent)
    }
}
