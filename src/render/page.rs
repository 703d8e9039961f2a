//! One page for the phone, the class and the desk: a whole HTML file that needs nothing else.
//!
//! The library itself lies in it, built for a browser (`bindings/web`); the page's script asks it, and puts what it
//! answers in its place.

use super::words::escape::{escaped, printable};
use crate::drive::model::Drive;
use crate::spec::conform::is_unprintable;
use crate::spec::source::Source;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};

const TEMPLATE: &str = include_str!("page/page.html");
const STYLE: &str = include_str!("page/page.css");
const WORKER: &str = include_str!("page/worker.js");
const ICON: &str = include_str!("page/icon.svg");

/// The script, in the order in which its parts need each other.
const SCRIPT: &str = concat!(
    "\"use strict\";\n(() => {\n",
    include_str!("page/script/module.js"),
    include_str!("page/script/dom.js"),
    include_str!("page/script/address.js"),
    include_str!("page/script/crank.js"),
    include_str!("page/script/picture.js"),
    include_str!("page/script/cylinder.js"),
    include_str!("page/script/store.js"),
    include_str!("page/script/engine.js"),
    include_str!("page/script/exercise.js"),
    include_str!("page/script/class.js"),
    include_str!("page/script/desk.js"),
    include_str!("page/script/app.js"),
    "})();\n",
);

/// The library as a WebAssembly module, packed; `bindings/web/build` builds it.
const MODULE: &[u8] = include_bytes!("page/tautmark.wasm.gz");

/// What the browser may do: run the one script whose hash this is, and the module; show the one style sheet;
/// nothing else. No request at all. `UPDATE_SNAPSHOTS=1 cargo test --test program page::` writes the hash of a changed script.
const POLICY: &str = concat!(
    "default-src 'none'; script-src 'sha256-",
    include_str!("page/script.sha256"),
    "' 'wasm-unsafe-eval'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'",
);

/// What a page that comes from a server may do besides: keep itself for use without a network.
const FROM_A_SERVER: &str =
    "; worker-src 'self'; manifest-src 'self'; img-src 'self'; connect-src 'self'";

/// The whole file, for these engines; none: one is opened from a file.
///
/// ```
/// # use tautmark::{Drive, Source};
/// # let source = Source::new("kestrel-four.yaml", std::fs::read("engines/kestrel-four.yaml")?)?;
/// # let drive = Drive::read(&source).drive.ok_or("not usable")?;
/// let page = tautmark::render::page(&[(&source, &drive)]);
/// assert!(page.starts_with("<!doctype html>"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn page(engines: &[(&Source, &Drive)]) -> String {
    written(engines, "", "")
}

/// The same as files for a web server, each with its name: once it was opened there it works without a network.
pub fn page_folder(engines: &[(&Source, &Drive)]) -> Vec<(&'static str, String)> {
    let head = "<link rel=\"manifest\" href=\"manifest.webmanifest\">\n<link rel=\"icon\" href=\"icon.svg\">\n";
    let index = written(engines, head, FROM_A_SERVER);
    let mut hasher = DefaultHasher::new();
    index.hash(&mut hasher);
    let version = format!("{:016x}", hasher.finish());
    let title = title(engines);
    let manifest = json!({
        "name": title,
        "short_name": title,
        "start_url": "./",
        "display": "standalone",
        "background_color": "#14171a",
        "theme_color": "#14171a",
        "icons": [{ "src": "icon.svg", "sizes": "any", "type": "image/svg+xml" }],
    });
    vec![
        ("index.html", index),
        ("manifest.webmanifest", format!("{manifest}\n")),
        ("worker.js", WORKER.replace("{{version}}", &version)),
        ("icon.svg", ICON.to_owned()),
    ]
}

fn title(engines: &[(&Source, &Drive)]) -> String {
    match engines {
        [(_, drive)] => printable(drive.engine()),
        _ => "tautmark".to_owned(),
    }
}

fn written(engines: &[(&Source, &Drive)], head: &str, more: &str) -> String {
    let specs: Vec<Value> = engines
        .iter()
        .map(|(source, drive)| {
            json!({
                "title": printable(drive.engine()),
                "name": file_name(source.name()),
                "text": source.text(),
            })
        })
        .collect();
    let parts = [
        ("policy", format!("{POLICY}{more}")),
        ("head", head.to_owned()),
        ("title", escaped(&title(engines))),
        ("style", STYLE.to_owned()),
        ("specs", embedded(&json!(specs))),
        ("module", base64(MODULE)),
        ("script", SCRIPT.to_owned()),
    ];
    // One piece of the template after the other, so that nothing that was put in is looked through again.
    let mut out = String::with_capacity(1024 * 1024);
    let mut pieces = TEMPLATE.split("{{");
    out.push_str(pieces.next().unwrap_or_default());
    for piece in pieces {
        let (name, rest) = piece.split_once("}}").unwrap_or(("", piece));
        for (_, text) in parts.iter().filter(|(part, _)| *part == name) {
            out.push_str(text);
        }
        out.push_str(rest);
    }
    out
}

/// What a file is called, without its folders.
fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// JSON that can stand in a script element: nothing in it ends the element, begins a comment or breaks a
/// line, and it is the same JSON.
fn embedded(value: &Value) -> String {
    let text = value.to_string();
    let mut out = String::with_capacity(text.len() + 64);
    for c in text.chars() {
        if matches!(c, '<' | '>' | '&') || is_unprintable(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
    out
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let three = [0, 1, 2].map(|i| u32::from(chunk.get(i).copied().unwrap_or(0)));
        let all = three[0] << 16 | three[1] << 8 | three[2];
        for (i, shift) in [18, 12, 6, 0].into_iter().enumerate() {
            let letter = LETTERS.get(usize::from(u8::try_from(all >> shift & 63).unwrap_or(0)));
            let letter = letter.filter(|_| i <= chunk.len());
            out.push(letter.map_or('=', |letter| char::from(*letter)));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_the_data_ends_its_element() {
        let value = json!({ "</script><!--": "\u{2028}<b>&\u{202e}" });
        let text = embedded(&value);
        assert!(text.is_ascii() && !text.contains(['<', '>', '&']), "{text}");
        assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), value);
    }

    /// RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_the_rfc() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn a_name_has_no_folders() {
        assert_eq!(file_name("engines/kestrel.yaml"), "kestrel.yaml");
        assert_eq!(file_name("C:\\engines\\kestrel.yaml"), "kestrel.yaml");
    }
}
