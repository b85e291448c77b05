//! When the spark comes: the base setting, the sum at each engine speed, and what was asked to be converted.

use serde_json::{Value as Json, json};

use crate::advice::figures::Known;
use crate::advice::figures::ignition::IgnitionFigures;
use crate::engine::spark::{FiringSum, MapAngles, RetardCorner, SteepestStep};
use crate::notebook::MapTable;
use crate::notebook::fields::names::visible;
use crate::quantity::{Units, fixed, nearly_equal, trimmed};
use crate::report::air::reading::rounded;
use crate::report::draw::heat::difference_table;
use crate::report::draw::plot::{Curve, Plot};
use crate::report::history::maps::{cells_json, decimals_between};
use crate::report::out::screen::Screen;
use crate::report::words::known::{gap, lacks, line, number, with};
use crate::report::words::layout::{capital, grouped, signed, table};
use crate::report::words::subject::Subject;

/// Rows of a drawing.
const ROWS: usize = 18;

/// One engine speed.
#[derive(Debug, Clone)]
pub struct FiringRow {
    /// Engine speed, rpm.
    pub rpm: f64,
    /// What the map says there, degrees.
    pub map_deg: Known<f64>,
    /// The sum.
    pub sum: Known<FiringSum>,
    /// Travel before top dead centre at which it fires, m.
    pub travel_m: Known<f64>,
}

/// A conversion that was asked for.
#[derive(Debug, Clone)]
pub struct Conversion {
    /// The option it was asked with.
    pub option: &'static str,
    /// What was typed.
    pub typed: String,
    /// Degrees of the crank before top dead centre.
    pub degrees: Known<f64>,
    /// Travel before top dead centre, m.
    pub travel_m: Known<f64>,
}

/// Another setup beside this one.
#[derive(Debug)]
pub struct AgainstIgnition {
    /// As it is called.
    pub setup: String,
    /// Whether the maps below say when it fires; otherwise they are the maps' own numbers.
    pub as_fired: bool,
    /// Its map and this one's.
    pub maps: Known<(MapTable, MapTable)>,
    /// Its curve, (rpm, degrees).
    pub curve: Known<Vec<(f64, f64)>>,
}

/// A setup's ignition.
#[derive(Debug)]
pub struct IgnitionReport<'a> {
    /// The setup.
    pub subject: &'a Subject,
    /// Its figures.
    pub figures: IgnitionFigures,
    /// The base the map was written for, degrees.
    pub base_in_map: Option<f64>,
    /// Where the box limits, rpm.
    pub limiter_rpm: Option<f64>,
    /// The throttle opening of the rows, percent; none for a map over engine speed alone.
    pub throttle: Option<f64>,
    /// The map's widest throttle opening, percent, at which the retard and the steepest step are; none likewise.
    pub widest: Option<f64>,
    /// The sums.
    pub rows: Known<Vec<FiringRow>>,
    /// When it fires at the map's breakpoints.
    pub curve: Known<Vec<(f64, f64)>>,
    /// Conversions that were asked for.
    pub conversions: Vec<Conversion>,
    /// The setup it is held against.
    pub against: Option<AgainstIgnition>,
    /// Whether to draw.
    pub plot: bool,
    /// What else should be known.
    pub remarks: Vec<String>,
}

