//! A pipe's sections and the speed it is tuned to.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::figures::pipe::{ForSpeed, PipeFigures, Tuned};
use crate::advice::figures::{Bench, Gap, Known};
use crate::engine::pipe::{JENNINGS_STINGER_RATIO, Section};
use crate::notebook::Assumptions;
use crate::notebook::fields::names::visible;
use crate::quantity::{Dimension, Quantity, fixed, trimmed};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
pub(in crate::report) use crate::report::words::assumed::Assumed;
use crate::report::words::known::{FigureOrGap, gap, lacks, line};
use crate::report::words::layout::{grouped, table};
use crate::report::words::sizes::{
    self, COARSE, for_each_degree, short_length, short_length_with_unit, with_unit,
};
use crate::report::words::subject::Subject;

/// Said with every length to cut or to add.
const CUT_AND_WELD: &str = "Cut and weld only a pipe that is cold, off the bike and aired, far from fuel: vapour in it can burn, and the metal stays hot (common practice, no source).";

/// The pipe's sections, the speed it is tuned to, and what another speed asks of it. Null where a figure is not known.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PipeAnswer {
    #[serde(flatten)]
    subject: Subject,
    /// Name of the pipe; null without one.
    name: Option<String>,
    /// Sections from the cylinder on; empty where they are not known.
    sections: Vec<SectionRow>,
    /// Length of all sections, without the duct in the cylinder, mm.
    length_mm: FigureOrGap<2>,
    /// Volume of all sections, cc.
    volume_cc: FigureOrGap<1>,
    /// Joints at which the diameters differ by more than 0.25 mm.
    joints: Vec<UnevenJoint>,
    /// Length of the exhaust duct in the cylinder, mm; null where it is not written down and the first section counts from the piston's face.
    duct_mm: Option<Figure<2>>,
    /// Length from the piston's face to where the wave turns back, mm.
    reflection_mm: FigureOrGap<2>,
    /// Where in the baffle that is, percent of its length from the wide end, as assumed.
    reflection_share_percent: Option<Figure<1>>,
    /// Exhaust duration with the power valve open, degrees of crank.
    exhaust_deg: FigureOrGap<2>,
    /// Mean temperature of the gas, C.
    gas_c: FigureOrGap<1>,
    /// Speed of the wave in it, m/s.
    wave_m_s: FigureOrGap<1>,
    /// Speed the pipe is tuned to, revolutions per minute.
    tuned_rpm: FigureOrGap<0>,
    /// By how much it rises for 10 C of hotter gas, revolutions per minute.
    rpm_per_10_c: FigureOrGap<1>,
    /// The same with the power valve shut; null on a bike without one.
    valve_shut: Option<TunedShut>,
    /// Stinger's diameter over the header's inlet.
    stinger_ratio: FigureOrGap<3>,
    /// The same as a handbook gives it, quoted second-hand (`reedbook pipe --help` says which); for comparison.
    book_stinger_ratio: Figure<2>,
    /// What --for-rpm asks of the pipe; null where it was not asked or is not known.
    for_rpm: Option<WantedSpeed>,
    /// What the figures rest on.
    assumptions: Vec<Assumed>,
    /// What to know about the figures.
    notes: Vec<String>,
    /// Cautions that go with cutting and welding; empty where nothing is to be cut.
    cautions: Vec<&'static str>,
    /// Figures that are not known, each with the fields it needs.
    not_known: Vec<String>,
    /// Why it is not known what --for-rpm asks.
    #[serde(skip)]
    for_rpm_gap: Option<Gap>,
}

/// One section of a pipe.
#[derive(Debug, Serialize, JsonSchema)]
struct SectionRow {
    /// Place from the cylinder, counted from 1.
    #[schemars(range(min = 1))]
    place: usize,
    /// Name of the section.
    name: String,
    /// Length along the centre line, mm.
    length_mm: Figure<2>,
    /// Inside diameter where the gas enters, mm.
    inlet_mm: Figure<2>,
    /// Inside diameter where it leaves, mm.
    outlet_mm: Figure<2>,
    /// Whole angle between the two sides, degrees; negative where it narrows.
    included_angle_deg: Figure<2>,
    /// Volume, cc.
    volume_cc: Figure<1>,
}

/// A joint at which the diameters differ.
#[derive(Debug, Serialize, JsonSchema)]
struct UnevenJoint {
    /// Section before the joint.
    after: String,
    /// Section behind it.
    before: String,
    /// By how much the later section begins wider, mm; negative where narrower.
    difference_mm: Figure<2>,
}

