//! A head's volumes, ratios and squish, and the cuts that wishes ask for.

use serde_json::{Value as Json, json};

use crate::advice::figures::Known;
use crate::advice::figures::head::HeadFigures;
use crate::notebook::Band;
use crate::notebook::fields::names::visible;
use crate::quantity::{Dimension, Quantity, fixed};
use crate::report::air::reading::rounded;
use crate::report::draw::plot::{Curve, Plot};
use crate::report::out::screen::Screen;
use crate::report::words::known::{gap, lacks, line, number, with};
use crate::report::words::layout::{grouped, velocity, velocity_band};
use crate::report::words::subject::Subject;

/// Rows of a drawing's field.
const PLOT_ROWS: usize = 12;
/// Degrees before top dead centre from which the squish is drawn.
const DRAWN_FROM_DEG: f64 = 40.0;
/// Points of the drawing.
const DRAWN_POINTS: u32 = 81;

/// A clearance below this is none: the least that a setup may hold (a slip of the pen below it; common practice, no source), m.
const LEAST_CLEARANCE_M: f64 = 0.000_2;

/// Something wanted of the head.
pub struct Wish {
    /// What.
    pub words: String,
    /// The cut it asks for, m; negative asks for a thicker gasket.
    pub cut_m: Known<f64>,
}

/// The head of a setup.
pub struct HeadReport<'a> {
    /// Whose.
    pub subject: &'a Subject,
    /// Its figures.
    pub figures: HeadFigures,
    /// The squish velocity that is wanted.
    pub band: Option<Band>,
    /// Speeds for the squish velocity, rpm.
    pub rpm: Vec<f64>,
    /// What is wanted.
    pub wishes: Vec<Wish>,
    /// Whether to draw.
    pub plot: bool,
}

