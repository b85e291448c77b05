//! The sheet of a bike: what is on it, what today's air wants, its drawings and what is due, on one page.

use maud::{Markup, html};
use schemars::JsonSchema;
use serde::Serialize;

use super::columns::{FEW, LONG, LONGER, MANY, ROOM_FOR, Section, Turn, balanced, lines, lines_of};
use super::drawing::{MARKS, alone, bars, curves};
use super::paper::{marked, on_paper};
use super::shell::{DrawnFigure, GENERATOR, document, figure, kept, parts, text};
use super::{picture, season};
use crate::advice::cautions::STANDING;
use crate::advice::drawn::{JetOverAir, SeasonRun, Size};
use crate::advice::figures::Known;
use crate::advice::figures::ports::PortFigures;
use crate::report::engine::package::PackageAnswer;
use crate::report::history::now::{NowAnswer, OnASheet, WantedNow};
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
    /// What could not be found, in words, with what would find it; empty where nothing lacks.
    pub without: Vec<String>,
}

impl SheetAnswer {
    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let written =
            format!("{} is written: open it in a browser, and print it from there.", text(&self.file));
        let mut lines = vec![screen.wrap(&written, 2)];
        lines.extend(self.without.iter().map(|words| screen.wrap(&format!("Not on it: {}", text(words)), 2)));
        lines.join("\n")
    }
}

/// The curves of a setup's spark: degrees before top over engine speed.
pub type Spark = Known<Vec<(f64, f64)>>;

/// The answer for today's air, of one cylinder or of several.
pub struct Advice<'a>(pub OfCylinders<RejetAnswer<'a>>);

impl Advice<'_> {
    /// What the hands do, and what stands before it, without the rest.
    pub fn in_short(&self, screen: &Screen) -> WantedNow {
        let mut wanted = WantedNow::default();
        for part in self.parts(screen) {
            match part {
                FramePart::Hands(text) => wanted.hands.push(text),
                FramePart::Stop(text) => wanted.stops.push(text),
                _ => {}
            }
        }
        wanted
    }

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
    /// The cylinder that spark, ports and package are drawn of, where it has several and none was asked for.
    pub drawn: Option<&'a str>,
    /// Those of its cylinders that have another engine than that one.
    pub others: Vec<OtherCylinder<'a>>,
    /// Number of its newest setup.
    pub setup: Option<u32>,
    /// The day and the hour it is made.
    pub made: String,
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

