//! What every family of findings says in the same way.

use std::borrow::Cow;

/// A finding in words.
pub(crate) struct Words {
    /// What is wrong.
    pub(crate) title: Cow<'static, str>,
    /// Under the offence.
    pub(crate) label: Cow<'static, str>,
    /// Under the second place.
    pub(crate) related: &'static str,
    /// What to do.
    pub(crate) help: Cow<'static, str>,
}

/// Declares a family of findings. Each kind has its data, its code and severity, and its words:
/// `title` says what is wrong, `label` stands under the offence, `related` under the second place,
/// `help` says what to do. The words see the data by the names of its fields, as references, and
/// what a chain or belt is called by the name in brackets behind the family's.
macro_rules! family {
    ($(#[$family_about:meta])* $family:ident $(($band:ident))? {
        $(
            $(#[$about:meta])*
            $name:ident $({ $($(#[$field_about:meta])* $field:ident: $type:ty),* $(,)? })?
            = $code:literal, $severity:ident {
                title: $title:expr,
                label: $label:expr,
                $(related: $related:expr,)?
                help: $help:expr $(,)?
            }
        )*
    }) => {
        $(#[$family_about])*
        #[derive(Clone, PartialEq, Debug)]
        #[non_exhaustive]
        pub enum $family {
            $($(#[$about])* $name $({ $($(#[$field_about])* $field: $type),* })?,)*
        }

        impl $family {
            /// The stable name of every kind of this family.
            pub const CODES: &'static [&'static str] = &[$($code),*];

            /// The stable name of this kind.
            pub fn code(&self) -> &'static str {
                match self {
                    $(Self::$name { .. } => $code,)*
                }
            }

            /// How much this kind matters.
            pub fn severity(&self) -> $crate::spec::finding::Severity {
                match self {
                    $(Self::$name { .. } => $crate::spec::finding::Severity::$severity,)*
                }
            }

            #[allow(unused_variables, reason = "not all data of a kind is in its words, nor is every family about chains")]
            pub(crate) fn words(&self, of: &'static $crate::spec::finding::band::Band) -> $crate::spec::finding::words::Words {
                $(let $band = of;)?
                match self {
                    $(Self::$name $({ $($field),* })? => $crate::spec::finding::words::Words {
                        title: ($title).into(),
                        label: ($label).into(),
                        // The first there is: its own, or none.
                        related: [$($related,)? ""][0],
                        help: ($help).into(),
                    },)*
                }
            }
        }
    };
}
pub(crate) use family;

/// A quoted text of a length that can be read.
pub(crate) fn quoted(text: &str) -> String {
    format!("'{}'", clipped(text, 40))
}

/// The text, or so many characters of it.
pub(crate) fn clipped(text: &str, most: usize) -> Cow<'_, str> {
    match text.char_indices().nth(most) {
        None => Cow::Borrowed(text),
        Some((end, _)) => Cow::Owned(format!("{}...", &text[..end])),
    }
}

/// What to do about a character that only looks like a space, where there is one.
pub(crate) fn odd_space(text: &str) -> Option<String> {
    let odd = text.chars().find(|c| is_odd_space(*c))?;
    Some(format!(
        "put a plain space in the place of the U+{:04X}, which only looks like one; text copied from a page or a letter often brings others",
        u32::from(odd)
    ))
}

/// Is it white space that YAML does not take for any?
pub(crate) fn is_odd_space(c: char) -> bool {
    c.is_whitespace() && !matches!(c, ' ' | '\t' | '\n' | '\r')
        || matches!(c, '\u{200b}' | '\u{feff}')
}

/// `did you mean ...?` where there is a word near enough.
pub(crate) fn did_you_mean(nearest: Option<&str>, otherwise: impl FnOnce() -> String) -> String {
    nearest.map_or_else(otherwise, |nearest| format!("did you mean '{nearest}'?"))
}
