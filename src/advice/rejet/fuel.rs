//! The fuel of the baseline and the fuel it is rejetted for, as far as they are known.
//!
//! A value that the baseline does not know, and that is not asked to change, is the same on both sides and drops out
//! of the factor: its part is exactly 1. A value asked for that the baseline lacks is refused, because the step from
//! one to the other would be a guess.
//!
//! Sources: petrol density with temperature, ASTM D1250-80 Table 54B; the oil's share from a ratio by volume, by definition.

use super::error::RejetError;
use crate::engine::EngineError;
use crate::engine::fuel::{mixture_density, oil_mass_fraction, petrol_density};
use crate::notebook::fields::names::same_name;
use crate::notebook::fields::names::visible;
use crate::notebook::{Combination, Fuel, out_of_range};
use crate::quantity::{self, Measure, nearly_equal};

/// What stands in for a density that neither side knows, kg/m3. It drops out; any value would do.
const ANY_DENSITY: f64 = 745.0;

/// What stands in for a stoichiometric ratio that neither side knows. It drops out; any value would do.
const ANY_RATIO: f64 = 14.7;

/// What two-stroke oil weighs at 20 C where nothing is written down, kg/m3 (common practice, no source): a twentieth more or less
/// changes the fuel that another oil ratio asks for by a part in a thousand.
const USUAL_OIL_DENSITY: f64 = 870.0;

/// The lowest stoichiometric ratio of a hydrocarbon in petrol, benzene's 13.28 by its formula, with some room: below it there is
/// alcohol in the fuel, whose density Table 54B does not give.
const LEAST_WITHOUT_ALCOHOL: f64 = 13.2;

/// The fuel in the float bowl or at the injector.
#[derive(Debug, Clone, Copy)]
pub(super) struct InBowl {
    /// Density with its oil, kg/m3.
    pub(super) density: f64,
    /// Air mass over fuel mass, without the oil.
    pub(super) stoichiometric_ratio: f64,
    /// Oil mass over mixture mass.
    pub(super) oil_mass_fraction: f64,
}

/// The same value before and after.
#[derive(Debug, Clone, Copy)]
struct Pair {
    from: f64,
    to: f64,
}

impl Pair {
    fn differs(self) -> bool {
        !nearly_equal(self.from, self.to)
    }
}

/// The fuel before and after. `other` holds only what is to change.
pub(super) fn both(
    baseline: Option<&Fuel>,
    other: Option<&Fuel>,
    warnings: &mut Vec<String>,
) -> Result<(InBowl, InBowl), RejetError> {
    if let Some(other) = other {
        refuse_what_no_setup_may_have(other)?;
    }
    let mut known = Known::read(baseline, other)?;
    if let Some(kept) = known.with_figures_kept(baseline, other)? {
        known = kept;
        let name = other.and_then(|fuel| fuel.name.as_deref());
        let name = name.or(baseline.and_then(|fuel| fuel.name.as_deref())).unwrap_or_default();
        warnings.push(format!(
            "{} has other figures now than when it ran, under the same name: they are taken as fixed, and nothing goes leaner for them. Another can gets a name of its own.",
            visible(name)
        ));
    }
    if known.oil_ratio.is_some_and(Pair::differs) && known.oil_density.is_none() {
        known.oil_density = Some(Pair { from: USUAL_OIL_DENSITY, to: USUAL_OIL_DENSITY });
        warnings.push(
            "fuel.oil_density is not written down: the oil is taken as 870 kg/m3 (common practice, no source).".into(),
        );
    }
    known.check()?;
    if let Some(other) = other {
        warn_of_what_was_kept(baseline, other, &known, warnings);
    }
    if known.density.is_some_and(Pair::differs) && known.oil().is_none() {
        warnings.push(
            "The oil in the petrol is not known (needs fuel.oil_ratio and fuel.oil_density): its part is taken as unchanged.".into(),
        );
    }
    Ok((known.side(|pair| pair.from)?, known.side(|pair| pair.to)?))
}

