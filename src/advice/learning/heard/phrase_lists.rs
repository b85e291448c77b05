//! The words that tell whether a phrase of the paddock is said of the engine, or of riding, of the track, of the weather, of a pen
//! (common practice, no source).

/// People: what they do is no engine's doing.
pub(in crate::advice::learning) const PERSONS: &str = "\
    i we he they you who rider riders driver someone somebody everyone everybody mechanic crew lads lad mate dad \
    son guy him them us";

/// Where and when an engine is held open, or is nursed.
pub(in crate::advice::learning) const AT_SPEED: &str = "\
    straight straights lap laps flat full top wot throttle revs rpm speed sixth fifth fourth overrun downhill \
    uphill hill tucked peak minutes km gerade droite";

/// Where a rider, and no piston, gets tight.
pub(in crate::advice::learning) const ON_THE_WAY: &str = "\
    turn turns corner corners hairpin chicane start pack traffic bend bends finish first race field kerb line \
    inside gap time schedule budget money clearance space gate";

/// How much: it may stand between "went" and "tight".
pub(in crate::advice::learning) const HOW_MUCH: &str =
    "a bit little very really slightly quite so too rather all pretty";

/// What is tight without seizing.
pub(in crate::advice::learning) const TIGHT_THINGS: &str = "\
    corner turn bend hairpin track field race racing battle fight line section infield chicane circuit gap \
    schedule finish pack bunch fit clearance squish tolerance budget chain gearbox course loop start radius spot \
    side squeeze twisty twisties bearing nut bolt collar on-the";

/// What "stuck in" is followed by where it is no piston.
pub(in crate::advice::learning) const STUCK_IN: &str = "\
    traffic mud sand gravel gear gears snow ditch neutral rut ruts queue pack van trailer plan guns pits paddock \
    scrutineering wall bank hedge fence barrier tree lift jam border hotel hospital grass field tyres pole";

/// What freezes in the cold.
pub(in crate::advice::learning) const COLD: &str = "\
    cold night overnight morning paddock van frost ground degrees winter snow ice icy weather tent rain wind \
    outside waiting coffee";

/// What freezes, sticks, tightens or lets go and is no engine; a plural s is taken off first.
pub(in crate::advice::learning) const NO_ENGINE: &str = "\
    screen laptop phone logger app video camera computer tablet dash display timer finger hand foot feet toe water \
    ground tap lock door visor helmet goggle glove boot zip sticker plate tape glue field track corner turn line \
    pack race gap racing competition rule schedule rear front back grip traction crank crankshaft conrod bearing \
    subframe frame footrest peg grommet sensor wire key nut float needle slide reed dial gauge stopwatch watch \
    leg arm wrist forearm calf pump clip window gate tailgate wind tent awning gazebo balloon lift suspension";

/// What else will not turn.
pub(in crate::advice::learning) const TURNS_TOO: &str = "\
    battery key tap handle knob page wrist throttle wheel handlebar bars van lorry car truck nut tyre generator steering";

/// Why an engine stops that has not seized.
pub(in crate::advice::learning) const WHY_IT_STOPPED: &str = "\
    petrol fuel gas tap kill button spark plug coil chain cap wire lead lanyard ignition switch stalled reserve flag";

/// On what metal picks up, or is marked.
pub(in crate::advice::learning) const ON_A_PISTON: &str = "\
    exhaust inlet intake transfer skirt piston pistons bore liner crown barrel cylinder ring rings";

/// What picks up or is marked; a plural s is taken off first.
pub(in crate::advice::learning) const METAL: &str = "piston bore ring cylinder barrel skirt liner crown";

/// What makes a mark a mechanic's.
pub(in crate::advice::learning) const WITH_A_PEN: &str = "\
    pen paint painted marker scribe scribed felt pencil dot punch tippex tag sticker number numbers letter timing \
    tdc degrees position height level machining honing hone wash tool carbon date name chalk";

/// What has a lock.
pub(in crate::advice::learning) const HAS_A_LOCK: &str =
    "door doors gate gates paddock garage office trailer van lorry box container toolbox shed loaded";

/// Words behind "knocked" that make it a blow.
pub(in crate::advice::learning) const KNOCKED: &str = "\
    off over down out a the him her it into two three my his about back loose by around away tenths half aside \
    myself another one";

/// Parts of a plug.
pub(in crate::advice::learning) const PLUG: &str =
    "plug plugs electrode electrodes insulator porcelain strap nose";

/// Words that may say so together, for a page that cannot weigh a sentence.
pub(in crate::advice::learning) const ON_A_PAGE: [(&str, &[&str]); 24] = [
    ("tight", &["went", "goes", "going", "gone", "again", "engine", "motor", "straight", "side"]),
    ("tightened", &["it", "engine", "motor", "straight", "lap", "twice"]),
    ("tightening", &["it", "engine", "motor", "straight"]),
    ("stuck", &["it", "engine", "motor", "piston", "straight", "momentarily", "briefly", "lap"]),
    ("froze", &["it", "engine", "motor", "piston", "straight"]),
    ("turn", &["over", "cool"]),
    ("slowed", &["itself"]),
    ("engine", &["binding", "grabbed", "locked", "stopped", "blew", "rattling"]),
    ("motor", &["binding", "grabbed", "locked", "stopped", "blew", "rattling"]),
    ("grabbed", &["it", "straight", "overrun"]),
    ("wheel", &["locked"]),
    ("compression", &["no", "gone", "lost"]),
    ("picked", &["exhaust", "inlet", "skirt", "piston", "bore", "barrel"]),
    ("marked", &["piston", "bore", "barrel", "cylinder"]),
    ("piston", &["lost", "kissed", "sandblasted", "pitted"]),
    ("crown", &["sandblasted", "pitted"]),
    ("hole", &["burnt", "burned", "melted"]),
    ("blew", &["up"]),
    ("let", &["go"]),
    ("rattling", &["nails", "marbles", "straight", "full"]),
    ("plug", &["pepper", "peppered", "specks"]),
    ("white", &["blistered", "glazed"]),
    ("slight", &["nip", "knock", "ping"]),
    ("heard", &["ping", "knock", "detting"]),
];