impl IgnitionReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let figures = &self.figures;
        let conversions: Vec<_> = self
            .conversions
            .iter()
            .map(|one| {
                json!({
                    "option": one.option,
                    "typed": one.typed,
                    "deg": number(&one.degrees, 3),
                    "travel_mm": number(&millimetres(&one.travel_m), 4),
                })
            })
            .collect();
        with(
            self.subject.json(),
            json!({
                "base_deg": number(&figures.base_deg, 3),
                "base_mm": number(&millimetres(&figures.base_m), 4),
                "map_angles": match figures.angles {
                    Ok(MapAngles::Absolute { .. }) => json!("absolute"),
                    Ok(MapAngles::Relative) => json!("relative"),
                    Err(_) => Json::Null,
                },
                "assumed_base_deg": self.base_in_map.map(|base| rounded(base, 3)),
                "lag_us": figures.lag_known.then(|| rounded(figures.lag_s * 1e6, 3)),
                "throttle_percent": self.throttle,
                "firing": self.rows.iter().flatten().map(row_json).collect::<Vec<_>>(),
                "retard": figures.corner.as_ref().ok().and_then(Option::as_ref).map(|corner| json!({
                    "rpm": rounded(corner.rpm, 1),
                    "map_deg": rounded(corner.advance_deg, 3),
                    "rises_again": corner.rises_again,
                })),
                "steepest": figures.steepest.as_ref().ok().map(|step| json!({
                    "from_rpm": rounded(step.from_rpm, 1),
                    "to_rpm": rounded(step.to_rpm, 1),
                    "deg_per_1000_rpm": rounded(step.deg_per_1000_rpm, 3),
                })),
                "conversions": conversions,
                "against": self.against.as_ref().map(|against| json!({
                    "setup": against.setup,
                    "as_fired": against.as_fired,
                    "cells": against.maps.iter().flat_map(|(old, new)| cells_json(old, new)).collect::<Vec<_>>(),
                })),
                "remarks": self.remarks,
                "lacks": self.lacks(),
            }),
        )
    }

    fn lacks(&self) -> Vec<String> {
        let figures = &self.figures;
        let rows = self.rows.iter().flatten();
        let alone = [
            ("base setting in degrees", gap(&figures.base_deg)),
            ("base setting as travel", gap(&figures.base_m)),
            ("fires at", gap(&self.rows)),
            ("retard begins", gap(&figures.corner)),
        ];
        let sums = rows.flat_map(|row| {
            let travel = gap(&row.travel_m).filter(|_| row.sum.is_ok());
            [("fires at", gap(&row.sum)), ("travel where it fires", travel)]
        });
        let conversions = self
            .conversions
            .iter()
            .flat_map(|one| [(one.option, gap(&one.degrees)), (one.option, gap(&one.travel_m))]);
        lacks(alone.into_iter().chain(sums).chain(conversions))
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "ignition");
        if !self.conversions.is_empty() {
            lines.extend(self.conversions.iter().map(|one| screen.wrap(&converted(one, screen.units()), 4)));
            lines.push(String::new());
        }
        lines.extend(self.setting(screen.units()).iter().map(|words| screen.wrap(words, 28)));
        lines.push(String::new());
        lines.extend(self.sums(screen));
        if let Some(against) = &self.against {
            lines.push(String::new());
            lines.push(against.text(screen));
        }
        if self.plot {
            lines.push(String::new());
            lines.push(self.drawing(screen));
        }
        if !self.remarks.is_empty() {
            lines.push(String::new());
            lines.extend(self.remarks.iter().map(|remark| screen.wrap(&format!("note: {remark}"), 6)));
        }
        lines.join("\n")
    }

    fn setting(&self, units: Units) -> Vec<String> {
        let figures = &self.figures;
        let base = match (&figures.base_deg, &figures.base_m) {
            (Ok(degrees), Ok(travel)) => {
                format!("{}, that is {}", beside_top(*degrees), travelled(*travel, units))
            }
            (Ok(degrees), Err(gap)) => format!("{}; as travel {gap}", beside_top(*degrees)),
            (Err(gap), Ok(travel)) => format!("{}; in degrees {gap}", travelled(*travel, units)),
            (Err(gap), Err(_)) => gap.to_string(),
        };
        let angles = figures.angles.as_ref().map(|angles| angles_words(*angles)).map_err(Clone::clone);
        let mut lines = vec![line("base setting", &Ok(base)), line("the map's angles", &angles)];
        let lag = if figures.lag_known {
            format!("{} us", trimmed(figures.lag_s * 1e6, 1))
        } else {
            "not written down, taken as 0".to_owned()
        };
        lines.push(line("lag of pickup and box", &Ok(lag)));
        let widest = self.widest.map(|at| format!("; at {} % throttle", trimmed(at, 1))).unwrap_or_default();
        let corner = figures.corner.as_ref().map(|corner| corner_words(corner.as_ref()) + &widest);
        lines.push(line("retard begins", &corner.map_err(Clone::clone)));
        let steepest = figures.steepest.as_ref().map(|step| steepest_words(*step) + &widest);
        lines.push(line("steepest step", &steepest.map_err(Clone::clone)));
        lines
    }

    fn sums(&self, screen: &Screen) -> Vec<String> {
        let rows = match &self.rows {
            Ok(rows) => rows,
            Err(gap) => return vec![line("fires at", &Err(gap.clone()))],
        };
        let place = self.throttle.map(|at| format!(" at {} % throttle", trimmed(at, 1))).unwrap_or_default();
        let mut lines = vec![format!("Degrees before top dead centre{place}: map + base - lag = fires at")];
        if let (Ok(MapAngles::Absolute { assumed_base_deg }), Ok(base)) =
            (&self.figures.angles, &self.figures.base_deg)
        {
            lines.push(format!(
                "base here: {} less the {} the map was written for, {}",
                fixed(*base, 2),
                fixed(*assumed_base_deg, 2),
                signed(base - assumed_base_deg, 2)
            ));
        }
        let travel = match screen.units() {
            Units::Metric => "travel mm",
            Units::Imperial => "travel in",
        };
        let head = ["rpm", "map", "+ base", "- lag", "= fires at", travel];
        let shown = rows.iter().map(|row| row_words(row, screen.units())).collect();
        lines.push(table(&head, shown, &[0, 1, 2, 3, 4, 5], screen.width()));
        let sums = rows.iter().flat_map(|row| {
            let travel = gap(&row.travel_m).filter(|_| row.sum.is_ok());
            [("fires at", gap(&row.sum)), ("travel", travel)]
        });
        lines.extend(lacks(sums).iter().map(|words| screen.wrap(&format!("  {words}"), 4)));
        lines
    }

    fn drawing(&self, screen: &Screen) -> String {
        let points = |curve: &Known<Vec<(f64, f64)>>| curve.clone().unwrap_or_default();
        let mut curves = Vec::new();
        if let Some(against) = &self.against {
            curves.push(Curve { mark: 'o', name: against.setup.clone(), points: points(&against.curve) });
        }
        let supposed = if self.subject.supposed.is_empty() { "" } else { ", as supposed" };
        let name = format!("{}{supposed}", self.subject.setup);
        curves.push(Curve { mark: '*', name, points: points(&self.curve) });
        // The corner is that of the widest throttle.
        let at_widest = self.throttle.zip(self.widest).is_none_or(|(at, widest)| nearly_equal(at, widest));
        let corner = self.figures.corner.as_ref().ok().and_then(Option::as_ref).filter(|_| at_widest);
        let mut uprights: Vec<(f64, String)> =
            corner.map(|corner| (corner.rpm, "retard begins".to_owned())).into_iter().collect();
        uprights.extend(self.limiter_rpm.map(|rpm| (rpm, "limiter".to_owned())));
        let y_name = "fires at, degrees before top dead centre";
        Plot { x_name: "engine speed, rpm", y_name, curves, uprights }.text(screen.width(), ROWS)
    }
}

