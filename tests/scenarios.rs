//! Scenarios: transcripts in tests/scenarios, each a small story typed into a sealed place, whose every printed line must
//! be as it stands. `UPDATE_SCENARIOS=1 cargo test --test scenarios` writes what is printed now; read the difference before
//! you keep it. `SCENARIO=name` runs only those whose name contains it, and with `-- --nocapture` tells what a known bug does.
//!
//! ```text
//! # A comment.
//! === given a-125                       what files/a-125.txt does, unseen
//! === write FILE … === end              also append; or: write FILE from INPUT; or: replace FILE: old => new
//! $ reedbook history heron              the lines below it are what it prints
//! ! error: …                            a line on standard error
//! [exit 1]                              the exit code, unless it is 0
//! ```
//!
//! Besides reedbook a scenario knows a few orders of git, and `clock`, `columns`, `cd`, `mkdir`, `rm`, `cat`, `readonly`, `nameless`.
//! Identities are shown as id-000000001 in the order of their appearance, commits as [COMMIT], the folder as [ROOT].
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and start programs
#![allow(clippy::print_stderr)] // the runner says what it left out

#[path = "scenario/broken.rs"]
mod broken;
#[path = "temporary/mod.rs"]
mod temporary;
#[path = "scenario/transcript.rs"]
mod transcript;
#[path = "scenario/workshop.rs"]
mod workshop;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use similar::TextDiff;

use transcript::Step;
use workshop::{Came, Workshop};

/// Scenarios that say what is right while the program does not yet do it, each with the reason, worst first. One that passes
/// must go.
const KNOWN_BUGS: [(&str, &str); 0] = [];

/// Lines that are wider than the screen and should not be. One that is not must go.
const KNOWN_WIDE: [&str; 0] = [];

/// Fewer than these were lost on the way.
const LEAST: usize = 88;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scenarios")
}

/// What a transcript should be by what happened.
struct Played {
    text: String,
    /// Lines wider than a screen.
    wide: Vec<String>,
    /// Places where a line broke in something that belongs together.
    broken: Vec<String>,
    /// Why the rest was left out, if it was.
    left_out: Option<String>,
}

/// Plays a transcript.
fn play(text: &str) -> Result<Played, String> {
    let inputs = folder().join("files");
    let mut steps = transcript::parse(text)?;
    if transcript::write(&steps) != text {
        return Err("it does not survive reading and writing: a line end or a blank is odd".to_owned());
    }
    let mut workshop = Workshop::new();
    for step in &mut steps {
        let came = workshop.play(step, &inputs).map_err(|error| format!("{error}\n  in {}", told(step)))?;
        match (came, step) {
            (Came::Printed(lines), Step::Command { printed, .. }) => *printed = lines,
            (Came::Silent, Step::Command { printed, .. }) => printed.clear(),
            (Came::Skip(why), _) => {
                return Ok(Played {
                    text: text.to_owned(),
                    wide: Vec::new(),
                    broken: Vec::new(),
                    left_out: Some(why),
                });
            }
            _ => {}
        }
    }
    workshop.git_is_content()?;
    Ok(Played {
        text: transcript::write(&steps),
        wide: std::mem::take(&mut workshop.known.wide),
        broken: std::mem::take(&mut workshop.known.broken),
        left_out: None,
    })
}

fn told(step: &Step) -> String {
    match step {
        Step::Command { typed, .. } => format!("$ {typed}"),
        other => format!("{other:?}"),
    }
}

/// What the scenarios came to.
#[derive(Default)]
struct Verdicts {
    wrong: Vec<String>,
    wide: Vec<String>,
}

/// Plays a scenario from its file and says what is wrong with it, if anything.
fn judge(path: &Path, verdicts: &Mutex<Verdicts>) {
    let name = path.file_name().unwrap().to_string_lossy().into_owned();
    let reason = KNOWN_BUGS.iter().find(|(file, _)| *file == name).map(|(_, reason)| reason);
    let update = reason.is_none() && std::env::var_os("UPDATE_SCENARIOS").is_some();
    let text = fs::read_to_string(path).unwrap();
    let wrong = match play(&text) {
        Err(error) => Some(error),
        Ok(Played { left_out: Some(why), .. }) => {
            eprintln!("{name}: the rest is left out: {why}");
            return;
        }
        Ok(played) => {
            verdicts.lock().unwrap().wide.extend(played.wide.iter().cloned());
            if update && played.text != text {
                fs::write(path, &played.text).unwrap();
                difference(&played.text, &played)
            } else {
                difference(&text, &played)
            }
        }
    };
    let wrong = match (reason, wrong) {
        (None, wrong) => wrong,
        (Some(reason), None) => {
            Some(format!("right now: take it out of KNOWN_BUGS, where it says \"{reason}\""))
        }
        (Some(reason), Some(wrong)) => {
            if std::env::var_os("SCENARIO").is_some() {
                eprintln!("{name} is known to be wrong ({reason}): {wrong}");
            }
            None
        }
    };
    verdicts.lock().unwrap().wrong.extend(wrong.map(|wrong| format!("{name}: {wrong}")));
}

