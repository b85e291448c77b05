//! The build sheet of an engine: its readings between their limits, the check list with boxes for the pencil, how it wears, what is in
//! it.

use maud::{Markup, html};

use super::drawing::curves;
use super::fit::{Room, line_mm, lines, share};
use super::shell::{DrawnFigure, document_in, figure, kept, parts, text};
use super::strip::strip;
use crate::notebook::When;
use crate::notebook::fields::names::visible_lines;
use crate::report::building::paper::{BuildOnPaper, MARKS, PaperFigure, PaperStep, Stands, left_out};
use crate::report::out::frame::FramePart;
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

    /// The page, for A4 and Letter, or for A5 where it is to be small: two of those where the list has no room beside the readings.
    pub fn html(&self, screen: &Screen, small: bool) -> String {
        let units = screen.units();
        let paper = BuildOnPaper::of(&self.build, units, self.without.as_deref());
        let title = format!("{}: {}", text(self.engine), text(&paper.state));
        let drawn: Vec<DrawnFigure> =
            self.wear.iter().filter_map(|wear| wear_figure(wear, screen)).take(beside(small)).collect();
        let room = Room::of(small);
        let with = |compact| room.fit(|letters_pt| heights(&paper, &drawn, (small, letters_pt, compact)));
        // What is done may stand closer where that saves a page.
        let (loose, close) = (with(false), with(true));
        let (fit, compact) =
            if loose.is_two_pages && !close.is_two_pages { (close, true) } else { (loose, false) };
        let look = if fit.is_two_pages { "build two" } else { "build" };
        let body = html! {
            header {
                h1 { (title) }
                @if let Some(why) = &paper.why { p { (kept(why)) } }
                p { (kept(&paper.title)) }
            }
            main class=(look) {
                @if !paper.before.is_empty() { section.wide {
                    (parts(&paper.before))
                } }
                section.wide {
                    h2 { "Readings at 20 C, in " (if paper.unit == "in" { "inches" } else { paper.unit }) }
                    @if paper.figures.is_empty() { p { "Nothing is measured." } }
                    @else { (readings(&paper.figures)) p.key { (MARKS) ". Strip: white good, hatched watch, black replace; ▼ the reading, over it how far it may be off (twice its standard uncertainty)." } }
                }
                @if !drawn.is_empty() { div.wide.row { @for drawn in &drawn { (figure(drawn)) } } }
                @if fit.is_two_pages { p.wide.second { (title) ", second page" } }
                div.wide.flow {
                @for (title, steps) in &paper.lists { (check_list(title, steps, compact)) }
                @if !paper.parts.is_empty() { section {
                    // The drawings above go on to the newest run, and a ring with half of its life behind it is no new one.
                    h2 { "In it, with the hours it had when it was built" }
                    ul.plain { @for part in &paper.parts { li { (kept(part)) } } }
                } }
                @if !paper.beside.is_empty() { section {
                    h2 { "Ring and bearings" }
                    @for words in &paper.beside { p { (kept(words)) } }
                } }
                @if let Some(notes) = &paper.notes { section {
                    h2 { "Notes" }
                    p { (kept(&visible_lines(notes))) }
                } }
                }
            }
            footer {
                p { b { "CAUTION " } (CAUTIONS.join(" ")) }
                p { "Sheet made " (text(&self.made.short())) @if let Some(without) = &self.without { ". Not handed over: " (without.join(", ")) "." } }
            }
        };
        document_in(&title, (small, fit.letters_pt), &body)
    }
}

/// Drawings that stand beside each other.
fn beside(small: bool) -> usize {
    if small { DRAWN - 1 } else { DRAWN }
}

/// How high both halves are in print, mm: readings with their drawings, and what follows them with the foot.
fn heights(
    paper: &BuildOnPaper,
    drawn: &[DrawnFigure],
    (small, letters_pt, compact): (bool, f64, bool),
) -> [f64; 2] {
    let across = Room::of(small).across;
    let count = |number: usize| f64::from(u32::try_from(number).unwrap_or(u32::MAX));
    let (line, small_line) = (line_mm(letters_pt), line_mm(SMALL_PT));
    // The table of readings breaks no figure: wider than the page it would shrink everything.
    if lines(widest(&paper.figures), across - STRIP_MM, letters_pt) > 1.0 {
        return [f64::INFINITY; 2];
    }
    let before: f64 = paper
        .before
        .iter()
        .map(|part| match part {
            FramePart::Know(words) | FramePart::Stop(words) => {
                lines(words.chars().count(), across, letters_pt) * line + 1.0
            }
            _ => line,
        })
        .sum();
    let names: f64 = paper
        .figures
        .iter()
        .map(|figure| name_lines(figure, room_of_name(&paper.figures, across, letters_pt)))
        .sum();
    let readings =
        line + names * line + count(paper.figures.len() + 1) * RULE_MM + HEADING_MM + 2.0 * small_line;
    let wide = across / count(beside(small)) - GAP_MM;
    let captions =
        drawn.iter().map(|drawn| lines(drawn.caption.chars().count(), wide, SMALL_PT)).fold(0.0, f64::max);
    let drawings = if drawn.is_empty() {
        0.0
    } else {
        HEADING_MM + wide * 180.0 / 440.0 + captions * small_line + GAP_MM
    };
    let columns = if small { COLUMNS - 1 } else { COLUMNS };
    let column = across / count(columns) - GAP_MM;
    let of_step = |step: &PaperStep| {
        let at: usize = step.at.iter().map(|name| name.chars().count() + BOX).sum();
        let pens = step.wants.len() * step.at.len().max(1) * PEN;
        let letters = step.name.chars().count()
            + step.words.chars().count()
            + step.caution.as_deref().map_or(0, |words| words.chars().count());
        lines(letters + at + pens + BOX, column - INDENT_MM, letters_pt)
    };
    // They share their lines.
    let run_on = |step: &PaperStep| share(in_a_run(step), column, letters_pt);
    let steps = paper.lists.iter().flat_map(|(_, steps)| steps);
    let steps: f64 =
        steps.map(|step| if compact && runs_on(step) { run_on(step) } else { of_step(step) }).sum();
    let told = paper.parts.iter().chain(&paper.beside).chain(&paper.notes);
    let told: f64 = told.map(|words| lines(words.chars().count(), column, letters_pt)).sum();
    let titles = count(paper.lists.len() + 3) * HEADING_MM;
    let list = ((steps + told) * line + titles) / count(columns) + HEADING_MM;
    let foot = lines(CAUTIONS.join(" ").chars().count(), across, SMALL_PT) + 1.0;
    [HEAD_MM + before + readings + drawings, list + foot * small_line + FOOT_MM]
}

