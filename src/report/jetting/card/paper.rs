//! A card as it stands on paper: what is the same in every air is said once, and the cells have what differs.

use super::cell::{ABOVE_THE_LIMIT, CardCell};
use super::{CardAnswer, CardRow};
use crate::notebook::fields::cylinder::cylinders_called;
use crate::quantity::{nearly_equal, trimmed};
use crate::report::jetting::first::before::NOT_IN_THE_TANK;
use crate::report::out::each::OfCylinders;
use crate::report::words::layout::{capital, signed};

/// A grid on paper.
#[derive(PartialEq)]
pub(in crate::report) struct CardOnPaper {
    /// Whether that is a trim.
    pub(in crate::report) is_trim: bool,
    /// What stands large in its cells.
    pub(in crate::report) what: &'static str,
    /// What is the same in every cell.
    pub(in crate::report) everywhere: Option<String>,
    /// What differs on the bike from the setup it starts from.
    pub(in crate::report) moved_on: Option<String>,
    /// What of it makes the bike lean unless it is done first, in sentences.
    pub(in crate::report) first: Option<String>,
    /// Whether the needle differs between the cells.
    pub(in crate::report) needles_differ: bool,
    /// What holds in every air.
    pub(in crate::report) air: String,
    /// What stands down the side.
    pub(in crate::report) down: &'static str,
    /// Temperatures across.
    pub(in crate::report) temperatures: Vec<String>,
    /// The rows, each with its head.
    pub(in crate::report) rows: Vec<(String, Vec<PaperCell>)>,
    /// What the signs in it mean.
    pub(in crate::report) signs: Vec<String>,
}

/// A cell on paper.
#[derive(Clone, PartialEq)]
pub(in crate::report) struct PaperCell {
    /// The size.
    pub(in crate::report) size: String,
    /// Whether its chance of lean is over the limit.
    pub(in crate::report) is_above: bool,
    /// What else is set there, line by line.
    pub(in crate::report) beside: Vec<Vec<String>>,
    /// Its place among the sizes of the card, with the needle that is hung in for it; none where nothing is to be fitted.
    pub(in crate::report) band: Option<(usize, Option<String>)>,
}

