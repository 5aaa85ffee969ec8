//! Physical quantities as a workshop writes them: entered with a unit, kept exact, shown again.
//!
//! A quantity is kept twice: as it was [`Entered`] (value and [`Unit`]) and as an exact integer in the base unit of its
//! [`Dimension`], so that nothing is lost by converting to and fro. Factors are definitional (international mile, inch
//! and pound of 1959; kelvin and degree Fahrenheit by definition); the checks in `tests/published.rs` name their sources.

mod entered;
mod exact;
mod unit;

pub use entered::{Entered, QuantityError};
pub use exact::{Depth, Distance, Pressure, Temperature};
pub use unit::{Dimension, Unit};
