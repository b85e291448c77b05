//! Port timings, areas and time-areas, as a table and as a drawing.

use schemars::JsonSchema;
use serde::Serialize;

use crate::advice::figures::ports::{Job, PortFigures, WindowFigures, disc_doubt};
use crate::advice::figures::{Bench, Gap, Known, Valve};
use crate::engine::ports::Timing;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::draw::plot::{Curve, Plot};
use crate::report::out::figure::Figure;
use crate::report::out::screen::Screen;
use crate::report::words::known::{FigureOrGap, WHERE_FIELDS_STAND, lacks};
use crate::report::words::layout::{grouped, table};
use crate::report::words::subject::Subject;

/// Rows of a drawing's field.
const PLOT_ROWS: usize = 14;

/// Port timings, areas and time-areas. Null where a figure is not known.
#[derive(Debug, Serialize, JsonSchema)]
pub struct PortsAnswer {
    #[serde(flatten)]
    subject: Subject,
    /// One for each position of the power valve.
    positions: Vec<ValvePosition>,
    /// What is not known and which fields it needs, in words.
    not_known: Vec<String>,
    /// Whether to draw.
    #[serde(skip)]
    plot: bool,
}

/// The ports with the power valve in one position.
#[derive(Debug, Serialize, JsonSchema)]
struct ValvePosition {
    /// Position of the power valve, open or shut; open where there is none.
    valve: &'static str,
    /// Each window.
    windows: Vec<WindowRow>,
    /// Degrees from the exhaust's opening to the transfers'; negative when these open first.
    blowdown_deg: FigureOrGap<2>,
    /// Windows together.
    jobs: Vec<JobRow>,
    /// When the intake opens and closes; null for reeds, which open by themselves.
    intake: OpenFor,
    /// What is to be said of a disc's timing.
    #[serde(skip)]
    disc_doubt: Option<String>,
}

/// One window.
#[derive(Debug, Serialize, JsonSchema)]
struct WindowRow {
    /// Name of the window.
    window: String,
    /// What it does: exhaust, auxiliary, transfer, boost or intake.
    kind: String,
    /// How many are alike.
    count: u32,
    /// Area of all alike, piston at the bottom, mm2.
    area_mm2: FigureOrGap<1>,
    /// Width of one over the bore, a fraction.
    width_over_bore: FigureOrGap<3>,
    #[serde(flatten)]
    open: OpenFor,
}

/// When a window is open.
#[derive(Debug, Serialize, JsonSchema)]
#[allow(clippy::struct_field_names)] // they are the keys of the answer
struct OpenFor {
    /// Opening, degrees after true top dead centre; negative before it.
    opens_deg: FigureOrGap<2>,
    /// Closing, degrees after true top dead centre.
    closes_deg: FigureOrGap<2>,
    /// Degrees from opening to closing.
    duration_deg: FigureOrGap<2>,
}

/// Windows that do one job.
#[derive(Debug, Serialize, JsonSchema)]
struct JobRow {
    /// Windows that do one job: exhaust, blowdown, transfers or intake.
    job: &'static str,
    /// Degrees it lasts.
    degrees: FigureOrGap<2>,
    /// Integral of the open area over the crank angle, mm2 deg.
    angle_area_mm2_deg: FigureOrGap<1>,
    /// Specific time-area at each speed.
    at: Vec<TimeArea>,
    /// The band it is held against, s/m: least and most; null where none is set.
    band_s_m: Option<[Figure<6>; 2]>,
    /// Where the band is from, or where it is to be set.
    #[serde(skip)]
    band_from: String,
    /// The open area over the angle, (degrees after top dead centre, mm2).
    #[serde(skip)]
    curve: Vec<(f64, f64)>,
}

/// Specific time-area at one speed.
#[derive(Debug, Serialize, JsonSchema)]
struct TimeArea {
    /// Engine speed, rpm.
    rpm: Figure<0>,
    /// Time-area over swept volume, s/m.
    specific_time_area_s_m: FigureOrGap<6>,
}

