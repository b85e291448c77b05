//! Words in an outing's notes that stand for a lean mixture, whatever the verdict says: an engine that seized or pinged was
//! lean, or was not far from it (common practice, no source).

use crate::notebook::Outing;

/// How a word begins that says it, with the word to say it by.
const SIGNS: [(&str, &str); 8] = [
    ("seiz", "seized"),
    ("pinged", "pinged"),
    ("pinging", "pinging"),
    ("pings", "pings"),
    ("pinking", "pinking"),
    ("pinked", "pinked"),
    ("detonat", "detonation"),
    ("nipped", "nipped up"),
];

/// Words before a sign that take it back: "no pinging", "did not seize", "never pinged".
const DENIALS: [&str; 7] = ["no", "not", "never", "without", "nor", "neither", "nothing"];

/// How many words a denial may stand before the sign.
const REACH: usize = 3;

/// The sign that the notes, plug, piston or feel of an outing give, if any.
pub(super) fn sign_of_lean(outing: &Outing) -> Option<&'static str> {
    [&outing.notes, &outing.piston, &outing.plug, &outing.feel]
        .into_iter()
        .flatten()
        .find_map(|text| sign_in(text))
}

/// The first sign in a text that is not denied just before it.
fn sign_in(text: &str) -> Option<&'static str> {
    // A full stop or a semicolon ends what a denial reaches.
    text.split(['.', ';', '!', '?', '\n']).find_map(|sentence| {
        let words: Vec<String> = sentence
            .split(|c: char| !c.is_alphanumeric() && c != '\'')
            .filter(|word| !word.is_empty())
            .map(str::to_lowercase)
            .collect();
        words.iter().enumerate().find_map(|(at, word)| {
            let (_, sign) = SIGNS.iter().find(|(beginning, _)| word.starts_with(beginning))?;
            let before = words.iter().take(at).rev().take(REACH);
            let denied =
                before.into_iter().any(|word| DENIALS.contains(&word.as_str()) || word.ends_with("n't"));
            (!denied).then_some(*sign)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::sign_in;

    #[test]
    fn signs_are_seen_and_denials_believed() {
        for (text, sign) in [
            ("It seized at the end of the straight.", Some("seized")),
            ("Nearly a seizure on lap 4", Some("seized")),
            ("Pinged twice under load", Some("pinged")),
            ("Heard it pinging; no pepper on the plug", Some("pinging")),
            ("No pinging at all", None),
            ("It did not seize", None),
            ("Never once pinged", None),
            ("No pepper. Pinging at half throttle.", Some("pinging")),
            ("didn't ping, didn't detonate", None),
            ("A new piston ring", None),
            ("Shipping the spare engine", None),
        ] {
            assert_eq!(sign_in(text), sign, "{text}");
        }
    }
}
