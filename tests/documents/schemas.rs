//! The JSON Schemas of the documents are those of the code, editors can use them, and they judge as the reader does: what
//! the reader takes they take, and what they can see of a broken page they refuse.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail loudly and read the environment

use crate::reading;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use jsonschema::Validator;
use proptest::prelude::*;
use reading::{findings, invalid, kind_named, root, to_json, valid};
use reedbook::notebook::{Code, DocumentKind};
use reedbook::quantity::{Quantity, kind_by_name};
use reedbook::store::schemas;
use serde_json::Value;

fn validator(kind: DocumentKind) -> Validator {
    jsonschema::validator_for(&kind.schema()).unwrap()
}

/// What a schema has against a document, one line each.
fn refusals(validator: &Validator, document: &Value) -> Vec<String> {
    validator.iter_errors(document).map(|error| format!("  {}: {error}", error.instance_path())).collect()
}

#[test]
fn the_schema_files_are_those_of_the_code() {
    let mut names = BTreeSet::new();
    for (path, bytes) in schemas() {
        let file = root().join(&path);
        if std::env::var("UPDATE_SCHEMAS").is_ok() {
            fs::write(&file, &bytes).unwrap();
        }
        assert!(
            fs::read(&file).is_ok_and(|there| there == bytes),
            "{} is not what the code makes; write it anew: UPDATE_SCHEMAS=1 cargo test --test documents schemas",
            path.display()
        );
        names.insert(path.file_name().unwrap().to_owned());
    }
    let there: BTreeSet<_> = fs::read_dir(root().join("schema"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .filter(|name| name.to_string_lossy().ends_with(".schema.json"))
        .collect();
    assert_eq!(there, names, "schema/ holds a schema that no document has");
}

/// What leaves a garage or comes to it is no file of it: the schemas of those stand beside its own.
#[test]
fn the_schemas_of_other_files_are_those_of_the_code() {
    let schemas = [
        ("handover", reedbook::notebook::Handover::schema()),
        ("handover-engine", reedbook::notebook::HandedEngine::schema()),
        ("phone-notes", reedbook::notebook::PhoneNotes::schema()),
    ];
    for (name, schema) in schemas {
        let file = root().join(format!("schema/files/{name}.schema.json"));
        let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        if std::env::var("UPDATE_SCHEMAS").is_ok() {
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(&file, &text).unwrap();
        }
        assert!(
            fs::read_to_string(&file).is_ok_and(|there| there == text),
            "{name}: write it anew: UPDATE_SCHEMAS=1 cargo test --test documents schemas"
        );
    }
}

#[test]
fn the_schemas_of_the_answers_are_those_of_the_code() {
    for (name, schema) in reedbook::report::answers::schemas() {
        let file = root().join(format!("schema/answers/{name}.schema.json"));
        let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        if std::env::var("UPDATE_SCHEMAS").is_ok() {
            fs::write(&file, &text).unwrap();
        }
        assert!(
            fs::read_to_string(&file).is_ok_and(|there| there == text),
            "{name} is not what the code makes; write it anew: UPDATE_SCHEMAS=1 cargo test --test documents schemas"
        );
    }
}

/// Every schema inside a schema with its place, the outermost first.
fn walk<'s>(schema: &'s Value, place: &str, found: &mut Vec<(String, &'s Value)>) {
    found.push((place.to_owned(), schema));
    let Some(object) = schema.as_object() else { return };
    for (name, inner) in object.get("properties").and_then(Value::as_object).into_iter().flatten() {
        walk(inner, &format!("{place}.{name}"), found);
    }
    for key in ["items", "additionalProperties"] {
        if let Some(inner) = object.get(key) {
            walk(inner, &format!("{place}.*"), found);
        }
    }
    for key in ["anyOf", "oneOf"] {
        for inner in object.get(key).and_then(Value::as_array).into_iter().flatten() {
            walk(inner, place, found);
        }
    }
}

fn description(schema: &Value) -> &str {
    schema.get("description").and_then(Value::as_str).unwrap_or_default()
}

#[test]
fn editors_can_use_them() {
    for kind in DocumentKind::ALL {
        let schema = kind.schema();
        assert!(jsonschema::draft202012::meta::is_valid(&schema), "{} is no JSON Schema", kind.name());
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
        assert!(
            schema["title"].as_str().is_some_and(|title| title.contains(' ')),
            "{} has no title",
            kind.name()
        );
        let mut all = Vec::new();
        walk(&schema, kind.name(), &mut all);
        for (place, inner) in all {
            let types = inner.get("type").map(Value::to_string).unwrap_or_default();
            assert!(!types.contains("null"), "{place} offers null, which TOML has not");
            for (name, field) in inner.get("properties").and_then(Value::as_object).into_iter().flatten() {
                let words = description(field);
                assert!(
                    words.ends_with('.') && !words.contains('\n'),
                    "{place}.{name} is described as {words:?}"
                );
            }
            for word in inner.get("oneOf").and_then(Value::as_array).into_iter().flatten() {
                assert!(
                    word["const"].is_string() && description(word).ends_with('.'),
                    "{place} offers {word}"
                );
            }
            if let Some(name) = inner.get("x-quantity").and_then(Value::as_str) {
                assert!(kind_by_name(name).is_some(), "{place} is of the kind {name}, which is not known");
                assert_eq!(types, "[\"string\",\"number\"]", "{place}");
                let unit = inner["x-unit"].as_str().unwrap();
                assert!(
                    unit.is_empty() || description(inner).contains(unit),
                    "{place} does not say its unit"
                );
            }
        }
    }
}

/// A document of the project and its kind, by its name or by the folder it lies in.
fn own_documents() -> Vec<(PathBuf, DocumentKind, Value)> {
    let mut paths = Vec::new();
    for folder in ["demo-garage", "configs"] {
        collect(&root().join(folder), &mut paths);
    }
    paths.iter().filter_map(|path| own_document(path)).collect()
}

fn own_document(path: &Path) -> Option<(PathBuf, DocumentKind, Value)> {
    let text = in_a_bike(&fs::read_to_string(path).unwrap());
    let mut document = to_json(toml::from_str(&text).unwrap());
    let stem = path.file_stem()?.to_string_lossy().into_owned();
    let kind = match (kind_named(&stem), path.parent()?.file_name()?.to_str()?) {
        (_, "events") => {
            // An event's outing is what is logged, but for its date and the number of its setup.
            let date = document["date"].clone();
            document = document.get("outing")?.clone();
            document["date"] = date;
            document.as_object_mut()?.remove("setup_number");
            DocumentKind::Outing
        }
        (Some(kind), _) => kind,
        (None, "templates") => DocumentKind::Setup,
        _ => panic!("{} is a document of no known kind", path.display()),
    };
    Some((path.to_owned(), kind, document))
}

/// A template as it is written into a bike: with an engine's name in its place.
fn in_a_bike(text: &str) -> String {
    text.replace("\"ENGINE\"", "\"reed\"")
}

fn collect(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "toml") {
            found.push(path);
        }
    }
}

