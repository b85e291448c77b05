//! One answer for several cylinders: the answer of each under its name, and above them what is the same at all.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::ser::{Error, SerializeMap};
use serde::{Serialize, Serializer};
use serde_json::{Map, Value as Json, json};

use crate::notebook::fields::names::visible;

/// The answers of several cylinders with their names, in their order.
#[derive(Debug, Clone)]
pub struct OfCylinders<A>(pub Vec<(String, A)>);

impl<A> OfCylinders<A> {
    /// One of its figures at every cylinder, by name.
    pub(in crate::report) fn of_each<'a, T>(&'a self, what: impl Fn(&'a A) -> T) -> Vec<(&'a str, T)> {
        self.0.iter().map(|(name, one)| (name.as_str(), what(one))).collect()
    }

    /// The same where it is the same at all of them.
    pub(in crate::report) fn alike<'a, T: PartialEq>(&'a self, what: impl Fn(&'a A) -> T) -> Option<T> {
        let mut all = self.0.iter().map(|(_, one)| what(one));
        let first = all.next()?;
        all.all(|other| other == first).then_some(first)
    }

    /// The cylinders together at which something is the same, in the order in which each first comes: what it is, their names, and the
    /// answer of the first of them.
    pub(in crate::report) fn groups<'a, T: PartialEq>(
        &'a self,
        what: impl Fn(&'a A) -> T,
    ) -> Vec<(T, Vec<&'a str>, &'a A)> {
        let mut groups: Vec<(T, Vec<&str>, &A)> = Vec::new();
        for (name, one) in &self.0 {
            let own = what(one);
            match groups.iter_mut().find(|(known, ..)| *known == own) {
                Some((_, names, _)) => names.push(name),
                None => groups.push((own, vec![name], one)),
            }
        }
        groups
    }
}

impl<A: Serialize> OfCylinders<A> {
    /// Whether the answers say the same, but for the cylinder's name.
    pub fn say_the_same(&self) -> bool {
        self.alike(without_name).is_some()
    }

    /// The answers in words one below the other. An answer that others share is said once, with their names under its heading;
    /// what all of them end with is said once, and what stands below the first heading is not said again.
    pub fn one_below_the_other(&self, text: impl Fn(&A) -> String) -> String {
        let groups = self.groups(without_name);
        let texts: Vec<String> = groups.iter().map(|(.., one)| text(one)).collect();
        let mut blocks: Vec<Vec<&str>> = texts.iter().map(|text| text.split("\n\n").collect()).collect();
        let mut end = Vec::new();
        while let Some(last) = blocks.first().and_then(|first| first.get(1..)?.last().copied())
            && blocks.iter().all(|one| one.len() > 1 && one.last() == Some(&last))
        {
            end.push(last);
            for one in &mut blocks {
                one.truncate(one.len() - 1);
            }
        }
        let below: Vec<&str> = blocks.first().map_or_else(Vec::new, |one| one[0].lines().skip(1).collect());
        let mut whole: Vec<String> = Vec::new();
        for (at, (one, (_, names, _))) in blocks.iter().zip(&groups).enumerate() {
            let is_new = |(line, words): &(usize, &str)| at == 0 || *line == 0 || !below.contains(words);
            let mut head: Vec<String> =
                one[0].lines().enumerate().filter(is_new).map(|(_, words)| words.to_owned()).collect();
            let same = names.get(1..).unwrap_or_default();
            if !same.is_empty() {
                let names: Vec<String> = same.iter().map(|name| visible(name)).collect();
                head.insert(1, format!("  the same at {}", names.join(", ")));
            }
            whole.push(head.join("\n"));
            whole.extend(one[1..].iter().map(|&block| block.to_owned()));
        }
        // Figures that are the same at all say so; a remark needs no head.
        if end.last().is_some_and(|first| first.starts_with(' ')) {
            let of = if self.0.len() == 2 { "both".to_owned() } else { format!("all {}", self.0.len()) };
            whole.push(format!("at {of} cylinders"));
        }
        whole.extend(end.into_iter().rev().map(str::to_owned));
        whole.join("\n\n")
    }
}

/// An answer without its cylinder.
fn without_name(one: &impl Serialize) -> Json {
    let mut answer = serde_json::to_value(one).unwrap_or_default();
    answer.as_object_mut().map(|answer| answer.remove("cylinder"));
    answer
}

impl<A: Serialize> Serialize for OfCylinders<A> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let all = self.as_one(|_| true).map_err(S::Error::custom)?;
        let mut whole = serializer.serialize_map(None)?;
        for (name, value) in &all {
            whole.serialize_entry(name, value)?;
        }
        whole.end()
    }
}

