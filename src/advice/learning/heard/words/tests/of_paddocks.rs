//! More that is said in paddocks, one list each way: what is taken as lean or asked, and what is said of anything else.

use super::super::said_in;

use crate::advice::learning::heard::words::sentence::OwnNames;
use crate::advice::learning::heard::words::signs::{Said, WrittenIn};

const OF_THE_ENGINE: &str = "\
    picked up on the exhaust skirt | a grippé | Kolbenklemmer | \
    cut dead at 12000, freewheeled in with the clutch in | \
    back wheel locked at the end of the straight, caught it on the clutch | pulled the clutch just in time | \
    had to clutch it on the straight | piston has four-corner marks | cold seizure in warm-up lap | \
    scored on the intake side | aluminium on the bore | ally smeared on the cylinder | ally specks on the plug | \
    piston picked up a bit | ring stuck in its groove | it died on the main straight and won't kick over | \
    kickstart solid | locked solid | motor tied up | it tied up at full noise | a bit of knock at peak torque | \
    pinking on the overrun | crackling from the head at full noise | deto counter 140 | ate a piston | \
    popped a piston | cooked the engine | melted the piston | lunched the motor | grenaded it | \
    it let go at the end of the straight | it squeaked and slowed, pulled the clutch | \
    no seizure this time but close | not seized, just tight | seized? no, just the chain | nearly seized | \
    nearly stuck it | thought it was going to seize | serré fort, moteur bloqué | Motor fest | Kolbenfresser | \
    gripado | grippato | festgegangen | klemmte auf der Geraden | magere Stelle oben, klingelt | scuffed piston | \
    scuff marks on the exhaust side | bore scored | scored the bore | piston smeared | \
    smeared on the exhaust side | ally on the bore | engine tight, freed off when cool | \
    not a full seizure, just nipped | didn't seize but it nipped up | no seizure, only a light nip | little nip | \
    had a nip | semi-seized | half seizure | engine tied up | tied up on lap 2 | motor locked | \
    piston welded to the bore | engine failure | engine destroyed | dnf engine | DNF, engine dead | \
    lost compression | compression down to 80 psi | crown has a hole | burned through the crown | \
    crown burnt by the exhaust port | det marks | knocking hard at 11000 | pre-ignition | head hammered | \
    head and piston pitted | squish band eroded | nervous, tight | tight | stuck for a second | \
    four corner seizure | engine went tight | it went tight on me | felt it tighten | \
    felt it go tight, clutched it | went off song, lost power then seized solid | \
    it just stopped on the straight, kicked it over ok after 10 min | \
    cut out on the straight, restarted when cool | engine cut at full throttle, barrel too hot to touch | \
    squealed and slowed | skirt broken | piston skirt cracked | ring land melted | exhaust side of piston shiny | \
    picked up slightly on the skirt | slight pick-up | pick up on exhaust bridge | pickup marks | heat seizure | \
    gripped | it gripped at the end of the straight | caught it before it locked | engine dragging | \
    engine sticky when hot | hard to kick over after the run | barrel scored | \
    cylinder plating gone by the exhaust | nikasil peeling | ring broken | big bang on the straight | went bang | \
    bang, oil everywhere | it popped | expired on lap 3 | it expired | died on lap 3 | \
    engine died at full throttle on the straight | she nipped | nipped up again mate | \
    motor locked up solid at the end of the straight | went tight on the overrun, dipped the clutch | \
    lost the top end in the final | top end let go | piston's had it | piston is knackered | barrel is stuffed | \
    the motor's cactus | motor's rooted | engine's toast | burned down the motor | \
    burnt it down on the long straight | it stuck a piston | stuck a ring | four cornered it | \
    four-cornered the piston | cold stuck it in the pits | smoked the top end | fried the piston | \
    roasted a piston on the exhaust side | torched the piston | \
    let the bottom end breathe air, seal gone, it screamed and nipped | carked it on the straight | \
    conked out down the back straight | packed it in on lap 4 | gave up the ghost on the straight | \
    it shut itself off at the end of the straight and was hard to kick over | pulled up with no comp | no comp | \
    piston and barrel are scrap | galled piston | light scuffing on the intake skirt | some scuffing | \
    scuff on the exhaust side | four point scuff | metal on the plug | alloy on the plug | ali on the bore | \
    silver on the plug | aluminium deposit on the plug | plug had little silver balls on it | \
    plug electrode burnt off | ground strap gone from the plug | it was pinking badly | heard it ping up the hill | \
    bit of a rattle at full noise | it was knocking its head off | deto on the crown | det damage on the head | \
    pepper on the piston edge | edge of the piston is gone | blew a hole in the piston | \
    melted down on the straight | meltdown | had a meltdown on lap 3 | motor melted | engine siezed | seizd | \
    it ceased | it sezied up | nipt up | niped up | locked solid in top | \
    the back end locked going down the straight | she locked up | \
    rear locked solid on the main straight, clutch saved me | clutch in quick or I'd have been over the bars | \
    sounded like a bag of spanners | it screamed lean then died on the straight | bogged then seized | \
    seized coming off the throttle | seized on the throttle chop | shut the throttle and it locked | \
    it went off, then would not start, no compression | tight spot when turned by hand | \
    piston slap and then it stopped on the straight | hot nip | it had a bit of a nip | \
    just caught it before it nipped | about to nip | on the edge of seizing | almost stuck | touch of seizure | \
    partial seizure | micro seizure | cold start seizure | ring trapped | rings stuck | ring caught in the port | \
    it tightened on the way in | it got tight on the cool-down lap | dragging itself down on the straight | \
    felt like someone threw out an anchor | felt like running out of petrol, then locked | \
    it faded badly on the straight and then nipped | engine overheated and nipped | coolant boiled, nipped up | \
    thing let go big time | it detonated | det'd all day | deto'd the head | \
    not a seizure as such but the piston is marked | no seizure but piston marked | didn't seize, was close | \
    never quite seized | wasn't a full nip | wasn't far off seizing | not quite seized | just short of a seizure | \
    it's not happy, pinging | it isn't just tight, it seized | no doubt about it, seized | seized but no damage | \
    seized without damage | seized, no marks on bore | nothing but a seizure | \
    motor pulled itself down on the front straight | she tightened up on me | felt it bind, whipped the clutch in | \
    felt it nip | felt it grab | felt it seize | felt it start to go | starting to nip up | started to seize | \
    began to tighten | went all tight | got tight down the chute | tight when hot | \
    tight as a drum, wouldn't kick over | the bike locked up and spat me off | spat me off when it locked | \
    highsided when the engine locked | came to a stop, piston stuck in the bore | \
    slid to a halt, rear wheel not turning | rear wheel stopped turning | back wheel wouldn't turn | \
    would not bump start, locked | no kick, solid as a rock | flywheel will not turn | piston stuck at the top | \
    piston's stuck | pistons marked | bore's marked | bore has pick up | bore picked up on inlet | bore gone | \
    barrel gone | needs a rebore | needs replating after that | needs a new piston, nipped | \
    piston changed after nip | lost a ring | broken ring | ring let go | ring land broken | ring land gone | \
    piston skirt snapped | piston disintegrated | piston collapsed | piston shattered | piston cracked | \
    piston failed | piston failure | piston let go | piston broke | crown collapsed | crown burnt through | \
    crown eroded | dome pitted | edge of the crown eaten | eaten away on the exhaust side | exhaust edge melted | \
    exhaust bridge nipped | bridge touched | seized on the bridge | rubbed on the bridge | \
    shiny patch on the exhaust side | vertical scratches on the exhaust side | scratches on the piston | \
    scratched bore | scored bore | score marks in the bore | drag marks on the piston | \
    witness marks on the piston | squish touched the head | head touching | pinging in top | \
    pinging off the corner | pinged all the way down the straight | pinged the whole straight | pinged the engine | \
    ping when hot | pinks when hot | pre ignition | preignition | it pre-ignited | preignited | glowing plug | \
    plug tip glowing | plug blistered | plug has specks | plug peppered with black | \
    stuck the motor on the back straight | she's stuck solid mate | motor did a seize | pulled a seize | \
    had a seize on lap 2 | siezure | stuck a piston in practice | put a hole in it | put a hole in the slug | \
    slug's toast | slug picked up | jug scored | jug is galled | stuck the slug in the jug | topped it, ring gone | \
    burned a slug | burnt the exhaust side off the piston | leaned out and stuck | ran it lean and stuck it | \
    got hot and stuck | heat seized | heat seized it in the heat race | egt spiked then it quit on the straight | \
    egts went to 1400 and it nosed over | nosed over on the straight | it laid down on the straight | \
    motor laid down | motor laid over | fell on its face then locked | broke down the straight, locked up | \
    locked her up on the front stretch | hung a ring | hung ring | ring snag | scuff on the intake | dry seizure | \
    wet the bed, motor gone | motor went south | motor went away | motor quit on the back stretch | \
    hard to pull over | kick starter jammed | jammed solid | bound up on the straight | started binding up | \
    locked rear, clutched it on the straight | caught it on the clutch just in time | \
    grabbed the clutch just in time | felt it go off and pulled the clutch on the straight | \
    felt it tighten, chopped it | chopped the throttle when it tightened | heard it squeak | \
    heard a squeak at the top and it slowed | rattled like hell at full throttle | sounded like marbles in a can | \
    sounds like gravel in a tin | crackle in the head phones, det | det light on | det light came on at 11500 | \
    knock light flashing | knock sensor counted 40 | knock count 30 | pinged like a bastard | pinking like mad | \
    piston wash gone, dry crown | sand blasted edge | pepper on plug | specs on the plug | black specks on plug | \
    plug base ring silver | plug tip melted | plug nose gone | plug earth strap burned off | it died | \
    then it quit | clunked and stopped on the straight | motor quit | No problems until lap 6 when it nipped | \
    all good apart from a nip on lap 2 | great run, then seized on the cool down lap | \
    right on the money, but piston shows pick-up | perfect jetting, shame it seized | ran perfect till it stuck | \
    felt strong, pulled hard, then bang | lovely plug but the ring is stuck | second engine seized in the final | \
    new engine nipped on lap one | engine two let go | seized again | seized the same as last week | \
    another seizure, same corner | it wants to seize at the top | it'll seize if I hold it | \
    on the verge of seizing | nipping at the end of the straight | nips when held flat | seizes when hot | \
    seizing on | sieze up | nipped both sides | seized both barrels | left cylinder stuck, right fine | \
    right-hand piston scuffed | RH pot went tight | no.1 cylinder nipped | front cyl nipped up | \
    rear pot detonating | PTO side seized | mag side picked up | clutch side piston scuffed | \
    piston scuffed, gearbox fine | gearbox fine, piston scuffed | chain ok, brakes ok, engine nipped | \
    not the brakes, the engine locked | crank ok but the bore is scored | no scoring but four marks on the piston | \
    no damage but it went tight | no marks, just went tight for a moment | quick nip then ran on | \
    ran on after a nip | cleaned up the nip marks with wet and dry | dressed the barrel after the nip | \
    honed the bore, small pick up | removed aluminium from the bore | exhaust side of the ring stuck | \
    ring stuck in the land | sticking in the bore";

