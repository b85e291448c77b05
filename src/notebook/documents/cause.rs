//! What is written down as the cause of a lean run: a fault that can be mended, or the jetting itself. "Main jet too small" mends
//! nothing: the engine is as it was, and wants more fuel than that run had (common practice, no source).

/// Words that stand for the jetting or for the mixture.
const JETTING: &str = "\
    mager duese düse hauptdüse jet jets jetting jetted rejet rejetted main mains needle clip groove pilot screw airscrew mixture trim map \
    mapping lean leaner headwind tailwind wind windy uphill load gearing geared slipstream temp temperature temperatures weather altitude humidity barometer cooler leaned weak small enough size sizes cold colder dense denser carburation carburetion";

/// How words begin that name a fault, or a part that has one: with one of them a jet is meant that was blocked or fell out.
const FAULTS: &str = "\
    block clog dirt debris sand grit water rust leak loose fell fall came come crack broke break split worn wear \
    bent stuck stick seal gasket bearing hose line tap filter pump float valve reed tank vent breather kink pinch \
    missing lost burst hole vacuum cable slide sensor injector ignition spark timing advance coil pickup \
    petrol octane coolant pipe silencer manifold rubber boot crank warmed warming revved";

/// Whether a cause names the jetting and no fault.
pub(super) fn is_the_jetting(cause: &str) -> bool {
    let words = words(cause);
    let pair = |one: &str, two: &str| words.windows(2).any(|pair| pair[0] == one && pair[1] == two);
    let too_little = pair("not", "enough") || pair("more", "fuel") || pair("more", "petrol");
    too_little || (words.iter().any(|word| is_jetting(word)) && !words.iter().any(|word| is_fault(word)))
}

/// Whether what was mended is only that it was jetted richer: the fault, whatever it is, is still there.
pub(super) fn is_only_richer(mended: &str) -> bool {
    const RICHER: &str = "jetted rejetted richer rich size sizes";
    let words = words(mended);
    let numbered = words.windows(2).any(|pair| {
        ["main", "jet"].contains(&pair[0].as_str()) && pair[1].chars().all(|letter| letter.is_ascii_digit())
    });
    let richer = words.iter().any(|word| RICHER.split_ascii_whitespace().any(|one| one == word));
    (numbered || richer) && !words.iter().any(|word| is_fault(word))
}

/// Whether a cause says no more than that it was not the engine, and perhaps what it was: "not the engine", "not the engine: the rear brake".
pub(super) fn is_not_the_engine(cause: &str) -> bool {
    let first = cause.split([',', ';', ':', '.', '(']).next().unwrap_or_default();
    let words = words(first);
    let words: Vec<&str> =
        words.iter().map(String::as_str).filter(|word| *word != "it" && *word != "was").collect();
    let engine = |name: &str| ["engine", "motor", "piston"].contains(&name);
    matches!(words.as_slice(), ["not", "the", name] if engine(name))
}

fn words(text: &str) -> Vec<String> {
    let words = text.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect()
}

fn is_fault(word: &str) -> bool {
    FAULTS.split_ascii_whitespace().any(|fault| word.starts_with(fault))
}

fn is_jetting(word: &str) -> bool {
    JETTING.split_ascii_whitespace().any(|jetting| word == jetting)
}

/// Words that say there is nothing to say.
const NOTHING: &str = "unknown unclear unsure dunno nothing none na tbd tba todo later yet";

/// Words that do so behind a no: "no idea", "don't know".
const KNOWING: &str = "know known knows sure idea clue found find checked look looked";
const NO: &str = "no not dont don never isn couldn cannot";

/// Words behind a no that deny a fault by its name: "no air leak found".
const SEEN: &str = "found find seen evidence sign signs trace";

/// Words that name what stopped, or what every engine has, and no fault in it: alone they are no cause.
const WHAT_STOPPED: &str = "\
    fuel gas gasoline engine motor piston pistons cylinder cylinders ring rings bore barrel carb carbs carburetor \
    carburettor seized seizure seize nipped locked up heat hot overheated weather rider me luck bad it was the a an too old age see cause scored score scuffed scuff error mistake and";

