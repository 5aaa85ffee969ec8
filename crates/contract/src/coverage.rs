//! Coverage windows: warranties and leases, and where each leads.

use crate::define::{answer, request};
use crate::horizon::{Band, Moment};
use crate::list::Many;
use crate::number::{Percent, Whole};
use crate::quantity::{Distance, Quantity};
use crate::reader::Reader;
use crate::text::{Line, Text};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Basis, WindowStage};
use model::{Code, DistanceFrom, FindingId, LastDay, ServiceId, VehicleId, WindowId, WindowKind};

answer! {
    /// The terms of a warranty or lease of a vehicle.
    CoverageWindow {
        /// Its id.
        id: WindowId,
        /// Warranty or lease.
        kind: WindowKind,
        /// As a person reads it.
        title: String = "Powertrain warranty",
        /// Codes of the components covered; empty means the whole vehicle.
        scope: Vec<Code> = ["engine", "gearbox"],
        /// First day covered; the in-service date where null.
        starts_on: Option<NaiveDate> = "2024-03-01",
        /// Odometer at the start, as entered.
        start_odometer: Option<Quantity> = null,
        /// The service record that opened it, for a replaced part.
        opened_by: Option<ServiceId> = null,
        /// Months it lasts.
        months: Option<u32> = 60,
        /// Distance it lasts.
        distance: Option<Quantity> = {"value": 100_000, "unit": "km"},
        /// From where the distance counts.
        distance_from: DistanceFrom,
        /// Which day is the last.
        last_day: LastDay,
        /// Capacity below which a traction battery is covered, percent.
        capacity_floor_percent: Option<f64> = null,
        /// What voids it, in the contract's words.
        voided_by: Option<String> = null,
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::CoverageWindow> for CoverageWindow {
    fn from(window: model::CoverageWindow) -> Self {
        let model::CoverageWindow { id, terms, recorded_at } = window;
        Self {
            id,
            kind: terms.kind,
            title: terms.title,
            scope: terms.scope,
            starts_on: terms.starts_on,
            start_odometer: terms.start_odometer.map(Quantity::from),
            opened_by: terms.opened_by,
            months: terms.months,
            distance: terms.distance.map(Quantity::from),
            distance_from: terms.distance_from,
            last_day: terms.last_day,
            capacity_floor_percent: terms.capacity_floor_percent,
            voided_by: terms.voided_by,
            recorded_at,
        }
    }
}

request! {
    /// The terms of a warranty or lease, as written in its contract.
    NewCoverageWindow {
        /// Warranty or lease.
        kind: WindowKind,
        /// As a person reads it.
        title: Line<120> = "Powertrain warranty",
        /// Codes of the components covered; none means the whole vehicle.
        scope: Many<Code, 0, 100> = ["engine", "gearbox"],
        /// First day covered; the in-service date if none is said.
        starts_on: Option<NaiveDate> = "2024-03-01",
        /// Odometer at the start.
        start_odometer: Option<Distance> = null,
        /// The service record that opened it, for a replaced part.
        opened_by: Option<ServiceId> = null,
        /// Months it lasts. At least one of `months` and `distance` is needed.
        months: Option<Whole<1, 600>> = 60,
        /// Distance it lasts.
        distance: Option<Distance> = {"value": 100_000, "unit": "km"},
        /// From where the distance counts; from zero if not said.
        distance_from: Option<DistanceFrom>,
        /// Which day is the last; the day before the anniversary if not said.
        last_day: Option<LastDay>,
        /// Capacity below which a traction battery is covered, percent.
        capacity_floor_percent: Option<Percent> = null,
        /// What voids it, in the contract's words.
        voided_by: Option<Text<4000>> = null,
    } checked by has_a_limit
}

fn has_a_limit(window: &NewCoverageWindow, reader: &mut Reader) {
    if window.months.is_none() && window.distance.is_none() {
        reader.fault("no-limit", "a coverage window needs `months`, `distance` or both");
    }
}

answer! {
    /// Where a coverage window leads, with the odometer limit beside the date.
    CoverageOutlook {
        /// The window.
        window: WindowId,
        /// The vehicle.
        vehicle: VehicleId,
        /// As a person reads it.
        title: String = "Powertrain warranty",
        /// Where it stands at `as_of`.
        stage: WindowStage,
        /// What that rests on; null while it is in force.
        basis: Option<Basis> = null,
        /// The day it starts; the earliest plausible one where none is known.
        starts_on: NaiveDate = "2024-03-01",
        /// Whether that day is proven.
        start_proven: bool = true,
        /// Last day covered by the calendar.
        last_day: Option<NaiveDate> = "2029-02-28",
        /// Odometer at which it lapses.
        odometer_limit: Option<Quantity> = {"value": 100_000, "unit": "km"},
        /// The last day really covered: date or distance, whichever comes first.
        ends: Band,
        /// Probability that distance ends it before the date does.
        distance_first: Option<f64> = 0.93,
        /// From here it is ending.
        ending: Option<Moment>,
        /// From here it is over; only a date or a counted reading says so.
        ended: Option<Moment> = null,
        /// Open findings within its scope.
        findings: Vec<FindingId>,
    }
}

impl CoverageOutlook {
    /// The outlook as it stands at `as_of`, distances in the unit of the vehicle's odometer.
    pub fn of(
        outlook: &model::horizon::WindowOutlook,
        vehicle: VehicleId,
        unit: ::quantity::Unit,
        as_of: DateTime<Utc>,
    ) -> Self {
        let (stage, basis) = outlook.stage_at(as_of);
        Self {
            window: outlook.window,
            vehicle,
            title: outlook.title.clone(),
            stage,
            basis,
            starts_on: outlook.starts_on,
            start_proven: outlook.start_proven,
            last_day: outlook.last_day,
            odometer_limit: outlook.odometer_limit.map(|limit| limit.to(unit).into()),
            ends: outlook.ends.into(),
            distance_first: outlook.distance_first,
            ending: outlook.ending.map(Moment::from),
            ended: outlook.ended.map(Moment::from),
            findings: outlook.findings.clone(),
        }
    }
}
