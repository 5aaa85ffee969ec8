//! Components whose life is followed, and where each was fitted.

use crate::define::{answer, request};
use crate::list::Many;
use crate::quantity::{Depth, Distance, Quantity};
use crate::service::{Cost, NewCost};
use crate::text::{Line, Text};
use ::quantity::Unit;
use chrono::{DateTime, NaiveDate, Utc};
use model::{Code, ComponentId, EndReason, FittingId, Place, VehicleId};

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
        /// Whether it had been used before the record of it begins: it is left out of achieved lives then.
        came_used: bool,
        /// What it cost, bought and fitted, as stated last; null while nobody has.
        cost: Option<Cost>,
        /// That it was taken off for good; null while it may be fitted.
        end: Option<ComponentEnd> = null,
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl Component {
    /// The component with its cost and its end, where it has them.
    pub fn of(
        component: model::Component,
        cost: Option<model::Cost>,
        end: Option<model::ComponentEnd>,
    ) -> Self {
        let model::Component { id, kind, product, depth_new, came_used, recorded_at } = component;
        let (depth_new, cost) = (depth_new.map(Quantity::from), cost.map(Cost::from));
        Self { id, kind, product, depth_new, came_used, cost, end: end.map(ComponentEnd::from), recorded_at }
    }
}

answer! {
    /// That a component was taken off for good, and why.
    ComponentEnd {
        /// Why.
        reason: EndReason,
        /// On this day.
        on: NaiveDate,
        /// The odometer then; null for one that lay in store.
        odometer: Option<Quantity>,
        /// What else there is to say.
        note: Option<String> = "Worn to 3 mm.",
        /// When it was recorded.
        recorded_at: DateTime<Utc>,
    }
}

impl From<model::ComponentEnd> for ComponentEnd {
    fn from(end: model::ComponentEnd) -> Self {
        let model::ComponentEnd { id: _, component: _, reason, on, odometer, note, recorded_at } = end;
        Self { reason, on, odometer: odometer.map(Quantity::from), note, recorded_at }
    }
}

request! {
    /// That a component was taken off for good.
    NewComponentEnd {
        /// Why.
        reason: EndReason,
        /// On this day.
        on: NaiveDate,
        /// The odometer then: needed where it is fitted, none where it lies in store.
        odometer: Option<Distance>,
        /// What else there is to say; needed for another reason than those named.
        note: Option<Text<500>> = "Worn to 3 mm.",
    }
}

request! {
    /// What a component cost.
    StatedCost {
        /// Bought and fitted.
        cost: NewCost,
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
        /// Whether it was used before, by whomever; no if not said.
        came_used: Option<bool>,
        /// What it cost, bought and fitted.
        cost: Option<NewCost>,
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
        /// Why what is taken out for it is taken off for good; it goes into store if not said.
        displaced: Option<EndReason>,
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
