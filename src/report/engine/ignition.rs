//! When the spark comes: the base setting, the sum at each engine speed, and what was asked to be converted.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::figures::ignition::IgnitionFigures;
use crate::advice::figures::{Bench, Gap, Known};
use crate::engine::spark::{FiringSum, MapAngles, RetardCorner, SteepestStep};
use crate::notebook::MapTable;
use crate::quantity::Quantity;
use crate::report::out::figure::Figure;
use crate::report::words::cells::{CellDifference, differing};
use crate::report::words::known::{FigureOrGap, lacks};
use crate::report::words::subject::Subject;

/// When the spark comes: map + base - lag, as a sum.
#[derive(Debug, Serialize, JsonSchema)]
pub struct IgnitionAnswer {
    #[serde(flatten)]
    pub(super) subject: Subject,
    /// Base setting, degrees of the crank before top dead centre; null when it is not known.
    pub(super) base_deg: FigureOrGap<3>,
    /// Base setting as travel of the piston before top dead centre, mm; null when it is not known.
    pub(super) base_mm: FigureOrGap<4>,
    /// What the map's angles mean: absolute, or relative to the base; null when it is not written down.
    pub(super) map_angles: Option<AngleMeaning>,
    /// Base that an absolute map was written for, degrees before top dead centre; null when it is not written down.
    pub(super) assumed_base_deg: Option<Figure<3>>,
    /// Lag of pickup and box, microseconds; null when it is not written down and taken as 0.
    pub(super) lag_us: Option<Figure<3>>,
    /// Throttle opening of `firing`, percent; null where the map runs over engine speed alone.
    pub(super) throttle_percent: Option<f64>,
    /// The sum at each engine speed; empty when there is no map.
    pub(super) firing: Vec<FiringRow>,
    /// Where the retard begins, at the widest throttle; null when it never does or is not known.
    pub(super) retard: Option<RetardBegins>,
    /// The steepest step of the map at the widest throttle; null when it is not known.
    pub(super) steepest: Option<SteepestOfMap>,
    /// Conversions that were asked for.
    pub(super) conversions: Vec<Conversion>,
    /// The setup it is held against; null when none was named.
    pub(super) against: Option<AgainstIgnition>,
    /// What else should be known.
    pub(super) remarks: Vec<String>,
    /// What is not known, and which fields it needs.
    lacks: Vec<String>,
    /// Why it is not known what the map's angles mean.
    #[serde(skip)]
    pub(super) angles_gap: Option<Gap>,
    /// Why there are no sums.
    #[serde(skip)]
    pub(super) firing_gap: Option<Gap>,
    /// Why it is not known where the retard begins.
    #[serde(skip)]
    pub(super) retard_gap: Option<Gap>,
    /// Why the steepest step is not known.
    #[serde(skip)]
    pub(super) steepest_gap: Option<Gap>,
    /// The map's widest throttle opening, percent, at which the retard and the steepest step are; none for a map over engine
    /// speed alone.
    #[serde(skip)]
    pub(super) widest: Option<f64>,
    /// Where the box limits, rpm.
    #[serde(skip)]
    pub(super) limiter_rpm: Option<f64>,
    /// When it fires at the map's breakpoints, (rpm, degrees); where it is to be drawn.
    #[serde(skip)]
    pub(super) curve: Option<Known<Vec<(f64, f64)>>>,
}

/// What the angles of a map mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum AngleMeaning {
    Absolute,
    Relative,
}

/// When the spark comes at one engine speed.
#[derive(Debug, Serialize, JsonSchema)]
pub struct FiringRow {
    /// Engine speed, revolutions per minute.
    pub(super) rpm: Figure<1>,
    /// What the map says, degrees; null when it is not known.
    pub(super) map_deg: FigureOrGap<3>,
    /// What the base adds, degrees: all of it to a relative map, its difference from the assumed one to an absolute map; null when it is not known.
    pub(super) base_deg: FigureOrGap<3>,
    /// What the lag takes away, degrees, never negative; null when it is not known.
    pub(super) lag_deg: FigureOrGap<3>,
    /// `map_deg` + `base_deg` - `lag_deg`, degrees before top dead centre; null when it is not known.
    pub(super) firing_deg: FigureOrGap<3>,
    /// Travel of the piston before top dead centre at that angle, mm, negative after it; null when it is not known.
    pub(super) travel_mm: FigureOrGap<4>,
}

