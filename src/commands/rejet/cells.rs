//! `rejet --cells`: every cell of an injected bike's fuel map for another air or fuel, and the injector's duty.

use std::io::{self, Write};

use super::Rejet;
use crate::advice::asking::Question;
use crate::advice::conditions::kept::Served;
use crate::advice::held::{Hold, Reference};
use crate::advice::learning::{Adviser, Floor};
use crate::advice::maps::steps::{TrimSteps, fuel_over};
use crate::advice::maps::trim::{self, FuelFactor, TrimMap, TrimMapRequest, trim_map};
use crate::advice::rejet::{RejetRequest, WantedFuel};
use crate::commands::desk::Desk;
use crate::notebook::{AirEntry, FieldSet, Injection, MapTable, When, ZONES};
use crate::quantity::{Measure, Quantity, Units, nearly_equal, trimmed};
use crate::report::Trouble;
use crate::report::history::questioned::settle;
use crate::report::jetting::cells::TrimMapAnswer;
use crate::report::jetting::first::before::{another_injection, before_all, held};

/// The trim of the whole map.
const TRIM: &str = "injection.trim";

impl Rejet {
    /// Every cell for one air.
    pub(super) fn show_cells(
        &self,
        desk: &Desk,
        question: &Question<'_>,
        air_and_where_from: (&AirEntry, &Served),
    ) -> Result<(), Trouble> {
        let now = (desk.moment.now, desk.screen().units());
        let cells = self.cells_of(question, air_and_where_from, now)?;
        let answer = cells.answer(&self.bike);
        if self.csv {
            // What `map load` reads has no room for words.
            if let Some(words) = held(question) {
                desk.screen().note(&words);
            }
            return write_csv(&answer);
        }
        desk.screen().answer(&answer, || answer.text(&desk.screen()))
    }

    /// The cells of a bike with one cylinder, or of one of several.
    pub(super) fn cells_of<'q>(
        &self,
        question: &'q Question<'_>,
        (air, served): (&AirEntry, &Served),
        (now, units): (When, Units),
    ) -> Result<Cells<'q>, Trouble> {
        // A file of cells has no room for a doubt: it is for an air that is right.
        let place = served.origin.as_ref().map(|origin| &origin.place).or(self.place.as_ref());
        let asked = question.slips(air, place.map(String::as_str), (now, units))?;
        settle(&asked, self.sure, None)?;
        let setup = question.setup()?;
        let Some(injection) = &setup.injection else {
            return Err(Trouble::request(
                Some("cells"),
                format!("{} has no fuel injection, so there are no cells to trim.", self.bike),
                "Leave --cells out; for a carburetor the answer is in jets.",
            ));
        };
        self.require_the_baselines_trim(question)?;
        let settings = self.settings(question)?;
        let evidence = if self.theory { None } else { Some(question.evidence(&settings)?) };
        let adviser = question.adviser(evidence.as_ref(), &settings, None)?;
        let asked = question.request(air.air()?, None)?;
        let rows = rows(question, injection, (&adviser, &asked))?;
        let steps = TrimSteps::of(injection, question.tables().shares);
        let count = steps.count(&rows.iter().map(|row| (row.wanted, row.now)).collect::<Vec<_>>());
        let after = |row: &MapRow, number: usize| steps.after(number, row.wanted, row.now);
        let by_throttle = |throttle: f64| {
            let at = |row: &&MapRow| nearly_equal(1.0 + row.throttle, 1.0 + throttle);
            rows.iter().find(at).map_or(1.0, |row| after(row, 1))
        };
        let request = TrimMapRequest {
            injection,
            map: question.whole.fields.map(trim::MAP),
            limiter_rpm: setup
                .ignition
                .as_ref()
                .and_then(|ignition| ignition.limiter.as_ref())
                .map(Measure::si),
            fuel_density: setup.fuel.as_ref().and_then(|fuel| fuel.density.as_ref()).map(Measure::si),
            factor: FuelFactor::ByThrottle(&by_throttle),
        };
        let mut trim = trim_map(&request)?;
        trim.warnings.splice(0..0, before_all(question, None));
        trim.notes.extend(served.words().map(|words| format!("For the {words}.")));
        let then: Vec<Vec<f64>> =
            (2..=count).map(|number| rows.iter().map(|row| after(row, number)).collect()).collect();
        let theory = crate::advice::rejet(&asked)?.factor.total;
        // The widest throttle opening is the one that seizes.
        let risk = rows.last().and_then(|row| adviser.risk_of(after(row, 1), theory));
        let on_the_bike = question.now.fields.map(trim::MAP);
        Ok(Cells { trim, on_the_bike, then, step: steps.step(), risk, air: air.clone() })
    }

    /// The cells are for the trim that the baseline had: beside another one the change would count twice.
    fn require_the_baselines_trim(&self, question: &Question<'_>) -> Result<(), Trouble> {
        let trim = |fields: &FieldSet| fields.quantity(TRIM).map_or(0.0, Quantity::si);
        let (then, now) = (trim(&question.whole.fields), trim(&question.now.fields));
        if nearly_equal(1.0 + then, 1.0 + now) {
            return Ok(());
        }
        let percent = |share: f64| trimmed(100.0 * share, 1);
        // After a lean run no trim is taken back that gave it more.
        let held = held(question).filter(|_| then < now);
        let whole = question.book.of_all().combination(&self.bike, None)?.fields;
        let own = question.book.cylinder().filter(|_| !whole.owners(TRIM).is_empty());
        let field = own.map_or_else(|| TRIM.to_owned(), |name| format!("{name}.{TRIM}"));
        let help = if held.is_some() {
            "Leave --cells out and use the trim, which is counted from what is on the bike.".to_owned()
        } else {
            format!(
                "Put it back first: `reedbook change {} {field}=\"{} %\" --why \"into the cells\"`, or leave --cells out and use the trim.",
                self.bike,
                percent(then)
            )
        };
        Err(Trouble::request(
            Some(TRIM),
            format!(
                "{}The trim on the bike is {} %, and in setup {} it was {} %: with the cells as well, the change would count twice.",
                held.map(|words| words + " ").unwrap_or_default(),
                percent(now),
                question.baseline.number,
                percent(then)
            ),
            help,
        ))
    }
}

