//! The text of a scenario: comments, files to put down, commands with what they print. Parsed and written back, so that
//! `UPDATE_SCENARIOS=1` changes nothing but the printed lines.

use std::fmt::Write as _;

/// One step of a scenario.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Step {
    /// A comment or an empty line.
    Remark(String),
    /// What another transcript does first, by its name in files/; its output is not looked at.
    Given(String),
    /// A file as an editor would leave it.
    File { name: String, act: FileAct },
    /// A command and what it prints.
    Command { typed: String, printed: Vec<String>, gap: usize },
}

/// What happens to a file.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum FileAct {
    /// It holds exactly these lines.
    Write(Vec<String>),
    /// These lines come at its end.
    Append(Vec<String>),
    /// It is a copy of an input in files/.
    From(String),
    /// The first text, which must stand in it once, gives way to the second.
    Replace(String, String),
}

/// Reads a transcript.
pub(crate) fn parse(text: &str) -> Result<Vec<Step>, String> {
    let mut lines = text.lines().enumerate().peekable();
    let mut steps = Vec::new();
    while let Some((at, line)) = lines.next() {
        let wrong = |what: &str| format!("line {}: {what}: {line}", at + 1);
        if let Some(typed) = line.strip_prefix("$ ") {
            let mut printed = Vec::new();
            while let Some((_, line)) = lines.next_if(|(_, line)| !begins_a_step(line)) {
                printed.push(line.to_owned());
            }
            let full = printed.iter().rposition(|line| !line.is_empty()).map_or(0, |last| last + 1);
            let gap = printed.len() - full;
            printed.truncate(full);
            steps.push(Step::Command { typed: typed.to_owned(), printed, gap });
        } else if let Some(order) = line.strip_prefix("=== ") {
            let mut body = || {
                let mut body = Vec::new();
                loop {
                    match lines.next() {
                        Some((_, "=== end")) => return Ok(body),
                        Some((_, line)) => body.push(line.to_owned()),
                        None => return Err(wrong("no === end")),
                    }
                }
            };
            let (verb, rest) = order.split_once(' ').unwrap_or((order, ""));
            steps.push(match verb {
                "given" => Step::Given(rest.to_owned()),
                "write" => match rest.split_once(" from ") {
                    Some((name, input)) => file(name, FileAct::From(input.to_owned())),
                    None => file(rest, FileAct::Write(body()?)),
                },
                "append" => file(rest, FileAct::Append(body()?)),
                "replace" => {
                    let (name, change) = rest.split_once(": ").ok_or_else(|| wrong("no FILE: "))?;
                    let (old, new) = change.split_once(" => ").ok_or_else(|| wrong("no OLD => NEW"))?;
                    file(name, FileAct::Replace(old.to_owned(), new.to_owned()))
                }
                _ => return Err(wrong("no such order")),
            });
        } else if line.is_empty() || line.starts_with('#') {
            steps.push(Step::Remark(line.to_owned()));
        } else {
            return Err(wrong("neither a comment, an order nor a command"));
        }
    }
    Ok(steps)
}

fn file(name: &str, act: FileAct) -> Step {
    Step::File { name: name.to_owned(), act }
}

/// A line that cannot be printed by the command above it.
fn begins_a_step(line: &str) -> bool {
    line.starts_with("$ ") || line.starts_with("=== ") || line.starts_with("# ") || line == "#"
}

/// Writes a transcript as [`parse`] reads it.
pub(crate) fn write(steps: &[Step]) -> String {
    let mut text = String::new();
    let mut line = |words: &str| {
        let _ = writeln!(text, "{words}");
    };
    for step in steps {
        match step {
            Step::Remark(words) => line(words),
            Step::Given(name) => line(&format!("=== given {name}")),
            Step::File { name, act } => match act {
                FileAct::From(input) => line(&format!("=== write {name} from {input}")),
                FileAct::Replace(old, new) => line(&format!("=== replace {name}: {old} => {new}")),
                FileAct::Write(body) | FileAct::Append(body) => {
                    let verb = if matches!(act, FileAct::Write(_)) { "write" } else { "append" };
                    line(&format!("=== {verb} {name}"));
                    for words in body {
                        line(words);
                    }
                    line("=== end");
                }
            },
            Step::Command { typed, printed, gap } => {
                line(&format!("$ {typed}"));
                for words in printed {
                    line(words);
                }
                for _ in 0..*gap {
                    line("");
                }
            }
        }
    }
    text
}

/// What a program printed, as a transcript shows it: standard output, standard error behind `! `, then the exit code
/// unless it is 0. A line that could be mistaken for something else stands behind a backslash.
pub(crate) fn shown(out: &str, error: &str, code: i32) -> Vec<String> {
    let mut lines: Vec<String> = out.trim_end_matches('\n').lines().map(escaped).collect();
    lines.extend(error.trim_end_matches('\n').lines().map(|line| format!("! {line}").trim_end().to_owned()));
    if code != 0 {
        lines.push(format!("[exit {code}]"));
    }
    lines
}

fn escaped(line: &str) -> String {
    let mistakable = begins_a_step(line)
        || line == "!"
        || ["! ", "[exit ", "\\"].iter().any(|start| line.starts_with(start));
    if mistakable { format!("\\{line}") } else { line.to_owned() }
}

/// The words of a command line as a shell splits them: 'as it stands', "with \" in it", $'with \e and \n'.
pub(crate) fn words(typed: &str) -> Result<Vec<String>, String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut letters = typed.chars().peekable();
    while let Some(letter) = letters.next() {
        let ansi = letter == '$' && letters.next_if_eq(&'\'').is_some();
        let quote = if ansi { '\'' } else { letter };
        match quote {
            ' ' => words.extend(word.take()),
            '\'' | '"' => {
                let inside = word.get_or_insert_default();
                loop {
                    match letters.next() {
                        Some(end) if end == quote => break,
                        Some('\\') if ansi => inside.push(control(letters.next())?),
                        Some('\\') if quote == '"' => inside.extend(letters.next()),
                        Some(letter) => inside.push(letter),
                        None => return Err(format!("a quote is left open: {typed}")),
                    }
                }
            }
            _ => word.get_or_insert_default().push(letter),
        }
    }
    words.extend(word);
    Ok(words)
}

fn control(letter: Option<char>) -> Result<char, String> {
    match letter {
        Some('e') => Ok('\u{1b}'),
        Some('a') => Ok('\u{7}'),
        Some('n') => Ok('\n'),
        Some('r') => Ok('\r'),
        Some('t') => Ok('\t'),
        other => Err(format!("no control character is known as \\{other:?}")),
    }
}
