//! Components whose life is followed, and where they are fitted.

mod costs;
mod ends;
mod set;

pub use costs::state_cost;
pub use ends::{NewEnd, retire, withdraw_end};
pub use set::{NewSet, swap_set};

use crate::Act;
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use chrono::NaiveDate;
use model::{Code, Component, ComponentId, Cost, EndReason, Fitting, FittingId, Place, VehicleId};
use quantity::{Dimension, Distance, Entered};

/// A component to be entered.
#[derive(Debug, Clone)]
pub struct NewComponent {
    /// What it is.
    pub kind: Code,
    /// Product name.
    pub product: String,
    /// Depth when new.
    pub depth_new: Option<Entered>,
    /// Whether it was used before.
    pub came_used: bool,
    /// What it cost, bought and fitted.
    pub cost: Option<Cost>,
}

/// Enters a component; it lies in store until it is fitted.
///
/// # Errors
/// A fault if the depth is none; storage errors.
pub async fn create(act: &mut Act, new: NewComponent) -> Result<Component, ActError> {
    if let Some(error) = new.depth_new.and_then(|depth| depth.exact_as(Dimension::Depth).err()) {
        return Err(ActError::Faults(vec![Fault::quantity("/depth_new", &error)]));
    }
    let component = Component {
        id: ComponentId(act.new_id()),
        kind: new.kind,
        product: new.product,
        depth_new: new.depth_new,
        came_used: new.came_used,
        recorded_at: act.at(),
    };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::components::insert(&mut act.conn(), fleet, &component, &stamp).await?;
    act.note("component", component.id, "create", None, Some(&component));
    if let Some(cost) = new.cost {
        costs::insert(act, component.id, cost).await?;
    }
    Ok(component)
}

/// Where and when a component is fitted.
#[derive(Debug, Clone)]
pub struct NewFitting {
    /// The component.
    pub component: ComponentId,
    /// Where on the vehicle.
    pub place: Place,
    /// From this day.
    pub from: NaiveDate,
    /// Odometer then.
    pub odometer: Entered,
}

/// Fits a component to a vehicle. A component of the same kind in that place is taken out on the same day.
///
/// Where it was on other vehicles before, these are locked and renewed, too: an act that is changing what they tell of it
/// comes first or finds its new vehicle.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if the component is fitted elsewhere or was taken off for good; faults; storage
/// errors.
pub async fn fit(act: &mut Act, vehicle: VehicleId, new: NewFitting) -> Result<Fitting, ActError> {
    fit_in_place_of(act, vehicle, new, None).await
}

/// The same; what is taken out for it is taken off for good for that reason, if one is said, else it goes into store.
///
/// # Errors
/// As [`fit`]; a fault for [`EndReason::Other`], which needs a note of its own.
pub async fn fit_in_place_of(
    act: &mut Act,
    vehicle: VehicleId,
    new: NewFitting,
    displaced: Option<EndReason>,
) -> Result<Fitting, ActError> {
    let fleet = act.fleet();
    let mut vehicles = store::elsewhere::vehicles_of(&mut act.conn(), fleet, new.component).await?;
    vehicles.push(vehicle);
    act.lock(&vehicles).await?;
    let mut faults = Vec::new();
    let odometer = read_odometer(Some(new.odometer), "/odometer", &mut faults);
    let component = store::components::lock(&mut act.conn(), fleet, new.component).await?;
    if component.is_none() {
        let detail = format!("there is no component {}", new.component);
        faults.push(Fault::new("/component", "unknown", detail));
    }
    if displaced == Some(EndReason::Other) {
        let detail = "another reason needs a note: take it off for good in an act of its own";
        faults.push(Fault::new("/displaced", "note-missing", detail));
    }
    none_of(faults)?;
    ends::none_stands(act, new.component).await?;
    let kind = component.map(|component| component.kind);
    if let Some(open) = store::fittings::open_of(&mut act.conn(), fleet, new.component).await? {
        let detail = format!("the component is fitted {} since {}", open.place.title(), open.from);
        return Err(ActError::Conflict { code: "fitted-elsewhere", detail });
    }
    let taken_out = store::fittings::last_end(&mut act.conn(), fleet, new.component).await?;
    if let Some(day) = taken_out.filter(|day| *day > new.from) {
        let detail = format!("it was taken out on {day}, after that");
        return Err(ActError::fault("/from", "order", detail));
    }
    let reason = displaced.map_or("replaced", EndReason::word);
    let taken_out = make_room(act, vehicle, &new, kind.as_ref(), odometer, reason).await?;
    if let Some(reason) = displaced {
        for component in taken_out {
            let (on, odometer, note) = (new.from, Some(new.odometer), None);
            ends::insert(act, NewEnd { component, reason, on, odometer, note }).await?;
        }
    }
    insert(act, vehicle, &new, odometer).await
}

