//! Rules on a grid: multiples of the interval from the first day in service and the odometer then.
//!
//! Point n lies n intervals on (where the first interval differs: the first, and n - 1 more), months counted from that
//! day in one step. It falls due by whichever of its limits comes first. Work closes every point of which one limit lies
//! no later than the work and the rule's lead, so that late work does not shift the next and early work counts.

use super::bounds::{Bounds, distance_of, running_of};
use super::limits::Around;
use super::{Anchor, RunningTime};
use crate::explain::Opening;
use crate::known::Known;
use chrono::NaiveDate;
use model::{Every, add_days, add_months};
use quantity::Distance;

/// A rule that names no lead distance lets work count this part of the interval early (house setting, no source).
const TENTH: i64 = 10;
/// No vehicle is served more often.
const MOST_POINTS: u32 = 100_000;

/// The first point that is not done.
#[derive(Debug, Clone, Copy)]
pub(crate) struct GridPoint {
    /// Counted from 1.
    pub(crate) number: u32,
    /// First day of the grid, and the odometer then.
    pub(crate) from: (NaiveDate, Distance),
    /// How far on it lies, where the kind is limited: months, days, distance, running time.
    pub(crate) offset: Offset,
    pub(crate) bounds: Bounds,
}

/// How far from its beginning a point of the grid lies, by each kind of limit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Offset {
    pub(crate) months: Option<u32>,
    pub(crate) days: Option<u32>,
    pub(crate) distance: Option<Distance>,
    pub(crate) running: Option<RunningTime>,
}

/// The grid of one rule.
struct Grid<'a> {
    on: NaiveDate,
    odometer: Distance,
    every: &'a Every,
    first: Option<&'a Every>,
}

/// Lead on a grid: never more than half of the interval, so that no work counts for two points; a distance always.
pub(crate) fn around(around: Around, every: &Every) -> Around {
    let most_days = super::bounds::days_of(every).map_or(i64::MAX, |days| days / 2);
    let lead = distance_of(every).map_or(Distance::ZERO, |distance| {
        let tenth = Distance::from_mm(distance.mm() / TENTH);
        let wanted = if around.lead > Distance::ZERO { around.lead } else { tenth };
        wanted.min(Distance::from_mm(distance.mm() / 2))
    });
    Around { lead_days: around.lead_days.min(most_days), lead, ..around }
}

/// The first point that the work at `anchor` does not close.
pub(crate) fn open_point(
    known: &Known<'_>,
    every: &Every,
    first: Option<&Every>,
    anchor: &Anchor,
    running: Option<RunningTime>,
    around: &Around,
) -> GridPoint {
    let vehicle = &known.facts.vehicle;
    let on = vehicle.in_service_on.unwrap_or(vehicle.acquired_on);
    let grid = Grid { on, odometer: vehicle.in_service_odometer, every, first };
    let closed = if let Opening::InService(_) = anchor.opening {
        0
    } else {
        grid.closed_by(&Bounds {
            date: Some(add_days(anchor.on, around.lead_days)),
            odometer: anchor.odometer.map(|odometer| odometer + around.lead),
            running,
        })
    };
    grid.point(closed + 1)
}

impl Grid<'_> {
    fn point(&self, number: u32) -> GridPoint {
        let offset = self.offset(number);
        GridPoint { number, from: (self.on, self.odometer), offset, bounds: self.bounds(&offset) }
    }

    fn bounds(&self, offset: &Offset) -> Bounds {
        let by_months = offset.months.map(|months| add_months(self.on, months));
        let by_days = offset.days.map(|days| add_days(self.on, i64::from(days)));
        Bounds {
            date: by_months.into_iter().chain(by_days).min(),
            odometer: offset.distance.map(|distance| self.odometer + distance),
            running: offset.running,
        }
    }

    fn offset(&self, number: u32) -> Offset {
        let count = |of: fn(&Every) -> Option<u32>| {
            let far = self.nth(number, |every| of(every).map(i64::from));
            far.map(|far| u32::try_from(far).unwrap_or(u32::MAX))
        };
        let distance = self.nth(number, |every| distance_of(every).map(Distance::mm));
        Offset {
            months: count(|every| every.months),
            days: count(|every| every.days),
            distance: distance.map(Distance::from_mm),
            running: self.nth(number, running_of),
        }
    }

    /// How far point `number` lies by the kind of limit `of`: so many intervals, or the first and the rest of them. `None`
    /// where this kind does not limit that point.
    fn nth(&self, number: u32, of: impl Fn(&Every) -> Option<i64>) -> Option<i64> {
        let times = |count: u32| of(self.every).map(|every| every.saturating_mul(i64::from(count)));
        let Some(first) = self.first else { return times(number) };
        if number == 1 {
            return of(first);
        }
        times(number - 1).map(|rest| rest.saturating_add(of(first).unwrap_or(0)))
    }

    /// The last point of which one limit lies within `reached`; 0 if there is none.
    fn closed_by(&self, reached: &Bounds) -> u32 {
        let is_closed = |number: u32| {
            let bounds = self.bounds(&self.offset(number));
            is_within(bounds.date, reached.date)
                || is_within(bounds.odometer, reached.odometer)
                || is_within(bounds.running, reached.running)
        };
        // From the second point on every limit grows with the number; only the first may differ.
        let (mut closed, mut open) = (1, MOST_POINTS);
        while open - closed > 1 {
            let middle = closed.midpoint(open);
            if is_closed(middle) { closed = middle } else { open = middle }
        }
        if closed > 1 { closed } else { u32::from(is_closed(1)) }
    }
}

fn is_within<T: PartialOrd>(limit: Option<T>, reached: Option<T>) -> bool {
    limit.zip(reached).is_some_and(|(limit, reached)| limit <= reached)
}
