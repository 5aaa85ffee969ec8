//! The life of one component, through all its fittings on all its vehicles.

use super::fate::Fate;
use super::fitted::{FittedTime, Run};
use model::{Component, Cost, EndReason, NoDistance, Place, Position};
use quantity::Distance;

/// A component with all that is known of its life.
#[derive(Debug, Clone, PartialEq)]
pub struct PartLife {
    /// The component.
    pub component: Component,
    /// Why it was taken off for good, if it was.
    pub end: Option<EndReason>,
    /// What it cost, if that was said.
    pub cost: Option<Cost>,
    /// The times it was fitted, on all vehicles, by day.
    pub times: Vec<FittedTime>,
}

impl PartLife {
    /// The times it did its work: as a spare it lasts as in store.
    fn at_work(&self) -> impl Iterator<Item = &FittedTime> {
        self.times.iter().filter(|time| time.place != Place::Spare)
    }

    /// Where it did its work; `None` if it never did.
    pub fn position(&self) -> Option<Position> {
        let mut positions = self.at_work().filter_map(|time| Position::of(time.place));
        let first = positions.next()?;
        Some(if positions.all(|other| other == first) { first } else { Position::Several })
    }

    /// What became of it.
    pub fn fate(&self) -> Fate {
        let last = self.times.last().filter(|time| time.to.is_none());
        match (self.end, last) {
            (Some(reason), _) => Fate::Ended(reason),
            (None, Some(time)) if time.left_with_vehicle => Fate::LeftWithVehicle,
            (None, Some(_)) => Fate::Fitted,
            (None, None) => Fate::InStore,
        }
    }

    /// Distance run at work so far; of times that do not tell theirs, the first reason.
    ///
    /// # Errors
    /// [`NoDistance`] of the first time whose distance is not known.
    pub fn run(&self) -> Result<Run, NoDistance> {
        let none = Run { distance: Distance::ZERO, estimated: false };
        self.at_work().try_fold(none, |sum, time| {
            let Run { distance, estimated } = time.run?;
            Ok(Run { distance: sum.distance + distance, estimated: sum.estimated || estimated })
        })
    }

    /// Days fitted at work so far.
    pub fn days(&self) -> i64 {
        self.at_work().map(|time| time.days).sum()
    }
}
