//! Words in an outing's notes that stand for a lean mixture, whatever the verdict says: an engine that seized or pinged was
//! lean, or was not far from it (common practice, no source).

use crate::notebook::Outing;

/// How a word begins that says it.
const SIGNS: [&str; 9] =
    ["seiz", "pinged", "pinging", "pings", "pinking", "pinked", "detonat", "nipped", "holed"];

/// Words before a sign that take it back: "no pinging", "did not seize", "never pinged", "stopped pinging".
const DENIALS: [&str; 9] = ["no", "not", "never", "without", "nor", "neither", "nothing", "stopped", "cured"];

/// What may seize without the mixture's doing.
const OTHER_THINGS: [&str; 8] = ["brake", "brakes", "caliper", "chain", "clutch", "cable", "wheel", "bolt"];

/// How many words a denial, or another thing, may stand from the sign.
const REACH: usize = 3;

/// The word in the notes, plug, piston or feel of an outing that says it was lean, if any, as it was written.
pub fn sign_of_lean(outing: &Outing) -> Option<String> {
    [&outing.notes, &outing.piston, &outing.plug, &outing.feel]
        .into_iter()
        .flatten()
        .find_map(|text| sign_in(text))
}

/// The first sign in a text that is not denied just before it, or said of something else.
fn sign_in(text: &str) -> Option<String> {
    // A full stop or a semicolon ends what a denial reaches.
    text.split(['.', ';', '!', '?', '\n']).find_map(|sentence| {
        let words: Vec<&str> = sentence
            .split(|c: char| !c.is_alphanumeric() && c != '\'')
            .filter(|word| !word.is_empty())
            .collect();
        let near = |from: usize, to: usize, of: &dyn Fn(&str) -> bool| {
            words.iter().take(to).skip(from).any(|word| of(&word.to_lowercase()))
        };
        words.iter().enumerate().find_map(|(at, word)| {
            let lower = word.to_lowercase();
            if !SIGNS.iter().any(|beginning| lower.starts_with(beginning)) {
                return None;
            }
            let denial = |word: &str| DENIALS.contains(&word) || word.ends_with("n't");
            let other = |word: &str| OTHER_THINGS.contains(&word);
            let denied = near(at.saturating_sub(REACH), at, &denial);
            let of_another = near(at.saturating_sub(REACH), at + REACH, &other);
            (!denied && !of_another).then(|| lower.clone())
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
            ("Nearly a seizure on lap 4", Some("seizure")),
            ("Pinged twice under load", Some("pinged")),
            ("Heard it pinging; no pepper on the plug", Some("pinging")),
            ("holed piston", Some("holed")),
            ("Seized: brake caliper", None),
            ("Rear brake seized on the grid", None),
            ("No pinging at all", None),
            ("It did not seize", None),
            ("Never once pinged", None),
            ("It has stopped pinging", None),
            ("No pepper. Pinging at half throttle.", Some("pinging")),
            ("didn't ping, didn't detonate", None),
            ("A new piston ring", None),
            ("Shipping the spare engine", None),
        ] {
            assert_eq!(sign_in(text).as_deref(), sign, "{text}");
        }
    }
}
