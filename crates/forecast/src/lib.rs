//! Forecasts: when a distance will have been driven, a limit of wear met, a battery's capacity lost, how long parts last,
//! and how surely.
//!
//! Plain numbers come in (operating days and kilometres) and plain numbers go out. Nothing here knows a vehicle, a
//! calendar or a clock, and every transcendental function comes from `libm`, so that the same readings give the same
//! bytes on every machine. The formulas and what was measured of them stand in `README.md`.
//!
//! ```
//! use forecast::{Cohort, EARLY, Gap, HALF_LIFE_DAYS, LATE, LIKELY, Usage};
//!
//! let gaps = [Gap { days: 14.0, km: 1200.0 }, Gap { days: 14.0, km: 1350.0 }];
//! let usage = Usage::from_gaps(&Cohort::SHIPPED, &gaps, Some(HALF_LIFE_DAYS), 1.0);
//! let [early, likely, late] = [EARLY, LIKELY, LATE].map(|quantile| usage.days_until(5000.0, quantile, 3650.0));
//! assert!(early < likely && likely < late);
//! ```

mod band;
mod beta;
pub mod capacity;
mod cohort;
mod crossing;
mod kappa;
pub mod survival;
mod usage;
pub mod wear;

pub use band::Band3;
pub use cohort::{Fitted, History, Kin, LEAST_DAYS, LEAST_VEHICLES, Level, fit, regularity};
pub use kappa::{Kappa, LEAST_CASES, MeasuredKappa};
pub use usage::{Cohort, Gap, Usage};

/// The quantile called *early*: one date in ten comes before it.
pub const EARLY: f64 = 0.1;
/// The quantile called *likely*: the median.
pub const LIKELY: f64 = 0.5;
/// The quantile called *late*: one date in ten comes after it.
pub const LATE: f64 = 0.9;
/// Operating days after which a reading counts for half (chosen; no source).
pub const HALF_LIFE_DAYS: f64 = 120.0;