/// What the pipe is tuned to with the power valve shut.
#[derive(Debug, Serialize, JsonSchema)]
struct TunedShut {
    /// Exhaust duration, degrees of crank.
    exhaust_deg: FigureOrGap<2>,
    /// Speed the pipe is tuned to, revolutions per minute.
    tuned_rpm: FigureOrGap<0>,
}

/// What a wanted speed asks of the pipe.
#[derive(Debug, Serialize, JsonSchema)]
struct WantedSpeed {
    /// Speed that is wanted, revolutions per minute.
    rpm: Figure<0>,
    /// Length to where the wave should turn back, mm.
    reflection_mm: Figure<2>,
    /// Length to add before the baffle, mm; negative to cut.
    add_mm: Figure<2>,
}

impl PipeAnswer {
    /// The pipe of the setup on the bench: `gas_given` where the temperature of the gas came with the request, `for_rpm` what
    /// a wanted speed asks for.
    pub fn new(
        subject: Subject,
        bench: &Bench<'_>,
        figures: &PipeFigures,
        gas_given: bool,
        for_rpm: Option<&Known<ForSpeed>>,
    ) -> Self {
        let mm = |known: &Known<f64>| FigureOrGap::of(known, |length| length * 1000.0);
        let share = bench.assumptions.reflection.as_ref().map(|share| share.value.si());
        let duct_m = bench.fields.quantity("ports.exhaust_duct").map(Quantity::si);
        let (pipe, wave, tuned) = (&figures.pipe, &figures.wave, &figures.tuned);
        let mut answer = Self {
            subject,
            name: bench.fields.text("pipe.name").map(str::to_owned),
            sections: sections(figures),
            length_mm: FigureOrGap::of(pipe, |pipe| pipe.length_m() * 1000.0),
            volume_cc: FigureOrGap::of(pipe, |pipe| pipe.volume_m3() * 1e6),
            joints: joints(figures),
            duct_mm: duct_m.map(|duct| Figure(duct * 1000.0)),
            reflection_mm: mm(&figures.reflection_m),
            reflection_share_percent: share.map(|share| Figure(share * 100.0)),
            exhaust_deg: FigureOrGap(figures.exhaust_deg.clone()),
            gas_c: FigureOrGap::of(wave, |(gas, _)| gas - 273.15),
            wave_m_s: FigureOrGap::of(wave, |(_, wave)| *wave),
            tuned_rpm: FigureOrGap::of(tuned, |tuned| tuned.rpm),
            rpm_per_10_c: FigureOrGap::of(tuned, |tuned| tuned.rpm_per_kelvin * 10.0),
            valve_shut: figures.tuned_shut.as_ref().map(TunedShut::new),
            stinger_ratio: FigureOrGap(figures.stinger_ratio.clone()),
            book_stinger_ratio: Figure(JENNINGS_STINGER_RATIO),
            for_rpm: for_rpm.and_then(|asked| asked.as_ref().ok()).map(WantedSpeed::new),
            assumptions: assumed(bench.assumptions, wave, gas_given),
            notes: Vec::new(),
            cautions: for_rpm.filter(|asked| asked.is_ok()).map(|_| CUT_AND_WELD).into_iter().collect(),
            not_known: not_known(figures, for_rpm),
            for_rpm_gap: for_rpm.and_then(|asked| asked.as_ref().err().cloned()),
        };
        answer.notes = answer.to_know();
        answer
    }

    fn to_know(&self) -> Vec<String> {
        let mut notes = Vec::new();
        if self.duct_mm.is_none() && self.length_mm.value().is_some() {
            notes.push("ports.exhaust_duct is not written down: the first section's length is taken to begin at the piston's face.".to_owned());
        }
        if let (Some(asked), Some(header)) = (&self.for_rpm, self.sections.first())
            && -asked.add_mm.0 >= header.length_mm.0
        {
            notes.push("That is more than the first section is long: it asks for another pipe, or another port timing.".to_owned());
        }
        if self.for_rpm.is_some() {
            notes.push("The exhaust's duration and the gas are taken to stay as they are. The gas is the least certain of all, so cut in small steps and measure.".to_owned());
        }
        notes
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let named = self.name.as_ref().map(|name| format!(" \"{}\"", visible(name))).unwrap_or_default();
        let mut lines = self.subject.heading(screen, &format!("pipe{named}"));
        lines.push(String::new());
        if !self.sections.is_empty() {
            lines.push(self.table(screen));
            lines.push(String::new());
        }
        lines.extend(self.figures_text(screen).iter().map(|words| screen.wrap(words, 28)));
        lines.extend(self.joints.iter().map(|joint| screen.wrap(&joint.text(screen), 28)));
        let gap = self.for_rpm_gap.as_ref().map(|gap| format!("For the speed that is wanted: {gap}."));
        if let Some(asked) = self.for_rpm.as_ref().map(|asked| asked.text(screen)).or(gap) {
            lines.push(String::new());
            lines.push(screen.wrap(&asked, 2));
        }
        lines.push(String::new());
        lines.extend(self.notes.iter().map(|note| screen.known(note)));
        lines.extend(self.cautions.iter().map(|caution| screen.wrap(&format!("CAUTION  {caution}"), 9)));
        lines.push(screen.wrap("Assumed (configs/assumptions.toml, and a tuner's handbook):", 2));
        lines.extend(self.assumptions.iter().map(|assumed| assumed.text(screen)));
        lines.join("\n")
    }

