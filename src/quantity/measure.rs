//! A quantity of one kind, as a field of a document: read from TOML as text with a unit or as a bare number.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Deserializer, Visitor};
use serde::{Deserialize, Serialize, Serializer};

use super::{Dimension, Quantity, QuantityError};

/// A kind of field: what it measures, and the unit of a bare number.
pub trait Kind {
    /// Name in the schemas.
    const NAME: &'static str;
    /// Dimensions accepted, the usual one first.
    const DIMENSIONS: &'static [Dimension];
    /// Unit of a bare number.
    const UNIT: &'static str;
    /// Whether a bare number above 0 and below 1 is a fraction of the whole, as an instrument may show it.
    const FRACTION: bool = false;
}

/// A quantity that is known to be of kind `K`.
pub struct Measure<K: Kind> {
    quantity: Quantity,
    kind: PhantomData<K>,
}

impl<K: Kind> Measure<K> {
    /// Reads text such as "25.5 mm"; a bare number takes the kind's unit, or is a fraction where the kind has them.
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        let typed = Quantity::parse(text, K::DIMENSIONS, K::UNIT)?;
        let quantity = if K::FRACTION { typed.or_fraction() } else { typed };
        Ok(Self { quantity, kind: PhantomData })
    }

    /// The quantity itself.
    pub fn quantity(&self) -> &Quantity {
        &self.quantity
    }

    /// The value in SI; degrees for angles, rpm for engine speeds.
    pub fn si(&self) -> f64 {
        self.quantity.si()
    }
}

impl<K: Kind> Clone for Measure<K> {
    fn clone(&self) -> Self {
        Self { quantity: self.quantity.clone(), kind: PhantomData }
    }
}

impl<K: Kind> fmt::Debug for Measure<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}({})", K::NAME, self.quantity.text())
    }
}

impl<K: Kind> fmt::Display for Measure<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.quantity.with_unit())
    }
}

impl<K: Kind> std::str::FromStr for Measure<K> {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        Self::parse(text)
    }
}

/// Written with its unit and the digits that were typed, so that whoever reads the file need not know the bare unit.
impl<K: Kind> Serialize for Measure<K> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de, K: Kind> Deserialize<'de> for Measure<K> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Reader<K>(PhantomData<K>);
        impl<K: Kind> Visitor<'_> for Reader<K> {
            type Value = Measure<K>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&Dimension::names(K::DIMENSIONS))
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Measure<K>, E> {
                Measure::parse(text).map_err(E::custom)
            }
            fn visit_i64<E: de::Error>(self, value: i64) -> Result<Measure<K>, E> {
                self.visit_str(&value.to_string())
            }
            fn visit_u64<E: de::Error>(self, value: u64) -> Result<Measure<K>, E> {
                self.visit_str(&value.to_string())
            }
            fn visit_f64<E: de::Error>(self, value: f64) -> Result<Measure<K>, E> {
                self.visit_str(&value.to_string())
            }
        }
        deserializer.deserialize_any(Reader(PhantomData))
    }
}

impl<K: Kind> JsonSchema for Measure<K> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        K::NAME.into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let mut schema = json_schema!({
            "type": ["string", "number"],
            "x-quantity": K::NAME,
            "x-unit": K::UNIT,
            "pattern": Dimension::pattern(K::DIMENSIONS),
        });
        if K::FRACTION {
            schema.insert("x-fraction".into(), true.into());
        }
        schema
    }
}
