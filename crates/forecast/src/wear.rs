//! Wear of a component over distance, through every place it was fitted, and when a limit is met.
//!
//! Depth is d0 - c z: z is the wear to be expected of what was driven (so many millimetres a kilometre for the product
//! at its position), c is the component's own pace, which the fleet's components share as a normal law around 1. A
//! gauge reading errs by a normal law of known spread.

mod crossing;
mod fit;
mod fleet;

pub use crossing::{Approach, BAND_SCORES, Crossing, crossing};
pub use fit::{
    Fit, GaugeReading, PAD_GAUGE_SD_MM, Setting, Start, Stretch, TREAD_GAUGE_SD_MM, expected_wear_mm,
};
pub use fleet::{FittedRates, LEAST_COMPONENTS, Rates, Worn, WornReading, fit_rates};
