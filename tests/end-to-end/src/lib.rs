//! The whole program as its users meet it: over HTTP, on either engine, under a clock that stands still.
//!
//! [`Served`] is a [`testkit::World`] behind the real server; [`Caller`] is somebody with a key. Scheduler and courier
//! are driven by hand, and letters fall into a mail tray. [`Document`] is the OpenAPI document as the server gives it,
//! from which whole matrices of requests are made; [`OneOfEach`] holds something under every kind of address.

mod answer;
mod caller;
mod document;
mod one_of_each;
mod record;
mod request;
mod served;

pub use answer::{Answer, Fault};
pub use caller::{Caller, id_of, van};
pub use document::{Body, Document, Operation};
pub use one_of_each::{OneOfEach, UNKNOWN};
pub use record::Record;
pub use request::Request;
pub use served::Served;
