//! The words that an outing's notes are searched for, and those that say what they are said of (common practice, no source).

/// How a word begins that says metal touched or melted.
pub(in crate::advice::learning) const SEIZURES: [&str; 47] = [
    "seiz",
    "siez",
    "seaz",
    "seased",
    "sez",
    "seez",
    "saiz",
    "ceiz",
    "siese",
    "siesd",
    "siesur",
    "seese",
    "szd",
    "nipt",
    "niped",
    "nipd",
    "nippd",
    "nip'd",
    "nipp'd",
    "nippp",
    "seis",
    "nipped",
    "holed",
    "grenad",
    "fresser",
    "gefressen",
    "geklemmt",
    "klemmte",
    "grippé",
    "grippée",
    "grippo",
    "gripaj",
    "kolbenfress",
    "kolbenklemm",
    "klemmer",
    "festgefressen",
    "festgegangen",
    "festgebrannt",
    "skurit",
    "leikka",
    "vastgelop",
    "vastlop",
    "serrage",
    "grippat",
    "grippag",
    "gripad",
    "gripó",
];

/// Two words that say so together: "locked up", "stuck solid", "tightened up".
pub(in crate::advice::learning) const IN_TWO_WORDS: [(&str, &[&str]); 26] = [
    ("stopped", &["dead"]),
    ("locked", &["up", "solid"]),
    ("lost", &["compression", "comp"]),
    ("batte", &["in"]),
    ("battito", &["in"]),
    ("piston", &["gone", "stuck", "sticking", "grabbed", "nip"]),
    ("silver", &["specks", "beads", "balls"]),
    ("aluminium", &["on", "beads", "specks"]),
    ("aluminum", &["on", "beads", "specks"]),
    ("ally", &["on", "beads", "specks", "smeared", "transfer"]),
    ("ali", &["beads", "specks", "smeared", "transfer"]),
    ("metal", &["transfer", "beads", "specks"]),
    ("four", &["cornered"]),
    ("pre", &["ignition", "ignited", "ignite", "igniting", "ig"]),
    ("corner", &["marks", "seizure", "scuff", "scuffs", "scuffing"]),
    ("scuffed", &["four"]),
    ("cold", &["nip"]),
    ("stuck", &["solid", "fast"]),
    ("tightened", &["up"]),
    ("nip", &["up"]),
    ("nips", &["up"]),
    ("nipping", &["up"]),
    ("went", &["solid"]),
    ("gone", &["solid"]),
    ("vast", &["gelopen"]),
    ("liep", &["vast"]),
];

/// What a seizure does to the engine, and a spark that went.
pub(in crate::advice::learning) const STOPPED: [&str; 3] = ["stopped dead", "grabbed", "locked"];

/// Words that make a wheel that locked the brake's.
pub(in crate::advice::learning) const BRAKING: &str = "\
    brake brakes braking braked caliper calipers downshift downshifts downshifting downchange downchanging";

/// "Locked in the van" is no wheel and no engine.
pub(in crate::advice::learning) const PUT_AWAY: &str = "in away out off onto together wire wired";

/// How a word begins that says so of a piston or a bore only: of anything else it says nothing.
pub(in crate::advice::learning) const OF_METAL: [&str; 15] = [
    "scuf",
    "skuf",
    "smear",
    "melt",
    "weld",
    "gall",
    "burnt",
    "burned",
    "scor",
    "sandblast",
    "blasted",
    "pitted",
    "eroded",
    "rubbed",
    "rubbing",
];

/// How a word begins that says it was heard.
pub(in crate::advice::learning) const DETONATIONS: [&str; 20] = [
    "preignit", "pinged", "pingin", "pinngi", "pingg", "pings", "pingy", "pingel", "pining", "pinkin",
    "pinked", "pinks", "deton", "detinat", "detenat", "detanat", "deternat", "knockin", "klingel", "cliquet",
];

/// Words before a sign that take it back: "no pinging", "did not seize", "never pinged", "stopped pinging".
pub(in crate::advice::learning) const DENIALS: &str = "no not never without nor neither nothing avoid avoiding prevent against didnt doesnt wasnt isnt zero nowhere";

/// Words that take back only what they stand right before: "stopped pinging"; an engine that "stopped and seized" did.
pub(in crate::advice::learning) const STOPPED_IT: &str = "stopped cured";

/// Words behind a "no" or "not" that are what it denies: "no warning", "not sure", "did not finish".
pub(in crate::advice::learning) const DENIES_ANOTHER: &str = "\
    warning warnings reason idea doubt surprise obvious apparent wonder clue time chance power brakes oil fuel water \
    surprised as so much too big serious bad first zero \
    sure certain clear good right well enough happy finish finished start restart complete make know only idea \
    brake spark luck grip problem problems quite far full fully totally completely proper properly badly";

/// Words that a denial does not count on its way: "no further sign of a seizure".
pub(in crate::advice::learning) const FILLING: &str =
    "sign signs trace traces hint evidence of a an any the more further longer again ever";

/// Words that a denial does not reach over.
pub(in crate::advice::learning) const TURNING: &str =
    "but though only however because until till before when whether if since then after while";

/// How many words a denial may stand before the sign, or a thing behind it.
pub(in crate::advice::learning) const REACH: usize = 3;

