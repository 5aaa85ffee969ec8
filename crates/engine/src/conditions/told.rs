//! What the meter log and the service records tell of the liquids that are measured.

use super::renews;
use crate::known::Known;
use crate::wear::at_inspection;
use chrono::NaiveDate;
use gauge::Background;
use model::{Inspection, InspectionId};
use quantity::Distance;

/// Check points whose top-ups are held to the distance driven meanwhile.
const TOP_UPS: [&str; 2] = ["oil-top-up", "urea-top-up"];

/// Looked up only where something was measured that asks for it: most vehicles have no top-ups on record.
#[derive(Debug, Default)]
pub(super) struct Told {
    stands: Vec<(InspectionId, Distance)>,
    oil_changes: Vec<Distance>,
    brake_fluid_changes: Vec<NaiveDate>,
}

impl Told {
    pub(super) fn of(known: &Known<'_>, inspections: &[Inspection]) -> Self {
        let measures = |inspection: &&Inspection, point: fn(&str) -> bool| {
            inspection.measurements.iter().any(|value| point(value.point.as_str()))
        };
        let mut told = Self::default();
        let filled = inspections.iter().filter(|one| measures(one, |point| TOP_UPS.contains(&point)));
        told.stands.extend(filled.filter_map(|inspection| {
            let stand = at_inspection(known, inspection)?;
            Some((inspection.id, Distance::nearest_km(stand.km)))
        }));
        if !told.stands.is_empty() {
            let changes = known.facts.services.iter().filter(|work| renews(known, work, "oil-level"));
            told.oil_changes.extend(changes.map(|work| known.odometer_at(work).0));
        }
        if inspections.iter().any(|one| measures(&one, |point| point.starts_with("brake-fluid-"))) {
            let changes = known.facts.services.iter();
            let changes = changes.filter(|work| renews(known, work, "brake-fluid-water"));
            told.brake_fluid_changes.extend(changes.map(|work| work.done_on));
        }
        told
    }

    pub(super) fn background(&self) -> Background<'_> {
        Background {
            stands: &self.stands,
            oil_changes: &self.oil_changes,
            brake_fluid_changes: &self.brake_fluid_changes,
        }
    }
}
