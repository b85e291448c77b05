//! Notes as they are written in a hurry, misspelt, or in words that only a paddock uses: each is read as lean or asked, or as nothing.

use super::super::said_in;

use crate::advice::learning::heard::words::sentence::OwnNames;
use crate::advice::learning::heard::words::signs::{Said, WrittenIn};

const OF_THE_ENGINE: &str = "\
    nipped on the overrun into the hairpin | nipped past the pits | nipped going past the pits | \
    it nipped passing the pit board | nipped up past the start line | nipped through the kink | \
    nipped by the marshal post | it nipped by the pit wall | nipped round the back of the circuit | \
    nipped to a stop | nipped out on track | nipped into the braking zone | it nipped at vmax | \
    it nipped twice through the fast section | nipped coming past the pits | nipped after the kink | \
    nipped out the back of the hairpin | barrel nipped, skirt polished | nipp'd up | nip'd | nipped-up | \
    nipping up at revs | siezed | siesed | ceased up | seised | seazed solid | seezed | saized | sezed | seizd up | \
    siezured | seizured | seizing up | seizeing | siezing | it seased | seized-up | seizes | ceized | engine let go | \
    engine went pop | went pop on the straight | piston's shot | piston gone | top end gone | top end cooked | \
    blown top end | blown motor | motor blown | motor grenaded | engine blown up | motor popped | \
    motor shut down on the straight | motor froze | it hand-grenaded | motor ate itself | chewed up a piston | \
    engine chewed a ring | spat the ring out | threw a ring | dropped a ring | piston holed | holed it | \
    holed the piston on lap 3 | melted piston | burned a piston | burnt piston | piston burned through | \
    piston crown melted at the exhaust | hole in piston | hole in the crown | hole in the top of the piston | \
    bike stopped dead and rear locked | rear stepped out when it seized | whole bike locked up | \
    back wheel skidded, pulled the clutch | back wheel locked for a second then ran on | felt the back end lock | \
    felt it lock up | felt it tighten up | it went stiff on lap 4 | motor went stiff | \
    it felt stiff on the straight | motor stiff to turn over | it got stiff then freed | kick start stuck | \
    kickstart locked | would not kick | won't turn over | wont turn over | cant turn it over | crank wont turn | \
    couldn't turn the engine over by hand | engine stuck at tdc | flywheel stuck | squeaked and slowed | \
    slowed like someone put the brakes on | felt like the brakes came on | felt like hitting a wall | \
    like it hit a wall of treacle | like the brake was dragging | felt like the brakes were on | \
    as if the brakes were on | it suddenly slowed on the straight | sudden slow down on the straight | \
    lost all drive on the straight, rear locked | revs died and the back wheel locked | it hesitated and locked | \
    pingin bad | pingin up top | pingin | pinkin | pinkin flat out | ping ping ping at the top | pings like mad | \
    pingy at the top | pingy | bit pingy flat out | bit pinky | pinky on the straight | some det | bit of det | \
    little det on the straight | slight deto | slight detonation | detonating | detonates at 12000 | det at 12000 | \
    deto at full load | detting | dets flat out | heard det | can hear det | hear it det | could hear it pinging | \
    heard pinging | audible knock | light knock | knocks at full throttle | knocks in top | knock at 11000 | knocky | \
    knocking at the top | sounded knocky | engine knocks under load | pre-det | pre ig | run on pre ignition | \
    sounded like gravel | gravel noise at the top | crackling noise from the motor | crackly at the top | \
    tinkling at full throttle | tinkling noise up the hill | tinny rattle under load | rattle under load | \
    rattling under load | it's clattering at the top | metallic rattle at 11000 | detination | detonnation | \
    detonatin | detenation | deternation | detonatoin | pingging | pinnging | pining on the straight | \
    deto counter 40 flat | det counter reading 12 | det counter up to 60 | det gauge in the red | deto gauge red | \
    knock gauge off the clock | det lamp on | det warning lit | knock warning on | knock light came on at the top | \
    knock light on | knock light blinked | knock sensor pulled timing | ecu pulled timing for knock | \
    deto counter counting | deto counter ticking over | deto counter climbing all the way | deto counter double | \
    det counter high | det counter not zero | deto counter no longer zero | det counter was zero now 30 | \
    det count 25 on the straight | deto count went from 0 to 40 | deto counter 0 then 40 | \
    deto counter was quiet then 30 | deto counter quiet until 12000 | deto counter clear till the straight then 30 | \
    deto counter: 35 | deto counter=35 | deto: 35 | det 35 | deto light flickering | det light flickered in top | \
    det light flickers | deto light steady | det headphones crackling | heard it in the det cans | \
    det cans full of crackle | det cans crackling | cans crackling | deto phones lit up | \
    stopped pinging then seized | no pinging but it nipped | no det until the end, then lots | \
    didn't ping, seized straight out | not pinging, seized | never pinged before, did today | never seized before | \
    first time it has ever seized | no warning, seized | no warning just seized | without any warning it seized | \
    zero warning, nipped | zero warning it nipped | zero warning and nipped | zero oil and seized | \
    0 to seized in 3 laps | went from zero det to lots of det | counter zero but heard it pinging | \
    nothing on the counter but it pinged | not zero det | non-zero det count | had zero chance, seized | \
    zero clearance, nipped up | from zero it pinged | not far off a seizure | no jet change would stop it pinging | \
    could not stop it pinging | can't stop it pinging | won't stop pinging | wouldn't stop pinging | \
    nothing stops it pinging | nothing cured the pinging | still not cured, pinging | \
    richer did not stop the pinging | pinging not gone | pinging not gone yet | pinging hasn't gone | \
    pinging hasn't stopped | pinging not cured | pinging isn't gone | knock not gone | det not gone at 172 | \
    pinging never stopped | pinging almost gone | pinging nearly gone | pinging mostly gone | \
    pinging less but still there | pinging gone below 11000 | pinging gone except in top | pinging gone mostly | \
    pinging gone up to 11 | pinging gone in 4th but not 6th | pinging reduced | less pinging | much less pinging | \
    a lot less det | fewer dets | hardly any pinging | hardly pinging | barely pinging | only just pinging | \
    pinging has all but gone | pinging is as good as gone | no more than a bit of pinging | \
    pinging stopped when I backed off | pinging stopped when I went up to 180 | det stopped once richer | \
    pinging stopped on the lean jet? no, still there | pinging stopped at 180 | pinging gone on 180 | \
    pinging went away on 180 | pinging goes away when I ease off | pinging stops if I roll off | \
    knock gone over 9000 | pinging had gone by lap 3 | pinging gone, det counter 30 | pinging has gone worse | \
    pinging gone mad | pinging gone crazy | pinging is now constant | pinging all gone to hell | \
    engine seized taking the lead | seized in the lead | seized while leading | seized from the lead | \
    seized with the lead in hand | seized losing the lead | seized on the inside line | \
    seized on the inside of turn 3 | seized the piston | seized the engine | seized the outside cylinder | \
    seized the inside cylinder | seized the left pot | seized the day before the race | seized the day before | \
    seized the moment I opened it | seized the moment it hit 12000 | seized the moment it went on the pipe | \
    it seized the first chance it got | seized in position at the line | seized, lost the win | \
    seized the gap in the rings | seized a piston in the lead | bike seized the lead went | seized my only engine | \
    seized her on the straight | locked the front straight long | engine locked down the front straight | \
    locked up the front cylinder | front cylinder locked | front pot locked up | front piston locked solid | \
    locked up right in front of everyone | it locked up in front of the grandstand | \
    locked solid in front of the tower | locked up in front of race control | locked up in front | \
    it locked in front of me | engine locked and the front tucked | locked up going into the front chute | \
    the motor locked up and threw me over the front | locked up, over the front | locked up on the front row | \
    it locked up coming onto the front straight | it locked up at the front gate | \
    locked up with the front wheel in the air | bike locked up and front went light | sezd on str8 | szd on strt | \
    eng szd | seiz lap3 | seize lap 3 | nip lap 2 | nip L2 | nip at T4 | NIPPED | SEIZED!!! | seized?? | nipped? | \
    nipped??? maybe | maybe nipped | might have nipped | think it nipped | poss nip | possible seizure | \
    poss seizure | prob nipped | feels like it nipped | susp nip | nipd up | nippd | nipped b4 pits | nippped | \
    pistn scuffed | pston nipped | pist seized | bore scufd | scufed piston | scuffd | skuffed piston | scuff | \
    scuffs ex side | pickup ex skirt | pick up ex side | alu on plug | alu specks plug | ali specks | \
    silver balls plug | specks plug | dets | det | deto | deto!! | pinged | ping | PING! | ping L3 | pinged L3 T6 | \
    pink | pinking | knock | knocked | knocking | tite | went tite | got tite on the straight | \
    tigt on the straight | seizd lap 3 | lckd up on straight | lock up on straight | lockup on straight | lock up | \
    lockup | full lock up | engine lock-up | engine lockup | motor lock up | motor stopped like a brick wall | \
    came to a stop like hitting a brick wall | it hit a wall at 12k | pulled up short, engine solid | \
    engine went solid | engine wouldn't rotate | it wouldn't push start after, locked | \
    had to push it back, piston stuck | rear wheel wouldn't turn in gear | wouldn't roll in gear | \
    clutch in and it rolled, engine solid | it went quiet and the rear locked | sudden silence then a locked rear | \
    went silent on the straight | engine went quiet on the straight | it cut then came back | \
    cut clean at 12 then came back when i rolled off | motor just signed off | engine signed off | \
    it said goodnight on lap 3 | it threw its hand in | it spat its dummy | engine cried enough on the last lap | \
    it cried enough | it went west | motor gave up on the straight | it gave up | it handed in its notice | \
    engine finished itself off | it self destructed | exploded on the straight | engine exploded | motor exploded | \
    it lunched itself | ate its piston | ate the top end | munched a piston | chewed the piston | piston in bits | \
    piston in pieces | bits of piston in the pipe | bits of ring in the exhaust | found ally in the exhaust | \
    ali flakes in the pipe | bits of metal in the crankcase | sparks out of the exhaust | sparks from the stinger | \
    white sparks from the pipe | glitter in the exhaust | glitter on the plug | plug covered in glitter | \
    shiny flecks on the plug | plug shows ally | plug splashed with ali | plug has metal on it | \
    plug coated in aluminium | plug bridged | plug bridged with metal | whiskered plug | \
    plug gap closed up with metal | plug closed up | plug bone white and speckled | plug has spots | \
    black pepper on the porcelain | salt and pepper on the plug | picked up on the thrust face | picked-up piston | \
    heavy pickup | pick ups on the skirt | tramlines in the bore | tramlines on the piston | \
    vertical lines on the piston | streaks on the skirt | scratches down the bore | scratches by the exhaust port | \
    scratches in the bore | piston has tramlines | piston lines by the exhaust | polished patches on the piston | \
    shiny on the exhaust side of the piston | rub marks on the skirt | contact marks on the skirt | \
    bright spots on the skirt | hot spot on the bore | blued piston | skirt blued | \
    piston skirt blackened, stuck ring | ring gap facing had melted | ring ends melted | top ring stuck in groove | \
    ring sticky | ring seized in groove | ring is stuck fast | ring nipped | rings nipped in the grooves | \
    ring groove hammered | ring land pinched | land collapsed on the ring | pinched ring | pinched the ring | \
    rings pinched | ring pinched by the land | bike seized on me | it seized on him | siezed again!! | \
    2nd seizure of the day | another nip | a nip at the end of the straight | three nips today | several nips | \
    multiple nips | nips on lap 2 and 4 | it keeps nipping | keeps nipping up | kept nipping | keeps seizing | \
    kept seizing | tends to nip | tends to seize | wants to nip | threatened to seize | threatened to nip up | \
    trying to seize | tried to seize | tried to nip | nip-up | nipup | nipped-up piston | had a nip up | \
    had a nip-up on lap 4 | had two nip ups | slight nip up | small nip up | light nip-up | just a nip up | \
    only a nip | just a nip | tiny nip | wee nip | mini nip | micro nip | a teeny nip | quarter seizure | \
    1/4 seizure | halfway to a seizure | sticky on the straight | stuck slightly | slight stick | slight sticking | \
    bit of sticking | it was sticking at the top | felt sticky | got sticky | engine got sticky on the straight | \
    it picked up and slowed | felt it drag | felt it dragging | felt it pull itself down | could feel it tightening | \
    could feel it binding | could feel it nipping | i could feel it going | felt it going | \
    felt it going off, shut it | heard it going | it started going tight | started to go tight | \
    starting to tighten | getting tight at the top | goes tight when hot | goes tight | goes stiff | going stiff | \
    locked the engine | locked the motor | locked the back end | locked the back wheel on the straight | \
    locked the rear on the straight | back locked | rear locked | back end locked up | \
    the back end let go, clutch saved it | rear end snapped round, engine locked | \
    nearly over the bars when it locked | chucked me off when it nipped | threw me when it seized | it bit | \
    the piston bit | it bit the bore | it grabbed the bore | nothing but pinging | all it did was ping | \
    does nothing but ping | no power then bang | no revs then locked | no oil, seized | no oil in it and it seized | \
    no fuel so it leaned out and seized | no premix, nipped | no water, nipped up | no coolant so it nipped | \
    no choke and it seized | not enough oil, seized | not rich enough, nipped | not enough fuel, it pinged | \
    not enough main, pinging | not enough jet it pinged | not rich enough and pinging | not a good day, seized | \
    not my day, seized | not long before it seized | not even two laps and it seized | \
    never even got to lap 3 before it seized | never again on 170, seized | never run 170 again, seized | \
    didn't last, nipped on lap 2 | didn't last a lap, seized | didn't make the flag, seized | \
    did not go far before it seized | didn't get to the hairpin, it seized | didn't go up on the main and it seized | \
    didn't change the main and it nipped | should not have gone down, nipped | shouldn't have leaned it, pinging | \
    wasn't rich enough and nipped | wasn't enough and it pinged | couldn't believe it, seized | \
    can't understand why it seized | don't know why it seized | dont know why it nipped | do not know why it seized | \
    no idea why it pinged | not sure why it seized | never know when it will seize | never thought it would seize | \
    never expected it to seize | didn't expect it to seize | didn't think it would ping | \
    didn't hear it ping but the plug has specks | didn't hear the knock, head is pitted | not surprised it seized | \
    no surprise it seized | no wonder it seized | without oil it seized | without warm up it seized | \
    without the extra jet it pings | without the 180 it pings | nothing changed but it pings now | \
    nothing changed and it pinged | nothing changed, pings | nothing different, nipped | \
    nothing helped, still pinging | nothing helps it still pings | neither jet stopped it pinging | \
    neither jet stopped the pinging | no jet stopped the pinging | 178 didn't stop the pinging | \
    178 hasn't cured the knock | didn't cure the det | not stopped pinging | hasn't stopped pinging | \
    never stopped pinging | not as much pinging | not so much pinging | not much pinging | not too much knock | \
    not so bad pinging | isn't pinging as badly | not pinging as much | doesn't ping as badly | \
    not quite as much det | didn't ping as much | didn't ping so much | pinged less | doesn't ping much | \
    didn't seize badly | didn't seize completely | not seized solid | not totally seized | never fully seized | \
    not a bad seizure | not a big nip | not a serious nip | not a full lock-up | not just pinging, seized | \
    not only pinging but nipped | not only did it ping it seized | not the first time it seized | not the first nip | \
    not for the first time it nipped | not again! seized | no! seized | no, it seized | no it seized | \
    no - seized again | no, pinging | nope, seized | \
    Good start, P3, then it nipped under load out of 9 and I pulled in | 172/8-21 clip 3, 18C, nipped L5 | \
    left cyl down on comp after run | second pot scuffed ex side only | rear cyl ring stuck, front ok | \
    front cyl fine, rear cyl nipped | LH nip, RH ok | mag side pot nipped, clutch side mint | pto pot holed | \
    top pot seized | bottom pot seized | inner pot nipped | lost a cylinder on lap 3 | \
    went onto one cylinder on the straight | running on one | dropped onto one | dropped a cylinder at the top | \
    one pot went quiet | lost one pot | lost a pot | lost a barrel | lost an engine | lost the engine | \
    lost the motor on lap 2 | lost motor | lost another engine | another motor gone | piston is scrap | \
    barrel for replate | bore needs a hone, nipped | cleaned the bore with acid | \
    caustic on the bore to get the ally off | acid to clean ali off the bore | emery on the piston | \
    dressed the piston | filed the high spots off the piston | rubbed the piston down with wet and dry | \
    wet and dried the barrel | engine nipped the inside of the barrel | engine nipped past 11000 | \
    engine nipped through the esses | the motor nipped between turns 4 and 5 | engine pinged the whole way | \
    engine pinged him all race | engine locked the front straight | motor locked up the hill | \
    engine locked away in sixth | piston nipped back in the bore | bore nipped across the bridge | \
    engine seized the lead | motor seized in first place | engine seized opportunity | the engine seized the moment | \
    cylinder seized the day before | piston seized position at tdc | motor seized pole lap | barrel seized inside | \
    knocking gone on 180 but back when hot | knock stopped us | deto stopped play | deto stopped our race | \
    pinging stopped the run | det ended our day | det finished the piston | pinging ended it | pinging killed it | \
    knock killed the piston | pinging was gone on lap 1 but came back | pinging is gone up to 11 | \
    pinging gone mid range, still up top | pinging gone half throttle | pinging gone at half | \
    pinging gone, except flat out | pinging now gone at low revs | pinging gone when cold | pinging gone first lap | \
    det counts 30 | dets on the counter | 40 dets | 12 dets a lap | 3 dets | 40 counts of det | counted 20 dets | \
    knock events 14 | knock events | knock retard active | knock retard 4 deg | ecu retarded 6 degrees | \
    ecu pulled 4 degrees | ecu pulled back the spark | ecu pulled timing | logger shows knock | logger shows det | \
    knock on the logger | knock trace spikes | knock voltage up | knock level high | knock level 4.5V in 6th | \
    deto bar red | deto bars full | det meter pegged | det needle in the red | knock needle jumping | \
    deto needle off the end | det meter to the stop | deto kit going off | deto phones full of it | \
    det going off in my ears | could hear the det in the cans | audible det | det audible | lots of det | \
    heaps of det | bad det | det bad | det again | more det | still det | still detting | still pinging | \
    still pings | still a ping | still knocks | still knock | still a bit of knock | still pinks | \
    still pinking a bit | pinks a bit | pinks under load | pinks on opening | pinks on the pipe | pings on the pipe | \
    pings coming onto the pipe | pinged on the way up | pings at part throttle | pings half throttle | \
    pinged in the mid | pinged at half | pinged in third | pings off the bottom | pinging off idle | \
    dets off the pipe | seizd agn | nipd agn | sezd T3 | SEIZED T3 | sized up solid | engine sized | motor sized up | \
    it sized on the straight | piston sized | nipped+freed | nipped/freed | nipped...freed | seized. twice | \
    nipped(slight) | seized-ish | seizedish | nipped ish | nippedish | pingingish | nip?? | nip? | ping? | det? | \
    knock? | tight? | nip!! | bit tight? | tight L3 | tight lap3 | tight on str | tight @ end of straight | \
    went tight @ end of str8 | nip @ top | nip top of 6th | nip in 6th | nip flat out | nip at 12k | \
    nip after 5 laps | nip mid straight | nip on overrun | ping 6th | ping top | ping flat out | ping in 6th | \
    ping mid | ping at 12k | ping up hill | ping on load | ping coming out T4 | ping ex turn 4 | det 6th | deto 6th | \
    knock 6th | knock in 6th | knock flat out | knock under load | knock up the hill | knock at the top | \
    knock mid straight | knocks mid straight | knocking mid corner exit | rattle 6th | rattles 6th | rattles in top | \
    rattle up top | rattles up top | rattled up top | pinging lots | pingin lots | pingng | pinging alot | \
    pining up top | pnging | pinging abit | abit of det | abit of pinging | abit tight | abit of a nip | slite nip | \
    slite seizure | slight seizur | seizuer | seisure | seizer | seizeur | sezure | seazure | siesure | cease up | \
    ceasing up | siezeing | seesed | seesed up | siesd | seizied | seizued | sized solid | locke up | locked uo | \
    lcoked up | loked up | locked p | stcuk | stukc | stuc | nippped up | nipepd | nippe dup | nippd up | nipp up | \
    nipp | grippage | moteur serré | il a serré | ça cliquette | cliquetis | cliquette à fond | klingeln | klingelt | \
    gefressen | hat gefressen | Klemmer | Motor geklemmt | Kolben geklemmt | festgebrannt | vastloper | vastgelopen | \
    pingelt | detoneert | ha grippato | grippata | battito in testa | batte in testa | gripó | gripó el motor | \
    detonó | detonación | det counter éteint | kolbenfresser | Fresser Zylinder 2 | skurit | leikkasi | \
    no compression after | lost comp | comp gone | comp down to 90 | comp 80 was 150 | no kick in it | \
    kick has gone soft | soft kick | feels soft on the kicker | spins over with no resistance | \
    no resistance on the kickstart | spun over freely with no compression | won't start, low comp | \
    ran out of puff then locked | ran on its own then locked | ran away then nipped | \
    revved its nuts off and seized | screamed up then locked | surged and nipped | hung on the revs and nipped | \
    hesitated at the top, then nipped | ran out of fuel and seized | stutter then seized | went flat, then nipped | \
    went flat and tight | went off the boil and nipped | sounded sharp then seized | went dead sharp then nipped | \
    ringing noise then it locked | went crisp then stuck | went metallic | metallic noise at the top | \
    metallic at full throttle | metallic ring at peak | ringing at the top | ringing noise flat out | \
    sounded like a tin can | like a tin of nails | rattly at the top | rattly under load | rattly flat out | \
    sounded dry | dry sounding at the top | sounded harsh at the top | harsh noise at 12000 | \
    hard edge to the sound up top | hard sound at the top | fizzing at the top | freed the piston off with a bar | \
    freed it off with a tyre lever on the flywheel | had to knock the piston out | \
    knocked the barrel off with a mallet, stuck on the piston | barrel wouldn't come off the piston | \
    piston would not come out of the barrel | drifted the piston out | pressed the piston out of the barrel | \
    piston jammed in the barrel | piston jammed | engine jammed | motor jammed solid | jammed up on the straight | \
    motor jammed up | crank locked | crank solid | crank won't spin | flywheel won't spin | won't spin over | \
    wouldn't spin | it won't spin | wouldn't crank | roller starter couldn't spin it | \
    wouldn't bump, rear just skids | rear just slides when bumped, engine locked | \
    back wheel just skids when bump starting | engine nipped, brakes fine | piston in pieces, gearbox fine | \
    engine lock-up, brakes ok | lock up on lap 3, front brake fine | motor went stiff, suspension good | \
    det counter 40, clutch fine | went tight on the straight, tyres good | pinged in top, front end good | \
    kickstart locked, gear lever fine | brakes good, front end good, nipped on the straight | \
    front end mint, engine locked up | new front tyre, it locked up on the straight | \
    front tyre new, locked up solid in sixth | seized, lost the lead | took the lead and seized | led then seized | \
    passed him then seized | passed Dave and it nipped | nipped while passing him | nipped as i went past him | \
    nipped behind him | nipped going past the leader | nipped chasing the leader | it nipped past halfway | \
    nipped ahead of turn 1 | nipped by lap 4 | nipped by half distance | nipped by the end | \
    nipped between laps 3 and 4 | nipped between the hairpin and the kink | it nipped into sixth | \
    it nipped out of turn 9 | it nipped through turn 4 | it nipped around the back | it nipped home straight | \
    it nipped to buggery | it nipped to death | she nipped under me | bike nipped under me | \
    kart nipped under me on the straight | nipped off the throttle | nipped off load | nipped off cam | \
    nipped off the gas | nipped off the power | nipped off idle | nipped off the line | nipped off the start | \
    nipped back at 11000 | nipped back on the gas | nipped back down the straight | \
    nipped across the top of the rev range | nipped across the rev range | nipped across the bridge | \
    nipped inside the bore | nipped inside a lap | nipped inside 3 laps | nipped inside two laps | it nipped inside | \
    nipped round lap 4 | nipped around 11500 | nipped around lap 6 | nipped through the top of fifth | \
    nipped through lack of oil | nipped through heat | nipped through being lean | nipped past 12000 | \
    nipped past 12 | nipped past peak | nipped past peak power | nipped ahead of peak | nipped out on lap 2 | \
    nipped out wide open | nipped out in practice | nipped out at the far end | nipped into the headwind | \
    nipped into wind | nipped up to a stop | nipped up again up the hill | nipped up up the hill | \
    nipped by running lean | nipped by heat | nipped on him | nipped her | nipped us out of the race | \
    nipped me out of third | holed up the exhaust side | it holed up top | practice 2: nipped, raised main to 178 | \
    heat 1 ok, heat 2 nipped, final dns | nipped in warm up, cold | nipped in the heat | \
    nipped on the dummy grid lap | nipped sat on the line | nipped waiting at the start | nipped on start up | \
    nipped when warming it up | nipped on the stand | nipped in the paddock | it seized on the stand | \
    it seized in the pits warming up | seized in the van park | seized at tickover | seized on tickover | \
    nipped at idle | seized on deceleration | nipped under braking | nipped on the brakes | \
    it nipped braking for turn 1 | engine seized under braking | seized on the brakes into turn 1 | \
    it seized braking for the hairpin | seized while braking | nipped changing down | nipped on the downshift | \
    seized changing down | nipped as i shut off | nipped when i shut the throttle | seized when shutting off | \
    nipped rolling off | smelt hot and nipped | smelled hot then locked | temp went to 75 and nipped | \
    water temp 80 then seized | head temp 180, nipped | egt 720 then nipped | cht over 200 and it nipped | \
    cooked at 85 deg and seized | boiled over and seized | pump belt off, seized | water hose off and it seized | \
    head gasket went and it seized | air leak, seized | crank seal gone, seized | base gasket blew, nipped | \
    carb rubber split and it nipped | main jet fell out, seized | main jet blocked, seized | \
    fuel tap half shut, nipped | breather blocked, seized | fuel starvation, nipped | ran dry, seized | \
    ran out of fuel on the straight and it nipped | no 2T in fuel, seized | forgot the oil, seized | \
    wrong mix, nipped | oil pump failed, seized | bad fuel, pinging | pump fuel, pinging | 95 octane pinging | \
    old fuel pinging | water in fuel, seized | clutch slipped then engine seized | chain came off after it seized | \
    gearbox ok, engine seized | gearbox felt tight, engine seized | brakes dragging and engine nipped | \
    wheel bearing gone and it nipped | crashed when it seized | crashed after the engine locked | \
    crashed, engine seized | fell off when it nipped | high side when the rear locked | highsided, locked up | \
    highsided on the straight, locked rear | lowsided when it locked | came off when it locked solid | \
    thrown off when it locked up | clutch saved me | the clutch saved me | saved it on the clutch | \
    got the clutch in | got the clutch in in time | fingers on the clutch saved me | \
    whipped the clutch in when it went | coasted in, engine locked | coasted in with the clutch in | \
    rolled to a stop with clutch in | pushed in, seized | pushed back, locked | towed back, engine seized | \
    on the trailer, seized | recovery truck, seized | dnf seized | DNF - seized | dnf (seized) | DNF: nipped up | \
    dnf nip | ret. seized | ret seized lap 4 | retired, seized | retired: pinging | out lap 2 seized | \
    did not finish, seized | didn't finish, seized | didn't finish, it nipped | did not finish: seized | \
    did not start, seized in warm up | could not start heat 2, engine seized | could not finish, nipped | \
    couldn't go on, locked up | wasn't able to finish, nipped | one nip | 1 nip | 2 nips | nip x2 | nip (slight) | \
    nip, slight | slight nip, freed | nipped slightly, carried on | nipped slightly, ran on | nipped, carried on | \
    nipped but carried on | nipped but got away with it | got away with a nip | got away with it, nipped | \
    lucky, nipped | lucky not to seize | lucky it didn't seize | close to seizing | close to a seizure | \
    near seizure | near-seizure | nearly a nip | nearly nipped | almost nipped | almost a seizure | \
    on the edge of a nip | on the verge of det | borderline det | borderline pinging | verge of pinging | \
    just starting to ping | just on the edge of pinging | starting to det | beginning to ping | beginning to knock | \
    about to seize | going to seize | thought it was seizing | thought it had seized | thought it nipped | \
    i think it nipped | think it may have nipped | could have nipped | might have seized | may have pinged | \
    may be pinging | possibly pinging | sounds like pinging | sounds like det | sounded like it was pinging | \
    sounded like pinging | sounds pingy | sounds like knocking | maybe det | maybe a ping | maybe a slight knock | \
    hint of det | hint of pinging | hint of a nip | trace of det | traces of det | trace of pick up | touch of det | \
    touch of pinging | touch of a nip | sign of det | signs of det | signs of seizure | signs of scuffing | \
    signs of detonation on the head | signs of picking up | evidence of det | evidence of seizing | \
    showing signs of nipping | showing det | shows det | shows signs of seizure | never got rid of the pinging | \
    can't get rid of the det | couldn't get rid of the pinging | tried to stop it pinging | \
    unable to stop it pinging | failed to avoid pinging | had to stop pinging | had to stop it seizing | \
    nothing to stop it pinging | hard to stop it pinging | still not stopped pinging | \
    never managed to stop it pinging | it stopped seized | engine stopped seized | engine stopped stuck solid";