/// Words of a guess, or of what is still to be done.
const STILL_OPEN: &str = "\
    maybe perhaps possibly probably probable likely guess guessed guessing assume assumed think thought might could suspected \
    suspect looking will next coming need tomorrow tonight soon should must needs todo";

/// What is on its way; with work behind it, it has come.
const ON_ITS_WAY: &str = "order ordered ordering booked waiting waited post delivered";

/// How words begin that name what can make an engine lean or hot, or bind it: with none of them, and no fault, nothing is named.
const PARTS: &str = "\
    seal gasket oring ring jet float needle valve tap filter hose line pump tank vent breather fuel petrol gas octane oil premix mix \
    spark plug ignition timing advance coil cdi stator pickup sensor injector injection rail regulator map ecu piston clearance \
    bore barrel cylinder liner plating pin circlip end bearing crank case reed petal cage manifold flange boot rubber sleeve stub intake inlet \
    carb throttle slide bowl pipe exhaust silencer stinger baffle coolant water radiator thermostat impeller head squish \
    compression deck stud nut cable powervalve rotor flywheel woodruff weir choke enrich pilot main battery wire earth \
    connector plenum airbox lock power idler diaphragm solenoid spring air vacuum warm cold heat chamfer bridge port debris dirt";

/// What makes no engine lean, whatever happened to it; a plural s is taken off first.
const NO_PARTS: &str = "\
    chain sprocket tyre tire brake caliper disc clutch handlebar fork shock suspension fairing footrest seat lever wheel axle hub \
    gearbox helmet visor rider luck";

/// Parts that are not known to be good when they were in use before; a plural s is taken off first.
const FITTED_AGAIN: &str =
    "seal gasket ring piston bearing reed one ones part carb barrel cylinder liner plug hose jet float pump";

/// Words that a part is well, and how words begin that it is not.
const WELL: &str = "ok okay fine good sound healthy";
const ILL: &str = "\
    leak block clog dirt debris sand grit water rust worn wear broke break crack split loose fell bent stuck stick burst hole pinch kink \
    missing lost old wrong fail torn dry empty";

/// Words of what is still to be done, or did not help, whatever else is said.
const NOT_DONE: &str = "\
    still failed fails leaks drips weeps arrives arrive arriving arrived tbc planned plan plans planning bodge bodged bodging tape taped \
    temporary temporarily half halfway partly unfinished monday tuesday wednesday thursday friday saturday sunday ongoing pending";

/// Words of work that was done.
const WORK: &str = "\
    fitted replaced renewed changed swapped installed cleaned blown bored honed sealed resealed welded soldered repaired fixed mended \
    flushed rebuilt tightened glued drained cleared unblocked adjusted reset straightened refilled torqued lapped skimmed set routed \
    replated plated machined pressed swap replace replacing repacked reworked opened enlarged cured sorted done refitted removed \
    freed unstuck topped filled bled retarded later retimed timed renewing bonded brazed soldered sleeved dressed deburred relieved \
    chamfered shimmed ordered-in secured wired clamped retightened reassembled lockwired loctited siliconed lubricated";

/// Words that say only that a thing was looked at, or bought.
const LOOKED: &str = "ok okay fine good same looked checked inspected bought purchased";

/// Where a part lies that is not on the bike yet.
const LIES_IN: &str = "van box drawer shop stock post mail bag car toolbox store stores shed";

