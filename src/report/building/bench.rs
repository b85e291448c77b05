//! What stands beside a build's figures: the ring's word on the bore, and its bearings cold and warm.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::building::GapCheck;
use crate::advice::fit::seat::{BenchSeat, BenchSeats};
use crate::notebook::fields::names::{in_words, visible};
use crate::quantity::Units;
use crate::report::building::figure::length;
use crate::report::out::figure::Figure;
use crate::report::words::layout::capital;
use crate::report::words::sizes::{degrees_up, whole_degrees};

/// The ring's word on the bore beside the gauge's.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct GapWord {
    /// The cylinder; not there on an engine with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "String")]
    cylinder: Option<String>,
    /// Where the ring was, or when.
    at: String,
    /// What it is held against.
    than: String,
    /// How much wider the bore is there by the ring gaps over pi, micrometres.
    by_gap_um: Figure<2>,
    /// Twice the standard uncertainty of that.
    by_gap_expanded_um: Figure<2>,
    /// The same by the bore gauge, micrometres.
    by_gauge_um: Figure<2>,
    /// Twice the standard uncertainty of that.
    by_gauge_expanded_um: Figure<2>,
    /// Whether the two agree as far as both can tell.
    pub(super) agrees: bool,
}

/// A bearing cold and warm.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct SeatPair {
    /// Name of the seat.
    seat: String,
    /// Null where it was not measured.
    in_case: Option<SeatOnBench>,
    /// Null where it was not measured.
    on_shaft: Option<SeatOnBench>,
}

/// One seat of a bearing.
#[derive(Debug, Serialize, JsonSchema)]
struct SeatOnBench {
    /// Interference at 20 C, mm; negative is a clearance.
    cold_mm: Figure<4>,
    /// Interference as it runs, mm.
    running_mm: Figure<4>,
    /// The temperature it runs at, C.
    running_c: Figure<0>,
    /// The temperature at which the case lets go of it, C.
    lets_go_c: Option<Figure<0>>,
    /// The temperature to heat the outer part to so that the inner one goes in, C; null where 400 C does not do it.
    drops_in_c: Option<Figure<0>>,
    /// The same before it was taken up to the next whole degree, C.
    #[serde(skip)]
    heat_to_c: Option<f64>,
}

impl From<&GapCheck> for GapWord {
    fn from(check: &GapCheck) -> Self {
        let um = |metres: f64| Figure(metres * 1e6);
        Self {
            cylinder: check.cylinder.clone(),
            at: check.at.clone(),
            than: check.than.clone(),
            by_gap_um: um(check.by_gap_m),
            by_gap_expanded_um: um(2.0 * check.by_gap_u_m),
            by_gauge_um: um(check.by_gauge_m),
            by_gauge_expanded_um: um(2.0 * check.by_gauge_u_m),
            agrees: check.agrees(),
        }
    }
}

impl GapWord {
    /// In words: "by the ring gap 0.008 mm wider at top than at bottom, by the gauge 0.011".
    pub(super) fn words(&self, units: Units) -> String {
        let size = |um: Figure<2>| length(um.0 / 1e3, units);
        let cylinder = self.cylinder.as_deref().map(|name| format!("{}, ", capital(&in_words(name))));
        let both = format!(
            "{}{} against {}: by the ring gap {} ± {}, by the gauge {} ± {}",
            cylinder.unwrap_or_default(),
            visible(&self.at),
            visible(&self.than),
            size(self.by_gap_um),
            size(self.by_gap_expanded_um),
            size(self.by_gauge_um),
            size(self.by_gauge_expanded_um)
        );
        if self.agrees {
            format!("{both}: they agree.")
        } else {
            format!("{both}: more apart than both can err. Measure again; a worn ring opens its gap too.")
        }
    }
}

impl SeatPair {
    /// The bearing of that name.
    pub(super) fn of(name: &str, seats: &BenchSeats) -> Self {
        Self {
            seat: name.to_owned(),
            in_case: seats.in_case.as_ref().map(SeatOnBench::from),
            on_shaft: seats.on_shaft.as_ref().map(SeatOnBench::from),
        }
    }

    /// In words: how tight cold and as it runs, when it lets go, and what heat puts it in.
    pub(super) fn words(&self, units: Units) -> Vec<String> {
        let words = |(place, heated, seat): (&str, &str, &SeatOnBench)| {
            let race = if place == "in the case" { "outer" } else { "inner" };
            let loosens = seat.cold_mm.0 >= 0.0 && seat.running_mm.0 < 0.0;
            let creeps =
                loosens.then(|| format!(" Good cold is not tight as it runs: the {race} race can creep."));
            format!(
                "{} {place}: {}{}",
                visible(&self.seat),
                seat.words(heated, units),
                creeps.unwrap_or_default()
            )
        };
        let case = self.in_case.as_ref().map(|seat| ("in the case", "drops into the case", seat));
        let shaft = self.on_shaft.as_ref().map(|seat| ("on the shaft", "slides on with the bearing", seat));
        case.into_iter().chain(shaft).map(words).collect()
    }
}

impl From<&BenchSeat> for SeatOnBench {
    fn from(seat: &BenchSeat) -> Self {
        Self {
            cold_mm: Figure(seat.cold_m * 1e3),
            running_mm: Figure(seat.running_m * 1e3),
            running_c: Figure(seat.running_c),
            lets_go_c: seat.lets_go_c.map(Figure),
            drops_in_c: seat.drops_in_c.map(|at| Figure((at - 1e-6).ceil())),
            heat_to_c: seat.drops_in_c,
        }
    }
}

impl SeatOnBench {
    fn words(&self, heated: &str, units: Units) -> String {
        let tight = |mm: Figure<4>| {
            let size = length(mm.0.abs(), units);
            if mm.0 < 0.0 { format!("{size} loose") } else { format!("{size} tight") }
        };
        let mut text = format!(
            "{} cold, {} at {}",
            tight(self.cold_mm),
            tight(self.running_mm),
            whole_degrees(self.running_c.0, units)
        );
        if let Some(at) = self.lets_go_c {
            text.push_str(&format!("; lets go at {}", whole_degrees(at.0, units)));
        }
        if let Some(at) = self.heat_to_c.filter(|at| *at > 20.0) {
            text.push_str(&format!("; {heated} at {}", degrees_up(at, units)));
        }
        format!("{text}.")
    }
}
