//! The cautions that every piece of advice carries. Common practice, no source: they are what a careful tuner says.

/// Carried by everything that says what to change, whatever it says; for an injected bike [`PLAIN_AIR`] takes the place of
/// the one about jets.
pub const STANDING: [&str; 8] = [
    "A lean or over-advanced engine can seize and throw its rider.",
    "This is a starting point, not a setting: start rich and work down.",
    "Confirm it by reading plug and piston before any sustained full throttle.",
    "Never go leaner and more advanced in one step.",
    PLAIN_JETS,
    "Race fuels are toxic and flammable: keep them off the skin and away from flames.",
    "Run engines in the open air only.",
    "Follow the machine's manual, the event's rules and a qualified mechanic.",
];

/// What the calculation of a carburetor leaves out.
const PLAIN_JETS: &str = "The calculation knows plain jets only: air bleeds, reversion and pulsation are left out, so the bike may want more or less.";

/// What the calculation of an injected bike's trim leaves out, in place of [`PLAIN_JETS`].
pub const PLAIN_AIR: &str = "The calculation knows the density of the air only: what the pipe does to the filling is left out, so the bike may want more or less.";

/// Carried besides by whatever makes the engine run on less fuel.
pub const LEANER: &str =
    "This step takes fuel away: leave the ignition as it is until plug and piston have been read.";

/// What can hurt in a step that takes fuel away (common practice, no source).
const LESS_FUEL: &str = "Leaner: leave the spark alone. Read plug and piston before any sustained full throttle: too lean seizes the engine and throws its rider.";

/// What can hurt in any other (common practice, no source).
const ANY_STEP: &str = "Read plug and piston before any sustained full throttle: too lean seizes the engine and throws its rider.";

/// The cautions that are true of one step, in a line or two; all of them stand in [`STANDING`].
pub fn in_this_step(takes_fuel_away: bool) -> &'static str {
    if takes_fuel_away { LESS_FUEL } else { ANY_STEP }
}

/// The standing cautions, with the one for less fuel where it is due, and without jets where there are none.
pub(crate) fn for_step(takes_fuel_away: bool, injected: bool) -> Vec<String> {
    let leaner = takes_fuel_away.then_some(LEANER);
    let fitting = |caution| if injected && caution == PLAIN_JETS { PLAIN_AIR } else { caution };
    leaner.into_iter().chain(STANDING).map(|caution| fitting(caution).to_owned()).collect()
}
