//! A head's volumes, ratios and squish, and the cuts that wishes ask for.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::figures::Known;
use crate::advice::figures::head::HeadFigures;
use crate::notebook::Band;
use crate::notebook::fields::names::visible;
use crate::quantity::{Dimension, fixed};
use crate::report::draw::plot::{Curve, Plot};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::known::{FigureOrGap, gap, lacks, line};
use crate::report::words::layout::grouped;
use crate::report::words::sizes::{number, unit, velocity_band, with_unit};
use crate::report::words::subject::Subject;

/// Rows of a drawing's field.
const PLOT_ROWS: usize = 12;
/// Degrees before top dead centre from which the squish is drawn.
const DRAWN_FROM_DEG: f64 = 40.0;
/// Points of the drawing.
const DRAWN_POINTS: u32 = 81;

/// A clearance below this is none: the least that a setup may hold (a slip of the pen below it; common practice, no source), mm.
const LEAST_CLEARANCE_MM: f64 = 0.2;

/// Volumes, compression ratios and squish. Null where a figure is not known.
#[derive(Debug, Serialize, JsonSchema)]
pub struct HeadAnswer {
    #[serde(flatten)]
    subject: Subject,
    /// Swept volume, cc.
    swept_cc: FigureOrGap<2>,
    /// Chamber volume at top dead centre, cc.
    chamber_cc: FigureOrGap<2>,
    /// Full-stroke compression ratio.
    full_ratio: FigureOrGap<3>,
    /// Compression ratio from the exhaust's closing.
    trapped_ratio: FigureOrGap<3>,
    /// The same with the power valve shut; null without one.
    trapped_ratio_valve_shut: Option<FigureOrGap<3>>,
    /// Squish clearance, mm.
    squish_clearance_mm: FigureOrGap<3>,
    /// Squish area over bore area, a fraction.
    squish_area: FigureOrGap<4>,
    /// Highest squish velocity at each speed.
    squish: Vec<SquishAt>,
    /// What was wanted, and the cut it asks for.
    wishes: Vec<WantedCut>,
    /// What is not known and which fields it needs, in words.
    not_known: Vec<String>,
    /// The squish velocity that is wanted, m/s.
    #[serde(skip)]
    band: Option<Band>,
    /// Whether to draw.
    #[serde(skip)]
    plot: bool,
}

/// Highest squish velocity at one speed.
#[derive(Debug, Serialize, JsonSchema)]
struct SquishAt {
    /// Engine speed, rpm.
    rpm: Figure<0>,
    /// Highest squish velocity, m/s, from the geometry alone.
    velocity_m_s: FigureOrGap<2>,
    /// Where, degrees before top dead centre.
    before_top_deg: FigureOrGap<1>,
    /// The velocity over the angle, (degrees before top dead centre, m/s); empty where it is not known.
    #[serde(skip)]
    curve: Vec<(f64, f64)>,
}

/// Something wanted of the head.
#[derive(Debug, Serialize, JsonSchema)]
struct WantedCut {
    /// The wish in words.
    wanted: String,
    /// Cut, mm; negative asks for a thicker gasket.
    cut_mm: FigureOrGap<3>,
}

