//! Which measurements count: for each check point and place those of the newest inspection that took any.

use crate::points::{CheckPoint, point};
use model::{Inspection, Measurement, Place, Zone};
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// What one inspection measured at one place for one check point.
#[derive(Debug, Clone)]
pub(crate) struct MeasuredSet<'a> {
    pub point: &'static CheckPoint,
    pub place: Place,
    pub inspection: &'a Inspection,
    /// The lowest value found, or the worst answer; ties go to the first zone, then the first id.
    pub lowest: &'a Measurement,
    values: Vec<&'a Measurement>,
}

impl<'a> MeasuredSet<'a> {
    pub fn begin(point: &'static CheckPoint, inspection: &'a Inspection, first: &'a Measurement) -> Self {
        Self { point, place: first.place, inspection, lowest: first, values: vec![first] }
    }

    pub fn add(&mut self, value: &'a Measurement) {
        let grade_of = |value: &Measurement| self.point.answer_kept(value.exact).map(|answer| answer.grade);
        let rank = |value: &Measurement| (Reverse(grade_of(value)), value.exact, value.zone, value.id);
        if rank(value) < rank(self.lowest) {
            self.lowest = value;
        }
        self.values.push(value);
    }

    /// The lowest value measured in this zone.
    pub fn in_zone(&self, zone: Zone) -> Option<i64> {
        self.values.iter().filter(|value| value.zone == zone).map(|value| value.exact).min()
    }

    /// Every value, in the order it was recorded.
    pub fn values(&self) -> impl Iterator<Item = &'a Measurement> {
        self.values.iter().copied()
    }

    /// The lowest value of the zones that are asked for; ties as for the lowest of all.
    pub fn lowest_where(&self, is_asked: impl Fn(Zone) -> bool) -> Option<&'a Measurement> {
        let asked = self.values.iter().filter(|value| is_asked(value.zone));
        asked.min_by_key(|value| (value.exact, value.zone, value.id)).copied()
    }
}

/// The newest sets of one vehicle.
#[derive(Debug, Default)]
pub(crate) struct MeasuredSets<'a>(BTreeMap<(&'static str, Place), MeasuredSet<'a>>);

impl<'a> MeasuredSets<'a> {
    /// The newest set of each point and place. Inspections whose time is in doubt are left out, since they cannot be
    /// put in order; so are values that no check point would have accepted: they are for a person to put right.
    pub fn newest(inspections: &'a [Inspection]) -> Self {
        let mut in_order: Vec<&Inspection> = inspections.iter().filter(|one| !one.clock_in_doubt).collect();
        in_order.sort_by_key(|one| (one.performed_at, one.id));
        let mut sets = Self::default();
        for inspection in in_order {
            for value in &inspection.measurements {
                sets.take(inspection, value);
            }
        }
        sets
    }

    fn take(&mut self, inspection: &'a Inspection, value: &'a Measurement) {
        let Some(point) = point(value.point.as_str()).filter(|point| point.would_take(value)) else {
            return;
        };
        match self.0.get_mut(&(point.code, value.place)) {
            Some(set) if set.inspection.id == inspection.id => set.add(value),
            _ => {
                let set = MeasuredSet::begin(point, inspection, value);
                self.0.insert((point.code, value.place), set);
            }
        }
    }

    /// All of them, in the order of point and place.
    pub fn iter(&self) -> impl Iterator<Item = &MeasuredSet<'a>> {
        self.0.values()
    }

    /// What was last measured at this point and place.
    pub fn at(&self, point: &str, place: Place) -> Option<&MeasuredSet<'a>> {
        // The map's keys live as long as the catalogue, so the code is looked up there.
        let code = crate::points::point(point)?.code;
        self.0.get(&(code, place))
    }

    /// What was measured at another place on the same occasion. Values of different days are not compared with each
    /// other: parts may have been renewed or moved between them.
    pub fn beside(&self, set: &MeasuredSet<'a>, place: Place) -> Option<&MeasuredSet<'a>> {
        self.0.get(&(set.point.code, place)).filter(|other| other.inspection.id == set.inspection.id)
    }
}
