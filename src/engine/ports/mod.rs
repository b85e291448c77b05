//! When ports open and shut, how much area they give, and for how long: timing, angle-area and specific time-area.
//!
//! Angles are in degrees after true top dead centre, as in [`super::crank`]. A port that the crown uncovers opens and closes
//! between 0 and 360; an intake opens before the top, at a negative angle, and closes after it, so that a duration is always
//! closing less opening.
//!
//! Angle-area is the integral of the open area over the crank angle, m2 deg. Divided by the speed it is an area held for a time,
//! and divided by the swept volume as well the *specific time-area*, by which ports of engines of any size are compared. Its SI
//! unit is s/m; Jennings prints s cm2/cm3, and 1 s/m is 0.01 s cm2/cm3, so that his 1.5e-4 is 1.5e-2 s/m here.
//!
//! Sources: Naito and Nomura, SAE 660394 (1966), for the method (from memory); Jennings, Two-Stroke Tuner's Handbook (1973, second-hand).

pub mod window;

use super::crank::Crank;
use super::{Allowed, EngineError, named};
use crate::quantity::search;
use window::Window;

/// One turn of the crank, degrees.
const TURN_DEG: f64 = 360.0;

const DURATION: Allowed = Allowed {
    field: "duration",
    unit: "degrees",
    low: 1.0,
    high: 359.0,
    help: "Give the whole angle from opening to closing.",
};

const SKIRT: Allowed = Allowed {
    field: named::SKIRT_LENGTH,
    unit: "m",
    low: 0.01,
    high: 0.2,
    help: "Give the length from the crown's edge to the lower edge of the skirt, on the intake's side.",
};

const ROTARY_OPENS: Allowed = Allowed {
    field: "opening of the rotary valve after bottom dead centre",
    unit: "degrees",
    low: -90.0,
    high: 150.0,
    help: "Give degrees after bottom dead centre; from degrees before top dead centre, take them off 180.",
};

const ROTARY_SHUTS: Allowed = Allowed {
    field: "closing of the rotary valve after top dead centre",
    unit: "degrees",
    low: 0.0,
    high: 150.0,
    help: "Give degrees after top dead centre.",
};

const COUNT: Allowed = Allowed {
    field: "number of equal windows",
    unit: "",
    low: 1.0,
    high: 24.0,
    help: "Give how many windows of this shape there are.",
};

const ANGLE: Allowed = Allowed {
    field: "crank angle",
    unit: "degrees",
    low: -360.0,
    high: 720.0,
    help: "Give degrees after top dead centre.",
};

const STEP: Allowed = Allowed {
    field: "step of a curve",
    unit: "degrees",
    low: 0.01,
    high: 30.0,
    help: "Give the degrees between two points; 1 is usual.",
};

const ANGLE_AREA: Allowed = Allowed {
    field: "angle-area",
    unit: "m2 deg",
    low: 0.0,
    high: 10.0,
    help: "Give square metres times degrees; an exhaust port has about 0.1.",
};

const SWEPT: Allowed = Allowed {
    field: "swept volume",
    unit: "m3",
    low: 1e-6,
    high: 2e-3,
    help: "Give the volume of one cylinder in m3; 125 cm3 is 0.000125.",
};

const SPEED: Allowed = Allowed {
    field: "engine speed",
    unit: "rpm",
    low: 1.0,
    high: 30_000.0,
    help: "Give revolutions per minute.",
};

const TIME_AREA: Allowed = Allowed {
    field: "specific time-area",
    unit: "s/m",
    low: 1e-6,
    high: 1.0,
    help: "Give s/m: a figure in s cm2/cm3 times 100.",
};

/// When something opens and closes, in degrees after true top dead centre; an opening before the top is negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    /// Opening, degrees: on the way down for exhaust and transfers, on the way up (negative) for an intake.
    pub opens_deg: f64,
    /// Closing, degrees: on the way up for exhaust and transfers, on the way down for an intake.
    pub closes_deg: f64,
}

impl Timing {
    /// Degrees from opening to closing.
    pub fn duration_deg(&self) -> f64 {
        self.closes_deg - self.opens_deg
    }
}

/// Timing of a window that the crown uncovers.
pub fn timing(window: &Window, crank: &Crank) -> Result<Timing, EngineError> {
    edge_timing(window.opens_below_m(), crank)
}

