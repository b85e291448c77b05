//! The sheet of a bike: what is on it, what today's air wants, its drawings and what is due, on one page.

use maud::{Markup, html};
use schemars::JsonSchema;
use serde::Serialize;

use super::curves::TOGETHER;
use super::drawing::MARKS;
use super::shell::{DrawnFigure, GENERATOR, document, figure, parts, text};
use super::{bars, curves, picture, season};
use crate::advice::cautions::STANDING;
use crate::advice::drawn::{JetOverAir, SeasonRun, Size};
use crate::advice::figures::Known;
use crate::advice::figures::ports::PortFigures;
use crate::report::engine::package::PackageAnswer;
use crate::report::history::now::NowAnswer;
use crate::report::out::frame::FramePart;
use crate::report::parts::due::PartDueAnswer;
use crate::report::words::layout::capital;
use crate::report::{OfCylinders, RejetAnswer, Screen, Trouble};

/// A sheet that was written.
#[derive(Debug, Serialize, JsonSchema)]
pub struct SheetAnswer {
    /// Folder name of the bike.
    pub bike: String,
    /// Number of its newest setup; null before the first.
    #[schemars(range(min = 1))]
    pub setup: Option<u32>,
    /// The file that was written.
    pub file: String,
    /// Its size, bytes.
    pub bytes: usize,
}

impl SheetAnswer {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        screen.wrap(
            &format!("{} is written: open it in a browser, and print it from there.", text(&self.file)),
            2,
        )
    }
}

/// The curves of a setup's spark: degrees before top over engine speed.
pub type Spark = Known<Vec<(f64, f64)>>;

/// The answer for today's air, of one cylinder or of several.
pub struct Advice<'a>(pub OfCylinders<RejetAnswer<'a>>);

impl Advice<'_> {
    pub(super) fn parts(&self, screen: &Screen) -> Vec<FramePart> {
        match self.0.0.as_slice() {
            [(_, only)] => only.framed(screen).parts(),
            _ => self.0.framed(screen).parts(),
        }
    }
}

/// What a sheet is made of.
pub struct PaperSheet<'a> {
    /// The bike.
    pub bike: &'a str,
    /// The one of several cylinders that it is of; none of the whole bike.
    pub cylinder: Option<&'a str>,
    /// The cylinder that spark, ports and package are drawn of, where another one differs.
    pub drawn: Option<&'a str>,
    /// Number of its newest setup.
    pub setup: Option<u32>,
    /// The day it is made.
    pub day: String,
    /// The bike at a glance.
    pub now: NowAnswer<'a>,
    /// What today's air wants, or why there is no answer.
    pub rejet: Result<Advice<'a>, Trouble>,
    /// When the spark comes.
    pub spark: Spark,
    /// The same of another setup, with what that is called.
    pub against: Option<(String, Spark)>,
    /// The ports with the power valve open.
    pub ports: PortFigures,
    /// Every part on one axis.
    pub package: PackageAnswer,
    /// The main jet or the trim over the air, of each of several cylinders with its name; none where there is no answer.
    pub jets: Vec<(Option<String>, JetOverAir)>,
    /// The newest runs.
    pub season: Vec<SeasonRun>,
    /// Parts that are due.
    pub due: PartDueAnswer,
}

/// A drawing by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drawing {
    /// The spark over engine speed.
    Spark,
    /// The ports over the crank angle.
    Ports,
    /// Every part on one axis of engine speed.
    Package,
    /// The main jet over the air.
    Jets,
    /// The season run by run.
    Season,
}

