//! The jets at hand for one circuit, and which of them to take.
//!
//! At hand are the sizes that the bike's own box lists, or else those of the circuit's series, and the jet that is in the
//! carburetor now: with nothing to correct it stays, whether or not the box holds another like it.

use super::alone::sizes_by_fuel;
use super::in_bike::JetInBike;
use super::series;
use crate::advice::rejet::error::RejetError;
use crate::advice::rejet::{JetAdvice, Method};
use crate::engine::EngineError;
use crate::engine::carburetor::jets::{AmongSizes, Choice, JetScale, nearest};
use crate::notebook::fields::names;
use crate::notebook::{Circuit, JetBox, JetSeries, NumberedBy};
use crate::quantity::{fixed, nearly_equal, trimmed};

/// More sizes leaner than this are not gone in one step: an answer goes there in steps, a change of more at once is refused (common
/// practice, no source).
pub(in crate::advice) const SIZES_LEANER_IN_ONE_STEP: u32 = 2;

/// Sizes of one box lie within this of each other; outside it one is numbered otherwise, or a slip of the pen.
const LIKELY: std::ops::RangeInclusive<f64> = 0.4..=2.5;

/// How one circuit chooses among the sizes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::advice::rejet) enum Rule {
    /// At full throttle: the smallest size that is not lean, and none where all are.
    NeverLean,
    /// Where a screw makes up the rest.
    Nearest,
}

/// By how many percent a circuit is rich or lean, below 0 for lean: with the present jet, and with the advised one where
/// that can be said.
#[derive(Debug, Clone, Copy)]
pub(in crate::advice::rejet) struct Percents {
    pub(in crate::advice::rejet) unchanged: f64,
    pub(in crate::advice::rejet) advised: Option<f64>,
}

/// The jets at hand for one circuit.
pub(in crate::advice::rejet) struct Jets<'a> {
    jet: JetInBike<'a>,
    series: Option<(&'a str, &'a JetSeries)>,
    /// Whether the bike's own box lists the sizes.
    own: bool,
    /// Ascending, each once; only the jet in the bike when no sizes are listed.
    sizes: Vec<f64>,
}

impl<'a> Jets<'a> {
    /// The series the setup names, or else the first in the box that fits: same circuit, same numbering, sizes on both
    /// sides of the jet in the bike. The sizes of the bike's own box, where it has any, take the place of the series'.
    pub(in crate::advice::rejet) fn at_hand(
        jet: JetInBike<'a>,
        jets: &'a JetBox,
        own: &[f64],
        warnings: &mut Vec<String>,
    ) -> Result<Self, RejetError> {
        let mut of_series = Vec::new();
        let series = match jet.series {
            Some(name) => series::named(&jet, name, jets, &mut of_series)?,
            None => series::fitting(&jet, jets, &mut of_series),
        };
        let mut sizes = vec![jet.number];
        if own.is_empty() {
            warnings.append(&mut of_series);
            sizes.extend(series.iter().flat_map(|(_, series)| &series.sizes));
        } else {
            // The sizes are known, so that what there is to say of a series that does not serve is beside the point.
            // What is no size at all is refused further on.
            let is_size = |size: f64| size.is_finite() && size > 0.0;
            let of_this_kind = |size: f64| !is_size(size) || LIKELY.contains(&(size / jet.number));
            let strange: Vec<String> =
                own.iter().filter(|size| !of_this_kind(**size)).map(|size| trimmed(*size, 2)).collect();
            if !strange.is_empty() {
                warnings.push(format!(
                    "The bike's box lists {} as {}: no size beside {}, and left out. Sizes count as the jet in the bike does.",
                    strange.join(", "),
                    jet.own_field(),
                    trimmed(jet.number, 2)
                ));
            }
            sizes.extend(own.iter().copied().filter(|size| of_this_kind(*size)));
        }
        sizes.sort_by(f64::total_cmp);
        sizes.dedup_by(|a, b| nearly_equal(*a, *b));
        Ok(Self { jet, series, own: !own.is_empty(), sizes })
    }

