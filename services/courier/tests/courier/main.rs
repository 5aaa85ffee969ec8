//! The courier against a relay that does what it is told.

mod calendars;
mod classes;
mod clocks;
mod conversation;
mod day_ahead;
mod files;
mod post;
mod protection;
mod refusals;
mod relay;
mod stopping;
