//! Curves over a common axis, drawn with plain characters.

mod scale;
#[cfg(test)]
mod tests;

use crate::report::out::glue::{glued, unglued};
use crate::report::out::width;

pub(in crate::report) use scale::{CellLine, Scale, drawable, real, shortened, upright_names};

/// Cells where more than one curve passes.
const SHARED: char = '#';
/// Fewest and most rows of a drawing.
const ROWS: (usize, usize) = (5, 60);
/// Fewest columns a drawing is put on.
const NARROWEST: usize = 30;

/// One curve.
pub(in crate::report) struct Curve {
    /// What it is drawn with; not '#', '.', ':', '-' or a space, which have their meaning.
    pub mark: char,
    /// As the legend calls it.
    pub name: String,
    /// Points, x ascending, joined by straight lines. One that is not a number leaves a gap; one that steps back begins
    /// a new line.
    pub points: Vec<(f64, f64)>,
}

/// A drawing of curves over one axis.
pub(in crate::report) struct Plot<'a> {
    /// What runs across, with its unit: "degrees after top dead centre".
    pub x_name: &'a str,
    /// What runs upwards, with its unit: "area, mm2".
    pub y_name: &'a str,
    /// The curves; a later one is never hidden by an earlier one: a cell of both is marked as shared.
    pub curves: Vec<Curve>,
    /// Upright lines at an x with their names: "tuned speed".
    pub uprights: Vec<(f64, String)>,
}

impl Plot<'_> {
    /// The drawing, `width` columns wide at most, its field `height` rows high at most; the axis, the names and the
    /// legend come below it.
    pub(in crate::report) fn text(&self, width: usize, height: usize) -> String {
        let width = width.max(NARROWEST);
        let points =
            || self.curves.iter().flat_map(|curve| curve.points.iter()).filter(|point| is_point(**point));
        let upwards = Scale::upwards(points().map(|point| point.1), height.clamp(ROWS.0, ROWS.1));
        let Some(y) = upwards else {
            return format!("{}: no points to draw.", self.y_name);
        };
        let labels = y.ticks();
        let gutter = labels.iter().map(|tick| width::of(&tick.label)).max().unwrap_or(0) + 2;
        let columns = width.saturating_sub(gutter + 1);
        let uprights = self.uprights_near(points().map(|point| point.0));
        let across = points().map(|point| point.0).chain(uprights.iter().map(|upright| upright.0));
        let Some(x) = Scale::across(across, columns) else {
            return format!("{}: no points to draw.", self.y_name);
        };

        let mut field = Field::new(&x, &y);
        for (at, _) in &uprights {
            field.upright(x.cell(*at));
        }
        let shared = field.draw(&self.curves, &x, &y);

        let indent = Indent { gutter, width };
        let mut lines = vec![wrapped(&format!("{}{}", self.y_name, y.times()), 0, width)];
        lines.extend(field.lines(&y, gutter));
        lines.extend(indent.axis(&x, &uprights));
        lines.push(wrapped(&format!("{}{}", self.x_name, x.times()), gutter, width));
        lines.extend(indent.legend(&self.curves, shared));
        lines.extend(self.uprights_away(&uprights, &x).map(|words| wrapped(&words, gutter, width)));
        lines.join("\n")
    }

    /// Uprights no further beside the curves than half their length: one far away would press the curves together.
    fn uprights_near(&self, across: impl Iterator<Item = f64>) -> Vec<&(f64, String)> {
        let Some(range) = Scale::across(across, 2) else { return Vec::new() };
        let beside = (range.high - range.low) / 2.0;
        let near = range.low - beside..=range.high + beside;
        self.uprights.iter().filter(|upright| near.contains(&upright.0)).collect()
    }

    /// The other uprights, in words.
    fn uprights_away<'b>(
        &'b self,
        near: &'b [&(f64, String)],
        x: &'b Scale,
    ) -> impl Iterator<Item = String> + 'b {
        let away = |upright: &&(f64, String)| !near.iter().any(|shown| std::ptr::eq(*shown, *upright));
        self.uprights.iter().filter(away).map(|(at, name)| {
            if !drawable(*at) {
                return format!("not known: {name}");
            }
            let side = if *at < x.low { "left" } else { "right" };
            format!("further {side}, at {}: {name}", x.figure(*at, 0))
        })
    }
}

fn is_point((x, y): (f64, f64)) -> bool {
    drawable(x) && drawable(y)
}

/// The cells of a drawing, the lowest row first.
struct Field {
    cells: Vec<Vec<char>>,
}

