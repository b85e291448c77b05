//! The ring as a second bore gauge: its end gap grows π times as the bore does, so that gaps at two depths, or at one depth
//! of two builds, say how the bore differs there.

use super::gauged::Gauged;
use crate::engine::EngineError;
use crate::engine::doubt::{COVERAGE, Doubtful};
use crate::engine::gauging::bore_growth_from_gap;
use crate::engine::gauging::bore_map::{BoreMap, Level};
use crate::notebook::{Build, Limits};

/// How far a ring's depth may lie from that of the bore's readings and still be the same place, m.
const SAME_DEPTH_M: f64 = 1.5e-3;

/// How much wider the bore is at one place than at another, by ring gap and by gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct GapCheck {
    /// The cylinder, where the engine has several and its bore was measured there.
    pub cylinder: Option<String>,
    /// Where, or when, it is wider.
    pub at: String,
    /// What it is held against.
    pub than: String,
    /// By the ring gaps over π, m.
    pub by_gap_m: f64,
    /// Standard uncertainty of that, m.
    pub by_gap_u_m: f64,
    /// By the bore gauge: the mean of the axes at that depth, m.
    pub by_gauge_m: f64,
    /// Standard uncertainty of that, m.
    pub by_gauge_u_m: f64,
}

impl GapCheck {
    fn of(at: String, than: String, by_gap: &Doubtful, by_gauge: (f64, f64)) -> Self {
        Self {
            cylinder: None,
            at,
            than,
            by_gap_m: by_gap.value(),
            by_gap_u_m: by_gap.uncertainty(),
            by_gauge_m: by_gauge.0,
            by_gauge_u_m: by_gauge.1,
        }
    }

    /// The same of one of several cylinders.
    #[must_use]
    pub fn at_cylinder(self, cylinder: Option<&str>) -> Self {
        Self { cylinder: cylinder.map(str::to_owned), ..self }
    }

    /// Whether the two agree as far as both can tell.
    pub fn agrees(&self) -> bool {
        (self.by_gap_m - self.by_gauge_m).abs() <= COVERAGE * self.by_gap_u_m.hypot(self.by_gauge_u_m)
    }
}

/// A ring gap with the depth it was read at.
struct GapAtDepth {
    name: String,
    depth_m: f64,
    shown: Doubtful,
}

fn gaps(build: &Build, limits: &Limits, map: &BoreMap) -> Vec<GapAtDepth> {
    let gauged = Gauged { build, limits };
    let read = build.ring.iter().flat_map(|ring| &ring.gaps).filter_map(|(name, gap)| {
        let field = format!("ring.gaps.{name}.gap");
        let shown = gauged.ring_gap(&field, gap.gap.as_ref()?, Some(map.least().diameter.value()));
        Some(GapAtDepth { name: name.clone(), depth_m: gap.depth.as_ref()?.si(), shown })
    });
    // A gap of nearly nothing on a warm cylinder is shut at 20 C: it tells nothing of the bore.
    let mut found: Vec<_> = read.filter(|gap| gap.shown.value() >= 0.0).collect();
    found.sort_by(|a, b| a.depth_m.total_cmp(&b.depth_m));
    found
}

/// The mean diameter at a depth.
fn mean_at(map: &BoreMap, depth_m: f64) -> Option<Doubtful> {
    let off = |level: &&Level| (level.depth_m - depth_m).abs();
    let level = map.levels().iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
    if off(&level) > SAME_DEPTH_M {
        return None;
    }
    let mut sum = Doubtful::exact(0.0);
    let mut axes: f64 = 0.0;
    for (_, diameter) in &level.readings {
        sum = sum.plus(diameter);
        axes += 1.0;
    }
    (axes > 0.0).then(|| sum.times(1.0 / axes))
}

/// Each ring gap against the deepest one, beside what the bore gauge says of these depths.
pub fn gap_checks(build: &Build, limits: &Limits, map: &BoreMap) -> Result<Vec<GapCheck>, EngineError> {
    let gaps = gaps(build, limits, map);
    let Some((deepest, others)) = gaps.split_last() else {
        return Ok(Vec::new());
    };
    let Some(below) = mean_at(map, deepest.depth_m) else {
        return Ok(Vec::new());
    };
    let mut found = Vec::new();
    for gap in others {
        let Some(here) = mean_at(map, gap.depth_m) else { continue };
        let by_gauge = here.minus(&below);
        let by_gap = bore_growth_from_gap(&gap.shown, &deepest.shown)?;
        let pair = (by_gauge.value(), by_gauge.uncertainty());
        found.push(GapCheck::of(gap.name.clone(), deepest.name.clone(), &by_gap, pair));
    }
    Ok(found)
}

/// How the bore grew from one build to another at the depths where the same ring was measured at both. The doubts of two
/// builds are their own: each gauge was set anew.
pub fn gap_growth(
    (old, old_map): (&Build, &BoreMap),
    (new, new_map): (&Build, &BoreMap),
    limits: &Limits,
) -> Result<Vec<GapCheck>, EngineError> {
    let before = gaps(old, limits, old_map);
    let mut found = Vec::new();
    for now in gaps(new, limits, new_map) {
        let then = before.iter().find(|gap| (gap.depth_m - now.depth_m).abs() <= SAME_DEPTH_M);
        let Some((then, was, is)) = then
            .and_then(|then| Some((then, mean_at(old_map, then.depth_m)?, mean_at(new_map, now.depth_m)?)))
        else {
            continue;
        };
        let apart = (is.value() - was.value(), is.uncertainty().hypot(was.uncertainty()));
        let growth = bore_growth_from_gap(&fresh(&now.shown), &then.shown)?;
        found.push(GapCheck::of(now.name.clone(), old.date.day(), &growth, apart));
    }
    Ok(found)
}

/// The same reading under names of its own: it was taken at another time than what it is held against.
fn fresh(gap: &Doubtful) -> Doubtful {
    Doubtful::new(gap.value(), "the later reading", gap.uncertainty())
}
