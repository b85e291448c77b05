//! `ignition`: the base setting, and when the spark comes at each engine speed.

use clap::Args;

use crate::advice::figures::ignition::{
    degrees_for_travel, fired_map, firing, ignition_figures, map, travel_m,
};
use crate::advice::figures::{Bench, Gap, Known};
use crate::commands::desk::Desk;
use crate::commands::options::engine::{EngineOptions, ReadSetup, gap, length, quantity, speeds};
use crate::engine::spark::rim_angle_deg;
use crate::notebook::MapTable;
use crate::quantity::{Angle, Percent, fixed, trimmed};
use crate::report::{
    AgainstIgnition, AtThrottle, Conversion, ConvertedFrom, FiringRow, IgnitionAnswer, Subject, Trouble,
};
use crate::store::{Book, Garage, SetupName};

/// When the spark comes: base, map and lag as a sum
///
/// An absolute map says the angle itself, to a relative one the base is added: taken the wrong way the advance is counted
/// twice.
#[derive(Debug, Args)]
#[command(after_long_help = "How it is worked out:\n  reedbook guide figures")]
pub(in crate::commands) struct Ignition {
    #[command(flatten)]
    engine: EngineOptions,
    /// At these engine speeds, like 9500,11000; otherwise at the map's breakpoints
    #[arg(long, value_name = "RPM", value_delimiter = ',')]
    rpm: Vec<String>,
    /// At this throttle opening in percent; otherwise at the map's widest
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true)]
    throttle: Option<String>,
    /// Show what differs from this setup: a number, latest, proven or now
    #[arg(long, value_name = "SETUP")]
    against: Option<SetupName>,
    /// Draw when it fires over engine speed, with --against that setup's curve too
    #[arg(long)]
    plot: bool,
    /// Convert degrees before top dead centre into travel of the piston
    #[arg(long, value_name = "DEGREES", help_heading = "Convert", allow_negative_numbers = true)]
    deg: Option<String>,
    /// Convert travel before top dead centre, as a dial gauge shows it, into degrees ("1.15 mm")
    #[arg(long, value_name = "LENGTH", help_heading = "Convert", allow_negative_numbers = true)]
    travel: Option<String>,
    /// Convert a length along the flywheel's rim, as a tape shows it, into degrees; needs --rim-diameter
    #[arg(
        long,
        value_name = "LENGTH",
        help_heading = "Convert",
        requires = "rim_diameter",
        allow_negative_numbers = true
    )]
    rim: Option<String>,
    /// The flywheel's diameter across that rim
    #[arg(long, value_name = "LENGTH", help_heading = "Convert", requires = "rim")]
    rim_diameter: Option<String>,
}