impl HeadAnswer {
    /// The head of a setup: `band` is the squish velocity that is wanted, m/s, `rpm` the speeds it is told at, and `wishes`
    /// what is wanted in words, with the cut it asks for, m.
    pub fn new(
        subject: Subject,
        figures: &HeadFigures,
        band: Option<Band>,
        rpm: &[f64],
        wishes: Vec<(String, Known<f64>)>,
        plot: bool,
    ) -> Self {
        let cc = |known: &Known<f64>| FigureOrGap::of(known, |volume| volume * 1e6);
        let wishes: Vec<WantedCut> = wishes
            .into_iter()
            .map(|(wanted, cut_m)| WantedCut { wanted, cut_mm: FigureOrGap::of(&cut_m, |cut| cut * 1000.0) })
            .collect();
        Self {
            subject,
            swept_cc: cc(&figures.swept_m3),
            chamber_cc: cc(&figures.chamber_m3),
            full_ratio: FigureOrGap(figures.full_ratio.clone()),
            trapped_ratio: FigureOrGap(figures.trapped_ratio.clone()),
            trapped_ratio_valve_shut: figures.trapped_ratio_shut.clone().map(FigureOrGap),
            squish_clearance_mm: FigureOrGap::of(&figures.clearance_m, |clearance| clearance * 1000.0),
            squish_area: FigureOrGap(figures.squish_area.clone()),
            squish: rpm.iter().map(|rpm| SquishAt::new(figures, *rpm)).collect(),
            not_known: not_known(figures, &wishes),
            wishes,
            band,
            plot,
        }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "head");
        lines.push(String::new());
        lines.extend(self.figures_text(screen).iter().map(|line| screen.wrap(line, 28)));
        if !self.wishes.is_empty() {
            lines.push(String::new());
            lines.extend(self.wishes.iter().map(|wish| screen.wrap(&self.wish_words(screen, wish), 2)));
        }
        if self.plot {
            lines.push(self.drawing(screen));
        }
        lines.push(String::new());
        lines.push(screen.wrap("Squish velocity is geometric: uniform density, no leakage, no heat. A cut counts over the whole bore; one at the cylinder base moves the ports too. A head nearer the piston raises compression and squish, and at speed the rod stretches and the piston rocks: with too little clearance they meet. Measure with solder after any cut, before the engine runs.", 0));
        lines.join("\n")
    }

    fn figures_text(&self, screen: &Screen) -> Vec<String> {
        let cc = |volume: f64| format!("{} cc", fixed(volume, 2));
        let ratio = |ratio: f64| format!("{} to 1", fixed(ratio, 2));
        let area = |share: f64| format!("{} % of the bore's", fixed(share * 100.0, 1));
        let mut lines = vec![
            line("swept volume", &self.swept_cc.words(cc)),
            line("chamber volume", &self.chamber_cc.words(cc)),
            line("full-stroke ratio", &self.full_ratio.words(ratio)),
            line("trapped ratio", &self.trapped_ratio.words(ratio)),
        ];
        if let Some(shut) = &self.trapped_ratio_valve_shut {
            lines.push(line("  power valve shut", &shut.words(ratio)));
        }
        let clearance = self.squish_clearance_mm.words(|clearance| length(screen, clearance));
        lines.push(line("squish clearance", &clearance));
        lines.push(line("squish area", &self.squish_area.words(area)));
        lines.extend(self.squish.iter().map(|one| one.text(screen)));
        if self.squish.is_empty() {
            lines.push("  squish velocity           not known: needs --rpm or ignition.limiter".into());
        }
        if let Some(band) = &self.band {
            let wanted = velocity_band((band.from, band.to), screen.units());
            let wanted = format!("{wanted} ({})", visible(&band.source));
            lines.push(line("squish target", &Ok(wanted)));
        }
        lines
    }

    fn drawing(&self, screen: &Screen) -> String {
        let units = screen.units();
        let drawn = |(one, mark): (&SquishAt, char)| {
            let shown = |(angle, speed): &(f64, f64)| (-angle, number(*speed, Dimension::Velocity, units));
            let mut points: Vec<_> = one.curve.iter().map(shown).collect();
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
            let name = format!("at {} rpm", grouped(one.rpm.0));
            (!points.is_empty()).then_some(Curve { mark, name, points })
        };
        let curves: Vec<Curve> = self.squish.iter().zip(['a', 'b', 'c', 'd']).filter_map(drawn).collect();
        if curves.is_empty() {
            return "\nNothing to draw: the squish velocity is not known.".into();
        }
        let unit = unit(Dimension::Velocity, units);
        let plot = Plot {
            x_name: "degrees, negative before top dead centre",
            y_name: &format!("squish velocity, {unit}"),
            curves,
            uprights: Vec::new(),
        };
        format!("\n{}", plot.text(screen.width(), PLOT_ROWS))
    }

    fn wish_words(&self, screen: &Screen, wish: &WantedCut) -> String {
        let words = visible(&wish.wanted);
        let cut = match &wish.cut_mm.0 {
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
        match self.squish_clearance_mm.value().map(|clearance| clearance - cut) {
            Some(left) if left < LEAST_CLEARANCE_MM => format!(
                "For {words}: not to be had by cutting: {what} would leave next to no squish clearance, and the piston would hit the head."
            ),
            Some(left) => {
                format!("For {words}: {what}; that leaves {} of squish clearance.", length(screen, left))
            }
            None => format!(
                "For {words}: {what}. Whether the piston then clears the head is not known: needs head.squish_clearance."
            ),
        }
    }
}

impl SquishAt {
    fn new(figures: &HeadFigures, rpm: f64) -> Self {
        let peak = figures.peak(rpm);
        let squish = figures.squish.as_ref().ok();
        Self {
            rpm: Figure(rpm),
            velocity_m_s: FigureOrGap::of(&peak, |peak| peak.velocity_m_s),
            before_top_deg: FigureOrGap::of(&peak, |peak| peak.before_top_deg),
            curve: squish
                .and_then(|squish| squish.curve(rpm, DRAWN_FROM_DEG, DRAWN_POINTS).ok())
                .unwrap_or_default(),
        }
    }

    fn text(&self, screen: &Screen) -> String {
        let before = self.before_top_deg.or_dash(1);
        let peak = self.velocity_m_s.words(|speed| {
            let fast = number(speed, Dimension::Velocity, screen.units());
            let unit = unit(Dimension::Velocity, screen.units());
            format!("{} {unit}, {before} degrees before top", fixed(fast, 1))
        });
        line(&format!("squish at {} rpm", grouped(self.rpm.0)), &peak)
    }
}

fn not_known(figures: &HeadFigures, wishes: &[WantedCut]) -> Vec<String> {
    let wishes = wishes.iter().filter_map(|wish| Some(format!("{}: {}", wish.wanted, wish.cut_mm.gap()?)));
    lacks([
        ("swept volume", gap(&figures.swept_m3)),
        ("full-stroke ratio", gap(&figures.full_ratio)),
        ("trapped ratio", gap(&figures.trapped_ratio)),
        ("squish", gap(&figures.squish)),
    ])
    .into_iter()
    .chain(wishes)
    .collect()
}

fn length(screen: &Screen, millimetres: f64) -> String {
    with_unit(millimetres / 1000.0, Dimension::Length, screen.units(), 0)
}
