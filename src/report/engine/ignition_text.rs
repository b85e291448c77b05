//! When the spark comes, in words: the sums as a table, the curve as a drawing.

use crate::advice::figures::Known;
use crate::notebook::fields::names::visible;
use crate::quantity::{Dimension, Units, fixed, nearly_equal, trimmed};
use crate::report::draw::heat::{ALIKE, difference_table};
use crate::report::draw::plot::{Curve, Plot};
use crate::report::engine::ignition::{
    AgainstIgnition, AngleMeaning, Conversion, FiringRow, IgnitionAnswer, RetardBegins, SteepestOfMap,
};
use crate::report::out::screen::Screen;
use crate::report::words::cells::{CellDifference, decimals_between};
use crate::report::words::known::{lacks, line};
use crate::report::words::layout::{capital, grouped, signed, table};
use crate::report::words::sizes::{self, TRAVEL};

/// Rows of a drawing.
const ROWS: usize = 18;

impl IgnitionAnswer {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "ignition");
        if !self.conversions.is_empty() {
            lines.extend(self.conversions.iter().map(|one| screen.wrap(&one.text(screen.units()), 4)));
            lines.push(String::new());
        }
        if let Some(against) = &self.against {
            lines.extend(against.lines(screen));
            lines.push(String::new());
        }
        // What stands under the heading is said once for all cylinders; what follows it of each.
        if self.subject.cylinder.is_some() && self.conversions.is_empty() && self.against.is_none() {
            lines.push(String::new());
        }
        lines.extend(self.setting(screen.units()).iter().map(|words| screen.wrap(words, 28)));
        lines.push(String::new());
        lines.extend(self.sums(screen));
        if let Some(curve) = &self.curve {
            lines.push(String::new());
            lines.push(self.drawing(screen, curve));
        }
        if !self.remarks.is_empty() {
            lines.push(String::new());
            lines.extend(self.remarks.iter().map(|remark| screen.known(remark)));
        }
        lines.join("\n")
    }

    fn setting(&self, units: Units) -> Vec<String> {
        let base = match (&self.base_deg.0, &self.base_mm.0) {
            (Ok(degrees), Ok(travel)) => {
                format!("{}, that is {}", beside_top(*degrees), travelled(*travel, units))
            }
            (Ok(degrees), Err(gap)) => format!("{}; as travel {gap}", beside_top(*degrees)),
            (Err(gap), Ok(travel)) => format!("{}; in degrees {gap}", travelled(*travel, units)),
            (Err(gap), Err(_)) => gap.to_string(),
        };
        let lag = match self.lag_us {
            Some(lag) => format!("{} us", trimmed(lag.0, 1)),
            None => "not written down, taken as 0".to_owned(),
        };
        let widest = self.widest.map(|at| format!("; at {} % throttle", trimmed(at, 1))).unwrap_or_default();
        let never = || "never: the map does not fall after its greatest advance".to_owned();
        let retard = self.retard.as_ref().map_or_else(never, RetardBegins::words) + &widest;
        let steepest = self.steepest.as_ref().map(SteepestOfMap::words).unwrap_or_default() + &widest;
        let unless = |gap: &Option<_>, words| gap.clone().map_or(Ok(words), Err);
        vec![
            line("base setting", &Ok(base)),
            line("the map's angles", &unless(&self.angles_gap, self.angles_words())),
            line("lag of pickup and box", &Ok(lag)),
            line("retard begins", &unless(&self.retard_gap, retard)),
            line("steepest step", &unless(&self.steepest_gap, steepest)),
        ]
    }

    fn angles_words(&self) -> String {
        match self.map_angles {
            Some(AngleMeaning::Absolute) => {
                let base = self.assumed_base_deg.map(|base| trimmed(base.0, 2)).unwrap_or_default();
                format!("absolute: the angle itself, true on a base of {base} deg")
            }
            Some(AngleMeaning::Relative) => "relative: added to the base".to_owned(),
            None => String::new(),
        }
    }

    fn sums(&self, screen: &Screen) -> Vec<String> {
        if let Some(gap) = &self.firing_gap {
            return vec![line("fires at", &Err(gap.clone()))];
        }
        let place = self.throttle_percent;
        let place = place.map(|at| format!(" at {} % throttle", trimmed(at, 1))).unwrap_or_default();
        let head = format!("Degrees before top dead centre{place}: map + base - lag = fires at");
        let mut lines = vec![screen.wrap(&head, 2)];
        let absolute = self.map_angles.filter(|angles| *angles == AngleMeaning::Absolute);
        if let (Some(assumed), Some(base)) = (absolute.and(self.assumed_base_deg), self.base_deg.value()) {
            let words = format!(
                "base here: {} less the {} the map was written for, {}",
                fixed(base, 2),
                fixed(assumed.0, 2),
                signed(base - assumed.0, 2)
            );
            lines.push(screen.wrap(&words, 2));
        }
        let travel = format!("travel {}", sizes::unit(Dimension::Length, screen.units()));
        let head = ["rpm", "map", "+ base", "- lag", "= fires at", &travel];
        let shown = self.firing.iter().map(|row| row.cells(screen.units())).collect();
        lines.push(table(&head, shown, &[0, 1, 2, 3, 4, 5], screen.width()));
        let sums = self.firing.iter().flat_map(|row| row.gaps("travel"));
        lines.extend(lacks(sums).iter().map(|words| screen.wrap(&format!("  {words}"), 4)));
        lines
    }

    fn drawing(&self, screen: &Screen, curve: &Known<Vec<(f64, f64)>>) -> String {
        let points = |curve: &Known<Vec<(f64, f64)>>| curve.clone().unwrap_or_default();
        let mut curves = Vec::new();
        if let Some(against) = &self.against {
            curves.push(Curve { mark: 'o', name: against.setup.clone(), points: points(&against.curve) });
        }
        let supposed = if self.subject.supposed.is_empty() { "" } else { ", as supposed" };
        let name = format!("{}{supposed}", self.subject.setup);
        curves.push(Curve { mark: '*', name, points: points(curve) });
        // The corner is that of the widest throttle.
        let both = self.throttle_percent.zip(self.widest);
        let at_widest = both.is_none_or(|(at, widest)| nearly_equal(at, widest));
        let corner = self.retard.as_ref().filter(|_| at_widest);
        let mut uprights: Vec<(f64, String)> =
            corner.map(|corner| (corner.rpm.0, "retard begins".to_owned())).into_iter().collect();
        uprights.extend(self.limiter_rpm.map(|rpm| (rpm, "limiter".to_owned())));
        let y_name = "fires at, degrees before top dead centre";
        Plot { x_name: "engine speed, rpm", y_name, curves, uprights }.text(screen.width(), ROWS)
    }
}

