//! Streams: what was seen at one engine as one line of JSON, and the verdict as another.
//!
//! In: lines.
//! Out: one answer a line, in the order of the lines; a line that cannot be used is
//! answered with what is wrong with it.
//! Never: another verdict than `check`'s.

use crate::drive::model::Drive;
use crate::proof::check::{Check, check};
use crate::render::verdict_word;
use crate::spec::conform::is_unprintable;
use crate::timing::check::{Unseen, Verdict};
use crate::timing::observe::{Observations, dot_named, link_named, name_of};
use crate::units::quantity::{Exact, Turns};
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt::{self, Write as _};
use std::hash::{BuildHasher as _, RandomState};

/// One line, as far as it has to be read to see whether the same was seen before.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line<'a> {
    #[serde(borrow, default, deserialize_with = "given")]
    id: Option<&'a RawValue>,
    #[serde(borrow, default, deserialize_with = "given")]
    spec: Option<Text<'a>>,
    #[serde(borrow, default, deserialize_with = "given")]
    turned: Option<&'a RawValue>,
    #[serde(borrow, default, deserialize_with = "given")]
    links: Option<&'a RawValue>,
    #[serde(borrow, default, deserialize_with = "given")]
    dots: Option<&'a RawValue>,
}

/// What stands after a key, `null` too: not to know the turns is not to have turned never.
fn given<'de, T: Deserialize<'de>, D: Deserializer<'de>>(from: D) -> Result<Option<T>, D::Error> {
    T::deserialize(from).map(Some)
}

#[derive(Deserialize)]
struct Text<'a>(#[serde(borrow)] Cow<'a, str>);

/// A mapping in its order, a key given twice among them: what is seen twice is refused, not lost.
struct Pairs<'a>(Vec<(Text<'a>, Text<'a>)>);

impl<'de: 'a, 'a> Deserialize<'de> for Pairs<'a> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Taker;
        impl<'de> Visitor<'de> for Taker {
            type Value = Pairs<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a mapping from sprockets to what was seen")
            }

            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Self::Value, M::Error> {
                let mut pairs = Vec::new();
                while let Some(pair) = map.next_entry()? {
                    pairs.push(pair);
                }
                Ok(Pairs(pairs))
            }
        }
        from.deserialize_map(Taker)
    }
}

/// What one line came to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LineOutcome {
    /// A verdict.
    Verdict(Verdict),
    /// It could not be used; the answer says why.
    Bad,
}

/// Answers lines, one by one, with no more memory however many they are.
///
/// ```
/// use std::collections::BTreeMap;
/// use tautmark::{Drive, Source, Verdict, stream::{LineChecker, LineOutcome}};
///
/// # let text = "
/// # tautmark: 1
/// # engine: Example single
/// # crank_turns: clockwise
/// # shafts: { crank: { kind: crankshaft }, cam: { kind: camshaft } }
/// # chains: { main: { links: 90, path: [
/// #   { sprocket: crank, teeth: 18, link: 0 }, { sprocket: cam, teeth: 36, link: 45 } ] } }
/// # ";
/// let drive = Drive::read(&Source::new("x", text.into())?).drive.ok_or("not usable")?;
/// let drives = BTreeMap::from([("example".to_owned(), drive)]);
/// let mut checker = LineChecker::new(&drives);
/// let mut out = String::new();
/// let line = br#"{"id": 7, "links": {"crank": "on", "cam": "1 ahead"}}"#;
/// assert_eq!(checker.answer(1, line, &mut out), LineOutcome::Verdict(Verdict::OutOfTime));
/// assert!(out.starts_with(r#"{"line":1,"id":7,"verdict":"out of time","#));
/// assert_eq!(checker.answer(2, b"{", &mut out), LineOutcome::Bad);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct LineChecker<'d> {
    drives: &'d BTreeMap<String, Drive>,
    /// Answers to what was seen before, each in the one place that its key allows: a verdict depends
    /// on nothing else. A newcomer takes the room of the one before it, so that nothing is given
    /// back and nothing grows.
    known: Vec<Known>,
    hashing: RandomState,
    key: Vec<u8>,
}

/// An answer that is remembered; with an empty key, none.
#[derive(Clone, Default)]
struct Known {
    key: Vec<u8>,
    answer: String,
    verdict: Option<Verdict>,
}