/// Holds the values asked for to the ranges of a setup, so that a slip is not blamed on another field further on.
fn refuse_what_no_setup_may_have(fuel: &Fuel) -> Result<(), RejetError> {
    in_range("fuel.density", fuel.density.as_ref())?;
    in_range("fuel.stoichiometric_ratio", fuel.stoichiometric_ratio.as_ref())?;
    in_range("fuel.oil_ratio", fuel.oil_ratio.as_ref())?;
    in_range("fuel.oil_density", fuel.oil_density.as_ref())?;
    in_range("fuel.temperature", fuel.temperature.as_ref())
}

fn in_range<K: quantity::Kind>(field: &'static str, asked: Option<&Measure<K>>) -> Result<(), RejetError> {
    let outside = asked
        .zip(Combination::leaf(field))
        .and_then(|(asked, leaf)| out_of_range(field, asked.quantity(), leaf, K::UNIT));
    match outside {
        Some((message, help)) => Err(RejetError::OutOfRange { field, message, help }),
        None => Ok(()),
    }
}

/// What both sides know.
#[derive(Clone, Copy)]
struct Known {
    density: Option<Pair>,
    stoichiometric_ratio: Option<Pair>,
    oil_ratio: Option<Pair>,
    oil_density: Option<Pair>,
    temperature_k: Option<Pair>,
}

impl Known {
    fn read(baseline: Option<&Fuel>, other: Option<&Fuel>) -> Result<Self, RejetError> {
        let pair = |field, value: &dyn Fn(&Fuel) -> Option<f64>| {
            pair(field, baseline.and_then(value), other.and_then(value))
        };
        Ok(Self {
            density: pair("fuel.density", &|fuel| si(fuel.density.as_ref()))?,
            stoichiometric_ratio: pair("fuel.stoichiometric_ratio", &|fuel| {
                si(fuel.stoichiometric_ratio.as_ref())
            })?,
            oil_ratio: pair("fuel.oil_ratio", &|fuel| si(fuel.oil_ratio.as_ref()))?,
            oil_density: pair("fuel.oil_density", &|fuel| si(fuel.oil_density.as_ref()))?,
            temperature_k: pair("fuel.temperature", &|fuel| si(fuel.temperature.as_ref()))?,
        })
    }

    /// A fuel of one name is one fuel: figures that were mended since it ran make nothing leaner, and the earlier ones are kept then.
    fn with_figures_kept(
        &self,
        baseline: Option<&Fuel>,
        other: Option<&Fuel>,
    ) -> Result<Option<Self>, RejetError> {
        let name = |fuel: Option<&Fuel>| fuel.and_then(|fuel| fuel.name.clone());
        // Figures that are given without a name are of the fuel that is in the tank.
        let given = name(other).or_else(|| name(baseline));
        let is_one = name(baseline).zip(given).is_some_and(|(one, two)| same_name(&one, &two));
        let figures = [self.density, self.stoichiometric_ratio, self.oil_density];
        if !is_one || !figures.into_iter().flatten().any(Pair::differs) {
            return Ok(None);
        }
        let [density, stoichiometric_ratio, oil_density] =
            figures.map(|pair| pair.map(|pair| Pair { to: pair.from, ..pair }));
        let kept = Self { density, stoichiometric_ratio, oil_density, ..*self };
        // A jet's area goes as the fuel that the air burns, over the root of the fuel's density (Bernoulli).
        let area = |side: InBowl| 1.0 / (side.stoichiometric_ratio * side.density.sqrt());
        let is_leaner = area(self.side(|pair| pair.to)?) < area(kept.side(|pair| pair.to)?);
        Ok(is_leaner.then_some(kept))
    }

