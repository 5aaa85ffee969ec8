//! Components whose life is followed.

use crate::acts::Stamp;
use crate::pages::behind_id;
use crate::parse::InRow;
use crate::rows::{each, one};
use crate::{AsKnown, Conn, StoreError};
use chrono::{DateTime, Utc};
use model::{Code, Component, ComponentId, FleetId, VehicleId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO component (fleet_id, id, kind, product, depth_new_value, depth_new_unit, came_used, recorded_at,"
        "recorded_by, source, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)"
    }
    FIND = {
        "SELECT id, kind, product, depth_new_value, depth_new_unit, came_used, recorded_at FROM component"
        "WHERE fleet_id = $1 AND id = $2 AND withdrawn_at IS NULL"
    }
    /// SQLite has one writer at a time: whoever asks has the row already.
    LOCK = {
        "SELECT id, kind, product, depth_new_value, depth_new_unit, came_used, recorded_at FROM component"
        "WHERE fleet_id = $1 AND id = $2 AND withdrawn_at IS NULL" postgres: "FOR UPDATE"
    }
    ALIKE = {
        "SELECT id, kind, product, depth_new_value, depth_new_unit, came_used, recorded_at FROM component"
        "WHERE fleet_id = $1 AND (kind = $2 OR $2 IS NULL) AND (product = $3 OR $3 IS NULL) AND withdrawn_at IS NULL"
        "ORDER BY kind, product, id"
    }
    PAGE = {
        "SELECT id, kind, product, depth_new_value, depth_new_unit, came_used, recorded_at FROM component"
        "WHERE fleet_id = $1 AND withdrawn_at IS NULL AND id > $2 ORDER BY id LIMIT $3"
    }
    /// Once a vehicle, though it was fitted there several times.
    OF_VEHICLES = {
        "SELECT c.id, c.kind, c.product, c.depth_new_value, c.depth_new_unit, c.came_used, c.recorded_at, f.vehicle_id"
        "FROM component AS c JOIN (SELECT DISTINCT component_id, vehicle_id FROM fitting"
        "WHERE fleet_id = $1 AND vehicle_id IN" ids: "$2"
        "AND recorded_at <= $3 AND (withdrawn_at IS NULL OR withdrawn_at > $3)) AS f ON f.component_id = c.id"
        "WHERE c.fleet_id = $1 AND c.recorded_at <= $3 AND (c.withdrawn_at IS NULL OR c.withdrawn_at > $3)"
        "ORDER BY f.vehicle_id, c.id"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    kind: String,
    product: String,
    depth_new_value: Option<f64>,
    depth_new_unit: Option<String>,
    came_used: bool,
    recorded_at: DateTime<Utc>,
}

#[derive(sqlx::FromRow)]
struct FittedRow {
    #[sqlx(flatten)]
    component: Row,
    vehicle_id: Uuid,
}

impl TryFrom<Row> for Component {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("component", row.id);
        let depth = at.entered_if_any("depth_new", row.depth_new_value, row.depth_new_unit.as_deref())?;
        Ok(Self {
            id: ComponentId(row.id),
            kind: at.code("kind", &row.kind)?,
            product: row.product,
            depth_new: depth,
            came_used: row.came_used,
            recorded_at: row.recorded_at,
        })
    }
}

impl TryFrom<FittedRow> for (VehicleId, Component) {
    type Error = StoreError;

    fn try_from(row: FittedRow) -> Result<Self, StoreError> {
        Ok((VehicleId(row.vehicle_id), row.component.try_into()?))
    }
}

/// Keeps a component.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    component: &Component,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        component.id.0,
        component.kind.as_str(),
        &component.product,
        component.depth_new.map(|depth| depth.value),
        component.depth_new.map(|depth| depth.unit.code()),
        component.came_used,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// The component of that id.
pub async fn find(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: ComponentId,
) -> Result<Option<Component>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, FIND, fleet.0, id.0)?)
}

/// The component of that id, held until the transaction ends: nobody else fits it or takes it off for good meanwhile. The
/// rows of the vehicles that it is or was on are locked before it.
pub async fn lock(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: ComponentId,
) -> Result<Option<Component>, StoreError> {
    one(fetch!(fetch_optional, conn, Row, LOCK, fleet.0, id.0)?)
}

/// All components of this kind and product, or of any where none is named.
pub async fn alike(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    kind: Option<&Code>,
    product: Option<&str>,
) -> Result<Vec<Component>, StoreError> {
    each(fetch!(fetch_all, conn, Row, ALIKE, fleet.0, kind.map(Code::as_str), product)?)
}

/// Components behind `after`, in order of ids.
pub async fn page(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    after: Option<ComponentId>,
    limit: i64,
) -> Result<Vec<Component>, StoreError> {
    each(fetch!(fetch_all, conn, Row, PAGE, fleet.0, behind_id(after.map(|id| id.0)), limit)?)
}

/// Components that are or were fitted to the vehicles on a list.
pub(crate) async fn of_vehicles(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    list: &str,
    known: AsKnown,
) -> Result<Vec<(VehicleId, Component)>, StoreError> {
    each(fetch!(fetch_all, conn, FittedRow, OF_VEHICLES, fleet.0, list, known.bound())?)
}
