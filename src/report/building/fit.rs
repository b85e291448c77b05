//! How a bearing sits: seats, clearance, heat, cautions; and the limits of a zone.

use schemars::{JsonSchema, Schema};
use serde::Serialize;

use crate::advice::fit::{ClearanceFigures, Diameter, FitAsked, FitFigures, FitPart, Initial, SeatFigures};
use crate::engine::fits::REFERENCE_C;
use crate::engine::fits::bearing::{ClearanceGroup, InternalClearance};
use crate::quantity::{Dimension, Units};
use crate::report::building::fit_words::{
    FitAssumption, PRACTICE, assumed, cautions, loose_lines, not_known, steps,
};
use crate::report::building::tightness::FitTightness;
use crate::report::building::zone::ZoneAnswer;
use crate::report::out::figure::Figure;
use crate::report::out::frame::Frame;
use crate::report::out::screen::Screen;
use crate::report::parts::word::Worded;
use crate::report::words::layout::table;
use crate::report::words::sizes::{self, FINE, short_length, short_length_with_unit, whole_degrees};

/// One of two answers, after what was asked.
#[derive(Debug, JsonSchema)]
#[serde(untagged)]
#[schemars(transform = one_of)]
pub enum FitAnswer {
    /// fit bearing
    #[schemars(title = "bearing")]
    Bearing(Box<BearingAnswer>),
    /// fit zone
    #[schemars(title = "zone")]
    Zone(ZoneAnswer),
}

/// What is one of the answers is not the other.
fn one_of(schema: &mut Schema) {
    if let Some(answers) = schema.remove("anyOf") {
        schema.insert("oneOf".to_owned(), answers);
    }
}

/// A bearing and its seats.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BearingAnswer {
    /// Nominal bore of the bearing, mm.
    bore_mm: Figure<4>,
    /// Nominal outside of the bearing, mm.
    outside_mm: Figure<4>,
    /// The bearing in the case, or in the sleeve; null without a case.
    case: Option<SeatFit>,
    /// The sleeve in the case; null without one.
    sleeve: Option<SeatFit>,
    /// The bearing on the shaft; null without a shaft.
    shaft: Option<SeatFit>,
    /// Internal clearance of the bearing; null where a seat or the clearance in the box is not known.
    clearance: Option<ClearanceLeft>,
    /// What stands in for what was not given.
    assumptions: Vec<FitAssumption>,
    /// Cautions.
    cautions: Vec<String>,
    /// What is not known and what it needs, in words.
    not_known: Vec<String>,
    /// What was asked.
    #[serde(skip)]
    asked: FitAsked,
    /// What follows, with what heat does.
    #[serde(skip)]
    figures: FitFigures,
    /// Options that were left out, for which something stands in.
    #[serde(skip)]
    left_out: Vec<&'static str>,
}

/// How an inner part sits in an outer one.
#[derive(Debug, Serialize, JsonSchema)]
struct SeatFit {
    /// The tolerance zone of the seat; null where it was measured.
    zone: Option<String>,
    /// Interference at 20 C.
    cold: FitTightness,
    /// Interference as it runs.
    running: FitTightness,
    /// The temperature it runs at, C.
    running_c: Figure<1>,
    /// Temperature at which the loosest parts have no interference left, C, both as warm as each other; null where there is none from -200 to 400 C.
    nought_least_c: Option<Figure<1>>,
    /// The same of the middle, C.
    nought_mean_c: Option<Figure<1>>,
    /// The same of the tightest parts, C.
    nought_most_c: Option<Figure<1>>,
    /// Temperature to heat the outer part to (the case, with the sleeve if there is one; of the shaft the bearing) so that the tightest inner part drops in with the slip, C; null where up to 400 C does not do it.
    heat_to_c: Option<Figure<1>>,
    /// Room of the tightest parts at the most heat there is (150 C of a case, 120 C of a bearing), mm; negative is still tight.
    room_at_most_mm: Figure<4>,
}

/// Internal clearance of a bearing.
#[derive(Debug, Serialize, JsonSchema)]
struct ClearanceLeft {
    /// In the box.
    boxed: ClearanceSpan,
    /// Fitted, at 20 C.
    cold: ClearanceSpan,
    /// Fitted, as it runs.
    running: ClearanceSpan,
    /// Diameter of a ceramic ball, mm; null with steel balls.
    ball_mm: Option<Figure<3>>,
    /// What ceramic balls leave more of the running clearance, mm; null with steel balls.
    ceramic_gain_mm: Option<Figure<4>>,
}

/// From where to where a clearance lies.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[allow(clippy::struct_field_names)] // the keys of the answer
struct ClearanceSpan {
    /// The least, mm; negative is a preload.
    least_mm: Figure<4>,
    /// The middle, mm.
    mean_mm: Figure<4>,
    /// The most, mm.
    most_mm: Figure<4>,
}

