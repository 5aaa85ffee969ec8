//! What people decided about readings.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, each_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{Decision, DecisionId, FleetId, ReadingDecision, ReadingId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO reading_decision (fleet_id, id, vehicle_id, reading_id, kind, value, unit, reason, recorded_at,"
        "recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)"
    }
    PAGE = {
        "SELECT id, vehicle_id, reading_id, kind, value, unit, reason, recorded_at FROM reading_decision"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND (recorded_at, id) > ($3, $4)"
        "ORDER BY recorded_at, id LIMIT $5"
    }
    /// A decision about a withdrawn reading has nothing left to decide.
    OF_VEHICLES = {
        "SELECT d.id, d.vehicle_id, d.reading_id, d.kind, d.value, d.unit, d.reason, d.recorded_at"
        "FROM reading_decision AS d JOIN odometer_reading AS r ON r.fleet_id = d.fleet_id AND r.id = d.reading_id"
        "WHERE d.fleet_id = $1 AND d.vehicle_id IN" ids: "$2"
        "AND d.recorded_at <= $3 AND (r.withdrawn_at IS NULL OR r.withdrawn_at > $3)"
        "ORDER BY d.vehicle_id, d.recorded_at, d.id"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    reading_id: Uuid,
    kind: String,
    value: Option<f64>,
    unit: Option<String>,
    reason: String,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, ReadingDecision) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("reading_decision", row.id);
        let value = at.entered_if_any("value", row.value, row.unit.as_deref())?;
        let decision = match (row.kind.as_str(), value) {
            ("release", None) => Decision::Release,
            ("correct", Some(value)) => Decision::Correct { value },
            ("withdraw", None) => Decision::Withdraw,
            (kind, _) => return Err(at.fault("kind", format_args!("{kind:?} does not go with its value"))),
        };
        let decided = ReadingDecision {
            id: DecisionId(row.id),
            reading: ReadingId(row.reading_id),
            decision,
            reason: row.reason,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), decided))
    }
}

/// Keeps a decision. `ForeignKey` if there is no such reading.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    decided: &ReadingDecision,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let (kind, value) = match decided.decision {
        Decision::Release => ("release", None),
        Decision::Correct { value } => ("correct", Some(value)),
        Decision::Withdraw => ("withdraw", None),
    };
    execute!(
        conn,
        INSERT,
        fleet.0,
        decided.id.0,
        vehicle.0,
        decided.reading.0,
        kind,
        value.map(|value| value.value),
        value.map(|value| value.unit.code()),
        &decided.reason,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// A vehicle's decisions behind `after`, by when they were recorded.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<ReadingDecision>, StoreError> {
    let (recorded_at, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, recorded_at, id, limit)?)
}

/// Decisions about readings of the vehicles on a list.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, ReadingDecision)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
