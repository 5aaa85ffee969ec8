//! When a window ends by the calendar or by distance, whichever first.

use crate::known::{Crossing, Known};
use chrono::NaiveDate;
use model::day_after;
use model::horizon::{Band, Moment};
use quantity::Distance;

/// The last day covered: by the calendar or by distance, whichever first, at each of the three quantiles.
pub(crate) fn ends(
    known: &Known<'_>,
    last_day: Option<NaiveDate>,
    met: Option<Moment>,
    crossing: &Crossing,
) -> Band {
    let by_distance = match met {
        Some(met) => {
            let day = Some(known.day(met.at));
            Band { early: day, likely: day, late: day }
        }
        None => crossing.band(known.zone).unwrap_or_default(),
    };
    let first = |day: Option<NaiveDate>| last_day.into_iter().chain(day).min();
    Band { early: first(by_distance.early), likely: first(by_distance.likely), late: first(by_distance.late) }
}

/// Probability that the distance is driven before the last day is over; `None` where only one of them limits.
pub(crate) fn distance_first(
    known: &Known<'_>,
    last_day: Option<NaiveDate>,
    limit: Option<Distance>,
    met: Option<Moment>,
) -> Option<f64> {
    let (end, limit) = (day_after(last_day?, known.zone), limit?);
    match met {
        Some(met) => Some(if met.at < end { 1.0 } else { 0.0 }),
        None => known.driving.as_ref().map(|driving| driving.probability_by(limit, end)),
    }
}
