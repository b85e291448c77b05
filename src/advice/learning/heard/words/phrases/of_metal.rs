//! What is seen on a piston and a bore, and what is heard of them.

use super::super::super::phrase_lists as lists;
use super::super::super::word_lists::{ARTICLES, BRAKING, PISTON_AND_ITS_LIKE, PREPOSITIONS, REACH};
use super::super::things::{Thing, engine_is_near};

use crate::advice::learning::heard::word_lists::{is_in, listed};
use crate::advice::learning::heard::words::phrases::place::{WordAt, asked, lean, other};
use crate::advice::learning::heard::words::signs::{Said, THE_ENGINE, Word};

/// "Picked up on the exhaust side", "pick-up marks"; not speed, places or a puncture.
pub(super) fn picked_up(at: WordAt<'_>) -> Option<Said> {
    let signs = at.back(1) == "of" && listed("sign signs hint trace traces", at.back(2));
    if signs && listed("pick picking", at.word()) && at.next(1) == "up" {
        return Some(asked("pick-up", THE_ENGINE));
    }
    if at.word() == "pickup" || at.word() == "pick" && listed("up ups", at.next(1)) {
        return picks_up(at, if at.word() == "pickup" { 1 } else { 2 });
    }
    (at.word() == "picked" && at.next(1) == "up").then_some(())?;
    if at.behind(lists::ON_A_PISTON, 6) {
        return Some(lean("picked up"));
    }
    let metal = at.words.iter().take(at.at).rev().take(REACH).any(|word| is_in(lists::METAL, &word.text));
    if metal {
        return Some(lean("picked up"));
    }
    if at.of_a_person() || !(at.ends(2) || listed("slightly lightly badly again at on", at.next(2))) {
        return Some(Said::Nothing);
    }
    let of_engine = matches!(at.subject(), Thing::Piston);
    if of_engine && at.ends(2) {
        return Some(lean("picked up"));
    }
    let unsure = of_engine || at.of_it() && at.ends(2);
    Some(if unsure { asked("picked up", THE_ENGINE) } else { Said::Nothing })
}

/// A pick-up of metal; not the ignition's, not an engine's out of the corner.
fn picks_up(at: WordAt<'_>, by: usize) -> Option<Said> {
    let marks = listed("mark marks marking", at.next(by));
    let on = listed("on at by near", at.next(by)) || listed(lists::ON_A_PISTON, at.next(by));
    let on_a_piston = on && at.behind(lists::ON_A_PISTON, 6);
    let of_piston = (1..=REACH).any(|by| is_in(lists::METAL, at.back(by)));
    let slight = listed("slight light little some bad heavy", at.back(1)) && at.ends(by);
    if listed("coil gap sensor truck van speed", at.next(by)) {
        return Some(Said::Nothing);
    }
    (marks || on_a_piston || of_piston)
        .then(|| lean("pick-up"))
        .or_else(|| slight.then(|| asked("pick-up", THE_ENGINE)))
}

/// Metal that rubbed or smeared, with nothing named: "scuffed", "scored on the intake side"; not the tyres, not a rider's knee.
pub(super) fn rubbed(at: WordAt<'_>) -> Option<Said> {
    let begins = |list: &[&str]| list.iter().any(|begins| at.word().starts_with(begins));
    let rubs = begins(&["scuff", "smear", "gall", "eroded", "hammered"]) && !begins(&["galler", "gallo"]);
    (rubs || at.word() == "scored" || at.word() == "scoring").then_some(())?;
    let on_a_piston = |word: &str| listed(lists::ON_A_PISTON, word) || is_in(lists::IN_THE_HEAD, word);
    let hammered = at.word() == "hammered" && at.back(1) == "head";
    let near = hammered
        || at.words.iter().skip(at.at + 1).take(6).any(|word| on_a_piston(&word.text))
        || (1..=REACH).any(|by| on_a_piston(at.back(by)));
    match at.subject() {
        Thing::Other(thing) => return Some(other(at.word(), thing)),
        _ if near => return Some(lean(at.word())),
        _ => {}
    }
    if at.anywhere(lists::SCUFFS_TOO) || at.of_a_person() || at.next(1) == "in" {
        return Some(Said::Nothing);
    }
    let bare =
        matches!(at.subject(), Thing::None) || listed("some point slight light minor bit of", at.back(1));
    let alone = bare && at.ends(1) && begins(&["scuff", "smear", "gall"]);
    alone.then(|| asked(at.word(), THE_ENGINE))
}