/// What seizes, pings or is holed by a lean mixture; a plural s is taken off first.
pub(in crate::advice::learning) const PISTON_AND_ITS_LIKE: &str = "\
    piston slug jug ring land cylinder cyl bore barrel liner skirt crown engine motor bike kart machine mixture power \
    everything pot moteur kolben";

/// Of these, what is never ridden, sent or locked away by somebody.
pub(in crate::advice::learning) const ENGINES: &str =
    "piston slug cylinder cyl bore barrel liner engine motor moteur kolben";

/// Which cylinder of several: alone before a word it stands for one, "left nipped up", "R/H seized".
pub(in crate::advice::learning) const SIDES: &str =
    "left right lefthand righthand l r lh rh h hand side one two three four";

/// What seizes without the mixture's doing.
pub(in crate::advice::learning) const OTHER_THINGS: &str = "\
    gearbox gear transmission bearing bush wheel hub axle spindle chain sprocket brake caliper disc disk \
    drum clutch basket cable lever pedal pump impeller valve thermostat radiator hose pipe silencer tank \
    throttle slide float carburetor carburettor bolt nut screw stud thread fastener spring fork shock damper \
    linkage steering selector shifter kickstart kickstarter starter tyre tire rod fairing footrest crank crankshaft \
    conrod needle reed tap spoke clamp jubilee bracket weld diff differential powervalve leg arm forearm wrist finger neck jaw shoulder knee \
    hamstring calf muscle thigh hands elbow";

/// An end of the connecting rod or the crank: not the top end, which is the piston's.
pub(in crate::advice::learning) const OTHER_ENDS: &str = "big small little bottom rod";

/// Words that may stand between a thing and what is said of it.
pub(in crate::advice::learning) const BETWEEN: &str = "\
    nearly almost just partly slightly lightly completely badly totally suddenly finally really probably \
    maybe perhaps also again twice once has had have was is got been be being may might must could would did \
    to solid hard tight up first s stuck cold four then itself somewhat properly lightly";

/// Words that are no thing: they stand for the engine, or for nothing.
pub(in crate::advice::learning) const NO_THINGS: &str = "\
    it she he we i they that this which the a an my our its his her one another second third fourth fifth \
    sixth when where while as if because so of on in at after by with from for under over lap laps straight \
    corner turn hairpin chicane hill jump race heat practice session start grid finish line run end throttle \
    rpm today yesterday morning minutes minute feared felt heard sign signs thought rider";

/// Words before "gear" or "throttle" that make them a place on the track and no thing: "top gear", "half throttle".
pub(in crate::advice::learning) const HOW_FAR: &str = "\
    full wide open half quarter quarters eighth part low small closed top first second third fourth fifth \
    sixth";

/// Words that join what happened to one thing with what happened to another, or to the same.
pub(in crate::advice::learning) const JOINING: &str = "and then but before until or plus";

/// Words between a denial and a sign that turn it round: "no jet stopped the pinging".
pub(in crate::advice::learning) const STOPPING: &str = "\
    stop stops stopping stopped cure cures cured fix fixes fixed rid";

/// What tells that stopping or avoiding it was not done.
pub(in crate::advice::learning) const IN_VAIN: &str =
    "hard impossible unable failed fails tried tries trying struggled struggling still";

/// Words behind a sign whose denial denies how much: "not pinging as badly", "did not seize solid".
pub(in crate::advice::learning) const NOT_SO_MUCH: &str =
    "much badly bad completely totally fully solid properly hard often loud loudly quite";

/// Words behind a sign that end what it may be said of: "seized on the straight".
pub(in crate::advice::learning) const PREPOSITIONS: &str = "\
    on in at under after when into before with by near past coming while during from for because and but \
    then out as";

/// Words that announce a thing.
pub(in crate::advice::learning) const ARTICLES: &str = "the a an my our its his her";

/// "Nipped inside" is riding, not metal, and so is "holed up".
pub(in crate::advice::learning) const RIDING: [(&str, &[&str]); 4] = [
    ("nipped", &["past", "inside", "through", "ahead", "by", "round", "around", "into", "out", "home", "to"]),
    ("holed", &["up"]),
    ("ping", &["pong"]),
    ("went solid", &["grey", "white"]),
];

/// What a rider seizes.
pub(in crate::advice::learning) const SEIZED_BY_HAND: &str =
    "lead place position chance opportunity moment initiative gap victory win advantage control pole";

/// Of these and of a day, what tells when it seized where something follows: "seized the moment I opened it".
pub(in crate::advice::learning) const SEIZED_WHEN: &str = "day moment chance";

/// What follows a thing that a rider seized.
pub(in crate::advice::learning) const BEHIND_A_LEAD: &str =
    "and to on at in with when of for into from by off over as again";

/// What may stand before it: "seized the early lead", "seized second place".
pub(in crate::advice::learning) const BEFORE_A_LEAD: &str = "\
    early late big first second third fourth fifth sixth 2nd 3rd 4th 5th 6th last only race overall championship narrow podium top golden it \
    one";

/// The same, where it is what is seized and not when or where: "seized the day".
pub(in crate::advice::learning) const SEIZED_ITSELF: &str = "day inside outside momentum";

/// Whether a word, or it without its plural s, is in a list.
pub(super) fn is_in(list: &str, word: &str) -> bool {
    listed(list, word) || word.strip_suffix('s').is_some_and(|one| listed(list, one))
}

/// Whether a word is in a list.
pub(super) fn listed(list: &str, word: &str) -> bool {
    list.split_ascii_whitespace().any(|one| one == word)
}
