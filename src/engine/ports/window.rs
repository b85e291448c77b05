//! One window in the cylinder wall: its shape, and how much of it the piston leaves open.
//!
//! Depths are in m, measured along the cylinder from the crown's edge at true top dead centre downwards, so that a window opens
//! when [`Crank::depth_m`](crate::engine::crank::Crank::depth_m) passes its upper edge; a deck height is taken off before. The window
//! is a rectangle with rounded corners, as wide as it measures straight across the bore. Two upper corners share one radius,
//! two lower corners another. A bridge stands in the middle as a bar with square ends. Source: plane geometry.

use crate::engine::crank::Crank;
use crate::engine::{Allowed, EngineError, named};

const DEPTH: Allowed = Allowed {
    field: "depth of a window's edge",
    unit: "m",
    low: 0.0,
    high: 0.4,
    help: "Give the depth below the crown's edge at top dead centre, with the deck height taken off.",
};

const WIDTH: Allowed = Allowed {
    field: "width of a window",
    unit: "m",
    low: 0.0005,
    high: 0.2,
    help: "Give the width straight across the bore, not along its wall.",
};

const BRIDGE: Allowed = Allowed {
    field: "width of a bridge",
    unit: "m",
    low: 0.0,
    high: 0.05,
    help: "Give the width of the bar in the middle of the window, 0 where there is none.",
};

const CORNER: Allowed = Allowed {
    field: "corner radius of a window",
    unit: "m",
    low: 0.0,
    high: 0.1,
    help: "Give the radius of the corners, 0 for square ones.",
};

const BORE: Allowed =
    Allowed { field: named::BORE, unit: "m", low: 0.01, high: 0.2, help: "Give the bore of the cylinder." };

/// Two lengths that were typed in and differ by less than this are the same: a nanometre is rounding, not metal.
const ROUNDING_M: f64 = 1e-9;

/// The measures of a window, in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindowShape {
    /// Upper edge below the crown's edge at true top dead centre, 0 to 0.4.
    pub top_m: f64,
    /// Floor below the crown's edge at true top dead centre, 0 to 0.4; deeper than the upper edge.
    pub floor_m: f64,
    /// Width straight across the bore (the chord), bridge included: 0.0005 to 0.2, and no more than the bore.
    pub width_m: f64,
    /// Width of the bridge in the middle, 0 to 0.05; 0 for none.
    pub bridge_m: f64,
    /// Radius of the two upper corners, 0 to 0.1.
    pub top_radius_m: f64,
    /// Radius of the two lower corners, 0 to 0.1.
    pub floor_radius_m: f64,
}

/// A window whose measures fit together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    shape: WindowShape,
    stroke_m: f64,
}

impl Window {
    /// A window that the crown uncovers from above: exhaust or transfer.
    ///
    /// Bore 0.01 to 0.2 m. Refused are a floor that is not below the upper edge, a window wider than the bore, a bridge as
    /// wide as the window, corner radii that do not fit, and an upper edge that the crown never passes.
    pub fn new(shape: &WindowShape, bore_m: f64, crank: &Crank) -> Result<Self, EngineError> {
        Self::below_skirt(shape, bore_m, crank)?.passed_by_crown()
    }

    /// A window that the lower edge of the skirt uncovers from below: the intake of a piston-port engine.
    ///
    /// The same checks as in [`Self::new`], but its upper edge may lie deeper than the crown ever goes. Whether the skirt
    /// uncovers it is checked where the skirt's length is known, in [`super::`].
    pub fn below_skirt(shape: &WindowShape, bore_m: f64, crank: &Crank) -> Result<Self, EngineError> {
        let window = Self { shape: *shape, stroke_m: crank.stroke_m() };
        window.check_ranges()?;
        window.check_width(BORE.check(bore_m)?)?;
        window.check_height()?;
        window.check_corners()?;
        Ok(window)
    }

