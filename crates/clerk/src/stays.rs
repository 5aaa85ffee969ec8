//! Stays: time off the road.

use crate::Act;
use crate::error::{ActError, Fault, none_of};
use crate::readings::CLOCK_SLACK;
use chrono::{DateTime, Utc};
use model::{Stay, StayId, VehicleId, WorkshopId};

/// A stay to be recorded.
#[derive(Debug, Clone)]
pub struct NewStay {
    /// Where.
    pub workshop: Option<WorkshopId>,
    /// When the vehicle went in.
    pub in_at: DateTime<Utc>,
    /// When it came out, if it has.
    pub out_at: Option<DateTime<Utc>>,
    /// Why.
    pub reason: String,
    /// What it waits for.
    pub waiting_for: Option<String>,
}

/// Records that a vehicle went off the road.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if it was off the road then already; faults for times in the future or in the
/// wrong order and for an unknown workshop; storage errors.
pub async fn open(act: &mut Act, vehicle: VehicleId, new: NewStay) -> Result<Stay, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let mut faults = check_times(act, new.in_at, new.out_at);
    if let Some(workshop) = new.workshop
        && store::workshops::find(&mut act.conn(), fleet, workshop).await?.is_none()
    {
        faults.push(Fault::new("/workshop", "unknown", format!("there is no workshop {workshop}")));
    }
    none_of(faults)?;
    let stay = Stay {
        id: StayId(act.new_id()),
        workshop: new.workshop,
        in_at: new.in_at,
        out_at: new.out_at,
        reason: new.reason,
        waiting_for: new.waiting_for,
        recorded_at: act.at(),
    };
    refuse_overlap(act, vehicle, &stay).await?;
    store::stays::insert(&mut act.conn(), fleet, vehicle, &stay, &stamp).await?;
    act.note("stay", stay.id, "open", None, Some(&stay));
    Ok(stay)
}

/// Records that a vehicle came out again.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if it came out before; faults for a time in the future or before it went in;
/// storage errors.
pub async fn close(
    act: &mut Act,
    vehicle: VehicleId,
    id: StayId,
    out_at: DateTime<Utc>,
) -> Result<Stay, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, stamp) = (act.fleet(), act.stamp());
    let before = find(act, vehicle, id).await?;
    if let Some(out) = before.out_at {
        let detail = format!("the vehicle came out at {}", shown(out));
        return Err(ActError::Conflict { code: "already-closed", detail });
    }
    none_of(check_times(act, before.in_at, Some(out_at)))?;
    store::stays::end(&mut act.conn(), fleet, id, out_at, &stamp).await?;
    let after = Stay { out_at: Some(out_at), ..before.clone() };
    act.note("stay", id, "close", Some(&before), Some(&after));
    Ok(after)
}

/// Withdraws a stay: the vehicle was not off the road.
///
/// # Errors
/// [`ActError::NotFound`]; storage errors.
pub async fn withdraw(act: &mut Act, vehicle: VehicleId, id: StayId) -> Result<Stay, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at) = (act.fleet(), act.at());
    let stay = find(act, vehicle, id).await?;
    store::stays::withdraw(&mut act.conn(), fleet, vehicle, id, at).await?;
    act.note("stay", id, "withdraw", Some(&stay), None);
    Ok(stay)
}

async fn find(act: &mut Act, vehicle: VehicleId, id: StayId) -> Result<Stay, ActError> {
    let fleet = act.fleet();
    let found = store::stays::find(&mut act.conn(), fleet, vehicle, id).await?;
    found.ok_or(ActError::NotFound { kind: "stay" })
}

/// What is wrong with the times of a stay.
fn check_times(act: &Act, in_at: DateTime<Utc>, out_at: Option<DateTime<Utc>>) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (pointer, at) in [("/in_at", Some(in_at)), ("/out_at", out_at)] {
        if let Some(at) = at.filter(|at| *at > act.at() + CLOCK_SLACK) {
            faults.push(Fault::new(pointer, "future", format!("{} lies in the future", shown(at))));
        }
    }
    if out_at.is_some_and(|out| out <= in_at) {
        let detail = format!("it comes out after it went in at {}", shown(in_at));
        faults.push(Fault::new("/out_at", "order", detail));
    }
    faults
}

/// A vehicle is off the road once at a time: two stays that overlap are one, or a mistake.
async fn refuse_overlap(act: &mut Act, vehicle: VehicleId, new: &Stay) -> Result<(), ActError> {
    let fleet = act.fleet();
    let all = store::stays::of(&mut act.conn(), fleet, &[vehicle]).await?;
    let ends_by = |stay: &Stay, at: DateTime<Utc>| stay.out_at.is_some_and(|out| out <= at);
    let other = all.into_iter().map(|(_, stay)| stay);
    let clash = other.into_iter().find(|other| !ends_by(other, new.in_at) && !ends_by(new, other.in_at));
    let Some(other) = clash else { return Ok(()) };
    let until = other.out_at.map_or_else(|| "still there".to_owned(), |out| format!("until {}", shown(out)));
    let detail = format!(
        "the vehicle is off the road from {} ({until}) for the stay {}",
        shown(other.in_at),
        other.id
    );
    Err(ActError::Conflict { code: "stays-overlap", detail })
}

fn shown(at: DateTime<Utc>) -> String {
    at.format("%Y-%m-%d %H:%M UTC").to_string()
}
