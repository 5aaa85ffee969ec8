//! What a letter says, before it becomes plain text or HTML: both are written from this, so that they say the same.

use crate::language::Language;

/// A letter in words, in its order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Document {
    /// The language of all words.
    pub language: Language,
    /// The subject, for a title.
    pub subject: String,
    /// Whose letter of which day.
    pub heading: String,
    /// What is said before everything else.
    pub intro: Vec<String>,
    /// The one thing to press.
    pub action: Option<Link>,
    /// The body.
    pub sections: Vec<Section>,
    /// Said instead of what would make the letter too long.
    pub left_out: Option<String>,
    /// What stands below the line.
    pub closing: Vec<Closing>,
}

/// Words that lead to an address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Link {
    /// What it does.
    pub words: String,
    /// Where it leads.
    pub address: String,
}

/// A line below the body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Closing {
    /// Words.
    Words(String),
    /// A link.
    Link(Link),
}

/// What belongs together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Section {
    /// The class of its looks: `stop`, `soon` or `calm`. The heading says in words what the looks mean.
    pub tone: &'static str,
    /// Its heading.
    pub title: String,
    /// Vehicle by vehicle.
    pub entries: Vec<Entry>,
}

/// What is said of one vehicle in one section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Entry {
    /// Whether it must not be driven: for its looks, since the words say so.
    pub is_stopped: bool,
    /// The fleet's own name for the vehicle.
    pub name: String,
    /// Plate, make and model in brackets; may be empty.
    pub known_by: String,
    /// What is said of it.
    pub said: Said,
}

impl Entry {
    /// Whether it is one short line.
    pub const fn is_line(&self) -> bool {
        matches!(self.said, Said::Line(_))
    }
}

/// At length, or in a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Said {
    /// What to do first, then each item.
    Whole {
        /// What to do before anything else, and what can hurt.
        orders: Vec<String>,
        /// Item by item.
        items: Vec<Item>,
    },
    /// One short line.
    Line(String),
}

/// One item.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Item {
    /// In a sentence.
    pub text: String,
    /// When, and why, a sentence each.
    pub notes: Vec<String>,
    /// What can hurt.
    pub caution: Option<String>,
    /// What the reader may do.
    pub links: Vec<Link>,
}
