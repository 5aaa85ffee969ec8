//! Looking ahead: a vehicle's horizon computed from the facts now known.

use crate::Clerk;
use crate::error::ActError;
use model::horizon::Horizon;
use model::{Facts, FleetId, Policy, VehicleId};
use store::Reach;

/// A vehicle's facts and what follows from them.
#[derive(Debug, Clone)]
pub struct Outlook {
    /// The facts.
    pub facts: Facts,
    /// The fleet's policy.
    pub policy: Policy,
    /// What follows.
    pub horizon: Horizon,
}

/// The outlook of a vehicle; none if there is no such vehicle in the fleet.
///
/// # Errors
/// Storage errors.
pub async fn of(clerk: &Clerk, fleet: FleetId, vehicle: VehicleId) -> Result<Option<Outlook>, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let policy = store::fleets::policy(&mut tx.conn(), fleet).await?;
    let found = store::facts::load(&mut tx.conn(), fleet, &[vehicle]).await?;
    Ok(found.into_iter().next().map(|facts| {
        let horizon = engine::horizon(&facts, &policy);
        Outlook { facts, policy, horizon }
    }))
}
