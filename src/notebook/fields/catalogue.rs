//! The catalogue of fields: what each document may contain, read off the JSON Schema that schemars generates from the
//! types, so that the types, the schemas, the checks, `change` and `compare` cannot drift apart.

use std::sync::OnceLock;

use schemars::{JsonSchema, generate::SchemaSettings};
use serde_json::{Map, Value};

use crate::notebook::fields::editor_schema::for_editors;
use crate::notebook::fields::node::{
    Column, Leaf, MapShape, Node, NumberList, Sort, Table, without_required,
};
use crate::notebook::{
    BikeDocument, Build, Checklists, EngineDocument, GarageDocument, Job, Limits, Outing, Part,
    PlaceDocument, Setup,
};
use crate::quantity;

/// The kinds of document a garage is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DocumentKind {
    /// garage.toml
    Garage,
    /// bike.toml
    Bike,
    /// setup.toml
    Setup,
    /// engine.toml
    Engine,
    /// outings/*.toml
    Outing,
    /// builds/*.toml
    Build,
    /// parts/*.toml
    Part,
    /// jobs/*.toml
    Job,
    /// places/*.toml
    Place,
    /// configs/jets.toml
    Jets,
    /// configs/needles.toml
    Needles,
    /// configs/shares.toml
    Shares,
    /// configs/assumptions.toml
    Assumptions,
    /// configs/checklists.toml
    Checklists,
    /// configs/limits.toml
    Limits,
}

impl DocumentKind {
    /// All of them.
    pub const ALL: [Self; 15] = [
        Self::Garage,
        Self::Bike,
        Self::Setup,
        Self::Engine,
        Self::Outing,
        Self::Build,
        Self::Part,
        Self::Job,
        Self::Place,
        Self::Jets,
        Self::Needles,
        Self::Shares,
        Self::Assumptions,
        Self::Checklists,
        Self::Limits,
    ];

    /// Name of its schema file without the ending.
    pub fn name(self) -> &'static str {
        match self {
            Self::Garage => "garage",
            Self::Bike => "bike",
            Self::Setup => "setup",
            Self::Engine => "engine",
            Self::Outing => "outing",
            Self::Build => "build",
            Self::Part => "part",
            Self::Job => "job",
            Self::Place => "place",
            Self::Jets => "jets",
            Self::Needles => "needles",
            Self::Shares => "shares",
            Self::Assumptions => "assumptions",
            Self::Checklists => "checklists",
            Self::Limits => "limits",
        }
    }

    /// What an editor calls it.
    fn title(self) -> &'static str {
        match self {
            Self::Garage => "The garage: garage.toml",
            Self::Bike => "A bike: bike.toml",
            Self::Setup => "What is on a bike: setup.toml",
            Self::Engine => "An engine: engine.toml",
            Self::Outing => "An outing",
            Self::Build => "An assembly of an engine",
            Self::Part => "A part and its history",
            Self::Job => "What is to be done at a bike",
            Self::Place => "A place and the airs kept there",
            Self::Jets => "The jets in the box: configs/jets.toml",
            Self::Needles => "The needles: configs/needles.toml",
            Self::Shares => "Rules of the trade: configs/shares.toml",
            Self::Assumptions => "What the engine's calculations assume: configs/assumptions.toml",
            Self::Checklists => "The check lists: configs/checklists.toml",
            Self::Limits => "Limits of what is measured and of hours: configs/limits.toml",
        }
    }

    /// Its JSON Schema (draft 2020-12), as an editor wants it.
    pub fn schema(self) -> Value {
        for_editors(self.generated_schema(), self.title())
    }

    fn generated_schema(self) -> Value {
        match self {
            Self::Garage => schema_of::<GarageDocument>(),
            Self::Bike => schema_of::<BikeDocument>(),
            Self::Setup => schema_of::<Setup>(),
            Self::Engine => schema_of::<EngineDocument>(),
            Self::Outing => schema_of::<Outing>(),
            Self::Build => schema_of::<Build>(),
            Self::Part => schema_of::<Part>(),
            Self::Job => schema_of::<Job>(),
            Self::Place => schema_of::<PlaceDocument>(),
            Self::Jets => schema_of::<crate::notebook::JetBox>(),
            Self::Needles => schema_of::<crate::notebook::NeedleBox>(),
            Self::Shares => schema_of::<crate::notebook::Shares>(),
            Self::Assumptions => schema_of::<crate::notebook::Assumptions>(),
            Self::Checklists => schema_of::<Checklists>(),
            Self::Limits => schema_of::<Limits>(),
        }
    }

    /// Its catalogue, made once.
    pub fn catalogue(self) -> &'static Node {
        static MADE: [OnceLock<Node>; DocumentKind::ALL.len()] =
            [const { OnceLock::new() }; DocumentKind::ALL.len()];
        MADE[self as usize].get_or_init(|| node(&self.generated_schema(), &Map::new()))
    }
}

