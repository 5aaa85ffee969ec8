//! How the bounds of a round are met, and the moments that follow.

use super::Bounds;
use crate::known::{Crossing, Known};
use crate::running::HourCrossing;
use crate::timeline::{from_start_of, not_before, once_over, whichever_first};
use chrono::{NaiveDate, TimeDelta};
use model::horizon::{Basis, Moment, Timeline};
use model::{IntervalRule, Reach, add_days, day_after, day_start};
use quantity::Distance;

/// How long before and after its limits a round is approaching and not yet overdue.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Around {
    pub(crate) lead_days: i64,
    /// Nothing where only days count.
    pub(crate) lead: Distance,
    pub(crate) grace: Reach,
}

/// The bounds of a round and how they are met.
pub(crate) struct Limits {
    /// No moment lies before this day: when it was last done.
    pub(crate) since: NaiveDate,
    pub(crate) bounds: Bounds,
    pub(crate) crossing: Crossing,
    pub(crate) running: HourCrossing,
    pub(crate) around: Around,
}

impl Limits {
    pub(crate) fn of(known: &Known<'_>, since: NaiveDate, bounds: Bounds, around: Around) -> Self {
        let crossing = bounds.odometer.map_or(Crossing::Unknown, |limit| known.crossing(limit, since));
        let running = bounds.running.map_or(HourCrossing::Unknown, |limit| known.hour_crossing(limit, since));
        Self { since, bounds, crossing, running, around }
    }

    pub(crate) fn timeline(&self, known: &Known<'_>) -> Timeline {
        let first = |moments: [Option<Moment>; 3]| moments.into_iter().fold(None, whichever_first);
        let timeline = Timeline {
            approaching: first([
                self.approaching_by_date(known),
                self.approaching_by_distance(known),
                self.approaching_by_hours(known),
            ]),
            due: first([self.due_by_date(known), self.due_by_distance(known), self.due_by_hours(known)]),
            overdue: first([
                self.overdue_by_date(known),
                self.overdue_by_distance(known),
                self.overdue_by_hours(known),
            ]),
        };
        not_before(day_start(self.since, known.zone), timeline)
    }

    fn approaching_by_date(&self, known: &Known<'_>) -> Option<Moment> {
        let from = |limit| from_start_of(add_days(limit, -self.around.lead_days), known.zone);
        self.bounds.date.map(from)
    }

    /// When the odometer comes within the lead distance; a rule without one uses its lead in days instead.
    fn approaching_by_distance(&self, known: &Known<'_>) -> Option<Moment> {
        let limit = self.bounds.odometer?;
        if self.around.lead > Distance::ZERO {
            return known.reached(limit - self.around.lead, self.since, &self.crossing);
        }
        match self.crossing {
            Crossing::Ahead(ahead) => {
                Some(known.forecast(add_days(ahead.band.likely?, -self.around.lead_days)))
            }
            Crossing::Met(_) | Crossing::Unknown => self.due_by_distance(known),
        }
    }

    fn due_by_date(&self, known: &Known<'_>) -> Option<Moment> {
        self.bounds.date.map(|limit| from_start_of(limit, known.zone))
    }

    fn due_by_distance(&self, known: &Known<'_>) -> Option<Moment> {
        match self.crossing {
            Crossing::Met(counted) => Some(known.read(&counted, self.since)),
            Crossing::Ahead(ahead) => ahead.band.likely.map(|day| known.forecast(day)),
            Crossing::Unknown => None,
        }
    }

    /// The date limit lasts to the end of its day, and of the last day of grace.
    fn overdue_by_date(&self, known: &Known<'_>) -> Option<Moment> {
        self.bounds.date.map(|limit| once_over(add_days(limit, self.grace_days()), known.zone))
    }

    /// Past the limit and the grace distance, and then past the days of grace.
    fn overdue_by_distance(&self, known: &Known<'_>) -> Option<Moment> {
        let past = self.bounds.odometer? + self.around.grace.distance_exact();
        // Just at the limit is not past it.
        let exceeded = past + Distance::from_mm(1);
        if let Some(counted) = known.first_at_least(exceeded, self.since) {
            let read = known.read(&counted, self.since);
            return Some(Moment { at: read.at + TimeDelta::days(self.grace_days()), ..read });
        }
        let likely = match self.crossing {
            Crossing::Ahead(ahead) if self.around.grace.distance.is_none() => ahead.band.likely?,
            _ => known.likely_day(past, &self.crossing)?,
        };
        let last = add_days(likely, self.grace_days());
        Some(Moment { at: day_after(last, known.zone), basis: Basis::Forecast })
    }

    /// Leads are told in days and distance: of running time the days count back from the likely one.
    fn approaching_by_hours(&self, known: &Known<'_>) -> Option<Moment> {
        match self.running {
            HourCrossing::Ahead(ahead) => {
                Some(known.hours_forecast(add_days(ahead.band.likely?, -self.around.lead_days)))
            }
            HourCrossing::Met(_) | HourCrossing::Unknown => self.due_by_hours(known),
        }
    }

    fn due_by_hours(&self, known: &Known<'_>) -> Option<Moment> {
        match self.running {
            HourCrossing::Met(counted) => Some(known.hours_read(&counted, self.since)),
            HourCrossing::Ahead(ahead) => ahead.band.likely.map(|day| known.hours_forecast(day)),
            HourCrossing::Unknown => None,
        }
    }

    /// Once the days of grace after the day of the reading, or the likely day, are over.
    fn overdue_by_hours(&self, known: &Known<'_>) -> Option<Moment> {
        let over = |day| day_after(add_days(day, self.grace_days()), known.zone);
        match self.running {
            HourCrossing::Met(counted) => {
                let read = known.hours_read(&counted, self.since);
                Some(Moment { at: over(known.day(read.at)), ..read })
            }
            HourCrossing::Ahead(ahead) => {
                Some(Moment { at: over(ahead.band.likely?), basis: Basis::Forecast })
            }
            HourCrossing::Unknown => None,
        }
    }

    fn grace_days(&self) -> i64 {
        self.around.grace.days_or_none()
    }
}

/// Days of lead: the rule's own; else the fleet's, but never more than half of an interval of so many days, so that a
/// weekly check is not announced before the last one was done.
pub(crate) fn lead_days(known: &Known<'_>, rule: &IntervalRule, interval: Option<i64>) -> i64 {
    if let Some(days) = rule.lead.days {
        return i64::from(days);
    }
    let most = interval.map_or(i64::MAX, |days| days / 2);
    i64::from(known.policy.lead_days).min(most)
}