    /// How this circuit's numbers become areas.
    pub(in crate::advice::rejet) fn scale(&self) -> JetScale {
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
    pub(in crate::advice::rejet) fn number(&self) -> f64 {
        self.jet.number
    }

    /// The name of the series at hand.
    pub(in crate::advice::rejet) fn series_name(&self) -> Option<&'a str> {
        self.series.map(|(name, _)| name)
    }

    /// Whether the sizes at hand are known.
    pub(in crate::advice::rejet) fn are_listed(&self) -> bool {
        self.own || self.series.is_some()
    }

    /// The sizes at hand, ascending.
    pub(in crate::advice::rejet) fn sizes(&self) -> &[f64] {
        &self.sizes
    }

    /// The sizes at hand that are no more than so many away from the span of these numbers.
    pub(in crate::advice::rejet) fn around(&self, numbers: &[f64], sizes_away: usize) -> &[f64] {
        let low = numbers.iter().copied().fold(f64::INFINITY, f64::min);
        let high = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let from = self.sizes.partition_point(|size| *size < low).saturating_sub(sizes_away);
        let until = self.sizes.partition_point(|size| *size <= high).saturating_add(sizes_away);
        self.sizes.get(from..until.min(self.sizes.len())).unwrap_or_default()
    }

    /// The sizes around an exact number; refuses sizes that cannot be.
    pub(in crate::advice::rejet) fn choice(&self, exact: f64) -> Result<Choice, RejetError> {
        nearest(&self.sizes, exact).map_err(self.blame())
    }

    /// The advice to fit one of the sizes, or none.
    pub(in crate::advice::rejet) fn advice(
        &self,
        exact: Option<f64>,
        method: Method,
        advised: Option<f64>,
        percents: Percents,
    ) -> JetAdvice {
        let advised = advised.filter(|_| self.are_listed());
        JetAdvice {
            circuit: self.jet.circuit,
            field: self.jet.field,
            numbered_by: self.jet.numbered_by,
            series: self.series_name().map(str::to_owned),
            current: self.jet.number,
            exact,
            method,
            advised,
            richer: advised.and_then(|size| self.beside(size, 1)),
            leaner: advised.and_then(|size| self.beside(size, -1)),
            sizes_richer: advised.and_then(|size| self.sizes_between(self.jet.number, size)),
            steps: advised.map(|size| self.steps_down(self.jet.number, size)).unwrap_or_default(),
            unchanged_percent: percents.unchanged,
            advised_percent: percents.advised.filter(|_| advised.is_some()),
        }
    }

    /// An advice with its steps counted from the jet that is on the bike, where that is another one than the setup's.
    pub(in crate::advice::rejet) fn counted_from(
        &self,
        on_the_bike: Option<f64>,
        advice: JetAdvice,
    ) -> JetAdvice {
        match on_the_bike.zip(advice.advised) {
            Some((now, advised)) => JetAdvice { steps: self.steps_down(now, advised), ..advice },
            None => advice,
        }
    }

    /// Says when the exact number lies beyond the sizes at hand.
    pub(in crate::advice::rejet) fn warn_of_place(
        &self,
        choice: &Choice,
        rule: Rule,
        warnings: &mut Vec<String>,
    ) {
        if !self.are_listed() {
            return;
        }
        let name = self.jet.name();
        let show = |size: Option<&f64>| size.map_or_else(String::new, |size| trimmed(*size, 2));
        let exact = trimmed(choice.exact, 1);
        match (choice.place, rule) {
            (AmongSizes::AboveLargest, Rule::NeverLean) => {
                warnings.push(format!(
                    "The box ends at {name} {}, and {exact} is asked for: it would be lean, do not run it.",
                    show(self.sizes.last())
                ));
            }
            (AmongSizes::AboveLargest, Rule::Nearest) => warnings.push(format!(
                "The box ends at {name} {}, and {exact} is asked for: the screw must bring the rest; if it cannot, do not run it.",
                show(self.sizes.last())
            )),
            (AmongSizes::BelowSmallest, Rule::NeverLean) => self.warn_of_the_lean_end(choice.exact, warnings),
            (AmongSizes::BelowSmallest, Rule::Nearest) => warnings.push(format!(
                "The box ends at {name} {}, and {exact} is asked for: the screw must take the rest, or it is rich.",
                show(self.sizes.first())
            )),
            (AmongSizes::Within, _) => {}
        }
    }

