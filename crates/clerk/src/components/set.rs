//! Several components changed in one act: a rotation, the winter set for the summer set.

use super::ends::none_stands;
use super::{NewFitting, insert, make_room};
use crate::Act;
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use chrono::NaiveDate;
use model::{Code, ComponentId, Fitting, Place, VehicleId};
use quantity::{Distance, Entered};
use std::collections::BTreeSet;

/// Where each component is to be from a day on.
#[derive(Debug, Clone)]
pub struct NewSet {
    /// From this day.
    pub on: NaiveDate,
    /// Odometer then.
    pub odometer: Entered,
    /// The components and their places.
    pub places: Vec<(ComponentId, Place)>,
    /// Why what was there goes into store.
    pub reason: String,
}

/// A component of the set with what is known of it.
struct Member {
    fitting: NewFitting,
    kind: Code,
    /// Where it is on this vehicle now, if it is.
    now: Option<Fitting>,
}

/// Puts each of these components in its place on the vehicle. Those that were elsewhere on it leave there the same day;
/// what else of their kind was in the places goes into store. One that is in its place already stays.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if a component is fitted to another vehicle or was taken off for good; faults, all at once: unknown components, a
/// component or a place named twice, days out of order; storage errors.
pub async fn swap_set(act: &mut Act, vehicle: VehicleId, new: NewSet) -> Result<Vec<Fitting>, ActError> {
    let fleet = act.fleet();
    let mut vehicles = vec![vehicle];
    for (component, _) in &new.places {
        vehicles.extend(store::elsewhere::vehicles_of(&mut act.conn(), fleet, *component).await?);
    }
    act.lock(&vehicles).await?;
    let components: BTreeSet<ComponentId> = new.places.iter().map(|(component, _)| *component).collect();
    for component in components {
        store::components::lock(&mut act.conn(), fleet, component).await?;
    }
    let mut faults = twice(&new.places);
    let odometer = read_odometer(Some(new.odometer), "/odometer", &mut faults);
    let mut members = Vec::with_capacity(new.places.len());
    for (index, (component, place)) in new.places.iter().enumerate() {
        members.extend(member(act, vehicle, &new, (index, *component, *place), &mut faults).await?);
    }
    none_of(faults)?;
    let in_place = |member: &Member| member.now.as_ref().is_some_and(|now| now.place == member.fitting.place);
    let (staying, moving): (Vec<Member>, Vec<Member>) = members.into_iter().partition(in_place);
    for member in &moving {
        leave(act, member, odometer).await?;
    }
    let mut fitted: Vec<Fitting> = staying.into_iter().filter_map(|member| member.now).collect();
    for member in &moving {
        make_room(act, vehicle, &member.fitting, Some(&member.kind), odometer, &new.reason).await?;
        fitted.push(insert(act, vehicle, &member.fitting, odometer).await?);
    }
    fitted.sort_by_key(|fitting| fitting.place);
    Ok(fitted)
}

/// A fault for each component and each place that was named before.
fn twice(places: &[(ComponentId, Place)]) -> Vec<Fault> {
    let (mut components, mut taken) = (BTreeSet::new(), BTreeSet::new());
    let mut faults = Vec::new();
    for (index, (component, place)) in places.iter().enumerate() {
        if !components.insert(component) {
            let detail = "each component can be in one place only";
            faults.push(Fault::new(format!("/places/{index}/component"), "twice", detail));
        }
        if !taken.insert(place) {
            let detail = format!("{} is named before", place.title());
            faults.push(Fault::new(format!("/places/{index}/place"), "twice", detail));
        }
    }
    faults
}

/// What is known of a component of the set; `None` where that has faults.
async fn member(
    act: &mut Act,
    vehicle: VehicleId,
    new: &NewSet,
    (index, component, place): (usize, ComponentId, Place),
    faults: &mut Vec<Fault>,
) -> Result<Option<Member>, ActError> {
    let fleet = act.fleet();
    let pointer = format!("/places/{index}/component");
    let Some(found) = store::components::find(&mut act.conn(), fleet, component).await? else {
        faults.push(Fault::new(pointer, "unknown", format!("there is no component {component}")));
        return Ok(None);
    };
    none_stands(act, component).await?;
    let now = store::fittings::open_of(&mut act.conn(), fleet, component).await?;
    if let Some(there) = now.as_ref().filter(|now| now.vehicle != vehicle) {
        let detail = format!("component {component} is fitted to another vehicle, {}", there.place.title());
        return Err(ActError::Conflict { code: "fitted-elsewhere", detail });
    }
    let last_end = store::fittings::last_end(&mut act.conn(), fleet, component).await?;
    let since = now.as_ref().map(|now| now.from).into_iter().chain(last_end).max();
    if let Some(day) = since.filter(|day| *day > new.on) {
        let detail = format!("component {component} came to where it is on {day}, after {}", new.on);
        faults.push(Fault::new(pointer, "order", detail));
        return Ok(None);
    }
    let fitting = NewFitting { component, place, from: new.on, odometer: new.odometer };
    Ok(Some(Member { fitting, kind: found.kind, now }))
}

/// Ends where it was on this vehicle.
async fn leave(act: &mut Act, member: &Member, odometer: Distance) -> Result<(), ActError> {
    let Some(now) = &member.now else { return Ok(()) };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let end = store::fittings::End { to: member.fitting.from, odometer, reason: "moved".to_owned() };
    store::fittings::end(&mut act.conn(), fleet, now.id, &end, &stamp).await?;
    let after = Fitting { to: Some(end.to), to_odometer: Some(odometer), ..now.clone() };
    act.note("fitting", now.id, "remove", Some(now), Some(&after));
    Ok(())
}
