//! Port timings, areas and time-areas, as a table and as a drawing.

use serde_json::{Value as Json, json};

use crate::advice::figures::ports::{Job, PortFigures, disc_doubt};
use crate::advice::figures::{Bench, Gap, Known, Valve};
use crate::engine::ports::Timing;
use crate::notebook::Band;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::air::reading::rounded;
use crate::report::draw::plot::{Curve, Plot};
use crate::report::out::screen::Screen;
use crate::report::words::known::{WHERE_FIELDS_STAND, figure, gap, lacks, number, with};
use crate::report::words::layout::{grouped, table};
use crate::report::words::subject::Subject;

/// Rows of a drawing's field.
const PLOT_ROWS: usize = 14;

/// The ports of a setup.
pub struct PortsReport<'a> {
    /// Whose.
    pub subject: &'a Subject,
    /// The setup on the bench.
    pub bench: Bench<'a>,
    /// The figures for each position of the power valve.
    pub figures: Vec<PortFigures>,
    /// The speeds for the time-areas, rpm.
    pub rpm: Vec<f64>,
    /// Whether to draw.
    pub plot: bool,
}

fn valve_word(valve: Valve) -> &'static str {
    match valve {
        Valve::Open => "open",
        Valve::Shut => "shut",
    }
}

impl PortsReport<'_> {
    /// For a script.
    pub fn json(&self) -> Json {
        let positions: Vec<Json> = self.figures.iter().map(|figures| self.position_json(figures)).collect();
        with(self.subject.json(), json!({ "positions": positions, "not_known": self.not_known() }))
    }

    fn position_json(&self, figures: &PortFigures) -> Json {
        let windows: Vec<Json> = figures
            .windows
            .iter()
            .map(|one| {
                let timing = timing_json(&one.timing);
                with(
                    json!({
                        "window": one.window.name,
                        "kind": one.window.kind,
                        "count": one.window.count,
                        "area_mm2": number(&one.area_m2.clone().map(|area| area * 1e6), 1),
                        "width_over_bore": number(&one.width_over_bore, 3),
                    }),
                    timing,
                )
            })
            .collect();
        let jobs: Vec<Json> = figures.jobs.iter().map(|job| self.job_json(job)).collect();
        json!({
            "valve": valve_word(figures.valve),
            "windows": windows,
            "blowdown_deg": number(&figures.blowdown_deg, 2),
            "jobs": jobs,
            "intake": timing_json(&figures.intake),
        })
    }

    fn job_json(&self, job: &Job) -> Json {
        let at = |rpm: &f64| json!({ "rpm": rounded(*rpm, 0), "specific_time_area_s_m": number(&job.specific_s_m(&self.bench, *rpm), 6) });
        json!({
            "job": job.name,
            "degrees": number(&job.degrees, 2),
            "angle_area_mm2_deg": number(&job.angle_area_m2_deg.clone().map(|area| area * 1e6), 1),
            "at": self.rpm.iter().map(at).collect::<Vec<_>>(),
            "band_s_m": job.band.as_ref().map(|band| json!([rounded(band.from, 6), rounded(band.to, 6)])),
        })
    }

    /// For a person.
    pub fn text(&self, screen: &Screen) -> String {
        let mut lines = self.subject.heading(screen, "ports");
        for figures in &self.figures {
            lines.push(String::new());
            if self.figures.len() > 1 {
                lines.push(screen.strong(&format!("Power valve {}", valve_word(figures.valve))));
            }
            lines.push(windows_table(figures, screen.width()));
            lines.push(String::new());
            lines.push(self.jobs_table(figures, screen.width()));
            lines.push(screen.wrap(&intake_line(&figures.intake), 2));
            let doubt = figures.intake.as_ref().ok().and_then(|timing| disc_doubt(&self.bench, timing));
            lines.extend(doubt.map(|words| screen.wrap(&words, 2)));
        }
        if self.plot {
            lines.extend(
                self.figures.iter().map(|figures| drawing(figures, self.figures.len() > 1, screen.width())),
            );
        }
        let lacking = self.not_known();
        if !lacking.is_empty() {
            lines.push(String::new());
            lines.extend(lacking.iter().map(|words| screen.wrap(words, 2)));
            lines.push(screen.wrap(WHERE_FIELDS_STAND, 0));
        }
        lines.push(String::new());
        lines.push(screen.wrap("Degrees are after true top dead centre. Areas are of the windows' faces with the piston at the bottom; the passages behind them may pass less. mm2 deg is the open area summed over the crank angle, s/m the specific time-area: open area times time over swept volume.", 0));
        lines.extend(self.sources().into_iter().map(|source| screen.wrap(&source, 2)));
        lines.join("\n")
    }

    fn jobs_table(&self, figures: &PortFigures, width: usize) -> String {
        let mut head = vec!["together".to_owned(), "degrees".into(), "mm2 deg".into()];
        head.extend(self.rpm.iter().map(|rpm| format!("s/m at {}", grouped(*rpm))));
        head.push("wanted, s/m".into());
        let rows = figures.jobs.iter().map(|job| {
            let mut row = vec![
                job.name.to_owned(),
                figure(&job.degrees, 1),
                job.angle_area_m2_deg.as_ref().map_or_else(|_| "-".into(), |area| grouped(area * 1e6)),
            ];
            row.extend(self.rpm.iter().map(|rpm| figure(&job.specific_s_m(&self.bench, *rpm), 5)));
            row.push(job.band.as_ref().map_or_else(|| "no band set".to_owned(), band_words));
            row
        });
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let right: Vec<usize> = (1..head.len()).collect();
        table(&head, rows.collect(), &right, width)
    }

    /// Where the wanted bands are from.
    fn sources(&self) -> Vec<String> {
        let jobs = self.figures.first().map(|figures| figures.jobs.as_slice()).unwrap_or_default();
        jobs.iter()
            .map(|job| match &job.band {
                Some(band) => format!("{}: {}.", job.name, visible(band.source.trim_end_matches('.'))),
                None => format!(
                    "{}: no band is set; write yours into [{}] in configs/assumptions.toml.",
                    job.name,
                    job.table()
                ),
            })
            .collect()
    }

    fn not_known(&self) -> Vec<String> {
        let Some(figures) = self.figures.first() else { return Vec::new() };
        let windows = figures.windows.iter().map(|one| (one.window.name.as_str(), gap(&one.timing)));
        let jobs = figures.jobs.iter().map(|job| (job.name, gap(&job.angle_area_m2_deg)));
        let intake = match &figures.intake {
            Err(Gap::Without(_)) | Ok(_) => None,
            other => gap(other),
        };
        lacks(windows.chain(jobs).chain([("intake", intake)]))
    }
}

