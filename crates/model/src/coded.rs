//! Short names: kebab-case codes of rules, points and sheets, and the enums written as `snake_case` words.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A short stable name: 1 to 64 of `a-z`, `0-9` and single hyphens, starting with a letter.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Code(String);

/// Why a text is no [`Code`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no code: 1 to 64 of a-z, 0-9 and single hyphens, starting with a letter")]
pub struct CodeError(pub String);

impl Code {
    /// The code written `text`.
    ///
    /// # Errors
    /// [`CodeError`] if `text` is not of the form above.
    pub fn new(text: &str) -> Result<Self, CodeError> {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        let good = (1..=64).contains(&text.len())
            && text.starts_with(|c: char| c.is_ascii_lowercase())
            && text.chars().all(plain)
            && !text.ends_with('-')
            && !text.contains("--");
        if good { Ok(Self(text.to_owned())) } else { Err(CodeError(text.chars().take(80).collect())) }
    }

    /// The code as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl TryFrom<String> for Code {
    type Error = CodeError;
    fn try_from(text: String) -> Result<Self, CodeError> {
        Self::new(&text)
    }
}

impl From<Code> for String {
    fn from(code: Code) -> Self {
        code.0
    }
}

/// Defines an enum whose variants have a fixed `snake_case` word used in JSON, SQL and pages alike.
macro_rules! worded {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$variant_doc])* #[serde(rename = $word)] $variant),+
        }

        impl $name {
            /// Every variant, in the order of the documentation.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word for it, as in JSON and SQL.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// The variant with this word.
            pub fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some(Self::$variant),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.word())
            }
        }
    };
}
pub(crate) use worded;
