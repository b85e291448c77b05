//! `rejet`: the jetting, or the injection trim, for other air or fuel.

use clap::Args;

use super::Desk;
use super::air_options::AirOptions;
use super::engine_options::quantity;
use crate::advice::{RejetRequest, record, rejet, standing};
use crate::notebook::{AirEntry, Assignment, Fuel};
use crate::report::{RejetReport, Trouble, air_in_short};
use crate::store::{Book, ChangeRequest, SetupName, change};

/// What the bike wants in other air or on other fuel, from a setup that was right
///
/// The fuel is to follow K = (dry density ratio) × √(moist density ratio, inverse) × fuel and oil terms (elementary
/// carburetor; Heywood, Internal Combustion Engine Fundamentals, 1988, ch. 7, from memory). A jet numbered by flow moves as
/// K, one numbered by bore as √K; with the needle known, main jet and needle annulus are taken in series. Never leaner than
/// computed at full throttle.
#[derive(Debug, Args)]
pub(super) struct Rejet {
    /// The bike
    bike: String,
    /// The setup that was right: a number, latest or proven
    #[arg(long, value_name = "SETUP", default_value = "proven")]
    baseline: SetupName,
    /// The air it was right in, as one line: "temp=20 C; baro=1008 hPa; humidity=55"; otherwise its proven mark's, its
    /// last outing's, or the one noted with the change
    #[arg(long, value_name = "AIR")]
    baseline_air: Option<String>,
    /// Record the advice as a change
    #[arg(long)]
    record: bool,
    /// Why, with --record
    #[arg(long, short)]
    why: Option<String>,
    #[command(flatten)]
    fuel: FuelOptions,
    #[command(flatten)]
    air: AirOptions,
}

/// What changes about the fuel.
#[derive(Debug, Args)]
#[command(next_help_heading = "Fuel")]
struct FuelOptions {
    /// Name of the new fuel
    #[arg(long, value_name = "NAME")]
    fuel_name: Option<String>,
    /// Its density at 15 C without oil ("745 kg/m3")
    #[arg(long, value_name = "DENSITY", allow_negative_numbers = true)]
    fuel_density: Option<String>,
    /// Its stoichiometric ratio, air to fuel by mass
    #[arg(long, value_name = "RATIO", allow_negative_numbers = true)]
    stoichiometric_ratio: Option<String>,
    /// Petrol to oil by volume: 32 means 32:1
    #[arg(long, value_name = "RATIO", allow_negative_numbers = true)]
    oil_ratio: Option<String>,
    /// Temperature of the fuel
    #[arg(long, value_name = "TEMPERATURE", allow_negative_numbers = true)]
    fuel_temp: Option<String>,
}

impl FuelOptions {
    fn fuel(&self) -> Result<Option<Fuel>, Trouble> {
        let fuel = Fuel {
            name: self.fuel_name.clone(),
            density: quantity("fuel.density", self.fuel_density.as_deref())?,
            stoichiometric_ratio: quantity(
                "fuel.stoichiometric_ratio",
                self.stoichiometric_ratio.as_deref(),
            )?,
            oil_ratio: quantity("fuel.oil_ratio", self.oil_ratio.as_deref())?,
            oil_density: None,
            oil: None,
            temperature: quantity("fuel.temperature", self.fuel_temp.as_deref())?,
        };
        let given = fuel.name.is_some()
            || fuel.density.is_some()
            || fuel.stoichiometric_ratio.is_some()
            || fuel.oil_ratio.is_some()
            || fuel.temperature.is_some();
        Ok(given.then_some(fuel))
    }
}