/// "0.008 to 0.010": both ends with as many decimals as the finer one needs.
pub(super) fn band_words(band: &Band) -> String {
    let fine = [band.from, band.to].iter().any(|end| !fixed(*end, 4).ends_with('0'));
    let decimals = if fine { 4 } else { 3 };
    format!("{} to {}", fixed(band.from, decimals), fixed(band.to, decimals))
}

fn timing_json(timing: &Known<Timing>) -> Json {
    let of = |pick: fn(&Timing) -> f64| number(&timing.clone().map(|timing| pick(&timing)), 2);
    json!({
        "opens_deg": of(|timing| timing.opens_deg),
        "closes_deg": of(|timing| timing.closes_deg),
        "duration_deg": of(Timing::duration_deg),
    })
}

fn windows_table(figures: &PortFigures, width: usize) -> String {
    let rows = figures
        .windows
        .iter()
        .map(|one| {
            let degrees =
                |pick: fn(&Timing) -> f64| figure(&one.timing.clone().map(|timing| pick(&timing)), 1);
            let name = match one.window.count {
                1 => visible(&one.window.name),
                count => format!("{count} x {}", visible(&one.window.name)),
            };
            vec![
                name,
                degrees(|timing| timing.opens_deg),
                degrees(|timing| timing.closes_deg),
                degrees(Timing::duration_deg),
                figure(&one.area_m2.clone().map(|area| area * 1e6), 0),
                figure(&one.width_over_bore.clone().map(|ratio| ratio * 100.0), 0),
            ]
        })
        .collect();
    table(
        &["window", "opens", "closes", "duration, deg", "area, mm2", "width, % of bore"],
        rows,
        &[1, 2, 3, 4, 5],
        width,
    )
}

fn intake_line(intake: &Known<Timing>) -> String {
    match intake {
        Ok(timing) => format!(
            "Intake opens {} before top, shuts {} after top: {} degrees.",
            fixed(-timing.opens_deg, 1),
            fixed(timing.closes_deg, 1),
            fixed(timing.duration_deg(), 1)
        ),
        Err(Gap::Without(why)) => format!("Intake: {why}."),
        Err(gap) => format!("Intake: {gap}."),
    }
}

fn drawing(figures: &PortFigures, two: bool, width: usize) -> String {
    let marks = [("exhaust", 'e'), ("transfers", 't'), ("intake", 'i')];
    let curves: Vec<Curve> = marks
        .into_iter()
        .filter_map(|(name, mark)| {
            let job = figures.jobs.iter().find(|job| job.name == name)?;
            let points: Vec<_> = job.curve.iter().map(|(angle, area)| (*angle, area * 1e6)).collect();
            (!points.is_empty()).then(|| Curve { mark, name: name.to_owned(), points })
        })
        .collect();
    if curves.is_empty() {
        return "\nNothing to draw: no port's area is known.".to_owned();
    }
    let x_name = if two {
        format!("degrees after top dead centre, power valve {}", valve_word(figures.valve))
    } else {
        "degrees after top dead centre".to_owned()
    };
    let plot = Plot { x_name: &x_name, y_name: "open area, mm2", curves, uprights: Vec::new() };
    format!("\n{}", plot.text(width, PLOT_ROWS))
}
