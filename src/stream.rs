//! Streams: what was seen at one engine as one line of JSON, and the verdict as another.
//!
//! In: lines.
//! Out: one answer a line, in the order of the lines; a line that cannot be used is
//! answered with what is wrong with it.
//! Never: another verdict than `check`'s.

mod line;
mod plain;
mod table;
mod write;

use crate::drive::model::Drive;
use crate::proof::check::{Proof, prove_and_miss};
use crate::render::verdict_word;
use crate::timing::check::{Unseen, Verdict};
use crate::timing::observe::Observations;
use crate::units::quantity::{Exact, Turns};
use line::{Marks, Text, counts, in_words};
use plain::Plain;
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Range;
use table::Table;

/// What an answer has in it besides its line's number and name.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Fields {
    /// Verdict, release, every shaft, and what was not looked at.
    #[default]
    All,
    /// Verdict and release.
    Verdict,
}

/// What one line came to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LineOutcome {
    /// A verdict, and whether it lets the tensioner go: "in time" by links that a look-alike would show
    /// too does not.
    Verdict {
        /// The verdict.
        verdict: Verdict,
        /// What [`Check::release_tensioner`](crate::Check::release_tensioner) says.
        release: bool,
    },
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
/// let told = LineOutcome::Verdict { verdict: Verdict::OutOfTime, release: false };
/// assert_eq!(checker.answer(1, line, &mut out), told);
/// assert!(out.starts_with(r#"{"line":1,"id":7,"verdict":"out of time","#));
/// assert_eq!(checker.answer(2, b"{", &mut out), LineOutcome::Bad);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct LineChecker<'d> {
    /// By name, in the order of names.
    drives: Vec<(&'d str, Table<'d>)>,
    fields: Fields,
    /// Where the parts of the line stand in it.
    plain: Plain,
    /// What was seen and what was not, taken down afresh for each line in the same room.
    seen: Observations,
    not_seen: Vec<Unseen>,
}

impl<'d> LineChecker<'d> {
    /// Longest line that is read, in bytes.
    pub const LONGEST: usize = 1 << 20;

    /// For the drives of these names. Where there is only one, lines need not name it.
    pub fn new(drives: &'d BTreeMap<String, Drive>) -> Self {
        let tables = drives.iter();
        Self {
            drives: tables
                .map(|(name, drive)| (name.as_str(), Table::new(drive)))
                .collect(),
            fields: Fields::All,
            plain: Plain::default(),
            seen: Observations::at_timed_position(),
            not_seen: Vec::new(),
        }
    }

    /// The same, with these fields in every answer.
    #[must_use]
    pub fn with(mut self, fields: Fields) -> Self {
        self.fields = fields;
        self
    }

    /// Adds the answer to `line`, whose number is `number`, to `out`, with a line break.
    pub fn answer(&mut self, number: u64, line: &[u8], out: &mut String) -> LineOutcome {
        out.push_str("{\"line\":");
        write::whole(out, number);
        match self.read_and_prove(line, out) {
            Ok((proof, drive)) => {
                self.write(out, &self.drives[drive].1, &proof);
                LineOutcome::Verdict {
                    verdict: proof.verdict(),
                    release: proof.release_tensioner(),
                }
            }
            Err(reason) => {
                out.push_str(",\"error\":");
                write::text(out, &reason);
                out.push_str("}\n");
                LineOutcome::Bad
            }
        }
    }

