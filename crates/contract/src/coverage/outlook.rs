//! Where coverage windows lead, with the odometer limit beside the date.

use super::Capacity;
use crate::define::answer;
use crate::horizon::{Band, Moment};
use crate::quantity::Quantity;
use crate::service::Cost;
use ::quantity::Unit;
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Basis, WindowStage};
use model::{FindingId, ReductionCause, VehicleId, WindowId, WindowKind, WorkshopId};

answer! {
    /// One step of what a window credits.
    Credit {
        /// Last day of the step, where months limit it.
        until: Option<NaiveDate> = "2027-02-28",
        /// Odometer at which the step ends, where distance limits it.
        until_odometer: Option<Quantity> = null,
        /// Share of the price credited, percent.
        percent: f64 = 50,
    }
}

impl Credit {
    fn of(credit: &model::horizon::Credit, unit: Unit) -> Self {
        let until_odometer = credit.until_odometer.map(|odometer| odometer.to(unit).into());
        Self { until: credit.until, until_odometer, percent: credit.percent }
    }
}

answer! {
    /// Distance beyond a lease's cap, and its price.
    ExcessAt {
        /// The distance.
        distance: Quantity = {"value": 3200, "unit": "km"},
        /// Its price.
        cost: Cost = {"minor": 27_200, "currency": "EUR"},
    }
}

answer! {
    /// What the distance beyond a lease's cap will come to at its end: 10, 50 and 90 percent.
    Excess {
        /// One in ten goes less far beyond.
        low: ExcessAt = {"distance": {"value": 0, "unit": "km"}, "cost": {"minor": 0, "currency": "EUR"}},
        /// As likely less as more.
        likely: ExcessAt,
        /// One in ten goes further beyond.
        high: ExcessAt = {"distance": {"value": 9100, "unit": "km"}, "cost": {"minor": 77_350, "currency": "EUR"}},
    }
}

impl Excess {
    fn of(excess: &model::horizon::Excess, unit: Unit) -> Self {
        let [low, likely, high] = [0, 1, 2].map(|at: usize| ExcessAt {
            distance: excess.distance[at].to(unit).into(),
            cost: Cost { minor: excess.minor[at], currency: excess.currency.clone() },
        });
        Self { low, likely, high }
    }
}

answer! {
    /// The last day to act on a window, and who can.
    ActBy {
        /// Book the vehicle in by this day.
        book_by: NaiveDate = "2028-11-20",
        /// The last working day on which the workshop can take it in before the early end.
        in_by: NaiveDate = "2028-11-27",
        /// The workshop.
        workshop: WorkshopId,
    }
}

impl From<model::horizon::ActBy> for ActBy {
    fn from(act: model::horizon::ActBy) -> Self {
        let model::horizon::ActBy { book_by, in_by, workshop } = act;
        Self { book_by, in_by, workshop }
    }
}

answer! {
    /// Where a coverage window leads, with the odometer limit beside the date.
    CoverageOutlook {
        /// The window.
        window: WindowId,
        /// The vehicle.
        vehicle: VehicleId,
        /// Warranty or lease.
        kind: WindowKind,
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
        /// What has reduced its limits.
        reduced_by: Vec<ReductionCause>,
        /// What is credited until when, in order; empty where all of it is.
        credits: Vec<Credit>,
        /// What the distance beyond a lease's cap will come to at its end; null without a price for it.
        excess: Option<Excess>,
        /// The last day to act on it; null where no workshop does warranty work.
        act_by: Option<ActBy>,
        /// What a traction battery still holds against the window's floor; null without a floor.
        capacity: Option<Capacity>,
        /// Open findings within its scope.
        findings: Vec<FindingId>,
    }
}

impl CoverageOutlook {
    /// The outlook as it stands at `as_of`, distances in the unit of the vehicle's odometer.
    pub fn of(
        outlook: &model::horizon::WindowOutlook,
        vehicle: VehicleId,
        unit: Unit,
        as_of: DateTime<Utc>,
    ) -> Self {
        let (stage, basis) = outlook.stage_at(as_of);
        Self {
            window: outlook.window,
            vehicle,
            kind: outlook.kind,
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
            reduced_by: outlook.reduced_by.clone(),
            credits: outlook.credits.iter().map(|credit| Credit::of(credit, unit)).collect(),
            excess: outlook.excess.as_ref().map(|excess| Excess::of(excess, unit)),
            act_by: outlook.act_by.map(ActBy::from),
            capacity: outlook.capacity.as_ref().map(Capacity::from),
            findings: outlook.findings.clone(),
        }
    }
}
