//! A page, before and as HTML.
//!
//! The template engine escapes every value by itself; the template switches that off nowhere, and a test looks.

use askama::Template;
use letters::Language;

/// A page in words, in its order.
#[derive(Debug, Clone, PartialEq, Eq, Template)]
#[template(path = "page.html")]
pub struct Page {
    /// The HTTP status it is answered with.
    pub status: u16,
    /// The language of all words.
    pub language: Language,
    /// Its title and heading.
    pub title: String,
    /// Said first.
    pub lead: Vec<String>,
    /// What can hurt, or must not be overlooked.
    pub warnings: Vec<String>,
    /// What it is about.
    pub facts: Vec<Fact>,
    /// What can be done.
    pub buttons: Vec<Button>,
    /// Said last.
    pub small: Vec<String>,
}

/// Something named, and what is said of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// What is named.
    pub name: String,
    /// What is said of it, a paragraph each. Names that people typed stand by themselves.
    pub said: Vec<String>,
}

/// A form with its one button.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Button {
    /// What the button says, so that the address alone cannot press it.
    pub code: String,
    /// Which of the buttons of its page it is; goes along as `press`.
    pub press: &'static str,
    /// The words on it.
    pub words: String,
    /// What is to be chosen along with it.
    pub choice: Option<Choice>,
}

/// Days to choose from, and room for a reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What is asked.
    pub question: String,
    /// What is wrong with what was chosen before.
    pub fault: Option<String>,
    /// The days, in order.
    pub days: Vec<Day>,
    /// What the reason is asked with.
    pub reason: String,
}

/// A day to choose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Day {
    /// As it is sent: `2027-03-08`.
    pub value: String,
    /// As it is read.
    pub words: String,
    /// Whether it is chosen as long as nobody chooses another.
    pub is_chosen: bool,
}

impl Page {
    /// A page that says no more than its title and this.
    pub fn new(status: u16, language: Language, title: String, lead: Vec<String>) -> Self {
        let (warnings, facts, buttons, small) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        Self { status, language, title, lead, warnings, facts, buttons, small }
    }

    /// The page as HTML.
    pub fn html(&self) -> String {
        self.render().expect("writing into a String cannot fail")
    }
}