    /// The same window with its upper edge lower, as a power valve leaves it when shut; `top_m` in m as in [`WindowShape`].
    ///
    /// The upper corners keep their radius as far as it fits: it shrinks to what height the lower corners leave, so the blade
    /// is taken to have the shape of the port's roof. Floor, width and bridge stay. Refused are an edge above the window's
    /// own, one that leaves no room for the lower corners, and one that the crown never passes.
    pub fn with_top_m(&self, top_m: f64) -> Result<Self, EngineError> {
        let top_m = DEPTH.check(top_m)?;
        if self.shape.top_m > top_m + ROUNDING_M {
            return Err(EngineError::Contradiction {
                field: "depth of the open window's upper edge",
                found: self.shape.top_m,
                other: "depth of the shut valve's edge",
                limit: top_m,
                unit: "m",
                help: "A shut valve lowers the upper edge of its window. Check which of the two depths is which.",
            });
        }
        let room = (self.shape.floor_m - top_m - self.shape.floor_radius_m).max(0.0);
        let top_radius_m = self.shape.top_radius_m.min(room);
        let lowered = Self { shape: WindowShape { top_m, top_radius_m, ..self.shape }, ..*self };
        lowered.check_height()?;
        lowered.check_corners()?;
        lowered.passed_by_crown()
    }

    /// Depth of the upper edge, m.
    pub fn top_m(&self) -> f64 {
        self.shape.top_m
    }

    /// Depth of the floor, m.
    pub fn floor_m(&self) -> f64 {
        self.shape.floor_m
    }

    /// Width straight across, bridge included, m.
    pub fn width_m(&self) -> f64 {
        self.shape.width_m
    }

    /// Radius of the upper corners, m.
    pub fn top_radius_m(&self) -> f64 {
        self.shape.top_radius_m
    }

    /// Depth at which the window begins to open from above, m: its upper edge, or lower where the upper corners meet over a
    /// bridge, which then hides the highest part.
    pub fn opens_below_m(&self) -> f64 {
        self.shape.top_m + self.hidden_by_bridge(self.shape.top_radius_m)
    }

    /// Depth at which the window begins to open from below, m: its floor, or higher where the lower corners meet under a bridge.
    pub fn opens_above_m(&self) -> f64 {
        self.shape.floor_m - self.hidden_by_bridge(self.shape.floor_radius_m)
    }

    /// Area of the whole window down to its floor, m2, bridge and corners taken off.
    pub fn full_area_m2(&self) -> f64 {
        self.area_above(self.shape.floor_m)
    }

    /// Area between the window's upper edge and the crown, in m2, with the crown's edge at a depth in m.
    ///
    /// 0 while the crown stands above the window. What lies below the crown at bottom dead centre never opens, whatever
    /// the depth given. Closed form: the corners are segments of a circle.
    pub fn open_area_m2(&self, crown_depth_m: f64) -> f64 {
        self.area_above(crown_depth_m.clamp(0.0, self.stroke_m))
    }

    /// Area between the lower edge of the skirt and the window's floor, in m2, with that edge at a depth in m.
    ///
    /// The whole window while the skirt stands above it, 0 from the floor downwards.
    pub fn open_area_from_below_m2(&self, skirt_depth_m: f64) -> f64 {
        let full = self.full_area_m2();
        (full - self.area_above(skirt_depth_m)).clamp(0.0, full)
    }

    /// Depths in m at which the open area stops following one smooth law: edges and ends of the corners.
    pub(in crate::engine) fn kinks_m(&self) -> [f64; 4] {
        [
            self.opens_below_m(),
            self.shape.top_m + self.shape.top_radius_m,
            self.shape.floor_m - self.shape.floor_radius_m,
            self.opens_above_m(),
        ]
    }

    /// Area from the upper edge down to a depth, m2; the depth must be one that the piston reaches.
    pub(in crate::engine) fn area_above(&self, depth_m: f64) -> f64 {
        let shape = &self.shape;
        let height = shape.floor_m - shape.top_m;
        let down = (depth_m - shape.top_m).clamp(0.0, height);
        // Said here, because the smaller and the larger of two numbers below would hide it.
        if down.is_nan() {
            return down;
        }
        let straight_to = (height - shape.floor_radius_m).max(shape.top_radius_m);
        let upper = self.corner_band(shape.top_radius_m, down);
        let middle = (shape.width_m - shape.bridge_m) * (down.min(straight_to) - shape.top_radius_m).max(0.0);
        let lower = self.corner_band(shape.floor_radius_m, height)
            - self.corner_band(shape.floor_radius_m, height - down);
        upper + middle + lower
    }