/// What is eaten or rubbed away of a piston, a crown or a bore, by its place: "dome pitted", "scratches on the exhaust side".
pub(super) fn eaten(at: WordAt<'_>) -> Option<Said> {
    let begins = ["pitt", "blasted", "eaten", "melt", "scratch", "rubb", "shiny", "burnt", "burned"];
    begins.iter().any(|begins| at.word().starts_with(begins)).then_some(())?;
    if at.of_a_person() || at.anywhere(lists::WITH_A_PEN) && !at.word().starts_with("pitt") {
        return None;
    }
    let part = |word: &str| is_in(lists::METAL, word) || is_in(lists::IN_THE_HEAD, word) || word == "bridge";
    let side = |by: usize| {
        listed("exhaust inlet intake", at.next(by)) && listed("side edge bridge port skirt", at.next(by + 1))
    };
    let head = at.word().starts_with("pitt") && (1..=2).any(|by| at.back(by) == "head");
    let reach = if at.word().starts_with("melt") { 5 } else { 2 };
    let before = head || (1..=reach).any(|by| part(at.back(by)));
    let scratched = at.word().starts_with("scratch");
    let behind = (1..=4).any(|by| side(by) || part(at.next(by)) && (scratched || at.next(1) != "in"));
    (before || behind && !at.anywhere("hand hands leg arm finger fingers leathers boot"))
        .then(|| lean(at.word()))
}

/// "Barrel marked", "marks on the skirt"; not with a pen.
pub(super) fn marked(at: WordAt<'_>) -> Option<Said> {
    listed("marked marks", at.word()).then_some(())?;
    if at.anywhere(lists::WITH_A_PEN) || at.of_a_person() {
        return Some(Said::Nothing);
    }
    let piston = |word: &&Word| is_in(lists::METAL, &word.text);
    let before = at.words.iter().take(at.at).rev().take(REACH).any(|word| piston(&word));
    let behind = at.behind(lists::ON_A_PISTON, 5);
    if at.word() == "marks" {
        let of_metal = behind && listed("on in down up", at.next(1)) || is_in(lists::METAL, at.back(1));
        return of_metal.then(|| lean("marks"));
    }
    match (before, behind) {
        (true, _) => Some(lean("marked")),
        (false, true) => Some(asked("marked", "the piston or the barrel")),
        (false, false) => None,
    }
}

/// "Lost a piston".
pub(super) fn lost(at: WordAt<'_>) -> Option<Said> {
    if listed("lost dropped", at.word()) && listed("top", at.next(2)) && at.next(3) == "end" {
        return Some(asked("lost the top end", THE_ENGINE));
    }
    let ring = |by: usize| listed("ring rings", at.next(by)) && at.ends(by + 1);
    if at.word() == "hung" && (ring(1) || ring(2)) || at.word() == "snag" && at.back(1) == "ring" {
        return Some(asked("a ring hung", THE_ENGINE));
    }
    if at.word() == "lost" && listed("ring rings", at.next(2)) && listed(ARTICLES, at.next(1)) && at.ends(3) {
        return Some(asked("lost a ring", THE_ENGINE));
    }
    let article = usize::from(listed(ARTICLES, at.next(1)) || listed("another one", at.next(1)));
    let whole = listed("cylinder cyl pot barrel engine motor", at.next(1 + article));
    let ended = at.ends(2 + article) || listed(PREPOSITIONS, at.next(2 + article));
    if listed("lost dropped", at.word()) && whole && ended {
        return Some(asked(at.word(), THE_ENGINE));
    }
    (at.word() == "lost" && listed("piston pistons", at.next(1 + article))).then(|| lean("lost a piston"))
}

/// "Burnt a hole": in the piston where nothing else is named.
pub(super) fn hole(at: WordAt<'_>) -> Option<Said> {
    if at.word() == "hole" && (1..=REACH).any(|by| listed("crown piston dome", at.back(by))) {
        return Some(lean("hole in the piston"));
    }
    let hole = listed("burnt burned melted blew blown put punched knocked", at.word())
        && (1..=REACH).any(|by| at.next(by) == "hole");
    hole.then_some(())?;
    let by = (1..=REACH).find(|by| at.next(*by) == "hole")?;
    let made = listed("put punched knocked", at.word()) && !listed("in through", at.next(by + 1));
    if made || at.next(by + 1) == "shot" {
        return None;
    }
    if at.behind(PISTON_AND_ITS_LIKE, 8) || at.behind("it dome", 8) && listed("in through", at.next(by + 1)) {
        return Some(lean("hole in the piston"));
    }
    Some(if listed("in through into", at.next(by + 1)) { Said::Nothing } else { lean("burnt a hole") })
}