    /// Refuses a change whose effect needs a value that is not there.
    fn check(&self) -> Result<(), RejetError> {
        if self.density.is_none() && self.temperature_k.is_some_and(Pair::differs) {
            return Err(missing("fuel.density", "how much the fuel expands depends on its density"));
        }
        let oil_differs = [self.oil_ratio, self.oil_density].into_iter().flatten().any(Pair::differs);
        let parts = [
            ("fuel.oil_ratio", self.oil_ratio),
            ("fuel.oil_density", self.oil_density),
            ("fuel.density", self.density),
        ];
        match parts.into_iter().find(|(_, pair)| pair.is_none()) {
            Some((field, _)) if oil_differs => {
                Err(missing(field, "another oil ratio or oil cannot be reckoned without it"))
            }
            _ => Ok(()),
        }
    }

    /// Oil ratio, oil density and petrol density, when all are known.
    fn oil(&self) -> Option<(Pair, Pair, Pair)> {
        Some((self.oil_ratio?, self.oil_density?, self.density?))
    }

    /// One of the two sides.
    fn side(&self, of: impl Fn(Pair) -> f64) -> Result<InBowl, RejetError> {
        let petrol = match (self.density, self.temperature_k) {
            // Where neither differs the correction drops out, and the table's range need not matter.
            (Some(density), Some(temperature)) if density.differs() || temperature.differs() => {
                petrol_density(of(density), of(temperature) - 273.15)
                    .map_err(|source| density_or_temperature(source, temperature))?
            }
            (Some(density), _) => of(density),
            (None, _) => ANY_DENSITY,
        };
        let stoichiometric_ratio = self.stoichiometric_ratio.map_or(ANY_RATIO, &of);
        let (oil_mass_fraction, density) = match self.oil() {
            Some((ratio, oil_density, density)) => {
                // Measured out cold: the share of mass then stays, whatever the bowl's temperature.
                let oil = oil_mass_fraction(of(ratio), of(density), of(oil_density))
                    .map_err(RejetError::calculation("fuel.oil_ratio"))?;
                let mixture = mixture_density(oil, petrol, of(oil_density))
                    .map_err(RejetError::calculation("fuel.oil_density"))?;
                (oil, mixture)
            }
            None => (0.0, petrol),
        };
        Ok(InBowl { density, stoichiometric_ratio, oil_mass_fraction })
    }
}

/// Both sides of one value: what is not asked to change stays as the baseline has it.
fn pair(field: &'static str, baseline: Option<f64>, other: Option<f64>) -> Result<Option<Pair>, RejetError> {
    match (baseline, other) {
        (Some(from), to) => Ok(Some(Pair { from, to: to.unwrap_or(from) })),
        (None, Some(_)) => {
            Err(missing(field, "the new value cannot be set against the one the bike is right with"))
        }
        (None, None) => Ok(None),
    }
}

fn missing(field: &'static str, why: &'static str) -> RejetError {
    RejetError::NotKnown {
        field,
        why,
        help: format!(
            "Write {field} of the fuel the bike is right with into setup.toml, or rejet without changing that part of the fuel."
        ),
    }
}

/// Table 54B refuses a density or a temperature; names the field it was.
fn density_or_temperature(source: EngineError, temperature: Pair) -> RejetError {
    let in_table = |kelvin: f64| petrol_density(ANY_DENSITY, kelvin - 273.15).is_ok();
    let field = if in_table(temperature.from) && in_table(temperature.to) {
        "fuel.density"
    } else {
        "fuel.temperature"
    };
    RejetError::calculation(field)(source)
}

