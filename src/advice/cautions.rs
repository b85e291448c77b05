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

/// The most sessions that a caution names.
const MOST_NAMED: usize = 4;

/// Carried besides by whatever makes the engine run on less fuel.
pub const LEANER: &str =
    "When you go leaner: leave the ignition as it is until plug and piston have been read.";

/// The same of a grid of airs, some of which take fuel away and some do not.
const LEANER_IN_SOME: &str = "Where it is leaner than what is on the bike it takes fuel away: leave the ignition as it is until plug and piston have been read.";

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
    takes_fuel_away.then(|| LEANER.to_owned()).into_iter().chain(standing(injected)).collect()
}

/// The standing cautions, without jets where there are none.
fn standing(injected: bool) -> impl Iterator<Item = String> {
    let fitting = move |caution| if injected && caution == PLAIN_JETS { PLAIN_AIR } else { caution };
    STANDING.into_iter().map(move |caution| fitting(caution).to_owned())
}

/// The cautions of a grid of airs, by whether each takes fuel away from the bike as it stands.
pub fn for_airs(take_fuel_away: &[bool], injected: bool) -> Vec<String> {
    let all = !take_fuel_away.is_empty() && take_fuel_away.iter().all(|takes| *takes);
    let some = take_fuel_away.contains(&true).then_some(if all { LEANER } else { LEANER_IN_SOME });
    some.map(str::to_owned).into_iter().chain(standing(injected)).collect()
}

/// The cautions of a plan: before which sessions, by name, fuel is taken away from what was on the bike until then.
pub fn for_sessions(leaner_before: &[&str], injected: bool) -> Vec<String> {
    let leaner = (!leaner_before.is_empty()).then(|| {
        let (named, more) = leaner_before.split_at(leaner_before.len().min(MOST_NAMED));
        let named = match (named, more.len()) {
            ([first @ .., last], 0) if !first.is_empty() => format!("{} and {last}", first.join(", ")),
            (named, 0) => named.join(", "),
            (named, more) => format!("{} and {more} more", named.join(", ")),
        };
        format!(
            "Fuel is taken away before {named}: leave the ignition as it is until plug and piston have been read."
        )
    });
    leaner.into_iter().chain(standing(injected)).collect()
}