/// Timing of an upper edge at a depth in m below the crown's edge at top dead centre, 0 to the stroke.
pub fn edge_timing(depth_m: f64, crank: &Crank) -> Result<Timing, EngineError> {
    Ok(Timing {
        opens_deg: crank.angle_going_down_deg(depth_m)?,
        closes_deg: crank.angle_going_up_deg(depth_m)?,
    })
}

/// Depth in m of the upper edge that stays uncovered for a duration in degrees, 1 to 359: what to cut a port to.
pub fn edge_for_duration_m(duration_deg: f64, crank: &Crank) -> Result<f64, EngineError> {
    let duration = DURATION.check(duration_deg)?;
    // The edge is passed twice at one depth: `opens` down, `opens + duration` up. The later the opening, the deeper the first
    // place and the higher the second, so one opening between makes them equal. Both ends lie on their own half of the turn.
    let bottom = crank.bottom_deg();
    let (earliest, latest) = ((bottom - duration).max(0.0), bottom.min(TURN_DEG - duration));
    let opens =
        search::turn(earliest, latest, |opens| crank.depth_m(opens) < crank.depth_m(opens + duration));
    Ok(crank.depth_m(opens.middle()))
}

/// Timing of a piston-port intake: the skirt uncovers its floor on the way up, and covers it on the way down.
///
/// `floor_m` is the floor's depth below the crown's edge at top dead centre, `skirt_length_m` (0.01 to 0.2) runs from that edge
/// to the skirt's lower edge. The opening is negative: -75 is 75 degrees before top dead centre. Refused are a skirt that never
/// uncovers the floor and one that never covers it.
pub fn intake_timing(floor_m: f64, skirt_length_m: f64, crank: &Crank) -> Result<Timing, EngineError> {
    let skirt = SKIRT.check(skirt_length_m)?;
    let travel = floor_m - skirt;
    if travel <= 0.0 {
        return Err(EngineError::Contradiction {
            field: named::SKIRT_LENGTH,
            found: skirt,
            other: "depth of the intake's floor",
            limit: floor_m,
            unit: "m",
            help: "The skirt never uncovers this intake. Check both, and that both are measured from the crown's edge.",
        });
    }
    if travel >= crank.stroke_m() {
        return Err(EngineError::Contradiction {
            field: "depth of the intake's floor",
            found: floor_m,
            other: "depth of the skirt at bottom dead centre",
            limit: skirt + crank.stroke_m(),
            unit: "m",
            help: "The skirt never covers this intake. Check both, and that both are measured from the crown's edge.",
        });
    }
    Ok(Timing {
        opens_deg: crank.angle_going_up_deg(travel)? - TURN_DEG,
        closes_deg: crank.angle_going_down_deg(travel)?,
    })
}

/// Timing of a rotary valve from where it opens, -90 to 150 degrees after bottom dead centre, and where it shuts, 0 to 150
/// degrees after true top dead centre. The opening is negative as for every intake. With a pin offset the bottom is
/// not 180 degrees from the top, and the opening is counted from the real one.
pub fn rotary_timing(
    opens_after_bdc_deg: f64,
    shuts_after_tdc_deg: f64,
    crank: &Crank,
) -> Result<Timing, EngineError> {
    Ok(Timing {
        opens_deg: crank.bottom_deg() + ROTARY_OPENS.check(opens_after_bdc_deg)? - TURN_DEG,
        closes_deg: ROTARY_SHUTS.check(shuts_after_tdc_deg)?,
    })
}

/// Equal windows that open together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EqualWindows {
    /// One of them.
    pub window: Window,
    /// How many there are, 1 to 24.
    pub count: u32,
}

/// Which edge of the piston uncovers a port.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Edge {
    Crown,
    Skirt { length_m: f64 },
}

/// Windows that do one job together, as an exhaust with its auxiliaries or all transfers: each opens at its own time, their areas
/// add.
#[derive(Debug, Clone, PartialEq)]
pub struct Ports {
    crank: Crank,
    edge: Edge,
    windows: Vec<EqualWindows>,
    timing: Timing,
    kinks_deg: Vec<f64>,
}

impl Ports {
    /// Ports that the crown uncovers: exhaust and transfers. At least one window; each must open.
    pub fn uncovered_by_crown(windows: &[EqualWindows], crank: &Crank) -> Result<Self, EngineError> {
        Self::gather(windows, Edge::Crown, crank)
    }

