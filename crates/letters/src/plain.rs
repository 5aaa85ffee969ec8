//! A letter as plain text.

use crate::document::{Closing, Document, Entry, Item, Link, Said};
use crate::text::wrapped;

/// Width of a line, in characters.
const WIDTH: usize = 72;

/// The letter in lines of at most 72 characters, but for addresses, which stay whole.
pub(crate) fn plain(document: &Document) -> String {
    let mut lines = wrapped(&document.heading, 0, WIDTH);
    for paragraph in &document.intro {
        lines.push(String::new());
        lines.extend(wrapped(paragraph, 0, WIDTH));
    }
    lines.extend(document.action.iter().flat_map(|action| [String::new(), linked("", action)]));
    for section in &document.sections {
        lines.push(String::new());
        lines.extend(wrapped(&section.title, 0, WIDTH));
        // Short lines stand together, below a blank one.
        lines.extend(section.entries.first().filter(|first| first.is_line()).map(|_| String::new()));
        lines.extend(section.entries.iter().flat_map(entry));
    }
    lines.extend(document.left_out.iter().flat_map(|words| [String::new(), words.clone()]));
    // A line of two hyphens and a blank: what follows is a signature (RFC 3676, 4.3).
    lines.extend([String::new(), "-- ".to_owned()]);
    for closing in &document.closing {
        match closing {
            Closing::Words(words) => lines.extend(wrapped(words, 0, WIDTH)),
            Closing::Link(link) => lines.push(linked("", link)),
        }
    }
    lines.join("\n") + "\n"
}

fn linked(indent: &str, link: &Link) -> String {
    format!("{indent}{}: {}", link.words, link.address)
}

fn entry(entry: &Entry) -> Vec<String> {
    let name = [entry.name.as_str(), entry.known_by.as_str()].join(" ");
    let mut lines = vec![String::new()];
    match &entry.said {
        Said::Line(text) => lines = hanging("", &format!("{}: {text}", name.trim_end()), 2),
        Said::Whole { orders, items } => {
            lines.extend(wrapped(&name, 0, WIDTH));
            lines.extend(orders.iter().flat_map(|order| wrapped(order, 2, WIDTH)));
            lines.extend(items.iter().flat_map(item));
        }
    }
    lines
}

fn item(item: &Item) -> Vec<String> {
    let mut lines = hanging("  - ", &item.text, 4);
    lines.extend(item.notes.iter().chain(&item.caution).flat_map(|note| wrapped(note, 4, WIDTH)));
    lines.extend(item.links.iter().map(|link| linked("    ", link)));
    lines
}

/// `text` after `sign`, its further lines standing in by so many blanks.
fn hanging(sign: &str, text: &str, indent: usize) -> Vec<String> {
    let mut lines = wrapped(text, indent, WIDTH);
    if let Some(first) = lines.first_mut() {
        *first = format!("{sign}{}", first.trim_start());
    }
    lines
}