/// "The piston kissed the head".
pub(super) fn kissed(at: WordAt<'_>) -> Option<Said> {
    let touched = listed("kissed touched hit tapped kissing touching", at.word());
    let piston =
        (1..=REACH).any(|by| listed("piston pistons", at.back(by))) && at.behind("head heads", REACH);
    let clearance = listed("squish bridge head", at.back(1))
        || at.behind("bridge head", 2) && (at.of_it() || at.back(1) == "s");
    if touched && !piston && clearance && !at.behind("heads", 2) {
        return Some(asked("touched", "the piston"));
    }
    (touched && piston).then(|| lean(&format!("piston {} the head", at.word())))
}

/// "Cooked the piston"; not the brakes.
pub(super) fn cooked(at: WordAt<'_>) -> Option<Said> {
    listed("cooked fried smoked popped", at.word()).then_some(())?;
    let piston = at.behind("piston pistons engine motor bore barrel", REACH);
    let subject = matches!(at.subject(), Thing::Piston) && at.ends(1);
    (piston || subject).then(|| lean(at.word()))
}

/// "Rattling like a bag of nails"; not the chain.
pub(super) fn rattled(at: WordAt<'_>) -> Option<Said> {
    let nails = "nails marbles spanners hammers bolts stones dice nuts";
    if at.word() == "like" && listed(nails, at.next(1)) || at.word() == "like" && at.next(1) == "gravel" {
        return Some(asked("like nails", THE_ENGINE));
    }
    if at.word().starts_with("rattl") && listed("off over", at.next(1)) && at.word() == "rattled" {
        return Some(Said::Nothing);
    }
    if at.word().starts_with("rattl")
        && at.behind("fairing bracket guard screen silencer mudguard bodywork", 5)
    {
        return Some(Said::Nothing);
    }
    if at.word() == "bag" && at.next(1) == "of" && listed(nails, at.next(2)) {
        return Some(at.by_subject("a bag of nails"));
    }
    at.word().starts_with("rattl").then_some(())?;
    if at.anywhere("nails marbles stones dice") {
        return Some(lean("rattling"));
    }
    let under_load = at.on_the_track() || at.behind("load pull pulling", 5);
    let how =
        listed("metallic tinny slight little light loud bad awful nasty hard dry faint horrible", at.back(1));
    let engine = how || matches!(at.subject(), Thing::Piston | Thing::None);
    Some(if engine && under_load { asked("rattling", THE_ENGINE) } else { Said::Nothing })
}

/// "A slight nip"; not in the air.
pub(super) fn nip(at: WordAt<'_>) -> Option<Said> {
    let a = listed(lists::A_NIP, at.back(1));
    let air = listed("in of and", at.next(1)) && at.behind("air tuck morning", 3);
    let after = at.back(1) == "after" || at.back(2) == "after" && listed("the this that", at.back(1));
    let a = a
        || after
        || at.back(1) == "to"
            && listed(
                "about going started starting wanted wants trying tried tends tended threatened beginning began",
                at.back(2),
            );
    let guessed =
        listed("poss possible possibly prob probable probably susp suspect suspected maybe", at.back(1));
    let place = listed("at on", at.next(1))
        || is_in("lap turn", at.next(1))
        || at.next(1).ends_with(|c: char| c.is_ascii_digit());
    let open = at.on_the_track() && !listed("to out off up round down over", at.next(1))
        || at.next(1) == "over" && at.behind("hill", 2);
    let by_itself = at.words.get(at.at + 1).is_none_or(|word| word.after_comma);
    let counted = at.back(1).parse::<u8>().is_ok() || listed("dnf ret retired", at.back(1));
    let alone = at.at == 0 && (place || open || by_itself) || counted && by_itself;
    let a = a || guessed || alone || listed("mark marks", at.next(1));
    (at.word() == "nip" && a && !air && at.next(1) != "up").then(|| lean("nip"))
}

