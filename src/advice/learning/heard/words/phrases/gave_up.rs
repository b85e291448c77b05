//! An engine that gave up, tied up or was ruined, as the paddock says it: the mixture may have done it, so what is not plain is asked.

use super::super::super::phrase_lists as lists;
use super::super::super::word_lists::{
    ARTICLES, BETWEEN, OTHER_THINGS, PISTON_AND_ITS_LIKE, PREPOSITIONS, REACH,
};
use super::super::things::Thing;

use crate::advice::learning::heard::word_lists::{is_in, listed};
use crate::advice::learning::heard::words::phrases::place::{WordAt, asked, lean, other};
use crate::advice::learning::heard::words::signs::{Said, THE_ENGINE};

/// All families, in the order in which they are asked.
pub(super) fn gave_up(at: WordAt<'_>) -> Option<Said> {
    let all = [
        off_song,
        tied_up,
        bang,
        expired,
        died,
        wrecked,
        ruined,
        burnt_down,
        broken,
        compression_down,
        solid,
        felt,
        needs_work,
    ];
    all.into_iter()
        .find_map(|family| family(at))
        .or_else(|| [squealed, gripped, clutched, just_tight].into_iter().find_map(|family| family(at)))
}

/// The engine is a sign at once, "it" and nothing named are asked, a person and another thing are none.
fn asked_of_it(at: WordAt<'_>, words: &str, alone: bool) -> Said {
    match at.subject() {
        Thing::Other(thing) | Thing::Joined(thing) => other(words, thing),
        Thing::Piston => asked(words, THE_ENGINE),
        _ if at.of_a_person() => Said::Nothing,
        Thing::None if at.of_it() || alone => asked(words, THE_ENGINE),
        Thing::None | Thing::Unknown(_) => Said::Nothing,
    }
}

/// Whether a word has an object: "tied up the fairing".
fn has_object(at: WordAt<'_>, by: usize) -> bool {
    let next = at.next(by);
    !at.ends(by) && !listed(PREPOSITIONS, next) && !listed(BETWEEN, next) && !listed(lists::HOW, next)
}

/// "The motor tied up"; not the fairing, not somebody at work.
fn tied_up(at: WordAt<'_>) -> Option<Said> {
    (listed("tied ties tying", at.word()) && at.next(1) == "up").then_some(())?;
    let engine_behind = is_in(PISTON_AND_ITS_LIKE, at.next(3)) && listed(ARTICLES, at.next(2));
    if engine_behind {
        return Some(asked("tied up", THE_ENGINE));
    }
    if (1..=2).any(|by| listed("race points title championship series hair", at.back(by))) {
        return Some(Said::Nothing);
    }
    if has_object(at, 2) || listed("with at in to by", at.next(2)) && !at.on_the_track() {
        return Some(Said::Nothing);
    }
    Some(at.by_subject("tied up"))
}

/// "Crank seal blown", "head gasket blew": what breathes air there runs lean, or is what a lean run did; not a fork's seal, not the silencer's.
pub(super) fn seal_gone(at: WordAt<'_>) -> Option<Said> {
    listed("blew blown blows gone went burst popped leaking leaked split failed", at.word()).then_some(())?;
    let near = |list: &str| (1..=3).any(|by| listed(list, at.back(by))) || at.behind(list, 3);
    let seal = near("crank crankcase") && near("seal seals oring");
    let gasket = near("gasket gaskets") && near("head base barrel cylinder");
    (seal || gasket)
        .then(|| asked(&format!("{} {}", if seal { "crank seal" } else { "gasket" }, at.word()), THE_ENGINE))
}

/// "Went off song and stopped"; not off song alone, not where the petrol ran out.
fn off_song(at: WordAt<'_>) -> Option<Said> {
    (listed("song boil tune", at.word()) && listed("off the", at.back(1))).then_some(())?;
    let stopped = at.behind("stopped stops died quit cut", 4) && !at.anywhere(lists::WHY_IT_STOPPED);
    stopped.then(|| asked("went off and stopped", THE_ENGINE))
}

/// "Went bang", "a big bang on the straight"; not bang on time, not the tyre.
fn bang(at: WordAt<'_>) -> Option<Said> {
    if listed("bang pop kaboom boom", at.word()) && listed("went goes go gone", at.back(1)) {
        let verb = WordAt { at: at.at - 1, ..at };
        let words = format!("went {}", at.word());
        return Some(if at.word() == "bang" {
            verb.by_subject(&words)
        } else {
            verb.asked_by_subject(&words)
        });
    }
    if at.word() == "popped" && at.of_it() && at.ends(1) {
        return Some(asked("popped", THE_ENGINE));
    }
    let then = listed("then and", at.back(1)) && at.ends(1);
    let heard = then || listed("a big loud huge almighty one", at.back(1)) || at.at == 0 && at.ends(1);
    let of_riding = at.anywhere(lists::BANGS_TOO)
        || at.back(2) == "with"
        || listed("on in up into for", at.next(1)) && !at.on_the_track();
    (at.word() == "bang" && heard).then(|| if of_riding { Said::Nothing } else { asked("bang", THE_ENGINE) })
}

