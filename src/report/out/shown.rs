//! The last look at what goes to a terminal: whatever the text was put together from, a name of a file or a message of
//! another program among it, nothing in it moves the cursor or gives the terminal an order.

use std::borrow::Cow;

use crate::notebook::fields::names::is_hidden;

/// Text as it is shown. Where colours may be used, those that the reports use stay.
pub(in crate::report) fn shown(text: &str, coloured: bool) -> Cow<'_, str> {
    let passes = |c: char| matches!(c, '\n' | '\t') || !is_hidden(c);
    if text.chars().all(passes) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let colour = if coloured { colour(rest) } else { None };
        let (taken, after) = rest.split_at(colour.unwrap_or(c.len_utf8()));
        if colour.is_some() || passes(c) {
            shown.push_str(taken);
        } else {
            shown.extend(c.escape_unicode());
        }
        rest = after;
    }
    Cow::Owned(shown)
}

/// JSON as it is shown: what is hidden stands in strings only, where it can be written by its number.
pub(in crate::report) fn shown_json(document: &str) -> Cow<'_, str> {
    if !document.contains(|c| c != '\n' && is_hidden(c)) {
        return Cow::Borrowed(document);
    }
    let mut shown = String::with_capacity(document.len());
    for c in document.chars() {
        if c != '\n' && is_hidden(c) {
            shown.push_str(&format!("\\u{:04x}", u32::from(c)));
        } else {
            shown.push(c);
        }
    }
    Cow::Owned(shown)
}

/// The length of a colour or of bold type at the beginning: `ESC [ numbers m`, each number one that only changes how letters
/// look and hides none.
fn colour(text: &str) -> Option<usize> {
    let numbers = text.strip_prefix("\u{1b}[")?;
    let end = numbers.find(|c: char| !c.is_ascii_digit() && c != ';')?;
    let (numbers, after) = numbers.split_at(end);
    let harmless =
        |number: &str| matches!(number.parse(), Ok(0..=2 | 7 | 30..=37 | 39..=47 | 49 | 90..=97 | 100..=107));
    let is_colour = after.starts_with('m') && numbers.split(';').all(harmless);
    is_colour.then_some(2 + end + 1)
}

#[cfg(test)]
mod tests {
    use super::{shown, shown_json};

    #[test]
    fn nothing_but_our_colours_reaches_a_terminal() {
        let plain = "a line\n\tanother – ü\n";
        assert_eq!(shown(plain, false), plain);
        let bold = "\u{1b}[1mstrong\u{1b}[0m \u{1b}[97;44mcell\u{1b}[0m \u{1b}[1m\u{1b}[7mno\u{1b}[0m";
        assert_eq!(shown(bold, true), bold);
        assert!(!shown(bold, false).contains('\u{1b}'));
        for order in [
            "\u{1b}]0;title\u{7}",
            "\u{1b}[2J",
            "\u{1b}[8mhidden",
            "\u{1b}[31;8m",
            "\u{1b}[m\u{1b}",
            "\u{9b}2J",
            "a\rb",
            "\u{8}",
            "\u{202e}x",
            "\u{1b}[38;5;1m",
            "\u{1b}[",
            "\u{1b}",
        ] {
            for coloured in [false, true] {
                let shown = shown(order, coloured);
                assert!(!shown.chars().any(|c| c.is_control() || c == '\u{202e}'), "{order:?}: {shown:?}");
            }
        }
    }

    #[test]
    fn json_says_the_same_without_the_signs_themselves() {
        let text = "p\u{1b}]0;x\u{7}\u{9b}2J\u{7f}\u{202e}\u{2028}";
        let document = serde_json::to_string_pretty(&vec![text]).unwrap();
        let shown = shown_json(&document);
        assert!(!shown.chars().any(|c| c != '\n' && (c.is_control() || c == '\u{202e}')), "{shown:?}");
        assert_eq!(serde_json::from_str::<Vec<String>>(&shown).unwrap(), [text]);
    }
}
