//! From facts to a horizon: what counts, what falls due, when, and why.
//!
//! Pure: no clock, no chance, no IO. [`horizon`] takes no "now"; it gives the absolute moments at which stages change
//! and somebody must be told. What must stay true of it stands in `README.md`.

mod ages;
mod baseline;
mod conditions;
mod counted;
mod coverage;
mod derived;
mod explain;
mod judging;
mod known;
mod lives;
mod marks;
mod meters;
mod operating;
mod papers;
mod questions;
mod reading_wanted;
mod rules;
mod running;
mod stays;
mod telling;
mod timeline;
mod usage;
mod version;
mod wear;
pub mod words;

// What can be measured, for those who may not ask the gauge themselves.
pub use gauge::{Answer, CheckPoint, Limit, limits, points as check_points};

pub use explain::{
    AgeStep, Asking, CoverStep, DutyStep, Explanation, Instead, IntervalSource, MeterStep, NoForecast,
    Opening, PaceStep, Started, Step, WearStep, WindowStart, explain,
};
pub use judging::judge;
pub use lives::{
    Achieved, AchievedLife, CostOfRun, Fate, FittedTime, Lifetimes, PartLife, ProductCost, Quantile, Run,
    achieved_lives, ends_life, fitted_times,
};
pub use marks::{first_mark, first_mark_after, marks};
pub use running::hour_gaps;
pub use stays::{before_out, folded, told_from};
pub use usage::gaps;
pub use version::ENGINE_VERSION;
pub use wear::{WornComponent, component_histories, worn_components};

use derived::{Derived, bare};
use known::Known;
use model::horizon::{Horizon, ItemKey};
use model::{Facts, Policy};
use std::collections::BTreeMap;

/// Everything coming for the vehicle that `facts` speak of.
///
/// A pure function: the order of the lists in `facts` carries no meaning, and the same facts give the same bytes. A
/// vehicle that has left the fleet has nothing coming; its log is still judged.
pub fn horizon(facts: &Facts, policy: &Policy) -> Horizon {
    let known = Known::of(facts, policy);
    if facts.vehicle.retired_on.is_some() { bare(&known) } else { Derived::of(&known).into_horizon() }
}

/// A horizon with the reasons for all that stands in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Explained {
    /// What is coming.
    pub horizon: Horizon,
    /// Why, for each due item, window and wear outlook, in the order of their keys.
    pub explanations: BTreeMap<ItemKey, Explanation>,
}

/// Everything coming for the vehicle, and why: [`horizon`] and [`explain`] for every key of it, derived once.
pub fn explained(facts: &Facts, policy: &Policy) -> Explained {
    let known = Known::of(facts, policy);
    if facts.vehicle.retired_on.is_some() {
        return Explained { horizon: bare(&known), explanations: BTreeMap::new() };
    }
    let derived = Derived::of(&known);
    let explanations = explain::all(&derived);
    Explained { horizon: derived.into_horizon(), explanations }
}