    /// Area of the band of the corners from the edge they round to `away` from it, m2; all of the band when `away` is beyond it.
    fn corner_band(&self, radius: f64, away: f64) -> f64 {
        let hidden = self.hidden_by_bridge(radius);
        let away = away.clamp(hidden, radius);
        let straight = self.shape.width_m - self.shape.bridge_m - 2.0 * radius;
        let arcs = 2.0 * (half_segment(radius, away) - half_segment(radius, hidden));
        (straight * (away - hidden) + arcs).max(0.0)
    }

    /// Height next to an edge that a bridge hides whole, m: the arcs of its corners meet over the bridge when they are larger
    /// than half of what the bridge leaves.
    fn hidden_by_bridge(&self, radius: f64) -> f64 {
        let overlap = (radius - (self.shape.width_m - self.shape.bridge_m) / 2.0).clamp(0.0, radius);
        radius - ((radius - overlap) * (radius + overlap)).sqrt()
    }

    fn check_ranges(&self) -> Result<(), EngineError> {
        DEPTH.check(self.shape.top_m)?;
        DEPTH.check(self.shape.floor_m)?;
        WIDTH.check(self.shape.width_m)?;
        BRIDGE.check(self.shape.bridge_m)?;
        CORNER.check(self.shape.top_radius_m)?;
        CORNER.check(self.shape.floor_radius_m)?;
        Ok(())
    }

    fn check_width(&self, bore_m: f64) -> Result<(), EngineError> {
        let shape = &self.shape;
        if shape.width_m > bore_m + ROUNDING_M {
            return Err(EngineError::Contradiction {
                field: "width of a window",
                found: shape.width_m,
                other: named::BORE,
                limit: bore_m,
                unit: "m",
                help: "Measure the width straight across the bore; along the wall it is longer.",
            });
        }
        if shape.bridge_m + ROUNDING_M >= shape.width_m {
            return Err(EngineError::Contradiction {
                field: "width of a bridge",
                found: shape.bridge_m,
                other: "width of its window",
                limit: shape.width_m,
                unit: "m",
                help: "The width of a window is measured over its bridge. Check both.",
            });
        }
        Ok(())
    }

    fn check_height(&self) -> Result<(), EngineError> {
        if self.shape.top_m + ROUNDING_M >= self.shape.floor_m {
            return Err(EngineError::Contradiction {
                field: "depth of a window's upper edge",
                found: self.shape.top_m,
                other: "depth of its floor",
                limit: self.shape.floor_m,
                unit: "m",
                help: "Depths count downwards, so the floor has the larger one. Check both.",
            });
        }
        Ok(())
    }

    fn check_corners(&self) -> Result<(), EngineError> {
        let shape = &self.shape;
        let largest = shape.top_radius_m.max(shape.floor_radius_m);
        let half = shape.width_m / 2.0;
        if largest > half + ROUNDING_M {
            return Err(EngineError::Contradiction {
                field: "corner radius of a window",
                found: largest,
                other: "half its width",
                limit: half,
                unit: "m",
                help: "Two corners stand side by side. Check the radius, or whether a diameter was given.",
            });
        }
        let (together, height) = (shape.top_radius_m + shape.floor_radius_m, shape.floor_m - shape.top_m);
        if together > height + ROUNDING_M {
            return Err(EngineError::Contradiction {
                field: "upper and lower corner radius of a window together",
                found: together,
                other: "height of the window",
                limit: height,
                unit: "m",
                help: "The upper corners stand on the lower ones. Check both radii and both edges.",
            });
        }
        Ok(())
    }

    /// The window itself when the crown passes the depth at which it opens.
    fn passed_by_crown(self) -> Result<Self, EngineError> {
        let opens = self.opens_below_m();
        if opens < self.stroke_m {
            return Ok(self);
        }
        Err(EngineError::Contradiction {
            field: "depth at which a window opens",
            found: opens,
            other: named::STROKE,
            limit: self.stroke_m,
            unit: "m",
            help: "The crown never uncovers this window. Check the depth of its upper edge, the deck height and the stroke.",
        })
    }
}

/// Area of half a segment of a circle with the given radius, m2: the half of what a chord `away` from the circle's edge cuts off.
///
/// With t the angle at the centre from the middle of the segment to the chord's end: r^2 (t - sin t cos t) / 2.
fn half_segment(radius: f64, away: f64) -> f64 {
    let to_chord = radius - away;
    let half_chord = (away * (2.0 * radius - away)).max(0.0).sqrt();
    let angle = half_chord.atan2(to_chord);
    (radius * radius * angle - half_chord * to_chord) / 2.0
}
