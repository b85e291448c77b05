//! Carburetor, reeds, case and tract.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::figures::intake::IntakeFigures;
use crate::advice::figures::known::both;
use crate::advice::figures::ports::{disc_doubt, intake_timing};
use crate::advice::figures::{Bench, Gap, Known};
use crate::advice::rejet::needle_table::NeedleRow;
use crate::notebook::Assumptions;
use crate::quantity::{Dimension, fixed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::assumed::Assumed;
use crate::report::words::known::{FigureOrGap, lacks, line};
use crate::report::words::layout::{grouped, table};
use crate::report::words::sizes::with_unit;
use crate::report::words::subject::Subject;

/// Slide lifts of the table, as a rider says them.
const LIFTS: [&str; 8] = ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "full"];

/// Needle and main jet by slide lift, reeds, case, the intake resonance and the piston's speed. Null where a figure is not known.
#[derive(Debug, Serialize, JsonSchema)]
pub struct IntakeAnswer {
    #[serde(flatten)]
    subject: Subject,
    /// Whether the bike is injected; it then has no needle.
    injected: bool,
    /// Area of the carburetor's or throttle body's bore, mm2.
    bore_mm2: FigureOrGap<1>,
    /// Areas that meter the fuel, by slide lift; empty for an injected bike and where they are not known.
    needle: Vec<NeedleLift>,
    /// Area past the petals at their stops, mm2.
    reeds_mm2: FigureOrGap<1>,
    /// That area over the bore's.
    reeds_to_bore: FigureOrGap<3>,
    /// Crankcase compression ratio.
    crankcase_ratio: FigureOrGap<3>,
    /// Note at which the tract swings on the case, Hz.
    tract_hz: FigureOrGap<1>,
    /// Speed that it suits, revolutions per minute.
    tract_rpm: FigureOrGap<0>,
    /// Degrees of crank that a timed intake is open; null for reeds.
    intake_deg: Option<Figure<2>>,
    /// Speed for the piston's, revolutions per minute.
    piston_rpm: Option<Figure<0>>,
    /// Mean piston speed at it, m/s.
    mean_piston_m_s: FigureOrGap<2>,
    /// Highest piston speed at it, m/s.
    peak_piston_m_s: FigureOrGap<2>,
    /// Where that is reached, degrees after top dead centre.
    peak_piston_after_top_deg: FigureOrGap<1>,
    /// What the figures rest on.
    assumptions: Vec<Assumed>,
    /// Figures that are not known, each with the fields it needs.
    not_known: Vec<String>,
    /// Why there is no table of the needle.
    #[serde(skip)]
    needle_gap: Option<Gap>,
    /// Whether the piston's speed is told at the limiter.
    #[serde(skip)]
    at_the_limiter: bool,
    /// What is to be said of a disc's timing.
    #[serde(skip)]
    disc_doubt: Option<String>,
}

/// Areas that meter the fuel at one slide lift.
#[derive(Debug, Serialize, JsonSchema)]
struct NeedleLift {
    /// Slide lift, a fraction of the full one.
    lift: Figure<3>,
    /// Area of the ring between needle and needle jet, mm2.
    ring_mm2: Figure<4>,
    /// Area of the main jet, mm2.
    main_mm2: Figure<4>,
    /// Area that both in series are worth, mm2.
    series_mm2: Figure<4>,
    /// The main jet's share, percent: by how much of a small change of the jet's area the whole moves.
    main_share_percent: Figure<1>,
}

/// The speed that the piston's is told at.
#[derive(Debug, Clone, Copy)]
pub struct PistonAt {
    /// The speed, rpm, where one is known.
    pub rpm: Option<f64>,
    /// Whether it is the limiter's.
    pub at_the_limiter: bool,
}