/// One thing that a cell may set beside its size, by what it is called.
type Set = (&'static str, fn(&CardCell) -> Option<String>);

const CLIP: Set = ("clip", |cell| cell.clip.map(|clip| clip.to_string()));
const NEEDLE: Set = ("needle", |cell| cell.needle.clone().filter(|_| !cell.is_injected()));
const PILOT: Set = ("pilot", |cell| cell.pilot.map(|pilot| trimmed(pilot, 2)));
const POWER: Set = ("power", |cell| cell.power.map(|power| trimmed(power, 2)));

impl CardAnswer {
    /// On paper.
    pub(in crate::report) fn on_paper(&self) -> CardOnPaper {
        let cells: Vec<&CardCell> = self.rows.iter().flat_map(CardRow::cells).collect();
        let is_injected = cells.iter().any(|cell| cell.is_injected());
        let size = |cell: &CardCell| if is_injected { cell.trim_percent } else { cell.main };
        let mut sizes: Vec<f64> = cells.iter().filter_map(|cell| size(cell)).collect();
        sizes.sort_by(f64::total_cmp);
        sizes.dedup_by(|one, other| nearly_equal(*one, *other));
        let (mut same, mut differing) = (Vec::new(), Vec::new());
        for set in [NEEDLE, CLIP, PILOT, POWER] {
            let mut values = cells.iter().filter(|cell| !cell.lacks_a_main_jet()).map(|cell| set.1(cell));
            let first = values.next().flatten();
            if values.all(|value| value == first) {
                same.extend(first.map(|value| format!("{} {value}", set.0)));
            } else {
                differing.push(set);
            }
        }
        let screw = cells.iter().find_map(|cell| cell.screw).unwrap_or("screw");
        let turns: Vec<Option<String>> = cells.iter().map(|cell| cell.screw_out()).collect();
        let screw_differs = turns.windows(2).any(|pair| pair[0] != pair[1]);
        if let Some(first) = turns.first().and_then(Option::as_ref).filter(|_| !screw_differs) {
            same.push(format!("{screw} {first}"));
        }
        let cell = |cell: &CardCell| {
            let set = |(name, value): &Set| value(cell).map(|value| format!("{name} {value}"));
            // Needle and clip on a line, pilot and screw on the next.
            let (hung, others): (Vec<_>, Vec<_>) =
                differing.iter().partition(|(name, _)| ["needle", "clip"].contains(name));
            let out = screw_differs.then(|| cell.screw_out()).flatten();
            let lines: [Vec<String>; 2] = [
                hung.into_iter().filter_map(set).collect(),
                others.into_iter().filter_map(set).chain(out).collect(),
            ];
            let beside = lines.into_iter().filter(|line| !line.is_empty()).collect();
            let shown = match (size(cell), is_injected) {
                (Some(trim), true) => signed(trim, 1),
                (Some(main), false) => trimmed(main, 2),
                (None, _) if cell.has_main => "none".to_owned(),
                (None, _) => "-".to_owned(),
            };
            let place = size(cell).and_then(|own| sizes.iter().position(|size| nearly_equal(*size, own)));
            let band = place.map(|place| (place, NEEDLE.1(cell)));
            PaperCell {
                size: shown,
                is_above: cell.above_limit,
                beside: if cell.lacks_a_main_jet() { Vec::new() } else { beside },
                band,
            }
        };
        let lacks = cells.iter().any(|cell| cell.lacks_a_main_jet());
        let above = cells.iter().any(|cell| cell.above_limit);
        let signs = [
            lacks.then(|| "none: nothing in the box is safe there; do not run it.".to_owned()),
            above.then(|| ABOVE_THE_LIMIT.to_owned()),
            cells.iter().find_map(|cell| cell.in_steps()),
            screw_differs.then(|| format!("Turns: of the {screw}, out from lightly seated.")),
        ];
        let (first, moved_on) = self.moved_on.as_deref().map_or_else(Default::default, apart);
        CardOnPaper {
            is_trim: is_injected,
            what: if is_injected { "trim of the whole map, %" } else { "main jet" },
            everywhere: (!same.is_empty()).then(|| format!("In every cell: {}.", same.join(", "))),
            moved_on,
            first,
            needles_differ: differing.iter().any(|(name, _)| *name == "needle"),
            air: capital(&without_options(&self.air)),
            down: self.down.name(),
            temperatures: self.temperatures.clone(),
            rows: self
                .rows
                .iter()
                .map(|row| (row.head().to_owned(), row.cells().iter().map(&cell).collect()))
                .collect(),
            signs: signs.into_iter().flatten().collect(),
        }
    }
}

/// What is said of a fuel that is not in the tank yet, with which the sizes are lean, and the rest.
fn apart(words: &str) -> (Option<String>, Option<String>) {
    let Some(at) = words.find(NOT_IN_THE_TANK) else { return (None, Some(words.to_owned())) };
    let (before, from) = words.split_at(at);
    let end = from.find(". ").map_or(from.len(), |end| end + 1);
    let (first, after) = from.split_at(end);
    let rest = [before.trim(), after.trim()].join(" ").trim().to_owned();
    (Some(first.trim().to_owned()), Some(rest).filter(|rest| !rest.is_empty()))
}

/// Words without what stands in brackets to be typed: nobody types on paper.
fn without_options(words: &str) -> String {
    let mut kept = String::new();
    let mut rest = words;
    while let Some((before, (inside, after))) =
        rest.split_once(" (").and_then(|(before, behind)| Some((before, behind.split_once(')')?)))
    {
        kept.push_str(before);
        if !inside.contains("--") {
            kept.push_str(&format!(" ({inside})"));
        }
        rest = after;
    }
    kept + rest
}

impl OfCylinders<CardAnswer> {
    /// The grids that differ, each with whose it is; one without a name where all have the same, and there are no others.
    pub(in crate::report) fn on_paper(&self, of_all: bool) -> Vec<(Option<String>, CardOnPaper)> {
        let groups = self.groups(CardAnswer::on_paper);
        let is_of_all = of_all && groups.len() == 1;
        let whose = |names: &[&str]| (!is_of_all).then(|| cylinders_called(names));
        groups.into_iter().map(|(card, names, _)| (whose(&names), card)).collect()
    }
}
