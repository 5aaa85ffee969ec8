//! Coverage windows: the terms of warranties and leases.

use crate::acts::Stamp;
use crate::pages::behind_id;
use crate::parse::{InRow, json_text};
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError, id_list};
use chrono::{DateTime, Utc};
use model::{CoverageWindow, FleetId, ServiceId, VehicleId, WindowId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO coverage_window (fleet_id, id, vehicle_id, kind, title, terms, recorded_at, recorded_by, source,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
    }
    FIND = {
        "SELECT id, vehicle_id, terms, recorded_at FROM coverage_window"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, terms, recorded_at FROM coverage_window"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL AND id > $3 ORDER BY id LIMIT $4"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, terms, recorded_at FROM coverage_window"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, id"
    }
    WITHDRAW = {
        "UPDATE coverage_window SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    terms: String,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, CoverageWindow) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let window = CoverageWindow {
            id: WindowId(row.id),
            terms: InRow::new("coverage_window", row.id).json("terms", &row.terms)?,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), window))
    }
}

/// Keeps a coverage window.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    window: &CoverageWindow,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    let CoverageWindow { id, terms, recorded_at: _ } = window;
    let Stamp { act, recorded_at, recorded_by, source } = stamp;
    let (kind, text) = (terms.kind.word(), json_text(terms));
    let by = *recorded_by;
    execute!(
        conn,
        INSERT,
        fleet.0,
        id.0,
        vehicle.0,
        kind,
        &terms.title,
        text,
        *recorded_at,
        by,
        source,
        act.0
    )?;
    Ok(())
}

/// The coverage window of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: WindowId,
) -> Result<Option<CoverageWindow>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's coverage windows behind `after`, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<WindowId>,
    limit: i64,
) -> Result<Vec<CoverageWindow>, StoreError> {
    let after = behind_id(after.map(|id| id.0));
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, after, limit)?)
}

/// Those of a vehicle's windows that this service record opened, in order of ids.
pub async fn opened_by(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    service: ServiceId,
) -> Result<Vec<CoverageWindow>, StoreError> {
    let all = of_vehicles(conn, fleet, &id_list([vehicle.0]), AsKnown::NOW).await?;
    let opened = |window: &CoverageWindow| window.terms.opened_by == Some(service);
    Ok(all.into_iter().map(|(_, window)| window).filter(opened).collect())
}

/// Withdraws a coverage window; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: WindowId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Coverage windows of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, CoverageWindow)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
