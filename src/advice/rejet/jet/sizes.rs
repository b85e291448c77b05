//! The sizes at hand for a circuit of a setup, and fuel by the main jets alone: for those who judge a step, not choose one.

use super::jets::{JetInBike, Jets};
use super::simple_rule::fuel_of_main_alone;
use crate::engine::carburetor::jets::Numbering;
use crate::notebook::{Circuit, JetBox, Jetting, NumberedBy, OwnBox};

/// Fuel of one size where no jets are listed, and away from full throttle; of trim, for fuel injection (common practice, no source).
pub(in crate::advice) const SIZE: f64 = 0.02;

/// A step is bounded by its fuel as well, for a box may have gaps: so much of it counts as one size at least (common practice, no source).
const OF_FUEL: f64 = 0.025;

/// So many sizes a smaller main jet is by its fuel alone, whatever lies in the box between the two.
pub(in crate::advice) fn sizes_by_fuel(numbered_by: NumberedBy, from: f64, to: f64) -> u32 {
    let left = fuel_by_main_jets(numbered_by, from, to).filter(|left| (0.0..1.0).contains(left));
    // Shares of fuel are small numbers.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    left.map_or(0, |left| ((1.0 - left) / OF_FUEL + 1e-9) as u32)
}

/// The sizes at hand for a circuit, ascending, the jet in the bike among them: those of the bike's own box, or else of its series.
/// None where the jet is not known, or no sizes are listed for it.
pub(in crate::advice) fn sizes_at_hand(
    jetting: &Jetting,
    circuit: Circuit,
    jets: &JetBox,
    own_box: Option<&OwnBox>,
) -> Option<Vec<f64>> {
    let (number, numbered_by, series, own) = match circuit {
        Circuit::Main => (
            &jetting.main,
            jetting.main_numbered_by,
            jetting.main_series.as_ref(),
            own_box.map(|own| own.main.as_slice()),
        ),
        Circuit::Pilot => (
            &jetting.pilot,
            jetting.pilot_numbered_by,
            jetting.pilot_series.as_ref(),
            own_box.map(|own| own.pilot.as_slice()),
        ),
        Circuit::Power => (&jetting.power_jet, jetting.power_jet_numbered_by, None, None),
    };
    let jet = JetInBike::read(circuit, number.as_ref(), numbered_by, series).ok()??;
    let jets = Jets::at_hand(jet, jets, own.unwrap_or_default(), &mut Vec::new()).ok()?;
    jets.are_listed().then(|| jets.sizes().to_vec())
}

/// Fuel at full throttle that one main jet passes over what another passes, both by their numbers of one numbering, with a usual
/// needle above them. None where a number is no size.
pub(in crate::advice) fn fuel_by_main_jets(numbered_by: NumberedBy, from: f64, to: f64) -> Option<f64> {
    let numbering = match numbered_by {
        NumberedBy::Flow => Numbering::Flow,
        NumberedBy::Bore => Numbering::Bore,
    };
    numbering.area_factor(from, to).ok().map(fuel_of_main_alone)
}
