//! Components whose life is followed, where each was fitted, and how fast its kind wears.

use crate::coded::{Code, worded};
use crate::ids::{ComponentCostId, ComponentEndId, ComponentId, FittingId, MeasurementId, VehicleId};
use crate::inspection::{Measurement, Place};
use chrono::{DateTime, NaiveDate, Utc};
use quantity::{Distance, Entered};
use serde::{Deserialize, Serialize};

/// A part whose life is followed. It belongs to the fleet and may lie in store.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Component {
    /// Its id.
    pub id: ComponentId,
    /// What it is: `tyre`, `pad-set`, `filter`, `battery`.
    pub kind: Code,
    /// Product name.
    pub product: String,
    /// Depth when new, as entered.
    pub depth_new: Option<Entered>,
    /// Whether it had been used before the fleet's record of it begins: how long it has lasted is not known then.
    pub came_used: bool,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}

worded! {
    /// Why a component was taken off for good.
    EndReason {
        /// It had reached its limit by use.
        Worn = "worn",
        /// It gave out by itself before it was worn.
        Failed = "failed",
        /// Something from outside ended it: a kerb, a nail, a crash, a wrong fluid.
        Damaged = "damaged",
        /// It was changed on schedule, before it was worn.
        Scheduled = "scheduled",
        /// It was past the age up to which it may be used.
        Aged = "aged",
        /// Its maker called it back.
        Recalled = "recalled",
        /// It left the fleet on its vehicle.
        SoldWithVehicle = "sold_with_vehicle",
        /// Something else, as its note says.
        Other = "other",
    }
}

/// That a component was taken off for good, and why. It is not fitted again unless this is withdrawn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ComponentEnd {
    /// Its id.
    pub id: ComponentEndId,
    /// The component.
    pub component: ComponentId,
    /// Why.
    pub reason: EndReason,
    /// On this day.
    pub on: NaiveDate,
    /// The odometer then, as entered; none for one that lay in store.
    pub odometer: Option<Entered>,
    /// What else there is to say.
    pub note: Option<String>,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}

/// A sum of money.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cost {
    /// In minor units of the currency.
    pub minor: i64,
    /// Currency (ISO 4217).
    pub currency: String,
}

/// What a component was said to cost, bought and fitted. What was said last holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ComponentCost {
    /// Its id.
    pub id: ComponentCostId,
    /// The component.
    pub component: ComponentId,
    /// The cost.
    pub cost: Cost,
    /// When it was recorded.
    pub recorded_at: DateTime<Utc>,
}

worded! {
    /// Where a component did its work, as far as that tells how long it lasts: left and right are alike, front and rear
    /// are not.
    Position {
        /// At front wheels only.
        Front = "front",
        /// At rear wheels only.
        Rear = "rear",
        /// On the vehicle as a whole.
        Vehicle = "vehicle",
        /// In more than one of these, one after the other.
        Several = "several",
    }
}

impl Position {
    /// The position a place belongs to; a spare does no work.
    pub const fn of(place: Place) -> Option<Self> {
        match place {
            Place::FrontLeft | Place::FrontRight => Some(Self::Front),
            Place::RearLeft | Place::RearRight => Some(Self::Rear),
            Place::Vehicle => Some(Self::Vehicle),
            Place::Spare => None,
        }
    }
}

/// A component's time in one place on one vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fitting {
    /// Its id.
    pub id: FittingId,
    /// The component.
    pub component: ComponentId,
    /// The vehicle.
    pub vehicle: VehicleId,
    /// Where on it.
    pub place: Place,
    /// From this day.
    pub from: NaiveDate,
    /// Odometer then.
    pub from_odometer: Distance,
    /// Until this day, if it has ended.
    pub to: Option<NaiveDate>,
    /// Odometer then.
    pub to_odometer: Option<Distance>,
}

/// What a component went through on other vehicles of the fleet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ComponentHistory {
    /// The component.
    pub component: ComponentId,
    /// Its fittings there, ended ones only.
    pub spells: Vec<SpellElsewhere>,
}

/// A component's time in one place on another vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SpellElsewhere {
    /// The fitting.
    pub fitting: FittingId,
    /// Where on that vehicle.
    pub place: Place,
    /// From this day.
    pub from: NaiveDate,
    /// Until this day.
    pub to: NaiveDate,
    /// Distance driven in that time, by that vehicle's counted readings.
    pub driven: Distance,
    /// What was measured of it there.
    pub measurements: Vec<MeasuredElsewhere>,
}

/// A measurement of a component on another vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeasuredElsewhere {
    /// The measurement, at its place on that vehicle.
    pub measurement: Measurement,
    /// When.
    pub at: DateTime<Utc>,
    /// Distance driven since the fitting began.
    pub driven: Distance,
    /// Whether nothing lower can have been missed there.
    pub is_whole: bool,
}

/// What a person said when asked whether a component is new or was moved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MeasurementAnswer {
    /// The measurement that raised the question.
    pub measurement: MeasurementId,
    /// The answer.
    pub choice: MeasurementChoice,
    /// When it was recorded; the latest answer holds.
    pub recorded_at: DateTime<Utc>,
}

/// Why a measurement is better than the one before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum MeasurementChoice {
    /// The component is another one, and new.
    New,
    /// The component came from another place on the vehicle.
    Moved {
        /// From there.
        from: Place,
    },
    /// It was measured wrongly; nothing is to rest on it.
    Mistaken,
}

/// How fast a product wears, as the fleet's own components tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WearRate {
    /// Kind of component: `tyre`, `pad-set`.
    pub kind: Code,
    /// The product, as on the component.
    pub product: String,
    /// Wear over 1,000 km on the front axle, mm.
    pub front_mm_per_1000_km: f64,
    /// Wear over 1,000 km on the rear axle, mm.
    pub rear_mm_per_1000_km: f64,
    /// Spread (standard deviation) of the components' pace around 1.
    pub tau: f64,
    /// Components it was fitted to.
    pub components: u32,
}
