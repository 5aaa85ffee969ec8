//! Closing what was found wrong.

use crate::Act;
use crate::error::{ActError, Fault, none_of};
use model::{Finding, FindingId, ServiceId, VehicleId};
pub use store::findings::{Closure, ClosureKind};

/// Closes a finding as fixed or dismissed, with the reason.
///
/// # Errors
/// [`ActError::NotFound`]; a conflict if it is closed already; faults for an empty reason and a service record that is
/// none of the vehicle's; storage errors.
pub async fn close(
    act: &mut Act,
    vehicle: VehicleId,
    id: FindingId,
    kind: ClosureKind,
    reason: String,
    service: Option<ServiceId>,
) -> Result<Finding, ActError> {
    act.lock(&[vehicle]).await?;
    let (fleet, at, stamp) = (act.fleet(), act.at(), act.stamp());
    let Some(finding) = store::findings::find(&mut act.conn(), fleet, vehicle, id).await? else {
        return Err(ActError::NotFound { kind: "finding" });
    };
    if finding.closed_at.is_some() {
        return Err(ActError::Conflict {
            code: "already-closed",
            detail: "the finding is closed already".to_owned(),
        });
    }
    let mut faults = Vec::new();
    if reason.trim().is_empty() {
        faults.push(Fault::new("/reason", "empty", "say why, in a few words"));
    }
    if let Some(service) = service
        && store::services::find(&mut act.conn(), fleet, vehicle, service).await?.is_none()
    {
        faults.push(Fault::new("/service", "unknown", format!("there is no service record {service}")));
    }
    none_of(faults)?;
    let closure = Closure { kind, reason, service, closed_at: at };
    store::findings::close(&mut act.conn(), fleet, id, &closure, &stamp).await?;
    let after = Finding { closed_at: Some(at), ..finding.clone() };
    act.note("finding", id, "close", Some(&finding), Some(&after));
    Ok(after)
}
