//! The cautions that every piece of advice carries. Common practice, no source: they are what a careful tuner says.

use crate::notebook::Comparison;

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

/// The standing cautions, with the one for less fuel where it is due, and without jets where there are none.
pub(crate) fn for_step(takes_fuel_away: bool, injected: bool) -> Vec<String> {
    let leaner = takes_fuel_away.then_some(LEANER);
    let fitting = |caution| if injected && caution == PLAIN_JETS { PLAIN_AIR } else { caution };
    leaner.into_iter().chain(STANDING).map(|caution| fitting(caution).to_owned()).collect()
}

/// Said of a change that does both at once.
pub const BOTH_AT_ONCE: &str =
    "Leaner and more advanced in one step: do one at a time and read plug and piston in between.";

/// Cautions that a recorded change calls for.
pub fn of_change(comparison: &Comparison) -> Vec<String> {
    let both = is_leaner(comparison) && is_more_advanced(comparison);
    both.then(|| BOTH_AT_ONCE.to_owned()).into_iter().collect()
}

/// Whether a change takes fuel away anywhere: a smaller jet, a higher clip, thinner shims, the screw turned the lean way, less
/// trim, or less in any cell of the fuel map.
fn is_leaner(comparison: &Comparison) -> bool {
    let fell = |field: &str| difference(comparison, field) < 0.0;
    let rose = |field: &str| difference(comparison, field) > 0.0;
    let less = ["main", "pilot", "power_jet", "clip", "shim", "needle_jet", "fuel_screw"];
    less.iter().any(|field| fell(&format!("jetting.{field}")))
        || rose("jetting.air_screw")
        || fell("injection.trim")
        || cells(comparison, "injection.fuel").any(|difference| difference < 0.0)
}

/// Whether a change brings the spark earlier anywhere: the base setting or any cell of the map.
fn is_more_advanced(comparison: &Comparison) -> bool {
    difference(comparison, "ignition.base") > 0.0
        || cells(comparison, "ignition.advance").any(|difference| difference > 0.0)
}

/// New less old; 0 where the field did not change or is no quantity.
fn difference(comparison: &Comparison, field: &str) -> f64 {
    comparison
        .get(field)
        .and_then(|change| change.difference.as_ref())
        .map_or(0.0, |difference| difference.value)
}

fn cells<'c>(comparison: &'c Comparison, field: &str) -> impl Iterator<Item = f64> + 'c {
    let map = comparison.get(field).and_then(|change| change.map.as_ref());
    map.into_iter().flat_map(|map| &map.cells).filter_map(|cell| Some(cell.new? - cell.old?))
}

#[cfg(test)]
mod tests {
    use super::{BOTH_AT_ONCE, of_change};
    use crate::notebook::{Combination, FieldSet, SetupFiles, compare};

    fn fields(main: u32, clip: u32, advance: f64) -> FieldSet {
        let text = format!(
            "[jetting]\nmain = {main}\nmain_numbered_by = \"bore\"\nclip = {clip}\n[ignition]\nmap_kind = \"relative\"\n\
             rpm = [6000, 9000]\nadvance = [20, {advance}]\n"
        );
        let files =
            SetupFiles { bike: "moth".into(), setup: Some(text.into_bytes()), ..SetupFiles::default() };
        let whole = Combination::read(&files, false);
        assert!(whole.findings.is_empty(), "{:?}", whole.findings);
        whole.fields
    }

    #[test]
    fn only_both_at_once_is_warned_of() {
        let now = fields(178, 3, 18.0);
        let said = |new: &FieldSet| of_change(&compare(&now, new));
        assert_eq!(said(&fields(176, 3, 18.5)), [BOTH_AT_ONCE]);
        assert_eq!(said(&fields(178, 2, 18.5)), [BOTH_AT_ONCE]);
        assert!(said(&fields(176, 3, 17.5)).is_empty());
        assert!(said(&fields(180, 4, 19.0)).is_empty());
        assert!(said(&fields(170, 1, 18.0)).is_empty());
    }
}
