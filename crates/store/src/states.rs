//! One row a vehicle: which version of its horizon is needed and done, when it wakes, who works on it.

use crate::pages::behind_id;
use crate::{Conn, Lease, StoreError, id_list};
use chrono::{DateTime, Utc};
use model::{Code, FleetId, RulebookId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO vehicle_state (fleet_id, vehicle_id, needed_version, done_version, engine_version)"
        "VALUES ($1, $2, $3, $4, $5)"
    }
    /// In order of ids, so that two acts never wait for each other in a circle.
    LOCK = {
        "SELECT vehicle_id, needed_version, done_version, engine_version, wakes_at, claim_token, claimed_until"
        "FROM vehicle_state WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "ORDER BY vehicle_id" postgres: "FOR UPDATE"
    }
    RAISE = {
        "WITH locked AS MATERIALIZED (SELECT vehicle_id FROM vehicle_state WHERE fleet_id = $1 AND vehicle_id IN"
        ids: "$2" "ORDER BY vehicle_id" postgres: "FOR UPDATE"
        ") UPDATE vehicle_state SET needed_version = needed_version + 1"
        "WHERE fleet_id = $1 AND vehicle_id IN (SELECT vehicle_id FROM locked)"
    }
    RAISE_ALL = {
        "WITH locked AS MATERIALIZED (SELECT vehicle_id FROM vehicle_state WHERE fleet_id = $1"
        "ORDER BY vehicle_id" postgres: "FOR UPDATE"
        ") UPDATE vehicle_state SET needed_version = needed_version + 1"
        "WHERE fleet_id = $1 AND vehicle_id IN (SELECT vehicle_id FROM locked)"
    }
    /// Whoever is or was under the rulebook: renewing one too many costs little, missing one is a missed service.
    RAISE_BY_RULEBOOK = {
        "WITH locked AS MATERIALIZED (SELECT vehicle_id FROM vehicle_state WHERE fleet_id = $1 AND vehicle_id IN"
        "(SELECT vehicle_id FROM vehicle_attributes WHERE fleet_id = $1 AND rulebook_id = $2)"
        "ORDER BY vehicle_id" postgres: "FOR UPDATE"
        ") UPDATE vehicle_state SET needed_version = needed_version + 1"
        "WHERE fleet_id = $1 AND vehicle_id IN (SELECT vehicle_id FROM locked)"
    }
    /// Those to which such a component is fitted now.
    RAISE_BY_PRODUCT = {
        "WITH locked AS MATERIALIZED (SELECT vehicle_id FROM vehicle_state WHERE fleet_id = $1 AND vehicle_id IN"
        "(SELECT f.vehicle_id FROM component AS c"
        "JOIN fitting AS f ON f.fleet_id = c.fleet_id AND f.component_id = c.id AND f.withdrawn_at IS NULL"
        "LEFT JOIN fitting_end AS e ON e.fleet_id = f.fleet_id AND e.fitting_id = f.id"
        "WHERE c.fleet_id = $1 AND c.kind = $2 AND c.product = $3 AND c.withdrawn_at IS NULL AND e.to_day IS NULL)"
        "ORDER BY vehicle_id" postgres: "FOR UPDATE"
        ") UPDATE vehicle_state SET needed_version = needed_version + 1"
        "WHERE fleet_id = $1 AND vehicle_id IN (SELECT vehicle_id FROM locked)"
    }
    SET_DONE = {
        "UPDATE vehicle_state SET done_version = needed_version, engine_version = $3, wakes_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    /// What is behind already needs no raising.
    RAISE_OTHER_ENGINES = {
        "WITH locked AS MATERIALIZED (SELECT fleet_id, vehicle_id FROM vehicle_state"
        "WHERE engine_version <> $1 AND done_version >= needed_version"
        "ORDER BY fleet_id, vehicle_id" postgres: "FOR UPDATE"
        ") UPDATE vehicle_state SET needed_version = needed_version + 1"
        "WHERE (fleet_id, vehicle_id) IN (SELECT fleet_id, vehicle_id FROM locked)"
    }
    /// Two lists, each found through an index of its own; made once, since a sub-query with a limit could be run again
    /// for each row, and claim more than it may.
    CLAIM = {
        "WITH woken AS MATERIALIZED (SELECT fleet_id, vehicle_id, wakes_at FROM vehicle_state"
        "WHERE wakes_at <= $1 AND (claimed_until IS NULL OR claimed_until < $6 OR claimed_until > $5)"
        "ORDER BY wakes_at, fleet_id, vehicle_id LIMIT $4"
        postgres: "FOR UPDATE SKIP LOCKED"
        "), behind AS MATERIALIZED (SELECT fleet_id, vehicle_id, wakes_at FROM vehicle_state"
        "WHERE done_version < needed_version"
        "AND (claimed_until IS NULL OR claimed_until < $6 OR claimed_until > $5)"
        "ORDER BY fleet_id, vehicle_id LIMIT $4"
        postgres: "FOR UPDATE SKIP LOCKED"
        "), wanted AS MATERIALIZED (SELECT fleet_id, vehicle_id, wakes_at FROM woken"
        "UNION SELECT fleet_id, vehicle_id, wakes_at FROM behind"
        "ORDER BY wakes_at NULLS LAST, fleet_id, vehicle_id LIMIT $4"
        ") UPDATE vehicle_state SET claim_token = $3, claimed_until = $2"
        "WHERE (fleet_id, vehicle_id) IN (SELECT fleet_id, vehicle_id FROM wanted) RETURNING fleet_id, vehicle_id"
    }
    RELEASE = {
        "UPDATE vehicle_state SET claim_token = NULL, claimed_until = NULL, wakes_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND claim_token = $3"
    }
    IS_BEHIND = {
        "SELECT done_version < needed_version OR engine_version <> $3 AS behind FROM vehicle_state"
        "WHERE fleet_id = $1 AND vehicle_id = $2"
    }
    PAGE = {
        "SELECT vehicle_id, needed_version, done_version, engine_version, wakes_at, claim_token, claimed_until"
        "FROM vehicle_state WHERE fleet_id = $1 AND vehicle_id > $2 ORDER BY vehicle_id LIMIT $3"
    }
    NEXT_WAKE = { "SELECT MIN(wakes_at) AS wakes_at FROM vehicle_state" }
}

