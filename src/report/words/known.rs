//! Figures that are known, and what the others lack: for a person and for a script.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Serialize, Serializer};

use crate::advice::figures::Known;
use crate::notebook::fields::names::visible;
use crate::quantity::fixed;
use crate::report::out::figure::Figure;

/// A figure that is known, or says what it lacks: in JSON a number with so many decimals, null where it is not known.
#[derive(Debug, Clone)]
pub(in crate::report) struct FigureOrGap<const DECIMALS: usize>(pub Known<f64>);

impl<const DECIMALS: usize> FigureOrGap<DECIMALS> {
    /// The figure picked out of what is known, in the unit it is told in.
    pub(in crate::report) fn of<T>(known: &Known<T>, pick: impl FnOnce(&T) -> f64) -> Self {
        Self(known.as_ref().map(pick).map_err(Clone::clone))
    }

    /// The number, where it is known.
    pub(in crate::report) fn value(&self) -> Option<f64> {
        self.0.as_ref().ok().copied()
    }

    /// The figure in words, or what it lacks: for [`line`].
    pub(in crate::report) fn words(&self, words: impl FnOnce(f64) -> String) -> Known<String> {
        self.0.clone().map(words)
    }

    /// The figure for a table: the number, or a dash.
    pub(in crate::report) fn or_dash(&self, decimals: usize) -> String {
        self.value().map_or_else(|| "-".to_owned(), |value| fixed(value, decimals))
    }

    /// What it lacks, for [`lacks`].
    pub(in crate::report) fn gap(&self) -> Option<String> {
        gap(&self.0)
    }
}

impl<const DECIMALS: usize> Serialize for FigureOrGap<DECIMALS> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.value().map(Figure::<DECIMALS>).serialize(serializer)
    }
}

impl<const DECIMALS: usize> JsonSchema for FigureOrGap<DECIMALS> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "FigureOrGap".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        Option::<Figure<DECIMALS>>::json_schema(generator)
    }
}

/// Where what is lacking can be written down.
pub(in crate::report) const WHERE_FIELDS_STAND: &str = "Fields of engine, ports and head stand in the engine's engine.toml, the others in the bike's setup.toml.";

/// "name   value unit", or what it lacks.
pub(in crate::report) fn line(name: &str, known: &Known<String>) -> String {
    match known {
        Ok(words) => format!("  {name:<26}{words}"),
        Err(gap) => format!("  {name:<26}{}", visible(&gap.to_string())),
    }
}

/// What figures lack, each lack told once with the figures it keeps back: for the list under a table and for a script.
pub(in crate::report) fn lacks<'a>(
    figures: impl IntoIterator<Item = (&'a str, Option<String>)>,
) -> Vec<String> {
    let mut told: Vec<(String, Vec<&str>)> = Vec::new();
    for (name, gap) in figures {
        let Some(gap) = gap else { continue };
        match told.iter_mut().find(|(said, _)| *said == gap) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => told.push((gap, vec![name])),
        }
    }
    told.into_iter().map(|(gap, names)| visible(&format!("{}: {gap}", names.join(", ")))).collect()
}

/// The gap of a figure in words, for [`lacks`].
pub(in crate::report) fn gap<T>(known: &Known<T>) -> Option<String> {
    known.as_ref().err().map(ToString::to_string)
}
