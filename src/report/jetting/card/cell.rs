//! What to fit in one air: a cell of a card, a session of a plan.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::rejet::{ClipAdvice, Rejet};
use crate::notebook::fields::names::visible;
use crate::notebook::{Circuit, FieldSet, turns};
use crate::quantity::{Quantity, fixed, nearly_equal, trimmed};
use crate::report::out::figure::Figure;
use crate::report::words::layout::signed;

/// What the mark at a main jet or a trim means.
pub(in crate::report::jetting) const ABOVE_THE_LIMIT: &str =
    "!: the risk of lean is above the limit there; ask for that air by itself before it is run.";

/// What stands under a card with sizes much leaner than what is in the bike; of a trim with its size in percent.
fn in_steps(trim_size_percent: Option<f64>) -> String {
    let of = trim_size_percent.map(|size| format!(" of {} %", trimmed(size, 1))).unwrap_or_default();
    format!("Much leaner than what is in it: two sizes{of} at a time, plug and piston read on each.")
}

/// What is done before a session where everything stays.
pub(in crate::report::jetting) const NOTHING: &str = "nothing to change";

/// What a CSV line has for a main jet where none in the box is enough: nothing else is turned for it.
const NOT_TO_BE_RUN: &str = "none: do not run it";

/// What stands beside a session that is over, and heads that column of a CSV.
pub const OVER: &str = "over";

/// The column of a CSV that has what forbids anything leaner.
pub const HELD: &str = "held";

/// What to fit in one air.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CardCell {
    /// Factor on the fuel.
    factor: Figure<5>,
    /// Main jet to fit; null when none is safe, or the bike has none.
    pub main: Option<f64>,
    /// Clip groove from the top; null where the needle is not known.
    pub(in crate::report::jetting) clip: Option<u8>,
    /// Pilot jet to fit.
    pub(in crate::report::jetting) pilot: Option<f64>,
    /// Power jet to fit; null when none is advised, or the bike has none.
    pub(in crate::report::jetting) power: Option<f64>,
    /// Turns of the air or fuel screw from lightly seated.
    pub(in crate::report::jetting) screw_turns: Option<f64>,
    /// Which screw that is: an air screw goes in for richer, a fuel screw out.
    #[serde(skip)]
    pub(in crate::report::jetting) screw: Option<&'static str>,
    /// Needle, where one is named.
    pub(in crate::report::jetting) needle: Option<String>,
    /// Trim of an injected bike, percent.
    pub(in crate::report::jetting) trim_percent: Option<f64>,
    /// Chance of lean at full throttle, 0 to 1; null where the record says nothing.
    pub lean_risk: Option<Figure<4>>,
    /// The sizes to go through to the main jet from the one on the bike, where it is much leaner; the last is the jet itself.
    #[serde(skip)]
    steps: Vec<f64>,
    /// A size of the trim, percent.
    #[serde(skip)]
    trim_size_percent: Option<f64>,
    /// Whether the setup has a main jet at all.
    #[serde(skip)]
    pub(in crate::report::jetting) has_main: bool,
    /// Whether the needle is another one than the baseline's.
    #[serde(skip)]
    pub(in crate::report::jetting) other_needle: bool,
    /// Whether the chance of lean is above the limit.
    #[serde(skip)]
    pub(in crate::report::jetting) above_limit: bool,
}

/// The heads of what a cell gives as CSV.
pub const fn cell_heads() -> [&'static str; 9] {
    ["fuel_factor", "main", "clip", "pilot", "power", "screw_turns", "needle", "trim_percent", "in_steps"]
}

