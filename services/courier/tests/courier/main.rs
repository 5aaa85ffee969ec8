//! The courier against a relay that does what it is told.

mod calendars;
mod clocks;
mod conversation;
mod files;
mod post;
mod protection;
mod relay;
mod stopping;
