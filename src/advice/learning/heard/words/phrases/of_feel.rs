//! What was felt of an engine that dragged or would not turn, and what was heard of one that pinged, in other words than those; it may
//! be something else, so it is asked.

use super::super::super::phrase_lists as lists;
use super::super::super::word_lists::{BRAKING, PISTON_AND_ITS_LIKE, REACH};
use super::super::things::Thing;

use crate::advice::learning::heard::word_lists::{is_in, listed};
use crate::advice::learning::heard::words::phrases::place::{WordAt, asked, other};
use crate::advice::learning::heard::words::signs::{Said, THE_ENGINE};

/// What makes a noise like it and is no engine, or is no noise.
const SOUNDS_TOO: &str = "\
    chain clutch basket fairing silencer exhaust pipe spring gearbox bracket screen radio phone phones helmet visor stand spanner glass \
    music bell tools plug colour leathers bike livery paint finger overrun";

/// All families, in the order in which they are asked.
pub(super) fn of_feel(at: WordAt<'_>) -> Option<Said> {
    [
        kickstart,
        stiff,
        sticky,
        slowed,
        binding,
        brakes_on,
        slowed_suddenly,
        skidded,
        felt_lock,
        top_end,
        ate,
        bit,
        its_own_end,
        in_pieces,
        lines,
        pinched,
        bridged,
        on_one,
        cleaned_up,
        sized,
        retarded,
        jammed,
        got_out,
        soft_kick,
        sounded,
        heard,
        pink,
    ]
    .into_iter()
    .find_map(|family| family(at))
}

/// A kickstart that is stuck; not its spring or its shaft.
fn kickstart(at: WordAt<'_>) -> Option<Said> {
    listed("stuck locked jammed solid", at.word()).then_some(())?;
    let kick = |by: usize| {
        listed("kickstart kickstarter kicker crank crankshaft flywheel", at.back(by))
            || listed("start starter", at.back(by)) && at.back(by + 1) == "kick"
    };
    let stuck = (kick(1) || listed("is was went s", at.back(1)) && kick(2))
        && !at.in_clause("spring shaft return lever gear");
    stuck.then(|| asked(at.word(), THE_ENGINE))
}

/// "It went stiff on lap 4", "motor stiff"; not the springs, the neck, a new engine.
fn stiff(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "stiff" && !at.in_clause("suspension fork forks shock spring springs damping tyre"))
        .then_some(())?;
    let how = (1..=REACH)
        .find(|by| listed("went going gone got felt feels getting became goes turned", at.back(*by)));
    let verb = how.map(|by| WordAt { at: at.at - by, ..at });
    let engine = |at: WordAt<'_>| matches!(at.subject(), Thing::Piston);
    let Some(verb) = verb else {
        let bedding_in = at.anywhere("new fresh running rebuilt");
        return (engine(at) && !bedding_in).then(|| asked("stiff", THE_ENGINE));
    };
    let freed = at.anywhere("freed free straight clutched");
    let alone = matches!(verb.subject(), Thing::None) && !verb.of_a_person();
    let of_it = verb.of_it() || listed("went going gone goes", verb.word());
    (engine(verb) || alone && (of_it || freed)).then(|| asked("stiff", THE_ENGINE))
}

/// "It was sticking at the top", "a slight stick"; not the throttle, not the tyres.
fn sticky(at: WordAt<'_>) -> Option<Said> {
    (listed("sticky sticking stick", at.word()) && !matches!(at.subject(), Thing::Other(_))).then_some(())?;
    let slight = listed("slight bit of slightly little", at.back(1)) && (at.ends(1) || at.on_the_track());
    let felt = listed("felt feels got getting", at.back(1)) && at.ends(1) && at.at <= 2;
    let other = at.in_clause("throttle slide cable clutch tyre tyres track tarmac surface grip needle float gear lever ring rings plate");
    let of_it = at.word() != "stick" && (at.of_it() || at.at == 0) && at.on_the_track();
    ((slight || felt || of_it) && !other).then(|| asked(at.word(), THE_ENGINE))
}

/// "Slowed itself down on the straight".
fn slowed(at: WordAt<'_>) -> Option<Said> {
    listed("slowed slows slowing dragging dragged pulling pulled", at.word()).then_some(())?;
    if listed("dragging dragged pulling pulled", at.word()) && !at.behind("down", 2) {
        return None;
    }
    let own = at.behind("itself", 2) || at.next(1) == "on" && listed("its it's", at.next(2));
    own.then(|| at.by_subject(&format!("{} itself", at.word())))
}