/// An engine that expired, conked out, gave up the ghost.
fn expired(at: WordAt<'_>) -> Option<Said> {
    let two = [
        ("laid", "down"),
        ("laid", "over"),
        ("nosed", "over"),
        ("went", "south"),
        ("went", "away"),
        ("conked", "out"),
        ("gave", "up"),
        ("packed", "up"),
        ("packed", "in"),
        ("came", "apart"),
        ("carked", "it"),
        ("cried", "enough"),
        ("called", "time"),
    ];
    let pair = two.into_iter().find(|(one, then)| at.word() == *one && at.next(1) == *then);
    if let Some((one, then)) = pair {
        let words = format!("{one} {then}");
        if one == "laid" && (has_object(at, 2) || listed(ARTICLES, at.next(2))) {
            return Some(Said::Nothing);
        }
        let alone = listed("conked nosed", one) || one != "went" && at.on_the_track();
        return Some(asked_of_it(at, &words, alone));
    }
    if at.word() == "packed" && at.next(1) == "it" && at.next(2) == "in" {
        return Some(asked_of_it(at, "packed it in", at.on_the_track()));
    }
    if at.word() == "expired" && listed("time licence entry insurance session ticket", at.back(1)) {
        return Some(Said::Nothing);
    }
    let ends = at.ends(1) || at.next(1) == "up" && at.ends(2);
    listed("expired scattered imploded exploded meltdown ceased ceasing cease", at.word())
        .then(|| asked_of_it(at, at.word(), ends || at.on_the_track()))
}

/// It died, cut out or stopped where an engine is held open: its spark, its fuel or its piston.
fn died(at: WordAt<'_>) -> Option<Said> {
    let cut = at.word() == "cut"
        && (listed("out dead", at.next(1))
            || listed("engine motor", at.back(1))
            || at.of_it() && at.ends(1)
            || at.next(1) == "clean" && at.next(2) == "at");
    let dead = at.word() == "cut" && at.next(1) == "dead";
    (listed("died stopped quit", at.word()) || cut).then_some(())?;
    if listed("pinging pinking detonating knocking rattling dead", at.next(1)) && !dead
        || at.anywhere(lists::WHY_IT_STOPPED)
        || at.of_a_person()
    {
        return None;
    }
    // "It died" and no more.
    let engine = matches!(at.subject(), Thing::Piston) || at.of_it();
    if engine && at.ends(1) && listed("died quit cut", at.word()) {
        return Some(asked(at.word(), THE_ENGINE));
    }
    let noise = at.back(1) == "and" && listed("clunked clanked banged bang clunk graunched", at.back(2));
    if noise && (at.word() != "stopped" || at.on_the_track() || at.ends(1)) {
        return Some(asked(at.word(), THE_ENGINE));
    }
    let alone = !listed("stopped quit", at.word()) && matches!(at.subject(), Thing::None);
    let where_open = at.on_the_track() || dead || cut && at.next(1) == "clean" || at.behind("hot seized", 6);
    let words = if cut { "cut out" } else { at.word() };
    ((engine || alone) && where_open).then(|| asked(words, THE_ENGINE))
}

/// An engine that is stuffed, destroyed, toast.
fn wrecked(at: WordAt<'_>) -> Option<Said> {
    let had_it = at.word() == "had" && at.next(1) == "it" && at.ends(2);
    (had_it || listed(lists::WRECKED, at.word())).then_some(())?;
    let engine = "engine motor piston slug jug barrel cylinder bore crown";
    if listed(lists::FAILED_IT, at.next(1)) {
        return Some(Said::Nothing);
    }
    let passed = |word: &&str| listed(BETWEEN, word) || listed("are were looks look now all and", word);
    let before = (1..=REACH + 1).map(|by| at.back(by)).find(|word| !passed(word));
    let of_the_engine = before.is_some_and(|word| is_in(engine, word));
    let subject = of_the_engine && !at.words.iter().take(at.at).any(|word| is_in(OTHER_THINGS, &word.text));
    let dnf = listed("engine motor", at.back(1)) || listed("engine motor", at.next(1)) && at.word() == "dnf";
    let of = at.word() == "failure" && at.behind(engine, REACH);
    (subject || dnf || of).then(|| asked(at.word(), THE_ENGINE))
}

