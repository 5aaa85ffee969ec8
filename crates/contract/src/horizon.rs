//! Everything coming for one vehicle, and the list of what is due across the fleet.

use crate::coverage::CoverageOutlook;
use crate::define::answer;
use crate::graded::GradedMeasurement;
use crate::held::HeldEntry;
use crate::quantity::Quantity;
use crate::question::Question;
use crate::reason::Reason;
use crate::usage::{Running, Usage, Wear};
use ::quantity::{Entered, Unit};
use chrono::{DateTime, NaiveDate, Utc};
use model::horizon::{Basis, DueItem as Item, ItemKind, Stage};
use model::{Grade, VehicleId};
use uuid::Uuid;

answer! {
    /// A moment and what it rests on.
    Moment {
        /// When.
        at: DateTime<Utc>,
        /// Resting on what.
        basis: Basis,
    }
}

impl From<model::horizon::Moment> for Moment {
    fn from(moment: model::horizon::Moment) -> Self {
        Self { at: moment.at, basis: moment.basis }
    }
}

answer! {
    /// Three quantiles of a day: 10, 50 and 90 percent. A null one lies beyond ten years.
    Band {
        /// One in ten comes sooner.
        early: Option<NaiveDate> = "2027-01-12",
        /// As likely before as after.
        likely: Option<NaiveDate> = "2027-01-28",
        /// One in ten comes later.
        late: Option<NaiveDate> = "2027-02-17",
    }
}

impl From<model::horizon::Band> for Band {
    fn from(band: model::horizon::Band) -> Self {
        Self { early: band.early, likely: band.likely, late: band.late }
    }
}

answer! {
    /// The moments at which a due item's stage changes; a null one lies beyond ten years or never comes.
    Timeline {
        /// From here it is approaching.
        approaching: Option<Moment>,
        /// From here it is due.
        due: Option<Moment>,
        /// From here it is overdue.
        overdue: Option<Moment>,
    }
}

answer! {
    /// One thing that will need doing on one vehicle.
    DueItem {
        /// Its id, the same as long as the duty and its cycle are the same.
        id: Uuid,
        /// The vehicle.
        vehicle: VehicleId,
        /// What it is called for good: kind and code.
        key: String = "rule:engine-oil",
        /// Which round of a recurring duty: the fact that opened it.
        cycle: String = "service:01936f0a-7c3e-7d52-9b1f-3c5d8e2a4b60",
        /// What kind of duty.
        kind: ItemKind,
        /// As a person reads it.
        title: String = "Engine oil and filter",
        /// Where it stands at `as_of`.
        stage: Stage,
        /// What that rests on; null while it is clear.
        basis: Option<Basis>,
        /// When its stage changes.
        timeline: Timeline,
        /// Whether the vehicle must not be driven for this reason at `as_of`.
        do_not_drive: bool,
        /// From here it must not be driven for this reason.
        do_not_drive_from: Option<DateTime<Utc>> = null,
        /// The last day allowed by the calendar.
        date_limit: Option<NaiveDate> = "2027-03-01",
        /// The odometer allowed.
        odometer_limit: Option<Quantity> = {"value": 60_000, "unit": "km"},
        /// The running time of the engine allowed.
        hours_limit: Option<Quantity> = null,
        /// When the odometer limit is met, as forecast.
        crossing: Option<Band>,
        /// The grade behind it, for a condition.
        grade: Option<Grade> = null,
        /// Rules folded into a baseline check or satisfied along with this one; what is to be seen to before a vehicle off
        /// the road goes out again.
        covers: Vec<String> = [],
        /// Who says so.
        authority: Option<String> = "Maintenance manual, section 4",
        /// What can hurt.
        caution: Option<String> = "Hot oil burns: let the engine cool first.",
    }
}

impl DueItem {
    /// The item as it stands at `as_of`, distances in the unit of the vehicle's odometer.
    pub fn of(item: &Item, id: Uuid, vehicle: VehicleId, unit: Unit, as_of: DateTime<Utc>) -> Self {
        let (stage, basis) = item.timeline.stage_at(as_of);
        Self {
            id,
            vehicle,
            key: item.key.0.clone(),
            cycle: item.cycle.0.clone(),
            kind: item.kind,
            title: item.title.clone(),
            stage,
            basis,
            timeline: Timeline {
                approaching: item.timeline.approaching.map(Moment::from),
                due: item.timeline.due.map(Moment::from),
                overdue: item.timeline.overdue.map(Moment::from),
            },
            do_not_drive: item.do_not_drive_from.is_some_and(|from| from <= as_of),
            do_not_drive_from: item.do_not_drive_from,
            date_limit: item.date_limit,
            odometer_limit: item.odometer_limit.map(|limit| limit.to(unit).into()),
            hours_limit: item
                .hours_limit_seconds
                .map(|seconds| Entered::from_exact(seconds, Unit::Hour).into()),
            crossing: item.crossing.map(Band::from),
            grade: item.grade,
            covers: item.covers.clone(),
            authority: item.authority.clone(),
            caution: item.caution.clone(),
        }
    }
}

answer! {
    /// A due item, and why it stands as it does.
    ExplainedItem {
        /// The item.
        item: DueItem,
        /// The steps from the facts to the dates, in order.
        because: Vec<Reason>,
    }
}

answer! {
    /// A coverage window's outlook, and why it stands as it does.
    ExplainedWindow {
        /// The outlook.
        window: CoverageOutlook,
        /// The steps from the facts to the dates, in order.
        because: Vec<Reason>,
    }
}

answer! {
    /// Everything coming for one vehicle, as known at `known_at` and as it stands at `as_of`.
    Horizon {
        /// The vehicle.
        vehicle: VehicleId,
        /// The instant at which stages are read.
        as_of: DateTime<Utc>,
        /// What is on record later than this instant was left out; null where everything on record counts.
        known_at: Option<DateTime<Utc>> = null,
        /// Whether anything forbids driving it at `as_of`.
        do_not_drive: bool,
        /// How it is used; null before the first counted reading.
        usage: Option<Usage>,
        /// How its engine runs; null before the first counted reading of its hour meter.
        running: Option<Running>,
        /// When its fitted components meet their limits.
        wear: Vec<Wear>,
        /// What will need doing, most urgent first.
        items: Vec<ExplainedItem>,
        /// Where its coverage windows lead.
        windows: Vec<ExplainedWindow>,
        /// What the newest measurements mean, one for each point and place.
        grades: Vec<GradedMeasurement>,
        /// What a person is asked about it.
        questions: Vec<Question>,
        /// Readings and measurements that wait for a person.
        held: Vec<HeldEntry>,
    }
}