/// A cylinder beside the one that is drawn.
pub struct OtherCylinder<'a> {
    /// Its name.
    pub name: &'a str,
    /// When its spark comes.
    pub spark: Spark,
    /// Its ports with the power valve open.
    pub ports: PortFigures,
    /// Its parts on one axis.
    pub package: PackageAnswer,
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
        let why = on_it.as_ref().and_then(|on_it| on_it.why.clone());
        let (stops, columns) = self.said(on_it, screen);
        // Where there is little to say it is said in larger letters.
        let longest = columns.iter().map(|column| lines_of(column)).max().unwrap_or(0);
        let size = if longest <= FEW { " roomy" } else { "" };
        let said = longest + lines(&stops);
        let is_long = !small && said > MANY;
        let size = if is_long { " long" } else { size };
        let most = if !small || said <= LONG {
            usize::MAX
        } else if said <= LONGER {
            ROOM_FOR
        } else {
            ROOM_FOR / 2
        };
        let (figures, left_out) = self.on_the_page(most);
        let body = html! {
            header {
                h1 { (title) @if proven { ", proven" } }
                @if let Some(why) = &why { p { (kept(why)) } }
                p.word { "made " (kept(&self.made)) }
            }
            main class={ "sheet" (size) } {
                @if !stops.is_empty() { div.stops { (parts(&stops)) } }
                div.texts { @for column in &columns { div { @for section in column { (section.markup()) } } } }
                div.drawn style={ "grid-template-rows:" (heights(&figures, if is_long { 3 } else { 2 })) } {
                    @for drawn in &figures { (figure(drawn)) }
                }
                p.key {
                    "Marks: " (MARKS) ", ×\u{a0}not\u{a0}judged."
                    @if !left_out.is_empty() { " Not drawn for want of room: " (left_out.join(", ")) "; a sheet for A4 has it." }
                }
            }
            footer { (cautions()) }
        };
        document(&title, small, &body)
    }

    /// What forbids to run it, across the page, and the rest in two columns of much the same length: what the air wants and what is on it
    /// at their heads. Nothing that forbids is said twice.
    fn said(&self, on_it: Option<OnASheet>, screen: &Screen) -> (Vec<FramePart>, [Vec<Section>; 2]) {
        let is_stop = |part: &FramePart| matches!(part, FramePart::Stop(_));
        let (over, due): (Vec<_>, Vec<_>) = self.due.on_a_sheet(screen).into_iter().partition(is_stop);
        let over_parts = self.due.overdue();
        let heading = on_it.as_ref().map_or("On the bike", OnASheet::heading);
        let (rows, before, jobs) =
            on_it.map_or_else(Default::default, |on_it| (on_it.rows, on_it.before, on_it.jobs));
        let (stops, before): (Vec<_>, Vec<_>) = before.into_iter().partition(is_stop);
        // What must be changed first stands once: with its spare.
        let is_said = |part: &FramePart| matches!(part, FramePart::Stop(words) if over_parts.iter().any(|name| words.contains(name)));
        let stops = stops.into_iter().filter(|part| !is_said(part)).chain(over).collect::<Vec<_>>();
        let to_change =
            |part: &FramePart| matches!(part, FramePart::Stop(words) if words.contains("before it runs"));
        let advice = self.advice(screen).into_iter();
        let advice = advice.filter(|part| !(is_said(part) && to_change(part) || stops.contains(part)));
        let section = |title, turn, parts| Section { title, turn, rows: Vec::new(), parts: on_paper(parts) };
        let columns = [
            vec![section("What this air wants", Turn::Wanted, advice.collect())],
            vec![Section { title: heading, turn: Turn::Else, rows, parts: Vec::new() }],
        ];
        // The title says what the words before the boxes say.
        let jobs = marked(jobs, &stops);
        let rest = vec![
            section("Before it runs", Turn::Else, before),
            section("To do: not all of this setup is on it", Turn::ToDo, jobs),
            section("Due", Turn::Else, due),
        ];
        let columns =
            balanced(columns, rest).map(|column| column.into_iter().filter(|one| one.lines() > 0).collect());
        (on_paper(stops), columns)
    }

    /// What could not be found, with what would find it.
    pub fn without(&self) -> Vec<String> {
        let said = self.rejet.as_ref().err().map(Trouble::message_and_help);
        said.map(|(message, help)| format!("what this air wants. {message} {help}")).into_iter().collect()
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
        let svg = figure.svg.ok_or_else(|| {
            Trouble::request(
                None,
                figure.caption.clone(),
                "Ask for another drawing, or fill in what is missing.",
            )
        })?;
        // Sent by itself it must say whose it is, of when, and what its marks and lines are.
        let whose = self.whose(drawing).map(|name| format!(", cylinder {}", text(name))).unwrap_or_default();
        let setup = self.setup.map(|number| format!(", setup {number}")).unwrap_or_default();
        let title = figure.title.split(", cylinder ").next().unwrap_or_default();
        let head = format!("{}{setup}{whose}, {}: {}", text(self.bike), self.made, title.to_lowercase());
        let marks = if drawing == Drawing::Season {
            format!(" Marks: {MARKS}, × not judged.")
        } else {
            String::new()
        };
        Ok(alone(&svg, &head, &format!("{}{marks}", figure.caption)))
    }

    /// The cylinders of which a drawing looks otherwise.
    pub fn otherwise(&self, drawing: Drawing) -> Vec<&str> {
        let differs = |other: &&OtherCylinder<'_>| match drawing {
            Drawing::Spark => curves::spark(&self.spark, None, "") != curves::spark(&other.spark, None, ""),
            Drawing::Ports => curves::ports(&self.ports, "") != curves::ports(&other.ports, ""),
            Drawing::Package => package_svg(&self.package) != package_svg(&other.package),
            Drawing::Jets | Drawing::Season => false,
        };
        self.others.iter().filter(differs).map(|other| other.name).collect()
    }

    /// The cylinder that a drawing is of: the one that was asked for, or the first of several that differ in it.
    pub fn whose(&self, drawing: Drawing) -> Option<&str> {
        match drawing {
            Drawing::Season => None,
            Drawing::Jets => self.cylinder,
            Drawing::Spark | Drawing::Ports | Drawing::Package => {
                self.cylinder.or_else(|| self.drawn.filter(|_| !self.otherwise(drawing).is_empty()))
            }
        }
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
                let said = said.filter(|part| !matches!(part, FramePart::Source(_)));
                // The hour that is meant by "now" stands at the head; of which air it is said, here.
                let air = self.now.air_as_typed().map(|air| FramePart::Say(format!("Air: {air}.")));
                said.map(without_just_now).chain(air).collect()
            }
            // The way out is for who sits at the laptop.
            Err(trouble) => vec![FramePart::Know(trouble.message_and_help().0.to_owned())],
        }
    }

    fn figures(&self, drawing: Drawing) -> Vec<DrawnFigure> {
        match drawing {
            Drawing::Spark => vec![self.of_the_drawn(drawing, self.spark_figure())],
            Drawing::Ports => vec![self.of_the_drawn(drawing, self.ports_figure())],
            Drawing::Package => vec![self.of_the_drawn(drawing, self.package_figure())],
            Drawing::Jets if self.jets.is_empty() => vec![jets_figure(None)],
            Drawing::Jets => self.jets.iter().map(|jets| jets_figure(Some(jets))).collect(),
            Drawing::Season => vec![self.season_figure(season::svg(&self.season, SEASON))],
        }
    }

    /// All of them as they stand on the page: without what there is no answer for, and the season in parts as wide as the others. Where
    /// there is room for few, what a rider needs least at the track is left out, and said.
    fn on_the_page(&self, most: usize) -> (Vec<DrawnFigure>, Vec<String>) {
        let mut figures: Vec<DrawnFigure> = [Drawing::Spark, Drawing::Ports, Drawing::Package]
            .into_iter()
            .flat_map(|one| self.figures(one))
            .collect();
        // What the marks mean stands under all of them.
        figures.extend(
            self.jets
                .iter()
                .map(|jets| DrawnFigure { caption: jets_line(&jets.1), ..jets_figure(Some(jets)) }),
        );
        figures
            .extend(season::parts(&self.season, SEASON).into_iter().map(|svg| self.season_figure(Some(svg))));
        // Two beside each other: of a season in parts the newer alone, where the other would stand alone.
        if let [.., older, newest] = figures.as_mut_slice()
            && older.title == newest.title
        {
            older.title.push_str(", before that");
            older.caption = String::new();
            if most < usize::MAX || figures.len() % 2 == 1 {
                figures.remove(figures.len() - 2);
            }
        }
        let mut left_out = Vec::new();
        for title in ["Ports", "Season", "Package", "Spark"] {
            let at = figures.iter().position(|figure| figure.title.starts_with(title));
            if let Some(at) = at.filter(|_| figures.len() > most) {
                left_out.push(figures.remove(at).title.to_lowercase());
            }
        }
        (figures, left_out)
    }

    /// A figure of one of several cylinders that differ in it says whose it is, and which are otherwise.
    fn of_the_drawn(&self, drawing: Drawing, figure: DrawnFigure) -> DrawnFigure {
        let others: Vec<String> = self.otherwise(drawing).into_iter().map(text).collect();
        let Some(name) = self.drawn.filter(|_| !others.is_empty()) else { return figure };
        let differ = if others.len() == 1 { "differs" } else { "differ" };
        let title = format!("{}, cylinder {}: {} {differ}", figure.title, text(name), others.join(", "));
        DrawnFigure { title, ..figure }
    }

    fn spark_figure(&self) -> DrawnFigure {
        let other = self.against.as_ref().map(|(_, spark)| spark);
        let svg = curves::spark(&self.spark, other, "The spark at full throttle over engine speed.");
        let caption = match (&svg, &self.spark, &self.against) {
            (None, Err(gap), _) => format!("Not known: {gap}."),
            (_, Ok(this), Some((name, Ok(other)))) if this == other => {
                format!(
                    "Full throttle, the box's lag off; BTDC: before top dead centre. {} fires at the same angles.",
                    capital(name)
                )
            }
            (_, _, Some((name, Ok(_)))) => {
                format!(
                    "Full throttle, the box's lag off; BTDC: before top dead centre. Solid: this setup; dashed: {name}."
                )
            }
            (_, _, Some((name, Err(gap)))) => {
                format!(
                    "Full throttle, the box's lag off; BTDC: before top dead centre. Of {name} it is not known: {gap}."
                )
            }
            _ => "Full throttle, the box's lag off; BTDC: before top dead centre.".to_owned(),
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
        let (rows, pipe, _) = self.package.drawn();
        let svg = package_svg(&self.package);
        let near = self.package.nearly().map(|words| format!(" ({words})")).unwrap_or_default();
        let verdict = capital(&self.package.verdict());
        let caption = match &svg {
            Some(_) => {
                format!("{verdict}{near}. {} Geometry only: dyno and track decide.", bars::key(&rows, pipe))
            }
            None => format!("Not drawn: {}.", self.package.verdict()),
        };
        DrawnFigure { title: "Package".to_owned(), svg, caption, wide: false }
    }

    fn season_figure(&self, svg: Option<String>) -> DrawnFigure {
        let caption = if svg.is_some() {
            let cylinders =
                season::cylinders(&self.season).map(|words| format!(" Of one cylinder: {words}."));
            format!(
                "By how much the best lap of each run was slower than the bike's best of that place.{}",
                cylinders.unwrap_or_default()
            )
        } else {
            "Not drawn before the second run.".to_owned()
        };
        DrawnFigure { title: "Season".to_owned(), svg, caption, wide: false }
    }
}