impl<A: Serialize> OfCylinders<A> {
    /// The answers as one: what is the same at all stands above, where `is_of_all` says that a field can be said of the whole engine;
    /// where it does not, nothing of it stands there.
    pub(in crate::report) fn as_one(
        &self,
        is_of_all: impl Fn(&str) -> bool,
    ) -> serde_json::Result<Vec<(String, Json)>> {
        let each = self.0.iter().map(|(_, one)| serde_json::to_value(one)).collect::<Result<Vec<_>, _>>()?;
        let mut whole = Vec::new();
        for name in each.first().and_then(Json::as_object).into_iter().flat_map(Map::keys) {
            let values: Vec<&Json> = each.iter().map(|one| one.get(name).unwrap_or(&Json::Null)).collect();
            let above = match values.as_slice() {
                values if is_of_all(name) => in_common(values),
                [Json::Array(_), ..] => Json::Array(Vec::new()),
                _ => Json::Null,
            };
            whole.push((name.clone(), above));
        }
        // What is one for several of them, "1+2", is said of each.
        let by_name = self.0.iter().zip(each).flat_map(|((name, _), one)| {
            name.split('+').map(move |name| (name.to_owned(), one.clone())).collect::<Vec<_>>()
        });
        whole.push(("cylinders".to_owned(), Json::Object(by_name.collect())));
        Ok(whole)
    }
}

/// A value that is the same at all; of a list what is in it at all of them, and nothing else where they differ.
fn in_common(values: &[&Json]) -> Json {
    match values {
        [first, others @ ..] if others.iter().all(|other| other == first) => (*first).clone(),
        [Json::Array(first), others @ ..] => {
            let has = |other: &&Json, entry: &Json| other.as_array().is_some_and(|all| all.contains(entry));
            first.iter().filter(|entry| others.iter().all(|other| has(other, entry))).cloned().collect()
        }
        _ => Json::Null,
    }
}

impl<A: JsonSchema> JsonSchema for OfCylinders<A> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("OfCylinders{}", A::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let one = A::json_schema(generator);
        let mut whole = one.clone();
        let fields = whole.get_mut("properties").and_then(Json::as_object_mut);
        if let Some(fields) = fields {
            for field in fields.values_mut().filter(|field| field.get("type") != Some(&json!("array"))) {
                let mut own = field.take();
                let words = own.as_object_mut().and_then(|own| own.shift_remove("description"));
                *field = json!({ "description": words, "anyOf": [own, { "type": "null" }] });
            }
            fields.insert(
                "cylinders".to_owned(),
                json!({
                    "description": "The answer of each cylinder, by name. Beside it stands what is the same at all: what differs is null there, and a list has what is in it at all of them.",
                    "type": "object",
                    "additionalProperties": one,
                }),
            );
        }
        if let Some(required) = whole.get_mut("required").and_then(Json::as_array_mut) {
            required.push(json!("cylinders"));
        }
        whole
    }
}

/// The schema of an answer that is one for an engine with one cylinder, and another where there are several: by itself one of each.
pub(in crate::report) struct OneOrEach<A, E = OfCylinders<A>>(std::marker::PhantomData<(A, E)>);

impl<A: JsonSchema, E: JsonSchema> JsonSchema for OneOrEach<A, E> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("OneOrEach{}", A::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let (one, each) = (A::json_schema(generator), E::json_schema(generator));
        let words = one.get("description").cloned();
        json_schema!({ "description": words, "anyOf": [one, each] })
    }
}

#[cfg(test)]
mod tests {
    use super::OfCylinders;
    use serde_json::json;

    #[test]
    fn one_below_the_other_says_the_end_and_what_stands_under_the_heading_once() {
        let of = |name: &str, cc: f64| {
            format!("head of {name}\n  2 cylinders\n\nchamber {cc} cc\n\nMeasure.\n\nOnce.")
        };
        let both =
            OfCylinders(vec![("left".to_owned(), of("left", 9.0)), ("right".to_owned(), of("right", 9.3))]);
        let whole = "head of left\n  2 cylinders\n\nchamber 9 cc\n\nhead of right\n\nchamber 9.3 cc\n\nMeasure.\n\nOnce.";
        assert_eq!(both.one_below_the_other(String::clone), whole);
        assert!(!both.say_the_same());
        // What is the same and begins with figures is said to be of both.
        let bare = OfCylinders(vec![
            ("1".to_owned(), "a\n\n  b".to_owned()),
            ("2".to_owned(), "c\n\n  b".to_owned()),
        ]);
        assert_eq!(bare.one_below_the_other(String::clone), "a\n\nc\n\nat both cylinders\n\n  b");
        let of = |name: &str| json!({ "cylinder": { "name": name }, "mix": 179 });
        assert!(OfCylinders(vec![("1".to_owned(), of("1")), ("2".to_owned(), of("2"))]).say_the_same());
    }

    #[test]
    fn what_is_the_same_stands_above_and_what_differs_is_null_there() {
        let of =
            |main: f64| json!({ "bike": "sanda", "main": main, "jets": [main, 50.0], "clip": { "to": 2 } });
        let both = OfCylinders(vec![("right".to_owned(), of(175.0)), ("left".to_owned(), of(172.0))]);
        assert_eq!(
            serde_json::to_value(&both).unwrap(),
            json!({ "bike": "sanda", "main": null, "jets": [50.0], "clip": { "to": 2 },
                    "cylinders": { "right": of(175.0), "left": of(172.0) } })
        );
        let order = serde_json::to_string(&both).unwrap();
        assert!(order.find("\"right\"") < order.find("\"left\""));
        assert_eq!(both.alike(|one| one["clip"]["to"].as_f64()), Some(Some(2.0)));
        assert_eq!(both.alike(|one| one["main"].as_f64()), None);
    }
}
