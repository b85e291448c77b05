//! Whether a part fits an engine: by what it says, by the engines it has been in, and by the bore it is made for. Parts of
//! one kind differ from engine to engine, so what is not known is asked and never taken for a yes.

use std::collections::{BTreeMap, BTreeSet};

use crate::notebook::{DocumentKind, EngineDocument, Part, SetupFiles, When, at_cylinder, read};
use crate::store::{Garage, StoreError, cylinders_of};

/// How far the bore a part is made for may lie from an engine's and be the same size, m: less than half of the smallest
/// oversize, a quarter of a millimetre (common practice, no source).
pub const SAME_BORE_M: f64 = 0.1e-3;

/// What is known of where a part fits.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Fitting {
    /// Engines it says it fits.
    pub says: BTreeSet<String>,
    /// Engines it has been in.
    pub was_in: BTreeSet<String>,
    /// The bore it is made for, m.
    pub for_bore_m: Option<f64>,
}

/// Whether a part fits an engine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fits {
    /// It does: it says so, was in it before, or is made for its bore.
    Yes,
    /// It says that it fits others and was never in this one.
    Others,
    /// It is made for another bore: its own and the engine's, m.
    OtherBore(f64, f64),
    /// Nobody said.
    NotKnown,
}

impl Fitting {
    /// What a part tells by a date.
    pub fn of(part: &Part, until: When) -> Self {
        Self {
            says: part.fits.iter().cloned().collect(),
            was_in: part.engines_until(until).map(str::to_owned).collect(),
            for_bore_m: part.for_bore.as_ref().map(crate::quantity::Length::si),
        }
    }

    /// Whether it fits an engine of that bore, m. The bore goes before everything that is said: a cylinder may have been bored
    /// since the part was in it.
    pub fn fits(&self, engine: &str, bore_m: Option<f64>) -> Fits {
        let bores = self.for_bore_m.zip(bore_m);
        if let Some((own, engines)) = bores.filter(|(own, engines)| (own - engines).abs() > SAME_BORE_M) {
            return Fits::OtherBore(own, engines);
        }
        if self.says.contains(engine) || self.was_in.contains(engine) {
            return Fits::Yes;
        }
        match (self.says.is_empty(), bores) {
            (false, _) => Fits::Others,
            (true, Some(_)) => Fits::Yes,
            (true, None) => Fits::NotKnown,
        }
    }
}

/// The bores of the garage's engines, m, and those of their cylinders by [`at_cylinder`] where there are several; an engine whose file
/// does not say it, or cannot be read, is not there.
pub fn bores(garage: &Garage) -> Result<BTreeMap<String, f64>, StoreError> {
    let mut found = BTreeMap::new();
    for engine in garage.engines() {
        for cylinder in cylinders_of(garage, &engine)? {
            let bore = nominal_bore_m(garage, &engine, Some(&cylinder))?;
            found.extend(bore.map(|bore| (at_cylinder(&engine, Some(&cylinder)), bore)));
        }
        if let Some(bore) = nominal_bore_m(garage, &engine, None)? {
            found.insert(engine, bore);
        }
    }
    Ok(found)
}

/// The bore in an engine's file, m; of one of several cylinders its own, where it has one.
pub fn nominal_bore_m(
    garage: &Garage,
    engine: &str,
    cylinder: Option<&str>,
) -> Result<Option<f64>, StoreError> {
    let path = SetupFiles::engine_path(engine);
    let bytes = garage.read(&path)?.unwrap_or_default();
    let checked = read::<EngineDocument>(DocumentKind::Engine, &path, &bytes, garage.read_options());
    let own = cylinder.and_then(|name| checked.fields.quantity(&format!("{name}.engine.bore")));
    Ok(own.or_else(|| checked.fields.quantity("engine.bore")).map(crate::quantity::Quantity::si))
}
