//! What stays on one line wherever a text is broken: a number with its unit, a date with its time, both sides of an arrow, a command to
//! be typed, a verdict.

use std::sync::OnceLock;

use super::width;

/// A space that no line breaks at; it is printed as a plain one.
pub(in crate::report) const GLUE: char = '\u{a0}';

/// Units as they stand behind a number.
const UNITS: &str = "\
    % C F K hPa inHg mmHg kPa Pa bar psi mm cm m ft in cc ml l g kg lb oz N Nm h min s rpm deg degrees Hz turns turn grooves groove \
    kg/m3 g/cm3 m/s ft/s m/s2 cc/min um µm mph km/h years year days day kW hp ms mm2 mm2/deg s/m V A bits teeth \
    starts laps sizes size steps jobs parts";

/// Words that name the number behind them.
const LABELS: &str = "setup setups main pilot clip lap page needle cylinder practice heat session race run qualifying job line column";

/// Names of more than one word that the garage knows: its places.
static NAMES: OnceLock<Vec<String>> = OnceLock::new();

/// Names that no line breaks in from here on; only what is said first counts.
pub fn keep_whole(names: impl Iterator<Item = String>) {
    let _ = NAMES.set(names.filter(|name| name.contains(' ')).collect());
}

/// A part of a text: words, or a command to be typed.
#[derive(Debug, PartialEq, Eq)]
pub(in crate::report) enum Piece<'t> {
    /// Words that run on.
    Words(&'t str),
    /// What stands alone on its line, without quotes and without a stop.
    Command(&'t str),
}

/// How a command begins that stands alone where it is to be typed.
const ALONE: [&str; 2] = ["`reedbook ", "`git config --global user.name"];

/// A text with the commands to be typed apart from the words around them. Where to read more, and what is named in brackets, stays in
/// its sentence.
pub(in crate::report) fn apart(text: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let (mut from, mut at) = (0, 0);
    let next =
        |at: usize| ALONE.iter().filter_map(|begun| text[at..].find(begun)).min().map(|found| at + found);
    while let Some(start) = next(at) {
        let Some(length) = text[start + 1..].find('`') else { break };
        let (command, after) = (&text[start + 1..start + 1 + length], &text[start + length + 2..]);
        let before = text[from..start].trim_end();
        let reads_more = command.starts_with("reedbook guide") || command.ends_with("--help");
        // "The next `reedbook part` that writes" names a command, and is not to be typed.
        let named = text[..start].ends_with(['(', '"'])
            || after.starts_with([')', '"'])
            || text[..start].rsplit(". ").next().is_some_and(|sentence| sentence.contains("he next `"))
            || text[..start].ends_with("he next ")
            || [" that ", " there "].iter().any(|word| after.starts_with(word));
        at = start + length + 2;
        if reads_more || named || !before.contains(char::is_alphabetic) && pieces.is_empty() {
            continue;
        }
        if !before.is_empty() {
            pieces.push(Piece::Words(before));
        }
        pieces.push(Piece::Command(command));
        let rest = after.trim_start_matches(['.', ',', ';', ':']).trim_start();
        at = text.len() - rest.len();
        from = at;
    }
    let rest = &text[from..];
    if !rest.is_empty() || pieces.is_empty() {
        pieces.push(Piece::Words(rest));
    }
    pieces
}

/// Words that belong to the one before them.
const PAIRS: [(&str, &[&str]); 23] = [
    ("%", &["air", "humidity", "rich", "lean"]),
    ("slightly", &["lean", "rich"]),
    ("full", &["throttle", "right", "lean", "rich", "slightly"]),
    ("3/4", &["throttle", "right", "lean", "rich", "slightly"]),
    ("1/2", &["throttle", "right", "lean", "rich", "slightly"]),
    ("1/4", &["throttle", "right", "lean", "rich", "slightly"]),
    ("1/8", &["throttle", "right", "lean", "rich", "slightly"]),
    ("idle", &["right", "lean", "rich", "slightly"]),
    ("half", &["throttle"]),
    ("quarter", &["throttle"]),
    ("eighth", &["throttle"]),
    ("timed", &["run"]),
    ("end", &["bearing"]),
    ("three-quarter", &["throttle"]),
    ("closed", &["throttle"]),
    ("density", &["altitude"]),
    ("in", &["it"]),
    ("air", &["screw", "jet"]),
    ("<<", &["lean"]),
    ("<", &["slightly"]),
    ("=", &["right"]),
    (">", &["slightly"]),
    (">>", &["rich"]),
];

/// Signs that belong to what stands on both sides.
const BETWEEN: &str = "→ -> × ± ..";

/// A text with [`GLUE`] where no line may break; a command that is wider than `width` stays as it is.
pub(in crate::report) fn glued(text: &str, width: usize) -> String {
    let mut quoted = false;
    let named = NAMES.get().into_iter().flatten().fold(text.to_owned(), |text, name| {
        if text.contains(name.as_str()) {
            text.replace(name.as_str(), &name.replace(' ', &GLUE.to_string()))
        } else {
            text
        }
    });
    let parts = named.split('`').map(|part| {
        let is_command = quoted;
        quoted = !quoted;
        match is_command {
            true if width::of(part) + 2 < width => part.replace(' ', &GLUE.to_string()),
            true => part.to_owned(),
            false => words(part),
        }
    });
    parts.collect::<Vec<_>>().join("`")
}

/// The same text with plain spaces again.
pub(in crate::report) fn unglued(text: &str) -> String {
    text.replace(GLUE, " ")
}

fn words(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut glued = String::with_capacity(text.len());
    for (at, word) in words.iter().enumerate() {
        if let Some(before) = at.checked_sub(1).and_then(|before| words.get(before)) {
            let ratio = is_ratio(&words, at) || at > 0 && is_ratio(&words, at - 1);
            glued.push(if ratio || belong(before, word) { GLUE } else { ' ' });
        }
        glued.push_str(word);
    }
    glued
}

/// Whether a word is the middle of a ratio: "15.51 to 1".
fn is_ratio(words: &[&str], at: usize) -> bool {
    let is_number = |word: &&str| word.trim_start_matches(['(', '"']).parse::<f64>().is_ok();
    let bare = |word: &&str| word.trim_end_matches([',', ';', ':', '.', ')', '?']) == "1";
    words.get(at) == Some(&"to")
        && at.checked_sub(1).and_then(|before| words.get(before)).is_some_and(is_number)
        && words.get(at + 1).is_some_and(bare)
}

/// Whether two words that follow each other stay together.
fn belong(before: &str, word: &str) -> bool {
    if before.is_empty() || word.is_empty() {
        return false;
    }
    let ended = before.ends_with([',', ';', ':', '.', ')']);
    let bare = word.trim_matches(|c: char| ",;:.!?()\"".contains(c));
    let opened = before.trim_start_matches(['(', '"']);
    // "temp=13 C" is one thing, as "13 C" is.
    let opened = opened.rsplit('=').next().unwrap_or(opened);
    // "1 h 40 min" is one time.
    if before == "h" && word.bytes().all(|byte| byte.is_ascii_digit()) {
        return true;
    }
    let listed = |list: &str, word: &str| list.split(' ').any(|one| one == word);
    let is_number = |word: &str| {
        word.starts_with(|c: char| c.is_ascii_digit() || "±<>+-−".contains(c))
            && word.ends_with(|c: char| c.is_ascii_digit())
    };
    if listed(BETWEEN, word) || listed(BETWEEN, before) {
        return true;
    }
    if ended {
        return false;
    }
    (is_number(opened) && (listed(UNITS, bare) || is_time(bare) || is_fraction(bare)))
        || (listed(LABELS, &opened.to_lowercase()) && is_number(bare))
        || PAIRS.iter().any(|(one, others)| *one == opened.to_lowercase() && others.contains(&bare))
}

/// "09:00".
fn is_time(word: &str) -> bool {
    let digits = |part: &str| part.len() == 2 && part.bytes().all(|byte| byte.is_ascii_digit());
    word.split_once(':').is_some_and(|(hour, minute)| digits(hour) && digits(minute))
}

/// "1/2", behind its whole turns.
fn is_fraction(word: &str) -> bool {
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    word.split_once('/').is_some_and(|(above, below)| digits(above) && digits(below))
}

#[cfg(test)]
mod tests {
    use super::{apart, glued};

    #[test]
    fn a_command_to_be_typed_stands_alone() {
        use super::Piece::{Command, Words};
        let text = "Write the cause down with `reedbook outing edit moth last --cause …`, or run it. More: `reedbook guide lean`.";
        assert_eq!(
            apart(text),
            [
                Words("Write the cause down with"),
                Command("reedbook outing edit moth last --cause …"),
                Words("or run it. More: `reedbook guide lean`.")
            ]
        );
        assert_eq!(
            apart("Make it: `reedbook engine new NAME`."),
            [Words("Make it:"), Command("reedbook engine new NAME")]
        );
        for whole in [
            "Jobs (`reedbook job done` ticks):",
            "The next `reedbook part` that writes records it.",
            "no command",
            "",
        ] {
            assert_eq!(apart(whole), [Words(whole)]);
        }
    }

    #[test]
    fn what_belongs_together_stays_on_one_line() {
        let shown = |text: &str| glued(text, 40).replace('\u{a0}', "_");
        for (text, expected) in [
            ("89.2 % air, 24 C (24.4 h) of 20 h.", "89.2_%_air, 24_C (24.4_h) of 20_h."),
            ("main 178 → 174, then 172", "main_178_→_174, then 172"),
            ("it was 2026-05-17 09:00 at full throttle", "it was 2026-05-17_09:00 at full_throttle"),
            ("slightly lean on setup 38, in 1 run", "slightly_lean on setup_38, in 1 run"),
            ("fuel × 1.009 ± 0.3 % of it", "fuel_×_1.009_±_0.3_% of it"),
            ("say `reedbook rejet moth` now", "say `reedbook_rejet_moth` now"),
            ("air screw 1 1/2 turns", "air_screw 1_1/2_turns"),
            ("in 2026, m is metre", "in 2026, m is metre"),
            ("air (temp=13 C; qnh=1018 hPa) with 30.9 kW", "air (temp=13_C; qnh=1018_hPa) with 30.9_kW"),
            ("trapped 15.51 to 1, from 11 to 12", "trapped 15.51_to_1, from 11 to 12"),
            (
                "`reedbook outing edit moth last --cause \"…\" --fixed \"…\"`",
                "`reedbook outing edit moth last --cause \"…\" --fixed \"…\"`",
            ),
        ] {
            assert_eq!(shown(text), expected);
        }
    }
}
