//! A line that was typed wrongly, in our words: what is wrong in it, what would be right, and how the command is typed.

use clap::Command;
use clap::error::{ContextKind, ContextValue, ErrorKind};

use crate::notebook::nearest_name;
use crate::report::Trouble;

/// What is wrong with the line of these words; none where it is no such error.
pub(super) fn trouble(
    error: &clap::Error,
    (line, words): (&Command, &[String]),
    is_bike: &dyn Fn(&str) -> bool,
) -> Option<Trouble> {
    let typed = TypedCommand { error, path: path(line, words) };
    let (message, help) = match error.kind() {
        ErrorKind::InvalidSubcommand => {
            let word = typed.one(ContextKind::InvalidSubcommand)?;
            let bike = (typed.path == "reedbook" && is_bike(&word)).then(|| word.clone());
            (
                format!("There is no command \"{word}\"."),
                bike.map(|bike| format!("{bike} is a bike: `reedbook now {bike}`"))
                    .or_else(|| called_otherwise(&typed.path, &word))
                    .or_else(|| is_bike(&word).then(|| typed.usage_or_help()))
                    .or_else(|| typed.nearest(&word))
                    .unwrap_or_else(|| format!("{} lists the commands.", helped(&typed.path))),
            )
        }
        ErrorKind::MissingRequiredArgument => {
            let missing = typed.all(ContextKind::InvalidArg);
            let is = if missing.len() == 1 { "is" } else { "are" };
            let names: Vec<String> = missing.iter().map(|name| bare(name)).collect();
            let only_options = names.iter().all(|name| name.starts_with("--"));
            let options = || {
                let valued = |name: &String| match name.split_once(' ') {
                    Some((option, _)) => format!("{option} \"…\""),
                    None => name.clone(),
                };
                names.iter().map(valued).collect::<Vec<_>>().join(" ")
            };
            let help = if only_options {
                format!("Type the same line with `{}` behind it.", options())
            } else {
                format!("Usage: `{}`", typed.usage()?)
            };
            (format!("{} {is} missing.", names.join(" and ")), help)
        }
        ErrorKind::MissingSubcommand => ("What it is to do is missing.".to_owned(), typed.usage_or_help()),
        ErrorKind::UnknownArgument => (
            typed.one(ContextKind::InvalidArg).map(|word| not_taken(&bare(&word)))?,
            match typed.meant(ContextKind::SuggestedArg) {
                Some(meant) => meant,
                None => air_by_options(words).unwrap_or_else(|| typed.usage_or_help()),
            },
        ),
        ErrorKind::InvalidValue => {
            let option = bare(&typed.one(ContextKind::InvalidArg)?);
            let allowed = typed.all(ContextKind::ValidValue);
            let value = typed.one(ContextKind::InvalidValue).unwrap_or_default();
            let message = if value.is_empty() {
                format!("{option} needs a value.")
            } else {
                format!("{option} cannot be \"{value}\".")
            };
            let values = (!allowed.is_empty()).then(|| format!("It is one of {}.", allowed.join(", ")));
            let meant = typed.one(ContextKind::SuggestedValue).map(|one| format!("Did you mean {one}?"));
            let help = [meant, values].into_iter().flatten().collect::<Vec<_>>().join(" ");
            (message, if help.is_empty() { typed.usage_or_help() } else { help })
        }
        ErrorKind::ValueValidation => {
            let option = bare(&typed.one(ContextKind::InvalidArg)?);
            let value = typed.one(ContextKind::InvalidValue).unwrap_or_default();
            let why = std::error::Error::source(error).map(ToString::to_string).unwrap_or_default();
            let why = match why.as_str() {
                "invalid float literal" | "invalid digit found in string" => "It is a number.".to_owned(),
                why => format!("{}.", crate::report::capital(why.trim_end_matches('.'))),
            };
            (format!("{option} cannot be \"{value}\"."), why)
        }
        ErrorKind::ArgumentConflict
            if typed.one(ContextKind::InvalidArg).is_none_or(|name| !name.starts_with('-'))
                && unknown(line, words).is_some() =>
        {
            let (word, meant) = unknown(line, words)?;
            let help = meant.map(|meant| format!("Did you mean {meant}?"));
            let help = called_otherwise(&typed.path, &word).or(help);
            (format!("There is no command \"{word}\" here."), help.unwrap_or_else(|| typed.usage_or_help()))
        }
        ErrorKind::ArgumentConflict => {
            let one = bare(&typed.one(ContextKind::InvalidArg)?);
            let others: Vec<String> =
                typed.all(ContextKind::PriorArg).iter().map(|name| bare(name)).collect();
            let is_same = others.is_empty() || others.contains(&one);
            let message = if is_same {
                format!("{one} stands twice on the line.")
            } else {
                format!("{one} does not go together with {}.", others.join(" and "))
            };
            (message, "Leave one of them out.".to_owned())
        }
        ErrorKind::TooManyValues | ErrorKind::WrongNumberOfValues | ErrorKind::TooFewValues => {
            let option = bare(&typed.one(ContextKind::InvalidArg)?);
            (format!("{option} has too many values, or too few."), typed.usage_or_help())
        }
        _ => return None,
    };
    let field = typed.one(ContextKind::InvalidArg).or_else(|| typed.one(ContextKind::InvalidSubcommand));
    Some(Trouble::request(field.map(|name| bare(&name)).as_deref(), message, help).where_it_stands())
}

/// What was typed behind `-h`, where it is a number: hours are meant, not the help.
pub(super) fn number_after_h(words: impl Iterator<Item = String>) -> Option<String> {
    let mut behind = words.skip_while(|word| word != "-h").skip(1);
    behind.next().filter(|word| word.replace(',', ".").parse::<f64>().is_ok())
}

