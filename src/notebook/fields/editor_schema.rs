//! The JSON Schemas as an editor wants them: what the check of a document knows beside the types (ranges, units, ways to
//! write a quantity) in words and in keywords that every editor understands. Never stricter than the check itself: what a
//! schema refuses is wrong.

use serde_json::{Map, Value, json};

/// Makes a generated schema fit for an editor. `title` is what the editor calls the document.
pub(super) fn for_editors(mut schema: Value, title: &str) -> Value {
    improve(&mut schema);
    let Value::Object(object) = schema else {
        return schema;
    };
    let mut ordered = Map::new();
    for key in ["$schema", "title", "description"] {
        ordered.extend(object.get(key).map(|value| (key.to_owned(), value.clone())));
    }
    ordered.insert("title".into(), title.into());
    for (key, value) in object {
        ordered.entry(key).or_insert(value);
    }
    Value::Object(ordered)
}

fn improve(schema: &mut Value) {
    let Some(object) = schema.as_object_mut() else {
        return;
    };
    // What a field means to the program is not what may stand in it.
    object.shift_remove("x-means");
    object.shift_remove("x-from-a-point");
    if object.shift_remove("x-cylinders").is_some() {
        inner_schemas(object).for_each(without_required);
    }
    without_null(object);
    // "double" says nothing beside "number", and some editors warn of formats that they do not know.
    object.remove("format");
    quantity(object);
    cells(object);
    describe(object);
    inner_schemas(object).for_each(improve);
}

fn inner_schemas(object: &mut Map<String, Value>) -> impl Iterator<Item = &mut Value> {
    object.iter_mut().flat_map(|(key, value)| -> Vec<&mut Value> {
        match (key.as_str(), value) {
            ("properties", Value::Object(fields)) => fields.values_mut().collect(),
            ("anyOf" | "oneOf", Value::Array(choices)) => choices.iter_mut().collect(),
            ("items" | "additionalProperties", inner) => vec![inner],
            _ => Vec::new(),
        }
    })
}

/// What a cylinder has of its own leaves out what is written for all, whatever that requires.
fn without_required(schema: &mut Value) {
    let Some(object) = schema.as_object_mut() else { return };
    object.shift_remove("required");
    object.shift_remove("dependentRequired");
    inner_schemas(object).for_each(without_required);
}

/// TOML has no null: a field that may be absent is one that is not required, and no more.
fn without_null(object: &mut Map<String, Value>) {
    if let Some(Value::Array(types)) = object.get_mut("type") {
        types.retain(|name| name != "null");
        if let [only] = types.as_slice() {
            let only = only.clone();
            object.insert("type".into(), only);
        }
    }
    let Some(Value::Array(choices)) = object.get_mut("anyOf") else {
        return;
    };
    choices.retain(|choice| choice.get("type").is_none_or(|name| name != "null"));
    if let [Value::Object(only)] = choices.as_slice() {
        let only = only.clone();
        object.remove("anyOf");
        for (key, value) in only {
            object.entry(key).or_insert(value);
        }
    }
}

/// The range of a bare number as the usual keywords, and in the words that an editor shows.
fn quantity(object: &mut Map<String, Value>) {
    let Some(unit) = object.get("x-unit").and_then(Value::as_str).map(str::to_owned) else {
        return;
    };
    let mut words = String::new();
    if !unit.is_empty() {
        words = format!(" A bare number is in {unit}.");
    }
    if object.contains_key("x-fraction") {
        words.push_str(" One above 0 and below 1 is a fraction: 0.5 is 50 %.");
    }
    if let Some([low, high]) = object.get("x-range").and_then(Value::as_array).map(Vec::as_slice) {
        let (low, high) = (low.clone(), high.clone());
        words = format!("{words} From {low} to {high}{}{unit}.", if unit.is_empty() { "" } else { " " });
        object.insert("minimum".into(), low);
        object.insert("maximum".into(), high);
    }
    if object.contains_key("x-whole") {
        object.insert("multipleOf".into(), json!(1));
    }
    if let Some(Value::String(description)) = object.get_mut("description") {
        description.push_str(&words);
    } else if !words.is_empty() {
        object.insert("description".into(), words.trim().into());
    }
}

/// The range of a map's cells on each of its numbers.
fn cells(object: &mut Map<String, Value>) {
    let range = object.get("x-map").and_then(|map| map.get("range")).and_then(Value::as_array);
    let Some([low, high]) = range.map(Vec::as_slice) else {
        return;
    };
    let (low, high) = (low.clone(), high.clone());
    bound_numbers(object, &low, &high);
}

fn bound_numbers(object: &mut Map<String, Value>, low: &Value, high: &Value) {
    if object.get("type").is_some_and(|name| name == "number") {
        object.insert("minimum".into(), low.clone());
        object.insert("maximum".into(), high.clone());
    }
    for inner in inner_schemas(object).filter_map(Value::as_object_mut) {
        bound_numbers(inner, low, high);
    }
}

/// Descriptions on one line: the line breaks are those of the source.
fn describe(object: &mut Map<String, Value>) {
    if let Some(Value::String(description)) = object.get_mut("description") {
        *description = description.split_whitespace().collect::<Vec<_>>().join(" ");
    }
    if object.contains_key("x-date") {
        object.insert("examples".into(), json!(["2026-05-16T10:30+02:00", "2026-05-16"]));
    }
}