/// How far the work on one vehicle's horizon is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VehicleState {
    /// The vehicle.
    pub vehicle: VehicleId,
    /// The version of the horizon that is needed.
    pub needed_version: i64,
    /// The version that is done.
    pub done_version: i64,
    /// The engine that did it; empty before the first time.
    pub engine_version: String,
    /// When the vehicle wakes next.
    pub wakes_at: Option<DateTime<Utc>>,
    /// Who works on it.
    pub claim_token: Option<Uuid>,
    /// Until when that claim holds.
    pub claimed_until: Option<DateTime<Utc>>,
}

#[derive(sqlx::FromRow)]
struct Row {
    vehicle_id: Uuid,
    needed_version: i64,
    done_version: i64,
    engine_version: String,
    wakes_at: Option<DateTime<Utc>>,
    claim_token: Option<Uuid>,
    claimed_until: Option<DateTime<Utc>>,
}

impl VehicleState {
    /// Whether its horizon is to be made anew: facts have changed since, or another engine made it.
    pub fn is_behind(&self, engine_version: &str) -> bool {
        self.done_version < self.needed_version || self.engine_version != engine_version
    }
}

impl From<Row> for VehicleState {
    fn from(row: Row) -> Self {
        Self {
            vehicle: VehicleId(row.vehicle_id),
            needed_version: row.needed_version,
            done_version: row.done_version,
            engine_version: row.engine_version,
            wakes_at: row.wakes_at,
            claim_token: row.claim_token,
            claimed_until: row.claimed_until,
        }
    }
}

/// Keeps the state of a new vehicle: its first horizon is needed.
pub async fn insert(conn: &mut Conn<'_>, fleet: FleetId, vehicle: VehicleId) -> Result<(), StoreError> {
    execute!(conn, INSERT, fleet.0, vehicle.0, 1_i64, 0_i64, "")?;
    Ok(())
}

/// Locks the vehicles' rows until the transaction ends; those not of this fleet are missing from the answer.
pub async fn lock(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
) -> Result<Vec<VehicleState>, StoreError> {
    #[cfg(feature = "without-vehicle-lock")]
    const LOCK: crate::Sql = crate::unguarded::without_lock(self::LOCK);
    let list = id_list(vehicles.iter().map(|vehicle| vehicle.0));
    let rows = fetch!(fetch_all, conn, Row, LOCK, fleet.0, list)?;
    Ok(rows.into_iter().map(VehicleState::from).collect())
}

