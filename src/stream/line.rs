//! A line, read without a copy where it needs none.

use super::table::Table;
use crate::drive::model::Drive;
use crate::stream::LineChecker;
use crate::timing::count::DotCount;
use crate::timing::observe::{Observations, Seen};
use serde::de::{DeserializeSeed, MapAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::fmt;

/// One line, as far as it has to be read to see whether it is one.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Line<'a> {
    #[serde(borrow, default, deserialize_with = "given")]
    pub(super) id: Option<&'a RawValue>,
    #[serde(borrow, default, deserialize_with = "given")]
    pub(super) spec: Option<Text<'a>>,
    #[serde(borrow, default, deserialize_with = "given")]
    pub(super) turned: Option<&'a RawValue>,
    #[serde(borrow, default, deserialize_with = "given")]
    pub(super) links: Option<&'a RawValue>,
    #[serde(borrow, default, deserialize_with = "given")]
    pub(super) dots: Option<&'a RawValue>,
    #[serde(borrow, default, deserialize_with = "given")]
    pub(super) counts: Option<&'a RawValue>,
}

/// What stands after a key, `null` too: not to know the turns is not to have turned never.
fn given<'de, T: Deserialize<'de>, D: Deserializer<'de>>(from: D) -> Result<Option<T>, D::Error> {
    T::deserialize(from).map(Some)
}

/// A text; a copy only where something in it is escaped.
pub(super) struct Text<'a>(pub(super) Cow<'a, str>);

impl<'de: 'a, 'a> Deserialize<'de> for Text<'a> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Taker;
        impl<'de> Visitor<'de> for Taker {
            type Value = Text<'de>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a string")
            }

            fn visit_borrowed_str<E>(self, text: &'de str) -> Result<Self::Value, E> {
                Ok(Text(Cow::Borrowed(text)))
            }

            fn visit_str<E>(self, text: &str) -> Result<Self::Value, E> {
                Ok(Text(Cow::Owned(text.to_owned())))
            }
        }
        from.deserialize_str(Taker)
    }
}

/// A mapping in its order, a key given twice among them: what is seen twice is refused, not lost. Each pair is
/// taken down as it comes; what is wrong with one waits until the mapping has been read.
pub(super) struct Marks<'t> {
    table: &'t Table<'t>,
    seen: &'t mut Observations,
    dots: bool,
    wrong: Option<String>,
}

impl<'t> Marks<'t> {
    pub(super) fn new(table: &'t Table<'t>, seen: &'t mut Observations, dots: bool) -> Self {
        Self {
            table,
            seen,
            dots,
            wrong: None,
        }
    }

    pub(super) fn take(mut self, json: &str) -> Result<(), String> {
        let mut reader = serde_json::Deserializer::from_str(json);
        (&mut self)
            .deserialize(&mut reader)
            .and_then(|()| reader.end())
            .map_err(|error| in_words(&error))?;
        match self.wrong {
            Some(wrong) => Err(wrong),
            None => Ok(()),
        }
    }

    /// Takes down one pair.
    pub(super) fn pair(&mut self, name: &str, what: &str) -> Result<(), String> {
        let place = |error: &dyn fmt::Display| {
            let key = if self.dots { "dot" } else { "link" };
            format!("{key} {name}={what}: {error}")
        };
        let parsed: Seen = what
            .parse()
            .map_err(|error: crate::timing::observe::SeenError| place(&error))?;
        let drive = self.table.drive;
        let taken = if self.dots {
            let at = self.table.dot(name, parsed);
            at.and_then(|at| self.seen.see_dot(drive, at, parsed))
        } else {
            let at = self.table.link(name);
            at.and_then(|at| self.seen.see_link(drive, at, parsed))
        };
        taken.map_err(|error| place(&error))
    }
}

/// Counts from dot to dot, each of them: what is given twice is refused by whoever takes them down.
pub(super) fn counts(drive: &Drive, json: &str) -> Result<Vec<DotCount>, String> {
    struct Taker<'d>(&'d Drive);
    impl<'de> Visitor<'de> for Taker<'_> {
        type Value = Result<Vec<DotCount>, String>;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a mapping such as {\"crank..exhaust\": \"51 outer inner\"}")
        }

        fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Self::Value, M::Error> {
            let mut counts = Ok(Vec::new());
            while let Some((names, what)) = map.next_entry::<Text<'de>, Text<'de>>()? {
                let count = DotCount::named(self.0, &names.0, &what.0);
                let count = count.map_err(|error| format!("count {}={}: {error}", names.0, what.0));
                counts = counts.and_then(|mut all: Vec<DotCount>| {
                    all.push(count?);
                    Ok(all)
                });
            }
            Ok(counts)
        }
    }
    let mut reader = serde_json::Deserializer::from_str(json);
    let counts = reader.deserialize_map(Taker(drive));
    counts.map_err(|error| in_words(&error))?
}

impl<'de> DeserializeSeed<'de> for &mut Marks<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for &mut Marks<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a mapping from sprockets to what was seen")
    }

    fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<(), M::Error> {
        while let Some((name, what)) = map.next_entry::<Text<'de>, Text<'de>>()? {
            if self.wrong.is_none() {
                self.wrong = self.pair(&name.0, &what.0).err();
            }
        }
        Ok(())
    }
}

/// The text of a line that can be one.
pub(super) fn text(line: &[u8]) -> Result<&str, String> {
    if line.len() > LineChecker::LONGEST {
        return Err(format!("longer than {} bytes", LineChecker::LONGEST));
    }
    std::str::from_utf8(line).map_err(|error| {
        let byte = error.valid_up_to();
        format!("not UTF-8 text from byte {byte} on")
    })
}

pub(super) fn read(text: &str) -> Result<Line<'_>, String> {
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
pub(super) fn in_words(error: &serde_json::Error) -> String {
    let text = error.to_string();
    match text.split_once(" at line ") {
        Some((what, _)) => format!("{what} (column {})", error.column()),
        None => text,
    }
}
