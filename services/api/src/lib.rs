//! The HTTP interface: resources, one file an action or a few small ones, and the OpenAPI document.
//!
//! `http` holds what every operation shares; `routes.rs` lists them all; a file below `resources` holds the handlers of
//! one resource beside what the document says about them. A handler reads what was written, lets the clerk act, and
//! answers; no rule of the trade is here.

//!
//! To add an operation: define in `contract` what it takes and gives (`request!`, `answer!`); write a handler in the
//! resource's file, and an `Operation` beside it that says scope, path and words; a new file of operations is named in
//! `routes.rs`. Router, scopes, limits, the document and the tests that walk through it follow from that.

mod app;
mod document;
mod http;
mod resources;
mod routes;
mod serve;
mod site;

pub use app::Settings;
pub use document::{OperationOutline, outline, text as document_text};
pub use serve::{Served, Stopper, serve, serve_beside};
