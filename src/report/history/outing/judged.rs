//! What was judged and seen in a run: of all cylinders, or of each of several.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::notebook::{Mixture, OwnReading, Verdict};
use crate::report::out::figure::Figure;
use crate::store::OutingRecord;

/// What was seen at one of several cylinders.
#[derive(Debug, Serialize, JsonSchema)]
pub(in crate::report::history) struct SeenAt<'a> {
    /// Its mixture by throttle zone: only the zones that were judged there.
    #[serde(skip)]
    pub(in crate::report::history) verdict: ZoneVerdicts,
    /// Its plug.
    pub(in crate::report::history) plug: Option<&'a str>,
    /// Its piston.
    pub(in crate::report::history) piston: Option<&'a str>,
    /// Its highest exhaust-gas temperature, degrees Celsius.
    exhaust_gas_c: Option<Figure<2>>,
}

/// What was judged.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(untagged)]
pub(in crate::report::history) enum Judged<'a> {
    /// The mixture by throttle zone, of the only cylinder or of all.
    OfAll(ZoneVerdicts),
    /// The same of each cylinder, by its name: what was said of it, else what was said of all. Where it is not known which engine ran, of
    /// those that were named, and what was said of "all".
    OfEach(BTreeMap<&'a str, ZoneVerdicts>),
}

/// The mixture by throttle zone.
#[derive(Debug, Default, Serialize, JsonSchema)]
pub(in crate::report::history) struct ZoneVerdicts {
    /// Slide shut.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Mixture")]
    pub(in crate::report::history) idle: Option<Mixture>,
    /// An eighth open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Mixture")]
    pub(in crate::report::history) eighth: Option<Mixture>,
    /// A quarter open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Mixture")]
    pub(in crate::report::history) quarter: Option<Mixture>,
    /// Half open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Mixture")]
    pub(in crate::report::history) half: Option<Mixture>,
    /// Three quarters open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Mixture")]
    pub(in crate::report::history) three_quarters: Option<Mixture>,
    /// Fully open.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Mixture")]
    pub(in crate::report::history) full: Option<Mixture>,
}

impl<'a> SeenAt<'a> {
    pub(in crate::report::history) fn of(own: &'a OwnReading) -> Self {
        Self {
            verdict: own.verdict.as_ref().map(ZoneVerdicts::of).unwrap_or_default(),
            plug: own.plug.as_deref(),
            piston: own.piston.as_deref(),
            exhaust_gas_c: own.exhaust_gas.as_ref().map(|temperature| Figure(temperature.si() - 273.15)),
        }
    }
}

impl<'a> Judged<'a> {
    pub(in crate::report::history) fn of(record: &'a OutingRecord) -> Self {
        let outing = &record.outing;
        let of = |verdict: Option<&Verdict>| verdict.map(ZoneVerdicts::of).unwrap_or_default();
        if outing.cylinder.values().all(|own| own.verdict.is_none()) {
            return Self::OfAll(of(outing.verdict.as_ref()));
        }
        let names = record.cylinders.iter().chain(outing.cylinder.keys()).map(String::as_str);
        let each = names.map(|name| (name, of(outing.for_cylinder(name).verdict.as_ref())));
        let all = outing.verdict.as_ref().filter(|_| record.cylinders.is_empty());
        Self::OfEach(each.chain(all.map(|all| ("all", ZoneVerdicts::of(all)))).collect())
    }
}

impl SeenAt<'_> {
    fn is_nothing(&self) -> bool {
        self.plug.is_none() && self.piston.is_none() && self.exhaust_gas_c.is_none()
    }
}

/// Whether nothing besides the mixture was seen at any.
pub(in crate::report::history) fn nothing_seen(cylinders: &BTreeMap<&str, SeenAt<'_>>) -> bool {
    cylinders.values().all(SeenAt::is_nothing)
}

/// Those at which something besides the mixture was seen.
pub(in crate::report::history) fn what_was_seen<S: Serializer>(
    cylinders: &BTreeMap<&str, SeenAt<'_>>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_map(cylinders.iter().filter(|(_, seen)| !seen.is_nothing()))
}

impl ZoneVerdicts {
    pub(in crate::report::history) fn of(verdict: &Verdict) -> Self {
        let Verdict { idle, eighth, quarter, half, three_quarters, full } = *verdict;
        Self { idle, eighth, quarter, half, three_quarters, full }
    }

    /// The zones that were judged, from shut to fully open, as they are called at the bike.
    pub(in crate::report::history) fn judged(
        &self,
    ) -> impl DoubleEndedIterator<Item = (&'static str, Mixture)> {
        let zones = [
            ("idle", self.idle),
            ("1/8", self.eighth),
            ("1/4", self.quarter),
            ("1/2", self.half),
            ("3/4", self.three_quarters),
            ("full", self.full),
        ];
        zones.into_iter().filter_map(|(zone, mixture)| Some((zone, mixture?)))
    }
}
