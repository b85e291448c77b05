//! The jets at hand for one circuit, and which of them to take.
//!
//! At hand are the sizes of the circuit's series in the box, and the jet that is in the carburetor now: with nothing to
//! correct it stays, whether or not the box holds another like it.

use super::error::RejetError;
use super::{JetAdvice, Method, series};
use crate::engine::EngineError;
use crate::engine::jets::{JetScale, Numbering, Place, nearest};
use crate::notebook::{Circuit, JetBox, JetSeries, NumberedBy, names};
use crate::quantity::{Number, nearly_equal, trimmed};

/// More sizes leaner than this are not gone in one step (common practice, no source).
const SIZES_LEANER_IN_ONE_STEP: i32 = 2;

/// A jet as the setup has it.
#[derive(Clone, Copy)]
pub(super) struct JetInBike<'a> {
    pub(super) circuit: Circuit,
    pub(super) field: &'static str,
    pub(super) series_field: &'static str,
    pub(super) number: f64,
    pub(super) numbered_by: NumberedBy,
    /// The series that the setup names.
    pub(super) series: Option<&'a str>,
}

impl<'a> JetInBike<'a> {
    /// The jet when the setup has one; its numbering must then be known.
    pub(super) fn read(
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
    pub(super) fn name(&self) -> &'static str {
        match self.circuit {
            Circuit::Main => "main jet",
            Circuit::Pilot => "pilot jet",
            Circuit::Power => "power jet",
        }
    }

    pub(super) fn numbering(&self) -> Numbering {
        match self.numbered_by {
            NumberedBy::Flow => Numbering::Flow,
            NumberedBy::Bore => Numbering::Bore,
        }
    }
}

/// How one circuit chooses among the sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rule {
    /// At full throttle: the smallest size that is not lean, and none where all are.
    NeverLean,
    /// Where a screw makes up the rest: the nearest size, a tie going rich.
    Nearest,
}

/// The jets at hand for one circuit.
pub(super) struct Jets<'a> {
    jet: JetInBike<'a>,
    series: Option<(&'a str, &'a JetSeries)>,
    /// Ascending, each once; only the jet in the bike when no series is at hand.
    sizes: Vec<f64>,
}

impl<'a> Jets<'a> {
    /// The series the setup names, or else the first in the box that fits: same circuit, same numbering, sizes on both
    /// sides of the jet in the bike.
    pub(super) fn at_hand(
        jet: JetInBike<'a>,
        jets: &'a JetBox,
        warnings: &mut Vec<String>,
    ) -> Result<Self, RejetError> {
        let series = match jet.series {
            Some(name) => series::named(&jet, name, jets, warnings)?,
            None => series::fitting(&jet, jets, warnings),
        };
        let mut sizes = vec![jet.number];
        sizes.extend(series.iter().flat_map(|(_, series)| &series.sizes));
        sizes.sort_by(f64::total_cmp);
        sizes.dedup_by(|a, b| nearly_equal(*a, *b));
        Ok(Self { jet, series, sizes })
    }

    /// How this circuit's numbers become areas.
    pub(super) fn scale(&self) -> JetScale {
        let known = self.series.and_then(|(_, series)| {
            Some((series.known_number.as_ref()?.si(), series.known_bore.as_ref()?.si()))
        });
        match (self.jet.numbered_by, known) {
            (NumberedBy::Bore, _) => JetScale::Bore,
            (NumberedBy::Flow, Some((reference_number, reference_bore_m))) => {
                JetScale::Flow { reference_number, reference_bore_m }
            }
            (NumberedBy::Flow, None) => JetScale::FlowOnly,
        }
    }

    /// The number of the jet in the bike.
    pub(super) fn number(&self) -> f64 {
        self.jet.number
    }

