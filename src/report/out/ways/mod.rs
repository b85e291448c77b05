//! How commands and options are typed: the floors below know neither, and say what can be done.

mod commands;
mod options;

use crate::advice::asking::LeanSoFar;
use crate::notebook::fields::names::visible;
use crate::notebook::guidance::{Guidance, Typed};
use crate::notebook::{AirEntryError, Code, DocumentKind, EditError, Finding};

/// Guidance as it is read.
pub fn worded(guidance: &Guidance) -> String {
    guidance.in_words(|typed| match typed {
        Typed::Command(command) => commands::command(command),
        Typed::Git(command) => commands::git(command),
        Typed::Option(option) => options::option(option),
    })
}

/// The same in a file, which has fields where a command has options.
pub(in crate::report) fn in_a_file(guidance: &Guidance) -> String {
    guidance.in_words(|typed| match typed {
        Typed::Option(option) => options::field(option),
        other => worded(&other.clone().into()),
    })
}

/// The same of several.
pub fn all_worded<'g>(several: impl IntoIterator<Item = &'g Guidance>) -> Vec<String> {
    several.into_iter().map(worded).collect()
}

/// The option by which a reading of the air is given, of its field's name.
fn option(field: &str) -> String {
    format!("--{}", field.replace('_', "-"))
}

/// The way out of an air that is typed.
pub(super) fn of_air(error: &AirEntryError) -> String {
    error.help(option)
}

/// The way out of a change to a field that is typed.
pub(super) fn of_edit(error: &EditError) -> String {
    match error {
        EditError::Breakpoints { map, .. } => {
            format!("Put one in with its cell, {map}@RPM=VALUE and --insert, or edit the file.")
        }
        EditError::Unreadable(finding) => of_finding(finding),
        EditError::NoBreakpoint { .. } => {
            format!("{} with --insert.", error.help().trim_end_matches('.'))
        }
        EditError::UnknownPaperField { kind: DocumentKind::Build, near: None, .. } => {
            "`reedbook build measure --help` lists the fields.".to_owned()
        }
        other => other.help(),
    }
}

/// The way out of a finding. An engine that is named and not there is made and looked up by commands.
pub(in crate::report) fn of_finding(finding: &Finding) -> String {
    match (finding.code, finding.place.field.as_deref()) {
        (Code::Dangling, Some("engine")) => {
            "Make it with `reedbook engine new`, or name one that `reedbook engine list` shows.".into()
        }
        (Code::BothSides, _) => {
            let file = visible(&finding.place.file.to_string_lossy().replace('\\', "/"));
            let bike = file.strip_prefix("bikes/").and_then(|rest| rest.strip_suffix("/setup.toml"));
            let help = worded(&finding.help);
            match bike {
                Some(bike) => format!(
                    "{help} Or put the newest setup that is whole in its place: `reedbook rollback {bike} latest --lose-edits`."
                ),
                None => format!(
                    "{help} Or have it put back as it was recorded last while it could be read, both sides field by field: `reedbook garage fix {file}`."
                ),
            }
        }
        _ => worded(&finding.help),
    }
}

/// The way out where the air that a setup was right in is not known.
pub(super) fn of_unknown_air(bike: &str, number: u32, is_marked: bool) -> String {
    let give = "give --baseline-air \"temp=20 C; baro=1008 hPa; humidity=55\"";
    // A mark is for a setup that was right: who only names one is not asked for it.
    if is_marked {
        format!("Mark it: `reedbook proven {bike} {number} --temp … --baro … --humidity …`, or {give}.")
    } else {
        format!("If it was right, {give}.")
    }
}

/// What is said first where runs were lean and none was right (common practice, no source).
pub(super) fn only_lean(lean: &LeanSoFar) -> String {
    let on = lean.metered.as_ref().map(|metered| format!(" on {}", visible(metered))).unwrap_or_default();
    let runs = match lean.runs {
        1 => format!("The only judged run was lean at full throttle{on}, on {}", lean.last),
        runs => format!("{runs} runs were lean at full throttle, the last{on}, on {}", lean.last),
    };
    format!(
        "{runs}: nothing leaner. Look for an air leak, a blocked jet, slipped ignition timing or other fuel before re-jetting, and do not run it hard."
    )
}