    /// Says that a smaller jet than the smallest in the box is asked for.
    pub(in crate::advice::rejet) fn warn_of_the_lean_end(&self, asked_for: f64, warnings: &mut Vec<String>) {
        let Some(smallest) = self.sizes.first().map(|size| trimmed(*size, 2)) else {
            return;
        };
        warnings.push(format!(
            "The box ends at {} {smallest}, and {} is asked for: fit {smallest}, it will be rich.",
            self.jet.name(),
            fixed(asked_for, 1)
        ));
    }

    /// Says when the advised jet is not to be fitted in one step.
    pub(in crate::advice::rejet) fn warn_of_steps(&self, advice: &JetAdvice, warnings: &mut Vec<String>) {
        if advice.steps.is_empty() {
            return;
        }
        let by_way_of: Vec<String> = advice.steps.iter().map(|size| trimmed(*size, 2)).collect();
        warnings.push(format!(
            "The advised {} is more than {SIZES_LEANER_IN_ONE_STEP} sizes leaner: go there {SIZES_LEANER_IN_ONE_STEP} sizes at a time at most ({}), and read plug and piston in between.",
            self.jet.name(),
            by_way_of.join(", then ")
        ));
    }

    /// The size `steps` above (or below) one that is at hand.
    pub(in crate::advice::rejet) fn beside(&self, size: f64, steps: isize) -> Option<f64> {
        let at = self.position(size)?.checked_add_signed(steps)?;
        self.sizes.get(at).copied()
    }

    pub(in crate::advice::rejet) fn sizes_between(&self, from: f64, to: f64) -> Option<i32> {
        let place = |size| i32::try_from(self.position(size)?).ok();
        place(to)?.checked_sub(place(from)?)
    }

    /// The sizes to go through from one jet to a leaner one, a few sizes at a time, the last of them that one; none where one
    /// step does.
    pub(in crate::advice::rejet) fn steps_down(&self, from: f64, size: f64) -> Vec<f64> {
        let Some(to) = self.position(size) else {
            return Vec::new();
        };
        let start = from;
        let from = self.sizes.partition_point(|known| *known < from && !nearly_equal(*known, from));
        let between = self.sizes.get(to..from).unwrap_or_default();
        let in_one_step = usize::try_from(SIZES_LEANER_IN_ONE_STEP).unwrap_or(usize::MAX);
        let (mut at, mut left, mut steps) = (start, between, Vec::new());
        while let [.., next] = left {
            // Two sizes of a box with gaps may be far: the next alone then.
            let far = left.len().saturating_sub(in_one_step);
            let both = left.get(far).copied().unwrap_or(*next);
            let by_fuel = || sizes_by_fuel(self.jet.numbered_by, at, both);
            let is_far = self.jet.circuit == Circuit::Main && by_fuel() > SIZES_LEANER_IN_ONE_STEP;
            at = if is_far { *next } else { both };
            left = left.get(..if is_far { left.len() - 1 } else { far }).unwrap_or_default();
            steps.push(at);
        }
        if steps.len() > 1 { steps } else { Vec::new() }
    }

    fn position(&self, size: f64) -> Option<usize> {
        self.sizes.iter().position(|known| nearly_equal(*known, size))
    }

    /// Names the file when one of its sizes is to blame, the setup's field when the jet in the bike is.
    fn blame(&self) -> impl FnOnce(EngineError) -> RejetError {
        let lone = nearest(&[self.jet.number], self.jet.number).is_err();
        let field = match self.series {
            _ if lone => self.jet.field.to_owned(),
            _ if self.own => format!("bike.toml, {}", self.jet.own_field()),
            Some((name, _)) => format!("configs/jets.toml, series {}", names::visible(name)),
            None => self.jet.field.to_owned(),
        };
        RejetError::calculation(field)
    }
}
