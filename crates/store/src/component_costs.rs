//! What components were said to cost.

use crate::acts::Stamp;
use crate::{Conn, StoreError, id_list};
use model::{ComponentCost, ComponentId, Cost, FleetId};
use std::collections::BTreeMap;
use uuid::Uuid;

statements! {
    INSERT = {
        "INSERT INTO component_cost (fleet_id, id, component_id, cost_minor, currency, recorded_at, recorded_by, source,"
        "act_id) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)"
    }
    /// The last said comes last.
    OF_COMPONENTS = {
        "SELECT component_id, cost_minor, currency FROM component_cost"
        "WHERE fleet_id = $1 AND component_id IN" ids: "$2" "ORDER BY component_id, recorded_at, id"
    }
}

/// Keeps what a component was said to cost.
pub async fn insert(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    said: &ComponentCost,
    stamp: &Stamp,
) -> Result<(), StoreError> {
    execute!(
        conn,
        INSERT,
        fleet.0,
        said.id.0,
        said.component.0,
        said.cost.minor,
        &said.cost.currency,
        stamp.recorded_at,
        stamp.recorded_by,
        &stamp.source,
        stamp.act.0,
    )?;
    Ok(())
}

/// What these components cost by what was said last; those of which nothing was said are missing.
pub async fn of_components(
    conn: &mut Conn<'_>,
    fleet: FleetId,
    components: &[ComponentId],
) -> Result<BTreeMap<ComponentId, Cost>, StoreError> {
    let list = id_list(components.iter().map(|component| component.0));
    let rows = fetch!(fetch_all, conn, (Uuid, i64, String), OF_COMPONENTS, fleet.0, list)?;
    let said = |(id, minor, currency)| (ComponentId(id), Cost { minor, currency });
    Ok(rows.into_iter().map(said).collect())
}