/// Whether what was written down as mended is not done: bought, planned, looked at, or tried and of no help.
pub(super) fn is_not_done(mended: &str) -> bool {
    let words = words(mended);
    let is = |list: &str, word: &String| list.split_ascii_whitespace().any(|one| one == word);
    let any = |list: &str| words.iter().any(|word| is(list, word));
    let pair = |one: &str, two: &str| words.windows(2).any(|pair| pair[0] == one && pair[1] == two);
    let is_new = words.iter().any(|word| ["new", "fresh"].contains(&word.as_str()));
    let worked = any(WORK);
    // "Fitted the old one back", "looked fine, put back".
    let old = !is_new && words.iter().any(|word| word == "old") && words.iter().any(|word| word == "back");
    let left = words.iter().position(|word| word == "left").is_some_and(|at| {
        let next = words.get(at + 1).map(String::as_str);
        next.is_none_or(|next| ["it", "as", "alone", "for", "that", "them"].contains(&next))
    });
    let lies = (pair("in", "the") || pair("in", "my") || pair("in", "stock")) && any(LIES_IN);
    let only_looked = any(LOOKED) && !worked && !is_new;
    let beginning = |list: &str, word: &str| list.split_ascii_whitespace().any(|one| word.starts_with(one));
    // "A used seal", "second-hand piston": what it is worth nobody knows.
    let used = !is_new
        && words.iter().enumerate().any(|(at, word)| {
            let part = words.get(at + 1).is_some_and(|next| is_one(FITTED_AGAIN, next));
            let used = ["used", "secondhand", "old", "same"].contains(&word.as_str());
            part && (used || word == "hand" && at > 0 && words[at - 1] == "second")
        });
    let again = words.windows(2).any(|pair| pair[1] == "again" && beginning(ILL, &pair[0]));
    let ends_ill =
        words.last().is_some_and(|last| ["leaking", "leaky", "dripping", "weeping"].contains(&last.as_str()));
    let says_what = worked || is_new || words.iter().any(|word| beginning(PARTS, word));
    let bought = ["bought", "purchased"].iter().any(|bought| words.iter().any(|word| word == bought));
    any(NOT_DONE)
        || used
        || again
        || ends_ill
        || !says_what
        || old
        || left
        || only_looked
        || (lies || bought) && !worked
        || words.iter().all(|word| is("put back again as was it", word))
}

/// Whether a cause says only that parts were found well: "crank seal ok".
pub(super) fn says_well(cause: &str) -> bool {
    let words = words(cause);
    let well = words.iter().any(|word| WELL.split_ascii_whitespace().any(|one| one == word));
    well && !words.iter().any(|word| ILL.split_ascii_whitespace().any(|ill| word.starts_with(ill)))
}

/// Whether a cause names nothing that makes an engine lean or hot, or binds it: "headwind", "chain", "gremlins".
pub(super) fn names_nothing(cause: &str) -> bool {
    let words = words(cause);
    let part = |word: &String| {
        let is_other = is_one(NO_PARTS, word);
        !is_other && PARTS.split_ascii_whitespace().any(|part| word.starts_with(part))
    };
    let of_another = words.iter().any(|word| is_one(NO_PARTS, word));
    let fault = words.iter().any(|word| is_fault(word) || is_jetting(word));
    !words.iter().any(part) && (of_another || !fault)
}

/// Whether a cause names only the piston, which is what stopped, and no fault in it.
pub(super) fn is_only_the_piston(cause: &str) -> bool {
    let words = words(cause);
    let all = words.iter().all(|word| ["the", "piston", "pistons", "ring", "rings"].contains(&word.as_str()));
    all && !words.is_empty()
}

/// Whether a cause names only the fuel, and not what was wrong with it: "bad fuel".
pub(super) fn is_only_the_fuel(cause: &str) -> bool {
    let words = words(cause);
    let fuel = |word: &String| ["fuel", "petrol", "gas", "gasoline"].contains(&word.as_str());
    let all =
        words.iter().all(|word| fuel(word) || ["the", "bad", "poor", "it", "was"].contains(&word.as_str()));
    all && words.iter().any(fuel)
}

/// Whether a word, or it without its plural s, is in a list.
fn is_one(list: &str, word: &str) -> bool {
    list.split_ascii_whitespace().any(|one| word == one || word.strip_suffix('s') == Some(one))
}

