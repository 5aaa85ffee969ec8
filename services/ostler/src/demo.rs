//! The demo fleet: invented facts from `seed/demo`, their dates counted back from today, entered through the clerk.

mod file;
mod load;

pub use load::{Demo, load};
