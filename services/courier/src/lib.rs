//! Gathers notices into letters and delivers them.
//!
//! [`Courier`] is the whole: [`Courier::tick`] is a function of the store and the clerk's now, and [`Courier::run`] ticks
//! when there is something to do. How a letter is delivered, and what each reply means, does not know the clerk: see
//! [`carrier`] and [`outcome`].

mod breaker;
mod calendar;
pub mod carrier;
mod courier;
mod folder;
mod gathering;
pub mod outcome;
pub mod retry;
mod sending;
pub mod settings;
pub mod smtp;

pub use courier::{Courier, CourierError, Ticked};
pub use letters::links::LinkKey;
pub use settings::{Mail, Secret, Security, Settings, SettingsError, SmtpSettings};
