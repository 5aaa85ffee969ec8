//! What the dash's own service indicator said was left.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::{InRow, json_text};
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, IndicatorId, IndicatorReading, ReadingId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO indicator_reading (fleet_id, id, vehicle_id, rule_code, remaining, reading_id, read_at, recorded_at,"
        "recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
    }
    FIND = {
        "SELECT id, vehicle_id, rule_code, remaining, reading_id, read_at, recorded_at FROM indicator_reading"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, rule_code, remaining, reading_id, read_at, recorded_at FROM indicator_reading"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL AND (read_at, id) > ($3, $4)"
        "ORDER BY read_at, id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, rule_code, remaining, reading_id, read_at, recorded_at FROM indicator_reading"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, read_at, id"
    }
    WITHDRAW = {
        "UPDATE indicator_reading SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    rule_code: String,
    remaining: String,
    reading_id: Option<Uuid>,
    read_at: DateTime<Utc>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, IndicatorReading) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("indicator_reading", row.id);
        let reading = IndicatorReading {
            id: IndicatorId(row.id),
            rule: at.code("rule_code", &row.rule_code)?,
            left: at.json("remaining", &row.remaining)?,
            reading: row.reading_id.map(ReadingId),
            read_at: row.read_at,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), reading))
    }
}

/// Keeps a reading of the indicator.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    reading: &IndicatorReading,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        reading.id.0,
        vehicle.0,
        reading.rule.as_str(),
        json_text(&reading.left),
        reading.reading.map(|odometer| odometer.0),
        reading.read_at,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// The indicator reading of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: IndicatorId,
) -> Result<Option<IndicatorReading>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's indicator readings behind `after`, by when they were read.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<IndicatorReading>, StoreError> {
    let (read_at, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, read_at, id, limit)?)
}

/// Withdraws an indicator reading; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: IndicatorId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Indicator readings of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, IndicatorReading)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