impl PaperSheet<'_> {
    /// The page, for A4 and Letter, or for A5 where it is to be small.
    pub fn html(&self, screen: &Screen, small: bool) -> String {
        let screen = &screen.on_paper();
        let setup =
            self.setup.map_or_else(|| "nothing recorded".to_owned(), |number| format!("setup {number}"));
        let at = self.cylinder.map(|name| format!(", cylinder {}", text(name))).unwrap_or_default();
        let title = format!("{}{at}, {setup}", text(self.bike));
        let on_it = self.now.on_a_sheet(screen);
        let proven = on_it.as_ref().is_some_and(|on_it| on_it.proven);
        let several = self.jets.len() > 1;
        let (wants, due) = (self.advice(screen), self.due.on_a_sheet(screen));
        // Where there is much to say the drawings are smaller: it stays one sheet.
        let is_long = lines(&wants) + lines(&due) > ROOM;
        let (wants, due) = (parts(&wants), parts(&due));
        let body = html! {
            header {
                h1 { (title) @if proven { ", proven" } }
                @if let Some(why) = on_it.as_ref().and_then(|on_it| on_it.why.as_ref()) { p { (text(why)) } }
                p { "made " (text(&self.day)) }
            }
            main.each[several || is_long] {
                @if let Some(on_it) = &on_it {
                    section {
                        h2 { "On the bike" }
                        table { @for (name, words) in &on_it.rows { tr { th { (text(name)) } td { (text(words)) } } } }
                        (parts(&on_it.before))
                        @if several { h2.next { "Due" } (due) }
                        (parts(&on_it.jobs))
                    }
                }
                section {
                    h2 { "What this air wants" }
                    (wants)
                    // What several cylinders want is long: what is due stands in the other column then.
                    @if !several { h2.next { "Due" } (due) }
                }
                @for drawing in [Drawing::Spark, Drawing::Ports, Drawing::Package, Drawing::Jets, Drawing::Season] {
                    @for drawn in self.figures(drawing) { (figure(&drawn)) }
                }
            }
            footer { (cautions()) }
        };
        document(&title, small, &body)
    }

    /// One drawing as SVG.
    pub fn svg(&self, drawing: Drawing) -> Result<String, Trouble> {
        let mut figures = self.figures(drawing);
        if figures.len() > 1 {
            return Err(Trouble::request(
                Some("cylinder"),
                "Each cylinder has a drawing of its own.",
                "Name one of them: --cylinder NAME.",
            ));
        }
        // Why there is no answer says more than that there is none.
        if let (Drawing::Jets, Err(trouble)) = (drawing, &self.rejet) {
            return Err(trouble.clone());
        }
        let Some(figure) = figures.pop() else { return Ok(String::new()) };
        figure.svg.ok_or_else(|| {
            Trouble::request(None, figure.caption, "Ask for another drawing, or fill in what is missing.")
        })
    }

    /// One drawing as PNG.
    pub fn png(&self, drawing: Drawing) -> Result<Vec<u8>, Trouble> {
        picture::png(&self.svg(drawing)?)
    }

    fn advice(&self, screen: &Screen) -> Vec<FramePart> {
        match &self.rejet {
            // How to read on stands at a screen, not on paper.
            Ok(answer) => {
                let said = answer.parts(screen).into_iter();
                said.filter(|part| !matches!(part, FramePart::Source(_))).collect()
            }
            Err(trouble) => {
                let (message, help) = trouble.message_and_help();
                vec![FramePart::Know(message.to_owned()), FramePart::Say(help.to_owned())]
            }
        }
    }

    fn figures(&self, drawing: Drawing) -> Vec<DrawnFigure> {
        match drawing {
            Drawing::Spark => vec![self.of_the_drawn(self.spark_figure())],
            Drawing::Ports => vec![self.of_the_drawn(self.ports_figure())],
            Drawing::Package => vec![self.of_the_drawn(self.package_figure())],
            Drawing::Jets if self.jets.len() <= TOGETHER => vec![jets_figure(&self.jets)],
            Drawing::Jets => self.jets.chunks(1).map(jets_figure).collect(),
            Drawing::Season => vec![self.season_figure()],
        }
    }

    /// A figure of one of several cylinders that differ says whose it is.
    fn of_the_drawn(&self, figure: DrawnFigure) -> DrawnFigure {
        let Some(name) = self.drawn else { return figure };
        DrawnFigure { title: format!("{}, cylinder {}", figure.title, text(name)), ..figure }
    }

    fn spark_figure(&self) -> DrawnFigure {
        let other = self.against.as_ref().map(|(_, spark)| spark);
        let svg = curves::spark(&self.spark, other, "The spark at full throttle over engine speed.");
        let caption = match (&svg, &self.spark, &self.against) {
            (None, Err(gap), _) => format!("Not known: {gap}."),
            (_, Ok(this), Some((name, Ok(other)))) if this == other => {
                format!("Full throttle, lag taken off. {} fires at the same angles.", capital(name))
            }
            (_, _, Some((name, Ok(_)))) => {
                format!("Full throttle, lag taken off. Solid: this setup; dashed: {name}.")
            }
            (_, _, Some((name, Err(gap)))) => {
                format!("Full throttle, lag taken off. Of {name} it is not known: {gap}.")
            }
            _ => "Full throttle, lag taken off.".to_owned(),
        };
        DrawnFigure { title: "Spark".to_owned(), svg, caption, wide: false }
    }

    fn ports_figure(&self) -> DrawnFigure {
        let svg = curves::ports(&self.ports, "The open areas of the ports over the crank angle.");
        let intake =
            if self.ports.jobs.iter().any(|job| job.name == "intake") { "; dotted: intake" } else { "" };
        let caption = match &svg {
            Some(_) => format!("Solid: exhaust, power valve open; dashed: transfers{intake}."),
            None => "Not drawn: the windows' shapes are not written down whole.".to_owned(),
        };
        DrawnFigure { title: "Ports".to_owned(), svg, caption, wide: false }
    }

    fn package_figure(&self) -> DrawnFigure {
        let (rows, pipe, window) = self.package.drawn();
        let svg = bars::svg(&rows, pipe, window, "Where each part works, on one axis of engine speed.");
        let caption = match &svg {
            Some(_) => format!("{}. Geometry only: dyno and track decide.", self.package.verdict()),
            None => format!("Not drawn: {}.", self.package.verdict()),
        };
        let caption = capital(&caption);
        DrawnFigure { title: "Package".to_owned(), svg, caption, wide: false }
    }

    fn season_figure(&self) -> DrawnFigure {
        let svg =
            season::svg(&self.season, "The newest runs one after another, with their laps and verdicts.");
        let caption = match &svg {
            Some(_) => format!(
                "The newest {} runs: {MARKS}, × not judged. Lower is faster; runs without a lap stand at the foot.",
                self.season.len()
            ),
            None => "Not drawn before the second run.".to_owned(),
        };
        DrawnFigure { title: "Season".to_owned(), svg, caption, wide: true }
    }
}