async fn insert(
    act: &mut Act,
    vehicle: VehicleId,
    new: &NewFitting,
    odometer: Distance,
) -> Result<Fitting, ActError> {
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let fitting = Fitting {
        id: FittingId(act.new_id()),
        component: new.component,
        vehicle,
        place: new.place,
        from: new.from,
        from_odometer: odometer,
        to: None,
        to_odometer: None,
    };
    store::fittings::insert(&mut act.conn(), fleet, &fitting, &stamp).await?;
    act.note("fitting", fitting.id, "fit", None, Some(&fitting));
    Ok(fitting)
}

/// Takes out what is of the same kind in the place of a new fitting, and tells which components that were.
async fn make_room(
    act: &mut Act,
    vehicle: VehicleId,
    new: &NewFitting,
    kind: Option<&Code>,
    odometer: Distance,
    reason: &str,
) -> Result<Vec<ComponentId>, ActError> {
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let mut taken_out = Vec::new();
    for there in store::fittings::open_at(&mut act.conn(), fleet, vehicle, new.place).await? {
        let other = store::components::find(&mut act.conn(), fleet, there.component).await?;
        if other.as_ref().map(|component| &component.kind) == kind {
            if there.from > new.from {
                let detail =
                    format!("what is fitted {} came on {}, after that", there.place.title(), there.from);
                return Err(ActError::fault("/from", "order", detail));
            }
            let end = store::fittings::End { to: new.from, odometer, reason: reason.to_owned() };
            store::fittings::end(&mut act.conn(), fleet, there.id, &end, &stamp).await?;
            taken_out.push(there.component);
        }
    }
    Ok(taken_out)
}

/// Takes a component out.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if it was taken out before; faults; storage errors.
pub async fn remove(
    act: &mut Act,
    vehicle: VehicleId,
    id: FittingId,
    to: NaiveDate,
    odometer: Entered,
    reason: String,
) -> Result<Fitting, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let before = store::fittings::find(&mut act.conn(), fleet, id).await?;
    let Some(before) = before.filter(|fitting| fitting.vehicle == vehicle) else {
        return Err(ActError::NotFound { kind: "fitting" });
    };
    if let Some(day) = before.to {
        let detail = format!("it was taken out on {day}");
        return Err(ActError::Conflict { code: "already-removed", detail });
    }
    let mut faults = Vec::new();
    let exact = read_odometer(Some(odometer), "/odometer", &mut faults);
    if to < before.from {
        let detail = format!("{to} is before it was fitted on {}", before.from);
        faults.push(Fault::new("/to", "order", detail));
    }
    none_of(faults)?;
    let end = store::fittings::End { to, odometer: exact, reason };
    store::fittings::end(&mut act.conn(), fleet, id, &end, &stamp).await?;
    let after = Fitting { to: Some(to), to_odometer: Some(exact), ..before.clone() };
    act.note("fitting", id, "remove", Some(&before), Some(&after));
    Ok(after)
}
