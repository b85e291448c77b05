//! How wide a text is on a terminal: a letter of a wide script takes two columns, an accent that stands by itself none.

use unicode_width::UnicodeWidthChar;

/// Columns that a letter takes.
pub(in crate::report) fn of_letter(letter: char) -> usize {
    letter.width().unwrap_or(0)
}

/// Columns that a text takes, letter by letter as the wrapping counts them.
pub(in crate::report) fn of(text: &str) -> usize {
    text.chars().map(of_letter).sum()
}

/// The beginning of a text that takes so many columns at most; accents stay with their letter.
pub(in crate::report) fn beginning(text: &str, columns: usize) -> &str {
    let mut taken = 0;
    let end = text.char_indices().find(|(_, letter)| {
        taken += of_letter(*letter);
        taken > columns
    });
    &text[..end.map_or(text.len(), |(at, _)| at)]
}

/// A text with blanks behind it up to a width.
pub(in crate::report) fn padded(text: &str, columns: usize) -> String {
    format!("{text}{}", " ".repeat(columns.saturating_sub(of(text))))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// "fée" with an accent that stands by itself.
    const COMBINING: &str = "fe\u{301}e";

    #[test]
    fn wide_letters_take_two_columns_and_combining_marks_none() {
        assert_eq!((of("moth"), of("蛾"), of("蛾-2"), of(COMBINING), of("")), (4, 2, 4, 3, 0));
        assert_eq!(padded("蛾", 4), "蛾  ");
        assert_eq!(padded(COMBINING, 4), "fe\u{301}e ");
        assert_eq!(padded("moth", 2), "moth");
    }

    #[test]
    fn a_text_is_cut_between_letters() {
        assert_eq!(beginning("蛾蛾", 3), "蛾");
        assert_eq!(beginning(COMBINING, 2), "fe\u{301}");
        assert_eq!((beginning("moth", 9), beginning("moth", 0)), ("moth", ""));
    }
}