/// The jets of a bike, or of its cylinders, over the air.
pub(super) fn jets_figure(all: &[(Option<String>, JetOverAir)]) -> DrawnFigure {
    let words = "The size of each judged run over its air, and what is advised there.";
    let jets: Vec<(Option<&str>, &JetOverAir)> =
        all.iter().map(|(name, jets)| (name.as_deref(), jets)).collect();
    let svg = curves::jets(&jets, words);
    let (title, each) = match jets.first().map_or(Size::Main, |(_, jets)| jets.of) {
        Size::Main => ("Main jet and air", ", each jet with its clip"),
        Size::Trim => ("Trim and air", ""),
    };
    let names: Vec<&str> = all.iter().filter_map(|(name, _)| name.as_deref()).collect();
    let lines = match names.as_slice() {
        [] => "Line".to_owned(),
        [one] => format!("Line, {one}"),
        [one, other] => format!("Solid ({one}) and dashed ({other})"),
        [one, other, third, ..] => format!("Solid ({one}), dashed ({other}) and dotted ({third})"),
    };
    let caption = match &svg {
        Some(_) => format!(
            "Runs judged at full throttle: {MARKS}. {lines}: what is advised at today's temperature{each}."
        ),
        None => "Not drawn: there is no answer for today's air.".to_owned(),
    };
    DrawnFigure { title: title.to_owned(), svg, caption, wide: false }
}

/// Letters on a line of a column in print, and lines that have room in it over the drawings.
const LINE: usize = 58;
const ROOM: usize = 20;

/// How many lines an answer takes in print.
fn lines(parts: &[FramePart]) -> usize {
    let of = |words: &str| words.lines().map(|line| line.chars().count().div_ceil(LINE)).sum::<usize>();
    let lines = parts.iter().map(|part| match part {
        FramePart::Hands(words)
        | FramePart::Stop(words)
        | FramePart::Know(words)
        | FramePart::Say(words)
        | FramePart::Block(words)
        | FramePart::Command(words)
        | FramePart::Source(words) => of(words),
        FramePart::Table(table) => of(&table.text),
        FramePart::Boxes(jobs) => jobs.len().div_ceil(2),
        FramePart::Gap => 0,
    });
    lines.sum()
}

/// The whole wall of cautions: on paper nobody can ask for it.
fn cautions() -> Markup {
    html! { p { b { "CAUTION " } (STANDING.join(" ")) } }
}

/// Whether a file is a sheet of ours, or a picture of one, which may be written anew.
pub fn is_sheet(file: &[u8]) -> bool {
    let head = file.get(..file.len().min(1_000)).unwrap_or_default();
    picture::is_ours(file) || String::from_utf8_lossy(head).contains(&format!("content=\"{GENERATOR}\""))
}
