//! The catalogue of fields: what each document may contain, read off the JSON Schema that schemars generates from the
//! types, so that the types, the schemas, the checks, `change` and `compare` cannot drift apart.

use std::sync::OnceLock;

use schemars::{JsonSchema, generate::SchemaSettings};
use serde_json::{Map, Value};

use crate::notebook::fields::cylinder::without_required;
use crate::notebook::fields::editor_schema::for_editors;
use crate::notebook::fields::meaning::Meaning;
use crate::notebook::{
    BikeDocument, Build, Checklists, EngineDocument, GarageDocument, Job, Limits, Outing, Part,
    PlaceDocument, Setup,
};
use crate::quantity::{self, Dimension, Quantity, QuantityError};

/// What may stand at one place of a document.
#[derive(Debug, Clone)]
pub enum Node {
    /// A table of known fields.
    Table(Table),
    /// A table whose names are the user's own, all of the same shape.
    Named(Box<Node>),
    /// What cylinders have of their own, under their names; its fields are those of the common document.
    Own(Box<Node>),
    /// A single value.
    Leaf(Leaf),
    /// Anything: the free part of a document.
    Free,
}

/// The fields of a table in the order of the type.
#[derive(Debug, Clone)]
pub struct Table {
    /// Name and shape.
    pub fields: Vec<(String, Node)>,
    /// Fields that must be there.
    pub required: Vec<String>,
}

/// A single value.
#[derive(Debug, Clone)]
pub struct Leaf {
    /// Its sort.
    pub sort: Sort,
    /// Allowed range in the unit of a bare number.
    pub range: Option<(f64, f64)>,
    /// Allowed range of a value that is measured another way, and its unit: piston travel in place of degrees.
    pub other_range: Option<((f64, f64), String)>,
    /// Whether it is counted, so that only whole numbers make sense.
    pub whole: bool,
    /// Whether a bare number above 0 and below 1 is a fraction of the whole.
    pub fraction: bool,
    /// For what is cut in metal: the fields that name the part it was cut into (none for the cylinder itself).
    pub metal: Option<Vec<String>>,
    /// Whether it counts from a point of somebody's choice, so that a percentage of it means nothing.
    pub from_a_point: bool,
    /// What it means at the bike, to an advice and to the record; none outside of setups and engines.
    pub meaning: Option<Meaning>,
    /// What it is.
    pub description: String,
}

/// The sort of a single value.
#[derive(Debug, Clone)]
pub enum Sort {
    /// A quantity: dimensions accepted and unit of a bare number.
    Quantity(&'static [Dimension], &'static str),
    /// Words.
    Text,
    /// A list of names: those of engines.
    Names,
    /// One of these words.
    Choice(Vec<String>),
    /// Yes or no.
    Flag,
    /// A date with its offset.
    Date,
    /// The breakpoints of a map's axis; part of the map, not a value of its own.
    Axis,
    /// The cells of a map.
    Cells(MapShape),
    /// A list of numbers, or of rows of them.
    Numbers(NumberList),
}

/// What a list of numbers holds: one column is a plain list, several are rows that ascend by their first number.
#[derive(Debug, Clone)]
pub struct NumberList {
    /// Its columns.
    pub columns: Vec<Column>,
    /// How many rows it needs at least.
    pub least_rows: usize,
}

/// One column of a list of numbers.
#[derive(Debug, Clone)]
pub struct Column {
    /// What stands in it.
    pub name: String,
    /// Unit of its bare numbers.
    pub unit: String,
    /// Allowed range.
    pub range: (f64, f64),
}

/// Which fields hold the axes of a map.
#[derive(Debug, Clone)]
pub struct MapShape {
    /// Field of the engine speeds.
    pub across: String,
    /// Field of the throttle openings.
    pub down: String,
    /// Unit of the cells.
    pub unit: String,
    /// Allowed range of the cells.
    pub range: (f64, f64),
}

impl Node {
    /// The node at a dotted path, one name after the other.
    pub fn at(&self, path: &[&str]) -> Option<&Node> {
        let Some((first, rest)) = path.split_first() else {
            return Some(self);
        };
        match self {
            Self::Table(table) => table.field(first)?.at(rest),
            Self::Named(shape) | Self::Own(shape) => shape.at(rest),
            Self::Free => Some(self),
            Self::Leaf(_) => None,
        }
    }

    /// The leaf at a dotted path.
    pub fn leaf(&self, path: &str) -> Option<&Leaf> {
        match self.at(&path.split('.').collect::<Vec<_>>())? {
            Self::Leaf(leaf) => Some(leaf),
            _ => None,
        }
    }

    /// Every path of a single value, `*` standing for a name of the user's own.
    pub fn leaves(&self) -> Vec<(String, &Leaf)> {
        let mut found = Vec::new();
        self.collect("", &mut found);
        found
    }

    fn collect<'a>(&'a self, above: &str, found: &mut Vec<(String, &'a Leaf)>) {
        let join = |name: &str| match above {
            "" => name.to_owned(),
            above => format!("{above}.{name}"),
        };
        match self {
            Self::Table(table) => {
                for (name, node) in &table.fields {
                    node.collect(&join(name), found);
                }
            }
            Self::Named(shape) => shape.collect(&join("*"), found),
            Self::Leaf(leaf) => found.push((above.to_owned(), leaf)),
            Self::Free | Self::Own(_) => {}
        }
    }
}

impl Table {
    /// A field by its name.
    pub fn field(&self, name: &str) -> Option<&Node> {
        self.fields.iter().find(|(known, _)| known == name).map(|(_, node)| node)
    }

    /// The field of it that holds parts under names of the user's own, where it has one: the windows of the ports.
    pub fn named_parts(&self) -> Option<&str> {
        let parts = |node: &Node| matches!(node, Node::Named(shape) if matches!(**shape, Node::Table(_)));
        self.fields.iter().find(|(_, node)| parts(node)).map(|(name, _)| name.as_str())
    }
}

impl Leaf {
    /// Reads a quantity as this field takes it; `dimensions` and `unit` are those of its sort.
    pub fn quantity(
        &self,
        text: &str,
        dimensions: &[Dimension],
        unit: &str,
    ) -> Result<Quantity, QuantityError> {
        let typed = Quantity::parse(text, dimensions, unit)?;
        Ok(if self.fraction { typed.or_fraction() } else { typed })
    }
}

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