impl CardCell {
    /// What an answer fits, from a baseline with this needle, with the chance of lean and its limit where the record knows them. An answer
    /// that is short of what a lean run asks for has no main jet: it is not to be run.
    pub fn of(rejet: &Rejet, is_short: bool, needle: Option<&str>, risk: Option<(f64, f64)>) -> Self {
        let jet = |circuit| rejet.jets.iter().find(|jet| jet.circuit == circuit);
        let advised = rejet.needle.as_ref().map(|needle| needle.to.as_str());
        Self {
            factor: Figure(rejet.factor.total),
            main: jet(Circuit::Main).and_then(|jet| jet.advised).filter(|_| !is_short),
            clip: match rejet.clip {
                ClipAdvice::NotComputed { .. } | ClipAdvice::Try { .. } => None,
                ClipAdvice::Stays { clip, .. } => Some(clip),
                ClipAdvice::Move { to, .. } => Some(to),
            },
            pilot: jet(Circuit::Pilot).and_then(|jet| jet.advised),
            power: jet(Circuit::Power).and_then(|jet| jet.advised),
            screw_turns: rejet.screw.as_ref().map(|screw| screw.to_turns),
            screw: rejet.screw.as_ref().map(|screw| screw_called(screw.field)),
            needle: advised.or(needle).map(str::to_owned),
            trim_percent: rejet.injection.as_ref().map(|advice| advice.to_percent),
            lean_risk: risk.map(|(risk, _)| Figure(risk)),
            steps: steps_to(rejet),
            trim_size_percent: rejet.injection.as_ref().map(|advice| advice.size_percent),
            has_main: jet(Circuit::Main).is_some(),
            other_needle: rejet.needle.is_some(),
            above_limit: risk.is_some_and(|(risk, limit)| risk > limit),
        }
    }

    /// What is on a bike.
    pub fn on_the_bike(fields: &FieldSet) -> Self {
        let number = |field: &str| fields.quantity(field).map(Quantity::si);
        let clip = number("jetting.clip")
            .and_then(|clip| (1..=u8::MAX).find(|groove| nearly_equal(f64::from(*groove), clip)));
        Self {
            factor: Figure(1.0),
            main: number("jetting.main"),
            clip,
            pilot: number("jetting.pilot"),
            power: number("jetting.power_jet"),
            screw_turns: number("jetting.air_screw").or_else(|| number("jetting.fuel_screw")),
            screw: ["jetting.air_screw", "jetting.fuel_screw"]
                .into_iter()
                .find(|field| number(field).is_some())
                .map(screw_called),
            needle: fields.text("jetting.needle").map(str::to_owned),
            trim_percent: number("injection.trim").map(|trim| 100.0 * trim),
            lean_risk: None,
            steps: Vec::new(),
            trim_size_percent: None,
            has_main: number("jetting.main").is_some(),
            other_needle: false,
            above_limit: false,
        }
    }

    /// What is to be said where it is so much leaner than what is on the bike that it is gone to in steps.
    pub(in crate::report::jetting) fn in_steps(&self) -> Option<String> {
        (self.steps.len() > 1 && !self.lacks_a_main_jet()).then(|| in_steps(self.trim_size_percent))
    }

    /// Whether nothing in the box is enough there: it is not to be run.
    pub(in crate::report::jetting) fn lacks_a_main_jet(&self) -> bool {
        self.main.is_none() && self.has_main
    }

    pub(in crate::report::jetting) fn is_injected(&self) -> bool {
        self.trim_percent.is_some()
    }

    /// Turns of the screw, out from lightly seated.
    pub(in crate::report::jetting) fn screw_out(&self) -> Option<String> {
        self.screw_turns.map(turns)
    }

    /// Turns of the screw, in a cell.
    pub(in crate::report::jetting) fn screw_words(&self) -> String {
        self.screw_turns.map_or_else(|| "-".to_owned(), |turns| trimmed(turns, 2))
    }

    /// The main jet, or the trim in percent.
    pub fn metered(&self) -> Option<f64> {
        self.main.or(self.trim_percent)
    }

    /// In a cell: "178/3/50", with the power jet where there is one, or the trim.
    pub(in crate::report::jetting) fn words(&self) -> String {
        let above = if self.above_limit { "!" } else { "" };
        if let Some(trim) = self.trim_percent {
            return format!("{}{above}", signed(trim, 1));
        }
        let dash = || "-".to_owned();
        let main = match self.main {
            Some(main) => trimmed(main, 2),
            None if self.has_main => "none".to_owned(),
            None => dash(),
        };
        let clip = self.clip.map_or_else(dash, |clip| clip.to_string());
        let pilot = self.pilot.map_or_else(dash, |pilot| trimmed(pilot, 2));
        let mark = if self.other_needle { "*" } else { "" };
        let power = self.power.map(|power| format!("/{}", trimmed(power, 2))).unwrap_or_default();
        format!("{main}{above}/{clip}{mark}/{pilot}{power}")
    }