impl Rejet {
    pub(super) fn run(&self, desk: &Desk) -> Result<(), Trouble> {
        let garage = desk.garage()?;
        let book = Book::open(&garage)?;
        let baseline = book.recorded(&self.bike, &self.baseline)?;
        let whole = book.combination(&self.bike, Some(&baseline))?;
        let Some(setup) = whole.setup.as_ref().filter(|_| whole.findings.is_empty()) else {
            return Err(Trouble::findings(whole.findings));
        };
        let baseline_air = self.air_of_baseline(&book, &baseline)?;
        let fuel = self.fuel.fuel()?;
        let air = match self.air.entry(garage.is_imperial())? {
            Some(air) => air,
            None if fuel.is_some() => baseline_air.0.clone(),
            None => {
                return Err(Trouble::request(
                    None,
                    "Neither air nor fuel was given to rejet for.",
                    "Give today's air, like --temp 18 --baro 845 --humidity 45, or --metar with --elevation.",
                ));
            }
        };
        let (from, to) = (baseline_air.0.reading()?, air.reading()?);
        let (from_doubt, to_doubt) = (doubt(&from)?, doubt(&to)?);
        let (jets, needles, shares) = (garage.jets()?, garage.needles()?, garage.shares()?);
        let request = RejetRequest {
            baseline_doubt: Some(&from_doubt),
            doubt: Some(&to_doubt),
            fuel: fuel.as_ref(),
            ..RejetRequest::new(setup, baseline_air.0.air()?, air.air()?, &jets, &needles, &shares)
        };
        let answer = rejet(&request)?;
        let now = book.combination(&self.bike, None)?;
        let to_set = record::to_set(&answer, &now.fields);
        let mut remarks = to.remarks();
        remarks.extend(standing::not_right(&book, &self.bike, &baseline)?);
        let moved_on = record::moved_on(&whole.fields, &now.fields);
        if !moved_on.is_empty() {
            remarks.push(format!(
                "On the bike now these differ from setup {}: {}. The advice holds for setup {}.",
                baseline.number,
                moved_on.join(", "),
                baseline.number
            ));
        }
        let mut report = RejetReport {
            bike: &self.bike,
            baseline: baseline.number,
            baseline_air: &baseline_air,
            air: &air,
            rejet: &answer,
            now: &now.fields,
            to_set: &to_set,
            remarks,
            recorded: None,
        };
        if self.record {
            standing::require_recorded(&book, &self.bike)?;
            report.recorded = Some(self.record_it(desk, &garage, &report)?);
        }
        desk.screen().answer(&report.json(), || report.text(&desk.screen()))
    }

    fn air_of_baseline(
        &self,
        book: &Book<'_>,
        baseline: &crate::store::SetupRecord,
    ) -> Result<(AirEntry, String), Trouble> {
        if let Some(line) = &self.baseline_air {
            return Ok((AirEntry::parse(line)?, "as given".into()));
        }
        book.air_of(&self.bike, baseline)?.ok_or_else(|| {
            Trouble::request(
                Some("baseline_air"),
                format!("The air that setup {} was right in is not known.", baseline.number),
                format!("Mark it: `reedbook proven {} {} --temp … --baro … --humidity …`, or give --baseline-air \"temp=20 C; baro=1008 hPa; humidity=55\".", self.bike, baseline.number),
            )
        })
    }

    fn record_it(
        &self,
        desk: &Desk,
        garage: &crate::store::Garage,
        report: &RejetReport<'_>,
    ) -> Result<u32, Trouble> {
        let unsafe_main = report.rejet.jets.iter().any(|jet| jet.advised.is_none());
        if unsafe_main {
            return Err(Trouble::request(
                None,
                "There is a circuit for which no jet in the box is advised, so nothing was recorded.",
                "Fit a jet that is large enough, add it to configs/jets.toml, and ask again.",
            ));
        }
        let assignments = report
            .to_set
            .iter()
            .map(|(field, value)| Assignment::parse(&format!("{field}={value}")))
            .collect::<Result<_, _>>()?;
        let why = self.why.clone().unwrap_or_else(|| {
            format!("Rejet from setup {} for {}", report.baseline, air_in_short(&desk.screen(), report.air))
        });
        let request = ChangeRequest {
            bike: self.bike.clone(),
            assignments,
            why,
            air: Some(report.air.clone()),
            ..ChangeRequest::default()
        };
        Ok(change(garage, &request, &desk.moment)?.setup.number)
    }
}

fn doubt(reading: &crate::air::Reading) -> Result<crate::air::Uncertainty, Trouble> {
    Ok(reading.uncertainty().map_err(crate::notebook::AirEntryError::from)?)
}
