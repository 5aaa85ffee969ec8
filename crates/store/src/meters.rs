//! Replaced meters: from an instant on another instrument shows another number for the same vehicle.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, MeterQuantity, MeterReplacement, ReplacementId, VehicleId};
use quantity::{Dimension, Entered};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO meter_replacement (fleet_id, id, vehicle_id, quantity, replaced_at, old_value, old_unit, old_exact,"
        "new_value, new_unit, new_exact, reason, recorded_at, recorded_by, source, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)"
    }
    FIND = {
        "SELECT id, vehicle_id, quantity, replaced_at, old_value, old_unit, new_value, new_unit, reason, recorded_at"
        "FROM meter_replacement WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, quantity, replaced_at, old_value, old_unit, new_value, new_unit, reason, recorded_at"
        "FROM meter_replacement WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL"
        "AND (replaced_at, id) > ($3, $4) ORDER BY replaced_at, id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, quantity, replaced_at, old_value, old_unit, new_value, new_unit, reason, recorded_at"
        "FROM meter_replacement WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, replaced_at, id"
    }
    WITHDRAW = {
        "UPDATE meter_replacement SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    quantity: String,
    replaced_at: DateTime<Utc>,
    old_value: f64,
    old_unit: String,
    new_value: f64,
    new_unit: String,
    reason: String,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, MeterReplacement) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("meter_replacement", row.id);
        let replacement = MeterReplacement {
            id: ReplacementId(row.id),
            quantity: at.word("quantity", &row.quantity, MeterQuantity::from_word)?,
            replaced_at: row.replaced_at,
            old_shows: at.entered("old_unit", row.old_value, &row.old_unit)?,
            new_shows: at.entered("new_unit", row.new_value, &row.new_unit)?,
            reason: row.reason,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), replacement))
    }
}

/// What the value is in the base unit of its meter.
fn exact(quantity: MeterQuantity, shows: Entered) -> Result<i64, StoreError> {
    let dimension = match quantity {
        MeterQuantity::Distance => Dimension::Distance,
        MeterQuantity::Hours => Dimension::RunningTime,
    };
    shows.exact_as(dimension).map_err(|problem| StoreError::corrupt("a replaced meter", problem))
}

/// Keeps the replacement of a meter.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    replacement: &MeterReplacement,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let (old, new) = (replacement.old_shows, replacement.new_shows);
    execute!(
        conn,
        INSERT,
        fleet.0,
        replacement.id.0,
        vehicle.0,
        replacement.quantity.word(),
        replacement.replaced_at,
        old.value,
        old.unit.code(),
        exact(replacement.quantity, old)?,
        new.value,
        new.unit.code(),
        exact(replacement.quantity, new)?,
        &replacement.reason,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// The replacement of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: ReplacementId,
) -> Result<Option<MeterReplacement>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's replaced meters behind `after`, by when they were replaced.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<MeterReplacement>, StoreError> {
    let (replaced_at, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, replaced_at, id, limit)?)
}

/// Withdraws a replacement; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: ReplacementId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Replaced meters of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, MeterReplacement)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