/// Whether a cause, or what was mended, says that none was found, or is a guess.
pub(super) fn says_nothing(text: &str) -> bool {
    if text.contains('?') || is_not_the_engine(text) {
        return true;
    }
    let words = words(text);
    let any = |list: &str| words.iter().any(|word| list.split_ascii_whitespace().any(|one| one == word));
    let named = words.iter().any(|word| is_fault(word)) || words.iter().any(|word| is_jetting(word));
    let pair = |one: &str, two: &str| words.windows(2).any(|pair| pair[0] == one && pair[1] == two);
    let denied = [
        "mended", "checked", "the", "yet", "done", "fixed", "replaced", "changed", "renewed", "found",
        "bought", "fitted", "repaired",
    ]
    .iter()
    .any(|word| pair("not", word))
        || words.iter().all(|word| word.chars().count() < 2)
        || pair("to", "do")
        || pair("to", "be")
        || pair("have", "to")
        || pair("has", "to")
        || pair("got", "to")
        || pair("nothing", "found")
        || words == ["no"]
        || (words.iter().any(|word| word == "no") && any(SEEN));
    let way = words.iter().rposition(|word| ON_ITS_WAY.split_ascii_whitespace().any(|one| one == word));
    let is_work = |word: &String| WORK.split_ascii_whitespace().any(|one| one == word);
    // "Ordered and fitted": it has come.
    let on_its_way = way.is_some_and(|way| !words.iter().skip(way + 1).any(is_work));
    let all = |list: &str| words.iter().all(|word| list.split_ascii_whitespace().any(|one| one == word));
    any(STILL_OPEN)
        || on_its_way
        || (!named && all(WHAT_STOPPED))
        || denied
        || !named && (words.is_empty() || any(NOTHING) || (any(KNOWING) && any(NO)))
}

#[cfg(test)]
mod tests {
    use super::{
        is_not_done, is_not_the_engine, is_only_richer, is_only_the_fuel, is_only_the_piston, is_the_jetting,
        names_nothing, says_nothing, says_well,
    };

    #[test]
    fn what_is_bought_planned_or_bodged_is_not_mended() {
        for text in [
            "new seal, still leaks",
            "swapped seal, leak test failed",
            "cleaned but still drips",
            "new one arrives tuesday",
            "bought new seals",
            "new seal in the van",
            "left it",
            "looked fine, put back",
            "fitted the old one back",
            "checked, all fine",
            "same again",
            "half done",
            "tbc",
            "planned for winter",
            "bodged with tape",
            "ok",
            "drained, still to buy fresh",
            "put it back",
            "all good",
            "left as it was",
            "leaking again",
            "seal leaking again",
            "prayed",
            "used seal fitted",
            "fitted a second-hand piston",
            "same seal back in",
            "crossed fingers",
            "waited for it to cool",
            "had a beer",
            "new seal fitted, still leaking",
        ] {
            assert!(is_not_done(text), "{text}");
        }
        for text in [
            "new seal",
            "both seals new",
            "left crank seal replaced",
            "bought and fitted new seals",
            "new seal fitted in the van",
            "old seal out, new one in",
            "jet blown out",
            "cleaned, leak test good",
            "leaking seal replaced, all fine now",
            "bored",
            "done",
            "fine filter fitted",
            "tank drained, fresh fuel",
            "air leak sealed",
            "new seal ordered and fitted",
            "ordered and fitted new seals",
            "piston and rings",
            "used sealant on the manifold, tightened",
            "barrel replated, new piston",
            "carb rubber clamped",
            "timing retarded 2 degrees",
        ] {
            assert!(!is_not_done(text), "{text}");
        }
    }

    #[test]
    fn parts_that_are_well_are_no_cause() {
        for text in ["crank seal ok, carb ok", "seals fine", "reeds good"] {
            assert!(says_well(text), "{text}");
        }
        for text in ["crank seal leaking, carb ok", "left seal worn, right one good", "air leak"] {
            assert!(!says_well(text), "{text}");
        }
    }

    #[test]
    fn what_makes_no_engine_lean_is_no_cause() {
        for text in
            ["chain", "chain broke", "gremlins", "karma", "rear brake", "Steve", "the tyres", "the clutch"]
        {
            assert!(names_nothing(text), "{text}");
        }
        for text in [
            "crank seal",
            "air leak",
            "float stuck",
            "old petrol",
            "wrong plug",
            "piston too tight",
            "circlip came out",
            "reed petal chipped",
            "no oil in the mix",
            "gearbox seal leaking",
            "rider revved it cold",
            "Half a degree too much spark on the straight",
            "water pump",
            "coolant low",
            "tank vent kinked",
        ] {
            assert!(!names_nothing(text), "{text}");
        }
        assert!(
            is_the_jetting("headwind")
                && is_only_the_piston("the piston")
                && !is_only_the_piston("piston tight")
        );
    }

