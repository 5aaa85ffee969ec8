//! How fast a component is expected to wear at each place: by the fleet's own, else as shipped.

use crate::usage::to_nine_digits;
use gauge::{Axle, WearPoint};
use model::{Component, Facts, Place};

/// Rates of wear of one product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Rates {
    front_mm_per_km: f64,
    rear_mm_per_km: f64,
    /// Spread of the components' pace around 1.
    pub(crate) tau: f64,
    /// Components of the fleet it rests on; 0 for the shipped ones.
    pub(crate) components: u32,
}

impl Rates {
    /// Those of the component's product, as far as the fleet tells them.
    pub(crate) fn of(facts: &Facts, component: &Component, point: &WearPoint) -> Self {
        let is_usable = |value: f64| value.is_finite() && value > 0.0;
        let of_fleet = facts.wear_rates.iter().find(|rate| {
            rate.kind == component.kind
                && rate.product == component.product
                && [rate.front_mm_per_1000_km, rate.rear_mm_per_1000_km, rate.tau].into_iter().all(is_usable)
        });
        of_fleet.map_or_else(
            || Self::shipped(point),
            |rate| Self {
                front_mm_per_km: to_nine_digits(rate.front_mm_per_1000_km) / 1000.0,
                rear_mm_per_km: to_nine_digits(rate.rear_mm_per_1000_km) / 1000.0,
                tau: to_nine_digits(rate.tau),
                components: rate.components,
            },
        )
    }

    /// Those shipped for what this point measures.
    pub(crate) fn shipped(point: &WearPoint) -> Self {
        Self {
            front_mm_per_km: point.front_mm_per_1000_km / 1000.0,
            rear_mm_per_km: point.rear_mm_per_1000_km / 1000.0,
            tau: point.tau,
            components: 0,
        }
    }

    /// The same for the forecast.
    pub(crate) const fn for_forecast(&self) -> forecast::wear::Rates {
        forecast::wear::Rates { mm_per_km: [self.front_mm_per_km, self.rear_mm_per_km], tau: self.tau }
    }

    /// Expected wear at a place, mm a kilometre; none for the spare.
    pub(crate) fn mm_per_km(&self, place: Place) -> f64 {
        match Axle::of(place) {
            Some(Axle::Front) => self.front_mm_per_km,
            Some(Axle::Rear) => self.rear_mm_per_km,
            None => 0.0,
        }
    }
}