    /// Ports that the skirt's lower edge uncovers: the intake of a piston-port engine. Skirt length in m, 0.01 to 0.2, from the
    /// crown's edge. At least one window; each must be uncovered and covered again. A window that the crown would
    /// uncover too, near the bottom, is not counted there.
    pub fn uncovered_by_skirt(
        windows: &[EqualWindows],
        skirt_length_m: f64,
        crank: &Crank,
    ) -> Result<Self, EngineError> {
        Self::gather(windows, Edge::Skirt { length_m: SKIRT.check(skirt_length_m)? }, crank)
    }

    fn gather(windows: &[EqualWindows], edge: Edge, crank: &Crank) -> Result<Self, EngineError> {
        let mut whole: Option<Timing> = None;
        let mut kinks_deg = Vec::new();
        for EqualWindows { window, count } in windows {
            COUNT.check(f64::from(*count))?;
            let own = match edge {
                Edge::Crown => timing(window, crank)?,
                Edge::Skirt { length_m } => intake_timing(window.opens_above_m(), length_m, crank)?,
            };
            whole = Some(whole.map_or(own, |before| Timing {
                opens_deg: before.opens_deg.min(own.opens_deg),
                closes_deg: before.closes_deg.max(own.closes_deg),
            }));
            kinks_deg.extend(kinks_deg_of(window, edge, crank)?);
        }
        let timing = whole.ok_or(EngineError::TooFew {
            field: "list of windows",
            found: 0,
            needed: 1,
            help: "Give the windows that open together.",
        })?;
        kinks_deg.sort_by(f64::total_cmp);
        Ok(Self { crank: *crank, edge, windows: windows.to_vec(), timing, kinks_deg })
    }

    /// First opening and last closing, degrees after true top dead centre.
    pub fn timing(&self) -> Timing {
        self.timing
    }

    /// Open area of all windows at an angle in degrees after true top dead centre, any angle; m2.
    pub fn area_m2(&self, after_top_deg: f64) -> f64 {
        let crown = self.crank.depth_m(after_top_deg);
        // The crank here decides how deep the crown goes, should the window have been measured with another one.
        let open = |window: &Window| match self.edge {
            Edge::Crown => window.area_above(crown),
            Edge::Skirt { length_m } => window.open_area_from_below_m2(crown + length_m),
        };
        self.windows.iter().map(|equal| f64::from(equal.count) * open(&equal.window)).sum()
    }

    /// The curve of open area, m2, over the crank angle, degrees: the opening, each multiple of `step_deg` (0.01 to 30) while
    /// anything is open, and the closing.
    pub fn area_curve(&self, step_deg: f64) -> Result<Vec<(f64, f64)>, EngineError> {
        let step = STEP.check(step_deg)?;
        let Timing { opens_deg, closes_deg } = self.timing;
        let mut curve = vec![(opens_deg, self.area_m2(opens_deg))];
        // Multiplied, not summed up, so that the angles stay round.
        let mut steps = (opens_deg / step).floor() + 1.0;
        while steps * step < closes_deg {
            curve.push((steps * step, self.area_m2(steps * step)));
            steps += 1.0;
        }
        curve.push((closes_deg, self.area_m2(closes_deg)));
        Ok(curve)
    }

    /// Angle-area over the whole time that anything is open: integral of A over the crank angle, m2 deg.
    pub fn angle_area_m2_deg(&self) -> f64 {
        self.integral(self.timing.opens_deg, self.timing.closes_deg)
    }

    /// Angle-area between two angles in degrees after true top dead centre, -360 to 720, the second not before the first; m2 deg.
    pub fn angle_area_between_m2_deg(&self, from_deg: f64, to_deg: f64) -> Result<f64, EngineError> {
        let (from, to) = (ANGLE.check(from_deg)?, ANGLE.check(to_deg)?);
        if from > to {
            return Err(EngineError::Contradiction {
                field: "crank angle to begin at",
                found: from,
                other: "crank angle to end at",
                limit: to,
                unit: "degrees",
                help: "Give the earlier angle first; an opening before top dead centre is negative.",
            });
        }
        Ok(self.integral(from, to))
    }

    /// The area integrated piece by piece, cut wherever its law changes.
    fn integral(&self, from: f64, to: f64) -> f64 {
        let mut start = from;
        let mut sum = 0.0;
        let inner = self.kinks_deg.iter().copied().filter(|kink| (from..to).contains(kink));
        for end in inner.chain([to]) {
            sum += integrate(|angle| self.area_m2(angle), start, end);
            start = end;
        }
        sum
    }
}