/// What a scenario printed and should not, or how wide.
fn difference(text: &str, played: &Played) -> Option<String> {
    if played.text != text {
        let diff = TextDiff::from_lines(text, &played.text);
        return Some(diff.unified_diff().header("should be", "is").context_radius(4).to_string());
    }
    let wide = played.wide.iter().filter(|line| !KNOWN_WIDE.contains(&line.as_str()));
    let wide = wide.map(|line| format!("a line is wider than the screen: {line}"));
    let broken = played.broken.iter().map(|line| format!("a line breaks in what belongs together: {line}"));
    let faults: Vec<String> = wide.chain(broken).collect();
    (!faults.is_empty()).then(|| faults.join("\n"))
}

#[test]
fn every_scenario_prints_what_it_should() {
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder()).unwrap().flatten().map(|entry| entry.path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "txt"));
    files.sort();
    assert!(files.len() >= LEAST, "only {} scenarios were found", files.len());
    for (name, _) in KNOWN_BUGS {
        assert!(files.iter().any(|path| path.ends_with(name)), "{name} of KNOWN_BUGS is not there");
    }
    let wanted = std::env::var("SCENARIO").unwrap_or_default();
    files.retain(|path| path.file_name().unwrap().to_string_lossy().contains(&wanted));
    assert!(!files.is_empty(), "no scenario is called {wanted}");
    let next = AtomicUsize::new(0);
    let verdicts = Mutex::new(Verdicts::default());
    thread::scope(|scope| {
        for _ in 0..thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(|| {
                while let Some(path) = files.get(next.fetch_add(1, Ordering::Relaxed)) {
                    judge(path, &verdicts);
                }
            });
        }
    });
    let Verdicts { mut wrong, wide } = verdicts.into_inner().unwrap();
    let narrow = KNOWN_WIDE.iter().filter(|line| wanted.is_empty() && !wide.iter().any(|seen| seen == *line));
    wrong.extend(narrow.map(|line| format!("not wide any more: take it out of KNOWN_WIDE: {line}")));
    wrong.sort();
    assert!(
        wrong.is_empty(),
        "{} faults in {} scenarios:\n\n{}",
        wrong.len(),
        files.len(),
        wrong.join("\n\n")
    );
}

#[test]
fn the_runner_sees_a_wrong_line_a_wrong_code_and_a_line_on_the_wrong_side() {
    let right = "$ reedbook history heron\n! error: There is no garage in [ROOT] or above it.\n!   what to do: Go into the garage's folder, name it with --garage DIR, or start\n!     one with\n!     reedbook garage new DIR\n[exit 1]\n";
    assert_eq!(play(right).unwrap().text, right);
    for (part, other) in [("no garage", "a garage"), ("[exit 1]\n", ""), ("! error", "error")] {
        let wrong = right.replacen(part, other, 1);
        assert_eq!(play(&wrong).unwrap().text, right, "{other}");
    }
}

#[test]
fn the_runner_refuses_what_it_does_not_know() {
    for text in [
        "$ sh -c ls\n",
        "$ git push\n",
        "printed by nobody\n",
        "=== write a\n",
        "=== burn a\n",
        "$ reedbook 'a\n",
    ] {
        assert!(play(text).is_err(), "{text}");
    }
    assert!(play("=== write a\nx\n=== end\n=== replace a: y => z\n").is_err());
    assert!(play("=== write a\nx\n=== end\n=== replace a: x => z\n$ cat a\nz\n").is_ok());
}

#[test]
fn words_are_split_as_a_shell_does() {
    let typed = r#"a "b c"  'd "e' $'f\e[1m' "" g"h i"j=k "l\"m""#;
    let expected = ["a", "b c", "d \"e", "f\u{1b}[1m", "", "gh ij=k", "l\"m"];
    assert_eq!(transcript::words(typed).unwrap(), expected);
}

/// The most keys of one session, returns among them, with the air of the day kept.
const KEYS_OF_A_SESSION: usize = 60;

#[test]
fn one_session_takes_few_keys() {
    let text = fs::read_to_string(folder().join("one-session.txt")).unwrap();
    let (_, counted) = text.split_once("# counted\n").expect("the session that is counted");
    let steps = transcript::parse(counted).unwrap();
    let typed: Vec<&str> = steps
        .iter()
        .filter_map(|step| match step {
            Step::Command { typed, .. } => Some(typed.as_str()),
            _ => None,
        })
        .collect();
    for does in ["rejet", "outing add"] {
        assert!(typed.iter().any(|line| line.contains(does)), "a session without {does}: {typed:?}");
    }
    let keys: usize = typed.iter().map(|line| line.chars().count() + 1).sum();
    assert!(keys <= KEYS_OF_A_SESSION, "{keys} keys: {typed:?}");
}