const OF_OTHER_THINGS: &str = "\
    nipped under him into turn 3 | pinging has stopped with the new fuel | pinged him a message | seized the lead | \
    nipped past two on the brakes | nipped under number 44 at the hairpin | nipped between numbers 44 and 12 | \
    nipped across to the inside | nipped across his nose | nipped in between the two leaders | \
    nipped ahead off the line | nipped off to the shops | nipped round the outside | nipped him at the flag | \
    nipped by on the last lap | nipped into second | nipped into third place | nipped through for third | \
    nipped inside at the chicane | nipped up the order | nipped out to get tyres | nipped over to the parts van | \
    nipped to the loo | nipped back to the van for a spanner | nipped home for the spare wheel | nipped in for fuel | \
    nipped ahead at the start | nipped the bolts up | nipped the nuts | nipped up the plug | \
    nipped up the cable tie | nipped up the axle | nipped the front brake | cold and nippy | nippy out of the turns | \
    nipped my finger in the chain | pinged off the kerb | pinged the kerb | pinged the marshal | \
    pinged a text to the crew | transponder pings ok | stone pinged off the radiator | \
    ping from the transponder loop each lap | ping pong start | phone pinged | pinged the stopwatch | \
    knocked out of the race | knocked back to fifth | knocked two tenths off | knocked it down a gear | \
    knocked the stand over | knocked down to 174 | knocked the main down to 174 | knocked into by 44 | \
    knocking off early | locked the front under brakes | locked front at turn 1 | front wheel lock at hairpin | \
    locked the rear into the hairpin on the brakes | locked the van | padlocked | locked in the toolbox | \
    steering lock | on full lock at the hairpin | lock wired the drain | lock nut loose | lock-wired | \
    lock stop hit | locked in 4th overall | det counter off today | deto counter in the van | deto counter at home | \
    det light never lit all day | deto counter fitted | det counter works | det counter tested ok | \
    det counter calibrated | det counter not fitted | forgot the det counter | no det counter today | \
    det counter reads 0 | det counter read 0 flat out | deto counter zero flat out | \
    deto counter quiet flat out all day | deto counter nothing in top | deto light off flat out | \
    deto light off on the straight | knock sensor wire broken | det cans quiet flat out | pinging all gone | \
    pinging stopped | pinging is gone | pinging gone for good | pinging gone at last | \
    pinging gone since the new fuel | knock gone | det gone completely | knocking has stopped | \
    pinging has gone away | pinging went away | pinging cured with better fuel | zero det all day | zero knock | \
    zero signs of seizing | zero wear, zero scuffing | zero seizures | zero nips | zeroed the counter | \
    seized the lead at the start | seized second place | seized the lead on the inside | seized his chance | \
    seized the opportunity | seized the advantage | seized control of the race | seized pole | seized the moment | \
    seized the initiative | seized brake caliper | wheel nut seized | seized exhaust stud | seized bolt | \
    grub screw seized | froze in the wind | tight corner exit good | tight on time | tight into the hairpin | \
    stuck to the plan | stuck behind 44 | stuck in traffic | stiff springs | stiff rear shock | stiff clutch lever | \
    stiffer fork | neck stiff | felt stiff after lunch | rear felt stiff on the straight | gear change stiff | \
    tinkling bell | rattle from the clutch | rattly exhaust bracket | chain clatter | crackles on the overrun, rich | \
    crackling radio | radio crackling | marbles on the track in turn 3 | marbles off line | gravel on track | \
    gravel in the paddock | wall of spectators | hit a wall of wind | hit the wall | brakes on late | \
    brakes dragging | put the brakes on late | suddenly slowed traffic | slow down boards out | pink bike | \
    pink leathers | pink slip | in the pink | ran clean, no det | no det no nips | no sign of nipping | \
    no hint of pinging on the straight | not a nip all day | not a single ping | never once pinged | \
    did not ping at all | didn't ping once | no pinging at all flat out | no detonation on the counter | \
    no knock at 12000 | no rattle at 12000 | no tightness at 12000 | didn't nip | did not nip up | \
    hasn't seized since | not seized since the seal | has not pinged since | never seized | has never seized | \
    never nipped | no nips | nothing nipped | nothing pinged | nothing tight | not stiff | kickstart not stuck | \
    engine free | turns over freely | engine turns freely | good compression, no marks | no marks on the piston | \
    no marks in the bore | no scuffs | bore clean no scuffing | piston clean no pick up | no pick up | \
    no pick-up marks | plug clean no specks | no pepper | no metal on plug | no stiffness | stuck to 172 main | \
    stuck with 172 | rear stepped out at 9000 | flat spot at 9000 | stopped at 12000 | held 12000 all the way | \
    limiter at 12800 | clutch grabs at 9000 | clutch let go at 9000 | picks up at 9000 | pulls from 9000 to 12500 | \
    rev counter stuck at 9000 | tacho stuck at 12000 | tacho needle stuck at 11000 | tacho froze at 11000 | \
    logger froze at 11000 | rear slid at 8000 | bog at 8000 | slow at the start | slow lap behind traffic | \
    suddenly rained on the straight | suddenly slowed by traffic on the straight | slowed suddenly for yellow flags | \
    rear skidded into the hairpin on the brake | felt the front lock | felt the rear lock under braking | \
    felt the clutch grab | felt the front tuck | blown fork seal | blown fuse | blown away | \
    end gone on the cable | end of the cable gone | light gone | dropped a ring spanner | threw a wobbly | \
    threw the bike into turn 2 | threw it away at the last corner | broke a ring spanner | snapped a lever | \
    ate lunch late | ate a burger | chewed tyres | chewed up the rear tyre | crackled on the overrun | \
    crackling exhaust | tinkling cooling pipe after the run | chain clattering | clutch clatters at idle | \
    basket rattle | tinny silencer | pinky finger broken | pink paint | pink overalls at the front | stiff forks | \
    front stiff | suspension felt stiff on the straight | rear end felt stiff | chassis stiff | frame too stiff | \
    stiff axle better | kart too stiff in the hairpin | stiffer rear axle | chassis went stiff with the new axle | \
    my back went stiff | neck stiff after race | clutch lever stiff | throttle went stiff | steering felt stiff | \
    locked up at home | locked up the workshop | lock up the shed | key to lock up | lock wire done | lock the van | \
    front lock up into turn 1 | lock-up under braking | rear lock-up on the brakes | \
    locked onto the back of the leader | locked in fourth place | locked in on 172 main | locked in the settings | \
    locked in the tuning for tomorrow | locked out of the paddock | locked away in the van | \
    locked down the schedule | seized the moment and passed him | seized the early lead | seized the lead from Dave | \
    seized the chance to pass | seized second place off the line | nipped past the leader at the line | \
    nipped past two at the start | nipped by two karts | nipped through the gap | nipped into the lead | \
    nipped into the gap | nipped into the pits for fuel | nipped out of the pits early | nipped up to the office | \
    nipped over to scrutineering | nipped down to the shop | nipped across the infield | nipped to race control | \
    nipped around the outside of him | nipped back in front | nipped the win | nipped a place | eng mint | \
    eng pulled well | eng oil changed | pist clean | pist new | strt line good | strt good, 4th | mtr sweet | \
    exh spring broke | ex wife turned up | passed Ali on the inside | Ali on the inside | bought an ex works kart | \
    alu swingarm fitted | ali footrest broke | pist and ring new | det counter quiet on 172 | \
    det counter quiet at 12500 | det counter zero at 12500 | deto counter 0 all day | \
    deto counter zero, red flag on lap 3 | det counter off, ran well | deto counter fitted, no counts | \
    new deto counter fitted, reads 0 | knock sensor fitted and quiet | det cans fitted, nothing heard | \
    pinging gone, 180 is right | pinging gone at last, 180 stays | good run, P3, no det | \
    172/8-21 clip 3, 18C, all good | left cyl 150 psi, right 148 | both pots mint | new pistons both sides | \
    rear cyl plug tan, front tan | lost a place | lost a lap | lost the number plate | lost the engine cover bolt | \
    running on one set of tyres | running on one gear short | dropped onto the back straight | one pot of coffee | \
    piston number 3 fitted | new piston fitted | barrel off for inspection, all good | barrel honed over winter | \
    emery on the brake disc | dressed the sprocket | lap counter 40 | lap counter said 12 | counter steer | \
    counter shaft seal | rev counter went mad | hour counter 40 | counts laps | count 5 laps | logger shows 12500 | \
    logger trace spikes | ecu map 3 | ecu reset | knocked the mirror | level high in tank | needle in the red box | \
    needle jumping on the tacho | phones off | going off early | more grip | still quick | still rich | \
    still a bit rich | sized the main jet | sized the piston at 53.94 | bore sized to 54.02 | jet sized 172 | \
    nip of brandy | a nip in the air | nip to shop | nip out for tyres | tight T5 line | tight lines | tight gaps | \
    tight bunch lap 3 | tight race with Joe | ping pong | top T3 exit | ex Dave's pipe fitted | strt ok | \
    stuck in second place | rattles from the exhaust bracket | rattle from the seat stay | rattled over the kerb | \
    rattled off five laps | rattled my teeth | ceasefire with the organisers | play ceased for rain | rain ceased | \
    practice ceased at noon | easy to kick over | kicks over easily, starts first kick | soft compound | soft front | \
    soft in the kerbs | ringing phone | phone ringing in the pits | ears ringing after the race | metallic paint | \
    metallic blue pipe | buzzing after the win | crowd buzzing | fizzing with excitement | dry track | \
    dry and dusty | dry line only | dry clutch rattle | dry sump | sharp handling | sharp in turn 2 | crisp all day | \
    crisp off the bottom | sounded sharp | hard rear | hard compound tyre | hard edge on the kerbs | \
    harsh over the bumps | suspension harsh at the top of the hill | chain slack, tightener adjusted | \
    chain tightener new | picking up well | picking good lines | picking the right gear | suck it and see | \
    airbox sucks well | jammed in traffic | jammed traffic on the way in | chain jammed | gear jammed | \
    throttle jammed | jammed the throttle open | wouldn't spin the rear, too much grip | rear spins up | \
    wheel spin off the line | bump start ok | bump started first time | crank case drained | crank seals new | \
    crank checked | pressed the new bearing in | pressed the crank pin | drifted the bearing out | drifted wide | \
    knocked the bearing out | struck a cone | struck by a stone | sticker on tank | stock pipe | stack on lap 1 | \
    look at the plug tomorrow | looked good | locker key | licked the setup | pistol start | starter pistol | \
    nipped past him on the straight at 12000 | nipped by him flat out | nipped under him under braking | \
    nipped under his elbow | nipped off early to beat traffic | nipped off home | nipped off to get fuel | \
    nipped off at lunch | nipped across his front wheel | nipped across to the van | nipped across the grass | \
    nipped inside him | nipped inside on the brakes | nipped inside the leader | nipped round him | \
    nipped around him on the outside | nipped through on the inside | nipped through between two karts | \
    nipped out of his slipstream | nipped out of the slipstream | nipped out for practice | nipped out to the grid | \
    nipped into his slipstream | nipped into a gap | nipped into turn 1 ahead | nipped into P3 | \
    nipped ahead by a length | nipped ahead of him | nipped ahead into turn 1 | nipped home in third | \
    nipped home by a tenth | nipped to the front | nipped to P2 | holed up in the van | no signs of picking up | \
    no sign of seizure | no evidence of det | no hint of det | not close to seizing | nowhere near seizing | \
    not near seizing | no longer pinging | not pinging now | does not ping now | does not ping any more | \
    did not nip once | not nipped once | no nip this time | no nips today | no nip, no det | no more nips | \
    no more nipping | no more seizing | seizure free | det free | ping free | free of det | cured the pinging | \
    stopped the pinging | stopped it pinging | got rid of the pinging | pinging sorted | det sorted | pinging fixed | \
    no worries about seizing | no fear of seizing | never looks like nipping | won't seize on this | \
    won't nip on 178 | should not nip on 178 | shouldn't ping on this fuel | 178 to avoid a seizure | \
    went up to 178 to stop it seizing | up two to stop pinging | richer so it won't nip | richer so it doesn't ping | \
    safe, no seizure risk | safe jetting so no seizures | brakes good | braking later | braked too late | \
    locked up under braking into turn 1 | locked front wheel on the brakes | rear brake locked | rear brake locking | \
    front brake grabbing | brake stuck on | brake binding | brake caliper seized, rebuilt | brake pedal stuck | \
    brake disc warped | bell rung for last lap | bell lap | last lap bell pinged | rider tired | \
    rider locked elbows | rider froze | rider cramped up | his knee locked | arm pump, hands locked | \
    hands seized up | wrist seized | shoulder locked | went up to stop it pinging | 178 to stop it seizing | \
    rid of the pinging at last | got rid of the det | richer stopped it pinging | 178 cured the det | \
    to avoid pinging | richer to prevent a seizure";

