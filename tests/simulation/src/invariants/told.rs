//! Who was told what.

use super::decisions::both;
use crate::life::Broken;
use crate::world::World;
use std::collections::BTreeSet;
use store::{Reach, Sql, fetch};

const TOLD: Sql = both(
    "what was told to whom",
    "SELECT (SELECT MIN(v.label) FROM vehicle_attributes AS v WHERE v.fleet_id = n.fleet_id
     AND v.vehicle_id = n.vehicle_id), n.item_key, n.mark, d.email, n.state FROM notice AS n
     JOIN person_details AS d ON d.fleet_id = n.fleet_id AND d.person_id = n.person_id
     WHERE n.state IN ('told', 'list_only')",
);

type Row = (String, String, String, Option<String>, String);

/// Each vehicle, what of it, which mark, and the address of who was told; without ids, which differ from life to life.
pub async fn to_whom(world: &World) -> Result<BTreeSet<String>, Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    let rows = fetch!(fetch_all, &mut tx.conn(), Row, TOLD)?;
    Ok(rows
        .into_iter()
        .map(|(label, item, mark, whom, state)| format!("{label} {item} {mark} {whom:?} {state}"))
        .collect())
}
