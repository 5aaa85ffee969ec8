//! Papers: documents with an expiry.

use crate::acts::Stamp;
use crate::pages::behind;
use crate::parse::InRow;
use crate::rows::{each, each_fact, one_fact};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, NaiveDate, Utc};
use model::{FleetId, Paper, PaperId, PaperKind, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO paper (fleet_id, id, vehicle_id, kind, reference, issued_on, expires_on, recorded_at, recorded_by,"
        "source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
    }
    FIND = {
        "SELECT id, vehicle_id, kind, reference, issued_on, expires_on, recorded_at FROM paper"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
    PAGE = {
        "SELECT id, vehicle_id, kind, reference, issued_on, expires_on, recorded_at FROM paper"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND withdrawn_at IS NULL AND (expires_on, id) > ($3, $4)"
        "ORDER BY expires_on, id LIMIT $5"
    }
    OF_VEHICLES = {
        "SELECT id, vehicle_id, kind, reference, issued_on, expires_on, recorded_at FROM paper"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)"
        "ORDER BY vehicle_id, expires_on, id"
    }
    WITHDRAW = {
        "UPDATE paper SET withdrawn_at = $4"
        "WHERE fleet_id = $1 AND vehicle_id = $2 AND id = $3 AND withdrawn_at IS NULL"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    vehicle_id: Uuid,
    kind: String,
    reference: Option<String>,
    issued_on: Option<NaiveDate>,
    expires_on: NaiveDate,
    recorded_at: DateTime<Utc>,
}

impl TryFrom<Row> for (VehicleId, Paper) {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let paper = Paper {
            id: PaperId(row.id),
            kind: InRow::new("paper", row.id).word("kind", &row.kind, PaperKind::from_word)?,
            reference: row.reference,
            issued_on: row.issued_on,
            expires_on: row.expires_on,
            recorded_at: row.recorded_at,
        };
        Ok((VehicleId(row.vehicle_id), paper))
    }
}

/// Keeps a paper.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    paper: &Paper,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        paper.id.0,
        vehicle.0,
        paper.kind.word(),
        paper.reference.as_deref(),
        paper.issued_on,
        paper.expires_on,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// The paper of that id, unless withdrawn.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: PaperId,
) -> Result<Option<Paper>, StoreError> {
    one_fact(fetch!(fetch_optional, conn, Row, FIND, fleet.0, vehicle.0, id.0)?)
}

/// A vehicle's papers behind `after`, by expiry.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    after: Option<(NaiveDate, Uuid)>,
    limit: i64,
) -> Result<Vec<Paper>, StoreError> {
    let (expires_on, id) = behind(after);
    each_fact(fetch!(fetch_all, conn, Row, PAGE, fleet.0, vehicle.0, expires_on, id, limit)?)
}

/// Withdraws a paper; `false` if there is none or it is withdrawn already.
pub async fn withdraw(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    vehicle: VehicleId,
    id: PaperId,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    Ok(execute!(conn, WITHDRAW, fleet.0, vehicle.0, id.0, at)? == 1)
}

/// Papers of the vehicles on a list that are not withdrawn.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Paper)>, StoreError> {
    each(fetch!(fetch_all, conn, Row, OF_VEHICLES, fleet.0, list, known.bound())?)
}