    fn table(&self, screen: &Screen) -> String {
        let figure = |length: Figure<2>| sizes::length(length.0, screen.units(), COARSE);
        let row = |section: &SectionRow| {
            vec![
                section.place.to_string(),
                visible(&section.name),
                figure(section.length_mm),
                figure(section.inlet_mm),
                figure(section.outlet_mm),
                fixed(section.included_angle_deg.0, 1),
                fixed(section.volume_cc.0, 0),
            ]
        };
        let unit = sizes::unit(Dimension::Length, screen.units());
        let [long, inlet, outlet] = ["length", "inlet", "outlet"].map(|name| format!("{name} {unit}"));
        table(
            &["", "section", &long, &inlet, &outlet, "angle deg", "volume cc"],
            self.sections.iter().map(row).collect(),
            &[2, 3, 4, 5, 6],
            screen.width(),
        )
    }

    fn figures_text(&self, screen: &Screen) -> Vec<String> {
        let share = self.reflection_share_percent;
        let share = share.map(|share| format!(" ({} % of the baffle)", trimmed(share.0, 1)));
        let reflection = |all| format!("{}{}", length(screen, all), share.unwrap_or_default());
        let wave =
            with_unit(self.wave_m_s.value().unwrap_or_default(), Dimension::Velocity, screen.units(), 1);
        let gas =
            |gas| format!("{}, {wave}", with_unit(gas + 273.15, Dimension::Temperature, screen.units(), 1));
        let book = self.book_stinger_ratio.0;
        let stinger = |ratio| format!("{} of the header's inlet (a handbook: {book})", fixed(ratio, 2));
        let mut told = vec![
            ("length", self.length_mm.words(|all| length(screen, all))),
            ("volume", self.volume_cc.words(|all| format!("{} cc", fixed(all, 0)))),
            ("wave turns back after", self.reflection_mm.words(reflection)),
            ("exhaust is open", self.exhaust_deg.words(degrees)),
            ("gas, and wave in it", self.gas_c.words(gas)),
            ("tuned to", self.tuned_rpm.words(|rpm| self.tuned_words(screen, rpm))),
        ];
        told.extend(self.valve_shut.as_ref().map(|shut| ("  power valve shut", shut.words())));
        told.push(("stinger", self.stinger_ratio.words(stinger)));
        told.iter().map(|(name, words)| line(name, words)).collect()
    }

    fn tuned_words(&self, screen: &Screen, rpm: f64) -> String {
        let gain = self.rpm_per_10_c.value().unwrap_or_default();
        let (gain, unit) = for_each_degree(gain, screen.units());
        format!("{} rpm; {} rpm more for each 10 {unit} of hotter gas", grouped(rpm), fixed(gain, 0))
    }
}

impl TunedShut {
    fn new(shut: &Known<Tuned>) -> Self {
        Self {
            exhaust_deg: FigureOrGap::of(shut, |shut| shut.exhaust_deg),
            tuned_rpm: FigureOrGap::of(shut, |shut| shut.rpm),
        }
    }

    fn words(&self) -> Known<String> {
        let open = degrees(self.exhaust_deg.value().unwrap_or_default());
        self.tuned_rpm.words(|rpm| format!("{} rpm, exhaust open {open}", grouped(rpm)))
    }
}

impl WantedSpeed {
    fn new(asked: &ForSpeed) -> Self {
        Self {
            rpm: Figure(asked.rpm),
            reflection_mm: Figure(asked.length_m * 1000.0),
            add_mm: Figure(asked.add_m * 1000.0),
        }
    }

