//! What is written on ordinary race days of the track, the weather, the tools and other troubles: none of it is a lean run.

use super::super::said_in;

use crate::advice::learning::heard::words::sentence::OwnNames;
use crate::advice::learning::heard::words::signs::{Said, WrittenIn};

const ORDINARY: &str = "\
    Great day, two wins, bike pulled hard to 12500 on the straight | \
    Started from row 3, picked up four places, finished P2 | Rain in heat 2, slid off at turn 4, no damage | \
    Plug chop at the end of the straight, nice brown | Changed to 39 rear, better out of the hairpin | \
    Down on top speed, up on drive | Reeds chipped, replaced before heat 2 | \
    Clutch slipped off the line, new plates for the final | Gear linkage came loose, fixed in the paddock | \
    Fuel pump hose split, replaced | Exhaust spring broke on lap 6 | Pipe cracked at the stinger, welded | \
    Rear brake pads worn out | Front brake spongy, bled | Chain jumped off at the chicane | \
    Chain stretched, two links out | Sprocket worn | Rear axle bent after kerb | Carb flooded on the grid | \
    Float needle stuck, flooded | Choke left on for two laps, rich | Slide stuck open once, cleaned | \
    Throttle cable frayed | Plug fouled on the warm-up | Coil cracked, misfire at 9000 | Kill switch shorted | \
    Stator failed, no spark | Battery flat, swapped | Wheel bearing noisy | Steering stiff, bearing greased | \
    Shock too soft | Fork oil changed to 10W | Tyre blistered on the left | Tyre pressures 1.2 front 1.3 rear | \
    Grip good, track rubbered in | Track hot and greasy | Wind behind on the straight, over-revved | \
    Headwind, could not pull 6th | Over-revved to 13200 downhill | Bogged off the line, rich | \
    Blubbery off the bottom | Four-strokes at the top end, too rich | Crisp everywhere, best yet | \
    Sweet as a nut | Sharp off the corners | Lazy at the bottom, strong at top | \
    Flat in the mid, clean at top | Hesitates at 8000 then clears | Spits back at 8000 | \
    Stumbles out of the hairpin | Smoky on start, then clean | Runs cold, 42 C, radiator taped | \
    Runs hot, 62 C, tape off | Temp steady at 50 | Egt 620 steady | Egt 640 in top | \
    New piston and ring fitted, ran in for 20 minutes | New crank, ran in gently | Ring gap 0.25 | \
    Squish 0.95 all round | Timing set to 1.6 mm | Head nuts torqued | Head retorqued after the first run | \
    Barrel nuts checked | Base gasket 0.4 fitted | Reed petals 0.40 fitted | \
    Main 172, needle clip 3, pilot 45 | Jetted up two for the cold | Down one on the main for the heat | \
    Screw out half a turn | Fuel mixed at 25:1 | New batch of fuel | Oil changed in gearbox | \
    Gearbox oil grey, changed | Gearbox a bit notchy | Missed a shift into fifth | \
    False neutral at the hairpin | Kicked out of third twice | Clutch drags when hot | Clutch grabs when cold | \
    Rider unwell, parked it | Rider fell off at low speed | Stopped with a red flag | \
    Retired with a broken chain | DNF, chain | DNF, puncture | DNF crash | DNF, brake failure | \
    DNF electrical | out with a flat tyre | pulled in, visor fogged | pulled in to check the chain | \
    pulled in early to save the tyres | came in to change the main | coasted in to save fuel | \
    switched off on the straight, coasted in | Shut off early on the straight for traffic | \
    backed off down the straight for the yellow | closed the throttle and clutched for a plug reading | \
    clutch in, kill switch, plug chop, tan | cut it clean at the end of the straight, plug good | \
    Bike bogged down in the sand | Lock-to-lock through the esses | Held it wide open for three laps | \
    Full bore down the straight | Flat out all day | Bang on the pace | Nip and tuck for ten laps | \
    Pipped at the post | Pipped on the line | Ripped the seat | Zipped past him | Tipped it in too early | \
    Dipped under the minute | Dinged the pipe | Dinged the rim | Dented the tank | Singed my boot | \
    Ringing in the ears | Bell lap confusion | Banging fairings into turn 1 | Bounced off the limiter | \
    Squirrelly on the brakes | Tucked the front | Lost the rear into turn 9 | Backed it into the hairpin | \
    Saved it on the knee | Saved it with a dab | Nearly over the bars on the brakes | Headbutted the screen | \
    Big moment over the crest, tank slapper | Locked bars with Joe | Cold tyres, off on the out lap | \
    Froze on the grid, numb hands | Boiling hot in leathers | Melting in the heat | \
    Burnt my hand on the header | Smoked the field | Killed it | Destroyed them in heat 1 | Ate his dust | \
    Scored a win | Marked the gear change points | Sized up the pass for two laps | Sized up the leader | \
    Metallic orange bodywork fitted | Knocked the cone at the chicane | Knocked a tenth off | \
    Rattled round to the finish | Whiskers from a win | Sparks from the footrest | Sparks off the belly pan | \
    Glitter helmet looked nice | Pinched a place at the flag | Pinched the inner tube | Pinched tube, flat | \
    Bit me on the start | Bit hard on the front brake | New pads bite well | Bridged the gap to the leaders | \
    Closed up on the leader | Closed the gap | Lines tidy through the esses | Racing lines better in heat 2 | \
    Patches of oil at turn 3 | Wet patches | Streaks on the visor | Went quiet in the pits | \
    Went west to the next meeting | Signed off by scrutineering | Hit a wall of rain | Hit a hedgehog | \
    Freed up a spring in the shock | Freed the brake caliper off with a bar | Pressed the bearing out | \
    Jammed it into second | Soft front, raised oil level | Kick start spring replaced | No kick back on start | \
    Dry sump checked | Wet and dry used on the fairing | Filed the gear lever | Dressed for rain | \
    Emery on the brake disc";

const ON_A_GOOD_PLUG: &str = "\
    metal clean, tan | tan, spots of oil | tan all round, no metal | good colour, alloy washer crushed | spot on | \
    tan with metal strap | metal ring clean, brown | brown, base metal showing";

#[test]
fn what_is_seen_on_a_good_plug_is_no_lean_run() {
    let said = |text: &str| said_in(text, WrittenIn::OnThePlug, &OwnNames::default());
    let wrong: Vec<_> = ON_A_GOOD_PLUG.split(" | ").filter(|text| said(text) != Said::Nothing).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
    for text in ["metal flecks", "ali on it", "light grey, spotty", "glitter on the nose"] {
        assert!(matches!(said(text), Said::Lean(_)), "{text}");
    }
}

#[test]
fn what_is_written_on_an_ordinary_day_is_no_lean_run() {
    let said = |text: &str| said_in(text, WrittenIn::Anywhere, &OwnNames::default());
    let taken = |text: &&str| matches!(said(text), Said::Lean(_) | Said::Unclear { .. });
    let wrong: Vec<_> = ORDINARY.split(" | ").filter(taken).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}