impl IntakeAnswer {
    /// The intake of the setup on the bench.
    pub fn new(
        subject: Subject,
        bench: &Bench<'_>,
        figures: &IntakeFigures,
        injected: bool,
        at: PistonAt,
    ) -> Self {
        let mm2 = |known: &Known<f64>| FigureOrGap::of(known, |area| area * 1e6);
        let needle = needle(figures, injected);
        let ratio = both(figures.reeds_m2.clone(), figures.bore_m2.clone()).map(|(reeds, bore)| reeds / bore);
        let (swing, peak) = (&figures.swing, &figures.peak_piston);
        let mut answer = Self {
            injected,
            bore_mm2: mm2(&figures.bore_m2),
            reeds_mm2: mm2(&figures.reeds_m2),
            reeds_to_bore: FigureOrGap(ratio),
            crankcase_ratio: FigureOrGap(figures.crankcase_ratio.clone()),
            tract_hz: FigureOrGap::of(swing, |swing| swing.frequency_hz),
            tract_rpm: FigureOrGap::of(swing, |swing| swing.rpm),
            intake_deg: swing.as_ref().ok().and_then(|swing| swing.open_deg).map(Figure),
            piston_rpm: at.rpm.map(Figure),
            mean_piston_m_s: FigureOrGap(figures.mean_piston_m_s.clone()),
            peak_piston_m_s: FigureOrGap::of(peak, |(speed, _)| *speed),
            peak_piston_after_top_deg: FigureOrGap::of(peak, |(_, angle)| *angle),
            assumptions: assumed(bench, needle.is_ok(), swing.is_ok()),
            not_known: Vec::new(),
            needle_gap: needle.as_ref().err().cloned(),
            at_the_limiter: at.at_the_limiter,
            disc_doubt: intake_timing(bench).ok().and_then(|timing| disc_doubt(bench, &timing)),
            needle: needle.unwrap_or_default(),
            subject,
        };
        answer.not_known = answer.lacks();
        answer
    }

    fn lacks(&self) -> Vec<String> {
        lacks([
            ("needle and main jet", self.needle_gap.as_ref().map(ToString::to_string)),
            ("bore", self.bore_mm2.gap()),
            ("reeds", self.reeds_mm2.gap()),
            ("reeds to bore", self.reeds_to_bore.gap()),
            ("crankcase ratio", self.crankcase_ratio.gap()),
            ("tract", self.tract_hz.gap()),
            ("mean piston speed", self.mean_piston_m_s.gap()),
            ("highest piston speed", self.peak_piston_m_s.gap()),
        ])
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "intake");
        lines.push(String::new());
        match &self.needle_gap {
            None => {
                lines.push(self.needle_table(screen));
                lines.push(screen.wrap("  The main jet's share: by how many percent the whole moves when the jet's area moves by one. What is left is the ring's.", 2));
                lines.push(String::new());
            }
            Some(gap) => {
                lines.push(screen.wrap(&line("needle and main jet", &Err(gap.clone())), 28));
            }
        }
        lines.extend(self.figures_text(screen).iter().map(|line| screen.wrap(line, 28)));
        lines.extend(self.disc_doubt.iter().map(|words| screen.wrap(words, 2)));
        if !self.assumptions.is_empty() {
            lines.push(String::new());
            lines.push(screen.wrap("Assumed (configs/assumptions.toml and configs/shares.toml):", 2));
            lines.extend(self.assumptions.iter().map(|assumed| assumed.text(screen)));
        }
        lines.join("\n")
    }

    fn figures_text(&self, screen: &Screen) -> Vec<String> {
        let mm2 = |area: f64| format!("{} mm2", fixed(area, 0));
        let ratio = self.reeds_to_bore.words(|ratio| format!(", {} of the bore's", fixed(ratio, 2)));
        let ratio = ratio.unwrap_or_default();
        let why = match self.intake_deg {
            Some(open) => format!("half a swing while it is open, {} deg", fixed(open.0, 0)),
            None => "one swing a revolution".to_owned(),
        };
        let velocity = |speed| with_unit(speed, Dimension::Velocity, screen.units(), 0);
        let place = match (self.piston_rpm, self.at_the_limiter) {
            (Some(rpm), true) => format!(" at the limiter, {} rpm", grouped(rpm.0)),
            (Some(rpm), false) => format!(" at {} rpm", grouped(rpm.0)),
            (None, _) => String::new(),
        };
        let angle = self.peak_piston_after_top_deg.or_dash(1);
        let bore = if self.injected { "throttle body's area" } else { "carburetor's area" };
        let told = [
            (bore, self.bore_mm2.words(mm2)),
            (
                "reeds",
                self.reeds_mm2.words(|reeds| format!("at most {}{ratio}, petals at their stops", mm2(reeds))),
            ),
            ("crankcase ratio", self.crankcase_ratio.words(|ratio| format!("{} to 1", fixed(ratio, 2)))),
            ("intake resonance", self.tract_hz.words(|note| format!("{} Hz", fixed(note, 0)))),
            ("tract tuned to", self.tract_rpm.words(|rpm| format!("{} rpm ({why})", grouped(rpm)))),
            ("mean piston speed", self.mean_piston_m_s.words(|speed| format!("{}{place}", velocity(speed)))),
            (
                "highest piston speed",
                self.peak_piston_m_s.words(|speed| format!("{}, {angle} deg after top", velocity(speed))),
            ),
        ];
        told.iter().map(|(name, words)| line(name, words)).collect()
    }

    fn needle_table(&self, screen: &Screen) -> String {
        let mm2 = |area: Figure<4>| fixed(area.0, 3);
        let row = |(lift, row): (&&str, &NeedleLift)| {
            vec![
                (*lift).to_owned(),
                mm2(row.ring_mm2),
                mm2(row.main_mm2),
                mm2(row.series_mm2),
                fixed(row.main_share_percent.0, 0),
            ]
        };
        table(
            &["slide", "needle gap mm2", "main jet mm2", "in series mm2", "main jet's share %"],
            LIFTS.iter().zip(&self.needle).map(row).collect(),
            &[1, 2, 3, 4],
            screen.width(),
        )
    }
}