/// Asks for new horizons of these vehicles. Gives how many there are.
pub async fn raise_needed(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
) -> Result<u64, StoreError> {
    execute!(conn, RAISE, fleet.0, id_list(vehicles.iter().map(|vehicle| vehicle.0)))
}

/// Asks for new horizons of every vehicle of the fleet. Gives how many there are.
pub async fn raise_needed_all(conn: &mut Conn<'_>, fleet: FleetId) -> Result<u64, StoreError> {
    execute!(conn, RAISE_ALL, fleet.0)
}

/// Asks for new horizons of every vehicle that is or was under a rulebook. Gives how many there are.
pub async fn raise_needed_by_rulebook(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    rulebook: RulebookId,
) -> Result<u64, StoreError> {
    execute!(conn, RAISE_BY_RULEBOOK, fleet.0, rulebook.0)
}

/// Asks for new horizons of every vehicle to which a component of this kind and product is fitted. Gives how many there
/// are.
pub async fn raise_needed_by_product(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    kind: &Code,
    product: &str,
) -> Result<u64, StoreError> {
    execute!(conn, RAISE_BY_PRODUCT, fleet.0, kind.as_str(), product)
}

/// Says that the needed horizon is done by this engine. Only for who has locked the row in this transaction.
pub async fn set_done(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    engine_version: &str,
    wakes_at: Option<DateTime<Utc>>,
) -> Result<(), StoreError> {
    execute!(conn, SET_DONE, fleet.0, vehicle.0, engine_version, wakes_at)?;
    Ok(())
}

/// Asks for new horizons of every vehicle of any fleet whose horizon another engine made. Gives how many there are.
/// Needs `Reach::All`, and looks at every vehicle: for when a program starts, not for every turn.
pub async fn raise_other_engines(conn: &mut Conn<'_>, engine_version: &str) -> Result<u64, StoreError> {
    execute!(conn, RAISE_OTHER_ENGINES, engine_version)
}

/// Claims up to `most` vehicles of any fleet that have woken by `now` or whose horizon is behind; those under a lease that
/// holds are left (`leases.rs`). Those that woke first come first. Needs `Reach::All`.
pub async fn claim(
    conn: &mut Conn<'_>,
    now: DateTime<Utc>,
    lease: Lease,
    token: Uuid,
    most: u32,
) -> Result<Vec<(FleetId, VehicleId)>, StoreError> {
    let most = i64::from(most);
    let rows = fetch!(
        fetch_all,
        conn,
        (Uuid, Uuid),
        CLAIM,
        now,
        lease.until,
        token,
        most,
        lease.beyond(),
        lease.at
    )?;
    let mut claimed: Vec<_> =
        rows.into_iter().map(|(fleet, vehicle)| (FleetId(fleet), VehicleId(vehicle))).collect();
    claimed.sort_unstable();
    Ok(claimed)
}

/// Gives a claimed vehicle back with its next waking; `false` if the claim has passed to another.
pub async fn release(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    token: Uuid,
    wakes_at: Option<DateTime<Utc>>,
) -> Result<bool, StoreError> {
    #[cfg(feature = "without-claim-token")]
    use crate::unguarded::RELEASE;
    Ok(execute!(conn, RELEASE, fleet.0, vehicle.0, token, wakes_at)? == 1)
}

/// Whether the vehicle's horizon is to be made anew: what is derived for it may not be what the facts give.
pub async fn is_behind(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    engine_version: &str,
) -> Result<bool, StoreError> {
    let found = fetch!(fetch_optional, conn, (bool,), IS_BEHIND, fleet.0, vehicle.0, engine_version)?;
    Ok(found.is_some_and(|(behind,)| behind))
}

/// The states of a fleet's vehicles behind `after`, those that left the fleet too, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<VehicleId>,
    limit: i64,
) -> Result<Vec<VehicleState>, StoreError> {
    let after = behind_id(after.map(|vehicle| vehicle.0));
    let rows = fetch!(fetch_all, conn, Row, PAGE, fleet.0, after, limit)?;
    Ok(rows.into_iter().map(VehicleState::from).collect())
}

/// When the next vehicle of any fleet wakes. Needs `Reach::All`.
pub async fn next_wake(conn: &mut Conn<'_>) -> Result<Option<DateTime<Utc>>, StoreError> {
    let (wakes_at,) = fetch!(fetch_one, conn, (Option<DateTime<Utc>>,), NEXT_WAKE)?;
    Ok(wakes_at)
}
