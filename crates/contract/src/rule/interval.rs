//! Intervals and reaches: after how much time, distance or running time, and how far before or after.

use crate::define::{answer, request};
use crate::number::Whole;
use crate::quantity::{Distance, Quantity, RunningTime};
use crate::reader::Reader;

answer! {
    /// A recurring interval; whichever limit comes first.
    Every {
        /// Distance.
        distance: Option<Quantity> = {"value": 15_000, "unit": "km"},
        /// Calendar months, counted from the anchor and clamped to the month's end.
        months: Option<u32> = 12,
        /// Days.
        days: Option<u32> = null,
        /// Running time of the engine.
        engine_hours: Option<Quantity> = null,
    }
}

request! {
    /// A recurring interval; whichever limit comes first. At least one is needed.
    NewEvery {
        /// Distance.
        distance: Option<Distance> = {"value": 15_000, "unit": "km"},
        /// Calendar months, counted from the anchor and clamped to the month's end.
        months: Option<Whole<1, 600>> = 12,
        /// Days.
        days: Option<Whole<1, 20_000>> = null,
        /// Running time of the engine.
        engine_hours: Option<RunningTime> = null,
    } checked by says_something
}

fn says_something(every: &NewEvery, reader: &mut Reader) {
    let calendar = every.months.is_some() || every.days.is_some();
    if !calendar && every.distance.is_none() && every.engine_hours.is_none() {
        reader.fault("no-interval", "an interval needs `distance`, `months`, `days` or `engine_hours`");
    }
}

impl From<model::Every> for Every {
    fn from(every: model::Every) -> Self {
        Self {
            distance: every.distance.map(Quantity::from),
            months: every.months,
            days: every.days,
            engine_hours: every.engine_hours.map(Quantity::from),
        }
    }
}

impl From<NewEvery> for model::Every {
    fn from(every: NewEvery) -> Self {
        Self {
            distance: every.distance.map(|distance| distance.0),
            months: every.months.map(Whole::unsigned),
            days: every.days.map(Whole::unsigned),
            engine_hours: every.engine_hours.map(|hours| hours.0),
        }
    }
}

answer! {
    /// How far something reaches in time and distance.
    Reach {
        /// Days.
        days: Option<u32> = 14,
        /// Distance.
        distance: Option<Quantity> = {"value": 1000, "unit": "km"},
    }
}

request! {
    /// How far something reaches in time and distance.
    NewReach {
        /// Days.
        days: Option<Whole<0, 3650>> = 14,
        /// Distance.
        distance: Option<Distance> = {"value": 1000, "unit": "km"},
    }
}

impl From<model::Reach> for Reach {
    fn from(reach: model::Reach) -> Self {
        Self { days: reach.days, distance: reach.distance.map(Quantity::from) }
    }
}

impl From<NewReach> for model::Reach {
    fn from(reach: NewReach) -> Self {
        Self { days: reach.days.map(Whole::unsigned), distance: reach.distance.map(|distance| distance.0) }
    }
}