/// The way out where nothing was right yet; `run` is the newest that was, without an air: its date and its id.
pub(super) fn of_never_right(bike: &str, run: Option<&(String, String)>, was_lean: bool) -> String {
    match run {
        Some((date, id)) => format!(
            "The run of {date} was right: write down the air it had, `reedbook outing edit {bike} {} --temp … --baro … --humidity …`.",
            visible(id)
        ),
        None if was_lean => format!(
            "Go richer than it ran, read plug and piston after a short run, and log each run with its verdict, and its air where none is kept: `reedbook outing add {bike} full=…`. Once one was right, ask again."
        ),
        None => format!(
            "Start rich by the maker's jetting, read plug and piston, and log each run with its verdict, and its air where none is kept: `reedbook outing add {bike} full=…`. Once one was right, ask again."
        ),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

    use super::{in_a_file, of_air, of_edit, worded};
    use crate::notebook::guidance::{Command, CommandOption, GitCommand, Guidance, OutingChange};
    use crate::notebook::{AirEntry, DocumentKind, EditError};

    fn way(line: &str) -> String {
        of_air(&AirEntry::parse(line).unwrap().air().unwrap_err())
    }

    #[test]
    fn a_typed_air_is_mended_by_options() {
        assert_eq!(way("temp=20 C; humidity=50 %"), "Give --baro, --qnh or --sea-level, or a --metar.");
        assert_eq!(way("temp=20 C; baro=1000 hPa"), "Give --humidity, --dew-point or --wet-bulb.");
        assert!(way("metar=YUDO 221630Z 17/ Q1018; elevation=20 m").contains("with --humidity, or"));
        assert!(way("temp=20 C; qnh=1010 hPa; humidity=50 %").starts_with("Give --elevation of the track"));
    }

    #[test]
    fn a_field_that_no_build_has_is_looked_up() {
        let refused = |kind| EditError::UnknownPaperField { field: "x".into(), kind, near: None };
        assert!(of_edit(&refused(DocumentKind::Build)).contains("`reedbook build measure --help`"));
        assert!(of_edit(&refused(DocumentKind::Part)).starts_with("Fields: title"));
    }

    #[test]
    fn what_can_be_typed_is_worded_as_it_is_typed() {
        let said = Guidance::from("Name it by ") + CommandOption::Place("Loop".into()) + ", or share: ";
        let said = said + Command::Share + ", " + GitCommand::BringTheRest + ".";
        let line = "Name it by --place \"Loop\", or share: `reedbook share`, `git fetch --unshallow`.";
        assert_eq!(worded(&said), line);
        // In a file a field stands where a command has an option; a command stays one.
        assert_eq!(in_a_file(&said), line.replace("--place", "place"));
        let moved = |at: Option<&str>| {
            let (part, engine) = ("p1".to_owned(), "wasp".to_owned());
            worded(&Command::MovePart { part, engine, at: at.map(str::to_owned) }.into())
        };
        assert_eq!(moved(None), "`reedbook part move p1 wasp`");
        assert_eq!(moved(Some("left")), "`reedbook part move p1 wasp --at left`");
        let mend = |change| worded(&Command::MendOuting("moth".into(), "4f2".into(), change).into());
        assert_eq!(mend(OutingChange::AsItStands), "`reedbook outing edit moth 4f2`");
        assert_eq!(mend(OutingChange::Hours), "`reedbook outing edit moth 4f2 hours=…`");
        let fields = vec![("main".to_owned(), "178".to_owned()), ("clip".to_owned(), "3".to_owned())];
        let ran = Command::RecordAsItRan { bike: "moth".into(), fields, despite: false };
        assert_eq!(worded(&ran.into()), "`reedbook change moth main=178 clip=3 --why \"as it ran\"`");
        let fields = vec![("fuel.name".to_owned(), "race can".to_owned())];
        let ran = Command::RecordAsItRan { bike: "moth".into(), fields, despite: true };
        let typed = "reedbook change moth fuel.name=\"race can\" --why \"as it ran\"";
        assert_eq!(worded(&ran.into()), format!("`{typed} --sure --despite \"it ran so\"`"));
    }
}
