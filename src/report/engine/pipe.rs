//! A pipe's sections and the speed it is tuned to.

use serde_json::{Value as Json, json};

use crate::advice::figures::Known;
use crate::advice::figures::pipe::{ForSpeed, PipeFigures, Tuned};
use crate::engine::pipe::{JENNINGS_STINGER_RATIO, Pipe, Section};
use crate::notebook::Assumptions;
use crate::notebook::fields::names::visible;
use crate::quantity::{Dimension, Quantity, Units, fixed, trimmed};
use crate::report::air::reading::rounded;
use crate::report::out::screen::Screen;
pub(in crate::report) use crate::report::words::assumed::Assumed;
use crate::report::words::known::{gap, lacks, line, number, with};
use crate::report::words::layout::{grouped, table};
use crate::report::words::subject::Subject;

/// Said with every length to cut or to add.
const CUT_AND_WELD: &str = "Cut and weld only a pipe that is cold, off the bike and aired, far from fuel: vapour in it can burn, and the metal stays hot (common practice, no source).";

/// The pipe of a setup.
pub struct PipeReport<'a> {
    /// Whose.
    pub subject: &'a Subject,
    /// The name it was given.
    pub name: Option<&'a str>,
    /// Length of the duct in the cylinder, m, where it is written down.
    pub duct_m: Option<f64>,
    /// Its figures.
    pub figures: &'a PipeFigures,
    /// Whether the temperature of the gas was given with the request.
    pub gas_given: bool,
    /// What a wanted speed asks for.
    pub for_rpm: Option<&'a Known<ForSpeed>>,
    /// What is assumed.
    pub assumptions: &'a Assumptions,
}

/// A quantity in the screen's units, `fewer` decimals below what is usual.
pub(super) fn shown(screen: &Screen, dimension: Dimension, si: f64, fewer: usize) -> String {
    let (unit, decimals) = dimension.display(screen.units());
    Quantity::computed(si, unit, decimals.saturating_sub(fewer))
        .map_or_else(String::new, |one| one.with_unit())
}

/// A length without trailing zeros: "12.3 mm", "8 mm".
fn length(screen: &Screen, length_m: f64) -> String {
    let (value, decimals) = length_figure(screen, length_m);
    format!("{} {}", trimmed(value, decimals), Dimension::Length.display(screen.units()).0)
}

/// A length in the screen's unit, with the decimals a pipe is measured to.
fn length_figure(screen: &Screen, length_m: f64) -> (f64, usize) {
    match screen.units() {
        Units::Metric => (length_m * 1000.0, 1),
        Units::Imperial => (length_m / 0.0254, 3),
    }
}

