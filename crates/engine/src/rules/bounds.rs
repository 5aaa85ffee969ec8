//! How far a round of a rule may go: a day, an odometer, a running time.

use chrono::NaiveDate;
use model::{Every, add_days, add_months};
use quantity::{Dimension, Distance};

/// Running time of the engine, seconds.
pub(crate) type RunningTime = i64;

/// The last day, the odometer and the running time allowed; what is missing does not limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Bounds {
    pub(crate) date: Option<NaiveDate>,
    pub(crate) odometer: Option<Distance>,
    pub(crate) running: Option<RunningTime>,
}

/// Where an interval counts from; what is not known of it limits nothing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct From {
    pub(crate) on: NaiveDate,
    pub(crate) odometer: Option<Distance>,
    pub(crate) running: Option<RunningTime>,
}

impl Bounds {
    /// One interval on from `from`.
    pub(crate) fn after(from: From, every: &Every) -> Self {
        let by_months = every.months.map(|months| add_months(from.on, months));
        let by_days = every.days.map(|days| add_days(from.on, i64::from(days)));
        Self {
            date: by_months.into_iter().chain(by_days).min(),
            odometer: from.odometer.zip(distance_of(every)).map(|(odometer, far)| odometer + far),
            running: from.running.zip(running_of(every)).map(|(running, far)| running.saturating_add(far)),
        }
    }

    /// Of each kind the sooner.
    pub(crate) fn sooner(self, other: Self) -> Self {
        Self {
            date: self.date.into_iter().chain(other.date).min(),
            odometer: self.odometer.into_iter().chain(other.odometer).min(),
            running: self.running.into_iter().chain(other.running).min(),
        }
    }
}

/// The distance of an interval.
pub(crate) fn distance_of(every: &Every) -> Option<Distance> {
    every.distance.and_then(|entered| Distance::parse(entered).ok())
}

/// The running time of an interval.
pub(crate) fn running_of(every: &Every) -> Option<RunningTime> {
    every.engine_hours.and_then(|entered| entered.exact_as(Dimension::RunningTime).ok())
}

/// The days of an interval, a month taken as 30; `None` without a limit by the calendar.
pub(crate) fn days_of(every: &Every) -> Option<i64> {
    let months = every.months.map(|months| i64::from(months) * 30);
    months.into_iter().chain(every.days.map(i64::from)).min()
}
