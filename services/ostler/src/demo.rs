//! The demo fleet: invented facts from `seed/demo`, their dates counted back from today, entered through the clerk.

mod calendar;
mod file;
mod load;
mod off_road;

pub use load::{Demo, load};
