//! How long and how far a component was fitted, by the log of the vehicle it was on.

use crate::known::Known;
use crate::wear::odometer::on_day;
use chrono::{DateTime, NaiveDate, Utc};
use model::{ComponentId, Facts, Fitting, FittingId, NoDistance, Place, Policy, VehicleId};
use quantity::Distance;
use std::collections::BTreeSet;

/// A component's time in one place, and what it ran in it.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedTime {
    /// The component.
    pub component: ComponentId,
    /// The fitting.
    pub fitting: FittingId,
    /// The vehicle.
    pub vehicle: VehicleId,
    /// Where on it.
    pub place: Place,
    /// From this day.
    pub from: NaiveDate,
    /// Until this day; none while it is fitted.
    pub to: Option<NaiveDate>,
    /// Whether it has not ended and the vehicle has left the fleet.
    pub left_with_vehicle: bool,
    /// Days fitted so far, the first one counted and the last one not.
    pub days: i64,
    /// Distance driven so far.
    pub run: Result<Run, NoDistance>,
}

/// Distance driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// The distance.
    pub distance: Distance,
    /// Whether it was read off between counted readings, or carried beyond the last, at either end.
    pub estimated: bool,
}

/// The times these components were fitted to the vehicle that `facts` speak of, as they stand at `now`, by day.
///
/// Days are civil days of the depot. Distance goes by the odometers told at the fitting and its end, unless counted
/// readings on either side speak against them; then by these. While it is fitted, until the last counted reading.
pub fn fitted_times(
    facts: &Facts,
    policy: &Policy,
    components: &BTreeSet<ComponentId>,
    now: DateTime<Utc>,
) -> Vec<FittedTime> {
    let known = Known::of(facts, policy);
    let today = known.day(now);
    let until = facts.vehicle.retired_on.map_or(today, |retired| retired.min(today));
    let fitted = facts.fittings.iter().filter(|fitting| components.contains(&fitting.component));
    let mut times: Vec<FittedTime> = fitted.map(|fitting| time(&known, fitting, until)).collect();
    times.sort_by_key(|time| (time.from, time.fitting));
    times
}

fn time(known: &Known<'_>, fitting: &Fitting, until: NaiveDate) -> FittedTime {
    let last = fitting.to.unwrap_or(until);
    FittedTime {
        component: fitting.component,
        fitting: fitting.id,
        vehicle: fitting.vehicle,
        place: fitting.place,
        from: fitting.from,
        to: fitting.to,
        left_with_vehicle: fitting.to.is_none() && known.facts.vehicle.retired_on.is_some(),
        days: (last - fitting.from).num_days().max(0),
        run: run(known, fitting),
    }
}

fn run(known: &Known<'_>, fitting: &Fitting) -> Result<Run, NoDistance> {
    let start = on_day(known, fitting.from, Some(fitting.from_odometer)).ok_or(NoDistance::BeforeReadings)?;
    if start.estimated && known.log.first().is_none_or(|first| known.day(first.at) > fitting.from) {
        return Err(NoDistance::BeforeReadings);
    }
    let (end, estimated) = if let Some(to) = fitting.to {
        let end = on_day(known, to, fitting.to_odometer).ok_or(NoDistance::NoReadingSince)?;
        (end.km, end.estimated)
    } else {
        let last = known.log.last().filter(|last| known.day(last.at) > fitting.from);
        (last.ok_or(NoDistance::NoReadingSince)?.odometer.km(), false)
    };
    if end < start.km {
        return Err(NoDistance::RunsBackwards);
    }
    Ok(Run { distance: Distance::nearest_km(end - start.km), estimated: start.estimated || estimated })
}
