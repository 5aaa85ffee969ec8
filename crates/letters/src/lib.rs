//! From notices to an RFC 5322 message: what a letter says, in which order, and how its headers are written.
//!
//! Pure: the date, the ids and the names come in as arguments, and the same facts always give the same bytes. The
//! courier calls [`vehicle_lines`] for what to say and [`compose`] for the message. Nothing a person typed can add a
//! header or break a line: see [`text`].

mod about;
mod address;
mod body;
mod calendar;
mod compose;
mod header;
mod line;
pub mod links;
mod subject;
pub mod text;
mod words;

pub use about::{About, calendar_uid, thread_id};
pub use address::{list_id, message_id, sender_address, sender_domain};
pub use calendar::{CalendarDay, Method, calendar};
pub use compose::{Composed, LetterError, LetterFacts, checked_url, compose};
pub use line::{ItemLine, Reader, Telling, Told, Urgency, VehicleCard, VehicleLine, vehicle_lines};
