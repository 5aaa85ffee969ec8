//! The words of pages: all stand in `messages/`, one file a language.

use crate::form::Unreadable;
use crate::page::Page;
use letters::{Argument, Language, Words};
use std::sync::LazyLock;

static WORDS: LazyLock<Words> = LazyLock::new(|| {
    Words::new(include_str!("../messages/en-GB.ftl"), include_str!("../messages/en-US.ftl"))
});

/// The message with this id.
pub fn say<const N: usize>(language: Language, id: &str, arguments: [Argument<'_>; N]) -> String {
    WORDS.say(language, id, arguments)
}

/// A page that says why a link does nothing, and no more: not whose it is, nor what it is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Notice {
    /// It is no link of this program, or of somebody or something that is gone.
    Unknown,
    /// Its time is over.
    RanOut,
    /// Another site sent the form.
    Elsewhere,
    /// The form cannot be read.
    Unreadable(Unreadable),
    /// The store is not available just now.
    Busy,
    /// The program failed.
    Fault,
}

impl Notice {
    const fn status(self) -> u16 {
        match self {
            Self::Unknown => 404,
            Self::RanOut => 410,
            Self::Elsewhere => 403,
            Self::Unreadable(error) => error.status(),
            Self::Busy => 503,
            Self::Fault => 500,
        }
    }

    /// Its page.
    pub fn page(self, language: Language) -> Page {
        let (title, lead) = match self {
            Self::Unknown => (say(language, "unknown", []), say(language, "unknown-why", [])),
            Self::RanOut => (say(language, "ran-out", []), say(language, "ran-out-why", [])),
            Self::Elsewhere => (say(language, "elsewhere", []), say(language, "elsewhere-why", [])),
            Self::Unreadable(_) => (say(language, "unreadable", []), say(language, "unreadable-why", [])),
            Self::Busy => (say(language, "busy", []), say(language, "busy-why", [])),
            Self::Fault => (say(language, "fault", []), say(language, "fault-why", [])),
        };
        Page::new(self.status(), language, title, vec![lead])
    }
}