impl HeadReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let figures = &self.figures;
        let squish: Vec<Json> = self
            .rpm
            .iter()
            .map(|rpm| {
                let peak = figures.peak(*rpm);
                json!({
                    "rpm": rounded(*rpm, 0),
                    "velocity_m_s": number(&peak.clone().map(|peak| peak.velocity_m_s), 2),
                    "before_top_deg": number(&peak.map(|peak| peak.before_top_deg), 1),
                })
            })
            .collect();
        let wishes: Vec<Json> = self
            .wishes
            .iter()
            .map(|wish| json!({ "wanted": wish.words, "cut_mm": number(&wish.cut_m.clone().map(|cut| cut * 1000.0), 3) }))
            .collect();
        with(
            self.subject.json(),
            json!({
                "swept_cc": number(&figures.swept_m3.clone().map(|volume| volume * 1e6), 2),
                "chamber_cc": number(&figures.chamber_m3.clone().map(|volume| volume * 1e6), 2),
                "full_ratio": number(&figures.full_ratio, 3),
                "trapped_ratio": number(&figures.trapped_ratio, 3),
                "trapped_ratio_valve_shut": figures.trapped_ratio_shut.as_ref().map_or(Json::Null, |ratio| number(ratio, 3)),
                "squish_clearance_mm": number(&figures.clearance_m.clone().map(|clearance| clearance * 1000.0), 3),
                "squish_area": number(&figures.squish_area, 4),
                "squish": squish,
                "wishes": wishes,
                "not_known": self.not_known(),
            }),
        )
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let figures = &self.figures;
        let cc = |known: &Known<f64>| known.clone().map(|volume| format!("{} cc", fixed(volume * 1e6, 2)));
        let ratio = |known: &Known<f64>| known.clone().map(|ratio| format!("{} to 1", fixed(ratio, 2)));
        let mut lines = self.subject.heading(screen, "head");
        lines.push(String::new());
        lines.push(line("swept volume", &cc(&figures.swept_m3)));
        lines.push(line("chamber volume", &cc(&figures.chamber_m3)));
        lines.push(line("full-stroke ratio", &ratio(&figures.full_ratio)));
        lines.push(line("trapped ratio", &ratio(&figures.trapped_ratio)));
        if let Some(shut) = &figures.trapped_ratio_shut {
            lines.push(line("  power valve shut", &ratio(shut)));
        }
        lines.push(line(
            "squish clearance",
            &figures.clearance_m.clone().map(|clearance| length(screen, clearance)),
        ));
        let area =
            figures.squish_area.clone().map(|share| format!("{} % of the bore's", fixed(share * 100.0, 1)));
        lines.push(line("squish area", &area));
        for rpm in &self.rpm {
            let peak = figures.peak(*rpm).map(|peak| {
                let (fast, unit) = velocity(screen.units(), peak.velocity_m_s);
                format!("{} {unit}, {} degrees before top", fixed(fast, 1), fixed(peak.before_top_deg, 1))
            });
            lines.push(line(&format!("squish at {} rpm", grouped(*rpm)), &peak));
        }
        if self.rpm.is_empty() {
            lines.push("  squish velocity           not known: needs --rpm or ignition.limiter".into());
        }
        if let Some(band) = &self.band {
            let wanted = velocity_band(screen.units(), (band.from, band.to));
            let wanted = format!("{wanted} ({})", visible(&band.source));
            lines.push(line("squish wanted", &Ok(wanted)));
        }
        let mut lines: Vec<String> = lines.iter().map(|line| screen.wrap(line, 28)).collect();
        if !self.wishes.is_empty() {
            lines.push(String::new());
            lines.extend(self.wishes.iter().map(|wish| screen.wrap(&self.wish_words(screen, wish), 2)));
        }
        if self.plot {
            lines.push(self.drawing(screen));
        }
        lines.push(String::new());
        lines.push(screen.wrap("Squish velocity is geometric: uniform density, no leakage, no heat. A cut counts over the whole bore; one at the cylinder's foot moves the ports too. A head nearer the piston raises compression and squish, and at speed the rod stretches and the piston rocks: with too little clearance they meet. Measure with solder after any cut, before the engine runs.", 0));
        lines.join("\n")
    }

    fn drawing(&self, screen: &Screen) -> String {
        let marks = ['a', 'b', 'c', 'd'];
        let curves: Vec<Curve> = self
            .rpm
            .iter()
            .zip(marks)
            .filter_map(|(rpm, mark)| {
                let squish = self.figures.squish.as_ref().ok()?;
                let mut points = squish.curve(*rpm, DRAWN_FROM_DEG, DRAWN_POINTS).ok()?;
                for point in &mut points {
                    *point = (-point.0, velocity(screen.units(), point.1).0);
                }
                points.sort_by(|a, b| a.0.total_cmp(&b.0));
                Some(Curve { mark, name: format!("at {} rpm", grouped(*rpm)), points })
            })
            .collect();
        if curves.is_empty() {
            return "\nNothing to draw: the squish velocity is not known.".into();
        }
        let unit = velocity(screen.units(), 0.0).1;
        let plot = Plot {
            x_name: "degrees, negative before top dead centre",
            y_name: &format!("squish velocity, {unit}"),
            curves,
            uprights: Vec::new(),
        };
        format!("\n{}", plot.text(screen.width(), PLOT_ROWS))
    }

    fn wish_words(&self, screen: &Screen, wish: &Wish) -> String {
        let words = visible(&wish.words);
        let cut = match &wish.cut_m {
            Ok(cut) => *cut,
            Err(gap) => return format!("For {words}: {}.", visible(&gap.to_string())),
        };
        let what = if cut > 0.0 {
            format!("take {} off", length(screen, cut))
        } else if cut < 0.0 {
            format!("{} thicker gasket", length(screen, -cut))
        } else {
            "as it is".to_owned()
        };
        match self.figures.clearance_m.as_ref().map(|clearance| clearance - cut) {
            Ok(left) if left < LEAST_CLEARANCE_M => format!(
                "For {words}: not to be had by cutting: {what} would leave next to no squish clearance, and the piston would hit the head."
            ),
            Ok(left) => {
                format!("For {words}: {what}; that leaves {} of squish clearance.", length(screen, left))
            }
            Err(_) => format!(
                "For {words}: {what}. Whether the piston then clears the head is not known: needs head.squish_clearance."
            ),
        }
    }

    fn not_known(&self) -> Vec<String> {
        let figures = &self.figures;
        lacks([
            ("swept volume", gap(&figures.swept_m3)),
            ("full-stroke ratio", gap(&figures.full_ratio)),
            ("trapped ratio", gap(&figures.trapped_ratio)),
            ("squish", gap(&figures.squish)),
        ])
        .into_iter()
        .chain(self.wishes.iter().filter_map(|wish| Some(format!("{}: {}", wish.words, gap(&wish.cut_m)?))))
        .collect()
    }
}

/// A length in the units of the screen.
fn length(screen: &Screen, metres: f64) -> String {
    let (symbol, decimals) = Dimension::Length.display(screen.units());
    Quantity::computed(metres, symbol, decimals).map_or_else(String::new, |length| length.with_unit())
}