/// Somebody or something that ruined the engine: "lunched the motor", "ate a piston".
fn ruined(at: WordAt<'_>) -> Option<Said> {
    listed(lists::RUINED, at.word()).then_some(())?;
    let object = at.words.iter().skip(at.at + 1).take(REACH).map(|word| word.text.as_str());
    let mut object = object.take_while(|word| {
        listed(ARTICLES, word)
            || listed("another top new good hot one", word)
            || is_in("piston engine motor barrel bore cylinder pot end", word)
    });
    let engine = object.any(|word| is_in("piston engine motor barrel bore cylinder end", word));
    engine.then(|| lean(at.word()))
}

/// "Burnt it down", "burned down the top end".
fn burnt_down(at: WordAt<'_>) -> Option<Said> {
    let down = at.next(1) == "down" || listed("it him her", at.next(1)) && at.next(2) == "down";
    (listed("burnt burned burns", at.word()) && down).then_some(())?;
    let object = is_in(PISTON_AND_ITS_LIKE, at.next(3)) || at.next(1) == "it" || listed("top", at.next(3));
    Some(match at.subject() {
        _ if object => lean("burnt down"),
        Thing::Piston => lean("burnt down"),
        Thing::None if at.of_it() || at.ends(2) || at.on_the_track() => asked("burnt down", THE_ENGINE),
        _ => Said::Nothing,
    })
}

/// A ring, a skirt, a crown that broke: what broke it is to be found.
fn broken(at: WordAt<'_>) -> Option<Said> {
    listed("broken broke cracked chipped peeling peeled flaking flaked trapped caught snagged gone snapped disintegrated collapsed shattered missing", at.word()).then_some(())?;
    let part = "piston pistons ring rings skirt liner crown land lands plating nikasil";
    let near = (1..=2).any(|by| listed(part, at.back(by))) || at.behind(part, 2);
    let ring = listed("ring rings", at.back(1)) || listed("ring rings", at.back(2));
    if listed("trapped caught snagged", at.word()) {
        return ring.then(|| asked("ring caught", "the piston or the barrel"));
    }
    if listed("gone missing", at.word()) && !(1..=3).any(|by| listed(part, at.back(by))) {
        return None;
    }
    let other_piston = matches!(at.subject(), Thing::Other(_)) || at.behind("peg bell record spanner", 3);
    (near && !other_piston).then(|| asked(at.word(), "the piston or the barrel"))
}

/// "Compression down to 80": not the ratio, not a test.
fn compression_down(at: WordAt<'_>) -> Option<Said> {
    listed("compression comp", at.word()).then_some(())?;
    let figure = |by: usize| at.next(by).parse::<f64>().ok();
    let was = (1..=REACH).find(|by| at.next(by + 1) == "was").and_then(|by| figure(by).zip(figure(by + 2)));
    let low = at.back(1) == "low" && at.ends(1);
    if low || at.back(1) == "on" && listed("down low", at.back(2)) || was.is_some_and(|(is, was)| is < was) {
        return Some(asked("compression down", THE_ENGINE));
    }
    let mut by = 1;
    while listed("is was has had way well right very a bit gone looks reads read feels felt", at.next(by)) {
        by += 1;
    }
    let down = listed("down low dropped weak poor", at.next(by)) || at.next(by) == "fell";
    down.then(|| asked("compression down", THE_ENGINE))
}

/// What was felt of it: "felt it nip", "felt it start to go".
fn felt(at: WordAt<'_>) -> Option<Said> {
    let felt = |by: usize| at.back(by) == "it" && listed("felt feel feeling heard", at.back(by + 1));
    let starts = at.back(1) == "to" && listed("start begin starting", at.back(2)) && felt(3);
    let going = listed("go going", at.word()) && (at.ends(1) || at.word() == "going" && at.next(1) == "off");
    let itself = at.word() == "pull" && at.behind("itself", 2);
    let verb = listed(
        "nip nipping bind binding grab grip stick sticking lock locking seize drag dragging",
        at.word(),
    ) || going
        || itself;
    (verb && (felt(1) || starts)).then(|| asked(&format!("felt it {}", at.word()), THE_ENGINE))
}

/// "Kickstart won't go down", "no resistance on the kick", "piston would not come out".
pub(super) fn kick_stuck(at: WordAt<'_>) -> Option<Said> {
    let kick = listed("move budge go", at.word())
        && listed("won't wouldn't wont wouldnt not", at.back(1))
        && (2..=4).any(|by| listed("kickstart kicker kick flywheel", at.back(by)));
    let not = at.back(1) == "not" || at.back(1).ends_with("n't");
    let stays = at.word() == "come" && not && at.near("piston pistons", 6) && at.behind("off out", 1);
    let soft = at.word() == "resistance"
        && at.back(1) == "no"
        && at.near("kick kicker kickstart kickstarter kicks over", 4);
    if stays || soft {
        return Some(asked(if stays { "piston would not come" } else { "no resistance" }, THE_ENGINE));
    }
    kick.then(|| asked("kickstart would not move", THE_ENGINE))
}

