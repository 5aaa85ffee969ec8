//! Letters as they are read: word for word, and by parsers that are not ours.

mod calendars;
mod kinds;
mod lighter;
mod links;
mod lint;
mod messages;
mod read;
mod samples;
mod well_formed;
mod world;
