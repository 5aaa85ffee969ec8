//! How the bounds of a round are met, and the moments that follow.

use super::{Bounds, RunningTime};
use crate::hours;
use crate::known::{Crossing, Known};
use crate::timeline::{from_start_of, not_before, once_over, whichever_first};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use model::horizon::{Basis, Moment, Timeline};
use model::{IntervalRule, Reach, ReadingId, add_days, day_after, day_start};
use quantity::Distance;

/// How a limit of running time is met.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Running {
    /// No limit, or no reading has met it.
    Unknown,
    /// A reading of the hour meter has met it.
    Met { reading: ReadingId, at: DateTime<Utc>, shown: RunningTime },
}

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
    pub(crate) running: Running,
    pub(crate) around: Around,
}

impl Limits {
    pub(crate) fn of(known: &Known<'_>, since: NaiveDate, bounds: Bounds, around: Around) -> Self {
        let crossing = bounds.odometer.map_or(Crossing::Unknown, |limit| known.crossing(limit, since));
        let running = bounds.running.map_or(Running::Unknown, |limit| hours::crossing(known, limit, since));
        Self { since, bounds, crossing, running, around }
    }

    pub(crate) fn timeline(&self, known: &Known<'_>) -> Timeline {
        let first = |moments: [Option<Moment>; 3]| moments.into_iter().fold(None, whichever_first);
        let (by_hours, over_by_hours) = self.by_hours(known);
        let timeline = Timeline {
            approaching: first([
                self.approaching_by_date(known),
                self.approaching_by_distance(known),
                by_hours,
            ]),
            due: first([self.due_by_date(known), self.due_by_distance(known), by_hours]),
            overdue: first([self.overdue_by_date(known), self.overdue_by_distance(known), over_by_hours]),
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

    /// Due and overdue by running time: from the reading that met the limit, and once its days of grace are over.
    fn by_hours(&self, known: &Known<'_>) -> (Option<Moment>, Option<Moment>) {
        match self.running {
            Running::Unknown => (None, None),
            Running::Met { at, .. } => {
                let at = at.max(day_start(self.since, known.zone));
                let over = day_after(add_days(known.day(at), self.grace_days()), known.zone);
                let moment = |at| Some(Moment { at, basis: Basis::Reading });
                (moment(at), moment(over))
            }
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
