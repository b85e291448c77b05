//! How a bearing sits: seats, clearance, heat, cautions; and the limits of a zone.

use serde_json::{Value as Json, json};

use crate::advice::fit::{CeramicFigures, Diameter, FitAsked, FitFigures, Initial, SeatFigures};
use crate::engine::fits::bearing::{ClearanceGroup, InternalClearance};
use crate::engine::fits::zone::{Limits, Side, ToleranceZone};
use crate::engine::fits::{Interference, REFERENCE_C};
use crate::quantity::{Dimension, Units, fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::building::fit_words::{cautions, heat_lines, kind};
use crate::report::engine::pipe::Assumed;
use crate::report::out::screen::Screen;
use crate::report::words::layout::{signed, table};

const PRACTICE: &str = "common practice, no source";

/// A bearing and its seats.
pub struct FitReport<'a> {
    /// What was asked.
    pub asked: &'a FitAsked,
    /// What follows.
    pub figures: &'a FitFigures,
    /// Options that were left out, for which something stands in.
    pub left_out: Vec<&'static str>,
}

/// A zone, or a hole and a shaft, at a size.
pub struct ZoneReport {
    /// Nominal size, m.
    pub size_m: f64,
    /// The zones with their limits.
    pub zones: Vec<(ToleranceZone, Limits)>,
    /// The fit of the two.
    pub fit: Option<Interference>,
}

/// The way out when something is wrong with a part of a fit, by its option.
pub fn way_out(part: &str) -> &'static str {
    match part {
        "bearing" => "Give the bearing's bore and outside as its maker names them, like 25 62.",
        "zone" => "Ask like `reedbook fit zone H7 \"62 mm\"`, or H7/k6 for a hole and a shaft.",
        "--case" | "--sleeve-bore" => "Give a zone of holes (N7), or what was measured (\"61.985 mm\").",
        "--shaft" => "Give a zone of shafts (k5), or what was measured (\"25.008 mm\").",
        "--sleeve-outside" => "Give a zone at a size (\"68 mm r6\"), or what was measured (\"68.050 mm\").",
        "--group" | "--clearance" => "Give the clearance as measured in the box (--clearance \"0.020 mm\").",
        "--ball" => "Give the diameter of one ball (--ball \"8 mm\"), or leave it out.",
        "--shaft-at" => "Check --case-at and --shaft-at: the shaft runs a little warmer than the case.",
        _ => "Give what was measured at 20 C, like \"24.996 mm\".",
    }
}

