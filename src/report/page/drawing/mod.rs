//! Curves and marks over two axes, as SVG in black on white.

pub(super) mod bars;
pub(super) mod curves;

use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::advice::drawn::JudgedRun;
use crate::notebook::Mixture;
use crate::quantity::fixed;
use crate::report::words::layout::grouped;

/// Size of a drawing, pixels; a sheet scales it to its column.
pub(super) const SIZE: (u32, u32) = (440, 180);
/// Letters on it, pixels.
pub(super) const LETTERS: u32 = 20;
/// Ink of the curves.
pub(super) const INK: RGBColor = RGBColor(0, 0, 0);
/// Lines of the grid.
const GRID: RGBColor = RGBColor(205, 205, 205);
/// What is told apart from it.
pub(super) const PALE: RGBColor = RGBColor(110, 110, 110);

/// Letters of the words round a drawing that is seen alone, pixels; from line to line; and how wide one is at most, of a sans that is wider
/// than most, as a share.
const WORDS: usize = 15;
const LINE: usize = 19;
const LETTER: f64 = 0.58;

/// The drawing with words over it and under it, for who sees it alone.
pub(super) fn alone(svg: &str, head: &str, foot: &str) -> String {
    let sized = |name: &str| {
        let (_, rest) = svg.split_once(&format!(" {name}=\""))?;
        rest.split_once('"')?.0.parse::<usize>().ok()
    };
    let (Some(wide), Some(high)) = (sized("width"), sized("height")) else { return svg.to_owned() };
    let (head, foot) = (lines_within(head, wide), lines_within(foot, wide));
    let (above, below) = ((head.len() * LINE) + EDGE, (foot.len() * LINE) + EDGE);
    let line = |at: i64, words: &str, weight: &str| {
        maud::html! { text x=(EDGE) y=(at) font-family="sans-serif" font-size=(WORDS) font-weight=(weight) { (words) } }
    };
    let at = |pixels: usize| i64::try_from(pixels).unwrap_or(0);
    let of_head = head
        .iter()
        .enumerate()
        .map(|(number, words)| line(at((number + 1) * LINE) - at(above), words, "bold"));
    let of_foot =
        foot.iter().enumerate().map(|(number, words)| line(at(high + (number + 1) * LINE), words, "normal"));
    let words: String = of_head.chain(of_foot).map(maud::Markup::into_string).collect();
    let whole = high + above + below;
    let taller = svg.replacen(&format!(" height=\"{high}\""), &format!(" height=\"{whole}\""), 1).replacen(
        &format!(" viewBox=\"0 0 {wide} {high}\""),
        &format!(" viewBox=\"0 -{above} {wide} {whole}\""),
        1,
    );
    match taller.split_once('>') {
        Some((start, rest)) => format!("{start}>{words}{rest}"),
        None => taller,
    }
}

/// Pixels between the words and the edge.
const EDGE: usize = 6;