impl RetardBegins {
    fn words(&self) -> String {
        let again = if self.rises_again { "; it rises again later on" } else { "" };
        let greatest = trimmed(self.map_deg.0, 2);
        format!("at {} rpm, from {greatest} deg in the map{again}", grouped(self.rpm.0))
    }
}

impl SteepestOfMap {
    fn words(&self) -> String {
        format!(
            "{} deg for each 1000 rpm, from {} to {} rpm",
            signed(self.deg_per_1000_rpm.0, 2),
            grouped(self.from_rpm.0),
            grouped(self.to_rpm.0)
        )
    }
}

impl AgainstIgnition {
    /// What differs, first of all, and where it is earlier.
    fn lines(&self, screen: &Screen) -> Vec<String> {
        let (old, new) = match &self.maps {
            Ok(maps) => maps,
            Err(gap) => {
                let words = format!("Not held against {}: {}", self.setup, visible(&gap.to_string()));
                return vec![screen.wrap(&words, 2)];
            }
        };
        let numbers = "only the numbers in the maps, because one of both does not say when it fires";
        let decimals = decimals_between(old, new);
        let differ = difference_table(old, new, decimals, screen.width(), screen.coloured());
        let alike = differ == ALIKE;
        let answer = match (alike, self.as_fired) {
            (true, true) => format!("Fires as {} does: no cell differs.", self.setup),
            (true, false) => format!("The maps are alike, {} and this one: {numbers}.", self.setup),
            (_, true) => format!("Fires otherwise than {}, degrees, + for earlier:", self.setup),
            (_, false) => format!("Against {}, degrees, + for more: {numbers}.", self.setup),
        };
        let mut lines = vec![screen.strong(&screen.wrap(&answer, 2))];
        if !alike {
            lines.push(differ);
            lines.extend(self.earlier().map(|words| screen.known(&words)));
        }
        lines
    }

    /// Where it fires earlier, most of it; none where it does nowhere, or nobody knows when both fire.
    fn earlier(&self) -> Option<String> {
        let earlier = self.cells.iter().filter(|_| self.as_fired).filter_map(CellDifference::more);
        let (rpm, most) = earlier.max_by(|a, b| a.1.total_cmp(&b.1))?;
        Some(format!(
            "Earlier by up to {} degrees, at {} rpm: an over-advanced engine can seize and throw its rider. Never earlier and leaner in one step; read plug and piston.",
            trimmed(most, 2),
            grouped(rpm)
        ))
    }
}

impl FiringRow {
    fn cells(&self, units: Units) -> Vec<String> {
        let travel = self.travel_mm.words(|travel| sizes::length(travel, units, TRAVEL));
        vec![
            grouped(self.rpm.0),
            self.map_deg.or_dash(2),
            self.base_deg.or_dash(2),
            self.lag_deg.or_dash(2),
            self.firing_deg.or_dash(2),
            travel.unwrap_or_else(|_| "-".to_owned()),
        ]
    }
}

impl Conversion {
    fn text(&self, units: Units) -> String {
        let words = match (&self.deg.0, &self.travel_mm.0) {
            (Ok(degrees), Ok(travel)) => {
                format!("{} deg = {}", fixed(degrees.abs(), 2), travelled(*travel, units))
            }
            (Ok(degrees), Err(gap)) => format!("{} deg; as travel {gap}", fixed(*degrees, 2)),
            (Err(gap), Ok(travel)) => format!("{}; in degrees {gap}", travelled(*travel, units)),
            (Err(gap), Err(_)) => capital(&gap.to_string()),
        };
        format!("{} {}: {}", self.option.typed(), visible(&self.typed), visible(&words))
    }
}

/// "1.15 mm before top dead centre".
fn travelled(millimetres: f64, units: Units) -> String {
    let unit = sizes::unit(Dimension::Length, units);
    let side = if millimetres < 0.0 { "after" } else { "before" };
    format!("{} {unit} {side} top dead centre", sizes::length(millimetres.abs(), units, TRAVEL))
}

/// "15.0 deg before top dead centre" without the last words, which the travel brings.
fn beside_top(degrees: f64) -> String {
    let after = if degrees < 0.0 { " after" } else { "" };
    format!("{} deg{after}", fixed(degrees.abs(), 2))
}
