//! The words that tell whether a phrase of the paddock is said of the engine, or of riding, of the track, of the weather, of a pen
//! (common practice, no source).

/// People: what they do is no engine's doing.
pub(in crate::advice::learning) const PERSONS: &str = "\
    i we he they you who rider riders driver someone somebody everyone everybody mechanic crew lads lad mate dad \
    son guy him them us";

/// Where and when an engine is held open, or is nursed.
pub(in crate::advice::learning) const AT_SPEED: &str = "\
    straight straights stretch chute lap laps flat full top wot throttle revs rpm speed sixth fifth fourth overrun downhill \
    uphill hill tucked peak 6th 5th 4th minutes km gerade droite";

/// Where a rider, and no piston, gets tight.
pub(in crate::advice::learning) const ON_THE_WAY: &str = "\
    turn turns corner corners hairpin chicane start pack traffic bend bends finish first race field kerb line \
    inside gap time schedule budget money clearance space gate points standings championship";

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
    tacho tach counter subframe frame footrest peg grommet sensor wire key nut float needle slide reed dial gauge stopwatch watch \
    leg arm wrist forearm calf pump clip window gate tailgate wind tent awning gazebo balloon lift suspension change gearchange shift quickshifter shifter";

/// What else will not turn.
pub(in crate::advice::learning) const TURNS_TOO: &str = "\
    battery key tap handle knob page wrist throttle wheel handlebar bars van lorry car truck nut tyre generator steering";

/// Why an engine stops that has not seized.
pub(in crate::advice::learning) const WHY_IT_STOPPED: &str = "\
    petrol fuel gas tap kill button spark plug coil chain cap wire lead lanyard ignition switch stalled reserve flag";

/// On what metal picks up, or is marked.
pub(in crate::advice::learning) const ON_A_PISTON: &str = "\
    exhaust inlet intake transfer thrust skirt piston pistons bore liner crown barrel cylinder ring rings bridge ports";

/// What is in a combustion chamber, and is hammered or eaten away there; a plural s is taken off first.
pub(in crate::advice::learning) const IN_THE_HEAD: &str = "squish dome land edge chamber";

/// How much, behind a word like "tied up" or "pinged": no thing that it is done to.
pub(in crate::advice::learning) const HOW: &str = "\
    a bit little lot lots badly slightly solid completely again twice once hard momentarily briefly then properly big time";

/// What else pings.
pub(in crate::advice::learning) const PINGS_TOO: &str = "\
    beam transponder loop bell phone radio app timer text message sonar lights";

/// What somebody pings, with an article before it; a plural s is taken off first.
pub(in crate::advice::learning) const IS_PINGED: &str = "\
    bell marshal email mail message text photo stone screen steward office crew mate phone file link cone kerb beam loop lad guy \
    transponder stopwatch watch";

/// What a counter of detonation says just behind it that counted none, or what is done with it.
pub(in crate::advice::learning) const COUNTED_NONE: &str = "\
    zero 0 off never nothing nil quiet silent clear clean none fine ok fitted new bought dead broken borrowed works working \
    calibrated tested checked home van shop";

/// What it says that counted some.
pub(in crate::advice::learning) const COUNTED_SOME: &str = "\
    mad lit flashing flashed flashes flickering flickered flickers blinked blinking jumped climbed climbing high double until till but \
    except then";

/// What is said of one that was not on the bike.
pub(in crate::advice::learning) const NOT_COUNTING: &str = "new fitted bought borrowed forgot left lost lent";

/// Behind pinging that is gone: how far and since when. Anything else may be where it is gone, and where it is not.
pub(in crate::advice::learning) const GONE: &str = "\
    now away completely entirely altogether totally at last today for good since with the a new richer bigger better fresh race octane \
    main jet fuel";

/// What tells that it is back, or that somebody is.
pub(in crate::advice::learning) const BACK_AGAIN: &str =
    "back again returned returns came comes still until till but except when if only then";

/// Where a rider nips to; an engine nips there too, so it matters what follows.
pub(in crate::advice::learning) const NIPPED_PAST: &str = "\
    him them her off back under between ahead across past inside through by round around into out";

/// How much of a nip it was, or how often.
pub(in crate::advice::learning) const A_NIP: &str = "a slight small little light another mild bit hot full proper quick tiny wee mini micro teeny big bad serious real first only just";

/// Whom a rider nips past, or what for; a plural s is taken off first.
pub(in crate::advice::learning) const NIPPED_BY: &str = "\
    him them her us me everyone everybody leader pack rider rival kart bike pair field group backmarker traffic inside outside \
    pits brew shop lunch tea petrol fuel number numbers his their nose van loo";

/// Where it is that an engine, or a rider, nips past or through something: that is asked.
pub(in crate::advice::learning) const PLACES: &str = "\
    pit pits box boxes paddock board line start finish flag marshal post tower bridge kink esses chicane hairpin corner back zone tunnel \
    grandstand stand stands wall circuit track gate";

/// What follows "past" or "through" where nobody is named that was passed.
pub(in crate::advice::learning) const NO_OBJECT: &str = "at on in for into before and by between when";

/// What a rider nips to, into or across, or in whose slipstream.
pub(in crate::advice::learning) const NIPPED_TO: &str = "\
    lead gap slipstream draft grid front second third fourth fifth sixth 2nd 3rd place position home order tenth flag ahead grass \
    scrutineering lunch early infield line office shop van control";

/// What an engine nips under, off or between.
pub(in crate::advice::learning) const UNDER_LOAD: &str = "\
    load full power throttle revs rpm song boil pipe noise flat top sixth fifth pressure acceleration thousand straight gas peak";