impl Field {
    /// A field with a dot where the round figures of both axes meet (the border has its own marks), and a line at zero where there is something below.
    fn new(x: &Scale, y: &Scale) -> Self {
        let mut field = Self { cells: vec![vec![' '; x.cells]; y.cells] };
        let across = x.ticks();
        for row in y.ticks() {
            for column in across.iter().filter(|column| column.cell > 0) {
                field.put(column.cell, row.cell, '.');
            }
        }
        if y.low < 0.0
            && y.high > 0.0
            && let Some(zero) = y.cell(0.0)
        {
            (0..x.cells).for_each(|column| field.put(column, zero, '-'));
        }
        field
    }

    fn put(&mut self, column: usize, row: usize, mark: char) {
        if let Some(cell) = self.cells.get_mut(row).and_then(|row| row.get_mut(column)) {
            *cell = mark;
        }
    }

    fn upright(&mut self, column: Option<usize>) {
        let Some(column) = column else { return };
        (0..self.cells.len()).for_each(|row| self.put(column, row, ':'));
    }

    /// Draws the curves; says whether any cell is shared.
    fn draw(&mut self, curves: &[Curve], x: &Scale, y: &Scale) -> bool {
        let mut owners: Vec<Vec<Option<usize>>> = vec![vec![None; x.cells]; y.cells];
        let mut any_shared = false;
        for (number, curve) in curves.iter().enumerate() {
            for stroke in curve.segments().iter().flat_map(|segment| strokes(segment, x, y)) {
                for row in stroke.low..=stroke.high {
                    let Some(owner) = owners.get_mut(row).and_then(|row| row.get_mut(stroke.column)) else {
                        continue;
                    };
                    let shared = owner.is_some_and(|other| other != number);
                    any_shared |= shared;
                    let kept = shared || self.at(stroke.column, row) == Some(SHARED);
                    owner.get_or_insert(number);
                    self.put(stroke.column, row, if kept { SHARED } else { curve.mark });
                }
            }
        }
        any_shared
    }

    fn at(&self, column: usize, row: usize) -> Option<char> {
        self.cells.get(row)?.get(column).copied()
    }

    /// The rows from the top down, with the labels of the y axis.
    fn lines(&self, y: &Scale, gutter: usize) -> Vec<String> {
        let labels = y.ticks();
        let row_line = |(row, cells): (usize, &Vec<char>)| {
            let label = labels.iter().find(|tick| tick.cell == row);
            let text = label.map_or("", |tick| tick.label.as_str());
            let border = if label.is_some() { '+' } else { '|' };
            let cells: String = cells.iter().collect();
            format!("{text:>room$} {border}{cells}", room = gutter - 2).trim_end().to_owned()
        };
        self.cells.iter().enumerate().rev().map(row_line).collect()
    }
}

/// Rows of one column that a curve covers.
struct Stroke {
    column: usize,
    low: usize,
    high: usize,
}

impl Curve {
    /// The curve without its gaps: pieces in which x never steps back.
    fn segments(&self) -> Vec<Vec<(f64, f64)>> {
        let mut segments: Vec<Vec<(f64, f64)>> = vec![Vec::new()];
        for point in &self.points {
            let last = segments.last().and_then(|segment| segment.last()).copied();
            if !is_point(*point) || last.is_some_and(|last| last.0 > point.0) {
                segments.push(Vec::new());
            }
            if is_point(*point)
                && let Some(segment) = segments.last_mut()
            {
                segment.push(*point);
            }
        }
        segments.retain(|segment| !segment.is_empty());
        segments
    }
}

/// What a piece of a curve covers: a cell a column, more where it is steep or turns back within the column.
fn strokes(segment: &[(f64, f64)], x: &Scale, y: &Scale) -> Vec<Stroke> {
    let (Some(first), Some(last)) = (segment.first(), segment.last()) else { return Vec::new() };
    let (Some(from), Some(to)) = (x.cell(first.0), x.cell(last.0)) else { return Vec::new() };
    let half = (x.high - x.low) / real(x.cells - 1) / 2.0;
    let mut strokes: Vec<Stroke> = Vec::new();
    for column in from..=to {
        let within = |at: f64| at.clamp(first.0, last.0);
        let (left, right) = (within(x.value(column) - half), within(x.value(column) + half));
        let middle = height_at(segment, within(x.value(column)));
        let (low, high) = turns(segment, (left, right), middle);
        let (Some(low), Some(high)) = (y.cell(low), y.cell(high)) else { continue };
        let mut stroke = Stroke { column, low, high };
        if let Some(before) = strokes.last_mut() {
            join(before, &mut stroke);
        }
        strokes.push(stroke);
    }
    strokes
}

