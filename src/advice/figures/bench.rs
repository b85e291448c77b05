//! What the calculations work from: the fields of a setup turned into a crank, windows, a head and a pipe.

use super::known::{Gap, Known, all, both, three, wrong};
use crate::engine::crank::Crank;
use crate::engine::head::{Chamber, Head, SquishBand, swept_volume_m3};
use crate::engine::pipe::{Pipe, Section};
use crate::engine::ports::window::{Window, WindowShape};
use crate::engine::ports::{EqualWindows, Ports, Timing, edge_timing};
use crate::notebook::{Assumptions, FieldSet};
use crate::quantity::Quantity;

/// Where a power valve stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Valve {
    /// Fully open.
    Open,
    /// Shut.
    Shut,
}

/// A setup on the bench.
#[derive(Debug, Clone, Copy)]
pub struct Bench<'a> {
    /// The setup's fields.
    pub fields: &'a FieldSet,
    /// What is assumed.
    pub assumptions: &'a Assumptions,
}

/// A window under its own name.
#[derive(Debug, Clone)]
pub struct NamedWindow {
    /// Its name.
    pub name: String,
    /// What it does: "exhaust", "auxiliary", "transfer", "boost" or "intake".
    pub kind: String,
    /// How many are alike.
    pub count: u32,
    /// The window.
    pub window: Known<Window>,
}

/// Kinds of window that let the burnt gas out.
pub(crate) const EXHAUST: [&str; 2] = ["exhaust", "auxiliary"];
/// Kinds of window that let the fresh gas in from the case.
pub(crate) const TRANSFERS: [&str; 2] = ["transfer", "boost"];
/// Kinds of window that let the fresh gas into the case.
pub(super) const INTAKE: [&str; 1] = ["intake"];