impl Ignition {
    pub(in crate::commands) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        self.engine.answer(desk, || self.answer(desk), IgnitionAnswer::text)
    }

    fn answer(&self, desk: &Desk) -> Result<IgnitionAnswer, Trouble> {
        let garage = desk.garage()?;
        let book = desk.book(&garage)?;
        let seen = self.engine.see(&garage, &book, desk)?;
        let bench = seen.bench();
        let figures = ignition_figures(&bench);
        let throttle = self.throttle()?;
        let rows = rows(&bench, &speeds(&self.rpm)?, throttle);
        seen.refuse_wrong([
            gap(&figures.base_deg),
            gap(&figures.base_m),
            gap(&figures.angles),
            gap(&figures.corner),
            gap(&figures.steepest),
        ])?;
        seen.refuse_wrong(rows.iter().flatten().map(FiringRow::gap))?;
        let other = self.against.as_ref().map(|name| self.other(&garage, &book, name)).transpose()?;
        let against = other.as_ref().map(|other| against(&seen, other, throttle)).transpose()?;
        let remarks = self.remarks(&bench, figures.lag_known, throttle, &rows);
        let at = AtThrottle {
            throttle: opening(&bench, throttle),
            widest: opening(&bench, None),
            rows,
            curve: self.plot.then(|| curve(&bench, throttle)),
        };
        let conversions = self.conversions(&bench, garage.is_imperial())?;
        Ok(IgnitionAnswer::new(seen.subject.clone(), &bench, &figures, at, conversions, against, remarks))
    }

    fn throttle(&self) -> Result<Option<f64>, Trouble> {
        let typed: Option<Percent> = quantity("--throttle", self.throttle.as_deref())?;
        // A share is kept as a fraction of one.
        let percent = typed.map(|share| share.si() * 100.0);
        match percent {
            Some(percent) if !(0.0..=100.0).contains(&percent) => Err(Trouble::request(
                Some("--throttle"),
                format!(
                    "--throttle is {}; allowed is 0 to 100 %.",
                    self.throttle.as_deref().unwrap_or_default()
                ),
                "Give the opening in percent, 100 for wide open.",
            )),
            _ => Ok(percent),
        }
    }

    /// The setup it is held against, without what is supposed.
    fn other(&self, garage: &Garage, book: &Book<'_>, name: &SetupName) -> Result<ReadSetup, Trouble> {
        let setup = book.resolve(&self.engine.bike, name)?;
        let called = setup.as_ref().map_or_else(|| "now".to_owned(), |one| format!("setup {}", one.number));
        let whole = book.combination(&self.engine.bike, setup.as_ref())?;
        if !whole.findings.is_empty() {
            return Err(Trouble::findings(whole.findings));
        }
        let subject = Subject {
            bike: self.engine.bike.clone(),
            setup: called,
            supposed: Vec::new(),
            follows: Vec::new(),
            cylinder: None,
        };
        Ok(ReadSetup { subject, whole, assumptions: garage.assumptions()? })
    }

    fn remarks(
        &self,
        bench: &Bench<'_>,
        lag_known: bool,
        throttle: Option<f64>,
        rows: &Known<Vec<FiringRow>>,
    ) -> Vec<String> {
        let mut remarks = Vec::new();
        let Ok(map) = map(bench) else { return remarks };
        if !lag_known {
            remarks.push("No lag is written down (ignition.lag), so none is taken off.".to_owned());
        }
        if throttle.is_some() && map.throttle.is_empty() {
            remarks
                .push("The map runs over engine speed alone: it is the same at every throttle.".to_owned());
        }
        remarks.extend(too_early(bench, rows));
        let ends = map.rpm.first().zip(map.rpm.last());
        let beyond = |(first, last): (&f64, &f64)| {
            speeds(&self.rpm).unwrap_or_default().iter().any(|rpm| rpm < first || rpm > last)
        };
        if let Some((first, last)) = ends.filter(|ends| beyond(*ends)) {
            remarks.push(format!(
                "The map runs from {first} to {last} rpm; beyond that its last cell is taken. Ask the maker whether the box does so."
            ));
        }
        remarks
    }

    fn conversions(&self, bench: &Bench<'_>, imperial: bool) -> Result<Vec<Conversion>, Trouble> {
        let mut done = Vec::new();
        if let Some(text) = &self.deg {
            let degrees: Option<Angle> = quantity("--deg", Some(text))?;
            let degrees = degrees.map_or(0.0, |angle| angle.si());
            within("--deg", text, degrees, 180.0)?;
            done.push(conversion(bench, ConvertedFrom::Degrees, text, degrees));
        }
        if let Some(text) = &self.travel {
            let travel = length("--travel", Some(text), imperial)?.unwrap_or(0.0);
            let degrees = refused("--travel", degrees_for_travel(bench, travel))?;
            done.push(Conversion::new(ConvertedFrom::Travel, text.clone(), degrees, &Ok(travel)));
        }
        if let (Some(text), Some(across)) = (&self.rim, &self.rim_diameter) {
            let along = length("--rim", Some(text), imperial)?.unwrap_or(0.0);
            let diameter = length("--rim-diameter", Some(across), imperial)?.unwrap_or(0.0);
            let degrees = rim_angle_deg(along, diameter)
                .map_err(|error| Trouble::request(Some("--rim"), error.to_string(), RIM_HELP))?;
            let typed = format!("{text} on a rim of {across}");
            done.push(conversion(bench, ConvertedFrom::Rim, &typed, degrees));
        }
        Ok(done)
    }
}

const RIM_HELP: &str = "Measure along the rim with a tape, and across the rim that the marks are on.";