/// The same words as of riding, of a bell or a counter that counts none, said of the engine.
const OF_THE_ENGINE_TOO: &str = "\
    crank seal blown | blown crank seal | crank seal went on lap 3 | head gasket blew | blew the head gasket | \
    base gasket gone | went off song and stopped | it went off the boil and died | \
    revs dropped to zero and it seized | zero to seized in one lap | revs went to zero, seized | \
    engine nipped under load | nipped under load on the straight | it nipped under full throttle in sixth | \
    it nipped between 11 and 12 thousand | nipped off song and stopped | \
    nipped back off the throttle and it freed | nipped under full power | engine nipped into turn 3 | \
    it nipped around 11000 | engine nipped out of the corner | it nipped in front of the pits | \
    piston nipped by the end of the straight | it nipped up the road from the pits | nipped off the pipe | \
    deto counter went mad flat in sixth | deto light on flat out down the straight | \
    det counter lit up flat out, was clear before | knock sensor flat out red all the way | \
    deto counter off the scale | det light never off in top | det counter zero to 40 in one lap | \
    det light clear until sixth | new deto counter went mad | knock counter 40 flat out | \
    det counter fitted, flashing in sixth | \
    knocking stopped the engine | detonation stopped it on lap 3 | pinging has stopped us going leaner | \
    the knock stopped the engine | pinging gone at 174, back on 172 | \
    detonation is gone when richer, back on 170 | pinging gone until lap 4 | pinging gone, then it came back | \
    engine pinged a fair bit flat out | pinged a fair bit on the straight | pinged the main straight end to end | \
    pinged the back straight | pinged a good deal in top | engine pinged us all the way home | \
    it locked up in front of the pits | in front of us it locked up | it locked up by the paddock gate | \
    engine locked up, pushed it to the van | down the front it locked up | \
    engine seized the inside of the cylinder | seized the inside of the bore | engine seized in second place | \
    seized while in the lead";