/// An engine that binds; not a brake that does.
fn binding(at: WordAt<'_>) -> Option<Said> {
    (listed("binding binds", at.word()) || at.word() == "bound" && at.next(1) == "up").then_some(())?;
    if at.near("front rear wheel brake brakes caliper disc pads chain", 5) {
        return Some(other(at.word(), "the brake or the wheel"));
    }
    Some(at.asked_by_subject(at.word()))
}

/// "As if somebody had put the brakes on", "like an anchor".
fn brakes_on(at: WordAt<'_>) -> Option<Said> {
    let brakes = at.behind("brake brakes", 6) && at.behind("on", 8);
    let drag = at.behind("brake brakes", 6) && at.behind("dragging binding stuck rubbing", 8);
    let wall = at.behind("hit hitting ran running rode riding brick", 3) && at.behind("wall", 6);
    let like =
        listed("like if though", at.word()) && (brakes || drag || wall || at.behind("anchor treacle", 6));
    like.then(|| asked("like the brakes on", THE_ENGINE))
}

/// "Suddenly slowed on the straight"; not for the flag, not the traffic.
fn slowed_suddenly(at: WordAt<'_>) -> Option<Said> {
    let slowed = listed("slowed slows slowing slow", at.word());
    let sudden = (1..=2).any(|by| listed("sudden suddenly", at.back(by)) || at.next(by) == "suddenly");
    let other = at.in_clause("traffic rain flag flags yellow rider riders leader him")
        || at.in_clause(BRAKING)
        || at.of_a_person();
    (slowed && sudden && at.on_the_track() && !other).then(|| asked("slowed suddenly", THE_ENGINE))
}

/// A rear wheel that skidded, and the clutch was pulled.
fn skidded(at: WordAt<'_>) -> Option<Said> {
    let rear = (1..=REACH).any(|by| listed("rear back", at.back(by)));
    let skid = (at.word().starts_with("skid")
        || listed("slides slid", at.word()) && at.behind("bump bumped bumping", REACH))
        && rear
        && !at.in_clause(BRAKING);
    (skid && at.anywhere("clutch clutched straight bump bumped bumping"))
        .then(|| asked("the rear skidded", THE_ENGINE))
}

/// "Felt the back end lock"; not the front, not the brake.
fn felt_lock(at: WordAt<'_>) -> Option<Said> {
    let verb = listed("lock seize nip tighten bind grab stick", at.word());
    let felt = (2..=5).find(|by| listed("felt feel feeling heard", at.back(*by)));
    let named = |by: usize| {
        (1..by).any(|by| listed("rear back", at.back(by)) || is_in(PISTON_AND_ITS_LIKE, at.back(by)))
    };
    (verb && felt.is_some_and(named) && !at.in_clause(BRAKING))
        .then(|| asked(&format!("felt it {}", at.word()), THE_ENGINE))
}

/// A top end that is gone, a blown motor, a motor that shut down.
fn top_end(at: WordAt<'_>) -> Option<Said> {
    let top = |by: usize| at.back(by) == "end" && at.back(by + 1) == "top";
    let passed = |by: usize| listed("is was s has all", at.back(by));
    let gone = listed("gone shot finished blown dead scrap knackered", at.word())
        && (top(1) || passed(1) && top(2) || passed(1) && passed(2) && top(3));
    let blown = at.word() == "blown"
        && (listed("motor engine piston", at.next(1)) || at.next(1) == "top" && at.next(2) == "end");
    let shut = at.word() == "shut"
        && listed("down off itself", at.next(1))
        && at.on_the_track()
        && matches!(at.subject(), Thing::Piston);
    let words = if shut { "engine shut down" } else { at.word() };
    (gone || blown || shut).then(|| asked(words, THE_ENGINE))
}

/// A motor that ate itself, a ring that was spat out.
fn ate(at: WordAt<'_>) -> Option<Said> {
    let itself = listed("ate eaten chewed eats lunched munched finished killed destroyed", at.word())
        && at.next(1) == "itself";
    let of = |by: usize| {
        is_in("ring piston", at.next(by)) && (at.ends(by + 1) || listed("out up on in", at.next(by + 1)))
    };
    let threw = listed("spat threw thrown dropped chewed snapped broke", at.word()) && (1..=REACH).any(of);
    (itself || threw).then(|| asked(at.word(), THE_ENGINE))
}

/// "It bit", "the piston bit", "bit the bore"; not the clutch, and not a bit.
fn bit(at: WordAt<'_>) -> Option<Said> {
    let piston = is_in(lists::METAL, at.back(1)) && at.back(1) != "ring";
    let bore = listed("the", at.next(1)) && is_in(lists::METAL, at.next(2));
    let of_it = at.back(1) == "it" && at.at == 1 && at.ends(1);
    (at.word() == "bit" && (piston && at.ends(1) || bore || of_it)).then(|| asked("bit", THE_ENGINE))
}