impl<'d> LineChecker<'d> {
    /// Longest line that is read, in bytes.
    pub const LONGEST: usize = 1 << 20;
    /// Most answers that are remembered, of at most so many bytes each.
    const MOST_KNOWN: usize = 1024;
    const LONGEST_KNOWN: usize = 4096;

    /// For the drives of these names. Where there is only one, lines need not name it.
    pub fn new(drives: &'d BTreeMap<String, Drive>) -> Self {
        Self {
            drives,
            known: vec![Known::default(); Self::MOST_KNOWN],
            hashing: RandomState::new(),
            key: Vec::new(),
        }
    }

    /// Adds the answer to `line`, whose number is `number`, to `out`, with a line break.
    pub fn answer(&mut self, number: u64, line: &[u8], out: &mut String) -> LineOutcome {
        // Writing to a String cannot fail.
        let _ = write!(out, "{{\"line\":{number}");
        let read: Line<'_> = match read(line) {
            Ok(read) => read,
            Err(reason) => return bad(out, &reason),
        };
        if let Some(id) = read.id {
            let id = id.get();
            let plain = id.starts_with(|c: char| matches!(c, '"' | '-' | '0'..='9'));
            if !plain || id.len() > 1000 {
                return bad(
                    out,
                    "\"id\" must be a text or a number, of 1000 bytes at most",
                );
            }
            out.push_str(",\"id\":");
            escaped(out, id);
        }
        let name = read.spec.as_ref().map(|spec| spec.0.as_ref());
        let (name, drive) = match self.drive(name) {
            Ok(found) => found,
            Err(reason) => return bad(out, &reason),
        };
        self.key.clear();
        for part in [
            Some(name),
            get(read.turned),
            get(read.links),
            get(read.dots),
        ] {
            self.key.extend_from_slice(part.unwrap_or("").as_bytes());
            // No such byte is in what separates them.
            self.key.push(0);
        }
        let hash = self.hashing.hash_one(&self.key);
        // The remainder is below a small number, so nothing is lost.
        let place = usize::try_from(hash % Self::MOST_KNOWN as u64).unwrap_or(0);
        let known = &mut self.known[place];
        if let (Some(verdict), true) = (known.verdict, known.key == self.key) {
            out.push_str(&known.answer);
            return LineOutcome::Verdict(verdict);
        }
        match verdict(drive, &read) {
            Err(reason) => bad(out, &reason),
            Ok(check) => {
                let start = out.len();
                write_answer(out, drive, &check);
                let answer = &out[start..];
                if self.key.len() + answer.len() <= Self::LONGEST_KNOWN {
                    known.key.clone_from(&self.key);
                    known.answer.clear();
                    known.answer.push_str(answer);
                    known.verdict = Some(check.verdict());
                }
                LineOutcome::Verdict(check.verdict())
            }
        }
    }

    fn drive(&self, name: Option<&str>) -> Result<(&'d str, &'d Drive), String> {
        match name {
            Some(name) => self
                .drives
                .get_key_value(name)
                .map(|(name, drive)| (name.as_str(), drive))
                .ok_or_else(|| format!("no spec is called '{name}'")),
            None if self.drives.len() == 1 => self
                .drives
                .iter()
                .next()
                .map(|(name, drive)| (name.as_str(), drive))
                .ok_or_else(String::new),
            None => Err("which spec? (add \"spec\": \"NAME\")".to_owned()),
        }
    }
}

fn get(raw: Option<&RawValue>) -> Option<&str> {
    raw.map(RawValue::get)
}

fn read(line: &[u8]) -> Result<Line<'_>, String> {
    if line.len() > LineChecker::LONGEST {
        return Err(format!("longer than {} bytes", LineChecker::LONGEST));
    }
    let text = std::str::from_utf8(line).map_err(|error| {
        let byte = error.valid_up_to();
        format!("not UTF-8 text from byte {byte} on")
    })?;
    if text.starts_with('\u{feff}') {
        return Err("begins with a byte order mark (write UTF-8 without one)".to_owned());
    }
    // Read into fields, a list would be taken by position, and answer what nobody asked.
    if !text.trim_start().starts_with('{') {
        return Err("expected an object, such as {\"links\": {\"crank\": \"on\"}}".to_owned());
    }
    serde_json::from_str(text).map_err(|error| in_words(&error))
}