    fn text(&self, screen: &Screen) -> String {
        let add = self.add_mm.0;
        let what = match (short_length(add.abs(), screen.units(), COARSE).as_str(), add < 0.0) {
            ("0", _) => "the length is right".to_owned(),
            (_, true) => format!("cut {} from header or belly", length(screen, -add)),
            (_, false) => format!("add {} to header or belly", length(screen, add)),
        };
        format!(
            "For {} rpm: {what}, before the baffle; the wave then turns back after {}.",
            grouped(self.rpm.0),
            length(screen, self.reflection_mm.0)
        )
    }
}

impl UnevenJoint {
    fn text(&self, screen: &Screen) -> String {
        let way = if self.difference_mm.0 > 0.0 { "wider" } else { "narrower" };
        let words = format!(
            "{} begins {} {way} than {} ends",
            visible(&self.before),
            length(screen, self.difference_mm.0.abs()),
            visible(&self.after)
        );
        line("does not meet", &Ok(words))
    }
}

fn length(screen: &Screen, length_mm: f64) -> String {
    short_length_with_unit(length_mm, screen.units(), COARSE)
}

fn degrees(angle: f64) -> String {
    format!("{} deg", fixed(angle, 1))
}

fn sections(figures: &PipeFigures) -> Vec<SectionRow> {
    let (Ok(names), Ok(pipe)) = (&figures.names, &figures.pipe) else { return Vec::new() };
    let row = |(index, (name, section)): (usize, (&String, &Section))| SectionRow {
        place: index + 1,
        name: name.clone(),
        length_mm: Figure(section.length_m() * 1000.0),
        inlet_mm: Figure(section.inlet_m() * 1000.0),
        outlet_mm: Figure(section.outlet_m() * 1000.0),
        included_angle_deg: Figure(section.included_angle_deg()),
        volume_cc: Figure(section.volume_m3() * 1e6),
    };
    names.iter().zip(pipe.sections()).enumerate().map(row).collect()
}

fn joints(figures: &PipeFigures) -> Vec<UnevenJoint> {
    let Ok(names) = &figures.names else { return Vec::new() };
    let name = |index: usize| names.get(index).cloned().unwrap_or_default();
    let steps = figures.steps.iter();
    steps
        .map(|step| UnevenJoint {
            after: name(step.after_section.saturating_sub(1)),
            before: name(step.after_section),
            difference_mm: Figure(step.difference_m * 1000.0),
        })
        .collect()
}

fn assumed(assumptions: &Assumptions, wave: &Known<(f64, f64)>, gas_given: bool) -> Vec<Assumed> {
    let gas = assumptions.pipe_gas.as_ref().filter(|_| !gas_given).map(|gas| Assumed {
        name: "pipe_gas",
        value: gas.value.quantity().with_unit(),
        source: gas.source.clone(),
    });
    let given = wave.as_ref().ok().filter(|_| gas_given).map(|(gas, _)| Assumed {
        name: "--gas-temp",
        value: format!("{} C", trimmed(gas - 273.15, 1)),
        source: "as given, in place of pipe_gas".to_owned(),
    });
    let reflection = assumptions.reflection.as_ref().map(|share| Assumed {
        name: "reflection",
        value: format!("{} of the baffle from its wide end", share.value.quantity().with_unit()),
        source: share.source.clone(),
    });
    let stinger = Assumed {
        name: "stinger",
        value: format!("{JENNINGS_STINGER_RATIO} of the header's inlet, for comparison only"),
        source: "a tuner's handbook, quoted second-hand".to_owned(),
    };
    let speed = Assumed {
        name: "tuned speed",
        value: "duration × wave speed / (12 × length), wave speed with gamma 1.40 and R 287.05 J/(kg K)"
            .to_owned(),
        source: "a tuner's handbook, quoted second-hand".to_owned(),
    };
    gas.into_iter().chain(given).chain(reflection).chain([speed, stinger]).collect()
}

fn not_known(figures: &PipeFigures, for_rpm: Option<&Known<ForSpeed>>) -> Vec<String> {
    lacks([
        ("pipe", gap(&figures.pipe)),
        ("wave turns back", gap(&figures.reflection_m)),
        ("exhaust duration", gap(&figures.exhaust_deg)),
        ("wave", gap(&figures.wave)),
        ("tuned speed", gap(&figures.tuned)),
        ("tuned speed, valve shut", figures.tuned_shut.as_ref().and_then(gap)),
        ("stinger", gap(&figures.stinger_ratio)),
        ("for the speed that is wanted", for_rpm.and_then(gap)),
    ])
}
