//! The file format as a JSON Schema, for editors, and as tables, for people. Both are made of the
//! tables that the reader uses.

use super::words::escape::capital;
use crate::spec::format::{FORMAT_VERSION, Field, MAX_NAME, MAX_TEXT, Record, SPEC, Shape};
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

/// The names one may give. No editor's regular expressions agree on classes of letters, so this shuts
/// out ASCII's blanks and marks instead, which is a little less than the reader does.
fn name_pattern() -> String {
    let first = r"\x00-\x2f\x3a-\x40\x5b-\x60\x7b-\xa0";
    let rest = r"\x00-\x2c\x2e\x2f\x3a-\x40\x5b-\x5e\x60\x7b-\xa0";
    format!("^[^{first}][^{rest}]{{0,{}}}$", MAX_NAME - 1)
}

/// A decimal comma where it can be nothing else: before three digits it may part thousands.
const COMMA: &str = "0[0-9]*,[0-9]+|[0-9]+,([0-9]{1,2}|[0-9]{4,})";

fn shape(of: &Shape) -> Value {
    match *of {
        // Unquoted, a text may look like a number or a flag to another reader of YAML.
        Shape::Text => json!({ "type": ["string", "number", "boolean"], "maxLength": MAX_TEXT }),
        Shape::Name => json!({ "type": ["string", "number", "boolean"], "maxLength": MAX_TEXT }),
        Shape::OwnName => {
            json!({ "type": ["string", "number", "boolean"], "pattern": name_pattern() })
        }
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
            // Of a fraction only its sign can be told by a pattern.
            let above_line = if above && min == 0 {
                r"\+?0*[1-9][0-9]*"
            } else {
                "[+-]?[0-9]+"
            };
            // Nor is a decimal comma a number to another reader of YAML.
            let sign = if above && min == 0 { r"\+?" } else { "[+-]?" };
            json!({ "anyOf": [
                { "type": "number", least: min, "maximum": max },
                { "type": "string", "pattern": format!("^{above_line}/0*[1-9][0-9]*$") },
                { "type": "string", "pattern": format!("^{sign}({COMMA})$") },
            ] })
        }
        Shape::Flag => json!({ "type": "boolean" }),
        Shape::Pair(inner, _) => {
            json!({ "type": "array", "items": shape(inner), "minItems": 2, "maxItems": 2 })
        }
        Shape::List { of, min, max, .. } => {
            json!({ "type": "array", "items": shape(of), "minItems": min, "maxItems": max })
        }
        Shape::Event => json!({
            "type": "string",
            "pattern": format!("^(TDC|BDC|([0-9]+([.][0-9]{{1,3}}|/[0-9]{{1,4}})?|{COMMA}) [AB](TDC|BDC))$"),
        }),
        Shape::Record(inner) => record(inner),
        Shape::Named {
            record: inner, max, ..
        } => json!({
            "type": "object",
            "patternProperties": { name_pattern(): record(inner) },
            "additionalProperties": false,
            "maxProperties": max,
        }),
        Shape::BySprocket { value, max, .. } => json!({
            "type": "object",
            "additionalProperties": shape(value),
            "maxProperties": max,
        }),
        Shape::Entries { variants, max, .. } => json!({
            "type": "array",
            "maxItems": max,
            "items": { "oneOf": variants.iter().map(|variant| record(variant)).collect::<Vec<_>>() },
        }),
    }
}

/// The file format as Markdown tables, one for each record.
pub fn format_tables() -> String {
    let mut waiting = vec![("the file".to_owned(), &SPEC)];
    let mut told: Vec<&'static str> = Vec::new();
    let mut out = String::new();
    while !waiting.is_empty() {
        let (place, record) = waiting.remove(0);
        if told.contains(&record.title) {
            continue;
        }
        told.push(record.title);
        out.push_str(&format!(
            "**{}** ({place})\n\n| key | value | meaning |\n| --- | --- | --- |\n",
            capital(record.title)
        ));
        for field in record.fields {
            let must = if field.required {
                ""
            } else {
                " (may be left out)"
            };
            out.push_str(&format!(
                "| `{}` | {} | {}{must} |\n",
                field.key,
                kind(&field.shape, field.key),
                field.about
            ));
            inner(&field.shape, field.key, &mut waiting);
        }
        out.push('\n');
    }
    out
}

/// The records within a value, to be told after this one.
fn inner(of: &Shape, key: &str, waiting: &mut Vec<(String, &'static Record)>) {
    match *of {
        Shape::Record(record) => waiting.push((format!("under `{key}`"), record)),
        Shape::Named { record, .. } => {
            waiting.push((format!("under `{key}`, by a name of your own"), record));
        }
        Shape::Entries { variants, .. } => waiting.extend(
            variants
                .iter()
                .map(|record| (format!("an entry of `{key}`"), *record)),
        ),
        Shape::List {
            of: Shape::Record(record),
            ..
        } => waiting.push((format!("an entry of `{key}`"), *record)),
        _ => {}
    }
}

/// What a value looks like.
fn kind(of: &Shape, key: &str) -> String {
    match *of {
        Shape::Text => "text".into(),
        Shape::Name if key == "sprocket" => "a shaft's name".into(),
        Shape::Name => "a name".into(),
        Shape::OwnName => "a name of your own".into(),
        Shape::Choice(choices) => choices
            .iter()
            .map(|(word, _)| format!("`{word}`"))
            .collect::<Vec<_>>()
            .join(", "),
        Shape::Whole { min, max, unit } if min == max => format!("{min} {unit}"),
        Shape::Whole { min, max, unit } => format!("{min} to {max} {unit}"),
        Shape::Number {
            min,
            max,
            unit,
            above,
        } => {
            let from = if above { "above " } else { "" };
            format!("{from}{min} to {max} {unit}")
        }
        Shape::Flag => "`true` or `false`".into(),
        Shape::Event => "a valve event, such as `12 BTDC`".into(),
        Shape::Pair(inner, expected) => format!("{expected}, each {}", kind(inner, key)),
        Shape::List { of, .. } => format!("a list, each {}", kind(of, key)),
        Shape::Record(record) => record.title.to_owned(),
        Shape::Named { what, max, .. } | Shape::BySprocket { what, max, .. } => {
            format!("up to {max} {what}")
        }
        Shape::Entries { variants, .. } => format!(
            "a list, each {}",
            variants
                .iter()
                .map(|record| record.title)
                .collect::<Vec<_>>()
                .join(" or ")
        ),
    }
}
