//! The way from a vehicle's inspections to its grades.

use crate::measured::MeasuredSets;
use model::horizon::Graded;
use model::{Inspection, Vehicle};

/// Grades the newest measurements of each check point and place of a vehicle, in the order of point and place.
///
/// For each point and place the newest inspection (by time, then id) that measured anything there counts whole, and
/// nothing older: a later measurement of the lowest place alone stands in for an earlier one of three. Inspections whose
/// time is in doubt, unknown points and values outside a point's plausible range are left out. The order of
/// `inspections` does not matter. Whether a part was renewed since is not known here.
pub fn grade_all(vehicle: &Vehicle, inspections: &[Inspection]) -> Vec<Graded> {
    let sets = MeasuredSets::newest(inspections);
    sets.iter().map(|set| (set.point.assess)(&sets, set, vehicle).graded(set)).collect()
}
