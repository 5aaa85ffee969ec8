//! The way from a vehicle's inspections to its grades.

use crate::measured::MeasuredSets;
use crate::yardstick::Yardstick;
use model::horizon::Graded;
use model::{Component, Inspection, Place};

/// A vehicle with all that is known of it when its measurements are graded.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// What it is held to.
    pub yardstick: Yardstick<'a>,
    /// What was measured, in any order.
    pub inspections: &'a [Inspection],
    /// The components fitted now.
    pub parts: &'a [Part<'a>],
}

/// A component and where it is fitted.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The component.
    pub component: &'a Component,
    /// Where.
    pub place: Place,
}

/// Everything that a discipline may see beside the set it grades.
#[derive(Debug)]
pub(crate) struct Bench<'a> {
    pub yardstick: Yardstick<'a>,
    pub sets: MeasuredSets<'a>,
    pub parts: &'a [Part<'a>],
}

impl<'a> Bench<'a> {
    /// The component of this kind at a place, where one is on record; of several the first.
    pub fn part(&self, kind: &str, place: Place) -> Option<&'a Component> {
        let mut there = self.parts.iter().filter(|part| part.place == place);
        there.find(|part| part.component.kind.as_str() == kind).map(|part| part.component)
    }
}

/// Grades the newest measurements of each check point and place of a vehicle, in the order of point and place.
///
/// For each point and place the newest inspection (by time, then id) that measured anything there counts whole, and
/// nothing older: a later measurement of the lowest place alone stands in for an earlier one of three. Inspections whose
/// time is in doubt, unknown points and values outside a point's plausible range are left out. The order of
/// inspections does not matter. Whether a part was renewed since is not known here.
pub fn grade_all(subject: &Subject<'_>) -> Vec<Graded> {
    let Subject { yardstick, inspections, parts } = *subject;
    let bench = Bench { yardstick, sets: MeasuredSets::newest(inspections), parts };
    bench.sets.iter().map(|set| (set.point.assess)(&bench, set).graded(set)).collect()
}
