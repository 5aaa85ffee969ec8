//! Coverage windows: warranties and leases.

use crate::Act;
use crate::error::{ActError, Fault, none_of};
use crate::vehicles::read_odometer;
use model::{CoverageTerms, CoverageWindow, VehicleId, WindowId};

/// Opens a coverage window on its terms.
///
/// # Errors
/// [`ActError::NotFound`]; faults for terms without any limit, values that are no distance, an unknown service record;
/// storage errors.
pub async fn open(
    act: &mut Act,
    vehicle: VehicleId,
    terms: CoverageTerms,
) -> Result<CoverageWindow, ActError> {
    act.lock(&[vehicle]).await?;
    let mut faults = Vec::new();
    if terms.months.is_none() && terms.distance.is_none() {
        faults.push(Fault::new(
            "/months",
            "missing",
            "a window needs a limit in months, in distance, or both",
        ));
    }
    read_odometer(terms.distance, "/distance", &mut faults);
    read_odometer(terms.start_odometer, "/start_odometer", &mut faults);
    if terms.capacity_floor_percent.is_some_and(|floor| !(0.0..=100.0).contains(&floor)) {
        faults.push(Fault::new(
            "/capacity_floor_percent",
            "range",
            "a capacity floor lies between 0 and 100",
        ));
    }
    let (fleet, stamp) = (act.fleet(), act.stamp());
    if let Some(service) = terms.opened_by
        && store::services::find(&mut act.conn(), fleet, vehicle, service).await?.is_none()
    {
        faults.push(Fault::new("/opened_by", "unknown", format!("there is no service record {service}")));
    }
    none_of(faults)?;
    let window = CoverageWindow { id: WindowId(act.new_id()), terms, recorded_at: act.at() };
    store::coverage::insert(&mut act.conn(), fleet, vehicle, &window, &stamp).await?;
    act.note("coverage_window", window.id, "open", None, Some(&window));
    Ok(window)
}

/// Withdraws a coverage window.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn withdraw(act: &mut Act, vehicle: VehicleId, id: WindowId) -> Result<(), ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at) = (act.fleet(), act.at());
    let Some(window) = store::coverage::find(&mut act.conn(), fleet, vehicle, id).await? else {
        return Err(ActError::NotFound { kind: "coverage window" });
    };
    store::coverage::withdraw(&mut act.conn(), fleet, vehicle, id, at).await?;
    act.note("coverage_window", id, "withdraw", Some(&window), None);
    Ok(())
}
