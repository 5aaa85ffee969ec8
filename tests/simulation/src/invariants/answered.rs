//! What was answered is on record, and nothing that nobody asked for.

use super::decisions::both;
use crate::fleet::{Kind, Standing};
use crate::life::Broken;
use crate::people::{Deed, learning};
use crate::world::World;
use std::collections::BTreeMap;
use store::{Reach, Sql, fetch};
use uuid::Uuid;

/// Every fact of each kind with whether it is withdrawn; readings that came with a service or an inspection are these.
const TABLES: [(Kind, Sql); 7] = [
    (
        Kind::Reading,
        both(
            "readings",
            "SELECT id, withdrawn_at IS NOT NULL FROM odometer_reading
             WHERE fleet_id = $1 AND service_id IS NULL AND inspection_id IS NULL",
        ),
    ),
    (
        Kind::Service,
        both("services", "SELECT id, withdrawn_at IS NOT NULL FROM service_record WHERE fleet_id = $1"),
    ),
    (Kind::Paper, both("papers", "SELECT id, withdrawn_at IS NOT NULL FROM paper WHERE fleet_id = $1")),
    (
        Kind::Window,
        both("windows", "SELECT id, withdrawn_at IS NOT NULL FROM coverage_window WHERE fleet_id = $1"),
    ),
    (Kind::Stay, both("stays", "SELECT id, withdrawn_at IS NOT NULL FROM stay WHERE fleet_id = $1")),
    (
        Kind::Override,
        both("exceptions", "SELECT id, withdrawn_at IS NOT NULL FROM rule_override WHERE fleet_id = $1"),
    ),
    (
        Kind::Entry,
        both(
            "entries",
            "SELECT e.id, e.inspection_id IS NULL FROM entry AS e
             JOIN inspection AS i ON i.fleet_id = e.fleet_id AND i.id = e.inspection_id WHERE e.fleet_id = $1",
        ),
    ),
];

/// Each fact that was answered is there as it was answered; what is there besides was asked for and not answered yet.
pub async fn everything_answered_is_on_record(world: &World) -> Result<(), Broken> {
    let mut tx = world.store().reader(Reach::All).await?;
    let conn = &mut tx.conn();
    for (place, fleet) in world.fleets.iter().enumerate() {
        for (kind, statement) in TABLES {
            let rows = fetch!(fetch_all, conn, (Uuid, bool), statement, fleet.id.0)?;
            let stored: BTreeMap<Uuid, bool> = rows.iter().copied().collect();
            for ((_, id), standing) in fleet.facts.iter().filter(|((of, _), _)| *of == kind) {
                let how = match (standing, stored.get(id)) {
                    (_, None) => "is not there",
                    (Standing::Stands, Some(true)) => "is withdrawn",
                    (Standing::Withdrawn, Some(false)) => "is not withdrawn",
                    _ => continue,
                };
                let how = format!("{} {id} of fleet {} {how}", statement.name, fleet.letter);
                return Err(Broken::new("an answered entry is stored", how));
            }
            let unknown = stored.keys().filter(|id| !fleet.facts.contains_key(&(kind, **id)));
            let asked = asked_for(world, place, kind) + fleet.unnamed.get(&kind).copied().unwrap_or(0);
            let unknown = unknown.count();
            if unknown > asked {
                let how = format!("{}: {unknown} that nobody knows, {asked} not answered", statement.name);
                return Err(Broken::new("what is asked for again has its effect once", how));
            }
        }
    }
    Ok(())
}

/// How many facts of that kind may have been stored without an answer.
fn asked_for(world: &World, fleet: usize, kind: Kind) -> usize {
    let errands = world.errands.iter().filter(|errand| errand.fleet == fleet);
    let most = errands.map(|errand| match &errand.deed {
        Deed::Batch(batch) if kind == Kind::Entry => batch.entries.len(),
        deed => usize::from(learning::makes(deed) == Some(kind)),
    });
    most.sum()
}