impl FitReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let (asked, figures) = (self.asked, self.figures);
        let seat = |seat: &Option<SeatFigures>, name: Option<Diameter>, running_c: f64| match seat {
            Some(seat) => seat_json(seat, name, running_c),
            None => Json::Null,
        };
        let clearance = figures.clearance.as_ref().map(|clearance| {
            json!({
                "boxed": clearance_json(&clearance.boxed),
                "cold": clearance_json(&clearance.cold),
                "running": clearance_json(&clearance.running),
                "ball_mm": clearance.ceramic.map(|ceramic| rounded(ceramic.ball_m * 1e3, 3)),
                "ceramic_gain_mm": clearance.ceramic.map(|ceramic| rounded(ceramic.gain_m * 1e3, 4)),
            })
        });
        let case_name = asked.sleeve.map_or(asked.case, |sleeve| Some(sleeve.bore));
        json!({
            "bore_mm": rounded(asked.bore_m * 1e3, 4),
            "outside_mm": rounded(asked.outside_m * 1e3, 4),
            "case": seat(&figures.case, case_name, asked.case_c),
            "sleeve": seat(&figures.sleeve, asked.case, asked.case_c),
            "shaft": seat(&figures.shaft, asked.shaft, asked.shaft_c),
            "clearance": clearance,
            "assumptions": self.assumed(Units::Metric).iter().map(Assumed::json).collect::<Vec<_>>(),
            "cautions": cautions(figures),
            "not_known": self.not_known(),
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let (asked, units) = (self.asked, screen.units());
        let unit = Dimension::Length.display(units).0;
        let heading = format!("bearing {} x {}", size(units, asked.bore_m), sized(units, asked.outside_m));
        let mut lines = vec![screen.strong(&heading), String::new()];
        let head = [&*format!("interference, {unit}"), "least", "mean", "most", ""];
        lines.push(table(&head, self.seat_rows(units), &[1, 2, 3], screen.width()));
        lines.push("+ is tight, - is loose".into());
        if let Some(clearance) = &self.figures.clearance {
            let rows = [
                (format!("in the box{}", self.group()), &clearance.boxed),
                (format!("fitted, {}", degrees(units, REFERENCE_C)), &clearance.cold),
                ("running".into(), &clearance.running),
            ];
            let rows = rows.into_iter().map(|(name, found)| {
                three(units, name, [found.least_m, found.mean_m, found.most_m], false, String::new())
            });
            let head = [&*format!("clearance left, {unit}"), "least", "mean", "most", ""];
            lines.push(String::new());
            lines.push(table(&head, rows.collect(), &[1, 2, 3], screen.width()));
            lines.extend(clearance.ceramic.map(|ceramic| {
                let change = if ceramic.gain_m < 0.0 { "less" } else { "more" };
                let gain = sized(units, ceramic.gain_m.abs());
                screen.wrap(&format!("Ceramic balls leave {gain} {change} of it running than steel ones."), 2)
            }));
        }
        lines.push(String::new());
        lines.extend(heat_lines(units, asked, self.figures).iter().map(|line| screen.wrap(line, 28)));
        lines.push(String::new());
        lines.extend(self.assumed_lines(screen));
        let not_known = self.not_known();
        lines.extend(not_known.iter().map(|words| screen.wrap(&format!("Not known: {words}."), 2)));
        lines.push(String::new());
        lines.push(screen.wrap(&format!("CAUTION  {}", cautions(self.figures).join(" ")), 9));
        lines.join("\n")
    }

    fn seat_rows(&self, units: Units) -> Vec<Vec<String>> {
        let (asked, figures) = (self.asked, self.figures);
        let (in_what, bore) = match asked.sleeve {
            Some(sleeve) => ("in the sleeve", Some(sleeve.bore)),
            None => ("in the case", asked.case),
        };
        let seats = [
            (in_what, bore, &figures.case, asked.case_c),
            ("sleeve in the case", asked.case, &figures.sleeve, asked.case_c),
            ("on the shaft", asked.shaft, &figures.shaft, asked.shaft_c),
        ];
        let mut rows = Vec::new();
        for (name, seat, figures, running_c) in seats {
            let Some(figures) = figures else { continue };
            let name = format!("{name}{}, {}", zone_of(seat), degrees(units, REFERENCE_C));
            for (name, found) in
                [(name, figures.cold), (format!("  running, {}", degrees(units, running_c)), figures.running)]
            {
                let values = [found.least_m, found.mean_m, found.most_m];
                rows.push(three(units, name, values, true, kind(&found).into()));
            }
        }
        rows
    }

    /// The group in brackets, or that it was measured.
    fn group(&self) -> &'static str {
        match self.asked.clearance {
            Some(Initial::Group(group)) => match group {
                ClearanceGroup::C2 => " (C2)",
                ClearanceGroup::CN => " (CN)",
                ClearanceGroup::C3 => " (C3)",
                ClearanceGroup::C4 => " (C4)",
            },
            Some(Initial::Measured(_)) | None => "",
        }
    }

    fn assumed(&self, units: Units) -> Vec<Assumed> {
        let (asked, figures) = (self.asked, self.figures);
        let left_out = |option: &str| self.left_out.contains(&option);
        let mut assumed = Vec::new();
        let mut practice = |name: &'static str, value: String| {
            assumed.push(Assumed { name, value, source: PRACTICE.into() });
        };
        if left_out("--case-at") && figures.case.is_some() {
            practice("--case-at", format!("case and outer ring run at {}", degrees(units, asked.case_c)));
        }
        if left_out("--shaft-at") && figures.shaft.is_some() {
            practice("--shaft-at", format!("shaft and inner ring run at {}", degrees(units, asked.shaft_c)));
        }
        let slips = [
            ("into the case", asked.slip_m, figures.case.is_some()),
            ("on the shaft", asked.shaft_slip_m, figures.shaft.is_some()),
        ];
        for (place, slip_m, _) in slips.into_iter().filter(|(.., is)| *is && left_out("--slip")) {
            practice("--slip", format!("{} of room {place}", sized(units, slip_m)));
        }
        if let (Some(sleeve), true) = (asked.sleeve, left_out("--sleeve-passes-on")) {
            practice(
                "--sleeve-passes-on",
                format!("{} of the case's press closes the sleeve's bore", trimmed(sleeve.passed_on, 3)),
            );
        }
        if let Some(clearance) = &figures.clearance {
            for (option, share, part) in
                [("--shaft-share", asked.shaft_share, "shaft"), ("--case-share", asked.case_share, "case")]
            {
                if left_out(option) {
                    let share = trimmed(share, 3);
                    practice(option, format!("{share} of the press at the {part} goes off the clearance"));
                }
            }
            assumed.extend(clearance.ceramic.and_then(|ceramic| self.ball(units, &ceramic)));
        }
        assumed.extend(self.rings());
        assumed
    }

    /// What is assumed in a few lines: what common practice says in one, the rest with its source.
    fn assumed_lines(&self, screen: &Screen) -> Vec<String> {
        let (practice, other): (Vec<Assumed>, Vec<Assumed>) =
            self.assumed(screen.units()).into_iter().partition(|assumed| assumed.source == PRACTICE);
        let practice: Vec<String> =
            practice.into_iter().map(|assumed| format!("{} ({})", assumed.value, assumed.name)).collect();
        let mut lines = Vec::new();
        if !practice.is_empty() {
            lines.push(format!("Assumed, {PRACTICE}: {}.", practice.join("; ")));
        }
        lines.extend(
            other.into_iter().map(|assumed| format!("Assumed: {} ({}).", assumed.value, assumed.source)),
        );
        lines.iter().map(|line| screen.wrap(line, 2)).collect()
    }

    fn ball(&self, units: Units, ceramic: &CeramicFigures) -> Option<Assumed> {
        self.left_out.contains(&"--ball").then(|| Assumed {
            name: "--ball",
            value: format!("balls of {}, 0.3 of outside less bore", sized(units, ceramic.ball_m)),
            source: "rule from memory, good to a tenth".into(),
        })
    }

    /// Which of the bearing's diameters are the table's.
    fn rings(&self) -> Option<Assumed> {
        let (asked, figures) = (self.asked, self.figures);
        let by_class = [
            ("outside", figures.case.is_some() && asked.measured_outside_m.is_none()),
            ("bore", figures.shaft.is_some() && asked.measured_bore_m.is_none()),
        ];
        let named: Vec<&str> = by_class.into_iter().filter(|(_, is)| *is).map(|(name, _)| name).collect();
        (!named.is_empty()).then(|| Assumed {
            name: "bearing",
            value: format!("{} of the bearing as class Normal allows", named.join(" and ")),
            source: "ISO 492, read second hand".into(),
        })
    }

    fn not_known(&self) -> Vec<String> {
        if self.figures.clearance.is_some() {
            return Vec::new();
        }
        let asked = self.asked;
        let needs = [
            ("--case", asked.case.is_none()),
            ("--shaft", asked.shaft.is_none()),
            ("--group or --clearance", asked.clearance.is_none()),
        ];
        let needs: Vec<&str> = needs.into_iter().filter(|(_, is)| *is).map(|(option, _)| option).collect();
        vec![format!("the clearance left in the bearing needs {}", needs.join(", "))]
    }
}