    /// The name of the series at hand.
    pub(super) fn series_name(&self) -> Option<&'a str> {
        self.series.map(|(name, _)| name)
    }

    /// The advice for an exact number. `delivered` gives the fuel a jet of a number would deliver over the fuel needed.
    pub(super) fn advise(
        &self,
        exact: f64,
        method: Method,
        rule: Rule,
        delivered: impl Fn(f64) -> Result<f64, EngineError>,
        warnings: &mut Vec<String>,
    ) -> Result<JetAdvice, RejetError> {
        let choice = nearest(&self.sizes, exact).map_err(self.blame())?;
        let advised = match (self.series, rule) {
            (None, _) => None,
            (Some(_), Rule::NeverLean) => choice.advised,
            (Some(_), Rule::Nearest) => Some(choice.nearest),
        };
        let percent = |number| {
            let ratio = delivered(number).map_err(RejetError::calculation(self.jet.field))?;
            Ok(100.0 * (ratio - 1.0))
        };
        let advice = JetAdvice {
            circuit: self.jet.circuit,
            field: self.jet.field,
            numbered_by: self.jet.numbered_by,
            series: self.series_name().map(str::to_owned),
            current: self.jet.number,
            exact: Some(exact),
            method,
            advised,
            richer: advised.and_then(|size| self.beside(size, 1)),
            leaner: advised.and_then(|size| self.beside(size, -1)),
            sizes_richer: advised.and_then(|size| self.sizes_between(self.jet.number, size)),
            unchanged_percent: percent(self.jet.number)?,
            advised_percent: advised.map(percent).transpose()?,
        };
        if self.series.is_some() {
            self.warn(&advice, exact, (choice.place, rule), warnings);
        }
        Ok(advice)
    }

    /// The same advice for another size that is at hand.
    pub(super) fn moved_to(&self, advice: JetAdvice, size: f64) -> JetAdvice {
        JetAdvice {
            advised: Some(size),
            richer: self.beside(size, 1),
            leaner: self.beside(size, -1),
            sizes_richer: self.sizes_between(self.jet.number, size),
            ..advice
        }
    }

    /// The advice where no jet, however large, brings the fuel.
    pub(super) fn none_will_do(&self, method: Method, unchanged_percent: f64) -> JetAdvice {
        JetAdvice {
            circuit: self.jet.circuit,
            field: self.jet.field,
            numbered_by: self.jet.numbered_by,
            series: self.series_name().map(str::to_owned),
            current: self.jet.number,
            exact: None,
            method,
            advised: None,
            richer: None,
            leaner: None,
            sizes_richer: None,
            unchanged_percent,
            advised_percent: None,
        }
    }

    fn warn(&self, advice: &JetAdvice, exact: f64, place: (Place, Rule), warnings: &mut Vec<String>) {
        let name = self.jet.name();
        let show = |size: Option<&f64>| size.map_or_else(String::new, |size| trimmed(*size, 2));
        let exact = trimmed(exact, 1);
        match place {
            (Place::AboveLargest, Rule::NeverLean) => warnings.push(format!(
                "The exact {name}, {exact}, is larger than the largest jet in the box ({}): do not run it.",
                show(self.sizes.last())
            )),
            (Place::AboveLargest, Rule::Nearest) => warnings.push(format!(
                "The exact {name}, {exact}, is larger than the largest jet in the box ({}): the screw must bring the rest; if it cannot, do not run it.",
                show(self.sizes.last())
            )),
            (Place::BelowSmallest, _) => warnings.push(format!(
                "The exact {name}, {exact}, is smaller than the smallest jet in the box ({}), which leaves it rich.",
                show(self.sizes.first())
            )),
            (Place::Within, _) => {}
        }
        if let Some(sizes) = advice.sizes_richer.filter(|n| *n < -SIZES_LEANER_IN_ONE_STEP) {
            warnings.push(format!(
                "The advised {name} is {} sizes leaner: go there {SIZES_LEANER_IN_ONE_STEP} sizes at a time at most, and read plug and piston in between.",
                -sizes
            ));
        }
    }

    /// The size `steps` above (or below) one that is at hand.
    fn beside(&self, size: f64, steps: isize) -> Option<f64> {
        let at = self.position(size)?.checked_add_signed(steps)?;
        self.sizes.get(at).copied()
    }

    fn sizes_between(&self, from: f64, to: f64) -> Option<i32> {
        let place = |size| i32::try_from(self.position(size)?).ok();
        place(to)?.checked_sub(place(from)?)
    }

    fn position(&self, size: f64) -> Option<usize> {
        self.sizes.iter().position(|known| nearly_equal(*known, size))
    }

    /// Names the file when one of its sizes is to blame, the setup's field when the jet in the bike is.
    fn blame(&self) -> impl FnOnce(EngineError) -> RejetError {
        let lone = nearest(&[self.jet.number], self.jet.number).is_err();
        let field = match self.series {
            Some((name, _)) if !lone => {
                format!("configs/jets.toml, series {}", names::visible(name))
            }
            _ => self.jet.field.to_owned(),
        };
        RejetError::calculation(field)
    }
}
