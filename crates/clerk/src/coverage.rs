//! Coverage windows: warranties and leases.

use crate::Act;
use crate::entered::read_odometer;
use crate::error::{ActError, Fault, none_of};
use crate::vehicles::find;
use chrono::NaiveDate;
use model::{CoverageTerms, CoverageWindow, Transfer, VehicleId, WindowId, WindowKind, local_day};
use quantity::Distance;

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
    check_limits(&terms, "", &mut faults);
    check_clauses(&terms, &mut faults);
    let zone = find(act, vehicle).await?.zone;
    check_transfer(&terms, local_day(act.at(), zone), &mut faults);
    let fleet = act.fleet();
    if let Some(service) = terms.opened_by
        && store::services::find(&mut act.conn(), fleet, vehicle, service).await?.is_none()
    {
        faults.push(Fault::new("/opened_by", "unknown", format!("there is no service record {service}")));
    }
    none_of(faults)?;
    insert(act, vehicle, terms).await
}

/// Keeps a window whose terms are in order.
pub(crate) async fn insert(
    act: &mut Act,
    vehicle: VehicleId,
    terms: CoverageTerms,
) -> Result<CoverageWindow, ActError> {
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let window = CoverageWindow { id: WindowId(act.new_id()), terms, recorded_at: act.at() };
    store::coverage::insert(&mut act.conn(), fleet, vehicle, &window, &stamp).await?;
    act.note("coverage_window", window.id, "open", None, Some(&window));
    Ok(window)
}

/// A fault at `within` for terms without any limit, or with one that cannot be.
pub(crate) fn check_limits(terms: &CoverageTerms, within: &str, faults: &mut Vec<Fault>) {
    if terms.months.is_none() && terms.distance.is_none() {
        faults.push(Fault::new(
            format!("{within}/months"),
            "missing",
            "a window needs a limit in months, in distance, or both",
        ));
    }
    read_odometer(terms.distance, &format!("{within}/distance"), faults);
    read_odometer(terms.start_odometer, &format!("{within}/start_odometer"), faults);
    if terms.capacity_floor_percent.is_some_and(|floor| !(0.0..=100.0).contains(&floor)) {
        faults.push(Fault::new(
            format!("{within}/capacity_floor_percent"),
            "range",
            "a capacity floor lies between 0 and 100",
        ));
    }
}

/// Reductions and steps say something, steps follow one another, and only distance beyond a lease's cap has a price.
fn check_clauses(terms: &CoverageTerms, faults: &mut Vec<Fault>) {
    for (index, reduction) in terms.reduced_if.iter().enumerate() {
        let pointer = format!("/reduced_if/{index}");
        read_odometer(reduction.distance, &format!("{pointer}/distance"), faults);
        if reduction.months.is_none() && reduction.distance.is_none() {
            faults.push(Fault::new(pointer, "missing", "a reduction needs months, distance, or both"));
        }
    }
    let mut before = (0, Distance::ZERO);
    for (index, step) in terms.pro_rata.iter().enumerate() {
        let pointer = format!("/pro_rata/{index}");
        let distance = read_odometer(step.distance, &format!("{pointer}/distance"), faults);
        let reached = (step.months.unwrap_or(before.0), step.distance.map_or(before.1, |_| distance));
        if step.months.is_none() && step.distance.is_none() {
            faults.push(Fault::new(pointer, "missing", "a step needs months, distance, or both"));
        } else if reached.0 < before.0 || reached.1 < before.1 || (reached == before && index > 0) {
            faults.push(Fault::new(pointer, "order", "each step ends later than the one before it"));
        } else if !(0.0..=100.0).contains(&step.credit_percent) {
            faults.push(Fault::new(format!("{pointer}/credit_percent"), "range", "0 to 100 percent"));
        }
        before = reached;
    }
    if let Some(price) = &terms.excess {
        if terms.kind != WindowKind::Lease || terms.distance.is_none() {
            let detail = "only distance beyond the cap of a lease has a price";
            faults.push(Fault::new("/excess", "no-cap", detail));
        }
        if read_odometer(Some(price.per), "/excess/per", faults) == Distance::ZERO {
            faults.push(Fault::new("/excess/per", "range", "a price is for more than no distance"));
        }
    }
}

fn check_transfer(terms: &CoverageTerms, today: NaiveDate, faults: &mut Vec<Fault>) {
    let on_notice = terms.transfer == Transfer::OnNotice;
    for (pointer, said) in [
        ("/transfer_within_days", terms.transfer_within_days.is_some()),
        ("/transferred_on", terms.transferred_on.is_some()),
    ] {
        if said && !on_notice {
            let detail = "its giver is told only where it goes along on notice";
            faults.push(Fault::new(pointer, "no-notice", detail));
        }
    }
    if terms.transferred_on.is_some_and(|day| day > today) {
        faults.push(Fault::new("/transferred_on", "future", "its giver was told on a day that has come"));
    }
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