/// Every part on one axis.
fn package_svg(package: &PackageAnswer) -> Option<String> {
    let (rows, pipe, window) = package.drawn();
    bars::svg(&rows, pipe, window, "Where each part works, on one axis of engine speed.")
}

/// A part without the age of an air that was kept in this minute: a sheet is read later.
fn without_just_now(part: FramePart) -> FramePart {
    match part {
        FramePart::Say(words) => FramePart::Say(words.replace(", just now", "")),
        FramePart::Know(words) => FramePart::Know(words.replace(", just now", "")),
        other => other,
    }
}

/// The season for a reader that cannot see it.
const SEASON: &str = "The newest runs one after another, event by event, with their laps and verdicts.";

/// The jets of a bike, or of a cylinder with its name, over the air.
pub(super) fn jets_figure(jets: Option<&(Option<String>, JetOverAir)>) -> DrawnFigure {
    let Some((name, jets)) = jets else {
        let caption = "Not drawn: there is no answer for today's air.".to_owned();
        return DrawnFigure { title: "Main jet and air".to_owned(), svg: None, caption, wide: false };
    };
    let what = match jets.of {
        Size::Main => "Main jet and air",
        Size::Trim => "Trim and air",
    };
    let svg = curves::jets(jets, "The size of each judged run over its air, and what is advised there.");
    DrawnFigure {
        title: name
            .as_ref()
            .map_or_else(|| what.to_owned(), |name| format!("{what}, cylinder {}", text(name))),
        svg,
        caption: format!("{} {MARKS}.", jets_line(jets)),
        wide: false,
    }
}

