//! What follows from a change: the engine's computed figures of two setups, where they differ.

use crate::notebook::fields::cylinder::said_of_all;
use crate::notebook::{Assumptions, FieldSet};
use crate::quantity::fixed;

use super::figures::bench::{EXHAUST, TRANSFERS};
use super::figures::head::head_figures;
use super::figures::ignition::ignition_figures;
use super::figures::intake::swing;
use super::figures::pipe;
use super::figures::ports::port_figures;
use super::figures::{Bench, Gap, Known, Valve};
use super::package::{Package, PipeStanding, package};

/// A figure that both setups have.
#[derive(Debug, Clone, PartialEq)]
pub struct Derived {
    /// The one of several cylinders it is of; none where it is of all.
    pub cylinder: Option<String>,
    /// Its name: "exhaust opens".
    pub figure: &'static str,
    /// Unit of the values.
    pub unit: &'static str,
    /// Decimals worth showing.
    pub decimals: usize,
    /// The older side; none where it is not known.
    pub old: Option<f64>,
    /// The newer side.
    pub new: Option<f64>,
    /// The word for a rise and for a fall: "later", "earlier".
    pub words: (&'static str, &'static str),
}

/// One figure's name, unit, decimals and words.
struct Sort {
    figure: &'static str,
    unit: &'static str,
    decimals: usize,
    words: (&'static str, &'static str),
}

const MORE: (&str, &str) = ("higher", "lower");
const TIME: (&str, &str) = ("later", "earlier");
const LENGTH: (&str, &str) = ("longer", "shorter");

const SORTS: [Sort; 11] = [
    Sort { figure: "exhaust opens", unit: "deg after top", decimals: 1, words: TIME },
    Sort { figure: "exhaust duration", unit: "deg", decimals: 1, words: LENGTH },
    Sort { figure: "transfers open", unit: "deg after top", decimals: 1, words: TIME },
    Sort { figure: "blowdown", unit: "deg", decimals: 1, words: LENGTH },
    Sort { figure: "full-stroke ratio", unit: "", decimals: 2, words: MORE },
    Sort { figure: "trapped ratio", unit: "", decimals: 2, words: MORE },
    Sort { figure: "squish velocity at the limiter", unit: "m/s", decimals: 1, words: MORE },
    Sort {
        figure: "base setting",
        unit: "deg before top",
        decimals: 1,
        words: ("more advanced", "less advanced"),
    },
    Sort { figure: "retard begins", unit: "rpm", decimals: 0, words: MORE },
    Sort { figure: "pipe tuned", unit: "rpm", decimals: 0, words: MORE },
    Sort { figure: "intake tract tuned", unit: "rpm", decimals: 0, words: MORE },
];

/// The figures of one setup, in the order of [`SORTS`].
fn figures(bench: &Bench<'_>) -> [Known<f64>; 11] {
    let exhaust = bench.timing(&EXHAUST, Valve::Open);
    let head = head_figures(bench);
    let ignition = ignition_figures(bench);
    let retard = ignition.corner.and_then(|corner| {
        corner.map(|corner| corner.rpm).ok_or_else(|| Gap::Without("the curve never retards".into()))
    });
    [
        exhaust.clone().map(|timing| timing.opens_deg),
        exhaust.map(|timing| timing.duration_deg()),
        bench.timing(&TRANSFERS, Valve::Open).map(|timing| timing.opens_deg),
        port_figures(bench, Valve::Open).blowdown_deg,
        head.full_ratio.clone(),
        head.trapped_ratio.clone(),
        bench.si("ignition.limiter").and_then(|rpm| head.peak(rpm)).map(|peak| peak.velocity_m_s),
        ignition.base_deg,
        retard,
        pipe::tuned(bench, Valve::Open, None).map(|tuned| tuned.rpm),
        swing(bench).map(|swing| swing.rpm),
    ]
}

/// The figures that differ by as much as is shown, or that only one side has.
pub fn derived(old: &Bench<'_>, new: &Bench<'_>) -> Vec<Derived> {
    let pairs = figures(old).into_iter().zip(figures(new));
    let shown = |value: Option<f64>, decimals| value.map(|value| fixed(value, decimals));
    let differ = |one: &Derived| shown(one.old, one.decimals) != shown(one.new, one.decimals);
    SORTS
        .iter()
        .zip(pairs)
        .map(|(sort, (old, new))| Derived {
            cylinder: None,
            figure: sort.figure,
            unit: sort.unit,
            decimals: sort.decimals,
            old: old.ok(),
            new: new.ok(),
            words: sort.words,
        })
        .filter(differ)
        .collect()
}

/// The same of two machines of which one at least has several cylinders: what differs alike at all of them is said once.
pub fn derived_of_each((old, new): (&FieldSet, &FieldSet), assumptions: &Assumptions) -> Vec<Derived> {
    let names = if new.cylinders().is_empty() { old.cylinders() } else { new.cylinders() };
    let of_one = |name: &String| {
        let (was, is) = (old.for_cylinder(name), new.for_cylinder(name));
        derived(&Bench { fields: &was, assumptions }, &Bench { fields: &is, assumptions })
    };
    let all: Vec<(&str, Vec<Derived>)> = names.iter().map(|name| (name.as_str(), of_one(name))).collect();
    said_of_all(&all, |name, one| Derived { cylinder: Some(name.to_owned()), ..one.clone() })
}

/// Parts whose standing beside the pipe changed: those that agreed and stand alone now, and those that agree now.
pub fn standings(old: &Bench<'_>, new: &Bench<'_>) -> Vec<String> {
    let (before, after) = (package(old, None), package(new, None));
    let stood = |part: &str| standing(&before, part);
    let changed = after.rows.iter().filter_map(|row| {
        let (was, is) = (stood(row.part)?, row.standing?);
        match (was, is) {
            (PipeStanding::Agrees, PipeStanding::Above(by)) => Some(alone(row.part, by, "above")),
            (PipeStanding::Agrees, PipeStanding::Below(by)) => Some(alone(row.part, by, "below")),
            (PipeStanding::Above(_) | PipeStanding::Below(_), PipeStanding::Agrees) => {
                Some(format!("{}: in agreement with the pipe, and not before", row.part))
            }
            _ => None,
        }
    });
    changed.collect()
}

fn standing(package: &Package, part: &str) -> Option<PipeStanding> {
    package.rows.iter().find(|row| row.part == part)?.standing
}

fn alone(part: &str, rpm: f64, side: &str) -> String {
    format!("{part}: {} rpm {side} the pipe, where it agreed before", fixed(rpm, 0))
}
