//! What a hurried hand meant: words of a note that are cut short or misspelt, where they tell of a lean run or of what it is said of.

use crate::advice::learning::heard::word_lists::listed;
use crate::advice::learning::heard::words::signs::is_sign;

/// Cut short, or so far off that no rule finds it.
const SHORT: [(&str, &str); 30] = [
    ("tite", "tight"),
    ("tigt", "tight"),
    ("tihgt", "tight"),
    ("thight", "tight"),
    ("stuk", "stuck"),
    ("stuc", "stuck"),
    ("lokd", "locked"),
    ("lckd", "locked"),
    ("locke", "locked"),
    ("pist", "piston"),
    ("pistn", "piston"),
    ("pston", "piston"),
    ("eng", "engine"),
    ("engin", "engine"),
    ("enigne", "engine"),
    ("mtr", "motor"),
    ("str", "straight"),
    ("str8", "straight"),
    ("strt", "straight"),
    ("strait", "straight"),
    ("exh", "exhaust"),
    ("alu", "aluminium"),
    ("pickups", "pickup"),
    ("nipup", "nipped"),
    ("nipp", "nip"),
    ("pingin", "pinging"),
    ("pinkin", "pinking"),
    ("knockin", "knocking"),
    ("abit", "bit"),
    ("slite", "slight"),
];

/// What is meant by a word that begins alike and is one slip of a finger off.
const MEANT: [&str; 16] = [
    "seized",
    "seizing",
    "seizure",
    "nipped",
    "nipping",
    "pinging",
    "pinking",
    "locked",
    "stuck",
    "scuffed",
    "piston",
    "detonation",
    "detonating",
    "tightened",
    "rattles",
    "rattling",
];

/// Words of their own, one slip off one of these.
const OF_THEIR_OWN: &str = "\
    sized sizing nipper napped locker locket looked licked lacked lucked pinning pining paging stick struck stack stock stunk \
    stuffed scoffed snuffed scuffled pistol pistons battles rattled rattler piking pinkish seizes seizures napping nippling sting rattle \
    detonations suck picking ponging tightener detonator";

/// Behind "ex", it is the exhaust's.
const EXHAUST_S: &str = "side port skirt bridge edge";

/// A word as it was meant; what follows tells what "ex" is.
pub(super) fn as_meant<'w>(word: &'w str, next: &str) -> &'w str {
    if word == "ex" && listed(EXHAUST_S, next) {
        return "exhaust";
    }
    if let Some((_, meant)) = SHORT.iter().find(|(short, _)| *short == word) {
        return meant;
    }
    if listed(OF_THEIR_OWN, word) || is_sign(word) {
        return word;
    }
    MEANT.into_iter().find(|meant| is_a_slip(word, meant)).unwrap_or(word)
}

/// Whether a word is another with one letter left out, put in, struck wrong or changed places with the next; the first is right.
fn is_a_slip(word: &str, meant: &str) -> bool {
    let (word, meant) = (word.as_bytes(), meant.as_bytes());
    if word.first() != meant.first() || word.len().abs_diff(meant.len()) > 1 {
        return false;
    }
    let same = word.iter().zip(meant).take_while(|(one, other)| one == other).count();
    let rest = |of: &[u8], from: usize| of.get(from..).unwrap_or_default().to_vec();
    let swapped = word.get(same) == meant.get(same + 1) && word.get(same + 1) == meant.get(same);
    rest(word, same + 1) == rest(meant, same)
        || rest(word, same) == rest(meant, same + 1)
        || rest(word, same + 1) == rest(meant, same + 1)
        || swapped && rest(word, same + 2) == rest(meant, same + 2)
}