/// What the marks and lines of the jets over the air are.
fn jets_line(jets: &JetOverAir) -> String {
    let each = if jets.of == Size::Main { ", each jet with its clip" } else { "" };
    let then = if jets.then.is_empty() { "" } else { "; dashed: then, once plug and piston were read" };
    format!("Runs judged at full throttle. Line: what to fit at today's temperature{each}{then}.")
}

/// Room of each row of drawings, by the tallest in it with its words.
fn heights(figures: &[DrawnFigure], in_a_row: usize) -> String {
    let of = |figure: &DrawnFigure| {
        figure.pixels_down()
            + TITLE
            + CAPTION * figure.caption.chars().count().div_ceil(2 * LETTERS / in_a_row)
    };
    let rows = figures.chunks(in_a_row).map(|row| row.iter().map(of).max().unwrap_or(0));
    rows.map(|high| format!(" minmax(min-content,{high}fr)")).collect()
}

/// Height of a title and of a caption's line beside a drawing's own pixels, and letters on that line of a drawing beside another.
const TITLE: usize = 22;
const CAPTION: usize = 15;
const LETTERS: usize = 68;

/// The whole wall of cautions: on paper nobody can ask for it.
pub(super) fn cautions() -> Markup {
    html! { p { b { "CAUTION " } (STANDING.join(" ")) } }
}

/// Whether a file is a sheet of ours, or a picture of one, which may be written anew.
pub fn is_sheet(file: &[u8]) -> bool {
    let head = file.get(..file.len().min(1_000)).unwrap_or_default();
    picture::is_ours(file) || String::from_utf8_lossy(head).contains(&format!("content=\"{GENERATOR}\""))
}