/// Words in lines that have room in so many pixels.
fn lines_within(words: &str, wide: usize) -> Vec<String> {
    let pixels = |words: &str| place(words.chars().count() * WORDS) * LETTER;
    let mut lines: Vec<String> = Vec::new();
    for word in words.split(' ').filter(|word| !word.is_empty()) {
        match lines.last_mut() {
            Some(line) if pixels(line) + pixels(word) + pixels(" ") <= place(wide - 2 * EDGE) => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A drawing area that is written to a string.
pub(super) type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;
/// Axes on such an area.
pub(super) type Axes<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;
/// A drawing that failed; writing to a string never does.
pub(super) type Drawn = Result<(), DrawingAreaErrorKind<std::io::Error>>;

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stroke {
    Solid,
    Dashed,
    Dotted,
}

/// A line.
pub(super) struct DrawnLine {
    pub(super) stroke: Stroke,
    pub(super) points: Vec<(f64, f64)>,
}

/// A judged run.
pub(super) struct Mark {
    pub(super) at: (f64, f64),
    pub(super) seen: JudgedRun,
}

/// Curves and marks over two axes.
pub(super) struct Drawing<'a> {
    pub(super) x_name: &'a str,
    pub(super) y_name: &'a str,
    /// Decimals at the axes, across and upwards.
    pub(super) decimals: (usize, usize),
    pub(super) lines: Vec<DrawnLine>,
    pub(super) marks: Vec<Mark>,
    /// What was read, a dot each.
    pub(super) dots: Vec<(f64, f64)>,
    /// Upright lines with their names.
    pub(super) uprights: Vec<(f64, String)>,
}

impl Drawing<'_> {
    /// The drawing as SVG, for a reader that cannot see it with `words`; none where there is nothing to draw.
    pub(super) fn svg(&self, words: &str) -> Option<String> {
        let points = self.lines.iter().flat_map(|line| line.points.iter().copied());
        let marks = self.marks.iter().map(|mark| mark.at);
        let all: Vec<(f64, f64)> = points
            .chain(marks)
            .chain(self.dots.iter().copied())
            .filter(|(x, y)| x.is_finite() && y.is_finite())
            .collect();
        let x = reach(all.iter().map(|point| point.0).chain(self.uprights.iter().map(|upright| upright.0)))?;
        let y = reach(all.iter().map(|point| point.1))?;
        to_svg(SIZE, words, |area| self.draw(area, x, y))
    }

    fn draw(&self, area: &Area<'_>, (left, right): (f64, f64), (low, high): (f64, f64)) -> Drawn {
        let mut axes = ChartBuilder::on(area)
            .margin(4)
            .margin_top(if self.uprights.is_empty() { 8 } else { LETTERS })
            .margin_right(22)
            .set_label_area_size(LabelAreaPosition::Left, if self.decimals.1 > 2 { 94 } else { 72 })
            .set_label_area_size(LabelAreaPosition::Bottom, 44)
            .build_cartesian_2d(left..right, low..high)?;
        let tick = |value: f64, decimals: usize| match decimals {
            0 => grouped(value),
            decimals => fixed(value, decimals),
        };
        axes.configure_mesh()
            .light_line_style(TRANSPARENT)
            .bold_line_style(GRID)
            .axis_style(INK)
            .label_style(letters(INK))
            .axis_desc_style(letters(INK))
            .x_desc(self.x_name)
            .y_desc(self.y_name)
            .x_labels(6)
            .y_labels(5)
            .x_label_formatter(&|value| tick(*value, self.decimals.0))
            .y_label_formatter(&|value| tick(*value, self.decimals.1))
            .draw()?;
        for (at, name) in &self.uprights {
            upright(&mut axes, *at, (low, high), name)?;
        }
        for line in &self.lines {
            stroke(&mut axes, line)?;
        }
        for at in &self.dots {
            dot(&mut axes, *at)?;
        }
        for run in &self.marks {
            mark(&mut axes, run.at, run.seen)?;
        }
        Ok(())
    }
}

/// Writes what is drawn to a string.
pub(super) fn to_svg(size: (u32, u32), words: &str, draw: impl FnOnce(&Area<'_>) -> Drawn) -> Option<String> {
    let mut svg = String::new();
    {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        draw(&area).ok()?;
        area.present().ok()?;
    }
    let label = maud::html! { (words) }.into_string().replace('"', "&quot;");
    Some(svg.replacen("<svg ", &format!("<svg role=\"img\" aria-label=\"{label}\" "), 1))
}

/// A place in a row, as a coordinate.
pub(super) fn place(number: usize) -> f64 {
    u32::try_from(number).map_or(0.0, f64::from)
}

/// Plain letters.
pub(super) fn letters(ink: RGBColor) -> TextStyle<'static> {
    ("sans-serif", LETTERS).into_font().color(&ink)
}

/// Letters that stand against a point.
pub(super) fn anchored(ink: RGBColor, across: HPos, upwards: VPos) -> TextStyle<'static> {
    letters(ink).pos(Pos::new(across, upwards))
}

