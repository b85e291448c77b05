//! The build sheet of an engine: its readings between their limits, the check list with boxes for the pencil, how it wears, what is in
//! it.

use maud::{Markup, html};

use super::curves;
use super::shell::{DrawnFigure, document, figure, parts, text};
use super::strip::strip;
use crate::notebook::When;
use crate::notebook::fields::names::visible_lines;
use crate::report::building::paper::{BuildOnPaper, MARKS, PaperFigure, PaperStep, Stands, left_out};
use crate::report::parts::wear::PartWearAnswer;
use crate::report::parts::wear_plot::WearDrawn;
use crate::report::words::layout::capital;
use crate::report::{BuildAnswer, Screen};

/// Dimensions whose wear is drawn.
const DRAWN: usize = 3;
/// Points of a drawn line.
const POINTS: usize = 40;

/// What goes with a build sheet (common practice, no source).
const CAUTIONS: [&str; 6] = [
    "Readings say how it was on the bench on that day, not that it is safe to run.",
    "Torques, clearances and limits are the machine's manual's where it has others.",
    "Nothing is torqued, drained or opened hot.",
    "First run on a rich jet, in the open air, nobody in line with chain or crank; then plug and piston are read.",
    "Fuel and solvents are toxic and flammable: keep them off the skin and away from flames.",
    "Follow the event's rules and a qualified mechanic.",
];

/// What a build sheet is made of.
pub struct BuildSheet<'a> {
    /// The engine.
    pub engine: &'a str,
    /// The build.
    pub build: BuildAnswer,
    /// How its dimensions wear, what reaches its limit soonest first.
    pub wear: Vec<PartWearAnswer>,
    /// The sections that a customer is not handed over; none where it is for the builder.
    pub without: Option<Vec<&'static str>>,
    /// When it is made.
    pub made: When,
}

impl BuildSheet<'_> {
    /// What is left out of it, in words.
    pub fn left_out(&self) -> Vec<String> {
        self.without.as_deref().map(|without| left_out(&self.build, without)).unwrap_or_default()
    }

    /// The page, for A4 and Letter, or for A5 where it is to be small.
    pub fn html(&self, screen: &Screen, small: bool) -> String {
        let units = screen.units();
        let paper = BuildOnPaper::of(&self.build, units, self.without.as_deref());
        let title = format!("{}: {}", text(self.engine), text(&paper.state));
        let drawn: Vec<DrawnFigure> =
            self.wear.iter().filter_map(|wear| wear_figure(wear, screen)).take(DRAWN).collect();
        let body = html! {
            header {
                h1 { (title) }
                @if let Some(why) = &paper.why { p { (text(why)) } }
                p { (text(&paper.title)) }
            }
            main class={ "build" (length(&paper)) } {
                @if !paper.before.is_empty() { section.wide {
                    (parts(&paper.before))
                } }
                section.wide {
                    h2 { "Readings at 20 C, in " (paper.unit) }
                    @if paper.figures.is_empty() { p { "Nothing is measured." } }
                    @else { (readings(&paper.figures)) p.key { (MARKS) ". Strip: white good, hatched watch, black replace; ▼ the reading, over it how far it may be off (twice its standard uncertainty)." } }
                }
                @if !drawn.is_empty() { div.wide.row { @for drawn in &drawn { (figure(drawn)) } } }
                div.wide.flow {
                @for (title, steps) in &paper.lists { (check_list(title, steps)) }
                @if !paper.parts.is_empty() { section {
                    h2 { "In it" }
                    ul.plain { @for part in &paper.parts { li { (text(part)) } } }
                } }
                @if !paper.beside.is_empty() { section {
                    h2 { "Ring and bearings" }
                    @for words in &paper.beside { p { (text(words)) } }
                } }
                @if let Some(notes) = &paper.notes { section {
                    h2 { "Notes" }
                    p { (text(&visible_lines(notes))) }
                } }
                }
            }
            footer {
                p { b { "CAUTION " } (CAUTIONS.join(" ")) }
                p { "Sheet made " (text(&self.made.day())) @if let Some(without) = &self.without { ". Not handed over: " (without.join(", ")) "." } }
            }
        };
        document(&title, small, &body)
    }
}