fn conversion(bench: &Bench<'_>, option: ConvertedFrom, typed: &str, degrees: f64) -> Conversion {
    Conversion::new(option, typed.to_owned(), Ok(degrees), &travel_m(bench, Ok(degrees)))
}

fn within(option: &str, text: &str, value: f64, most: f64) -> Result<(), Trouble> {
    if value.abs() <= most {
        return Ok(());
    }
    Err(Trouble::request(
        Some(option),
        format!("{option} is {text}; allowed is -{most} to {most} degrees."),
        "Give degrees of the crank before top dead centre, negative after it.",
    ))
}

/// What was typed and cannot be is an error of what was typed, not of the setup.
fn refused(option: &str, known: Known<f64>) -> Result<Known<f64>, Trouble> {
    match known {
        Err(Gap::Wrong { error, .. }) => Err(Trouble::request(
            Some(option),
            error.to_string(),
            "Give what the dial gauge shows before top dead centre, with its unit, like \"1.15 mm\".",
        )),
        known => Ok(known),
    }
}

/// The earliest spark of the rows, where it comes before the most advance that is allowed.
fn too_early(bench: &Bench<'_>, rows: &Known<Vec<FiringRow>>) -> Option<String> {
    let most = bench.assumptions.map_limits.as_ref()?.most_advance.as_ref()?.si();
    let fired = rows.iter().flatten().filter_map(FiringRow::fires_at);
    let (rpm, earliest) = fired.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, degrees)| *degrees > most)?;
    Some(format!(
        "It fires at {} degrees at {} rpm, and the most advance in configs/assumptions.toml is {}. Check what the map's angles mean before the engine is started.",
        fixed(earliest, 2),
        trimmed(rpm, 1),
        trimmed(most, 2)
    ))
}

/// The throttle a map is read at; none for a map over engine speed alone.
fn opening(bench: &Bench<'_>, asked: Option<f64>) -> Option<f64> {
    let widest = map(bench).ok()?.throttle.last().copied()?;
    Some(asked.unwrap_or(widest))
}

fn row(bench: &Bench<'_>, map: &MapTable, rpm: f64, throttle: f64) -> FiringRow {
    let sum = firing(bench, rpm, throttle);
    let map_deg = map.value_at(rpm, throttle).ok_or_else(|| Gap::Needs(vec!["ignition.advance".into()]));
    let travel_m = travel_m(bench, sum.clone().map(|sum| sum.firing_deg));
    FiringRow::new(rpm, map_deg, &sum, &travel_m)
}

/// The sum at the speeds asked for, else at the map's breakpoints.
fn rows(bench: &Bench<'_>, asked: &[f64], throttle: Option<f64>) -> Known<Vec<FiringRow>> {
    let map = map(bench)?;
    let throttle = opening(bench, throttle).unwrap_or(100.0);
    let speeds = if asked.is_empty() { &map.rpm } else { asked };
    Ok(speeds.iter().map(|rpm| row(bench, map, *rpm, throttle)).collect())
}

/// When it fires at the map's breakpoints, for a drawing.
fn curve(bench: &Bench<'_>, throttle: Option<f64>) -> Known<Vec<(f64, f64)>> {
    let throttle = opening(bench, throttle).unwrap_or(100.0);
    let points = map(bench)?.rpm.iter();
    points.map(|rpm| Ok((*rpm, firing(bench, *rpm, throttle)?.firing_deg))).collect()
}

/// The other setup beside this one: as both fire, or where one of them does not say enough, the numbers in the maps alone.
fn against(seen: &ReadSetup, other: &ReadSetup, throttle: Option<f64>) -> Result<AgainstIgnition, Trouble> {
    let (bench, before) = (seen.bench(), other.bench());
    let (fired, fired_before) = (fired_map(&bench), fired_map(&before));
    seen.refuse_wrong([gap(&fired)])?;
    other.refuse_wrong([gap(&fired_before)])?;
    let as_fired = fired.is_ok() && fired_before.is_ok();
    let maps = match (fired, fired_before) {
        (Ok(new), Ok(old)) => Ok((old, new)),
        _ => map(&before).and_then(|old| Ok((old.clone(), map(&bench)?.clone()))),
    };
    Ok(AgainstIgnition::new(other.subject.setup.clone(), as_fired, maps, curve(&before, throttle)))
}
