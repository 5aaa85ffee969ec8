//! Letters as they are read: word for word, and by a parser that is not ours.

mod calendars;
mod kinds;
mod links;
mod well_formed;
mod world;