#[test]
fn they_take_what_the_reader_takes() {
    let mut documents = own_documents();
    assert!(documents.len() > 100, "only {} documents in configs/ and demo-garage/", documents.len());
    documents.extend(valid().into_iter().map(|page| (page.path.clone(), page.kind, page.json().unwrap())));
    let mut wrong = Vec::new();
    for kind in DocumentKind::ALL {
        let validator = validator(kind);
        let mut of_kind = documents.iter().filter(|(_, its, _)| *its == kind).peekable();
        assert!(of_kind.peek().is_some(), "no document of the kind {}", kind.name());
        for (path, _, document) in of_kind {
            let refused = refusals(&validator, document);
            if !refused.is_empty() {
                wrong.push(format!("{}:\n{}", path.display(), refused.join("\n")));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_templates_are_taken_with_every_line_filled_in() {
    for (name, kind) in [
        ("carbureted", DocumentKind::Setup),
        ("injected", DocumentKind::Setup),
        ("engine", DocumentKind::Engine),
    ] {
        let text =
            in_a_bike(&fs::read_to_string(root().join(format!("configs/templates/{name}.toml"))).unwrap());
        let filled = text.lines().map(filled_in).collect::<Vec<_>>().join("\n");
        let document = to_json(toml::from_str(&filled).unwrap());
        assert_eq!(refusals(&validator(kind), &document), Vec::<String>::new(), "{name}");
        let found = findings(kind, filled.as_bytes(), false, Path::new("no such folder"));
        let others: Vec<_> = found.iter().filter(|finding| finding.code != Code::Dangling).collect();
        assert!(others.is_empty(), "{name}: {others:?}");
    }
}

/// A template's line with the '#' taken away, where it stands before a field or a table.
fn filled_in(line: &str) -> &str {
    let Some(rest) = line.strip_prefix("# ") else { return line };
    let field = rest.split_once(" = ").is_some_and(|(name, _)| {
        !name.is_empty() && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
    });
    if field || rest.starts_with('[') { rest } else { line }
}

#[test]
fn they_refuse_the_broken_pages_that_they_can_see_through() {
    let mut wrong = Vec::new();
    let mut refused = 0;
    for page in invalid() {
        let refuses = page.json().is_some_and(|document| !validator(page.kind).is_valid(&document));
        refused += usize::from(refuses);
        if refuses != page.schema_refuses {
            wrong.push(format!("{}: refused is {refuses}, the page says {}", page.name, page.schema_refuses));
        }
        let plain =
            ["unknown-field", "not-a-choice", "wrong-sort"].iter().any(|code| page.name.starts_with(code));
        if plain && !refuses {
            wrong.push(format!("{} is a mistake that every schema can see", page.name));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(refused > 20, "only {refused} pages were refused");
}

/// Schema and reader of one field that is a quantity of the given kind, as in the documents.
fn quantity_schemas() -> Vec<(String, Validator)> {
    let mut found: Vec<(String, Validator)> = Vec::new();
    for kind in DocumentKind::ALL {
        let schema = kind.schema();
        let mut all = Vec::new();
        walk(&schema, kind.name(), &mut all);
        for (_, inner) in all {
            let Some(name) = inner.get("x-quantity").and_then(Value::as_str) else { continue };
            if found.iter().all(|(known, _)| known != name) {
                found.push((name.to_owned(), jsonschema::validator_for(inner).unwrap()));
            }
        }
    }
    found
}

#[test]
fn a_quantity_is_refused_for_its_comma_and_for_its_unit() {
    let schemas = quantity_schemas();
    assert!(schemas.len() > 10);
    for (name, validator) in schemas {
        for text in ["25,5", "25.5 mmm", "one", "", "24 furlongs", "10 N/mm"] {
            assert!(!validator.is_valid(&text.into()), "{name} takes {text:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    /// The patterns only see what is plainly wrong: whatever the reader takes, they take.
    #[test]
    fn no_quantity_that_the_reader_takes_is_refused(
        number in "[-+]?([0-9]{1,3}|[0-9]{1,2}\\.[0-9]{0,3}|\\.[0-9]{1,2}|[0-9] [0-9]/[0-9]|[0-9]/[0-9])([eE][-+]?[0-9])?",
        space in "[ \t]{0,2}",
        symbol in proptest::sample::select(vec![
            "", "mm", "MM", "cm", "m", "um", "µm", "in", "INCH", "\"", "thou", "ft", "deg", "°", "DEG", "cc", "cm3", "CM³",
            "ml", "l", "Litre", "L", "cu in", "hPa", "HPA", "mbar", "kPa", "Pa", "bar", "inHg", "\"Hg", "mmHg", "psi", "C",
            "°C", "°c", "F", "K", "s", "ms", "us", "μs", "min", "h", "Hours", "rpm", "RPM", "1/min", "g", "kg", "lb", "oz",
            "kg/m3", "g/cc", "lb/US gal", "LB/IMP GAL", "lb/gal", "cc/min", "l/h", "g/min", "lb/h", "%", "percent", "turns", "Turn",
        ]),
        around in " {0,1}",
    ) {
        let text = format!("{around}{number}{space}{symbol}{around}");
        for (name, validator) in quantity_schemas() {
            let (dimensions, unit) = kind_by_name(&name).unwrap();
            if Quantity::parse(&text, dimensions, unit).is_ok() {
                prop_assert!(validator.is_valid(&text.clone().into()), "{} refuses {:?}", name, text);
            }
        }
    }
}