impl PortsAnswer {
    /// The ports of the setup on the bench: `figures` for each position of the power valve, `rpm` the speeds of the time-areas.
    pub fn new(
        subject: Subject,
        bench: &Bench<'_>,
        figures: &[PortFigures],
        rpm: &[f64],
        plot: bool,
    ) -> Self {
        let positions: Vec<_> = figures.iter().map(|one| ValvePosition::new(bench, one, rpm)).collect();
        let no_reeds = figures.first().is_some_and(|one| !matches!(one.intake, Err(Gap::Without(_))));
        let not_known = positions.first().map(|first| first.lacks(no_reeds)).unwrap_or_default();
        Self { subject, positions, not_known, plot }
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "ports");
        let two = self.positions.len() > 1;
        for position in &self.positions {
            lines.push(String::new());
            if two {
                lines.push(screen.strong(&format!("Power valve {}", position.valve)));
            }
            lines.extend(position.text(screen));
        }
        if self.plot {
            lines.extend(self.positions.iter().map(|position| position.drawing(two, screen.width())));
        }
        if !self.not_known.is_empty() {
            lines.push(String::new());
            lines.extend(self.not_known.iter().map(|words| screen.wrap(words, 2)));
            lines.push(screen.wrap(WHERE_FIELDS_STAND, 0));
        }
        lines.push(String::new());
        lines.push(screen.wrap("Degrees are after true top dead centre. Areas are of the windows' faces with the piston at the bottom; the passages behind them may pass less. mm2 deg is the open area summed over the crank angle, s/m the specific time-area: open area times time over swept volume.", 0));
        let jobs = self.positions.first().map(|first| first.jobs.as_slice()).unwrap_or_default();
        lines.extend(jobs.iter().map(|job| screen.wrap(&format!("{}: {}.", job.job, job.band_from), 2)));
        lines.join("\n")
    }
}

impl ValvePosition {
    fn new(bench: &Bench<'_>, figures: &PortFigures, rpm: &[f64]) -> Self {
        let doubt = figures.intake.as_ref().ok().and_then(|timing| disc_doubt(bench, timing));
        Self {
            valve: match figures.valve {
                Valve::Open => "open",
                Valve::Shut => "shut",
            },
            windows: figures.windows.iter().map(WindowRow::new).collect(),
            blowdown_deg: FigureOrGap(figures.blowdown_deg.clone()),
            jobs: figures.jobs.iter().map(|job| JobRow::new(bench, job, rpm)).collect(),
            intake: OpenFor::new(&figures.intake),
            disc_doubt: doubt,
        }
    }

    fn lacks(&self, timed_intake: bool) -> Vec<String> {
        let windows = self.windows.iter().map(|one| (one.window.as_str(), one.open.opens_deg.gap()));
        let jobs = self.jobs.iter().map(|job| (job.job, job.angle_area_mm2_deg.gap()));
        let intake = self.intake.opens_deg.gap().filter(|_| timed_intake);
        lacks(windows.chain(jobs).chain([("intake", intake)]))
    }

    fn text(&self, screen: &Screen) -> Vec<String> {
        let mut lines = vec![
            self.windows_table(screen.width()),
            String::new(),
            self.jobs_table(screen.width()),
            screen.wrap(&self.intake.words(), 2),
        ];
        lines.extend(self.disc_doubt.iter().map(|words| screen.wrap(words, 2)));
        lines
    }

    fn windows_table(&self, width: usize) -> String {
        let row = |one: &WindowRow| {
            let name = match one.count {
                1 => visible(&one.window),
                count => format!("{count} x {}", visible(&one.window)),
            };
            vec![
                name,
                one.open.opens_deg.or_dash(1),
                one.open.closes_deg.or_dash(1),
                one.open.duration_deg.or_dash(1),
                one.area_mm2.or_dash(0),
                one.width_over_bore.words(|ratio| fixed(ratio * 100.0, 0)).unwrap_or_else(|_| "-".into()),
            ]
        };
        table(
            &["window", "opens", "closes", "duration, deg", "area, mm2", "width, % of bore"],
            self.windows.iter().map(row).collect(),
            &[1, 2, 3, 4, 5],
            width,
        )
    }

