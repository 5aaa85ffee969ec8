//! Measurements set aside, and how each was settled: that is a fact of its own.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, each_fact, one};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{
    FleetId, InspectionId, MeasurementId, SetAside, SetAsideId, SetAsideReason, Settled, Settlement,
    VehicleId,
};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO set_aside (fleet_id, id, inspection_id, vehicle_id, ordinal, pointer, written, reason, detail,"
        "recorded_at, recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)"
    }
    FIND = {
        "SELECT a.id, a.vehicle_id, a.inspection_id, a.ordinal, a.pointer, a.written, a.reason, a.detail, a.recorded_at,"
        "s.kind, s.measurement_id, s.reason AS settled_because, s.recorded_at AS settled_at FROM set_aside AS a"
        "LEFT JOIN set_aside_settlement AS s ON s.fleet_id = a.fleet_id AND s.set_aside_id = a.id"
        "WHERE a.fleet_id = $1 AND a.id = $2 AND a.withdrawn_at IS NULL"
    }
    WAITING = {
        "SELECT a.id, a.vehicle_id, a.inspection_id, a.ordinal, a.pointer, a.written, a.reason, a.detail, a.recorded_at,"
        "s.kind, s.measurement_id, s.reason AS settled_because, s.recorded_at AS settled_at FROM set_aside AS a"
        "LEFT JOIN set_aside_settlement AS s ON s.fleet_id = a.fleet_id AND s.set_aside_id = a.id"
        "WHERE a.fleet_id = $1 AND a.withdrawn_at IS NULL AND s.set_aside_id IS NULL"
        "AND (a.recorded_at, a.id) > ($2, $3) ORDER BY a.recorded_at, a.id LIMIT $4"
    }
    WAITING_OF = {
        "SELECT a.id, a.vehicle_id, a.inspection_id, a.ordinal, a.pointer, a.written, a.reason, a.detail, a.recorded_at,"
        "s.kind, s.measurement_id, s.reason AS settled_because, s.recorded_at AS settled_at FROM set_aside AS a"
        "LEFT JOIN set_aside_settlement AS s"
        "ON s.fleet_id = a.fleet_id AND s.set_aside_id = a.id AND s.recorded_at <= $3"
        "WHERE a.fleet_id = $1 AND a.vehicle_id = $2"
        "AND a.recorded_at <= $3 AND (a.withdrawn_at IS NULL OR a.withdrawn_at > $3)"
        "AND s.set_aside_id IS NULL ORDER BY a.recorded_at, a.id"
    }
    SETTLE = {
        "INSERT INTO set_aside_settlement (fleet_id, set_aside_id, kind, measurement_id, reason, recorded_at, recorded_by,"
        "source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT (fleet_id, set_aside_id) DO NOTHING"
    }
    WITHDRAW = {
        "UPDATE set_aside SET withdrawn_at = $3 WHERE fleet_id = $1 AND inspection_id = $2 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    inspection_id: Uuid,
    ordinal: i64,
    pointer: String,
    written: String,
    reason: String,
    detail: String,
    recorded_at: DateTime<Utc>,
    kind: Option<String>,
    measurement_id: Option<Uuid>,
    settled_because: Option<String>,
    settled_at: Option<DateTime<Utc>>,
}

impl TryFrom<Row> for (VehicleId, SetAside) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("set_aside", row.id);
        let outcome = match (row.kind.as_deref(), row.measurement_id) {
            (None, None) => None,
            (Some("taken"), Some(id)) => Some(Settled::Taken { measurement: MeasurementId(id) }),
            (Some("dismissed"), None) => Some(Settled::Dismissed),
            (kind, _) => {
                return Err(at.fault("kind", format_args!("{kind:?} does not go with its measurement")));
            }
        };
        let settlement = match (outcome, row.settled_because, row.settled_at) {
            (Some(outcome), Some(reason), Some(recorded_at)) => {
                Some(Settlement { outcome, reason, recorded_at })
            }
            _ => None,
        };
        let set_aside = SetAside {
            id: SetAsideId(row.id),
            inspection: InspectionId(row.inspection_id),
            ordinal: row.ordinal,
            pointer: row.pointer,
            written: row.written,
            reason: at.word("reason", &row.reason, SetAsideReason::from_word)?,
            detail: row.detail,
            recorded_at: row.recorded_at,
            settlement,
        };
        Ok((VehicleId(row.vehicle_id), set_aside))
    }
}

/// Keeps measurements that are set aside, in one statement; their inspections must be kept already. They wait: how one
/// was settled is kept by [`settle`].
pub async fn insert_many(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    set_aside: &[(VehicleId, SetAside)],
    stamp: &Stamp,
) -> Result<(), StoreError> {
    batch!(conn, INSERT, set_aside, |(vehicle, one)| [
        fleet.0,
        one.id.0,
        one.inspection.0,
        vehicle.0,
        one.ordinal,
        &one.pointer,
        &one.written,
        one.reason.word(),
        &one.detail,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    ])?;
    Ok(())
}

/// The one of that id with its vehicle, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: SetAsideId,
) -> Result<Option<(VehicleId, SetAside)>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, id.0)?)
}

/// Those of the fleet that wait for a person, behind `after`, in the order they were recorded.
pub async fn waiting(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<(VehicleId, SetAside)>, StoreError> {
    let (at, id) = behind(after);
    each(fetch!(fetch_all, conn, Row, WAITING, fleet.0, at, id, limit)?)
}

/// Those of a vehicle that waited for a person as the record stood then.
pub async fn waiting_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    known: AsKnown,
) -> Result<Vec<SetAside>, StoreError> {
    each_fact(fetch!(fetch_all, conn, Row, WAITING_OF, fleet.0, vehicle.0, known.bound())?)
}

/// Settles one; `false` if it was settled before. `ForeignKey` if there is none, or not the measurement it became.
pub async fn settle(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: SetAsideId,
    settlement: &Settlement,
    stamp: &Stamp,
) -> Result<bool, StoreError> {
    let (kind, measurement) = match settlement.outcome {
        Settled::Taken { measurement } => ("taken", Some(measurement.0)),
        Settled::Dismissed => ("dismissed", None),
    };
    let touched = execute!(
        conn,
        SETTLE,
        fleet.0,
        id.0,
        kind,
        measurement,
        &settlement.reason,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(touched == 1)
}

/// Withdraws what an inspection set aside, along with the inspection.
pub(crate) async fn withdraw_of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    inspection: InspectionId,
    at: DateTime<Utc>,
) -> Result<(), StoreError> {
    execute!(conn, WITHDRAW, fleet.0, inspection.0, at)?;
    Ok(())
}