/// Where it is that something happens "in front of".
pub(in crate::advice::learning) const IN_FRONT_OF: &str =
    "pits pit box boxes garage grandstand stand stands tower crowd paddock start finish";

/// What else goes bang, and where somebody does.
pub(in crate::advice::learning) const BANGS_TOO: &str = "\
    wall barrier tyre tyres tire tires crash crashed highside highsided door gun starter backfire backfired pipe exhaust time kerb hay bale";

/// What an engine is called that runs no more.
pub(in crate::advice::learning) const WRECKED: &str = "\
    stuffed rooted buggered knackered cactus kaput toast scrap ruined wrecked destroyed dead failed failure finito shot fubar \
    dnf toasted cooked fried trashed munted goosed trash gone";

/// What an engine fails that runs well.
pub(in crate::advice::learning) const FAILED_IT: &str = "scrutineering tech noise inspection sound to";

/// What is done to one.
pub(in crate::advice::learning) const RUINED: &str = "\
    lunched ate eaten toasted roasted torched nuked trashed wrecked destroyed killed fragged shelled scattered chewed munted munched \
    burnt burned ruined smoked cooked fried";

/// What else squeals.
pub(in crate::advice::learning) const SQUEALS_TOO: &str = "\
    brake brakes disc discs pad pads caliper tyre tyres tire tires belt bearing front rear chain clutch-basket kids";

/// Why a clutch is pulled that is no seizure.
pub(in crate::advice::learning) const WHY_CLUTCHED: &str = "\
    plug chop flag start corner hairpin gear gears gearbox missed neutral crash crashed fell stall stalled traffic brake braking \
    basket plates slipped slipping dragging dragged cable lever adjusted new colour";

/// What else is scuffed or smeared, and who scores.
pub(in crate::advice::learning) const SCUFFS_TOO: &str = "\
    tyre tyres tire tires slick slicks boot boots leathers knee slider sliders fairing paint peg footrest helmet visor points \
    glove gloves elbow screen sticker bodywork wheel rim seat grease tread laps front rear";

/// What tells that a rider froze, and no piston.
pub(in crate::advice::learning) const FROZE_TOO: &str =
    "numb fingers hands toes feet grid lights reaction startline launch interview";

/// Parts of a plug that are eaten away or break.
pub(in crate::advice::learning) const OF_A_PLUG: &str =
    "electrode electrodes insulator porcelain strap nose ceramic tip";

/// How they are called then.
pub(in crate::advice::learning) const EATEN: &str = "\
    gone missing burnt burned eaten eroded cracked broken broke split chipped vanished disappeared away";

/// What a good plug has, whatever is white on it.
pub(in crate::advice::learning) const GOOD_COLOUR: &str =
    "tan brown biscuit coffee chocolate toast caramel smoke residue new fresh";

/// What picks up or is marked; a plural s is taken off first.
pub(in crate::advice::learning) const METAL: &str =
    "piston slug jug bore ring cylinder barrel skirt liner crown";

/// What makes a mark a mechanic's.
pub(in crate::advice::learning) const WITH_A_PEN: &str = "\
    pen paint painted marker scribe scribed felt pencil dot punch tippex tag sticker number numbers letter timing \
    tdc degrees position height level machining honing hone wash tool carbon date name chalk";

/// What has a lock.
pub(in crate::advice::learning) const HAS_A_LOCK: &str = "door doors gate gates paddock garage office trailer van lorry box container toolbox shed workshop home loaded";

/// Words behind "knocked" that make it a blow.
pub(in crate::advice::learning) const KNOCKED: &str = "\
    off over down out a the him her it into two three my his about back loose by around away tenths half aside \
    myself another one";

/// Parts of a plug.
pub(in crate::advice::learning) const PLUG: &str =
    "plug plugs electrode electrodes insulator porcelain strap nose";

/// Words that may say so together, for a page that cannot weigh a sentence.
pub(in crate::advice::learning) const ON_A_PAGE: [(&str, &[&str]); 43] = [
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
    ("blew", &["up", "gasket", "seal"]),
    ("blown", &["gasket", "seal"]),
    ("song", &["stopped", "died", "quit"]),
    ("cut", &["straight", "throttle"]),
    ("let", &["go"]),
    ("rattling", &["nails", "marbles", "straight", "full"]),
    ("plug", &["pepper", "peppered", "specks"]),
    ("white", &["blistered", "glazed"]),
    ("slight", &["nip", "knock", "ping"]),
    ("heard", &["ping", "knock", "detting"]),
    ("tied", &["up"]),
    ("pick", &["marks", "skirt", "exhaust", "piston", "bore"]),
    ("pickup", &["marks", "skirt", "exhaust", "piston", "bore"]),
    ("electrode", &["gone", "missing", "burnt", "eaten"]),
    ("bang", &["went", "big"]),
    ("squealed", &["slowed", "straight"]),
    ("died", &["straight", "lap", "it", "throttle", "full", "top"]),
    ("clutch", &["time", "straight", "saved"]),
    ("stiff", &["went", "engine", "motor", "straight"]),
    ("lock", &["up"]),
    ("lockup", &["engine", "motor", "straight", "lap"]),
    ("jammed", &["piston", "engine", "motor", "straight"]),
    ("sized", &["engine", "motor", "solid"]),
    ("sticking", &["top", "straight", "bore"]),
    ("metallic", &["noise", "top", "rattle"]),
    ("nip", &["lap", "straight", "had", "freed"]),
];
