//! What components cost over the distance they ran.

use super::part::PartLife;
use quantity::{Distance, Unit};
use std::collections::BTreeMap;

/// Money over distance, of components whose cost is in one currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostOfRun {
    /// Currency (ISO 4217).
    pub currency: String,
    /// How many components.
    pub components: u32,
    /// What they cost together, in minor units.
    pub minor: i64,
    /// What they ran together.
    pub distance: Distance,
}

impl CostOfRun {
    /// Minor units over 1,000 of a unit of distance; `None` where nothing was run.
    pub fn minor_per_1000(&self, unit: Unit) -> Option<f64> {
        let run = self.distance.to(unit).value;
        #[expect(clippy::cast_precision_loss, reason = "a sum of money within 2^53 minor units")]
        let minor = self.minor as f64;
        (run > 0.0).then(|| minor / run * 1000.0)
    }
}

/// What a product costs over distance: of components that were taken off for good, since one in use has been paid for and
/// has not yet run for it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ProductCost {
    /// One sum a currency, in order of the currencies: none is turned into another.
    pub sums: Vec<CostOfRun>,
    /// Components left out because they were not taken off for good.
    pub still_in_use: u32,
    /// Components left out because nobody said what they cost.
    pub without_cost: u32,
    /// Components left out because their distance is not known, or none.
    pub without_distance: u32,
}

impl PartLife {
    /// What it cost over what it ran so far, where both are known.
    pub fn cost_of_run(&self) -> Option<CostOfRun> {
        let cost = self.cost.clone()?;
        let distance = self.run().ok()?.distance;
        let known = CostOfRun { currency: cost.currency, components: 1, minor: cost.minor, distance };
        (distance > Distance::ZERO).then_some(known)
    }
}

impl ProductCost {
    /// Of these components.
    pub(super) fn of(parts: &[&PartLife]) -> Self {
        let mut told = Self::default();
        let mut sums: BTreeMap<String, CostOfRun> = BTreeMap::new();
        for part in parts {
            match part.cost_of_run() {
                _ if part.end.is_none() => told.still_in_use += 1,
                None if part.cost.is_none() => told.without_cost += 1,
                None => told.without_distance += 1,
                Some(one) => add(&mut sums, one),
            }
        }
        told.sums = sums.into_values().collect();
        told
    }
}

fn add(sums: &mut BTreeMap<String, CostOfRun>, one: CostOfRun) {
    match sums.get_mut(&one.currency) {
        None => {
            sums.insert(one.currency.clone(), one);
        }
        Some(sum) => {
            sum.components += one.components;
            sum.minor = sum.minor.saturating_add(one.minor);
            sum.distance = sum.distance + one.distance;
        }
    }
}