/// "A slight knock at the top", "a ping"; not knocked off.
pub(super) fn knocked(at: WordAt<'_>) -> Option<Said> {
    if at.next(1) == "on" && at.behind("door effect wood head", 3) {
        return at.word().starts_with("knock").then_some(Said::Nothing);
    }
    if listed("knocked knocks knocking", at.word()) {
        let off = listed(lists::KNOCKED, at.next(1)) || at.of_a_person();
        return off.then_some(Said::Nothing);
    }
    let heard = listed("a slight some light heard heavy bit of engine bad", at.back(1));
    let not = listed("sensor on off down over about back box kneed", at.next(1));
    (at.word() == "knock" && heard && !not).then(|| lean("knock"))
}

impl<'w> WordAt<'w> {
    /// Whether the engine or its piston is named beside it, on its side of the comma: what is said of other things decides nothing then.
    pub(super) fn names_the_engine(self) -> bool {
        engine_is_near(self.words, self.at)
    }

    /// The words behind it, from so many on, as far as the next comma.
    fn rest(self, from: usize) -> impl Iterator<Item = &'w str> {
        let clause = self.words.iter().skip(self.at + 1).take_while(|word| !word.after_comma);
        clause.skip(from.saturating_sub(1)).map(|word| word.text.as_str())
    }
}

/// A ping that is no engine's: of a bell, a beam, a telephone; a counter of detonation that counted none; and pinging that is gone.
pub(super) fn pinged(at: WordAt<'_>) -> Option<Said> {
    let is_ping = at.word().starts_with("ping") || at.word().starts_with("pink");
    let counts = listed("deto det detonation knock", at.word())
        && listed("counter can cans phones headphones sensor gauge meter kit light count", at.next(1));
    if counts {
        let counted = || at.word() == "knock" && at.rest(2).take(5).any(counts_some);
        return if counted_none(at) {
            Some(Said::Nothing)
        } else {
            counted().then(|| asked("knock", THE_ENGINE))
        };
    }
    let went = |by: usize| {
        listed("gone cured stopped vanished disappeared sorted fixed", at.next(by))
            || at.next(by) == "went" && at.next(by + 1) == "away"
    };
    let noun = listed("pinging pinking knocking detonation det deto knock", at.word());
    let by = if went(1) { Some(1) } else { listed("has is all now s had", at.next(1)).then_some(2) };
    if let Some(by) = by.filter(|by| noun && went(*by)) {
        // What it stopped is the engine; what is gone when richer, or until lap 3, is not gone.
        let stays = at.rest(by + 1).take_while(|word| *word != "and").all(|word| listed(lists::GONE, word))
            && !at.anywhere(lists::BACK_AGAIN);
        return Some(if stays { Said::Nothing } else { asked(at.word(), THE_ENGINE) });
    }
    if !is_ping || at.names_the_engine() {
        return None;
    }
    let elsewhere = at.near(lists::PINGS_TOO, if at.word() == "ping" { 6 } else { REACH });
    let stone =
        at.back(1) == "stone" || at.next(1) == "off" && at.behind("kerb radiator screen visor helmet", 3);
    if listed("him me us them everyone everybody", at.next(1)) || elsewhere || stone {
        return Some(Said::Nothing);
    }
    let object = listed(ARTICLES, at.next(1)) && !at.ends(2);
    let of_other = |by: usize| is_in(lists::IS_PINGED, at.next(by));
    (object && (of_other(2) || of_other(3))).then_some(Said::Nothing)
}

/// Whether a counter or a light of detonation, named by the word and the next, showed none: just behind it, or with nothing said of it.
fn counted_none(at: WordAt<'_>) -> bool {
    let shown: Vec<&str> = at.rest(2).collect();
    let near = || shown.iter().take(REACH).copied();
    let first = shown.first().copied().unwrap_or_default();
    // "Never off", "off the scale", "no longer zero".
    let pair = |one: &str, two: &str| {
        shown.windows(2).any(
            |two_words| matches!(two_words, [first, second] if listed(one, first) && listed(two, second)),
        )
    };
    let turned = pair("never not longer", "off quiet silent clear clean zero 0 none")
        || pair("off", "the its")
        || pair("zero 0", "to")
        || pair("full", "of")
        || pair("going goes went gone", "off");
    let battery = near().any(|word| word == "battery");
    let away = first.is_empty()
        && (1..=REACH).any(|by| listed(lists::NOT_COUNTING, at.back(by)) || at.back(by) == "no");
    let none = near().any(|word| listed(lists::COUNTED_NONE, word));
    !counted_some(at, first) && !turned && (none || battery || away)
}