fn said(text: &str) -> Said {
    said_in(text, WrittenIn::Anywhere, &OwnNames::default())
}

fn is_taken(text: &str) -> bool {
    matches!(said(text), Said::Lean(_) | Said::Unclear { .. })
}

#[test]
fn what_is_written_in_a_hurry_of_an_engine_is_taken_as_lean_or_asked() {
    let missed: Vec<_> = OF_THE_ENGINE.split(" | ").filter(|text| !is_taken(text)).collect();
    assert!(missed.is_empty(), "{missed:#?}");
}

#[test]
fn what_is_written_in_a_hurry_of_riding_and_tools_is_no_lean_run() {
    let wrong: Vec<_> = OF_OTHER_THINGS.split(" | ").filter(|text| is_taken(text)).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_slip_of_the_finger_is_read_as_it_was_meant() {
    for (text, meant) in [
        ("engine lcoked up", "locked up"),
        ("stcuk on the straight", "stuck"),
        ("skuffed piston", "scuffed"),
        ("it siezed at the top", "siezed"),
        ("pnging flat out", "pinging"),
    ] {
        let Said::Lean(sign) = said(text) else { panic!("{text}: {:?}", said(text)) };
        assert_eq!(sign.word(), meant, "{text}");
    }
}

#[test]
fn a_bike_keeps_its_name_however_it_is_spelt() {
    let said =
        |own: &[&str]| said_in("Nippen ran well", WrittenIn::Anywhere, &OwnNames::of(own.iter().copied()));
    assert_eq!(said(&["Nippen"]), Said::Nothing);
    assert!(matches!(said(&[]), Said::Lean(_)));
}
