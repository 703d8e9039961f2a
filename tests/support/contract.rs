//! Holds every answer in JSON to its published schema, more strictly than the schema itself: a field that is not in
//! it is a mistake here, though a reader has to put up with it.

#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::panic,
    reason = "every test file takes what it needs; a test that cannot go on has failed"
)]

use boon::{Compiler, Schemas};
use serde_json::{Value, json};

/// The folder of the schemas.
pub(crate) fn folder() -> String {
    format!("{}/docs/schemas", env!("CARGO_MANIFEST_DIR"))
}

/// The schema as published.
pub(crate) fn published(name: &str) -> Value {
    let text = std::fs::read_to_string(format!("{}/{name}.json", folder())).unwrap();
    serde_json::from_str(&text).unwrap()
}

/// Is this an answer as the schema says, and nothing beside?
pub(crate) fn judge(name: &str, answer: &Value) -> Result<(), String> {
    let mut schema = published(name);
    close(&mut schema);
    holds(schema, answer)
}

/// Is this an answer as the published schema says?
pub(crate) fn judge_as_published(name: &str, answer: &Value) -> Result<(), String> {
    holds(published(name), answer)
}

/// The compiler holds the schema against the meta-schema of its draft.
fn holds(schema: Value, answer: &Value) -> Result<(), String> {
    let mut compiler = Compiler::new();
    compiler.add_resource("mem:///schema.json", schema).unwrap();
    let mut schemas = Schemas::new();
    let index = compiler
        .compile("mem:///schema.json", &mut schemas)
        .unwrap_or_else(|error| panic!("{error:#}"));
    schemas
        .validate(answer, index)
        .map_err(|error| format!("{error:#}"))
}

/// No object takes a field that it does not name.
fn close(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            map.values_mut().for_each(close);
            if map.get("type") == Some(&json!("object")) && map.contains_key("properties") {
                map.entry("additionalProperties").or_insert(json!(false));
            }
        }
        Value::Array(all) => all.iter_mut().for_each(close),
        _ => {}
    }
}

/// Panics if `answer` names a format and is not as its schema says.
pub(crate) fn hold(answer: &Value) {
    let Some(format) = answer.get("format").and_then(Value::as_str) else {
        return;
    };
    let (name, _) = format.split_once('/').unwrap();
    judge(name, answer).unwrap_or_else(|error| panic!("{error}\nin {answer:#}"));
}
