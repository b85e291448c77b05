//! `rejet --cells`: every cell of an injected bike's fuel map for another air or fuel, and the injector's duty.

use std::io::{self, Write};

use super::{Question, Rejet};
use crate::advice::rejet::WantedFuel;
use crate::advice::trim_map::{self, FuelFactor, TrimMapRequest, trim_map};
use crate::commands::Desk;
use crate::notebook::{AirEntry, FieldSet};
use crate::quantity::{Measure, Quantity, nearly_equal, trimmed};
use crate::report::Trouble;
use crate::report::jetting::cells::TrimMapReport;

/// The trim of the whole map.
const TRIM: &str = "injection.trim";

impl Rejet {
    /// Every cell for one air.
    pub(super) fn show_cells(
        &self,
        desk: &Desk,
        question: &Question<'_>,
        air: &AirEntry,
    ) -> Result<(), Trouble> {
        let setup = question.setup()?;
        let Some(injection) = &setup.injection else {
            return Err(Trouble::request(
                Some("cells"),
                format!("{} has no fuel injection, so there are no cells to trim.", self.bike),
                "Leave --cells out; for a carburetor the answer is in jets.",
            ));
        };
        self.require_the_baselines_trim(question)?;
        let settings = self.settings(question.garage)?;
        let evidence = if self.theory { None } else { Some(question.evidence(&settings)?) };
        let adviser = question.adviser(evidence.as_ref(), &settings, None)?;
        let asked = question.request(air.air()?, None)?;
        let factor = crate::advice::rejet(&asked)?.factor.total;
        let mut wanted = WantedFuel::by_theory(factor);
        for spoken in adviser.wanted(&asked, &question.floors(&air.air()?)?)? {
            wanted.iter_mut().filter(|zone| zone.zone == spoken.zone).for_each(|zone| *zone = spoken);
        }
        let by_throttle = |throttle: f64| at_throttle(&wanted, throttle);
        let request = TrimMapRequest {
            injection,
            map: question.whole.fields.map(trim_map::MAP),
            limiter_rpm: setup
                .ignition
                .as_ref()
                .and_then(|ignition| ignition.limiter.as_ref())
                .map(Measure::si),
            fuel_density: setup.fuel.as_ref().and_then(|fuel| fuel.density.as_ref()).map(Measure::si),
            factor: FuelFactor::ByThrottle(&by_throttle),
        };
        let mut trim = trim_map(&request)?;
        trim.warnings.splice(0..0, question.before_all());
        let report = TrimMapReport { bike: &self.bike, trim: &trim };
        if self.csv {
            let text = report.csv();
            return io::stdout().lock().write_all(text.as_bytes()).map_err(|error| Trouble::output(&error));
        }
        desk.screen().answer(&report.json(), || report.text(&desk.screen()))
    }

    /// The cells are for the trim that the baseline had: beside another one the change would count twice.
    fn require_the_baselines_trim(&self, question: &Question<'_>) -> Result<(), Trouble> {
        let trim = |fields: &FieldSet| fields.quantity(TRIM).map_or(0.0, Quantity::si);
        let (then, now) = (trim(&question.whole.fields), trim(&question.now.fields));
        if nearly_equal(1.0 + then, 1.0 + now) {
            return Ok(());
        }
        let percent = |share: f64| trimmed(100.0 * share, 1);
        Err(Trouble::request(
            Some(TRIM),
            format!(
                "The trim on the bike is {} %, and in setup {} it was {} %: with the cells as well, the change would count twice.",
                percent(now),
                question.baseline.number,
                percent(then)
            ),
            format!(
                "Put it back first: `reedbook change {} {TRIM}=\"{} %\" --why \"into the cells\"`, or leave --cells out and use the trim.",
                self.bike,
                percent(then)
            ),
        ))
    }
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