/// Lowest and highest of a curve in a column: its middle, and points beyond both ends of the column. The ends themselves
/// do not count, or a gentle slope would be drawn two rows thick.
fn turns(segment: &[(f64, f64)], (left, right): (f64, f64), middle: f64) -> (f64, f64) {
    let ends = [height_at(segment, left), height_at(segment, right), middle];
    let ends_low = ends.into_iter().fold(f64::INFINITY, f64::min);
    let ends_high = ends.into_iter().fold(f64::NEG_INFINITY, f64::max);
    let mut turned = (middle, middle);
    for (_, height) in segment.iter().filter(|point| point.0 >= left && point.0 <= right) {
        if *height < ends_low {
            turned.0 = turned.0.min(*height);
        }
        if *height > ends_high {
            turned.1 = turned.1.max(*height);
        }
    }
    turned
}

/// Makes two neighbouring columns touch: each takes half of the rows between them.
fn join(before: &mut Stroke, after: &mut Stroke) {
    if after.low > before.high + 1 {
        before.high = usize::midpoint(before.high, after.low);
        after.low = before.high + 1;
    } else if before.low > after.high + 1 {
        after.high = usize::midpoint(after.high, before.low);
        before.low = after.high + 1;
    }
}

/// Height of a piece of a curve at an x, on a straight line between its points.
fn height_at(segment: &[(f64, f64)], at: f64) -> f64 {
    let after = segment.partition_point(|point| point.0 < at);
    let before = after.checked_sub(1).and_then(|index| segment.get(index));
    match (before, segment.get(after)) {
        (Some(a), Some(b)) if b.0 > a.0 => a.1 + (b.1 - a.1) * ((at - a.0) / (b.0 - a.0)),
        (_, Some(point)) | (Some(point), None) => point.1,
        (None, None) => f64::NAN,
    }
}

/// Where the field stands on the page.
struct Indent {
    gutter: usize,
    width: usize,
}

impl Indent {
    /// The axis with its labels, and the names of the uprights below it.
    fn axis(&self, x: &Scale, uprights: &[&(f64, String)]) -> Vec<String> {
        let ticks = x.ticks();
        let mut axis = CellLine::default();
        axis.put(self.gutter - 1, "+");
        axis.put(self.gutter, &"-".repeat(x.cells));
        for tick in &ticks {
            axis.put(self.gutter + tick.cell, "+");
        }
        let named: Vec<_> = uprights
            .iter()
            .filter_map(|(at, name)| Some((self.gutter + x.cell(*at)?, name.as_str())))
            .collect();
        for (column, _) in &named {
            axis.put(*column, ":");
        }
        let mut labels = CellLine::default();
        labels.put_labels(self.gutter, &ticks, self.width);
        let mut lines = vec![axis.text(), labels.text()];
        lines.extend(upright_names(&named, self.width));
        lines
    }

    /// What each mark means; the shared one only where it occurs.
    fn legend(&self, curves: &[Curve], shared: bool) -> Vec<String> {
        let mut entries: Vec<String> = curves.iter().map(Curve::legend).collect();
        if shared {
            entries.push(format!("{SHARED} {}", if curves.len() == 2 { "both" } else { "several" }));
        }
        let room = self.width - self.gutter;
        let mut lines: Vec<String> = Vec::new();
        for entry in entries.iter().map(|entry| shortened(entry, room)) {
            match lines.last_mut() {
                Some(line) if width::of(line) + 3 + width::of(&entry) <= room => {
                    line.push_str("   ");
                    line.push_str(&entry);
                }
                _ => lines.push(entry),
            }
        }
        lines.iter().map(|line| format!("{}{line}", " ".repeat(self.gutter))).collect()
    }
}

impl Curve {
    fn legend(&self) -> String {
        let known = self.points.iter().any(|point| is_point(*point));
        format!("{} {}{}", self.mark, self.name, if known { "" } else { ": not known" })
    }
}

/// A text in lines that begin at a column.
pub(super) fn wrapped(text: &str, indent: usize, width: usize) -> String {
    let spaces = " ".repeat(indent);
    let options = textwrap::Options::new(width)
        .initial_indent(&spaces)
        .subsequent_indent(&spaces)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    unglued(&textwrap::fill(&glued(text, width.saturating_sub(indent)), &options))
}