/// How a part of a fit is named where it is typed.
pub fn part_name(part: FitPart) -> &'static str {
    match part {
        FitPart::Bearing => "bearing",
        FitPart::Zone => "zone",
        FitPart::Case => "--case",
        FitPart::Shaft => "--shaft",
        FitPart::SleeveOutside => "--sleeve-outside",
        FitPart::SleeveBore => "--sleeve-bore",
        FitPart::BearingOutside => "--bearing-outside",
        FitPart::BearingBore => "--bearing-bore",
        FitPart::Group => "--group",
        FitPart::Clearance => "--clearance",
        FitPart::ShaftAt => "--shaft-at",
        FitPart::Ball => "--ball",
    }
}

/// The way out when something is wrong with a part of a fit, by its option.
pub fn way_out(part: FitPart) -> &'static str {
    match part {
        FitPart::Bearing => "Give the bearing's bore and outside as its maker names them, like 25 62.",
        FitPart::Zone => "Ask like `reedbook fit zone H7 \"62 mm\"`, or H7/k6 for a hole and a shaft.",
        FitPart::Case | FitPart::SleeveBore => {
            "Give a zone of holes (N7), or what was measured (\"61.985 mm\")."
        }
        FitPart::Shaft => "Give a zone of shafts (k5), or what was measured (\"25.008 mm\").",
        FitPart::SleeveOutside => {
            "Give a zone at a size (\"68 mm r6\"), or what was measured (\"68.050 mm\")."
        }
        FitPart::Group | FitPart::Clearance => {
            "Give the clearance as measured in the box (--clearance \"0.020 mm\")."
        }
        FitPart::Ball => "Give the diameter of one ball (--ball \"8 mm\"), or leave it out.",
        FitPart::ShaftAt => "Check --case-at and --shaft-at: the shaft runs a little warmer than the case.",
        _ => "Give what was measured at 20 C, like \"24.996 mm\".",
    }
}

impl From<&InternalClearance> for ClearanceSpan {
    fn from(found: &InternalClearance) -> Self {
        Self {
            least_mm: Figure(found.least_m * 1e3),
            mean_mm: Figure(found.mean_m * 1e3),
            most_mm: Figure(found.most_m * 1e3),
        }
    }
}

impl From<&ClearanceFigures> for ClearanceLeft {
    fn from(found: &ClearanceFigures) -> Self {
        Self {
            boxed: ClearanceSpan::from(&found.boxed),
            cold: ClearanceSpan::from(&found.cold),
            running: ClearanceSpan::from(&found.running),
            ball_mm: found.ceramic.map(|ceramic| Figure(ceramic.ball_m * 1e3)),
            ceramic_gain_mm: found.ceramic.map(|ceramic| Figure(ceramic.gain_m * 1e3)),
        }
    }
}

impl SeatFit {
    fn of(seat: &SeatFigures, name: Option<Diameter>, running_c: f64) -> Self {
        Self {
            zone: match name {
                Some(Diameter::Zone(zone, _)) => Some(zone.to_string()),
                Some(Diameter::Measured(_)) | None => None,
            },
            cold: FitTightness::from(&seat.cold),
            running: FitTightness::from(&seat.running),
            running_c: Figure(running_c),
            nought_least_c: seat.nought.least_c.map(Figure),
            nought_mean_c: seat.nought.mean_c.map(Figure),
            nought_most_c: seat.nought.most_c.map(Figure),
            // Never less than was computed, so up to the next tenth.
            heat_to_c: seat.drops_in_c.map(|to| Figure((to * 10.0 - 1e-6).ceil() / 10.0)),
            room_at_most_mm: Figure(seat.room_at_most_m * 1e3),
        }
    }

    /// The seat cold and running, a row each.
    fn rows(&self, name: &str, units: Units) -> [Vec<String>; 2] {
        let zone = self.zone.as_ref().map(|zone| format!(" ({zone})")).unwrap_or_default();
        let row = |name: String, found: &FitTightness| {
            let values = [found.least_mm, found.mean_mm, found.most_mm];
            three(name, values, |mm| sizes::offset(mm, units, FINE), found.kind.0.word())
        };
        [
            row(format!("{name}{zone}, {}", whole_degrees(REFERENCE_C, units)), &self.cold),
            row(format!("  running, {}", whole_degrees(self.running_c.0, units)), &self.running),
        ]
    }
}