    /// Adds the line's own name, and proves what it says was seen; at which of the drives?
    fn read_and_prove(&mut self, line: &[u8], out: &mut String) -> Result<(Proof, usize), String> {
        let text = line::text(line)?;
        let read = if self.plain.read(text) {
            None
        } else {
            Some(line::read(text)?)
        };
        let part = |place: &Option<Range<usize>>| place.clone().map(|place| &text[place]);
        let (id, spec, turned) = match &read {
            Some(read) => (
                read.id.map(RawValue::get),
                read.spec.as_ref().map(|spec| spec.0.as_ref()),
                read.turned.map(RawValue::get),
            ),
            None => {
                let Plain {
                    id, spec, turned, ..
                } = &self.plain;
                (part(id), part(spec), part(turned))
            }
        };
        if let Some(id) = id {
            let plain = id.starts_with(|c: char| matches!(c, '"' | '-' | '0'..='9'));
            if !plain || id.len() > 1000 {
                return Err("\"id\" must be a text or a number, of 1000 bytes at most".to_owned());
            }
            // An answer that no reader of JSON takes, for half of a pair of surrogates in its name, would be none.
            if id.contains('\\') {
                serde_json::from_str::<Text<'_>>(id).map_err(|error| in_words(&error))?;
            }
            out.push_str(",\"id\":");
            write::escaped(out, id);
        }
        let place = match (spec, self.drives.len()) {
            (Some(name), _) => self
                .drives
                .binary_search_by(|(known, _)| known.cmp(&name))
                .map_err(|_| format!("no spec is called '{name}'"))?,
            (None, 1) => 0,
            (None, _) => return Err("which spec? (add \"spec\": \"NAME\")".to_owned()),
        };
        let table = &self.drives[place].1;
        self.seen
            .begin(turned.map_or(Ok(Turns::ZERO), turns)?)
            .map_err(|error| error.to_string())?;
        if let Some(read) = &read {
            for (raw, dots) in [(read.links, false), (read.dots, true)] {
                if let Some(raw) = raw {
                    Marks::new(table, &mut self.seen, dots).take(raw.get())?;
                }
            }
            if let Some(raw) = read.counts {
                let counts = counts(table.drive, raw.get())?;
                self.seen
                    .see_counts(table.drive, &counts)
                    .map_err(|error| format!("counts: {error}"))?;
            }
        } else {
            for (pairs, dots) in [(&self.plain.links, false), (&self.plain.dots, true)] {
                let mut marks = Marks::new(table, &mut self.seen, dots);
                for [name, what] in pairs {
                    marks.pair(&text[name.clone()], &text[what.clone()])?;
                }
            }
        }
        let missing = match self.fields {
            Fields::All => Some(&mut self.not_seen),
            Fields::Verdict => None,
        };
        let proof =
            prove_and_miss(table.drive, &self.seen, missing).map_err(|error| error.to_string())?;
        Ok((proof, place))
    }

    /// Everything of an answer that follows its number and its name.
    fn write(&self, out: &mut String, table: &Table<'d>, proof: &Proof) {
        out.push_str(",\"verdict\":\"");
        out.push_str(verdict_word(proof.verdict()));
        out.push_str("\",\"release_tensioner\":");
        out.push_str(if proof.release_tensioner() {
            "true"
        } else {
            "false"
        });
        if self.fields == Fields::Verdict {
            out.push_str("}\n");
            return;
        }
        out.push_str(",\"shafts\":{");
        let mut first = true;
        for (id, name) in table.shafts() {
            let Some(state) = proof.shaft(table.drive, id) else {
                continue;
            };
            if !std::mem::take(&mut first) {
                out.push(',');
            }
            out.push_str(name);
            out.push_str(":{\"off_teeth\":");
            write::number(out, state.off_teeth.map(|teeth| teeth.get()));
            out.push_str(",\"off_crank_degrees\":");
            write::number(out, state.off.map(|off| off.angle.get()));
            out.push('}');
        }
        out.push_str("},\"not_seen\":[");
        for (i, unseen) in self.not_seen.iter().enumerate() {
            if i > 0 {
                out.push(',');
            }
            out.push_str(table.unseen(*unseen));
        }
        out.push_str("]}\n");
    }
}

/// Crank turns as a line gives them: a text or a number, which is taken as it is written, and never as a float.
fn turns(raw: &str) -> Result<Turns, String> {
    let shown = match raw.strip_prefix('"') {
        Some(_) if raw.contains('\\') => {
            serde_json::from_str::<Text<'_>>(raw)
                .map_err(|error| in_words(&error))?
                .0
        }
        Some(rest) => Cow::Borrowed(rest.strip_suffix('"').unwrap_or(rest)),
        None => Cow::Borrowed(raw),
    };
    Exact::parse(&shown)
        .map(Turns::new)
        .map_err(|error| format!("turned '{shown}': {error}"))
}
