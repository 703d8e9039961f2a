//! The text of a spec file, and places in it.

/// A stretch of a [`Source`], in bytes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash, PartialOrd, Ord)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// The byte after the last.
    pub end: usize,
}

/// A place as an editor counts it: line and column from 1, the column in characters.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord)]
pub struct Position {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
}

/// A value and where it is written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct At<T> {
    /// What is written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> At<T> {
    /// The value of `make`, in the same place.
    pub(crate) fn map<U>(self, make: impl FnOnce(T) -> U) -> At<U> {
        At {
            value: make(self.value),
            span: self.span,
        }
    }
}

/// A text with the name under which messages speak of it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Source {
    name: String,
    text: String,
}

/// Why bytes are not a text that could be a spec.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum SourceError {
    /// More bytes than [`Source::MAX_BYTES`].
    TooLarge,
    /// Not UTF-8 from this byte on.
    NotUtf8 {
        /// Offset of the first byte that is wrong.
        byte: usize,
    },
}

impl std::fmt::Display for SourceError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooLarge => f.write_str("larger than 1 MiB (no spec is; is it the right file?)"),
            Self::NotUtf8 { byte } => write!(
                f,
                "not UTF-8 text from byte {byte} on (save it as UTF-8; is it the right file?)"
            ),
        }
    }
}

impl std::error::Error for SourceError {}

impl Source {
    /// The largest text that is read: 1 MiB. A spec of sixteen shafts is a few kilobytes.
    pub const MAX_BYTES: usize = 1 << 20;

    /// A text and its name. A byte-order mark at the front is dropped.
    ///
    /// # Errors
    /// [`SourceError`] if it is too large or is not UTF-8.
    pub fn new(name: impl Into<String>, bytes: Vec<u8>) -> Result<Self, SourceError> {
        if bytes.len() > Self::MAX_BYTES {
            return Err(SourceError::TooLarge);
        }
        let mut text = String::from_utf8(bytes).map_err(|error| SourceError::NotUtf8 {
            byte: error.utf8_error().valid_up_to(),
        })?;
        if text.starts_with('\u{feff}') {
            text.drain(..'\u{feff}'.len_utf8());
        }
        Ok(Self {
            name: name.into(),
            text,
        })
    }

    /// The name, usually a file's path.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The whole text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What is written at `span`; empty where the span lies outside.
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    /// Line and column of the first byte of `span`.
    pub fn position(&self, span: Span) -> Position {
        let mut start = span.start.min(self.text.len());
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        let before = &self.text[..start];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Position {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_characters_not_bytes() {
        let source = Source::new("x", "a: é\nb: 1".into()).unwrap();
        let place = |start| {
            let Position { line, column } = source.position(Span { start, end: start });
            (line, column)
        };
        assert_eq!(place(0), (1, 1));
        assert_eq!(place(5), (1, 5));
        assert_eq!(place(6), (2, 1));
        assert_eq!(place(999), (2, 5));
    }

    #[test]
    fn what_is_no_text_is_refused() {
        assert_eq!(
            Source::new("x", vec![b'a', 0xff]),
            Err(SourceError::NotUtf8 { byte: 1 })
        );
        assert_eq!(
            Source::new("x", vec![b'a'; Source::MAX_BYTES + 1]),
            Err(SourceError::TooLarge)
        );
        assert_eq!(Source::new("x", "\u{feff}a".into()).unwrap().text(), "a");
    }
}
