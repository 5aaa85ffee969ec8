//! Every depth that was measured, in the order of time: what the wear of a part is read from.

use crate::measured::MeasuredSet;
use crate::points::{CheckPoint, point};
use crate::wear::wear_points;
use model::{Inspection, Measurement, Place, Zone};
use std::collections::BTreeMap;

/// What one inspection measured at one place of a part that wears.
#[derive(Debug, Clone)]
pub struct DepthSet<'a>(MeasuredSet<'a>);

impl<'a> DepthSet<'a> {
    /// The inspection it was measured in.
    pub const fn inspection(&self) -> &'a Inspection {
        self.0.inspection
    }

    /// Code of the check point.
    pub const fn point(&self) -> &'static str {
        self.0.point.code
    }

    /// Where on the vehicle.
    pub const fn place(&self) -> Place {
        self.0.place
    }

    /// The lowest place found, which governs.
    pub const fn lowest(&self) -> &'a Measurement {
        self.0.lowest
    }

    /// Whether nothing lower can have been missed: the lowest place itself was looked for, or each zone was measured.
    pub fn is_whole(&self) -> bool {
        let has = |zone: &Zone| self.0.in_zone(*zone).is_some();
        has(&Zone::Lowest) || self.0.point.zones.iter().filter(|zone| **zone != Zone::Lowest).all(has)
    }

    /// The lowest value of each of two sets that may be held against each other: of all places where both are whole,
    /// else of the zones that both measured; nothing where they share none.
    pub fn comparable(&self, other: &Self) -> Option<[&'a Measurement; 2]> {
        if self.is_whole() && other.is_whole() {
            return Some([self.lowest(), other.lowest()]);
        }
        let shared = |zone: Zone| self.0.in_zone(zone).is_some() && other.0.in_zone(zone).is_some();
        Some([self.0.lowest_where(shared)?, other.0.lowest_where(shared)?])
    }
}

/// The sets of every inspection, by time, inspection, point and place.
///
/// As for grades, inspections whose time is in doubt are left out, and so are values outside a point's range.
pub fn depth_sets(inspections: &[Inspection]) -> Vec<DepthSet<'_>> {
    let mut in_order: Vec<&Inspection> = inspections.iter().filter(|one| !one.clock_in_doubt).collect();
    in_order.sort_by_key(|one| (one.performed_at, one.id));
    in_order.into_iter().flat_map(sets_of).collect()
}

fn sets_of(inspection: &Inspection) -> impl Iterator<Item = DepthSet<'_>> {
    let mut sets: BTreeMap<(&'static str, Place), MeasuredSet<'_>> = BTreeMap::new();
    for value in &inspection.measurements {
        let Some(point) = wearing_point(value) else { continue };
        sets.entry((point.code, value.place))
            .and_modify(|set| set.add(value))
            .or_insert_with(|| MeasuredSet::begin(point, inspection, value));
    }
    sets.into_values().map(DepthSet)
}

fn wearing_point(value: &Measurement) -> Option<&'static CheckPoint> {
    let wears = |point: &&CheckPoint| wear_points().iter().any(|wear| wear.point == point.code);
    point(value.point.as_str()).filter(wears).filter(|point| point.would_take(value))
}