/// "Needs a rebore".
fn needs_work(at: WordAt<'_>) -> Option<Said> {
    let bore = at.word().starts_with("rebor") || at.word().starts_with("replat");
    let needs = (1..=2).any(|by| listed("needs need needed needing wants", at.back(by)));
    let sent = bore
        && (1..=3).any(|by| at.back(by) == "for")
        && (1..=5).any(|by| listed("barrel cylinder", at.back(by)));
    (bore && needs || sent).then(|| asked(at.word(), THE_ENGINE))
}

/// A kickstart or a crank that is solid, or hard to turn.
fn solid(at: WordAt<'_>) -> Option<Said> {
    let kick = at.word() == "solid"
        && listed("kickstart kicker kick flywheel engine motor jammed", at.back(1))
        || at.word() == "jammed" && listed("kickstart kicker starter", at.back(1));
    let hard = listed("hard stiff", at.word())
        && (1..=2).any(|by| listed("turn kick pull", at.next(by)))
        && (1..=4).any(|by| at.next(by) == "over");
    let hot = listed("sticky dragging", at.word()) && matches!(at.subject(), Thing::Piston);
    (kick || hard || hot).then(|| asked(at.word(), THE_ENGINE))
}

/// "It squealed and slowed"; not the brakes, not the tyres.
fn squealed(at: WordAt<'_>) -> Option<Said> {
    let how = ["squeal", "squeak", "chirp", "shriek", "screech"];
    how.iter().any(|begins| at.word().starts_with(begins)).then_some(())?;
    if let Thing::Other(thing) = at.subject() {
        return Some(other(at.word(), thing));
    }
    if at.anywhere(lists::SQUEALS_TOO) || at.of_a_person() {
        return Some(Said::Nothing);
    }
    let then = at.anywhere("slowed slow slowing stopped clutch clutched locked lost power backed revs");
    let engine = matches!(at.subject(), Thing::Piston) || at.of_it() && at.on_the_track();
    let heard = at.back(1) == "it" && listed("heard felt hear", at.back(2));
    (then || engine || heard).then(|| asked(at.word(), THE_ENGINE))
}

/// An engine that gripped; a tyre does what it should.
fn gripped(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "gripped").then_some(())?;
    let engine = matches!(at.subject(), Thing::Piston);
    let alone = at.of_it() && at.on_the_track() || at.words.len() == 1;
    (engine || alone).then(|| asked("gripped", THE_ENGINE))
}

/// The clutch pulled on the straight, or just in time: somebody felt it go.
fn clutched(at: WordAt<'_>) -> Option<Said> {
    listed("clutch clutched", at.word()).then_some(())?;
    if at.anywhere(lists::WHY_CLUTCHED) {
        return None;
    }
    let pulled = listed("pulled grabbed hit caught dipped whipped yanked", at.back(1))
        || listed("the", at.back(1)) && listed("pulled grabbed hit dipped whipped yanked on", at.back(2))
        || listed("had", at.back(2)) && at.next(1) == "it"
        || at.word() == "clutched" && at.next(1) == "it";
    let in_time = at.behind("time", 3) && at.behind("in", 2);
    let quick = at.next(1) == "in" && at.behind("quick quickly fast sharpish", 3);
    let open = at.behind("straight straights flat top sixth wot", 6);
    let saved = at.next(1) == "saved" || (1..=4).any(|by| at.back(by) == "saved");
    let rolled = at.next(1) == "in" && (2..=6).any(|by| listed("coasted freewheeled rolled", at.back(by)));
    let got = at.next(1) == "in" && listed("got whipped yanked grabbed", at.back(2)) && at.back(1) == "the";
    (quick || saved || rolled || got || pulled && (in_time || open))
        .then(|| asked("the clutch pulled", THE_ENGINE))
}

/// "Not seized, just tight": where a seizure is spoken of, what was there instead of it. "Tight" alone is of the engine too.
fn just_tight(at: WordAt<'_>) -> Option<Said> {
    listed("tight close nearly near warm", at.word()).then_some(())?;
    let seizing = |word: &str| ["seiz", "siez", "nip", "scuff"].iter().any(|begins| word.starts_with(begins));
    let spoken = at.words.iter().take(at.at).any(|word| seizing(&word.text));
    let only = (1..=3).any(|by| listed("just only but though merely still", at.back(by)));
    let alone = at.word() == "tight"
        && at.ends(1)
        && (at.at == 0
            || at.words.get(at.at).is_some_and(|word| word.after_comma)
            || at.back(1) == "bit" && at.at < 3);
    let tight =
        spoken && (only || at.word() == "close") && at.ends(1) || alone && at.at + 1 == at.words.len();
    tight.then(|| asked(at.word(), THE_ENGINE))
}
