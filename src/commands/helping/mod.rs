//! The command line read, and its help: the program's commands by what a person does.

mod usage;

use clap::error::ErrorKind;
use clap::{Command, Parser};

use crate::commands::desk::folder;
use crate::machine;
use crate::report::help::{Group, HelpForm};
use crate::report::{Screen, Trouble, Wanted};
use crate::store::Garage;

/// Every command of the program, under what a person does.
const GROUPS: [Group; 6] = [
    ("log", &["outing", "change", "job", "proven", "sheet", "serve"]),
    ("ask", &["now", "history", "show", "compare", "find", "cautions", "guide"]),
    ("put back", &["rollback"]),
    ("compute", &["rejet", "air", "package", "ports", "head", "ignition", "map", "pipe", "intake", "fuel"]),
    ("build", &["build", "part", "fit", "engine"]),
    ("keep", &["garage", "bike", "share", "handover"]),
];

/// The demo, which the last line of the help says how to start, and commands of the shell's.
const ALSO: [&str; 3] = ["demo", "completions", "manual"];

/// The arguments as typed, or what is wrong in them; a question for help ends the program with the help.
pub(super) fn parse<A: Parser>() -> Result<A, Trouble> {
    let error = match A::try_parse() {
        Ok(arguments) => return Ok(arguments),
        Err(error) => error,
    };
    let asks = [ErrorKind::DisplayHelp, ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand];
    if !asks.contains(&error.kind()) {
        let words: Vec<String> = machine::arguments().collect();
        let garage = folder().ok().and_then(|folder| Garage::find(None, &folder).ok());
        let is_bike = |word: &str| garage.as_ref().is_some_and(|garage| garage.has_bike(word));
        return Err(usage::trouble(&error, (&A::command(), &words), &is_bike).unwrap_or_else(|| error.exit()));
    }
    if let Some(number) = usage::number_after_h(machine::arguments()) {
        return Err(usage::not_hours(&number));
    }
    // The help of every command is only made where one is asked for.
    let full = machine::arguments().any(|word| word == "--help" || word == "help");
    let error = match form(full).dress(A::command()).try_get_matches() {
        Ok(matches) => match A::from_arg_matches(&matches) {
            Ok(arguments) => return Ok(arguments),
            Err(error) => error,
        },
        Err(error) => error,
    };
    // It is told as any answer that cannot be written.
    match error.print() {
        Err(io) if io.kind() != std::io::ErrorKind::BrokenPipe => Err(Trouble::output(&io)),
        _ => machine::end(u8::try_from(error.exit_code()).unwrap_or(1)),
    }
}

/// The program's help in short.
pub(super) fn in_short(line: Command) -> String {
    form(false).dress(line).render_help().to_string()
}

/// How help is shown on this machine's screen.
fn form(full: bool) -> HelpForm<'static> {
    HelpForm { groups: &GROUPS, also: &ALSO, full, screen: Screen::new(Wanted::default()) }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use clap::CommandFactory;

    use super::*;
    use crate::commands::Arguments;

    /// Lines of the help of every command, by its name.
    fn lines(command: &mut Command, above: &str, found: &mut Vec<(String, usize)>) {
        let name = format!("{above} {}", command.get_name());
        let text = command.render_help().to_string();
        assert!(text.contains("Usage:"), "{name} has no help of its own");
        found.push((name.clone(), text.lines().count()));
        for inner in command.get_subcommands_mut().filter(|inner| inner.get_name() != "help") {
            lines(inner, &name, found);
        }
    }

    fn measured(full: bool) -> Vec<(String, usize)> {
        let mut found = Vec::new();
        lines(&mut form(full).dress(Arguments::command()), "", &mut found);
        assert!(found.len() > 70, "only {} commands were measured", found.len());
        found
    }

    #[test]
    fn help_in_short_fits_25_lines_and_in_full_60() {
        for (full, most) in [(false, 25), (true, 60)] {
            let long: Vec<_> = measured(full).into_iter().filter(|(_, lines)| *lines > most).collect();
            assert!(long.is_empty(), "over {most} lines: {long:?}");
        }
    }

    #[test]
    fn the_programs_own_help_fits_under_40_lines() {
        let own = measured(true).into_iter().next();
        assert!(own.as_ref().is_some_and(|(_, lines)| *lines < 40), "{own:?}");
    }

    #[test]
    fn every_command_stands_in_one_group() {
        let line = Arguments::command();
        let there: BTreeSet<&str> = line.get_subcommands().map(Command::get_name).collect();
        let grouped: Vec<&str> =
            GROUPS.iter().flat_map(|(_, names)| names.iter().copied()).chain(ALSO).collect();
        assert_eq!(grouped.iter().copied().collect::<BTreeSet<_>>(), there);
        assert_eq!(grouped.len(), there.len(), "a command stands in two groups");
    }

    #[test]
    fn help_in_short_names_every_option() {
        let mut line = form(false).dress(Arguments::command());
        let mut seen = 0;
        for command in line.get_subcommands_mut().filter(|command| command.get_name() != "help") {
            let options: Vec<String> =
                command.get_opts().filter_map(clap::Arg::get_long).map(|long| format!("--{long}")).collect();
            let text = command.render_help().to_string();
            for option in options {
                assert!(text.contains(&option), "{} hides {option}", command.get_name());
                seen += 1;
            }
        }
        assert!(seen > 100, "only {seen} options were looked for");
    }
}