/// The needle's table, or why there is none.
fn needle(figures: &IntakeFigures, injected: bool) -> Known<Vec<NeedleLift>> {
    let lift = |row: &NeedleRow| NeedleLift {
        lift: Figure(row.lift),
        ring_mm2: Figure(row.annulus_m2 * 1e6),
        main_mm2: Figure(row.main_m2 * 1e6),
        series_mm2: Figure(row.series_m2 * 1e6),
        main_share_percent: Figure(row.main_share * 100.0),
    };
    match &figures.needle {
        Some(table) => table.as_ref().map(|rows| rows.iter().map(lift).collect()).map_err(Clone::clone),
        None if injected => Err(Gap::Without("injected: no needle and no main jet".into())),
        None => Err(Gap::Needs(vec!["jetting".into()])),
    }
}

/// What the needle's table and the intake resonance rest on, where they are known.
fn assumed(bench: &Bench<'_>, needle: bool, tract: bool) -> Vec<Assumed> {
    let ring = needle.then(|| Assumed {
        name: "ring and jet",
        value: "incompressible flow, with the needle's and the jet's own discharge".into(),
        source: "from memory; annulus_discharge in configs/shares.toml is unproven".into(),
    });
    let of_the_bore = bench.fields.quantity("ports.intake_diameter").is_none();
    let tract = if tract { assumed_of_the_tract(bench.assumptions, of_the_bore) } else { Vec::new() };
    ring.into_iter().chain(tract).collect()
}

fn assumed_of_the_tract(assumptions: &Assumptions, of_the_bore: bool) -> Vec<Assumed> {
    let air = assumptions.intake_air.as_ref().map(|air| Assumed {
        name: "intake_air",
        value: air.value.quantity().with_unit(),
        source: air.source.clone(),
    });
    let swings = Assumed {
        name: "tract",
        value: "swings on the case at half stroke; dry air, no end correction, fuel would lower the note"
            .into(),
        source: "Helmholtz resonator, textbook; what speed it suits is an assumption".into(),
    };
    let width = of_the_bore.then(|| Assumed {
        name: "tract's width",
        value: "that of the carburetor or throttle body".into(),
        source: "ports.intake_diameter is not written down".into(),
    });
    air.into_iter().chain([swings]).chain(width).collect()
}
