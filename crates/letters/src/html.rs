//! A letter as HTML: one column that fits a phone, no remote content, no scripts, light and dark.
//!
//! The template engine escapes every value by itself; the template switches that off nowhere, and a test looks.

use crate::document::{Closing, Document, Said};
use askama::Template;

#[derive(Template)]
#[template(path = "letter.html")]
struct Page<'a> {
    document: &'a Document,
}

/// The letter as a page.
pub(crate) fn html(document: &Document) -> String {
    Page { document }.render().expect("writing into a String cannot fail")
}