    #[test]
    fn not_the_engine_is_an_answer_and_no_more() {
        for text in
            ["not the engine", "Not the engine.", "it was not the piston", "not the engine: the rear brake"]
        {
            assert!(is_not_the_engine(text), "{text}");
            assert!(says_nothing(text), "{text}");
        }
        for text in
            ["not the engine's fault", "float stuck", "the engine", "not the engine but the float stuck", ""]
        {
            assert!(!is_not_the_engine(text), "{text}");
        }
    }

    #[test]
    fn no_idea_is_no_cause() {
        for text in [
            "dont know",
            "Don't know.",
            "no idea",
            "nothing yet",
            "?",
            "unknown",
            "not found",
            "none",
            "maybe air leak",
            "air leak suspected",
            "to be mended",
            "not mended",
            "still looking",
            "fuel",
            "it seized",
            "bad luck",
            "too hot",
            "we could not find it",
            "crank seal? not checked",
            "not the crank seal",
            "n/a",
            "x",
            "ordered a new seal",
            "to do",
            "tomorrow",
            "seal is on order",
            "see cause",
            "new seal next week",
            "seal in the post",
            "waiting for a seal",
            "old age",
            "seal not replaced",
            "have to buy one",
            "air leak?",
            "probably crank seal",
            "crank seal most likely",
            "could be the seal",
            "no air leak found",
            "no sign of a leak",
            "cylinder scored, rider error",
            "seal ordered",
            "ordered, will be fitted on friday",
        ] {
            assert!(says_nothing(text), "{text}");
        }
        for text in [
            "crank seal leaked",
            "new seal",
            "nothing but the seal",
            "main jet too small",
            "old petrol",
            "wrong fuel in the can",
            "new piston",
            "bored",
            "air leak found at the reed block",
            "rider ran out of petrol: tap closed",
        ] {
            assert!(!says_nothing(text), "{text}");
        }
    }

    #[test]
    fn a_fault_is_not_mended_by_jetting_up() {
        for mended in ["jetted up", "main 178", "two sizes up", "richer"] {
            assert!(is_only_richer(mended), "{mended}");
        }
        for mended in ["both seals new", "jet blown out", "new main jet", "seal new, and jetted up"] {
            assert!(!is_only_richer(mended), "{mended}");
        }
    }

    #[test]
    fn fuel_alone_is_asked_what_was_wrong_with_it() {
        for cause in ["bad fuel", "Fuel", "the petrol was bad"] {
            assert!(is_only_the_fuel(cause), "{cause}");
        }
        for cause in ["stale fuel", "water in the fuel", "wrong fuel can", "fuel line split", "bad"] {
            assert!(!is_only_the_fuel(cause), "{cause}");
        }
    }

    #[test]
    fn a_jet_that_was_too_small_is_the_jetting_and_one_that_was_blocked_is_not() {
        for cause in [
            "main jet too small",
            "Main 174 was one too few",
            "needle clip too high up",
            "pilot screw too far out",
            "mixture too lean for the cold",
            "too lean",
            "fuel map too weak at 9000",
            "needed more fuel",
            "not enough petrol",
            "zu mager",
            "air temp dropped",
            "colder weather",
        ] {
            assert!(is_the_jetting(cause), "{cause}");
        }
        for cause in [
            "main jet blocked",
            "dirt in the pilot jet",
            "the clip came off the needle",
            "crank seal leaked, so it ran lean",
            "main bearing seal",
            "float stuck",
            "main jet fell out",
            "ignition map of the other engine",
            "wrong fuel in the can",
            "air leak",
            "rider revved it cold",
            "not warmed up",
            "",
        ] {
            assert!(!is_the_jetting(cause), "{cause}");
        }
    }
}
