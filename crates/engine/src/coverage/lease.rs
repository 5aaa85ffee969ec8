//! Leases: distance beyond the cap at the end, and what it costs.

use super::Outlook;
use crate::known::Known;
use crate::usage::{ItemUsage, to_nine_digits};
use forecast::{EARLY, LATE, LIKELY};
use model::horizon::Excess;
use model::{ExcessPrice, day_after};
use quantity::Distance;

/// What will have been driven beyond a lease's cap when it ends.
pub(crate) struct Beyond<'a> {
    /// How the distance to the end is forecast; `None` where the end lies before the last reading.
    pub(crate) item: Option<ItemUsage>,
    /// Operating days from the last counted reading to the end; `None` where the end lies before that reading.
    pub(crate) operating_days: Option<f64>,
    /// Left to the cap at the last counted reading; negative beyond it.
    pub(crate) left: Distance,
    /// Driven from the last counted reading to the end, km, and the distance beyond the cap: at each quantile.
    pub(crate) quantiles: [(f64, f64, Distance); 3],
    /// Probability that the cap is passed.
    pub(crate) probability: f64,
    pub(crate) price: Option<&'a ExcessPrice>,
}

/// For a lease with a cap and a last day, once a reading counts.
pub(crate) fn beyond_cap<'a>(known: &Known<'_>, outlook: &Outlook<'a>) -> Option<Beyond<'a>> {
    if !outlook.is_lease() {
        return None;
    }
    let (_, cap) = outlook.odometers?;
    let driving = known.driving.as_ref()?;
    let end = day_after(outlook.last_day?, known.zone);
    let price = outlook.window.terms.excess.as_ref();
    let left = cap - driving.anchor.odometer;
    if end <= driving.anchor.at {
        let beyond = (known.odometer_at_instant(end)? - cap).max(Distance::ZERO);
        let quantiles = [EARLY, LIKELY, LATE].map(|quantile| (quantile, 0.0, beyond));
        let probability = if beyond > Distance::ZERO { 1.0 } else { 0.0 };
        return Some(Beyond { item: None, operating_days: None, left, quantiles, probability, price });
    }
    let days = to_nine_digits(driving.calendar.days_between(driving.anchor.at, end));
    let item = driving.for_days(days);
    let quantiles = [EARLY, LIKELY, LATE].map(|quantile| {
        let km = to_nine_digits(item.usage.distance_after(days, quantile));
        (quantile, km, (Distance::nearest_km(km) - left).max(Distance::ZERO))
    });
    let probability = to_nine_digits(item.usage.probability_reached(left.km(), days));
    Some(Beyond { item: Some(item), operating_days: Some(days), left, quantiles, probability, price })
}

impl Beyond<'_> {
    /// The distances with their prices; `None` where the contract names no price.
    pub(crate) fn excess(&self) -> Option<Excess> {
        let price = self.price?;
        Some(Excess {
            distance: self.quantiles.map(|(_, _, beyond)| beyond),
            minor: self.quantiles.map(|(_, _, beyond)| minor(price, beyond)),
            currency: price.currency.clone(),
        })
    }
}

/// What so much distance costs, in whole minor units, halves away from zero.
pub(crate) fn minor(price: &ExcessPrice, beyond: Distance) -> i64 {
    let per = Distance::parse(price.per).unwrap_or_default().km();
    let cost = (beyond.km() / per * price.minor).round();
    if !cost.is_finite() {
        return 0;
    }
    #[expect(clippy::cast_possible_truncation, reason = "whole; it saturates far beyond any price")]
    let cost = cost as i64;
    cost
}