/// What the JSON reader says, without its line, which is always the first.
fn in_words(error: &serde_json::Error) -> String {
    let text = error.to_string();
    match text.split_once(" at line ") {
        Some((what, _)) => format!("{what} (column {})", error.column()),
        None => text,
    }
}

fn bad(out: &mut String, reason: &str) -> LineOutcome {
    out.push_str(",\"error\":");
    text(out, reason);
    out.push_str("}\n");
    LineOutcome::Bad
}

fn text(out: &mut String, of: &str) {
    escaped(out, &serde_json::Value::from(of).to_string());
}

/// JSON with everything that a terminal would act on escaped. Such characters can only stand
/// within strings here.
fn escaped(out: &mut String, json: &str) {
    if json.bytes().all(|byte| (0x20..0x7f).contains(&byte)) {
        out.push_str(json);
        return;
    }
    for c in json.chars() {
        if is_unprintable(c) {
            for unit in c.encode_utf16(&mut [0; 2]) {
                // Writing to a String cannot fail.
                let _ = write!(out, "\\u{unit:04x}");
            }
        } else {
            out.push(c);
        }
    }
}

fn verdict(drive: &Drive, line: &Line<'_>) -> Result<Check, String> {
    let turned = match get(line.turned) {
        None => Exact::ZERO,
        Some(raw) => {
            // A number is taken as it is written, and never as a float.
            let shown = match raw.strip_prefix('"') {
                Some(_) => {
                    serde_json::from_str::<Text<'_>>(raw)
                        .map_err(|error| in_words(&error))?
                        .0
                }
                None => Cow::Borrowed(raw),
            };
            Exact::parse(&shown).map_err(|error| format!("turned '{shown}': {error}"))?
        }
    };
    let mut seen = Observations::after(Turns::new(turned)).map_err(|error| error.to_string())?;
    for (raw, dots) in [(line.links, false), (line.dots, true)] {
        let Some(raw) = raw else { continue };
        let pairs: Pairs<'_> = serde_json::from_str(raw.get()).map_err(|error| in_words(&error))?;
        for (name, what) in &pairs.0 {
            let (name, what) = (name.0.as_ref(), what.0.as_ref());
            let place = |error: &dyn fmt::Display| {
                let key = if dots { "dot" } else { "link" };
                format!("{key} {name}={what}: {error}")
            };
            let parsed = what
                .parse()
                .map_err(|error: crate::timing::observe::SeenError| place(&error))?;
            let taken = if dots {
                dot_named(drive, name, parsed).and_then(|at| seen.see_dot(drive, at, parsed))
            } else {
                link_named(drive, name).and_then(|at| seen.see_link(drive, at, parsed))
            };
            taken.map_err(|error| place(&error))?;
        }
    }
    check(drive, &seen).map_err(|error| error.to_string())
}

/// Everything of an answer that follows its number and its name.
fn write_answer(out: &mut String, drive: &Drive, check: &Check) {
    // Writing to a String cannot fail.
    let _ = write!(
        out,
        ",\"verdict\":\"{}\",\"release_tensioner\":{},\"shafts\":{{",
        verdict_word(check.verdict()),
        check.release_tensioner()
    );
    for (i, state) in check.shafts().iter().enumerate() {
        if i > 0 {
            out.push(',');
        }
        text(out, drive.shaft(state.shaft).name());
        let number = |value: Option<String>| match value {
            Some(value) => format!("\"{value}\""),
            None => "null".to_owned(),
        };
        let teeth = state.off_teeth.map(|teeth| teeth.to_string());
        let degrees = state.off.map(|off| off.angle.to_string());
        let _ = write!(
            out,
            ":{{\"off_teeth\":{},\"off_crank_degrees\":{}}}",
            number(teeth),
            number(degrees)
        );
    }
    out.push_str("},\"not_seen\":[");
    for (i, unseen) in check.not_seen().iter().enumerate() {
        if i > 0 {
            out.push(',');
        }
        let what = match unseen {
            Unseen::Link(at) => format!("link {}", name_of(drive, *at)),
            Unseen::Dot(id) => format!("dot {}", drive.shaft(*id).name()),
        };
        text(out, &what);
    }
    out.push_str("]}\n");
}
