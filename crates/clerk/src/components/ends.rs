//! Taking components off for good.

use crate::Act;
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use chrono::{NaiveDate, TimeDelta};
use model::{ComponentEnd, ComponentEndId, ComponentId, EndReason, Fitting};
use quantity::{Distance, Entered};

/// A component to be taken off for good.
#[derive(Debug, Clone)]
pub struct NewEnd {
    /// The component.
    pub component: ComponentId,
    /// Why.
    pub reason: EndReason,
    /// On this day.
    pub on: NaiveDate,
    /// The odometer then, if it is fitted.
    pub odometer: Option<Entered>,
    /// What else there is to say; needed for another reason than those named.
    pub note: Option<String>,
}

/// Takes a component off for good: where it is fitted, that ends the same day. From store, too.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if it was taken off for good before; faults, all at once: days out of order or to come,
/// no odometer of a fitted one, one of a component in store, no note where one is needed; storage errors.
pub async fn retire(act: &mut Act, new: NewEnd) -> Result<ComponentEnd, ActError> {
    let fleet = act.fleet();
    let vehicles = store::elsewhere::vehicles_of(&mut act.conn(), fleet, new.component).await?;
    act.lock(&vehicles).await?;
    if store::components::lock(&mut act.conn(), fleet, new.component).await?.is_none() {
        return Err(ActError::NotFound { kind: "component" });
    }
    none_stands(act, new.component).await?;
    let open = store::fittings::open_of(&mut act.conn(), fleet, new.component).await?;
    if open.as_ref().is_some_and(|open| !vehicles.contains(&open.vehicle)) {
        let detail = "it was fitted to another vehicle at the same moment; look again".to_owned();
        return Err(ActError::Conflict { code: "fitted-elsewhere", detail });
    }
    let odometer = check(act, &new, open.as_ref()).await?;
    if let Some(open) = open {
        take_out(act, &open, &new, odometer).await?;
    }
    insert(act, new).await
}

/// The odometer, exact, where nothing speaks against the end.
async fn check(act: &mut Act, new: &NewEnd, open: Option<&Fitting>) -> Result<Distance, ActError> {
    let fleet = act.fleet();
    let mut faults = Vec::new();
    let odometer = read_odometer(new.odometer, "/odometer", &mut faults);
    match (open, new.odometer) {
        (Some(open), None) => {
            let detail = format!("it is fitted {}: its odometer then is needed", open.place.title());
            faults.push(Fault::new("/odometer", "missing", detail));
        }
        (None, Some(_)) => {
            faults.push(Fault::new("/odometer", "not-fitted", "it lies in store, where no odometer runs"));
        }
        (Some(_), Some(_)) | (None, None) => {}
    }
    let last_end = store::fittings::last_end(&mut act.conn(), fleet, new.component).await?;
    let since = open.map(|open| open.from).into_iter().chain(last_end).max();
    if let Some(day) = since.filter(|day| *day > new.on) {
        faults.push(Fault::new("/on", "order", format!("it came to where it is on {day}, after that")));
    }
    // It may lie in any depot, and a new day begins up to fourteen hours before it does in UTC.
    if new.on > (act.at() + TimeDelta::hours(14)).date_naive() {
        faults.push(Fault::new("/on", "future", format!("{} lies in the future", new.on)));
    }
    if new.reason == EndReason::Other && new.note.is_none() {
        faults.push(Fault::new("/note", "note-missing", "another reason needs a note that says which"));
    }
    none_of(faults)?;
    Ok(odometer)
}

async fn take_out(act: &mut Act, open: &Fitting, new: &NewEnd, odometer: Distance) -> Result<(), ActError> {
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let end = store::fittings::End { to: new.on, odometer, reason: new.reason.word().to_owned() };
    store::fittings::end(&mut act.conn(), fleet, open.id, &end, &stamp).await?;
    let after = Fitting { to: Some(new.on), to_odometer: Some(odometer), ..open.clone() };
    act.note("fitting", open.id, "remove", Some(open), Some(&after));
    Ok(())
}

pub(super) async fn insert(act: &mut Act, new: NewEnd) -> Result<ComponentEnd, ActError> {
    let NewEnd { component, reason, on, odometer, note } = new;
    let id = ComponentEndId(act.new_id());
    let end = ComponentEnd { id, component, reason, on, odometer, note, recorded_at: act.at() };
    let (fleet, stamp) = (act.fleet(), act.stamp());
    store::component_ends::insert(&mut act.conn(), fleet, &end, &stamp).await?;
    act.note("component_end", end.id, "record", None, Some(&end));
    Ok(end)
}

/// A conflict if the component was taken off for good.
pub(super) async fn none_stands(act: &mut Act, component: ComponentId) -> Result<(), ActError> {
    let fleet = act.fleet();
    match store::component_ends::find(&mut act.conn(), fleet, component).await? {
        None => Ok(()),
        Some(end) => {
            let detail = format!("it was taken off for good on {} ({})", end.on, end.reason);
            Err(ActError::Conflict { code: "off-for-good", detail })
        }
    }
}

/// Withdraws that a component was taken off for good. It lies in store from then on and can be fitted again, from the day it
/// was taken off; the fitting that ended then stays ended.
///
/// # Errors
/// [`ActError::NotFound`] if there is no such component; a conflict if it was not taken off for good; storage errors.
pub async fn withdraw_end(act: &mut Act, component: ComponentId) -> Result<(), ActError> {
    let (fleet, at) = (act.fleet(), act.at());
    if store::components::lock(&mut act.conn(), fleet, component).await?.is_none() {
        return Err(ActError::NotFound { kind: "component" });
    }
    let Some(end) = store::component_ends::find(&mut act.conn(), fleet, component).await? else {
        let detail = "it was not taken off for good, or that was withdrawn before".to_owned();
        return Err(ActError::Conflict { code: "already-withdrawn", detail });
    };
    store::component_ends::withdraw(&mut act.conn(), fleet, component, at).await?;
    act.note("component_end", end.id, "withdraw", Some(&end), None);
    Ok(())
}