/// How much there is to say, as a class: what has no room in the usual letters is set in smaller ones.
fn length(paper: &BuildOnPaper) -> &'static str {
    let steps = paper.lists.iter().flat_map(|(_, steps)| steps);
    let of_step = |step: &PaperStep| {
        let letters = step.name.len() + step.words.len() + step.caution.as_deref().map_or(0, str::len);
        letters.div_ceil(LINE)
    };
    let beside = paper.beside.iter().chain(&paper.notes).map(|words| words.len().div_ceil(LINE));
    let lines = steps.map(of_step).chain(beside).sum::<usize>() + paper.parts.len();
    match lines + COLUMNS * paper.figures.len() {
        lines if lines > LONG_ROOM => " long longest",
        lines if lines > ROOM => " long",
        _ => "",
    }
}

/// Letters on a line of a column in print, columns, and lines that have room in all of them, a reading's across them all.
const LINE: usize = 42;
const COLUMNS: usize = 3;
const ROOM: usize = 150;
/// The same in smaller letters.
const LONG_ROOM: usize = 200;

fn readings(figures: &[PaperFigure]) -> Markup {
    html! {
        table.readings {
            thead { tr { th { "reading" } th.number { "read ±" } th { "between its limits" } th { "good" } th { "replace" } th { "verdict" } } }
            tbody { @for figure in figures { tr {
                th scope="row" { (text(&capital(&figure.name))) @if let Some(at) = &figure.at { " " span.at { (text(at)) } } }
                td.number { (figure.read[0]) " ± " (figure.read[1]) }
                td { @if let Some(drawn) = &figure.strip { (strip(drawn, &spoken(figure))) } }
                td { (figure.edges[0]) }
                td { (figure.edges[1]) }
                td { @if figure.verdict.is_empty() { "no limit set" } @else { (figure.mark) " " (figure.verdict) } }
            } } }
        }
    }
}

/// A strip for a reader that cannot see it.
fn spoken(figure: &PaperFigure) -> String {
    let [good, replace] = &figure.edges;
    let good = if good.is_empty() { String::new() } else { format!(", good {good}") };
    let replace = if replace.is_empty() { String::new() } else { format!(", replace {replace}") };
    format!("{} {}{good}{replace}", figure.name, figure.read[0])
}

fn check_list(title: &str, steps: &[PaperStep]) -> Markup {
    html! {
        section {
            h2 { (text(title)) }
            @if !steps.is_empty() { ul.steps {
                @for step in steps {
                    li class=(looks(step)) {
                        b { (text(&step.name)) } @if !step.words.is_empty() { ": " (text(&step.words)) }
                        @for cylinder in &step.at {
                            " " span.at-one { (box_of(step.stands)) (text(cylinder)) @for want in &step.wants { " " span.pen { (want) } } }
                        }
                        @if step.at.is_empty() { @for want in &step.wants { " " span.pen { (want) } } }
                        @if let Some(caution) = &step.caution { " " span.caution { "! " (text(caution)) } }
                    }
                }
            } }
        }
    }
}

/// How a step looks: by how it stands, and without a box of its own where each cylinder has one.
fn looks(step: &PaperStep) -> String {
    let stands = match step.stands {
        Stands::Open => "open",
        Stands::Done => "done",
        Stands::LeftOut => "not",
    };
    let each = if step.at.is_empty() { "" } else { " each" };
    format!("{stands}{each}")
}

fn box_of(stands: Stands) -> &'static str {
    match stands {
        Stands::Open => "☐\u{a0}",
        Stands::Done => "☑\u{a0}",
        Stands::LeftOut => "–\u{a0}",
    }
}

fn wear_figure(wear: &PartWearAnswer, screen: &Screen) -> Option<DrawnFigure> {
    let drawn = WearDrawn::of(wear, screen.units(), POINTS)?;
    let said = wear.on_a_sheet(screen.units());
    let svg = curves::wear(&drawn, said.decimals, &format!("The {} over hours.", said.title))?;
    let band = if drawn.band.is_some() { "; dotted: where 9 of 10 further readings lie" } else { "" };
    let limit = said.limit.map(|limit| format!("; dashed: limit {limit}")).unwrap_or_default();
    let end = match (&said.conclusion, &said.from_now) {
        (Some(conclusion), _) => format!(" {conclusion}"),
        (None, Some(hours)) => format!(" Reached in {hours} from now."),
        (None, None) => String::new(),
    };
    Some(DrawnFigure {
        title: capital(&said.title),
        svg: Some(svg),
        caption: format!("Dots: readings, by hours of {}{band}{limit}.{end}", said.hours_of),
        wide: false,
    })
}
