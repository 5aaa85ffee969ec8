//! How long components last: what each has run and cost, and what a product achieves in a position.

mod achieved;
mod cost;
mod fate;
mod fitted;
mod part;

pub use achieved::{Achieved, AchievedLife, Lifetimes, Quantile, achieved_lives};
pub use cost::{CostOfRun, ProductCost};
pub use fate::{Fate, ends_life};
pub use fitted::{FittedTime, Run, fitted_times};
pub use part::PartLife;