    fn jobs_table(&self, width: usize) -> String {
        let speeds = self.jobs.first().map(|job| job.at.as_slice()).unwrap_or_default();
        let mut head = vec!["together".to_owned(), "degrees".into(), "mm2 deg".into()];
        head.extend(speeds.iter().map(|at| format!("s/m at {}", grouped(at.rpm.0))));
        head.push("target, s/m".into());
        let rows = self.jobs.iter().map(|job| {
            let mut row = vec![
                job.job.to_owned(),
                job.degrees.or_dash(1),
                job.angle_area_mm2_deg.words(grouped).unwrap_or_else(|_| "-".into()),
            ];
            row.extend(job.at.iter().map(|at| at.specific_time_area_s_m.or_dash(5)));
            row.push(job.band_s_m.map_or_else(|| "no band set".to_owned(), band_words));
            row
        });
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let right: Vec<usize> = (1..head.len()).collect();
        table(&head, rows.collect(), &right, width)
    }

    fn drawing(&self, two: bool, width: usize) -> String {
        let marks = [("exhaust", 'e'), ("transfers", 't'), ("intake", 'i')];
        let curves: Vec<Curve> = marks
            .into_iter()
            .filter_map(|(name, mark)| {
                let points = self.jobs.iter().find(|job| job.job == name)?.curve.clone();
                (!points.is_empty()).then(|| Curve { mark, name: name.to_owned(), points })
            })
            .collect();
        if curves.is_empty() {
            return "\nNothing to draw: no port's area is known.".to_owned();
        }
        let x_name = if two {
            format!("degrees after top dead centre, power valve {}", self.valve)
        } else {
            "degrees after top dead centre".to_owned()
        };
        let plot = Plot { x_name: &x_name, y_name: "open area, mm2", curves, uprights: Vec::new() };
        format!("\n{}", plot.text(width, PLOT_ROWS))
    }
}

impl WindowRow {
    fn new(figures: &WindowFigures) -> Self {
        Self {
            window: figures.window.name.clone(),
            kind: figures.window.kind.clone(),
            count: figures.window.count,
            area_mm2: FigureOrGap::of(&figures.area_m2, |area| area * 1e6),
            width_over_bore: FigureOrGap(figures.width_over_bore.clone()),
            open: OpenFor::new(&figures.timing),
        }
    }
}

impl OpenFor {
    fn new(timing: &Known<Timing>) -> Self {
        Self {
            opens_deg: FigureOrGap::of(timing, |timing| timing.opens_deg),
            closes_deg: FigureOrGap::of(timing, |timing| timing.closes_deg),
            duration_deg: FigureOrGap::of(timing, Timing::duration_deg),
        }
    }

    /// The intake's in words.
    fn words(&self) -> String {
        match &self.opens_deg.0 {
            Ok(opens) => format!(
                "Intake opens {} before top, shuts {} after top: {} degrees.",
                fixed(-opens, 1),
                self.closes_deg.or_dash(1),
                self.duration_deg.or_dash(1)
            ),
            Err(gap) => format!("Intake: {gap}."),
        }
    }
}

impl JobRow {
    fn new(bench: &Bench<'_>, job: &Job, rpm: &[f64]) -> Self {
        let at = |rpm: &f64| TimeArea {
            rpm: Figure(*rpm),
            specific_time_area_s_m: FigureOrGap(job.specific_s_m(bench, *rpm)),
        };
        let band = job.band.as_ref();
        let not_set =
            || format!("no band is set; write yours into [{}] in configs/assumptions.toml", job.table());
        Self {
            job: job.name,
            degrees: FigureOrGap(job.degrees.clone()),
            angle_area_mm2_deg: FigureOrGap::of(&job.angle_area_m2_deg, |area| area * 1e6),
            at: rpm.iter().map(at).collect(),
            band_s_m: band.map(|band| [Figure(band.from), Figure(band.to)]),
            band_from: band.map_or_else(not_set, |band| visible(band.source.trim_end_matches('.'))),
            curve: job.curve.iter().map(|(angle, area)| (*angle, area * 1e6)).collect(),
        }
    }
}

/// "0.008 to 0.010": both ends with as many decimals as the finer one needs.
fn band_words(band: [Figure<6>; 2]) -> String {
    let fine = band.iter().any(|end| !fixed(end.0, 4).ends_with('0'));
    let [from, to] = band.map(|end| fixed(end.0, if fine { 4 } else { 3 }));
    format!("{from} to {to}")
}