impl AgainstIgnition {
    fn text(&self, screen: &Screen) -> String {
        let head = if self.as_fired {
            format!("Fires at, against {}: degrees, + for earlier", self.setup)
        } else {
            format!(
                "Against {}: only the numbers in the maps, because one of both does not say when it fires; degrees",
                self.setup
            )
        };
        let body = match &self.maps {
            Ok((old, new)) => {
                let decimals = decimals_between(old, new);
                difference_table(old, new, decimals, screen.width(), screen.coloured())
            }
            Err(gap) => screen.wrap(&format!("  {}", visible(&gap.to_string())), 4),
        };
        format!("{}\n{body}", screen.wrap(&head, 2))
    }
}

fn millimetres(metres: &Known<f64>) -> Known<f64> {
    metres.clone().map(|metres| metres * 1000.0)
}

fn row_json(row: &FiringRow) -> Json {
    let part = |of: fn(&FiringSum) -> f64| row.sum.as_ref().map_or(Json::Null, |sum| rounded(of(sum), 3));
    json!({
        "rpm": rounded(row.rpm, 1),
        "map_deg": number(&row.map_deg, 3),
        "base_deg": part(|sum| sum.base_deg),
        "lag_deg": part(|sum| sum.lag_deg),
        "firing_deg": part(|sum| sum.firing_deg),
        "travel_mm": number(&millimetres(&row.travel_m), 4),
    })
}

