//! The pages as browsers, mail programs and mail scanners meet them: over HTTP, on both engines.

mod by_letter;
mod headers;
mod names;
mod pressing;
mod refusing;
mod story;
mod unsubscribing;
mod words;
