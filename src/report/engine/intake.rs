//! Carburetor, reeds, case and tract.

use serde_json::{Value as Json, json};

use crate::advice::figures::intake::IntakeFigures;
use crate::advice::figures::known::both;
use crate::advice::figures::{Gap, Known};
use crate::advice::rejet::needle_table::NeedleRow;
use crate::notebook::Assumptions;
use crate::quantity::{Dimension, fixed};
use crate::report::air::reading::rounded;
use crate::report::engine::pipe::{Assumed, shown};
use crate::report::out::screen::Screen;
use crate::report::words::known::{Subject, figure, gap, lacks, line, number, with};
use crate::report::words::layout::{grouped, table};

/// Slide lifts of the table, as a rider says them.
const LIFTS: [&str; 8] = ["1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "full"];

/// The intake of a setup.
pub struct IntakeReport<'a> {
    /// Whose.
    pub subject: &'a Subject,
    /// Its figures.
    pub figures: &'a IntakeFigures,
    /// Whether the bike is injected.
    pub injected: bool,
    /// Whether the tract is taken to be as wide as the carburetor or throttle body.
    pub tract_of_the_bore: bool,
    /// The speed for the piston's, rpm, where one is known.
    pub rpm: Option<f64>,
    /// Whether that speed is the limiter's.
    pub at_the_limiter: bool,
    /// What is to be said of a disc's timing.
    pub disc_doubt: Option<String>,
    /// What is assumed.
    pub assumptions: &'a Assumptions,
}