/// Another fuel is more than the one value that was given for it.
fn warn_of_what_was_kept(baseline: Option<&Fuel>, other: &Fuel, known: &Known, warnings: &mut Vec<String>) {
    let name = baseline.and_then(|fuel| fuel.name.as_ref());
    let renamed = other.name.is_some() && other.name.as_ref() != name;
    let denser = known.density.is_some_and(Pair::differs);
    let mut kept = Vec::new();
    if (renamed || denser) && other.stoichiometric_ratio.is_none() {
        kept.push("fuel.stoichiometric_ratio");
    }
    if renamed && other.density.is_none() {
        kept.push("fuel.density");
    }
    if !kept.is_empty() {
        warnings.push(format!("Not given for the new fuel, and so taken as before: {}.", kept.join(", ")));
    }
    let alcohol = |ratio: Pair| ratio.from.min(ratio.to) < LEAST_WITHOUT_ALCOHOL;
    if known.temperature_k.is_some_and(Pair::differs) && known.stoichiometric_ratio.is_some_and(alcohol) {
        warnings.push(
            "Table 54B holds for petrol, not for alcohol: the change of density with temperature is rough; measure the density at both temperatures.".into(),
        );
    }
}

/// What goes with the name of a petrol. Its oil does not: that is the engine's, and stays as it is on the bike.
pub const WITH_THE_NAME: [&str; 3] = ["fuel.name", "fuel.density", "fuel.stoichiometric_ratio"];

/// The fields of the fuel that change, with the values as typed: what is wanted that the baseline had otherwise, or that is otherwise
/// `written` down for the bike. Of the baseline's own fuel what goes with its name counts as the baseline has it.
pub(super) fn assignments(
    baseline: Option<&Fuel>,
    written: Option<&Fuel>,
    other: &Fuel,
) -> Vec<(String, String)> {
    let own = baseline.filter(|own| own.name.is_some() && own.name == other.name);
    let known = [baseline, written.or(baseline)];
    let (fuels, oils) = (Fuels { other, own, known }, Fuels { other, own: None, known });
    [
        ("fuel.name", fuels.words(|fuel| fuel.name.as_ref())),
        ("fuel.density", fuels.measure(|fuel| fuel.density.as_ref())),
        ("fuel.stoichiometric_ratio", fuels.measure(|fuel| fuel.stoichiometric_ratio.as_ref())),
        ("fuel.oil_ratio", oils.measure(|fuel| fuel.oil_ratio.as_ref())),
        ("fuel.oil_density", oils.measure(|fuel| fuel.oil_density.as_ref())),
        ("fuel.oil", oils.words(|fuel| fuel.oil.as_ref())),
        ("fuel.temperature", oils.measure(|fuel| fuel.temperature.as_ref())),
    ]
    .into_iter()
    .filter_map(|(field, value)| Some((field.to_owned(), value?)))
    .collect()
}

/// A fuel that is wanted, beside what is known.
struct Fuels<'f> {
    other: &'f Fuel,
    /// The baseline's, where that is the one wanted.
    own: Option<&'f Fuel>,
    /// The baseline's, and what is written down for the bike.
    known: [Option<&'f Fuel>; 2],
}

impl<'f> Fuels<'f> {
    fn words(&self, of: fn(&Fuel) -> Option<&String>) -> Option<String> {
        let wanted = of(self.other).or_else(|| of(self.own?))?;
        let is_new = |known: Option<&'f Fuel>| known.and_then(of) != Some(wanted);
        self.known.into_iter().any(is_new).then(|| wanted.clone())
    }

    /// A measure as typed, where it is another reading.
    fn measure<K: quantity::Kind>(&self, of: fn(&Fuel) -> Option<&Measure<K>>) -> Option<String> {
        let wanted = of(self.other).or_else(|| of(self.own?))?;
        let same = |known: &Measure<K>| known.quantity().same_as(wanted.quantity());
        let is_new = |known: Option<&'f Fuel>| !known.and_then(of).is_some_and(same);
        self.known.into_iter().any(is_new).then(|| wanted.to_string())
    }
}

/// The SI value of a measure that may be there.
fn si<K: quantity::Kind>(measure: Option<&Measure<K>>) -> Option<f64> {
    measure.map(Measure::si)
}