/// Other ways to say that an engine ended: it signed off, went quiet, threw its hand in, hit a wall.
fn its_own_end(at: WordAt<'_>) -> Option<Said> {
    let its = listed("threw spat handed", at.word())
        && (1..=2).any(|by| at.next(by) == "its" && listed("hand dummy notice toys", at.next(by + 1)));
    let its = its || at.word() == "destructed" && at.back(1) == "self";
    let said = matches!(
        (at.word(), at.next(1)),
        ("signed", "off") | ("said", "goodnight") | ("went", "west") | ("hit", "a")
    ) && (at.word() != "hit" || at.next(2) == "wall");
    let quiet = at.word() == "went" && listed("quiet silent", at.next(1));
    let engine = matches!(at.subject(), Thing::Piston) || at.of_it();
    let quiet =
        quiet && (engine || at.on_the_track()) && !at.in_clause("radio crowd headset counter det deto");
    let words = format!("{} {}", at.word(), at.next(1));
    (its || said && engine || quiet).then(|| asked(words.trim(), THE_ENGINE))
}

/// "Piston in bits", "ally flakes in the pipe", "glitter in the exhaust", sparks out of it; not what is in the gearbox oil.
fn in_pieces(at: WordAt<'_>) -> Option<Said> {
    if at.in_clause("gearbox oil clutch") {
        return None;
    }
    let light = "piston ring metal ali ally alloy aluminium";
    let bits = listed("bits pieces flakes lumps chunks flecks", at.word());
    let of = at.behind(light, 2)
        || (1..=REACH).any(|by| is_in("piston ali ally alloy aluminium metal", at.back(by)));
    let pipe = "exhaust pipe stinger silencer";
    let sparks = listed("sparks sparking", at.word())
        && at.behind(pipe, 5)
        && !at.in_clause("scraped scraping dragged dragging ground grinder");
    let glitter = at.word().starts_with("glitter")
        && at.near("exhaust pipe stinger silencer plug piston bore barrel crankcase", 5);
    (bits && of || sparks || glitter).then(|| asked(at.word(), "the piston or the barrel"))
}

/// Lines, streaks, patches and blueing on a piston or in a bore; not the brake's.
fn lines(at: WordAt<'_>) -> Option<Said> {
    let seen =
        listed("tramlines tramline streaks streaked lines stripes patches blued bluing blueing", at.word())
            || at.word() == "spots" && listed("bright shiny hot polished", at.back(1))
            || at.word() == "spot" && at.back(1) == "hot";
    let metal = (1..=REACH).any(|by| is_in(lists::METAL, at.back(by)) || is_in(lists::METAL, at.next(by)));
    (seen && metal && !at.in_clause(BRAKING) && !at.in_clause(lists::WITH_A_PEN))
        .then(|| asked(at.word(), "the piston or the barrel"))
}

/// A ring that its land pinched.
fn pinched(at: WordAt<'_>) -> Option<Said> {
    let ring = (1..=2).any(|by| is_in("ring land", at.back(by)) || is_in("ring land", at.next(by)));
    (at.word().starts_with("pinch") && ring).then(|| asked("ring pinched", "the piston or the barrel"))
}

/// A plug that metal, or carbon, closed.
fn bridged(at: WordAt<'_>) -> Option<Said> {
    let closed = listed("bridged whisker whiskers whiskered", at.word())
        || at.word() == "closed" && (at.next(1) == "up" || listed("plug gap", at.back(1)));
    (closed && at.near("plug plugs electrode electrodes", REACH)).then(|| asked(at.word(), "the plug"))
}

/// "Went onto one cylinder": the other has no spark, or no piston.
fn on_one(at: WordAt<'_>) -> Option<Said> {
    let on = at.word() == "one" && listed("on onto", at.back(1));
    let cylinder = listed("cylinder cyl pot lung", at.next(1))
        || at.ends(1) && listed("running ran went dropped", at.back(2));
    (on && cylinder && !at.in_clause("plug lead cap")).then(|| asked("on one cylinder", THE_ENGINE))
}

/// What is done to a piston or a bore that has seized: acid, emery, a file.
fn cleaned_up(at: WordAt<'_>) -> Option<Said> {
    let done = listed("acid caustic emery emeried filed dressed", at.word())
        || at.word() == "wet" && at.next(1) == "and" && at.next(2).starts_with("dr");
    let part = at.near("piston pistons bore barrel barrels cylinder liner skirt", 6);
    (done && part && !at.in_clause(BRAKING) && !at.in_clause("port ports chamfer"))
        .then(|| asked(at.word(), "the piston or the barrel"))
}