fn row_words(row: &FiringRow, units: Units) -> Vec<String> {
    let part = |of: fn(&FiringSum) -> String| row.sum.as_ref().map_or_else(|_| "-".to_owned(), of);
    vec![
        grouped(row.rpm),
        row.map_deg.as_ref().map_or_else(|_| "-".to_owned(), |degrees| fixed(*degrees, 2)),
        part(|sum| fixed(sum.base_deg, 2)),
        part(|sum| fixed(sum.lag_deg, 2)),
        part(|sum| fixed(sum.firing_deg, 2)),
        row.travel_m.as_ref().map_or_else(|_| "-".to_owned(), |metres| travel_figure(*metres, units)),
    ]
}

fn travel_figure(metres: f64, units: Units) -> String {
    match units {
        Units::Metric => fixed(metres * 1000.0, 2),
        Units::Imperial => fixed(metres / 0.0254, 4),
    }
}

/// "1.15 mm before top dead centre".
fn travelled(metres: f64, units: Units) -> String {
    let unit = match units {
        Units::Metric => "mm",
        Units::Imperial => "in",
    };
    format!("{} {unit} {} top dead centre", travel_figure(metres.abs(), units), side(metres))
}

/// "15.0 deg before top dead centre" without the last words, which the travel brings.
fn beside_top(degrees: f64) -> String {
    let after = if degrees < 0.0 { " after" } else { "" };
    format!("{} deg{after}", fixed(degrees.abs(), 2))
}

fn side(before: f64) -> &'static str {
    if before < 0.0 { "after" } else { "before" }
}

fn angles_words(angles: MapAngles) -> String {
    match angles {
        MapAngles::Absolute { assumed_base_deg } => {
            format!("absolute: the angle itself, true on a base of {} deg", trimmed(assumed_base_deg, 2))
        }
        MapAngles::Relative => "relative: added to the base".to_owned(),
    }
}

fn corner_words(corner: Option<&RetardCorner>) -> String {
    let Some(corner) = corner else {
        return "never: the map does not fall after its greatest advance".to_owned();
    };
    let again = if corner.rises_again { "; it rises again later on" } else { "" };
    format!("at {} rpm, from {} deg in the map{again}", grouped(corner.rpm), trimmed(corner.advance_deg, 2))
}

fn steepest_words(step: SteepestStep) -> String {
    format!(
        "{} deg for each 1000 rpm, from {} to {} rpm",
        signed(step.deg_per_1000_rpm, 2),
        grouped(step.from_rpm),
        grouped(step.to_rpm)
    )
}

fn converted(one: &Conversion, units: Units) -> String {
    let words = match (&one.degrees, &one.travel_m) {
        (Ok(degrees), Ok(travel)) => {
            format!("{} deg = {}", fixed(degrees.abs(), 2), travelled(*travel, units))
        }
        (Ok(degrees), Err(gap)) => format!("{} deg; as travel {gap}", fixed(*degrees, 2)),
        (Err(gap), Ok(travel)) => format!("{}; in degrees {gap}", travelled(*travel, units)),
        (Err(gap), Err(_)) => capital(&gap.to_string()),
    };
    format!("{} {}: {}", one.option, visible(&one.typed), visible(&words))
}
