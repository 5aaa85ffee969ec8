//! Vehicles whose horizon rests on another one's log: they have a component now that went through something there.
//!
//! What is recorded late about a vehicle - a measurement, a reading that makes others count, an answer - can change what
//! it tells of a component that has gone on. So an act on it remembers what it told before, and asks for new horizons of
//! the heirs where it tells something else after. Everyday acts change nothing of that, and no heir is renewed for them.

use crate::error::ActError;
use crate::facts::{self, Told};
use model::{FleetId, VehicleId};
use std::collections::BTreeSet;
use store::Conn;
use store::elsewhere::Shared;

/// What vehicles tell the heirs in `shared`.
pub(crate) async fn told(conn: &mut Conn<'_>, fleet: FleetId, shared: &[Shared]) -> Result<Told, ActError> {
    if shared.is_empty() {
        return Ok(Told::new());
    }
    let policy = store::fleets::policy(conn, fleet).await?;
    facts::told_by(conn, fleet, &policy, shared).await
}

/// The heirs of `vehicles`, none of these among them, that are told something else now than `before`.
pub(crate) async fn behind(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
    before: &Told,
) -> Result<Vec<VehicleId>, ActError> {
    let mut shared = store::elsewhere::heirs(conn, fleet, vehicles).await?;
    shared.retain(|one| !vehicles.contains(&one.vehicle));
    let now = told(conn, fleet, &shared).await?;
    let differs = |one: &&Shared| {
        let key = (one.elsewhere, one.component);
        now.get(&key) != before.get(&key)
    };
    let behind: BTreeSet<VehicleId> = shared.iter().filter(differs).map(|one| one.vehicle).collect();
    Ok(behind.into_iter().collect())
}

/// Asks for new horizons of `vehicles` and of all their heirs, without looking what changed.
pub(crate) async fn raise_needed_with(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
) -> Result<(), ActError> {
    let shared = store::elsewhere::heirs(conn, fleet, vehicles).await?;
    let all: BTreeSet<VehicleId> =
        vehicles.iter().copied().chain(shared.iter().map(|one| one.vehicle)).collect();
    store::states::raise_needed(conn, fleet, &all.into_iter().collect::<Vec<_>>()).await?;
    Ok(())
}