/// Columns of what follows the readings; one fewer on A5.
const COLUMNS: usize = 3;
/// Letters of captions, keys and the foot in print, points.
const SMALL_PT: f64 = 6.6;
/// Heights and widths round what is said, mm: the head of the page, a heading, the rule under a reading, what is between two columns, what
/// a step stands in by, and the rules of the foot.
const HEAD_MM: f64 = 9.0;
const HEADING_MM: f64 = 5.0;
const RULE_MM: f64 = 0.3;
const GAP_MM: f64 = 4.0;
const INDENT_MM: f64 = 4.0;
const FOOT_MM: f64 = 3.0;
/// Letters that a box takes, and a line for the pen.
const BOX: usize = 3;
const PEN: usize = 14;

/// Letters of the widest line of the readings, the names broken.
fn widest(figures: &[PaperFigure]) -> usize {
    let longest = |of: &dyn Fn(&PaperFigure) -> usize| figures.iter().map(of).max().unwrap_or(0);
    let sides = longest(&|figure| figure.edges[0].chars().count())
        + longest(&|figure| figure.edges[1].chars().count());
    let read = longest(&|figure| figure.read.iter().map(|read| read.chars().count()).sum::<usize>() + 3);
    NAME + read + sides + longest(&|figure| figure.verdict.chars().count() + 2) + BETWEEN
}

/// Letters that a reading's name takes at least, and those between the columns; width of the strip, mm.
const NAME: usize = 20;
const BETWEEN: usize = 8;
const STRIP_MM: f64 = 24.0;

/// Letters that a reading's name has room for beside the widest line of the others.
fn room_of_name(figures: &[PaperFigure], across: f64, letters_pt: f64) -> f64 {
    let others = widest(figures) - NAME;
    let of_a_line = 1.0 / share(1, across - STRIP_MM, letters_pt);
    (of_a_line - f64::from(u32::try_from(others).unwrap_or(u32::MAX))).max(1.0)
}

/// Lines that a reading's name takes in so much room, broken between words.
fn name_lines(figure: &PaperFigure, room: f64) -> f64 {
    let name = format!("{} {}", figure.name, figure.at.as_deref().unwrap_or_default());
    let (mut lines, mut used) = (1.0, 0.0);
    for word in name.split_whitespace() {
        let letters = f64::from(u32::try_from(word.chars().count()).unwrap_or(u32::MAX));
        if used > 0.0 && used + 1.0 + letters > room {
            (lines, used) = (lines + 1.0, letters);
        } else {
            used += 1.0 + letters;
        }
    }
    lines
}

/// Whether a step says no more than that it was done.
fn runs_on(step: &PaperStep) -> bool {
    step.stands == Stands::Done && step.at.is_empty() && step.wants.is_empty() && step.caution.is_none()
}

/// Letters that it takes in a line of its like.
fn in_a_run(step: &PaperStep) -> usize {
    step.name.chars().count() + step.words.chars().count() + BOX + 2
}

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

fn check_list(title: &str, steps: &[PaperStep], compact: bool) -> Markup {
    let runs = |one: &PaperStep, next: &PaperStep| compact && runs_on(one) && runs_on(next);
    html! {
        section {
            h2 { (text(title)) }
            @if !steps.is_empty() { ul.steps {
                @for run in steps.chunk_by(runs) {
                    @match run {
                        [one] => li class=(looks(one)) { (step(one)) },
                        all => li.run { @for one in all { span.one { (box_of(one.stands)) (step(one)) } " " } },
                    }
                }
            } }
        }
    }
}

fn step(step: &PaperStep) -> Markup {
    html! {
        b { (kept(&step.name)) } @if !step.words.is_empty() { ": " (kept(&step.words)) }
        @for cylinder in &step.at {
            " " span.at-one { (box_of(step.stands)) (text(cylinder)) @for want in &step.wants { " " span.pen { (want) } } }
        }
        @if step.at.is_empty() { @for want in &step.wants { " " span.pen { (want) } } }
        @if let Some(caution) = &step.caution { " " span.caution { "! " (kept(caution)) } }
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
    let end = said.end.map(|words| format!(" {words}")).unwrap_or_default();
    Some(DrawnFigure {
        title: capital(&said.title),
        svg: Some(svg),
        caption: format!("Dots: readings, by hours of {}{band}{limit}.{end}", said.hours_of),
        wide: false,
    })
}
