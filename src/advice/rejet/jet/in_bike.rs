//! The jet of a circuit as it is in the bike.

use crate::advice::rejet::error::RejetError;
use crate::engine::carburetor::jets::Numbering;
use crate::notebook::{Circuit, NumberedBy};
use crate::quantity::Number;

/// A jet as the setup has it.
#[derive(Clone, Copy)]
pub(in crate::advice::rejet) struct JetInBike<'a> {
    pub(in crate::advice::rejet) circuit: Circuit,
    pub(in crate::advice::rejet) field: &'static str,
    pub(in crate::advice::rejet) series_field: &'static str,
    pub(in crate::advice::rejet) number: f64,
    pub(in crate::advice::rejet) numbered_by: NumberedBy,
    /// The series that the setup names.
    pub(in crate::advice::rejet) series: Option<&'a str>,
}

impl<'a> JetInBike<'a> {
    /// The jet when the setup has one; its numbering must then be known.
    pub(in crate::advice::rejet) fn read(
        circuit: Circuit,
        number: Option<&Number>,
        numbered_by: Option<NumberedBy>,
        series: Option<&'a String>,
    ) -> Result<Option<Self>, RejetError> {
        let (field, numbering_field, series_field) = match circuit {
            Circuit::Main => ("jetting.main", "jetting.main_numbered_by", "jetting.main_series"),
            Circuit::Pilot => ("jetting.pilot", "jetting.pilot_numbered_by", "jetting.pilot_series"),
            Circuit::Power => ("jetting.power_jet", "jetting.power_jet_numbered_by", "configs/jets.toml"),
        };
        let Some(number) = number else {
            return Ok(None);
        };
        let Some(numbered_by) = numbered_by else {
            return Err(RejetError::NotKnown {
                field: numbering_field,
                why: "a jet number means little without it",
                help: format!(
                    "Set {numbering_field} to \"flow\" or \"bore\" (hundredths of a millimetre): confusing the two doubles or halves every correction."
                ),
            });
        };
        Ok(Some(Self {
            circuit,
            field,
            series_field,
            number: number.si(),
            numbered_by,
            series: series.map(String::as_str),
        }))
    }

    /// What the jet is called.
    pub(in crate::advice::rejet) fn name(&self) -> &'static str {
        match self.circuit {
            Circuit::Main => "main jet",
            Circuit::Pilot => "pilot jet",
            Circuit::Power => "power jet",
        }
    }

    /// Where the bike's own box lists it.
    pub(in crate::advice::rejet) fn own_field(&self) -> &'static str {
        match self.circuit {
            Circuit::Main => "box.main",
            Circuit::Pilot => "box.pilot",
            Circuit::Power => "box",
        }
    }

    pub(in crate::advice::rejet) fn numbering(&self) -> Numbering {
        match self.numbered_by {
            NumberedBy::Flow => Numbering::Flow,
            NumberedBy::Bore => Numbering::Bore,
        }
    }
}
