//! What stays on one line wherever a text is broken: a number with its unit, a date with its time, both sides of an arrow, a command to
//! be typed, a verdict.

use super::width;

/// A space that no line breaks at; it is printed as a plain one.
pub(in crate::report) const GLUE: char = '\u{a0}';

/// Units as they stand behind a number.
const UNITS: &str = "\
    % C F K hPa inHg mmHg kPa Pa bar psi mm cm m ft in cc ml l g kg lb oz N Nm h min s rpm deg degrees Hz turns turn grooves groove \
    kg/m3 g/cm3 m/s ft/s m/s2 cc/min um µm mph km/h years days";

/// Words that name the number behind them.
const LABELS: &str = "setup setups main pilot clip lap page needle cylinder";

/// Words that belong to the one before them.
const PAIRS: [(&str, &[&str]); 9] = [
    ("%", &["air", "humidity", "rich", "lean"]),
    ("slightly", &["lean", "rich"]),
    ("full", &["throttle"]),
    ("half", &["throttle"]),
    ("quarter", &["throttle"]),
    ("three-quarter", &["throttle"]),
    ("closed", &["throttle"]),
    ("in", &["it"]),
    ("air", &["screw", "jet"]),
];

/// Signs that belong to what stands on both sides.
const BETWEEN: &str = "→ -> × ± ..";

/// A text with [`GLUE`] where no line may break; a command that is wider than `width` stays as it is.
pub(in crate::report) fn glued(text: &str, width: usize) -> String {
    let mut quoted = false;
    let parts = text.split('`').map(|part| {
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
            glued.push(if belong(before, word) { GLUE } else { ' ' });
        }
        glued.push_str(word);
    }
    glued
}

/// Whether two words that follow each other stay together.
fn belong(before: &str, word: &str) -> bool {
    if before.is_empty() || word.is_empty() {
        return false;
    }
    let ended = before.ends_with([',', ';', ':', '.', ')']);
    let bare = word.trim_matches(|c: char| ",;:.!?()\"".contains(c));
    let opened = before.trim_start_matches(['(', '"']);
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
    use super::glued;

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
            (
                "`reedbook outing edit moth last --cause \"…\" --mended \"…\"`",
                "`reedbook outing edit moth last --cause \"…\" --mended \"…\"`",
            ),
        ] {
            assert_eq!(shown(text), expected);
        }
    }
}