impl ZoneReport {
    /// For a script.
    pub fn json(&self) -> Json {
        let zones = self.zones.iter().map(|(zone, limits)| {
            json!({
                "zone": zone.to_string(),
                "of": zone.side().to_string(),
                "lower_deviation_mm": rounded(limits.lower_deviation_m * 1e3, 4),
                "upper_deviation_mm": rounded(limits.upper_deviation_m * 1e3, 4),
                "least_mm": rounded(limits.least_m * 1e3, 4),
                "most_mm": rounded(limits.most_m * 1e3, 4),
            })
        });
        json!({
            "size_mm": rounded(self.size_m * 1e3, 4),
            "zones": zones.collect::<Vec<_>>(),
            "fit": self.fit.as_ref().map(interference_json),
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let units = screen.units();
        let unit = Dimension::Length.display(units).0;
        let rows = self.zones.iter().map(|(zone, limits)| {
            vec![
                format!("{zone}, {}", if zone.side() == Side::Hole { "hole" } else { "shaft" }),
                length(units, limits.least_m),
                length(units, limits.most_m),
                offset(units, limits.lower_deviation_m),
                offset(units, limits.upper_deviation_m),
            ]
        });
        let head =
            [&*format!("{} at 20 C, {unit}", size(units, self.size_m)), "least", "most", "lower", "upper"];
        let mut lines = vec![table(&head, rows.collect(), &[1, 2, 3, 4], screen.width())];
        if let Some(fit) = &self.fit {
            let words = format!(
                "Fit: {}: {} at least, {} in the mean, {} at most (+ is tight, - is loose).",
                kind(fit),
                offset(units, fit.least_m),
                offset(units, fit.mean_m),
                offset(units, fit.most_m)
            );
            lines.push(screen.wrap(&words, 2));
        }
        lines.push("ISO 286-1:2010, limits as printed (read second hand).".into());
        lines.join("\n")
    }
}

fn zone_of(diameter: Option<Diameter>) -> String {
    match diameter {
        Some(Diameter::Zone(zone, _)) => format!(" ({zone})"),
        Some(Diameter::Measured(_)) | None => String::new(),
    }
}

/// A row of three figures; of measured parts only one.
fn three(units: Units, name: String, values: [f64; 3], with_sign: bool, words: String) -> Vec<String> {
    let written = values.map(|value| if with_sign { offset(units, value) } else { length(units, value) });
    let [least, mean, most] = written;
    if values[2] - values[0] < 1e-8 {
        return vec![name, String::new(), mean, String::new(), words];
    }
    vec![name, least, mean, most, words]
}

/// A length without its unit: to a thousandth of a millimetre, or a ten-thousandth of an inch.
fn length(units: Units, metres: f64) -> String {
    match units {
        Units::Metric => fixed(metres * 1e3, 3),
        Units::Imperial => fixed(metres / 0.0254, 4),
    }
}

/// The same with its sign.
fn offset(units: Units, metres: f64) -> String {
    match units {
        Units::Metric => signed(metres * 1e3, 3),
        Units::Imperial => signed(metres / 0.0254, 4),
    }
}

/// A size without trailing zeros and without its unit.
fn size(units: Units, metres: f64) -> String {
    let text = length(units, metres);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A size with its unit.
pub(super) fn sized(units: Units, metres: f64) -> String {
    format!("{} {}", size(units, metres), Dimension::Length.display(units).0)
}

/// A temperature to the degree.
pub(super) fn degrees(units: Units, celsius: f64) -> String {
    match units {
        Units::Metric => format!("{} C", fixed(celsius, 0)),
        Units::Imperial => format!("{} F", fixed(celsius * 1.8 + 32.0, 0)),
    }
}

/// A temperature to heat to: never less than was computed, so up to the next whole degree.
pub(super) fn degrees_up(units: Units, celsius: f64) -> String {
    // A hair above a whole degree is that degree: what adding up leaves is no heat.
    let up = |degrees: f64| fixed((degrees - 1e-6).ceil(), 0);
    match units {
        Units::Metric => format!("{} C", up(celsius)),
        Units::Imperial => format!("{} F", up(celsius * 1.8 + 32.0)),
    }
}

/// The same in tenths of a degree Celsius, for a script.
pub(super) fn tenths_up(celsius: f64) -> Json {
    rounded((celsius * 10.0 - 1e-6).ceil() / 10.0, 1)
}

fn interference_json(found: &Interference) -> Json {
    json!({
        "least_mm": rounded(found.least_m * 1e3, 4),
        "mean_mm": rounded(found.mean_m * 1e3, 4),
        "most_mm": rounded(found.most_m * 1e3, 4),
        "kind": kind(found),
    })
}

fn clearance_json(found: &InternalClearance) -> Json {
    json!({
        "least_mm": rounded(found.least_m * 1e3, 4),
        "mean_mm": rounded(found.mean_m * 1e3, 4),
        "most_mm": rounded(found.most_m * 1e3, 4),
    })
}

fn seat_json(seat: &SeatFigures, name: Option<Diameter>, running_c: f64) -> Json {
    let celsius = |found: Option<f64>| found.map(|celsius| rounded(celsius, 1));
    json!({
        "zone": match name {
            Some(Diameter::Zone(zone, _)) => Some(zone.to_string()),
            Some(Diameter::Measured(_)) | None => None,
        },
        "cold": interference_json(&seat.cold),
        "running": interference_json(&seat.running),
        "running_c": rounded(running_c, 1),
        "nought_least_c": celsius(seat.nought.least_c),
        "nought_mean_c": celsius(seat.nought.mean_c),
        "nought_most_c": celsius(seat.nought.most_c),
        "heat_to_c": seat.drops_in_c.map(tenths_up),
        "room_at_most_mm": rounded(seat.room_at_most_m * 1e3, 4),
    })
}
