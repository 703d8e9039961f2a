//! Findings in the formats of other programs: one line each, SARIF 2.1.0, JUnit's XML. All are made of the answer in
//! JSON, so that they cannot say anything else.

use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use tautmark::render::printable;

/// One line for each finding: `file:line:column: severity[code]: message`. A file that could not be read has one, too.
pub(super) fn short(files: &[Value]) -> String {
    let mut out = String::new();
    for file in files {
        for line in lines(file) {
            out.push_str(&line);
            out.push('\n');
        }
    }
    out
}

fn lines(file: &Value) -> Vec<String> {
    let name = one_line(text(file, "file"));
    let mut all = Vec::new();
    if let Some(error) = file["error"].as_str() {
        all.push(format!("{name}:1:1: error: {}", one_line(error)));
    }
    for finding in findings(file) {
        // What is said of the whole file stands at its beginning, where every editor finds it.
        let (line, column) = place(&finding["at"]).unwrap_or((1, 1));
        all.push(format!(
            "{name}:{line}:{column}: {}[{}]: {} ({})",
            text(finding, "severity"),
            text(finding, "code"),
            one_line(text(finding, "message")),
            one_line(text(finding, "help")),
        ));
    }
    all
}

/// SARIF 2.1.0, for what gathers the findings of many tools.
pub(super) fn sarif(files: &[Value]) -> Value {
    let codes: BTreeSet<&str> = files
        .iter()
        .flat_map(findings)
        .map(|finding| text(finding, "code"))
        .collect();
    let codes: Vec<&str> = codes.into_iter().collect();
    let mut results = Vec::new();
    let mut notifications = Vec::new();
    for file in files {
        let uri = uri(text(file, "file"));
        let at = |at: &Value| {
            let mut physical = json!({ "artifactLocation": { "uri": uri } });
            if let Some((line, column)) = place(at) {
                physical["region"] = json!({ "startLine": line, "startColumn": column });
            }
            json!({ "physicalLocation": physical })
        };
        if let Some(error) = file["error"].as_str() {
            notifications.push(json!({
                "level": "error",
                "message": { "text": error },
                "locations": [at(&Value::Null)],
            }));
        }
        for finding in findings(file) {
            let code = text(finding, "code");
            let mut result = json!({
                "ruleId": code,
                "ruleIndex": codes.binary_search(&code).unwrap_or_default(),
                // Its levels have the same names as ours.
                "level": text(finding, "severity"),
                "message": { "text": format!("{}. {}", text(finding, "message"), text(finding, "help")) },
                "locations": [at(&finding["at"])],
            });
            if place(&finding["see_also"]).is_some() {
                result["relatedLocations"] = json!([at(&finding["see_also"])]);
            }
            results.push(result);
        }
    }
    let rules: Vec<Value> = codes.iter().map(|code| json!({ "id": code })).collect();
    json!({
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": super::super::NAME,
                "version": env!("CARGO_PKG_VERSION"),
                "rules": rules,
            }},
            "columnKind": "unicodeCodePoints",
            "invocations": [{
                "executionSuccessful": notifications.is_empty(),
                "toolExecutionNotifications": notifications,
            }],
            "results": results,
        }],
    })
}

/// JUnit's XML: a test case for each file, with one failure that holds all its findings, or an error if it could not
/// be read. Notes fail nothing.
pub(super) fn junit(files: &[Value]) -> String {
    let mut cases = String::new();
    let (mut failures, mut errors) = (0, 0);
    for file in files {
        let told = entities(&lines(file).join("\n"));
        let name = entities(&one_line(text(file, "file")));
        let inside = if file["error"].is_string() {
            errors += 1;
            format!("<error message=\"could not be read\" type=\"error\">{told}</error>")
        } else if file["clean"] == json!(true) {
            match told.is_empty() {
                true => String::new(),
                false => format!("<system-out>{told}</system-out>"),
            }
        } else {
            failures += 1;
            let counted = findings(file).iter();
            let count = counted
                .filter(|finding| text(finding, "severity") != "note")
                .count();
            let s = if count == 1 { "" } else { "s" };
            format!("<failure message=\"{count} finding{s}\" type=\"lint\">{told}</failure>")
        };
        // Writing to a String cannot fail.
        let _ = writeln!(
            cases,
            "  <testcase classname=\"tautmark.lint\" name=\"{name}\">{inside}</testcase>"
        );
    }
    let counts = format!(
        "tests=\"{}\" failures=\"{failures}\" errors=\"{errors}\"",
        files.len()
    );
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites {counts}>\n <testsuite name=\"tautmark lint\" {counts}>\n{cases} </testsuite>\n</testsuites>\n"
    )
}

fn findings(file: &Value) -> &[Value] {
    file["findings"].as_array().map_or(&[], Vec::as_slice)
}

fn text<'a>(of: &'a Value, key: &str) -> &'a str {
    of[key].as_str().unwrap_or_default()
}

fn place(at: &Value) -> Option<(u64, u64)> {
    Some((at["line"].as_u64()?, at["column"].as_u64()?))
}

/// Without anything that would end the line or act on a terminal.
fn one_line(text: &str) -> String {
    printable(&text.replace(['\n', '\t'], " "))
}

/// A path as a URI reference: relative as it is, absolute with its scheme.
fn uri(path: &str) -> String {
    let mut out = String::new();
    if path.starts_with('/') {
        out.push_str("file://");
    }
    for byte in path.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) {
            out.push(char::from(byte));
        } else {
            // Writing to a String cannot fail.
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

/// `text` with what has a meaning in XML as entities.
fn entities(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
