//! What is told to a script in one of a few words.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Serialize, Serializer};

/// Something that goes by one of a few words.
pub(in crate::report) trait Worded: Sized + 'static {
    /// All of them, each of another word.
    const ALL: &'static [Self];

    /// Its word.
    fn word(&self) -> &'static str;
}

/// JSON shows the word; the schema lists all that there are.
#[derive(Debug, Clone, Copy)]
pub(in crate::report) struct Word<T>(pub(in crate::report) T);

impl<T: Worded> Serialize for Word<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.word())
    }
}

impl<T: Worded> JsonSchema for Word<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Word".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let words: Vec<_> = T::ALL.iter().map(Worded::word).collect();
        json_schema!({ "type": "string", "enum": words })
    }
}