/// Whether a counter or a light of detonation showed some, anywhere in the sentence: "fitted, flashing in sixth", "was zero, now 30".
fn counted_some(at: WordAt<'_>, first: &str) -> bool {
    let number = |word: &str| word.chars().all(|c| c.is_ascii_digit()) && word.chars().any(|c| c != '0');
    let some = |by: usize| {
        let denied =
            (1..=2).any(|back| listed("never not no didn't didnt wasn't wasnt nothing", at.next(by - back)));
        let red = at.next(by) == "red" && at.next(by + 1) != "flag";
        let counted =
            number(at.next(by)) && listed("now then to hit read reads showed shows", at.next(by - 1));
        (red || counted || listed(lists::COUNTED_SOME, at.next(by))) && !denied
    };
    listed("on lit up red mad to", first) || (2..=12).any(some)
}

/// What a counter shows that counted some.
fn counts_some(word: &str) -> bool {
    let number = word.chars().all(|c| c.is_ascii_digit()) && word.chars().any(|c| c != '0');
    number || listed("flat red mad lit on flashing flashed jumped high off scale", word)
}

/// "Nipped up the inside", "nipped in front": riding. "Nips when held flat": may be the engine.
pub(super) fn nipped(at: WordAt<'_>) -> Option<Said> {
    let many = at.word() == "nips"
        && (at.back(1).parse::<u8>().is_ok()
            || listed("two three four several multiple few some slight small light more", at.back(1)));
    let signs = at.back(1) == "of" && listed("sign signs hint trace", at.back(2));
    let keeps = listed("keeps kept keep it was", at.back(1)) && at.ends(1);
    if many || at.word() == "nipping" && (signs || keeps) {
        return Some(asked(at.word(), THE_ENGINE));
    }
    if listed("nips nipping", at.word()) && at.next(1) != "up" {
        let open = at.next(1) == "on"
            || listed("at when in if", at.next(1)) && (at.on_the_track() || at.behind("hot held", 3));
        let said = || at.asked_by_subject(at.word());
        return (open && !at.behind("heels", 3) && !at.of_a_person()).then(said);
    }
    (at.word() == "nipped").then_some(())?;
    let by = 1 + usize::from(listed("back in up", at.next(1)));
    let where_to = at.next(by);
    let up = listed("inside outside order field road pack", at.next(3)) && at.next(1) == "up";
    if at.next(1) == "up"
        && listed(ARTICLES, where_to)
        && is_in("plug cap tie zip lid wire clip", at.next(by + 1))
    {
        return Some(Said::Nothing);
    }
    let goes = listed(lists::NIPPED_PAST, where_to)
        || listed("over up down", at.next(1)) && at.next(2) == "to"
        || at.next(1) == "back"
        || at.next(1) == "in" && listed("ahead between to for under front", where_to);
    if !up && !goes {
        return None;
    }
    let number = |word: &str| word.len() > 1 && word.starts_with(|c: char| c.is_ascii_digit());
    // The bike nips under its rider; "nipped her" may be the bike.
    let own = where_to == "under" && listed("me us", at.next(by + 1)) || where_to == "her" && at.ends(by + 1);
    let past = listed("past by before after", where_to);
    let by_rider = |word: &&str| {
        is_in(lists::NIPPED_BY, word)
            && !(past && listed("pit pits", word))
            && !(own && listed("me us her", word))
            && !(where_to == "inside" && *word == "inside")
    };
    let rode = at.rest(1).take(5).any(|word| by_rider(&word));
    let loaded = at.rest(2).take(4).any(|word| listed(lists::UNDER_LOAD, word) || number(word)) && !rode;
    let front = listed(lists::IN_FRONT_OF, at.next(by + 3)) || listed(lists::IN_FRONT_OF, at.next(by + 2));
    // "Nipped past the pits", "nipped up past the line": so may a rider.
    let at_a_place = |word: &str| is_in(lists::PLACES, word);
    let object = listed("the on of", at.next(by + 1));
    let passed = object && (2..=3).any(|more| at_a_place(at.next(by + more)));
    let passed = passed && !rode && !listed("off to in for across", where_to);
    let place = passed || where_to == "front" && at.next(by + 1) == "of" && front;
    let freed = !up && at.behind("freed free stopped seized locked clutched", 8);
    if at.names_the_engine() && !rode {
        return Some(lean("nipped"));
    }
    if at.names_the_engine() || at.of_it() && !rode || own || loaded || place || freed {
        return Some(asked("nipped", THE_ENGINE));
    }
    let without_object = at.ends(by + 1)
        || listed(lists::NO_OBJECT, at.next(by + 1))
            && listed("past by through inside round around ahead back front", where_to);
    let won = where_to != "off"
        && at.rest(by + 1).take(4).any(|word| listed(lists::NIPPED_TO, word) || is_a_place_won(word));
    let some = listed("two three four", at.next(by + 1)) && listed(lists::NO_OBJECT, at.next(by + 2));
    let errand = listed("out off over up down back", at.next(1))
        && (listed("for to home early", at.next(2))
            || at.next(2) == "at" && listed("lunch noon", at.next(3)))
        && !at.behind("moment second bit stop halt", 4);
    Some(if rode || up || without_object || won || some || errand {
        Said::Nothing
    } else {
        asked("nipped", THE_ENGINE)
    })
}