const OF_OTHER_THINGS: &str = "\
    fork seal blown | blown fork seal, oil on the disc | exhaust gasket blew | new crank seals, new gaskets | \
    head gasket 0.5 fitted | went off song at the end, plug fouled | went off song and stopped, plug lead off | \
    tight hairpin | blew past two riders | brakes grabbed | picked up three places | froze this morning | \
    white plug lead | stuck behind a slow rider for two laps | tight battle to the flag | \
    rear wheel locked under braking into turn 1 | chain tightened before the run | new chain, tightened axle nut | \
    throttle stuck open once, cable freed | lost the front, low side | lost two places at the start | \
    stopped to refuel | picked up a nail in the rear tyre | picks up cleanly from 8000 | \
    engine picked up well out of the hairpin | seized the lead on lap 3 | no detonation, no pinging | \
    blew a fuse on the way in | burnt hand on the pipe | hole shot again | marked the tyre warmers | \
    held it flat through the kink | leaned over further in the left | lean angle good | right hander is bumpy | \
    rattle from the fairing | gear lever stuck once | suspension binding | freezing cold | \
    warm and dry, engine pulled cleanly | clutch grabbed at the start | let go by the marshal | \
    front brake disc seized caliper freed | rear caliper seized | blown away by the wind | \
    engine stopped in the pits, ran out of fuel | bars stuck after crash | new piston, run in gently | \
    knocked the screen off | pinged the marshals on the radio | cooked the rear tyre | tyre blistered on the left | \
    pitted on lap 5 | holed the radiator on a stone | it just would not turn in | \
    bike would not turn at the hairpin | knee slider melted | pulled the clutch in at the flag | \
    clean plug, no specks | piston marked with felt pen, 53.94 | scored two points | highest score of the day | \
    died out at the line, kicked it over again | no more power | strong all the way to 12500 | knocked off a cone | \
    knocked half a second off | Pink jersey led | hot sun, 40 on the tarmac | visor fogged, rain tyres | \
    tight for space on the grid | clutch sticking | clutch stuck on the first start | powervalve stuck closed | \
    wheel bearing tight | tight chicane suits 39 rear | engine a bit tight, new piston, running in | \
    seized chain link replaced | seat bolt seized | picked up the throttle earlier | picked up the pace | \
    broke the lap record | crankcase leak test ok | checked: no air leak | rich bog out of hairpin | \
    died at idle once | went flat out through the kink | ran well, nothing to report | blew a tyre | \
    blew hot and cold, windy | blew my nose | lost the chain | lost grip | lost a bolt | grabbed the lead | \
    grabbed second place | grabbed a handful of brake | locked in third place | locked on to his back wheel | \
    froze on the start line, no reaction | frozen hands | holeshot | cooked brakes | the rider melted in the heat | \
    marshals stopped the session, red flag | stopped on the straight, red flag | coolant stuck at 55 | \
    thermostat stuck | needle stuck at 55 C on the gauge | front wheel locked, crashed | \
    binding rear brake, hot disc | crowned champion | spark plug cap changed | speckled helmet | tight gearbox | \
    gear change stuck twice | strong, a little rich | rear end locked on downshift, slid | \
    back wheel hopping and locking into the hairpin | locked up the front | rear locked under downshift | \
    backed it in, rear locking | hopped the wheel, engine braking | clutch plates welded together | \
    knocked the lever | gear lever knocked off | nipped past him at the line | nipped up the inside | \
    nipped the brake | nipped up the chain | nipped up the head bolts | nip and tuck with Dave | pinged the bell | \
    ping on lap 3 from the timing beam | melted tarmac | blew up the tyres to 1.8 | \
    blew up a balloon for the kids | cracked the fairing | holed fuel tank cap | popped the clutch | \
    popping on overrun, rich | died on the warm-up, out of fuel | piston new, rings new | \
    measured the bore, 54.01 | squish checked 0.9 | compression 150 psi, good | compression test ok | \
    tight turn out, stuck in third | stuck at the back of the field | stuck in gear on the straight | \
    stuck open power valve | smoke from the stinger, rich | let the tyres down | let go at the start, clean | \
    froze, fingers numb on the long straight | grabbed a second off the straight | \
    caught and grabbed him in the straight | marked the line at turn 3 | lost the lead | \
    engine stopped when I hit the kill switch | stopped the engine for a plug chop | \
    plug chop at the end of the straight, good colour | cut the engine on the straight for a plug reading | \
    pulled the clutch for a plug chop | seized opportunity at the hairpin | \
    seized throttle cable replaced before the run | detonation counter read zero | no knock on the counter | \
    no deto | det can quiet | headphones: no det | tight schedule today | tight in the legs after crash | \
    chain tied up with wire | tied up the loose ends | tied up at work so missed the first session | \
    tied the fairing up with wire | tied for the lead | the timer expired | chequered out before time expired | \
    entry fee expired | battery died | phone died | laptop died | the wind died down | headset died | \
    died laughing | my arms died on the last lap | banged fairings with Steve | bang on the limiter | \
    bang on 12500 at the end of the straight | bang on the money | the jetting is bang on | \
    went off with a bang at the start | popped out of the slipstream | popped a wheelie out of the last corner | \
    kicked over first time | hard to turn in | hard on the brakes | stiff clutch | clutched it out of the hairpin | \
    clutched it up onto the pipe | clutch in for the start | dead smooth | dead straight down the front | \
    dead easy to start | dead battery in the tyre warmer | trashed the front tyre | wrecked the fairing | \
    destroyed the rear tyre | killed the rear tyre | killed it at the finish | roasted in the leathers | \
    toasted the win | engine failed scrutineering? no, noise ok | broke the screen | broke a lever | \
    cracked on and finished third | cracked the top ten | cracked fairing | brakes squealing | \
    rear tyre squealed into the hairpin | chirped the rear under braking | tyres gripped well | front gripped | \
    gripped the tank harder | scuffed in the new rear | scuffed tyres fitted | scuffed my boots | \
    scuffed the knee slider | scored 12 points | scored a podium | scored a second | galloped away at the start | \
    pickup coil checked | pick-up gap 0.5 | good pick-up out of the corner | picked up the kids | \
    pick up from 9000 is good | pick up the new pipe from Dave | smeared oil on the chain | \
    smeared bugs on the screen | compression test 160, good | less compression with the thick gasket | \
    low compression head on | head gasket in, compression ratio down to 14 | white smoke at start, then clean | \
    lean over more in the left | lost power steering | faded brakes | brakes faded at the end | forks surged | \
    revs hung up in traffic? no | engine hung from the hoist | ran on the hard tyre | \
    stopped at the end of the straight for a plug chop | cut the motor at the end of the straight, plug chop, tan | \
    cut the grass | cut inside at the hairpin | cut across the chicane | cut the slide | cut my finger | \
    cut a second off the lap | stopped on lap 2, rider down, red flag | \
    stopped to help a fallen rider on the straight | died in the pit lane, no fuel | ping me when you get there | \
    pinged an email | pinged a stone off the screen | nipped in front | nipped off for a brew | \
    nipped to the shop | nipped him on the line | nipped through on the last lap | nippy start | \
    nippy little bike | knocked on the door | knock on effect | knocked the choke on | hammered down the straight | \
    hammered the kerb | rain hammered down | stuck at it | stuck at 3rd | stuck on 178 | \
    stuck rigidly to the plan | a bit stuck for time | throttle cable stuck | needle stuck in the carb | \
    float stuck | froze my hands | frozen lock on the van | locked the front into turn 1 | \
    front locked on the white line | seized my chance | seized the day | seized the inside | seizing the moment | \
    not one seizure all season | no more seizures since | never missed a beat | no nip | no tightness | \
    no knock no ping | not tight at all | never felt tight | felt free, no tightness | wasn't pinging | \
    isn't pinging any more | pinging gone | pinging has gone | pinging cured | no longer pings | no longer tight | \
    ring gap checked | new ring fitted | new piston and ring | piston looked perfect | bore perfect | \
    piston clean | bore is unmarked | plug not white | held it flat | eased off at the end, running in | \
    backed off for the flag | red flag, stopped on the straight | oil on the straight, stopped | \
    fuel tap off, died on the out lap | plug fouled and it died on lap 3 | plug oiled up, cut out on the straight | \
    coil died | CDI died on the straight | ignition cut out on the straight | \
    kill switch wire came off, cut dead on the straight | ran dry on the straight | pulled itself up to third | \
    felt it hook up | felt it slide | felt it run on rails | started to rain | began to spit | \
    it went hard all race | we went hard | track went hard | got tight with Dave | tight when cold shoulders | \
    bike spat me off, cold tyre | slid to a halt in the gravel | couldn't bump start it, flooded | \
    would not bump start, flat slot | kicker slipped off | bore honed | barrel replated over winter | new barrel | \
    fresh rebore and piston | needs a new rear tyre | lost a ring spanner | ring land clearance fine | ring free | \
    scratched the fairing | scratched the race | scratching around for grip | scratched the paint on the pipe | \
    scored second in the points | head wind | head cold | head set | touched the wall | touched the kerb | \
    touched the limiter | touched elbows | glowing pipe at night | would not shut up about it | \
    kept running in third | ran backwards down the hill | idle set at 3000 | air in the brakes | \
    sucking diesel, won by a second | loose rear axle | carb came off for cleaning | fuel tap on | fuel was fresh | \
    jet cleaned | main jet changed | lean to the left | leaning on the wall | leaned on him at the hairpin | \
    leaned too far | white line | white flag | white out | very light wind | light rear end | plug tan | \
    plug light tan | plug good | plug spot on | plug chop good | no specks on the plug | plug cap loose | \
    bottom gear | bottomed out | strapped down in the van | gearbox went bang | clutch let go | clutch exploded | \
    chain snapped | chain let go | crank let go | big end let go | big end gone | rod through the cases | \
    main bearing gone | wheel bearing gone | exhaust spring gone | exhaust cracked | pipe cracked | pipe split | \
    silencer blew off | silencer came apart | powervalve stuck | cable snapped | tyre let go | rear let go | \
    back end came round | back end stepped out | back end hopping | locked horns with Dave | locked bars | \
    locked eyes | lockwire broke | gearbox locked | gearbox locked solid | diff locked | dead heat | dead last | \
    dead rubber | dead tyres | no life in the tyres | engine mint | engine sweet as a nut | engine perfect | \
    engine pulled like a train | ran like a clock | ran sweet | sang all day | screamed all day | \
    revved out cleanly | hit the limiter | flat in top | flat chat | flat out all lap | flat spot at 8000 | \
    went flat at 11000 | rich and blubbery | eight stroking | four stroking at the top | four-stroking | \
    blubbering | bogging | wet plug | fouled a plug | oiled a plug | stuck the landing | stuck the pass | \
    stuck it in the top five | stuck on the fence all day | stuck with the same jets | stuck the number plates on | \
    seized brake in the trailer | locked in behind the leader | locked up the box van | \
    locked differential helped | put a hole in the fairing | put it in the fence | put a hole shot on them | \
    jug of fuel empty | jug of water spilled | hot lap | hot lapped all day | heat 2 was fine | heat race win | \
    laid down a good lap | laid down the power | laid it down in turn 3 | nosed ahead | nosed it out at the line | \
    quit early, rain | quit after lap 5, tired | pulled over for the leader | pulled the plug, tan | \
    pulled the pipe to check | pulled the head, piston looks new | pulled away from everyone on the straight | \
    hung it off the inside | hung a left | hung with the leaders | hung around for the trophy | \
    clunked into first | jammed the brake | jammed up in traffic | bound for the podium | bounded over the jump | \
    rattle can paint | rattled the leader | rattle in the fairing bracket at full speed | duck on the track | \
    gravel in turn 2 | sounded crisp | sounded strong | noise test passed | no knock count | knock count zero | \
    det light off all day | det light never came on | crown washed clean, two fingers of wash | \
    crown has nice brown wash | piston top light brown | crown brown | plug mocha | plug mocha, base ring good | \
    plug base ring full colour | plug gap set to 0.5 | gapped the plug | tight track, short gearing | \
    tight racing all day | tight head count | tight budget so old tyres | tightened suspension | \
    it tightened up in the points | stopped at the line | engine stopped ok with the button | \
    motor off at the top of the hill, coasted | shut it off on the straight for a plug | \
    clean cut on the straight | coasted in out of gas | ran out of gas on the cool down lap | \
    out of fuel on the sighting lap | froze out of the main event | frozen fuel line in winter | \
    let go of the bars | let it go to the leader | blew a shift | blew the corner | blew the doors off them | \
    blew everyone away | blew the holeshot | blown tyre | smoked them all | \
    smoked the start | smoked a tyre | fried the clutch | fried my arms | cooked the clutch | burned the clutch | \
    burnt clutch | burnt out brakes | melted boot on the pipe | melted the grip on the exhaust | scorched | \
    scored third | scored the pass of the day | nipped to second at the flag | pinched the lead | \
    grabbed third gear | grabbed too much front | bite of the clutch adjusted | kicked like a mule | \
    kicked sideways | rear kicked out | locked the trailer | egt 640 | egts 1150 | EGT 1200 all day | \
    he died in the standings | tyres died | clunked and stopped at the box | No seizure, no nip, no pinging | \
    no sign of det, no marks, ran great | did not seize, did not ping | never looked like seizing | \
    nothing seized | no more nipping up | has not nipped since the new seal | no tightness at all this time | \
    no trace of pick up | no pick up on the piston | no scuffing, no scoring | piston not marked | \
    piston unmarked | bore like new, no marks | no sign of melting | no aluminium on the plug | \
    no silver on the plug | no specks, no beads | no damage to piston or ring | did not go tight | \
    never went tight | didn't lock up | did not stop | didn't cut out once | no bang this time | no squeal | \
    no rattle at the top | engine did not falter | no hint of a nip | without a hint of pinging | free of pinging | \
    clear of det | zero det | not a hint of knock | det count 0 | counter 0 all lap | rear locked on the brakes | \
    rear locked up braking for turn 3 | front locked under braking | front tucked | front washed out | \
    clutch stuck | clutch tied up | throttle tied up with a cable tie | cable tied up out of the way | \
    hair tied up | race tied up by lap 2 | points tied up | tied up with a customer | rider cooked | \
    rider stuffed at the end | arms pumped, forearms tight | calf went tight | hamstring went tight | \
    legs seized up after | my neck seized | fingers seized in the cold | jaw locked | visor steamed | \
    gloves stuck to the bars | boots melted on the pipe | tyres scuffed in | front tyre scuffed | \
    scuffing in new slicks | scuffed the front in | zero pinging | zero detonation | zero sign of a seizure | \
    nipped under him at the hairpin | nipped between two riders | nipped off for lunch | \
    nipped back past him on the straight | nipped across the line | nipped in ahead of the leader | \
    nipped into the pits | nipped out for a brew | det counter quiet | det light never lit | knock sensor fitted | \
    det counter battery flat | deto counter flat battery | fitted a new deto counter | deto counter off all day | \
    pinging gone, ran great | pinging gone now | detonation stopped | pinged the steward | pinged a stone | \
    pinged the lads a message | locked the front in front of the pits | front locked in front of him | \
    the trailer is locked | seized the lead in lap 3 | seized the outside";

