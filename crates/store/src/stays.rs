//! Stays: time off the road. That a vehicle came out again is a fact of its own.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::rows::{each, each_fact, id_list, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{FleetId, Stay, StayId, VehicleId, WorkshopId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO stay (fleet_id, id, vehicle_id, workshop_id, in_at, out_at, reason, waiting_for, recorded_at,"
        "recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12)"
    }
    END = {
        "INSERT INTO stay_end (fleet_id, stay_id, out_at, recorded_at, recorded_by, source, act_id)"
        "VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (fleet_id, stay_id) DO NOTHING"
    }
    FIND = {
        "SELECT s.id, s.vehicle_id, s.workshop_id, s.in_at, COALESCE(e.out_at, s.out_at) AS out_at, s.reason,"
        "s.waiting_for, s.recorded_at FROM stay AS s"
        "LEFT JOIN stay_end AS e ON e.fleet_id = s.fleet_id AND e.stay_id = s.id"
        "WHERE s.fleet_id = $1 AND s.vehicle_id = $2 AND s.id = $3 AND s.withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT s.id, s.vehicle_id, s.workshop_id, s.in_at, COALESCE(e.out_at, s.out_at) AS out_at, s.reason,"
        "s.waiting_for, s.recorded_at FROM stay AS s"
        "LEFT JOIN stay_end AS e ON e.fleet_id = s.fleet_id AND e.stay_id = s.id"
        "WHERE s.fleet_id = $1 AND s.vehicle_id = $2 AND s.withdrawn_at IS NULL AND (s.in_at, s.id) > ($3, $4)"
        "ORDER BY s.in_at, s.id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT s.id, s.vehicle_id, s.workshop_id, s.in_at, COALESCE(e.out_at, s.out_at) AS out_at, s.reason,"
        "s.waiting_for, s.recorded_at FROM stay AS s"
        "LEFT JOIN stay_end AS e ON e.fleet_id = s.fleet_id AND e.stay_id = s.id AND e.recorded_at <= $3"
        "WHERE s.fleet_id = $1 AND s.vehicle_id IN" ids: "$2"
        "AND s.recorded_at <= $3 AND (s.withdrawn_at IS NULL OR s.withdrawn_at > $3)"
        "ORDER BY s.vehicle_id, s.in_at, s.id"
    }
    WITHDRAW = {
        "UPDATE stay SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    workshop_id: Option<Uuid>,
    in_at: DateTime<Utc>,
    out_at: Option<DateTime<Utc>>,
    reason: String,
    waiting_for: Option<String>,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, Stay) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let stay = Stay {
            id: StayId(row.id),
            workshop: row.workshop_id.map(WorkshopId),
            in_at: row.in_at,
            out_at: row.out_at,
            reason: row.reason,
            waiting_for: row.waiting_for,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), stay))
    }
}

/// Keeps a stay, with its end if that is known already.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    stay: &Stay,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        stay.id.0,
        vehicle.0,
        stay.workshop.map(|workshop| workshop.0),
        stay.in_at,
        stay.out_at,
        &stay.reason,
        stay.waiting_for.as_deref(),
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// Ends a stay; `false` if its end was recorded before. `ForeignKey` if there is none.
pub async fn end(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: StayId,
    out_at: DateTime<Utc>,
    stamp: &Stamp,
) -> Result<bool, StoreError> {
    let (at, by, act) = (stamp.recorded_at, stamp.recorded_by, stamp.act.0);
    Ok(execute!(conn, END, fleet.0, id.0, out_at, at, by, &stamp.source, act)? == 1)
}

/// The stay of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: StayId,
) -> Result<Option<Stay>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's stays behind `after`, by when it went in.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(DateTime<Utc>, Uuid)>,
    limit: i64,
) -> Result<Vec<Stay>, StoreError> {
    let (in_at, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, in_at, id, limit)?)
}

/// Withdraws a stay; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: StayId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Every stay of these vehicles, by when they went in.
pub async fn of(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicles: &[VehicleId],
) -> Result<Vec<(VehicleId, Stay)>, StoreError> {
    of_vehicles(conn, fleet, &id_list(vehicles.iter().map(|vehicle| vehicle.0)), AsKnown::NOW).await
}

/// Stays of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Stay)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
