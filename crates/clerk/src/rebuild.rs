//! Derived rows made anew from the facts, or proven to be what the facts give.
//!
//! Both go through a fleet slice by slice, each in one transaction, so that a program that serves meanwhile loses no more
//! than a moment and a slice is seen as of one instant.

use crate::error::ActError;
use crate::{Clerk, facts, renewal};
use model::{Facts, FleetId, Policy, VehicleId};
use store::derived::{Comparison, Difference};
use store::states::VehicleState;
use store::{Conn, Reach};

/// So many vehicles are looked at in one transaction.
const SLICE: i64 = 64;

/// What proving one slice of a fleet came to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Proof {
    /// Vehicles whose derived rows were compared.
    pub vehicles: usize,
    /// Rows compared.
    pub rows: usize,
    /// Vehicles left out because their horizon is to be made anew anyway: facts have changed since, or another engine
    /// made it.
    pub behind: Vec<VehicleId>,
    /// Rows that are not what the facts give, with their vehicles.
    pub differences: Vec<(VehicleId, Difference)>,
    /// Where to go on; none when the fleet is done.
    pub next: Option<VehicleId>,
}

/// Computes the derived rows of the vehicles behind `after` (a slice of them, in order of ids; those that left the fleet
/// too) and compares them with what is kept. Writes nothing.
///
/// # Errors
/// Storage errors.
pub async fn prove(clerk: &Clerk, fleet: FleetId, after: Option<VehicleId>) -> Result<Proof, ActError> {
    let mut tx = clerk.store().reader(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let states = store::states::page(conn, fleet, after, SLICE).await?;
    let mut proof = Proof { next: next_of(&states), ..Proof::default() };
    let (behind, done): (Vec<_>, Vec<_>) =
        states.into_iter().partition(|state| state.is_behind(engine::ENGINE_VERSION));
    proof.behind = behind.into_iter().map(|state| state.vehicle).collect();
    let policy = store::fleets::policy(conn, fleet).await?;
    let ids: Vec<VehicleId> = done.iter().map(|state| state.vehicle).collect();
    for facts in facts::load(conn, fleet, &ids, &policy).await? {
        let Some(state) = done.iter().find(|state| state.vehicle == facts.vehicle.id) else { continue };
        let comparison = compare(conn, state, &facts, &policy).await?;
        proof.vehicles += 1;
        proof.rows += comparison.rows;
        proof.differences.extend(comparison.differences.into_iter().map(|one| (state.vehicle, one)));
    }
    Ok(proof)
}

fn next_of(states: &[VehicleState]) -> Option<VehicleId> {
    let is_full = i64::try_from(states.len()).is_ok_and(|count| count == SLICE);
    states.last().filter(|_| is_full).map(|state| state.vehicle)
}

async fn compare(
    conn: &mut Conn<'_>,
    state: &VehicleState,
    facts: &Facts,
    policy: &Policy,
) -> Result<Comparison, ActError> {
    let (fleet, vehicle) = (facts.vehicle.fleet, facts.vehicle.id);
    let horizon = engine::horizon(facts, policy);
    let mut comparison = match facts.vehicle.attributes_now() {
        Some(now) => store::derived::compare(conn, fleet, now.depot, &horizon).await?,
        None => Comparison::default(),
    };
    let marks = renewal::marks_of(&horizon);
    let (of_marks, wakes_at) = store::marks::compare(conn, fleet, vehicle, &marks).await?;
    comparison.rows += of_marks.rows + 1;
    comparison.differences.extend(of_marks.differences);
    if state.wakes_at != wakes_at {
        comparison.differences.push(Difference {
            table: "vehicle_state",
            key: "wakes_at".to_owned(),
            stored: state.wakes_at.map(|at| at.to_string()),
            computed: wakes_at.map(|at| at.to_string()),
        });
    }
    Ok(comparison)
}

/// What rebuilding one slice of a fleet came to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rebuilt {
    /// Vehicles whose derived rows were computed.
    pub vehicles: usize,
    /// Rows that had to change.
    pub written: u64,
    /// Where to go on; none when the fleet is done.
    pub next: Option<VehicleId>,
}

/// Computes the derived rows of the vehicles behind `after`, as [`prove`], and writes what differs. Horizons that were
/// behind are made anew along the way; notices that are not true and that no letter carries are taken back.
///
/// # Errors
/// Storage errors; nothing of the slice is stored then.
pub async fn rebuild(clerk: &Clerk, fleet: FleetId, after: Option<VehicleId>) -> Result<Rebuilt, ActError> {
    let mut tx = clerk.store().writer(Reach::Fleet(fleet)).await?;
    let conn = &mut tx.conn();
    let states = store::states::page(conn, fleet, after, SLICE).await?;
    let ids: Vec<VehicleId> = states.iter().map(|state| state.vehicle).collect();
    store::states::lock(conn, fleet, &ids).await?;
    let renewed = renewal::renew(conn, fleet, &ids, clerk.now()).await?;
    tx.commit().await?;
    clerk.wake();
    Ok(Rebuilt { vehicles: renewed.horizons.len(), written: renewed.written, next: next_of(&states) })
}
