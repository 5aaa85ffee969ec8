//! The way from a vehicle's inspections to its grades.

use crate::background::Background;
use crate::measured::{MeasuredSet, MeasuredSets};
use crate::yardstick::Yardstick;
use chrono::NaiveDate;
use model::horizon::Graded;
use model::{Component, Inspection, Place, local_day};

/// A vehicle with all that is known of it when its measurements are graded.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// What it is held to.
    pub yardstick: Yardstick<'a>,
    /// What was measured, in any order.
    pub inspections: &'a [Inspection],
    /// The components fitted now.
    pub parts: &'a [Part<'a>],
    /// What the vehicle's log and its service records tell besides.
    pub background: Background<'a>,
}

/// A component and where it is fitted.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The component.
    pub component: &'a Component,
    /// Where.
    pub place: Place,
    /// Since which day: what was measured there earlier was measured of another component.
    pub since: NaiveDate,
}

/// Everything that a discipline may see beside the set it grades.
#[derive(Debug)]
pub(crate) struct Bench<'a> {
    pub yardstick: Yardstick<'a>,
    pub sets: MeasuredSets<'a>,
    pub inspections: &'a [Inspection],
    pub parts: &'a [Part<'a>],
    pub background: Background<'a>,
}

impl<'a> Bench<'a> {
    /// The component of this kind at a place, where one is on record; of several the first.
    pub fn part(&self, kind: &str, place: Place) -> Option<&'a Component> {
        self.fitted(kind, place).map(|part| part.component)
    }

    fn fitted(&self, kind: &str, place: Place) -> Option<&'a Part<'a>> {
        self.parts.iter().filter(|part| part.place == place).find(|part| part.component.kind.as_str() == kind)
    }

    /// Since when the component of this kind is at a place.
    pub fn fitted_since(&self, kind: &str, place: Place) -> Option<NaiveDate> {
        self.fitted(kind, place).map(|part| part.since)
    }

    /// What was last measured or answered at another point, on whichever day.
    pub fn noted(&self, point: &str, place: Place) -> Option<&MeasuredSet<'a>> {
        self.sets.at(point, place)
    }

    /// What was last measured or answered of the component of this kind that is at the place now.
    pub fn noted_of(&self, kind: &str, point: &str, place: Place) -> Option<&MeasuredSet<'a>> {
        let since = self.fitted_since(kind, place);
        let is_of_it =
            |set: &&MeasuredSet<'_>| since.is_none_or(|since| self.day_of(set.inspection) >= since);
        self.noted(point, place).filter(is_of_it)
    }

    /// The day of an inspection where the vehicle stands.
    pub fn day_of(&self, inspection: &Inspection) -> NaiveDate {
        local_day(inspection.performed_at, self.yardstick.vehicle.zone)
    }

    /// What the inspection of this set noted of the vehicle as a whole for another point, where that is the newest.
    pub fn noted_beside(&self, set: &MeasuredSet<'a>, point: &str) -> Option<&MeasuredSet<'a>> {
        self.noted(point, Place::Vehicle).filter(|other| other.inspection.id == set.inspection.id)
    }
}

/// Grades the newest measurements of each check point and place of a vehicle, in the order of point and place.
///
/// For each point and place the newest inspection (by time, then id) that measured anything there counts whole, and
/// nothing older: a later measurement of the lowest place alone stands in for an earlier one of three. Inspections whose
/// time is in doubt, unknown points and values outside a point's plausible range are left out, and points that only help
/// to judge others have no grade of their own. The order of
/// inspections does not matter. Whether a part was renewed since is not known here.
pub fn grade_all(subject: &Subject<'_>) -> Vec<Graded> {
    let Subject { yardstick, inspections, parts, background } = *subject;
    let bench = Bench { yardstick, sets: MeasuredSets::newest(inspections), inspections, parts, background };
    let assess = |set: &MeasuredSet<'_>| Some(set.point.assess?(&bench, set).graded(set));
    bench.sets.iter().filter_map(assess).collect()
}
