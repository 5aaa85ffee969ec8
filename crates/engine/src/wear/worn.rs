//! What the components of a vehicle went through, as numbers to fit a fleet's rates of wear to.

use super::gauge_sd_mm;
use super::history;
use super::rates::Rates;
use crate::known::Known;
use crate::questions::believed;
use chrono::NaiveDate;
use forecast::wear::{Worn, WornReading};
use gauge::{depth_sets, wear_point_of};
use model::{Code, ComponentId, Facts, FittingId, Policy};

/// What one component went through.
#[derive(Debug, Clone, PartialEq)]
pub struct WornComponent {
    /// The component.
    pub component: ComponentId,
    /// What it is: `tyre`, `pad-set`.
    pub kind: Code,
    /// Its product.
    pub product: String,
    /// The day it was fitted to this vehicle last, and that fitting.
    pub last_fitted: (NaiveDate, FittingId),
    /// Kilometres by axle, and depths.
    pub worn: Worn,
    /// The shipped rates of its kind.
    pub shipped: forecast::wear::Rates,
    /// Error (standard deviation) of the gauge that measures its kind, mm.
    pub gauge_sd_mm: f64,
}

/// What every component that is or was fitted to the vehicle went through, in the order of their ids.
///
/// [`forecast::wear::fit_rates`] makes rates of those of one product. A component that has been on several vehicles is
/// told by each of them, wholly by the one on which it was fitted last: take it once, with the greatest `last_fitted`.
pub fn worn_components(facts: &Facts, policy: &Policy) -> Vec<WornComponent> {
    let known = Known::of(facts, policy);
    let believed = believed(facts);
    let sets = depth_sets(&believed);
    let mut found: Vec<WornComponent> = facts
        .components
        .iter()
        .filter_map(|component| {
            let point = wear_point_of(component.kind.as_str())?;
            let rates = Rates::shipped(point);
            let fitted = facts.fittings.iter().filter(|fitting| fitting.component == component.id);
            let last_fitted = fitted.map(|fitting| (fitting.from, fitting.id)).max()?;
            let history = history::of(&known, component, point, &rates, &sets)?;
            let readings = history.measured.iter();
            let readings = readings.map(|one| WornReading { km: one.km, depth_mm: one.depth_mm }).collect();
            Some(WornComponent {
                component: component.id,
                kind: component.kind.clone(),
                product: component.product.clone(),
                last_fitted,
                worn: Worn { new_mm: history.new_mm, readings },
                shipped: rates.for_forecast(),
                gauge_sd_mm: gauge_sd_mm(point),
            })
        })
        .collect();
    found.sort_by_key(|one| one.component);
    found
}