/// From the least to the most, with a little room; none without a value.
pub(super) fn reach(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let mut ends: Option<(f64, f64)> = None;
    for value in values.filter(|value| value.is_finite()) {
        let (least, most) = ends.unwrap_or((value, value));
        ends = Some((least.min(value), most.max(value)));
    }
    let (least, most) = ends?;
    let room = if most > least { 0.06 * (most - least) } else { least.abs().max(1.0) * 0.02 };
    Some((least - room, most + room))
}

fn upright(axes: &mut Axes<'_, '_>, at: f64, (low, high): (f64, f64), name: &str) -> Drawn {
    let line = [(at, low), (at, high)];
    axes.draw_series(DashedLineSeries::new(line, 2, 3, INK.stroke_width(1)))?;
    // Over the plot: inside it there may be a mark.
    let label = Text::new(name.to_owned(), (at, high), anchored(INK, HPos::Center, VPos::Bottom));
    axes.draw_series(std::iter::once(label))?;
    Ok(())
}

fn stroke(axes: &mut Axes<'_, '_>, line: &DrawnLine) -> Drawn {
    let points = || line.points.iter().copied().filter(|(x, y)| x.is_finite() && y.is_finite());
    match line.stroke {
        Stroke::Solid => {
            axes.draw_series(LineSeries::new(points(), INK.stroke_width(2)))?;
        }
        Stroke::Dashed => {
            axes.draw_series(DashedLineSeries::new(points(), 8, 5, INK.stroke_width(2)))?;
        }
        Stroke::Dotted => {
            axes.draw_series(DashedLineSeries::new(points(), 2, 4, INK.stroke_width(2)))?;
        }
    }
    Ok(())
}

/// Half the size of a mark, pixels.
const HALF: i32 = 5;

/// A mark: a triangle that points down for lean, a disc for right, a square for rich; filled where it is more than slightly so, and a
/// small cross where nothing was judged.
pub(super) fn mark(axes: &mut Axes<'_, '_>, at: (f64, f64), seen: JudgedRun) -> Drawn {
    let triangle = vec![(-HALF, 1 - HALF), (HALF, 1 - HALF), (0, HALF), (-HALF, 1 - HALF)];
    let square = vec![
        (1 - HALF, 1 - HALF),
        (HALF - 1, 1 - HALF),
        (HALF - 1, HALF - 1),
        (1 - HALF, HALF - 1),
        (1 - HALF, 1 - HALF),
    ];
    let (outline, is_filled) = match seen {
        JudgedRun::Lean | JudgedRun::Judged(Mixture::Lean) => (triangle, true),
        JudgedRun::Judged(Mixture::SlightlyLean) => (triangle, false),
        JudgedRun::Judged(Mixture::SlightlyRich) => (square, false),
        JudgedRun::Judged(Mixture::Rich) => (square, true),
        JudgedRun::Judged(Mixture::Right) => return dot(axes, at),
        JudgedRun::NotJudged => {
            let cross = EmptyElement::at(at) + Cross::new((0, 0), 3, PALE.stroke_width(1));
            axes.draw_series(std::iter::once(cross))?;
            return Ok(());
        }
    };
    let inside = if is_filled { INK.filled() } else { WHITE.filled() };
    let shape = EmptyElement::at(at)
        + Polygon::new(outline.clone(), inside)
        + PathElement::new(outline, INK.stroke_width(1));
    axes.draw_series(std::iter::once(shape))?;
    Ok(())
}

fn dot(axes: &mut Axes<'_, '_>, at: (f64, f64)) -> Drawn {
    let disc = EmptyElement::at(at) + Circle::new((0, 0), HALF - 1, INK.filled());
    axes.draw_series(std::iter::once(disc))?;
    Ok(())
}

/// What the marks mean.
pub(super) const MARKS: &str =
    "▼\u{a0}lean, ▽\u{a0}slightly\u{a0}lean, ●\u{a0}right, □\u{a0}slightly\u{a0}rich, ■\u{a0}rich";
