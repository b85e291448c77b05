//! The sizes at hand for a circuit of a setup: for those who judge a step, not choose one.

use super::in_bike::JetInBike;
use super::jets::Jets;
use crate::notebook::{Circuit, JetBox, Jetting, OwnBox};

/// Fuel of one size where no jets are listed, and away from full throttle; of trim, for fuel injection (common practice, no source).
pub(in crate::advice) const SIZE: f64 = 0.02;

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
