//! How fast the products of a fleet wear, as its own components tell.

use crate::acts::Stamp;
use crate::parse::InRow;
use crate::rows::each;
use crate::{AsKnown, Conn, StoreError};
use model::{FleetId, WearRate, WearRateId};
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO wear_rate (fleet_id, id, kind, product, front_mm_per_1000_km, rear_mm_per_1000_km, tau, components,"
        "recorded_at, act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)"
    }
    NEWEST = {
        "SELECT r.id, r.kind, r.product, r.front_mm_per_1000_km, r.rear_mm_per_1000_km, r.tau, r.components"
        "FROM wear_rate AS r WHERE r.fleet_id = $1 AND r.recorded_at <= $2"
        "AND NOT EXISTS (SELECT 1 FROM wear_rate AS later WHERE later.fleet_id = r.fleet_id"
        "AND later.kind = r.kind AND later.product = r.product AND later.recorded_at <= $2"
        "AND (later.recorded_at, later.id) > (r.recorded_at, r.id))"
        "ORDER BY r.kind, r.product"
    }
}

#[derive(sqlx::FromRow)]
struct Row {
    id: Uuid,
    kind: String,
    product: String,
    front_mm_per_1000_km: f64,
    rear_mm_per_1000_km: f64,
    tau: f64,
    components: i64,
}

impl TryFrom<Row> for WearRate {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let at = InRow::new("wear_rate", row.id);
        Ok(Self {
            kind: at.code("kind", &row.kind)?,
            product: row.product,
            front_mm_per_1000_km: row.front_mm_per_1000_km,
            rear_mm_per_1000_km: row.rear_mm_per_1000_km,
            tau: row.tau,
            components: at.whole("components", row.components)?,
        })
    }
}

/// Keeps the rates of a product. They are never changed: better ones are others.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    id: WearRateId,
    rate: &WearRate,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        id.0,
        rate.kind.as_str(),
        &rate.product,
        rate.front_mm_per_1000_km,
        rate.rear_mm_per_1000_km,
        rate.tau,
        i64::from(rate.components),
        stamp.recorded_at,
        stamp.act.0,
    )?;
    Ok(())
}

/// The newest rates known then of every product that has any, by kind and product.
pub async fn newest(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    known: AsKnown,
) -> Result<Vec<WearRate>, StoreError> {
    each(fetch!(fetch_all, conn, Row, NEWEST, fleet.0, known.bound())?)
}
