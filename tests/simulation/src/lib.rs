//! The life of a fleet from a seed: the real store, clerk, scheduler and courier under a clock, chance, people, phones
//! and a relay that are made up, with programs that die at any moment, and laws that hold after every step.
//!
//! [`life::live`] lives one. A law that is broken comes back with the seed that breaks it again.

mod calm;
mod dice;
mod faults;
mod fleet;
mod invariants;
pub mod life;
pub mod moments;
mod parts;
mod people;
mod phones;
mod place;
pub mod relay;
mod rules;
pub mod stage;
mod steps;
pub mod tally;
mod world;

pub use life::{Lived, Violation, live};
