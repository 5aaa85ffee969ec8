//! From notices to an RFC 5322 message: what a letter says, in which order and language, and how its parts are written.
//!
//! Pure: the date, the ids, the keys and the names come in as arguments, and the same facts always give the same bytes. The
//! courier calls [`vehicle_lines`] for what to say and [`compose`] for the message. Nothing a person typed can add a
//! header or break a line: see [`text`].

mod about;
mod address;
mod attached;
mod calendar;
mod compose;
mod content;
mod days;
mod document;
mod header;
mod html;
mod language;
mod lighter;
mod line;
pub mod links;
mod mime;
mod outline;
mod plain;
mod subject;
pub mod text;
mod words;

pub use about::{About, calendar_uid, thread_id};
pub use address::{list_id, message_id, sender_address, sender_domain};
pub use calendar::{CalendarDay, calendar};
pub use compose::{Composed, LetterError, LetterFacts, checked_url, compose};
pub use content::{Content, DayAhead, DepotLines, Listing, SignIn, Tally, Unreachable, WeekAhead};
pub use days::{CalendarChanges, Dated, DayShown, DayTold, InCalendar, NoLonger};
pub use language::{Argument, Language, Words};
pub use lighter::without_attachments;
pub use line::{
    ItemLine, Reader, Telling, Told, Unanswered, Urgency, VehicleCard, VehicleLine, moved_lines,
    vehicle_lines,
};