/// Where the retard begins.
#[derive(Debug, Serialize, JsonSchema)]
pub(super) struct RetardBegins {
    /// Engine speed, revolutions per minute.
    pub(super) rpm: Figure<1>,
    /// The greatest advance of the map, degrees as in the map.
    pub(super) map_deg: Figure<3>,
    /// Whether the map rises anywhere after it.
    pub(super) rises_again: bool,
}

/// The steepest step of a map.
#[derive(Debug, Serialize, JsonSchema)]
#[allow(clippy::struct_field_names)] // they are the keys of the answer
pub(super) struct SteepestOfMap {
    /// Engine speed at which it begins, revolutions per minute.
    pub(super) from_rpm: Figure<1>,
    /// Engine speed at which it ends, revolutions per minute.
    pub(super) to_rpm: Figure<1>,
    /// Change in degrees for each 1000 revolutions per minute, negative for later.
    pub(super) deg_per_1000_rpm: Figure<3>,
}

/// A conversion that was asked for.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Conversion {
    /// The option it was asked with.
    pub(super) option: ConvertedFrom,
    /// What was typed.
    pub(super) typed: String,
    /// Degrees of the crank before top dead centre; null when it is not known.
    pub(super) deg: FigureOrGap<3>,
    /// Travel of the piston before top dead centre, mm, negative after it; null when it is not known.
    pub(super) travel_mm: FigureOrGap<4>,
}

/// What a conversion begins with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub enum ConvertedFrom {
    /// Degrees of the crank.
    #[serde(rename = "--deg")]
    Degrees,
    /// Travel of the piston.
    #[serde(rename = "--travel")]
    Travel,
    /// A length along a rim.
    #[serde(rename = "--rim")]
    Rim,
}

/// Another setup beside this one.
#[derive(Debug, Serialize, JsonSchema)]
pub struct AgainstIgnition {
    /// The setup as it is called.
    pub(super) setup: String,
    /// Whether the cells say when both fire, degrees before top dead centre; otherwise they are what stands in the maps, degrees.
    pub(super) as_fired: bool,
    /// Cells that differ, read at the breakpoints of both.
    pub(super) cells: Vec<CellDifference>,
    /// Its map and this one's.
    #[serde(skip)]
    pub(super) maps: Known<(MapTable, MapTable)>,
    /// Its curve, (rpm, degrees).
    #[serde(skip)]
    pub(super) curve: Known<Vec<(f64, f64)>>,
}

/// The part of an ignition's answer that is asked at a throttle.
#[derive(Debug)]
pub struct AtThrottle {
    /// The throttle opening of the sums, percent; none for a map over engine speed alone.
    pub throttle: Option<f64>,
    /// The map's widest throttle opening, percent; none likewise.
    pub widest: Option<f64>,
    /// The sums.
    pub rows: Known<Vec<FiringRow>>,
    /// When it fires at the map's breakpoints, (rpm, degrees); where it is to be drawn.
    pub curve: Option<Known<Vec<(f64, f64)>>>,
}

impl IgnitionAnswer {
    /// The ignition of the setup on the bench, with what was asked to be converted and what it is held against.
    pub fn new(
        subject: Subject,
        bench: &Bench<'_>,
        figures: &IgnitionFigures,
        at: AtThrottle,
        conversions: Vec<Conversion>,
        against: Option<AgainstIgnition>,
        remarks: Vec<String>,
    ) -> Self {
        let si = |field: &str| bench.fields.quantity(field).map(Quantity::si);
        let corner = figures.corner.as_ref();
        let mut answer = Self {
            subject,
            base_deg: FigureOrGap(figures.base_deg.clone()),
            base_mm: millimetres(&figures.base_m),
            map_angles: figures.angles.as_ref().ok().map(AngleMeaning::of),
            assumed_base_deg: si("ignition.assumed_base").map(Figure),
            lag_us: figures.lag_known.then_some(Figure(figures.lag_s * 1e6)),
            throttle_percent: at.throttle,
            retard: corner.ok().and_then(Option::as_ref).map(RetardBegins::new),
            steepest: figures.steepest.as_ref().ok().map(SteepestOfMap::new),
            conversions,
            against,
            remarks,
            lacks: Vec::new(),
            angles_gap: figures.angles.as_ref().err().cloned(),
            firing_gap: at.rows.as_ref().err().cloned(),
            firing: at.rows.unwrap_or_default(),
            retard_gap: corner.err().cloned(),
            steepest_gap: figures.steepest.as_ref().err().cloned(),
            widest: at.widest,
            limiter_rpm: si("ignition.limiter"),
            curve: at.curve,
        };
        answer.lacks = answer.not_known();
        answer
    }