impl Bench<'_> {
    /// A field in SI.
    pub(crate) fn si(&self, field: &str) -> Known<f64> {
        self.fields.quantity(field).map(Quantity::si).ok_or_else(|| Gap::needs(field))
    }

    /// A field in SI, or a value that its absence means.
    pub(crate) fn si_or(&self, field: &str, absent: f64) -> f64 {
        self.fields.quantity(field).map_or(absent, Quantity::si)
    }

    /// The crank drive; without an offset written down there is none.
    pub fn crank(&self) -> Known<Crank> {
        let (stroke, rod) = both(self.si("engine.stroke"), self.si("engine.rod"))?;
        Crank::new(stroke, rod, self.si_or("engine.pin_offset", 0.0)).map_err(wrong("engine"))
    }

    /// Swept volume, m3.
    pub fn swept_m3(&self) -> Known<f64> {
        let (bore, stroke) = both(self.si("engine.bore"), self.si("engine.stroke"))?;
        swept_volume_m3(bore, stroke).map_err(wrong("engine"))
    }

    /// Whether a power valve lowers any window's edge.
    pub fn has_valve(&self) -> bool {
        self.fields.iter().any(|(field, _)| field.ends_with(".top_valve_shut"))
    }

    /// All windows with the power valve in a position, in the order of their names.
    pub fn windows(&self, valve: Valve) -> Vec<NamedWindow> {
        let name = |field: &str| Some(field.strip_prefix("ports.windows.")?.split_once('.')?.0.to_owned());
        let mut names: Vec<String> = self.fields.iter().filter_map(|(field, _)| name(field)).collect();
        names.sort();
        names.dedup();
        names.into_iter().map(|name| self.named_window(name, valve)).collect()
    }

    fn named_window(&self, name: String, valve: Valve) -> NamedWindow {
        let field = |leaf: &str| format!("ports.windows.{name}.{leaf}");
        let kind = self.fields.text(&field("kind")).unwrap_or_default().to_owned();
        let count = self.si_or(&field("count"), 1.0).round().clamp(1.0, 12.0);
        let window = self.window(&name, &kind, valve);
        // The range of the field keeps the count within a few.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        NamedWindow { name, kind, count: count as u32, window }
    }

    fn window(&self, name: &str, kind: &str, valve: Valve) -> Known<Window> {
        let section = format!("ports.windows.{name}");
        let field = |leaf: &str| format!("{section}.{leaf}");
        let edges = three(
            self.si("ports.deck_height"),
            self.si(&field("top")),
            both(self.si(&field("floor")), self.si(&field("width"))),
        );
        let ((deck, top, (floor, width)), (bore, crank)) =
            both(edges, both(self.si("engine.bore"), self.crank()))?;
        let shape = WindowShape {
            top_m: top - deck,
            floor_m: floor - deck,
            width_m: width,
            bridge_m: self.si_or(&field("bridge"), 0.0),
            top_radius_m: self.si_or(&field("top_radius"), 0.0),
            floor_radius_m: self.si_or(&field("floor_radius"), 0.0),
        };
        let by_skirt = INTAKE.contains(&kind);
        let window = if by_skirt {
            Window::below_skirt(&shape, bore, &crank)
        } else {
            Window::new(&shape, bore, &crank)
        };
        let window = window.map_err(wrong(&section))?;
        match self.si(&field("top_valve_shut")) {
            Ok(shut) if valve == Valve::Shut => window.with_top_m(shut - deck).map_err(wrong(&section)),
            _ => Ok(window),
        }
    }

    /// The windows of some kinds, to be taken together.
    pub(super) fn counted(&self, kinds: &[&str], valve: Valve) -> Known<Vec<EqualWindows>> {
        let windows = self.windows(valve).into_iter().filter(|one| kinds.contains(&one.kind.as_str()));
        let counted =
            all(windows.map(|one| one.window.map(|window| EqualWindows { window, count: one.count })))?;
        match (counted.is_empty(), kinds.first()) {
            (true, Some(kind)) => {
                Err(Gap::Needs(vec![format!("a window of kind \"{kind}\" under ports.windows")]))
            }
            _ => Ok(counted),
        }
    }

    /// The windows of some kinds that the crown works, together.
    pub(super) fn ports(&self, kinds: &[&str], valve: Valve) -> Known<Ports> {
        let (windows, crank) = both(self.counted(kinds, valve), self.crank())?;
        Ports::uncovered_by_crown(&windows, &crank).map_err(wrong("ports.windows"))
    }

    /// The exhaust with its auxiliaries.
    pub fn exhaust(&self, valve: Valve) -> Known<Ports> {
        self.ports(&EXHAUST, valve)
    }

    /// When windows of some kinds open first and close last. Where areas are known it is theirs; else the upper edges alone
    /// say it, and width, floor and corners may be missing.
    pub fn timing(&self, kinds: &[&str], valve: Valve) -> Known<Timing> {
        let ports = self.ports(kinds, valve).map(|ports| ports.timing());
        match ports {
            Err(Gap::Needs(_)) => self.edges_timing(kinds, valve).or(ports),
            ports => ports,
        }
    }

    fn edges_timing(&self, kinds: &[&str], valve: Valve) -> Known<Timing> {
        let windows = self.windows(valve).into_iter().filter(|one| kinds.contains(&one.kind.as_str()));
        let timings = all(windows.map(|one| self.edge_timing(&one.name, valve)))?;
        let whole = timings.into_iter().reduce(|a, b| Timing {
            opens_deg: a.opens_deg.min(b.opens_deg),
            closes_deg: a.closes_deg.max(b.closes_deg),
        });
        whole.ok_or_else(|| Gap::needs("ports.windows"))
    }

    /// When one window opens and closes, by its upper edge.
    pub fn edge_timing(&self, name: &str, valve: Valve) -> Known<Timing> {
        let section = format!("ports.windows.{name}");
        let shut = self.si(&format!("{section}.top_valve_shut")).ok().filter(|_| valve == Valve::Shut);
        let edge = shut.map_or_else(|| self.si(&format!("{section}.top")), Ok);
        let (edge, deck, crank) = three(edge, self.si("ports.deck_height"), self.crank())?;
        edge_timing(edge - deck, &crank).map_err(wrong(&section))
    }

    /// Transfers and boost.
    pub fn transfers(&self) -> Known<Ports> {
        self.ports(&TRANSFERS, Valve::Open)
    }

    /// The chamber over the piston at top dead centre.
    pub fn chamber(&self) -> Known<Chamber> {
        let (bore, volume) = both(self.si("engine.bore"), self.si("head.chamber_volume"))?;
        Chamber::new(bore, volume).map_err(wrong("head"))
    }

    /// The head with its squish band; a band without an angle written down is parallel to the crown.
    pub fn head(&self) -> Known<Head> {
        let measures = three(self.chamber(), self.si("head.squish_clearance"), self.si("head.band_width"));
        let (chamber, clearance_m, width_m) = measures?;
        let band = SquishBand { clearance_m, width_m, angle_deg: self.si_or("head.band_angle", 0.0) };
        Head::new(chamber, band).map_err(wrong("head"))
    }

    /// Names of the pipe's sections in the order of their places.
    pub fn section_names(&self) -> Known<Vec<String>> {
        let name = |field: &str| Some(field.strip_prefix("pipe.sections.")?.split_once('.')?.0.to_owned());
        let mut names: Vec<String> = self.fields.iter().filter_map(|(field, _)| name(field)).collect();
        names.sort();
        names.dedup();
        if names.is_empty() {
            return Err(Gap::needs("pipe.sections"));
        }
        let places = names.into_iter().map(|name| {
            let place = self.si(&format!("pipe.sections.{name}.place"))?;
            Ok((place, name))
        });
        let mut placed = all(places)?;
        placed.sort_by(|a, b| a.0.total_cmp(&b.0));
        Ok(placed.into_iter().map(|(_, name)| name).collect())
    }

    /// The pipe behind the cylinder's duct; without a duct written down the header's length counts from the piston.
    pub fn pipe(&self) -> Known<Pipe> {
        let names = self.section_names()?;
        let sections = all(names.iter().map(|name| {
            let field = |leaf: &str| format!("pipe.sections.{name}.{leaf}");
            let (length, inlet, outlet) =
                three(self.si(&field("length")), self.si(&field("inlet")), self.si(&field("outlet")))?;
            Section::new(length, inlet, outlet).map_err(wrong(&format!("pipe.sections.{name}")))
        }))?;
        Pipe::new(sections, self.si_or("ports.exhaust_duct", 0.0)).map_err(wrong("ports"))
    }
}