impl BearingAnswer {
    /// What follows from what was asked. `left_out` are the options for which something stands in.
    pub fn new(asked: FitAsked, figures: FitFigures, left_out: Vec<&'static str>) -> Self {
        let seat = |seat: &Option<SeatFigures>, name: Option<Diameter>, running_c: f64| {
            seat.as_ref().map(|seat| SeatFit::of(seat, name, running_c))
        };
        let inner = asked.sleeve.map_or(asked.case, |sleeve| Some(sleeve.bore));
        Self {
            bore_mm: Figure(asked.bore_m * 1e3),
            outside_mm: Figure(asked.outside_m * 1e3),
            case: seat(&figures.case, inner, asked.case_c),
            sleeve: seat(&figures.sleeve, asked.case, asked.case_c),
            shaft: seat(&figures.shaft, asked.shaft, asked.shaft_c),
            clearance: figures.clearance.as_ref().map(ClearanceLeft::from),
            assumptions: assumed(&asked, &figures, &left_out, Units::Metric),
            cautions: cautions(&figures),
            not_known: not_known(&asked, &figures),
            asked,
            figures,
            left_out,
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let units = screen.units();
        let heading = format!(
            "bearing {} x {}",
            short_length(self.bore_mm.0, units, FINE),
            short_length_with_unit(self.outside_mm.0, units, FINE)
        );
        let mut frame = Frame::new(screen);
        frame.hands(&heading);
        for (number, step) in steps(units, &self.asked, &self.figures).iter().enumerate() {
            frame.block(screen.wrap(&format!("{}  {}", number + 1, step.hands), 3));
            step.cautions.iter().for_each(|caution| frame.know(caution));
        }
        frame.gap();
        self.facts(screen).into_iter().for_each(|line| frame.block(line));
        frame.source("Limits are those of free parts, without load and speed. Follow the machine's manual and a qualified mechanic.");
        frame.text()
    }

    /// How it sits, what clearance is left, when it goes loose, and what is assumed.
    fn facts(&self, screen: &Screen) -> Vec<String> {
        let units = screen.units();
        let unit = sizes::unit(Dimension::Length, units);
        let mut lines = Vec::new();
        let head = [&*format!("interference, {unit}"), "least", "mean", "most", ""];
        lines.push(table(&head, self.seat_rows(units), &[1, 2, 3], screen.width()));
        lines.push("+ is tight, - is loose".into());
        if let Some(clearance) = &self.clearance {
            let rows = [
                (format!("in the box{}", self.group()), &clearance.boxed),
                (format!("fitted, {}", whole_degrees(REFERENCE_C, units)), &clearance.cold),
                ("running".into(), &clearance.running),
            ];
            let rows = rows.into_iter().map(|(name, found)| {
                let values = [found.least_mm, found.mean_mm, found.most_mm];
                three(name, values, |mm| sizes::length(mm, units, FINE), "")
            });
            let head = [&*format!("clearance left, {unit}"), "least", "mean", "most", ""];
            lines.push(String::new());
            lines.push(table(&head, rows.collect(), &[1, 2, 3], screen.width()));
            lines.extend(clearance.ceramic_gain_mm.map(|gain| {
                let change = if gain.0 < 0.0 { "less" } else { "more" };
                let gain = short_length_with_unit(gain.0.abs(), units, FINE);
                screen.wrap(&format!("Ceramic balls leave {gain} {change} of it running than steel ones."), 2)
            }));
        }
        let loose = loose_lines(units, &self.figures);
        if !loose.is_empty() {
            lines.push(String::new());
            lines.extend(loose.iter().map(|line| screen.wrap(line, 28)));
        }
        lines.push(String::new());
        lines.extend(self.assumed_lines(screen));
        lines.extend(self.not_known.iter().map(|words| screen.wrap(&format!("Not known: {words}."), 2)));
        lines
    }

    fn seat_rows(&self, units: Units) -> Vec<Vec<String>> {
        let in_what = if self.asked.sleeve.is_some() { "in the sleeve" } else { "in the case" };
        let seats =
            [(in_what, &self.case), ("sleeve in the case", &self.sleeve), ("on the shaft", &self.shaft)];
        let rows = seats.into_iter().filter_map(|(name, seat)| Some(seat.as_ref()?.rows(name, units)));
        rows.flatten().collect()
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

    /// What is assumed in a few lines: what common practice says in one, the rest with its source.
    fn assumed_lines(&self, screen: &Screen) -> Vec<String> {
        let assumed = assumed(&self.asked, &self.figures, &self.left_out, screen.units());
        let (practice, other): (Vec<FitAssumption>, Vec<FitAssumption>) =
            assumed.into_iter().partition(|assumed| assumed.source == PRACTICE);
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
}

/// A row of three figures, mm; of measured parts only one.
fn three(name: String, values: [Figure<4>; 3], written: impl Fn(f64) -> String, words: &str) -> Vec<String> {
    let [least, mean, most] = values.map(|value| written(value.0));
    if values[2].0 - values[0].0 < 1e-5 {
        return vec![name, String::new(), mean, String::new(), words.to_owned()];
    }
    vec![name, least, mean, most, words.to_owned()]
}