const ON_A_PLUG: &str = "\
    white, glazed, electrode melted | plug melted | white blistered | silver specks on the insulator | \
    light grey with shiny balls | peppered | aluminium flecks | electrode gone | strap burnt away | \
    porcelain cracked | blistered";

const ON_A_PISTON: &str = "\
    scuffing at exhaust port | picked up | shiny edges at the squish band | edges eaten | marked | scored | \
    nipped | grey edges, pitted | smeared";

fn is_taken(text: &str, seen: WrittenIn) -> bool {
    matches!(said_in(text, seen, &OwnNames::default()), Said::Lean(_) | Said::Unclear { .. })
}

#[test]
fn what_is_said_of_an_engine_is_taken_as_lean_or_asked() {
    for (list, seen) in [
        (OF_THE_ENGINE, WrittenIn::Anywhere),
        (OF_THE_ENGINE_TOO, WrittenIn::Anywhere),
        (ON_A_PLUG, WrittenIn::OnThePlug),
        (ON_A_PISTON, WrittenIn::OnThePiston),
    ] {
        let missed: Vec<_> = list.split(" | ").filter(|text| !is_taken(text, seen)).collect();
        assert!(missed.is_empty(), "{missed:#?}");
    }
}

#[test]
fn pinging_that_came_back_is_asked() {
    for text in ["pinging gone at 174, back on 172", "detonation is gone when richer, back on 170"] {
        let said = said_in(text, WrittenIn::Anywhere, &OwnNames::default());
        assert!(matches!(said, Said::Unclear { .. }), "{text}: {said:?}");
    }
}

#[test]
fn what_is_said_of_anything_else_is_no_lean_run() {
    let wrong: Vec<_> =
        OF_OTHER_THINGS.split(" | ").filter(|text| is_taken(text, WrittenIn::Anywhere)).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}