/// The error of `-h 0.3`.
pub(super) fn not_hours(number: &str) -> Trouble {
    let message = format!("-h asks for the help, and \"{number}\" stands behind it.");
    Trouble::request(Some("-h"), message, format!("Hours are typed --hours {number}.")).where_it_stands()
}

/// How an air is typed where three bare figures stand for it, as `air` takes them.
fn air_by_options(words: &[String]) -> Option<String> {
    let [command, rest @ ..] = words else { return None };
    let figures: Vec<&String> = rest.iter().filter(|word| word.parse::<f64>().is_ok()).collect();
    let [temp, baro, humidity] = figures.as_slice() else { return None };
    (command == "rejet").then(|| {
        format!(
            "The air stands behind its options: --temp {temp} --baro {baro} --humidity {humidity}. Or keep it once, and leave it out from then on: `reedbook air {temp} {baro} {humidity} --keep`."
        )
    })
}

/// The command that some words ask for: "reedbook outing add".
fn path(line: &Command, words: &[String]) -> String {
    let mut command = line.clone();
    let mut path = command.get_name().to_owned();
    for word in words {
        if let Some(inner) = command.find_subcommand(word).cloned() {
            path = format!("{path} {}", inner.get_name());
            command = inner;
        }
    }
    path
}

/// The word that was taken for a bike where a command stands, with the command that is like it.
fn unknown(line: &Command, words: &[String]) -> Option<(String, Option<String>)> {
    let mut command = line.clone();
    for word in words.iter().filter(|word| !word.starts_with('-')) {
        let Some(inner) = command.find_subcommand(word).cloned() else {
            let names: Vec<String> =
                command.get_subcommands().map(|inner| inner.get_name().to_owned()).collect();
            let meant = nearest_name(word, names.iter().map(String::as_str)).map(str::to_owned);
            return (!names.is_empty()).then(|| (word.clone(), meant));
        };
        command = inner;
    }
    None
}

/// What others call our commands, and what each is here.
const CALLED_OTHERWISE: [(&str, &str, &str); 19] = [
    ("reedbook", "status", "reedbook now"),
    ("reedbook", "undo", "reedbook rollback"),
    ("reedbook", "log", "reedbook outing add"),
    ("reedbook", "run", "reedbook outing add"),
    ("reedbook", "jet", "reedbook rejet"),
    ("reedbook", "jets", "reedbook rejet"),
    ("reedbook", "jetting", "reedbook rejet"),
    ("reedbook", "weather", "reedbook air"),
    ("reedbook", "setup", "reedbook show"),
    ("reedbook", "diff", "reedbook compare"),
    ("reedbook", "jobs", "reedbook job"),
    ("reedbook", "todo", "reedbook job"),
    ("reedbook", "edit", "reedbook change"),
    ("reedbook", "places", "reedbook find --place"),
    ("reedbook job", "tick", "reedbook job done"),
    ("reedbook job", "finish", "reedbook job done"),
    ("reedbook job", "all", "reedbook job done all"),
    ("reedbook outing", "log", "reedbook outing add"),
    ("reedbook outing", "new", "reedbook outing add"),
];

/// The command that is meant by a word that others have for it.
fn called_otherwise(path: &str, word: &str) -> Option<String> {
    let meant = CALLED_OTHERWISE.iter().find(|(at, called, _)| path == *at && word == *called);
    meant.map(|(_, _, meant)| format!("Did you mean `{meant}`?"))
}

fn not_taken(word: &str) -> String {
    if word.starts_with('-') {
        format!("There is no option {word} here.")
    } else {
        format!("One word too many: drop \"{word}\".")
    }
}

struct TypedCommand<'e> {
    error: &'e clap::Error,
    /// The command that was typed.
    path: String,
}

impl TypedCommand<'_> {
    fn all(&self, kind: ContextKind) -> Vec<String> {
        match self.error.get(kind) {
            Some(ContextValue::String(one)) => vec![one.clone()],
            Some(ContextValue::Strings(all)) => all.clone(),
            Some(ContextValue::StyledStr(one)) => vec![one.to_string()],
            Some(ContextValue::StyledStrs(all)) => all.iter().map(ToString::to_string).collect(),
            _ => Vec::new(),
        }
    }

    fn one(&self, kind: ContextKind) -> Option<String> {
        self.all(kind).into_iter().next()
    }

    fn meant(&self, kind: ContextKind) -> Option<String> {
        let all = self.all(kind);
        (!all.is_empty()).then(|| format!("Did you mean {}?", all.join(" or ")))
    }

    /// The command here that a word is most like.
    fn nearest(&self, word: &str) -> Option<String> {
        let suggested = self.all(ContextKind::SuggestedSubcommand);
        let near = nearest_name(word, suggested.iter().map(String::as_str))?;
        Some(format!("Did you mean {near}?"))
    }

    /// How the command is typed: "reedbook history BIKE".
    fn usage(&self) -> Option<String> {
        let usage = self.one(ContextKind::Usage)?;
        let usage = usage.trim().trim_start_matches("Usage:").trim().lines().next()?.trim().to_owned();
        Some(usage.replace(['<', '>'], ""))
    }

    fn usage_or_help(&self) -> String {
        format!("{} says what it takes.", helped(&self.path))
    }
}

fn helped(command: &str) -> String {
    format!("`{command} --help`")
}

/// A name without its brackets: "BIKE", "--why WHY".
fn bare(name: &str) -> String {
    name.replace(['<', '>'], "").trim_end_matches("...").to_owned()
}
