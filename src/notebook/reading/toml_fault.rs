//! What is wrong with a file that is no TOML, in the same words wherever it is opened: for reading or for editing.

use std::path::Path;

use toml_edit::TomlError;

use crate::notebook::fields::finding::{Code, Finding, Place};
use crate::quantity::{Dimension, Quantity};

/// The file is not text.
pub(in crate::notebook) fn not_text(file: &Path) -> Finding {
    Finding::new(
        Code::NotText,
        Place::file(file),
        "The file is not text.",
        "Save it as UTF-8 text, or put back the last recorded version.",
    )
}

/// The text of the file is not TOML.
pub(in crate::notebook) fn not_toml(file: &Path, text: &str, error: &TomlError) -> Finding {
    if let Some(line) = merge_marker(text) {
        return Finding::new(
            Code::BothSides,
            Place { file: file.to_owned(), line: Some(line), field: None },
            "The file holds both sides of a merge that nobody settled.",
            "Keep what is right of each part between <<<<<<< and >>>>>>>, and take these lines and ======= out.",
        );
    }
    let start = error.span().map(|span| span.start.min(text.len()));
    let line = start.and_then(|start| Some(1 + text.get(..start)?.matches('\n').count()));
    let place = Place { file: file.to_owned(), line, field: None };
    let written = line.and_then(|line| text.lines().nth(line - 1));
    if let Some((name, value)) = written.and_then(value_with_unit) {
        return Finding::new(
            Code::Syntax,
            place,
            &format!("{name} = {value}: a value with a unit needs quotes."),
            format!("Write it like {name} = \"{value}\"."),
        );
    }
    if let Some((name, value)) = written.and_then(value_with_a_comma) {
        let point = value.replacen(',', ".", 1);
        return Finding::new(
            Code::Syntax,
            place,
            &format!("{name} = {value} has a comma: decimals are written with a point."),
            format!("Write {name} = {point}"),
        );
    }
    let message = first_sentence(error.message());
    Finding::new(Code::Syntax, place, &message, "Fix the line; the rest of the file is untouched.")
}

/// The first line at which git put one side of a merge, where the other side's end is there as well.
fn merge_marker(text: &str) -> Option<usize> {
    let first = text.lines().position(|line| line.starts_with("<<<<<<< "))?;
    let rest = || text.lines().skip(first + 1);
    let is_whole = rest().any(|line| line == "=======") && rest().any(|line| line.starts_with(">>>>>>> "));
    is_whole.then_some(first + 1)
}

/// `NAME = NUMBER UNIT` without quotes, the commonest slip of a hand that writes units: the name and the value.
fn value_with_unit(line: &str) -> Option<(&str, &str)> {
    let (name, value) = line.split_once('=')?;
    let (name, value) = (name.trim(), value.split('#').next()?.trim());
    let is_key = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '_' | '-' | '.');
    let plain = !name.is_empty() && name.chars().all(is_key);
    // Inches are a sign of their own, and a text that was not closed looks like one.
    let unquoted = !value.contains('"');
    let quantity = Quantity::parse(value, Dimension::ANY, "").ok()?;
    (plain && unquoted && !quantity.is_bare()).then_some((name, value))
}

/// `NAME = 1,5`: the name and the value.
fn value_with_a_comma(line: &str) -> Option<(&str, &str)> {
    let (name, value) = line.split_once('=')?;
    let (name, value) = (name.trim(), value.split('#').next()?.trim());
    let is_key = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '_' | '-' | '.');
    let (whole, part) = value.trim_start_matches(['+', '-']).split_once(',')?;
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    (!name.is_empty() && name.chars().all(is_key) && digits(whole) && digits(part)).then_some((name, value))
}

/// The first line of a parser's message as a sentence.
pub(super) fn first_sentence(message: &str) -> String {
    let line = message.lines().next().unwrap_or(message).trim();
    let mut letters = line.chars();
    let start: String = letters.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let text = format!("{start}{}", letters.as_str());
    if text.ends_with('.') { text } else { format!("{text}.") }
}

#[cfg(test)]
mod tests {
    use super::{value_with_a_comma, value_with_unit};

    #[test]
    fn a_decimal_comma_is_told_from_other_slips() {
        assert_eq!(value_with_a_comma("air_screw = 1,5 # turns"), Some(("air_screw", "1,5")));
        assert_eq!(value_with_a_comma("offset=-0,5"), Some(("offset", "-0,5")));
        for line in ["rpm = [1,5]", "air_screw = 1.5", "note = \"1,5\"", "a = 1,", "a = 1,2,3", "= 1,5"] {
            assert_eq!(value_with_a_comma(line), None, "{line}");
        }
    }

    #[test]
    fn a_value_with_a_unit_is_told_from_other_slips() {
        for (line, name, value) in [
            ("pilot = 50 mm", "pilot", "50 mm"),
            ("  temp=24 C   # in the shade", "temp", "24 C"),
            ("ports.windows.exhaust.top = 1.016 in", "ports.windows.exhaust.top", "1.016 in"),
            ("humidity = 55%", "humidity", "55%"),
            ("air_screw = 1 1/2 turns", "air_screw", "1 1/2 turns"),
        ] {
            assert_eq!(value_with_unit(line), Some((name, value)), "{line}");
        }
        for line in [
            "pilot = 50",
            "needle = n2",
            "pilot 50 mm",
            "x y = 50 mm",
            "top = 25\" ",
            "[head",
            "= 5 mm",
            "shim = 3 furlong",
        ] {
            assert_eq!(value_with_unit(line), None, "{line}");
        }
    }
}