/// "P3".
fn is_a_place_won(word: &str) -> bool {
    word.strip_prefix('p').is_some_and(|place| place.parse::<u8>().is_ok())
}

/// A door that is locked, a place that was; and the front, which locks by its brake only.
pub(super) fn locked(at: WordAt<'_>) -> Option<Said> {
    if at.word() == "lockup" || at.word() == "lock" && at.next(1) == "up" {
        return Some(lock_up(at));
    }
    listed("locked locks locking", at.word()).then_some(())?;
    let engine = at.names_the_engine();
    let put = at.word() == "locked"
        && (at.in_clause(lists::HAS_A_LOCK) && !at.on_the_track() || at.next(1) == "down");
    let onto =
        listed("horns bars eyes arms", at.next(1)) || at.next(1) == "on" && listed("to him his", at.next(2));
    if onto || put && !engine && !at.of_it() {
        return Some(Said::Nothing);
    }
    let engine = engine || at.near(PISTON_AND_ITS_LIKE, REACH) || at.in_clause("pot rear back");
    // The front straight is a place, and so is "in front of the pits".
    let straight = |word: &str| listed("straight straights stretch chute", word);
    let ahead = |by: usize| at.next(by - 1) == "in" && (at.next(by + 1) == "of" || at.next(1) == "up");
    let behind = |by: usize| at.next(by) == "front" && !straight(at.next(by + 1)) && !ahead(by);
    let passed = |by: usize| straight(at.back(by - 1)) || at.back(by - 1) == "of" || at.of_it();
    let same = |by: usize| {
        (0..by).all(|by| {
            at.at
                .checked_sub(by)
                .is_some_and(|at_word| !at.words.get(at_word).is_some_and(|word| word.after_comma))
        })
    };
    let front = (1..=REACH).any(|by| behind(by) || at.back(by) == "front" && same(by) && !passed(by));
    let braked =
        (1..=REACH).any(|by| listed("under on", at.next(by)) && listed("braking brakes", at.next(by + 1)));
    if braked && !engine && !at.of_it() && matches!(at.subject(), Thing::None) {
        return Some(other(at.word(), "the brake"));
    }
    (front && !engine).then(|| other(at.word(), "the front brake"))
}

/// "Lock-up on the straight": not the brake's, not of the van.
fn lock_up(at: WordAt<'_>) -> Said {
    let put = at.in_clause(lists::HAS_A_LOCK) || at.in_clause("key keys shop home night");
    let braked = at.in_clause(BRAKING) || at.in_clause("front") && !at.names_the_engine();
    match (put, braked) {
        (true, _) => Said::Nothing,
        (false, true) => other("lock up", "the brake"),
        (false, false) => asked("lock up", THE_ENGINE),
    }
}

/// Light metal where none should be: "ali on the bore", "alloy on the plug"; and what melted down.
pub(super) fn metal_on(at: WordAt<'_>) -> Option<Said> {
    let on = listed("on in from off", at.next(1)) || listed("stuck smeared transferred", at.next(1));
    let where_it_is = at.behind(lists::ON_A_PISTON, 5) || at.behind(lists::PLUG, 5);
    if listed("ali ally alloy aluminium aluminum metal", at.word()) && on && where_it_is {
        return Some(lean(&format!("{} on it", at.word())));
    }
    let down = at.word() == "melted" && at.next(1) == "down";
    down.then(|| asked("melted down", THE_ENGINE)).filter(|_| !at.of_a_person())
}
