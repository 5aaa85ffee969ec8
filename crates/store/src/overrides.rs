//! Vehicles' exceptions to rules.

use crate::acts::Stamp;
use crate::pages::behind_id;
use crate::parse::{InRow, json_text};
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, OverrideId, RuleOverride, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO rule_override (fleet_id, id, vehicle_id, rule_code, every, reason, recorded_at, recorded_by, source,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
    }
    FIND = {
        "SELECT id, vehicle_id, rule_code, every, reason, recorded_at FROM rule_override"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, rule_code, every, reason, recorded_at FROM rule_override"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL AND id > $3 ORDER BY id LIMIT $4"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, rule_code, every, reason, recorded_at FROM rule_override"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, recorded_at, id"
    }
    WITHDRAW = {
        "UPDATE rule_override SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    rule_code: String,
    every: Option<String>,
    reason: String,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, RuleOverride) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("rule_override", row.id);
        let exception = RuleOverride {
            id: OverrideId(row.id),
            rule: at.code("rule_code", &row.rule_code)?,
            every: row.every.map(|every| at.json("every", &every)).transpose()?,
            reason: row.reason,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), exception))
    }
}

/// Keeps an exception.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    exception: &RuleOverride,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        exception.id.0,
        vehicle.0,
        exception.rule.as_str(),
        exception.every.as_ref().map(json_text),
        &exception.reason,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// The exception of this id, unless it was withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: OverrideId,
) -> Result<Option<RuleOverride>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's exceptions behind `after`, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<OverrideId>,
    limit: i64,
) -> Result<Vec<RuleOverride>, StoreError> {
    let after = behind_id(after.map(|id| id.0));
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, after, limit)?)
}

/// Withdraws an exception; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: OverrideId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Exceptions of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, RuleOverride)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