    /// As cells of a CSV line, under [`cell_heads`].
    pub fn csv(&self) -> Vec<String> {
        let number =
            |value: Option<f64>, decimals| value.map_or_else(String::new, |value| trimmed(value, decimals));
        if self.lacks_a_main_jet() {
            let mut cells = vec![String::new(); cell_heads().len()];
            cells.splice(..2, [fixed(self.factor.0, 5), NOT_TO_BE_RUN.to_owned()]);
            return cells;
        }
        let steps = self.steps.iter().map(|step| trimmed(*step, 2));
        vec![
            fixed(self.factor.0, 5),
            number(self.main, 2),
            self.clip.map_or_else(String::new, |clip| clip.to_string()),
            number(self.pilot, 2),
            number(self.power, 2),
            number(self.screw_turns, 2),
            self.needle.clone().unwrap_or_default(),
            number(self.trim_percent, 1),
            // Much leaner is not fitted at once.
            if self.steps.len() > 1 {
                format!("first {}", steps.collect::<Vec<_>>().join(" then "))
            } else {
                String::new()
            },
        ]
    }

    /// What is to be done between two sessions, the quickest last; none where everything stays.
    pub(in crate::report::jetting) fn changes_to(&self, next: &Self) -> Vec<String> {
        let number = |name: &str, from: Option<f64>, to: Option<f64>, decimals| match (from, to) {
            (Some(from), Some(to)) if !nearly_equal(from, to) => {
                Some(format!("{name} {} → {}", trimmed(from, decimals), trimmed(to, decimals)))
            }
            (Some(_), None) if name == "main" => Some("nothing in the box is safe".to_owned()),
            (None, Some(to)) => Some(format!("{name} {}", trimmed(to, decimals))),
            _ => None,
        };
        let clip = |cell: &Self| cell.clip.map(f64::from);
        let needle = next.needle.as_deref().filter(|needle| self.needle.as_deref() != Some(*needle));
        // Much leaner is gone in steps, with plug and piston read on each.
        let in_steps = |name: &str, from: Option<f64>, to: Option<f64>, decimals| match (from, to) {
            (Some(from), Some(_)) if next.steps.len() > 1 => {
                let sizes = std::iter::once(&from).chain(&next.steps).map(|size| trimmed(*size, decimals));
                Some(format!("{name} {}, reading the plug on each", sizes.collect::<Vec<_>>().join(" → ")))
            }
            _ => number(name, from, to, decimals),
        };
        // A trim that nobody wrote down is none.
        let trim = self.trim_percent.or(next.trim_percent.map(|_| 0.0));
        let changes = [
            in_steps("main", self.main, next.main, 2),
            needle.map(|needle| format!("needle {}", visible(needle))),
            number("clip", clip(self), clip(next), 0),
            number("pilot", self.pilot, next.pilot, 2),
            number("power", self.power, next.power, 2),
            number("screw", self.screw_turns, next.screw_turns, 2),
            in_steps("trim", trim, next.trim_percent, 1),
        ];
        changes.into_iter().flatten().collect()
    }
}

/// What stands in the cells, in words.
pub(in crate::report::jetting) fn jets_words<'c>(
    mut cells: impl Iterator<Item = &'c CardCell>,
) -> &'static str {
    if cells.any(|cell| cell.power.is_some()) { "main/clip/pilot/power" } else { "main/clip/pilot" }
}

/// The screw of a field, by its trade name.
fn screw_called(field: &str) -> &'static str {
    if field == "jetting.fuel_screw" { "fuel screw" } else { "air screw" }
}

/// The sizes, or the trims, to go through to what an answer fits.
fn steps_to(rejet: &Rejet) -> Vec<f64> {
    let of_main = rejet.jets.iter().find(|jet| jet.circuit == Circuit::Main).map(|jet| &jet.steps);
    let of_trim = rejet.injection.as_ref().map(|advice| &advice.steps);
    of_trim.or(of_main).cloned().unwrap_or_default()
}