    fn not_known(&self) -> Vec<String> {
        let words = |gap: &Option<Gap>| gap.as_ref().map(ToString::to_string);
        let alone = [
            ("base setting in degrees", self.base_deg.gap()),
            ("base setting as travel", self.base_mm.gap()),
            ("fires at", words(&self.firing_gap)),
            ("retard begins", words(&self.retard_gap)),
        ];
        let sums = self.firing.iter().flat_map(|row| row.gaps("travel where it fires"));
        let conversions = self
            .conversions
            .iter()
            .flat_map(|one| [(one.option.typed(), one.deg.gap()), (one.option.typed(), one.travel_mm.gap())]);
        lacks(alone.into_iter().chain(sums).chain(conversions))
    }
}

impl AngleMeaning {
    fn of(angles: &MapAngles) -> Self {
        match angles {
            MapAngles::Absolute { .. } => Self::Absolute,
            MapAngles::Relative => Self::Relative,
        }
    }
}

impl FiringRow {
    /// The sum at an engine speed, rpm: what the map says there, degrees, and the travel at which it fires, m.
    pub fn new(rpm: f64, map_deg: Known<f64>, sum: &Known<FiringSum>, travel_m: &Known<f64>) -> Self {
        Self {
            rpm: Figure(rpm),
            map_deg: FigureOrGap(map_deg),
            base_deg: FigureOrGap::of(sum, |sum| sum.base_deg),
            lag_deg: FigureOrGap::of(sum, |sum| sum.lag_deg),
            firing_deg: FigureOrGap::of(sum, |sum| sum.firing_deg),
            travel_mm: millimetres(travel_m),
        }
    }

    /// Why the sum is not known.
    pub fn gap(&self) -> Option<Gap> {
        self.firing_deg.0.clone().err()
    }

    /// Engine speed, rpm, and the degrees before top dead centre at which it fires there.
    pub fn fires_at(&self) -> Option<(f64, f64)> {
        Some((self.rpm.0, self.firing_deg.value()?))
    }

    /// What it lacks; the travel under the name it is to be told by.
    pub(super) fn gaps<'a>(&self, travel: &'a str) -> [(&'a str, Option<String>); 2] {
        let sum = self.firing_deg.gap();
        let of_travel = self.travel_mm.gap().filter(|_| sum.is_none());
        [("fires at", sum), (travel, of_travel)]
    }
}

impl RetardBegins {
    fn new(corner: &RetardCorner) -> Self {
        Self { rpm: Figure(corner.rpm), map_deg: Figure(corner.advance_deg), rises_again: corner.rises_again }
    }
}

impl SteepestOfMap {
    fn new(step: &SteepestStep) -> Self {
        Self {
            from_rpm: Figure(step.from_rpm),
            to_rpm: Figure(step.to_rpm),
            deg_per_1000_rpm: Figure(step.deg_per_1000_rpm),
        }
    }
}

impl Conversion {
    /// What was typed, as degrees and as travel, m, before top dead centre.
    pub fn new(option: ConvertedFrom, typed: String, degrees: Known<f64>, travel_m: &Known<f64>) -> Self {
        Self { option, typed, deg: FigureOrGap(degrees), travel_mm: millimetres(travel_m) }
    }
}

impl ConvertedFrom {
    /// The option as it is typed.
    pub(super) fn typed(self) -> &'static str {
        match self {
            Self::Degrees => "--deg",
            Self::Travel => "--travel",
            Self::Rim => "--rim",
        }
    }
}

impl AgainstIgnition {
    /// Another setup by the name it is called: its map and this one's, which say when both fire where `as_fired`, else they are
    /// the maps' own numbers; and its curve, (rpm, degrees).
    pub fn new(
        setup: String,
        as_fired: bool,
        maps: Known<(MapTable, MapTable)>,
        curve: Known<Vec<(f64, f64)>>,
    ) -> Self {
        let cells = maps.iter().flat_map(|(old, new)| differing(old, new)).collect();
        Self { setup, as_fired, cells, maps, curve }
    }
}

fn millimetres<const DECIMALS: usize>(metres: &Known<f64>) -> FigureOrGap<DECIMALS> {
    FigureOrGap::of(metres, |metres| metres * 1000.0)
}