/// "Engine sized": a seizure, misspelt; not a piston that was measured.
fn sized(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "sized").then_some(())?;
    let solid = at.next(1) == "solid" || at.next(1) == "up" && at.next(2) == "solid";
    let engine = listed("engine motor piston", at.back(1))
        && (at.ends(1) || listed("up on at in solid again", at.next(1)));
    let measured = at.next(1) == "at" && at.next(2).starts_with(|c: char| c.is_ascii_digit());
    let of_it = at.of_it() && at.on_the_track();
    ((solid || engine || of_it) && !measured).then(|| asked("sized", THE_ENGINE))
}

/// Ignition that took its spark back because its sensor heard a knock.
fn retarded(at: WordAt<'_>) -> Option<Said> {
    let took = at.word() == "retarded" || at.word() == "pulled" && at.behind("timing degrees deg spark", 4);
    (took && (1..=REACH).any(|by| listed("ecu ecm cdi ignition box", at.back(by))))
        .then(|| asked("spark pulled back", THE_ENGINE))
}

/// A piston or an engine that jammed; not the chain, not the traffic.
fn jammed(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "jammed" && !at.in_clause("traffic open")).then_some(())?;
    let straight =
        at.next(1) == "up" && at.on_the_track() && matches!(at.subject(), Thing::None) && !at.of_a_person();
    (straight || matches!(at.subject(), Thing::Piston)).then(|| asked("jammed", THE_ENGINE))
}

/// A piston that had to be driven out of its barrel, or freed.
fn got_out(at: WordAt<'_>) -> Option<Said> {
    let driven = listed("drifted pressed hammered beat beaten tapped drove knocked", at.word())
        && listed("piston pistons", at.next(2))
        && at.next(3) == "out";
    let freed = listed("freed free", at.word())
        && at.behind("off", REACH)
        && (at.behind("piston engine motor", 2) || at.behind("bar lever flywheel", 8));
    (driven || freed).then(|| asked(at.word(), "the piston or the barrel"))
}

/// A kickstart that meets no compression.
fn soft_kick(at: WordAt<'_>) -> Option<Said> {
    let soft = at.word() == "soft" && at.near("kick kicker kickstart kickstarter", 4);
    let none = at.word() == "no" && at.next(1) == "kick" && at.next(2) == "in";
    (soft || none).then(|| asked("no compression", THE_ENGINE))
}

/// "Went metallic", "a dry noise at the top", "sounded like a tin can".
fn sounded(at: WordAt<'_>) -> Option<Said> {
    let how = "metallic ringing tinny harsh hard dry fizzing";
    let noise = listed(how, at.word())
        && listed("noise sound sounding ring note edge", at.next(1))
        && at.on_the_track();
    let became =
        listed("metallic tinny harsh dry", at.word()) && listed("went sounded sounding sounds", at.back(1));
    let held_open =
        listed("metallic ringing fizzing", at.word()) && listed("at flat", at.next(1)) && at.on_the_track();
    let tin = at.word() == "like" && at.behind("tin", 2) && at.behind("can nails bolts", 4);
    let other = at.in_clause(SOUNDS_TOO) || at.in_clause("suspension tyre tyres track bumps phone ears");
    ((noise || became || held_open || tin) && !other).then(|| asked(at.word(), THE_ENGINE))
}

/// "Tinkling up the hill", "knocky", "gravel noise at the top"; not the chain.
fn heard(at: WordAt<'_>) -> Option<Said> {
    let sound =
        ["tinkl", "clatter", "crackl", "knocky", "pinky"].iter().any(|begins| at.word().starts_with(begins));
    let like =
        listed("gravel marbles nails stones", at.word()) && listed("noise noises sound sounds", at.next(1));
    (sound || like).then_some(())?;
    if at.in_clause(SOUNDS_TOO) || matches!(at.subject(), Thing::Other(_)) {
        let of_another = at.in_clause("radio") || at.near("exhaust pipe silencer", 2);
        return (at.word().starts_with("crackl") && of_another).then_some(Said::Nothing);
    }
    let engine = at.near("engine motor head load", 5) || at.on_the_track();
    let alone = at.words.len() <= REACH || at.word() == "knocky";
    (engine || alone).then(|| asked(at.word(), THE_ENGINE))
}

/// "Heard it pink", "slight pink"; not a pink jersey.
fn pink(at: WordAt<'_>) -> Option<Said> {
    (at.word() == "pink" && !at.in_clause(SOUNDS_TOO)).then_some(())?;
    let heard = at.back(1) == "it" && listed("heard hear made makes", at.back(2))
        || listed("slight light bit slightly audible would will could did does", at.back(1));
    let place = listed("at under in on flat when", at.next(1)) && (at.on_the_track() || at.behind("load", 3));
    (heard || place || at.words.len() == 1).then(|| asked("pink", THE_ENGINE))
}