/// The angles, over three turns, at which the window's area changes its law: where the edge of the piston passes a place where
/// the window does, and the dead centres.
fn kinks_deg_of(window: &Window, edge: Edge, crank: &Crank) -> Result<Vec<f64>, EngineError> {
    let length = match edge {
        Edge::Crown => 0.0,
        Edge::Skirt { length_m } => length_m,
    };
    let turns = [-TURN_DEG, 0.0, TURN_DEG];
    // At the dead centres the piston turns back: a corner that ends just there bends the area sharply on both sides.
    let mut kinks: Vec<f64> = turns.iter().flat_map(|turn| [*turn, turn + crank.bottom_deg()]).collect();
    for depth in window.kinks_m().map(|kink| kink - length) {
        if (0.0..=crank.stroke_m()).contains(&depth) {
            let (down, up) = (crank.angle_going_down_deg(depth)?, crank.angle_going_up_deg(depth)?);
            kinks.extend(turns.iter().flat_map(|turn| [down + turn, up + turn]));
        }
    }
    Ok(kinks)
}

/// Integral of a function that is smooth inside the piece; at its ends it may bend as a root does, as the area does at a corner.
///
/// Double-exponential rule, x = tanh(pi/2 sinh t) in even steps of t: Takahasi and Mori (1974), from memory.
fn integrate(function: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    const STEP: f64 = 0.1;
    // At t = 3.3 the weight is below the last digit of an f64.
    const STEPS: i32 = 33;
    let (middle, half) = (f64::midpoint(from, to), (to - from) / 2.0);
    let mut sum = 0.0;
    for step in -STEPS..=STEPS {
        let t = f64::from(step) * STEP;
        let stretched = std::f64::consts::FRAC_PI_2 * t.sinh();
        let weight = std::f64::consts::FRAC_PI_2 * t.cosh() / stretched.cosh().powi(2);
        sum += weight * function(middle + half * stretched.tanh());
    }
    half * STEP * sum
}

/// What the exhaust gets to itself before the transfers open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blowdown {
    /// Degrees from the exhaust's first opening to the transfers' first opening, both on the way down. Negative when the
    /// transfers open first: there is no blowdown then, and so much is missing until there would be any.
    pub degrees: f64,
    /// Angle-area of the exhaust in these degrees, m2 deg; 0 when the transfers open first.
    pub angle_area_m2_deg: f64,
}

/// Blowdown from the exhaust's first opening to the transfers' first opening, on the way down. Both sets of ports belong
/// to one cylinder.
pub fn blowdown(exhaust: &Ports, transfers: &Ports) -> Result<Blowdown, EngineError> {
    let (from, to) = (exhaust.timing().opens_deg, transfers.timing().opens_deg);
    let angle_area_m2_deg = if from < to { exhaust.angle_area_between_m2_deg(from, to)? } else { 0.0 };
    Ok(Blowdown { degrees: to - from, angle_area_m2_deg })
}

/// Specific time-area in s/m: angle-area / (6 N Vs), as one degree takes 1/(6 N) s at N rpm.
///
/// Angle-area 0 to 10 m2 deg, swept volume of the cylinder 1e-6 to 2e-3 m3, speed 1 to 30 000 rpm. 1 s/m is 0.01 s cm2/cm3.
pub fn specific_time_area_s_m(angle_area_m2_deg: f64, swept_m3: f64, rpm: f64) -> Result<f64, EngineError> {
    let angle_area = ANGLE_AREA.check(angle_area_m2_deg)?;
    Ok(angle_area / (6.0 * SPEED.check(rpm)? * SWEPT.check(swept_m3)?))
}

/// The speed in rpm at which ports have a specific time-area in s/m, 1e-6 to 1: the inverse of [`specific_time_area_s_m`], with
/// the same ranges. 0 for ports that never open.
pub fn speed_for_rpm(
    angle_area_m2_deg: f64,
    swept_m3: f64,
    specific_time_area_s_m: f64,
) -> Result<f64, EngineError> {
    let angle_area = ANGLE_AREA.check(angle_area_m2_deg)?;
    Ok(angle_area / (6.0 * TIME_AREA.check(specific_time_area_s_m)? * SWEPT.check(swept_m3)?))
}
