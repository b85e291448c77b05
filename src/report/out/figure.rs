//! A computed number of an answer: whole for the text, and with no more decimals than it is worth in JSON.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};

use crate::quantity::fixed;

/// A number that JSON shows with so many decimals; null where it is not finite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure<const DECIMALS: usize>(pub f64);

impl<const DECIMALS: usize> Figure<DECIMALS> {
    /// The number; none where it is not finite.
    pub fn finite(value: f64) -> Option<Self> {
        value.is_finite().then_some(Self(value))
    }
}

impl<const DECIMALS: usize> Serialize for Figure<DECIMALS> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match fixed(self.0, DECIMALS).parse::<f64>() {
            Ok(number) if number.is_finite() => serializer.serialize_f64(number),
            _ => serializer.serialize_none(),
        }
    }
}

impl<const DECIMALS: usize> JsonSchema for Figure<DECIMALS> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Figure".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "number" })
    }
}
