//! Cells of a list for a spreadsheet: text of somebody's must stay text there, and must not move a terminal's cursor.

use std::borrow::Cow;

use crate::notebook::fields::names::{is_hidden, visible};

/// Signs with which spreadsheets take a cell for a formula; the wide ones count as well.
const BEGIN_A_FORMULA: [char; 8] = ['=', '+', '-', '@', '＝', '＋', '－', '＠'];

/// A cell as it is written: what would be a formula gets an apostrophe before it, which spreadsheets take for "text", and
/// control characters are made visible. A number stays one, with its unit or without.
pub(in crate::report) fn cell(text: &str) -> Cow<'_, str> {
    let formula = text.trim_start().starts_with(BEGIN_A_FORMULA) && !is_number(text);
    if !formula && !text.contains(is_hidden) {
        return Cow::Borrowed(text);
    }
    let lines = text.split('\n').map(|line| visible(&line.replace('\t', " ")));
    let text = lines.collect::<Vec<_>>().join("\n");
    Cow::Owned(if formula { format!("'{text}") } else { text })
}

/// Whether a cell is a figure: nothing of it can name another cell, or a program.
fn is_number(text: &str) -> bool {
    let digits =
        text.trim().trim_end_matches(|c: char| c.is_alphabetic() || matches!(c, '°' | '%')).trim_end();
    text.trim().parse::<f64>().is_ok() || digits.parse::<f64>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::cell;

    #[test]
    fn what_would_be_a_formula_is_text_and_a_number_stays_one() {
        for number in ["-1.5", "+3", "-3 C", "-12.5 %", "1e-3", "heat 1", "", "a=b", "12:30", "two\nlines"] {
            assert_eq!(cell(number), number);
        }
        for (formula, text) in [
            ("=1+cmd", "'=1+cmd"),
            ("+A1", "'+A1"),
            ("-2+3+cmd|' /C calc'!A0", "'-2+3+cmd|' /C calc'!A0"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "' =1"),
            (" =1", "' =1"),
            ("＝1+1", "'＝1+1"),
            ("-", "'-"),
            ("a\u{1b}]0;x\u{7}", "a\\u{1b}]0;x\\u{7}"),
            ("a\u{9b}31m", "a\\u{9b}31m"),
        ] {
            assert_eq!(cell(formula), text, "{formula:?}");
        }
    }
}
