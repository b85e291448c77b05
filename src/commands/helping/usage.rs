//! A line that was typed wrongly, in our words: what is wrong in it, what would be right, and how the command is typed.

use clap::error::{ContextKind, ContextValue, ErrorKind};

use crate::report::Trouble;

/// What is wrong with the line; none where it is no such error.
pub(super) fn trouble(error: &clap::Error) -> Option<Trouble> {
    let typed = Typed(error);
    let (message, help) = match error.kind() {
        ErrorKind::InvalidSubcommand => (
            format!("There is no command {}.", typed.quoted(ContextKind::InvalidSubcommand)?),
            typed
                .meant(ContextKind::SuggestedSubcommand)
                .unwrap_or_else(|| format!("{} lists the commands.", helped(typed.command().as_deref()))),
        ),
        ErrorKind::MissingRequiredArgument => {
            let missing = typed.all(ContextKind::InvalidArg);
            let (is, what) = if missing.len() == 1 { ("is", "It is") } else { ("are", "They are") };
            let names: Vec<String> = missing.iter().map(|name| bare(name)).collect();
            let named = names.join(" and ");
            (
                format!("{named} {is} missing."),
                typed.usage().map(|usage| format!("{what} typed so: `{usage}`."))?,
            )
        }
        ErrorKind::MissingSubcommand => ("What it is to do is missing.".to_owned(), typed.usage_or_help()),
        ErrorKind::UnknownArgument => (
            format!("{} is nothing that it takes.", typed.quoted(ContextKind::InvalidArg)?),
            match typed.meant(ContextKind::SuggestedArg) {
                Some(meant) => meant,
                None => typed.usage_or_help(),
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

struct Typed<'e>(&'e clap::Error);

impl Typed<'_> {
    fn all(&self, kind: ContextKind) -> Vec<String> {
        match self.0.get(kind) {
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

    fn quoted(&self, kind: ContextKind) -> Option<String> {
        self.one(kind).map(|one| format!("\"{}\"", bare(&one)))
    }

    fn meant(&self, kind: ContextKind) -> Option<String> {
        let all = self.all(kind);
        (!all.is_empty()).then(|| format!("Did you mean {}?", all.join(" or ")))
    }

    /// How the command is typed: "reedbook history BIKE".
    fn usage(&self) -> Option<String> {
        let usage = self.one(ContextKind::Usage)?;
        let usage = usage.trim().trim_start_matches("Usage:").trim().lines().next()?.trim().to_owned();
        Some(usage.replace(['<', '>'], ""))
    }

    /// The command's own name: "reedbook map show".
    fn command(&self) -> Option<String> {
        let usage = self.usage()?;
        let words = usage.split(' ').take_while(|word| word.bytes().all(|byte| byte.is_ascii_lowercase()));
        Some(words.collect::<Vec<_>>().join(" "))
    }

    fn usage_or_help(&self) -> String {
        format!("{} says what it takes.", helped(self.command().as_deref()))
    }
}

fn helped(command: Option<&str>) -> String {
    format!("`{} --help`", command.filter(|command| !command.is_empty()).unwrap_or("reedbook"))
}

/// A name without its brackets: "BIKE", "--why WHY".
fn bare(name: &str) -> String {
    name.replace(['<', '>'], "").trim_end_matches("...").to_owned()
}