impl IntakeReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let figures = self.figures;
        let mm2 = |known: &Known<f64>| number(&known.clone().map(|area| area * 1e6), 1);
        let swing = figures.swing.clone();
        let peak = figures.peak_piston.clone();
        with(
            self.subject.json(),
            json!({
                "injected": self.injected,
                "bore_mm2": mm2(&figures.bore_m2),
                "needle": self.rows().iter().map(row_json).collect::<Vec<_>>(),
                "reeds_mm2": mm2(&figures.reeds_m2),
                "reeds_to_bore": number(&self.reeds_to_bore(), 3),
                "crankcase_ratio": number(&figures.crankcase_ratio, 3),
                "tract_hz": number(&swing.clone().map(|swing| swing.frequency_hz), 1),
                "tract_rpm": number(&swing.map(|swing| swing.rpm), 0),
                "intake_deg": figures.swing.as_ref().ok().and_then(|swing| swing.open_deg).map(|open| rounded(open, 2)),
                "piston_rpm": self.rpm.map(|rpm| rounded(rpm, 0)),
                "mean_piston_m_s": number(&figures.mean_piston_m_s, 2),
                "peak_piston_m_s": number(&peak.clone().map(|(speed, _)| speed), 2),
                "peak_piston_after_top_deg": number(&peak.map(|(_, angle)| angle), 1),
                "assumptions": self.assumed().iter().map(Assumed::json).collect::<Vec<_>>(),
                "not_known": self.not_known(),
            }),
        )
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "intake");
        lines.push(String::new());
        match self.needle() {
            Ok(rows) => {
                lines.push(needle_table(&rows, screen));
                lines.push(screen.wrap("  The main jet's share: by how many percent the whole moves when the jet's area moves by one. What is left is the ring's.", 2));
                lines.push(String::new());
            }
            Err(gap) => lines.push(screen.wrap(&line("needle and main jet", &Err(gap)), 28)),
        }
        lines.extend(self.figures_text(screen).iter().map(|line| screen.wrap(line, 28)));
        lines.extend(self.disc_doubt.iter().map(|words| screen.wrap(words, 2)));
        let assumed = self.assumed();
        if !assumed.is_empty() {
            lines.push(String::new());
            lines.push("Assumed (configs/assumptions.toml and configs/shares.toml):".into());
            lines.extend(assumed.iter().map(|assumed| assumed.text(screen)));
        }
        lines.join("\n")
    }

    fn figures_text(&self, screen: &Screen) -> Vec<String> {
        let figures = self.figures;
        let mm2 = |area: f64| format!("{} mm2", fixed(area * 1e6, 0));
        let reeds = figures.reeds_m2.clone().map(|reeds| {
            let ratio = self.reeds_to_bore().map(|ratio| format!(", {} of the bore's", fixed(ratio, 2)));
            format!("at most {}{}, petals at their stops", mm2(reeds), ratio.unwrap_or_default())
        });
        let tract = figures.swing.clone().map(|swing| format!("{} Hz", fixed(swing.frequency_hz, 0)));
        let suits = figures.swing.clone().map(|swing| {
            let why = match swing.open_deg {
                Some(open) => format!("half a swing while it is open, {} deg", fixed(open, 0)),
                None => "one swing a revolution".to_owned(),
            };
            format!("{} rpm ({why})", grouped(swing.rpm))
        });
        let velocity = |speed| shown(screen, Dimension::Velocity, speed, 0);
        let peak = figures.peak_piston.clone();
        let place = match (self.rpm, self.at_the_limiter) {
            (Some(rpm), true) => format!(" at the limiter, {} rpm", grouped(rpm)),
            (Some(rpm), false) => format!(" at {} rpm", grouped(rpm)),
            (None, _) => String::new(),
        };
        let bore = if self.injected { "throttle body's area" } else { "carburetor's area" };
        vec![
            line(bore, &figures.bore_m2.clone().map(mm2)),
            line("reeds", &reeds),
            line(
                "crankcase ratio",
                &figures.crankcase_ratio.clone().map(|ratio| format!("{} to 1", fixed(ratio, 2))),
            ),
            line("tract's note", &tract),
            line("tract suits", &suits),
            line(
                "mean piston speed",
                &figures.mean_piston_m_s.clone().map(|speed| format!("{}{place}", velocity(speed))),
            ),
            line(
                "highest piston speed",
                &peak.map(|(speed, angle)| format!("{}, {} deg after top", velocity(speed), fixed(angle, 1))),
            ),
        ]
    }

    /// The table, or why there is none.
    fn needle(&self) -> Known<Vec<NeedleRow>> {
        match &self.figures.needle {
            Some(table) => table.clone(),
            None if self.injected => Err(Gap::Without("injected: no needle and no main jet".into())),
            None => Err(Gap::Needs(vec!["jetting".into()])),
        }
    }

    fn rows(&self) -> Vec<NeedleRow> {
        self.needle().unwrap_or_default()
    }

    fn reeds_to_bore(&self) -> Known<f64> {
        both(self.figures.reeds_m2.clone(), self.figures.bore_m2.clone()).map(|(reeds, bore)| reeds / bore)
    }

    fn assumed(&self) -> Vec<Assumed> {
        let mut assumed: Vec<Assumed> = Vec::new();
        if !self.rows().is_empty() {
            assumed.push(Assumed {
                name: "ring and jet",
                value: "incompressible flow, with the needle's and the jet's own discharge".into(),
                source: "from memory; annulus_discharge in configs/shares.toml is unproven".into(),
            });
        }
        if self.figures.swing.is_err() {
            return assumed;
        }
        assumed.extend(self.assumptions.intake_air.as_ref().map(|air| Assumed {
            name: "intake_air",
            value: air.value.quantity().with_unit(),
            source: air.source.clone(),
        }));
        assumed.push(Assumed {
            name: "tract",
            value: "swings on the case at half stroke; dry air, no end correction, fuel would lower the note"
                .into(),
            source: "Helmholtz resonator, textbook; what speed it suits is an assumption".into(),
        });
        if self.tract_of_the_bore {
            assumed.push(Assumed {
                name: "tract's width",
                value: "that of the carburetor or throttle body".into(),
                source: "ports.intake_diameter is not written down".into(),
            });
        }
        assumed
    }

    fn not_known(&self) -> Vec<String> {
        let figures = self.figures;
        lacks([
            ("needle and main jet", gap(&self.needle())),
            ("bore", gap(&figures.bore_m2)),
            ("reeds", gap(&figures.reeds_m2)),
            ("reeds to bore", gap(&self.reeds_to_bore())),
            ("crankcase ratio", gap(&figures.crankcase_ratio)),
            ("tract", gap(&figures.swing)),
            ("mean piston speed", gap(&figures.mean_piston_m_s)),
            ("highest piston speed", gap(&figures.peak_piston)),
        ])
    }
}

fn needle_table(rows: &[NeedleRow], screen: &Screen) -> String {
    let mm2 = |area: f64| figure(&Ok(area * 1e6), 3);
    let row = |(lift, row): (&&str, &NeedleRow)| {
        vec![
            (*lift).to_owned(),
            mm2(row.annulus_m2),
            mm2(row.main_m2),
            mm2(row.series_m2),
            fixed(row.main_share * 100.0, 0),
        ]
    };
    table(
        &["slide", "ring mm2", "main jet mm2", "in series mm2", "main jet's share %"],
        LIFTS.iter().zip(rows).map(row).collect(),
        &[1, 2, 3, 4],
        screen.width(),
    )
}

fn row_json(row: &NeedleRow) -> Json {
    json!({
        "lift": rounded(row.lift, 3),
        "ring_mm2": rounded(row.annulus_m2 * 1e6, 4),
        "main_mm2": rounded(row.main_m2 * 1e6, 4),
        "series_mm2": rounded(row.series_m2 * 1e6, 4),
        "main_share_percent": rounded(row.main_share * 100.0, 1),
    })
}
