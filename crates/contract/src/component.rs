//! Components whose life is followed, and where each was fitted.

use crate::define::{answer, request};
use crate::list::Many;
use crate::quantity::{Depth, Distance, Quantity};
use crate::text::{Line, Text};
use ::quantity::Unit;
use chrono::{DateTime, NaiveDate, Utc};
use model::{Code, ComponentId, FittingId, Place, VehicleId};

answer! {
    /// A part whose life is followed. It belongs to the fleet and may lie in store.
    Component {
        /// Its id.
        id: ComponentId,
        /// What it is: `tyre`, `pad-set`, `filter`, `battery`.
        kind: Code = "tyre",
        /// Its product name.
        product: String = "Gripwell Van 205/65 R16",
        /// Its depth when new.
        depth_new: Option<Quantity> = {"value": 8, "unit": "mm"},
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::Component> for Component {
    fn from(component: model::Component) -> Self {
        let model::Component { id, kind, product, depth_new, came_used: _, recorded_at } = component;
        Self { id, kind, product, depth_new: depth_new.map(Quantity::from), recorded_at }
    }
}

request! {
    /// A part whose life is to be followed.
    NewComponent {
        /// What it is: `tyre`, `pad-set`, `filter`, `battery`.
        kind: Code = "tyre",
        /// Its product name.
        product: Line<120> = "Gripwell Van 205/65 R16",
        /// Its depth when new.
        depth_new: Option<Depth>,
    }
}

answer! {
    /// A component's time in one place on one vehicle.
    Fitting {
        /// Its id.
        id: FittingId,
        /// The component.
        component: ComponentId,
        /// The vehicle.
        vehicle: VehicleId,
        /// Where on it.
        place: Place,
        /// From this day.
        from: NaiveDate,
        /// The odometer then.
        from_odometer: Quantity,
        /// Until this day; null while it is fitted.
        to: Option<NaiveDate> = null,
        /// The odometer then.
        to_odometer: Option<Quantity> = null,
    }
}

impl Fitting {
    /// The fitting with distances in the unit of the vehicle's odometer.
    pub fn of(fitting: &model::Fitting, unit: Unit) -> Self {
        Self {
            id: fitting.id,
            component: fitting.component,
            vehicle: fitting.vehicle,
            place: fitting.place,
            from: fitting.from,
            from_odometer: fitting.from_odometer.to(unit).into(),
            to: fitting.to,
            to_odometer: fitting.to_odometer.map(|at| at.to(unit).into()),
        }
    }
}

request! {
    /// That a component was fitted.
    NewFitting {
        /// The component.
        component: ComponentId,
        /// Where on the vehicle.
        place: Place,
        /// From this day.
        from: NaiveDate,
        /// The odometer then.
        odometer: Distance,
    }
}

request! {
    /// Where one component of a set is to be.
    PlaceInSet {
        /// The component.
        component: ComponentId,
        /// Where on the vehicle.
        place: Place,
    }
}

request! {
    /// That a set was changed, or its parts changed places, in one go.
    SetSwap {
        /// On this day.
        on: NaiveDate,
        /// The odometer then.
        odometer: Distance,
        /// Where each component is from then on. What else of its kind was there goes into store.
        places: Many<PlaceInSet, 1, 24>,
        /// Why what was there goes into store.
        reason: Text<500> = "Winter set on.",
    }
}

answer! {
    /// A set in its places.
    SwappedSet {
        /// The fittings that hold now, in order of places.
        fittings: Vec<Fitting>,
    }
}

request! {
    /// That a component was taken off.
    FittingEnd {
        /// On this day.
        to: NaiveDate,
        /// The odometer then.
        odometer: Distance,
        /// Why.
        reason: Text<500> = "Worn to 3 mm.",
    }
}