/// The catalogue of a type that is no document: a test adds a field to it as a document would.
#[cfg(test)]
pub(crate) fn catalogue_of<T: JsonSchema>() -> Node {
    node(&schema_of::<T>(), &Map::new())
}

fn schema_of<T: JsonSchema>() -> Value {
    let mut settings = SchemaSettings::draft2020_12();
    settings.inline_subschemas = true;
    settings.into_generator().into_root_schema_for::<T>().to_value()
}

/// Reads one schema; `outer` carries the extensions that stand beside an inner schema, and counts before its own. Every start of the
/// program reads some, so that nothing is copied but what a single value has.
fn node(schema: &Value, outer: &Map<String, Value>) -> Node {
    let Some(object) = schema.as_object() else {
        return Node::Free;
    };
    let merged = || {
        let mut merged: Map<String, Value> = object
            .iter()
            .filter(|(key, _)| *key != "anyOf")
            .map(|(key, value)| (key.clone(), value.clone()))
            .collect();
        merged.extend(outer.iter().map(|(key, value)| (key.clone(), value.clone())));
        merged
    };
    if let Some(inner) = optional_inner(object) {
        return node(inner, &merged());
    }
    if let Some(properties) = object.get("properties").and_then(Value::as_object) {
        return table(object, properties);
    }
    if is_type(object, "object") {
        let said = |key: &str| outer.get(key).or_else(|| object.get(key));
        return match object.get("additionalProperties") {
            Some(inner @ Value::Object(_)) if said("x-cylinders").is_some() => {
                Node::Own(Box::new(without_required(node(inner, &Map::new()))))
            }
            Some(inner @ Value::Object(fields)) if !fields.is_empty() => {
                // What is said of a table of single values is said of each.
                let means = said("x-means").map(|means| ("x-means".to_owned(), means.clone()));
                Node::Named(Box::new(node(inner, &means.into_iter().collect())))
            }
            _ => Node::Free,
        };
    }
    leaf(&merged()).map_or(Node::Free, Node::Leaf)
}

fn table(object: &Map<String, Value>, properties: &Map<String, Value>) -> Node {
    let fields = properties.iter().map(|(name, schema)| (name.clone(), node(schema, &Map::new()))).collect();
    let required = object
        .get("required")
        .and_then(Value::as_array)
        .map(|names| names.iter().filter_map(Value::as_str).map(str::to_owned).collect())
        .unwrap_or_default();
    Node::Table(Table { fields, required })
}

/// `Option<T>` becomes `anyOf [T, null]`; cells of a map are an `anyOf` of their own and stay whole.
fn optional_inner(object: &Map<String, Value>) -> Option<&Value> {
    if object.contains_key("x-map") {
        return None;
    }
    let choices = object.get("anyOf")?.as_array()?;
    let (null, others): (Vec<_>, Vec<_>) =
        choices.iter().partition(|choice| choice.get("type").and_then(Value::as_str) == Some("null"));
    match (null.len(), others.as_slice()) {
        (1, [inner]) => Some(inner),
        _ => None,
    }
}

