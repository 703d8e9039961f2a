//! The file format as a JSON Schema, for editors. It is made of the tables that the reader uses.

use crate::format::{FORMAT_VERSION, Field, MAX_NAME, MAX_TEXT, Record, SPEC, Shape};
use serde_json::{Map, Value, json};

/// The JSON Schema (draft-07, which every editor knows) of a spec file.
///
/// It knows what the tables of the format know: keys, kinds, bounds and meanings. What takes
/// reckoning, such as half crank speed, only reading the spec can find.
pub fn schema() -> Value {
    let mut schema = record(&SPEC);
    if let Value::Object(map) = &mut schema {
        map.insert(
            "$schema".into(),
            json!("http://json-schema.org/draft-07/schema#"),
        );
        map.insert(
            "title".into(),
            json!(format!("tautmark spec, format {FORMAT_VERSION}")),
        );
    }
    schema
}

fn record(record: &Record) -> Value {
    let properties: Map<String, Value> = record
        .fields
        .iter()
        .map(|field| (field.key.to_owned(), property(field)))
        .collect();
    let required: Vec<&str> = record
        .fields
        .iter()
        .filter(|field| field.required)
        .map(|field| field.key)
        .collect();
    json!({
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

fn property(field: &Field) -> Value {
    let mut value = shape(&field.shape);
    if let Value::Object(map) = &mut value {
        map.insert("description".into(), json!(field.about));
    }
    value
}

/// The names one may give: the same rule as the reader's.
fn name_pattern() -> String {
    format!(
        "^[\\p{{L}}\\p{{N}}][\\p{{L}}\\p{{N}}_-]{{0,{}}}$",
        MAX_NAME - 1
    )
}

fn shape(of: &Shape) -> Value {
    match *of {
        Shape::Text => json!({ "type": ["string", "number"], "maxLength": MAX_TEXT }),
        Shape::Name => json!({ "type": ["string", "integer"], "maxLength": MAX_NAME }),
        Shape::Choice(choices) => json!({
            "enum": choices.iter().map(|(word, _)| word).collect::<Vec<_>>(),
            "markdownDescription": choices
                .iter()
                .map(|(word, about)| format!("- `{word}`: {about}"))
                .collect::<Vec<_>>()
                .join("\n"),
        }),
        Shape::Whole { min, max, .. } => {
            json!({ "type": "integer", "minimum": min, "maximum": max })
        }
        Shape::Number {
            min, max, above, ..
        } => {
            let least = if above { "exclusiveMinimum" } else { "minimum" };
            json!({ "anyOf": [
                { "type": "number", least: min, "maximum": max },
                { "type": "string", "pattern": "^[+-]?[0-9]+/[0-9]*[1-9][0-9]*$" },
            ] })
        }
        Shape::Flag => json!({ "type": "boolean" }),
        Shape::Pair(inner, _) => {
            json!({ "type": "array", "items": shape(inner), "minItems": 2, "maxItems": 2 })
        }
        Shape::List { of, max, .. } => {
            json!({ "type": "array", "items": shape(of), "maxItems": max })
        }
        Shape::Record(inner) => record(inner),
        Shape::Named {
            record: inner, max, ..
        } => json!({
            "type": "object",
            "patternProperties": { name_pattern(): record(inner) },
            "additionalProperties": false,
            "maxProperties": max,
        }),
        Shape::Entries { variants, max, .. } => json!({
            "type": "array",
            "maxItems": max,
            "items": { "oneOf": variants.iter().map(|variant| record(variant)).collect::<Vec<_>>() },
        }),
    }
}