/// The cells that were found.
pub(super) struct Cells<'q> {
    trim: TrimMap,
    on_the_bike: Option<&'q MapTable>,
    then: Vec<Vec<f64>>,
    step: f64,
    risk: Option<(f64, f64)>,
    /// The air that they are for.
    air: AirEntry,
}

impl Cells<'_> {
    pub(super) fn answer<'a>(&'a self, bike: &'a str) -> TrimMapAnswer<'a> {
        let on_the_bike = self.on_the_bike.unwrap_or(&self.trim.before);
        TrimMapAnswer::new(bike, (&self.trim, on_the_bike), (&self.then, self.step), (self.risk, &self.air))
    }
}

/// The cells as `map load` reads them, on standard output.
pub(super) fn write_csv(answer: &TrimMapAnswer<'_>) -> Result<(), Trouble> {
    io::stdout().lock().write_all(answer.csv().as_bytes()).map_err(|error| Trouble::output(&error))
}

/// A row of the map.
struct MapRow {
    /// Throttle opening, percent.
    throttle: f64,
    /// Fuel over the baseline's that is on the bike.
    now: f64,
    /// The same that is wanted in the end.
    wanted: f64,
}

/// What each row of the map wants and has, fuel over the baseline's.
fn rows(
    question: &Question<'_>,
    injection: &Injection,
    (adviser, asked): (&Adviser, &RejetRequest<'_>),
) -> Result<Vec<MapRow>, Trouble> {
    let Some(map) = question.whole.fields.map(trim::MAP) else {
        return Ok(Vec::new());
    };
    let now = question.now.fields.map(trim::MAP).unwrap_or(map);
    let Some(now) = fuel_over(map, now, injection) else {
        return Err(another_injection(question, trim::MAP));
    };
    // What a lean run forbids, and cannot be reckoned from here, is anything leaner than what is on the bike.
    let reference = Reference::new(question.setup()?, &question.whole.fields);
    let reckoned = |hold: &Hold| hold.is_reckoned_against(reference, &question.tables());
    // Nor is any cell leaned after a lean run at full throttle, wherever it lies.
    let stays = |hold: &Hold| !reckoned(hold) || hold.zone == "full" || hold.seizure;
    let stays = question.holds.holds.iter().any(stays);
    let floors = question.floors(&asked.air)?;
    let wanted = wanted((question, &floors), (adviser, asked), injection)?;
    let throttles = if map.throttle.is_empty() { &[100.0] } else { map.throttle.as_slice() };
    let rows = throttles.iter().zip(now).map(|(throttle, now)| {
        let wanted = at_throttle(&wanted, *throttle);
        MapRow { throttle: *throttle, now, wanted: if stays { wanted.max(now) } else { wanted } }
    });
    Ok(rows.collect())
}

/// The fuel wanted at each zone: by theory, by the record where it has spoken, but no more sizes above theory and floors than of a jet.
fn wanted(
    (question, floors): (&Question<'_>, &[Floor]),
    (adviser, asked): (&Adviser, &RejetRequest<'_>),
    injection: &Injection,
) -> Result<[WantedFuel; ZONES.len()], Trouble> {
    let theory = crate::advice::rejet(asked)?.factor.total;
    let steps = TrimSteps::of(injection, question.tables().shares);
    let mut wanted = WantedFuel::by_theory(theory);
    for mut spoken in adviser.wanted(asked, floors)? {
        let floor = floors.iter().filter(|floor| floor.zone == spoken.zone).map(|floor| floor.least);
        let least = floor.fold(theory, f64::max);
        // At full throttle the least is the size that was chosen, as for the trim of the whole map.
        let factor = if spoken.zone == "full" { spoken.least } else { spoken.factor };
        (spoken.factor, spoken.least) = (factor.min(steps.most(least)), spoken.least.min(steps.most(least)));
        wanted.iter_mut().filter(|zone| zone.zone == spoken.zone).for_each(|zone| *zone = spoken);
    }
    Ok(wanted)
}

/// The fuel wanted at a throttle opening, percent: straight between the zones, and never less than what is not too lean.
fn at_throttle(wanted: &[WantedFuel], throttle: f64) -> f64 {
    let lift = throttle / 100.0;
    let at = |zone: &WantedFuel| zone.factor.max(zone.least);
    let upper = wanted.partition_point(|zone| zone.lift < lift);
    match (upper.checked_sub(1).and_then(|below| wanted.get(below)), wanted.get(upper)) {
        (Some(below), Some(above)) => {
            let along = (lift - below.lift) / (above.lift - below.lift);
            at(below) + along * (at(above) - at(below))
        }
        (Some(only), None) | (None, Some(only)) => at(only),
        (None, None) => 1.0,
    }
}