fn is_type(object: &Map<String, Value>, name: &str) -> bool {
    match object.get("type") {
        Some(Value::String(only)) => only == name,
        Some(Value::Array(several)) => several.iter().any(|t| t == name),
        _ => false,
    }
}

fn leaf(object: &Map<String, Value>) -> Option<Leaf> {
    Some(Leaf {
        sort: sort(object)?,
        range: object.get("x-range").and_then(pair),
        other_range: object.get("x-other-range").and_then(range_with_unit),
        whole: object.contains_key("x-whole"),
        fraction: object.contains_key("x-fraction"),
        metal: object
            .get("x-metal")
            .and_then(Value::as_str)
            .map(|parts| parts.split_whitespace().map(str::to_owned).collect()),
        from_a_point: object.contains_key("x-from-a-point"),
        meaning: object.get("x-means").and_then(|means| serde_json::from_value(means.clone()).ok()),
        description: words(object),
    })
}

fn sort(object: &Map<String, Value>) -> Option<Sort> {
    if let Some(name) = object.get("x-quantity").and_then(Value::as_str) {
        let (dimensions, unit) = quantity::kind_by_name(name)?;
        return Some(Sort::Quantity(dimensions, unit));
    }
    if let Some(shape) = object.get("x-map") {
        let text = |key: &str| shape.get(key).and_then(Value::as_str).unwrap_or("").to_owned();
        return Some(Sort::Cells(MapShape {
            across: text("across"),
            down: text("down"),
            unit: text("unit"),
            range: shape.get("range").and_then(pair).unwrap_or((f64::MIN, f64::MAX)),
        }));
    }
    if let Some(columns) = object.get("x-columns").and_then(Value::as_array) {
        let least = object.get("x-least-rows").and_then(Value::as_u64).unwrap_or(0);
        return Some(Sort::Numbers(NumberList {
            columns: columns.iter().filter_map(column).collect(),
            least_rows: usize::try_from(least).unwrap_or(0),
        }));
    }
    if object.contains_key("x-axis") {
        return Some(Sort::Axis);
    }
    if object.contains_key("x-date") {
        return Some(Sort::Date);
    }
    if object.contains_key("x-names") {
        return Some(Sort::Names);
    }
    if let Some(choices) = choices(object) {
        return Some(Sort::Choice(choices));
    }
    if is_type(object, "boolean") {
        return Some(Sort::Flag);
    }
    is_type(object, "string").then_some(Sort::Text)
}

/// A choice is an `enum`, or a `oneOf` of constants when its words carry descriptions.
fn choices(object: &Map<String, Value>) -> Option<Vec<String>> {
    if let Some(words) = object.get("enum").and_then(Value::as_array) {
        return Some(words.iter().filter_map(Value::as_str).map(str::to_owned).collect());
    }
    let constants = object.get("oneOf")?.as_array()?;
    let words: Vec<_> = constants
        .iter()
        .filter_map(|each| each.get("const").and_then(Value::as_str))
        .map(str::to_owned)
        .collect();
    (!words.is_empty()).then_some(words)
}

fn column(value: &Value) -> Option<Column> {
    let text = |key: &str| value.get(key).and_then(Value::as_str).unwrap_or("").to_owned();
    Some(Column { name: text("name"), unit: text("unit"), range: pair(value.get("range")?)? })
}

fn pair(value: &Value) -> Option<(f64, f64)> {
    match value.as_array()?.as_slice() {
        [low, high] => Some((low.as_f64()?, high.as_f64()?)),
        _ => None,
    }
}

fn range_with_unit(value: &Value) -> Option<((f64, f64), String)> {
    Some((pair(value.get("range")?)?, value.get("unit")?.as_str()?.to_owned()))
}

fn words(object: &Map<String, Value>) -> String {
    object
        .get("description")
        .and_then(Value::as_str)
        .map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
        .unwrap_or_default()
}