impl PipeReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let figures = self.figures;
        let mm = |known: Known<f64>| number(&known.map(|length| length * 1000.0), 2);
        let tuned = figures.tuned.clone();
        with(
            self.subject.json(),
            json!({
                "name": self.name,
                "sections": self.sections_json(),
                "length_mm": mm(self.of_pipe(Pipe::length_m)),
                "volume_cc": number(&self.of_pipe(|pipe| pipe.volume_m3() * 1e6), 1),
                "joints": self.joints_json(),
                "duct_mm": self.duct_m.map(|duct| rounded(duct * 1000.0, 2)),
                "reflection_mm": mm(figures.reflection_m.clone()),
                "reflection_share_percent": self.share().map(|share| rounded(share * 100.0, 1)),
                "exhaust_deg": number(&figures.exhaust_deg, 2),
                "gas_c": number(&figures.wave.clone().map(|(gas, _)| gas - 273.15), 1),
                "wave_m_s": number(&figures.wave.clone().map(|(_, wave)| wave), 1),
                "tuned_rpm": number(&tuned.clone().map(|tuned| tuned.rpm), 0),
                "rpm_per_10_c": number(&tuned.map(|tuned| tuned.rpm_per_kelvin * 10.0), 1),
                "valve_shut": figures.tuned_shut.as_ref().map(|shut| json!({
                    "exhaust_deg": number(&shut.clone().map(|shut| shut.exhaust_deg), 2),
                    "tuned_rpm": number(&shut.clone().map(|shut| shut.rpm), 0),
                })),
                "stinger_ratio": number(&figures.stinger_ratio, 3),
                "jennings_stinger_ratio": JENNINGS_STINGER_RATIO,
                "for_rpm": self.for_rpm.and_then(|asked| asked.as_ref().ok()).map(|asked| json!({
                    "rpm": rounded(asked.rpm, 0),
                    "reflection_mm": rounded(asked.length_m * 1000.0, 2),
                    "add_mm": rounded(asked.add_m * 1000.0, 2),
                })),
                "assumptions": self.assumed().iter().map(Assumed::json).collect::<Vec<_>>(),
                "notes": self.notes(),
                "cautions": self.cautions(),
                "not_known": self.not_known(),
            }),
        )
    }

    fn sections_json(&self) -> Vec<Json> {
        let section = |(index, name, section): (usize, String, Section)| {
            json!({
                "place": index + 1,
                "name": name,
                "length_mm": rounded(section.length_m() * 1000.0, 2),
                "inlet_mm": rounded(section.inlet_m() * 1000.0, 2),
                "outlet_mm": rounded(section.outlet_m() * 1000.0, 2),
                "included_angle_deg": rounded(section.included_angle_deg(), 2),
                "volume_cc": rounded(section.volume_m3() * 1e6, 1),
            })
        };
        self.sections().into_iter().map(section).collect()
    }

    fn joints_json(&self) -> Vec<Json> {
        let joint = |(after, before, difference_m): (String, String, f64)| json!({ "after": after, "before": before, "difference_mm": rounded(difference_m * 1000.0, 2) });
        self.joints().into_iter().map(joint).collect()
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let named = self.name.map(|name| format!(" \"{}\"", visible(name))).unwrap_or_default();
        let mut lines = self.subject.heading(screen, &format!("pipe{named}"));
        lines.push(String::new());
        if self.figures.pipe.is_ok() {
            lines.push(self.table(screen));
            lines.push(String::new());
        }
        lines.extend(self.figures_text(screen));
        if let Some(asked) = self.for_rpm {
            lines.push(String::new());
            lines.push(Self::asked(screen, asked));
        }
        lines.push(String::new());
        lines.extend(self.notes().iter().map(|note| screen.wrap(&format!("note: {note}"), 6)));
        lines.extend(self.cautions().iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.push("Assumed (configs/assumptions.toml, and Jennings' book):".into());
        lines.extend(self.assumed().iter().map(|assumed| assumed.text(screen)));
        lines.join("\n")
    }

    fn table(&self, screen: &Screen) -> String {
        let figure = |length_m: f64| {
            let (value, decimals) = length_figure(screen, length_m);
            fixed(value, decimals)
        };
        let row = |(index, name, section): (usize, String, Section)| {
            vec![
                (index + 1).to_string(),
                visible(&name),
                figure(section.length_m()),
                figure(section.inlet_m()),
                figure(section.outlet_m()),
                fixed(section.included_angle_deg(), 1),
                fixed(section.volume_m3() * 1e6, 0),
            ]
        };
        let unit = Dimension::Length.display(screen.units()).0;
        let [long, inlet, outlet] = ["length", "inlet", "outlet"].map(|name| format!("{name} {unit}"));
        table(
            &["", "section", &long, &inlet, &outlet, "angle deg", "volume cc"],
            self.sections().into_iter().map(row).collect(),
            &[2, 3, 4, 5, 6],
            screen.width(),
        )
    }

    fn figures_text(&self, screen: &Screen) -> Vec<String> {
        let figures = self.figures;
        let share = self.share().map(|share| format!(" ({} % of the baffle)", trimmed(share * 100.0, 1)));
        let reflection = figures.reflection_m.as_ref().map_err(Clone::clone);
        let mut told = vec![
            ("length", self.of_pipe(Pipe::length_m).map(|all| length(screen, all))),
            ("volume", self.of_pipe(Pipe::volume_m3).map(|all| format!("{} cc", fixed(all * 1e6, 0)))),
            (
                "wave turns back after",
                reflection.map(|all| format!("{}{}", length(screen, *all), share.unwrap_or_default())),
            ),
            ("exhaust is open", figures.exhaust_deg.clone().map(degrees)),
            ("gas, and wave in it", figures.wave.clone().map(|(gas, wave)| wave_words(screen, gas, wave))),
            ("tuned to", figures.tuned.clone().map(|tuned| tuned_words(screen, &tuned))),
        ];
        if let Some(shut) = &figures.tuned_shut {
            let words = |shut: Tuned| {
                format!("{} rpm, exhaust open {}", grouped(shut.rpm), degrees(shut.exhaust_deg))
            };
            told.push(("  power valve shut", shut.clone().map(words)));
        }
        let stinger =
            |ratio| format!("{} of the header's inlet (Jennings: {JENNINGS_STINGER_RATIO})", fixed(ratio, 2));
        told.push(("stinger", figures.stinger_ratio.clone().map(stinger)));
        let mut lines: Vec<String> =
            told.iter().map(|(name, words)| screen.wrap(&line(name, words), 28)).collect();
        lines.extend(self.joints().into_iter().map(|(after, before, difference_m)| {
            let way = if difference_m > 0.0 { "wider" } else { "narrower" };
            let words = format!(
                "{} begins {} {way} than {} ends",
                visible(&before),
                length(screen, difference_m.abs()),
                visible(&after)
            );
            screen.wrap(&line("does not meet", &Ok(words)), 28)
        }));
        lines
    }

    /// What the wanted speed asks for, in words.
    fn asked(screen: &Screen, asked: &Known<ForSpeed>) -> String {
        let asked = match asked {
            Ok(asked) => asked,
            Err(gap) => return screen.wrap(&format!("For the speed that is wanted: {gap}."), 2),
        };
        let (value, decimals) = length_figure(screen, asked.add_m.abs());
        let cut = trimmed(value, decimals);
        let what = match (cut.as_str(), asked.add_m < 0.0) {
            ("0", _) => "the length is right".to_owned(),
            (_, true) => format!("cut {} from header or belly", length(screen, -asked.add_m)),
            (_, false) => format!("add {} to header or belly", length(screen, asked.add_m)),
        };
        let words = format!(
            "For {} rpm: {what}, before the baffle; the wave then turns back after {}.",
            grouped(asked.rpm),
            length(screen, asked.length_m)
        );
        screen.wrap(&words, 2)
    }

    fn of_pipe(&self, figure: impl Fn(&Pipe) -> f64) -> Known<f64> {
        self.figures.pipe.as_ref().map(figure).map_err(Clone::clone)
    }

    /// Sections with their place, counted from 0, and name.
    fn sections(&self) -> Vec<(usize, String, Section)> {
        let (Ok(names), Ok(pipe)) = (&self.figures.names, &self.figures.pipe) else { return Vec::new() };
        let named = names.iter().cloned().zip(pipe.sections().iter().copied());
        named.enumerate().map(|(index, (name, section))| (index, name, section)).collect()
    }

    /// Joints that do not meet: the sections before and after, and by how much the later one is wider, m.
    fn joints(&self) -> Vec<(String, String, f64)> {
        let Ok(names) = &self.figures.names else { return Vec::new() };
        let name = |index: usize| names.get(index).cloned().unwrap_or_default();
        let joints = self.figures.steps.iter();
        joints
            .map(|step| {
                (name(step.after_section.saturating_sub(1)), name(step.after_section), step.difference_m)
            })
            .collect()
    }

    fn share(&self) -> Option<f64> {
        self.assumptions.reflection.as_ref().map(|share| share.value.si())
    }

    fn notes(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.duct_m.is_none() && self.figures.pipe.is_ok() {
            notes.push("ports.exhaust_duct is not written down: the first section's length is taken to begin at the piston's face.".to_owned());
        }
        if let (Some(Ok(asked)), Ok(pipe)) = (self.for_rpm, &self.figures.pipe)
            && pipe.sections().first().is_some_and(|header| -asked.add_m >= header.length_m())
        {
            notes.push("That is more than the first section is long: it asks for another pipe, or another port timing.".to_owned());
        }
        if self.for_rpm.is_some_and(Result::is_ok) {
            notes.push("The exhaust's duration and the gas are taken to stay as they are. The gas is the least certain of all, so cut in small steps and measure.".to_owned());
        }
        notes
    }

    fn cautions(&self) -> Vec<&'static str> {
        let asked = self.for_rpm.filter(|asked| asked.is_ok());
        asked.map(|_| CUT_AND_WELD).into_iter().collect()
    }

    fn assumed(&self) -> Vec<Assumed> {
        let gas = self.assumptions.pipe_gas.as_ref().filter(|_| !self.gas_given).map(|gas| Assumed {
            name: "pipe_gas",
            value: gas.value.quantity().with_unit(),
            source: gas.source.clone(),
        });
        let given = self.figures.wave.as_ref().ok().filter(|_| self.gas_given).map(|(gas, _)| Assumed {
            name: "--gas-temp",
            value: format!("{} C", trimmed(gas - 273.15, 1)),
            source: "as given, in place of pipe_gas".to_owned(),
        });
        let reflection = self.assumptions.reflection.as_ref().map(|share| Assumed {
            name: "reflection",
            value: format!("{} of the baffle from its wide end", share.value.quantity().with_unit()),
            source: share.source.clone(),
        });
        let stinger = Assumed {
            name: "stinger",
            value: format!("{JENNINGS_STINGER_RATIO} of the header's inlet, for comparison only"),
            source: "G. Jennings, Two-Stroke Tuner's Handbook (1973), quoted second-hand".to_owned(),
        };
        let speed = Assumed {
            name: "tuned speed",
            value: "duration × wave speed / (12 × length), wave speed with gamma 1.40 and R 287.05 J/(kg K)"
                .to_owned(),
            source: "Jennings (1973), quoted second-hand".to_owned(),
        };
        gas.into_iter().chain(given).chain(reflection).chain([speed, stinger]).collect()
    }

    fn not_known(&self) -> Vec<String> {
        let figures = self.figures;
        lacks([
            ("pipe", gap(&figures.pipe)),
            ("wave turns back", gap(&figures.reflection_m)),
            ("exhaust duration", gap(&figures.exhaust_deg)),
            ("wave", gap(&figures.wave)),
            ("tuned speed", gap(&figures.tuned)),
            ("tuned speed, valve shut", figures.tuned_shut.as_ref().and_then(gap)),
            ("stinger", gap(&figures.stinger_ratio)),
            ("for the speed that is wanted", self.for_rpm.and_then(gap)),
        ])
    }
}

fn degrees(angle: f64) -> String {
    format!("{} deg", fixed(angle, 1))
}

fn wave_words(screen: &Screen, gas: f64, wave: f64) -> String {
    let gas = shown(screen, Dimension::Temperature, gas, 1);
    format!("{gas}, {}", shown(screen, Dimension::Velocity, wave, 1))
}

fn tuned_words(screen: &Screen, tuned: &Tuned) -> String {
    let (unit, step) = match screen.units() {
        Units::Metric => ("C", 10.0),
        Units::Imperial => ("F", 10.0 / 1.8),
    };
    let gain = fixed(tuned.rpm_per_kelvin * step, 0);
    format!("{} rpm; {gain} rpm more for each 10 {unit} of hotter gas", grouped(tuned.rpm))
}
