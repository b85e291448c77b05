//! Names of bikes, engines and maps, which are also names of folders and files: a name never leaves its folder.

use thiserror::Error;

/// Longest name.
pub const LONGEST: usize = 40;

/// A name that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NameError {
    /// Nothing typed.
    #[error("The name is empty.")]
    Empty,
    /// Too long.
    #[error("The name has {0} characters.")]
    TooLong(usize),
    /// A character that cannot be part of a name here.
    #[error("The name \"{shown}\" has {what}.")]
    Character {
        /// The name with control characters made visible.
        shown: String,
        /// What is wrong with it.
        what: &'static str,
    },
    /// A number or a word that names a setup in commands.
    #[error("The name \"{0}\" could be taken for a setup.")]
    LikeASetup(String),
    /// A word that no file can be called by on some systems.
    #[error("The name \"{0}\" has a meaning of its own on some systems.")]
    Reserved(String),
}

impl NameError {
    /// How a name is made.
    pub fn help(&self) -> String {
        let like = self.near().unwrap_or_else(|| "moth-125".to_owned());
        format!(
            "A name has 1 to {LONGEST} lower-case letters, digits, '-' or '_' and begins with a letter or digit, like \
             {like}."
        )
    }

    /// A name that can be used, made of what was typed: "KR 125" is kr-125.
    fn near(&self) -> Option<String> {
        let Self::Character { shown, .. } = self else { return None };
        let letters = shown
            .to_lowercase()
            .chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
            .collect::<String>();
        let parts: Vec<&str> = letters.split('-').filter(|part| !part.is_empty()).collect();
        let name = parts.join("-");
        (check(&name).is_ok()
            && shown.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '.' | '-' | '_')))
        .then_some(name)
    }
}

/// Accepts a name or says what is wrong with it.
pub fn check(name: &str) -> Result<&str, NameError> {
    let length = name.chars().count();
    if length == 0 {
        return Err(NameError::Empty);
    }
    if length > LONGEST {
        return Err(NameError::TooLong(length));
    }
    let wrong = |what| NameError::Character { shown: visible(name), what };
    for character in name.chars() {
        match character {
            'a'..='z' | '0'..='9' | '-' | '_' => {}
            'A'..='Z' => return Err(wrong("capital letters")),
            '/' | '\\' => return Err(wrong("a slash, which would leave its folder")),
            c if c.is_control() => return Err(wrong("control characters")),
            ' ' => return Err(wrong("a space")),
            _ => return Err(wrong("a character that is not a letter a to z, a digit, '-' or '_'")),
        }
    }
    if name.starts_with(['-', '_']) {
        return Err(wrong("a sign at its beginning, where a letter or digit belongs"));
    }
    let digits_only = name.bytes().all(|byte| byte.is_ascii_digit());
    if digits_only || ["now", "latest", "proven"].contains(&name) {
        return Err(NameError::LikeASetup(name.to_owned()));
    }
    if ["con", "nul", "aux", "prn"].contains(&name) {
        return Err(NameError::Reserved(name.to_owned()));
    }
    Ok(name)
}

/// Untrusted text on one line, control characters made visible: nothing reaches the terminal that moves its cursor.
pub fn visible(text: &str) -> String {
    text.chars()
        .flat_map(|c| if is_hidden(c) { c.escape_unicode().collect::<Vec<_>>() } else { vec![c] })
        .collect()
}

/// Whether a character moves a terminal's cursor, or turns the direction of what follows.
pub fn is_hidden(c: char) -> bool {
    let turns =
        matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    c.is_control() || turns
}

/// Untrusted text of several lines: as [`visible`], but line ends and tabs stay.
pub fn visible_lines(text: &str) -> String {
    text.lines().map(|line| visible(&line.replace('\t', "    "))).collect::<Vec<_>>().join("\n")
}

/// 12 random hex digits: the identity of a setup or an outing.
pub fn is_id(text: &str) -> bool {
    text.len() == 12 && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

/// A cylinder's name in a sentence: "right", and "cylinder 1" where it is only a number.
pub fn in_words(name: &str) -> String {
    let shown = visible(name);
    if name.bytes().all(|byte| byte.is_ascii_digit()) { format!("cylinder {shown}") } else { shown }
}

/// Whether two names are one, whatever their capitals, blanks and hyphens.
pub fn same_name(one: &str, two: &str) -> bool {
    let bare = |name: &str| -> String {
        name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
    };
    bare(one) == bare(two)
}
